"""Problems of the ledger about levels, bends of a shore, and the stone that hides a riser: known answers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from shapely import box, union_all

from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import enclosed_area
from pondwright.rooms.earth.balance import exact_level, followed_level
from pondwright.rooms.earth.levels import bank_area, bed_area, filled, highest_raise, shore_inset, with_row
from pondwright.rooms.shape.bends import (
    Outline,
    enlarged,
    facing_weights,
    more_shore,
    narrowest,
    of_area,
    pushed,
    reach_weights,
    rounder,
    seen_weights,
    waved,
)
from pondwright.rooms.shape.profile import bank_profile, riser_walls
from pondwright.rooms.shape.stone_fit import riser_for, stone_fits

Answer = dict[str, Any]


def round_bank(
    points: Sequence[tuple[float, float]],
    radius: float,
    spacing: float,
    drop: float,
    slope: float,
    rise: float,
) -> Answer:
    """Round pond with a bank: its bed with the water lowered, and the band of bank up to a rise."""
    grid = Grid(0.0, 0.0, spacing, *(round(2.6 * radius / spacing) + 1,) * 2)
    angles = 2.0 * math.pi * np.arange(720) / 720
    ring = 1.3 * radius + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    distance = signed_distance(grid, [ring])
    profile = bank_profile([(float(place), float(depth)) for place, depth in points])
    area = abs(enclosed_area([ring]))
    walls = riser_walls(profile, distance, grid, 0.0, [ring])
    return {
        "bed": bed_area(profile, distance, grid, area, walls, drop),
        "bank": bank_area(distance, grid, area, slope, rise),
        "inset": shore_inset(profile, drop),
    }


def level_rows(levels: Sequence[float], level: float, heights: Sequence[float], freeboard: float) -> Answer:
    """Rows of a table with one level among them, and how far the rim is raised at each."""
    rows, at = with_row(np.array(levels), level)
    return {"rows": rows, "at": at, "raised": highest_raise(np.array(heights), rows + freeboard)}


def box_hole(side: float, depth: float, spacing: float, levels: Sequence[float]) -> Answer:
    """Square hole whose sides rise within one cell, in level ground at zero, filled to some levels."""
    count = round(3.0 * side / spacing) + 1
    grid = Grid(0.0, 0.0, spacing, count, count)
    inside = (grid.east > side - 1e-9) & (grid.east < 2.0 * side + 1e-9)
    within = inside[:, None] & inside[None, :]
    found = filled(np.where(within, -depth, 0.0), within, grid, np.array(levels))
    return {"volumes": found.volumes, "areas": found.areas, "over": found.runs_over, "lip": found.lip}


def bent(sides: int, radius: float, stretch: float, ratio: float, amplitude: float, factor: float) -> Answer:
    """Oval of straight pieces, bent every way there is: its area and length before and after."""
    angles = 2.0 * math.pi * np.arange(sides) / sides
    pegs = radius * np.column_stack([stretch * np.cos(angles), np.sin(angles)])
    drawn = Outline(pegs, (True,) * sides)
    more, less = more_shore(drawn, ratio), rounder(drawn, 0.5)
    wavy = waved(drawn, 2, 0.0, amplitude)
    return {
        "area": drawn.area,
        "length": drawn.length,
        "more": None if more is None else [more.area / drawn.area, more.length / drawn.length],
        "less": None if less is None else [less.area / drawn.area, less.length / drawn.length],
        "waved_area": wavy.area / drawn.area,
        "enlarged": [
            enlarged(drawn, factor).area / drawn.area,
            enlarged(drawn, factor).length / drawn.length,
        ],
        "of_area": of_area(drawn, 9.0).length,
    }


def dumbbell(side: float, neck: float, least: float) -> Answer:
    """Two squares of water joined by a neck."""
    half = 0.5 * neck
    water = union_all(
        [box(0, 0, side, side), box(side - 1, side / 2 - half, side + 4, side / 2 + half),
         box(side + 3, 0, 2 * side + 3, side)]
    )  # fmt: skip
    return {"width": narrowest(water, least)}


def hiding(points: Sequence[tuple[float, float]], stone: float) -> Answer:
    """Stone that hides each riser of a bank, its shelf, and the riser for a stone."""
    fits = stone_fits(bank_profile([(float(place), float(depth)) for place, depth in points]))
    return {
        "smallest": [fit.smallest for fit in fits],
        "largest": [fit.largest for fit in fits],
        "spare": [fit.spare for fit in fits],
        "riser": list(riser_for(stone)),
    }


def towards(sides: int, radius: float, amplitude: float, rate: float, level: float) -> Answer:
    """Round shore pushed outward all round, as seen and reached from the east, and a level that follows."""
    angles = 2.0 * np.pi * np.arange(sides) / sides
    pegs = radius * np.column_stack([np.cos(angles), np.sin(angles)])
    outline = Outline(pegs, (False,) * sides)
    out = pushed(outline, np.ones(sides), amplitude)
    facing = facing_weights(outline, (10.0 * radius, 0.0))
    seen = seen_weights(pegs, pegs, np.where(np.arange(sides) < sides // 2, 1.0, 0.0))
    reach = reach_weights(outline, radius + 1.8 - pegs[:, 0], 1.2, 0.25)
    return {
        "reach": [float(reach[0]), float(reach[sides // 2])],
        "radii": [float(np.hypot(*out.pegs.T).min()), float(np.hypot(*out.pegs.T).max())],
        "facing": [float(facing[0]), float(facing[sides // 4]), float(facing[sides // 2])],
        "seen": [float(seen.min()), float(seen.max())],
        "level": followed_level(lambda at: rate * (level - at), level - 0.1, 0.1 * rate),
        "balanced": exact_level(
            lambda at: rate * (level - at) + (level - at) ** 3,
            lambda at: rate * (level - 0.1 - at),
            level - 0.1,
            {},
            1e-3,
        ),
    }
