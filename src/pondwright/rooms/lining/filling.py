"""The first test of a liner: filled bare to its first shelf, before any stone is on it.

A leak that is found now is found in an afternoon; under a hundred tons of stone it is not.

See Also
--------
pondwright.rooms.shape.storage : how much water that takes.
"""

from __future__ import annotations

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Flow, Length, Speed, Time
from pondwright.rooms.shape.profile import Profile

DAY: Time = 86_400.0


def leak(drop: Length, lost: Length, area: Area, time: Time) -> Flow:
    """Leak of a still pond.

    Parameters
    ----------
    drop : Length     By which the water fell. [m]
    lost : Length     Of that, to the air, less the rain: what a pan of water beside it lost. [m]
    area : Area       Of the water. [m²], > 0
    time : Time       [s], > 0

    Returns
    -------
    Flow              Below 0 where the pond gained. [m³/s]

    Raises
    ------
    DomainError       If there is no area or no time.

    Examples
    --------
    12 mm in 48 h, of which the air took 4 mm a day, on 240 m²: 480 L a day.

    >>> round(leak(0.012, 0.008, 240.0, 2 * DAY) * DAY, 9)
    0.48

    hand

    References
    ----------
    .. [1] Derived: balance of water.
    """
    if not (area > 0.0 and time > 0.0):
        raise DomainError(f"a test must have an area and a time, got {area} m², {time} s")
    return (drop - lost) * area / time


def detected_leak(reading: Length, area: Area, time: Time) -> Flow:
    """Smallest leak that a test can tell.

    Parameters
    ----------
    reading : Length     How far a reading of the level may be out. [m], > 0
    area : Area          Of the water. [m²], > 0
    time : Time          Between the readings. [s], > 0

    Returns
    -------
    Flow                 [m³/s]

    Raises
    ------
    DomainError          If a number is not above 0.

    Examples
    --------
    1 mm in 24 h over 240 m²: 240 L a day.

    >>> round(detected_leak(0.001, 240.0, DAY) * DAY, 9)
    0.24

    hand

    References
    ----------
    .. [1] Derived: as :func:`leak`.
    """
    if not reading > 0.0:
        raise DomainError(f"`reading` must be above 0 m, got {reading} m")
    return leak(reading, 0.0, area, time)


def allowed_drop(evaporation: Speed, time: Time, reading: Length) -> Length:
    """Fall of the water in a test that is no leak yet.

    Parameters
    ----------
    evaporation : Speed     Fall by evaporation. [m/s], >= 0
    time : Time             Between the readings. [s], >= 0
    reading : Length        How far a reading may be out. [m], >= 0

    Returns
    -------
    Length                  [m]

    Raises
    ------
    DomainError             If a number is below 0.

    Examples
    --------
    >>> round(allowed_drop(0.005 / DAY, 2 * DAY, 0.001), 6)
    0.011

    hand

    References
    ----------
    .. [1] Derived: sum.
    """
    if min(evaporation, time, reading) < 0.0:
        raise DomainError("evaporation, time and reading must not be below 0")
    return evaporation * time + reading


def first_shelf(profile: Profile) -> Length:
    """Depth of the uppermost shelf of a bank: to there a bare liner is filled.

    Parameters
    ----------
    profile : Profile

    Returns
    -------
    Length                Below the full water; a third of the depth where there is no shelf. [m]

    Notes
    -----
    A shelf is a piece that falls by no more than 1 in 8 and begins below the water.

    Examples
    --------
    >>> from pondwright.rooms.shape.profile import bank_profile
    >>> first_shelf(bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.4, 1.5)]))
    0.3
    >>> first_shelf(bank_profile([(0.0, 0.0), (2.4, 1.5)]))
    0.5

    hand

    References
    ----------
    .. [1] Common practice: fill to the first shelf for 24 to 48 h.
    """
    depth = 0.0
    for index in range(len(profile.knots) - 1):
        start, end = profile.knots[index], profile.knots[index + 1]
        risers = profile.heights[profile.risers <= start].sum()
        depth = float(profile.depths[index] + risers)
        fall = float(profile.depths[index + 1] - profile.depths[index])
        if depth > 0.0 and fall <= (end - start) / 8.0:
            return depth
    return profile.floor_depth / 3.0
