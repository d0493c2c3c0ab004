"""What a person starts: the server of pondwright, and a browser in front of it.

The browser is the system's Chromium, without a window and without a word to anybody but our server.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

CHROMIUM_FLAGS = (
    "--no-sandbox",  # root may not have one
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PATIENCE_SECONDS = 60.0


class Server:
    """One running ``pondwright serve`` with its own folder of jobs."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.address = ""
        self._process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Begin to serve; after a `kill` at the same address again."""
        port = self.address.rpartition(":")[2] or "0"
        command = [sys.executable, "-m", "pondwright", "serve", "--data", str(self.folder), "--port", port]
        with (self.folder / "server.log").open("a", encoding="utf-8") as log:
            self._process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=log, text=True)
        assert self._process.stdout is not None
        for line in self._process.stdout:
            if "http://" in line:
                words = line.split()
                self.address = (
                    next(word for word in words if word.startswith("http://")).split("/#")[0].rstrip("/")
                )
                return
        raise RuntimeError(f"the server did not start: {(self.folder / 'server.log').read_text()}")

    def kill(self) -> None:
        """End at once, as a power cut does."""
        self._end(lambda process: process.kill())

    def stop(self) -> None:
        """End in good order."""
        self._end(lambda process: process.terminate())

    def _end(self, end: Any) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        end(process)
        process.wait(PATIENCE_SECONDS)
        if process.stdout is not None:
            process.stdout.close()


@contextmanager
def serving(folder: Path) -> Iterator[Server]:
    """A server for as long as it is needed."""
    server = Server(folder)
    server.start()
    try:
        yield server
    finally:
        server.stop()


@contextmanager
def browsing() -> Iterator[Browser]:
    """A browser for as long as it is needed."""
    program = shutil.which("chromium")
    if program is None:
        raise RuntimeError("there is no chromium; `bash tools/system.sh` installs it")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=list(CHROMIUM_FLAGS))
        try:
            yield browser
        finally:
            browser.close()
