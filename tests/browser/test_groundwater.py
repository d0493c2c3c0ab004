"""Water under it: what lifts the liner, what holds it, how the plan follows; readings and drains by hand."""

from __future__ import annotations

import pytest

from tests.browser.driver import Place, Window
from tests.browser.test_access import AXE, RULES, faults, sideways

DRAINS = ("relief", "north_branch", "relief_tail")
WET = "groundwater.range.bodies.pond.cases.wet_working.stages"

# Red pixels of the coloured ground: the hatch that the plan draws where a liner lifts.
LIFTED = """[...document.querySelectorAll('.plan-sheet canvas')].map((canvas) => {
    const pixels = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
    let red = 0;
    for (let at = 0; at < pixels.length; at += 4) {
        const [r, g, b, a] = pixels.slice(at, at + 4);
        if (a > 100 && r > 140 && g < 60 && b < 60) red += 1;
    }
    return red;
}).reduce((sum, one) => sum + one, 0)"""


@pytest.fixture
def plan(window: Window, larkmeadow: str) -> Window:
    """The example on the plan, with no flags in the way, and the page of the groundwater beside it."""
    window.open(larkmeadow)
    window.hide_flags()
    window.on("room-groundwater").click()
    window.on("stages-pond").wait_for()
    return window


def verdict(window: Window, stage: str) -> str:
    """What the table of stages says of one of them."""
    row = window.on("stages-pond").locator(f"tr[data-stage='{stage}']")
    return str(row.get_attribute("data-verdict"))


def switch(window: Window, drain: str, on: bool) -> None:
    """Switch a drain on or off in its fold."""
    box = window.on(f"drains-{drain}-working")
    if not box.is_visible():
        window.page.locator("details.entry", has=box).locator("summary").click()
    with window.change():
        box.set_checked(on)


def uplifts(window: Window) -> list[dict]:
    """Frames so far that carried the uplift of the full pond."""
    return [
        frame for frame in window.frames if any(array["name"] == "uplift_full" for array in frame["arrays"])
    ]


def test_without_its_drains_the_wet_season_lifts_the_liner_and_with_them_it_holds(plan):
    assert verdict(plan, "full") == "holds"
    plan.on("no-ways").wait_for()
    below = plan.figure(f"{WET}.full.excess_likely")
    assert below is not None and below < 0.0

    for drain in DRAINS:
        switch(plan, drain, False)

    above = plan.figure(f"{WET}.full.excess_likely")
    assert above is not None and above > 0.0
    assert verdict(plan, "full") == "lifts"
    stop = plan.page.locator("[data-code='groundwater.uplift_in_use']").first
    assert "Stop" in stop.inner_text()

    for _ in DRAINS:
        with plan.change():
            plan.on("undo").click()
    assert plan.figure(f"{WET}.full.excess_likely") == pytest.approx(below, abs=1e-6)
    assert verdict(plan, "full") == "holds"


def test_a_way_out_holds_the_liner_with_one_press(plan):
    for drain in DRAINS:
        switch(plan, drain, False)
    best = plan.on("offers-pond").locator("button.primary").first
    best.wait_for()
    plan.exact()
    assert verdict(plan, "full") == "lifts"

    with plan.change():
        best.click()

    assert verdict(plan, "full") == "holds"
    plan.on("no-ways").wait_for()
    with plan.change():
        plan.on("undo").click()
    assert verdict(plan, "full") == "lifts"


def test_the_plan_shows_what_lifts_at_each_stage_of_the_pond(plan):
    plan.on("show-uplift").check()
    plan.until("pondwright.state() === 'exact'")
    plan.until("pondwright.state() === 'exact'")
    full = plan.ask(LIFTED)
    plan.on("uplift-stage").select_option("service")

    assert plan.until(f"{LIFTED} > given", full + 200), "drained for work it lifts on most of the floor"


def test_the_uplift_map_follows_a_shore_in_the_hand(plan):
    plan.on("show-uplift").check()
    plan.until("pondwright.state() === 'exact'")
    peg = plan.full_pegs()[0]
    at: Place = (peg["east"], peg["north"])
    plan.frames.clear()

    with plan.change():
        plan.drag(at, (at[0] + 1.5, at[1] + 1.0))

    moving = [frame for frame in uplifts(plan) if frame["state"] == "moving" or frame["lod"] == 2]
    assert moving, "the map came while the shore was in the hand"
    assert all(frame["stages"]["groundwater.uplift"] == "fresh" for frame in moving)


def test_a_level_that_was_read_is_typed_and_moves_the_groundwater(plan):
    before = plan.figure(f"{WET}.full.excess_likely")
    box = plan.on("readings-sp2-wet")
    plan.page.locator("details.entry", has=box).locator("summary").click()
    with plan.change():
        plan.type_in("readings-sp2-wet", "98.6 ft")

    assert plan.kept()["groundwater"]["readings"]["sp2"]["wet"] == pytest.approx(98.6 * 0.3048)
    after = plan.figure(f"{WET}.full.excess_likely")
    assert before is not None and after is not None and after > before + 0.01


def test_a_drain_is_drawn_into_the_culvert_and_its_profile_shown(plan):
    end = plan.kept()["groundwater"]["outlets"]["culvert"]["place"]
    place: Place = (end["east"], end["north"])
    plan.on("leaf-close").click()
    plan.on("to-all").click()
    with plan.change():
        plan.draw("drain", [(place[0] + 8.0, place[1] + 9.0), place])

    drain = plan.kept()["groundwater"]["drains"]["drain_1"]
    assert drain["into"] == "culvert"
    assert (drain["place"]["points"][1]["east"], drain["place"]["points"][1]["north"]) == pytest.approx(place)
    unfold = plan.on("box-unfold")
    if unfold.is_visible():
        unfold.click()
    plan.on("drain-profile").click()
    plan.on("profile").wait_for()
    assert "drain_1" in plan.on("profile-says").inner_text()


def test_the_page_of_the_groundwater_is_fit_for_a_phone(open_window, larkmeadow):
    phone = open_window(360, 780, touch=True)
    phone.open(larkmeadow)
    phone.on("bar-groundwater").tap()
    phone.on("stages-pond").wait_for()
    for fold in phone.page.locator(".leaf details > summary").all():
        fold.tap()
    phone.page.evaluate(AXE)

    assert faults(phone, RULES, "tag") == []
    assert sideways(phone) <= 0.0

    phone.on("leaf-close").tap()
    phone.on("below-drain").tap()
    phone.on("profile").wait_for()
    assert faults(phone, RULES, "tag") == []
    assert sideways(phone) <= 0.0
