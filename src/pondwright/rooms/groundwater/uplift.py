"""Uplift: how hard groundwater pushes a liner up, and what holds it down.

What counts is what lies on the liner: the pond's own water, and stone or gravel as heavy as it is in water or
dry.  All weights are told as the head of water that they hold down, to compare with heads in the ground.
The liner's own weight is nothing; friction, edge anchors and its strength are never counted.

Two factors are told.  The *net* one asks what of the groundwater the pond does not hold itself, and sets the
stone against that; the *gross* one sets all weight against all of the groundwater.  A deep pond brings the
gross factor near 1 whatever happens, and hides a real excess of head: the net one decides.

See Also
--------
pondwright.rooms.groundwater.heads : the heads in the ground.
pondwright.rooms.groundwater.ballast : the weight of what lies on the liner.
"""

from __future__ import annotations

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, Length, Lengths, Ratio, Ratios
from pondwright.rooms.groundwater.ballast import GRAINS, Ballast, dry_weight, submerged_weight


def excess_head(head: Elevations, level: Elevations | Elevation, liner: Elevations) -> Lengths:
    """How far the groundwater stands above what the pond's own water holds down.

    Parameters
    ----------
    head : Elevations     Level of the groundwater. [m]
    level : Elevations    Level of the pond; below the liner there is none. [m]
    liner : Elevations    The liner. [m]

    Returns
    -------
    ndarray               Below zero the pond, or the liner, stands higher. [m]

    Notes
    -----
    head - max(level, liner).  Below the liner the groundwater pushes nothing, and this is below zero.

    Examples
    --------
    >>> liner = np.array([97.0, 97.0])
    >>> excess_head(np.array([98.2, 98.2]), np.array([97.8, -np.inf]), liner).round(3).tolist()
    [0.4, 1.2]

    hand

    References
    ----------
    .. [1] Derived: pressure on both sides of the liner.
    """
    return head - np.maximum(level, liner)


def net_factor(
    head: Elevations,
    level: Elevations | Elevation,
    liner: Elevations,
    ballast: Ballast,
    cosine: Ratios | Ratio = 1.0,
) -> Ratios:
    """Net factor against uplift: what the ballast holds down over the head that the pond does not.

    Parameters
    ----------
    head : Elevations     Level of the groundwater. [m]
    level : Elevations    Level of the pond; below the liner there is none. [m]
    liner : Elevations    The liner. [m]
    ballast : Ballast     What lies on it.
    cosine : Ratios       Cosine of the bed's slope. [-], 0 to 1

    Returns
    -------
    ndarray               Infinite where the pond holds the liner by itself. [-]

    Notes
    -----
    FS = g' t cos(b) / (gw (h_g - h_w)); ballast above the pond's level weighs its dry bulk.  Water pushes
    square to the bed in full, of the ballast's weight only its cosine does.

    Examples
    --------
    Bed at 97.0 under 0.30 m of rock with 35 % of voids, groundwater at 98.2, the pond at 97.8:

    >>> from pondwright.rooms.groundwater.ballast import stone
    >>> rock = stone(np.array([0.3]), 0.35)
    >>> spot = np.array([98.2]), np.array([97.8]), np.array([97.0])
    >>> net_factor(*spot, rock).round(3).tolist(), gross_factor(*spot, rock).round(3).tolist()
    ([0.804], [0.935])

    hand

    References
    ----------
    .. [1] Derived: balance of the excess head and of the weight in water.
    """
    return uplift_factors(head, level, liner, ballast, cosine)[1]


