"""How the shores are reached from ways, and how steep the ways are."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import COUNT, LENGTH, RATIO, Elevations, Length, Lengths, Ratio, Slope
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import line_length, resampled
from pondwright.geometry.surface import surface_at
from pondwright.job.curves import ring_of
from pondwright.job.fields import value_of
from pondwright.job.places import LinePlace, RingPlace
from pondwright.job.shape import Way
from pondwright.rooms.shape.checks import reach as checks
from pondwright.rooms.shape.reach import (
    PathSlope,
    gentle,
    inward,
    ledge_widths,
    longest_run,
    path_slope,
    path_slopes,
    reached,
    runs,
    way_distance,
)
from pondwright.rooms.shape.shoreline import step_lengths
from pondwright.rooms.shape.stage.rows import limits_of, way_levels
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult

STEP: Length = 0.25
"""Step along the shore. [m]"""

FOR_FEET = frozenset({"path", "deck", "steps", "bridge", "pad"})
FOR_WHEELS = frozenset({"path", "deck", "bridge", "pad"})
SLOPING = frozenset({"path", "steps", "pad"})
"""Kinds of ways that one stands on, that a wheelchair rolls on, and that follow the finish."""

_WAYS = ("shape.ways.*.place", "shape.ways.*.width", "shape.ways.*.level")
_SHORE = ("shape.bodies.*.outline", "shape.bodies.*.level")
_USES = (*_WAYS, *_SHORE, "shape.grading.z")


@dataclass(frozen=True, slots=True, eq=False)
class BodyReach:
    """How the shore of one body is reached; for each ring its steps, and which of them are."""

    walked: tuple[Lengths, ...]
    at_hand: tuple[NDArray[np.bool_], ...]
    wheelchair_at: tuple[tuple[Length, Length], ...]
    deep_at: tuple[tuple[Length, Length], ...]
    share: Ratio = figure(RATIO, "Share of the shore that is reached from a way", by=reached, uses=_USES)
    length: Length = figure(LENGTH, "Shore that is reached from a way", by=reached, uses=_USES)
    wheelchair_places: int = figure(
        COUNT, "Places where a wheelchair reaches the water", by=gentle, uses=_USES
    )
    without_way_out: Length = figure(
        LENGTH, "Longest shore from which no way out is at hand", by=longest_run, uses=_USES
    )
    along_paths: Length = figure(LENGTH, "Shore along which a path runs", by=way_distance, uses=_USES)
    without_ledge: Length = figure(
        LENGTH, "Shore along a path without a shallow ledge", by=ledge_widths, uses=_USES
    )


@dataclass(frozen=True, slots=True, eq=False)
class WayReach:
    """How steep one way is along its line."""

    found: PathSlope
    steepest: Slope = figure(
        RATIO, "Steepest piece along its line", by=path_slope, uses=("shape.ways.*.place", "shape.grading.z")
    )
    steep_length: Length = figure(
        LENGTH,
        "Length that is steeper than a wheelchair's path",
        by=path_slope,
        uses=("shape.ways.*.place", "shape.grading.z"),
    )


@dataclass(frozen=True, slots=True, eq=False)
class ReachResult:
    """How all shores are reached."""

    bodies: Mapping[str, BodyReach]
    ways: Mapping[str, WayReach]
    share: Ratio = figure(
        RATIO, "Share of all shores that is reached from a way", uses=("shape.reach.bodies.*.length",)
    )
    length: Length = figure(
        LENGTH, "All shore that is reached from a way", uses=("shape.reach.bodies.*.length",)
    )
    wheelchair_places: int = figure(
        COUNT,
        "All places where a wheelchair reaches the water",
        uses=("shape.reach.bodies.*.wheelchair_places",),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A way as it lies: its line or outline, and the slopes of the pieces of a line that rises and falls."""

    name: str
    way: Way
    line: Lengths
    width: Length
    area: bool
    slopes: NDArray[np.float64] | None
    piece: Length
    middles: Lengths


