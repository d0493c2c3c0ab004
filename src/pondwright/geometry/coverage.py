"""Exact area of a body in every cell.

Areas never come from counting cells: a peg that moves by a millimetre would make such an area
jump.  Each edge of a ring adds the exact area that it covers in the cells that it crosses.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Areas, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import coverage as kernels
from pondwright.geometry.polygon import checked_ring, ring_edges, signed_area


def ring_coverage(grid: Grid, rings: Sequence[ArrayLike]) -> Areas:
    """Area of a body in each cell of the grid, exact.

    Parameters
    ----------
    grid : Grid
        Its cells are the squares between the nodes; rings may reach beyond it.
    rings : sequence of (n, 2) arrays
        The outer ring first, then islands that lie inside it, in any direction. [m]

    Returns
    -------
    Areas, (rows - 1, columns - 1) array
        From 0 to ``grid.cell_area``; read-only. [m²]

    Raises
    ------
    DomainError
        If there is no ring, or one is not a ring.

    Notes
    -----
    A ring that crosses itself counts by the even-odd rule, exactly but for the cells in which it
    does so; :func:`~pondwright.geometry.polygon.self_crossings` tells where.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=2)
    >>> ring_coverage(grid, [[[0.5, 0.0], [1.25, 0.0], [1.25, 1.0], [0.5, 1.0]]]).tolist()
    [[0.5, 0.25]]

    hand
    """
    if len(rings) == 0:
        raise DomainError("`rings` must hold at least one ring, got none")
    ways = [1.0] + [-1.0] * (len(rings) - 1)
    turned = [_turned(ring, way) for ring, way in zip(rings, ways, strict=True)]
    coverage = np.empty(grid.cells_shape)
    kernels.cover_cells(ring_edges(turned), grid.origin_east, grid.origin_north, grid.spacing, coverage)
    coverage.flags.writeable = False
    return coverage


def covered_area(grid: Grid, rings: Sequence[ArrayLike]) -> Area:
    """Area of the part of a body that lies within the grid, exact.

    Parameters
    ----------
    grid : Grid
        The window; all of it counts, from the first node to the last.
    rings : sequence of (n, 2) arrays
        The outer ring first, then islands that lie inside it, in any direction. [m]

    Returns
    -------
    Area
        Equal to :func:`~pondwright.geometry.polygon.enclosed_area` if the grid holds all of it. [m²]

    Raises
    ------
    DomainError
        If there is no ring, or one is not a ring.
    """
    return float(ring_coverage(grid, rings).sum())


def _turned(ring: ArrayLike, way: float) -> Lengths:
    """The ring, running counterclockwise if ``way`` is above 0 and else clockwise."""
    corners = checked_ring(ring)
    return corners if way * signed_area(corners) >= 0.0 else corners[::-1]
