"""Stone and gravel: classes, what covers which part of the bank, single stones, and what lifts them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from pondwright.base.errors import Fault
from pondwright.base.kinds import ANGLE, AREA, DENSITY, LENGTH, MASS, RATIO
from pondwright.base.sources import PRACTICE
from pondwright.job.fields import Default, Id, Line, RowsById, Section, quantity, rows
from pondwright.job.places import PartPlace, Point, PointPlace, Row, StretchPlace, WholePlace, at_least

StoneShape = Literal["rounded", "blocky", "slab", "box"]
Role = Literal["edge", "shelf", "spill", "frame", "wing", "stand", "seat", "any"]

SOLID = Default(2650.0, PRACTICE, "granite, limestone and most fieldstone lie between 2,500 and 2,750")
GAP = Default(0.05, PRACTICE, "of a stone's length, left open between two")
POROSITY = Default(0.38, PRACTICE, "rounded gravel and cobble as placed")
SLING = Default(2.0, PRACTICE, "a chain of 2 m (6 ft 7 in) on each side")
CONTACT = Default(None, PRACTICE, "what makes 30 kPa below its own mass, as tracks do")


class StoneClass(Row):
    """A class of stone by the size of its middle axis."""

    low: float = quantity(LENGTH, help="Smallest middle axis", ge=0.001, le=10.0)
    high: float = quantity(LENGTH, help="Largest middle axis", ge=0.001, le=10.0)
    shape: StoneShape = Field(default="blocky", description="Its shape")
    solid_density: float | None = quantity(
        DENSITY, help="Density of the solid stone", default=SOLID, ge=1000.0, le=5000.0
    )
    item: Id | None = Field(default=None, description="What is bought, from the catalogue")

    def broken_rules(self) -> Iterator[Fault]:
        """The smallest is no larger than the largest."""
        if self.low > self.high:
            yield Fault("low", f"must be at most {self.high:g} m, the largest", f"{self.low:g} m")


class Share(Section):
    """A class and its share of the length of an edge, or of the mass of a cover."""

    stone: Id = Field(description="The class")
    share: float = quantity(RATIO, help="Its share", gt=0.0, le=1.0)


class Treatment(Row):
    """What covers a stretch of the shore, a zone of the bank, or a whole body, with stone or gravel.

    Courses are rows of stones along the shore, counted; cobble and gravel are layers with a thickness.
    """

    place: Annotated[StretchPlace | PartPlace | WholePlace, Field(discriminator="at")] = Field(
        description="Where it lies"
    )
    kind: Literal["courses", "cobble", "gravel", "planted", "wall", "deck", "bare"] = Field(
        description="What it is"
    )
    classes: tuple[Share, ...] = Field(default=(), description="Classes and their shares")
    courses: int = Field(default=1, ge=1, le=20, description="Rows of stones, one on or behind the other")
    gap: float | None = quantity(RATIO, help="Gap between two stones", default=GAP, ge=0.0, le=2.0)
    thickness: float | None = quantity(
        LENGTH,
        help="Thickness of a layer; none is one and a half of its largest grain",
        default=None,
        gt=0.0,
        le=5.0,
    )
    porosity: float | None = quantity(RATIO, help="Share of voids", default=POROSITY, ge=0.0, lt=1.0)

    def broken_rules(self) -> Iterator[Fault]:
        """Shares make up the whole."""
        total = sum(share.share for share in self.classes)
        if self.classes and abs(total - 1.0) > 1e-6:
            yield Fault("classes", "must have shares that make 1 together", f"{total:g}")


class Piece(Row):
    """One stone, measured with three tapes."""

    length: float = quantity(LENGTH, help="Longest axis", gt=0.0, le=20.0)
    width: float = quantity(LENGTH, help="Middle axis", gt=0.0, le=20.0)
    height: float = quantity(LENGTH, help="Shortest axis", gt=0.0, le=20.0)
    mass: float | None = quantity(
        MASS, help="Mass from a ticket; none is by its size", default=None, gt=0.0, le=200_000.0
    )
    shape: StoneShape = Field(default="blocky", description="Its shape")
    stands: Literal["on_hand", "yard", "ordered"] = Field(
        default="on_hand", description="On the site already, seen at the yard, or ordered"
    )
    role: Role = Field(default="any", description="What it is kept for")
    tag: Line = Field(default="", description="Mark on the stone")
    truck: Line = Field(default="", description="Truck that brings or brought it")
    place: PointPlace | None = Field(default=None, description="Where it is set; none is not placed yet")
    turn: float | None = quantity(
        ANGLE,
        help="Direction of its longest axis, clockwise from north; none is along the shore",
        default=None,
        ge=-6.3,
        le=6.3,
    )
    fall: Id | None = Field(default=None, description="The fall of `falls` that it belongs to")
    reserved: Line = Field(default="", description="Place of the yard list that is kept for it")


class Pile(Row):
    """Stone on hand that is not measured singly."""

    mass: float = quantity(MASS, help="Mass in all", gt=0.0, le=1e8)
    stone: Id | None = Field(default=None, description="Its class; none is mixed")
    place: PointPlace | None = Field(default=None, description="Where it lies")


class FallStone(Row):
    """Stone of one fall: the spill stone that the water runs over, frame beside it, wings, and backing."""

    body: Id = Field(description="The stream or pool")
    step: int = Field(
        default=0, ge=0, le=100, description="Which step of the stream, counted from its upper end"
    )
    width: float = quantity(LENGTH, help="Width of the face", gt=0.0, le=100.0)
    spill: Id | None = Field(default=None, description="Class of the spill stones")
    frame: Id | None = Field(default=None, description="Class of the frame stones")
    wing: float | None = quantity(LENGTH, help="Length of each wing beside it", default=0.6, ge=0.0, le=50.0)
    backing: float | None = quantity(
        LENGTH, help="Thickness of the stone behind it", default=0.5, ge=0.0, le=20.0
    )


class ChartRow(Section):
    """One row of a machine's lifting chart: what it may lift, or the loads at which it tips and stalls."""

    radius: float = quantity(LENGTH, help="From the middle of the machine", gt=0.0, le=100.0)
    height: float = quantity(LENGTH, help="Of the hook above the ground", default=0.0, ge=-20.0, le=50.0)
    capacity: float | None = quantity(
        MASS, help="What it may lift there, as its chart says", default=None, gt=0.0, le=200_000.0
    )
    tipping: float | None = quantity(
        MASS, help="Load at which it tips, if told apart", default=None, gt=0.0, le=400_000.0
    )
    hydraulic: float | None = quantity(
        MASS, help="Load that its oil pressure holds, if told apart", default=None, gt=0.0, le=400_000.0
    )

    def broken_rules(self) -> Iterator[Fault]:
        """Something must be told: the capacity, or both loads that it follows from."""
        if self.capacity is None and (self.tipping is None or self.hydraulic is None):
            yield Fault("capacity", "must be told, or both `tipping` and `hydraulic`", "nothing to lift by")


