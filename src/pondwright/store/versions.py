"""Named versions of a job, such as the one that was signed, with the figures of that day."""

from __future__ import annotations

import json
from dataclasses import dataclass

from sqlalchemy import insert, select

from pondwright.base.errors import StoreError
from pondwright.store import tables
from pondwright.store.connection import Missing, Store
from pondwright.store.jobs import card_of


@dataclass(frozen=True, slots=True)
class Version:
    """A revision with a name, who signed it, when, and its figures by path (SI)."""

    name: str
    rev: int
    signed_by: str
    time: float
    figures: dict[str, float]


def keep_version(store: Store, job_id: str, version: Version) -> None:
    """Name a revision; a name is given once.

    Raises
    ------
    StoreError
        If there is no such job or revision, or the name is taken or empty.
    """
    if not version.name.strip():
        raise StoreError("a version needs a name, for example `signed 12 March`")
    with store.writing() as connection:
        head = card_of(connection, job_id).rev
        if not 0 <= version.rev <= head:
            raise Missing(f"job {job_id} has revisions 0 to {head}, not {version.rev}")
        taken = select(tables.version.c.rev).where(
            tables.version.c.job == job_id, tables.version.c.name == version.name
        )
        if connection.execute(taken).first() is not None:
            raise StoreError(f"this job has a version named {version.name!r} already")
        connection.execute(
            insert(tables.version).values(
                job=job_id,
                name=version.name,
                rev=version.rev,
                signed_by=version.signed_by,
                time=version.time,
                figures=json.dumps(version.figures),
            )
        )


def versions(store: Store, job_id: str) -> tuple[Version, ...]:
    """Named versions of a job, oldest revision first."""
    with store.reading() as connection:
        card_of(connection, job_id)
        rows = connection.execute(
            select(tables.version).where(tables.version.c.job == job_id).order_by(tables.version.c.rev)
        )
        return tuple(
            Version(row.name, row.rev, row.signed_by, row.time, json.loads(row.figures)) for row in rows
        )
