"""How far the work stays from a line that it must not cross.

Work and line are traces: points, lines or areas, each with a reach round it that stands for half its
width, a crown or a bank.  Between two of them there is one signed number, the clearance: the gap between
them, or, where they overlap, how far the one reaches into the other, below zero.

See Also
--------
pondwright.rooms.site.checks.bounds : how far is far enough.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, Length, Lengths, Slope

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

PlanPoint = tuple[float, float]

FINEST = 0.05
"""Step along an overlapping line at which its depth is looked for [m]; a long line takes a longer one."""

MOST_STEPS = 2_000
QUARTER = 16
"""Straight pieces for each quarter of a round end."""


@dataclass(frozen=True, eq=False)
class Trace:
    """A point, line or area of the plan, with the reach round it.

    ``points`` is a (n, 2) array of east and north [m]; one point is a point; ``closed`` makes an area of
    three or more.  ``reach`` widens it on every side. [m], >= 0
    """

    points: Lengths
    closed: bool = False
    reach: Length = 0.0

    @cached_property
    def shape(self) -> BaseGeometry:
        """The same as a shape, without its reach; made once, since many lines are held against it."""
        from shapely import LineString, Point, Polygon

        points = np.asarray(self.points, dtype=np.float64).reshape(-1, 2)
        if not len(points):
            raise DomainError("a trace must have at least one point, got none")
        if len(points) == 1:
            return Point(points[0])
        if self.closed and len(points) > 2:
            area = Polygon(points)
            # A shore that crosses itself has its own stop; here it is taken as what it goes round.
            return area if area.is_valid else _mended(area)
        return LineString(points)


@dataclass(frozen=True, slots=True)
class Clearance:
    """How far work stays from a line [m], below zero where it is crossed, and where that is.

    ``away`` is the way that leads the work clear of it, east and north, of length one; of no length where
    both only meet in a point.
    """

    clearance: Length
    at_work: PlanPoint
    at_line: PlanPoint
    away: PlanPoint = (0.0, 0.0)


def signed_clearance(work: Trace, line: Trace, inside: bool = False) -> Clearance:
    """Signed clearance of work from a line or area.

    Parameters
    ----------
    work : Trace         What is built, heaped or driven.
    line : Trace         What it must stay clear of, or inside.
    inside : bool        The work must stay inside the line, which must then be closed.

    Returns
    -------
    Clearance            The gap; where the two overlap, less than or equal to zero. [m]

    Raises
    ------
    DomainError          If a trace has no point, or the work must stay inside what is no area.

    Notes
    -----
    Apart: c = d − r − s, with d the least distance of the traces and r, s their reaches.  Overlapping:
    c = −max(p, q) − r − s, with p the farthest that the rim of the work lies inside the line's area, and q
    the farthest that the line lies inside the work.  Staying inside: the distance of the work to the
    line less both reaches, or less than zero by the farthest that the work sticks out.  The
    depth of an overlap is looked for at steps of 0.05 m or a two-thousandth of the rim.

    Examples
    --------
    >>> import numpy as np
    >>> pond = Trace(np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (0.0, 8.0)]), closed=True)
    >>> tree = Trace(np.array([(13.0, 12.0)]), reach=3.5)
    >>> signed_clearance(pond, tree).clearance
    1.5
    >>> signed_clearance(pond, Trace(np.array([(-5.0, 7.0), (20.0, 7.0)]))).clearance
    -1.0

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    one, other = work.shape, line.shape
    if inside:
        if other.geom_type != "Polygon":
            raise DomainError("`inside` must be asked of a closed line, got an open one")
        found = _sticking_out(one, other)
    else:
        found = _apart(one, other)
    return replace(found, clearance=found.clearance - work.reach - line.reach, away=_away(found))


def least(clearances: Sequence[Clearance]) -> int:
    """Number of the least of several clearances, the first of equals.

    Parameters
    ----------
    clearances : sequence of Clearance     At least one. [m]

    Returns
    -------
    int

    Raises
    ------
    DomainError                            If there is none.

    Examples
    --------
    >>> here = (0.0, 0.0)
    >>> least([Clearance(2.0, here, here), Clearance(-1.0, here, here)])
    1

    hand

    References
    ----------
    .. [1] Derived: definition.
    """
    if not clearances:
        raise DomainError("`clearances` must hold at least one, got none")
    return min(range(len(clearances)), key=lambda number: clearances[number].clearance)


