"""The page under a hand: one peg goes round in a circle, a step each frame of the screen, for five seconds.

A real server, a real browser with software graphics, the Larkmeadow pond on its own grid, in a window of
1600 by 1000 pixels.  Both cores are shared by server, browser and whatever else runs; how late the page's
own clock is called stands beside, to tell a busy page from a slow server.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import httpx

from bench.rows import Row, at_least, at_most
from tools.browser import browsing, serving

SECONDS = 5
MEASURE = """async (seconds) => {
    const EVERY = 20;
    const late = [];
    let due = performance.now() + EVERY;
    const clock = setInterval(() => {
        const now = performance.now();
        late.push(Math.max(0, now - due));
        due = now + EVERY;
    }, EVERY);
    const found = await window.pondwright.bench(seconds);
    clearInterval(clock);
    late.sort((one, other) => one - other);
    return { ...found, late_p95_ms: late[Math.floor(0.95 * (late.length - 1))] };
}"""


def rows() -> list[Row]:
    """Answers a second, and the time from a move to its paint."""
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder)) as server, browsing() as browser:
        job = httpx.post(f"{server.address}/api/examples/larkmeadow/copy").json()["id"]
        page = browser.new_page(viewport={"width": 1600, "height": 1000})
        page.goto(f"{server.address}/?test#/job/{job}/plan")
        page.get_by_test_id("state").get_by_text("exact").wait_for()
        found = page.evaluate(MEASURE, SECONDS)
    return [
        Row("page, drag: answers drawn", found["replies_per_second"], "1/s", goal=at_least(20.0)),
        Row("page, drag: move to answer, half", found["reply_p50_ms"], "ms"),
        Row("page, drag: move to paint, half", found["paint_p50_ms"], "ms"),
        Row("page, drag: move to paint, 95 in 100", found["paint_p95_ms"], "ms", goal=at_most(50.0)),
        Row("page, drag: frames of the screen", found["frames_per_second"], "1/s"),
        Row("page, drag: the page's clock is late, 95 in 100", found["late_p95_ms"], "ms"),
    ]
