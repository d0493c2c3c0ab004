"""Every screen in every look: no fault that axe finds, and nothing that scrolls sideways."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.driver import Window
from tools.screens import LOOKS, SIZES, every_screen

AXE = (Path(__file__).parents[2] / "web/node_modules/axe-core/axe.min.js").read_text("utf-8")
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
RULES_OF_COLOUR = ("color-contrast", "link-in-text-block")
LAY = "document.querySelectorAll('.strip, .leaf > header, .progress').forEach((one) => one.style.HOW)"
RUN = """(rules) => axe.run(document, { runOnly: rules, resultTypes: ["violations"] })"""


def faults(window: Window, rules: tuple[str, ...], kind: str) -> list[str]:
    """What axe finds on the page as it stands, one line a place.

    The strip at the foot of the window and the heads of a leaf lie over the page that scrolls below them;
    they are laid into the page meanwhile, because axe takes a control half behind one for a small one.
    """
    window.page.evaluate(LAY.replace("HOW", "setProperty('position', 'static')"))
    found = window.page.evaluate(RUN, {"type": kind, "values": list(rules)})
    window.page.evaluate(LAY.replace("HOW", "removeProperty('position')"))
    return [
        f"{rule['id']}: {' '.join(node['target'])}: {node['failureSummary']}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


def sideways(window: Window) -> float:
    """By how many pixels the page is wider than the window."""
    return float(window.ask("document.documentElement.scrollWidth - window.innerWidth"))


@pytest.mark.parametrize("size", [SIZES[0], SIZES[-1]], ids=lambda size: str(size[0]))
def test_no_screen_has_a_fault_of_access_in_any_look_or_scrolls_sideways(open_window, size):
    """Only rules of colour tell one look from another, and none of them the width: they are tried once."""
    window = open_window(*size)
    found, wide = {}, {}

    for screen in every_screen(window.page, window.server.address):
        wide[screen] = sideways(window)
        window.page.evaluate(AXE)
        found[screen, "day"] = faults(window, RULES, "tag")
        for look in LOOKS[1:] if size == SIZES[0] else ():
            window.page.evaluate("(look) => void (document.documentElement.dataset.look = look)", look)
            found[screen, look] = faults(window, RULES_OF_COLOUR, "rule")
        window.page.evaluate("() => void (document.documentElement.dataset.look = 'day')")

    assert len(found) >= 20
    assert {place: one for place, one in found.items() if one} == {}
    assert {screen: over for screen, over in wide.items() if over > 0} == {}


def test_no_screen_scrolls_sideways_on_a_tablet(open_window):
    window = open_window(*SIZES[1])

    wide = {screen: sideways(window) for screen in every_screen(window.page, window.server.address)}

    assert {screen: over for screen, over in wide.items() if over > 0} == {}
