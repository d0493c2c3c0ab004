"""The one table of symbols that screen and paper share: weight, dash, colour, words."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class LineSymbol:
    """How a line is drawn on paper: width in mm, dash in multiples of the width, ink, letter along it."""

    words: str
    width_mm: float
    dash: tuple[float, ...]
    ink: str
    letter: str = ""


@cache
def line_symbols() -> dict[str, LineSymbol]:
    """Line symbols by name, as read from the table that the screen reads too."""
    table = json.loads(resources.files(__package__).joinpath("symbols.json").read_text("utf-8"))
    return {
        name: LineSymbol(row["words"], row["mm"], tuple(row["dash"]), row["ink"], row.get("letter", ""))
        for name, row in table["lines"].items()
    }
