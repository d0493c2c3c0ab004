"""Shots from a spreadsheet or a point file, pasted or dropped: rows, with what is wrong in each cell.

A header names the columns; without one the order is east, north, elevation, code, after a point name
where the first column holds one.  Nothing is taken silently: every cell that cannot be read says so, and
nothing is kept before the person agrees.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pondwright.base.errors import DomainError, ImportRefused
from pondwright.base.kinds import ELEVATION, LENGTH, Kind
from pondwright.base.units import Shown, parse, unit_of

MOST_ROWS = 50_000
SEPARATORS = ("\t", ";", ",")

NAMES: Mapping[str, tuple[str, ...]] = {
    "name": ("name", "point", "pt", "no", "number", "id", "shot"),
    "east": ("east", "easting", "e", "x"),
    "north": ("north", "northing", "n", "y"),
    "elevation": ("elevation", "elev", "height", "level", "z", "rl"),
    "code": ("code", "description", "desc", "note", "feature"),
}
ORDER = ("east", "north", "elevation", "code")
MEASURED: Mapping[str, Kind] = {"east": LENGTH, "north": LENGTH, "elevation": ELEVATION}


@dataclass(frozen=True, slots=True)
class PointRow:
    """One row: its place and height as far as they can be read [m], and what is wrong by column."""

    line: int
    name: str
    east: float | None
    north: float | None
    elevation: float | None
    code: str
    errors: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PointTable:
    """All rows, the columns as they were understood, and one sentence that says so."""

    rows: tuple[PointRow, ...]
    columns: tuple[str, ...]
    says: str


def read_points(text: str, shown: Shown) -> PointTable:
    r"""Shots of a pasted or dropped table.

    Parameters
    ----------
    text : str       Lines of cells parted by tabs, semicolons, commas or spaces.
    shown : Shown    Units of the job; a bare number takes them, a header such as ``east (m)`` goes before.

    Returns
    -------
    PointTable

    Raises
    ------
    ImportRefused    If there are no rows, too many, or no columns of place.

    Examples
    --------
    >>> table = read_points("x,y,z\n1.5,2,100.25\n3,oops,100.5", "metric")
    >>> table.rows[0].elevation, sorted(table.rows[1].errors)
    (100.25, ['north'])
    """
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not lines:
        raise ImportRefused(
            "there are no rows: paste a line for each shot, for example `12.5  8.0  100.35  rim`"
        )
    if len(lines) > MOST_ROWS:
        raise ImportRefused(f"there are {len(lines)} rows; a table of shots may have {MOST_ROWS} at most")
    cells = [(number, _cells(line, _separator(lines[0][1]))) for number, line in lines]
    columns, units = _header(cells[0][1])
    body = cells[1:] if columns else cells
    columns = columns or _guessed([row for _number, row in body])
    if not body:
        raise ImportRefused("there is a header but no row below it")
    rows = tuple(_row(number, row, columns, units, shown) for number, row in body)
    return PointTable(rows, columns, _sentence(rows, columns, shown))


def _separator(first: str) -> str | None:
    return next((one for one in SEPARATORS if one in first), None)


def _cells(line: str, separator: str | None) -> list[str]:
    if separator is None:
        return line.split()
    try:
        found = next(csv.reader(io.StringIO(line), delimiter=separator), [])
    except csv.Error:
        found = line.split(separator)
    return [cell.strip() for cell in found]


def _header(cells: Sequence[str]) -> tuple[tuple[str, ...], dict[str, str]]:
    """Columns that the first line names, with the units that it states; nothing if it is no header."""
    columns: list[str] = []
    units: dict[str, str] = {}
    for cell in cells:
        word, unit = _word_and_unit(cell)
        column = next((name for name, spellings in NAMES.items() if word in spellings), "")
        columns.append(column)
        if column and unit:
            units[column] = unit
    if not {"east", "north"} <= set(columns):
        return (), {}
    return tuple(columns), units


def _word_and_unit(cell: str) -> tuple[str, str]:
    found = re.fullmatch(r"\s*([A-Za-z]+)\.?\s*(?:[\[(]\s*([^\])]*)\s*[\])])?\s*", cell)
    return (found[1].lower(), (found[2] or "").strip()) if found else ("", "")


def _guessed(rows: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Usual order of the columns; a first column without decimals, one each, is the name of the shot.

    With four columns it is the name only where the fourth holds heights and not codes.
    """
    width = max(len(row) for row in rows)
    if width < 3:
        raise ImportRefused(f"a row needs east, north and elevation, these have {width} columns")
    first = [row[0] for row in rows if row]
    plain = all(re.fullmatch(r"[A-Za-z]*\d+", cell) for cell in first)
    heights = [row[3] for row in rows if len(row) > 3]
    roomy = width > 4 or (width == 4 and sum(_begins_a_number(cell) for cell in heights) * 2 > len(heights))
    named = plain and len(set(first)) == len(first) and roomy and len(rows) > 1
    return (("name",) if named else ()) + ORDER


def _begins_a_number(cell: str) -> bool:
    return re.match(r"[+-]?\.?\d", cell) is not None


def _row(
    number: int, cells: Sequence[str], columns: Sequence[str], units: Mapping[str, str], shown: Shown
) -> PointRow:
    found = {column: cell for column, cell in zip(columns, cells, strict=False) if column}
    values: dict[str, float | None] = {}
    errors: dict[str, str] = {}
    for column, kind in MEASURED.items():
        values[column], error = _value(found.get(column, ""), kind, units.get(column), shown)
        if error:
            errors[column] = error
    return PointRow(
        number,
        found.get("name", ""),
        values["east"],
        values["north"],
        values["elevation"],
        found.get("code", "")[:200],
        errors,
    )


def _value(cell: str, kind: Kind, unit: str | None, shown: Shown) -> tuple[float | None, str]:
    if not cell:
        return None, "" if kind is ELEVATION else "is missing"
    try:
        return parse(cell, kind, unit=unit or unit_of(kind, shown)).value, ""
    except DomainError as error:
        return None, str(error)


def _sentence(rows: Sequence[PointRow], columns: Sequence[str], shown: Shown) -> str:
    wrong = sum(bool(row.errors) for row in rows)
    read = ", ".join(column for column in columns if column)
    unit = unit_of(LENGTH, shown)
    faults = f"; {wrong} of them cannot be read whole" if wrong else ""
    told = f"{len(rows)} rows, read as {read}, bare numbers in {unit}{faults}."
    return f"{told} Check that east and north are not swapped."
