"""What the stages of the lining share: the liners of a job and the ground under each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from pondwright.base.findings import Limit
from pondwright.base.kinds import Elevations, FloatArray, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.job.lining import Liner
from pondwright.job.rules import limits_in
from pondwright.rooms.lining.area import Bank, LinerGround
from pondwright.rooms.lining.checks import LIMITS
from pondwright.rooms.shape.grading import Bank as DryBank
from pondwright.rooms.shape.grading import stretch_share
from pondwright.rooms.shape.profile import Profile
from pondwright.rooms.shape.shoreline import line_distance

FAR: Length = -1e6
"""Inward from the shore: where the outermost band of a bank begins. [m]"""

AROUND: int = 2
"""Nodes kept beyond the liner on each side of its part of the grid."""


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the lining's checks, as this job has them."""
    return limits_in(view["rules"], LIMITS)


def liners_of(liners: Mapping[str, Liner], bodies: Mapping[str, Any]) -> dict[str, Liner]:
    """Liners of a job: those that are told, and one of its own for each body that none of them names.

    A liner of which no body is there is left out.
    """
    told = {name: liner for name, liner in liners.items() if any(body in bodies for body in liner.bodies)}
    named = {body for liner in told.values() for body in liner.bodies}
    own = {body: Liner(bodies=(body,)) for body in bodies if body not in named}
    return {**told, **{name if name not in told else f"{name}_own": liner for name, liner in own.items()}}


def banks_of(grading: Any, distance: Lengths, grid: Grid) -> list[Bank]:
    """Kinds of bank of one body with their shares: the one all round, and that of each stretch."""
    found: list[tuple[Profile, FloatArray | None]] = [(grading.profile, None)]
    for stretch in grading.stretches:
        share = stretch_share(distance, line_distance(grid, stretch.line), stretch.blend)
        found = [(profile, 1.0 - share if has is None else has * (1.0 - share)) for profile, has in found]
        found.append((stretch.profile, share))
    return [_bank(profile, grading.bank, share) for profile, share in found]


def liner_ground(
    bodies: Mapping[str, list[Bank]],
    distances: Mapping[str, Lengths],
    grid: Grid,
    z: Elevations,
    beyond: Length,
) -> LinerGround:
    """Ground under one liner, on the part of the grid that it spans, with its risers split off.

    Parameters
    ----------
    bodies : mapping of Bank        Kinds of bank of each body that it covers.
    distances : (rows, columns) arrays     To the shore of each body, positive inside. [m]
    grid : Grid
    z : (rows, columns) array       Ground that is dug to, risers spread over one spacing. [m]
    beyond : Length                 How far beyond the shores the liner reaches. [m]
    """
    distance = np.maximum.reduce([distances[name] for name in bodies])
    rows, columns = np.nonzero(distance >= -beyond - grid.spacing)
    if not len(rows):
        return LinerGround(grid, z, np.zeros_like(z), distance)
    top, left = max(rows.min() - AROUND, 0), max(columns.min() - AROUND, 0)
    part = (slice(top, rows.max() + AROUND + 1), slice(left, columns.max() + AROUND + 1))
    own = np.ascontiguousarray(distance[part])
    window = replace(
        grid,
        origin_east=grid.origin_east + left * grid.spacing,
        origin_north=grid.origin_north + top * grid.spacing,
        columns=own.shape[1],
        rows=own.shape[0],
    )
    spread, steps = np.zeros_like(own), np.zeros_like(own)
    for name, banks in bodies.items():
        inward = distances[name][part]
        for bank in banks:
            share = 1.0 if bank.share is None else bank.share[part]
            for offset, height in zip(bank.risers, bank.heights, strict=True):
                past = inward - offset
                spread += share * height * np.clip(past / grid.spacing + 0.5, 0.0, 1.0)
                steps += share * height * (past >= 0.0)
    return LinerGround(window, z[part] + spread, steps, own)


def same(one: LinerGround, other: LinerGround) -> bool:
    """Whether two grounds are the same to the last bit, risers and all."""
    return one.grid == other.grid and all(
        np.array_equal(getattr(one, field), getattr(other, field)) for field in ("distance", "rest", "steps")
    )


def _bank(profile: Profile, bank: DryBank, share: FloatArray | None) -> Bank:
    """A profile from the crest inward: its bank above the water, its slopes, its risers."""
    offsets = [FAR, -bank.freeboard * bank.slope_in, *profile.knots]
    falls = np.append(np.diff(profile.depths) / np.diff(profile.knots), 0.0)
    slopes = [0.0, 1.0 / bank.slope_in, *falls]
    return Bank(np.array(offsets), np.array(slopes), profile.risers, profile.heights, share)
