"""The existing plan: the ground as found, its shots and marks, what stands and lies there, and its low rim.

The same map is a sheet of its own and, smaller, a part of the site report.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import AREA, COUNT, VOLUME
from pondwright.job.curves import ring_of
from pondwright.job.places import PointPlace
from pondwright.papers import bound_list, contour_map, ground_map, margin, water_map
from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.labels import Labels
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, TITLE_MM, Column
from pondwright.papers.material import Material
from pondwright.papers.window import Window, contour_interval, fitted, scale_words
from pondwright.rooms.site import low_rim

AROUND = 2.0  # m of ground shown around what was surveyed
NEAR = 0.35  # of the survey's size: marks and shores this far outside it are shown too
CHECKS_MM = 34.0  # of a heading and the first check below it
SMALLEST_WITH_HEIGHTS = 400.0  # scale below which the heights of shots only hide the ground

LEGEND = (
    ("line", "existing_index", "ground as found, index"),
    ("line", "existing_contour", "ground as found"),
    ("line", "shoreline", "shoreline that is wished for"),
    ("line", "survey_limit", "edge of what was surveyed"),
    ("line", "breakline", "crown of a tree"),
)
MARKS = "Triangles are benchmarks, squares pits, crosses rods, crosses in a circle bores."


def existing_plan(material: Material) -> Sheet:
    """Draw the existing plan of a job.

    Parameters
    ----------
    material : Material
        Needs the result of `site.ground`; what else is missing is left out.

    Returns
    -------
    Sheet
        A3, or 11 x 17 in where feet are shown.
    """
    job = material.job
    paper = margin.A3 if job.shown_units == "metric" else margin.TABLOID
    drawing = Drawing(paper.width_mm, paper.height_mm)
    width = paper.width_mm - 2 * MARGIN_MM - COLUMN_MM
    height = paper.height_mm - 2 * MARGIN_MM - TITLE_MM
    extent = extent_of(material)
    assert extent is not None, "an existing plan needs ground"
    window = fitted(extent, MARGIN_MM, MARGIN_MM, width, height, job.shown_units, margin.SCALE_BAR_MM)
    draw_existing(drawing, window, material)
    left, bottom = MARGIN_MM + width, MARGIN_MM + height
    drawing.line(np.array([[left, MARGIN_MM], [left, bottom]]), "frame")
    column = Column(drawing, left + 4, COLUMN_MM - 8, MARGIN_MM)
    _column(column, window, material, bottom - 4.0)
    cells = (("scale", scale_words(window.scale, job.shown_units)), ("paper", paper.name))
    margin.title_strip(drawing, "Existing plan", job.name, cells, material.note)
    return drawing.sheet("existing-plan", f"Existing plan, {job.name}")


def _column(column: Column, window: Window, material: Material, bottom_mm: float) -> None:
    """Numbers, legend and caution; then lines not to cross and checks, as far as the paper reaches."""
    job = material.job
    column.heading("Ground")
    for words, value in ground_rows(material):
        column.row(words, value)
    column.heading("Legend")
    margin.legend(
        column, [*LEGEND, *ground_map.symbol_words(job, column.drawing.used), *water_map.legend(read=True)]
    )
    column.gap(1.5)
    column.paragraph(MARKS)
    column.gap(1.5)
    column.paragraph(margin.CAUTION)
    rows = list(bound_list.bound_rows(job, window))
    if rows and column.has_room(20.0, bottom_mm):
        column.heading(bound_list.HEADING)
        for mark, words in rows:
            if not column.has_room(8.0, bottom_mm):
                column.paragraph("The others are in the site report.")
                break
            column.paragraph(words, mark=mark)
    if column.has_room(CHECKS_MM, bottom_mm):
        column.heading("Checks of the site")
        found = [one for one in material.findings if one.code.startswith("site.")]
        margin.check_lines(column, found, job.shown_units, 5, bottom_mm)
    elif column.has_room(8.0, bottom_mm):
        column.gap(1.5)
        column.paragraph("The checks of the site stand in the site report.")


def draw_existing(drawing: Drawing, window: Window, material: Material) -> None:
    """Draw the ground as found inside a window; without ground, what stands and lies there."""
    job, ground = material.job, material.result("site.ground")
    ground_map.keep_marks_clear(drawing, window)
    labels = Labels(drawing, window.box())
    if ground is not None:
        known = ground.known != ground_map.GUESSED
        heights = ground.z[known] if known.any() else ground.z
        steps = contour_interval(float(heights.min()), float(heights.max()), job.shown_units)
        contour_map.contour_lines(
            drawing, window, labels, job.shown_units, ground.grid, ground.z, known, "existing", steps
        )
        for edge in ground.tin.points[ground.tin.boundary]:
            ground_map.lines(drawing, window, edge, "survey_limit")
    water_map.pipes(drawing, window, job, water_map.THERE)
    for ring in _shores(material):
        ground_map.lines(drawing, window, np.vstack([ring, ring[:1]]), "shoreline")
    ground_map.marks(drawing, window, labels, job)
    ground_map.photos(drawing, window, labels, material.numbered_photos())
    for place, *words in _spots(material):
        ground_map.spot(drawing, window, labels, place, *words)
    water_map.readings(drawing, window, labels, job)
    ground_map.probes(drawing, window, labels, job)
    ground_map.bounds(drawing, window, labels, job)
    ground_map.things(drawing, window, labels, job)
    profiles = material.result("groundwater.profiles")
    lines = {} if profiles is None else profiles.lines
    water_map.drains(drawing, window, labels, job, lines, water_map.THERE)
    if ground is not None:
        shots, heights = ground.shots, window.scale <= SMALLEST_WITH_HEIGHTS
        ground_map.shots(
            drawing, window, labels, job.shown_units, shots.points, shots.elevations, heights=heights
        )
    labels.write()
    ground_map.north_and_scale(drawing, window, job)


def extent_of(material: Material) -> tuple[float, float, float, float] | None:
    """West, south, east and north of the survey, its marks and shores; None where nothing has a place."""
    ground = material.result("site.ground")
    near = [*_shores(material), *([place] for place in _mark_places(material))]
    if ground is not None:
        core = ground.tin.points
    else:
        places = [np.array([[place.east, place.north]]) for place in _thing_points(material)]
        if not (places := [*places, *map(np.asarray, near)]):
            return None
        core = np.vstack(places)
    low, high = core.min(axis=0), core.max(axis=0)
    reach = NEAR * float((high - low).max()) + AROUND
    for points in map(np.asarray, near):
        inside = np.all((points >= low - reach) & (points <= high + reach), axis=1)
        if inside.any():
            low, high = (
                np.minimum(low, points[inside].min(axis=0)),
                np.maximum(high, points[inside].max(axis=0)),
            )
    return (float(low[0]) - AROUND, float(low[1]) - AROUND, float(high[0]) + AROUND, float(high[1]) + AROUND)


def ground_rows(material: Material) -> Iterator[tuple[str, str]]:
    """Numbers of the ground as found, in words and in the units of the job."""
    ground, sure = material.result("site.ground"), material.result("site.uncertainty")
    existing, hole = material.result("site.existing"), material.result("site.old_hole")
    if ground is not None:
        yield "shots on the ground", material.told(ground.shot_count, COUNT)
        if ground.cloud_count:
            yield "points of measured surfaces", material.told(ground.cloud_count, COUNT)
        yield "area that was surveyed", material.told(ground.survey_area, AREA)
        yield "lowest point read", material.level(ground.lowest)
        yield "highest point read", material.level(ground.highest)
    if sure is not None:
        yield "ground is good to about (two times in three)", f"± {material.fine(sure.sigma_typical)}"
    lowest = {name: body.low_rim for name, body in (existing.bodies if existing is not None else {}).items()}
    lowest |= dict(_along_streams(material))
    for name, row in material.job.shape.bodies.items():
        if name in lowest:
            yield f"{ground_map.called(name, row)}: lowest ground on its shore", material.level(lowest[name])
    if hole is not None and hole.hole is not None:
        yield "old hole: floor", material.level(hole.floor)
        yield "old hole: low rim, where it runs over", material.level(hole.lip)
        yield "old hole: holds to its rim", material.told(hole.volume, VOLUME)


def _along_streams(material: Material) -> Iterator[tuple[str, float]]:
    """Lowest ground along the banks of each stream. [m]"""
    ground = material.result("site.ground")
    if ground is None:
        return
    for name, ring in _streams(material):
        try:
            yield name, float(low_rim(ground.z, ground.grid, ring).elevation)
        except DomainError:
            continue  # a stream that runs off the ground: a check of the shape tells it


def _streams(material: Material) -> Iterator[tuple[str, NDArray[np.float64]]]:
    """Banks of each stream, once its shore is worked out."""
    shore = material.result("shape.shore")
    for name, body in (shore.bodies if shore is not None else {}).items():
        if body.stream is not None:
            yield name, np.asarray(body.rings[0])


def _shores(material: Material) -> Iterator[NDArray[np.float64]]:
    for body in material.job.shape.bodies.values():
        if body.outline.form == "ring":
            for curve in (body.outline.curve, *body.islands.values()):
                yield ring_of(curve).points
    for _name, ring in _streams(material):
        yield ring


def _mark_places(material: Material) -> Iterator[tuple[float, float]]:
    for mark in material.job.site.marks.values():
        if mark.place is not None:
            yield mark.place.east, mark.place.north


def _thing_points(material: Material) -> Iterator[PointPlace]:
    for thing in material.job.site.things.values():
        if isinstance(thing.place, PointPlace):
            yield thing.place


def _spots(material: Material) -> Iterator[tuple[Any, str, str]]:
    """Places that the report tells of: low rim and floor of the old hole, else the low rim of each shore."""
    hole, existing = material.result("site.old_hole"), material.result("site.existing")
    if hole is not None and hole.hole is not None and hole.lip_point is not None:
        yield hole.lip_point, f"low rim {material.level(hole.lip)}", ""
        if hole.floor_point is not None:
            yield hole.floor_point, f"floor {material.level(hole.floor)}", ""
    for name, body in (existing.bodies if existing is not None else {}).items():
        if hole is None or hole.hole is None:
            called = ground_map.called(name, material.job.shape.bodies[name])
            yield (
                body.low_rim_point,
                f"{called}: lowest ground",
                f"on its shore {material.level(body.low_rim)}",
            )
