"""What is seen from the seats while something is dragged, by a sweep; the exact rays wait for the drop."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import reduce
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure, kept
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    AREA,
    COUNT,
    LENGTH,
    RATIO,
    Area,
    Elevation,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Ratio,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import line_length, points_inside
from pondwright.geometry.window import (
    NOWHERE,
    Window,
    changed,
    crossed,
    grown,
    joined,
    meet,
    nodes_in,
    part_of_grid,
    shifted,
    whole,
)
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
from pondwright.rooms.shape.reach import line_nearest
from pondwright.rooms.shape.shoreline import stretch_line
from pondwright.rooms.shape.sight import Eye, Swept, horizon_in, sight_lines, sweep, swept_again
from pondwright.rooms.shape.stage.rows import limits_of, way_levels
from pondwright.rooms.shape.stage.scene import (
    Scene,
    Water,
    ground_at,
    nothing_to_see,
    on_plan,
    own_line,
    scene_of,
    screens_before,
)
from pondwright.rooms.shape.stage.shore import ShoreResult
from pondwright.rooms.shape.views import WaterSeen, fall_share, shore_seen, water_seen

LOOK_SHORT = 1.5
"""A line of sight to a place ends this far before it, so that the place does not hide itself. [cells]"""

STEPS = 16
"""Steps in which the swept part of the grid grows; even. [nodes]"""

CARRIES = frozenset({"path", "bridge", "deck", "steps", "pad"})
"""Kinds of ways that one sits or stands on."""

SEEN = ("shape.seats.*.place", "shape.seats.*.eye_height", "shape.grading.z", "shape.ways.*.top")


@dataclass(frozen=True, slots=True, eq=False)
class BodyView:
    """How much of one body is seen: water, by row as well, its nodes in the window of the body, and shore."""

    window: Window
    seen: WaterSeen
    by_row: FloatArray
    nodes: NDArray[np.bool_]
    shore: Length
    share: Ratio = figure(RATIO, "Share of this water that is seen from here", by=water_seen, uses=SEEN)


@dataclass(frozen=True, slots=True, eq=False)
class FallView:
    """How much of one fall of a stream is seen, and whether its crest is."""

    crest: bool
    share: Ratio = figure(RATIO, "Share of the fall's face that is seen from here", by=fall_share, uses=SEEN)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a seat is, and the level of the highest deck or path that carries it."""

    east: Length
    north: Length
    deck: Elevation


@dataclass(frozen=True, slots=True, eq=False)
class SweptPart:
    """What the sweep from an eye went over: the screens before it, a part of the grid, its horizon.

    The sweep itself is kept to spare work after the next move and is no part of the answer: it depends on
    which surface it began with.
    """

    spot: Spot
    walls: FloatArray
    window: Window
    grid: Grid
    horizon: Swept | None = field(compare=False)


@dataclass(frozen=True, slots=True, eq=False)
class SeatView:
    """What is seen from one seat."""

    eye: Eye
    swept: SweptPart
    grid_shape: tuple[int, int]
    looks: tuple[bool, ...]
    bodies: Mapping[str, BodyView]
    falls: Mapping[str, FallView]
    falls_in_sight: tuple[str, ...]
    share: Ratio = figure(RATIO, "Share of all water that is seen", by=water_seen, uses=SEEN)
    area: Area = figure(AREA, "Water that is seen", by=water_seen, uses=SEEN)
    nearest: Length | None = figure(LENGTH, "Nearest water that is seen", by=water_seen, uses=SEEN)
    farthest: Length | None = figure(LENGTH, "Farthest water that is seen", by=water_seen, uses=SEEN)
    shore: Length = figure(LENGTH, "Shore that is seen", by=shore_seen, uses=SEEN)
    falls_seen: int = figure(COUNT, "Falls in sight: enough of each is seen", by=fall_share, uses=SEEN)

    @property
    def mask(self) -> NDArray[np.bool_]:
        """Nodes of the grid at which water is seen."""
        mask = np.zeros(self.grid_shape, dtype=np.bool_)
        for body in self.bodies.values():
            mask[nodes_in(body.window)] |= body.nodes
        return mask


@dataclass(frozen=True, slots=True, eq=False)
class ViewsResult:
    """What is seen from all seats, by the sweep."""

    seats: Mapping[str, SeatView]
    scene: Scene = kept()
    counts_from: Ratio = kept()
    """Share of a fall from which on it counts as seen. [-]"""


