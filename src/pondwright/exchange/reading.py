"""What a file from outside holds, before any of it is taken: for a preview, and for the edit that takes it.

A reader never guesses in silence.  What it took for granted is a :class:`Question`, to be confirmed;
what it left out is told by :class:`LeftOut`, in words and with a count; what is no such file at all is an
:class:`~pondwright.base.errors.ImportRefused`.

Coordinates of a reading are *map metres*: the file's own east and north in metres, on the map grid of
``epsg`` if it has one.  :mod:`pondwright.exchange.crs` brings them into the job.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import LENGTH, Elevation, Elevations, Length, Lengths
from pondwright.base.unit_table import Shown, unit_named
from pondwright.geometry.grid import Grid

Unit = Literal["m", "ft", "ftUS"]
Form = Literal["points", "xyz", "las", "geotiff", "landxml", "geojson"]
Kind = Literal["shots", "cloud", "grid", "surface"]
Heights = Literal["mean", "lowest"]
Extent = Annotated[tuple[float, float, float, float], LENGTH]
"""West, south, east and north. [m]"""

FARTHEST: Length = 1e7
"""No map grid has coordinates beyond it. [m]"""

LOWEST_GROUND: Elevation = -500.0
HIGHEST_GROUND: Elevation = 9000.0
"""Dry ground lies between these. [m]"""

FEWEST = 3
"""Points that make a surface."""

UNITS: Mapping[Unit, str] = {"m": "metres", "ft": "international feet", "ftUS": "US survey feet"}


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person has said about a file; None and empty are for what the file tells itself.

    Parameters
    ----------
    unit : {"m", "ft", "ftUS"} or None
        Unit of the coordinates, and of the heights unless ``height_unit`` says otherwise.
    height_unit : {"m", "ft", "ftUS"} or None
        Unit of the heights.
    order : tuple of str
        Columns of a text, such as ``("name", "north", "east", "elevation", "code")``.
    epsg : int or None
        Code of the file's map grid.
    surface : str
        Which surface of several.
    heights : {"mean", "lowest"}
        What a cell with several points takes.
    window : Extent or None
        Only what lies in it is taken, in the job's own coordinates. [m]
    spacing : Length or None
        Size of the cells; None for what suits the number of points. [m]
    """

    unit: Unit | None = None
    height_unit: Unit | None = None
    order: tuple[str, ...] = ()
    epsg: int | None = None
    surface: str = ""
    heights: Heights = "mean"
    window: Extent | None = None
    spacing: Length | None = None

    def __post_init__(self) -> None:
        if self.window is not None:
            west, south, east, north = self.window
            if not (west < east and south < north):
                raise ImportRefused(
                    "`window` must be west, south, east and north with west below east and south below"
                    f" north, got {', '.join(f'{edge:g}' for edge in self.window)} m"
                )
        if self.spacing is not None and not 0.01 <= self.spacing <= 1000.0:
            raise ImportRefused(f"`spacing` must be from 0.01 to 1000 m, got {self.spacing:g} m")


