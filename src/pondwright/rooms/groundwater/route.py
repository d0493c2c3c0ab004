"""The route of a drain that costs the least trench and still falls all the way to where it runs out.

A pipe that falls at its least fall lies as high as it can: its bottom at a place is bounded by where it
starts, less what it fell on the way, and by the cover that it needs everywhere on the way.  So a way to a
place has two numbers that count, the trench dug so far and the height that is left; one way beats another
only if it is no worse in both.  Ways are tried in the order of their trench, from the start, on the nodes of
a grid with sixteen directions, with a bound for what is still to come that never says too much: the
first that reaches the end is the best of all on that grid.  Its corners are then pulled straight as far
as that saves trench.

See Also
--------
pondwright.rooms.groundwater.pipes : the profile of a drain that is there.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, Length, Lengths, Ratio, Volume
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.rooms.groundwater.lines import stations as distances

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

PlanPoint = tuple[Length, Length]

MOST_NODES = 90
"""Nodes along the longer side of the grid on which routes are looked for."""

SLACK = 1e-9
GIVEN_AWAY: Length = 0.10
"""A pipe may lie this much deeper than it must, for fewer bends. [m]; common practice, no source."""

CORNERS_COST = 0.02
"""Share of the trench that is given away for fewer corners to lay. [-]; common practice, no source."""

_WAYS = tuple((east, north) for east in range(-2, 3) for north in range(-2, 3) if math.gcd(east, north) == 1)


@dataclass(frozen=True, slots=True, eq=False)
class TrenchGround:
    """Ground for a trench: what it is dug from, the highest bottom that a pipe may have, where none may go.

    ``top`` and ``roof`` are on the nodes of the grid. [m]
    """

    grid: Grid
    top: Elevations
    roof: Elevations
    barred: BaseGeometry | None = None


@dataclass(frozen=True, slots=True)
class Ends:
    """Where a drain starts and runs out: places, its highest bottom at the start, its lowest at the end."""

    start: PlanPoint
    upper: Elevation
    end: PlanPoint
    lower: Elevation


@dataclass(frozen=True, slots=True)
class Trench:
    """A trench: width, what is dug below the pipe's bottom [m], and the least fall of the pipe [-]."""

    width: Length
    bed: Length
    fall: Ratio


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A pipe laid as high as it may lie along a line: at stations, and what is dug for it.

    ``spare`` is its bottom at the end less the lowest that it may have there; below zero it cannot run out.
    """

    chainage: Lengths
    points: Lengths
    invert: Elevations
    depth: Lengths
    volume: Volume
    spare: Length


@dataclass(frozen=True, slots=True, eq=False)
class Route:
    """A drain's route: its points from the upper end down with a bottom at each, and its trench."""

    points: Lengths
    inverts: Elevations
    length: Length
    deepest: Length
    volume: Volume
    spare: Length


def laid(ground: TrenchGround, line: Lengths, ends: Ends, trench: Trench) -> Laid:
    """A pipe laid along a line as high as its fall and its cover let it.

    Parameters
    ----------
    ground : TrenchGround
    line : (n, 2) array     From the start to the end, on the grid. [m]
    ends : Ends
    trench : Trench

    Returns
    -------
    Laid

    Raises
    ------
    DomainError             If the line leaves the grid, or the width or the fall is not above zero.

    Notes
    -----
    The bottom at x is the least, over all y up to x, of roof(y) − s (x − y), with the start's own bottom as
    one of them: no pipe with that fall and that cover lies higher anywhere.  Trench: width times the depth
    down to the bed, sides upright, by trapezoids between stations no farther than half of the grid's spacing.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, 11, 2)
    >>> flat = TrenchGround(grid, np.full(grid.shape, 1.0), np.full(grid.shape, 0.5))
    >>> ends = Ends((0.0, 0.0), 0.4, (10.0, 0.0), 0.2)
    >>> pipe = laid(flat, np.array([[0.0, 0.0], [10.0, 0.0]]), ends, Trench(0.5, 0.0, 0.01))
    >>> round(float(pipe.invert[-1]), 3), round(pipe.volume, 3), round(pipe.spare, 3)
    (0.3, 3.25, 0.1)

    hand

    References
    ----------
    .. [1] Derived: upper envelope of lines that fall.
    """
    if not (trench.width > 0.0 and trench.fall > 0.0):
        raise DomainError(
            f"a trench must have a width and a fall above 0, got {trench.width:g} m and {trench.fall:g}"
        )
    run = distances(line)
    count = max(math.ceil(float(run[-1]) / (0.5 * ground.grid.spacing) - 1e-9), 1)
    chainage = np.unique(np.concatenate([run, float(run[-1]) * np.arange(count + 1) / count]))
    kept = np.concatenate([[True], np.diff(run) > 0.0])
    points = np.column_stack([np.interp(chainage, run[kept], line[kept, axis]) for axis in (0, 1)])
    top, roof = (surface_at(z, ground.grid, points) for z in (ground.top, ground.roof))
    highest = np.array(roof)
    highest[0] = min(float(roof[0]), ends.upper)
    fallen = trench.fall * chainage
    invert = np.minimum.accumulate(highest + fallen) - fallen
    depth = np.maximum(top - invert + trench.bed, 0.0)
    volume = trench.width * float(np.trapezoid(depth, chainage))
    return Laid(chainage, points, invert, depth, volume, float(invert[-1] - ends.lower))


