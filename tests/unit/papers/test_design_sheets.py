"""Sections, unrolled shore, soil plan and grading plan of the examples: true scale, legible, told apart."""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterator
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate

from pondwright.examples import EXAMPLES, example_text
from pondwright.flow.engine import advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.job.tables import standard_bank
from pondwright.papers import Material, material_of, pdf_of, sheets
from pondwright.papers.cuts import cuts_of, profile_of
from pondwright.papers.drawing import Sheet
from pondwright.papers.slopes import shelves
from pondwright.papers.soil_map import MOST_ARROWS, arrows_of
from pondwright.papers.symbols import line_symbols
from pondwright.papers.type_width import text_width
from pondwright.rooms.earth.haul import NOWHERE
from pondwright.rooms.shape.profile import bank_profile

SVG = "{http://www.w3.org/2000/svg}"
KINDS = ("grading-plan", "sections", "shore", "soil-plan", "panel-plan", "stone-plan")
SHAPED = "larkmeadow_shaped"


@cache
def material(name: str) -> Material:
    return material_of(advance(STAGES, None, loads(example_text(name)), Log(), "settle"))


@cache
def drawn(name: str) -> tuple[Sheet, ...]:
    return tuple(sheet for sheet in sheets(material(name)) if re.sub(r"-\d+$", "", sheet.name) in KINDS)


def texts(sheet: Sheet) -> Iterator[tuple[ElementTree.Element, str]]:
    for text in ElementTree.fromstring(sheet.svg).iter(f"{SVG}text"):
        if (text.text or "").strip():
            yield text, text.text or ""


def box_of(text: ElementTree.Element, words: str) -> shapely.Polygon:
    """Paper that a text covers: from its base line to the height of its capitals."""
    size, x, y = (float(text.get(name, "0")) for name in ("font-size", "x", "y"))
    wide = text_width(words, size, bold=text.get("font-weight") == "600")
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")] * wide
    box = shapely.box(left, y - 0.66 * size, left + wide, y)
    turn = re.match(r"rotate\(([-\d.]+) ([-\d.]+) ([-\d.]+)\)", text.get("transform", ""))
    if not turn:
        return box
    angle, about_x, about_y = (float(one) for one in turn.groups())

    return rotate(box, angle, origin=(about_x, about_y))


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_job_with_a_design_prints_all_sheets_of_it(name: str) -> None:
    names = [re.sub(r"-\d+$", "", sheet.name) for sheet in drawn(name)]

    asked = KINDS if material(name).result("stone.takeoff").lines else KINDS[:-1]
    assert list(dict.fromkeys(names)) == list(asked)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_text_is_at_least_two_millimetres_high_and_lies_on_the_sheet(name: str) -> None:
    for sheet in drawn(name):
        page = shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
        for text, words in texts(sheet):
            assert float(text.get("font-size", "0")) >= 2.0
            assert page.covers(box_of(text, words)), (sheet.name, words)


@pytest.mark.parametrize("name", EXAMPLES)
def test_no_text_lies_on_another(name: str) -> None:
    for sheet in drawn(name):
        found = [(words, box_of(text, words)) for text, words in texts(sheet)]
        tree = shapely.STRtree([box for _words, box in found])
        for one, other in tree.query([box for _words, box in found], predicate="intersects").T:
            if one < other:
                common = found[one][1].intersection(found[other][1]).area
                assert common < 0.05, (sheet.name, found[one][0], found[other][0])


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_scale_bar_of_every_sheet_is_as_long_as_it_says(name: str) -> None:
    for sheet in drawn(name):
        if re.fullmatch(r"grading-plan-\d+", sheet.name):
            continue  # lists, drawn at no scale
        all_texts = [(words, float(text.get("x", "0"))) for text, words in texts(sheet)]
        end = next(number for number, (words, _x) in enumerate(all_texts) if re.match(r"(m|ft)\s", words))
        words = all_texts[end][0]
        numbers = [(float(label), x) for label, x in all_texts[end - 5 : end]]
        unit = 0.3048 if words.startswith("ft") else 1.0
        scale = float(words.split("=")[1].split()[0]) * 12 if "=" in words else float(words.split(":")[1])
        drawn_long = numbers[-1][1] - numbers[0][1]

        assert drawn_long == pytest.approx(numbers[-1][0] * unit * 1000 / scale, abs=0.2)


