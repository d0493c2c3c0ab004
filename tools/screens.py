"""Pictures of every screen at three widths in three looks, for people to look at: `out/screens/`.

python -m tools.screens
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import httpx
from playwright.sync_api import Page

from tools.browser import browsing, serving
from tools.steps import ROOT

PICTURES = ROOT / "out" / "screens"
SIZES = ((360, 780), (1024, 768), (1600, 950))
LOOKS = ("day", "night", "sun")
LEAVES = ("room-site", "room-shape", "checks-all", "history", "defaults")
BELOW = ("below-strip", "below-section", "below-storage", "below-three")


def main() -> None:
    """Take all pictures of the example, and say where they are."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder)) as server, browsing() as browser:
        job = httpx.post(f"{server.address}/api/examples/larkmeadow/copy").json()["id"]
        empty = httpx.post(
            f"{server.address}/api/jobs", json={"name": "Not begun yet", "shown_units": "us"}
        ).json()["id"]
        for width, height in SIZES:
            for look in LOOKS:
                context = browser.new_context(viewport={"width": width, "height": height})
                context.add_init_script(f"localStorage.setItem('pondwright.look', '{look}')")
                take_all(context.new_page(), server.address, job, empty, f"{width}-{look}")
                context.close()
    print(f"{len(list(PICTURES.glob('*.png')))} pictures in {PICTURES.relative_to(ROOT)}")


def take_all(page: Page, address: str, job: str, empty: str, name: str) -> None:
    """Every screen in one look at one width."""

    def take(what: str) -> None:
        page.wait_for_timeout(400)  # pictures only: drawings come a frame or two after their words
        page.screenshot(path=PICTURES / f"{what}-{name}.png")

    page.goto(f"{address}/#/jobs")
    page.get_by_test_id("new-start").wait_for()
    take("jobs")
    page.goto(f"{address}/#/job/{empty}/plan")
    page.get_by_test_id("plan").wait_for()
    take("empty")
    page.goto(f"{address}/#/job/{job}/plan")
    page.get_by_test_id("plan").wait_for()
    page.get_by_test_id("state").get_by_text("exact").wait_for()
    take("plan")
    for control in (*LEAVES, *BELOW):
        if page.get_by_test_id(control).count():
            page.get_by_test_id(control).first.click()
            take(control)
    for screen in ("tables", "papers", "field"):
        page.get_by_test_id(f"screen-{screen}").click()
        take(screen)


if __name__ == "__main__":
    main()
