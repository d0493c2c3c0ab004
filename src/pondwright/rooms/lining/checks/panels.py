"""What is checked about the size of a liner: that it covers, what it wastes, and the stock that there is."""

from __future__ import annotations

from collections.abc import Mapping

from pondwright.base.findings import Advice, Alike, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import AREA, RATIO, Area, Ratio
from pondwright.base.sources import PRACTICE, derived

Limits = Mapping[str, Limit]

LIMITS = (
    Limit(
        "lining.covers",
        "Area of the piece that is proved to cover against the one by tapes over the ground, at most",
        1.10,
        RATIO,
        derived("a map from the flat piece to the ground that stretches nothing"),
    ),
    Limit("lining.waste", "Liner ordered beyond the ground that it covers, at most", 0.60, RATIO, PRACTICE),
)


def check_covers(liner: str, proved: Area, taped: Area, limits: Limits) -> Finding:
    """Whether the piece that is proved to cover is about the one by tapes."""
    limit = limits["lining.covers"]
    ratio = proved / taped
    holds = ratio <= limit.value
    return judged(
        limit,
        ratio,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The liner of `{liner}` is proved to cover the ground without being stretched."
            if holds
            else f"The liner of `{liner}` needs much more than tapes over the ground tell."
        ),
        where=Where((f"lining.cover.liners.{liner}.area",)),
        advice=(
            Advice("Order the proved size, and tape the hole once more before you order."),
            Advice("Lay a stream in several pieces, each with its end over the piece below."),
            Advice("Make risers lower or shelves wider where the shore bends inward."),
        ),
        assumes=("The hole is dug as it is drawn: tape it in both directions before you order.",),
    )


def check_waste(liner: str, ordered: Area, area: Area, limits: Limits) -> Finding:
    """Whether the piece wastes no more than liners of ponds do."""
    limit = limits["lining.waste"]
    waste: Ratio = ordered / area - 1.0
    holds = waste <= limit.value
    return judged(
        limit,
        waste,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The liner of `{liner}` wastes no more than others do."
            if holds
            else f"Much of the liner of `{liner}` is cut away: its shore is far from a rectangle."
        ),
        where=Where((f"lining.layout.liners.{liner}.ordered_area",)),
        advice=(
            Advice("Try rolls with seams instead of one piece: strips follow the shore."),
            Advice("Keep the offcuts for pads under boulders, patches and small pools."),
        ),
        alike=Alike(
            "Much of the liners is cut away, as their shores are far from rectangles: {}.", f"`{liner}`"
        ),
    )


def no_stock(liner: str, area: Area) -> Finding:
    """A liner from rolls of which no size is told."""
    return Finding(
        code="lining.stock",
        grade=Grade.LOOK,
        says=f"The liner of `{liner}` is to come from rolls, and no size of roll is told.",
        where=Where((f"lining.liners.{liner}.stock",)),
        value=area,
        kind=AREA,
        advice=(Advice("Write down the widths and lengths that your supplier has."),),
    )