def gross_factor(
    head: Elevations,
    level: Elevations | Elevation,
    liner: Elevations,
    ballast: Ballast,
    cosine: Ratios | Ratio = 1.0,
) -> Ratios:
    """Gross factor against uplift: all that lies on the liner over all of the groundwater.

    Parameters
    ----------
    head : Elevations     Level of the groundwater. [m]
    level : Elevations    Level of the pond; below the liner there is none. [m]
    liner : Elevations    The liner. [m]
    ballast : Ballast     What lies on it.
    cosine : Ratios       Cosine of the bed's slope. [-], 0 to 1

    Returns
    -------
    ndarray               Infinite where the groundwater does not reach the liner. [-]

    Notes
    -----
    FS = (gw h_w + g' t cos(b)) / (gw h_g).  It tends to 1 with the depth of the pond, from either side.

    Examples
    --------
    The same bed with the pond empty and the rock drained:

    >>> from pondwright.rooms.groundwater.ballast import stone
    >>> rock = stone(np.array([0.3]), 0.35)
    >>> gross_factor(np.array([98.2]), np.array([-np.inf]), np.array([97.0]), rock).round(4).tolist()
    [0.4306]

    hand

    References
    ----------
    .. [1] The flotation form of USACE EM 1110-2-2100, equation 3-2, without cohesion and anchors.
    """
    return uplift_factors(head, level, liner, ballast, cosine)[2]


def uplift_factors(
    head: Elevations,
    level: Elevations | Elevation,
    liner: Elevations,
    ballast: Ballast,
    cosine: Ratios | Ratio = 1.0,
) -> tuple[Lengths, Ratios, Ratios]:
    """Excess head with the net and the gross factor against it, in one pass.

    Parameters
    ----------
    head : Elevations     Level of the groundwater. [m]
    level : Elevations    Level of the pond; below the liner there is none. [m]
    liner : Elevations    The liner. [m]
    ballast : Ballast     What lies on it.
    cosine : Ratios       Cosine of the bed's slope. [-], 0 to 1

    Returns
    -------
    tuple of ndarray      As of :func:`excess_head` [m], :func:`net_factor` and :func:`gross_factor` [-].

    References
    ----------
    .. [1] Those of the three.
    """
    water = _water(level, liner)
    resists = ballast.resistance(water, cosine)
    below = head - liner
    push = below - water
    net = np.divide(resists, push, out=np.full(push.shape, np.inf), where=push > 0.0)
    gross = np.divide(water + resists, below, out=np.full(push.shape, np.inf), where=below > 0.0)
    return push, net, gross


def stone_thickness(
    head: Elevations,
    level: Elevations | Elevation,
    liner: Elevations,
    factor: Ratio,
    porosity: Ratio = 0.40,
    grains: Ratio = GRAINS,
    cosine: Ratios | Ratio = 1.0,
) -> Lengths:
    """Thickness of stone on the liner that gives a net factor.

    Parameters
    ----------
    head : Elevations     Level of the groundwater. [m]
    level : Elevations    Level of the pond; below the liner there is none. [m]
    liner : Elevations    The liner, which stays where it is. [m]
    factor : Ratio        Net factor that is wanted. [-], > 0
    porosity : Ratio      Share of voids of the stone. [-], 0 to below 1
    grains : Ratio        Weight of the stone for one of water. [-], > 1
    cosine : Ratios       Cosine of the bed's slope. [-], above 0 to 1

    Returns
    -------
    ndarray               Square to the bed; 0 where nothing pushes. [m]

    Raises
    ------
    DomainError           If the factor is not above 0, or the stone would float.

    Notes
    -----
    t = FS (h_g - h_w) / ((1 - n) (Gs - 1) cos(b)); what stands out of the pond's water weighs its dry bulk.

    Examples
    --------
    >>> spot = np.array([98.2]), np.array([97.8]), np.array([97.0])
    >>> stone_thickness(*spot, 1.2, porosity=0.35).round(3).tolist()
    [0.448]

    hand

    References
    ----------
    .. [1] Derived: the net factor solved for the thickness.
    """
    if not factor > 0.0:
        raise DomainError(f"`factor` must be above 0, got {factor:g}")
    dry, wet = dry_weight(porosity, grains), submerged_weight(porosity, grains)
    need = factor * np.maximum(excess_head(head, level, liner), 0.0) / cosine
    water = _water(level, liner)
    return np.where(need <= wet * water, need / wet, water + (need - wet * water) / dry)


