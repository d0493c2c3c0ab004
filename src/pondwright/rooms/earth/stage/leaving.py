"""What stays in piles, what leaves the site and what is brought, with its truck loads: one count for all."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.kinds import Angle, Density, Length, Lengths, Ratio, Time, Volume
from pondwright.job.curves import ring_of
from pondwright.job.earth import OffSite, Pile
from pondwright.job.earth import Truck as TruckRow
from pondwright.job.fields import value_of
from pondwright.job.places import PointPlace
from pondwright.rooms.earth.cutfill import Moved
from pondwright.rooms.earth.haul import MUCK, OFF_SITE, PILE, SOIL, STREAMS, TOPSOIL
from pondwright.rooms.earth.leaving import Taker, dealt, loads_of, resolution
from pondwright.rooms.earth.machines import TRUCK_SPEED, truck_of, truck_time
from pondwright.rooms.earth.piles import pile_capacity
from pondwright.rooms.earth.states import STANDARD_TRUCK, SoilStates, Truck

LEAST_ANGLE: Angle = math.radians(1.0)
"""Angle of soil that runs: a pile of it needs some. [rad]"""


@dataclass(frozen=True, slots=True)
class Sites:
    """Rows of the job that take, give and haul soil."""

    piles: Mapping[str, Pile]
    off_site: Mapping[str, OffSite]
    trucks: Mapping[str, TruckRow]


@dataclass(frozen=True, slots=True)
class Stream:
    """Soil of one stream that is not placed: how much, in the bank, and how it is when loose."""

    volume: Volume
    bulking: Ratio
    density: Density
    angle: Angle


@dataclass(frozen=True, slots=True)
class PileRoom:
    """A pile as this job's soil fills it: the angle at which it stands, and its room in the bank."""

    angle: Angle
    room: Volume


@dataclass(frozen=True, slots=True)
class GateShare:
    """What goes through a gate, by stream in the bank, in which truck, in how many loads."""

    volumes: Mapping[str, Volume]
    truck: Truck
    loads: int
    by_scale: bool


@dataclass(frozen=True, slots=True)
class Leaving:
    """What becomes of soil that is not placed, and where soil that is missing comes from.

    All in the bank.  `loads` counts all that leaves the site or is brought; soil for fill that no gate is
    named for is counted in the first truck of the job.
    """

    streams: Mapping[str, Stream]
    rooms: Mapping[str, PileRoom]
    gates: Mapping[str, GateShare]
    homeless: Mapping[str, Volume]
    short: Volume
    leaves: Volume
    brought: Volume
    loads: int

    @property
    def others_leave(self) -> Volume:
        """Topsoil and muck that go through a gate, for no pile has room for them. [m³]"""
        gone = [gate.volumes for gate in self.gates.values()]
        return sum(volume for each in gone for stream, volume in each.items() if stream != SOIL)


def sites_of(view: Mapping[str, Any]) -> Sites:
    """Rows of a job that take, give and haul soil.

    Parameters
    ----------
    view : mapping     Has `earth.piles`, `earth.off_site` and `earth.trucks`.

    Returns
    -------
    Sites
    """
    return Sites(view["earth.piles"], view["earth.off_site"], view["earth.trucks"])


def resolution_of(grading: Any) -> Volume:
    """Volume up to which nothing is left over or missing: a millimetre over the bed of all water. [m³]"""
    return resolution(sum(body.wetted_area for body in grading.bodies.values()))


def leaving_of(
    moved: Moved, states: Mapping[str, SoilStates], left: Volume, mix: SoilStates, sites: Sites, fine: Volume
) -> Leaving:
    """What stays, what leaves and what is brought.

    Parameters
    ----------
    moved : Moved
    states : SoilStates by kind
    left : Volume               Soil for fill that is left over, in the bank; below zero it is missing. [m³]
    mix : SoilStates            Of that soil.
    sites : Sites
    fine : Volume               Volume up to which nothing is left over or missing. [m³], >= 0

    Returns
    -------
    Leaving
    """
    left = left if abs(left) > fine else 0.0
    streams = _streams(moved, states, left, mix)
    rooms = _rooms(streams, sites)
    takers = [
        Taker(_end(PILE, name), PILE, takes_of(row.takes), rooms[name].room)
        for name, row in sites.piles.items()
    ]
    out = dealt(
        {name: stream.volume for name, stream in streams.items()},
        [*takers, *_gates("export", streams, sites)],
    )
    into = dealt({SOIL: max(-left, 0.0)}, _gates("import", streams, sites))
    gates = {name: _share(name, {**out, **into}, streams, sites, fine) for name in sites.off_site}
    homeless = {
        stream: max(each.volume - sum(volume for (_, of), volume in out.items() if of == stream), 0.0)
        for stream, each in streams.items()
    }
    brought = max(-left, 0.0)
    short = max(brought - sum(into.values()), 0.0)
    through = sum(volume for (name, _), volume in out.items() if name.startswith(OFF_SITE))
    first = next((truck_in(row) for row in sites.trucks.values()), STANDARD_TRUCK)
    unnamed = loads_of(homeless[SOIL] + short, streams[SOIL].bulking, streams[SOIL].density, first, fine)[0]
    return Leaving(
        streams=MappingProxyType(streams),
        rooms=MappingProxyType(rooms),
        gates=MappingProxyType(gates),
        homeless=MappingProxyType(homeless),
        short=short,
        leaves=through + homeless[SOIL],
        brought=brought,
        loads=unnamed + sum(gate.loads for gate in gates.values()),
    )


def stream_of(kind: str) -> str:
    """Stream that a kind of soil goes with: topsoil and muck by themselves, the rest is soil for fill."""
    return kind if kind in (TOPSOIL, MUCK) else SOIL


