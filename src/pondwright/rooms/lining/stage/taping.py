"""Lengths to tape in the hole: those that are drawn, and two proposed ones for each liner."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import pi
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import Length, Lengths
from pondwright.rooms.lining.checks import tapes as checks
from pondwright.rooms.lining.stage.area import LinerArea
from pondwright.rooms.lining.stage.layout import LinerLayout
from pondwright.rooms.lining.stage.order_results import LinerOrder, TapeResult
from pondwright.rooms.lining.stage.pieces import Added
from pondwright.rooms.lining.tapes import length_over_ground, lies_on, longest_line, verdict

ENOUGH: int = 2
"""Lines that are drawn for a liner, from which on none is proposed."""


def tapes_of(
    name: str,
    area: LinerArea,
    layout: LinerLayout,
    added: Added,
    view: Mapping[str, Any],
    results: Mapping[str, Any],
) -> Mapping[str, TapeResult]:
    """Tapes that lie on one liner."""
    rings = [results["shape.shore"].bodies[body].rings[0] for body in area.bodies]
    found = {}
    for tape, row in view["lining.tapes"].items():
        line = np.array([(point.east, point.north) for point in row.place.points])
        if any(lies_on(ring, line) for ring in rings):
            found[tape] = _tape(name, row.name or tape, area, line, row.taped, added)
    if len(found) < ENOUGH:
        for key, line in _proposed(area, layout, results):
            found[f"{name}_{key}"] = _tape(name, key, area, line, None, added, proposed=True)
    return MappingProxyType(found)


def tape_findings(orders: Mapping[str, LinerOrder], limits: Mapping[str, Limit]) -> Iterator[Finding]:
    """Check of each taped length, and one of all that are still to be taped."""
    for name, order in orders.items():
        for tape, found in order.tapes.items():
            if found.taped is not None:
                yield checks.check_tape(name, tape, found, order.margin, limits)
    if orders:
        yield checks.check_taped({name: order.tapes for name, order in orders.items()}, limits)


def _tape(
    liner: str,
    name: str,
    area: LinerArea,
    line: Lengths,
    taped: Length | None,
    added: Added,
    proposed: bool = False,
) -> TapeResult:
    predicted = length_over_ground(area.ground, line)
    exact = added.limits["lining.tape"].value
    return TapeResult(
        liner=liner,
        name=name,
        line=line,
        proposed=proposed,
        verdict=verdict(predicted, taped, added.margin(predicted), added.folds * predicted, exact),
        predicted=predicted,
        taped=taped,
        difference=None if taped is None else taped - predicted,
    )


def _proposed(
    area: LinerArea, layout: LinerLayout, results: Mapping[str, Any]
) -> Iterator[tuple[str, Lengths]]:
    """Along and across a pond; along the middle of a stream."""
    shores = [results["shape.shore"].bodies[body] for body in area.bodies]
    largest = max(shores, key=lambda shore: shore.area)
    if largest.stream is not None:
        line = largest.stream.corridor.line
        first, last = line[0] - line[1], line[-1] - line[-2]
        ends = [
            end + area.beyond / max(float(np.hypot(*way)), 1e-9) * way
            for end, way in ((line[0], first), (line[-1], last))
        ]
        yield "along", np.vstack([ends[0], line[1:-1], ends[1]])
        return
    yield "along", longest_line(largest.rings[0], layout.turned, area.beyond)
    yield "across", longest_line(largest.rings[0], layout.turned + 0.5 * pi, area.beyond)
