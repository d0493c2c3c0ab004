"""What the stages of the site share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pondwright.base.findings import Limit
from pondwright.base.kinds import (
    Lengths,
)
from pondwright.job.rules import limits_in
from pondwright.rooms.site.checks import LIMITS
from pondwright.rooms.site.location import (
    PlanPoint,
)


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the site's checks, with what this job's rules replace."""
    return limits_in(view["rules"], LIMITS)


def few(places: Lengths) -> tuple[PlanPoint, ...]:
    """At most some thirty of many places, spread over all of them: enough to light up."""
    return tuple((float(east), float(north)) for east, north in places[:: 1 + len(places) // 30])