def views_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[ViewsResult, tuple[Finding, ...]]:
    """What is seen from all seats, by the sweep.

    Parameters
    ----------
    view : mapping        Reads `shape.seats`, `shape.ways`, `shape.bodies`, `site.things`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`.
    last : Last           What a seat saw is taken over where nothing that it sees has moved.

    Returns
    -------
    ViewsResult; its checks wait for the exact rays.
    """
    shore, grading = results["shape.shore"], results["shape.grading"]
    rows = {path: view[path] for path in ("shape.ways", "shape.bodies", "site.things", "rules")}
    if not view["shape.seats"]:
        return ViewsResult(MappingProxyType({}), nothing_to_see(grading.z), _enough(view)), ()
    known = last.result.scene.waters if last is not None else {}
    looked = _Look(rows, shore, scene_of(rows, shore, grading, known), last)
    seats: dict[str, SeatView] = {}
    for name, seat in view["shape.seats"].items():
        before = looked.before(name, seat)
        if before is not None and looked.still:
            seats[name] = before
        elif (spot := _spot(seat, before, looked)) is not None:
            seats[name] = _seat_view(seat, spot, before, looked)
    return ViewsResult(MappingProxyType(seats), looked.scene, looked.enough), ()


def _enough(view: Mapping[str, Any]) -> Ratio:
    """Share of a fall that counts as seen."""
    return limits_of(view)["shape.fall_seen"].value


class _Look:
    """All that is looked at now, and what of it changed since last time."""

    def __init__(self, view: Mapping[str, Any], shore: ShoreResult, scene: Scene, last: Any) -> None:
        self.view, self.shore, self.scene, self._last = view, shore, scene, last
        self.old: Scene | None = None if last is None else last.result.scene
        self.enough: Ratio = _enough(view)
        self.same_ways = last is not None and last.view["shape.ways"] is view["shape.ways"]
        self.changed, self.still = whole(scene.cover.shape), False
        known: Mapping[str, Water] = {} if self.old is None else self.old.waters
        self.same_waters = {name for name, water in scene.waters.items() if known.get(name) is water}
        self.moved = {name: self._moved(name) for name in scene.waters}
        self.all_waters = reduce(joined, (water.window for water in scene.waters.values()), NOWHERE)
        if self.old is not None and self.old.cover.shape == scene.cover.shape:
            # On another grid all nodes lie elsewhere, which the waters tell: no shore is taken over.
            self.changed = changed(self.old.cover, scene.cover)
            same_rows = self.same_ways and last.view["rules"] is view["rules"]
            self.still = same_rows and self.changed == NOWHERE and self._same_scene(self.old)

    def _same_scene(self, old: Scene) -> bool:
        """Whether all that is looked at and over is as it was, but for the cover."""
        return (
            list(old.waters) == list(self.scene.waters)
            and len(self.same_waters) == len(self.scene.waters)
            and old.owners == self.scene.owners
            and np.array_equal(old.walls, self.scene.walls)
        )

    def before(self, name: str, seat: Seat) -> SeatView | None:
        """What a seat saw last time that nobody has moved since, from the same grid."""
        if self._last is None or self._last.results["shape.shore"].grid != self.shore.grid:
            return None
        if self._last.view["shape.seats"].get(name) is not seat:
            return None
        found: SeatView | None = self._last.result.seats.get(name)
        return found

    def _moved(self, name: str) -> Window:
        """Window of the grid in which a water is another one than last time."""
        water = self.scene.waters[name]
        old = None if self.old is None else self.old.waters.get(name)
        if old is water:
            return NOWHERE
        if old is None or old.window != water.window:
            return water.window
        cells = changed(old.coverage, water.coverage)
        nodes = joined(changed(old.levels, water.levels), changed(old.in_water, water.in_water))
        # A cell has its own row of nodes and the next one.
        found = joined(nodes, grown(cells, 1, water.grid.shape))
        return shifted(found, water.window[0], water.window[2])


