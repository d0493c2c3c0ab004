"""What holds a liner at its edge, and whether its cover stays on the slope.

An anchor is to slip before the sheet tears: its capacity is compared with the strength of the sheet.  A cover
of stone on a slope is held by friction alone, and by what stands at its toe.

See Also
--------
pondwright.rooms.lining.edge : where the edge is.
"""

from __future__ import annotations

import math

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Density, Length, Ratio, Slope
from pondwright.base.tables import read_table

LineForce = float
"""Force on one metre of edge. [N/m]"""

GRAVITY: float = 9.81
"""As in the worked figures of the methods. [m/s²]"""


def slope_angle(slope: Slope) -> Angle:
    """Angle of a slope.

    Parameters
    ----------
    slope : Slope     Level for one upright. [m/m], > 0

    Returns
    -------
    Angle             From level. [rad]

    Raises
    ------
    DomainError       If it is not above 0.

    Examples
    --------
    >>> round(math.degrees(slope_angle(3.0)), 2)
    18.43

    hand

    References
    ----------
    .. [1] Derived: tan β = 1 / m.
    """
    if not slope > 0.0:
        raise DomainError(f"`slope` must be above 0, got {slope}")
    return math.atan(1.0 / slope)


def run_out(tension: LineForce, slope: Slope, cover: float, friction: Angle) -> Length:
    """Level length behind the crest that holds a tension below a cover of soil.

    Parameters
    ----------
    tension : LineForce     In the sheet on the slope, on one metre of edge: N/m, >= 0
    slope : Slope           Of the bank, level for one upright. [m/m], > 0
    cover : float           Pressure of the soil on the run-out: Pa, > 0
    friction : Angle        Of the soil below the sheet. [rad], > 0

    Returns
    -------
    Length                  0 where the bank itself holds it. [m]

    Raises
    ------
    DomainError             If a number is out of its range.

    Notes
    -----
    L = T (cos β - sin β tan δ) / (q tan δ): the cover moves with the sheet, so only its lower face holds.

    Examples
    --------
    >>> round(run_out(7000.0, 3.0, 4950.0, math.radians(30.0)), 3)
    1.876

    published

    References
    ----------
    .. [1] R. M. Koerner, Designing with geosynthetics, run-out length (example from memory: prints 1.9 m).
    """
    _checked(slope, friction)
    if not (tension >= 0.0 and cover > 0.0):
        raise DomainError(f"tension and cover must not be below 0, got {tension} N/m, {cover} Pa")
    angle = slope_angle(slope)
    hold = math.cos(angle) - math.sin(angle) * math.tan(friction)
    return max(0.0, tension * hold / (cover * math.tan(friction)))


def anchor_capacity(
    level: Length,
    cover: Length,
    trench: Length,
    slope: Slope,
    soil: Density,
    shear: Angle,
    friction: Angle,
) -> LineForce:
    """Tension at which an anchor trench lets the sheet slip.

    Parameters
    ----------
    level : Length       Of the sheet from the crest to the trench. [m], >= 0
    cover : Length       Of soil over it. [m], >= 0
    trench : Length      Depth of the trench. [m], >= 0
    slope : Slope        Of the bank, level for one upright. [m/m], > 0
    soil : Density       As placed. [kg/m³], > 0
    shear : Angle        Friction within the soil. [rad], > 0
    friction : Angle     Of the soil on the sheet. [rad], > 0

    Returns
    -------
    LineForce            On one metre of edge: N/m.

    Raises
    ------
    DomainError          If a number is out of its range.

    Notes
    -----
    T (cos β - sin β tan δ) = q tan δ L - P_A + P_P with q = ρ g d_c, P = (½ ρ g d + q) K d,
    K_A = tan²(45° - φ/2), K_P = 1 / K_A.  Where the bank is so steep that the left side is not above zero the
    sheet never slips: infinite.

    Examples
    --------
    >>> deg = math.radians
    >>> round(anchor_capacity(0.6, 0.15, 0.30, 3.0, 17000.0 / 9.81, deg(30.0), deg(20.0)), -1)
    5560.0

    hand

    References
    ----------
    .. [1] R. M. Koerner, Designing with geosynthetics, anchor trench (from memory).
    """
    _checked(slope, friction)
    if min(level, cover, trench) < 0.0 or not (soil > 0.0 and 0.0 < shear < 0.5 * math.pi):
        raise DomainError("an anchor must have lengths not below 0, a soil with a density and a friction")
    weight = soil * GRAVITY
    pressed = weight * cover
    active = math.tan(0.25 * math.pi - 0.5 * shear) ** 2
    behind = (0.5 * weight * trench + pressed) * trench
    angle = slope_angle(slope)
    hold = math.cos(angle) - math.sin(angle) * math.tan(friction)
    if hold <= 0.0:
        return math.inf
    return (pressed * math.tan(friction) * level + behind * (1.0 / active - active)) / hold


