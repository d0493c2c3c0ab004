"""What is checked where waters meet, and about shapes that nobody can build."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import COUNT, LENGTH, RATIO, Elevation, Length
from pondwright.base.sources import PRACTICE, derived
from pondwright.rooms.shape.meeting import Meeting, PlanPoint, Run

Limits = Mapping[str, Limit]

_DOWNHILL = derived("water runs downhill")

LIMITS = (
    Limit("shape.bodies_cross", "Bodies across one another, at most", 0.0, COUNT, derived("water is level")),
    Limit("shape.narrow_water", "Width of the water, at least", 1.2, LENGTH, PRACTICE),
    Limit("shape.narrow_land", "Width of land between waters, at least", 0.9, LENGTH, PRACTICE),
    Limit("shape.splits", "Separate waters at the low level, at most", 1.0, COUNT, derived("an offset")),
    Limit(
        "shape.runs_uphill",
        "Height of the next water above this one, at most",
        0.0,
        LENGTH,
        _DOWNHILL,
    ),
    Limit(
        "shape.stream_start",
        "Height of a stream's first reach above the water that it leaves, at most",
        0.0,
        LENGTH,
        _DOWNHILL,
    ),
    Limit("shape.meeting_wall", "Walls where banks meet water, at most", 0.0, COUNT, PRACTICE),
    Limit("shape.fall_on_fill", "Placed soil under a fall, at most", 0.15, LENGTH, PRACTICE),
    Limit("shape.floor_fall", "Fall of the floor to its low spot, at least", 0.01, RATIO, PRACTICE),
)

_BODIES = "shape.bodies"

LITTLE: Length = 1e-6
"""Height that counts as none. [m]"""


def check_bodies_cross(
    found: Sequence[Meeting], levels: Mapping[str, Elevation], limits: Limits
) -> tuple[Finding, ...]:
    """Whether bodies lie clear of one another."""
    limit = limits["shape.bodies_cross"]
    if not found:
        return (_good(limit, "No body of water lies across another.", _BODIES),)
    return tuple(_crossing(each, levels, limit) for each in found)


def _crossing(found: Meeting, levels: Mapping[str, Elevation], limit: Limit) -> Finding:
    same = abs(levels[found.first] - levels[found.second]) < 0.01
    how = "lies inside" if found.inside else "lies across"
    says = f"`{found.first}` {how} `{found.second}`"
    end = ", at one level: they are one water." if same else ", at another level: water cannot stand so."
    advice = "Draw them as one shore." if same else "Pull them apart, or leave a bank between them."
    if found.inside and not same:
        advice = "Draw the inner one as an island's pool on land, or move it out of the water."
    return Finding(
        code=limit.code,
        grade=Grade.STOP,
        says=says + end,
        where=Where((f"{_BODIES}.{found.first}", f"{_BODIES}.{found.second}"), (found.place,)),
        value=1.0,
        limit=limit.value,
        operator="<=",
        kind=COUNT,
        source=limit.source,
        advice=(Advice(advice),),
    )


def check_narrow_water(body: str, places: Sequence[tuple[PlanPoint, Length]], limits: Limits) -> Finding:
    """Whether the water is wide enough everywhere to be dug, lined and reached."""
    limit = limits["shape.narrow_water"]
    if not places:
        return _good(limit, f"`{body}` is wide enough everywhere.", f"{_BODIES}.{body}.outline")
    return judged(
        limit,
        places[0][1],
        Grade.LOOK,
        f"`{body}` is narrow at {_counted(len(places), 'place', 'places')}: no room for a floor.",
        where=Where((f"{_BODIES}.{body}.outline",), tuple(place for place, _ in places)),
        operator=">=",
        advice=(
            Advice("Pull the pegs apart, or make the narrow a bridge's place with a wall on each side."),
            Advice("Give a cove that stays narrow a shallow bank type of its own."),
        ),
    )


def check_narrow_land(body: str, places: Sequence[tuple[PlanPoint, Length]], limits: Limits) -> Finding:
    """Whether land that runs out into the water is wide enough to stand."""
    limit = limits["shape.narrow_land"]
    if not places:
        return _good(limit, f"No land in `{body}` is too narrow to stand.", f"{_BODIES}.{body}.outline")
    return judged(
        limit,
        places[0][1],
        Grade.LOOK,
        f"Land that runs out into `{body}` is narrow: banks on both sides leave little to stand on.",
        where=Where((f"{_BODIES}.{body}.outline",), tuple(place for place, _ in places)),
        operator=">=",
        advice=(Advice("Widen it, or hold it between stones: soil this narrow washes away."),),
    )


def check_splits(body: str, parts: Sequence[tuple[PlanPoint, float]], limits: Limits) -> Finding:
    """Whether the water stays one water at its low level."""
    limit = limits["shape.splits"]
    path = f"{_BODIES}.{body}.low_level"
    if len(parts) <= limit.value:
        return _good(limit, f"`{body}` stays one water when it is low.", path)
    return judged(
        limit,
        float(len(parts)),
        Grade.LOOK,
        f"`{body}` falls apart into {len(parts)} waters when it is low: the small ones strand fish.",
        where=Where((path,), tuple(place for place, _ in parts[1:])),
        advice=(Advice("Deepen the narrow between them, or keep the water up."),),
    )


def check_run(body: str, level: Elevation, run: Run, into_level: Elevation | None, limits: Limits) -> Finding:
    """Whether water that leaves a body runs down into another one or off the site."""
    limit = limits["shape.runs_uphill"]
    path = f"{_BODIES}.{body}.level"
    end = tuple(float(number) for number in run.path[-1])
    lit = ((float(run.path[0, 0]), float(run.path[0, 1])), (end[0], end[1]))
    if run.into is not None and into_level is not None:
        rise = into_level - level
        says = f"`{body}` runs over into `{run.into}`."
        if rise > limit.value:
            says = f"`{body}` would run over into `{run.into}`, which stands higher."
    elif run.ends_in_hollow:
        rise, says = 1e-3, f"What runs over from `{body}` stays in a hollow and soaks the ground there."
    else:
        rise, says = 0.0, f"What runs over from `{body}` leaves the plan downhill."
    holds = rise <= limit.value
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where((path,), lit),
        value=rise if run.into else None,
        limit=limit.value if run.into else None,
        operator="<=",
        kind=LENGTH,
        source=limit.source,
        advice=() if holds else (Advice("Lead it off: a swale, a pipe or a spillway to lower ground."),),
    )


def check_stream_start(stream: str, body: str, rise: Length, place: PlanPoint, limits: Limits) -> Finding:
    """Whether water can run from a body into the stream that starts at its shore."""
    limit = limits["shape.stream_start"]
    holds = rise <= limit.value + LITTLE
    return judged(
        limit,
        rise,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"`{body}` runs over into `{stream}` at its own level."
            if holds
            else f"`{stream}` starts higher than the water of `{body}`: no water runs from there into it."
        ),
        where=Where((f"{_BODIES}.{stream}.level", f"{_BODIES}.{body}.level"), (place,)),
        advice=(
            Advice(
                f"Lower the stream, or raise `{body}`: water runs over a sill at the level of the upper one."
            ),
            Advice("Or feed the stream by a pipe, and start it clear of that shore."),
        ),
    )


def check_meeting_wall(body: str, faces: Sequence[tuple[PlanPoint, Length]], limits: Limits) -> Finding:
    """Whether the bank of another body stands upright beside this water."""
    limit = limits["shape.meeting_wall"]
    if not faces:
        return _good(limit, f"No bank stands upright beside `{body}`.", f"{_BODIES}.{body}.outline")
    tallest = max(height for _, height in faces)
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"A bank stands upright beside `{body}`: it needs a wall, or more room between the waters.",
        where=Where((f"{_BODIES}.{body}.outline",), tuple(place for place, _ in faces)),
        value=tallest,
        limit=limit.value,
        operator="<=",
        kind=LENGTH,
        source=limit.source,
        advice=(
            Advice("Pull the two shores apart by the width of the crest and its slopes."),
            Advice("In many codes a wall over 4 ft (1.2 m) that holds soil is an engineer's work."),
        ),
    )


def check_fall_on_fill(body: str, falls: Sequence[tuple[PlanPoint, Length]], limits: Limits) -> Finding:
    """Whether the falls of a stream stand on ground that has settled."""
    limit = limits["shape.fall_on_fill"]
    deepest = max(soil for _, soil in falls)
    holds = deepest <= limit.value
    return judged(
        limit,
        deepest,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The falls of `{body}` stand on ground that was there."
            if holds
            else f"A fall of `{body}` stands on placed soil, which settles: its lip tilts, water runs under "
            "it."
        ),
        where=Where(
            (f"{_BODIES}.{body}.outline",), tuple(place for place, soil in falls if soil > limit.value)
        ),
        advice=(
            Advice("Place the soil in thin layers and compact each, a season before the stone if you can."),
            Advice("Or set the fall's stone on a footing that reaches ground that was there."),
        ),
    )


def check_floor_fall(body: str, fall: float, limits: Limits) -> Finding:
    """Whether the floor falls to a low spot from which it can be drained and cleaned."""
    limit = limits["shape.floor_fall"]
    holds = fall >= limit.value
    return judged(
        limit,
        fall,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The floor of `{body}` falls to its low spot."
            if holds
            else f"The floor of `{body}` is level: mud and water have nowhere to run to when it is cleaned."
        ),
        where=Where((f"{_BODIES}.{body}.floor_fall",)),
        operator=">=",
        advice=(
            Advice(
                "Let the floor fall by 1.5 in 100 to where the water is widest.",
                (Op("add", f"/shape/bodies/{body}/floor_fall", 0.015),),
            ),
        ),
    )


def _counted(count: int, one: str, many: str) -> str:
    return f"a {one}" if count == 1 else f"{count} {many}"


def _good(limit: Limit, says: str, path: str) -> Finding:
    return Finding(code=limit.code, grade=Grade.GOOD, says=says, where=Where((path,)), source=limit.source)
