"""Where each cubic metre goes: hauls, piles, trucks and machine hours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from shapely import LineString, Point, Polygon

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
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
    Volumes,
)
from pondwright.geometry.grid import Grid
from pondwright.job.earth import OffSite, Pile
from pondwright.job.fields import value_of
from pondwright.job.places import LinePlace, PointPlace
from pondwright.job.site import Thing
from pondwright.rooms.earth.checks import haul as checks
from pondwright.rooms.earth.cutfill import SoilMap
from pondwright.rooms.earth.haul import (
    MUCK,
    NOWHERE,
    OFF_SITE,
    PILE,
    PLACED,
    SOIL,
    STREAMS,
    End,
    HaulPlan,
    Line,
    Source,
    blocks,
    haul_plan,
)
from pondwright.rooms.earth.leaving import dealt, loads_of
from pondwright.rooms.earth.machines import (
    TRUCK_FIXED,
    TRUCK_TURN,
    compact_rate,
    dig_rate,
    truck_time,
    trucks_needed,
)
from pondwright.rooms.earth.piles import heap, pile_height
from pondwright.rooms.earth.stage.leaving import (
    Leaving,
    Sites,
    Stream,
    ring_at,
    sites_of,
    stream_of,
    takes_of,
    truck_at,
)
from pondwright.rooms.earth.stage.shared import limits_of
from pondwright.rooms.earth.stage.soil import SoilResult
from pondwright.rooms.earth.stage.working import Crew, MachineHours, crew_of
from pondwright.rooms.earth.states import Truck

BLOCK: Length = 4.0
"""Side of the blocks into which dug and placed soil is gathered. [m]"""

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
    mean_distance: Length = figure(LENGTH, "Mean way of a cubic metre on the site", by=haul_plan, uses=USES)
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
    view : mapping        Reads `site.things`, `earth.trucks`, `earth.machines`, `earth.compactors`,
                          `earth.piles`, `earth.off_site`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `earth.subgrade`, `earth.soil`.

    Returns
    -------
    HaulResult and the checks of piles, of soil without a place, and of soil that is missing.
    """
    soil: SoilResult = results["earth.soil"]
    leaving, sites, limits = soil.leaving, sites_of(view), limits_of(view)
    crew = crew_of(view["earth.machines"], view["earth.compactors"])
    plan = _plan(view, results, leaving, sites, crew)
    piles = {name: _pile(name, row, plan, leaving) for name, row in sites.piles.items()}
    gates = {name: _gate(name, plan, leaving, sites, crew) for name in sites.off_site}
    totals = _totals(soil)
    homeless = plan.volume_to(NOWHERE)
    moved = sum(haul.volume for haul in plan.hauls) - homeless
    dig_time = crew.dig_time(sum(totals.values()), _mean_bulking(totals, leaving))
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
        *checks.check_brought(leaving.brought, leaving.short, limits),
        *checks.check_pile_places(_piles_in_the_way(sites.piles, piles, results["shape.shore"]), limits),
        *checks.check_muck(totals[MUCK], sum(wet.values()), given, leaving.homeless[MUCK], limits),
    ]
    return result, tuple(findings)


def _plan(
    view: Mapping[str, Any], results: Mapping[str, Any], leaving: Leaving, sites: Sites, crew: Crew
) -> HaulPlan:
    """Hauls from what is dug and brought to what is placed, to piles and to gates."""
    soil, ground = results["earth.soil"], results["site.ground"]
    dug, placed = _cell_volumes(ground.z - results["earth.subgrade"].z, soil.soils, ground.grid)
    totals = _totals(soil)
    need = totals[SOIL] + leaving.brought - leaving.streams[SOIL].volume
    way_in = _ways_in(view["site.things"])
    sources = [
        Source(float(east), float(north), stream, float(volume))
        for stream in STREAMS
        for (east, north), volume in zip(*_scaled(dug[stream], totals[stream], ground.grid), strict=True)
    ]
    sources += _brought(leaving, sites, way_in)
    ends = [
        *_placed_ends(placed, need, ground.grid),
        *_pile_ends(sites.piles, leaving),
        *_gate_ends(leaving, sites, crew, way_in),
    ]
    bulking = {stream: each.bulking for stream, each in leaving.streams.items()}
    times = {stream: lambda distance, of=of: crew.carry_times(distance, of) for stream, of in bulking.items()}
    return haul_plan(sources, ends, times)