@dataclass(frozen=True, slots=True)
class Around:
    """What the job already holds, which a file is compared with and brought to.

    Parameters
    ----------
    shown : Shown
        Units of the job.
    extent : Extent or None
        Of the shots and surfaces that it has, in its own coordinates. [m]
    lowest, highest : Elevation or None
        Of those. [m]
    epsg : int or None
        Code of the job's map grid.
    origin_east, origin_north : Length
        Map coordinates of the job's zero. [m]
    """

    shown: Shown = "metric"
    extent: Extent | None = None
    lowest: Elevation | None = None
    highest: Elevation | None = None
    epsg: int | None = None
    origin_east: Length = 0.0
    origin_north: Length = 0.0


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Points or cells that were not taken, and why."""

    count: int
    why: str


@dataclass(frozen=True, slots=True)
class Question:
    """What the file does not tell: what was assumed, and what else it could be.

    Without ``assumed`` it must be answered before anything is taken.
    """

    about: Literal["unit", "height_unit", "order", "surface", "epsg"]
    says: str
    assumed: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Points:
    """Points that are kept one by one; all arrays are read-only.

    Parameters
    ----------
    east, north : (n,) array of Length
        Map metres. [m]
    elevation : (n,) array of Elevation
        [m]
    names, codes : tuple of str
        Empty, or one a point.
    """

    east: Lengths
    north: Lengths
    elevation: Elevations
    names: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Binned:
    """Points in the cells of a grid; nodes of the grid are the middles of the cells.

    Parameters
    ----------
    grid : Grid
    z : (rows, columns) array of Elevation
        NaN where a cell has no point: no ground is invented. [m]
    count : (rows, columns) array of int
        Points in each cell.
    """

    grid: Grid
    z: Elevations
    count: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Outline:
    """A line or ring without heights: it is no ground, but may be a boundary or a shore.

    ``line`` is (n, 2), map metres. [m]
    """

    name: str
    closed: bool
    line: Lengths


@dataclass(frozen=True, slots=True)
class Preview:
    """A small picture of the heights, from south to north and from west to east; None where nothing is."""

    grid: Grid
    rows: tuple[tuple[float | None, ...], ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a file holds, and how it was understood.

    Parameters
    ----------
    name : str
        The file's name.
    file : str
        Its SHA-256.
    form : str
        What it was read as: ``points``, ``xyz``, ``las``, ``geotiff``, ``landxml`` or ``geojson``.
    kind : str
        What is in it: ``shots`` (few, each with its name), ``cloud``, ``grid`` or ``surface``.
    count : int
        Points, cells or vertices in the file.
    taken : int
        How many of them count.
    left_out : tuple of LeftOut
        The others.
    extent : Extent
        Of what is taken, in map metres. [m]
    lowest, highest : Elevation
        [m]
    epsg : int or None
        Code of the map grid of these coordinates.
    grid_name : str
        Name of that grid, or of what the file tells instead.
    unit, height_unit : str
        Units in which the file holds places and heights; empty if nobody has told.
    order : tuple of str
        Columns of a text.
    surfaces : tuple of str
        Surfaces to choose from.
    says : tuple of str
        How it was understood, one sentence each.
    warnings : tuple of str
        What looks wrong, one sentence each.
    far_off : str
        The one of them that says that it lies far off the job's own ground, if it does.
    questions : tuple of Question
        What is to be confirmed.
    points, binned, triangles, outlines
        What is taken: points one by one, or cells; the triangles of a surface over its points.
    preview : Preview or None
    """

    name: str
    file: str
    form: Form
    kind: Kind
    count: int
    taken: int
    left_out: tuple[LeftOut, ...]
    extent: Extent
    lowest: Elevation
    highest: Elevation
    epsg: int | None = None
    grid_name: str = ""
    unit: str = ""
    height_unit: str = ""
    order: tuple[str, ...] = ()
    surfaces: tuple[str, ...] = ()
    says: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    far_off: str = ""
    questions: tuple[Question, ...] = ()
    points: Points | None = None
    binned: Binned | None = None
    triangles: NDArray[np.int32] | None = None
    outlines: tuple[Outline, ...] = ()
    preview: Preview | None = None


def factor(unit: str) -> float:
    """Metres in one of a unit.

    Parameters
    ----------
    unit : str
        ``m``, ``ft``, ``ftUS``, or empty for metres until somebody tells.

    Returns
    -------
    float

    Examples
    --------
    >>> factor("ft")
    0.3048
    """
    return float(unit_named(LENGTH, unit or "m").factor)


def unit_named_by(text: str, what: str) -> Unit | None:
    """Unit that a person typed; None for an empty text.

    Parameters
    ----------
    text : str
    what : str
        Name of the box, for what is said.

    Returns
    -------
    str or None

    Raises
    ------
    ImportRefused

    Examples
    --------
    >>> unit_named_by("US survey feet", "unit")
    'ftUS'
    """
    typed = text.strip()
    for unit, words in UNITS.items():
        if typed in (unit, words):
            return unit
    if typed:
        raise ImportRefused(f"`{what}` must be m, ft or ftUS, got {typed[:40]!r}")
    return None


def unit_question(name: str, what: str = "unit") -> Question:
    """Question for a file that does not tell its unit; nothing of it is taken without an answer."""
    of = "its heights" if what == "height_unit" else "its coordinates"
    says = f"{name} does not tell the unit of {of}: say metres, international feet or US survey feet"
    return Question("height_unit" if what == "height_unit" else "unit", says, "", tuple(UNITS))


def left_out(*counted: tuple[int, str]) -> tuple[LeftOut, ...]:
    """Those of the counts that are not 0, with their reasons."""
    return tuple(LeftOut(int(count), why) for count, why in counted if count)


def refuse_if_no_surface(name: str, points: Points) -> None:
    """Raise ImportRefused if points are too few, or all on one line.

    Parameters
    ----------
    name : str
        Of the file.
    points : Points

    Raises
    ------
    ImportRefused
    """
    if len(points.east) < FEWEST:
        raise ImportRefused(f"{name} has {len(points.east)} points that count; a surface needs 3 at least")
    east, north = points.east - points.east.mean(), points.north - points.north.mean()
    spread = np.linalg.svd(np.array([[east @ east, east @ north], [east @ north, north @ north]]))[1]
    if not spread[0] > 0.0 or np.sqrt(max(spread[1], 0.0) / len(east)) < 0.001:
        raise ImportRefused(f"all points of {name} are on one line, and a line has no surface")
