"""Water that comes to a dig which is kept dry, and how far it lowers the water in the ground around.

While it is built, a pond is a wide well, and the steady formulas of Dupuit and Thiem tell how much water
comes to it.  They need the distance at which the dig is no longer felt, which nobody knows well: every
answer is to be shown over a range of it.

See Also
--------
pondwright.rooms.groundwater.drawdown : how soon.
pondwright.rooms.groundwater.heads : the water in the ground on the grid, with the drains that stay.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, FloatArray, Flow, Length, Ratio, Speed, Time

COMPACT_PIT: Ratio = 1.5
"""Up to this length over width a pit is taken by its area, beyond it by its rim; from memory. [-]"""

LONG_PIT: Ratio = 5.0
"""Beyond this length over width a pit is a trench; from memory. [-]"""

SICHARDT = 3000.0
"""Factor of Sichardt's reach for wells and pits [s^(1/2)/m^(1/2)]; it is 1500 to 2000 for trenches."""


@dataclass(frozen=True, slots=True, eq=False)
class Strata:
    """Layers of the ground at one place, from the top down, to where it is tight.

    Attributes
    ----------
    tops, bottoms : (n,) arrays     Elevations of each layer. [m]
    permeability : (n,) array       Of each layer. [m/s], > 0
    """

    tops: Elevations
    bottoms: Elevations
    permeability: FloatArray

    @property
    def base(self) -> Elevation:
        """Where the ground is tight. [m]"""
        return float(self.bottoms.min())


def equivalent_radius(length: Length, width: Length) -> Length:
    """Radius of the round well that stands for a pit.

    Parameters
    ----------
    length, width : Length     Sides of the pit at the water, in any order. [m], > 0

    Returns
    -------
    Length                     [m]

    Raises
    ------
    DomainError                If a side is not above zero.

    Notes
    -----
    r = √(a b / π) up to a length of 1.5 widths (same area); (a + b) / π beyond (same rim).  A pit of more
    than five widths is better taken as a trench.

    Examples
    --------
    >>> round(equivalent_radius(20.0, 15.0), 3), round(equivalent_radius(10.0, 30.0), 3)
    (9.772, 12.732)

    hand

    References
    ----------
    .. [1] Common practice of dewatering, UFC 3-220-05, from memory.
    """
    if not (length > 0.0 and width > 0.0):
        raise DomainError(f"a pit must have sides above 0 m, got {length:g} m by {width:g} m")
    long, short = max(length, width), min(length, width)
    return math.sqrt(long * short / math.pi) if long <= COMPACT_PIT * short else (long + short) / math.pi


def sichardt_reach(drawdown: Length, permeability: Speed, factor: float = SICHARDT) -> Length:
    """How far beyond its edge a dig lowers the groundwater, by Sichardt.

    Parameters
    ----------
    drawdown : Length          At the dig. [m], >= 0
    permeability : Speed       Of the ground. [m/s], > 0
    factor : float             3000 for pits, 1500 to 2000 for trenches [s^(1/2)/m^(1/2)].

    Returns
    -------
    Length                     Measured from the edge of the dig. [m]

    Raises
    ------
    DomainError                If the drawdown is negative or the permeability not above zero.

    Notes
    -----
    R0 = 3000 s √K.  It is a rule with units, not a law: show the answer over half and twice of it.

    Examples
    --------
    >>> round(sichardt_reach(3.0, 1e-4), 6)
    90.0

    published

    References
    ----------
    .. [1] Sichardt's rule as a county's dewatering exhibit after Powers prints it.
    """
    if drawdown < 0.0 or permeability <= 0.0:
        raise DomainError(
            f"`drawdown` must be at least 0 m and `permeability` above 0 m/s, got {drawdown:g} m and "
            f"{permeability:g} m/s"
        )
    return factor * drawdown * math.sqrt(permeability)


