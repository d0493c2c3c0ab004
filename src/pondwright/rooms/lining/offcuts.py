"""What is cut away of a sheet in one piece: its corners, and what lies over islands.

See Also
--------
pondwright.rooms.lining.seams : what is cut from them again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Length, Lengths
from pondwright.rooms.lining.area import LinerGround

DRAWN_IN: Length = 0.3
"""How far a leftover is kept off the line along which the liner is trimmed. [m]"""

SMALLEST: Length = 0.5
"""A leftover that is narrower than this is waste. [m]"""

CELL: Length = 0.5
"""Spacing of the lattice on which leftovers are looked for. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class Leftover:
    """A rectangle of a sheet that is cut away.

    Attributes
    ----------
    length, width : Length     [m]
    corners : (4, 2) array     As it lies on the plan before it is cut away. [m]
    """

    length: Length
    width: Length
    corners: Lengths


def largest_rectangle(free: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """Largest rectangle of free cells.

    Parameters
    ----------
    free : (rows, columns) bool array

    Returns
    -------
    (int, int, int, int)     First and end row, first and end column; nothing between them where none is free.

    Examples
    --------
    >>> largest_rectangle(np.array([[True, False, True], [True, True, True], [True, True, True]]))
    (1, 3, 0, 3)

    hand

    References
    ----------
    .. [1] Derived: for each row the largest rectangle below a row of heights.
    """
    best, place = 0, (0, 0, 0, 0)
    heights = np.zeros(free.shape[1] + 1, dtype=int)
    for row in range(free.shape[0]):
        heights[:-1] = np.where(free[row], heights[:-1] + 1, 0)
        stack: list[int] = []
        for column, height in enumerate(heights.tolist()):
            while stack and heights[stack[-1]] >= height:
                tall = int(heights[stack.pop()])
                first = stack[-1] + 1 if stack else 0
                if tall * (column - first) > best:
                    best = tall * (column - first)
                    place = (row + 1 - tall, row + 1, first, column)
            stack.append(column)
    return place


def leftovers(
    ground: LinerGround, beyond: Length, turned: Angle, length: Length, width: Length, most: int = 6
) -> tuple[Leftover, ...]:
    """Rectangles that are cut away of a sheet, the largest first.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length             How far the liner reaches beyond the shore. [m]
    turned : Angle              Direction of the sheet's length, anticlockwise from east. [rad]
    length, width : Length      Of the sheet. [m], > 0
    most : int                  How many at most.

    Returns
    -------
    tuple of Leftover           Each at least 0.5 m wide.

    Raises
    ------
    DomainError                 If the sheet has no size.

    Notes
    -----
    The plan of the liner is made as large as the sheet in both directions, which is what the sheet looks
    like before it is laid; near banks that slope more on one side than on the other it is out by as much as
    their developed lengths differ.  So 0.3 m are kept off the line of the trim.

    References
    ----------
    .. [1] Derived: largest rectangles among free cells, one after the other.
    """
    if not (length > 0.0 and width > 0.0):
        raise DomainError(f"a sheet must have a size, got {length} m by {width} m")
    grid = ground.grid
    rows, columns = np.nonzero(ground.distance >= -beyond)
    if not len(rows):
        return ()
    east, north = grid.east[columns], grid.north[rows]
    along, across = np.array([np.cos(turned), np.sin(turned)]), np.array([-np.sin(turned), np.cos(turned)])
    places = np.column_stack([east, north])
    own = np.column_stack([places @ along, places @ across])
    low, high = own.min(axis=0) - 0.5 * grid.spacing, own.max(axis=0) + 0.5 * grid.spacing
    size = np.array([length, width])
    shape = np.maximum(np.ceil(size / CELL).astype(int), 1)
    free = ~_taken(ground, beyond, low, high, shape, along, across)
    found: list[Leftover] = []
    while len(found) < most:
        first, end, left, right = largest_rectangle(free)
        free[first:end, left:right] = False
        sides = (np.array([end - first, right - left]) * size / shape).tolist()
        if min(sides, default=0.0) < SMALLEST:
            break
        box = np.array([[first, left], [end, left], [end, right], [first, right]]) / shape
        flat = low + box * (high - low)
        found.append(Leftover(max(sides), min(sides), flat[:, :1] * along + flat[:, 1:] * across))
    return tuple(found)


def _taken(
    ground: LinerGround,
    beyond: Length,
    low: Lengths,
    high: Lengths,
    shape: NDArray[np.int64],
    along: Lengths,
    across: Lengths,
) -> NDArray[np.bool_]:
    """Cells of the sheet that the liner needs, or that are nearer to its trim than may be used."""
    grid = ground.grid
    middles = [(np.arange(count) + 0.5) / count for count in shape]
    first, second = np.meshgrid(*middles, indexing="ij")
    flat = np.stack([first, second], axis=-1) * (high - low) + low
    places = flat[..., :1] * along + flat[..., 1:] * across
    column = np.rint((places[..., 0] - grid.origin_east) / grid.spacing).astype(int)
    row = np.rint((places[..., 1] - grid.origin_north) / grid.spacing).astype(int)
    on_grid = (row >= 0) & (row < grid.rows) & (column >= 0) & (column < grid.columns)
    distance = np.full(on_grid.shape, -np.inf)
    distance[on_grid] = ground.distance[row[on_grid], column[on_grid]]
    return np.asarray(distance >= -beyond - DRAWN_IN)
