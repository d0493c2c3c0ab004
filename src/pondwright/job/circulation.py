"""The one graph of moving water: nodes, links, wetland cells, and modes of running."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from pondwright.base.kinds import ELEVATION, LENGTH
from pondwright.job.fields import Id, Line, RowsById, Section, quantity, rows
from pondwright.job.places import Place, Point, Row

NodeKind = Literal[
    "body",
    "intake",
    "skimmer",
    "pump_pit",
    "pump_base",
    "junction",
    "manifold",
    "crest",
    "outlet",
    "meter",
    "aerator",
    "main",
    "swale",
]
LinkKind = Literal["pipe", "pump", "valve", "weir", "orifice", "channel", "spill", "fill_valve"]


class Node(Row):
    """A point of the graph where water comes together, leaves or is measured."""

    kind: NodeKind = Field(description="What it is")
    place: Place = Field(description="Where it is")
    level: float | None = quantity(ELEVATION, help="Its elevation", default=None)
    body: Id | None = Field(default=None, description="The body that it stands in")


class CrestPoint(Section):
    """One corner of a crest that water runs over."""

    across: float = quantity(LENGTH, help="Along the crest from its left end")
    elevation: float = quantity(ELEVATION, help="Elevation of the crest there")


class Face(Section):
    """The face of a fall below its crest."""

    height: float = quantity(LENGTH, help="Height of the fall", gt=0.0, le=100.0)
    backing: Line = Field(default="", description="What stands behind the stones")
    stones: tuple[Id, ...] = Field(default=(), description="Stones of the face")


class Link(Row):
    """What carries water from one node to another."""

    kind: LinkKind = Field(description="What it is")
    start: Id = Field(description="Node that the water comes from")
    end: Id = Field(description="Node that the water goes to")
    line: tuple[Point, ...] = Field(default=(), description="Its line on the plan; none is straight")
    item: Id | None = Field(default=None, description="What it is made of, from the catalogue")
    fittings: RowsById[int] = rows("How many of each fitting, by item of the catalogue")
    crest: tuple[CrestPoint, ...] = Field(default=(), description="Corners of a weir's crest")
    face: Face | None = Field(default=None, description="The face of a fall")
    settings: RowsById[float | Line] = rows("Settings by name, in the house units")


class Cell(Row):
    """A planted cell that water is led through."""

    body: Id = Field(description="The body that it fills")
    plenum: float | None = quantity(LENGTH, help="Height of the hollow below", default=None, ge=0.0)
    manifold: Id | None = Field(default=None, description="Node that feeds it")
    clean_outs: tuple[Point, ...] = Field(default=(), description="Clean-out risers")


class Mode(Row):
    """A way of running: which links are open, and for how many hours a day in each month."""

    links: RowsById[Line] = rows("State of links, by id")
    hours: tuple[float, ...] = Field(default=(), max_length=12, description="Hours a day, by month")


class Circulation(Section):
    """The graph of moving water."""

    nodes: RowsById[Node] = rows("Nodes")
    links: RowsById[Link] = rows("Links")
    cells: RowsById[Cell] = rows("Planted cells")
    modes: RowsById[Mode] = rows("Modes of running")
