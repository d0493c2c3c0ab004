"""The job with an edit, computed again by its own stages, and what a body lacks whose liner does not hold.

See Also
--------
pondwright.flow.uplift_offers : the ways out that are tried like this.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.findings import Finding, Grade, Op
from pondwright.base.kinds import RATIO, Elevation, FloatArray, Length
from pondwright.flow.engine import Last
from pondwright.job.build_up import BuildUp
from pondwright.job.fields import Rows, Section
from pondwright.job.groundwater import Drain, Sump
from pondwright.job.shape import Body
from pondwright.rooms.earth import stage as earth
from pondwright.rooms.groundwater import stage as groundwater
from pondwright.rooms.groundwater.beds import lack_of_weight
from pondwright.rooms.shape import stage as shape

UPLIFT = "groundwater.uplift"

LITTLE: Length = 0.01
"""What is lower or higher by less makes no difference on a site. [m]"""


ROWS: Mapping[str, type[Section]] = MappingProxyType(
    {"shape.bodies": Body, "build_up": BuildUp, "groundwater.drains": Drain, "groundwater.sumps": Sump}
)
CHAIN = (
    ("shape.shore", shape.shore_stage, True),
    ("shape.grading", shape.grading_stage, True),
    ("shape.storage", shape.storage_stage, False),
    ("earth.subgrade", earth.subgrade_stage, False),
    ("groundwater.heads", groundwater.heads_stage, False),
    ("groundwater.uplift", groundwater.uplift_stage, False),
    ("groundwater.cases", groundwater.cases_stage, False),
    ("groundwater.range", groundwater.range_stage, False),
)
"""Stages that an edit may move, in their order, and whether a hint spares them work.

Heads get none: from those of the frame before they would be a little off."""

FIRST = MappingProxyType({"shape.bodies": 0, "build_up": 3, "groundwater.drains": 4, "groundwater.sumps": 4})
"""The first stage of the chain that a map of the document moves."""


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """The job, or the job with an edit: its sections, what its stages give, and the checks of uplift."""

    view: Mapping[str, Any]
    results: Mapping[str, Any]
    findings: tuple[Finding, ...]

    def stops(self, name: str) -> list[Finding]:
        """What stops one body."""
        return [
            finding
            for finding in self.findings
            if finding.grade is Grade.STOP
            and finding.code.startswith(UPLIFT)
            and finding.where.paths[0] == f"shape.bodies.{name}"
        ]


@dataclass(frozen=True, slots=True, eq=False)
class Trouble:
    """One body that does not hold: where it lifts first, and what it lacks. [m]"""

    name: str
    spot: tuple[Length, Length]
    centre: FloatArray
    reach: Length
    liner: Elevation
    lowest: Elevation
    lack: Length
    now: State


def again(now: State, ops: Sequence[Op], body: str) -> State:
    """The job with an edit, computed again from the first stage that it moves."""
    view, first = dict(now.view), len(CHAIN)
    for op in ops:
        section = _edit(view, op)
        first = min(first, FIRST[section])
    results = dict(now.results)
    findings: list[Finding] = []
    for name, function, hint in CHAIN[first:]:
        last = (Last(now.view, now.results, now.results[name]),) if hint else ()
        results[name], found = function(view, results, *last)
        findings += found
        if name == UPLIFT and State(view, results, found).stops(body):
            break  # the many cases of what does not even hold in use are not asked for
    return State(view, results, tuple(findings))


def uplift_findings(view: Mapping[str, Any], results: Mapping[str, Any]) -> tuple[Finding, ...]:
    """Checks of uplift; they cost little beside the heads."""
    return (*groundwater.uplift_stage(view, results)[1], *groundwater.range_stage(view, results)[1])


def _edit(view: dict[str, Any], op: Op) -> str:
    """Carry out an operation on the sections of a view; gives the map that it changes."""
    names = op.path.strip("/").split("/")
    section = next(path for path in ROWS if op.path.startswith("/" + path.replace(".", "/") + "/"))
    row, *inside = names[len(section.split(".")) :]
    if inside:
        value = view[section][row].model_dump(mode="json")
        target = value
        for name in inside[:-1]:
            target = target[int(name) if isinstance(target, list) else name]
        target[int(inside[-1]) if isinstance(target, list) else inside[-1]] = op.value
    else:
        value = op.value
    model = ROWS[section].model_validate_json(json.dumps(value))
    view[section] = Rows({**view[section], row: model})
    return section


def trouble_of(name: str, now: State) -> Trouble:
    """What one body lacks in the worst of what stops it."""
    lined = now.results["groundwater.uplift"].lined[name]
    worst = min(now.stops(name), key=lambda stop: (stop.value or 0.0) / (stop.limit or 1.0))
    spot = worst.where.points[0]
    place = int(np.argmin(np.hypot(*(lined.points - spot).T)))
    centre = lined.points.mean(axis=0)
    return Trouble(
        name=name,
        spot=spot,
        centre=centre,
        reach=float(np.hypot(*(lined.points - centre).T).max()),
        liner=float(lined.bed.liner[place]),
        lowest=float(_lowest_near(lined, spot)),
        lack=max(_lacks(name, now), LITTLE),
        now=now,
    )


def _lowest_near(lined: Any, spot: tuple[Length, Length]) -> Elevation:
    """Lowest liner round the worst spot, below which a drain there must lie."""
    away = np.hypot(*(lined.points - spot).T)
    return float(lined.bed.liner[away <= max(3.0, float(away.min()))].min())


def _lacks(name: str, now: State) -> Length:
    """How far the groundwater must fall in each state that stops the body, the most of them."""
    lined = now.results["groundwater.uplift"].lined[name]
    cases = now.results["groundwater.cases"].cases
    season = "wet" if "wet_working" in cases else "dry"
    asked = {
        f"{UPLIFT}_in_use": ("working", "likely"),
        f"{UPLIFT}_high": ("working", "high"),
        f"{UPLIFT}_power_cut": ("stopped", "likely"),
        f"{UPLIFT}_emptied": ("working", "high"),
    }
    lacks = []
    for stop in now.stops(name):
        state, level = asked[stop.code]
        head = lined.at(getattr(cases[f"{season}_{state}"], level))
        factor = stop.limit if stop.kind is RATIO and stop.limit else 1.0
        lacks.append(lack_of_weight(lined.bed, head, lined.water(lined.used), factor))
    return max(lacks, default=0.0)
