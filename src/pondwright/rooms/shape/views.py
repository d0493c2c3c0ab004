"""What is seen from a seat: which water, which falls, how much of the shore.

The surface that is seen over is the finish with every water at its level, and upright screens (walls, houses,
fences) on it.  A place is seen if it stands above the *horizon*: the line of sight that just clears
everything on the way.  While something is dragged the horizon comes from a sweep over the grid; once it is
dropped, from exact rays.  The earth is flat over a garden, and trees hide nothing: one sees below the crowns.

See Also
--------
pondwright.geometry.kernels.sight : the sweep and the rays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite, sqrt

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import (
    Area,
    Areas,
    Elevation,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Ratio,
    Ratios,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import sight as kernels
from pondwright.geometry.surface import node_units
from pondwright.geometry.window import NOWHERE, Window, joined, whole
from pondwright.rooms.shape.walked import WalkedShore, held_on_grid

__all__ = [
    "NO_SCREENS",
    "Eye",
    "Sight",
    "WaterSeen",
    "balanced_eye",
    "cell_shares_by_rays",
    "fall_share",
    "horizon",
    "screens",
    "shore_seen",
    "sight_lines",
    "water_seen",
    "waters_cover",
]

NO_SCREENS: FloatArray = np.zeros((0, 6))
"""No screen at all."""

SUB_TARGETS = np.array([[-0.25, -0.25], [0.25, -0.25], [-0.25, 0.25], [0.25, 0.25]])
"""Places in a cell, from its middle, at which a cell on the border of a shadow is looked at. [cells]"""

MANY = 500
"""Lines of sight from which on it pays to find out which nodes lie below all that is looked at."""

FALL_SHORT = 2.0
"""A line of sight to a fall ends this far before it: the surface itself rises there. [cells]"""


@dataclass(frozen=True, slots=True)
class Eye:
    """Where an eye is: east, north and elevation. [m]"""

    east: Length
    north: Length
    elevation: Elevation


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """What lines of sight from one eye meet on their way to places.

    Attributes
    ----------
    horizon : (n,) array      Elevation above which something at the place is seen. [m]
    needed : (n,) array       Elevation of the eye from which the place's level is just seen. [m]
    east, north : (n,) array  Where each line of sight is closest to being cut. [m]
    screen : (n,) int array   By which screen; -1 by the surface, -2 by nothing.
    """

    horizon: Elevations
    needed: Elevations
    east: Lengths
    north: Lengths
    screen: NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Swept:
    """Horizon of an eye, and what a sweep after a move goes on from.

    Attributes
    ----------
    over : (rows, columns) array     Elevation above which something at the node is seen. [m]
    rises : (lines, places) arrays   Steepest rise up to each node: north, south, east, west of the eye.
    """

    over: Elevations
    rises: tuple[FloatArray, ...]


@dataclass(frozen=True, slots=True)
class WaterSeen:
    """How much of a water is seen, and how near and far; no distance where none is seen."""

    area: Area
    nearest: Length | None
    farthest: Length | None


def waters_cover(z: Elevations, waters: Sequence[tuple[Lengths, Elevations | Elevation]]) -> Elevations:
    """Surface that is seen over: the finish with every water on it.

    Parameters
    ----------
    z : (rows, columns) array               The finish. [m]
    waters : pairs of array and Elevation   Signed distance to the shore [m], above 0 in the water, and the
                                            level at every node or of the whole water [m].

    Returns
    -------
    (rows, columns) array                   [m]

    Examples
    --------
    >>> waters_cover(np.array([[2.0, 0.5, 1.0]]), [(np.array([[-1.0, 1.0, 1.0]]), 1.2)]).tolist()
    [[2.0, 1.2, 1.2]]

    hand

    References
    ----------
    .. [1] Derived: water is level.
    """
    cover = np.array(z, dtype=np.float64)
    for distance, level in waters:
        np.maximum(cover, level, out=cover, where=distance > 0.0)
    return cover


def screens(line: Lengths, tops: Elevations) -> FloatArray:
    """Upright screens along a line, from each of its points to the next.

    Parameters
    ----------
    line : (n, 2) array      East and north. [m]
    tops : (n,) array        Elevation of the top at each point. [m]

    Returns
    -------
    (n - 1, 6) array         East, north and top of both ends. [m]

    Raises
    ------
    DomainError              If there is not one top for each point.

    Examples
    --------
    >>> screens(np.array([[0.0, 0.0], [4.0, 0.0]]), np.array([100.5, 100.7])).tolist()
    [[0.0, 0.0, 100.5, 4.0, 0.0, 100.7]]

    hand

    References
    ----------
    .. [1] Convention: a screen has no thickness.
    """
    if len(line) != len(tops):
        raise DomainError(f"`tops` must be one for each of {len(line)} points, got {len(tops)}")
    points = np.column_stack([line, tops])
    return np.hstack([points[:-1], points[1:]])


def horizon(
    cover: Elevations,
    grid: Grid,
    eye: Eye,
    walls: FloatArray = NO_SCREENS,
) -> Elevations:
    """Horizon at every node by a sweep outward from the eye.

    Parameters
    ----------
    cover : (rows, columns) array     Surface that is seen over. [m]
    grid : Grid                       Where the nodes are.
    eye : Eye
    walls : (n, 6) array              Screens, as from :func:`screens`. [m]

    Returns
    -------
    (rows, columns) array             Elevation above which something at the node is seen. [m]

    Raises
    ------
    DomainError                       If the eye is not on the grid.

    Notes
    -----
    One pass, O(nodes).  Exact for screens and for flat ground; a line of sight that passes between two nodes
    takes the horizons of both in proportion, which spreads a shadow's border by some part of a cell.

    Examples
    --------
    Flat water, a wall 0.5 m high 5 m from an eye at 1.15 m: the shadow ends at 5 x 1.15 / 0.65 = 8.846 m.

    >>> grid = Grid(-0.5, 0.0, 1.0, columns=13, rows=3)
    >>> wall = screens(np.array([[5.0, -9.0], [5.0, 9.0]]), np.array([0.5, 0.5]))
    >>> over = horizon(np.zeros(grid.shape), grid, Eye(0.0, 1.0, 1.15), wall)[1]
    >>> grid.east[over > 0.0].tolist()
    [5.5, 6.5, 7.5, 8.5]

    hand

    References
    ----------
    .. [1] Derived: rise over steps along the larger axis is linear along a line of nodes of a plane.
    """
    return sweep(cover, grid, eye, walls)[0].over


def sweep(
    cover: Elevations,
    grid: Grid,
    eye: Eye,
    walls: FloatArray = NO_SCREENS,
    before: Swept | None = None,
    touched: Window | None = None,
) -> tuple[Swept, Window]:
    """Horizon at every node, after a move worked out again only where it can be another one.

    Parameters
    ----------
    cover : (rows, columns) array     Surface that is seen over. [m]
    grid : Grid                       Where the nodes are.
    eye : Eye
    walls : (n, 6) array              Screens, as from :func:`screens`. [m]
    before : Swept, optional          Of the same eye over the same screens.
    touched : Window, optional        First and end row, first and end column of what changed since.

    Returns
    -------
    Swept, and the window outside which its horizon is the one of before.

    Raises
    ------
    DomainError                       If the eye is not on the grid.

    References
    ----------
    .. [1] Derived: as :func:`horizon`; what hides behind something higher changes nothing beyond it.
    """
    column, row = _units(grid, eye)
    surface = np.asarray(cover, dtype=np.float64)
    over = np.full(grid.shape, -np.inf) if before is None else before.over.copy()
    window = whole(grid.shape) if before is None or touched is None else touched
    rises, fresh = [], NOWHERE
    for quarter, (way, turned) in enumerate(((1, False), (-1, False), (1, True), (-1, True))):
        # A quarter that looks along the rows goes over the turned grid.
        place, shape = ((column, row), grid.shape[::-1]) if turned else ((row, column), grid.shape)
        sides = (*window[2:], *window[:2]) if turned else window
        if before is not None and not kernels.quarter_reads(*sides, *place, way):
            rises.append(before.rises[quarter])
            continue
        lines = int(shape[0] - 1 - place[0] if way > 0 else place[0]) + 1
        rises.append(np.zeros((lines, shape[1])) if before is None else before.rises[quarter].copy())
        arrays = (surface.T, over.T) if turned else (surface, over)
        found = kernels.sweep_one_way(
            arrays[0], *place, eye.elevation, way, turned, *sides, rises[quarter], arrays[1]
        )
        if found[0] < found[1]:
            fresh = joined(fresh, (*found[2:], *found[:2]) if turned else found)
    kernels.shade(_screen_units(grid, walls), column, row, eye.elevation, over)
    return Swept(over, tuple(rises)), fresh


def sight_lines(
    cover: Elevations,
    grid: Grid,
    eye: Eye,
    points: Lengths,
    levels: Elevations,
    walls: FloatArray = NO_SCREENS,
    short: float | FloatArray = 0.0,
) -> Sight:
    """Lines of sight from an eye to places, exact on the triangles of the surface.

    Parameters
    ----------
    cover : (rows, columns) array     Surface that is seen over. [m]
    grid : Grid                       Where the nodes are.
    eye : Eye
    points : (n, 2) array             Places, on the grid. [m]
    levels : (n,) array               Elevation of what is looked at there. [m]
    walls : (k, 6) array              Screens. [m]
    short : float or (n,) array       How much of the way's end does not hide, in cells of the larger axis.

    Returns
    -------
    Sight

    Raises
    ------
    DomainError                       If the eye or a place is not on the grid.

    Notes
    -----
    horizon = e + max((z − e) / t) and needed = max(L, (z − t L) / (1 − t)) over the edges at a share t of the
    way.  Of many places, a horizon below the lowest level looked at may be told lower than it is.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=13, rows=3)
    >>> wall = screens(np.array([[5.0, -9.0], [5.0, 9.0]]), np.array([0.5, 0.5]))
    >>> place = np.array([[8.0, 1.0]])
    >>> seen = sight_lines(np.zeros(grid.shape), grid, Eye(0.0, 1.0, 1.15), place, np.zeros(1), wall)
    >>> seen.horizon.round(3).tolist(), seen.needed.round(3).tolist(), seen.screen.tolist()
    ([0.11], [1.333], [0])

    hand

    References
    ----------
    .. [1] Derived: similar triangles; along a ray both are monotone between the edges that it crosses.
    """
    column, row = _units(grid, eye)
    places = held_on_grid(grid, points, "points")
    targets = np.empty((len(places), 4))
    targets[:, :2] = places
    targets[:, kernels.LEVEL] = levels
    targets[:, kernels.SHORT] = short
    found = np.empty((len(places), 4))
    surface = np.ascontiguousarray(cover, dtype=np.float64)
    clear = _never_clear(grid.shape)
    if len(places) > MANY:
        clear = np.empty(grid.shape, dtype=np.int32)
        kernels.clear_steps(surface, float(np.min(levels)), clear)
    own = _screen_units(grid, walls)
    kernels.march(surface, clear, column, row, eye.elevation, targets, own, found)
    share = found[:, kernels.SHARE]
    return Sight(
        horizon=found[:, kernels.HORIZON],
        needed=found[:, kernels.NEEDED],
        east=eye.east + share * (np.asarray(points)[:, 0] - eye.east),
        north=eye.north + share * (np.asarray(points)[:, 1] - eye.north),
        screen=found[:, kernels.SCREEN].astype(np.intp),
    )


def water_seen(
    over: Elevations,
    levels: Elevations,
    coverage: Areas,
    grid: Grid,
    eye: Eye,
    before: tuple[FloatArray, tuple[int, int]] | None = None,
) -> tuple[WaterSeen, FloatArray]:
    """Water that is seen, by the horizon at the nodes.

    Parameters
    ----------
    over : (rows, columns) array              Horizon. [m]
    levels : (rows, columns) array            Level of the water. [m]
    coverage : (rows - 1, columns - 1) array  Area of the water in each cell. [m²]
    grid : Grid                               Where the nodes are.
    eye : Eye
    before : array and (int, int), optional   What this gave last time, and the first and end row of nodes
                                              outside which nothing is another than it was.

    Returns
    -------
    WaterSeen, and for each row of cells its part: area [m²], least and greatest squared distance [cells²].

    Notes
    -----
    On each triangle the border between seen and hidden is a straight line, so the area moves smoothly with
    the eye and does not flicker.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=3, rows=2)
    >>> over, level, eye = np.full((2, 3), -1.0), np.zeros((2, 3)), Eye(0.0, 0.5, 1.0)
    >>> seen, _ = water_seen(over, level, np.ones((1, 2)), grid, eye)
    >>> seen
    WaterSeen(area=2.0, nearest=0.5, farthest=1.5)

    hand

    References
    ----------
    .. [1] Derived: area of the part of a triangle above a plane.
    """
    if before is None:
        by_row, first, end = np.empty((len(coverage), 3)), 0, len(coverage)
    else:
        # A row of cells lies between two rows of nodes.
        by_row, first, end = before[0].copy(), max(before[1][0] - 1, 0), min(before[1][1], len(coverage))
    # The part of the grid around a water need not hold the eye.
    ((column, row),) = node_units(grid, np.array([[eye.east, eye.north]])).tolist()
    kernels.seen_rows(over, levels, column, row, eye.elevation, coverage, first, end, by_row)
    area, least, most = float(by_row[:, 0].sum()), float(by_row[:, 1].min()), float(by_row[:, 2].max())
    if not isfinite(least):
        return WaterSeen(area, None, None), by_row
    return WaterSeen(area, grid.spacing * sqrt(least), grid.spacing * sqrt(most)), by_row


def cell_shares_by_rays(
    cover: Elevations,
    levels: Elevations,
    in_water: NDArray[np.bool_],
    coverage: Areas,
    grid: Grid,
    eye: Eye,
    walls: FloatArray = NO_SCREENS,
) -> tuple[WaterSeen, Ratios, Sight, NDArray[np.intp]]:
    """Water that is seen, by an exact ray to every node of it.

    Parameters
    ----------
    cover : (rows, columns) array             Surface that is seen over. [m]
    levels : (rows, columns) array            Level of the water. [m]
    in_water : (rows, columns) bool array     Nodes in the water.
    coverage : (rows - 1, columns - 1) array  Area of the water in each cell. [m²]
    grid : Grid                               Where the nodes are.
    eye : Eye
    walls : (n, 6) array                      Screens. [m]

    Returns
    -------
    WaterSeen, the share of each cell that is seen [-], the lines of sight, and the flat node of each.

    Notes
    -----
    A cell whose corners agree is seen or hidden whole; any other is looked at in four places of its own.
    A ray to a corner on land ends one cell before it, so that the far bank does not hide the water before it.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=3, rows=2)
    >>> flat, wet = np.zeros((2, 3)), np.ones((2, 3), dtype=bool)
    >>> cell_shares_by_rays(flat, flat, wet, np.ones((1, 2)), grid, Eye(0.0, 0.5, 1.0))[0].area
    2.0

    hand

    References
    ----------
    .. [1] Derived: each ray is exact on the triangles of the surface.
    """
    wet = coverage > 0.0
    corner = np.zeros(grid.shape, dtype=np.bool_)
    for rows, columns in _CORNERS:
        corner[rows, columns] |= wet
    nodes = np.flatnonzero(corner)
    places = np.column_stack([grid.east[nodes % grid.columns], grid.north[nodes // grid.columns]])
    short = np.where(in_water.ravel()[nodes], 0.0, 1.0)
    found = sight_lines(cover, grid, eye, places, levels.ravel()[nodes], walls, short)
    seen = np.zeros(grid.shape, dtype=np.int8)
    flat = levels.ravel()[nodes]
    seen.ravel()[nodes] = (flat >= found.horizon) & (flat < eye.elevation)
    count = sum(seen[rows, columns] for rows, columns in _CORNERS)
    shares = np.where(wet, count // 4, 0).astype(np.float64)
    shares[wet & (count % 4 > 0)] = _sub_targets(
        wet & (count % 4 > 0), cover, levels, coverage, grid, eye, walls
    )
    return _seen(shares, coverage, grid, eye), shares, found, nodes


_CORNERS = (
    (slice(None, -1), slice(None, -1)),
    (slice(None, -1), slice(1, None)),
    (slice(1, None), slice(None, -1)),
    (slice(1, None), slice(1, None)),
)
"""Rows and columns of the south-west, south-east, north-west and north-east corner of every cell."""


def _sub_targets(
    chosen: NDArray[np.bool_],
    cover: Elevations,
    levels: Elevations,
    coverage: Areas,
    grid: Grid,
    eye: Eye,
    walls: FloatArray,
) -> Ratios:
    """Share of four places in each chosen cell that is seen."""
    rows, columns = np.nonzero(chosen)
    if not len(rows):
        return np.zeros(0)
    middles = np.column_stack([columns, rows]) + 0.5
    places = (middles[:, None, :] + SUB_TARGETS).reshape(-1, 2) * grid.spacing
    places += (grid.origin_east, grid.origin_north)
    # A cell of a stream's fall has two levels: the lower one is looked at, as from below.
    level = np.min([levels[part][chosen] for part in _CORNERS], axis=0)
    whole = coverage[chosen] > grid.cell_area * (1.0 - 1e-9)
    short = np.repeat(np.where(whole, 0.0, 1.0), 4)
    at = np.repeat(level, 4)
    found = sight_lines(cover, grid, eye, places, at, walls, short)
    return np.asarray(((at >= found.horizon) & (at < eye.elevation)).reshape(-1, 4).mean(axis=1))


def fall_share(
    cover: Elevations,
    grid: Grid,
    eye: Eye,
    crest: Lengths,
    downstream: Lengths,
    top: Elevation,
    foot: Elevation,
    walls: FloatArray = NO_SCREENS,
) -> tuple[Ratio, bool]:
    """Share of a fall's face that is seen, and whether its crest is.

    Parameters
    ----------
    cover : (rows, columns) array     Surface that is seen over. [m]
    grid : Grid                       Where the nodes are.
    eye : Eye
    crest : (n, 2) array              Places across the fall. [m]
    downstream : (2,) array           Direction of the stream there, of length 1. [m]
    top, foot : Elevation             Of the face. [m], top > foot
    walls : (k, 6) array              Screens. [m]

    Returns
    -------
    (Ratio, bool)                     The face from 0 to 1 [-]; from upstream it is 0, the crest may be seen.

    Raises
    ------
    DomainError                       If the face has no height.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=13, rows=3)
    >>> wall = screens(np.array([[5.0, -9.0], [5.0, 9.0]]), np.array([0.5, 0.5]))
    >>> fall = np.array([[10.0, 1.0]]), np.array([-1.0, 0.0])
    >>> fall_share(np.zeros(grid.shape), grid, Eye(0.0, 1.0, 1.0), *fall, 0.4, 0.0, wall)
    (1.0, True)
    >>> fall_share(np.zeros(grid.shape), grid, Eye(0.0, 1.0, 0.6), *fall, 0.8, 0.0, wall)
    (0.5, True)

    hand

    References
    ----------
    .. [1] Derived: the part of the face above the horizon.
    """
    if not top > foot:
        raise DomainError(f"`top` must be above the foot at {foot} m, got {top} m")
    over = sight_lines(cover, grid, eye, crest, np.full(len(crest), top), walls, FALL_SHORT).horizon
    to_eye = (eye.east - crest[:, 0]) * downstream[0] + (eye.north - crest[:, 1]) * downstream[1]
    faces = np.where(to_eye > 0.0, np.clip((top - over) / (top - foot), 0.0, 1.0), 0.0)
    return float(faces.mean()), bool((over <= top).any())


def shore_seen(over: Elevations, grid: Grid, ring: Lengths, levels: Elevations | Elevation) -> Length:
    """Length of a shore that is seen, by the horizon at the nodes.

    Parameters
    ----------
    over : (rows, columns) array     Horizon. [m]
    grid : Grid                      Where the nodes are.
    ring : (n, 2) array              The shore, in steps. [m]
    levels : (n,) array or Elevation Of the water at the shore. [m]

    Returns
    -------
    Length                           Of the steps that begin at a place that is seen. [m]

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=3, rows=3)
    >>> square = np.array([[0.5, 0.5], [1.5, 0.5], [1.5, 1.5], [0.5, 1.5]])
    >>> shore_seen(np.tile([-1.0, 0.0, 1.0], (3, 1)), grid, square, 0.25)
    2.0

    hand

    References
    ----------
    .. [1] Derived: linear between the nodes.
    """
    return WalkedShore.of(grid, ring, levels).seen(over)


def balanced_eye(needed: Elevations, weights: Areas, share: Ratio) -> Elevation:
    """Elevation of the eye from which a share of the water is seen.

    Parameters
    ----------
    needed : (n,) array     Elevation from which each part is seen. [m]
    weights : (n,) array    Area of each part. [m²]
    share : Ratio           [-], 0 to 1

    Returns
    -------
    Elevation               [m]

    Raises
    ------
    DomainError             If there is no area.

    Examples
    --------
    >>> balanced_eye(np.array([101.0, 103.0, 102.0]), np.ones(3), 0.5)
    102.0

    hand

    References
    ----------
    .. [1] Derived: what is seen from a height is seen from every greater one over the same place.
    """
    if not weights.sum() > 0.0:
        raise DomainError(f"`weights` must hold an area above 0 m², got {weights.sum()} m²")
    order = np.argsort(needed)
    run = np.cumsum(weights[order]) / weights.sum()
    return float(needed[order][min(int(np.searchsorted(run, share - 1e-12)), len(order) - 1)])


def _seen(shares: Ratios, coverage: Areas, grid: Grid, eye: Eye) -> WaterSeen:
    area = float((shares * coverage).sum())
    rows, columns = np.nonzero((shares >= 0.5) & (coverage > 0.0))
    if not len(rows):
        return WaterSeen(area, None, None)
    away = np.hypot(
        grid.origin_east + (columns + 0.5) * grid.spacing - eye.east,
        grid.origin_north + (rows + 0.5) * grid.spacing - eye.north,
    )
    return WaterSeen(area, float(away.min()), float(away.max()))


def _units(grid: Grid, eye: Eye) -> tuple[float, float]:
    ((column, row),) = held_on_grid(grid, np.array([[eye.east, eye.north]]), "eye").tolist()
    return column, row


@lru_cache(maxsize=4)
def _never_clear(shape: tuple[int, int]) -> NDArray[np.int32]:
    """Steps that are clear from each node where nobody looked: none."""
    nothing = np.zeros(shape, dtype=np.int32)
    nothing.flags.writeable = False
    return nothing


def _screen_units(grid: Grid, walls: FloatArray) -> FloatArray:
    if not len(walls):
        return NO_SCREENS
    own = np.array(walls, dtype=np.float64).reshape(-1, 6)
    for at in (0, 3):
        own[:, at] = (own[:, at] - grid.origin_east) / grid.spacing
        own[:, at + 1] = (own[:, at + 1] - grid.origin_north) / grid.spacing
    return own
