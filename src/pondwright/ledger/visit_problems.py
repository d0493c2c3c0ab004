"""Problems of the first visit: lines not to cross, the walk, a price in the driveway, a dig over a service.

As in :mod:`pondwright.ledger.problems`, each function builds what a row of numbers cannot tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.grid import Grid
from pondwright.rooms.earth.services import along, dug_over
from pondwright.rooms.site.ballpark import PastJob, Traits, price_band
from pondwright.rooms.site.bounds import Clearance, Trace, banded, least, signed_clearance
from pondwright.rooms.site.visit import tally

Answer = dict[str, Any]


def work_and_line(
    work: FloatArray,
    line: FloatArray,
    line_closed: bool = False,
    inside: bool = False,
    work_reach: float = 0.0,
    line_reach: float = 0.0,
) -> Answer:
    """Clearance of an area from a line."""
    found = signed_clearance(
        Trace(work, closed=len(work) > 2, reach=work_reach),
        Trace(line.reshape(-1, 2), closed=line_closed, reach=line_reach),
        inside,
    )
    return {
        "clearance": found.clearance,
        "at_work": found.at_work,
        "at_line": found.at_line,
        "away": found.away,
    }


def least_of(clearances: Sequence[float]) -> Answer:
    """Number of the least of several clearances."""
    return {"number": least([Clearance(float(each), (0.0, 0.0), (0.0, 0.0)) for each in clearances])}


def band_round_square(half: float, reach: float) -> Answer:
    """Area of a square with a band of one width round it."""
    ring = half * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    points = banded(ring, np.full(4, reach)).points
    after = np.roll(points, -1, axis=0)
    return {"area": 0.5 * abs(float((points[:, 0] * after[:, 1] - after[:, 0] * points[:, 1]).sum()))}


def walk(points: Sequence[tuple[str, int]], answers: Sequence[tuple[str, str]]) -> Answer:
    """Points of a walk by their answers, each list in one line."""
    found = tally(dict(points), dict(answers))
    names = ("fine", "trouble", "none", "not_looked")
    return {name: " ".join(getattr(found, name)) for name in names}


def driveway(area: float, jobs: Sequence[tuple[float, float, int, int]]) -> Answer:
    """Price band of a rocky pond with falls, from jobs of area, price, rocky and falls."""
    past = [PastJob(a, p, Traits(bool(rocky), bool(falls))) for a, p, rocky, falls in jobs]
    found = price_band(area, Traits(rocky=True, falls=True), past)
    return {name: getattr(found, name) for name in ("low", "likely", "high", "count", "like", "spread")}


def sloping_dig(fall: float, depth: float | None, sure: float, aside: float = 0.0) -> Answer:
    """Dig whose floor falls evenly from its west end, over a service 20 m long from there."""
    grid = Grid(0.0, 0.0, 0.5, 41, 21)
    flat = np.zeros(grid.shape)
    dug = -fall * np.broadcast_to(grid.east, grid.shape)
    line = along(np.array([(0.0, 5.0), (20.0, 5.0)]))
    met = dug_over(flat, dug, grid, line, depth, sure, aside)
    return {name: getattr(met, name) for name in ("length", "dug", "near", "cut", "least_cover")}
