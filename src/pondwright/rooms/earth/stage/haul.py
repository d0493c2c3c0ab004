"""Where each cubic metre goes: hauls, piles, trucks and machine hours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from shapely import Point, Polygon

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    ANGLE,
    AREA,
    COUNT,
    LENGTH,
    SOIL_VOLUME,
    TIME,
    Angle,
    Area,
    Length,
    Lengths,
    Time,
    Volume,
)
from pondwright.job.earth import OffSite, Pile
from pondwright.job.fields import value_of
from pondwright.rooms.earth.checks import haul as checks
from pondwright.rooms.earth.haul import (
    MUCK,
    NOWHERE,
    OFF_SITE,
    PILE,
    PLACED,
    SOIL,
    STREAMS,
    Haul,
    HaulPlan,
    haul_plan,
)
from pondwright.rooms.earth.leaving import dealt, loads_of
from pondwright.rooms.earth.machines import (
    TRUCK_TURN,
    compact_rate,
    dig_rate,
    truck_time,
    trucks_needed,
)
from pondwright.rooms.earth.piles import heap, pile_height
from pondwright.rooms.earth.stage.driving import Site, between, site_of
from pondwright.rooms.earth.stage.hauls import (
    end_name,
    load_time,
    mean_bulking,
    middle_of,
    planned,
    totals_of,
)
from pondwright.rooms.earth.stage.leaving import (
    Leaving,
    Sites,
    Stream,
    ring_at,
    sites_of,
    truck_at,
)
from pondwright.rooms.earth.stage.shared import limits_of
from pondwright.rooms.earth.stage.soil import SoilResult
from pondwright.rooms.earth.stage.working import Crew, MachineHours, crew_of
from pondwright.rooms.earth.states import Truck

USES = ("earth.soil.by_kind.*.dug", "earth.soil.placed", "earth.soil.surplus_bank")
ROAD = ("earth.off_site.*.distance", "earth.trucks", *USES)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class EndResult:
    """What goes to a place, or comes from it."""

    topsoil: Volume = figure(SOIL_VOLUME, "Topsoil that comes here, in the bank", by=haul_plan, uses=USES)
    muck: Volume = figure(SOIL_VOLUME, "Muck that comes here, in the bank", by=haul_plan, uses=USES)
    soil: Volume = figure(SOIL_VOLUME, "Soil for fill that comes here, in the bank", by=haul_plan, uses=USES)
    loose: Volume = figure(SOIL_VOLUME, "All of it, loose", by=haul_plan, uses=USES)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PileResult(EndResult):
    """What comes to a pile, and how it lies there."""

    ring: Lengths
    footprint: Area = figure(AREA, "Ground that the pile covers", by=heap, uses=USES)
    height: Length = figure(LENGTH, "Height of the pile", by=pile_height, uses=USES)
    angle: Angle = figure(
        ANGLE,
        "Angle at which the pile stands: that of the loosest soil that comes to it, where none is told",
        uses=("site.soils.*.layers", "earth.piles"),
    )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class GateResult(EndResult):
    """What goes through a gate, and whether the box or the scale fills its trucks."""

    truck: Truck
    by_scale: bool
    loads: int = figure(COUNT, "Truck loads through the gate, by box or by scale", by=loads_of, uses=ROAD)
    road_time: Time = figure(TIME, "Truck hours of these loads", by=truck_time, uses=ROAD)
    trucks: int = figure(
        COUNT, "Trucks that keep the diggers at work", by=trucks_needed, uses=("earth.machines", *ROAD)
    )


@dataclass(frozen=True, slots=True, eq=False)
class HaulResult:
    """The haul plan: who goes where, with what, for how long."""

    plan: HaulPlan
    piles: Mapping[str, PileResult]
    gates: Mapping[str, GateResult]
    machines: Mapping[str, MachineHours]
    to_banks: Volume = figure(
        SOIL_VOLUME, "Soil that goes into banks and fills, in the bank", by=haul_plan, uses=USES
    )
    mean_distance: Length = figure(LENGTH, "Mean way of the soil on the site", by=haul_plan, uses=USES)
    dig_time: Time = figure(TIME, "Hours of digging, all diggers at work at once", by=dig_rate, uses=USES)
    carry_time: Time = figure(
        TIME, "Hours of carrying on the site, all carriers at work at once", by=haul_plan, uses=USES
    )
    compact_time: Time = figure(
        TIME,
        "Hours of compacting, all compactors at work at once",
        by=compact_rate,
        uses=("earth.soil.placed", "earth.soil.settlement_allowance", "earth.compactors"),
    )
    road_time: Time = figure(TIME, "Truck hours, loading and tipping included", by=truck_time, uses=ROAD)
    loads: int = figure(
        COUNT, "Truck loads that leave the site or are brought", by=loads_of, uses=("earth.soil.load_count",)
    )
    homeless: Volume = figure(
        SOIL_VOLUME,
        "Soil in the bank that has no place to go",
        by=haul_plan,
        uses=(*USES, "earth.piles", "earth.off_site"),
    )
    short: Volume = figure(
        SOIL_VOLUME,
        "Soil in the bank that must be brought and that no place gives",
        by=dealt,
        uses=(*USES, "earth.off_site"),
    )
    drying_area: Area = figure(
        AREA, "Ground that the muck on the site needs to dry", uses=("earth.soil.by_kind.*.dug", "rules")
    )
    drying_given: Area = figure(AREA, "Ground that it has", uses=("earth.piles",))


def haul_stage(view: Mapping[str, Any], results: Mapping[str, Any]) -> tuple[HaulResult, tuple[Finding, ...]]:
    """Where each cubic metre goes.

    Parameters
    ----------
    view : mapping        Reads `site.things`, `site.bounds`, `earth.trucks`, `earth.machines`,
                          `earth.compactors`, `earth.piles`, `earth.off_site`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `earth.subgrade`, `earth.soil`.

    Returns
    -------
    HaulResult and the checks of piles, of ways, of soil without a place, and of soil that is missing.
    """
    soil: SoilResult = results["earth.soil"]
    leaving, sites, limits = soil.leaving, sites_of(view), limits_of(view)
    crew = crew_of(view["earth.machines"], view["earth.compactors"])
    site = site_of(view, sites, limits)
    plan = planned(view, results, sites, crew, site)
    piles = {name: _pile(name, row, plan, leaving) for name, row in sites.piles.items()}
    gates = {name: _gate(name, plan, leaving, sites, crew) for name in sites.off_site}
    totals = totals_of(soil)
    homeless = plan.volume_to(NOWHERE)
    moved = sum(haul.volume for haul in plan.hauls) - homeless
    dig_time = crew.dig_time(sum(totals.values()), mean_bulking(totals, leaving))
    compact_time = crew.compact_time(max(soil.placed + soil.settlement_allowance, 0.0))
    wet = {name: pile.muck * leaving.streams[MUCK].bulking for name, pile in piles.items()}
    given = sum(
        piles[name].footprint * share / piles[name].loose for name, share in wet.items() if share > 0.0
    )
    result = HaulResult(
        plan=plan,
        piles=MappingProxyType(piles),
        gates=MappingProxyType(gates),
        machines=crew.hours(dig_time, plan.time, compact_time),
        to_banks=plan.volume_to(PLACED),
        mean_distance=sum(haul.volume * haul.distance for haul in plan.hauls) / moved if moved else 0.0,
        dig_time=dig_time,
        carry_time=plan.time,
        compact_time=compact_time,
        road_time=plan.road,
        loads=leaving.loads,
        homeless=homeless,
        short=leaving.short,
        drying_area=sum(wet.values()) / limits["earth.muck"].value,
        drying_given=given,
    )
    findings = [
        checks.check_homeless(homeless, moved + homeless, limits),
        *_ways(plan, site, limits),
        *checks.check_brought(leaving.brought, leaving.short, limits),
        *checks.check_pile_places(_piles_in_the_way(sites.piles, piles, results["shape.shore"]), limits),
        *checks.check_muck(totals[MUCK], sum(wet.values()), given, leaving.homeless[MUCK], limits),
    ]
    return result, tuple(findings)


def _pile(name: str, row: Pile, plan: HaulPlan, leaving: Leaving) -> PileResult:
    """What comes to one pile, and how it lies: in the ring that was drawn, or as a round heap."""
    comes = _comes({stream: plan.volume_to(end_name(PILE, name), stream) for stream in STREAMS}, leaving)
    loose = comes["loose"]
    angle, most, ring = leaving.rooms[name].angle, value_of(row, "most_height"), ring_at(row)
    if ring is not None:
        height = pile_height(loose, ring, angle, most) if loose > 0.0 else 0.0
        return PileResult(**comes, ring=ring, footprint=float(Polygon(ring).area), height=height, angle=angle)
    found = heap(loose, angle, most)
    around = np.linspace(0.0, 2.0 * math.pi, 49)[:-1]
    ring = found.radius * np.column_stack([np.cos(around), np.sin(around)]) + middle_of(row)
    return PileResult(**comes, ring=ring, footprint=found.footprint, height=found.height, angle=angle)


def _gate(name: str, plan: HaulPlan, leaving: Leaving, sites: Sites, crew: Crew) -> GateResult:
    """What goes through one gate, with its loads, its truck hours and the trucks that it needs."""
    share, row, end = leaving.gates[name], sites.off_site[name], end_name(OFF_SITE, name)
    volumes = dict.fromkeys(STREAMS, 0.0) | {SOIL: plan.volume_from(end)}
    trucks = 0
    if row.way == "export":
        volumes = {stream: plan.volume_to(end, stream) for stream in STREAMS}
        trucks = _trucks(row, leaving.streams[max(volumes, key=lambda of: volumes[of])], sites, crew)
    return GateResult(
        **_comes(volumes, leaving),
        truck=share.truck,
        by_scale=share.by_scale,
        loads=share.loads,
        road_time=sum(haul.road for haul in plan.hauls if end in (haul.end.name, haul.source)),
        trucks=min(trucks, share.loads),
    )


def _trucks(row: OffSite, stream: Stream, sites: Sites, crew: Crew) -> int:
    """Trucks that keep the diggers at work while most of what leaves is loaded."""
    load = load_time(row, stream, sites, crew)
    speed = truck_at(row, sites.trucks)[1]
    return trucks_needed(load + TRUCK_TURN + 2.0 * row.distance / speed, load)


def _comes(volumes: Mapping[str, Volume], leaving: Leaving) -> dict[str, Volume]:
    """Volumes of a place by stream, in the bank, and all of them loose."""
    loose = sum(volume * leaving.streams[stream].bulking for stream, volume in volumes.items())
    return {**volumes, "loose": loose}


def _piles_in_the_way(
    piles: Mapping[str, Pile], told: Mapping[str, PileResult], shore: Any
) -> list[tuple[str, str, tuple[Length, Length]]]:
    """Piles whose foot reaches into water: pile, body and a place in both."""
    found = []
    for name in piles:
        ring = told[name].ring
        foot = Polygon(ring) if len(ring) > 2 else Point(middle_of(piles[name]))
        for body, each in shore.bodies.items():
            common = foot.intersection(Polygon(each.rings[0]).buffer(0.0))
            if not common.is_empty:
                at = common.representative_point()
                found.append((name, body, (at.x, at.y)))
    return found


def _ways(plan: HaulPlan, site: Site, limits: Mapping[str, Limit]) -> tuple[Finding, ...]:
    """Whether machines can drive all hauls, and what lies between where they cannot."""
    going = [haul for haul in plan.hauls if haul.end.kind != NOWHERE]
    stuck = [haul for haul in going if not haul.driven]
    if not going:
        return ()
    by_ends: dict[tuple[str, str], list[Haul]] = {}
    for haul in stuck:
        by_ends.setdefault((_path(haul.source), _path(haul.end.name)), []).append(haul)
    volumes = {ends: sum(haul.volume for haul in some) for ends, some in by_ends.items()}
    most = max(by_ends, key=lambda ends: volumes[ends], default=None)
    worst = [] if most is None else by_ends[most]
    way = max(worst, key=lambda haul: haul.volume).way if worst else ()
    lies = [(each.called, each.path) for each in between(site, worst)]
    moved = sum(haul.volume for haul in going)
    return (checks.check_ways(volumes, moved, lies, way, limits),)


def _path(end: str) -> str:
    """Path of a pile or gate by its name in the haul plan; none for what is dug or placed."""
    kind, _, name = end.rpartition(" ")
    return {PILE: f"earth.piles.{name}", OFF_SITE: f"earth.off_site.{name}"}.get(kind, "")
