"""A window of the browser on a job: what a person does with it, and what the test hook tells of it.

Nothing here waits for time: every wait is for the revision, the state, or what stands on the screen.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import CDPSession, Locator, Page, WebSocket

from tests.frames import whole
from tools.browser import Server

Place = tuple[float, float]

PATIENCE_MS = 60_000
REPORT_BREACHES = """document.addEventListener("securitypolicyviolation",
    (breach) => console.error(`policy: ${breach.violatedDirective} ${breach.blockedURI} ${breach.sample}`))"""
KEEP_STATES = """() => {
    const shown = document.querySelector('[data-testid="state"]');
    const seen = (window.seenStates = [window.pondwright.state()]);
    const look = () => { const now = window.pondwright.state(); if (now !== seen.at(-1)) seen.push(now); };
    new MutationObserver(look).observe(shown, { subtree: true, childList: true, characterData: true });
}"""


class Window:
    """One window of the browser."""

    def __init__(self, page: Page, server: Server) -> None:
        self.page = page
        self.server = server
        self.job_id = ""
        self.faults: list[str] = []
        self.frames: list[dict[str, Any]] = []
        self.messages: list[dict[str, Any]] = []
        self.pardoned: tuple[str, ...] = ()
        self._glass: CDPSession | None = None
        page.set_default_timeout(PATIENCE_MS)
        page.add_init_script(REPORT_BREACHES)
        page.on("console", lambda said: said.type == "error" and self.faults.append(said.text))
        page.on("pageerror", lambda fault: self.faults.append(str(fault)))
        page.on("request", lambda request: self._look_at(request.url))
        page.on("websocket", self._listen)

    def _look_at(self, address: str) -> None:
        if not address.startswith((self.server.address + "/", "blob:", "data:")):
            self.faults.append(f"a request left the origin: {address}")

    def _listen(self, socket: WebSocket) -> None:
        last: dict[str, Any] | None = None

        def received(payload: str | bytes) -> None:
            nonlocal last
            if isinstance(payload, str):
                self.messages.append(json.loads(payload))
            else:
                length = int.from_bytes(payload[4:8], "little")
                last = whole(json.loads(payload[8 : 8 + length]), last)
                self.frames.append(last)

        socket.on("framereceived", received)

    def unpardoned(self) -> list[str]:
        """Faults that no test has foreseen."""
        return [fault for fault in self.faults if not any(words in fault for words in self.pardoned)]

    # Going about.

    def open(self, job_id: str, screen: str = "plan") -> None:
        """Open a screen of a job, and wait until its numbers are exact."""
        self.job_id = job_id
        self.page.goto(f"{self.server.address}/?test#/job/{job_id}/{screen}")
        self.exact()
        if screen == "plan":
            self.until("pondwright.pixel([0, 0]) !== null && pondwright.job() !== null")

    def open_jobs(self) -> None:
        """Open the list of jobs."""
        self.page.goto(f"{self.server.address}/?test#/jobs")
        self.page.get_by_test_id("new-start").wait_for()

    def opened(self) -> None:
        """Wait until a job that was just pressed has come, and note which it is."""
        self.until("location.hash.startsWith('#/job/')")
        self.job_id = self.page.url.split("#/job/")[1].split("/")[0]
        self.exact()

    def go(self, screen: str) -> None:
        """Another screen of the same job."""
        self.page.get_by_test_id(f"screen-{screen}").click()
        if screen == "plan":
            self.until("pondwright.pixel([0, 0]) !== null")

    def on(self, name: str) -> Locator:
        """A control by its test id."""
        return self.page.get_by_test_id(name)

    # What the page knows.

    def ask(self, expression: str, given: Any = None) -> Any:
        """Value of an expression in the page; `given` is what was handed over."""
        return self.page.evaluate(f"(given) => ({expression})", given)

    def until(self, condition: str, given: Any = None) -> Any:
        """Wait in the page for a condition: the policy forbids the driver's own way of waiting."""
        return self.page.evaluate(
            f"""(given) => new Promise((done, fail) => {{
                const end = Date.now() + {PATIENCE_MS};
                let why = "";
                const look = () => {{
                    try {{ const found = {condition}; if (found) return done(found); }}
                    catch (fault) {{ why = String(fault); }}
                    if (Date.now() > end) fail(new Error("waited in vain; " + why));
                    else setTimeout(look, 20);
                }};
                look();
            }})""",
            given,
        )

    def exact(self, rev: int = 0) -> None:
        """Wait until the numbers are exact, at a revision or later."""
        self.until("pondwright.state() === 'exact' && pondwright.rev() >= given", rev)

    @property
    def rev(self) -> int:
        """Newest revision that the server has acknowledged."""
        return int(self.ask("pondwright.rev()"))

    def job(self) -> dict[str, Any]:
        """The document as this window shows it."""
        return dict(self.ask("pondwright.job()"))

    def figure(self, path: str) -> float | None:
        """A figure as it stands now."""
        return self.ask("pondwright.stats()[given] ?? null", path)

    def kept(self) -> dict[str, Any]:
        """The document as the server keeps it."""
        answer = self.page.request.get(f"{self.server.address}/api/jobs/{self.job_id}/document")
        assert answer.ok, answer.text()
        return dict(answer.json()["job"])

    @contextmanager
    def change(self, count: int = 1) -> Iterator[None]:
        """What is done inside is `count` edits, acknowledged and computed when this ends."""
        before = self.rev
        yield
        self.exact(before + count)
        assert self.rev == before + count

    @contextmanager
    def acknowledged(self, count: int = 1) -> Iterator[None]:
        """What is done inside is `count` edits, kept by the server when this ends; numbers may follow."""
        before = self.rev
        yield
        self.until("pondwright.rev() >= given", before + count)
        assert self.rev == before + count

    def take_back(self) -> None:
        """Take back all that was done, so that the next test begins with the same document."""
        self.let_go()
        while not self.on("undo").is_disabled():
            with self.acknowledged():
                self.on("undo").click()
        self.exact()

    def watch_states(self) -> None:
        """Keep every state that the title strip tells from now on."""
        self.page.evaluate(KEEP_STATES)

    def states(self) -> list[str]:
        """States told since `watch_states`."""
        return list(self.ask("window.seenStates"))

    # The plan.

    def peg(self, peg: str, body: str = "pond", ring: str = "outer") -> Place:
        """Place of a peg as this window shows it."""
        found = next(one for one in pegs_of(self.job(), body, ring) if one["id"] == peg)
        return found["east"], found["north"]

    def pixel(self, place: Place) -> Place:
        """Where a place of the site lies on the page."""
        x, y = self.ask("pondwright.pixel(given)", list(place))
        return float(x), float(y)

    def site(self, pixel: Place) -> Place:
        """Place of the site under a pixel of the page."""
        east, north = self.ask("pondwright.site(given)", list(pixel))
        return float(east), float(north)

    def hide_flags(self) -> None:
        """Take the flags of the checks off the plan, so that none is pressed by chance."""
        self.on("layers").click()
        self.on("layer-checks").uncheck()
        self.on("layers").click()

    def hold(self, place: Place, to: Place) -> None:
        """Take hold of something on the plan and move it, without letting go."""
        mouse = self.page.mouse
        mouse.move(*self.pixel(place))
        mouse.down()
        mouse.move(*self.pixel(to), steps=8)

    def drag(self, place: Place, to: Place) -> None:
        """Drag something on the plan."""
        self.hold(place, to)
        self.page.mouse.up()

    def tap(self, place: Place) -> None:
        """Press a place on the plan."""
        self.page.mouse.click(*self.pixel(place))

    def draw(self, tool: str, places: list[Place]) -> None:
        """Press places one by one with a tool of the plan, and end the line."""
        self.on(f"tool-{tool}").click()
        for place in places:
            self.tap(place)
        self.on("finish").click()

    def touch(self, kind: str, *fingers: Place) -> None:
        """Fingers on the glass, as the browser gets them: `touchStart`, `touchMove` or `touchEnd`."""
        points = [{"x": x, "y": y, "id": finger} for finger, (x, y) in enumerate(fingers)]
        if self._glass is None:  # the browser forgets the fingers together with the session
            self._glass = self.page.context.new_cdp_session(self.page)
        self._glass.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def full_pegs(self, body: str = "pond", ring: str = "outer") -> list[dict[str, Any]]:
        """Pegs as this window shows them, with what the document leaves out."""
        return [{"corner": False, **peg} for peg in pegs_of(self.job(), body, ring)]

    def let_go(self) -> None:
        """Put down what is in the hand, and have nothing chosen."""
        self.on("plan").focus()
        self.page.keyboard.press("Escape")
        self.page.keyboard.press("Escape")

    def type_in(self, name: str, text: str) -> None:
        """Type into a box and take it over."""
        self.on(name).fill(text)
        self.on(name).press("Enter")


