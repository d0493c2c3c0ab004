"""Which stone hides each riser of a bank, and whether it has room to stand there.

A riser shows its liner unless a stone stands before it that is a little taller than the riser.  So risers and
shelves follow the stone that the yard has: the riser is the stone's height less 50 to 100 mm, the shelf its
depth and 150 mm more.

See Also
--------
pondwright.rooms.shape.profile : the bank's section with its risers split off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length
from pondwright.rooms.shape.profile import Profile

HIDES_LEAST: Length = 0.05
HIDES_MOST: Length = 0.10
"""How far a stone stands above the riser that it hides: less shows the liner, more blocks the water. [m]"""

STANDS: float = 3.0
"""Level for one upright of the steepest ground on which a stone stands by itself. [m/m]"""


@dataclass(frozen=True, slots=True)
class StoneFit:
    """One riser and the stone that hides it.

    Attributes
    ----------
    offset : Length                 Of the riser from the shore. [m]
    riser : Length                  How far it drops. [m]
    smallest, largest : Length      Height of the stone that hides it; its depth is taken as its height. [m]
    shelf : Length                  Ground at its foot on which a stone stands; infinite on the floor. [m]
    """

    offset: Length
    riser: Length
    smallest: Length
    largest: Length
    shelf: Length

    @property
    def spare(self) -> Length:
        """Room on the shelf beside the smallest such stone; below zero it does not fit at all. [m]"""
        return self.shelf - self.smallest


def riser_for(height: Length) -> tuple[Length, Length]:
    """Least and greatest riser that a stone hides.

    Parameters
    ----------
    height : Length     Of the stone. [m], > 0.10

    Returns
    -------
    tuple of Length     [m]

    Raises
    ------
    DomainError         If the stone is too small to hide anything.

    Examples
    --------
    >>> [round(riser, 3) for riser in riser_for(0.40)]
    [0.3, 0.35]

    hand

    References
    ----------
    .. [1] Common practice, no source: stone height less 50 to 100 mm.
    """
    if not height > HIDES_MOST:
        raise DomainError(f"`height` must be above {HIDES_MOST} m, got {height} m")
    return height - HIDES_MOST, height - HIDES_LEAST


def stone_fits(profile: Profile) -> tuple[StoneFit, ...]:
    """Stone that hides each riser of a bank, and the shelf that it stands on.

    Parameters
    ----------
    profile : Profile

    Returns
    -------
    tuple of StoneFit     From the shore inward; upward steps are left aside.

    Examples
    --------
    >>> from pondwright.rooms.shape.profile import bank_profile
    >>> found, = stone_fits(bank_profile([(0.0, 0.0), (0.0, 0.3), (0.75, 0.3), (1.75, 1.3)]))
    >>> round(found.smallest, 3), round(found.largest, 3), found.shelf
    (0.35, 0.4, 0.75)

    hand

    References
    ----------
    .. [1] Common practice, no source: stone height less 50 to 100 mm.
    """
    return tuple(
        StoneFit(
            float(offset),
            float(height),
            float(height + HIDES_LEAST),
            float(height + HIDES_MOST),
            _shelf(profile, float(offset)),
        )
        for offset, height in zip(profile.risers, profile.heights, strict=True)
        if height > 0.0
    )


def _shelf(profile: Profile, offset: Length) -> Length:
    """Ground inward of a riser up to the next riser, or to where it gets too steep for a stone."""
    ends = [float(riser) for riser in profile.risers if riser > offset]
    falls, runs = np.diff(profile.depths), np.diff(profile.knots)
    for start, end, fall, run in zip(profile.knots[:-1], profile.knots[1:], falls, runs, strict=True):
        # Banks that are told in whole inches are steeper or flatter by a hair.
        if end > offset and abs(fall) * STANDS > 1.01 * run:
            ends.append(max(float(start), offset))
    return min(ends, default=float("inf")) - offset
