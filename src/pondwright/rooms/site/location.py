"""Where a shot stands: from what was taped or turned on site to east and north.

The methods: base line and offset, bearing and distance, and ties by two or three tapes.  Two
tapes and a base line with offsets are what most ponds are located with; a third tape turns a
tie into a measured one, because it leaves a residual.

See Also
--------
pondwright.rooms.site.ground : what the located shots become.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Force, Length, Temperature

PlanPoint = tuple[float, float]

STEEL_EXPANSION = 11.6e-6
"""Growth of a steel tape per kelvin [1/K]: Ghilani and Wolf, from memory."""

_GAUSS_NEWTON_STEPS = 20


@dataclass(frozen=True, slots=True)
class TapeTie:
    """A point tied by tapes: the answer taken, the other one, and how strong the tie is."""

    point: PlanPoint
    other: PlanPoint
    angle: Angle
    sigma: Length
    residual: Length


def offset_point(start: PlanPoint, end: PlanPoint, along: Length, off: Length) -> PlanPoint:
    """Point reached along a base line and square off it.

    Parameters
    ----------
    start, end : PlanPoint    Ends of the base line, east and north. [m]
    along : Length            Distance from `start` towards `end`. [m]
    off : Length              Offset, left of the line is positive. [m]

    Returns
    -------
    PlanPoint                 East and north. [m]

    Raises
    ------
    DomainError               If the two ends of the base are one point.

    Notes
    -----
    P = A + along u + off n, with u the unit vector of the base and n its left normal.  An offset
    squared by eye drifts 1-2 % of its length beyond 15 m (common practice).

    Examples
    --------
    >>> east, north = offset_point((2.0, 1.0), (8.0, 9.0), 12.5, 3.2)
    >>> round(east, 3), round(north, 3)
    (6.94, 12.92)

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    length = math.dist(start, end)
    if length == 0.0:
        raise DomainError("`base` must have two different ends, got one point twice")
    unit_east, unit_north = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    return (
        start[0] + along * unit_east - off * unit_north,
        start[1] + along * unit_north + off * unit_east,
    )


def bearing_point(start: PlanPoint, bearing: Angle, distance: Length) -> PlanPoint:
    """Point at a bearing, clockwise from north, and a level distance.

    Parameters
    ----------
    start : PlanPoint     The mark stood on, east and north. [m]
    bearing : Angle       Clockwise from north. [rad]
    distance : Length     Level distance. [m], >= 0

    Returns
    -------
    PlanPoint             East and north. [m]

    Raises
    ------
    DomainError           If the distance is negative.

    Notes
    -----
    dE = d sin(b), dN = d cos(b).  A compass bearing needs the local declination first.

    Examples
    --------
    >>> east, north = bearing_point((0.0, 0.0), math.radians(37.5), 42.6)
    >>> round(east, 3), round(north, 3)
    (25.933, 33.797)

    hand

    References
    ----------
    .. [1] Derived: plane trigonometry.
    """
    if distance < 0.0:
        raise DomainError(f"`distance` must be at least 0 m, got {distance:g} m")
    return start[0] + distance * math.sin(bearing), start[1] + distance * math.cos(bearing)


def two_tape_tie(
    first: PlanPoint,
    second: PlanPoint,
    first_tape: Length,
    second_tape: Length,
    *,
    left: bool = True,
    tape_sigma: Length = 0.02,
) -> TapeTie:
    """Point at two taped distances from two marks, with the other answer.

    The two circles meet twice; `left` tells the side of the line from the first mark to the second.
    Tapes that miss each other by no more than three times their own error are taken to touch.

    Parameters
    ----------
    first, second : PlanPoint     The two marks, east and north. [m]
    first_tape : Length           Distance from the first mark. [m], > 0
    second_tape : Length          Distance from the second mark. [m], > 0
    left : bool                   Take the answer left of the line from first to second.
    tape_sigma : Length           Standard deviation of one tape. [m], > 0

    Returns
    -------
    TapeTie                       Residual 0: two tapes cannot check each other.

    Raises
    ------
    DomainError                   If the tapes do not meet; the gap is told.

    Notes
    -----
    a = (r1² - r2² + c²) / (2c), h = √(r1² - a²), P = A + a u ± h n; strength
    s_P = s_r √2 / sin g with g the angle at P.

    Examples
    --------
    >>> tie = two_tape_tie((0.0, 0.0), (20.0, 0.0), 15.0, 13.0)
    >>> round(tie.point[0], 3), round(tie.point[1], 5), round(math.degrees(tie.angle), 2)
    (11.4, 9.74885, 90.88)

    hand

    References
    ----------
    .. [1] Derived: plane trigonometry and propagation of independent errors.
    """
    between = math.dist(first, second)
    _require_tapes_that_meet(between, first_tape, second_tape, 3.0 * tape_sigma)
    foot = (first_tape**2 - second_tape**2 + between**2) / (2.0 * between)
    height = math.sqrt(max(first_tape**2 - foot**2, 0.0))
    on_left = offset_point(first, second, foot, height)
    on_right = offset_point(first, second, foot, -height)
    point, other = (on_left, on_right) if left else (on_right, on_left)
    angle = tie_angle(point, first, second)
    return TapeTie(point, other, angle, tie_sigma(angle, tape_sigma), 0.0)