def pegs_of(job: dict[str, Any], body: str = "pond", ring: str = "outer") -> list[dict[str, Any]]:
    """Pegs of a shore or of an island."""
    row = job["shape"]["bodies"][body]
    curve = row["outline"]["curve"] if ring == "outer" else row["islands"][ring]
    return list(curve["pegs"])


def shot_place(job: dict[str, Any], shot: str) -> Place:
    """Where the rod stood."""
    place = job["site"]["shots"][shot]["place"]
    return place["east"], place["north"]


def assert_same(found: Any, wanted: Any, within: float = 1e-9, at: str = "") -> None:
    """Two documents are the same, their numbers to `within`."""
    if isinstance(wanted, float | int) and not isinstance(wanted, bool) and isinstance(found, float | int):
        assert abs(found - wanted) <= within, f"{at}: {found} is not {wanted}"
    elif isinstance(wanted, dict):
        assert isinstance(found, dict) and found.keys() == wanted.keys(), f"{at}: {found} is not {wanted}"
        for key, value in wanted.items():
            assert_same(found[key], value, within, f"{at}/{key}")
    elif isinstance(wanted, list | tuple):
        assert isinstance(found, list | tuple) and len(found) == len(wanted), f"{at}: {found} is not {wanted}"
        for index, value in enumerate(wanted):
            assert_same(found[index], value, within, f"{at}/{index}")
    else:
        assert found == wanted, f"{at}: {found!r} is not {wanted!r}"
