"""Problems of the ledger about streams, mounds, ways, meeting waters, piles and hauls: known answers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from shapely import box

from pondwright.base.kinds import FloatArray
from pondwright.base.sources import PRACTICE
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import resampled
from pondwright.rooms.earth.haul import PLACED, SOIL, End, Source, blocks, haul_plan
from pondwright.rooms.earth.machines import Carrier, Digger, carry_time, dig_rate
from pondwright.rooms.earth.piles import heap
from pondwright.rooms.earth.states import Truck, truck_loads
from pondwright.rooms.shape.grading import Limits, fallen_floor, stream_limits
from pondwright.rooms.shape.laid import (
    FAR,
    LaidMound,
    LaidWay,
    free,
    mound_limits,
    part_of,
    way_limits,
    yielding,
)
from pondwright.rooms.shape.meeting import (
    meeting_walls,
    meetings,
    narrow_places,
    parts_when_lower,
    run_of_water,
    touches,
    water,
)
from pondwright.rooms.shape.mouths import gap, mouth_bed, own_water
from pondwright.rooms.shape.profile import bank_profile, steepest_run, zone_words
from pondwright.rooms.shape.stream import bed_share, corridor, node_stations, reaches

Answer = dict[str, Any]


def brook(length: float, width: float, falls: Sequence[Sequence[float]], spacing: float) -> Answer:
    """Straight stream along the east axis, with its banks, reaches and stations."""
    line = np.array([[0.0, 0.0], [length, 0.0]])
    found = corridor(line, np.array([width, width]))
    parts = reaches(length, [(station, drop) for station, drop in falls])
    grid = Grid(0.0, 0.0, spacing, columns=round(length / spacing) + 1, rows=3)
    station = node_stations(grid, line, (0, grid.rows, 0, grid.columns))
    share = bed_share(station[0], parts, spacing)
    depth = np.full(grid.shape, -1.0)
    inside = np.ones(grid.shape)
    region = np.zeros(grid.shape, dtype=np.int8)
    laid = stream_limits(
        Limits(depth, depth, region), inside, parts.drops[parts.reach_at(station)], np.ones_like(depth)
    )
    return {
        "ring_width": float(np.ptp(found.ring[:, 1])),
        "length": found.length,
        "drops": parts.drops,
        "ends": parts.ends,
        "stations": station[0],
        "on_sill": float(share[round(parts.ends[0] / spacing) - 1]),
        "free": float(share[0]),
        "last_bed": float(laid.lower[0, -1]),
    }


def heaped(side: float, height: float, slope: float, spacing: float) -> Answer:
    """Mound on a square foot, on level ground, in the middle of a grid, where nothing else holds."""
    grid = Grid(
        0.0, 0.0, spacing, columns=round(2.0 * side / spacing) + 1, rows=round(2.0 * side / spacing) + 1
    )
    half = 0.5 * side
    ring = np.array([[half, half], [3 * half, half], [3 * half, 3 * half], [half, 3 * half]])
    ground = np.zeros(grid.shape)
    limits = mound_limits([LaidMound(ring, height, slope)], ground, grid)
    nothing = (limits.lower.copy(), limits.upper.copy(), limits.region.copy())
    yielding(*nothing, np.ones(grid.shape, dtype=np.bool_))
    window, part = part_of(grid, ring, 0.0)
    return {
        "volume": float(np.maximum(limits.lower, 0.0).sum()) * spacing**2,
        "top": float(limits.lower.max()),
        "yields": float(nothing[0].max()),
        "free": float(free(grid.shape).upper.min()) - FAR,
        "part_east": part.origin_east - grid.origin_east - grid.spacing * window[1].start,
    }


def walk(width: float, level: float, cut: float, fill: float, spacing: float) -> Answer:
    """Level way across level ground at zero, by the section square across it."""
    grid = Grid(0.0, -20.0, spacing, columns=3, rows=round(40.0 / spacing) + 1)
    line = np.array([[-30.0, 0.0], [30.0, 0.0]])
    limits = way_limits([LaidWay(line, width, level)], grid, cut, fill)
    z = np.clip(0.0, limits.lower[:, 1], limits.upper[:, 1])
    return {"section": float(z.sum()) * spacing, "level": float(z[grid.rows // 2])}


def floor_falls(radius: float, reach: float, fall: float, spacing: float) -> Answer:
    """Round floor that falls to its middle."""
    grid = Grid(
        -radius,
        -radius,
        spacing,
        columns=round(2 * radius / spacing) + 1,
        rows=round(2 * radius / spacing) + 1,
    )
    inside = radius - np.hypot(grid.east[None, :], grid.north[:, None])
    level = np.full(grid.shape, -1.0)
    limits = Limits(level, level, np.zeros(grid.shape, dtype=np.int8))
    found = fallen_floor(limits, inside, reach, fall, (0.0, 0.0), grid)
    return {"deepest": -float(found.lower.min()), "edge": -float(found.lower[inside <= reach].min())}


def neck(width: float, asked: float, inset: float) -> Answer:
    """Two square basins joined by a neck, one of them with a stream that runs into it."""
    area = box(0, 0, 10, 10).union(box(9, 5 - width / 2, 21, 5 + width / 2)).union(box(20, 0, 26, 10))
    places = narrow_places(area, asked)
    pond = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    island = pond * 0.2 + 4.0
    return {
        "narrowest": places[0][1] if places else None,
        "parts": len(parts_when_lower(area, inset)),
        "water": water([pond, island]).area,
        "across": len(meetings({"a": box(0, 0, 4, 4), "b": box(3, 3, 7, 7)}, frozenset())),
        "joined": len(meetings({"a": box(0, 0, 4, 4), "b": box(3, 3, 7, 7)}, frozenset([frozenset("ab")]))),
        "touches": touches(np.array([[12.0, 5.0], [10.2, 5.0]]), box(0, 0, 10, 10), 0.3),
    }


def overflow(fall: float, hollow: float) -> Answer:
    """Plane that falls to the south, a body on it, another one or a hollow below; and a bank beside it."""
    grid = Grid(0.0, 0.0, 1.0, columns=21, rows=21)
    z = np.repeat(grid.north[:, None] * fall, 21, axis=1)
    z[8:11, 3:18] -= hollow
    own, lower = (np.zeros(grid.shape, dtype=np.bool_) for _ in range(2))
    own[14:17, 9:12] = True
    lower[3:6, 5:16] = True
    run = run_of_water(z, grid, (10.0, 13.0), own, {} if hollow else {"lower": lower})
    fine = Grid(0.0, 0.0, 0.1, columns=101, rows=101)
    beside = np.zeros(fine.shape)
    beside[:, 71:] = 1.0
    square = np.array([[3.0, 3.0], [7.0, 3.0], [7.0, 7.0], [3.0, 7.0]])
    [wall] = meeting_walls(resampled(square, 0.25), beside, fine, -0.1)
    return {"into": run.into == "lower", "hollow": run.ends_in_hollow, "wall": wall.top - wall.bottom}


def shelved(points: Sequence[Sequence[float]]) -> Answer:
    """Bank with a shelf and a riser, by the steepest of its slopes."""
    return {"steepest": steepest_run(bank_profile([(distance, depth) for distance, depth in points]))}


def zones_of_a_bank(points: Sequence[Sequence[float]]) -> Answer:
    """Zones of a bank in words, from the water's edge to the floor."""
    bank = bank_profile([(distance, depth) for distance, depth in points])
    return {"words": ", ".join(zone_words(bank, zone) for zone in range(len(points)))}


