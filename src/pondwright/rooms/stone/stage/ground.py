"""A body as stone sees it: its shore in short pieces, the bank of each, and the true area of each zone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Area, Elevations, Length, Lengths, Slope
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.places import OUTER_RING, PartPlace, StretchPlace, WholePlace
from pondwright.job.shape import STANDARD_BANK, STANDARD_STREAM, BankType, Body, CorridorOutline, RingOutline
from pondwright.rooms.shape.profile import Profile, bank_profile
from pondwright.rooms.stone.layers import band_areas, bed_stretch, true_area
from pondwright.rooms.stone.walk import ShoreWalk, line_pieces, shore_walk, sides_between

Pieces = NDArray[np.bool_]
StonePlace = StretchPlace | PartPlace | WholePlace


@dataclass(frozen=True, slots=True, eq=False)
class BankKind:
    """One kind of bank of a body: the stretch that has it (empty all round), its corners and its profile."""

    stretch: str
    offsets: tuple[Length, ...]
    profile: Profile


@dataclass(frozen=True, slots=True)
class Band:
    """One zone of one kind of bank: where it begins and ends, its slope and its depth at the start.

    `area` is its true area along some pieces of shore. [m²]
    """

    zone: int
    start: Length
    end: Length
    slope: Slope
    depth: Length
    area: Area


@dataclass(frozen=True, slots=True, eq=False)
class BodyGround:
    """The shore of a body in pieces, and the nodes of its part of the grid, each with its piece of shore.

    `bank` has the kind of bank of each piece, `shore` whether it is a shore: no other water lies there.
    `stretched` is how much longer a stream's bed is than its line on the plan.
    """

    name: str
    walk: ShoreWalk
    banks: tuple[BankKind, ...]
    bank: NDArray[np.intp]
    shore: Pieces
    water: Elevations
    stretched: float
    distance: Lengths
    grid: Grid
    nodes: NDArray[np.intp]
    owner: NDArray[np.intp]
    masks: Mapping[tuple[str, str, str], Pieces]

    def along(self, place: StonePlace) -> Pieces:
        """Pieces of shore that a place names; a zone lies along all of them."""
        if place.body not in (None, self.name):
            return np.zeros(len(self.bank), dtype=np.bool_)
        if not isinstance(place, StretchPlace):
            return np.ones(len(self.bank), dtype=np.bool_)
        return self.masks[place.ring, place.start, place.end]

    def line(self, offset: Length) -> tuple[Lengths, Lengths, NDArray[np.intp]]:
        """Short pieces of a line in the water, in the order of the shore: middles, lengths, shore of each."""
        points, lengths = line_pieces(self.distance, self.grid, offset)
        nearest = self.walk.nearest(points)
        order = np.argsort(nearest, kind="stable")
        return points[order], lengths[order], nearest[order]

    def bands(self, bank: int, pieces: Pieces) -> tuple[Band, ...]:
        """Zones of a kind of bank along those of some pieces that have it."""
        chosen = pieces & (self.bank == bank)
        if not chosen.any():
            return ()
        weight = np.zeros(self.grid.shape)
        weight.ravel()[self.nodes] = chosen[self.owner]
        profile = self.banks[bank].profile
        plans = band_areas(self.distance, self.grid, profile.knots, weight)
        ends = np.append(profile.knots[1:], np.inf)
        falls = np.append(np.diff(profile.depths) / np.diff(profile.knots), 0.0)
        found = []
        for place, (start, end, slope, plan) in enumerate(
            zip(profile.knots.tolist(), ends.tolist(), falls.tolist(), plans.tolist(), strict=True)
        ):
            dropped = float(profile.heights[profile.risers <= start].sum())
            depth = float(profile.depths[place]) + dropped
            area = self.stretched * true_area(max(plan, 0.0), slope)
            found.append(Band(int(profile.zones[place]), start, end, slope, depth, area))
        return tuple(found)


def grounds_of(
    view: Mapping[str, Any], results: Mapping[str, Any], places: Sequence[StonePlace]
) -> dict[str, BodyGround]:
    """All bodies as stone sees them.

    Parameters
    ----------
    view : mapping          Reads `shape.bodies`, `shape.bank_types`.
    results : mapping       Needs `shape.shore`.
    places : places         All that will be asked for.

    Returns
    -------
    dict of BodyGround
    """
    shore = results["shape.shore"]
    return {
        name: _ground(name, view["shape.bodies"][name], view["shape.bank_types"], shore, places)
        for name in shore.bodies
    }


def _ground(
    name: str, row: Body, bank_types: Mapping[str, BankType], shore: Any, places: Sequence[StonePlace]
) -> BodyGround:
    body, grid = shore.bodies[name], shore.grid
    walk = shore_walk(body.rings)
    banks = [_bank_kind("", _own_bank(row, bank_types))]
    bank = np.zeros(len(walk.ring), dtype=np.intp)
    for stretch, told in () if body.stream else row.stretches.items():
        banks.append(_bank_kind(stretch, bank_types[told.bank_type]))
        bank[_pieces_between(row, body, walk, told.ring, told.start, told.end)] = len(banks) - 1
    others = [each.distance for other, each in shore.bodies.items() if other != name]
    here = _ends_left_out(body, walk)
    for distance in others:
        here &= surface_at(distance, grid, walk.points) <= 0.0
    window, inward = body.windowed(grid)
    first_row, end_row, first_column, end_column = body.window
    inside = inward >= -2.0 * window.spacing
    for distance in others if body.stream else ():
        inside &= distance[first_row:end_row, first_column:end_column] <= 0.0
    nodes = np.flatnonzero(inside)
    rows, columns = np.divmod(nodes, window.columns)
    owner = walk.nearest(np.column_stack([window.east[columns], window.north[rows]]))
    masks = {
        (place.ring, place.start, place.end): _pieces_between(
            row, body, walk, place.ring, place.start, place.end
        )
        for place in places
        if isinstance(place, StretchPlace) and place.body == name
    }
    lowered = surface_at(body.stream.drop, grid, walk.points) if body.stream else np.zeros(len(bank))
    return BodyGround(
        name=name,
        walk=walk,
        banks=tuple(banks),
        bank=bank,
        shore=here,
        water=body.level - lowered,
        stretched=_stretched(body, row),
        distance=inward,
        grid=window,
        nodes=nodes,
        owner=owner,
        masks=masks,
    )


def _ends_left_out(body: Any, walk: ShoreWalk) -> Pieces:
    """Pieces of a shore but the two ends of a stream, which are no bank."""
    if body.stream is None:
        return np.ones(len(walk.side), dtype=np.bool_)
    count = len(body.stream.corridor.line)
    return np.asarray((walk.side != count - 1) & (walk.side != 2 * count - 1))


def _stretched(body: Any, row: Body) -> float:
    """How much longer a stream's bed is than its line on the plan, where the bed is told."""
    if body.stream is None or not isinstance(row.outline, CorridorOutline) or not row.outline.bed:
        return 1.0
    line = body.stream.corridor
    first = np.searchsorted(body.spans[0][: len(line.station)], np.arange(len(row.outline.bed) - 1))
    return bed_stretch(np.append(line.station[first], line.length), np.array(row.outline.bed))


