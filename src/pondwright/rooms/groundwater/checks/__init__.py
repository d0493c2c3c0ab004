"""Limits and checks of the groundwater, one module a question."""

from __future__ import annotations

from pondwright.rooms.groundwater.checks import drains, filters, gas, heads, pumping, uplift

LIMITS = (
    *drains.LIMITS,
    *filters.LIMITS,
    *gas.LIMITS,
    *heads.LIMITS,
    *pumping.LIMITS,
    *uplift.LIMITS,
)
"""Limits of the groundwater's checks; a job may replace each by its code."""
