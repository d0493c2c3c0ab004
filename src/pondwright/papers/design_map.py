"""What plans of the design share: moved soil, water, falls, mounds, ways, seats, low spots, sections."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import ELEVATION, LENGTH, SLOPE
from pondwright.base.units import Shown, format_value
from pondwright.geometry.contour import areas_above, contours
from pondwright.geometry.grid import Grid
from pondwright.job.curves import ring_of
from pondwright.job.document import Job
from pondwright.job.fields import value_of
from pondwright.job.places import PointPlace
from pondwright.job.shape import Way
from pondwright.papers import ground_map
from pondwright.papers.cuts import WIDTH, Cut
from pondwright.papers.drawing import INK, PAPER, Drawing
from pondwright.papers.labels import Labels
from pondwright.papers.window import Window

SEEN = 0.02  # m of digging or placing that is worth hatching
TREAD = 0.35  # m between the lines that mark steps
PLANK_MM = 1.4  # between the lines that mark a bridge or a deck
MARK_MM = 3.0
FENCE_MM, FENCE_TICK_MM = 2.5, 0.8  # between the short lines across a fence, and how far they stand out
LETTERS = ((-2.6, 0.0, 0.0), (-2.0, 2.4, 0.5), (-2.0, -2.4, 0.5), (2.0, 2.8, 1.0), (2.0, -2.8, 1.0))
"""Places of a section's letter: inward from its end and aside [mm], and what each costs."""

SPOT_MM, SPOT_COSTS = 3.0, 0.15  # between places for a name in its water, and of a millimetre off the best
SHORTEST_MM = 6.0  # of an arrow that is worth drawing

Points = NDArray[np.float64]


def keep_frame_clear(drawing: Drawing, window: Window) -> None:
    """No label across the frame of the plan."""
    left, top = window.left_mm, window.top_mm
    right, bottom = left + window.width_mm, top + window.height_mm
    wide, high = drawing.width_mm, drawing.height_mm
    for box in ((0, 0, wide, top), (0, bottom, wide, high), (0, 0, left, high), (right, 0, wide, high)):
        drawing.keep_clear(*box)


def moved_soil(drawing: Drawing, window: Window, grid: Grid, ground: Points, dug_to: Points) -> None:
    """Hatch what is dug, dot what is placed: the two are told apart without colour."""
    box = window.box()
    for difference, symbol, mark, spacing in (
        (ground - dug_to, "dig", drawing.hatch, 3.0),
        (dug_to - ground, "placed", drawing.dots, 2.2),
    ):
        areas = [
            shapely.Polygon(window.to_paper(rings[0]), [window.to_paper(hole) for hole in rings[1:]])
            for rings in areas_above(difference, grid, SEEN)
        ]
        mark(shapely.intersection(shapely.union_all(shapely.make_valid(areas)), box), symbol, spacing)


def spots_within(window: Window, rings: Sequence[Points], first: Points, apart_mm: float = SPOT_MM) -> Points:
    """Places in a water or a pile for words (n, 4), those near a first one before others; on paper [mm]."""
    area = shapely.Polygon(window.to_paper(rings[0]), [window.to_paper(hole) for hole in rings[1:]])
    area = shapely.make_valid(area).intersection(window.box())
    x0, y0, x1, y1 = area.bounds if not area.is_empty else (*first, *first)
    x, y = (one.ravel() for one in np.meshgrid(np.arange(x0, x1, apart_mm), np.arange(y0, y1, apart_mm)))
    within = shapely.contains_xy(area, x, y)
    places = np.vstack([[first], np.column_stack([x, y])[within]])
    away = np.hypot(*(places - first).T)
    return np.column_stack([places, np.zeros(len(places)), SPOT_COSTS * away])


def waterlines(drawing: Drawing, window: Window, grid: Grid, body: Any) -> None:
    """Two thin lines along the shore, as water is drawn on maps."""
    for on_paper in (1.2, 2.6):
        for _offset, lines in contours(body.distance, grid, [on_paper / window.mm]):
            for line in lines:
                ground_map.lines(drawing, window, line, "waterlining")


def shorelines(drawing: Drawing, window: Window, body: Any) -> None:
    """Edges of a body at its level."""
    for ring in body.rings:
        ground_map.lines(drawing, window, np.vstack([ring, ring[:1]]), "shoreline")


