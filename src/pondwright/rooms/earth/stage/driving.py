"""Where machines may drive on this job: what they keep clear of, what opens it, holes and piles."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from pondwright.base.findings import Limit
from pondwright.base.kinds import Elevations, Length, Lengths
from pondwright.job.curves import ring_of
from pondwright.job.earth import Pile
from pondwright.job.places import LinePlace, Place, PointPlace, RingPlace, Row
from pondwright.job.rules import limits_in
from pondwright.job.site import Bound, Thing
from pondwright.rooms.earth.drivable import Ground, Line, Own, drivable
from pondwright.rooms.earth.haul import Haul
from pondwright.rooms.earth.routes import Network, network
from pondwright.rooms.earth.stage.leaving import Sites, ring_at
from pondwright.rooms.earth.stage.shared import BLOCK
from pondwright.rooms.site.bounds import Trace
from pondwright.rooms.site.checks.bounds import LIMITS

KEPT = ("tree", "well", "septic")
"""Things that machines keep clear of; a way in that is drawn across their ground is driven all the same."""

HEAPS = ("soil_pile", "stone_pile")
OPENED = ("fence", *HEAPS)
"""Things that stand in the way unless a way in leads through; a heap that is to come does not yet."""

SOLID = ("house", "structure", "light")
LINES = ("boundary", "septic", "well", "wetland", "stream", "tree", "other")
"""Lines that no machine crosses; setbacks, easements and flood lines are driven over."""

NOT_THERE = ("remove", "later")
"""What is not there while soil is moved."""

FAR: Length = 10_000.0
"""How far the ground beyond a boundary reaches. [m]"""

QUARTER = 4
"""Straight pieces for each quarter of a round end."""


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something that machines keep clear of: how it is called, its path, and ground that is not driven."""

    called: str
    path: str
    shape: BaseGeometry
    solid: bool


@dataclass(frozen=True, slots=True)
class Site:
    """What the job says about driving: obstacles, what opens them, and ways in."""

    obstacles: tuple[Obstacle, ...]
    opened: tuple[BaseGeometry, ...]
    ways: tuple[Line, ...]


def site_of(view: Mapping[str, Any], sites: Sites, limits: Mapping[str, Limit]) -> Site:
    """What machines keep clear of on this job, and where they come in.

    Parameters
    ----------
    view : mapping      `site.things`, `site.bounds`, `rules`.
    sites : Sites
    limits : Limits     Of the earth.

    Returns
    -------
    Site
    """
    things, half = view["site.things"], 0.5 * limits["earth.haul_lane"].value
    clear = {
        code.removeprefix("site.load_"): limit.value
        for code, limit in limits_in(view["rules"], LIMITS).items()
    }
    access = [thing for thing in things.values() if thing.kind == "access" and thing.status not in NOT_THERE]
    gates = [
        PointPlace(at="point", east=row.gate.east, north=row.gate.north) for row in sites.off_site.values()
    ]
    opened = [_ground(thing.place, max(0.5 * (thing.size or 0.0), half)) for thing in access]
    opened += [_ground(gate, half) for gate in gates]
    return Site(
        obstacles=(*_things(things, clear, half), *_bounds(view["site.bounds"], clear, half)),
        opened=tuple(shape for shape in opened if shape is not None),
        ways=tuple(
            tuple((spot.east, spot.north) for spot in thing.place.points)
            for thing in access
            if isinstance(thing.place, LinePlace)
        ),
    )


