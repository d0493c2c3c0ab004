"""Slopes and heights to dig by, read off the finish along cuts square to a shore or down a way.

A slope beyond a shore is where the finished surface falls evenly along such a cut; under water it is a piece
of the bank, told only where the finish has it: where banks run into each other neither is drawn.

See Also
--------
pondwright.papers.plan : draws them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Length, Slope
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.rooms.shape.profile import Profile, depth_at

STEEPEST, FLATTEST = 1.2, 0.04  # m/m: steeper is a face, flatter is level
SAME, SHARE = 0.025, 0.08  # by which an even slope may change from step to step: m/m, and a share of it
STRAIGHT = 0.35  # rad between a cut and the way straight down: beyond it the cut does not tell the slope
SHORTEST_STEPS = 4  # of half a spacing that a slope is long at least
PEGGED = 0.06  # share by which a slope that was read may be off the one that the design tells
SURE = 8  # steps of half a spacing from which on a slope is told as it was read
FOLLOWED = 8.0  # m beyond a shore up to which slopes are followed
AGREES = 0.03  # m by which the finish may be off the bank that it is laid with
SHELF_WIDTH, SHELF_SLOPE = 0.3, 0.06  # a shelf is at least so wide [m] and falls no steeper [m/m]
TRIALS = 13  # places near by that are tried for each side

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Even:
    """A piece of ground that falls evenly.

    Attributes
    ----------
    high, low : (2,) arrays     Its upper and its lower end. [m]
    ratio : Slope               Level for one upright. [m/m]
    """

    high: Points
    low: Points
    ratio: Slope

    @property
    def length(self) -> Length:
        """[m]"""
        return float(np.hypot(*(self.low - self.high)))


@dataclass(frozen=True, slots=True)
class Height:
    """A finished height: where [m], what it is, how high [m]."""

    place: Points
    words: str
    z: Elevation


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a body, along a cut square to its shore.

    Attributes
    ----------
    inside, outside : Even or None     The longest slope under water, and the longest beyond the shore.
    heights : tuple of Height          Shelves, crest and toe.
    """

    inside: Even | None
    outside: Even | None
    heights: tuple[Height, ...]


@dataclass(frozen=True, slots=True)
class Ground:
    """Finish and ground as found, on one grid. [m]"""

    finish: Points
    found: Points
    grid: Grid

    def at(self, points: Points) -> Points:
        """Finish at places (n, 2). [m]"""
        return surface_at(self.finish, self.grid, points)

    def moved(self, points: Points) -> Points:
        """How far the finish is above the ground as found. [m]"""
        return self.at(points) - surface_at(self.found, self.grid, points)

    def inside(self, point: Points) -> Points:
        """Nearest place that has ground."""
        east, north = self.grid.east, self.grid.north
        return np.array([np.clip(point[0], east[0], east[-1]), np.clip(point[1], north[0], north[-1])])


@dataclass(frozen=True, slots=True)
class Shore:
    """The shore of a body with its banks: results of `shape.shore` and of `shape.grading` for it."""

    ring: Points
    body: Any
    grading: Any

    def bank_at(self, place: Points) -> Profile | None:
        """Bank at a place of the shore; None where one runs over into the other."""
        found: Profile = self.grading.profile
        for stretch in self.grading.stretches:
            line = shapely.LineString(stretch.line)
            at = shapely.Point(place)
            if line.distance(at) > 0.5:
                if line.distance(at) < stretch.blend:
                    return None
                continue
            if min(station := line.project(at), line.length - station) < stretch.blend / 2:
                return None
            found = stretch.profile
        return found

    def slopes(self) -> list[Slope]:
        """Slopes above the water that the design tells."""
        bank = self.grading.bank
        return [bank.fill, bank.cut, bank.slope_in]


def even_slopes(z: Points, grid: Grid, start: Points, end: Points, told: Sequence[Slope] = ()) -> list[Even]:
    """Pieces of a straight cut on which a surface falls evenly, and straight along the cut.

    Parameters
    ----------
    z : (rows, columns) array       [m]
    grid : Grid
    start, end : (2,) arrays        Ends of the cut, inside the grid. [m]
    told : sequence of Slope        Slopes of the design: what is read within a few percent of one is that.

    Returns
    -------
    list of Even                    In the order of the cut.
    """
    length = float(np.hypot(*(end - start)))
    count = max(int(length / (grid.spacing / 2)), 2)
    points = start + np.linspace(0.0, 1.0, count + 1)[:, None] * (end - start)
    heights = surface_at(z, grid, points)
    step = length / count
    found = []
    for first, last in _runs(np.diff(heights) / step):
        if last - first < SHORTEST_STEPS:
            continue
        fall, _offset = np.polyfit(np.arange(first, last + 1) * step, heights[first : last + 1], 1)
        if not FLATTEST <= abs(fall) <= STEEPEST or not _straight_down(z, grid, points[first : last + 1]):
            continue
        ratio = _pegged(1.0 / abs(float(fall)), told, last - first)
        if ratio is not None:
            high, low = (first, last) if fall < 0 else (last, first)
            found.append(Even(points[high], points[low], ratio))
    return found


