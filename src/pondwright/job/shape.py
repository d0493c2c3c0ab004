"""The intended shape: bodies of water, kinds of bank, berms, slopes, ways and seats."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import Field

from pondwright.base.errors import Fault
from pondwright.base.kinds import ELEVATION, LENGTH, RATIO, SLOPE
from pondwright.base.sources import PRACTICE, Source, from_memory
from pondwright.job.fields import Default, Id, Line, RowsById, Section, choice, quantity, rows
from pondwright.job.places import (
    OUTER_RING,
    Curve,
    LinePlace,
    Place,
    Point,
    PointPlace,
    RingPlace,
    Row,
    StretchPlace,
    at_least,
    closed,
    repeated,
)
from pondwright.job.tables import BankCorner, ready_banks, standard_bank

BERM_STANDARD = from_memory("USDA NRCS, Conservation Practice Standard 378, Pond", "settlement allowance")
SLOPE_STANDARD = Source(
    "USDA SCS, Conservation Practice Standard 378, Pond (Colorado copy)",
    "side slopes of an embankment: sum at least 5:1, upstream at least 2.5:1, downstream at least 2:1",
)

LEVEL = Default(None, PRACTICE, "the lowest existing ground on the shore, less the freeboard")
LOW_LEVEL = Default(None, PRACTICE, "the water level itself: no lower state is planned")
BANK_TYPE = Default(None, PRACTICE, "the standard bank: marginal shelf, lily shelf, slope")
BLEND = Default(1.0, PRACTICE, "one bank type runs over into the next along this length of shore")
CREST_WIDTH = Default(0.9, PRACTICE, "wide enough to walk and to wheel a barrow on")
FREEBOARD = Default(0.30, PRACTICE, "upper end of 150 to 300 mm for a small lined pond without a catchment")
SETTLEMENT = Default(0.05, BERM_STANDARD, "of the height, for a bank placed and compacted in layers")
SLOPE_IN = Default(2.0, PRACTICE, "wet side above the water; the bank type rules below it")
SLOPE_OUT = Default(3.0, SLOPE_STANDARD, "dry side; with 2:1 inside the two sum to 5:1, and it can be mown")
CUT_SLOPE = Default(
    None,
    from_memory("USDA SCS, Agriculture Handbook 590, Ponds", "table 16"),
    "the flattest that a soil of the site asks for, such as 3 in silt and clay; 2 where no soil is told",
)
FILL_SLOPE = Default(3.0, SLOPE_STANDARD, "placed soil away from the berm: the dry side's slope")
WAY_WIDTH = Default(1.2, PRACTICE, "two people side by side, or a wheelchair and room to pass")
EYE_HEIGHT = Default(1.2, PRACTICE, "eyes of a person who sits")
BARRIER = from_memory("International Swimming Pool and Spa Code", "305.2: a barrier, 48 in")
HEIGHTS: Mapping[str, tuple[float, Source]] = MappingProxyType(
    {"wall": (0.45, PRACTICE), "fence": (1.2192, BARRIER), "light": (0.6, PRACTICE)}
)
"""How high a wall, a fence or a light stands where its row tells nothing. [m]"""

HEIGHT = Default(
    None,
    PRACTICE,
    "a wall 0.45 m, to sit on; a fence 1.22 m (48 in), as many codes ask of a barrier; a light 0.6 m",
    by=lambda way: HEIGHTS.get(way.kind, (None, PRACTICE)),
)
MOST_RISER = Default(0.15, PRACTICE, "6 in: a step outdoors is lower than one in a house")
GATE_WIDTH = Default(1.0, PRACTICE, "a wheelchair or a mower passes")


class BankPoint(Section):
    """One corner of a bank's section."""

    distance: float = quantity(LENGTH, help="From the water's edge inward, level", ge=0.0, le=1000.0)
    depth: float = quantity(LENGTH, help="Below the water level", ge=0.0, le=100.0)


