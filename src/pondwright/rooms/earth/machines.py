"""What machines move in an hour: diggers, carriers on the site, trucks on the road.

A production is the volume of a cycle times the cycles of an hour.  Published methods differ by a factor of
two for one machine and soil, so every number here is a starting value; the builder's own hours go before it.

See Also
--------
pondwright.rooms.earth.haul : uses the time of a cubic metre to choose where it goes.
"""

from __future__ import annotations

from dataclasses import dataclass

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Mass, Ratio, Speed, Time, Volume

HOUR: Time = 3600.0


@dataclass(frozen=True, slots=True)
class Digger:
    """A machine that digs.

    Attributes
    ----------
    bucket : Volume       Heaped. [m³], > 0
    fill : Ratio          Share of it that is filled. [-]
    cycle : Time          Dig, swing, dump, swing back. [s], > 0
    efficiency : Ratio    Share of the hour that it works. [-]
    """

    bucket: Volume
    fill: Ratio
    cycle: Time
    efficiency: Ratio


@dataclass(frozen=True, slots=True)
class Carrier:
    """A machine that carries soil on the site.

    Attributes
    ----------
    bucket : Volume       Heaped. [m³], > 0
    fill : Ratio          Share of it that is filled. [-]
    fixed : Time          Load, turn and dump. [s], >= 0
    speed : Speed         Mean, there and back. [m/s], > 0
    efficiency : Ratio    Share of the hour that it works. [-]
    """

    bucket: Volume
    fill: Ratio
    fixed: Time
    speed: Speed
    efficiency: Ratio


STANDARD_DIGGER = Digger(bucket=0.11, fill=0.9, cycle=20.0, efficiency=0.833)
"""A small excavator of some 3.5 t: common practice, no source."""

STANDARD_CARRIER = Carrier(bucket=0.40, fill=0.9, fixed=30.0, speed=2.47, efficiency=0.833)
"""A skid steer or a small dumper: 8 km/h loaded, 10 km/h empty; common practice, no source."""

TRUCK_SPEED: Speed = 13.0
"""Mean speed of a loaded truck on the road. [m/s]; common practice, no source."""

TRUCK_FIXED: Time = 900.0
"""Loading, turning and dumping of a truck. [s]; common practice, no source."""


def dig_rate(digger: Digger, bulking: Ratio) -> Volume:
    """Volume in the bank that a machine digs in an hour.

    Parameters
    ----------
    digger : Digger
    bulking : Ratio     Loose volume for one in the bank. [-], >= 1

    Returns
    -------
    Volume              [m³], in one hour

    Raises
    ------
    DomainError         If the cycle is not above 0.

    Notes
    -----
    V F (3600 / t) E / L.

    Examples
    --------
    >>> round(dig_rate(STANDARD_DIGGER, 1.3), 2)
    11.42

    hand

    References
    ----------
    .. [1] US Army FM 5-434, chapter 1: production is volume a cycle times cycles an hour.
    """
    if not digger.cycle > 0.0:
        raise DomainError(f"`cycle` must be above 0 s, got {digger.cycle:g} s")
    return digger.bucket * digger.fill * HOUR / digger.cycle * digger.efficiency / bulking


def carry_time(carrier: Carrier, distance: Length, bulking: Ratio) -> Time:
    """Time in which a machine carries one cubic metre of bank soil over a distance.

    Parameters
    ----------
    carrier : Carrier
    distance : Length     One way. [m], >= 0
    bulking : Ratio       Loose volume for one in the bank. [-], >= 1

    Returns
    -------
    Time                  For one cubic metre in the bank. [s]

    Notes
    -----
    (t_fixed + 2 d / v) L / (V F E).

    Examples
    --------
    Sixty metres: 13.7 m³ of loose soil an hour.

    >>> round(3600.0 / carry_time(STANDARD_CARRIER, 60.0, 1.0), 1)
    13.7

    hand

    References
    ----------
    .. [1] Derived: one cycle there and back.
    """
    cycle = carrier.fixed + 2.0 * distance / carrier.speed
    return cycle * bulking / (carrier.bucket * carrier.fill * carrier.efficiency)


def truck_time(
    distance: Length,
    bulking: Ratio,
    density: float,
    box: Volume,
    payload: Mass,
    speed: Speed = TRUCK_SPEED,
    fixed: Time = TRUCK_FIXED,
) -> Time:
    """Time of a truck for one cubic metre of bank soil hauled over the road.

    Parameters
    ----------
    distance : Length     One way. [m], >= 0
    bulking : Ratio       Loose volume for one in the bank. [-], >= 1
    density : Density     In the bank. [kg/m³], > 0
    box : Volume          Heaped. [m³], > 0
    payload : Mass        [kg], > 0
    speed : Speed         Mean, there and back. [m/s], > 0
    fixed : Time          Loading, turning and dumping. [s], >= 0

    Returns
    -------
    Time                  For one cubic metre in the bank. [s]

    Notes
    -----
    A load is what fills the box or reaches the payload, whichever is less.

    Examples
    --------
    Sand, 12 cubic yards a load, seven miles out at 30 and back at 40 miles an hour: 0.5846 h a cycle.

    >>> box = 12 * 0.764555
    >>> hours = truck_time(11_265.4, 1.0, 1600.0, box, 20_000.0, speed=15.327, fixed=634.7) * box / 3600.0
    >>> round(hours, 3)
    0.585

    published

    References
    ----------
    .. [1] Worked solution of a haul of sand: 0.126 + 0.233 + 0.050 + 0.175 h; confirmed.
    """
    load = min(box / bulking, payload / density)
    return (fixed + 2.0 * distance / speed) / load