def lowest_safe_level(
    head: Elevations, liner: Elevations, ballast: Ballast, factor: Ratio, cosine: Ratios | Ratio = 1.0
) -> Elevations:
    """Lowest level of the pond at which the net factor still holds.

    Parameters
    ----------
    head : Elevations     Level of the groundwater. [m]
    liner : Elevations    The liner. [m]
    ballast : Ballast     What lies on it.
    factor : Ratio        Net factor that is wanted. [-], >= 1
    cosine : Ratios       Cosine of the bed's slope. [-], 0 to 1

    Returns
    -------
    ndarray               Minus infinity where the spot may be dry. [m]

    Raises
    ------
    DomainError           If the factor is below 1.

    Notes
    -----
    z_w = z_g - g' t cos(b) / (gw FS), or lower where part of the ballast then stands dry.

    Examples
    --------
    >>> from pondwright.rooms.groundwater.ballast import stone
    >>> rock = stone(np.array([0.3]), 0.35)
    >>> lowest_safe_level(np.array([98.2]), np.array([97.0]), rock, 1.2).round(3).tolist()
    [97.932]

    hand

    References
    ----------
    .. [1] Derived: the net factor solved for the level of the pond.
    """
    _require_factor(factor)
    needed = np.maximum(head - liner, 0.0)
    return _level(needed, liner, ballast, cosine, 1.0 / factor)


def lowest_safe_level_gross(
    head: Elevations, liner: Elevations, ballast: Ballast, factor: Ratio, cosine: Ratios | Ratio = 1.0
) -> Elevations:
    """Lowest level of the pond at which the gross factor still holds.

    Parameters
    ----------
    head : Elevations     Level of the groundwater. [m]
    liner : Elevations    The liner. [m]
    ballast : Ballast     What lies on it.
    factor : Ratio        Gross factor that is wanted. [-], >= 1
    cosine : Ratios       Cosine of the bed's slope. [-], 0 to 1

    Returns
    -------
    ndarray               Minus infinity where the spot may be dry. [m]

    Raises
    ------
    DomainError           If the factor is below 1.

    Notes
    -----
    gw h_w = FS gw h_g - g' t cos(b), or lower where part of the ballast then stands dry.

    Examples
    --------
    >>> from pondwright.rooms.groundwater.ballast import stone
    >>> rock = stone(np.array([0.3]), 0.35)
    >>> lowest_safe_level_gross(np.array([98.2]), np.array([97.0]), rock, 1.2).round(3).tolist()
    [98.118]

    hand

    References
    ----------
    .. [1] Derived: the gross factor solved for the level of the pond.
    """
    _require_factor(factor)
    needed = factor * np.maximum(head - liner, 0.0)
    return _level(needed, liner, ballast, cosine, 1.0)


def bed_cosine(z: Elevations, spacing: Length) -> Ratios:
    """Cosine of the slope of a surface at every node.

    Parameters
    ----------
    z : (rows, columns) array     The surface. [m]
    spacing : Length              Of its nodes. [m], > 0

    Returns
    -------
    (rows, columns) array         [-]

    Notes
    -----
    1 / √(1 + |grad z|²), by differences of the neighbours on both sides.

    Examples
    --------
    >>> bed_cosine(np.tile(0.75 * np.arange(4.0), (3, 1)), 1.0).round(9).tolist()[0]
    [0.8, 0.8, 0.8, 0.8]

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    north, east = np.gradient(z, spacing)
    return 1.0 / np.sqrt(1.0 + north * north + east * east)


def _water(level: Elevations | Elevation, liner: Elevations) -> Lengths:
    """Water of the pond over the liner; a level of minus infinity is no water."""
    return np.maximum(level, liner) - liner


def _level(
    needed: Lengths, liner: Elevations, ballast: Ballast, cosine: Ratios | Ratio, share: Ratio
) -> Elevations:
    """Level at which the water and a share of what the ballast holds down together reach a head.

    The sum rises with the water: wetting a layer takes less off it than the water itself adds.
    """
    dry, wet = (share * cosine * part for part in (ballast.dry, ballast.submerged))
    thickness = ballast.thickness
    # Through the ballast the sum grows from `dry` to `thickness + wet`.
    rise = np.divide(thickness - dry + wet, thickness, out=np.ones_like(needed), where=thickness > 0.0)
    in_ballast = (needed - dry) / rise
    above = needed - wet
    level = liner + np.where(above > thickness, above, in_ballast)
    return np.where(needed <= dry, -np.inf, level)


def _require_factor(factor: Ratio) -> None:
    if not factor >= 1.0:
        raise DomainError(f"`factor` must be at least 1, got {factor:g}")
