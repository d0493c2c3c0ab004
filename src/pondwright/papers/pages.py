"""Standing pages that are written from the top down and break by themselves: text, tables, figures, photos.

Nothing is placed by hand: each part asks for the height it needs, and a page that is full is followed by
another.  Numbers of pages are written when all pages are there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import accumulate, zip_longest

import numpy as np

from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.margin import MUTED, Paper, wrapped
from pondwright.papers.type_width import text_width

A4 = Paper("A4", 210.0, 297.0)
LETTER = Paper("8.5 x 11 in", 215.9, 279.4)

SIDE_MM, TOP_MM, FOOT_MM = 15.0, 14.0, 16.0
TEXT_MM, SMALL_MM = 2.8, 2.4
LEADING = 1.38
CELL_GAP_MM, ROW_GAP_MM = 4.0, 1.5
MOST_LINES = 30  # of one row of a table on one page; longer text goes on in the next


@dataclass(frozen=True, slots=True)
class Cells:
    """A column of a table: its title, its share of the width, and whether numbers stand in it."""

    title: str
    share: float
    number: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """A part of a page that is drawn on freely. [mm]"""

    drawing: Drawing
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float


@dataclass
class Pages:
    """Pages under the pen."""

    paper: Paper
    title: str
    job_name: str
    note: str
    drawings: list[Drawing] = field(default_factory=list)
    down_mm: float = 0.0

    def __post_init__(self) -> None:
        self._next_page()
        drawing = self.drawings[-1]
        drawing.text(SIDE_MM, TOP_MM + 6.0, self.title, 7.0, bold=True)
        self.down_mm = TOP_MM + 8.0
        for line in wrapped(self.job_name, self.width_mm, 4.2):
            self.down_mm += 5.2
            drawing.text(SIDE_MM, self.down_mm, line, 4.2)
        if self.note:
            self.down_mm += 4.6
            drawing.text(SIDE_MM, self.down_mm, self.note, 3.0, bold=True)
        self.down_mm += 2.5
        self._rule("frame")

    @property
    def width_mm(self) -> float:
        """Width between the margins. [mm]"""
        return self.paper.width_mm - 2 * SIDE_MM

    @property
    def left_over_mm(self) -> float:
        """Height that is still free on this page. [mm]"""
        return self.paper.height_mm - FOOT_MM - self.down_mm

    def need(self, height_mm: float) -> None:
        """Go to the next page if this one has no such height left."""
        if self.left_over_mm < height_mm:
            self._next_page()

    def heading(self, words: str, with_mm: float = 14.0) -> None:
        """Start a part; it stays together with the beginning of what follows."""
        self.need(10.0 + with_mm)
        self.down_mm += 8.0
        self.drawings[-1].text(SIDE_MM, self.down_mm, words, 4.2, bold=True)
        self.down_mm += 1.8
        self._rule("thin")

    def paragraph(self, words: str, *, mark: str = "", indent_mm: float = 15.0) -> None:
        """Write text that wraps; a bold mark stands before it."""
        indent = indent_mm if mark else 0.0
        for number, line in enumerate(wrapped(words, self.width_mm - indent, TEXT_MM)):
            self.need(TEXT_MM * LEADING + 1.0)
            self.down_mm += TEXT_MM * LEADING
            if number == 0 and mark:
                self.drawings[-1].text(SIDE_MM, self.down_mm, mark, TEXT_MM, bold=True)
            self.drawings[-1].text(SIDE_MM + indent, self.down_mm, line, TEXT_MM)
        self.down_mm += 1.2

    def facts(self, rows: Sequence[tuple[str, str]]) -> None:
        """Write names and values, two pairs beside each other."""
        half = (len(rows) + 1) // 2
        width = (self.width_mm - 6.0) / 2
        name_width = 0.45 * width
        for left, right in zip_longest(rows[:half], rows[half:], fillvalue=("", "")):
            cells = [
                (words, SIDE_MM + shift, wide, bold)
                for (name, value), start in ((left, 0.0), (right, width + 6.0))
                for words, shift, wide, bold in (
                    (name, start, name_width - 2.0, False),
                    (value, start + name_width, width - name_width, True),
                )
            ]
            self._row(cells)

    def table(self, columns: Sequence[Cells], rows: Sequence[Sequence[str]]) -> None:
        """Write a table; its head is repeated on each page."""
        total = sum(column.share for column in columns)
        widths = [column.share / total * self.width_mm - CELL_GAP_MM for column in columns]
        starts = list(accumulate((width + CELL_GAP_MM for width in widths), initial=SIDE_MM))
        self.need(16.0)
        self._head(columns, starts, widths)
        for row in rows:
            pieces = [wrapped(words, width, TEXT_MM) for words, width in zip(row, widths, strict=True)]
            for some in _slices(pieces):
                if self.left_over_mm < _height(some):
                    self._next_page()
                    self._head(columns, starts, widths)
                self._lines(some, columns, starts, widths)
        self.down_mm += 1.5

    def box(self, height_mm: float) -> Box:
        """Free part of the page, as wide as the text."""
        self.need(height_mm)
        found = Box(self.drawings[-1], SIDE_MM, self.down_mm, self.width_mm, height_mm)
        self.down_mm += height_mm
        return found

    def gap(self, height_mm: float) -> None:
        """Leave some paper free."""
        self.down_mm += height_mm

    def sheets(self, name: str) -> tuple[Sheet, ...]:
        """Close all pages, each with its number."""
        count = len(self.drawings)
        for number, drawing in enumerate(self.drawings, start=1):
            self._foot(drawing, number, count)
        return tuple(
            drawing.sheet(
                name if number == 1 else f"{name}-{number}",
                f"{self.title}, page {number} of {count}, {self.job_name}",
            )
            for number, drawing in enumerate(self.drawings, start=1)
        )

    def _next_page(self) -> None:
        self.drawings.append(Drawing(self.paper.width_mm, self.paper.height_mm))
        self.down_mm = TOP_MM

    def _rule(self, symbol: str) -> None:
        ends = [[SIDE_MM, self.down_mm], [self.paper.width_mm - SIDE_MM, self.down_mm]]
        self.drawings[-1].line(np.array(ends), symbol)

    def _head(self, columns: Sequence[Cells], starts: Sequence[float], widths: Sequence[float]) -> None:
        self.down_mm += 4.4
        for column, start, width in zip(columns, starts, widths, strict=False):
            x, anchor = (start + width, "end") if column.number else (start, "start")
            self.drawings[-1].text(x, self.down_mm, column.title, SMALL_MM, anchor=anchor, ink=MUTED)
        self.down_mm += 1.2
        self._rule("thin")

    def _lines(
        self,
        pieces: Sequence[Sequence[str]],
        columns: Sequence[Cells],
        starts: Sequence[float],
        widths: Sequence[float],
    ) -> None:
        for lines, column, start, width in zip(pieces, columns, starts, widths, strict=False):
            x, anchor = (start + width, "end") if column.number else (start, "start")
            for number, line in enumerate(lines, start=1):
                y = self.down_mm + number * TEXT_MM * LEADING
                self.drawings[-1].text(x, y, line, TEXT_MM, anchor=anchor)
        self.down_mm += _height(pieces)

    def _row(self, cells: Sequence[tuple[str, float, float, bool]]) -> None:
        """Write cells side by side: words, left edge, width and weight of each."""
        pieces = [wrapped(words, width, TEXT_MM, bold=bold) for words, _left, width, bold in cells]
        self.need(_height(pieces))
        for lines, (_words, left, _width, bold) in zip(pieces, cells, strict=True):
            for number, line in enumerate(lines, start=1):
                y = self.down_mm + number * TEXT_MM * LEADING
                self.drawings[-1].text(left, y, line, TEXT_MM, bold=bold)
        self.down_mm += _height(pieces) - ROW_GAP_MM + 0.5

    def _foot(self, drawing: Drawing, number: int, count: int) -> None:
        base = self.paper.height_mm - 8.0
        ends = np.array([[SIDE_MM, base - 4.0], [self.paper.width_mm - SIDE_MM, base - 4.0]])
        drawing.line(ends, "thin")
        page = f"page {number} of {count}"
        drawing.text(self.paper.width_mm - SIDE_MM, base, page, SMALL_MM, anchor="end")
        room = self.width_mm - text_width(page, SMALL_MM) - 4.0
        words = ". ".join(filter(None, (f"{self.title}, {self.job_name}", self.note)))
        drawing.text(SIDE_MM, base, wrapped(words, room, SMALL_MM)[0], SMALL_MM, ink=MUTED)


def _height(pieces: Sequence[Sequence[str]]) -> float:
    return max((len(lines) for lines in pieces), default=0) * TEXT_MM * LEADING + ROW_GAP_MM


def _slices(pieces: Sequence[Sequence[str]]) -> Iterator[list[Sequence[str]]]:
    """A row in pieces that each fit a page."""
    most = max((len(lines) for lines in pieces), default=0)
    for start in range(0, max(most, 1), MOST_LINES):
        yield [lines[start : start + MOST_LINES] for lines in pieces]
