"""Units, looks and heights change what is shown and nothing else."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.driver import Window


@pytest.fixture
def plan(window, copy_of) -> Window:
    window.open(copy_of("dozen_shots"))
    return window


def figures_of(plan: Window) -> dict[str, float]:
    """All figures of the newest frame, without the number of the frame."""
    return {path: value for path, value in plan.ask("pondwright.stats()").items() if "." in path}


def test_units_change_the_display_only(plan):
    kept, figures = plan.kept(), figures_of(plan)

    shown = {}
    for units in ("us", "us_inch", "metric"):
        plan.on("units").select_option(units)
        plan.on("level").wait_for()
        plan.until("document.querySelector('[data-testid=\"box-level\"]').value !== given", shown.get("last"))
        shown[units] = shown["last"] = plan.on("box-level").input_value()
        expect(plan.on("level")).to_have_text(shown[units])

    assert re.fullmatch(r"[\d.]+ ft", shown["us"])
    assert re.search(r"\d+ ft .*in|\d+['′]", shown["us_inch"])
    assert re.fullmatch(r"[\d.]+ m", shown["metric"])
    assert plan.rev == 0
    assert plan.kept() == kept
    assert figures_of(plan) == figures


def test_looks_change_the_ink_of_page_plan_and_views_and_are_remembered(plan):
    seen = {}
    for look in ("day", "night", "sun"):
        plan.on("look").select_option(look)
        expect(plan.page.locator("html")).to_have_attribute("data-look", look)
        paper = plan.ask("getComputedStyle(document.documentElement).backgroundColor")
        seen[look] = (paper, plan.on("plan").screenshot())
    plan.page.reload()
    plan.exact()

    assert len({paper for paper, _ in seen.values()}) == 3
    assert len({picture for _, picture in seen.values()}) == 3
    expect(plan.page.locator("html")).to_have_attribute("data-look", "sun")


def test_heights_are_shown_as_plus_and_minus_from_the_water(plan):
    plan.on("heights").select_option("water")
    plan.on("strip-walk").focus()
    plan.page.keyboard.press("Home")
    plan.until(
        "/[+−]/.test(document.querySelector('[data-testid=\"strip-walk\"]').getAttribute('aria-valuetext'))"
    )

    words = plan.on("strip-walk").get_attribute("aria-valuetext") or ""
    assert re.search(r"bank top \+", words)
    plan.go("tables")
    heights = plan.page.locator("table.grid tbody tr td:nth-child(5)").all_inner_texts()
    assert all(text.startswith(("+", "−")) for text in heights)
    assert plan.rev == 0


def test_a_height_is_typed_from_the_water_line(plan):
    level = plan.figure("shape.shore.bodies.pond.level")

    with plan.change():
        plan.type_in("box-level", "-0.1 m wl")

    assert plan.kept()["shape"]["bodies"]["pond"]["level"] == pytest.approx(level - 0.1, abs=1e-6)