def grid_route(ground: TrenchGround, ends: Ends, trench: Trench) -> tuple[Lengths, Volume] | None:
    """Route along nodes of the grid that needs the least trench of all such routes.

    Parameters
    ----------
    ground : TrenchGround
    ends : Ends             Both on the grid.
    trench : Trench

    Returns
    -------
    tuple or None           Points from the start to the end [m], and the trench along them [m³]; none if no
                            way on the grid falls enough.

    Raises
    ------
    DomainError             If an end lies off the grid.

    Notes
    -----
    Each step of the way is one of the sixteen shortest to a node around; depths are taken at both its ends
    and in its middle.  A way is given up as soon as its bottom, less the least fall over the shortest way
    that is left, lies below the end's; or where a way with no more trench came there no lower.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, 11, 3)
    >>> flat = TrenchGround(grid, np.full(grid.shape, 1.0), np.full(grid.shape, 0.5))
    >>> way, volume = grid_route(flat, Ends((0.0, 1.0), 0.4, (10.0, 1.0), 0.2), Trench(0.5, 0.0, 0.01))
    >>> round(float(distances(way)[-1]), 6), round(volume, 6)
    (10.0, 3.25)

    hand

    References
    ----------
    .. [1] Label setting on two criteria, Hansen 1980; bound of the rest, Hart, Nilsson and Raphael 1968;
       from memory.
    """
    from scipy.sparse.csgraph import dijkstra

    net = _net(ground, ends, trench)
    end = len(net.places) - 1
    left = dijkstra(net.lengths.T, indices=end)
    to_come = dijkstra(net.least.T, indices=end)
    return _search(net, left, to_come, ends, trench)


