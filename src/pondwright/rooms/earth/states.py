"""States of soil: in the bank, loose in a truck, compacted in a berm.

A volume of soil without its state is meaningless.  The house keeps two factors for one volume
in the bank: *bulking* (loose volume) and *compaction* (compacted volume), never a percentage,
because two conventions of shrinkage are in use that differ.

See Also
--------
pondwright.rooms.earth.cutfill : the volumes in the bank.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Density, Mass, Ratio, Volume
from pondwright.base.sources import PRACTICE, Source

LOOSE_ANGLE: Angle = math.radians(30.0)
"""Angle at which loose topsoil stands. [rad]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class SoilStates:
    """How one kind of soil changes when it is moved.

    Attributes
    ----------
    bulking : Ratio            Loose volume for one in the bank. [-], >= 1
    compaction : Ratio         Compacted volume for one in the bank. [-], > 0
    bank_density : Density     Moist, in the bank. [kg/m³]
    sources : Source           Of bulking, compaction and density.
    angle : Angle              At which it stands, loose and drained. [rad], > 0
    """

    bulking: Ratio
    compaction: Ratio
    bank_density: Density
    sources: tuple[Source, ...] = ()
    angle: Angle = LOOSE_ANGLE


@dataclass(frozen=True, slots=True)
class Truck:
    """A truck: what its box holds and what it may carry."""

    box: Volume
    payload: Mass
    source: Source


STANDARD_TRUCK = Truck(10.0, 13_000.0, PRACTICE)
"""A three-axle tipper: 10 m³ heaped, 13 t of legal payload."""


@dataclass(frozen=True, slots=True)
class Loads:
    """Truck loads, and whether the box or the scale decides."""

    count: int
    by_volume: float
    by_mass: float

    @property
    def mass_decides(self) -> bool:
        """Whether trucks are full by mass before their box is."""
        return self.by_mass > self.by_volume


def loose_volume(bank: Volume, bulking: Ratio) -> Volume:
    """Volume of dug soil in a truck or a heap.

    Parameters
    ----------
    bank : Volume       In the bank. [m³], >= 0  (V_B)
    bulking : Ratio     [-], >= 1  (L)

    Returns
    -------
    Volume              [m³]

    Examples
    --------
    >>> loose_volume(1000.0, 1.30)
    1300.0

    published

    References
    ----------
    .. [1] Worked examples of an equipment sheet: swell = (V_L - V_B) / V_B; confirmed.
    """
    return bank * bulking


def bank_volume(compacted: Volume, compaction: Ratio) -> Volume:
    """Soil in the bank that makes a compacted volume.

    Parameters
    ----------
    compacted : Volume     [m³], >= 0  (V_K)
    compaction : Ratio     [-], > 0  (C)

    Returns
    -------
    Volume                 [m³]

    Raises
    ------
    DomainError            If the compaction is not above 0.

    Examples
    --------
    >>> round(bank_volume(100.0, 0.90), 2)
    111.11

    hand

    References
    ----------
    .. [1] Derived from the definition of C = V_K / V_B.
    """
    if not compaction > 0.0:
        raise DomainError(f"`compaction` must be above 0, got {compaction}")
    return compacted / compaction


def truck_loads(loose: Volume, mass: Mass, truck: Truck = STANDARD_TRUCK) -> Loads:
    """Loads that carry a volume and a mass: the larger count of the two.

    Parameters
    ----------
    loose : Volume     Loose. [m³], >= 0
    mass : Mass        [kg], >= 0
    truck : Truck

    Returns
    -------
    Loads

    Examples
    --------
    Export of 266.67 m³ in the bank at 1.30 and 1,900 kg/m³: the scale decides.

    >>> loads = truck_loads(346.67, 506_670.0, Truck(10.0, 13_000.0, PRACTICE))
    >>> loads.count, round(loads.by_volume, 2), round(loads.by_mass, 2), loads.mass_decides
    (39, 34.67, 38.97, True)

    hand

    References
    ----------
    .. [1] Derived: whole loads by volume and by mass.
    """
    by_volume, by_mass = loose / truck.box, mass / truck.payload
    # A rounding error of the last bits must not order one more truck.
    return Loads(math.ceil(max(by_volume, by_mass) - 1e-9), by_volume, by_mass)


def settlement_allowance(placed: Volume, share: Ratio) -> Volume:
    """Compacted soil placed above the design so that it settles to it.

    Parameters
    ----------
    placed : Volume     Compacted. [m³], >= 0
    share : Ratio       Of the height. [-], >= 0

    Returns
    -------
    Volume              [m³]

    Notes
    -----
    A share of the height, column by column, is the same share of the volume.

    Examples
    --------
    >>> settlement_allowance(100.0, 0.05)
    5.0

    hand

    References
    ----------
    .. [1] USDA NRCS, Conservation Practice Standard 378: at least 5 % of the height; from memory.
    """
    return placed * share
