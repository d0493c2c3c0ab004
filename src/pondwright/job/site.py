"""The site as found: the frame, marks, books of readings, shots, soils, and what stands there."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from pondwright.base.errors import Fault
from pondwright.base.kinds import ANGLE, DENSITY, ELEVATION, LENGTH, RATIO, SPEED, TIME
from pondwright.base.sources import PRACTICE, Source
from pondwright.job.fields import (
    Default,
    FileHash,
    Id,
    Line,
    RowsById,
    Section,
    Text,
    quantity,
    rows,
)
from pondwright.job.places import Place, Point, PointPlace, Range, RingPlace, Row, at_least
from pondwright.job.tables import soil_number

SoilKind = Literal["topsoil", "clay", "silt", "sand", "gravel", "rock", "muck"]
Surface = Literal["ground", "muck", "firm", "water", "structure"]
ReadingKind = Literal["side", "turn", "check"]
ThingKind = Literal[
    "tree",
    "utility",
    "structure",
    "pipe",
    "well",
    "septic",
    "stone_pile",
    "soil_pile",
    "access",
    "fence",
    "house",
    "light",
]
Service = Literal[
    "water", "gas", "electric", "communications", "sewer", "drain", "irrigation", "heat", "other"
]
BoundKind = Literal[
    "boundary", "setback", "easement", "septic", "well", "flood", "wetland", "stream", "tree", "other"
]
Season = Literal["dry", "usual", "wet", "flood"]
MOST_CLOUD_POINTS = 8_000

SHOT_SIGMA = Default(0.010, PRACTICE, "height of a rod shot with a rotating laser, one standard deviation")
CLOUD_SIGMA = Default(0.030, PRACTICE, "height of a point of a measured surface, one standard deviation")
MARK_SIGMA = Default(0.0, PRACTICE, "benchmarks are taken as exact: heights are relative to them")


def soil_default(name: str) -> Default:
    """Stated default of a soil layer that depends on the kind of soil."""
    by_kind = Source("table of soils", "a source for each kind")
    return Default(None, by_kind, "by the kind of soil", by=lambda layer: soil_number(layer.kind, name))


class GridFrame(Section):
    """Where the grid of nodes lies on which the ground is worked out."""

    origin_east: float = quantity(LENGTH, help="East of the south-west node")
    origin_north: float = quantity(LENGTH, help="North of the south-west node")
    spacing: float = quantity(LENGTH, help="Distance between nodes", ge=0.01, le=100.0)
    columns: int = Field(ge=2, le=20_000, description="Nodes from west to east")
    rows: int = Field(ge=2, le=20_000, description="Nodes from south to north")


class Frame(Section):
    """How the job's own coordinates lie on the earth."""

    epsg: int | None = Field(default=None, ge=1024, le=99_999, description="Code of the map grid, if any")
    origin_east: float = quantity(LENGTH, help="Map east of the job's zero", default=0.0)
    origin_north: float = quantity(LENGTH, help="Map north of the job's zero", default=0.0)
    true_north: float = quantity(
        ANGLE, help="Turn from grid north to true north, clockwise", default=0.0, ge=-6.3, le=6.3
    )
    datum_note: Line = Field(default="", description="What height zero is, in words")
    grid: GridFrame | None = Field(default=None, description="Grid of nodes; none is chosen from the shots")


class Mark(Row):
    """A benchmark or a known point."""

    place: PointPlace | None = Field(default=None, description="Where it is, if it is on the plan")
    elevation: float | None = quantity(ELEVATION, help="Known elevation", default=None)
    sigma: float | None = quantity(
        LENGTH, help="Standard deviation of the elevation", default=MARK_SIGMA, ge=0.0, le=10.0
    )


class Reading(Section):
    """One rod reading from a set-up."""

    point: Id = Field(description="The shot or mark on which the rod stood")
    rod: float = quantity(LENGTH, help="Rod reading", ge=-20.0, le=20.0)
    kind: ReadingKind = Field(
        default="side", description="`side` is only read, `turn` carries the level on, `check` closes"
    )
    distance: float | None = quantity(LENGTH, help="Length of the sight", default=None, gt=0.0, le=1000.0)
    noted: float | None = quantity(
        ELEVATION, help="Elevation as it was worked out in the field book", default=None
    )


