"""What all plans of a site share: contours, shots, things, services, lines not to cross, marks and photos.

Services are told apart by a letter along the line, lines not to cross and photos by a number that the
tables of the site report repeat, so that a plan can be read without colour.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import ELEVATION
from pondwright.base.units import Shown, format_value
from pondwright.geometry.contour import contours
from pondwright.geometry.grid import Grid
from pondwright.job.curves import ring_of
from pondwright.job.document import Job
from pondwright.job.log import PhotoEntry
from pondwright.job.places import LinePlace, Place, PointPlace, RingPlace
from pondwright.job.site import Bound, Thing
from pondwright.papers import margin
from pondwright.papers.drawing import INK, PAPER, Drawing
from pondwright.papers.margin import MUTED
from pondwright.papers.symbols import line_symbols
from pondwright.papers.type_width import text_width
from pondwright.papers.window import Window

LABEL_MM = 2.6
SMALL_MM = 2.0
LABEL_DIGITS = 2  # index contours may stand a quarter of a metre apart
OFF_LEVEL = 0.0005  # m above its level that a contour is drawn, so that a level floor has an edge
INKS = {"existing": "#7A6248", "design": INK}
LETTER_EVERY_MM = 30.0

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Label:
    """A label that waits until all lines are down: middle on paper, words, turn, ink."""

    x: float
    y: float
    words: str
    turn: float
    ink: str


def lines(drawing: Drawing, window: Window, line: Points, symbol: str) -> None:
    """Draw the part of a line on site that lies inside the window."""
    for piece in window.clipped(line):
        drawing.line(piece, symbol)


def write(drawing: Drawing, labels: Iterable[Label]) -> None:
    """Write labels where nothing stands yet."""
    for label in labels:
        drawing.label(label.x, label.y, label.words, LABEL_MM, turn=label.turn, ink=label.ink)


def contour_lines(
    drawing: Drawing,
    window: Window,
    shown: Shown,
    grid: Grid,
    z: Points,
    mask: NDArray[np.bool_] | None,
    which: str,
    steps: tuple[float, int],
) -> Iterator[Label]:
    """Draw contours, ``existing`` or ``design``; give the labels of the index lines."""
    interval, every = steps
    numbers = range(int(np.ceil(z.min() / interval)), int(np.floor(z.max() / interval)) + 1)
    for number in numbers:
        level = number * interval
        index = number % every == 0
        words = format_value(level, ELEVATION, shown, digits=LABEL_DIGITS)
        for _level, found in contours(z, grid, [level + OFF_LEVEL], mask):
            for line in found:
                for piece in window.clipped(_eased(line, grid.spacing)):
                    drawing.line(piece, f"{which}_{'index' if index else 'contour'}")
                    if index and _length(piece) > 12.0:
                        x, y, turn = _at(piece, _length(piece) / 2)
                        yield Label(x, y, words, turn, INKS[which])


def things(drawing: Drawing, window: Window, job: Job) -> None:
    """Existing things: trees as crowns, services as lines with their letter, the rest as marks."""
    for thing in job.site.things.values():
        if isinstance(thing.place, PointPlace):
            _thing_at(drawing, window, thing, thing.place)
        else:
            _line_thing(drawing, window, thing)


def bounds(drawing: Drawing, window: Window, job: Job) -> None:
    """Lines not to cross, each with its number."""
    for number, bound in enumerate(job.site.bounds.values(), start=1):
        line = line_of(bound.place)
        if isinstance(bound.place, PointPlace):
            around = shapely.Point(bound.place.east, bound.place.north).buffer(max(bound.clear, 0.3))
            line = shapely.get_coordinates(around.exterior)
        if line is None:
            continue
        lines(drawing, window, line, bound_symbol(bound))
        for piece in window.clipped(line):
            if _length(piece) > 8.0:
                x, y, turn = _at(piece, _length(piece) * 0.3)
                drawing.label(x, y, f"L{number}", SMALL_MM, turn=turn)
                break


def shots(
    drawing: Drawing,
    window: Window,
    shown: Shown,
    points: Points,
    elevations: Points,
    *,
    heights: bool = True,
) -> None:
    """Shots on the ground as dots, with their heights where nothing else stands."""
    inside = window.box()
    for (x, y), elevation in zip(window.to_paper(points), elevations, strict=True):
        if shapely.contains_xy(inside, x, y):
            drawing.circle(x, y, 0.25, fill=MUTED, ink=MUTED)
            if heights:
                height = format_value(float(elevation), ELEVATION, shown, digits=2)
                drawing.label(x, y + 1.9, height.split()[0], SMALL_MM, ink=MUTED)


def marks(drawing: Drawing, window: Window, job: Job) -> None:
    """Benchmarks as triangles, with name and height."""
    for name, mark in job.site.marks.items():
        if mark.place is None:
            continue
        x, y = _on_paper(window, mark.place)
        if not shapely.contains_xy(window.box(), x, y):
            continue
        triangle = np.array([[x, y - 1.5], [x + 1.4, y + 1.0], [x - 1.4, y + 1.0]])
        drawing.line(triangle, "thing", closed=True)
        drawing.circle(x, y + 0.1, 0.25, fill=INK)
        drawing.keep_clear(x - 1.6, y - 1.6, x + 1.6, y + 1.2)
        height = (
            "" if mark.elevation is None else f" {format_value(mark.elevation, ELEVATION, job.shown_units)}"
        )
        beside(drawing, window, x, y, f"{name}{height}")


def probes(drawing: Drawing, window: Window, job: Job) -> None:
    """Pits as squares, bores as circles with a cross, rods as small crosses; pits and bores with their id."""
    for name, probe in job.site.probes.items():
        x, y = _on_paper(window, probe.place)
        if not shapely.contains_xy(window.box(), x, y):
            continue
        reach = 0.6 if probe.how == "rod" else 1.1
        if probe.how == "pit":
            corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * reach + [x, y]
            drawing.line(corners, "thing", closed=True)
        else:
            drawing.line(np.array([[x - reach, y], [x + reach, y]]), "thin")
            drawing.line(np.array([[x, y - reach], [x, y + reach]]), "thin")
        if probe.how == "bore":
            drawing.circle(x, y, reach)
        if probe.how != "rod":
            drawing.keep_clear(x - reach, y - reach, x + reach, y + reach)
            beside(drawing, window, x, y, name)


def photos(drawing: Drawing, window: Window, numbered: Sequence[tuple[int, PhotoEntry]]) -> None:
    """Where each photo was taken and which way it looks, with its number."""
    for number, photo in numbered:
        if photo.place is None:
            continue
        x, y = window.to_paper(np.array([photo.place.east, photo.place.north]))
        if not shapely.contains_xy(window.box(), x, y):
            continue
        drawing.circle(x, y, 0.9, fill=INK)
        if photo.bearing is not None:
            tip = np.array([x + 5.0 * math.sin(photo.bearing), y - 5.0 * math.cos(photo.bearing)])
            drawing.line(np.array([[x, y], tip]), "thing")
            for turn in (2.7, -2.7):
                barb = tip + 1.6 * np.array([math.sin(photo.bearing + turn), -math.cos(photo.bearing + turn)])
                drawing.line(np.array([tip, barb]), "thing")
        beside(drawing, window, x, y, f"P{number}")


def spot(drawing: Drawing, window: Window, place: tuple[float, float], words: str) -> None:
    """A small cross on a place that is told about, such as the lowest place of a rim."""
    x, y = window.to_paper(np.array(place))
    if shapely.contains_xy(window.box(), x, y):
        for turn in (1.0, -1.0):
            drawing.line(np.array([[x - 1.2, y - 1.2 * turn], [x + 1.2, y + 1.2 * turn]]), "design_index")
        beside(drawing, window, x, y, words)


def keep_marks_clear(drawing: Drawing, window: Window) -> None:
    """No label under the north arrow or the scale bar."""
    left, top, bottom = window.left_mm, window.top_mm, window.top_mm + window.height_mm
    drawing.keep_clear(left, top, left + 24, top + 30)
    drawing.keep_clear(left, bottom - 14, left + 150, bottom)


def north_and_scale(drawing: Drawing, window: Window, job: Job) -> None:
    """The arrow to true north and the scale bar, in their corners of the window."""
    north = float(job.site.frame.true_north or 0.0)
    # Paper under both, so that no line of the plan runs through them.
    x, y, bottom = window.left_mm, window.top_mm, window.top_mm + window.height_mm
    width = margin.scale_bar_width(window, job.shown_units)
    for x0, y0, x1, y1 in ((x + 6, y + 2, x + 18, y + 22), (x + 4, bottom - 12.5, x + 8 + width, bottom - 3)):
        drawing.area([np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])], PAPER)
    margin.north_arrow(drawing, window.left_mm + 12, window.top_mm + 16, north)
    margin.scale_bar(drawing, window.left_mm + 8, bottom - 7, window, job.shown_units)


def line_of(place: Place) -> Points | None:
    """Line or closed ring of a place on site [m]; None where it has none of its own."""
    if isinstance(place, LinePlace):
        return np.array([[one.east, one.north] for one in place.points])
    if isinstance(place, RingPlace):
        ring = ring_of(place.curve).points
        return np.vstack([ring, ring[:1]])
    return None


def service_symbol(thing: Thing) -> str:
    """Symbol of what lies in the ground; of anything else that is drawn as a line, a plain one."""
    if thing.kind == "utility":
        return f"service_{thing.service or 'other'}"
    return "service" if thing.kind == "pipe" else "thing"


def bound_symbol(bound: Bound) -> str:
    """Symbol of a line not to cross."""
    return "not_to_cross" if bound.kind == "other" else bound.kind


def symbol_words(job: Job) -> list[tuple[str, str, str]]:
    """Legend of the services and lines not to cross that a job has: mark, symbol, words."""
    services = [
        service_symbol(thing) for thing in job.site.things.values() if line_of(thing.place) is not None
    ]
    kinds = [bound_symbol(bound) for bound in job.site.bounds.values()]
    table = line_symbols()
    return [
        ("line", name, table[name].words + (f", {table[name].letter}" if table[name].letter else ""))
        for name in dict.fromkeys([*kinds, *(one for one in services if one != "thing")])
    ]


def _line_thing(drawing: Drawing, window: Window, thing: Thing) -> None:
    line = line_of(thing.place)
    if line is None:
        return
    symbol = service_symbol(thing)
    buried = symbol != "thing"
    lines(drawing, window, line, symbol)
    letter = line_symbols()[symbol].letter
    for piece in window.clipped(line) if letter else ():
        length = _length(piece)
        for station in np.arange(min(LETTER_EVERY_MM, length) / 2, length, LETTER_EVERY_MM):
            x, y, _turn = _at(piece, float(station))
            drawing.label(x, y, letter, SMALL_MM)
    if not buried and thing.name:
        middle = shapely.LineString(line).interpolate(0.5, normalized=True)
        x, y = window.to_paper(np.array([middle.x, middle.y]))
        if shapely.contains_xy(window.box(), x, y):
            beside(drawing, window, x, y, thing.name)


def _thing_at(drawing: Drawing, window: Window, thing: Thing, place: PointPlace) -> None:
    x, y = _on_paper(window, place)
    if thing.kind == "tree" and thing.size:
        crown = shapely.Point(place.east, place.north).buffer(thing.size / 2)
        lines(drawing, window, shapely.get_coordinates(crown.exterior), "breakline")
    if shapely.contains_xy(window.box(), x, y):
        drawing.circle(x, y, 0.8)
        drawing.keep_clear(x - 0.8, y - 0.8, x + 0.8, y + 0.8)
        if thing.name:
            beside(drawing, window, x, y, thing.name)


def beside(drawing: Drawing, window: Window, x: float, y: float, words: str) -> bool:
    """Write a small label on the first free side of a mark: below, above, right, left."""
    half = text_width(words, SMALL_MM) / 2
    for dx, dy in ((0.0, 2.9), (0.0, -2.9), (half + 2.0, 0.0), (-half - 2.0, 0.0)):
        box = shapely.box(x + dx - half, y + dy - 1.1, x + dx + half, y + dy + 1.1)
        if window.box().covers(box) and drawing.label(x + dx, y + dy, words, SMALL_MM):
            return True
    return False


def _on_paper(window: Window, place: PointPlace) -> Points:
    return window.to_paper(np.array([place.east, place.north]))


def _length(line: Points) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _at(line: Points, station: float) -> tuple[float, float, float]:
    """Place along a line on paper, and its direction there in degrees, turned so that text reads upright."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    x, y = (float(np.interp(station, along, line[:, axis])) for axis in (0, 1))
    before, after = (
        np.array([np.interp(station + step, along, line[:, axis]) for axis in (0, 1)]) for step in (-2.0, 2.0)
    )
    turn = float(np.degrees(np.arctan2(after[1] - before[1], after[0] - before[0])))
    return x, y, turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn


def _eased(line: NDArray[np.float64], spacing: float) -> NDArray[np.float64]:
    """Line without the small steps that a grid leaves along upright faces; ends stay where they are.

    A running mean over one and a half cells either way: it moves a smooth line by far less than a pen.
    """
    if len(line) < 5:
        return line
    closed = bool(np.allclose(line[0], line[-1]))
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    count = max(int(along[-1] / (spacing / 2)), 4)
    stations = np.linspace(0.0, along[-1], count + 1)
    even = np.column_stack([np.interp(stations, along, line[:, axis]) for axis in (0, 1)])
    weights = np.array([1.0, 2.0, 3.0, 4.0, 3.0, 2.0, 1.0]) / 16.0
    around = (
        np.vstack([even[-4:-1], even, even[1:4]]) if closed else np.pad(even, ((3, 3), (0, 0)), "reflect")
    )
    if not closed:
        around[:3], around[-3:] = 2 * even[0] - around[:3], 2 * even[-1] - around[-3:]
    return np.column_stack([np.convolve(around[:, axis], weights, "valid") for axis in (0, 1)])
