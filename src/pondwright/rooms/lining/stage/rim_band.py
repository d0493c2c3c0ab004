"""The band of liner between full and low water: where nothing covers it, and from where it is seen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import FloatArray, Length, Lengths
from pondwright.geometry.surface import surface_at
from pondwright.job.lining import Liner
from pondwright.job.places import LinePlace, PartPlace, StretchPlace
from pondwright.job.shape import Way
from pondwright.job.stone import Treatment
from pondwright.rooms.lining.band import band_seen, seen_length
from pondwright.rooms.lining.edge import bank_band
from pondwright.rooms.lining.stage.bought import stacks_of
from pondwright.rooms.lining.stage.rim_edge import ON, Walk
from pondwright.rooms.lining.stage.rim_results import Band, BandView
from pondwright.rooms.shape.laid import run_levels
from pondwright.rooms.shape.profile import Profile
from pondwright.rooms.shape.shoreline import stretch_line
from pondwright.rooms.shape.sight import Eye, waters_cover

EYES: Length = 1.55
"""Height of the eyes of a person who walks; common practice. [m]"""

LOOK: Length = 3.0
"""From look to look along a path. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class From:
    """A seat, or a path with all looks from it, and the screens that stand before the eyes, (k, 6) [m]."""

    name: str
    kind: Literal["seat", "path"]
    eyes: tuple[Eye, ...]
    walls: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Looks:
    """From where bare liner may be seen, and the stone that may stand before it."""

    froms: tuple[From, ...]
    stone: tuple[Treatment, ...]


WALKED = frozenset({"path", "bridge", "deck", "steps"})
HIDES_RISERS = frozenset({"courses", "wall", "deck", "cobble", "planted"})
"""Kinds of ways that one walks on, and kinds of stone that stand before a riser."""


