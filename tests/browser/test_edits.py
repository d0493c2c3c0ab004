"""Every kind of edit is drawn, typed or pressed, kept by the server, taken back and made again."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from pondwright.geometry.curve import closed_curve
from tests.browser.conftest import CopyOf
from tests.browser.driver import Window, assert_same, pegs_of

ISLAND = [(128.0, 129.0), (130.5, 128.5), (131.0, 131.0), (128.5, 131.5)]
SECOND_SHORE = [(143.0, 116.0), (148.0, 115.0), (149.0, 119.0), (144.0, 119.5)]


def move_a_peg(window: Window) -> None:
    east, north = window.peg("p19")
    window.drag((east, north), (east + 1.5, north - 2.0))


def put_a_peg_in(window: Window) -> None:
    shore = window.ask("pondwright.job().shape.bodies.pond.outline.curve.pegs.slice(20, 22)")
    middle = tuple(sum(peg[name] for peg in shore) / 2 for name in ("east", "north"))
    edge = nearest_on_shore(window, middle)
    window.tap(edge)


def nearest_on_shore(window: Window, place: tuple[float, float]) -> tuple[float, float]:
    """The place of the server's own shore that lies nearest."""
    pegs = pegs_of(window.job())
    places = np.array([(peg["east"], peg["north"]) for peg in pegs])
    sampled = closed_curve(places, np.array([peg.get("corner", False) for peg in pegs])).points
    nearest = min(sampled, key=lambda point: (point[0] - place[0]) ** 2 + (point[1] - place[1]) ** 2)
    return float(nearest[0]), float(nearest[1])


def take_a_peg_out(window: Window) -> None:
    window.tap(window.peg("p21"))
    window.on("peg-delete").click()


def turn_a_corner(window: Window) -> None:
    window.tap(window.peg("p21"))
    window.on("peg-corner").click()


def draw_an_island(window: Window) -> None:
    window.draw("island", ISLAND)


def draw_a_second_shore(window: Window) -> None:
    window.draw("shoreline", SECOND_SHORE)


def put_a_shot(window: Window) -> None:
    window.on("tool-shot").click()
    window.tap((147.0, 118.0))
    window.on("new-elevation").fill("98.5 ft")
    window.on("keep-shot").click()


def put_a_tree(window: Window) -> None:
    window.on("tool-thing").click()
    window.tap((147.0, 118.0))
    window.on("new-size").fill("4 m")
    window.on("keep-thing").click()


def draw_a_fence(window: Window) -> None:
    window.draw("boundary", [(145.0, 112.0), (150.0, 118.0)])
    window.on("keep-line").click()


def draw_a_break_line(window: Window) -> None:
    window.on("tool-breakline").click()
    for shot in ("f010", "f055"):
        window.on("new-shot").select_option(shot)
        window.on("add-place").click()
    window.on("finish").click()


def choose_a_bank_from_here_to_here(window: Window) -> None:
    window.on("tool-bank").click()
    window.on("bank-start").select_option("p20")
    window.on("bank-end").select_option("p22")
    window.on("bank-type").select_option("wading_edge")
    window.on("keep-bank").click()


def type_the_level(window: Window) -> None:
    window.type_in("box-level", "97.3 ft")


def type_the_freeboard(window: Window) -> None:
    window.type_in("box-freeboard", "1.2 ft")


def drag_the_level(window: Window) -> None:
    grip = window.on("grip-level").locator(".plate")
    box = grip.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    window.page.mouse.move(x, y)
    window.page.mouse.down()
    window.page.mouse.move(x, y - 6, steps=3)
    window.page.mouse.up()


def type_a_slope(window: Window) -> None:
    window.on("room-shape").click()
    window.type_in("slopes-cut", "2.5")
    window.on("leaf-close").click()


EDITS: tuple[Callable[[Window], None], ...] = (
    move_a_peg,
    put_a_peg_in,
    take_a_peg_out,
    turn_a_corner,
    draw_an_island,
    draw_a_second_shore,
    put_a_shot,
    put_a_tree,
    draw_a_fence,
    draw_a_break_line,
    choose_a_bank_from_here_to_here,
    type_the_level,
    type_the_freeboard,
    drag_the_level,
    type_a_slope,
)


@pytest.fixture(scope="module")
def plan(shared_window: Window, copy_of: CopyOf) -> Window:
    """One window for all edits: each is taken back at its end."""
    shared_window.open(copy_of("larkmeadow"))
    shared_window.hide_flags()
    return shared_window


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: edit.__name__)
def test_an_edit_is_kept_taken_back_and_made_again(plan, edit):
    before, ring = plan.kept(), pegs_of(plan.job())

    with plan.change():
        edit(plan)
    after, ring_after = plan.kept(), pegs_of(plan.job())
    with plan.acknowledged():
        plan.on("undo").click()
    undone, ring_undone = plan.kept(), pegs_of(plan.job())
    with plan.acknowledged():
        plan.on("redo").click()
    redone, ring_redone = plan.kept(), pegs_of(plan.job())
    with plan.acknowledged():
        plan.on("undo").click()
    plan.let_go()

    assert after != before
    assert_same(undone, before)
    assert_same(ring_undone, ring)
    assert_same(redone, after)
    assert_same(ring_redone, ring_after)


def test_keys_undo_and_redo_in_their_order(window, larkmeadow):
    window.open(larkmeadow)
    start = window.peg("p19")
    with window.change():
        move_a_peg(window)
    first = window.peg("p19")
    with window.change():
        window.drag(first, (first[0] + 1.0, first[1] + 1.0))
    second = window.peg("p19")

    places = []
    for keys in ("Control+z", "Control+z", "Control+Shift+z", "Control+Shift+Z"):
        with window.acknowledged():
            window.page.keyboard.press(keys)
        places.append(window.peg("p19"))

    assert_same(places, [first, start, first, second])


def test_an_island_is_moved_whole_and_taken_out(window, larkmeadow):
    window.open(larkmeadow)
    window.hide_flags()
    with window.change():
        draw_an_island(window)
    (island,) = window.job()["shape"]["bodies"]["pond"]["islands"]
    before = pegs_of(window.job(), "pond", island)
    window.let_go()

    with window.change():
        window.drag((129.5, 130.0), (130.5, 131.0))
    moved = pegs_of(window.job(), "pond", island)
    with window.change():
        window.page.get_by_test_id("plan-box").get_by_role("button", name="Take out").click()

    shifts = {
        (round(b["east"] - a["east"], 6), round(b["north"] - a["north"], 6))
        for a, b in zip(before, moved, strict=True)
    }
    assert len(shifts) == 1
    assert window.kept()["shape"]["bodies"]["pond"]["islands"] == {}
