"""Distance from the shore of a body at every node, positive inside.

The distance is exact for the rings as given: one compiled kernel that rules out segments by
tiles.  A raster distance transform was measured to be wrong by a whole cell and is not offered.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from pondwright.base.kinds import Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import distance as kernels
from pondwright.geometry.polygon import ring_edges


def signed_distance(
    grid: Grid, rings: Sequence[ArrayLike], before: tuple[Sequence[ArrayLike], Lengths] | None = None
) -> Lengths:
    """Exact distance of every node to the nearest ring, positive inside the body.

    Inside is told by the even-odd rule, so that islands need no direction and a ring that crosses
    itself still gives an answer: each of its lobes by itself.

    Parameters
    ----------
    grid : Grid
        Nodes at which the distance is wanted; rings may reach beyond it.
    rings : sequence of (n, 2) arrays
        The outer ring first, then its islands, in any direction. [m]
    before : rings and array, optional
        Rings of which some points moved, and the distance from them on the same grid: the answer is the
        same to the last bit, and takes less time. [m]

    Returns
    -------
    Lengths, (rows, columns) array
        Above 0 inside, below 0 outside, 0 on a ring; read-only. [m]

    Raises
    ------
    DomainError
        If there is no ring, or one is not a ring.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=4, rows=3)
    >>> signed_distance(grid, [[[0.5, -2.0], [9.0, -2.0], [9.0, 4.0], [0.5, 4.0]]])[1].tolist()
    [-0.5, 0.5, 1.5, 2.5]

    hand
    """
    edges = ring_edges(rings)
    place = grid.origin_east, grid.origin_north, grid.spacing
    old = None if before is None else ring_edges(before[0])
    if before is None or old is None or old.shape != edges.shape:
        distance = np.empty(grid.shape)
        kernels.distance_to_segments(edges, *place, distance)
    else:
        distance = np.abs(before[1])
        moved = (old != edges).any(axis=1)
        # Those that did not move come first, in both lists.
        order = np.argsort(moved, kind="stable")
        kernels.moved_distance(old[order], edges[order], int((~moved).sum()), *place, distance)
    kernels.sign_by_crossings(edges, *place, distance)
    distance.flags.writeable = False
    return distance
