"""The grading plan: old and new ground, shoreline, what is dug and what is placed, at true scale."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, COUNT, ELEVATION, LENGTH, SOIL_VOLUME, VOLUME, Kind
from pondwright.base.units import format_value
from pondwright.geometry.contour import contours
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.document import Job
from pondwright.papers import design_map, ground_map, margin, water_map
from pondwright.papers.cuts import cuts_of
from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.ground_map import LABEL_MM, SMALL_MM
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, TITLE_MM, Column
from pondwright.papers.window import Window, contour_interval, fitted, scale_words
from pondwright.rooms.shape.profile import Profile

SHELF_WIDTH, SHELF_SLOPE = 0.3, 0.1  # a shelf is at least so wide [m] and falls no steeper [m/m]

AROUND = 3.0  # m of ground shown around what changes
SMALLEST_WITH_HEIGHTS = 250.0  # scale below which the heights of shots only hide the design
GUESSED = 3  # code of ground that no shot tells

DRAWN_FROM = ("site.ground", "shape.shore", "shape.grading", "shape.storage", "earth.subgrade", "earth.soil")
"""Stages without whose results there is no grading plan."""

LEGEND = (
    ("line", "shoreline", "shoreline at the water level"),
    ("line", "crest", "bank crest, outer edge"),
    ("line", "existing_index", "existing ground"),
    ("line", "design_index", "finished ground"),
    ("hatch", "dig", "dig"),
    ("dots", "placed", "place soil"),
    ("line", "stream", "where it runs over to"),
    ("line", "survey_limit", "edge of what was surveyed"),
    ("peg", "", "peg of the shoreline, with its name"),
    ("shot", "", "shot, with its height where there is room"),
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
        _changed_extent(job, results),
        MARGIN_MM,
        MARGIN_MM,
        paper.width_mm - 2 * MARGIN_MM - COLUMN_MM,
        paper.height_mm - 2 * MARGIN_MM - TITLE_MM,
        job.shown_units,
        margin.SCALE_BAR_MM,
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
    ground_map.keep_marks_clear(drawing, window)
    design_map.keep_frame_clear(drawing, window)
    design_map.moved_soil(drawing, window, grid, ground.z, results["earth.subgrade"].z)
    for body in shore.bodies.values():
        design_map.waterlines(drawing, window, grid, body)
    both = np.stack([ground.z, grading.z])
    steps = contour_interval(float(both.min()), float(both.max()), job.shown_units)
    changed = np.abs(grading.z - ground.z) > 0.005
    labels = [
        *ground_map.contour_lines(
            drawing, window, job.shown_units, grid, ground.z, ground.known != GUESSED, "existing", steps
        ),
        *ground_map.contour_lines(
            drawing, window, job.shown_units, grid, grading.z, changed, "design", steps
        ),
    ]
    for edge in ground.tin.points[ground.tin.boundary]:
        ground_map.lines(drawing, window, edge, "survey_limit")
    water_map.pipes(drawing, window, job, water_map.NEW)
    for name, body in shore.bodies.items():
        design_map.shorelines(drawing, window, body)
        _crest(drawing, window, grid, body, grading.bodies[name].bank, ground.z, grading.z)
    design_map.ways(drawing, window, job)
    design_map.section_marks(drawing, window, cuts_of(job, results))
    for name, body in shore.bodies.items():
        if body.stream is None:
            _deepest(drawing, window, job, name, grid, body, grading.z)
        design_map.falls(drawing, window, job.shown_units, body)
    design_map.low_spots(drawing, window, job, grid, shore.bodies, grading.z)
    design_map.mounds(drawing, window, job)
    design_map.seats(drawing, window, job)
    for name in shore.bodies:
        _pegs(drawing, window, job, name)
    if results.get("shape.meeting") is not None:
        design_map.overflow(drawing, window, results["shape.meeting"])
    design_map.way_marks(drawing, window, job)
    profiles = results.get("groundwater.profiles")
    lines = {} if profiles is None else profiles.lines
    water_map.drains(drawing, window, job, lines, water_map.NEW)
    ground_map.bounds(drawing, window, job)
    ground_map.things(drawing, window, job)
    ground_map.write(drawing, labels)
    ground_map.marks(drawing, window, job)
    heights = window.scale <= SMALLEST_WITH_HEIGHTS
    ground_map.shots(
        drawing, window, job.shown_units, ground.shots.points, ground.shots.elevations, heights=heights
    )
    ground_map.north_and_scale(drawing, window, job)


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
    column.heading("Legend")
    own = [*design_map.way_legend(job), *ground_map.symbol_words(job), *water_map.legend(read=False)]
    margin.legend(column, [*LEGEND, *own])
    column.gap(3.0)
    column.paragraph(margin.CAUTION)
    if job.shape.ways and column.has_room(20.0, bottom):
        column.heading("Ways")
        for mark, words in design_map.way_rows(job):
            if not column.has_room(8.0, bottom - 4.0):
                column.paragraph("The others stand on the page.")
                break
            column.paragraph(words, mark=mark)
    if column.has_room(34.0, bottom):
        column.heading("Checks")
        margin.check_lines(column, findings, job.shown_units, 6, bottom - 4.0)


def _numbers(job: Job, results: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    def told(value: float, kind: Kind) -> str:
        return format_value(value, kind, job.shown_units)

    shore, storage, soil = results["shape.shore"], results["shape.storage"], results["earth.soil"]
    several = len(shore.bodies) > 1
    for name, body in shore.bodies.items():
        held = storage.bodies[name]
        called = job.shape.bodies[name].name or name
        yield f"{called}: water level", told(body.level, ELEVATION)
        facts = (
            ("area of the water", told(body.area, AREA)),
            ("water held", told(held.volume, VOLUME)),
            ("greatest depth", told(held.greatest_depth, LENGTH)),
        )
        profile = results["shape.grading"].bodies[name].profile
        heights = [("crest", body.crest_level)]
        heights += [("shelf", body.level - depth) for depth in shelves(profile)]
        if several:
            yield "  " + ", ".join(value for _words, value in facts) + " deep", ""
            if body.stream is None:
                yield "  " + ", ".join(f"{words} {told(value, ELEVATION)}" for words, value in heights), ""
            continue
        yield from ((words, told(value, ELEVATION)) for words, value in heights)
        yield from facts
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


def shelves(profile: Profile) -> list[float]:
    """Depths of what a bank has of shelves, outermost first, as they are dug. [m]"""
    widths, falls = np.diff(profile.knots), np.diff(profile.depths)
    level = (widths >= SHELF_WIDTH) & (falls <= SHELF_SLOPE * widths)
    return [
        float(depth + profile.heights[profile.risers <= knot + 1e-9].sum())
        for knot, depth in zip(profile.knots[:-1][level], profile.depths[:-1][level], strict=True)
    ]


def _levels(job: Job, results: Mapping[str, Any]) -> str:
    """Level of the one water; of several that of the largest by its name: all stand among the numbers."""
    bodies = results["shape.shore"].bodies
    if not bodies:
        return "none"
    largest = max(bodies, key=lambda name: bodies[name].area)
    level = format_value(bodies[largest].level, ELEVATION, job.shown_units)
    return level if len(bodies) == 1 else f"{job.shape.bodies[largest].name or largest} {level}"


def _changed_extent(job: Job, results: Mapping[str, Any]) -> tuple[float, float, float, float]:
    """Extent of everything that the design changes, with some ground around; the survey where none is."""
    ground, shore = results["site.ground"], results["shape.shore"]
    grid: Grid = ground.grid
    changed = np.abs(results["shape.grading"].z - ground.z) > 0.005
    rows, columns = np.nonzero(changed)
    if len(rows):
        east = grid.east[columns]
        north = grid.north[rows]
    else:
        places = [ring for body in shore.bodies.values() for ring in body.rings] or [ground.tin.points]
        east, north = np.vstack(places).T
    for line in water_map.extent(job, water_map.NEW):
        east, north = np.append(east, line[:, 0]), np.append(north, line[:, 1])
    return (
        float(east.min()) - AROUND,
        float(north.min()) - AROUND,
        float(east.max()) + AROUND,
        float(north.max()) + AROUND,
    )


def _crest(
    drawing: Drawing,
    window: Window,
    grid: Grid,
    body: Any,
    bank: Any,
    ground: NDArray[np.float64],
    finish: NDArray[np.float64],
) -> None:
    """Outer edge of the crest, where soil is placed for it: ground that is as high anyway has none."""
    outer = bank.freeboard * bank.slope_in + bank.crest_width
    for _offset, lines in contours(body.distance, grid, [-outer]):
        for line in lines:
            placed = surface_at(finish, grid, line) - surface_at(ground, grid, line) > design_map.SEEN / 2
            on_bank = placed & (
                np.abs(surface_at(finish, grid, line) - body.crest_level) < 2 * design_map.SEEN
            )
            for run in np.split(np.arange(len(line)), np.flatnonzero(np.diff(on_bank)) + 1):
                if on_bank[run[0]] and len(run) > 1:
                    ground_map.lines(drawing, window, line[run], "crest")


def _pegs(drawing: Drawing, window: Window, job: Job, body: str) -> None:
    curves = [job.shape.bodies[body].outline.curve, *job.shape.bodies[body].islands.values()]
    pegs = [(peg, window.to_paper(np.array([peg.east, peg.north]))) for curve in curves for peg in curve.pegs]
    for _peg, (x, y) in pegs:
        drawing.circle(x, y, 0.7, fill="#FFFFFF")
        drawing.keep_clear(x - 0.8, y - 0.8, x + 0.8, y + 0.8)
    for peg, (x, y) in pegs:
        drawing.label(x, y - 2.2, peg.id, SMALL_MM)


def _deepest(
    drawing: Drawing, window: Window, job: Job, name: str, grid: Grid, body: Any, finish: NDArray[np.float64]
) -> None:
    """Name, floor and depth of a body, written at its middle: the place farthest from the shore."""
    row, column = np.unravel_index(int(np.argmax(body.distance)), body.distance.shape)
    x, y = window.to_paper(np.array([grid.east[column], grid.north[row]]))
    floor = float(finish[row, column])
    depth = format_value(body.level - floor, LENGTH, job.shown_units)
    drawing.label(x, y - 3.4, job.shape.bodies[name].name or name, LABEL_MM)
    drawing.label(x, y, f"floor {format_value(floor, ELEVATION, job.shown_units)}", LABEL_MM)
    drawing.label(x, y + 3.4, f"{depth} deep", LABEL_MM)


def _box(x0: float, y0: float, x1: float, y1: float) -> NDArray[np.float64]:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
