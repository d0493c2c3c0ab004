"""Shores of all bodies: rings, distances, levels."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    AREA,
    ELEVATION,
    LENGTH,
    RATIO,
    Area,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Ratio,
)
from pondwright.geometry.curve import Sampled
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import (
    development_index,
    enclosed_area,
    longest_fetch,
    points_inside,
    resampled,
    ring_length,
    self_crossings,
)
from pondwright.geometry.surface import surface_at
from pondwright.geometry.window import Window, nodes_in
from pondwright.job.curves import line_of, ring_of
from pondwright.job.fields import value_of
from pondwright.job.places import OUTER_RING
from pondwright.job.shape import Berm, Body, CorridorOutline, RingOutline
from pondwright.rooms.shape.checks import water as checks
from pondwright.rooms.shape.shoreline import (
    SHORE_STEP,
    misplaced_islands,
    water_level,
)
from pondwright.rooms.shape.stage.rows import LEVEL, OUTLINE, berm_of, in_order, limits_of
from pondwright.rooms.shape.stream import Corridor, Reaches, corridor, node_stations, reaches
from pondwright.rooms.site.existing import fits, low_rim

STREAM_MARGIN: Length = 8.0
"""Distance from a stream up to which each node has its own station. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class Stream:
    """A stream's line and reaches, and for each node its station and how far its reach is lowered."""

    corridor: Corridor
    reaches: Reaches
    station: Lengths
    drop: Lengths


@dataclass(frozen=True, slots=True, eq=False)
class RingShore:
    """One ring of a shore and what it tells by itself, for as long as nobody moves what it is drawn from.

    Attributes
    ----------
    length, steps : Length        Of the ring, and of the same in equal steps. [m]
    drawn : Outline or Curve      The object of the document.
    sampled : Sampled             Its points.
    walked : (n, 2) array         Its steps. [m]
    crossings : places            Where it crosses itself. [m]
    ashore : Window and mask      Of an island, the nodes that lie on it.
    """

    length: Length
    steps: Length
    drawn: Any
    sampled: Sampled
    walked: Lengths
    crossings: tuple[tuple[Length, Length], ...]
    ashore: tuple[Window, NDArray[np.bool_]] | None


@dataclass(frozen=True, slots=True, eq=False)
class BodyShore:
    """One body's shore: its rings, the distance to it, and its level."""

    stream: Stream | None
    lines: tuple[RingShore, ...]
    crossings: tuple[tuple[Length, Length], ...]
    misplaced: tuple[str, ...]
    rings: tuple[Lengths, ...]
    ring_names: tuple[str, ...]
    spans: tuple[NDArray[np.int32], ...]
    distance: Lengths
    within: NDArray[np.bool_]
    window: Window
    rim_low_point: tuple[Length, Length]
    fetch_line: Lengths
    area: Area = figure(AREA, "Area of the water at its level", by=enclosed_area, uses=OUTLINE)
    length: Length = figure(LENGTH, "Length of the shore, islands counted", by=ring_length, uses=OUTLINE)
    development: Ratio = figure(
        RATIO, "Length of the shore against a round pond", by=development_index, uses=OUTLINE
    )
    fetch: Length = figure(LENGTH, "Longest stretch of open water", by=longest_fetch, uses=OUTLINE)
    rim_low: Elevation = figure(
        ELEVATION, "Lowest existing ground on the shore", by=low_rim, uses=(*OUTLINE, "site.ground.z")
    )
    level: Elevation = figure(
        ELEVATION,
        "Water level at rest",
        by=water_level,
        uses=(*LEVEL, "shape.shore.bodies.*.rim_low", "shape.berms.*.freeboard"),
    )
    crest_level: Elevation = figure(
        ELEVATION,
        "Level of the crest, settled",
        uses=("shape.shore.bodies.*.level", "shape.berms.*.freeboard"),
    )

    def windowed(self, grid: Grid) -> tuple[Grid, Lengths]:
        """Part of the grid that the shore spans, and the distance on it: its triangles are the same."""
        first_row, end_row, first_column, end_column = self.window
        part = replace(
            grid,
            origin_east=grid.origin_east + first_column * grid.spacing,
            origin_north=grid.origin_north + first_row * grid.spacing,
            columns=end_column - first_column,
            rows=end_row - first_row,
        )
        return part, self.distance[first_row:end_row, first_column:end_column]