def weber_reach(depth: Length, permeability: Speed, time: Time, drainable: Ratio) -> Length:
    """How far a dig lowers the groundwater after a time, by Weber.

    Parameters
    ----------
    depth : Length             Of water over the tight ground. [m], > 0
    permeability : Speed       Of the ground. [m/s], > 0
    time : Time                Since pumping began. [s], >= 0
    drainable : Ratio          Share of the ground's volume that drains. [-], > 0

    Returns
    -------
    Length                     [m]

    Raises
    ------
    DomainError                If a number is out of its range.

    Notes
    -----
    R = 2.45 √(H K t / n).

    Examples
    --------
    >>> round(weber_reach(6.0, 1e-4, 86_400.0, 0.2), 2)
    39.44

    published

    References
    ----------
    .. [1] Weber's formula as university notes on dewatering print it.
    """
    if min(depth, permeability, drainable) <= 0.0 or time < 0.0:
        raise DomainError("`depth`, `permeability` and `drainable` must be above 0, and `time` not below")
    return 2.45 * math.sqrt(depth * permeability * time / drainable)


def lembke_reach(depth: Length, permeability: Speed, recharge: Speed) -> Length:
    """How far a dig lowers the groundwater where rain feeds it all the time, by Lembke.

    Parameters
    ----------
    depth : Length             Of water over the tight ground. [m], > 0
    permeability : Speed       Of the ground. [m/s], > 0
    recharge : Speed           Water that soaks in. [m/s], > 0

    Returns
    -------
    Length                     [m]

    Raises
    ------
    DomainError                If a number is not above zero.

    Notes
    -----
    R = H √(K / (2 N)).

    Examples
    --------
    >>> round(lembke_reach(6.0, 1e-4, 2e-8), 1)
    300.0

    published

    References
    ----------
    .. [1] Lembke's formula as university notes on dewatering print it.
    """
    if min(depth, permeability, recharge) <= 0.0:
        raise DomainError("`depth`, `permeability` and `recharge` must be above 0")
    return depth * math.sqrt(permeability / (2.0 * recharge))


def strata_transmissivity(strata: Strata, head: Elevation) -> float:
    """What the wetted layers together let through.

    Parameters
    ----------
    strata : Strata
    head : Elevation     Of the water. [m]

    Returns
    -------
    float                [m²/s]

    Notes
    -----
    T = Σ K_i × wetted thickness of layer i.

    Examples
    --------
    >>> under_clay = Strata(np.array([15.0]), np.array([0.0]), np.array([1e-3]))
    >>> round(strata_transmissivity(under_clay, 50.0), 6), round(strata_transmissivity(under_clay, 3.0), 6)
    (0.015, 0.003)

    hand

    References
    ----------
    .. [1] Derived: Darcy's law averaged over the depth.
    """
    wetted = np.clip(head, strata.bottoms, np.maximum(strata.tops, strata.bottoms)) - strata.bottoms
    return float(strata.permeability @ wetted)


def flow_potential(strata: Strata, head: Elevation) -> Flow:
    """Potential of the flow: its difference between two places drives the water, whatever the layers.

    Parameters
    ----------
    strata : Strata
    head : Elevation     Of the water. [m]

    Returns
    -------
    Flow                 0 at and below the tight ground. [m³/s]

    Notes
    -----
    Φ(h) = ∫ T dh = Σ K_i [(min(h, t_i) − b_i)² / 2 + (t_i − b_i) (h − t_i)], the second part only above the
    top t_i of a layer, both only above its bottom b_i.  It is K h² / 2 in open ground of one kind, and K D h
    less a constant under a tight layer.

    Examples
    --------
    >>> open_ground = Strata(np.array([100.0]), np.array([0.0]), np.array([1e-4]))
    >>> round(flow_potential(open_ground, 6.0), 6)
    0.0018

    hand

    References
    ----------
    .. [1] Girinskii's potential, from memory; here derived: the transmissivity summed up over the head.
    """
    tops = np.maximum(strata.tops, strata.bottoms)
    wetted = np.clip(head, strata.bottoms, tops) - strata.bottoms
    above = np.maximum(head - tops, 0.0)
    return float(strata.permeability @ (0.5 * wetted**2 + (tops - strata.bottoms) * above))


