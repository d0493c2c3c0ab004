"""Paper from results: true-scale sheets as SVG and PDF, legible in black and white.

Paper and screen share one table of symbols (``symbols.json``) and one font.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pondwright.base.findings import Finding
from pondwright.job.document import Job
from pondwright.papers.drawing import Sheet
from pondwright.papers.pdf import pdf_of
from pondwright.papers.plan import grading_plan

__all__ = ["Sheet", "grading_plan", "pdf_of", "sheets", "write_papers"]


def sheets(job: Job, results: Mapping[str, Any], findings: Sequence[Finding]) -> tuple[Sheet, ...]:
    """All sheets of a job, in the order in which they are bound.

    Parameters
    ----------
    job : Job
    results : mapping        Results by stage name.
    findings : sequence      All checks.

    Returns
    -------
    tuple of Sheet
    """
    return (grading_plan(job, results, findings),)


def write_papers(
    job: Job, results: Mapping[str, Any], findings: Sequence[Finding], folder: Path
) -> tuple[Path, ...]:
    """Write every sheet as SVG, and all of them bound as one PDF, into a folder.

    Parameters
    ----------
    job : Job
    results : mapping        Results by stage name.
    findings : sequence      All checks.
    folder : Path            Made when it is not there.

    Returns
    -------
    tuple of Path
        The files written, the PDF first.
    """
    drawn = sheets(job, results, findings)
    folder.mkdir(parents=True, exist_ok=True)
    bound = folder / f"{job.id}.pdf"
    bound.write_bytes(pdf_of(drawn))
    written = [bound]
    for sheet in drawn:
        page = folder / f"{job.id}-{sheet.name}.svg"
        page.write_text(sheet.svg, "utf-8")
        written.append(page)
    return tuple(written)
