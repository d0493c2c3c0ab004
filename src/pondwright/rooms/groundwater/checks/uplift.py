"""What is checked about uplift: in use apart from emptied, power cuts, drains that fail, clay that heaves.

In use a liner that does not hold is a *stop*.  Emptied, what is asked for is a mark and a rule that people
can keep: it is a *look*, and a stop only where no season lets the pond be pumped down at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pondwright.base.both_units import length as in_words
from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import ELEVATION, LENGTH, RATIO, Elevation, Length, Ratio, Time
from pondwright.base.sources import PRACTICE, from_memory

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

STABILITY = from_memory(
    "USACE EM 1110-2-2100, Stability Analysis of Concrete Structures", "table 3-4, flotation"
)
HEAVE = from_memory("USBR and NAVFAC design manuals", "heave of clay over a pressured layer, 1.2 to 1.25")
GRADIENT = from_memory("Terzaghi", "a third of the critical gradient")

LIMITS = (
    Limit(
        "groundwater.uplift_in_use",
        "Weight on the liner against uplift in use (usual load), at least",
        1.3,
        RATIO,
        STABILITY,
    ),
    Limit(
        "groundwater.uplift_high",
        "The same with the highest groundwater that the readings allow (extreme load), at least",
        1.1,
        RATIO,
        STABILITY,
    ),
    Limit(
        "groundwater.uplift_power_cut",
        "The same with the sumps stopped (unusual load), at least",
        1.2,
        RATIO,
        STABILITY,
    ),
    Limit(
        "groundwater.uplift_no_drain",
        "The same with no drain working (extreme load), at least",
        1.1,
        RATIO,
        STABILITY,
    ),
    Limit(
        "groundwater.uplift_emptied",
        "The same with the pond pumped down for work (unusual load), at least",
        1.2,
        RATIO,
        STABILITY,
    ),
    Limit(
        "groundwater.bank",
        "Groundwater above the bare liner on the bank, beyond the waterline, at most",
        0.02,
        LENGTH,
        PRACTICE,
    ),
    Limit(
        "groundwater.heave",
        "Weight of clay left over water under pressure, against that pressure, at least",
        1.2,
        RATIO,
        HEAVE,
    ),
    Limit(
        "groundwater.gradient",
        "Upward gradient in clay left over water under pressure, against the critical one, at most",
        1.0 / 3.0,
        RATIO,
        GRADIENT,
    ),
)
"""Limits of these checks; a job may replace each by its code."""

CAUTIONS = (
    "Only water and stone on the liner hold it down: its edges, its strength and friction are not counted.",
    "Groundwater is taken as steady, and the ground as told between the readings.",
    "It is no surer than the readings: read the standpipes in the wettest weeks.",
)

ENGINEER_BELOW: Ratio = 1.2
"""Factor of the emptied pond below which an engineer is asked for: common practice. [-]"""

ENGINEER = Advice("Have an engineer look at the uplift before the pond is ever emptied.")


HEAVE_ADVICE = (
    Advice("Lower the water in the open layer by wells or a drain before the dig goes deep."),
    Advice("Or make it less deep there."),
    Advice("Have an engineer look at it: a pressured layer under clay gives no warning."),
)


@dataclass(frozen=True, slots=True)
class Spot:
    """The worst spot of a body in one state.

    Attributes
    ----------
    side : str           Where it is, by the compass, or `middle`.
    excess : Length      How far the groundwater stands above the pond there, below zero how far below. [m]
    net, gross : Ratio   Factors; infinite where nothing pushes. [-]
    stone : Length       Stone on the liner that would hold all over. [m]
    lack : Length        How far the groundwater must fall, or the pond rise, so that it holds. [m]
    dry : bool           There is no water in it.
    """

    point: PlanPoint
    side: str
    excess: Length
    net: Ratio
    gross: Ratio
    stone: Length
    lack: Length
    dry: bool = False


@dataclass(frozen=True, slots=True)
class Rule:
    """How far a pond may be pumped down in one season.

    Attributes
    ----------
    season : str                Which.
    mark : Elevation or None    Not below this; none is that it may be emptied. [m]
    """

    season: str
    mark: Elevation | None


def check_in_use(body: str, spot: Spot, season: str, drains: tuple[str, ...], limits: Limits) -> Finding:
    """Whether the liner of a body holds while the pond is in use."""
    limit = limits["groundwater.uplift_in_use"]
    holds = spot.net >= limit.value
    return _finding(
        limit,
        body,
        spot,
        Grade.GOOD if holds else Grade.STOP,
        _in_use(body, spot, season, holds),
        () if holds else (*_ways(body, spot, drains), *_hidden(spot)),
    )


def check_bank(body: str, over: Length, side: str, point: PlanPoint, limits: Limits) -> Finding:
    """Whether groundwater stands above the liner on the bank, where no pond and no stone weigh on it."""
    limit = limits["groundwater.bank"]
    holds = over <= limit.value
    says = f"Groundwater does not lift the liner on the bank of `{body}`, beyond the waterline."
    if not holds:
        at = "" if side == "middle" else f" at its {side} side"
        says = (
            f"Groundwater stands {in_words(over)} above the liner on the bank of `{body}`{at}, beyond the "
            "waterline, where nothing weighs on it: it lifts the edge there and runs into the pond."
        )
    return judged(
        limit,
        over,
        Grade.GOOD if holds else Grade.LOOK,
        says,
        where=Where((f"shape.bodies.{body}", "lining.liners.*.margin"), (point,)),
        advice=(
            Advice("Lay a drain uphill of the liner's edge there, deeper than the waterline."),
            Advice("Or cut a swale above the bank that leads the water round the pond."),
        ),
        assumes=CAUTIONS[1:],
    )


def check_high(body: str, spot: Spot, season: str, drains: tuple[str, ...], limits: Limits) -> Finding:
    """Whether it still holds with the highest groundwater that the readings allow."""
    limit = limits["groundwater.uplift_high"]
    holds = spot.net >= limit.value
    says = f"The liner of `{body}` holds with the highest groundwater that the readings allow as well."
    if not holds:
        says = (
            f"With the highest groundwater that the readings allow, it stands {in_words(spot.excess)} above "
            f"{_over(body, spot)} {_at(spot)}, and the stone on the liner does not hold that."
        )
    closer = Advice(
        "Or read more standpipes, and time the water that rises in test pits: it may then prove to be lower."
    )
    advice = () if holds else (*_ways(body, spot, drains), closer)
    return _finding(limit, body, spot, Grade.GOOD if holds else Grade.STOP, says, advice)


def check_power_cut(
    body: str, spot: Spot, sumps: tuple[str, ...], backup: Time | None, limits: Limits
) -> Finding:
    """Whether the liner holds while no sump pumps, as in a power cut."""
    limit = limits["groundwater.uplift_power_cut"]
    holds = spot.net >= limit.value
    paths = tuple(f"groundwater.sumps.{name}" for name in sumps)
    if holds:
        says = f"If power fails and the sump stops, the liner of `{body}` still holds."
        return _finding(limit, body, spot, Grade.GOOD, says, (), paths)
    stands = f"groundwater comes to stand {in_words(spot.excess)} above {_over(body, spot)} {_at(spot)}"
    lifts = f"{stands} and {_does(spot)}"
    if backup:
        says = f"If power fails for longer than the backup of {_hours(backup)}, {lifts}."
    else:
        says = f"If power fails and the sump stops, {lifts}: nothing pumps on."
    advice = (
        Advice("Lead the drain out by gravity instead, if any lower ground can be reached."),
        Advice("Give the sump a second pump, a high-water alarm that is heard, and a battery or generator."),
        Advice(f"Or lay stone {in_words(spot.stone)} thick on the liner: then it holds without the pump."),
    )
    return _finding(limit, body, spot, Grade.LOOK if backup else Grade.STOP, says, advice, paths)


def check_no_drain(body: str, spot: Spot, drains: tuple[str, ...], limits: Limits) -> Finding:
    """What the drains are there for: whether the liner would hold with none of them."""
    limit = limits["groundwater.uplift_no_drain"]
    holds = spot.net >= limit.value
    paths = tuple(f"groundwater.drains.{name}" for name in drains)
    word = "drain" if len(drains) == 1 else "drains"
    says = f"The liner of `{body}` holds even if the {word} should fail."
    if not holds:
        says = (
            f"Without the {word}, groundwater would stand {in_words(spot.excess)} above {_over(body, spot)} "
            f"{_at(spot)} and {_would(spot)}: the {word} must work for as long as the pond is there."
        )
    advice = (
        Advice(
            "Put a rodding eye at both ends and every 30 to 50 m (100 to 165 ft), and rod it once a year."
        ),
        Advice(
            "Keep one standpipe beside the pond, read it each month and after wet weeks, and write it down."
        ),
        Advice("Look at the outlet after each storm: it must run, and nothing may stand in front of it."),
    )
    return _finding(
        limit, body, spot, Grade.GOOD if holds else Grade.LOOK, says, () if holds else advice, paths
    )


def check_emptied(
    body: str,
    level: Elevation,
    rules: tuple[Rule, ...],
    undrained: Rule | None,
    spot: Spot,
    limits: Limits,
) -> Finding:
    """How far the pond may be pumped down, as a mark and a rule."""
    limit = limits["groundwater.uplift_emptied"]
    free = all(rule.mark is None for rule in rules)
    needs_drains = undrained is not None and not (free and undrained.mark is None)
    drained = " while its drains run" if needs_drains else ""
    never = all(rule.mark is not None and rule.mark >= level for rule in rules)
    marks = [rule.mark for rule in rules if rule.mark is not None]
    if free:
        says = f"`{body}` may be emptied{_seasons(rules)}{drained}."
    elif never:
        says = f"`{body}` may never be pumped down: its liner would lift{drained}."
    else:
        says = f"{_rule(body, level, rules)}{drained}."
    if undrained is not None and undrained.mark is not None:
        if not never:
            says = f"{says[:-1]}; {_pumped(level, undrained.mark)} while they do not."
        marks.append(undrained.mark)
    bound = free and not marks
    advice = (
        Advice(
            "Set the mark on the level board, and write the rule on the card at the pump and in the handover."
        ),
        Advice("Pump down in a dry spell, read the standpipe first, and stop where the mark is."),
        Advice(f"Stone {in_words(spot.stone)} thick on the liner would let it be emptied at any time."),
        *((ENGINEER,) if min(spot.net, spot.gross) < ENGINEER_BELOW else ()),
    )
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if free else Grade.STOP if never else Grade.LOOK,
        says=says,
        where=_where(body, spot),
        value=None if not marks else max(marks),
        limit=None if not marks else level,
        operator="" if not marks else "<",
        kind=ELEVATION,
        source=limit.source,
        advice=() if bound else advice,
        assumes=(f"A mark leaves {limit.value:g} times the weight that is needed.", *CAUTIONS),
    )


def check_heave(
    body: str, factor: Ratio, gradient: Ratio, left: Length, point: PlanPoint, limits: Limits
) -> tuple[Finding, ...]:
    """Whether clay that the dig leaves over water under pressure stays down, and if so does not boil."""
    heave, boil = limits["groundwater.heave"], limits["groundwater.gradient"]
    stays, calm = factor >= heave.value, gradient <= boil.value
    told = [(heave, stays, factor, ">=", "burst upward", "too light to lift it")]
    if stays:
        told.append((boil, calm, gradient, "<=", "boil", "too gentle to loosen it"))
    return tuple(
        Finding(
            code=limit.code,
            grade=Grade.GOOD if holds else Grade.STOP,
            says=f"Water that presses from below on the tight soil left under `{body}` is {harmless}."
            if holds
            else f"The dig for `{body}` leaves {in_words(left)} of tight soil over an open layer with water "
            f"under pressure: its floor may {fails} before it is lined.",
            where=Where((f"shape.bodies.{body}", "site.soils"), (point,)),
            value=value,
            limit=limit.value,
            operator=operator,
            kind=RATIO,
            source=limit.source,
            advice=() if holds else HEAVE_ADVICE,
            assumes=("The tight soil weighs 1900 kg/m³ full of water.", *CAUTIONS[1:]),
        )
        for limit, holds, value, operator, fails, harmless in told
    )


def _finding(
    limit: Limit,
    body: str,
    spot: Spot,
    grade: Grade,
    says: str,
    advice: tuple[Advice, ...],
    paths: tuple[str, ...] = (),
) -> Finding:
    pushed = spot.net != float("inf")
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=_where(body, spot, paths),
        value=spot.net if pushed else None,
        limit=limit.value if pushed else None,
        operator=">=" if pushed else "",
        kind=RATIO,
        source=limit.source,
        advice=advice,
        assumes=CAUTIONS,
    )


def _where(body: str, spot: Spot, paths: tuple[str, ...] = ()) -> Where:
    return Where((f"shape.bodies.{body}", f"groundwater.uplift.bodies.{body}", *paths), (spot.point,))


def _in_use(body: str, spot: Spot, season: str, holds: bool) -> str:
    when = f"in the {season} season"
    if spot.excess <= 0.0:
        if spot.dry:
            return f"Groundwater stays {in_words(-spot.excess)} below the liner of `{body}` {when}."
        below = f"groundwater stays {in_words(-spot.excess)} below its water {when}"
        return f"In use `{body}` holds its liner down by itself: {below}."
    stands = f"Groundwater stands {in_words(spot.excess)} above {_over(body, spot)} {_at(spot)} {when}"
    if holds:
        return f"{stands}, and the stone on the liner holds it down."
    if spot.net < 1.0:
        return f"{stands}, and lifts the liner: the stone on it is too light."
    return f"{stands}, and the stone on the liner holds it down with too little to spare."


def _ways(body: str, spot: Spot, drains: tuple[str, ...]) -> tuple[Advice, ...]:
    """What to do where the liner does not hold, the lasting ways first."""
    under = "middle" if spot.side == "middle" else f"{spot.side} side"
    lower = f"so that the groundwater falls by {in_words(spot.lack)} or more there"
    if drains:
        names = " or ".join(name.replace("_", " ") for name in drains)
        first = Advice(f"Lower {names}, or lead a slotted branch under the {under} of `{body}`, {lower}.")
    else:
        first = Advice(f"Lay a slotted drain under the {under} of `{body}` out to lower ground, {lower}.")
    higher = Advice(f"Or keep the water of `{body}` {in_words(spot.lack)} higher.")
    stone = Advice(f"Or lay stone {in_words(spot.stone)} thick on the liner.")
    return (first, stone) if spot.dry else (first, higher, stone)


def _hidden(spot: Spot) -> tuple[Advice, ...]:
    """A gross factor near 1 hides an excess of head; told so that nobody is misled by the other form."""
    if spot.gross < 0.9:
        return ()
    return (
        Advice(
            f"Do not be misled by the gross factor of {spot.gross:.2f}: a deep pond brings it near 1 anyway."
        ),
    )


def _rule(body: str, level: Elevation, rules: tuple[Rule, ...]) -> str:
    """The rule of every season in one sentence, the strictest first."""
    ordered = sorted(rules, key=lambda rule: -1e9 if rule.mark is None else rule.mark, reverse=True)
    first, *rest = ordered
    assert first.mark is not None
    if first.mark >= level:
        says = f"Do not pump `{body}` down at all in the {first.season} season"
    else:
        below = in_words(level - first.mark)
        says = f"Do not pump `{body}` more than {below} below its water line in the {first.season} season"
    for rule in rest:
        what = "it may be emptied" if rule.mark is None else _pumped(level, rule.mark)
        says = f"{says}; in the {rule.season} season {what}"
    return says


def _pumped(level: Elevation, mark: Elevation) -> str:
    return "not at all" if mark >= level else f"not more than {in_words(level - mark)}"


def _seasons(rules: tuple[Rule, ...]) -> str:
    if len(rules) > 1:
        return " in any season"
    return "".join(f" in the {rule.season} season" for rule in rules)


def _over(body: str, spot: Spot) -> str:
    """What the groundwater stands above: the pond's water, or the liner where there is none."""
    return f"the liner of `{body}`" if spot.dry else f"`{body}`"


def _at(spot: Spot) -> str:
    return "in its middle" if spot.side == "middle" else f"at its {spot.side} side"


def _does(spot: Spot) -> str:
    return "lifts its liner" if spot.net < 1.0 else "leaves its liner too little to spare"


def _would(spot: Spot) -> str:
    return "lift its liner" if spot.net < 1.0 else "leave its liner too little to spare"


def _hours(time: Time) -> str:
    return f"{time / 3600.0:.3g} h"
