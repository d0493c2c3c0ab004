"""What is checked about the yard list: stones without a place, places without a stone, and trucks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import COUNT, MASS, RATIO, Mass
from pondwright.base.sources import PRACTICE, derived

Limits = Mapping[str, Limit]

LIMITS = (
    Limit("stone.yard_left", "Measured stones that have no place, at most", 0.0, COUNT, PRACTICE),
    Limit("stone.yard_missing", "Stones of a fall that are not chosen yet, at most", 0.0, COUNT, PRACTICE),
    Limit(
        "stone.yard_changed",
        "Stones that leave the place kept for them, at most",
        0.0,
        COUNT,
        derived("one place"),
    ),
    Limit("stone.truck_load", "Stone on a truck against what it may carry, at most", 1.0, RATIO, PRACTICE),
)
"""Limits of these checks; a job may replace each by its code."""


def check_left(left: Mapping[str, str], reasons: Mapping[str, str], limits: Limits) -> Finding:
    """Whether every measured stone has a place; `left` has the name of each that has none."""
    limit = limits["stone.yard_left"]
    holds = len(left) <= limit.value
    alike: dict[str, list[str]] = {}
    for stone, name in left.items():
        alike.setdefault(reasons[stone], []).append(name)
    named = [f"{listed(names)} ({why})" for why, names in alike.items()]
    return judged(
        limit,
        float(len(left)),
        Grade.GOOD if holds else Grade.LOOK,
        "Every measured stone has a place." if not left else f"Without a place: {'; '.join(named)}.",
        where=Where(tuple(f"stone.pieces.{stone}" for stone in left) or ("stone.pieces",)),
        advice=(
            Advice("Put it on the plan where you want it, or send it away with a truck."),
            Advice("Or let it serve for something else: change what it is kept for."),
        ),
    )


def check_missing(paths: Sequence[str], missing: int, what: Sequence[str], limits: Limits) -> Finding:
    """Whether the stones of the falls are chosen; `what` tells those that are not in words, fall by fall."""
    limit = limits["stone.yard_missing"]
    holds = missing <= limit.value
    return judged(
        limit,
        float(missing),
        Grade.GOOD if holds else Grade.LOOK,
        f"Not chosen yet for {'; for '.join(what)}." if what else "The stones of every fall are chosen.",
        where=Where(tuple(paths)),
        advice=(Advice("Choose and tape them at the yard: a fall is set from its spill stones outward."),),
    )


def check_changed(changed: Sequence[str], unkept: int, keep: tuple[Op, ...], limits: Limits) -> Finding:
    """Whether stones leave the places kept for them; `unkept` have a place that is kept for none yet."""
    limit = limits["stone.yard_changed"]
    holds = len(changed) <= limit.value
    if changed:
        says = f"Dealt again, these stones leave the place kept for them: {listed(changed)}."
    elif unkept:
        says = "Stones have a place, which is not kept for them yet."
    else:
        says = "Every stone has the place that is kept for it."
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where(("stone.pieces",)),
        value=float(len(changed)),
        limit=limit.value,
        operator="<=",
        kind=COUNT,
        source=limit.source,
        advice=(
            Advice(
                "Keep the places as they are dealt now, and mark the stones: then only new ones move.", keep
            ),
        )
        if keep
        else (),
    )


def check_truck(name: str, stones: Sequence[str], mass: Mass, payload: Mass, limits: Limits) -> Finding:
    """Whether the stones of one truck are no more than it may carry."""
    limit = limits["stone.truck_load"]
    most = limit.value * payload
    holds = mass <= most
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.STOP,
        says=f"The stones on truck {name} are no more than it may carry."
        if holds
        else f"The stones on truck {name} are more than it may carry.",
        where=Where(tuple(f"stone.pieces.{stone}" for stone in stones)),
        value=mass,
        limit=most,
        operator="<=",
        kind=MASS,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice("Take some off: bridges, the lane and the law go by its ticket, not by its box."),
            Advice("Or tell its payload, if it is another truck than assumed."),
        ),
    )


def check_heavy(name: str, stone: str, mass: Mass, payload: Mass, limits: Limits) -> Finding:
    """That one stone alone is more than the truck of the job may carry."""
    limit = limits["stone.truck_load"]
    return Finding(
        code=limit.code,
        grade=Grade.STOP,
        says=f"Stone {name} alone is more than a truck here may carry.",
        where=Where((f"stone.pieces.{stone}", "earth.trucks")),
        value=mass,
        limit=limit.value * payload,
        operator="<=",
        kind=MASS,
        source=limit.source,
        advice=(Advice("Leave it at the yard, or hire a low loader and look at every bridge on its way."),),
    )


def listed(words: Sequence[str], most: int = 5) -> str:
    """Words one after another, the first few by name.

    Parameters
    ----------
    words : sequence of str
    most : int                  Told by name; the rest are counted.

    Returns
    -------
    str

    Examples
    --------
    >>> listed(["a", "b", "c"], 2), listed(["a", "b"], 2)
    ('a, b and 1 more', 'a, b')

    hand
    """
    rest = len(words) - most
    return ", ".join(words[:most]) + (f" and {rest} more" if rest > 0 else "")