def reach_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[ReachResult, tuple[Finding, ...]]:
    """How all shores are reached from ways.

    Parameters
    ----------
    view : mapping        Reads `shape.ways`, `shape.bodies`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`.

    Returns
    -------
    ReachResult and the checks of reach, wheelchairs, slopes and ledges; none where there are no ways.
    """
    shore, grading = results["shape.shore"], results["shape.grading"]
    limits = limits_of(view)
    roles = {name: row.role for name, row in view["shape.bodies"].items()}
    dry = np.ones(shore.grid.shape, dtype=np.bool_)
    for body in shore.bodies.values():
        dry &= body.distance <= 0.0
    laid = list(_laid(view["shape.ways"], grading.z, shore.grid, dry))
    # Where there is nothing to reach from, there is nothing to tell of a shore.
    shores = shore.bodies if laid else {}
    bodies = {name: _body(body, laid, grading.z, shore, limits) for name, body in shores.items()}
    steep = limits["shape.path_slope"].value
    ways = {
        each.name: _way(path_slope(each.slopes, each.middles, each.piece, steep))
        for each in laid
        if each.slopes is not None
    }
    whole = sum(body.length for body in shore.bodies.values())
    length = sum(body.length for body in bodies.values())
    places = [place for body in bodies.values() for place in body.wheelchair_at]
    result = ReachResult(
        MappingProxyType(bodies),
        MappingProxyType(ways),
        min(length / whole, 1.0) if whole else 0.0,
        length,
        len(places),
    )
    if not laid or not bodies:
        return result, ()
    return result, tuple(_findings(roles, laid, bodies, ways, places, limits))


def _findings(
    roles: Mapping[str, str],
    laid: Sequence[_Laid],
    bodies: Mapping[str, BodyReach],
    ways: Mapping[str, WayReach],
    places: Sequence[tuple[Length, Length]],
    limits: dict[str, Limit],
) -> Iterator[Finding]:
    for name, body in bodies.items():
        role = roles[name]
        if role == "pond":
            far = [_at(ring, longest_run(~mine, step_lengths(ring))[1]) for ring, mine in _rings(body)]
            yield checks.check_reach(name, body.share, [place for place in far if place], limits)
        if role not in ("stream", "wetland") and body.along_paths > 0.0:
            yield checks.check_path_ledge(name, body.without_ledge, body.deep_at, limits)
    yield checks.check_wheelchair(places, limits)
    for each in laid:
        if each.way.kind == "path" and each.name in ways:
            yield checks.check_path_slope(each.name, ways[each.name].found, limits)


def _rings(body: BodyReach) -> Iterator[tuple[Lengths, NDArray[np.bool_]]]:
    yield from zip(body.walked, body.at_hand, strict=True)


def _at(ring: Lengths, step: int) -> tuple[Length, Length] | None:
    return None if step < 0 else (float(ring[step, 0]), float(ring[step, 1]))


def _way(found: PathSlope) -> WayReach:
    return WayReach(found, found.steepest, found.steep_length)


def footways(ways: Mapping[str, Way]) -> Iterator[tuple[str, Lengths, Length, bool]]:
    """Ways that one stands on.

    Parameters
    ----------
    ways : mapping of Way

    Yields
    ------
    name, line, width, area     Line or outline and width [m], and whether it goes round an area.
    """
    for name, way in ways.items():
        if way.kind not in FOR_FEET or way.status == "remove":
            continue
        if isinstance(way.place, RingPlace):
            yield name, ring_of(way.place.curve).points, value_of(way, "width"), True
        elif isinstance(way.place, LinePlace):
            line = np.array([(point.east, point.north) for point in way.place.points])
            if np.ptp(line, axis=0).any():
                yield name, line, value_of(way, "width"), False


def _laid(ways: Mapping[str, Way], z: Elevations, grid: Grid, dry: NDArray[np.bool_]) -> Iterator[_Laid]:
    """Ways that one stands on, as they lie."""
    for name, line, width, area in footways(ways):
        way = ways[name]
        if way.kind in SLOPING and not area:
            slopes, middles, piece = path_slopes(z, grid, line, dry)
            yield _Laid(name, way, line, width, area, slopes, piece, middles)
        else:
            yield _Laid(name, way, line, width, area, None, 1.0, line)


