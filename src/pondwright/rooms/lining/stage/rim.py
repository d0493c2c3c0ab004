"""The liner's edge all round, what holds it, what shows of it, its guards, and the test of the bare liner."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import Lengths
from pondwright.geometry.polygon import line_length, resampled
from pondwright.job.lining import Guard
from pondwright.job.places import LinePlace, PointPlace, RingPlace
from pondwright.rooms.lining.checks import edge as checks
from pondwright.rooms.lining.checks import holds as hold_checks
from pondwright.rooms.lining.edge import reach_along
from pondwright.rooms.lining.guards import guard_area, guarded
from pondwright.rooms.lining.stage.bought import sheet_of
from pondwright.rooms.lining.stage.rim_band import Looks, band_of, looks_of
from pondwright.rooms.lining.stage.rim_edge import (
    STEP,
    Walk,
    asked_of,
    built_shots,
    lows_of,
    stretches_of,
    walk_of,
)
from pondwright.rooms.lining.stage.rim_filling import test_findings, test_of
from pondwright.rooms.lining.stage.rim_holds import anchors_of, slopes_of
from pondwright.rooms.lining.stage.rim_results import BodyRim, GuardResult, RimResult
from pondwright.rooms.lining.stage.shared import limits_of, liners_of
from pondwright.rooms.shape.shoreline import stretch_line

Limits = Mapping[str, Limit]


def rim_stage(view: Mapping[str, Any], results: Mapping[str, Any]) -> tuple[RimResult, tuple[Finding, ...]]:
    """Liner's edge round every body.

    Parameters
    ----------
    view : mapping        Reads `lining.liners`, `lining.edges`, `lining.guards`, `shape.bodies`,
                          `shape.ways`, `site.things`, `build_up`, `catalogue`, `stone.treatments`, `log`,
                          `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`, `shape.storage`, `shape.views`,
                          `lining.area`.

    Returns
    -------
    RimResult and the checks of edges, anchors, covers on slopes, what shows, guards and the water test.
    """
    limits = limits_of(view)
    told = liners_of(view["lining.liners"], results["shape.shore"].bodies)
    guards = dict(_guards(view, results))
    looks = looks_of(view, results)
    rims: dict[str, BodyRim] = {}
    findings: list[Finding] = []
    for liner, area in results["lining.area"].liners.items():
        _, sheet = sheet_of(told[liner], view)
        for body in area.bodies:
            walk = walk_of(body, area.beyond, view, results)
            rims[body] = _rim(body, liner, told[liner], sheet, walk, looks, view, results, limits)
            findings += _findings(
                body, rims[body], walk, liner in view["lining.liners"], view, results, limits
            )
    findings += test_findings(rims, view["log"], limits)
    for name, guard in guards.items():
        findings.append(checks.check_guard(name, guard.kind, guard.depth, limits))
    findings += _trees(guards, view, results, limits)
    result = RimResult(
        MappingProxyType(rims),
        MappingProxyType(guards),
        sum(rim.length for rim in rims.values()),
        sum(low.length for rim in rims.values() for low in rim.lows),
    )
    return result, tuple(findings)


def _rim(
    body: str,
    liner: str,
    row: Any,
    sheet: Any,
    walk: Walk,
    looks: Looks,
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    limits: Limits,
) -> BodyRim:
    stream = results["shape.shore"].bodies[body].stream is not None
    asked = asked_of(walk, stream, limits)
    lows = lows_of(body, walk, asked, limits["lining.edge_low"].value, results)
    stretches = stretches_of(walk, limits, results["shape.grading"].bodies[body].bank)
    band, views = band_of(body, walk, looks, view, results)
    return BodyRim(
        liner=liner,
        points=walk.points,
        station=walk.station,
        ring=walk.ring,
        edge=walk.edge,
        wanted=walk.wanted,
        ground=walk.ground,
        detail=walk.detail,
        lows=lows,
        built=built_shots(body, walk, view["log"], limits),
        stretches=MappingProxyType(stretches),
        band=band,
        views=MappingProxyType(views),
        anchor=MappingProxyType(
            anchors_of(stretches, sheet, results["shape.grading"].bodies[body].bank, limits)
        ),
        slopes=slopes_of(body, row, sheet, view, results),
        test=test_of(body, view, results, limits),
        length=float(walk.steps.sum()),
        edge_low=float(walk.edge.min()),
        lack=max((low.lack for low in lows), default=0.0),
        no_break=sum(stretch.length for stretch in stretches.values() if not stretch.capillary_break),
    )


def _findings(
    body: str,
    rim: BodyRim,
    walk: Walk,
    named: bool,
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    limits: Limits,
) -> Iterator[Finding]:
    """Checks of one body's edge."""
    bank = results["shape.grading"].bodies[body].bank
    stream = results["shape.shore"].bodies[body].stream is not None
    has = reach_along(walk.beyond, bank.freeboard, bank.slope_in)
    yield checks.check_low(body, tuple(low for low in rim.lows if not low.drawn), limits)
    yield from _drawn(body, rim, walk, stream, limits)
    short = max(rim.stretches, key=lambda name: rim.stretches[name].reach, default=None)
    if short is not None:
        reach = rim.stretches[short].reach
        yield checks.check_reach(body, short, rim.liner, named, has, reach, limits)
    yield checks.check_capillary(body, rim.no_break, limits)
    if rim.built:
        worst = min(rim.built, key=lambda shot: shot.off)
        best = max(rim.built, key=lambda shot: shot.off)
        low, high = (worst if worst.off < 0.0 else None), (best if best.off > 0.0 else None)
        yield checks.check_built(body, low, high, len(rim.built), limits)
    if rim.band is not None:
        yield checks.check_band(body, rim.band, rim.views, limits)
    for name, anchor in rim.anchor.items():
        yield hold_checks.check_anchor(name, body, anchor.capacity, anchor.strength, limits)
        yield hold_checks.check_trench(name, body, anchor.trench, limits)
    slopes = [slope for slope in rim.slopes if slope.safety_toe is not None]
    if slopes:
        yield hold_checks.check_slides(body, min(slopes, key=lambda slope: slope.safety_toe or 0.0), limits)
        yield hold_checks.check_covered(body, min(slopes, key=lambda slope: slope.slope), limits)


