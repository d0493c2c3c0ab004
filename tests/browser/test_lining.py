"""The liner on the page: its size as the shore is bent, its pieces, tapes, pipes, the day it is pulled."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.browser.driver import Place, Window
from tests.browser.test_access import AXE, RULES, faults, sideways


@pytest.fixture(scope="module")
def opened(shared_window: Window, copy_of) -> Window:
    """A copy of the shaped example on the plan, with no flags in the way, and the room of the liner open."""
    shared_window.open(copy_of("larkmeadow_shaped"))
    shared_window.hide_flags()
    shared_window.on("room-liner").click()
    shared_window.on("piece-list").wait_for()
    return shared_window


@pytest.fixture
def plan(opened: Window) -> Iterator[Window]:
    """The same window for each test, with the room open; afterwards taken back to where it was."""
    if not opened.on("liner-sizes").is_visible():
        opened.on("room-liner").click()
    opened.on("piece-list").wait_for()
    yield opened
    opened.take_back()


def unfold(window: Window, box: str) -> None:
    """Open the fold that a box lies in."""
    if not window.on(box).is_visible():
        window.page.locator("details.entry", has=window.on(box)).locator("summary").click()


def test_the_size_by_tapes_follows_the_shore_and_the_proof_comes_after_it(plan):
    before, proved = plan.on("taped-pond").inner_text(), plan.on("proved-pond").inner_text()
    peg = plan.full_pegs()[0]
    at: Place = (peg["east"], peg["north"])
    plan.frames.clear()

    with plan.change():
        plan.drag(at, (at[0] + 2.5, at[1] + 2.0))

    moving = [
        one
        for one in plan.frames
        if one["state"] == "moving" and any(array["name"] == "liner_pieces" for array in one["arrays"])
    ]
    assert moving, "the pieces came while the shore was in the hand"
    assert plan.on("taped-pond").inner_text() != before
    assert plan.until(
        "document.querySelector('[data-testid=\"proved-pond\"]').innerText.includes('×')"
        " && document.querySelector('[data-testid=\"proved-pond\"]').innerText !== given",
        proved,
    )


def test_from_rolls_the_piece_list_has_strips_and_seams_and_one_piece_has_none(plan):
    assert plan.on("piece-list").locator("tbody tr").count() == 1
    unfold(plan, "liner-margin")
    with plan.acknowledged():
        plan.on("liner-pieced").get_by_text("in rolls").click()
    with plan.acknowledged():
        plan.type_in("stock-new-width", "20 ft")
        plan.type_in("stock-new-length", "100 ft")

    # The order is there long before the proof of it.
    plan.until("document.querySelectorAll('[data-testid=\"piece-list\"] tbody tr').length > 3")
    plan.on("joints").wait_for()
    strips = plan.on("piece-list").locator("tbody tr").count()
    assert plan.on("joints").locator("li").count() >= strips - 1
    assert plan.on("rolls").locator("li").count() >= 1
    assert (plan.figure("lining.order.liners.pond.seams") or 0.0) > 50.0


def test_a_tape_is_drawn_over_the_hole_and_its_length_judged(plan):
    plan.on("draw-tape").click()
    pegs = plan.full_pegs()
    ends: list[Place] = [(peg["east"], peg["north"]) for peg in (pegs[0], pegs[len(pegs) // 2])]
    with plan.change():
        for place in ends:
            plan.tap(place)
        plan.on("finish").click()

    assert "tape_1" in plan.kept()["lining"]["tapes"]
    predicted = plan.figure("lining.order.liners.pond.tapes.tape_1.predicted")
    flat = ((ends[0][0] - ends[1][0]) ** 2 + (ends[0][1] - ends[1][1]) ** 2) ** 0.5
    assert predicted is not None and predicted > flat
    with plan.change():
        plan.type_in("tape-taped", f"{predicted + 6.0} m")
    row = plan.page.locator("details.entry", has=plan.on("tapes-tape_1-taped"))
    assert "does not reach" in row.locator("summary").inner_text()


def test_a_pipe_through_the_liner_is_put_without_a_pointer_and_asked_whether_it_could_go_over(plan):
    plan.on("draw-penetration").press("Enter")
    peg = plan.full_pegs()[0]
    for box, text in (
        ("new-east", f"{peg['east']} m"),
        ("new-north", f"{peg['north']} m"),
        ("new-diameter", "4 in"),
    ):
        plan.type_in(box, text)
    with plan.change():
        plan.on("keep-penetration").press("Enter")
    (row,) = [one for name, one in plan.kept()["lining"]["penetrations"].items() if name == "penetration"]
    assert row["diameter"] == pytest.approx(0.1016)
    assert "over" not in row or row["over"] == "not_asked"

    with plan.change():
        plan.on("pipe-over").select_option("could")
    assert plan.kept()["lining"]["penetrations"]["penetration"]["over"] == "could"


def test_wind_and_too_few_people_make_it_no_go(plan):
    with plan.change():
        plan.type_in("pull-wind", "35 mph")
    assert plan.on("go").get_attribute("data-verdict") == "stop"

    with plan.change():
        plan.on("undo").click()
    assert plan.on("go").get_attribute("data-verdict") != "stop"


def test_the_room_of_the_liner_is_fit_for_a_phone(open_window, copy_of):
    phone = open_window(360, 780, touch=True)
    phone.open(copy_of("larkmeadow_shaped"))
    phone.on("bar-liner").tap()
    phone.on("piece-list").wait_for()
    for fold in phone.page.locator(".leaf details > summary").all():
        fold.tap()
    phone.page.evaluate(AXE)

    assert faults(phone, RULES, "tag") == []
    assert sideways(phone) <= 0.0

    phone.on("leaf-close").tap()
    phone.on("strip-liner-edge").wait_for()
    assert sideways(phone) <= 0.0