def pit_inflow(strata: Strata, head: Elevation, kept: Elevation, radius: Length, reach: Length) -> Flow:
    """Steady water that comes to a pit, by Dupuit and Thiem.

    Parameters
    ----------
    strata : Strata
    head : Elevation     Groundwater where the pit is not felt. [m]
    kept : Elevation     Groundwater that is kept at the pit; below the tight ground it dries there. [m]
    radius : Length      Equivalent radius of the pit. [m], > 0
    reach : Length       From the middle of the pit to where it is not felt: R0 + radius. [m], > radius

    Returns
    -------
    Flow                 0 where the groundwater stands no higher than it is kept. [m³/s]

    Raises
    ------
    DomainError          If the reach is not beyond the pit.

    Notes
    -----
    Q = 2 π [Φ(H) − Φ(h)] / ln(R / r), which is π K (H² − h²) / ln(R / r) in open ground and
    2 π K D (H − h) / ln(R / r) under a tight layer.

    Examples
    --------
    >>> ground = Strata(np.array([100.0]), np.array([0.0]), np.array([1e-4]))
    >>> radius = equivalent_radius(20.0, 15.0)
    >>> round(1e3 * pit_inflow(ground, 6.0, 3.0, radius, sichardt_reach(3.0, 1e-4) + radius), 2)
    3.65

    hand

    References
    ----------
    .. [1] Dupuit and Thiem's well formulas, from memory.
    """
    _require_reach(radius, reach)
    return 2.0 * math.pi * _driving(strata, head, kept) / math.log(reach / radius)


def trench_inflow(
    strata: Strata, head: Elevation, kept: Elevation, reach: Length, length: Length, sides: int = 2
) -> Flow:
    """Steady water that comes to a long trench, by Dupuit.

    Parameters
    ----------
    strata : Strata
    head : Elevation     Groundwater where the trench is not felt. [m]
    kept : Elevation     Groundwater that is kept at the trench. [m]
    reach : Length       From the trench to where it is not felt. [m], > 0
    length : Length      Of the trench. [m], >= 0
    sides : int          Sides from which water comes, 1 or 2.

    Returns
    -------
    Flow                 [m³/s]

    Raises
    ------
    DomainError          If the reach is not above zero, the length below zero, or the sides not 1 or 2.

    Notes
    -----
    Q = sides × L [Φ(H) − Φ(h)] / R, which is K (H² − h²) / (2 R) for a metre and a side in open ground.

    Examples
    --------
    >>> ground = Strata(np.array([100.0]), np.array([0.0]), np.array([1e-4]))
    >>> round(1e3 * trench_inflow(ground, 6.0, 3.0, 60.0, 40.0), 3)
    1.8

    hand

    References
    ----------
    .. [1] UFC 3-220-05 (TM 5-818-5), line slots; its figures exist, the formula is from memory.
    """
    if reach <= 0.0 or length < 0.0 or sides not in (1, 2):
        raise DomainError(
            f"a trench must have a reach above 0 m, a length and 1 or 2 sides, got {reach:g} m, {length:g} m "
            f"and {sides}"
        )
    return sides * length * _driving(strata, head, kept) / reach


def floor_inflow(permeability: Speed, drawdown: Length, radius: Length) -> Flow:
    """Steady water that wells up through the floor of a pit that does not reach tight ground.

    Parameters
    ----------
    permeability : Speed     Of the ground below the floor. [m/s], >= 0
    drawdown : Length        Groundwater over the kept level. [m], >= 0
    radius : Length          Equivalent radius of the pit. [m], > 0

    Returns
    -------
    Flow                     [m³/s]

    Raises
    ------
    DomainError              If a number is out of its range.

    Notes
    -----
    Q = 4 K s r: a disc held at one head on deep ground.

    Examples
    --------
    >>> round(1e3 * floor_inflow(1e-5, 2.0, 8.0), 3)
    0.64

    hand

    References
    ----------
    .. [1] Flow to a disc on a half-space, from memory.
    """
    if permeability < 0.0 or drawdown < 0.0 or radius <= 0.0:
        raise DomainError("`permeability` and `drawdown` must not be below 0, and `radius` above 0 m")
    return 4.0 * permeability * drawdown * radius


