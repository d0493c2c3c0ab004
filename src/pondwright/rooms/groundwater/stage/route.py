"""Routes of drains that are not there yet: from where the groundwater pushes most to each outlet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit, Op
from pondwright.base.kinds import (
    LENGTH,
    RATIO,
    SOIL_VOLUME,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Ratio,
    Volume,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.curves import ring_of
from pondwright.job.groundwater import Drain, Outlet, Reading
from pondwright.job.places import LinePlace, Place, PointPlace, RingPlace, Row
from pondwright.job.site import Bound, Thing
from pondwright.rooms.groundwater.aquifer import thinned, water_grid
from pondwright.rooms.groundwater.checks import drains as checks
from pondwright.rooms.groundwater.checks.drains import Named
from pondwright.rooms.groundwater.route import MOST_NODES, Ends, Route, Trench, TrenchGround, least_trench
from pondwright.rooms.groundwater.stage.drain_lines import BUILT
from pondwright.rooms.groundwater.stage.profiles import NARROWEST, OPEN_END, SEEP_REACH
from pondwright.rooms.groundwater.stage.shared import limits_of, line_points

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

DIAMETER: Length = 0.1016
"""Pipe of a route, 4 in. [m]"""

SERVICE_ZONE: Length = 0.6096
"""Kept clear of a buried service whose row tells nothing. [m]; 24 in, common locate rules, from memory."""

MORE = 1.05
"""A route falls this much more than it must, so that rounding its numbers never falls short."""

KEPT_CLEAR = frozenset({"tree", "well", "septic", "house", "structure"})
NOT_FOR_DRAINS = frozenset({"setback", "flood"})

PLACES = ("groundwater.outlets.*.place", "groundwater.outlets.*.invert")
USES = (*PLACES, "site.ground.z", "earth.subgrade.z", "groundwater.heads.head")


@dataclass(frozen=True, slots=True, eq=False)
class RouteFound:
    """The least trench from a place to an outlet, with the edit that lays it.

    ``crosses`` names the buried services on its way, which it keeps off where it can.
    """

    points: Lengths
    inverts: Elevations
    outlet: str
    crosses: tuple[str, ...]
    ops: tuple[Op, ...]
    length: Length = figure(LENGTH, "Length of the route", by=least_trench, uses=USES)
    fall: Ratio = figure(RATIO, "Least fall that it keeps", by=least_trench, uses=PLACES)
    deepest: Length = figure(LENGTH, "Deepest trench", by=least_trench, uses=USES)
    dug: Volume = figure(SOIL_VOLUME, "Soil dug for its trench", by=least_trench, uses=USES)
    spare: Length = figure(LENGTH, "Height left over at the outlet", by=least_trench, uses=USES)


@dataclass(frozen=True, slots=True, eq=False)
class RouteResult:
    """Routes by name, best first for each place; places from which none can fall."""

    routes: Mapping[str, RouteFound]
    stuck: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Place:
    """A place that needs a drain: where it is, and the highest bottom that helps there."""

    row: Named
    name: str
    at: tuple[Length, Length]
    upper: Elevation


@dataclass(frozen=True, slots=True, eq=False)
class _Zone:
    """Ground that no trench may come into."""

    called: str
    area: BaseGeometry
    service: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Site:
    """Ground for trenches, on the grid on which routes are looked for. [m]"""

    grid: Grid
    top: Elevations
    roof: Elevations
    zones: tuple[_Zone, ...]


def route_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[RouteResult, tuple[Finding, ...]]:
    """Routes for drains from each place that needs one and has none.

    Parameters
    ----------
    view : mapping        Reads `groundwater.outlets`, `groundwater.readings`, `groundwater.drains`,
                          `site.things`, `site.bounds`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `earth.subgrade`,
                          `groundwater.heads`.

    Returns
    -------
    RouteResult, a check for each place, whether a drain can fall from there, and outlets off the plan.
    """
    limits, shore = limits_of(view), results["shape.shore"]
    ground, finish, under = (results[stage].z for stage in ("site.ground", "shape.grading", "earth.subgrade"))
    # The last nodes of the ground may lie beyond the nodes of the thinned grid.
    grid, _ = water_grid(shore.grid, MOST_NODES)
    places = [
        *_pushed(results["groundwater.heads"], shore),
        *_seeping(view["groundwater.readings"], view["groundwater.drains"], ground, shore.grid, limits),
    ]
    places = [place for place in places if _inside(grid, place.at)]
    zones = tuple(_zones(view["site.bounds"], view["site.things"], shore.grid))
    built = {name: row for name, row in view["groundwater.outlets"].items() if row.status in BUILT}
    outlets = {name: row for name, row in built.items() if _inside(grid, _at(row))}
    routes: dict[str, RouteFound] = {}
    stuck: list[str] = []
    findings = [
        checks.outlet_off_plan(
            Named(row.name or f"the outlet `{name}`", f"groundwater.outlets.{name}"), _at(row)
        )
        for name, row in built.items()
        if name not in outlets
    ]
    if not outlets:
        return RouteResult(MappingProxyType(routes), ()), tuple(findings)
    site = _site(shore, ground, finish, under, zones, limits) if places else None
    for place in places:
        assert site is not None
        found = [
            route
            for name, outlet in outlets.items()
            if (route := _route(site, place, name, outlet, view["groundwater.drains"], limits)) is not None
        ]
        found.sort(key=lambda route: route.dug)
        routes.update({f"{place.name}_{route.outlet}": route for route in found})
        if not found:
            stuck.append(place.name)
        ops = found[0].ops if found else ()
        findings.append(checks.check_can_fall(place.row, bool(found), place.at, ops, limits))
    return RouteResult(MappingProxyType(routes), tuple(stuck)), tuple(findings)


def _pushed(heads: Any, shore: Any) -> Iterator[_Place]:
    """The spot under each pond where the groundwater stands highest over the liner."""
    if heads.head is None:
        return
    for number, name in enumerate(shore.bodies):
        over = np.where(heads.under & ~heads.bank & (heads.body == number), heads.head - heads.cap, -np.inf)
        row, column = np.unravel_index(int(np.argmax(over)), over.shape)
        if over[row, column] > 0.0:
            at = (float(heads.grid.east[column]), float(heads.grid.north[row]))
            # Its own bottom is what the liner leaves there: the roof decides.
            upper = float(heads.cap[row, column])
            yield _Place(Named(f"the worst spot under `{name}`", f"shape.bodies.{name}"), name, at, upper)


def _seeping(
    readings: Mapping[str, Reading],
    drains: Mapping[str, Drain],
    ground: Elevations,
    grid: Grid,
    limits: Mapping[str, Limit],
) -> Iterator[_Place]:
    """Seeps and springs that no drain takes yet."""
    from shapely import LineString, Point

    lines = [LineString(line_points(row.place)) for row in drains.values() if row.status in BUILT]
    for name, reading in readings.items():
        if reading.kind not in ("seep", "spring") or not isinstance(reading.place, PointPlace):
            continue
        at = (reading.place.east, reading.place.north)
        taken = any(line.distance(Point(at)) <= SEEP_REACH for line in lines)
        if taken or reading.status == "remove" or not _inside(grid, at):
            continue
        stands = float(surface_at(ground, grid, np.array([at]))[0])
        upper = stands - limits["groundwater.drain_cover"].value - DIAMETER
        called = reading.name or f"the {reading.kind} `{name}`"
        yield _Place(Named(called, f"groundwater.readings.{name}"), name, at, upper)


def _site(
    shore: Any,
    ground: Elevations,
    finish: Elevations,
    under: Elevations,
    zones: tuple[_Zone, ...],
    limits: Mapping[str, Limit],
) -> _Site:
    lined = np.zeros(shore.grid.shape, dtype=np.bool_)
    for body in shore.bodies.values():
        lined |= body.distance > 0.0
    cover = np.where(lined, limits["groundwater.drain_liner"].value, limits["groundwater.drain_cover"].value)
    grid, step = water_grid(shore.grid, MOST_NODES)
    top = thinned(np.minimum(ground, under), grid, step)
    roof = thinned(np.where(lined, under, finish) - cover - DIAMETER, grid, step)
    return _Site(grid, top, roof, zones)


def _route(
    site: _Site,
    place: _Place,
    name: str,
    outlet: Outlet,
    drains: Mapping[str, Drain],
    limits: Mapping[str, Limit],
) -> RouteFound | None:
    """Best route from a place to an outlet: with the wanted fall first, and off all services first."""
    end = (outlet.place.east, outlet.place.north)
    ends = Ends(place.at, place.upper, end, outlet.invert)
    zones = [zone for zone in site.zones if not _holds(zone, place.at) and not _holds(zone, end)]
    ground = TrenchGround(site.grid, site.top, _open_at(site, end))
    for fall in (limits["groundwater.drain_fall"].value, limits["groundwater.drain_least"].value):
        for over in (False, True):
            if over and not any(zone.service for zone in zones):
                continue
            kept = [zone for zone in zones if not (over and zone.service)]
            envelope = limits["groundwater.drain_envelope"].value
            trench = Trench(NARROWEST, envelope, MORE * fall)
            found = least_trench(
                TrenchGround(ground.grid, ground.top, ground.roof, _union(kept)), ends, trench
            )
            if found is not None:
                crosses = tuple(zone.called for zone in zones if zone.service and _meets(zone, found))
                return _told(found, place, name, crosses, drains, MORE * fall)
    return None


def _open_at(site: _Site, end: tuple[Length, Length]) -> Elevations:
    """Roof that lets the last of a drain come out of the ground."""
    east, north = np.meshgrid(site.grid.east, site.grid.north)
    reach = OPEN_END + site.grid.spacing
    near = np.hypot(east - end[0], north - end[1]) <= reach
    return np.where(near, np.maximum(site.roof, site.top + reach), site.roof)


def _told(
    found: Route,
    place: _Place,
    outlet: str,
    crosses: tuple[str, ...],
    drains: Mapping[str, Drain],
    fall: Ratio,
) -> RouteFound:
    name = f"{place.name[:30]}_drain"
    number = 2
    while name in drains:
        name, number = f"{place.name[:30]}_drain_{number}", number + 1
    points = [{"east": round(float(one), 3), "north": round(float(other), 3)} for one, other in found.points]
    drain = {
        "place": {"at": "line", "points": points},
        "inverts": [round(float(one), 4) for one in found.inverts],
        "into": outlet,
        "diameter": DIAMETER,
    }
    return RouteFound(
        found.points,
        found.inverts,
        outlet,
        crosses,
        (Op("add", f"/groundwater/drains/{name}", drain),),
        length=found.length,
        fall=fall,
        deepest=found.deepest,
        dug=found.volume,
        spare=found.spare,
    )


def _zones(bounds: Mapping[str, Bound], things: Mapping[str, Thing], grid: Grid) -> Iterator[_Zone]:
    """Lines not to cross, trees and what is buried, each with what it asks to be kept clear."""
    from shapely import box

    west, south, east, north = grid.extent
    whole = box(west - 1.0, south - 1.0, east + 1.0, north + 1.0)
    for name, bound in bounds.items():
        drawn = None if bound.status == "remove" or bound.kind in NOT_FOR_DRAINS else _drawn(bound.place)
        if drawn is None:
            continue
        inside = drawn.geom_type == "Polygon" and (bound.keep or _usual(bound)) == "inside"
        area = whole.difference(drawn.buffer(-bound.clear)) if inside else drawn.buffer(bound.clear)
        yield _Zone(_called(name, bound), area, False)
    for name, thing in things.items():
        drawn = None if thing.status in ("remove", "later") else _drawn(thing.place)
        if drawn is None:
            continue
        service = thing.kind in ("utility", "pipe")
        if service:
            reach = thing.clear or thing.sure or SERVICE_ZONE
        elif thing.kind in KEPT_CLEAR or thing.clear:
            reach = 0.5 * (thing.size or 0.0) + (thing.clear or 0.0)
        else:
            continue
        yield _Zone(_called(name, thing), drawn.buffer(reach), service)


def _usual(bound: Bound) -> str:
    return "inside" if bound.kind == "boundary" else "outside"


def _drawn(place: Place) -> BaseGeometry | None:
    """A place as a shape; none where it has no points of its own."""
    from shapely import LineString, Point, Polygon, make_valid

    match place:
        case PointPlace():
            return Point(place.east, place.north)
        case LinePlace():
            return LineString(line_points(place))
        case RingPlace():
            return make_valid(Polygon(ring_of(place.curve).points))
    return None


def _called(name: str, row: Row) -> str:
    return row.name or name.replace("_", " ")


def _at(outlet: Outlet) -> tuple[Length, Length]:
    return outlet.place.east, outlet.place.north


def _inside(grid: Grid, at: tuple[Length, Length]) -> bool:
    west, south, east, north = grid.extent
    return west <= at[0] <= east and south <= at[1] <= north


def _holds(zone: _Zone, at: tuple[Length, Length]) -> bool:
    from shapely import Point

    return bool(zone.area.intersects(Point(at)))


def _meets(zone: _Zone, route: Route) -> bool:
    from shapely import LineString

    return bool(zone.area.intersects(LineString(route.points)))


def _union(zones: Sequence[_Zone]) -> BaseGeometry | None:
    from shapely import union_all

    return union_all([zone.area for zone in zones]) if zones else None
