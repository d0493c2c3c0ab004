"""What is checked about water while it is built: the old pond emptied, the dig kept dry, trenches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import FLOW, LENGTH, RATIO, Flow, Length, Ratio, Time
from pondwright.base.sources import PRACTICE, Source, derived
from pondwright.rooms.groundwater.trench import EGRESS, ENGINEER, PROTECTION, TrenchRules

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

LIMITS = (
    Limit(
        "groundwater.pump_out",
        "Water that the pumps leave in the old pond, at most",
        0.0,
        LENGTH,
        derived("the water stops where as much runs in as is lifted"),
    ),
    Limit(
        "groundwater.dig_water", "Groundwater above the floor of the dig, at most", 0.0, LENGTH, PRACTICE
    ),
    Limit(
        "groundwater.dewatering", "Water that comes to the dig without a design for it, at most", 0.005, FLOW,
        PRACTICE,
    ),
    Limit(
        "groundwater.dig_drawdown", "Groundwater lowered at the dig without a design for it, at most", 2.0,
        LENGTH, PRACTICE,
    ),
    Limit(
        "groundwater.drawdown_beside", "Groundwater lowered at a well or a building, at most", 0.3, LENGTH,
        PRACTICE,
    ),
    Limit(
        "groundwater.building_near", "Distance of a building from the dig over its depth, at least", 2.0,
        RATIO, PRACTICE,
    ),
    Limit(
        "groundwater.trench_egress",
        "Depth of a trench without a ladder or ramp, below",
        EGRESS,
        LENGTH,
        Source("29 CFR 1926.651(c)(2)", "4 ft"),
    ),
    Limit(
        "groundwater.trench",
        "Depth of a trench without sloped sides, shores or a box, below",
        PROTECTION,
        LENGTH,
        Source("29 CFR 1926.652(a)(1)", "5 ft"),
    ),
    Limit(
        "groundwater.trench_engineer",
        "Depth of a trench without an engineer's design, at most",
        ENGINEER,
        LENGTH,
        Source("29 CFR 1926 subpart P, appendix B", "20 ft"),
    ),
)  # fmt: skip
"""Limits of these checks; a job may replace each by its code."""

COMPETENT = "A competent person on site decides, daily and after rain or any change; local rules go first."
LICENSED = "Local code and licensed practice decide."

SLOW: Time = 14.0 * 86_400.0
"""Ground that takes longer to drain is dug wet; common practice. [s]"""

TOO_SLOW = Advice(
    "It drains too slowly to be pumped dry ahead of the dig: go down in layers, a ditch a bucket deeper."
)

DISCHARGE = (
    Advice("Ask first who may take it: the ditch's or stream's owner, and the authority that gives permits."),
    Advice("Let it settle before it leaves: a tank, a sediment bag, a strip of meadow; stop when it clouds."),
    Advice("Screen the intake, so that no fish, frog or muck goes with it. Never drain a wetland."),
)


@dataclass(frozen=True, slots=True)
class Beside:
    """A well or a building near a dig: its kind, name and path, and its soil that settles easily, if any."""

    kind: str
    called: str
    path: str
    soft: str
    place: PlanPoint


def check_pump_out(left: Length, pumped: bool, place: PlanPoint, limits: Limits) -> Finding:
    """Whether the pumps on the site empty the old pond against what runs in."""
    limit = limits["groundwater.pump_out"]
    holds = pumped and left <= limit.value
    says = "The pumps on the site empty the old pond."
    if not pumped:
        says = "No pump is named that empties the old pond."
    elif not holds:
        says = "The pumps on the site cannot empty the old pond: as much may run in as they lift."
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where(("groundwater.building.pumps", "groundwater.pumping.old_pond"), (place,)),
        value=left if pumped else None,
        limit=limit.value if pumped else None,
        operator="<=",
        kind=limit.kind,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice(
                "Hire a pump near `groundwater.pumping.old_pond.largest_useful_pump`: the banks bear no "
                "faster fall."
            ),
            Advice("Lead seeps and springs round the pond first; pump in the dry season, and at night too."),
        ),
        assumes=("What runs in is the greatest that the soils and readings allow.",) if pumped else (),
    )


def check_bank_drop(fastest: Length, allowed: Length, place: PlanPoint) -> Finding:
    """Whether the pumps, run freely, would lower the old pond faster than its banks bear."""
    holds = fastest <= allowed
    return Finding(
        code="groundwater.bank_drop",
        grade=Grade.GOOD if holds else Grade.LOOK,
        says="The pumps on the site lower the old pond no faster than its banks bear."
        if holds
        else "Run without a stop, the pumps would lower the old pond faster than its wet banks bear.",
        where=Where(("groundwater.building.drop", "groundwater.building.pumps"), (place,)),
        value=fastest,
        limit=allowed,
        operator="<=",
        kind=LENGTH,
        source=PRACTICE,
        advice=()
        if holds
        else (
            Advice("Read a board morning and evening, and stop the pump once the day's fall is reached."),
            Advice(
                "Look at the banks each day: a crack along the top, or wet soil sliding, stops the pumping."
            ),
        ),
    )


def check_discharge(told: bool) -> Finding:
    """Whether somebody said where the pumped water may go."""
    return Finding(
        code="groundwater.discharge",
        grade=Grade.GOOD if told else Grade.LOOK,
        says="It is told where the pumped water goes."
        if told
        else "Nobody has said where the pumped water may go.",
        where=Where(("groundwater.building.goes",)),
        source=PRACTICE,
        advice=() if told else DISCHARGE,
    )


def check_dig_water(body: str, above: Length, time: Time | None, place: PlanPoint, limits: Limits) -> Finding:
    """Whether the dig stays above the groundwater; below it, sides are of the weakest type."""
    limit = limits["groundwater.dig_water"]
    holds = above <= limit.value
    return judged(
        limit,
        above,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The dig of `{body}` stays above the groundwater."
            if holds
            else f"Groundwater stands above the floor of the dig of `{body}`: it must be kept out while you "
            "dig."
        ),
        where=Where((f"groundwater.pumping.digs.{body}.above_floor",), (place,)),
        advice=(
            Advice(
                "Dig a sump in the low corner first, lower than the floor, and lead water to it in a ditch."
            ),
            *((TOO_SLOW,) if time is not None and time > SLOW else ()),
            Advice(
                "Wet soil is type C: sides no steeper than 1.5 across for 1 up wherever people work below."
            ),
            Advice(COMPETENT),
        ),
    )


def check_dig_pump(body: str, lifted: Flow, comes: Flow, limits: Limits) -> Finding:
    """Whether the pumps on the site lift what may come to the dig."""
    holds = lifted >= comes
    says = f"The pumps on the site keep the dig of `{body}` dry."
    if not holds:
        says = (
            f"More water may come to the dig of `{body}` than the pumps on the site lift."
            if lifted > 0.0
            else f"Water comes to the dig of `{body}`, and no pump is named."
        )
    return Finding(
        code="groundwater.dig_pump",
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where((f"groundwater.pumping.digs.{body}.high", "groundwater.building.pumps")),
        value=lifted,
        limit=comes,
        operator=">=",
        kind=FLOW,
        source=limits["groundwater.dewatering"].source,
        advice=()
        if holds
        else (Advice("Have a second pump of the same size on the site: rain and the first cut bring more."),),
    )


def check_dewatering(
    body: str, likely: Flow, high: Flow, drawdown: tuple[Length, Length], place: PlanPoint, limits: Limits
) -> tuple[Finding, ...]:
    """Whether keeping the dig dry is small enough to be done without an engineer's design."""
    rate, lowered = limits["groundwater.dewatering"], limits["groundwater.dig_drawdown"]
    where = Where((f"groundwater.pumping.digs.{body}",), (place,))
    rows = (
        (rate, likely, high, "much water comes to it", "little water comes to it"),
        (lowered, *drawdown, "the groundwater is lowered far", "the groundwater is lowered little"),
    )
    return tuple(
        Finding(
            code=limit.code,
            grade=_grade(value, most, limit.value),
            says=f"The dig of `{body}` needs an engineer's design of its dewatering: {much}."
            if value > limit.value
            else f"The dig of `{body}` may need an engineer's design of its dewatering: perhaps {much}."
            if most > limit.value
            else f"The dig of `{body}` can be kept dry by a builder: {little}.",
            where=where,
            value=most,
            limit=limit.value,
            operator="<=",
            kind=limit.kind,
            source=limit.source,
            advice=()
            if most <= limit.value
            else (
                Advice("Dig in the dry season, in parts, or raise the floor."),
                Advice("Put a drain to an outlet in first: what runs off by gravity need not be pumped."),
                Advice(LICENSED),
            ),
            assumes=("The reach of the drawdown is a rule of thumb: half and twice of it are counted.",),
        )
        for limit, value, most, much, little in rows
    )


