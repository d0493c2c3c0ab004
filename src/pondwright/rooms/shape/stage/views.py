"""What is seen from the seats while something is dragged, by a sweep; the exact rays wait for the drop."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    AREA,
    COUNT,
    LENGTH,
    RATIO,
    Area,
    Areas,
    Elevation,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Ratio,
)
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside, resampled
from pondwright.geometry.surface import surface_at
from pondwright.job.curves import ring_of
from pondwright.job.fields import value_of
from pondwright.job.places import (
    OUTER_RING,
    LinePlace,
    PartPlace,
    Place,
    PointPlace,
    RingPlace,
    StretchPlace,
    WholePlace,
)
from pondwright.job.shape import Seat, Way
from pondwright.job.site import Thing
from pondwright.rooms.shape.reach import line_nearest
from pondwright.rooms.shape.shoreline import SHORE_STEP, stretch_line
from pondwright.rooms.shape.stage.grading import GradingResult
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult
from pondwright.rooms.shape.views import (
    NO_SCREENS,
    Eye,
    fall_share,
    horizon,
    screens,
    shore_seen,
    sight_lines,
    water_seen,
    waters_cover,
)

HEIGHTS: Mapping[str, Length] = MappingProxyType({"house": 5.0, "structure": 2.5, "fence": 1.2})
"""How high things stand over the ground; common practice, no source. [m]"""

FENCE_STEP: Length = 2.0
"""A screen that follows the ground is bent this often. [m]"""

OWN_HOUSE: Length = 1.0
"""A window looks out of the house that is no farther away than this. [m]"""

ROUND = 12
"""Corners of a thing that is told by its place and its width alone."""

LOOK_SHORT = 1.5
"""A line of sight to a place ends this far before it, so that the place does not hide itself. [cells]"""

CARRIES = frozenset({"path", "bridge", "deck", "steps", "pad"})
"""Kinds of ways that one sits or stands on."""

SEEN = ("shape.seats.*.place", "shape.seats.*.eye_height", "shape.grading.z", "shape.ways.*.top")


@dataclass(frozen=True, slots=True, eq=False)
class BodyView:
    """How much of one body is seen."""

    share: Ratio = figure(RATIO, "Share of this water that is seen from here", by=water_seen, uses=SEEN)


@dataclass(frozen=True, slots=True, eq=False)
class FallView:
    """How much of one fall of a stream is seen, and whether its crest is."""

    crest: bool
    share: Ratio = figure(RATIO, "Share of the fall's face that is seen from here", by=fall_share, uses=SEEN)


@dataclass(frozen=True, slots=True, eq=False)
class SeatView:
    """What is seen from one seat."""

    eye: Eye
    mask: NDArray[np.bool_]
    looks: tuple[bool, ...]
    bodies: Mapping[str, BodyView]
    falls: Mapping[str, FallView]
    share: Ratio = figure(RATIO, "Share of all water that is seen", by=water_seen, uses=SEEN)
    area: Area = figure(AREA, "Water that is seen", by=water_seen, uses=SEEN)
    nearest: Length | None = figure(LENGTH, "Nearest water that is seen", by=water_seen, uses=SEEN)
    farthest: Length | None = figure(LENGTH, "Farthest water that is seen", by=water_seen, uses=SEEN)
    shore: Length = figure(LENGTH, "Shore that is seen", by=shore_seen, uses=SEEN)
    falls_seen: int = figure(COUNT, "Falls of which half or more is seen", by=fall_share, uses=SEEN)


@dataclass(frozen=True, slots=True, eq=False)
class Water:
    """One body as it is looked at: its area in each cell of its window, its level, its shore in steps."""

    body: BodyShore
    grid: Grid
    rows: slice
    columns: slice
    coverage: Areas
    levels: Elevations
    in_water: NDArray[np.bool_]
    walked: tuple[Lengths, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """All that is looked at and over."""

    cover: Elevations
    walls: FloatArray
    owners: tuple[str, ...]
    waters: Mapping[str, Water]


@dataclass(frozen=True, slots=True, eq=False)
class ViewsResult:
    """What is seen from all seats, by the sweep."""

    scene: Scene
    seats: Mapping[str, SeatView]


def views_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[ViewsResult, tuple[Finding, ...]]:
    """What is seen from all seats, by the sweep.

    Parameters
    ----------
    view : mapping        Reads `shape.seats`, `shape.ways`, `shape.bodies`, `site.things`.
    results : mapping     Needs `shape.shore`, `shape.grading`.
    last : Last           What a seat saw is taken over where nothing that it sees has moved.

    Returns
    -------
    ViewsResult; its checks wait for the exact rays.
    """
    shore, grading = results["shape.shore"], results["shape.grading"]
    rows = {path: view[path] for path in ("shape.ways", "shape.bodies", "site.things")}
    scene = _scene(rows, shore, grading, last) if view["shape.seats"] else _nothing(grading.z)
    still = _still(scene, view, last)
    seats: dict[str, SeatView] = {}
    for name, seat in view["shape.seats"].items():
        if still and last.view["shape.seats"].get(name) is seat:
            if name in last.result.seats:
                seats[name] = last.result.seats[name]
            continue
        if (eye := _eye(seat, rows, shore, scene.cover)) is not None:
            seats[name] = _seat_view(seat, eye, rows, shore, scene)
    return ViewsResult(scene, MappingProxyType(seats)), ()


def _nothing(z: Elevations) -> Scene:
    return Scene(z, NO_SCREENS, (), MappingProxyType({}))


def _scene(view: Mapping[str, Any], shore: ShoreResult, grading: GradingResult, last: Any) -> Scene:
    """All that is looked at and over, as it lies now."""
    known = last.result.scene.waters if last is not None else {}
    waters = {}
    for name, body in shore.bodies.items():
        same = name in known and known[name].body is body
        waters[name] = known[name] if same else _water(body, shore.grid)
    levels = [(water.body.distance, _levels(water.body)) for water in waters.values()]
    cover = waters_cover(grading.z, levels)
    owned = [*_walls(view["shape.ways"]), *_things(view["site.things"], cover, shore.grid)]
    walls = np.vstack([NO_SCREENS, *(each for _, each in owned)])
    owners = tuple(name for name, each in owned for _ in each)
    return Scene(cover, walls, owners, MappingProxyType(waters))


def _still(scene: Scene, view: Mapping[str, Any], last: Any) -> bool:
    """Whether all that is looked at and over is as it was last time."""
    if last is None:
        return False
    old = last.result.scene
    return (
        last.view["shape.ways"] is view["shape.ways"]
        and len(old.waters) == len(scene.waters)
        and all(old.waters.get(name) is water for name, water in scene.waters.items())
        and old.owners == scene.owners
        and np.array_equal(old.walls, scene.walls)
        and np.array_equal(old.cover, scene.cover)
    )


def _levels(body: BodyShore) -> Elevations | Elevation:
    return body.level if body.stream is None else body.level - body.stream.drop


def _water(body: BodyShore, grid: Grid) -> Water:
    part, distance = body.windowed(grid)
    first_row, end_row, first_column, end_column = body.window
    rows, columns = slice(first_row, end_row), slice(first_column, end_column)
    levels = np.broadcast_to(_levels(body), grid.shape)[rows, columns]
    return Water(
        body=body,
        grid=part,
        rows=rows,
        columns=columns,
        coverage=ring_coverage(part, body.rings),
        levels=np.ascontiguousarray(levels),
        in_water=distance > 0.0,
        walked=tuple(resampled(ring, SHORE_STEP) for ring in body.rings),
    )


def _walls(ways: Mapping[str, Way]) -> Iterator[tuple[str, FloatArray]]:
    """Screens of the walls that have a top."""
    for name, way in ways.items():
        if way.kind == "wall" and way.top is not None and way.status != "remove":
            line = _own_line(way.place)
            if line is not None:
                yield name, screens(line, np.full(len(line), way.top))


def _things(things: Mapping[str, Thing], cover: Elevations, grid: Grid) -> Iterator[tuple[str, FloatArray]]:
    """Screens of houses, sheds and fences, as high as such things are."""
    for name, thing in things.items():
        height = HEIGHTS.get(thing.kind)
        if height is None or thing.status == "remove":
            continue
        line = _own_line(thing.place)
        if line is None and isinstance(thing.place, PointPlace) and thing.size:
            angles = 2.0 * np.pi * np.arange(ROUND + 1) / ROUND
            around = 0.5 * thing.size * np.column_stack([np.cos(angles), np.sin(angles)])
            line = around + np.array([thing.place.east, thing.place.north])
        if line is None:
            continue
        if thing.kind == "fence":
            line = _stepped(line)
            yield name, screens(line, _ground(cover, grid, line) + height)
        else:
            top = float(_ground(cover, grid, line).max()) + height
            yield name, screens(line, np.full(len(line), top))


def _own_line(place: Place) -> Lengths | None:
    """Line of a place that has one of its own; a ring comes back to its start."""
    if isinstance(place, LinePlace):
        return np.array([(point.east, point.north) for point in place.points])
    if isinstance(place, RingPlace):
        ring = ring_of(place.curve).points
        return np.vstack([ring, ring[:1]])
    return None


def _stepped(line: Lengths) -> Lengths:
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    stations = np.union1d(lengths, np.arange(0.0, lengths[-1], FENCE_STEP))
    return np.column_stack([np.interp(stations, lengths, line[:, axis]) for axis in (0, 1)])


def _ground(cover: Elevations, grid: Grid, points: Lengths) -> Elevations:
    """Surface at points; one beyond the plan takes that of the edge."""
    west, south, east, north = grid.extent
    return surface_at(cover, grid, np.clip(points, (west, south), (east, north)))


def _eye(seat: Seat, view: Mapping[str, Any], shore: ShoreResult, cover: Elevations) -> Eye | None:
    """Where the eye of a seat is, or None if it has no place on the plan."""
    points = _points(seat.place, view, shore)
    if points is None or not len(points := _inside(points, shore.grid)):
        return None
    east, north = (
        points[len(points) // 2] if isinstance(seat.place, LinePlace | StretchPlace) else points.mean(0)
    )
    spot = np.array([[east, north]])
    stands = [float(_ground(cover, shore.grid, spot)[0])]
    for way in view["shape.ways"].values():
        if way.kind in CARRIES and way.level is not None and _on(way, spot):
            stands.append(way.level)
    return Eye(float(east), float(north), max(stands) + value_of(seat, "eye_height"))


def _on(way: Way, spot: Lengths) -> bool:
    """Whether a spot is on a way."""
    if isinstance(way.place, RingPlace):
        return bool(points_inside([ring_of(way.place.curve).points], spot)[0])
    line = _own_line(way.place)
    return line is not None and bool(line_nearest(spot, line)[0][0] <= 0.5 * (value_of(way, "width") or 0.0))


def _points(place: Place, view: Mapping[str, Any], shore: ShoreResult) -> Lengths | None:
    """Points of a place that lies by itself or along a shore; None of a whole body or the site."""
    if isinstance(place, PointPlace):
        return np.array([[place.east, place.north]])
    if isinstance(place, StretchPlace):
        body, row = shore.bodies[place.body], view["shape.bodies"][place.body]
        ring = body.ring_names.index(place.ring)
        curve = row.outline.curve if place.ring == OUTER_RING else row.islands[place.ring]
        pegs = [peg.id for peg in curve.pegs]
        return stretch_line(body.rings[ring], body.spans[ring], pegs, place.start, place.end)
    line = _own_line(place)
    return line[:-1] if isinstance(place, RingPlace) and line is not None else line


def _inside(points: Lengths, grid: Grid) -> Lengths:
    west, south, east, north = grid.extent
    return points[((points >= (west, south)) & (points <= (east, north))).all(axis=1)]


def _seat_view(seat: Seat, eye: Eye, view: Mapping[str, Any], shore: ShoreResult, scene: Scene) -> SeatView:
    """What is seen from one seat, by the sweep over the part of the grid that holds it and all waters."""
    walls = _walls_for(seat, eye, scene, view["site.things"])
    mask = np.zeros(scene.cover.shape, dtype=np.bool_)
    bodies: dict[str, BodyView] = {}
    seen, nearest, farthest, along = 0.0, [], [], 0.0
    rows, columns, part = _window(eye, shore.grid, scene.waters)
    over = horizon(scene.cover[rows, columns], part, eye, walls) if scene.waters else scene.cover
    for name, water in scene.waters.items():
        own = np.ascontiguousarray(
            over[
                water.rows.start - rows.start : water.rows.stop - rows.start,
                water.columns.start - columns.start : water.columns.stop - columns.start,
            ]
        )
        found, _ = water_seen(own, water.levels, water.coverage, water.grid, eye)
        mask[water.rows, water.columns] |= _nodes_seen(own, water, eye)
        bodies[name] = BodyView(found.area / water.body.area if water.body.area else 0.0)
        seen += found.area
        if found.nearest is not None and found.farthest is not None:
            nearest.append(found.nearest)
            farthest.append(found.farthest)
        for ring in water.walked:
            # Of a stream each place has the level of its reach: that of the surface at the shore.
            level = (
                water.body.level if water.body.stream is None else surface_at(water.levels, water.grid, ring)
            )
            along += shore_seen(own, water.grid, ring, level) if eye.elevation > water.body.level else 0.0
    falls = dict(_falls(eye, walls, shore, scene))
    return SeatView(
        eye=eye,
        mask=mask,
        looks=tuple(_looks(seat, eye, walls, view, shore, scene, bodies)),
        bodies=MappingProxyType(bodies),
        falls=MappingProxyType(falls),
        share=seen / shore.area if shore.area else 0.0,
        area=seen,
        nearest=min(nearest, default=None),
        farthest=max(farthest, default=None),
        shore=along,
        falls_seen=sum(fall.share >= 0.5 for fall in falls.values()),
    )


def _nodes_seen(over: Elevations, water: Water, eye: Eye) -> NDArray[np.bool_]:
    return water.in_water & (over <= water.levels) & (water.levels < eye.elevation)


def _window(eye: Eye, grid: Grid, waters: Mapping[str, Water]) -> tuple[slice, slice, Grid]:
    """Part of the grid that holds an eye and all waters; even starts keep the diagonals where they are."""
    row = int((eye.north - grid.origin_north) / grid.spacing)
    column = int((eye.east - grid.origin_east) / grid.spacing)
    first_row = min([row, *(water.rows.start for water in waters.values())]) // 2 * 2
    first_column = min([column, *(water.columns.start for water in waters.values())]) // 2 * 2
    end_row = min(max([row + 2, *(water.rows.stop for water in waters.values())]), grid.rows)
    end_column = min(max([column + 2, *(water.columns.stop for water in waters.values())]), grid.columns)
    part = replace(
        grid,
        origin_east=grid.origin_east + first_column * grid.spacing,
        origin_north=grid.origin_north + first_row * grid.spacing,
        columns=end_column - first_column,
        rows=end_row - first_row,
    )
    return slice(first_row, end_row), slice(first_column, end_column), part


def _walls_for(seat: Seat, eye: Eye, scene: Scene, things: Mapping[str, Thing]) -> FloatArray:
    """Screens that stand before a seat."""
    return scene.walls[screens_before(seat, eye, scene, things)]


def screens_before(seat: Seat, eye: Eye, scene: Scene, things: Mapping[str, Thing]) -> NDArray[np.bool_]:
    """Which screens stand before a seat: a window looks out of its own house.

    Parameters
    ----------
    seat : Seat
    eye : Eye
    scene : Scene
    things : mapping     Things of the site by id.

    Returns
    -------
    (n,) bool array      One for each screen of the scene.
    """
    kept = np.ones(len(scene.walls), dtype=np.bool_)
    if seat.kind != "window":
        return kept
    owners = np.array(scene.owners)
    spot = np.array([[eye.east, eye.north]])
    for name, thing in things.items():
        mine = owners == name
        if thing.kind == "house" and mine.any():
            ring = scene.walls[mine][:, :2]
            closed = np.vstack([ring, ring[:1]])
            if points_inside([ring], spot)[0] or line_nearest(spot, closed)[0][0] <= OWN_HOUSE:
                kept &= ~mine
    return kept


def _falls(eye: Eye, walls: FloatArray, shore: ShoreResult, scene: Scene) -> Iterator[tuple[str, FallView]]:
    """Every fall of every stream: a name of the body and the number of the fall, and how it is seen."""
    for name, body in shore.bodies.items():
        if body.stream is None:
            continue
        corridor, reaches = body.stream.corridor, body.stream.reaches
        along = np.gradient(corridor.line, corridor.station, axis=0)
        for number in range(1, len(reaches.starts)):
            at = reaches.starts[number]
            middle, way = (
                np.array([np.interp(at, corridor.station, values[:, axis]) for axis in (0, 1)])
                for values in (corridor.line, along)
            )
            way /= max(float(np.hypot(*way)), 1e-12)
            half = 0.8 * float(np.interp(at, corridor.station, corridor.half))
            across = np.outer(np.linspace(-half, half, 5), (-way[1], way[0]))
            crest = _inside(middle + across, shore.grid)
            if not len(crest):
                continue
            top, foot = (body.level - float(reaches.drops[each]) for each in (number - 1, number))
            share, over = fall_share(scene.cover, shore.grid, eye, crest, way, top, foot, walls)
            yield f"{name}-{number}", FallView(over, share)


def _looks(
    seat: Seat,
    eye: Eye,
    walls: FloatArray,
    view: Mapping[str, Any],
    shore: ShoreResult,
    scene: Scene,
    bodies: Mapping[str, BodyView],
) -> Iterator[bool]:
    """Whether each place that a seat is to look at is seen: half of it or more, of water a third."""
    for place in seat.looks_at:
        if isinstance(place, WholePlace | PartPlace):
            wanted = [place.body] if place.body else list(bodies)
            yield all(bodies[name].share >= 1.0 / 3.0 for name in wanted if name in bodies)
            continue
        points = _points(place, view, shore)
        points = points if points is None else _inside(points, shore.grid)
        if points is None or not len(points):
            yield False
            continue
        z = _ground(scene.cover, shore.grid, points)
        found = sight_lines(scene.cover, shore.grid, eye, points, z, walls, LOOK_SHORT)
        yield bool((found.horizon <= z).mean() >= 0.5)
