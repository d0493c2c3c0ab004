"""Limits and checks of the lining, one module a question."""

from __future__ import annotations

from pondwright.rooms.lining.checks import panels

LIMITS = (*panels.LIMITS,)
"""Limits of the lining's checks; a job may replace each by its code."""
