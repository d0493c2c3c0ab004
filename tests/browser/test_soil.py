"""Soil by hand: piles and a tip, counted loads, a level from the table, a kept section, a bent shore."""

from __future__ import annotations

import math

import pytest

from tests.browser.driver import Place, Window
from tests.browser.test_access import AXE, RULES, faults, sideways


@pytest.fixture
def plan(window: Window, larkmeadow: str) -> Window:
    """The example on the plan, with no flags in the way, and the page of its soil beside it."""
    window.open(larkmeadow)
    window.hide_flags()
    window.on("room-earth").click()
    window.on("destinations").wait_for()
    return window


def seen(window: Window, across: float, down: float) -> Place:
    """Place of the site at a share of the plan's width and height."""
    box = window.on("plan").bounding_box()
    assert box is not None
    return window.site((box["x"] + across * box["width"], box["y"] + down * box["height"]))


def draw_pile(window: Window, *places: Place) -> None:
    """Draw a pile: one place is a heap, more are the ring that it may cover."""
    with window.change():
        window.draw("pile", list(places))


def homeless(window: Window) -> float:
    """Soil that has no place, in the bank."""
    value = window.figure("earth.haul.homeless")
    assert value is not None
    return value


def put_tip(window: Window, place: Place) -> None:
    """A tip eight kilometres away, its gate pressed on the plan."""
    window.on("new-offSite").locator("summary").click()
    window.type_in("new-offSite-distance", "8 km")
    window.on("add-offSite").click()
    window.tap(place)
    with window.change():
        window.on("pick-take").click()


def test_two_piles_and_a_tip_give_all_soil_a_place_and_undo_takes_it_back(plan):
    before = homeless(plan)
    assert before > 1.0
    assert plan.figure("earth.haul.loads") == plan.figure("earth.soil.load_count") > 0, (
        "it would have to leave"
    )

    draw_pile(
        plan, seen(plan, 0.55, 0.8), seen(plan, 0.6, 0.8), seen(plan, 0.6, 0.85), seen(plan, 0.55, 0.85)
    )
    ring = plan.kept()["earth"]["piles"]["pile_1"]["place"]
    some = homeless(plan)
    put_tip(plan, seen(plan, 0.92, 0.85))
    assert ring["at"] == "ring" and len(ring["curve"]["pegs"]) == 4
    assert 0.0 < some < before, "a small ring holds a part of it"
    assert homeless(plan) == 0.0 and plan.figure("earth.haul.loads") > 0
    assert plan.on("homeless").inner_text() == "All soil has a place."

    draw_pile(plan, seen(plan, 0.9, 0.6))
    rows = plan.on("destinations").locator("tbody tr")
    assert rows.count() == 4
    assert plan.figure("earth.haul.gates.tip.loads") == 0, "what a heap holds does not leave"
    assert plan.figure("earth.haul.loads") == plan.figure("earth.soil.load_count") == 0

    for _ in range(3):
        with plan.change():
            plan.on("undo").click()
    assert homeless(plan) == pytest.approx(before)


def test_a_pile_is_dragged_and_its_way_follows(plan):
    at = seen(plan, 0.75, 0.85)
    draw_pile(plan, at)
    way = plan.figure("earth.haul.mean_distance")
    to = (at[0] + 6.0, at[1] - 1.0)

    with plan.change():
        plan.drag(at, to)

    place = plan.kept()["earth"]["piles"]["pile_1"]["place"]
    assert (place["east"], place["north"]) == pytest.approx(to, abs=0.2)
    assert plan.figure("earth.haul.mean_distance") > way
    with plan.change():
        plan.type_in("soil-east", f"{at[0]} m")
    assert plan.kept()["earth"]["piles"]["pile_1"]["place"]["east"] == pytest.approx(at[0])


def test_hauls_are_shown_when_asked_for_and_an_arrow_tells_its_volume(plan):
    pile = seen(plan, 0.9, 0.6)
    draw_pile(plan, pile)
    pegs = plan.full_pegs()
    middle = [sum(peg[axis] for peg in pegs) / len(pegs) for axis in ("east", "north")]
    away = math.dist(pile, middle)
    near = (pile[0] + 3.0 * (middle[0] - pile[0]) / away, pile[1] + 3.0 * (middle[1] - pile[1]) / away)
    plan.tap(near)
    assert "in the bank" not in plan.on("plan-says").inner_text()

    plan.on("show-hauls").check()
    plan.until("pondwright.state() === 'exact'")
    plan.page.locator("[data-place='pile pile_1']").wait_for()
    plan.tap(near)

    told = plan.on("plan-says").inner_text()
    assert "(in the bank) to pile 1" in told and "on average" in told


