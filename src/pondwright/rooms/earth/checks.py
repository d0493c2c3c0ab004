"""What is checked about moved soil, with limits, their sources, and ways out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where
from pondwright.base.kinds import LENGTH, RATIO, SLOPE, Elevation, Length, Slope, Volume
from pondwright.base.sources import PRACTICE, Source

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

LIMITS = (
    Limit(
        "earth.balance", "Surplus or missing soil as a share of what is dug, at most", 0.10, RATIO, PRACTICE
    ),
    Limit("earth.keep_balanced", "Water level off its balance, at most", 0.005, LENGTH, PRACTICE),
    Limit(
        "earth.survey", "Standard deviation of the dug volume from the survey, at most", 0.10, RATIO, PRACTICE
    ),
    Limit("earth.soil_depth", "Digging below the soil that is known, at most", 0.0, LENGTH, PRACTICE),
    Limit(
        "earth.excavation",
        "Depth of digging without shoring, a box or sloped sides, below",
        1.524,
        LENGTH,
        Source("29 CFR 1926.652(a)(1)", "5 ft"),
    ),
    Limit(
        "earth.deep_excavation",
        "Depth of digging without an engineer's design, below",
        6.096,
        LENGTH,
        Source("29 CFR 1926 subpart P, appendix B", "20 ft"),
    ),
)
"""Limits of the earth's checks; a job may replace each by its code."""


def check_balance(
    body: str,
    surplus: Volume,
    dug: Volume,
    level: Elevation,
    balanced: Elevation | None,
    keep: bool,
    limits: Limits,
) -> Finding:
    """Whether dug and placed soil are near each other, with the level that makes them equal."""
    limit = limits["earth.keep_balanced" if keep else "earth.balance"]
    share = abs(surplus) / dug if dug > 0.0 else float(surplus < 0.0)
    off = abs(balanced - level) if balanced is not None else float("inf")
    value = off if keep else share
    holds = value <= limit.value or (not keep and surplus == 0.0)
    ways = (Advice(f"No water level near the ground balances the soil of `{body}`: it must be hauled."),)
    if balanced is not None:
        ways = (
            Advice(
                "Move the water level to where the soil balances.",
                (Op("add", f"/shape/bodies/{body}/level", balanced),),
            ),
        )
    says = (
        "Soil is left over: spread it on the site or haul it away."
        if surplus > 0.0
        else "Soil is missing: it must be brought."
    )
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says="Dug and placed soil are in balance." if holds else says,
        where=Where((f"shape.bodies.{body}.level", "earth.soil.surplus_bank")),
        value=value,
        limit=limit.value,
        operator="<=",
        kind=limit.kind,
        source=limit.source,
        advice=() if holds else ways,
    )


def check_survey(dug: Volume, sigma: Volume, limits: Limits) -> Finding:
    """Whether the survey is good enough for the volume that is dug."""
    limit = limits["earth.survey"]
    share = sigma / dug if dug > 0.0 else 0.0
    holds = share <= limit.value
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says="The survey is close enough to trust the dug volume."
        if holds
        else "The shots are too few or too far apart to trust the dug volume.",
        where=Where(("earth.survey.dug_sigma", "site.shots")),
        value=share,
        limit=limit.value,
        operator="<=",
        kind=RATIO,
        source=limit.source,
        advice=()
        if holds
        else (Advice("Shoot more points where the dig is widest and the shots are thinnest."),),
    )


def check_soil_depth(below: Length, place: PlanPoint, guessed: bool, limits: Limits) -> Finding:
    """Whether digging stays in soil that somebody has seen."""
    limit = limits["earth.soil_depth"]
    holds = below <= limit.value and not guessed
    says = "The dig stays in soil that is known."
    if guessed:
        says = "No test pit yet: 0.15 m (6 in) of topsoil over silt is assumed."
    elif not holds:
        says = "The dig goes below the soil that is known; the lowest layer is assumed to go on."
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where(("site.soils",), (place,)),
        value=None if guessed else below,
        limit=None if guessed else limit.value,
        operator="<=",
        kind=LENGTH,
        source=limit.source,
        advice=()
        if holds
        else (Advice("Dig a test pit at the deepest place, to below the floor, and write its layers down."),),
    )


def check_slope(what: str, path: str, kind: str, slope: Slope, steepest: tuple[Slope, Source]) -> Finding:
    """Whether a finished slope is flat enough for the soil that it is made in."""
    limit, source = steepest
    holds = slope >= limit - 1e-9
    return Finding(
        code="earth.side_slope",
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"{what} in {kind} is flat enough to stand by itself."
        if holds
        else f"{what} is steep for {kind}: left bare, it may slump when the water is pumped down fast.",
        where=Where((path,)),
        value=slope,
        limit=limit,
        operator=">=",
        kind=SLOPE,
        source=source,
        advice=()
        if holds
        else (
            Advice("Make it flatter, or hold it with stone on shelves."),
            Advice("Lower the water slowly, 0.15 m (6 in) a day at most (common practice, no source)."),
        ),
    )


def check_excavation(depth: Length, place: PlanPoint, limits: Limits) -> tuple[Finding, ...]:
    """The cautions of pits and trenches."""
    where = Where(("earth.soil.greatest_dig",), (place,))
    cautions = (
        "Have a competent person look at it daily and after rain. Wet sides: 1.5 across for 1 up (type C).",
        "From 4 ft (1.22 m): a ladder or ramp within 25 ft (7.6 m). Spoil 2 ft (0.6 m) back from the edge.",
        "Call for buried services before digging. Local code and licensed practice decide.",
    )
    return tuple(
        Finding(
            code=limit.code,
            grade=Grade.GOOD if depth < limit.value else grade,
            says=says if depth >= limit.value else f"The dig is less deep than {depth_that}.",
            where=where,
            value=depth,
            limit=limit.value,
            operator="<",
            kind=LENGTH,
            source=limit.source,
            advice=tuple(Advice(caution) for caution in cautions) if depth >= limit.value else (),
        )
        for limit, grade, says, depth_that in (
            (
                limits["earth.excavation"],
                Grade.LOOK,
                "A pit this deep can bury people: slope its sides back, shore them or use a trench box.",
                "that at which people need its sides sloped, shored or boxed",
            ),
            (
                limits["earth.deep_excavation"],
                Grade.STOP,
                "A pit this deep needs an engineer's design.",
                "that which needs an engineer's design",
            ),
        )
    )


def left_out_covers(names: Sequence[str]) -> Finding:
    """Build-ups along a stretch, which have no area in the subgrade yet."""
    return Finding(
        code="earth.covers",
        grade=Grade.LOOK if names else Grade.GOOD,
        says="Layers along a stretch of shore are not taken off the dig: " + ", ".join(names) + "."
        if names
        else "All layers over the dig are taken off it.",
        where=Where(tuple(f"build_up.{name}" for name in names)),
        source=PRACTICE,
        advice=(Advice("Put these layers on a zone of the bank instead (place `part`)."),) if names else (),
    )
