"""Whether stones stay where they are set: on a slope, in running water, in waves, and below a foot.

See Also
--------
pondwright.rooms.stone.lifting : how heavy they are to the machine.
"""

from __future__ import annotations

import math

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Area, Density, Length, Mass, Pressure, Ratio, Slope, Speed
from pondwright.rooms.stone.lifting import GRAVITY

WATER: Density = 1000.0

FRICTION: Angle = math.radians(20.0)
"""Friction of a fabric on a smooth liner, the weakest joint below a stone; common practice, no source."""

TURBULENT: Ratio = 0.86
"""Isbash's coefficient for a stone in turbulent water; 1.20 in calm flow."""

RIPRAP: Ratio = 2.2
"""Hudson's coefficient for graded angular stone in breaking waves."""

WIND: Speed = 20.0
"""Wind in which stones at the shore are to stay. [m/s]; common practice, no source."""

BEARS: Ratio = 0.3
"""Part of the outline of a stone that rests on the ground; common practice, no source."""


def slide_safety(friction: Angle, slope: Slope) -> Ratio:
    """Safety of a stone against sliding down the liner.

    Parameters
    ----------
    friction : Angle     Between the two layers that slide most easily. [rad]
    slope : Slope        Rise for one level. [m/m], >= 0

    Returns
    -------
    Ratio                Infinite on level ground. [-]

    Raises
    ------
    DomainError          If the slope is below 0.

    Notes
    -----
    tan δ / tan β, the same below water, which lifts both sides alike.

    Examples
    --------
    >>> round(slide_safety(math.radians(20.0), 1.0 / 3.0), 2)
    1.09

    hand

    References
    ----------
    .. [1] Derived: a block on an incline.
    """
    if slope < 0.0:
        raise DomainError(f"`slope` must be at least 0, got {slope:g}")
    return math.tan(friction) / slope if slope > 0.0 else math.inf


def water_that_moves(size: Length, solid_density: Density, coefficient: Ratio = TURBULENT) -> Speed:
    """Speed of water at which a loose stone begins to move.

    Parameters
    ----------
    size : Length                 Of a ball as heavy as the stone. [m], >= 0
    solid_density : Density       [kg/m³], > 1000
    coefficient : Ratio           0.86 in turbulent water, 1.20 in calm flow. [-]

    Returns
    -------
    Speed                         [m/s]

    Raises
    ------
    DomainError                   If the stone floats.

    Notes
    -----
    C sqrt(2 g (ρ / ρ_w - 1) D).

    Examples
    --------
    >>> round(water_that_moves(0.10, 2650.0), 2), round(water_that_moves(0.10, 2650.0, 1.20), 2)
    (1.55, 2.16)

    hand

    References
    ----------
    .. [1] S. V. Isbash (1936); USDA NRCS National Engineering Handbook 654, supplement 14C; from memory.
    """
    _sinks(solid_density)
    return coefficient * math.sqrt(2.0 * GRAVITY * (solid_density / WATER - 1.0) * size)


def wave_height(fetch: Length, wind: Speed) -> Length:
    """Height of the waves that wind raises over open water.

    Parameters
    ----------
    fetch : Length     Longest stretch of open water. [m], >= 0
    wind : Speed       Ten metres above the water. [m/s], >= 0

    Returns
    -------
    Length             Mean of the highest third. [m]

    Raises
    ------
    DomainError        If fetch or wind are below 0.

    Notes
    -----
    g H / u² = 0.0413 (g F / u²)^½ with the friction velocity u² = 0.001 (1.1 + 0.035 U) U².

    Examples
    --------
    >>> round(wave_height(40.0, 20.0), 3)
    0.071

    hand

    References
    ----------
    .. [1] USACE, Coastal Engineering Manual, EM 1110-2-1100, part II, chapter 2, equation 36; from memory.
    """
    if fetch < 0.0 or wind < 0.0:
        raise DomainError(f"`fetch` and `wind` must be at least 0, got {fetch:g} m and {wind:g} m/s")
    if fetch == 0.0 or wind == 0.0:
        return 0.0
    friction = 0.001 * (1.1 + 0.035 * wind) * wind * wind
    return 0.0413 * math.sqrt(GRAVITY * fetch / friction) * friction / GRAVITY


