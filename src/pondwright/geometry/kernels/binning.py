"""Dropping measured points into the cells of a grid, and finding where a thinned surface misses it most.

A cell counts its points and adds up their heights.  Heights that a file keeps as whole numbers are added
as whole numbers, so that a mean over millions of points has no rounding in it and needs no copy of them.
"""

from __future__ import annotations

from math import floor, isnan

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_INTEGERS_2D,
    WRITE_1D,
    WRITE_2D,
    float64,
    int32,
    int64,
    kernel,
    types,
    void,
)

OUTSIDE, BAD_HEIGHT, NOISE, WITHHELD = 0, 1, 2, 3
"""Places in the list of what was not taken, and why."""

DROP, GROUND, OTHER, HELD_BACK = 0, 1, 2, 3
"""What is done with a point by its class."""

UNSET = 2_147_483_647

# Fields of packed records: any stride, and not aligned.
PACKED_INTEGERS = types.Array(int32, 1, "A", readonly=True, aligned=False)
PACKED_BYTES = types.Array(types.uint8, 1, "A", readonly=True, aligned=False)
TABLE = types.Array(types.uint8, 1, "C", readonly=True)
SUMS = types.Array(int64, 2, "C")
LONGS = types.Array(int64, 1, "C")
LOWEST = types.Array(int32, 1, "C")


@kernel(
    void(
        PACKED_INTEGERS, PACKED_INTEGERS, PACKED_INTEGERS, PACKED_BYTES, PACKED_BYTES, TABLE, TABLE, int64,
        READ_1D, int64, int64, int64, int64, SUMS, SUMS, LOWEST, LOWEST, LONGS, LONGS,
    )
)  # fmt: skip
def bin_integers(
    x: np.ndarray,
    y: np.ndarray,
    z: np.ndarray,
    raw_class: np.ndarray,
    flags: np.ndarray,
    role: np.ndarray,
    taken_by_flags: np.ndarray,
    class_mask: int,
    lay: FloatArray,
    columns: int,
    rows: int,
    z_low: int,
    z_high: int,
    ground: np.ndarray,
    other: np.ndarray,
    lowest_ground: np.ndarray,
    lowest_other: np.ndarray,
    classes: np.ndarray,
    told: np.ndarray,
) -> None:
    """Count points of whole numbers into the sums of their cells: those of the ground, and all others.

    ``lay`` is (a, b, c, d): column = floor(a x + b), row = floor(c y + d).  Sums have a row a cell: how
    many, and the sum of the heights.  ``lowest_...`` may be empty where the lowest are not asked for.
    """
    with_lowest = len(lowest_ground) > 0
    for i in range(len(x)):
        byte = raw_class[i]
        classes[int64(byte) & class_mask] += 1
        kind = role[byte]
        if kind == HELD_BACK or taken_by_flags[flags[i]] == 0:
            told[WITHHELD] += 1
            continue
        if kind == DROP:
            told[NOISE] += 1
            continue
        height = int64(z[i])
        if height < z_low or height > z_high:
            told[BAD_HEIGHT] += 1
            continue
        c = floor(lay[0] * x[i] + lay[1])
        r = floor(lay[2] * y[i] + lay[3])
        if not (0 <= c < columns and 0 <= r < rows):
            told[OUTSIDE] += 1
            continue
        cell = int64(r) * columns + int64(c)
        if kind == GROUND:
            ground[cell, 0] += 1
            ground[cell, 1] += height
            if with_lowest and height < lowest_ground[cell]:
                lowest_ground[cell] = int32(height)
        else:
            other[cell, 0] += 1
            other[cell, 1] += height
            if with_lowest and height < lowest_other[cell]:
                lowest_other[cell] = int32(height)


@kernel(
    void(
        READ_1D, READ_1D, READ_1D, READ_1D, int64, int64, float64, float64, WRITE_2D, WRITE_1D, LONGS,
    )
)  # fmt: skip
def bin_floats(
    east: FloatArray,
    north: FloatArray,
    z: FloatArray,
    lay: FloatArray,
    columns: int,
    rows: int,
    z_low: float,
    z_high: float,
    sums: FloatArray,
    lowest: FloatArray,
    told: np.ndarray,
) -> None:
    """Count points into the sums of their cells; ``lay`` and the sums are those of ``bin_integers``."""
    with_lowest = len(lowest) > 0
    for i in range(len(east)):
        height = z[i]
        if not (z_low <= height <= z_high):
            told[BAD_HEIGHT] += 1
            continue
        c = floor(lay[0] * east[i] + lay[1])
        r = floor(lay[2] * north[i] + lay[3])
        if not (0 <= c < columns and 0 <= r < rows):
            told[OUTSIDE] += 1
            continue
        cell = int64(r) * columns + int64(c)
        sums[cell, 0] += 1.0
        sums[cell, 1] += height
        if with_lowest and height < lowest[cell]:
            lowest[cell] = height


@kernel(void(READ_2D, READ_2D, READ_INTEGERS_2D, WRITE_1D, LONGS, WRITE_1D))
def worst_cells(
    measured: FloatArray,
    thinned: FloatArray,
    triangle: np.ndarray,
    miss: FloatArray,
    cell: np.ndarray,
    told: FloatArray,
) -> None:
    """Largest miss of each triangle, and the cell where it is; cells that are NaN have nothing to miss.

    ``told`` is filled with the sum of squares, the number of cells compared, the number of cells under no
    triangle, and the first of those.
    """
    for t in range(len(miss)):
        miss[t] = 0.0
        cell[t] = -1
    squares = 0.0
    compared = 0
    bare = 0
    first = -1
    rows, columns = measured.shape
    for r in range(rows):
        for c in range(columns):
            height = measured[r, c]
            if isnan(height):
                continue
            t = triangle[r, c]
            if t < 0:
                if bare == 0:
                    first = r * columns + c
                bare += 1
                continue
            gap = abs(height - thinned[r, c])
            squares += gap * gap
            compared += 1
            if gap > miss[t]:
                miss[t] = gap
                cell[t] = r * columns + c
    told[0] = squares
    told[1] = compared
    told[2] = bare
    told[3] = first
