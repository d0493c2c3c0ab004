"""Where one more shot narrows a volume most.

The errors of the survey are known as a model (:mod:`pondwright.rooms.site.uncertainty`): each shot's own,
those that set-ups and measured surfaces share, and those of the ground between the shots, which go together
within a triangle and, beyond the survey, all together.  A new reading of the height at a place c has errors
in common with the volume V, and what it takes off the variance of V is

    Cov(V, z_c)² / (Var z_c + sigma²),

the gain of a linear estimate with the error sigma of the new reading.  Where errors go one way, as in a bowl,
the reading takes its own triangle out of that sum as well.  So each node, each shot and each set-up can be
tried without moving the ground.

A shot in the middle of a wide triangle does not tell its far corners.  So the triangles that promise most are
tried once more with the triangles that the new shot really makes of them and of those beside them, by the
rule of Delaunay: there, in the middle of their part of the volume, and in the middle of their longest side.
The best of the three is the number told.

What is not modelled: the new shot also tells of the roughness and of the mean miss; a benchmark that is out
lifts the new shot along with all others.

See Also
--------
pondwright.rooms.site.uncertainty : the errors that are narrowed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Areas, FloatArray, Length, Lengths, Ratio, Volume, Volumes
from pondwright.geometry.polygon import signed_area
from pondwright.geometry.tin import tin_to_grid
from pondwright.rooms.site.carried import CarriedErrors, summed_sigma
from pondwright.rooms.site.uncertainty import GroundUncertainty, barycentric, bridge_length

Why = Literal["gap", "guess", "again", "level"]

MOST_PLACES = 5
"""Places that are named."""

LEAST_GAIN: Ratio = 0.01
"""Share of the variance that a shot must take off to be named; common practice."""

_TRIED = 3
_ON_EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class ShotGain:
    """A place to shoot, or a reading to take again, and what it does.

    Attributes
    ----------
    why : str            `gap` between shots, `guess` beyond them, `again` an old shot, `level` a set-up.
    name : str           The shot or set-up that is read again; empty for a new place.
    east, north : Length [m]
    before, after : Volume
        Standard deviation of the volume now, and with that reading. [m³]
    """

    why: Why
    name: str
    east: Length
    north: Length
    before: Volume
    after: Volume


def node_gains(ground: GroundUncertainty, carried: CarriedErrors, shot_sigma: Length) -> FloatArray:
    """What a shot at each node would take off the variance of a volume.

    Parameters
    ----------
    ground : GroundUncertainty           The survey's errors.
    carried : CarriedErrors              What the volume has of each.
    shot_sigma : Length                  Standard deviation of the new shot. [m], > 0

    Returns
    -------
    (rows, columns) array                [m⁶]

    Notes
    -----
    With a and sigma of each shot, b and C of the shared errors, and the part G of the node's own triangle (or
    of all guessed ground) in the volume's sigma:
    Cov = G s + sum of n a sigma² + n'ᵀ C b, Var = s² + sum of (n sigma)² + n'ᵀ C n', where s is the sigma of
    the node from interpolation, n the shares of the shots in its height and n' those of the bases.  The
    one-sided part m S, with S the sum of G between shots, becomes m (S - G s² / (Var + new sigma²)).

    References
    ----------
    .. [1] Derived: variance of the linear estimate from one more observation.
    """
    part = np.append(carried.by_triangle, carried.guessed)[ground.triangle]
    cov = part * ground.gap + _carried_to_nodes(ground, _with_volume(ground, carried))
    var = ground.sigma**2 + shot_sigma**2
    one_way = np.append(np.where(ground.measured, 0.0, carried.by_triangle), 0.0)[ground.triangle]
    narrowed = _one_sided_gain(ground, carried, one_way * ground.gap**2 / var)
    return np.asarray(cov**2 / var + narrowed)


def shot_gains(ground: GroundUncertainty, carried: CarriedErrors, shot_sigma: Length) -> FloatArray:
    """What reading each shot once more would take off the variance of a volume.

    Parameters
    ----------
    ground : GroundUncertainty           The survey's errors.
    carried : CarriedErrors              What the volume has of each.
    shot_sigma : Length                  Standard deviation of the new reading. [m], > 0

    Returns
    -------
    (shots,) array                       [m⁶]

    Notes
    -----
    (a sigma²)² / (sigma² + new sigma²): the mean of both readings, weighted.

    References
    ----------
    .. [1] Derived: variance of the linear estimate from one more observation.
    """
    own = ground.shot_sigma**2
    return np.asarray((carried.by_shot * own) ** 2 / (own + shot_sigma**2))


def base_gains(ground: GroundUncertainty, carried: CarriedErrors, shot_sigma: Length) -> FloatArray:
    """What checking each set-up once more from a benchmark would take off the variance of a volume.

    Parameters
    ----------
    ground : GroundUncertainty           The survey's errors.
    carried : CarriedErrors              What the volume has of each.
    shot_sigma : Length                  Standard deviation of the check. [m], > 0

    Returns
    -------
    (bases,) array                       [m⁶]

    Notes
    -----
    (C b)² / (C + sigma²) by base: a check of one set-up also tells of those that hang on it.

    References
    ----------
    .. [1] Derived: variance of the linear estimate from one more observation.
    """
    moved = ground.shared.covariance @ carried.by_base
    return np.asarray(moved**2 / (np.diag(ground.shared.covariance) + shot_sigma**2))


def best_shots(
    ground: GroundUncertainty,
    node_weight: Areas,
    carried: CarriedErrors,
    shot_sigma: Length,
    names: Sequence[str],
    fixed: Sequence[tuple[int, int]] = (),
    most: int = MOST_PLACES,
) -> tuple[ShotGain, ...]:
    """Places and readings that narrow a volume most, the best first.

    Parameters
    ----------
    ground : GroundUncertainty           The survey's errors.
    node_weight : (rows, columns) array  Growth of the volume per metre that a node rises. [m²]
    carried : CarriedErrors              What the volume has of each error.
    shot_sigma : Length                  Standard deviation of a new shot. [m], > 0
    names : sequence of str              Names of the shots, the first points of the ground.
    fixed : pairs of int                 Edges of breaklines, as pairs of points.
    most : int                           How many are wanted.

    Returns
    -------
    tuple of ShotGain                    One place a triangle, one of all guessed ground under the volume, one
                                         shot, one set-up; none that takes off less than 1 % of the variance.

    References
    ----------
    .. [1] Derived: see :func:`node_gains`.
    """
    before = summed_sigma(ground, carried).total
    found = [
        *_places(ground, node_weight, carried, node_gains(ground, carried, shot_sigma), fixed, most),
        *_again(ground, shot_gains(ground, carried, shot_sigma)[: len(names)], names),
        *_levels(ground, carried, base_gains(ground, carried, shot_sigma)),
    ]
    best = _apart(sorted(found, key=lambda each: -each[0]))[:most]
    return tuple(
        ShotGain(why, name, east, north, before, math.sqrt(max(before**2 - gain, 0.0)))
        for gain, why, name, east, north, _ in best
        if gain > LEAST_GAIN * before**2
    )


def own_errors(ground: GroundUncertainty, carried: CarriedErrors, count: int) -> Volumes:
    """What each shot's own error adds to a volume.

    Parameters
    ----------
    ground : GroundUncertainty           The survey's errors.
    carried : CarriedErrors              What the volume has of each.
    count : int                          Shots among the points, the first ones.

    Returns
    -------
    (count,) array                       Standard deviations. [m³], >= 0

    Notes
    -----
    |d volume / d shot| times the shot's sigma; they add up in squares to the part of the shots in
    :func:`~pondwright.rooms.site.uncertainty.volume_sigma`.

    References
    ----------
    .. [1] Derived: propagation of independent errors.
    """
    return np.asarray(np.abs(carried.by_shot * ground.shot_sigma)[:count])


Found = tuple[float, Why, str, Length, Length, Length]


def _with_volume(ground: GroundUncertainty, carried: CarriedErrors) -> FloatArray:
    """Covariance of each shot's whole error, its own and the shared, with the volume [m⁴]."""
    shared = np.append(ground.shared.covariance @ carried.by_base, 0.0)
    return np.asarray(carried.by_shot * ground.shot_sigma**2 + shared[ground.shared.base])


