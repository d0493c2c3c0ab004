"""Two windows converge, a clash is never lost, and neither is anything when the server goes away."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.driver import Window

NO_SERVER = ("ERR_CONNECTION_REFUSED", "ERR_CONNECTION_RESET", "WebSocket connection", "ERR_EMPTY_RESPONSE")


@pytest.fixture
def job(copy_of) -> str:
    return copy_of("dozen_shots")


def test_two_windows_come_to_the_same_document_and_numbers(open_window, job):
    one, other = open_window(), open_window()
    one.open(job)
    other.open(job)

    with one.change():
        one.drag(one.peg("p1"), (27.0, 19.0))
    other.exact(1)
    with other.change():
        other.type_in("box-level", "99.1 m")
    one.exact(2)

    assert one.job() == other.job()
    for path in ("shape.storage.bodies.pond.volume", "earth.soil.dug"):
        assert one.figure(path) == other.figure(path)


def test_a_clashing_edit_waits_in_the_tray_of_the_loser_with_its_reason(open_window, job):
    winner, loser = open_window(), open_window()
    winner.open(job)
    loser.open(job)
    before = loser.peg("p1")

    loser.hold(before, (28.0, 18.0))
    with winner.change():
        winner.drag(winner.peg("p3"), (16.0, 26.0))
    loser.until("pondwright.rev() === 1")
    loser.page.mouse.up()
    expect(loser.on("tray")).to_have_text("1 not taken")
    loser.exact(1)

    assert loser.job() == winner.job()
    loser.on("tray").click()
    refused = loser.page.locator(".tray li")
    assert "move peg p1" in refused.inner_text()
    assert len(refused.locator(".fault").inner_text()) > 10
    refused.get_by_role("button", name="Drop").click()
    expect(loser.on("tray")).to_have_count(0)
    assert loser.kept() == winner.kept()


def test_a_refused_edit_is_tried_again(open_window, job):
    winner, loser = open_window(), open_window()
    winner.open(job)
    loser.open(job)

    loser.hold(loser.peg("p1"), (28.0, 18.0))
    with winner.change():
        winner.drag(winner.peg("p3"), (16.0, 26.0))
    loser.until("pondwright.rev() === 1")
    loser.page.mouse.up()
    loser.on("tray").click()
    with loser.change():
        loser.page.locator(".tray").get_by_role("button", name="Try again").click()
    winner.exact(2)

    assert loser.job() == winner.job()
    assert loser.peg("p1") != (25.5, 19.5)


def test_edits_of_different_parts_do_not_clash(open_window, job):
    one, other = open_window(), open_window()
    one.open(job)
    other.open(job)

    one.hold(one.peg("p1"), (27.0, 19.0))
    with other.change():
        other.type_in("box-freeboard", "0.4 m")
    one.until("pondwright.rev() === 1")
    with one.change():
        one.page.mouse.up()
    other.exact(2)

    assert one.job() == other.job()


def test_the_server_dies_in_a_drag_and_nothing_is_lost(window: Window, server, job):
    window.pardoned = NO_SERVER
    window.open(job)
    with window.change():
        window.drag(window.peg("p3"), (16.0, 26.0))
    acknowledged = window.peg("p3")

    window.hold(window.peg("p1"), (27.0, 18.5))
    window.until("pondwright.state() === 'moving'")
    server.kill()
    try:
        window.until("pondwright.state() === 'no server'")
        window.page.mouse.up()
        expect(window.on("unsent")).to_have_text("1")
        unsent = window.peg("p1")
    finally:
        server.start()
    window.exact(2)

    assert window.rev == 2
    kept = {
        peg["id"]: (peg["east"], peg["north"])
        for peg in window.kept()["shape"]["bodies"]["pond"]["outline"]["curve"]["pegs"]
    }
    assert kept["p3"] == pytest.approx(acknowledged, abs=1e-12)
    assert kept["p1"] == pytest.approx(unsent, abs=1e-12)
    expect(window.on("unsent")).to_have_count(0)
