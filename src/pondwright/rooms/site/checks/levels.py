"""What is checked about the level books: what they close by, their sums, and the level itself.

No misclosure blocks anything: heights are given all the same, and marked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import COUNT, LENGTH, Elevation, Length, Ratio, Slope
from pondwright.base.sources import PRACTICE, Source, derived, from_memory
from pondwright.rooms.site.levelling import (
    ALLOWED_PER_SET_UP,
    LEAST_ALLOWED,
    THIRD_ORDER,
    Arithmetic,
    Closure,
    SetUpKey,
    SightKey,
    allowed_misclosure,
)

Limits = Mapping[str, Limit]

NOTED_SLACK = 0.002

_LOOK = 2.0
_HUNDRED = 100.0
_NOTHING = 1e-12
_MOST_TOLD = 12

LIMITS = (
    Limit(
        "site.misclosure",
        "Misclosure of a level loop of one kilometre, at most; growing with the root of its length, and up "
        "to twice as much is a look",
        THIRD_ORDER,
        LENGTH,
        from_memory("FGCC 1984, Standards and Specifications for Geodetic Control Networks", "third order"),
    ),
    Limit(
        "site.misclosure_least",
        "Misclosure that is always allowed, however short the loop",
        LEAST_ALLOWED,
        LENGTH,
        PRACTICE,
    ),
    Limit(
        "site.misclosure_set_up",
        "Misclosure of a loop of one set-up whose length was not noted, at most; growing with the root of "
        "their number",
        ALLOWED_PER_SET_UP,
        LENGTH,
        Source("teaching notes on levelling", "5 mm √n, seen in secondary notes only"),
    ),
    Limit("site.not_closed", "Set-ups whose height nothing checks, at most", 0.0, COUNT, PRACTICE),
    Limit(
        "site.book_arithmetic",
        "Difference of a noted elevation from what the readings give, at most",
        NOTED_SLACK,
        LENGTH,
        derived("rounding of the notes"),
    ),
    Limit(
        "site.two_peg",
        "Error of a level at a hundred metres by the two-peg test, at most",
        0.010,
        LENGTH,
        PRACTICE,
    ),
    Limit(
        "site.sight_balance",
        "Backsights longer or shorter than foresights along one book, at most",
        20.0,
        LENGTH,
        PRACTICE,
    ),
    Limit("site.two_heights", "Difference of two heights of one point, at most", 0.005, LENGTH, PRACTICE),
)
"""Limits of the checks of the level books."""


@dataclass(frozen=True, slots=True)
class TwoHeights:
    """A point with two heights: the one that holds, the other, and whether the first one was typed."""

    point: str
    held: Elevation
    other: Elevation
    typed: bool
    path: str


def set_up_path(key: SetUpKey) -> str:
    """Dotted path of a set-up in the document."""
    return f"site.books.{key[0]}.set_ups.{key[1]}"


def allowed_of(closure: Closure, limits: Limits) -> Length:
    """Misclosure up to which one loop is good, by this job's limits [m]."""
    return allowed_misclosure(
        len(closure.set_ups),
        closure.length,
        per_kilometre=limits["site.misclosure"].value,
        least=limits["site.misclosure_least"].value,
        per_set_up=limits["site.misclosure_set_up"].value,
    )


def times_allowed(closure: Closure, limits: Limits) -> Ratio:
    """Misclosure in times of what is allowed, to tell the worst; a job may allow nothing at all."""
    return abs(closure.misclosure) / max(allowed_of(closure, limits), _NOTHING)


def check_misclosure(book: str, closures: Sequence[Closure], limits: Limits) -> tuple[Finding, ...]:
    """Whether the loops that a book closes come back to where they began: the worst if all do."""
    if not closures:
        return ()
    worst = sorted(closures, key=lambda each: -times_allowed(each, limits))
    beyond = [each for each in worst if abs(each.misclosure) > allowed_of(each, limits)]
    return tuple(_misclosure(book, each, limits) for each in (beyond[:_MOST_TOLD] or worst[:1]))


