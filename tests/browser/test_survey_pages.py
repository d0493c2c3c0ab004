"""Shots placed by tapes, a painted shore, probes on the plan, and the hole shot again once it is empty."""

from __future__ import annotations

import pytest

from tests.browser.driver import Window


@pytest.fixture
def site(window, copy_of):
    """The room of the site, of a copy of the twelve shots."""
    window.open(copy_of("dozen_shots"))
    window.page.get_by_role("button", name="Site", exact=True).click()
    return window


def known_point(window: Window, name: str, east: str, north: str) -> None:
    """Type a known point."""
    window.type_in("mark-new-name", name)
    window.type_in("mark-new-east", east)
    window.type_in("mark-new-north", north)
    with window.change():
        window.on("mark-keep").click()


def test_a_shot_is_placed_by_two_tapes_and_the_other_answer_is_offered(site):
    site.on("site-locate").click()
    known_point(site, "stake A", "0", "0")
    known_point(site, "stake B", "10", "0")
    site.type_in("locate-tape0", "8 m")
    site.type_in("locate-tape1", "6 m")
    site.type_in("locate-elevation", "99.5")
    with site.change():
        site.on("locate-keep").click()

    (place,) = [
        one["place"] for one in site.kept()["site"]["shots"].values() if one["place"]["by"] == "tapes"
    ]
    assert place["tapes"] == [{"mark": "stake_a", "distance": 8.0}, {"mark": "stake_b", "distance": 6.0}]
    assert place["side"] == "left"
    last = site.on("last-placed")
    last.get_by_text("It lies at east 6.40 m, north 4.80 m.").wait_for()
    with site.change():
        last.get_by_role("button", name="Do it").first.click()
    last.get_by_text("It lies at east 6.40 m, north −4.80 m.").wait_for()


def test_a_place_without_its_numbers_is_not_kept_and_says_what_is_missing(site):
    site.on("site-locate").click()
    site.page.get_by_text("by coordinates", exact=True).click()
    site.type_in("locate-east", "4")
    site.on("locate-keep").click()

    site.page.get_by_text("“North” is missing.").first.wait_for()
    assert site.rev == 0


def test_a_shoreline_painted_on_the_grass_is_named_by_its_shots(site):
    site.on("site-locate").click()
    shots = sorted(site.job()["site"]["shots"])
    site.type_in("paint-shots", ", ".join(shots[:6]))
    with site.change():
        site.on("paint-add").click()

    (line,) = site.kept()["site"]["lines"].values()
    assert (line["kind"], line["shots"]) == ("paint", shots[:6])
    site.on("painted-paint").wait_for()


def test_a_probe_is_pressed_on_the_plan_and_tells_its_layers(window, larkmeadow):
    window.open(larkmeadow)
    window.hide_flags()
    pit = window.job()["site"]["probes"]["pit_nw"]
    window.tap((pit["place"]["east"], pit["place"]["north"]))

    layers = window.on("probe-layers").locator("li").all_inner_texts()

    assert len(layers) == len(pit["layers"]) and layers[0].startswith(pit["layers"][0]["kind"])


def test_shots_of_the_emptied_hole_are_a_survey_and_tell_what_is_gone(site):
    site.on("site-old").click()
    with site.change():
        site.on("rebase-begin").click()
    site.page.get_by_role("button", name="Back", exact=True).click()
    site.page.get_by_role("button", name="Add shots").click()
    places = [(east, north) for east in (15, 18, 21) for north in (16, 19, 22)]
    site.on("shots-text").fill("\n".join(f"{east} {north} 98.5 floor" for east, north in places))
    site.page.get_by_role("button", name="Add 9 shots").wait_for()
    with site.change():
        site.on("shots-add").click()

    kept = site.kept()["site"]
    assert {shot["survey"] for shot in kept["shots"].values() if shot["code"] == "floor"} == {"emptied"}
    site.until("pondwright.stats()['site.rebase.gone'] > 0")
    if site.on("leaf-close").is_visible():
        site.on("leaf-close").click()
    site.page.get_by_role("button", name="Site", exact=True).click()
    site.on("site-old").click()
    site.page.get_by_text("Ground gone since it was shot before").wait_for()


def test_an_example_read_from_a_cloud_is_not_asked_for_its_first_shots(window, copy_of):
    window.open(copy_of("upper_field"))

    assert not window.on("shots-text").is_visible()
    assert "No ground yet" not in window.page.inner_text("section.checks")
