"""The generated pages of the reference: the commands as their help tells them, and all limits with sources.

``python -m pondwright.cli.pages docs/reference`` writes ``cli.md`` and ``checks.md``.
"""

from __future__ import annotations

import contextlib
import importlib
import io
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

from pondwright.base.findings import Limit
from pondwright.base.units import Shown, format_value
from pondwright.cli.main import app, main
from pondwright.flow.stages import STAGES

WRITTEN = "<!-- written by `python -m pondwright.cli.pages docs/reference`; do not edit -->\n"
WIDTH = "90"
_SHOWN: tuple[Shown, ...] = ("metric", "us")


def cli_page() -> str:
    """Text of the page of commands.

    Returns
    -------
    str
    """
    names = [each.name or each.callback.__name__ for each in app.registered_commands if each.callback]
    parts = [WRITTEN + "# The command line\n", _help(), *(f"## {name}\n\n{_help(name)}" for name in names)]
    return "\n".join(parts)


def checks_page() -> str:
    """Text of the page of limits.

    Returns
    -------
    str
    """
    head = (
        f"{WRITTEN}# Limits of the checks\n\n"
        "A job may replace each limit by its code, with a name and a reason.\n\n"
        "| code | limit | metric | US | source |\n| --- | --- | ---: | ---: | --- |\n"
    )
    return head + "".join(f"{_row(limit)}\n" for limit in limits())


def limits() -> Iterator[Limit]:
    """Limits of every room that has a stage, in the order of the job.

    Yields
    ------
    Limit
    """
    places = (stage.function.__module__.partition(".stage") for stage in STAGES)
    for room in dict.fromkeys(room for room, in_a_room, _module in places if in_a_room):
        yield from importlib.import_module(f"{room}.checks").LIMITS


def write_pages(folder: Path) -> None:
    """Write both pages.

    Parameters
    ----------
    folder : Path
    """
    for name, text in (("cli.md", cli_page()), ("checks.md", checks_page())):
        (folder / name).write_text(text, encoding="utf-8")


def _row(limit: Limit) -> str:
    values = (format_value(limit.value, limit.kind, shown) for shown in _SHOWN)
    return f"| `{limit.code}` | {limit.says} | {' | '.join(values)} | {limit.source} |"


def _help(*command: str) -> str:
    said = io.StringIO()
    with contextlib.redirect_stdout(said), patch.dict(os.environ, {"COLUMNS": WIDTH, "NO_COLOR": "1"}):
        main([*command, "--help"])
    lines = (line.rstrip() for line in said.getvalue().strip().splitlines())
    return "```text\n" + "\n".join(lines) + "\n```\n"


if __name__ == "__main__":
    write_pages(Path(sys.argv[1]))
