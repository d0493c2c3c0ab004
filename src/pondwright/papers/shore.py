"""The unrolled shore: the whole edge of each body as a strip, with bank, water and what goes along it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import ELEVATION, LENGTH
from pondwright.base.units import Shown, format_value
from pondwright.papers import margin
from pondwright.papers.drawing import INK, Sheet
from pondwright.papers.margin import MARGIN_MM
from pondwright.papers.material import Material
from pondwright.papers.openings import Opening
from pondwright.papers.shore_edges import STEP, Edge, WayAlong, edges_of
from pondwright.papers.strips import (
    CHAINAGE_MM,
    HEIGHTS_MM,
    SMALL_MM,
    Strip,
    StripSheets,
    scale_for,
    usual_scales,
)
from pondwright.papers.type_width import text_width

MOST_ROWS, FEWEST_ROWS = 4, 2  # into which the longest shore is broken
RIGHT_MM = 10.0  # of paper right of a strip, for its heights
BELOW_MM = 3.6  # of paper under the lowest line, for words
WORDS_MM = 5.0  # of paper over the highest ground, for pegs and words
FIRST_MM, ROW_MM = 9.4, 4.6  # below the axis, where the first row stands, and from row to row
TICK_MM, TOUCH_MM = 0.7, 0.4  # of a tick to either side, and by which two lines of a row may touch
BELOW = tuple((dx, dy) for dy in (2.4, 4.0, -2.0, -5.0, 6.5) for dx in (0.0, 12.0, -12.0, 30.0, -30.0))
FACE, SHORTEST = 0.05, 0.5  # m by which a cut face rises over the crest, and along the shore, to be told
LOW = 0.03  # m that a rim may lie under its freeboard before it is called low

LEGEND = (
    ("line", "existing_index", "ground as found, on the shore"),
    ("line", "design_index", "top of the bank: the crest to build to"),
    ("hatch", "dig", "ground over the bank: dig"),
    ("dots", "placed", "bank over the ground: place soil"),
    ("line", "waterlining", "water at rest"),
    ("line", "liner", "edge of the liner"),
    ("line", "guard_burrow", "top of the stone"),
    ("line", "frame", "deck or bridge, at its level"),
    ("line", "reached", "shore that a way reaches"),
    ("peg", "", "peg, with its name above"),
)
NOTES = (
    "The shore walked in the order of its pegs, laid straight; a stream bank by bank. The top of the bank is "
    "the crest that is built to; where a cut face rises on behind it, a line under the strip says so. "
    "Triangles point at low places. Under each strip stand the kinds of bank, then what goes along it.",
    margin.CAUTION,
)

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Bar:
    """A line in a row under a strip, with its words: where on paper [mm], and which ends are its own."""

    left: float
    right: float
    middle: float
    words: str
    ends: tuple[bool, bool]

    @property
    def room(self) -> tuple[float, float]:
        """Paper that it takes with its words. [mm]"""
        half = 0.5 * text_width(self.words, SMALL_MM) + 1.0
        return min(self.left, self.middle - half), max(self.right, self.middle + half)


_Rows = list[tuple[str, list[_Bar]]]
"""Rows under a strip, each with its name."""


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of a shore that stands on one strip."""

    edge: Edge
    start: float
    end: float
    head: str

    @property
    def heights(self) -> tuple[float, float]:
        """Lowest and highest of what is drawn. [m]"""
        edge, part = self.edge, self.inside
        told = [values[part] for values in (edge.ground, edge.crest, edge.water, edge.liner, edge.stone)]
        told += [np.array([one.level]) for one in self.over]
        return min(float(np.nanmin(one)) for one in told if not np.isnan(one).all()), max(
            float(np.nanmax(one)) for one in told if not np.isnan(one).all()
        )

    @property
    def inside(self) -> NDArray[np.bool_]:
        """Stations of the part, one more at each end."""
        return np.asarray((self.edge.station >= self.start - STEP) & (self.edge.station <= self.end + STEP))

    @property
    def over(self) -> list[WayAlong]:
        """Decks and bridges over this part, with a level."""
        return [
            one
            for one in self.edge.ways
            if one.over and one.level is not None and one.start < self.end and one.end > self.start
        ]


def shore_sheets(material: Material) -> tuple[Sheet, ...]:
    """Draw the unrolled shores of all bodies: islands as further strips, streams bank by bank.

    Parameters
    ----------
    material : Material
        Needs the results of `site.ground`, `shape.shore` and `shape.grading`.  Liner, stone and reach are
        drawn where they are known.

    Returns
    -------
    tuple of Sheet
        A3, or 11 x 17 in where feet are shown, named ``shore``, ``shore-2`` and so on; none without water.
    """
    edges = [edge for name in material.result("shape.shore").bodies for edge in edges_of(material, name)]
    if not edges:
        return ()
    sheets = _blank(material, _scale(material, edges))
    for strip, part, rows in _laid_out(sheets, edges):
        _draw(strip, part, rows, material)
    return sheets.sheets()


