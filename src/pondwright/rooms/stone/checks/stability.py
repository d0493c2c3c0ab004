"""What is checked about stones that are set: whether they slide, roll in waves, press too hard, or rock."""

from __future__ import annotations

from collections.abc import Mapping

from pondwright.base.findings import Advice, Alike, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import LENGTH, PRESSURE, RATIO, Length, Mass, Pressure, Ratio
from pondwright.base.sources import PRACTICE, from_memory
from pondwright.rooms.stone.checks.lifting import length_words

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

LIMITS = (
    Limit("stone.slide", "Safety of stones against sliding down the liner, at least", 1.5, RATIO, PRACTICE),
    Limit(
        "stone.wave",
        "Grain at the shore against what waves move, at least",
        1.0,
        RATIO,
        from_memory("R. Y. Hudson; USACE, Shore Protection Manual", "chapter 7"),
    ),
    Limit(
        "stone.rests",
        "Pressure of a stone on the ground below the liner, at most",
        75_000.0,
        PRESSURE,
        PRACTICE,
    ),
    Limit(
        "stone.stands_firm", "Safety of a stone to stand on against tipping, at least", 1.5, RATIO, PRACTICE
    ),
)
"""Limits of these checks; a job may replace each by its code."""


def check_slide(says: str, path: str, safety: Ratio | None, point: PlanPoint, limits: Limits) -> Finding:
    """Whether stones of a course stay on the slope that they stand on; a safety of none is level ground."""
    limit = limits["stone.slide"]
    holds = safety is None or safety >= limit.value - 1e-9
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"{says} stands on ground flat enough for it."
        if holds
        else f"{says} stands on a slope down which stones may slide on the liner.",
        where=Where((path,), (point,)),
        value=safety,
        limit=None if safety is None else limit.value,
        operator="" if safety is None else ">=",
        kind=limit.kind,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice("Cut a shelf for it that is level or leans back into the bank by 2 %."),
            Advice("Or let each course rest on the one below it, from a level foot upward."),
        ),
        assumes=("A fabric slides on a smooth liner from 20° on.",),
        alike=Alike(
            "Rows stand on slopes down which their stones may slide on the liner: {}.",
            says[:1].lower() + says[1:],
        ),
    )


def check_wave(called: str, path: str, size: Length, needed: Length, wave: Length, limits: Limits) -> Finding:
    """Whether waves leave the cover of the shore where it is."""
    limit = limits["stone.wave"]
    least = limit.value * needed
    holds = size >= least
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"Waves leave {called} at the shore where it is."
        if holds
        else f"In a storm, waves move {called} at the shore.",
        where=Where((path,)),
        value=size,
        limit=least,
        operator=">=",
        kind=LENGTH,
        source=limit.source,
        advice=()
        if holds
        else (Advice(f"Lay grains of {length_words(least)} or more there, or stones before them."),),
        assumes=(f"A wind of 20 m/s (45 mph) along the longest water raises {length_words(wave)} of wave.",),
    )


def check_rests(says: str, path: str, pressure: Pressure, point: PlanPoint, limits: Limits) -> Finding:
    """Whether the ground below the liner bears a stone."""
    limit = limits["stone.rests"]
    holds = pressure <= limit.value
    return judged(
        limit,
        pressure,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"Firm ground below the liner bears {says[:1].lower()}{says[1:]}."
            if holds
            else f"Below {says[:1].lower()}{says[1:]} the ground under the liner may give way."
        ),
        where=Where((path,), (point,)),
        advice=(
            Advice("Bed it on mortar or on a pad of stone over two fabrics, so that more of it bears."),
            Advice(
                "Look that no point of it looks down: turn it, or knock the point off away from the liner."
            ),
        ),
        assumes=("A third of its outline bears, before the pond is filled.",),
    )


def check_stands_firm(
    called: str, path: str, safety: Ratio, mass: Mass, point: PlanPoint, limits: Limits
) -> Finding:
    """Whether a stone that people stand or sit on tips when someone steps on its rim."""
    limit = limits["stone.stands_firm"]
    holds = safety >= limit.value - 1e-9
    return judged(
        limit,
        safety,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"{called} is heavy enough to stand on."
            if holds
            else f"{called} may tip when someone steps on its rim."
        ),
        where=Where((path,), (point,)),
        operator=">=",
        advice=(Advice("Bed it out to its rim, in mortar over fabric, or take a heavier one."),),
        assumes=(
            f"It weighs {mass:.0f} kg ({mass / 0.45359237:.0f} lb), bears on two thirds of its width, and "
            "a person with a load weighs 120 kg (265 lb).",
            "It must not rock on three points, and its top must not be smooth: it will be wet.",
            "A stone that is set upright wants a third of its height in the ground or in mortar.",
        ),
    )
