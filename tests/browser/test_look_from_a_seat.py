"""A seat stands in the round; one looks from it, turns the head and goes back, by mouse, keys and finger."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.browser.conftest import careful_windows
from tests.browser.driver import Place, Window
from tests.browser.test_access import AXE, RULES, faults, sideways

SEAT = (27.5, 19.0)
NAME = """() => { const name = document.querySelector('.round-labels span:not([hidden])');
    const box = name.getBoundingClientRect(); return [box.x + box.width / 2, box.y + box.height / 2]; }"""
NAMED = "document.querySelector('.round-labels span:not([hidden])')"
LOOKED_FROM = "document.querySelector('[data-testid=round]').dataset.seat"


@pytest.fixture(scope="module")
def desk(shared_window, copy_of) -> Window:
    """A pond with one seat beside it, in the round."""
    shared_window.page.emulate_media(reduced_motion="reduce")
    shared_window.open(copy_of("dozen_shots"))
    shared_window.hide_flags()
    shared_window.on("tool-seat").click()
    with shared_window.change():
        shared_window.tap(SEAT)
    shared_window.on("below-three").click()
    shared_window.until(NAMED)
    return shared_window


@pytest.fixture
def plan(desk) -> Iterator[Window]:
    yield desk
    if desk.on("round-back").is_visible():
        desk.on("round-back").click()


def picture(window: Window) -> bytes:
    return window.on("round").locator("canvas").screenshot()


def settled_picture(window: Window) -> bytes:
    """The picture once nothing comes to it any more: ten looks in a row show the same."""
    looks = [picture(window)]
    while len(looks) < 200 and (len(looks) < 10 or len(set(looks[-10:])) > 1):
        looks.append(picture(window))
    return looks[-1]


def another_picture(window: Window, before: bytes) -> bytes:
    """The picture once it is another one: it is drawn a frame after what changes it."""
    for _ in range(100):
        now = picture(window)
        if now != before:
            return now
    raise AssertionError("the picture stayed as it was")


def name_of_seat(window: Window) -> Place:
    x, y = window.page.evaluate(NAME)
    return float(x), float(y)


def test_one_looks_from_a_seat_of_the_list_turns_the_head_by_keys_and_leaves_by_escape(plan):
    from_outside = settled_picture(plan)

    plan.on("look-from").select_option("seat_1")
    plan.until(f"{LOOKED_FROM} === 'seat_1'")
    ahead = another_picture(plan, from_outside)
    plan.on("round").focus()
    plan.page.keyboard.press("ArrowRight")
    turned = another_picture(plan, ahead)
    plan.page.keyboard.press("Home")
    another_picture(plan, turned)
    share = plan.figure("shape.views.seats.seat_1.share")
    told = plan.on("seat-told").get_by_role("button").first.inner_text()
    plan.page.keyboard.press("Escape")
    plan.until(f"{LOOKED_FROM} === undefined")

    assert told == f"{100.0 * share:.1f}".removesuffix(".0") + " %"
    assert plan.on("seat-told").count() == 0
    assert settled_picture(plan) == from_outside, "size, heights and place of the eye are given back"
    assert plan.ask("document.activeElement.dataset.testid") == "round"


def test_a_press_on_its_name_sits_down_and_what_is_seen_follows_the_hand_on_the_plan(plan):
    tall = plan.on("below-size").inner_text()
    plan.page.mouse.click(*name_of_seat(plan))
    plan.until(f"{LOOKED_FROM} === 'seat_1'")
    told = plan.on("seat-told").inner_text()
    before = plan.rev

    plan.hold(SEAT, (28.5, 21.0))
    plan.until("document.querySelector('[data-testid=seat-told]').innerText !== given", told)
    plan.page.keyboard.press("Escape")
    plan.page.mouse.up()
    plan.exact()
    plan.on("round-back").click()
    plan.until(f"{LOOKED_FROM} === undefined")

    assert plan.rev == before
    assert plan.on("below-size").inner_text() == tall, "the picture is as tall as it was"


def test_a_finger_on_a_phone_sits_down_without_a_fault_of_access(desk, browser, server):
    with careful_windows(browser, server) as opened:
        phone = opened(360, 780, touch=True)
        phone.page.emulate_media(reduced_motion="reduce")
        phone.open(desk.job_id)
        phone.on("below-three").click()
        phone.until(NAMED)
        phone.page.evaluate("document.querySelector('.round-body').scrollIntoView({ block: 'center' })")
        before = picture(phone)

        phone.page.touchscreen.tap(*name_of_seat(phone))
        phone.until(f"{LOOKED_FROM} === 'seat_1'")
        seated = another_picture(phone, before)
        phone.page.evaluate("document.querySelector('.round-body').scrollIntoView({ block: 'center' })")
        box = phone.on("round").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        phone.touch("touchStart", (x, y))
        phone.touch("touchMove", (x - 60.0, y))
        phone.touch("touchEnd")
        another_picture(phone, seated)

        assert sideways(phone) <= 0
        phone.page.evaluate(AXE)
        assert faults(phone, RULES, "tag") == []
