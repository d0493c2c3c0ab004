"""What is checked about each water by itself: its shore, its banks, its rim and its depth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import AREA, COUNT, LENGTH, RATIO, VOLUME, Elevation, Length, Ratio, Volume
from pondwright.base.sources import PRACTICE, Source, derived, from_memory

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

_SCS_378 = Source("USDA SCS, Conservation Practice Standard 378, Pond (Colorado copy)")
_CPS_378 = from_memory("USDA NRCS, Conservation Practice Standard 378, Pond", "top width")

LIMITS = (
    Limit(
        "shape.shore_crossing", "Places where a shore crosses itself, at most", 0.0, COUNT, derived("a ring")
    ),
    Limit("shape.island", "Islands outside the shore or across it, at most", 0.0, COUNT, derived("a ring")),
    Limit(
        "shape.rim",
        "Height of the rim above the water, at least",
        0.0,
        LENGTH,
        derived("water runs downhill"),
    ),
    Limit(
        "shape.freeboard", "Height of the rim above the water (freeboard), at least", 0.15, LENGTH, PRACTICE
    ),
    Limit("shape.crest_width", "Width of the top of an embankment, at least", 1.8288, LENGTH, _CPS_378),
    Limit(
        "shape.embankment",
        "Water standing against placed soil, below",
        0.9144,
        LENGTH,
        Source("USDA NRCS, Conservation Practice Standard 378, Pond (two state copies)", "3 ft rule"),
    ),
    Limit("shape.dam_height", "Height of an embankment, below", 1.8288, LENGTH, Source("33 USC 467", "6 ft")),
    Limit(
        "shape.dam_volume",
        "Water behind an embankment, below",
        18_500.0,
        VOLUME,
        Source("33 USC 467", "15 acre-ft"),
    ),
    Limit("shape.slope_sum", "Wet and dry slope of an embankment together, at least", 5.0, RATIO, _SCS_378),
    Limit("shape.riser", "Upright step of the bank (riser), at most", 0.45, LENGTH, PRACTICE),
    Limit("shape.ledge", "Width of the shallow ledge along the shore, at least", 0.5, LENGTH, PRACTICE),
    Limit("shape.ledge_depth", "Depth that still counts as a ledge, at most", 0.45, LENGTH, PRACTICE),
    Limit(
        "shape.wintering",
        "Share of the water that is deep enough for fish in winter, at least",
        0.25,
        RATIO,
        PRACTICE,
    ),
    Limit("shape.wintering_depth", "Depth for fish in a hard winter, at least", 0.9, LENGTH, PRACTICE),
    Limit(
        "shape.design_depth",
        "Depth that the shape falls short of its bank type, at most",
        0.02,
        LENGTH,
        PRACTICE,
    ),
    Limit(
        "shape.window",
        "Places where slopes run off the plan, at most",
        0.0,
        COUNT,
        derived("the grid ends"),
    ),
    Limit(
        "shape.drowning",
        "Depth from which a barrier may be asked for",
        0.6096,
        LENGTH,
        from_memory("International Residential Code and pool and spa code", "barriers, 24 in"),
    ),
    Limit(
        "shape.barrier_height",
        "Height of a barrier round deep water, at least",
        1.2192,
        LENGTH,
        from_memory("International Swimming Pool and Spa Code", "305.2, 48 in"),
    ),
)
"""Limits of the shape's checks; a job may replace each by its code."""

LITTLE: Length = 1e-9


def check_crossings(body: str, points: Sequence[PlanPoint], limits: Limits) -> Finding:
    """Whether the shore and the islands cross themselves."""
    return _finding(
        limits["shape.shore_crossing"],
        float(len(points)),
        says=f"The shore of `{body}` crosses itself."
        if points
        else f"The shore of `{body}` does not cross itself.",
        bad=Grade.STOP,
        where=Where((f"shape.bodies.{body}.outline",), tuple(points)),
        advice=("Pull the pegs apart where the shore crosses.",),
    )


def check_islands(body: str, misplaced: Sequence[str], limits: Limits) -> Finding:
    """Whether every island lies inside the shore."""
    named = ", ".join(misplaced)
    return _finding(
        limits["shape.island"],
        float(len(misplaced)),
        says=f"Island {named} of `{body}` is not inside the shore."
        if misplaced
        else f"Every island of `{body}` lies inside its shore.",
        bad=Grade.STOP,
        where=Where(tuple(f"shape.bodies.{body}.islands.{island}" for island in misplaced)),
        advice=("Move the island into the water, clear of the shore.",),
    )


