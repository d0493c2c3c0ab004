"""What stands beside the water and is counted by the piece: walls, fences with gates, lights, steps.

See Also
--------
pondwright.rooms.shape.stage.built : reads them from the job.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import line_length, points_inside
from pondwright.geometry.surface import surface_at
from pondwright.rooms.shape.reach import line_nearest

__all__ = [
    "GAP",
    "Flight",
    "beside",
    "closed_areas",
    "fence_length",
    "flight",
    "to_water",
]

GAP: Length = 0.1016
"""Two ends of a fence with no more between them are one fence: 4 in, as of its openings (from memory). [m]"""

LITTLE = 1e-6
"""A rise that is so much of a riser too high is rounding."""


@dataclass(frozen=True, slots=True)
class Flight:
    """Equal steps of a flight.

    Attributes
    ----------
    risers : int        How many; 0 where nothing is climbed.
    riser : Length      Height of each. [m], >= 0
    tread : Length      Depth of each; 0 where there is no tread between two risers. [m], >= 0
    """

    risers: int
    riser: Length
    tread: Length


def flight(rise: Length, length: Length, most_riser: Length) -> Flight:
    """Equal steps that climb from one end of a line to the other.

    Parameters
    ----------
    rise : Length           From end to end, up or down. [m]
    length : Length         Of the line, from the first riser to the last. [m], >= 0
    most_riser : Length     Greatest height of a step. [m], > 0

    Returns
    -------
    Flight

    Raises
    ------
    DomainError             If the greatest height is not above 0.

    Notes
    -----
    n = ceil(rise / greatest riser); riser = rise / n; tread = length / (n - 1).

    Examples
    --------
    >>> flight(0.9, 2.0, 0.16)
    Flight(risers=6, riser=0.15, tread=0.4)

    hand

    References
    ----------
    .. [1] Derived: risers are equal, and there is one tread fewer.
    """
    if not most_riser > 0.0:
        raise DomainError(f"`most_riser` must be above 0 m, got {most_riser} m")
    risers = math.ceil(abs(rise) / most_riser - LITTLE)
    if risers <= 0:
        return Flight(0, 0.0, 0.0)
    return Flight(risers, abs(rise) / risers, length / (risers - 1) if risers > 1 else 0.0)


def beside(surface: Elevations, grid: Grid, line: Lengths, away: Length) -> tuple[Elevations, Elevations]:
    """Higher and lower ground beside a line, at each of its points.

    Parameters
    ----------
    surface : (rows, columns) array     [m]
    grid : Grid                         Where its nodes are; beyond them the edge goes on level.
    line : (n, 2) array                 [m]
    away : Length                       How far to both sides it is looked. [m], >= 0

    Returns
    -------
    (n,) array, (n,) array              [m]

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=5, rows=5)
    >>> hill = np.tile(0.1 * grid.east, (5, 1))
    >>> high, low = beside(hill, grid, np.array([[2.0, 1.0], [2.0, 3.0]]), 1.0)
    >>> high.round(3).tolist(), low.round(3).tolist()
    ([0.3, 0.3], [0.1, 0.1])

    hand

    References
    ----------
    .. [1] Derived: the surface square to the line, on it and on both sides.
    """
    along = np.gradient(line, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)[:, None]
    square = away * np.column_stack([-along[:, 1], along[:, 0]])
    west, south, east, north = grid.extent
    at = np.clip(np.vstack([line, line + square, line - square]), (west, south), (east, north))
    sides = surface_at(surface, grid, at).reshape(3, len(line))
    return sides.max(axis=0), sides.min(axis=0)


def fence_length(line: Lengths, gates: Sequence[Length]) -> Length:
    """Length of a fence without its gates.

    Parameters
    ----------
    line : (n, 2) array     [m]
    gates : Length          Width of each. [m], > 0

    Returns
    -------
    Length                  [m], >= 0

    Examples
    --------
    >>> fence_length(np.array([[0.0, 0.0], [10.0, 0.0]]), [1.0, 3.0])
    6.0

    hand

    References
    ----------
    .. [1] Derived: what the gates do not take up.
    """
    return max(line_length(line) - sum(gates), 0.0)


def closed_areas(lines: Sequence[Lengths], gap: Length) -> list[tuple[Lengths, tuple[int, ...]]]:
    """Areas that fences close in all round, and which fences stand round each.

    Parameters
    ----------
    lines : (n, 2) arrays     [m]
    gap : Length              Ends no farther apart than this are joined. [m], > 0

    Returns
    -------
    list of (ring, numbers)   Inner face of the fences [m], and the places of the fences in the sequence.

    Examples
    --------
    >>> corner = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 6.0]])
    >>> rest = np.array([[9.0, 6.05], [0.0, 6.0], [0.0, 0.0]])
    >>> [numbers for _, numbers in closed_areas([corner, rest], 0.1)], closed_areas([corner], 0.1)
    ([(0, 1)], [])

    hand

    References
    ----------
    .. [1] Derived: holes of the union of the lines, each made half of a gap wider to both sides.
    """
    wide = [shapely.LineString(line).buffer(0.5 * gap, cap_style="square") for line in lines]
    holes = []
    for part in shapely.get_parts(shapely.union_all(wide)):
        for ring in part.interiors:
            numbers = tuple(at for at, one in enumerate(wide) if one.distance(ring) <= 1e-9)
            holes.append((shapely.get_coordinates(ring), numbers))
    return holes


def to_water(point: tuple[Length, Length], rings: Sequence[Lengths]) -> Length:
    """Distance of a point to a water, on the plan.

    Parameters
    ----------
    point : (east, north)      [m]
    rings : (n, 2) arrays      Its shore and its islands. [m]

    Returns
    -------
    Length                     0 in the water. [m], >= 0

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    >>> to_water((7.0, 2.0), [square]), to_water((1.0, 2.0), [square])
    (3.0, 0.0)

    hand

    References
    ----------
    .. [1] Derived: nearest point of each piece of the shore.
    """
    spot = np.array([point])
    if points_inside(list(rings), spot)[0]:
        return 0.0
    return min(float(line_nearest(spot, np.vstack([ring, ring[:1]]))[0][0]) for ring in rings)
