"""Rows of the document that several stages of the shape read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pondwright.base.findings import Limit
from pondwright.job.rules import limits_in
from pondwright.job.shape import Berm, Body
from pondwright.rooms.shape.checks import LIMITS

OUTLINE = ("shape.bodies.*.outline", "shape.bodies.*.islands")
BANK = ("shape.bodies.*.bank_type", "shape.bodies.*.stretches", "shape.bank_types")
LEVEL = ("shape.bodies.*.level",)


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the shape's checks, as this job has them."""
    return limits_in(view["rules"], LIMITS)


def in_order(bodies: Mapping[str, Body]) -> list[tuple[str, Body]]:
    """Bodies in the order in which they are laid: by rank, then by id."""
    return sorted(bodies.items(), key=lambda item: (item[1].rank, item[0]))


def berm_of(berms: Mapping[str, Berm], body: str) -> tuple[str | None, Berm]:
    """Id and row of the berm of a body; no id and stated defaults where it has none."""
    for name, berm in berms.items():
        if berm.body == body:
            return name, berm
    return None, Berm(body=body)
