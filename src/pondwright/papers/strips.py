"""Strips on paper: a chainage to the right, elevations upward, both at one true scale.

Sections and unrolled shores are drawn on them.  A strip has its heights on the left and its chainage below.
Profiles of drains stand taller than they are, by a whole factor that the sheet tells.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.units import Shown
from pondwright.papers import margin
from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.margin import MARGIN_MM, TITLE_MM, Column, Paper
from pondwright.papers.material import Material
from pondwright.papers.type_width import text_width
from pondwright.papers.window import FEET_TO_AN_INCH, FOOT, METRIC_SCALES, Window, scale_words

HEIGHTS_MM = 16.0  # left of a strip, for its heights
FOOT_MM = 30.0  # at the bottom of a sheet, for scale bar, legend and notes
HEAD_MM, CHAINAGE_MM, GAP_MM, HEAD_TEXT_MM = 9.0, 8.0, 5.0, 3.2
SMALL_MM = 2.0
POINTED_MM = 3.0  # between words and their place, beyond which a line joins them
EDGE_MM, ENDS_MM = 0.8, 6.0  # beside a label within a strip, and right of a strip
SLOT_MM = 2.0  # of a profile in one box that labels keep off

Points = NDArray[np.float64]
Place = tuple[float, float]

AROUND: tuple[Place, ...] = tuple(
    (dx, sign * dy)
    for dy in (2.2, 3.6, 5.0, 6.6, 8.2, 10.0)
    for dx in (0.0, 4.0, -4.0, 8.0, -8.0, 14.0, -14.0)
    for sign in (-1.0, 1.0)
)
"""Places of a label round a point [mm], nearest first."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip on paper [mm]: its left end at a chainage [m], its top at an elevation [m].

    Heights are drawn `tall` times as large as lengths.
    """

    drawing: Drawing
    left_mm: float
    top_mm: float
    mm: float
    start: float
    end: float
    low: float
    high: float
    tall: float = 1.0

    def x(self, chainage: float) -> float:
        """Chainage [m] on paper [mm]."""
        return self.left_mm + (chainage - self.start) * self.mm

    def y(self, elevation: float) -> float:
        """Elevation [m] on paper [mm]."""
        return self.top_mm + (self.high - elevation) * self.mm * self.tall

    def points(self, chainage: Points, elevations: Points) -> Points:
        """A profile on paper [mm], no further than the strip reaches."""
        x = self.left_mm + (np.asarray(chainage) - self.start) * self.mm
        y = self.top_mm + (self.high - np.asarray(elevations)) * self.mm * self.tall
        return np.column_stack([x, y])

    def line(self, chainage: Points, elevations: Points, symbol: str) -> None:
        """Draw a profile."""
        if len(chainage) > 1:
            self.drawing.line(self.points(chainage, elevations), symbol)

    def between(
        self, upper: tuple[Points, Points], lower: tuple[Points, Points], fill: Callable[..., None]
    ) -> None:
        """Fill where one profile lies above another."""
        # A step has two heights at one chainage: a hair beside it, each side has its own.
        both = np.concatenate([upper[0], lower[0]])
        stations = np.unique(np.concatenate([both, both - 1e-4, both + 1e-4]))
        top, bottom = (np.interp(stations, *one) for one in (upper, lower))
        above = top > bottom + 1e-6
        pieces = []
        for run in np.split(np.arange(len(stations)), np.flatnonzero(np.diff(above)) + 1):
            if above[run[0]] and len(run) > 1:
                edge = self.points(stations[run], top[run])
                ring = np.vstack([edge, self.points(stations[run], bottom[run])[::-1]])
                pieces.append(shapely.Polygon(ring).buffer(0.0))
        fill(shapely.union_all([one for one in pieces if one.area > 0.3]))

    def frame(
        self, shown: Shown, first_station: float = 0.0, *, chainage: bool = True, both: bool = False
    ) -> None:
        """Heights on the left, or at both ends; chainage below."""
        unit = 1.0 if shown == "metric" else FOOT
        step = unit * height_step(self.mm * self.tall * unit)
        left, right = self.x(self.start), self.x(self.end)
        bottom = self.y(self.low)
        ends = ((left, -1.0, "end"), (right, 1.0, "start")) if both else ((left, -1.0, "end"),)
        self.drawing.line(np.array([[left, bottom], [right, bottom]]), "thin")
        self.drawing.keep_clear(left, bottom - 0.3, right, bottom + 0.3)
        for x, outward, anchor in ends:
            self.drawing.line(np.array([[x, self.y(self.high)], [x, bottom]]), "thin")
            for number in range(round(self.low / step), round(self.high / step) + 1):
                y = self.y(number * step)
                self.drawing.line(np.array([[x, y], [x + 1.5 * outward, y]]), "thin")
                words = f"{number * step / unit:g}" if step >= unit else f"{number * step / unit:.1f}"
                self.drawing.text(x + 2.2 * outward, y + 0.7, words, SMALL_MM, anchor=anchor)
        if not chainage:
            return
        step = unit * chainage_step(self.mm * unit)
        first = int(np.ceil((self.start + first_station) / step - 1e-9))
        last = int(np.floor((self.end + first_station) / step + 1e-9))
        for number in range(first, last + 1):
            x = self.x(number * step - first_station)
            self.drawing.line(np.array([[x, bottom], [x, bottom + 1.5]]), "thin")
            self.drawing.text(x, bottom + 4.2, f"{number * step / unit:g}", SMALL_MM, anchor="middle")

    def water(
        self,
        start: float,
        end: float,
        level: float,
        words: str,
        places_mm: Sequence[float] = (-2.0, 2.4, -5.0, 5.2, -8.0),
    ) -> bool:
        """Water at rest: its line, the mark that stands on it, and its name; tell whether that had room."""
        x0, x1 = self.water_line(start, end, level)
        middle = (x0 + x1) / 2
        return any(self.drawing.label(middle, self.y(level) + off, words, 2.2) for off in places_mm)

    def water_line(self, start: float, end: float, level: float) -> tuple[float, float]:
        """Water at rest: its line, and the mark that stands on it; tell where it begins and ends. [mm]"""
        y = self.y(level)
        x0, x1 = max(self.x(start), self.left_mm), min(self.x(end), self.x(self.end))
        self.drawing.line(np.array([[x0, y], [x1, y]]), "waterlining")
        for down, half in ((0.9, 1.6), (1.6, 0.9)):
            if x1 - x0 > 6.0:
                middle = x0 + 4.0
                self.drawing.line(
                    np.array([[middle - half, y + down], [middle + half, y + down]]), "waterlining"
                )
        if x1 - x0 > 6.0:
            triangle = np.array([[x0 + 2.7, y - 2.2], [x0 + 5.3, y - 2.2], [x0 + 4.0, y]])
            self.drawing.line(triangle, "waterlining", closed=True)
        return x0, x1

    def avoid(self, chainage: Points, elevations: Points) -> None:
        """Keep labels off a profile."""
        points = self.points(chainage, elevations)
        slots = np.floor(points[:, 0] / SLOT_MM)
        for run in np.split(np.arange(len(points)), np.flatnonzero(np.diff(slots)) + 1):
            # With the next point, so that no gap is left between two slots.
            some = points[run[0] : run[-1] + 2]
            (x0, y0), (x1, y1) = some.min(axis=0), some.max(axis=0)
            self.drawing.keep_clear(x0, y0 - 0.3, x1, y1 + 0.3)

    def label_near(
        self, x: float, y: float, words: str, size_mm: float = SMALL_MM, places: Sequence[Place] = AROUND
    ) -> tuple[float, float] | None:
        """Write a label at the first of some places beside a point that is free; tell where it stands."""
        half = text_width(words, size_mm) / 2
        for dx, dy in places:
            low, high = self.left_mm + half + EDGE_MM, self.x(self.end) - half - EDGE_MM
            beside = min(max(x + dx, low), max(low, high))
            if self.drawing.label(beside, y + dy, words, size_mm, blank=True):
                # The next words on the same line stand off these.
                self.drawing.keep_clear(beside - half - EDGE_MM, y + dy, beside + half + EDGE_MM, y + dy)
                return beside, y + dy
        return None

    def pointed(self, at: float, level: float, words: str, places: Sequence[Place] = AROUND) -> None:
        """Write words beside a place of the strip; with a line to it where they stand away from it."""
        x, y = self.x(at), self.y(level)
        found = self.label_near(x, y, words, SMALL_MM, places)
        if found is None:
            return
        half = text_width(words, SMALL_MM) / 2 + 0.4
        near_x = min(max(x, found[0] - half), found[0] + half)
        near_y = found[1] + (0.0 if near_x != x else math.copysign(0.6 * SMALL_MM, y - found[1]))
        if math.hypot(near_x - x, near_y - y) > POINTED_MM:
            self.drawing.line(np.array([[near_x, near_y], [x, y]]), "thin")


def height_step(mm: float) -> float:
    """Step of the heights in the unit that is shown, for millimetres a unit."""
    return next((one for one in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0) if one * mm >= 3.0), 20.0)


def chainage_step(mm: float) -> float:
    """Step of the chainage in the unit that is shown, for millimetres a unit."""
    return next((one for one in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0) if one * mm >= 14.0), 200.0)


def bounds_of(low: float, high: float, mm: float, shown: Shown) -> tuple[float, float]:
    """Elevations between which a strip is drawn: whole steps, with room for words above. [m]"""
    unit = 1.0 if shown == "metric" else FOOT
    step = unit * height_step(mm * unit)
    return np.floor(low / step - 0.2) * step, np.ceil((high + 3.0 / mm) / step) * step


def usual_scales(shown: Shown) -> tuple[int, ...]:
    """Scales that people use, the largest first."""
    return METRIC_SCALES if shown == "metric" else tuple(12 * feet for feet in FEET_TO_AN_INCH)


def scale_for(length: float, width_mm: float, shown: Shown) -> float:
    """Largest usual scale at which a length fits a width."""
    scales = usual_scales(shown)
    needed = length * 1000.0 / width_mm
    return next((one for one in scales if one >= needed), needed)


@dataclass
class StripSheets:
    """Sheets under the pen, filled with strips from left to right and from the top down."""

    material: Material
    name: str
    title: str
    scale: float
    legend: Sequence[tuple[str, str, str]]
    notes: Sequence[str]
    tall: float = 1.0

    def __post_init__(self) -> None:
        self.paper: Paper = margin.A3 if self.material.job.shown_units == "metric" else margin.TABLOID
        self._drawings: list[Drawing] = []
        self._scales: list[float] = []
        self._right = self._top = self._row = 0.0
        self._next()

    @property
    def mm(self) -> float:
        """Millimetres on paper for one metre on site."""
        return 1000.0 / self.scale

    @property
    def count(self) -> int:
        """How many sheets there are so far."""
        return len(self._drawings)

    def go_on_at(self, scale: float) -> None:
        """Go on with another sheet at another scale."""
        self.scale = scale
        self._next()

    def strip(
        self,
        start: float,
        end: float,
        low: float,
        high: float,
        head: str,
        below_mm: float = 0.0,
        right_mm: float = ENDS_MM,
    ) -> Strip:
        """Room for a strip, with its head written, and with some paper kept free below and right of it."""
        up_mm = self.mm * self.tall
        low, high = bounds_of(low, high, up_mm, self.material.job.shown_units)
        long_mm = (end - start) * self.mm
        width = HEIGHTS_MM + max(long_mm + right_mm, text_width(head, HEAD_TEXT_MM, bold=True), 66.0)
        height = HEAD_MM + (high - low) * up_mm + CHAINAGE_MM + below_mm
        if self._right + width > self.paper.width_mm - MARGIN_MM and self._right > MARGIN_MM:
            self._right, self._top, self._row = MARGIN_MM, self._top + self._row + GAP_MM, 0.0
        bottom = self.paper.height_mm - MARGIN_MM - TITLE_MM - FOOT_MM
        if self._top + height > bottom and self._top > MARGIN_MM + 2.0:
            self._next()
        drawing = self._drawings[-1]
        drawing.text(self._right + 4.0, self._top + 4.5, head, HEAD_TEXT_MM, bold=True)
        left, top = self._right + HEIGHTS_MM, self._top + HEAD_MM
        drawing.keep_clear(left - HEIGHTS_MM, self._top, left + width, top - 2.0)
        drawing.keep_clear(left - HEIGHTS_MM, top, left - 0.5, top + height)
        if right_mm > ENDS_MM:
            drawing.keep_clear(left + long_mm + 0.5, top, left + width, top + height)
        drawing.keep_clear(left, top + (high - low) * up_mm + 1.0, left + width, top + height)
        self._right += width
        self._row = max(self._row, height)
        return Strip(drawing, left, top, self.mm, start, end, low, high, self.tall)

    def sheets(self) -> tuple[Sheet, ...]:
        """Close all sheets, each with its scale bar, legend, notes and title."""
        count = len(self._drawings)
        for number, drawing in enumerate(self._drawings, start=1):
            self._foot(drawing, number, count)
        return tuple(
            drawing.sheet(
                self.name if number == 1 else f"{self.name}-{number}",
                f"{self.title}, sheet {number} of {count}, {self.material.job.name}",
            )
            for number, drawing in enumerate(self._drawings, start=1)
        )

    def _next(self) -> None:
        self._drawings.append(Drawing(self.paper.width_mm, self.paper.height_mm))
        self._scales.append(self.scale)
        self._right, self._top, self._row = MARGIN_MM, MARGIN_MM + 2.0, 0.0

    def _foot(self, drawing: Drawing, number: int, count: int) -> None:
        job, scale = self.material.job, self._scales[number - 1]
        bottom = self.paper.height_mm - MARGIN_MM - TITLE_MM
        top = bottom - FOOT_MM
        drawing.line(np.array([[MARGIN_MM, top], [self.paper.width_mm - MARGIN_MM, top]]), "thin")
        window = Window(MARGIN_MM, top, self.paper.width_mm, FOOT_MM, 0.0, 0.0, scale)
        margin.scale_bar(drawing, MARGIN_MM + 6.0, bottom - 8.0, window, job.shown_units)
        rows = max((len(self.legend) + 1) // 2, 1)
        for place, part in enumerate((self.legend[:rows], self.legend[rows:])):
            margin.legend(Column(drawing, MARGIN_MM + 150.0 + 66.0 * place, 60.0, top + 1.0), part)
        left = MARGIN_MM + 150.0 + 2 * 66.0
        notes = Column(drawing, left, self.paper.width_mm - MARGIN_MM - left - 4.0, top + 1.5)
        for words in self.notes:
            notes.paragraph(words, size_mm=2.4)
        cells = (
            ("sheet", f"{number} of {count}"),
            ("scale, both ways" if self.tall == 1.0 else "scale along", scale_words(scale, job.shown_units)),
            *((("heights", f"{self.tall:g} times as tall"),) if self.tall != 1.0 else ()),
            ("paper", self.paper.name),
        )
        margin.title_strip(drawing, self.title, job.name, cells, self.material.note)