def _scale(material: Material, edges: Sequence[Edge]) -> float:
    """Largest usual scale at which the shores take no more sheets than at a small one."""
    shown, longest = material.job.shown_units, max(edge.length for edge in edges)
    closest, widest = (
        scale_for(longest / rows, _width(material), shown) for rows in (MOST_ROWS, FEWEST_ROWS)
    )
    fewest = _count(material, widest, edges)
    tried = [one for one in usual_scales(shown) if closest <= one < widest]
    return next((one for one in tried if _count(material, one, edges) <= fewest), widest)


def _count(material: Material, scale: float, edges: Sequence[Edge]) -> int:
    """How many sheets the shores take at a scale."""
    sheets = _blank(material, scale)
    for _strip in _laid_out(sheets, edges):
        pass
    return sheets.count


def _blank(material: Material, scale: float) -> StripSheets:
    return StripSheets(material, "shore", "Unrolled shore", scale, LEGEND, NOTES)


def _width(material: Material) -> float:
    """Paper for the length of a shore. [mm]"""
    paper = margin.A3 if material.job.shown_units == "metric" else margin.TABLOID
    return paper.width_mm - 2 * MARGIN_MM - HEIGHTS_MM - RIGHT_MM


def _laid_out(sheets: StripSheets, edges: Sequence[Edge]) -> Iterator[tuple[Strip, _Part, _Rows]]:
    """Room on paper for each part of each shore, with the rows under it."""
    shown = sheets.material.job.shown_units
    for edge in edges:
        count = max(math.ceil(edge.length * sheets.mm / _width(sheets.material) - 1e-9), 1)
        stops = [edge.length * number / count for number in range(count + 1)]
        for number, (start, end) in enumerate(pairwise(stops), start=1):
            head = edge.head if count == 1 else f"{edge.head}, part {number} of {count}"
            part = _Part(edge, start, end, head)
            low, high = part.heights
            low -= BELOW_MM / sheets.mm
            high += WORDS_MM / sheets.mm
            rows = _rows(part, sheets.mm, shown)
            below = FIRST_MM + ROW_MM * len(rows) - CHAINAGE_MM
            strip = sheets.strip(start, end, low, high, head, below, RIGHT_MM)
            yield strip, part, rows


def _rows(part: _Part, mm: float, shown: Shown) -> _Rows:
    """Rows under a strip, from its left end on [mm]: kinds of bank, cut faces behind, then ways and seats."""
    banks = [_bar(part, *one, mm) for one in _kinds(part)]
    faces = [_bar(part, *one, "cut face", mm) for one in _faces(part)]
    ways = [
        _bar(part, one.start, one.end, _told(one.name, one.level, shown), mm)
        for one in part.edge.ways
        if one.start < part.end and one.end > part.start
    ]
    for seat in part.edge.seats:
        if part.start <= seat.at < part.end:
            away = format_value(seat.away, LENGTH, shown)
            ways.append(_bar(part, seat.at, seat.at, f"{seat.name}, {away} from the water", mm))
    named = (("bank", banks), ("behind", faces), ("beside", ways))
    return [(name, row) for name, bars in named for row in _stacked(bars)]


def _told(name: str, level: float | None, shown: Shown) -> str:
    return name if level is None else f"{name} {format_value(level, ELEVATION, shown)}"


def _bar(part: _Part, start: float, end: float, words: str, mm: float) -> _Bar:
    ends = (start >= part.start, end <= part.end)
    left, right = ((min(max(at, part.start), part.end) - part.start) * mm for at in (start, end))
    half, most = 0.5 * text_width(words, SMALL_MM) + 1.0, (part.end - part.start) * mm
    # Words of a short line at the end of a strip would run out of it.
    middle = min(max(0.5 * (left + right), half), max(most - half, half))
    if left == right:
        left, right = min(left, middle), max(right, middle)
        return _Bar(left, right, min(max(0.5 * (left + right), half), max(most - half, half)), words, ends)
    return _Bar(left, right, middle, words, ends)


