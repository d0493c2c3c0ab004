"""Windows of a grid: which part of it changed between two surfaces, and what that part touches.

A window is the first and end row and the first and end column of some nodes.  What is worked out again
after a move is told by one question: in which window do the new arrays differ from the old ones, bit by bit?

See Also
--------
pondwright.flow.engine : hands a stage what it gave last time.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.changes import differing, marked
from pondwright.geometry.kernels.sight import passes

__all__ = [
    "NOWHERE",
    "Window",
    "changed",
    "crossed",
    "grown",
    "joined",
    "meet",
    "nodes_in",
    "part_of_grid",
    "shifted",
    "whole",
    "window_of",
]

Window = tuple[int, int, int, int]
"""First and end row, first and end column."""

NOWHERE: Window = (0, 0, 0, 0)
"""The window that holds no node."""


def changed(before: NDArray[Any], now: NDArray[Any]) -> Window:
    """Smallest window that holds all nodes at which two arrays differ in any bit.

    Parameters
    ----------
    before, now : (rows, columns) arrays     Of one shape and type, one or eight bytes a node, in row order.

    Returns
    -------
    Window                                   :data:`NOWHERE` where they are equal.

    Examples
    --------
    >>> before, now = np.zeros((4, 5)), np.zeros((4, 5))
    >>> now[1, 2] = now[2, 4] = 1.0
    >>> changed(before, now), changed(now, now)
    ((1, 3, 2, 5), (0, 0, 0, 0))
    """
    if before is now:
        return NOWHERE
    bits = f"i{before.itemsize}"
    window: Window = differing(before.view(bits), now.view(bits))
    return window if window[1] else NOWHERE


def window_of(mask: NDArray[np.bool_]) -> Window:
    """Smallest window that holds all nodes of a mask.

    Parameters
    ----------
    mask : (rows, columns) bool array

    Returns
    -------
    Window

    Examples
    --------
    >>> window_of(np.array([[False, False, False], [False, True, False]]))
    (1, 2, 1, 2)
    """
    window: Window = marked(np.ascontiguousarray(mask).view(np.int8))
    return window if window[1] else NOWHERE


def crossed(
    window: Window, grid: Grid, start: tuple[Length, Length], ends: Lengths | Sequence[Sequence[Length]]
) -> bool:
    """Whether a straight line from a point to one of others touches a cell at a node of a window.

    Parameters
    ----------
    window : Window
    grid : Grid                    Where its nodes are.
    start : (east, north)          [m]
    ends : (n, 2) array            East and north of each. [m]

    Returns
    -------
    bool                           Also true for a line that passes by within a cell more.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=20, rows=20)
    >>> crossed((8, 9, 8, 9), grid, (0.0, 0.0), [(19.0, 0.0), (19.0, 18.0)])
    True
    >>> crossed((8, 9, 2, 3), grid, (0.0, 0.0), [(19.0, 0.0), (19.0, 18.0)])
    False
    """
    if window == NOWHERE:
        return False
    south, north, west, east = window
    return passes(
        *start,
        np.ascontiguousarray(ends, dtype=np.float64).reshape(-1, 2),
        # Two cells beyond its nodes on each side.
        grid.origin_east + (west - 2) * grid.spacing,
        grid.origin_east + (east + 1) * grid.spacing,
        grid.origin_north + (south - 2) * grid.spacing,
        grid.origin_north + (north + 1) * grid.spacing,
    )


def joined(one: Window, other: Window) -> Window:
    """Smallest window that holds two.

    Parameters
    ----------
    one, other : Window

    Returns
    -------
    Window

    Examples
    --------
    >>> joined((1, 3, 2, 5), (2, 4, 0, 3)), joined(NOWHERE, (2, 4, 0, 3))
    ((1, 4, 0, 5), (2, 4, 0, 3))
    """
    if NOWHERE in (one, other):
        return other if one == NOWHERE else one
    return min(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), max(one[3], other[3])


def grown(window: Window, nodes: int, shape: tuple[int, int]) -> Window:
    """Window with some nodes more on each side, held on the grid.

    Parameters
    ----------
    window : Window
    nodes : int            >= 0
    shape : (int, int)     Rows and columns of the grid.

    Returns
    -------
    Window

    Examples
    --------
    >>> grown((1, 3, 2, 5), 2, (4, 6)), grown(NOWHERE, 2, (4, 6))
    ((0, 4, 0, 6), (0, 0, 0, 0))
    """
    if window == NOWHERE:
        return NOWHERE
    first_row, end_row, first_column, end_column = window
    return (
        max(first_row - nodes, 0),
        min(end_row + nodes, shape[0]),
        max(first_column - nodes, 0),
        min(end_column + nodes, shape[1]),
    )


def meet(one: Window, other: Window) -> Window:
    """Window of the nodes that two windows share.

    Parameters
    ----------
    one, other : Window

    Returns
    -------
    Window                 :data:`NOWHERE` where they share none.

    Examples
    --------
    >>> meet((0, 2, 0, 2), (1, 3, 1, 3)), meet((0, 2, 0, 2), (2, 3, 0, 2))
    ((1, 2, 1, 2), (0, 0, 0, 0))
    """
    both = max(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), min(one[3], other[3])
    return both if both[0] < both[1] and both[2] < both[3] else NOWHERE


def whole(shape: tuple[int, int]) -> Window:
    """Window of a whole grid.

    Parameters
    ----------
    shape : (int, int)     Rows and columns of nodes.

    Returns
    -------
    Window

    Examples
    --------
    >>> whole((4, 6))
    (0, 4, 0, 6)
    """
    return 0, shape[0], 0, shape[1]


def shifted(window: Window, rows: int, columns: int) -> Window:
    """Window some nodes farther on, for a part of the grid that counts from elsewhere.

    Parameters
    ----------
    window : Window
    rows, columns : int

    Returns
    -------
    Window                 :data:`NOWHERE` stays so.

    Examples
    --------
    >>> shifted((2, 4, 3, 5), -2, 1), shifted(NOWHERE, 1, 1)
    ((0, 2, 4, 6), (0, 0, 0, 0))
    """
    if window == NOWHERE:
        return NOWHERE
    return window[0] + rows, window[1] + rows, window[2] + columns, window[3] + columns


def nodes_in(window: Window) -> tuple[slice, slice]:
    """Rows and columns of a window, to index an array by.

    Parameters
    ----------
    window : Window

    Returns
    -------
    (slice, slice)

    Examples
    --------
    >>> nodes_in((1, 3, 2, 5))
    (slice(1, 3, None), slice(2, 5, None))
    """
    return slice(window[0], window[1]), slice(window[2], window[3])


def part_of_grid(grid: Grid, window: Window) -> Grid:
    """Nodes of a window as a grid of their own; an even start keeps the diagonals where they are.

    Parameters
    ----------
    grid : Grid
    window : Window     At least two nodes each way.

    Returns
    -------
    Grid

    Raises
    ------
    DomainError         If the window is smaller.

    Examples
    --------
    >>> part_of_grid(Grid(0.0, 0.0, 0.5, columns=9, rows=9), (2, 5, 4, 8))
    Grid(origin_east=2.0, origin_north=1.0, spacing=0.5, columns=4, rows=3)
    """
    first_row, end_row, first_column, end_column = window
    return Grid(
        origin_east=grid.origin_east + first_column * grid.spacing,
        origin_north=grid.origin_north + first_row * grid.spacing,
        spacing=grid.spacing,
        columns=end_column - first_column,
        rows=end_row - first_row,
    )
