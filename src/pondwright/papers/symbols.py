"""The one table of symbols that screen and paper share: weight, dash, colour, words."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any


@dataclass(frozen=True, slots=True)
class LineSymbol:
    """How a line is drawn on paper: width in mm, dash in multiples of the width, ink, letter along it.

    Lines that a letter or a number on them tells apart share one dash on paper, for which they have one of
    their own in the table: a few kinds are read without colour, many are not.
    """

    words: str
    width_mm: float
    dash: tuple[float, ...]
    ink: str
    letter: str = ""


@dataclass(frozen=True, slots=True)
class Sign:
    """How a small thing is drawn on paper: width in mm of its square of 28, and its parts in there.

    Each part is one of ``white`` and ``black`` areas, a ``line``, a ``ring`` and a ``dot`` (middle, radius).
    """

    words: str
    width_mm: float
    parts: tuple[tuple[str, tuple[Any, ...]], ...]


SIGN_SQUARE = 28.0
"""Width of the square in which a sign is drawn."""


@cache
def sign_symbols() -> dict[str, Sign]:
    """Signs by name, as read from the table that lines stand in."""
    return {
        name: Sign(
            row["words"],
            row["mm"],
            tuple((kind, tuple(numbers)) for part in row["parts"] for kind, numbers in part.items()),
        )
        for name, row in _table()["signs"].items()
    }


@cache
def line_symbols() -> dict[str, LineSymbol]:
    """Line symbols by name, as read from the table that the screen reads too."""
    return {
        name: LineSymbol(
            row["words"],
            row["mm"],
            tuple(row.get("paper_dash", row["dash"])),
            row["ink"],
            row.get("letter", ""),
        )
        for name, row in _table()["lines"].items()
    }


@cache
def _table() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(
        resources.files(__package__).joinpath("symbols.json").read_text("utf-8")
    )
    return found
