"""What is checked about gas under a liner: a layer that leads it along, a bed that rises, and vents."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import AREA, AREAL_MASS, LENGTH, RATIO, ArealMass, Length, Ratio
from pondwright.base.sources import PRACTICE, Source, from_memory

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

KOERNER = Source("R. M. Koerner, notes on vents of geomembranes (2011)", "holes of 150 mm, 15 to 25 ft apart")

LIMITS = (
    Limit("groundwater.gas_area", "Water from which gas under its liner is looked at", 400.0, AREA, PRACTICE),
    Limit(
        "groundwater.gas_layer",
        "Mass of a fabric that leads gas along below a liner, at least",
        0.27,
        AREAL_MASS,
        from_memory("Practice for vented geomembranes", "nonwoven of 270 to 400 g/m²"),
    ),
    Limit(
        "groundwater.gas_rise",
        "Rise of the flattest tenth of a bed, so that gas finds the edge, at least",
        0.02,
        RATIO,
        from_memory("Practice for vented geomembranes", "2 % towards the edge"),
    ),
    Limit(
        "groundwater.gas_pocket",
        "Height of a hump of the bed that gas cannot leave, at most",
        0.02,
        LENGTH,
        PRACTICE,
    ),
    Limit("groundwater.vent_gap", "Shore from one vent to the next, at most", 7.62, LENGTH, KOERNER),
)
"""Limits of these checks; a job may replace each by its code."""


def check_gas_layer(
    body: str, layer: Literal["none", "fabric", "strips"], mass: ArealMass | None, limits: Limits
) -> Finding:
    """Whether anything below the liner leads gas to its edge."""
    limit = limits["groundwater.gas_layer"]
    light = layer == "fabric" and mass is not None and mass < limit.value
    holds = layer == "strips" or (layer == "fabric" and mass is not None and not light)
    if holds:
        says = f"Gas below the liner of `{body}` gets along to its edge."
    elif layer == "none":
        says = f"Nothing below the liner of `{body}` leads gas to its edge."
    elif light:
        says = f"The fabric below the liner of `{body}` is too thin to lead gas along."
    else:
        says = f"Nobody knows yet whether the fabric below the liner of `{body}` is thick enough for gas."
    measured = layer == "fabric" and mass is not None
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where(("groundwater.gas", f"shape.bodies.{body}")),
        value=mass if measured else None,
        limit=limit.value if measured else None,
        operator=">=" if measured else "",
        kind=limit.kind,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice("Dig out all muck and roots: they make gas for years."),
            Advice("Lay a nonwoven fabric of 270 g/m² (8 oz/yd²) or more, or strip drains, below the liner."),
        ),
    )


def check_gas_rise(body: str, rise: Ratio, limits: Limits) -> Finding:
    """Whether the bed rises enough everywhere that gas creeps to the edge."""
    limit = limits["groundwater.gas_rise"]
    holds = rise >= limit.value - 1e-9
    return judged(
        limit,
        rise,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The bed of `{body}` rises enough for gas to find the edge."
            if holds
            else f"Part of the bed of `{body}` is so level that gas does not find the edge."
        ),
        where=Where((f"shape.bodies.{body}.floor_fall",)),
        operator=">=",
        advice=(Advice("Let the floor fall by 2 % or more to its low spot, or lay strip drains across it."),),
    )


def check_gas_pocket(body: str, height: Length, point: PlanPoint, limits: Limits) -> Finding:
    """Whether gas can climb to the edge from everywhere."""
    limit = limits["groundwater.gas_pocket"]
    holds = height <= limit.value
    return judged(
        limit,
        height,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The bed of `{body}` rises all the way to its edge."
            if holds
            else f"Gas is trapped below a hump in the bed of `{body}`."
        ),
        where=Where((f"shape.bodies.{body}",), (point,)),
        advice=(Advice("Lead a strip drain from the top of the hump to the edge, or dig it away."),),
    )


def check_vents(body: str, gap: Length, needed: int, limits: Limits) -> Finding:
    """Whether vents stand close enough along the shore."""
    limit = limits["groundwater.vent_gap"]
    holds = gap <= limit.value
    return judged(
        limit,
        gap,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"Vents let gas out all along the shore of `{body}`."
            if holds
            else f"Along part of the shore of `{body}` no vent lets gas out."
        ),
        where=Where(("groundwater.vents", f"shape.bodies.{body}")),
        advice=(
            Advice(
                f"Put {needed} vents round it, every 4.6 to 7.6 m (15 to 25 ft) along the run-out at the top "
                "of the bank: holes of 150 mm (6 in) under a flap welded on three sides."
            ),
        ),
    )
