"""What the stages of the earth share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pondwright.base.findings import Limit, replaced_limits
from pondwright.rooms.earth.checks import LIMITS


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the earth's checks, as this job has them."""
    own = {code: rule.limit for code, rule in view["rules"].items() if rule.limit is not None}
    return replaced_limits(LIMITS, own)
