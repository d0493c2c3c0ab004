"""Water in the ground: where it was read, what bounds it, and what leads it away."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from pondwright.base.errors import Fault
from pondwright.base.kinds import ELEVATION, FLOW, LENGTH, RATIO, SPEED, TIME
from pondwright.base.sources import PRACTICE, Source, from_memory
from pondwright.job.fields import Default, Id, RowsById, Section, Text, quantity, rows
from pondwright.job.places import LinePlace, PointPlace, RingPlace, Row

ReadingKind = Literal["standpipe", "seep", "spring", "ditch", "pond"]
PipeWall = Literal["corrugated", "smooth"]

EVERETT = Source(
    "Design manual of the city of Everett", "subsurface drains: envelope at least 3 in all round"
)
PIPE_TABLE = from_memory("USDA NRCS, National Engineering Handbook, part 650", "chapter 14")

READING_SIGMA = Default(0.05, PRACTICE, "a standpipe read with a weighted tape, seasons told from memory")
BORDER_DISTANCE = Default(20.0, PRACTICE, "how far beyond the survey the groundwater stands as it always did")
WET_RECHARGE = Default(3.0e-8, PRACTICE, "about 2.5 mm a day soaks in during wet weeks")
DRY_RECHARGE = Default(0.0, PRACTICE, "in a dry season plants take what falls")
FALL = Default(0.01, PRACTICE, "1 % can be built against a few millimetres of error; 0.5 % is the least")
ROUGHNESS = Default(None, PIPE_TABLE, "by the wall: corrugated 0.015, smooth 0.011")
ENVELOPE = Default(0.075, EVERETT, "clean gravel all round the pipe")
STARTS = Default(6.0, PRACTICE, "starts an hour that an ordinary pump bears")
DROP = Default(0.3, PRACTICE, "a day, so that wet clay banks do not slide")


class Reading(Row):
    """A place where the groundwater was read or seen: in a standpipe, at a seep, in a ditch or a pond.

    A pond or a ditch also feeds or drains the ground; a seep or a spring lets water out.
    """

    kind: ReadingKind = Field(description="What it was read in")
    place: Annotated[PointPlace | LinePlace | RingPlace, Field(discriminator="at")] = Field(
        description="A point; along a ditch a line; round a pond a ring"
    )
    dry: float | None = quantity(ELEVATION, help="Level in the dry season", default=None)
    wet: float | None = quantity(ELEVATION, help="Level in the wet season", default=None)
    dry_flow: float | None = quantity(FLOW, help="Flow in the dry season", default=None, ge=0.0, le=100.0)
    wet_flow: float | None = quantity(FLOW, help="Flow in the wet season", default=None, ge=0.0, le=100.0)
    sigma: float | None = quantity(
        LENGTH, help="How far the levels may be off", default=READING_SIGMA, gt=0.0, le=10.0
    )


class Border(Section):
    """What the ground beyond one side of the survey does to the groundwater."""

    kind: Literal["held", "far", "closed"] = Field(
        default="far",
        description="`held`: it stands at the border as it always did; `far`: it does at a distance; "
        "`closed`: no water crosses",
    )
    distance: float | None = quantity(
        LENGTH, help="How far off it stands as it always did", default=BORDER_DISTANCE, gt=0.0, le=10_000.0
    )


class Borders(Section):
    """What bounds the groundwater on the four sides of the survey."""

    north: Border = Field(default=Border(), description="The north side")
    east: Border = Field(default=Border(), description="The east side")
    south: Border = Field(default=Border(), description="The south side")
    west: Border = Field(default=Border(), description="The west side")


class Drain(Row):
    """A drain from its upper end to where it runs out; several make one line by running into each other.

    A slotted pipe takes water and never gives any back; a solid one only carries it on.
    """

    place: LinePlace = Field(description="The line, from the upper end down")
    inverts: tuple[Annotated[float, Field(ge=-500.0, le=9000.0)], ...] = Field(
        default=(),
        description="Elevation of the pipe's bottom at each point of the line [m]; none rises evenly "
        "from where it runs into, by `fall`",
    )
    fall: float | None = quantity(RATIO, help="Fall where no inverts are given", default=FALL, gt=0.0, le=1.0)
    into: Id | None = Field(
        default=None, description="The outlet, sump or drain that it runs into; none is not decided"
    )
    slotted: bool = Field(default=True, description="It takes water along its length")
    diameter: float = quantity(LENGTH, help="Inner diameter", default=0.1016, gt=0.01, le=3.0)
    wall: PipeWall = Field(default="corrugated", description="What its wall is like inside")
    roughness: float | None = quantity(
        RATIO, help="Manning's n [s/m^(1/3)]", default=ROUGHNESS, gt=0.0, le=0.1
    )
    opening: float | None = quantity(
        LENGTH, help="Width of a slot, or diameter of a hole", default=None, gt=0.0, le=0.1
    )
    round_holes: bool = Field(default=False, description="Its openings are round holes and no slots")
    envelope: float | None = quantity(LENGTH, help="Gravel all round it", default=ENVELOPE, ge=0.0, le=3.0)
    gravel: Id | None = Field(default=None, description="The gravel round it, from `gravels`")
    fabric: Id | None = Field(default=None, description="The fabric round the trench, from `fabrics`")
    working: bool = Field(default=True, description="It counts; switched off, the ground is as if without it")

    def broken_rules(self) -> Iterator[Fault]:
        """Inverts, where given, have one number for each point."""
        points = len(self.place.points)
        if self.inverts and len(self.inverts) != points:
            yield Fault(
                "inverts", f"must have one number for each of the {points} points", str(len(self.inverts))
            )


class Outlet(Row):
    """Where drains run out by gravity."""

    place: PointPlace = Field(description="Where it is")
    invert: float = quantity(ELEVATION, help="Bottom of the pipe or ditch there")
    flood: float | None = quantity(
        ELEVATION, help="How high the water that it runs into floods", default=None
    )


class Sump(Row):
    """A pit that drains run into and a pump empties."""

    place: PointPlace = Field(description="Where it is")
    on: float = quantity(ELEVATION, help="Water level at which the pump starts")
    off: float = quantity(ELEVATION, help="Water level at which it stops")
    pump: float = quantity(FLOW, help="What the pump lifts", gt=0.0, le=10.0)
    starts: float | None = Field(
        default=None, gt=0.0, le=60.0, description="Starts an hour that the pump bears; none is 6"
    )
    standby: bool = Field(default=False, description="A second pump waits")
    backup: float | None = quantity(
        TIME, help="How long it runs in a power cut", default=None, ge=0.0, le=31_557_600.0
    )

    def broken_rules(self) -> Iterator[Fault]:
        """The pump stops below where it starts."""
        if self.off >= self.on:
            yield Fault("off", f"must be below {self.on:g} m, where the pump starts", f"{self.off:g} m")


class PipeOnHand(Row):
    """Pipe that is there already."""

    length: float = quantity(LENGTH, help="Length in all", gt=0.0, le=100_000.0)
    diameter: float = quantity(LENGTH, help="Inner diameter", gt=0.01, le=3.0)
    slotted: bool = Field(default=True, description="It takes water along its length")
    wall: PipeWall = Field(default="corrugated", description="What its wall is like inside")


class Grains(Row):
    """Grain sizes of a gravel, or of the soil that a drain lies in: sizes that a share is finer than."""

    d15: float = quantity(LENGTH, help="15 % are finer", gt=0.0, le=1.0)
    d50: float | None = quantity(LENGTH, help="50 % are finer", default=None, gt=0.0, le=1.0)
    d85: float = quantity(LENGTH, help="85 % are finer", gt=0.0, le=1.0)
    d100: float | None = quantity(LENGTH, help="The largest", default=None, gt=0.0, le=1.0)
    fines: float | None = quantity(
        RATIO, help="Share finer than 0.075 mm, of what is finer than 4.75 mm", default=None, ge=0.0, le=1.0
    )
    uniformity: float | None = quantity(
        RATIO, help="Size that 60 % are finer than over that of 10 %", default=None, ge=1.0, le=10_000.0
    )

    def broken_rules(self) -> Iterator[Fault]:
        """Sizes rise with the share that is finer."""
        sizes = [size for size in (self.d15, self.d50, self.d85, self.d100) if size is not None]
        if sizes != sorted(sizes):
            yield Fault(
                "d85", "must rise from d15 over d50 and d85 to d100", ", ".join(f"{s:g} m" for s in sizes)
            )


class Fabric(Row):
    """A filter fabric."""

    opening: float = quantity(LENGTH, help="Apparent opening", gt=0.0, le=0.01)
    permittivity: float = Field(gt=0.0, le=100.0, description="Permittivity [1/s]")
    strength: Literal[1, 2, 3] | None = Field(default=None, description="Class of strength; 1 is most")


class Vent(Row):
    """A place where gas below the liner gets out."""

    place: PointPlace = Field(description="Where it is")


class GasWay(Section):
    """How gas below the liner gets to its edge."""

    layer: Literal["none", "fabric", "strips"] = Field(
        default="none", description="Nothing, a thick fabric, or strip drains below the liner"
    )
    mass: float | None = Field(
        default=None, gt=0.0, le=5.0, description="Mass of the fabric [kg/m²]; none is not known"
    )


class SitePump(Row):
    """A pump hired to empty the old pond or to keep the dig dry."""

    flow: float = quantity(FLOW, help="What it lifts there", gt=0.0, le=10.0)
    day: float | None = quantity(
        TIME, help="Time a day that it runs; none is day and night", default=None, gt=0.0, le=86_400.0
    )


class Building(Section):
    """Water while it is built: the old pond emptied, the dig kept dry."""

    pumps: RowsById[SitePump] = rows("Pumps on the site")
    drop: float | None = quantity(
        LENGTH, help="How far the old pond may fall in a day", default=DROP, gt=0.0, le=100.0
    )
    season: Literal["dry", "wet"] = Field(default="dry", description="When it is dug")
    goes: Text = Field(default="", description="Where the pumped water may go, and who allowed it")
    dry_below: float | None = quantity(
        LENGTH, help="How far below the dig the groundwater is to be held", default=0.3, ge=0.0, le=10.0
    )


class Recharge(Section):
    """Water that soaks in from above, outside the lined ponds."""

    dry: float | None = quantity(SPEED, help="In the dry season", default=DRY_RECHARGE, ge=0.0, le=1e-5)
    wet: float | None = quantity(SPEED, help="In the wet season", default=WET_RECHARGE, ge=0.0, le=1e-5)


class Groundwater(Section):
    """Water in the ground: readings, what bounds it, drains and sumps, gas, and how the dig is kept dry."""

    readings: RowsById[Reading] = rows("Standpipes, seeps, springs, ditches and ponds")
    borders: Borders = Field(default=Borders(), description="What bounds the groundwater")
    base: float | None = quantity(
        ELEVATION, help="Below this the ground is tight; none is the bottom of the soils", default=None
    )
    recharge: Recharge = Field(default=Recharge(), description="Water that soaks in")
    drains: RowsById[Drain] = rows("Drains")
    outlets: RowsById[Outlet] = rows("Outlets by gravity")
    sumps: RowsById[Sump] = rows("Sumps with pumps")
    pipes: RowsById[PipeOnHand] = rows("Pipe on hand")
    gravels: RowsById[Grains] = rows("Gravels for round drains")
    soil_grains: RowsById[Grains] = rows("Grain sizes of the soils that drains lie in, by any name")
    fabrics: RowsById[Fabric] = rows("Filter fabrics")
    vents: RowsById[Vent] = rows("Vents for gas")
    gas: GasWay = Field(default=GasWay(), description="How gas below the liner gets out")
    building: Building = Field(default=Building(), description="Water while it is built")
