"""Rows of numbers under a section: widths, depths and levels of its corners, each under its own place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import ELEVATION, LENGTH, Kind
from pondwright.base.units import Shown, format_value
from pondwright.papers.dimensions import Corner, Measured
from pondwright.papers.strips import CHAINAGE_MM, SMALL_MM, Strip
from pondwright.papers.type_width import text_width

WIDTH_MM, FAN_MM = 8.6, 9.5  # below the axis, where the widths stand, and where columns begin
DEPTH_MM, LEVEL_MM = {"us_inch": 11.5}, {"us_inch": 12.5}  # of an upright number; feet and inches are long
USUAL_MM = (5.0, 6.6)
APART_MM = 2.7  # between two columns of upright numbers
ASIDE_MM = 9.0  # that a column may stand beside its corner
FEWEST_MM = 4.2  # of a width that is told


def rows_mm(shown: Shown) -> float:
    """Paper below the chainage that the rows take. [mm]"""
    return _feet(shown)[1] - CHAINAGE_MM + 0.8


def _feet(shown: Shown) -> tuple[float, float]:
    """Where depths and levels stand below the axis. [mm]"""
    depth = FAN_MM + 3.4 + DEPTH_MM.get(shown, USUAL_MM[0])
    return depth, depth + 1.0 + LEVEL_MM.get(shown, USUAL_MM[1])


def dimension_rows(strip: Strip, sizes: Measured, shown: Shown) -> None:
    """Write the rows of a section under its axis.

    Parameters
    ----------
    strip : Strip
    sizes : Measured
    shown : Shown
    """
    bottom = strip.y(strip.low)
    name = {"metric": ", m", "us": ", ft"}.get(shown, "")
    depth, level = _feet(shown)
    for words, y in (("width", WIDTH_MM), ("depth", depth - 1.5), ("level", level - 2.0)):
        strip.drawing.text(strip.left_mm - 2.2, bottom + y, f"{words}{name}", SMALL_MM, anchor="end")
    _widths(strip, sizes, bottom + WIDTH_MM, shown)
    _columns(strip, sizes, bottom, shown)


def _widths(strip: Strip, sizes: Measured, y: float, shown: Shown) -> None:
    """A dimension line along all pieces of the finish."""
    drawing = strip.drawing
    for run in sizes.runs:
        start, end = max(run.start, strip.start), min(run.end, strip.end)
        if run.kind == "face" or end <= start:
            continue
        x0, x1 = strip.x(start), strip.x(end)
        drawing.line(np.array([[x0, y], [x1, y]]), "thin")
        for x, is_end in ((x0, start == run.start), (x1, end == run.end)):
            if is_end:
                drawing.line(np.array([[x, y - 0.9], [x, y + 0.9]]), "thin")
        whole = start == run.start and end == run.end
        words = _bare(run.width, LENGTH, shown)
        if run.kind == "shelf" and x1 - x0 > text_width(f"shelf {words}", SMALL_MM) + 1.0:
            words = f"shelf {words}"
        if whole and x1 - x0 > max(text_width(words, SMALL_MM) + 0.4, FEWEST_MM):
            drawing.text((x0 + x1) / 2, y - 0.8, words, SMALL_MM, anchor="middle")


def _columns(strip: Strip, sizes: Measured, bottom: float, shown: Shown) -> None:
    """Depth and level of the corners as upright numbers, as many as have room."""
    drawing, told = strip.drawing, _chosen(strip, sizes.corners)
    for corner, x in zip(told, _places(strip, told), strict=True):
        at = strip.x(corner.at)
        fan = [[at, bottom + FAN_MM], [at, bottom + FAN_MM + 0.8], [x, bottom + FAN_MM + 3.0]]
        drawing.line(np.array(fan), "thin")
        depth, level = _feet(shown)
        numbers = [(depth, corner.depth, LENGTH), (level, corner.level, ELEVATION)]
        for down, value, kind in numbers:
            if value is not None:
                words = _bare(value, kind, shown)
                drawing.text(x + 0.7, bottom + down, words, SMALL_MM, turn=-90.0)


def _chosen(strip: Strip, corners: Sequence[Corner]) -> list[Corner]:
    """Corners of a strip of which each has its column near its place; those that count least go first."""
    told = [one for one in corners if strip.start <= one.at <= strip.end]
    while told:
        places = np.array([strip.x(one.at) for one in told])
        aside = np.abs(_places(strip, told) - places)
        if float(aside.max()) <= ASIDE_MM:
            break
        crowded = [at for at in range(len(told)) if aside[at] > APART_MM]
        least = max(crowded, key=lambda at: (told[at].weight, aside[at]))
        del told[least]
    return told


def _places(strip: Strip, told: Sequence[Corner]) -> NDArray[np.float64]:
    """Where the columns of corners stand on paper, clear of the names of the rows. [mm]"""
    found = _spread([strip.x(one.at) for one in told], APART_MM)
    return np.maximum(found, strip.left_mm + 0.8 + APART_MM * np.arange(len(told)))


def _spread(places: Sequence[float], apart: float) -> NDArray[np.float64]:
    """Places in the same order, no nearer than told, moved as little as may be (least squares)."""
    steps = apart * np.arange(len(places))
    blocks: list[list[float]] = []  # sum and count of places that stand close together
    for place in np.asarray(places) - steps:
        blocks.append([float(place), 1.0])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] > blocks[-1][0] / blocks[-1][1]:
            total, count = blocks.pop()
            blocks[-1][0] += total
            blocks[-1][1] += count
    return np.repeat([total / count for total, count in blocks], [int(one[1]) for one in blocks]) + steps


def _bare(value: float, kind: Kind, shown: Shown) -> str:
    """A number without its unit, which stands before its row; feet and inches keep their marks."""
    words = format_value(value, kind, shown)
    return (
        words if shown == "us_inch" else words.rsplit(" ", 1)[0].rsplit("\u202f", 1)[0].rsplit("\u00a0", 1)[0]
    )
