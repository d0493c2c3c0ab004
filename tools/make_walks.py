"""Write what the commands in the pages of `docs/start` and `docs/how-to` print, as they print it now.

In a block that opens with ```console, each line that begins with `$ pondwright` is run in
`docs/start`, the packaged examples beside its jobs, and what it prints takes the place of what
stood below it.  At the end of such a line `| head -5` keeps the first five lines, and `| tail -5`
the last five.

python -m tools.make_walks
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
import tempfile
from collections.abc import Iterator
from pathlib import Path

from pondwright.cli.main import main as pondwright

ROOT = Path(__file__).resolve().parent.parent
JOBS = ROOT / "docs/start"
EXAMPLES = ROOT / "src/pondwright/examples"
PAGES = (*sorted(JOBS.glob("*.md")), *sorted((ROOT / "docs/how-to").glob("*.md")))
BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)
PROMPT = "$ pondwright "


def walked(page: str) -> str:
    """Text of a page with what its commands print now."""
    return BLOCK.sub(lambda found: "```console\n" + "".join(_answers(found[1])) + "```", page)


def main() -> None:
    """Write the pages."""
    for page in PAGES:
        page.write_text(walked(page.read_text(encoding="utf-8")), encoding="utf-8")


def _answers(block: str) -> Iterator[str]:
    for line in block.splitlines():
        if line.startswith(PROMPT):
            yield f"{line}\n{_said(line.removeprefix(PROMPT))}"


def _said(asked: str) -> str:
    """What a command prints, run in a copy of the jobs, so that the papers it writes are left nowhere."""
    command, _, kept = asked.partition(" | ")
    said = io.StringIO()
    with tempfile.TemporaryDirectory() as folder:
        for job in (*EXAMPLES.glob("*.pond.json"), *JOBS.glob("*.pond.json")):
            (Path(folder) / job.name).write_bytes(job.read_bytes())
        with contextlib.chdir(folder), contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            pondwright(shlex.split(command))
    lines = said.getvalue().splitlines()
    end, _, count = kept.partition(" -")
    if end == "head":
        lines = lines[: int(count)]
    elif end == "tail":
        lines = lines[-int(count) :]
    return "".join(f"{line.rstrip()}\n" for line in lines)


if __name__ == "__main__":
    main()
