"""A measured surface thinned to the few points that tell it, with the largest miss known.

The points are chosen greedily.  It begins with the hull of the filled cells, so that every cell lies
under some triangle; then, round by round, the worst cell of each triangle that misses by much becomes a
point, until no cell misses by more than the tolerance or the points are used up.

The tolerance that is told must hold for the triangles that the job makes of these points (Delaunay).
Points of a regular grid leave it open which diagonal a square gets, and any rounding would turn some.  So
each point is moved off its cell's middle by less than half a millimetre, the hull is drawn outward by a
little more, and places are rounded before they are judged.

Where the cells are empty the triangles span the gap, and :class:`Thinned` says how much that is and how
far the widest gap reaches.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, FloatArray, Length, Lengths, Ratio
from pondwright.exchange.reading import Binned
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import binning as kernels
from pondwright.geometry.kernels import scan
from pondwright.geometry.tin import tin_to_grid, triangulate

USUAL_POINTS = 4_000
MOST_POINTS = 8_000
USUAL_TOLERANCE: Length = 0.02
"""About the height error of a point of a measured surface (common practice). [m]"""

EAGER = 0.5
"""A round takes the triangles that miss by more than this share of the worst miss. [-]"""

SHARE = 4
FEW = 24
"""A round uses up a quarter of the points that are left, so that the last ones go to the worst cells."""

DECIMALS = 4
"""Decimals of a metre that places are rounded to."""

ASIDE: Length = 0.0004
"""Farthest that a point is moved off its cell's middle, in each direction. [m]"""

OUTWARD: Length = 0.0015
"""What the hull is drawn outward by, so that no cell falls off it. [m]"""

Place = Callable[[Lengths, Lengths], tuple[Lengths, Lengths]]


@dataclass(frozen=True, slots=True)
class Thinned:
    """A surface of few points; all arrays are read-only.

    Parameters
    ----------
    east, north : (n,) array of Length
        Map metres. [m]
    elevation : (n,) array of Elevation
        [m]
    tolerance : Length
        Largest miss of the triangles over these points against the filled cells. [m]
    rms : Length
        Root of the mean square of those misses. [m]
    enough : bool
        Whether the wanted tolerance was reached.
    empty : Ratio
        Share of the cells under the triangles that were empty. [-]
    widest_gap : Length
        Width of the widest gap, as twice the distance from its middle to a filled cell; 0 without. [m]
    """

    east: Lengths
    north: Lengths
    elevation: Elevations
    tolerance: Length
    rms: Length
    enough: bool
    empty: Ratio
    widest_gap: Length


@dataclass(frozen=True, slots=True)
class _Misses:
    """How triangles over some points miss the cells."""

    miss: FloatArray
    cell: NDArray[np.int64]
    worst: Length
    rms: Length
    bare: NDArray[np.int64]
    covered: NDArray[np.bool_]