def _carried_to_nodes(ground: GroundUncertainty, by_shot: FloatArray) -> FloatArray:
    """What is told at the shots, at the nodes: by the same shares that give their heights."""
    tin = ground.tin
    told = replace(tin, elevations=(by_shot[tin.origin] * tin.share).sum(axis=1))
    return tin_to_grid(told, ground.grid).z


def _apart(found: Sequence[Found]) -> list[Found]:
    """The same without new places right beside a better one: that shot would change their triangle too."""
    kept: list[Found] = []
    for each in found:
        near = (math.dist(each[3:5], better[3:5]) < max(each[5], better[5]) for better in kept)
        if each[2] or not any(near):
            kept.append(each)
    return kept


def _one_sided_gain(ground: GroundUncertainty, carried: CarriedErrors, taken: FloatArray) -> FloatArray:
    """Fall of the square of the one-sided part when so much of the sum between shots is taken out [m⁶]."""
    between = float(carried.by_triangle[~ground.measured].sum())
    return np.asarray(carried.mean_miss**2 * (between**2 - (between - taken) ** 2))


def _places(
    ground: GroundUncertainty,
    node_weight: Areas,
    carried: CarriedErrors,
    gains: FloatArray,
    fixed: Sequence[tuple[int, int]],
    most: int,
) -> list[Found]:
    """Best place in each of the triangles that promise most, and in the guessed ground under the volume."""
    group = ground.triangle.ravel()
    wanted = np.flatnonzero((group >= 0) | (node_weight.ravel() != 0.0))
    order = wanted[np.argsort(-gains.ravel()[wanted], kind="stable")]
    _, first = np.unique(group[order], return_index=True)
    mesh = _Mesh(ground, node_weight, fixed)
    found: list[Found] = []
    for node in order[np.sort(first)[: _TRIED * most]].tolist():
        row, column = divmod(node, ground.grid.columns)
        place = np.array([ground.grid.east[column], ground.grid.north[row]])
        triangle = int(group[node])
        if triangle < 0:
            found.append((float(gains[row, column]), "guess", "", float(place[0]), float(place[1]), 0.0))
        elif not ground.measured[triangle]:
            size = math.sqrt(signed_area(mesh.corners(triangle)))
            tried = [
                (_inserted_gain(ground, carried, mesh.inserted(triangle, each)), each)
                for each in (place, mesh.middle(triangle), mesh.middle_of_longest_side(triangle))
            ]
            gain, (east, north) = max(tried, key=lambda each: each[0])
            found.append((gain, "gap", "", float(east), float(north), size))
    return found


