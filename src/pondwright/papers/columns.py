"""Sheets of columns beside each other: what does not fit one goes on in the next, and on the next sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from pondwright.papers import margin
from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.margin import MARGIN_MM, TITLE_MM, Column, Paper, wrapped
from pondwright.papers.tables import GAP_MM, LEADING_MM, Cell, table

EDGE_MM, BELOW_MM = 4.0, 4.0
HEAD_MM = 12.0  # of a heading and the head of a table
ROW_GAP_MM = 0.6
TEXT_MM, LEADING = 2.6, 1.42


@dataclass
class ColumnSheets:
    """Sheets that are written column by column.

    Attributes
    ----------
    paper : Paper
    title, job_name, note : str     What the title strip tells.
    count : int                     Columns on a sheet.
    """

    paper: Paper
    title: str
    job_name: str
    note: str
    count: int
    _drawings: list[Drawing] = field(default_factory=list)
    _number: int = 0
    _column: Column | None = None

    @property
    def width_mm(self) -> float:
        """Width of the words in a column."""
        return (self.paper.width_mm - 2 * MARGIN_MM) / self.count - 2 * EDGE_MM

    @property
    def bottom_mm(self) -> float:
        """Down to where words may go."""
        return self.paper.height_mm - MARGIN_MM - TITLE_MM - BELOW_MM

    def with_room(self, height_mm: float) -> Column:
        """The column that is being written, or the next one where it has no such height left."""
        if self._column is None or not self._column.has_room(height_mm, self.bottom_mm):
            self._column = self._next()
        return self._column

    def heading(self, words: str, with_mm: float = HEAD_MM) -> None:
        """Start a part; some of what follows stays with its heading."""
        self.with_room(8.1 + with_mm).heading(words)

    def paragraph(self, words: str, mark: str = "") -> None:
        """Write text that wraps, whole in one column."""
        indent = margin.MARK_MM if mark else 0.0
        lines = len(wrapped(words, self.width_mm - indent, TEXT_MM))
        column = self.with_room(lines * TEXT_MM * LEADING + 0.4)
        column.paragraph(words, mark=mark, size_mm=TEXT_MM)
        column.gap(0.4)

    def table(self, cells: Sequence[Cell], rows: Sequence[Sequence[str]]) -> None:
        """Write a table, its head again in each column."""
        started: Column | None = None
        for row in rows:
            lines = (
                len(wrapped(words, cell.width_mm - GAP_MM, TEXT_MM))
                for words, cell in zip(row, cells, strict=True)
            )
            column = self.with_room(max(lines) * LEADING_MM + ROW_GAP_MM + 4.5)
            heads = cells if column is not started else [Cell("", one.width_mm, one.number) for one in cells]
            table(column, heads, [row])
            started = column

    def sheets(self, name: str, first: int) -> tuple[Sheet, ...]:
        """Close all sheets; the number of the first goes into their names."""
        cells = (("paper", self.paper.name),)
        for drawing in self._drawings:
            margin.title_strip(drawing, self.title, self.job_name, cells, self.note)
        return tuple(
            drawing.sheet(f"{name}-{number}", f"{self.title}, {self.job_name}")
            for number, drawing in enumerate(self._drawings, start=first)
        )

    def _next(self) -> Column:
        if self._number % self.count == 0:
            self._drawings.append(Drawing(self.paper.width_mm, self.paper.height_mm))
        drawing = self._drawings[-1]
        left = MARGIN_MM + (self._number % self.count) * (self.width_mm + 2 * EDGE_MM)
        if self._number % self.count:
            bottom = self.paper.height_mm - MARGIN_MM - TITLE_MM
            drawing.line(np.array([[left, MARGIN_MM], [left, bottom]]), "thin")
        self._number += 1
        return Column(drawing, left + EDGE_MM, self.width_mm, MARGIN_MM)