class BankType(Row):
    """A kind of bank: its section from the water's edge inward; the last depth runs on as floor.

    Zone 0 lies between the first and the second point, and so on; the last zone is the floor
    beyond the last point.  Two points at the same distance make a riser.
    """

    points: tuple[BankPoint, ...] = Field(description="Corners of the section, outward to inward")
    zone_names: tuple[Line, ...] = Field(
        default=(), description="Names of the zones: none, or one a point (the last is the floor)"
    )

    def broken_rules(self) -> Iterator[Fault]:
        """The section starts at the edge, runs inward, and has its zones named whole or not."""
        yield from at_least(2, self.points, "points", "a bank")
        for point in self.points[:1]:
            if point.distance or point.depth:
                found = f"distance {point.distance:g} m, depth {point.depth:g} m"
                yield Fault("points.0", "must be the water's edge: distance 0 m, depth 0 m", found)
        for index, (before, after) in enumerate(pairwise(self.points), start=1):
            if after.distance < before.distance:
                rule = f"must be at least {before.distance:g} m, the distance before it"
                yield Fault(f"points.{index}.distance", rule, f"{after.distance:g} m")
        if self.zone_names and len(self.zone_names) != len(self.points):
            rule = f"must be one for each point ({len(self.points)}), or none"
            yield Fault("zone_names", rule, str(len(self.zone_names)))


class RingOutline(Section):
    """A body inside a closed shoreline."""

    form: Literal["ring"] = Field(description="The word `ring`")
    curve: Curve = Field(description="The shoreline at the water level")

    def broken_rules(self) -> Iterator[Fault]:
        """A shoreline needs three pegs."""
        yield from closed(self.curve, "curve")


class Step(Section):
    """A fall in a stream's bed."""

    distance: float = quantity(LENGTH, help="Along the stream from its upper end", ge=0.0)
    drop: float = quantity(LENGTH, help="Height of the fall", gt=0.0, le=100.0)


class CorridorOutline(Section):
    """A body along a line: a stream."""

    form: Literal["corridor"] = Field(description="The word `corridor`")
    curve: Curve = Field(description="The middle line, downstream")
    widths: tuple[Annotated[float, Field(gt=0.0, le=1000.0)], ...] = Field(
        description="Width at each peg [m]"
    )
    bed: tuple[float, ...] = Field(default=(), description="Elevation of the bed at each peg [m], or none")
    steps: tuple[Step, ...] = Field(default=(), description="Falls in the bed")

    def broken_rules(self) -> Iterator[Fault]:
        """Widths, and the bed where it is given, have one number for each peg."""
        pegs = len(self.curve.pegs)
        for name, numbers in (("widths", self.widths), ("bed", self.bed)):
            if len(numbers) != pegs and (numbers or name == "widths"):
                yield Fault(name, f"must have one number for each of the {pegs} pegs", str(len(numbers)))


Outline = Annotated[RingOutline | CorridorOutline, Field(discriminator="form")]


class Stretch(Section):
    """A stretch of a body's shore that has its own bank type."""

    ring: Id = Field(default=OUTER_RING, description="`outer`, or the id of an island")
    start: Id = Field(description="Peg where the stretch begins")
    end: Id = Field(description="Peg where the stretch ends, in the order of the pegs")
    bank_type: Id = Field(description="The bank type from here to there")
    blend: float | None = quantity(
        LENGTH, help="Length over which the bank runs over at each end", default=BLEND, ge=0.0, le=100.0
    )


class Body(Row):
    """A body of water."""

    role: Literal["pond", "upper_pool", "wetland", "intake_pool", "stream"] = Field(
        default="pond", description="What it is for"
    )
    rank: int = Field(default=0, ge=0, le=1000, description="Order of carving: the lower comes first")
    outline: Outline = Field(description="Its shoreline, or a stream's line and widths")
    islands: RowsById[Curve] = rows("Islands: closed curves inside the shoreline")
    level: float | None = quantity(ELEVATION, help="Elevation of the water at rest", default=LEVEL)
    low_level: float | None = quantity(
        ELEVATION, help="Lowest elevation of the water that is planned for", default=LOW_LEVEL
    )
    bank_type: Id | None = choice(help="Bank type where no stretch says otherwise", default=BANK_TYPE)
    stretches: RowsById[Stretch] = rows("Stretches of the shore with a bank type of their own")
    floor_fall: float | None = quantity(
        RATIO, help="Fall of the floor towards its low spot; none is level", default=None, gt=0.0, le=0.2
    )
    low_spot: Point | None = Field(
        default=None, description="Low spot of the floor, for cleaning out; none is where the water is widest"
    )
    keep_balanced: bool = Field(
        default=False, description="Move the water level so that dug and placed soil stay in balance"
    )

    def pegs(self, ring: str) -> frozenset[str] | None:
        """Ids of the pegs of a ring (`outer` or an island), or ``None`` if there is no such ring."""
        curve = self.outline.curve if ring == OUTER_RING else self.islands.get(ring)
        return None if curve is None else frozenset(peg.id for peg in curve.pegs)

    def broken_rules(self) -> Iterator[Fault]:
        """Islands are rings, stretches lie between pegs of this body, and levels stand in order."""
        for name, island in self.islands.items():
            yield from closed(island, f"islands.{name}")
            if name == OUTER_RING:
                yield Fault("islands.outer", "must have another id: `outer` is the shoreline itself")
        for name, stretch in self.stretches.items():
            for fault in unknown_pegs(self, stretch):
                yield Fault(f"stretches.{name}.{fault.path}", fault.rule, fault.found)
        if self.level is not None and self.low_level is not None and self.low_level > self.level:
            rule = f"must be at most {self.level:g} m, the water level"
            yield Fault("low_level", rule, f"{self.low_level:g} m")


