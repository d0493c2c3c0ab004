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
    Elevation,
    FloatArray,
    Length,
    Lengths,
    Ratio,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside
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
from pondwright.rooms.shape.views import (
    Eye,
    Swept,
    WaterSeen,
    fall_share,
    shore_seen,
    sight_lines,
    sweep,
    water_seen,
)

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
    """What the sweep from an eye went over: the screens before it, a window of the grid, its horizon."""

    spot: Spot
    walls: FloatArray
    window: Window
    horizon: Swept | None


@dataclass(frozen=True, slots=True, eq=False)
class SeatView:
    """What is seen from one seat."""

    eye: Eye
    swept: SweptPart
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
    if not view["shape.seats"]:
        return ViewsResult(nothing_to_see(grading.z), MappingProxyType({})), ()
    known = last.result.scene.waters if last is not None else {}
    looked = _Look(rows, shore, scene_of(rows, shore, grading, known), last)
    seats: dict[str, SeatView] = {}
    for name, seat in view["shape.seats"].items():
        before = looked.before(name, seat)
        if before is not None and looked.still:
            seats[name] = before
        elif (spot := _spot(seat, before, looked)) is not None:
            seats[name] = _seat_view(seat, spot, before, looked)
    return ViewsResult(looked.scene, MappingProxyType(seats)), ()


class _Look:
    """All that is looked at now, and what of it changed since last time."""

    def __init__(self, view: Mapping[str, Any], shore: ShoreResult, scene: Scene, last: Any) -> None:
        self.view, self.shore, self.scene, self._last = view, shore, scene, last
        self.old: Scene | None = None if last is None else last.result.scene
        self.same_ways = last is not None and last.view["shape.ways"] is view["shape.ways"]
        self.changed, self.still = whole(scene.cover.shape), False
        self.moved = {name: self._moved(name) for name in scene.waters}
        if self.old is not None and self.old.cover.shape == scene.cover.shape:
            # On another grid all nodes lie elsewhere, which the waters tell: no shore is taken over.
            self.changed = changed(self.old.cover, scene.cover)
            self.still = self.same_ways and self.changed == NOWHERE and self._same_scene(self.old)

    def _same_scene(self, old: Scene) -> bool:
        """Whether all that is looked at and over is as it was, but for the cover."""
        return (
            list(old.waters) == list(self.scene.waters)
            and all(self.same_water(name) for name in self.scene.waters)
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

    def same_water(self, name: str) -> bool:
        """Whether a water is the very one of last time."""
        return self.old is not None and self.old.waters.get(name) is self.scene.waters[name]

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
    mask = np.zeros(scene.cover.shape, dtype=np.bool_)
    for name, water in scene.waters.items():
        kept = None if before is None else before.bodies.get(name)
        touched = joined(meet(water.window, fresh), looked.moved[name])
        if kept is not None and looked.same_water(name) and touched == NOWHERE:
            bodies[name] = kept
        else:
            bodies[name] = _body_view(swept, water, eye, kept, touched)
        mask[nodes_in(water.window)] |= bodies[name].nodes
        still = before is not None and swept.walls is before.swept.walls and eye == before.eye
        known = before.falls if before is not None and still and looked.same_water(name) else {}
        falls |= _fall_views(water, eye, swept.walls, known, looked)
    seen = sum(body.seen.area for body in bodies.values())
    near = [body.seen for body in bodies.values()]
    area = looked.shore.area
    return SeatView(
        eye=eye,
        swept=swept,
        mask=mask,
        looks=tuple(_looks(seat, eye, swept.walls, bodies, looked)),
        bodies=MappingProxyType(bodies),
        falls=MappingProxyType(falls),
        share=seen / area if area else 0.0,
        area=seen,
        nearest=min((each.nearest for each in near if each.nearest is not None), default=None),
        farthest=max((each.farthest for each in near if each.farthest is not None), default=None),
        shore=sum(body.shore for body in bodies.values()),
        falls_seen=sum(fall.share >= 0.5 for fall in falls.values()),
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
    walls = scene.walls[screens_before(seat, eye, scene, looked.view["site.things"])]
    window = _window(eye, looked.shore.grid, scene.waters)
    if not scene.waters:
        return SweptPart(spot, walls, window, None), window
    part, cover = part_of_grid(looked.shore.grid, window), scene.cover[nodes_in(window)]
    old = None if before is None or before.eye != eye else before.swept
    if old is None or old.horizon is None or old.window != window or not np.array_equal(old.walls, walls):
        return SweptPart(spot, walls, window, sweep(cover, part, eye, walls)[0]), window
    touched = meet(looked.changed, window)
    if touched == NOWHERE:
        return replace(old, spot=spot), NOWHERE
    here = shifted(touched, -window[0], -window[2])
    found, fresh = sweep(cover, part, eye, walls, old.horizon, here)
    return SweptPart(spot, old.walls, window, found), shifted(fresh, window[0], window[2])


def _window(eye: Eye, grid: Grid, waters: Mapping[str, Water]) -> Window:
    """Part of the grid that holds an eye and all waters; even starts keep the diagonals where they are.

    It grows by steps, so that a shore that moves a little does not change it.
    """
    row = int((eye.north - grid.origin_north) / grid.spacing)
    column = int((eye.east - grid.origin_east) / grid.spacing)
    around = (row, row + 2, column, column + 2)
    for water in waters.values():
        around = joined(around, water.window)
    first_row, end_row, first_column, end_column = around
    return (
        first_row // STEPS * STEPS,
        min(-(-end_row // STEPS) * STEPS, grid.rows),
        first_column // STEPS * STEPS,
        min(-(-end_column // STEPS) * STEPS, grid.columns),
    )


def _body_view(
    swept: SweptPart, water: Water, eye: Eye, before: BodyView | None, touched: Window
) -> BodyView:
    """How much of one body is seen by the horizon; as before but for the rows of a window of the grid."""
    assert swept.horizon is not None
    here = nodes_in(shifted(water.window, -swept.window[0], -swept.window[2]))
    own = np.ascontiguousarray(swept.horizon.over[here])
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
        ways = (eye.east, eye.north), fall.crest.tolist()
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
        way.level
        for way in looked.view["shape.ways"].values()
        if way.kind in CARRIES and way.level is not None and _on(way, spot)
    ]
    return Spot(float(east), float(north), max(decks, default=-np.inf))


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
