"""What is checked about what is seen from the seats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import RATIO, Length, Ratio
from pondwright.base.sources import PRACTICE

Limits = Mapping[str, Limit]

LIMITS = (
    Limit("shape.seat_view", "Share of the water that a seat sees, at least", 1.0 / 3.0, RATIO, PRACTICE),
    Limit("shape.fall_seen", "Share of a fall that counts as seen, at least", 1.0 / 3.0, RATIO, PRACTICE),
)

MOST_RAISE: Length = 3.0
"""A seat that would have to stand higher than this over its place is moved instead. [m]"""

MARGIN: Length = 0.02
"""What an offered height goes beyond the least that is needed. [m]"""

_SEATS = "shape.seats"


def check_seat_off(seat: str, limits: Limits) -> Finding:
    """Tell that a seat has no place on the plan."""
    limit = limits["shape.seat_view"]
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"`{seat}` has no place on the plan: what it sees is not known.",
        where=Where((f"{_SEATS}.{seat}.place",)),
        source=limit.source,
        advice=(Advice("Put it at a point on the plan."),),
    )


def check_seat(
    seat: str,
    share: Ratio,
    hidden_looks: Sequence[int],
    hidden_by: str | None,
    cut_at: tuple[Length, Length] | None,
    eye_height: Length,
    raised: Length | None,
    limits: Limits,
) -> Finding:
    """Whether a seat sees enough of the water, and all that it is to look at."""
    limit = limits["shape.seat_view"]
    low = share < limit.value
    where = Where(
        (f"{_SEATS}.{seat}.place", *(f"{_SEATS}.{seat}.looks_at.{index}" for index in hidden_looks)),
        () if cut_at is None else (cut_at,),
    )
    return judged(
        limit,
        share,
        Grade.LOOK if low or hidden_looks else Grade.GOOD,
        _told(seat, low, share, bool(hidden_looks), hidden_by),
        where=where,
        operator=">=",
        advice=tuple(_ways_out(seat, low, hidden_by, eye_height, raised)),
    )


def _told(seat: str, low: bool, share: Ratio, looks: bool, hidden_by: str | None) -> str:
    hides = f": {hidden_by} hides it" if hidden_by else ""
    if low:
        much = "no water" if share == 0.0 else "little of the water"
        return f"`{seat}` sees {much}{hides}."
    if looks:
        return f"Something that `{seat}` is to look at is hidden{hides}."
    return f"`{seat}` sees its share of the water, and all that it is to look at."


def _ways_out(
    seat: str, low: bool, hidden_by: str | None, eye_height: Length, raised: Length | None
) -> list[Advice]:
    found = []
    if low and raised is not None and raised <= MOST_RAISE:
        path = f"/shape/seats/{seat}/eye_height"
        says = "Raise the seat until it sees a third of the water."
        found.append(Advice(says, (Op("add", path, eye_height + raised + MARGIN),)))
    lower = f"Lower what hides it ({hidden_by}), or move the seat." if hidden_by else "Move the seat."
    return [*found, Advice(lower)]
