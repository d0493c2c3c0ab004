"""Filling every hollow of a surface up to the level at which its water would leave the window."""

from __future__ import annotations

import heapq

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import READ_2D, WRITE_2D, kernel, void

# Even nodes have the diagonals of all four cells round them, odd nodes have none.
_ROW_STEPS = np.array([0, 0, 1, -1, 1, 1, -1, -1])
_COLUMN_STEPS = np.array([1, -1, 0, 0, 1, -1, 1, -1])


@kernel(void(READ_2D, WRITE_2D))
def fill(z: FloatArray, filled: FloatArray) -> None:
    """Fill ``filled`` with the lowest level from which each node can be left for the edge of the window."""
    rows, columns = z.shape
    done = np.zeros((rows, columns), dtype=np.int8)
    heap = [(np.inf, np.int64(-1))]
    for r in range(rows):
        for c in range(columns):
            if r == 0 or c == 0 or r == rows - 1 or c == columns - 1:
                filled[r, c] = z[r, c]
                done[r, c] = 1
                heapq.heappush(heap, (z[r, c], np.int64(r * columns + c)))
    while len(heap) > 1:
        level, here = heapq.heappop(heap)
        r = here // columns
        c = here % columns
        for k in range(8 if (r + c) % 2 == 0 else 4):
            i = r + _ROW_STEPS[k]
            j = c + _COLUMN_STEPS[k]
            if i < 0 or j < 0 or i >= rows or j >= columns or done[i, j]:
                continue
            done[i, j] = 1
            filled[i, j] = max(level, z[i, j])
            heapq.heappush(heap, (filled[i, j], np.int64(i * columns + j)))