def unknown_pegs(body: Body, stretch: Stretch | StretchPlace) -> Iterator[Fault]:
    """Faults of a stretch that names a ring or pegs that the body does not have."""
    pegs = body.pegs(stretch.ring)
    if pegs is None:
        yield Fault("ring", "must be `outer` or an island of the body", f"`{stretch.ring}`")
        return
    for end in ("start", "end"):
        peg = getattr(stretch, end)
        if peg not in pegs:
            yield Fault(end, f"must be a peg of ring `{stretch.ring}`", f"`{peg}`")


class Berm(Row):
    """The raised bank around a body."""

    body: Id = Field(description="The body that it holds")
    crest_width: float | None = quantity(
        LENGTH, help="Width of the level top", default=CREST_WIDTH, ge=0.0, le=100.0
    )
    freeboard: float | None = quantity(
        LENGTH, help="Height of the settled top above the water", default=FREEBOARD, ge=0.0, le=20.0
    )
    settlement: float | None = quantity(
        RATIO, help="Share of the height added for settlement", default=SETTLEMENT, ge=0.0, le=0.5
    )
    slope_in: float | None = quantity(
        SLOPE, help="Wet side, level for one upright", default=SLOPE_IN, gt=0.0, le=50.0
    )
    slope_out: float | None = quantity(
        SLOPE, help="Dry side, level for one upright", default=SLOPE_OUT, gt=0.0, le=50.0
    )


class Mound(Row):
    """Soil heaped up: under a fall, behind a seat, against the wind."""

    place: RingPlace = Field(description="Its foot")
    height: float = quantity(LENGTH, help="Above the ground under it, settled", gt=0.0, le=50.0)
    slope: float | None = quantity(
        SLOPE, help="Its sides, level for one upright", default=FILL_SLOPE, gt=0.0, le=50.0
    )
    settlement: float | None = quantity(
        RATIO, help="Share of the height added for settlement", default=SETTLEMENT, ge=0.0, le=0.5
    )


class Slopes(Section):
    """Slopes where the design meets the ground, level for one upright."""

    cut: float | None = quantity(SLOPE, help="Dug slopes", default=CUT_SLOPE, gt=0.0, le=50.0)
    fill: float | None = quantity(SLOPE, help="Placed slopes", default=FILL_SLOPE, gt=0.0, le=50.0)


class Gate(Section):
    """A gate in a fence."""

    distance: float = quantity(
        LENGTH, help="Its middle, along the fence; beyond the end it stands at the end", ge=0.0, le=100_000.0
    )
    width: float | None = quantity(LENGTH, help="Its clear width", default=GATE_WIDTH, gt=0.0, le=20.0)


RISING = frozenset({"path", "bridge", "deck", "steps", "bed", "pad"})
"""Kinds of ways that may end at another level than they begin."""


