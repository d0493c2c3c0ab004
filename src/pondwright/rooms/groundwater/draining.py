"""How long an old pond takes to empty: its true storage, what runs in, and how fast its banks bear it.

The water is let down piece by piece of the storage curve.  Within a piece the surface is level, what runs in
changes evenly with the level, and the time has a closed form; so the hours are exact for the curve given.

See Also
--------
pondwright.rooms.site.old_hole : the storage of the old hole.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import (
    Area,
    Elevation,
    Elevations,
    FloatArray,
    Flow,
    Length,
    Ratio,
    Speed,
    Time,
    Volume,
    Volumes,
)

FOOT: Ratio = 0.1
"""Share of the water that lies in the narrow foot of a pond, where a fall tells nothing of banks. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Draining:
    """A pond that is pumped down.

    Attributes
    ----------
    time : Time                 From start to end, nights too; infinite where it is never reached. [s]
    run_time : Time             Hours that the pump runs; infinite likewise. [s]
    slowed : Time               Of `time`, with the pump held back for the sake of the banks. [s]
    pumped : Volume             What the pump lifts, the water that ran in with it; infinite likewise. [m³]
    reached : Elevation         Where the water comes to: the end, or where as much runs in as is lifted. [m]
    levels, times : (n,) arrays Course of the water down to where it comes in a finite time. [m], [s]
    """

    time: Time
    run_time: Time
    slowed: Time
    pumped: Volume
    reached: Elevation
    levels: Elevations
    times: FloatArray


@dataclass(frozen=True, slots=True)
class _Piece:
    """A piece of the curve, or a part of one: how deep, how wide, and what runs in above and below."""

    depth: Length
    area: Area
    upper: Flow
    lower: Flow

    def part(self, start: Ratio, end: Ratio) -> _Piece:
        """The part between two shares of the depth, from above."""

        def coming(share: Ratio) -> Flow:
            # Exact at both ends: what runs in below may be all but what is lifted.
            return (1.0 - share) * self.upper + share * self.lower

        return _Piece((end - start) * self.depth, self.area, coming(start), coming(end))


def drained(
    levels: Elevations,
    volumes: Volumes,
    inflows: FloatArray,
    start: Elevation,
    end: Elevation,
    pump: Flow,
    *,
    fastest: Speed = math.inf,
    share: Ratio = 1.0,
) -> Draining:
    """Time in which a pump lowers a pond, against what runs in and no faster than its banks bear.

    Parameters
    ----------
    levels : (n,) array      Of the storage curve, rising. [m]
    volumes : (n,) array     Held up to each level, never falling. [m³]
    inflows : (n,) array     What runs in when the water stands at each level [m³/s].
    start : Elevation        Level at which pumping begins, on the curve. [m]
    end : Elevation          Level that is wanted, not above the start. [m]
    pump : Flow              What the pump lifts while it runs. [m³/s], >= 0
    fastest : Speed          How fast the level may fall. [m/s], > 0
    share : Ratio            Share of the day that the pump runs at most. [-], 0 < share <= 1

    Returns
    -------
    Draining                 [s]

    Raises
    ------
    DomainError              If the curve does not rise, or a number is out of its range.

    Notes
    -----
    Between two levels the surface A = ΔV / Δz, and what runs in changes evenly.  With q the pump's mean flow
    less what runs in, qa above and qb below, the piece takes A Δz ln(qa / qb) / (qa − qb), or Δz / v where
    the level would fall faster than v allows; a piece in which either begins or ends is parted there.  Where
    q comes to zero the water stops.  What is lifted is the water that was there and what ran in meanwhile.

    Examples
    --------
    A tank of 100 m² and 2 m, a pump of 10 L/s, 2 L/s running in; then no more than 0.3 m a day:

    >>> levels, volumes = np.array([0.0, 2.0]), np.array([0.0, 200.0])
    >>> inflows = np.array([0.002, 0.002])
    >>> round(drained(levels, volumes, inflows, 2.0, 0.0, 0.010).time / 3600.0, 3)
    6.944
    >>> slow = drained(levels, volumes, inflows, 2.0, 0.0, 0.010, fastest=0.3 / 86_400.0)
    >>> round(slow.time / 86_400.0, 3), round(slow.run_time / 3600.0, 2)
    (6.667, 37.56)

    hand

    References
    ----------
    .. [1] Derived: dV/dt = −q(z) solved in closed form on each piece.
    """
    _require_curve(levels, volumes, inflows, start, end)
    _require_pump(pump, fastest, share)
    mean = pump * share
    time = slowed = pumped = 0.0
    level, course = start, [(start, 0.0)]
    for piece in _pieces(levels, volumes, inflows, start, end):
        if max(piece.upper, piece.lower) >= mean:
            # Also where only its lower end is at rest: the water comes there never.
            return _stopped(level - _share_that_sinks(piece, mean) * piece.depth, slowed, course)
        for part in _parted(piece, mean, fastest):
            took, held_back = _time_of(part, mean, fastest)
            time += took
            slowed += took if held_back else 0.0
            pumped += (
                part.area * part.depth + 0.5 * (part.upper + part.lower) * took if held_back else mean * took
            )
        level -= piece.depth
        course.append((level, time))
    course[-1] = (end, time)
    track = np.array(course)
    return Draining(time, pumped / pump if pump > 0.0 else 0.0, slowed, pumped, end, track[:, 0], track[:, 1])


