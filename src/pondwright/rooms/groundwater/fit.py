"""The water as it stands today, fitted to what was read: how it stands far off, and how much soaks in.

Nobody reads the groundwater beyond the survey.  So the level there is a plane that is fitted: heads that
the model gives at standpipes, seeps and springs are to be those that were read.  How much of the rain reaches
the groundwater is fitted with it, at most what is told, where the job tells nothing of its own.

See Also
--------
pondwright.rooms.groundwater.heads : the model that is fitted.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, FloatArray, Flow, Length, Lengths, Ratio, Ratios
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.rooms.groundwater.aquifer import Plane
from pondwright.rooms.groundwater.heads import Border, Ground, Heads, OneWay, TwoWay, steady_heads

DAMPED: Ratio = 0.5
"""Slope of the groundwater against that of the ground, where readings leave it open; common practice. [-]"""

SLOPE_SPREAD = 0.1
"""How far off that slope may be before readings, one standard deviation; common practice. [m/m]"""

FAR_SPREAD: Length = 100.0
"""How far off the level may be before readings, one standard deviation. [m]"""

SHARE_SPREAD: Ratio = 1.0
"""How far off the share that soaks in may be before readings, one standard deviation. [-]"""

ENOUGH: Length = 1e-3
"""Change of the modelled heads that ends the fit. [m]"""

SEEP_REACH: Length = 10.0
"""Water that comes out this near a seep is its water; common practice. [m]"""

FLOW_FACTOR = 2.0
"""A modelled flow agrees with a measured one if neither is more than this many times the other."""

TRYING = 24
"""Steps of the solver while numbers are only tried; the heads of the answer are solved in full."""

FIRST_SHARE = 0.1
LITTLE: Ratio = 0.02
"""A step that takes off less than this of the squared misses ends the fit. [-]"""

_MOST_STEPS, _FEW_STEPS = 16, 3
_MOST_RENEWALS = 1
_DAMPINGS = (0.0, 0.1, 1.0, 10.0)
_MOST_STEP = (5.0, 0.05, 0.05)
"""Largest step of level [m] and slopes: the model bends too much beyond."""

_DIFFERENCES = (0.05, 0.002, 0.002, 0.02)
"""Steps of level [m], slopes and share by which the model's answers are differenced."""


class Read(NamedTuple):
    """A level read at a place, and how far it may be off. [m]"""

    east: Length
    north: Length
    level: Elevation
    sigma: Length


@dataclass(frozen=True, slots=True, eq=False)
class Undisturbed:
    """The ground before anything is built, and everything that moves its water but the level far off.

    Attributes
    ----------
    grid : Grid                             The water grid.
    highest : (rows, columns) array         Of the level far off: the ground there. [m]
    ground : Ground                         Its layers.
    two_way, one_way : TwoWay, OneWay       Ponds and ditches; slopes that water comes out of, drains.
    width : (rows, columns) array           Of the borders. [-]
    soaks : (rows, columns) array           What soaks in where all that is told does. [m³/s]
    share : Ratio, optional                 Share of it that does; None is fitted. [-]
    """

    grid: Grid
    highest: Elevations
    ground: Ground
    two_way: tuple[TwoWay, ...]
    one_way: tuple[OneWay, ...]
    width: FloatArray
    soaks: FloatArray
    share: Ratio | None


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """The level far off and the share that soaks in, with the heads and what is left to the readings.

    `numbers` are level, slopes and share, and `slopes` how the modelled readings grow with each: a start
    for the next fit. Residuals are modelled less read. [m]
    """

    plane: Plane
    far: Elevations
    share: Ratio
    heads: Heads
    residuals: Lengths
    numbers: FloatArray
    slopes: FloatArray


