"""The page under a hand: one peg goes round in a circle, a step each frame of the screen, for five seconds.

A real server, a real browser with software graphics, the Larkmeadow pond on its own grid, in a window of
1600 by 1000 pixels.  Both cores are shared by server, browser and whatever else runs.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import httpx

from bench.rows import Row, at_least, at_most
from tools.browser import browsing, serving

SECONDS = 5


def rows() -> list[Row]:
    """Answers a second, and the time from a move to its paint."""
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder)) as server, browsing() as browser:
        job = httpx.post(f"{server.address}/api/examples/larkmeadow/copy").json()["id"]
        page = browser.new_page(viewport={"width": 1600, "height": 1000})
        page.goto(f"{server.address}/?test#/job/{job}/plan")
        page.get_by_test_id("state").get_by_text("exact").wait_for()
        found = page.evaluate("(seconds) => window.pondwright.bench(seconds)", SECONDS)
    return [
        Row("page, drag: answers drawn", found["replies_per_second"], "1/s", goal=at_least(20.0)),
        Row("page, drag: move to paint, 95 in 100", found["paint_p95_ms"], "ms", goal=at_most(50.0)),
        Row("page, drag: move to paint, half", found["paint_p50_ms"], "ms"),
        Row("page, drag: frames of the screen", found["frames_per_second"], "1/s"),
    ]
