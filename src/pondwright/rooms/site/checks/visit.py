"""What is checked before anybody digs: the walk, buried services and their marks, and permits.

No check reads a clock: days come from the document, and are held against the day on which digging begins.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where
from pondwright.base.kinds import COUNT
from pondwright.base.sources import PRACTICE, from_memory
from pondwright.rooms.site.location import PlanPoint

Limits = Mapping[str, Limit]

LOCATE = from_memory("one-call rules of the US states", "two to three working days before digging")
CALL = (
    "Call the locate service two to three working days before digging (811 in the US), and dig by hand near "
    "the marks. Local rules decide."
)
BY_HAND = "Nobody marks it: find it and expose it by hand before a machine comes near."

_TOLD = 3
_DIG = "brief.dig_from"

LIMITS = (
    Limit("site.walk", "Important points of the walk not looked at, at most", 0.0, COUNT, PRACTICE),
    Limit("site.walk_trouble", "Points of the walk with trouble, at most", 0.0, COUNT, PRACTICE),
    Limit("site.boundary", "Boundaries that are drawn, at least", 1.0, COUNT, PRACTICE),
    Limit("site.service_marks", "Buried services without marks that hold, at most", 0.0, COUNT, LOCATE),
    Limit("site.service_private", "Buried services that nobody marks, at most", 0.0, COUNT, PRACTICE),
    Limit("site.service_depth", "Buried services of unknown depth, at most", 0.0, COUNT, PRACTICE),
)
"""Limits of the first visit; a job may replace each by its code."""


@dataclass(frozen=True, slots=True)
class Buried:
    """A buried service: how it is called, its path, a point of it, and how it is known."""

    called: str
    path: str
    at: PlanPoint | None
    private: bool
    has_depth: bool
    marked_until: date | None


@dataclass(frozen=True, slots=True)
class Leave:
    """A permit: who grants it, whether it has been, and the days that count."""

    authority: str
    path: str
    granted: bool
    until: date | None
    expires: date | None
    blocks: str


def listed(names: Sequence[str], most: int = _TOLD) -> str:
    """Names in a row, some told and the rest counted.

    Parameters
    ----------
    names : sequence of str     At least one.
    most : int                  How many are told.

    Returns
    -------
    str

    Examples
    --------
    >>> listed(["septic", "well", "gate", "rock", "sun"])
    'septic, well, gate and 2 more'
    """
    told = list(names[:most])
    if len(names) > most:
        told.append(f"{len(names) - most} more")
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)


def check_walk(important: Sequence[str], other: int, limits: Limits) -> Finding:
    """Whether everything important has been looked at on the walk round the site."""
    limit = limits["site.walk"]
    good = len(important) <= limit.value
    rest = f" {other} lesser {'point is' if other == 1 else 'points are'} open." if other else ""
    says = f"Everything important was looked at on the walk.{rest}"
    if important:
        says = f"Not looked at yet on the walk: {listed(important)}.{rest}"
    return _counted(
        limit,
        Grade.GOOD if good else Grade.LOOK,
        says,
        len(important),
        Where(("site.walk",)),
        "Look before you give a price; what was not looked at is told in the report.",
    )


def check_trouble(troubles: Sequence[str], places: Sequence[PlanPoint], limits: Limits) -> Finding:
    """Whether the walk found trouble, and where."""
    limit = limits["site.walk_trouble"]
    good = len(troubles) <= limit.value
    return _counted(
        limit,
        Grade.GOOD if good else Grade.LOOK,
        f"The walk found trouble: {listed(troubles)}." if troubles else "The walk found no trouble.",
        len(troubles),
        Where(("site.walk",), tuple(places)),
        "Say in the plan or the price what is done about each, then accept this with a reason.",
    )


def check_boundary(boundaries: int, limits: Limits) -> Finding:
    """Whether a boundary is drawn at all once the site was walked or digging is planned."""
    limit = limits["site.boundary"]
    good = boundaries >= limit.value
    return _counted(
        limit,
        Grade.GOOD if good else Grade.LOOK,
        "The boundary is drawn." if good else "No boundary is drawn: nothing keeps the work on this ground.",
        boundaries,
        Where(("site.bounds",)),
        "Find the corner pins; a fence is no boundary. Local codes decide how far the work stays from it.",
        ">=",
    )


def check_marks(services: Sequence[Buried], dig_from: date | None, limits: Limits) -> tuple[Finding, ...]:
    """Whether the marks of public services hold on the day on which digging begins."""
    public = [each for each in services if not each.private]
    if dig_from is None or not public:
        return ()
    limit = limits["site.service_marks"]
    bare = [each for each in public if each.marked_until is None]
    faded = [each for each in public if each.marked_until is not None and each.marked_until < dig_from]
    parts = []
    if bare:
        parts.append(f"{_named(bare)} not marked")
    if faded:
        ends = min(each.marked_until for each in faded if each.marked_until)
        parts.append(f"the marks of {listed([each.called for each in faded])} hold only to {ends}")
    good = len(bare) + len(faded) <= limit.value
    whole = " and ".join(parts)
    says = f"{whole[0].upper()}{whole[1:]}, and digging begins on {dig_from}." if parts else ""
    return (
        _counted(
            limit,
            Grade.GOOD if good else Grade.STOP,
            says or f"All public services are marked beyond {dig_from}, when digging begins.",
            len(bare) + len(faded),
            _where([*bare, *faded], _DIG),
            CALL,
        ),
    )


def check_private(services: Sequence[Buried], limits: Limits) -> tuple[Finding, ...]:
    """Private services, which no locate service marks."""
    private = [each for each in services if each.private]
    if not private:
        return ()
    limit = limits["site.service_private"]
    good = len(private) <= limit.value
    return (
        _counted(
            limit,
            Grade.GOOD if good else Grade.LOOK,
            f"{_named(private)} private: nobody marks {'it' if len(private) == 1 else 'them'}.",
            len(private),
            _where(private),
            BY_HAND,
        ),
    )


def check_depths(services: Sequence[Buried], limits: Limits) -> tuple[Finding, ...]:
    """Whether the depth of every buried service is known."""
    if not services:
        return ()
    limit = limits["site.service_depth"]
    unknown = [each for each in services if not each.has_depth]
    good = len(unknown) <= limit.value
    says = "The depth of every buried service is told."
    if unknown:
        says = f"Nobody knows how deep {listed([each.called for each in unknown])} lies."
        says = says if len(unknown) == 1 else says.replace(" lies.", " lie.")
    return (
        _counted(
            limit,
            Grade.GOOD if good else Grade.LOOK,
            says,
            len(unknown),
            _where(unknown),
            "Expose it by hand at two places and write its depth down; until then it may lie anywhere.",
        ),
    )


def check_permit(leave: Leave, dig_from: date | None, done_by: date | None) -> Finding:
    """Whether leave is there when the step that needs it begins."""
    grade, says, advice = _standing(leave, dig_from, done_by)
    return Finding(
        code="site.permit",
        grade=grade,
        says=says,
        where=Where((leave.path, _DIG)),
        source=PRACTICE,
        advice=() if grade is Grade.GOOD else (Advice(advice), Advice("Local rules decide.")),
    )


def _standing(leave: Leave, dig_from: date | None, done_by: date | None) -> tuple[Grade, str, str]:
    who = f"of {leave.authority}"
    step = leave.blocks or "the work"
    if not leave.granted:
        by = f"; it must be there by {leave.until}" if leave.until else ""
        late = dig_from is not None and (leave.until is None or leave.until > dig_from)
        if late and leave.blocks:
            says = f"Leave {who} is not granted{by}, and digging begins on {dig_from}: it blocks {step}."
            return Grade.STOP, says, f"Do not begin {step} before it is granted; move the day, or ask sooner."
        return Grade.LOOK, f"Leave {who} is not granted yet{by}: it blocks {step}.", "Ask where it stands."
    if leave.expires and dig_from and leave.expires < dig_from:
        says = f"Leave {who} ends on {leave.expires}, before digging begins on {dig_from}."
        return Grade.STOP, says, f"Have it renewed before {step} begins."
    if leave.expires and done_by and leave.expires < done_by:
        says = f"Leave {who} ends on {leave.expires}, before all is to be done on {done_by}."
        return Grade.LOOK, says, "Have it renewed in time."
    return Grade.GOOD, f"Leave {who} is granted.", ""


def _counted(
    limit: Limit,
    grade: Grade,
    says: str,
    count: int,
    where: Where,
    advice: str,
    operator: str = "<=",
) -> Finding:
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=where,
        value=float(count),
        limit=limit.value,
        operator=operator,
        kind=COUNT,
        source=limit.source,
        advice=() if grade is Grade.GOOD else (Advice(advice),),
    )


def _named(services: Sequence[Buried]) -> str:
    return f"{listed([each.called for each in services])} {'is' if len(services) == 1 else 'are'}"


def _where(services: Sequence[Buried], *more: str) -> Where:
    return Where(
        (*(each.path for each in services), *more), tuple(each.at for each in services if each.at is not None)
    )
