"""The grading plan: old and new ground, shoreline, what is dug and what is placed, at true scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.findings import Finding
from pondwright.base.kinds import ELEVATION, LENGTH
from pondwright.base.units import format_value
from pondwright.geometry.contour import contours
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.document import Job
from pondwright.papers import contour_map, design_map, dig_marks, ground_map, margin, plan_words, water_map
from pondwright.papers.cuts import cuts_of
from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.ground_map import LABEL_MM
from pondwright.papers.labels import Labels
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, TITLE_MM
from pondwright.papers.material import INVENTED
from pondwright.papers.window import Window, contour_interval, fitted, scale_words

AROUND = 2.0  # m of ground shown around what changes
BODY_MOST, BODY_LEADER = (
    90.0,
    40.0,
)  # of lines that the name of a water may lie on in it, before it is led out

DRAWN_FROM = ("site.ground", "shape.shore", "shape.grading", "shape.storage", "earth.subgrade", "earth.soil")
"""Stages without whose results there is no grading plan."""


def grading_sheets(job: Job, results: Mapping[str, Any], findings: Sequence[Finding]) -> tuple[Sheet, ...]:
    """Draw the grading plan of a job, with the sheets that go with it.

    Parameters
    ----------
    job : Job
    results : mapping        Results by stage: `site.ground`, `shape.*`, `earth.*`.
    findings : sequence      All checks.

    Returns
    -------
    tuple of Sheet
        The plan on A3, or 11 x 17 in where feet are shown; ``grading-plan-2`` and so on, half as wide, with
        where the pegs stand, the ways, the lines not to cross and the checks.
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
        margin.SCALE_BAR_MM,
    )
    unwritten = _map(drawing, window, job, results)
    plan_words.column(drawing, window, job, results, unwritten)
    cells = (
        ("scale", scale_words(window.scale, job.shown_units)),
        ("paper", paper.name),
        ("water level", plan_words.levels(job, results)),
    )
    note = INVENTED if job.demo else ""
    margin.title_strip(drawing, "Grading plan", job.name, cells, note)
    plan = drawing.sheet("grading-plan", f"Grading plan, {job.name}")
    return plan, *plan_words.setting_out(job, results, findings, note)


def _map(drawing: Drawing, window: Window, job: Job, results: Mapping[str, Any]) -> list[str]:
    """Everything inside the window, from the ground up, all words last; what of them had no room."""
    ground, shore, grading = results["site.ground"], results["shape.shore"], results["shape.grading"]
    grid: Grid = ground.grid
    labels = Labels(drawing, window.box())
    ground_map.keep_marks_clear(drawing, window)
    design_map.keep_frame_clear(drawing, window)
    design_map.moved_soil(drawing, window, grid, ground.z, results["earth.subgrade"].z)
    for body in shore.bodies.values():
        design_map.waterlines(drawing, window, grid, body)
    both = np.stack([ground.z, grading.z])
    steps = contour_interval(float(both.min()), float(both.max()), job.shown_units)
    changed = np.abs(grading.z - ground.z) > 0.005
    known = ground.known != ground_map.GUESSED
    for z, mask, which in ((ground.z, known, "existing"), (grading.z, changed, "design")):
        contour_map.contour_lines(drawing, window, labels, job.shown_units, grid, z, mask, which, steps)
    for edge in ground.tin.points[ground.tin.boundary]:
        ground_map.lines(drawing, window, edge, "survey_limit")
    water_map.pipes(drawing, window, job, water_map.NEW)
    for name, body in shore.bodies.items():
        design_map.shorelines(drawing, window, body)
        _crest(drawing, window, grid, body, grading.bodies[name].bank, ground.z, grading.z)
    design_map.ways(drawing, window, job)
    design_map.section_marks(drawing, window, labels, cuts_of(job, results))
    for name, body in shore.bodies.items():
        deepest = results["shape.storage"].bodies[name].greatest_depth
        _body(window, labels, job, name, grid, body, grading.z, deepest)
        design_map.falls(drawing, window, labels, job.shown_units, body)
        _pegs(drawing, window, labels, job, name)
    design_map.low_spots(drawing, window, labels, job, grid, shore.bodies, grading.z)
    design_map.mounds(drawing, window, labels, job, grid, grading.z)
    dig_marks.sides(drawing, window, labels, job, results)
    dig_marks.ramps(drawing, window, labels, job)
    design_map.seats(drawing, window, labels, job)
    if results.get("shape.meeting") is not None:
        design_map.overflow(drawing, window, labels, results["shape.meeting"])
    design_map.way_marks(window, labels, job)
    ground_map.bounds(drawing, window, labels, job)
    ground_map.things(drawing, window, labels, job)
    ground_map.marks(drawing, window, labels, job)
    unwritten = [wish.words[0] for wish in labels.write() if wish.reach_mm > 0.0]
    ground_map.north_and_scale(drawing, window, job)
    return unwritten


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
        places = [ring for body in shore.bodies.values() for ring in body.rings] or [ground.tin.points]
        east, north = np.vstack(places).T
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