def check_beside(thing: Beside, likely: Length, high: Length, limits: Limits) -> Finding:
    """Whether wells and buildings near a dig keep their water."""
    limit = limits["groundwater.drawdown_beside"]
    most = 0.0 if thing.soft else limit.value
    holds = high <= most
    harm = "it may run short" if thing.kind == "well" else "it may settle"
    why = f" on {thing.soft}" if thing.soft else ""
    sure = "lowers" if likely > most else "may lower"
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"Keeping the dig dry leaves the groundwater at {thing.called} nearly as it is."
        if holds
        else f"Keeping the dig dry {sure} the groundwater at {thing.called}{why}: {harm}.",
        where=Where((thing.path,), (thing.place,)),
        value=high,
        limit=most,
        operator="<=",
        kind=limit.kind,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice("Read its water, or its cracks and levels, before pumping, and each day while you pump."),
            Advice(
                "Peat, muck and soft clay settle from less. Ask an engineer before pumping beside a house."
            ),
            Advice(
                "A neighbour's lowered well or spring may be a claim against you: ask the neighbour first."
            ),
        ),
    )


def check_building_near(thing: Beside, depths: Ratio, limits: Limits) -> Finding:
    """Whether a building stands too near to a deep dig."""
    limit = limits["groundwater.building_near"]
    holds = depths >= limit.value
    return judged(
        limit,
        depths,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The dig stays well clear of {thing.called}."
            if holds
            else f"The dig comes so near to {thing.called} that an engineer must look at it first."
        ),
        where=Where((thing.path,), (thing.place,)),
        operator=">=",
        advice=(Advice("Move the dig away, or dig less deep on that side."), Advice(LICENSED)),
    )


