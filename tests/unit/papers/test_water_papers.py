"""Water in the ground on paper: drain profiles, drains and readings on the plans, its part of the report."""

import itertools
import re
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely

from pondwright.job.codec import loads
from pondwright.papers import sheets
from pondwright.papers.drawing import Drawing
from pondwright.papers.material import Material
from pondwright.papers.pages import Pages
from pondwright.papers.report_water import groundwater
from pondwright.papers.site_report import LETTER
from pondwright.papers.symbols import line_symbols, sign_symbols
from tests.unit.papers.test_design_sheets import SHAPED, SVG, box_of, material, texts

PLANS = ("existing-plan", "grading-plan", "drain-plan")
PROFILE_LINES = ("existing_index", "design_index", "wall", "thin", "crest", "flood")


@cache
def sheet(name):
    return next(one for one in sheets(material(SHAPED)) if one.name == name)


@cache
def report():
    return tuple(one for one in sheets(material(SHAPED)) if one.name.startswith("site-report"))


def words_of(*pages):
    return " ".join(words.replace("\u00a0", " ") for page in pages for _text, words in texts(page))


def strokes(drawn, name):
    """Lines of a sheet that are drawn with a symbol."""
    mark = line_symbols()[name]
    dash = " ".join(f"{part * mark.width_mm:.3f}" for part in mark.dash) or None
    for path in ElementTree.fromstring(drawn.svg).iter(f"{SVG}path"):
        if (path.get("stroke"), path.get("stroke-width"), path.get("stroke-dasharray")) == (
            mark.ink,
            f"{mark.width_mm:g}",
            dash,
        ):
            numbers = [float(one) for one in re.findall(r"-?[\d.]+", path.get("d", ""))]
            yield shapely.LineString(np.array(numbers).reshape(-1, 2))


def test_all_drains_of_larkmeadow_stand_on_one_sheet_that_is_well_filled():
    names = [one.name for one in sheets(material(SHAPED)) if one.name.startswith("drains")]
    ys = [float(text.get("y")) for text, words in texts(sheet("drains")) if words == "fall"]

    assert names == ["drains"]
    assert len(ys) == len(material(SHAPED).results["groundwater.profiles"].lines)
    assert max(ys) > 0.6 * (sheet("drains").height_mm - 56.0)


def test_lengths_and_heights_of_a_profile_are_at_the_scale_that_is_told():
    drawn, found = sheet("drains"), material(SHAPED).results["groundwater.profiles"].lines
    told = words_of(drawn)
    scale = 12.0 * float(re.search(r"1 in = ([\d.]+) ft", told).group(1))
    tall = float(re.search(r"([\d.]+) times as tall", told).group(1))
    pipes = [line for line in strokes(drawn, "wall") if line.bounds[2] - line.bounds[0] > 20.0][: len(found)]

    for profile, line in zip(found.values(), pipes, strict=True):
        left, top, right, bottom = line.bounds
        assert right - left == pytest.approx(profile.length * 1000.0 / scale, abs=0.02)
        fall = profile.upper - profile.lower
        assert bottom - top == pytest.approx(fall * 1000.0 / scale * tall, abs=0.02)


@pytest.mark.parametrize("name", ["drains", *PLANS])
def test_texts_are_legible_and_none_lies_on_another(name):
    found = [(words, box_of(text, words)) for text, words in texts(sheet(name))]
    sizes = [float(text.get("font-size")) for text, _words in texts(sheet(name))]

    assert min(sizes) >= 2.0
    tree = shapely.STRtree([box for _words, box in found])
    for one, other in tree.query([box for _words, box in found], predicate="intersects").T:
        if one < other:
            common = found[one][1].intersection(found[other][1]).area
            assert common < 0.05, (found[one][0], found[other][0])


def test_words_of_floods_and_eyes_stand_clear_of_the_lines_of_pipe_ground_and_water():
    drawn = sheet("drains")
    found = [
        (words, box_of(text, words))
        for text, words in texts(drawn)
        if words == "rodding eye" or (words.startswith("flood ") and words[6].isdigit())
    ]
    drawn_lines = [line for name in PROFILE_LINES for line in strokes(drawn, name)]

    assert {words for words, _box in found} == {"rodding eye", "flood 89.60 ft"}
    for (words, box), line in itertools.product(found, drawn_lines):
        assert box.intersection(line).length < 0.1, words
    for (words, box), water in itertools.product(found, strokes(drawn, "waterlining")):
        assert not box.intersects(water), words


