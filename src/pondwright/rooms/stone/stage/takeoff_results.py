"""What the takeoff of stone tells: lines, classes, bodies, falls, and where the stone stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.kinds import (
    AREA,
    BULK_MASS,
    COUNT,
    LENGTH,
    MASS,
    SOIL_VOLUME,
    Area,
    Density,
    Elevation,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Mass,
    Slope,
    Volume,
)
from pondwright.rooms.stone.courses import counted, stones_along
from pondwright.rooms.stone.fall_stone import backing_mass
from pondwright.rooms.stone.layers import layer_mass
from pondwright.rooms.stone.on_hand import stand_ins
from pondwright.rooms.stone.pieces import mean_mass
from pondwright.rooms.stone.stage.ground import BodyGround

TREATED = ("stone.treatments", "stone.classes", "shape.shore.bodies.*.length")
PLACED = (*TREATED, "stone.falls", "build_up")
BOUGHT = (*PLACED, "stone.pieces", "stone.piles")


@dataclass(frozen=True, slots=True)
class StoneLine:
    """One line of the takeoff: one class of stone at one place.

    Attributes
    ----------
    source : str            `treatment`, `default`, `build_up` or `fall`.
    row : str               Id of the treatment, build-up or fall; empty by default.
    use : str               `course`, `cobble`, `gravel`, `spill`, `face`, `frame`, `wing` or `backing`.
    stone : str             Key of the class.
    body, bank : str        The body, and the stretch of its shore; empty is its bank all round.
    zone, course : int      Zone of the bank, course from the shore inward; none where there is none.
    length : Length         Of the course. [m]
    area : Area             True area of the cover. [m²]
    thickness : Length      Of the cover. [m]
    count : int             Stones.
    mass : Mass             [kg]
    volume : Volume         Loose, with its voids. [m³]

    What is there already (a row with the status existing or keep) has lines, and is in no class.
    """

    source: str
    row: str
    use: str
    stone: str
    body: str
    bank: str = ""
    zone: int | None = None
    course: int | None = None
    length: Length = 0.0
    area: Area = 0.0
    thickness: Length = 0.0
    count: int = 0
    mass: Mass = 0.0
    volume: Volume = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Stone of a cover that stands above the finish: depth of its foot strip by strip, and its solid.

    Attributes
    ----------
    feet : (n,) array       Below the water. [m]
    thickness : Length      [m]
    solid : Volume          Without voids. [m³]
    """

    feet: Lengths
    thickness: Length
    solid: Volume


@dataclass(frozen=True, slots=True, eq=False)
class CourseRun:
    """One row of stones along one kind of bank, before one step.

    Attributes
    ----------
    row, bank : str                 The treatment (empty by default), the stretch of the shore.
    course, rows : int              Its number from the shore inward, and how many lie on one another.
    offset, riser : Length          Inward from the shore, and the drop of the step that it hides. [m]
    foot : Elevation                Ground on which it stands. [m]
    height, least : Length          Of its stones on average, and of its smallest. [m]
    hidden : bool                   Whether its smallest stone hides the step.
    classes : (key, share) pairs    By length.
    counts : tuple of int           Stones of each class.
    length : Length                 [m]
    points, inward : (n, 2) arrays  Middles of short pieces of its line, and which way the water lies. [m]
    lengths : (n,) array            Of those pieces. [m]
    """

    row: str
    bank: str
    course: int
    rows: int
    offset: Length
    riser: Length
    foot: Elevation
    height: Length
    least: Length
    hidden: bool
    classes: tuple[tuple[str, float], ...]
    counts: tuple[int, ...]
    length: Length
    points: Lengths
    inward: FloatArray
    lengths: Lengths


