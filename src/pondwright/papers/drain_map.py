"""The drain plan: where each drain runs, its bottoms, size and fall, and what it runs into."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pondwright.base.kinds import LENGTH
from pondwright.base.units import format_value
from pondwright.papers import bound_list, contour_map, design_map, ground_map, margin, water_map
from pondwright.papers.drawing import PAPER, Drawing, Sheet
from pondwright.papers.labels import Labels
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, TITLE_MM, Column
from pondwright.papers.material import Material
from pondwright.papers.window import Window, contour_interval, fitted, scale_words

AROUND = 4.0  # m of ground shown around the drains
BELOW_MM = 4.0

LEGEND = (
    ("line", "shoreline", "shoreline at the water level"),
    ("line", "existing_index", "ground as found"),
    ("line", "existing_contour", "ground as found, between"),
)
NOTES = (
    "Arrows point the way the water runs. The profiles on the next sheet tell the bottom of every piece.",
    margin.CAUTION,
)


def drain_plan(material: Material) -> Iterator[Sheet]:
    """Draw the plan of the drains that are built.

    Parameters
    ----------
    material : Material
        Needs the results of `site.ground`, `shape.shore` and `groundwater.profiles`.

    Yields
    ------
    Sheet
        A3, or 11 x 17 in where feet are shown; none without a drain.
    """
    job = material.job
    lines = water_map.extent(job, water_map.NEW)
    if not lines:
        return
    paper = margin.A3 if job.shown_units == "metric" else margin.TABLOID
    drawing = Drawing(paper.width_mm, paper.height_mm)
    width = paper.width_mm - 2 * MARGIN_MM - COLUMN_MM
    height = paper.height_mm - 2 * MARGIN_MM - TITLE_MM
    low, high = np.vstack(lines).min(axis=0) - AROUND, np.vstack(lines).max(axis=0) + AROUND
    extent = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    window = fitted(extent, MARGIN_MM, MARGIN_MM, width, height, job.shown_units, margin.SCALE_BAR_MM)
    _map(drawing, window, material)
    _column(drawing, window, material)
    cells = (("scale", scale_words(window.scale, job.shown_units)), ("paper", paper.name))
    margin.title_strip(drawing, "Drain plan", job.name, cells, material.note)
    yield drawing.sheet("drain-plan", f"Drain plan, {job.name}")


def _map(drawing: Drawing, window: Window, material: Material) -> None:
    job, ground = material.job, material.result("site.ground")
    labels = Labels(drawing, window.box())
    ground_map.keep_marks_clear(drawing, window)
    design_map.keep_frame_clear(drawing, window)
    known = ground.known != ground_map.GUESSED
    heights = ground.z[known] if known.any() else ground.z
    steps = contour_interval(float(heights.min()), float(heights.max()), job.shown_units)
    contour_map.contour_lines(
        drawing, window, labels, job.shown_units, ground.grid, ground.z, known, "existing", steps
    )
    for name, body in material.result("shape.shore").bodies.items():
        design_map.shorelines(drawing, window, body)
        row, column = np.unravel_index(int(np.argmax(body.distance)), body.distance.shape)
        grid = ground.grid
        middle = window.to_paper(np.array([grid.east[column], grid.north[row]]))
        words = ground_map.called(name, job.shape.bodies[name])
        spots = design_map.spots_within(window, body.rings, middle)
        labels.want(middle, words, spots=spots, rank=4, gap_mm=0.0, most=10.0)
    water_map.pipes(drawing, window, job, water_map.NEW)
    profiles = material.result("groundwater.profiles")
    water_map.drains(drawing, window, labels, job, profiles.lines, water_map.NEW)
    ground_map.bounds(drawing, window, labels, job)
    ground_map.things(drawing, window, labels, job)
    ground_map.marks(drawing, window, labels, job)
    labels.write()
    ground_map.north_and_scale(drawing, window, job)


def _column(drawing: Drawing, window: Window, material: Material) -> None:
    job, left, bottom = material.job, window.left_mm + window.width_mm, window.top_mm + window.height_mm
    corners = [[left, window.top_mm], [left + COLUMN_MM, window.top_mm], [left + COLUMN_MM, bottom]]
    drawing.area([np.array([*corners, [left, bottom]])], PAPER)
    drawing.line(np.array([[left, window.top_mm], [left, bottom]]), "frame")
    column = Column(drawing, left + 4, COLUMN_MM - 8, window.top_mm)
    column.heading("Drains")
    profiles = material.result("groundwater.profiles").lines
    for name, mark in water_map.drain_marks(job).items():
        row = job.groundwater.drains[name]
        words = f"{ground_map.called(name, row)}: {water_map.size_words(row.diameter, job.shown_units)}"
        if name in profiles:
            words += f", {format_value(profiles[name].length, LENGTH, job.shown_units)}"
        column.paragraph(words, mark=mark)
        column.gap(0.8)
    column.heading(f"Legend; heights {ground_map.unit_words(job.shown_units)}")
    own = [*water_map.legend(read=False), *ground_map.symbol_words(job, drawing.used)]
    margin.legend(column, [*LEGEND, *own])
    column.gap(2.0)
    for words in NOTES:
        column.paragraph(words)
        column.gap(1.0)
    rows = list(bound_list.bound_rows(job, window))
    if rows and column.has_room(8.1 + 4.0 * len(rows), bottom - BELOW_MM):
        column.heading(bound_list.HEADING)
        for mark, words in rows:
            column.paragraph(words, mark=mark)