def takes_of(word: str) -> frozenset[str]:
    """Streams that a row takes by its word."""
    return frozenset(STREAMS) if word == "any" else frozenset((word,))


def truck_in(row: TruckRow) -> Truck:
    """Truck of a row: what it may carry is told, or is what the law leaves."""
    return truck_of(row.box, row.payload, row.axles, value_of(row, "spread"), value_of(row, "tare"))


def truck_at(place: OffSite, trucks: Mapping[str, TruckRow]) -> tuple[Truck, float]:
    """Truck that hauls for a gate, and its mean speed on the road. [m/s]"""
    row = trucks.get(place.truck) if place.truck else None
    if row is None:
        return STANDARD_TRUCK, TRUCK_SPEED
    return truck_in(row), TRUCK_SPEED if row.speed is None else row.speed


def ring_at(pile: Pile) -> Lengths | None:
    """Foot that was drawn for a pile; none for one at a point."""
    return None if isinstance(pile.place, PointPlace) else ring_of(pile.place.curve).points


def _streams(
    moved: Moved, states: Mapping[str, SoilStates], left: Volume, mix: SoilStates
) -> dict[str, Stream]:
    """Streams that have to go somewhere: topsoil and muck all, of soil for fill what is left over."""
    found = {}
    for stream in STREAMS:
        dug = {
            kind: moved.dug[kind] + moved.stripped.get(kind, 0.0)
            for kind in moved.dug
            if stream_of(kind) == stream
        }
        kinds = {kind: states[kind] for kind, volume in dug.items() if volume > 0.0}
        angle = max(min((each.angle for each in kinds.values()), default=mix.angle), LEAST_ANGLE)
        if stream == SOIL:
            found[stream] = Stream(max(left, 0.0), mix.bulking, mix.bank_density, angle)
            continue
        # A stream has one kind but for soil.
        one = next(iter(kinds.values()), mix)
        found[stream] = Stream(sum(dug.values()), one.bulking, one.bank_density, angle)
    return found


def _rooms(streams: Mapping[str, Stream], sites: Sites) -> dict[str, PileRoom]:
    """Piles as the soil that comes to them fills them: one for any soil takes what the others leave."""
    rooms: dict[str, PileRoom] = {}
    over = dict.fromkeys(streams, 0.0)
    for stream, each in streams.items():
        own = {name: row for name, row in sites.piles.items() if row.takes == stream}
        rooms |= {name: _room(row, [each]) for name, row in own.items()}
        tips = [row for row in sites.off_site.values() if (row.way, row.takes) == ("export", MUCK)]
        if stream == MUCK and any(row.most is None for row in tips):
            continue
        over[stream] = each.volume - sum(rooms[name].room for name in own)
    comes = [streams[name] for name, volume in over.items() if volume > 0.0]
    for name, row in sites.piles.items():
        if row.takes == "any":
            rooms[name] = _room(row, comes or [streams[SOIL]])
    return {name: rooms[name] for name in sites.piles}


def _room(row: Pile, comes: Sequence[Stream]) -> PileRoom:
    """Room of a pile for soil that may come to it: that of the loosest, at the flattest angle."""
    angle = row.angle if row.angle is not None else min(each.angle for each in comes)
    ring = ring_at(row)
    if ring is None:
        return PileRoom(angle, math.inf)
    inside = _capacity(ring.tobytes(), angle, value_of(row, "most_height"))
    return PileRoom(angle, inside / max(each.bulking for each in comes))


@lru_cache(maxsize=256)
def _capacity(ring: bytes, angle: Angle, most_height: Length) -> Volume:
    """Soil that a ring holds, loose: piles rest while a shore is dragged."""
    return pile_capacity(np.frombuffer(ring).reshape(-1, 2), angle, most_height)


def _gates(way: str, streams: Mapping[str, Stream], sites: Sites) -> list[Taker]:
    """Gates of one way, each with its room in the bank and the truck time of a cubic metre."""
    found = []
    for name, row in sites.off_site.items():
        takes = takes_of(row.takes) if way == "export" else takes_of(row.takes) & {SOIL}
        if row.way != way or not takes:
            continue
        loosest = max(streams[stream].bulking for stream in takes)
        room = math.inf if row.most is None else row.most / loosest
        time = max(_truck_time(row, streams[stream], sites) for stream in takes)
        found.append(Taker(_end(OFF_SITE, name), OFF_SITE, takes, room, time))
    return found


def _truck_time(row: OffSite, stream: Stream, sites: Sites) -> Time:
    truck, speed = truck_at(row, sites.trucks)
    return truck_time(row.distance, stream.bulking, stream.density, truck.box, truck.payload, speed)


def _share(
    name: str,
    found: Mapping[tuple[str, str], Volume],
    streams: Mapping[str, Stream],
    sites: Sites,
    fine: Volume,
) -> GateShare:
    """What goes through a gate, with its loads: by all of its volume and mass together."""
    volumes = {of: volume for (end, of), volume in found.items() if end == _end(OFF_SITE, name)}
    truck = truck_at(sites.off_site[name], sites.trucks)[0]
    whole = sum(volumes.values())
    if whole <= 0.0:
        return GateShare(MappingProxyType(volumes), truck, 0, False)
    bulking = sum(streams[of].bulking * volume for of, volume in volumes.items()) / whole
    density = sum(streams[of].density * volume for of, volume in volumes.items()) / whole
    return GateShare(MappingProxyType(volumes), truck, *loads_of(whole, bulking, density, truck, fine))


def _end(kind: str, name: str) -> str:
    """Name of a pile or gate as the haul plan has it."""
    return f"{kind} {name}"
