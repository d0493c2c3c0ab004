"""What is checked about stone as it is counted: what shows, what stays, what is missing or left over."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Alike, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import (
    ANGLE,
    AREA,
    BULK_MASS,
    LENGTH,
    RATIO,
    Angle,
    Area,
    Length,
    Mass,
    Ratio,
)
from pondwright.base.sources import PRACTICE

Limits = Mapping[str, Limit]
Place = tuple[Length, Length]

LIMITS = (
    Limit("stone.hides_riser", "Stone above the step that it hides, at least", 0.05, LENGTH, PRACTICE),
    Limit("stone.thickness", "Thickness of a layer in its largest grains, at least", 1.5, RATIO, PRACTICE),
    Limit(
        "stone.repose",
        "Slope on which round gravel and cobble stay, at most: 5° below the angle at which they lie",
        math.radians(28.0),
        ANGLE,
        PRACTICE,
    ),
    Limit(
        "stone.repose_broken",
        "Slope on which broken stone stays, at most: 5° below the angle at which it lies",
        math.radians(35.0),
        ANGLE,
        PRACTICE,
    ),
    Limit(
        "stone.edge_light", "Stone of the courses on a metre of shore, at least", 900.0, BULK_MASS, PRACTICE
    ),
    Limit(
        "stone.edge_heavy", "Stone of the courses on a metre of shore, at most", 4000.0, BULK_MASS, PRACTICE
    ),
    Limit("stone.waste", "Added to stones of courses that are bought", 0.10, RATIO, PRACTICE),
    Limit("stone.waste_cover", "Added to cobble, gravel and backing that are bought", 0.05, RATIO, PRACTICE),
    Limit("stone.displaced", "Share of the water that stone takes away, at most", 0.25, RATIO, PRACTICE),
)

LITTLE: Length = 1e-9


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a bank and the smallest stone before it; no stone is a height of zero. [m]"""

    bank: str
    riser: Length
    stone: Length
    point: Place

    @property
    def spare(self) -> Length:
        """How far the stone stands above the step. [m]"""
        return self.stone - self.riser


def check_hides(body: str, steps: Sequence[Step], limits: Limits) -> Finding:
    """Whether stone hides every step of the banks of a body."""
    limit = limits["stone.hides_riser"]
    short = sorted((step for step in steps if step.spare < limit.value - LITTLE), key=lambda step: step.spare)
    worst = min(steps, key=lambda step: step.spare)
    return Finding(
        code=limit.code,
        grade=Grade.LOOK if short else Grade.GOOD,
        says=f"The liner shows at steps of `{body}`: the smallest stone before them is no taller."
        if worst.spare <= LITTLE
        else f"The liner shows between stones at steps of `{body}`: the smallest are hardly taller."
        if short
        else f"Stone hides every step of `{body}`.",
        where=Where((f"stone.takeoff.bodies.{body}.runs",), tuple(step.point for step in short)),
        value=worst.spare,
        limit=limit.value,
        operator=">=",
        kind=LENGTH,
        source=limit.source,
        advice=tuple(dict.fromkeys(_taller(step, limit.value) for step in short)),
        assumes=("A stone is set with its middle axis upright, a slab flat.",),
    )


def _taller(step: Step, spare: Length) -> Advice:
    bank = f"at {step.bank}" if step.bank else "all round"
    has = f"has stone of {words.size(step.stone)}" if step.stone > 0.0 else "has no stone"
    return Advice(
        f"The step of {words.size(step.riser)} in the bank {bank} {has} before it: "
        f"set stone {words.size(step.riser + spare)} tall or more, one more course, or split the step."
    )


def by_default(body: str, steps: Sequence[Length], count: int, mass: Mass, taken: tuple[Op, ...]) -> Finding:
    """Steps that no treatment names."""
    told = ", ".join(dict.fromkeys(words.size(step) for step in steps))
    return Finding(
        code="stone.default",
        grade=Grade.LOOK,
        says=f"No treatment tells what hides steps of `{body}`: counted are {count} stones 50 to 100 mm "
        f"(2 to 4 in) taller.",
        where=Where(("stone.treatments", f"stone.takeoff.bodies.{body}.runs")),
        value=mass,
        kind=BULK_MASS,
        source=PRACTICE,
        advice=(
            *(Advice("Take that stone as it is: a course before each step.", ops) for ops in (taken,) if ops),
            Advice(f"Tell in the treatments what stands before the steps of {told}."),
        ),
    )


