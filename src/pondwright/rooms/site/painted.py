"""A shoreline painted on the grass: from its located points to pegs of a shore.

The client and the builder walk the edge with a can of paint; the line is then taken by tapes, or walked and
shot.  All its points become pegs as long as they are few enough to drag; of more, pegs are put one after the
other where the curve still misses the paint most.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Lengths
from pondwright.geometry.curve import closed_curve

MOST_PEGS = 40
"""Pegs of a shore that can still be dragged by hand; common practice."""

_FIRST_PEGS = 8


def shore_miss(ring: Lengths, painted: Lengths) -> Length:
    """Largest distance of a painted point from a shoreline.

    Parameters
    ----------
    ring : (n, 2) array        East and north of the shoreline, closed. [m]
    painted : (m, 2) array     East and north of the painted points. [m]

    Returns
    -------
    Length                     [m], >= 0

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    >>> shore_miss(square, np.array([[5.0, 0.25], [10.0, 4.0]]))
    0.25

    hand

    References
    ----------
    .. [1] Derived: distance of a point from a polygon's edge.
    """
    return float(shapely.distance(shapely.LinearRing(ring), shapely.points(painted)).max())


def shore_pegs(painted: Lengths, miss: Length, most: int = MOST_PEGS) -> NDArray[np.intp]:
    """Painted points that become pegs of a closed smooth shore.

    Parameters
    ----------
    painted : (n, 2) array     East and north of the painted points in order. [m], n >= 3
    miss : Length              Distance by which the curve may miss a painted point. [m], > 0
    most : int                 Up to so many points all become pegs.

    Returns
    -------
    (k,) int array             Their numbers, ascending; more than `most` only where the miss asks for it.

    Raises
    ------
    DomainError                If there are fewer than three points, or all at one place.

    Notes
    -----
    From eight points spread along the line on, the point that the curve misses most becomes the next peg
    until none is missed by more than `miss`.

    Examples
    --------
    >>> angles = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
    >>> circle = 10.0 * np.column_stack([np.cos(angles), np.sin(angles)])
    >>> pegs = shore_pegs(circle, 0.1)
    >>> curve = closed_curve(circle[pegs], np.zeros(len(pegs), bool)).points
    >>> len(pegs) <= 40, shore_miss(curve, circle) <= 0.1
    (True, True)

    hand

    References
    ----------
    .. [1] Derived: greedy refinement.
    """
    if len(painted) < 3 or not np.ptp(painted, axis=0).any():
        raise DomainError(f"`painted` must be at least 3 points round a shore, got {len(painted)}")
    if len(painted) <= most:
        return np.arange(len(painted))
    pegs = {int(number) for number in np.linspace(0, len(painted), _FIRST_PEGS, endpoint=False)}
    while len(pegs) < len(painted):
        chosen = np.array(sorted(pegs))
        curve = closed_curve(painted[chosen], np.zeros(len(chosen), dtype=np.bool_)).points
        away = shapely.distance(shapely.LinearRing(curve), shapely.points(painted))
        away[chosen] = 0.0
        if away.max() <= miss:
            break
        pegs.add(int(np.argmax(away)))
    return np.array(sorted(pegs))
