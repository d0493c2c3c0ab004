"""Which sections are drawn on paper, and what lies along each: ground, finish, dig, waters, walls, ways.

See Also
--------
pondwright.papers.sections : draws them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Length
from pondwright.geometry.grid import Grid
from pondwright.geometry.section import section_along
from pondwright.geometry.surface import surface_at
from pondwright.job.document import Job
from pondwright.job.fields import value_of
from pondwright.job.shape import Way
from pondwright.papers.finish_along import Along, UprightFinish
from pondwright.papers.ground_map import line_of
from pondwright.rooms.shape.laid import run_levels
from pondwright.rooms.shape.upright import beside

AROUND = 1.5  # m of untouched ground shown at both ends of a section that nobody drew
FARTHEST = 20.0  # m beyond the shore up to which slopes are followed
UNTOUCHED = 1.5  # m of ground that nobody moves: there the slopes have ended
CHANGED = 0.01  # m that is more than rounding
SPANNING = frozenset({"bridge", "deck"})
STANDING = frozenset({"wall", "fence"})
WIDTH = 1.2  # m of a way that tells none
APART = 0.02  # m between places at which water is looked for

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cut:
    """A section: its letter on the plan, what it is called, its line [m]."""

    letter: str
    title: str
    line: Points


@dataclass(frozen=True, slots=True)
class Water:
    """Water along a section, at rest: from where to where, its level, whose it is.

    With it the level of the crest that holds it, and how far from the shore that crest ends. [m]
    """

    name: str
    start: float
    end: float
    level: float
    crest: float
    bank: float


@dataclass(frozen=True, slots=True)
class Span:
    """A bridge or a deck over a section, or a path on it: from where to where, its level, its name."""

    name: str
    start: float
    end: float
    level: float


@dataclass(frozen=True, slots=True)
class Standing:
    """A wall or a fence that a section meets: its name, where, and its foot and its top [m]."""

    name: str
    at: float
    foot: float
    top: float


@dataclass(frozen=True, slots=True)
class Profile:
    """Everything along a section, by its chainage [m]; and the spacing of its grid [m]."""

    cut: Cut
    spacing: float
    chainage: Points
    ground: Points
    finish: tuple[Points, Points]
    dug_to: tuple[Points, Points]
    waters: tuple[Water, ...]
    spans: tuple[Span, ...]
    standing: tuple[Standing, ...]

    @property
    def length(self) -> float:
        """[m]"""
        return float(self.chainage[-1])

    @property
    def heights(self) -> tuple[float, float]:
        """Lowest and highest of what is drawn. [m]"""
        told = [self.ground, self.finish[1], self.dug_to[1], *(np.array([one.level]) for one in self.waters)]
        told += [np.array([one.level]) for one in self.spans]
        told += [np.array([one.top]) for one in self.standing]
        return min(float(one.min()) for one in told), max(float(one.max()) for one in told)


def cuts_of(job: Job, results: Mapping[str, Any]) -> tuple[Cut, ...]:
    """Sections of a job: those that it tells, or else two through each body.

    Parameters
    ----------
    job : Job
    results : mapping     Results by stage: `site.ground`, `shape.shore`, `shape.grading`.

    Returns
    -------
    tuple of Cut          Only the part of each line that has ground; a line off the ground is left out.
    """
    shore = results["shape.shore"]
    if job.shape.sections:
        lines = [
            (row.name or name, np.array([[one.east, one.north] for one in row.line]))
            for name, row in job.shape.sections.items()
        ]
    else:
        lines = [line for name in shore.bodies for line in _through(job, name, results)]
    kept = [(title, part) for title, line in lines if (part := _on_ground(line, shore.grid)) is not None]
    return tuple(Cut(_letter(number), title, line) for number, (title, line) in enumerate(kept))


def profile_of(
    cut: Cut, job: Job, results: Mapping[str, Any], finish: UprightFinish | None = None
) -> Profile:
    """Read all surfaces and waters along a section.

    Parameters
    ----------
    cut : Cut
    job : Job
    results : mapping           Results by stage: `site.ground`, `shape.*`, `earth.subgrade`.
    finish : UprightFinish      Made from the same results, where there are many sections.

    Returns
    -------
    Profile                     Steps of banks and falls of streams stand upright.
    """
    ground, grid = results["site.ground"], results["shape.shore"].grid
    found = section_along(ground.z, grid, cut.line, grid.spacing / 3.0)
    along = (finish or UprightFinish(job, results)).along(cut.line)
    return Profile(
        cut=cut,
        spacing=grid.spacing,
        chainage=np.array(found.chainage),
        ground=np.array(found.elevations),
        finish=(along.chainage, along.finish),
        dug_to=(along.chainage, along.dug_to),
        waters=tuple(_waters(cut.line, job, results)),
        spans=tuple(_spans(cut.line, job)),
        standing=tuple(_standing(cut.line, job, results, along)),
    )


def _letter(number: int) -> str:
    return ("" if number < 26 else chr(64 + number // 26)) + chr(65 + number % 26)


def _on_ground(line: Points, grid: Grid) -> Points | None:
    """Longest part of a line that lies on the grid."""
    box = shapely.box(grid.east[0], grid.north[0], grid.east[-1], grid.north[-1])
    parts = [
        part for part in shapely.get_parts(shapely.LineString(line).intersection(box)) if part.length > 0.5
    ]
    if not parts:
        return None
    inside = np.array(shapely.get_coordinates(max(parts, key=lambda part: part.length)))
    # Rounding may put an end a hair beyond the last node.
    low, high = (grid.east[0], grid.north[0]), (grid.east[-1], grid.north[-1])
    return np.asarray(np.clip(inside, low, high))


def _through(job: Job, name: str, results: Mapping[str, Any]) -> Iterator[tuple[str, Points]]:
    """Lines through a body: along it, and square across it where it is widest."""
    body, grid = results["shape.shore"].bodies[name], results["shape.shore"].grid
    called = job.shape.bodies[name].name or name
    moved = results["shape.grading"].z - results["site.ground"].z
    if body.stream is not None:
        line = body.stream.corridor.line
        yield f"{called}, along its middle", _longer(line)
        return
    row, column = np.unravel_index(int(np.argmax(body.distance)), body.distance.shape)
    middle = np.array([grid.east[column], grid.north[row]])
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.Polygon(body.rings[0])))
    sides = np.diff(box[:3], axis=0)
    along = sides[int(np.argmax(np.hypot(*sides.T)))]
    along = along / np.hypot(*along)
    if along[0] < 0.0:
        along = -along
    across = np.array([-along[1], along[0]])
    for words, way in (("along", along), ("across, where it is widest", across)):
        reach = (body.rings[0] - middle) @ way
        ends = np.array([float(reach.min()), float(reach.max())])
        ends += [
            -_slopes(moved, grid, middle + ends[0] * way, -way),
            _slopes(moved, grid, middle + ends[1] * way, way),
        ]
        yield f"{called}, {words}", middle + ends[:, None] * way


def _slopes(moved: Points, grid: Grid, shore: Points, outward: Points) -> float:
    """How far outward from a shore a section goes on: past the last ground that is moved. [m]"""
    steps = np.arange(0.0, FARTHEST, grid.spacing)
    places = shore + steps[:, None] * outward
    low, high = (grid.east[0], grid.north[0]), (grid.east[-1], grid.north[-1])
    changed = np.abs(surface_at(moved, grid, np.clip(places, low, high))) > CHANGED
    # Where dug ground turns into placed ground the finish touches the ground too: that is no end.
    whole = max(round(UNTOUCHED / grid.spacing), 1)
    behind = [not changed[at : at + whole].any() for at in range(len(steps))]
    return AROUND + (float(steps[behind.index(True)]) if True in behind else FARTHEST)


def _longer(line: Points) -> Points:
    """A line with some ground at both ends."""
    first, last = line[0] - line[1], line[-1] - line[-2]
    before = line[0] + AROUND * first / np.hypot(*first)
    return np.vstack([before, line, line[-1] + AROUND * last / np.hypot(*last)])


def _pieces(line: Points, area: shapely.Geometry) -> Iterator[tuple[float, float]]:
    """Where a section lies in an area, as pairs of chainages. [m]"""
    cut = shapely.LineString(line)
    shapely.prepare(area)
    stations = np.linspace(0.0, cut.length, max(int(cut.length / APART), 2))
    inside = shapely.contains_properly(area, shapely.line_interpolate_point(cut, stations))
    for run in np.split(np.arange(len(stations)), np.flatnonzero(np.diff(inside)) + 1):
        if inside[run[0]] and len(run) > 1:
            yield float(stations[run[0]]), float(stations[run[-1]])


def _waters(line: Points, job: Job, results: Mapping[str, Any]) -> Iterator[Water]:
    shore, graded = results["shape.shore"], results["shape.grading"].bodies
    taken: list[tuple[float, float]] = []
    # A stream that reaches into another water ends at that water's shore.
    for name, body in sorted(shore.bodies.items(), key=lambda item: item[1].stream is not None):
        called = job.shape.bodies[name].name or name
        area = shapely.make_valid(shapely.Polygon(body.rings[0], [ring for ring in body.rings[1:]]))
        for start, end in _pieces(line, area):
            if body.stream is None:
                taken.append((start, end))
                yield Water(called, start, end, body.level, body.crest_level, graded[name].bank.crest_end)
            else:
                yield from _reaches(line, called, (start, end), body, graded[name].bank.crest_end, taken)


def _reaches(
    line: Points,
    called: str,
    ends: tuple[float, float],
    body: Any,
    bank: float,
    taken: Sequence[tuple[float, float]],
) -> Iterator[Water]:
    """Water of a stream along a section, reach by reach, where no other water is."""
    cut, middle = shapely.LineString(line), shapely.LineString(body.stream.corridor.line)
    stations = np.arange(*ends, APART)
    stations = stations[[not any(low <= one <= high for low, high in taken) for one in stations]]
    if not len(stations):
        return
    on_stream = shapely.line_locate_point(middle, shapely.line_interpolate_point(cut, stations))
    reaches = body.stream.reaches.reach_at(on_stream)
    for run in np.split(np.arange(len(stations)), np.flatnonzero(np.diff(reaches)) + 1):
        drop = float(body.stream.reaches.drops[reaches[run[0]]])
        ends = float(stations[run[0]]), float(stations[run[-1]]) + APART
        yield Water(called, *ends, body.level - drop, body.crest_level - drop, bank)


def _spans(line: Points, job: Job) -> Iterator[Span]:
    """Bridges, decks, paths and steps with a level, where a section meets them."""
    for name, way in job.shape.ways.items():
        drawn = line_of(way.place)
        if drawn is None or way.level is None or way.kind == "wall":
            continue
        strip = shapely.LineString(drawn).buffer((way.width or WIDTH) / 2, cap_style="flat")
        for start, end in _pieces(line, strip):
            yield Span(
                way.name or name, start, end, _level_at(way, way.level, drawn, line, 0.5 * (start + end))
            )


def _standing(line: Points, job: Job, results: Mapping[str, Any], along: Along) -> Iterator[Standing]:
    """Walls and fences where a section meets them."""
    cut, grid, z = shapely.LineString(line), results["shape.shore"].grid, results["shape.grading"].z
    for name, way in job.shape.ways.items():
        drawn = line_of(way.place) if way.kind in STANDING and way.status != "remove" else None
        if drawn is None:
            continue
        path, half = shapely.LineString(drawn), 0.5 * (way.width or 0.0) + grid.spacing
        for place in shapely.get_coordinates(shapely.intersection(cut, path)):
            at, spot = cut.project(shapely.Point(place)), path.project(shapely.Point(place))
            here = shapely.get_coordinates(path.interpolate([spot - APART, spot + APART]))
            over = float(beside(z, grid, here, half)[0].max()) + (value_of(way, "height") or 0.0)
            foot = float(np.interp(at, along.chainage, along.finish))
            yield Standing(way.name or name, at, foot, over if way.top is None else way.top)


def _level_at(way: Way, level: Elevation, drawn: Points, line: Points, station: Length) -> Elevation:
    """Level of a way where a section meets it; of one that rises along its line that of the place."""
    if way.end_level is None:
        return level
    way_line = shapely.LineString(drawn)
    along = way_line.project(shapely.LineString(line).interpolate(station))
    return float(run_levels(np.array([along]), way_line.length, level, way.end_level)[0])
