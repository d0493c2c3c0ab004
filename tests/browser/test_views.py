"""The shore unrolled, the section, the water by level and the level table follow the plan, and move it."""

from __future__ import annotations

import pytest

from tests.browser.driver import Window


@pytest.fixture
def plan(window, copy_of) -> Window:
    window.open(copy_of("dozen_shots"))
    return window


def station(window: Window) -> float:
    return float(window.on("strip-walk").get_attribute("aria-valuenow") or "nan")


def clip_around(window: Window, place: tuple[float, float]) -> bytes:
    x, y = window.pixel(place)
    return window.page.screenshot(clip={"x": x - 14, "y": y - 14, "width": 28, "height": 28})


def test_the_strip_and_the_plan_point_at_the_same_place(plan):
    peg = plan.peg("p3")
    plan.page.mouse.move(*plan.pixel((5.0, 10.0)))
    plan.on("strip-walk").wait_for()
    unmarked = clip_around(plan, peg)

    plan.page.mouse.move(*plan.pixel(peg))
    plan.on("strip-mark").wait_for()
    from_plan = station(plan)
    walk = plan.on("strip-walk").bounding_box()
    length = float(plan.on("strip-walk").get_attribute("aria-valuemax") or "nan")
    plan.page.mouse.move(walk["x"] + walk["width"] * from_plan / length, walk["y"] + 5)

    assert 0.0 < from_plan < length
    assert station(plan) == pytest.approx(from_plan, abs=1.5 * length / walk["width"])
    plan.until("document.querySelector('[data-testid=\"strip-mark\"]') !== null")
    assert clip_around(plan, peg) != unmarked


def test_keys_walk_along_the_shore_and_say_what_stands_there(plan):
    plan.on("strip-walk").focus()
    plan.page.keyboard.press("Home")
    plan.until("document.querySelector('[data-testid=\"strip-walk\"]').getAttribute('aria-valuenow') === '0'")

    plan.page.keyboard.press("ArrowRight")
    plan.until(
        "Number(document.querySelector('[data-testid=\"strip-walk\"]').getAttribute('aria-valuenow')) > 0"
    )

    words = plan.on("strip-walk").get_attribute("aria-valuetext") or ""
    assert station(plan) == pytest.approx(0.5)
    assert "ground" in words and "bank top" in words


def test_the_level_is_dragged_in_the_strip_and_the_numbers_follow_before_the_drop(plan):
    level, dug = plan.figure("shape.shore.bodies.pond.level"), plan.figure("earth.soil.dug")
    plate = plan.on("grip-level").locator(".plate").bounding_box()
    x, y = plate["x"] + plate["width"] / 2, plate["y"] + plate["height"] / 2

    plan.page.mouse.move(x, y)
    plan.page.mouse.down()
    plan.page.mouse.move(x, y - 10, steps=4)
    plan.until("pondwright.stats()['earth.soil.dug'] < given", dug)
    assert plan.rev == 0
    with plan.change():
        plan.page.mouse.up()

    kept = plan.kept()["shape"]["bodies"]["pond"]["level"]
    assert kept > level
    assert plan.figure("shape.shore.bodies.pond.level") == pytest.approx(kept)


def test_the_level_is_moved_by_keys_and_typed_in_any_unit(plan):
    level = plan.figure("shape.shore.bodies.pond.level")
    plan.on("grip-level").focus()
    with plan.change():
        plan.page.keyboard.press("ArrowUp")
        plan.page.keyboard.press("Enter")
    by_keys = plan.kept()["shape"]["bodies"]["pond"]["level"]
    with plan.change():
        plan.type_in("box-level", "326 ft")

    assert by_keys > level
    assert plan.kept()["shape"]["bodies"]["pond"]["level"] == pytest.approx(326 * 0.3048)


def test_what_cannot_be_read_stays_in_the_box_with_its_reason(plan):
    plan.type_in("box-level", "high")

    plan.page.locator(".height-box [role=alert]").first.wait_for()
    assert plan.on("box-level").input_value() == "high"
    assert plan.rev == 0


