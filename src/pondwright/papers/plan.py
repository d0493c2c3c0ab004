"""The grading plan: old and new ground, shoreline, what is dug and what is placed, at true scale."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, COUNT, ELEVATION, LENGTH, SOIL_VOLUME, VOLUME, Kind
from pondwright.base.units import format_value
from pondwright.geometry.contour import areas_above, contours
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.document import Job
from pondwright.job.places import LinePlace, PointPlace, RingPlace
from pondwright.papers import margin
from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, TITLE_MM, Column
from pondwright.papers.window import Window, contour_interval, fitted, scale_words

SEEN = 0.02  # m of digging or placing that is worth hatching
AROUND = 3.0  # m of ground shown around what changes
LABEL_MM = 2.6
SMALL_MM = 2.0
LABEL_DIGITS = 2  # index contours may stand a quarter of a metre apart
GUESSED = 3  # code of ground that no shot tells
OFF_LEVEL = 0.0005  # m above its level that a contour is drawn, so that a level floor has an edge

LEGEND = (
    ("line", "shoreline", "shoreline at the water level"),
    ("line", "crest", "bank crest, outer edge"),
    ("line", "existing_index", "existing ground"),
    ("line", "design_index", "finished ground"),
    ("hatch", "dig", "dig"),
    ("dots", "placed", "place soil"),
    ("line", "survey_limit", "edge of what was surveyed"),
    ("peg", "", "peg of the shoreline, with its name"),
    ("shot", "", "shot, with its height where there is room"),
    ("line", "boundary", "line not to cross"),
    ("line", "service", "buried service"),
)


def grading_plan(job: Job, results: Mapping[str, Any], findings: Sequence[Finding]) -> Sheet:
    """Draw the grading plan of a job.

    Parameters
    ----------
    job : Job
    results : mapping        Results by stage: `site.ground`, `shape.*`, `earth.*`.
    findings : sequence      All checks, for the column of the sheet.

    Returns
    -------
    Sheet
        A3, or 11 x 17 in where feet are shown.
    """
    paper = margin.A3 if job.shown_units == "metric" else margin.TABLOID
    drawing = Drawing(paper.width_mm, paper.height_mm)
    window = fitted(
        _changed_extent(results),
        MARGIN_MM,
        MARGIN_MM,
        paper.width_mm - 2 * MARGIN_MM - COLUMN_MM,
        paper.height_mm - 2 * MARGIN_MM - TITLE_MM,
        job.shown_units,
    )
    _map(drawing, window, job, results)
    _column(drawing, window, job, results, findings)
    cells = (
        ("scale", scale_words(window.scale, job.shown_units)),
        ("paper", paper.name),
        ("water level", _levels(job, results)),
    )
    note = "Invented example: nobody and nothing in it is real." if job.demo else ""
    margin.title_strip(drawing, "Grading plan", job.name, cells, note)
    return drawing.sheet("grading-plan", f"Grading plan, {job.name}")


def _map(drawing: Drawing, window: Window, job: Job, results: Mapping[str, Any]) -> None:
    """Everything inside the window, from the ground up; labels last, what matters most first."""
    ground, shore, grading = results["site.ground"], results["shape.shore"], results["shape.grading"]
    grid: Grid = ground.grid
    _keep_marks_clear(drawing, window)
    _moved_soil(drawing, window, grid, ground.z, results["earth.subgrade"].z)
    for body in shore.bodies.values():
        _water(drawing, window, grid, body)
    both = np.stack([ground.z, grading.z])
    steps = contour_interval(float(both.min()), float(both.max()), job.shown_units)
    changed = np.abs(grading.z - ground.z) > 0.005
    labels = [
        *_contours(drawing, window, job, grid, ground.z, ground.known != GUESSED, "existing", steps),
        *_contours(drawing, window, job, grid, grading.z, changed, "design", steps),
    ]
    for edge in ground.tin.points[ground.tin.boundary]:
        _lines(drawing, window, edge, "survey_limit")
    for name, body in shore.bodies.items():
        for ring in body.rings:
            _lines(drawing, window, np.vstack([ring, ring[:1]]), "shoreline")
        _crest(drawing, window, grid, body, grading.bodies[name].bank, grading.z)
        _deepest(drawing, window, job, grid, body, grading.z)
        _pegs(drawing, window, job, name)
    _things(drawing, window, job)
    for x, y, words, turn, ink in labels:
        drawing.label(x, y, words, LABEL_MM, turn=turn, ink=ink)
    _shots(drawing, window, job, ground.shots)
    margin.north_arrow(
        drawing, window.left_mm + 12, window.top_mm + 16, float(job.site.frame.true_north or 0.0)
    )
    margin.scale_bar(
        drawing, window.left_mm + 8, window.top_mm + window.height_mm - 7, window, job.shown_units
    )


def _column(
    drawing: Drawing, window: Window, job: Job, results: Mapping[str, Any], findings: Sequence[Finding]
) -> None:
    left = window.left_mm + window.width_mm
    bottom = window.top_mm + window.height_mm
    drawing.area([_box(left, window.top_mm, left + COLUMN_MM, bottom)], "#FFFFFF")
    drawing.line(np.array([[left, window.top_mm], [left, bottom]]), "frame")
    column = Column(drawing, left + 4, COLUMN_MM - 8, window.top_mm)
    column.heading("Numbers")
    for words, value in _numbers(job, results):
        column.row(words, value)
    column.heading("Checks")
    margin.check_lines(column, findings, job.shown_units, 6)
    column.heading("Legend")
    margin.legend(column, LEGEND)
    column.gap(3.0)
    column.paragraph(margin.CAUTION)


def _numbers(job: Job, results: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    def told(value: float, kind: Kind) -> str:
        return format_value(value, kind, job.shown_units)

    shore, storage, soil = results["shape.shore"], results["shape.storage"], results["earth.soil"]
    for name, body in shore.bodies.items():
        held = storage.bodies[name]
        called = job.shape.bodies[name].name or name
        yield f"{called}: water level", told(body.level, ELEVATION)
        yield "area of the water", told(body.area, AREA)
        yield "water held", told(held.volume, VOLUME)
        yield "greatest depth", told(held.greatest_depth, LENGTH)
        yield "length of the shore", told(body.length, LENGTH)
        yield "freeboard at the lowest place", told(held.freeboard_left, LENGTH)
    yield "soil dug, in the bank", told(soil.dug, SOIL_VOLUME)
    yield "soil placed, compacted", told(soil.placed, SOIL_VOLUME)
    left_over = soil.surplus_bank >= 0
    yield (
        ("left over" if left_over else "missing") + ", in the bank",
        told(abs(soil.surplus_bank), SOIL_VOLUME),
    )
    yield "truck loads", told(soil.load_count, COUNT)


def _levels(job: Job, results: Mapping[str, Any]) -> str:
    levels = [body.level for body in results["shape.shore"].bodies.values()]
    return ", ".join(format_value(level, ELEVATION, job.shown_units) for level in levels) or "none"


def _changed_extent(results: Mapping[str, Any]) -> tuple[float, float, float, float]:
    """Extent of everything that the design changes, with some ground around; the survey where none is."""
    ground, shore = results["site.ground"], results["shape.shore"]
    grid: Grid = ground.grid
    changed = np.abs(results["shape.grading"].z - ground.z) > 0.005
    rows, columns = np.nonzero(changed)
    if len(rows):
        east = grid.east[columns]
        north = grid.north[rows]
    else:
        places = [ring for body in shore.bodies.values() for ring in body.rings] or [ground.shots.points]
        east, north = np.vstack(places).T
    return (
        float(east.min()) - AROUND,
        float(north.min()) - AROUND,
        float(east.max()) + AROUND,
        float(north.max()) + AROUND,
    )


def _moved_soil(
    drawing: Drawing, window: Window, grid: Grid, ground: NDArray[np.float64], dug_to: NDArray[np.float64]
) -> None:
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


def _water(drawing: Drawing, window: Window, grid: Grid, body: Any) -> None:
    """Two thin lines along the shore, as water is drawn on maps."""
    for on_paper in (1.2, 2.6):
        for _offset, lines in contours(body.distance, grid, [on_paper / window.mm]):
            for line in lines:
                _lines(drawing, window, line, "waterlining")


def _crest(
    drawing: Drawing, window: Window, grid: Grid, body: Any, bank: Any, finish: NDArray[np.float64]
) -> None:
    """Outer edge of the crest, where there is a bank: ground that is higher anyway has none."""
    outer = bank.freeboard * bank.slope_in + bank.crest_width
    for _offset, lines in contours(body.distance, grid, [-outer]):
        for line in lines:
            on_bank = np.abs(surface_at(finish, grid, line) - body.crest_level) < 2 * SEEN
            for run in np.split(np.arange(len(line)), np.flatnonzero(np.diff(on_bank)) + 1):
                if on_bank[run[0]] and len(run) > 1:
                    _lines(drawing, window, line[run], "crest")


def _contours(
    drawing: Drawing,
    window: Window,
    job: Job,
    grid: Grid,
    z: NDArray[np.float64],
    mask: NDArray[np.bool_] | None,
    which: str,
    steps: tuple[float, int],
) -> Iterator[tuple[float, float, str, float, str]]:
    """Draw contours; give the labels of the index lines to be written when all lines are down."""
    low, high = float(z.min()), float(z.max())
    interval, every = steps
    numbers = range(int(np.ceil(low / interval)), int(np.floor(high / interval)) + 1)
    ink = {"existing": "#7A6248", "design": "#1D2A2E"}[which]
    for number in numbers:
        level = number * interval
        index = number % every == 0
        for _level, lines in contours(z, grid, [level + OFF_LEVEL], mask):
            for line in lines:
                for piece in window.clipped(_eased(line, grid.spacing)):
                    drawing.line(piece, f"{which}_{'index' if index else 'contour'}")
                    if index and _length(piece) > 12.0:
                        x, y, turn = _middle(piece)
                        yield (
                            x,
                            y,
                            format_value(level, ELEVATION, job.shown_units, digits=LABEL_DIGITS),
                            turn,
                            ink,
                        )


def _things(drawing: Drawing, window: Window, job: Job) -> None:
    """Existing things: trees as crowns, services and lines not to cross as lines, the rest as marks."""
    for thing in job.site.things.values():
        symbol = "service" if thing.kind in ("utility", "pipe") else "thing"
        place = thing.place
        if isinstance(place, LinePlace):
            _lines(drawing, window, np.array([[one.east, one.north] for one in place.points]), symbol)
        elif isinstance(place, RingPlace):
            ring = np.array([[peg.east, peg.north] for peg in place.curve.pegs])
            _lines(drawing, window, np.vstack([ring, ring[:1]]), symbol)
        elif isinstance(place, PointPlace):
            x, y = window.to_paper(np.array([place.east, place.north]))
            if not shapely.contains_xy(window.box(), x, y):
                continue
            drawing.circle(x, y, 0.8)
            if thing.name:
                drawing.label(x, y + 3.0, thing.name, SMALL_MM)


def _pegs(drawing: Drawing, window: Window, job: Job, body: str) -> None:
    curves = [job.shape.bodies[body].outline.curve, *job.shape.bodies[body].islands.values()]
    pegs = [(peg, window.to_paper(np.array([peg.east, peg.north]))) for curve in curves for peg in curve.pegs]
    for _peg, (x, y) in pegs:
        drawing.circle(x, y, 0.7, fill="#FFFFFF")
        drawing.keep_clear(x - 0.8, y - 0.8, x + 0.8, y + 0.8)
    for peg, (x, y) in pegs:
        drawing.label(x, y - 2.2, peg.id, SMALL_MM)


def _deepest(
    drawing: Drawing, window: Window, job: Job, grid: Grid, body: Any, finish: NDArray[np.float64]
) -> None:
    """Depth and elevation of the floor, written at its middle: the place farthest from the shore."""
    row, column = np.unravel_index(int(np.argmax(body.distance)), body.distance.shape)
    x, y = window.to_paper(np.array([grid.east[column], grid.north[row]]))
    floor = float(finish[row, column])
    depth = format_value(body.level - floor, LENGTH, job.shown_units)
    drawing.label(x, y, f"floor {format_value(floor, ELEVATION, job.shown_units)}", LABEL_MM)
    drawing.label(x, y + 3.4, f"{depth} deep", LABEL_MM)


def _shots(drawing: Drawing, window: Window, job: Job, shots: Any) -> None:
    """Shots on the ground as dots, with their heights where nothing else stands."""
    inside = window.box()
    for (x, y), elevation in zip(window.to_paper(shots.points), shots.elevations, strict=True):
        if shapely.contains_xy(inside, x, y):
            drawing.circle(x, y, 0.25, fill=margin.MUTED, ink=margin.MUTED)
            height = format_value(float(elevation), ELEVATION, job.shown_units, digits=2)
            drawing.label(x, y + 1.9, height.split()[0], SMALL_MM, ink=margin.MUTED)


def _lines(drawing: Drawing, window: Window, line: NDArray[np.float64], symbol: str) -> None:
    for piece in window.clipped(line):
        drawing.line(piece, symbol)


def _keep_marks_clear(drawing: Drawing, window: Window) -> None:
    """No label under the north arrow or the scale bar."""
    left, top, bottom = window.left_mm, window.top_mm, window.top_mm + window.height_mm
    drawing.keep_clear(left, top, left + 24, top + 30)
    drawing.keep_clear(left, bottom - 14, left + 150, bottom)


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


def _length(line: NDArray[np.float64]) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _middle(line: NDArray[np.float64]) -> tuple[float, float, float]:
    """Middle of a line on paper, and its direction there in degrees, turned so that text reads upright."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    middle = along[-1] / 2
    x, y = (float(np.interp(middle, along, line[:, axis])) for axis in (0, 1))
    before, after = (
        np.array([np.interp(middle + step, along, line[:, axis]) for axis in (0, 1)]) for step in (-2.0, 2.0)
    )
    turn = float(np.degrees(np.arctan2(after[1] - before[1], after[0] - before[0])))
    return x, y, turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn


def _box(x0: float, y0: float, x1: float, y1: float) -> NDArray[np.float64]:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
