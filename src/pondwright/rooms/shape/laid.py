"""What is laid into the ground beside the water: mounds, and ways that have a level of their own.

Each is one more pair of limits for the finish, like those of a body but told as elevations: a way is held at
its level, or along a run from one level to another, and falls or rises to the ground at the slopes of the
job; a mound is the ground with a heap on it.
All ways together are one pair, and all mounds another; where two meet, the nearer way and the higher mound
decide.  Nothing of this holds in water.

See Also
--------
pondwright.rooms.shape.grading : lays the limits, in order, into the ground.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Elevations, Length, Lengths, Slope
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import line_length
from pondwright.rooms.shape.grading import BERM, PLACED_SLOPE, Limits, Parts
from pondwright.rooms.shape.shoreline import line_distance
from pondwright.rooms.shape.stream import node_stations

__all__ = [
    "LONGEST_SLOPE",
    "LaidMound",
    "LaidWay",
    "free",
    "mound_limits",
    "part_of",
    "run_levels",
    "way_limits",
    "yielding",
]

FAR: Length = 1e6
"""A limit that never holds anything. [m]"""

LONGEST_SLOPE: Length = 8.0
"""Distance from a way up to which its slopes are followed to the ground. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class LaidWay:
    """A way at its own level.

    Attributes
    ----------
    line : (n, 2) array      Its middle. [m]
    width : Length           [m], > 0
    level : Elevation        At its first point. [m]
    end_level : Elevation    At its last point, where it is another one. [m]
    risers : int             Equal steps that it rises or falls by; 0 is a straight run.
    """

    line: Lengths
    width: Length
    level: Elevation
    end_level: Elevation | None = None
    risers: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class LaidMound:
    """Soil heaped on the ground inside a ring.

    Attributes
    ----------
    ring : (n, 2) array      Its foot. [m]
    height : Length          Above the ground under it. [m], > 0
    slope : Slope            Of its sides, level for one upright. [m/m], > 0
    """

    ring: Lengths
    height: Length
    slope: Slope


def free(shape: tuple[int, int]) -> Limits:
    """Limits that hold nothing anywhere.

    Parameters
    ----------
    shape : (int, int)     Rows and columns of nodes.

    Returns
    -------
    Limits

    References
    ----------
    .. [1] Convention of the compiled loops: a placed slope that is not touched is no slope.
    """
    region = np.full(shape, PLACED_SLOPE, dtype=np.int8)
    return Limits(np.full(shape, -FAR), np.full(shape, FAR), region)


def way_limits(ways: Sequence[LaidWay], grid: Grid, cut: Slope, fill: Slope) -> Limits:
    """Limits of all ways together, as elevations.

    Parameters
    ----------
    ways : LaidWay
    grid : Grid            Where the nodes are.
    cut, fill : Slope      Slopes to the ground, level for one upright. [m/m], > 0

    Returns
    -------
    Limits

    Notes
    -----
    Where two ways are near, the one whose edge is nearer decides.  Slopes end 8 m away from the edge.

    References
    ----------
    .. [1] Derived: the clamp form of daylight, with the distance from the edge of the way.
    """
    limits = free(grid.shape)
    nearest = np.full(grid.shape, LONGEST_SLOPE)
    for way in ways:
        chosen, window = part_of(grid, way.line, 0.5 * way.width + LONGEST_SLOPE)
        edge = line_distance(window, way.line) - 0.5 * way.width
        mine = edge < nearest[chosen]
        beyond = np.maximum(edge, 0.0)
        level: Elevation | Elevations = way.level
        if way.end_level is not None:
            station = node_stations(window, way.line, (0, window.rows, 0, window.columns))
            level = run_levels(station, line_length(way.line), way.level, way.end_level, way.risers)
        limits.lower[chosen][mine] = (level - beyond / fill)[mine]
        limits.upper[chosen][mine] = (level + beyond / cut)[mine]
        limits.region[chosen][mine] = np.where(edge > 0.0, PLACED_SLOPE, BERM)[mine]
        nearest[chosen][mine] = edge[mine]
    return limits


