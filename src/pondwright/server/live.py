"""The live channel: edits become revisions, drags become previews, and the newest wish wins.

One thread computes what must follow a hand, one what may take a second, one what may take several, and one
talks with the store; the event loop only carries messages.  A drag is a fork of the last run and leaves no
trace.  For each window at most one wish waits: a newer one takes its place, so that work never queues.  What
a window is told goes through a queue of its own, so that one that has fallen asleep holds up no other.
"""

from __future__ import annotations

import asyncio
import json
import sys
import time
import traceback
from collections.abc import AsyncIterator, Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

from fastapi import WebSocket, WebSocketDisconnect

from pondwright import api
from pondwright.base.errors import DocumentError, PondwrightError
from pondwright.flow.engine import Run, Tier, never
from pondwright.job.alike import with_parts_of
from pondwright.job.document import Job
from pondwright.job.edits import LONGEST_ID, Edit, read_edit
from pondwright.job.log import Log
from pondwright.server.arrays import Wish
from pondwright.server.frames import frame
from pondwright.server.known import is_exact, known, new_shelf, put
from pondwright.server.messages import Message, heard, is_count, read_wish, too_long, word
from pondwright.server.plain import plain, plain_edits, plain_refusal
from pondwright.server.told import NOTHING, Told
from pondwright.store import (
    Accepted,
    KeptEdit,
    Refused,
    Store,
    append_edit,
    edits_since,
    loaded,
    log_of,
    restore,
)

PROTOCOL = 1
FAR_BEHIND = 200
"""Revisions that a returning window may lack and still get as edits instead of the whole document."""

MOST_UNSENT = 1_000
"""Messages that may wait for a window that does not take them; with more, it is let go."""

MOST_IDLE = 2
"""Jobs that nobody looks at any more and that stay computed, because somebody may come back."""

T = TypeVar("T")


@dataclass(eq=False)
class LiveJob:
    """A job that somebody has open: its newest document, its newest run, and who looks on."""

    id: str
    rev: int
    job: Job
    log: Log
    run: Run | None = None
    run_rev: int = -1
    users: int = 0
    clients: set[Client] = field(default_factory=set)

    def keep(self, run: Run, rev: int) -> None:
        """Remember a run, unless a newer one, or as new a one that knows more, is there already."""
        if rev > self.run_rev or (rev == self.run_rev and is_exact(run)):
            self.run, self.run_rev = run, rev


@dataclass(eq=False)
class Client:
    """One window on a job: the wish that waits, the run that its drag goes on from, what it has been told."""

    socket: WebSocket
    live: LiveJob
    author: str = ""
    waiting: Message | None = None
    rung: asyncio.Event = field(default_factory=asyncio.Event)
    preview: Run | None = None
    told: Told = NOTHING
    unsent: asyncio.Queue[str | bytes | None] = field(default_factory=asyncio.Queue)

    def tell(self, **message: object) -> None:
        """Put a message behind those that are on their way."""
        self.put(json.dumps(message, allow_nan=False))

    def put(self, text: str) -> None:
        """Put a text behind those that are on their way."""
        self.unsent.put_nowait(text if self.unsent.qsize() < MOST_UNSENT else None)

    async def show(self, body: bytes) -> None:
        """Send a frame, and wait until it has gone: frames never queue."""
        self.unsent.put_nowait(body)
        await self.unsent.join()

    async def send(self) -> None:
        """Send what there is to tell, until the window goes or has fallen asleep."""
        while (one := await self.unsent.get()) is not None:
            try:
                if isinstance(one, str):
                    await self.socket.send_text(one)
                else:
                    await self.socket.send_bytes(one)
            except RuntimeError:  # the channel was closed meanwhile
                return
            self.unsent.task_done()


