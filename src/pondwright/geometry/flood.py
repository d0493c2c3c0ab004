"""The basin of a body: its own connected ground, up to the lip where its water would leave.

A water level laid over the whole grid would also drown the low ground behind a bank.  So the
water climbs outward from the shore, always over the lowest ground first, and stops where it would
run down or leave the window: that level is the *lip*, and only what was reached below it belongs to
the body.  Only the ground between the shore and the lip is visited.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, Length
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.fill import fill as fill_kernel
from pondwright.geometry.kernels.flood import EDGE_OF_WINDOW, SPILLS_BELOW
from pondwright.geometry.kernels.flood import flood as flood_kernel
from pondwright.geometry.scratch import SCRATCH
from pondwright.geometry.surface import checked_surface
from pondwright.geometry.window import Window, grown, window_of

HOLLOW: Length = 0.02
"""Depth up to which a dip outside the shore counts as a hollow of the basin, not as the way out. [m]"""


NEAR_LIP: Length = 0.02
"""So far below the lip of last time the order of the flood is looked at again. [m]"""


@dataclass(frozen=True, slots=True)
class Basin:
    """The connected ground of a body, up to its own lip.

    Parameters
    ----------
    lip : Elevation
        Water level at which the body spills: the lowest saddle of its rim. [m]
    lip_point : tuple of Length
        East and north of the saddle. [m]
    leaves_window : bool
        Whether the water reached the edge of the grid before it ran down anywhere: the true lip
        may then be higher, but the ground beyond is not on the grid.
    mask : (rows, columns) array of bool
        Nodes of the basin: all inside the shore, and all that the water reaches below its lip.
        Read-only; give it to the functions of :mod:`pondwright.geometry.volume`.
    window : Window
        Window outside which no elevation has a part in the basin: its nodes and their neighbours.
    """

    lip: Elevation
    lip_point: tuple[Length, Length]
    leaves_window: bool
    mask: NDArray[np.bool_]
    window: Window


def basin(
    z: Elevations,
    inside_mask: NDArray[np.bool_],
    grid: Grid,
    hollow: Length = HOLLOW,
    last_lip: Elevation | None = None,
) -> Basin:
    """Own connected ground of a body up to its own lip.

    Water moves along the edges of the triangles, the only paths on which their lowest saddles can
    lie, so the lip is exact for the flat triangles.  It does not depend on the water level:
    a rim that is too low gives a lip below that level.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations of the finish at the nodes. [m]
    inside_mask : (rows, columns) array of bool
        Nodes within the outer shore; the nodes of islands are within it too.
    grid : Grid
        Where the nodes are.
    hollow : Length, optional
        A dip outside the shore no deeper than this is filled, a deeper one is where the water
        leaves. [m], >= 0
    last_lip : Elevation, optional
        Where the water left before a move, a hint to spare work: the answer is the same without it. [m]

    Returns
    -------
    Basin
        The lip, where it is, and the nodes below it.

    Raises
    ------
    DomainError
        If no node is inside, an array does not fit the grid, or `hollow` is below 0.

    Notes
    -----
    A flood in order of height (priority flood) from the shore.  A bank's hollow deeper than
    `hollow` counts as the way out although it may be closed: the lip is then told too low, never
    too high.  Up to a little below the last lip the ground is flooded in any order, and only if the
    water leaves there after all is it flooded again from the start.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=5, rows=5)
    >>> z = np.full((5, 5), 2.0)
    >>> z[2, 2], z[2, 3], z[2, 4] = 0.0, 1.5, 0.5
    >>> inside = np.zeros((5, 5), dtype=bool)
    >>> inside[2, 2] = True
    >>> basin(z, inside, grid).lip
    1.5
    """
    heights = checked_surface(z, grid)
    if inside_mask.shape != grid.shape:
        raise DomainError(f"`inside_mask` must have the grid's {grid.shape} nodes, got {inside_mask.shape}")
    if not inside_mask.any():
        raise DomainError("`inside_mask` must hold at least 1 node of the grid, got 0")
    if not (isfinite(hollow) and hollow >= 0.0):
        raise DomainError(f"`hollow` must be at least 0 m, got {hollow} m")
    inside = np.ascontiguousarray(inside_mask, dtype=np.bool_).view(np.int8)
    window = window_of(inside_mask)
    way, calm = SPILLS_BELOW, -np.inf if last_lip is None else last_lip - NEAR_LIP
    best = SCRATCH.room("flood_keys", heights.size, np.float64)
    saddle = SCRATCH.room("flood_saddles", heights.size, np.int64)
    while way == SPILLS_BELOW:
        mask = inside.copy()
        lip, node, way = flood_kernel(heights, inside, hollow, calm, window, best, saddle, mask)
        calm = -np.inf
    row, column = divmod(int(node), grid.columns)
    point = (grid.origin_east + column * grid.spacing, grid.origin_north + row * grid.spacing)
    reached = mask.view(np.bool_)
    reached.flags.writeable = False
    around = grown(window_of(reached), 1, reached.shape)
    return Basin(lip, point, way == EDGE_OF_WINDOW, reached, around)


def filled(z: Elevations, grid: Grid) -> Elevations:
    """Surface with every hollow filled up to the level at which its water would leave the window.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    grid : Grid
        Where the nodes are.

    Returns
    -------
    (rows, columns) array of Elevation
        Nowhere below `z`, and equal to it where no water would stand; read-only. [m]

    Raises
    ------
    DomainError
        If `z` does not fit the grid.

    Notes
    -----
    A flood in order of height from the edge of the window inward, over the edges of the triangles: the
    edge holds no water, and a hollow within a hollow is filled to the lip of the outer one.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=4, rows=3)
    >>> z = np.full((3, 4), 2.0)
    >>> z[1, 1], z[1, 2], z[1, 3] = 0.0, 1.5, 1.0
    >>> filled(z, grid)[1].tolist()
    [2.0, 1.5, 1.5, 1.0]
    """
    heights = checked_surface(z, grid)
    water = np.empty(grid.shape)
    fill_kernel(heights, water)
    water.flags.writeable = False
    return water
