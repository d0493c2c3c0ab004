"""The words of the panel plan: what to order, pieces, tapes, holes, how the liner ends, and the pull."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from pondwright.base.kinds import AREA, AREAL_MASS, COUNT, MASS, TEMPERATURE
from pondwright.job.fields import value_of
from pondwright.job.lining import LinerEdge
from pondwright.job.places import StretchPlace
from pondwright.papers import edge_detail, margin
from pondwright.papers.margin import Column
from pondwright.papers.material import Material
from pondwright.papers.tables import BLANK, Cell, table
from pondwright.rooms.lining.cushion import NO_FABRIC

TEXT_MM = 2.4

LEGEND = (
    ("line", "liner_piece", "piece as ordered"),
    ("line", "liner_seam", "seam: its overlap, as wide as it is"),
    ("line", "liner", "edge of the liner on the ground"),
    ("line", "shoreline", "shoreline at the water level"),
    ("line", "tape", "line to tape, T1, T2 and so on"),
    ("line", "guard_root", "root guard"),
    ("line", "guard_burrow", "guard against burrowing"),
    ("line", "crest", "liner ends in a trench here"),
    ("peg", "", "pipe through the liner, or a patch"),
)

FORMS = {
    "one": "one piece, from the shop",
    "parts": "several pieces, from the shop",
    "rolls": "strips, cut from rolls",
}
WHEN = {"after": "after the hole is dug and taped", "before": "before the hole is dug: see the margin"}
VERDICTS = {
    "not_taped": "",
    "as_drawn": "as drawn",
    "longer": "longer, within spare",
    "short": "TOO LONG FOR THE LINER",
    "much_shorter": "dig is not done",
}
CAUTIONS = (
    "Wet liner is slippery and its banks are steep: have a rope or a ladder, and nobody alone at the water. "
    "Lift together and with rated slings; nobody under a bundle, a beam or a sheet that the wind has lifted. "
    "No machine on the liner unless its cover, mats and tracks are planned for it. "
    "Local codes and licensed practice decide."
)


def write(first: Column, second: Column, material: Material, name: str, bottom: float) -> None:
    """Write the two columns beside the plan of a liner, down to a bottom [mm]."""
    order = material.result("lining.order").liners[name]
    _order(first, material, name, order)
    _pieces(first, material, order)
    _tapes(first, material, order)
    _small(first, material, order)
    first.heading("Legend")
    margin.legend(first, LEGEND)
    _water_test(first, material, order, bottom - 3.0)
    _edges(second, material, name, order)
    _steps(second, material, order, bottom)


def _order(column: Column, material: Material, name: str, order: Any) -> None:
    told = material.told
    column.heading("To order")
    column.paragraph(f"{FORMS[order.form]}; {WHEN[order.ordered]}.".capitalize(), size_mm=2.6)
    item = material.job.catalogue.get(order.membrane) if order.membrane else None
    _size(column, material, name, order)
    column.row("sheet", (item.name or order.membrane) if item is not None else order.material)
    column.row("area of it", told(order.ordered_area, AREA))
    column.row("true area of the ground", told(material.result("lining.area").liners[name].area, AREA))
    column.row("mass", told(order.mass, MASS, 0))
    _proof(column, material, name, order)
    fabrics = order.cushion
    column.row("fabric below and above, in all", told(fabrics.area, AREA))
    for side, words in ((fabrics.below, "below"), (fabrics.above, "above")):
        if side is not None:
            little = side.needed < NO_FABRIC
            needed = "none by calculation" if little else told(side.needed, AREAL_MASS)
            has = told(side.has, AREAL_MASS)
            column.row(f"cushion {words}: needed, in the build-up", f"{needed}, {has}")


def _proved(material: Material, name: str, order: Any) -> Any:
    """The piece that is proved to cover, where the liner comes in one; None while nothing is proved."""
    proved = material.result("lining.proved")
    return None if order.form == "rolls" or proved is None else proved.liners.get(name)


def _size(column: Column, material: Material, name: str, order: Any) -> None:
    """The one size that is ordered: by tapes, or the proved one where that is larger."""
    told, proved = material.told, _proved(material, name, order)
    if order.form != "one":
        column.row("sizes to order", "see the piece list")
        return
    (piece,) = order.pieces.values()
    sure = proved is None or proved.covers
    length, width = (piece.length, piece.width) if sure else (proved.length, proved.width)
    column.row("SIZE TO ORDER", f"{told(length)} × {told(width)}")
    if not sure:
        column.paragraph(
            f"Not the {told(piece.length)} × {told(piece.width)} by tapes: it is not proved to cover.",
            size_mm=2.6,
        )


def _proof(column: Column, material: Material, name: str, order: Any) -> None:
    """What the cover check says of the order."""
    told, cover, proved = material.told, material.result("lining.cover"), _proved(material, name, order)
    one = proved if proved is not None else cover.liners.get(name) if cover is not None else None
    if one is None:
        column.row("cover check", "not run yet: run it before you order")
    elif order.form == "rolls":
        column.row("cover check: strips by the proof", f"{one.count}, {told(one.ordered_area, AREA)}")
    else:
        column.row("cover check: the least that covers", f"{told(one.length)} × {told(one.width)}")


def _pieces(column: Column, material: Material, order: Any) -> None:
    told = material.told
    column.heading("Piece list")
    rows = [
        (
            name,
            f"{told(piece.length)} × {told(piece.width)}",
            told(piece.area, AREA),
            told(piece.mass, MASS, 0),
            f"{told(piece.bundle_length)} × {told(piece.bundle_diameter)}",
            str(piece.carriers),
        )
        for name, piece in order.pieces.items()
    ]
    cells = (
        Cell("", 6.0),
        Cell("length × width", 27.0),
        Cell("area", 14.0, number=True),
        Cell("mass", 12.0, number=True),
        Cell("bundle", 20.0, number=True),
        Cell("carry", 9.0, number=True),
    )
    table(column, cells, rows)
    if order.seams > 0.0:
        column.row("seams", told(order.seams))
    if order.tape > 0.0:
        column.row("tape or weld for seams, boots and patches", told(order.tape))
    for roll, number in _counted(order.rolls):
        cuts = ", ".join(f"{name} {told(length)}" for name, length in roll.cuts)
        size = f"{told(roll.width)} × {told(roll.length)}"
        column.paragraph(f"{number} × roll {size}: cut {cuts}; left {told(roll.rest)}.", size_mm=TEXT_MM)
    column.paragraph(
        f"Sizes hold {told(order.folds)} for folds and {told(order.margin)} for tape and dig; "
        f"{told(order.spare)} is spare at each end.",
        size_mm=TEXT_MM,
    )


def _counted(rolls: Any) -> Iterator[tuple[Any, int]]:
    """Rolls one by one."""
    for roll in rolls:
        yield roll, 1


def _tapes(column: Column, material: Material, order: Any) -> None:
    column.heading("Tape checks: over the dug ground, before you order")
    cells = (
        Cell("", 7.0),
        Cell("along", 30.0),
        Cell("as drawn", 15.0, number=True),
        Cell("taped", 18.0, number=True),
        Cell("", 18.0),
    )
    rows = []
    for number, (name, tape) in enumerate(order.tapes.items(), start=1):
        row = material.job.lining.tapes.get(name)
        words = (row.name or f"tape {number}") if row is not None else f"proposed, {name.rpartition('_')[2]}"
        taped = BLANK if tape.taped is None else material.told(tape.taped)
        rows.append((f"T{number}", words, material.told(tape.predicted), taped, VERDICTS[tape.verdict]))
    table(column, cells, rows)
    column.row("by, on", "")
    end = column.left_mm + column.width_mm
    column.drawing.line(
        np.array([[column.left_mm + 14.0, column.down_mm + 0.4], [end, column.down_mm + 0.4]]), "thin"
    )
    column.gap(0.8)
    column.paragraph(
        "Lay the tape on the ground down and up every step, with no pull, from edge to edge of the liner. "
        "A length over what is drawn and spare: do not order yet.",
        size_mm=TEXT_MM,
    )


def _small(column: Column, material: Material, order: Any) -> None:
    """Pipes through the liner and patches."""
    if not order.boots and not order.patches:
        return
    told = material.told
    column.heading("Holes and patches")
    for number, (name, boot) in enumerate(order.boots.items(), start=1):
        row = material.job.lining.penetrations[name]
        over = (
            f" COULD GO OVER the edge in {told(boot.way_over)} of pipe: ask first."
            if boot.over != "no" and boot.way_over is not None
            else ""
        )
        deep = "" if boot.depth is None else f", {told(boot.depth)} below full water"
        column.paragraph(
            f"B{number} {row.name or f'pipe {number}'}: {told(boot.diameter)} wide{deep}, "
            f"collar {told(boot.collar)} square.{over}",
            size_mm=TEXT_MM,
        )
    sizes: dict[str, int] = {}
    for patch in order.patches.values():
        words = f"{told(patch.size)} square, " + (
            f"from leftover {patch.cut_from.replace('_', ' ')}" if patch.cut_from else "to be bought"
        )
        sizes[words] = sizes.get(words, 0) + 1
    for words, count in sizes.items():
        column.paragraph(f"{count} × patch {words}.", size_mm=TEXT_MM)


def _edges(column: Column, material: Material, name: str, order: Any) -> None:
    """Each way in which the liner ends, drawn in section with its heights."""
    column.heading("How the liner ends")
    column.gap(1.5)
    for detail, place, level, edge in edge_kinds(material, order):
        height = edge_detail.draw(
            column.drawing,
            (column.left_mm, column.down_mm, column.width_mm),
            material,
            edge_detail.Detail(detail, level, value_of(edge, "height"), value_of(edge, "upturn"), place),
        )
        column.down_mm += height


def edge_kinds(material: Material, order: Any) -> Iterator[tuple[str, str, float, LinerEdge]]:
    """Ways in which a liner ends: those of the document, alike ones together, and that of the other shores.

    Parameters
    ----------
    material : Material
    order : LinerOrder

    Yields
    ------
    detail, where, level of the water [m], edge     Of each.
    """
    bodies = material.result("shape.shore").bodies
    alike: dict[tuple[str, float, float, float], list[LinerEdge]] = {}
    for row in material.job.lining.edges.values():
        if row.place.body in order.bodies and row.status != "remove":
            key = (row.detail, bodies[row.place.body].level, value_of(row, "height"), value_of(row, "upturn"))
            alike.setdefault(key, []).append(row)
    for (detail, level, _height, _upturn), rows in alike.items():
        spans = ", ".join(f"{row.place.start} to {row.place.end}" for row in rows)
        yield detail, spans, level, rows[0]
    first = order.bodies[0]
    rest = LinerEdge(place=StretchPlace(at="stretch", body=first, start="a", end="b"))
    yield "upturn", "All the rest" if alike else "All round", bodies[first].level, rest


def _steps(column: Column, material: Material, order: Any, bottom: float) -> None:
    """The pull as far as there is room, and the cautions always."""
    caution = margin.wrapped(CAUTIONS, column.width_mm, TEXT_MM)
    room = bottom - len(caution) * TEXT_MM * 1.42 - 6.0
    told = material.told
    column.heading("The pull")
    wind, cold = material.wind(order.stop_wind), told(order.least_temperature, TEMPERATURE, 0)
    people = f"{order.carriers} to carry, {order.pullers} to pull"
    column.row("people for the heaviest piece", people)
    column.row("stop in wind over; not below", f"{wind}; {cold}")
    column.row("sandbags until it is covered", told(order.sandbags, COUNT))
    column.gap(0.6)
    for number, words in enumerate(order.steps, start=1):
        _numbered(column, number, words, room)
    column.down_mm = room
    column.gap(2.0)
    column.paragraph(CAUTIONS, size_mm=TEXT_MM)


def _numbered(column: Column, number: int, words: str, room: float) -> None:
    lines = len(margin.wrapped(words, column.width_mm - margin.MARK_MM, TEXT_MM))
    if column.has_room(lines * TEXT_MM * 1.42, room):
        column.paragraph(words, mark=f"{number}", size_mm=TEXT_MM)


def _water_test(column: Column, material: Material, order: Any, room: float) -> None:
    """What is done with the bare liner, as far as there is room."""
    test = _test(material, order)
    if test is None or not column.has_room(24.0, room):
        return
    column.heading("Water test, before any stone")
    for number, words in enumerate(test.steps, start=1):
        _numbered(column, number, words, room)


def _test(material: Material, order: Any) -> Any:
    rim = material.result("lining.rim")
    found: Mapping[str, Any] = {} if rim is None else rim.bodies
    return next((found[body].test for body in order.bodies if body in found), None)
