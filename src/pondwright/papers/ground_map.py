"""What all plans of a site share: contours, shots, things, services, lines not to cross, marks and photos.

Services are told apart by a letter along the line, lines not to cross and photos by a number that the
tables of the site report repeat, so that a plan can be read without colour.  What is told stands in `Labels`
until all lines are down.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import ELEVATION
from pondwright.base.units import Shown, format_value
from pondwright.job.curves import ring_of
from pondwright.job.document import Job
from pondwright.job.log import PhotoEntry
from pondwright.job.places import LinePlace, Place, PointPlace, RingPlace, Row
from pondwright.job.site import Bound, Thing
from pondwright.papers import margin
from pondwright.papers.drawing import INK, PAPER, Drawing
from pondwright.papers.labels import Labels
from pondwright.papers.margin import MUTED
from pondwright.papers.symbols import line_symbols
from pondwright.papers.window import Window

LABEL_MM = 2.6
SMALL_MM = 2.0
DETAIL_DIGITS = 2  # of heights between which a foot or a metre is divided
LETTER_EVERY_MM = 30.0
GUESSED = 3  # code of ground that no shot tells
MARK_MM = 2.0  # around the place of a benchmark that is drawn

Points = NDArray[np.float64]


def lines(drawing: Drawing, window: Window, line: Points, symbol: str) -> None:
    """Draw the part of a line on site that lies inside the window."""
    for piece in window.clipped(line):
        drawing.line(piece, symbol)


def called(name: str, row: Row, kind: str = "") -> str:
    """What people call a row: its name, else the word for what it is, else its id in words."""
    return row.name or kind.replace("_", " ") or name.replace("_", " ")


def height_words(z: float, shown: Shown, digits: int | None = None) -> str:
    """A height without its unit, as it stands on a plan that tells the unit once."""
    words = format_value(float(z), ELEVATION, shown, digits=digits)
    return words.removesuffix(" m").removesuffix(" ft")


def unit_words(shown: Shown) -> str:
    """What a plan says of the heights on it."""
    return {"metric": "in m", "us": "in ft"}.get(shown, "in feet and inches")


def things(drawing: Drawing, window: Window, labels: Labels, job: Job) -> None:
    """Existing things: trees as crowns, services as lines with their letter, the rest as marks."""
    for name, thing in job.site.things.items():
        words = called(name, thing, thing.kind)
        if isinstance(thing.place, PointPlace):
            _thing_at(drawing, window, labels, thing, thing.place, words)
        else:
            _line_thing(drawing, window, labels, thing, words)


def bounds(drawing: Drawing, window: Window, labels: Labels, job: Job) -> None:
    """Lines not to cross, each with its number."""
    for number, bound in enumerate(job.site.bounds.values(), start=1):
        line = bound_line(bound)
        if line is None:
            continue
        lines(drawing, window, line, bound_symbol(bound))
        for piece in window.clipped(line):
            if _length(piece) > 8.0:
                _on(labels, piece, f"L{number}")
                break


def _on(labels: Labels, piece: Points, words: str) -> None:
    """Ask for a short mark on a line, where little else runs."""
    stations = np.linspace(0.15, 0.85, 15) * _length(piece)
    spots = [(*_at(piece, float(station))[:2], 0.0, 0.0) for station in stations]
    labels.want(spots[4][:2], words, spots=np.array(spots), reach_mm=0.0, rank=7, once=False)


def shots(
    drawing: Drawing,
    window: Window,
    labels: Labels,
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
                height = height_words(elevation, shown, DETAIL_DIGITS)
                labels.want((x, y), height, rank=9, gap_mm=0.5, reach_mm=0.0, ink=MUTED, most=4.0)


def marks(drawing: Drawing, window: Window, labels: Labels, job: Job) -> None:
    """Benchmarks as triangles, with name and height."""
    for name, mark in job.site.marks.items():
        if mark.place is None:
            continue
        x, y = _on_paper(window, mark.place)
        if not shapely.contains_xy(window.box().buffer(-MARK_MM), x, y):
            continue
        triangle = np.array([[x, y - 1.5], [x + 1.4, y + 1.0], [x - 1.4, y + 1.0]])
        drawing.line(triangle, "thing", closed=True)
        drawing.circle(x, y + 0.1, 0.25, fill=INK)
        drawing.keep_clear(x - 1.6, y - 1.6, x + 1.6, y + 1.2)
        height = "" if mark.elevation is None else format_value(mark.elevation, ELEVATION, job.shown_units)
        labels.want((x, y), called(name, mark, "benchmark"), height, gap_mm=1.8, rank=3)


def probes(drawing: Drawing, window: Window, labels: Labels, job: Job) -> None:
    """Pits as squares, bores as circles with a cross, both with their name; rods as small crosses."""
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
            labels.want((x, y), called(name, probe, probe.how), gap_mm=1.4, rank=4)


def photos(
    drawing: Drawing, window: Window, labels: Labels, numbered: Sequence[tuple[int, PhotoEntry]]
) -> None:
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
        drawing.keep_clear(x - 0.9, y - 0.9, x + 0.9, y + 0.9)
        labels.want((x, y), f"P{number}", rank=4)


def spot(
    drawing: Drawing, window: Window, labels: Labels, place: Sequence[float] | Points, *words: str
) -> None:
    """A small cross on a place that is told about, such as the lowest place of a rim."""
    x, y = window.to_paper(np.array(place))
    if shapely.contains_xy(window.box(), x, y):
        for turn in (1.0, -1.0):
            drawing.line(np.array([[x - 1.2, y - 1.2 * turn], [x + 1.2, y + 1.2 * turn]]), "design_index")
        drawing.keep_clear(x - 1.2, y - 1.2, x + 1.2, y + 1.2)
        labels.want((x, y), *words, rank=2, gap_mm=1.5)


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


def bound_line(bound: Bound) -> Points | None:
    """Line not to cross on site [m], round a point as far off as one keeps clear; None where it has none."""
    if isinstance(bound.place, PointPlace):
        around = shapely.Point(bound.place.east, bound.place.north).buffer(max(bound.clear, 0.3))
        return np.asarray(shapely.get_coordinates(around.exterior))
    return line_of(bound.place)


def service_symbol(thing: Thing) -> str:
    """Symbol of what lies in the ground; of anything else that is drawn as a line, a plain one."""
    if thing.kind == "utility":
        return f"service_{thing.service or 'other'}"
    return "service" if thing.kind == "pipe" else "thing"


def bound_symbol(bound: Bound) -> str:
    """Symbol of a line not to cross."""
    return "not_to_cross" if bound.kind == "other" else bound.kind


def symbol_words(job: Job, used: Collection[str] | None = None) -> list[tuple[str, str, str]]:
    """Legend of the services and lines not to cross that a job has, or that are drawn: mark, symbol, words.

    All services have one line and each a letter, all lines not to cross one line and each a number.
    """
    services = [
        service_symbol(thing) for thing in job.site.things.values() if line_of(thing.place) is not None
    ]
    kinds = [bound_symbol(bound) for bound in job.site.bounds.values()]
    table = line_symbols()

    def there(symbols: Sequence[str]) -> list[str]:
        return [one for one in dict.fromkeys(symbols) if used is None or one in used]

    rows = [("line", one, "line not to cross, with its number") for one in there(kinds)[:1]]
    buried = there([one for one in services if one != "thing"])
    if buried:
        plain = [one for one in buried if not table[one].letter]
        told = [f"{table[one].letter} {table[one].words}" for one in buried if table[one].letter]
        words = ", ".join([*told, *(["no letter another line"] if plain else [])])
        rows.append(("line", buried[0], f"buried: {words}"))
    return rows


def _line_thing(drawing: Drawing, window: Window, labels: Labels, thing: Thing, words: str) -> None:
    line = line_of(thing.place)
    if line is None:
        return
    symbol = service_symbol(thing)
    lines(drawing, window, line, symbol)
    letter = line_symbols()[symbol].letter
    for piece in window.clipped(line) if letter else ():
        length = _length(piece)
        for station in np.arange(min(LETTER_EVERY_MM, length) / 2, length, LETTER_EVERY_MM):
            x, y, _turn = _at(piece, float(station))
            drawing.label(x, y, letter, SMALL_MM)
    if symbol == "thing":
        pieces = window.clipped(line)
        if pieces:
            longest = max(pieces, key=_length)
            x, y, _turn = _at(longest, _length(longest) / 2)
            labels.want((x, y), words, rank=8, gap_mm=0.8)


def _thing_at(
    drawing: Drawing, window: Window, labels: Labels, thing: Thing, place: PointPlace, words: str
) -> None:
    x, y = _on_paper(window, place)
    if thing.kind == "tree" and thing.size:
        crown = shapely.Point(place.east, place.north).buffer(thing.size / 2)
        lines(drawing, window, shapely.get_coordinates(crown.exterior), "breakline")
    if shapely.contains_xy(window.box(), x, y):
        drawing.circle(x, y, 0.8)
        drawing.keep_clear(x - 0.8, y - 0.8, x + 0.8, y + 0.8)
        labels.want((x, y), words, rank=8)


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
