"""Points to set out that are no pegs of a shore: of ways, gates, mounds, low spots, seats and sections."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from pondwright.base.kinds import ELEVATION, LENGTH, Kind
from pondwright.base.units import format_value
from pondwright.geometry.surface import surface_at
from pondwright.job.document import Job
from pondwright.job.fields import value_of
from pondwright.job.places import LinePlace, PointPlace, RingPlace
from pondwright.job.shape import Way
from pondwright.papers import design_map, ground_map
from pondwright.papers.cuts import cuts_of

Row = tuple[str, str, str, str]
"""Mark, east, north and height; a height that nobody tells is empty."""

WAYS_NOTE = (
    "W1.1 is the first point of W1: of a line on its middle, of an area a peg of its edge. The level is that "
    "of the finished way."
)


@dataclass(frozen=True, slots=True)
class PointTable:
    """Points to set out: what they are of, a note, what their heights are, and the points."""

    title: str
    rows: list[Row]
    heights: str = ""
    note: str = ""


def number_words(value: float, kind: Kind, job: Job) -> str:
    """A length or a height in the units of the job, without the unit."""
    words = format_value(float(value), kind, job.shown_units)
    return words.removesuffix(" m").removesuffix(" ft")


def point_tables(job: Job, results: Mapping[str, Any]) -> Iterator[PointTable]:
    """Points to set out beside the pegs of the shores.

    Parameters
    ----------
    job : Job
    results : mapping     Results by stage: `site.ground`, `shape.shore`, `shape.grading`.

    Yields
    ------
    PointTable            None where there are no such points.
    """
    grid, finish = results["shape.shore"].grid, results["shape.grading"].z

    def row(mark: str, east: float, north: float, height: float | None) -> Row:
        told = "" if height is None else number_words(height, ELEVATION, job)
        return mark, number_words(east, LENGTH, job), number_words(north, LENGTH, job), told

    def on_finish(east: float, north: float) -> float | None:
        west, south, far_east, far_north = grid.extent
        if not (west <= east <= far_east and south <= north <= far_north):
            return None
        return float(surface_at(finish, grid, np.array([[east, north]]))[0])

    tables = [
        PointTable("Points of ways", [row(*point) for point in _ways(job)], "level", WAYS_NOTE),
        PointTable("Gates of fences, their middle", [row(*point) for point in _gates(job)]),
    ]
    for name, mound in job.shape.mounds.items():
        pegs = [
            row(peg.id, peg.east, peg.north, on_finish(peg.east, peg.north)) for peg in mound.place.curve.pegs
        ]
        tables.append(PointTable(f"Foot: {ground_map.called(name, mound)}", pegs, "finish"))
    low = [
        row(ground_map.called(name, job.shape.bodies[name]), *place)
        for name, *place in design_map.low_places(job, grid, results["shape.shore"].bodies, finish)
    ]
    tables.append(PointTable("Low spots", low, "floor"))
    seats = [
        row(
            ground_map.called(name, seat, seat.kind),
            seat.place.east,
            seat.place.north,
            on_finish(seat.place.east, seat.place.north),
        )
        for name, seat in job.shape.seats.items()
        if isinstance(seat.place, PointPlace)
    ]
    tables.append(PointTable("Seats and windows", seats, "finish"))
    ends = [
        row(mark, float(cut.line[at, 0]), float(cut.line[at, 1]), None)
        for cut in cuts_of(job, results)
        for mark, at in ((cut.letter, 0), (f"{cut.letter}′", -1))
    ]
    tables.append(PointTable("Ends of sections", ends))
    yield from (table for table in tables if table.rows)


def _ways(job: Job) -> Iterator[tuple[str, float, float, float | None]]:
    """Points of each way by its number; of those along a shore the pegs there are told already."""
    for number, way in enumerate(job.shape.ways.values(), start=1):
        if isinstance(way.place, PointPlace):
            yield f"W{number}", way.place.east, way.place.north, way.level
            if way.aims_at is not None:
                yield f"W{number}, aimed at", way.aims_at.east, way.aims_at.north, None
        elif isinstance(way.place, LinePlace):
            heights = _heights(way, len(way.place.points))
            for at, (point, height) in enumerate(zip(way.place.points, heights, strict=True), start=1):
                yield f"W{number}.{at}", point.east, point.north, height
        elif isinstance(way.place, RingPlace):
            for at, peg in enumerate(way.place.curve.pegs, start=1):
                yield f"W{number}.{at}", peg.east, peg.north, way.level


def _heights(way: Way, count: int) -> list[float | None]:
    """Level of each point of a way: of one that rises only those at its ends are told."""
    if way.end_level is None:
        return [way.level] * count
    return [way.level, *[None] * (count - 2), way.end_level]


def _gates(job: Job) -> Iterator[tuple[str, float, float, float | None]]:
    for number, way in enumerate(job.shape.ways.values(), start=1):
        line = ground_map.line_of(way.place)
        for gate in way.gates if line is not None else ():
            at = shapely.LineString(line).interpolate(gate.distance)
            width = format_value(float(value_of(gate, "width")), LENGTH, job.shown_units)
            yield f"W{number}, {width} wide", at.x, at.y, None