def band_of(
    body: str, walk: Walk, looks: Looks, view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[Band | None, dict[str, BandView]]:
    """Band of one body and how it is seen; none where no lower water is planned."""
    shore = results["shape.shore"].bodies[body]
    low = view["shape.bodies"][body].low_level
    if low is None or low >= shore.level or shore.stream is not None:
        return None, {}
    fall = shore.level - low
    outer = walk.ring == 0
    points, inward, steps = walk.points[outer], walk.inward[outer], walk.steps[outer]
    kinds = _kinds(body, points, view, results)
    bands = [bank_band(profile, fall) for profile, _ in kinds]
    middles = [bank_band(profile, 0.5 * fall) for profile, _ in kinds]
    width, offset, bare = np.zeros(len(points)), np.zeros(len(points)), np.zeros(len(points))
    steep = np.zeros(len(points))
    gravel = _has_gravel(body, view)
    for (_, mine), band, middle in zip(kinds, bands, middles, strict=True):
        width[mine], offset[mine] = band.width, middle.offset
        steep[mine] = min(fall / max(band.width, 1e-9), 1.0)
        bare[mine] = 0.0 if gravel else band.width - band.risers
    risers = np.zeros(len(points))
    for (_, mine), band in zip(kinds, bands, strict=True):
        risers[mine] = band.risers
    bare += np.where(_stone_before(body, points, looks.stone, view, results), 0.0, risers)
    bare[walk.own[outer] < 0] = 0.0
    at = points + offset[:, None] * inward
    levels = np.full(len(points), shore.level - 0.5 * fall)
    seen, views = _seen(at, levels, inward, steep, bare > 1e-9, steps, low, body, looks, results)
    found = Band(
        upper=shore.level,
        lower=low,
        points=at,
        bare_at=bare,
        seen=seen,
        height=fall,
        width=float(width.max(initial=0.0)),
        length=float(steps.sum()),
        area=float((steps * width).sum()),
        bare=float((steps * bare).sum()),
    )
    return found, views


def _kinds(
    body: str, points: Lengths, view: Mapping[str, Any], results: Mapping[str, Any]
) -> list[tuple[Profile, NDArray[np.bool_]]]:
    """Kinds of bank of a body and the stations of each."""
    grading = results["shape.grading"].bodies[body]
    left = np.ones(len(points), dtype=np.bool_)
    kinds = []
    for stretch in reversed(grading.stretches):
        near = shapely.distance(shapely.LineString(stretch.line), shapely.points(points)) <= ON
        kinds.append((stretch.profile, near & left))
        left &= ~near
    return [*kinds, (grading.profile, left)]


def _has_gravel(body: str, view: Mapping[str, Any]) -> bool:
    """Whether stone or gravel lies on the liner of a whole body."""
    return any(stack.covers and stack.zone is None for stack in stacks_of(Liner(bodies=(body,)), body, view))


def _stone_before(
    body: str,
    points: Lengths,
    stone: Sequence[Treatment],
    view: Mapping[str, Any],
    results: Mapping[str, Any],
) -> NDArray[np.bool_]:
    """Stations at which stones stand before the risers."""
    shore = results["shape.shore"].bodies[body]
    profile = results["shape.grading"].bodies[body].profile
    row = view["shape.bodies"][body]
    found = np.zeros(len(points), dtype=np.bool_)
    for treatment in stone:
        place = treatment.place
        if treatment.kind not in HIDES_RISERS or place.body not in (None, body):
            continue
        if isinstance(place, StretchPlace):
            if place.ring == shore.ring_names[0]:
                pegs = [peg.id for peg in row.outline.curve.pegs]
                line = stretch_line(shore.rings[0], shore.spans[0], pegs, place.start, place.end)
                if len(line) > 1:
                    found |= shapely.distance(shapely.LineString(line), shapely.points(points)) <= ON
        elif not isinstance(place, PartPlace) or place.zone not in profile.zones:
            # A zone without width is a riser: its knots are not among those of the slopes.
            found[:] = True
    return found


def _seen(
    at: Lengths,
    levels: FloatArray,
    inward: FloatArray,
    steep: FloatArray,
    bare: NDArray[np.bool_],
    steps: Lengths,
    low: float,
    body: str,
    looks: Looks,
    results: Mapping[str, Any],
) -> tuple[NDArray[np.bool_], dict[str, BandView]]:
    """Stations whose bare liner anybody sees, and what each seat and path sees of it."""
    any_eye = np.zeros(len(at), dtype=np.bool_)
    views: dict[str, BandView] = {}
    if not bare.any():
        return any_eye, views
    shore, grid = results["shape.shore"], results["shape.shore"].grid
    waters = [
        (each.distance, low if name == body else each.level)
        for name, each in shore.bodies.items()
        if each.stream is None
    ]
    cover = waters_cover(results["shape.grading"].z, waters)
    own = np.flatnonzero(bare)
    for look in looks.froms:
        seen = np.zeros(len(at), dtype=np.bool_)
        for eye in look.eyes:
            seen[own] |= band_seen(
                cover, grid, eye, at[own], levels[own], inward[own], steep[own], look.walls
            )
        length = seen_length(seen, steps)
        views[look.name] = BandView(look.kind, length, length / float(steps.sum()))
        any_eye |= seen
    return any_eye, views


def looks_of(view: Mapping[str, Any], results: Mapping[str, Any]) -> Looks:
    """Eyes of all seats and paths, with the screens before them, and the stone that may hide liner."""
    return Looks(tuple(_eyes(view["shape.ways"], results)), tuple(view["stone.treatments"].values()))


def _eyes(ways: Mapping[str, Way], results: Mapping[str, Any]) -> Iterator[From]:
    views, grid = results["shape.views"], results["shape.shore"].grid
    west, south, east, north = grid.extent
    for name, seat in views.seats.items():
        yield From(name, "seat", (seat.eye,), seat.swept.walls)
    for name, way in ways.items():
        if way.kind not in WALKED or not isinstance(way.place, LinePlace) or way.status == "remove":
            continue
        line = np.array([(point.east, point.north) for point in way.place.points])
        station = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        looks = np.linspace(0.0, station[-1], max(2, int(np.ceil(station[-1] / LOOK)) + 1))
        places = np.column_stack([np.interp(looks, station, line[:, axis]) for axis in (0, 1)])
        held = ((places >= (west, south)) & (places <= (east, north))).all(axis=1)
        looks, places = looks[held], places[held]
        if not len(places):
            continue
        floor = surface_at(results["shape.grading"].z, grid, places)
        if way.level is not None:
            end = way.level if way.end_level is None else way.end_level
            floor = np.maximum(floor, run_levels(looks, station[-1], way.level, end))
        spots = np.column_stack([places, floor + EYES]).tolist()
        eyes = (Eye(own_east, own_north, z) for own_east, own_north, z in spots)
        yield From(name, "path", tuple(eyes), views.scene.walls)
