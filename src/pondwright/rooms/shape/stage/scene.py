"""What is looked at and over from the seats: waters with their shores and falls, the cover, and screens."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Areas, Elevation, Elevations, FloatArray, Length, Lengths, Ratio
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.sight import lay_water
from pondwright.geometry.polygon import points_inside
from pondwright.geometry.surface import surface_at
from pondwright.geometry.window import Window, nodes_in
from pondwright.job.curves import ring_of
from pondwright.job.fields import value_of
from pondwright.job.places import LinePlace, Place, PointPlace, RingPlace
from pondwright.job.shape import Seat, Way
from pondwright.job.site import Thing
from pondwright.rooms.shape.reach import line_nearest
from pondwright.rooms.shape.sight import NO_SCREENS, Eye, screens
from pondwright.rooms.shape.stage.grading import GradingResult
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult
from pondwright.rooms.shape.upright import beside
from pondwright.rooms.shape.walked import WalkedShore

HEIGHTS: Mapping[str, Length] = MappingProxyType({"house": 5.0, "structure": 2.5, "fence": 1.2})
"""How high things stand over the ground where their rows tell none; common practice, no source. [m]"""

HIDES = frozenset({*HEIGHTS, "tree", "stone_pile", "soil_pile"})
"""Kinds of things that hide what lies behind them, once they have a height; a light does not."""

GROWS = frozenset({"fence", "tree"})
"""Kinds of things whose top follows the ground; that of a house is level."""

UPRIGHT = frozenset({"wall", "fence"})
"""Kinds of ways that stand in the way of the eye."""

SEEN_THROUGH: Ratio = 0.5
"""Share of a fence that is open from which on one sees through it; common practice, no source. [-]"""

FENCE_STEP: Length = 2.0
"""A screen that follows the ground is bent this often. [m]"""

OWN_HOUSE: Length = 1.0
"""A window looks out of the house that is no farther away than this. [m]"""

ROUND = 12
"""Corners of a thing that is told by its place and its width alone."""


@dataclass(frozen=True, slots=True, eq=False)
class Fall:
    """One fall of a stream: its crest across the stream, which way it falls, and from where to where."""

    name: str
    crest: Lengths
    way: Lengths
    top: Elevation
    foot: Elevation


@dataclass(frozen=True, slots=True, eq=False)
class Water:
    """One body as it is looked at: its area in each cell of its window, its level, shore and falls."""

    body: BodyShore
    grid: Grid
    window: Window
    coverage: Areas
    levels: Elevations
    in_water: NDArray[np.bool_]
    shores: tuple[WalkedShore, ...]
    falls: tuple[Fall, ...]

    @property
    def rows(self) -> slice:
        """Rows of its window."""
        return slice(*self.window[:2])

    @property
    def columns(self) -> slice:
        """Columns of its window."""
        return slice(*self.window[2:])


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """All that is looked at and over."""

    cover: Elevations
    walls: FloatArray
    owners: tuple[str, ...]
    waters: Mapping[str, Water]


def nothing_to_see(z: Elevations) -> Scene:
    """Scene of a job without seats: the finish alone."""
    return Scene(z, NO_SCREENS, (), MappingProxyType({}))


def scene_of(
    view: Mapping[str, Any], shore: ShoreResult, grading: GradingResult, known: Mapping[str, Water]
) -> Scene:
    """All that is looked at and over, as it lies now.

    Parameters
    ----------
    view : mapping              Holds `shape.ways` and `site.things`.
    shore : ShoreResult
    grading : GradingResult
    known : Water by id         Of last time: that of a body whose shore is the same object is taken over.

    Returns
    -------
    Scene
    """
    waters = {}
    cover = grading.z.copy()
    for name, body in shore.bodies.items():
        same = name in known and known[name].body is body
        waters[name] = known[name] if same else _water(name, body, shore.grid)
        water = waters[name]
        lay_water(water.levels, water.in_water.view(np.int8), water.window[0], water.window[2], cover)
    owned = [*_walls(view["shape.ways"], cover, shore.grid), *_things(view["site.things"], cover, shore.grid)]
    walls = np.vstack([each for _, each in owned]) if owned else NO_SCREENS
    owners = tuple(name for name, each in owned for _ in each)
    return Scene(cover, walls, owners, MappingProxyType(waters))


def _water(name: str, body: BodyShore, grid: Grid) -> Water:
    part, distance = body.windowed(grid)
    level = body.level if body.stream is None else body.level - body.stream.drop
    levels = np.ascontiguousarray(np.broadcast_to(level, grid.shape)[nodes_in(body.window)])
    shores = []
    for line in body.lines:
        walked = line.walked
        # Of a stream each place has the level of its reach: that of the surface at the shore.
        at_shore = body.level if body.stream is None else surface_at(levels, part, walked)
        shores.append(WalkedShore.of(part, walked, at_shore))
    return Water(
        body=body,
        grid=part,
        window=body.window,
        coverage=ring_coverage(part, body.rings),
        levels=levels,
        in_water=distance > 0.0,
        shores=tuple(shores),
        falls=tuple(_falls(name, body, grid)),
    )


def _falls(name: str, body: BodyShore, grid: Grid) -> Iterator[Fall]:
    """Falls of a stream whose crest lies on the plan: named by the body and the number of the fall."""
    if body.stream is None:
        return
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
        crest = on_plan(middle + across, grid)
        if len(crest):
            top, foot = (body.level - float(reaches.drops[each]) for each in (number - 1, number))
            yield Fall(f"{name}-{number}", crest, way, top, foot)


def _walls(ways: Mapping[str, Way], cover: Elevations, grid: Grid) -> Iterator[tuple[str, FloatArray]]:
    """Screens of walls and fences that one does not see through."""
    for name, way in ways.items():
        if way.kind not in UPRIGHT or way.status == "remove" or way.open_share >= SEEN_THROUGH:
            continue
        stood = upright(way, cover, grid)
        if stood is not None:
            yield name, screens(*stood)


def upright(way: Way, surface: Elevations, grid: Grid) -> tuple[Lengths, Elevations] | None:
    """Line of a wall or a fence, and its top at each point: level where it is told, else over the ground.

    Parameters
    ----------
    way : Way
    surface : (rows, columns) array     What it stands on. [m]
    grid : Grid                         Where its nodes are.

    Returns
    -------
    (n, 2) array and (n,) array, or None where it has no line. [m]
    """
    line = own_line(way.place)
    if line is None or not np.ptp(line, axis=0).any():
        return None
    if way.top is not None:
        return line, np.full(len(line), way.top)
    line = stepped(line)
    return line, beside(surface, grid, line, half_of(way, grid))[0] + value_of(way, "height")


def half_of(way: Way, grid: Grid) -> Length:
    """How far beside the middle of a wall or a fence the ground is looked at: a cell beyond its face."""
    return 0.5 * (way.width or 0.0) + grid.spacing


def _things(things: Mapping[str, Thing], cover: Elevations, grid: Grid) -> Iterator[tuple[str, FloatArray]]:
    """Screens of houses, sheds, fences, and of trees and heaps whose height is told."""
    for name, thing in things.items():
        height = height_of(thing)
        if not height or thing.status == "remove":
            continue
        line = own_line(thing.place)
        if line is None and isinstance(thing.place, PointPlace) and thing.size:
            angles = 2.0 * np.pi * np.arange(ROUND + 1) / ROUND
            around = 0.5 * thing.size * np.column_stack([np.cos(angles), np.sin(angles)])
            line = around + np.array([thing.place.east, thing.place.north])
        if line is None:
            continue
        if thing.kind in GROWS:
            line = stepped(line)
            yield name, screens(line, ground_at(cover, grid, line) + height)
        else:
            top = float(ground_at(cover, grid, line).max()) + height
            yield name, screens(line, np.full(len(line), top))


def height_of(thing: Thing) -> Length | None:
    """How high a thing stands in the way of the eye: as its row tells, or as such things are.

    Parameters
    ----------
    thing : Thing

    Returns
    -------
    Length or None     None for what hides nothing: a pipe, a light, a tree with a crown high up. [m]
    """
    if thing.kind not in HIDES:
        return None
    return HEIGHTS.get(thing.kind) if thing.height is None else thing.height


def own_line(place: Place) -> Lengths | None:
    """Line of a place that has one of its own; a ring comes back to its start."""
    if isinstance(place, LinePlace):
        return np.array([(point.east, point.north) for point in place.points])
    if isinstance(place, RingPlace):
        ring = ring_of(place.curve).points
        return np.vstack([ring, ring[:1]])
    return None


def stepped(line: Lengths) -> Lengths:
    """A line with a point at least every 2 m."""
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    stations = np.union1d(lengths, np.arange(0.0, lengths[-1], FENCE_STEP))
    return np.column_stack([np.interp(stations, lengths, line[:, axis]) for axis in (0, 1)])


def ground_at(cover: Elevations, grid: Grid, points: Lengths) -> Elevations:
    """Surface at points; one beyond the plan takes that of the edge."""
    west, south, east, north = grid.extent
    return surface_at(cover, grid, np.clip(points, (west, south), (east, north)))


def on_plan(points: Lengths, grid: Grid) -> Lengths:
    """Those of some points that lie on the plan."""
    west, south, east, north = grid.extent
    return points[((points >= (west, south)) & (points <= (east, north))).all(axis=1)]


def screens_before(seat: Seat, eye: Eye, scene: Scene, things: Mapping[str, Thing]) -> NDArray[np.bool_]:
    """Which screens stand before a seat: a window looks out of its own house, and one sits under a crown.

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
    owners, owned = np.array(scene.owners), set(scene.owners)
    spot = np.array([[eye.east, eye.north]])
    for name, thing in things.items():
        own_house = thing.kind == "house" and seat.kind == "window"
        if name not in owned or not (own_house or thing.kind == "tree"):
            continue
        mine = owners == name
        ring = scene.walls[mine][:, :2]
        inside = isinstance(thing.place, PointPlace | RingPlace) and points_inside([ring], spot)[0]
        closed = np.vstack([ring, ring[:1]])
        if inside or (own_house and line_nearest(spot, closed)[0][0] <= OWN_HOUSE):
            kept &= ~mine
    return kept