class Lifter(Row):
    """A machine that sets stones, with its own chart and the places where it can stand."""

    chart: tuple[ChartRow, ...] = Field(description="Rows of its lifting chart, from the maker's plate")
    tool: float = quantity(
        MASS, help="Bucket, grab and chains, if the chart does not have them", default=0.0, ge=0.0
    )
    stands: tuple[Point, ...] = Field(default=(), description="Where it can stand")
    mass: float | None = quantity(MASS, help="Its own mass", default=None, gt=0.0, le=200_000.0)
    contact: float | None = quantity(
        AREA, help="Area of its tracks, pads or tyres on the ground", default=CONTACT, gt=0.0, le=100.0
    )
    sling: float | None = quantity(
        LENGTH, help="Length of each leg of its sling of two legs", default=SLING, gt=0.0, le=20.0
    )

    def broken_rules(self) -> Iterator[Fault]:
        """A chart has a row."""
        yield from at_least(1, self.chart, "chart", "a machine that lifts")


class Stone(Section):
    """Stone and gravel."""

    classes: RowsById[StoneClass] = rows("Classes of stone and gravel")
    treatments: RowsById[Treatment] = rows("What covers which part of the bank")
    pieces: RowsById[Piece] = rows("Stones measured singly")
    piles: RowsById[Pile] = rows("Stone on hand that is not measured singly")
    falls: RowsById[FallStone] = rows("Stone of falls")
    lifters: RowsById[Lifter] = rows("Machines that set stones")
