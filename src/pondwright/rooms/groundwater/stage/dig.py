"""The dig below the groundwater: what comes to it, how long it takes, and what it does to its neighbours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPoint

from pondwright.base.figures import figure
from pondwright.base.kinds import (
    COUNT,
    ELEVATION,
    FLOW,
    LENGTH,
    SLOPE,
    TIME,
    Elevation,
    Flow,
    Length,
    Lengths,
    Ratio,
    Slope,
    Time,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.curves import ring_of
from pondwright.job.groundwater import Building, Reading
from pondwright.job.places import LinePlace, PointPlace, RingPlace
from pondwright.job.site import Thing
from pondwright.rooms.groundwater.aquifer import LEVELS
from pondwright.rooms.groundwater.checks.pumping import Beside
from pondwright.rooms.groundwater.dewatering import (
    LONG_PIT,
    equivalent_radius,
    head_beside,
    shallow_pit_inflow,
    sichardt_reach,
    strata_transmissivity,
    trench_inflow,
)
from pondwright.rooms.groundwater.drawdown import time_to_lower
from pondwright.rooms.groundwater.stage.around import Around, Stand
from pondwright.rooms.groundwater.trench import TrenchRules, soil_type, trench_rules
from pondwright.rooms.site.bounds import Trace, signed_clearance

TOUCHED: Length = 0.02
"""Ground that is lowered by less is not dug. [m]"""

REACHES = {"low": 2.0, "likely": 1.0, "high": 0.5}
"""Multiples of Sichardt's reach with which the water that comes to a dig is told as a range."""

TRENCH_FACTOR = 2000.0
"""Sichardt's factor for long trenches, the upper end of what is usual; from memory."""

SEEPS = frozenset({"seep", "spring"})

NEAR: Length = 5.0
"""A seep no farther than this from a dig or the old pond runs into it; common practice. [m]"""

BUILDINGS = frozenset({"house", "structure"})
SETTLES = frozenset({"muck"})
"""Soil that settles when its water falls."""

_DIG = ("earth.subgrade.z", "shape.shore.bodies.*.rings")
_WATER = ("groundwater.readings", "groundwater.building.season")
_RATE = ("site.soils.*.layers", "groundwater.building.dry_below", *_WATER, *_DIG)


@dataclass(frozen=True, slots=True, eq=False)
class DigResult:
    """One dig below or above the groundwater; without rates where nothing was read."""

    lowest: tuple[Length, Length]
    ring: Lengths
    stands: Mapping[str, Stand] | None
    rules: TrenchRules
    floor: Elevation = figure(ELEVATION, "Lowest ground of the dig", uses=_DIG)
    depth: Length = figure(
        LENGTH, "Depth of the dig below the highest ground on its shore", uses=("site.ground.z", *_DIG)
    )
    radius: Length = figure(
        LENGTH, "Radius of the round well that stands for the dig", by=equivalent_radius, uses=_RATE
    )
    head: Elevation | None = figure(ELEVATION, "Groundwater around, where the dig is not felt", uses=_WATER)
    kept: Elevation = figure(
        ELEVATION, "Groundwater is to be held below this", uses=("groundwater.building.dry_below", *_DIG)
    )
    above_floor: Length | None = figure(
        LENGTH, "Groundwater above the floor of the dig", uses=(*_WATER, *_DIG)
    )
    drawdown: Length | None = figure(LENGTH, "How far the groundwater is lowered", uses=_RATE)
    drawdown_high: Length | None = figure(LENGTH, "The same at the most", uses=_RATE)
    reach: Length | None = figure(
        LENGTH, "How far beyond its edge the dig is felt, by rule of thumb", by=sichardt_reach, uses=_RATE
    )
    low: Flow | None = figure(
        FLOW, "Water that comes to the dig, at the least", by=shallow_pit_inflow, uses=_RATE
    )
    likely: Flow | None = figure(FLOW, "Water that comes to the dig", by=shallow_pit_inflow, uses=_RATE)
    high: Flow | None = figure(
        FLOW, "Water that comes to the dig, at the most", by=shallow_pit_inflow, uses=_RATE
    )
    likely_near: Flow | None = figure(
        FLOW, "The likely water, if the dig is felt half as far", by=shallow_pit_inflow, uses=_RATE
    )
    likely_far: Flow | None = figure(
        FLOW, "The likely water, if the dig is felt twice as far", by=shallow_pit_inflow, uses=_RATE
    )
    time: Time | None = figure(
        TIME, "Pumping ahead of the dig until the groundwater is down", by=time_to_lower, uses=_RATE
    )
    time_low: Time | None = figure(TIME, "The same at the least", by=time_to_lower, uses=_RATE)
    time_high: Time | None = figure(TIME, "The same at the most", by=time_to_lower, uses=_RATE)
    slope: Slope = figure(
        SLOPE, "Steepest sides where people work below", by=trench_rules, uses=("site.soils.*.layers", *_DIG)
    )
    ladders: int = figure(COUNT, "Ladders or ramps, none farther than 25 ft", by=trench_rules, uses=_DIG)


