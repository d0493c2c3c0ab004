"""Problems of the ledger about drains: lines, pipe on hand and routes with a known answer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.grid import Grid
from pondwright.rooms.groundwater.lines import stations as distances
from pondwright.rooms.groundwater.pipes import (
    Need,
    backed_up,
    cut_line,
    eyes_outside,
    falls_of,
    full_flow,
    gathered,
    part_full,
    pipe_used,
    rodding_eyes,
    trench_volume,
)
from pondwright.rooms.groundwater.route import Ends, Trench, TrenchGround, grid_route, laid, least_trench
from pondwright.rooms.groundwater.spacing import (
    hooghoudt_recharge,
    hooghoudt_spacing,
    sump_volume,
    time_to_fill,
)

Answer = dict[str, Any]


def drain_line(points: FloatArray, inverts: FloatArray, flood: float, ground: float) -> Answer:
    """Drain under level ground: falls, the flood that backs up into it, eyes, its trench 0.5 m wide."""
    line = cut_line(points, inverts, 1.0)
    deepest, dug = trench_volume(line.chainage, ground - line.invert, 0.5)
    falls = falls_of(line)
    return {
        "length": float(line.chainage[-1]),
        "stations": len(line.chainage),
        "least": min(falls),
        "falls": list(falls),
        "flooded": backed_up(line, flood),
        "eyes": list(rodding_eyes(points, 45.0)),
        "outside": list(
            eyes_outside(rodding_eyes(points, 45.0), line.chainage, np.abs(line.chainage - 25.0) < 9.5)
        ),
        "deepest": deepest,
        "dug": dug,
    }


def under_liner(area: float, rate: float, diameter: float, fall: float, roughness: float) -> Answer:
    """Water under a liner of an area [m/day over m²] in one pipe."""
    flow = area * rate / 86_400.0
    full = full_flow(diameter, fall, roughness)
    water = part_full(flow, diameter, fall, roughness)
    return {"litres": 1000.0 * flow, "share": flow / full, "depth": water.depth, "full": water.full}


def half_pipe(diameter: float, fall: float, roughness: float) -> Answer:
    """Half of the full flow runs half as deep, and as fast as the full pipe."""
    full = full_flow(diameter, fall, roughness)
    water = part_full(0.5 * full, diameter, fall, roughness)
    area = 0.25 * np.pi * diameter**2
    return {"depth": water.depth, "speed_ratio": water.speed * area / full}


def stock(needs: Sequence[Sequence[float]], there: Sequence[Sequence[float]]) -> Answer:
    """Lengths and diameters of drains, and of pipe on hand, all slotted and corrugated."""
    used = pipe_used(_needs("drain", needs), _needs("pipe", there))
    return {"used": sum(used.values()), "first": used.get(("drain0", "pipe0"), 0.0)}


def flows(own: FloatArray, into: Sequence[str]) -> Answer:
    """Flow at the end of each of the drains a, b, c."""
    names = [chr(ord("a") + number) for number in range(len(into))]
    taken = dict(zip(names, map(float, own), strict=True))
    return dict(gathered(taken, dict(zip(names, into, strict=True))))


def spacing_round(
    recharge: float, below: float, above: float, height: float, depth: float, radius: float
) -> Answer:
    """Spacing of drains, and the recharge that this spacing leads away again."""
    spacing = hooghoudt_spacing(recharge, below, above, height, depth, radius)
    return {
        "spacing": spacing,
        "again": hooghoudt_recharge(spacing, below, above, height, depth, radius),
    }


def sump(pump: float, starts: float, inflow: float) -> Answer:
    """Sump of a pump [L/s], and the minutes in which an inflow [L/s] fills it in a power cut."""
    volume = sump_volume(pump / 1000.0, starts)
    return {"volume": volume, "minutes": time_to_fill(volume, inflow / 1000.0) / 60.0}


def flat_route(
    start: Sequence[float], end: Sequence[float], upper: float, lower: float, fall: float
) -> Answer:
    """Level ground at 1 m, pipe's bottom at most at 0.5 m, trench 0.5 m wide, on a grid of 10 m."""
    ground = _level(None)
    ends = Ends((start[0], start[1]), upper, (end[0], end[1]), lower)
    trench = Trench(0.5, 0.0, fall)
    route, way = least_trench(ground, ends, trench), grid_route(ground, ends, trench)
    straight = laid(ground, np.array([start, end], dtype=np.float64), ends, trench)
    return {
        "found": route is not None,
        "length": None if route is None else route.length,
        "volume": None if route is None else route.volume,
        "on_grid": None if way is None else float(distances(way[0])[-1]),
        "straight": straight.volume,
        "spare": straight.spare,
    }


def route_round_a_wall() -> Answer:
    """Level ground again, and a wall between the ends that leaves a way round its northern end only."""
    from shapely import box

    ground = _level(box(4.2, -1.0, 5.8, 3.5))
    ends, trench = Ends((0.0, 0.0), 0.4, (10.0, 0.0), 0.0), Trench(0.5, 0.0, 0.01)
    route, way = least_trench(ground, ends, trench), grid_route(ground, ends, trench)
    assert route is not None
    assert way is not None
    return {"length": route.length, "volume": route.volume, "on_grid": way[1]}


def _level(barred: Any) -> TrenchGround:
    grid = Grid(0.0, 0.0, 1.0, 11, 11)
    return TrenchGround(grid, np.full(grid.shape, 1.0), np.full(grid.shape, 0.5), barred)


def _needs(word: str, rows: Sequence[Sequence[float]]) -> dict[str, Need]:
    return {
        f"{word}{number}": Need(float(length), float(diameter), True, "corrugated")
        for number, (length, diameter) in enumerate(rows)
    }
