"""Pieces of a liner as they are ordered: in one, in several, or cut from rolls."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from string import ascii_uppercase
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.findings import Limit
from pondwright.base.kinds import Angle, Area, Length, Lengths
from pondwright.geometry.polygon import line_length
from pondwright.job.lining import Liner
from pondwright.rooms.lining.area import LinerGround
from pondwright.rooms.lining.joints import kept_side, narrows, parted, reach_sides
from pondwright.rooms.lining.laid import seams_of
from pondwright.rooms.lining.materials import Membrane
from pondwright.rooms.lining.panels import Sheet, best_sheet
from pondwright.rooms.lining.seams import cut_lengths, dig_margin, first_fit, ordered_length
from pondwright.rooms.lining.stage.area import LinerArea
from pondwright.rooms.lining.stage.bought import seam_of
from pondwright.rooms.lining.stage.layout import LinerLayout
from pondwright.rooms.lining.stage.order_results import Joint, OrderPiece, PartPiece, RollCut, Several
from pondwright.rooms.lining.tapes import length_over_ground
from pondwright.rooms.lining.weight import bundle_size, people_for

Limits = Mapping[str, Limit]


@dataclass(frozen=True, slots=True)
class Added:
    """What is added to a length by tapes: a share for folds, and what the dig or the tape may be out."""

    liner: Liner
    limits: Limits

    def margin(self, length: Length) -> Length:
        """For the dig where it is ordered before, for the tape where it is ordered after. [m]"""
        exact = self.limits["lining.tape"].value
        after = 2.0 * exact
        if self.liner.ordered == "after":
            return after
        plan, level, uneven = (
            self.limits[f"lining.dig_{name}"].value for name in ("plan", "level", "uneven")
        )
        return max(after, dig_margin(length, plan, level, uneven))

    @property
    def folds(self) -> float:
        """Share of a length that folds eat. [-]"""
        return self.limits["lining.folds"].value

    def ordered(self, length: Length) -> Length:
        """Length to order for one by tapes. [m]"""
        return ordered_length(length, self.folds, self.margin(length))


def letter(index: int) -> str:
    """Name of a piece: A to Z, then AA and on.

    Examples
    --------
    >>> letter(0), letter(25), letter(26), letter(53)
    ('A', 'Z', 'AA', 'BBB')
    """
    return ascii_uppercase[index % 26] * (index // 26 + 1)


def order_piece(
    needed: tuple[Length, Length],
    ordered: tuple[Length, Length],
    turned: Angle,
    corners: Lengths,
    sheet: Membrane,
    limits: Limits,
) -> OrderPiece:
    """One piece with its mass, its bundle and the people for it."""
    length, width = ordered
    mass = length * width * sheet.mass
    bundle = bundle_size(length, width, sheet.thickness)
    middle = corners.mean(axis=0)
    return OrderPiece(
        corners=corners,
        turned=turned,
        place=(float(middle[0]), float(middle[1])),
        length=length,
        width=width,
        needed_length=needed[0],
        needed_width=needed[1],
        area=length * width,
        mass=mass,
        bundle_length=bundle[0],
        bundle_diameter=bundle[1],
        carriers=people_for(mass, limits["lining.carry"].value),
        pullers=people_for(mass, limits["lining.pull"].value),
    )


def sheet_pieces(parts: Sequence[PartPiece], added: Added, sheet: Membrane) -> Mapping[str, OrderPiece]:
    """Pieces from the shop, each as large as tapes tell and what is added."""
    return MappingProxyType(
        {
            part.name: order_piece(
                (part.length, part.width),
                (added.ordered(part.length), added.ordered(part.width)),
                part.turned,
                part.corners,
                sheet,
                added.limits,
            )
            for part in parts
        }
    )


def strip_pieces(
    layout: LinerLayout, roll: Length, added: Added, sheet: Membrane
) -> tuple[Mapping[str, OrderPiece], tuple[Joint, ...], tuple[RollCut, ...]]:
    """Strips from rolls of one length: pieces, joints, and what is cut from which roll."""
    width = layout.width
    overlap = min(seam_of(added.liner), 0.5 * roll)
    pieces: dict[str, OrderPiece] = {}
    joints = list(_side_joints(layout, overlap))
    for index, laid in enumerate(layout.laid):
        ordered = added.ordered(laid.length)
        cuts = cut_lengths(ordered, roll, overlap)
        names = [
            letter(index) if len(cuts) == 1 else f"{letter(index)}{at}" for at in range(1, len(cuts) + 1)
        ]
        starts = np.cumsum([0.0, *cuts[:-1]]) - overlap * np.arange(len(cuts))
        for name, start, cut in zip(names, starts.tolist(), cuts, strict=True):
            share = laid.length / ordered
            picture = _part_of(laid.corners, start / ordered, (start + cut) / ordered)
            pieces[name] = order_piece(
                (share * cut, width), (cut, width), layout.turned, picture, sheet, added.limits
            )
        for one, other in pairwise(names):
            joints.append(Joint("end", one, other, pieces[one].corners[1:3], width, overlap))
    rolls = first_fit({name: piece.length for name, piece in pieces.items()}, roll)
    from_rolls = tuple(RollCut(width, each.length, each.cuts, each.rest) for each in rolls)
    return MappingProxyType(pieces), tuple(joints), from_rolls


def roll_length(liner: Liner, width: Length, longest: Length) -> Length:
    """Length of the rolls: the shortest that can be had in this width and is long enough, or the longest."""
    lengths = sorted(stock.length for stock in liner.stock if abs(stock.width - width) < 1e-6)
    return next((length for length in lengths if length >= longest), lengths[-1])


def several(
    bodies: Mapping[str, Any], area: LinerArea, whole: Area, grid: Any, added: Added
) -> Several | None:
    """Best way to lay a liner in several pieces, or None where it can only be laid in one."""
    found = [
        each
        for each in (*_at_narrows(bodies, area, added), *_at_falls(bodies, area, grid, added))
        if each is not None
    ]
    if not found:
        return None
    parts, joints = min(found, key=lambda each: _area(each[0], added))
    total = _area(parts, added)
    return Several(parts, joints, total, whole - total, sum(joint.length for joint in joints))


Laid = tuple[tuple[PartPiece, ...], tuple[Joint, ...]]


def _at_narrows(bodies: Mapping[str, Any], area: LinerArea, added: Added) -> Iterator[Laid]:
    lap = seam_of(added.liner)
    for body in bodies.values():
        if body.stream is not None:
            continue
        for narrow in narrows(body.rings[0], body.rings[1:]):
            sides = parted(area.ground, area.beyond, narrow.line)
            if sides is None:
                continue
            parts = _parts(area, sides, 0.5 * lap)
            line = _drawn_on(narrow.line, area.beyond)
            length = length_over_ground(area.ground, line)
            yield parts, (Joint("narrow", parts[0].name, parts[1].name, line, length, lap),)


def _at_falls(bodies: Mapping[str, Any], area: LinerArea, grid: Any, added: Added) -> Iterator[Laid]:
    if len(bodies) != 1:
        return
    (body,) = bodies.values()
    if body.stream is None or len(body.stream.reaches.starts) < 2:
        return
    lap = added.limits["lining.fall_lap"].value
    reaches, corridor = body.stream.reaches, body.stream.corridor
    own = area.ground.grid
    top = round((own.origin_north - grid.origin_north) / grid.spacing)
    left = round((own.origin_east - grid.origin_east) / grid.spacing)
    station = body.stream.station[top : top + own.rows, left : left + own.columns]
    parts = _parts(area, reach_sides(station, reaches.starts, reaches.ends), 0.5 * lap)
    way = np.gradient(corridor.line, corridor.station, axis=0)
    joints = []
    for number in range(1, len(reaches.starts)):
        at = reaches.starts[number]
        middle, along = (
            np.array([np.interp(at, corridor.station, values[:, axis]) for axis in (0, 1)])
            for values in (corridor.line, way)
        )
        along /= max(float(np.hypot(*along)), 1e-12)
        half = float(np.interp(at, corridor.station, corridor.half)) + area.beyond
        line = middle + np.outer([-half, half], (-along[1], along[0]))
        upper, lower = parts[number - 1].name, parts[number].name
        joints.append(Joint("fall", upper, lower, line, line_length(line), lap))
    yield parts, tuple(joints)


def _parts(area: LinerArea, sides: Sequence[Lengths], lap: Length) -> tuple[PartPiece, ...]:
    """Smallest piece for each part of a liner."""
    parts = []
    for index, side in enumerate(sides):
        ground = kept_side(area.ground, area.beyond, side, lap)
        sheet = best_sheet(ground, area.beyond)
        corners = plan_corners(sheet, ground, area.beyond)
        parts.append(PartPiece(letter(index), sheet.length, sheet.width, sheet.turned, corners))
    return tuple(parts)


def plan_corners(sheet: Sheet, ground: LinerGround, beyond: Length) -> Lengths:
    """Corners of a sheet on the plan, its middle over the middle of what it covers."""
    rows, columns = np.nonzero(ground.distance >= -beyond)
    places = np.column_stack([ground.grid.east[columns], ground.grid.north[rows]])
    along = np.array([np.cos(sheet.turned), np.sin(sheet.turned)])
    across = np.array([-along[1], along[0]])
    own = np.column_stack([places @ along, places @ across])
    middle = 0.5 * (own.min(axis=0) + own.max(axis=0))
    half = 0.5 * np.array([sheet.length, sheet.width])
    box = middle + half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return np.asarray(box[:, :1] * along + box[:, 1:] * across)


def _area(parts: Sequence[PartPiece], added: Added) -> Area:
    return sum(added.ordered(part.length) * added.ordered(part.width) for part in parts)


def _drawn_on(line: Lengths, beyond: Length) -> Lengths:
    """A line drawn on at both ends."""
    way = line[1] - line[0]
    way = way / max(float(np.hypot(*way)), 1e-12)
    return np.array([line[0] - beyond * way, line[1] + beyond * way])


def _part_of(corners: Lengths, start: float, end: float) -> Lengths:
    """Picture of a part of a piece, between two shares of its length."""
    near, far = corners[[0, 3]], corners[[1, 2]]
    first, last = near + start * (far - near), near + end * (far - near)
    return np.array([first[0], last[0], last[1], first[1]])


def _side_joints(layout: LinerLayout, overlap: Length) -> Iterator[Joint]:
    """Seams between strips that lie side by side."""
    for first, one in enumerate(layout.laid):
        for second, other in enumerate(layout.laid):
            if other.strip != one.strip + 1:
                continue
            pair = replace(one, strip=0), replace(other, strip=1)
            for seam in seams_of(pair, layout.turned, layout.ground):
                yield Joint("roll", letter(first), letter(second), seam.line, seam.length, overlap)