def shallow_pit_inflow(
    strata: Strata, head: Elevation, kept: Elevation, radius: Length, reach: Length
) -> Flow:
    """Steady water that comes to a pit that need not reach tight ground: from the sides and from below.

    Parameters
    ----------
    strata : Strata
    head : Elevation     Groundwater where the pit is not felt. [m]
    kept : Elevation     Groundwater that is kept at the pit. [m]
    radius : Length      Equivalent radius of the pit. [m], > 0
    reach : Length       From the middle of the pit to where it is not felt. [m], > radius

    Returns
    -------
    Flow                 [m³/s]

    Raises
    ------
    DomainError          If the reach is not beyond the pit.

    Notes
    -----
    The lesser of two answers that both tell rather too much: :func:`pit_inflow` as if the pit went down
    to the tight ground, and the flow from the sides above the kept level with that of :func:`floor_inflow`.

    Examples
    --------
    Deep ground gives less than if the pit went down all 40 m; ground that ends just below it gives no more:

    >>> deep = Strata(np.array([41.0]), np.array([0.0]), np.array([1e-5]))
    >>> thin = Strata(np.array([41.0]), np.array([38.0]), np.array([1e-5]))
    >>> found = shallow_pit_inflow(deep, 41.0, 38.5, 8.0, 40.0)
    >>> bool(found < 0.5 * pit_inflow(deep, 41.0, 38.5, 8.0, 40.0))
    True
    >>> shallow_pit_inflow(thin, 41.0, 38.5, 8.0, 40.0) == pit_inflow(thin, 41.0, 38.5, 8.0, 40.0)
    True

    hand

    References
    ----------
    .. [1] Derived: both parts as their own functions tell them.
    """
    whole = pit_inflow(strata, head, kept, radius, reach)
    drawdown = max(head - max(kept, strata.base), 0.0)
    above = Strata(strata.tops, np.maximum(strata.bottoms, kept), strata.permeability)
    sides = pit_inflow(above, head, kept, radius, reach)
    below = _mean_permeability(strata, kept)
    return min(whole, sides + floor_inflow(below, drawdown, radius))


def head_beside(
    strata: Strata, head: Elevation, kept: Elevation, radius: Length, reach: Length, distance: Length
) -> Elevation:
    """Groundwater at a distance from a pit that is kept dry.

    Parameters
    ----------
    strata : Strata
    head : Elevation       Groundwater where the pit is not felt. [m]
    kept : Elevation       Groundwater that is kept at the pit. [m]
    radius : Length        Equivalent radius of the pit. [m], > 0
    reach : Length         From the middle of the pit to where it is not felt. [m], > radius
    distance : Length      From the middle of the pit. [m], >= 0

    Returns
    -------
    Elevation              The kept level inside the pit, the head beyond its reach. [m]

    Raises
    ------
    DomainError            If the reach is not beyond the pit.

    Notes
    -----
    Φ(h_r) = Φ(h) + [Φ(H) − Φ(h)] ln(r / r_e) / ln(R / r_e), solved for h_r by Brent's method.

    Examples
    --------
    >>> ground = Strata(np.array([100.0]), np.array([0.0]), np.array([1e-4]))
    >>> radius = equivalent_radius(20.0, 15.0)
    >>> round(head_beside(ground, 6.0, 3.0, radius, 90.0 + radius, 30.0), 3)
    4.694

    hand

    References
    ----------
    .. [1] Dupuit and Thiem's well formulas, from memory.
    """
    _require_reach(radius, reach)
    kept = max(kept, strata.base)
    if kept >= head or distance >= reach:
        return head
    if distance <= radius:
        return kept
    start = flow_potential(strata, kept)
    share = math.log(distance / radius) / math.log(reach / radius)
    wanted = start + share * _driving(strata, head, kept)
    return float(brentq(lambda level: flow_potential(strata, level) - wanted, kept, head, xtol=1e-12))


def _driving(strata: Strata, head: Elevation, kept: Elevation) -> Flow:
    return max(flow_potential(strata, head) - flow_potential(strata, kept), 0.0)


def _mean_permeability(strata: Strata, level: Elevation) -> Speed:
    """Mean permeability of the ground below a level, as its layers pass water level."""
    thick = level - strata.base
    return strata_transmissivity(strata, level) / thick if thick > 0.0 else 0.0


def _require_reach(radius: Length, reach: Length) -> None:
    if not 0.0 < radius < reach:
        raise DomainError(f"`reach` must be beyond the radius of {radius:g} m, got {reach:g} m")
