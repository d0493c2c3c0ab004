"""Limits and checks of the lining, one module a question."""

from __future__ import annotations

from pondwright.rooms.lining.checks import cushion, edge, holds, order, panels, pull, tapes

LIMITS = (
    *panels.LIMITS,
    *order.LIMITS,
    *tapes.LIMITS,
    *cushion.LIMITS,
    *pull.LIMITS,
    *edge.LIMITS,
    *holds.LIMITS,
)
"""Limits of the lining's checks; a job may replace each by its code."""