def run_levels(
    station: Lengths, length: Length, start: Elevation, end: Elevation, risers: int = 0
) -> Elevations:
    """Elevations of a way that rises or falls along its line: a straight run, or equal steps.

    Parameters
    ----------
    station : (...) array      Along the line from its first point. [m]
    length : Length            Of the line. [m], >= 0
    start, end : Elevation     At its two ends. [m]
    risers : int               Equal steps, the first at the first point and the last at the last one; 0 is a
                               straight run.

    Returns
    -------
    (...) array                [m]

    Notes
    -----
    A straight run is start + (end - start) s / L.  Of n risers tread k, counted from 1, lies over
    (k - 1) L / (n - 1) <= s < k L / (n - 1), at start + k (end - start) / n.

    Examples
    --------
    >>> run_levels(np.array([0.0, 1.0, 2.0]), 2.0, 98.0, 97.5).tolist()
    [98.0, 97.75, 97.5]
    >>> run_levels(np.array([0.0, 0.1, 0.5, 0.7, 0.8]), 0.8, 100.0, 100.45, risers=3).round(2).tolist()
    [100.0, 100.15, 100.3, 100.3, 100.45]

    hand

    References
    ----------
    .. [1] Derived: a straight line, and equal risers and treads.
    """
    share = np.clip(np.asarray(station) / length, 0.0, 1.0) if length > 0.0 else np.zeros_like(station)
    if risers:
        # The end of the line itself is the upper edge of the last riser.
        treads = np.minimum(np.floor(share * max(risers - 1, 1) + 1e-9) + 1.0, risers - 1.0)
        share = np.where(share <= 0.0, 0.0, np.where(share >= 1.0, 1.0, treads / risers))
    return np.asarray(start + share * (end - start))


def mound_limits(mounds: Sequence[LaidMound], ground: Elevations, grid: Grid) -> Limits:
    """Limits of all mounds together, as elevations.

    Parameters
    ----------
    mounds : LaidMound
    ground : (rows, columns) array     The existing ground. [m]
    grid : Grid                        Where the nodes are.

    Returns
    -------
    Limits                             Only the lower one holds: a mound never cuts.

    Notes
    -----
    Ground + min(height, distance inside the foot / slope); the highest where two overlap.

    References
    ----------
    .. [1] Derived: a heap of one slope on the ground as it is.
    """
    limits = free(grid.shape)
    for mound in mounds:
        chosen, window = part_of(grid, mound.ring, grid.spacing)
        inside = signed_distance(window, [mound.ring])
        top = ground[chosen] + np.minimum(mound.height, inside / mound.slope)
        mine = (inside > 0.0) & (top > limits.lower[chosen])
        limits.lower[chosen][mine] = top[mine]
        limits.region[chosen][mine] = BERM
    return limits


def yielding(lower: Lengths, upper: Lengths, region: Parts, mask: NDArray[np.bool_]) -> None:
    """Let limits hold nothing where another water is: they are written over.

    Parameters
    ----------
    lower, upper : (rows, columns) arrays     Limits of one body, or of a window of them. [m]
    region : (rows, columns) int array        Its part codes.
    mask : (rows, columns) bool array         Nodes where they yield.

    References
    ----------
    .. [1] Convention: nobody's bank fills somebody else's water.
    """
    lower[mask] = -FAR
    upper[mask] = FAR
    region[mask] = PLACED_SLOPE


def part_of(grid: Grid, points: Lengths, margin: Length) -> tuple[tuple[slice, slice], Grid]:
    """Rows and columns of a grid around points, and that part as a grid of its own.

    Parameters
    ----------
    grid : Grid
    points : (n, 2) array      [m]
    margin : Length            Around them. [m], >= 0

    Returns
    -------
    tuple of (slices, Grid)    At least two nodes each way.

    References
    ----------
    .. [1] Convention: indices of the grid.
    """
    low = (points.min(axis=0) - margin - (grid.origin_east, grid.origin_north)) / grid.spacing
    high = (points.max(axis=0) + margin - (grid.origin_east, grid.origin_north)) / grid.spacing
    first_column = min(max(math.floor(low[0]), 0), grid.columns - 2)
    first_row = min(max(math.floor(low[1]), 0), grid.rows - 2)
    end_column = min(max(math.ceil(high[0]) + 1, first_column + 2), grid.columns)
    end_row = min(max(math.ceil(high[1]) + 1, first_row + 2), grid.rows)
    part = replace(
        grid,
        origin_east=grid.origin_east + first_column * grid.spacing,
        origin_north=grid.origin_north + first_row * grid.spacing,
        columns=end_column - first_column,
        rows=end_row - first_row,
    )
    return (slice(first_row, end_row), slice(first_column, end_column)), part
