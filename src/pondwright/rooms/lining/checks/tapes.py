"""What is checked about lengths taped in the hole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Finding, Grade, Limit, Where
from pondwright.base.kinds import COUNT, LENGTH, Length
from pondwright.base.sources import PRACTICE

Limits = Mapping[str, Limit]

LIMITS = (
    Limit(
        "lining.tape", "A length taped in the hole agrees with the drawn one within", 0.05, LENGTH, PRACTICE
    ),
    Limit("lining.untaped", "Lines to tape in the hole before the liner is ordered", 0.0, COUNT, PRACTICE),
)
"""Limits of these checks; a job may replace each by its code."""


BOTH: int = 2
"""Directions in which a hole is taped."""


def check_tape(liner: str, tape: str, found: Any, margin: Length, limits: Limits) -> Finding:
    """Whether a length taped in the hole is the drawn one, or one that the order has in reserve.

    Parameters
    ----------
    liner, tape : str
    found : TapeResult     With `name`, `verdict`, `difference` and `line`.
    margin : Length        That the order has for it. [m]
    limits : mapping
    """
    limit = limits["lining.tape"]
    off = words.length(abs(found.difference))
    says = {
        "as_drawn": f"Taped ({found.name}), the hole for `{liner}` is as long as drawn.",
        "longer": f"Taped ({found.name}), the hole for `{liner}` is {off} longer than drawn; the order fits.",
        "tight": f"Taped ({found.name}), the hole for `{liner}` is {off} longer than drawn: folds lack it.",
        "short": f"Taped ({found.name}), the hole for `{liner}` is {off} too long: the liner is short.",
        "much_shorter": f"Taped ({found.name}), the hole for `{liner}` is {off} shorter than drawn.",
    }[found.verdict]
    grade = {"short": Grade.STOP, "tight": Grade.LOOK, "much_shorter": Grade.LOOK}.get(
        found.verdict, Grade.GOOD
    )
    advice = {
        "short": (
            Advice(f"Order {off} more in this direction, or dig the bank back to the drawn line."),
            Advice("Tape a second line beside it, tight to the ground and into every corner."),
        ),
        "tight": (Advice(f"Order {off} more in this direction, so that folds have their share."),),
        "much_shorter": (
            Advice("Tape it once more, into every corner: a tape that spans a riser reads short."),
            Advice("Or the dig is not done: check the shelves and the floor by level."),
        ),
    }.get(found.verdict, ())
    middle = found.line[len(found.line) // 2]
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=Where((f"lining.tapes.{tape}.taped",), ((float(middle[0]), float(middle[1])),)),
        value=found.difference,
        limit=max(margin, limit.value),
        operator="<=",
        kind=LENGTH,
        source=limit.source,
        advice=advice,
    )


def check_taped(liners: Mapping[str, Mapping[str, Any]], limits: Limits) -> Finding:
    """Whether every hole was taped in two directions before its liner is ordered.

    Parameters
    ----------
    liners : mapping of TapeResults     By liner, with `name`, `taped`, `predicted` and `line`.
    limits : mapping
    """
    limit = limits["lining.untaped"]
    left = {liner: [tape for tape in tapes.values() if tape.taped is None] for liner, tapes in liners.items()}
    wanted = {
        liner: max(min(len(found), BOTH - (len(liners[liner]) - len(found))), 0)
        for liner, found in left.items()
    }
    missing = sum(wanted.values())
    names = ", ".join(f"`{liner}`" for liner, count in wanted.items() if count)
    one = sum(count > 0 for count in wanted.values()) == 1
    return Finding(
        code=limit.code,
        grade=Grade.LOOK if missing > limit.value else Grade.GOOD,
        says=f"The {'hole' if one else 'holes'} for {names} {'is' if one else 'are'} not taped yet in both "
        "directions."
        if missing
        else "Every hole is taped in both directions.",
        where=Where(
            ("lining.tapes", *(f"lining.order.liners.{liner}.tapes" for liner in liners)),
            tuple(_start(tape) for liner, found in left.items() if wanted[liner] for tape in found),
        ),
        value=float(missing),
        limit=limit.value,
        operator="<=",
        kind=COUNT,
        source=limit.source,
        advice=(
            Advice(
                "Lay the tape on the ground, down and up every riser, before you order, and write it down."
            ),
            *(
                Advice(f"As drawn it must read for `{liner}`: {_told(found)}.")
                for liner, found in left.items()
                if wanted[liner]
            ),
        )
        if missing
        else (),
        assumes=("A size by tapes is not proved before the cover check has run.",),
    )


def _told(tapes: Sequence[Any]) -> str:
    return ", ".join(f"{tape.name} {words.length(tape.predicted)}" for tape in tapes)


def _start(tape: Any) -> tuple[float, float]:
    east, north = tape.line[0]
    return float(east), float(north)
