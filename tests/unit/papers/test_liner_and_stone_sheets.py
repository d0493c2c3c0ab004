"""Panel plan, stone plan and yard list: what a builder orders by, at its true size and told in full."""

import itertools
import math
import re
from dataclasses import replace
from functools import cache
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from pondwright.papers import sheets
from pondwright.papers.panel_plan import panel_sheets
from pondwright.papers.panel_words import edge_kinds
from pondwright.papers.stone_map import covers, stone_outline
from pondwright.papers.stone_plan import sizes, small
from pondwright.papers.symbols import line_symbols
from pondwright.papers.window import Window
from tests.unit.papers.test_design_sheets import SHAPED, SVG, box_of, material, texts


@cache
def pages(name):
    return tuple(one for one in sheets(material(SHAPED)) if re.sub(r"-\d+$", "", one.name) == name)


def words_of(*drawn):
    return " ".join(words.replace("\u00a0", " ") for page in drawn for _text, words in texts(page))


def closed_lines(drawn, symbol):
    """Rings of a sheet that are drawn with a symbol."""
    mark = line_symbols()[symbol]
    dash = " ".join(f"{part * mark.width_mm:.3f}" for part in mark.dash) or None
    for path in ElementTree.fromstring(drawn.svg).iter(f"{SVG}path"):
        found = (path.get("stroke"), path.get("stroke-width"), path.get("stroke-dasharray"))
        if found == (mark.ink, f"{mark.width_mm:g}", dash):
            yield np.array(re.findall(r"-?[\d.]+", path.get("d")), dtype=float).reshape(-1, 2)


def test_each_liner_has_a_sheet_the_largest_first():
    orders = material(SHAPED).result("lining.order").liners
    names = sorted(orders, key=lambda name: -orders[name].ordered_area)

    assert [page.name for page in pages("panel-plan")] == [
        "panel-plan",
        *(f"panel-plan-{n}" for n in (2, 3, 4)),
    ]
    for name, page in zip(names, pages("panel-plan"), strict=True):
        assert material(SHAPED).job.lining.liners[name].name in page.title


def test_a_piece_is_drawn_as_large_as_it_is_ordered():
    order = material(SHAPED).result("lining.order").liners["pond"]
    piece, page = order.pieces["A"], pages("panel-plan")[0]
    mm = 1000.0 / next(
        12.0 * float(words.split("=")[1].split()[0])
        for _text, words in texts(page)
        if words.startswith("ft ")
    )
    ring = next(line for line in closed_lines(page, "liner_piece") if len(line) == 5)
    sides = np.hypot(*np.diff(ring, axis=0).T)

    assert sides[[0, 1]].tolist() == pytest.approx([piece.length * mm, piece.width * mm], abs=0.02)


def test_a_panel_plan_tells_what_to_order_and_leaves_a_blank_for_each_tape():
    found = material(SHAPED)
    order = found.result("lining.order").liners["pond"]
    told = words_of(pages("panel-plan")[0])

    for value in (order.pieces["A"].length, *(tape.predicted for tape in order.tapes.values())):
        assert found.told(value).replace("\u00a0", " ") in told
    for words in ("Water test, before any stone", "slippery", "never lower", "as drawn", "Invented example"):
        assert words in told
    thin = line_symbols()["thin"]
    blanks = re.findall(
        rf'd="M[\d.]+ ([\d.]+)L[\d.]+ \1" fill="none" stroke="{thin.ink}" stroke-width="{thin.width_mm:g}"',
        pages("panel-plan")[0].svg,
    )
    assert len(blanks) >= len(order.tapes)


@pytest.mark.parametrize("covers", [True, False], ids=["it covers", "the proof asks for more"])
def test_a_panel_plan_tells_the_one_size_that_is_ordered_before_anything_else(covers):
    found = material(SHAPED)
    piece = found.result("lining.order").liners["pond"].pieces["A"]
    proved = SimpleNamespace(length=piece.length + 1.0, width=piece.width - 0.5, covers=covers)
    results = {**found.results, "lining.proved": SimpleNamespace(liners={"pond": proved})}

    told = words_of(next(panel_sheets(replace(found, results=results))))

    one = piece if covers else proved
    size = f"{found.told(one.length)} × {found.told(one.width)}".replace("\u00a0", " ")
    assert f"SIZE TO ORDER {size}" in told
    assert told.index("SIZE TO ORDER") < told.index("cover check: the least that covers")
    assert ("it is not proved to cover" in told) is not covers


def test_pipes_and_tapes_without_a_name_are_told_by_their_number():
    found = material(SHAPED)
    lining = found.job.lining
    bare = lining.model_copy(
        update={
            part: {name: row.model_copy(update={"name": ""}) for name, row in getattr(lining, part).items()}
            for part in ("penetrations", "tapes")
        }
    )
    told = words_of(*panel_sheets(replace(found, job=found.job.model_copy(update={"lining": bare}))))

    for row in (*lining.penetrations.values(), *lining.tapes.values()):
        assert row.name not in told
    assert "B1 pipe 1:" in told and "T1 tape 1 " in told


