"""The shoreline is bent by the mouse, a finger, presses, keys and typing, and all give the same document."""

from __future__ import annotations

import math

import pytest

from tests.browser.driver import Place, Window, assert_same, pegs_of, shot_place

PEG = "p19"
VOLUME = "shape.storage.bodies.pond.volume"


@pytest.fixture
def plan(window, larkmeadow) -> Window:
    window.open(larkmeadow)
    return window


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
    before = plan.peg(PEG)

    with plan.change():
        plan.drag(before, (before[0] + 1.5, before[1] - 2.0))

    accepted = [message["rev"] for message in plan.messages if message["type"] == "ack"]
    last = plan.frames[-1]
    assert (last["rev"], last["lod"], last["state"]) == (accepted[-1], 1, "exact")
    assert any(frame["lod"] == 2 for frame in plan.frames)


def test_pressing_typing_and_dragging_give_the_same_document(open_window, copy_of):
    shapes = []
    for way in ("drag", "press", "type"):
        window = open_window()
        window.open(copy_of("larkmeadow"))
        window.hide_flags()
        shot = lonely_shot(window)
        here, there = window.peg(PEG), shot_place(window.job(), shot)
        if way == "drag":
            with window.change():
                window.drag(here, there)
        elif way == "press":
            window.tap(here)
            with window.change():
                window.tap(there)
        else:
            window.tap(here)
            with window.change(2):
                window.type_in("peg-east", f"{there[0]} m")
                window.exact(1)
                window.type_in("peg-north", f"{there[1]} m")
        assert window.peg(PEG) == there, way
        shapes.append(window.kept()["shape"])

    assert shapes[0] == shapes[1] == shapes[2]


def test_a_finger_drags_a_peg(open_window, larkmeadow):
    window = open_window(390, 844, touch=True)
    window.open(larkmeadow)
    window.hide_flags()
    aim = shot_place(window.job(), lonely_shot(window))
    x, y = window.pixel(window.peg(PEG))
    to_x, to_y = window.pixel(aim)

    with window.change():
        window.touch("touchStart", (x, y))
        for step in range(1, 9):
            window.touch("touchMove", (x + (to_x - x) * step / 8, y + (to_y - y) * step / 8))
        window.touch("touchEnd")

    assert window.peg(PEG) == aim
    assert_same(pegs_of(window.kept()), window.full_pegs())


def test_a_finger_taps_a_peg_and_then_its_new_place(open_window, larkmeadow):
    window = open_window(390, 844, touch=True)
    window.open(larkmeadow)
    window.hide_flags()
    aim = shot_place(window.job(), lonely_shot(window))

    window.page.touchscreen.tap(*window.pixel(window.peg(PEG)))
    with window.change():
        window.page.touchscreen.tap(*window.pixel(aim))

    assert window.peg(PEG) == aim


def test_a_second_finger_lets_go_of_the_peg_and_pinches(open_window, larkmeadow):
    window = open_window(390, 844, touch=True)
    window.open(larkmeadow)
    before = window.peg(PEG)
    x, y = window.pixel(before)

    window.touch("touchStart", (x, y))
    window.touch("touchMove", (x - 30, y))
    window.touch("touchStart", (x - 30, y), (x - 90, y + 40))
    window.touch("touchMove", (x + 10, y), (x - 150, y + 80))
    window.touch("touchEnd")

    window.exact()
    assert (window.rev, window.peg(PEG)) == (0, before)


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
    before = plan.peg(PEG)

    plan.hold(before, (before[0] + 1.5, before[1] - 2.0))
    plan.until("pondwright.state() === 'moving'")
    plan.page.keyboard.press("Escape")
    plan.page.mouse.up()

    plan.exact()
    assert (plan.rev, plan.peg(PEG)) == (0, before)


def test_the_shore_crossing_itself_is_said_in_words_while_it_is_held(plan):
    plan.hold(plan.peg(PEG), (112.0, 112.0))

    plan.page.get_by_text("The shore crosses itself here; it cannot be built so.").wait_for()

    plan.page.keyboard.press("Escape")
    plan.page.mouse.up()
    plan.exact()