def _body(
    body: BodyShore, laid: Sequence[_Laid], z: Elevations, shore: ShoreResult, limits: dict[str, Limit]
) -> BodyReach:
    """How the shore of one body is reached, ring by ring."""
    grid = shore.grid
    walked = tuple(resampled(ring, STEP) for ring in body.rings)
    got, wheels_at, deep_at = [], [], []
    length = along = without = longest = 0.0
    for ring in walked:
        steps, levels = step_lengths(ring), _levels(body, grid, ring)
        mine, wheels, near = _ring(ring, levels, laid, z, grid, limits)
        got.append(mine)
        length += float(steps[mine].sum())
        longest = max(longest, longest_run(~mine, steps)[0])
        wheels_at += [ring[(first + count // 2) % len(ring)] for first, count in runs(wheels)]
        along += float(steps[near].sum())
        if body.stream is None and near.any():
            width = limits["shape.ledge"].value
            found = ledge_widths(
                z,
                grid,
                ring[near],
                inward(ring, body.distance, grid)[near],
                levels[near],
                limits["shape.ledge_depth"].value,
                width,
            )
            deep = near.copy()
            deep[near] = found < width - 1e-9
            without += float(steps[deep].sum())
            deep_at += [ring[(first + count // 2) % len(ring)] for first, count in runs(deep)]
    whole = sum(float(step_lengths(ring).sum()) for ring in walked)
    return BodyReach(
        walked=walked,
        at_hand=tuple(got),
        wheelchair_at=tuple((float(east), float(north)) for east, north in wheels_at),
        deep_at=tuple((float(east), float(north)) for east, north in deep_at),
        share=length / whole if whole else 0.0,
        length=length,
        wheelchair_places=len(wheels_at),
        without_way_out=longest,
        along_paths=along,
        without_ledge=without,
    )


def _levels(body: BodyShore, grid: Grid, ring: Lengths) -> Elevations:
    if body.stream is None:
        return np.full(len(ring), body.level)
    return body.level - surface_at(body.stream.drop, grid, ring)


def _ring(
    ring: Lengths,
    levels: Elevations,
    laid: Sequence[_Laid],
    z: Elevations,
    grid: Grid,
    limits: dict[str, Limit],
) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]:
    """Steps of a ring that a hand reaches, that a wheelchair reaches, and along which a path runs."""
    mine, wheels, near = (np.zeros(len(ring), dtype=np.bool_) for _ in range(3))
    arm, near_by = limits["shape.arm"].value, limits["shape.path_near"].value
    for each in laid:
        margin = max(arm, near_by) + (0.0 if each.area else 0.5 * each.width)
        low, high = each.line.min(axis=0) - margin, each.line.max(axis=0) + margin
        some = np.flatnonzero(((ring >= low) & (ring <= high)).all(axis=1))
        if not len(some):
            continue
        away, station = way_distance(ring[some], each.line, each.width, each.area)
        rise = _heights(each, station, z, grid, levels[some]) - levels[some]
        mine[some] |= reached(away, rise, arm, limits["shape.arm_rise"].value)
        near[some] |= (away <= near_by) & (each.way.kind == "path")
        if each.way.kind in FOR_WHEELS and (
            each.area or each.width >= limits["shape.wheelchair_width"].value
        ):
            rolls = reached(away, rise, arm, limits["shape.wheelchair_rise"].value)
            if each.slopes is not None:
                piece = np.minimum((station / each.piece).astype(np.intp), len(each.slopes) - 1)
                rolls &= gentle(each.slopes, limits["shape.path_slope"].value)[piece]
            wheels[some] |= rolls
    return mine, wheels, near


def _heights(
    each: _Laid, station: Lengths, z: Elevations, grid: Grid, levels: Elevations
) -> Elevations | float:
    """Height of a way at stations: its own level, or the finish under it; over water, the water."""
    if (own := way_levels(each.way, station, line_length(each.line))) is not None:
        return own
    line = np.vstack([each.line, each.line[:1]]) if each.area else each.line
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    points = np.column_stack([np.interp(station, run, line[:, axis]) for axis in (0, 1)])
    west, south, east, north = grid.extent
    under = surface_at(z, grid, np.clip(points, (west, south), (east, north)))
    return np.maximum(under, levels) if each.way.kind in ("deck", "bridge") else under
