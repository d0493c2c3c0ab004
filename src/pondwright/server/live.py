"""The live channel: edits become revisions, drags become previews, and the newest wish wins.

One thread computes what must follow a hand and one computes what may take a second; the event loop
only carries messages.  A drag is a fork of the last run and leaves no trace.  For each client at most one
wish waits: a newer one takes its place, so that work never queues.
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any, cast

from fastapi import WebSocket, WebSocketDisconnect

from pondwright import api
from pondwright.base.errors import DocumentError, PondwrightError
from pondwright.flow.engine import Run, Tier
from pondwright.job.document import Job
from pondwright.job.edits import Edit, read_edit
from pondwright.job.log import Log
from pondwright.server.frames import NAMES, Wish, frame
from pondwright.server.plain import plain, plain_edits, plain_refusal
from pondwright.store import Accepted, Refused, Store, append_edit, edits_since, loaded, log_of

PROTOCOL = 1
LONGEST_MESSAGE = 2 * 1024 * 1024
LONGEST_SECTION = 200
FAR_BEHIND = 200
"""Revisions that a returning client may lack and still get as edits instead of the whole document."""


@dataclass(eq=False)
class LiveJob:
    """A job that somebody has open: its newest document, its newest run, and who looks on."""

    id: str
    rev: int
    job: Job
    log: Log
    run: Run | None = None
    run_rev: int = -1
    clients: set[Client] = field(default_factory=set)


@dataclass(eq=False)
class Client:
    """One window on a job: the wish that waits, and the run that its drag goes on from."""

    socket: WebSocket
    live: LiveJob
    author: str
    waiting: dict[str, Any] | None = None
    rung: asyncio.Event = field(default_factory=asyncio.Event)
    preview: Run | None = None
    sending: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def tell(self, **message: Any) -> None:
        """Send a message as text."""
        async with self.sending:
            await self.socket.send_text(json.dumps(message, allow_nan=False))

    async def show(self, body: bytes) -> None:
        """Send a frame."""
        async with self.sending:
            await self.socket.send_bytes(body)


class Workshop:
    """All jobs that are open in this server, and the threads that compute them."""

    def __init__(self, store: Store, now: Callable[[], float] = time.time) -> None:
        """Work on the jobs of a store; ``now`` tells the time of edits (seconds since 1970)."""
        self.store = store
        self.now = now
        self._open: dict[str, LiveJob] = {}
        self._quick = ThreadPoolExecutor(1, "quick")
        self._slow = ThreadPoolExecutor(1, "slow")
        self._writing = asyncio.Lock()

    def close(self) -> None:
        """Stop the threads."""
        self._quick.shutdown(wait=True, cancel_futures=True)
        self._slow.shutdown(wait=True, cancel_futures=True)

    async def run_of(self, job_id: str) -> tuple[Run, int]:
        """Whole run of a job's newest revision."""
        live = await self._live(job_id)
        while True:
            rev, job = live.rev, live.job
            run = await self._in(self._slow, lambda job=job: api.compute(job, live.log, after=live.run))
            self._keep(live, run, rev)
            if rev == live.rev:
                return run, rev

    async def edit(self, job_id: str, edit: Edit, author: str) -> Accepted | Refused:
        """Keep an edit and tell every window of it."""
        live = await self._live(job_id)
        async with self._writing:
            outcome = await self._in(
                self._slow, lambda: append_edit(self.store, job_id, edit, author, self.now())
            )
            if isinstance(outcome, Accepted):
                await self._catch_up(live)
        return outcome

    async def changed_elsewhere(self, job_id: str) -> None:
        """Tell every window what a request beside the live channel has done to a job."""
        if job_id in self._open:
            async with self._writing:
                await self._catch_up(self._open[job_id])

    async def serve(self, socket: WebSocket, job_id: str) -> None:
        """Talk with one window until it goes."""
        await socket.accept()
        worker: asyncio.Task[None] | None = None
        client: Client | None = None
        try:
            live = await self._live(job_id)
            client = await self._greeted(socket, live)
            if client is None:
                return
            worker = asyncio.create_task(self._answer_wishes(client))
            while True:
                message = await _message(socket)
                await self._heard(client, message)
        except WebSocketDisconnect:
            pass
        except PondwrightError as error:
            await _farewell(socket, str(error))
        finally:
            if worker is not None:
                worker.cancel()
            if client is not None:
                client.live.clients.discard(client)
                self._let_go(client.live)

    async def _greeted(self, socket: WebSocket, live: LiveJob) -> Client | None:
        hello = await _message(socket)
        if hello.get("type") != "hello" or hello.get("proto") != PROTOCOL:
            await _farewell(socket, f"the first message must be hello with proto {PROTOCOL}")
            return None
        client = Client(socket, live, str(hello.get("author", ""))[:80])
        known = hello.get("rev")
        async with self._writing:
            await self._catch_up(live)
            if _is_count(known) and live.rev - FAR_BEHIND <= known <= live.rev:
                edits = edits_since(self.store, live.id, known)
                await client.tell(type="patch", rev=live.rev, edits=plain_edits(edits))
            else:
                document = live.job.model_dump(mode="json", exclude_unset=False)
                await client.tell(type="doc", rev=live.rev, job=document)
            live.clients.add(client)
        return client

    async def _heard(self, client: Client, message: dict[str, Any]) -> None:
        kind = message.get("type")
        if kind == "ping":
            await client.tell(type="pong")
        elif kind == "edit":
            await self._edited(client, message)
        elif kind == "live":
            client.waiting = message
            client.rung.set()
        else:
            raise DocumentError(f"`type` must be edit, live or ping, got {str(kind)[:40]!r}")

    async def _edited(self, client: Client, message: dict[str, Any]) -> None:
        live = client.live
        edit_id = str(message.get("id", ""))[:64]
        try:
            edit = read_edit({name: message.get(name) for name in ("id", "base", "ops", "label")})
            outcome = await self.edit(live.id, edit, client.author)
        except PondwrightError as error:
            refusal = plain_refusal(error)
            await client.tell(
                type="nak", id=edit_id, rev=live.rev, why=refusal["says"], faults=refusal["faults"], edits=[]
            )
            return
        if isinstance(outcome, Accepted):
            await client.tell(type="ack", id=edit.id, rev=outcome.rev)
        else:
            await client.tell(
                type="nak",
                id=edit.id,
                rev=outcome.rev,
                why=outcome.why,
                faults=plain(outcome.faults),
                edits=plain_edits(outcome.since),
            )

    async def _answer_wishes(self, client: Client) -> None:
        while True:
            await client.rung.wait()
            client.rung.clear()
            message, client.waiting = client.waiting, None
            if message is None:
                continue
            try:
                await self._answer(client, message)
            except WebSocketDisconnect:
                return
            except PondwrightError as error:
                refusal = plain_refusal(error)
                await client.tell(
                    type="cannot", seq=message.get("seq"), why=refusal["says"], faults=refusal["faults"]
                )

    async def _answer(self, client: Client, message: dict[str, Any]) -> None:
        """Answer one wish: a drag with one frame, a job at rest with a quick one and then an exact one."""
        live = client.live
        wish = _wish(message)
        if not wish.at_rest:
            edit = read_edit({"id": "preview", "base": live.rev, "ops": message["ops"], "label": ""})
            client.preview, body = await self._in(
                self._quick, lambda: self._drawn(live, api.edit(live.job, edit), client.preview, "drag", wish)
            )
            await client.show(body)
            return
        client.preview = None
        for tier in cast(tuple[Tier, ...], ("drag", "background")):
            rev, job, thread = live.rev, live.job, self._quick if tier == "drag" else self._slow
            run, body = await self._in(
                thread, lambda job=job, tier=tier: self._drawn(live, job, None, tier, wish, rev)
            )
            self._keep(live, run, rev)
            await client.show(body)
            if client.waiting is not None or not _has_stale(run):
                return

    def _drawn(
        self, live: LiveJob, job: Job, after: Run | None, tier: Tier, wish: Wish, rev: int | None = None
    ) -> tuple[Run, bytes]:
        run = api.compute(job, live.log, tier, after=after or live.run)
        return run, frame(run, live.rev if rev is None else rev, wish)

    def _keep(self, live: LiveJob, run: Run, rev: int) -> None:
        """Remember a run, unless a newer one, or as new a one that knows more, is there already."""
        better = rev > live.run_rev or (rev == live.run_rev and not _has_stale(run))
        if better:
            live.run, live.run_rev = run, rev

    async def _live(self, job_id: str) -> LiveJob:
        if job_id not in self._open:
            job, rev = loaded(self.store, job_id)
            self._open[job_id] = LiveJob(job_id, rev, job, log_of(self.store, job_id))
        return self._open[job_id]

    def _let_go(self, live: LiveJob) -> None:
        if not live.clients:
            self._open.pop(live.id, None)

    async def _catch_up(self, live: LiveJob) -> None:
        """Take over what the store has, whoever wrote it, and tell every window."""
        edits = edits_since(self.store, live.id, live.rev)
        if not edits:
            return
        live.job, live.rev = loaded(self.store, live.id)
        message = {"type": "patch", "rev": live.rev, "edits": plain_edits(edits)}
        for client in tuple(live.clients):
            try:
                await client.tell(**message)
            except (WebSocketDisconnect, RuntimeError):
                live.clients.discard(client)

    @staticmethod
    async def _in(pool: ThreadPoolExecutor, work: Callable[[], Any]) -> Any:
        return await asyncio.get_running_loop().run_in_executor(pool, work)


