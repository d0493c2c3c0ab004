"""Plans to dig by: words clear of pegs, shores and arrows; heights and slopes as the model has them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright.geometry.contour import contours
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.places import LinePlace, Point
from pondwright.job.shape import Way
from pondwright.papers import Material, existing_plan, grading_sheets, plan_words
from pondwright.papers.drawing import INK, Drawing, Sheet
from pondwright.papers.labels import Labels
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, TITLE_MM
from pondwright.papers.slopes import Ground, Shore, even_slopes, sides, way_slope
from pondwright.papers.symbols import line_symbols
from tests.unit.papers.test_design_sheets import SHAPED, SVG, box_of, drawn, material, texts

PLANNED = (SHAPED, "larkmeadow", "garden", "upper_field")
BOUNDS = [
    "boundary",
    "setback",
    "easement",
    "septic",
    "well",
    "flood",
    "wetland",
    "stream",
    "tree",
    "not_to_cross",
]
SERVICES = [
    f"service_{one}"
    for one in ["electric", "gas", "communications", "water", "irrigation", "sewer", "drain", "heat"]
]


def plan(name: str) -> Sheet:
    return next(sheet for sheet in drawn(name) if sheet.name == "grading-plan")


def words_on_the_map(sheet: Sheet) -> list[tuple[str, shapely.Polygon]]:
    """Words of the plan itself, and the paper that each covers."""
    right = sheet.width_mm - MARGIN_MM - COLUMN_MM
    bottom = sheet.height_mm - MARGIN_MM - TITLE_MM
    found = [(words, box_of(text, words)) for text, words in texts(sheet)]
    return [(words, box) for words, box in found if box.bounds[2] < right and box.bounds[3] < bottom]


def paths(sheet: Sheet) -> Iterator[tuple[ElementTree.Element, np.ndarray]]:
    for path in ElementTree.fromstring(sheet.svg).iter(f"{SVG}path"):
        for piece in re.findall(r"M([^MZ]+)", path.get("d", "")):
            yield path, np.array([[float(one) for one in corner.split()] for corner in piece.split("L")])


def strokes(sheet: Sheet, symbol: str) -> list[shapely.LineString]:
    mark = line_symbols()[symbol]
    told = (mark.ink, f"{mark.width_mm:g}", bool(mark.dash))
    return [
        shapely.LineString(points)
        for path, points in paths(sheet)
        if (path.get("stroke"), path.get("stroke-width"), path.get("stroke-dasharray") is not None) == told
        and len(points) > 1
    ]


def circles(sheet: Sheet, radius: float) -> list[shapely.Polygon]:
    return [
        shapely.Point(float(one.get("cx", "")), float(one.get("cy", ""))).buffer(radius)
        for one in ElementTree.fromstring(sheet.svg).iter(f"{SVG}circle")
        if float(one.get("r", "")) == radius
    ]


def arrow_heads(sheet: Sheet) -> list[shapely.Polygon]:
    return [
        shapely.Polygon(points)
        for path, points in paths(sheet)
        if path.get("fill") == INK and len(points) == 3
    ]


@pytest.mark.parametrize("name", PLANNED)
def test_no_word_of_the_grading_plan_lies_on_a_peg_a_shore_a_fall_or_an_arrow(name: str) -> None:
    sheet = plan(name)
    found = words_on_the_map(sheet)
    tree = shapely.STRtree([box for _words, box in found])
    marks = [*circles(sheet, 0.7), *arrow_heads(sheet)]
    lines = [line for symbol in ("shoreline", "fall", "slope") for line in strokes(sheet, symbol)]

    assert len(marks) > 10 and len(lines) > 5
    for shape in (*marks, *lines):
        for at in tree.query(shape, predicate="intersects"):
            assert found[at][1].intersection(shape).length < 0.1, found[at][0]


@pytest.mark.parametrize("name", PLANNED)
def test_no_leader_runs_through_other_words(name: str) -> None:
    sheet = plan(name)
    found = words_on_the_map(sheet)
    for leader in strokes(sheet, "leader"):
        for words, box in found:
            assert box.intersection(leader).length < 0.1, words


def test_the_corner_of_the_stream_and_the_intake_pool_have_all_their_words() -> None:
    told = [words for words, _box in words_on_the_map(plan(SHAPED))]
    pegs = [
        f"{letter}{number:02d}"
        for letter, count in (("c", 6), ("i", 6), ("w", 8), ("p", 22))
        for number in range(1, count + 1)
    ]

    assert set(pegs) <= set(told)
    assert {
        "The stream",
        "pool 101.37 ft",
        "pool 99.20 ft",
        "pool 97.70 ft",
        "fall 2.17 ft",
        "fall 1.50 ft",
    } <= set(told)
    assert {
        "Intake pool",
        "Planted wetland",
        "Mound beside the falls",
        "shelf 96.00",
        "low spot 90.78 ft",
    } <= set(told)
    assert not any("No room" in words for _text, words in texts(plan(SHAPED)))


def test_every_water_has_slopes_heights_of_shelf_crest_and_toe_and_its_level_in_the_title_strip() -> None:
    told = [words for words, _box in words_on_the_map(plan(SHAPED))]
    strip = [
        words
        for _text, words in texts(plan(SHAPED))
        if "101.37 ft, " in words or "The stream 101.37" in words
    ]

    assert told.count("3:1") > 10 and "10:1" in told and "24.5:1" in told
    for begin in ("shelf", "crest", "toe", "top of cut"):
        assert any(re.fullmatch(rf"{begin} \d+\.\d\d", words) for words in told), begin
    assert any("The pond 97.00 ft" in words for words in strip)


@pytest.mark.parametrize("name", ["garden", "upper_field", "larkmeadow"])
def test_ratios_on_the_plan_are_those_of_the_design(name: str) -> None:
    """Banks under water, wet side of the berm, dug and placed slopes; nothing else is told."""
    own = {2.0}
    for body in material(name).result("shape.grading").bodies.values():
        profile, bank = body.profile, body.bank
        falls = np.diff(profile.depths) / np.diff(profile.knots)
        own |= {bank.slope_in, bank.cut, bank.fill, *(1.0 / falls[falls > 0.0])}
    told = [
        float(words[:-2]) for words, _box in words_on_the_map(plan(name)) if re.fullmatch(r"[\d.]+:1", words)
    ]

    assert len(told) >= 4
    for ratio in told:
        assert min(abs(ratio - one) for one in own) <= 0.051, ratio


@pytest.mark.parametrize("name", ["garden", "upper_field"])
def test_heights_on_the_plan_are_those_of_the_finish_and_toes_lie_on_the_ground(name: str) -> None:
    found = material(name)
    ground, grading = found.result("site.ground"), found.result("shape.grading")
    made = Ground(grading.z, ground.z, ground.grid)
    for body_name, body in found.result("shape.shore").bodies.items():
        shore = Shore(body.rings[0], body, grading.bodies[body_name])
        heights = [height for side in sides(made, shore, 5, shapely.Point()) for height in side.heights]

        assert {height.words for height in heights} & {"toe", "top of cut"}
        for height in heights:
            place = height.place[None, :]
            assert surface_at(grading.z, ground.grid, place)[0] == pytest.approx(height.z, abs=0.03)
            if height.words in ("toe", "top of cut"):
                assert surface_at(ground.z, ground.grid, place)[0] == pytest.approx(height.z, abs=0.01)


@given(
    ratio=st.floats(min_value=1.0, max_value=20.0),
    bearing=st.floats(min_value=0.0, max_value=2 * np.pi),
    aside=st.floats(min_value=-1.5, max_value=1.5),
)
@settings(max_examples=40)
def test_a_cut_down_a_plane_tells_its_slope_and_one_across_it_tells_nothing(
    ratio: float, bearing: float, aside: float
) -> None:
    grid = Grid(origin_east=-6.0, origin_north=-6.0, spacing=0.5, columns=25, rows=25)
    east, north = np.meshgrid(grid.east, grid.north)
    down = np.array([np.cos(bearing), np.sin(bearing)])
    z = -(east * down[0] + north * down[1]) / ratio
    way = np.array([np.cos(bearing + aside), np.sin(bearing + aside)])
    found = even_slopes(z, grid, -4.0 * way, 4.0 * way)

    if abs(aside) < 0.02:
        (one,) = found
        assert one.ratio == pytest.approx(ratio, rel=1e-3)
        assert (one.low - one.high) @ down > 7.9
    elif abs(aside) > 0.36:
        assert found == []


def test_a_slope_read_near_one_of_the_design_is_told_as_that_and_a_short_other_one_not_at_all() -> None:
    grid = Grid(origin_east=0.0, origin_north=0.0, spacing=0.5, columns=21, rows=5)
    east, _north = np.meshgrid(grid.east, grid.north)
    start, end = np.array([0.0, 1.0]), np.array([10.0, 1.0])

    (one,) = even_slopes(-east / 2.9, grid, start, end, [3.0])
    assert one.ratio == 3.0
    short = np.where(east < 1.5, -east / 5.0, -0.3)
    assert even_slopes(short, grid, start, end, [3.0]) == []


def test_a_level_way_has_no_arrow_and_a_ramp_points_down() -> None:
    line = np.array([[0.0, 0.0], [6.0, 0.0]])
    ramp = way_slope(line, (2.0, 1.5))

    assert way_slope(line, (2.0, 2.0)) is None
    assert ramp is not None and ramp.ratio == 12.0 and ramp.low.tolist() == [6.0, 0.0]


@pytest.mark.parametrize("name", [SHAPED, "upper_field"])
def test_each_long_closed_contour_of_the_finish_has_its_number(name: str) -> None:
    found, sheet = material(name), plan(name)
    ground, finish = found.result("site.ground"), found.result("shape.grading").z
    shown = found.job.shown_units
    step, unit = (0.3048, 1.0) if shown == "us" else (0.25, 0.25)
    digits = 0 if shown == "us" else 2
    told = {words for words, _box in words_on_the_map(sheet)}
    changed = np.abs(finish - ground.z) > 0.005
    (scale,) = {words for _text, words in texts(sheet) if re.match(r"1:\d|1 in =", words)}
    mm = 1000.0 / (float(scale.split("=")[1].split()[0]) * 12 if "=" in scale else float(scale[2:]))
    numbered = 0
    for number in range(int(finish.min() / step) + 1, int(finish.max() / step)):
        for _level, lines in contours(finish, ground.grid, [number * step + 0.0005], changed):
            if any(
                np.allclose(line[0], line[-1]) and shapely.LineString(line).length * mm > 80.0
                for line in lines
            ):
                assert f"{number * unit:.{digits}f}" in told
                numbered += 1
    assert numbered >= 3


def test_all_ways_stand_in_the_list_to_the_last() -> None:
    found = material(SHAPED)
    ways = {
        f"w{number}": Way(
            kind="path",
            name=f"Path number {number} of many that wind through the garden",
            place=LinePlace(at="line", points=(Point(east=0.0, north=number), Point(east=9.0, north=number))),
        )
        for number in range(1, 91)
    }
    shape = found.job.shape.model_copy(update={"ways": ways})
    job = found.job.model_copy(update={"shape": shape})
    told = {
        words for sheet in plan_words.setting_out(job, found.results, (), "") for _text, words in texts(sheet)
    }

    assert {f"W{number}" for number in range(1, 91)} <= told
    assert any(words.startswith("Path number 90 of many") for words in told)


def test_what_does_not_fit_beside_the_plan_is_named_and_stands_on_the_next_sheet() -> None:
    first, second, *_more = grading_sheets(material(SHAPED).job, material(SHAPED).results, ())
    beside = [words for _text, words in texts(first) if re.fullmatch(r"W\d+", words)]
    listed = {words for _text, words in texts(second) if re.fullmatch(r"W\d+", words)}
    (rest,) = [words for _text, words in texts(first) if "on the next sheet" in words]

    assert rest == "W10 to W11 stand on the next sheet."
    assert listed == {f"W{number}" for number in range(1, 12)} >= set(beside)


def test_the_list_of_pegs_tells_where_each_stands_and_the_water_at_it() -> None:
    _first, second = grading_sheets(material("garden").job, material("garden").results, ())
    told = [words for _text, words in texts(second)]
    pegs = material("garden").job.shape.bodies["pond"].outline.curve.pegs
    for peg in pegs:
        at = told.index(peg.id)
        assert told[at + 1 : at + 3] == [f"{peg.east:.2f}", f"{peg.north:.2f}"]
        assert told[at + 4] == "24.750"


def test_kinds_of_lines_on_paper_are_few_and_a_letter_or_number_tells_the_rest_apart() -> None:
    table = line_symbols()

    assert len({(table[one].dash, table[one].width_mm) for one in BOUNDS}) == 1
    assert len({(table[one].dash, table[one].width_mm) for one in SERVICES}) == 1
    assert len({table[one].letter for one in SERVICES}) == len(SERVICES)
    kinds = (
        "shoreline",
        "design_index",
        "existing_index",
        "crest",
        "boundary",
        "service_gas",
        "drain",
        "overflow",
        "survey_limit",
    )
    looks = {(table[one].dash, table[one].width_mm) for one in kinds}
    assert len(looks) == len(kinds)


def test_the_existing_plan_calls_things_by_their_names_and_lists_the_stream() -> None:
    told = [words for _text, words in texts(existing_plan(material(SHAPED)))]

    assert not {"pit_nw", "pit_e", "oak_spike", "shed_pin", "sp1", "sp2"} & set(told)
    assert {"Pit above the seep", "Spike in the root of oak 3", "Standpipe 2, east"} <= set(told)
    assert "The stream: lowest ground on its shore" in told
    assert told[told.index("Checks of the site") + 1] in ("LOOK", "STOP")


def test_what_has_no_name_is_called_by_its_kind() -> None:
    found = material("garden")
    things = {"thing_7": next(iter(found.job.site.things.values())).model_copy(update={"name": ""})}
    job = found.job.model_copy(update={"site": found.job.site.model_copy(update={"things": things})})
    told = {words for _text, words in texts(existing_plan(Material(job, found.results)))}

    assert things["thing_7"].kind in told and not any("thing_7" in words for words in told)


@pytest.mark.parametrize(("count", "fits"), [(31, True), (33, False)])
def test_checks_that_have_no_room_leave_no_empty_heading(count: int, fits: bool) -> None:
    found = material("garden")
    first = next(iter(found.job.site.bounds.values()))
    site = found.job.site.model_copy(update={"bounds": {f"line_{at}": first for at in range(count)}})
    crowded = Material(found.job.model_copy(update={"site": site}), found.results, found.findings)
    told = [words for _text, words in texts(existing_plan(crowded))]

    if fits:
        assert told[told.index("Checks of the site") + 1] in ("LOOK", "STOP")
    else:
        assert "Checks of the site" not in told
        assert "The checks of the site stand in the site report." in told
    assert any("on the check list" in words for words in told) == fits


@given(
    st.lists(
        st.tuples(st.floats(min_value=5.0, max_value=95.0), st.floats(min_value=5.0, max_value=65.0)),
        min_size=1,
        max_size=40,
    )
)
@settings(max_examples=30, deadline=None)
def test_words_never_lie_on_each_other_and_none_is_lost_unsaid(places: list[tuple[float, float]]) -> None:
    drawing = Drawing(100.0, 70.0)
    drawing.line(np.array([[10.0, 10.0], [90.0, 60.0]]), "shoreline")
    labels = Labels(drawing, shapely.box(0.0, 0.0, 100.0, 70.0))
    for number, place in enumerate(places):
        labels.want(place, f"peg {number}", once=False)
    left_out = {wish.words[0] for wish in labels.write()}
    found = {words: box_of(text, words) for text, words in texts(drawing.sheet("s", "s"))}
    shore = shapely.LineString([[10.0, 10.0], [90.0, 60.0]])

    assert left_out | set(found) == {f"peg {number}" for number in range(len(places))}
    boxes = list(found.values())
    for at, box in enumerate(boxes):
        assert not box.intersects(shore)
        assert all(box.intersection(other).area < 1e-6 for other in boxes[:at])
