"""What is seen from a seat: how much of a water, of a fall's face, of a shore.

A place is seen if it stands above the horizon of :mod:`pondwright.rooms.shape.sight`.

See Also
--------
pondwright.rooms.shape.sight : the horizon at the nodes, and exact lines of sight.
"""

from __future__ import annotations

from dataclasses import dataclass
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
from pondwright.rooms.shape.sight import NO_SCREENS, Eye, Sight, horizon_at, sight_lines
from pondwright.rooms.shape.walked import WalkedShore

__all__ = [
    "WaterSeen",
    "balanced_eye",
    "cell_shares_by_rays",
    "fall_share",
    "shore_seen",
    "water_seen",
]

SUB_TARGETS = np.array([[-0.25, -0.25], [0.25, -0.25], [-0.25, 0.25], [0.25, 0.25]])
"""Places in a cell, from its middle, at which a cell on the border of a shadow is looked at. [cells]"""

FALL_SHORT = 2.0
"""A line of sight to a fall ends this far before it: the surface itself rises there. [cells]"""


@dataclass(frozen=True, slots=True)
class WaterSeen:
    """How much of a water is seen, and how near and far; no distance where none is seen."""

    area: Area
    nearest: Length | None
    farthest: Length | None


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
    column = (eye.east - grid.origin_east) / grid.spacing
    row = (eye.north - grid.origin_north) / grid.spacing
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
    >>> from pondwright.rooms.shape.sight import screens
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
    over = horizon_at(cover, grid, eye, crest, top, walls, FALL_SHORT)
    to_eye = (eye.east - crest[:, 0]) * downstream[0] + (eye.north - crest[:, 1]) * downstream[1]
    faces = np.where(to_eye > 0.0, np.minimum(np.maximum((top - over) / (top - foot), 0.0), 1.0), 0.0)
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
