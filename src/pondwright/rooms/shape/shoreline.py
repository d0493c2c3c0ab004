"""The shoreline: rings through pegs, stretches of them, and the water level that they allow.

See Also
--------
pondwright.geometry.curve : the curve through the pegs.
pondwright.geometry.distance : the exact distance that depth and banks hang on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Elevations, Length, Lengths
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside, resampled, rings_cross
from pondwright.geometry.surface import surface_at

LEVEL_ENOUGH: Length = 1e-9
"""Rise of a step that counts as none. [m]"""

SHORE_STEP: Length = 0.5
"""Step along the shore where ground is read against a level. [m]"""


def water_level(wanted: Elevation | None, low_rim: Elevation, freeboard: Length) -> Elevation:
    """The water level at rest: the document's, or what the low side of the shore allows.

    Parameters
    ----------
    wanted : Elevation, optional     Level of the document. [m]
    low_rim : Elevation              Lowest existing ground on the shore. [m]
    freeboard : Length               Kept between the water and that ground. [m], >= 0

    Returns
    -------
    Elevation                        [m]

    Examples
    --------
    >>> water_level(None, 99.8, 0.3), water_level(100.0, 99.8, 0.3)
    (99.5, 100.0)

    hand

    References
    ----------
    .. [1] Common practice, no source: water that needs no berm.
    """
    return low_rim - freeboard if wanted is None else wanted


def stretch_line(
    points: Lengths, span: NDArray[np.int32], pegs: Sequence[str], start: str, end: str
) -> Lengths:
    """Part of a ring from one peg on to another, in the order of the pegs.

    Parameters
    ----------
    points : (m, 2) array     Ring. [m]
    span : (m,) int array     Peg at which each point's span begins.
    pegs : ids                In order around the ring.
    start, end : id           Where the stretch begins and ends; the same peg means all round.

    Returns
    -------
    (n, 2) array              [m]

    Examples
    --------
    >>> ring = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> stretch_line(ring, np.arange(4, dtype=np.int32), ["a", "b", "c", "d"], "d", "b").tolist()
    [[0.0, 1.0], [0.0, 0.0], [1.0, 0.0]]

    hand

    References
    ----------
    .. [1] Derived: points between two places on a ring.
    """
    first = int(np.searchsorted(span, pegs.index(start)))
    last = int(np.searchsorted(span, pegs.index(end)))
    turned = np.roll(points, -first, axis=0)
    count = (last - first) % len(points) or len(points)
    return np.vstack([turned, turned[:1]])[: count + 1]


def line_distance(grid: Grid, line: Lengths) -> Lengths:
    """Distance of every node to an open line.

    Parameters
    ----------
    grid : Grid
    line : (n, 2) array         [m]

    Returns
    -------
    (rows, columns) array       [m], >= 0

    Notes
    -----
    A ring that runs along the line and back holds no area, so every node is outside it.

    References
    ----------
    .. [1] Derived: the signed distance of a ring without an inside.
    """
    return np.abs(signed_distance(grid, [np.vstack([line, line[::-1]])]))


def misplaced_islands(outer: Lengths, islands: Mapping[str, Lengths]) -> tuple[str, ...]:
    """Islands that lie outside the shoreline, cross it, or cross one another.

    Parameters
    ----------
    outer : (n, 2) array         The shoreline. [m]
    islands : arrays by id       [m]

    Returns
    -------
    tuple of id

    References
    ----------
    .. [1] Derived: crossings of segments, and one point of each island in the shoreline.
    """
    names = list(islands)
    misplaced = {
        name
        for name in names
        if rings_cross(outer, islands[name]) or not points_inside([outer], islands[name][:1])[0]
    }
    for index, name in enumerate(names):
        for other in names[index + 1 :]:
            if rings_cross(islands[name], islands[other]):
                misplaced |= {name, other}
    return tuple(name for name in names if name in misplaced)


def lengths_below(z: Elevations, grid: Grid, rings: Sequence[Lengths], levels: Elevations) -> Lengths:
    """Length of the shore along which the ground is lower than each level.

    Parameters
    ----------
    z : (rows, columns) array     The ground. [m]
    grid : Grid                   Where the nodes are.
    rings : arrays (n, 2)         The shore. [m]
    levels : (k,) array           For example of the crest. [m]

    Returns
    -------
    (k,) array                    The rim to raise. [m]

    Notes
    -----
    The ground is taken as straight between points 0.5 m apart.

    References
    ----------
    .. [1] Derived: part of each step below a level.
    """
    walks = [resampled(ring, SHORE_STEP) for ring in rings]
    below = [below_along(surface_at(z, grid, walk), step_lengths(walk), levels) for walk in walks]
    return np.sum(below, axis=0)


def step_lengths(ring: Lengths) -> Lengths:
    """Length from each point of a ring to the next.

    Parameters
    ----------
    ring : (n, 2) array     [m]

    Returns
    -------
    (n,) array              [m]

    References
    ----------
    .. [1] Derived: Pythagoras.
    """
    steps = np.roll(ring, -1, axis=0) - ring
    return np.asarray(np.hypot(steps[:, 0], steps[:, 1]))


def below_along(heights: Elevations, steps: Lengths, levels: Elevations) -> Lengths:
    """Length of a closed walk along which the height is below each level.

    Parameters
    ----------
    heights : (n,) array     At the points of the walk. [m]
    steps : (n,) array       From each point to the next. [m]
    levels : (k,) array      [m]

    Returns
    -------
    (k,) array               [m]

    Examples
    --------
    >>> below_along(np.array([0.0, 1.0, 1.0, 0.0]), np.ones(4), np.array([0.5, 2.0])).tolist()
    [2.0, 4.0]

    hand

    References
    ----------
    .. [1] Derived: straight line between two heights.
    """
    following = np.roll(heights, -1)
    low, high = np.minimum(heights, following), np.maximum(heights, following)
    rise = high - low
    sloping = rise > LEVEL_ENOUGH
    share = np.clip((levels[:, None] - low) / np.where(sloping, rise, 1.0), 0.0, 1.0)
    return np.asarray(np.where(sloping, share, levels[:, None] > low) @ steps)
