"""Drains and ditches on the water grid: exact lengths in cells, bottoms, and how easily water gets in.

See Also
--------
pondwright.rooms.groundwater.heads : where these conductances are used.
"""

from __future__ import annotations

import math

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths, Slope
from pondwright.geometry.grid import Grid

LEAST_ENTRY = 0.1
"""Entry resistance of a line times pi and the permeability, at least: a skin; common practice."""


def lengths_in_cells(grid: Grid, line: Lengths, levels: Elevations) -> tuple[Lengths, Elevations]:
    """Length of a line in every cell, exact, and its mean elevation there.

    Parameters
    ----------
    grid : Grid             Its nodes are the middles of the cells.
    line : (n, 2) array     Corners of the line, east and north; it may reach beyond the cells. [m]
    levels : (n,) array     Elevation at each corner, straight between them. [m]

    Returns
    -------
    tuple of (rows, columns) arrays     Length, and elevation (0 where there is no length). [m], [m]

    Raises
    ------
    DomainError             If the line has less than two corners.

    Examples
    --------
    >>> grid = Grid(0.5, 0.5, 1.0, 3, 2)
    >>> length, level = lengths_in_cells(grid, np.array([[0.5, 0.5], [2.0, 0.5]]), np.array([3.0, 0.0]))
    >>> length.tolist(), level.round(9).tolist()
    ([[0.5, 1.0, 0.0], [0.0, 0.0, 0.0]], [[2.5, 1.0, 0.0], [0.0, 0.0, 0.0]])

    hand

    References
    ----------
    .. [1] Derived: a line cut at the sides of the cells.
    """
    if len(line) < 2:
        raise DomainError(f"`line` must have at least 2 points, got {len(line)}")
    length, moment = np.zeros(grid.shape), np.zeros(grid.shape)
    corner = np.array([grid.origin_east, grid.origin_north]) - 0.5 * grid.spacing
    units = (np.asarray(line, dtype=np.float64) - corner) / grid.spacing
    for start, end, high, low in zip(units, units[1:], levels, levels[1:], strict=False):
        cuts = _cuts(start, end)
        middle = 0.5 * (cuts[:-1] + cuts[1:])
        column, row = np.floor(start + middle[:, None] * (end - start)).astype(np.int64).T
        inside = (column >= 0) & (column < grid.columns) & (row >= 0) & (row < grid.rows)
        pieces = (np.diff(cuts) * math.dist(start, end) * grid.spacing)[inside]
        cells = row[inside], column[inside]
        np.add.at(length, cells, pieces)
        np.add.at(moment, cells, pieces * (high + middle[inside] * (low - high)))
    return length, np.divide(moment, length, out=np.zeros(grid.shape), where=length > 0.0)


def line_conductance(
    length: Lengths, permeability: FloatArray, thickness: Lengths, radius: Length
) -> FloatArray:
    """How easily water gets from a cell into a drain or a ditch in it.

    Parameters
    ----------
    length : ndarray           Of the line in each cell. [m]
    permeability : ndarray     Mean of the cell's wetted ground. [m/s], > 0
    thickness : ndarray        Of the wetted ground. [m]
    radius : Length            Of the pipe with its gravel, or half the width of a ditch. [m], > 0

    Returns
    -------
    ndarray                    [m²/s]

    Raises
    ------
    DomainError                If the radius is not above 0.

    Notes
    -----
    C = L / W with the radial part of the entry resistance, W = ln(D / (π r)) / (π K); the level part is that
    of the cells themselves.  W is at least `LEAST_ENTRY` / (π K), also where a line is as deep as the ground.

    Examples
    --------
    >>> line_conductance(np.array([2.0]), np.array([1e-5]), np.array([3.0]), 0.15).round(9).tolist()
    [3.3945e-05]

    hand

    References
    ----------
    .. [1] Radial resistance of a drain (Ernst), from memory.
    """
    if not radius > 0.0:
        raise DomainError(f"`radius` must be above 0 m, got {radius} m")
    narrowed = np.log(np.maximum(thickness, radius) / (math.pi * radius))
    return length * math.pi * permeability / np.maximum(narrowed, LEAST_ENTRY)


def stations(line: Lengths) -> Lengths:
    """Distance along a line to each of its corners.

    Parameters
    ----------
    line : (n, 2) array     [m]

    Returns
    -------
    (n,) array              [m]

    Examples
    --------
    >>> stations(np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 6.0]])).tolist()
    [0.0, 5.0, 7.0]

    hand

    References
    ----------
    .. [1] Derived.
    """
    steps = np.hypot(*np.diff(np.asarray(line, dtype=np.float64), axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def rising_inverts(line: Lengths, end: Elevation, fall: Slope) -> Elevations:
    """Bottoms of a pipe at each corner, evenly rising from its lower end.

    Parameters
    ----------
    line : (n, 2) array     From the upper end down. [m]
    end : Elevation         Bottom at the lower end. [m]
    fall : Slope            [m/m]

    Returns
    -------
    (n,) array              [m]

    Examples
    --------
    >>> rising_inverts(np.array([[0.0, 0.0], [30.0, 0.0]]), 28.0, 0.01).round(9).tolist()
    [28.3, 28.0]

    hand

    References
    ----------
    .. [1] Derived.
    """
    along = stations(line)
    return end + fall * (along[-1] - along)


def invert_beside(line: Lengths, inverts: Elevations, east: Length, north: Length) -> Elevation:
    """Bottom of a pipe where it is nearest to a place.

    Parameters
    ----------
    line : (n, 2) array       [m]
    inverts : (n,) array      At each corner. [m]
    east, north : Length      The place. [m]

    Returns
    -------
    Elevation                 [m]

    Examples
    --------
    >>> line = np.array([[0.0, 0.0], [10.0, 0.0]])
    >>> invert_beside(line, np.array([3.0, 2.0]), 4.0, 1.0)
    2.6

    hand

    References
    ----------
    .. [1] Derived: nearest point of a line.
    """
    corners, place = np.asarray(line, dtype=np.float64), np.array([east, north])
    start, run = corners[:-1], np.diff(corners, axis=0)
    share = np.clip(((place - start) * run).sum(axis=1) / np.maximum((run**2).sum(axis=1), 1e-300), 0.0, 1.0)
    away = np.hypot(*(start + share[:, None] * run - place).T)
    nearest = int(np.argmin(away))
    return float(inverts[nearest] + share[nearest] * (inverts[nearest + 1] - inverts[nearest]))


def _cuts(start: FloatArray, end: FloatArray) -> FloatArray:
    """Shares of a piece, in cells, at which it crosses their sides; its own ends first and last."""
    shares = [np.array([0.0, 1.0])]
    for from_, to in zip(start, end, strict=True):
        low, high = min(from_, to), max(from_, to)
        sides = np.arange(math.floor(low) + 1, math.ceil(high))
        if to != from_:
            shares.append((sides - from_) / (to - from_))
    return np.unique(np.clip(np.concatenate(shares), 0.0, 1.0))
