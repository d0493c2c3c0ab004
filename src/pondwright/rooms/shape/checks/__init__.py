"""What is checked about the shape, with limits and ways out: a module for each of its questions."""

from __future__ import annotations

from pondwright.rooms.shape.checks import built, meeting, reach, stone, views, water

LIMITS = (*water.LIMITS, *meeting.LIMITS, *reach.LIMITS, *views.LIMITS, *stone.LIMITS, *built.LIMITS)
"""Limits of the shape's checks; a job may replace each by its code."""
