"""Sections and unrolled shores: steps upright, dimensions of the model, sheets used, ways along a shore."""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from pondwright.base.kinds import ELEVATION, LENGTH
from pondwright.base.units import format_value
from pondwright.examples import EXAMPLES, example_text
from pondwright.flow.engine import advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.papers import Material, material_of, section_sheets
from pondwright.papers.cuts import Profile, cuts_of, profile_of
from pondwright.papers.dimension_rows import _spread
from pondwright.papers.dimensions import Run, measured
from pondwright.papers.drawing import Sheet
from pondwright.papers.finish_along import UprightFinish
from pondwright.papers.shore_edges import edges_of
from pondwright.papers.symbols import line_symbols
from pondwright.rooms.shape.profile import depth_at
from tests.unit.papers.test_design_sheets import SHAPED, SVG, box_of, drawn, material, texts

DOZEN = "dozen_shots"


@cache
def profiles(name: str) -> tuple[Profile, ...]:
    found = material(name)
    return tuple(profile_of(cut, found.job, found.results) for cut in cuts_of(found.job, found.results))


@cache
def profile(name: str, words: str) -> Profile:
    return next(one for one in profiles(name) if words in one.cut.title)


def strokes(sheet: Sheet, symbol: str) -> Iterator[NDArray[np.float64]]:
    """Lines of a symbol on a sheet. [mm]"""
    mark = line_symbols()[symbol]
    for path in ElementTree.fromstring(sheet.svg).iter(f"{SVG}path"):
        if path.get("stroke") == mark.ink and float(path.get("stroke-width", "0")) == mark.width_mm:
            numbers = re.findall(r"-?[\d.]+", path.get("d", ""))
            points = np.array(numbers, dtype=float).reshape(-1, 2)
            if len(points) > 1:
                yield points


def pages(name: str, kind: str) -> list[Sheet]:
    return [sheet for sheet in drawn(name) if re.fullmatch(rf"{kind}(-\d+)?", sheet.name)]


def words_of(sheets: Sequence[Sheet]) -> list[str]:
    """All texts of some sheets."""
    return [words for sheet in sheets for _text, words in texts(sheet)]


def changed(name: str, change: Any) -> Material:
    values = json.loads(example_text(name))
    change(values["shape"])
    return material_of(advance(STAGES, None, loads(json.dumps(values)), Log(), "drag"))


def test_falls_stand_upright_from_the_sill_to_the_bed_below() -> None:
    found, cut = material(SHAPED), profile(SHAPED, "stream")
    stream = found.result("shape.shore").bodies["stream"]
    at, level = cut.finish
    middle = shapely.LineString(stream.stream.corridor.line)
    section = shapely.LineString(cut.cut.line)
    bed = found.result("shape.grading").bodies["stream"].profile.floor_depth
    for number, fall in enumerate(stream.stream.reaches.starts[1:], start=1):
        station = section.project(middle.interpolate(fall))
        steps = np.flatnonzero((np.diff(at) == 0.0) & (np.abs(at[:-1] - station) < 0.02))
        (step,) = [one for one in steps if level[one] - level[one + 1] > 0.1]
        water = stream.level - stream.stream.reaches.drops

        assert level[step] == pytest.approx(water[number - 1], abs=1e-3)
        assert level[step + 1] == pytest.approx(water[number] - bed, abs=1e-3)


def test_the_face_of_a_fall_is_upright_on_paper() -> None:
    """Both falls of the example, 26 and 18 inches, with the bed below them."""
    (scale,) = {words for words in words_of(pages(SHAPED, "sections")) if words.startswith("1 in =")}
    mm = 304.8 / (12 * float(scale.split()[3])) / 0.3048
    bed = material(SHAPED).result("shape.grading").bodies["stream"].profile.floor_depth
    faces = [
        abs(other[1] - one[1])
        for sheet in pages(SHAPED, "sections")
        for line in strokes(sheet, "design_index")
        for one, other in itertools.pairwise(line)
        if abs(other[0] - one[0]) < 1e-3
    ]
    for drop in (26 * 0.0254, 18 * 0.0254):
        assert any(face == pytest.approx((drop + bed) * mm, abs=0.05) for face in faces)


def with_a_bed(shape: dict[str, Any]) -> None:
    """The stream of the example with a bed that is told peg by peg."""
    outline = shape["bodies"]["stream"]["outline"]
    count = len(outline["curve"]["pegs"])
    outline["bed"] = np.linspace(30.6, 29.4, count).round(3).tolist()


