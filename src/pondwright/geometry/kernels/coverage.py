"""Share of every cell that lies inside, exact, by signed areas.

In each row of cells an edge covers what lies east of it, by the height that it climbs in that row:
positive on its way down and negative on its way up, as the west and the east side of a ring that
runs counterclockwise.  Each piece of an edge gives its own cell the part east of it and the
next cell the rest; a running sum along the row then carries it to all the cells further east.
"""

from __future__ import annotations

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import READ_2D, WRITE_2D, float64, int64, kernel, void

# A running sum this close to a whole number is one: the rest is rounding.
_ROUNDING = 1e-13


@kernel(void(WRITE_2D, int64, float64, float64, float64))
def add_piece(steps: FloatArray, row: int, left: float, right: float, height: float) -> None:
    """Add a straight piece of an edge that stays in one row and spans ``left`` to ``right``."""
    columns = steps.shape[1] - 1
    if right <= 0.0:
        steps[row, 0] += height
        return
    per_width = height / (right - left) if right > left else 0.0
    if left < 0.0:
        steps[row, 0] -= per_width * left
        left = 0.0
    column = int(left)
    while column < columns:
        until = min(right, column + 1.0)
        here = per_width * (until - left) if right > left else height
        east_of_it = here * (column + 1.0 - 0.5 * (left + until))
        steps[row, column] += east_of_it
        steps[row, column + 1] += here - east_of_it
        if right <= column + 1.0:
            return
        left = until
        column += 1


@kernel(void(WRITE_2D, float64, float64, float64, float64))
def add_edge(steps: FloatArray, x: float, y: float, end_x: float, end_y: float) -> None:
    """Add an edge, in units of cells, row by row; what lies south or north of the grid is left out."""
    rows = steps.shape[0]
    way = -1.0
    if y > end_y:
        x, y, end_x, end_y = end_x, end_y, x, y
        way = 1.0
    if y == end_y or end_y <= 0.0 or y >= rows:
        return
    slope = (end_x - x) / (end_y - y)
    least = min(x, end_x)
    most = max(x, end_x)
    low = max(y, 0.0)
    low_x = min(max(x + (low - y) * slope, least), most)
    row = int(low)
    while row < rows and low < end_y:
        high = min(end_y, row + 1.0)
        high_x = end_x if high == end_y else min(max(x + (high - y) * slope, least), most)
        add_piece(steps, row, min(low_x, high_x), max(low_x, high_x), way * (high - low))
        low = high
        low_x = high_x
        row += 1


@kernel(float64(float64))
def even_odd(winding: float) -> float:
    """Share inside by the even-odd rule, from the mean winding number of a cell.

    Between two whole numbers it goes straight from inside to outside or back, which is exact for
    every cell that only edges between the same two windings cross.
    """
    nearest = np.round(winding)
    if abs(winding - nearest) < _ROUNDING:
        winding = nearest
    winding = abs(winding)
    winding -= 2.0 * np.floor(0.5 * winding)
    return winding if winding <= 1.0 else 2.0 - winding


@kernel(void(READ_2D, float64, float64, float64, WRITE_2D))
def cover_cells(
    ends: FloatArray, origin_east: float, origin_north: float, spacing: float, coverage: FloatArray
) -> None:
    """Fill ``coverage`` with the area of each cell that lies inside the edges (x, y, x, y)."""
    rows, columns = coverage.shape
    steps = np.zeros((rows, columns + 1))
    for k in range(ends.shape[0]):
        add_edge(
            steps,
            (ends[k, 0] - origin_east) / spacing,
            (ends[k, 1] - origin_north) / spacing,
            (ends[k, 2] - origin_east) / spacing,
            (ends[k, 3] - origin_north) / spacing,
        )
    cell_area = spacing * spacing
    for r in range(rows):
        winding = 0.0
        covered = 0.0
        for c in range(columns):
            if steps[r, c] != 0.0:
                winding += steps[r, c]
                covered = cell_area * even_odd(winding)
            coverage[r, c] = covered
