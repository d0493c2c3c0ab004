"""Where waters meet: bodies that cross, narrow places, what splits when it falls, and where each runs over.

A shape that a hand has drawn may be one that nobody can build: two ponds across each other, a bay so narrow
that its floor is never reached, a cove that is a puddle of its own once the water is low.  None of it is
guessed away: it is found, and told with its place.

See Also
--------
pondwright.rooms.shape.grading : lays the bodies, each yielding to the others' water.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from shapely import Point, Polygon, maximum_inscribed_circle
from shapely.geometry.base import BaseGeometry

from pondwright.base.kinds import Elevation, Elevations, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.rooms.shape.profile import Wall

PlanPoint = tuple[float, float]

NARROW_LEAST = 0.5
"""Smallest narrow place that is told, in squares of half the width: rounded corners are smaller."""

DEEP_HOLLOW: Length = 0.3
"""Depth of a hollow in which water that runs over stays. [m]"""

STEEP_RISE: Length = 0.3
"""Rise beside the water, within one cell of the grid, that is a wall and no bank. [m]"""


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two bodies that meet where they should not: how, and where."""

    first: str
    second: str
    inside: bool
    place: PlanPoint


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Way of the water that leaves a body: into which one, or nowhere, and over which nodes."""

    into: str | None
    path: Lengths
    ends_in_hollow: bool


def water(rings: Sequence[Lengths]) -> BaseGeometry:
    """Water of a body as an area: its shore less its islands.

    Parameters
    ----------
    rings : arrays (n, 2)     The shore, then the islands. [m]

    Returns
    -------
    geometry                  Made valid where a ring crosses itself.

    References
    ----------
    .. [1] Convention: the outer ring first.
    """
    outline = Polygon(rings[0], [ring for ring in rings[1:] if len(ring) > 2])
    return outline if outline.is_valid else outline.buffer(0.0)


def meetings(waters: Mapping[str, BaseGeometry], joined: frozenset[frozenset[str]]) -> tuple[Meeting, ...]:
    """Bodies that lie across or inside one another.

    Parameters
    ----------
    waters : geometries by id           From :func:`water`.
    joined : pairs of ids               Pairs that may overlap: a stream and the body it runs into.

    Returns
    -------
    tuple of Meeting

    References
    ----------
    .. [1] Derived: areas in common.
    """
    found = []
    for (first, one), (second, other) in combinations(waters.items(), 2):
        if frozenset((first, second)) in joined or not one.intersects(other):
            continue
        common = one.intersection(other)
        if common.area <= 0.0:
            continue
        inside = min(one.area, other.area) - common.area <= 1e-6 * min(one.area, other.area)
        at = common.representative_point()
        found.append(Meeting(first, second, inside, (at.x, at.y)))
    return tuple(found)


def narrow_places(area: BaseGeometry, width: Length) -> tuple[tuple[PlanPoint, Length], ...]:
    """Places where an area is narrower than a width, with how wide it is there.

    Parameters
    ----------
    area : geometry     Of water, or of land.
    width : Length      [m], > 0

    Returns
    -------
    tuple of (place, width)     The narrowest first. [m]

    Notes
    -----
    What is lost when the area is made smaller by half the width all round and larger again.  The width of a
    place is twice the greatest half width that still fits into it, to a hundredth of the one asked for.

    References
    ----------
    .. [1] Derived: morphological opening with a disc.
    """
    half = 0.5 * width
    lost = area.difference(area.buffer(-half).buffer(1.02 * half))
    found = []
    for piece in _pieces(lost):
        if piece.area > NARROW_LEAST * half * half:
            at = piece.representative_point()
            found.append(((at.x, at.y), 2.0 * _inner_half(area, piece, half)))
    return tuple(sorted(found, key=lambda place: place[1]))


def parts_when_lower(area: BaseGeometry, inset: Length) -> tuple[tuple[PlanPoint, float], ...]:
    """Separate waters that are left when the shore has drawn back, the largest first.

    Parameters
    ----------
    area : geometry     Of the water at rest.
    inset : Length      How far the shore draws back. [m], >= 0

    Returns
    -------
    tuple of (place, area)     [m²]

    References
    ----------
    .. [1] Derived: the bank has the same section all round, so the lower shore is an offset.
    """
    pieces = sorted(_pieces(area.buffer(-inset)), key=lambda piece: -piece.area)
    points = [piece.representative_point() for piece in pieces]
    return tuple(((at.x, at.y), float(piece.area)) for at, piece in zip(points, pieces, strict=True))


def run_of_water(
    z: Elevations,
    grid: Grid,
    lip: PlanPoint,
    own: NDArray[np.bool_],
    others: Mapping[str, NDArray[np.bool_]],
) -> Run:
    """Way of the water that leaves a body over its lip, over the lowest ground that it reaches.

    Parameters
    ----------
    z : (rows, columns) array                 The finish. [m]
    grid : Grid                               Where the nodes are.
    lip : (east, north)                       Where it leaves. [m]
    own : (rows, columns) bool array          The body's own ground up to its lip.
    others : bool arrays by id                Water of the other bodies.

    Returns
    -------
    Run

    Notes
    -----
    Spreads from the lip over the nodes, the lowest first, until it meets another body or the grid ends.
    A dip up to 0.3 m deep is filled and passed; in a deeper one the water stays.

    References
    ----------
    .. [1] Derived: flood in order of height.
    """
    east, north = lip[0] - grid.origin_east, lip[1] - grid.origin_north
    start = (round(north / grid.spacing), round(east / grid.spacing))
    came_from: dict[tuple[int, int], tuple[int, int] | None] = {start: None}
    # Of two nodes of one height the one nearer by the way goes first, so that water on a plane runs straight.
    front = [(float(z[start]), 0.0, start)]
    lowest, end, hollow = np.inf, start, False
    while front:
        height, length, node = heapq.heappop(front)
        if height > lowest + DEEP_HOLLOW:
            hollow = True
            break
        if height < lowest:
            lowest, end = height, node
        if _body_at(node, others) is not None or not _is_inside(node, grid):
            end = node
            break
        for near in _neighbours(node):
            if near not in came_from and not own[near]:
                came_from[near] = node
                further = length + math.dist(near, node)
                heapq.heappush(front, (float(z[near]), further, near))
    rows, columns = np.array(_way_back(end, came_from)[::-1]).T
    into = None if hollow else _body_at(end, others)
    return Run(into, np.column_stack([grid.east[columns], grid.north[rows]]), hollow)


def meeting_walls(ring: Lengths, z: Elevations, grid: Grid, level: Elevation) -> tuple[Wall, ...]:
    """Upright faces at the shore, where the bank of another body stands right beside this water.

    Parameters
    ----------
    ring : (n, 2) array               The shore, with even and close steps. [m]
    z : (rows, columns) array         The finish. [m]
    grid : Grid                       Where the nodes are.
    level : Elevation                 The water level. [m]

    Returns
    -------
    tuple of Wall                     One for each run of the shore.

    References
    ----------
    .. [1] Derived: the finish one cell outside the shore.
    """
    ahead = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    turn = np.sign(np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1]))
    outward = turn * np.column_stack([ahead[:, 1], -ahead[:, 0]])
    outward = outward / np.maximum(np.hypot(outward[:, 0], outward[:, 1]), 1e-12)[:, None]
    outside = ring + grid.spacing * outward
    low, high = (grid.origin_east, grid.origin_north), (grid.east[-1], grid.north[-1])
    top = surface_at(z, grid, np.clip(outside, low, high))
    steep = top - level > STEEP_RISE + grid.spacing
    if not steep.any():
        return ()
    start = int(np.flatnonzero(~steep)[0]) if not steep.all() else 0
    order = np.roll(np.arange(len(ring)), -start)
    cuts = np.flatnonzero(np.diff(steep[order].astype(int)) != 0) + 1
    return tuple(
        Wall(ring[run], level, float(top[run].max()))
        for run in np.split(order, cuts)
        if steep[run[0]] and len(run) > 1
    )


def touches(line: Lengths, area: BaseGeometry, reach: Length) -> bool:
    """Whether an end of a stream's line lies in a water, or within a reach of it.

    Parameters
    ----------
    line : (n, 2) array     [m]
    area : geometry
    reach : Length          [m], >= 0

    Returns
    -------
    bool

    Examples
    --------
    >>> touches(np.array([[0.0, 0.0], [5.0, 0.0]]), Polygon([(5, -1), (7, -1), (7, 1), (5, 1)]), 0.5)
    True

    hand

    References
    ----------
    .. [1] Derived: distance of a point.
    """
    return any(area.distance(Point(line[end])) <= reach for end in (0, -1))


def _pieces(area: BaseGeometry) -> list[Polygon]:
    if isinstance(area, Polygon):
        return [] if area.is_empty else [area]
    return [
        piece for piece in getattr(area, "geoms", ()) if isinstance(piece, Polygon) and not piece.is_empty
    ]


def _inner_half(area: BaseGeometry, piece: Polygon, half: Length) -> Length:
    """Greatest half width of a narrow piece: how far its inside is from the shore of the whole area."""
    shore = area.boundary
    inner = maximum_inscribed_circle(piece, tolerance=0.01 * half)
    return min(float(shore.distance(Point(inner.coords[0]))), half)


def _neighbours(node: tuple[int, int]) -> list[tuple[int, int]]:
    row, column = node
    return [
        (row + up, column + across) for up in (-1, 0, 1) for across in (-1, 0, 1) if (up, across) != (0, 0)
    ]


def _way_back(
    node: tuple[int, int], came_from: Mapping[tuple[int, int], tuple[int, int] | None]
) -> list[tuple[int, int]]:
    way = []
    here: tuple[int, int] | None = node
    while here is not None:
        way.append(here)
        here = came_from[here]
    return way


def _is_inside(node: tuple[int, int], grid: Grid) -> bool:
    return 0 < node[0] < grid.rows - 1 and 0 < node[1] < grid.columns - 1


def _body_at(node: tuple[int, int], others: Mapping[str, NDArray[np.bool_]]) -> str | None:
    return next((name for name, inside in others.items() if inside[node]), None)
