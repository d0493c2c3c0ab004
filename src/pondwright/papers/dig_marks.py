"""What a driver digs by on a plan: slopes with their ratios, heights of shelves, crests and toes, ramps."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely

from pondwright.base.kinds import SLOPE
from pondwright.base.units import format_value
from pondwright.job.document import Job
from pondwright.papers import design_map, ground_map, margin
from pondwright.papers.cuts import WIDTH
from pondwright.papers.drawing import Drawing
from pondwright.papers.labels import Labels
from pondwright.papers.slopes import Even, Ground, Height, Shore, way_slope
from pondwright.papers.slopes import sides as sides_of
from pondwright.papers.window import Window

SIDE_MM = 75.0  # of shore on paper for each side that is told
FEWEST, MOST = 2, 8  # sides of a shore
SHORTEST_MM, HEAD_MM = 2.0, 1.5  # of an arrow that is drawn, and of its head
EVERY = 3  # sides of which one tells the heights of its shelves
RAMP_MM = 14.0  # of a long ramp that its arrow is drawn on


def sides(drawing: Drawing, window: Window, labels: Labels, job: Job, results: Mapping[str, Any]) -> None:
    """Slopes and heights of the sides of each body.

    Parameters
    ----------
    drawing : Drawing
    window : Window
    labels : Labels
    job : Job
    results : mapping     Results by stage: `site.ground`, `shape.shore`, `shape.grading`.
    """
    found, shore, grading = results["site.ground"], results["shape.shore"], results["shape.grading"]
    ground = Ground(grading.z, found.z, found.grid)
    ways = [strip for way in job.shape.ways.values() if (strip := _strip(way)) is not None]
    waters = {name: shapely.make_valid(shapely.Polygon(body.rings[0])) for name, body in shore.bodies.items()}
    for name, body in shore.bodies.items():
        others = [water for other, water in waters.items() if other != name]
        keep_off = shapely.union_all([*ways, *others])
        long = float(np.hypot(*np.diff(body.rings[0], axis=0).T).sum()) * window.mm
        count = int(np.clip(round(long / SIDE_MM), FEWEST, MOST))
        made = Shore(body.rings[0], body, grading.bodies[name])
        for number, side in enumerate(sides_of(ground, made, count, keep_off)):
            for slope in (side.inside, side.outside):
                if slope is not None:
                    _arrow(drawing, window, labels, job, slope)
            for height in side.heights:
                if height.words != "shelf" or number % EVERY == 0:
                    _height(drawing, window, labels, job, height)


def ramps(drawing: Drawing, window: Window, labels: Labels, job: Job) -> None:
    """An arrow downhill on each way that rises, with its ratio.

    Parameters
    ----------
    drawing : Drawing
    window : Window
    labels : Labels
    job : Job
    """
    for way in job.shape.ways.values():
        line = ground_map.line_of(way.place)
        if line is None or way.level is None or way.end_level is None:
            continue
        slope = way_slope(line, (way.level, way.end_level))
        if slope is not None:
            middle, half = (slope.high + slope.low) / 2, (slope.low - slope.high) / 2
            half = half * min(1.0, 0.5 * RAMP_MM / window.mm / max(float(np.hypot(*half)), 1e-9))
            _arrow(drawing, window, labels, job, Even(middle - half, middle + half, slope.ratio))


def _strip(way: Any) -> shapely.Geometry | None:
    line = ground_map.line_of(way.place)
    if line is None or way.kind == "fence":
        return None
    return shapely.LineString(line).buffer((way.width or WIDTH) / 2, cap_style="flat")


def _arrow(drawing: Drawing, window: Window, labels: Labels, job: Job, slope: Even) -> None:
    """An arrow down a slope, with its ratio beside its middle."""
    high, low = window.to_paper(slope.high), window.to_paper(slope.low)
    inside = shapely.contains_xy(
        window.box().buffer(-1.0), np.array([high[0], low[0]]), np.array([high[1], low[1]])
    )
    if np.hypot(*(low - high)) < SHORTEST_MM or not inside.all():
        return
    drawing.line(np.array([high, low]), "slope")
    design_map.arrow_head(drawing, high, low, HEAD_MM)
    middle = (high + low) / 2
    words = format_value(round(slope.ratio, 1), SLOPE, job.shown_units)
    labels.want(middle, words, rank=3, gap_mm=0.7, reach_mm=13.0, once=False)


def _height(drawing: Drawing, window: Window, labels: Labels, job: Job, height: Height) -> None:
    x, y = window.to_paper(height.place)
    if not shapely.contains_xy(window.box(), x, y):
        return
    margin.height_mark(drawing, float(x), float(y))
    drawing.keep_clear(x - 0.8, y - 0.8, x + 0.8, y + 0.8)
    words = f"{height.words} {ground_map.height_words(height.z, job.shown_units)}"
    labels.want((x, y), words, rank=4, gap_mm=1.0, reach_mm=22.0, once=False)