def test_strips_are_listed_with_the_roll_that_they_are_cut_from():
    order = material(SHAPED).result("lining.order").liners["stream"]
    told = words_of(next(page for page in pages("panel-plan") if "stream" in page.title))

    assert len(order.pieces) > 2
    for name in order.pieces:
        assert f" {name} " in told
    assert told.count("× roll") == len(order.rolls)


def test_alike_edges_are_drawn_once_and_the_rest_of_the_shore_last():
    order = material(SHAPED).result("lining.order").liners["pond"]
    kinds = list(edge_kinds(material(SHAPED), order))

    assert [(detail, where) for detail, where, _level, _edge in kinds][-1] == ("upturn", "All the rest")
    assert {detail for detail, *_ in kinds} == {"upturn", "anchor"}
    assert len(kinds) == 3


@given(st.floats(0.1, 3.0), st.floats(0.1, 3.0), st.floats(-6.0, 6.0), st.integers(0, 500))
def test_a_drawn_stone_is_never_larger_than_its_tapes(long, wide, turn, number):
    outline = stone_outline(np.zeros(2), turn, long, wide, number)
    c, s = math.cos(turn), math.sin(turn)
    own = outline @ np.array([[c, -s], [s, c]])

    assert shapely.Polygon(outline).is_valid
    assert (np.abs(own) <= np.array([0.5 * long, 0.5 * wide]) + 1e-9).all()
    assert (np.ptp(own, axis=0) >= 0.75 * np.array([long, wide]) - 1e-9).all()


def test_covers_of_the_stone_plan_overlap_nowhere_and_lie_in_the_water():
    found = material(SHAPED)
    window = Window(0.0, 0.0, 300.0, 300.0, 90.0, 90.0, 240.0)
    patches = list(covers(found.job, found.results, window))
    shores = shapely.union_all(
        [
            shapely.Polygon(window.to_paper(body.rings[0]))
            for body in found.result("shape.shore").bodies.values()
        ]
    )

    assert {patch.kind for patch in patches} == {"cobble", "gravel", "planted", "deck"}
    for patch in patches:
        assert patch.area.difference(shores.buffer(1.5)).area < 0.5
    for one, other in itertools.combinations(patches, 2):
        assert one.area.intersection(other.area).area < 0.02 * min(one.area.area, other.area.area) + 6.0


def test_the_stone_plan_tells_tons_by_class_and_what_is_on_hand_first():
    found = material(SHAPED)
    takeoff, told = found.result("stone.takeoff"), words_of(*pages("stone-plan"))

    for mass in (takeoff.mass, takeoff.on_hand, takeoff.buy):
        assert f"{mass / 907.18474:.1f} tons" in told
    assert told.index("Stone on hand, used first") > told.index("Stone by class")
    for fall in found.job.stone.falls.values():
        assert fall.name in told
    for mark in ("D1", "D2", "D3", "M1", "nobody", "Nobody stands under a load"):
        assert mark.lower() in told.lower()


def test_words_on_the_map_of_the_stone_plan_lie_on_no_other_words():
    (page,) = pages("stone-plan")
    column = next(text for text, words in texts(page) if words == "Stone by class, tons of 2000 lb")
    end = float(column.get("x"))
    on_map = [
        (words, box_of(text, words))
        for text, words in texts(page)
        if float(text.get("x")) < end - 3.0 and float(text.get("y")) < page.height_mm - 30.0
    ]

    assert {"H1", "H4", "M1", "D1", "fall 2.17 ft"} <= {words.replace("\u00a0", " ") for words, _ in on_map}
    for (one, box), (other, second) in itertools.combinations(on_map, 2):
        assert box.intersection(second).area < 0.05, (one, other)


def test_words_at_a_stream_stand_beside_it():
    (page,) = pages("stone-plan")
    waters = [shapely.Polygon(ring) for ring in closed_lines(page, "shoreline") if len(ring) > 3]
    brook = min(waters, key=lambda water: water.area / water.length**2)
    beside = [box_of(text, words) for text, words in texts(page) if words.startswith(("pool", "fall"))]

    assert len(beside) >= 5
    assert all(box.intersection(brook).area < 0.05 for box in beside)


def test_the_yard_list_has_a_line_for_each_stone_and_says_what_changed():
    found = material(SHAPED)
    yard, told = found.result("stone.yard"), words_of(*pages("yard-list"))

    for name, piece in found.job.stone.pieces.items():
        assert piece.tag in told
        assert yard.stones[name].says.split(":")[0] in told
    assert told.count("(CHANGED)") == sum(bool(one.place) and one.changed for one in yard.stones.values()) > 0
    assert told.count("Left over") == yard.left_over > 0
    assert told.count("_______") > 60


def test_texts_of_the_yard_list_are_legible_and_none_lies_on_another():
    for page in pages("yard-list"):
        found = [(words, box_of(text, words)) for text, words in texts(page)]
        assert min(float(text.get("font-size")) for text, _words in texts(page)) >= 2.0
        for (one, box), (other, second) in itertools.combinations(found, 2):
            assert box.intersection(second).area < 0.05, (one, other)


def test_stones_are_taped_in_inches_where_feet_are_shown():
    assert small(0.4572, "us") == "18\u00a0in"
    assert small(0.4572, "metric") == "0.46\u00a0m"
    assert sizes(0.02, 0.04, "metric") == "0.02–0.04\u00a0m"
