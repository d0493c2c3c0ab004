"""From a file's map grid to the job's own coordinates.

The job's own coordinates are metres on a map grid, less an origin: east = map east − origin east.  Grids
in feet are brought to metres first, so that the factor of the grid's own foot (0.3048, or 1200/3937 for
the US survey foot) is the only one that counts.  A job without a code has a local grid.

Longitude and latitude have no metres.  They are laid on the job's grid, or, for a job without one, on the
UTM zone of their middle.  Heights are never moved: which height is zero is for the builder to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from math import floor
from typing import Any

import numpy as np

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import FloatArray, Length, Lengths
from pondwright.exchange.reading import Around, Extent, Wanted, factor

NO_GEO = (
    "reading map grids and these files needs the optional geo libraries, which are not installed here:"
    " install `pondwright[geo]`"
)
ORIGIN_STEP = 100.0
SMALLEST_SITE: Length = 0.5
"""No site is smaller: coordinates within it are degrees. [m]"""

DEGREE_SITE: Length = 5.0
"""On a map grid, coordinates within it and within 180 by 90 are degrees. [m]"""

_UNIT_NAMES = {"metre": "m", "foot": "ft", "US survey foot": "ftUS"}


@contextmanager
def geo_libraries() -> Iterator[None]:
    """Turn the absence of an optional library into one sentence."""
    try:
        yield
    except ImportError as error:
        raise ImportRefused(NO_GEO) from error


@dataclass(frozen=True, slots=True)
class MapGrid:
    """A map grid: its code if it has one, its name, its unit, and that of its heights if it tells it."""

    epsg: int | None
    name: str
    unit: str
    height_unit: str
    geographic: bool


def grid_of(crs: Any) -> MapGrid:
    """Map grid of a pyproj CRS.

    Parameters
    ----------
    crs : pyproj.CRS

    Returns
    -------
    MapGrid
        ``unit`` is empty for a unit that is no metre and no foot.
    """
    parts = list(crs.sub_crs_list) if crs.is_compound else [crs]
    flat = parts[0].source_crs if parts[0].is_bound and parts[0].source_crs else parts[0]
    heights = [part for part in parts[1:] if part.is_vertical]
    unit = _unit_of(flat.axis_info[0]) if flat.axis_info and not flat.is_geographic else ""
    above = _unit_of(heights[0].axis_info[0]) if heights and heights[0].axis_info else ""
    return MapGrid(_code_of(flat), flat.name, unit, above, bool(flat.is_geographic))


def _unit_of(axis: Any) -> str:
    told = _UNIT_NAMES.get(axis.unit_name, "")
    if told:
        return told
    close = [unit for unit in _UNIT_NAMES.values() if abs(axis.unit_conversion_factor - factor(unit)) < 1e-9]
    return close[0] if close else ""


def _code_of(crs: Any) -> int | None:
    code = crs.to_epsg(min_confidence=70)
    return int(code) if code and 1024 <= code <= 99_999 else None


@lru_cache(maxsize=64)
def grid_of_code(epsg: int) -> MapGrid:
    """Map grid of an EPSG code.

    Parameters
    ----------
    epsg : int

    Returns
    -------
    MapGrid

    Raises
    ------
    ImportRefused
        If there is no such grid, or it is none of places on the ground.
    """
    with geo_libraries():
        from pyproj import CRS
        from pyproj.exceptions import CRSError
    try:
        crs = CRS.from_epsg(epsg)
    except CRSError:
        raise ImportRefused(f"`epsg` must be the code of a map grid, and {epsg} is none") from None
    found = grid_of(crs)
    if not (found.geographic or ((crs.is_projected or crs.is_compound) and found.unit)):
        raise ImportRefused(f"`epsg` must be a map grid in metres or feet, and {epsg} ({crs.name}) is none")
    return MapGrid(epsg, found.name, found.unit, found.height_unit, found.geographic)


def utm_zone(longitude: float, latitude: float) -> int:
    """EPSG code of the WGS 84 UTM zone of a place.

    Parameters
    ----------
    longitude, latitude : float
        Degrees.

    Returns
    -------
    int

    Notes
    -----
    Zone = floor((longitude + 180) / 6) + 1; 326zz north of the equator and 327zz south of it.

    Examples
    --------
    >>> utm_zone(7.6, 51.9), utm_zone(172.6, -43.5)
    (32632, 32759)
    """
    zone = min(max(floor((longitude + 180.0) / 6.0) + 1, 1), 60)
    return (32600 if latitude >= 0.0 else 32700) + zone


Moved = Callable[[FloatArray, FloatArray], tuple[Lengths, Lengths]]


def mover(from_epsg: int, to_epsg: int) -> Moved:
    """Function that moves places from one map grid to another.

    Parameters
    ----------
    from_epsg, to_epsg : int

    Returns
    -------
    callable
        Of arrays of east and north (longitude and latitude in degrees), to metres on the other grid (or
        degrees); places that have no answer are infinite.
    """
    source, target = grid_of_code(from_epsg), grid_of_code(to_epsg)
    with geo_libraries():
        from pyproj import Transformer
        from pyproj.exceptions import ProjError
    try:
        across = Transformer.from_crs(from_epsg, to_epsg, always_xy=True)
    except ProjError:
        raise ImportRefused(f"there is no way from map grid {from_epsg} to {to_epsg}") from None
    into = 1.0 if source.geographic else factor(source.unit)
    out = 1.0 if target.geographic else factor(target.unit)

    def moved(east: FloatArray, north: FloatArray) -> tuple[Lengths, Lengths]:
        x, y = across.transform(np.asarray(east) / into, np.asarray(north) / into)
        return np.asarray(x, dtype=np.float64) * out, np.asarray(y, dtype=np.float64) * out

    return moved


def metric_grid(around: Around, longitude: float, latitude: float) -> int:
    """Code of the grid that longitudes and latitudes are laid on: the job's, else a UTM zone."""
    if around.epsg is not None and not grid_of_code(around.epsg).geographic:
        return around.epsg
    return utm_zone(longitude, latitude)