@pytest.mark.parametrize("change", [None, with_a_bed])
def test_between_its_steps_the_finish_is_that_of_the_nodes(change: Any) -> None:
    found = material(SHAPED) if change is None else changed(SHAPED, change)
    upright = UprightFinish(found.job, found.results)
    grid, bodies = upright.grid, found.result("shape.shore").bodies
    away = np.ones(grid.shape, dtype=bool)
    for name, body in bodies.items():
        grading = found.result("shape.grading").bodies[name]
        for bank in (grading.profile, *(one.profile for one in grading.stretches)):
            for riser in bank.risers:
                away &= np.abs(body.distance - riser) > 0.5 * grid.spacing
    rows, columns = (places[::7] for places in np.nonzero(away))
    finish, dug_to = upright.heights(np.column_stack([grid.east[columns], grid.north[rows]]))

    assert len(rows) > 5000
    assert finish == pytest.approx(upright.z[rows, columns], abs=1e-6)
    assert dug_to == pytest.approx(found.result("earth.subgrade").z[rows, columns], abs=1e-6)


def test_between_two_nodes_the_banks_are_those_of_the_model() -> None:
    """Places inside a round-cornered pond, none of them a node, against the bank's own profile."""
    found = material(DOZEN)
    body = found.result("shape.shore").bodies["pond"]
    bank = found.result("shape.grading").bodies["pond"].profile
    for cut in profiles(DOZEN):
        at, level = cut.finish
        (water,) = cut.waters
        inside = (at > water.start + 0.1) & (at < water.end - 0.1)
        points = shapely.line_interpolate_point(shapely.LineString(cut.cut.line), at[inside])
        ring = shapely.LinearRing(body.rings[0])
        depth = depth_at(bank, shapely.distance(ring, points))
        # Right on a step both heights are true.
        off = np.abs(level[inside] - (body.level - depth)) > 1e-6
        assert off.mean() < 0.02 and np.all(np.diff(at[inside])[np.flatnonzero(off)[:-1]] < 1e-3)


def shelves(cut: Profile) -> list[Run]:
    return [run for run in measured(cut).runs if run.kind == "shelf"]


def test_shelves_are_as_wide_and_as_deep_as_those_of_the_body() -> None:
    """Standard bank: 0.75 m of shelf 0.30 m deep, then 1.00 m of it 0.70 m deep."""
    found = material(DOZEN)
    level, spacing = (
        found.result("shape.shore").bodies["pond"].level,
        found.result("site.ground").grid.spacing,
    )
    for cut in profiles(DOZEN):
        found_here = shelves(cut)
        assert len(found_here) == 4
        for run, (width, depth) in zip(
            found_here, [(0.75, 0.3), (1.0, 0.7), (1.0, 0.7), (0.75, 0.3)], strict=True
        ):
            assert width - 1e-3 <= run.width <= width + spacing
            assert level - run.first == pytest.approx(depth, abs=1e-3)
            assert level - run.last == pytest.approx(depth, abs=1e-3)


def test_a_shelf_on_paper_is_as_wide_as_it_is_told_and_as_the_body_has_it() -> None:
    (sheet,) = pages(DOZEN, "sections")
    (scale,) = {words for words in words_of([sheet]) if words.startswith("1:")}
    mm, spacing = 1000.0 / float(scale.split(":")[1]), material(DOZEN).result("site.ground").grid.spacing
    lines = [line for line in strokes(sheet, "thin") if abs(line[0, 1] - line[-1, 1]) < 1e-6]
    told = 0
    for text, words in texts(sheet):
        if not words.startswith("shelf "):
            continue
        x, y, width = float(text.get("x", "0")), float(text.get("y", "0")), float(words.split()[1])
        (line,) = [
            one
            for one in lines
            if one[0, 0] < x < one[-1, 0] and 0.0 < one[0, 1] - y < 1.0 and abs(one.mean(axis=0)[0] - x) < 0.1
        ]
        assert line[-1, 0] - line[0, 0] == pytest.approx(width * mm, abs=0.006 * mm)
        assert min(abs(width - one) for one in (0.75, 1.0)) < spacing
        told += 1
    assert told == 8


@pytest.mark.parametrize("name", EXAMPLES)
def test_written_depths_and_levels_are_those_of_the_model(name: str) -> None:
    found, words = material(name), words_of(pages(name, "sections"))
    shown = found.job.shown_units
    z, bodies = found.result("shape.grading").z, found.result("shape.shore").bodies
    for cut in profiles(name):
        for one in measured(cut).deepest:
            if one.depth > 0.9:
                assert f"{format_value(one.depth, LENGTH, shown)} deep" in words
            spot = cut_places(cut, one.at)
            level = float(z[nearest(found, spot)])
            assert one.water - one.depth == pytest.approx(level, abs=0.05)
        for water in cut.waters:
            assert any(water.level == pytest.approx(level, abs=1e-9) for level in levels_of(bodies))
            assert any(format_value(water.level, ELEVATION, shown) in one for one in words)


