"""Problems of the ledger about the lining: basins whose ground lies flat in closed form."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np

from pondwright.geometry.grid import Grid
from pondwright.rooms.lining.area import (
    Bank,
    LinerGround,
    least_area,
    liner_area,
    liner_mesh,
    meshed_area,
)
from pondwright.rooms.lining.cover import cover, least_sizes
from pondwright.rooms.lining.laid import edge_lines, laid_sheet, laid_strips, seams_of
from pondwright.rooms.lining.panels import best_sheet, best_strips, lattice_of, sheet_near, strips_near
from pondwright.rooms.lining.proved_strips import proved_strips

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


@cache
def ring(
    length: float, width: float, island_length: float, island_width: float, roll: float, overlap: float
) -> Answer:
    """Level rectangle of water with a rectangular island in its middle: strips that end at the island."""
    grid = Grid(-0.5 * length - 1.0, -0.5 * width - 1.0, 0.1, *_nodes(length, width))
    east, north = np.meshgrid(grid.east, grid.north)
    outside = np.minimum(0.5 * length - np.abs(east), 0.5 * width - np.abs(north))
    island = np.minimum(0.5 * island_length - np.abs(east), 0.5 * island_width - np.abs(north))
    level = np.zeros(grid.shape)
    ground = LinerGround(grid, level, level, np.minimum(outside, -island))
    plan = best_strips(ground, 0.0, roll, overlap, [0.0])
    laid = laid_strips(ground, 0.0, plan)
    mesh = liner_mesh(ground, 0.0)
    places = cover(mesh, 0.0, length, width).places
    edge = edge_lines(ground, 0.0)
    near = strips_near(ground, 0.0, roll, overlap, plan)
    return {
        "parts": len(laid),
        "saved": plan.area - sum(piece.area for piece in laid),
        "seams": sum(seam.length for seam in seams_of(laid, plan.turned, ground)),
        "proved_parts": len(proved_strips(mesh, places, roll, overlap)),
        "edges": len(edge),
        "edge_length": sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in edge),
        "laid_length": laid_sheet(ground, 0.0, best_sheet(ground, 0.0, [0.0])).length,
        "least": least_area(ground, 0.0),
        "near_is_no_larger": near.area <= plan.area,
        "near_length": sheet_near(ground, 0.0, best_sheet(ground, 0.0)).length,
    }


def fall(length: float, width: float, drop: float) -> Answer:
    """Level channel with an upright fall in its middle: ground that lies flat as one rectangle."""
    grid = Grid(-0.5 * length - 1.0, -0.5 * width - 1.0, 0.1, *_nodes(length, width))
    east, north = np.meshgrid(grid.east, grid.north)
    distance = np.minimum(0.5 * length - np.abs(east), 0.5 * width - np.abs(north))
    below = east > 0.05
    way = np.stack([np.ones(grid.shape), np.zeros(grid.shape)])
    rest = np.where(below, -drop, 0.0)
    ground = LinerGround(grid, rest, np.zeros(grid.shape), distance, below.astype(np.int8), way)
    mesh = liner_mesh(ground, 0.0)
    lattice = lattice_of(ground, 0.0, 0.0, 10_000)
    line = lattice.along[lattice.along.shape[0] // 2]
    ends = lattice.of_rows[lattice.along.shape[0] // 2]
    return {
        "area": mesh.area,
        "half": meshed_area(mesh, np.full(grid.shape, 0.5)),
        "taped": float(line[ends[1]] - line[ends[0]]),
        "proved": cover(mesh, 0.0, length + drop, width).area,
    }


def _nodes(length: float, width: float) -> tuple[int, int]:
    """Columns and rows of a grid of 0.1 m with 1 m beyond a rectangle."""
    return round(10.0 * (length + 2.0)) + 1, round(10.0 * (width + 2.0)) + 1


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