def check_trench(
    called: str,
    path: str,
    depth: Length,
    rules: TrenchRules,
    spots: Sequence[PlanPoint],
    limits: Limits,
) -> Finding:
    """What the rules ask of the trench of a drain, by the greatest of their depths that it reaches."""
    egress, protection, engineer = (
        limits[f"groundwater.{name}"] for name in ("trench_egress", "trench", "trench_engineer")
    )
    ways = [
        "Keep spoil and gear 2 ft (0.6 m) back from the edge, and tracks as far as the trench is deep.",
        "Call for buried services before digging.",
        COMPETENT,
    ]
    limit, grade, says = egress, Grade.GOOD, f"The trench of {called} is shallow enough to step out of."
    operator = "<"
    if depth >= egress.value:
        grade, says = Grade.LOOK, f"The trench of {called} is deep enough that people need a ladder or ramp."
        ways.insert(0, "Put a ladder or ramp within 25 ft (7.6 m) of everyone, 3 ft (0.9 m) above the top.")
    if depth >= protection.value and rules.soil_type != "rock":
        limit = protection
        says = (
            f"The trench of {called} can bury people: slope its sides back, shore them or use a trench box."
        )
        ways.insert(
            0,
            f"Type {rules.soil_type} soil: lay each side back {rules.slope:g} across for 1 up, or set a box.",
        )
    if depth > engineer.value:
        limit, grade, operator = engineer, Grade.STOP, "<="
        says = f"The trench of {called} is so deep that an engineer must design its protection."
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=Where((path,), tuple(spots)),
        value=depth,
        limit=limit.value,
        operator=operator,
        kind=limit.kind,
        source=limit.source,
        advice=tuple(map(Advice, ways)) if grade is not Grade.GOOD else (),
    )


def _grade(likely: float, high: float, limit: float) -> Grade:
    if likely > limit:
        return Grade.STOP
    return Grade.LOOK if high > limit else Grade.GOOD
