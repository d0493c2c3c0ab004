"""Compiled loops over placed soil: whose it is, where it ends, and what lies under its berm."""

from __future__ import annotations

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_BYTES,
    READ_BYTES_2D,
    WRITE_1D,
    WRITE_2D,
    WRITE_BYTES,
    WRITE_INTEGERS_2D,
    int32,
    int64,
    kernel,
    types,
    void,
)
from pondwright.geometry.kernels.grading import BERM, EXISTING, PLACED_SLOPE

READ_NODES = types.Array(int32, 1, "C", readonly=True)
WRITE_NODES = types.Array(int32, 1, "C")


@kernel(int64(READ_2D, READ_BYTES_2D, READ_2D, int64, int64, WRITE_NODES, WRITE_BYTES))
def placed_nodes(
    z: FloatArray,
    part: np.ndarray,
    ground: FloatArray,
    first: int,
    end: int,
    nodes: np.ndarray,
    at_foot: np.ndarray,
) -> int:
    """Fill the flat nodes of placed soil, in some rows, that is a berm or has an untouched neighbour.

    Gives their number.
    Beyond the grid all is untouched.
    """
    rows, columns = z.shape
    count = 0
    for r in range(first, end):
        for c in range(columns):
            here = part[r, c]
            if (here != BERM and here != PLACED_SLOPE) or not z[r, c] > ground[r, c]:
                continue
            foot = (
                r == 0
                or c == 0
                or r == rows - 1
                or c == columns - 1
                or part[r - 1, c] == EXISTING
                or part[r + 1, c] == EXISTING
                or part[r, c - 1] == EXISTING
                or part[r, c + 1] == EXISTING
            )
            if foot or here == BERM:
                nodes[count] = r * columns + c
                at_foot[count] = foot
                count += 1
    return count


@kernel(void(READ_1D, READ_NODES, int64, WRITE_1D, WRITE_BYTES))
def claim(distance: FloatArray, nodes: np.ndarray, body: int, nearest: FloatArray, owner: np.ndarray) -> None:
    """Give a body the nodes that lie nearer to its shore, or farther inside it, than to any earlier one's."""
    for k in range(len(nodes)):
        inward = distance[nodes[k]]
        if inward > nearest[k]:
            nearest[k] = inward
            owner[k] = body


@kernel(void(READ_2D, READ_BYTES_2D, READ_NODES, READ_BYTES, READ_BYTES, WRITE_INTEGERS_2D, WRITE_2D))
def lowest_feet(
    ground: FloatArray,
    part: np.ndarray,
    nodes: np.ndarray,
    at_foot: np.ndarray,
    owner: np.ndarray,
    feet: np.ndarray,
    under_berm: FloatArray,
) -> None:
    """Put for each row and body its lowest foot in place of -1, and the lowest ground under its berm.

    The nodes come in their order.
    """
    columns = ground.shape[1]
    row = 0
    for k in range(len(nodes)):
        body, node = owner[k], nodes[k]
        while node >= (row + 1) * columns:
            row += 1
        column = node - row * columns
        height = ground[row, column]
        if part[row, column] == BERM:
            under_berm[row, body] = min(under_berm[row, body], height)
        if at_foot[k]:
            foot = feet[row, body]
            if foot < 0 or height < ground[row, foot - row * columns]:
                feet[row, body] = node
