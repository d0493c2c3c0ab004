"""How sure the ground is: at each node, and carried to any volume.

Four things make a survey wrong, and each adds up in its own way:

- each shot has its own error (rod, detector, laser): independent from shot to shot;
- shots of one set-up have its error together, and set-ups lean on one another: their covariance comes with
  the level books; the points of a measured surface are levelled as one piece, so that they share its error;
- the benchmark has one error: the same for all shots;
- between the shots the ground does what it likes: the *interpolation* error.

The last is learned from the shots themselves.  The ground is taken to wander off the straight line
between shots like a random walk: the square of the difference between two places grows as
``roughness`` times their distance (a linear variogram, the simplest that is valid in the plane).
Then a value interpolated with weights w from shots at distances d has the error variance

    roughness * ( sum w_k d_k - 1/2 sum sum w_j w_k d_jk ) = roughness * bridge,

which between two shots on a line is the well-known d1 d2 / (d1 + d2).  Every shot is left out in turn
and foretold by its neighbours; squared misses over bridges give the roughness, without the few that
stand out most, so that one slipped reading does not spoil it.

A measured surface that was thinned until it misses what was measured by no more than a tolerance does not
wander like that: all misses up to the tolerance are taken as equally likely, which makes the standard
deviation tolerance / √3 (the uniform law).  Its points tell nothing about the roughness either, because they
are those that could not be left out.

Where the ground bends one way, as in a bowl, the misses have one sign, and so have the errors between
the shots: their mean is kept apart and carried to a volume in full.

What is not modelled: ground that is rougher in one corner than in another, roughness that differs
along and across a bank (give breaklines instead), and errors of place in plan.

See Also
--------
pondwright.rooms.site.ground : the surface these errors belong to.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import (
    Areas,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Ratios,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import Tin

IntArray = NDArray[np.int32]

DEFAULT_ROUGHNESS = 0.001
"""Variance of the ground per metre when too few shots tell it [m²/m]: 0.1 m at 10 m; common practice."""

LEAST_SHOTS_FOR_ROUGHNESS = 8
"""Fewest shots inside the survey that are trusted to tell the roughness; common practice."""

NO_BASE = -1
"""Base of a shot whose error is all its own."""

_KEPT_SHARE = 0.95
_MOST_NEIGHBOURS = 10
_ON_EDGE = 1e-9
_FLAT = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class LeftOut:
    """Each shot foretold by its neighbours: the miss, and what may be expected of it.

    `usable` is false where the neighbours do not stand all round the shot, as on the rim of the survey;
    `by_shots` where a point of a measured surface helped to foretell it; `neighbours` has one row a shot,
    filled up with the shot itself.
    """

    miss: Lengths
    bridge: Lengths
    noise: FloatArray
    usable: NDArray[np.bool_]
    by_shots: NDArray[np.bool_]
    neighbours: NDArray[np.intp]

    def expected(self, roughness: Length) -> Lengths:
        """Standard deviation that the miss of each shot may be expected to have.

        Parameters
        ----------
        roughness : Length     Variance per metre. [m], >= 0

        Returns
        -------
        (n,) array             [m]
        """
        return np.sqrt(self.noise + roughness * self.bridge)


@dataclass(frozen=True, slots=True, eq=False)
class SharedErrors:
    """Errors that several shots have together: those of set-ups, and of measured surfaces.

    `base` is the number of the base of each shot (-1: its error is all its own), `covariance` [m²] that of
    the bases, `names` what each is called.
    """

    base: NDArray[np.intp]
    covariance: Areas
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class GroundUncertainty:
    """All that carries the survey's errors from the shots to a volume.

    `sigma` is the standard deviation at each node, `gap` the part of it from interpolation alone,
    `triangle` the triangle of each node (-1 outside the survey), `measured` the triangles of a measured
    surface.
    """

    tin: Tin
    grid: Grid
    triangle: IntArray
    sigma: Lengths
    gap: Lengths
    shot_sigma: Lengths
    shared: SharedErrors
    measured: NDArray[np.bool_]
    benchmark_sigma: Length
    left_out: LeftOut
    roughness: Length


def bridge_length(weights: Ratios, distances: Lengths, between: Lengths) -> Lengths:
    """Length over which a value interpolated from shots may wander.

    Parameters
    ----------
    weights : (n, k) array        Weight of each shot, summing to 1. [-]
    distances : (n, k) array      Distance of each shot from the place. [m], >= 0
    between : (n, k, k) array     Distances between the shots. [m], >= 0

    Returns
    -------
    (n,) array                    [m], >= 0

    Notes
    -----
    sum w_k d_k - 1/2 sum sum w_j w_k d_jk: the error variance of a linear predictor under the
    linear variogram γ(d) = d/2, for a roughness of one.

    Examples
    --------
    Three metres from one shot and six from the other, on a line between them:

    >>> between = np.array([[[0.0, 9.0], [9.0, 0.0]]])
    >>> float(bridge_length(np.array([[2 / 3, 1 / 3]]), np.array([[3.0, 6.0]]), between)[0])
    2.0

    hand

    References
    ----------
    .. [1] Derived: variance of an increment of an intrinsic random function.
    """
    length = np.einsum("nk,nk->n", weights, distances)
    for one, two in combinations(range(weights.shape[1]), 2):
        length -= weights[:, one] * weights[:, two] * between[:, one, two]
    return np.maximum(length, 0.0)


def left_out(
    tin: Tin,
    shot_sigma: Lengths,
    breaks: Sequence[Sequence[int]] = (),
    count: int | None = None,
) -> LeftOut:
    """Each shot foretold from the shots joined to it, as if it had not been taken.

    A shot within a breakline is foretold along it, from the shots before and after; any other by the
    triangle of its neighbours that would lie there without it.

    Parameters
    ----------
    tin : Tin                         Triangles of the shots, no two shots on one spot.
    shot_sigma : (n,) array           Standard deviation of each shot. [m]
    breaks : sequences of int         Shots of each breakline, in order; closed if it ends where it began.
    count : int, optional             Shots to foretell: the first ones, where points of a measured surface
                                      follow them; all when not given.

    Returns
    -------
    LeftOut                           One row a shot; miss is elevation less foretold. [m]

    Notes
    -----
    Exact on any plane: the miss is 0.

    Examples
    --------
    >>> from pondwright.geometry.tin import triangulate
    >>> points = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0], [2.0, 2.0]])
    >>> tin = triangulate(points, np.array([1.0, 1.0, 1.0, 1.0, 1.5]))
    >>> float(left_out(tin, np.zeros(5)).miss[4])
    0.5

    hand

    References
    ----------
    .. [1] Derived: the triangulation without that shot.
    """
    wanted = tin.measured if count is None else count
    neighbours, joined = _stars(tin.points, tin.triangles, wanted)
    weights, usable = _surrounding_weights(tin.points, neighbours, joined)
    _follow_breaks(tin.points, breaks, neighbours, weights, usable)
    around = tin.points[neighbours]
    bridge = bridge_length(weights, _apart(around, tin.points[:wanted, None, :]), _pairs_apart(around))
    foretold = np.einsum("nk,nk->n", weights, tin.elevations[neighbours])
    variance = np.sum((tin.share * shot_sigma[tin.origin]) ** 2, axis=1)
    noise = variance[:wanted] + np.einsum("nk,nk->n", weights**2, variance[neighbours])
    miss = np.where(usable, tin.elevations[:wanted] - foretold, 0.0)
    helped = (weights > 0.0) & (neighbours >= wanted) & (neighbours < tin.measured)
    by_shots = np.asarray(~helped.any(axis=1))
    return LeftOut(miss, bridge, noise, usable, by_shots, neighbours)


def roughness(left: LeftOut) -> Length:
    """Variance per metre by which the ground wanders between shots.

    Parameters
    ----------
    left : LeftOut     Each shot foretold by its neighbours.

    Returns
    -------
    Length             Square metres of variance per metre. [m]

    Notes
    -----
    Sum of max(miss² - noise, 0) over the sum of bridges, without the twentieth of the shots that
    stands out most, so that a few slips of reading do not spoil it, and without those that a measured surface
    helped to foretell.  With fewer than 8 usable shots a
    stated default holds.

    References
    ----------
    .. [1] Derived: trimmed moment estimate; the default is common practice, no source.
    """
    told = left.usable & left.by_shots & (left.bridge > 0.0)
    count = int(np.count_nonzero(told))
    if count < LEAST_SHOTS_FOR_ROUGHNESS:
        return DEFAULT_ROUGHNESS
    excess = np.maximum(left.miss[told] ** 2 - left.noise[told], 0.0)
    bridge = left.bridge[told]
    kept = np.argsort(excess / bridge, kind="stable")[: math.ceil(_KEPT_SHARE * count)]
    return float(excess[kept].sum() / bridge[kept].sum())


def interpolation_sigma(tin: Tin, triangle: IntArray, places: Lengths, rough: Length) -> Lengths:
    """Standard deviation at places inside the survey, from the gaps between shots alone.

    Parameters
    ----------
    tin : Tin                   Triangles of the shots.
    triangle : (p,) int array   Triangle of each place.
    places : (p, 2) array       East and north. [m]
    rough : Length              Variance per metre. [m], >= 0

    Returns
    -------
    (p,) array                  Zero on the shots. [m]

    References
    ----------
    .. [1] Derived: :func:`bridge_length` with the barycentric weights of the triangle.
    """
    corners = tin.points[tin.triangles]
    weights = barycentric(corners[triangle], places)
    distances = _apart(corners[triangle], places[:, None, :])
    return np.sqrt(rough * bridge_length(weights, distances, _pairs_apart(corners)[triangle]))


def guess_sigma(distance: Lengths, rough: Length, fall: float) -> Lengths:
    """Standard deviation of ground that is guessed from the nearest shot.

    Parameters
    ----------
    distance : (n,) array     From the nearest shot. [m], >= 0
    rough : Length            Variance per metre. [m], >= 0
    fall : Slope              General fall of the ground, which a flat guess leaves out. [m/m]

    Returns
    -------
    (n,) array                [m]

    Notes
    -----
    √(roughness d + (fall d)²).

    References
    ----------
    .. [1] Derived: the linear variogram and the trend, added as independent.
    """
    return np.sqrt(rough * distance + (fall * distance) ** 2)


def general_fall(points: Lengths, elevations: Elevations) -> float:
    """Fall of the plane that lies nearest to all shots.

    Parameters
    ----------
    points : (n, 2) array       East and north. [m]
    elevations : (n,) array     [m]

    Returns
    -------
    Slope                       Steepest fall of the plane. [m/m], >= 0

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    >>> round(general_fall(square, np.array([0.0, 0.3, 0.7, 0.4])), 6)
    0.05

    hand

    References
    ----------
    .. [1] Derived: least squares.
    """
    plane = np.column_stack([points - points.mean(axis=0), np.ones(len(points))])
    fitted, *_ = np.linalg.lstsq(plane, elevations, rcond=None)
    return math.hypot(float(fitted[0]), float(fitted[1]))


def barycentric(corners: Lengths, places: Lengths) -> Ratios:
    """Weights of the three corners of a triangle at a place in it.

    Parameters
    ----------
    corners : (n, 3, 2) array     East and north of the corners. [m]
    places : (n, 2) array         East and north. [m]

    Returns
    -------
    (n, 3) array                  Summing to 1. [-]

    Examples
    --------
    >>> corners = np.array([[[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]]])
    >>> [round(float(weight), 3) for weight in barycentric(corners, np.array([[3.0, 2.0]]))[0]]
    [0.5, 0.3, 0.2]

    hand

    References
    ----------
    .. [1] Derived: ratios of areas.
    """
    first, second, third = corners[:, 0], corners[:, 1], corners[:, 2]
    whole = _cross(second - first, third - first)
    two = _cross(places - first, third - first) / whole
    three = _cross(second - first, places - first) / whole
    return np.stack([1.0 - two - three, two, three], axis=1)


def measured_surface_sigma(tin: Tin, tolerance: Lengths) -> Lengths:
    """Standard deviation inside the triangles of a measured surface, from its thinning.

    Parameters
    ----------
    tin : Tin                   Triangles of the shots and points.
    tolerance : (n,) array      How far each point's surface may miss what was measured; NaN: a shot. [m]

    Returns
    -------
    (t,) array                  NaN for a triangle that has a shot as a corner. [m]

    Notes
    -----
    tolerance / √3 of the roughest corner: the standard deviation of a miss that is equally likely anywhere
    from -tolerance to +tolerance.

    Examples
    --------
    >>> from pondwright.geometry.tin import triangulate
    >>> tin = triangulate(np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 4.0]]), np.zeros(3))
    >>> round(float(measured_surface_sigma(tin, np.array([0.03, 0.03, 0.03]))[0]), 5)
    0.01732

    hand

    References
    ----------
    .. [1] Derived: variance of the uniform law.
    """
    by_vertex = tolerance[tin.origin].max(axis=1)
    return np.asarray(by_vertex[tin.triangles].max(axis=1) / math.sqrt(3.0))


def _stars(points: Lengths, triangles: IntArray, count: int) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Neighbours of the first shots, nearest first, padded with the shot itself, and which are real."""
    edges = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    edges = np.concatenate([edges, edges[:, ::-1]])
    edges = np.unique(edges[edges[:, 0] < count], axis=0).astype(np.intp)
    length = _apart(points[edges[:, 0]], points[edges[:, 1]])
    start, end = edges[np.lexsort((length, edges[:, 0]))].T
    degree = np.bincount(start, minlength=count)
    column = np.arange(len(start)) - (np.cumsum(degree) - degree)[start]
    near = column < _MOST_NEIGHBOURS
    widest = min(int(degree.max(initial=1)), _MOST_NEIGHBOURS)
    neighbours = np.repeat(np.arange(count, dtype=np.intp)[:, None], widest, axis=1)
    joined = np.zeros((count, widest), dtype=np.bool_)
    neighbours[start[near], column[near]] = end[near]
    joined[start[near], column[near]] = True
    return neighbours, joined


