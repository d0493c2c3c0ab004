"""What is checked about moved soil, with limits and ways out: a module for each of its questions."""

from __future__ import annotations

from pondwright.rooms.earth.checks import haul, soil

LIMITS = (*soil.LIMITS, *haul.LIMITS)
"""Limits of the earth's checks; a job may replace each by its code."""