@dataclass(frozen=True, slots=True, eq=False)
class StoneTop:
    """Where stone stands along the shore, by short pieces of all rings; NaN where none does.

    Attributes
    ----------
    ring : (n,) int array                Number of the ring; 0 is the outer shore.
    station : (n,) array                 From the ring's first point. [m]
    points : (n, 2) array                Middles of the pieces. [m]
    water, top, least : (n,) arrays      Water at rest, top of the stone on average, of the smallest. [m]
    riser : (n,) array                   Drop of the step at the shore. [m]
    hidden : (n,) bool array             Whether every step of the bank there is hidden.
    """

    ring: NDArray[np.intp]
    station: Lengths
    points: Lengths
    water: Elevations
    top: Elevations
    least: Elevations
    riser: Lengths
    hidden: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class ClassTotal:
    """One class over the whole job; `told` is false for one that the tool took by default."""

    low: Length
    high: Length
    shape: str
    solid: Density
    told: bool
    stone_mass: Mass = figure(MASS, "Mass of one stone, on average", by=mean_mass, uses=("stone.classes",))
    heaviest: Mass = figure(MASS, "Mass of its largest stone", by=mean_mass, uses=("stone.classes",))
    count: int = figure(COUNT, "Stones set one by one", by=counted, uses=PLACED)
    mass: Mass = figure(BULK_MASS, "Stone that is placed", uses=PLACED)
    volume: Volume = figure(SOIL_VOLUME, "The same, loose", uses=PLACED)
    on_hand_count: int = figure(COUNT, "Stones of it on hand or ordered", by=stand_ins, uses=BOUGHT)
    on_hand: Mass = figure(BULK_MASS, "Stone of it on hand or ordered", by=stand_ins, uses=BOUGHT)
    buy_count: int = figure(COUNT, "Stones to buy, with waste", uses=BOUGHT)
    buy: Mass = figure(BULK_MASS, "Stone to buy, with waste", uses=BOUGHT)
    buy_volume: Volume = figure(SOIL_VOLUME, "Stone to buy, loose", uses=BOUGHT)


@dataclass(frozen=True, slots=True)
class TreatmentStone:
    """Stone of one treatment."""

    count: int = figure(COUNT, "Stones set one by one", by=stones_along, uses=TREATED)
    mass: Mass = figure(BULK_MASS, "Its stone", by=layer_mass, uses=TREATED)
    length: Length = figure(LENGTH, "Length of all its courses", uses=TREATED)
    area: Area = figure(AREA, "True area that it covers", uses=TREATED)


@dataclass(frozen=True, slots=True)
class ZoneStone:
    """One zone of a bank, all kinds of bank of a body together; `thickness` is that of its covers. [m]

    `slope` is the steepest of them, upright for one level. [m/m]
    """

    thickness: Length
    slope: Slope
    area: Area = figure(AREA, "True area of the zone", uses=("shape.shore.bodies.*.length",))
    mass: Mass = figure(BULK_MASS, "Cobble and gravel on it", by=layer_mass, uses=PLACED)


@dataclass(frozen=True, slots=True, eq=False)
class BodyStone:
    """Stone of one body, and where it stands: `ground` has its shore in pieces and the nodes nearest to each.

    `standing` are covers above the finish; `depths` has the foot of each run below the water [m], its height
    [m] and its solid [m³]; `voids` is the water in gravel below the finish. [m³]
    """

    ground: BodyGround
    runs: tuple[CourseRun, ...]
    top: StoneTop
    zones: Mapping[str, ZoneStone]
    standing: tuple[Standing, ...]
    depths: tuple[tuple[Length, Length, Volume], ...]
    voids: Volume
    count: int = figure(COUNT, "Stones set one by one", uses=PLACED)
    mass: Mass = figure(BULK_MASS, "Stone of the body", uses=PLACED)
    edge_length: Length = figure(LENGTH, "Shore with stone", uses=TREATED)
    edge_mass: Mass = figure(BULK_MASS, "Stone of the courses on a metre of that shore", uses=TREATED)


@dataclass(frozen=True, slots=True)
class FallTotal:
    """Stone of one fall: its drop [m], and how many stones spill, face, frame and wing it."""

    drop: Length
    spill: int
    face: int
    frame: int
    wings: int
    mass: Mass = figure(BULK_MASS, "Stone of the fall", uses=("stone.falls", "stone.classes"))
    backing: Mass = figure(BULK_MASS, "Stone behind it", by=backing_mass, uses=("stone.falls",))


@dataclass(frozen=True, slots=True, eq=False)
class TakeoffResult:
    """Stone of the whole job.

    `pieces` has the class that each measured piece on hand or ordered stands in for, empty where it is left
    over; `piles` what is used of each pile. [kg]
    """

    lines: tuple[StoneLine, ...]
    classes: Mapping[str, ClassTotal]
    treatments: Mapping[str, TreatmentStone]
    bodies: Mapping[str, BodyStone]
    falls: Mapping[str, FallTotal]
    pieces: Mapping[str, str]
    piles: Mapping[str, Mass]
    count: int = figure(COUNT, "Stones set one by one", by=counted, uses=PLACED)
    mass: Mass = figure(BULK_MASS, "All stone that is placed", uses=("stone.takeoff.classes.*.mass",))
    on_hand: Mass = figure(
        BULK_MASS, "Of it on hand or ordered", by=stand_ins, uses=("stone.takeoff.classes.*.on_hand",)
    )
    buy: Mass = figure(BULK_MASS, "Stone to buy, with waste", uses=("stone.takeoff.classes.*.buy",))
    spare: Mass = figure(BULK_MASS, "Stone on hand that no place takes", by=stand_ins, uses=BOUGHT)
