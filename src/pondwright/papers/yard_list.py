"""The yard list, to take to the yard: a line for each measured stone, what is still to find, and blanks."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pondwright.base.kinds import MASS
from pondwright.papers.drawing import Sheet
from pondwright.papers.material import Material
from pondwright.papers.pages import A4, LETTER, Cells, Pages
from pondwright.papers.stone_plan import sizes, small

DRAWN_FROM = ("stone.takeoff", "stone.yard")
"""Stages without whose results there is no yard list."""

BLANKS = 12
LINE = "_______"

COLUMNS = (
    Cells("set", 0.8, number=True),
    Cells("tag", 1.0),
    Cells("long × wide × high", 3.3),
    Cells("mass", 1.5, number=True),
    Cells("for", 1.5),
    Cells("place", 5.7),
    Cells("seen", 1.0),
)
WANTED = (
    Cells("still to find", 5.6),
    Cells("pieces", 1.2, number=True),
    Cells("middle size", 2.6),
    Cells("at least this tall", 2.4),
    Cells("found", 2.0),
)
EMPTY = (
    Cells("tag", 1.3),
    Cells("long", 1.3),
    Cells("wide", 1.3),
    Cells("high", 1.3),
    Cells("ticket", 1.4),
    Cells("for", 1.4),
    Cells("truck", 1.3),
    Cells("place", 2.6),
)
ROLES = {"any": "anything", "stand": "to stand on", "seat": "to sit on"}
"""Roles whose stored words are no words of the yard; the others are told as they are."""

HOW = (
    "Three tapes: the longest, the middle, and the shortest axis. Put the tag on where it shows from the "
    "truck. A scale ticket goes before a mass by tapes. Keep hands and feet from under every stone, and "
    "nobody below a load."
)


def yard_sheets(material: Material) -> tuple[Sheet, ...]:
    """Write the yard list of a job.

    Parameters
    ----------
    material : Material
        Needs the results of `DRAWN_FROM`.

    Returns
    -------
    tuple of Sheet
        A4, or 8.5 x 11 in where feet are shown; none where no stone is measured and none is wanted.
    """
    yard = material.result("stone.yard")
    if not yard.stones and not yard.places:
        return ()
    paper = A4 if material.job.shown_units == "metric" else LETTER
    pages = Pages(paper, "Yard list", material.job.name, material.note)
    pages.paragraph(HOW)
    for head, names in _groups(material):
        pages.heading(head)
        pages.table(COLUMNS, [_row(material, name) for name in names])
    wanted = list(_wanted(material))
    if wanted:
        pages.heading("Still to find")
        pages.table(WANTED, wanted)
    pages.heading("More stones", with_mm=60.0)
    pages.table(EMPTY, [(LINE,) * len(EMPTY)] * BLANKS)
    return pages.sheets("yard-list")


def _groups(material: Material) -> Iterator[tuple[str, list[str]]]:
    """Stones by truck, then those without one; those left over stand last on their truck."""
    yard, pieces = material.result("stone.yard"), material.job.stone.pieces
    for load in yard.trucks.values():
        mass, most = material.told(load.mass, MASS, 0), material.told(load.payload, MASS, 0)
        yield f"Truck {load.name}: {mass} of {most}", sorted(load.stones, key=lambda one: _order(yard, one))
    rest = [name for name in pieces if not pieces[name].truck]
    if rest:
        yield "On no truck", sorted(rest, key=lambda one: _order(yard, one))


def _order(yard: Any, name: str) -> tuple[bool, int, str]:
    stone = yard.stones[name]
    return not stone.place, stone.order, name


def _row(material: Material, name: str) -> tuple[str, ...]:
    piece, stone = material.job.stone.pieces[name], material.result("stone.yard").stones[name]
    shown = material.job.shown_units
    tapes = [small(each, shown).split("\u00a0")[0] for each in (piece.length, piece.width)]
    place = stone.says
    if stone.changed:
        place += " (CHANGED)" if stone.place else " (WAS KEPT FOR ANOTHER PLACE)"
    return (
        str(stone.order) if stone.order else "–",
        stone.name,
        f"{tapes[0]} × {tapes[1]} × {small(piece.height, shown)}",
        material.told(stone.mass, MASS, 0),
        ROLES.get(piece.role, piece.role),
        place,
        "[  ]",
    )


def _wanted(material: Material) -> Iterator[tuple[str, ...]]:
    """Places that lack stones, and what these must be like."""
    shown = material.job.shown_units
    for place in material.result("stone.yard").places.values():
        if place.missing > 0:
            tall = small(place.tall, shown) if place.tall > 0.0 else "–"
            yield place.says, str(place.missing), sizes(place.low, place.high, shown), tall, LINE
