"""GeoJSON: points, lines and polygons in longitude and latitude, laid on the job's map grid.

A place with a third number, or with a property that names its height, is ground: spot heights, contour
lines.  Lines and rings without heights are outlines, such as a boundary: they are told, and are no ground.

References
----------
RFC 7946, *The GeoJSON Format* (2016): WGS 84 longitude, latitude and height above the ellipsoid, section
4, from memory.  Files often carry heights above sea level all the same, so heights are asked about.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, BinaryIO

import numpy as np

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import FloatArray
from pondwright.exchange.crs import metric_grid, mover
from pondwright.exchange.reading import (
    FARTHEST,
    HIGHEST_GROUND,
    LOWEST_GROUND,
    UNITS,
    Around,
    LeftOut,
    Outline,
    Question,
    Wanted,
    factor,
    left_out,
)

LARGEST = 64 * 2**20
DEEPEST = 8
MOST_PLACES = 2_000_000
HEIGHTS = ("elevation", "elev", "height", "ele", "z", "level", "contour")
CODES = ("code", "name", "kind", "type", "desc", "description")
WGS84 = 4326


@dataclass(frozen=True, slots=True)
class Geo:
    """What a GeoJSON file holds on a map grid in metres; ``points`` are (n, 3)."""

    points: FloatArray
    codes: tuple[str, ...]
    outlines: tuple[Outline, ...]
    epsg: int
    height_unit: str
    count: int
    left_out: tuple[LeftOut, ...]
    says: tuple[str, ...]
    questions: tuple[Question, ...]


@dataclass
class _Places:
    """Longitude, latitude and height as they come, and outlines without heights."""

    rows: list[tuple[float, float, float]] = field(default_factory=list)
    codes: list[str] = field(default_factory=list)
    outlines: list[tuple[str, bool, list[tuple[float, float]]]] = field(default_factory=list)
    count: int = 0
    bare: int = 0
    wrong: int = 0


def read_geojson(stream: BinaryIO, name: str, wanted: Wanted, around: Around) -> Geo:
    """Points with heights, and outlines without, on the job's map grid or a UTM zone.

    Parameters
    ----------
    stream : binary stream
    name : str
        The file's name, for what is said.
    wanted : Wanted
    around : Around

    Returns
    -------
    Geo

    Raises
    ------
    ImportRefused
    """
    found = _Places()
    _gather(_document(stream, name), found, {}, name, 0)
    if not found.rows and not found.outlines:
        raise ImportRefused(
            f"{name} has no place that can be read: {found.wrong + found.bare} have no height or no sense"
        )
    rows = np.array(found.rows, dtype=np.float64).reshape(-1, 3)
    lines = [np.array(line, dtype=np.float64).reshape(-1, 2) for _name, _closed, line in found.outlines]
    every = np.concatenate([rows[:, :2], *lines])
    if np.abs(every[:, 0]).max() > 180.0 or np.abs(every[:, 1]).max() > 90.0:
        raise ImportRefused(
            f"{name} has places such as {every[np.abs(every).max(axis=1).argmax()].tolist()}, which are no"
            " longitude and latitude; GeoJSON is always in degrees (WGS 84)"
        )
    epsg = metric_grid(around, *map(float, np.median(every, axis=0)))
    moved = mover(wanted.epsg or WGS84, epsg)
    unit = wanted.height_unit or wanted.unit or "m"
    east, north = moved(rows[:, 0], rows[:, 1])
    points = np.column_stack([east, north, rows[:, 2] * factor(unit)])
    on_map = np.isfinite(points[:, :2]).all(axis=1) & (np.abs(points[:, :2]) <= FARTHEST).all(axis=1)
    sound = on_map & (points[:, 2] >= LOWEST_GROUND) & (points[:, 2] <= HIGHEST_GROUND)
    outlines = _outlines(found, lines, moved)
    left = left_out(
        (found.wrong, "no place that can be read"),
        (found.bare, "points without a height"),
        (int((~on_map).sum()), f"beyond map grid {epsg}"),
        (int((on_map & ~sound).sum()), "lower than −500 m or higher than 9000 m"),
    )
    codes = tuple(code for code, good in zip(found.codes, sound, strict=True) if good)
    says = [f"Its longitudes and latitudes are laid on map grid {epsg}."]
    if outlines:
        says.append(f"{len(outlines)} lines or rings have no heights: they are no ground.")
    told = wanted.height_unit or wanted.unit
    asks = f"{name} does not tell the unit of its heights: are they in {unit}, and above the zero you mean?"
    questions = () if told or not len(points) else (Question("height_unit", asks, unit, tuple(UNITS)),)
    return Geo(points[sound], codes, outlines, epsg, unit, found.count, left, tuple(says), questions)


def _document(stream: BinaryIO, name: str) -> Any:
    text = stream.read(LARGEST + 1)
    if len(text) > LARGEST:
        raise ImportRefused(f"{name} is larger than {LARGEST // 2**20} MB, more than is read as GeoJSON")

    def no_number(word: str) -> float:
        raise ImportRefused(f"{name} holds {word}, which is no number")

    try:
        document = json.loads(text, parse_constant=no_number, parse_int=float)
    except (ValueError, RecursionError) as error:
        said = (
            "it is nested without end" if isinstance(error, RecursionError) else " ".join(str(error).split())
        )
        raise ImportRefused(f"{name} is damaged or cut off: it is no whole JSON ({said[:100]})") from None
    if not isinstance(document, dict) or not isinstance(document.get("type"), str):
        raise ImportRefused(f"{name} is JSON of another kind; read is GeoJSON")
    return document


def _gather(node: Any, found: _Places, properties: dict[str, Any], name: str, depth: int) -> None:
    """Gather the places of a feature, a geometry or a collection."""
    if not isinstance(node, dict) or depth > DEEPEST:
        found.wrong += 1
        return
    kind = node.get("type")
    if kind == "FeatureCollection":
        for feature in _listed(node.get("features")):
            _gather(feature, found, {}, name, depth + 1)
    elif kind == "GeometryCollection":
        for geometry in _listed(node.get("geometries")):
            _gather(geometry, found, properties, name, depth + 1)
    elif kind == "Feature":
        own = node.get("properties")
        if node.get("geometry") is not None:
            _gather(node["geometry"], found, own if isinstance(own, dict) else {}, name, depth + 1)
    else:
        _geometry(kind, node.get("coordinates"), found, properties)
    if found.count > MOST_PLACES:
        raise ImportRefused(f"{name} has more than {MOST_PLACES} places, more than are read as GeoJSON")


def _geometry(kind: Any, coordinates: Any, found: _Places, properties: dict[str, Any]) -> None:
    if kind == "Point":
        _line([coordinates], False, found, properties, single=True)
    elif kind == "MultiPoint":
        for place in _listed(coordinates):
            _line([place], False, found, properties, single=True)
    elif kind == "LineString":
        _line(coordinates, False, found, properties)
    elif kind in ("MultiLineString", "Polygon"):
        for line in _listed(coordinates):
            _line(line, kind == "Polygon", found, properties)
    elif kind == "MultiPolygon":
        for polygon in _listed(coordinates):
            for ring in _listed(polygon):
                _line(ring, True, found, properties)
    else:
        found.wrong += 1


def _line(
    coordinates: Any, closed: bool, found: _Places, properties: dict[str, Any], single: bool = False
) -> None:
    """Places of one line: ground if they have heights, an outline if not."""
    height = _height(properties)
    code = next((str(properties[key])[:200] for key in CODES if isinstance(properties.get(key), str)), "")
    flat: list[tuple[float, float]] = []
    for place in _listed(coordinates):
        found.count += 1
        numbers = _numbers(place)
        if numbers is None:
            found.wrong += 1
        elif len(numbers) > 2 or height is not None:
            found.rows.append((numbers[0], numbers[1], numbers[2] if len(numbers) > 2 else height or 0.0))
            found.codes.append(code)
        elif single:
            found.bare += 1
        else:
            flat.append((numbers[0], numbers[1]))
    if len(flat) >= (4 if closed else 2):
        found.outlines.append((code, closed, flat))


def _height(properties: dict[str, Any]) -> float | None:
    lowered = {str(key).lower(): value for key, value in properties.items()}
    for key in HEIGHTS:
        value = lowered.get(key)
        if isinstance(value, float) and not isinstance(value, bool):
            return value
    return None


def _numbers(place: Any) -> list[float] | None:
    if not isinstance(place, list) or not 2 <= len(place) <= 4:
        return None
    if not all(isinstance(number, float) for number in place) or not np.isfinite(place).all():
        return None
    return [float(number) for number in place]


def _listed(value: Any) -> Iterator[Any]:
    return iter(value) if isinstance(value, list) else iter(())


def _outlines(found: _Places, lines: list[FloatArray], moved: Any) -> tuple[Outline, ...]:
    outlines = []
    for (name, closed, _line), line in zip(found.outlines, lines, strict=True):
        east, north = moved(line[:, 0], line[:, 1])
        places = np.column_stack([east, north])
        places = places[:-1] if closed and np.array_equal(line[0], line[-1]) else places
        if np.isfinite(places).all():
            places.flags.writeable = False
            outlines.append(Outline(name, closed, places))
    return tuple(outlines)
