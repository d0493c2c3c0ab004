"""Developed lengths over a surface along rows and columns that lie at an angle to its grid."""

from __future__ import annotations

from math import sqrt

import numpy as np

from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_BYTES_2D,
    READ_INTEGERS_2D,
    WRITE_2D,
    WRITE_BYTES_2D,
    WRITE_INTEGERS_2D,
    float64,
    int64,
    kernel,
    void,
)


@kernel(void(READ_2D, READ_2D, READ_2D, READ_BYTES_2D, READ_1D, float64, WRITE_BYTES_2D, WRITE_2D, WRITE_2D))
def developed(
    rest: np.ndarray,
    steps: np.ndarray,
    distance: np.ndarray,
    reach: np.ndarray,
    frame: np.ndarray,
    least: float,
    inside: np.ndarray,
    along: np.ndarray,
    across: np.ndarray,
) -> None:
    """Length over the surface from the first column and the first row, at every place of a turned lattice.

    ``frame`` holds column and row of the lattice's first place on the grid, columns and rows of the grid
    for one place along and for one across, and the length between two places.  Outside (``distance`` below
    ``least``) a liner lies level.  From one ``reach`` to another (it may be empty) all height is upright.
    """
    column, row, along_column, along_row, across_column, across_row, spacing = (
        frame[0], frame[1], frame[2], frame[3], frame[4], frame[5], frame[6],
    )  # fmt: skip
    rows, columns = distance.shape
    places, lines = inside.shape[1], inside.shape[0]
    height = np.empty((2, places))
    drop = np.empty((2, places))
    ruled = np.zeros((2, places), dtype=np.int64)
    falls = reach.shape[0] > 0
    for j in range(lines):
        now, before = j % 2, (j + 1) % 2
        for i in range(places):
            c = column + i * along_column + j * across_column
            r = row + i * along_row + j * across_row
            inside[j, i] = 0
            height[now, i] = 0.0
            drop[now, i] = 0.0
            if 0.0 <= c <= columns - 1.0 and 0.0 <= r <= rows - 1.0:
                west, south = min(int(c), columns - 2), min(int(r), rows - 2)
                e, n = c - west, r - south
                sw, se = (1.0 - e) * (1.0 - n), e * (1.0 - n)
                nw, ne = (1.0 - e) * n, e * n
                far = (
                    sw * distance[south, west]
                    + se * distance[south, west + 1]
                    + nw * distance[south + 1, west]
                    + ne * distance[south + 1, west + 1]
                )
                if far >= least:
                    inside[j, i] = 1
                    height[now, i] = (
                        sw * rest[south, west]
                        + se * rest[south, west + 1]
                        + nw * rest[south + 1, west]
                        + ne * rest[south + 1, west + 1]
                    )
                    # Risers are upright: the nearest node tells whether they are passed.
                    near, beside = south + (1 if n > 0.5 else 0), west + (1 if e > 0.5 else 0)
                    drop[now, i] = steps[near, beside]
                    if falls:
                        ruled[now, i] = reach[near, beside]
                        # A fall is upright as well: no height between its head and its foot.
                        if (
                            reach[south, west] != ruled[now, i]
                            or reach[south, west + 1] != ruled[now, i]
                            or reach[south + 1, west] != ruled[now, i]
                            or reach[south + 1, west + 1] != ruled[now, i]
                        ):
                            height[now, i] = rest[near, beside]
            length = spacing
            if i > 0 and inside[j, i] == 1 and inside[j, i - 1] == 1:
                rise = height[now, i] - height[now, i - 1]
                length = sqrt(spacing * spacing + rise * rise) + abs(drop[now, i] - drop[now, i - 1])
                if falls and ruled[now, i] != ruled[now, i - 1]:
                    length = max(length, spacing + abs(rise))
            along[j, i] = along[j, i - 1] + length if i > 0 else 0.0
            length = spacing
            if j > 0 and inside[j, i] == 1 and inside[j - 1, i] == 1:
                rise = height[now, i] - height[before, i]
                length = sqrt(spacing * spacing + rise * rise) + abs(drop[now, i] - drop[before, i])
                if falls and ruled[now, i] != ruled[before, i]:
                    length = max(length, spacing + abs(rise))
            across[j, i] = across[j - 1, i] + length if j > 0 else 0.0