def falls(drawing: Drawing, window: Window, labels: Labels, shown: Shown, body: Any) -> None:
    """Falls of a stream as bars across it, each with its drop; and the level of each pool."""
    if body.stream is None:
        return
    corridor, reaches = body.stream.corridor, body.stream.reaches
    line = shapely.LineString(corridor.line)
    for start, drop in zip(reaches.starts[1:], np.diff(reaches.drops), strict=True):
        near = np.array(
            [shapely.get_coordinates(line.interpolate(start + step))[0] for step in (-0.05, 0.05, 0.0)]
        )
        along = (near[1] - near[0]) / max(float(np.hypot(*(near[1] - near[0]))), 1e-9)
        half = float(np.interp(start, corridor.station, corridor.half)) + 0.15
        across = np.array([-along[1], along[0]]) * half
        ground_map.lines(drawing, window, np.array([near[2] - across, near[2] + across]), "fall")
        told = f"fall {format_value(float(drop), LENGTH, shown)}"
        labels.want(window.to_paper(near[2] + across), told, gap_mm=0.6, rank=1)
    for start, end, drop in zip(reaches.starts, reaches.ends, reaches.drops, strict=True):
        middle = shapely.get_coordinates(line.interpolate((start + end) / 2))[0]
        told = f"pool {format_value(body.level - float(drop), ELEVATION, shown)}"
        labels.want(window.to_paper(middle), told, gap_mm=0.0, rank=1)


def mounds(drawing: Drawing, window: Window, labels: Labels, job: Job, grid: Grid, finish: Points) -> None:
    """Mounds: their foot, how high they are, and the height of their top."""
    east, north = np.meshgrid(grid.east, grid.north)
    for name, row in job.shape.mounds.items():
        ring = ring_of(row.place.curve).points
        ground_map.lines(drawing, window, np.vstack([ring, ring[:1]]), "crest")
        inside = shapely.contains_xy(shapely.Polygon(ring), east, north)
        if not inside.any():
            continue
        at = np.unravel_index(int(np.argmax(np.where(inside, finish, -np.inf))), finish.shape)
        told = f"{format_value(row.height, LENGTH, job.shown_units)} high"
        sides = f"sides {format_value(float(value_of(row, 'slope')), SLOPE, job.shown_units)}"
        top = f"top {format_value(float(finish[at]), ELEVATION, job.shown_units)}"
        words = ground_map.called(name, row), top, f"{told}, {sides}"
        ground_map.spot(drawing, window, labels, (float(east[at]), float(north[at])), *words)


def ways(drawing: Drawing, window: Window, job: Job) -> None:
    """Paths, bridges, decks, steps, walls and beds as wide as they are."""
    for way in job.shape.ways.values():
        _way(drawing, window, way)


def way_marks(window: Window, labels: Labels, job: Job) -> None:
    """Number of each way, at its middle; the list of ways tells what it is."""
    for number, way in enumerate(job.shape.ways.values(), start=1):
        line = ground_map.line_of(way.place)
        if line is not None:
            _way_mark(window, labels, line, f"W{number}")
        elif isinstance(way.place, PointPlace):
            place = window.to_paper(np.array([way.place.east, way.place.north]))
            labels.want(place, f"W{number}", gap_mm=MARK_MM / 2 + 0.4, rank=3, bold=True)


def _way_mark(window: Window, labels: Labels, line: Points, words: str) -> None:
    """On the longest part of a way that the plan shows, else beside it."""
    pieces = window.clipped(line)
    if not pieces:
        return
    longest = shapely.LineString(max(pieces, key=lambda piece: shapely.LineString(piece).length))
    shares = np.concatenate([[0.5], np.linspace(0.1, 0.9, 9)])
    places = [longest.interpolate(float(share), normalized=True) for share in shares]
    spots = [
        (place.x, place.y, 0.0, 4.0 * abs(share - 0.5)) for place, share in zip(places, shares, strict=True)
    ]
    labels.want(spots[0][:2], words, spots=np.array(spots), gap_mm=0.0, rank=3, most=20.0, bold=True)


def way_rows(job: Job) -> Iterator[tuple[str, str]]:
    """Number of each way, and its name, width, level and height."""
    for number, (name, way) in enumerate(job.shape.ways.items(), start=1):
        words = ground_map.called(name, way, way.kind)
        yield f"W{number}", ", ".join([words, *_way_words(way, job.shown_units)])


