"""Surfaces on the default grid of 300 x 300 nodes: times, peers, and accuracy against closed forms.

The peers run in the same process on the same arrays: scipy's linear interpolation for the ground,
sums over numpy masks for the storage, clipped numpy sums for cut and fill.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, log2, pi, sqrt, tan

import numpy as np
from scipy.interpolate import LinearNDInterpolator, griddata

from bench.rows import Row, at_least, at_most, best_seconds
from pondwright.base.kinds import Elevations, FloatArray
from pondwright.geometry.contour import contour_lines
from pondwright.geometry.flood import basin
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import shot_weights, tin_to_grid, triangulate
from pondwright.geometry.volume import (
    difference_volumes,
    layer_volumes,
    richardson,
    stage_storage,
    volume_below,
)

SIDE = 30.0
NODES = 300
SHOTS = 2000
LEVELS = np.linspace(-1.2, 0.1, 64)


def rows() -> list[Row]:
    """Times and ratios of the ground, the volumes and the contours, then their accuracy."""
    return [*ground_rows(), *volume_rows(), *accuracy_rows()]


def ground_rows() -> list[Row]:
    """From 2,000 shots to the grid."""
    grid = square(NODES)
    points = np.vstack([
        SIDE * np.array([[-0.6, -0.6], [0.6, -0.6], [0.6, 0.6], [-0.6, 0.6]]),
        SIDE * (np.random.default_rng(1).random((SHOTS - 4, 2)) - 0.5) * 1.2,
    ])  # fmt: skip
    heights = 0.3 * np.sin(points[:, 0] / 3.0) + 0.2 * np.cos(points[:, 1] / 4.0)
    tin = triangulate(points, heights)
    places = np.stack(np.meshgrid(grid.east, grid.north), axis=-1)
    weight = np.ones(grid.shape)

    def whole() -> object:
        return tin_to_grid(triangulate(points, heights), grid)

    seconds = best_call(whole)
    linear = best_call(lambda: LinearNDInterpolator(points, heights)(places))
    gridded = best_call(lambda: griddata(points, heights, places, method="linear"))
    return [
        milliseconds("surfaces: 2,000 shots to the grid, with triangulation", whole, goal=2.0),
        milliseconds("surfaces: triangulation of 2,000 shots", lambda: triangulate(points, heights)),
        milliseconds("surfaces: triangles to the grid", lambda: tin_to_grid(tin, grid), goal=0.6),
        milliseconds("surfaces: weights of the shots", lambda: shot_weights(tin, grid, weight)),
        beside("surfaces: 2,000 shots to the grid", seconds, "scipy LinearNDInterpolator", linear, 60.0),
        beside("surfaces: 2,000 shots to the grid", seconds, "scipy griddata", gridded, 60.0),
    ]


def volume_rows() -> list[Row]:
    """Volumes, storage, flood and contours of a round pond with a bank on sloping ground."""
    grid = square(NODES)
    east, _ = np.meshgrid(grid.east, grid.north)
    distance = inside_polygon(grid)
    ground = 0.02 * east - 0.1
    bank = np.minimum(-distance / 2.0, 0.3)
    z = np.where(distance > 0.0, -np.minimum(distance / 3.0, 1.2), np.maximum(bank, ground))
    z = np.where(distance < -3.0, ground, z)
    heights = np.linspace(-1.1, 0.3, 10)

    def storage() -> object:
        return stage_storage(z, LEVELS, grid)

    def earthworks() -> object:
        return difference_volumes(z, ground, grid)

    return [
        milliseconds("surfaces: cut and fill", earthworks, goal=0.3),
        milliseconds("surfaces: volume and area at one level", lambda: volume_below(z, 0.0, grid), goal=0.3),
        milliseconds("surfaces: storage at 64 levels", storage, goal=0.7),
        milliseconds("surfaces: cut by three layers", lambda: layer_volumes(ground, z, [0.2, 0.5], grid)),
        milliseconds("surfaces: basin up to its lip", lambda: basin(z, distance > 0.0, grid)),
        milliseconds("surfaces: contours at 10 levels", lambda: contour_lines(z, grid, heights), goal=5.0),
        beside(
            "surfaces: storage at 64 levels",
            best_call(storage),
            "numpy masked sums",
            best_call(lambda: masked_sums(z, grid)),
            10.0,
        ),
        beside(
            "surfaces: cut and fill",
            best_call(earthworks),
            "numpy clipped sums",
            best_call(lambda: clipped_sums(z, ground, grid)),
        ),
    ]


def accuracy_rows() -> list[Row]:
    """Relative errors on the frustum over a polygon of 720 sides, at spacings 0.4, 0.2 and 0.1 m."""
    volumes, areas = np.array([frustum_found(nodes) for nodes in (76, 151, 301)]).T
    area, floor = frustum_area(0.0), frustum_area(3.6)
    volume = 1.2 / 3.0 * (area + floor + sqrt(area * floor))
    by_volume, by_area = np.abs(volumes / volume - 1.0), np.abs(areas / area - 1.0)
    orders = [log2(errors[0] / errors[2]) / 2.0 for errors in (by_volume, by_area)]
    pair = abs(richardson(volumes[2], volumes[1]) / volume - 1.0)
    return [
        Row("surfaces: frustum, volume, error at 0.1 m", by_volume[2], "-", goal=at_most(1e-4)),
        Row("surfaces: frustum, volume by Richardson, error at 0.1 m", pair, "-", goal=at_most(1e-6)),
        Row("surfaces: frustum, volume, order", orders[0], "-", goal=at_least(1.8)),
        Row("surfaces: frustum, area, order", orders[1], "-", goal=at_least(1.8)),
    ]


def square(nodes: int) -> Grid:
    """Grid over a square of 30 m with its middle at (0, 0)."""
    return Grid(-SIDE / 2, -SIDE / 2, SIDE / (nodes - 1), nodes, nodes)


def inside_polygon(grid: Grid) -> FloatArray:
    """Distance to the nearest side of a polygon of 720 sides and radius 8 m, positive inside. [m]"""
    east, north = np.meshgrid(grid.east, grid.north)
    step = 2.0 * pi / 720
    folded = np.mod(np.arctan2(north, east) + step / 2.0, step) - step / 2.0
    return np.asarray(8.0 * cos(pi / 720) - np.hypot(east, north) * np.cos(folded))


def frustum_area(offset: float) -> float:
    """Area of that polygon, drawn in by an offset. [m²]"""
    return 720 * tan(pi / 720) * (8.0 * cos(pi / 720) - offset) ** 2


def frustum_found(nodes: int) -> tuple[float, float]:
    """Volume and area of the frustum with sides 1:3, 1.2 m deep, on a grid. [m³, m²]"""
    grid = square(nodes)
    return volume_below(-np.clip(inside_polygon(grid) / 3.0, -2.0, 1.2), 0.0, grid)


def masked_sums(z: Elevations, grid: Grid) -> list[tuple[float, float]]:
    """Storage as it is often written: one mask and one sum a level."""
    found = []
    for level in LEVELS:
        wet = z < level
        found.append((float((level - z[wet]).sum()) * grid.cell_area, float(wet.sum()) * grid.cell_area))
    return found


def clipped_sums(upper: Elevations, lower: Elevations, grid: Grid) -> tuple[float, float]:
    """Cut and fill as it is often written: sums over the nodes."""
    change = upper - lower
    placed, dug = np.maximum(change, 0.0).sum(), np.maximum(-change, 0.0).sum()
    return float(placed * grid.cell_area), float(dug * grid.cell_area)


def best_call(work: Callable[[], object]) -> float:
    """Seconds of the quickest of 25 single calls, for us and for the peers alike.

    Now and then scipy takes a second or more to evaluate where it usually takes 5 ms: a mean over
    calls, or the best of a few, would flatter us up to fifty times.
    """
    return best_seconds(work, repeats=25, at_least_seconds=0.0)


def milliseconds(name: str, work: Callable[[], object], goal: float | None = None) -> Row:
    """Time of one call."""
    return Row(name, best_seconds(work) * 1e3, "ms", goal=None if goal is None else at_most(goal))


def beside(name: str, seconds: float, peer: str, peer_seconds: float, times: float | None = None) -> Row:
    """Time of one call beside a peer's, with how many times faster it should be."""
    goal = None if times is None else at_most(1.0 / times)
    return Row(f"{name}, beside {peer}", seconds * 1e3, "ms", peer, peer_seconds * 1e3, goal)