def undisturbed_heads(
    site: Undisturbed,
    plane: Plane,
    share: Ratio,
    start: Elevations | None = None,
    steps: int | None = None,
) -> Heads:
    """Heads before anything is built, under one level far off.

    Parameters
    ----------
    site : Undisturbed
    plane : Plane            How the water stands far off.
    share : Ratio            Of what is told to soak in. [-]
    start : Elevations       Heads to start from. [m]
    steps : int              Stop after so many; none goes on until all is settled.

    Returns
    -------
    Heads

    References
    ----------
    .. [1] :func:`pondwright.rooms.groundwater.heads.steady_heads`.
    """
    far = far_level(site, plane)
    return steady_heads(
        site.ground,
        site.two_way,
        site.one_way,
        share * site.soaks,
        borders=(Border(site.width, far),),
        start=far if start is None else start,
        steps=steps,
    )


def far_level(site: Undisturbed, plane: Plane) -> Elevations:
    """Level far off, no higher than the ground is there: water that stood higher would come out.

    Parameters
    ----------
    site : Undisturbed
    plane : Plane

    Returns
    -------
    (rows, columns) array     [m]

    References
    ----------
    .. [1] Derived.
    """
    return np.minimum(plane.over(site.grid), site.highest)


def fitted(
    site: Undisturbed,
    reads: Sequence[Read],
    ground_plane: Plane,
    start: Fitted | None = None,
    heads: Elevations | None = None,
    polish: bool = False,
) -> Fitted:
    """Level far off, and share that soaks in, for which the model gives what was read.

    Parameters
    ----------
    site : Undisturbed
    reads : Read              One or more, within the grid.
    ground_plane : Plane      Of the ground's surface: its slope, damped, holds where readings tell none.
    start : Fitted            A fit of nearly the same: of another permeability, or on a coarser grid.
    heads : (rows, columns) array     Heads to begin at; none are those of the level far off. [m]
    polish : bool             The start is nearly right: only a few steps.

    Returns
    -------
    Fitted

    Raises
    ------
    DomainError               If there is no reading.

    Notes
    -----
    Weighted least squares by Gauss-Newton steps with Broyden's update, the readings weighted by sigma and
    the slope held weakly to `DAMPED` times that of the ground.  One or two readings thus fix the level and
    leave the slope; three that are apart fix all.

    References
    ----------
    .. [1] Derived: least squares with weak prior knowledge.
    """
    if not reads:
        raise DomainError("`reads` must hold at least one reading, got none")
    points = np.array([(read.east, read.north) for read in reads])
    levels = np.array([read.level for read in reads])
    middle = points.mean(axis=0)
    at = (float(middle[0]), float(middle[1]))
    found: dict[str, Heads] = {}

    def solved(numbers: FloatArray, steps: int | None) -> FloatArray:
        last = found.get("last")
        plane, share = _told(numbers, site.share, at)
        now = undisturbed_heads(site, plane, share, heads if last is None else last.head, steps)
        found["last"] = now
        return np.asarray(surface_at(now.head, site.grid, points))

    def model(numbers: FloatArray) -> FloatArray:
        return solved(numbers, TRYING if found else None)

    prior = np.array([levels.mean(), DAMPED * ground_plane.east, DAMPED * ground_plane.north, 1.0])
    spread = np.array([FAR_SPREAD, SLOPE_SPREAD, SLOPE_SPREAD, SHARE_SPREAD])
    begin = np.array([*prior[:3], FIRST_SHARE]) if start is None else start.numbers
    free = 4 if site.share is None else 3
    answer = weighted_fit(
        model,
        begin[:free],
        levels,
        np.array([read.sigma for read in reads]),
        prior[:free],
        spread[:free],
        None if start is None else start.slopes,
        polish,
    )
    residuals = solved(answer.numbers, None) - levels
    plane, share = _told(answer.numbers, site.share, at)
    kept = np.array([*answer.numbers, *prior[free:]])
    return Fitted(plane, far_level(site, plane), share, found["last"], residuals, kept, answer.slopes)


class Answer(NamedTuple):
    """Numbers that fit best, and how what the model gives grows with each."""

    numbers: FloatArray
    slopes: FloatArray


