"""Problems of views and reach: small gardens with a known answer.

As in :mod:`pondwright.ledger.problems`, each function builds what a row of numbers cannot tell.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.rooms.shape.reach import (
    gentle,
    inward,
    ledge_widths,
    line_nearest,
    longest_run,
    path_slope,
    path_slopes,
    reached,
    runs,
    way_distance,
)
from pondwright.rooms.shape.shoreline import step_lengths
from pondwright.rooms.shape.sight import Eye, horizon, horizon_at, screens, sight_lines, waters_cover
from pondwright.rooms.shape.views import (
    balanced_eye,
    cell_shares_by_rays,
    fall_share,
    shore_seen,
    water_seen,
)

Answer = dict[str, Any]


def wall_shadow(eye_height: float, distance: float, top: float, spacing: float) -> Answer:
    """Square of flat water behind a long wall: where its shadow ends, and what is seen beyond."""
    grid = Grid(-0.4 * spacing, -3.0, spacing, round(20.0 / spacing) + 1, round(6.0 / spacing) + 1)
    eye = Eye(0.0, 0.0, eye_height)
    wall = screens(np.array([[distance, -99.0], [distance, 99.0]]), np.array([top, top]))
    ring = np.array([[distance + 0.5, -2.0], [18.0, -2.0], [18.0, 2.0], [distance + 0.5, 2.0]])
    water = signed_distance(grid, [ring])
    cover, levels = waters_cover(np.zeros(grid.shape), [(water, 0.0)]), np.zeros(grid.shape)
    coverage = ring_coverage(grid, [ring])
    over = horizon(cover, grid, eye, wall)
    swept, _ = water_seen(over, levels, coverage, grid, eye)
    rays, _, _, _ = cell_shares_by_rays(cover, levels, water > 0.0, coverage, grid, eye, wall)
    along = np.arange(distance + 0.01, 19.0, 0.001)
    line = np.column_stack([along, np.zeros(len(along))])
    sight = sight_lines(cover, grid, eye, line, np.zeros(len(line)), wall)
    row = int(np.argmin(np.abs(grid.north)))
    fall = np.array([[12.0, 0.0]]), np.array([-1.0, 0.0])
    return {
        "swept_end": float(grid.east[(over[row] > 0.0) & (grid.east > distance)].max()),
        "ray_end": float(line[sight.horizon > 0.0, 0].max()),
        "behind": float(horizon_at(cover, grid, eye, np.array([[1.5 * distance, 0.0]]), 0.0, wall)[0]),
        "swept_area": swept.area,
        "ray_area": rays.area,
        "needed": float(sight.needed[np.searchsorted(line[:, 0], 2.0 * distance)]),
        "fall": fall_share(cover, grid, eye, *fall, 0.5, -0.5, wall)[0],
        "shore": shore_seen(over, grid, ring, 0.0),
        "half_eye": balanced_eye(np.array([1.0, 2.0, 3.0, 4.0]), np.ones(4), 0.5),
    }


def shore_square(half: float, arm: float) -> Answer:
    """Square pond in level ground with a path along one side: what an arm reaches, and its ledge."""
    grid = Grid(-2.0 * half, -2.0 * half, 0.05, round(4.0 * half / 0.05) + 1, round(4.0 * half / 0.05) + 1)
    ring = half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    walk = np.vstack(
        [np.linspace(ring[side], ring[(side + 1) % 4], 400, endpoint=False) for side in range(4)]
    )
    distance = signed_distance(grid, [ring])
    z = -np.clip(distance, 0.0, 2.0)
    away, _ = way_distance(walk, np.array([[-2.0 * half, -half - 1.0], [2.0 * half, -half - 1.0]]), 1.0)
    mine = reached(away, np.zeros(len(walk)), arm, 0.45)
    ways = inward(walk, distance, grid)
    south = (np.abs(walk[:, 1] + half) < 1e-9) & (np.abs(walk[:, 0]) < half - 0.5)
    widths = ledge_widths(z, grid, walk[south], ways[south], np.zeros(south.sum()), 0.48, 1.0, samples=100)
    return {
        "reached": float(step_lengths(walk)[mine].sum()),
        "beyond": longest_run(~mine, step_lengths(walk))[0],
        "runs": len(runs(mine)),
        "inward": float(ways[south][:, 1].min()),
        "ledge": float(np.median(widths)),
    }


def hill_path(fall: float, limit: float) -> Answer:
    """Path of 10 m whose second half climbs."""
    grid = Grid(0.0, 0.0, 0.5, 21, 5)
    z = np.tile(np.maximum(grid.east - 5.0, 0.0) * fall, (5, 1))
    slopes, middles, piece = path_slopes(z, grid, np.array([[0.0, 1.0], [10.0, 1.0]]))
    found = path_slope(slopes, middles, piece, limit)
    return {
        "steepest": found.steepest,
        "steep_length": found.steep_length,
        "gentle": float(gentle(slopes, limit).sum()) * piece,
    }


def nearest(points: FloatArray, line: FloatArray) -> Answer:
    """Distances and stations of points beside a line."""
    away, station = line_nearest(points, line)
    return {"away": away.tolist(), "station": station.tolist()}
