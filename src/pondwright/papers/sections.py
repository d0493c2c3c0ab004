"""Sections: cuts through ground, water and banks, at one true scale both ways, with their dimensions."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

import numpy as np
import shapely

from pondwright.base.kinds import ELEVATION, LENGTH, SLOPE
from pondwright.base.units import Shown, format_value
from pondwright.papers import margin
from pondwright.papers.cuts import Points, Profile, Water, cuts_of, profile_of
from pondwright.papers.dimension_rows import dimension_rows, rows_mm
from pondwright.papers.dimensions import Deepest, Measured, Run, measured, part_of
from pondwright.papers.drawing import INK, Sheet
from pondwright.papers.finish_along import UprightFinish
from pondwright.papers.margin import MARGIN_MM
from pondwright.papers.material import Material
from pondwright.papers.strips import (
    AROUND,
    HEIGHTS_MM,
    SMALL_MM,
    Place,
    Strip,
    StripSheets,
    chainage_step,
    scale_for,
    usual_scales,
)
from pondwright.papers.window import FOOT

MOST_PARTS = 3  # into which the longest section is broken, so that all of them can be drawn larger
RIGHT_MM = 10.0  # of paper right of a section, for its heights
WORDS_MM = 4.0  # of paper over the highest ground, for words
LETTER_MM = 3.0
SLOPE_MM = 6.0  # of paper that a slope is long at least to be told on it
ARROW_MM = 5.0  # of water that is deep enough on paper for an arrow
FLATTEST = 12.0  # level for one upright; what is flatter has its levels only
JOINED = 0.1  # m between two reaches that a fall parts
ASIDE: tuple[Place, ...] = tuple(
    (side * away, up)
    for up in (0.0, -2.4, 2.4, -4.8, 4.8)
    for away in (8.0, 11.0, 14.0)
    for side in (1.0, -1.0)
)
COMPASS = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")

LEGEND = (
    ("line", "existing_index", "ground as found"),
    ("line", "design_index", "finished ground"),
    ("line", "breakline", "dug to, under what covers it"),
    ("hatch", "dig", "dig"),
    ("dots", "placed", "place soil"),
    ("line", "waterlining", "water at rest"),
    ("line", "frame", "bridge, deck or path"),
    ("line", "wall", "wall or fence, with its top"),
)
NOTES = (
    "Up and along have one scale, nothing is stretched. Under each section stand the width of every piece of "
    "the finish, its depth under the water and its level. Widths, slopes (level for one upright) and depths "
    "are measured along this section. Letters stand on the grading plan.",
    margin.CAUTION,
)


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of a section that stands on one strip."""

    profile: Profile
    number: int
    count: int
    start: float
    end: float

    @property
    def head(self) -> str:
        """What is written over it."""
        cut = self.profile.cut
        runs = cut.line[-1] - cut.line[0]
        toward = COMPASS[round(math.atan2(runs[1], runs[0]) / (math.pi / 4.0)) % 8]
        words = f"{cut.letter} – {cut.letter}′   {cut.title}, to the {toward}"
        return words if self.count == 1 else f"{words}, part {self.number} of {self.count}"

    @property
    def heights(self) -> tuple[float, float]:
        """Lowest and highest of what is drawn. [m]"""
        told = [values for _at, values in part_of(self.profile, self.start, self.end)]
        levels = [
            *((one.start, one.end, one.level) for one in self.profile.waters),
            *((one.start, one.end, one.level) for one in self.profile.spans),
            *((one.at, one.at, one.top) for one in self.profile.standing),
        ]
        told += [np.array([level]) for start, end, level in levels if start <= self.end and end >= self.start]
        return min(float(one.min()) for one in told), max(float(one.max()) for one in told)


def section_sheets(material: Material) -> tuple[Sheet, ...]:
    """Draw all sections of a job, at one scale.

    Parameters
    ----------
    material : Material
        Needs the results of `site.ground`, `shape.shore`, `shape.grading` and `earth.subgrade`.

    Returns
    -------
    tuple of Sheet
        A3, or 11 x 17 in where feet are shown, named ``sections``, ``sections-2`` and so on; none without
        a section.
    """
    job, results = material.job, material.results
    cuts = cuts_of(job, results)
    if not cuts:
        return ()
    upright = UprightFinish(job, results)
    profiles = [profile_of(cut, job, results, upright) for cut in cuts]
    layout = _layout(material, profiles)
    sheets = _blank(material, layout)
    sizes = {profile.cut.letter: measured(profile) for profile in profiles}
    for strip, part in _laid_out(sheets, layout, profiles):
        _draw(strip, part, sizes[part.profile.cut.letter], material)
    return sheets.sheets()


