"""What holds liner and cover of one body: its anchors, and the friction on its slopes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from pondwright.base.findings import Limit
from pondwright.base.kinds import Angle, Density, Length
from pondwright.job.lining import Liner
from pondwright.rooms.lining.anchor import (
    anchor_capacity,
    cover_safety,
    interface_friction,
    long_slope_safety,
)
from pondwright.rooms.lining.materials import Membrane
from pondwright.rooms.lining.stage.bought import Stack, stacks_of
from pondwright.rooms.lining.stage.rim_results import AnchorResult, EdgeStretch, SlopeHold
from pondwright.rooms.shape.profile import Profile, zone_words

BACKFILL: Density = 17_000.0 / 9.81
BACKFILL_SHEAR: Angle = math.radians(30.0)
BACKFILL_FRICTION: Angle = math.radians(20.0)
"""Firm backfill of a trench: its density [kg/m³], its friction in itself and on the sheet; practice."""

GRAVEL_SHEAR: Angle = math.radians(33.0)
"""Friction within round gravel; common practice. [rad]"""


def anchors_of(
    stretches: Mapping[str, EdgeStretch], sheet: Membrane, bank: Any, limits: Mapping[str, Limit]
) -> dict[str, AnchorResult]:
    """Anchor trenches of one body."""
    found = {}
    for name, stretch in stretches.items():
        if stretch.detail != "anchor":
            continue
        trench = 0.5 * stretch.upturn
        capacity = anchor_capacity(
            limits["lining.setback"].value,
            limits["lining.trench_cover"].value,
            trench,
            bank.slope_in,
            BACKFILL,
            BACKFILL_SHEAR,
            BACKFILL_FRICTION,
        )
        strength = None if sheet.strength is None else sheet.strength * sheet.thickness
        found[name] = AnchorResult(trench, capacity, strength)
    return found


def slopes_of(
    body: str, liner: Liner, sheet: Membrane, view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[SlopeHold, ...]:
    """Covered slopes of all kinds of bank of one body."""
    grading = results["shape.grading"].bodies[body]
    profiles = (grading.profile, *(stretch.profile for stretch in grading.stretches))
    stacks = stacks_of(liner, body, view)
    return tuple(hold for profile in profiles for hold in _holds(profile, stacks, sheet))


def _holds(profile: Profile, stacks: tuple[Stack, ...], sheet: Membrane) -> Iterator[SlopeHold]:
    for index in range(len(profile.knots) - 1):
        run = float(profile.knots[index + 1] - profile.knots[index])
        drop = float(profile.depths[index + 1] - profile.depths[index])
        zone = int(profile.zones[index])
        own = [stack for stack in stacks if stack.zone in (None, zone)]
        thickness: Length = sum(thick for stack in own for thick, _ in stack.covers)
        if drop <= 0.0 or thickness <= 0.0:
            continue
        face = "fabric" if any(stack.above for stack in own) else "gravel"
        friction = interface_friction(sheet.material, face)
        slope, length = run / drop, math.hypot(run, drop)
        safety = cover_safety(thickness, length, slope, friction, GRAVEL_SHEAR)
        yield SlopeHold(
            zone=zone,
            place=zone_words(profile, zone),
            slope=slope,
            thickness=thickness,
            length=length,
            friction=friction,
            safety=long_slope_safety(slope, friction),
            safety_toe=safety if math.isfinite(safety) else None,
        )
