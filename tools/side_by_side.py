"""Run the tests that drive a browser beside all others: each process waits a good deal, on two cores.

python -m tools.side_by_side

Prints what each said, the others' as they run and the browser's last, and fails if one of them does.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PYTEST = (sys.executable, "-m", "pytest", "-p", "no:cacheprovider")
BROWSER = "tests/browser"
PARTS = 2


def main() -> int:
    """Run all parts; gives the worst of their codes."""
    files = sorted(str(path) for path in (ROOT / BROWSER).glob("test_*.py"))
    with ExitStack() as stack:
        parts = []
        for part in range(PARTS):
            said = stack.enter_context(tempfile.TemporaryFile("w+", encoding="utf-8"))
            command = [*PYTEST, *files[part::PARTS]]
            process = subprocess.Popen(command, cwd=ROOT, stdout=said, stderr=subprocess.STDOUT)
            stack.callback(process.kill)
            parts.append((process, said))
        rest = [*PYTEST, "--ignore", "tests/architecture", "--ignore", BROWSER]
        codes = [subprocess.run(rest, cwd=ROOT, check=False).returncode]
        for process, said in parts:
            codes.append(process.wait())
            said.seek(0)
            sys.stdout.write(said.read())
    return max(codes)


if __name__ == "__main__":
    sys.exit(main())
