"""The grading plan of the examples, as paper: true scale, legible, the same each time."""

from __future__ import annotations

import re
import subprocess
from functools import cache
from importlib import resources
from pathlib import Path
from xml.etree import ElementTree

import pytest

from pondwright.flow.engine import advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.papers import Material, pdf_of, write_papers
from pondwright.papers.drawing import Sheet
from pondwright.papers.plan import grading_sheets

SVG = "{http://www.w3.org/2000/svg}"
EXAMPLES = ("larkmeadow", "larkmeadow_shaped", "dozen_shots", "garden", "upper_field")


@cache
def _computed(name: str):  # type: ignore[no-untyped-def]
    job = loads(resources.files("pondwright.examples").joinpath(f"{name}.pond.json").read_text("utf-8"))
    run = advance(STAGES, None, job, Log(), "background")
    findings = [finding for state in run.stages.values() for finding in state.findings]
    return job, {stage: state.result for stage, state in run.stages.items()}, findings


@cache
def _plan(name: str) -> Sheet:
    return grading_sheets(*_computed(name))[0]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_text_is_at_least_two_millimetres_high(name: str) -> None:
    sizes = [
        float(text.get("font-size", "0"))
        for text in ElementTree.fromstring(_plan(name).svg).iter(f"{SVG}text")
    ]

    assert sizes and min(sizes) >= 2.0


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_scale_bar_is_as_long_as_it_says(name: str) -> None:
    root = ElementTree.fromstring(_plan(name).svg)
    texts = [(text.text or "", float(text.get("x", "0"))) for text in root.iter(f"{SVG}text")]
    end = next(number for number, (words, _x) in enumerate(texts) if re.match(r"(m|ft)\s", words))
    words, _x = texts[end]
    numbers = [(float(label), x) for label, x in texts[end - 5 : end]]
    unit = 0.3048 if words.startswith("ft") else 1.0
    scale = float(words.split("=")[1].split()[0]) * 12 if "=" in words else float(words.split(":")[1])
    drawn = numbers[-1][1] - numbers[0][1]

    assert drawn == pytest.approx(numbers[-1][0] * unit * 1000 / scale, abs=0.2)


@pytest.mark.parametrize("name", EXAMPLES)
def test_nothing_but_our_font_is_in_the_pdf_and_it_repeats_to_the_byte(name: str, tmp_path: Path) -> None:
    first, second = pdf_of((_plan(name),)), pdf_of((_plan(name),))
    (tmp_path / "plan.pdf").write_bytes(first)
    fonts = subprocess.run(
        ["pdffonts", tmp_path / "plan.pdf"], capture_output=True, text=True, check=True
    ).stdout

    assert first == second
    assert all("SourceSans3" in line for line in fonts.splitlines()[2:])


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_page_of_the_pdf_has_the_size_of_the_sheet(name: str, tmp_path: Path) -> None:
    sheet = _plan(name)
    (tmp_path / "plan.pdf").write_bytes(pdf_of((sheet,)))
    told = subprocess.run(
        ["pdfinfo", tmp_path / "plan.pdf"], capture_output=True, text=True, check=True
    ).stdout
    width, height = (float(one) for one in re.findall(r"Page size:\s+([\d.]+) x ([\d.]+) pts", told)[0])

    assert (width * 25.4 / 72, height * 25.4 / 72) == pytest.approx(
        (sheet.width_mm, sheet.height_mm), abs=0.02
    )


def test_papers_are_written_as_one_pdf_and_one_svg_a_sheet(tmp_path: Path) -> None:
    written = write_papers(Material(*_computed("larkmeadow")), tmp_path / "papers")
    names = [path.name for path in written]

    assert names[:2] == ["larkmeadow.pdf", "larkmeadow-site-report.svg"]
    last = ("existing-plan", "grading-plan", "grading-plan-2", "sections", "shore", "soil-plan")
    last += ("drain-plan", "drains", "panel-plan")
    assert names[-11:] == [f"larkmeadow-{name}.svg" for name in (*last, "stone-plan", "yard-list")]
    # The last page of the report may be short, but it is never only its foot: two lines of words.
    pages = [path for path in written if "-site-report-" in path.name]
    assert all(path.read_text("utf-8").count("<text") > 4 for path in pages)
    assert all(path.stat().st_size > 10_000 for path in written if path not in pages)


def test_hostile_words_stay_words() -> None:
    job, results, findings = _computed("larkmeadow")
    hostile = job.model_copy(update={"name": '<script>alert("x")</script> & #image("/etc/passwd")'})

    root = ElementTree.fromstring(grading_sheets(hostile, results, findings)[0].svg)

    assert not list(root.iter(f"{SVG}script"))
    assert any('<script>alert("x")</script>' in (text.text or "") for text in root.iter(f"{SVG}text"))