class Workshop:
    """All jobs that are open in this server, and the threads that compute them."""

    def __init__(self, store: Store, now: Callable[[], float] = time.time) -> None:
        """Work on the jobs of a store; ``now`` tells the time of edits (seconds since 1970)."""
        self.store = store
        self.now = now
        self._open: dict[str, LiveJob] = {}
        self._late_runs = new_shelf()
        self._quick = ThreadPoolExecutor(1, "quick")
        self._slow = ThreadPoolExecutor(1, "slow")
        self._late = ThreadPoolExecutor(1, "late")
        self._storing = ThreadPoolExecutor(1, "store")
        self._opening = asyncio.Lock()
        self._writing = asyncio.Lock()

    def close(self) -> None:
        """Stop the threads."""
        for pool in (self._quick, self._slow, self._late, self._storing):
            pool.shutdown(wait=True, cancel_futures=True)

    async def run_of(self, job_id: str) -> tuple[Run, int]:
        """Whole run of a job's newest revision, with that revision.

        Raises
        ------
        Missing
            If there is no such job.
        """
        async with self._opened(job_id) as live:
            async with self._writing:
                await self._catch_up(live)
            rev, work = live.rev, partial(api.compute, live.job, live.log, after=live.run)
            run = await _in(self._late, work)
            self._keep(live, run, rev)
            return run, rev

    async def edit(self, job_id: str, edit: Edit, author: str) -> Accepted | Refused:
        """Keep an edit, or refuse it, and tell every window of it.

        Raises
        ------
        StoreError
            If there is no such job, or it could not be kept.
        """
        async with self._opened(job_id) as live:
            edit = await _in(self._slow, partial(_balanced, live.job, live.log, edit, live.run))
        return await self._written(job_id, partial(append_edit, self.store, job_id, edit, author, self.now()))

    async def restore(self, job_id: str, rev: int, edit_id: str, author: str) -> Accepted:
        """Bring back a revision as a new edit, and tell every window of it.

        Raises
        ------
        StoreError
            If there is no such job or revision, or it could not be kept.
        """
        return await self._written(
            job_id, partial(restore, self.store, job_id, rev, edit_id, author, self.now())
        )

    async def serve(self, socket: WebSocket, job_id: str) -> None:
        """Talk with one window until it goes."""
        await socket.accept()
        try:
            async with self._opened(job_id) as live:
                await self._talk(Client(socket, live))
        except PondwrightError as error:
            await _farewell(socket, plain_refusal(error)["says"])
        except WebSocketDisconnect:
            return

    async def _talk(self, client: Client) -> None:
        """Listen, send and compute side by side; the first that ends, ends the others."""
        tasks = [
            asyncio.create_task(work)
            for work in (self._listen(client), client.send(), self._answer_wishes(client))
        ]
        try:
            done, _others = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        finally:
            client.live.clients.discard(client)
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
        for task in done:
            task.result()

    async def _listen(self, client: Client) -> None:
        hello, _long = await heard(client.socket)
        if hello.get("type") != "hello" or hello.get("proto") != PROTOCOL:
            raise DocumentError(f"the first message must be hello with proto {PROTOCOL}")
        client.author = word(hello, "author")
        await self._greet(client, hello.get("rev"))
        while True:
            message, long = await heard(client.socket)
            await self._act(client, message, long)

    async def _greet(self, client: Client, known: object) -> None:
        """Tell a window what it lacks; from now on it hears of every edit."""
        live = client.live
        async with self._writing:
            await self._catch_up(live)
            if is_count(known) and live.rev - FAR_BEHIND <= known <= live.rev:  # type: ignore[operator]
                edits = await _in(self._storing, partial(edits_since, self.store, live.id, known))  # type: ignore[arg-type]
                client.tell(type="patch", rev=live.rev, edits=plain_edits(edits))
            else:
                document = await _in(self._storing, partial(live.job.model_dump, mode="json"))
                client.tell(type="doc", rev=live.rev, job=document)
            live.clients.add(client)

    async def _act(self, client: Client, message: Message, long: bool) -> None:
        kind = message.get("type")
        if kind == "ping":
            client.tell(type="pong")
        elif kind == "edit":
            await self._act_on_edit(client, message, long)
        elif kind == "live" and long:
            client.tell(type="cannot", seq=message.get("seq"), **_why(too_long("a wish")))
        elif kind == "live":
            client.waiting = message
            client.rung.set()
        else:
            raise DocumentError(f"`type` must be edit, live or ping, got {str(kind)[:40]!r}")

    async def _act_on_edit(self, client: Client, message: Message, long: bool) -> None:
        """Keep an edit and say yes or no; whichever it is comes after all edits that were kept before."""
        live, edit_id = client.live, str(message.get("id", ""))[:LONGEST_ID]
        try:
            if long:
                raise too_long("an edit")
            edit = read_edit({name: message.get(name) for name in ("id", "base", "ops", "label")})
            outcome = await self.edit(live.id, edit, client.author)
        except PondwrightError as error:
            client.tell(type="nak", id=edit_id, rev=live.rev, edits=[], **_why(error))
            return
        if isinstance(outcome, Accepted):
            client.tell(type="ack", id=edit_id, rev=outcome.rev)
        else:
            since = plain_edits(outcome.since)
            client.tell(
                type="nak",
                id=edit_id,
                rev=outcome.rev,
                why=outcome.why,
                faults=plain(outcome.faults),
                edits=since,
            )

    async def _answer_wishes(self, client: Client) -> None:
        while True:
            await client.rung.wait()
            client.rung.clear()
            message, client.waiting = client.waiting, None
            if message is None:
                continue
            try:
                wish = read_wish(message)
                if wish.at_rest:
                    await self._show_at_rest(client, wish)
                else:
                    await self._show_drag(client, wish, message["ops"])
            except PondwrightError as error:
                client.tell(type="cannot", seq=message.get("seq"), **_why(error))
            except Exception as error:
                traceback.print_exc(file=sys.stderr)
                why = f"this is a fault of pondwright, not of your job: {type(error).__name__}: {error}"
                client.tell(type="cannot", seq=message.get("seq"), why=why, faults=[])

    async def _show_drag(self, client: Client, wish: Wish, ops: object) -> None:
        """Answer a drag with one frame, computed on from the last one of the same drag."""
        live = client.live
        edit = read_edit({"id": "preview", "base": live.rev, "ops": ops, "label": ""})
        rev, after = live.rev, client.preview or live.run
        client.preview = await _in(self._quick, partial(api.drag, live.job, edit, live.log, after=after))
        await self._show(client, client.preview, rev, wish, self._quick)

    async def _show_at_rest(self, client: Client, wish: Wish) -> None:
        """Show the newest revision: at once what is quick, then the rest, unless something newer comes."""
        client.preview = None
        while client.waiting is None:
            if await self._shown(client, wish, "drag", self._quick):
                return
            if await self._shown(client, wish, "settle", self._slow):
                return
            if await self._shown(client, wish, "background", self._late):
                return

    async def _shown(self, client: Client, wish: Wish, tier: Tier, pool: ThreadPoolExecutor) -> bool:
        """Whether the newest revision has been shown, and exactly."""
        live = client.live
        rev, log, after = live.rev, live.log, live.run
        overtaken = never if tier == "drag" else partial(_is_overtaken, client, rev)
        run = await _in(pool, partial(api.compute, live.job, log, tier, after=after, cancelled=overtaken))
        exact = self._keep(live, run, rev)
        if exact or not overtaken():
            await self._show(client, run, rev, wish, pool)
        return exact and rev == live.rev

    async def _show(self, client: Client, run: Run, rev: int, wish: Wish, pool: ThreadPoolExecutor) -> None:
        """Show a run: what is new of it since the last frame of this window."""
        body, client.told = await _in(pool, partial(frame, run, rev, wish, client.told))
        await client.show(body)

    def _keep(self, live: LiveJob, run: Run, rev: int) -> bool:
        """Remember a run; gives whether it is exact."""
        live.keep(run, rev)
        exact = is_exact(run)
        if exact:
            put(self._late_runs, run)
        return exact

    @asynccontextmanager
    async def _opened(self, job_id: str) -> AsyncIterator[LiveJob]:
        """The one live job of this id, which stays open as long as somebody uses it."""
        async with self._opening:
            live = self._open.pop(job_id, None)
            if live is None:
                others, runs = tuple(self._open.values()), tuple(self._late_runs)
                live = await _in(self._storing, partial(_live, self.store, job_id, others, runs))
            self._open[job_id] = live  # the one last opened stands last
            live.users += 1
        try:
            yield live
        finally:
            live.users -= 1
            idle = [one.id for one in self._open.values() if one.users == 0]
            for name in idle[:-MOST_IDLE]:
                del self._open[name]

    async def _written(self, job_id: str, write: Callable[[], T]) -> T:
        """Write to the store and tell every window; a window that goes meanwhile does not stop this."""
        return await asyncio.shield(asyncio.ensure_future(self._write(job_id, write)))

    async def _write(self, job_id: str, write: Callable[[], T]) -> T:
        async with self._opened(job_id) as live, self._writing:
            outcome = await _in(self._storing, write)
            await self._catch_up(live)
            return outcome

    async def _catch_up(self, live: LiveJob) -> None:
        """Take over what the store has, whoever wrote it, and tell every window."""
        runs = tuple(self._late_runs)
        edits, job, run = await _in(self._storing, partial(_news, self.store, live, runs))
        if not edits:
            return
        live.job, live.rev = job, edits[-1].rev
        if run is not None:
            live.job = run.job
            live.keep(run, live.rev)
        text = json.dumps({"type": "patch", "rev": live.rev, "edits": plain_edits(edits)}, allow_nan=False)
        for client in live.clients:
            client.put(text)