@dataclass(frozen=True, slots=True)
class Placing:
    """How places on a file's map grid become places of the job.

    ``sets`` are the values of the job's frame that the file's first import proposes.
    """

    moved: Moved | None
    origin_east: Length
    origin_north: Length
    sets: dict[str, float | int]
    says: str

    def into_job(self, east: Lengths, north: Lengths) -> tuple[Lengths, Lengths]:
        """East and north in the job's own coordinates. [m]"""
        if self.moved is not None:
            east, north = self.moved(east, north)
        return east - self.origin_east, north - self.origin_north


def placing(epsg: int | None, extent: Extent, around: Around) -> Placing:
    """How places on a map grid come into the job.

    Parameters
    ----------
    epsg : int or None
        Grid of the places; None if nobody knows.
    extent : Extent
        Where they are. [m]
    around : Around
        What the job holds.

    Returns
    -------
    Placing

    Raises
    ------
    ImportRefused
        If the job has ground on a grid of its own and the file lies far from it.

    Notes
    -----
    A job with nothing on it takes the grid of the first file, with its zero at the south-west corner of
    the file, rounded down to 100 m.
    """
    east, north = around.origin_east, around.origin_north
    if around.epsg is not None:
        if epsg is None or epsg == around.epsg:
            # A file without a code may be in the job's own numbers or in those of its map grid.
            if epsg is None and _near(extent, around):
                return Placing(
                    None, 0.0, 0.0, {}, "The file has no map grid and lies in the job's own numbers."
                )
            return Placing(None, east, north, {}, f"It lies on the job's map grid, {around.epsg}.")
        says = f"It is moved from map grid {epsg} to the job's, {around.epsg}; heights stay as they are."
        return Placing(mover(epsg, around.epsg), east, north, {}, says)
    if around.extent is not None or east or north:
        return _onto_local(epsg, extent, around)
    origin = _origin(extent)
    if epsg is None:
        if origin == (0.0, 0.0):
            return Placing(None, 0.0, 0.0, {}, "The file has no map grid: its numbers are the job's own.")
        sets: dict[str, float | int] = {"origin_east": origin[0], "origin_north": origin[1]}
        return Placing(None, *origin, sets, f"The job's zero is laid at {_pair(origin)} of the file.")
    sets = {"epsg": epsg, "origin_east": origin[0], "origin_north": origin[1]}
    return Placing(None, *origin, sets, f"The job takes map grid {epsg}, with its zero at {_pair(origin)}.")


