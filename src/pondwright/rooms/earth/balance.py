"""The level at which dug and placed soil balance, and what each level costs in soil.

The whole surface is tried at a level in one compiled call, by the very rule that draws it:
``surplus(level) = sum of compaction × dug, of soils that make fill, less placed soil``.  Dug soil
falls and placed soil rises with the level, without steps, so a bracketed search always ends.
Topsoil and muck never count as fill.

See Also
--------
pondwright.rooms.shape.grading : the rule.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths, Ratio, Volume
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import grading as kernels
from pondwright.rooms.earth.cutfill import NEVER_FILL, Moved, SoilMap, moved
from pondwright.rooms.earth.states import SoilStates
from pondwright.rooms.shape.grading import Parts, whole_rows

TABLE_STEP: Length = 0.1
"""Step between the levels of a table. [m]"""

TABLE_REACH = 4
"""Levels of a table on each side of the middle one."""

SEARCH_REACH: Length = 2.0
"""How far from the level a balance is looked for. [m]"""

LEVEL_TOLERANCE: Length = 1e-5
"""Tolerance of a balanced level. [m]"""

NEAR_REACH: Length = 0.3
"""How far from the level of the frame before a balance is visited cheaply. [m]"""

NEAR_TOLERANCE: Length = 5e-4
"""Step of the level at which a search beside a hand rests. [m]"""

NEAR_TRIALS = 6

FIRST_STEP: Length = 0.02
"""First trial beside the level of the frame before. [m]"""

SLOPE_STEP: Length = 0.005
"""Half of the step over which the quick surplus tells how fast the exact one falls. [m]"""

EXACT_TRIALS = 8
"""Exact trials before the rest of a search is left to a bracket."""


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """Everything that a trial level needs, with room to work in.

    Attributes
    ----------
    ground : (rows, columns) array     The existing ground. [m]
    limits : arrays                    Lowest and highest finish and region of all bodies.
    levels : Elevation                 Level of each body. [m]
    body : int                         Body whose level is tried.
    thickness : (128,) array           Covers by part. [m]
    soils : SoilMap
    grid : Grid
    spans : (rows, 2) int array        Columns of every row that levels within `reach` touch.
    reach : (Elevation, Elevation)     Lowest and highest level for which that is known. [m]
    difference, part, state : arrays   Room to work in.
    """

    ground: Elevations
    limits: tuple[FloatArray, FloatArray, Parts]
    levels: tuple[Elevation, ...]
    body: int
    thickness: Lengths
    soils: SoilMap
    grid: Grid
    spans: NDArray[np.int32]
    reach: tuple[Elevation, Elevation]
    difference: Lengths
    part: Parts
    state: Parts

    def at(self, level: Elevation) -> Moved:
        """Soil moved with the body at a level.

        Parameters
        ----------
        level : Elevation     Of the body that is tried. [m]
        """
        levels = np.array(self.levels, dtype=np.float64)
        levels[self.body] = level
        within = self.reach[0] <= level <= self.reach[1]
        spans = self.spans if within else whole_rows(self.grid.shape)
        excess = np.empty((len(self.soils.columns), self.soils.thresholds.shape[1] + 2))
        self.difference.fill(0.0)
        kernels.graded_volumes(
            self.ground,
            *self.limits,
            levels,
            spans,
            self.thickness,
            self.soils.of_cell,
            self.soils.thresholds,
            self.grid.cell_area,
            self.difference,
            self.part,
            self.state,
            excess,
        )
        return moved(excess, self.soils)


def trials(
    ground: Elevations,
    limits: tuple[FloatArray, FloatArray, Parts],
    levels: Sequence[Elevation],
    body: int,
    thickness: Lengths,
    soils: SoilMap,
    grid: Grid,
) -> Trials:
    """Trials over the whole grid.

    Parameters
    ----------
    ground : (rows, columns) array     The existing ground. [m]
    limits : arrays                    From :func:`pondwright.rooms.shape.grading.stacked`.
    levels : Elevation                 Level of each body. [m]
    body : int                         Body whose level is tried.
    thickness : (128,) array           Covers by part. [m]
    soils : SoilMap
    grid : Grid

    Returns
    -------
    Trials

    References
    ----------
    .. [1] Derived.
    """
    return Trials(
        ground,
        limits,
        tuple(levels),
        body,
        thickness,
        soils,
        grid,
        whole_rows(grid.shape),
        (-math.inf, math.inf),
        np.zeros(grid.shape),
        np.empty(grid.shape, dtype=np.int8),
        np.empty(grid.shape, dtype=np.int8),
    )


def fill_surplus(soil: Moved, states: Mapping[str, SoilStates], settlement: Ratio = 0.0) -> Volume:
    """Compacted fill that the dig gives, less what is placed.

    Parameters
    ----------
    soil : Moved
    states : SoilStates by kind
    settlement : Ratio     Share placed on top so that it settles to the design. [-], >= 0

    Returns
    -------
    Volume                 Below zero, fill is missing. [m³]

    Notes
    -----
    Σ C V_dug over soils that make fill, less (1 + settlement) V_placed.

    Examples
    --------
    >>> soil = Moved({"topsoil": 50.0, "silt": 400.0}, {}, 120.0)
    >>> states = {"silt": SoilStates(1.30, 0.90, 1900.0)}
    >>> fill_surplus(soil, states)
    240.0

    hand

    References
    ----------
    .. [1] Derived: balance in compacted measure.
    """
    made = sum(
        states[kind].compaction * volume for kind, volume in soil.dug.items() if kind not in NEVER_FILL
    )
    return made - (1.0 + settlement) * soil.placed


def level_table(level: Elevation, step: Length = TABLE_STEP, reach: int = TABLE_REACH) -> Elevations:
    """Levels of a table around a level.

    Parameters
    ----------
    level : Elevation     The middle one. [m]
    step : Length         [m], > 0
    reach : int           Levels on each side.

    Returns
    -------
    (2 reach + 1,) array     [m]

    References
    ----------
    .. [1] Common practice, no source.
    """
    return np.linspace(level - reach * step, level + reach * step, 2 * reach + 1)


def narrowed(run: Trials, low: Elevation, high: Elevation) -> Trials:
    """Trials that visit only the columns of each row that levels within a reach can touch.

    Parameters
    ----------
    run : Trials
    low, high : Elevation     Reach of the levels. [m]

    Returns
    -------
    Trials

    Notes
    -----
    What is dug at any of the levels is dug at the lowest, and what is placed is placed at the
    highest.

    References
    ----------
    .. [1] Derived: the finish rises with the level at every node.
    """
    lowest, highest = np.array(run.levels, dtype=np.float64), np.array(run.levels, dtype=np.float64)
    lowest[run.body], highest[run.body] = low, high
    spans = np.empty((run.grid.rows, 2), dtype=np.int32)
    kernels.touched_spans(run.ground, *run.limits, lowest, highest, spans)
    return replace(run, spans=spans, reach=(low, high))


def balanced_level(
    surplus: Callable[[Elevation], Volume], levels: Elevations, known: Sequence[Volume]
) -> Elevation | None:
    """Level at which the surplus is zero.

    Parameters
    ----------
    surplus : function            Surplus at a level, falling. [m³]
    levels : (n,) array           Levels with a known surplus, ascending. [m]
    known : Volume                Surplus at each of them. [m³]

    Returns
    -------
    Elevation or None             To 1e-5; none if there is no balance within 2 m. [m]

    Notes
    -----
    Brent's method between the two known levels on either side of the change of sign; where they
    show none, between the outermost one and a level 2 m further.

    Examples
    --------
    >>> round(balanced_level(lambda level: 3.0 - level, np.array([2.0, 4.0]), [1.0, -1.0]), 6)
    3.0

    hand

    References
    ----------
    .. [1] Brent, Algorithms for Minimization without Derivatives, 1973; from memory.
    """
    found = {float(level): float(value) for level, value in zip(levels, known, strict=True)}

    def remembered(level: float) -> float:
        if level not in found:
            found[level] = surplus(level)
        return found[level]

    above = [level for level, value in found.items() if value >= 0.0]
    low = max(above, default=float(levels[0]) - SEARCH_REACH)
    below = [level for level, value in found.items() if value <= 0.0 and level >= low]
    high = min(below, default=float(levels[-1]) + SEARCH_REACH)
    if remembered(low) < 0.0 or remembered(high) > 0.0:
        return None
    if low == high:
        return low
    from scipy.optimize import brentq  # a third of a second to load, and most questions do not need it

    return float(brentq(remembered, low, high, xtol=0.5 * LEVEL_TOLERANCE))


def exact_level(
    exact: Callable[[Elevation], Volume],
    quick: Callable[[Elevation], Volume],
    guess: Elevation,
    known: Mapping[Elevation, Volume],
    most: Volume,
) -> Elevation | None:
    """Level at which a surplus that is dear to try is zero, from the balance of a quick one.

    Parameters
    ----------
    exact : function      Surplus at a level, falling but for small steps. [m³]
    quick : function      One that falls about as fast. [m³]
    guess : Elevation     Where the quick one is zero. [m]
    known : Volume        Exact surplus at levels that were tried already. [m³]
    most : Volume         Surplus up to which a level counts as balanced. [m³], > 0

    Returns
    -------
    Elevation or None     To 1e-5, and one that was tried; none if the exact surplus has no zero within 2 m of
                          the guess, or jumps over it. [m]

    Notes
    -----
    Newton's step with the slope of the quick surplus, then the secant through the last two trials.  If that
    does not come to rest, Brent's method between the nearest levels with soil left over and missing.

    Examples
    --------
    >>> round(exact_level(lambda level: 3.1 - level, lambda level: 3.0 - level, 3.0, {}, 1e-3), 6)
    3.1
    >>> step = lambda level: 1.0 if level < 3.1 else -1.0
    >>> exact_level(step, lambda level: 3.0 - level, 3.0, {}, 1e-3) is None
    True

    hand

    References
    ----------
    .. [1] Newton's method and the secant method; from memory.
    .. [2] Brent, Algorithms for Minimization without Derivatives, 1973; from memory.
    """
    found = dict(known)

    def tried(level: Elevation) -> Volume:
        if level not in found:
            found[level] = exact(level)
        return found[level]

    fall = (quick(guess + SLOPE_STEP) - quick(guess - SLOPE_STEP)) / (2.0 * SLOPE_STEP)
    trial = guess
    for _trial in range(EXACT_TRIALS):
        value = tried(trial)
        if value == 0.0:
            return trial
        if fall >= 0.0:
            break
        following = trial - value / fall
        if abs(following - trial) <= 0.5 * LEVEL_TOLERANCE:
            return trial if abs(value) <= most else None
        if abs(following - guess) > SEARCH_REACH:
            break
        # A secant too short for its rounding, or over a step of the surplus, tells no slope.
        secant = (tried(following) - value) / (following - trial)
        fall, trial = (secant if secant < 0.0 else fall), following
    return _bracketed(tried, found, most)


def _bracketed(
    tried: Callable[[Elevation], Volume], found: Mapping[Elevation, Volume], most: Volume
) -> Elevation | None:
    """Zero between the nearest levels with soil left over and missing, if there is one."""
    pairs = [(low, high) for low in found for high in found if found[low] > 0.0 > found[high]]
    if not pairs:
        return None
    low, high = min(pairs, key=lambda pair: abs(pair[1] - pair[0]))
    from scipy.optimize import brentq  # a third of a second to load, and most questions do not need it

    level = float(brentq(tried, low, high, xtol=0.5 * LEVEL_TOLERANCE))
    return level if abs(tried(level)) <= most else None


def followed_level(surplus: Callable[[Elevation], Volume], level: Elevation, now: Volume) -> Elevation | None:
    """Level near another one at which the surplus is zero, by a few trials, for a hand that moves a shore.

    Parameters
    ----------
    surplus : function     Surplus at a level, falling. [m³]
    level : Elevation      Where to begin: the level of the frame before. [m]
    now : Volume           Surplus there. [m³]

    Returns
    -------
    Elevation or None      To half a millimetre; none if six trials do not come to it, or it lies more than
                           2 m away. [m]

    Notes
    -----
    The secant through the last two trials.  The surplus falls almost evenly with the level, so that two or
    three trials do; the exact level waits for the drop.

    Examples
    --------
    >>> round(followed_level(lambda level: 30.0 - 10.0 * level, 2.9, 1.0), 6)
    3.0
    >>> followed_level(lambda level: 1.0, 0.0, 1.0) is None
    True

    hand

    References
    ----------
    .. [1] Secant method; from memory.
    """
    if now == 0.0:
        return level
    before, its = level, now
    trial = level + math.copysign(FIRST_STEP, now)
    for _trial in range(NEAR_TRIALS):
        found = surplus(trial)
        if found == its:
            return trial if found == 0.0 else None
        following = trial - found * (trial - before) / (found - its)
        if not abs(following - level) <= SEARCH_REACH:
            return None
        if abs(following - trial) <= NEAR_TOLERANCE:
            return following
        before, its, trial = trial, found, following
    return None
