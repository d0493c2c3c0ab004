"""What is checked about ground that was shot again."""

from __future__ import annotations

from collections.abc import Mapping

from pondwright.base.findings import Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import LENGTH
from pondwright.base.sources import PRACTICE
from pondwright.rooms.site.rebase import GroundChange

Limits = Mapping[str, Limit]

LIMITS = (
    Limit(
        "site.rebased",
        "Ground that a later survey found changed, mean over its area, at most",
        0.03,
        LENGTH,
        PRACTICE,
    ),
)


def check_rebased(survey: str, change: GroundChange, limits: Limits) -> Finding:
    """Whether the ground is where it was when it was shot before."""
    limit = limits["site.rebased"]
    moved = (change.gone + change.come) / change.area if change.area > 0.0 else 0.0
    good = moved <= limit.value
    way = "lower" if change.gone >= change.come else "higher"
    return judged(
        limit,
        moved,
        Grade.GOOD if good else Grade.LOOK,
        (
            f"Survey {survey} found the ground where it was before."
            if good
            else f"Survey {survey} found the ground {way} than before; all that stands on it has moved "
            "along: soil to dig, the old hollow, the balance."
        ),
        where=Where(
            (
                f"site.surveys.{survey}",
                "site.rebase.gone",
                "site.rebase.come",
                "site.rebase.hollow_change",
            ),
            (change.drop_point,) if change.largest_drop > 0.0 else (),
        ),
    )
