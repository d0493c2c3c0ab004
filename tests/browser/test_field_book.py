"""The field book as it is read: typed line by line, pasted as a page, on a phone one reading at a time."""

from __future__ import annotations

import httpx
import pytest

from tests.browser.driver import Window

FT = 0.3048
LINES = [
    ("BM1", "back", "4.20"),
    ("12", "between", "5.31"),
    ("TP1", "fore", "2.50"),
    ("TP1", "back", "5.15"),
    ("13", "between", "53 in"),
    ("BM1", "fore", "6.86"),
]
COLUMNS = ["point", "back", "between", "fore"]
PAGE = """Pt\tBS\tHI\tFS\tElev
BM 1\t4.20\t104.20\t\t100.00
12\t\t\t5.31\t98.89
TP1\t5.15\t\t2.50\t101.70
13\t\t\toops\t
BM 1\t\t\t6.86\t"""


def opened(window: Window, units: str = "us") -> Window:
    """The field book of a job that was just begun."""
    made = httpx.post(f"{window.server.address}/api/jobs", json={"name": "Mill Lane 4", "shown_units": units})
    window.job_id = made.json()["id"]
    window.page.goto(f"{window.server.address}/?test#/job/{window.job_id}/tables")
    window.until("pondwright.job() !== null && pondwright.state() === 'exact'")
    if window.on("leaf-close").is_visible():
        window.on("leaf-close").click()
    window.page.get_by_text("Field book", exact=True).click()
    with window.change():
        window.on("book-new").click()
    return window


def type_line(window: Window, point: str, column: str, reading: str) -> None:
    """Type a line of the book as one does: the point, on to the column, the reading, Enter."""
    page = window.page
    window.on("row-add").click()
    page.keyboard.type(point)
    page.keyboard.press("Tab")
    for _ in range(COLUMNS.index(column) - 1):
        page.keyboard.press("Tab")
    page.keyboard.type(reading)
    page.keyboard.press("Enter")


def filled(window: Window) -> Window:
    for line in LINES:
        with window.change():
            type_line(window, *line)
    return window


def cells(window: Window, row: int) -> list[str]:
    """What stands in the cells of a line, from 0."""
    lines = window.page.locator("table.grid tbody tr:not(.part)")
    return [text.strip() for text in lines.nth(row).get_by_role("gridcell").all_inner_texts()]


@pytest.fixture
def book(window):
    return filled(opened(window))


def test_a_book_is_typed_line_by_line_and_comes_out_as_set_ups(book):
    set_ups = book.kept()["site"]["books"]["book"]["set_ups"]

    assert [[one["point"] for one in each["backsights"]] for each in set_ups] == [["bm1"], ["tp1"]]
    assert [[(one["point"], one["kind"]) for one in each["readings"]] for each in set_ups] == [
        [("p12", "side"), ("tp1", "turn")],
        [("p13", "side"), ("bm1", "check")],
    ]
    assert set_ups[1]["readings"][0]["rod"] == pytest.approx(53 * 0.0254)
    # What is only read becomes a shot without a place; the turning point does not.
    assert {name: shot["place"]["by"] for name, shot in book.kept()["site"]["shots"].items()} == {
        "p12": "book",
        "p13": "book",
    }


def test_heights_stand_in_their_cells_once_the_benchmark_has_one(book):
    with book.change():
        book.type_in("mark-bm1", "100")

    assert cells(book, 0)[:6] == ["bm1", "4.20 ft", "104.20 ft", "", "", "100.00 ft"]
    assert cells(book, 1)[5] == "98.89 ft"
    assert book.on("book-sums").inner_text() == "Back 9.35 ft less fore 9.36 ft is a rise of −0.01 ft."
    closing = book.on("book-closing").inner_text()
    assert closing.startswith("Good closes to 0.01 ft: fine for this loop")


def test_a_blunder_is_told_in_words_and_blocks_nothing(book):
    with book.change():
        book.type_in("mark-bm1", "100")
    with book.change():
        book.page.locator("table.grid tbody tr:not(.part)").nth(2).get_by_role("gridcell").nth(4).click()
        book.page.keyboard.type("3.50")
        book.page.keyboard.press("Enter")

    assert "Stop misses by" in book.on("book-closing").inner_text()
    assert cells(book, 4)[5] != "", "the heights are given all the same"


