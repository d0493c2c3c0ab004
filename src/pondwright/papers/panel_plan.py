"""The panel plan: what is ordered of each liner, how it lies, what is taped before, and how it ends.

One sheet for each liner.  Pieces are drawn as large as they are ordered; they lie over ground that slopes, so
in the hole each reaches less far than on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import AREA, AREAL_MASS, COUNT, MASS, TEMPERATURE
from pondwright.job.fields import value_of
from pondwright.job.lining import LinerEdge
from pondwright.job.places import StretchPlace
from pondwright.papers import design_map, edge_detail, ground_map, margin
from pondwright.papers.drawing import INK, PAPER, Drawing, Sheet
from pondwright.papers.margin import MARGIN_MM, TITLE_MM, Column
from pondwright.papers.material import Material
from pondwright.papers.tables import BLANK, Cell, table
from pondwright.papers.window import Window, fitted, scale_words

DRAWN_FROM = ("site.ground", "shape.shore", "lining.area", "lining.layout", "lining.order")
"""Stages without whose results there is no panel plan."""

AROUND = 0.3  # m of ground shown around the pieces
WORDS_MM, GAP_MM = 91.0, 3.0  # width of each of the two columns of words, and what is free on their sides
TEXT_MM = 2.4
NAME_MM, SIZE_MM = 4.2, 2.8
TAPE_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)

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

Points = NDArray[np.float64]


def panel_sheets(material: Material) -> Iterator[Sheet]:
    """Draw the panel plans of a job.

    Parameters
    ----------
    material : Material
        Needs the results of `DRAWN_FROM`; edges are told once `lining.rim` has an answer, and what is
        proved once the cover check has.

    Yields
    ------
    Sheet
        A3, or 11 x 17 in where feet are shown, one for each liner, the largest first.
    """
    orders = material.result("lining.order").liners
    for number, name in enumerate(sorted(orders, key=lambda one: -orders[one].ordered_area), start=1):
        yield _sheet(material, name, "panel-plan" if number == 1 else f"panel-plan-{number}")


def _sheet(material: Material, name: str, called: str) -> Sheet:
    job, order = material.job, material.result("lining.order").liners[name]
    paper = margin.A3 if job.shown_units == "metric" else margin.TABLOID
    drawing = Drawing(paper.width_mm, paper.height_mm)
    words_mm = 2 * WORDS_MM + GAP_MM
    window = fitted(
        _extent(material, name),
        MARGIN_MM,
        MARGIN_MM,
        paper.width_mm - 2 * MARGIN_MM - words_mm,
        paper.height_mm - 2 * MARGIN_MM - TITLE_MM,
        job.shown_units,
        margin.SCALE_BAR_MM,
    )
    _map(drawing, window, material, name)
    _words(drawing, window, material, name)
    row = job.lining.liners.get(name)
    title = f"Panel plan: {(row.name if row is not None else '') or f'liner of {name}'}"
    cells = (
        ("order", WHEN[order.ordered].partition(":")[0]),
        ("scale", scale_words(window.scale, job.shown_units)),
        ("paper", paper.name),
    )
    margin.title_strip(drawing, title, job.name, cells, material.note)
    return drawing.sheet(called, f"{title}, {job.name}")


# --- the map ---------------------------------------------------------------------------------------


def ordered_corners(piece: Any) -> Points:
    """Corners of a piece as large as it is ordered, about its middle on the plan.

    Parameters
    ----------
    piece : OrderPiece

    Returns
    -------
    (4, 2) array     [m]
    """
    middle = piece.corners.mean(axis=0)
    along = np.array([math.cos(piece.turned), math.sin(piece.turned)])
    across = np.array([-along[1], along[0]])
    half = 0.5 * np.array([piece.length, piece.width])
    return np.array(
        [middle + x * half[0] * along + y * half[1] * across for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    )


def _extent(material: Material, name: str) -> tuple[float, float, float, float]:
    order = material.result("lining.order").liners[name]
    rings = [ring for body in order.bodies for ring in material.result("shape.shore").bodies[body].rings]
    found = np.vstack([*(ordered_corners(piece) for piece in order.pieces.values()), *rings])
    low, high = found.min(axis=0) - AROUND, found.max(axis=0) + AROUND
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _map(drawing: Drawing, window: Window, material: Material, name: str) -> None:
    job, order = material.job, material.result("lining.order").liners[name]
    layout = material.result("lining.layout").liners[name]
    shore = material.result("shape.shore")
    ground_map.keep_marks_clear(drawing, window)
    design_map.keep_frame_clear(drawing, window)
    for body in order.bodies:
        design_map.waterlines(drawing, window, shore.grid, shore.bodies[body])
    for piece in order.pieces.values():
        corners = ordered_corners(piece)
        ground_map.lines(drawing, window, np.vstack([corners, corners[:1]]), "liner_piece")
    _overlaps(drawing, window, order)
    for line in layout.edge:
        ground_map.lines(drawing, window, np.vstack([line, line[:1]]), "liner")
    for body in order.bodies:
        design_map.shorelines(drawing, window, shore.bodies[body])
        _trenches(drawing, window, material, body)
    _guards(drawing, window, material)
    for tape in order.tapes.values():
        ground_map.lines(drawing, window, tape.line, "tape")
    _marks(drawing, window, order)
    _sizes(drawing, window, material, order)
    for number, tape in enumerate(order.tapes.values(), start=1):
        _tape_words(drawing, window, tape.line, f"T{number} {material.told(tape.predicted)}")
    for body in order.bodies:
        _pegs(drawing, window, material, body)
    ground_map.north_and_scale(drawing, window, job)


def _overlaps(drawing: Drawing, window: Window, order: Any) -> None:
    """Each seam as a band as wide as its overlap, never thinner than a pen can show."""
    for joint in order.joints:
        on_paper = window.to_paper(np.asarray(joint.line))
        wide = max(joint.overlap * window.mm, 0.6)
        band = shapely.LineString(on_paper).buffer(0.5 * wide, cap_style="flat").intersection(window.box())
        for part in shapely.get_parts(band):
            if part.geom_type == "Polygon":
                drawing.line(shapely.get_coordinates(part.exterior), "liner_seam", closed=True)


def _trenches(drawing: Drawing, window: Window, material: Material, body: str) -> None:
    """Where the liner ends in a trench, as a broken line on the outer side of the shore."""
    rim = material.result("lining.rim")
    found = {} if rim is None or body not in rim.bodies else rim.bodies[body].stretches
    for edge in found.values():
        if edge.detail == "anchor":
            for line in edge.lines:
                ground_map.lines(drawing, window, np.asarray(line), "crest")


def _guards(drawing: Drawing, window: Window, material: Material) -> None:
    rim = material.result("lining.rim")
    for guard in () if rim is None else rim.guards.values():
        ground_map.lines(drawing, window, np.asarray(guard.line), f"guard_{guard.kind}")


def _marks(drawing: Drawing, window: Window, order: Any) -> None:
    """Pipes through the liner as rings with B1, B2, patches as squares at their true size."""
    for number, boot in enumerate(order.boots.values(), start=1):
        x, y = window.to_paper(np.array(boot.place))
        radius = max(0.5 * boot.diameter * window.mm, 0.9)
        drawing.circle(x, y, radius, fill=PAPER)
        drawing.circle(x, y, 0.3, fill=INK)
        drawing.keep_clear(x - radius, y - radius, x + radius, y + radius)
        design_map.beside(drawing, window, np.array(boot.place), f"B{number}", 2.6 + radius)
    placed = [one for one in order.patches.values() if one.place is not None]
    for patch in placed:
        x, y = window.to_paper(np.array(patch.place))
        half = max(0.5 * patch.size * window.mm, 0.8)
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half + [x, y]
        drawing.line(corners, "thin", closed=True)


def _sizes(drawing: Drawing, window: Window, material: Material, order: Any) -> None:
    """Name of each piece in its middle, its length along one long side, its width along one short side."""
    several = len(order.pieces) > 1
    for name, piece in order.pieces.items():
        corners = window.to_paper(ordered_corners(piece))
        middle = corners.mean(axis=0)
        length = f"{name}: {material.told(piece.length)} long" if several else material.told(piece.length)
        _along(drawing, corners[0], corners[1], middle, length, SIZE_MM)
        _along(drawing, corners[1], corners[2], middle, f"{material.told(piece.width)} wide", SIZE_MM)
        if not several:
            _along(drawing, corners[3], corners[2], middle, f"piece {name}, {length} long", SIZE_MM)


def _along(drawing: Drawing, start: Points, end: Points, middle: Points, words: str, size_mm: float) -> None:
    """Words along a side of a piece, inside it, where there is room."""
    turn = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    upright = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn <= -90.0 else turn
    side = 0.5 * (start + end)
    inward = (middle - side) / max(float(np.hypot(*(middle - side))), 1e-9)
    for share in (0.5, 0.35, 0.65, 0.2, 0.8):
        for off in (2.2, -2.2, 4.4):
            x, y = start + share * (end - start) + off * inward
            if drawing.label(float(x), float(y), words, size_mm, turn=upright):
                return


def _tape_words(drawing: Drawing, window: Window, line: Points, words: str) -> None:
    on_paper = shapely.LineString(window.to_paper(np.asarray(line)))
    for share in TAPE_SHARES:
        at = on_paper.interpolate(share, normalized=True)
        near = on_paper.interpolate(share + 0.01, normalized=True)
        turn = math.degrees(math.atan2(near.y - at.y, near.x - at.x))
        upright = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn <= -90.0 else turn
        if drawing.label(at.x, at.y, words, 2.4, turn=upright):
            return


def _pegs(drawing: Drawing, window: Window, material: Material, body: str) -> None:
    """Pegs of the outer shore, where the water lies on site, with their names."""
    pegs = material.job.shape.bodies[body].outline.curve.pegs
    places = [window.to_paper(np.array([peg.east, peg.north])) for peg in pegs]
    for x, y in places:
        drawing.circle(x, y, 0.5, fill=PAPER)
    for peg, (x, y) in zip(pegs, places, strict=True):
        ground_map.beside(drawing, window, x, y, peg.id)


# --- the words -------------------------------------------------------------------------------------


def _words(drawing: Drawing, window: Window, material: Material, name: str) -> None:
    left, top = window.left_mm + window.width_mm, window.top_mm
    bottom = top + window.height_mm
    drawing.line(np.array([[left, top], [left, bottom]]), "frame")
    first = Column(drawing, left + GAP_MM, WORDS_MM - GAP_MM, top)
    second = Column(drawing, left + WORDS_MM + GAP_MM, WORDS_MM - GAP_MM, top)
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
    column.row("sheet", (item.name or order.membrane) if item is not None else order.material)
    column.row("area to order", told(order.ordered_area, AREA))
    column.row("true area of the ground", told(material.result("lining.area").liners[name].area, AREA))
    column.row("mass", told(order.mass, MASS, 0))
    cover, proved = material.result("lining.cover"), material.result("lining.proved")
    if order.form == "rolls" and cover is not None and name in cover.liners:
        one = cover.liners[name]
        column.row("cover check: strips by the proof", f"{one.count}, {told(one.ordered_area, AREA)}")
    elif proved is not None and name in proved.liners:
        one = proved.liners[name]
        size = f"{told(one.length)} × {told(one.width)}"
        column.row("cover check: a piece is proved at", size)
        if not one.covers:
            column.paragraph("ORDER THE PROVED SIZE: the one by tapes is smaller.", size_mm=2.6)
    elif cover is not None and name in cover.liners:
        one = cover.liners[name]
        column.row("cover check: a piece is proved at", f"{told(one.length)} × {told(one.width)}")
    else:
        column.row("cover check", "not run yet: run it before you order")
    fabrics = order.cushion
    column.row("fabric below and above, in all", told(fabrics.area, AREA))
    for side, words in ((fabrics.below, "below"), (fabrics.above, "above")):
        if side is not None:
            needed, has = told(side.needed, AREAL_MASS), told(side.has, AREAL_MASS)
            column.row(f"cushion {words}: needed, in the build-up", f"{needed}, {has}")


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
        column.row("seams; tape or weld to buy", f"{told(order.seams)}; {told(order.tape)}")
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
        words = (row.name or name) if row is not None else ("proposed, " + name.rpartition("_")[2])
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
            f"B{number} {row.name or name}: pipe {told(boot.diameter)}{deep}, "
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