def _seat_view(seat: Seat, spot: Spot, before: SeatView | None, looked: _Look) -> SeatView:
    """What is seen from one seat, by the sweep over the part of the grid that holds it and all waters."""
    scene = looked.scene
    eye = _eye(seat, spot, before, looked)
    swept, fresh = _sweep(seat, spot, eye, before, looked)
    bodies: dict[str, BodyView] = {}
    falls: dict[str, FallView] = {}
    still = before is not None and swept.walls is before.swept.walls and eye == before.eye
    for name, water in scene.waters.items():
        kept = None if before is None else before.bodies.get(name)
        touched = joined(meet(water.window, fresh), looked.moved[name])
        if kept is not None and touched == NOWHERE and name in looked.same_waters:
            bodies[name] = kept
        else:
            own = _horizon_over(water, swept, eye)
            bodies[name] = _body_view(own, water, eye, kept, touched)
        if water.falls:
            known = before.falls if before is not None and still and name in looked.same_waters else {}
            falls |= _fall_views(water, eye, swept.walls, known, looked)
    seen = sum(body.seen.area for body in bodies.values())
    near = [body.seen for body in bodies.values()]
    area = looked.shore.area
    in_sight = tuple(fall for fall, one in falls.items() if one.share >= looked.enough)
    return SeatView(
        eye=eye,
        swept=swept,
        grid_shape=scene.cover.shape,
        looks=tuple(_looks(seat, eye, swept.walls, bodies, looked)),
        bodies=MappingProxyType(bodies),
        falls=MappingProxyType(falls),
        share=seen / area if area else 0.0,
        area=seen,
        nearest=min((each.nearest for each in near if each.nearest is not None), default=None),
        farthest=max((each.farthest for each in near if each.farthest is not None), default=None),
        shore=sum(body.shore for body in bodies.values()),
        falls_in_sight=in_sight,
        falls_seen=len(in_sight),
    )


def _eye(seat: Seat, spot: Spot, before: SeatView | None, looked: _Look) -> Eye:
    """Where the eye of a seat is: over the surface, or over the highest way that carries it."""
    here, grid = (spot.east, spot.north), looked.shore.grid
    still = before is not None and before.swept.spot == spot
    if before is not None and still and not crossed(looked.changed, grid, here, (here,)):
        return before.eye
    ground = float(ground_at(looked.scene.cover, grid, np.array([here]))[0])
    return Eye(spot.east, spot.north, max(ground, spot.deck) + value_of(seat, "eye_height"))


def _sweep(
    seat: Seat, spot: Spot, eye: Eye, before: SeatView | None, looked: _Look
) -> tuple[SweptPart, Window]:
    """Sweep from an eye, and the window of the grid in which the horizon is another than before."""
    scene = looked.scene
    # Most gardens have no screens: then they are the same object in every frame.
    walls = scene.walls
    if len(walls):
        walls = walls[screens_before(seat, eye, scene, looked.view["site.things"])]
    window = _window(eye, looked.shore.grid, looked.all_waters)
    old = None if before is None or before.eye != eye else before.swept
    cover = scene.cover[nodes_in(window)]
    if old is None or old.horizon is None or old.window != window or not scene.waters:
        part = part_of_grid(looked.shore.grid, window)
        found = sweep(cover, part, eye) if scene.waters else None
        return SweptPart(spot, walls, window, part, found), window
    found, fresh = old.horizon, NOWHERE
    touched = meet(looked.changed, window)
    if touched != NOWHERE:
        here = shifted(touched, -window[0], -window[2])
        found, fresh = swept_again(old.horizon, cover, old.grid, eye, here)
    if old.walls is walls or np.array_equal(old.walls, walls):
        return replace(old, spot=spot, horizon=found), shifted(fresh, window[0], window[2])
    return replace(old, spot=spot, walls=walls, horizon=found), window


