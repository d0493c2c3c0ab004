"""What is put round a drain: gravel that holds the soil back and lets the water through, and fabric.

A filter is too coarse when the soil washes into it and too fine when it holds the water up.  Four
categories of soil have four rules for too coarse; they meet where one category ends and the next begins.
Sizes are those that a share is finer than: d15 of 15 %, d85 of 85 %.

See Also
--------
pondwright.rooms.groundwater.pipes : the pipe inside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Force, Length, Ratio, Speed
from pondwright.base.tables import read_table

FINEST_FILTER: Length = 0.0001
"""No filter is finer than this at its d15. [m]"""

FULL_CLAY, CLAYEY, SANDY = 0.85, 0.40, 0.15
"""Shares of fines at which the categories of soil meet."""

_STEEP_D15: Length = 0.0007
_SLOT_MARGIN = 1.2


@dataclass(frozen=True, slots=True)
class Band:
    """Least and greatest size that a filter may have at one share. [m]"""

    least: Length
    most: Length


@dataclass(frozen=True, slots=True)
class FabricNeed:
    """What a fabric round a drain must have: least permittivity [1/s], and greatest opening [m]."""

    permittivity: float
    opening: Length


@dataclass(frozen=True, slots=True)
class FabricStrength:
    """Least strengths of a class of fabric: grab, tear and puncture. [N]"""

    grab: Force
    tear: Force
    puncture: Force


def soil_category(fines: Ratio) -> int:
    """Category of a soil by its fines.

    Parameters
    ----------
    fines : Ratio         Share finer than 0.075 mm, of what is finer than 4.75 mm. [-], 0 to 1

    Returns
    -------
    int                   1 silts and clays, 2 silty and clayey sands, 3 sands with fines, 4 clean.

    Raises
    ------
    DomainError           If the share is none.

    Notes
    -----
    1 above 85 %, 2 from 40 % to 85 %, 3 from 15 % to 40 %, 4 below 15 %.

    Examples
    --------
    >>> [soil_category(fines) for fines in (0.9, 0.85, 0.40, 0.39, 0.15, 0.1)]
    [1, 2, 2, 3, 3, 4]

    published

    References
    ----------
    .. [1] USDA NRCS, National Engineering Handbook, part 633, chapter 26; categories 2 and 3 from memory.
    """
    if not 0.0 <= fines <= 1.0:
        raise DomainError(f"`fines` must be a share from 0 to 1, got {fines:g}")
    return 1 if fines > FULL_CLAY else 2 if fines >= CLAYEY else 3 if fines >= SANDY else 4


def coarsest_filter(fines: Ratio, base_d85: Length, dispersive: bool = False) -> Length:
    """Greatest d15 of a filter that still holds a soil back.

    Parameters
    ----------
    fines : Ratio         Share of the soil finer than 0.075 mm, of what is finer than 4.75 mm. [-], 0 to 1
    base_d85 : Length     Its d85, of what is finer than 4.75 mm. [m], > 0
    dispersive : bool     A clay that goes into suspension by itself.

    Returns
    -------
    Length                [m]

    Raises
    ------
    DomainError           If the share or the size is out of its range.

    Notes
    -----
    Category 1: 9 d85, at least 0.2 mm (dispersive 6.5 d85); 2: 0.7 mm (dispersive 0.5 mm);
    3: (40 − A)/25 (4 d85 − 0.7 mm) + 0.7 mm with A the fines in percent; 4: 4 d85.  The
    rules meet at 15 % and at 40 %; where 4 d85 is below 0.7 mm, category 3 stays below it as well, which is
    on the safe side.

    Examples
    --------
    >>> round(coarsest_filter(0.30, 0.0006) * 1000.0, 2), round(coarsest_filter(0.40, 0.0006) * 1000.0, 2)
    (1.38, 0.7)

    hand

    References
    ----------
    .. [1] USDA NRCS, National Engineering Handbook, part 633, chapter 26, table 26-2; categories 2 and 3
       from memory.
    """
    if not base_d85 > 0.0:
        raise DomainError(f"`base_d85` must be above 0 m, got {base_d85:g} m")
    category = soil_category(fines)
    if category == 1:
        return max((6.5 if dispersive else 9.0) * base_d85, 0.0002)
    if category == 2:
        return 0.0005 if dispersive else _STEEP_D15
    if category == 4:
        return 4.0 * base_d85
    share = (CLAYEY - fines) / (CLAYEY - SANDY)
    return share * (4.0 * base_d85 - _STEEP_D15) + _STEEP_D15


def finest_filter(base_d15: Length) -> Length:
    """Least d15 of a filter that still lets the water of a soil through.

    Parameters
    ----------
    base_d15 : Length     d15 of the soil, all of it. [m], > 0

    Returns
    -------
    Length                [m]

    Raises
    ------
    DomainError           If the size is not above zero.

    Notes
    -----
    4 d15 of the soil, at least 0.1 mm.

    Examples
    --------
    >>> round(finest_filter(0.00017) * 1000.0, 2), round(finest_filter(0.000005) * 1000.0, 2)
    (0.68, 0.1)

    hand

    References
    ----------
    .. [1] USDA NRCS, National Engineering Handbook, part 633, chapter 26; 0.1 mm confirmed, 4 d15 from
       memory.
    """
    if not base_d15 > 0.0:
        raise DomainError(f"`base_d15` must be above 0 m, got {base_d15:g} m")
    return max(4.0 * base_d15, FINEST_FILTER)


def classic_band(base_d15: Length, base_d85: Length) -> Band:
    """Least and greatest d15 of a filter by the classic rules.

    Parameters
    ----------
    base_d15, base_d85 : Length     Sizes of the soil. [m], > 0

    Returns
    -------
    Band                            Empty (least above most) for a soil with a gap in its sizes. [m]

    Raises
    ------
    DomainError                     If a size is not above zero.

    Notes
    -----
    D15 < 5 d85 so that the soil stays, D15 > 5 d15 so that the water goes, D15 < 40 d15 so that both are
    alike.

    Examples
    --------
    >>> band = classic_band(0.00017, 0.0015)
    >>> round(band.least * 1000.0, 2), round(band.most * 1000.0, 2)
    (0.85, 6.8)

    published

    References
    ----------
    .. [1] Terzaghi; Federal Highway Administration, Hydraulic Engineering Circular 11, example; confirmed.
    """
    if not (base_d15 > 0.0 and base_d85 > 0.0):
        raise DomainError(f"sizes of the soil must be above 0 m, got {base_d15:g} m and {base_d85:g} m")
    return Band(5.0 * base_d15, min(5.0 * base_d85, 40.0 * base_d15))


def under_stone(stone_d15: Length, stone_d50: Length) -> tuple[Length, Length]:
    """Least d15 and d50 of a filter that lies under stone.

    Parameters
    ----------
    stone_d15, stone_d50 : Length     Sizes of the stone. [m], > 0

    Returns
    -------
    tuple of Length                   d15 and d50 of the filter must be above these. [m]

    Notes
    -----
    D15 of the stone < 40 d15 of the filter, D50 of the stone < 40 d50 of the filter.

    Examples
    --------
    >>> [round(size * 1000.0, 2) for size in under_stone(0.100, 0.200)]
    [2.5, 5.0]

    published

    References
    ----------
    .. [1] Federal Highway Administration, Hydraulic Engineering Circular 11, example; confirmed.
    """
    return stone_d15 / 40.0, stone_d50 / 40.0


def finest_envelope(opening: Length, round_holes: bool) -> Length:
    """Least d85 of the gravel next to a pipe, so that it stays outside of the pipe's openings.

    Parameters
    ----------
    opening : Length      Width of a slot, or diameter of a hole. [m], > 0
    round_holes : bool    The openings are holes and no slots.

    Returns
    -------
    Length                [m]

    Raises
    ------
    DomainError           If the opening is not above zero.

    Notes
    -----
    Holes: the diameter; slots: 1.2 times the width.  A cautious rule for both is twice the opening.

    Examples
    --------
    >>> round(finest_envelope(0.0016, False) * 1000.0, 2), finest_envelope(0.008, True)
    (1.92, 0.008)

    published

    References
    ----------
    .. [1] US Army Corps of Engineers, EM 1110-2-1901; from memory.
    """
    if not opening > 0.0:
        raise DomainError(f"`opening` must be above 0 m, got {opening:g} m")
    return opening if round_holes else _SLOT_MARGIN * opening


def fabric_need(fines: Ratio) -> FabricNeed:
    """What a fabric round a drain must have by the fines of the soil.

    Parameters
    ----------
    fines : Ratio         Share of the soil finer than 0.075 mm. [-], 0 to 1

    Returns
    -------
    FabricNeed

    Raises
    ------
    DomainError           If the share is none.

    Examples
    --------
    >>> fabric_need(0.10).permittivity, fabric_need(0.15).opening, fabric_need(0.60).opening
    (0.5, 0.00025, 0.00022)

    published

    References
    ----------
    .. [1] AASHTO M288, drainage, as printed in UFGS 02373; confirmed.
    """
    if not 0.0 <= fines <= 1.0:
        raise DomainError(f"`fines` must be a share from 0 to 1, got {fines:g}")
    bands = read_table(__package__ or "", "fabrics.csv").rows
    # 15 % and 50 % themselves belong to the middle band.
    number = 0 if fines < float(bands[1]["above"]) else 1 if fines <= float(bands[2]["above"]) else 2
    return FabricNeed(float(bands[number]["permittivity"]), float(bands[number]["opening"]))


def widest_fabric_opening(uniformity: Ratio, base_d85: Length) -> Length:
    """Greatest opening of a fabric that still holds a soil back, by how mixed its sizes are.

    Parameters
    ----------
    uniformity : Ratio    Size that 60 % are finer than over that of 10 %. [-], >= 1
    base_d85 : Length     d85 of the soil. [m], > 0

    Returns
    -------
    Length                Apparent opening. [m]

    Raises
    ------
    DomainError           If one of them is out of its range.

    Notes
    -----
    O95 ≤ B d85 with B = 1 for C_u ≤ 2 or ≥ 8, 0.5 C_u from 2 to 4, 8/C_u from 4 to 8.

    Examples
    --------
    >>> round(widest_fabric_opening(3.0, 0.0004) * 1000.0, 2)
    0.6

    hand

    References
    ----------
    .. [1] Federal Highway Administration, geosynthetic design guidelines; from memory.
    """
    if not (uniformity >= 1.0 and base_d85 > 0.0):
        raise DomainError(
            f"`uniformity` must be at least 1 and `base_d85` above 0 m, got {uniformity:g}, {base_d85:g} m"
        )
    if uniformity <= 2.0 or uniformity >= 8.0:
        return base_d85
    return (0.5 * uniformity if uniformity <= 4.0 else 8.0 / uniformity) * base_d85


def fabric_flow(permittivity: float, head: Length) -> Speed:
    """Flow that a fabric lets through, per area.

    Parameters
    ----------
    permittivity : float     [1/s], >= 0
    head : Length            Water that stands higher on one side of it. [m], >= 0

    Returns
    -------
    Speed                    Flow per area. [m/s]

    Notes
    -----
    q = ψ Δh.  Clogging is not in it: fabrics are chosen with ten times of what is needed.

    Examples
    --------
    >>> fabric_flow(0.5, 0.05)
    0.025

    hand

    References
    ----------
    .. [1] Definition of permittivity.
    """
    return permittivity * head


def fabric_strength(strength: int, stretch: Literal["low", "high"]) -> FabricStrength:
    """Least strengths of a class of fabric.

    Parameters
    ----------
    strength : int        Class, 1 (strongest) to 3.
    stretch : str         `low`: it tears before it is half longer; `high`: it stretches by half and more.

    Returns
    -------
    FabricStrength        [N]

    Raises
    ------
    DomainError           If there is no such class.

    Examples
    --------
    >>> fabric_strength(2, "high").grab
    700.0

    published

    References
    ----------
    .. [1] AASHTO M288, minimum average roll values; from memory.
    """
    for row in read_table(__package__ or "", "fabric_strengths.csv").rows:
        if (int(row["class"]), row["stretch"]) == (strength, stretch):
            return FabricStrength(float(row["grab"]), float(row["tear"]), float(row["puncture"]))
    raise DomainError(
        f"`strength` must be class 1, 2 or 3, stretching low or high, got {strength}, {stretch}"
    )
