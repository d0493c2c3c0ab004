"""Files from outside that were looked at and not taken yet: each under a token, for an hour.

A file is written to a folder of its own as it comes and never held in memory; one thread reads them one
after the other, so that the live channel goes on.
"""

from __future__ import annotations

import asyncio
import secrets
import shutil
import tempfile
import time
from collections.abc import AsyncIterator, Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TypeVar

from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Around, Reading, Wanted
from pondwright.store import Missing, Unusable

KEPT_SECONDS = 3600.0
MOST_HELD = 8
"""Files that may wait at once; with one more, the oldest is let go."""

PIECE = 1024 * 1024
ROOM_LEFT = 256 * 1024 * 1024
"""Bytes that a file from outside leaves free on the disk."""

T = TypeVar("T")


@dataclass(slots=True)
class Held:
    """A file that waits to be taken or left: whose it is, where it lies, and how it was understood last."""

    token: str
    job_id: str
    name: str
    path: Path
    until: float
    around: Around
    reading: Reading | None = None

    def let_go(self) -> None:
        """Remove the file."""
        self.path.unlink(missing_ok=True)


class Incoming:
    """All files that wait in this server."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        """Hold files in a new folder; ``now`` tells the time by which they are let go [s]."""
        self._now = now
        self._folder = tempfile.TemporaryDirectory(prefix="pondwright-", ignore_cleanup_errors=True)
        self._held: dict[str, Held] = {}
        self._pool = ThreadPoolExecutor(1, "reading")

    def close(self) -> None:
        """Let all files go."""
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._folder.cleanup()

    async def receive(
        self, job_id: str, name: str, length: int, pieces: AsyncIterator[bytes], around: Around
    ) -> Held:
        """Write a file as it comes, and read it.

        Raises
        ------
        Unusable
            If the disk has no room for it.
        ImportRefused
            If it is no file that can be read; it is let go then.
        """
        free = shutil.disk_usage(self._folder.name).free
        if length > free - ROOM_LEFT:
            raise Unusable(f"the disk has no room for {length // 2**20} MB; {free // 2**20} MB are free")
        token = secrets.token_hex(16)
        held = Held(token, job_id, name, Path(self._folder.name) / token, 0.0, around)
        try:
            await self._write(held.path, pieces)
            await self.look(held, Wanted())
        except BaseException:
            held.let_go()
            raise
        self._make_room()
        self._held[token] = held
        return held

    async def look(self, held: Held, wanted: Wanted) -> Reading:
        """Read a held file as a person wants it to be understood; its hour begins anew.

        Raises
        ------
        ImportRefused
            If it cannot be read so; what was understood before is kept.
        """
        held.reading = await self.work(partial(read_file, held.path, held.name, wanted, held.around))
        held.until = self._now() + KEPT_SECONDS
        return held.reading

    async def work(self, work: Callable[[], T]) -> T:
        """Work on a file in the thread that reads."""
        return await asyncio.get_running_loop().run_in_executor(self._pool, work)

    def of(self, job_id: str, token: str) -> Held:
        """The file of a token.

        Raises
        ------
        Missing
            If it does not wait for this job, or not any more.
        """
        self._drop_old()
        held = self._held.get(token)
        if held is None or held.job_id != job_id:
            raise Missing("this file is no longer held: bring it in again")
        return held

    def let_go(self, held: Held) -> None:
        """Forget a file."""
        self._held.pop(held.token, None)
        held.let_go()

    async def _write(self, path: Path, pieces: AsyncIterator[bytes]) -> None:
        try:
            with path.open("wb") as file:
                gathered = bytearray()
                async for piece in pieces:
                    gathered += piece
                    if len(gathered) >= PIECE:
                        await asyncio.to_thread(file.write, bytes(gathered))
                        gathered.clear()
                await asyncio.to_thread(file.write, bytes(gathered))
        except OSError as error:
            raise Unusable(f"the file could not be written: {error.strerror or error}") from None

    def _drop_old(self) -> None:
        for held in [one for one in self._held.values() if one.until <= self._now()]:
            self.let_go(held)

    def _make_room(self) -> None:
        self._drop_old()
        while len(self._held) >= MOST_HELD:
            self.let_go(next(iter(self._held.values())))