def check_thickness(treatment: str, thickness: Length, largest: Length, limits: Limits) -> Finding:
    """Whether a layer is thick enough that nothing shows through it."""
    limit = limits["stone.thickness"]
    holds = thickness >= limit.value * largest - LITTLE
    return judged(
        limit,
        thickness / largest,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"`stone.treatments.{treatment}` is thick enough that nothing shows through it."
            if holds
            else f"`stone.treatments.{treatment}` is thin for its grains: what lies under it will show."
        ),
        where=Where((f"stone.treatments.{treatment}.thickness",)),
        operator=">=",
        advice=(Advice(f"Lay it {words.size(limit.value * largest)} thick, or take smaller stone."),),
    )


def check_repose(
    what: str,
    body: str,
    zone: int,
    called: str,
    slope: Angle,
    point: Place,
    limits: Limits,
    *,
    broken: bool,
) -> Finding:
    """Whether a layer stays on the steepest zone on which it lies; `called` is that zone in words."""
    limit = limits["stone.repose_broken" if broken else "stone.repose"]
    holds = slope <= limit.value + LITTLE
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"The slopes of `{body}` are flat enough for {what}."
        if holds
        else f"{called[:1].upper()}{called[1:]} of `{body}` is too steep for {what}: "
        "it slides off the liner.",
        where=Where((f"stone.takeoff.bodies.{body}.zones.{zone}",), () if holds else (point,)),
        value=slope,
        limit=limit.value,
        operator="<=",
        kind=ANGLE,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice("Make the slope flatter, or break it by a shelf with a row of stones at its edge."),
            Advice("Lay broken stone that locks, or leave the slope bare and hide it from above."),
            Advice(
                "Nobody stands on that slope while the layer is placed from above: wet liner is slippery."
            ),
        ),
        alike=Alike(
            f"Slopes are too steep for {what}, which slide off the liner: {{}}.", f"{called} of `{body}`"
        ),
    )


def check_build_up(body: str, zone: int, called: str, over: Length, room: Length) -> Finding:
    """A layer that is thicker than what was dug for it; `called` is its zone in words."""
    return Finding(
        code="stone.build_up",
        grade=Grade.LOOK,
        says=f"Cobble and gravel on {called} of `{body}` stand above the ground as it is drawn: "
        "the dig leaves less room for them.",
        where=Where(("build_up", f"stone.takeoff.bodies.{body}.zones.{zone}")),
        value=room + over,
        limit=room,
        operator="<=",
        kind=LENGTH,
        advice=(
            Advice(
                f"Make the layers of the build-up {words.size(over)} thicker there, so that it is dug deeper."
            ),
            Advice("Or take the water that they take away as it is."),
        ),
    )


def check_bare(body: str, zones: Sequence[str], area: Area, points: Sequence[Place]) -> Finding:
    """Whether something lies on every zone of a body that has layers at all; `zones` are the bare ones."""
    told = ", ".join(zones)
    return Finding(
        code="stone.bare",
        grade=Grade.LOOK if zones else Grade.GOOD,
        says=f"Neither cobble nor gravel lies on the liner of `{body}` on {told}."
        if zones
        else f"Cobble or gravel lies on every slope and shelf of `{body}`, or it is meant to be bare.",
        where=Where((f"stone.takeoff.bodies.{body}.zones",), tuple(points)),
        value=area,
        limit=0.0,
        operator="<=",
        kind=AREA,
        source=PRACTICE,
        advice=(Advice("Lay something there, or tell by a treatment of it that it stays bare."),)
        if zones
        else (),
    )


