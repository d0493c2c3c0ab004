"""From where a machine reaches the places of stones.

Where the builder tells stands, the best of them counts for each stone.  Where none is told, the machine may
stand anywhere outside the water, its middle some way back from the edge; fences and trees are not seen.

See Also
--------
pondwright.rooms.stone.lifting : what it may hold there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, Length, Lengths, Mass, Masses
from pondwright.rooms.stone.lifting import Chart, lift_capacity

SET_BACK: Length = 2.0
"""Middle of a machine to the water's edge where no stand is told. [m]; common practice, no source."""

SMOOTH: Length = 0.02
"""How far a line round the water may be off. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class Reached:
    """For each place the stand from which most can be lifted there.

    Attributes
    ----------
    stands : (n, 2) array      [m]
    radii : (n,) array         From the stand to the place. [m]
    hooks : (n,) array         Height of the hook above the stand. [m]
    capacities : (n,) array    What the machine may hold there. [kg]
    """

    stands: Lengths
    radii: Lengths
    hooks: Lengths
    capacities: Masses


def outside_line(rings: Sequence[Lengths], back: Length = SET_BACK) -> tuple[Lengths, ...]:
    """Where the middle of a machine may stand nearest to the water: closed lines round all of it.

    Parameters
    ----------
    rings : (n, 2) arrays     Outer shores of all bodies. [m]
    back : Length             From the edge. [m], >= 0

    Returns
    -------
    tuple of (k, 2) arrays    [m]

    Raises
    ------
    DomainError               If the distance is below 0.

    Notes
    -----
    The edge of all waters together, moved outward to within 2 cm; land that they enclose is not reached.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    >>> [line] = outside_line([square], 2.0)
    >>> line.min(axis=0).tolist(), line.max(axis=0).tolist()
    ([-2.0, -2.0], [12.0, 12.0])

    hand

    References
    ----------
    .. [1] Derived: offset of a polygon.
    """
    if back < 0.0:
        raise DomainError(f"`back` must be at least 0 m, got {back:g} m")
    water = shapely.union_all([Polygon(ring).buffer(back) for ring in rings]).simplify(SMOOTH)
    return tuple(np.array(part.exterior.coords) for part in shapely.get_parts(water))


def nearest_stands(points: Lengths, lines: Sequence[Lengths]) -> Lengths:
    """Nearest place outside the water for each point: the point itself where it already lies outside.

    Parameters
    ----------
    points : (n, 2) array      [m]
    lines : (k, 2) arrays      Closed lines round the water. [m]

    Returns
    -------
    (n, 2) array               [m]

    Examples
    --------
    >>> line = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 0.0]])
    >>> nearest_stands(np.array([[1.0, 5.0], [12.0, 5.0]]), [line]).tolist()
    [[0.0, 5.0], [12.0, 5.0]]

    hand

    References
    ----------
    .. [1] Derived: nearest point of a line.
    """
    if not len(lines) or not len(points):
        return np.asarray(points, dtype=np.float64).reshape(-1, 2)
    rounds = shapely.multilinestrings([shapely.linestrings(line) for line in lines])
    inside = shapely.contains_xy(shapely.union_all([Polygon(line) for line in lines]), *points.T)
    at = shapely.line_locate_point(rounds, shapely.points(points))
    nearest = shapely.get_coordinates(shapely.line_interpolate_point(rounds, at))
    return np.where(inside[:, np.newaxis], nearest, points)


def best_stands(
    chart: Chart,
    tool: Mass,
    points: Lengths,
    hooks: Elevations | Elevation,
    stands: Lengths,
    grounds: Elevations,
) -> Reached:
    """Stand of a few from which a machine may hold most at each place.

    Parameters
    ----------
    chart : Chart
    tool : Mass                                   [kg], >= 0
    points : (n, 2) array                         Where stones are set. [m]
    hooks : (n,) array or Elevation               Elevation of the hook there. [m]
    stands : (k, 2) array                         [m], k > 0
    grounds : (k,) array                          Elevation of the ground at the stands. [m]

    Returns
    -------
    Reached

    Raises
    ------
    DomainError                                   If there is no stand.

    Notes
    -----
    The greatest capacity counts, then the shortest radius.

    Examples
    --------
    >>> from pondwright.rooms.stone.lifting import chart_of
    >>> chart = chart_of([(2.0, 0.0, 1800.0), (3.0, 0.0, 1500.0), (4.0, 0.0, 1000.0)])
    >>> stands = np.array([[0.0, 0.0], [9.0, 0.0]])
    >>> found = best_stands(chart, 100.0, np.array([[3.5, 0.0], [6.0, 0.0]]), 1.0, stands, np.zeros(2))
    >>> found.radii.tolist(), found.capacities.tolist()
    ([3.5, 3.0], [900.0, 1400.0])

    hand

    References
    ----------
    .. [1] Derived.
    """
    if not len(stands):
        raise DomainError("`stands` must hold at least one place for the machine")
    apart = points[:, np.newaxis, :] - stands[np.newaxis, :, :]
    radii = np.hypot(apart[..., 0], apart[..., 1])
    heights = np.asarray(hooks, dtype=np.float64).reshape(-1, 1) - grounds[np.newaxis, :]
    capacities = lift_capacity(chart, radii, np.broadcast_to(heights, radii.shape), tool)
    best = np.lexsort((radii, -capacities), axis=1)[:, 0]
    return _picked(stands, radii, np.broadcast_to(heights, radii.shape), capacities, best)


def _picked(
    stands: Lengths, radii: Lengths, heights: Lengths, capacities: Masses, best: NDArray[np.intp]
) -> Reached:
    row = np.arange(len(best))
    return Reached(stands[best], radii[row, best], heights[row, best], capacities[row, best])


def from_outside(
    chart: Chart,
    tool: Mass,
    points: Lengths,
    hooks: Elevations | Elevation,
    stands: Lengths,
    grounds: Elevations,
) -> Reached:
    """What a machine may hold at each place, each with a stand of its own.

    Parameters
    ----------
    chart : Chart
    tool : Mass                            [kg], >= 0
    points : (n, 2) array                  Where stones are set. [m]
    hooks : (n,) array or Elevation        Elevation of the hook there. [m]
    stands : (n, 2) array                  The stand for each, as from :func:`nearest_stands`. [m]
    grounds : (n,) array                   Elevation of the ground at the stands. [m]

    Returns
    -------
    Reached

    Examples
    --------
    >>> from pondwright.rooms.stone.lifting import chart_of
    >>> chart = chart_of([(2.0, 0.0, 1800.0), (3.0, 0.0, 1500.0)])
    >>> points, stands = np.array([[2.5, 0.0]]), np.array([[0.0, 0.0]])
    >>> from_outside(chart, 0.0, points, 1.0, stands, np.zeros(1)).capacities.tolist()
    [1500.0]

    hand

    References
    ----------
    .. [1] Derived.
    """
    radii = np.hypot(*(points - stands).T)
    heights = np.broadcast_to(np.asarray(hooks, dtype=np.float64), radii.shape) - grounds
    return Reached(stands, radii, heights, lift_capacity(chart, radii, heights, tool))
