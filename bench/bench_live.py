"""The live channel and the store: the frame of a drag, an edit on the disk, and both through the channel.

A pond of 24 pegs on 300 x 300 nodes is dragged by one peg.  The server runs in this process, on this
machine's loopback, so that its event loop can be watched; the window is a plain client of the channel.
"""

from __future__ import annotations

import asyncio
import json
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import uvicorn
from websockets.sync.client import ClientConnection, connect

from bench.bench_frame import moved, pond_job
from bench.rows import Row, at_least, at_most
from pondwright import api
from pondwright.base.findings import Op
from pondwright.job.document import Job
from pondwright.job.edits import Edit
from pondwright.server.app import make_app
from pondwright.server.arrays import Wish
from pondwright.server.frames import frame
from pondwright.server.run import configured, open_door
from pondwright.store import append_edit, keep_job, open_store

NODES = 300
MOVES = 120
EDITS = 100
WANTED = ("contours_new", "depth", "dz", "shore", "storage", "strip", "z")
PEGS = "/shape/bodies/pond/outline/curve"
TICK = 0.002  # seconds between two looks at the event loop's clock


def rows() -> list[Row]:
    """Frames as the server makes them, edits on the disk, and both through the channel."""
    return [*frame_rows(), *store_rows(), *channel_rows()]


def frame_rows() -> list[Row]:
    """A peg dragged: compute and encode, on the coarse grid of a drag and on the full one."""
    found = []
    for lod, goal in ((2, 30.0), (1, 50.0)):
        job = pond_job(NODES)
        run = api.compute(job)
        wish = Wish(1, lod, frozenset(WANTED), (), at_rest=False)
        _first, told = frame(run, 0, wish)
        times, sizes = [], []
        for move in range(MOVES):
            job = moved(job, 0.001 if move < MOVES // 2 else -0.001)
            began = time.perf_counter()
            run = api.compute(job, tier="drag", after=run)
            body, told = frame(run, 0, wish, told)
            times.append(1e3 * (time.perf_counter() - began))
            sizes.append(len(body))
        name = f"live {NODES} x {NODES}, every {'second ' if lod == 2 else ''}node: compute and encode"
        found += _spread(name, times, goal)
        found.append(Row(f"{name}: size", float(np.median(sizes)) / 1e3, "kB"))
    return found


def store_rows() -> list[Row]:
    """One edit into the store, synced to the disk."""
    times = []
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder) / "jobs.sqlite")
        job_id = keep_job(store, pond_job(NODES), 0.0)
        for number in range(EDITS):
            edit = Edit(f"bench-{number}", number, (Op("replace", "/brief/client", str(number)),), "bench")
            began = time.perf_counter()
            append_edit(store, job_id, edit, "bench", 0.0)
            times.append(1e3 * (time.perf_counter() - began))
        store.close()
    return _spread("store: one edit kept and synced", times, 20.0)


def channel_rows() -> list[Row]:
    """An edit until its answer, drags until their frames, and how late the event loop is meanwhile."""
    with (
        _served() as (port, job_id, late),
        connect(
            f"ws://127.0.0.1:{port}/api/jobs/{job_id}/live", compression=None, max_size=None, proxy=None
        ) as window,
    ):
        _say(window, type="hello", proto=1, rev=None, author="bench")
        job = _heard(window)["job"]
        pegs = job["shape"]["bodies"]["pond"]["outline"]["curve"]["pegs"]
        _say(window, type="live", seq=0, ops=None, lod=1, want=list(WANTED))
        while not isinstance(window.recv(), bytes):
            pass
        time.sleep(1.0)
        answers = [_edit_to_answer(window, number) for number in range(EDITS)]
        late.clear()
        began = time.perf_counter()
        drags = [_drag_to_frame(window, pegs, number) for number in range(1, MOVES + 1)]
        rate = MOVES / (time.perf_counter() - began)
        delays = [1e3 * one for one in late]
    return [
        *_spread("channel: edit to answer", answers, 30.0),
        *_spread("channel: drag to frame", drags, 50.0),
        Row("channel: frames of a drag", rate, "1/s", goal=at_least(20.0)),
        *_spread("channel: event loop late while dragging", delays, 20.0),
    ]


def _edit_to_answer(window: ClientConnection, number: int) -> float:
    ops = [{"op": "replace", "path": "/brief/client", "value": str(number)}]
    began = time.perf_counter()
    _say(window, type="edit", id=f"bench-{number}", base=number, label="bench", ops=ops)
    while _heard(window).get("type") != "ack":
        pass
    return 1e3 * (time.perf_counter() - began)


def _drag_to_frame(window: ClientConnection, pegs: list[dict[str, Any]], number: int) -> float:
    pegs[3]["east"] += 0.001
    ops = [{"op": "replace", "path": PEGS, "value": {"pegs": pegs}}]
    began = time.perf_counter()
    _say(window, type="live", seq=number, base=0, ops=ops, lod=2, want=list(WANTED))
    while not isinstance(window.recv(), bytes):
        pass
    return 1e3 * (time.perf_counter() - began)


@contextmanager
def _served() -> Iterator[tuple[int, str, list[float]]]:
    """A server with the bench's job: its port, the job, and how late its event loop was at each look."""
    late: list[float] = []
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "jobs.sqlite"
        job_id = _shelved(file, pond_job(NODES))
        door = open_door(0)
        server = uvicorn.Server(configured(make_app(file)))

        async def watched() -> None:
            watcher = asyncio.create_task(_watch(late))
            await server.serve(sockets=[door])
            watcher.cancel()

        thread = threading.Thread(target=lambda: asyncio.run(watched()))
        thread.start()
        try:
            while not server.started:
                time.sleep(0.01)
            yield door.getsockname()[1], job_id, late
        finally:
            server.should_exit = True
            thread.join()
            door.close()


async def _watch(late: list[float]) -> None:
    while True:
        began = time.perf_counter()
        await asyncio.sleep(TICK)
        late.append(max(time.perf_counter() - began - TICK, 0.0))


def _shelved(file: Path, job: Job) -> str:
    store = open_store(file)
    try:
        return keep_job(store, job, 0.0)
    finally:
        store.close()


def _spread(name: str, times: list[float], goal: float) -> list[Row]:
    return [
        Row(f"{name}, half", float(np.median(times)), "ms"),
        Row(f"{name}, 95 in 100", float(np.percentile(times, 95)), "ms", goal=at_most(goal)),
    ]


def _say(window: ClientConnection, **message: object) -> None:
    window.send(json.dumps(message))


def _heard(window: ClientConnection) -> dict[str, Any]:
    raw = window.recv()
    found: dict[str, Any] = json.loads(raw) if isinstance(raw, str) else {}
    return found
