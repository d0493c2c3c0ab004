"""What the stages of the earth share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pondwright.base.findings import Limit
from pondwright.base.kinds import Length
from pondwright.job.rules import limits_in
from pondwright.rooms.earth.checks import LIMITS

BLOCK: Length = 4.0
"""Side of the blocks into which dug and placed soil is gathered. [m]"""


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the earth's checks, as this job has them."""
    return limits_in(view["rules"], LIMITS)
