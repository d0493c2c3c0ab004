"""Stone of a fall: stones that spill, the face below them, frame and wings beside them, and what backs it.

See Also
--------
pondwright.rooms.stone.courses : stones in a row.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Density, Length, Mass, Ratio
from pondwright.rooms.stone.courses import WHOLE
from pondwright.rooms.stone.layers import bulk_density

PACKED: Ratio = 0.30
"""Voids of stone placed by hand behind a fall; common practice. [-]"""


@dataclass(frozen=True, slots=True)
class FallCount:
    """Stones of one fall: those that spill, the face under them, the frame beside them, and both wings."""

    spill: int
    face: int
    frame: int
    wings: int


def fall_stones(
    width: Length,
    drop: Length,
    spill: Length | None,
    frame: Length | None,
    wing: Length,
    frame_height: Length | None = None,
) -> FallCount:
    """Stones of a fall, by their sizes.

    Parameters
    ----------
    width : Length            Of its face. [m], > 0
    drop : Length             From lip to lower water. [m], > 0
    spill : Length            Spill stone along the lip, on average; none is not counted. [m], > 0
    frame : Length            Frame stone along its row; none is not counted. [m], > 0
    wing : Length             Length of each wing. [m], >= 0
    frame_height : Length     Height of a frame stone as it is set; none is its size. [m], > 0

    Returns
    -------
    FallCount

    Raises
    ------
    DomainError               If a length is out of its range.

    Notes
    -----
    Face: as many courses as the drop asks for, times the stones in a course.  Frame: one stone on each side
    of the lip.  Wings: the courses of the face and one more beside the lip, times the stones along each wing.

    Examples
    --------
    >>> fall_stones(1.2, 0.6, 0.6, 0.5, 0.6)
    FallCount(spill=2, face=6, frame=2, wings=12)

    hand

    References
    ----------
    .. [1] Common practice, no source.
    """
    for name, told in (("width", width), ("drop", drop), ("spill", spill), ("frame", frame)):
        if told is not None and not told > 0.0:
            raise DomainError(f"`{name}` must be above 0 m, got {told:g} m")
    if wing < 0.0:
        raise DomainError(f"`wing` must be at least 0 m, got {wing:g} m")
    spills = 0 if spill is None else _stones(width, spill)
    if frame is None:
        return FallCount(spills, 0, 0, 0)
    height = frame if frame_height is None else frame_height
    if not height > 0.0:
        raise DomainError(f"`frame_height` must be above 0 m, got {height:g} m")
    courses = _stones(drop, height)
    return FallCount(spills, courses * _stones(width, frame), 2, 2 * (courses + 1) * _stones(wing, frame))


def backing_mass(
    width: Length, drop: Length, thickness: Length, solid: Density, porosity: Ratio = PACKED
) -> Mass:
    """Mass of the stone that is packed behind a fall and its wings.

    Parameters
    ----------
    width : Length         Of the prism, wings counted. [m], >= 0
    drop : Length          Its height. [m], >= 0
    thickness : Length     [m], >= 0
    solid : Density        Of the solid stone. [kg/m³], > 0
    porosity : Ratio       Share of voids. [-], 0 to below 1

    Returns
    -------
    Mass                   [kg]

    Raises
    ------
    DomainError            If a number is out of its range.

    Notes
    -----
    ρ (1 - n) times the volume of the prism.

    Examples
    --------
    >>> round(backing_mass(1.2, 0.9, 0.5, 2650.0), 1)
    1001.7

    hand

    References
    ----------
    .. [1] Derived: volume times bulk density.
    """
    if min(width, drop, thickness) < 0.0:
        raise DomainError(
            f"`width`, `drop` and `thickness` must be at least 0 m, got {min(width, drop, thickness):g} m"
        )
    return width * drop * thickness * bulk_density(solid, porosity)


def _stones(length: Length, size: Length) -> int:
    return math.ceil(length / size - WHOLE)
