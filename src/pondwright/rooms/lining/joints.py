"""Several pieces instead of one: where the water is narrow, and from fall to fall of a stream.

A pond that is narrow in its middle, by a peninsula or under a bridge, wastes less if a piece lies on each
side of the narrow and both are joined across it.  A stream is laid from its lower end, each piece with its
end over the piece below.

See Also
--------
pondwright.rooms.lining.panels : the size of each piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import ndimage

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Lengths, Ratio
from pondwright.geometry.polygon import points_inside, resampled
from pondwright.rooms.lining.area import LinerGround

PLACES: int = 120
"""Places along a shore between which narrows are looked for."""

NARROW: Ratio = 0.35
"""A narrow is no longer than this share of the shorter way along the shore. [-]"""

LOOKS: int = 9
"""Places on a line across at which it must lie in the water."""


@dataclass(frozen=True, slots=True, eq=False)
class Narrow:
    """A line across the water from shore to shore.

    Attributes
    ----------
    line : (2, 2) array     Its ends. [m]
    width : Length          [m]
    share : Ratio           Of the shorter way along the shore. [-]
    """

    line: Lengths
    width: Length
    share: Ratio


def narrows(ring: Lengths, rings: Sequence[Lengths] = (), most: int = 3) -> tuple[Narrow, ...]:
    """Narrows of a water, the most marked first.

    Parameters
    ----------
    ring : (n, 2) array             Its outer shore. [m]
    rings : arrays (n, 2)           Its islands. [m]
    most : int                      How many at most; no two share a third of their shore.

    Returns
    -------
    tuple of Narrow

    Notes
    -----
    Of all lines between two places of the shore that lie in the water, those whose width against the shorter
    way along the shore is least in their neighbourhood.

    Examples
    --------
    Two squares of 4 m, joined by a channel 1 m wide and 2 m long.

    >>> shore = np.array([[0, 0], [4, 0], [4, 1.5], [6, 1.5], [6, 0], [10, 0],
    ...                   [10, 4], [6, 4], [6, 2.5], [4, 2.5], [4, 4], [0, 4]], dtype=float)
    >>> round(narrows(shore)[0].width, 1)
    1.0

    hand

    References
    ----------
    .. [1] Derived: chord against arc.
    """
    closed = np.vstack([ring, ring[:1]])
    whole = float(np.hypot(*np.diff(closed, axis=0).T).sum())
    points = resampled(ring, whole / PLACES)
    count = len(points)
    station = np.arange(count) * (whole / count)
    way = np.abs(station[:, None] - station[None, :])
    way = np.minimum(way, whole - way)
    width = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    share = np.where(way > 0.1 * whole, width / np.maximum(way, 1e-9), np.inf)
    first, second = np.unravel_index(np.argsort(share, axis=None), share.shape)
    found: list[tuple[int, int, Narrow]] = []
    apart = count // 6
    shores = (ring, *rings)
    for one, other in zip(first.tolist(), second.tolist(), strict=True):
        if len(found) == most or share[one, other] > NARROW:
            break
        if one > other or any(_near(one, other, a, b, count, apart) for a, b, _ in found):
            continue
        line = points[[one, other]]
        if _in_water(line, shores):
            narrow = Narrow(line, float(width[one, other]), float(share[one, other]))
            found.append((one, other, narrow))
    return tuple(narrow for _, _, narrow in found)


def kept_side(ground: LinerGround, beyond: Length, inside: Lengths, lap: Length) -> LinerGround:
    """Ground of a piece that covers only part of a liner.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length                     How far the liner reaches beyond the shore. [m]
    inside : (rows, columns) array      How far each node lies within the part, below 0 outside. [m]
    lap : Length                        How far the piece reaches over the part's own edge. [m], >= 0

    Returns
    -------
    LinerGround                         The same nodes; its distance is less where the piece ends.

    Raises
    ------
    DomainError                         If the lap is below 0.

    Examples
    --------
    >>> from pondwright.geometry.grid import Grid
    >>> grid = Grid(0.0, 0.0, 1.0, 4, 2)
    >>> flat = np.zeros((2, 4))
    >>> ground = LinerGround(grid, flat, flat, np.full((2, 4), 9.0))
    >>> part = kept_side(ground, 0.5, np.tile([2.0, 1.0, 0.0, -1.0], (2, 1)), 0.5)
    >>> (part.distance[0] >= -0.5).tolist()
    [True, True, True, False]

    hand

    References
    ----------
    .. [1] Derived: intersection of two regions by the lesser of their distances.
    """
    if lap < 0.0:
        raise DomainError(f"`lap` must not be below 0 m, got {lap} m")
    return replace(ground, distance=np.minimum(ground.distance, inside + lap - beyond))


def parted(ground: LinerGround, beyond: Length, line: Lengths) -> tuple[Lengths, Lengths] | None:
    """How far each node lies within the two parts into which a line across the water parts a liner.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length          How far the liner reaches beyond the shore. [m]
    line : (2, 2) array      Across the water; it is drawn on to the edge of the liner. [m]

    Returns
    -------
    Two (rows, columns) arrays of Length, or None if the line does not part it in two. [m]

    Notes
    -----
    Beside the line the distance to it counts, and elsewhere what hangs together: a winding pond may lie on
    both sides of the line once more farther off.

    References
    ----------
    .. [1] Derived: connected components.
    """
    grid = ground.grid
    east, north = np.meshgrid(grid.east, grid.north)
    length = float(np.hypot(*(line[1] - line[0])))
    along, middle = (line[1] - line[0]) / length, line.mean(axis=0)
    station = (east - middle[0]) * along[0] + (north - middle[1]) * along[1]
    off = (north - middle[1]) * along[0] - (east - middle[0]) * along[1]
    # Drawn on beyond both shores as far as the liner reaches, and a little more where it meets them aslant.
    beside = np.abs(station) <= 0.5 * length + 1.5 * beyond + 2.0 * grid.spacing
    under = ground.distance >= -beyond
    cut = under & beside & (np.abs(off) <= 0.75 * grid.spacing)
    labels, count = ndimage.label(under & ~cut)
    if count != 2:
        return None
    far = float(np.hypot(grid.columns, grid.rows)) * grid.spacing
    sides = []
    for own in (1, 2):
        mine = labels == own
        toward = off if off[mine & beside].mean() >= 0.0 else -off
        inside = np.where(beside & (toward < 0.0), toward, -far)
        inside[cut] = toward[cut]
        inside[mine] = np.where(toward > 0.0, toward, far)[mine]
        sides.append(inside)
    return sides[0], sides[1]


def reach_sides(station: Lengths, starts: Lengths, ends: Lengths) -> tuple[Lengths, ...]:
    """How far each node lies within each reach of a stream.

    Parameters
    ----------
    station : (rows, columns) array     Along the stream. [m]
    starts, ends : (k,) arrays          Of the reaches. [m]

    Returns
    -------
    k (rows, columns) arrays            The first and the last reach go on beyond the stream's ends. [m]

    Examples
    --------
    >>> sides = reach_sides(np.array([[0.0, 1.0, 5.0]]), np.array([0.0, 2.0]), np.array([2.0, 4.0]))
    >>> [side.tolist() for side in sides]
    [[[2.0, 1.0, -3.0]], [[-2.0, -1.0, 3.0]]]

    hand

    References
    ----------
    .. [1] Derived: distance along the stream.
    """
    sides = []
    for index in range(len(starts)):
        before = station - starts[index] if index else np.full_like(station, np.inf)
        after = ends[index] - station if index < len(starts) - 1 else np.full_like(station, np.inf)
        sides.append(np.minimum(before, after))
    return tuple(sides)


def _near(one: int, other: int, a: int, b: int, count: int, apart: int) -> bool:
    """Whether two lines begin and end near each other on a ring."""

    def close(first: int, second: int) -> bool:
        gap = abs(first - second) % count
        return min(gap, count - gap) < apart

    return (close(one, a) and close(other, b)) or (close(one, b) and close(other, a))


def _in_water(line: Lengths, rings: Sequence[Lengths]) -> bool:
    shares = np.linspace(0.0, 1.0, LOOKS + 2)[1:-1, None]
    return bool(points_inside(list(rings), line[0] + shares * (line[1] - line[0])).all())
