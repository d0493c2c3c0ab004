"""Steps that bring a store's tables up to date, in order; a newer store is refused."""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import Connection, insert, inspect, select, update

from pondwright.base.errors import StoreError
from pondwright.store import tables
from pondwright.store.tables import metadata, store_format

FIRST = ("store_format", "job", "edit", "snapshot", "version", "file", "log")


def _first_tables(connection: Connection) -> None:
    metadata.create_all(connection, tables=[metadata.tables[name] for name in FIRST])
    connection.execute(insert(store_format).values(format=0))


def _past_jobs(connection: Connection) -> None:
    tables.past_job.create(connection)


STEPS: tuple[Callable[[Connection], None], ...] = (_first_tables, _past_jobs)


def migrate(connection: Connection) -> None:
    """Run the steps that this store has not seen.

    Raises
    ------
    StoreError
        If the store was made by a newer pondwright.
    """
    known = inspect(connection).has_table(store_format.name)
    found = connection.execute(select(store_format.c.format)).scalar_one() if known else 0
    if found > len(STEPS):
        raise StoreError(
            f"this store has format {found}, made by a newer pondwright; this one reads up to {len(STEPS)}"
        )
    for step in STEPS[found:]:
        step(connection)
    connection.execute(update(store_format).values(format=len(STEPS)))
