"""Painted shorelines beside the shores of the bodies."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import count
from types import MappingProxyType
from typing import Any

import numpy as np
from scipy.optimize import linear_sum_assignment

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import COUNT, LENGTH, Length, Lengths
from pondwright.geometry.polygon import signed_area
from pondwright.job.curves import ring_of
from pondwright.job.shape import Body, RingOutline
from pondwright.rooms.site.checks import painted as painted_checks
from pondwright.rooms.site.checks.painted import Offer
from pondwright.rooms.site.painted import shore_miss, shore_pegs
from pondwright.rooms.site.stage.shared import few, limits_of
from pondwright.rooms.site.stage.survey import line_points

FEWEST_POINTS = 4
"""Located points of a painted line that are taken for a shore."""

NEW_BODY = "pond"


@dataclass(frozen=True, slots=True, eq=False)
class PaintedLine:
    """One painted shoreline: its points, and how far the nearest body's shore is off it."""

    body: str | None
    points: Lengths
    point_count: int = figure(COUNT, "Located points of the painted shoreline", uses=("site.lines",))
    miss: Length | None = figure(
        LENGTH,
        "Largest distance of the painted shoreline from the nearest shore",
        by=shore_miss,
        uses=("site.lines", "shape.bodies.*.outline"),
    )


@dataclass(frozen=True, slots=True)
class PaintedResult:
    """Painted shorelines by line."""

    lines: Mapping[str, PaintedLine]


def painted_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[PaintedResult, tuple[Finding, ...]]:
    """Painted shorelines, and whether each is the shore of a body.

    Parameters
    ----------
    view : mapping        Reads `site.lines`, `shape.bodies`, `rules`.
    results : mapping     Needs `site.ground`.

    Returns
    -------
    PaintedResult and a check for each painted line of at least four located points.
    """
    limits, bodies, places = limits_of(view), view["shape.bodies"], results["site.ground"].places
    rings = {name: _ring(body) for name, body in bodies.items() if isinstance(body.outline, RingOutline)}
    lines, findings = {}, []
    for name, line in view["site.lines"].items():
        if line.kind != "paint" or line.status == "remove":
            continue
        points = _open(line_points(line, places))
        if len(points) < FEWEST_POINTS or not np.ptp(points, axis=0).any():
            continue
        misses = {body: shore_miss(ring, points) for body, ring in rings.items()}
        nearest = min(misses, key=lambda body: misses[body], default=None)
        miss = None if nearest is None else misses[nearest]
        lines[name] = PaintedLine(nearest, points, len(points), miss)
        good = miss is not None and miss <= limits["site.painted_shore"].value
        offers = () if good else tuple(_offers(points, bodies, limits))
        findings.append(painted_checks.check_painted_shore(name, nearest, miss, few(points), offers, limits))
    return PaintedResult(MappingProxyType(lines)), tuple(findings)


def _offers(points: Lengths, bodies: Mapping[str, Body], limits: Mapping[str, Limit]) -> Iterator[Offer]:
    """To make the painted line the shore of the first body, and to make it a new one."""
    pegs = points[shore_pegs(points, limits["site.painted_shore"].value)]
    first = next((name for name, body in bodies.items() if isinstance(body.outline, RingOutline)), None)
    if first is not None:
        yield Offer(first, True, _outline(*_named_as(bodies[first], pegs)))
    names = (NEW_BODY if number == 1 else f"{NEW_BODY}_{number}" for number in count(1))
    fresh = next(name for name in names if name not in bodies)
    yield Offer(fresh, False, _outline(pegs, [f"p{number}" for number in range(1, len(pegs) + 1)]))


def _named_as(body: Body, pegs: Lengths) -> tuple[Lengths, list[str]]:
    """Pegs that run the way of a body's own, each old peg's name on the new one nearest to it.

    A stretch of the shore that is told from peg to peg stays where it was.
    """
    old = body.outline.curve.pegs
    places = np.array([(peg.east, peg.north) for peg in old])
    if signed_area(places) * signed_area(pegs) < 0.0:
        pegs = pegs[::-1]
    away = np.hypot(*np.moveaxis(places[:, None, :] - pegs[None, :, :], 2, 0))
    names: list[str | None] = [None] * len(pegs)
    for before, now in zip(*linear_sum_assignment(away), strict=True):
        names[now] = old[before].id
    free = (f"p{number}" for number in count(1) if f"p{number}" not in {peg.id for peg in old})
    return pegs, [next(free) if name is None else name for name in names]


def _outline(pegs: Lengths, names: list[str]) -> dict[str, Any]:
    rows = [
        {"id": name, "east": round(float(east), 4), "north": round(float(north), 4)}
        for name, (east, north) in zip(names, pegs, strict=True)
    ]
    return {"form": "ring", "curve": {"pegs": rows}}


def _open(points: Lengths) -> Lengths:
    """Points of a line without the last one where it comes back to the first."""
    return points[:-1] if len(points) > 1 and (points[0] == points[-1]).all() else points


def _ring(body: Body) -> Lengths:
    return ring_of(body.outline.curve).points