def thin(
    cells: Binned,
    tolerance: Length = USUAL_TOLERANCE,
    most: int = USUAL_POINTS,
    start: FloatArray | None = None,
    place: Place | None = None,
) -> Thinned:
    """Points whose triangles miss no filled cell by more than a tolerance, if so many may be used.

    Parameters
    ----------
    cells : Binned
        The surface.
    tolerance : Length, optional
        Miss that is small enough. [m], > 0
    most : int, optional
        Points that may be used, from 3 to 8,000.
    start : (n, 3) array of Length, optional
        East, north and elevation of points to begin with instead of the hull, such as the corners of a
        surface; they must span all filled cells. [m]
    place : callable, optional
        From east and north on the map to where the job will have them, if its triangles are made there.

    Returns
    -------
    Thinned
        Told is the miss that was reached, which is above the wanted one if the points were used up.

    Raises
    ------
    DomainError
        If there are no three filled cells off one line, or ``most`` or ``tolerance`` is out of range.

    Notes
    -----
    With a full budget the last rounds go to the worst cells first.  The work is one triangulation and one
    pass over the cells a round; the number of rounds grows with the logarithm of the first miss over the
    last.

    References
    ----------
    Greedy insertion into a Delaunay triangulation as M. Garland and P. Heckbert, *Fast polygonal
    approximation of terrains and height fields* (1995), from memory; a round inserts many points here.

    Examples
    --------
    >>> from pondwright.geometry.grid import Grid
    >>> north, east = np.mgrid[0:20, 0:30].astype(float)
    >>> roof = Binned(Grid(0.0, 0.0, 1.0, 30, 20), np.minimum(east, 14.0), np.ones((20, 30), dtype=int))
    >>> found = thin(roof, 0.01)
    >>> len(found.east) < 20, found.tolerance <= 0.01, found.empty
    (True, True, 0.0)
    """
    if not 3 <= most <= MOST_POINTS:
        raise DomainError(f"`most` must be from 3 to {MOST_POINTS} points, got {most}")
    if not tolerance > 0.0:
        raise DomainError(f"`tolerance` must be above 0 m, got {tolerance} m")
    measured = np.ascontiguousarray(cells.z)
    points = _begin(cells, start, most)
    aside = _Aside(hull_cells(cells.z), measured.shape)
    used = np.zeros(measured.size, dtype=np.bool_)
    found = _misses(points, cells, place)
    while (found.worst > tolerance or len(found.bare)) and len(points) < most:
        left = most - len(points)
        chosen = _worst_first(found, tolerance, min(left, max(left // SHARE, FEW)), used)
        if not len(chosen):
            break
        used[chosen] = True
        r, c = np.divmod(chosen, measured.shape[1])
        points = np.concatenate([points, _rows_of(r, c, cells, aside.of(r, c))])
        found = _misses(points, cells, place)
    if len(found.bare):  # the points were used up before they spanned all cells
        found = _with_edge(found, points, cells)
    empty, gap = _gaps(measured, found.covered, cells.grid.spacing)
    east, north, elevation = (points[:, at].copy() for at in range(3))
    for array in (east, north, elevation):
        array.flags.writeable = False
    return Thinned(east, north, elevation, found.worst, found.rms, found.worst <= tolerance, empty, gap)


def _begin(cells: Binned, start: FloatArray | None, most: int) -> FloatArray:
    """First points, rows of east, north and elevation: those to begin with, else the hull drawn outward."""
    hull = hull_cells(cells.z)
    if len(hull) < 3:
        raise DomainError("`cells` must hold at least 3 filled cells that are not on one line")
    if start is not None:
        return np.round(start, DECIMALS)
    if len(hull) > most:
        hull = hull[np.linspace(0, len(hull) - 1, most).astype(np.int64)]
    return _rows_of(hull[:, 0], hull[:, 1], cells, _corners_outward(hull))


def _rows_of(r: NDArray[np.int64], c: NDArray[np.int64], cells: Binned, aside: Lengths) -> FloatArray:
    """East, north and elevation of cells, each moved aside by its own east and north. [m]"""
    grid = cells.grid
    east = grid.origin_east + c * grid.spacing + aside[:, 0]
    north = grid.origin_north + r * grid.spacing + aside[:, 1]
    return np.column_stack([np.round(east, DECIMALS), np.round(north, DECIMALS), cells.z[r, c]])


def _normals(hull: NDArray[np.int64]) -> FloatArray:
    """Unit vectors, east and north, that point out of each side of a clockwise hull."""
    corners = hull[:, ::-1].astype(np.float64)
    along = np.roll(corners, -1, axis=0) - corners
    along /= np.hypot(*along.T)[:, None]
    return np.column_stack([-along[:, 1], along[:, 0]])


def _corners_outward(hull: NDArray[np.int64]) -> FloatArray:
    """Moves of the corners that draw every side of the hull outward by as much. [m]"""
    normals = _normals(hull)
    both = normals + np.roll(normals, 1, axis=0)
    # The two sides of a corner meet at 1 / cos of half their turn; a long spike is cut off.
    return np.asarray(OUTWARD * 2.0 * both / np.maximum((both**2).sum(axis=1), 0.0025)[:, None])


class _Aside:
    """How far each cell's point is moved off its middle.

    Inside, by what follows from its place alone.  On a side of the hull, outward with it: left where it is,
    its point would make a splinter of a triangle with the side, steep enough to miss the cell itself.
    """

    def __init__(self, hull: NDArray[np.int64], shape: tuple[int, ...]) -> None:
        self._side = np.full(shape, -1, dtype=np.int32)
        self._normals = _normals(hull)
        for side, ((r, c), (r_next, c_next)) in enumerate(zip(hull, np.roll(hull, -1, axis=0), strict=True)):
            steps = int(np.gcd(r_next - r, c_next - c))
            along = np.arange(steps + 1)
            self._side[r + along * ((r_next - r) // steps), c + along * ((c_next - c) // steps)] = side

    def of(self, r: NDArray[np.int64], c: NDArray[np.int64]) -> FloatArray:
        """Moves of cells, east and north. [m]"""
        mixed = r.astype(np.uint64) * np.uint64(73_856_093)
        mixed ^= c.astype(np.uint64) * np.uint64(19_349_663)
        mixed = (mixed * np.uint64(0x9E3779B97F4A7C15)) >> np.uint64(32)
        halves = [(mixed >> np.uint64(bits)) & np.uint64(0xFFFF) for bits in (0, 16)]
        inside = ASIDE * np.column_stack([half.astype(np.float64) / 0x8000 - 1.0 for half in halves])
        side = self._side[r, c]
        return np.where((side >= 0)[:, None], OUTWARD * self._normals[side], inside)


def hull_cells(z: Elevations) -> NDArray[np.int64]:
    """Rows and columns of the corners of the hull of the filled cells, clockwise (monotone chain).

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        NaN where a cell is empty. [m]

    Returns
    -------
    (k, 2) array of int
        Fewer than three where the filled cells are on one line.

    Examples
    --------
    >>> hull_cells(np.array([[1.0, 1.0, 1.0], [np.nan, 1.0, 1.0]])).tolist()
    [[0, 0], [1, 1], [1, 2], [0, 2]]
    """
    filled = np.isfinite(z)
    rows = np.flatnonzero(filled.any(axis=1))
    first = filled[rows].argmax(axis=1)
    last = filled.shape[1] - 1 - filled[rows, ::-1].argmax(axis=1)
    places = sorted({(int(r), int(c)) for ends in (first, last) for r, c in zip(rows, ends, strict=True)})

    def chain(along: list[tuple[int, int]]) -> list[tuple[int, int]]:
        kept: list[tuple[int, int]] = []
        for place in along:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], place) <= 0:
                kept.pop()
            kept.append(place)
        return kept[:-1]

    if len(places) < 3:
        return np.empty((0, 2), dtype=np.int64)
    corners = chain(places) + chain(places[::-1])
    return np.array(corners, dtype=np.int64).reshape(-1, 2)


def _turn(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int]) -> int:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _misses(points: FloatArray, cells: Binned, place: Place | None) -> _Misses:
    """How the triangles that the job makes of the points miss the cells."""
    grid, measured = cells.grid, np.ascontiguousarray(cells.z)
    laid = points[:, :2] - [grid.origin_east, grid.origin_north]
    if place is not None:
        moved = np.column_stack(place(points[:, 0], points[:, 1]))
        laid = np.asarray(np.round(moved, DECIMALS), dtype=np.float64)
    tin = triangulate(laid, points[:, 2])
    kept = points[tin.origin[:, 0]]
    # In cells from the first one, where the numbers are small however large the map's are.
    flat = np.ascontiguousarray((kept[:, :2] - [grid.origin_east, grid.origin_north]) / grid.spacing)
    thinned: Elevations = np.full(measured.shape, np.nan, dtype=np.float64)
    triangle = np.full(measured.shape, -1, dtype=np.int32)
    known = np.empty(measured.shape, dtype=np.int8)
    sound = np.zeros(len(tin.triangles), dtype=np.int8)
    scan.scan_triangles(
        flat, np.ascontiguousarray(kept[:, 2]), tin.triangles, sound, 0.0, 0.0, 1.0, thinned, triangle, known
    )
    miss, cell, told = np.empty(len(sound)), np.empty(len(sound), dtype=np.int64), np.empty(4)
    kernels.worst_cells(measured, thinned, triangle, miss, cell, told)
    bare = np.flatnonzero((triangle < 0) & np.isfinite(measured)) if told[2] else np.empty(0, dtype=np.int64)
    rms = float(np.sqrt(told[0] / max(told[1], 1.0)))
    return _Misses(miss, cell, float(miss.max(initial=0.0)), rms, bare, triangle >= 0)


def _with_edge(found: _Misses, points: FloatArray, cells: Binned) -> _Misses:
    """The misses with those of cells off the hull, where the ground carries on at the height of its edge."""
    grid = cells.grid
    flat = (points[:, :2] - [grid.origin_east, grid.origin_north]) / grid.spacing
    unit = Grid(0.0, 0.0, 1.0, grid.columns, grid.rows)
    carried = tin_to_grid(triangulate(flat, points[:, 2]), unit).z
    misses = np.abs(carried - cells.z)
    worst, rms = float(np.nanmax(misses)), float(np.sqrt(np.nanmean(misses**2)))
    return replace(found, worst=max(worst, found.worst), rms=rms)


def _worst_first(found: _Misses, tolerance: Length, room: int, used: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Cells, counted row by row, that become points in this round: the worst first."""
    if len(found.bare):  # cells off the hull, where a spike of it was cut
        bare = found.bare[~used[found.bare]]
        few = np.linspace(0, len(bare) - 1, min(room, len(bare))).astype(np.int64)
        return np.unique(bare[few])
    miss = np.where((found.cell >= 0) & ~used[found.cell], found.miss, 0.0)
    wanted = np.flatnonzero(miss > max(tolerance, EAGER * miss.max(initial=0.0)))
    order = wanted[np.argsort(-miss[wanted], kind="stable")]
    return np.unique(found.cell[order[:room]])


def _gaps(measured: Elevations, covered: NDArray[np.bool_], spacing: Length) -> tuple[Ratio, Length]:
    """Share of the covered cells that are empty, and the width of the widest gap among them."""
    empty = covered & ~np.isfinite(measured)
    if not empty.any():
        return 0.0, 0.0
    reach = distance_transform_edt(~np.isfinite(measured))
    return float(empty.sum() / covered.sum()), float(2.0 * reach[empty].max() * spacing)
