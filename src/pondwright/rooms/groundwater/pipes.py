"""Drain pipes that fall: what they carry, how fast, how they lie, and how they are kept clean.

Full pipes go by Manning; a pipe that is partly full by the same formula on its wetted part.  The least fall
is not what water needs but what can be built: a pipe laid against a laser is off by a few millimetres at
each joint, and where two of them may be off against each other by more than the pipe falls, it can climb.

See Also
--------
pondwright.rooms.groundwater.spacing : how far apart drains lie, and what a trench takes in.
pondwright.rooms.groundwater.filters : what is put round them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Elevation, Elevations, Flow, Length, Lengths, Ratio, Speed, Volume
from pondwright.base.sources import Source, from_memory
from pondwright.rooms.groundwater.lines import stations as distances

Wall = Literal["corrugated", "smooth"]

PIPE_LENGTH: Length = 3.0
"""Length over which a pipe is laid at one sight, about a stick of pipe. [m]; common practice, no source."""

SHARP_BEND: Angle = math.radians(45.0)
"""Bend that a rod does not pass. [rad]; common practice, no source."""

SHORTEST_PIECE: Length = 1.0
"""A rest of pipe that is shorter is not laid. [m]; common practice, no source."""

_MOST_TURN = 5.278  # rad of wetted angle at which a round pipe carries the most; above it, less again

_ROUGHNESS = {
    "corrugated": ((0.2048, 0.015), (0.3064, 0.017), (math.inf, 0.020)),
    "smooth": ((math.inf, 0.011),),
}
ROUGHNESS_SOURCE: Source = from_memory(
    "USDA NRCS, National Engineering Handbook, part 650, chapter 14", "Manning's n of drain pipe"
)


@dataclass(frozen=True, slots=True)
class PartFull:
    """A pipe that is partly full: depth of the water [m], its mean speed [m/s], and whether it is full."""

    depth: Length
    speed: Speed
    full: bool


@dataclass(frozen=True, slots=True)
class Need:
    """Pipe that a drain needs: its length and inner diameter [m], slotted or not, and its wall."""

    length: Length
    diameter: Length
    slotted: bool
    wall: str


@dataclass(frozen=True, slots=True, eq=False)
class Stations:
    """A drain's line at stations: distance along it, places, and the bottom of the pipe. [m]

    ``bends`` are the numbers of the stations that are points of the line, first and last with them.
    """

    chainage: Lengths
    points: Lengths
    invert: Elevations
    bends: tuple[int, ...]


def pipe_roughness(wall: Wall, diameter: Length) -> Ratio:
    """Manning's n of a drain pipe by its wall and its size.

    Parameters
    ----------
    wall : str            `corrugated` or `smooth`, inside.
    diameter : Length     Inner diameter. [m]

    Returns
    -------
    Ratio                 [-]

    Notes
    -----
    Corrugated: 0.015 to 8 in, 0.017 to 12 in, 0.020 above; smooth 0.011.

    Examples
    --------
    >>> pipe_roughness("corrugated", 0.1016), pipe_roughness("smooth", 0.3048)
    (0.015, 0.011)

    published

    References
    ----------
    .. [1] USDA NRCS, National Engineering Handbook, part 650, chapter 14; from memory.
    """
    return next(n for most, n in _ROUGHNESS[wall] if diameter <= most)


def full_flow(diameter: Length, fall: Ratio, roughness: Ratio) -> Flow:
    """Flow that a full pipe carries under its own fall.

    Parameters
    ----------
    diameter : Length     Inner diameter. [m], > 0
    fall : Ratio          Fall per length; a pipe that climbs carries nothing. [-]
    roughness : Ratio     Manning's n. [-], > 0

    Returns
    -------
    Flow                  [m³/s]

    Raises
    ------
    DomainError           If the diameter or the roughness is not above zero.

    Notes
    -----
    Q = (A / n) (D/4)^(2/3) √S.

    Examples
    --------
    >>> round(full_flow(0.1016, 0.005, 0.015) * 1000.0, 2)
    3.3

    hand

    References
    ----------
    .. [1] Manning's formula for a full round pipe.
    """
    _require_above_zero(diameter=diameter, roughness=roughness)
    return 0.25 * math.pi * diameter**2 * _full_speed(diameter, max(fall, 0.0), roughness)


def full_speed(diameter: Length, fall: Ratio, roughness: Ratio) -> Speed:
    """Speed of the water in a full pipe under its own fall.

    Parameters
    ----------
    diameter : Length     Inner diameter. [m], > 0
    fall : Ratio          Fall per length; in a pipe that climbs it stands. [-]
    roughness : Ratio     Manning's n. [-], > 0

    Returns
    -------
    Speed                 [m/s]

    Notes
    -----
    v = (D/4)^(2/3) √S / n.

    Examples
    --------
    >>> round(full_speed(0.1016, 0.00549, 0.015) / 0.3048, 2)
    1.4

    hand

    References
    ----------
    .. [1] Manning's formula for a full round pipe.
    """
    _require_above_zero(diameter=diameter, roughness=roughness)
    return _full_speed(diameter, max(fall, 0.0), roughness)


def fall_for_speed(diameter: Length, speed: Speed, roughness: Ratio) -> Ratio:
    """Fall at which a full pipe runs at a speed, for example the one that keeps it clean.

    Parameters
    ----------
    diameter : Length     Inner diameter. [m], > 0
    speed : Speed         [m/s], >= 0
    roughness : Ratio     Manning's n. [-], > 0

    Returns
    -------
    Ratio                 Fall per length. [-]

    Notes
    -----
    S = (v n)² / (D/4)^(4/3).

    Examples
    --------
    >>> round(100.0 * fall_for_speed(0.1016, 1.4 * 0.3048, 0.015), 3)
    0.549

    hand

    References
    ----------
    .. [1] Manning's formula for a full round pipe, turned round.
    """
    _require_above_zero(diameter=diameter, roughness=roughness)
    return float((speed * roughness) ** 2 / (0.25 * diameter) ** (4.0 / 3.0))


def part_full(flow: Flow, diameter: Length, fall: Ratio, roughness: Ratio) -> PartFull:
    """Depth and speed of a flow in a pipe that it does not fill.

    Parameters
    ----------
    flow : Flow           [m³/s], >= 0
    diameter : Length     Inner diameter. [m], > 0
    fall : Ratio          Fall per length. [-]
    roughness : Ratio     Manning's n. [-], > 0

    Returns
    -------
    PartFull              A flow that the full pipe does not carry fills it, and runs at flow over area.

    Raises
    ------
    DomainError           If the flow is below zero.

    Notes
    -----
    With the wetted angle θ: A = D² (θ − sin θ)/8, P = D θ/2, Q = A^(5/3) P^(−2/3) √S / n, depth
    D (1 − cos(θ/2))/2.  The greatest flow of a round pipe, 1.08 times the full one, at 0.94 of its
    depth, is not counted on.

    Examples
    --------
    >>> half = part_full(0.5 * full_flow(0.2, 0.01, 0.011), 0.2, 0.01, 0.011)
    >>> round(half.depth, 4), half.full
    (0.1, False)

    hand

    References
    ----------
    .. [1] Manning's formula on the wetted part; geometry of the circle, derived.
    """
    if flow < 0.0:
        raise DomainError(f"`flow` must be at least 0 m³/s, got {flow:g} m³/s")
    most = full_flow(diameter, fall, roughness)
    if flow == 0.0:
        return PartFull(0.0, 0.0, False)
    if flow >= most:
        return PartFull(diameter, flow / (0.25 * math.pi * diameter**2), True)
    share = flow / most

    def missing(angle: float) -> float:
        # Q/Q_full = (θ − sin θ)^(5/3) / (2π θ^(2/3))
        return float(
            (angle - math.sin(angle)) ** (5.0 / 3.0) / (2.0 * math.pi * angle ** (2.0 / 3.0)) - share
        )

    from scipy.optimize import brentq

    angle = float(brentq(missing, 1e-6, _MOST_TURN, xtol=1e-12))
    area = diameter**2 * (angle - math.sin(angle)) / 8.0
    return PartFull(0.5 * diameter * (1.0 - math.cos(0.5 * angle)), flow / area, False)


def climb_margin(fall: Ratio, tolerance: Length, length: Length = PIPE_LENGTH) -> Ratio:
    """Fall that is left of a pipe as it may be built: its fall less what laying it may be off.

    Parameters
    ----------
    fall : Ratio          Fall per length, as designed. [-]
    tolerance : Length    How far the bottom may be off at each end of a piece. [m], >= 0
    length : Length       Length of a piece. [m], > 0

    Returns
    -------
    Ratio                 Below zero a piece can climb, and water stands in it. [-]

    Raises
    ------
    DomainError           If the length is not above zero.

    Notes
    -----
    Both ends may be off against each other: s − 2 t / l.  With 5 mm in 3 m a fall of 0.33 % is used up,
    which is why 0.1 % is not buildable and 0.5 % is the least.

    Examples
    --------
    >>> round(climb_margin(0.005, 0.005, 3.0), 5), round(climb_margin(0.001, 0.005, 3.0), 5)
    (0.00167, -0.00233)

    hand

    References
    ----------
    .. [1] Derived: two ends, each off by as much as it may be.
    """
    _require_above_zero(length=length)
    return fall - 2.0 * tolerance / length


def cut_line(points: Lengths, inverts: Elevations, step: Length) -> Stations:
    """A drain's line cut into stations, its bends among them.

    Parameters
    ----------
    points : (n, 2) array     The line, from the upper end down. [m], n >= 2
    inverts : (n,) array      Bottom of the pipe at each of its points. [m]
    step : Length             Longest distance between stations. [m], > 0

    Returns
    -------
    Stations

    Raises
    ------
    DomainError               If the line has no length, or the step is not above zero.

    Examples
    --------
    >>> cut = cut_line(np.array([[0.0, 0.0], [3.0, 0.0]]), np.array([1.0, 0.7]), 1.0)
    >>> cut.chainage.tolist(), cut.invert.round(2).tolist(), cut.bends
    ([0.0, 1.0, 2.0, 3.0], [1.0, 0.9, 0.8, 0.7], (0, 3))

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    _require_above_zero(step=step)
    line, bottoms = np.asarray(points, dtype=np.float64), np.asarray(inverts, dtype=np.float64)
    run = distances(line)
    # A point that is given twice bends nothing.
    kept = np.concatenate([[True], np.diff(run) > 1e-9])
    line, bottoms, run = line[kept], bottoms[kept], run[kept]
    if len(run) < 2:
        raise DomainError("`points` must make a line with a length above 0 m, got 0 m")
    stations, bends = [np.zeros(1)], [0]
    for start, end in pairwise(run.tolist()):
        count = max(math.ceil((end - start) / step - 1e-9), 1)
        stations.append(start + (end - start) * np.arange(1, count + 1) / count)
        bends.append(bends[-1] + count)
    chainage = np.concatenate(stations)
    places = np.column_stack([np.interp(chainage, run, line[:, axis]) for axis in (0, 1)])
    return Stations(chainage, places, np.interp(chainage, run, bottoms), tuple(bends))


