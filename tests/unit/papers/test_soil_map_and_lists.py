"""Soil plan, lists of lines and drains, points to set out: what is drawn is told once and can be found."""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright.base.findings import Grade
from pondwright.geometry.surface import surface_at
from pondwright.job.places import LinePlace
from pondwright.papers import (
    Material,
    drain_plan,
    drain_sheets,
    existing_plan,
    grading_sheets,
    plan_words,
    soil_plan,
)
from pondwright.papers.bound_list import bound_rows, free_place, list_on_map
from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, TITLE_MM
from pondwright.papers.soil_map import APART_MM, SHORTEST_MM, cut_at
from pondwright.papers.window import Window
from tests.unit.papers.test_design_sheets import SHAPED, SVG, box_of, drawn, material, texts

FOOT = 0.3048
WINDOW = Window(0.0, 0.0, 200.0, 150.0, 0.0, 0.0, 1000.0)


def soil(name: str) -> Sheet:
    return next(sheet for sheet in drawn(name) if sheet.name == "soil-plan")


def words_of(sheet: Sheet) -> list[str]:
    return [words for _text, words in texts(sheet)]


def on_the_map(sheet: Sheet) -> list[tuple[str, shapely.Polygon]]:
    right, bottom = sheet.width_mm - MARGIN_MM - COLUMN_MM, sheet.height_mm - MARGIN_MM - TITLE_MM
    found = [(words, box_of(text, words)) for text, words in texts(sheet)]
    return [(words, box) for words, box in found if box.bounds[2] < right and box.bounds[3] < bottom]


def areas(sheet: Sheet, opacity: str) -> Iterator[shapely.Geometry]:
    """Arrows are told by how much of what lies under them shows, and so are piles."""
    for path in ElementTree.fromstring(sheet.svg).iter(f"{SVG}path"):
        if path.get("fill-opacity") == opacity:
            corners = re.findall(r"([-\d.]+) ([-\d.]+)", path.get("d", ""))
            yield shapely.make_valid(shapely.Polygon([(float(x), float(y)) for x, y in corners]))


@pytest.mark.parametrize("name", [SHAPED, "upper_field"])
def test_words_of_the_soil_plan_lie_on_no_arrow_and_each_arrow_has_its_own(name: str) -> None:
    arrows, found = list(areas(soil(name), "0.85")), on_the_map(soil(name))
    told = [words for words, _box in found if re.fullmatch(r"[\d.,]+, [\d.,]+\s(ft|m)", words)]

    assert len(arrows) > 5 and len(told) == len(arrows)
    for arrow in arrows:
        for words, box in found:
            assert box.intersection(arrow).area < 0.05, words


def test_arrows_end_at_the_edge_of_a_pile_and_its_words_stand_in_it() -> None:
    sheet, job = soil(SHAPED), material(SHAPED).job
    piles, found = list(areas(sheet, "0.7")), on_the_map(sheet)

    assert len(piles) == len(job.earth.piles) == 4
    for arrow in areas(sheet, "0.85"):
        assert all(arrow.intersection(pile).area < 0.05 for pile in piles)
    for pile, row in zip(piles, job.earth.piles.values(), strict=True):
        assert any(words == row.name and pile.covers(box) for words, box in found), row.name
    touched = [pile for pile in piles if any(pile.distance(one) < 1.0 for one in areas(sheet, "0.85"))]
    assert len(touched) == 4


@given(
    start=st.tuples(st.floats(min_value=-60.0, max_value=60.0), st.floats(min_value=-60.0, max_value=60.0)),
    bend=st.tuples(st.floats(min_value=-60.0, max_value=60.0), st.floats(min_value=-60.0, max_value=60.0)),
)
@settings(max_examples=60)
def test_a_way_is_cut_before_the_pile_and_never_longer_or_bent_otherwise(
    start: tuple[float, float], bend: tuple[float, float]
) -> None:
    pile, way = shapely.box(-8.0, -5.0, 8.0, 5.0), shapely.LineString([start, bend, (0.0, 0.0)])
    cut = cut_at(way, [pile])

    assert cut.length <= way.length + 1e-9
    assert way.buffer(1e-6).covers(cut)
    if pile.contains(shapely.Point(start)):
        assert cut == way
    elif cut.length > SHORTEST_MM + 1e-6:
        assert pile.distance(shapely.Point(cut.coords[-1])) == pytest.approx(APART_MM, abs=0.02)
    assert cut_at(way, []) == way


