"""Shots from a spreadsheet or a point file, pasted or dropped: rows, with what is wrong in each cell.

A header names the columns; without one the order is east, north, elevation, code, after a point name
where the first column holds one, unless the numbers tell that north comes first
(:mod:`pondwright.exchange.columns`).  Nothing is taken silently: every cell that cannot be read says so,
and nothing is kept before the person agrees.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from pondwright.base.errors import DomainError, ImportRefused
from pondwright.base.kinds import ELEVATION, LENGTH, FloatArray, Kind
from pondwright.base.units import Shown, parse, unit_of
from pondwright.exchange.columns import (
    Columns,
    either_way,
    guessed,
    header_of,
    height_doubt,
    in_order,
    place_doubt,
    separator_of,
    single_height_doubt,
)
from pondwright.exchange.reading import UNITS, Around, Wanted, factor

MOST_ROWS = 50_000
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
    """All rows, the columns as they were understood, and one sentence that says so.

    ``header`` tells whether a header named the columns, ``why`` why they are read so, ``unit`` the unit of
    bare numbers, and ``warnings`` what looks wrong.
    """

    rows: tuple[PointRow, ...]
    columns: tuple[str, ...]
    says: str
    header: bool = False
    why: str = ""
    unit: str = "m"
    unit_told: bool = False
    warnings: tuple[str, ...] = ()


def read_points(
    text: str, shown: Shown, around: Around | None = None, wanted: Wanted | None = None
) -> PointTable:
    r"""Shots of a pasted or dropped table.

    Parameters
    ----------
    text : str       Lines of cells parted by tabs, semicolons, commas or spaces.
    shown : Shown    Units of the job; a bare number takes them, a header such as ``east (m)`` goes before.
    around : Around or None
        What the job holds, to see whether east and north are swapped, or feet were taken for metres.
    wanted : Wanted or None
        Unit and order that a person has said; they go before everything but a unit in a cell.

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
    around, wanted = around or Around(shown), wanted or Wanted()
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not lines:
        raise ImportRefused(
            "there are no rows: paste a line for each shot, for example `12.5  8.0  100.35  rim`"
        )
    if len(lines) > MOST_ROWS:
        raise ImportRefused(f"there are {len(lines)} rows; a table of shots may have {MOST_ROWS} at most")
    cells = [(number, _cells(line, separator_of(lines[0][1]))) for number, line in lines]
    columns, body = _columns(cells, wanted)
    if not body:
        raise ImportRefused("there is a header but no row below it")
    # Bare numbers take the unit that is said, else the column's, else the job's.
    rows = tuple(_row(number, row, columns, wanted, shown) for number, row in body)
    unit = wanted.unit or columns.units.get("east") or unit_of(LENGTH, shown)
    turned, warning = in_order(columns, _places(rows), "m", around)
    if turned is not columns and not wanted.order:
        columns = turned
        rows = tuple(_turned(row) for row in rows)
    doubt = height_doubt(_heights(rows), _as_unit(wanted.height_unit or unit), around)
    warnings = tuple(filter(None, (warning, doubt)))
    told = wanted.unit is not None or {"east", "north"} <= set(columns.units)
    is_open = around.extent is None or (not columns.header and either_way(_places(rows), around))
    says = _sentence(rows, columns, unit, warnings, is_open)
    return PointTable(rows, columns.columns, says, columns.header, columns.why, unit, told, warnings)


def preview_points(
    text: str, shown: Shown, around: Around | None = None, wanted: Wanted | None = None
) -> PointTable:
    r"""Shots of a pasted table, with a word about what lies far off what the job already holds.

    Parameters
    ----------
    text, shown, around, wanted
        As for :func:`read_points`.

    Returns
    -------
    PointTable

    Raises
    ------
    ImportRefused    As there.

    Examples
    --------
    >>> here = Around("metric", (0.0, 0.0, 40.0, 30.0), 98.0, 101.0)
    >>> preview_points("x,y,z\n10,10,100\n900,10,100", "metric", here).warnings
    ("Row 2 lies 860.00 m from the job's own ground: check its east and north.",)
    """
    around = around or Around(shown)
    table = read_points(text, shown, around, wanted)
    if table.warnings:
        return table
    unit = _as_unit(table.unit)
    doubt = place_doubt(_places(table.rows), unit, around) or single_height_doubt(
        _heights(table.rows), around
    )
    if not doubt:
        return table
    return replace(table, says=f"{table.says} {doubt}", warnings=(doubt,))


def _columns(
    cells: Sequence[tuple[int, list[str]]], wanted: Wanted
) -> tuple[Columns, Sequence[tuple[int, list[str]]]]:
    """Columns of a table, and the rows below its header."""
    header = header_of(cells[0][1])
    body = cells[1:] if header else cells
    if wanted.order:
        return Columns(wanted.order, header.units if header else {}, bool(header), "as you said"), body
    return header or guessed([row for _number, row in body]), body


def _cells(line: str, separator: str | None) -> list[str]:
    if separator is None:
        return line.split()
    try:
        found = next(csv.reader(io.StringIO(line), delimiter=separator), [])
    except csv.Error:
        found = line.split(separator)
    return [cell.strip() for cell in found]


def _row(number: int, cells: Sequence[str], columns: Columns, wanted: Wanted, shown: Shown) -> PointRow:
    found = {column: cell for column, cell in zip(columns.columns, cells, strict=False) if column}
    values: dict[str, float | None] = {}
    errors: dict[str, str] = {}
    for column, kind in MEASURED.items():
        said = (wanted.height_unit if kind is ELEVATION else None) or wanted.unit
        unit = said or columns.units.get(column)
        values[column], error = _value(found.get(column, ""), kind, unit, shown)
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


def _places(rows: Sequence[PointRow]) -> FloatArray:
    """East and north of the rows, (n, 2); NaN where one is missing. [m]"""
    found = [(row.east, row.north) for row in rows]
    return np.array(found, dtype=np.float64).reshape(-1, 2)


def _heights(rows: Sequence[PointRow]) -> FloatArray:
    """Heights of the rows, (n,); NaN where one is missing. [m]"""
    return np.array([np.nan if row.elevation is None else row.elevation for row in rows])


def _turned(row: PointRow) -> PointRow:
    """A row whose first number of place was north."""
    turn = {"east": "north", "north": "east"}
    errors = {turn.get(column, column): error for column, error in row.errors.items()}
    return replace(row, east=row.north, north=row.east, errors=errors)


def _as_unit(unit: str) -> str:
    """Unit of bare numbers as one of metres and feet."""
    if unit in UNITS:
        return unit
    try:
        return "m" if abs(factor(unit) - 1.0) < 0.5 else "ft"
    except DomainError:
        return "m"


def _sentence(
    rows: Sequence[PointRow], columns: Columns, unit: str, warnings: Sequence[str], is_open: bool
) -> str:
    """How the rows were read; a swap of east and north only where nothing tells that there is none."""
    wrong = sum(bool(row.errors) for row in rows)
    read = ", ".join(column for column in columns.columns if column)
    faults = f"; {wrong} of them cannot be read whole" if wrong else ""
    told = f"{len(rows)} rows, read as {read}, bare numbers in {unit}{faults}."
    if warnings:
        return " ".join((told, *warnings))
    if columns.why == "as you said" or (not is_open and (columns.header or columns.why == "the usual order")):
        return told
    if columns.header or columns.why in ("the usual order", ""):
        return f"{told} Check that east and north are not swapped."
    return f"{told} North comes first because {columns.why}; check that it does."