def falls_of(stations: Stations) -> tuple[Ratio, ...]:
    """Fall of each piece of a drain between two of its points.

    Parameters
    ----------
    stations : Stations

    Returns
    -------
    tuple of Ratio            From the upper end down; below zero a piece climbs. [-]

    Examples
    --------
    >>> cut = cut_line(np.array([[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]]), np.array([1.0, 0.9, 0.95]), 5.0)
    >>> [round(one, 4) for one in falls_of(cut)]
    [0.01, -0.005]

    hand

    References
    ----------
    .. [1] Derived: difference over length.
    """
    run, invert = stations.chainage[list(stations.bends)], stations.invert[list(stations.bends)]
    return tuple(float(fall) for fall in -np.diff(invert) / np.diff(run))


def backed_up(stations: Stations, flood: Elevation) -> Length:
    """Length of a drain up which a flood at its lower end backs up.

    Parameters
    ----------
    stations : Stations
    flood : Elevation         Level of the water that it runs into. [m]

    Returns
    -------
    Length                    From the lower end to the last place whose bottom lies below that level. [m]

    Notes
    -----
    Water passes no bottom that is higher; so it is followed from the lower end only as far as the first
    bottom that stands above it.

    Examples
    --------
    >>> cut = cut_line(np.array([[0.0, 0.0], [30.0, 0.0]]), np.array([95.3, 95.0]), 1.0)
    >>> round(backed_up(cut, 95.1), 3), backed_up(cut, 94.0), backed_up(cut, 99.0)
    (10.0, 0.0, 30.0)

    hand

    References
    ----------
    .. [1] Derived: a level line against the profile.
    """
    run, invert = stations.chainage[::-1], stations.invert[::-1]
    over = np.flatnonzero(invert > flood)
    if not len(over):
        return float(run[0] - run[-1])
    first = int(over[0])
    if first == 0:
        return 0.0
    low, high = float(invert[first - 1]), float(invert[first])
    share = (flood - low) / (high - low)
    return float(run[0] - (run[first - 1] + share * (run[first] - run[first - 1])))


