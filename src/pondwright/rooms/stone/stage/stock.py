"""What is needed of each class, what of it is on hand, and what is to be bought."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pondwright.base.kinds import Mass, Ratio, Volume
from pondwright.job.stone import Piece, Pile
from pondwright.rooms.stone.courses import WHOLE
from pondwright.rooms.stone.layers import bulk_density
from pondwright.rooms.stone.on_hand import Measured, Need, from_pile, stand_ins
from pondwright.rooms.stone.stage.classes import Classes, Kind
from pondwright.rooms.stone.stage.shared import mass_of
from pondwright.rooms.stone.stage.takeoff_results import ClassTotal, StoneLine

OURS = ("on_hand", "ordered")
"""Stones that are not bought again: on the site or ordered; those at a yard are still to be bought."""

KEPT = ("stand", "seat")
"""Roles of stones that no line of the takeoff counts."""


@dataclass(slots=True)
class _Left:
    """What is still needed of one class: stones of courses, stones of falls, mass of covers and backing."""

    courses: int = 0
    falls: int = 0
    loose: Mass = 0.0
    loose_volume: Volume = 0.0
    on_hand: Mass = 0.0
    on_hand_count: int = 0
    lines: list[StoneLine] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Stock:
    """Totals by class, what stands in for what, and what no place takes. [kg]"""

    classes: dict[str, ClassTotal]
    pieces: dict[str, str]
    piles: dict[str, Mass]
    spare: Mass


def stock_of(
    lines: Sequence[StoneLine],
    classes: Classes,
    pieces: Mapping[str, Piece],
    piles: Mapping[str, Pile],
    waste: Ratio,
    cover_waste: Ratio,
) -> Stock:
    """What is needed of each class, what is on hand, and what is to be bought.

    Parameters
    ----------
    lines : StoneLine           Of the whole takeoff.
    classes : Classes
    pieces, piles : mapping     Of the document.
    waste, cover_waste : Ratio  Added to bought stones of courses, and to covers and backing. [-]

    Returns
    -------
    Stock
    """
    left: dict[str, _Left] = {}
    for line in lines:
        own = left.setdefault(line.stone, _Left())
        own.lines.append(line)
        if line.use == "course":
            own.courses += line.count
        elif line.count:
            own.falls += line.count
        else:
            own.loose += line.mass
            own.loose_volume += line.volume
    ours = {
        name: piece
        for name, piece in pieces.items()
        if piece.stands in OURS and piece.role not in KEPT and piece.status != "remove"
    }
    used = _use_pieces(left, lines, classes, ours)
    masses = {name: mass_of(piece) for name, piece in ours.items()}
    # A piece that is set somewhere on the plan is no spare, whether a line counts it or not.
    spare = sum(masses[name] for name, piece in ours.items() if not used[name] and piece.place is None)
    from_piles = {name: 0.0 for name in piles}
    for name, pile in piles.items():
        if pile.status != "remove":
            from_piles[name] = _use_pile(left, pile, classes)
            spare += pile.mass - from_piles[name]
    totals = {stone: _total(classes[stone], own, waste, cover_waste) for stone, own in left.items()}
    return Stock(totals, used, from_piles, spare)


def _use_pieces(
    left: Mapping[str, _Left], lines: Sequence[StoneLine], classes: Classes, ours: Mapping[str, Piece]
) -> dict[str, str]:
    """Class that each piece stands in for; empty for none."""
    counts: dict[tuple[str, str], int] = {}
    for line in lines:
        if line.count:
            counts[line.stone, line.use] = counts.get((line.stone, line.use), 0) + line.count
    needs = [
        Need(stone, use, classes[stone].low, classes[stone].high, count)
        for (stone, use), count in counts.items()
    ]
    measured = {
        name: Measured(
            sorted((piece.length, piece.width, piece.height))[1],
            "fall" if piece.fall and piece.role == "any" else piece.role,
        )
        for name, piece in ours.items()
    }
    used = dict.fromkeys(ours, "")
    for name, place in stand_ins(needs, measured).items():
        need = needs[place]
        own = left[need.stone]
        own.on_hand += mass_of(ours[name])
        own.on_hand_count += 1
        if need.use == "course":
            own.courses -= 1
        else:
            own.falls -= 1
        used[name] = need.stone
    return used


def _use_pile(left: Mapping[str, _Left], pile: Pile, classes: Classes) -> Mass:
    """Mass that a pile gives: to its class, stones first; a mixed one only to what is packed behind falls."""
    key = "backing" if pile.stone is None else pile.stone
    if key not in left:
        return 0.0
    own, given = left[key], 0.0
    if own.courses + own.falls:
        count = from_pile(pile.mass, classes[key].mass, own.courses + own.falls)
        courses = min(count, own.courses)
        own.courses -= courses
        own.falls -= count - courses
        own.on_hand_count += count
        given = count * classes[key].mass
    loose = min(max(pile.mass - given, 0.0), own.loose)
    if loose > 0.0:
        own.loose_volume *= 1.0 - loose / own.loose
        own.loose -= loose
    own.on_hand += given + loose
    return given + loose


def _total(kind: Kind, left: _Left, waste: Ratio, cover_waste: Ratio) -> ClassTotal:
    buy_count = math.ceil(left.courses * (1.0 + waste) - WHOLE) + left.falls
    stones = buy_count * kind.mass
    return ClassTotal(
        low=kind.low,
        high=kind.high,
        shape=kind.shape,
        solid=kind.solid,
        told=kind.told,
        stone_mass=kind.mass,
        heaviest=kind.heaviest,
        count=sum(line.count for line in left.lines),
        mass=sum(line.mass for line in left.lines),
        volume=sum(line.volume for line in left.lines),
        on_hand_count=left.on_hand_count,
        on_hand=left.on_hand,
        buy_count=buy_count,
        buy=stones + left.loose * (1.0 + cover_waste),
        buy_volume=stones / bulk_density(kind.solid, kind.loose) + left.loose_volume * (1.0 + cover_waste),
    )
