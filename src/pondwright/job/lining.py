"""The lining as it is bought and laid: liners, their edges, what goes through them, the day of the pull."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from pondwright.base.kinds import ANGLE, LENGTH, SPEED, TEMPERATURE
from pondwright.base.sources import PRACTICE, Source
from pondwright.job.fields import Default, Id, Line, RowsById, Section, quantity, rows
from pondwright.job.places import LinePlace, PointPlace, Row, StretchPlace

LANDFILL = Source("Specification of a municipal landfill liner", "seam overlap at least 4 in")

SEAM = Default(0.15, LANDFILL, "wider than the 100 mm asked of welded sheets: tape wants its width twice")
MARGIN = Default(0.6, PRACTICE, "liner beyond the shore, all round, before it is turned up and trimmed")
HEIGHT = Default(0.10, PRACTICE, "above the full water at a natural edge; 0.15 on berms and at falls")
UPTURN = Default(0.10, PRACTICE, "turned up behind the edge stone")


class Stock(Section):
    """One size in which a liner can be had."""

    width: float = quantity(LENGTH, help="Width of the roll or sheet", gt=0.1, le=200.0)
    length: float = quantity(LENGTH, help="Length of the roll or sheet", gt=0.1, le=2000.0)


class Liner(Row):
    """One lining under one body or several that share it."""

    bodies: tuple[Id, ...] = Field(description="The bodies of water that it holds")
    membrane: Id | None = Field(default=None, description="The sheet, from the catalogue")
    cushion_below: Id | None = Field(default=None, description="Fabric below it, from the catalogue")
    cushion_above: Id | None = Field(default=None, description="Fabric above it, from the catalogue")
    one_piece: bool = Field(default=True, description="Ordered in one piece from the shop, else from rolls")
    parts: bool = Field(
        default=False,
        description="In several shop pieces: joined at narrows, lapped from fall to fall of a stream",
    )
    stock: tuple[Stock, ...] = Field(default=(), max_length=50, description="Sizes that can be had")
    seam: float | None = quantity(LENGTH, help="Overlap at a seam", default=SEAM, gt=0.0, le=2.0)
    margin: float | None = quantity(LENGTH, help="Liner beyond the shore", default=MARGIN, ge=0.0, le=20.0)
    along: float | None = quantity(
        ANGLE,
        help="Direction of the rolls, clockwise from north; none is the best",
        default=None,
        ge=-6.3,
        le=6.3,
    )
    ordered: Literal["before", "after"] = Field(
        default="after", description="Ordered before or after the hole is dug"
    )


class LinerEdge(Row):
    """How the liner ends along a stretch of a shore."""

    place: StretchPlace = Field(description="From here to there")
    detail: Literal["upturn", "anchor", "wall"] = Field(
        default="upturn", description="Turned up behind the edge stone, laid in a trench, or fixed to a wall"
    )
    height: float | None = quantity(
        LENGTH, help="Of the liner's edge above the full water", default=HEIGHT, ge=0.0, le=5.0
    )
    upturn: float | None = quantity(LENGTH, help="Length turned up", default=UPTURN, ge=0.0, le=5.0)
    capillary_break: bool = Field(
        default=True, description="The liner parts the wet stone from the lawn, so that no water wicks out"
    )


class Penetration(Row):
    """A pipe that goes through the liner."""

    place: PointPlace = Field(description="Where it goes through")
    diameter: float = quantity(LENGTH, help="Outer diameter of the pipe", gt=0.0, le=3.0)
    boot: Id | None = Field(default=None, description="The boot, from the catalogue")
    over: Literal["no", "could", "not_asked"] = Field(
        default="not_asked", description="Whether the pipe could go over the liner's edge instead"
    )


class Patch(Row):
    """A patch on the liner."""

    place: PointPlace = Field(description="Where it is")
    size: float = quantity(LENGTH, help="Its side", default=0.3, gt=0.0, le=20.0)


class Guard(Row):
    """A guard against roots or burrowing animals."""

    kind: Literal["root", "burrow"] = Field(description="Against roots, or against animals that burrow")
    place: Annotated[LinePlace | StretchPlace, Field(discriminator="at")] = Field(description="Where it runs")
    depth: float = quantity(LENGTH, help="How deep it reaches", gt=0.0, le=10.0)


class TapeCheck(Row):
    """A length over the dug ground, as taped in the hole."""

    place: LinePlace = Field(description="The line along which the tape was laid")
    taped: float | None = quantity(
        LENGTH, help="Length along the ground; none is not taped yet", default=None, gt=0.0, le=10_000.0
    )
    note_of: Line = Field(default="", description="Who taped it")


class PullDay(Section):
    """The day on which the liner is pulled."""

    people: int | None = Field(default=None, ge=0, le=200, description="People who pull")
    wind: float | None = quantity(SPEED, help="Wind on that day", default=None, ge=0.0, le=60.0)
    temperature: float | None = quantity(
        TEMPERATURE, help="Temperature on that day", default=None, ge=-40.0, le=60.0
    )
    machine: bool = Field(default=False, description="A machine with a beam lays it out")


class Lining(Section):
    """How the ponds are lined."""

    liners: RowsById[Liner] = rows("Liners; a body that none names has one of its own")
    edges: RowsById[LinerEdge] = rows("Edges of the liner along stretches of the shore")
    penetrations: RowsById[Penetration] = rows("Pipes through the liner")
    patches: RowsById[Patch] = rows("Patches")
    guards: RowsById[Guard] = rows("Guards against roots and burrowing animals")
    tapes: RowsById[TapeCheck] = rows("Lengths taped in the hole")
    pull: PullDay = Field(default=PullDay(), description="The day of the pull")
