"""Developed lengths over a surface along rows and columns that lie at an angle to its grid."""

from __future__ import annotations

from math import sqrt

import numpy as np

from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_BYTES_2D,
    WRITE_2D,
    WRITE_BYTES_2D,
    float64,
    int64,
    kernel,
    void,
)


@kernel(void(READ_2D, READ_2D, READ_2D, READ_1D, float64, WRITE_BYTES_2D, WRITE_2D, WRITE_2D))
def developed(
    rest: np.ndarray,
    steps: np.ndarray,
    distance: np.ndarray,
    frame: np.ndarray,
    least: float,
    inside: np.ndarray,
    along: np.ndarray,
    across: np.ndarray,
) -> None:
    """Length over the surface from the first column and the first row, at every place of a turned lattice.

    ``frame`` holds column and row of the lattice's first place on the grid, columns and rows of the grid
    for one place along and for one across, and the length between two places.  Outside (``distance`` below
    ``least``) a liner lies level.
    """
    column, row, along_column, along_row, across_column, across_row, spacing = (
        frame[0], frame[1], frame[2], frame[3], frame[4], frame[5], frame[6],
    )  # fmt: skip
    rows, columns = distance.shape
    places, lines = inside.shape[1], inside.shape[0]
    height = np.empty((2, places))
    drop = np.empty((2, places))
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
                    drop[now, i] = steps[south + (1 if n > 0.5 else 0), west + (1 if e > 0.5 else 0)]
            length = spacing
            if i > 0 and inside[j, i] == 1 and inside[j, i - 1] == 1:
                rise = height[now, i] - height[now, i - 1]
                length = sqrt(spacing * spacing + rise * rise) + abs(drop[now, i] - drop[now, i - 1])
            along[j, i] = along[j, i - 1] + length if i > 0 else 0.0
            length = spacing
            if j > 0 and inside[j, i] == 1 and inside[j - 1, i] == 1:
                rise = height[now, i] - height[before, i]
                length = sqrt(spacing * spacing + rise * rise) + abs(drop[now, i] - drop[before, i])
            across[j, i] = across[j - 1, i] + length if j > 0 else 0.0


@kernel(int64(READ_BYTES_2D, READ_2D, READ_2D, int64, float64, float64, WRITE_2D))
def strips(
    inside: np.ndarray,
    along: np.ndarray,
    across: np.ndarray,
    middle: int,
    first: float,
    usable: float,
    out: np.ndarray,
) -> int:
    """Strips across a lattice, each as long as the longest of its lines; gives how many there are.

    ``first`` is the usable width of the first strip and ``usable`` that of the others.  Each row of ``out``
    gets the first and the last line of a strip and its two ends, counted over the surface from the column
    ``middle``.
    """
    lines, places = inside.shape
    count, width = 0, first
    low, high = np.empty(places), np.empty(places)
    start = -1
    for j in range(lines):
        left, right = -1, -1
        for i in range(places):
            if inside[j, i] == 1:
                if left < 0:
                    left = i
                right = i
        if left < 0:
            continue
        widest = 0.0
        if start >= 0:
            for i in range(places):
                if inside[j, i] == 1:
                    if low[i] > across[j, i]:
                        low[i] = across[j - 1, i] if j > 0 else across[j, i]
                    widest = max(widest, across[j, i] - low[i])
        if start < 0 or widest > width:
            if start >= 0:
                width = usable
            if count >= out.shape[0]:
                return -1
            start = j
            out[count, 0], out[count, 1] = j, j
            out[count, 2] = along[j, left] - along[j, middle]
            out[count, 3] = along[j, right] - along[j, middle]
            for i in range(places):
                low[i] = 1e300
                high[i] = 0.0
                if inside[j, i] == 1:
                    low[i] = across[j - 1, i] if j > 0 else across[j, i]
            count += 1
            continue
        out[count - 1, 1] = j
        out[count - 1, 2] = min(out[count - 1, 2], along[j, left] - along[j, middle])
        out[count - 1, 3] = max(out[count - 1, 3], along[j, right] - along[j, middle])
    return count