def _mean_bulking(totals: Mapping[str, Volume], leaving: Leaving) -> float:
    """Mean bulking of all that is dug."""
    loose = sum(volume * leaving.streams[stream].bulking for stream, volume in totals.items())
    whole = sum(totals.values())
    return loose / whole if whole > 0.0 else leaving.streams[SOIL].bulking


def _totals(soil: SoilResult) -> dict[str, Volume]:
    """Volume of each stream as the soil account has it, in the bank."""
    totals = dict.fromkeys(STREAMS, 0.0)
    for kind, each in soil.by_kind.items():
        totals[stream_of(kind)] += each.dug + each.stripped
    return totals


def _cell_volumes(difference: Lengths, soils: SoilMap, grid: Grid) -> tuple[dict[str, Volumes], Volumes]:
    """Dug volume of each stream, and placed volume, by cell: near enough to share the exact totals out."""
    mean = 0.25 * (difference[:-1, :-1] + difference[1:, :-1] + difference[:-1, 1:] + difference[1:, 1:])
    dug = {stream: np.zeros(grid.cells_shape) for stream in STREAMS}
    depth, raised = np.maximum(mean, 0.0), np.maximum(-mean, 0.0)
    for number, column in enumerate(soils.columns):
        mine = soils.of_cell == number
        tops = (0.0, *column.bottoms)
        bottoms = (*column.bottoms, np.inf)
        for index, (kind, top, bottom) in enumerate(zip(column.kinds, tops, bottoms, strict=True)):
            layer = np.clip(depth[mine], top, bottom) - top
            if index < column.stripped:
                layer = layer + np.clip(raised[mine], top, bottom) - top
            dug[stream_of(kind)][mine] += layer * grid.cell_area
    return dug, raised * grid.cell_area


def _scaled(cells: Volumes, total: Volume, grid: Grid) -> tuple[Lengths, Volumes]:
    """Blocks of a stream whose volumes sum to the exact total."""
    middles, sums = blocks(cells, grid, BLOCK)
    found = float(sums.sum())
    if found <= 0.0 or total <= 0.0:
        return np.empty((0, 2)), np.empty(0)
    return middles, sums * (total / found)


def _placed_ends(cells: Volumes, need: Volume, grid: Grid) -> list[End]:
    middles, sums = _scaled(cells, need, grid)
    takes = frozenset((SOIL,))
    return [
        End(PLACED, PLACED, float(east), float(north), takes, need=float(volume))
        for (east, north), volume in zip(middles, sums, strict=True)
    ]


def _pile_ends(piles: Mapping[str, Pile], leaving: Leaving) -> list[End]:
    """Piles, each with the room of its ring for the soil that comes to it."""
    return [
        End(_end(PILE, name), PILE, *_middle(row), takes_of(row.takes), room=leaving.rooms[name].room)
        for name, row in piles.items()
    ]


def _gate_ends(leaving: Leaving, sites: Sites, crew: Crew, ways_in: Mapping[str, Line]) -> list[End]:
    """Gates with what leaves through them, stream by stream, and the truck time of a cubic metre."""
    ends = []
    for name, share in leaving.gates.items():
        row = sites.off_site[name]
        if row.way == "export":
            line = _nearest(row.gate, ways_in)
            for stream, volume in share.volumes.items():
                time = _road_time(row, leaving.streams[stream], sites, crew)
                takes = frozenset((stream,))
                place = (row.gate.east, row.gate.north)
                ends.append(
                    End(_end(OFF_SITE, name), OFF_SITE, *place, takes, room=volume, extra=time, line=line)
                )
    return ends


def _brought(leaving: Leaving, sites: Sites, ways_in: Mapping[str, Line]) -> list[Source]:
    """Soil that gates give."""
    found = []
    for name, share in leaving.gates.items():
        row = sites.off_site[name]
        if row.way == "import" and share.volumes:
            time = _road_time(row, leaving.streams[SOIL], sites, None)
            place, line = (row.gate.east, row.gate.north), _nearest(row.gate, ways_in)
            found.append(Source(*place, SOIL, share.volumes[SOIL], time, _end(OFF_SITE, name), line))
    return found