def check_closed(book: str, unchecked: Sequence[SetUpKey], limits: Limits) -> Finding:
    """Whether every set-up of a book ends on something known."""
    limit = limits["site.not_closed"]
    good = len(unchecked) <= limit.value
    numbers = _listed([str(number + 1) for _, number in unchecked])
    ends = "set-up {} does not end" if len(unchecked) == 1 else "set-ups {} do not end"
    return judged(
        limit,
        float(len(unchecked)),
        Grade.GOOD if good else Grade.LOOK,
        (
            f"Every set-up of book `{book}` is checked by another reading."
            if not unchecked
            else f"Not closed: {ends.format(numbers)} on a known point in book `{book}`; nothing checks "
            "these heights."
        ),
        where=Where(tuple(map(set_up_path, unchecked)) or (f"site.books.{book}",)),
        advice=(
            Advice("Read the benchmark again before the level is moved, and mark that reading `check`."),
        ),
    )


def check_adrift(set_ups: Sequence[SetUpKey], why: Mapping[SetUpKey, str]) -> tuple[Finding, ...]:
    """Set-ups that nothing known leads to: they give no heights, the others do."""
    return tuple(
        Finding(
            code="site.set_up_adrift",
            grade=Grade.STOP,
            says=f"Set-up {number + 1} of book `{book}` gives no heights: {why[book, number]}.",
            where=Where((set_up_path((book, number)),)),
            source=derived("a height of instrument needs a reading on something known"),
            advice=(Advice("Give the elevation of a point it reads, or correct the name of its backsight."),),
        )
        for book, number in set_ups[:_MOST_TOLD]
    )


def check_arithmetic(
    book: str, sums: Arithmetic, paths: Mapping[SightKey, str], limits: Limits
) -> tuple[Finding, ...]:
    """Whether the elevations noted in a book follow from its readings."""
    limit = limits["site.book_arithmetic"]
    gap = 0.0 if sums.noted_rise is None else abs(sums.rise - sums.noted_rise)
    if not sums.slips:
        return (
            judged(
                limit,
                min(gap, limit.value),
                Grade.GOOD,
                f"The sums of book `{book}` agree with its elevations.",
                where=Where((f"site.books.{book}",)),
            ),
        )
    return tuple(
        judged(
            limit,
            abs(slip.noted - slip.reckoned),
            Grade.LOOK,
            (
                f"Book `{book}` notes another elevation of {slip.point} than its readings give in set-up "
                f"{slip.sight[1] + 1}; the readings hold."
            ),
            where=Where((paths[slip.sight],)),
            advice=(Advice("Reckon that line again: the elevation or the reading was written wrong."),),
        )
        for slip in sums.slips[:_MOST_TOLD]
    )


def check_two_peg(book: str, error: Slope, limits: Limits) -> Finding:
    """Whether the level was true when it was tested."""
    limit = limits["site.two_peg"]
    off = _HUNDRED * abs(error)
    good = off <= limit.value
    return judged(
        limit,
        off,
        Grade.GOOD if good else Grade.STOP,
        (
            f"The level of book `{book}` is true."
            if good
            else f"The level of book `{book}` is out of true: do not use it before it is adjusted."
        ),
        where=Where((f"site.books.{book}.two_peg",)),
        advice=(Advice("Test it again, on both axes; have it adjusted, and shoot again."),),
    )


def two_peg_untested(book: str, why: str) -> Finding:
    """A two-peg test that tests nothing."""
    return Finding(
        code="site.two_peg",
        grade=Grade.LOOK,
        says=f"The two-peg test of book `{book}` tells nothing: {why}.",
        where=Where((f"site.books.{book}.two_peg",)),
        source=derived("the error drops out between equal sights"),
        advice=(Advice("Read both pegs again from close to one of them."),),
    )