class SetUp(Section):
    """One set-up of the instrument: backsights first, then the readings."""

    station: Line = Field(description="Where the instrument stood")
    backsights: tuple[Reading, ...] = Field(description="Readings on points of known elevation")
    readings: tuple[Reading, ...] = Field(default=(), description="All other readings in order")


class TwoPegTest(Section):
    """The two-peg test of the instrument: two readings from the middle, two from near A."""

    middle_a: float = quantity(LENGTH, help="Reading on A from the middle")
    middle_b: float = quantity(LENGTH, help="Reading on B from the middle")
    near_a: float = quantity(LENGTH, help="Reading on A from near A")
    near_b: float = quantity(LENGTH, help="Reading on B from near A")
    sight_difference: float = quantity(LENGTH, help="Sight to A less sight to B, from near A")


class Book(Row):
    """A level book: set-ups with their readings."""

    instrument: Line = Field(default="", description="Which instrument")
    unit: Literal["m", "ft", "ft_in"] = Field(default="m", description="Unit in which the rod was read")
    reads: Literal["down", "up"] = Field(
        default="down",
        description="`down`: a larger reading is lower ground; `up`: it is higher, as on a direct-reading "
        "rod, or where heights are told as plus or minus from a water line",
    )
    adjust: Literal["set_ups", "distance"] = Field(
        default="set_ups", description="What a misclosure is shared out by"
    )
    date: datetime.date | None = Field(default=None, description="Day of the readings")
    two_peg: TwoPegTest | None = Field(default=None, description="Test of the instrument, if made")
    set_ups: tuple[SetUp, ...] = Field(default=(), description="Set-ups in order")


class ByCoordinates(Section):
    """The shot was located by its coordinates."""

    by: Literal["coordinates"] = Field(description="The word `coordinates`")
    east: float = quantity(LENGTH, help="East of the grid's zero")
    north: float = quantity(LENGTH, help="North of the grid's zero")


class ByBook(Section):
    """The shot has a level in a book and no place on the plan yet."""

    by: Literal["book"] = Field(description="The word `book`")


class ByOffset(Section):
    """The shot was located along and off a base line between two marks."""

    by: Literal["offset"] = Field(description="The word `offset`")
    base: tuple[Id, Id] = Field(description="The two marks of the base line")
    along: float = quantity(LENGTH, help="Distance along the base line from its first mark")
    off: float = quantity(LENGTH, help="Distance off the base line, left is positive")


class ByGrid(Section):
    """The shot was located by whole steps along and off a base line between two marks."""

    by: Literal["grid"] = Field(description="The word `grid`")
    base: tuple[Id, Id] = Field(description="The two marks of the base line")
    spacing: float = quantity(LENGTH, help="Length of one step", gt=0.0, le=1000.0)
    along: float = Field(ge=-10_000, le=10_000, description="Steps along the base line from its first mark")
    off: float = Field(ge=-10_000, le=10_000, description="Steps off the base line, left is positive")


class ByBearing(Section):
    """The shot was located by bearing and distance from a mark."""

    by: Literal["bearing"] = Field(description="The word `bearing`")
    from_mark: Id = Field(description="The mark stood on")
    bearing: float = quantity(ANGLE, help="Clockwise from grid north", ge=-6.3, le=6.3)
    distance: float = quantity(LENGTH, help="Level distance", ge=0.0)


class Tape(Section):
    """One taped distance from a mark."""

    mark: Id = Field(description="The mark at the tape's zero")
    distance: float = quantity(LENGTH, help="Level distance", ge=0.0)


