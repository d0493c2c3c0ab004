"""The log of a job in the store: what was observed, append-only, each entry kept once."""

from __future__ import annotations

from sqlalchemy import func, insert, select

from pondwright.job.log import Entry, Log, read_entry, write_entry
from pondwright.store import tables
from pondwright.store.connection import Store
from pondwright.store.jobs import card_of


def append_log(store: Store, job_id: str, entry: Entry) -> int:
    """Keep an entry and give its number; the very same entry sent again keeps its number.

    Raises
    ------
    StoreError
        If there is no such job.
    DocumentError
        If another entry has that id: nothing in a log is ever overwritten.
    """
    mine = (tables.log.c.job == job_id, tables.log.c.id == entry.id)
    with store.writing() as connection:
        card_of(connection, job_id)
        known = connection.execute(select(tables.log).where(*mine)).first()
        if known is not None:
            Log((read_entry(known.body),)).appended(entry)
            return int(known.number)
        last = connection.execute(select(func.max(tables.log.c.number)).where(tables.log.c.job == job_id))
        number = (last.scalar() or 0) + 1
        connection.execute(
            insert(tables.log).values(job=job_id, number=number, id=entry.id, body=write_entry(entry))
        )
        return int(number)


def log_of(store: Store, job_id: str) -> Log:
    """All entries of a job's log, in the order in which they came in.

    Raises
    ------
    StoreError
        If there is no such job.
    """
    rows = select(tables.log.c.body).where(tables.log.c.job == job_id).order_by(tables.log.c.number)
    with store.reading() as connection:
        card_of(connection, job_id)
        return Log(tuple(read_entry(body) for body in connection.execute(rows).scalars()))
