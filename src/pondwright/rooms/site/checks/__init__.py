"""What is checked about the site, with limits and ways out: a module for each of its questions."""

from __future__ import annotations

from pondwright.rooms.site.checks import ground, survey

LIMITS = (*survey.LIMITS, *ground.LIMITS)
"""Limits of the site's checks; a job may replace each by its code."""
