"""What is checked about drains: fall, cover, what they carry, where they run out, pumps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import (
    COUNT,
    LENGTH,
    RATIO,
    SPEED,
    VOLUME,
    Flow,
    Length,
    Ratio,
    Speed,
    Volume,
)
from pondwright.base.sources import PRACTICE, Source, derived, from_memory

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

_EVERETT = "Design manual of the city of Everett"
_NRCS_GUIDE = "USDA NRCS, National Engineering Handbook, part 650, chapter 14"
_NRCS_606 = from_memory("USDA NRCS, conservation practice standard 606, subsurface drain", "cover, 2 ft")
_SPEEDS = Source(_NRCS_GUIDE, "least speed in drains, as told on two pages about the rule")

LIMITS = (
    Limit("groundwater.drain_least", "Fall of a drain, at least", 0.005, RATIO, PRACTICE),
    Limit("groundwater.drain_fall", "Fall of a drain that is easy to build, at least", 0.01, RATIO, PRACTICE),
    Limit(
        "groundwater.drain_tolerance",
        "How far a laid pipe may be off at each end of a piece of 3 m",
        0.005,
        LENGTH,
        PRACTICE,
    ),
    Limit(
        "groundwater.drain_build",
        "Fall that is left of a piece laid as badly as it may be, at least",
        0.0,
        RATIO,
        derived("two ends, each off by as much as it may be"),
    ),
    Limit("groundwater.drain_cover", "Soil over a drain, at least", 0.6096, LENGTH, _NRCS_606),
    Limit(
        "groundwater.drain_liner",
        "Gravel between a drain and the liner above it, at least",
        0.075,
        LENGTH,
        Source(_EVERETT, "subsurface drains: envelope at least 3 in all round"),
    ),
    Limit(
        "groundwater.drain_envelope",
        "Gravel round a drain, at least",
        0.075,
        LENGTH,
        Source(_EVERETT, "subsurface drains: envelope at least 3 in all round"),
    ),
    Limit(
        "groundwater.drain_capacity",
        "Water that comes to a drain as a share of what it carries full, at most",
        1.0,
        RATIO,
        derived("Manning, full pipe"),
    ),
    Limit(
        "groundwater.drain_speed", "Speed that carries sand and silt on, at least", 0.42672, SPEED, _SPEEDS
    ),
    Limit(
        "groundwater.drain_speed_filtered",
        "Speed where no sand or silt gets in, at least",
        0.1524,
        SPEED,
        _SPEEDS,
    ),
    Limit(
        "groundwater.drain_fast",
        "Speed in a drain with gravel round it, at most",
        2.7432,
        SPEED,
        Source(_EVERETT, "subsurface drains: 9 ft/s"),
    ),
    Limit(
        "groundwater.drain_diameter",
        "Inner diameter of a drain, at least",
        0.0762,
        LENGTH,
        Source("Drainage manuals of US cities", "3 in in some, 4 in in others"),
    ),
    Limit(
        "groundwater.drain_outlet",
        "Free fall of a drain over the flood level where it runs out, at least",
        0.3,
        LENGTH,
        PRACTICE,
    ),
    Limit(
        "groundwater.drain_flood",
        "Height of a liner over the flood level where the drain under it runs out, at least",
        0.0,
        LENGTH,
        derived("water stands as high in the pipe as where it runs out"),
    ),
    Limit(
        "groundwater.drain_gap", "Distance of a drain's end from where it runs into", 0.5, LENGTH, PRACTICE
    ),
    Limit(
        "groundwater.drain_wider",
        "Step from a wider pipe into a narrower one, at most",
        0.0,
        LENGTH,
        PRACTICE,
    ),
    Limit("groundwater.drain_eyes", "Distance between rodding eyes, at most", 45.0, LENGTH, PRACTICE),
    Limit(
        "groundwater.drain_service",
        "Height between a drain and a buried service that it crosses, beside how far that may be off, "
        "at least",
        0.3048,
        LENGTH,
        from_memory("US codes for utility trenches", "1 ft between crossing lines"),
    ),
    Limit(
        "groundwater.sump_pump",
        "Water that comes to a sump as a share of what its pump lifts, at most",
        1.0,
        RATIO,
        derived("what comes in must go out"),
    ),
    Limit(
        "groundwater.sump_standby",
        "Sumps without a second pump and a source of power for cuts, at most",
        0.0,
        COUNT,
        PRACTICE,
    ),
    Limit(
        "groundwater.can_fall",
        "Places that need a drain and from which none can fall to an outlet, at most",
        0.0,
        COUNT,
        derived("least trench that keeps its fall"),
    ),
)
"""Limits of these checks; a job may replace each by its code."""


@dataclass(frozen=True, slots=True)
class Named:
    """A row of the job: what it is called within a sentence, and its path."""

    called: str
    path: str

    @property
    def start(self) -> str:
        """The same where a sentence begins."""
        return self.called[:1].upper() + self.called[1:]


def check_fall(drain: Named, fall: Ratio, place: PlanPoint, way_out: Sequence[Op], limits: Limits) -> Finding:
    """Whether a drain falls all along, and enough to be built."""
    least, wanted = limits["groundwater.drain_least"], limits["groundwater.drain_fall"]
    limit = least if fall < least.value - 1e-9 else wanted
    good, stop = fall >= wanted.value - 1e-9, limit is least
    says = f"{drain.start} falls well by gravity all along."
    if fall <= 0.0:
        says = f"{drain.start} does not fall here: water stands in it."
    elif stop:
        says = f"{drain.start} falls too little here to be built: a little off, and water stands in it."
    elif not good:
        says = f"{drain.start} falls, but little: it must be laid with great care."
    ways = (
        Advice("Give it an even fall to where it runs out.", tuple(way_out)),
        Advice("Start it higher, run it out lower, or find a shorter way."),
        Advice("Or let it run into a sump with a pump."),
    )
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if good else Grade.STOP if stop else Grade.LOOK,
        says=says,
        where=Where((drain.path,), () if good else (place,)),
        value=fall,
        limit=limit.value,
        operator=">=",
        kind=RATIO,
        source=limit.source,
        advice=() if good else ways if way_out else ways[1:],
    )


def check_build(drain: Named, margin: Ratio, place: PlanPoint, limits: Limits) -> Finding:
    """Whether a piece of pipe could climb once it is laid as badly as it may be."""
    limit = limits["groundwater.drain_build"]
    good = margin >= limit.value
    return judged(
        limit,
        margin,
        Grade.GOOD if good else Grade.LOOK,
        (
            f"Even laid as badly as a laser in the trench lets it, no piece of {drain.called} climbs."
            if good
            else f"Laid with a laser in the trench, a piece of {drain.called} can come out climbing."
        ),
        where=Where((drain.path,), () if good else (place,)),
        operator=">=",
        advice=(
            Advice("Give it more fall, or read every pipe at both ends before it is covered."),
            Advice("Lay it on a board or on gravel that was drawn level, not on the raw trench."),
        ),
        assumes=("each end of 3 m of pipe may be off by what `groundwater.drain_tolerance` tells",),
    )


def check_cover(drain: Named, cover: Length, under_pond: bool, place: PlanPoint, limits: Limits) -> Finding:
    """Whether enough lies over a pipe: soil, or gravel below a liner."""
    limit = limits["groundwater.drain_liner" if under_pond else "groundwater.drain_cover"]
    good = cover >= limit.value - 1e-6
    what = "the liner" if under_pond else "the finished ground"
    says = f"{drain.start} lies deep enough below {what}."
    if cover < 0.0:
        says = f"{drain.start} stands out of {what} here."
    elif not good:
        says = f"{drain.start} lies close below {what} here."
    advice = (
        "Lower it, or dig the pond less deep here."
        if under_pond
        else "Lower it, or let nothing heavy drive over it, and use pipe of a thicker wall."
    )
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if good else Grade.STOP if cover < 0.0 else Grade.LOOK,
        says=says,
        where=Where((drain.path,), () if good else (place,)),
        value=cover,
        limit=limit.value,
        operator=">=",
        kind=LENGTH,
        source=limit.source,
        advice=() if good else (Advice(advice),),
    )


def check_capacity(drain: Named, flow: Flow, capacity: Flow, wider: Sequence[Op], limits: Limits) -> Finding:
    """Whether a drain carries what comes to it."""
    limit = limits["groundwater.drain_capacity"]
    share = flow / capacity if capacity > 0.0 else float(flow > 0.0) * 1e3
    good = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if good else Grade.STOP,
        (
            f"{drain.start} carries all that comes to it in the wet season."
            if good
            else f"More water comes to {drain.called} in the wet season than it carries."
        ),
        where=Where((drain.path,)),
        advice=(Advice("Take a wider pipe.", tuple(wider)), Advice("Or give it more fall.")),
        assumes=("the highest inflow that the readings allow",),
    )


def check_speed(drain: Named, speed: Speed, filtered: bool, limits: Limits) -> Finding:
    """Whether a drain keeps itself clean, and does not scour its gravel."""
    slow = limits["groundwater.drain_speed_filtered" if filtered else "groundwater.drain_speed"]
    fast = limits["groundwater.drain_fast"]
    if speed > fast.value:
        return _judged(
            fast,
            speed,
            "<=",
            Grade.LOOK,
            f"{drain.start} runs so fast that it can wash its gravel away.",
            drain,
            (Advice("Lay it flatter and drop the rest in a solid pipe or a pit."),),
        )
    good = speed >= slow.value - 1e-9
    return _judged(
        slow,
        speed,
        ">=",
        Grade.GOOD if good else Grade.LOOK,
        f"{drain.start} keeps itself clean when it runs full."
        if good
        else f"{drain.start} runs too slowly to carry on what gets into it: it silts up.",
        drain,
        (
            Advice("Give it more fall, and eyes through which it can be rodded and flushed."),
            Advice("Keep silt out: gravel that fits the soil, or fabric round the trench, not on the pipe."),
        ),
    )


def check_diameter(drain: Named, diameter: Length, limits: Limits) -> Finding:
    """Whether a drain is wide enough to be cleaned."""
    limit = limits["groundwater.drain_diameter"]
    good = diameter >= limit.value - 5e-4
    return _judged(
        limit,
        diameter,
        ">=",
        Grade.GOOD if good else Grade.LOOK,
        f"{drain.start} is wide enough to be rodded and flushed."
        if good
        else f"{drain.start} is too narrow to be rodded and flushed.",
        drain,
        (Advice("Take 4 in (100 mm) pipe."),),
    )


def check_envelope(drain: Named, envelope: Length, enough: Sequence[Op], limits: Limits) -> Finding:
    """Whether enough gravel lies round a drain that takes water."""
    limit = limits["groundwater.drain_envelope"]
    good = envelope >= limit.value - 1e-6
    return _judged(
        limit,
        envelope,
        ">=",
        Grade.GOOD if good else Grade.LOOK,
        f"{drain.start} has enough gravel round it."
        if good
        else f"{drain.start} has too little gravel round it to take water in.",
        drain,
        (Advice("Bed and cover it in 3 in (75 mm) of gravel all round.", tuple(enough)),),
    )


def check_outlet(drain: Named, outlet: Named, free_fall: Length, limits: Limits) -> Finding:
    """Whether a drain runs out freely while what it runs into is in flood."""
    limit = limits["groundwater.drain_outlet"]
    good = free_fall >= limit.value - 1e-6
    says = f"{drain.start} runs out well above the flood at {outlet.called}."
    if free_fall < 0.0:
        says = f"The flood at {outlet.called} stands over the end of {drain.called} and backs up into it."
    elif not good:
        says = f"{drain.start} runs out close above the flood at {outlet.called}."
    return judged(
        limit,
        free_fall,
        Grade.GOOD if good else Grade.LOOK,
        says,
        where=Where((drain.path, outlet.path)),
        operator=">=",
        advice=(
            Advice("Run it out higher, or into something lower."),
            Advice("Put a flap on its end that shuts against the flood, and a guard against animals."),
            Advice("Use solid pipe as far up as the flood reaches, so that it is not led into the ground."),
        ),
    )


def check_flood(drain: Named, outlet: Named, height: Length, place: PlanPoint, limits: Limits) -> Finding:
    """Whether the flood where a drain runs out stays below the liner that the drain lies under."""
    limit = limits["groundwater.drain_flood"]
    good = height >= limit.value
    return judged(
        limit,
        height,
        Grade.GOOD if good else Grade.STOP,
        (
            f"{drain.start} keeps water off the liner even when {outlet.called} is in flood."
            if good
            else f"When {outlet.called} is in flood, {drain.called} brings its water up to the liner."
        ),
        where=Where((drain.path, outlet.path), () if good else (place,)),
        operator=">=",
        advice=(
            Advice("Raise the drain or run it out lower, so that the flood cannot reach the liner."),
            Advice("Never empty the pond while the flood lasts."),
        ),
    )


def check_gap(
    drain: Named, gap: Length, end: PlanPoint, move: Sequence[Op], limits: Limits
) -> Finding | None:
    """Whether a drain's line ends where it runs into; said only where it does not."""
    limit = limits["groundwater.drain_gap"]
    if gap <= limit.value:
        return None
    return judged(
        limit,
        gap,
        Grade.LOOK,
        f"{drain.start} ends short of where it runs into.",
        where=Where((drain.path,), (end,)),
        advice=(Advice("Draw its lower end to that place.", tuple(move)),),
    )