def rodding_eyes(points: Lengths, most: Length) -> tuple[Length, ...]:
    """Where a drain needs an eye to be rodded through.

    Parameters
    ----------
    points : (n, 2) array     The line, from the upper end down. [m]
    most : Length             Longest way between two of them. [m], > 0

    Returns
    -------
    tuple of Length           Distances along the line: its upper end, bends sharper than 45°, and between
                              them so that none is farther than `most`; the lower end is open by itself. [m]

    Examples
    --------
    >>> rodding_eyes(np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 90.0]]), 45.0)
    (0.0, 30.0, 75.0)

    hand

    References
    ----------
    .. [1] Common practice, no source: every 30-50 m and at each end.
    """
    _require_above_zero(most=most)
    run = distances(points)
    steps = np.diff(np.asarray(points, dtype=np.float64), axis=0)
    ways = np.arctan2(steps[:, 1], steps[:, 0])
    turns = np.abs((np.diff(ways) + math.pi) % (2.0 * math.pi) - math.pi)
    fixed = [0.0, *(float(at) for at in run[1:-1][turns > SHARP_BEND + 1e-9]), float(run[-1])]
    eyes: list[float] = []
    for start, end in pairwise(fixed):
        count = max(math.ceil((end - start) / most - 1e-9), 1)
        eyes += [start + (end - start) * number / count for number in range(count)]
    return tuple(eyes)


