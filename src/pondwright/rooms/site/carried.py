"""The errors of the survey carried to a volume, by what causes them and together.

A volume is a weighted sum of the heights of the nodes, and these are weighted sums of the shots: with the
weights of both, every error of :mod:`pondwright.rooms.site.uncertainty` has its own exact share in the
volume, and none has to be drawn.

See Also
--------
pondwright.rooms.site.uncertainty : the errors themselves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Area, Areas, FloatArray, Ratio, Volume, Volumes
from pondwright.geometry.tin import shot_weights
from pondwright.rooms.site.uncertainty import GroundUncertainty


@dataclass(frozen=True, slots=True, eq=False)
class CarriedErrors:
    """What a volume has of each error.

    `by_shot` and `by_base` are its growth per metre of a shot and of a base [m²]; `by_triangle` and `guessed`
    its standard deviation from the ground between the shots, in each triangle and beyond the survey [m³];
    `whole` its growth per metre of everything [m²], `mean_miss` the mean miss of the shots under it, in times
    of what may be expected.
    """

    whole: Area
    mean_miss: Ratio
    by_shot: Areas
    by_base: Areas
    by_triangle: Volumes
    guessed: Volume


@dataclass(frozen=True, slots=True)
class VolumeSigma:
    """Standard deviation of a volume, by what causes it, and together."""

    shots: Volume
    shared: Volume
    benchmark: Volume
    interpolation: Volume
    one_sided: Volume
    total: Volume


def carried_errors(ground: GroundUncertainty, node_weight: Areas) -> CarriedErrors:
    """What a volume has of each error of the survey.

    Parameters
    ----------
    ground : GroundUncertainty           The survey's errors.
    node_weight : (rows, columns) array  Growth of the volume per metre that a node rises. [m²]

    Returns
    -------
    CarriedErrors

    Notes
    -----
    By shot: the exact derivative a.  By base: the sum of a over its shots.  By triangle: the sum of |w| s
    over its nodes, with w the node weights and s the sigma of each node from interpolation.

    References
    ----------
    .. [1] Derived: the chain rule on a linear map.
    """
    inside = ground.triangle >= 0
    by_shot = shot_weights(ground.tin, ground.grid, node_weight)
    based = ground.shared.base >= 0
    spread = np.abs(node_weight) * ground.gap
    return CarriedErrors(
        float(node_weight.sum()),
        _mean_miss(ground, by_shot),
        by_shot,
        _summed(ground.shared.base[based], by_shot[based], len(ground.shared.names)),
        _summed(ground.triangle[inside], spread[inside], len(ground.tin.triangles)),
        float(spread[~inside].sum()),
    )


def volume_sigma(ground: GroundUncertainty, node_weight: Areas) -> VolumeSigma:
    """Standard deviation that the survey gives to a volume.

    Parameters
    ----------
    ground : GroundUncertainty           The survey's errors.
    node_weight : (rows, columns) array  Growth of the volume per metre that a node rises. [m²]

    Returns
    -------
    VolumeSigma                          By cause, and together. [m³]

    Notes
    -----
    With a = d volume / d shot, w the node weights and s the sigma of each node from interpolation:

    - shots: √(sum of (a sigma)²);
    - shared: √(bᵀ C b), with b the sum of a over the shots of each set-up or measured surface, and C their
      covariance;
    - benchmark: |sum of w| times its own sigma; it drops out where the same benchmark sets out the work;
    - interpolation: √(sum over triangles of (sum of |w| s)²).  Within a triangle the errors go together,
      from one to the next they are independent; this agrees with the exact covariance of the linear
      variogram within a quarter;
    - one-sided: |mean of miss / expected miss, weighted by a| times the sum of |w| s between shots.  In a
      bowl all chords lie above the ground, and the shots foretell each other too high: errors that go one
      way do not even out.

    The parts are added as independent.  All guessed ground is one group: whoever guesses wrong there,
    guesses wrong the same way.

    References
    ----------
    .. [1] Derived: propagation of errors through the linear map from shots to volume.
    """
    return summed_sigma(ground, carried_errors(ground, node_weight))


def summed_sigma(ground: GroundUncertainty, carried: CarriedErrors) -> VolumeSigma:
    """Standard deviation of a volume from what it has of each error: :func:`volume_sigma`, second half.

    Parameters
    ----------
    ground : GroundUncertainty     The survey's errors.
    carried : CarriedErrors        What the volume has of each.

    Returns
    -------
    VolumeSigma                    By cause, and together. [m³]

    References
    ----------
    .. [1] Derived: see :func:`volume_sigma`.
    """
    shots = math.sqrt(float(np.sum((carried.by_shot * ground.shot_sigma) ** 2)))
    shared = math.sqrt(max(float(carried.by_base @ ground.shared.covariance @ carried.by_base), 0.0))
    benchmark = abs(carried.whole) * ground.benchmark_sigma
    interpolation = math.hypot(float(np.linalg.norm(carried.by_triangle)), carried.guessed)
    between_shots = float(carried.by_triangle[~ground.measured].sum())
    one_sided = abs(carried.mean_miss) * between_shots
    total = math.hypot(shots, shared, benchmark, interpolation, one_sided)
    return VolumeSigma(shots, shared, benchmark, interpolation, one_sided, total)


def _summed(group: NDArray[np.integer], values: FloatArray, count: int) -> FloatArray:
    return np.asarray(np.bincount(group, values, minlength=count), dtype=np.float64)


def _mean_miss(ground: GroundUncertainty, by_shot: Areas) -> Ratio:
    """Mean miss of the shots under a volume, in times of what may be expected."""
    left = ground.left_out
    told = left.usable & (left.noise > 0.0)
    weight = np.abs(by_shot[: len(told)][told])
    if not weight.any():
        return 0.0
    times = left.miss[told] / left.expected(ground.roughness)[told]
    return float(np.average(times, weights=weight))