def check_narrowing(drain: Named, onto: Named, step: Length, limits: Limits) -> Finding | None:
    """Whether a drain runs into a narrower one; said only where it does."""
    limit = limits["groundwater.drain_wider"]
    if step <= limit.value + 5e-4:
        return None
    return judged(
        limit,
        step,
        Grade.LOOK,
        f"{drain.start} runs into {onto.called}, which is narrower and gets blocked.",
        where=Where((drain.path, onto.path)),
        advice=(Advice("Never let a line narrow on its way down."),),
    )


def check_eyes(drain: Named, longest: Length | None, place: PlanPoint, limits: Limits) -> Finding:
    """Whether a line of drains can be rodded all along; no length where no eye can be placed at all."""
    limit = limits["groundwater.drain_eyes"]
    good = longest is not None and longest <= limit.value + 1e-6
    says = f"{drain.start} can be rodded all along, from eyes that stand outside every liner."
    if longest is None:
        says = f"{drain.start} lies under a liner all along: no rodding eye can come up from it."
    elif not good:
        says = f"{drain.start} lies so far under a liner that no rod reaches all of it from an eye outside."
    return judged(
        limit,
        longest,
        Grade.GOOD if good else Grade.LOOK,
        says,
        where=Where((drain.path,), () if good else (place,)),
        advice=(
            Advice("Lead its upper end on in solid pipe, straight, to an eye outside the pond."),
            Advice("Never lead an eye up through a liner: it leaks there."),
        ),
    )