@dataclass(frozen=True, slots=True)
class _Layout:
    """How sections lie on paper: their scale, and whether long ones are broken equally or fill a row."""

    scale: float
    equal: bool


def _layout(material: Material, profiles: Sequence[Profile]) -> _Layout:
    """Largest usual scale at which the sections fill few sheets; long ones are broken into parts."""
    shown, longest = material.job.shown_units, max(one.length for one in profiles)
    whole = _Layout(scale_for(longest, _width(material), shown), True)
    most = max(_count(material, whole, profiles), math.ceil(len(profiles) / 2))
    closest = scale_for(longest / MOST_PARTS, _width(material), shown)
    tried = [
        _Layout(one, equal)
        for one in usual_scales(shown)
        if closest <= one < whole.scale
        for equal in (True, False)
    ]
    return next((one for one in tried if _count(material, one, profiles) <= most), whole)


def _count(material: Material, layout: _Layout, profiles: Sequence[Profile]) -> int:
    """How many sheets the sections take."""
    sheets = _blank(material, layout)
    for _strip, _part in _laid_out(sheets, layout, profiles):
        pass
    return sheets.count


def _blank(material: Material, layout: _Layout) -> StripSheets:
    return StripSheets(material, "sections", "Sections", layout.scale, LEGEND, NOTES)


def _width(material: Material) -> float:
    """Paper for the length of a section. [mm]"""
    paper = margin.A3 if material.job.shown_units == "metric" else margin.TABLOID
    return paper.width_mm - 2 * MARGIN_MM - HEIGHTS_MM - RIGHT_MM


def _laid_out(
    sheets: StripSheets, layout: _Layout, profiles: Sequence[Profile]
) -> Iterator[tuple[Strip, _Part]]:
    """Room on paper for each part of each section, side by side and one under another."""
    shown = sheets.material.job.shown_units
    for profile in profiles:
        stops = _stops(profile.length, _width(sheets.material) / sheets.mm, layout, shown)
        for number, (start, end) in enumerate(pairwise(stops), start=1):
            part = _Part(profile, number, len(stops) - 1, start, end)
            low, high = part.heights
            high += WORDS_MM / sheets.mm
            yield sheets.strip(start, end, low, high, part.head, rows_mm(shown), RIGHT_MM), part


def _stops(length: float, most: float, layout: _Layout, shown: Shown) -> list[float]:
    """Where a section is broken: into equal parts, or at a round distance that still fits the paper. [m]"""
    count = max(math.ceil(length / most - 1e-9), 1)
    if layout.equal or count == 1:
        return [length * number / count for number in range(count + 1)]
    unit = 1.0 if shown == "metric" else FOOT
    step = unit * chainage_step(1000.0 / layout.scale * unit)
    each = math.floor(most / step + 1e-9) * step
    return [*np.arange(0.0, length - 0.5 * step, each).tolist(), length]


def _draw(strip: Strip, part: _Part, sizes: Measured, material: Material) -> None:
    """One section, from the ground up; words last, off all lines."""
    shown, drawing, profile = material.job.shown_units, strip.drawing, part.profile
    ground, finish, dug_to = part_of(profile, part.start, part.end)
    strip.between(ground, dug_to, lambda area: drawing.hatch(area, "dig", 2.4))
    strip.between(dug_to, ground, lambda area: drawing.dots(area, "placed", 1.7))
    strip.line(*ground, "existing_index")
    if _differ(dug_to, finish):
        strip.line(*dug_to, "breakline")
    strip.line(*finish, "design_index")
    strip.frame(shown, both=True)
    for surface in (ground, finish, dug_to):
        strip.avoid(*surface)
    dimension_rows(strip, sizes, shown)
    _spans(strip, profile)
    _standing(strip, profile)
    waters = [one for one in profile.waters if one.start < strip.end and one.end > strip.start]
    drawn = [(water, *strip.water_line(water.start, water.end, water.level)) for water in waters]
    for water, x0, _x1 in drawn:
        strip.avoid(np.array([water.start, water.end]), np.array([water.level, water.level]))
        drawing.keep_clear(x0 + 2.2, strip.y(water.level) - 2.4, x0 + 5.8, strip.y(water.level) + 2.0)
    _letters(strip, part)
    for one in sizes.deepest:
        _depth(strip, one, material)
    for water, x0, x1 in drawn:
        words = f"{water.name} {format_value(water.level, ELEVATION, shown)}"
        y = strip.y(water.level)
        if strip.label_near(max((x0 + x1) / 2, x0 + 8.0), y, words, 2.2) is None:
            strip.label_near((x0 + x1) / 2, y, format_value(water.level, ELEVATION, shown))
    _falls(strip, waters, material)
    _crests(strip, sizes, material)
    for span in profile.spans:
        if span.start < strip.end and span.end > strip.start:
            words = f"{span.name} {format_value(span.level, ELEVATION, shown)}"
            middle = (max(span.start, strip.start) + min(span.end, strip.end)) / 2
            strip.label_near(strip.x(middle), strip.y(span.level), words)
    for wall in profile.standing:
        if strip.start <= wall.at <= strip.end:
            strip.pointed(wall.at, wall.top, f"{wall.name} {format_value(wall.top, ELEVATION, shown)}")
    for run in sizes.runs:
        _slope(strip, run, material)


