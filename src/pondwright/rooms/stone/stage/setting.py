"""Which machine sets which stone from where, and whether the stones stay where they are set."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from shapely import Point as ShapelyPoint
from shapely import Polygon

from pondwright.base.findings import Finding
from pondwright.base.kinds import Elevations, Length, Lengths, Mass
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.fields import value_of
from pondwright.job.stone import Lifter, Piece
from pondwright.rooms.stone.checks import lifting as checks
from pondwright.rooms.stone.checks.lifting import Set
from pondwright.rooms.stone.lifting import (
    GRAVITY,
    LEAST_SLING,
    PEAK,
    TOLD_AT,
    TRACK_PRESSURE,
    WET,
    Chart,
    chart_of,
    greatest_radius,
    ground_pressure,
    lift_capacity,
    machine_for,
    pads_area,
    rated_lift,
    sling_angle,
    sling_leg,
)
from pondwright.rooms.stone.pieces import SOLID, size_of_mass
from pondwright.rooms.stone.reaching import (
    Reached,
    best_stands,
    from_outside,
    nearest_stands,
    outside_line,
)
from pondwright.rooms.stone.stability import rest_pressure
from pondwright.rooms.stone.stage.holds import hold_findings, holds_of, stand_findings
from pondwright.rooms.stone.stage.needs import Need, needs_of
from pondwright.rooms.stone.stage.setting_results import (
    LifterReach,
    PlaceReach,
    SetStone,
    SettingResult,
    Stand,
)
from pondwright.rooms.stone.stage.shared import limits_of, mass_of

SLOPE_REACH: Length = 1.0
"""Distance on each side of a stand over which its slope is told. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class _Machine:
    """A machine with its chart, and its stands; none is anywhere outside the water."""

    row: Lifter
    chart: Chart
    stands: Lengths
    grounds: Elevations


@dataclass(frozen=True, slots=True, eq=False)
class _Site:
    """Ground, water and machines of the job."""

    z: Elevations
    grid: Grid
    lines: tuple[Lengths, ...]
    waters: Mapping[str, Polygon]
    machines: Mapping[str, _Machine]

    def ground(self, points: Lengths) -> Elevations:
        """Finish at points; beyond the plan that of its edge. [m]"""
        last = (self.grid.origin_east + (self.grid.columns - 1) * self.grid.spacing,)
        top = (self.grid.origin_north + (self.grid.rows - 1) * self.grid.spacing,)
        east = np.clip(points[:, 0], self.grid.origin_east, last[0])
        north = np.clip(points[:, 1], self.grid.origin_north, top[0])
        return surface_at(self.z, self.grid, np.column_stack([east, north]))


@dataclass(frozen=True, slots=True, eq=False)
class _Best:
    """At each point the machine that may hold most, and where it stands."""

    lifters: tuple[str, ...]
    found: Reached


def setting_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[SettingResult, tuple[Finding, ...]]:
    """Machine and stand for every stone that is set one by one.

    Parameters
    ----------
    view : mapping        Reads `stone.lifters`, `stone.pieces`, `stone.falls`, `stone.classes`,
                          `shape.bodies`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`, `stone.takeoff`.

    Returns
    -------
    SettingResult and the checks of lifting, and of stones that slide, roll or rock.
    """
    limits = limits_of(view)
    site = _site(view, results)
    pieces = {
        name: piece
        for name, piece in view["stone.pieces"].items()
        if piece.place is not None and piece.status != "remove"
    }
    needs = {key: need for key, need in needs_of(view, results).items() if len(need.points)}
    stones = {name: _set_stone(piece, site) for name, piece in pieces.items()}
    # The classes of a course share its points.
    lines = {id(need.points): need.points for need in needs.values()}
    near = {key: nearest_stands(points, site.lines) for key, points in lines.items()}
    places = {
        key: _place(need, near[id(need.points)], site, results["stone.takeoff"])
        for key, need in needs.items()
    }
    holds = holds_of(view, results, needs)
    bears = limits["stone.ground_pressure"].value
    lifters = {
        name: _lifter(name, site.machines[name], stones, places, site, bears) for name in site.machines
    }
    masses = [*(stone.mass for stone in stones.values()), *(place.mass for place in places.values())]
    result = SettingResult(
        stand_lines=site.lines,
        lifters=MappingProxyType(lifters),
        stones=MappingProxyType(stones),
        places=MappingProxyType(places),
        holds=MappingProxyType(holds),
        out_of_reach=sum(stone.verdict != "set" for stone in stones.values())
        + sum(place.share < 1.0 for place in places.values())
        if lifters
        else None,
        heaviest=max(masses, default=0.0),
    )
    findings = (
        *_lift_findings(result, pieces, needs, site, results["stone.takeoff"], limits),
        *_machine_findings(result, pieces, needs, site, limits),
        *hold_findings(holds, needs, limits),
        *stand_findings(pieces, limits),
    )
    return result, findings