def check_edge(body: str, mass: Mass, limits: Limits) -> Finding:
    """Whether the courses of a body have about as much stone as others do."""
    heavy = mass > limits["stone.edge_heavy"].value
    limit = limits["stone.edge_heavy" if heavy else "stone.edge_light"]
    light = not heavy and mass < limit.value
    return Finding(
        code=limit.code,
        grade=Grade.LOOK if heavy or light else Grade.GOOD,
        says=f"The shore of `{body}` has more stone on a metre (3.3 ft) than shelved ponds have."
        if heavy
        else f"The shore of `{body}` has less stone on a metre (3.3 ft) than others do: "
        "it is easily pushed about."
        if light
        else f"The shore of `{body}` has as much stone on a metre (3.3 ft) as others do.",
        where=Where((f"stone.takeoff.bodies.{body}.edge_mass",)),
        value=mass,
        limit=limit.value,
        operator="<=" if heavy else ">=",
        kind=BULK_MASS,
        source=limit.source,
        advice=(Advice("Look at sizes, shares and courses once more before you order."),)
        if heavy
        else (Advice("Take larger stone for the edge that people step on, or one more course."),)
        if light
        else (),
        alike=Alike(
            "Shores have more stone on a metre (3.3 ft) than shelved ponds have: {}."
            if heavy
            else "Shores have less stone on a metre (3.3 ft) than others do, easily pushed about: {}.",
            f"`{body}`",
        ),
    )


def check_falls(body: str, without: Sequence[int], unknown: Sequence[str], bare: Sequence[str]) -> Finding:
    """Whether every fall of a stream has its stone told."""
    advice = [
        *(
            Advice(f"Tell stone for the fall of step {step}, counted from 0 at the upper end.")
            for step in without
        ),
        *(Advice(f"Give `stone.falls.{name}` a step that the stream has.") for name in unknown),
        *(
            Advice(f"Give `stone.falls.{name}` a class for its spill stones and one for its frame.")
            for name in bare
        ),
    ]
    return Finding(
        code="stone.fall",
        grade=Grade.LOOK if advice else Grade.GOOD,
        says=f"The falls of `{body}` are not all counted: stone is not told for each."
        if advice
        else f"Stone is told for every fall of `{body}`.",
        where=Where(("stone.falls", f"shape.bodies.{body}.outline")),
        source=PRACTICE,
        advice=tuple(advice),
    )


def nowhere(treatment: str) -> Finding:
    """A treatment that covers nothing."""
    return Finding(
        code="stone.nowhere",
        grade=Grade.LOOK,
        says=f"`stone.treatments.{treatment}` lies nowhere: no bank there has its zone, or it has no length.",
        where=Where((f"stone.treatments.{treatment}.place",)),
        advice=(Advice("Give it a zone that the bank has, counted from 0 at the water's edge."),),
    )


@dataclass(frozen=True, slots=True)
class Spare:
    """What stays of one pile: its id, how much [kg], and why in words."""

    pile: str
    mass: Mass
    why: str


def left_over(spare: Sequence[Spare]) -> Finding:
    """Piles on hand of which much stays; measured stones without a place are told by the yard list."""
    mass = sum(each.mass for each in spare)
    told = [f"{words.tons(each.mass)} of `stone.piles.{each.pile}`, as {each.why}" for each in spare]
    return Finding(
        code="stone.left_over",
        grade=Grade.LOOK,
        says=f"Stone on hand is left over: {'; '.join(told)}.",
        where=Where(tuple(f"stone.piles.{each.pile}" for each in spare)),
        value=mass,
        kind=BULK_MASS,
        advice=(
            *((SORT,) if any(each.why == MIXED for each in spare) else ()),
            Advice("Use more of it: a wider cover, one more course, or another pond."),
        ),
    )


MIXED = "mixed stone is only packed behind falls, which take no more"
UNWANTED = "nothing is built of its class"
ENOUGH = "no more of its class is wanted"
"""Why stone of a pile stays."""

SORT = Advice("Sort the mixed heap, and name the class of what comes out.")


def check_displaced(body: str, share: Ratio, limits: Limits) -> Finding:
    """Whether stone leaves most of the water."""
    limit = limits["stone.displaced"]
    holds = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"Stone leaves most of the water of `{body}`."
            if holds
            else f"Stone takes much of the water of `{body}` away."
        ),
        where=Where((f"stone.net_storage.bodies.{body}.volume",)),
        advice=(Advice("Dose, stock fish and size the pump by the net volume."), Advice("Dig deeper.")),
        alike=Alike("Stone takes much of the water away: {}.", f"`{body}`"),
    )
