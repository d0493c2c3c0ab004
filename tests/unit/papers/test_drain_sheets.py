"""Profiles of drains on paper: whole, to scale, and legible."""

import itertools
import re

import pytest
import shapely

from pondwright.papers.drain_profile import drain_sheets
from pondwright.papers.material import Material
from pondwright.rooms.groundwater.stage.profiles import profiles_stage
from tests.unit.groundwater.drained import View, drained_values, ground_of
from tests.unit.papers.test_design_sheets import box_of, texts


def drawn(values, shown="metric"):
    job, results = ground_of({**values, "shown_units": shown})
    results["groundwater.profiles"], _ = profiles_stage(View(job), results)
    return drain_sheets(Material(job, results))


@pytest.mark.parametrize("shown", ["metric", "us", "us_inch"])
def test_a_profile_is_one_sheet_with_its_falls_and_bottoms(shown):
    [sheet] = drawn(drained_values(outlet={"flood": 97.9}), shown)

    words = re.findall(r">([^<>]+)</text>", sheet.svg)
    assert sheet.name == "drains"
    assert "2.00 %" in words
    assert ("97.70" if shown == "metric" else "320.54") in words
    assert any(word.startswith("flood 9") or word.startswith("flood 3") for word in words)
    assert any("times as tall" in word for word in words)


def test_no_text_is_smaller_than_two_millimetres():
    [sheet] = drawn(drained_values(outlet={"flood": 97.9}))

    assert min(map(float, re.findall(r'font-size="([\d.]+)"', sheet.svg))) >= 2.0


@pytest.mark.parametrize("flood", [96.5, 97.72, 97.9, 98.6, 99.6])
@pytest.mark.parametrize("shown", ["metric", "us_inch"])
def test_no_words_lie_on_others_however_high_the_flood_stands(flood, shown):
    [sheet] = drawn(drained_values(outlet={"flood": flood}), shown)

    found = [(words, box_of(text, words)) for text, words in texts(sheet)]
    for (one, box), (other, beside) in itertools.combinations(found, 2):
        assert box.intersection(beside).area < 0.05, (one, other)
    page = shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
    assert all(page.covers(box) for _words, box in found)


def test_a_drain_into_a_sump_has_a_profile_without_a_flood():
    sump = {"place": {"at": "point", "east": 15.0, "north": 1.0}, "on": 97.9, "off": 97.5, "pump": 0.002}
    [sheet] = drawn(drained_values(drain={"into": "pit"}, sumps={"pit": sump}))

    words = [words for _text, words in texts(sheet)]
    assert any("runs into pit" in one for one in words)
    assert not any(one.startswith("flood 9") for one in words)


def test_a_job_without_a_drain_has_no_such_sheet():
    values = drained_values()
    del values["groundwater"]["drains"]

    assert drawn(values) == ()


def sheets_of(number_of_drains):
    values = drained_values()
    drain = values["groundwater"]["drains"]["relief"]
    values["groundwater"]["drains"] = {f"relief_{number}": drain for number in range(number_of_drains)}

    return drawn(values)


def test_four_drains_share_a_sheet_side_by_side_and_one_under_another():
    [sheet] = sheets_of(4)

    tables = re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>distance, m<', sheet.svg)
    assert len(tables) == 4
    assert len({x for x, _y in tables}) > 1 and len({y for _x, y in tables}) > 1


def test_many_drains_fill_several_sheets():
    sheets = sheets_of(20)

    assert [sheet.name for sheet in sheets] == ["drains", *(f"drains-{n}" for n in range(2, len(sheets) + 1))]
    assert len(sheets) > 1
