"""Ways to bend each pond: variants of its shore with their numbers, each of them one edit.

A variant is tried by the stages of the job themselves, on the job with that shore: what is told here is what
one gets by taking it.  That is why this stage stands above the rooms, and not in one of them.

See Also
--------
pondwright.rooms.shape.bends : how the pegs are moved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Op
from pondwright.base.kinds import (
    AREA,
    LENGTH,
    RATIO,
    SOIL_VOLUME,
    Area,
    Length,
    Ratio,
    Volume,
)
from pondwright.flow.engine import Last
from pondwright.geometry.polygon import development_index, enclosed_area, ring_length, self_crossings
from pondwright.job.places import Peg
from pondwright.job.shape import Body, RingOutline
from pondwright.rooms.earth import stage as earth
from pondwright.rooms.earth.balance import fill_surplus
from pondwright.rooms.earth.cutfill import dig_volumes
from pondwright.rooms.shape import stage as shape
from pondwright.rooms.shape.bends import (
    Outline,
    enlarged,
    facing_weights,
    more_shore,
    narrowest,
    pushed,
    reach_weights,
    rounder,
    seen_weights,
)
from pondwright.rooms.shape.meeting import narrow_places, water
from pondwright.rooms.shape.reach import reached, way_distance
from pondwright.rooms.shape.shoreline import misplaced_islands
from pondwright.rooms.shape.stage.reach import footways
from pondwright.rooms.shape.stage.rows import limits_of
from pondwright.rooms.shape.views import water_seen
from pondwright.rooms.site.existing import fits

MORE, MUCH_MORE, LESS = 1.10, 1.20, 0.90
"""Shore for one of now that is offered."""

BALANCED: Ratio = 0.05
"""Surplus or missing soil for one that is dug up to which a shape counts as balanced."""

SIZES = (0.1, 0.2, 0.3)
"""How much longer and shorter a pond is tried until its soil changes from left over to missing."""

MOST_TRIALS = 8

SEEN_AMPLITUDES = (0.7, 1.4)
"""How far pegs go, in halves of the distance between them, towards where the water is seen."""

FACING_AMPLITUDES = (-0.8, 0.8)
"""How far pegs go towards the seats and away from them."""

REACH_INWARD = (0.0, 0.25, 0.5)
"""How far pegs out of reach of ways go inward, in halves of the distance between them."""

WORTH_WHILE: Ratio = 0.02
"""Gain of the share that is seen or reached below which a bend is not worth the while."""

OUTLINE = ("shape.bodies.*.outline",)
SURFACE = (*OUTLINE, "shape.bodies.*.level", "shape.bodies.*.bank_type", "site.ground.z")


@dataclass(frozen=True, slots=True, eq=False)
class Variant:
    """One way to bend a shore; why it is refused, or no reason and the edit that takes it."""

    says: str
    refused: str
    pegs: tuple[Peg, ...]
    ops: tuple[Op, ...]
    area: Area | None = figure(AREA, "Area of the water", by=enclosed_area, uses=OUTLINE)
    area_change: Area | None = figure(
        AREA, "Area that the water gains; below zero it loses", by=enclosed_area, uses=OUTLINE
    )
    length: Length | None = figure(LENGTH, "Length of the shore", by=ring_length, uses=OUTLINE)
    development: Ratio | None = figure(
        RATIO, "Length of the shore against a round pond", by=development_index, uses=OUTLINE
    )
    narrowest: Length | None = figure(
        LENGTH, "Width of its narrowest place; none where it is wide", by=narrowest, uses=OUTLINE
    )
    dug: Volume | None = figure(
        SOIL_VOLUME, "All that would be dug, in the bank", by=dig_volumes, uses=SURFACE
    )
    surplus_bank: Volume | None = figure(
        SOIL_VOLUME,
        "Soil for fill that would be left over; below zero it is missing",
        by=fill_surplus,
        uses=(*SURFACE, "site.soils"),
    )
    reached: Ratio | None = figure(
        RATIO,
        "Share of its shore that is reached from a way",
        by=reached,
        uses=(*OUTLINE, "shape.ways.*.place", "shape.ways.*.width", "shape.ways.*.level"),
    )
    seen: Ratio | None = figure(
        RATIO,
        "Share of its water that the seats see, on average",
        by=water_seen,
        uses=("shape.seats.*.place", "shape.seats.*.eye_height", "shape.ways.*.top"),
    )


@dataclass(frozen=True, slots=True, eq=False)
class BodyBends:
    """Ways to bend one pond, by name, beside the shore as it is drawn."""

    drawn: Variant
    variants: Mapping[str, Variant]


@dataclass(frozen=True, slots=True, eq=False)
class BendsResult:
    """Ways to bend each pond."""

    bodies: Mapping[str, BodyBends]


@dataclass(frozen=True, slots=True, eq=False)
class _Tried:
    """What the stages say of the job with another shore of one body."""

    shore: Any
    soil: Any
    reach: Any
    seats: Mapping[str, Any]

    @property
    def share(self) -> Ratio:
        """Surplus (missing below zero) for one that is dug."""
        return float(self.soil.surplus_bank / self.soil.dug) if self.soil.dug > 0.0 else 0.0


def bends_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[BendsResult, tuple[Finding, ...]]:
    """Ways to bend each pond, with their numbers.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `earth.counted`, `earth.trucks`, `earth.piles`,
                          `earth.off_site`, `shape.bodies`, `shape.bank_types`,
                          `shape.berms`, `shape.slopes`, `shape.mounds`, `shape.ways`, `shape.seats`,
                          `site.things`, `build_up`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `shape.reach`, `shape.views`,
                          `earth.soil`.

    Returns
    -------
    BendsResult, without checks of its own.
    """
    read = {path: view[path] for path in view}
    known = {need: results[need] for need in results}
    bodies = {
        name: BodyBends(_drawn(name, body, read, known), MappingProxyType(_variants(name, body, read, known)))
        for name, body in read["shape.bodies"].items()
        if body.role == "pond" and isinstance(body.outline, RingOutline)
    }
    return BendsResult(MappingProxyType(bodies)), ()


def _drawn(name: str, body: Body, view: Mapping[str, Any], results: Mapping[str, Any]) -> Variant:
    """The shore as it is, with the same numbers as its variants; it changes nothing."""
    outline = _outline(body)
    tried = _tried(name, body, outline, view, results)
    return replace(
        _variant(name, body, outline, "As it is drawn", tried, view, results), ops=(), area_change=None
    )


def _variants(
    name: str, body: Body, view: Mapping[str, Any], results: Mapping[str, Any]
) -> dict[str, Variant]:
    """Every way to bend one pond."""
    drawn = _outline(body)
    why = partial(_why_not, name, view=view, results=results)
    islands = sum(map(ring_length, results["shape.shore"].bodies[name].rings[1:]))
    told = partial(_told, name, body, view, results, why)
    if results["shape.shore"].bodies[name].crossings:
        reason = "the shore crosses itself as it is drawn"
        return {
            key: _refused(says, reason)
            for key, says in (
                ("more_shore", "More shore"),
                ("rounder", "Rounder"),
                ("balanced", "Balanced"),
                ("more_view", "More view"),
                ("more_reach", "More shore in reach"),
            )
        }
    found = {}
    for key, says, ratio in (
        ("more_shore", "A tenth more shore for the same water", MORE),
        ("much_more_shore", "A fifth more shore for the same water", MUCH_MORE),
    ):
        # Islands keep their shore, so that the outer one brings it all.
        own = ratio + (ratio - 1.0) * islands / drawn.length
        bent = more_shore(drawn, own, lambda outline: not why(outline)) or more_shore(drawn, own)
        found[key] = told(says, bent, "no gentle waves of these pegs give that much without crossing")
    found["rounder"] = told(
        "Rounder: less shore to set in stone", rounder(drawn, LESS), "it is as round as it gets"
    )
    found["balanced"] = _balanced(name, body, drawn, view, results, told)
    found["more_view"] = _more_view(name, body, drawn, view, results, why)
    found["more_reach"] = _more_reach(name, body, drawn, view, results, why)
    return found


def _more_view(
    name: str, body: Body, drawn: Outline, view: Mapping[str, Any], results: Mapping[str, Any], why: Any
) -> Variant:
    """The same area of water, more of it where the seats see it: the best of a few bends."""
    says = "More of the water seen from the seats"
    seats = results["shape.views"].seats
    now = _seen(name, seats)
    if now is None:
        return _refused(says, "there is no seat to see it from")
    bends = _towards_view(name, drawn, seats, results)
    best = _best(name, body, bends, lambda tried: _seen(name, tried.seats), view, results, why)
    if best is None or best[0] < now + WORTH_WHILE:
        return _refused(says, "no gentle bend of these pegs shows more of it")
    return _variant(name, body, best[1], says, best[2], view, results)


def _more_reach(
    name: str, body: Body, drawn: Outline, view: Mapping[str, Any], results: Mapping[str, Any], why: Any
) -> Variant:
    """The same area of water, more of its shore at hand from the ways: the best of a few bends."""
    says = "More of the shore in reach of the ways"
    ways = list(footways(view["shape.ways"]))
    if not ways:
        return _refused(says, "there is no way to reach it from")
    away = np.min([way_distance(drawn.pegs, line, width, area)[0] for _, line, width, area in ways], axis=0)
    arm = limits_of(view)["shape.arm"].value
    bends = (pushed(drawn, reach_weights(drawn, away, arm, inward), 1.0) for inward in REACH_INWARD)
    best = _best(name, body, bends, _reached, view, results, why)
    now = results["shape.reach"].bodies[name].share
    if best is None or best[0] < now + WORTH_WHILE:
        return _refused(says, "no gentle bend of these pegs brings more of it within reach")
    return _variant(name, body, best[1], says, best[2], view, results)


def _best(
    name: str,
    body: Body,
    bends: Iterable[Outline],
    share: Callable[[_Tried], Ratio | None],
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    why: Any,
) -> tuple[Ratio, Outline, _Tried] | None:
    """The bend with the largest share of something, among those that could be built; with its share."""
    best: tuple[Ratio, Outline, _Tried] | None = None
    for bent in bends:
        if len(self_crossings(bent.ring)) or why(bent):
            continue
        try:
            tried = _tried(name, body, bent, view, results)
        except DomainError:
            continue
        found = share(tried)
        if found is not None and (best is None or found > best[0]):
            best = found, bent, tried
    return best


def _towards_view(
    name: str, drawn: Outline, seats: Mapping[str, Any], results: Mapping[str, Any]
) -> Iterator[Outline]:
    """Bends that may show more: hidden coves drawn in, and the whole shore towards the seats or away."""
    shore = results["shape.shore"]
    grid, body = shore.grid, shore.bodies[name]
    rows, columns = np.nonzero(body.distance > 0.0)
    places = np.column_stack([grid.east[columns], grid.north[rows]])
    seen = np.mean([seat.mask[rows, columns] for seat in seats.values()], axis=0)
    weights = seen_weights(drawn.pegs, places, seen)
    if weights.any():
        yield from (pushed(drawn, weights, amplitude) for amplitude in SEEN_AMPLITUDES)
    east, north = np.mean([(seat.eye.east, seat.eye.north) for seat in seats.values()], axis=0)
    facing = facing_weights(drawn, (float(east), float(north)))
    yield from (pushed(drawn, facing, amplitude) for amplitude in FACING_AMPLITUDES)


def _seen(name: str, seats: Mapping[str, Any]) -> Ratio | None:
    """Share of one water that the seats see, on average; none without seats."""
    shares = [seat.bodies[name].share for seat in seats.values() if name in seat.bodies]
    return float(np.mean(shares)) if shares else None


def _reached(tried: _Tried) -> Ratio | None:
    """Share of the shore that ways reach; none without ways."""
    return None if tried.reach is None else float(tried.reach.share)


def _told(
    name: str,
    body: Body,
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    why: Any,
    says: str,
    bent: Outline | None,
    none_because: str,
) -> Variant:
    """One variant with its numbers, or with the reason why it is refused."""
    if bent is None:
        return _refused(says, none_because)
    if reason := why(bent):
        return _refused(says, reason)
    return _variant(name, body, bent, says, _tried(name, body, bent, view, results), view, results)


def _balanced(
    name: str,
    body: Body,
    drawn: Outline,
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    told: Any,
) -> Variant:
    """The same shape, so much larger or smaller that its soil balances."""
    says = "The same shape in the size whose soil balances"
    now = results["earth.soil"]
    share = now.surplus_bank / now.dug if now.dug > 0.0 else 0.0
    if abs(share) <= BALANCED:
        return _refused(says, "its soil balances as it is drawn")
    factor = _balancing_size(share, lambda size: _share(name, body, enlarged(drawn, size), view, results))
    bent = None if factor is None else enlarged(drawn, factor)
    found: Variant = told(says, bent, "no size within a third of this one balances its soil")
    return found


def _balancing_size(now: Ratio, share: Any) -> Ratio | None:
    """Factor of all lengths at which the surplus is within the tolerance, the nearest to 1."""
    best: tuple[Ratio, Ratio, Ratio, Ratio] | None = None
    ends = {1.0: (1.0, now), -1.0: (1.0, now)}
    for step in SIZES:
        for way in (1.0, -1.0):
            tried = share(1.0 + way * step)
            if tried is None:
                continue
            before = ends[way]
            ends[way] = (1.0 + way * step, tried)
            if before[1] * tried <= 0.0:
                best = (*before, *ends[way])
                break
        if best:
            break
    return None if best is None else _closed_in(*best, share)


def _closed_in(one: Ratio, its: Ratio, other: Ratio, others: Ratio, share: Any) -> Ratio | None:
    """Size between two, one with soil left over and one where it is missing: regula falsi, halved."""
    for _trial in range(MOST_TRIALS):
        size = one + (other - one) * its / (its - others)
        found = share(size)
        if found is None:
            return None
        if abs(found) <= 0.5 * BALANCED:
            return size
        if its * found <= 0.0:
            other, others = size, found
            its *= 0.5
        else:
            one, its = size, found
            others *= 0.5
    return None


def _share(
    name: str, body: Body, outline: Outline, view: Mapping[str, Any], results: Mapping[str, Any]
) -> Ratio | None:
    """Surplus for one that is dug of the job with another shore, or none where it does not fit."""
    if not fits(results["shape.shore"].grid, outline.ring):
        return None
    try:
        return _tried(name, body, outline, view, results).share
    except DomainError:
        return None


def _tried(
    name: str, body: Body, outline: Outline, view: Mapping[str, Any], results: Mapping[str, Any]
) -> _Tried:
    """The stages of the job on the job with another shore of one body."""
    bent = body.model_copy(
        update={
            "outline": RingOutline(
                form="ring", curve=_curve(body).model_copy(update={"pegs": _pegs(body, outline)})
            )
        }
    )
    tried = {**view, "shape.bodies": {**view["shape.bodies"], name: bent}}
    found: dict[str, Any] = {"site.ground": results["site.ground"]}
    for stage, function in (("shape.shore", shape.shore_stage), ("shape.grading", shape.grading_stage)):
        # Whatever this shore does not move is taken over from the job as it is.
        found[stage] = function(tried, found, Last(view, results, results[stage]))[0]
    found["earth.subgrade"] = earth.subgrade_stage(tried, found)[0]
    soil, reach = earth.soil_stage(tried, found)[0], shape.reach_stage(tried, found)[0]
    views = shape.views_stage(tried, found)[0]
    return _Tried(found["shape.shore"].bodies[name], soil, reach.bodies.get(name), views.seats)


def _variant(
    name: str,
    body: Body,
    outline: Outline,
    says: str,
    tried: _Tried,
    view: Mapping[str, Any],
    results: Mapping[str, Any],
) -> Variant:
    pegs = _pegs(body, outline)
    least = limits_of(view)["shape.narrow_water"].value
    return Variant(
        says=says,
        refused="",
        pegs=pegs,
        ops=(
            Op(
                "replace",
                f"/shape/bodies/{name}/outline/curve/pegs",
                [peg.model_dump(mode="json") for peg in pegs],
            ),
        ),
        area=tried.shore.area,
        area_change=tried.shore.area - results["shape.shore"].bodies[name].area,
        length=tried.shore.length,
        development=tried.shore.development,
        narrowest=narrowest(water(tried.shore.rings), least),
        dug=tried.soil.dug,
        surplus_bank=tried.soil.surplus_bank,
        reached=_reached(tried),
        seen=_seen(name, tried.seats),
    )


def _refused(says: str, why: str) -> Variant:
    nothing = dict.fromkeys(
        (
            "area",
            "area_change",
            "length",
            "development",
            "narrowest",
            "dug",
            "surplus_bank",
            "reached",
            "seen",
        )
    )
    return Variant(says=says, refused=why, pegs=(), ops=(), **nothing)


def _why_not(name: str, outline: Outline, view: Mapping[str, Any], results: Mapping[str, Any]) -> str:
    """Why nobody could build an outline; nothing where one could."""
    shore = results["shape.shore"]
    body, grid, ring = shore.bodies[name], shore.grid, outline.ring
    if not fits(grid, ring):
        return "it would leave the plan"
    islands = dict(zip(body.ring_names[1:], body.rings[1:], strict=True))
    if misplaced_islands(ring, islands):
        return "it would cross an island"
    bent = water([ring, *body.rings[1:]])
    if other := _met(name, bent, body, shore.bodies):
        return f"it would run into `{other}`"
    least = limits_of(view)["shape.narrow_water"].value
    narrow = narrow_places(bent, least)
    if narrow and narrow[0][1] < _narrowest_now(body, least):
        return "the water would get too narrow"
    return ""


def _met(name: str, bent: Any, body: Any, bodies: Mapping[str, Any]) -> str | None:
    """Another water that an outline would newly lie across; streams end in ponds and are left aside."""
    drawn = water(body.rings)
    for other, each in bodies.items():
        if other == name or each.stream is not None:
            continue
        area = water(each.rings)
        if bent.intersection(area).area > drawn.intersection(area).area + 1e-9:
            return other
    return None


def _narrowest_now(body: Any, least: Length) -> Length:
    narrow = narrow_places(water(body.rings), least)
    return narrow[0][1] if narrow else least


def _outline(body: Body) -> Outline:
    pegs = _curve(body).pegs
    return Outline(np.array([(peg.east, peg.north) for peg in pegs]), tuple(peg.corner for peg in pegs))


def _curve(body: Body) -> Any:
    assert isinstance(body.outline, RingOutline)
    return body.outline.curve


def _pegs(body: Body, outline: Outline) -> tuple[Peg, ...]:
    """Pegs of a body at the places of an outline: ids and corners stay."""
    old: Sequence[Peg] = _curve(body).pegs
    return tuple(
        peg.model_copy(update={"east": float(east), "north": float(north)})
        for peg, (east, north) in zip(old, outline.pegs, strict=True)
    )