def _pegs(drawing: Drawing, window: Window, labels: Labels, job: Job, body: str) -> None:
    curves = [job.shape.bodies[body].outline.curve, *job.shape.bodies[body].islands.values()]
    for peg in (peg for curve in curves for peg in curve.pegs):
        x, y = window.to_paper(np.array([peg.east, peg.north]))
        drawing.circle(x, y, 0.7, fill="#FFFFFF")
        drawing.keep_clear(x - 0.8, y - 0.8, x + 0.8, y + 0.8)
        labels.want((x, y), peg.id, rank=2, gap_mm=1.0, reach_mm=17.0, once=False)


def _body(
    window: Window,
    labels: Labels,
    job: Job,
    name: str,
    grid: Grid,
    body: Any,
    finish: NDArray[np.float64],
    deepest: float,
) -> None:
    """Name, water level and floor of a body, where it is widest or beside it; of a stream its name.

    A floor that falls is told from where the water is widest to its lowest place; the depth is that there.
    """
    shown, called = job.shown_units, ground_map.called(name, job.shape.bodies[name])
    row, column = np.unravel_index(int(np.argmax(body.distance)), body.distance.shape)
    place = window.to_paper(np.array([grid.east[column], grid.north[row]]))
    if body.stream is not None:
        place = window.to_paper(_between_pegs(body, job.shape.bodies[name].outline.curve.pegs))
        labels.want(place, called, rank=1, size_mm=LABEL_MM, gap_mm=0.0, bold=True)
        return
    lowest = format_value(body.level - deepest, ELEVATION, shown)
    floor = ground_map.height_words(finish[row, column], shown)
    depth = f"{format_value(deepest, LENGTH, shown)} deep"
    falls = job.shape.bodies[name].floor_fall is not None
    falls = falls and floor != ground_map.height_words(body.level - deepest, shown)
    words = (
        called,
        f"water {format_value(body.level, ELEVATION, shown)}",
        *([f"floor {floor} falling to {lowest}", depth] if falls else [f"floor {lowest}, {depth}"]),
    )
    spots = design_map.spots_within(window, body.rings, place)
    labels.want(
        place,
        *words,
        spots=spots,
        rank=0,
        size_mm=LABEL_MM,
        gap_mm=0.0,
        most=BODY_MOST,
        leader_costs=BODY_LEADER,
    )


def _between_pegs(body: Any, pegs: Sequence[Any]) -> NDArray[np.float64]:
    """Place on the middle of a stream that is farthest from its pegs, falls and middles of pools."""
    corridor, reaches = body.stream.corridor, body.stream.reaches
    line = shapely.LineString(corridor.line)
    at = [*reaches.starts, *reaches.ends, *(np.add(reaches.starts, reaches.ends) / 2)]
    marks = [*(line.interpolate(one) for one in at), *(shapely.Point(peg.east, peg.north) for peg in pegs)]
    places = shapely.line_interpolate_point(line, np.linspace(0.1, 0.9, 33), normalized=True)
    away = shapely.distance(places, shapely.MultiPoint(marks))
    return np.asarray(shapely.get_coordinates(places[int(np.argmax(away))])[0])