def _site(view: Mapping[str, Any], results: Mapping[str, Any]) -> _Site:
    shore, z = results["shape.shore"], results["shape.grading"].z
    rings = {name: body.rings[0] for name, body in shore.bodies.items()}
    waters = {name: Polygon(ring).buffer(0.0) for name, ring in rings.items()}
    bare = _Site(z, shore.grid, outside_line(list(rings.values())), waters, {})
    machines = {}
    for name, row in view["stone.lifters"].items():
        stands = np.array([(stand.east, stand.north) for stand in row.stands]).reshape(-1, 2)
        machines[name] = _Machine(row, _chart(row), stands, bare.ground(stands))
    return _Site(z, shore.grid, bare.lines, waters, machines)


def _chart(row: Lifter) -> Chart:
    """Table of a machine's chart; a row that tells both loads lifts the least of all it tells."""
    told = []
    for each in row.chart:
        lifts = [math.inf if each.capacity is None else each.capacity]
        if each.tipping is not None and each.hydraulic is not None:
            lifts.append(rated_lift(each.tipping, each.hydraulic))
        told.append((each.radius, each.height, min(lifts)))
    return chart_of(told)


def _leg(row: Lifter, length: Length) -> Length:
    """Legs of a sling as they hold a stone: shortened to its length, so that they stand at 60°."""
    return min(float(value_of(row, "sling")), length)


def _rise(row: Lifter, length: Length) -> Length:
    """Height of the hook above the stone that hangs on a sling."""
    leg = _leg(row, length)
    return math.sqrt(max(leg * leg - 0.25 * length * length, 0.0))


def _beyond(chart: Chart, hook: Length) -> Length:
    """How far a hook is above the heights that a chart tells, or below them (then below 0)."""
    if chart.one_height:
        return 0.0
    low, high = float(chart.heights[0]), float(chart.heights[-1])
    return max(hook - high, 0.0) + min(hook - low, 0.0)


def _best(site: _Site, points: Lengths, near: Lengths, tops: Elevations, length: Length) -> _Best | None:
    """Machine that may hold most at each point, for a stone whose top is told and whose length hangs.

    `near` is the nearest place outside the water for each point.
    """
    names = list(site.machines)
    if not names:
        return None
    grounds = site.ground(near)
    all_found = []
    for machine in site.machines.values():
        hooks = tops + _rise(machine.row, length)
        if len(machine.stands):
            found = best_stands(
                machine.chart, machine.row.tool, points, hooks, machine.stands, machine.grounds
            )
        else:
            found = from_outside(machine.chart, machine.row.tool, points, hooks, near, grounds)
        all_found.append(found)
    best = np.argmax([found.capacities for found in all_found], axis=0)
    at = np.arange(len(points))
    return _Best(
        tuple(names[index] for index in best),
        Reached(
            np.array([found.stands for found in all_found])[best, at],
            np.array([found.radii for found in all_found])[best, at],
            np.array([found.hooks for found in all_found])[best, at],
            np.array([found.capacities for found in all_found])[best, at],
        ),
    )