class ByTapes(Section):
    """The shot was located by two or three tapes."""

    by: Literal["tapes"] = Field(description="The word `tapes`")
    tapes: tuple[Tape, ...] = Field(description="Two or three tapes")
    side: Literal["left", "right"] = Field(
        default="left", description="Side of the line from the first mark to the second"
    )

    def broken_rules(self) -> Iterator[Fault]:
        """Two or three tapes, each from its own mark."""
        if not 2 <= len(self.tapes) <= 3:
            yield Fault("tapes", "must be two or three tapes", str(len(self.tapes)))
        if len({tape.mark for tape in self.tapes}) < len(self.tapes):
            yield Fault("tapes", "must each start at another mark")


ShotPlace = Annotated[
    ByCoordinates | ByBook | ByGrid | ByOffset | ByBearing | ByTapes, Field(discriminator="by")
]


class Shot(Row):
    """One survey shot: where, how high, and on what the rod stood."""

    place: ShotPlace = Field(description="How the shot was located")
    elevation: float | None = quantity(
        ELEVATION, help="Elevation; none is taken from the level books", default=None
    )
    code: Line = Field(default="", description="What was shot, in the surveyor's own code")
    surface: Surface = Field(default="ground", description="What the rod stood on")
    survey: Id | None = Field(default=None, description="The survey of which it is a part")
    sigma: float | None = quantity(
        LENGTH, help="Standard deviation of the elevation", default=SHOT_SIGMA, gt=0.0, le=10.0
    )


class SurveyLine(Row):
    """A line of the survey: a break in the ground, its limit, a void in it, or a shore painted on it."""

    kind: Literal["break", "limit", "void", "paint"] = Field(
        description="What the line does to the ground; `paint`, a shoreline on the grass, does nothing"
    )
    shots: tuple[Id, ...] = Field(default=(), description="Shots along the line, with their heights")
    line: tuple[Point, ...] = Field(default=(), description="Points in plan only, instead of shots")

    def broken_rules(self) -> Iterator[Fault]:
        """A line runs through shots or through points, and is long enough for its kind."""
        if bool(self.shots) == bool(self.line):
            yield Fault("", "must have either `shots` or `line`, and not both")
            return
        least, thing = (2, "a break line") if self.kind == "break" else (3, "a closed line")
        yield from at_least(least, self.shots or self.line, "shots" if self.shots else "line", thing)


class Transform(Section):
    """How a file's own coordinates are brought into the job's."""

    east: float = quantity(LENGTH, help="Shift to the east", default=0.0)
    north: float = quantity(LENGTH, help="Shift to the north", default=0.0)
    up: float = quantity(LENGTH, help="Shift upward", default=0.0)
    turn: float = quantity(ANGLE, help="Turn, clockwise", default=0.0, ge=-6.3, le=6.3)
    scale: float = quantity(RATIO, help="Factor from the file's unit to metres", default=1.0, gt=0.0)


class Survey(Row):
    """One survey among several, so that a later one can replace an earlier one where it was shot again."""

    date: datetime.date | None = Field(default=None, description="Day of the survey")
    replaces: bool = Field(default=True, description="It replaces what was shot before on the same ground")
    place: RingPlace | None = Field(
        default=None,
        description="Where it replaces what was shot before; none is all ground between its shots",
    )


class Cloud(Row):
    """A measured surface, thinned to the points that tell it; the file itself stays with its owner."""

    file: FileHash = Field(description="The file that it was read from, by hash")
    from_file: Line = Field(default="", description="Name of that file")
    kind: Literal["cloud", "grid", "surface"] = Field(description="What was in the file")
    count: int = Field(default=0, ge=0, description="Points or cells that were read from it")
    epsg: int | None = Field(default=None, ge=1024, le=99_999, description="Code of the file's own map grid")
    transform: Transform = Field(default=Transform(), description="From the file into the job")
    east: tuple[float, ...] = Field(
        default=(), max_length=MOST_CLOUD_POINTS, description="East of each point of the thinned surface [m]"
    )
    north: tuple[float, ...] = Field(
        default=(), max_length=MOST_CLOUD_POINTS, description="North of each point [m]"
    )
    elevation: tuple[float, ...] = Field(
        default=(), max_length=MOST_CLOUD_POINTS, description="Elevation of each point [m]"
    )
    tolerance: float | None = quantity(
        LENGTH, help="Largest miss of the thinned surface against what was read", default=None, ge=0.0
    )
    sigma: float | None = quantity(
        LENGTH, help="Standard deviation of one point's elevation", default=CLOUD_SIGMA, gt=0.0, le=10.0
    )
    survey: Id | None = Field(default=None, description="The survey of which it is a part")

    def broken_rules(self) -> Iterator[Fault]:
        """Each point needs its east, north and elevation."""
        lengths = (len(self.east), len(self.north), len(self.elevation))
        if len(set(lengths)) > 1:
            yield Fault(
                "", "must have as many of `east`, `north` and `elevation`", ", ".join(map(str, lengths))
            )


