"""A stream with a fall, a path, a bridge and a seat are drawn on the plan, and the numbers follow."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import pytest

from tests.browser.driver import Place, Window, assert_same

BEFORE_THE_SHORE = [(106.0, 133.0), (110.0, 130.0), (113.0, 126.6)]
SEAT = (132.0, 113.0)


@pytest.fixture(scope="module")
def desk(shared_window, copy_of) -> Window:
    shared_window.open(copy_of("larkmeadow"))
    shared_window.hide_flags()
    return shared_window


@pytest.fixture
def plan(desk) -> Iterator[Window]:
    """One window for all that a mouse does: each test takes back what it did."""
    yield desk
    desk.take_back()


def middle(places: list[Place], at: int = 0) -> Place:
    """Halfway between two places of a line."""
    (east, north), (to_east, to_north) = places[at], places[at + 1]
    return 0.5 * (east + to_east), 0.5 * (north + to_north)


def free_of_snaps(plan: Window, places: list[Place]) -> list[Place]:
    """The places, none of them by chance on a shot, a peg or a thing."""
    shots = [shot["place"] for shot in plan.job()["site"]["shots"].values()]
    shots = [(place["east"], place["north"]) for place in shots if place["by"] == "coordinates"]
    for place in places:
        assert min(math.dist(place, shot) for shot in shots) > 0.4, f"{place} lies on a shot"
    return places


def stream_of(plan: Window) -> dict:
    return plan.job()["shape"]["bodies"]["stream_1"]


def draw_stream(plan: Window) -> None:
    with plan.change():
        plan.draw("stream", BEFORE_THE_SHORE)


def draw_way(plan: Window, kind: str, places: list[Place]) -> None:
    plan.on("tool-way").click()
    plan.on("new-way").select_option(kind)
    with plan.change():
        for place in places:
            plan.tap(place)
        plan.on("finish").click()


def test_a_stream_is_drawn_with_a_fall_and_both_follow_the_hand(plan):
    draw_stream(plan)
    volume, level = "shape.storage.bodies.stream_1.volume", "shape.shore.bodies.stream_1.level"
    held, stands = plan.figure(volume), plan.figure(level)
    assert held and held > 0.1 and stands
    assert stream_of(plan)["outline"]["widths"] == [1.0, 1.0, 1.0]

    plan.on("tool-fall").click()
    with plan.change():
        plan.tap(middle(BEFORE_THE_SHORE))
    (fall,) = stream_of(plan)["outline"]["steps"]
    assert fall["drop"] == 0.3 and 1.0 < fall["distance"] < 4.0

    plan.on("fall-drop").fill("0.5 m")
    with plan.change():
        plan.on("fall-drop").press("Enter")
    assert stream_of(plan)["outline"]["steps"][0]["drop"] == pytest.approx(0.5)
    assert plan.figure(level) != pytest.approx(stands, abs=0.02), "the banks hold another level"

    before = plan.figure(volume)
    plan.let_go()
    peg = plan.peg("p1", "stream_1")
    plan.hold(peg, (peg[0] - 1.5, peg[1] + 1.0))
    plan.until(f"Math.abs(pondwright.stats()['{volume}'] - given) > 0.01", before)
    with plan.change():
        plan.page.mouse.up()
    assert plan.figure(volume) > before

    where = stream_of(plan)["outline"]["steps"][0]["distance"]
    plan.let_go()
    with plan.change():
        plan.drag(fall_place(plan), BEFORE_THE_SHORE[1])
    moved = stream_of(plan)["outline"]["steps"][0]
    assert moved["drop"] == pytest.approx(0.5) and moved["distance"] > where + 1.0

    with plan.change():
        plan.page.keyboard.press("Control+z")
    assert stream_of(plan)["outline"]["steps"][0]["distance"] == pytest.approx(where)


def fall_place(plan: Window) -> Place:
    """Place of the first fall: along the straight line of the pegs it is near enough to be taken hold of."""
    pegs = [(one["east"], one["north"]) for one in stream_of(plan)["outline"]["curve"]["pegs"]]
    left = stream_of(plan)["outline"]["steps"][0]["distance"]
    for (east, north), (to_east, to_north) in pairwise(pegs):
        long = math.hypot(to_east - east, to_north - north)
        if left <= long:
            return east + left / long * (to_east - east), north + left / long * (to_north - north)
        left -= long
    raise AssertionError("the fall lies beyond the stream")


def test_a_path_a_bridge_and_a_seat_tell_the_reach_and_the_view(plan):
    path = free_of_snaps(plan, [(128.0, 119.4), (134.0, 118.9), (139.5, 121.5)])
    draw_way(plan, "path", path)
    one_way = plan.figure("shape.reach.bodies.pond.share")
    assert one_way and 0.02 < one_way < 0.5
    assert plan.job()["shape"]["ways"]["path_1"]["width"] == pytest.approx(1.2)

    with plan.change():
        plan.drag(middle(path), (middle(path)[0] + 1.0, middle(path)[1] - 3.0))
    line = plan.job()["shape"]["ways"]["path_1"]["place"]["points"]
    whole = [(place["east"], place["north"]) for place in line]
    assert whole == [pytest.approx((east + 1.0, north - 3.0), abs=0.3) for east, north in path]
    assert plan.figure("shape.reach.bodies.pond.share") < one_way, "the reach follows the way"
    with plan.change():
        plan.page.keyboard.press("Control+z")

    draw_way(plan, "bridge", [(106.0, 122.5), (112.0, 104.5)])
    assert plan.figure("shape.reach.bodies.pond.share") > one_way

    plan.on("tool-seat").click()
    with plan.change():
        plan.tap(SEAT)
    share = plan.figure("shape.views.seats.seat_1.share")
    assert share and 0.0 < share <= 1.0
    assert plan.on("seat-share").inner_text() == f"{round(100 * share)} %"

    plan.on("seat-eyes").fill("0.2 m")
    with plan.change():
        plan.on("seat-eyes").press("Enter")
    assert plan.figure("shape.views.seats.seat_1.share") <= share
    kept = plan.kept()
    plan.on("plan").focus()
    with plan.change():
        plan.page.keyboard.press("Control+z")
    with plan.change():
        plan.page.keyboard.press("Control+z")
    assert "seats" not in plan.kept()["shape"] or not plan.kept()["shape"]["seats"]
    with plan.change():
        plan.page.keyboard.press("Control+Shift+z")
    with plan.change():
        plan.page.keyboard.press("Control+Shift+z")
    assert_same(plan.kept()["shape"], kept["shape"])


def test_a_seat_goes_by_mouse_keys_and_typing_and_its_view_follows_while_it_is_dragged(plan):
    plan.on("tool-seat").click()
    with plan.change():
        plan.tap(SEAT)
    share = "shape.views.seats.seat_1.share"
    before = plan.figure(share)

    plan.hold(SEAT, (121.9, 118.0))
    plan.until(f"Math.abs(pondwright.stats()['{share}'] - given) > 0.01", before)
    with plan.change():
        plan.page.mouse.up()

    place = plan.job()["shape"]["seats"]["seat_1"]["place"]
    plan.on("plan").focus()
    with plan.change():
        plan.page.keyboard.press("ArrowRight")
    nudged = plan.job()["shape"]["seats"]["seat_1"]["place"]
    assert nudged["east"] > place["east"] and nudged["north"] == pytest.approx(place["north"])

    plan.on("point-east").fill("125 m")
    with plan.change():
        plan.on("point-east").press("Enter")
    assert plan.job()["shape"]["seats"]["seat_1"]["place"]["east"] == pytest.approx(125.0)

    with plan.change():
        plan.on("point-delete").click()
    assert not plan.job()["shape"]["seats"]


def test_a_wall_before_the_seat_hides_water_and_the_panel_lists_both(plan):
    plan.on("tool-seat").click()
    with plan.change():
        plan.tap(SEAT)
    share = plan.figure("shape.views.seats.seat_1.share")
    draw_way(plan, "wall", [(128.0, 116.0), (136.0, 116.0)])
    plan.on("way-top").fill("32 m")
    with plan.change():
        plan.on("way-top").press("Enter")

    assert plan.figure("shape.views.seats.seat_1.share") < 0.5 * share

    plan.on("room-shape").click()
    plan.on("choose-wall_1").click()
    assert plan.on("plan-box").get_by_role("heading").inner_text().lower() == "wall"
    plan.on("choose-seat_1").click()
    plan.on("seat-share").wait_for()


def test_a_finger_draws_a_path_and_moves_its_end(open_window, copy_of):
    window = open_window(360, 780, touch=True)
    window.open(copy_of("larkmeadow"))
    window.hide_flags()
    window.on("plan-tools").tap()
    window.on("tool-way").tap()
    places = [(128.0, 119.4), (134.0, 118.9)]
    with window.change():
        for place in places:
            window.page.touchscreen.tap(*window.pixel(place))
        window.on("finish").tap()
    line = window.job()["shape"]["ways"]["path_1"]["place"]["points"]
    assert len(line) == 2

    # The whole way is chosen: its points are there to be dragged.
    here = window.pixel((line[1]["east"], line[1]["north"]))
    with window.change():
        window.touch("touchStart", here)
        window.touch("touchMove", (here[0] + 10, here[1] + 14))
        window.touch("touchMove", (here[0] + 18, here[1] + 30))
        window.touch("touchEnd")
    moved = window.job()["shape"]["ways"]["path_1"]["place"]["points"]
    assert moved[0] == line[0]
    assert math.dist((moved[1]["east"], moved[1]["north"]), (line[1]["east"], line[1]["north"])) > 0.5


def test_a_fence_is_closed_gets_a_gate_and_stands_beside_a_light(plan):
    fence = free_of_snaps(plan, [(122.0, 104.0), (128.0, 104.0), (128.0, 99.0)])
    plan.on("tool-way").click()
    plan.on("new-way").select_option("fence")
    with plan.change():
        for place in [*fence, fence[0]]:
            plan.tap(place)
    points = plan.job()["shape"]["ways"]["fence_1"]["place"]["points"]
    assert len(points) == 4 and points[0] == points[3], "a press on the first place closes it"
    whole = plan.figure("shape.built.fence_length")
    assert whole == pytest.approx(11.0 + math.hypot(6.0, 5.0), abs=0.3)

    with plan.change():
        plan.on("gate-add").click()
    assert plan.figure("shape.built.fence_length") == pytest.approx(whole - 1.0)

    plan.on("tool-way").click()
    plan.on("new-way").select_option("light")
    with plan.change():
        plan.tap((131.0, 103.0))
    assert plan.job()["shape"]["ways"]["light_1"]["place"]["at"] == "point"
    assert plan.figure("shape.built.lights.light_1.to_water") > 1.524
