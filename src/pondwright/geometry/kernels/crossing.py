"""What straight lines cross on a grid of cells that hold bits.

A cell holds a set of bits, one for each thing that covers it.  Along a line the bits of all cells are
gathered: those whose inside it passes through, and no others.  The walk goes from one edge of a cell to the
next, so that no cell is missed; what lies off the grid counts as closed.
"""

from __future__ import annotations

from math import floor, inf

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_2D,
    READ_INTEGERS_2D,
    WRITE_INTEGERS_2D,
    int32,
    kernel,
    void,
)

CLOSED = 1 << 30
"""The bit of a cell that nothing goes through: a line ends there."""


@kernel(void(READ_INTEGERS_2D, READ_2D, WRITE_INTEGERS_2D))
def gather(cells: np.ndarray, lines: FloatArray, found: np.ndarray) -> None:
    """Fill for each line the bits of the cells that it goes through.

    Parameters
    ----------
    cells : (rows, columns) array of int32     Bits of each cell.
    lines : (n, 4) array                       Column and row of both ends, in cells from the corner.
    found : (n, 1) array of int32              Filled here; `CLOSED` alone where a line goes through it.
    """
    rows, columns = cells.shape
    for line in range(lines.shape[0]):
        x, y = lines[line, 0], lines[line, 1]
        across, up = lines[line, 2] - x, lines[line, 3] - y
        column, row = int(floor(x)), int(floor(y))
        steps = abs(int(floor(lines[line, 2])) - column) + abs(int(floor(lines[line, 3])) - row)
        east = 1 if across > 0.0 else -1
        north = 1 if up > 0.0 else -1
        # Shares of the line at which it meets the next upright and the next level edge.
        upright = ((column + (1 if east > 0 else 0)) - x) / across if across != 0.0 else inf
        level = ((row + (1 if north > 0 else 0)) - y) / up if up != 0.0 else inf
        wide = abs(1.0 / across) if across != 0.0 else inf
        high = abs(1.0 / up) if up != 0.0 else inf
        bits = 0
        for step in range(steps + 1):
            if step > 0:
                if upright < level:
                    column += east
                    upright += wide
                else:
                    row += north
                    level += high
            if column < 0 or row < 0 or column >= columns or row >= rows:
                bits = CLOSED
                break
            bits |= cells[row, column]
            if bits & CLOSED:
                bits = CLOSED
                break
        found[line, 0] = int32(bits)
