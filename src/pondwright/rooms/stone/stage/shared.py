"""What the stages of stone share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pondwright.base.findings import Limit
from pondwright.base.kinds import Mass
from pondwright.job.rules import limits_in
from pondwright.job.stone import Piece
from pondwright.rooms.stone.checks import LIMITS
from pondwright.rooms.stone.pieces import mass_by_axes


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the stone's checks, as this job has them."""
    return limits_in(view["rules"], LIMITS)


def mass_of(piece: Piece) -> Mass:
    """Mass of a stone: of its ticket, else by its three tapes. [kg]"""
    if piece.mass is not None:
        return piece.mass
    return mass_by_axes(piece.length, piece.width, piece.height, piece.shape)
