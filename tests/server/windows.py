"""A server on a free port in a thread, and windows that talk with it as the page does."""

import contextlib
import json
import socket
import struct
import threading
import time

import httpx
import numpy as np
import uvicorn
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect

from pondwright.server.app import make_app
from pondwright.server.run import configured, open_door
from tests.frames import whole

PATIENCE = 60.0  # seconds; only a server that hangs ever needs them


class Served:
    """A running server on a store."""

    def __init__(self, store_file):
        self.app = make_app(store_file)
        self.door = open_door(0)
        self.port = self.door.getsockname()[1]
        self.server = uvicorn.Server(configured(self.app))
        self.thread = threading.Thread(target=lambda: self.server.run(sockets=[self.door]))
        self.http = httpx.Client(base_url=self.address, timeout=PATIENCE, trust_env=False)

    @property
    def address(self):
        return f"http://127.0.0.1:{self.port}"

    def __enter__(self):
        self.thread.start()
        while not self.server.started:
            assert self.thread.is_alive(), "the server did not start"
            time.sleep(0.01)
        return self

    def __exit__(self, *_error):
        self.http.close()
        self.server.should_exit = True
        self.thread.join()
        self.door.close()

    def get(self, path, **rest):
        return self.http.get(f"/api{path}", **rest)

    def post(self, path, **rest):
        return self.http.post(f"/api{path}", **rest)

    def example(self, name="dozen_shots"):
        """Id of a fresh copy of an example."""
        return self.post(f"/examples/{name}/copy").json()["id"]

    def document(self, job_id):
        return self.get(f"/jobs/{job_id}/document").json()

    def window(self, job_id, name="ada", *, rev=None, greet=True):
        return Window(self.port, job_id, name, rev, greet)


class Window:
    """One open page: what it is told is sorted into messages and frames."""

    def __init__(self, port, job_id, name, rev, greet):
        self.name, self.counter, self.seq = name, 0, 0
        self.last = None
        self.opened = contextlib.ExitStack()
        self.socket = self.opened.enter_context(
            connect(
                f"ws://127.0.0.1:{port}/api/jobs/{job_id}/live", compression=None, max_size=None, proxy=None
            )
        )
        if greet:
            self.say(type="hello", proto=1, rev=rev, client=name, author=name)
            self.greeting = self.hear()
            self.rev = self.greeting["rev"]

    def __enter__(self):
        return self

    def __exit__(self, *_error):
        with contextlib.suppress(ConnectionClosed):
            self.opened.close()

    def vanish(self):
        """Go without a word, like a machine that lost its power."""
        self.socket.socket.shutdown(socket.SHUT_RDWR)
        self.__exit__()

    def say(self, **message):
        self.socket.send(json.dumps(message))

    def hear(self):
        """Next thing that the server says: a message, or a frame as :class:`Frame`."""
        raw = self.socket.recv(timeout=PATIENCE)
        if isinstance(raw, str):
            return json.loads(raw)
        frame = Frame(raw, self.last)
        self.last = frame.head
        return frame

    def hear_until(self, wanted):
        """Everything up to the first thing that is wanted, that included."""
        told = [self.hear()]
        while not wanted(told[-1]):
            told.append(self.hear())
        return told

    def edit(self, path, value, *, base=0, id_=None, op="replace", label="change"):
        """Send an edit; give what was said until its answer, the answer last."""
        self.counter += 1
        name = id_ or f"{self.name}-{self.counter}"
        self.say(type="edit", id=name, base=base, label=label, ops=[{"op": op, "path": path, "value": value}])
        return self.hear_until(
            lambda told: isinstance(told, dict) and told["type"] in ("ack", "nak") and told["id"] == name
        )

    def wish(self, ops=None, *, lod=1, want=(), section=None):
        self.seq += 1
        self.say(type="live", seq=self.seq, base=0, ops=ops, lod=lod, want=list(want), section=section)
        return self.seq

    def frame(self, ops=None, **rest):
        """Last frame that answers a wish: the exact one, or the one of a drag."""
        seq = self.wish(ops, **rest)

        def answers(told):
            if isinstance(told, dict):
                assert told["type"] != "cannot", told
                return False
            return told.head["seq"] == seq and (ops is not None or told.head["state"] == "exact")

        return self.hear_until(answers)[-1]


class Frame:
    """A decoded frame: its header, and its arrays by name (lists, one for each body)."""

    def __init__(self, body, before=None):
        assert body[:4] == b"PWF1"
        (length,) = struct.unpack_from("<I", body, 4)
        start = 8 + length
        assert start % 8 == 0
        self.head = whole(json.loads(body[8:start]), before)
        self.arrays, end = {}, 0
        for head in self.head["arrays"]:
            assert head["offset"] % 8 == 0 and head["offset"] >= end
            kind = np.dtype(head["dtype"]).newbyteorder("<")
            count = int(np.prod(head["shape"]))
            end = head["offset"] + count * kind.itemsize
            array = np.frombuffer(body, kind, count, start + head["offset"]).reshape(head["shape"])
            self.arrays.setdefault(head["name"], []).append((array, head))
        assert len(body) - start == -(-end // 8) * 8

    def heights(self, name):
        """A field in metres."""
        array, head = self.arrays[name][0]
        return array * head["scale"] + head.get("zero", 0.0)
