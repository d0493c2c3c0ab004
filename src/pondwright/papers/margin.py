"""What stands around a plan: title strip, north, scale bar, legend, numbers, checks, cautions."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import COUNT, RATIO
from pondwright.base.numbers import write_number
from pondwright.base.units import Shown, format_value
from pondwright.papers.drawing import INK, Drawing
from pondwright.papers.material import UNBROKEN
from pondwright.papers.type_width import text_width
from pondwright.papers.window import FOOT, Window, scale_words

MARGIN_MM = 10.0
TITLE_MM = 16.0
COLUMN_MM = 84.0
MARK_MM = 10.0
SCALE_BAR_MM = 14.0  # paper at the bottom of a plan for its scale bar
LEGEND_MM, CLOSE_MM, MANY = 4.6, 4.1, 20  # of a row, of a row where there are many, and how many are that
HEIGHT_MM = 0.7  # half of the cross on a height
MUTED = "#56605F"
LIMIT_WORDS = {"<=": "at most", ">=": "at least", "<": "less than", ">": "more than"}

CAUTION = (
    "Caution: pits and trenches collapse, machines tip at edges, water drowns. Have buried services marked "
    "before digging. Local codes and licensed practice decide."
)


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, lying [mm]."""

    name: str
    width_mm: float
    height_mm: float


A3 = Paper("A3", 420.0, 297.0)
TABLOID = Paper("11 x 17 in", 431.8, 279.4)


@dataclass
class Column:
    """The column beside the plan, written from the top down."""

    drawing: Drawing
    left_mm: float
    width_mm: float
    down_mm: float

    def heading(self, words: str) -> None:
        """Start a part of the column."""
        self.down_mm += 6.5
        self.drawing.text(self.left_mm, self.down_mm, words, 3.4, bold=True)
        self.down_mm += 1.6
        self._rule()

    def row(self, words: str, value: str) -> None:
        """Write a name on the left and its value on the right."""
        self.down_mm += 4.3
        self.drawing.text(self.left_mm, self.down_mm, words, 2.8)
        self.drawing.text(self.left_mm + self.width_mm, self.down_mm, value, 2.8, anchor="end", bold=True)

    def paragraph(self, words: str, *, mark: str = "", size_mm: float = 2.6) -> None:
        """Write text that wraps; a bold mark stands before it, and all lines begin behind the mark."""
        indent = MARK_MM if mark else 0.0
        for number, line in enumerate(wrapped(words, self.width_mm - indent, size_mm)):
            self.down_mm += size_mm * 1.42
            if number == 0 and mark:
                self.drawing.text(self.left_mm, self.down_mm, mark, size_mm, bold=True)
            self.drawing.text(self.left_mm + indent, self.down_mm, line, size_mm)

    def gap(self, height_mm: float) -> None:
        """Leave some paper free."""
        self.down_mm += height_mm

    def has_room(self, height_mm: float, bottom_mm: float) -> bool:
        """Whether a height is left above a bottom."""
        return self.down_mm + height_mm <= bottom_mm

    def _rule(self) -> None:
        ends = np.array([[self.left_mm, self.down_mm], [self.left_mm + self.width_mm, self.down_mm]])
        self.drawing.line(ends, "thin")


def title_strip(
    drawing: Drawing, title: str, job_name: str, cells: Sequence[tuple[str, str]], note: str
) -> None:
    """Frame the sheet and write its title strip along the bottom, cells from the right."""
    left, right = MARGIN_MM, drawing.width_mm - MARGIN_MM
    bottom = drawing.height_mm - MARGIN_MM
    top = bottom - TITLE_MM
    frame = np.array([[left, MARGIN_MM], [right, MARGIN_MM], [right, bottom], [left, bottom]])
    drawing.line(frame, "frame", closed=True)
    drawing.line(np.array([[left, top], [right, top]]), "frame")
    drawing.text(left + 3, top + 6.5, title, 5.0, bold=True)
    drawing.text(left + 3, top + 12.5, f"{job_name}{'. ' + note if note else ''}", 3.2)
    edge = right
    for words, value in reversed(cells):
        lines = value.split("\n")
        size, first, step = (3.6, 12.0, 0.0) if len(lines) == 1 else (2.4, 8.2, 3.1)
        width = max([text_width(words, 2.4), *(text_width(line, size, bold=True) for line in lines)]) + 7
        edge -= width
        drawing.line(np.array([[edge, top], [edge, bottom]]), "thin")
        drawing.text(edge + 3, top + (5.5 if len(lines) == 1 else 4.6), words, 2.4, ink=MUTED)
        for number, line in enumerate(lines):
            drawing.text(edge + 3, top + first + number * step, line, size, bold=True)


