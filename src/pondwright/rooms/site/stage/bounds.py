"""Lines not to cross, held against what is built, heaped and driven.

Lines are the job's own (`site.bounds`), and the trees, wells, septic fields and other things that must be
kept clear of.  Work is each shore, its berm as far as the ground at the shore tells it, heaps of soil
and stone, and ways for machines.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit, Op
from pondwright.base.kinds import LENGTH, Elevation, Length, Lengths
from pondwright.geometry.surface import surface_at
from pondwright.job.curves import line_of, ring_of
from pondwright.job.fields import value_of
from pondwright.job.places import Curve, LinePlace, Place, PointPlace, RingPlace, Row
from pondwright.job.shape import Berm, Body, RingOutline
from pondwright.job.site import Bound, Thing
from pondwright.rooms.site.bounds import (
    Clearance,
    PlanPoint,
    Trace,
    banded,
    berm_reaches,
    least,
    signed_clearance,
)
from pondwright.rooms.site.checks import bounds as checks
from pondwright.rooms.site.checks.bounds import BUILT, Against, Line, Work
from pondwright.rooms.site.existing import fits
from pondwright.rooms.site.stage.ground import GroundResult
from pondwright.rooms.site.stage.shared import limits_of

GATE = 1.0
"""A way may cross a boundary where a gate is: within half its width and this much of it. [m]"""

MARGIN = 0.01
"""What an offered move goes beyond the least that is needed. [m]"""

_WATER_SAYS = "Least clearance of shores and berms from it; below zero it is crossed"
_LOADS_SAY = "Least clearance of heaps and of ways for machines from it"
_REQUIRED_SAYS = "Clearance that the nearest work must keep"
_LINE_OF_THING = {"tree": "tree", "well": "well", "septic": "septic"}
_HEAPS = ("soil_pile", "stone_pile")


@dataclass(frozen=True, slots=True)
class LineClearance:
    """How far the work stays from one line of the job, and where it comes nearest."""

    at_work: PlanPoint
    at_line: PlanPoint
    nearest: str
    clearance: Length | None = figure(
        LENGTH, _WATER_SAYS, by=signed_clearance, uses=("site.bounds.*.place", "shape.bodies.*.outline")
    )
    loads: Length | None = figure(
        LENGTH, _LOADS_SAY, by=signed_clearance, uses=("site.bounds.*.place", "site.things.*.place")
    )
    required: Length = figure(LENGTH, _REQUIRED_SAYS, uses=("site.bounds.*.clear",))


@dataclass(frozen=True, slots=True)
class ThingClearance:
    """The same of one thing that must be kept clear of."""

    at_work: PlanPoint
    at_line: PlanPoint
    nearest: str
    clearance: Length | None = figure(
        LENGTH, _WATER_SAYS, by=signed_clearance, uses=("site.things.*.place", "shape.bodies.*.outline")
    )
    loads: Length | None = figure(LENGTH, _LOADS_SAY, by=signed_clearance, uses=("site.things.*.place",))
    required: Length = figure(LENGTH, _REQUIRED_SAYS, uses=("site.things.*.clear",))


@dataclass(frozen=True, slots=True)
class ClearancesResult:
    """Clearances of the job's lines by id, and of its things by id."""

    bounds: Mapping[str, LineClearance]
    things: Mapping[str, ThingClearance]


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A line or a piece of work as it lies on the plan."""

    trace: Trace
    inside: bool = False


def clearances_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[ClearancesResult, tuple[Finding, ...]]:
    """Clearance of all work from each line that it must not cross.

    Parameters
    ----------
    view : mapping        Reads `site.bounds`, `site.things`, `shape.bodies`, `shape.berms`, `rules`.
    results : mapping     Needs `site.ground`.

    Returns
    -------
    ClearancesResult and one check for each line, and for each heap beside each shore.
    """
    limits, things = limits_of(view), view["site.things"]
    shores = list(_shores(view["shape.bodies"], view["shape.berms"], results["site.ground"]))
    loads = list(_loads(things))
    bounds: dict[str, LineClearance] = {}
    told_things: dict[str, ThingClearance] = {}
    findings: list[Finding] = []
    for group, name, line, drawn in _lines(view["site.bounds"], things):
        if drawn is None:
            findings.append(checks.no_place(line.called, line.path))
            continue
        cases = list(_cases(line, drawn, [*shores, *loads], things, limits))
        if cases:
            findings.append(checks.check_line(cases, limits))
            if group == "bounds":
                bounds[name] = LineClearance(*_told(cases, limits))
            else:
                told_things[name] = ThingClearance(*_told(cases, limits))
    findings.extend(_heap_findings(shores, loads, things, limits))
    return ClearancesResult(MappingProxyType(bounds), MappingProxyType(told_things)), tuple(findings)


def _told(
    cases: Sequence[Against], limits: Mapping[str, Limit]
) -> tuple[PlanPoint, PlanPoint, str, Length | None, Length | None, Length]:
    """Fields of a row of the result."""
    case = cases[least([case.found for case in cases])]
    water, loads = (
        min((one.found.clearance for one in cases if (one.work.kind in BUILT) is built), default=None)
        for built in (True, False)
    )
    need = checks.required(case, limits)
    return case.found.at_work, case.found.at_line, case.work.path, water, loads, need


def _shores(
    bodies: Mapping[str, Body], berms: Mapping[str, Berm], ground: GroundResult
) -> Iterator[tuple[Work, _Drawn]]:
    """Shores of the bodies, and their berms where the water level tells how high they stand."""
    for name, body in bodies.items():
        path = f"shape.bodies.{name}.outline"
        if not isinstance(body.outline, RingOutline):
            line = _curve(body.outline.curve, closed=False)
            half = 0.5 * max(body.outline.widths)
            yield Work("shore", f"`{name}`", path), _Drawn(Trace(line, reach=half))
            continue
        ring = _curve(body.outline.curve, closed=True)
        yield Work("shore", f"`{name}`", path), _Drawn(Trace(ring, closed=True))
        if body.level is None or not fits(ground.grid, ring):
            continue  # a level by default needs no berm: it follows the lowest ground on the shore
        own = [(key, berm) for key, berm in berms.items() if berm.body == name]
        row, berm = own[0] if own else (None, Berm(body=name))
        reaches = _berm_reaches(berm, body.level, ground, ring)
        if reaches.any():
            berm_path = path if row is None else f"shape.berms.{row}"
            yield Work("berm", f"`{name}`", berm_path), _Drawn(banded(ring, reaches))


def _berm_reaches(berm: Berm, level: Elevation, ground: GroundResult, ring: Lengths) -> Lengths:
    freeboard, crest, slope_in, slope_out = (
        value_of(berm, name) for name in ("freeboard", "crest_width", "slope_in", "slope_out")
    )
    return berm_reaches(surface_at(ground.z, ground.grid, ring), level, freeboard, crest, slope_in, slope_out)


def _loads(things: Mapping[str, Thing]) -> Iterator[tuple[Work, _Drawn]]:
    """Heaps and ways for machines."""
    for name, thing in things.items():
        trace = _trace(thing.place, 0.5 * (thing.size or 0.0))
        if trace is None or thing.status == "remove":
            continue
        if thing.kind in _HEAPS:
            yield Work("pile", _called(name, thing), f"site.things.{name}"), _Drawn(trace)
        elif thing.kind == "access" and isinstance(thing.place, LinePlace):
            yield Work("route", _called(name, thing), f"site.things.{name}"), _Drawn(trace)


def _lines(
    bounds: Mapping[str, Bound], things: Mapping[str, Thing]
) -> Iterator[tuple[str, str, Line, _Drawn | None]]:
    """Lines not to cross: where they come from, their ids, what they ask, and where they lie."""
    for name, bound in bounds.items():
        if bound.status == "remove":
            continue
        inside = isinstance(bound.place, RingPlace) and (bound.keep or _usual(bound)) == "inside"
        trace = _trace(bound.place, 0.0)
        line = Line(bound.kind, _called(name, bound), f"site.bounds.{name}", bound.clear or None)
        yield "bounds", name, line, None if trace is None else _Drawn(trace, inside)
    for name, thing in things.items():
        kind = _LINE_OF_THING.get(thing.kind, "other" if thing.clear else None)
        if kind is None or thing.status == "remove":
            continue
        trace = _trace(thing.place, 0.5 * (thing.size or 0.0))
        line = Line(kind, _called(name, thing), f"site.things.{name}", thing.clear or None)
        yield "things", name, line, None if trace is None else _Drawn(trace)


def _usual(bound: Bound) -> str:
    return "inside" if bound.kind == "boundary" else "outside"


def _cases(
    line: Line,
    drawn: _Drawn,
    works: Sequence[tuple[Work, _Drawn]],
    things: Mapping[str, Thing],
    limits: Mapping[str, Limit],
) -> Iterator[Against]:
    for work, lies in works:
        if not checks.is_compared(work.kind, line.kind) or work.path == line.path:
            continue
        if work.kind == "route" and line.kind == "boundary" and _by_gate(lies.trace, drawn.trace, things):
            continue
        case = Against(work, line, signed_clearance(lies.trace, drawn.trace, drawn.inside))
        yield replace(case, ops=_moved(work, drawn, case.found, checks.required(case, limits), things))


def _by_gate(way: Trace, line: Trace, things: Mapping[str, Thing]) -> bool:
    """Whether a way crosses a boundary, and does so only where a gate is."""
    from shapely import LineString, get_coordinates

    edge = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    if len(edge) < 2:
        return False
    meets = get_coordinates(LineString(way.points).intersection(LineString(edge)))
    gates = [
        ((gate.place.east, gate.place.north), 0.5 * (gate.size or 0.0) + GATE)
        for gate in things.values()
        if gate.kind == "access" and isinstance(gate.place, PointPlace)
    ]
    return len(meets) > 0 and all(
        any(math.dist(place, gate) <= reach for gate, reach in gates) for place in meets
    )


def _heap_findings(
    shores: Sequence[tuple[Work, _Drawn]],
    loads: Sequence[tuple[Work, _Drawn]],
    things: Mapping[str, Thing],
    limits: Mapping[str, Limit],
) -> Iterator[Finding]:
    for heap, lies in loads:
        for shore, water in shores:
            if heap.kind == "pile" and shore.kind == "shore":
                found = signed_clearance(lies.trace, water.trace)
                need = limits["site.pile_edge"].value
                ops = _moved(heap, water, found, need, things)
                yield checks.check_pile(heap, shore.called.strip("`"), found, ops, limits)


def _moved(
    heap: Work, line: _Drawn, found: Clearance, need: Length, things: Mapping[str, Thing]
) -> tuple[Op, ...]:
    """Edit that moves a heap clear of a line, where that is one step; shores and ways are for the hand."""
    missing = need - found.clearance
    if heap.kind != "pile" or missing <= 0.0:
        return ()
    thing = things[heap.path.rpartition(".")[2]]
    east, north = ((missing + MARGIN) * part for part in found.away)
    place = thing.place.model_dump(mode="json")
    spots = [place] if place["at"] == "point" else place.get("points") or place["curve"]["pegs"]
    for spot in spots:
        spot["east"], spot["north"] = round(spot["east"] + east, 4), round(spot["north"] + north, 4)
    moved = _trace(type(thing.place).model_validate_json(json.dumps(place)), 0.5 * (thing.size or 0.0))
    if moved is None or signed_clearance(moved, line.trace, line.inside).clearance < need:
        return ()
    return (Op("replace", f"/{heap.path.replace('.', '/')}/place", place),)


def _trace(place: Place, reach: Length) -> Trace | None:
    """Where something lies; none where its place has no points of its own."""
    match place:
        case PointPlace():
            return Trace(np.array([(place.east, place.north)]), reach=reach)
        case LinePlace():
            return Trace(np.array([(point.east, point.north) for point in place.points]), reach=reach)
        case RingPlace():
            return Trace(_curve(place.curve, closed=True), closed=True)
    return None


def _curve(curve: Curve, *, closed: bool) -> Lengths:
    return (ring_of if closed else line_of)(curve).points


def _called(name: str, row: Row) -> str:
    return row.name or name.replace("_", " ")
