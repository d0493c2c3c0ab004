"""What is checked about shorelines painted on the grass."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import LENGTH, Length
from pondwright.base.sources import PRACTICE
from pondwright.rooms.site.location import PlanPoint

Limits = Mapping[str, Limit]

LIMITS = (
    Limit(
        "site.painted_shore",
        "Distance of a painted shore from that of a body, at most",
        0.1,
        LENGTH,
        PRACTICE,
    ),
)


@dataclass(frozen=True, slots=True)
class Offer:
    """A way to take a painted line as a shore: which body, whether it is there, and the outline."""

    body: str
    there: bool
    outline: dict[str, Any]


def check_painted_shore(
    line: str,
    body: str | None,
    miss: Length | None,
    points: Sequence[PlanPoint],
    offers: Sequence[Offer],
    limits: Limits,
) -> Finding:
    """Whether a painted shoreline is the outline of a body (the nearest one, and how far it is off)."""
    limit = limits["site.painted_shore"]
    good = miss is not None and miss <= limit.value
    return judged(
        limit,
        miss,
        Grade.GOOD if good else Grade.LOOK,
        (
            f"The shore of `{body}` runs along the painted line {line}."
            if good
            else f"The painted line {line} is not the shore of any body yet."
        ),
        where=Where(
            (f"site.lines.{line}", *((f"shape.bodies.{body}.outline",) if good else ())), tuple(points)
        ),
        advice=tuple(_advice(offer) for offer in offers),
    )


def _advice(offer: Offer) -> Advice:
    if offer.there:
        path = f"/shape/bodies/{offer.body}/outline"
        return Advice(f"Make it the shore of `{offer.body}`.", (Op("replace", path, offer.outline),))
    path = f"/shape/bodies/{offer.body}"
    return Advice(f"Make it a new body `{offer.body}`.", (Op("add", path, {"outline": offer.outline}),))