@dataclass(frozen=True, slots=True, eq=False)
class ShoreResult:
    """Shores of all bodies that have a shoreline, in the order in which they are laid."""

    grid: Grid
    bodies: Mapping[str, BodyShore]
    area: Area = figure(AREA, "Area of all water", uses=("shape.shore.bodies.*.area",))


def shore_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[ShoreResult, tuple[Finding, ...]]:
    """Shores of all bodies.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `shape.berms`, `rules`.
    results : mapping     Needs `site.ground`.
    last : Last           Shores of bodies that nothing has moved since are taken over as they are.

    Returns
    -------
    ShoreResult and the checks of the shores.

    Raises
    ------
    DomainError           If a shore leaves the grid.
    """
    ground = results["site.ground"]
    limits = limits_of(view)
    known = last.result.bodies if last is not None and last.result.grid == ground.grid else {}
    bodies: dict[str, BodyShore] = {}
    findings: list[Finding] = []
    for name, body in in_order(view["shape.bodies"]):
        bodies[name] = _unmoved(name, view, results, last) or _shore(
            name, body, berm_of(view["shape.berms"], name)[1], ground, known.get(name)
        )
        findings.extend(_shore_findings(name, bodies[name], limits))
    total = sum(body.area for body in bodies.values())
    return ShoreResult(ground.grid, MappingProxyType(bodies), total), tuple(findings)


def _unmoved(name: str, view: Mapping[str, Any], results: Mapping[str, Any], last: Any) -> BodyShore | None:
    """Shore of last time of a body whose outline and ground are the same objects, at its level of now."""
    if last is None or last.results["site.ground"] is not results["site.ground"]:
        return None
    before, row = last.view["shape.bodies"].get(name), view["shape.bodies"][name]
    known = last.result.bodies.get(name)
    if known is None or before is None:
        return None
    berms = [berm_of(each["shape.berms"], name)[1] for each in (last.view, view)]
    # Most berms are the same object: rows compare field by field.
    if before is row and (berms[0] is berms[1] or berms[0] == berms[1]):
        return known
    if before.outline is not row.outline or before.islands is not row.islands:
        return None
    # Another level or berm leaves the shore on the plan where it is.
    ground = results["site.ground"]
    level, crest = _levels(row, berms[1], known.stream, known.rim_low, ground.z, ground.grid)
    return replace(known, level=level, crest_level=crest)


def _shore(name: str, body: Body, berm: Berm, ground: Any, before: BodyShore | None) -> BodyShore:
    """Shore of one body, from that of last time on the same grid."""
    z, grid = ground.z, ground.grid
    corridor, rings = _rings(body, grid, before)
    lines = tuple(rings.values())
    points = tuple(line.sampled.points for line in lines)
    if not fits(grid, points[0]):
        raise DomainError(f"`shape.bodies.{name}.outline` must lie inside the grid of the ground")
    distance = signed_distance(grid, points, None if before is None else (before.rings, before.distance))
    window = _window(points[0], grid)
    stream = None if corridor is None else _stream(body, corridor, window, grid)
    rim = low_rim(z, grid, points[0])
    level, crest = _levels(body, berm, stream, rim.elevation, z, grid)
    islands = {ring: line.sampled.points for ring, line in rings.items() if ring != OUTER_RING}
    area = abs(enclosed_area(points))
    fetch, fetch_line = longest_fetch(points)
    return BodyShore(
        stream=stream,
        lines=lines,
        crossings=tuple(place for line in lines for place in line.crossings),
        misplaced=misplaced_islands(points[0], islands) if islands else (),
        rings=points,
        ring_names=tuple(rings),
        spans=tuple(line.sampled.span for line in lines),
        distance=distance,
        within=_within(distance, lines),
        window=window,
        rim_low_point=(rim.east, rim.north),
        fetch_line=fetch_line,
        area=area,
        length=sum(line.length for line in lines),
        development=development_index(sum(line.steps for line in lines), area),
        fetch=fetch,
        rim_low=rim.elevation,
        level=level,
        crest_level=crest,
    )


def _levels(
    body: Body, berm: Berm, stream: Stream | None, low_rim: Elevation, z: Elevations, grid: Grid
) -> tuple[Elevation, Elevation]:
    """Level of the water of a body, and of its crest."""
    freeboard = value_of(berm, "freeboard")
    allowed = low_rim if stream is None else _allowed(stream, z, grid)
    level = water_level(body.level, allowed, freeboard)
    return level, level + freeboard


