"""What is built beside the water, counted and measured: steps, ramps, walls, fences and lights."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import AREA, COUNT, LENGTH, RATIO, Area, Elevations, Length, Lengths, Slope
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import line_length
from pondwright.job.fields import value_of
from pondwright.job.places import LinePlace, PointPlace
from pondwright.job.shape import Way
from pondwright.rooms.shape.checks import built as checks
from pondwright.rooms.shape.laid import run_levels
from pondwright.rooms.shape.stage.grading import GradingResult
from pondwright.rooms.shape.stage.rows import limits_of
from pondwright.rooms.shape.stage.scene import half_of, own_line, stepped
from pondwright.rooms.shape.stage.shore import ShoreResult
from pondwright.rooms.shape.upright import beside, fence_length, flight, to_water

WHEELED = frozenset({"path", "bridge", "deck", "pad"})
"""Kinds of ways on which something rolls."""

_PLACE, _GATES = "shape.ways.*.place", "shape.ways.*.gates"
_LEVELS = ("shape.ways.*.level", "shape.ways.*.end_level")
_TOPS = ("shape.ways.*.top", "shape.ways.*.height", _PLACE, "shape.grading.z")


@dataclass(frozen=True, slots=True, eq=False)
class RisingWay:
    """A way that ends at another level than it begins."""

    rise: Length = figure(LENGTH, "Rise from end to end, up or down", uses=_LEVELS)
    length: Length = figure(LENGTH, "Length along its line, on the plan", by=line_length, uses=(_PLACE,))
    slope: Slope = figure(RATIO, "Slope of a straight run along it", by=run_levels, uses=(*_LEVELS, _PLACE))
    risers: int | None = figure(
        COUNT, "Steps (risers)", by=flight, uses=(*_LEVELS, "shape.ways.*.most_riser")
    )
    riser: Length | None = figure(
        LENGTH, "Height of each step (riser)", by=flight, uses=(*_LEVELS, "shape.ways.*.most_riser")
    )
    tread: Length | None = figure(
        LENGTH, "Depth of each step (tread)", by=flight, uses=(*_LEVELS, _PLACE, "shape.ways.*.most_riser")
    )


@dataclass(frozen=True, slots=True, eq=False)
class WallBuilt:
    """A wall as it stands."""

    length: Length = figure(LENGTH, "Length of the wall", by=line_length, uses=(_PLACE,))
    height: Length = figure(LENGTH, "Greatest height over the lower ground beside it", by=beside, uses=_TOPS)
    face: Area = figure(AREA, "Face over the lower ground beside it, one side", by=beside, uses=_TOPS)


@dataclass(frozen=True, slots=True, eq=False)
class FenceBuilt:
    """A fence as it stands."""

    length: Length = figure(
        LENGTH, "Length of the fence without its gates", by=fence_length, uses=(_PLACE, _GATES)
    )
    height: Length = figure(
        LENGTH, "Height over the higher ground beside it", by=beside, uses=("shape.ways.*.height",)
    )
    gates: int = figure(COUNT, "Gates in it", uses=(_GATES,))
    gate_width: Length = figure(LENGTH, "Width of its gates together", uses=(_GATES,))


@dataclass(frozen=True, slots=True, eq=False)
class LightBuilt:
    """A light as it stands."""

    to_water: Length | None = figure(
        LENGTH,
        "Distance to the nearest water, on the plan; 0 in it",
        by=to_water,
        uses=(_PLACE, "shape.bodies.*.outline"),
    )
    throw: Length | None = figure(
        LENGTH, "Distance to what it is aimed at, on the plan", uses=(_PLACE, "shape.ways.*.aims_at")
    )


@dataclass(frozen=True, slots=True, eq=False)
class BuiltResult:
    """What is built beside the water, for the takeoff."""

    rising: Mapping[str, RisingWay]
    walls: Mapping[str, WallBuilt]
    fences: Mapping[str, FenceBuilt]
    lights: Mapping[str, LightBuilt]
    wall_length: Length = figure(LENGTH, "All walls together", uses=("shape.built.walls.*.length",))
    fence_length: Length = figure(
        LENGTH, "All fences together, without their gates", uses=("shape.built.fences.*.length",)
    )
    gate_count: int = figure(COUNT, "Gates in all fences", uses=("shape.built.fences.*.gates",))
    light_count: int = figure(COUNT, "Lights", uses=("shape.ways.*.kind",))


def built_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[BuiltResult, tuple[Finding, ...]]:
    """What is built beside the water, counted and measured.

    Parameters
    ----------
    view : mapping        Reads `shape.ways`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`.

    Returns
    -------
    BuiltResult and the checks of steps, ramps, walls and lights; none where there are none of these.
    """
    shore: ShoreResult = results["shape.shore"]
    grading: GradingResult = results["shape.grading"]
    ways = {name: way for name, way in view["shape.ways"].items() if way.status != "remove"}
    lines = {name: line for name, way in ways.items() if (line := _line(way)) is not None}
    fences = {name: _fence(ways[name], line) for name, line in lines.items() if ways[name].kind == "fence"}
    walls = {
        name: _wall(ways[name], line, grading.z, shore.grid)
        for name, line in lines.items()
        if ways[name].kind == "wall"
    }
    lights = {name: _light(way, shore) for name, way in ways.items() if way.kind == "light"}
    result = BuiltResult(
        rising=MappingProxyType(
            {name: _rising(ways[name], line) for name, line in lines.items() if _rises(ways[name])}
        ),
        walls=MappingProxyType(walls),
        fences=MappingProxyType(fences),
        lights=MappingProxyType(lights),
        wall_length=sum(wall.length for wall in walls.values()),
        fence_length=sum(fence.length for fence in fences.values()),
        gate_count=sum(fence.gates for fence in fences.values()),
        light_count=len(lights),
    )
    return result, tuple(_findings(ways, lines, result, grading.z, shore.grid, limits_of(view)))


def _line(way: Way) -> Lengths | None:
    line = own_line(way.place)
    return line if line is not None and np.ptp(line, axis=0).any() else None


def _rises(way: Way) -> bool:
    return way.end_level is not None and isinstance(way.place, LinePlace)


def _rising(way: Way, line: Lengths) -> RisingWay:
    assert way.level is not None and way.end_level is not None
    rise, length = abs(way.end_level - way.level), line_length(line)
    if way.kind != "steps":
        return RisingWay(rise, length, rise / length, None, None, None)
    steps = flight(rise, length, value_of(way, "most_riser"))
    return RisingWay(rise, length, rise / length, steps.risers, steps.riser, steps.tread or None)


def _fence(way: Way, line: Lengths) -> FenceBuilt:
    gates = [value_of(gate, "width") for gate in way.gates]
    return FenceBuilt(fence_length(line, gates), value_of(way, "height"), len(gates), sum(gates))


def _wall(way: Way, line: Lengths, z: Elevations, grid: Grid) -> WallBuilt:
    places = stepped(line)
    high, low = beside(z, grid, places, half_of(way, grid))
    tops = high + value_of(way, "height") if way.top is None else np.full(len(places), way.top)
    shown = np.maximum(tops - low, 0.0)
    pieces = np.hypot(*np.diff(places, axis=0).T)
    face = float((0.5 * (shown[1:] + shown[:-1]) * pieces).sum())
    return WallBuilt(line_length(line), float(shown.max()), face)


def _light(way: Way, shore: ShoreResult) -> LightBuilt:
    assert isinstance(way.place, PointPlace)
    spot = way.place.east, way.place.north
    away = min((to_water(spot, body.rings) for body in shore.bodies.values()), default=None)
    aim = way.aims_at
    throw = None if aim is None else float(np.hypot(aim.east - spot[0], aim.north - spot[1]))
    return LightBuilt(away, throw)


def _findings(
    ways: Mapping[str, Way],
    lines: Mapping[str, Lengths],
    built: BuiltResult,
    z: Elevations,
    grid: Grid,
    limits: dict[str, Limit],
) -> Iterator[Finding]:
    for name, way in ways.items():
        risen = built.rising.get(name)
        if way.kind == "steps":
            if risen is None or not risen.risers or risen.riser is None:
                yield checks.check_flat_steps(name, limits)
            else:
                yield from checks.check_steps(name, risen.riser, risen.tread or 0.0, risen.risers, limits)
        elif risen is not None and way.kind in WHEELED and risen.slope > limits["shape.path_slope"].value:
            yield from checks.check_ramp(name, risen.slope, risen.rise, limits)
        if way.kind == "wall" and way.top is not None and name in lines:
            line = stepped(lines[name])
            high, _ = beside(z, grid, line, half_of(way, grid))
            at = int(np.argmin(high))
            place = float(line[at, 0]), float(line[at, 1])
            yield checks.check_wall_top(name, float(way.top - high[at]), place, limits)
        if way.kind == "light" and isinstance(way.place, PointPlace):
            away = built.lights[name].to_water
            if away is not None:
                yield checks.check_light(name, away, (way.place.east, way.place.north), limits)