def stone_in_waves(wave: Length, solid_density: Density, slope: Slope, coefficient: Ratio = RIPRAP) -> Mass:
    """Stone that waves do not move on a slope.

    Parameters
    ----------
    wave : Length                 Height of the waves. [m], >= 0
    solid_density : Density       [kg/m³], > 1000
    slope : Slope                 Rise for one level. [m/m], >= 0
    coefficient : Ratio           Of stability. [-], > 0

    Returns
    -------
    Mass                          [kg]

    Raises
    ------
    DomainError                   If the stone floats, or the slope or coefficient make no sense.

    Notes
    -----
    ρ H³ / (K (ρ / ρ_w - 1)³ cot θ); slopes flatter than 1:5 count as 1:5.

    Examples
    --------
    >>> round(stone_in_waves(1.0, 2650.0, 0.5), 1)
    134.1

    hand

    References
    ----------
    .. [1] R. Y. Hudson (1959); USACE, Shore Protection Manual, chapter 7; from memory.
    """
    _sinks(solid_density)
    if slope < 0.0 or not coefficient > 0.0:
        raise DomainError(f"`slope` must be at least 0, got {slope:g}")
    steep = max(slope, 0.2)
    return solid_density * wave**3 * steep / (coefficient * (solid_density / WATER - 1.0) ** 3)


def rest_pressure(mass: Mass, length: Length, width: Length, bears: Ratio = BEARS) -> Pressure:
    """Pressure of a stone on what it lies on.

    Parameters
    ----------
    mass : Mass          [kg], >= 0
    length : Length      Of its outline. [m], > 0
    width : Length       Of its outline. [m], > 0
    bears : Ratio        Part of the outline that rests. [-], 0 < bears <= 1

    Returns
    -------
    Pressure             In air: before the pond is filled. [Pa]

    Raises
    ------
    DomainError          If nothing rests on the ground.

    Examples
    --------
    >>> round(rest_pressure(1202.0, 1.2, 0.9))
    36381

    hand

    References
    ----------
    .. [1] Derived: force over area; the part that bears is common practice, no source.
    """
    area: Area = length * width * bears
    if not area > 0.0:
        raise DomainError(
            f"`length`, `width` and `bears` must be above 0, got {length:g}, {width:g}, {bears:g}"
        )
    return mass * GRAVITY / area


def step_safety(mass: Mass, person: Mass, foot: Ratio = 2.0 / 3.0) -> Ratio:
    """Safety of a stone against tipping when a person steps on its rim.

    Parameters
    ----------
    mass : Mass         Of the stone. [kg], >= 0
    person : Mass       With what is carried. [kg], > 0
    foot : Ratio        Width of its bed against its own. [-], 0 < foot <= 1

    Returns
    -------
    Ratio               Infinite where it is bedded up to its rim. [-]

    Raises
    ------
    DomainError         If the person has no mass, or the bed is none.

    Notes
    -----
    m f / (M (1 - f)): its own weight about the rim of its bed.

    Examples
    --------
    >>> round(step_safety(100.0, 120.0), 2)
    1.67

    hand

    References
    ----------
    .. [1] Derived: moments about the rim of the bed.
    """
    if not (person > 0.0 and 0.0 < foot <= 1.0):
        raise DomainError(f"`foot` must be above 0 and at most 1, got {foot:g}")
    return math.inf if foot == 1.0 else mass * foot / (person * (1.0 - foot))


def _sinks(solid_density: Density) -> None:
    if not solid_density > WATER:
        raise DomainError(f"`solid_density` must be above {WATER:g} kg/m³, got {solid_density:g} kg/m³")