def _reach(site: _Site, mass: Mass, hook: Length) -> Length:
    """Radius within which some machine here may hold a mass, with its hook at a height."""
    return max(
        (greatest_radius(machine.chart, mass, hook, machine.row.tool) for machine in site.machines.values()),
        default=0.0,
    )


def _set_stone(piece: Piece, site: _Site) -> SetStone:
    """A stone on the plan: its machine, its stand, and whether that may hold it."""
    assert piece.place is not None
    point = (piece.place.east, piece.place.north)
    long, wide, thin = sorted((piece.length, piece.width, piece.height), reverse=True)
    mass, own = WET * mass_of(piece), mass_of(piece)
    at = np.array([point])
    best = _best(
        site,
        at,
        nearest_stands(at, site.lines),
        site.ground(at) + (thin if piece.shape == "slab" else wide),
        long,
    )
    pressure = rest_pressure(own, long, wide)
    if best is None:
        needs = machine_for(mass, TOLD_AT)
        return SetStone(point, "", None, "untold", needs, mass, None, None, None, None, 0.0, pressure)
    found = best.found
    radius, hook, capacity = float(found.radii[0]), float(found.hooks[0]), float(found.capacities[0])
    reach = _reach(site, mass, hook)
    angle = sling_angle(_leg(site.machines[best.lifters[0]].row, long), long)
    return SetStone(
        point=point,
        lifter=best.lifters[0],
        stand=(float(found.stands[0, 0]), float(found.stands[0, 1])),
        verdict="set" if capacity >= mass else "nearer" if reach > 0.0 else "bigger",
        needs=machine_for(mass, radius),
        mass=mass,
        radius=radius,
        height=hook,
        capacity=capacity,
        leg=sling_leg(mass, angle) if angle >= LEAST_SLING else None,
        reach=reach,
        pressure=pressure,
    )


def _place(need: Need, near: Lengths, site: _Site, takeoff: Any) -> PlaceReach:
    """Stones of one class along a course or at a fall, judged by the heaviest."""
    mass, count = WET * need.heaviest, len(need.points)
    best = _best(site, need.points, near, np.full(count, need.foot + need.height), need.length)
    if best is None:
        nowhere = np.zeros(count, dtype=bool)
        needs = machine_for(mass, TOLD_AT)
        return PlaceReach(
            need.says,
            need.source,
            need.stone,
            need.points,
            nowhere,
            "",
            None,
            needs,
            mass,
            None,
            None,
            None,
            0.0,
            0.0,
        )
    found = best.found
    within = found.capacities >= mass
    hardest = int(np.lexsort((-found.radii, found.capacities))[0])
    names = list(best.lifters)
    least = float(found.capacities[hardest])
    total = takeoff.classes[need.stone]
    return PlaceReach(
        says=need.says,
        source=need.source,
        stone=need.stone,
        points=need.points,
        within=within,
        lifter=max(sorted(set(names)), key=names.count),
        stand=(float(found.stands[hardest, 0]), float(found.stands[hardest, 1])),
        needs=machine_for(mass, float(found.radii[hardest])),
        mass=mass,
        radius=float(found.radii[hardest]),
        height=float(found.hooks[hardest]),
        capacity=least,
        share=float(within.mean()),
        largest=size_of_mass(least / WET, total.shape, total.solid) if least > 0.0 else 0.0,
    )