class SoilLayer(Section):
    """One layer of soil, with how it swells when dug and shrinks when placed."""

    kind: SoilKind = Field(description="What it is")
    thickness: float | None = quantity(
        LENGTH, help="Thickness; none reaches to the bottom", default=None, gt=0.0, le=100.0
    )
    permeability: Range | None = quantity(
        SPEED, help="Permeability, low, likely and high; none is not known", default=None
    )
    bulking: float | None = quantity(
        RATIO,
        help="Loose volume for one of bank",
        default=soil_default("bulking"),
        ge=1.0,
        le=3.0,
    )
    compaction: float | None = quantity(
        RATIO,
        help="Compacted volume for one of bank",
        default=soil_default("compaction"),
        ge=0.3,
        le=2.0,
    )
    bank_density: float | None = quantity(
        DENSITY,
        help="Density in the bank, moist",
        default=soil_default("bank_density"),
        ge=500.0,
        le=4000.0,
    )
    angle: float | None = quantity(
        ANGLE,
        help="Angle at which it stands, loose and drained",
        default=soil_default("angle"),
        ge=0.0,
        le=1.5,
    )


class Soil(Row):
    """Layers of soil at a place, from the top down."""

    place: Place = Field(description="Where these layers hold")
    layers: tuple[SoilLayer, ...] = Field(description="Layers from the top down")

    def broken_rules(self) -> Iterator[Fault]:
        """Only the lowest layer may reach to the bottom."""
        yield from at_least(1, self.layers, "layers", "a soil")
        for index, layer in enumerate(self.layers[:-1]):
            if layer.thickness is None:
                yield Fault(
                    f"layers.{index}.thickness", "is missing: only the lowest layer may reach to the bottom"
                )


class ProbeLayer(Section):
    """One layer that a probe went through."""

    kind: SoilKind = Field(description="What it is")
    thickness: float = quantity(LENGTH, help="How thick it is", gt=0.0, le=100.0)


class WaterRise(Section):
    """How high water stood in a probe after a time."""

    time: float = quantity(TIME, help="Time since it was opened", ge=0.0)
    depth: float = quantity(LENGTH, help="Depth of the water below the ground", ge=-10.0, le=100.0)


class Probe(Row):
    """A place where the ground was opened or probed: a rod pushed down, a pit, a bore."""

    place: PointPlace = Field(description="Where it is")
    how: Literal["rod", "pit", "bore"] = Field(default="rod", description="How the ground was tried")
    date: datetime.date | None = Field(default=None, description="Day of the probe")
    layers: tuple[ProbeLayer, ...] = Field(default=(), description="Layers from the top down")
    water_depth: float | None = quantity(
        LENGTH, help="Where water stood at last, below the ground", default=None, ge=-10.0, le=100.0
    )
    rises: tuple[WaterRise, ...] = Field(default=(), description="How the water rose")


class WaterMark(Row):
    """How high the water stood in a season: measured, seen on the bank, or told."""

    elevation: float = quantity(ELEVATION, help="Elevation of the water")
    season: Season = Field(description="When it stands there")
    how: Literal["measured", "seen", "told"] = Field(default="seen", description="How it is known")
    date: datetime.date | None = Field(default=None, description="Day on which it stood there")
    place: PointPlace | None = Field(default=None, description="Where the mark is")


