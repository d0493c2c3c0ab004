"""A dig over a buried service: where the bucket would come to it, and where it would only come near.

A service lies where it was drawn, give or take; so the ground that may hide it is a strip, and in this strip
the dig must stay above it.

See Also
--------
pondwright.rooms.earth.subgrade : the surface that is dug to.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at

PlanPoint = tuple[float, float]

STEP = 0.25
"""Step along the line of a service [m]."""

TOUCHED = 0.02
"""Ground that is lowered by less than this is not dug. [m]"""


@dataclass(frozen=True, slots=True)
class DugOver:
    """How a dig meets one service: lengths along its line [m], the least cover left, and where that is.

    ``cut`` is where the dig goes down to the service or below it, ``near`` where it comes into the strip that
    may hide it, ``dug`` where anything is dug over it at all.  A service told by one point has no length.
    """

    length: Length
    dug: Length
    near: Length
    cut: Length
    least_cover: Length
    is_cut: bool
    is_near: bool
    point: PlanPoint
    spots: tuple[PlanPoint, ...]


def along(points: Lengths, step: Length = STEP) -> Lengths:
    """Points in equal steps along a line of straight pieces, ends and corners with them.

    Parameters
    ----------
    points : (n, 2) array     East and north of its corners; one point is a service told by one place. [m]
    step : Length             Longest step. [m], > 0

    Returns
    -------
    (m, 2) array              [m]

    Raises
    ------
    DomainError               If there is no point, or the step is not above zero.

    Examples
    --------
    >>> import numpy as np
    >>> along(np.array([(0.0, 0.0), (1.0, 0.0)]), 0.5).tolist()
    [[0.0, 0.0], [0.5, 0.0], [1.0, 0.0]]

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    if step <= 0.0:
        raise DomainError(f"`step` must be above 0 m, got {step} m")
    if not len(points):
        raise DomainError("`points` must hold at least one point, got none")
    parts = [points[:1]]
    for start, end in pairwise(points):
        count = max(int(np.ceil(float(np.hypot(*(end - start))) / step - 1e-9)), 1)
        share = np.arange(1, count + 1)[:, np.newaxis] / count
        parts.append(start + share * (end - start))
    return np.vstack(parts)


def dug_over(
    ground: Elevations,
    subgrade: Elevations,
    grid: Grid,
    line: Lengths,
    depth: Length | None,
    sure: Length,
    aside: Length,
) -> DugOver:
    """How a dig meets a buried service.

    Parameters
    ----------
    ground : (rows, columns) array       Existing ground. [m]
    subgrade : (rows, columns) array     Surface that is dug to. [m]
    grid : Grid                          Where their nodes are.
    line : (n, 2) array                  The service, from :func:`along`; off the grid it is left out. [m]
    depth : Length                       How deep it lies below the ground; none is not known. [m], >= 0
    sure : Length                        How far its depth may be off. [m], >= 0
    aside : Length                       How far aside of its line it may lie. [m], >= 0

    Returns
    -------
    DugOver                              With a depth that is not known, whatever is dug is near. [m]

    Raises
    ------
    DomainError                          If a distance is below zero.

    Notes
    -----
    At each point of the line, and at points aside of it square to the line, the service's top is taken at
    the ground less its depth.  Cover is subgrade less that top.  On the line a cover of zero or less is
    cut.  On the line or aside of it a cover less than ``sure`` where anything is dug is near.
    Each point of the line stands for half of the two steps that meet in it.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, 11, 3)
    >>> flat = np.zeros((3, 11))
    >>> dug = np.where(grid.east > 4.5, -1.0, 0.0) * np.ones((3, 1))
    >>> line = along(np.array([(0.0, 1.0), (10.0, 1.0)]), 1.0)
    >>> met = dug_over(flat, dug, grid, line, 0.6, 0.1, 0.0)
    >>> met.dug, met.cut, met.least_cover
    (5.5, 5.5, -0.4)

    hand

    References
    ----------
    .. [1] Derived: difference of two surfaces along a line.
    """
    if min(sure, aside, depth or 0.0) < 0.0:
        raise DomainError(f"`depth`, `sure` and `aside` must be at least 0 m, got {depth}, {sure}, {aside} m")
    inside = _inside(grid, line)
    if not inside.any():
        return DugOver(0.0, 0.0, 0.0, 0.0, np.inf, False, False, (0.0, 0.0), ())
    weights = _weights(line)[inside]
    digs = _digs(ground, subgrade, grid, line, aside)[:, inside]
    dug = digs > TOUCHED
    covers = (0.0 if depth is None else depth) - digs
    cut = dug[0] & (covers[0] <= 0.0) & (depth is not None)
    near = (dug & ((covers <= sure) | (depth is None))).any(axis=0)
    worst = int(np.argmin(np.where(dug, covers, np.inf).min(axis=0)))
    least = float(np.where(dug, covers, np.inf).min())
    places = line[inside]
    marked = places[cut if cut.any() else near]
    return DugOver(
        length=float(weights.sum()),
        dug=float(weights[dug[0]].sum()),
        near=float(weights[near].sum()),
        cut=float(weights[cut].sum()),
        least_cover=round(least, 9),
        is_cut=bool(cut.any()),
        is_near=bool(near.any()),
        point=(float(places[worst][0]), float(places[worst][1])),
        spots=tuple((float(e), float(n)) for e, n in marked[:: 1 + len(marked) // 30]),
    )


def _digs(ground: Elevations, subgrade: Elevations, grid: Grid, line: Lengths, aside: Length) -> Lengths:
    """Depth of the dig on the line, and aside of it to both sides; nothing is dug off the grid."""
    offsets = [0.0]
    if aside > 0.0:
        steps = np.arange(1, max(int(np.ceil(aside / STEP)), 1) + 1)
        offsets += [side * aside * step / len(steps) for step in steps for side in (1.0, -1.0)]
    square = _normals(line)
    rows = []
    for offset in offsets:
        places = line + offset * square
        found = _inside(grid, places)
        row = np.zeros(len(line))
        if found.any():
            row[found] = surface_at(ground, grid, places[found]) - surface_at(subgrade, grid, places[found])
        rows.append(row)
    return np.array(rows)


def _normals(line: Lengths) -> Lengths:
    """Unit vectors square to a line; where it is one point, to the north."""
    if len(line) < 2:
        return np.array([(0.0, 1.0)])
    way = np.gradient(line, axis=0)
    length = np.hypot(way[:, 0], way[:, 1])
    length[length == 0.0] = 1.0
    return np.column_stack([-way[:, 1], way[:, 0]]) / length[:, np.newaxis]


def _weights(line: Lengths) -> Lengths:
    """Length that each point of a line stands for."""
    steps = np.hypot(*np.diff(line, axis=0).T) if len(line) > 1 else np.zeros(0)
    ends = np.concatenate([[0.0], steps, [0.0]])
    return 0.5 * (ends[:-1] + ends[1:])


def _inside(grid: Grid, points: Lengths) -> np.ndarray:
    east, north = points[:, 0], points[:, 1]
    return (
        (east >= grid.east[0])
        & (east <= grid.east[-1])
        & (north >= grid.north[0])
        & (north <= grid.north[-1])
    )
