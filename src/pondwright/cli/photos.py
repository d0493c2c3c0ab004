"""Photos of a folder, by the hash under which a job names them."""

from __future__ import annotations

import hashlib
from pathlib import Path

from pondwright.base.errors import DomainError

KINDS = (".png", ".jpg", ".jpeg")


def photos_by_hash(folder: Path) -> dict[str, bytes]:
    """Bytes of the PNG and JPEG files of a folder, by their SHA-256.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    dict

    Raises
    ------
    DomainError
        If it is no folder, or a photo in it cannot be read.
    """
    if not folder.is_dir():
        raise DomainError(f"`--photos` must be a folder with the photos of the job, got {str(folder)!r}")
    try:
        bodies = [path.read_bytes() for path in sorted(folder.iterdir()) if path.suffix.lower() in KINDS]
    except OSError as error:
        raise DomainError(f"a photo in {str(folder)!r} cannot be read: {error.strerror}") from error
    return {hashlib.sha256(body).hexdigest(): body for body in bodies}
