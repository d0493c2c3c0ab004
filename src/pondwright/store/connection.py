"""Open the store's file, and read or write it in one transaction at a time.

Write-ahead log with a full sync: a commit that returned survives a pulled plug.  A writer takes
the write lock when it begins (``BEGIN IMMEDIATE``), so that what it read is still true when it
writes; a second writer waits its turn and, after ten seconds, is told so.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.pool import NullPool

from pondwright.base.errors import StoreError
from pondwright.job.document import Job
from pondwright.store.migrations import migrate

WAIT = 10.0  # seconds that a writer waits for another


@dataclass
class Store:
    """An open store; ``heads`` remembers the newest document of each job by (id, rev)."""

    engine: Engine
    heads: dict[str, tuple[int, Job]] = field(default_factory=dict)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection on which nothing is written.

        Raises
        ------
        StoreError
            If the file cannot be read.
        """
        with _told(self.engine), self.engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection that holds the write lock; leaving it in peace commits.

        Raises
        ------
        StoreError
            If the file is locked by another writer, the disk is full, or it cannot be written.
        """
        with _told(self.engine), self.engine.connect() as connection:
            connection.exec_driver_sql("BEGIN IMMEDIATE")
            try:
                yield connection
            except BaseException:
                connection.exec_driver_sql("ROLLBACK")
                raise
            connection.exec_driver_sql("COMMIT")

    def close(self) -> None:
        """Let go of the file."""
        self.engine.dispose()


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
    engine = create_engine(f"sqlite:///{file}", poolclass=NullPool)
    event.listen(engine, "connect", _prepare)
    store = Store(engine)
    with store.writing() as connection:
        migrate(connection)
    return store


def _prepare(connection: Any, _record: object) -> None:
    # We say BEGIN ourselves: the driver's own habit begins too late to hold the write lock.
    connection.isolation_level = None
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        f"busy_timeout={WAIT * 1000:.0f}",
        "foreign_keys=ON",
    ):
        connection.execute(f"PRAGMA {pragma}")


@contextmanager
def _told(engine: Engine) -> Iterator[None]:
    """Turn the database's own errors into one sentence."""
    try:
        yield
    except OperationalError as fault:
        why = str(fault.orig)
        if "locked" in why:
            says = f"another program has been writing to `{engine.url.database}` for {WAIT:.0f} s: try again"
        elif "full" in why:
            says = f"the disk of `{engine.url.database}` is full: nothing of this change was kept"
        else:
            says = f"the store `{engine.url.database}` cannot be used: {why}"
        raise StoreError(says) from fault
    except DatabaseError as fault:
        raise StoreError(f"`{engine.url.database}` is not a store of pondwright: {fault.orig}") from fault