def _inserted_gain(
    ground: GroundUncertainty, carried: CarriedErrors, change: tuple[list[int], FloatArray]
) -> float:
    """Fall of the variance when triangles go and others, told by their part in the sigma, come [m⁶]."""
    gone, come = carried.by_triangle[change[0]], change[1]
    one_way = float(gone[~ground.measured[change[0]]].sum()) - float(come.sum())
    return float(gone @ gone - come @ come + _one_sided_gain(ground, carried, np.asarray(one_way)))


class _Mesh:
    """Triangles with their neighbours, to try a further point in them."""

    def __init__(
        self, ground: GroundUncertainty, node_weight: Areas, fixed: Sequence[tuple[int, int]]
    ) -> None:
        self.points, self.triangles = ground.tin.points, ground.tin.triangles
        self.roughness = ground.roughness
        self.grid = ground.grid
        self.nodes = np.argsort(ground.triangle.ravel(), kind="stable")
        self.first = np.searchsorted(ground.triangle.ravel()[self.nodes], np.arange(len(self.triangles) + 1))
        self.weight, self.gap = np.abs(node_weight.ravel()), ground.gap.ravel()
        self.fixed = {frozenset(pair) for pair in fixed}
        self.by_point = np.argsort(self.triangles.ravel(), kind="stable") // 3
        ends = np.arange(len(self.points) + 1)
        self.first_of_point = np.searchsorted(np.sort(self.triangles.ravel()), ends).tolist()

    def beside(self, one: int, two: int) -> set[int]:
        """The one or two triangles at an edge."""
        return self._around(one) & self._around(two)

    def _around(self, point: int) -> set[int]:
        return set(self.by_point[self.first_of_point[point] : self.first_of_point[point + 1]].tolist())

    def corners(self, triangle: int) -> Lengths:
        """East and north of the corners of a triangle."""
        return self.points[self.triangles[triangle]]

    def middle(self, triangle: int) -> Lengths:
        """Mean place of the nodes of a triangle, by what each has in its part of the sigma."""
        nodes = self.nodes[self.first[triangle] : self.first[triangle + 1]]
        part = self.weight[nodes] * self.gap[nodes]
        if not part.any():
            return np.asarray(self.corners(triangle).mean(axis=0))
        return np.asarray(np.average(self._places(nodes), axis=0, weights=part))

    def middle_of_longest_side(self, triangle: int) -> Lengths:
        """Where a wide triangle is best cut together with its neighbour."""
        corners = self.corners(triangle)
        ahead = np.roll(corners, -1, axis=0)
        longest = int(np.argmax(np.hypot(*(ahead - corners).T)))
        return np.asarray(0.5 * (corners[longest] + ahead[longest]))

    def inserted(self, start: int, place: Lengths) -> tuple[list[int], FloatArray]:
        """Triangles that a further point takes away, and the part in the sigma of those that come.

        Those whose circle holds the point go, as far as no breakline parts them from it (Delaunay).
        """
        gone, rim, waiting = {start}, [], [start]
        while waiting:
            corners = self.triangles[waiting.pop()].tolist()
            for side in range(3):
                one, two = corners[side], corners[(side + 1) % 3]
                sides = self.beside(one, two)
                beyond = next(iter(sides - gone), None)
                parted = frozenset((one, two)) in self.fixed
                if beyond is not None and not parted and self._circle_holds(beyond, place):
                    gone.add(beyond)
                    waiting.append(beyond)
                else:
                    rim.append((one, two, sides))
        # An edge whose far side went by another way is no rim any more.
        fans = [(one, two) for one, two, sides in rim if len(sides) == 1 or sides - gone]
        return sorted(gone), self._parts(sorted(gone), fans, place)

    def _places(self, nodes: NDArray[np.intp]) -> Lengths:
        rows, columns = np.divmod(nodes, self.grid.columns)
        return np.column_stack([self.grid.east[columns], self.grid.north[rows]])

    def _circle_holds(self, triangle: int, place: Lengths) -> bool:
        offset = self.corners(triangle) - place
        return bool(np.linalg.det(np.column_stack([offset, (offset**2).sum(axis=1)])) > 0.0)

    def _parts(self, gone: list[int], rim: Sequence[tuple[int, int]], place: Lengths) -> FloatArray:
        """Sum of weight times sigma of the ground between shots, in each new triangle."""
        inside = np.concatenate([self.nodes[self.first[each] : self.first[each + 1]] for each in gone])
        places = self._places(inside)
        parts, left = np.zeros(len(rim)), np.ones(len(inside), dtype=np.bool_)
        for number, (one, two) in enumerate(rim):
            small = np.stack([place, self.points[one], self.points[two]])
            if signed_area(small) <= _ON_EDGE:
                continue
            shares = barycentric(np.broadcast_to(small, (len(places), 3, 2)), places)
            held = left & (shares >= -_ON_EDGE).all(axis=1)
            left &= ~held
            apart = np.hypot(*np.moveaxis(small[:, None] - small[None, :], 2, 0))
            away = np.hypot(*np.moveaxis(places[held][:, None] - small[None, :], 2, 0))
            bridge = bridge_length(shares[held], away, np.broadcast_to(apart, (int(held.sum()), 3, 3)))
            parts[number] = float(self.weight[inside[held]] @ np.sqrt(self.roughness * bridge))
        return parts


def _again(ground: GroundUncertainty, gains: FloatArray, names: Sequence[str]) -> list[Found]:
    if len(gains) == 0:
        return []
    shot = int(np.argmax(gains))
    east, north = ground.tin.points[shot]
    return [(float(gains[shot]), "again", names[shot], float(east), float(north), 0.0)]


def _levels(ground: GroundUncertainty, carried: CarriedErrors, gains: FloatArray) -> list[Found]:
    """The set-up whose check tells most, at that one of its shots which counts most."""
    surfaces = np.array([name.startswith("cloud:") for name in ground.shared.names], dtype=np.bool_)
    if len(gains) == 0 or surfaces.all():
        return []
    base = int(np.argmax(np.where(surfaces, -1.0, gains)))
    by_shot = np.abs(carried.by_shot)
    own: NDArray[np.intp] = np.flatnonzero(ground.shared.base == base)
    east, north = ground.tin.points[own[np.argmax(by_shot[own])]]
    return [(float(gains[base]), "level", ground.shared.names[base], float(east), float(north), 0.0)]
