"""Puncture: the fabric that keeps stones from going through a liner.

The published formula is for a sheet of 1.5 mm high-density polyethylene over or under needled fabric.
Rubber and other sheets stretch more, so it errs on the safe side for them, but nobody has tried it on thin
ones.  For stones that stick out by more than 25 mm its ten-year tests failed: it is not trusted there.

See Also
--------
pondwright.rooms.lining.anchor : whether the cover stays on the slope.
"""

from __future__ import annotations

from dataclasses import dataclass

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, ArealMass, Density, Length, Mass, Pressure, Ratio

WATER: Density = 1000.0
GRAVITY: float = 9.81
"""As in the worked figures of the methods. [m/s²]"""

LEAST_FABRIC: ArealMass = 0.27
MOST_FABRIC: ArealMass = 1.35
TALLEST: Length = 0.038
"""Range in which the formula was found: mass of the fabric [kg/m²] and height of what sticks out [m]."""

SHAPES = {"angular": 1.0, "subrounded": 0.5, "rounded": 0.25}
"""Factor of the shape of the stones. [-]"""


@dataclass(frozen=True, slots=True)
class Factors:
    """What a pressure in a test is divided by.

    Attributes
    ----------
    shape, packing, arching : Ratio     Of the stones and the soil over them; 1 is the worst. [-]
    safety : Ratio                      [-]
    creep, decay : Ratio                Over the years. [-]
    """

    shape: Ratio = 1.0
    packing: Ratio = 1.0
    arching: Ratio = 1.0
    safety: Ratio = 3.0
    creep: Ratio = 1.5
    decay: Ratio = 1.1

    @property
    def total(self) -> Ratio:
        """All in one. [-]"""
        return self.shape * self.packing * self.arching * self.safety * self.creep * self.decay


TESTED = Factors(creep=1.0, decay=1.0)
"""Factors of a short test with a safety of 3: those of the worked figures."""


def allowed_pressure(fabric: ArealMass, protrusion: Length, factors: Factors = Factors()) -> Pressure:
    """Pressure under which stones do not go through a liner with a fabric.

    Parameters
    ----------
    fabric : ArealMass       Mass of the needled fabric. [kg/m²], >= 0
    protrusion : Length      How far a stone sticks out: half of the largest grain. [m], > 0
    factors : Factors

    Returns
    -------
    Pressure                 [Pa]

    Raises
    ------
    DomainError              If the fabric is below 0 or nothing sticks out.

    Notes
    -----
    p = (50 + 0.00045 M / H²) kPa over all factors, M in g/m² and H in m.

    Examples
    --------
    >>> round(allowed_pressure(0.540, 0.025, TESTED))
    146267

    published

    References
    ----------
    .. [1] Narejo, Koerner, Wilson-Fahmy (1996), puncture protection of geomembranes, parts I to III (equation
       from memory).
    """
    if not (fabric >= 0.0 and protrusion > 0.0):
        raise DomainError(f"fabric and stones must not be below 0, got {fabric} kg/m², {protrusion} m")
    return (50_000.0 + 450.0 * fabric / protrusion**2) / factors.total


NO_FABRIC: ArealMass = 0.01
"""Less than this is no fabric: a tenth of the lightest that is sold. [kg/m²]; practice, no source."""


def needed_fabric(pressure: Pressure, protrusion: Length, factors: Factors = Factors()) -> ArealMass:
    """Mass of the fabric that a pressure wants.

    Parameters
    ----------
    pressure : Pressure      On the liner. [Pa], >= 0
    protrusion : Length      How far a stone sticks out: half of the largest grain. [m], > 0
    factors : Factors

    Returns
    -------
    ArealMass                0 where the sheet alone is enough by the formula. [kg/m²]

    Raises
    ------
    DomainError              If the pressure is below 0 or nothing sticks out.

    Examples
    --------
    >>> round(needed_fabric(40_000.0, 0.040, TESTED), 4)
    0.2489

    published

    References
    ----------
    .. [1] As :func:`allowed_pressure`, turned round.
    """
    if not (pressure >= 0.0 and protrusion > 0.0):
        raise DomainError(f"pressure and stones must not be below 0, got {pressure} Pa, {protrusion} m")
    return max(0.0, (pressure * factors.total - 50_000.0) * protrusion**2 / 450.0)


def cover_pressure(water: Length, covers: tuple[tuple[Length, Density], ...]) -> Pressure:
    """Pressure on a liner below water and stone.

    Parameters
    ----------
    water : Length           Over the liner, stone counted in. [m], >= 0
    covers : pairs           Thickness of each layer on it [m], and its mass for one cubic metre in air with
                             its voids full of water [kg/m³].

    Returns
    -------
    Pressure                 [Pa]

    Raises
    ------
    DomainError              If a number is below 0.

    Notes
    -----
    p = ρ_w g h + Σ (ρ_i - ρ_w) g t_i: each layer weighs under water what it weighs more than water.

    Examples
    --------
    2.0 m of water, and in it 0.30 m of rock of 2,080 kg/m³: 22.8 kPa.

    >>> round(cover_pressure(2.0, ((0.30, 2080.0),)))
    22798

    hand

    References
    ----------
    .. [1] Derived: weight of what stands over the liner.
    """
    if water < 0.0 or any(thick < 0.0 or dense < 0.0 for thick, dense in covers):
        raise DomainError("`water` and `covers` must not be below 0")
    stone = sum(thick * max(dense - WATER, 0.0) for thick, dense in covers)
    return GRAVITY * (WATER * water + stone)


def stone_pressure(mass: Mass, footprint: Area) -> Pressure:
    """Pressure of one stone on its footprint.

    Parameters
    ----------
    mass : Mass           [kg], >= 0
    footprint : Area      On which it stands. [m²], > 0

    Returns
    -------
    Pressure              [Pa]

    Raises
    ------
    DomainError           If there is no footprint.

    Examples
    --------
    >>> round(stone_pressure(1000.0, 0.25))
    39240

    hand

    References
    ----------
    .. [1] Derived: weight over area.
    """
    if not (mass >= 0.0 and footprint > 0.0):
        raise DomainError(f"a stone must have a mass and a footprint, got {mass} kg, {footprint} m²")
    return mass * GRAVITY / footprint


def usual_fabric(grain: Length) -> ArealMass:
    """Fabric that builders lay below stone of a size.

    Parameters
    ----------
    grain : Length     Largest stone. [m], >= 0

    Returns
    -------
    ArealMass          [kg/m²]

    Raises
    ------
    DomainError        If the size is below 0.

    Examples
    --------
    >>> [usual_fabric(grain) for grain in (0.04, 0.2, 0.6)]
    [0.27, 0.4, 0.54]

    hand

    References
    ----------
    .. [1] Common practice: gravel 200 to 270 g/m², cobble of 100 to 300 mm 400, boulders 540 and a pad.
    """
    if grain < 0.0:
        raise DomainError(f"`grain` must not be below 0 m, got {grain} m")
    return 0.27 if grain <= 0.1 else 0.4 if grain <= 0.3 else 0.54
