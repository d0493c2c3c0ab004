"""The liner's edge: where it ends all round against the water, and the band that shows when the water falls.

The edge of a liner is one-sided: it may stand higher than drawn, never lower.  Where the ground behind it
is too low, the water finds the place.

See Also
--------
pondwright.rooms.lining.band : from where the band is seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths, Slope
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.rooms.shape.profile import Profile

LOOKS: int = 7
"""Places across the bank at which its top is looked for."""

JOINED: Length = 1.0
"""Low places nearer to each other along the shore than this are one. [m]"""


@dataclass(frozen=True, slots=True)
class LowPlace:
    """A stretch of the edge that is too low.

    Attributes
    ----------
    station : Length          Where it is lowest, along its ring from the first peg. [m]
    point : (east, north)     The same place. [m]
    lack : Length             How far the edge lies below what is wanted there. [m]
    edge : Elevation          Of the edge there. [m]
    length : Length           Of the stretch. [m]
    """

    station: Length
    point: tuple[Length, Length]
    lack: Length
    edge: Elevation
    length: Length


@dataclass(frozen=True, slots=True)
class BankBand:
    """Part of a bank between two levels of the water.

    Attributes
    ----------
    width : Length        Along the bank. [m]
    offset : Length       Inward from the shore to its lower edge, level. [m]
    risers : Length       Of the width: upright faces. [m]
    """

    width: Length
    offset: Length
    risers: Length


def edge_level(wanted: Elevations, ground: Elevations, upturn: Lengths) -> Elevations:
    """Level at which the liner ends: as wanted, or as high as the ground and what is turned up let it stand.

    Parameters
    ----------
    wanted : (n,) array     [m]
    ground : (n,) array     Highest ground on which it can lie. [m]
    upturn : (n,) array     Length turned up behind a stone there; 0 where it lies in a trench. [m], >= 0

    Returns
    -------
    (n,) array              [m]

    Raises
    ------
    DomainError             If a length is below 0.

    Examples
    --------
    >>> edge_level(np.array([1.1, 1.1]), np.array([1.3, 0.95]), np.array([0.1, 0.1])).round(2).tolist()
    [1.1, 1.05]

    hand

    References
    ----------
    .. [1] Derived: a sheet stands no higher than what holds it.
    """
    if (upturn < 0.0).any():
        raise DomainError("`upturn` must not be below 0 m")
    return np.minimum(wanted, ground + upturn)


def low_places(
    edge: Elevations, wanted: Elevations, station: Lengths, points: Lengths, length: Length, exact: Length
) -> tuple[LowPlace, ...]:
    """Stretches of a closed edge that lie lower than is wanted, the lowest first.

    Parameters
    ----------
    edge, wanted : (n,) arrays     [m]
    station : (n,) array           Along the edge. [m]
    points : (n, 2) array          [m]
    length : Length                Of the whole edge. [m]
    exact : Length                 What is lower by no more than this is not low. [m], >= 0

    Returns
    -------
    tuple of LowPlace

    Raises
    ------
    DomainError                    If it is to be more exact than 0.

    Examples
    --------
    >>> edge = np.array([1.1, 1.0, 1.1, 1.1, 1.1, 1.05])
    >>> points = np.column_stack([np.arange(6.0), np.zeros(6)])
    >>> found = low_places(edge, np.full(6, 1.1), np.arange(6.0), points, 6.0, 0.001)
    >>> [(low.station, round(low.lack, 2), low.length) for low in found]
    [(1.0, 0.1, 1.0), (5.0, 0.05, 1.0)]

    hand

    References
    ----------
    .. [1] Derived: runs of a walk.
    """
    if exact < 0.0:
        raise DomainError(f"`exact` must not be below 0 m, got {exact} m")
    lack = wanted - edge
    steps = np.diff(np.append(station, length))
    found = []
    for run in _runs(lack > exact, steps):
        worst = int(run[np.argmax(lack[run])])
        found.append(
            LowPlace(
                float(station[worst]),
                (float(points[worst, 0]), float(points[worst, 1])),
                float(lack[worst]),
                float(edge[worst]),
                float(steps[run].sum()),
            )
        )
    return tuple(sorted(found, key=lambda low: -low.lack))


def bank_band(profile: Profile, fall: Length) -> BankBand:
    """Part of a bank that lies dry when the water has fallen.

    Parameters
    ----------
    profile : Profile     Of the bank.
    fall : Length         Of the water, from full. [m], >= 0

    Returns
    -------
    BankBand              Down to the floor at most.

    Raises
    ------
    DomainError           If the water rises.

    Notes
    -----
    Risers count their height, slopes √(run² + drop²).

    Examples
    --------
    >>> from pondwright.rooms.shape.profile import bank_profile
    >>> bank = bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.4, 1.5)])
    >>> bank_band(bank, 0.2)
    BankBand(width=0.2, offset=0.0, risers=0.2)
    >>> found = bank_band(bank, 0.9)
    >>> round(found.width, 3), round(found.offset, 3), round(found.risers, 3)
    (2.1, 1.6, 0.3)

    hand

    References
    ----------
    .. [1] Derived: length of a broken line.
    """
    if fall < 0.0:
        raise DomainError(f"`fall` must not be below 0 m, got {fall} m")
    width = risers = depth = 0.0
    at = 0.0
    for distance, drop in _corners(profile):
        run = distance - at
        if drop > 0.0 and depth + drop > fall:
            share = max(0.0, (fall - depth) / drop)
            run, drop = share * run, share * drop
            distance = at + run
            width += float(np.hypot(run, drop))
            risers += drop if run == 0.0 else 0.0
            return BankBand(width, distance, risers)
        if depth + drop >= fall - 1e-12 and drop <= 0.0:
            return BankBand(width, at, risers)
        width += float(np.hypot(run, drop))
        risers += drop if run == 0.0 else 0.0
        depth, at = depth + drop, distance
    return BankBand(width, at, risers)


def needed_reach(
    height: Length, slope_in: Slope, upturn: Length, setback: Length = 0.0, trench: Length = 0.0
) -> Length:
    """How far beyond the shore a liner must reach on the ground to end as drawn.

    Parameters
    ----------
    height : Length       Of its edge above the full water. [m], >= 0
    slope_in : Slope      Of the bank above the water, level for one upright. [m/m], > 0
    upturn : Length       Turned up behind the edge stone. [m], >= 0
    setback : Length      Level from there to an anchor trench. [m], >= 0
    trench : Length       Depth of the trench: down one side and along its floor. [m], >= 0

    Returns
    -------
    Length                [m]

    Raises
    ------
    DomainError           If a number is out of its range.

    Notes
    -----
    Turned up, it runs up the bank to (height - upturn) and stands from there; in a trench, up to the height,
    then the setback and twice the trench.

    Examples
    --------
    >>> round(needed_reach(0.1, 2.0, 0.1), 3), round(needed_reach(0.3, 2.0, 0.0, 0.6, 0.3), 3)
    (0.1, 1.871)

    hand

    References
    ----------
    .. [1] Derived: length of a broken line.
    """
    if min(height, upturn, setback, trench) < 0.0 or not slope_in > 0.0:
        raise DomainError("lengths of an edge must not be below 0, and its bank must have a slope")
    climb = max(height - upturn, 0.0) if trench == 0.0 else height
    return float(climb * np.sqrt(1.0 + slope_in**2) + upturn + setback + 2.0 * trench)


def reach_along(beyond: Length, freeboard: Length, slope_in: Slope) -> Length:
    """Length on the ground of a liner that reaches so far beyond the shore on the plan.

    Parameters
    ----------
    beyond : Length        On the plan. [m], >= 0
    freeboard : Length     Height of the bank, level from there on. [m], >= 0
    slope_in : Slope       Of the bank, level for one upright. [m/m], > 0

    Returns
    -------
    Length                 [m]

    Raises
    ------
    DomainError            If a number is out of its range.

    Examples
    --------
    >>> round(reach_along(1.0, 0.3, 2.0), 4)
    1.0708

    hand

    References
    ----------
    .. [1] Derived: length of a broken line.
    """
    if min(beyond, freeboard) < 0.0 or not slope_in > 0.0:
        raise DomainError("lengths of an edge must not be below 0, and its bank must have a slope")
    climbed = min(beyond, freeboard * slope_in)
    return float(climbed * np.sqrt(1.0 + 1.0 / slope_in**2) + beyond - climbed)


def rim_ground(
    finish: Elevations, grid: Grid, points: Lengths, outward: FloatArray, reach: Length
) -> Elevations:
    """Highest ground beside each place of a shore, as far as the liner reaches.

    Parameters
    ----------
    finish : (rows, columns) array     [m]
    grid : Grid                        Where the nodes are.
    points : (n, 2) array              Of the shore. [m]
    outward : (n, 2) array             Away from the water, of length 1.
    reach : Length                     [m], >= 0

    Returns
    -------
    (n,) array                         [m]

    Raises
    ------
    DomainError                        If the reach is below 0.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, 4, 2)
    >>> bank = np.tile([0.0, 0.2, 0.3, 0.1], (2, 1))
    >>> rim_ground(bank, grid, np.array([[0.0, 0.5]]), np.array([[1.0, 0.0]]), 3.0).round(6).tolist()
    [0.3]

    hand

    References
    ----------
    .. [1] Derived: greatest of some places across the bank.
    """
    if reach < 0.0:
        raise DomainError(f"`reach` must not be below 0 m, got {reach} m")
    west, south, east, north = grid.extent
    places = points[None] + np.linspace(0.0, reach, LOOKS)[:, None, None] * outward[None]
    held = np.clip(places, (west, south), (east, north)).reshape(-1, 2)
    return np.asarray(surface_at(finish, grid, held).reshape(LOOKS, -1).max(axis=0))


def off_by(built: Elevation, wanted: Elevation, low: Length, high: Length) -> Length:
    """How far a built edge is out of its one-sided tolerance.

    Parameters
    ----------
    built, wanted : Elevation     [m]
    low : Length                  That it may be lower. [m], >= 0
    high : Length                 That it may be higher. [m], >= 0

    Returns
    -------
    Length                        Below 0 too low, above 0 too high, 0 within. [m]

    Raises
    ------
    DomainError                   If a tolerance is below 0.

    Examples
    --------
    >>> [round(off_by(built, 10.0, 0.0, 0.05), 3) for built in (9.99, 10.03, 10.08)]
    [-0.01, 0.0, 0.03]

    hand

    References
    ----------
    .. [1] Derived: distance from an interval.
    """
    if low < 0.0 or high < 0.0:
        raise DomainError(f"tolerances must not be below 0 m, got {low} m, {high} m")
    return min(built - (wanted - low), 0.0) + max(built - (wanted + high), 0.0)


def _corners(profile: Profile) -> Sequence[tuple[Length, Length]]:
    """Pieces of a profile from the shore inward: where each ends, and how far it drops."""
    pieces: list[tuple[float, int, float, float]] = []
    ends = zip(profile.knots[1:], np.diff(profile.depths), strict=True)
    pieces += [(float(end), 0, float(end), float(drop)) for end, drop in ends]
    risers = zip(profile.risers, profile.heights, strict=True)
    pieces += [(float(at), 1, float(at), float(drop)) for at, drop in risers]
    pieces.sort(key=lambda piece: (piece[0], piece[1]))
    return [(end, drop) for _, _, end, drop in pieces]


def _runs(low: NDArray[np.bool_], steps: Lengths) -> list[NDArray[np.intp]]:
    """Indices of the runs of a closed walk, those that lie close to each other joined."""
    if not low.any():
        return []
    if low.all():
        return [np.arange(len(low))]
    start = int(np.argmin(low))
    order = np.roll(np.arange(len(low)), -start)
    runs: list[list[int]] = []
    gap = np.inf
    for index in order.tolist():
        if low[index]:
            if gap <= JOINED and runs:
                runs[-1].append(index)
            else:
                runs.append([index])
            gap = 0.0
        else:
            gap += float(steps[index])
    return [np.array(run) for run in runs]