def check_service(
    drain: Named, service: Named, apart: Length | None, sure: Length, place: PlanPoint, limits: Limits
) -> Finding:
    """Whether a drain crosses a buried service with room between them."""
    limit = limits["groundwater.drain_service"]
    need = limit.value + sure
    good = apart is not None and apart >= need
    says = f"{drain.start} crosses {service.called} with room between them: dig there by hand."
    if apart is None:
        says = f"{drain.start} crosses {service.called}, and nobody knows how deep that lies."
    elif not good:
        says = f"{drain.start} crosses {service.called} too close."
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if good else Grade.LOOK,
        says=says,
        where=Where((drain.path, service.path), (place,)),
        value=apart,
        limit=need,
        operator=">=",
        kind=LENGTH,
        source=limit.source,
        advice=()
        if good
        else (
            Advice("Have it marked, and uncover it by hand before the trench comes near."),
            Advice("Lead the drain below or above it, or round it."),
        ),
    )


def check_pump(sump: Named, inflow: Flow, pump: Flow, limits: Limits) -> Finding:
    """Whether a pump lifts what comes to its sump."""
    limit = limits["groundwater.sump_pump"]
    share = inflow / pump
    good = share <= limit.value
    return _judged(
        limit,
        share,
        "<=",
        Grade.GOOD if good else Grade.STOP,
        f"The pump in {sump.called} lifts all that comes to it in the wet season."
        if good
        else f"More water comes to {sump.called} in the wet season than its pump lifts.",
        sump,
        (Advice("Take a larger pump, or lead part of the water away by gravity."),),
    )


