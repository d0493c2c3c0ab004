"""Run the tests that drive a browser beside all others: each half waits a good deal, and there are two cores.

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
BROWSER = "tests/browser"


def main() -> int:
    """Run both halves; gives the worse of their codes."""
    with tempfile.TemporaryFile("w+", encoding="utf-8") as said:
        beside = subprocess.Popen([*PYTEST, BROWSER], cwd=ROOT, stdout=said, stderr=subprocess.STDOUT)
        try:
            rest = subprocess.run(
                [*PYTEST, "--ignore", "tests/architecture", "--ignore", BROWSER], cwd=ROOT, check=False
            )
            browser = beside.wait()
        finally:
            beside.kill()
        said.seek(0)
        sys.stdout.write(said.read())
    return max(rest.returncode, browser)


if __name__ == "__main__":
    sys.exit(main())
