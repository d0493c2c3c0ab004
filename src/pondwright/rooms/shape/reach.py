"""How the water is reached: from where an arm, a wheelchair or somebody who fell in gets to the shore.

The shore is walked in equal steps; each stands for its piece of the shore.  A step is *reached* if the edge
of something that one stands on is within an arm's length of it on the plan, and not much higher or lower than
the water there.

See Also
--------
pondwright.rooms.shape.stage.reach : reads ways and shores from the job.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, FloatArray, Length, Lengths, Ratios, Slope
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside
from pondwright.geometry.surface import surface_at

__all__ = [
    "ARM",
    "PathSlope",
    "gentle",
    "inward",
    "ledge_widths",
    "line_nearest",
    "longest_run",
    "path_slope",
    "path_slopes",
    "reached",
    "runs",
    "way_distance",
]

ARM: Length = 1.2
"""How far an arm reaches from the edge of a path, kneeling; common practice, no source. [m]"""


@dataclass(frozen=True, slots=True)
class PathSlope:
    """How steep a path is along its line: the steepest piece and where, and the length over a limit.

    Attributes
    ----------
    steepest : Slope         Rise over run. [m/m], >= 0
    steep_length : Length    Steeper than the limit. [m]
    place : (Length, Length) Middle of the steepest piece. [m]
    """

    steepest: Slope
    steep_length: Length
    place: tuple[Length, Length]


def line_nearest(points: Lengths, line: Lengths) -> tuple[Lengths, Lengths]:
    """Distance of points to a line, and the station of its nearest point.

    Parameters
    ----------
    points : (n, 2) array     [m]
    line : (m, 2) array       [m]

    Returns
    -------
    (n,) array, (n,) array    Distance [m] and length along the line [m].

    Examples
    --------
    >>> away, station = line_nearest(np.array([[3.0, 1.0], [-3.0, 4.0]]), np.array([[0.0, 0.0], [8.0, 0.0]]))
    >>> away.tolist(), station.tolist()
    ([1.0, 5.0], [3.0, 0.0])

    hand

    References
    ----------
    .. [1] Derived: nearest point of each piece.
    """
    starts, along = line[:-1], np.diff(line, axis=0)
    lengths = np.hypot(along[:, 0], along[:, 1])
    run = np.concatenate([[0.0], np.cumsum(lengths)])[:-1]
    to = points[:, None, :] - starts
    share = np.clip((to * along).sum(axis=2) / np.maximum(lengths**2, 1e-18), 0.0, 1.0)
    off = to - share[:, :, None] * along
    away = np.hypot(off[:, :, 0], off[:, :, 1])
    piece = away.argmin(axis=1)
    row = np.arange(len(points))
    return away[row, piece], run[piece] + share[row, piece] * lengths[piece]


def way_distance(
    points: Lengths, line: Lengths, width: Length, area: bool = False
) -> tuple[Lengths, Lengths]:
    """Distance of points to the edge of a way, and the station of its nearest point.

    Parameters
    ----------
    points : (n, 2) array     [m]
    line : (m, 2) array       Middle of the way, or the outline of an area. [m]
    width : Length            Of the way; of an area it does not count. [m], >= 0
    area : bool               Whether the line goes round an area.

    Returns
    -------
    (n,) array, (n,) array    Distance, 0 on the way [m], and length along the line [m].

    Examples
    --------
    >>> way_distance(np.array([[3.0, 1.0]]), np.array([[0.0, 0.0], [8.0, 0.0]]), 1.2)[0].round(3).tolist()
    [0.4]

    hand

    References
    ----------
    .. [1] Derived: distance to the middle less half of the width.
    """
    closed = np.vstack([line, line[:1]]) if area else line
    away, station = line_nearest(points, closed)
    if area:
        return np.where(points_inside([line], points), 0.0, away), station
    return np.maximum(away - 0.5 * width, 0.0), station


def reached(away: Lengths, rise: Lengths, arm: Length, most_rise: Length) -> NDArray[np.bool_]:
    """Which steps of a shore are reached from a way.

    Parameters
    ----------
    away : (n,) array       Distance to the edge of the way. [m]
    rise : (n,) array       Height of the way over the water. [m]
    arm : Length            [m], >= 0
    most_rise : Length      Up or down. [m], >= 0

    Returns
    -------
    (n,) bool array

    Examples
    --------
    >>> reached(np.array([0.5, 1.3, 0.5]), np.array([0.3, 0.3, 0.6]), 1.2, 0.45).tolist()
    [True, False, False]

    hand

    References
    ----------
    .. [1] Common practice, no source: 1.2 m and 0.45 m, kneeling at the edge.
    """
    return np.asarray((away <= arm) & (np.abs(rise) <= most_rise))


def runs(chosen: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Runs of chosen steps round a closed shore.

    Parameters
    ----------
    chosen : (n,) bool array

    Returns
    -------
    list of (int, int)     First step and number of steps of each; a run may go on past the last step.

    Examples
    --------
    >>> runs(np.array([True, False, True, True])), runs(np.array([True, True]))
    ([(2, 3)], [(0, 2)])

    hand

    References
    ----------
    .. [1] Definition.
    """
    count = len(chosen)
    if chosen.all():
        return [(0, count)] if count else []
    starts = np.flatnonzero(chosen & ~np.roll(chosen, 1))
    ends = np.flatnonzero(chosen & ~np.roll(chosen, -1))
    if len(starts) and ends[0] < starts[0]:
        ends = np.roll(ends, -1)
    return [(int(start), int((end - start) % count) + 1) for start, end in zip(starts, ends, strict=True)]