@dataclass(frozen=True, slots=True)
class BesideResult:
    """What keeping the digs dry does to a well or a building."""

    nearest: str
    distance: Length = figure(LENGTH, "From the edge of the nearest dig", uses=("site.things.*.place", *_DIG))
    low: Length | None = figure(LENGTH, "Groundwater lowered there, at the least", by=head_beside, uses=_RATE)
    likely: Length | None = figure(LENGTH, "Groundwater lowered there", by=head_beside, uses=_RATE)
    high: Length | None = figure(LENGTH, "Groundwater lowered there, at the most", by=head_beside, uses=_RATE)


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A well or a building: who it is, what happens to its water, and its distance in depths of a dig."""

    who: Beside
    told: BesideResult
    depths: Ratio


@dataclass(frozen=True, slots=True)
class _Case:
    """A dig in ground of one permeability; to the flow from the ground the rate adds measured seeps."""

    head: Elevation
    flow: Flow
    rate: Flow
    reach: Length
    time: Time


def capacity(building: Building) -> Flow:
    """What all pumps on the site lift together, on the mean of a day. [m³/s]"""
    return sum(
        pump.flow * (1.0 if pump.day is None else pump.day / 86_400.0)
        for pump in building.pumps.values()
        if pump.status != "remove"
    )


def seep_flow(readings: Mapping[str, Reading], ring: Lengths, season: str) -> Flow | None:
    """Measured flow of all seeps and springs in a ring or near it; None where none was measured. [m³/s]"""
    inside = Trace(ring, closed=True)
    told = [
        getattr(row, f"{season}_flow")
        for row in readings.values()
        if row.kind in SEEPS
        and row.status != "remove"
        and isinstance(row.place, PointPlace)
        and signed_clearance(inside, Trace(np.array([(row.place.east, row.place.north)]))).clearance <= NEAR
    ]
    flows = [flow for flow in told if flow is not None]
    return sum(flows) if flows else None


def dug(
    results: Mapping[str, Any], readings: Mapping[str, Reading], ground: Around, building: Building
) -> dict[str, DigResult]:
    """Digs of all bodies of water that are dug.

    Parameters
    ----------
    results : mapping       Of earlier stages.
    readings : mapping      Of the document.
    ground : Around
    building : Building

    Returns
    -------
    DigResult by the id of the body
    """
    z, surface = results["earth.subgrade"].z, results["site.ground"]
    found = {}
    for name, shore in results["shape.shore"].bodies.items():
        inside = (shore.distance >= 0.0) & (surface.z - z > TOUCHED)
        if inside.any():
            seeps = seep_flow(readings, shore.rings[0], building.season) or 0.0
            found[name] = _dig(inside, shore.rings[0], seeps, results, ground, building)
    return found


def beside(
    things: Mapping[str, Thing], digs: Mapping[str, DigResult], ground: Around
) -> dict[str, Neighbour]:
    """Wells and buildings, each with the dig that lowers its water most.

    Parameters
    ----------
    things : mapping       Rows of the document.
    digs : mapping         From :func:`dug`.
    ground : Around

    Returns
    -------
    Neighbour by id
    """
    found = {}
    for name, thing in things.items():
        trace = _trace(thing)
        if not digs or trace is None or thing.status == "remove":
            continue
        away = {dig: _away(each, trace) for dig, each in digs.items()}
        lowered = {dig: _lowered(digs[dig], distance) for dig, distance in away.items()}
        worst = max(digs, key=lambda dig: (lowered[dig][-1] or 0.0, -away[dig]))
        low, likely, high = lowered[worst]
        who = Beside(
            kind=thing.kind,
            called=thing.name or name.replace("_", " "),
            path=f"site.things.{name}",
            soft=_soft(trace, ground),
            place=(float(trace.points[0][0]), float(trace.points[0][1])),
        )
        depths = min(away[dig] / digs[dig].depth for dig in digs)
        found[name] = Neighbour(who, BesideResult(worst, away[worst], low, likely, high), depths)
    return found


def _dig(
    inside: NDArray[np.bool_],
    ring: Lengths,
    seeps: Flow,
    results: Mapping[str, Any],
    ground: Around,
    building: Building,
) -> DigResult:
    z, surface = results["earth.subgrade"].z, results["site.ground"]
    row, column = divmod(int(np.argmin(np.where(inside, z, np.inf))), surface.grid.columns)
    lowest = (float(surface.grid.east[column]), float(surface.grid.north[row]))
    floor = float(z[row, column])
    kept = floor - (building.dry_below or 0.0)
    depth = float(surface_at(surface.z, surface.grid, ring).max()) - floor
    stands = ground.at(ring)
    head = None if stands is None else stands["likely"].head
    wet = inside if head is None else inside & (z - (building.dry_below or 0.0) < head)
    length, width = _sides(wet if wet.any() else inside, surface.grid)
    radius = equivalent_radius(length, width)
    cases = {} if stands is None else _cases(stands, kept, (length, width), ring, seeps, ground, building)
    rules = trench_rules(
        depth,
        length,
        width,
        soil_type(
            ground.kinds(*lowest, floor),
            wet=head is None or head > floor,
            disturbed=_in_old_hole(results, row, column),
        ),
    )
    rates, times = ([getattr(case, what) for case in cases.values()] for what in ("rate", "time"))
    likely = cases.get("likely")
    near, far = (
        likely.rate + _rate(stands["likely"], kept, length, width, factor)[0] - likely.flow
        if stands is not None and likely
        else None
        for factor in (0.5, 2.0)
    )
    heads = [case.head for case in cases.values()]
    return DigResult(
        lowest=lowest,
        ring=ring,
        stands=stands,
        rules=rules,
        floor=floor,
        depth=depth,
        radius=radius,
        head=head,
        kept=kept,
        above_floor=None if head is None else head - floor,
        drawdown=None if head is None else max(head - kept, 0.0),
        drawdown_high=max(max(heads) - kept, 0.0) if heads else None,
        reach=likely.reach if likely else None,
        low=min(rates, default=None),
        likely=likely.rate if likely else None,
        high=max(rates, default=None),
        likely_near=near,
        likely_far=far,
        time=_finite(likely.time) if likely else None,
        time_low=_finite(min(times)) if times else None,
        time_high=_finite(max(times)) if times else None,
        slope=rules.slope,
        ladders=rules.ladders,
    )


def _cases(
    stands: Mapping[str, Stand],
    kept: Elevation,
    sides: tuple[Length, Length],
    ring: Lengths,
    seeps: Flow,
    ground: Around,
    building: Building,
) -> dict[str, _Case]:
    radius, pumps = equivalent_radius(*sides), capacity(building)
    cases: dict[str, _Case] = {}
    for level in LEVELS:
        stand = stands[level]
        flow, reach = _rate(stand, kept, *sides, REACHES[level])
        rate = flow + (seeps if stand.head > kept else 0.0)
        drawdown = max(stand.head - kept, 0.0)
        time = 0.0
        if drawdown > 0.0:
            # The pumps that are there, or else one that is just large enough; too small ones never do it.
            lifted = pumps if pumps > 0.0 else rate
            passes = strata_transmissivity(stand.strata, 0.5 * (stand.head + kept))
            drains = ground.drainable(ring, stand.head, kept)
            spare = lifted - seeps
            time = time_to_lower(drawdown, spare, passes, drains, radius) if lifted >= rate else math.inf
        cases[level] = _Case(stand.head, flow, rate, reach, time)
    return cases


def _rate(stand: Stand, kept: Elevation, length: Length, width: Length, factor: float) -> tuple[Flow, Length]:
    """Water that comes to a dig, and how far beyond its edge it is felt."""
    drawdown = stand.head - kept
    if drawdown <= 0.0:
        return 0.0, 0.0
    strata = stand.strata
    mean = strata_transmissivity(strata, stand.head) / (stand.head - strata.base)
    if max(length, width) > LONG_PIT * min(length, width):
        reach = factor * sichardt_reach(drawdown, mean, TRENCH_FACTOR)
        return trench_inflow(strata, stand.head, kept, reach, max(length, width)), reach
    radius, reach = equivalent_radius(length, width), factor * sichardt_reach(drawdown, mean)
    return shallow_pit_inflow(strata, stand.head, kept, radius, reach + radius), reach


def _lowered(dig: DigResult, distance: Length) -> tuple[Length | None, Length | None, Length | None]:
    """Groundwater lowered at a distance from the edge of a dig: low, likely, high."""
    if dig.stands is None:
        return None, None, None
    found = []
    for level, factor in zip(LEVELS, (0.5, 1.0, 2.0), strict=True):
        stand = dig.stands[level]
        drawdown = stand.head - dig.kept
        if drawdown <= 0.0:
            found.append(0.0)
            continue
        mean = strata_transmissivity(stand.strata, stand.head) / (stand.head - stand.strata.base)
        reach = dig.radius + factor * sichardt_reach(drawdown, mean)
        stays = head_beside(
            stand.strata, stand.head, dig.kept, dig.radius, reach, dig.radius + max(distance, 0.0)
        )
        found.append(stand.head - stays)
    return min(found), found[1], max(found)


def _sides(mask: NDArray[np.bool_], grid: Grid) -> tuple[Length, Length]:
    """Sides of the narrowest rectangle round some nodes, each node as wide as its cell."""
    rows, columns = np.nonzero(mask)
    points = MultiPoint(np.column_stack([grid.east[columns], grid.north[rows]]))
    around = points.minimum_rotated_rectangle
    if around.geom_type != "Polygon":
        return float(around.length) + grid.spacing, grid.spacing
    corners = np.array(around.exterior.coords)
    first, second = (float(np.hypot(*(corners[index + 1] - corners[index]))) for index in (0, 1))
    return first + grid.spacing, second + grid.spacing


def _in_old_hole(results: Mapping[str, Any], row: int, column: int) -> bool:
    hole = results["site.old_hole"].hole
    return hole is not None and bool(hole.mask[row, column])


def _finite(time: Time) -> Time | None:
    return time if math.isfinite(time) else None


def _trace(thing: Thing) -> Trace | None:
    """Well or building on the plan, or None for any other thing."""
    if thing.kind not in BUILDINGS and thing.kind != "well":
        return None
    place, reach = thing.place, 0.5 * (thing.size or 0.0)
    if isinstance(place, PointPlace):
        return Trace(np.array([(place.east, place.north)]), reach=reach)
    if isinstance(place, LinePlace):
        return Trace(np.array([(point.east, point.north) for point in place.points]), reach=reach)
    if isinstance(place, RingPlace):
        return Trace(ring_of(place.curve).points, closed=True)
    return None


def _away(dig: DigResult, trace: Trace) -> Length:
    return max(signed_clearance(Trace(dig.ring, closed=True), trace).clearance, 0.0)


def _soft(trace: Trace, ground: Around) -> str:
    """Kind of soil below a thing that settles easily; empty where none is told."""
    west, south, east, north = ground.soils.grid.extent
    for at_east, at_north in trace.points[:: max(len(trace.points) // 8, 1)]:
        if west <= at_east <= east and south <= at_north <= north:
            soft = SETTLES.intersection(ground.kinds(float(at_east), float(at_north), -math.inf))
            if soft:
                return next(iter(soft))
    return ""
