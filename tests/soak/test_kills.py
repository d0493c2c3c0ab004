"""Programs die at any moment: what was acknowledged is there when the file is opened again."""

import contextlib
import multiprocessing
import random
import sqlite3
import threading
import time
from itertools import count
from urllib.parse import urlsplit

import pytest
from hypothesis import settings
from websockets.exceptions import WebSocketException

from pondwright.examples import DOZEN_SHOTS, example_text
from pondwright.job.codec import loads
from pondwright.job.edits import Edit, apply
from pondwright.store import history, keep_job, loaded, open_store
from tests.server.windows import Window
from tests.soak import programs

pytestmark = pytest.mark.soak

KILLS = 300 if settings().max_examples > 1_000 else 3
LONGEST = 0.3  # seconds of work before a kill


@pytest.fixture(scope="module")
def start():
    """Starts a program from a clean process that has loaded all it needs already."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([programs.__name__])

    def started(program, *arguments):
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(target=program, args=(*arguments, theirs), daemon=True)
        process.start()
        theirs.close()
        return process, ours

    return started


@pytest.fixture
def shelf(tmp_path):
    """A store with one job: its file and the job's id."""
    file = tmp_path / "jobs.sqlite"
    store = open_store(file)
    job_id = keep_job(store, loads(example_text(DOZEN_SHOTS)), 0.0)
    store.close()
    return file, job_id


def told(pipe):
    """Everything that a killed program had still told."""
    found = []
    try:
        while True:
            found.append(pipe.recv())
    except (EOFError, OSError):
        return found


def assert_whole(file, job_id, acknowledged):
    """The file is sound, every acknowledged edit is there once, and the history replayed is the head."""
    opened = sqlite3.connect(file)
    assert opened.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    opened.close()
    store = open_store(file)
    try:
        kept = history(store, job_id)
        names = [edit.id for edit in kept]
        assert len(set(names)) == len(names) and set(acknowledged) <= set(names)
        assert [edit.rev for edit in kept] == list(range(1, len(kept) + 1))
        head, rev = loaded(store, job_id)
        assert rev == len(kept)
        before, _rev = loaded(store, job_id, max(rev - 60, 0))
        for edit in kept[max(rev - 60, 0) :]:
            before = apply(before, Edit(edit.id, edit.base, edit.ops, edit.label))
        assert before == head
    finally:
        store.close()


def test_a_writer_that_is_killed_loses_nothing_that_it_acknowledged(start, shelf):
    file, job_id = shelf
    chance, acknowledged = random.Random(7), []

    for kill in range(KILLS):
        process, pipe = start(programs.write_edits, file, job_id, f"writer{kill}")
        acknowledged.append(pipe.recv())
        time.sleep(chance.uniform(0.0, LONGEST))
        process.kill()
        process.join()
        acknowledged += told(pipe)
        assert_whole(file, job_id, acknowledged)

    assert len(acknowledged) >= KILLS


def test_a_server_that_is_killed_loses_nothing_that_it_acknowledged(start, shelf):
    """The edit that had no answer is sent again to the next server, and is kept once."""
    file, job_id = shelf
    chance, acknowledged, waiting = random.Random(11), [], []

    for kill in range(KILLS):
        process, pipe = start(programs.serve, file, job_id, "server")
        port = urlsplit(pipe.recv()).port
        # It is killed among edits: how long a loaded machine takes to the first is no matter.
        killer = threading.Timer(chance.uniform(0.0, LONGEST), process.kill)
        with (
            contextlib.suppress(WebSocketException, OSError),
            Window(port, job_id, "w", None, True) as window,
        ):
            for number in count(1):
                if number == 2:
                    killer.start()
                waiting = waiting or [f"w-{kill * 100_000 + number}"]
                answer = window.edit("/brief/client", waiting[0], base=window.rev, id_=waiting[0])[-1]
                assert answer["type"] == "ack"
                acknowledged.append(waiting.pop())
        killer.join()
        process.join()
        pipe.close()
        assert_whole(file, job_id, acknowledged)

    assert len(acknowledged) >= KILLS
