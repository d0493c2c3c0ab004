"""One server and one browser for all, and windows that must not complain."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import httpx
import pytest
from playwright.sync_api import Browser

from tests.browser.driver import Window
from tools.browser import Server, browsing, serving

OpenWindow = Callable[..., Window]
CopyOf = Callable[[str], str]

FIRST_LOOK = "localStorage.getItem('pondwright.look') ?? localStorage.setItem('pondwright.look', 'LOOK')"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder needs a browser."""
    for item in items:
        if "tests/browser" in item.path.as_posix():
            item.add_marker("browser")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with browsing() as started:
        yield started


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("jobs")) as started:
        yield started


@contextmanager
def careful_windows(browser: Browser, server: Server) -> Iterator[OpenWindow]:
    """Opens windows; none of them may have logged an error, broken the policy or asked another origin."""
    windows: list[Window] = []

    def opened(width: int = 1280, height: int = 900, *, touch: bool = False, look: str = "day") -> Window:
        context = browser.new_context(viewport={"width": width, "height": height}, has_touch=touch)
        context.add_init_script(FIRST_LOOK.replace("LOOK", look))
        windows.append(Window(context.new_page(), server))
        return windows[-1]

    yield opened
    for window in windows:
        window.page.context.close()
    assert [fault for window in windows for fault in window.unpardoned()] == []


@pytest.fixture
def open_window(browser: Browser, server: Server) -> Iterator[OpenWindow]:
    with careful_windows(browser, server) as opened:
        yield opened


@pytest.fixture
def window(open_window: OpenWindow) -> Window:
    return open_window()


@pytest.fixture(scope="module")
def shared_window(browser: Browser, server: Server) -> Iterator[Window]:
    """One window for a whole module."""
    with careful_windows(browser, server) as opened:
        yield opened()


@pytest.fixture(scope="session")
def copy_of(server: Server) -> CopyOf:
    """Opens an example as a copy of its own; gives its id."""

    def copied(example: str) -> str:
        answer = httpx.post(f"{server.address}/api/examples/{example}/copy", timeout=60.0)
        assert answer.is_success, answer.text
        return str(answer.json()["id"])

    return copied


@pytest.fixture
def larkmeadow(copy_of: CopyOf) -> str:
    return copy_of("larkmeadow")