def _pegged(read: Slope, told: Sequence[Slope], steps: int) -> Slope | None:
    """The slope of the design that one as read stands for; else as read, where it is long enough."""
    near = min(told, key=lambda one: abs(one - read), default=None)
    if near is not None and abs(near - read) <= PEGGED * near:
        return near
    return read if steps >= SURE else None


def sides(ground: Ground, shore: Shore, count: int, keep_off: shapely.Geometry) -> list[Side]:
    """Sides of a body, spread evenly round its shore, each at the place near by that tells most.

    Parameters
    ----------
    ground : Ground
    shore : Shore
    count : int               How many; each stretch with a bank of its own has one besides.
    keep_off : Geometry       Other waters and ways: no cut runs there. [m]

    Returns
    -------
    list of Side
    """
    line = shapely.LinearRing(shore.ring)
    shapely.prepare(keep_off)
    middles = [
        shapely.LineString(one.line).interpolate(0.5, normalized=True) for one in shore.grading.stretches
    ]
    starts = [line.project(middle) for middle in middles]
    apart = line.length / count
    for number in range(count):
        at = (number + 0.5) * apart
        if all(min((at - one) % line.length, (one - at) % line.length) > 0.5 * apart for one in starts):
            starts.append(at)
    found = []
    for start in starts:
        tried = []
        for shift in np.linspace(-0.45, 0.45, TRIALS) * apart:
            side = _side(ground, shore, line, (start + shift) % line.length, keep_off)
            tried.append((_worth(side) - 0.3 * abs(shift) / apart, side))
        worth, best = max(tried, key=lambda one: one[0])
        if worth > 0.0:
            found.append(best)
    return found


def _worth(side: Side) -> float:
    return sum(one is not None for one in (side.inside, side.outside)) + 0.4 * len(side.heights)


def _side(
    ground: Ground, shore: Shore, line: shapely.LinearRing, station: Length, keep_off: shapely.Geometry
) -> Side:
    before, place, after = (
        np.array(line.interpolate((station + step) % line.length).coords[0]) for step in (-0.3, 0.0, 0.3)
    )
    along = (after - before) / max(float(np.hypot(*(after - before))), 1e-9)
    out = np.array([along[1], -along[0]]) * (1.0 if line.is_ccw else -1.0)
    bank = shore.bank_at(place)
    inside, heights = None, []
    if bank is not None and not _crosses(place, -out, bank.reach, keep_off):
        inside = _under_water(ground, shore, bank, place, out)
        heights += _shelves(ground, shore, bank, place, out)
    if _crosses(place, out, FOLLOWED, keep_off):
        return Side(inside, None, tuple(heights))
    outward = ground.inside(place + FOLLOWED * out)
    outside = _beyond(ground, shore, place, outward)
    crest = _crest(ground, shore, place, out)
    toe = [] if outside is None else _toe(ground, outside, place, outward)
    # Where a bank is dug below and placed above, its slope ends on its crest and not on the ground.
    heights += [*crest, *(one for one in toe if one.words == "toe" or not crest)]
    return Side(inside, outside, tuple(heights))


def _crosses(place: Points, way: Points, reach: Length, other: shapely.Geometry) -> bool:
    return bool(shapely.intersects(other, shapely.LineString([place + 0.05 * way, place + reach * way])))


def _under_water(ground: Ground, shore: Shore, bank: Profile, place: Points, out: Points) -> Even | None:
    """Longest slope of a bank that the finish has too."""
    found = []
    for (start, end), (upper, lower) in zip(pairwise(bank.knots), pairwise(bank.depths), strict=True):
        fall = (lower - upper) / (end - start)
        thirds = np.array([start + share * (end - start) for share in (0.35, 0.65)])
        points = place - thirds[:, None] * out
        laid = shore.body.level - depth_at(bank, thirds)
        if FLATTEST <= fall <= STEEPEST and np.all(np.abs(ground.at(points) - laid) < AGREES):
            found.append(Even(place - start * out, place - end * out, float(1.0 / fall)))
    return max(found, key=lambda one: one.length, default=None)


@dataclass(frozen=True, slots=True)
class Shelf:
    """A shelf of a bank: its middle from the shore, the depth of its outer edge, and how far it falls. [m]"""

    middle: Length
    depth: Length
    fall: Length