def check_rim(
    body: str,
    level: Elevation,
    lip: Elevation,
    lip_point: PlanPoint,
    freeboard: Length,
    berm: str | None,
    limits: Limits,
) -> Finding:
    """Whether the finished rim stands above the water."""
    limit = limits["shape.rim"]
    above = lip - level
    low = above < limit.value - LITTLE
    raised = freeboard + (limit.value - above)
    path = f"/shape/berms/{berm}/freeboard" if berm else f"/shape/berms/{body[:35]}_berm"
    value: object = raised if berm else {"body": body, "freeboard": raised}
    lower = Op("add", f"/shape/bodies/{body}/level", lip - freeboard)
    return judged(
        limit,
        above,
        Grade.STOP if low else Grade.GOOD,
        (
            f"The rim of `{body}` is lower than its water: it runs over here."
            if low
            else f"The rim of `{body}` stands above its water all round."
        ),
        where=Where((f"shape.bodies.{body}.level", f"shape.storage.bodies.{body}.lip"), (lip_point,)),
        operator=">=",
        advice=(
            Advice("Lower the water to the rim less the freeboard.", (lower,)),
            Advice("Raise the berm.", (Op("add", path, value),)),
        ),
    )


def check_freeboard(body: str, left: Length, lip_point: PlanPoint, limits: Limits) -> Finding:
    """Whether enough of the rim stands above the water for waves, rain and settling."""
    return _finding(
        limits["shape.freeboard"],
        left,
        says=f"The rim of `{body}` stands high enough above the water all round.",
        short=f"The lowest place of the rim of `{body}` stands too little above the water.",
        where=Where((f"shape.storage.bodies.{body}.freeboard_left",), (lip_point,)),
        operator=">=",
        advice=("Raise the berm, or lower the water.",),
    )


def check_embankment(body: str, held: Length, place: PlanPoint | None, limits: Limits) -> Finding:
    """Whether so much water stands against placed soil that the rules of an embankment hold."""
    limit = limits["shape.embankment"]
    return _finding(
        limit,
        held,
        says=f"So much of `{body}` stands against placed soil that its bank is a dam: an engineer's work."
        if held >= limit.value
        else f"Little water of `{body}` stands against placed soil.",
        where=Where((f"shape.grading.bodies.{body}.held",), () if place is None else (place,)),
        operator="<",
        advice=(
            "Lower the water, or dig the pond into the hill instead of damming it.",
            "Ask a licensed engineer and the state dam office before building.",
        ),
    )


def check_dam(
    body: str, height: Length, volume: Volume, held: Length, place: PlanPoint, limits: Limits
) -> tuple[Finding, ...]:
    """Whether a bank may fall under dam law; nothing to say where it holds next to no water."""
    if held < limits["shape.embankment"].value:
        return ()
    where = Where((f"shape.grading.bodies.{body}.bank_height",), (place,))
    advice = (
        "Have it designed by a licensed engineer and cleared by the dam office.",
        "Look for houses and roads downhill: who is below decides more than the height.",
    )
    return (
        _finding(
            limits["shape.dam_height"],
            height,
            says=f"The bank that holds `{body}` is lower than federal dam law asks about; states may differ.",
            short=f"The bank that holds `{body}` is so high, from its outer foot, that dam law may hold.",
            bad=Grade.STOP,
            where=where,
            operator="<",
            advice=advice,
        ),
        _finding(
            limits["shape.dam_volume"],
            volume,
            says=f"`{body}` holds less water than federal dam law asks about; states may differ.",
            short=f"`{body}` holds so much water behind its bank that dam law may hold.",
            where=where,
            operator="<",
            advice=advice,
        ),
    )


def check_crest(body: str, width: Length, slopes: Ratio, held: Length, limits: Limits) -> tuple[Finding, ...]:
    """Whether crest and slopes of an embankment are wide and flat enough; nothing to say of a low bank."""
    if held < limits["shape.embankment"].value:
        return ()
    where = Where((f"shape.bodies.{body}",))
    return (
        _finding(
            limits["shape.crest_width"],
            width,
            says=f"The bank that holds `{body}` is wide enough at its top.",
            short=f"The bank that holds `{body}` is too narrow at its top.",
            where=where,
            operator=">=",
            advice=("Widen the top of the bank.",),
        ),
        _finding(
            limits["shape.slope_sum"],
            slopes,
            says=f"The bank that holds `{body}` is flat enough on both sides together.",
            short=f"The bank that holds `{body}` is too steep on both sides together.",
            where=where,
            operator=">=",
            advice=("Flatten the dry side.",),
        ),
    )


def check_risers(body: str, bank: str, tallest: Length, limits: Limits) -> Finding:
    """Whether a person who steps in can step out again."""
    return _finding(
        limits["shape.riser"],
        tallest,
        says=f"Whoever falls in can climb the upright steps of the {bank} of `{body}`.",
        short=f"The {bank} of `{body}` has an upright step too tall to climb out over.",
        where=Where((f"shape.bodies.{body}.bank_type",)),
        advice=("Split the step with a shelf, or keep people off this stretch.",),
    )