def _surrounding_weights(
    points: Lengths, neighbours: NDArray[np.intp], joined: NDArray[np.bool_]
) -> tuple[Ratios, NDArray[np.bool_]]:
    """Weights of the triangle of neighbours that would hold a shot if it were left out.

    Of all triangles that hold it, Delaunay's is the one whose corners have the least weighted square of
    distance from it (the lowest face of the points lifted onto a paraboloid).
    """
    weights = np.zeros(joined.shape)
    trios = np.array(list(combinations(range(joined.shape[1]), 3)), dtype=np.intp).reshape(-1, 3)
    if len(trios) == 0:
        return weights, np.zeros(len(joined), dtype=np.bool_)
    offset = points[neighbours] - points[: len(joined), None, :]
    square = np.sum(offset**2, axis=2)
    first, second, third = np.moveaxis(offset[:, trios], 2, 0)
    parts = np.stack([_cross(second, third), _cross(third, first), _cross(first, second)], axis=2)
    whole = parts.sum(axis=2)
    flat = np.abs(whole) <= _FLAT * np.abs(parts).max(axis=2)
    corner = parts / np.where(flat, 1.0, whole)[:, :, None]
    holds = ~flat & np.all(corner >= -_ON_EDGE, axis=2) & np.all(joined[:, trios], axis=2)
    lifted = np.where(holds, np.sum(corner * square[:, trios], axis=2), np.inf)
    best, rows = np.argmin(lifted, axis=1), np.arange(len(joined))
    found = np.isfinite(lifted[rows, best])
    weights[rows[found, None], trios[best[found]]] = corner[rows[found], best[found]]
    return weights, found