def north_arrow(drawing: Drawing, x: float, y: float, true_north: float) -> None:
    """An arrow to true north, turned from grid north by ``true_north`` (clockwise, rad)."""
    size = 9.0
    c, s = math.cos(true_north), math.sin(true_north)
    shape = np.array([[0.0, -size], [2.4, size * 0.45], [0.0, size * 0.2], [-2.4, size * 0.45]])
    turned = shape @ np.array([[c, s], [-s, c]])
    placed = turned + np.array([x, y])
    drawing.area([placed[:3]], INK)
    drawing.line(placed, "thin", closed=True)
    drawing.text(x, y - size - 1.5, "N", 3.6, anchor="middle", bold=True)


def scale_bar_width(window: Window, shown: Shown) -> float:
    """Width of the scale bar with its words. [mm]"""
    step, unit = _scale_step(window, shown)
    return 4 * step * unit * window.mm + 10.0 + text_width(f"ft at {scale_words(window.scale, shown)}", 2.8)


def _scale_step(window: Window, shown: Shown) -> tuple[float, float]:
    """Length of a step of the scale bar in the unit that is shown, and that unit [m]."""
    unit = 1.0 if shown == "metric" else FOOT
    steps = [one * ten for ten in (0.1, 1, 10, 100, 1000) for one in (1.0, 2.0, 2.5, 5.0)]
    return next(one for one in steps if one * unit * window.mm * 4 >= 40.0), unit


def scale_bar(drawing: Drawing, x: float, y: float, window: Window, shown: Shown) -> None:
    """A bar of four equal steps, 40 to 100 mm long, with its scale in words."""
    step, unit = _scale_step(window, shown)
    width = step * unit * window.mm
    for number in range(4):
        x0 = x + number * width
        box = np.array([[x0, y], [x0 + width, y], [x0 + width, y + 2.0], [x0, y + 2.0]])
        if number % 2 == 0:
            drawing.area([box], INK)
        drawing.line(box, "thin", closed=True)
    for number in range(5):
        drawing.text(x + number * width, y - 1.2, f"{number * step:g}", 2.4, anchor="middle")
    name = "m" if shown == "metric" else "ft"
    drawing.text(x + 4 * width + 4.0, y + 2.0, f"{name} at {scale_words(window.scale, shown)}", 2.8)


def legend(column: Column, entries: Sequence[tuple[str, str, str]]) -> None:
    """Write the legend of what is on the sheet: (mark, symbol, words).

    The mark is ``line``, ``arrow``, ``pipe``, ``fence``, ``hatch``, ``dots``, ``peg``, ``shot``, ``height``
    or ``sign``; a symbol that was not drawn is left out.
    """
    drawn = frozenset(column.drawing.used)
    there = [entry for entry in entries if not entry[1] or entry[1] in drawn]
    signs = [(symbol, words) for mark, symbol, words in there if mark == "sign"]
    row_mm = LEGEND_MM if len(there) <= MANY else CLOSE_MM
    for mark, symbol, words in (entry for entry in there if entry[0] != "sign"):
        column.down_mm += row_mm
        x, y = column.left_mm, column.down_mm - 1.0
        swatch = shapely.box(x, y - 1.8, x + 13, y + 1.4)
        if mark == "hatch":
            column.drawing.hatch(swatch, symbol, 2.0)
        elif mark == "dots":
            column.drawing.dots(swatch, symbol, 1.6)
        elif mark == "peg":
            column.drawing.circle(x + 6.5, y, 0.7, fill="#FFFFFF")
        elif mark == "height":
            height_mark(column.drawing, x + 6.5, y)
        elif mark == "shot":
            column.drawing.circle(x + 6.5, y, 0.25, fill=MUTED, ink=MUTED)
        else:
            column.drawing.line(np.array([[x, y], [x + 13, y]]), symbol)
            _on_line(column.drawing, mark, x, y)
        for number, line in enumerate(wrapped(words, column.width_mm - 16.0, 2.6)):
            column.down_mm += 3.4 if number else 0.0
            column.drawing.text(x + 16, column.down_mm, line, 2.6)
    _signs(column, signs)