def check_standby(sump: Named, standby: bool, backup: bool, volume: Volume, limits: Limits) -> Finding:
    """Whether a sump goes on in a power cut or when its pump fails."""
    limit = limits["groundwater.sump_standby"]
    good = standby and backup
    lacks = " and ".join(
        words
        for words, there in (("no second pump", standby), ("no power of its own in a cut", backup))
        if not there
    )
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if good else Grade.LOOK,
        says=f"{sump.start} goes on when a pump fails or the power is cut."
        if good
        else f"{sump.start} has {lacks}: when it stops, the groundwater rises under the liner.",
        where=Where((sump.path,)),
        value=volume,
        limit=None,
        kind=VOLUME,
        source=limit.source,
        advice=()
        if good
        else (
            Advice("Add a second pump with its own float, a battery or generator, and a high-water alarm."),
            Advice("Never empty the pond while the sump is not running."),
        ),
    )


def outlet_off_plan(outlet: Named, place: PlanPoint) -> Finding:
    """An outlet beyond the surveyed ground, to which no way is looked for."""
    return Finding(
        code="groundwater.outlet_place",
        grade=Grade.LOOK,
        says=f"{outlet.start} lies beyond the surveyed ground, so no way for a drain to it is looked for.",
        where=Where((f"{outlet.path}.place",), (place,)),
        source=PRACTICE,
        advice=(Advice("Shoot some ground out to there, or put the outlet in its right place."),),
    )


