"""The liner's edge all round: the results of the stage of the rim.

See Also
--------
pondwright.rooms.lining.stage.rim : makes them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.kinds import (
    ANGLE,
    AREA,
    ELEVATION,
    FORCE,
    LENGTH,
    RATIO,
    SLOPE,
    TIME,
    VOLUME,
    Angle,
    Area,
    Elevation,
    Elevations,
    Force,
    Length,
    Lengths,
    Ratio,
    Slope,
    Time,
    Volume,
)
from pondwright.geometry.polygon import line_length
from pondwright.rooms.lining.anchor import (
    anchor_capacity,
    cover_safety,
    interface_friction,
    long_slope_safety,
)
from pondwright.rooms.lining.band import band_seen, seen_length
from pondwright.rooms.lining.edge import bank_band, edge_level, low_places, needed_reach
from pondwright.rooms.lining.filling import allowed_drop, detected_leak, first_shelf, leak
from pondwright.rooms.lining.guards import guard_area

PlanPoint = tuple[Length, Length]

EDGES = ("lining.edges", "shape.shore.bodies.*.level", "shape.grading.z")
BANK = ("shape.bodies.*.bank_type", "shape.bank_types", "shape.bodies.*.stretches")
FALL = ("shape.bodies.*.low_level", "shape.shore.bodies.*.level", *BANK)


@dataclass(frozen=True, slots=True)
class Low:
    """A place where the edge lies lower than wanted: named, and where. Lengths in [m].

    `drawn` is true where it is drawn too low for its ground, false where the ground lets it down.
    """

    place: str
    point: PlanPoint
    lack: Length
    over_water: Length
    length: Length
    drawn: bool


@dataclass(frozen=True, slots=True)
class BuiltShot:
    """A shot on the built edge, and how far it is out of tolerance: below 0 too low. [m]"""

    place: str
    point: PlanPoint
    wanted: Elevation
    built: Elevation
    off: Length


@dataclass(frozen=True, slots=True, eq=False)
class EdgeStretch:
    """How the liner ends along one stretch of the shore; `lines` are the parts of it, (n, 2) [m]."""

    detail: Literal["upturn", "anchor", "wall"]
    capillary_break: bool
    lines: tuple[Lengths, ...]
    length: Length = figure(LENGTH, "Length of this edge", uses=("lining.edges.*.place",))
    height: Length = figure(
        LENGTH, "Height of the edge above the full water", uses=("lining.edges.*.height",)
    )
    upturn: Length = figure(
        LENGTH, "Turned up behind the stone, or laid in the trench", uses=("lining.edges.*.upturn",)
    )
    reach: Length = figure(
        LENGTH, "Liner that it needs beyond the shore", by=needed_reach, uses=("lining.edges.*.height",)
    )


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Liner that lies dry between the full and the lowest planned water.

    `points` along its middle, (n, 2) [m], and `seen` are for every station of the outer shore; `bare_at` is
    how much of its width nothing covers there. [m]
    """

    upper: Elevation
    lower: Elevation
    points: Lengths
    bare_at: Lengths
    seen: NDArray[np.bool_]
    height: Length = figure(LENGTH, "How far the water falls", uses=FALL)
    width: Length = figure(LENGTH, "Widest that it lies dry along the bank", by=bank_band, uses=FALL)
    length: Length = figure(LENGTH, "Shore along which it lies dry", uses=FALL)
    area: Area = figure(AREA, "Bank that lies dry", by=bank_band, uses=FALL)
    bare: Area = figure(
        AREA,
        "Of that, liner that no stone or gravel covers",
        by=bank_band,
        uses=(*FALL, "build_up", "stone.treatments"),
    )


@dataclass(frozen=True, slots=True)
class BandView:
    """Bare liner as it is seen from one seat, or from anywhere on one path."""

    kind: Literal["seat", "path"]
    length: Length = figure(
        LENGTH, "Shore along which bare liner is seen", by=seen_length, uses=("shape.grading.z", *FALL)
    )
    share: Ratio = figure(
        RATIO, "Share of the shore along which it is seen", by=band_seen, uses=("shape.grading.z", *FALL)
    )


@dataclass(frozen=True, slots=True)
class AnchorResult:
    """An anchor trench, on one metre of edge."""

    trench: Length = figure(LENGTH, "Depth of the trench", uses=("lining.edges.*.upturn",))
    capacity: Force = figure(
        FORCE,
        "Pull on one metre at which the liner slips",
        by=anchor_capacity,
        uses=("lining.edges.*.upturn",),
    )
    strength: Force | None = figure(
        FORCE, "Pull on one metre at which it tears", uses=("lining.liners.*.membrane", "catalogue")
    )


