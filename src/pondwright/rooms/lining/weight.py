"""Carrying and laying a liner: its mass, people or a machine, its bundle, wind and cold.

See Also
--------
pondwright.rooms.lining.seams : the pieces that are carried.
"""

from __future__ import annotations

import math

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, ArealMass, Length, Mass, Ratio, Speed

GRAVITY: float = 9.80665
AIR: float = 1.25
"""Density of air at 10 °C near the sea. [kg/m³]"""

SUCTION: Ratio = 1.0
"""Suction on a sheet that lies flat in the open, against the pressure of the wind: 0.6 to 1.0. [-]"""

FOLDED: Length = 2.4
"""Width to which a sheet is folded before it is rolled, at most: it is still carried upright. [m]"""

LOOSE: Ratio = 1.3
"""Room that a rolled bundle takes against its sheets alone: air between the folds. [-]"""


def people_for(mass: Mass, each: Mass) -> int:
    """People for a mass.

    Parameters
    ----------
    mass : Mass     [kg], >= 0
    each : Mass     That one person may bear, lifting or dragging. [kg], > 0

    Returns
    -------
    int

    Raises
    ------
    DomainError     If one person bears nothing.

    Examples
    --------
    >>> people_for(629.0, 23.0), people_for(23.0, 23.0), people_for(0.0, 23.0)
    (28, 1, 0)

    hand

    References
    ----------
    .. [1] Derived: division; NIOSH lifting equation for the 23 kg of an ideal lift (from memory).
    """
    if not each > 0.0:
        raise DomainError(f"`each` must be above 0 kg, got {each} kg")
    return math.ceil(mass / each - 1e-9)


def bundle_size(length: Length, width: Length, thickness: Length) -> tuple[Length, Length]:
    """Length and diameter of a sheet that is folded over its width and then rolled over its length.

    Parameters
    ----------
    length, width : Length     Of the sheet. [m], > 0
    thickness : Length         [m], > 0

    Returns
    -------
    (Length, Length)           Of the roll: as long as the folded width, and across. [m]

    Raises
    ------
    DomainError                If a number is not above 0.

    Notes
    -----
    n = ⌈width / 2.4 m⌉ folds; π D² / 4 = 1.3 n t length.

    Examples
    --------
    A sheet of 24.5 m by 19.5 m, 1.14 mm thick: nine folds of 2.17 m.

    >>> tuple(round(each, 2) for each in bundle_size(24.5, 19.5, 0.00114))
    (2.17, 0.65)

    hand

    References
    ----------
    .. [1] Derived: the section of the roll is that of the sheets and the air between them.
    """
    if not (length > 0.0 and width > 0.0 and thickness > 0.0):
        raise DomainError(f"a sheet must have a size, got {length} m by {width} m, {thickness} m thick")
    folds = math.ceil(width / FOLDED - 1e-9)
    return width / folds, math.sqrt(4.0 / math.pi * LOOSE * folds * thickness * length)


def lifting_wind(mass: ArealMass, suction: Ratio = SUCTION) -> Speed:
    """Wind that lifts a sheet which lies by its own weight.

    Parameters
    ----------
    mass : ArealMass     Of the sheet. [kg/m²], >= 0
    suction : Ratio      Against the pressure of the wind. [-], > 0

    Returns
    -------
    Speed                [m/s]

    Raises
    ------
    DomainError          If the mass is below 0, or there is no suction.

    Notes
    -----
    c ½ ρ v² = m g.

    Examples
    --------
    >>> round(lifting_wind(1.311), 2)
    4.54

    hand

    References
    ----------
    .. [1] Derived: weight against suction; 0.6 to 1.0 kPa at 40 m/s is common practice.
    """
    if not (mass >= 0.0 and suction > 0.0):
        raise DomainError(f"a sheet must have a mass and a suction, got {mass} kg/m², {suction}")
    return math.sqrt(2.0 * mass * GRAVITY / (AIR * suction))


def wind_ballast(wind: Speed, mass: ArealMass, suction: Ratio = SUCTION) -> ArealMass:
    """Mass that must lie on a sheet so that a wind does not lift it.

    Parameters
    ----------
    wind : Speed         [m/s], >= 0
    mass : ArealMass     Of the sheet. [kg/m²], >= 0
    suction : Ratio      Against the pressure of the wind. [-], > 0

    Returns
    -------
    ArealMass            None needed below the wind that lifts it. [kg/m²]

    Raises
    ------
    DomainError          If a number is below 0.

    Examples
    --------
    >>> round(wind_ballast(8.0, 1.311), 2), wind_ballast(4.0, 1.311)
    (2.77, 0.0)

    hand

    References
    ----------
    .. [1] Derived: weight against suction.
    """
    if not (wind >= 0.0 and mass >= 0.0 and suction > 0.0):
        raise DomainError(f"wind and sheet must not be below 0, got {wind} m/s, {mass} kg/m², {suction}")
    return max(0.0, suction * 0.5 * AIR * wind**2 / GRAVITY - mass)


def sandbags(area: Area, perimeter: Length, apart: Length, ballast: ArealMass, bag: Mass) -> int:
    """Sandbags that hold a sheet until it is covered.

    Parameters
    ----------
    area : Area            Of the sheet. [m²], >= 0
    perimeter : Length     Of its edge. [m], >= 0
    apart : Length         From bag to bag along the edge, at most. [m], > 0
    ballast : ArealMass    That must lie on it, from :func:`wind_ballast`. [kg/m²], >= 0
    bag : Mass             Of one bag. [kg], > 0

    Returns
    -------
    int                    Enough for both the edge and the mass.

    Raises
    ------
    DomainError            If the distance or the bag is not above 0.

    Examples
    --------
    >>> sandbags(480.0, 88.0, 2.0, 0.0, 15.0), sandbags(480.0, 88.0, 2.0, 2.77, 15.0)
    (44, 89)

    hand

    References
    ----------
    .. [1] Common practice: bags each 1.5 to 3 m; derived for the mass.
    """
    if not (apart > 0.0 and bag > 0.0):
        raise DomainError(f"bags must have a distance and a mass, got {apart} m, {bag} kg")
    return max(math.ceil(perimeter / apart - 1e-9), math.ceil(area * ballast / bag - 1e-9))