def cut_places(cut: Profile, at: float) -> NDArray[np.float64]:
    return np.array(shapely.LineString(cut.cut.line).interpolate(at).coords[0])


def nearest(found: Material, place: NDArray[np.float64]) -> tuple[int, int]:
    """Node whose height is the lowest round a place: a foot of a fall lies at the edge of its pool."""
    grid, z = found.result("site.ground").grid, found.result("shape.grading").z
    column, row = (int(one) for one in (place - (grid.origin_east, grid.origin_north)) / grid.spacing)
    around = [(row + up, column + right) for up in (0, 1) for right in (0, 1)]
    return min(around, key=lambda node: float(z[node]))


def levels_of(bodies: Any) -> Iterator[float]:
    for body in bodies.values():
        yield body.level
        if body.stream is not None:
            yield from (body.level - body.stream.reaches.drops).tolist()


def test_crest_and_freeboard_are_those_of_the_body() -> None:
    found = material(SHAPED)
    pond = found.result("shape.shore").bodies["pond"]
    level, over = (
        format_value(value, kind, "us")
        for value, kind in ((pond.crest_level, ELEVATION), (pond.crest_level - pond.level, LENGTH))
    )
    words = words_of(pages(SHAPED, "sections"))

    assert f"crest {level}, {over} over the water" in words
    assert {"fall 2.17 ft", "fall 1.50 ft"} <= set(words)


def test_a_slope_is_told_as_the_bank_has_it_square_to_the_shore() -> None:
    """The standard bank goes down 3:1 below its shelves."""
    slopes = [run.slope for run in measured(profile(DOZEN, "along")).runs if run.kind == "slope"]

    assert min(abs(slope - 3.0) for slope in slopes) < 0.05
    assert "3:1" in words_of(pages(DOZEN, "sections"))


@pytest.mark.parametrize("name", EXAMPLES)
def test_all_sections_of_a_job_have_one_scale(name: str) -> None:
    found = {words for words in words_of(pages(name, "sections")) if re.match(r"1 in =|1:\d", words)}

    assert len(found) == 1


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("kind", ["sections", "shore"])
def test_labels_stand_off_the_ground_and_the_finish(name: str, kind: str) -> None:
    for sheet in pages(name, kind):
        lines = shapely.MultiLineString(
            [line for symbol in ("existing_index", "design_index") for line in strokes(sheet, symbol)]
        )
        for text, words in texts(sheet):
            if text.get("paint-order"):
                assert box_of(text, words).intersection(lines).length < 0.3, (sheet.name, words)


def test_a_fence_stands_on_a_section_as_high_as_it_is_told() -> None:
    """The pool fence of the example, met twice by the section along the pond."""
    found, cut = material(SHAPED), profile(SHAPED, "Along the pond")
    fence = found.job.shape.ways["pool_fence"]
    met = [one for one in cut.standing if one.name == fence.name]

    assert len(met) == 2
    for one in met:
        # The fence is told over the higher ground beside it.
        assert 1.2192 - 0.01 <= one.top - one.foot < 1.2192 + 0.5
    assert sum(words.startswith(f"{fence.name} ") for words in words_of(pages(SHAPED, "sections"))) == 2


def test_steps_of_a_path_stand_upright_riser_by_riser() -> None:
    def stepped(shape: dict[str, Any]) -> None:
        ends = [{"east": 19.0, "north": 6.0}, {"east": 21.4, "north": 6.0}]
        shape["ways"] = {
            "down": {
                "kind": "steps",
                "level": 25.2,
                "end_level": 24.6,
                "width": 1.2,
                "place": {"at": "line", "points": ends},
            }
        }
        line = [{"east": 18.0, "north": 6.03}, {"east": 22.4, "north": 6.03}]
        shape["sections"] = {"down": {"line": line}}

    found = changed("garden", stepped)
    (cut,) = cuts_of(found.job, found.results)
    at, level = profile_of(cut, found.job, found.results).finish
    steps = np.flatnonzero((np.diff(at) == 0.0) & (np.diff(level) < -1e-3))

    # Four risers of 0.15 m, the first at the first point, treads of 0.80 m.
    assert np.all(np.diff(at) >= 0.0)
    assert at[steps].tolist() == pytest.approx([1.0, 1.8, 2.6, 3.4], abs=1e-3)
    assert (level[steps] - level[steps + 1]).tolist() == pytest.approx([0.15] * 4, abs=1e-9)


def lines_in(count: int) -> dict[str, Any]:
    """Sections side by side over the pond of the garden example, none as long as another."""
    return {
        f"s{number}": {
            "line": [
                {"east": 8.0 - 0.2 * number, "north": 6.5 + 0.4 * number},
                {"east": 18.0 + 0.1 * number, "north": 6.5 + 0.4 * number},
            ]
        }
        for number in range(count)
    }


