"""Shores laid straight: what stands along each, place by place, for the sheets of the unrolled shore."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.geometry.polygon import points_inside
from pondwright.job.fields import value_of
from pondwright.job.places import OUTER_RING, Curve, PointPlace
from pondwright.job.shape import STANDARD_BANK, STANDARD_STREAM, Body, RingOutline, Seat, Way
from pondwright.papers.cuts import SPANNING
from pondwright.papers.ground_map import line_of
from pondwright.papers.material import Material
from pondwright.papers.openings import Opening, openings_along
from pondwright.rooms.shape.laid import run_levels
from pondwright.rooms.shape.unrolled import unrolled_shore

STEP = 0.15  # m between stations
BESIDE = 1.5  # m from the shore up to which a way goes along it
SEAT = 5.0  # m from the shore up to which a seat is told
STONE = 2.0  # m within which stone belongs to a place of the shore

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WayAlong:
    """A way along a shore: from where to where, its level or None, and whether it reaches over the water."""

    name: str
    start: float
    end: float
    level: float | None
    over: bool


@dataclass(frozen=True, slots=True)
class SeatNear:
    """A seat near a shore: where along it, and how far away."""

    name: str
    at: float
    away: float


@dataclass(frozen=True, slots=True)
class Edge:
    """One ring of a body, or one bank of a stream, by its stations.

    Heights are those of ground, water, liner and stone [m], the last two NaN where none is; `rim` is what the
    water would have to climb, `crest` the top of the bank that is built: lower where a cut face rises behind.
    `openings` tells what opens there, `reached` where a way gets near, None while unknown.
    """

    head: str
    station: Points
    points: Points
    ground: Points
    rim: Points
    crest: Points
    water: Points
    liner: Points
    stone: Points
    freeboard: float
    openings: tuple[Opening | None, ...]
    banks: tuple[str, ...]
    pegs: tuple[tuple[str, float], ...]
    reached: NDArray[np.bool_] | None
    ways: tuple[WayAlong, ...] = ()
    seats: tuple[SeatNear, ...] = ()

    @property
    def length(self) -> float:
        """[m]"""
        return float(self.station[-1])


def edges_of(material: Material, name: str) -> Iterator[Edge]:
    """Rings of a body, its outer shore first; of a stream its left and its right bank, both downstream.

    Parameters
    ----------
    material : Material
    name : str              The body.

    Yields
    ------
    Edge
    """
    body = material.result("shape.shore").bodies[name]
    for number in range(len(body.rings)):
        edge = _ring(material, name, number)
        parts = [edge] if body.stream is None or number else _banks_of_stream(edge, body)
        for part in parts:
            yield replace(
                part,
                ways=tuple(_ways(material, part)),
                seats=tuple(_seats(material, part)),
            )


def _ring(material: Material, name: str, number: int) -> Edge:
    """One whole ring, its first place again at its end."""
    row: Body = material.job.shape.bodies[name]
    body = material.result("shape.shore").bodies[name]
    ring_name, ring = body.ring_names[number], body.rings[number]
    bank = material.result("shape.grading").bodies[name].bank
    across, outer = bank.freeboard * bank.slope_in + bank.crest_width, ring_name == OUTER_RING
    found = unrolled_shore(
        ring,
        material.result("site.ground").z,
        material.result("shape.grading").z,
        material.result("shape.shore").grid,
        # The bank of an island lies on its inner side, and goes no farther in than a quarter of it.
        across if outer else -min(across, 0.25 * float(np.ptp(ring, axis=0).min())),
        STEP,
    )
    length = float(shapely.LinearRing(ring).length)
    curve = row.outline.curve if outer else row.islands[ring_name]
    pegs = tuple(_stations(ring, curve)) if body.stream is None or not outer else ()
    station = np.append(found.station * length / _around(found), length)
    points = np.vstack([found.points, found.points[:1]])
    water = _water(body, points)
    crest = found.crest(water[:-1], bank.freeboard)
    openings = openings_along(material.job, material.results, name, found, water[:-1], bank.freeboard)
    called = row.name or name
    return Edge(
        head=called if outer else f"{called}, island {ring_name}",
        station=station,
        points=points,
        ground=np.append(found.ground, found.ground[0]),
        rim=np.append(found.rim, found.rim[0]),
        crest=np.append(crest, crest[0]),
        water=water,
        liner=_liner(material, name, number, points),
        stone=_stone(material, name, number, points),
        freeboard=bank.freeboard,
        openings=(*openings, openings[0]),
        banks=tuple(_banks(material, row, ring_name, station, dict(pegs))),
        pegs=pegs,
        reached=_reached(material, name, number, points),
    )


def _banks_of_stream(edge: Edge, body: Any) -> list[Edge]:
    """Left and right bank of a stream, without its two ends."""
    corridor = body.stream.corridor
    count = len(corridor.station)
    parts = []
    for words, side in (("left bank", corridor.ring[:count]), ("right bank", corridor.ring[count:][::-1])):
        line = shapely.LineString(side)
        station = shapely.line_locate_point(line, shapely.points(edge.points))
        mine = np.flatnonzero(shapely.distance(line, shapely.points(edge.points)) < 1e-6)
        order = mine[np.unique(station[mine].round(6), return_index=True)[1]]
        parts.append(_picked(edge, order, station[order], f"{edge.head}, {words}, downstream"))
    return parts


def _picked(edge: Edge, order: NDArray[np.intp], station: Points, head: str) -> Edge:
    """Some places of an edge, in an order of their own."""
    return replace(
        edge,
        head=head,
        station=station,
        points=edge.points[order],
        ground=edge.ground[order],
        rim=edge.rim[order],
        crest=edge.crest[order],
        water=edge.water[order],
        liner=edge.liner[order],
        stone=edge.stone[order],
        openings=tuple(edge.openings[at] for at in order),
        banks=tuple(edge.banks[at] for at in order),
        reached=None if edge.reached is None else edge.reached[order],
    )


def _around(found: Any) -> float:
    """Length of the stations, all round."""
    return float(found.station[-1] + np.hypot(*(found.points[0] - found.points[-1])))


def _stations(ring: Points, curve: Curve) -> Iterator[tuple[str, float]]:
    edge = shapely.LinearRing(ring)
    for peg in curve.pegs:
        yield peg.id, float(edge.project(shapely.Point(peg.east, peg.north)))


def _water(body: Any, points: Points) -> Points:
    """Water at rest beside each place: of a stream, that of its reach."""
    if body.stream is None:
        return np.full(len(points), body.level)
    middle = shapely.LineString(body.stream.corridor.line)
    at = shapely.line_locate_point(middle, shapely.points(points))
    return np.asarray(body.level - body.stream.reaches.drops[body.stream.reaches.reach_at(at)])


def _liner(material: Material, name: str, number: int, points: Points) -> Points:
    """Height at which the liner ends behind each place; NaN where nobody knows. [m]"""
    found = material.result("lining.rim")
    rim = None if found is None else found.bodies.get(name)
    if rim is None or not (rim.ring == number).any():
        return np.full(len(points), np.nan)
    own = rim.ring == number
    nearest = shapely.STRtree(shapely.points(rim.points[own])).nearest(shapely.points(points))
    return np.asarray(rim.edge[own][nearest], dtype=np.float64)


def _stone(material: Material, name: str, number: int, points: Points) -> Points:
    """Top of the stone at each place; NaN where none stands. [m]"""
    found = material.result("stone.takeoff")
    body = None if found is None else found.bodies.get(name)
    if body is None or not (np.asarray(body.top.ring) == number).any():
        return np.full(len(points), np.nan)
    own = np.asarray(body.top.ring) == number
    places, spots = shapely.points(body.top.points[own]), shapely.points(points)
    nearest = shapely.STRtree(places).nearest(spots)
    near = shapely.distance(places[nearest], spots) < STONE
    return np.where(near, body.top.top[own][nearest], np.nan)


def _reached(material: Material, name: str, number: int, points: Points) -> NDArray[np.bool_] | None:
    """Whether a way reaches each place; None while that is not known."""
    found = material.result("shape.reach")
    if found is None:
        return None
    body = found.bodies.get(name)
    if body is None:
        return np.zeros(len(points), dtype=bool)
    nearest = shapely.STRtree(shapely.points(body.walked[number])).nearest(shapely.points(points))
    return np.asarray(body.at_hand[number][nearest], dtype=bool)


def _banks(
    material: Material, row: Body, ring: str, station: Points, pegs: dict[str, float]
) -> Iterator[str]:
    """Kind of bank at each station."""
    kinds = material.job.shape.bank_types

    def called(kind: str | None) -> str:
        if kind is None:
            return (STANDARD_BANK if isinstance(row.outline, RingOutline) else STANDARD_STREAM).name
        return kinds[kind].name or kind

    stretches = [
        (pegs[one.start], pegs[one.end], called(one.bank_type))
        for one in row.stretches.values()
        if one.ring == ring and one.start in pegs and one.end in pegs
    ]
    for at in station:
        inside = [
            kind
            for start, end, kind in stretches
            if (start <= at <= end if start <= end else at >= start or at <= end)
        ]
        yield inside[-1] if inside else called(row.bank_type)


def _ways(material: Material, edge: Edge) -> Iterator[WayAlong]:
    """Ways over a shore or right beside it, stretch by stretch."""
    spots = shapely.points(edge.points)
    for name, way in material.job.shape.ways.items():
        line = line_of(way.place)
        if line is None or way.status == "remove":
            continue
        over = way.kind in SPANNING
        near = shapely.distance(_area(way, line), spots) <= (0.0 if over else BESIDE)
        for run in np.split(np.arange(len(near)), np.flatnonzero(np.diff(near)) + 1):
            if near[run[0]] and len(run) > 1:
                middle = edge.points[run[len(run) // 2]]
                ends = float(edge.station[run[0]]), float(edge.station[run[-1]])
                yield WayAlong(way.name or name, *ends, _level_at(way, line, middle), over)


def _area(way: Way, line: Points) -> shapely.Geometry:
    """Ground that a way takes up."""
    if way.place.at == "ring":
        return shapely.make_valid(shapely.Polygon(line))
    wide = 0.0 if way.kind in ("wall", "fence") else 0.5 * value_of(way, "width")
    return shapely.LineString(line).buffer(wide, cap_style="flat") if wide else shapely.LineString(line)


def _level_at(way: Way, line: Points, place: Points) -> float | None:
    """Level of a way beside a place; None where it follows the ground."""
    if way.level is None or way.end_level is None:
        return way.level
    path = shapely.LineString(line)
    along = np.array([path.project(shapely.Point(place))])
    return float(run_levels(along, path.length, way.level, way.end_level)[0])


def _seats(material: Material, edge: Edge) -> Iterator[SeatNear]:
    """Seats near a shore, on land."""
    for name, seat in material.job.shape.seats.items():
        place = _place_of(seat)
        if place is None or points_inside([edge.points], place[None])[0]:
            continue
        away = np.hypot(*(edge.points - place).T)
        at = int(np.argmin(away))
        if away[at] <= SEAT:
            yield SeatNear(seat.name or name, float(edge.station[at]), float(away[at]))


def _place_of(seat: Seat) -> Points | None:
    if isinstance(seat.place, PointPlace):
        return np.array([seat.place.east, seat.place.north])
    line = line_of(seat.place)
    return None if line is None else np.asarray(line.mean(axis=0))
