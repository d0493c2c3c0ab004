"""What ``pondwright stone`` prints: classes, where stone lies, loads, the yard list, falls, and lifting."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, BULK_MASS, LENGTH, MASS, VOLUME
from pondwright.base.units import Shown
from pondwright.cli.tables import NONE, print_room, table, words


def print_stone(
    results: Mapping[str, Any], findings: Sequence[Finding], shown: Shown, *, as_json: bool
) -> None:
    """Print the stone of a job.

    Parameters
    ----------
    results : mapping
        Results of the stone's stages by name; those that are not there are left out.
    findings : sequence of Finding
        Checks of all of them.
    shown : Shown
        Units of the job.
    as_json : bool
    """
    takeoff, yard = results.get("stone.takeoff"), results.get("stone.yard")
    setting, net = results.get("stone.setting"), results.get("stone.net_storage")
    blocks = []
    if takeoff is not None:
        blocks += [_classes(takeoff, yard, shown), _lines(takeoff, shown), _falls(takeoff, shown)]
    if yard is not None:
        blocks += [_yard(yard, shown), _wanted(yard), _trucks(yard, shown)]
    if setting is not None:
        blocks.append(_setting(setting, shown))
    if net is not None and net.bodies:
        blocks.append(_storage(net, shown))
    print_room("stone", results, blocks, findings, as_json=as_json)


def _classes(takeoff: Any, yard: Any, shown: Shown) -> Iterator[str]:
    if not takeoff.classes:
        yield "No stone is asked for yet."
        return
    yield "stone by class"
    loads = {} if yard is None else {key: each.loads for key, each in yard.classes.items()}
    rows = [
        (
            name,
            *words(shown, (one.low, LENGTH), (one.high, LENGTH)),
            _count(one.count),
            *words(shown, (one.mass, BULK_MASS), (one.on_hand, BULK_MASS)),
            _count(one.buy_count),
            *words(shown, (one.buy, BULK_MASS)),
            _count(loads.get(name, 0)),
        )
        for name, one in takeoff.classes.items()
    ]
    all_told = words(shown, (takeoff.mass, BULK_MASS), (takeoff.on_hand, BULK_MASS), (takeoff.buy, BULK_MASS))
    total = 0 if yard is None else yard.loads
    rows.append(
        ("all", "", "", _count(takeoff.count), *all_told[:2], "", all_told[2], _count(total)),
    )
    head = ("class", "smallest", "largest", "pieces", "placed", "on hand", "buy", "", "loads")
    yield table(head, rows, 1)


def _lines(takeoff: Any, shown: Shown) -> Iterator[str]:
    rows = [
        (
            name,
            *words(shown, (one.length or None, LENGTH), (one.area or None, AREA)),
            _count(one.count),
            *words(shown, (one.mass, BULK_MASS)),
        )
        for name, one in takeoff.treatments.items()
        if one.mass > 0.0
    ]
    if rows:
        yield "where it lies"
        yield table(("treatment", "length", "area", "pieces", "placed"), rows, 1)


def _falls(takeoff: Any, shown: Shown) -> Iterator[str]:
    if takeoff.falls:
        yield "falls"
        rows = [
            (
                name,
                *words(shown, (fall.drop, LENGTH)),
                *map(_count, (fall.spill, fall.frame, fall.face, fall.wings)),
                *words(shown, (fall.mass, BULK_MASS)),
            )
            for name, fall in takeoff.falls.items()
        ]
        yield table(("fall", "drop", "spill", "frame", "face", "wings", "placed"), rows, 1)


def _yard(yard: Any, shown: Shown) -> Iterator[str]:
    if not yard.stones:
        return
    yield f"yard list: {yard.placed} of {len(yard.stones)} stones have a place"
    rows = [
        (
            stone.name,
            *words(shown, (stone.mass, MASS)),
            str(stone.order) if stone.order else NONE,
            stone.says + (" (changed)" if stone.changed else ""),
        )
        for stone in sorted(yard.stones.values(), key=lambda one: (one.order == 0, one.order))
    ]
    yield table(("stone", "mass", "set", "place"), rows, 1, until=3)


def _wanted(yard: Any) -> Iterator[str]:
    rows = [
        (place.says, str(place.needed), str(place.dealt), str(place.missing))
        for place in yard.places.values()
        if place.source.startswith("stone.falls.") and place.missing > 0
    ]
    if rows:
        yield "still to find for the falls"
        yield table(("place", "needs", "has", "lacks"), rows, 1)


def _trucks(yard: Any, shown: Shown) -> Iterator[str]:
    if yard.trucks:
        yield "trucks with measured stones"
        rows = [
            (load.name, str(len(load.stones)), *words(shown, (load.mass, MASS), (load.payload, MASS)))
            for load in yard.trucks.values()
        ]
        yield table(("truck", "stones", "on it", "may carry"), rows, 1)


def _setting(setting: Any, shown: Shown) -> Iterator[str]:
    if not setting.places:
        return
    yield "lifting, the heaviest of each place, wet"
    rows = [
        (
            place.says,
            *words(
                shown,
                (place.mass, MASS),
                (place.radius, LENGTH),
                (place.capacity, MASS),
            ),
            f"{100.0 * place.share:.0f} %",
            place.lifter or "no machine told",
        )
        for place in setting.places.values()
    ]
    yield table(("place", "lift", "radius", "may lift", "in reach", "machine"), rows, 1, until=5)


def _storage(net: Any, shown: Shown) -> Iterator[str]:
    yield "water, with stone in it"
    rows = [
        (name, *words(shown, (one.gross, VOLUME), (one.displaced, VOLUME), (one.volume, VOLUME)))
        for name, one in net.bodies.items()
    ]
    yield table(("body", "without stone", "stone takes", "is left"), rows, 1)


def _count(number: int) -> str:
    return str(number) if number else NONE
