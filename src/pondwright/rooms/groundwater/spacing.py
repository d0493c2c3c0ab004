"""How far apart drains lie, and trenches without a pipe: formulas of the trade beside the solved heads.

These are cross-checks.  They know one soil over one tight base and level ground; the heads of the job are
solved with its own layers.  Hooghoudt is the default for drains above the base, Donnan for drains on it.

See Also
--------
pondwright.rooms.groundwater.heads : the flow in the ground, solved.
pondwright.rooms.groundwater.dewatering : what comes to a long trench from one side or from both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Flow, Kind, Length, Ratio, Speed, Time, Volume

FlowPerLength = Annotated[float, Kind("flow per length", "m²/s")]

_SERIES_END = 0.5
"""Below it the short form of F(x) is used: there the series needs many terms. [-]"""


@dataclass(frozen=True, slots=True)
class StoneFlow:
    """Water in a trench of stone without a pipe: its speed in the voids [m/s], and what it carries [m³/s]."""

    speed: Speed
    flow: Flow


def equivalent_depth(depth: Length, spacing: Length, radius: Length) -> Length:
    """Depth below drains that stands for the flow's crowding towards them (van der Molen and Wesseling).

    Parameters
    ----------
    depth : Length        From the drains down to the tight base. [m], >= 0
    spacing : Length      Between drains. [m], > 0
    radius : Length       Of the drain, best of the gravel round it. [m], > 0

    Returns
    -------
    Length                Never more than the depth itself. [m]

    Raises
    ------
    DomainError           If the spacing or the radius is not above zero, or the depth is below zero.

    Notes
    -----
    d = (π L/8) / [ln(L/(π r)) + F(x)], x = 2 π D/L, F = Σ 4 e^(−2ix) / [i (1 − e^(−2ix))] over odd i; for
    x < 0.5 F = π²/(4x) + ln(x/(2π)), which agrees with the series there to 1e-9.  Drains closer than π r
    touch each other: then the depth itself is given.

    Examples
    --------
    >>> round(equivalent_depth(2.0, 20.0, 0.1), 3), equivalent_depth(0.0, 20.0, 0.1)
    (1.359, 0.0)

    hand

    References
    ----------
    .. [1] van der Molen and Wesseling, 1991, Agricultural Water Management 19; from memory.
    """
    _checked(depth, spacing, radius)
    if depth == 0.0:
        return 0.0
    crowding = math.log(spacing / (math.pi * radius)) + _series(2.0 * math.pi * depth / spacing)
    if crowding <= math.pi * spacing / (8.0 * depth):
        return depth
    return math.pi * spacing / 8.0 / crowding


def equivalent_depth_moody(depth: Length, spacing: Length, radius: Length) -> Length:
    """Depth below drains that stands for the flow's crowding towards them, by Moody's fit.

    It lies about 3 % above :func:`equivalent_depth`.

    Parameters
    ----------
    depth : Length        From the drains down to the tight base. [m], >= 0
    spacing : Length      Between drains. [m], > 0
    radius : Length       Of the drain. [m], > 0

    Returns
    -------
    Length                Never more than the depth itself. [m]

    Raises
    ------
    DomainError           If the spacing or the radius is not above zero, or the depth is below zero.

    Notes
    -----
    D/L ≤ 0.3: d = D / [1 + (D/L)(8/π ln(D/r) − (3.55 − 1.6 D/L + 2 (D/L)²))];
    D/L > 0.3: d = π L / [8 (ln(L/r) − 1.15)].

    Examples
    --------
    >>> round(equivalent_depth_moody(2.0, 20.0, 0.1), 3)
    1.407

    hand

    References
    ----------
    .. [1] Moody, 1966, Journal of the Irrigation and Drainage Division 92; confirmed in the source of a
       public watershed model.
    """
    _checked(depth, spacing, radius)
    if depth == 0.0:
        return 0.0
    share = depth / spacing
    if share > 0.3:
        crowding = math.log(spacing / radius) - 1.15
        deep = math.pi * spacing / (8.0 * crowding) if crowding > 0.0 else depth
        return min(deep, depth)
    more = 8.0 / math.pi * math.log(depth / radius) - (3.55 - 1.6 * share + 2.0 * share**2)
    return min(depth / (1.0 + share * more), depth) if 1.0 + share * more > 0.0 else depth


def hooghoudt_recharge(
    spacing: Length, below: Speed, above: Speed, height: Length, depth: Length, radius: Length
) -> Speed:
    """Recharge that parallel drains lead away with the water a height above them halfway between.

    Parameters
    ----------
    spacing : Length      Between drains. [m], > 0
    below : Speed         Permeability below the level of the drains. [m/s]
    above : Speed         Permeability above it. [m/s]
    height : Length       Of the water over the drains, halfway between them. [m], >= 0
    depth : Length        From the drains down to the tight base. [m], >= 0
    radius : Length       Of the drain, best of the gravel round it. [m], > 0

    Returns
    -------
    Speed                 What soaks in, per area. [m/s]

    Raises
    ------
    DomainError           If a length or a permeability is out of its range.

    Notes
    -----
    q = (8 K_b d h + 4 K_a h²) / L².  One soil above and one below, level base, no loss at entry.

    Examples
    --------
    >>> round(hooghoudt_recharge(12.332, 0.042, 0.040, 0.8, 6.0, 0.1), 6)
    0.003

    hand

    References
    ----------
    .. [1] Hooghoudt, 1940; formula confirmed on several pages.
    """
    _at_least_zero(below=below, above=above, height=height)
    d = equivalent_depth(depth, spacing, radius)
    return (8.0 * below * d * height + 4.0 * above * height**2) / spacing**2


def hooghoudt_spacing(
    recharge: Speed, below: Speed, above: Speed, height: Length, depth: Length, radius: Length
) -> Length:
    """Spacing of parallel drains that keeps the water at a height above them.

    Parameters
    ----------
    recharge : Speed      What soaks in, per area. [m/s], > 0
    below : Speed         Permeability below the level of the drains. [m/s]
    above : Speed         Permeability above it. [m/s]
    height : Length       Of the water over the drains, halfway between them. [m], > 0
    depth : Length        From the drains down to the tight base. [m], >= 0
    radius : Length       Of the drain, best of the gravel round it. [m], > 0

    Returns
    -------
    Length                [m]

    Raises
    ------
    DomainError           If recharge or height is not above zero, or no water can get to the drains.

    Notes
    -----
    L² = (8 K_b d h + 4 K_a h²) / q with d of L itself.  The equivalent depth lies between nothing and the
    depth, so L lies between the answers of these two, and is found between them.  Permeability within a
    factor of 2 moves it by 1.4; Hooghoudt's spacings tend to be somewhat wide.

    Examples
    --------
    >>> round(hooghoudt_spacing(7e-3, 0.5, 0.5, 0.30, 1.5, 0.05), 1)
    13.5

    hand

    References
    ----------
    .. [1] Hooghoudt, 1940; formula confirmed on several pages.
    """
    _at_least_zero(below=below, above=above)
    if not (recharge > 0.0 and height > 0.0):
        raise DomainError(f"`recharge` and `height` must be above 0, got {recharge:g} m/s and {height:g} m")
    _checked(depth, 1.0, radius)
    over = 4.0 * above * height**2
    widest = math.sqrt((8.0 * below * depth * height + over) / recharge)
    if widest == 0.0:
        raise DomainError("`below` and `above` must let some water through, got 0 m/s")
    nearest = max(math.sqrt(over / recharge), 1e-9 * widest)

    def too_wide(spacing: float) -> float:
        return (
            spacing**2 - (8.0 * below * equivalent_depth(depth, spacing, radius) * height + over) / recharge
        )

    if too_wide(nearest) >= 0.0 or widest <= nearest:
        return nearest
    from scipy.optimize import brentq

    return float(brentq(too_wide, nearest, widest, xtol=1e-12, rtol=1e-13))


def donnan_spacing(recharge: Speed, permeability: Speed, mid: Length, drain: Length) -> Length:
    """Spacing of parallel drains that lie on the tight base.

    Parameters
    ----------
    recharge : Speed          What soaks in, per area. [m/s], > 0
    permeability : Speed      [m/s]
    mid : Length              Height of the water over the base, halfway between drains. [m]
    drain : Length            Height of the water over the base in the drain. [m], <= mid

    Returns
    -------
    Length                    [m]

    Raises
    ------
    DomainError               If the recharge is not above zero, or the water halfway is not higher.

    Notes
    -----
    L² = 4 K (b² − a²) / q.

    Examples
    --------
    >>> round(donnan_spacing(7e-3, 0.5, 1.8, 1.5), 2)
    16.82

    hand

    References
    ----------
    .. [1] Donnan, 1946; from memory.  The ellipse of a head that Dupuit gives under even recharge.
    """
    if not recharge > 0.0 or not 0.0 <= drain <= mid:
        raise DomainError(f"`mid` must be at least `drain`, got {mid:g} m and {drain:g} m")
    return math.sqrt(4.0 * permeability * (mid**2 - drain**2) / recharge)


def ellipse_spacing(recharge: Speed, permeability: Speed, over: Length, under: Length) -> Length:
    """Spacing of parallel drains by the ellipse of the NRCS.

    Parameters
    ----------
    recharge : Speed          What is led away, per area. [m/s], > 0
    permeability : Speed      [m/s]
    over : Length             Height of the water over the drains, halfway between them. [m], >= 0
    under : Length            From the drains down to the tight base. [m], >= 0

    Returns
    -------
    Length                    [m]

    Notes
    -----
    S = √[4 K (m² + 2 a m) / q], the same as Donnan's with b = a + m.

    Examples
    --------
    >>> inch_an_hour = 0.0254 / 3600.0
    >>> spacing = ellipse_spacing(0.375 / 24.0 * inch_an_hour, inch_an_hour, 1.5 * 0.3048, 4.0 * 0.3048)
    >>> round(spacing / 0.3048, 1)
    60.4

    hand

    References
    ----------
    .. [1] USDA NRCS, National Engineering Handbook, part 650, chapter 14; from memory.
    """
    return donnan_spacing(recharge, permeability, under + over, under)


def interceptor_inflow(permeability: Speed, slope: Ratio, caught: Length) -> FlowPerLength:
    """Inflow to a metre of a trench across a hillside, from water that runs down with the slope.

    Parameters
    ----------
    permeability : Speed      [m/s]
    slope : Ratio             Fall of the groundwater, downhill. [-], >= 0
    caught : Length           Thickness of the flow that the trench cuts off. [m], >= 0

    Returns
    -------
    float                     [m²/s]

    Raises
    ------
    DomainError               If the slope or the thickness is below zero.

    Notes
    -----
    q = K i D.

    Examples
    --------
    >>> round(interceptor_inflow(2e-5, 0.05, 0.6) * 1e7, 6)
    6.0

    hand

    References
    ----------
    .. [1] Darcy.
    """
    _at_least_zero(slope=slope, caught=caught)
    return permeability * slope * caught


def stone_trench(size: Length, porosity: Ratio, fall: Ratio, area: Area) -> StoneFlow:
    """Water through a trench filled with clean coarse stone, without a pipe.

    Parameters
    ----------
    size : Length         Of the stone, one for all. [m], > 0
    porosity : Ratio      Share of voids. [-], > 0, < 1
    fall : Ratio          Fall of the water in it. [-], >= 0
    area : Area           Cross-section that is full of water. [m²], >= 0

    Returns
    -------
    StoneFlow

    Raises
    ------
    DomainError           If size or porosity is out of its range.

    Notes
    -----
    V = 5.24 √m i^0.54 in the voids, with m = n d / [6 (1 − n)]; Q = n V A.  Darcy does not hold here: in
    coarse stone the flow is not slow enough.  A trench of stone carries a fraction of what a pipe in it does.

    Examples
    --------
    >>> found = stone_trench(0.020, 0.40, 0.01, 0.09)
    >>> round(found.speed, 4), round(found.flow * 1000.0, 3)
    (0.0205, 0.74)

    hand

    References
    ----------
    .. [1] Wilkins, 1956; from memory.
    """
    if not (size > 0.0 and 0.0 < porosity < 1.0):
        raise DomainError(
            f"`size` must be above 0 m and `porosity` between 0 and 1, got {size:g} m and {porosity:g}"
        )
    _at_least_zero(fall=fall, area=area)
    radius = porosity * size / (6.0 * (1.0 - porosity))
    speed = 5.24 * math.sqrt(radius) * math.pow(fall, 0.54)
    return StoneFlow(speed, porosity * speed * area)


def sump_volume(pump: Flow, starts: Ratio) -> Volume:
    """Volume of a sump between start and stop, so that its pump never starts too often.

    Parameters
    ----------
    pump : Flow           What the pump lifts. [m³/s], > 0
    starts : Ratio        Starts an hour that it bears. [-], > 0

    Returns
    -------
    Volume                [m³]

    Raises
    ------
    DomainError           If one of them is not above zero.

    Notes
    -----
    V = Q T/4 with T the time from start to start; an inflow of half the pump's flow starts it most often.

    Examples
    --------
    >>> round(sump_volume(0.002, 6.0), 3)
    0.3

    hand

    References
    ----------
    .. [1] Derived: time to fill and to empty at an inflow of Q/2.
    """
    if not (pump > 0.0 and starts > 0.0):
        raise DomainError(f"`pump` and `starts` must be above 0, got {pump:g} m³/s and {starts:g}")
    return pump * (3600.0 / starts) / 4.0


def time_to_fill(volume: Volume, inflow: Flow) -> Time:
    """Time in which water that nobody pumps fills a volume.

    Parameters
    ----------
    volume : Volume       [m³], >= 0
    inflow : Flow         [m³/s]

    Returns
    -------
    Time                  Infinite where nothing comes in. [s]

    Examples
    --------
    >>> round(time_to_fill(0.30, 0.0002) / 60.0, 3)
    25.0

    hand

    References
    ----------
    .. [1] Derived: volume over flow.
    """
    return volume / inflow if inflow > 0.0 else math.inf


def _series(x: float) -> float:
    """F(x) of the crowding below drains."""
    if x < _SERIES_END:
        return math.pi**2 / (4.0 * x) + math.log(x / (2.0 * math.pi))
    total, odd = 0.0, 1
    while True:
        shrunk = math.exp(-2.0 * odd * x)
        term = 4.0 * shrunk / (odd * (1.0 - shrunk))
        total += term
        if term <= 1e-16 * max(total, 1e-300):
            return total
        odd += 2


def _checked(depth: Length, spacing: Length, radius: Length) -> None:
    if not (spacing > 0.0 and radius > 0.0):
        raise DomainError(f"`spacing` and `radius` must be above 0 m, got {spacing:g} m and {radius:g} m")
    _at_least_zero(depth=depth)


def _at_least_zero(**values: float) -> None:
    for name, value in values.items():
        if not value >= 0.0:
            raise DomainError(f"`{name}` must be at least 0, got {value:g}")