def weighted_fit(
    model: Callable[[FloatArray], FloatArray],
    start: FloatArray,
    read: FloatArray,
    sigma: FloatArray,
    prior: FloatArray,
    spread: FloatArray,
    slopes: FloatArray | None = None,
    polish: bool = False,
) -> Answer:
    """Numbers for which a model gives what was read, held weakly to what is expected.

    Parameters
    ----------
    model : callable           Of the numbers, gives what is read.
    start : (k,) array         Level, slope east, slope north, and a share from 0 to 1 that may be left out.
    read, sigma : (n,) array   What was read, and how far it may be off.
    prior, spread : (k,) array What is expected of the numbers, and how far off that may be.
    slopes : (n, k) array      How the model grows with the numbers, if that is known.
    polish : bool              The start is nearly right: only a few steps, with the slopes as they are.

    Returns
    -------
    Answer

    Notes
    -----
    Gauss-Newton with Broyden's update of the slopes; a step that does not help is damped (Levenberg).

    References
    ----------
    .. [1] C. G. Broyden (1965), a class of methods for solving nonlinear simultaneous equations, from memory.
    """
    numbers = np.array(start, dtype=np.float64)
    value = model(numbers)

    def cost(at: FloatArray, modelled: FloatArray) -> float:
        return float((((modelled - read) / sigma) ** 2).sum() + (((at - prior) / spread) ** 2).sum())

    scale = np.array(_DIFFERENCES[: len(numbers)])
    renewed = damped = 0
    grows = _differenced(model, numbers, value) if slopes is None else slopes
    now = cost(numbers, value)
    for _ in range(_FEW_STEPS if polish else _MOST_STEPS):
        step = _step(numbers, value, grows, read, sigma, prior, spread)
        if np.abs(grows @ step).max() < ENOUGH and np.abs(step[3:]).max(initial=0.0) < ENOUGH:
            break
        tried, modelled, then = numbers, value, now
        for at in range(max(damped - 1, 0), len(_DAMPINGS)):
            damped, damping = at, _DAMPINGS[at]
            if damping:
                step = _step(numbers, value, grows, read, sigma, prior, spread, damping)
            tried = numbers + step
            modelled = model(tried)
            then = cost(tried, modelled)
            if then < now:
                break
        if then >= now:
            if polish or renewed == _MOST_RENEWALS:
                break
            # The slopes have drifted.
            grows, renewed, damped = _differenced(model, numbers, value), renewed + 1, 0
            continue
        moved = tried - numbers
        even = moved / scale
        grows = grows + np.outer(modelled - value - grows @ moved, even / scale) / float(even @ even)
        gained, numbers, value, now = now - then, tried, modelled, then
        if gained < LITTLE * now:
            break
    return Answer(numbers, grows)


def seep_flows(out: FloatArray, grid: Grid, seeps: Lengths) -> FloatArray:
    """Water that comes out of the ground near each seep.

    Parameters
    ----------
    out : (rows, columns) array     What comes out of each cell. [m³/s]
    grid : Grid
    seeps : (n, 2) array            East and north. [m]

    Returns
    -------
    (n,) array                      [m³/s]

    Notes
    -----
    A cell within `SEEP_REACH` counts for the seep that is nearest to it.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 4.0, 5, 2)
    >>> seep_flows(np.full((2, 5), 1e-5), grid, np.array([[0.0, 0.0], [16.0, 0.0]])).round(9).tolist()
    [6e-05, 4e-05]

    hand

    References
    ----------
    .. [1] Derived: sum over the nearest cells.
    """
    rows, columns = np.nonzero(out > 0.0)
    flows = np.zeros(len(seeps))
    if len(rows) and len(seeps):
        places = np.column_stack([grid.east[columns], grid.north[rows]])
        apart = np.hypot(*(places[:, None, :] - seeps[None, :, :]).transpose(2, 0, 1))
        nearest = apart.argmin(axis=1)
        near = apart.min(axis=1) <= SEEP_REACH
        np.add.at(flows, nearest[near], out[rows, columns][near])
    return flows