def _own_bank(row: Body, bank_types: Mapping[str, BankType]) -> BankType:
    if row.bank_type is not None:
        return bank_types[row.bank_type]
    return STANDARD_BANK if isinstance(row.outline, RingOutline) else STANDARD_STREAM


def _bank_kind(stretch: str, bank: BankType) -> BankKind:
    corners = [(point.distance, point.depth) for point in bank.points]
    return BankKind(stretch, tuple(distance for distance, _ in corners), bank_profile(corners))


def _pieces_between(row: Body, body: Any, walk: ShoreWalk, ring: str, start: str, end: str) -> Pieces:
    """Pieces of a ring from one peg on to another; of a stream, along both of its banks."""
    curve = row.outline.curve if ring == OUTER_RING else row.islands[ring]
    pegs = [peg.id for peg in curve.pegs]
    number = body.ring_names.index(ring)
    spans = body.spans[number]
    if body.stream is not None:
        # Its ring runs down the left bank and back up the right one.
        low, high = sorted((pegs.index(start), pegs.index(end)))
        of_side = np.minimum(spans, np.roll(spans, -1))
        sides = (of_side >= low) & (of_side < high)
    else:
        sides = sides_between(spans, pegs, start, end)
    return np.asarray((walk.ring == number) & sides[np.where(walk.ring == number, walk.side, 0)])
