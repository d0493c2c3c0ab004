"""Contours of old and new ground on plans, and their numbers."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.units import Shown
from pondwright.geometry.contour import contours
from pondwright.geometry.grid import Grid
from pondwright.papers.drawing import INK, Drawing
from pondwright.papers.ground_map import LABEL_MM, SMALL_MM, height_words
from pondwright.papers.labels import Labels
from pondwright.papers.type_width import text_width
from pondwright.papers.window import FOOT, Window

NUMBER_MM, CLOSED_MM, OPEN_MM = 90.0, 30.0, 45.0  # a number each, and on other lines from this length on
SHORTEST_MM = 3.0  # of a piece of a contour that is drawn
STATION_MM = 3.0  # between places along a line that are tried for its number
BEND_COSTS = 6.0  # a number on a line that bends by half a circle under it
MOST_OPEN, MOST_CLOSED = 12.0, 40.0  # of lines that a number may lie on
OFF_LEVEL = 0.0005  # m above its level that a contour is drawn, so that a level floor has an edge
INKS = {"existing": "#7A6248", "design": INK}

Points = NDArray[np.float64]


def contour_lines(
    drawing: Drawing,
    window: Window,
    labels: Labels,
    shown: Shown,
    grid: Grid,
    z: Points,
    mask: NDArray[np.bool_] | None,
    which: str,
    steps: tuple[float, int],
) -> None:
    """Draw contours, ``existing`` or ``design``, and ask for their numbers.

    An index line has a number every so often; of the others each that is long enough has one.
    """
    interval, every = steps
    numbers = range(int(np.ceil(z.min() / interval)), int(np.floor(z.max() / interval)) + 1)
    digits = _digits(interval, shown)
    for number in numbers:
        level = number * interval
        index = number % every == 0
        words = height_words(level, shown, digits)
        for _level, found in contours(z, grid, [level + OFF_LEVEL], mask):
            for line in found:
                for piece in window.clipped(_eased(line, grid.spacing)):
                    if len(piece) < 2 or shapely.LineString(piece).length < SHORTEST_MM:
                        continue
                    drawing.line(piece, f"{which}_{'index' if index else 'contour'}")
                    _numbers(labels, piece, words, which, index=index)


def _numbers(labels: Labels, piece: Points, words: str, which: str, *, index: bool) -> None:
    """Ask for the numbers of a contour: one for each part of it, where it is straight and free."""
    line = shapely.LineString(piece)
    size = LABEL_MM if index else SMALL_MM
    wide = text_width(words, size)
    closed = bool(np.allclose(piece[0], piece[-1]))
    if line.length < max((CLOSED_MM if closed else OPEN_MM) if not index else 0.0, 2.0 * wide):
        return
    count = max(int(line.length / NUMBER_MM), 1) if index else 1
    for part in range(count):
        start, end = line.length * part / count, line.length * (part + 1) / count
        spots = _on_line(line, np.arange(start + wide / 2 + 0.5, end - wide / 2, STATION_MM), wide)
        if len(spots):
            labels.want(
                spots[len(spots) // 2, :2],
                words,
                spots=spots,
                size_mm=size,
                ink=INKS[which],
                reach_mm=0.0,
                rank=(4 if index else 6) + (which == "existing"),
                most=MOST_CLOSED if closed or index else MOST_OPEN,
                once=False,
            )


def _on_line(line: shapely.LineString, stations: Points, wide: float) -> Points:
    """Places and turns of a number on a line (n, 4), and what the line's bend under each costs."""
    back, here, on = (
        shapely.get_coordinates(shapely.line_interpolate_point(line, stations + step * wide))
        for step in (-0.5, 0.0, 0.5)
    )
    before, after, whole = (
        np.degrees(np.arctan2(*(end - start).T[::-1]))
        for start, end in ((back, here), (here, on), (back, on))
    )
    bend = np.abs((after - before + 180.0) % 360.0 - 180.0) / 180.0
    upright = (whole + 90.0) % 180.0 - 90.0
    return np.column_stack([here, upright, BEND_COSTS * bend])


def _digits(interval: float, shown: Shown) -> int | None:
    """Decimals that tell contours apart."""
    if shown == "us_inch":
        return None
    units = interval / (1.0 if shown == "metric" else FOOT)
    return next(digits for digits in range(4) if abs(units - round(units, digits)) < 1e-6)


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
