"""Sight over a surface: the horizon at the nodes by a sweep, and lines of sight to places, exact.

The surface that is seen over is the finish with every water at its level, and upright screens (walls, houses,
fences) on it.  A place is seen if it stands above the *horizon*: the line of sight that just clears
everything on the way.  While something is dragged the horizon comes from a sweep over the grid; once it is
dropped, from exact rays.  The earth is flat over a garden, and trees hide nothing: one sees below the crowns.

See Also
--------
pondwright.rooms.shape.views : what of a water, a fall or a shore is seen.
pondwright.geometry.kernels.sweep, pondwright.geometry.kernels.sight : the sweep and the rays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import sight as rays
from pondwright.geometry.kernels import sweep as kernels
from pondwright.geometry.kernels.scan import SLACK
from pondwright.geometry.scratch import SCRATCH
from pondwright.geometry.window import NOWHERE, Window, joined, nodes_in, whole
from pondwright.rooms.shape.walked import held_on_grid

__all__ = [
    "NO_SCREENS",
    "Eye",
    "Sight",
    "Swept",
    "horizon",
    "horizon_at",
    "screens",
    "sight_lines",
    "waters_cover",
]

NO_SCREENS: FloatArray = np.zeros((0, 6))
"""No screen at all."""

MANY = 500
"""Lines of sight from which on it pays to find out which nodes lie below all that is looked at."""

MUCH = 0.25
"""Share of a grid that may have changed since it was swept whole; beyond it, sweeping it anew pays."""


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
    """Horizon of an eye over a surface without its screens: as it once was, and where it is another one now.

    Attributes
    ----------
    over : (rows, columns) array     Elevation above which something at the node was seen. [m]
    rises : (lines, places) arrays   Steepest rise up to each node then: north, south, east, west of the eye.
    since : Window                   What of the surface has changed since then.
    moved : Window                   Where the horizon has.
    nodes : (n, 2) int array         Row and column of each node at which it has.
    now : (n,) array                 The horizon there now. [m]

    Notes
    -----
    Most of a drag moves a few nodes in a hundred; copies of whole grids would take longer than the sweep.
    """

    over: Elevations
    rises: tuple[FloatArray, ...]
    since: Window = NOWHERE
    moved: Window = NOWHERE
    nodes: NDArray[np.int32] = field(default_factory=lambda: np.empty((0, 2), dtype=np.int32))
    now: Elevations = field(default_factory=lambda: np.empty(0))


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
    return horizon_in(sweep(cover, grid, eye), grid, eye, whole(grid.shape), walls)


def sweep(cover: Elevations, grid: Grid, eye: Eye) -> Swept:
    """Horizon of an eye at every node, without screens.

    Parameters
    ----------
    cover : (rows, columns) array     Surface that is seen over. [m]
    grid : Grid                       Where the nodes are.
    eye : Eye

    Returns
    -------
    Swept

    Raises
    ------
    DomainError                       If the eye is not on the grid.

    References
    ----------
    .. [1] Derived: as :func:`horizon`.
    """
    column, row = _units(grid, eye)
    surface = np.asarray(cover, dtype=np.float64)
    over = np.full(grid.shape, -np.inf)
    rises = []
    for way, turned in ((1, False), (-1, False), (1, True), (-1, True)):
        # A quarter that looks along the rows goes over the turned grid.
        place, shape = ((column, row), grid.shape[::-1]) if turned else ((row, column), grid.shape)
        arrays = (surface.T, over.T) if turned else (surface, over)
        lines = int(shape[0] - 1 - place[0] if way > 0 else place[0]) + 1
        rises.append(np.zeros((lines, shape[1])))
        kernels.sweep_one_way(arrays[0], *place, eye.elevation, way, turned, rises[-1], arrays[1])
    return Swept(over, tuple(rises))


def swept_again(
    before: Swept, cover: Elevations, grid: Grid, eye: Eye, touched: Window
) -> tuple[Swept, Window]:
    """Horizon of the same eye after the surface changed, worked out only where it can be another one.

    Parameters
    ----------
    before : Swept
    cover : (rows, columns) array     Surface that is seen over now. [m]
    grid : Grid                       Where the nodes are.
    eye : Eye                         The one of before.
    touched : Window                  What of the surface changed since before.

    Returns
    -------
    Swept, and the window outside which its horizon is the one of before.

    References
    ----------
    .. [1] Derived: as :func:`horizon`; what hides behind something higher changes nothing beyond it.
    """
    since = joined(before.since, touched)
    if _nodes(since) > max(MUCH * before.over.size, 2 * _nodes(touched)):
        return sweep(cover, grid, eye), whole(grid.shape)
    column, row = _units(grid, eye)
    north, south, east, west = before.rises
    size = before.over.size
    nodes = SCRATCH.room("swept_nodes", 2 * size, np.int32).reshape(size, 2)
    now = SCRATCH.room("swept_horizon", size, np.float64)
    count, *found = kernels.resweep(
        cover, column, row, eye.elevation, *since, north, south, east, west, before.over, nodes, now
    )
    moved = (found[0], found[1], found[2], found[3]) if count else NOWHERE
    swept = Swept(before.over, before.rises, since, moved, nodes[:count].copy(), now[:count].copy())
    return swept, joined(before.moved, moved)


def horizon_in(
    swept: Swept, grid: Grid, eye: Eye, window: Window, walls: FloatArray = NO_SCREENS
) -> Elevations:
    """Horizon at the nodes of a window, with screens.

    Parameters
    ----------
    swept : Swept
    grid : Grid                  Where its nodes are.
    eye : Eye                    The one that it was swept from.
    window : Window
    walls : (n, 6) array         Screens, as from :func:`screens`. [m]

    Returns
    -------
    (rows, columns) array        Of the window. [m]
    """
    over = swept.over[nodes_in(window)].copy()
    kernels.put(swept.nodes, swept.now, window[0], window[2], over)
    if len(walls):
        kernels.shade(
            _screen_units(grid, walls), *_units(grid, eye), eye.elevation, window[0], window[2], over
        )
    return over


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
    found = _rays(cover, grid, eye, points, levels, walls, short)
    share = found[:, rays.SHARE]
    return Sight(
        horizon=found[:, rays.HORIZON],
        needed=found[:, rays.NEEDED],
        east=eye.east + share * (np.asarray(points)[:, 0] - eye.east),
        north=eye.north + share * (np.asarray(points)[:, 1] - eye.north),
        screen=found[:, rays.SCREEN].astype(np.intp),
    )


def horizon_at(
    cover: Elevations,
    grid: Grid,
    eye: Eye,
    points: Lengths,
    level: Elevation,
    walls: FloatArray = NO_SCREENS,
    short: float = 0.0,
) -> Elevations:
    """Horizon at a few places, exact on the triangles of the surface.

    Parameters
    ----------
    cover : (rows, columns) array     Surface that is seen over. [m]
    grid : Grid                       Where the nodes are.
    eye : Eye
    points : (n, 2) array             Places, on the grid. [m]
    level : Elevation                 Elevation of what is looked at there. [m]
    walls : (k, 6) array              Screens. [m]
    short : float                     How much of the way's end does not hide, in cells of the larger axis.

    Returns
    -------
    (n,) array                        Elevation above which something at the place is seen. [m]

    Raises
    ------
    DomainError                       If the eye or a place is not on the grid.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=13, rows=3)
    >>> wall = screens(np.array([[5.0, -9.0], [5.0, 9.0]]), np.array([0.5, 0.5]))
    >>> eye, place = Eye(0.0, 1.0, 1.15), np.array([[8.0, 1.0]])
    >>> horizon_at(np.zeros(grid.shape), grid, eye, place, 0.0, wall).round(3)
    array([0.11])

    hand

    References
    ----------
    .. [1] Derived: as :func:`sight_lines`.
    """
    return _rays(cover, grid, eye, points, level, walls, short)[:, rays.HORIZON]


def _rays(
    cover: Elevations,
    grid: Grid,
    eye: Eye,
    points: Lengths,
    levels: Elevations | Elevation,
    walls: FloatArray,
    short: float | FloatArray,
) -> FloatArray:
    """What the rays from an eye to places find."""
    column, row = _units(grid, eye)
    places = held_on_grid(grid, points, "points")
    targets = np.empty((len(places), 4))
    targets[:, :2] = places
    targets[:, rays.LEVEL] = levels
    targets[:, rays.SHORT] = short
    found = np.empty((len(places), 4))
    surface = np.ascontiguousarray(cover, dtype=np.float64)
    clear = _never_clear(grid.shape)
    if len(places) > MANY:
        clear = np.empty(grid.shape, dtype=np.int32)
        rays.clear_steps(surface, float(np.min(levels)), clear)
    own = _screen_units(grid, walls)
    rays.march(surface, clear, column, row, eye.elevation, targets, own, found)
    return found


def _nodes(window: Window) -> int:
    return (window[1] - window[0]) * (window[3] - window[2])


def _units(grid: Grid, eye: Eye) -> tuple[float, float]:
    """Column and row of an eye: as :func:`held_on_grid`, for one place in a tenth of its time."""
    column = (eye.east - grid.origin_east) / grid.spacing
    row = (eye.north - grid.origin_north) / grid.spacing
    last = grid.columns - 1.0, grid.rows - 1.0
    if not (-SLACK <= column <= last[0] + SLACK and -SLACK <= row <= last[1] + SLACK):
        raise DomainError("`eye` must lie inside the grid of the ground")
    return min(max(column, 0.0), last[0]), min(max(row, 0.0), last[1])


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
