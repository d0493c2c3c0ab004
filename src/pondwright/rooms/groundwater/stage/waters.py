"""Ponds and ditches that were read: water that passes into the ground and out of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Elevations, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside
from pondwright.job.curves import ring_of
from pondwright.job.groundwater import Reading
from pondwright.job.places import LinePlace, PointPlace
from pondwright.rooms.groundwater.heads import Ground, TwoWay, transmissivity
from pondwright.rooms.groundwater.lines import lengths_in_cells, line_conductance
from pondwright.rooms.groundwater.stage.shared import line_points

OPEN_WATER = frozenset({"ditch", "pond"})

DITCH: Length = 0.3
"""Half the width of the wetted bed of a ditch; common practice. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class Water:
    """A pond or a ditch in one season.

    Attributes
    ----------
    level : Elevation                       [m]
    wet : (rows, columns) bool array        Cells that it covers.
    length : (rows, columns) array          Of a ditch in each cell; zero for a pond. [m]
    goes : bool                             Whether it is done away with when the job is built.
    """

    name: str
    level: Elevation
    wet: NDArray[np.bool_]
    length: Lengths
    goes: bool


def waters_of(
    readings: Mapping[str, Reading], season: str, ground: Elevations, grid: Grid
) -> tuple[Water, ...]:
    """Ponds and ditches that hold water in a season.

    Parameters
    ----------
    readings : mapping     Of the document.
    season : str           `dry` or `wet`.
    ground, grid : (rows, columns) array, Grid     The existing ground at the cells. [m]

    Returns
    -------
    tuple of Water         Those with a level in that season, and a cell of the grid.
    """
    found = []
    for name, row in readings.items():
        level = getattr(row, season)
        if row.kind not in OPEN_WATER or level is None:
            continue
        wet, length = _cells(row, level, ground, grid)
        if wet.any():
            found.append(Water(name, level, wet, length, row.status == "remove"))
    return tuple(found)


def two_ways(waters: Sequence[Water], ground: Ground, surface: Elevations) -> tuple[TwoWay, ...]:
    """How easily water passes between the ground and each pond or ditch.

    Parameters
    ----------
    waters : Water
    ground : Ground
    surface : (rows, columns) array     Up to where the ground counts. [m]

    Returns
    -------
    tuple of TwoWay

    Notes
    -----
    A ditch lets water in as a drain does; a pond through half the thickness of the ground below it.
    """
    if not waters:
        return ()
    found = []
    for water in waters:
        rows, columns = np.nonzero(water.wet)
        here = ground_at(ground, rows, columns)
        thickness = surface[rows, columns] - here.base[0]
        mean = transmissivity(here, surface[rows, columns][None])[0] / thickness
        length = water.length[rows, columns]
        along = line_conductance(length, mean, thickness, DITCH)
        below = ground.spacing**2 * mean / (0.5 * thickness)
        conductance = np.zeros(grid_shape(ground))
        conductance[rows, columns] = np.where(length > 0.0, along, below)
        found.append(TwoWay(conductance, np.full(grid_shape(ground), water.level)))
    return tuple(found)


def ground_at(ground: Ground, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> Ground:
    """The ground of some cells alone, as one row of cells."""
    return Ground(
        ground.spacing,
        ground.layers_top[:, rows, columns][:, None],
        ground.layers_bottom[:, rows, columns][:, None],
        ground.permeability[:, rows, columns][:, None],
        ground.base[rows, columns][None],
        ground.cap[rows, columns][None],
    )


def grid_shape(ground: Ground) -> tuple[int, int]:
    """Rows and columns of the cells of a ground."""
    rows, columns = ground.base.shape
    return rows, columns


def _cells(
    row: Reading, level: Elevation, ground: Elevations, grid: Grid
) -> tuple[NDArray[np.bool_], Lengths]:
    nothing = np.zeros(grid.shape)
    place = row.place
    if isinstance(place, PointPlace):
        wet = np.zeros(grid.shape, dtype=np.bool_)
        column = round((place.east - grid.origin_east) / grid.spacing)
        at = round((place.north - grid.origin_north) / grid.spacing)
        if 0 <= column < grid.columns and 0 <= at < grid.rows:
            wet[at, column] = True
        return wet, nothing
    if isinstance(place, LinePlace):
        points = line_points(place)
        length, _ = lengths_in_cells(grid, points, np.zeros(len(points)))
        return length > 0.0, length
    east, north = np.meshgrid(grid.east, grid.north)
    inside = points_inside([ring_of(place.curve).points], np.column_stack([east.ravel(), north.ravel()]))
    return inside.reshape(grid.shape) & (ground < level), nothing