def berm_reaches(
    ground: Elevations, level: Elevation, freeboard: Length, crest: Length, slope_in: Slope, slope_out: Slope
) -> Lengths:
    """How far the foot of a berm lies outside the shore that it holds.

    Parameters
    ----------
    ground : (n,) array       Existing ground at points of the shore. [m]
    level : Elevation         Water at rest. [m]
    freeboard : Length        Height of the top above the water. [m], >= 0
    crest : Length            Width of the level top. [m], >= 0
    slope_in, slope_out : Slope   Wet and dry side, level for one upright. [m/m]

    Returns
    -------
    (n,) array                From the shore outward; zero where the ground needs no berm. [m], >= 0

    Notes
    -----
    Where the ground lies h below the top of the berm, its foot lies freeboard · slope_in + crest +
    h · slope_out from the shore, on ground taken as level; on ground that falls away it lies farther out,
    on rising ground nearer.

    Examples
    --------
    >>> import numpy as np
    >>> berm_reaches(np.array([10.0, 9.0]), 9.5, 0.3, 0.9, 2.0, 3.0).round(2).tolist()
    [0.0, 3.9]

    hand

    References
    ----------
    .. [1] Derived: plane geometry of a trapezoid.
    """
    height = level + freeboard - np.asarray(ground, dtype=np.float64)
    outward = freeboard * slope_in + crest + height * slope_out
    return np.where(height > 0.0, outward, 0.0)


def banded(points: Lengths, reaches: Lengths) -> Trace:
    """Closed shore with a band of changing width round it, as one area.

    Parameters
    ----------
    points : (n, 2) array     The shore. [m], n >= 3
    reaches : (n,) array      Width of the band at each of its points. [m], >= 0

    Returns
    -------
    Trace                     An area that holds the shore and the band. [m]

    Notes
    -----
    The area is the union of the shore and, along each of its pieces, of a band as wide as
    the wider of its ends.

    Examples
    --------
    >>> import numpy as np
    >>> square = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    >>> wide = banded(square, np.full(4, 2.0))
    >>> wide.points.min(axis=0).round(2).tolist(), wide.points.max(axis=0).round(2).tolist()
    ([-2.0, -2.0], [12.0, 12.0])

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    from shapely import LineString, buffer, get_exterior_ring, union_all

    if len(points) != len(reaches):
        raise DomainError(f"`reaches` must have one for each of the {len(points)} points, got {len(reaches)}")
    wider = np.maximum(reaches, np.roll(reaches, -1))
    pieces = [
        LineString([start, end])
        for start, end, width in zip(points, np.roll(points, -1, axis=0), wider, strict=True)
        if width > 0.0
    ]
    body = Trace(points, closed=True).shape
    whole = union_all([body, *buffer(pieces, wider[wider > 0.0], quad_segs=QUARTER)])
    if whole.geom_type != "Polygon":
        whole = whole.convex_hull
    ring = np.array(get_exterior_ring(whole).coords)[:-1]
    return Trace(ring, closed=True)


def _mended(area: BaseGeometry) -> BaseGeometry:
    whole = area.buffer(0.0)
    return whole if whole.geom_type == "Polygon" and not whole.is_empty else area.convex_hull


def _apart(one: BaseGeometry, other: BaseGeometry) -> Clearance:
    if one.intersects(other):
        deep = [
            _deepest(_rim(one), other, _rim(other)),
            _deepest(_rim(other), one, _rim(one)),
        ]
        first, second = deep
        if second.clearance < first.clearance:
            return Clearance(second.clearance, second.at_line, second.at_work)
        return first
    return _gap(one, other)


def _sticking_out(one: BaseGeometry, other: BaseGeometry) -> Clearance:
    rim = _rim(one)
    out = rim.difference(other)
    if out.is_empty or (out.length == 0.0 and rim.length > 0.0):
        return _gap(rim, _rim(other))
    return _farthest(out, other)


def _gap(one: BaseGeometry, other: BaseGeometry) -> Clearance:
    from shapely import shortest_line

    ends = shortest_line(one, other).coords
    return Clearance(math.dist(ends[0], ends[-1]), _plain(ends[0]), _plain(ends[-1]))


def _deepest(rim: BaseGeometry, area: BaseGeometry, edge: BaseGeometry) -> Clearance:
    """How deep a rim lies inside an area, below zero; zero where it only meets it."""
    return _farthest(rim.intersection(area), edge)


def _farthest(part: BaseGeometry, edge: BaseGeometry) -> Clearance:
    """Point of a part that lies farthest from an edge, as a clearance below zero."""
    from shapely import distance, get_coordinates, points, segmentize

    if part.is_empty:
        return Clearance(math.inf, (0.0, 0.0), (0.0, 0.0))
    step = max(FINEST, part.length / MOST_STEPS)
    places = get_coordinates(segmentize(part, step))
    away = distance(points(places), edge)
    number = int(np.argmax(away))
    near = _gap(points(places[number]), edge)
    return Clearance(-float(away[number]), near.at_work, near.at_line)


def _rim(shape: BaseGeometry) -> Any:
    return shape.exterior if shape.geom_type == "Polygon" else shape


def _away(found: Clearance) -> PlanPoint:
    length = math.dist(found.at_work, found.at_line)
    if length == 0.0:
        return (0.0, 0.0)
    sign = math.copysign(1.0, found.clearance) / length
    return (
        sign * (found.at_work[0] - found.at_line[0]),
        sign * (found.at_work[1] - found.at_line[1]),
    )


def _plain(point: Sequence[float]) -> PlanPoint:
    return float(point[0]), float(point[1])
