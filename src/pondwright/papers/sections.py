"""Sections: cuts through ground, water and banks, at one true scale both ways."""

from __future__ import annotations

import numpy as np

from pondwright.base.kinds import ELEVATION
from pondwright.base.units import format_value
from pondwright.papers import margin
from pondwright.papers.cuts import Profile, cuts_of, profile_of
from pondwright.papers.drawing import Sheet
from pondwright.papers.margin import MARGIN_MM
from pondwright.papers.material import Material
from pondwright.papers.strips import HEIGHTS_MM, Strip, StripSheets, scale_for

CLOSER = 0.7  # of the scale of the longest section, from which on a sheet of its own is worth it

LEGEND = (
    ("line", "existing_index", "existing ground"),
    ("line", "design_index", "finished ground"),
    ("line", "breakline", "dug to, under what covers it"),
    ("hatch", "dig", "dig"),
    ("dots", "placed", "place soil"),
    ("line", "waterlining", "water at rest"),
)
NOTES = (
    "Heights stand as they are: up and along at one scale, nothing is stretched. "
    "Letters stand on the grading plan.",
    margin.CAUTION,
)


def section_sheets(material: Material) -> tuple[Sheet, ...]:
    """Draw all sections of a job.

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
    job = material.job
    profiles = [profile_of(cut, job, material.results) for cut in cuts_of(job, material.results)]
    if not profiles:
        return ()
    paper = margin.A3 if job.shown_units == "metric" else margin.TABLOID
    width = paper.width_mm - 2 * MARGIN_MM - HEIGHTS_MM - 8.0
    own = [scale_for(one.length, width, job.shown_units) for one in profiles]
    far = max(own)
    # Short sections would drown beside a long one: they stand on a sheet of their own, closer.
    near = max((one for one in own if one <= CLOSER * far), default=far)
    sheets = StripSheets(material, "sections", "Sections", far, LEGEND, NOTES)
    for scale in (far, near) if near < far else (far,):
        if scale < far:
            sheets.go_on_at(scale)
        for profile, fits in zip(profiles, own, strict=True):
            if (fits <= near) == (scale == near):
                low, high = profile.heights
                head = f"{profile.cut.letter} – {profile.cut.letter}′   {profile.cut.title}"
                _draw(sheets.strip(0.0, profile.length, low, high, head), profile, material)
    return sheets.sheets()


def _draw(strip: Strip, profile: Profile, material: Material) -> None:
    """One section, from the ground up; words last."""
    shown = material.job.shown_units
    ground = (profile.chainage, profile.ground)
    drawing = strip.drawing
    strip.between(ground, profile.dug_to, lambda area: drawing.hatch(area, "dig", 2.4))
    strip.between(profile.dug_to, ground, lambda area: drawing.dots(area, "placed", 1.7))
    strip.line(*ground, "existing_index")
    if _differ(profile.dug_to, profile.finish):
        strip.line(*profile.dug_to, "breakline")
    strip.line(*profile.finish, "design_index")
    strip.frame(shown)
    for span in profile.spans:
        ends = strip.points(np.array([span.start, span.end]), np.array([span.level, span.level]))
        drawing.line(ends, "frame")
        drawing.keep_clear(ends[0, 0], ends[0, 1] - 0.4, ends[1, 0], ends[1, 1] + 0.4)
    for letter, at in ((profile.cut.letter, 0.0), (f"{profile.cut.letter}′", profile.length)):
        drawing.label(strip.x(at) + (2.4 if at == 0.0 else -2.4), strip.y(strip.high) - 0.2, letter, 3.0)
    for water in profile.waters:
        level = format_value(water.level, ELEVATION, shown)
        if not strip.water(water.start, water.end, water.level, f"{water.name} {level}"):
            x = (strip.x(water.start) + strip.x(water.end)) / 2
            drawing.label(x, strip.y(water.level) - 2.0, level, 2.0)
    for span in profile.spans:
        x, y = (strip.x(span.start) + strip.x(span.end)) / 2, strip.y(span.level)
        words = f"{span.name} {format_value(span.level, ELEVATION, shown)}"
        any(drawing.label(x, y - up, words, 2.0) for up in (2.4, 5.0, 7.6, 10.2))


def _differ(one: tuple[np.ndarray, np.ndarray], other: tuple[np.ndarray, np.ndarray]) -> bool:
    return bool(np.any(np.abs(np.interp(other[0], *one) - other[1]) > 0.02))
