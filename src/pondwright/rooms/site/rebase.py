"""Ground before and after: what left and what came where the ground was shot again.

The pond is emptied, the muck is out, and the hole is shot once more.  Two surfaces on one grid, the ground as
it was taken to be and as it is found now, tell what is gone, what has come, and how far the ground dropped.

See Also
--------
pondwright.geometry.volume : exact volumes between two surfaces on whole grids.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Length, Lengths, Volume
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside
from pondwright.rooms.site.location import PlanPoint

_CELLS = 300


@dataclass(frozen=True, slots=True)
class GroundChange:
    """What changed between two grounds inside a ring.

    Attributes
    ----------
    gone : Volume             Ground that is not there any more. [m³], >= 0
    come : Volume             Ground that was not there before. [m³], >= 0
    area : Area               Area of the ring. [m²]
    largest_drop : Length     Deepest lowering; 0 if it dropped nowhere. [m]
    drop_point : PlanPoint    Where that is. [m]
    """

    gone: Volume
    come: Volume
    area: Area
    largest_drop: Length
    drop_point: PlanPoint


def ring_grid(ring: Lengths) -> Grid:
    """Grid that is laid over a ring to compare two grounds inside it.

    Parameters
    ----------
    ring : (n, 2) array     East and north of the ring. [m]

    Returns
    -------
    Grid                    300 cells along the longer side, and one more all round.

    Raises
    ------
    DomainError             If the ring has no extent.

    Examples
    --------
    >>> grid = ring_grid(np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 15.0], [0.0, 15.0]]))
    >>> grid.spacing, grid.columns, grid.rows
    (0.1, 303, 153)

    hand

    References
    ----------
    .. [1] Common practice, no source.
    """
    low, size = ring.min(axis=0), np.ptp(ring, axis=0)
    longest = float(size.max())
    if not longest > 0.0:
        raise DomainError("`ring` must have an extent, got one point")
    spacing = longest / _CELLS
    columns, rows = (math.ceil(float(side) / spacing - 1e-9) + 3 for side in size)
    return Grid(float(low[0]) - spacing, float(low[1]) - spacing, spacing, columns, rows)


def ground_change(before: Lengths, now: Lengths, grid: Grid, ring: Lengths) -> GroundChange:
    """What changed between two grounds inside a ring.

    Parameters
    ----------
    before, now : (rows, columns) arrays     Elevations of the two grounds. [m]
    grid : Grid                              Where their nodes are.
    ring : (n, 2) array                      East and north of the ring. [m]

    Returns
    -------
    GroundChange

    Notes
    -----
    Sum over the cells of the area that the ring covers in each, exact, times the mean of max(0, before - now)
    at its four nodes.  Exact where the difference is one plane of one sign; elsewhere of second order in the
    spacing, and of first order along the ring, where the ground just outside counts in the cells it cuts.

    Examples
    --------
    >>> ring = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])
    >>> grid = ring_grid(ring)
    >>> change = ground_change(np.full(grid.shape, 5.0), np.full(grid.shape, 4.5), grid, ring)
    >>> round(change.gone, 9), round(change.come, 9), round(change.area, 9), change.largest_drop
    (6.0, 0.0, 12.0, 0.5)

    hand

    References
    ----------
    .. [1] Derived: the trapezoidal rule.
    """
    covered = ring_coverage(grid, [ring])
    lost = before - now
    east, north = np.meshgrid(grid.east, grid.north)
    nodes = np.column_stack([east.ravel(), north.ravel()])
    inside = points_inside([ring], nodes).reshape(grid.shape)
    drop = np.where(inside, lost, -np.inf)
    row, column = divmod(int(np.argmax(drop)), grid.columns)
    return GroundChange(
        gone=float((covered * _cell_mean(np.maximum(lost, 0.0))).sum()),
        come=float((covered * _cell_mean(np.maximum(-lost, 0.0))).sum()),
        area=float(covered.sum()),
        largest_drop=max(float(drop[row, column]), 0.0),
        drop_point=(float(grid.east[column]), float(grid.north[row])),
    )


def _cell_mean(nodes: Lengths) -> Lengths:
    return np.asarray(0.25 * (nodes[:-1, :-1] + nodes[1:, :-1] + nodes[:-1, 1:] + nodes[1:, 1:]))