def test_sections_are_drawn_at_their_scale_upward_too() -> None:
    """Neighbouring heights of a strip stand as far apart as the scale says."""
    compared = 0
    for sheet in drawn(SHAPED):
        if not sheet.name.startswith(("sections", "shore")):
            continue
        (told,) = (words for _text, words in texts(sheet) if words.startswith("1 in ="))
        scale = float(told.split()[3]) * 12
        mm = 304.8 / scale
        heights = [
            (float(words), y)
            for text, words in texts(sheet)
            if text.get("text-anchor") == "end" and re.fullmatch(r"[\d.]+", words)
            for y in [float(text.get("y", "0"))]
        ]
        for (low, below), (high, above) in itertools.pairwise(heights):
            if high > low:
                assert below - above == pytest.approx((high - low) * mm, abs=0.03)
                compared += 1
    assert compared > 50


@pytest.mark.parametrize("name", [SHAPED, "garden"])
def test_the_sheets_repeat_to_the_byte(name: str) -> None:
    again = [sheet for sheet in sheets(material(name)) if re.sub(r"-\d+$", "", sheet.name) in KINDS]

    assert tuple(again) == drawn(name)
    assert pdf_of(drawn(name)) == pdf_of(tuple(again))


def test_what_is_dug_is_hatched_and_what_is_placed_is_dotted() -> None:
    for kind in ("grading-plan", "sections", "soil-plan"):
        svg = "".join(sheet.svg for sheet in drawn(SHAPED) if sheet.name.startswith(kind))
        dig, placed = line_symbols()["dig"], line_symbols()["placed"]

        assert len(re.findall(rf'<path [^>]*stroke="{dig.ink}"', svg)) > 50
        assert len(re.findall(rf'<circle [^>]*fill="{placed.ink}"', svg)) > 50
        assert not re.findall(rf'<path [^>]*stroke="{placed.ink}"', svg)


def test_without_sections_of_its_own_a_pond_is_cut_along_and_across() -> None:
    found = material("garden")
    along, across = cuts_of(found.job, found.results)
    way, other = (cut.line[-1] - cut.line[0] for cut in (along, across))

    assert (along.letter, across.letter) == ("A", "B")
    assert abs(way @ other) < 1e-6 * np.hypot(*way) * np.hypot(*other)
    assert np.hypot(*way) >= np.hypot(*other)
    for cut in (along, across):
        profile = profile_of(cut, found.job, found.results)
        (water,) = profile.waters
        pond = found.result("shape.shore").bodies["pond"]
        assert water.level == pond.level and profile.length > water.end - water.start > 3.0


def test_a_section_of_our_own_goes_on_until_the_slopes_have_ended() -> None:
    found = material("upper_field")
    for cut in cuts_of(found.job, found.results):
        profile = profile_of(cut, found.job, found.results)

        for end in (0, -1):
            assert profile.finish[1][end] == pytest.approx(profile.ground[end], abs=0.02)


def test_sections_of_a_job_go_before_those_of_our_own_and_stand_on_the_plan() -> None:
    found = material(SHAPED)
    letters = [cut.letter for cut in cuts_of(found.job, found.results)]
    plan = next(sheet for sheet in drawn(SHAPED) if sheet.name == "grading-plan")
    words = {words for _text, words in texts(plan)}

    assert letters == ["A", "B", "C", "D"] and len(found.job.shape.sections) == 4
    assert set(letters) <= words


def test_a_section_that_leaves_the_ground_is_cut_off_and_one_beside_it_is_left_out() -> None:
    values = json.loads(example_text("garden"))
    values["shape"]["sections"] = {
        "beyond": {"line": [{"east": -500.0, "north": 9.4}, {"east": 500.0, "north": 9.4}]},
        "elsewhere": {"line": [{"east": 900.0, "north": 900.0}, {"east": 950.0, "north": 900.0}]},
    }
    run = advance(STAGES, None, loads(json.dumps(values)), Log(), "settle")
    found = material_of(run)
    (cut,) = cuts_of(found.job, found.results)
    grid = found.result("site.ground").grid

    assert cut.line[:, 0].tolist() == pytest.approx([grid.east[0], grid.east[-1]])


def test_the_stream_stands_in_three_pools_along_its_section() -> None:
    found = material(SHAPED)
    cut = next(one for one in cuts_of(found.job, found.results) if "stream" in one.title)
    waters = profile_of(cut, found.job, found.results).waters
    pools = sorted((water for water in waters if water.name == "The stream"), key=lambda one: one.start)
    levels = [water.level for water in pools]

    assert np.diff(levels).tolist() == pytest.approx([-26 * 0.0254, -18 * 0.0254], abs=2e-4)
    assert all(one.end <= other.start + 0.2 for one, other in itertools.pairwise(pools))