def test_no_eye_of_larkmeadow_comes_up_through_a_liner():
    for profile in material(SHAPED).results["groundwater.profiles"].lines.values():
        for eye in profile.eyes:
            assert not profile.lined[int(np.argmin(np.abs(profile.chainage - eye)))]


def test_a_rest_of_pipe_too_short_to_use_is_not_told():
    laid = [float(one) for one in re.findall(r"of it ([\d.]+) ft on hand", words_of(sheet("drains")))]

    assert laid and min(laid) > 3.28


def test_the_existing_plan_shows_where_the_groundwater_was_read_and_what_is_there():
    told = words_of(sheet("existing-plan"))

    for words in (
        "Standpipe 1, north-west",
        "dry 97.80 ft, wet 99.10 ft",
        "outlet 88.40 ft",
        "standpipe",
        "seep",
        "ditch",
    ):
        assert words in told
    assert "drain, slotted" not in told
    assert "bottom" not in told


def test_the_drain_plan_shows_new_drains_with_their_bottoms_and_their_outlet():
    told = words_of(sheet("drain-plan"))

    for words in (
        "bottom 90.66 ft",
        "bottom 89.58 ft",
        "outlet 88.40 ft",
        "drain, slotted",
        "drain, solid pipe",
    ):
        assert words in told
    assert told.count("88.40 ft") == 1
    assert "standpipe" not in told
    assert any(True for _ in strokes(sheet("drain-plan"), "drain"))


def test_the_grading_plan_shows_where_new_drains_run_and_leaves_their_words_to_the_drain_plan():
    told = words_of(sheet("grading-plan"))

    assert "drain, slotted" in told
    assert "bottom" not in told and "outlet" not in told
    assert any(True for _ in strokes(sheet("grading-plan"), "drain"))


def test_slotted_and_solid_pipe_and_all_signs_differ_without_colour():
    drain, solid = line_symbols()["drain"], line_symbols()["drain_solid"]
    shapes = [tuple((kind, str(numbers)) for kind, numbers in sign.parts) for sign in sign_symbols().values()]

    assert drain.dash != solid.dash
    assert len(set(shapes)) == len(shapes)


@pytest.mark.parametrize("name", sorted(sign_symbols()))
def test_a_sign_stands_with_its_middle_on_its_place_as_wide_as_the_table_says(name):
    drawing = Drawing(50.0, 40.0)
    drawing.sign(20.0, 15.0, name)
    numbers = []
    for mark in ElementTree.fromstring(drawing.sheet("s", "s").svg):
        if mark.tag == f"{SVG}path":
            numbers += re.findall(r"-?[\d.]+ -?[\d.]+", mark.get("d"))
        elif mark.tag == f"{SVG}circle":
            numbers.append(f"{mark.get('cx')} {mark.get('cy')}")
    points = np.array([one.split() for one in numbers], dtype=float)

    assert np.abs(points - [20.0, 15.0]).max() <= sign_symbols()[name].width_mm / 2
    assert points[:, 0].mean() == pytest.approx(20.0, abs=0.4)


def test_the_report_tells_what_was_read_and_whether_the_model_meets_it():
    told = words_of(*report())

    assert "Groundwater" in told
    assert "97.80 ft" in told and "99.10 ft" in told
    assert "dry: met, wet: met" in told
    assert "gpm measured in the wet season, where the model has" in told


def test_the_report_tells_of_each_liner_in_use_and_emptied_as_the_results_have_it():
    told, found = words_of(*report()), material(SHAPED)
    marks = [
        case.mark_likely
        for body in found.results["groundwater.range"].bodies.values()
        for case in (body.cases["wet_working"], body.cases["dry_working"])
    ]

    assert "do not pump below, wet" in told
    for name, body in found.results["groundwater.range"].bodies.items():
        mark = body.cases["wet_working"].mark_likely
        if mark is not None and mark < found.results["shape.shore"].bodies[name].level:
            assert found.level(mark).replace("\u00a0", " ") in told
    assert ("may be emptied" in told) == any(mark is None for mark in marks)


def test_the_report_tells_how_the_dig_is_kept_dry():
    told, found = words_of(*report()), material(SHAPED).results["groundwater.pumping"]

    assert f"dig, {found.season} season" in told
    assert "Where the pumped water goes" in told and ".." not in told
    assert "The old pond holds" in told


def test_a_job_that_nobody_read_is_told_so():
    text = '{"format": 1, "id": "trial", "name": "trial", "demo": true}'
    pages = Pages(LETTER, "Site report", "trial", "")
    groundwater(pages, Material(loads(text), {}))

    assert "Nobody has read the groundwater yet" in words_of(*pages.sheets("site-report"))
