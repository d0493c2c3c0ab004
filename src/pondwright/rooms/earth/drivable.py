"""Where machines may drive: the site as square cells.

A cell is closed (a house, roots, ground that is too steep), open, or *own* ground, on which only those drive
who come from it or go there: the hole of a pond, a pile.

See Also
--------
pondwright.rooms.earth.routes : the shortest ways over these cells.
pondwright.geometry.kernels.crossing : what a straight line goes through.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, Length, Lengths, Slope
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import crossing
from pondwright.geometry.surface import surface_at

MOST_CELLS = 128
"""Cells along the longer side of the ground that is looked at."""

FINEST: Length = 0.25
"""Side of a cell, at least. [m]"""

MARGIN: Length = 10.0
"""Ground round all places that is looked at; beyond it nobody drives. [m]"""

THINNEST = 0.75
"""Half the width of what is closed or opened, at least, in cells: no straight line slips through it."""

MOST_OWN = 30
"""Pieces of own ground that are told apart; those beyond share the last place."""

LEAST_STEEP = 9
"""Steep cells in one piece, at least: a machine stands over fewer."""

MOVED: Length = 0.05
"""Ground that is moved by less stays as it is. [m]"""

Place = tuple[Length, Length]
Line = tuple[Place, ...]
Bits = NDArray[np.int32]
Mask = NDArray[np.bool_]

CLOSED = crossing.CLOSED
"""What a cell holds that nobody drives on."""


@dataclass(frozen=True, slots=True, eq=False)
class Own:
    """Ground on which only those drive who come from it, or from less than `reach` beside it, or go there.

    A hole is driven `through`, time and again; a pile is only left or reached.
    """

    shape: BaseGeometry
    reach: Length = 0.0
    through: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """The ground before and after the work, and the steepest grade that is driven."""

    z: Elevations
    finish: Elevations
    grid: Grid
    steepest: Slope


@dataclass(frozen=True, slots=True, eq=False)
class Drivable:
    """Ground that machines drive on: what closes each cell, own ground, and the ways in."""

    grid: Grid
    cells: Bits
    own: tuple[Own, ...]
    ways: tuple[Line, ...]

    @property
    def bits(self) -> tuple[np.int32, ...]:
        """Bit of each piece of own ground in the cells that it covers."""
        return _bits(len(self.own))

    def in_cells(self, places: Lengths) -> Lengths:
        """Places in columns and rows of cells."""
        return (places - (self.grid.origin_east, self.grid.origin_north)) / self.grid.spacing

    def crossed(self, starts: Lengths, stops: Lengths) -> Bits:
        """Bits of all that straight lines between places go through, both in cells."""
        lines = np.ascontiguousarray(np.hstack([starts, stops]), dtype=np.float64)
        found = np.empty((len(lines), 1), dtype=np.int32)
        crossing.gather(self.cells, lines, found)
        return found[:, 0]


def drivable(
    places: Lengths,
    closed: Sequence[BaseGeometry] = (),
    opened: Sequence[BaseGeometry] = (),
    solid: Sequence[BaseGeometry] = (),
    own: Sequence[Own] = (),
    ways: Sequence[Line] = (),
    ground: Ground | None = None,
) -> Drivable:
    """Ground that machines drive on, as cells.

    Parameters
    ----------
    places : (n, 2) array     All that is driven from and to. [m], n >= 1
    closed : shapes           What is kept clear of, half the width of a machine included.
    opened : shapes           Gates and ways in: they open what is closed.
    solid : shapes            What no way in opens.
    own : Own                 Holes and piles; steep ground in them is dug or heaped anyway.
    ways : Line               Ways in for machines. [m]
    ground : Ground           Its grade counts where it stays as it is.

    Returns
    -------
    Drivable

    Raises
    ------
    DomainError               If there is no place.

    Notes
    -----
    Cells are as fine as 128 of them along the longer side of all places and ways with 10 m around, and not
    below 0.25 m.  A cell counts as covered where its middle is.  Ground is
    too steep where √(a² + b²) of the mean rises a and b between the sides of a cell is more than the steepest
    grade, in pieces of nine cells or more; what is dug or placed there is worked from its edge, and counts
    as level.

    Examples
    --------
    A wall from east to west:

    >>> wall = shapely.box(-50.0, 4.0, 20.0, 6.0)
    >>> ground = drivable(np.array([[0.0, 0.0], [0.0, 10.0]]), closed=[wall])
    >>> ground.grid.spacing, bool(ground.cells.any())
    (0.25, True)

    hand

    References
    ----------
    .. [1] Derived: definition.
    """
    if not len(places):
        raise DomainError("`places` must hold at least one place, got none")
    grid = _grid(np.vstack([places, *(np.array(way).reshape(-1, 2) for way in ways)]))
    thin = THINNEST * grid.spacing
    holes = [_covered(each.shape, grid) for each in own]
    shut = np.zeros(grid.cells_shape, dtype=np.bool_)
    if ground is not None:
        shut = _steep(ground, grid) & ~np.any([np.zeros_like(shut), *holes], axis=0)
    for shape in closed:
        shut |= _covered(_at_least(shape, thin), grid)
    for shape in opened:
        shut &= ~_covered(shapely.buffer(shape, thin), grid)
    for shape in solid:
        shut |= _covered(_at_least(shape, thin), grid)
    cells = np.where(shut | _pockets(shut, grid, places), np.int32(CLOSED), np.int32(0))
    for bit, hole in zip(_bits(len(holes)), holes, strict=True):
        cells[hole] |= bit
    split = tuple(_split(way, places, 2.0 * grid.spacing) for way in ways if len(way) > 1)
    return Drivable(grid, np.ascontiguousarray(cells), tuple(own), split)


def _bits(count: int) -> tuple[np.int32, ...]:
    return tuple(np.int32(1 << min(number, MOST_OWN - 1)) for number in range(count))


def _grid(places: Lengths) -> Grid:
    """Cells over all places and some ground around."""
    low, high = places.min(axis=0) - MARGIN, places.max(axis=0) + MARGIN
    side = max(float((high - low).max()) / MOST_CELLS, FINEST)
    columns, rows = (int(np.ceil(span / side)) + 1 for span in high - low)
    return Grid(float(low[0]), float(low[1]), side, columns, rows)


def _pockets(shut: Mask, grid: Grid, places: Lengths) -> Mask:
    """Open cells shut in by closed ones, without a place: nobody comes out on open ground there."""
    part, count = ndimage.label(~shut)
    column, row = ((places - (grid.origin_east, grid.origin_north)) // grid.spacing).astype(np.intp).T
    sizes = np.bincount(part.ravel(), minlength=count + 1)
    kept = np.zeros(count + 1, dtype=np.bool_)
    kept[part[row, column]] = True
    kept[1 + int(np.argmax(sizes[1:])) if count else 0] = True
    kept[0] = True
    return ~kept[part]


def _split(way: Line, places: Lengths, near: Length) -> Line:
    """A way with a place of its own where it passes near to one that is driven to, such as a gate."""
    line, spots = shapely.LineString(way), shapely.points(places)
    beside = shapely.line_locate_point(line, spots[shapely.distance(spots, line) <= near])
    steps = np.hypot(*np.diff(np.array(way), axis=0).T)
    along = np.unique(np.concatenate([[0.0], np.cumsum(steps), beside]))
    at = shapely.get_coordinates(shapely.line_interpolate_point(line, along))
    return tuple((float(east), float(north)) for east, north in at)


def _covered(shape: BaseGeometry, grid: Grid) -> Mask:
    """Cells whose middle lies in a shape."""
    found = np.zeros(grid.cells_shape, dtype=np.bool_)
    if shape.is_empty:
        return found
    west, south, east, north = shape.bounds
    (left, right), (low, high) = (
        np.clip(np.array([np.floor(near), np.ceil(far) + 1]), 0, count - 1).astype(int)
        for near, far, count in (
            (
                (west - grid.origin_east) / grid.spacing,
                (east - grid.origin_east) / grid.spacing,
                grid.columns,
            ),
            (
                (south - grid.origin_north) / grid.spacing,
                (north - grid.origin_north) / grid.spacing,
                grid.rows,
            ),
        )
    )
    middle_east = grid.east[left:right] + 0.5 * grid.spacing
    middle_north = grid.north[low:high] + 0.5 * grid.spacing
    shapely.prepare(shape)
    found[low:high, left:right] = shapely.contains_xy(shape, *np.meshgrid(middle_east, middle_north))
    return found


def _at_least(shape: BaseGeometry, thin: Length) -> BaseGeometry:
    """The shape, wide enough that no line slips through between two middles of cells."""
    # The width of a long strip is twice its area over its length all round.
    return shapely.buffer(shape, thin) if shape.area < thin * shape.length else shape


def _steep(ground: Ground, grid: Grid) -> Mask:
    """Cells that are too steep and stay as they are; none where the ground is not known."""
    west, south, east, north = ground.grid.extent
    columns = np.flatnonzero((grid.east >= west) & (grid.east <= east))
    rows = np.flatnonzero((grid.north >= south) & (grid.north <= north))
    found = np.zeros(grid.cells_shape, dtype=np.bool_)
    if len(columns) < 2 or len(rows) < 2:
        return found
    nodes = np.column_stack([each.ravel() for each in np.meshgrid(grid.east[columns], grid.north[rows])])
    z, finish = (
        surface_at(surface, ground.grid, nodes).reshape(len(rows), len(columns))
        for surface in (ground.z, ground.finish)
    )
    rises = np.diff(z, axis=1), np.diff(z, axis=0)
    across, up = 0.5 * (rises[0][:-1] + rises[0][1:]), 0.5 * (rises[1][:, :-1] + rises[1][:, 1:])
    moved = np.abs(finish - z) > MOVED
    moved = moved[:-1, :-1] | moved[:-1, 1:] | moved[1:, :-1] | moved[1:, 1:]
    steep = (np.hypot(across, up) / grid.spacing > ground.steepest) & ~moved
    found[rows[0] : rows[-1], columns[0] : columns[-1]] = steep
    return _smooth(found)


def _smooth(steep: Mask) -> Mask:
    """Steep ground without gaps that no machine fits into, and without specks that it drives over."""
    if not steep.any():
        return steep
    closed = ndimage.binary_closing(np.pad(steep, 1), np.ones((3, 3)))[1:-1, 1:-1]
    part, _count = ndimage.label(closed, np.ones((3, 3)))
    sizes = np.bincount(part.ravel())
    return closed & (sizes[part] >= LEAST_STEEP)