def _kinds(part: _Part) -> Iterator[tuple[float, float, str]]:
    """Kinds of bank along a part, from here to there."""
    edge = part.edge
    inside = np.flatnonzero((edge.station >= part.start) & (edge.station <= part.end))
    names = np.array(edge.banks)[inside]
    runs = np.split(inside, np.flatnonzero(names[1:] != names[:-1]) + 1)
    for run in runs:
        first, last = (float(edge.station[at]) for at in (run[0], run[-1]))
        start = part.start if run is runs[0] else first - STEP / 2
        end = part.end if run is runs[-1] else last + STEP / 2
        yield start, end, edge.banks[run[0]]


def _faces(part: _Part) -> Iterator[tuple[float, float]]:
    """Stretches of a part behind whose crest a cut face rises, from here to there."""
    edge = part.edge
    inside = np.flatnonzero((edge.station >= part.start) & (edge.station <= part.end))
    faces = (edge.rim - edge.crest > FACE)[inside]
    for run in np.split(inside, np.flatnonzero(np.diff(faces)) + 1):
        first, last = (float(edge.station[at]) for at in (run[0], run[-1]))
        if edge.rim[run[0]] - edge.crest[run[0]] > FACE and last - first > SHORTEST:
            yield first, last


def _stacked(bars: Sequence[_Bar]) -> list[list[_Bar]]:
    """Bars in as few rows as keep them and their words apart."""
    rows: list[list[_Bar]] = []
    for bar in sorted(bars, key=lambda one: one.room):
        free = next((row for row in rows if row[-1].room[1] <= bar.room[0] + TOUCH_MM), None)
        if free is None:
            rows.append([bar])
        else:
            free.append(bar)
    return rows


def _draw(strip: Strip, part: _Part, rows: _Rows, material: Material) -> None:
    """One strip, from the ground up; words last, off all lines."""
    shown, drawing, edge = material.job.shown_units, strip.drawing, part.edge
    ground, rim, liner, stone = (
        _between(edge.station, values, part) for values in (edge.ground, edge.crest, edge.liner, edge.stone)
    )
    strip.between(ground, rim, lambda area: drawing.hatch(area, "dig", 2.4))
    strip.between(rim, ground, lambda area: drawing.dots(area, "placed", 1.7))
    lines = ((ground, "existing_index"), (rim, "design_index"), (liner, "liner"), (stone, "guard_burrow"))
    for (stations, heights), symbol in lines:
        for run in _known(heights):
            strip.line(stations[run], heights[run], symbol)
            strip.avoid(stations[run], heights[run])
    _reached(strip, part)
    strip.frame(shown, both=True)
    for number, (name, bars) in enumerate(rows):
        y = strip.y(strip.low) + FIRST_MM + ROW_MM * number
        if number == 0 or rows[number - 1][0] != name:
            drawing.text(strip.left_mm - 2.2, y, name, SMALL_MM, anchor="end")
        for bar in bars:
            _row(strip, bar, y)
    for way in part.over:
        assert way.level is not None
        ends = np.array([max(way.start, part.start), min(way.end, part.end)])
        strip.line(ends, np.array([way.level, way.level]), "frame")
        strip.avoid(ends, np.array([way.level, way.level]))
    levels = list(_levels(edge, part))
    for start, end, level in levels:
        strip.water_line(start, end, level)
        strip.avoid(np.array([start, end]), np.array([level, level]))
    _pegs(strip, edge)
    _flags(strip, part, shown)
    for start, end, level in levels:
        words = f"water {format_value(level, ELEVATION, shown)}"
        strip.label_near(strip.x(0.5 * (start + end)), strip.y(level), words, places=BELOW)
        _crest_words(strip, edge, (start, end, level), shown)
    for way in part.over:
        assert way.level is not None
        middle = 0.5 * (max(way.start, part.start) + min(way.end, part.end))
        strip.pointed(middle, way.level, way.name)


def _crest_words(strip: Strip, edge: Edge, run: tuple[float, float, float], shown: Shown) -> None:
    """Level of the crest over a run of one water level, where the bank is as high as it asks."""
    start, end, level = run
    there = (edge.station >= start) & (edge.station <= end) & (edge.crest - level > edge.freeboard - LOW)
    if there.any():
        at = edge.station[there]
        middle = float(at[np.argmin(np.abs(at - (0.35 * end + 0.65 * start)))])
        words = f"crest {format_value(level + edge.freeboard, ELEVATION, shown)}"
        strip.pointed(middle, level + edge.freeboard, words)


def _between(at: Points, level: Points, part: _Part) -> tuple[Points, Points]:
    """A profile within a part, with its value at both ends."""
    inside = (at > part.start) & (at < part.end)
    ends = np.array([part.start, part.end])
    levels = np.interp(ends, at, level)
    return (
        np.concatenate([ends[:1], at[inside], ends[1:]]),
        np.concatenate([levels[:1], level[inside], levels[1:]]),
    )


