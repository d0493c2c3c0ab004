"""Dug and placed volumes, exact on the triangles of the surface, by layer of soil.

Soil lies in layers parallel to the existing ground.  With D the ground less the subgrade, what is
dug of a layer between depths a and b is ∫ max(0, D - a) - ∫ max(0, D - b); what is placed is
∫ max(0, -D).  Topsoil and muck at the top are also stripped from under placed soil, as far as
it is as thick as they are, and the hole is filled again with good soil.

See Also
--------
pondwright.rooms.earth.states : what happens to these volumes in a truck and in a berm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Areas, FloatArray, Length, Lengths, Volume
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import grading as kernels

NEVER_FILL = frozenset({"topsoil", "muck"})
"""Kinds of soil that are stripped from under placed soil and never counted as fill."""


@dataclass(frozen=True, slots=True)
class SoilColumn:
    """Layers of soil from the top down; the last one goes on for as deep as is dug.

    Attributes
    ----------
    kinds : str             Kind of each layer.
    bottoms : Length        Depth of the bottom of each layer but the last. [m], rising
    """

    kinds: tuple[str, ...]
    bottoms: tuple[Length, ...]

    @property
    def stripped(self) -> int:
        """Layers at the top that are stripped from under placed soil."""
        count = 0
        while count < len(self.bottoms) and self.kinds[count] in NEVER_FILL:
            count += 1
        return count


@dataclass(frozen=True, slots=True, eq=False)
class SoilPlace:
    """Where a soil column holds: round points, or inside a ring; without either, where no other does.

    Attributes
    ----------
    points : (k, 2) array             East and north of test pits. [m]
    ring : (n, 2) array, optional     Area in which it holds. [m]
    """

    points: Lengths
    ring: Lengths | None = None


@dataclass(frozen=True, slots=True, eq=False)
class SoilMap:
    """Soil columns, and which of them each cell has.

    Attributes
    ----------
    columns : SoilColumn                      From the soils of the site.
    of_cell : (rows-1, columns-1) int array   Column of every cell.
    thresholds : (columns, k) array           Differences at which a layer begins, ascending. [m]
    """

    columns: tuple[SoilColumn, ...]
    of_cell: NDArray[np.int8]
    thresholds: Lengths


@dataclass(frozen=True, slots=True)
class Moved:
    """Soil that moves, all as it lies in the bank but `placed`, which is compacted.

    Attributes
    ----------
    dug : Volume by kind          Dug for the shape. [m³]
    stripped : Volume by kind     Stripped from under placed soil. [m³]
    raised : Volume               Between the existing ground and the subgrade above it. [m³]
    """

    dug: dict[str, Volume]
    stripped: dict[str, Volume]
    raised: Volume

    @property
    def placed(self) -> Volume:
        """Placed soil, with what fills the stripped ground again. [m³]"""
        return self.raised + sum(self.stripped.values())

    @property
    def total_dug(self) -> Volume:
        """All that leaves the bank. [m³]"""
        return sum(self.dug.values()) + sum(self.stripped.values())


def soil_map(columns: Sequence[SoilColumn], places: Sequence[SoilPlace], grid: Grid) -> SoilMap:
    """Soil of every cell: the column whose area it lies in, or else the one of the nearest point.

    Parameters
    ----------
    columns : SoilColumn           One or more.
    places : SoilPlace             Of each column; later ones go before earlier ones.
    grid : Grid                    Where the cells are.

    Returns
    -------
    SoilMap

    References
    ----------
    .. [1] Derived: nearest place (Voronoi); soil between test pits is a guess in any case.
    """
    return SoilMap(tuple(columns), _nearest(places, grid), _thresholds(columns))


def dig_volumes(difference: Lengths, soils: SoilMap, spans: NDArray[np.int32], grid: Grid) -> Moved:
    """Dug and placed volumes of a difference surface.

    Parameters
    ----------
    difference : (rows, columns) array     Ground less subgrade. [m]
    soils : SoilMap
    spans : (rows, 2) int array            First and end column of every row.
    grid : Grid

    Returns
    -------
    Moved

    Notes
    -----
    Exact for the piecewise linear difference; second order in the spacing for the true one.

    References
    ----------
    .. [1] Derived: integral of the positive part of a plane over a triangle.
    """
    excess = np.empty((len(soils.columns), soils.thresholds.shape[1] + 2))
    kernels.excess_volumes(difference, spans, soils.of_cell, soils.thresholds, grid.cell_area, excess)
    return moved(excess, soils)


def moved(excess: FloatArray, soils: SoilMap) -> Moved:
    """Volumes by kind of soil from the volumes above each threshold.

    Parameters
    ----------
    excess : (columns, k + 2) array     From the compiled loops. [m³], the last one [m²]
    soils : SoilMap

    Returns
    -------
    Moved

    Notes
    -----
    ∫ max(0, -D - t) = ∫ max(0, D + t) - ∫ D - t A.

    References
    ----------
    .. [1] Derived.
    """
    dug: dict[str, Volume] = {}
    stripped: dict[str, Volume] = {}
    raised = 0.0
    for column, thresholds, above in zip(soils.columns, soils.thresholds, excess, strict=True):
        strips = column.stripped
        zero = int(np.searchsorted(thresholds, 0.0))
        whole, area = above[-2], above[-1]
        layers = [*above[zero : zero + len(column.bottoms) + 1], 0.0]
        for kind, upper, lower in zip(column.kinds, layers, layers[1:], strict=False):
            dug[kind] = dug.get(kind, 0.0) + float(upper - lower)
        # Placed soil thicker than each stripped layer, from none down: thresholds below zero, in turn.
        thicker = [
            float(above[zero - step] - whole + thresholds[zero - step] * area) for step in range(strips + 1)
        ]
        raised += thicker[0]
        for kind, upper, lower in zip(column.kinds, thicker, thicker[1:], strict=False):
            stripped[kind] = stripped.get(kind, 0.0) + upper - lower
    return Moved(dug, stripped, raised)


def volume_slopes(difference: Lengths, grid: Grid) -> tuple[Areas, Areas]:
    """Growth of the dug and of the placed volume per metre that the ground rises at each node.

    Parameters
    ----------
    difference : (rows, columns) array     Ground less subgrade. [m]
    grid : Grid

    Returns
    -------
    tuple of (rows, columns) arrays        Dug, and placed (not above zero). [m²]

    Notes
    -----
    The exact derivative of the exact volumes, for carrying the survey's errors into them.

    References
    ----------
    .. [1] Derived.
    """
    dug, placed = np.empty_like(difference), np.empty_like(difference)
    kernels.volume_slopes(difference, grid.cell_area, dug, placed)
    return dug, placed


def _thresholds(columns: Sequence[SoilColumn]) -> Lengths:
    """Thresholds of all columns: minus the stripped bottoms, zero, the bottoms; padded out of reach."""
    rows = [
        [-bottom for bottom in reversed(column.bottoms[: column.stripped])] + [0.0, *column.bottoms]
        for column in columns
    ]
    widest = max(len(row) for row in rows)
    padded = np.array([row + [np.finfo(np.float64).max] * (widest - len(row)) for row in rows])
    padded.flags.writeable = False
    return padded


def _nearest(places: Sequence[SoilPlace], grid: Grid) -> NDArray[np.int8]:
    """Number of the column of every cell."""
    nearest = np.zeros(grid.cells_shape, dtype=np.int8)
    if len(places) > 1:
        east = grid.east[:-1] + 0.5 * grid.spacing
        north = grid.north[:-1, None] + 0.5 * grid.spacing
        least = np.full(grid.cells_shape, np.inf)
        for index, place in enumerate(places):
            for point_east, point_north in place.points:
                apart = (east - point_east) ** 2 + (north - point_north) ** 2
                closer = apart < least
                nearest[closer] = index
                least[closer] = apart[closer]
        for index, place in enumerate(places):
            if place.ring is not None:
                nearest[ring_coverage(grid, [place.ring]) > 0.5 * grid.cell_area] = index
    nearest.flags.writeable = False
    return nearest