def test_a_line_is_put_in_between_and_taken_out_again(book):
    with book.change():
        book.page.get_by_role("button", name="Put a row in below row 2").click()
        book.page.keyboard.type("14")
        for _ in range(2):
            book.page.keyboard.press("Tab")
        book.page.keyboard.type("4.4")
        book.page.keyboard.press("Enter")
    first = book.kept()["site"]["books"]["book"]["set_ups"][0]
    assert [one["point"] for one in first["readings"]] == ["p12", "p14", "tp1"]

    with book.change():
        book.page.get_by_role("button", name="Undo").click()

    first = book.kept()["site"]["books"]["book"]["set_ups"][0]
    assert [one["point"] for one in first["readings"]] == ["p12", "tp1"]


def test_reading_direction_and_unit_are_chosen_at_the_head(window):
    book = opened(window, "metric")
    with book.change():
        book.page.get_by_text("higher ground", exact=True).click()
    with book.change():
        type_line(book, "edge", "back", "0")
    with book.change():
        type_line(book, "12", "between", "-0.20")
    with book.change():
        book.type_in("mark-edge", "30")

    assert cells(book, 1)[5] == "29.800 m"
    assert "plus and minus from the water line" in book.page.inner_text("main")


def test_the_two_peg_test_is_judged_once_all_its_readings_are_there(window):
    book = opened(window, "metric")
    book.page.get_by_text("Two-peg test of the instrument").click()
    for name, text in {
        "middle_a": "1.500",
        "middle_b": "1.400",
        "near_a": "1.450",
        "near_b": "1.345",
    }.items():
        book.type_in(f"two-peg-{name}", text)
    assert book.kept()["site"]["books"]["book"]["two_peg"] is None
    with book.change():
        book.type_in("two-peg-farther", "30 m")

    kept = book.kept()["site"]["books"]["book"]["two_peg"]
    assert kept["sight_difference"] == -30.0
    book.on("two-peg-found").wait_for()


def test_a_page_is_pasted_with_each_bad_cell_marked_and_taken_as_one_edit(window):
    book = opened(window)
    book.page.get_by_text("Paste a page").click()
    book.on("book-text").fill(PAGE)
    book.on("book-take").wait_for()
    refused = book.page.locator(".preview .refused")
    assert refused.count() == 1 and "oops" in refused.inner_text()

    with book.change():
        book.on("book-take").click()

    site = book.kept()["site"]
    assert site["marks"]["bm_1"]["elevation"] == pytest.approx(100 * FT)
    assert [len(each["readings"]) for each in site["books"]["book"]["set_ups"]] == [2, 1]
    assert cells(book, 1)[5] == "98.89 ft"
    with book.change():
        book.page.get_by_role("button", name="Undo").click()
    assert book.kept()["site"]["books"]["book"]["set_ups"] == []
    assert book.kept()["site"]["marks"] == {}


def test_on_a_phone_one_reading_follows_the_other_in_big_boxes(open_window):
    phone = opened(open_window(360, 740, touch=True))
    for at, (point, column, reading) in enumerate(LINES):
        if column == "fore":
            phone.page.get_by_text("On to the next, or closing").click()
        assert phone.on("next-rod").bounding_box()["height"] >= 56
        with phone.change():
            if not (column == "back" and at):  # the turning point is there already
                phone.on("next-point").fill(point)
            phone.on("next-rod").fill(reading)
            phone.on("next-keep").click()
    with phone.change():
        phone.type_in("mark-bm1", "100")

    assert [len(each["readings"]) for each in phone.kept()["site"]["books"]["book"]["set_ups"]] == [2, 2]
    cards = phone.page.locator(".card-of-book")
    assert cards.count() == len(LINES)
    assert "Rod on bm1" in cards.first.inner_text() and "100.00 ft" in cards.first.inner_text()
    assert phone.ask("document.documentElement.scrollWidth <= innerWidth")


def test_what_cannot_be_read_says_so_beside_the_box_and_nothing_is_lost(open_window):
    phone = opened(open_window(360, 740, touch=True))
    phone.on("next-point").fill("BM1")
    phone.on("next-rod").fill("four")
    phone.on("next-keep").click()

    assert "four" in phone.page.locator("#next-fault").inner_text()
    assert phone.on("next-rod").input_value() == "four"
    assert phone.kept()["site"]["books"]["book"]["set_ups"] == []
