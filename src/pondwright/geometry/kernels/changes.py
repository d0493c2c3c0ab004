"""Compiled loops that tell where two surfaces differ, and where a layer of the finish changed visibly.

A window is the first and end row and the first and end column of some nodes.
"""

from __future__ import annotations

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_2D,
    READ_BYTES_2D,
    WRITE_BYTES_2D,
    boolean,
    float64,
    int64,
    kernel,
    types,
    void,
)
from pondwright.geometry.kernels.grading import PLACED_SLOPE

_WINDOW = types.UniTuple(int64, 4)
_READ_WORDS = types.Array(int64, 1, "C", readonly=True)
_READ_WORDS_2D = types.Array(int64, 2, "C", readonly=True)

_RUN = 512
"""So many words are compared before it is asked whether any of them differs."""


@kernel(boolean(_READ_WORDS, _READ_WORDS))
def alike(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two rows of as many words are the same; it looks no farther than the first run that differs."""
    for first in range(0, len(one), _RUN):
        differs = False
        for k in range(first, min(first + _RUN, len(one))):
            differs |= one[k] != other[k]
        if differs:
            return False
    return True


@kernel([_WINDOW(_READ_WORDS_2D, _READ_WORDS_2D), _WINDOW(READ_BYTES_2D, READ_BYTES_2D)])
def differing(before: np.ndarray, now: np.ndarray) -> tuple[int, int, int, int]:
    """Smallest window that holds all nodes at which two arrays differ; its end row is 0 where none does."""
    rows, columns = before.shape
    first, end, west, east = rows, 0, columns, 0
    for row in range(rows):
        old, new = before[row], now[row]
        differs = False
        # Without a way out of the loop the compiler looks at several nodes at once.
        for column in range(columns):
            differs |= old[column] != new[column]
        if not differs:
            continue
        first, end = min(first, row), row + 1
        column = 0
        while column < west and old[column] == new[column]:
            column += 1
        west = column
        column = columns
        while column > east and old[column - 1] == new[column - 1]:
            column -= 1
        east = column
    return first, end, west, east


@kernel(_WINDOW(READ_BYTES_2D))
def marked(nodes: np.ndarray) -> tuple[int, int, int, int]:
    """Smallest window that holds all marked nodes; its end row is 0 where none is."""
    rows, columns = nodes.shape
    first, end, west, east = rows, 0, columns, 0
    for row in range(rows):
        here = nodes[row]
        found = np.int8(0)
        # Without a way out of the loop the compiler looks at several nodes at once.
        for column in range(columns):
            found |= here[column]
        if found == 0:
            continue
        first, end = min(first, row), row + 1
        column = 0
        while column < west and here[column] == 0:
            column += 1
        west = column
        column = columns
        while column > east and here[column - 1] == 0:
            column -= 1
        east = column
    return first, end, west, east


@kernel(void(READ_2D, READ_2D, READ_2D, READ_BYTES_2D, float64, _WINDOW, WRITE_BYTES_2D))
def touched_nodes(
    ground: FloatArray,
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
    level: float,
    window: tuple[int, int, int, int],
    touched: np.ndarray,
) -> None:
    """Mark the nodes of a window at which a layer, laid into the ground alone, leaves any trace."""
    first, end = window[2], window[3]
    for row in range(window[0], window[1]):
        # Plain rows let the compiler work on several nodes at once, here and below.
        heights, traces = ground[row, first:end], touched[row, first:end]
        lows, highs, regions = lower[row, first:end], upper[row, first:end], region[row, first:end]
        for column in range(len(heights)):
            height = heights[column]
            traces[column] = (
                (regions[column] != PLACED_SLOPE)
                | (level + lows[column] > height)
                | (level + highs[column] < height)
            )


@kernel(
    void(
        READ_2D, READ_2D, READ_BYTES_2D, READ_2D, READ_2D, READ_BYTES_2D, READ_BYTES_2D,
        _WINDOW, WRITE_BYTES_2D,
    )
)  # fmt: skip
def moved_nodes(
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
    lower_now: FloatArray,
    upper_now: FloatArray,
    region_now: np.ndarray,
    counts: np.ndarray,
    window: tuple[int, int, int, int],
    moved: np.ndarray,
) -> None:
    """Mark in addition the nodes of a window that count at which the limits of a layer are other ones."""
    first, end = window[2], window[3]
    for row in range(window[0], window[1]):
        lows, lows_now = lower[row, first:end], lower_now[row, first:end]
        highs, highs_now = upper[row, first:end], upper_now[row, first:end]
        regions, regions_now = region[row, first:end], region_now[row, first:end]
        count, here = counts[row, first:end], moved[row, first:end]
        for column in range(len(here)):
            here[column] |= (count[column] != 0) & (
                (lows[column] != lows_now[column])
                | (highs[column] != highs_now[column])
                | (regions[column] != regions_now[column])
            )


@kernel(void(READ_2D, READ_2D, float64, _WINDOW, WRITE_BYTES_2D))
def shore_nodes(
    distance: FloatArray,
    distance_now: FloatArray,
    reach: float,
    window: tuple[int, int, int, int],
    moved: np.ndarray,
) -> None:
    """Mark in addition the nodes of a window that come into the water or leave it, and those near it outside.

    Near is up to a reach; there a node counts if its distance from the shore changed at all.
    """
    first, end = window[2], window[3]
    for row in range(window[0], window[1]):
        befores, nows = distance[row, first:end], distance_now[row, first:end]
        here = moved[row, first:end]
        for column in range(len(here)):
            before, now = befores[column], nows[column]
            near = (before != now) & (max(before, now) >= -reach) & (min(before, now) <= 0.0)
            here[column] |= ((before > 0.0) != (now > 0.0)) | near
