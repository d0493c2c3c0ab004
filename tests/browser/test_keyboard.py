"""The main tasks with the keyboard alone: no mouse, no finger."""

from __future__ import annotations

import pytest

from tests.browser.driver import Window, pegs_of

SHOTS = "0 0 100.2 rim\n40 0 99.9 rim\n40 40 100.1 rim\n0 40 100.3 rim\n20 20 99.2 hollow"
SHORE = (("14", "14"), ("26", "14"), ("26", "26"), ("14", "26"))


def tab_to(window: Window, name: str, most: int = 120) -> None:
    """Go from control to control until one has the focus."""
    for _ in range(most):
        if window.ask("document.activeElement?.getAttribute('data-testid')") == name:
            return
        window.page.keyboard.press("Tab")
    raise AssertionError(f"`{name}` cannot be reached with the Tab key")


def test_a_pond_is_made_bent_checked_and_taken_back_with_keys_alone(window):
    keys = window.page.keyboard
    window.open_jobs()

    tab_to(window, "new-name")
    keys.type("By keys")
    tab_to(window, "new-units")
    keys.type("metric")
    tab_to(window, "new-start")
    keys.press("Enter")
    window.until("location.hash.startsWith('#/job/')")
    window.job_id = window.page.url.split("#/job/")[1].split("/")[0]
    window.exact()

    tab_to(window, "shots-text")
    keys.insert_text(SHOTS)
    window.page.get_by_role("button", name="Add 5 shots").wait_for()
    tab_to(window, "shots-add")
    with window.change():
        keys.press("Enter")

    for east, north in SHORE:
        for name, text in (("new-east", east), ("new-north", north)):
            tab_to(window, name)
            keys.press("Control+a")
            keys.type(f"{text} m")
            keys.press("Enter")
        tab_to(window, "add-place")
        keys.press("Enter")
    tab_to(window, "finish")
    with window.change():
        keys.press("Enter")
    assert [(peg["east"], peg["north"]) for peg in pegs_of(window.kept())] == [
        (14, 14),
        (26, 14),
        (26, 26),
        (14, 26),
    ]

    tab_to(window, "screen-tables")
    keys.press("Enter")
    window.page.locator("table.grid").wait_for()
    tab_to_radio(window)
    keys.press("ArrowRight")  # over the field book
    keys.press("ArrowRight")
    window.until("document.querySelectorAll('table.grid tbody tr').length === 4")
    tab_to_cell(window)
    keys.press("ArrowDown")
    tab_to(window, "screen-plan")
    keys.press("Enter")
    window.until("pondwright.pixel([0, 0]) !== null")
    tab_to(window, "plan")
    before = {peg["id"]: peg["east"] for peg in pegs_of(window.job())}
    with window.change():
        keys.press("ArrowRight")
    moved = [
        name
        for name, east in ((peg["id"], peg["east"]) for peg in pegs_of(window.job()))
        if east != before[name]
    ]
    assert moved == ["p2"]
    with window.change():
        keys.press("Control+z")
    assert {peg["id"]: peg["east"] for peg in pegs_of(window.kept())} == pytest.approx(before, abs=1e-9)

    tab_to(window, "grip-level")
    with window.change():
        keys.press("ArrowDown")
        keys.press("Enter")
    tab_to(window, "checks-all")
    keys.press("Enter")
    window.page.locator(".all-checks").first.wait_for()
    tab_to(window, "leaf-close")
    keys.press("Enter")
    assert window.ask("document.activeElement?.getAttribute('data-testid')") == "checks-all"


def tab_to_radio(window: Window) -> None:
    for _ in range(120):
        if window.ask("document.activeElement?.name === 'table-which'"):
            return
        window.page.keyboard.press("Tab")
    raise AssertionError("the choice of the table cannot be reached")


def tab_to_cell(window: Window) -> None:
    for _ in range(120):
        if window.ask("document.activeElement?.matches('td[role=gridcell]') ?? false"):
            return
        window.page.keyboard.press("Tab")
    raise AssertionError("the table cannot be reached")
