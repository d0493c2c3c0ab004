"""Tables are typed and pasted into; papers are looked at and downloaded."""

from __future__ import annotations

import io

import pypdf
import pytest
from playwright.sync_api import expect

from tests.browser.driver import Window, pegs_of

PASTE = """([selector, text]) => {
    const carried = new DataTransfer();
    carried.setData("text/plain", text);
    const told = { clipboardData: carried, bubbles: true, cancelable: true };
    document.querySelector(selector).dispatchEvent(new ClipboardEvent("paste", told));
}"""


@pytest.fixture
def tables(window, copy_of) -> Window:
    window.open(copy_of("dozen_shots"), "tables")
    window.page.locator("table.grid").wait_for()
    return window


def cell(window: Window, row: int, column: int):
    return window.page.locator("table.grid tbody tr").nth(row).locator("td").nth(column)


def test_a_cell_is_typed_by_keys_alone(tables):
    cell(tables, 0, 1).focus()

    with tables.change():
        tables.page.keyboard.type("21.5")
        tables.page.keyboard.press("Enter")
    tables.page.keyboard.press("ArrowRight")

    shots = tables.kept()["site"]["shots"]
    assert shots["s01"]["place"]["east"] == pytest.approx(21.5)
    assert tables.ask("document.activeElement.matches('[data-active]')")


def test_a_bad_cell_stays_with_its_reason(tables):
    cell(tables, 0, 1).focus()

    tables.page.keyboard.type("far")
    tables.page.keyboard.press("Enter")

    tables.page.locator("#cell-fault").wait_for()
    tables.page.keyboard.press("Escape")
    assert tables.rev == 0


def test_a_paste_shows_its_bad_cell_and_takes_the_good_ones_as_one_edit(tables):
    cell(tables, 0, 1).focus()

    tables.page.evaluate(PASTE, ["table.grid", "20.5\t9.5\t99.60\n28.5\tnorth\t99.71\n40\t40\t100.4\trim"])
    preview = tables.page.locator(".paste")
    preview.wait_for()
    refused = preview.locator("td.refused")
    assert refused.count() == 1 and "north" in refused.inner_text()
    assert tables.rev == 0, "nothing goes in before one has looked"
    with tables.change():
        tables.on("paste-take").click()

    shots = tables.kept()["site"]["shots"]
    assert shots["s01"]["place"] == {"by": "coordinates", "east": 20.5, "north": 9.5}
    assert (shots["s02"]["place"]["east"], shots["s02"]["place"]["north"]) == (28.5, 12.0)
    assert shots["s02"]["elevation"] == pytest.approx(99.71)


def test_a_row_is_added_and_deleted(tables):
    count = len(tables.kept()["site"]["shots"])

    tables.on("row-add").click()
    tables.page.locator("tr.fresh").wait_for()
    tables.page.keyboard.type("33")
    tables.page.keyboard.press("Tab")
    with tables.change():
        tables.page.keyboard.type("33")
        tables.page.keyboard.press("Enter")
    added = set(tables.kept()["site"]["shots"])
    with tables.change():
        tables.page.locator("table.grid tbody tr").last.get_by_role("button").click()

    assert len(added) == count + 1
    assert len(tables.kept()["site"]["shots"]) == count


def test_a_peg_is_typed_in_its_table(tables):
    tables.on("table-which").get_by_text("Pegs").click()
    expect(tables.page.locator("table.grid tbody tr")).to_have_count(6)

    cell(tables, 0, 0).focus()
    with tables.change():
        tables.page.keyboard.type("26.25 m")
        tables.page.keyboard.press("Enter")

    assert pegs_of(tables.kept())[0]["east"] == pytest.approx(26.25)


def test_papers_are_looked_at_and_downloaded_a_report_as_one(window, copy_of):
    window.open(copy_of("dozen_shots"), "papers")
    window.page.locator(".sheets > li > img").first.wait_for()
    report = window.on("entry-site-report")
    pages = report.locator(".pages li").count()
    names = window.page.locator(".sheets > li").evaluate_all("(all) => all.map((one) => one.dataset.testid)")
    assert pages >= 2 and len(set(names)) == len(names) and "entry-site-report-2" not in names
    assert str(pages) in window.on("open-site-report").inner_text()
    window.until(
        "[...document.querySelectorAll('.sheets > li > img')].every("
        "(one) => (one.scrollIntoView(), one.complete && one.naturalWidth > 100))"
    )
    button = window.on("paper-site-report")

    with window.page.expect_download() as download:
        button.click()

    body = download.value.path().read_bytes()
    assert download.value.suggested_filename.endswith(".pdf")
    assert len(pypdf.PdfReader(io.BytesIO(body)).pages) == pages
    address = window.on("papers-all").get_attribute("href")
    everything = window.page.request.get(f"{window.server.address}/{address}")
    assert len(pypdf.PdfReader(io.BytesIO(everything.body())).pages) > pages
