"""Which column of a text of points is which: told by a header, by a person, or seen by the numbers.

Surveyors write north before east as often as the other way round, and nothing in a row of numbers says
which.  What decides, in this order: what a person says, the header, where the job's own ground lies, the
usual size of map coordinates; else east comes first.  Whatever decided is said in one sentence.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import ELEVATION, LENGTH, Elevation, FloatArray, Length
from pondwright.base.units import format_value
from pondwright.exchange.reading import UNITS, Around, Extent, Question, Unit, factor

SEPARATORS = ("\t", ";", ",", "|")
COMMENTS = ("#", "//", "%", "!")

NAMES: Mapping[str, tuple[str, ...]] = {
    "name": ("name", "point", "pt", "no", "number", "id", "shot", "p", "pointid", "pointno"),
    "east": ("east", "easting", "e", "x"),
    "north": ("north", "northing", "n", "y"),
    "elevation": ("elevation", "elev", "height", "level", "z", "rl", "el"),
    "code": ("code", "description", "desc", "note", "feature", "d"),
}
LETTERS = {"p": "name", "e": "east", "x": "east", "n": "north", "y": "north", "z": "elevation", "d": "code"}
SKIPPED = "-"
USUAL = ("east", "north", "elevation", "code")
BEYOND = 1e9
"""A larger number is no place and no height, in any unit."""

MANY = 0.8
FEW = 0.2
"""Shares of the points that must fall on the job's ground one way, and not the other. [-]"""


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a table, units that its header states, and why they are read so."""

    columns: tuple[str, ...]
    units: Mapping[str, str] = field(default_factory=dict)
    header: bool = False
    why: str = ""


def parse_order(text: str) -> tuple[str, ...]:
    """Order of columns that a person typed.

    Parameters
    ----------
    text : str
        Letters such as ``PNEZD`` (point, north, east, elevation, description; x and y for east and north,
        ``-`` for a column to skip), or the words parted by commas.

    Returns
    -------
    tuple of str

    Raises
    ------
    ImportRefused
        If it is no such order, or lacks east, north or elevation.

    Examples
    --------
    >>> parse_order("PNEZD")
    ('name', 'north', 'east', 'elevation', 'code')
    """
    words = [word.strip().lower() for word in text.split(",")] if "," in text else list(text.strip().lower())
    found = [LETTERS.get(word) or _column(word) or ("" if word == SKIPPED else None) for word in words]
    columns = tuple(column for column in found if column is not None)
    named = [column for column in columns if column]
    complete = {"east", "north", "elevation"} <= set(named) and len(set(named)) == len(named)
    if None in found or not complete:
        raise ImportRefused(
            f"`order` must name each of east, north and elevation once, such as PNEZD or ENZ,"
            f" got {text[:40]!r}"
        )
    return columns


def separator_of(line: str) -> str | None:
    """What parts the cells of a line; None for spaces."""
    return next((one for one in SEPARATORS if one in line), None)


def header_of(cells: Sequence[str]) -> Columns | None:
    """Columns that a first line names, with the units that it states; None if it is no header."""
    columns: list[str] = []
    units: dict[str, str] = {}
    for cell in cells:
        word, unit = _word_and_unit(cell)
        column = _column(word)
        columns.append("" if column in columns else column)
        if column and unit:
            units[column] = unit
    if not {"east", "north"} <= set(columns):
        return None
    return Columns(tuple(columns), units, True, "as its header says")


def guessed(rows: Sequence[Sequence[str]]) -> Columns:
    """Usual order of the columns; a first column without decimals, one each, is the name of the shot.

    With four columns it is the name only where the fourth holds heights and not codes.
    """
    width = max(len(row) for row in rows)
    if width < 3:
        raise ImportRefused(f"a row needs east, north and elevation, these have {width} columns")
    first = [row[0] for row in rows if row]
    plain = all(re.fullmatch(r"[A-Za-z]*\d+", cell) for cell in first)
    heights = [row[3] for row in rows if len(row) > 3]
    roomy = width > 4 or (width == 4 and sum(begins_a_number(cell) for cell in heights) * 2 > len(heights))
    named = plain and len(set(first)) == len(first) and roomy and len(rows) > 1
    return Columns((("name",) if named else ()) + USUAL, why="the usual order")


def begins_a_number(cell: str) -> bool:
    """Whether a cell may be read as a number."""
    return re.match(r"[+-]?\.?\d", cell) is not None


def in_order(columns: Columns, places: FloatArray, unit: str, around: Around) -> tuple[Columns, str]:
    """Columns with north before east where the numbers say so, and a warning where they only hint at it.

    Parameters
    ----------
    columns : Columns
    places : (n, 2) array
        East and north as the columns are read now, in the file's unit.
    unit : str
        That unit.
    around : Around

    Returns
    -------
    tuple of Columns and str
        The warning is empty where nothing looks wrong.
    """
    places = places[(np.abs(places) < BEYOND).all(axis=1)]
    if not len(places):
        return columns, ""
    so = _share_on_ground(places * factor(unit), around)
    other = _share_on_ground(places[:, ::-1] * factor(unit), around)
    turned = so is not None and other is not None and so <= FEW and other >= MANY
    hits = round((other or 0.0) * len(places))
    if turned and columns.header:
        return columns, (
            f"East and north look swapped: the other way round, {hits} of {len(places)} points fall on"
            " the job's own ground."
        )
    if turned:
        why = f"with north first {hits} of {len(places)} points fall on the job's own ground"
        return _swapped(columns, why), ""
    if not columns.header and so in (None, 0.0) and unit == "m":
        first, second = np.median(np.abs(places), axis=0)
        if first > 1e6 > second > 1e5:
            return _swapped(columns, f"numbers like {first:.0f} are northings on the usual map grids"), ""
    return columns, ""


def _swapped(columns: Columns, why: str) -> Columns:
    turn = {"east": "north", "north": "east"}
    order = tuple(turn.get(column, column) for column in columns.columns)
    return Columns(order, columns.units, columns.header, why)


def _share_on_ground(places: FloatArray, around: Around) -> float | None:
    """Share of the places that fall where the job's ground is, in its own numbers or its map's."""
    if around.extent is None:
        return None
    return float((_gaps(places, around.extent, around) < _slack(around.extent)).mean())


def _slack(extent: Extent) -> Length:
    west, south, east, north = extent
    return max(east - west, north - south, 20.0)


def _gaps(places: FloatArray, extent: Extent, around: Around) -> FloatArray:
    """How far places lie outside the job's ground, in its own numbers or its map's: whichever fits more."""
    west, south, east, north = extent
    found = []
    for shift in ((0.0, 0.0), (around.origin_east, around.origin_north)):
        x, y = places[:, 0] - shift[0], places[:, 1] - shift[1]
        outside = [np.maximum(west - x, x - east), np.maximum(south - y, y - north)]
        found.append(np.maximum(np.maximum(*outside), 0.0))
    return min(found, key=lambda gaps: int((gaps >= _slack(extent)).sum()))


def either_way(places: FloatArray, around: Around) -> bool:
    """Whether east and north could be swapped and the places would still lie on the job's ground.

    Parameters
    ----------
    places : (n, 2) array of Length
        East and north as they are read now. [m]
    around : Around

    Returns
    -------
    bool
        True also where the job holds nothing to compare with.
    """
    sound = places[(np.abs(places) < BEYOND).all(axis=1)]
    if not len(sound) or around.extent is None:
        return True
    return all((_share_on_ground(way, around) or 0.0) >= MANY for way in (sound, sound[:, ::-1]))


def place_doubt(places: FloatArray, unit: str, around: Around) -> str:
    """Sentence about places that lie far off the job's own ground, with the unit that would bring them there.

    Parameters
    ----------
    places : (n, 2) array of Length
        East and north row by row as they are read now; NaN where a row has none. [m]
    unit : str
        The unit that they were read in.
    around : Around

    Returns
    -------
    str
        Empty where nothing looks wrong, or the job holds nothing to compare with.
    """
    rows = np.flatnonzero((np.abs(places) < BEYOND).all(axis=1))
    if around.extent is None or not len(rows):
        return ""
    sound = places[rows]
    gaps = _gaps(sound, around.extent, around)
    far = gaps >= _slack(around.extent)
    if not far.any():
        return ""
    others: tuple[Unit, ...] = ("ft",) if unit in ("m", "") else ("m",)
    for other in others:
        share = _share_on_ground(sound / factor(unit) * factor(other), around) or 0.0
        if far.mean() >= 1.0 - FEW and share >= MANY:
            read = UNITS.get(unit or "m", "metres")  # type: ignore[call-overload]
            return (
                f"Read in {read}, {far.sum()} of {len(rows)} rows lie far from the job's own ground, and in"
                f" {UNITS[other]} they would lie on it. Are they?"
            )
    worst = int(np.argmax(gaps))
    off = format_value(float(gaps[worst]), LENGTH, around.shown)
    if far.sum() == 1:
        return f"Row {rows[worst] + 1} lies {off} from the job's own ground: check its east and north."
    return (
        f"{far.sum()} of {len(rows)} rows lie far from the job's own ground, row {rows[worst] + 1} the"
        f" farthest by {off}: check east and north, and the unit."
    )


def height_doubt(elevations: FloatArray, unit: str, around: Around) -> str:
    """Sentence about heights that lie far off the job's own, with the unit that would bring them there.

    Parameters
    ----------
    elevations : (n,) array of Elevation
        As they are read now. [m]
    unit : str
        The unit that they were read in.
    around : Around

    Returns
    -------
    str
        Empty where nothing looks wrong.
    """
    sound = elevations[np.abs(elevations) < BEYOND]
    if not len(sound) or around.lowest is None or around.highest is None:
        return ""
    middle = float(np.median(sound))
    slack = _height_slack(around.lowest, around.highest)
    if around.lowest - slack <= middle <= around.highest + slack:
        return ""
    shown = [
        format_value(value, ELEVATION, around.shown) for value in (middle, around.lowest, around.highest)
    ]
    said = f"The heights lie about {shown[0]}, the job's own from {shown[1]} to {shown[2]}"
    candidates: tuple[Unit, ...] = ("ft",) if unit in ("m", "") else ("m",)
    for other in candidates:
        there = middle / factor(unit) * factor(other)
        if around.lowest - slack <= there <= around.highest + slack:
            read = f"read in {UNITS.get(unit or 'm', 'metres')}"  # type: ignore[call-overload]
            return f"{said}: they were {read}, and in {UNITS[other]} they would fit. Are they?"
    return f"{said}: check the unit and what height zero is."


def _height_slack(lowest: Elevation, highest: Elevation) -> Length:
    return max(2.0 * (highest - lowest), 10.0)


def single_height_doubt(elevations: FloatArray, around: Around) -> str:
    """Sentence about rows whose height alone lies far off the job's own.

    Parameters
    ----------
    elevations : (n,) array of Elevation
        Row by row as they are read now; NaN where a row has none. [m]
    around : Around

    Returns
    -------
    str
        Empty where nothing looks wrong, or the job holds nothing to compare with.
    """
    if around.lowest is None or around.highest is None:
        return ""
    slack = _height_slack(around.lowest, around.highest)
    gaps = np.maximum(around.lowest - elevations, elevations - around.highest)
    far = gaps > slack
    if not far.any():
        return ""
    worst = int(np.nanargmax(gaps))
    shown = [
        format_value(float(value), ELEVATION, around.shown)
        for value in (elevations[worst], around.lowest, around.highest)
    ]
    more = f" and {far.sum() - 1} more" if far.sum() > 1 else ""
    return (
        f"Row {worst + 1} stands at {shown[0]}{more}, the job's own ground from {shown[1]} to {shown[2]}:"
        " check the height."
    )


def order_question(name: str, columns: Columns) -> Question | None:
    """Question about the order of columns that no header told."""
    if columns.header or columns.why == "as you said":
        return None
    told = tuple(column or SKIPPED for column in columns.columns)
    turned = tuple(column or SKIPPED for column in _swapped(columns, "").columns)
    says = f"{name} has no header: its columns are read as {', '.join(told)} ({columns.why})"
    return Question("order", says, ",".join(told), (",".join(told), ",".join(turned)))


def _column(word: str) -> str:
    return next((name for name, spellings in NAMES.items() if word in spellings), "")


def _word_and_unit(cell: str) -> tuple[str, str]:
    found = re.fullmatch(r"\s*([A-Za-z]+)\.?\s*(?:[\[(]\s*([^\])]*)\s*[\])])?\s*", cell)
    return (found[1].lower(), (found[2] or "").strip()) if found else ("", "")