def _known(level: Points) -> Iterator[NDArray[np.intp]]:
    """Runs of places whose height is known."""
    there = ~np.isnan(level)
    for run in np.split(np.arange(len(level)), np.flatnonzero(np.diff(there)) + 1):
        if there[run[0]] and len(run) > 1:
            yield run


def _row(strip: Strip, bar: _Bar, y: float) -> None:
    left, right = strip.left_mm + bar.left, strip.left_mm + bar.right
    strip.drawing.line(np.array([[left, y], [right, y]]), "thing")
    for x, is_end in zip((left, right), bar.ends, strict=True):
        if is_end:
            strip.drawing.line(np.array([[x, y - TICK_MM], [x, y + TICK_MM]]), "thing")
    strip.drawing.text(strip.left_mm + bar.middle, y - 1.1, bar.words, SMALL_MM, anchor="middle")


def _reached(strip: Strip, part: _Part) -> None:
    """Shore that a way reaches, as a thick line on the axis."""
    edge = part.edge
    if edge.reached is None:
        return
    inside = np.flatnonzero(part.inside)
    for run in np.split(inside, np.flatnonzero(np.diff(edge.reached[inside])) + 1):
        if edge.reached[run[0]] and len(run) > 1:
            ends = np.clip(edge.station[[run[0], run[-1]]], part.start, part.end)
            strip.line(ends, np.array([strip.low, strip.low]) + 0.6 / strip.mm, "reached")


def _pegs(strip: Strip, edge: Edge) -> None:
    for name, at in edge.pegs:
        if strip.start <= at < strip.end:
            x, y = strip.x(at), strip.y(strip.high)
            strip.drawing.circle(
                x, strip.y(float(np.interp(at, edge.station, edge.water))), 0.7, fill="#FFFFFF"
            )
            strip.drawing.line(np.array([[x, y], [x, y + 1.2]]), "thin")
            # The first name stands clear of the heights.
            beside = max(x, strip.left_mm + 1.0 + text_width(name, SMALL_MM) / 2)
            strip.drawing.label(beside, y + 2.6, name, SMALL_MM)


def _levels(edge: Edge, part: _Part) -> Iterator[tuple[float, float, float]]:
    """Runs of one water level within a part, each up to the next."""
    inside = np.flatnonzero(part.inside)
    runs = np.split(inside, np.flatnonzero(np.abs(np.diff(edge.water[inside])) > 1e-6) + 1)
    stops = [
        part.start,
        *(0.5 * float(edge.station[run[0] - 1] + edge.station[run[0]]) for run in runs[1:]),
        part.end,
    ]
    for run, (start, end) in zip(runs, pairwise(stops), strict=True):
        if end > start:
            yield start, end, float(edge.water[run[0]])


def _flags(strip: Strip, part: _Part, shown: Shown) -> None:
    """A triangle on each low place of the rim, with its height over the water or what opens there."""
    edge = part.edge
    over = edge.rim - edge.water
    low = part.inside & (over < edge.freeboard - LOW)
    # A low bank beside an opening has a flag of its own.
    kinds = [(opening, low & _is_of(edge, opening)) for opening in dict.fromkeys(edge.openings)]
    for opening, mine in kinds:
        for run in np.split(np.arange(len(mine)), np.flatnonzero(np.diff(mine)) + 1):
            at = run[int(np.argmin(over[run]))]
            if not mine[run[0]] or not strip.start <= edge.station[at] <= strip.end:
                continue
            x, y = strip.x(float(edge.station[at])), strip.y(float(edge.rim[at]))
            strip.drawing.keep_clear(x - 1.2, y - 3.0, x + 1.2, y)
            strip.drawing.area([np.array([[x - 1.2, y - 3.0], [x + 1.2, y - 3.0], [x, y - 0.5]])], INK)
            words = _flag_words(opening, float(over[at]), shown)
            strip.pointed(float(edge.station[at]), float(edge.rim[at]), words)


def _is_of(edge: Edge, opening: Opening | None) -> NDArray[np.bool_]:
    return np.array([one == opening for one in edge.openings])


def _flag_words(opening: Opening | None, over: float, shown: Shown) -> str:
    """What a triangle points at: the height over the water, or what opens there."""
    if opening is not None and opening.kind == "mouth":
        return f"mouth: {opening.name}"
    height = format_value(abs(over), LENGTH, shown)
    side = "over" if over >= 0.0 else "below"
    return f"{'low' if opening is None else 'overflow'}: {height} {side} the water"
