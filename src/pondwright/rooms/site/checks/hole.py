"""What is checked about the old hole: its lip, and whether its water marks can be true."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import ELEVATION, LENGTH, RATIO, Elevation, Length, Ratio
from pondwright.base.sources import PRACTICE, derived
from pondwright.rooms.site.location import PlanPoint
from pondwright.rooms.site.old_hole import SeasonOrder

Limits = Mapping[str, Limit]

LIMITS = (
    Limit("site.hole_guessed", "Share of guessed ground in the old hole, at most", 0.05, RATIO, PRACTICE),
    Limit("site.never_fills", "Water below the rim of the old hole, at most", 0.3, LENGTH, PRACTICE),
    Limit(
        "site.mark_in_hole", "Water mark beyond floor or lip of the old hole, at most", 0.1, LENGTH, PRACTICE
    ),
    Limit(
        "site.mark_order",
        "Mark of a season above that of a wetter one, at most",
        0.0,
        LENGTH,
        derived("what the words dry, usual, wet and flood say"),
    ),
    Limit("site.flood_mark", "Flood above the rim of the old hole, at most", 0.0, LENGTH, PRACTICE),
)

FIND_THE_LEAK = (
    Advice("Mark the height at which the fall stops: a leak lies at that height."),
    Advice(
        "Float a tub of its own water on the pond and read both for some days: "
        "what the pond falls more than the tub has leaked."
    ),
    Advice("Look downhill for wet ground or a boil, and look for roots, burrows and pipes through the bank."),
    Advice(
        "Read the water in a pit beside it through the seasons: where that stands higher, water flows in."
    ),
)
"""How a leak is found, in the order of what it costs."""


def no_hole() -> Finding:
    """That the surveyed ground holds no hollow that is worth the name."""
    return Finding(
        code="site.no_hole",
        grade=Grade.GOOD,
        says="The surveyed ground has no hollow that would hold water.",
        where=Where(("site.ground",)),
        source=PRACTICE,
    )


def check_hole_guessed(share: Ratio, lip: PlanPoint, at_edge: bool, limits: Limits) -> Finding:
    """Whether the old hole and its lip were surveyed."""
    limit = limits["site.hole_guessed"]
    good = share <= limit.value and not at_edge
    if at_edge:
        says = "The old hole would run over where the survey ends: its true rim may stand higher."
    elif good:
        says = "The old hole was surveyed up to its lip."
    else:
        says = "Part of the old hole is a guess: no shot was taken there."
    return judged(
        limit,
        share,
        Grade.GOOD if good else Grade.LOOK,
        says,
        where=Where(("site.old_hole.lip",), (lip,)),
        advice=(Advice("Shoot its floor, its rim all round, and the ground a little beyond."),),
    )


def check_never_fills(
    highest: Elevation, mark: str, lip: Elevation, place: PlanPoint, limits: Limits
) -> Finding:
    """Whether the old hole ever filled to its rim, by its highest water mark outside floods."""
    limit = limits["site.never_fills"]
    good = lip - highest <= limit.value
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if good else Grade.LOOK,
        says="The old hole fills to its rim."
        if good
        else f"Water stood at mark `{mark}` and no higher, although the rim would hold more: "
        "the old hole leaks, or nothing feeds it above that mark.",
        where=Where((f"site.water_marks.{mark}.elevation", "site.old_hole.lip"), (place,)),
        value=highest,
        limit=lip if not good else lip - limit.value,
        operator=">=",
        kind=ELEVATION,
        source=limit.source,
        advice=() if good else FIND_THE_LEAK,
    )


def check_mark_in_hole(
    mark: str, elevation: Elevation, floor: Elevation, lip: Elevation, flood: bool, limits: Limits
) -> Finding:
    """Whether water can have stood where a mark says: above the floor and, but for a flood, below the lip."""
    limit = limits["site.mark_in_hole"]
    below = floor - elevation > limit.value
    above = elevation - lip > limit.value and not flood
    if above:
        says = (
            f"Water mark `{mark}` stands above the lip of the old hole, where water cannot stay: the rim has "
            "been cut or has sunk since, or the mark is read from another zero."
        )
    elif below:
        says = f"Water mark `{mark}` lies below the floor of the old hole."
    else:
        says = f"Water can have stood at mark `{mark}`."
    wrong = above or below
    return Finding(
        code=limit.code,
        grade=Grade.LOOK if wrong else Grade.GOOD,
        says=says,
        where=Where((f"site.water_marks.{mark}.elevation",)),
        value=elevation,
        limit=lip if above else floor,
        operator="<=" if above else ">=",
        kind=ELEVATION,
        source=limit.source,
        advice=(Advice("Shoot the mark, and the lowest place of the rim once more."),) if wrong else (),
    )


def check_mark_order(wrong: Sequence[SeasonOrder], limits: Limits) -> Finding:
    """Whether the marks of the seasons stand in order: dry, usual, wet, flood."""
    limit = limits["site.mark_order"]
    worst: Length = max((each.by for each in wrong), default=0.0)
    good = worst <= limit.value
    pairs = ", ".join(f"{each.higher} above {each.lower}" for each in wrong)
    return judged(
        limit,
        worst,
        Grade.GOOD if good else Grade.LOOK,
        (
            "The water marks stand in the order of their seasons."
            if good
            else f"Water marks stand the wrong way round: {pairs}."
        ),
        where=Where(("site.water_marks",)),
        advice=(Advice("Ask again when the water stood there, or shoot both marks."),),
    )


def check_flood_mark(mark: str, flood: Elevation, lip: Elevation, limits: Limits) -> Finding:
    """Whether floods reach over the rim of the old hole."""
    limit = limits["site.flood_mark"]
    good = flood - lip <= limit.value
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if good else Grade.LOOK,
        says=f"The flood of mark `{mark}` stays below the rim."
        if good
        else f"The site floods to mark `{mark}`, over the rim: its water runs in, and fish leave with it.",
        where=Where((f"site.water_marks.{mark}.elevation", "site.old_hole.lip")),
        value=flood,
        limit=lip + limit.value,
        operator="<=",
        kind=ELEVATION,
        source=limit.source,
        advice=()
        if good
        else (
            Advice("Keep the rim, pumps and everything electric above the flood, and lead its water round."),
            Advice("Ask the authority for the flood line before anything is raised."),
        ),
    )