def side_of(point: PlanPoint, start: PlanPoint, end: PlanPoint) -> Literal["left", "right"]:
    """Side of a line on which a point stands, looking along it.

    Parameters
    ----------
    point : PlanPoint         East and north. [m]
    start, end : PlanPoint    Ends of the line, east and north. [m]

    Returns
    -------
    str                       `left` or `right`; a point on the line is left of it.

    Notes
    -----
    The sign of the cross product of the line and the way from its start to the point.

    Examples
    --------
    >>> side_of((3.0, 1.0), (0.0, 0.0), (10.0, 0.0)), side_of((3.0, -1.0), (0.0, 0.0), (10.0, 0.0))
    ('left', 'right')

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    cross = (end[0] - start[0]) * (point[1] - start[1]) - (end[1] - start[1]) * (point[0] - start[0])
    return "left" if cross >= 0.0 else "right"


def many_tape_tie(
    marks: Sequence[PlanPoint],
    tapes: Sequence[Length],
    *,
    left: bool = True,
    in_line: Length = 0.0,
    tape_sigma: Length = 0.02,
) -> TapeTie:
    """Point at three or more taped distances, by least squares, with what is left over.

    Parameters
    ----------
    marks : sequence of PlanPoint     The marks, east and north. [m]
    tapes : sequence of Length        Distance from each mark. [m], > 0
    left : bool                       Take the answer left of the line from the first mark to the second where
                                      all marks stand in one line, so that no tape tells the side.
    in_line : Length                  How far off that line a mark may stand and still be in it. [m], >= 0
    tape_sigma : Length               Standard deviation of one tape. [m], > 0

    Returns
    -------
    TapeTie       `residual` is the greatest difference between a tape and the point found; flag
                  it beyond three times `tape_sigma`. `other` is the same place on the other side of the line
                  from the first mark to the second.

    Raises
    ------
    DomainError   If fewer than three tapes are given, the first two start at one place, or no pair of them
                  meets.

    Notes
    -----
    Gauss-Newton on r_i - |P - A_i|, started from the pair that meets most squarely, on the side
    that fits the other tapes.

    Examples
    --------
    >>> marks = ((0.0, 0.0), (20.0, 0.0), (10.0, 20.0))
    >>> tie = many_tape_tie(marks, [math.dist((11.0, 9.0), mark) for mark in marks])
    >>> round(tie.point[0], 6), round(tie.point[1], 6), round(tie.residual, 6)
    (11.0, 9.0, 0.0)

    hand

    References
    ----------
    .. [1] Derived: least squares on taped distances.
    """
    if len(tapes) < 3 or len(marks) != len(tapes):
        raise DomainError(f"`tapes` must be three or more, one for each mark, got {len(tapes)}")
    start = _best_pair(marks, tapes, tape_sigma)
    anchors, lengths = np.array(marks, dtype=np.float64), np.array(tapes, dtype=np.float64)
    place = np.array(start.point)
    for _ in range(_GAUSS_NEWTON_STEPS):
        away = place - anchors
        distances = np.hypot(away[:, 0], away[:, 1])
        step, *_ = np.linalg.lstsq(away / distances[:, None], lengths - distances, rcond=None)
        place = place + step
    residuals = lengths - np.hypot(*(place - anchors).T)
    found = (float(place[0]), float(place[1]))
    if math.dist(marks[0], marks[1]) == 0.0:
        raise DomainError("`tapes` must start at different marks, got two at one place")
    mirrored = _mirrored(found, marks[0], marks[1])
    wrong_side = (side_of(found, marks[0], marks[1]) == "left") != left
    if wrong_side and all(
        math.dist(mark, _mirrored(mark, marks[0], marks[1])) <= 2.0 * in_line for mark in marks
    ):
        found, mirrored = mirrored, found
    return TapeTie(
        found,
        mirrored,
        start.angle,
        start.sigma,
        float(np.abs(residuals).max()),
    )


def tie_angle(point: PlanPoint, first: PlanPoint, second: PlanPoint) -> Angle:
    """Angle at a tied point between its two tapes.

    Parameters
    ----------
    point, first, second : PlanPoint     The point and the two marks, east and north. [m]

    Returns
    -------
    Angle                                Between 0 and π. [rad]

    Examples
    --------
    >>> round(tie_angle((0.0, 1.0), (-1.0, 0.0), (1.0, 0.0)) / math.pi, 3)
    0.5

    hand

    References
    ----------
    .. [1] Derived: plane trigonometry.
    """
    one = (first[0] - point[0], first[1] - point[1])
    two = (second[0] - point[0], second[1] - point[1])
    cross = one[0] * two[1] - one[1] * two[0]
    return math.atan2(abs(cross), one[0] * two[0] + one[1] * two[1])


def tie_sigma(angle: Angle, tape_sigma: Length) -> Length:
    """Standard deviation of a point tied by two tapes.

    Parameters
    ----------
    angle : Angle             Angle at the point between the tapes. [rad]
    tape_sigma : Length       Standard deviation of one tape. [m]

    Returns
    -------
    Length                    Infinite where the tapes lie in one line. [m]

    Notes
    -----
    s_P = s_r √2 / sin g: weak below 30 and above 150 degrees.

    Examples
    --------
    >>> round(tie_sigma(math.radians(90.88), 0.020), 4)
    0.0283

    hand

    References
    ----------
    .. [1] Derived: propagation of independent errors.
    """
    sine = math.sin(angle)
    return math.inf if sine <= 0.0 else tape_sigma * math.sqrt(2.0) / sine


def level_distance(taped: Length, rise: Length) -> Length:
    """Level distance under a tape that was held on the slope.

    Parameters
    ----------
    taped : Length     Distance read along the slope. [m], >= |rise|
    rise : Length      Difference in height of the two ends. [m]

    Returns
    -------
    Length             Level distance. [m]

    Raises
    ------
    DomainError        If the rise is longer than the tape.

    Notes
    -----
    d = √(s² - dz²); about dz²/(2s) shorter than the tape.

    Examples
    --------
    >>> round(level_distance(30.0, 1.5) - 30.0, 5)
    -0.03752

    hand

    References
    ----------
    .. [1] Derived: right-angled triangle.
    """
    if abs(rise) > taped:
        raise DomainError(f"`rise` must be at most the taped {taped:g} m, got {rise:g} m")
    return math.sqrt(taped**2 - rise**2)


def tape_growth(length: Length, warming: Temperature) -> Length:
    """Growth of a steel tape that is warmer than when it was marked.

    Parameters
    ----------
    length : Length           Length read. [m]
    warming : Temperature     Tape less its marked temperature. [°C]

    Returns
    -------
    Length                    To be added to the length read. [m]

    Examples
    --------
    >>> round(tape_growth(30.0, 15.0), 5)
    0.00522

    hand

    References
    ----------
    .. [1] Ghilani and Wolf, Elementary Surveying, tape corrections; from memory.
    """
    return STEEL_EXPANSION * length * warming


def tape_sag(length: Length, weight: Force, pull: Force) -> Length:
    """Shortening of the distance under a tape that hangs free between its ends.

    Parameters
    ----------
    length : Length     Length hanging free. [m]
    weight : Force      Weight of that length of tape. [N]
    pull : Force        Pull on the tape. [N], > 0

    Returns
    -------
    Length              To be taken off the length read. [m]

    Raises
    ------
    DomainError         If there is no pull.

    Notes
    -----
    C = w² L³ / (24 P²) with w the weight per length, that is W² L / (24 P²).

    Examples
    --------
    >>> round(tape_sag(30.0, 0.02 * 9.81 * 30.0, 50.0), 5)
    0.01732

    hand

    References
    ----------
    .. [1] Derived: shallow parabola; Ghilani and Wolf, Elementary Surveying, from memory.
    """
    if pull <= 0.0:
        raise DomainError(f"`pull` must be above 0 N, got {pull:g} N")
    return weight**2 * length / (24.0 * pull**2)


def _mirrored(point: PlanPoint, start: PlanPoint, end: PlanPoint) -> PlanPoint:
    """The point as far on the other side of a line."""
    length = math.dist(start, end)
    unit_east, unit_north = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    east, north = point[0] - start[0], point[1] - start[1]
    along, off = east * unit_east + north * unit_north, north * unit_east - east * unit_north
    return offset_point(start, end, along, -off)


def _require_tapes_that_meet(
    between: Length, first_tape: Length, second_tape: Length, allowed: Length
) -> None:
    if between == 0.0:
        raise DomainError("`tapes` must start at two different marks, got one mark twice")
    gap = max(
        between - first_tape - second_tape,
        first_tape - second_tape - between,
        second_tape - first_tape - between,
    )
    if gap > allowed:
        raise DomainError(f"`tapes` must meet, got a gap of {gap:.3f} m")


def _best_pair(marks: Sequence[PlanPoint], tapes: Sequence[Length], tape_sigma: Length) -> TapeTie:
    """Tie of the pair that meets most squarely, on the side that fits the other tapes."""

    def misfit(point: PlanPoint) -> float:
        return sum((tape - math.dist(point, mark)) ** 2 for tape, mark in zip(tapes, marks, strict=True))

    ties = []
    for one, two in combinations(range(len(marks)), 2):
        try:
            tie = two_tape_tie(marks[one], marks[two], tapes[one], tapes[two], tape_sigma=tape_sigma)
        except DomainError:
            continue
        ties.append(tie)
    if not ties:
        raise DomainError("`tapes` must meet, got no pair that does")
    best = min(ties, key=lambda tie: tie.sigma)
    if misfit(best.other) < misfit(best.point):
        return TapeTie(best.other, best.point, best.angle, best.sigma, 0.0)
    return best
