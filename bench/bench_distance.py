"""Shore geometry beside a general geometry library: distance, coverage, crossings, the curve.

The pond is invented: 32 pegs, 12 points a span, one island of 24 points, in a window of 30 m.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely

from bench.rows import Row, at_most, best_seconds
from pondwright.base.kinds import FloatArray
from pondwright.geometry.coverage import covered_area, ring_coverage
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import longest_fetch, ring_edges, self_crossings

NODES = 300
WINDOW = 30.0
SIZES = (150, 300, 600, 1500)


def rows() -> list[Row]:
    """Times in milliseconds and errors in metres, with the peer's from the same run."""
    return [*distance_rows(), *coverage_rows(), *ring_rows()]


def distance_rows() -> list[Row]:
    """The signed distance field: beside shapely at 300 x 300, and by the size of the grid."""
    rings = pond()
    grid = grid_of(NODES)
    east, north = np.meshgrid(grid.east, grid.north)
    points = shapely.points(east, north)
    body = shapely.Polygon(rings[0], rings[1:])
    lines = body.boundary
    shapely.prepare(lines)
    own = milliseconds(lambda: signed_distance(grid, rings))
    peer = milliseconds(lambda: shapely.distance(points, lines), repeats=2)
    error = np.abs(np.abs(signed_distance(grid, rings)) - shapely.distance(points, lines)).max()
    count = len(ring_edges(rings))
    return [
        Row(f"distance 300 x 300, {count} segments", own, "ms", "shapely, prepared", peer, at_most(1 / 150)),
        Row("distance 300 x 300, one frame", own, "ms", goal=at_most(4.0)),
        Row("distance 300 x 300, greatest difference", float(error), "m", goal=at_most(1e-14)),
        *(size_row(size, rings) for size in SIZES),
    ]


def size_row(size: int, rings: list[FloatArray]) -> Row:
    """Time of the field on one size of grid over the same window."""
    grid = grid_of(size)
    return Row(f"distance {size} x {size}", milliseconds(lambda: signed_distance(grid, rings)), "ms")


def coverage_rows() -> list[Row]:
    """The area in each cell: beside box-by-box intersection, and its error in the sum."""
    rings = pond()
    grid = grid_of(NODES)
    east, north = np.meshgrid(grid.east, grid.north)
    cells = shapely.box(east[:-1, :-1], north[:-1, :-1], east[1:, 1:], north[1:, 1:])
    body = shapely.Polygon(rings[0], rings[1:])
    own = milliseconds(lambda: ring_coverage(grid, rings))
    peer = milliseconds(lambda: shapely.area(shapely.intersection(cells, body)), repeats=1)
    error = abs(covered_area(grid, rings) / body.area - 1.0)
    return [
        Row("coverage 300 x 300", own, "ms", "shapely intersection by cell", peer, at_most(1 / 1000)),
        Row("coverage 300 x 300, relative error of the sum", error, "-", goal=at_most(1e-12)),
    ]


def ring_rows() -> list[Row]:
    """What is asked of the ring alone in each frame."""
    pegs, corners = pond_pegs()
    rings = pond()
    line = shapely.LinearRing(rings[0])
    crossings = milliseconds(lambda: self_crossings(rings[0]))
    simple = milliseconds(lambda: shapely.is_simple(line))
    curve = milliseconds(lambda: closed_curve(pegs, corners))
    fetch = milliseconds(lambda: longest_fetch(rings))
    return [
        Row("self-crossings, 384 segments", crossings, "ms", "shapely is_simple", simple),
        Row("self-crossings, one frame", crossings, "ms", goal=at_most(0.5)),
        Row("curve through 32 pegs", curve, "ms", goal=at_most(0.5)),
        Row("longest fetch with an island", fetch, "ms", goal=at_most(1.0)),
    ]


def pond_pegs() -> tuple[FloatArray, list[bool]]:
    """Pegs of the invented pond, one in eight a corner."""
    angle = 2 * np.pi * np.arange(32) / 32
    reach = 1 + 0.25 * np.sin(3 * angle)
    pegs = np.column_stack([15 + 9 * np.cos(angle) * reach, 15 + 7 * np.sin(angle)])
    return pegs, [peg % 8 == 3 for peg in range(32)]


def pond() -> list[FloatArray]:
    """The rings of the invented pond."""
    angle = 2 * np.pi * np.arange(24) / 24
    island = np.column_stack([13 + 1.1 * np.cos(angle), 15.5 + 0.7 * np.sin(angle)])
    return [closed_curve(*pond_pegs()).points, island]


def grid_of(size: int) -> Grid:
    """Square grid of that many nodes a side over the window."""
    return Grid(0.0, 0.0, WINDOW / (size - 1), size, size)


def milliseconds(work: Callable[[], object], repeats: int = 5) -> float:
    """Milliseconds of one call, the best of some repeats."""
    return 1e3 * best_seconds(work, repeats)