def shelves(bank: Profile) -> list[Shelf]:
    """Shelves of a bank, outermost first, as they are dug.

    Parameters
    ----------
    bank : Profile

    Returns
    -------
    list of Shelf
    """
    widths, falls = np.diff(bank.knots), np.diff(bank.depths)
    level = (widths >= SHELF_WIDTH) & (falls <= SHELF_SLOPE * widths)
    return [
        Shelf(
            float(bank.knots[at] + widths[at] / 2),
            float(bank.depths[at] + bank.heights[bank.risers <= bank.knots[at] + 1e-9].sum()),
            float(falls[at]),
        )
        for at in np.flatnonzero(level)
    ]


def _shelves(ground: Ground, shore: Shore, bank: Profile, place: Points, out: Points) -> list[Height]:
    """Heights in the middle of the shelves that the finish has."""
    found = []
    for shelf in shelves(bank):
        point = place - shelf.middle * out
        z = shore.body.level - float(depth_at(bank, np.array([shelf.middle]))[0])
        if abs(float(ground.at(point[None, :])[0]) - z) < AGREES:
            found.append(Height(point, "shelf", z))
    return found


def _crest(ground: Ground, shore: Shore, place: Points, out: Points) -> list[Height]:
    """Middle of the crest, where soil is placed for it."""
    bank = shore.grading.bank
    point = ground.inside(place + (bank.crest_end - bank.crest_width / 2) * out)
    z = float(ground.at(point[None, :])[0])
    placed = float(ground.moved(point[None, :])[0]) > AGREES
    return [Height(point, "crest", z)] if placed and abs(z - shore.body.crest_level) < AGREES else []


def _beyond(ground: Ground, shore: Shore, place: Points, outward: Points) -> Even | None:
    """Longest even slope beyond the shore that is dug or placed, and no old ground."""
    if np.hypot(*(outward - place)) < ground.grid.spacing:
        return None
    made = [
        one
        for one in even_slopes(ground.finish, ground.grid, place, outward, shore.slopes())
        if abs(float(ground.moved((one.high + one.low)[None, :] / 2)[0])) > 0.02
    ]
    return max(made, key=lambda one: one.length, default=None)


def _toe(ground: Ground, slope: Even, place: Points, outward: Points) -> list[Height]:
    """Where a slope runs out on the ground as found."""
    length = float(np.hypot(*(outward - place)))
    count = max(int(length / (ground.grid.spacing / 4)), 2)
    stations = np.linspace(0.0, length, count + 1)
    points = place + stations[:, None] / length * (outward - place)
    far = max(float(np.hypot(*(end - place))) for end in (slope.high, slope.low))
    at = np.flatnonzero((np.abs(ground.moved(points)) < 0.01) & (stations > far - ground.grid.spacing))
    if not len(at):
        return []
    point = points[at[0]]
    rises = np.hypot(*(slope.high - place)) > np.hypot(*(slope.low - place))
    return [Height(point, "top of cut" if rises else "toe", float(ground.at(point[None, :])[0]))]


def _runs(grade: Points) -> Iterator[tuple[int, int]]:
    """First and last node of the longest runs of one even grade."""
    first = 0
    for number in range(1, len(grade) + 1):
        mean = float(grade[first:number].mean())
        if number < len(grade) and abs(grade[number] - mean) <= SAME + SHARE * abs(mean):
            continue
        yield first, number
        first = number


def _straight_down(z: Points, grid: Grid, points: Points) -> bool:
    """Whether a cut runs straight down the surface at its middle: else its ratio would be too flat."""
    along = points[-1] - points[0]
    along = along / max(float(np.hypot(*along)), 1e-9)
    across = np.array([-along[1], along[0]])
    ends = np.array([sign * grid.spacing * way for way in (along, across) for sign in (-1.0, 1.0)])
    last = [grid.east[-1], grid.north[-1]]
    around = np.clip((points[0] + points[-1]) / 2 + ends, [grid.east[0], grid.north[0]], last)
    down, up, left, right = surface_at(z, grid, around)
    return bool(abs(right - left) <= np.tan(STRAIGHT) * abs(up - down))


def way_slope(line: Points, levels: tuple[Elevation, Elevation]) -> Even | None:
    """Slope of a way that rises from end to end, along its longest straight piece.

    Parameters
    ----------
    line : (n, 2) array             Its middle. [m]
    levels : tuple of Elevation     At its first and its last point. [m]

    Returns
    -------
    Even or None                    None of a level way.

    Examples
    --------
    >>> ramp = way_slope(np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 1.0]]), (10.0, 10.5))
    >>> ramp.ratio, ramp.high.tolist(), ramp.low.tolist()
    (8.0, [3.0, 0.0], [0.0, 0.0])

    hand
    """
    run = float(np.hypot(*np.diff(line, axis=0).T).sum())
    rise = levels[1] - levels[0]
    if run == 0.0 or abs(rise) < 0.01:
        return None
    one, other = max(pairwise(line), key=lambda ends: float(np.hypot(*(ends[1] - ends[0]))))
    high, low = (other, one) if rise > 0 else (one, other)
    return Even(high, low, run / abs(rise))