def eyes_outside(eyes: Sequence[Length], chainage: Lengths, covered: NDArray[np.bool_]) -> tuple[Length, ...]:
    """Rodding eyes moved out from under a liner, each to the nearest free station of its line.

    Parameters
    ----------
    eyes : sequence of Length     Where they are wanted along the line. [m]
    chainage : (n,) array         Stations of the line, rising. [m], n >= 1
    covered : (n,) array          Whether a liner lies over each.

    Returns
    -------
    tuple of Length               Rising, each once; none where a liner lies over the whole line. [m]

    Raises
    ------
    DomainError                   If there are not as many answers as stations.

    Examples
    --------
    >>> eyes_outside((0.0, 20.0), np.array([0.0, 5.0, 10.0, 20.0]), np.array([True, True, False, False]))
    (10.0, 20.0)

    hand

    References
    ----------
    .. [1] Derived: the least distance along the line.
    """
    if len(chainage) != len(covered):
        raise DomainError(f"`covered` must have {len(chainage)} values, one a station, got {len(covered)}")
    free = np.asarray(chainage, dtype=np.float64)[~np.asarray(covered, dtype=np.bool_)]
    if not len(free):
        return ()
    moved = set()
    for eye in eyes:
        hidden = covered[int(np.argmin(np.abs(chainage - eye)))]
        moved.add(float(free[np.argmin(np.abs(free - eye))]) if hidden else float(eye))
    return tuple(sorted(moved))


