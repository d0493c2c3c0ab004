"""Courses: rows of stones along a shore, counted by classes, each before a step of the bank that it hides.

A step shows its liner unless the stone before it is taller.  Courses are dealt to the steps from the shore
inward, one each; where there are more courses than steps, they are laid upon courses that do not hide theirs,
and then behind the edge.

See Also
--------
pondwright.rooms.shape.stone_fit : what stone a step asks for, and its shelf.
pondwright.rooms.stone.pieces : mass of a stone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Ratio
from pondwright.rooms.shape.profile import Profile, depth_at
from pondwright.rooms.shape.stone_fit import HIDES_LEAST

WHOLE: float = 1e-9
"""How much more than a whole number of stones still counts as that number. [-]"""


@dataclass(frozen=True, slots=True)
class Course:
    """One row of stones of a bank.

    Attributes
    ----------
    offset : Length     Of its outer face from the shore, inward. [m]
    riser : Length      Step that it stands before; 0 is none. [m]
    rows : int          Stones on one another.
    """

    offset: Length
    riser: Length
    rows: int = 1


def stones_along(length: Length, size: Length, gap: Ratio) -> float:
    """Stones in a row of some length, as a number with its fraction.

    Parameters
    ----------
    length : Length     Of the row. [m], >= 0
    size : Length       Of a stone along it, on average. [m], > 0
    gap : Ratio         Left open between two, against a stone. [-], >= 0

    Returns
    -------
    float

    Raises
    ------
    DomainError         If a number is out of its range.

    Notes
    -----
    n = L / (l (1 + g)).

    Examples
    --------
    >>> round(stones_along(24.0, 0.3, 0.05), 2)
    76.19

    hand

    References
    ----------
    .. [1] Common practice, no source: count by length rather than by volume.
    """
    if length < 0.0 or gap < 0.0:
        raise DomainError(f"`length` and `gap` must be at least 0, got {length:g} m and {gap:g}")
    if not size > 0.0:
        raise DomainError(f"`size` must be above 0 m, got {size:g} m")
    return length / (size * (1.0 + gap))


def counted(parts: Sequence[float]) -> tuple[int, ...]:
    """Whole stones for parts that need fractions of them: rounded up over all, by the largest remainder each.

    Parameters
    ----------
    parts : floats     Stones that each part needs. >= 0

    Returns
    -------
    tuple of int       In the same order; together the sum rounded up.

    Raises
    ------
    DomainError        If a part is below 0.

    Notes
    -----
    Each part gets its whole stones; what is left goes to the parts with the largest fractions, the first of
    equal ones before the others.  One class along ten stretches is so ordered once, and not with ten stones
    too many.

    Examples
    --------
    >>> counted([76.19]), counted([2.5, 3.25, 1.0])
    ((77,), (3, 3, 1))

    hand

    References
    ----------
    .. [1] Derived: method of the largest remainder.
    """
    if any(part < 0.0 for part in parts):
        raise DomainError(f"`parts` must be at least 0, got {min(parts):g}")
    total = math.ceil(sum(parts) - WHOLE)
    whole = [math.floor(part + WHOLE) for part in parts]
    remainders = sorted(range(len(parts)), key=lambda place: (whole[place] - parts[place], place))
    for place in remainders[: total - sum(whole)]:
        whole[place] += 1
    return tuple(whole)


def courses_of(profile: Profile, courses: int, height: Length) -> tuple[Course, ...]:
    """Where the courses of a bank stand.

    Parameters
    ----------
    profile : Profile
    courses : int        Rows of stones. >= 1
    height : Length      Of the smallest stone as it stands. [m], > 0

    Returns
    -------
    tuple of Course      From the shore inward; together `courses` rows.

    Raises
    ------
    DomainError          If there is no course, or the stone has no height.

    Examples
    --------
    >>> from pondwright.rooms.shape.profile import bank_profile
    >>> shelved = bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (0.8, 0.9), (2.0, 1.3)])
    >>> [(row.offset, round(row.riser, 2), row.rows) for row in courses_of(shelved, 3, 0.4)]
    [(0.0, 0.3, 1), (0.8, 0.6, 2)]

    hand

    References
    ----------
    .. [1] Common practice, no source: a stone before each step.
    """
    if courses < 1:
        raise DomainError(f"`courses` must be at least 1, got {courses}")
    if not height > 0.0:
        raise DomainError(f"`height` must be above 0 m, got {height:g} m")
    steps = steps_of(profile) or ((0.0, 0.0),)
    rows = [1 if place < courses else 0 for place in range(len(steps))]
    spare = courses - sum(rows)
    for place, (_, riser) in enumerate(steps):
        while spare and rows[place] * height < riser + HIDES_LEAST - WHOLE and riser > 0.0:
            rows[place] += 1
            spare -= 1
    rows[0] += spare
    return tuple(Course(*step, count) for step, count in zip(steps, rows, strict=True) if count)


def steps_of(profile: Profile) -> tuple[tuple[Length, Length], ...]:
    """Steps of a bank: how far inward each is, and how far it drops.

    Parameters
    ----------
    profile : Profile

    Returns
    -------
    pairs of Length     From the shore inward; upward steps are left aside. [m]

    Examples
    --------
    >>> from pondwright.rooms.shape.profile import bank_profile
    >>> steps_of(bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.0, 1.3)]))
    ((0.0, 0.3),)

    hand

    References
    ----------
    .. [1] Derived: risers of a profile.
    """
    return tuple(
        (float(offset), float(height))
        for offset, height in zip(profile.risers, profile.heights, strict=True)
        if height > 0.0
    )


def foot_depth(profile: Profile, offset: Length, height: Length) -> Length:
    """Depth of the ground on which a stone of a course stands, below the water.

    Parameters
    ----------
    profile : Profile
    offset : Length     Of its outer face from the shore, inward. [m], >= 0
    height : Length     Of the stone, which is taken to be as deep. [m], > 0

    Returns
    -------
    Length              In its middle. [m]

    Raises
    ------
    DomainError         If the stone has no height.

    Examples
    --------
    >>> from pondwright.rooms.shape.profile import bank_profile
    >>> round(foot_depth(bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.0, 1.3)]), 0.0, 0.4), 6)
    0.3

    hand

    References
    ----------
    .. [1] Common practice, no source: a stone is as deep as it is tall.
    """
    if not height > 0.0:
        raise DomainError(f"`height` must be above 0 m, got {height:g} m")
    return float(depth_at(profile, np.array([offset + 0.5 * height]))[0])


def hides(height: Length, riser: Length, rows: int = 1) -> bool:
    """Whether stones on one another hide a step: taller than it by 50 mm at least.

    Parameters
    ----------
    height : Length     Of one stone as it stands. [m]
    riser : Length      Of the step. [m]
    rows : int          Stones on one another.

    Returns
    -------
    bool

    Examples
    --------
    >>> hides(0.40, 0.35), hides(0.35, 0.35), hides(0.20, 0.35, rows=2)
    (True, False, True)

    hand

    References
    ----------
    .. [1] Common practice, no source: stone height less 50 to 100 mm.
    """
    return rows * height >= riser + HIDES_LEAST - WHOLE