async def _in(pool: ThreadPoolExecutor, work: Callable[[], T]) -> T:
    return await asyncio.get_running_loop().run_in_executor(pool, work)


def _live(store: Store, job_id: str, others: Sequence[LiveJob], runs: Sequence[Run]) -> LiveJob:
    """A job as the store has it; one with the site of an open job, as copies have, goes on from its run."""
    (job, rev), log = loaded(store, job_id), log_of(store, job_id)
    run = known(runs, job, log)
    if run is not None:
        return LiveJob(job_id, rev, run.job, run.log, run, rev)
    for other in reversed(others):
        if other.run is not None and other.run.job.site == job.site:
            log = other.run.log if other.run.log == log else log
            return LiveJob(job_id, rev, with_parts_of(job, other.run.job), log, other.run)
    return LiveJob(job_id, rev, job, log)


def _news(store: Store, live: LiveJob, runs: Sequence[Run]) -> tuple[tuple[KeptEdit, ...], Job, Run | None]:
    """Edits that a live job lacks, the document after exactly those, and its run where it is known."""
    edits = edits_since(store, live.id, live.rev)
    if not edits:
        return edits, live.job, None
    job = with_parts_of(loaded(store, live.id, edits[-1].rev)[0], live.job)
    return edits, job, known(runs, job, live.log)


def _balanced(job: Job, log: Log, edit: Edit, after: Run | None) -> Edit:
    """The edit with the level that keeps soil balanced; one that does not fit is refused by the store."""
    try:
        return api.keep_balanced(job, edit, log, after=after)
    except DocumentError:
        return edit


def _is_overtaken(client: Client, rev: int) -> bool:
    """Whether nobody waits for this revision: a newer wish or edit came, or the window has gone."""
    gone = client not in client.live.clients
    return gone or client.waiting is not None or client.live.rev != rev


def _why(error: PondwrightError) -> dict[str, object]:
    refusal = plain_refusal(error)
    return {"why": refusal["says"], "faults": refusal["faults"]}


async def _farewell(socket: WebSocket, why: str) -> None:
    try:
        await socket.send_text(json.dumps({"type": "bye", "why": why}))
        await socket.close(1008)
    except (RuntimeError, WebSocketDisconnect):
        return
