"""Run every `bench_*.py` of this folder, print their rows as a table, keep them in a record file.

python -m bench [word ...]     only the modules whose name holds one of the words
"""

from __future__ import annotations

import importlib
import json
import os
import platform
import sys
from pathlib import Path

from rich.console import Console
from rich.table import Table

from bench.rows import Row

FOLDER = Path(__file__).resolve().parent
RECORD = FOLDER / "latest.json"
CALIBRATION = "bench_machine"


def main() -> None:
    """Measure, print and record."""
    words = sys.argv[1:]
    rows: list[Row] = []
    for name in bench_modules(words):
        rows += importlib.import_module(f"bench.{name}").rows()
    Console(width=max(110, Console().width)).print(table_of(rows))
    if not words:
        RECORD.write_text(json.dumps(record_of(rows), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def bench_modules(words: list[str]) -> list[str]:
    """Names of the bench modules to run, the calibration always and first."""
    names = sorted(path.stem for path in FOLDER.glob("bench_*.py"))
    chosen = [name for name in names if not words or any(word in name for word in words)]
    return [CALIBRATION, *(name for name in chosen if name != CALIBRATION)]


def table_of(rows: list[Row]) -> Table:
    """The rows as a table to print."""
    table = Table("figure", "value", "unit", "peer", "ratio", "goal", "met", box=None, pad_edge=False)
    for row in rows:
        table.add_row(
            row.name,
            f"{row.value:.4g}",
            row.unit,
            row.peer,
            "" if row.ratio is None else f"{row.ratio:.3g}",
            "" if row.goal is None else str(row.goal),
            {None: "", True: "yes", False: "NO"}[row.met],
        )
    return table


def record_of(rows: list[Row]) -> dict[str, object]:
    """The rows as they are kept, with what they were measured on."""
    return {
        "python": platform.python_version(),
        "machine": platform.machine(),
        "cores": os.cpu_count(),
        "rows": [row.record() for row in rows],
    }


if __name__ == "__main__":
    main()