def least_trench(ground: TrenchGround, ends: Ends, trench: Trench) -> Route | None:
    """Route of a drain with the least trench that keeps its fall, its corners pulled straight.

    Parameters
    ----------
    ground : TrenchGround
    ends : Ends             Both on the grid.
    trench : Trench

    Returns
    -------
    Route or None           None if no route was found that falls enough.

    Raises
    ------
    DomainError             If an end lies off the grid.

    Notes
    -----
    The best of the way on the grid and the straight line, whichever of them fall enough; then corners are
    left out as long as that costs no more than 2 % of the trench in all.  Where the straight line is no more
    trench than what comes out, it is taken; so a route is never more trench than straight across, but
    for the 0.10 m of depth that a pipe may give away to have fewer bends in its profile.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, 11, 11)
    >>> flat = TrenchGround(grid, np.full(grid.shape, 1.0), np.full(grid.shape, 0.5))
    >>> route = least_trench(flat, Ends((0.5, 1.0), 0.4, (9.5, 7.0), 0.2), Trench(0.5, 0.0, 0.01))
    >>> round(route.length, 3), len(route.points)
    (10.817, 2)

    hand

    References
    ----------
    .. [1] Derived: see :func:`grid_route`.
    """
    straight = np.array([ends.start, ends.end], dtype=np.float64)
    found = grid_route(ground, ends, trench)
    lines = [straight, *([] if found is None else [found[0]])]
    tried = [(line, laid(ground, line, ends, trench)) for line in lines if _is_free(ground, line)]
    falling = [(line, pipe) for line, pipe in tried if pipe.spare >= -SLACK]
    if not falling:
        return None
    line, pipe = min(falling, key=lambda one: one[1].volume)
    line, pipe = _pulled(ground, line, pipe, ends, trench)
    line, pipe = min((*falling, (line, pipe)), key=lambda one: (one[1].volume > pipe.volume, len(one[0])))
    bends = _bends(pipe, line)
    deeper = pipe.invert - np.interp(pipe.chainage, pipe.chainage[bends], pipe.invert[bends])
    depth = np.maximum(pipe.depth + deeper, 0.0)
    return Route(
        points=pipe.points[bends],
        inverts=pipe.invert[bends],
        length=float(pipe.chainage[-1]),
        deepest=float(depth.max()),
        volume=trench.width * float(np.trapezoid(depth, pipe.chainage)),
        spare=pipe.spare,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Net:
    """Steps between places: lengths, a trench that each at least needs, and what its own trench needs.

    The last two places are the start and the end.  ``steps`` of a place are (to, length, tops and
    roofs in the middle and at the far end).
    """

    places: Lengths
    top: Elevations
    roof: Elevations
    lengths: Any
    least: Any
    steps: Sequence[Sequence[tuple[int, float, float, float]]]


def _net(ground: TrenchGround, ends: Ends, trench: Trench) -> _Net:
    from scipy.sparse import csr_array

    grid = ground.grid
    east, north = np.meshgrid(grid.east, grid.north)
    places = np.vstack([np.column_stack([east.ravel(), north.ravel()]), [ends.start, ends.end]])
    top, roof = (surface_at(z, grid, places) for z in (ground.top, ground.roof))
    pairs = np.vstack([*_pairs(grid), *_from_ends(grid, places)])
    pairs = pairs[_free_steps(ground, places, pairs)]
    pairs = np.vstack([pairs, pairs[:, ::-1]])
    one, other = pairs.T
    length = np.hypot(*(places[one] - places[other]).T)
    middle = 0.5 * (places[one] + places[other])
    mid_top, mid_roof = (surface_at(z, grid, middle) for z in (ground.top, ground.roof))
    away = np.hypot(*(places - np.array(ends.start)).T)
    highest = np.minimum(ends.upper - trench.fall * away, roof)
    mid_highest = np.minimum(
        ends.upper - trench.fall * np.hypot(*(middle - np.array(ends.start)).T), mid_roof
    )
    depths = [
        np.maximum(above - bottom + trench.bed, 0.0)
        for above, bottom in ((top, highest), (mid_top, mid_highest))
    ]
    least = trench.width * length * (0.25 * (depths[0][one] + depths[0][other]) + 0.5 * depths[1])
    count = len(places)
    steps: list[list[tuple[int, float, float, float]]] = [[] for _ in range(count)]
    for row in zip(
        one.tolist(), other.tolist(), length.tolist(), mid_top.tolist(), mid_roof.tolist(), strict=True
    ):
        steps[row[0]].append(row[1:])
    # A step from an end to the node on it, or one that needs no trench, still is a step: no zero entries.
    entries, length = np.maximum(least, 1e-12), np.maximum(length, 1e-12)
    return _Net(
        places,
        np.array(top),
        np.array(roof),
        csr_array((length, (one, other)), shape=(count, count)),
        csr_array((entries, (one, other)), shape=(count, count)),
        steps,
    )


def _pairs(grid: Grid) -> Iterator[NDArray[np.int64]]:
    """Neighbours in half of the sixteen directions; the other half are the same turned round."""
    numbers = np.arange(grid.rows * grid.columns).reshape(grid.shape)
    for east, north in _WAYS:
        if north > 0 or (north == 0 and east > 0):
            first, last = max(-east, 0), grid.columns - max(east, 0)
            start = numbers[: grid.rows - north, first:last]
            stop = numbers[north:, first + east : last + east]
            yield np.column_stack([start.ravel(), stop.ravel()])


def _from_ends(grid: Grid, places: Lengths) -> Iterator[NDArray[np.int64]]:
    """The nodes near the start and near the end, and the two with each other where they are near."""
    near = 1.5 * grid.spacing
    for end in (len(places) - 2, len(places) - 1):
        others = np.flatnonzero(np.hypot(*(places[:end] - places[end]).T) <= near)
        yield np.column_stack([np.full(len(others), end), others])


def _free_steps(ground: TrenchGround, places: Lengths, pairs: NDArray[np.int64]) -> NDArray[np.bool_]:
    if ground.barred is None or ground.barred.is_empty:
        return np.ones(len(pairs), dtype=np.bool_)
    from shapely import contains_xy, intersects, linestrings, prepare

    prepare(ground.barred)
    inside = contains_xy(ground.barred, places)
    free = ~(inside[pairs[:, 0]] | inside[pairs[:, 1]])
    free[free] = ~intersects(ground.barred, linestrings(places[pairs[free]]))
    return free


def _is_free(ground: TrenchGround, line: Lengths) -> bool:
    if ground.barred is None:
        return True
    from shapely import LineString

    return not ground.barred.intersects(LineString(line))


def _search(
    net: _Net, left: Lengths, to_come: Lengths, ends: Ends, trench: Trench
) -> tuple[Lengths, Volume] | None:
    """Ways in the order of the trench that they need and will at least need still."""
    start, end = len(net.places) - 2, len(net.places) - 1
    lowest = (ends.lower + trench.fall * left - SLACK).tolist()
    rest, top, roof = to_come.tolist(), net.top.tolist(), net.roof.tolist()
    best = [-math.inf] * len(net.places)
    first = min(ends.upper, roof[start])
    if first < lowest[start]:
        return None
    ways: list[tuple[int, int]] = [(start, -1)]
    heap = [(rest[start], 0.0, -first, 0)]
    half, width, bed = 0.5 * trench.fall, trench.width, trench.bed
    while heap:
        _, dug, minus, number = heapq.heappop(heap)
        at, bottom = ways[number][0], -minus
        if bottom <= best[at]:
            continue
        best[at] = bottom
        if at == end:
            return net.places[_back(ways, number)], dug
        above = max(top[at] - bottom + bed, 0.0)
        for to, length, mid_top, mid_roof in net.steps[at]:
            middle = min(bottom - half * length, mid_roof)
            lower = min(middle - half * length, roof[to])
            if lower <= best[to] or lower < lowest[to]:
                continue
            depths = 0.25 * (above + max(top[to] - lower + bed, 0.0)) + 0.5 * max(mid_top - middle + bed, 0.0)
            more = dug + width * length * depths
            heapq.heappush(heap, (more + rest[to], more, -lower, len(ways)))
            ways.append((to, number))
    return None


def _back(ways: Sequence[tuple[int, int]], number: int) -> list[int]:
    passed = []
    while number >= 0:
        at, number = ways[number]
        passed.append(at)
    return passed[::-1]


def _pulled(
    ground: TrenchGround, line: Lengths, pipe: Laid, ends: Ends, trench: Trench
) -> tuple[Lengths, Laid]:
    """The same route with corners left out, as long as that costs next to no trench and keeps its fall."""
    most, at = (1.0 + CORNERS_COST) * pipe.volume, 0
    while at < len(line) - 2:
        for to in range(len(line) - 1, at + 1, -1):
            shorter = np.vstack([line[: at + 1], line[to:]])
            if not _is_free(ground, shorter[at : at + 2]):
                continue
            tried = laid(ground, shorter, ends, trench)
            if tried.spare >= -SLACK and tried.volume <= most:
                line, pipe = shorter, tried
                break
        at += 1
    return line, pipe


def _bends(pipe: Laid, line: Lengths) -> list[int]:
    """Stations between which the pipe is laid straight: the line's corners, and as few others as do."""
    corners = np.searchsorted(pipe.chainage, distances(line) - 1e-9)
    kept = sorted(set(np.minimum(corners, len(pipe.chainage) - 1).tolist()))
    return [kept[0], *(stop for start, end in pairwise(kept) for stop in _straights(pipe, start, end))]


def _straights(pipe: Laid, start: int, end: int) -> list[int]:
    """Fewest straight pieces from one station to another, and of those the ones with the least to dig.

    No piece lies higher than the pipe may, or lower than is given away for fewer of them.
    """
    run, highest = pipe.chainage[start : end + 1], pipe.invert[start : end + 1]
    count = len(run)
    cost: list[tuple[int, float]] = [(0, 0.0), *[(count, 0.0)] * (count - 1)]
    before = [0] * count
    for one in range(count - 1):
        for other in range(one + 1, count):
            part = slice(one, other + 1)
            lower = highest[part] - np.interp(run[part], run[[one, other]], highest[[one, other]])
            if lower.min() < -1e-3 or lower.max() > GIVEN_AWAY:
                continue
            more = (cost[one][0] + 1, cost[one][1] + float(np.trapezoid(lower, run[part])))
            if more < cost[other]:
                cost[other], before[other] = more, one
    stops, at = [], count - 1
    while at > 0:
        stops.append(start + at)
        at = before[at]
    return stops[::-1]
