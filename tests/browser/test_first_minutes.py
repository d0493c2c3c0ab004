"""The first five minutes: from nothing to a pond with numbers, checks, defaults and a plan on paper."""

from __future__ import annotations

import pytest

from tests.browser.driver import pegs_of

SHOTS = """east north height code
20.0 9.0 99.62 rim
28.0 12.0 99.70 rim
32.0 19.0 99.88 rim
30.0 27.0 100.05 rim
22.0 31.0 100.21 rim
13.0 30.0 100.18 rim
8.0 23.0 100.02 rim
9.0 14.0 99.80 rim
15.0 20.0 99.40 hollow
20.0 20.0 99.20 hollow
25.0 20.0 99.45 hollow
20.0 25.0 99.50 hollow"""
SHORE = [(25.5, 19.5), (22.5, 24.0), (17.0, 24.5), (14.0, 21.0), (16.0, 16.5), (21.5, 16.0)]


@pytest.fixture
def new_job(window):
    """A job just begun in metres."""
    window.open_jobs()
    window.on("new-name").fill("Mill Lane 4")
    window.on("new-units").select_option("metric")
    window.on("new-start").click()
    window.until("location.hash.startsWith('#/job/')")
    window.job_id = window.page.url.split("#/job/")[1].split("/")[0]
    window.on("shots-text").wait_for()
    window.exact()
    return window


def test_a_dozen_shots_and_a_shoreline_give_numbers_checks_defaults_and_a_plan(new_job):
    window = new_job
    page = window.page

    window.on("shots-text").fill(SHOTS)
    page.get_by_role("button", name="Add 12 shots").wait_for()
    with window.change():
        window.on("shots-add").click()
    page.get_by_text("12 shots are in. Now draw the shoreline.").first.wait_for()
    window.until("pondwright.pixel([20, 20]) !== null")
    for place in SHORE[:3]:
        window.tap(place)
    window.until("pondwright.stats()['shape.storage.bodies.pond.volume'] > 0")
    assert window.rev == 1, "a shoreline in the making is no edit"
    for place in SHORE[3:]:
        window.tap(place)
    with window.change():
        window.tap(SHORE[0])

    assert len(window.kept()["site"]["shots"]) == 12
    assert len(pegs_of(window.kept())) == len(SHORE)
    corner = page.locator(".corner")
    for name in ("Water level", "Water", "Dig"):
        assert corner.get_by_role("button", name=f"{name}:").first.is_visible()
    assert window.figure("shape.storage.bodies.pond.volume") > 10.0
    assert window.figure("earth.soil.dug") > 10.0
    page.locator(".checks .check").first.wait_for()

    window.on("defaults").click()
    rows = page.locator(".defaults > li")
    rows.first.wait_for()
    assert rows.count() >= 10
    assert all("(" in words and words.strip() for words in rows.locator(".note").all_inner_texts())

    window.go("papers")
    page.locator(".sheets img").first.wait_for()
    window.until(
        "document.querySelector('.sheets img').complete"
        " && document.querySelector('.sheets img').naturalWidth > 0"
    )


def test_a_row_that_cannot_be_read_is_shown_with_its_reason_and_the_others_can_be_taken(new_job):
    window = new_job

    window.on("shots-text").fill("20 9 99.62 rim\n28 12 high rim\n32 19 99.88 rim")
    refused = window.page.locator("tr.refused")
    refused.wait_for()
    reason = refused.locator(".fault").first.inner_text()
    with window.change():
        window.on("shots-add").click()

    assert refused.count() == 0
    assert reason.strip() != ""
    assert len(window.kept()["site"]["shots"]) == 2


def test_a_default_is_overruled_where_it_is_listed(window, copy_of):
    window.open(copy_of("dozen_shots"))
    window.on("defaults").click()
    box = window.page.locator("input[data-testid^='default-'][data-testid$='freeboard']")

    with window.change():
        box.fill("0.5 m")
        box.press("Enter")

    (berm,) = window.kept()["shape"]["berms"].values()
    assert berm["freeboard"] == pytest.approx(0.5)
