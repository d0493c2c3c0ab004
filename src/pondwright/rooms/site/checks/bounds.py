"""What is checked about lines not to cross: shores, berms, heaps and ways against them, with limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where
from pondwright.base.kinds import LENGTH, Length
from pondwright.base.sources import Source, Standing
from pondwright.base.tables import read_table
from pondwright.rooms.site.bounds import Clearance, PlanPoint

Limits = Mapping[str, Limit]

SLACK = 1e-6
"""What is off by less than a micrometre is not off. [m]"""

LOCAL_CODE = "Local codes decide: ask for the distance that holds here, and write it down with the line."

BUILT = ("shore", "berm")
_WORK_WORDS = {"shore": "The shore of ", "berm": "The berm of "}
_SPOIL = Limit(
    "site.pile_edge",
    "Distance of a heap from the edge of the water, at least",
    0.6096,
    LENGTH,
    Source("29 CFR 1926.651(j)(2)", "2 ft"),
)


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work: its kind (`shore`, `berm`, `pile` or `route`), how it is called, and its path."""

    kind: str
    called: str
    path: str


@dataclass(frozen=True, slots=True)
class Line:
    """A line not to cross: its kind, name, its path, and the distance that the job asks, if any."""

    kind: str
    called: str
    path: str
    clear: Length | None


@dataclass(frozen=True, slots=True)
class Against:
    """A piece of work against a line: how far it stays away, and edits that would move it clear."""

    work: Work
    line: Line
    found: Clearance
    ops: tuple[Op, ...] = ()


@dataclass(frozen=True, slots=True)
class _Rule:
    limit: Limit
    crossed: tuple[Grade, Grade]
    says: str


@cache
def _rules() -> dict[tuple[str, str], _Rule]:
    """What holds of each kind of line, against what is built (`shore`) and what weighs on it (`load`)."""
    rules = {}
    for row in read_table("pondwright.rooms.site", "clearances.csv").rows:
        what = "a shore or its berm" if row["work"] == "shore" else "a heap or a way for machines"
        limit = Limit(
            f"site.{row['work']}_{row['bound']}",
            f"Distance of {what} from {row['says']}, where the job tells none, at least",
            float(row["clear"]),
            LENGTH,
            Source(row["document"], row["place"], Standing(row["standing"])),
        )
        grades = Grade(row["crossed"]), Grade(row["crossed_too"])
        rules[row["bound"], row["work"]] = _Rule(limit, grades, row["says"])
    return rules


LIMITS = (*(rule.limit for rule in _rules().values()), _SPOIL)
"""Limits of the lines not to cross; a job may replace each by its code, or tell a distance with a line."""


def is_compared(work: str, line: str) -> bool:
    """Whether a kind of work is held against a kind of line at all."""
    return _key(work, line) in _rules()


def required(against: Against, limits: Limits) -> Length:
    """Distance that a piece of work must keep from a line: the job's own, or else the limit [m]."""
    own = against.line.clear
    return limits[_rule(against).limit.code].value if own is None else own


def worst(cases: Sequence[Against], limits: Limits) -> Against:
    """Case that comes out worst: by grade first, then by how much is missing."""
    order = (Grade.STOP, Grade.LOOK, Grade.GOOD)
    return min(
        cases,
        key=lambda case: (order.index(_grade(case, limits)), case.found.clearance - required(case, limits)),
    )


def check_line(cases: Sequence[Against], limits: Limits) -> Finding:
    """Whether all work keeps clear of one line; tells the worst case."""
    case = worst(cases, limits)
    rule, need, grade = _rule(case), required(case, limits), _grade(case, limits)
    limit = limits[rule.limit.code]
    stated = case.line.clear is None
    ways: tuple[Advice, ...] = ()
    if grade is not Grade.GOOD:
        ways = tuple(_ways(case, need, stated))
    return Finding(
        code=limit.code,
        grade=grade,
        says=_says(case, need, rule.says),
        where=Where((case.line.path, case.work.path), _lit(case.found)),
        value=case.found.clearance,
        limit=need,
        operator=">=",
        kind=LENGTH,
        source=limit.source if stated else Source("this job", case.line.path),
        advice=ways,
    )


def check_pile(work: Work, shore: str, found: Clearance, ops: tuple[Op, ...], limits: Limits) -> Finding:
    """Whether a heap stays back from the edge of a pond."""
    limit = limits[_SPOIL.code]
    good = found.clearance >= limit.value - SLACK
    grade = Grade.GOOD if good else Grade.STOP if found.clearance <= 0.0 else Grade.LOOK
    says = f"The heap {work.called} stays back from the edge of `{shore}`."
    if grade is Grade.STOP:
        says = f"The heap {work.called} lies in the water of `{shore}`."
    elif not good:
        says = f"The heap {work.called} stands too near the edge of `{shore}`: edges that are dug cave in."
    ways = (Advice("Move it back.", ops), Advice("Keep heaps back by the depth of the dig where it is deep."))
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=Where((work.path, f"shape.bodies.{shore}.outline"), _lit(found)),
        value=found.clearance,
        limit=limit.value,
        operator=">=",
        kind=LENGTH,
        source=limit.source,
        advice=() if good else ways,
    )


def no_place(called: str, path: str) -> Finding:
    """A line whose place is no point, line or ring of its own."""
    return Finding(
        code="site.line_place",
        grade=Grade.LOOK,
        says=f"{called} is not held against the work: its place is no point, line or ring.",
        where=Where((path,)),
        advice=(Advice("Draw it as a point, a line or a ring."),),
    )


def _key(work: str, line: str) -> tuple[str, str]:
    return line, "shore" if work in BUILT else "load"


def _rule(against: Against) -> _Rule:
    return _rules()[_key(against.work.kind, against.line.kind)]


def _grade(case: Against, limits: Limits) -> Grade:
    """Crossed by the table; nearer than the job itself asks is a stop, nearer than is usual a look."""
    if case.found.clearance <= SLACK:
        return _rule(case).crossed[case.work.kind in ("berm", "route")]
    if case.found.clearance >= required(case, limits) - SLACK:
        return Grade.GOOD
    return Grade.LOOK if case.line.clear is None else Grade.STOP


def _says(case: Against, need: Length, line: str) -> str:
    work = f"{_WORK_WORDS.get(case.work.kind, '')}{case.work.called}"
    # A line that is only called what it is needs no name: not "the boundary (boundary)".
    named = line if case.line.called.lower() in line.lower() else f"{line} ({case.line.called})"
    if case.found.clearance <= SLACK:
        return f"{work} crosses {named}."
    if case.found.clearance < need - SLACK:
        return f"{work} comes too near to {named}."
    return f"{work} keeps clear of {named}, and so does all other work."


def _ways(case: Against, need: Length, stated: bool) -> Iterator[Advice]:
    thing = {"shore": "shore", "berm": "shore, or make the berm steeper or lower"}.get(case.work.kind)
    if case.ops:
        yield Advice("Move it clear of the line.", case.ops)
    elif thing:
        yield Advice(f"Pull back the {thing}.")
    else:
        yield Advice("Lead the way elsewhere, or get leave and protect what lies there.")
    if stated:
        yield Advice(LOCAL_CODE)


def _lit(found: Clearance) -> tuple[PlanPoint, ...]:
    return tuple(dict.fromkeys((found.at_work, found.at_line)))
