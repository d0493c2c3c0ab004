"""What is checked about digging, balance, slopes and what is buried."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import LENGTH, RATIO, SLOPE, Elevation, Length, Slope, Volume
from pondwright.base.sources import PRACTICE, Source, from_memory
from pondwright.rooms.earth.services import DugOver

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
    Limit(
        "earth.next_shot",
        "What one more shot takes off the standard deviation, as a share of the dug volume, at most",
        0.01,
        RATIO,
        PRACTICE,
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
    Limit(
        "earth.service_zone",
        "Strip each side of a buried service in which it may lie, where the job tells none, at least",
        0.6096,
        LENGTH,
        from_memory("common locate rules of the US states", "tolerance zone of 18 to 24 in"),
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
    refused: str = "",
    warned: str = "",
) -> Finding:
    """Whether dug and placed soil are near each other, with the level that makes them equal.

    A level at which the water cannot stand as it is drawn is told with its reason, and not offered; what
    would stop the job there is told before anybody takes it.
    """
    limit = limits["earth.keep_balanced" if keep else "earth.balance"]
    share = abs(surplus) / dug if dug > 0.0 else float(surplus < 0.0)
    off = abs(balanced - level) if balanced is not None else float("inf")
    value = off if keep else share
    holds = value <= limit.value or (not keep and surplus == 0.0)
    ways = (Advice(f"No water level near the ground balances the soil of `{body}`: it must be hauled."),)
    if refused:
        ways = (Advice(f"Haul soil, or change the shape: no level to be taken balances it. {refused}"),)
    elif balanced is not None:
        but = f" But there: {warned}" if warned else ""
        ways = (
            Advice(
                f"Move the water level to where the soil balances.{but}",
                (Op("add", f"/shape/bodies/{body}/level", balanced),),
            ),
        )
    says = (
        "Soil is left over: spread it on the site or haul it away."
        if surplus > 0.0
        else "Soil is missing: it must be brought."
    )
    return judged(
        limit,
        value,
        Grade.GOOD if holds else Grade.LOOK,
        "Dug and placed soil are in balance." if holds else says,
        where=Where((f"shape.bodies.{body}.level", "earth.soil.surplus_bank")),
        advice=ways,
    )


def check_survey(dug: Volume, sigma: Volume, limits: Limits) -> Finding:
    """Whether the survey is good enough for the volume that is dug."""
    limit = limits["earth.survey"]
    share = sigma / dug if dug > 0.0 else 0.0
    holds = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        (
            "The survey is close enough to trust the dug volume."
            if holds
            else "The shots are too few or too far apart to trust the dug volume."
        ),
        where=Where(("earth.survey.dug_sigma", "site.shots")),
        advice=(Advice("Shoot next where `earth.next_shot` lights up the plan."),),
    )


def check_next_shot(
    places: Sequence[tuple[str, Length, Length]], narrowing: Volume, dug: Volume, limits: Limits
) -> Finding:
    """Whether one more shot would still narrow the dug volume much; the places are why, east and north."""
    limit = limits["earth.next_shot"]
    share = narrowing / dug if dug > 0.0 else 0.0
    holds = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        (
            "One more shot anywhere narrows the dug volume little; the best places are ringed."
            if holds
            else "One more shot at the right place narrows the dug volume a good deal."
        ),
        where=Where(
            ("earth.survey.dug_sigma", "earth.next_shot.places"),
            tuple((east, north) for _, east, north in places),
        ),
        advice=tuple(Advice(why) for why in dict.fromkeys(why for why, _, _ in places)),
        assumes=("The ground is as rough there as elsewhere on the site.",),
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


def check_service(
    called: str, path: str, met: DugOver, has_depth: bool, sure: Length, removed: bool
) -> Finding:
    """Whether the dig stays clear of a buried service."""
    grade, says = Grade.GOOD, f"The dig stays clear of {called}."
    if met.is_cut and removed:
        grade, says = Grade.LOOK, f"The dig goes through {called}, which is to be taken out first."
    elif met.is_cut:
        grade, says = Grade.STOP, f"The dig would cut {called}."
    elif met.is_near and has_depth:
        grade, says = Grade.LOOK, f"The dig comes so near to {called} that it may be hit."
    elif met.is_near:
        grade, says = Grade.LOOK, f"The dig lies over {called}, and nobody knows how deep it lies."
    ways: tuple[str, ...] = ("Take it out of use and cap it before digging.",)
    if not removed:
        ways = (
            "Call the locate service, expose it by hand, and write its depth down. Local rules decide.",
            "Lead it round the dig, or pull back the shore.",
        )
    return Finding(
        code="earth.service",
        grade=grade,
        says=says,
        where=Where((path,), met.spots),
        value=met.least_cover if has_depth and met.is_near else None,
        limit=sure if has_depth and met.is_near else None,
        operator=">",
        kind=LENGTH,
        source=PRACTICE,
        advice=() if grade is Grade.GOOD else tuple(map(Advice, ways)),
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