def _onto_local(epsg: int | None, extent: Extent, around: Around) -> Placing:
    """The job has a local grid and ground on it: a file must lie there already."""
    if _near(extent, around):
        return Placing(None, 0.0, 0.0, {}, "Its numbers are taken as the job's own.")
    if around.origin_east or around.origin_north:
        shifted = (
            extent[0] - around.origin_east, extent[1] - around.origin_north,
            extent[2] - around.origin_east, extent[3] - around.origin_north,
        )  # fmt: skip
        if _near(shifted, around):
            return Placing(
                None, around.origin_east, around.origin_north, {}, "It is moved by the job's origin."
            )
    where = around.extent or (0.0, 0.0, 0.0, 0.0)
    told = f", on map grid {epsg}" if epsg else ""
    raise ImportRefused(
        f"the file lies at {_pair(extent[:2])}{told}, and the job's own ground at {_pair(where[:2])} of its"
        " local grid: tell the job's map grid and origin (site.frame) first, or give a file in"
        " its own numbers"
    )


def _near(extent: Extent, around: Around) -> bool:
    """Whether a file lies where the job's ground is, give or take the size of both."""
    if around.extent is None:
        return False
    west, south, east, north = around.extent
    slack = max(east - west, north - south, extent[2] - extent[0], extent[3] - extent[1], 100.0)
    across = extent[0] <= east + slack and extent[2] >= west - slack
    return across and extent[1] <= north + slack and extent[3] >= south - slack


def window_of(wanted: Wanted, epsg: int | None, around: Around) -> Extent | None:
    """The wanted window on the file's map grid. [m]"""
    if wanted.window is None:
        return None
    west, south, east, north = wanted.window
    west, east = west + around.origin_east, east + around.origin_east
    south, north = south + around.origin_north, north + around.origin_north
    if epsg is None or around.epsg is None or epsg == around.epsg:
        return west, south, east, north
    moved = mover(around.epsg, epsg)
    x, y = moved(np.array([west, east, west, east]), np.array([south, south, north, north]))
    return float(x.min()), float(y.min()), float(x.max()), float(y.max())


def refuse_degrees(name: str, extent: Extent, grid: MapGrid | None) -> None:
    """Refuse longitudes and latitudes that come as if they were metres.

    Parameters
    ----------
    name : str
        The file's name.
    extent : Extent
        Of its places, as if in metres. [m]
    grid : MapGrid or None
        What it says that they are.

    Raises
    ------
    ImportRefused
    """
    west, south, east, north = extent
    wide = max(east - west, north - south)
    as_degrees = max(abs(west), abs(east)) <= 180.0 and max(abs(south), abs(north)) <= 90.0
    if not as_degrees or (wide >= SMALLEST_SITE and grid is None):
        return
    if grid is None or wide < DEGREE_SITE:
        raise ImportRefused(
            f"the places of {name} run only from {west:.6g}, {south:.6g} to {east:.6g}, {north:.6g}:"
            " they look like longitude and latitude in degrees, so say `epsg` 4326, or give metres or feet"
        )


def _origin(extent: Extent) -> tuple[float, float]:
    """South-west corner rounded down to 100 m; 0 where the numbers are small already."""
    if max(map(abs, extent)) < 10_000.0:
        return 0.0, 0.0
    return floor(extent[0] / ORIGIN_STEP) * ORIGIN_STEP, floor(extent[1] / ORIGIN_STEP) * ORIGIN_STEP


def _pair(place: tuple[float, ...]) -> str:
    return f"{place[0]:.0f} E {place[1]:.0f} N"
