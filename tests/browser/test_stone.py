"""Stone: what covers the bank, stones taped at the yard with their places, stones and machines by hand."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from tests.browser.conftest import CopyOf
from tests.browser.driver import Window
from tests.browser.test_access import AXE, RULES, RULES_OF_COLOUR, faults, sideways

INCH = 0.0254


@pytest.fixture(scope="module")
def opened(shared_window: Window, copy_of: CopyOf) -> Window:
    """The example on the plan, with no flags in the way."""
    shared_window.open(copy_of("larkmeadow"))
    shared_window.hide_flags()
    return shared_window


@pytest.fixture
def room(opened: Window) -> Iterator[Window]:
    """The room of the stone beside the plan; all that is done in it is taken back."""
    if not opened.on("stone-classes").is_visible():
        opened.on("room-stone").click()
    opened.on("stone-classes").wait_for()
    yield opened
    opened.take_back()


def tape(window: Window, tag: str, *tapes: str) -> None:
    """Type a stone at the yard card, and keep it."""
    for name, text in zip(("first", "second", "third"), tapes, strict=True):
        window.on(f"tape-{name}").fill(text)
    window.on("yard-tag").fill(tag)
    with window.change():
        window.on("keep-stone").click()


def test_tons_follow_the_share_of_a_class_and_the_class_that_was_added(room):
    before = room.figure("stone.takeoff.treatments.edge_east.mass")
    box = room.on("treatments-edge_east-share-edge")
    room.page.locator("details.entry", has=box).locator("summary").click()
    with room.change():
        room.type_in("treatments-edge_east-share-edge", "20 %")

    shares = room.kept()["stone"]["treatments"]["edge_east"]["classes"]
    assert [one["share"] for one in shares] == pytest.approx([0.2, 0.8])
    after = room.figure("stone.takeoff.treatments.edge_east.mass")
    assert before is not None and after is not None and after > 1.1 * before

    room.on("new-class").locator("summary").click()
    room.type_in("new-class-name", "Giants")
    room.type_in("new-class-low", "3 ft")
    room.type_in("new-class-high", "4 ft")
    with room.change():
        room.on("add-class").click()
    assert room.kept()["stone"]["classes"]["giants"]["high"] == pytest.approx(48 * INCH)

    with room.change():
        room.on("undo").click()
    with room.change():
        room.on("undo").click()
    assert room.figure("stone.takeoff.treatments.edge_east.mass") == pytest.approx(before)


def test_a_cover_is_shown_on_the_plan_from_peg_to_peg(room):
    pegs = room.full_pegs()
    room.on("draw-treatment").click()
    for peg in (pegs[4], pegs[5]):
        room.tap((peg["east"], peg["north"]))
    room.on("treatment-kind").select_option("gravel")
    room.on("treatment-class").select_option("gravel")
    with room.change():
        room.on("keep-treatment").click()

    row = room.kept()["stone"]["treatments"]["gravel"]
    assert (row["place"]["start"], row["place"]["end"]) == (pegs[4]["id"], pegs[5]["id"])
    assert row["classes"][0]["stone"] == "gravel"


def test_stones_taped_at_the_yard_get_a_place_or_are_left_over(open_window, larkmeadow):
    phone = open_window(360, 780, touch=True)
    phone.open(larkmeadow)
    phone.on("bar-stone").tap()
    phone.on("open-yard").tap()

    tape(phone, "A7", "20", "14", "12")

    row = phone.kept()["stone"]["pieces"]["a7"]
    assert [row[side] for side in ("length", "width", "height")] == pytest.approx(
        [20 * INCH, 14 * INCH, 12 * INCH]
    )
    assert phone.on("yard-tag").input_value() == "A8"
    phone.until("!document.querySelector('[data-testid=yard-last]').innerText.includes('not dealt')")
    assert "Edge stones" in phone.on("yard-last").inner_text()

    tape(phone, "A8", "12 ft", "9 ft", "7 ft")

    phone.on("yard-list").locator("li[data-left='yes']").first.wait_for()
    assert "A8" in phone.on("yard-list").locator("li[data-left='yes']").inner_text()

    phone.on("tape-first").fill("30")
    phone.on("keep-stone").click()
    assert "second tape" in phone.on("yard-fault").inner_text()
    assert len(phone.kept()["stone"]["pieces"]) == 2

    phone.page.evaluate(AXE)
    assert faults(phone, RULES, "tag") == []
    assert sideways(phone) <= 0.0
    with phone.change():
        phone.on("yard-back").click()
    assert list(phone.kept()["stone"]["pieces"]) == ["a7"]


def test_a_stone_is_put_down_dragged_and_turned(room):
    peg = room.full_pegs()[4]
    place = (peg["east"] + 3.0, peg["north"] + 3.0)
    room.on("open-yard").click()
    tape(room, "B1", "5 ft", "3 ft", "2 ft")
    room.on("yard-room").click()
    room.page.locator("details.entry", has=room.on("put-b1")).locator("summary").click()
    room.on("put-b1").click()
    room.hold(place, (place[0], place[1] + 4.0))
    room.page.mouse.up()
    with room.change():
        room.on("pick-take").click()
    row = room.kept()["stone"]["pieces"]["b1"]
    assert (row["place"]["east"], row["place"]["north"]) == pytest.approx(place, abs=0.05)
    assert math.sin(row["turn"]) == pytest.approx(0.0, abs=0.05)

    room.tap(place)
    handle = (place[0], place[1] + 2.5 * 0.3048 + 0.35)
    with room.change():
        room.drag(handle, (place[0] + 3.0, place[1]))
    assert room.kept()["stone"]["pieces"]["b1"]["turn"] == pytest.approx(math.pi / 2, abs=0.1)

    with room.change():
        room.drag(place, (place[0] + 1.0, place[1] + 0.5))
    moved = room.kept()["stone"]["pieces"]["b1"]["place"]
    assert (moved["east"], moved["north"]) == pytest.approx((place[0] + 1.0, place[1] + 0.5), abs=0.1)


def test_a_machine_with_its_chart_and_a_standing_place_sets_or_refuses_a_stone(room):
    room.on("new-lifter").locator("summary").click()
    room.type_in("new-lifter-radius", "10 ft")
    room.type_in("new-lifter-capacity", "3000 lb")
    with room.change():
        room.on("add-lifter").click()
    peg = room.full_pegs()[4]
    room.on("put-stand").click()
    room.tap((peg["east"] + 4.0, peg["north"] + 4.0))
    with room.change():
        room.on("pick-take").click()

    lifter = room.kept()["stone"]["lifters"]["machine"]
    assert lifter["chart"][0]["capacity"] == pytest.approx(3000 * 0.45359237)
    assert lifter["stands"][0]["east"] == pytest.approx(peg["east"] + 4.0, abs=0.05)
    assert room.figure("stone.setting.lifters.machine.heaviest") is not None


def test_the_room_of_the_stone_is_fit_for_every_look(room):
    room.on("strip").wait_for()
    room.on("strip-stone-top").wait_for(state="attached")
    for fold in room.page.locator(".leaf details > summary").all():
        fold.click()
    room.page.evaluate(AXE)

    assert faults(room, RULES, "tag") == []
    for look in ("night", "sun"):
        room.page.evaluate("(look) => void (document.documentElement.dataset.look = look)", look)
        assert faults(room, RULES_OF_COLOUR, "rule") == []
    assert sideways(room) <= 0.0
