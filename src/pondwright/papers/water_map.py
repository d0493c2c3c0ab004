"""Water in the ground on plans: drains with their bottoms, where they run out, sumps, and what was read.

Slotted pipe is broken, solid pipe drawn through, both with arrows that point down; signs differ by outline.
So a plan can be read without colour.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import ELEVATION
from pondwright.base.numbers import write_number
from pondwright.base.units import Shown, format_value
from pondwright.job.document import Job
from pondwright.job.groundwater import Drain, Outlet, Reading, Sump
from pondwright.job.places import PointPlace
from pondwright.papers import ground_map
from pondwright.papers.drawing import INK, PAPER, Drawing
from pondwright.papers.labels import Labels
from pondwright.papers.symbols import line_symbols, sign_symbols
from pondwright.papers.window import Window

THERE = frozenset({"existing", "keep", "remove"})
"""States of what is there before anything is built."""

NEW = frozenset({"new"})
"""States of what is built."""

ARROW_MM, ARROW_EVERY_MM, CLEAR_MM = 2.6, 24.0, 0.8
MEETS, SAME = 0.5, 0.005  # m: places, and levels, that are taken as one
PIPES, WATERS = ("drain", "drain_solid"), ("ditch", "waterlining")
ENDS, READ = ("outlet", "sump"), ("standpipe", "seep", "spring")

Points = NDArray[np.float64]


def pipes(drawing: Drawing, window: Window, job: Job, states: Collection[str]) -> None:
    """Draw the lines of drains of some states, before anything is written.

    Parameters
    ----------
    drawing : Drawing
    window : Window
    job : Job
    states : collection     `THERE` or `NEW`.
    """
    for row in job.groundwater.drains.values():
        if row.status in states:
            _line(drawing, window, row)


def drains(
    drawing: Drawing,
    window: Window,
    labels: Labels,
    job: Job,
    profiles: Mapping[str, Any],
    states: Collection[str],
) -> None:
    """Write bottoms and sizes of drains of some states; draw outlets and sumps, and what they run into.

    Parameters
    ----------
    drawing : Drawing
    window : Window
    labels : Labels
    job : Job
    profiles : mapping      Of the drains that the job has when it is built, by name; may be empty.
    states : collection     `THERE` or `NEW`.
    """
    water = job.groundwater
    drawn = {name: row for name, row in water.drains.items() if row.status in states}
    reached = {row.into for row in drawn.values()}
    ends = (("outlet", water.outlets, "invert"), ("sump", water.sumps, "off"))
    for sign, rows, level in ends:
        for name, place in rows.items():
            if place.status in states or name in reached:
                words = f"{sign} {_level(getattr(place, level), job.shown_units)}"
                _sign(drawing, window, labels, sign, place.place, words)
    told: set[str] = set()
    places: dict[str, Outlet | Sump] = {**water.outlets, **water.sumps}
    for name, row in drawn.items():
        end = places.get(row.into or "")
        _bottoms(drawing, window, labels, row, profiles.get(name), job.shown_units, told, end)
    marks = drain_marks(job)
    for name, row in drawn.items():
        _size(window, labels, row, profiles.get(name), job.shown_units, marks.get(name, ""))


def readings(drawing: Drawing, window: Window, labels: Labels, job: Job) -> None:
    """Draw where the groundwater was read, with its levels in the dry and the wet season.

    Parameters
    ----------
    drawing : Drawing
    window : Window
    labels : Labels
    job : Job
    """
    for name, row in job.groundwater.readings.items():
        line = ground_map.line_of(row.place)
        if line is not None:
            ground_map.lines(drawing, window, line, "waterlining" if row.kind == "pond" else "ditch")
        elif isinstance(row.place, PointPlace):
            sign = row.kind if row.kind in ("seep", "spring") else "standpipe"
            _sign(drawing, window, labels, sign, row.place, *_read(name, row, job.shown_units))


def drain_marks(job: Job) -> dict[str, str]:
    """Marks by which lines, list and profiles name the drains that are built.

    Parameters
    ----------
    job : Job

    Returns
    -------
    dict of str
        ``D1`` and so on by the names of the drains, in the order of the job.
    """
    new = [name for name, row in job.groundwater.drains.items() if row.status in NEW]
    return {name: f"D{number}" for number, name in enumerate(new, start=1)}


def extent(job: Job, states: Collection[str]) -> list[Points]:
    """Lines of the drains of some states, for what a plan must show. [m]

    Parameters
    ----------
    job : Job
    states : collection

    Returns
    -------
    list of (n, 2) array
    """
    rows = [row for row in job.groundwater.drains.values() if row.status in states]
    return [_points(row) for row in rows]


def legend(*, read: bool) -> Iterator[tuple[str, str, str]]:
    """Legend of what this module draws: mark, symbol, words.

    Parameters
    ----------
    read : bool      Readings are drawn too.

    Yields
    ------
    tuple of str
    """
    table = line_symbols()
    for name in PIPES:
        yield "pipe", name, table[name].words
    for name in WATERS if read else ():
        yield "line", name, "pond where water was read" if name == "waterlining" else table[name].words
    for name in (*ENDS, *(READ if read else ())):
        yield "sign", name, sign_symbols()[name].words


def _points(row: Drain) -> Points:
    return np.array([[one.east, one.north] for one in row.place.points])


def _line(drawing: Drawing, window: Window, row: Drain) -> None:
    """A drain, with arrows that point the way it falls."""
    symbol = "drain" if row.slotted else "drain_solid"
    for piece in window.clipped(_points(row)):
        line = shapely.LineString(piece)
        # Paper on both sides, so that it is told from the contours that it crosses without colour.
        around = line.buffer(CLEAR_MM, cap_style="flat").intersection(window.box())
        drawing.area([shapely.get_coordinates(part.exterior) for part in shapely.get_parts(around)], PAPER)
        drawing.line(piece, symbol)
        count = max(int(line.length / ARROW_EVERY_MM), 1)
        for number in range(count):
            at = line.length * (number + 0.5) / count
            tip, tail = (
                np.array(line.interpolate(place).coords[0])
                for place in (at + ARROW_MM / 2, max(at - ARROW_MM / 2, 0.0))
            )
            along = tip - tail
            if np.hypot(*along) > 0.5:
                across = np.array([-along[1], along[0]]) * 0.38
                drawing.area([np.array([tip, tail + across, tail - across])], INK)


def _bottoms(
    drawing: Drawing,
    window: Window,
    labels: Labels,
    row: Drain,
    profile: Any,
    shown: Shown,
    told: set[str],
    end: Outlet | Sump | None,
) -> None:
    """Bottom of the pipe at both ends of a drain; where drains meet, and at an outlet, it is written once."""
    upper, lower = (row.inverts[0], row.inverts[-1]) if row.inverts else (None, None)
    if profile is not None:
        upper, lower = profile.upper, profile.lower
    points = _points(row)
    for place, level in ((points[0], upper), (points[-1], lower)):
        x, y = window.to_paper(place)
        if not shapely.contains_xy(window.box(), x, y):
            continue
        if end is not None and np.hypot(place[0] - end.place.east, place[1] - end.place.north) < MEETS:
            if level is None or not isinstance(end, Outlet) or abs(level - end.invert) < SAME:
                continue
        else:
            drawing.circle(x, y, 0.6, fill="#FFFFFF")
            drawing.keep_clear(x - 0.7, y - 0.7, x + 0.7, y + 0.7)
        words = "" if level is None else f"bottom {_level(level, shown)}"
        here = f"{words} at {x:.0f}, {y:.0f}"
        if words and here not in told:
            labels.want((x, y), words, rank=3)
            told.add(here)


def _size(window: Window, labels: Labels, row: Drain, profile: Any, shown: Shown, mark: str) -> None:
    """Mark and size of a pipe, and its least fall, along its longest straight piece."""
    words = ", ".join(filter(None, (mark, size_words(row.diameter, shown))))
    if profile is not None:
        words += f", {write_number(100.0 * profile.fall, 2)} %"
    pieces = [
        np.array([one, other]) for piece in window.clipped(_points(row)) for one, other in pairwise(piece)
    ]
    if not pieces:
        return
    one, other = max(pieces, key=lambda piece: float(np.hypot(*(piece[1] - piece[0]))))
    along = other - one
    turn = float(np.degrees(np.arctan2(along[1], along[0])))
    upright = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn
    across = np.array([-along[1], along[0]]) / max(float(np.hypot(*along)), 1e-9)
    spots = [
        (*(one + share * along + off * across), upright, 10.0 * abs(share - 0.5))
        for share in np.linspace(0.1, 0.9, 17)
        for off in (-2.2, 2.2)
    ]
    labels.want((one + other) / 2, words, spots=np.array(spots), rank=2, once=False)


def _sign(
    drawing: Drawing, window: Window, labels: Labels, sign: str, place: PointPlace, *words: str
) -> None:
    x, y = window.to_paper(np.array([place.east, place.north]))
    if shapely.contains_xy(window.box(), x, y):
        drawing.sign(float(x), float(y), sign)
        drawing.keep_clear(x - 1.8, y - 1.8, x + 1.8, y + 1.8)
        labels.want((x, y), *words, gap_mm=2.2, rank=3)


def _read(name: str, row: Reading, shown: Shown) -> tuple[str, str]:
    told = [
        f"{season} {_level(level, shown)}"
        for season, level in (("dry", row.dry), ("wet", row.wet))
        if level is not None
    ]
    return ground_map.called(name, row, row.kind), ", ".join(told)


def _level(level: float, shown: Shown) -> str:
    return format_value(level, ELEVATION, shown)


def size_words(diameter: float, shown: Shown) -> str:
    """Size of a pipe as it is sold.

    Parameters
    ----------
    diameter : Length     [m]
    shown : Shown

    Returns
    -------
    str
    """
    if shown == "metric":
        return f"{round(1000.0 * diameter)} mm"
    return f"{write_number(diameter / 0.0254, 1, trimmed=True)} in"