def long_slope_safety(slope: Slope, friction: Angle) -> Ratio:
    """Safety of a cover on a slope so long that its toe does not count.

    Parameters
    ----------
    slope : Slope        Level for one upright. [m/m], > 0
    friction : Angle     Of the weakest face below the cover. [rad], > 0

    Returns
    -------
    Ratio                [-]

    Raises
    ------
    DomainError          If a number is out of its range.

    Notes
    -----
    tan δ / tan β, dry and under still water alike.

    Examples
    --------
    >>> round(long_slope_safety(3.0, math.radians(18.0)), 3)
    0.975

    hand

    References
    ----------
    .. [1] Derived: a slice of an infinite slope.
    """
    _checked(slope, friction)
    return math.tan(friction) * slope


def cover_safety(
    thickness: Length,
    length: Length,
    slope: Slope,
    friction: Angle,
    shear: Angle,
) -> Ratio:
    """Safety of a cover on a slope that stands on its toe.

    Parameters
    ----------
    thickness : Length     Of the cover, square to the slope. [m], > 0
    length : Length        Of the slope, along it. [m], > 0
    slope : Slope          Level for one upright. [m/m], > 0
    friction : Angle       Of the weakest face below the cover. [rad], > 0
    shear : Angle          Friction within the cover. [rad], > 0

    Returns
    -------
    Ratio                  At least that of a long slope; infinite where the toe alone holds it. [-]

    Raises
    ------
    DomainError            If a number is out of its range.

    Notes
    -----
    Two wedges, one on the slope and one at its toe, without cohesion: a F² + b F + c = 0 with W_A =
    γ h² (L/h - 1/sin β - ½ tan β), N = W_A cos β, W_P = γ h² / sin 2β, a = (W_A - N cos β) cos β,
    b = -((W_A - N cos β) sin β tan φ + N tan δ sin β cos β + W_P sin β tan φ), c = N tan δ sin² β tan φ.
    The weight of the cover falls out.

    Examples
    --------
    A slope of 30 m at 3 to 1, cover 0.30 m, φ 30°, δ 22°.

    >>> round(cover_safety(0.30, 30.0, 3.0, math.radians(22.0), math.radians(30.0)), 2)
    1.25

    published

    References
    ----------
    .. [1] Koerner, Soong (1998), Analysis and design of veneer cover soils (example from memory).
    """
    _checked(slope, friction)
    if not (thickness > 0.0 and length > 0.0 and 0.0 < shear < 0.5 * math.pi):
        raise DomainError(f"a cover must have a size and a friction, got {thickness} m, {length} m, {shear}")
    angle = slope_angle(slope)
    sin, cos, inner = math.sin(angle), math.cos(angle), math.tan(shear)
    on_slope = thickness**2 * (length / thickness - 1.0 / sin - 0.5 * math.tan(angle))
    if on_slope <= 0.0:
        return math.inf
    toe = thickness**2 / math.sin(2.0 * angle)
    drives = on_slope * sin**2
    holds = on_slope * cos * math.tan(friction)
    a = drives * cos
    b = -(drives * sin * inner + holds * sin * cos + toe * sin * inner)
    c = holds * sin**2 * inner
    return (-b + math.sqrt(max(b * b - 4.0 * a * c, 0.0))) / (2.0 * a)


def interface_friction(material: str, against: str) -> Angle:
    """Friction of a sheet against what lies on or under it.

    Parameters
    ----------
    material : str     Word of the table of membranes.
    against : str      `fabric`, `gravel` or `soil`.

    Returns
    -------
    Angle              [rad]

    Raises
    ------
    DomainError        If there is no such sheet or face.

    Examples
    --------
    >>> round(math.degrees(interface_friction("hdpe", "fabric")))
    8

    published

    References
    ----------
    .. [1] Martin, Koerner, Whitty (1984), friction between geomembranes, geotextiles and soils (from memory).
    """
    for row in read_table("pondwright.rooms.lining", "interfaces.csv").rows:
        if row["material"] == material and against in ("fabric", "gravel", "soil"):
            return math.radians(float(row[against]))
    raise DomainError(f"friction must be told of a sheet and a face, got `{material}` against `{against}`")


def _checked(slope: Slope, friction: Angle) -> None:
    if not (slope > 0.0 and 0.0 < friction < 0.5 * math.pi):
        raise DomainError(f"a slope and a friction must be above 0, got {slope}, {friction} rad")
