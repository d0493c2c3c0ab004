"""Photos and other files, named by the hash of their bytes."""

from __future__ import annotations

import hashlib

from sqlalchemy import insert, select

from pondwright.store import tables
from pondwright.store.connection import Missing, Store


def keep_file(store: Store, body: bytes, media_type: str) -> str:
    """Keep the bytes of a file; give the hash that names it (the same bytes, the same name)."""
    name = hashlib.sha256(body).hexdigest()
    with store.writing() as connection:
        known = connection.execute(select(tables.file.c.hash).where(tables.file.c.hash == name)).first()
        if known is None:
            connection.execute(insert(tables.file).values(hash=name, media_type=media_type, body=body))
    return name


def file_body(store: Store, name: str) -> tuple[bytes, str]:
    """Bytes and media type of a kept file.

    Raises
    ------
    Missing
        If there is no such file.
    """
    with store.reading() as connection:
        row = connection.execute(select(tables.file).where(tables.file.c.hash == name)).first()
    if row is None:
        raise Missing(f"there is no file {name!r} here")
    return row.body, row.media_type