def test_the_strip_is_also_a_table(plan):
    plan.on("strip-table").click()

    rows = plan.page.locator(".strip-view table tbody tr")
    rows.first.wait_for()
    assert rows.count() >= 6


def test_a_section_is_drawn_on_the_plan_and_follows_a_drag(plan):
    plan.on("below-section").click()
    plan.on("section").wait_for()
    summary = plan.page.locator(".section-view .view-says")
    default = summary.inner_text()
    rev = plan.rev

    plan.draw("section", [(10.0, 20.5), (28.0, 20.5)])
    plan.until("document.querySelector('.section-view .view-says').innerText !== given", default)
    plan.exact()
    drawn = summary.inner_text()
    plan.hold(plan.peg("p1"), (29.5, 19.0))
    plan.until("document.querySelector('.section-view .view-says').innerText !== given", drawn)
    plan.page.keyboard.press("Escape")
    plan.page.mouse.up()
    plan.exact()
    plan.until("document.querySelector('.section-view .view-says').innerText === given", drawn)

    assert "line drawn on the plan" in drawn
    assert plan.rev == rev


def test_the_water_by_level_is_a_picture_a_table_and_a_handle(plan):
    plan.on("below-storage").click()
    plan.page.locator(".plot canvas").first.wait_for()
    handle = plan.on("grip-level")
    before = plan.figure("earth.soil.dug")

    handle.focus()
    with plan.change():
        plan.page.keyboard.press("ArrowDown")
        plan.page.keyboard.press("Enter")
    plan.on("storage-table").click()
    table = plan.page.get_by_role("table", name="Water by level")
    table.wait_for()

    assert plan.figure("earth.soil.dug") > before, "a pond that lies lower is dug deeper"
    assert table.locator("tbody tr").count() >= 10


def test_a_level_of_the_table_is_taken_with_one_press(plan):
    plan.on("below-storage").click()
    row = plan.on("levels").locator("tbody tr").filter(has_not=plan.page.locator("button:disabled")).first
    row.wait_for()
    named = row.get_by_role("button").get_attribute("aria-label") or ""

    with plan.change():
        row.get_by_role("button").click()

    level = plan.kept()["shape"]["bodies"]["pond"]["level"]
    assert named.startswith("Take the level")
    assert plan.figure("shape.shore.bodies.pond.level") == pytest.approx(level)


def test_the_level_table_shows_each_of_its_columns_in_one_of_two_halves(plan):
    plan.on("below-storage").click()
    plan.on("levels").wait_for()
    shown: set[int] = set()
    for part in ("costs", "holds"):
        plan.on(f"levels-{part}").click()
        plan.until(f"document.querySelector('table.levels').classList.contains('{part}')")
        cut_off = "(frame) => frame.scrollWidth - frame.clientWidth"
        assert plan.page.locator(".twin:has(table.levels)").evaluate(cut_off) == 0
        heads = plan.on("levels").locator("thead th")
        shown |= {number for number, head in enumerate(heads.all()) if head.is_visible()}

    assert shown == set(range(heads.count())) and heads.count() == 12


def test_the_balanced_level_is_taken_with_one_press_and_then_the_soil_balances(plan):
    plan.on("below-storage").click()

    with plan.change():
        plan.on("take-balanced").click()

    surplus = plan.figure("earth.soil.surplus_bank")
    assert abs(surplus) < 0.02 * plan.figure("earth.soil.dug")


def test_the_ground_stands_in_the_round(plan):
    plan.on("below-three").click()
    plan.page.locator("[data-testid=round], [data-testid=no-webgl]").first.wait_for()

    stage = plan.page.locator("[data-testid=round] canvas")
    if stage.count():
        stage.wait_for()
        box = stage.bounding_box()
        lower = {
            "x": box["x"],
            "y": box["y"] + box["height"] / 2,
            "width": box["width"],
            "height": box["height"] / 2,
        }
        picture = plan.page.screenshot(clip=lower)
        assert len(picture) > 4_000, "a plain background packs into less"
