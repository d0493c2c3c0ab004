"""The site report: what the first visit and the survey found, in the order in which a reader asks for it."""

from __future__ import annotations

from collections.abc import Callable

from pondwright.papers import report_ground, report_visit, report_water
from pondwright.papers.drawing import Sheet
from pondwright.papers.material import Material
from pondwright.papers.pages import A4, LETTER, Pages
from pondwright.papers.report_photos import photos

PARTS: tuple[Callable[[Pages, Material], None], ...] = (
    report_visit.who_where_when,
    report_visit.look_first,
    report_visit.wishes,
    report_ground.existing_map,
    report_ground.ground,
    report_ground.levels,
    report_ground.old_hole,
    report_ground.soils_and_water,
    report_water.groundwater,
    report_visit.services,
    report_visit.bounds,
    report_visit.permits,
    report_ground.next_shot,
    report_visit.walk,
    photos,
)
"""Parts of the report in their order; each says what is missing where it has nothing to tell."""

CAUTIONS = (
    "Pits and trenches collapse and bury people: have a competent person look at them daily and after rain, "
    "slope or shore what is deeper than 5 ft (1.5 m), and keep soil 2 ft (0.6 m) back from the edge.",
    "Buried services: nobody digs before they are marked, and nobody digs by machine beside them. "
    "A drawing is no mark.",
    "Water drowns, also shallow water and also on the day of filling: keep children away from an open hole.",
    "Local codes and licensed practice decide about dams, water rights, wetlands, barriers and electricity. "
    "This report is what was seen and worked out, not a survey by a licensed surveyor.",
)


def site_report(material: Material) -> tuple[Sheet, ...]:
    """Write the site report of a job.

    Parameters
    ----------
    material : Material
        Whatever is there; a part without its results says so.

    Returns
    -------
    tuple of Sheet
        A4, or 8.5 x 11 in where feet are shown, named ``site-report``, ``site-report-2`` and so on.
    """
    job = material.job
    paper = A4 if job.shown_units == "metric" else LETTER
    pages = Pages(paper, "Site report", job.name, material.note)
    days = sorted(set(report_visit.visit_days(material)))
    if days:
        seen = f"from {days[0]} to {days[-1]}" if len(days) > 1 else f"on {days[0]}"
        pages.gap(1.0)
        pages.paragraph(f"What was seen and read on site {seen}.")
    for part in PARTS:
        part(pages, material)
    pages.heading("Cautions")
    for words in CAUTIONS:
        pages.paragraph(words)
    return pages.sheets("site-report")
