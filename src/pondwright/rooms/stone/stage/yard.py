"""The yard list: a place for each measured stone, trucks, loads, and where stone waits."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Op
from pondwright.base.kinds import (
    AREA,
    BULK_MASS,
    COUNT,
    MASS,
    RATIO,
    Area,
    Length,
    Mass,
    Ratio,
)
from pondwright.job.earth import Truck as TruckRow
from pondwright.job.fields import value_of
from pondwright.job.stone import Piece
from pondwright.rooms.earth.machines import truck_of
from pondwright.rooms.earth.states import STANDARD_TRUCK, Truck, truck_loads
from pondwright.rooms.stone.checks import yard as checks
from pondwright.rooms.stone.loads import arrival_order, packed_loads, staging_area
from pondwright.rooms.stone.pieces import mass_by_axes
from pondwright.rooms.stone.stage.needs import Need, needs_of
from pondwright.rooms.stone.stage.shared import limits_of, mass_of
from pondwright.rooms.stone.yard import Deal, Taped, deal, misfit

OWN = "own"
"""Place of a stone that is on the plan itself."""

PIECES = ("stone.pieces",)
DEALT = ("stone.pieces", "stone.takeoff.classes.*.low", "stone.takeoff.classes.*.high")
BOUGHT = ("stone.takeoff.classes.*.buy",)


@dataclass(frozen=True, slots=True)
class YardStone:
    """One measured stone and its place.

    Attributes
    ----------
    name : str            What it is called: its tag, its name or its id.
    place : str           Key of the place; `own` for one on the plan, empty for one left over.
    says : str            The place in words, or why it is left over.
    changed : bool        It leaves the place that is kept for it.
    point : pair or None  Where it is set, if that is one point. [m]
    order : int           In which it is set, from 1; 0 for one left over.
    """

    name: str
    place: str
    says: str
    changed: bool
    point: tuple[Length, Length] | None
    order: int
    mass: Mass = figure(MASS, "Mass of the stone", by=mass_by_axes, uses=PIECES)
    misfit: Ratio | None = figure(
        RATIO, "How far it misses the sizes wanted there; 1 is the most", by=misfit, uses=DEALT
    )


@dataclass(frozen=True, slots=True)
class YardPlace:
    """A place that wants stones alike: its words, role, path, class, sizes and the step to hide. [m]"""

    says: str
    role: str
    source: str
    stone: str
    low: Length
    high: Length
    tall: Length
    needed: int = figure(COUNT, "Stones that it needs", uses=("stone.takeoff.classes.*.count",))
    dealt: int = figure(COUNT, "Measured stones that are dealt to it", by=deal, uses=DEALT)
    missing: int = figure(COUNT, "Stones that it needs besides", uses=DEALT)


@dataclass(frozen=True, slots=True)
class TruckLoad:
    """Measured stones that one truck brings."""

    name: str
    stones: tuple[str, ...]
    mass: Mass = figure(MASS, "Stones on it", by=mass_by_axes, uses=PIECES)
    payload: Mass = figure(MASS, "What it may carry", uses=("earth.trucks",))


@dataclass(frozen=True, slots=True)
class ClassLoads:
    """Stone of one class that is bought; `order` is that of its arrival, from 1."""

    order: int
    loads: int = figure(COUNT, "Truck loads, by box or by scale", by=truck_loads, uses=BOUGHT)
    staging: Area = figure(AREA, "Ground on which its stones wait", by=staging_area, uses=BOUGHT)


@dataclass(frozen=True, slots=True)
class YardResult:
    """The yard list, trucks and loads.

    `keep` are the operations that keep this deal; `truck` is the truck of the job that brings bought stone,
    empty for a standard one; `trips` are loads of measured stones that have no truck yet.
    """

    stones: Mapping[str, YardStone]
    places: Mapping[str, YardPlace]
    trucks: Mapping[str, TruckLoad]
    classes: Mapping[str, ClassLoads]
    keep: tuple[Op, ...]
    truck: str
    trips: tuple[tuple[str, ...], ...]
    placed: int = figure(COUNT, "Measured stones with a place", by=deal, uses=DEALT)
    left_over: int = figure(COUNT, "Measured stones left over", by=deal, uses=DEALT)
    changed: int = figure(COUNT, "Stones that leave the place kept for them", by=deal, uses=DEALT)
    measured: Mass = figure(BULK_MASS, "All measured stones", by=mass_by_axes, uses=PIECES)
    loads: int = figure(COUNT, "Truck loads of stone that is bought", by=truck_loads, uses=BOUGHT)
    staging: Area = figure(
        AREA, "Ground on which single stones wait, with aisles", by=staging_area, uses=BOUGHT
    )


def yard_stage(view: Mapping[str, Any], results: Mapping[str, Any]) -> tuple[YardResult, tuple[Finding, ...]]:
    """Place of each measured stone.

    Parameters
    ----------
    view : mapping        Reads `stone.pieces`, `stone.falls`, `stone.classes`,
                          `shape.bodies`, `earth.trucks`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`, `stone.takeoff`.

    Returns
    -------
    YardResult and the checks of the yard list; without a measured stone, places and loads alone.
    """
    takeoff, limits = results["stone.takeoff"], limits_of(view)
    pieces: Mapping[str, Piece] = {
        name: piece for name, piece in view["stone.pieces"].items() if piece.status != "remove"
    }
    masses = {name: mass_of(piece) for name, piece in pieces.items()}
    needs = needs_of(view, results)
    free = _without_own(needs, pieces)
    loose = {name: _taped(piece) for name, piece in pieces.items() if piece.place is None}
    found = deal(loose, {key: need.spot for key, need in free.items()})
    order = _setting_order(pieces, found, needs, masses)
    stones = {name: _stone(name, piece, found, needs, masses[name], order) for name, piece in pieces.items()}
    truck_name, truck = _own_truck(view["earth.trucks"])
    trucks = _trucks(pieces, masses, view["earth.trucks"])
    classes = _classes(takeoff, truck)
    keep = _keep(pieces, found)
    result = YardResult(
        stones=MappingProxyType(stones),
        places=MappingProxyType(_places(needs, stones, free)),
        trucks=MappingProxyType(trucks),
        classes=MappingProxyType(classes),
        keep=keep,
        truck=truck_name,
        trips=_trips(pieces, masses, truck),
        placed=sum(bool(stone.place) for stone in stones.values()),
        left_over=len(found.left_over),
        changed=len(found.changed),
        measured=sum(masses.values()),
        loads=sum(each.loads for each in classes.values()),
        staging=sum(each.staging for each in classes.values()),
    )
    return result, _findings(result, found, needs, truck.payload, limits)


def _taped(piece: Piece) -> Taped:
    size = sorted((piece.length, piece.width, piece.height))
    upright = size[0] if piece.shape == "slab" else size[1]
    return Taped(
        size=size[1],
        upright=upright,
        role=piece.role,
        on_hand=piece.stands == "on_hand",
        fall=piece.fall or "",
        reserved=piece.reserved,
        flat=piece.shape in ("slab", "box") or piece.role == "spill",
    )


def _without_own(needs: Mapping[str, Need], pieces: Mapping[str, Piece]) -> dict[str, Need]:
    """Needs without the stones of a fall that are on the plan themselves, each in one of its places."""
    free = dict(needs)
    for piece in pieces.values():
        if piece.place is not None and piece.fall is not None:
            key = next(
                (
                    key
                    for key, need in free.items()
                    if need.spot.fall == piece.fall and need.spot.role == piece.role and need.spot.count
                ),
                None,
            )
            if key is not None:
                free[key] = free[key].fewer()
    return free


def _setting_order(
    pieces: Mapping[str, Piece], found: Deal, needs: Mapping[str, Need], masses: Mapping[str, Mass]
) -> dict[str, int]:
    """Order in which stones are set: by the order of their places, the heaviest first; own places last."""
    rank = {key: place for place, key in enumerate(needs)}
    placed = [name for name, piece in pieces.items() if piece.place is not None or name in found.places]
    placed.sort(key=lambda name: (rank.get(found.places.get(name, OWN), len(rank)), -masses[name], name))
    return {name: place for place, name in enumerate(placed, start=1)}


def _stone(
    name: str, piece: Piece, found: Deal, needs: Mapping[str, Need], mass: Mass, order: Mapping[str, int]
) -> YardStone:
    called = piece.tag or piece.name or name
    if piece.place is not None:
        at = (piece.place.east, piece.place.north)
        return YardStone(called, OWN, "Its own place on the plan", False, at, order[name], mass, None)
    if name not in found.places:
        why = found.left_over[name]
        return YardStone(called, "", f"Left over: {why}", name in found.changed, None, 0, mass, None)
    key = found.places[name]
    need = needs[key]
    away = misfit(_taped(piece), need.spot)
    return YardStone(called, key, need.says, name in found.changed, need.point, order[name], mass, away)


def _places(
    needs: Mapping[str, Need], stones: Mapping[str, YardStone], free: Mapping[str, Need]
) -> dict[str, YardPlace]:
    """All places, with what is dealt to them; stones on the plan count where they belong to a fall."""
    places = {}
    for key, need in needs.items():
        own = need.spot.count - free[key].spot.count
        dealt = own + sum(stone.place == key for stone in stones.values())
        places[key] = YardPlace(
            says=need.says,
            role=need.spot.role,
            source=need.source,
            stone=need.stone,
            low=need.spot.low,
            high=need.spot.high,
            tall=need.spot.tall,
            needed=need.spot.count,
            dealt=dealt,
            missing=need.spot.count - dealt,
        )
    return places


def _own_truck(rows: Mapping[str, TruckRow]) -> tuple[str, Truck]:
    """Truck that brings bought stone: the one of the job that carries most, else a standard one."""
    if not rows:
        return "", STANDARD_TRUCK
    trucks = {name: _truck_in(row) for name, row in rows.items()}
    name = max(trucks, key=lambda name: (trucks[name].payload, name))
    return name, trucks[name]


def _truck_in(row: TruckRow) -> Truck:
    return truck_of(row.box, row.payload, row.axles, value_of(row, "spread"), value_of(row, "tare"))


def _trucks(
    pieces: Mapping[str, Piece], masses: Mapping[str, Mass], rows: Mapping[str, TruckRow]
) -> dict[str, TruckLoad]:
    """Measured stones by the truck that brings them; one that is no truck of the job is a standard one."""
    by_truck: dict[str, list[str]] = {}
    for name, piece in pieces.items():
        if piece.truck:
            by_truck.setdefault(piece.truck, []).append(name)
    loads: dict[str, TruckLoad] = {}
    for truck, names in by_truck.items():
        payload = _truck_in(rows[truck]).payload if truck in rows else _own_truck(rows)[1].payload
        key = re.sub(r"[^a-z0-9]+", "_", truck.lower()).strip("_") or f"truck_{len(loads) + 1}"
        while key in loads:
            key += "_"
        loads[key] = TruckLoad(truck, tuple(names), sum(masses[name] for name in names), payload)
    return loads


def _trips(
    pieces: Mapping[str, Piece], masses: Mapping[str, Mass], truck: Truck
) -> tuple[tuple[str, ...], ...]:
    """Loads of measured stones that have to come and have no truck yet; one too heavy for it goes alone."""
    names = [name for name, piece in pieces.items() if piece.stands != "on_hand" and not piece.truck]
    heavy = [(name,) for name in names if masses[name] > truck.payload]
    fit = [name for name in names if masses[name] <= truck.payload]
    packed = packed_loads([masses[name] for name in fit], truck.payload)
    return (*heavy, *(tuple(fit[index] for index in load) for load in packed))


def _classes(takeoff: Any, truck: Truck) -> dict[str, ClassLoads]:
    """Loads and staging ground of every class that is bought, in the order of arrival."""
    bought = {key: each for key, each in takeoff.classes.items() if each.buy > 0.0}
    uses: dict[str, list[str]] = {key: [] for key in bought}
    for line in takeoff.lines:
        if line.stone in uses:
            uses[line.stone].append(line.use)
    order = arrival_order(uses, {key: each.high for key, each in bought.items()})
    return {
        key: ClassLoads(
            order=place,
            loads=truck_loads(bought[key].buy_volume, bought[key].buy, truck).count,
            staging=staging_area(bought[key].buy_count, 0.5 * (bought[key].low + bought[key].high)),
        )
        for place, key in enumerate(order, start=1)
    }


def _keep(pieces: Mapping[str, Piece], found: Deal) -> tuple[Op, ...]:
    """Operations that keep for each stone the place that it is dealt, and free those of stones left over."""
    return tuple(
        Op("add", f"/stone/pieces/{name}/reserved", found.places.get(name, ""))
        for name, piece in pieces.items()
        if piece.place is None and piece.reserved != found.places.get(name, "")
    )


def _findings(
    result: YardResult, found: Deal, needs: Mapping[str, Need], payload: Mass, limits: Mapping[str, Any]
) -> tuple[Finding, ...]:
    """Checks of the yard list, once stones are measured."""
    if not result.stones:
        return ()
    names = {name: stone.name for name, stone in result.stones.items()}
    left = {name: names[name] for name in found.left_over}
    changed = [names[name] for name in names if name in found.changed]
    unkept = len(result.keep) - len(changed)
    findings = [
        checks.check_left(left, found.left_over, limits),
        checks.check_changed(changed, unkept, result.keep, limits),
    ]
    if falls := list(dict.fromkeys(need.spot.fall for need in needs.values() if need.spot.fall)):
        findings.append(_missing(falls, result, needs, limits))
    findings.extend(
        checks.check_truck(load.name, load.stones, load.mass, load.payload, limits)
        for load in result.trucks.values()
    )
    findings.extend(
        checks.check_heavy(names[trip[0]], trip[0], result.stones[trip[0]].mass, payload, limits)
        for trip in result.trips
        if result.stones[trip[0]].mass > payload
    )
    return tuple(findings)


def _missing(
    falls: Sequence[str], result: YardResult, needs: Mapping[str, Need], limits: Mapping[str, Any]
) -> Finding:
    """Check of the stones of all falls that are not chosen yet."""
    told, missing = [], 0
    for fall in falls:
        mine = {key: place for key, place in result.places.items() if needs[key].spot.fall == fall}
        what = [
            f"{place.missing} {place.role} {'stone' if place.missing == 1 else 'stones'}"
            for place in mine.values()
            if place.missing > 0
        ]
        missing += sum(max(place.missing, 0) for place in mine.values())
        if what:
            told.append(f"{needs[next(iter(mine))].of}: {', '.join(what)}")
    return checks.check_missing([f"stone.falls.{fall}" for fall in falls], missing, told, limits)
