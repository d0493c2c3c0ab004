"""How the set-up does its work: steps that leave a stamp, and what they took.

A stamp in `.venv/stamps` names what a step was made from: the Python in use, this checkout's place, and
a hash of its files.  A step whose stamp still holds is not done again.
"""

from __future__ import annotations

import hashlib
import os
import platform
import subprocess
import sys
import time
from collections.abc import Container, Iterable, Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMPS = VENV / "stamps"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / "python"
UV = BIN / "uv"
REQUIREMENTS = ROOT / "requirements"


def received_bytes() -> int | None:
    """Bytes that all network cards of this computer have received; None where it does not tell."""
    counters = Path("/proc/net/dev")
    if not counters.exists():
        return None
    cards = [line.split(":") for line in counters.read_text().splitlines() if ":" in line]
    return sum(int(numbers.split()[0]) for name, numbers in cards if name.strip() != "lo")


def fingerprint(files: Iterable[Path]) -> str:
    """Hash of the Python in use, this checkout's place, and the contents of `files`."""
    place = f"{platform.python_version()} {sys.platform} {ROOT}"
    seen = hashlib.blake2b(place.encode(), digest_size=16)
    for path in sorted(files):
        seen.update(path.relative_to(ROOT).as_posix().encode())
        seen.update(path.read_bytes())
    return seen.hexdigest()


def is_fresh(step: str, made_from: str) -> bool:
    """Whether `step` was already done from the same Python and files."""
    stamp = STAMPS / step
    return stamp.exists() and stamp.read_text() == made_from


def mark_fresh(step: str, made_from: str) -> None:
    """Leave the stamp of a step that has just been done."""
    STAMPS.mkdir(exist_ok=True)
    (STAMPS / step).write_text(made_from)


def forget(step: str) -> None:
    """Take a step's stamp away, so that it is done again."""
    (STAMPS / step).unlink(missing_ok=True)


def call(
    *command: str | Path,
    at: Path = ROOT,
    setting: Mapping[str, str] | None = None,
    fine: Container[int] = (0,),
) -> None:
    """Run a command, at the root unless told; when it does not end well, say which, and end."""
    words = [str(word) for word in command]
    if subprocess.run(words, cwd=at, env=setting).returncode not in fine:
        sys.exit(f"failed: {' '.join(words)}")


class Effort:
    """What a piece of work has taken since this was made: time, and what came over the network."""

    def __init__(self) -> None:
        self.began = time.monotonic()
        self.received_before = received_bytes()

    def __str__(self) -> str:
        seconds = f"{time.monotonic() - self.began:.1f} s"
        received = received_bytes()
        if received is None or self.received_before is None:
            return f"{seconds} (this computer does not tell what its network cards received)"
        megabytes = (received - self.received_before) / 1e6
        return f"{seconds}, {megabytes:.1f} MB received by this computer's network cards meanwhile"