def _lifter(
    name: str,
    machine: _Machine,
    stones: Mapping[str, SetStone],
    places: Mapping[str, PlaceReach],
    site: _Site,
    bears: float,
) -> LifterReach:
    """What one machine can do, and what it presses in its heaviest lift."""
    row, chart = machine.row, machine.chart
    lifted = [stone.mass for stone in stones.values() if stone.lifter == name and stone.verdict == "set"]
    lifted += [place.mass for place in places.values() if place.lifter == name and place.within.any()]
    heaviest = max(lifted, default=0.0)
    capacities = np.array([_least_at(chart, radius, row.tool) for radius in chart.radii])
    largest = [size_of_mass(mass / WET, "blocky", SOLID) if mass > 0.0 else 0.0 for mass in capacities]
    pressure = pads = None
    if row.mass is not None:
        whole = row.mass + row.tool + heaviest
        contact = row.mass * GRAVITY / TRACK_PRESSURE if row.contact is None else row.contact
        pressure, pads = PEAK * ground_pressure(whole, contact), pads_area(whole, bears)
    return LifterReach(
        name=row.name or name.replace("_", " "),
        assumed=not len(machine.stands),
        stands=tuple(_stand(point, site) for point in machine.stands),
        radii=chart.radii,
        largest=np.array(largest),
        heaviest=heaviest,
        pressure=pressure,
        pads=pads,
    )


def _least_at(chart: Chart, radius: Length, tool: Mass) -> Mass:
    """Least capacity at a radius over the heights that the chart tells there."""
    told = [float(lift_capacity(chart, radius, height, tool)) for height in chart.heights]
    return min((mass for mass in told if mass > 0.0), default=0.0)


def _stand(point: Lengths, site: _Site) -> Stand:
    """A stand: whether it lies in water, and how steep the finish is round it."""
    east, north = float(point[0]), float(point[1])
    around = point + SLOPE_REACH * np.array([(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)])
    z = site.ground(around)
    slope = math.hypot(z[0] - z[1], z[2] - z[3]) / (2.0 * SLOPE_REACH)
    return Stand((east, north), _water_at(point, site) is not None, slope)


def _water_at(point: Lengths | tuple[Length, Length], site: _Site) -> str | None:
    """Water that a point lies in."""
    at = ShapelyPoint(float(point[0]), float(point[1]))
    return next((name for name, water in site.waters.items() if water.contains(at)), None)


def _lift_findings(
    result: SettingResult,
    pieces: Mapping[str, Piece],
    needs: Mapping[str, Need],
    site: _Site,
    takeoff: Any,
    limits: Mapping[str, Any],
) -> list[Finding]:
    """Checks of every lift: each that is too heavy, else the one with the least to spare."""
    if not result.stones and not result.places:
        return []
    if not site.machines:
        masses = {f"stone.pieces.{name}": stone.mass for name, stone in result.stones.items()}
        for key, place in result.places.items():
            path = needs[key].source
            masses[path] = max(place.mass, masses.get(path, 0.0))
        path = max(masses, key=lambda path: masses[path])
        mass = masses[path]
        return [checks.check_lifter(mass / WET, path, machine_for(mass, TOLD_AT), limits)]
    lifts = [_lift_of_stone(name, stone, pieces[name], site, result) for name, stone in result.stones.items()]
    groups: dict[tuple[str, str], list[str]] = {}
    for key, place in result.places.items():
        groups.setdefault((needs[key].of, place.stone), []).append(key)
    for keys in groups.values():
        within = np.concatenate([result.places[key].within for key in keys])
        worst = min(
            keys, key=lambda key: (result.places[key].capacity or 0.0, -(result.places[key].radius or 0.0))
        )
        short = 1.0 - float(within.mean())
        lifts.append(_lift_of_place(result.places[worst], needs[worst], short, site, result))
    found = [checks.check_lift(lift, limits) for lift in lifts]
    failed = [each for each in found if each.grade != "good"]
    tightest = min(range(len(lifts)), key=lambda index: _spare(lifts[index]))
    return [*(failed or [found[tightest]]), checks.check_devices(result.heaviest, limits)]


def _spare(lift: Set) -> float:
    return lift.capacity / max(lift.mass, 1e-9)