def shuttle(
    bucket: float, fill: float, fixed: float, speed: float, distance: float, efficiency: float
) -> Answer:
    """Loose volume that a carrier moves in an hour."""
    carrier = Carrier(bucket, fill, fixed, speed, efficiency)
    return {"loose": 3600.0 / carry_time(carrier, distance, 1.0)}


def digging(bucket: float, fill: float, cycle: float, efficiency: float, bulking: float) -> Answer:
    """Bank and loose volume that a digger moves in an hour."""
    bank = dig_rate(Digger(bucket, fill, cycle, efficiency), bulking)
    return {"bank": bank, "loose": bank * bulking}


def cone(diameter: float, height: float) -> Answer:
    """Volume of a conical heap of a diameter and a height, and its diameter back from the volume."""
    angle = math.atan2(height, 0.5 * diameter)
    volume = math.pi * diameter**2 * height / 12.0
    found = heap(volume, angle)
    return {"volume": found.volume, "diameter": 2.0 * found.radius, "height": found.height}


def two_ways(volumes: Sequence[float], needs: Sequence[float], cells: FloatArray) -> Answer:
    """Two sources on a line and two places between them; the best plan never crosses."""
    sources = [Source(0.0, 0.0, SOIL, volumes[0]), Source(30.0, 0.0, SOIL, volumes[1])]
    takes = frozenset((SOIL,))
    ends = [
        End(PLACED, PLACED, 10.0, 0.0, takes, need=needs[0]),
        End(PLACED, PLACED, 20.0, 0.0, takes, need=needs[1]),
    ]
    plan = haul_plan(sources, ends, {SOIL: lambda distance: distance})
    middles, sums = blocks(
        cells, Grid(0.0, 0.0, 1.0, columns=cells.shape[1] + 1, rows=cells.shape[0] + 1), 2.0
    )
    loads = truck_loads(sum(volumes), 0.0, Truck(7.0, 1e9, PRACTICE))
    return {
        "time": plan.time,
        "placed": plan.volume_to(PLACED),
        "sums": sums,
        "first": middles[0],
        "loads": loads.count,
    }


def mouth(depth: float, level: float, slope: float, spacing: float, away: float, half: float) -> Answer:
    """Mouth of a brook at level zero in the bank of a square pond, and an end of it before the shore."""
    outward = np.array([spacing, 3.0 * spacing, 6.0])
    bed = mouth_bed(np.full(3, -depth), np.zeros(3), outward, outward / slope, level, spacing)
    square = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    way = gap((half + away, 0.0), square, 2.0 * away)
    own = own_water(np.ones((1, 3), dtype=np.bool_), [np.array([[-1.0, 1.0, -1.0]])])
    return {
        "bed": bed,
        "way": float("nan") if way is None else float(np.hypot(*(way[1] - way[0]))),
        "own": float(own.sum()),
    }