def network_of(
    site: Site,
    places: Lengths,
    ground: Any,
    finish: Elevations,
    shore: Any,
    piles: Mapping[str, Pile],
    limits: Mapping[str, Limit],
) -> Network:
    """Ways over the ground of this job, between all places that soil comes from or goes to.

    Parameters
    ----------
    site : Site
    places : (n, 2) array     [m], n >= 1
    ground : GroundResult
    finish : (rows, columns) array     What is dug and placed to, on the same grid. [m]
    shore : ShoreResult
    piles : rows of `earth.piles`
    limits : Limits           Of the earth.

    Returns
    -------
    Network
    """
    holes = [_hole(each, site, 0.5 * limits["earth.haul_lane"].value) for each in shore.bodies.values()]
    feet = [ring for pile in piles.values() if (ring := ring_at(pile)) is not None]
    return network(
        drivable(
            places,
            closed=[each.shape for each in site.obstacles if not each.solid],
            opened=site.opened,
            solid=[each.shape for each in site.obstacles if each.solid],
            own=[*holes, *(Own(shapely.Polygon(ring).buffer(0.0), through=False) for ring in feet)],
            ways=site.ways,
            ground=Ground(ground.z, finish, ground.grid, limits["earth.haul_grade"].value),
        )
    )


def _hole(body: Any, site: Site, half: Length) -> Own:
    """Ground of a water, which is driven only from it and to it; a way in leads over a stream."""
    rings = body.rings
    shape = shapely.Polygon(rings[0], rings[1:])
    if body.stream is None:
        return Own(shape.buffer(0.0), BLOCK)
    # A stream is no wider than a machine: one that stands half over it breaks down its bank, and soil of a
    # whole block beside it lies on one of its two sides.
    return Own(shape.buffer(half).difference(shapely.union_all(site.opened)))


def between(site: Site, hauls: Sequence[Haul]) -> tuple[Obstacle, ...]:
    """What lies straight between the ends of hauls.

    Parameters
    ----------
    site : Site
    hauls : sequence of Haul

    Returns
    -------
    tuple of Obstacle
    """
    lines = shapely.MultiLineString([shapely.LineString(haul.way) for haul in hauls])
    return tuple(each for each in site.obstacles if each.shape.intersects(lines))


def _things(things: Mapping[str, Thing], clear: Mapping[str, Length], half: Length) -> Iterator[Obstacle]:
    for name, thing in things.items():
        if thing.status in NOT_THERE or thing.kind not in (*KEPT, *OPENED, *SOLID):
            continue
        if thing.kind in HEAPS and thing.status == "new":
            continue
        kept = thing.clear or (clear[thing.kind] if thing.kind in KEPT else 0.0)
        shape = _ground(thing.place, 0.5 * (thing.size or 0.0) + kept + half)
        if shape is not None:
            yield Obstacle(_called(name, thing), f"site.things.{name}", shape, thing.kind in SOLID)


def _bounds(bounds: Mapping[str, Bound], clear: Mapping[str, Length], half: Length) -> Iterator[Obstacle]:
    for name, bound in bounds.items():
        if bound.status in NOT_THERE or bound.kind not in LINES:
            continue
        off = (bound.clear or clear[bound.kind]) + half
        inside = bound.keep == "inside" or (bound.keep is None and bound.kind == "boundary")
        if inside and isinstance(bound.place, RingPlace):
            kept = shapely.Polygon(ring_of(bound.place.curve).points).buffer(0.0)
            shape: BaseGeometry | None = shapely.box(*kept.buffer(FAR).bounds).difference(kept.buffer(-off))
        else:
            shape = _ground(bound.place, off)
        if shape is not None:
            yield Obstacle(_called(name, bound), f"site.bounds.{name}", shape, False)


def _ground(place: Place, reach: Length) -> BaseGeometry | None:
    """Ground that something takes with a reach round it; none where its place has no points of its own."""
    match place:
        case PointPlace():
            points, closed = np.array([(place.east, place.north)]), False
        case LinePlace():
            points, closed = np.array([(point.east, point.north) for point in place.points]), False
        case RingPlace():
            points, closed = ring_of(place.curve).points, True
        case _:
            return None
    return Trace(points, closed=closed).shape.buffer(reach, quad_segs=QUARTER)


def _called(name: str, row: Row) -> str:
    return row.name or name.replace("_", " ")