def test_a_factor_of_ones_own_holds_for_every_layer_of_the_soil(plan):
    loose = plan.figure("earth.soil.by_kind.silt.loose")
    plan.on("factors-silt").locator("summary").click()
    with plan.change():
        plan.type_in("factor-silt-bulking", "1.4")

    layers = [layer for soil in plan.kept()["site"]["soils"].values() for layer in soil["layers"]]
    assert {layer.get("bulking") for layer in layers if layer["kind"] == "silt"} == {1.4}
    assert plan.figure("earth.soil.by_kind.silt.loose") == pytest.approx(loose * 1.4 / 1.25)


def test_counted_loads_tell_the_swelling_and_are_used(plan):
    plan.on("new-counted").locator("summary").click()
    plan.on("new-counted-kind").select_option("silt")
    plan.type_in("new-counted-bank", "100 m3")
    plan.type_in("new-counted-loads", "13")
    plan.type_in("new-counted-box", "10 m3")
    loose = plan.figure("earth.soil.by_kind.silt.loose")
    with plan.change():
        plan.on("add-counted").click()

    plan.page.get_by_text("silt swells to 1.3; in use is 1.3.").wait_for()
    assert plan.figure("earth.soil.by_kind.silt.loose") == pytest.approx(loose * 1.3 / 1.25)
    with plan.change():
        plan.on("undo").click()
    assert plan.figure("earth.soil.by_kind.silt.loose") == pytest.approx(loose)


def test_the_balanced_row_of_the_levels_is_that_of_the_solver_and_is_taken(plan):
    plan.on("leaf-close").click()
    plan.on("below-storage").click()
    row = plan.on("levels").locator("tr.balanced")
    row.wait_for()
    level = float(row.get_attribute("data-level"))
    before = plan.figure("shape.shore.bodies.pond.level")

    assert plan.on("levels").locator("tbody tr").count() >= 9
    assert level == pytest.approx(plan.figure("earth.levels.bodies.pond.balanced_level"), abs=1e-3)
    with plan.change():
        row.get_by_role("button").click()
    assert plan.figure("shape.shore.bodies.pond.level") == pytest.approx(level)
    with plan.change():
        plan.on("undo").click()
    assert plan.figure("shape.shore.bodies.pond.level") == pytest.approx(before)


def test_a_section_is_kept_dragged_and_brought_back_by_undo(plan):
    plan.on("leaf-close").click()
    plan.on("below-section").click()
    plan.on("sections-kept").locator("summary").click()
    with plan.change():
        plan.on("section-keep").click()
    line = plan.kept()["shape"]["sections"]["section"]["line"]
    end = (line[0]["east"], line[0]["north"])
    says = plan.page.locator(".section-view .view-says").inner_text()
    plan.on("sections-kept").locator("summary").click()

    with plan.change():
        plan.drag(end, (end[0] - 1.5, end[1] + 0.5))

    moved = plan.kept()["shape"]["sections"]["section"]["line"]
    assert (moved[0]["east"], moved[0]["north"]) == pytest.approx((end[0] - 1.5, end[1] + 0.5), abs=0.2)
    assert moved[1] == line[1]
    plan.until("document.querySelector('.section-view .view-says').innerText !== given", says)
    with plan.change():
        plan.on("undo").click()
    plan.until("document.querySelector('.section-view .view-says').innerText === given", says)


def test_a_shore_that_is_offered_is_looked_at_then_taken_as_one_edit(plan):
    plan.on("room-shape").click()
    plan.on("open-bends").click()
    plan.on("bend-show-more_shore").wait_for()
    before = plan.full_pegs()
    offered = plan.figure("shape.bends.bodies.pond.variants.more_shore.length")
    length = plan.figure("shape.shore.bodies.pond.length")

    plan.on("bend-show-more_shore").click()
    assert plan.full_pegs() == before, "a look changes nothing"
    with plan.change():
        plan.on("bend-take-more_shore").click()

    assert offered > 1.05 * length
    assert plan.figure("shape.shore.bodies.pond.length") == pytest.approx(offered, rel=1e-6)
    assert [peg["id"] for peg in plan.full_pegs()] == [peg["id"] for peg in before]
    with plan.change():
        plan.on("undo").click()
    assert plan.full_pegs() == before


def test_the_page_of_the_soil_is_fit_for_a_phone(open_window, larkmeadow):
    phone = open_window(360, 780, touch=True)
    phone.open(larkmeadow)
    phone.on("room-earth").tap()
    phone.on("destinations").wait_for()
    for fold in phone.page.locator(".leaf details > summary").all():
        fold.tap()
    phone.page.evaluate(AXE)

    assert faults(phone, RULES, "tag") == []
    assert sideways(phone) <= 0.0