def test_arrows_are_few_and_carry_what_the_haul_plan_moves() -> None:
    for name in EXAMPLES:
        hauls = material(name).result("earth.haul").plan.hauls
        arrows = arrows_of(hauls, 8.0)

        assert len(arrows) <= MOST_ARROWS
        assert sum(arrow.volume for arrow in arrows) == pytest.approx(
            sum(haul.volume for haul in hauls if haul.end.kind != NOWHERE)
        )


def test_arrows_that_bend_are_ways_that_a_machine_drives() -> None:
    hauls = material(SHAPED).result("earth.haul").plan.hauls
    ways = {haul.way for haul in hauls}

    arrows = arrows_of(hauls, 8.0)

    bent = [arrow for arrow in arrows if len(arrow.way) > 2]
    assert bent and all(tuple(map(tuple, arrow.way.tolist())) in ways for arrow in bent)
    driven = sum(arrow.volume * arrow.driven for arrow in arrows)
    assert driven == pytest.approx(sum(haul.volume * haul.distance for haul in hauls))


def test_a_pile_on_paper_is_as_high_as_the_haul_plan_tells() -> None:
    told = material(SHAPED).result("earth.haul").piles["topsoil"]
    words = [words for _text, words in texts(next(one for one in drawn(SHAPED) if one.name == "soil-plan"))]
    height = material(SHAPED).told(told.height)

    assert f"{height} high" in words


def test_the_column_of_the_soil_plan_adds_up() -> None:
    """What is dug and stripped is what goes to banks, piles and gates."""
    sheet = next(one for one in drawn(SHAPED) if one.name == "soil-plan")
    words = [words for _text, words in texts(sheet)]

    def number_after(name: str) -> float:
        """The number that stands behind a name: the name stands on the plan as well."""
        behind = [words[at + 1] for at, one in enumerate(words[:-1]) if one == name]
        return next(float(one.replace(",", "")) for one in behind if re.fullmatch(r"[\d,]+", one))

    gone = ["banks and fills", "Muck, spread to dry", "Soil for later", "Topsoil heap", "Topsoil, north"]
    total = sum(map(number_after, [*gone, "Tip of the county (invented)"]))
    row = words.index("all")
    moved = sum(float(words[row + step].replace(",", "")) for step in (1, 2))

    assert total == pytest.approx(moved, abs=3.0)


def test_the_grading_plan_tells_the_heights_of_the_standard_banks_shelves() -> None:
    """Shelves 0.30 m and 0.70 m below the water, by the table of the standard bank."""
    standard = bank_profile([(corner.distance, corner.depth) for corner in standard_bank()])

    assert [shelf.depth for shelf in shelves(standard)] == pytest.approx([0.30, 0.70])
    assert shelves(bank_profile([(0.0, 0.0), (4.2, 0.6), (6.0, 1.2)])) == []


def test_the_unrolled_shore_flags_the_overflow_and_names_the_banks() -> None:
    shores = [sheet for sheet in drawn(SHAPED) if sheet.name.startswith("shore")]
    words = [words for sheet in shores for _text, words in texts(sheet)]

    assert "overflow: 0.50 ft over the water" in words
    assert {"cut face", "crest 97.98 ft"} <= set(words)  # no height behind the crest is one to build to
    assert "mouth: The stream" in words  # not a place that is too low
    assert not any("\u2212" in one for one in words if one.startswith("low"))
    assert {"Wading edge", "Shelved and stoned", "Planted gravel", "Intake bank", "stream bed"} <= set(words)
    assert {f"p{number:02d}" for number in range(2, 23)} <= set(words)


def test_an_island_is_a_strip_of_its_own_that_looks_inland_for_its_bank() -> None:
    values = json.loads(example_text("garden"))
    corners = [(11.0, 8.7), (12.6, 8.7), (12.6, 10.2), (11.0, 10.2)]
    pegs = [{"id": f"k{at}", "east": east, "north": north} for at, (east, north) in enumerate(corners)]
    values["shape"]["bodies"]["pond"]["islands"] = {"reeds": {"pegs": pegs}}
    found = material_of(advance(STAGES, None, loads(json.dumps(values)), Log(), "settle"))
    shores = [sheet for sheet in sheets(found) if sheet.name.startswith("shore")]
    words = [words for sheet in shores for _text, words in texts(sheet)]

    assert "The pond, island reeds" in words
    assert {"k0", "k1", "k2", "k3"} <= set(words)
    # Were the bank looked for on the side of the water, all of the island would lie below it.
    assert not any(one.startswith("low: \u2212") for one in words)