def test_the_soil_plan_names_its_lines_and_a_plan_tells_which_lie_off_its_sheet() -> None:
    found = material(SHAPED)
    names = [row.name for row in found.job.site.bounds.values()]

    told = words_of(soil(SHAPED))
    start = told.index("Lines not to cross")
    rows = [one for number, name in enumerate(names, start=1) for one in (f"L{number}", name)]
    assert told[start + 1 : start + 1 + len(rows)] == rows
    for sheet in (existing_plan(found), next(drain_plan(found))):
        off = [words for words in words_of(sheet) if words.endswith(", off this sheet")]
        assert off == ["Septic field of the neighbour, off this sheet"]


def test_a_line_is_off_the_sheet_exactly_where_the_window_shows_nothing_of_it() -> None:
    job = material(SHAPED).job
    wide = Window(0.0, 0.0, 400.0, 400.0, 0.0, 0.0, 1000.0)
    away = Window(0.0, 0.0, 200.0, 150.0, 5000.0, 5000.0, 1000.0)

    assert not any("off this sheet" in words for _mark, words in bound_rows(job))
    assert not any("off this sheet" in words for _mark, words in bound_rows(job, wide))
    assert all(words.endswith(", off this sheet") for _mark, words in bound_rows(job, away))


def test_lines_that_have_no_room_for_a_list_are_told_where_they_are_named() -> None:
    found = material("garden")
    first = next(iter(found.job.site.bounds.values()))
    site = found.job.site.model_copy(update={"bounds": {f"line_{at}": first for at in range(90)}})
    crowded = Material(found.job.model_copy(update={"site": site}), found.results)
    told = " ".join(words_of(soil_plan(crowded)))

    assert "The lines not to cross are named on the setting-out sheet of the grading plan." in told
    assert "setting-out sheet" not in " ".join(words_of(soil("garden")))
    listed = words_of(grading_sheets(crowded.job, crowded.results, ())[1])
    assert {f"L{number}" for number in range(1, 91)} <= set(listed)


@given(
    st.lists(
        st.tuples(st.floats(min_value=5.0, max_value=195.0), st.floats(min_value=5.0, max_value=145.0)),
        min_size=2,
        max_size=8,
    )
)
@settings(max_examples=40)
def test_a_free_place_is_free_and_none_is_told_only_where_the_map_is_full(
    corners: list[tuple[float, float]],
) -> None:
    drawing, line = Drawing(200.0, 150.0), np.array(corners)
    drawing.line(line, "shoreline")
    drawing.keep_clear(0.0, 0.0, 60.0, 40.0)
    place = free_place(drawing, WINDOW, 30.0, 20.0)

    if place is not None:
        box = shapely.box(*place, place[0] + 30.0, place[1] + 20.0)
        assert shapely.box(0.0, 0.0, 200.0, 150.0).covers(box)
        assert not box.intersects(shapely.LineString(line))
        assert not box.intersects(shapely.box(0.0, 0.0, 60.0, 40.0))
    drawing.keep_clear(0.0, 0.0, 200.0, 150.0)
    assert free_place(drawing, WINDOW, 30.0, 20.0) is None
    assert not list_on_map(drawing, WINDOW, [("L1", "The plot")], [])


def test_each_drain_has_a_mark_on_its_line_in_the_list_and_over_its_profile() -> None:
    found = material(SHAPED)
    names = [row.name for row in found.job.groundwater.drains.values()]
    sheet = next(drain_plan(found))
    told, on_map = words_of(sheet), [words for words, _box in on_the_map(sheet)]
    profiles = [words for one in drain_sheets(found) for words in words_of(one)]

    assert len(names) == 4
    for number, name in enumerate(names, start=1):
        assert told[told.index(f"D{number}") + 1].startswith(name)
        assert sum(words.startswith(f"D{number}, ") for words in on_map) == 1
        assert f"D{number}  {name}" in profiles


