"""Tables in the columns of a plan: a head, a rule, rows whose cells wrap, and blanks to write in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pondwright.papers.margin import MUTED, Column, wrapped

CELL_MM, HEAD_MM = 2.4, 2.1
LEADING_MM, GAP_MM = 3.3, 2.0
BLANK = "____"
"""A cell to write in by hand: a line as wide as its column."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A column of a table: its head, its width on paper, and whether numbers stand in it."""

    head: str
    width_mm: float
    number: bool = False


def table(column: Column, cells: Sequence[Cell], rows: Sequence[Sequence[str]]) -> None:
    """Write a table from where a column stands.

    Parameters
    ----------
    column : Column
    cells : sequence of Cell
    rows : sequence of sequence of str
        A cell of `BLANK` is a line to write on.
    """
    if not rows:
        return
    if any(cell.head for cell in cells):
        column.down_mm += 3.6
        for cell, left in zip(cells, _lefts(column, cells), strict=True):
            x, anchor = (left + cell.width_mm - GAP_MM, "end") if cell.number else (left, "start")
            column.drawing.text(x, column.down_mm, cell.head, HEAD_MM, anchor=anchor, ink=MUTED)
        column.down_mm += 0.9
    for row in rows:
        _row(column, cells, row)


def _lefts(column: Column, cells: Sequence[Cell]) -> list[float]:
    """Left edge of each cell; the last one may go on to the edge of the column."""
    widths = np.array([cell.width_mm for cell in cells])
    return [float(left) for left in column.left_mm + np.concatenate([[0.0], np.cumsum(widths[:-1])])]


def _row(column: Column, cells: Sequence[Cell], row: Sequence[str]) -> None:
    lines = [wrapped(words, cell.width_mm - GAP_MM, CELL_MM) for words, cell in zip(row, cells, strict=True)]
    for cell, left, words in zip(cells, _lefts(column, cells), lines, strict=True):
        right = left + cell.width_mm - GAP_MM
        for number, line in enumerate(words, start=1):
            y = column.down_mm + number * LEADING_MM
            if line == BLANK:
                column.drawing.line(np.array([[left + 1.0, y + 0.4], [right, y + 0.4]]), "thin")
                continue
            x, anchor = (right, "end") if cell.number else (left, "start")
            column.drawing.text(x, y, line, CELL_MM, anchor=anchor)
    column.down_mm += max(map(len, lines), default=1) * LEADING_MM + 0.6
