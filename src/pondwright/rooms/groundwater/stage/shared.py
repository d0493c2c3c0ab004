"""What the stages of the groundwater share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from pondwright.base.findings import Limit
from pondwright.base.kinds import Lengths
from pondwright.job.places import LinePlace
from pondwright.job.rules import limits_in
from pondwright.rooms.groundwater.checks import LIMITS


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the groundwater's checks, as this job has them."""
    return limits_in(view["rules"], LIMITS)


def line_points(place: LinePlace) -> Lengths:
    """Corners of a line of the document, east and north. [m]"""
    return np.array([(point.east, point.north) for point in place.points])
