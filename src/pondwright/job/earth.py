"""How soil is moved: what is stripped, machines and trucks, piles, places off the site, and loads counted."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from pondwright.base.kinds import ANGLE, LENGTH, MASS, RATIO, SPEED, TIME, VOLUME
from pondwright.base.sources import PRACTICE
from pondwright.job.fields import Default, Id, RowsById, Section, quantity, rows
from pondwright.job.places import PointPlace, RingPlace, Row
from pondwright.job.site import SoilKind

Takes = Literal["topsoil", "soil", "muck", "any"]

PILE_HEIGHT = Default(2.0, PRACTICE, "topsoil stays alive, and a machine reaches the top")
EFFICIENCY = Default(0.83, PRACTICE, "fifty minutes of work in an hour")
FILL = Default(0.9, PRACTICE, "a bucket of ordinary earth")


class Truck(Row):
    """A truck that hauls soil."""

    box: float = quantity(VOLUME, help="What its box holds, heaped", gt=0.0, le=100.0)
    payload: float = quantity(MASS, help="What it may carry", gt=0.0, le=100_000.0)
    speed: float | None = quantity(SPEED, help="Mean speed on the road", default=None, gt=0.0, le=40.0)


class Machine(Row):
    """A machine that digs or carries soil on the site."""

    kind: Literal["excavator", "loader", "dumper"] = Field(description="What it is")
    bucket: float = quantity(VOLUME, help="What its bucket or box holds, heaped", gt=0.0, le=50.0)
    fill: float | None = quantity(RATIO, help="Share of it that is filled", default=FILL, gt=0.0, le=1.2)
    cycle: float = quantity(TIME, help="One cycle without the way: dig, swing, load, dump", gt=0.0, le=3600.0)
    speed: float | None = quantity(
        SPEED, help="Mean speed, there and back; none does not carry", default=None, gt=0.0, le=20.0
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
        ANGLE, help="Angle at which it stands; none is that of its soil", default=None, gt=0.0, le=1.5
    )


class OffSite(Row):
    """A place off the site that takes or gives soil."""

    way: Literal["export", "import"] = Field(description="It takes soil, or gives it")
    gate: PointPlace = Field(description="Where trucks leave the site for it")
    distance: float = quantity(LENGTH, help="By road, one way", ge=0.0, le=1_000_000.0)
    takes: Takes = Field(default="any", description="What may go there or come from there")
    truck: Id | None = Field(default=None, description="Truck that hauls; none is a three-axle tipper")
    most: float | None = quantity(VOLUME, help="Loose soil that it takes or has", default=None, ge=0.0)


class Counted(Row):
    """Loads that were counted on this job or another: they tell how much a soil swells."""

    kind: SoilKind = Field(description="The soil")
    bank: float = quantity(VOLUME, help="Volume that was dug, in the bank", gt=0.0)
    loads: int = Field(gt=0, le=1_000_000, description="Loads that left")
    box: float = quantity(VOLUME, help="Loose volume of one load", gt=0.0, le=100.0)


class Earth(Section):
    """How soil is moved."""

    trucks: RowsById[Truck] = rows("Trucks")
    machines: RowsById[Machine] = rows("Machines that dig and carry")
    piles: RowsById[Pile] = rows("Places for piles of soil")
    off_site: RowsById[OffSite] = rows("Places off the site that take or give soil")
    counted: RowsById[Counted] = rows("Loads that were counted")
