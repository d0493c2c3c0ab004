"""Problems of the ledger about the ground as its water sees it: layers, lines, and the fit to readings."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.grid import Grid
from pondwright.rooms.groundwater.aquifer import (
    Permeable,
    Plane,
    WaterLayer,
    between,
    border_widths,
    ground_far_off,
    kind_permeability,
    layers_of_cells,
    regional_plane,
    thinned,
    water_grid,
)
from pondwright.rooms.groundwater.fit import (
    Read,
    Undisturbed,
    far_level,
    fitted,
    seep_flows,
    total,
    undisturbed_heads,
    weighted_fit,
)
from pondwright.rooms.groundwater.heads import Ground, transmissivity
from pondwright.rooms.groundwater.lines import lengths_in_cells, line_conductance

Answer = dict[str, Any]


def seam(depth: float, above: float, thick: float, below: float) -> Answer:
    """Silt with a seam of sand in it, above a base that is told; transmissivity of the full ground."""
    silt, sand = Permeable(5e-8, 2e-7, 1e-6), Permeable(5e-6, 2e-5, 8e-5)
    layers = [
        WaterLayer("silt", above, silt),
        WaterLayer("sand", thick, sand),
        WaterLayer("silt", None, silt),
    ]
    z = np.array([[0.0, 1.0], [2.0, 3.0]])
    found = layers_of_cells(z, np.zeros((2, 2), dtype=np.int16), [layers], -depth)
    open_end = layers_of_cells(z, np.zeros((2, 2), dtype=np.int16), [layers])
    ground = Ground(
        1.0, found.top, found.bottom, found.permeability["likely"], found.base, np.full((2, 2), 99.0)
    )
    high = between(found.permeability, 1.0)
    return {
        "transmissivity": float(transmissivity(ground, z)[0, 0]),
        "higher": float(high[2, 0, 0] / found.permeability["likely"][2, 0, 0]),
        "base": float(found.base[1, 1]),
        "open_base": float(open_end.base[0, 0]),
        "placed": float(found.permeability["likely"][0, 0, 0]),
        "below": below,
    }


def cells(grid: Grid, most: int) -> Answer:
    """Grid of the groundwater, and a plane seen on it."""
    thin, step = water_grid(grid, most)
    plane = Plane(3.0, 0.1, -0.2, (0.0, 0.0))
    worst = np.abs(thinned(plane.over(grid), thin, step) - plane.over(thin)).max()
    return {"step": step, "columns": thin.columns, "rows": thin.rows, "worst": float(worst)}


def sides(grid: Grid, distance: float, rise: float) -> Answer:
    """Borders of a grid: the far level's ground, and the width of each side over its distance."""
    told = {"north": distance, "east": 0.0, "south": distance, "west": None}
    width = border_widths(grid, told)
    far = ground_far_off(np.zeros(grid.shape), Plane(0.0, 0.0, rise, (0.0, 0.0)), told)
    return {
        "north": float(width[-1, 1]),
        "east": float(width[1, -1]),
        "west": float(width[1, 0]),
        "far_north": float(far[-1, 1]),
        "far_south": float(far[0, 1]),
    }


def slanting_drain(grid: Grid, line: FloatArray, levels: FloatArray) -> Answer:
    """A drain across cells: its length in all, its mean level, and how easily water gets into 1 m of it."""
    length, level = lengths_in_cells(grid, line, levels)
    way = line_conductance(np.ones(1), np.array([1e-5]), np.array([math.pi * math.e * 0.1]), 0.1)
    return {
        "length": float(length.sum()),
        "mean": float((length * level).sum() / length.sum()),
        "cells": int(np.count_nonzero(length)),
        "conductance": float(way[0]),
    }


def known_plane(level: float, east: float, north: float, readings: FloatArray) -> Answer:
    """Even ground under a plane of water, read without error: the fit gives the plane back."""
    grid = Grid(0.0, 0.0, 2.0, 21, 21)
    plane = Plane(level, east, north, (20.0, 20.0))
    deep = np.zeros((1, *grid.shape))
    ground = Ground(
        grid.spacing, deep + 50.0, deep - 50.0, deep + 1e-5, deep[0] - 50.0, np.full(grid.shape, -40.0)
    )
    width = border_widths(grid, dict.fromkeys(("north", "east", "south", "west"), 0.0))
    site = Undisturbed(grid, np.full(grid.shape, 1e3), ground, (), (), width, np.zeros(grid.shape), 1.0)
    heads = undisturbed_heads(site, plane, 1.0, None)
    reads = [
        Read(float(x), float(y), float(heads.head[int(y) // 2, int(x) // 2]), 0.001) for x, y in readings
    ]
    found = fitted(site, reads, Plane(0.0, 0.0, 0.0, (0.0, 0.0)))
    again = regional_plane(readings, np.array([read.level for read in reads]))
    line = weighted_fit(
        lambda numbers: numbers[0] + numbers[1] * readings[:, 0] + numbers[2] * readings[:, 1],
        np.zeros(3),
        1.0 + 0.5 * readings[:, 0],
        np.full(len(readings), 1e-3),
        np.zeros(3),
        np.full(3, 100.0),
    )
    return {
        "east": found.plane.east,
        "north": found.plane.north,
        "worst": float(np.abs(found.residuals).max()),
        "lid": float((far_level(site, plane) - plane.over(grid)).max()),
        "through": again.level - float(np.mean([read.level for read in reads])),
        "slope": float(line.numbers[1]),
    }


def two_seeps(spacing: float, out: float) -> Answer:
    """Water that comes out along a row of cells with a seep at each end."""
    grid = Grid(0.0, 0.0, spacing, 5, 2)
    flows = np.full(grid.shape, out)
    seeps = np.array([[0.0, 0.0], [4.0 * spacing, 0.0]])
    return {"sum": float(seep_flows(flows, grid, seeps).sum()), "total": total(flows)}


def by_kind(kind: str) -> Answer:
    """Permeability of a kind of soil by its texture [mm/h]."""
    return {"likely": 3.6e6 * kind_permeability(kind)[0].likely}
