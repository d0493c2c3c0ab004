"""What machines move in an hour: diggers, carriers on the site, trucks on the road.

A production is the volume of a cycle times the cycles of an hour.  Published methods differ by a factor of
two for one machine and soil, so every number here is a starting value; the builder's own hours go before it.

See Also
--------
pondwright.rooms.earth.haul : uses the time of a cubic metre to choose where it goes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Mass, Ratio, Speed, Time, Volume
from pondwright.base.sources import PRACTICE, Source
from pondwright.rooms.earth.states import Truck

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


@dataclass(frozen=True, slots=True)
class Compactor:
    """A machine that compacts placed soil.

    Attributes
    ----------
    width : Length        Of its drum or plate. [m], > 0
    speed : Speed         While it works. [m/s], > 0
    layer : Length        Thickness of a layer, compacted. [m], > 0
    passes : float        Over each layer. [-], > 0
    efficiency : Ratio    Share of the hour that it works. [-]
    """

    width: Length
    speed: Speed
    layer: Length
    passes: float
    efficiency: Ratio


STANDARD_DIGGER = Digger(bucket=0.11, fill=0.9, cycle=20.0, efficiency=0.833)
"""A small excavator of some 3.5 t: common practice, no source."""

STANDARD_CARRIER = Carrier(bucket=0.40, fill=0.9, fixed=30.0, speed=2.47, efficiency=0.833)
"""A skid steer or a small dumper: 8 km/h loaded, 10 km/h empty; common practice, no source."""

STANDARD_COMPACTOR = Compactor(width=0.82, speed=0.5, layer=0.2, passes=7.0, efficiency=0.833)
"""A trench roller: seven passes over layers of 0.2 m; common practice, no source."""

TRUCK_SPEED: Speed = 13.0
"""Mean speed of a truck on the road, there and back. [m/s]; common practice, no source."""

TRUCK_FIXED: Time = 900.0
"""Loading, turning and dumping of a truck that somebody else loads. [s]; common practice, no source."""

TRUCK_TURN: Time = 300.0
"""Turning and dumping of a truck, without its loading. [s]; common practice, no source."""

LEGAL = Source("23 CFR 658.17", "bridge formula and axle limits")

POUND: Mass = 0.45359237
FOOT: Length = 0.3048


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


def together(times: Sequence[Time]) -> Time:
    """Time of a cubic metre where several machines share the work in proportion to what each moves.

    Parameters
    ----------
    times : Time     Of each machine by itself for one cubic metre. [s], > 0

    Returns
    -------
    Time             Of all of them at once. [s]

    Raises
    ------
    DomainError      If there is no machine.

    Notes
    -----
    1 / Σ (1 / t): each works all of that time, and the outputs add up.

    Examples
    --------
    >>> together([60.0, 30.0])
    20.0

    hand

    References
    ----------
    .. [1] Derived: outputs add up.
    """
    if len(times) == 0:
        raise DomainError("`times` must hold at least one machine, got none")
    return 1.0 / sum(1.0 / time for time in times)


def compact_rate(compactor: Compactor) -> Volume:
    """Compacted volume that a machine makes in an hour.

    Parameters
    ----------
    compactor : Compactor

    Returns
    -------
    Volume              Compacted. [m³], in one hour

    Raises
    ------
    DomainError         If it passes over no layer.

    Notes
    -----
    3600 W S t E / P; in US units 16.3 W(ft) S(mph) t(in) E / P cubic yards an hour.

    Examples
    --------
    >>> round(compact_rate(STANDARD_COMPACTOR), 1)
    35.1

    hand

    References
    ----------
    .. [1] US Army FM 5-434, compactor production: 16.3 W S L E / N; from memory.
    """
    if not compactor.passes > 0.0:
        raise DomainError(f"`passes` must be above 0, got {compactor.passes:g}")
    strip = compactor.width * compactor.speed * HOUR
    return strip * compactor.layer * compactor.efficiency / compactor.passes


def trucks_needed(cycle: Time, load: Time) -> int:
    """Trucks that keep a digger at work: the next one stands there when one is full.

    Parameters
    ----------
    cycle : Time      Of one truck: loading, there, dumping, back. [s], >= 0
    load : Time       In which the digger fills one. [s], > 0

    Returns
    -------
    int

    Raises
    ------
    DomainError       If the loading takes no time.

    Notes
    -----
    The cycle over the loading, rounded up.

    Examples
    --------
    A cycle of 0.5846 h, loaded in 12 / 95 h: 4.63.

    >>> trucks_needed(0.5846, 12.0 / 95.0)
    5

    published

    References
    ----------
    .. [1] Worked solution of a haul of sand, 12 cubic yards a load at 95 an hour; its times are confirmed.
    """
    if not load > 0.0:
        raise DomainError(f"`load` must be above 0 s, got {load:g} s")
    return max(math.ceil(cycle / load - 1e-9), 1)


def legal_gross(axles: int, length: Length) -> Mass:
    """Mass that the axles of a truck may carry on US interstate roads, the truck itself included.

    Parameters
    ----------
    axles : int         2 to 7.
    length : Length     Between the outer axles. [m], > 0

    Returns
    -------
    Mass                [kg]

    Raises
    ------
    DomainError         If it has fewer than two axles or no length.

    Notes
    -----
    500 (L N / (N - 1) + 12 N + 36) lb, with L in whole feet and the mass to the nearest 500 lb; at most
    20,000 lb on a single axle, 34,000 lb on two axles within 8 ft, and 80,000 lb in all.  A truck's first
    axle is taken as a single one.  States differ, and a maker's own limit may be lower.

    Examples
    --------
    Three axles over 20 ft, in pounds:

    >>> round(legal_gross(3, 6.096) / 0.45359237)
    51000

    published

    References
    ----------
    .. [1] 23 CFR 658.17 and a state statute that quotes the formula; confirmed.
    """
    if axles < 2 or not length > 0.0:
        raise DomainError(f"`axles` must be at least 2, some way apart, got {axles} over {length:g} m")
    feet = math.floor(length / FOOT + 0.5)
    pounds = 500.0 * math.floor(feet * axles / (axles - 1) + 12.0 * axles + 36.0 + 0.5)
    if axles == 2:
        pounds = min(pounds, 34_000.0 if feet <= 8 else 40_000.0)
    if axles == 3:
        pounds = min(pounds, 54_000.0 if feet > 8 else 34_000.0)
    return min(pounds, 80_000.0) * POUND


def truck_of(box: Volume, payload: Mass | None, axles: int, spread: Length, tare: Mass) -> Truck:
    """Truck by its payload, or by what its axles may carry where nobody knows it.

    Parameters
    ----------
    box : Volume         Heaped. [m³], > 0
    payload : Mass       None is the legal gross less the weight of the empty truck. [kg], > 0
    axles : int
    spread : Length      Between the outer axles. [m], > 0
    tare : Mass          Of the empty truck. [kg], > 0

    Returns
    -------
    Truck

    Raises
    ------
    DomainError          If the empty truck weighs all that its axles may carry.

    Examples
    --------
    >>> round(truck_of(10.0, None, 3, 6.1, 10_100.0).payload)
    13033

    hand

    References
    ----------
    .. [1] Derived from `legal_gross`.
    """
    if payload is not None:
        return Truck(box, payload, PRACTICE)
    gross = legal_gross(axles, spread)
    if not tare < gross:
        raise DomainError(f"`tare` must be below the legal gross of {gross:.0f} kg, got {tare:.0f} kg")
    return Truck(box, gross - tare, LEGAL)