def check_ledge(body: str, bank: str, width: Length, limits: Limits) -> Finding:
    """Whether a shallow ledge runs along the shore."""
    return _finding(
        limits["shape.ledge"],
        width,
        says=f"A shallow ledge runs along the {bank} of `{body}`: a way out for whoever falls in.",
        short=f"The shallow ledge along the {bank} of `{body}` is too narrow to stand on and get out.",
        where=Where((f"shape.bodies.{body}.bank_type",)),
        operator=">=",
        advice=("Widen the first shelf.",),
    )


def check_wintering(body: str, deep_share: Ratio, limits: Limits) -> Finding:
    """Whether enough of the water is deep enough for fish in a hard winter."""
    return _finding(
        limits["shape.wintering"],
        deep_share,
        says=f"Enough of `{body}` is deep enough for fish in a hard winter.",
        short=f"Too little of `{body}` is deep enough for fish in a hard winter.",
        where=Where((f"shape.storage.bodies.{body}",)),
        operator=">=",
        advice=("Make the floor deeper or wider, or keep no fish over the winter.",),
    )


def check_design_depth(body: str, short: Length, limits: Limits) -> Finding:
    """Whether the floor reaches the depth of its bank type anywhere."""
    return _finding(
        limits["shape.design_depth"],
        short,
        says=f"`{body}` is too narrow for its bank: the shelves meet before the floor."
        if short > limits["shape.design_depth"].value
        else f"The floor of `{body}` reaches the depth of its bank.",
        where=Where((f"shape.storage.bodies.{body}.greatest_depth",)),
        advice=("Widen the water, or choose a steeper bank.",),
    )


def check_window(places: Sequence[PlanPoint], limits: Limits) -> Finding:
    """Whether the slopes end inside the plan's window."""
    return _finding(
        limits["shape.window"],
        float(len(places)),
        says="Slopes run off the plan before they meet the ground: soil beyond it is not counted."
        if places
        else "All slopes meet the ground on the plan.",
        where=Where(("site.frame.grid",), tuple(places)),
        advice=("Shoot the ground beyond, check the water level for a slip, or make the slope steeper.",),
    )


def let_go(nodes: int, area: float) -> Finding:
    """Slopes behind a hill, not connected with their berm, that were left as ground."""
    return Finding(
        code="shape.let_go",
        grade=Grade.GOOD if nodes == 0 else Grade.LOOK,
        says="Every slope joins its bank."
        if nodes == 0
        else "A slope would come out again beyond a hill: the ground there was left as it is.",
        value=area,
        limit=0.0,
        operator="<=",
        kind=AREA,
        source=derived("connection of the slopes"),
    )


def check_drowning(
    body: str, depth: Length, limits: Limits, fences: Sequence[str] = (), lowest: Length = 0.0
) -> Finding:
    """The caution of open water that is deep enough to drown in, and of the fences all round it."""
    limit = limits["shape.drowning"]
    says, advice = _open_water(body, depth >= limit.value), tuple[str, ...]()
    if fences and depth >= limit.value:
        low = lowest < limits["shape.barrier_height"].value - LITTLE
        says, advice = _fenced_water(body, fences, low), _OF_FENCES
    return _finding(
        limit,
        depth,
        says=says,
        where=Where(
            (f"shape.storage.bodies.{body}.greatest_depth", *(f"shape.ways.{fence}" for fence in fences))
        ),
        operator="<",
        advice=(
            "Ask the building office whether ponds need a barrier (48 in high in many codes).",
            *advice,
            "Keep the ledge all round, a rough way out, and a ring or rope in reach.",
        ),
    )


_OF_FENCES = ("Let gates close and latch by themselves, and open away from the water.",)


def _open_water(body: str, deep: bool) -> str:
    if deep:
        return f"`{body}` is deep enough to drown in: local code decides on a barrier."
    return f"`{body}` is shallow; children can drown in any depth all the same."


def _fenced_water(body: str, fences: Sequence[str], low: bool) -> str:
    named = ", ".join(f"`{fence}`" for fence in fences)
    goes = "goes all round it" if len(fences) == 1 else "go all round it together"
    told = "but lower than many codes ask of a barrier" if low else "local code decides if it is a barrier"
    return f"`{body}` is deep enough to drown in; {named} {goes}, {told}."


def _finding(
    limit: Limit,
    value: float,
    *,
    says: str,
    where: Where,
    short: str = "",
    bad: Grade = Grade.LOOK,
    operator: str = "<=",
    advice: Sequence[str] = (),
) -> Finding:
    """Finding of one number against its limit; advice, and `short` if given, tell where it falls short."""
    holds = {
        "<=": value <= limit.value + LITTLE,
        ">=": value >= limit.value - LITTLE,
        "<": value < limit.value,
    }[operator]
    return judged(
        limit,
        value,
        Grade.GOOD if holds else bad,
        says if holds else short or says,
        where=where,
        operator=operator,
        advice=tuple(Advice(way) for way in advice),
    )
