"""Openings of a shore: the mouths of streams and the overflows, which lie low because somebody wants it so.

The unrolled shore on paper and the one on the screen both ask here which low places are no alarm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import Length
from pondwright.geometry.polygon import points_inside
from pondwright.job.document import Job
from pondwright.job.fields import value_of
from pondwright.job.shape import Way
from pondwright.papers.ground_map import line_of
from pondwright.rooms.shape.unrolled import UnrolledShore

MOUTH: Length = 0.6
"""Way from the sill of a stream within which a place of a shore is at its mouth. [m]"""

END: Length = 0.05
"""Way from an end of a stream within which a place belongs to that end. [m]"""

FLANK: Length = 1.2
"""Shore beside an opening, at most, on which the bank may still rise to its crest. [m]"""

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Opening:
    """What opens a shore: the mouth of a water, or an overflow, by the name that people call it."""

    kind: Literal["mouth", "overflow"]
    name: str


def openings_along(
    job: Job, results: Mapping[str, Any], name: str, edge: UnrolledShore, water: Points, freeboard: Length
) -> tuple[Opening | None, ...]:
    """What opens a shore at each of its places.

    Parameters
    ----------
    job : Job
    results : mapping           Results by stage: `site.ground`, `shape.shore`, `shape.grading`.
    name : str                  The body.
    edge : UnrolledShore        One of its rings.
    water : (m,) array          Water at rest beside each place. [m]
    freeboard : Length          Of its bank. [m]

    Returns
    -------
    tuple of Opening or None    With the flanks, by which the bank rises on either side of an opening.

    Notes
    -----
    A bed of stone is an overflow where it crosses the bank lower than the crest and no lower than the water;
    one that lies lower lets the water out, and stays a low place.
    """
    found: list[Opening | None] = [None] * len(edge.points)
    each = (
        *_mouths(job, results, name, edge.points),
        *_overflows(job, edge, water, freeboard),
    )
    short = water + freeboard - edge.rim
    for opening, there in each:
        for at in np.flatnonzero(_with_flanks(there, edge, short)):
            found[at] = opening
    return tuple(found)


def _mouths(
    job: Job, results: Mapping[str, Any], name: str, points: Points
) -> Iterator[tuple[Opening, NDArray[np.bool_]]]:
    """Waters that open on a body, with the places where: its sill; a stream's end and all in the other."""
    grid, spots = results["site.ground"].grid, shapely.points(points)
    for mouth in results["shape.grading"].mouths:
        if name not in (mouth.stream, mouth.body):
            continue
        east, north = np.meshgrid(grid.east[mouth.window[1]], grid.north[mouth.window[0]])
        sill = shapely.MultiPoint(np.column_stack([east[mouth.nodes], north[mouth.nodes]]))
        there = shapely.distance(sill, spots) <= MOUTH
        other = mouth.stream if name == mouth.body else mouth.body
        if name == mouth.stream:
            there |= points_inside(list(results["shape.shore"].bodies[other].rings), points)
            end = _end_of(results["shape.shore"].bodies[name].stream.corridor.ring, mouth.upper)
            there |= shapely.distance(end, spots) <= END
        yield Opening("mouth", job.shape.bodies[other].name or other), there


def _end_of(banks: Points, upper: bool) -> shapely.LineString:
    """Upper or lower end of a stream, from its left bank to its right."""
    half = len(banks) // 2
    return shapely.LineString(banks[[0, -1]] if upper else banks[[half - 1, half]])


def _overflows(
    job: Job, edge: UnrolledShore, water: Points, freeboard: Length
) -> Iterator[tuple[Opening, NDArray[np.bool_]]]:
    """Beds of stone that cross the bank between the water and its crest, with the places where."""
    across = shapely.linestrings(np.stack([edge.points, edge.outer], axis=1))
    for name, way in job.shape.ways.items():
        line = line_of(way.place)
        if way.kind != "bed" or way.level is None or line is None or way.status == "remove":
            continue
        between = (way.level >= water) & (way.level < water + freeboard)
        there = between & shapely.intersects(_ground_of(way, line), across)
        if there.any():
            yield Opening("overflow", way.name or name), there


def _ground_of(way: Way, line: Points) -> shapely.Geometry:
    """Ground that a bed takes up."""
    if way.place.at == "ring":
        return shapely.make_valid(shapely.Polygon(line))
    return shapely.LineString(line).buffer(0.5 * value_of(way, "width"), cap_style="flat")


def _with_flanks(there: NDArray[np.bool_], edge: UnrolledShore, short: Points) -> NDArray[np.bool_]:
    """Places of an opening and those beside it where the bank still rises to its crest."""
    every, count = there.copy(), len(there)
    for way in (1, -1):
        for start in np.flatnonzero(there & ~np.roll(there, -way)):
            here, along = int(start), 0.0
            while along < FLANK:
                near = (here + way) % count
                along += float(np.hypot(*(edge.points[near] - edge.points[here])))
                if every[near] or not 0.0 < short[near] <= short[here]:
                    break
                every[near], here = True, near
    return every
