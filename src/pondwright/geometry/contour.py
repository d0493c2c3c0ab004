"""Contours of a surface.

The lines cross the sides of the cells exactly where the flat triangles do; within a cell they
run straight from side to side, so they can differ from the triangles' own line by a fraction of a
cell, and by nothing on ground that is flat across the cell.  A cell with a saddle is split at the
height of its middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

import numpy as np
from contourpy import FillType, LineType, SerialContourGenerator, ZInterp, contour_generator
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import checked_surface


@dataclass(frozen=True, slots=True)
class ContourLines:
    """Contours as plain arrays, ready to be sent or drawn.

    Line ``i`` has the level ``levels[i]`` [m] and the points ``points[starts[i] : starts[i + 1]]``
    (east and north [m]); a closed line ends on its first point.  Higher ground is on its left.
    """

    levels: Elevations
    starts: NDArray[np.int64]
    points: Lengths

    def lines(self) -> list[Lengths]:
        """Points of each line, (k, 2). [m]"""
        return [self.points[a:b] for a, b in zip(self.starts[:-1], self.starts[1:], strict=True)]


def contour_lines(
    z: Elevations, grid: Grid, levels: Sequence[Elevation] | Elevations, mask: NDArray[np.bool_] | None = None
) -> ContourLines:
    """Contours of a surface at some levels, as plain arrays.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    grid : Grid
        Where the nodes are.
    levels : (n,) array of Elevation
        Levels to draw. [m]
    mask : (rows, columns) array of bool, optional
        Nodes to draw on; a cell is drawn on as far as its corners in the mask reach.

    Returns
    -------
    ContourLines
        Lines in the order of the levels; a level that the surface does not reach has none.

    Raises
    ------
    DomainError
        If `z` or `mask` does not fit the grid, or a level is not a finite number.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=2)
    >>> contour_lines(np.tile([5.0, 6.0, 7.0], (2, 1)), grid, [5.5]).points[:, 0].tolist()
    [0.5, 0.5]
    """
    wanted = np.asarray(levels, dtype=np.float64).ravel()
    if not np.isfinite(wanted).all():
        raise DomainError(f"`levels` must be finite numbers, got {wanted[~np.isfinite(wanted)][0]} m")
    heights = checked_surface(z, grid)
    if mask is not None and mask.shape != grid.shape:
        raise DomainError(f"`mask` must have the grid's {grid.shape} nodes, got {mask.shape}")
    gaps = ~np.isfinite(heights)
    if mask is not None:
        gaps |= ~mask
    # Straight to the class: what the function before it prepares takes longer than the lines.
    generator = SerialContourGenerator(
        *np.meshgrid(grid.east, grid.north),
        heights,
        gaps,
        corner_mask=True,
        line_type=LineType.ChunkCombinedOffset,
        fill_type=FillType.OuterOffset,
        quad_as_tri=False,
        z_interp=ZInterp.Linear,
    )
    points, starts, of_level = [np.empty((0, 2))], [np.zeros(1, dtype=np.int64)], [np.empty(0)]
    drawn = 0
    for level in wanted:
        chunk, offsets = (array[0] for array in generator.lines(float(level)))
        if chunk is not None and offsets is not None:
            points.append(np.asarray(chunk, dtype=np.float64))
            starts.append(offsets[1:].astype(np.int64) + drawn)
            of_level.append(np.full(len(offsets) - 1, level))
            drawn += len(chunk)
    contours = ContourLines(np.concatenate(of_level), np.concatenate(starts), np.concatenate(points))
    for array in (contours.levels, contours.starts, contours.points):
        array.flags.writeable = False
    return contours


def contours(
    z: Elevations, grid: Grid, levels: Sequence[Elevation] | Elevations, mask: NDArray[np.bool_] | None = None
) -> list[tuple[Elevation, list[Lengths]]]:
    """Contours of a surface, grouped by level.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    grid : Grid
        Where the nodes are.
    levels : (n,) array of Elevation
        Levels to draw. [m]
    mask : (rows, columns) array of bool, optional
        Nodes to draw on.

    Returns
    -------
    list of (Elevation, list of (k, 2) arrays of Length)
        One entry a level, in the order given, with the lines at that level (maybe none). [m]

    Raises
    ------
    DomainError
        As :func:`contour_lines`.
    """
    drawn = contour_lines(z, grid, levels, mask)
    lines = drawn.lines()
    return [
        (
            float(level),
            [line for line, of_level in zip(lines, drawn.levels, strict=True) if of_level == level],
        )
        for level in np.asarray(levels, dtype=np.float64).ravel()
    ]


def areas_above(z: Elevations, grid: Grid, level: Elevation) -> list[list[Lengths]]:
    """Areas where a surface lies above a level.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    grid : Grid
        Where the nodes are.
    level : Elevation
        The level. [m]

    Returns
    -------
    list of lists of (k, 2) arrays of Length
        One entry an area: its outer ring, then its holes; each ring ends on its first point. [m]

    Raises
    ------
    DomainError
        If `z` does not fit the grid.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=2)
    >>> [[ring.max(axis=0).tolist()] for [ring] in areas_above(np.tile([5.0, 6.0, 7.0], (2, 1)), grid, 5.5)]
    [[[2.0, 1.0]]]
    """
    generator = contour_generator(
        grid.east, grid.north, checked_surface(z, grid), name="serial", fill_type=FillType.OuterOffset
    )
    # What comes back depends on the type of fill, which no annotation tells.
    found = cast(tuple[list[Lengths], list[NDArray[np.uint32]]], generator.filled(float(level), np.inf))
    outlines, offsets = found
    return [
        [points[start:end] for start, end in pairwise(starts)]
        for points, starts in zip(outlines, offsets, strict=True)
    ]
