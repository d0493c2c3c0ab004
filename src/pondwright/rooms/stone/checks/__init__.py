"""Limits and checks of stone, one module a question."""

from __future__ import annotations

from pondwright.rooms.stone.checks import lifting, stability, takeoff, yard

LIMITS = (*lifting.LIMITS, *stability.LIMITS, *takeoff.LIMITS, *yard.LIMITS)
"""Limits of the stone's checks; a job may replace each by its code."""