class Way(Row):
    """Something to walk on, sit beside or look past: a path, a deck, steps, a wall, a fence, a light."""

    kind: Literal["path", "bridge", "deck", "steps", "wall", "bed", "pad", "fence", "light"] = Field(
        description="What it is"
    )
    place: Place = Field(description="Where it is")
    width: float | None = quantity(LENGTH, help="Its width", default=WAY_WIDTH, gt=0.0, le=1000.0)
    level: float | None = quantity(
        ELEVATION, help="Its finished elevation; none follows the ground", default=None
    )
    end_level: float | None = quantity(
        ELEVATION,
        help="Its finished elevation at the last point, for a ramp or steps; none is level",
        default=None,
    )
    most_riser: float | None = quantity(
        LENGTH, help="Of steps: greatest height of one; all are equal", default=MOST_RISER, gt=0.0, le=1.0
    )
    top: float | None = quantity(
        ELEVATION, help="Level top of a wall or a rail; of a wall none is its height", default=None
    )
    height: float | None = quantity(
        LENGTH,
        help="Of a wall, a fence or a light: over the higher ground beside it",
        default=HEIGHT,
        gt=0.0,
        le=20.0,
    )
    open_share: float = quantity(
        RATIO,
        help="Of a fence: share that is open to the eye; from one half on it hides nothing",
        default=0.0,
        ge=0.0,
        lt=1.0,
    )
    gates: tuple[Gate, ...] = Field(default=(), description="Gates of a fence")
    aims_at: Point | None = Field(default=None, description="What a light is aimed at")
    construction: Id | None = Field(default=None, description="Its build-up, by id")

    def broken_rules(self) -> Iterator[Fault]:
        """A light stands at a point, and what only some kinds have the others do not tell."""
        if self.kind == "light" and not isinstance(self.place, PointPlace):
            yield Fault("place", "must be a point, where the light stands", f"a {self.place.at}")
        yield from self._told_in_vain()
        if self.end_level is not None and self.level is None:
            rule = "must come with `level`, the elevation at the first point"
            yield Fault("end_level", rule, f"{self.end_level:g} m alone")
        if self.end_level is not None and not isinstance(self.place, LinePlace):
            yield Fault("end_level", "must be left out of an area, which has no end", f"{self.end_level:g} m")

    def _told_in_vain(self) -> Iterator[Fault]:
        """What is told of a way whose kind has no such thing."""
        kinds = {
            "end_level": RISING,
            "top": frozenset({"wall", *RISING}),
            "height": frozenset(HEIGHTS),
            "open_share": frozenset({"fence"}),
            "gates": frozenset({"fence"}),
            "aims_at": frozenset({"light"}),
        }
        for name, having in kinds.items():
            if getattr(self, name) not in (None, 0.0, ()) and self.kind not in having:
                yield Fault(name, f"must be left out of a {self.kind}", "a value")


class Seat(Row):
    """A place from which the water is seen."""

    kind: Literal["seat", "window", "stop"] = Field(
        default="seat", description="A seat, a window of the house, or where one stops on a path"
    )
    place: Place = Field(description="Where it is")
    eye_height: float | None = quantity(
        LENGTH, help="Height of the eyes above the ground", default=EYE_HEIGHT, gt=0.0, le=10.0
    )
    looks_at: tuple[Place, ...] = Field(default=(), description="What is to be seen from here")


class SectionLine(Row):
    """A line on the plan along which a section is drawn on paper."""

    line: tuple[Point, ...] = Field(description="Its points, from the left end of the section to the right")

    def broken_rules(self) -> Iterator[Fault]:
        """A section has two ends."""
        yield from at_least(2, self.line, "line", "a section")


class Shape(Section):
    """The intended shape."""

    bodies: RowsById[Body] = rows("Bodies of water")
    bank_types: RowsById[BankType] = rows("Kinds of bank")
    berms: RowsById[Berm] = rows("Berms, at most one a body")
    mounds: RowsById[Mound] = rows("Mounds")
    slopes: Slopes = Field(default=Slopes(), description="Slopes where the design meets the ground")
    ways: RowsById[Way] = rows("Paths, bridges, decks, steps, walls, beds, pads, fences and lights")
    seats: RowsById[Seat] = rows("Seats")
    sections: RowsById[SectionLine] = rows("Sections on paper; none are two through each body")

    def berm(self, body: str) -> Berm:
        """Berm of a body: the row that names it, or a berm of stated defaults."""
        return next((berm for berm in self.berms.values() if berm.body == body), Berm(body=body))

    def broken_rules(self) -> Iterator[Fault]:
        """A body has one berm at most."""
        yield from repeated("berms", (berm.body for berm in self.berms.values()))


def first_kept(bodies: Mapping[str, Body]) -> str | None:
    """First body, in the order of carving, whose level is to keep soil balanced; none if there is none."""
    kept = [(body.rank, name) for name, body in bodies.items() if body.keep_balanced]
    return min(kept)[1] if kept else None


def _standard(name: str, corners: tuple[BankCorner, ...]) -> BankType:
    return BankType(
        name=name,
        points=tuple(BankPoint(distance=corner.distance, depth=corner.depth) for corner in corners),
        zone_names=tuple(corner.zone_after for corner in corners),
    )


STANDARD_BANK = _standard("standard bank", standard_bank())
STANDARD_STREAM = _standard("stream bed", standard_bank("stream"))


def ready_bank_types() -> dict[str, BankType]:
    """Bank types to begin with, by their ids: shelved, beach, planted, wall, under a deck, wading edge.

    Returns
    -------
    dict of BankType     New to copy into a job; common practice, no source. [m]
    """
    return {bank.id: _standard(bank.name, bank.corners) for bank in ready_banks()}