async def _message(socket: WebSocket) -> dict[str, Any]:
    """Next message of a client, refused when it is no small JSON object."""
    text = await socket.receive_text()
    if len(text) > LONGEST_MESSAGE:
        raise DocumentError(f"a message must be at most {LONGEST_MESSAGE} characters, got {len(text)}")
    try:
        message = json.loads(text)
    except (ValueError, RecursionError):
        raise DocumentError("a message must be JSON") from None
    if not isinstance(message, dict):
        raise DocumentError("a message must be a JSON object")
    return message


async def _farewell(socket: WebSocket, why: str) -> None:
    try:
        await socket.send_text(json.dumps({"type": "bye", "why": why}))
        await socket.close(1008)
    except (RuntimeError, WebSocketDisconnect):
        return


def _wish(message: dict[str, Any]) -> Wish:
    seq, lod, names = message.get("seq"), message.get("lod", 1), message.get("want", [])
    if not _is_count(seq):
        raise DocumentError("`seq` must be a whole number from 0")
    if lod not in (1, 2) or isinstance(lod, bool):
        raise DocumentError("`lod` must be 1 or 2")
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise DocumentError("`want` must be a list of names")
    return Wish(
        cast(int, seq), lod, NAMES & frozenset(names), _section(message), at_rest=message.get("ops") is None
    )


def _section(message: dict[str, Any]) -> tuple[tuple[float, float], ...]:
    section = message.get("section")
    if section is None:
        return ()
    points = section.get("points") if isinstance(section, dict) else None
    if not isinstance(points, list) or len(points) > LONGEST_SECTION:
        raise DocumentError(f"`section` must have a list of at most {LONGEST_SECTION} points")
    return tuple(_point(point) for point in points)


def _point(point: Any) -> tuple[float, float]:
    numbers = point if isinstance(point, list) else []
    if len(numbers) != 2 or not all(
        isinstance(one, int | float) and not isinstance(one, bool) and abs(one) < 1e9 for one in numbers
    ):
        raise DocumentError("a point of `section` must be [east, north] in metres")
    return float(numbers[0]), float(numbers[1])


def _is_count(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def _has_stale(run: Run) -> bool:
    return any(state.status == "stale" for state in run.stages.values())
