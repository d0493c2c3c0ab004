"""Open the store's file, and read or write it in one transaction at a time.

Write-ahead log with a full sync: a commit that returned survives a pulled plug.  A writer takes
the write lock when it begins (``BEGIN IMMEDIATE``), so that what it read is still true when it
writes; a second writer waits its turn and, after ten seconds, is told so.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DatabaseError
from sqlalchemy.pool import QueuePool

from pondwright.base.errors import StoreError
from pondwright.job.document import Job
from pondwright.store.migrations import migrate

WAIT = 10.0  # seconds that a writer waits for another


class Missing(StoreError):
    """What was asked for is not in the store."""


class Unusable(StoreError):
    """The store's file cannot be written or read just now: locked, full, or not ours."""


@dataclass
class Store:
    """An open store; ``heads`` remembers the newest document of each job by (id, rev)."""

    engine: Engine
    heads: dict[str, tuple[int, Job]] = field(default_factory=dict)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection on which nothing is written, and all of which sees one state of the file.

        Raises
        ------
        Unusable
            If the file cannot be read.
        """
        with self._transaction("BEGIN") as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection that holds the write lock; leaving it in peace commits.

        Raises
        ------
        Unusable
            If the file is locked by another writer, the disk is full, or it cannot be written.
        """
        with self._transaction("BEGIN IMMEDIATE") as connection:
            yield connection

    def close(self) -> None:
        """Let go of the file."""
        self.engine.dispose()

    @contextmanager
    def _transaction(self, begin: str) -> Iterator[Connection]:
        with _told(self.engine), self.engine.connect() as connection:
            connection.exec_driver_sql(begin)
            try:
                yield connection
                connection.exec_driver_sql("COMMIT")
            except BaseException:
                # The driver rolls back only what is still open: a full disk has done so already.
                connection.connection.rollback()
                raise


def open_store(file: Path) -> Store:
    """Open the store in ``file``, making it and its folder when there is none.

    Raises
    ------
    StoreError
        If the file is no store of ours, or of a newer format, or cannot be opened.
    """
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise StoreError(f"the folder `{file.parent}` cannot be made: {fault.strerror}") from None
    # A connection that stays open spares each commit the tidying up of the log that a last close does.
    engine = create_engine(
        URL.create("sqlite", database=str(file)),
        poolclass=QueuePool,
        connect_args={"check_same_thread": False, "timeout": WAIT},
    )
    event.listen(engine, "connect", _prepare)
    store = Store(engine)
    try:
        with store.writing() as connection:
            migrate(connection)
    except BaseException:
        store.close()
        raise
    return store


def _prepare(connection: Any, _record: object) -> None:
    # We say BEGIN ourselves: the driver's own habit begins too late to hold the write lock.
    connection.isolation_level = None
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
    ):
        connection.execute(f"PRAGMA {pragma}")


@contextmanager
def _told(engine: Engine) -> Iterator[None]:
    """Turn the database's own errors into one sentence."""
    try:
        yield
    except (DatabaseError, sqlite3.DatabaseError) as fault:
        raise Unusable(_why(engine.url.database, fault)) from fault


def _why(file: str | None, fault: Exception) -> str:
    why = str(getattr(fault, "orig", fault))
    if "locked" in why or "busy" in why:
        return f"another program has been writing to `{file}` for {WAIT:.0f} s: try again"
    if "full" in why:
        return f"the disk of `{file}` is full: nothing of this change was kept"
    if "not a database" in why or "malformed" in why:
        return f"`{file}` is not a store of pondwright: {why}"
    return f"the store `{file}` cannot be used: {why}"
