"""The ends of all hauls: what is dug, placed and brought in blocks, piles and gates; and the plan of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from shapely import Polygon

from pondwright.base.kinds import Lengths, Ratio, Time, Volume, Volumes
from pondwright.geometry.grid import Grid
from pondwright.job.earth import OffSite, Pile
from pondwright.job.places import PointPlace
from pondwright.rooms.earth.cutfill import SoilMap
from pondwright.rooms.earth.drivable import Place
from pondwright.rooms.earth.haul import (
    OFF_SITE,
    PILE,
    PLACED,
    SOIL,
    STREAMS,
    End,
    HaulPlan,
    Source,
    blocks,
    haul_plan,
)
from pondwright.rooms.earth.machines import TRUCK_FIXED, TRUCK_TURN, truck_time
from pondwright.rooms.earth.stage.driving import Site, network_of
from pondwright.rooms.earth.stage.leaving import (
    Leaving,
    Sites,
    Stream,
    ring_at,
    stream_of,
    takes_of,
    truck_at,
)
from pondwright.rooms.earth.stage.shared import BLOCK, limits_of
from pondwright.rooms.earth.stage.soil import SoilResult
from pondwright.rooms.earth.stage.working import Crew


def planned(
    view: Mapping[str, Any], results: Mapping[str, Any], sites: Sites, crew: Crew, site: Site
) -> HaulPlan:
    """Hauls from what is dug and brought to what is placed, to piles and to gates.

    Parameters
    ----------
    view : mapping        `rules`.
    results : mapping     `site.ground`, `shape.shore`, `earth.subgrade`, `earth.soil`.
    sites : Sites
    crew : Crew
    site : Site           What machines keep clear of.

    Returns
    -------
    HaulPlan
    """
    soil, ground = results["earth.soil"], results["site.ground"]
    leaving: Leaving = soil.leaving
    finish = results["earth.subgrade"].z
    dug, placed = _cell_volumes(ground.z - finish, soil.soils, ground.grid)
    totals = totals_of(soil)
    need = totals[SOIL] + leaving.brought - leaving.streams[SOIL].volume
    sources = [
        Source(float(east), float(north), stream, float(volume))
        for stream in STREAMS
        for (east, north), volume in zip(*_scaled(dug[stream], totals[stream], ground.grid), strict=True)
    ]
    sources += _brought(leaving, sites)
    ends = [
        *_placed_ends(placed, need, ground.grid),
        *_pile_ends(sites.piles, leaving),
        *_gate_ends(leaving, sites, crew),
    ]
    bulking = {stream: each.bulking for stream, each in leaving.streams.items()}
    times = {stream: lambda distance, of=of: crew.carry_times(distance, of) for stream, of in bulking.items()}
    if not sources or not ends:
        return haul_plan(sources, ends, times)
    lie = [(source.east, source.north) for source in sources]
    places = np.array([*lie, *((end.east, end.north) for end in ends)])
    net = network_of(site, places, ground, finish, results["shape.shore"], sites.piles, limits_of(view))
    return haul_plan(sources, ends, times, net)


def mean_bulking(totals: Mapping[str, Volume], leaving: Leaving) -> Ratio:
    """Mean bulking of all that is dug.

    Parameters
    ----------
    totals : volumes by stream     In the bank. [m³]
    leaving : Leaving

    Returns
    -------
    Ratio                          [-]
    """
    loose = sum(volume * leaving.streams[stream].bulking for stream, volume in totals.items())
    whole = sum(totals.values())
    return loose / whole if whole > 0.0 else leaving.streams[SOIL].bulking


def totals_of(soil: SoilResult) -> dict[str, Volume]:
    """Volume of each stream as the soil account has it, in the bank.

    Parameters
    ----------
    soil : SoilResult

    Returns
    -------
    dict      Of volumes by stream. [m³]
    """
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
        End(end_name(PILE, name), PILE, *middle_of(row), takes_of(row.takes), room=leaving.rooms[name].room)
        for name, row in piles.items()
    ]


def _gate_ends(leaving: Leaving, sites: Sites, crew: Crew) -> list[End]:
    """Gates with what leaves through them, stream by stream, and the truck time of a cubic metre."""
    ends = []
    for name, share in leaving.gates.items():
        row = sites.off_site[name]
        if row.way == "export":
            for stream, volume in share.volumes.items():
                time = _road_time(row, leaving.streams[stream], sites, crew)
                takes = frozenset((stream,))
                place = (row.gate.east, row.gate.north)
                ends.append(End(end_name(OFF_SITE, name), OFF_SITE, *place, takes, room=volume, extra=time))
    return ends


def _brought(leaving: Leaving, sites: Sites) -> list[Source]:
    """Soil that gates give."""
    found = []
    for name, share in leaving.gates.items():
        row = sites.off_site[name]
        if row.way == "import" and share.volumes:
            time = _road_time(row, leaving.streams[SOIL], sites, None)
            place = row.gate.east, row.gate.north
            found.append(Source(*place, SOIL, share.volumes[SOIL], time, end_name(OFF_SITE, name)))
    return found


def _road_time(row: OffSite, stream: Stream, sites: Sites, crew: Crew | None) -> Time:
    """Truck time of a cubic metre in the bank; a crew of the site loads the truck, or somebody else."""
    truck, speed = truck_at(row, sites.trucks)
    fixed = TRUCK_FIXED if crew is None else TRUCK_TURN + load_time(row, stream, sites, crew)
    return truck_time(row.distance, stream.bulking, stream.density, truck.box, truck.payload, speed, fixed)


def load_time(row: OffSite, stream: Stream, sites: Sites, crew: Crew) -> Time:
    """Time in which the diggers fill one truck of a gate.

    Parameters
    ----------
    row : OffSite
    stream : Stream
    sites : Sites
    crew : Crew

    Returns
    -------
    Time     [s]
    """
    truck, _ = truck_at(row, sites.trucks)
    return crew.dig_time(min(truck.box / stream.bulking, truck.payload / stream.density), stream.bulking)


def middle_of(pile: Pile) -> Place:
    """Where soil for a pile is brought: its point, or a place in its ring.

    Parameters
    ----------
    pile : Pile

    Returns
    -------
    Place     [m]
    """
    ring = ring_at(pile)
    if ring is None:
        assert isinstance(pile.place, PointPlace)
        return pile.place.east, pile.place.north
    at = Polygon(ring).representative_point()
    return at.x, at.y


def end_name(kind: str, name: str) -> str:
    """Name of a pile or gate as the haul plan has it.

    Parameters
    ----------
    kind, name : str

    Returns
    -------
    str
    """
    return f"{kind} {name}"
