"""Pictures of every screen at three widths in three looks, for people to look at: `out/screens/`.

python -m tools.screens
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import httpx
from playwright.sync_api import Page

from tools.browser import browsing, serving
from tools.steps import ROOT

PICTURES = ROOT / "out" / "screens"
SIZES = ((360, 780), (1024, 768), (1600, 950))
LOOKS = ("day", "night", "sun")
LEAVES = (
    "room-site",
    "room-shape",
    "room-earth",
    "room-groundwater",
    "room-stone",
    "checks-all",
    "history",
    "defaults",
)
SITE_PAGES = ("card", "brief", "walk", "photos", "bounds", "ballpark", "locate", "incoming", "old")
TOOLS = ("stream", "fall", "mound", "way", "seat", "drain")
BELOW = ("below-strip", "below-section", "below-storage", "below-drain", "below-three")


def main() -> None:
    """Take all pictures of the example, and say where they are."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    for old in PICTURES.glob("*.png"):
        old.unlink()
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder)) as server, browsing() as browser:
        for width, height in SIZES:
            for look in LOOKS:
                context = browser.new_context(viewport={"width": width, "height": height})
                context.add_init_script(f"localStorage.setItem('pondwright.look', '{look}')")
                page = context.new_page()
                for screen in every_screen(page, server.address):
                    page.wait_for_timeout(
                        400
                    )  # pictures only: drawings come a frame or two after their words
                    page.screenshot(path=PICTURES / f"{screen}-{width}-{look}.png")
                context.close()
    print(f"{len(list(PICTURES.glob('*.png')))} pictures in {PICTURES.relative_to(ROOT)}")


def every_screen(page: Page, address: str) -> Iterator[str]:
    """Show one screen after the other, of a job just begun and of the example, and name each."""
    empty = httpx.post(f"{address}/api/jobs", json={"name": "Not begun yet", "shown_units": "us"}).json()[
        "id"
    ]
    job = httpx.post(f"{address}/api/examples/larkmeadow/copy").json()["id"]
    page.goto(f"{address}/?test#/jobs")
    page.locator("li.card img").first.wait_for()
    yield "jobs"
    page.goto(f"{address}/?test#/job/{empty}/plan")
    page.get_by_test_id("shots-text").wait_for()
    yield "empty"
    page.goto(f"{address}/?test#/job/{job}/plan")
    page.get_by_test_id("state").get_by_text("exact").wait_for()
    yield "plan"
    for control in LEAVES:
        _close_leaf(page)
        page.get_by_test_id(control).first.click()
        page.locator(".leaf h2").wait_for()
        yield control
    yield from _tools(page)
    yield from _site_pages(page)
    yield from _bends(page)
    yield from _one_check_and_one_number(page)
    for control in BELOW:
        page.get_by_test_id(control).click()
        page.locator(".below .view").first.wait_for()
        yield control
    yield from _tables(page)
    for screen in ("papers", "field"):
        page.get_by_test_id(f"screen-{screen}").click()
        page.locator("#work h1").first.wait_for()
        yield screen


def _close_leaf(page: Page) -> None:
    """On a narrow page a leaf may cover the rooms."""
    close = page.get_by_test_id("leaf-close")
    if close.is_visible():
        close.click()


def _tools(page: Page) -> Iterator[str]:
    """What is drawn beside the water, with the box that goes with it."""
    _close_leaf(page)
    for name in (*TOOLS, "select"):
        folded = page.get_by_test_id("plan-tools")
        if folded.is_visible():
            folded.click()
        page.get_by_test_id(f"tool-{name}").click()
        if name != "select":
            page.get_by_test_id("plan-box").wait_for()
            yield f"tool-{name}"


def _site_pages(page: Page) -> Iterator[str]:
    _close_leaf(page)
    page.get_by_test_id("room-site").click()
    for name in SITE_PAGES:
        page.get_by_test_id(f"site-{name}").click()
        page.locator(".leaf h2").wait_for()
        if name == "walk":
            page.get_by_test_id("walk-well").wait_for()
        for row in page.locator(".leaf-body > details.entry").all()[:1]:
            row.locator("summary").click()
        yield f"site-{name}"
        page.get_by_role("button", name="Back", exact=True).click()
    _close_leaf(page)


def _bends(page: Page) -> Iterator[str]:
    _close_leaf(page)
    page.get_by_test_id("room-shape").click()
    page.get_by_test_id("open-bends").click()
    page.locator(".bends li").first.wait_for()
    yield "bends"
    _close_leaf(page)


def _one_check_and_one_number(page: Page) -> Iterator[str]:
    page.get_by_test_id("checks-all").click()
    page.locator(".leaf .check").first.click()
    page.get_by_test_id("accept").wait_for()
    yield "check"
    page.get_by_test_id("leaf-close").click()
    page.locator(".corner .figure").last.click()
    page.locator(".leaf .value").wait_for()
    yield "explain"
    page.get_by_test_id("leaf-close").click()
    page.get_by_test_id("layers").click()
    page.get_by_test_id("layer-chooser").wait_for()
    yield "layers"
    page.get_by_test_id("layers").click()


def _tables(page: Page) -> Iterator[str]:
    page.get_by_test_id("screen-tables").click()
    page.locator("table.grid tbody td").first.wait_for()
    yield "tables-shots"
    page.get_by_test_id("table-which").get_by_text("Field book").click()
    page.locator(".book-head").first.wait_for(state="attached")
    yield "tables-book"
    page.get_by_test_id("table-which").get_by_text("Pegs").click()
    page.get_by_role("columnheader", name="Corner").wait_for()
    page.locator("table.grid tbody tr").nth(2).locator("td").first.focus()
    yield "tables-pegs"
    page.get_by_test_id("screen-plan").click()
    page.get_by_test_id("plan-box").wait_for()
    yield "plan-peg"


if __name__ == "__main__":
    main()
