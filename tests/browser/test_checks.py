"""Checks are read, their advice is applied, they are accepted; every number tells where it comes from."""

from __future__ import annotations

import pytest

from tests.browser.driver import Window


@pytest.fixture
def plan(window, copy_of) -> Window:
    window.open(copy_of("dozen_shots"))
    return window


def test_offered_advice_is_applied_with_one_press(plan):
    plan.page.locator("[data-code='earth.balance']").first.click()

    with plan.change():
        plan.page.locator(".advice").get_by_role("button", name="Do it: Move the water level").click()

    assert plan.kept()["shape"]["bodies"]["pond"]["level"] is not None
    assert abs(plan.figure("earth.soil.surplus_bank")) < 0.02 * plan.figure("earth.soil.dug")
    plan.until("document.querySelector('.rooms [data-code=\"earth.balance\"]') === null")


def test_a_check_is_accepted_with_name_and_reason_and_taken_back(plan):
    page = plan.page
    page.locator("[data-code='shape.drowning']").first.click()

    plan.on("accept").click()
    page.get_by_text("A decision has a name and a reason: write both.").wait_for()
    plan.on("accept-name").fill("Ann Example")
    page.locator("#accept-reason").fill("fenced garden")
    with plan.change():
        plan.on("accept").click()
    rule = plan.kept()["rules"]["shape.drowning"]
    page.get_by_text("Accepted by").first.wait_for()
    plan.on("leaf-close").click()
    assert page.locator(".rooms [data-code='shape.drowning']").count() == 0
    plan.on("checks-all").click()
    page.locator(".all-checks [data-code='shape.drowning']").click()
    with plan.change():
        page.get_by_role("button", name="No longer accept it").click()

    assert (rule["accepted"], rule["by"], rule["reason"]) == (True, "Ann Example", "fenced garden")
    assert "shape.drowning" not in plan.kept()["rules"]


def test_a_number_opens_where_it_comes_from(plan):
    page = plan.page
    page.locator(".corner").get_by_role("button", name="Soil left over:").click()

    leaf = page.locator(".leaf")
    leaf.get_by_role("heading", name="Where it comes from").wait_for()
    for part in ("How", "From these"):
        leaf.get_by_role("heading", name=part, exact=True).wait_for()
    shown = leaf.locator(".value").inner_text()
    corner = page.locator(".corner [data-path='earth.soil.surplus_bank'] .figure").inner_text()
    leaf.locator("dl .figure").first.click()
    leaf.get_by_role("button", name="Back").click()

    assert shown.split()[0] == corner.split()[0]


def test_a_flag_on_the_plan_opens_its_check(plan):
    flagged = [
        check for check in plan.frames[-1]["checks"] if check["grade"] != "good" and check["where"]["points"]
    ]
    place = tuple(flagged[0]["where"]["points"][0])
    plan.on("checks-all").click()  # all of them carry a flag while their list is open

    plan.tap(place)

    plan.page.locator(".leaf").get_by_role("heading", name="Checks").wait_for()
    assert flagged[0]["says"].split(".")[0][:20] in plan.page.locator(".leaf .lead").inner_text()