def longest_run(chosen: NDArray[np.bool_], steps: Lengths) -> tuple[Length, int]:
    """Longest run of chosen steps round a closed shore.

    Parameters
    ----------
    chosen : (n,) bool array
    steps : (n,) array     Length of each step. [m]

    Returns
    -------
    Length, int            Its length [m] and its middle step; 0 and -1 where none is chosen.

    Examples
    --------
    >>> longest_run(np.array([True, False, True, True]), np.ones(4))
    (3.0, 3)

    hand

    References
    ----------
    .. [1] Definition.
    """
    best, middle = 0.0, -1
    for first, count in runs(chosen):
        places = (first + np.arange(count)) % len(chosen)
        length = float(steps[places].sum())
        if length > best:
            best, middle = length, int(places[count // 2])
    return best, middle


def inward(ring: Lengths, distance: Lengths, grid: Grid) -> Lengths:
    """Direction into the water at each step of a shore.

    Parameters
    ----------
    ring : (n, 2) array                Steps of the shore. [m]
    distance : (rows, columns) array   Signed distance, above 0 in the water. [m]
    grid : Grid                        Where its nodes are.

    Returns
    -------
    (n, 2) array                       Of length 1. [m]

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=3, rows=3)
    >>> square = np.array([[0.5, 0.5], [1.5, 0.5], [1.5, 1.5], [0.5, 1.5]])
    >>> inside = np.array([[-0.7, -0.5, -0.7], [-0.5, 0.5, -0.5], [-0.7, -0.5, -0.7]])
    >>> inward(square, inside, grid).round(3).tolist()[0]
    [0.707, 0.707]

    hand

    References
    ----------
    .. [1] Derived: square to the chord of the neighbours, on the side where the distance grows.
    """
    chord = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    square = np.column_stack([-chord[:, 1], chord[:, 0]])
    square = square / np.maximum(np.hypot(square[:, 0], square[:, 1]), 1e-12)[:, None]
    step = 0.5 * grid.spacing * square
    west, south, east, north = grid.extent
    sides = [np.clip(ring + way * step, (west, south), (east, north)) for way in (1.0, -1.0)]
    grows = surface_at(distance, grid, sides[0]) >= surface_at(distance, grid, sides[1])
    # One ring goes round one way: its steps agree, whatever a corner says.
    return np.asarray(square if 2 * grows.sum() >= len(ring) else -square)


def ledge_widths(
    z: Elevations,
    grid: Grid,
    places: Lengths,
    ways: Ratios,
    levels: Elevations,
    depth: Length,
    width: Length,
    samples: int = 10,
) -> Lengths:
    """How wide the shallow band is at places of a shore.

    Parameters
    ----------
    z : (rows, columns) array     The finish. [m]
    grid : Grid                   Where the nodes are.
    places : (n, 2) array         Places on the shore. [m]
    ways : (n, 2) array           Direction into the water at each. [-]
    levels : (n,) array           Of the water. [m]
    depth : Length                Greatest depth of the band. [m]
    width : Length                How far it is looked at. [m], > 0
    samples : int                 Points on the way, >= 1.

    Returns
    -------
    (n,) array                    Up to the width. [m]

    Raises
    ------
    DomainError                   If the width is not above 0.

    Notes
    -----
    The surface spreads an upright step over one spacing; half of it, and 20 mm of depth, are let pass.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 0.1, columns=21, rows=2)
    >>> z = np.tile(-grid.east, (2, 1))
    >>> shore, east = np.array([[0.0, 0.05]]), np.array([[1.0, 0.0]])
    >>> ledge_widths(z, grid, shore, east, np.zeros(1), 0.48, 1.0).round(2).tolist()
    [0.5]

    hand

    References
    ----------
    .. [1] Common practice, no source: 0.5 m wide, 0.45 m deep.
    """
    if not width > 0.0:
        raise DomainError(f"`width` must be above 0 m, got {width} m")
    west, south, east, north = grid.extent
    shallow = np.ones(len(places), dtype=np.bool_)
    found = np.zeros(len(places))
    for step in width * (np.arange(samples) + 1.0) / samples:
        at = np.clip(places + max(step - 0.5 * grid.spacing, 0.0) * ways, (west, south), (east, north))
        shallow &= levels - surface_at(z, grid, at) <= depth + 0.02
        found[shallow] = step
    return found


def path_slopes(
    z: Elevations,
    grid: Grid,
    line: Lengths,
    dry: NDArray[np.bool_] | None = None,
    step: Length = 0.5,
) -> tuple[FloatArray, Lengths, Length]:
    """Slopes of equal pieces of a path along its line.

    Parameters
    ----------
    z : (rows, columns) array             The finish. [m]
    grid : Grid                           Where the nodes are; beyond them the edge goes on level.
    line : (n, 2) array                   Middle of the path. [m]
    dry : (rows, columns) bool array      Nodes that are no water; where it is wet, a path is a bridge.
    step : Length                         Wanted length of a piece. [m], > 0

    Returns
    -------
    (k,) array, (k, 2) array, Length      Slopes [m/m], middles [m] and length [m] of the pieces.

    Raises
    ------
    DomainError                           If the line has no length.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=3, rows=2)
    >>> hill, line = np.tile([0.0, 0.0, 0.1], (2, 1)), np.array([[0.0, 0.0], [2.0, 0.0]])
    >>> slopes, _, piece = path_slopes(hill, grid, line)
    >>> slopes.tolist(), piece
    ([0.0, 0.0, 0.1, 0.1], 0.5)

    hand

    References
    ----------
    .. [1] Derived: rise over run.
    """
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    if not lengths[-1] > 0.0:
        raise DomainError(f"`line` must have a length above 0 m, got {lengths[-1]} m")
    count = max(round(float(lengths[-1]) / step), 1)
    keep = np.concatenate([[True], np.diff(lengths) > 0.0])
    stations = np.linspace(0.0, lengths[-1], count + 1)
    points = np.column_stack([np.interp(stations, lengths[keep], line[keep, axis]) for axis in (0, 1)])
    west, south, east, north = grid.extent
    on_grid = np.clip(points, (west, south), (east, north))
    slopes = np.abs(np.diff(surface_at(z, grid, on_grid))) * count / lengths[-1]
    if dry is not None:
        whole = surface_at(dry.astype(np.float64), grid, on_grid) >= 1.0 - 1e-9
        slopes = np.where(whole[1:] & whole[:-1], slopes, 0.0)
    return slopes, 0.5 * (points[1:] + points[:-1]), float(lengths[-1]) / count


def path_slope(slopes: FloatArray, middles: Lengths, piece: Length, limit: Slope) -> PathSlope:
    """How steep a path is along its line.

    Parameters
    ----------
    slopes : (k,) array       Of its pieces. [m/m]
    middles : (k, 2) array    Of its pieces. [m]
    piece : Length            Length of each. [m]
    limit : Slope             [m/m], >= 0

    Returns
    -------
    PathSlope

    Examples
    --------
    >>> path_slope(np.array([0.0, 0.1, 0.06]), np.array([[0.2, 0.0], [0.7, 0.0], [1.2, 0.0]]), 0.5, 0.05)
    PathSlope(steepest=0.1, steep_length=1.0, place=(0.7, 0.0))

    hand

    References
    ----------
    .. [1] Definition.
    """
    worst = int(slopes.argmax())
    steep = float((slopes > limit + 1e-9).sum()) * piece
    return PathSlope(float(slopes[worst]), steep, (float(middles[worst, 0]), float(middles[worst, 1])))


def gentle(slopes: FloatArray, limit: Slope) -> NDArray[np.bool_]:
    """Which pieces of a path are reached from one of its ends without a steeper piece on the way.

    Parameters
    ----------
    slopes : (k,) array     Of its pieces. [m/m]
    limit : Slope           [m/m], >= 0

    Returns
    -------
    (k,) bool array

    Examples
    --------
    >>> gentle(np.array([0.0, 0.1, 0.0, 0.2, 0.0]), 0.05).tolist()
    [True, False, False, False, True]

    hand

    References
    ----------
    .. [1] Definition.
    """
    fine = slopes <= limit + 1e-9
    return np.asarray(np.logical_and.accumulate(fine) | np.logical_and.accumulate(fine[::-1])[::-1])
