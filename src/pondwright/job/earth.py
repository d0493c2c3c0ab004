"""How soil is moved: machines and trucks, piles, places off the site, and loads counted."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from pondwright.base.errors import Fault
from pondwright.base.kinds import (
    ANGLE,
    BULK_MASS,
    LENGTH,
    RATIO,
    ROAD_LENGTH,
    ROAD_SPEED,
    SOIL_VOLUME,
    TIME,
)
from pondwright.base.sources import PRACTICE, Source
from pondwright.job.fields import Default, Id, RowsById, Section, quantity, rows
from pondwright.job.places import PointPlace, RingPlace, Row
from pondwright.job.site import SoilKind

Takes = Literal["topsoil", "soil", "muck", "any"]

PILE_HEIGHT = Default(2.0, PRACTICE, "topsoil stays alive, and a machine reaches the top")
EFFICIENCY = Default(0.83, PRACTICE, "fifty minutes of work in an hour")
FILL = Default(0.9, PRACTICE, "a bucket of ordinary earth")
THREE_AXLES = 3
AXLE_SPREAD = Default(6.1, PRACTICE, "a three-axle tipper: 20 ft")
TARE = Default(10_100.0, PRACTICE, "a three-axle tipper, empty")
LEGAL = Default(
    None,
    Source("23 CFR 658.17", "bridge formula and axle limits"),
    "what its axles may carry by law, less what it weighs empty",
)
ROLLER_WIDTH = Default(0.82, PRACTICE, "a trench roller")
ROLLER_SPEED = Default(0.5, PRACTICE, "walking slowly behind it")
ROLLER_LAYER = Default(0.2, PRACTICE, "a layer that a trench roller compacts through")
ROLLER_PASSES = Default(7.0, PRACTICE, "six to eight of a trench roller")


class Truck(Row):
    """A truck that hauls soil."""

    box: float = quantity(SOIL_VOLUME, help="What its box holds, heaped", gt=0.0, le=100.0)
    payload: float | None = quantity(BULK_MASS, help="What it may carry", default=LEGAL, gt=0.0, le=100_000.0)
    axles: int = Field(default=THREE_AXLES, ge=2, le=7, description="Axles, where its payload is not known")
    spread: float | None = quantity(
        LENGTH,
        help="Between its outer axles, where its payload is not known",
        default=AXLE_SPREAD,
        gt=0.0,
        le=25.0,
    )
    tare: float | None = quantity(
        BULK_MASS,
        help="What it weighs empty, where its payload is not known",
        default=TARE,
        gt=0.0,
        le=50_000.0,
    )
    speed: float | None = quantity(
        ROAD_SPEED, help="Mean speed on the road, there and back", default=None, gt=0.0, le=40.0
    )

    def broken_rules(self) -> Iterator[Fault]:
        """Only a three-axle truck has a stated weight and length."""
        if self.payload is None and self.axles != THREE_AXLES and None in (self.tare, self.spread):
            yield Fault("payload", "must be told, or `tare` and `spread` where there are not three axles")


class Machine(Row):
    """A machine that digs or carries soil on the site."""

    kind: Literal["excavator", "loader", "dumper"] = Field(description="What it is")
    bucket: float = quantity(SOIL_VOLUME, help="What its bucket or box holds, heaped", gt=0.0, le=50.0)
    fill: float | None = quantity(RATIO, help="Share of it that is filled", default=FILL, gt=0.0, le=1.2)
    cycle: float = quantity(TIME, help="One cycle without the way: dig, swing, load, dump", gt=0.0, le=3600.0)
    speed: float | None = quantity(
        ROAD_SPEED, help="Mean speed, there and back; none does not carry", default=None, gt=0.0, le=20.0
    )
    efficiency: float | None = quantity(
        RATIO, help="Share of the hour that it works", default=EFFICIENCY, gt=0.0, le=1.0
    )


class Compactor(Row):
    """A machine that compacts placed soil."""

    width: float | None = quantity(
        LENGTH, help="Width of its drum or plate", default=ROLLER_WIDTH, gt=0.0, le=5.0
    )
    speed: float | None = quantity(
        ROAD_SPEED, help="Speed while it works", default=ROLLER_SPEED, gt=0.0, le=10.0
    )
    layer: float | None = quantity(
        LENGTH, help="Thickness of a layer, compacted", default=ROLLER_LAYER, gt=0.0, le=2.0
    )
    passes: float | None = quantity(
        RATIO, help="Passes over each layer", default=ROLLER_PASSES, gt=0.0, le=100.0
    )
    efficiency: float | None = quantity(
        RATIO, help="Share of the hour that it works", default=EFFICIENCY, gt=0.0, le=1.0
    )


class Pile(Row):
    """A place on the site for soil that waits."""

    place: Annotated[PointPlace | RingPlace, Field(discriminator="at")] = Field(description="Where it is")
    takes: Takes = Field(default="any", description="What may lie there")
    most_height: float | None = quantity(
        LENGTH, help="Height that it may have", default=PILE_HEIGHT, gt=0.0, le=20.0
    )
    angle: float | None = quantity(
        ANGLE,
        help="Angle at which it stands; none is that of the loosest soil that comes to it",
        default=None,
        gt=0.0,
        le=1.5,
    )


class OffSite(Row):
    """A place off the site that takes or gives soil."""

    way: Literal["export", "import"] = Field(description="It takes soil, or gives it")
    gate: PointPlace = Field(description="Where trucks leave the site for it")
    distance: float = quantity(ROAD_LENGTH, help="By road, one way", ge=0.0, le=1_000_000.0)
    takes: Takes = Field(default="any", description="What may go there or come from there")
    truck: Id | None = Field(default=None, description="Truck that hauls; none is a three-axle tipper")
    most: float | None = quantity(
        SOIL_VOLUME, help="Loose soil that it takes or has; none is as much as there is", default=None, ge=0.0
    )


class Counted(Row):
    """Loads that were counted on this job or another: they tell how much a soil swells."""

    kind: SoilKind = Field(description="The soil")
    bank: float = quantity(SOIL_VOLUME, help="Volume that was dug, in the bank", gt=0.0)
    loads: int = Field(gt=0, le=1_000_000, description="Loads that left")
    box: float = quantity(SOIL_VOLUME, help="Loose volume of one load", gt=0.0, le=100.0)


class Earth(Section):
    """How soil is moved."""

    trucks: RowsById[Truck] = rows("Trucks")
    machines: RowsById[Machine] = rows("Machines that dig and carry")
    compactors: RowsById[Compactor] = rows("Machines that compact placed soil")
    piles: RowsById[Pile] = rows("Places for piles of soil")
    off_site: RowsById[OffSite] = rows("Places off the site that take or give soil")
    counted: RowsById[Counted] = rows("Loads that were counted")