def _rings(body: Body, grid: Grid, before: BodyShore | None) -> tuple[Corridor | None, dict[str, RingShore]]:
    """Rings of a body by name, and the corridor of a stream, whose banks are its ring.

    Those that are still drawn from the same object are taken from its shore of before.
    """
    known = {} if before is None else {id(line.drawn): line for line in before.lines}
    islands = {
        name: known.get(id(curve)) or _ring(curve, ring_of(curve), grid, True)
        for name, curve in body.islands.items()
    }
    outline = body.outline
    if isinstance(outline, RingOutline):
        return None, {OUTER_RING: _ring(outline, ring_of(outline.curve), grid, False)} | islands
    line = line_of(outline.curve)
    at = line.span + line.parameter
    found = corridor(line.points, np.interp(at, np.arange(len(outline.widths)), outline.widths))
    back = np.concatenate([np.arange(len(at)), np.arange(len(at))[::-1]])
    banks = Sampled(found.ring, line.span[back], line.parameter[back])
    return found, {OUTER_RING: _ring(outline, banks, grid, False)} | islands


def _ring(drawn: Any, sampled: Sampled, grid: Grid, island: bool) -> RingShore:
    """A ring with what it tells by itself."""
    walked = resampled(sampled.points, SHORE_STEP)
    return RingShore(
        drawn=drawn,
        sampled=sampled,
        walked=walked,
        length=ring_length(sampled.points),
        steps=ring_length(walked),
        crossings=tuple((float(east), float(north)) for east, north in self_crossings(sampled.points)),
        ashore=_ashore(sampled.points, grid) if island else None,
    )


def _stream(body: Body, found: Corridor, window: Window, grid: Grid) -> Stream:
    """Stream of a corridor: its reaches, and the station and the drop of every node."""
    assert isinstance(body.outline, CorridorOutline)
    parts = reaches(found.length, [(step.distance, step.drop) for step in body.outline.steps])
    margin = math.ceil(STREAM_MARGIN / grid.spacing)
    wide = (
        max(window[0] - margin, 0),
        min(window[1] + margin, grid.rows),
        max(window[2] - margin, 0),
        min(window[3] + margin, grid.columns),
    )
    station = node_stations(grid, found.line, wide)
    return Stream(found, parts, station, parts.drops[parts.reach_at(station)])


def _allowed(stream: Stream, z: Elevations, grid: Grid) -> Elevation:
    """Lowest ground on a stream's banks, told as if no reach were lowered."""
    station = np.concatenate([stream.corridor.station, stream.corridor.station[::-1]])
    drops = stream.reaches.drops[stream.reaches.reach_at(station)]
    return float((surface_at(z, grid, stream.corridor.ring) + drops).min())


def _window(ring: Lengths, grid: Grid) -> Window:
    """First and end row, first and end column of the nodes around a ring."""
    low = (ring.min(axis=0) - (grid.origin_east, grid.origin_north)) / grid.spacing
    high = (ring.max(axis=0) - (grid.origin_east, grid.origin_north)) / grid.spacing
    # Even starts keep the diagonals of the cells where they are in the whole grid.
    row, column = (2 * max(int(start) // 2, 0) for start in (low[1], low[0]))
    return row, min(int(high[1]) + 2, grid.rows), column, min(int(high[0]) + 2, grid.columns)


def _ashore(island: Lengths, grid: Grid) -> tuple[Window, NDArray[np.bool_]]:
    """Nodes of an island in the window around it."""
    window = _window(island, grid)
    rows, columns = nodes_in(window)
    east, north = np.meshgrid(grid.east[columns], grid.north[rows])
    inside = points_inside([island], np.column_stack([east.ravel(), north.ravel()]))
    return window, inside.reshape(east.shape)


def _within(distance: Lengths, lines: Sequence[RingShore]) -> NDArray[np.bool_]:
    """Nodes within the outer shore: those in the water and those of islands."""
    within = distance > 0.0
    for line in lines:
        if line.ashore is not None:
            window, inside = line.ashore
            within[nodes_in(window)] |= inside
    return within


def _shore_findings(name: str, shore: BodyShore, limits: dict[str, Limit]) -> tuple[Finding, ...]:
    """Checks of the rings of one body."""
    findings = [checks.check_crossings(name, shore.crossings, limits)]
    if len(shore.rings) > 1:
        findings.append(checks.check_islands(name, shore.misplaced, limits))
    return tuple(findings)
