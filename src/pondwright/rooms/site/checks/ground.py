"""What is checked about the existing ground: what no shot tells, and what a shore leaves behind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import (
    LENGTH,
    RATIO,
    Length,
    Ratio,
)
from pondwright.base.sources import PRACTICE
from pondwright.geometry.grid import Grid
from pondwright.rooms.site.location import PlanPoint

Limits = Mapping[str, Limit]

LIMITS = (
    Limit(
        "site.thin_triangles",
        "Share of the survey in long thin triangles between shots, at most",
        0.05,
        RATIO,
        PRACTICE,
    ),
    Limit(
        "site.ground_sigma",
        "Likely error (one standard deviation) of the ground between shots, at most",
        0.15,
        LENGTH,
        PRACTICE,
    ),
    Limit("site.guessed_ground", "Share of guessed ground under a pond, at most", 0.05, RATIO, PRACTICE),
    Limit("site.shore_outside", "Shore beyond the survey, at most", 0.0, LENGTH, PRACTICE),
)


def check_thin_triangles(share: Ratio, places: Sequence[PlanPoint], limits: Limits) -> Finding:
    """Whether long thin triangles invent ground between shots that are far apart."""
    limit = limits["site.thin_triangles"]
    good = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if good else Grade.LOOK,
        (
            "The shots are spread well enough."
            if good
            else "Shots are so far apart that the ground between them is invented."
        ),
        where=Where(("site.shots",), tuple(places)),
        advice=(Advice("Shoot the gaps, or draw the survey limit closer."),),
    )


def check_ground_sigma(typical: Length, limits: Limits) -> Finding:
    """Whether the surveyed ground is known well enough to count soil on it."""
    limit = limits["site.ground_sigma"]
    good = typical <= limit.value
    return judged(
        limit,
        typical,
        Grade.GOOD if good else Grade.LOOK,
        (
            "The surveyed ground is known well enough to count soil on it."
            if good
            else "Between the shots the ground is known too roughly to count soil on it."
        ),
        where=Where(("site.shots",)),
        advice=(Advice("Shoot closer where the ground bends: tops and toes of banks."),),
    )


def told_grid(grid: Grid) -> Finding:
    """That the grid follows the shots, with the edit that fixes it."""
    value = {
        "origin_east": grid.origin_east,
        "origin_north": grid.origin_north,
        "spacing": grid.spacing,
        "columns": grid.columns,
        "rows": grid.rows,
    }
    op = Op("replace", "/site/frame/grid", value)
    return Finding(
        code="site.grid",
        grade=Grade.GOOD,
        says="The plan reaches as far as the shots; a shot at the edge may make it larger.",
        where=Where(("site.frame.grid",)),
        value=grid.spacing,
        kind=LENGTH,
        source=PRACTICE,
        advice=(Advice("Keep the plan as large as it is, whatever is shot next.", (op,)),),
    )


def check_guessed_ground(body: str, share: Ratio, limits: Limits) -> Finding:
    """Whether the ground under a pond was surveyed."""
    limit = limits["site.guessed_ground"]
    good = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if good else Grade.LOOK,
        (
            f"The ground under `{body}` was surveyed."
            if good
            else f"Part of the ground under `{body}` is a guess: no shot was taken there."
        ),
        where=Where((f"shape.bodies.{body}.outline",)),
        advice=(Advice("Shoot the ground under it before counting soil."),),
    )


def check_shore_outside(
    body: str, outside: Length, places: Sequence[PlanPoint], wider: Grid | None, limits: Limits
) -> Finding:
    """Whether the whole shore lies on surveyed ground, and inside the grid."""
    limit = limits["site.shore_outside"]
    if wider is not None:
        grade, says = Grade.STOP, f"The shore of `{body}` runs off the plan: no ground is known there."
    elif outside > limit.value:
        grade, says = Grade.LOOK, f"Part of the shore of `{body}` lies beyond the survey, on guessed ground."
    else:
        grade, says = Grade.GOOD, f"The whole shore of `{body}` lies on surveyed ground."
    advice: tuple[Advice, ...] = ()
    if grade is not Grade.GOOD:
        advice = (Advice("Shoot the ground out to the shore and a little beyond."),)
    if wider is not None:
        advice += (
            Advice("Make the plan large enough, with guessed ground.", told_grid(wider).advice[0].ops),
        )
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=Where((f"shape.bodies.{body}.outline",), tuple(places)),
        value=outside,
        limit=limit.value,
        operator="<=",
        kind=LENGTH,
        source=limit.source,
        advice=advice,
    )