def _lift_of_stone(name: str, stone: SetStone, piece: Piece, site: _Site, result: SettingResult) -> Set:
    assert stone.capacity is not None and stone.radius is not None
    called = piece.tag or piece.name or name
    largest = size_of_mass(stone.capacity / WET, piece.shape) if stone.capacity > 0.0 else 0.0
    return Set(
        says=f"stone {called}",
        path=f"stone.pieces.{name}",
        point=stone.point,
        mass=stone.mass,
        capacity=stone.capacity,
        radius=stone.radius,
        reach=stone.reach,
        largest=largest,
        needs=stone.needs,
        beyond=_beyond(site.machines[stone.lifter].chart, stone.height or 0.0),
        assumed=result.lifters[stone.lifter].assumed,
        one_height=site.machines[stone.lifter].chart.one_height,
    )


def _lift_of_place(place: PlaceReach, need: Need, short: float, site: _Site, result: SettingResult) -> Set:
    """Lift at the hardest point of a course; `short` is the part of all such places that is out of reach."""
    assert place.capacity is not None and place.radius is not None
    assert place.stand is not None and place.height is not None
    apart = np.hypot(*(place.points - np.array(place.stand)).T)
    at = place.points[int(np.argmin(np.abs(apart - place.radius)))]
    return Set(
        says=f"the largest of the {need.says[:1].lower()}{need.says[1:]}"
        + (f" at {math.ceil(100.0 * short)} % of their places" if 0.0 < short < 1.0 else ""),
        path=need.source,
        point=(float(at[0]), float(at[1])),
        mass=place.mass,
        capacity=place.capacity,
        radius=place.radius,
        reach=_reach(site, place.mass, place.height),
        largest=place.largest,
        needs=place.needs,
        beyond=_beyond(site.machines[place.lifter].chart, place.height),
        assumed=result.lifters[place.lifter].assumed,
        one_height=site.machines[place.lifter].chart.one_height,
    )


def _machine_findings(
    result: SettingResult,
    pieces: Mapping[str, Piece],
    needs: Mapping[str, Need],
    site: _Site,
    limits: Mapping[str, Any],
) -> list[Finding]:
    """Checks of each machine that sets something: its sling, where it stands, and what it presses."""
    findings = []
    for name, reach in result.lifters.items():
        called = reach.name if site.machines[name].row.name else f"machine {reach.name}"
        longest = max(_lengths(name, result, pieces, needs), default=0.0)
        if longest > 0.0:
            angle = sling_angle(_leg(site.machines[name].row, longest), longest)
            load = sling_leg(reach.heaviest, angle) if angle >= LEAST_SLING else 0.0
            findings.append(checks.check_sling(name, called, angle, load, longest, limits))
        if reach.stands:
            steepest = max(reach.stands, key=lambda stand: stand.slope)
            findings.append(checks.check_stand_level(name, called, steepest.slope, steepest.point, limits))
            wet = tuple(stand.point for stand in reach.stands if stand.in_water)
            body = (_water_at(wet[0], site) if wet else None) or ""
            findings.append(checks.check_stand_on_liner(name, called, wet, body, limits))
        # By the stated default every machine presses the same: only its own contact can be judged.
        told = site.machines[name].row.contact is not None
        if told and reach.pressure is not None and reach.pads is not None and reach.heaviest > 0.0:
            findings.append(checks.check_ground_pressure(name, called, reach.pressure, reach.pads, limits))
    return findings


def _lengths(
    lifter: str, result: SettingResult, pieces: Mapping[str, Piece], needs: Mapping[str, Need]
) -> Sequence[Length]:
    """Lengths of the stones that one machine sets."""
    of_stones = [
        max(pieces[name].length, pieces[name].width, pieces[name].height)
        for name, stone in result.stones.items()
        if stone.lifter == lifter and stone.verdict == "set"
    ]
    of_places = [
        needs[key].length
        for key, place in result.places.items()
        if place.lifter == lifter and place.within.any()
    ]
    return [*of_stones, *of_places]
