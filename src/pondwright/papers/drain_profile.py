"""Profiles of the drains: lengths at a true scale, heights drawn taller so that a fall can be seen.

Under each profile stands what the crew reads in the trench: distance, finished ground, bottom of the pipe
and its depth, and the fall of every piece.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from pondwright.base.kinds import ELEVATION, FLOW, LENGTH
from pondwright.base.numbers import write_number
from pondwright.base.units import Shown, format_value
from pondwright.geometry.surface import surface_at
from pondwright.papers import margin
from pondwright.papers.drawing import Sheet
from pondwright.papers.margin import MARGIN_MM
from pondwright.papers.material import Material
from pondwright.papers.strips import CHAINAGE_MM, HEIGHTS_MM, Strip, StripSheets, scale_for
from pondwright.papers.type_width import text_width
from pondwright.papers.water_map import drain_marks, size_words
from pondwright.papers.window import FEET_TO_AN_INCH, FOOT, METRIC_SCALES

DRAWN_FROM = ("site.ground", "shape.shore", "shape.grading", "earth.subgrade", "groundwater.profiles")

MOST_TALL_MM = 115.0  # of paper for the heights of one profile
FACTORS = (20.0, 10.0, 5.0, 4.0, 3.0, 2.0, 1.0)
LEAST_TALL = 2.0  # below it a fall of one percent is hardly seen
SMALLER = 3  # scales that are tried for all drains on one sheet
ROW_MM, TABLE_TOP_MM = 4.0, 4.0
SMALL_MM, WORDS_MM = 2.0, 2.6
LINE_MM, LABEL_MM = 3.6, 2.2
AFTER_MM = 12.0  # of paper right of a profile, for the words at its end
BELOW_FLOOD_MM = 3.4  # of paper for the words of a flood below the pipe
PIECE = {"metric": 3.0, "us": 10.0 * FOOT, "us_inch": 10.0 * FOOT}  # m between readings in the trench

EYE = "rodding eye"
WATER_WORDS_MM = (-2.0, -3.6, 2.4, 4.0, -5.2, 5.6, -8.0)

LEGEND = (
    ("line", "existing_index", "existing ground"),
    ("line", "design_index", "finished ground, floor of a pond"),
    ("line", "crest", "underside of the liner"),
    ("line", "wall", "bottom of the pipe"),
    ("line", "thin", "top of the pipe"),
    ("line", "waterlining", "pond at rest"),
    ("line", "flood", "flood where it runs out"),
    ("line", "pad", "rodding eye, up to the ground"),
)
NOTES = (
    "Lengths are at the scale told; heights stand taller. Read every pipe at both ends before it is covered: "
    "a pipe that climbs holds water.",
    margin.CAUTION,
)


def drain_sheets(material: Material) -> tuple[Sheet, ...]:
    """Draw the profiles of all drains of a job.

    Parameters
    ----------
    material : Material
        Needs the results of the stages in `DRAWN_FROM`.

    Returns
    -------
    tuple of Sheet
        A3, or 11 x 17 in where feet are shown, named ``drains``, ``drains-2`` and so on; none without
        a drain.
    """
    profiles = material.results["groundwater.profiles"].lines
    if not profiles:
        return ()
    paper = margin.A3 if material.job.shown_units == "metric" else margin.TABLOID
    width = paper.width_mm - 2 * MARGIN_MM - HEIGHTS_MM - 26.0
    largest = scale_for(max(one.length for one in profiles.values()), width, material.job.shown_units)
    sheets = _sheets_at(material, largest)
    strips = _laid_out(sheets, material)
    for name, profile in profiles.items():
        _draw(strips[name], name, profile, material)
    return sheets.sheets()


def _sheets_at(material: Material, largest: float) -> StripSheets:
    """Blank sheets at the largest scale, and with the tallest heights, at which all drains share one.

    Where they never do, they go on over several sheets at the largest scale.
    """
    shown, profiles = material.job.shown_units, material.results["groundwater.profiles"].lines
    rise = max(high - low for low, high in map(_heights, profiles.values()))
    usual = METRIC_SCALES if shown == "metric" else tuple(12 * feet for feet in FEET_TO_AN_INCH)
    scales = [largest, *[one for one in usual if one > largest][:SMALLER]]

    def blank(scale: float, tall: float) -> StripSheets:
        return StripSheets(material, "drains", "Drain profiles", scale, LEGEND, NOTES, tall)

    def fits(scale: float, tall: float) -> bool:
        return rise * 1000.0 / scale * tall <= MOST_TALL_MM

    for scale in scales:
        for tall in FACTORS:
            if tall < LEAST_TALL or not fits(scale, tall):
                continue
            trial = blank(scale, tall)
            _laid_out(trial, material)
            if trial.count == 1:
                return blank(scale, tall)
    return blank(largest, next(tall for tall in FACTORS if tall == 1.0 or fits(largest, tall)))


def _laid_out(sheets: StripSheets, material: Material) -> dict[str, Strip]:
    """Room on paper for each drain, side by side and one under another."""
    strips, marks = {}, drain_marks(material.job)
    for name, profile in material.results["groundwater.profiles"].lines.items():
        low, high = _heights(profile)
        if profile.flood is not None:
            low = min(low, profile.flood - BELOW_FLOOD_MM / (sheets.mm * sheets.tall))
        lines = len(_sentence(name, profile, material, _words_width(profile, sheets.mm)))
        # The table is its own chainage.
        below = TABLE_TOP_MM + 5 * ROW_MM + 1.0 + lines * LINE_MM - CHAINAGE_MM
        end = profile.length + AFTER_MM / sheets.mm
        head = material.job.groundwater.drains[name].name or f"Drain {name.replace('_', ' ')}"
        head = f"{marks[name]}  {head}" if name in marks else head
        strips[name] = sheets.strip(-12.0 / sheets.mm, end, low, high, head, below)
    return strips


def _words_width(profile: Any, mm: float) -> float:
    """Width of the sentence below a profile. [mm]"""
    return HEIGHTS_MM + max(12.0 + profile.length * mm + AFTER_MM, 60.0) - 6.0


def _heights(profile: Any) -> tuple[float, float]:
    """Lowest and highest of what is drawn of a profile. [m]"""
    told = [profile.ground, profile.finish, profile.invert]
    flood = [] if profile.flood is None else [profile.flood]
    return (
        min(*(float(one.min()) for one in told), *flood),
        max(*(float(one.max()) for one in told), *flood),
    )


def _draw(strip: Strip, name: str, profile: Any, material: Material) -> None:
    """One profile, from the ground down; words last."""
    shown, run = material.job.shown_units, profile.chainage
    strip.line(run, profile.ground, "existing_index")
    strip.line(run, profile.finish, "design_index")
    for part in _runs(profile.lined):
        strip.line(run[part], profile.under[part], "crest")
    strip.line(run, profile.invert, "wall")
    strip.line(run, profile.invert + profile.diameter, "thin")
    strip.frame(shown, chainage=False)
    for told in (profile.ground, profile.finish, profile.invert, profile.invert + profile.diameter):
        _keep_off(strip, run, told)
    for called, level, start, end in _waters(profile, material):
        strip.water(start, end, level, f"{called} {format_value(level, ELEVATION, shown)}", WATER_WORDS_MM)
        x, y = strip.x(start), strip.y(level)
        strip.drawing.keep_clear(x + 2.2, y - 2.4, x + 5.8, y + 1.8)
        strip.drawing.keep_clear(x, y - 0.4, strip.x(end), y + 0.4)
    _outlet(strip, profile, material)
    _eyes(strip, profile)
    _table(strip, profile, shown)
    for number, line in enumerate(_sentence(name, profile, material, _words_width(profile, strip.mm))):
        y = strip.y(strip.low) + TABLE_TOP_MM + 4 * ROW_MM + 5.4 + LINE_MM * number
        strip.drawing.text(strip.left_mm - HEIGHTS_MM + 3.0, y, line, WORDS_MM)


def _keep_off(strip: Strip, run: np.ndarray, levels: np.ndarray) -> None:
    """No words on a line that is drawn."""
    points = strip.points(run, levels)
    for one, other in pairwise(points):
        (x0, y0), (x1, y1) = np.minimum(one, other), np.maximum(one, other)
        strip.drawing.keep_clear(x0, y0 - 0.4, x1, y1 + 0.4)


def _runs(inside: np.ndarray) -> Iterator[slice]:
    """Parts of a profile that are true without a break, two stations and more."""
    for run in np.split(np.arange(len(inside)), np.flatnonzero(np.diff(inside)) + 1):
        if len(run) > 1 and inside[run[0]]:
            yield slice(int(run[0]), int(run[-1]) + 1)


def _waters(profile: Any, material: Material) -> Iterator[tuple[str, float, float, float]]:
    """Ponds over a drain: name, level, from where to where along it."""
    shore = material.results["shape.shore"]
    low, high = np.array(shore.grid.extent[:2]), np.array(shore.grid.extent[2:])
    points = np.clip(profile.points, low, high)
    for name, body in shore.bodies.items():
        for part in _runs(surface_at(body.distance, shore.grid, points) > 0.0):
            called = material.job.shape.bodies[name].name or name
            yield called, body.level, float(profile.chainage[part][0]), float(profile.chainage[part][-1])


def _eyes(strip: Strip, profile: Any) -> None:
    """Rodding eyes, from the pipe up to the ground, with a cap; their words where there is room."""
    half = 0.5 * text_width(EYE, SMALL_MM) + 1.4
    for at in profile.eyes:
        foot, top = (np.interp(at, profile.chainage, one) for one in (profile.invert, profile.finish))
        x, y = strip.x(at), strip.y(top) - 2.0
        strip.drawing.line(np.array([[x, strip.y(foot)], [x, y]]), "pad")
        strip.drawing.line(np.array([[x - 1.0, y], [x + 1.0, y]]), "wall")
        strip.drawing.keep_clear(x - 1.0, y - 0.3, x + 1.0, strip.y(foot))
        places = [(half, 0.0), (-half, 0.0), (0.0, -2.2), (half, -3.0), (-half, -3.0), (0.0, -5.0)]
        any(strip.drawing.label(x + right, y + down, EYE, SMALL_MM) for right, down in places)


def _outlet(strip: Strip, profile: Any, material: Material) -> None:
    """Where it runs out, and the flood there."""
    drawing, shown = strip.drawing, material.job.shown_units
    x, y = strip.x(profile.length), strip.y(float(profile.invert[-1]))
    drawing.circle(x, y, 0.9, fill="#FFFFFF")
    drawing.keep_clear(x - 0.9, y - 0.9, x + 0.9, y + 0.9)
    if profile.flood is None:
        return
    level = strip.y(profile.flood)
    back = strip.x(max(profile.length - max(profile.flooded or 0.0, 12.0 / strip.mm), 0.0))
    drawing.line(np.array([[back, level], [x, level]]), "flood")
    drawing.keep_clear(back, level - 0.4, x, level + 0.4)
    words = f"flood {format_value(profile.flood, ELEVATION, shown)}"
    half = 0.5 * text_width(words, LABEL_MM)
    first = x + AFTER_MM - half - 1.0
    for down in (1.9, -1.9, 3.2, -3.2, -4.8, -6.4, -8.0):
        for middle in np.arange(first, strip.x(0.0) + half, -3.0):
            if drawing.label(float(middle), level + down, words, LABEL_MM):
                return


def _table(strip: Strip, profile: Any, shown: Shown) -> None:
    """What is read in the trench, below the chainage."""
    unit, word = (1.0, "m") if shown == "metric" else (FOOT, "ft")
    drawing, left = strip.drawing, strip.left_mm
    top = strip.y(strip.low) + TABLE_TOP_MM
    marks = _marks(strip, profile, shown)
    crown = profile.finish - profile.invert
    rows = (
        ("distance", profile.chainage, 1),
        ("finish", profile.finish, 2),
        ("pipe bottom", profile.invert, 2),
        ("below finish", crown, 2),
    )
    right = strip.x(profile.length)
    for number, (words, values, digits) in enumerate(rows):
        y = top + number * ROW_MM
        drawing.line(np.array([[left - HEIGHTS_MM + 2.0, y - 2.9], [right, y - 2.9]]), "thin")
        drawing.text(left - HEIGHTS_MM + 3.0, y, f"{words}, {word}", SMALL_MM + 0.1)
        for at in marks:
            told = write_number(float(np.interp(at, profile.chainage, values)) / unit, digits)
            drawing.text(strip.x(at), y, told, SMALL_MM, anchor="middle", bold=words == "pipe bottom")
    y = top + len(rows) * ROW_MM
    drawing.line(np.array([[left - HEIGHTS_MM + 2.0, y - 2.9], [right, y - 2.9]]), "thin")
    drawing.text(left - HEIGHTS_MM + 3.0, y, "fall", SMALL_MM + 0.1)
    ends = profile.chainage[list(profile.bends)]
    for start, end, fall in zip(ends, ends[1:], profile.falls, strict=False):
        words = f"{write_number(100.0 * fall, 2)} %"
        if (end - start) * strip.mm > text_width(words, SMALL_MM, bold=True) + 1.0:
            middle = strip.x(0.5 * (start + end))
            drawing.text(middle, y, words, SMALL_MM, anchor="middle", bold=True)
        for at in (start, end):
            drawing.line(np.array([[strip.x(at), y - 2.9], [strip.x(at), y + 0.8]]), "thin")


def _marks(strip: Strip, profile: Any, shown: Shown) -> Sequence[float]:
    """Where numbers stand: at every bend, and between at each length of pipe as far as there is room."""
    room = 12.5 / strip.mm
    kept: list[float] = [0.0, profile.length]
    piece = PIECE[shown]
    bends = [float(one) for one in profile.chainage[list(profile.bends)]]
    for at in (*bends, *(piece * number for number in range(1, int(profile.length / piece) + 1))):
        if all(abs(at - other) >= room for other in kept):
            kept.append(at)
    return sorted(kept)


def _sentence(name: str, profile: Any, material: Material, width_mm: float) -> list[str]:
    """What is laid, what it carries, and where it runs out, in lines that fit below its table."""
    job, shown = material.job, material.job.shown_units
    drain = job.groundwater.drains[name]
    pipe = "slotted" if drain.slotted else "solid"
    parts = [
        f"{size_words(drain.diameter, shown)} {drain.wall} "
        f"{pipe} pipe, {format_value(profile.length, LENGTH, shown)}",
        f"of it {format_value(profile.on_hand, LENGTH, shown)} on hand" if profile.on_hand > 0.0 else "",
        f"trench at most {format_value(profile.deepest, LENGTH, shown)} deep" if profile.deepest else "",
        f"carries {format_value(profile.capacity, FLOW, shown)} full",
        ""
        if profile.inflow is None
        else f"at most {format_value(profile.inflow, FLOW, shown)} comes in the wet season",
    ]
    ends = {**job.groundwater.outlets, **job.groundwater.sumps, **job.groundwater.drains}
    if drain.into in ends:
        parts.append(f"runs into {ends[drain.into].name or drain.into.replace('_', ' ')}")
    return margin.wrapped("; ".join(part for part in parts if part) + ".", width_mm, WORDS_MM)
