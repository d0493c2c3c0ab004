"""Problems of the ledger about stone: published masses, an edge by counts, stone on hand, a round pond."""

from __future__ import annotations

from typing import Any

import numpy as np

from pondwright.geometry.grid import Grid
from pondwright.rooms.shape.profile import bank_profile
from pondwright.rooms.stone.courses import counted, courses_of, foot_depth, hides, steps_of, stones_along
from pondwright.rooms.stone.layers import band_areas, true_area
from pondwright.rooms.stone.on_hand import Measured, Need, stand_ins
from pondwright.rooms.stone.pieces import forms, mass_by_size, riprap_rows
from pondwright.rooms.stone.walk import line_pieces, shore_walk

Answer = dict[str, Any]

POUND = 0.45359237
INCH = 0.0254
UNIT_WEIGHT = 165.0 * 16.01846337396014
"""165 lb/ft³, of the published tables. [kg/m³]"""


def by_size(inches: float, shape: str) -> float:
    """Mass of a stone in pounds by its size in inches, at 165 lb/ft³."""
    return mass_by_size(INCH * inches, shape, UNIT_WEIGHT) / POUND


def riprap_table(lightest: float) -> Answer:
    """Published masses of riprap against those by size: the largest difference, as a share."""
    found = [
        abs(mass_by_size(size, "blocky", UNIT_WEIGHT) / mass - 1.0)
        for row in riprap_rows()
        for size, mass in ((row.low, row.light), (row.high, row.heavy))
        if mass >= lightest
    ]
    return {"worst": max(found), "pairs": len(found), "rows": len(riprap_rows())}


def form(shape: str) -> Answer:
    """Shares of one shape."""
    found = forms()[shape]
    return {"fills": found.fills, "of_cube": found.of_cube, "of_axes": found.fills * found.long * found.short}


def edge(length: float, sizes: list[float], shares: list[float], gap: float, solid: float) -> Answer:
    """Stones along an edge, class by class, each of one size."""
    counts = [
        counted([stones_along(share * length, size, gap)])[0]
        for size, share in zip(sizes, shares, strict=True)
    ]
    masses = [count * mass_by_size(size, "blocky", solid) for size, count in zip(sizes, counts, strict=True)]
    total = float(sum(masses))
    return {"counts": counts, "masses": masses, "mass": total, "of_largest": masses[-1] / total}


def bank(points: list[list[float]], courses: int, height: float) -> Answer:
    """Courses of one bank."""
    profile = bank_profile([(float(distance), float(depth)) for distance, depth in points])
    found = courses_of(profile, courses, height)
    return {
        "steps": len(steps_of(profile)),
        "offsets": [course.offset for course in found],
        "rows": [course.rows for course in found],
        "hidden": [hides(height, course.riser, course.rows) for course in found],
        "feet": [foot_depth(profile, course.offset, height) for course in found],
    }


def on_hand(widths: list[float], role: str, low: float, high: float, use: str, count: int) -> Answer:
    """How many measured stones stand in for one need."""
    need = Need("stone", use, low, high, count)
    return {"used": len(stand_ins([need], {f"p{n}": Measured(w, role) for n, w in enumerate(widths)}))}


def round_pond(radius: float, offset: float, slope: float, spacing: float) -> Answer:
    """A round pond: its shore, the line farther in, and the sloped ring between them."""
    half = round((radius + 1.0) / spacing)
    grid = Grid(-half * spacing, -half * spacing, spacing, 2 * half + 1, 2 * half + 1)
    east, north = np.meshgrid(grid.east, grid.north)
    distance = radius - np.hypot(east, north)
    around = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    walk = shore_walk([radius * np.column_stack([np.cos(around), np.sin(around)])])
    band = band_areas(distance, grid, np.array([0.0, offset]))
    return {
        "shore": float(walk.lengths.sum()),
        "line": float(line_pieces(distance, grid, offset)[1].sum()),
        "band": true_area(float(band[0]), slope),
        "floor": float(band[1]),
    }
