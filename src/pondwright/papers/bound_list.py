"""The list of lines not to cross: what stands behind each number on a plan, and which lie off its sheet.

Beside a plan where there is room, else on a free place of its map.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.job.document import Job
from pondwright.papers import ground_map, margin
from pondwright.papers.drawing import PAPER, Drawing
from pondwright.papers.margin import Column
from pondwright.papers.type_width import text_width
from pondwright.papers.window import Window

HEADING = "Lines not to cross"
WORDS_MM, LEADING, WIDEST_MM, EDGE_MM = 2.3, 1.42, 70.0, 2.0
HEAD_MM, BELOW_MM, STEP_MM = 8.1, 2.5, 5.0
KEPT_MM = 1.5  # of paper round the list

Points = NDArray[np.float64]
Row = tuple[str, str]


def bound_rows(job: Job, window: Window | None = None) -> Iterator[Row]:
    """Number of each line not to cross, and what it is.

    Parameters
    ----------
    job : Job
    window : Window or None     Of the plan; then a line of which it shows nothing says so.

    Yields
    ------
    mark, words : str
    """
    for number, (name, bound) in enumerate(job.site.bounds.items(), start=1):
        words = ground_map.called(name, bound, bound.kind)
        line = ground_map.bound_line(bound)
        if window is not None and line is not None and not window.clipped(line):
            words += ", off this sheet"
        yield f"L{number}", words


def list_on_map(drawing: Drawing, window: Window, rows: Sequence[Row], others: Sequence[Points]) -> bool:
    """Write the list on the map, in a frame, where nothing else is drawn.

    Parameters
    ----------
    drawing : Drawing
        With all lines and words of the map.
    window : Window
    rows : sequence of (str, str)     What `bound_rows` told.
    others : sequence of (n, 2) array
        Places on paper to keep off that are no lines and no words. [mm]

    Returns
    -------
    bool
        Whether there was room.
    """
    if not rows:
        return True
    longest = max(text_width(words, WORDS_MM) for _mark, words in rows)
    wide = min(longest + 1.0, WIDEST_MM) + margin.MARK_MM
    lines = sum(len(margin.wrapped(words, wide - margin.MARK_MM, WORDS_MM)) for _mark, words in rows)
    high = HEAD_MM + lines * WORDS_MM * LEADING + BELOW_MM
    place = free_place(drawing, window, wide + 2 * EDGE_MM, high, others)
    if place is None:
        return False
    left, top = place
    box = [[left, top], [left + wide + 2 * EDGE_MM, top]]
    box += [[one, top + high] for one, _top in reversed(box)]
    drawing.area([np.array(box)], PAPER)
    drawing.line(np.array(box), "thin", closed=True)
    drawing.keep_clear(*box[0], *box[2])
    column = Column(drawing, left + EDGE_MM, wide, top)
    column.heading(HEADING)
    for mark, words in rows:
        column.paragraph(words, mark=mark, size_mm=WORDS_MM)
    return True


def free_place(
    drawing: Drawing, window: Window, wide_mm: float, high_mm: float, others: Sequence[Points] = ()
) -> tuple[float, float] | None:
    """Left and top of a rectangle of the map on which nothing lies, the one nearest to a corner. [mm]

    Parameters
    ----------
    drawing : Drawing
    window : Window
    wide_mm, high_mm : float
    others : sequence of (n, 2) array     Places to keep off as well. [mm]

    Returns
    -------
    (2,) tuple or None     None where there is no such place.
    """
    left, top, right, bottom = window.box().buffer(-KEPT_MM, join_style="mitre").bounds
    if right - left < wide_mm or bottom - top < high_mm:
        return None
    x, y = (
        one.ravel()
        for one in np.meshgrid(
            np.append(np.arange(left, right - wide_mm, STEP_MM), right - wide_mm),
            np.append(np.arange(top, bottom - high_mm, STEP_MM), bottom - high_mm),
        )
    )
    boxes = shapely.box(x - KEPT_MM, y - KEPT_MM, x + wide_mm + KEPT_MM, y + high_mm + KEPT_MM)
    inner = window.box().buffer(-KEPT_MM / 2)
    there: list[shapely.Geometry] = [
        shapely.LineString(line) for _symbol, line in drawing.strokes if len(line) > 1
    ]
    there += [shapely.box(*box).intersection(inner) for box in drawing.taken]
    there += [shapely.MultiPoint(points) for points in others if len(points)]
    lies_on = shapely.STRtree([one for one in there if not one.is_empty]).query(
        boxes, predicate="intersects"
    )[0]
    free = np.ones(len(boxes), dtype=bool)
    free[lies_on] = False
    if not free.any():
        return None
    off_corner = np.minimum(x - left, right - wide_mm - x) + np.minimum(y - top, bottom - high_mm - y)
    at = int(np.argmin(np.where(free, off_corner, np.inf)))
    return float(x[at]), float(y[at])
