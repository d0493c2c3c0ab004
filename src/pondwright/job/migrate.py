"""Older formats brought up to this one: one function a version, each with a file in the tests.

Adding a map that may be empty, or a field that may be ``None``, needs no new format; only a
change of meaning does.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pondwright.base.errors import DocumentError
from pondwright.job.document import FORMAT
from pondwright.job.faults import shown

Tree = dict[str, Any]

STEPS: dict[int, Callable[[Tree], Tree]] = {}
"""Function that brings a document of the format in the key to the next one."""


def migrated(tree: Tree) -> Tree:
    """Document in this program's format.

    Parameters
    ----------
    tree : dict   A job as it was parsed from JSON.

    Returns
    -------
    The same object if it is of this format already, or if its format cannot be told.

    Raises
    ------
    DocumentError   If a newer pondwright wrote it.
    """
    found = tree.get("format")
    if not isinstance(found, int) or isinstance(found, bool):
        return tree
    if found > FORMAT:
        raise DocumentError(
            f"this job was written by a newer pondwright (format {shown(found)}, known up to {FORMAT}): "
            "open it with that version"
        )
    for version in range(max(found, min(STEPS, default=FORMAT)), FORMAT):
        tree = STEPS[version](tree)
    return tree
