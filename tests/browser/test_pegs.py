"""The shoreline is bent by the mouse, a finger, presses, keys and typing, and all give the same document."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from tests.browser.conftest import careful_windows
from tests.browser.driver import Place, Window, assert_same, pegs_of, shot_place

PEG = "p19"
VOLUME = "shape.storage.bodies.pond.volume"


@pytest.fixture(scope="module")
def desk(shared_window, copy_of) -> Window:
    shared_window.open(copy_of("larkmeadow"))
    return shared_window


@pytest.fixture
def plan(desk) -> Iterator[Window]:
    """One window for all that a mouse does: each test takes back what it did."""
    yield desk
    desk.take_back()


@pytest.fixture(scope="module")
def glass(browser, server, copy_of) -> Iterator[Window]:
    with careful_windows(browser, server) as opened:
        window = opened(390, 844, touch=True)
        window.open(copy_of("larkmeadow"))
        window.hide_flags()
        yield window


@pytest.fixture
def phone(glass) -> Iterator[Window]:
    """One phone for all fingers."""
    yield glass
    glass.take_back()


def lonely_shot(window: Window) -> str:
    """A shot near the peg with nothing else near it, so that a press there means this shot."""
    job, here = window.job(), window.peg(PEG)
    places = {name: shot_place(job, name) for name in job["site"]["shots"]}
    others = [*places.values(), *((one["east"], one["north"]) for one in pegs_of(job))]

    def room(name: str) -> float:
        return sorted(math.dist(places[name], other) for other in others)[1]

    near = [name for name, place in places.items() if 2.0 < math.dist(place, here) < 7.0]
    return max(near, key=room)


def within_a_snap(plan: Window, place: Place) -> float:
    """How far a peg may jump from the mouse to something that it snaps to: 8 pixels, in metres."""
    x, y = plan.pixel(place)
    return 1.01 * math.dist(plan.site((x, y)), plan.site((x + 8.0, y)))


def test_a_peg_follows_the_mouse_and_the_numbers_follow_the_peg(plan):
    before, volume = plan.peg(PEG), plan.figure(VOLUME)
    aim = (before[0] + 1.5, before[1] - 2.0)
    plan.watch_states()

    plan.hold(before, aim)
    plan.until("pondwright.state() === 'moving' && pondwright.stats().lod === 2")
    plan.until(f"Math.abs(pondwright.stats()['{VOLUME}'] - given) > 0.01", volume)
    kept_in_the_drag = plan.kept()
    with plan.change():
        plan.page.mouse.up()

    assert pegs_of(kept_in_the_drag)[18]["east"] == pytest.approx(before[0], abs=1e-9)
    east, north = plan.peg(PEG)
    assert math.dist((east, north), aim) <= within_a_snap(plan, aim)
    assert plan.states()[0] == "exact" and "moving" in plan.states() and plan.states()[-1] == "exact"
    assert_same(pegs_of(plan.kept()), plan.full_pegs())
    assert plan.figure(VOLUME) != volume


def test_the_frame_after_the_drop_is_fine_exact_and_of_the_acknowledged_revision(plan):
    before, seen = plan.peg(PEG), len(plan.frames)

    with plan.change():
        plan.drag(before, (before[0] + 1.5, before[1] - 2.0))

    accepted = [message["rev"] for message in plan.messages if message["type"] == "ack"]
    last = plan.frames[-1]
    assert (last["rev"], last["lod"], last["state"]) == (accepted[-1], 1, "exact")
    assert any(frame["lod"] == 2 for frame in plan.frames[seen:])


def test_pressing_typing_and_dragging_give_the_same_document(plan):
    plan.hide_flags()
    there = shot_place(plan.job(), lonely_shot(plan))
    shapes = []
    for way in ("drag", "press", "type"):
        here = plan.peg(PEG)
        assert here != there
        if way == "drag":
            with plan.change():
                plan.drag(here, there)
        elif way == "press":
            plan.tap(here)
            with plan.change():
                plan.tap(there)
        else:
            plan.tap(here)
            with plan.change(2):
                plan.type_in("peg-east", f"{there[0]} m")
                plan.exact(plan.rev)
                plan.type_in("peg-north", f"{there[1]} m")
        assert plan.peg(PEG) == there, way
        shapes.append(plan.kept()["shape"])
        plan.take_back()

    assert shapes[0] == shapes[1] == shapes[2]


def test_a_finger_drags_a_peg(phone):
    aim = shot_place(phone.job(), lonely_shot(phone))
    x, y = phone.pixel(phone.peg(PEG))
    to_x, to_y = phone.pixel(aim)

    with phone.change():
        phone.touch("touchStart", (x, y))
        for step in range(1, 9):
            phone.touch("touchMove", (x + (to_x - x) * step / 8, y + (to_y - y) * step / 8))
        phone.touch("touchEnd")

    assert phone.peg(PEG) == aim
    assert_same(pegs_of(phone.kept()), phone.full_pegs())


def test_a_finger_taps_a_peg_and_then_its_new_place(phone):
    aim = shot_place(phone.job(), lonely_shot(phone))

    phone.page.touchscreen.tap(*phone.pixel(phone.peg(PEG)))
    with phone.change():
        phone.page.touchscreen.tap(*phone.pixel(aim))

    assert phone.peg(PEG) == aim


def test_a_second_finger_lets_go_of_the_peg_and_pinches(phone):
    rev, before = phone.rev, phone.peg(PEG)
    x, y = phone.pixel(before)

    phone.touch("touchStart", (x, y))
    phone.touch("touchMove", (x - 30, y))
    phone.touch("touchStart", (x - 30, y), (x - 90, y + 40))
    phone.touch("touchMove", (x + 10, y), (x - 150, y + 80))
    phone.touch("touchEnd")

    phone.exact()
    assert (phone.rev, phone.peg(PEG)) == (rev, before)


def test_arrow_keys_move_the_chosen_peg_and_one_press_is_one_edit(plan):
    before = plan.peg(PEG)
    plan.tap(before)
    plan.on("plan").focus()

    with plan.change():
        plan.page.keyboard.press("ArrowRight")
    with plan.change():
        plan.page.keyboard.press("Shift+ArrowUp")

    east, north = plan.peg(PEG)
    assert (east - before[0], north - before[1]) == pytest.approx((0.1524, 0.01524), abs=1e-9)
    assert_same(pegs_of(plan.kept()), plan.full_pegs())


def test_escape_puts_a_held_peg_back_and_is_no_edit(plan):
    rev, before = plan.rev, plan.peg(PEG)

    plan.hold(before, (before[0] + 1.5, before[1] - 2.0))
    plan.until("pondwright.state() === 'moving'")
    plan.page.keyboard.press("Escape")
    plan.page.mouse.up()

    plan.exact()
    assert (plan.rev, plan.peg(PEG)) == (rev, before)


def test_the_shore_crossing_itself_is_said_in_words_while_it_is_held(plan):
    plan.hold(plan.peg(PEG), (112.0, 112.0))

    plan.page.get_by_text("The shore crosses itself here; it cannot be built so.").wait_for()

    plan.page.keyboard.press("Escape")
    plan.page.mouse.up()
    plan.exact()