def _letters(strip: Strip, part: _Part) -> None:
    """Letters at the ends of a section; where it goes on, the part in which it does."""
    letter, y = part.profile.cut.letter, strip.y(strip.high) + 1.0
    ends = (
        (strip.x(strip.start), 1.0, letter, part.number == 1, part.number - 1),
        (strip.x(strip.end), -1.0, f"{letter}′", part.number == part.count, part.number + 1),
    )
    for x, inward, name, is_end, other in ends:
        if is_end:
            strip.drawing.label(x + 2.6 * inward, y, name, LETTER_MM)
        else:
            strip.drawing.label(x + 9.0 * inward, y, f"goes on in part {other}", SMALL_MM)


def _spans(strip: Strip, profile: Profile) -> None:
    """Bridges, decks and paths as lines at their level."""
    for span in profile.spans:
        start, end = max(span.start, strip.start), min(span.end, strip.end)
        if end > start:
            at, level = np.array([start, end]), np.array([span.level, span.level])
            strip.line(at, level, "frame")
            strip.avoid(at, level)


def _standing(strip: Strip, profile: Profile) -> None:
    """Walls and fences as upright lines."""
    for one in profile.standing:
        if strip.start <= one.at <= strip.end:
            at, level = np.array([one.at, one.at]), np.array([one.foot, one.top])
            strip.line(at, level, "wall")
            strip.avoid(at, level)


def _depth(strip: Strip, one: Deepest, material: Material) -> None:
    """An arrow from the water down to its deepest place, with the depth beside it."""
    if not strip.start < one.at < strip.end or one.depth * strip.mm < ARROW_MM:
        return
    x, top, foot = strip.x(one.at), strip.y(one.water), strip.y(one.water - one.depth)
    drawing = strip.drawing
    drawing.line(np.array([[x, top], [x, foot]]), "thin")
    for y, down in ((top, 1.0), (foot, -1.0)):
        drawing.area([np.array([[x, y], [x - 0.6, y + 1.8 * down], [x + 0.6, y + 1.8 * down]])], INK)
    drawing.keep_clear(x - 0.7, top, x + 0.7, foot)
    words = f"{format_value(one.depth, LENGTH, material.job.shown_units)} deep"
    strip.pointed(one.at, one.water - 0.5 * one.depth, words, (*ASIDE, *AROUND))


def _crests(strip: Strip, sizes: Measured, material: Material) -> None:
    """Crest and freeboard of the banks beside the waters."""
    shown = material.job.shown_units
    for one in sizes.crests:
        middle = 0.5 * (one.start + one.end)
        if strip.start < middle < strip.end:
            level, over = (
                format_value(value, kind, shown)
                for value, kind in ((one.level, ELEVATION), (one.over, LENGTH))
            )
            strip.pointed(middle, one.level, f"crest {level}, {over} over the water")


def _slope(strip: Strip, run: Run, material: Material) -> None:
    """How steep a slope is, beside its middle."""
    middle = 0.5 * (run.start + run.end)
    long_mm = math.hypot(run.width, run.last - run.first) * strip.mm
    if (
        run.kind == "face"
        or run.slope > FLATTEST
        or long_mm < SLOPE_MM
        or not strip.start < middle < strip.end
    ):
        return
    words = format_value(round(run.slope, 1), SLOPE, material.job.shown_units)
    strip.pointed(middle, 0.5 * (run.first + run.last), words)


def _falls(strip: Strip, waters: Sequence[Water], material: Material) -> None:
    """How far each fall of a stream drops."""
    for upper, lower in permutations(waters, 2):
        joined = min(abs(upper.end - lower.start), abs(upper.start - lower.end)) < JOINED
        if upper.name == lower.name and joined and upper.level > lower.level:
            at = lower.start if abs(upper.end - lower.start) < JOINED else lower.end
            drop = format_value(upper.level - lower.level, LENGTH, material.job.shown_units)
            if strip.start < at < strip.end:
                strip.pointed(at, 0.5 * (upper.level + lower.level), f"fall {drop}", ASIDE)


def _differ(one: tuple[Points, Points], other: tuple[Points, Points]) -> bool:
    both = (shapely.LineString(np.column_stack(each)) for each in (one, other))
    return bool(next(both).hausdorff_distance(next(both)) > 0.02)
