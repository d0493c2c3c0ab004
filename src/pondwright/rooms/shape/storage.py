"""What a body holds: volume and area by level, on its own ground, up to its own lip.

A level laid over the whole finish would also drown the low ground outside the berm, so only the
ground connected with the body counts, up to the lip where its water would leave.  The curve has
exact volume and area of the piecewise linear surface at 64 levels and at the water level.

See Also
--------
pondwright.geometry.flood : the lip.
pondwright.geometry.volume : the exact volumes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Area, Areas, Elevation, Elevations, Length, Volume, Volumes
from pondwright.geometry.flood import Basin, basin
from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import Mask, StageSums, triangles_touching
from pondwright.geometry.window import NOWHERE, Window, changed, joined, nodes_in

CURVE_LEVELS = 64
"""Evenly spaced levels of a curve, from the lowest ground to the lip."""

SAME_LEVEL: Length = 1e-5
"""Levels nearer to one another are one. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class Storage:
    """Storage of one body.

    Attributes
    ----------
    levels, volumes, areas : (n,) arrays     Curve from the lowest ground to the lip. [m], [m³], [m²]
    volume, area : float                     At the water level, or at the lip where that is lower.
    deeper_areas : Area                      Area deeper than each depth that was asked for. [m²]
    deepest : Length                         Water over the lowest ground. [m]
    lip : Elevation                          Where the water would leave. [m]
    lip_point : (east, north)                Where that is. [m]
    leaves_window : bool                     Whether the lip is only the edge of the grid.
    window : Window                          First and end row, first and end column of all nodes that tell.
    mask : (rows, columns) bool array        Nodes of the basin.
    sums : StageSums                         What a curve after a move goes on from.
    """

    levels: Elevations
    volumes: Volumes
    areas: Areas
    volume: Volume
    area: Area
    deeper_areas: tuple[Area, ...]
    deepest: Length
    lip: Elevation
    lip_point: tuple[Length, Length]
    leaves_window: bool
    window: Window
    mask: Mask
    sums: StageSums


def storage(
    z: Elevations,
    within: NDArray[np.bool_],
    grid: Grid,
    level: Elevation,
    depths: Sequence[Length],
    before: tuple[Storage, Window] | None = None,
) -> Storage:
    """Storage curve of a body and what it holds at its water level.

    Parameters
    ----------
    z : (rows, columns) array              The finish. [m]
    within : (rows, columns) bool array    Nodes within the outer shore, islands too.
    grid : Grid                            Where the nodes are.
    level : Elevation                      The water level. [m]
    depths : Length                        Depths for which the deeper area is wanted. [m], >= 0
    before : Storage and Window            Of last time on the same grid, and where `z` changed since.

    Returns
    -------
    Storage

    Notes
    -----
    Levels above the lip are never counted: water cannot stand there.

    References
    ----------
    .. [1] Derived: exact integrals over the triangles of the surface, second order in the spacing.
    """
    own = basin(z, within, grid, last_lip=None if before is None else before[0].lip)
    nodes = nodes_in(own.window)
    lowest = float(z[nodes][within[nodes]].min())
    row, z, mask, grid = _around(own, z, grid)
    top = max(own.lip, lowest)
    stands = min(level, top)
    levels = np.linspace(lowest, top, CURVE_LEVELS)
    wanted = np.concatenate([levels, [stands], [min(level - depth, stands) for depth in depths]])
    # All levels in one pass, which takes them in ascending order.
    order = np.argsort(wanted, kind="stable")
    volumes, areas = np.empty_like(wanted), np.empty_like(wanted)
    triangles, known, moved = triangles_touching(mask), None, NOWHERE
    if before is not None:
        known, moved = before[0].sums, joined(before[1], changed(before[0].mask, own.mask))
    sums = StageSums.of(z, wanted[order], grid, triangles, known, (moved[0] - row, moved[1] - row))
    volumes[order], areas[order] = sums.curve()
    for array in (levels, volumes, areas):
        array.flags.writeable = False
    return Storage(
        levels=levels,
        volumes=volumes[:CURVE_LEVELS],
        areas=areas[:CURVE_LEVELS],
        volume=float(volumes[CURVE_LEVELS]),
        area=float(areas[CURVE_LEVELS]),
        deeper_areas=tuple(areas[CURVE_LEVELS + 1 :].tolist()),
        deepest=max(stands - lowest, 0.0),
        lip=float(own.lip),
        lip_point=(float(own.lip_point[0]), float(own.lip_point[1])),
        leaves_window=own.leaves_window,
        window=own.window,
        mask=own.mask,
        sums=sums,
    )


def shore_areas(levels: Elevations, areas: Areas, level: Elevation, area: Area) -> Areas:
    """Areas of the water by level, with that within its shore at its own level.

    Parameters
    ----------
    levels, areas : (n,) arrays     As the surface of the ground on a grid has them. [m], [m²]
    level : Elevation               Own level of the water. [m]
    area : Area                     Within its shore. [m²], >= 0

    Returns
    -------
    (n,) array                      [m²]

    Notes
    -----
    On a grid an upright edge leans over a cell: the ground tells some water outside the shore, at levels
    between the foot of that edge and its head.  Below its own level no water reaches beyond its shore, and
    above it none draws back from it.  The volume needs none of this: the lean takes from it what it gives.

    Examples
    --------
    >>> levels, areas = np.array([-0.5, -0.1, 0.0, 0.2]), np.array([60.0, 101.0, 103.0, 110.0])
    >>> shore_areas(levels, areas, 0.0, 100.0).tolist()
    [60.0, 100.0, 100.0, 110.0]

    hand

    References
    ----------
    .. [1] Derived: water stands within its shore at its level.
    """
    beside = np.where(levels < level, np.minimum(areas, area), np.maximum(areas, area))
    return np.where(np.abs(levels - level) < SAME_LEVEL, area, beside)


def _around(own: Basin, z: Elevations, grid: Grid) -> tuple[int, Elevations, Mask, Grid]:
    """First row and part of the surface, of the mask and of the grid that holds all triangles of the mask."""
    first_row, end_row, first_column, end_column = own.window
    # Even starts keep the diagonals of the cells where they are in the whole grid.
    row, column = 2 * (first_row // 2), 2 * (first_column // 2)
    chosen = np.s_[row:end_row, column:end_column]
    part = np.ascontiguousarray(z[chosen])
    window = Grid(
        grid.origin_east + column * grid.spacing,
        grid.origin_north + row * grid.spacing,
        grid.spacing,
        part.shape[1],
        part.shape[0],
    )
    return row, part, own.mask[chosen], window