def _road_time(row: OffSite, stream: Stream, sites: Sites, crew: Crew | None) -> Time:
    """Truck time of a cubic metre in the bank; a crew of the site loads the truck, or somebody else."""
    truck, speed = truck_at(row, sites.trucks)
    fixed = TRUCK_FIXED if crew is None else TRUCK_TURN + _load_time(row, stream, sites, crew)
    return truck_time(row.distance, stream.bulking, stream.density, truck.box, truck.payload, speed, fixed)


def _load_time(row: OffSite, stream: Stream, sites: Sites, crew: Crew) -> Time:
    """Time in which the diggers fill one truck of a gate."""
    truck, _ = truck_at(row, sites.trucks)
    return crew.dig_time(min(truck.box / stream.bulking, truck.payload / stream.density), stream.bulking)


def _ways_in(things: Mapping[str, Thing]) -> dict[str, Line]:
    """Ways in for machines and trucks that are drawn as lines."""
    return {
        name: tuple((spot.east, spot.north) for spot in thing.place.points)
        for name, thing in things.items()
        if thing.kind == "access" and isinstance(thing.place, LinePlace) and thing.status != "remove"
    }


def _nearest(gate: PointPlace, ways_in: Mapping[str, Line]) -> Line:
    """The way in that comes nearest to a gate; none where there is none."""
    at = Point(gate.east, gate.north)
    lines = [line for line in ways_in.values() if len(line) > 1]
    return min(lines, key=lambda line: LineString(line).distance(at), default=())


def _pile(name: str, row: Pile, plan: HaulPlan, leaving: Leaving) -> PileResult:
    """What comes to one pile, and how it lies: in the ring that was drawn, or as a round heap."""
    comes = _comes({stream: plan.volume_to(_end(PILE, name), stream) for stream in STREAMS}, leaving)
    loose = comes["loose"]
    angle, most, ring = leaving.rooms[name].angle, value_of(row, "most_height"), ring_at(row)
    if ring is not None:
        height = pile_height(loose, ring, angle, most) if loose > 0.0 else 0.0
        return PileResult(**comes, ring=ring, footprint=float(Polygon(ring).area), height=height, angle=angle)
    found = heap(loose, angle, most)
    around = np.linspace(0.0, 2.0 * math.pi, 49)[:-1]
    ring = found.radius * np.column_stack([np.cos(around), np.sin(around)]) + _middle(row)
    return PileResult(**comes, ring=ring, footprint=found.footprint, height=found.height, angle=angle)


def _gate(name: str, plan: HaulPlan, leaving: Leaving, sites: Sites, crew: Crew) -> GateResult:
    """What goes through one gate, with its loads, its truck hours and the trucks that it needs."""
    share, row, end = leaving.gates[name], sites.off_site[name], _end(OFF_SITE, name)
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
    load = _load_time(row, stream, sites, crew)
    speed = truck_at(row, sites.trucks)[1]
    return trucks_needed(load + TRUCK_TURN + 2.0 * row.distance / speed, load)


def _comes(volumes: Mapping[str, Volume], leaving: Leaving) -> dict[str, Volume]:
    """Volumes of a place by stream, in the bank, and all of them loose."""
    loose = sum(volume * leaving.streams[stream].bulking for stream, volume in volumes.items())
    return {**volumes, "loose": loose}


def _middle(pile: Pile) -> tuple[Length, Length]:
    ring = ring_at(pile)
    if ring is None:
        assert isinstance(pile.place, PointPlace)
        return pile.place.east, pile.place.north
    at = Polygon(ring).representative_point()
    return at.x, at.y


def _end(kind: str, name: str) -> str:
    """Name of a pile or gate as the haul plan has it."""
    return f"{kind} {name}"


def _piles_in_the_way(
    piles: Mapping[str, Pile], told: Mapping[str, PileResult], shore: Any
) -> list[tuple[str, str, tuple[Length, Length]]]:
    """Piles whose foot reaches into water: pile, body and a place in both."""
    found = []
    for name in piles:
        ring = told[name].ring
        foot = Polygon(ring) if len(ring) > 2 else Point(_middle(piles[name]))
        for body, each in shore.bodies.items():
            common = foot.intersection(Polygon(each.rings[0]).buffer(0.0))
            if not common.is_empty:
                at = common.representative_point()
                found.append((name, body, (at.x, at.y)))
    return found