@dataclass(frozen=True, slots=True)
class SlopeHold:
    """A covered slope of a bank, its place in words; no safety with its toe where that alone holds it."""

    zone: int
    place: str
    slope: Slope = figure(SLOPE, "Slope below the cover, level for one upright", uses=BANK)
    thickness: Length = figure(LENGTH, "Thickness of the cover", uses=("build_up",))
    length: Length = figure(LENGTH, "Length of the slope", uses=BANK)
    friction: Angle = figure(
        ANGLE, "Friction of the weakest face", by=interface_friction, uses=("catalogue", "build_up")
    )
    safety: Ratio = figure(
        RATIO, "Safety against sliding without its toe", by=long_slope_safety, uses=(*BANK, "build_up")
    )
    safety_toe: Ratio | None = figure(
        RATIO, "Safety against sliding, its toe counted", by=cover_safety, uses=(*BANK, "build_up")
    )


@dataclass(frozen=True, slots=True)
class WaterTest:
    """The water test of the bare liner: what to do, one sentence each, in order."""

    steps: tuple[str, ...]
    level: Elevation = figure(ELEVATION, "Fill the bare liner to this level", by=first_shelf, uses=BANK)
    depth: Length = figure(LENGTH, "That is below the full water", by=first_shelf, uses=BANK)
    volume: Volume = figure(
        VOLUME, "Water that the test takes", uses=("shape.storage.bodies.*.volume", *BANK)
    )
    hours: Time = figure(TIME, "Watch it for", uses=("rules",))
    evaporation: Length = figure(LENGTH, "Of its fall the air takes about", by=allowed_drop, uses=("rules",))
    allowed: Length = figure(
        LENGTH, "A fall of no more than this is no leak", by=allowed_drop, uses=("rules",)
    )
    detects: Volume = figure(VOLUME, "Smallest leak that it tells, in a day", by=detected_leak, uses=BANK)
    leak: Volume | None = figure(VOLUME, "Leak that the last test told, in a day", by=leak, uses=BANK)


@dataclass(frozen=True, slots=True, eq=False)
class BodyRim:
    """The liner's edge round one body: arrays over its stations, outer shore first, then islands.

    `edge` is where the liner ends, `wanted` where it is drawn, `ground` the highest ground that it can lie
    on, all [m]; `detail` is a word for each station: `joined` is where another water's liner goes on. `ring`
    is the number of the ring, `station` [m] runs along each of them from its first peg.
    """

    liner: str
    points: Lengths
    station: Lengths
    ring: NDArray[np.int64]
    edge: Elevations
    wanted: Elevations
    ground: Elevations
    detail: tuple[str, ...]
    lows: tuple[Low, ...]
    built: tuple[BuiltShot, ...]
    stretches: Mapping[str, EdgeStretch]
    band: Band | None
    views: Mapping[str, BandView]
    anchor: Mapping[str, AnchorResult]
    slopes: tuple[SlopeHold, ...]
    test: WaterTest | None
    length: Length = figure(LENGTH, "Length of the liner's edge", uses=("shape.shore.bodies.*.length",))
    edge_low: Elevation = figure(ELEVATION, "Lowest place of the liner's edge", by=edge_level, uses=EDGES)
    lack: Length = figure(LENGTH, "How far it lies lower than wanted", by=low_places, uses=EDGES)
    no_break: Length = figure(
        LENGTH, "Shore along which the lawn wicks water out", uses=("lining.edges.*.capillary_break",)
    )


@dataclass(frozen=True, slots=True, eq=False)
class GuardResult:
    """A guard against roots or burrows, along its line, (n, 2) [m]."""

    kind: Literal["root", "burrow"]
    line: Lengths
    length: Length = figure(LENGTH, "Length of the guard", by=line_length, uses=("lining.guards.*.place",))
    depth: Length = figure(LENGTH, "How deep it reaches", uses=("lining.guards.*.depth",))
    area: Area = figure(
        AREA, "Sheet or mesh for it", by=guard_area, uses=("lining.guards.*.place", "lining.guards.*.depth")
    )


@dataclass(frozen=True, slots=True, eq=False)
class RimResult:
    """The liner's edge of all waters, and guards."""

    bodies: Mapping[str, BodyRim]
    guards: Mapping[str, GuardResult]
    length: Length = figure(LENGTH, "Length of all edges", uses=("lining.rim.bodies.*.length",))
    low_length: Length = figure(LENGTH, "Edge that lies lower than wanted", by=low_places, uses=EDGES)
