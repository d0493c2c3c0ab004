"""What is checked about steps, ramps, walls, fences and lights."""

from __future__ import annotations

from collections.abc import Mapping

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import LENGTH, RATIO, Length, Slope
from pondwright.base.sources import derived, from_memory

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

_ADA = "2010 ADA Standards for Accessible Design"
_ELECTRIC = "NFPA 70, National Electrical Code"

LIMITS = (
    Limit(
        "shape.step_riser",
        "Height of a step (riser), at most",
        0.1778,
        LENGTH,
        from_memory(_ADA, "504.2, 7 in; the International Building Code asks the same"),
    ),
    Limit(
        "shape.step_low",
        "Height of a step (riser), at least",
        0.1016,
        LENGTH,
        from_memory(_ADA, "504.2, 4 in"),
    ),
    Limit(
        "shape.step_tread",
        "Depth of a step (tread), at least",
        0.2794,
        LENGTH,
        from_memory(_ADA, "504.2, 11 in"),
    ),
    Limit("shape.ramp", "Slope of a ramp, at most", 1.0 / 12.0, RATIO, from_memory(_ADA, "405.2, 1:12")),
    Limit(
        "shape.ramp_rise",
        "Rise of a ramp without a landing, at most",
        0.762,
        LENGTH,
        from_memory(_ADA, "405.6, 30 in"),
    ),
    Limit(
        "shape.wall_top",
        "Height of a wall over the higher ground beside it, above",
        0.0,
        LENGTH,
        derived("what is buried is no wall"),
    ),
    Limit(
        "shape.light_water",
        "Distance of a light from the water, at least",
        1.524,
        LENGTH,
        from_memory(_ELECTRIC, "680.22, 5 ft; ponds may come under article 682"),
    ),
)

_WAYS = "shape.ways"
_EVEN: Length = 1e-9


def check_steps(way: str, riser: Length, tread: Length, risers: int, limits: Limits) -> tuple[Finding, ...]:
    """Whether steps are as high and as deep as feet expect."""
    where = Where((f"{_WAYS}.{way}.end_level",))
    high, low, deep = (limits[f"shape.{name}"] for name in ("step_riser", "step_low", "step_tread"))
    tall, flat = riser > high.value + _EVEN, riser < low.value - _EVEN
    found = [
        judged(
            low if flat else high,
            riser,
            Grade.LOOK if tall or flat else Grade.GOOD,
            f"The steps of `{way}` are too high to climb with ease."
            if tall
            else f"The steps of `{way}` are so low that feet trip over them."
            if flat
            else f"The steps of `{way}` are of a height that feet expect.",
            where=where,
            operator=">=" if flat else "<=",
            advice=(
                Advice(
                    "Make a ramp of it, or let fewer steps share the rise."
                    if flat
                    else "Let more steps share the rise: tell a smaller greatest riser."
                ),
            ),
        )
    ]
    if risers < 2:
        return tuple(found)
    short = tread < deep.value - _EVEN
    found.append(
        judged(
            deep,
            tread,
            Grade.LOOK if short else Grade.GOOD,
            f"The treads of `{way}` are too short for a foot."
            if short
            else f"The treads of `{way}` are deep enough for a foot.",
            where=Where((f"{_WAYS}.{way}.place",)),
            operator=">=",
            advice=(Advice("Draw the steps longer, or lower what they climb."),),
        )
    )
    return tuple(found)


def check_flat_steps(way: str, limits: Limits) -> Finding:
    """Tell that steps have no rise, so that there is nothing to climb."""
    limit = limits["shape.step_riser"]
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"`{way}` climbs nothing: steps need a level at each end.",
        where=Where((f"{_WAYS}.{way}.end_level",)),
        source=limit.source,
        advice=(Advice("Tell the level at its first point and at its last one."),),
    )


def check_ramp(way: str, slope: Slope, rise: Length, limits: Limits) -> tuple[Finding, ...]:
    """Whether a path that is steep enough to be a ramp is one for wheels."""
    where = Where((f"{_WAYS}.{way}.end_level",))
    steep, high = limits["shape.ramp"], limits["shape.ramp_rise"]
    too_steep, too_high = slope > steep.value + _EVEN, rise > high.value + _EVEN
    return (
        judged(
            steep,
            slope,
            Grade.LOOK if too_steep else Grade.GOOD,
            f"`{way}` is too steep even for a ramp."
            if too_steep
            else f"`{way}` is gentle enough for a ramp.",
            where=where,
            advice=(Advice("Draw it longer, or lower its upper end."), Advice("Lay steps beside it.")),
        ),
        judged(
            high,
            rise,
            Grade.LOOK if too_high else Grade.GOOD,
            f"`{way}` climbs too far without a landing."
            if too_high
            else f"`{way}` needs no landing on its way.",
            where=where,
            advice=(Advice("Draw it as two ramps with a level path between them."),),
        ),
    )


def check_wall_top(way: str, height: Length, place: PlanPoint, limits: Limits) -> Finding:
    """Whether a wall whose top is told stands out of the ground anywhere."""
    limit = limits["shape.wall_top"]
    buried = height <= limit.value
    return judged(
        limit,
        height,
        Grade.LOOK if buried else Grade.GOOD,
        f"`{way}` is buried: its top is no higher than the ground beside it."
        if buried
        else f"`{way}` stands out of the ground.",
        where=Where((f"{_WAYS}.{way}.top",), (place,) if buried else ()),
        operator=">",
        advice=(
            Advice(
                "Let it stand at its height over the ground beside it.",
                (Op("remove", f"/shape/ways/{way}/top"),),
            ),
        ),
    )


def check_light(way: str, away: Length, place: PlanPoint, limits: Limits) -> Finding:
    """The caution of electricity beside water."""
    limit = limits["shape.light_water"]
    near = away < limit.value
    if away == 0.0:
        says = f"`{way}` stands in the water: only a light that is listed for use under water may."
    elif near:
        says = f"`{way}` stands close to the water: rules for electricity near pools may forbid it."
    else:
        says = f"`{way}` keeps its distance from the water."
    return judged(
        limit,
        away,
        Grade.LOOK if near else Grade.GOOD,
        says,
        where=Where((f"{_WAYS}.{way}.place",), (place,)),
        operator=">=",
        advice=(
            Advice(
                "Let a licensed electrician decide on its place, its voltage and its ground-fault protection."
            ),
            Advice("Move it away from the water."),
        ),
    )