def _drawn(body: str, rim: BodyRim, walk: Walk, stream: bool, limits: Limits) -> Iterator[Finding]:
    """Whether the edge is drawn high enough, on old and on placed soil, and turned up."""
    lengths = {
        name: float(walk.steps[(walk.own == index) & (walk.placed | stream)].sum())
        for index, name in enumerate(walk.edges)
    }
    for placed in (False, True):
        own = [
            name
            for name, stretch in rim.stretches.items()
            if (lengths[name] > STEP if placed else stretch.length - lengths[name] > STEP)
        ]
        if own:
            lowest = min(own, key=lambda name: rim.stretches[name].height)
            along = lengths[lowest] if placed else rim.stretches[lowest].length - lengths[lowest]
            height = rim.stretches[lowest].height
            points = tuple(low.point for low in rim.lows if low.drawn)
            yield checks.check_height(body, lowest, height, along, placed, points, limits)
    turned = [name for name, stretch in rim.stretches.items() if stretch.detail == "upturn"]
    if turned:
        least = min(turned, key=lambda name: rim.stretches[name].upturn)
        yield checks.check_upturn(body, least, rim.stretches[least], limits)


def _guards(view: Mapping[str, Any], results: Mapping[str, Any]) -> Iterator[tuple[str, GuardResult]]:
    for name, guard in view["lining.guards"].items():
        line = _guard_line(guard, view, results)
        if line is not None and len(line) > 1:
            area = guard_area(line, guard.depth)
            yield name, GuardResult(guard.kind, line, line_length(line), guard.depth, area)


def _guard_line(guard: Guard, view: Mapping[str, Any], results: Mapping[str, Any]) -> Lengths | None:
    place = guard.place
    if isinstance(place, LinePlace):
        return np.array([(point.east, point.north) for point in place.points])
    shore = results["shape.shore"].bodies.get(place.body)
    if shore is None or place.ring not in shore.ring_names:
        return None
    row = view["shape.bodies"][place.body]
    ring = shore.ring_names.index(place.ring)
    curve = row.outline.curve if ring == 0 else row.islands[place.ring]
    pegs = [peg.id for peg in curve.pegs]
    return stretch_line(shore.rings[ring], shore.spans[ring], pegs, place.start, place.end)


def _trees(
    guards: Mapping[str, GuardResult], view: Mapping[str, Any], results: Mapping[str, Any], limits: Limits
) -> Iterator[Finding]:
    """Trees so near to a liner that their roots may reach it."""
    lines = [guard.line for guard in guards.values() if guard.kind == "root"]
    keep = limits["lining.roots"].value
    areas = results["lining.area"].liners.values()
    shores = {body: results["shape.shore"].bodies[body] for area in areas for body in area.bodies}
    beyond = {body: area.beyond for area in areas for body in area.bodies}
    trees: dict[str, list[checks.Tree]] = {}
    for name, thing in view["site.things"].items():
        place = _middle(thing.place)
        if thing.kind != "tree" or thing.status == "remove" or place is None:
            continue
        near = []
        for body, shore in shores.items():
            away, between = guarded(place, resampled(shore.rings[0], 0.5), lines)
            near.append((max(away - beyond[body], 0.0), between, body))
        if near and min(near)[0] < keep:
            away, between, body = min(near)
            trees.setdefault(body, []).append(checks.Tree(name, place, away, between))
    for body, found in trees.items():
        yield checks.check_roots(body, tuple(found), limits)


def _middle(place: Any) -> tuple[float, float] | None:
    if isinstance(place, PointPlace):
        return place.east, place.north
    if isinstance(place, RingPlace):
        pegs = place.curve.pegs
        return sum(peg.east for peg in pegs) / len(pegs), sum(peg.north for peg in pegs) / len(pegs)
    return None
