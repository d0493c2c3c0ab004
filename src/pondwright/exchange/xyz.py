"""Text clouds: a point a line, read in pieces, so that a file of any length needs the same memory.

What parts the numbers, which column is which and what is a comment is seen in the first lines
(:mod:`pondwright.exchange.columns`).  Columns after the third number are passed over.  A line that is no
point is counted and left out; a file in which most lines are none is refused.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import BinaryIO

import numpy as np

from pondwright.base.errors import DomainError, ImportRefused
from pondwright.base.kinds import LENGTH, FloatArray
from pondwright.base.unit_table import unit_named, words_of
from pondwright.exchange.binning import Spool
from pondwright.exchange.columns import COMMENTS, Columns, guessed, header_of, in_order, separator_of
from pondwright.exchange.reading import (
    FARTHEST,
    HIGHEST_GROUND,
    LOWEST_GROUND,
    UNITS,
    Around,
    LeftOut,
    Wanted,
    factor,
    left_out,
)

SAMPLE = 64 * 1024
PIECE = 4 * 2**20
LONGEST_LINE = 64 * 1024
HEAD_LINES = 20
MOST_COLUMNS = 64


@dataclass(frozen=True, slots=True)
class Layout:
    """How the lines of a text are read."""

    separator: str | None
    decimal_comma: bool
    columns: Columns
    head: int

    def place(self, column: str) -> int:
        """Which cell of a line holds a column."""
        return self.columns.columns.index(column)


@dataclass
class TextCloud:
    """Points of a text, set aside in metres, and how they were understood."""

    spool: Spool
    layout: Layout
    unit: str
    height_unit: str
    lines: int
    left_out: tuple[LeftOut, ...]
    warnings: tuple[str, ...] = field(default=())


def read_xyz(stream: BinaryIO, name: str, wanted: Wanted, around: Around) -> TextCloud:
    """Points of a text cloud.

    Parameters
    ----------
    stream : binary stream
        At its beginning; it is read twice over its first 64 KB.
    name : str
        The file's name, for what is said.
    wanted : Wanted
    around : Around

    Returns
    -------
    TextCloud
        ``unit`` is empty if neither the header nor a person tells it.

    Raises
    ------
    ImportRefused
    """
    sample = stream.read(SAMPLE)
    stream.seek(0)
    layout = _layout(sample, name, wanted)
    unit, height_unit = _units(layout.columns, wanted)
    layout, doubt = _ordered(layout, sample, unit, wanted, around)
    spool = Spool()
    try:
        lines, counts = _read_all(stream, name, layout, spool, (factor(unit), factor(height_unit)))
    except BaseException:
        spool.close()
        raise
    found = left_out(
        (counts[0], "no three numbers in the line"),
        (counts[1], "coordinates beyond 10 000 000 m, or no numbers"),
        (counts[2], "lower than −500 m or higher than 9000 m"),
    )
    if spool.count * 2 < lines:
        spool.close()
        raise ImportRefused(_mostly_wrong(name, lines, found))
    return TextCloud(spool, layout, unit, height_unit, lines, found, (doubt,) if doubt else ())


def _layout(sample: bytes, name: str, wanted: Wanted) -> Layout:
    """What the first lines tell."""
    lines = [line.strip() for line in sample.decode("latin-1").lstrip("\ufeffï»¿").splitlines()]
    if len(sample) == SAMPLE and len(lines) > 1:
        lines = lines[:-1]  # it may have been cut
    rows = [line for line in lines if line and not line.startswith(COMMENTS)]
    if not rows:
        raise ImportRefused(f"{name} has no line with numbers")
    first = next((at for at, line in enumerate(rows[:HEAD_LINES]) if _numbers_in(line) >= 3), None)
    if first is None:
        raise ImportRefused(f"{name} is no table of points: none of its first lines has three numbers")
    separator = separator_of(rows[first])
    decimal_comma = separator != "," and bool(re.search(r"\d,\d", rows[first])) and "." not in rows[first]
    if separator == "," and all(re.fullmatch(r"[+-]?\d+,\d+", cell) for cell in rows[first].split()):
        separator, decimal_comma = None, True  # the commas stand within numbers that spaces part
    header = header_of(_cells(rows[first - 1], separator)) if first else None
    table = [_cells(row, separator) for row in rows[first : first + 200]]
    columns = header or guessed([row[:MOST_COLUMNS] for row in table])
    if wanted.order:
        columns = Columns(wanted.order, columns.units, bool(header), "as you said")
    if "elevation" not in columns.columns:
        raise ImportRefused(
            f"{name} names no column of heights: its header must name east, north and elevation"
        )
    return Layout(separator, decimal_comma, columns, first)


def _units(columns: Columns, wanted: Wanted) -> tuple[str, str]:
    """Units of places and heights: what a person says, else what the header states, else empty."""
    stated = columns.units.get("east", "") or columns.units.get("elevation", "")
    unit = wanted.unit or _unit_word(stated)
    return unit, wanted.height_unit or wanted.unit or _unit_word(columns.units.get("elevation", "")) or unit


def _unit_word(word: str) -> str:
    if not word:
        return ""
    found = words_of(LENGTH.name).unit(word)
    name = found.name if found else word
    try:
        unit_named(LENGTH, name)
    except DomainError:
        return ""
    return name if name in UNITS else ""


def _ordered(layout: Layout, sample: bytes, unit: str, wanted: Wanted, around: Around) -> tuple[Layout, str]:
    """The layout with north before east, where the first lines say so."""
    rows, _wrong = _line_by_line(sample.rpartition(b"\n")[0] or sample, layout)
    columns, doubt = in_order(layout.columns, rows[:, :2], unit or "m", around)
    return (layout, doubt) if wanted.order else (replace(layout, columns=columns), doubt)


def _read_all(
    stream: BinaryIO, name: str, layout: Layout, spool: Spool, factors: tuple[float, float]
) -> tuple[int, tuple[int, int, int]]:
    """Set all points aside; gives the number of lines, and those left out by reason."""
    lines = wrong = far = off = 0
    for piece in _pieces(stream, name):
        rows, bad = _points(piece, layout)
        lines, wrong = lines + len(rows) + bad, wrong + bad
        rows[:, :2] *= factors[0]
        rows[:, 2] *= factors[1]
        on_map = np.isfinite(rows).all(axis=1) & (np.abs(rows[:, :2]) <= FARTHEST).all(axis=1)
        sound = on_map & (rows[:, 2] >= LOWEST_GROUND) & (rows[:, 2] <= HIGHEST_GROUND)
        far, off = far + int((~on_map).sum()), off + int((on_map & ~sound).sum())
        spool.add(rows[sound])
    return lines, (max(wrong - layout.head, 0), far, off)


def _pieces(stream: BinaryIO, name: str) -> Iterator[bytes]:
    """Whole lines, some MB at a time."""
    rest = b""
    begin = stream.read(3)
    if begin != b"\xef\xbb\xbf":
        stream.seek(0)
    while part := stream.read(PIECE):
        part = rest + part.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        whole, newline, rest = part.rpartition(b"\n")
        if not newline and len(rest) > LONGEST_LINE:
            raise ImportRefused(
                f"{name} is no table of points: it has a line of more than {LONGEST_LINE} signs"
            )
        if whole:
            yield whole
    if rest.strip():
        yield rest


def _points(piece: bytes, layout: Layout) -> tuple[FloatArray, int]:
    """Rows of east, north and elevation of a piece, and how many of its lines are none."""
    if layout.decimal_comma:
        piece = piece.replace(b",", b".")
    places = [layout.place(column) for column in ("east", "north", "elevation")]
    separator = layout.separator
    if separator is None or len(separator) == 1:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                rows = np.loadtxt(
                    io.BytesIO(piece), delimiter=separator, usecols=places, ndmin=2, comments=list(COMMENTS),
                    encoding="latin-1", dtype=np.float64,
                )  # fmt: skip
            return rows, 0
        except (ValueError, UserWarning):
            pass
    return _line_by_line(piece, replace(layout, decimal_comma=False))


def _line_by_line(piece: bytes, layout: Layout) -> tuple[FloatArray, int]:
    """The same for a piece in which some line is no point."""
    places = [layout.place(column) for column in ("east", "north", "elevation")]
    found: list[tuple[float, float, float]] = []
    wrong = 0
    for line in piece.decode("latin-1").splitlines():
        text = line.strip()
        if not text or text.startswith(COMMENTS):
            continue
        if layout.decimal_comma:
            text = text.replace(",", ".")
        cells = _cells(text, layout.separator)
        try:
            east, north, z = (float(cells[place]) for place in places)
        except (ValueError, IndexError):
            wrong += 1
            continue
        found.append((east, north, z))
    return np.array(found, dtype=np.float64).reshape(-1, 3), wrong


def _cells(line: str, separator: str | None) -> list[str]:
    return line.split() if separator is None else [cell.strip().strip('"') for cell in line.split(separator)]


def _numbers_in(line: str) -> int:
    """How many cells of a line are numbers."""
    number = r"[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?"
    ways = (_cells(line, separator_of(line)), line.split())
    return max(sum(re.fullmatch(number, cell) is not None for cell in cells) for cells in ways)


def _mostly_wrong(name: str, lines: int, found: tuple[LeftOut, ...]) -> str:
    reasons = "; ".join(f"{each.count} of them: {each.why}" for each in found)
    return f"{name} is no table of points that can be read: of {lines} lines most are none ({reasons})"