def way_legend(job: Job) -> Iterator[tuple[str, str, str]]:
    """Fence and light, where the job has them."""
    kinds = {way.kind for way in job.shape.ways.values()}
    if "fence" in kinds:
        yield "fence", "fence", "fence, planned"
    if "light" in kinds:
        yield "sign", "light", "light; dashes show where it is aimed"


def _way_words(way: Way, shown: Shown) -> Iterator[str]:
    if way.width is not None:
        yield f"{format_value(way.width, LENGTH, shown)} wide"
    height = value_of(way, "height")
    if way.level is not None and way.end_level is not None:
        ends = (format_value(one, ELEVATION, shown) for one in (way.level, way.end_level))
        yield "from {} to {}".format(*ends)
    elif height is None or way.level is not None:
        yield "on the ground" if way.level is None else f"at {format_value(way.level, ELEVATION, shown)}"
    if way.top is not None:
        yield f"top {format_value(way.top, ELEVATION, shown)}"
    elif height is not None:
        yield f"{format_value(height, LENGTH, shown)} high"
    if way.gates:
        yield "1 gate" if len(way.gates) == 1 else f"{len(way.gates)} gates"


def seats(drawing: Drawing, window: Window, labels: Labels, job: Job) -> None:
    """Seats, windows and stops as eyes, each with its name."""
    for name, seat in job.shape.seats.items():
        if not isinstance(seat.place, PointPlace):
            continue
        place = np.array([seat.place.east, seat.place.north])
        x, y = window.to_paper(place)
        if not shapely.contains_xy(window.box(), x, y):
            continue
        turns = np.linspace(0.0, np.pi, 13)
        for sign in (1.0, -1.0):
            lid = np.column_stack([x - 1.8 * np.cos(turns), y - sign * 1.0 * np.sin(turns)])
            drawing.line(lid, "thing")
        drawing.circle(x, y, 0.5, fill=INK)
        drawing.keep_clear(x - 1.9, y - 1.1, x + 1.9, y + 1.1)
        labels.want((x, y), ground_map.called(name, seat, seat.kind), gap_mm=2.1, rank=4)


def overflow(drawing: Drawing, window: Window, labels: Labels, meeting: Any) -> None:
    """Where each water runs over to, as an arrow along its way."""
    left, bottom = window.left_mm, window.top_mm + window.height_mm
    scale = shapely.box(left, bottom - 14, left + 150, bottom)  # the scale bar would hide its tip
    for body in meeting.bodies.values():
        path = np.asarray(body.run.path)
        if len(path) < 2:
            continue
        on_paper = shapely.LineString(window.to_paper(path)).simplify(0.8).intersection(window.box())
        parts = shapely.get_parts(on_paper.difference(scale))
        if not len(parts) or parts[0].length < SHORTEST_MM:
            continue
        piece = shapely.get_coordinates(parts[0])
        drawing.line(piece, "overflow")
        arrow_head(drawing, piece[-2], piece[-1], 2.6)
        middle = shapely.LineString(piece).interpolate(0.5, normalized=True)
        labels.want((middle.x, middle.y), "runs over this way", rank=5)


def section_marks(drawing: Drawing, window: Window, labels: Labels, cuts: Sequence[Cut]) -> None:
    """Ends of the sections with their letters, and a thin line between."""
    for cut in cuts:
        pieces = window.clipped(cut.line)
        for piece in pieces:
            drawing.line(piece, "thin")
        if not pieces:
            continue
        ends = ((pieces[0][0], pieces[0][1], cut.letter), (pieces[-1][-1], pieces[-1][-2], f"{cut.letter}′"))
        for end, inner, letter in ends:
            inward = (inner - end) / max(float(np.hypot(*(inner - end))), 1e-9)
            across = np.array([-inward[1], inward[0]])
            drawing.line(np.array([end, end + 4.0 * inward]), "frame")
            spots = [[*(end + reach * inward + side * across), 0.0, cost] for reach, side, cost in LETTERS]
            labels.want(
                end, letter, spots=np.array(spots), size_mm=MARK_MM, reach_mm=10.0, rank=0, once=False
            )


