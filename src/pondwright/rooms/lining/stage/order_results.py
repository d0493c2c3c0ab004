"""What is ordered of each liner, and how it is laid: the results of the stage of the order.

See Also
--------
pondwright.rooms.lining.stage.order : makes them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from pondwright.base.figures import figure
from pondwright.base.kinds import (
    AREA,
    AREAL_MASS,
    COUNT,
    FORCE,
    LENGTH,
    MASS,
    PRESSURE,
    SPEED,
    TEMPERATURE,
    Angle,
    Area,
    ArealMass,
    Force,
    Length,
    Lengths,
    Mass,
    Pressure,
    Speed,
    Temperature,
)
from pondwright.rooms.lining import materials, weight
from pondwright.rooms.lining.cushion import allowed_pressure, cover_pressure, needed_fabric
from pondwright.rooms.lining.offcuts import leftovers
from pondwright.rooms.lining.seams import dig_margin, first_fit, ordered_length, reuse, seam_strength
from pondwright.rooms.lining.tapes import Verdict, length_over_ground

PlanPoint = tuple[Length, Length]
Form = Literal["one", "parts", "rolls"]
JointKind = Literal["roll", "end", "narrow", "fall"]

LAYOUT = ("lining.layout.liners.*.length", "lining.layout.liners.*.width")
SIZE = (*LAYOUT, "lining.liners.*.ordered")
SHEET = ("lining.liners.*.membrane", "catalogue")
COVERS = ("build_up", "lining.liners.*.cushion_below", "lining.liners.*.cushion_above", "catalogue")


@dataclass(frozen=True, slots=True, eq=False)
class OrderPiece:
    """One piece as it is ordered and carried.

    `corners` is its picture on the plan, (4, 2) [m]; it lies over ground that slopes, so it is longer than it
    looks. `turned` is the direction of its length, anticlockwise from east [rad].
    """

    corners: Lengths
    turned: Angle
    place: PlanPoint
    length: Length = figure(LENGTH, "Length to order", by=ordered_length, uses=SIZE)
    width: Length = figure(LENGTH, "Width to order", by=ordered_length, uses=SIZE)
    needed_length: Length = figure(LENGTH, "Length by tapes over the ground", uses=LAYOUT)
    needed_width: Length = figure(LENGTH, "Width by tapes over the ground", uses=LAYOUT)
    area: Area = figure(AREA, "Area to order", uses=SIZE)
    mass: Mass = figure(MASS, "Mass of the piece", by=materials.membrane, uses=(*SIZE, *SHEET))
    bundle_length: Length = figure(LENGTH, "Length of the rolled bundle", by=weight.bundle_size, uses=SIZE)
    bundle_diameter: Length = figure(
        LENGTH, "Thickness of the rolled bundle", by=weight.bundle_size, uses=(*SIZE, *SHEET)
    )
    carriers: int = figure(COUNT, "People to carry it", by=weight.people_for, uses=(*SIZE, *SHEET))
    pullers: int = figure(
        COUNT, "People to pull it over the hole", by=weight.people_for, uses=(*SIZE, *SHEET)
    )


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """Where two pieces meet: `line` is (n, 2) [m] on the plan, `length` over the ground [m].

    `end` is where a strip is longer than a roll; at a `fall` the upper piece lies over the lower one.
    """

    kind: JointKind
    first: str
    second: str
    line: Lengths
    length: Length
    overlap: Length


@dataclass(frozen=True, slots=True)
class RollCut:
    """One roll, what is cut off it, in order, and what is left. [m]"""

    width: Length
    length: Length
    cuts: tuple[tuple[str, Length], ...]
    rest: Length


@dataclass(frozen=True, slots=True, eq=False)
class Hole:
    """Sheet over an island, cut out once the sheet has settled: its line (n, 2) [m], and its area [m²]."""

    body: str
    island: str
    line: Lengths
    area: Area


@dataclass(frozen=True, slots=True)
class BootOrder:
    """A pipe through the liner."""

    place: PlanPoint
    body: str | None
    item: str | None
    over: str
    diameter: Length = figure(LENGTH, "Diameter of the pipe", uses=("lining.penetrations.*.diameter",))
    depth: Length | None = figure(
        LENGTH,
        "How far the hole lies below the full water",
        uses=("lining.penetrations.*.place", "earth.subgrade.z", "shape.shore.bodies.*.level"),
    )
    collar: Length = figure(
        LENGTH, "Side of the piece of liner round it", uses=("lining.penetrations.*.diameter",)
    )
    way_over: Length | None = figure(
        LENGTH,
        "Pipe from there up and over the edge instead",
        uses=("lining.penetrations.*.place", "shape.shore.bodies.*.rings"),
    )


@dataclass(frozen=True, slots=True)
class PatchOrder:
    """A patch or a collar, and the leftover that it is cut from; none is that none is large enough."""

    place: PlanPoint | None
    cut_from: str | None
    size: Length = figure(LENGTH, "Its side", by=reuse, uses=("lining.patches.*.size",))


@dataclass(frozen=True, slots=True, eq=False)
class Offcut:
    """What is left of a piece or a roll: where it lies on the plan before it is cut, (4, 2) [m]."""

    piece: str
    corners: Lengths | None
    length: Length = figure(LENGTH, "Its length", by=leftovers, uses=SIZE)
    width: Length = figure(LENGTH, "Its width", by=leftovers, uses=SIZE)
    used: Area = figure(AREA, "Area that is used again", by=reuse, uses=("lining.patches.*.size",))


@dataclass(frozen=True, slots=True, eq=False)
class TapeResult:
    """A length to tape in the hole, or taped there: drawn in the job, or proposed.

    `verdict` is `not_taped`, `as_drawn`, `longer` within the margin, `tight`: folds have less, `short`: the
    liner does not reach, or `much_shorter`: the dig is not done.
    """

    liner: str
    name: str
    line: Lengths
    proposed: bool
    verdict: Verdict
    predicted: Length = figure(
        LENGTH,
        "Length over the ground as drawn",
        by=length_over_ground,
        uses=("lining.tapes.*.place", "earth.subgrade.z"),
    )
    taped: Length | None = figure(LENGTH, "Length as taped", uses=("lining.tapes.*.taped",))
    difference: Length | None = figure(
        LENGTH, "How much longer it is than drawn", by=length_over_ground, uses=("lining.tapes.*.taped",)
    )


@dataclass(frozen=True, slots=True, eq=False)
class PartPiece:
    """One of several pieces that a liner could be: its size by tapes over the ground [m], and its picture."""

    name: str
    length: Length
    width: Length
    turned: Angle
    corners: Lengths


@dataclass(frozen=True, slots=True, eq=False)
class Several:
    """What several pieces would be instead of one."""

    pieces: tuple[PartPiece, ...]
    joints: tuple[Joint, ...]
    area: Area = figure(AREA, "Area of several pieces as ordered", uses=SIZE)
    saved: Area = figure(AREA, "Liner that several pieces save", uses=SIZE)
    seams: Length = figure(LENGTH, "Length of their seams", uses=SIZE)


@dataclass(frozen=True, slots=True)
class CushionSide:
    """Fabric on one side of a liner, at the place of the body where most is asked of it."""

    body: str
    fabrics: tuple[str, ...]
    by_formula: bool
    needed: ArealMass = figure(AREAL_MASS, "Fabric that is needed", by=needed_fabric, uses=COVERS)
    has: ArealMass = figure(AREAL_MASS, "Fabric that the build-up has", uses=COVERS)
    pressure: Pressure = figure(PRESSURE, "Pressure on the liner", by=cover_pressure, uses=COVERS)
    allowed: Pressure | None = figure(
        PRESSURE, "Pressure that the fabric bears", by=allowed_pressure, uses=COVERS
    )
    protrusion: Length = figure(LENGTH, "How far stones stick out", uses=COVERS)


@dataclass(frozen=True, slots=True)
class CushionOrder:
    """Fabric below and above a liner; None where no stone lies on it."""

    below: CushionSide | None
    above: CushionSide | None
    area: Area = figure(
        AREA, "Fabric to order, its overlaps counted", uses=("lining.area.liners.*.area", *COVERS)
    )


@dataclass(frozen=True, slots=True, eq=False)
class LinerOrder:
    """What is ordered of one liner, and how it is laid."""

    bodies: tuple[str, ...]
    membrane: str | None
    material: str
    ordered: Literal["before", "after"]
    form: Form
    steps: tuple[str, ...]
    pieces: Mapping[str, OrderPiece]
    joints: tuple[Joint, ...]
    rolls: tuple[RollCut, ...]
    holes: tuple[Hole, ...]
    boots: Mapping[str, BootOrder]
    patches: Mapping[str, PatchOrder]
    offcuts: Mapping[str, Offcut]
    tapes: Mapping[str, TapeResult]
    several: Several | None
    cushion: CushionOrder
    ordered_area: Area = figure(AREA, "Area of the liner to order, by tapes over the ground", uses=SIZE)
    mass: Mass = figure(MASS, "Mass of the liner", by=materials.membrane, uses=(*SIZE, *SHEET))
    area_mass: ArealMass = figure(AREAL_MASS, "Mass of one square metre", by=materials.membrane, uses=SHEET)
    count: int = figure(COUNT, "Pieces to order", uses=SIZE)
    margin: Length = figure(
        LENGTH, "Added to the length for what the dig or the tape may be out", by=dig_margin, uses=SIZE
    )
    folds: Length = figure(LENGTH, "Added to the length for what folds eat", uses=LAYOUT)
    spare: Length = figure(LENGTH, "Liner at each end beyond what tapes tell", by=ordered_length, uses=SIZE)
    seams: Length = figure(
        LENGTH, "Length of the seams", by=first_fit, uses=("lining.layout.liners.*.seams",)
    )
    tape: Length = figure(
        LENGTH,
        "Tape or weld for seams, boots and patches, to buy",
        uses=("lining.layout.liners.*.seams", "lining.penetrations"),
    )
    seam_shear: Force | None = figure(
        FORCE, "Pull on one metre that a weld must bear along it", by=seam_strength, uses=SHEET
    )
    seam_peel: Force | None = figure(
        FORCE, "Pull on one metre that a weld must bear across it", by=seam_strength, uses=SHEET
    )
    slack: Length = figure(
        LENGTH, "Slack for a sheet that cools by 20 K", by=materials.slack, uses=(*SIZE, *SHEET)
    )
    patch_area: Area = figure(AREA, "Patches and collars", uses=("lining.patches.*.size",))
    offcut_area: Area = figure(AREA, "Leftovers large enough to use again", by=leftovers, uses=SIZE)
    reused_area: Area = figure(AREA, "Leftovers that are used again", by=reuse, uses=SIZE)
    heaviest: Mass = figure(MASS, "Mass of the heaviest piece", uses=(*SIZE, *SHEET))
    carriers: int = figure(COUNT, "People to carry the heaviest piece", by=weight.people_for, uses=SHEET)
    pullers: int = figure(
        COUNT, "People to pull the heaviest piece over the hole", by=weight.people_for, uses=SHEET
    )
    lifting_wind: Speed = figure(SPEED, "Wind that lifts the bare liner", by=weight.lifting_wind, uses=SHEET)
    stop_wind: Speed = figure(SPEED, "Wind at which pulling stops", by=weight.lifting_wind, uses=SHEET)
    sandbags: int = figure(COUNT, "Sandbags until it is covered", by=weight.sandbags, uses=(*SIZE, *SHEET))
    least_temperature: Temperature = figure(
        TEMPERATURE, "Not to be unfolded below", by=materials.membrane, uses=SHEET
    )


@dataclass(frozen=True, slots=True, eq=False)
class OrderResult:
    """What is ordered of all liners."""

    liners: Mapping[str, LinerOrder]
    ordered_area: Area = figure(
        AREA, "Area of all liners to order", uses=("lining.order.liners.*.ordered_area",)
    )
    mass: Mass = figure(MASS, "Mass of all liners", uses=("lining.order.liners.*.mass",))
    seams: Length = figure(LENGTH, "Length of all seams", uses=("lining.order.liners.*.seams",))