@kernel(void(READ_BYTES_2D, WRITE_INTEGERS_2D, WRITE_INTEGERS_2D))
def ends(inside: np.ndarray, of_rows: np.ndarray, of_columns: np.ndarray) -> None:
    """First and last place inside of every row and of every column; -1 twice where there is none."""
    rows, columns = inside.shape
    of_rows[:, :] = -1
    of_columns[:, :] = -1
    for j in range(rows):
        for i in range(columns):
            if inside[j, i] == 1:
                if of_rows[j, 0] < 0:
                    of_rows[j, 0] = i
                of_rows[j, 1] = i
                if of_columns[i, 0] < 0:
                    of_columns[i, 0] = j
                of_columns[i, 1] = j


@kernel(float64(READ_2D, READ_INTEGERS_2D))
def extent_along(along: np.ndarray, of_rows: np.ndarray) -> float:
    """Length from the least to the greatest end of all rows, laid side by side along one column.

    The column is the one that makes it shortest; the longest row alone would be too little where the shore
    runs slantwise.
    """
    rows, columns = along.shape
    first, last = columns, -1
    for j in range(rows):
        if of_rows[j, 0] >= 0:
            first, last = min(first, of_rows[j, 0]), max(last, of_rows[j, 1])
    greatest, least = np.full(columns, -1e300), np.full(columns, 1e300)
    for j in range(rows):
        if of_rows[j, 0] < 0:
            continue
        start, end = along[j, of_rows[j, 0]], along[j, of_rows[j, 1]]
        for i in range(first, last + 1):
            greatest[i] = max(greatest[i], end - along[j, i])
            least[i] = min(least[i], start - along[j, i])
    found = 1e300
    for i in range(first, last + 1):
        found = min(found, greatest[i] - least[i])
    return found


@kernel(float64(READ_2D, READ_INTEGERS_2D))
def extent_across(across: np.ndarray, of_columns: np.ndarray) -> float:
    """Length from the least to the greatest end of all columns, laid side by side along one row."""
    rows, columns = across.shape
    first, last = rows, -1
    starts, stops = np.empty(columns), np.empty(columns)
    for i in range(columns):
        if of_columns[i, 0] >= 0:
            first, last = min(first, of_columns[i, 0]), max(last, of_columns[i, 1])
            starts[i] = across[of_columns[i, 0], i]
            stops[i] = across[of_columns[i, 1], i]
    found = 1e300
    for j in range(first, last + 1):
        greatest, least = -1e300, 1e300
        for i in range(columns):
            if of_columns[i, 0] >= 0:
                greatest = max(greatest, stops[i] - across[j, i])
                least = min(least, starts[i] - across[j, i])
        found = min(found, greatest - least)
    return found


@kernel(int64(READ_BYTES_2D, READ_INTEGERS_2D, READ_2D, READ_2D, int64, float64, float64, WRITE_2D))
def strips(
    inside: np.ndarray,
    of_rows: np.ndarray,
    along: np.ndarray,
    across: np.ndarray,
    middle: int,
    first: float,
    usable: float,
    out: np.ndarray,
) -> int:
    """Strips across a lattice, each as long as the longest of its lines; gives how many there are.

    ``first`` is the usable width of the first strip and ``usable`` that of the others, counted over the
    ground (level beside the liner) from the line before the strip's first.  Each row of ``out``
    gets the first and the last line of a strip and its two ends, counted over the surface from the column
    ``middle``.
    """
    lines = inside.shape[0]
    count, width = 0, first
    start = -1
    for j in range(lines):
        left, right = of_rows[j, 0], of_rows[j, 1]
        if left < 0:
            continue
        widest = 0.0
        if start >= 0:
            base = max(start - 1, 0)
            for i in range(left, right + 1):
                if inside[j, i] == 1:
                    widest = max(widest, across[j, i] - across[base, i])
        if start < 0 or widest > width:
            if start >= 0:
                width = usable
            if count >= out.shape[0]:
                return -1
            start = j
            out[count, 0], out[count, 1] = j, j
            out[count, 2] = along[j, left] - along[j, middle]
            out[count, 3] = along[j, right] - along[j, middle]
            count += 1
            continue
        out[count - 1, 1] = j
        out[count - 1, 2] = min(out[count - 1, 2], along[j, left] - along[j, middle])
        out[count - 1, 3] = max(out[count - 1, 3], along[j, right] - along[j, middle])
    return count