def arrow_head(drawing: Drawing, start: Points, tip: Points, size_mm: float) -> None:
    """A filled head of an arrow that comes from a start."""
    turn = math.atan2(tip[1] - start[1], tip[0] - start[0])
    corners = [
        tip,
        *(tip - size_mm * np.array([math.cos(turn + side), math.sin(turn + side)]) for side in (0.4, -0.4)),
    ]
    drawing.area([np.array(corners)], INK)
    low, high = np.min(corners, axis=0), np.max(corners, axis=0)
    drawing.keep_clear(float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _way(drawing: Drawing, window: Window, way: Way) -> None:
    line = ground_map.line_of(way.place)
    if line is None:
        _light(drawing, window, way)
        return
    if way.kind == "wall":
        ground_map.lines(drawing, window, line, "frame")
        return
    if way.kind == "fence":
        ground_map.lines(drawing, window, line, "fence")
        on_paper = shapely.LineString(window.to_paper(line))
        around = shapely.intersection(on_paper.buffer(FENCE_TICK_MM, cap_style="flat"), window.box())
        if not around.is_empty:
            _rungs(drawing, on_paper, around, FENCE_MM)
        return
    on_paper = shapely.LineString(window.to_paper(line))
    strip = on_paper.buffer((way.width or WIDTH) * window.mm / 2, cap_style="flat")
    strip = shapely.intersection(strip, window.box())
    if strip.is_empty:
        return
    if way.kind in ("bridge", "deck"):
        drawing.area(_rings([strip]), PAPER)
    for ring in _rings([strip]):
        drawing.line(ring, "thing", closed=True)
    every = {"bridge": PLANK_MM, "deck": PLANK_MM, "steps": max(TREAD * window.mm, 1.0)}.get(way.kind)
    if every is not None:
        _rungs(drawing, on_paper, strip, every)


def _light(drawing: Drawing, window: Window, way: Way) -> None:
    """A light with its rays, and where it is aimed."""
    if way.kind != "light" or not isinstance(way.place, PointPlace):
        return
    place = np.array([way.place.east, way.place.north])
    x, y = window.to_paper(place)
    if not shapely.contains_xy(window.box(), x, y):
        return
    if way.aims_at is not None:
        aim = np.array([way.aims_at.east, way.aims_at.north])
        ground_map.lines(drawing, window, np.array([place, aim]), "light")
    drawing.sign(float(x), float(y), "light")


def _rungs(drawing: Drawing, line: shapely.LineString, strip: shapely.Geometry, every_mm: float) -> None:
    """Lines square across a strip: planks of a bridge, treads of steps."""
    for station in np.arange(every_mm, line.length, every_mm):
        ends = [shapely.get_coordinates(line.interpolate(station + step))[0] for step in (-0.1, 0.1)]
        along = (ends[1] - ends[0]) / max(float(np.hypot(*(ends[1] - ends[0]))), 1e-9)
        across = 60.0 * np.array([-along[1], along[0]])
        middle = (ends[0] + ends[1]) / 2
        for piece in shapely.get_parts(
            shapely.LineString([middle - across, middle + across]).intersection(strip)
        ):
            if piece.geom_type == "LineString" and piece.distance(shapely.Point(middle)) < 0.5:
                drawing.line(shapely.get_coordinates(piece), "thin")


def _rings(shapes: Iterable[shapely.Geometry]) -> list[Points]:
    return [
        shapely.get_coordinates(part.exterior)
        for shape in shapes
        for part in shapely.get_parts(shape)
        if part.geom_type == "Polygon"
    ]


def low_spots(
    drawing: Drawing,
    window: Window,
    labels: Labels,
    job: Job,
    grid: Grid,
    bodies: Mapping[str, Any],
    finish: Points,
) -> None:
    """Low spot of each floor that falls, with its elevation."""
    for _name, east, north, height in low_places(job, grid, bodies, finish):
        floor = format_value(height, ELEVATION, job.shown_units)
        ground_map.spot(drawing, window, labels, (east, north), f"low spot {floor}")


def low_places(
    job: Job, grid: Grid, bodies: Mapping[str, Any], finish: Points
) -> Iterator[tuple[str, float, float, float]]:
    """Lowest place of each floor that falls: whose it is, its east and north, and its elevation. [m]"""
    for name, body in bodies.items():
        if body.stream is not None or job.shape.bodies[name].floor_fall is None:
            continue
        inside = np.where(body.distance > 0.0, finish, np.inf)
        row, column = np.unravel_index(int(np.argmin(inside)), inside.shape)
        yield name, float(grid.east[column]), float(grid.north[row]), float(inside[row, column])
