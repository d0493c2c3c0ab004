"""Places: the one vocabulary for where something is, and what every row of a map has.

A place names what it stands on (a body, a stretch of its shore between two pegs) rather than
repeating coordinates, so that it follows when the shore is dragged.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

from pydantic import Field

from pondwright.base.errors import Fault
from pondwright.base.kinds import LENGTH
from pondwright.job.fields import FileHash, Id, Line, Section, Text, quantity

OUTER_RING = "outer"

Status = Literal["existing", "keep", "remove", "new", "later"]


class Range(Section):
    """An uncertain number: low, likely and high, with where it comes from."""

    low: float = Field(description="Seldom less than this")
    likely: float = Field(description="The best single guess")
    high: float = Field(description="Seldom more than this")
    source: Line = Field(default="", description="Where the three numbers come from")

    def broken_rules(self) -> Iterator[Fault]:
        """Low, likely and high must stand in that order."""
        if not self.low <= self.likely <= self.high:
            found = f"low {self.low:g}, likely {self.likely:g}, high {self.high:g}"
            yield Fault("", "must have low <= likely <= high", found)


class Point(Section):
    """A point of the plan, in the job's own grid."""

    east: float = quantity(LENGTH, help="East of the grid's zero")
    north: float = quantity(LENGTH, help="North of the grid's zero")


class Peg(Section):
    """A peg that bends a shoreline; its id stays the same when it is moved."""

    id: Id = Field(description="Stable name of the peg, unique on its curve")
    east: float = quantity(LENGTH, help="East of the grid's zero")
    north: float = quantity(LENGTH, help="North of the grid's zero")
    corner: bool = Field(default=False, description="The curve breaks here instead of running on")


class Curve(Section):
    """A smooth curve through pegs, closed or open by where it is used."""

    pegs: tuple[Peg, ...] = Field(description="The pegs in order along the curve")

    def broken_rules(self) -> Iterator[Fault]:
        """Every peg needs its own id, and a curve two pegs or more."""
        yield from at_least(2, self.pegs, "pegs", "a curve")
        yield from repeated("pegs", (peg.id for peg in self.pegs))


def at_least(least: int, items: Sequence[object], path: str, thing: str) -> Iterator[Fault]:
    """Fault of a list that is too short for the thing that it makes up."""
    if len(items) < least:
        yield Fault(path, f"must have at least {least} {path.rsplit('.')[-1]} for {thing}", f"{len(items)}")


def repeated(path: str, ids: Iterator[str]) -> Iterator[Fault]:
    """Faults of ids that stand more than once in a list."""
    for name, count in Counter(ids).items():
        if count > 1:
            yield Fault(path, "must each have their own id", f"`{name}` {count} times")


def closed(curve: Curve, path: str) -> Iterator[Fault]:
    """Fault of a curve that is to be a closed ring and has too few pegs."""
    yield from at_least(3, curve.pegs, f"{path}.pegs", "a closed ring")


class PointPlace(Section):
    """At one point."""

    at: Literal["point"] = Field(description="The word `point`")
    east: float = quantity(LENGTH, help="East of the grid's zero")
    north: float = quantity(LENGTH, help="North of the grid's zero")


class LinePlace(Section):
    """Along a line of straight pieces."""

    at: Literal["line"] = Field(description="The word `line`")
    points: tuple[Point, ...] = Field(description="The points of the line in order")

    def broken_rules(self) -> Iterator[Fault]:
        """A line needs two points."""
        yield from at_least(2, self.points, "points", "a line")


class RingPlace(Section):
    """Inside a closed curve of its own."""

    at: Literal["ring"] = Field(description="The word `ring`")
    curve: Curve = Field(description="The closed curve")

    def broken_rules(self) -> Iterator[Fault]:
        """A ring needs three pegs."""
        yield from closed(self.curve, "curve")


class StretchPlace(Section):
    """Along a body's shore, from one peg on to another in the order of the pegs."""

    at: Literal["stretch"] = Field(description="The word `stretch`")
    body: Id = Field(description="The body of water")
    ring: Id = Field(default=OUTER_RING, description="`outer`, or the id of an island")
    start: Id = Field(description="Peg where the stretch begins")
    end: Id = Field(description="Peg where the stretch ends")


class PartPlace(Section):
    """One zone of a body's bank, counted from the water's edge inward."""

    at: Literal["part"] = Field(description="The word `part`")
    body: Id = Field(description="The body of water")
    zone: int = Field(ge=0, le=200, description="Zone of the bank: 0 is the first below the edge")


class WholePlace(Section):
    """A whole body, or the whole site."""

    at: Literal["whole"] = Field(description="The word `whole`")
    body: Id | None = Field(default=None, description="The body of water; none is the whole site")


Place = Annotated[
    PointPlace | LinePlace | RingPlace | StretchPlace | PartPlace | WholePlace,
    Field(discriminator="at"),
]


class Row(Section):
    """What every row of a map has: a name, a note, files, and whether it is there yet."""

    name: Line = Field(default="", description="What people call it")
    note: Text = Field(default="", description="Anything worth saying about it")
    files: tuple[FileHash, ...] = Field(default=(), description="Photos and papers, by hash")
    status: Status = Field(default="new", description="Is it there, does it stay, is it to be built")
    stage: Id | None = Field(default=None, description="Stage of the build in which it is made")
