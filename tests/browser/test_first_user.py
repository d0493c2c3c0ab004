"""What somebody does in the first hour: money as written, pasted rows, level notes, marks and photos."""

from __future__ import annotations

import re

import pytest

from tests.browser.driver import Window
from tests.browser.test_first_visit import page_of, photos_of, picture

METRES = "east,north,elev\n122.59,125.64,27.31\n125.03,124.08,27.26\n125.03,121.37,27.38"
PAGE = """Sta     BS     HI       FS     Elev
BM-1    4.20   104.20          100.00
TP-1    5.15   106.85   2.50   101.70
rim                     4.10   102.75
"""


@pytest.fixture
def desk(open_window, copy_of) -> Window:
    window: Window = open_window(1280, 860)
    window.open(copy_of("larkmeadow"))
    return window


@pytest.fixture
def small(open_window, copy_of) -> Window:
    window: Window = open_window(360, 740, touch=True)
    window.open(copy_of("dozen_shots"))
    return window


def site(window: Window) -> None:
    window.on("room-site").click()


def test_money_is_taken_as_it_is_written_and_a_fault_speaks_of_money(desk):
    site(desk)
    page_of(desk, "card")
    with desk.change():
        desk.type_in("card-currency", "")
    with desk.change():
        desk.type_in("card-budget", "$40,000")
    assert (desk.kept()["brief"]["budget"], desk.kept()["brief"]["currency"]) == (40000, "$")

    desk.type_in("card-budget", "about forty")

    said = desk.page.locator("#card-budget-fault").inner_text()
    assert "is not understood as an amount of money" in said and "count" not in said
    assert desk.kept()["brief"]["budget"] == 40000


def test_metres_pasted_into_a_job_in_feet_are_warned_of_and_read_as_metres_when_told(desk):
    site(desk)
    desk.page.get_by_role("button", name="Add shots").click()
    desk.on("shots-text").fill(METRES)

    desk.page.get_by_text("in metres they would fit. Are they?").wait_for()
    desk.on("shots-unit").select_option("m")
    desk.page.get_by_text("bare numbers in m.").wait_for()
    assert "swapped" not in desk.on("shots-says").inner_text()
    before = set(desk.kept()["site"]["shots"])
    with desk.change():
        desk.on("shots-add").click()

    shots = desk.kept()["site"]["shots"]
    added = [shot for name, shot in shots.items() if name not in before]
    assert [shot["place"]["east"] for shot in added] == pytest.approx([122.59, 125.03, 125.03])
    assert desk.page.locator("main").get_attribute("data-drawing") == "no"


def test_the_other_order_is_one_press_away(desk):
    site(desk)
    desk.page.get_by_role("button", name="Add shots").click()
    desk.on("shots-text").fill(METRES)
    desk.on("shots-says").wait_for()
    desk.on("shots-order").get_by_text("north", exact=True).click()

    # Both orders show the number in the row: the first column has to be waited for.
    first = desk.page.locator(".preview tbody tr").first.locator("td").first
    first.get_by_text("125.64").wait_for()
    assert first.inner_text().startswith("125.64")


def test_level_notes_lead_from_the_site_to_the_book_and_the_leaf_goes(desk):
    site(desk)
    desk.on("site-levels").click()

    desk.page.get_by_role("heading", name="Tables").wait_for()
    assert desk.page.locator("aside.leaf").is_hidden()
    assert desk.page.get_by_role("radio", name="Field book").is_checked()


def test_a_benchmark_is_told_before_any_reading_and_a_page_with_spaces_is_read(open_window, copy_of):
    window = open_window(1280, 860)
    window.open(copy_of("dozen_shots"))
    window.go("tables")
    window.page.get_by_text("Field book", exact=True).click()
    window.on("known-name").fill("BM 7")
    window.on("known-name").press("Tab")
    window.type_in("known-elevation", "100")
    with window.change():
        window.on("known-add").click()
    assert window.kept()["site"]["marks"]["bm_7"]["elevation"] == pytest.approx(100.0)

    with window.change():
        window.on("book-new").click()
    window.page.get_by_text("Paste a page").click()
    window.on("book-text").fill("BM1  4.20\nrim  1  2  3  4  5")
    window.page.get_by_text("between spaces an empty cell cannot be seen").wait_for()
    window.on("book-text").fill(PAGE)
    with window.change():
        window.on("book-take").click()
    (book,) = window.kept()["site"]["books"].values()
    assert [len(one["readings"]) for one in book["set_ups"]] == [1, 1]


def test_a_water_mark_is_kept_only_with_a_height_that_somebody_typed(desk):
    before = desk.kept()["site"]["water_marks"]
    site(desk)
    page_of(desk, "old")
    desk.on("mark-add").click()
    desk.on("mark-keep-new").click()
    desk.page.get_by_text("nothing is kept before").wait_for()
    assert desk.kept()["site"]["water_marks"] == before

    desk.type_in("water-new", "94.0 ft")
    with desk.change():
        desk.on("mark-keep-new").click()
    (new,) = [mark for name, mark in desk.kept()["site"]["water_marks"].items() if name not in before]
    assert new["elevation"] == pytest.approx(94.0 * 0.3048)
    names = desk.page.get_by_role("button", name=re.compile("^Remove “"))
    assert names.count() > 0 and desk.page.locator("[aria-label*='{']").count() == 0


def test_a_photo_that_is_not_kept_is_shown_in_the_bar_and_kept_when_the_job_is_left(desk):
    site(desk)
    page_of(desk, "photos")
    desk.on("photo-add").set_input_files(picture(grey=90))
    desk.on("photo-form").wait_for()
    desk.on("leaf-close").click()
    desk.on("photo-waits").click()
    desk.on("photo-form").wait_for()
    assert photos_of(desk) == []

    desk.page.get_by_role("link", name="Jobs").click()
    desk.page.get_by_text("The photo was kept as it stood.").wait_for()

    assert len(photos_of(desk)) == 1


def test_on_a_small_phone_the_rooms_are_in_view_and_papers_stand_without_a_leaf(small):
    seen = """name => { const box = document.querySelector(`[data-testid="${name}"]`).getBoundingClientRect();
        const hit = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        return hit?.dataset.testid === name && box.bottom <= innerHeight; }"""
    for name in ("bar-site", "bar-shape", "bar-earth", "bar-checks"):
        assert small.page.evaluate(seen, name), name
    small.on("bar-site").tap()
    small.on("site-card").wait_for()
    small.go("papers")

    assert small.page.locator("aside.leaf").is_hidden()
    small.on("bar-shape").tap()
    small.page.get_by_role("heading", name="Shape").wait_for()


def test_an_empty_job_says_nothing_aloud(open_window, server):
    import httpx

    made = httpx.post(f"{server.address}/api/jobs", json={"name": "Empty", "shown_units": "us"}).json()
    window = open_window()
    window.job_id = made["id"]
    window.page.goto(f"{server.address}/?test#/job/{made['id']}/plan")
    window.on("to-site").click()
    page_of(window, "card")
    window.type_in("card-client", "Somebody")
    window.until("pondwright.rev() === 1 && pondwright.state() === 'exact'")

    assert window.page.locator("[data-testid='notice'] .hidden").inner_text() == ""