class Bound(Row):
    """A line not to cross: what must stay on one side of it, or well clear of it."""

    kind: BoundKind = Field(description="What it is")
    place: Place = Field(description="Where it runs")
    keep: Literal["inside", "outside"] | None = Field(
        default=None, description="Where the work must stay; none is inside a boundary and outside all else"
    )
    clear: float = quantity(LENGTH, help="Distance to keep clear of it", default=0.0, ge=0.0, le=10_000.0)

    def broken_rules(self) -> Iterator[Fault]:
        """Only a ring has an inside."""
        if self.keep == "inside" and not isinstance(self.place, RingPlace):
            yield Fault("keep", "must be `outside` or missing: only a ring has an inside", self.place.at)


class WalkAnswer(Row):
    """What was found on the walk about one point of its list."""

    ask: Line = Field(default="", description="The question, where it is not one of the list")
    answer: Literal["fine", "trouble", "none", "not_looked"] = Field(
        default="not_looked",
        description="Looked at and fine, looked at and trouble, looked for and not there, or not looked at",
    )
    says: Text = Field(default="", description="What was seen")
    place: PointPlace | None = Field(default=None, description="Where it was seen")


class Thing(Row):
    """Something that stands or lies on the site."""

    kind: ThingKind = Field(description="What it is")
    place: Place = Field(description="Where it is")
    size: float | None = quantity(LENGTH, help="Its width, or a crown's spread", default=None, ge=0.0)
    height: float | None = quantity(
        LENGTH,
        help="How high it stands over the ground, or a light hangs; none is what such things have: "
        "a house 5 m, a shed 2.5 m, a fence 1.2 m, and one looks under the crown of a tree",
        default=None,
        ge=0.0,
        le=100.0,
    )
    depth: float | None = quantity(LENGTH, help="How deep it lies", default=None, ge=0.0)
    clear: float | None = quantity(LENGTH, help="Distance to keep clear of it", default=None, ge=0.0)
    service: Service | None = Field(default=None, description="What a buried service carries")
    private: bool = Field(default=False, description="A service that nobody comes to mark")
    sure: float | None = quantity(
        LENGTH, help="How far its drawn place or depth may be off", default=None, ge=0.0, le=100.0
    )
    ticket: Line = Field(default="", description="Number under which it was marked")
    marked_until: datetime.date | None = Field(default=None, description="Last day on which the marks hold")


class Tie(Section):
    """One point of a picture tied to the plan."""

    across: float = Field(description="Pixels from the left")
    down: float = Field(description="Pixels from the top")
    east: float = quantity(LENGTH, help="East of the grid's zero")
    north: float = quantity(LENGTH, help="North of the grid's zero")


class Underlay(Row):
    """A picture under the plan."""

    file: FileHash = Field(description="The picture, by hash")
    ties: tuple[Tie, ...] = Field(default=(), description="Points tied to the plan")


class Site(Section):
    """The site as found."""

    frame: Frame = Field(default=Frame(), description="How the job's coordinates lie on the earth")
    marks: RowsById[Mark] = rows("Benchmarks and known points")
    books: RowsById[Book] = rows("Level books")
    shots: RowsById[Shot] = rows("Survey shots")
    lines: RowsById[SurveyLine] = rows("Break lines, limits and voids of the survey")
    surveys: RowsById[Survey] = rows("Surveys, where there is more than one")
    clouds: RowsById[Cloud] = rows("Measured surfaces, thinned")
    soils: RowsById[Soil] = rows("Soils by place")
    probes: RowsById[Probe] = rows("Where the ground was probed or opened")
    water_marks: RowsById[WaterMark] = rows("How high the water stood, by season")
    bounds: RowsById[Bound] = rows("Lines not to cross")
    walk: RowsById[WalkAnswer] = rows("Answers of the walk round the site")
    things: RowsById[Thing] = rows("Trees, pipes, houses and the like")
    underlays: RowsById[Underlay] = rows("Pictures under the plan")
