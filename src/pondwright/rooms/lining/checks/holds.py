"""What is checked about holding: anchors that slip before the sheet tears, and covers that stay on slopes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Alike, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import LENGTH, RATIO, SLOPE, Ratio
from pondwright.base.sources import PRACTICE, Source

Limits = Mapping[str, Limit]

ARIZONA = Source("USDA NRCS, construction specification 521A (Arizona, 2008)")
KOERNER = Source("R. M. Koerner, notes on geomembranes (2014)", "an anchor is to slip before the sheet tears")

LIMITS = (
    Limit("lining.anchor", "Hold of an anchor against the strength of a sheet, at most", 1.0, RATIO, KOERNER),
    Limit("lining.trench", "Depth of an anchor trench, at least", 0.3048, LENGTH, ARIZONA),
    Limit("lining.setback", "From the edge of the bank to the trench, at least", 0.6096, LENGTH, ARIZONA),
    Limit("lining.trench_cover", "Soil over a liner between bank and trench", 0.15, LENGTH, PRACTICE),
    Limit(
        "lining.cover_slides", "Safety of a cover on a slope against sliding, at least", 1.3, RATIO, PRACTICE
    ),
    Limit(
        "lining.covered_slope",
        "Slope below a cover, level for one upright, at least",
        2.5,
        SLOPE,
        ARIZONA,
    ),
)
"""Limits of these checks; a job may replace each by its code."""

SLIPPERY = "Lined slopes are slippery, wet stones on them too: keep a rope or a ladder there while you work."
FROM_TOE = "Place stone from the toe of a slope upward, never from its top, and drop none."
NO_WHEELS = "Keep machines off covered slopes: their brakes push the cover down."


def check_anchor(edge: str, body: str, capacity: float, strength: float | None, limits: Limits) -> Finding:
    """Whether an anchor lets the sheet slip before it tears."""
    limit = limits["lining.anchor"]
    told = strength is not None and strength > 0.0
    ratio = capacity / strength if told and strength else None
    holds = ratio is not None and ratio <= limit.value
    along = f"`lining.edges.{edge}`"
    if ratio is None:
        says = f"Nobody knows whether the anchor of `{body}` along {along} slips before the sheet tears."
    elif holds:
        says = f"The anchor of `{body}` along {along} slips before the sheet tears."
    else:
        says = f"The anchor of `{body}` along {along} holds more than the sheet: the sheet tears first."
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where(
            (
                f"shape.bodies.{body}",
                f"lining.edges.{edge}",
                f"lining.rim.bodies.{body}.anchor.{edge}.capacity",
            )
        ),
        value=ratio,
        limit=None if ratio is None else limit.value,
        operator="" if ratio is None else "<=",
        kind=RATIO,
        source=limit.source,
        advice=()
        if holds
        else (Advice("Write down the strength of the sheet in the catalogue."),)
        if ratio is None
        else (Advice("Make the trench shallower, or its cover thinner."),),
        assumes=("The backfill is a firm silty sand: friction 30° in itself, 20° on the sheet.",),
    )


def check_trench(edge: str, body: str, depth: float, limits: Limits) -> Finding:
    """Whether an anchor trench is deep enough for the length that is laid in it."""
    limit = limits["lining.trench"]
    holds = depth >= limit.value - 1e-3
    return judged(
        limit,
        depth,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The anchor trench of `{body}` along `lining.edges.{edge}` is deep enough."
            if holds
            else f"What the anchor of `{body}` along `lining.edges.{edge}` lays in its trench makes it only "
            f"{words.length(depth)} deep."
        ),
        where=Where((f"shape.bodies.{body}", f"lining.edges.{edge}.upturn")),
        operator=">=",
        advice=(
            Advice(f"Lay {words.length(2.0 * limit.value)} in it: half down its side, half along its floor."),
        ),
        assumes=("Drive along no anchor trench, and round off its lip.",),
    )


def check_slides(body: str, worst: Any, limits: Limits) -> Finding:
    """Whether the cover stays on the steepest covered slope of a body.

    Parameters
    ----------
    body : str
    worst : SlopeHold     With `safety_toe`, `slope`, `thickness`, `place`.
    limits : mapping
    """
    limit = limits["lining.cover_slides"]
    safety: Ratio = worst.safety_toe
    holds = safety >= limit.value
    where = f"{worst.place} of `{body}`"
    return judged(
        limit,
        safety,
        Grade.GOOD if holds else Grade.STOP if safety < 1.0 else Grade.LOOK,
        (
            f"Stone and gravel stay on {where}."
            if holds
            else f"Stone and gravel slide on {where}: it is too steep for their friction."
            if safety < 1.0
            else f"Stone and gravel on {where} stay with too little to spare."
        ),
        where=Where(
            (
                f"shape.bodies.{body}",
                f"lining.rim.bodies.{body}.slopes",
            )
        ),
        operator=">=",
        advice=(
            Advice("Make the slope flatter, or break it by a shelf on which the stone stands."),
            Advice("Or stand the cover on a row of large stones at its toe, and build it from there upward."),
            Advice("Or leave the slope bare and choose a sheet with a rough face."),
        ),
        assumes=(
            "Still water and dry are alike; a pond that is pumped down fast is worse.",
            FROM_TOE,
            SLIPPERY,
            NO_WHEELS,
        ),
    )


def check_covered(body: str, worst: Any, limits: Limits) -> Finding:
    """Whether the steepest covered slope is flat enough by the rule for covered liners.

    Parameters
    ----------
    body : str
    worst : SlopeHold     With `slope`, `place`.
    limits : mapping
    """
    limit = limits["lining.covered_slope"]
    holds = worst.slope >= limit.value - 1e-6
    return judged(
        limit,
        worst.slope,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The covered slopes of `{body}` are flat enough."
            if holds
            else f"{worst.place[:1].upper()}{worst.place[1:]} of `{body}` is steeper than covered "
            "liners may be."
        ),
        where=Where(
            (
                f"shape.bodies.{body}",
                f"lining.rim.bodies.{body}.slopes",
            )
        ),
        operator=">=",
        advice=(Advice("Make the slope flatter, or make part of it a riser and a shelf."),),
        assumes=(SLIPPERY,),
        alike=Alike("Slopes are steeper than covered liners may be: {}.", f"{worst.place} of `{body}`"),
    )
