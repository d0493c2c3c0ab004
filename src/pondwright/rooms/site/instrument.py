"""How good a level is: its own errors, the errors of the rod, and the curve of the earth.

The data sheet of a laser states an angle, or millimetres at a distance, which is the same; a level
that is out of true is found by the two-peg test.  Both grow with the length of the sight and drop out of
a difference between equal sights.

See Also
--------
pondwright.rooms.site.levelling : what the readings become.
"""

from __future__ import annotations

import math

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Length, Slope

EARTH_RADIUS = 6_371_000.0
"""Mean radius of the earth [m]."""

REFRACTION = 0.13
"""Share of the curve of the earth that refraction takes back: Ghilani and Wolf, from memory."""

LASER_ANGLE = 5.0e-5
"""Flatness of a laser plane [rad]: 1.5 mm at 30 m, as data sheets say; common practice."""

DETECTOR_STEP = 0.005
"""Step in which a detector is read on the rod [m]; common practice."""

ROD_LEAN = math.radians(2.0)
"""Lean of a rod held by hand [rad]; common practice."""

USUAL_ROD = 2.0
"""Reading at which the lean of the rod is reckoned [m]; common practice."""

USUAL_SIGHT = 30.0
"""Length of a sight that was not noted [m]; common practice."""


def curvature_refraction(distance: Length) -> Length:
    """How much too large a reading is because the earth is round and the air bends light.

    Parameters
    ----------
    distance : Length     Length of the sight. [m], >= 0

    Returns
    -------
    Length                To be taken off a rod reading. [m]

    Raises
    ------
    DomainError           If the distance is negative.

    Notes
    -----
    (1 - k) s² / (2 R) with k = 0.13 and R = 6371 km: 0.7 mm at 100 m.  It drops out between equal sights; a
    laser plane is a tangent plane too.

    Examples
    --------
    >>> round(1000.0 * curvature_refraction(100.0), 3)
    0.683

    hand

    References
    ----------
    .. [1] Ghilani and Wolf, Elementary Surveying, curvature and refraction; from memory.
    """
    _require_distance(distance)
    return (1.0 - REFRACTION) * distance**2 / (2.0 * EARTH_RADIUS)


def laser_error(distance: Length, angle: Angle = LASER_ANGLE) -> Length:
    """Error in height of a laser plane that is out by an angle.

    Parameters
    ----------
    distance : Length     Length of the sight. [m], >= 0
    angle : Angle         Error of the plane, as its data sheet states. [rad]

    Returns
    -------
    Length                [m]

    Raises
    ------
    DomainError           If the distance is negative.

    Notes
    -----
    e = s tan θ.

    Examples
    --------
    >>> round(1000.0 * laser_error(30.0, math.radians(10.0 / 3600.0)), 4)
    1.4544

    hand

    References
    ----------
    .. [1] Derived: right-angled triangle.
    """
    _require_distance(distance)
    return distance * math.tan(angle)


def lean_error(rod: Length, lean: Angle = ROD_LEAN) -> Length:
    """How much too large a reading is on a rod that leans.

    Parameters
    ----------
    rod : Length      The reading. [m]
    lean : Angle      Lean of the rod. [rad]

    Returns
    -------
    Length            [m]

    Notes
    -----
    r (1 - cos a): 4.1 mm at 3 m and three degrees.

    Examples
    --------
    >>> round(1000.0 * lean_error(3.0, math.radians(3.0)), 1)
    4.1

    hand

    References
    ----------
    .. [1] Derived: plane trigonometry.
    """
    return abs(rod) * (1.0 - math.cos(lean))


def reading_sigma(
    distance: Length = USUAL_SIGHT,
    *,
    angle: Angle = LASER_ANGLE,
    step: Length = DETECTOR_STEP,
    lean: Angle = ROD_LEAN,
    foot: Length = 0.0,
) -> Length:
    """Standard deviation of one rod reading.

    Parameters
    ----------
    distance : Length     Length of the sight. [m], >= 0
    angle : Angle         Error of the laser plane. [rad]
    step : Length         Step in which the rod is read. [m]
    lean : Angle          Lean of the rod, reckoned at a reading of 2 m. [rad]
    foot : Length         How far the foot of the rod sinks in. [m]

    Returns
    -------
    Length                [m]

    Raises
    ------
    DomainError           If the distance is negative.

    Notes
    -----
    √((s θ)² + step²/12 + lean² + foot²), all taken as independent: 2.4 mm at 30 m with the figures that
    stand here, which are common practice.

    Examples
    --------
    >>> round(1000.0 * reading_sigma(30.0), 1)
    2.4

    hand

    References
    ----------
    .. [1] Derived: propagation of independent errors; a step read to its middle has step/√12.
    """
    return math.hypot(laser_error(distance, angle), step / math.sqrt(12.0), lean_error(USUAL_ROD, lean), foot)


def collimation(
    middle_a: Length, middle_b: Length, near_a: Length, near_b: Length, sight_difference: Length
) -> Slope:
    """Error of the level's line by the two-peg test.

    The level stands midway between two pegs, where its error drops out, and then near one of them.

    Parameters
    ----------
    middle_a, middle_b : Length     Readings on the pegs from the middle. [m]
    near_a, near_b : Length         Readings on the same pegs from near one of them. [m]
    sight_difference : Length       Sight to A less sight to B, from there. [m], not 0

    Returns
    -------
    Slope                           Rise of the line with distance. [m/m]

    Raises
    ------
    DomainError                     If the two sights are equally long: then nothing is tested.

    Notes
    -----
    c = ((a₂ - b₂) - (a₁ - b₁)) / (d_A - d_B).  A rotating laser is tested along both its axes, each again
    after half a turn.

    Examples
    --------
    >>> round(1000.0 * collimation(1.500, 1.250, 1.732, 1.466, 40.0), 2)
    0.4

    hand

    References
    ----------
    .. [1] Derived: difference of two differences in height.
    """
    if sight_difference == 0.0:
        raise DomainError("`sight_difference` must not be 0 m: near one peg the two sights differ")
    return ((near_a - near_b) - (middle_a - middle_b)) / sight_difference


def _require_distance(distance: Length) -> None:
    if distance < 0.0:
        raise DomainError(f"`distance` must be at least 0 m, got {distance:g} m")