def check_sight_balance(book: str, imbalance: Length, limits: Limits) -> Finding:
    """Whether backsights and foresights are of like length, so that the level's own error drops out."""
    limit = limits["site.sight_balance"]
    good = abs(imbalance) <= limit.value
    return judged(
        limit,
        abs(imbalance),
        Grade.GOOD if good else Grade.LOOK,
        (
            f"Backsights and foresights of book `{book}` are of like length."
            if good
            else f"In book `{book}` the {'backsights' if imbalance > 0.0 else 'foresights'} are much longer: "
            "an error of the level does not drop out."
        ),
        where=Where((f"site.books.{book}",)),
        advice=(Advice("Set up halfway between the backsight and the next turning point."),),
    )


def check_unknown_points(points: Mapping[str, str]) -> tuple[Finding, ...]:
    """Points that are read and are neither a shot nor a mark, each with the path of its reading."""
    if not points:
        return ()
    names = list(points)
    ops = tuple(Op("add", f"/site/shots/{name}", {"place": {"by": "book"}}) for name in names)
    are = f"{_listed(names)} {'is' if len(names) == 1 else 'are'}"
    return (
        Finding(
            code="site.unknown_point",
            grade=Grade.LOOK,
            says=f"{are} read in the level books and neither a shot nor a mark.",
            where=Where(tuple(points.values())[:_MOST_TOLD]),
            value=float(len(names)),
            kind=COUNT,
            source=derived("a height needs a point"),
            advice=(
                Advice("Correct the names."),
                Advice("Add them as shots that have no place yet.", ops),
            ),
        ),
    )


def check_two_heights(found: Sequence[TwoHeights], limits: Limits) -> tuple[Finding, ...]:
    """Points whose heights differ: typed and from a book, or shot from two set-ups."""
    limit = limits["site.two_heights"]
    apart = [each for each in found if abs(each.held - each.other) > limit.value]
    return tuple(
        judged(
            limit,
            abs(each.held - each.other),
            Grade.LOOK,
            (
                f"The typed elevation of {each.point} differs from the level book's; the typed one holds."
                if each.typed
                else f"Two readings on {each.point} give different heights; the first holds."
            ),
            where=Where((each.path,)),
            advice=(
                Advice(
                    "Take its height from the level book.",
                    (Op("replace", f"/site/shots/{each.point}/elevation"),),
                ),
            )
            if each.typed
            else (Advice("Shoot it again; was it the same point?"),),
        )
        for each in apart[:_MOST_TOLD]
    )


def _misclosure(book: str, closure: Closure, limits: Limits) -> Finding:
    limit, allowed = limits["site.misclosure"], allowed_of(closure, limits)
    source = limit.source
    if closure.length is None:
        source = limits["site.misclosure_set_up"].source
    elif allowed == limits["site.misclosure_least"].value:
        source = limits["site.misclosure_least"].source
    missed, high = abs(closure.misclosure), "high" if closure.misclosure > 0.0 else "low"
    place = f"on {closure.point} in set-up {closure.sight[1] + 1} of book `{book}`"
    if missed <= allowed:
        grade, says, advice = Grade.GOOD, f"The level closes {place}.", ""
    elif missed <= _LOOK * allowed:
        grade, says = Grade.LOOK, f"The level comes back too {high} {place}; the misclosure is shared out."
        advice = "Good enough to dig by; shoot it again before an edge or a spill is set."
    else:
        grade, says = Grade.STOP, f"The level comes back far too {high} {place}."
        advice = "Re-shoot before you build on it."
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=Where(tuple(map(set_up_path, closure.set_ups))),
        value=missed,
        limit=allowed,
        operator="<=",
        kind=LENGTH,
        source=source,
        advice=(Advice(advice),) if advice else (),
    )


def _listed(names: Sequence[str]) -> str:
    told = list(names[:_MOST_TOLD])
    if len(names) > len(told):
        told.append(f"{len(names) - len(told)} more")
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)
