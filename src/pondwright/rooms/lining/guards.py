"""Guards against roots and burrowing animals, and the trees that ask for one.

See Also
--------
pondwright.rooms.lining.edge : the edge that they stand before.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Length, Lengths
from pondwright.geometry.polygon import line_length


def guard_area(line: Lengths, depth: Length) -> Area:
    """Sheet or mesh of a guard.

    Parameters
    ----------
    line : (n, 2) array     Along which it stands. [m]
    depth : Length          How deep it reaches. [m], >= 0

    Returns
    -------
    Area                    [m²]

    Raises
    ------
    DomainError             If the depth is below 0.

    Examples
    --------
    >>> guard_area(np.array([[0.0, 0.0], [3.0, 4.0]]), 0.9)
    4.5

    hand

    References
    ----------
    .. [1] Derived: length times depth.
    """
    if depth < 0.0:
        raise DomainError(f"`depth` must not be below 0 m, got {depth} m")
    return line_length(line) * depth


def guarded(tree: tuple[Length, Length], shore: Lengths, guards: Sequence[Lengths]) -> tuple[Length, bool]:
    """How far a tree stands from a shore, and whether a guard stands between.

    Parameters
    ----------
    tree : (east, north)       [m]
    shore : (n, 2) array       [m]
    guards : arrays (k, 2)     Their lines. [m]

    Returns
    -------
    (Length, bool)             To the nearest place of the shore. [m]

    Notes
    -----
    The way straight to the nearest place is looked at, and whether a guard crosses it.

    Examples
    --------
    >>> shore = np.array([[0.0, 0.0], [0.0, 4.0], [-4.0, 2.0]])
    >>> guarded((5.0, 4.0), shore, [np.array([[2.0, 0.0], [2.0, 8.0]])])
    (5.0, True)

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    place = np.array(tree)
    away = np.hypot(*(shore - place).T)
    nearest = shore[int(np.argmin(away))]
    crossed = any(_cross(place, nearest, start, end) for line in guards for start, end in pairwise(line))
    return float(away.min()), crossed


def _cross(a: Lengths, b: Lengths, c: Lengths, d: Lengths) -> bool:
    """Whether two straight pieces meet."""

    def side(one: Lengths, other: Lengths, point: Lengths) -> float:
        way, off = other - one, point - one
        return float(way[0] * off[1] - way[1] * off[0])

    return side(a, b, c) * side(a, b, d) <= 0.0 and side(c, d, a) * side(c, d, b) <= 0.0
