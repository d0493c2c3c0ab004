"""The existing ground: from located shots to one surface on a grid, and how well it is known.

The surface is the constrained triangulation of the shots: breaklines are forced into it, the survey limit
and the voids cut it, and inside a triangle the ground is flat.  It is the method of the trade, it passes
through every shot, and it is exact on planes.  Smooth surfaces (splines, kriging) were left out: they
round off the banks that breaklines were shot for, and invent lips and hollows between shots.

Outside the survey nothing is known; so that a dozen shots still give a full answer the ground is
guessed there as level with the nearest surveyed ground, marked as a guess, and given an uncertainty
that grows with the distance.

See Also
--------
pondwright.rooms.site.uncertainty : how sure each node is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Areas, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside, signed_area
from pondwright.geometry.tin import Tin, TinGrid, node_sigma, tin_to_grid
from pondwright.rooms.site.uncertainty import (
    NO_BASE,
    GroundUncertainty,
    SharedErrors,
    general_fall,
    guess_sigma,
    interpolation_sigma,
    left_out,
    measured_surface_sigma,
    roughness,
)

SHOT, INTERPOLATED, GUESSED = 1, 2, 3
"""How a node is known: by a shot beside it, between shots, or not at all."""

LEAST_MARGIN = 5.0
"""Ground shown beyond the outermost shots, at least [m]; common practice."""

_MARGIN_SHARE = 0.1
_LONG_SIDE_NODES = 300
_ROUND_STEPS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
_WINDOW_STEP = 10
_SLACK = 1e-9
_THIN_ANGLE = math.radians(10.0)
_LONG_EDGE = 3.0


def default_grid(points: Lengths) -> Grid:
    """Grid that a job has as long as its document names none.

    It depends on the shots alone, so that it stays where it is while the shore is bent; and
    its nodes lie on whole multiples of a round spacing, so that one more shot at the
    edge makes the window larger without moving a node, until a coarser spacing is due.

    Parameters
    ----------
    points : (n, 2) array     East and north of the shots. [m]

    Returns
    -------
    Grid                      At most about 300 nodes along the longer side.

    Raises
    ------
    DomainError               If there is no shot.

    Notes
    -----
    Margin: a tenth of the longer side, at least 5 m.  Spacing: the least of 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8
    times a power of ten that keeps to 300 nodes.  The window is rounded outwards to tens of spacings.

    Examples
    --------
    >>> grid = default_grid(np.array([[3.0, 4.0], [40.0, 30.0]]))
    >>> grid.spacing, grid.origin_east, grid.columns
    (0.2, -2.0, 241)

    hand

    References
    ----------
    .. [1] Common practice, no source.
    """
    if len(points) == 0:
        raise DomainError("`shots` must hold at least one shot on the ground, got 0")
    low, high = points.min(axis=0), points.max(axis=0)
    margin = max(LEAST_MARGIN, _MARGIN_SHARE * float((high - low).max()))
    spacing = _round_up((float((high - low).max()) + 2.0 * margin) / _LONG_SIDE_NODES)
    return _window(low - margin, high + margin, spacing)


def widened_grid(grid: Grid, points: Lengths) -> Grid:
    """Grid with the same nodes and enough more of them to hold some places with a margin.

    Parameters
    ----------
    grid : Grid               The grid that is too small.
    points : (n, 2) array     East and north of the places. [m]

    Returns
    -------
    Grid                      Same spacing; every node of `grid` is a node of it.

    Examples
    --------
    >>> wider = widened_grid(Grid(0.0, 0.0, 0.5, 21, 21), np.array([[12.0, 4.0]]))
    >>> wider.extent
    (0.0, -5.0, 20.0, 10.0)

    hand

    References
    ----------
    .. [1] Derived: bounds.
    """
    origin = np.array([grid.origin_east, grid.origin_north])
    west, south, east, north = grid.extent
    low = np.minimum([west, south], points.min(axis=0) - LEAST_MARGIN) - origin
    high = np.maximum([east, north], points.max(axis=0) + LEAST_MARGIN) - origin
    window = _window(low, high, grid.spacing)
    return replace(
        window,
        origin_east=grid.origin_east + window.origin_east,
        origin_north=grid.origin_north + window.origin_north,
    )


def existing_ground(tin: Tin, grid: Grid) -> TinGrid:
    """Existing ground on a grid, with how each node is known.

    Parameters
    ----------
    tin : Tin      Triangles of the shots, no two shots on one spot.
    grid : Grid    Where the ground is wanted.

    Returns
    -------
    TinGrid        Heights, how each node is known, and the triangle over it; -1 outside the survey.

    Raises
    ------
    DomainError    If no node of the grid lies in the survey.

    References
    ----------
    .. [1] Derived: linear in each triangle; see :mod:`pondwright.geometry.tin`.
    """
    on_grid = tin_to_grid(tin, grid)
    if not (on_grid.triangle >= 0).any():
        raise DomainError("`grid` must have a node in the survey, got none")
    return on_grid


def ground_uncertainty(
    tin: Tin,
    grid: Grid,
    triangle: NDArray[np.int32],
    shot_sigma: Lengths,
    *,
    breaks: Sequence[Sequence[int]] = (),
    benchmark_sigma: Length = 0.0,
    shared: SharedErrors | None = None,
    tolerance: Lengths | None = None,
    count: int | None = None,
) -> GroundUncertainty:
    """How sure the existing ground is at each node, with all that carries its errors to a volume.

    Parameters
    ----------
    tin : Tin                         Triangles of the shots, no two shots on one spot.
    grid : Grid                       Where the ground is wanted.
    triangle : (rows, columns) array  Triangle over each node, from :func:`existing_ground`.
    shot_sigma : (n,) array           Standard deviation of each shot. [m], > 0
    breaks : sequences of int         Shots of each breakline, in order.
    benchmark_sigma : Length          Standard deviation common to all shots. [m], >= 0
    shared : SharedErrors, optional   What several shots have together; nothing when not given.
    tolerance : (n,) array, optional  How far a measured surface may miss at its points; NaN for a shot. [m]
    count : int, optional             Shots among the points, the first ones; all when not given.

    Returns
    -------
    GroundUncertainty                 Arrays are read-only.

    Notes
    -----
    Node sigma: √(roughness · bridge + sum of (weight · shot sigma)² + weightsᵀ C weights), C the covariance
    of what shots have together.  On a measured surface its tolerance / √3 stands for the root of the first
    term; beyond the survey the sigma of the guess at the distance of the nearest surveyed node does.

    References
    ----------
    .. [1] Derived: see :mod:`pondwright.rooms.site.uncertainty`.
    """
    nothing = SharedErrors(np.full(tin.shots, NO_BASE), np.zeros((0, 0)), ())
    together = nothing if shared is None else shared
    inside = triangle >= 0
    tolerance = np.full(tin.shots, np.nan) if tolerance is None else tolerance
    left = left_out(tin, _sigma_beside(shot_sigma, together, tolerance, count), breaks, count)
    rough = roughness(left)
    thinned = measured_surface_sigma(tin, tolerance)
    measured = ~np.isnan(thinned)
    gap = np.empty(grid.shape)
    gap[inside] = np.where(
        measured[triangle[inside]],
        thinned[triangle[inside]],
        interpolation_sigma(tin, triangle[inside], _node_places(grid)[inside], rough),
    )
    away = distance_transform_edt(~inside, sampling=grid.spacing)[~inside]
    gap[~inside] = guess_sigma(away, rough, general_fall(tin.points, tin.elevations))
    sigma = np.hypot(gap, node_sigma(tin, grid, shot_sigma, together.base, together.covariance))
    gap.flags.writeable = sigma.flags.writeable = False
    return GroundUncertainty(
        tin,
        grid,
        triangle,
        sigma,
        gap,
        shot_sigma,
        together,
        measured,
        benchmark_sigma,
        left,
        rough,
    )


def invented_triangles(tin: Tin, count: int | None = None) -> NDArray[np.intp]:
    """Triangles inside the survey that are long and thin: they invent ground between far shots.

    Parameters
    ----------
    tin : Tin          Triangles of the shots.
    count : int        Shots among the points, the first ones; all when not given.  Triangles between
                       points of a measured surface alone are not told.

    Returns
    -------
    (k,) int array     Their numbers; those that are doubtful already are guessed ground, and not told.

    Notes
    -----
    Thin: least angle below 10 degrees.  Long: longest side over three times the median side.

    References
    ----------
    .. [1] Common practice, no source.
    """
    among = np.arange(len(tin.triangles))
    if count is not None:
        among = np.flatnonzero(((tin.triangles < count) | (tin.triangles >= tin.measured)).any(axis=1))
    corners = tin.points[tin.triangles[among]]
    if len(corners) == 0:
        return among
    sides = np.stack([_side(corners, 1, 2), _side(corners, 2, 0), _side(corners, 0, 1)], axis=1)
    shortest, middle, longest = np.sort(sides, axis=1).T
    cosine = (middle**2 + longest**2 - shortest**2) / (2.0 * middle * longest)
    thin = np.arccos(np.clip(cosine, -1.0, 1.0)) < _THIN_ANGLE
    long = longest > _LONG_EDGE * np.median(sides)
    outside = np.zeros(len(corners), dtype=np.bool_)
    if tin.limit is not None:
        outside = ~points_inside([tin.limit], corners.mean(axis=1))
    return among[thin & long & ~tin.doubtful[among] & ~outside]


def survey_area(tin: Tin) -> Area:
    """Area on the plan that was surveyed.

    Parameters
    ----------
    tin : Tin     Triangles of the shots.

    Returns
    -------
    Area          That of the limit where there is one, else of all triangles that are to be believed. [m²]

    References
    ----------
    .. [1] Derived: areas of polygons.
    """
    if tin.limit is not None:
        return abs(signed_area(tin.limit))
    return float(triangle_areas(tin.points, tin.triangles)[~tin.doubtful].sum())


def triangle_areas(points: Lengths, triangles: NDArray[np.int32]) -> Areas:
    """Plan area of each triangle.

    Parameters
    ----------
    points : (n, 2) array            East and north of the shots. [m]
    triangles : (m, 3) int array     Triangles, as shot indices.

    Returns
    -------
    (m,) array                       [m²], >= 0

    Examples
    --------
    >>> points = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 8.0]])
    >>> float(triangle_areas(points, np.array([[0, 1, 2]], dtype=np.int32))[0])
    40.0

    hand

    References
    ----------
    .. [1] Derived: half the cross product of two sides.
    """
    first, second, third = np.swapaxes(points[triangles], 0, 1)
    one, two = second - first, third - first
    return np.asarray(0.5 * np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]))


def _sigma_beside(
    shot_sigma: Lengths, shared: SharedErrors, tolerance: Lengths, count: int | None
) -> Lengths:
    """Sigma of each point as a shot beside it sees it: a measured surface may be out as one piece."""
    if count is None or count == len(shot_sigma):
        return shot_sigma
    seen = shot_sigma.copy()
    whole = np.sqrt(np.diag(shared.covariance))[shared.base[count:]]
    seen[count:] = np.hypot(whole, np.nan_to_num(tolerance[count:]) / math.sqrt(3.0))
    return seen


def _side(corners: Lengths, start: int, end: int) -> Lengths:
    along = corners[:, end] - corners[:, start]
    return np.hypot(along[:, 0], along[:, 1])


def _node_places(grid: Grid) -> Lengths:
    east, north = np.meshgrid(grid.east, grid.north)
    return np.stack([east, north], axis=-1)


def _round_up(length: Length) -> Length:
    power = 10.0 ** math.floor(math.log10(length))
    return next(round(step * power, 9) for step in _ROUND_STEPS if step * power >= length * (1.0 - 1e-9))


def _window(low: Lengths, high: Lengths, spacing: Length) -> Grid:
    """Grid over a window that is rounded outwards to whole steps of nodes."""
    step = _WINDOW_STEP * spacing
    first = np.floor(low / step + _SLACK).astype(int)
    last = np.ceil(high / step - _SLACK).astype(int)
    columns, rows = (last - first) * _WINDOW_STEP + 1
    return Grid(
        origin_east=round(float(first[0] * step), 6),
        origin_north=round(float(first[1] * step), 6),
        spacing=spacing,
        columns=int(columns),
        rows=int(rows),
    )
