"""On a phone all lies below one another: what is opened comes into view, a screen begins at its top."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.browser.conftest import careful_windows
from tests.browser.driver import Window

LEAVES = ("room-site", "room-shape", "checks-all", "history", "defaults")


@pytest.fixture(scope="module")
def hand(browser, server, copy_of) -> Iterator[Window]:
    with careful_windows(browser, server) as opened:
        window = opened(360, 780, touch=True)
        window.open(copy_of("dozen_shots"))
        yield window


@pytest.fixture
def phone(hand) -> Window:
    """One phone for all, with nothing open and its page at the top."""
    if hand.on("leaf-close").is_visible():
        hand.on("leaf-close").click()
    hand.go("plan")
    hand.page.evaluate("window.scrollTo(0, 0)")
    return hand


def top_of(window: Window, place: str) -> float:
    return float(window.ask("document.querySelector(given).getBoundingClientRect().top", place))


def assert_heading_in_view(window: Window) -> None:
    assert 0.0 <= top_of(window, ".leaf h2") < 200.0


@pytest.mark.parametrize("leaf", LEAVES)
def test_a_leaf_comes_into_view_and_stays_there_when_its_words_arrive(phone, leaf):
    phone.on(leaf).first.click()

    phone.page.locator(".leaf-body li, .leaf-body .line, .leaf-body .note").first.wait_for()
    assert_heading_in_view(phone)


def test_the_origin_of_a_number_comes_into_view(phone):
    phone.page.locator(".corner .figure").last.click()

    phone.page.locator(".leaf .value").wait_for()
    assert_heading_in_view(phone)


def test_another_screen_begins_at_its_top(phone):
    for screen in ("tables", "papers", "field", "plan"):
        phone.page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
        phone.page.evaluate(f"location.hash = '#/job/{phone.job_id}/{screen}'")
        phone.until(f"document.querySelector('.job').dataset.screen === '{screen}'")
        phone.until("window.scrollY === 0")


def test_the_strip_stands_at_the_foot_of_a_short_screen_and_the_bar_keeps_its_height(phone):
    bar = phone.ask("document.querySelector('.job > header').offsetHeight")

    phone.go("field")
    phone.page.locator("#work h1").wait_for()

    foot = phone.ask("document.querySelector('.job > .strip').getBoundingClientRect().bottom")
    assert foot == pytest.approx(780.0, abs=1.0)
    assert phone.ask("document.querySelector('.job > header').offsetHeight") == bar