def check_can_fall(
    source: Named, falls: bool, place: PlanPoint, ops: Sequence[Op], limits: Limits
) -> Finding:
    """Whether a drain can fall by gravity from a place that needs one."""
    limit = limits["groundwater.can_fall"]
    ways = (
        (Advice("Lay it along this way.", tuple(ops)),)
        if falls
        else (
            Advice("Let it run into a sump with a pump, a second pump, and power for cuts."),
            Advice("Or look for a lower outlet: a ditch farther down, a neighbour who agrees."),
        )
    )
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if falls else Grade.LOOK,
        says=f"A drain from {source.called} can fall by gravity to where it runs out."
        if falls
        else f"No drain from {source.called} can fall by gravity to any outlet that is told.",
        where=Where((source.path, "groundwater.outlets"), (place,)),
        value=0.0 if falls else 1.0,
        limit=limit.value,
        operator="<=",
        kind=COUNT,
        source=limit.source,
        advice=ways,
    )


def _judged(
    limit: Limit,
    value: float,
    operator: str,
    grade: Grade,
    says: str,
    row: Named,
    advice: tuple[Advice, ...],
) -> Finding:
    return judged(
        limit,
        value,
        grade,
        says,
        where=Where((row.path,)),
        operator=operator,
        advice=advice,
    )
