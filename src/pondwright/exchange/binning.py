"""Many points to the cells of a grid, in chunks: how many fall in each, and how high they lie.

Memory is that of the grid and of one chunk.  A cell without a point stays empty: nothing is filled in.

See Also
--------
pondwright.exchange.thin : From such a grid to the few points that tell it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor, inf, sqrt
from tempfile import SpooledTemporaryFile

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import FloatArray, Length, Lengths
from pondwright.exchange.reading import (
    HIGHEST_GROUND,
    LOWEST_GROUND,
    Binned,
    Extent,
    Heights,
    Points,
    Preview,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import binning as kernels

MOST_NODES = 1500
"""Cells along the longer side of a grid."""

FINEST: Length = 0.02
"""Cells are not made smaller than this. [m]"""

CHUNK = 1_000_000
IN_MEMORY = 96 * 2**20
PREVIEW_NODES = 48


def lay_out(extent: Extent, count: int, spacing: Length | None = None, most: int = MOST_NODES) -> Grid:
    """Grid of cells over an extent, whose middles are its nodes.

    Parameters
    ----------
    extent : Extent
        Of the points. [m]
    count : int
        How many points there are.
    spacing : Length, optional
        Size of a cell; otherwise such that a cell has one point on average, within ``most``. [m]
    most : int, optional
        Cells along the longer side.

    Returns
    -------
    Grid
        A wanted spacing that would make too many cells is widened.

    Examples
    --------
    >>> lay_out((0.0, 0.0, 100.0, 50.0), 5000).shape
    (51, 101)
    """
    west, south, east, north = extent
    width, depth = east - west, north - south
    finest = max(max(width, depth) / (most - 1), FINEST)
    if spacing is None:
        spacing = sqrt(width * depth / max(count, 1))
    spacing = max(spacing, finest)
    columns = max(floor(width / spacing + 0.5) + 1, 2)
    rows = max(floor(depth / spacing + 0.5) + 1, 2)
    return Grid(west, south, spacing, columns, rows)


def lay_of(
    grid: Grid, scale: tuple[float, float] = (1.0, 1.0), offset: tuple[float, float] = (0.0, 0.0)
) -> FloatArray:
    """Factors (a, b, c, d) with which a file's numbers give column = floor(a x + b), row = floor(c y + d).

    Parameters
    ----------
    grid : Grid
    scale, offset : tuple of float, optional
        East = scale × number + offset, and the same for north.

    Returns
    -------
    (4,) array
    """
    return np.array(
        [
            scale[0] / grid.spacing,
            (offset[0] - grid.origin_east) / grid.spacing + 0.5,
            scale[1] / grid.spacing,
            (offset[1] - grid.origin_north) / grid.spacing + 0.5,
        ]
    )


class Bins:
    """Sums of the cells of a grid that chunks of points are added to.

    Parameters
    ----------
    grid : Grid
    heights : {"mean", "lowest"}
        What a cell with several points takes.
    """

    def __init__(self, grid: Grid, heights: Heights = "mean") -> None:
        cells = grid.rows * grid.columns
        self.grid = grid
        self.heights = heights
        self.told: NDArray[np.int64] = np.zeros(4, dtype=np.int64)
        self._lay = lay_of(grid)
        self._sums = np.zeros((cells, 2))
        self._lowest = np.full(cells if heights == "lowest" else 0, inf)

    def add(self, east: Lengths, north: Lengths, elevation: Lengths) -> None:
        """Add points; those outside the grid or of no sound height are counted in ``told``.

        Parameters
        ----------
        east, north, elevation : (n,) array of Length
            [m]
        """
        x, y, z = (np.ascontiguousarray(each, dtype=np.float64) for each in (east, north, elevation))
        kernels.bin_floats(
            x, y, z, self._lay, self.grid.columns, self.grid.rows, LOWEST_GROUND, HIGHEST_GROUND,
            self._sums, self._lowest, self.told,
        )  # fmt: skip

    def result(self) -> Binned:
        """The cells; NaN where there is no point."""
        count = self._sums[:, 0].astype(np.int64)
        with np.errstate(invalid="ignore", divide="ignore"):
            z = self._sums[:, 1] / self._sums[:, 0]
        if self.heights == "lowest":
            z = np.where(count > 0, self._lowest, np.nan)
        return binned(self.grid, z, count)


def binned(grid: Grid, z: FloatArray, count: NDArray[np.int64]) -> Binned:
    """Cells with their arrays in shape and read-only."""
    z, count = z.reshape(grid.shape), count.reshape(grid.shape)
    z.flags.writeable = count.flags.writeable = False
    return Binned(grid, z, count)


def bin_points(points: Points, grid: Grid, heights: Heights = "mean") -> Binned:
    """Points to the cells of a grid.

    Parameters
    ----------
    points : Points
    grid : Grid
    heights : {"mean", "lowest"}, optional

    Returns
    -------
    Binned

    Examples
    --------
    >>> points = Points(np.array([0.0, 0.1, 2.0]), np.array([0.0, 0.1, 2.0]), np.array([1.0, 3.0, 5.0]))
    >>> cells = bin_points(points, Grid(0.0, 0.0, 1.0, 3, 3))
    >>> float(cells.z[0, 0]), int(cells.count.sum()), int(np.isnan(cells.z).sum())
    (2.0, 3, 7)
    """
    bins = Bins(grid, heights)
    bins.add(points.east, points.north, points.elevation)
    return bins.result()


@dataclass
class Spool:
    """Points set aside until their extent is known; past some MB they wait on disk, not in memory."""

    def __post_init__(self) -> None:
        self._file = SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 (closed by `close`)
        self.count = 0
        self._low = np.full(3, inf)
        self._high = np.full(3, -inf)

    def add(self, points: FloatArray) -> None:
        """Set aside (n, 3) rows of east, north and elevation. [m]"""
        if len(points):
            self._low = np.minimum(self._low, points.min(axis=0))
            self._high = np.maximum(self._high, points.max(axis=0))
            self._file.write(np.ascontiguousarray(points, dtype="<f8").tobytes())
            self.count += len(points)

    @property
    def extent(self) -> Extent:
        """Of all points. [m]"""
        return float(self._low[0]), float(self._low[1]), float(self._high[0]), float(self._high[1])

    @property
    def heights(self) -> tuple[Length, Length]:
        """Lowest and highest. [m]"""
        return float(self._low[2]), float(self._high[2])

    def chunks(self) -> Iterator[FloatArray]:
        """The points again, as (n, 3) arrays."""
        self._file.seek(0)
        while part := self._file.read(24 * (CHUNK // 4)):
            yield np.frombuffer(part, dtype="<f8").reshape(-1, 3)

    def whole(self) -> FloatArray:
        """All points at once, (n, 3)."""
        return np.concatenate([np.empty((0, 3)), *self.chunks()])

    def close(self) -> None:
        """Give the memory back."""
        self._file.close()


def preview_of(cells: Binned) -> Preview:
    """A small picture of cells: at most 48 a side, each the mean of those under it.

    Parameters
    ----------
    cells : Binned

    Returns
    -------
    Preview
    """
    step = -(-max(cells.grid.shape) // PREVIEW_NODES)
    rows, columns = (max(-(-side // step), 2) for side in cells.grid.shape)
    filled = np.isfinite(cells.z)
    sums, counts = np.zeros((2, rows, columns))
    r, c = np.nonzero(filled)
    np.add.at(sums, (r // step, c // step), cells.z[filled])
    np.add.at(counts, (r // step, c // step), 1.0)
    half = 0.5 * (step - 1) * cells.grid.spacing
    grid = Grid(
        cells.grid.origin_east + half,
        cells.grid.origin_north + half,
        cells.grid.spacing * step,
        columns,
        rows,
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        means = np.round(sums / counts, 3)
    plain = tuple(tuple(float(z) if np.isfinite(z) else None for z in row) for row in means)
    return Preview(grid, plain)