def largest_useful_pump(
    levels: Elevations,
    volumes: Volumes,
    inflows: FloatArray,
    start: Elevation,
    end: Elevation,
    fastest: Speed,
) -> Flow:
    """Pump beyond which nothing is gained, since the banks bear no faster fall.

    Parameters
    ----------
    levels : (n,) array      Of the storage curve, rising. [m]
    volumes : (n,) array     Held up to each level, never falling. [m³]
    inflows : (n,) array     What runs in when the water stands at each level [m³/s].
    start : Elevation        Level at which pumping begins. [m]
    end : Elevation          Level that is wanted. [m]
    fastest : Speed          How fast the level may fall. [m/s], > 0

    Returns
    -------
    Flow                     Running day and night. [m³/s]

    Raises
    ------
    DomainError              If the curve does not rise, or a number is out of its range.

    Notes
    -----
    The largest of A v + I over the pieces of the curve.

    Examples
    --------
    >>> levels, volumes = np.array([0.0, 2.0]), np.array([0.0, 200.0])
    >>> flow = largest_useful_pump(levels, volumes, np.array([0.002, 0.002]), 2.0, 0.0, 0.3 / 86_400.0)
    >>> round(1e3 * flow, 3)
    2.347

    hand

    References
    ----------
    .. [1] Derived: the balance of the pond at the fastest fall.
    """
    _require_curve(levels, volumes, inflows, start, end)
    _require_pump(0.0, fastest, 1.0)
    return max(
        (
            piece.area * fastest + max(piece.upper, piece.lower)
            for piece in _pieces(levels, volumes, inflows, start, end)
        ),
        default=0.0,
    )


def fastest_fall(
    levels: Elevations,
    volumes: Volumes,
    inflows: FloatArray,
    start: Elevation,
    end: Elevation,
    pump: Flow,
) -> Speed:
    """How fast the level would fall at the fastest, if the pump were never held back.

    Parameters
    ----------
    levels : (n,) array      Of the storage curve, rising. [m]
    volumes : (n,) array     Held up to each level, never falling. [m³]
    inflows : (n,) array     What runs in when the water stands at each level [m³/s].
    start : Elevation        Level at which pumping begins. [m]
    end : Elevation          Level that is wanted. [m]
    pump : Flow              What is lifted on the mean of a day. [m³/s], >= 0

    Returns
    -------
    Speed                    0 where it does not fall; the narrow foot of the pond, the lowest tenth of
                             what it held, is left out. [m/s]

    Raises
    ------
    DomainError              If the curve does not rise, or a number is out of its range.

    Notes
    -----
    The largest of (Q − I) / A over the pieces of the curve.

    Examples
    --------
    >>> levels, volumes = np.array([0.0, 2.0]), np.array([0.0, 200.0])
    >>> speed = fastest_fall(levels, volumes, np.array([0.002, 0.002]), 2.0, 0.0, 0.010)
    >>> round(speed * 86_400.0, 3)
    6.912

    hand

    References
    ----------
    .. [1] Derived: the balance of the pond.
    """
    _require_curve(levels, volumes, inflows, start, end)
    _require_pump(pump, math.inf, 1.0)
    held = np.interp([end, start], levels, volumes)
    foot = held[0] + FOOT * (held[1] - held[0])
    found, level = 0.0, start
    for piece in _pieces(levels, volumes, inflows, start, end):
        if np.interp(level, levels, volumes) <= foot or piece.area <= 0.0:
            break
        found = max(found, (pump - min(piece.upper, piece.lower)) / piece.area)
        level -= piece.depth
    return found