@pytest.mark.parametrize("name", [SHAPED, "garden"])
def test_the_depth_of_a_water_is_one_number_on_the_map_and_beside_it(name: str) -> None:
    found = material(name)
    told = words_of(next(sheet for sheet in drawn(name) if sheet.name == "grading-plan"))
    held = found.result("shape.storage").bodies
    plain = {words.replace("\u202f", " ").replace("\u00a0", " ") for words in told}
    for body_name, body in found.result("shape.shore").bodies.items():
        if body.stream is None:
            depth = found.told(held[body_name].greatest_depth).replace("\u00a0", " ").replace("\u202f", " ")
            assert any(re.search(rf"(^|, ){re.escape(depth)} deep$", words) for words in plain), body_name
    if name == SHAPED:
        assert "floor 91.40 falling to 90.78 ft" in plain and "low spot 90.78 ft" in plain
        assert not any("5.60 ft deep" in words for words in plain)


def test_checks_that_a_driver_reads_stand_before_those_of_the_yard() -> None:
    found = material(SHAPED)
    told = " ".join(
        words
        for sheet in plan_words.setting_out(found.job, found.results, found.findings, "")
        for words in words_of(sheet)
    )
    raised = [one for one in found.findings if one.grade is Grade.LOOK and not one.accepted]
    dig = [one for one in raised if one.code.startswith(("earth.", "shape.", "site.service"))]
    yard = [one for one in raised if one.code.startswith(("stone.", "lining.", "brief."))]

    assert len(dig) > 8 and len(yard) > 8
    assert all(" ".join(one.says.replace("`", "").split()[:6]) in told for one in dig)
    assert not any(one.says.replace("`", "") in told for one in yard)
    first = next(one for one in dig if one.code == "earth.excavation").says
    assert told.index(first[:30]) == min(told.index(" ".join(one.says.split()[:6])) for one in dig)


def test_ways_gates_mounds_low_spots_seats_and_sections_have_east_and_north() -> None:
    found = material(SHAPED)
    job, ground, grading = found.job, found.result("site.ground"), found.result("shape.grading")
    told = [words for sheet in grading_sheets(job, found.results, ())[1:] for words in words_of(sheet)]

    def after(mark: str, count: int) -> list[float]:
        at = told.index(mark)
        return [float(one) for one in told[at + 1 : at + 1 + count]]

    for number, way in enumerate(job.shape.ways.values(), start=1):
        if isinstance(way.place, LinePlace):
            for at, point in enumerate(way.place.points, start=1):
                place = [point.east / FOOT, point.north / FOOT]
                assert after(f"W{number}.{at}", 2) == pytest.approx(place, abs=0.006)
    assert after("W1.1", 3)[2] == pytest.approx(98.20) and after("W11.3", 3)[2] == pytest.approx(99.35)
    assert after("W10, 4.00 ft wide", 2) == pytest.approx([464.0, 415.5])
    mound = job.shape.mounds["falls"].place.curve.pegs[0]
    height = surface_at(grading.z, ground.grid, np.array([[mound.east, mound.north]]))[0]
    assert after("m01", 3) == pytest.approx([362.0, 446.0, height / FOOT], abs=0.006)
    low = told.index("Low spots")
    assert float(told[told.index("The pond", low) + 3]) == pytest.approx(90.78)
    ends = [(line.line[0], line.line[-1]) for line in job.shape.sections.values()]
    for letter, (first, last) in zip("ABCD", ends, strict=True):
        assert after(letter, 2) == pytest.approx([first.east / FOOT, first.north / FOOT], abs=0.006)
        assert after(f"{letter}′", 2) == pytest.approx([last.east / FOOT, last.north / FOOT], abs=0.006)
    assert "Reading circle" in told and "Memorial seat" in told
