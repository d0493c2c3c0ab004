"""Paper from results: true-scale sheets as SVG and PDF, legible in black and white.

Paper and screen share one table of symbols (``symbols.json``) and one font.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from pondwright.papers.drain_map import drain_plan
from pondwright.papers.drain_profile import DRAWN_FROM as DRAINS_FROM
from pondwright.papers.drain_profile import drain_sheets
from pondwright.papers.drawing import Sheet
from pondwright.papers.existing_plan import existing_plan
from pondwright.papers.material import Material, material_of
from pondwright.papers.panel_plan import DRAWN_FROM as PANELS_FROM
from pondwright.papers.panel_plan import panel_sheets
from pondwright.papers.pdf import pdf_of
from pondwright.papers.plan import DRAWN_FROM, grading_sheets
from pondwright.papers.report_photos import photo_hashes
from pondwright.papers.sections import section_sheets
from pondwright.papers.shore import shore_sheets
from pondwright.papers.site_report import site_report
from pondwright.papers.soil_plan import DRAWN_FROM as SOIL_FROM
from pondwright.papers.soil_plan import soil_plan
from pondwright.papers.stone_plan import DRAWN_FROM as STONE_FROM
from pondwright.papers.stone_plan import stone_sheets
from pondwright.papers.yard_list import yard_sheets

__all__ = [
    "Material",
    "Sheet",
    "drain_plan",
    "drain_sheets",
    "existing_plan",
    "grading_sheets",
    "material_of",
    "pages_of",
    "panel_sheets",
    "pdf_of",
    "photo_hashes",
    "section_sheets",
    "sheets",
    "shore_sheets",
    "site_report",
    "soil_plan",
    "stone_sheets",
    "write_papers",
    "yard_sheets",
]


def sheets(material: Material) -> tuple[Sheet, ...]:
    """All sheets that a job can print, in the order in which they are bound.

    Parameters
    ----------
    material : Material

    Returns
    -------
    tuple of Sheet
        The site report always, of whatever is there; the existing plan once there is ground; grading plan,
        sections and unrolled shore once there is a design on it, the soil plan once hauls are planned, plan
        and profiles of drains once there is one; then a panel plan of each liner, the stone plan, and the
        yard list.
    """
    return tuple(_sheets(material))


def _sheets(material: Material) -> Iterator[Sheet]:
    yield from site_report(material)
    if material.result("site.ground") is not None:
        yield existing_plan(material)
    if all(material.result(stage) is not None for stage in DRAWN_FROM):
        yield from grading_sheets(material.job, material.results, material.findings)
        yield from section_sheets(material)
        yield from shore_sheets(material)
    if all(material.result(stage) is not None for stage in SOIL_FROM):
        yield soil_plan(material)
    if all(material.result(stage) is not None for stage in DRAINS_FROM):
        yield from drain_plan(material)
        yield from drain_sheets(material)
    if all(material.result(stage) is not None for stage in PANELS_FROM):
        yield from panel_sheets(material)
    if all(material.result(stage) is not None for stage in STONE_FROM):
        yield from stone_sheets(material)
        yield from yard_sheets(material)


def pages_of(drawn: tuple[Sheet, ...], name: str) -> tuple[Sheet, ...]:
    """Sheets that make up one paper: the sheet of that name and its further pages.

    Parameters
    ----------
    drawn : tuple of Sheet
    name : str

    Returns
    -------
    tuple of Sheet
        Empty if there is no such paper.
    """
    further = re.compile(rf"{re.escape(name)}-\d+")
    return tuple(sheet for sheet in drawn if sheet.name == name or further.fullmatch(sheet.name))


def write_papers(material: Material, folder: Path) -> tuple[Path, ...]:
    """Write every sheet as SVG, and all of them bound as one PDF, into a folder.

    Parameters
    ----------
    material : Material
    folder : Path            Made when it is not there.

    Returns
    -------
    tuple of Path
        The files written, the PDF first.
    """
    drawn = sheets(material)
    folder.mkdir(parents=True, exist_ok=True)
    bound = folder / f"{material.job.id}.pdf"
    bound.write_bytes(pdf_of(drawn))
    written = [bound]
    for sheet in drawn:
        page = folder / f"{material.job.id}-{sheet.name}.svg"
        page.write_text(sheet.svg, "utf-8")
        written.append(page)
    return tuple(written)
