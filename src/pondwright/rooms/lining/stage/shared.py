"""What the stages of the lining share: the liners of a job and the ground under each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.findings import Limit
from pondwright.base.kinds import Area, Elevations, FloatArray, Length, Lengths, Ratios
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import bands as kernels
from pondwright.job.lining import Liner
from pondwright.job.rules import limits_in
from pondwright.rooms.lining.area import Bank, LinerGround, liner_area
from pondwright.rooms.lining.checks import LIMITS
from pondwright.rooms.shape.grading import Bank as DryBank
from pondwright.rooms.shape.grading import stretch_share
from pondwright.rooms.shape.profile import Profile
from pondwright.rooms.shape.shoreline import line_distance

FAR: Length = -1e6
"""Inward from the shore: where the outermost band of a bank begins. [m]"""

AROUND: int = 2
"""Nodes kept beyond the liner on each side of its part of the grid."""

FALL_REACH: Length = 1.0
"""So far beside a stream the way that it runs is the way of its falls. [m]"""

CODES: int = 120
"""Waters and reaches beside one another have different numbers below this."""


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the lining's checks, as this job has them."""
    return limits_in(view["rules"], LIMITS)


def liners_of(liners: Mapping[str, Liner], bodies: Mapping[str, Any]) -> dict[str, Liner]:
    """Liners of a job: those that are told, and one of its own for each body that none of them names.

    A liner of which no body is there is left out.
    """
    told = {name: liner for name, liner in liners.items() if any(body in bodies for body in liner.bodies)}
    named = {body for liner in told.values() for body in liner.bodies}
    own = {body: _own_liner(body) for body in bodies if body not in named}
    return {**told, **{name if name not in told else f"{name}_own": liner for name, liner in own.items()}}


@lru_cache
def _own_liner(body: str) -> Liner:
    """Liner of one body with nothing told of it; it is asked for in each frame."""
    return Liner(bodies=(body,))