@pytest.mark.parametrize("count", [1, 12])
def test_any_number_of_sections_is_drawn_in_order_and_fills_its_sheets(count: int) -> None:
    found = changed("garden", lambda shape: shape.update(sections=lines_in(count)))
    sheets = section_sheets(found)
    heads = [words for words in words_of(sheets) if re.match(r"[A-Z] – [A-Z]′", words)]
    letters = [chr(65 + number) for number in range(count)]

    assert list(dict.fromkeys(head[0] for head in heads)) == letters
    assert len(sheets) <= (count + 1) // 2
    for sheet in sheets:
        boxes = [box_of(text, words) for text, words in texts(sheet)]
        tree = shapely.STRtree(boxes)
        pairs = [(one, other) for one, other in tree.query(boxes, predicate="intersects").T if one < other]
        assert all(boxes[one].intersection(boxes[other]).area < 0.05 for one, other in pairs)


def test_a_job_without_water_has_no_section_of_its_own_but_draws_those_that_it_tells() -> None:
    def bare(shape: dict[str, Any]) -> None:
        shape["bodies"], shape["berms"] = {}, {}

    def told(shape: dict[str, Any]) -> None:
        bare(shape)
        shape["sections"] = lines_in(1)

    assert section_sheets(changed("garden", bare)) == ()
    (sheet,) = section_sheets(changed("garden", told))
    assert any(words.startswith("A – A′") for words in words_of([sheet]))


@given(st.lists(st.floats(-200.0, 400.0), min_size=1, max_size=30))
def test_columns_keep_their_order_and_stand_apart(places: list[float]) -> None:
    places.sort()
    spread = _spread(places, 2.7)

    assert np.all(np.diff(spread) > 2.7 - 1e-9)
    assert float(np.sum(spread - places)) == pytest.approx(0.0, abs=1e-6)


def test_the_shore_shows_what_goes_along_it() -> None:
    found, sheets = material(SHAPED), pages(SHAPED, "shore")
    words = words_of(sheets)
    for name in ("bridge", "deck_north", "deck_south", "path_south"):
        way = found.job.shape.ways[name]
        assert way.level is not None
        assert f"{way.name} {format_value(way.level, ELEVATION, 'us')}" in words
    assert any(one.startswith("Reading circle, ") for one in words)
    assert {"The stream, left bank, downstream", "The stream, right bank, downstream"} <= set(words)
    assert {"edge of the liner", "top of the stone", "shore that a way reaches"} <= set(words)
    assert not any("\u2212" in one for one in words)
    assert list(itertools.chain(*(strokes(sheet, "liner") for sheet in sheets)))
    svg = "".join(sheet.svg for sheet in sheets)
    assert len(re.findall(rf'<path [^>]*stroke="{line_symbols()["dig"].ink}"', svg)) > 50
    assert len(re.findall(rf'<circle [^>]*fill="{line_symbols()["placed"].ink}"', svg)) > 50


def test_a_shore_takes_liner_and_stone_from_where_they_are_worked_out() -> None:
    found = material(SHAPED)
    (edge,) = edges_of(found, "pond")
    rim = found.result("lining.rim").bodies["pond"]
    top = found.result("stone.takeoff").bodies["pond"].top

    assert float(edge.liner.min()) == pytest.approx(float(rim.edge.min()), abs=1e-9)
    assert float(np.nanmax(edge.stone)) == pytest.approx(float(np.nanmax(top.top)), abs=1e-9)
    bare = np.isnan(edge.stone).mean()
    assert bare == pytest.approx(float(np.isnan(top.top).mean()), abs=0.05)


def test_a_bridge_meets_both_shores_of_its_narrow_at_its_own_width() -> None:
    found = material(SHAPED)
    (edge,) = edges_of(found, "pond")
    bridge = found.job.shape.ways["bridge"]
    met = [way for way in edge.ways if way.name == bridge.name]

    assert len(met) == 2 and all(way.over and way.level == bridge.level for way in met)
    for way in met:
        assert way.end - way.start > 0.8 * (bridge.width or 0.0)


def test_a_stream_is_walked_down_both_banks_past_the_same_falls() -> None:
    found = material(SHAPED)
    stream = found.result("shape.shore").bodies["stream"]
    for edge in edges_of(found, "stream"):
        levels = edge.water[np.concatenate([[True], np.diff(edge.water) != 0.0])]

        assert np.all(np.diff(edge.station) > 0.0)
        assert levels.tolist() == pytest.approx((stream.level - stream.stream.reaches.drops).tolist())
