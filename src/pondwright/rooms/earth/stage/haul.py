"""Where each cubic metre goes: hauls, piles, trucks and machine hours."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from shapely import Point, Polygon

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    AREA,
    COUNT,
    LENGTH,
    SOIL_VOLUME,
    TIME,
    Area,
    Length,
    Lengths,
    Ratio,
    Time,
    Volume,
    Volumes,
)
from pondwright.geometry.grid import Grid
from pondwright.job.curves import ring_of
from pondwright.job.earth import Machine, OffSite, Pile
from pondwright.job.earth import Truck as TruckRow
from pondwright.job.fields import value_of
from pondwright.job.places import PointPlace
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
    TOPSOIL,
    End,
    HaulPlan,
    Source,
    blocks,
    haul_plan,
)
from pondwright.rooms.earth.machines import (
    STANDARD_CARRIER,
    STANDARD_DIGGER,
    TRUCK_SPEED,
    Carrier,
    Digger,
    carry_time,
    dig_rate,
    truck_time,
)
from pondwright.rooms.earth.piles import PILE_ANGLE, Heap, heap, pile_capacity
from pondwright.rooms.earth.stage.shared import limits_of
from pondwright.rooms.earth.stage.soil import SoilResult
from pondwright.rooms.earth.states import STANDARD_TRUCK, Truck, truck_loads

BLOCK: Length = 4.0
"""Side of the blocks into which dug and placed soil is gathered. [m]"""

DRYING_DEPTH: Length = 0.4
"""Depth in which muck is spread to dry. [m]; common practice, no source."""

USES = ("earth.soil.by_kind.*.dug", "earth.soil.placed", "earth.soil.surplus_bank")


@dataclass(frozen=True, slots=True, eq=False)
class EndResult:
    """What comes to one place: a pile or a gate."""

    ring: Lengths
    topsoil: Volume = figure(SOIL_VOLUME, "Topsoil that comes here, in the bank", by=haul_plan, uses=USES)
    muck: Volume = figure(SOIL_VOLUME, "Muck that comes here, in the bank", by=haul_plan, uses=USES)
    soil: Volume = figure(SOIL_VOLUME, "Soil for fill that comes here, in the bank", by=haul_plan, uses=USES)
    loose: Volume = figure(SOIL_VOLUME, "All of it, loose", by=haul_plan, uses=USES)
    footprint: Area = figure(AREA, "Ground that the pile covers", by=heap, uses=USES)
    loads: int = figure(COUNT, "Truck loads to it, by box or by scale", by=truck_loads, uses=USES)


@dataclass(frozen=True, slots=True, eq=False)
class HaulResult:
    """The haul plan: who goes where, with what, for how long."""

    plan: HaulPlan
    piles: Mapping[str, EndResult]
    gates: Mapping[str, EndResult]
    to_banks: Volume = figure(
        SOIL_VOLUME, "Soil that goes into banks and fills, in the bank", by=haul_plan, uses=USES
    )
    mean_distance: Length = figure(LENGTH, "Mean way of a cubic metre on the site", by=haul_plan, uses=USES)
    carry_time: Time = figure(
        TIME, "Machine time for carrying on the site and on the road", by=haul_plan, uses=USES
    )
    dig_time: Time = figure(TIME, "Machine time for digging", by=dig_rate, uses=USES)
    loads: int = figure(COUNT, "Truck loads off the site and onto it", by=truck_loads, uses=USES)
    homeless: Volume = figure(
        SOIL_VOLUME,
        "Soil in the bank that has no place to go",
        by=haul_plan,
        uses=(*USES, "earth.piles", "earth.off_site"),
    )
    drying_area: Area = figure(AREA, "Ground on which the muck dries", uses=("earth.soil.by_kind.*.dug",))


@dataclass(frozen=True, slots=True)
class _Mean:
    """Mean states of a stream of soil."""

    bulking: Ratio
    density: float


def haul_stage(view: Mapping[str, Any], results: Mapping[str, Any]) -> tuple[HaulResult, tuple[Finding, ...]]:
    """Where each cubic metre goes.

    Parameters
    ----------
    view : mapping        Reads `earth.trucks`, `earth.machines`, `earth.piles`, `earth.off_site`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `earth.subgrade`, `earth.soil`.

    Returns
    -------
    HaulResult and the checks of piles and of soil without a place.
    """
    soil: SoilResult = results["earth.soil"]
    ground, shore, limits = results["site.ground"], results["shape.shore"], limits_of(view)
    means = {stream: _mean(stream, soil) for stream in STREAMS}
    carrier, digger = _carrier(view["earth.machines"]), _digger(view["earth.machines"])
    dug, placed = _cell_volumes(ground.z - results["earth.subgrade"].z, soil.soils, ground.grid)
    totals = _totals(soil)
    sources = [
        Source(float(east), float(north), stream, float(volume))
        for stream in STREAMS
        for (east, north), volume in zip(*_scaled(dug[stream], totals[stream], ground.grid), strict=True)
    ]
    missing = max(-soil.surplus_bank, 0.0)
    need = totals[SOIL] + missing - max(soil.surplus_bank, 0.0)
    ends = [
        *_placed_ends(placed, need, ground.grid),
        *_pile_ends(view["earth.piles"], means),
        *_gate_ends(view["earth.off_site"], view["earth.trucks"], means),
    ]
    if missing > 0.0:
        sources.append(_brought(view["earth.off_site"], view["earth.trucks"], means, missing, ground.grid))
    per_metre = {stream: _carry_times(carrier, mean) for stream, mean in means.items()}
    plan = haul_plan(sources, ends, per_metre)
    piles = {name: _end_result(PILE, name, plan, view, means) for name in view["earth.piles"]}
    gates = {name: _end_result(OFF_SITE, name, plan, view, means) for name in view["earth.off_site"]}
    homeless = plan.volume_to(NOWHERE)
    moved = sum(haul.volume for haul in plan.hauls) - homeless
    loose = {stream: totals[stream] * means[stream].bulking for stream in STREAMS}
    bulking = sum(loose.values()) / max(sum(totals.values()), 1e-9)
    result = HaulResult(
        plan=plan,
        piles=MappingProxyType(piles),
        gates=MappingProxyType(gates),
        to_banks=plan.volume_to(PLACED),
        mean_distance=sum(haul.volume * haul.distance for haul in plan.hauls) / moved if moved else 0.0,
        carry_time=plan.time,
        dig_time=3600.0 * sum(totals.values()) / dig_rate(digger, max(bulking, 1.0)),
        loads=sum(gate.loads for gate in gates.values()),
        homeless=homeless,
        drying_area=loose[MUCK] / DRYING_DEPTH,
    )
    findings = [
        checks.check_homeless(homeless, moved + homeless, limits),
        *checks.check_pile_places(_piles_in_the_way(view["earth.piles"], piles, shore), limits),
        *checks.check_muck(totals[MUCK], result.drying_area, "muck" in _taken(view), limits),
    ]
    return result, tuple(findings)


def _carry_times(carrier: Carrier, mean: _Mean) -> tuple[Time, Time]:
    """Time of a cubic metre in the bank without the way, and of each metre of it."""
    still = carry_time(carrier, 0.0, mean.bulking)
    return still, carry_time(carrier, 1.0, mean.bulking) - still


def _mean(stream: str, soil: SoilResult) -> _Mean:
    """Mean bulking and density of a stream, weighted by what is dug; defaults where nothing is."""
    kinds = [
        (each, each.dug + each.stripped) for kind, each in soil.by_kind.items() if _stream(kind) == stream
    ]
    total = sum(volume for _, volume in kinds)
    if total <= 0.0:
        return _Mean(1.25, 1800.0)
    return _Mean(
        sum(each.bulking * volume for each, volume in kinds) / total,
        sum(each.bank_density * volume for each, volume in kinds) / total,
    )


def _stream(kind: str) -> str:
    return kind if kind in (TOPSOIL, MUCK) else SOIL


def _totals(soil: SoilResult) -> dict[str, Volume]:
    """Volume of each stream as the soil account has it, in the bank."""
    totals = dict.fromkeys(STREAMS, 0.0)
    for kind, each in soil.by_kind.items():
        totals[_stream(kind)] += each.dug + each.stripped
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
            dug[_stream(kind)][mine] += layer * grid.cell_area
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


def _takes(word: str) -> frozenset[str]:
    return frozenset(STREAMS) if word == "any" else frozenset((word,))


def _pile_ends(piles: Mapping[str, Pile], means: Mapping[str, _Mean]) -> list[End]:
    """Piles, each with the room of its ring, told as bank soil of its loosest stream."""
    ends = []
    for name, pile in piles.items():
        takes = _takes(pile.takes)
        room = math.inf
        if not isinstance(pile.place, PointPlace):
            ring = _pile_ring(pile)
            loosest = max(means[stream].bulking for stream in takes)
            room = pile_capacity(ring, _angle(pile), value_of(pile, "most_height")) / loosest
        east, north = _middle(pile)
        ends.append(End(f"{PILE} {name}", PILE, east, north, takes, room=room))
    return ends


def _gate_ends(
    off_site: Mapping[str, OffSite], trucks: Mapping[str, TruckRow], means: Mapping[str, _Mean]
) -> list[End]:
    ends = []
    for name, place in off_site.items():
        if place.way == "export":
            takes = _takes(place.takes)
            loosest = max(means[stream].bulking for stream in takes)
            room = math.inf if place.most is None else place.most / loosest
            extra = max(_truck_time(place, trucks, means[stream]) for stream in takes)
            ends.append(
                End(
                    f"{OFF_SITE} {name}",
                    OFF_SITE,
                    place.gate.east,
                    place.gate.north,
                    takes,
                    room=room,
                    extra=extra,
                )
            )
    return ends


def _brought(
    off_site: Mapping[str, OffSite],
    trucks: Mapping[str, TruckRow],
    means: Mapping[str, _Mean],
    missing: Volume,
    grid: Grid,
) -> Source:
    """Soil that is missing, brought through the first gate that has some; else from the edge of the plan."""
    for place in off_site.values():
        if place.way == "import" and SOIL in _takes(place.takes):
            extra = _truck_time(place, trucks, means[SOIL])
            return Source(place.gate.east, place.gate.north, SOIL, missing, extra)
    return Source(grid.origin_east, grid.origin_north, SOIL, missing)


def _truck_time(place: OffSite, trucks: Mapping[str, TruckRow], mean: _Mean) -> Time:
    row = trucks.get(place.truck) if place.truck else None
    speed = TRUCK_SPEED if row is None or row.speed is None else row.speed
    truck = _truck(place, trucks)
    return truck_time(place.distance, mean.bulking, mean.density, truck.box, truck.payload, speed)


def _truck(place: OffSite, trucks: Mapping[str, TruckRow]) -> Truck:
    row = trucks.get(place.truck) if place.truck else None
    return STANDARD_TRUCK if row is None else Truck(row.box, row.payload, STANDARD_TRUCK.source)


def _carrier(machines: Mapping[str, Machine]) -> Carrier:
    for row in machines.values():
        if row.speed is not None:
            fill, efficiency = value_of(row, "fill"), value_of(row, "efficiency")
            return Carrier(row.bucket, fill, row.cycle, row.speed, efficiency)
    return STANDARD_CARRIER


def _digger(machines: Mapping[str, Machine]) -> Digger:
    for row in machines.values():
        if row.kind == "excavator":
            return Digger(row.bucket, value_of(row, "fill"), row.cycle, value_of(row, "efficiency"))
    return STANDARD_DIGGER


def _end_result(
    kind: str, name: str, plan: HaulPlan, view: Mapping[str, Any], means: Mapping[str, _Mean]
) -> EndResult:
    """What comes to one pile or gate, with its heap and its loads; soil that a gate gives counts as well."""
    volumes = {stream: plan.volume_to(f"{kind} {name}", stream) for stream in STREAMS}
    if kind == OFF_SITE and view["earth.off_site"][name].way == "import":
        gate = view["earth.off_site"][name].gate
        volumes[SOIL] += plan.volume_from((gate.east, gate.north))
    loose = sum(volume * means[stream].bulking for stream, volume in volumes.items())
    mass = sum(volume * means[stream].density for stream, volume in volumes.items())
    ring, footprint, loads = np.empty((0, 2)), 0.0, 0
    if kind == PILE:
        ring, footprint = _pile_lies(view["earth.piles"][name], loose)
    else:
        loads = truck_loads(loose, mass, _truck(view["earth.off_site"][name], view["earth.trucks"])).count
    return EndResult(ring, volumes[TOPSOIL], volumes[MUCK], volumes[SOIL], loose, footprint, loads)


def _pile_lies(pile: Pile, loose: Volume) -> tuple[Lengths, Area]:
    """Foot of a pile: the ring that was drawn, or the round heap of what comes to a point."""
    if not isinstance(pile.place, PointPlace):
        ring = _pile_ring(pile)
        return ring, float(Polygon(ring).area)
    round_heap: Heap = heap(loose, _angle(pile), value_of(pile, "most_height"))
    around = np.linspace(0.0, 2.0 * math.pi, 49)[:-1]
    circle = round_heap.radius * np.column_stack([np.cos(around), np.sin(around)])
    middle = np.array([pile.place.east, pile.place.north])
    return middle + circle, round_heap.footprint


def _pile_ring(pile: Pile) -> Lengths:
    assert not isinstance(pile.place, PointPlace)
    return ring_of(pile.place.curve).points


def _angle(pile: Pile) -> float:
    return PILE_ANGLE if pile.angle is None else pile.angle


def _middle(pile: Pile) -> tuple[Length, Length]:
    if isinstance(pile.place, PointPlace):
        return pile.place.east, pile.place.north
    at = Polygon(_pile_ring(pile)).representative_point()
    return at.x, at.y


def _taken(view: Mapping[str, Any]) -> set[str]:
    """Streams that some pile or gate takes."""
    rows: Sequence[Any] = (*view["earth.piles"].values(), *view["earth.off_site"].values())
    return {stream for row in rows for stream in _takes(row.takes)}


def _piles_in_the_way(
    piles: Mapping[str, Pile], told: Mapping[str, EndResult], shore: Any
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