def _follow_breaks(
    points: Lengths,
    breaks: Sequence[Sequence[int]],
    neighbours: NDArray[np.intp],
    weights: Ratios,
    usable: NDArray[np.bool_],
) -> None:
    """Put in, for shots within a breakline, the weights of the shots before and after."""
    for line in breaks:
        if len(line) < 2:
            continue
        around = [*line[-2:-1], *line, line[1]] if line[0] == line[-1] else line
        for before, here, after in zip(around, around[1:], around[2:], strict=False):
            back, ahead = (math.dist(points[here], points[shot]) for shot in (before, after))
            neighbours[here, :2] = before, after
            weights[here] = 0.0
            weights[here, :2] = ahead / (back + ahead), back / (back + ahead)
            usable[here] = True
        if line[0] != line[-1]:
            # Where a bank or a ditch ends, its own neighbours do not tell how high it stands.
            usable[[line[0], line[-1]]] = False


def _apart(ends: Lengths, starts: Lengths) -> Lengths:
    offset = ends - starts
    return np.hypot(offset[..., 0], offset[..., 1])


def _pairs_apart(group: Lengths) -> Lengths:
    return _apart(group[:, :, None, :], group[:, None, :, :])


def _cross(one: Lengths, two: Lengths) -> FloatArray:
    return np.asarray(one[..., 0] * two[..., 1] - one[..., 1] * two[..., 0], dtype=np.float64)
