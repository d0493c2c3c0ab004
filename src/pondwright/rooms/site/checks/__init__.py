"""What is checked about the site, with limits and ways out: a module for each of its questions."""

from __future__ import annotations

from pondwright.rooms.site.checks import bounds, ground, hole, levels, painted, rebase, soils, survey, visit

LIMITS = (
    *levels.LIMITS,
    *survey.LIMITS,
    *ground.LIMITS,
    *rebase.LIMITS,
    *painted.LIMITS,
    *hole.LIMITS,
    *soils.LIMITS,
    *visit.LIMITS,
    *bounds.LIMITS,
)
"""Limits of the site's checks; a job may replace each by its code."""