@dataclass(frozen=True, slots=True, eq=False)
class PondPart:
    """A pond under a liner: distance inward from its shore, and its kinds of bank where it rules."""

    inward: Lengths
    banks: tuple[Bank, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Dug:
    """The ground under one liner.

    Banks tell the ponds on it.  `streams` tells where none of them rules (1 there), or is None where one
    pond has the liner for itself: no bank tells of falls.
    """

    ground: LinerGround
    ponds: tuple[PondPart, ...]
    streams: Ratios | None

    def ponds_area(self, beyond: Length) -> Area:
        """True area of the parts that ponds rule. [m²]"""
        grid = self.ground.grid
        return sum(liner_area(pond.inward, grid, pond.banks, beyond) for pond in self.ponds)


def dug_under(bodies: Sequence[str], shore: Any, grading: Any, z: Elevations, beyond: Length) -> Dug:
    """Ground under one liner, on the part of the grid that it spans, with its risers split off.

    Parameters
    ----------
    bodies : str                        Bodies of water that it holds.
    shore, grading : results            Of `shape.shore` and `shape.grading`.
    z : (rows, columns) array           Ground that is dug to, risers spread over one spacing. [m]
    beyond : Length                     How far beyond the shores the liner reaches. [m]
    """
    grid = shore.grid
    own = {name: shore.bodies[name] for name in bodies}
    part = _part([body.window for body in own.values()], grid, beyond)
    rows, columns = part
    window = replace(
        grid,
        origin_east=grid.origin_east + columns.start * grid.spacing,
        origin_north=grid.origin_north + rows.start * grid.spacing,
        columns=columns.stop - columns.start,
        rows=rows.stop - rows.start,
    )
    inward = {name: np.ascontiguousarray(body.distance[part]) for name, body in own.items()}
    banks = {name: _banks(grading.bodies[name], inward[name], window) for name in own}
    if len(own) == 1 and all(body.stream is None for body in own.values()):
        ((name, distance),) = inward.items()
        rest, steps = _split(z[part], distance, banks[name], grid.spacing)
        ground = LinerGround(window, rest, steps, distance)
        return Dug(ground, (PondPart(distance, tuple(banks[name])),), None)
    return _joined(own, inward, banks, part, window, z[part])


def _joined(
    own: Mapping[str, Any],
    inward: Mapping[str, Lengths],
    banks: Mapping[str, Sequence[Bank]],
    part: tuple[slice, slice],
    window: Grid,
    z: Elevations,
) -> Dug:
    """Ground of a stream, or of waters that share a liner: each rules where it is the nearest.

    A stream yields to every other water, as it does in the finish.
    """
    ponds = [name for name, body in own.items() if body.stream is None]
    in_pond = np.any([inward[name] > 0.0 for name in ponds], axis=0) if ponds else False
    claims = [
        distance if name in ponds else np.where(in_pond, -np.inf, distance)
        for name, distance in inward.items()
    ]
    ruler = np.argmax(claims, axis=0)
    rest, steps = np.array(z, dtype=np.float64), np.zeros_like(z)
    reach = np.zeros(z.shape, dtype=np.int64)
    downstream = np.zeros((2, *z.shape))
    code = 0
    for place, (name, body) in enumerate(own.items()):
        rules = ruler == place
        spread, dropped = _split(z, inward[name], banks[name], window.spacing)
        rest[rules], steps[rules] = spread[rules], dropped[rules]
        reach[rules] = code
        code += 1
        if body.stream is None:
            continue
        station = body.stream.station[part]
        reach[rules] += body.stream.reaches.reach_at(station)[rules]
        code += len(body.stream.reaches.starts) - 1
        # Where a stream runs into another water, that way is still the one of its fall.
        north, east = np.gradient(station, window.spacing)
        near = inward[name] > -FALL_REACH
        downstream[0][near], downstream[1][near] = east[near], north[near]
    distance = np.maximum.reduce(list(inward.values()))
    codes = (reach % CODES).astype(np.int8)
    ground = LinerGround(window, rest, steps, distance, codes, downstream)
    places = {name: place for place, name in enumerate(own)}
    found = tuple(
        PondPart(inward[name], tuple(_where(bank, ruler == places[name]) for bank in banks[name]))
        for name in ponds
    )
    by_pond = np.isin(ruler, [places[name] for name in ponds])
    return Dug(ground, found, np.where(by_pond, 0.0, 1.0))


def _where(bank: Bank, rules: NDArray[np.bool_]) -> Bank:
    """A kind of bank where its pond rules, and nowhere else."""
    share = rules.astype(np.float64)
    return replace(bank, share=share if bank.share is None else bank.share * share)


def _split(
    z: Elevations, inward: Lengths, banks: Sequence[Bank], spacing: Length
) -> tuple[Elevations, Lengths]:
    """Ground with the risers of its banks taken out, and how far they drop in all at each node."""
    rest, steps = np.array(z, dtype=np.float64), np.zeros_like(inward)
    for bank in banks:
        share = np.empty((0, 0)) if bank.share is None else bank.share
        kernels.split(inward, bank.risers, bank.heights, share, spacing, rest, steps)
    return rest, steps


def _part(windows: Sequence[tuple[int, int, int, int]], grid: Grid, beyond: Length) -> tuple[slice, slice]:
    """Rows and columns of the grid that a liner spans, with some beyond it; their starts are even."""
    more = ceil(beyond / grid.spacing) + AROUND
    row, end_row, column, end_column = np.array(windows).T
    # Even starts keep the diagonals of the cells where they are in the whole grid.
    return (
        slice(2 * (max(int(row.min()) - more, 0) // 2), min(int(end_row.max()) + more, grid.rows)),
        slice(2 * (max(int(column.min()) - more, 0) // 2), min(int(end_column.max()) + more, grid.columns)),
    )


def _banks(grading: Any, distance: Lengths, window: Grid) -> list[Bank]:
    """Kinds of bank of one body with their shares: the one all round, and that of each stretch."""
    found: list[tuple[Profile, FloatArray | None]] = [(grading.profile, None)]
    for stretch in grading.stretches:
        share = stretch_share(distance, line_distance(window, stretch.line), stretch.blend)
        found = [(profile, 1.0 - share if has is None else has * (1.0 - share)) for profile, has in found]
        found.append((stretch.profile, share))
    return [_bank(profile, grading.bank, share) for profile, share in found]


def same(one: LinerGround, other: LinerGround) -> bool:
    """Whether two grounds are the same to the last bit, risers and all."""
    fields = ("distance", "rest", "steps", "reach", "downstream")
    return one.grid == other.grid and all(
        np.array_equal(getattr(one, field), getattr(other, field)) for field in fields
    )


def _bank(profile: Profile, bank: DryBank, share: FloatArray | None) -> Bank:
    """A profile from the crest inward: its bank above the water, its slopes, its risers."""
    offsets = [FAR, -bank.freeboard * bank.slope_in, *profile.knots]
    falls = np.append(np.diff(profile.depths) / np.diff(profile.knots), 0.0)
    slopes = [0.0, 1.0 / bank.slope_in, *falls]
    return Bank(np.array(offsets), np.array(slopes), profile.risers, profile.heights, share)
