"""The checks of drains, of what lies round them, and of sumps: rows of the document and their profiles."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from pondwright.base.findings import Finding, Limit, Op
from pondwright.base.kinds import Elevations, Length
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.fields import value_of
from pondwright.job.groundwater import Drain, Fabric, Grains, Sump
from pondwright.job.places import LinePlace, Row
from pondwright.job.site import Thing
from pondwright.rooms.groundwater.checks import drains as checks
from pondwright.rooms.groundwater.checks import filters
from pondwright.rooms.groundwater.checks.drains import Named
from pondwright.rooms.groundwater.checks.filters import Cloth, Sizes
from pondwright.rooms.groundwater.lines import rising_inverts
from pondwright.rooms.groundwater.pipes import full_flow, pipe_roughness
from pondwright.rooms.groundwater.stage.drain_results import DrainProfile, SumpNeed, place_at
from pondwright.rooms.groundwater.stage.shared import line_points

Limits = Mapping[str, Limit]

SIZES = (0.1016, 0.1524, 0.2032, 0.254, 0.3048, 0.381, 0.4572)
"""Inner diameters of pipe that is sold. [m]; 4 to 18 in."""


def drain_findings(
    view: Mapping[str, Any],
    profiles: Mapping[str, DrainProfile],
    ground: Elevations,
    grid: Grid,
    limits: Limits,
) -> Iterator[Finding]:
    """Checks of all drains.

    Parameters
    ----------
    view : mapping          As the stage of the profiles has it.
    profiles : mapping      By drain.
    ground : (rows, columns) array, on `grid`     Existing ground. [m]
    limits : mapping        Limits by code.

    Yields
    ------
    Finding
    """
    drains, things = view["groundwater.drains"], view["site.things"]
    gravels, fabrics, soils = (view[f"groundwater.{name}"] for name in ("gravels", "fabrics", "soil_grains"))
    for name, profile in profiles.items():
        drain, row = drains[name], _named("the drain", "groundwater.drains", name, drains[name])
        yield from _lying(name, drain, row, profile, limits)
        yield from _carrying(name, drain, row, profile, gravels, limits)
        yield from _running_out(name, drain, row, profile, view, limits)
        yield from _crossing(drain, row, profile, things, ground, grid, limits)
        if drain.slotted and drain.status == "new":
            yield from _filtered(drain, row, gravels, fabrics, soils, limits)
        if drain.into in drains and drain.into in profiles:
            onto = _named("the drain", "groundwater.drains", drain.into, drains[drain.into])
            found = checks.check_narrowing(row, onto, drain.diameter - profiles[drain.into].diameter, limits)
            yield from () if found is None else (found,)


def sump_findings(
    sumps: Mapping[str, Sump], needs: Mapping[str, SumpNeed], limits: Limits
) -> Iterator[Finding]:
    """Checks of all sumps.

    Parameters
    ----------
    sumps : mapping      Rows of the document.
    needs : mapping      What each needs.
    limits : mapping     Limits by code.

    Yields
    ------
    Finding
    """
    for name, sump in sumps.items():
        row, inflow = _named("the sump", "groundwater.sumps", name, sump), needs[name].inflow
        if inflow is not None:
            yield checks.check_pump(row, inflow, sump.pump, limits)
        yield checks.check_standby(row, sump.standby, bool(sump.backup), needs[name].volume, limits)


def _named(what: str, group: str, name: str, row: Row) -> Named:
    return Named(row.name or f"{what} `{name}`", f"{group}.{name}")


def _lying(name: str, drain: Drain, row: Named, profile: DrainProfile, limits: Limits) -> Iterator[Finding]:
    """How it lies: fall, how it can be built, cover."""
    run = profile.chainage[list(profile.bends)]
    worst = int(np.argmin(profile.falls))
    middle = place_at(profile, 0.5 * float(run[worst] + run[worst + 1]))
    yield checks.check_fall(row, profile.fall, middle, _evened(name, drain, profile, limits), limits)
    if profile.fall > 0.0 and drain.status == "new":
        yield checks.check_build(row, profile.left_over, middle, limits)
    for least, under_pond in ((profile.least_cover, False), (profile.least_bedding, True)):
        if least is not None:
            where = int(
                np.argmin(np.abs(np.where(profile.lined == under_pond, profile.cover, np.inf) - least))
            )
            place = place_at(profile, float(profile.chainage[where]))
            yield checks.check_cover(row, least, under_pond, place, limits)


def _evened(name: str, drain: Drain, profile: DrainProfile, limits: Limits) -> tuple[Op, ...]:
    """Edit that gives a drain one fall between its ends; none where that is too little as well."""
    points = line_points(drain.place)
    if not drain.inverts:
        wanted = limits["groundwater.drain_fall"].value
        return (
            ()
            if value_of(drain, "fall") >= wanted
            else (Op("add", f"/groundwater/drains/{name}/fall", wanted),)
        )
    mean = (drain.inverts[0] - drain.inverts[-1]) / profile.length
    if mean < limits["groundwater.drain_least"].value or mean <= profile.fall + 1e-9:
        return ()
    even = rising_inverts(points, drain.inverts[-1], mean)
    return (Op("add", f"/groundwater/drains/{name}/inverts", [round(float(one), 4) for one in even]),)


def _carrying(
    name: str,
    drain: Drain,
    row: Named,
    profile: DrainProfile,
    gravels: Mapping[str, Grains],
    limits: Limits,
) -> Iterator[Finding]:
    """What it carries: flow, speed, its size, gravel round it."""
    if profile.inflow is not None and profile.fall > 0.0:
        wider: tuple[Op, ...] = ()
        for size in SIZES:
            roughness = drain.roughness or pipe_roughness(drain.wall, size)
            if size > drain.diameter and full_flow(size, profile.fall, roughness) >= profile.inflow:
                wider = (Op("add", f"/groundwater/drains/{name}/diameter", size),)
                break
        yield checks.check_capacity(row, profile.inflow, profile.capacity, wider, limits)
    if profile.fall > 0.0:
        filtered = drain.gravel is not None or drain.fabric is not None or not drain.slotted
        yield checks.check_speed(row, profile.full_speed, filtered, limits)
    yield checks.check_diameter(row, drain.diameter, limits)
    if drain.slotted and drain.status == "new":
        least = limits["groundwater.drain_envelope"].value
        enough = (Op("add", f"/groundwater/drains/{name}/envelope", least),)
        yield checks.check_envelope(row, value_of(drain, "envelope"), enough, limits)


def _running_out(
    name: str, drain: Drain, row: Named, profile: DrainProfile, view: Mapping[str, Any], limits: Limits
) -> Iterator[Finding]:
    """Where it runs out: the place itself, and its flood."""
    outlets, sumps = view["groundwater.outlets"], view["groundwater.sumps"]
    ends = {**outlets, **sumps}
    if drain.into in ends:
        there = ends[drain.into].place
        points = line_points(drain.place)
        gap = float(np.hypot(points[-1, 0] - there.east, points[-1, 1] - there.north))
        last = f"/groundwater/drains/{name}/place/points/{len(points) - 1}"
        move = (Op("replace", last, {"east": there.east, "north": there.north}),)
        found = checks.check_gap(row, gap, (float(points[-1, 0]), float(points[-1, 1])), move, limits)
        yield from () if found is None else (found,)
    if profile.flood is None or profile.ends not in outlets:
        return
    outlet = _named("the outlet", "groundwater.outlets", profile.ends, outlets[profile.ends])
    if profile.free_fall is not None:
        yield checks.check_outlet(row, outlet, profile.free_fall, limits)
    if profile.lined.any():
        under = np.where(profile.lined, profile.under, np.inf)
        lowest = int(np.argmin(under))
        place = place_at(profile, float(profile.chainage[lowest]))
        yield checks.check_flood(row, outlet, float(under[lowest]) - profile.flood, place, limits)


def _crossing(
    drain: Drain,
    row: Named,
    profile: DrainProfile,
    things: Mapping[str, Thing],
    ground: Elevations,
    grid: Grid,
    limits: Limits,
) -> Iterator[Finding]:
    """Buried services that it crosses."""
    from shapely import LineString, Point, get_coordinates

    if drain.status != "new":
        return
    line = LineString(profile.points)
    for name, thing in things.items():
        if thing.kind not in ("utility", "pipe") or thing.status in ("remove", "later"):
            continue
        if not isinstance(thing.place, LinePlace):
            continue
        meets = get_coordinates(line.intersection(LineString(line_points(thing.place))))
        if not len(meets):
            continue
        service = Named(thing.name or name.replace("_", " "), f"site.things.{name}")
        place = (float(meets[0, 0]), float(meets[0, 1]))
        apart = None
        if thing.depth is not None:
            at = np.clip(np.array([place]), grid.extent[:2], grid.extent[2:])
            top = float(surface_at(ground, grid, at)[0]) - thing.depth
            bottom = float(np.interp(line.project(Point(place)), profile.chainage, profile.invert))
            apart = _between(top, bottom, bottom + profile.diameter)
        yield checks.check_service(row, service, apart, thing.sure or 0.0, place, limits)


def _between(level: Length, low: Length, high: Length) -> Length:
    """How far a level lies off a span; nothing inside it."""
    return max(level - high, low - level, 0.0)


def _filtered(
    drain: Drain,
    row: Named,
    gravels: Mapping[str, Grains],
    fabrics: Mapping[str, Fabric],
    soils: Mapping[str, Grains],
    limits: Limits,
) -> Iterator[Finding]:
    """What keeps the soil out of it."""
    gravel = None if drain.gravel is None else _sizes("the gravel", "gravels", drain.gravel, gravels)
    fabric = None if drain.fabric is None else _cloth(drain.fabric, fabrics[drain.fabric])
    told = filters.check_told(row, gravel, fabric, limits)
    yield from () if told is None else (told,)
    names: list[str | None] = [*soils] or [None]
    for number, name in enumerate(names):
        soil = None if name is None else _sizes("the soil", "soil_grains", name, soils)
        if gravel is not None:
            # What a gravel is by itself is said once, whatever the soils.
            alone = gravel if number == 0 else Sizes(gravel.row, gravel.d15, gravel.d85)
            yield from filters.check_gravel(row, alone, soil, fabric, limits)
        if fabric is not None:
            cloth = fabric if number == 0 else Cloth(fabric.row, fabric.opening, fabric.permittivity, None)
            yield from filters.check_fabric(row, cloth, soil, limits)
    if gravel is not None and drain.opening is not None:
        yield filters.check_openings(row, gravel, drain.opening, drain.round_holes, limits)


def _sizes(what: str, group: str, name: str, rows: Mapping[str, Grains]) -> Sizes:
    row = rows[name]
    return Sizes(
        _named(what, f"groundwater.{group}", name, row),
        row.d15,
        row.d85,
        row.d100,
        row.fines,
        row.uniformity,
    )


def _cloth(name: str, row: Fabric) -> Cloth:
    named = _named("the fabric", "groundwater.fabrics", name, row)
    return Cloth(named, row.opening, row.permittivity, row.strength)