def _window(eye: Eye, grid: Grid, waters: Window) -> Window:
    """Part of the grid that holds an eye and all waters; even starts keep the diagonals where they are.

    It grows by steps, so that a shore that moves a little does not change it.
    """
    row = int((eye.north - grid.origin_north) / grid.spacing)
    column = int((eye.east - grid.origin_east) / grid.spacing)
    first_row, end_row, first_column, end_column = joined((row, row + 2, column, column + 2), waters)
    return (
        first_row // STEPS * STEPS,
        min(-(-end_row // STEPS) * STEPS, grid.rows),
        first_column // STEPS * STEPS,
        min(-(-end_column // STEPS) * STEPS, grid.columns),
    )


def _horizon_over(water: Water, swept: SweptPart, eye: Eye) -> Elevations:
    """Horizon at the nodes of the window of a water."""
    assert swept.horizon is not None
    here = shifted(water.window, -swept.window[0], -swept.window[2])
    return horizon_in(swept.horizon, swept.grid, eye, here, swept.walls)


def _body_view(own: Elevations, water: Water, eye: Eye, before: BodyView | None, touched: Window) -> BodyView:
    """How much of one body is seen by the horizon; as before but for the rows of a window of the grid."""
    if before is None or before.nodes.shape != own.shape or touched == water.window:
        known, rows, nodes = None, slice(None), np.empty(own.shape, dtype=np.bool_)
    else:
        rows = slice(touched[0] - water.window[0], touched[1] - water.window[0])
        known, nodes = (before.by_row, (rows.start, rows.stop)), before.nodes.copy()
    found, by_row = water_seen(own, water.levels, water.coverage, water.grid, eye, known)
    levels = water.levels[rows]
    nodes[rows] = water.in_water[rows] & (own[rows] <= levels) & (levels < eye.elevation)
    above = eye.elevation > water.body.level
    return BodyView(
        window=water.window,
        seen=found,
        by_row=by_row,
        nodes=nodes,
        shore=sum(shore.seen(own) for shore in water.shores) if above else 0.0,
        share=found.area / water.body.area if water.body.area else 0.0,
    )


def _fall_views(
    water: Water, eye: Eye, walls: FloatArray, known: Mapping[str, FallView], looked: _Look
) -> dict[str, FallView]:
    """How every fall of a stream is seen; as it is known where nothing changed on the way to it."""
    found, grid = {}, looked.shore.grid
    for fall in water.falls:
        ways = (eye.east, eye.north), fall.crest
        if fall.name in known and not crossed(looked.changed, grid, *ways):
            found[fall.name] = known[fall.name]
            continue
        place = looked.scene.cover, grid, eye, fall.crest, fall.way
        share, crest = fall_share(*place, fall.top, fall.foot, walls)
        found[fall.name] = FallView(crest, share)
    return found


def _spot(seat: Seat, before: SeatView | None, looked: _Look) -> Spot | None:
    """Where a seat is, or None if it has no place on the plan."""
    if before is not None and looked.same_ways and not isinstance(seat.place, StretchPlace):
        return before.swept.spot
    points = _points(seat.place, looked.view, looked.shore)
    if points is None or not len(points := on_plan(points, looked.shore.grid)):
        return None
    east, north = (
        points[len(points) // 2] if isinstance(seat.place, LinePlace | StretchPlace) else points.mean(0)
    )
    spot = np.array([[east, north]])
    decks = [
        _deck_level(way, way.level, spot)
        for way in looked.view["shape.ways"].values()
        if way.kind in CARRIES and way.level is not None and _on(way, spot)
    ]
    return Spot(float(east), float(north), max(decks, default=-np.inf))


def _deck_level(way: Way, level: Elevation, spot: Lengths) -> Elevation:
    """Elevation of a way at a spot on it."""
    line = own_line(way.place) if way.end_level is not None else None
    if line is None:
        return level
    here = way_levels(way, line_nearest(spot, line)[1], line_length(line))
    return level if here is None else float(np.max(here))


def _on(way: Way, spot: Lengths) -> bool:
    """Whether a spot is on a way."""
    if isinstance(way.place, RingPlace):
        return bool(points_inside([ring_of(way.place.curve).points], spot)[0])
    line = own_line(way.place)
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
    line = own_line(place)
    return line[:-1] if isinstance(place, RingPlace) and line is not None else line


def _looks(
    seat: Seat, eye: Eye, walls: FloatArray, bodies: Mapping[str, BodyView], looked: _Look
) -> Iterator[bool]:
    """Whether each place that a seat is to look at is seen: half of it or more, of water a third."""
    cover, grid = looked.scene.cover, looked.shore.grid
    for place in seat.looks_at:
        if isinstance(place, WholePlace | PartPlace):
            wanted = [place.body] if place.body else list(bodies)
            yield all(bodies[name].share >= 1.0 / 3.0 for name in wanted if name in bodies)
            continue
        points = _points(place, looked.view, looked.shore)
        points = points if points is None else on_plan(points, grid)
        if points is None or not len(points):
            yield False
            continue
        z = ground_at(cover, grid, points)
        found = sight_lines(cover, grid, eye, points, z, walls, LOOK_SHORT)
        yield bool((found.horizon <= z).mean() >= 0.5)
