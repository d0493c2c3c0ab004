"""A file from outside, looked at in the browser, taken in, taken back, and left."""

from __future__ import annotations

import pytest

from tests.browser.driver import Window

SHOTS = b"name,e,n,z,code\nA,20,9,99.62,rim\nB,28,12,99.70,rim\nC,32,19,99.88,rim\nD,15,20,99.40,hollow\n"


def terrain() -> bytes:
    """A bowl over the ground of the dozen shots, as coordinates without a word of their unit."""
    rows = (
        f"{0.25 * i:.2f} {0.25 * j:.2f} {99.5 + 0.0004 * ((i - 60) ** 2 + (j - 60) ** 2):.3f}"
        for i in range(120)
        for j in range(120)
    )
    return "\n".join(rows).encode()


def brought(window: Window, name: str, body: bytes) -> None:
    """Choose a file; wait until it has been looked at."""
    window.on("incoming-file").set_input_files({"name": name, "mimeType": "text/plain", "buffer": body})
    window.on("incoming").wait_for()


@pytest.fixture
def page_of_files(window, copy_of):
    window.open(copy_of("dozen_shots"))
    window.page.get_by_role("button", name="Site", exact=True).click()
    window.on("site-incoming").click()
    return window


def test_a_file_is_looked_at_taken_in_and_taken_back_by_one_undo(page_of_files):
    window = page_of_files
    brought(window, "terrain.xyz", terrain())
    assert window.on("incoming-count").inner_text() == "14400 of 14400"
    assert window.on("incoming-take").is_disabled(), "its unit is not known yet"
    assert window.page.locator(".incoming-picture path").count() == 5
    window.on("incoming-unit").get_by_text("metres", exact=True).click()
    window.until("!document.querySelector('[data-testid=incoming-take]').disabled")
    before = window.figure("site.ground.lowest")

    with window.change():
        window.on("incoming-take").click()

    (cloud,) = window.kept()["site"]["clouds"].values()
    assert cloud["count"] == 14400 and 20 < len(cloud["east"]) <= 4000
    window.page.get_by_text("points of 14400").wait_for()
    assert window.figure("site.ground.lowest") != before
    with window.change():
        window.page.keyboard.press("Control+z")
    assert window.kept()["site"]["clouds"] == {}
    assert window.figure("site.ground.lowest") == before
    with window.change():
        window.page.keyboard.press("Control+Shift+z")
    assert len(window.kept()["site"]["clouds"]) == 1


def test_swapped_columns_are_put_right_before_the_shots_are_taken(page_of_files):
    window = page_of_files
    brought(window, "shots.csv", SHOTS)
    window.on("incoming-order").locator("label").nth(1).click()
    window.until("document.querySelector('[data-testid=incoming-busy]') === null")

    with window.change():
        window.on("incoming-take").click()

    assert window.kept()["site"]["shots"]["a"]["place"] == {"by": "coordinates", "east": 9.0, "north": 20.0}


def test_shots_of_the_emptied_hole_begin_a_survey_of_their_own(page_of_files):
    window = page_of_files
    brought(window, "shots.csv", SHOTS)
    window.on("incoming-survey").select_option(label="a new one, which replaces what was there")

    with window.change():
        window.on("incoming-take").click()

    site = window.kept()["site"]
    assert list(site["surveys"]) == ["survey"]
    assert site["shots"]["a"]["survey"] == "survey"


def test_a_file_that_cannot_be_read_says_why_and_nothing_is_lost(page_of_files):
    window = page_of_files
    window.pardoned = ("422",)
    window.on("incoming-file").set_input_files(
        {"name": "plan.pdf", "mimeType": "application/pdf", "buffer": b"%PDF-1.7 and so on"}
    )

    assert "plan.pdf is a PDF" in window.on("incoming-fault").inner_text()
    assert window.on("incoming-drop").is_visible(), "another can be chosen at once"
    assert window.rev == 0


def test_a_file_that_is_left_changes_nothing(page_of_files):
    window = page_of_files
    brought(window, "shots.csv", SHOTS)

    window.on("incoming-leave").click()

    window.on("incoming-drop").wait_for()
    assert window.rev == 0


def test_a_file_waits_while_one_looks_at_something_else(page_of_files):
    window = page_of_files
    brought(window, "shots.csv", SHOTS)

    window.page.get_by_role("button", name="Back").click()
    window.on("site-incoming").click()

    assert window.on("incoming-count").inner_text() == "4 of 4"


def test_on_a_phone_a_file_is_looked_at_without_scrolling_sideways(open_window, copy_of):
    phone = open_window(360, 740, touch=True)
    phone.open(copy_of("dozen_shots"))
    phone.page.get_by_test_id("bar-site").click()
    phone.on("site-incoming").click()
    brought(phone, "terrain.xyz", terrain())

    assert phone.ask("document.documentElement.scrollWidth <= innerWidth")
    assert phone.on("incoming-take").is_visible()
