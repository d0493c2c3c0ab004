"""The panel plan: what is ordered of each liner, how it lies, what is taped before, and how it ends.

One sheet for each liner.  Pieces are drawn as large as they are ordered; they lie over ground that slopes, so
in the hole each reaches less far than on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.papers import design_map, ground_map, margin, panel_words
from pondwright.papers.drawing import INK, PAPER, Drawing, Sheet
from pondwright.papers.labels import Labels
from pondwright.papers.margin import MARGIN_MM, TITLE_MM, Column
from pondwright.papers.material import Material
from pondwright.papers.window import Window, fitted, scale_words

DRAWN_FROM = ("site.ground", "shape.shore", "lining.area", "lining.layout", "lining.order")
"""Stages without whose results there is no panel plan."""

AROUND = 0.3  # m of ground shown around the pieces
WORDS_MM, GAP_MM = 91.0, 3.0  # width of each of the two columns of words, and what is free on their sides
SIZE_MM = 2.8
TAPE_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)

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
    title = f"Panel plan: {(row.name if row is not None else '') or _liner_of(material, order.bodies)}"
    cells = (
        ("order", panel_words.WHEN[order.ordered].partition(":")[0]),
        ("scale", scale_words(window.scale, job.shown_units)),
        ("paper", paper.name),
    )
    margin.title_strip(drawing, title, job.name, cells, material.note)
    return drawing.sheet(called, f"{title}, {job.name}")


def _liner_of(material: Material, bodies: tuple[str, ...]) -> str:
    """A liner without a name, by its waters."""
    rows = material.job.shape.bodies
    return "liner of " + " and ".join(rows[body].name or body.replace("_", " ") for body in bodies)


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
    labels = Labels(drawing, window.box())
    _marks(drawing, window, labels, order)
    _sizes(drawing, window, material, order)
    for number, tape in enumerate(order.tapes.values(), start=1):
        _tape_words(drawing, window, tape.line, f"T{number} {material.told(tape.predicted)}")
    for body in order.bodies:
        _pegs(drawing, window, labels, material, body)
    labels.write()
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


def _marks(drawing: Drawing, window: Window, labels: Labels, order: Any) -> None:
    """Pipes through the liner as rings with B1, B2, patches as squares at their true size."""
    for number, boot in enumerate(order.boots.values(), start=1):
        x, y = window.to_paper(np.array(boot.place))
        radius = max(0.5 * boot.diameter * window.mm, 0.9)
        drawing.circle(x, y, radius, fill=PAPER)
        drawing.circle(x, y, 0.3, fill=INK)
        drawing.keep_clear(x - radius, y - radius, x + radius, y + radius)
        labels.want((x, y), f"B{number}", gap_mm=radius + 0.6, rank=1, once=False)
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


def _pegs(drawing: Drawing, window: Window, labels: Labels, material: Material, body: str) -> None:
    """Pegs of the outer shore, where the water lies on site, with their names."""
    pegs = material.job.shape.bodies[body].outline.curve.pegs
    places = [window.to_paper(np.array([peg.east, peg.north])) for peg in pegs]
    for x, y in places:
        drawing.circle(x, y, 0.5, fill=PAPER)
        drawing.keep_clear(x - 0.6, y - 0.6, x + 0.6, y + 0.6)
    for peg, place in zip(pegs, places, strict=True):
        labels.want(place, peg.id, gap_mm=0.8, rank=2, reach_mm=17.0, once=False)


# --- the words -------------------------------------------------------------------------------------


def _words(drawing: Drawing, window: Window, material: Material, name: str) -> None:
    left, top = window.left_mm + window.width_mm, window.top_mm
    bottom = top + window.height_mm
    drawing.line(np.array([[left, top], [left, bottom]]), "frame")
    first = Column(drawing, left + GAP_MM, WORDS_MM - GAP_MM, top)
    second = Column(drawing, left + WORDS_MM + GAP_MM, WORDS_MM - GAP_MM, top)
    panel_words.write(first, second, material, name, bottom)