def _pieces(
    levels: Elevations, volumes: Volumes, inflows: FloatArray, start: Elevation, end: Elevation
) -> Iterator[_Piece]:
    """Pieces of the curve between two levels, from above."""
    nodes = np.array([start, *levels[(levels > end) & (levels < start)][::-1], end])
    held, coming = np.interp(nodes, levels, volumes), np.interp(nodes, levels, inflows)
    for index, (upper, lower) in enumerate(pairwise(nodes)):
        if upper > lower:
            area = (held[index] - held[index + 1]) / (upper - lower)
            yield _Piece(float(upper - lower), float(area), float(coming[index]), float(coming[index + 1]))


def _share_that_sinks(piece: _Piece, mean: Flow) -> Ratio:
    """Share of a piece through which the water falls before as much runs in as is lifted."""
    return 0.0 if piece.upper >= mean else (mean - piece.upper) / (piece.lower - piece.upper)


def _parted(piece: _Piece, mean: Flow, fastest: Speed) -> Iterator[_Piece]:
    """The piece, parted where the limit of the fall begins or ends."""
    change = piece.lower - piece.upper
    at = (mean - piece.area * fastest - piece.upper) / change if change and math.isfinite(fastest) else 0.0
    if 0.0 < at < 1.0:
        yield piece.part(0.0, at)
        yield piece.part(at, 1.0)
    else:
        yield piece


def _time_of(part: _Piece, mean: Flow, fastest: Speed) -> tuple[Time, bool]:
    """Time of a part through which the water falls, and whether the pump is held back in it."""
    above, below = mean - part.upper, mean - part.lower
    if 0.5 * (above + below) > part.area * fastest:
        return part.depth / fastest, True
    # ln(a / b) / (a - b) without a difference of near numbers.
    gap = (above - below) / below
    per_flow = (math.log1p(gap) / gap if gap else 1.0) / below
    return part.area * part.depth * per_flow, False


def _stopped(level: Elevation, slowed: Time, course: list[tuple[float, float]]) -> Draining:
    track = np.array(course)
    return Draining(math.inf, math.inf, slowed, math.inf, level, track[:, 0], track[:, 1])


def _require_curve(
    levels: Elevations, volumes: Volumes, inflows: FloatArray, start: Elevation, end: Elevation
) -> None:
    if not len(levels) == len(volumes) == len(inflows) >= 2:
        raise DomainError("the curve must have two or more levels, each with its volume and inflow")
    if np.any(np.diff(levels) <= 0.0) or np.any(np.diff(volumes) < 0.0):
        raise DomainError("`levels` must rise and `volumes` must not fall along the curve")
    if not levels[0] - 1e-9 <= end <= start <= levels[-1] + 1e-9:
        raise DomainError(
            f"`start` and `end` must lie on the curve, {levels[0]:g} to {levels[-1]:g} m, the start not "
            f"below the end, got {start:g} and {end:g} m"
        )


def _require_pump(pump: Flow, fastest: Speed, share: Ratio) -> None:
    if pump < 0.0 or not fastest > 0.0 or not 0.0 < share <= 1.0:
        raise DomainError(
            f"`pump` must not be below 0 m³/s, `fastest` above 0 m/s and `share` above 0 and up to 1, got "
            f"{pump:g} m³/s, {fastest:g} m/s and {share:g}"
        )
