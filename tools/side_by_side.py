"""Run the tests of the papers and those that drive a browser beside all others: there are two cores.

python -m tools.side_by_side

Prints what each half said, the browser's last, and fails if one of them does.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PYTEST = (sys.executable, "-m", "pytest", "-p", "no:cacheprovider")
BESIDE = ("tests/unit/papers", "tests/browser")
"""The browser comes last: it leaves an event loop running, with which tests of the server cannot live."""


def main() -> int:
    """Run both halves; gives the worse of their codes."""
    with tempfile.TemporaryFile("w+", encoding="utf-8") as said:
        beside = subprocess.Popen([*PYTEST, *BESIDE], cwd=ROOT, stdout=said, stderr=subprocess.STDOUT)
        try:
            others = [word for path in ("tests/architecture", *BESIDE) for word in ("--ignore", path)]
            rest = subprocess.run([*PYTEST, *others], cwd=ROOT, check=False)
            browser = beside.wait()
        finally:
            beside.kill()
        said.seek(0)
        sys.stdout.write(said.read())
    return max(rest.returncode, browser)


if __name__ == "__main__":
    sys.exit(main())
