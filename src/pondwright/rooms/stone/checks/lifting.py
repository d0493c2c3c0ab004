"""What is checked about setting stones: the machine's chart, slings, where it stands, what it presses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import (
    ANGLE,
    COUNT,
    MASS,
    PRESSURE,
    RATIO,
    Angle,
    Area,
    Length,
    Mass,
    Pressure,
    Ratio,
)
from pondwright.base.sources import PRACTICE, Source
from pondwright.rooms.stone.lifting import LEAST_SLING

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

ISO = Source("ISO 10567, as quoted by operator's manuals of several makers", "rated lift capacity")

LIMITS = (
    Limit("stone.lifter", "Stone that is set without a machine, at most", 50.0, MASS, PRACTICE),
    Limit("stone.lift", "Stone as lifted against what the machine may hold there, at most", 1.0, RATIO, ISO),
    Limit(
        "stone.lift_devices",
        "Load above which an excavator needs a hook, an overload warning and check valves on its booms",
        1000.0,
        MASS,
        Source("ISO 10567:1992, as quoted by an operator's manual", "clause 3.4"),
    ),
    Limit(
        "stone.sling", "Angle of the legs of a sling above the level, at least", LEAST_SLING, ANGLE, PRACTICE
    ),
    Limit(
        "stone.stand_level", "Slope of the ground below a machine that lifts, at most", 0.05, RATIO, PRACTICE
    ),
    Limit("stone.stand_on_liner", "Stands of machines within the water, at most", 0.0, COUNT, PRACTICE),
    Limit(
        "stone.ground_pressure",
        "Pressure below the worst edge of a machine that lifts, on firm clay, at most",
        75_000.0,
        PRESSURE,
        PRACTICE,
    ),
)
"""Limits of these checks; a job may replace each by its code."""

CAUTIONS = (
    "The chart of the maker, the operator and the local code come before this number: it is a plan, no lift.",
    "A chart holds on firm and level ground, with the load hanging free and still: no swinging, no driving.",
    "Nobody stands below or beside a hanging stone, nor between it and the stones that are set.",
    "A stone in chains turns: guide it with a rope, and take the chain off only when it lies still.",
)
"""What every lift needs, told with every check of one."""

SLIPPERY = (
    "Wet liner and wet stones are slippery: guide stones from above or beside, never from below a slope."
)
OVERHEAD = "Look up: stay 3 m (10 ft) clear of any wire, farther by what its owner asks."


@dataclass(frozen=True, slots=True)
class Set:
    """Stones at one place as they are lifted: what they are, where, how far, and what would do.

    Attributes
    ----------
    says : str            What is set, in words.
    path : str            In the document.
    point : pair          Where it is hardest. [m]
    mass : Mass           Of the heaviest, as lifted. [kg]
    capacity : Mass       What the best machine here may hold there. [kg]
    radius : Length       From its stand. [m]
    reach : Length        Radius within which one here could hold it; 0 is none. [m]
    largest : Length      Middle axis that can be set there; 0 is none. [m]
    needs : str           What would hold it, in words.
    beyond : Length       Hook above the heights of its chart, or below them (then below 0). [m]
    assumed : bool        Nobody told where the machine stands.
    one_height : bool     Its chart tells one height of the hook only, which is taken for all.
    """

    says: str
    path: str
    point: PlanPoint
    mass: Mass
    capacity: Mass
    radius: Length
    reach: Length
    largest: Length
    needs: str
    beyond: Length
    assumed: bool
    one_height: bool = False


def check_lifter(heaviest: Mass, path: str, needs: str, limits: Limits) -> Finding:
    """What to do where no machine is told, and stones are too heavy for hands."""
    limit = limits["stone.lifter"]
    holds = heaviest <= limit.value
    return judged(
        limit,
        heaviest,
        Grade.GOOD if holds else Grade.LOOK,
        (
            "All stones can be set by hand, two people to a stone."
            if holds
            else "Nobody told yet which machine sets the heaviest stones."
        ),
        where=Where((path, "stone.lifters")),
        advice=(
            Advice(
                "Copy the rows of the lifting chart from the machine that comes, and tell where it stands."
            ),
            Advice(f"For a first thought, 3 m (10 ft) from it: {needs}."),
        ),
        assumes=CAUTIONS,
    )


def check_lift(found: Set, limits: Limits) -> Finding:
    """Whether a machine here may hold the stones of one place where they are set."""
    limit = limits["stone.lift"]
    most = limit.value * found.capacity
    holds = found.mass <= most
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.STOP,
        says=_says(found, holds),
        where=Where((found.path, "stone.lifters"), (found.point,)),
        value=found.mass,
        limit=most,
        operator="<=",
        kind=MASS,
        source=limit.source,
        advice=() if holds else _ways_to_lift(found),
        assumes=(
            *(
                ("The machine stands anywhere outside the water, 2 m (7 ft) from its edge.",)
                if found.assumed
                else ()
            ),
            *(
                (
                    "Its chart tells one height of the hook only, taken for all: copy its rows for other "
                    "heights, above all those below the ground.",
                )
                if found.one_height
                else ()
            ),
            "A stone comes up wet and caked: 5 % heavier.",
            *CAUTIONS,
            OVERHEAD,
            SLIPPERY,
        ),
    )


def _says(found: Set, holds: bool) -> str:
    if holds:
        return f"A machine here may set {found.says}."
    if found.beyond:
        side = "higher" if found.beyond > 0.0 else "lower"
        return (
            f"No chart here tells whether a machine may set {found.says}: the hook is "
            f"{length_words(abs(found.beyond))} {side} than its rows."
        )
    return f"No machine here may set {found.says}, {length_words(found.radius)} from where it stands."


def _ways_to_lift(found: Set) -> tuple[Advice, ...]:
    ways = []
    if found.beyond:
        where = "higher" if found.beyond > 0.0 else "lower"
        ways.append(Advice(f"Copy the rows of its chart for that height, or let it stand on {where} ground."))
    if 0.0 < found.reach < found.radius:
        near = f"within {length_words(found.reach)}"
        ways.append(
            Advice(
                f"Give it a stand {near}, on soil or on a planned way of mats, and tell it with the machine."
            )
            if found.assumed
            else Advice(f"Let it stand nearer: {near} it holds them.")
        )
    if found.largest > 0.0:
        ways.append(
            Advice(f"Take smaller stones there: up to {length_words(found.largest)} across their middle.")
        )
    ways.append(
        Advice(f"Or bring a machine that holds more there, at a first guess {found.needs}: by its own chart.")
    )
    return tuple(ways)


def check_devices(heaviest: Mass, limits: Limits) -> Finding:
    """Whether a machine lifts so much that it must be fitted out for it."""
    limit = limits["stone.lift_devices"]
    holds = heaviest <= limit.value
    return judged(
        limit,
        heaviest,
        Grade.GOOD if holds else Grade.LOOK,
        (
            "No lift is so heavy that the machine must be fitted out for it."
            if holds
            else "Some lifts are so heavy that the machine must be fitted out for them."
        ),
        where=Where(("stone.lifters",)),
        advice=(
            Advice("Ask for a lifting hook or eye, an overload warning and check valves on boom and stick."),
        ),
        assumes=CAUTIONS,
    )


def check_sling(lifter: str, called: str, angle: Angle, leg: Mass, length: Length, limits: Limits) -> Finding:
    """Whether the legs of a sling stand steep enough round the longest stone that hangs on it."""
    limit = limits["stone.sling"]
    # A job may ask for steeper legs, never for flatter ones.
    least = max(limit.value, LEAST_SLING)
    holds = angle >= least - 1e-9
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.STOP,
        says=f"The sling of {called} is long enough: rate each leg for {mass_words(leg)} or more."
        if holds
        else f"The sling of {called} is too short for the longest stone: its legs stand too flat.",
        where=Where((f"stone.lifters.{lifter}.sling",)),
        value=angle,
        limit=least,
        operator=">=",
        kind=ANGLE,
        source=limit.source,
        advice=()
        if holds
        else (Advice(f"Take legs as long as the stone, {length_words(length)}: they then stand at 60°."),),
        assumes=("Look over hooks, links and chain each day; a nicked strap goes to the bin.", *CAUTIONS[2:]),
    )


def check_stand_level(lifter: str, called: str, slope: Ratio, point: PlanPoint, limits: Limits) -> Finding:
    """Whether the ground is level where a machine lifts."""
    limit = limits["stone.stand_level"]
    holds = slope <= limit.value
    return judged(
        limit,
        slope,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The ground is level enough where {called} lifts."
            if holds
            else f"The ground is not level where {called} lifts: its chart does not hold there."
        ),
        where=Where((f"stone.lifters.{lifter}.stands",), (point,)),
        advice=(Advice("Level a pad for it, or let it stand elsewhere."),),
        assumes=CAUTIONS[:2],
    )


def check_stand_on_liner(
    lifter: str, called: str, points: tuple[PlanPoint, ...], body: str, limits: Limits
) -> Finding:
    """Whether a machine stands where liner lies; `points` are its stands within the water."""
    limit = limits["stone.stand_on_liner"]
    holds = len(points) <= limit.value
    return judged(
        limit,
        float(len(points)),
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"No stand of {called} lies on the liner."
            if not points
            else f"{called[:1].upper()}{called[1:]} stands within `{body}`, on its liner."
        ),
        where=Where((f"stone.lifters.{lifter}.stands",), points),
        advice=(
            Advice("Set these stones from outside, or before the liner is laid where they stand on soil."),
            Advice(
                "If it must be: never on bare liner, but on two fabrics, 150 to 200 mm (6 to 8 in) of round "
                "gravel and mats, with rubber tracks, and without turning on the spot."
            ),
        ),
        assumes=(SLIPPERY,),
    )


def check_ground_pressure(
    lifter: str, called: str, pressure: Pressure, pads: Area, limits: Limits
) -> Finding:
    """Whether the ground bears the worst edge of a machine that lifts; `pads` is the area that it needs."""
    limit = limits["stone.ground_pressure"]
    holds = pressure <= limit.value
    return judged(
        limit,
        pressure,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"Firm ground bears {called} in its heaviest lift."
            if holds
            else f"In its heaviest lift {called} presses one edge hard into the ground."
        ),
        where=Where((f"stone.lifters.{lifter}.contact",)),
        advice=(
            Advice(
                f"Lay pads or mats below its tracks or legs, {area_words(pads)} in all; stop when they sink."
            ),
        ),
        assumes=(
            "One edge carries three times the mean.",
            "Wet clay bears half as much, firm gravel twice: tell the pressure of your ground.",
            "Filled trenches and the rim of the dig bear less: stay back as far as the dig is deep.",
        ),
    )


def length_words(length: Length) -> str:
    """Length in both units, for advice.

    Examples
    --------
    >>> length_words(3.2)
    '3.2 m (10.5 ft)'

    hand
    """
    return f"{length:.1f} m ({length / 0.3048:.1f} ft)" if length >= 1.0 else words.size(length)


def mass_words(mass: Mass) -> str:
    """Mass in both units, for advice.

    Examples
    --------
    >>> mass_words(653.0)
    '660 kg (1450 lb)'

    hand
    """
    return f"{-(-mass // 10) * 10:.0f} kg ({-(-mass / 0.45359237 // 50) * 50:.0f} lb)"


def area_words(area: Area) -> str:
    """Area in both units, for advice.

    Examples
    --------
    >>> area_words(1.96)
    '2.0 m² (21 ft²)'

    hand
    """
    return f"{area:.1f} m² ({area / 0.3048**2:.0f} ft²)"
