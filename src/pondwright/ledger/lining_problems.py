"""Problems of the ledger about the lining: basins whose ground lies flat in closed form."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np

from pondwright.geometry.grid import Grid
from pondwright.rooms.lining.area import Bank, LinerGround, liner_area, liner_mesh
from pondwright.rooms.lining.cover import cover, least_sizes
from pondwright.rooms.lining.panels import best_sheet, best_strips

Answer = dict[str, Any]


@cache
def hipped_basin(
    length: float,
    width: float,
    depth: float,
    slope: float,
    freeboard: float = 0.0,
    edge: float = 0.0,
    roll: float = 6.0,
    overlap: float = 0.15,
    turned: float = 0.0,
    spacing: float = 0.1,
) -> Answer:
    """Rectangle of water whose four sides slope alike, up to a freeboard and on over a level edge."""
    beyond = slope * freeboard + edge
    ground = _basin(length, width, depth, slope, freeboard, beyond, math.radians(turned), spacing)
    offsets = np.array([-99.0, -slope * freeboard, slope * depth])
    bank = Bank(offsets, np.array([0.0, 1.0 / slope, 0.0]), np.empty(0), np.empty(0))
    sheet = best_sheet(ground, beyond, [math.radians(turned)])
    plan = best_strips(ground, beyond, roll, overlap, [math.radians(turned)])
    mesh = liner_mesh(ground, beyond)
    found = cover(mesh, sheet.turned, sheet.length, sheet.width)
    return {
        "wetted": liner_area(ground.distance, ground.grid, [bank], 0.0),
        "area": liner_area(ground.distance, ground.grid, [bank], beyond),
        "meshed": mesh.area,
        "length": sheet.length,
        "width": sheet.width,
        "strips": len(plan.strips),
        "ordered": plan.area,
        "seams": plan.seams,
        "proved_length": found.length,
        "proved_width": found.width,
        "proved_within_a_tenth": mesh.area <= found.area <= 1.10 * sheet.area,
        "stretched": bool(1.0 / least_sizes(mesh, found.places).min() > 1.0 + 1e-9),
    }


def trough(length: float, width: float, depth: float, slope: float, spacing: float) -> Answer:
    """Piece of a long trough: it slopes in one direction alone, so tapes over the ground are exact."""
    columns, rows = round(length / spacing) + 1, round(width / spacing) + 1
    grid = Grid(0.0, -0.5 * width, spacing, columns, rows)
    distance = np.repeat((0.5 * width - np.abs(grid.north))[:, None], columns, axis=1)
    rest = -np.minimum(distance / slope, depth)
    ground = LinerGround(grid, rest, np.zeros_like(rest), distance)
    bank = Bank(np.array([0.0, slope * depth]), np.array([1.0 / slope, 0.0]), np.empty(0), np.empty(0))
    mesh, sheet = liner_mesh(ground, 0.5 * spacing), best_sheet(ground, 0.0, [0.0])
    return {
        "area": liner_area(distance, grid, [bank], 0.0),
        "meshed": mesh.area,
        "length": max(sheet.length, sheet.width),
        "width": min(sheet.length, sheet.width),
    }


def square(places: list[list[float]]) -> Answer:
    """A level square of 1 by 1, its four corners laid on a sheet: how small it lies there against itself."""
    ground = LinerGround(Grid(0.0, 0.0, 1.0, 2, 2), np.zeros((2, 2)), np.zeros((2, 2)), np.ones((2, 2)))
    mesh = liner_mesh(ground, 0.0)
    return {"least": float(least_sizes(mesh, np.array(places)).min())}


def _basin(
    length: float,
    width: float,
    depth: float,
    slope: float,
    freeboard: float,
    beyond: float,
    turned: float,
    spacing: float,
) -> LinerGround:
    reach = (
        math.hypot(0.5 * length + beyond, 0.5 * width + beyond)
        if turned
        else 0.5 * max(length, width) + beyond
    )
    half = math.ceil((reach + 2.0 * spacing) / spacing)
    grid = Grid(-half * spacing, -half * spacing, spacing, 2 * half + 1, 2 * half + 1)
    east, north = np.meshgrid(grid.east, grid.north)
    along = east * math.cos(turned) + north * math.sin(turned)
    across = north * math.cos(turned) - east * math.sin(turned)
    distance = np.minimum(0.5 * length - np.abs(along), 0.5 * width - np.abs(across))
    rest = -np.clip(distance / slope, -freeboard, depth)
    return LinerGround(grid, rest, np.zeros_like(rest), distance)
