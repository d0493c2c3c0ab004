"""What is checked about how the water is reached."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import COUNT, LENGTH, RATIO, Length, Ratio
from pondwright.base.sources import PRACTICE, from_memory
from pondwright.rooms.shape.reach import PathSlope

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

_ADA = "2010 ADA Standards for Accessible Design"

LIMITS = (
    Limit("shape.reach", "Share of a shore reached from a way, at least", 0.15, RATIO, PRACTICE),
    Limit("shape.arm", "How far an arm reaches from the edge of a way", 1.2, LENGTH, PRACTICE),
    Limit("shape.arm_rise", "Height of a way over the water within reach, at most", 0.45, LENGTH, PRACTICE),
    Limit("shape.wheelchair", "Places where a wheelchair reaches the water, at least", 1.0, COUNT, PRACTICE),
    Limit("shape.wheelchair_width", "Width of a way for wheelchairs, at least", 1.2, LENGTH, PRACTICE),
    Limit("shape.wheelchair_rise", "Height of its edge over the water, at most", 0.5, LENGTH, PRACTICE),
    Limit(
        "shape.path_slope",
        "Slope of a path along its line before it is a ramp, at most",
        0.05,
        RATIO,
        from_memory(_ADA, "403.3, 1:20"),
    ),
    Limit("shape.path_ledge", "Shore along paths without a shallow ledge, at most", 0.0, LENGTH, PRACTICE),
    Limit("shape.path_near", "Distance at which a path runs along the shore", 2.0, LENGTH, PRACTICE),
)

LEAST_SHORE: Length = 0.3
"""Shore without a ledge that is no more than rounding at a corner. [m]"""


def check_reach(body: str, share: Ratio, far: Sequence[PlanPoint], limits: Limits) -> Finding:
    """Whether people get to the water."""
    limit = limits["shape.reach"]
    holds = share >= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"Paths and decks reach enough of the shore of `{body}`."
            if holds
            else f"Little of the shore of `{body}` can be reached from a path or deck."
        ),
        where=Where((f"shape.reach.bodies.{body}.share",), tuple(far)),
        operator=">=",
        advice=(Advice("Bend a path to the water, or lay a deck at its edge."),),
    )


def check_wheelchair(places: Sequence[PlanPoint], limits: Limits) -> Finding:
    """Whether somebody in a wheelchair reaches the water."""
    limit = limits["shape.wheelchair"]
    holds = len(places) >= limit.value
    return judged(
        limit,
        float(len(places)),
        Grade.GOOD if holds else Grade.LOOK,
        "A wheelchair reaches the water." if holds else "No wheelchair reaches the water.",
        where=Where(("shape.ways",), tuple(places)),
        operator=">=",
        advice=(
            Advice("Bring one wide, gentle path or deck to the edge, at the height of the water."),
            Advice("Put an edge rail where wheels could roll in; local codes decide on more."),
        ),
    )


def check_path_slope(way: str, found: PathSlope, limits: Limits) -> Finding:
    """Whether a path is gentle enough to be no ramp."""
    limit = limits["shape.path_slope"]
    holds = found.steepest <= limit.value + 1e-9
    return judged(
        limit,
        found.steepest,
        Grade.GOOD if holds else Grade.LOOK,
        f"`{way}` is gentle all along." if holds else f"`{way}` is steep: for wheels it is a ramp here.",
        where=Where((f"shape.ways.{way}.place",), () if holds else (found.place,)),
        advice=(Advice("Lead it along the slope, give it a level, or lay steps."),),
    )


def check_path_ledge(body: str, without: Length, places: Sequence[PlanPoint], limits: Limits) -> Finding:
    """Whether somebody who slips off a path lands in shallow water."""
    limit = limits["shape.path_ledge"]
    holds = without <= limit.value + LEAST_SHORE
    return judged(
        limit,
        without,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"Where paths run along `{body}` the water begins shallow."
            if holds
            else f"A path runs along `{body}` where the water is deep at once."
        ),
        where=Where((f"shape.reach.bodies.{body}.without_ledge",), () if holds else tuple(places)),
        advice=(
            Advice("Give this stretch of shore a bank type with a wide shallow ledge."),
            Advice("Move the path away from the edge, or put a rail along it."),
        ),
    )