def pipe_used(
    needs: Mapping[str, Need], on_hand: Mapping[str, Need], shortest: Length = SHORTEST_PIECE
) -> Mapping[tuple[str, str], Length]:
    """Pipe on hand, laid before any is bought.

    Parameters
    ----------
    needs : mapping of Need       What each drain needs, by its name.
    on_hand : mapping of Need     What is there, by its name.
    shortest : Length             A rest of pipe that is shorter is left over. [m]

    Returns
    -------
    mapping of Length             By drain and pipe on hand: the length of it that goes there. [m]

    Notes
    -----
    A pipe on hand serves where its wall and its slots are those that are needed and it is no narrower.
    Wide drains are served first, each with the narrowest pipe that serves: what serves a wide drain serves
    the narrower ones as well, so but for such rests no other order lays more of it.

    Examples
    --------
    >>> drains = {"relief": Need(40.0, 0.10, True, "corrugated")}
    >>> there = {"left_over": Need(18.3, 0.15, True, "corrugated")}
    >>> pipe_used(drains, there)
    {('relief', 'left_over'): 18.3}

    hand

    References
    ----------
    .. [1] Derived: exchange of two pieces never lays less.
    """
    left = {name: pipe.length for name, pipe in on_hand.items()}
    used: dict[tuple[str, str], Length] = {}
    for drain, need in sorted(needs.items(), key=lambda item: (-item[1].diameter, item[0])):
        missing = need.length
        for name, pipe in sorted(on_hand.items(), key=lambda item: (item[1].diameter, item[0])):
            fits = (pipe.slotted, pipe.wall) == (need.slotted, need.wall)
            length = min(missing, left[name]) if left[name] >= shortest else 0.0
            if fits and pipe.diameter >= need.diameter - 5e-4 and length > 0.0:
                used[drain, name] = length
                left[name] -= length
                missing -= length
    return used


def gathered(own: Mapping[str, Flow], into: Mapping[str, str | None]) -> Mapping[str, Flow]:
    """Flow at the lower end of each drain: its own, and that of all that run into it.

    Parameters
    ----------
    own : mapping of Flow         What each drain takes from the ground. [m³/s]
    into : mapping                What each runs into, by name; what is no drain is an end.

    Returns
    -------
    mapping of Flow               By drain. [m³/s]

    Raises
    ------
    DomainError                   If drains run round in a ring.

    Examples
    --------
    >>> gathered({"a": 1.0, "b": 2.0, "c": 4.0}, {"a": "c", "b": "c", "c": "culvert"})
    {'a': 1.0, 'b': 2.0, 'c': 7.0}

    hand

    References
    ----------
    .. [1] Derived: what comes in goes on.
    """
    total = dict(own)
    for name, flow in own.items():
        passed, at = {name}, into.get(name)
        while at is not None and at in own:
            if at in passed:
                raise DomainError(f"`into` must lead to an outlet or a sump, got a ring through `{at}`")
            passed.add(at)
            total[at] += flow
            at = into.get(at)
    return total


def trench_volume(chainage: Lengths, depth: Lengths, width: Length) -> tuple[Length, Volume]:
    """Deepest cut of a trench with upright sides, and what is dug for it.

    Parameters
    ----------
    chainage : (n,) array     [m]
    depth : (n,) array        Ground less the trench's bottom; below zero nothing is dug. [m]
    width : Length            [m], > 0

    Returns
    -------
    tuple                     Deepest cut [m], and volume [m³].

    Examples
    --------
    >>> trench_volume(np.array([0.0, 10.0]), np.array([1.0, 2.0]), 0.5)
    (2.0, 7.5)

    hand

    References
    ----------
    .. [1] Derived: trapezoids between stations.
    """
    _require_above_zero(width=width)
    dug = np.maximum(depth, 0.0)
    return float(dug.max()), float(width * np.trapezoid(dug, chainage))


def _full_speed(diameter: Length, fall: Ratio, roughness: Ratio) -> Speed:
    return float((0.25 * diameter) ** (2.0 / 3.0) * math.sqrt(fall) / roughness)


def _require_above_zero(**values: float) -> None:
    for name, value in values.items():
        if not value > 0.0:
            raise DomainError(f"`{name}` must be above 0, got {value:g}")
