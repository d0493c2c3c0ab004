"""What is checked about the stone that hides the risers of a bank."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Finding, Grade, Limit, Where
from pondwright.base.kinds import LENGTH, Length
from pondwright.base.sources import PRACTICE
from pondwright.rooms.shape.stone_fit import StoneFit

Limits = Mapping[str, Limit]

LIMITS = (
    Limit(
        "shape.stone_fit",
        "Room on a shelf beside the stone that hides its riser, at least",
        0.15,
        LENGTH,
        PRACTICE,
    ),
)

LITTLE: Length = 1e-9


def check_stone_fit(body: str, bank: str, fits: Sequence[StoneFit], limits: Limits) -> tuple[Finding, ...]:
    """Whether each riser can be hidden by stone that its shelf holds."""
    if not fits:
        return ()
    limit = limits["shape.stone_fit"]
    short = [fit for fit in fits if fit.spare < limit.value - LITTLE]
    tightest = min(fits, key=lambda fit: fit.spare)
    has_end = math.isfinite(tightest.shelf)
    stones = ", then ".join(dict.fromkeys(_between(fit.smallest, fit.largest) for fit in fits))
    return (
        Finding(
            code=limit.code,
            grade=Grade.LOOK if short else Grade.GOOD,
            says=f"The {bank} of `{body}` has too little shelf for the stone that hides its steps."
            if short
            else f"Stone {stones} tall hides the steps of the {bank} of `{body}`, and its shelves hold it.",
            where=Where((f"shape.bodies.{body}.bank_type",)),
            value=tightest.shelf if has_end else None,
            limit=tightest.smallest + limit.value if has_end else None,
            operator=">=",
            kind=LENGTH,
            source=limit.source,
            advice=tuple(_way_out(fit, limit.value) for fit in short),
            assumes=("A stone is as deep as it is tall.",),
        ),
    )


def _way_out(fit: StoneFit, spare: Length) -> Advice:
    stone = _between(fit.smallest, fit.largest)
    return Advice(
        f"Below the step of {words.size(fit.riser)}, which stone {stone} tall hides, "
        f"make the shelf {words.size(fit.smallest + spare)} wide or more, or split the step."
    )


def _between(low: Length, high: Length) -> str:
    return f"{1e3 * low:.0f} to {1e3 * high:.0f} mm ({low / 0.0254:.0f} to {high / 0.0254:.0f} in)"
