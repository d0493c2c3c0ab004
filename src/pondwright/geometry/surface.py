"""Elevation of a surface anywhere on its grid, on the same triangles as its volumes."""

from __future__ import annotations

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, FloatArray, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.scan import SLACK, cell_shares


def surface_at(z: Elevations, grid: Grid, points: Lengths) -> Elevations:
    """Elevations of a surface at points.

    The surface is flat on the two triangles of each cell, so this is exact for it; between nodes
    of a smooth ground the error falls with the square of the spacing.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    grid : Grid
        Where the nodes are.
    points : (n, 2) array of Length
        East and north of each point. [m], inside the grid

    Returns
    -------
    (n,) array of Elevation
        Read-only. [m]

    Raises
    ------
    DomainError
        If a point lies outside the grid or is not a number, or `z` does not fit the grid.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=2, rows=2)
    >>> surface_at(np.array([[0.0, 1.0], [0.0, 1.0]]), grid, np.array([[0.25, 0.5]])).tolist()
    [0.25]
    """
    heights = checked_surface(z, grid)
    places = node_units(grid, points)
    last = np.array([grid.columns - 1.0, grid.rows - 1.0])
    inside = (places >= -SLACK) & (places <= last + SLACK)
    if not inside.all():
        east, north = np.asarray(points)[~inside.all(axis=1)][0]
        raise DomainError(f"`points` must lie inside the grid, got ({east}, {north}) m")
    nodes, shares = node_shares(grid, places)
    elevations = (heights.ravel()[nodes] * shares).sum(axis=1)
    elevations.flags.writeable = False
    return elevations


def node_units(grid: Grid, points: Lengths) -> FloatArray:
    """Points as fractions of columns and rows from the grid's first node.

    Parameters
    ----------
    grid : Grid
        Where the nodes are.
    points : (n, 2) array of Length
        East and north of each point. [m]

    Returns
    -------
    (n, 2) array of float
        Column and row of each point.
    """
    origin = np.array([grid.origin_east, grid.origin_north])
    return (np.ascontiguousarray(points, dtype=np.float64).reshape(-1, 2) - origin) / grid.spacing


def node_shares(grid: Grid, places: FloatArray) -> tuple[np.ndarray, FloatArray]:
    """Flat indices of the three nodes round each place, and their shares in its elevation.

    Parameters
    ----------
    grid : Grid
        Where the nodes are.
    places : (n, 2) array of float
        Columns and rows, as from :func:`node_units`, inside the grid.

    Returns
    -------
    tuple of (n, 3) arrays
        Flat node indices, and shares that sum to one.
    """
    nodes = np.empty((len(places), 3), dtype=np.int32)
    shares = np.empty((len(places), 3))
    cell_shares(places, grid.rows, grid.columns, nodes, shares)
    return nodes, shares


def checked_surface(z: Elevations, grid: Grid, name: str = "z") -> Elevations:
    """The same array in row order, once it is known to fit the grid.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    grid : Grid
        Where the nodes are.
    name : str
        What the caller names this array.

    Returns
    -------
    (rows, columns) array of Elevation
        [m]

    Raises
    ------
    DomainError
        If the shape is not the grid's.
    """
    heights = np.ascontiguousarray(z, dtype=np.float64)
    if heights.shape != grid.shape:
        raise DomainError(f"`{name}` must have the grid's {grid.shape} nodes, got {heights.shape}")
    return heights
