"""Wishes of the client as checks: each is held against the figure or the check that answers it.

A wish is no stage: it may ask about any result, also of the last stage.  So it is judged after the fold, from
what the run holds, and costs a look at one value.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from pondwright.base.errors import DomainError
from pondwright.base.figures import Figure
from pondwright.base.findings import Advice, Finding, Grade, Where
from pondwright.base.sources import Source
from pondwright.flow.engine import Run, Status
from pondwright.flow.results import figure_at, stage_of, value_at
from pondwright.job.brief import Wish

WISH = "brief.wish."
"""What the code of a wish's check begins with; its id follows."""

_WORST = (Grade.STOP, Grade.LOOK, Grade.GOOD)
_LONGEST = 80


def wish_findings(run: Run, findings: Sequence[Finding]) -> Iterator[Finding]:
    """One check for each wish of the brief.

    Parameters
    ----------
    run : Run
    findings : sequence of Finding
        Checks of the run's stages, of which a wish may name one.

    Yields
    ------
    Finding
        With the code ``brief.wish.<id>``, in the order of the ids.
    """
    for name, wish in run.job.brief.wishes.items():
        if wish.figure:
            yield _by_figure(run, name, wish, wish.figure)
        elif wish.becomes:
            yield _by_check(name, wish, wish.becomes, findings)
        else:
            yield _finding(
                name,
                wish,
                Grade.LOOK,
                "is tied to no check yet",
                advice="Name the figure or the check that shows whether it is met.",
            )


def _by_figure(run: Run, name: str, wish: Wish, path: str) -> Finding:
    found = _figure(run, path)
    if found is None:
        return _unanswered(name, wish, path)
    value, figure = found
    limit, operator = _bound(wish, value)
    met = value >= limit if operator == ">=" else value <= limit
    return _finding(
        name,
        wish,
        Grade.GOOD if met else Grade.LOOK,
        "is met" if met else "is not met",
        path,
        advice="Change the design, or talk it over with the client.",
        numbers=(value, limit, operator, figure),
    )


def _figure(run: Run, path: str) -> tuple[float, Figure] | None:
    """Value and figure at a path; none while there is no fresh number."""
    try:
        value, figure, stage = value_at(run, path), figure_at(run, path), stage_of(run, path)
    except DomainError:
        return None
    if figure is None or stage is None or run.stages[stage].status in (Status.BLOCKED, Status.WAITING):
        return None
    if value is None or not math.isfinite(value):
        return None
    return float(value), figure


def _bound(wish: Wish, value: float) -> tuple[float, str]:
    """The side that counts: the one that the value breaks, or else the nearer one."""
    sides = [(wish.at_least, ">=", 1.0), (wish.at_most, "<=", -1.0)]
    told = [(limit, operator, sign * (value - limit)) for limit, operator, sign in sides if limit is not None]
    limit, operator, _spare = min(told, key=lambda side: side[2])
    return limit, operator


def _by_check(name: str, wish: Wish, code: str, findings: Sequence[Finding]) -> Finding:
    about = [one for one in findings if one.code == code or one.code.startswith(f"{code}.")]
    if not about:
        return _unanswered(name, wish, "")
    worst = min(about, key=lambda one: _WORST.index(one.grade))
    met = worst.grade is Grade.GOOD
    says = "is met" if met else f"is not met: {worst.says.rstrip('.')}"
    finding = _finding(name, wish, worst.grade, says, advice=f"See the check {code}.")
    return Finding(
        code=finding.code,
        grade=finding.grade,
        says=finding.says,
        where=Where((*finding.where.paths, *worst.where.paths), worst.where.points),
        source=worst.source,
        advice=finding.advice,
    )


def _unanswered(name: str, wish: Wish, path: str) -> Finding:
    return _finding(name, wish, Grade.LOOK, "has nothing yet that answers it", path)


def _finding(
    name: str,
    wish: Wish,
    grade: Grade,
    says: str,
    path: str = "",
    *,
    advice: str = "",
    numbers: tuple[float, float, str, Figure] | None = None,
) -> Finding:
    where = Where((f"brief.wishes.{name}", *([path] if path else [])))
    ways = (Advice(advice),) if advice and grade is not Grade.GOOD else ()
    whole = f"The wish “{_short(wish, name)}” {says}."
    if numbers is None:
        return Finding(f"{WISH}{name}", grade, whole, where, source=_SOURCE, advice=ways)
    value, limit, operator, figure = numbers
    return Finding(f"{WISH}{name}", grade, whole, where, value, limit, operator, figure.kind, _SOURCE, ways)


def _short(wish: Wish, name: str) -> str:
    """A wish in one short line; a backtick of the client's is no id of ours."""
    text = " ".join(wish.text.replace("`", "'").split()) or name
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"


_SOURCE = Source("the client's wish")