def allowed_shifts(shifts: Ratios, ratios: Ratios) -> tuple[Ratio, Ratio, Ratio]:
    """Permeabilities that agree with measured flows: shifts for low, likely and high.

    Parameters
    ----------
    shifts : (n,) array     Shifts that were tried, rising; two or more. [-]
    ratios : (n,) array     Modelled over measured flow at each. [-], >= 0

    Returns
    -------
    tuple of Ratio          Low, likely and high. [-]

    Notes
    -----
    Kept is the told range (-1 to 1) as far as the modelled flow lies within `FLOW_FACTOR` of the measured
    one, on the line through the logarithms.  Where that leaves nothing, flow and soils contradict each other:
    nobody can tell which is wrong, and the whole told range is kept.

    Examples
    --------
    >>> allowed_shifts(np.array([-1.0, 0.0, 1.0]), np.array([0.25, 1.0, 4.0]))
    (-0.5, 0.0, 0.5)
    >>> allowed_shifts(np.array([-1.0, 0.0, 1.0]), np.array([1 / 64, 1 / 16, 1 / 4]))
    (-1.0, 0.0, 1.0)

    hand

    References
    ----------
    .. [1] Derived; the factor is common practice, no source.
    """
    growth, start = (float(number) for number in np.polyfit(shifts, np.log(np.maximum(ratios, 1e-12)), 1))
    if not growth > 1e-6:
        return -1.0, 0.0, 1.0
    low, high = (float(-start + way * np.log(FLOW_FACTOR)) / growth for way in (-1.0, 1.0))
    if low > 1.0 or high < -1.0:
        return -1.0, 0.0, 1.0
    low, high = max(low, -1.0), min(high, 1.0)
    return round(low, 9), round(min(max(0.0, low), high), 9), round(high, 9)


def total(flow: FloatArray) -> Flow:
    """Sum of the flows of all cells.

    Parameters
    ----------
    flow : ndarray      [m³/s]

    Returns
    -------
    Flow                [m³/s]

    Examples
    --------
    >>> total(np.array([[1e-5, 2e-5]]))
    3e-05

    hand

    References
    ----------
    .. [1] Derived.
    """
    return float(round(float(flow.sum()), 15))


def _told(numbers: FloatArray, share: Ratio | None, at: tuple[Length, Length]) -> tuple[Plane, Ratio]:
    level, east, north = (float(number) for number in numbers[:3])
    return Plane(level, east, north, at), float(numbers[3]) if share is None else share


def _differenced(
    model: Callable[[FloatArray], FloatArray], numbers: FloatArray, value: FloatArray
) -> FloatArray:
    """How the model grows with each number; forward differences, a share that is nearly 1 backward."""
    columns = []
    for index in range(len(numbers)):
        step = _DIFFERENCES[index]
        if index == 3 and numbers[index] + step > 1.0:
            step = -step
        moved = numbers.copy()
        moved[index] += step
        columns.append((model(moved) - value) / step)
    return np.column_stack(columns)


def _step(
    numbers: FloatArray,
    value: FloatArray,
    slopes: FloatArray,
    read: FloatArray,
    sigma: FloatArray,
    prior: FloatArray,
    spread: FloatArray,
    damping: float = 0.0,
) -> FloatArray:
    """Step to the best of the linear model, shorter when damped, with the share kept between 0 and 1."""
    held = damping / np.array(_DIFFERENCES[: len(numbers)])
    rows = np.vstack([slopes / sigma[:, None], np.diag(1.0 / spread), np.diag(held)])
    wanted = np.concatenate([(read - value) / sigma, (prior - numbers) / spread, np.zeros(len(numbers))])
    step, *_ = np.linalg.lstsq(rows, wanted, rcond=None)
    step = step * min(1.0, float((np.array(_MOST_STEP) / np.maximum(np.abs(step[:3]), 1e-12)).min()))
    if len(numbers) > 3:
        share = min(max(float(numbers[3] + step[3]), 0.0), 1.0)
        if share != numbers[3] + step[3]:
            fixed = share - float(numbers[3])
            rest, *_ = np.linalg.lstsq(rows[:, :3], wanted - rows[:, 3] * fixed, rcond=None)
            step = np.array([*rest, fixed])
    return np.asarray(step)