def _on_line(drawing: Drawing, mark: str, x: float, y: float) -> None:
    """What a line of the legend has on it: the head of an arrow, or the ticks of a fence."""
    if mark in ("arrow", "pipe"):
        tip = x + (13.0 if mark == "arrow" else 7.8)
        drawing.area([np.array([[tip, y], [tip - 2.2, y - 0.8], [tip - 2.2, y + 0.8]])], INK)
    if mark == "fence":
        for along in np.arange(1.5, 13.0, 2.5):
            drawing.line(np.array([[x + along, y - 0.8], [x + along, y + 0.8]]), "thin")


def height_mark(drawing: Drawing, x: float, y: float) -> None:
    """A small upright cross on a place whose height is told."""
    for right, down in ((HEIGHT_MM, 0.0), (0.0, HEIGHT_MM)):
        drawing.line(np.array([[x - right, y - down], [x + right, y + down]]), "slope")


def _signs(column: Column, signs: Sequence[tuple[str, str]]) -> None:
    """Legend of small signs, as many beside each other as fit."""
    right = 0.0
    for number, (symbol, words) in enumerate(signs):
        width = 5.5 + text_width(words, 2.6) + 4.0
        if number == 0 or right + width > column.width_mm + 4.0:
            column.down_mm += LEGEND_MM
            right = 0.0
        column.drawing.sign(column.left_mm + right + 2.2, column.down_mm - 1.0, symbol)
        column.drawing.text(column.left_mm + right + 5.5, column.down_mm, words, 2.6)
        right += width


def check_lines(
    column: Column, findings: Sequence[Finding], shown: Shown, most: int, bottom_mm: float
) -> None:
    """Write the checks that are not good, gravest first, those that someone accepted last."""
    raised = [one for one in findings if one.grade is not Grade.GOOD]
    raised.sort(key=lambda one: (bool(one.accepted), one.grade is not Grade.STOP))
    written = 0
    while written < min(most, len(raised)) and column.has_room(20.0, bottom_mm):
        one = raised[written]
        column.paragraph(_told(one, shown), mark=one.grade.value.upper())
        column.gap(0.8)
        written += 1
    rest = len(raised) - written
    good = sum(one.grade is Grade.GOOD for one in findings)
    more = f"{rest} {'more ' if written else 'open '}on the check list. " if rest > 0 else ""
    column.paragraph(f"{more}{good} checks are good.")


def number_of(finding: Finding, number: float, shown: Shown) -> str:
    """A number of a check in words; a ratio that is held to less than one is a share, and told in percent."""
    if finding.kind == RATIO and finding.limit is not None and abs(finding.limit) < 1.0:
        return f"{write_number(100.0 * number, 1, trimmed=True)} %"
    return format_value(number, finding.kind, shown)


def _told(finding: Finding, shown: Shown) -> str:
    """A check in words, with its value against its limit, and who accepted it."""
    words = finding.says.replace("`", "")
    if finding.value is not None and finding.limit is not None and finding.kind is not COUNT:
        value, limit = (
            number_of(finding, number, shown).replace(" ", UNBROKEN)
            for number in (finding.value, finding.limit)
        )
        words += f" {value}; should be {LIMIT_WORDS[finding.operator]} {limit}."
    return f"{words} Accepted by {finding.accepted}" if finding.accepted else words


_SPACES = re.compile(r"[ \t\n\r\f\v]+")
"""Where a line may be broken: not at the narrow spaces within a number and its unit."""


def wrapped(words: str, width_mm: float, size_mm: float, *, bold: bool = False) -> list[str]:
    """Lines of a text that fit a width; a word that is longer than that is broken."""
    lines: list[str] = []
    for word in (
        piece for whole in _SPACES.split(words) if whole for piece in _broken(whole, width_mm, size_mm, bold)
    ):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size_mm, bold=bold) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _broken(word: str, width_mm: float, size_mm: float, bold: bool) -> list[str]:
    """A word in pieces that each fit a width."""
    if text_width(word, size_mm, bold=bold) <= width_mm:
        return [word]
    pieces = [""]
    for sign in word:
        if pieces[-1] and text_width(pieces[-1] + sign, size_mm, bold=bold) > width_mm:
            pieces.append("")
        pieces[-1] += sign
    return pieces
