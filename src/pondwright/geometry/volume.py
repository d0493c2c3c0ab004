"""Areas and volumes of surfaces, exact on the two flat triangles of each cell.

All functions use the same triangles, so they agree with each other to rounding: the volume above
less the volume below is the integral of the difference, and the area is the rate of the volume by
level.  Against a smooth ground the error falls with the square of the spacing, and
:func:`richardson` takes it out of a pair of grids.

A ``mask`` limits the sum.  A mask of nodes, such as a basin's, counts each triangle that has a corner
in it: the triangles of a shore have dry corners too.  A mask of triangles, of shape
(rows - 1, columns - 1, 2) with the southern triangle of each cell first, counts exactly those.

See Also
--------
pondwright.geometry.flood : The basin that a water level may fill.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Areas, Elevation, Elevations, FloatArray, Lengths, Volume, Volumes
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.volume import below_level, difference, stage_sums, stages, touching
from pondwright.geometry.surface import checked_surface

Mask = NDArray[np.bool_]

BLOCK = 16
"""Rows of cells whose parts in a stage-storage curve are kept together."""

_EVERY_TRIANGLE = np.zeros((0, 0, 0), dtype=np.int8)


def triangles_touching(mask: Mask) -> Mask:
    """Triangles that have at least one corner in a mask of nodes.

    Parameters
    ----------
    mask : (rows, columns) array of bool
        Nodes.

    Returns
    -------
    (rows - 1, columns - 1, 2) array of bool
        The southern and the northern triangle of each cell.
    """
    rows, columns = mask.shape
    triangles = np.empty((rows - 1, columns - 1, 2), dtype=np.bool_)
    nodes = np.ascontiguousarray(mask, dtype=np.bool_)
    touching(nodes.view(np.int8), triangles.view(np.int8))
    return triangles


def difference_volumes(
    upper: Elevations, lower: Elevations, grid: Grid, mask: Mask | None = None
) -> tuple[Volume, Volume]:
    """Volumes between two surfaces where the first is above, and where it is below.

    Parameters
    ----------
    upper : (rows, columns) array of Elevation
        The surface that is asked about. [m]
    lower : (rows, columns) array of Elevation
        The surface that it is compared with. [m]
    grid : Grid
        Where the nodes are.
    mask : array of bool, optional
        Nodes or triangles to count.

    Returns
    -------
    tuple of Volume
        Integral of max(0, upper - lower) and of max(0, lower - upper). [m³]

    Raises
    ------
    DomainError
        If an array does not fit the grid.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=2.0, columns=2, rows=2)
    >>> flat = np.zeros((2, 2))
    >>> difference_volumes(np.array([[1.0, 2.0], [1.0, 2.0]]), flat, grid)
    (6.0, 0.0)
    """
    above, below, _ = difference(
        checked_surface(upper, grid, "upper"),
        checked_surface(lower, grid, "lower"),
        _triangles(mask, grid),
        grid.spacing,
    )
    return above, below


def volume_below(
    z: Elevations, level: Elevation, grid: Grid, mask: Mask | None = None
) -> tuple[Volume, Area]:
    """Volume between a level and the ground below it, and the area of that ground on the plan.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    level : Elevation
        The water level. [m]
    grid : Grid
        Where the nodes are.
    mask : array of bool, optional
        Nodes or triangles to count.

    Returns
    -------
    tuple of Volume and Area
        [m³], [m²]

    Raises
    ------
    DomainError
        If an array does not fit the grid.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=2.0, columns=2, rows=2)
    >>> volume_below(np.zeros((2, 2)), 0.5, grid)
    (2.0, 4.0)
    """
    volume, area = below_level(checked_surface(z, grid), level, _triangles(mask, grid), grid.spacing)
    return volume, area


def stage_storage(
    z: Elevations, levels: Sequence[Elevation] | Elevations, grid: Grid, mask: Mask | None = None
) -> tuple[Volumes, Areas]:
    """Volume and area of the water at each level, all levels in one pass.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    levels : (n,) array of Elevation
        Water levels, ascending; evenly spaced ones are quickest. [m]
    grid : Grid
        Where the nodes are.
    mask : array of bool, optional
        Nodes or triangles to count.

    Returns
    -------
    tuple of (n,) arrays of Volume and Area
        Read-only.  Ground that lies flat at a level counts in its area. [m³], [m²]

    Raises
    ------
    DomainError
        If an array does not fit the grid, or the levels are none, not finite or not ascending.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=2.0, columns=2, rows=2)
    >>> volumes, areas = stage_storage(np.zeros((2, 2)), [-1.0, 0.0, 0.5], grid)
    >>> volumes.tolist(), areas.tolist()
    ([0.0, 0.0, 2.0], [0.0, 4.0, 4.0])
    """
    return StageSums.of(z, levels, grid, mask).curve()


@dataclass(frozen=True, slots=True, eq=False)
class StageSums:
    """Parts of blocks of rows in a stage-storage curve: after a move only some of them are summed anew.

    Parameters
    ----------
    levels : (n,) array of Elevation
        Water levels, ascending. [m]
    grid : Grid
        Where the nodes are.
    sums : (blocks, 4, n + 1) array
        As from the kernel.
    """

    levels: Elevations
    grid: Grid
    sums: FloatArray

    @classmethod
    def of(
        cls,
        z: Elevations,
        levels: Sequence[Elevation] | Elevations,
        grid: Grid,
        mask: Mask | None = None,
        before: StageSums | None = None,
        rows: tuple[int, int] = (0, 0),
    ) -> StageSums:
        """Sums of a surface; from those of before where only the nodes of some rows are other ones.

        Parameters
        ----------
        z : (rows, columns) array
            The surface. [m]
        levels : (k,) array or sequence
            Levels that are asked for. [m]
        grid : Grid
        mask : (rows, columns) array of bool, optional
            Nodes that count; none are all.
        before : StageSums, optional
            Of last time; they help if they have the same levels on the same grid.
        rows : (int, int), optional
            First and end row of the nodes that changed since, in `z` or in the mask.

        Raises
        ------
        DomainError
            As :func:`stage_storage`.
        """
        wanted, surface, triangles = (
            _ascending(levels, "levels"),
            checked_surface(z, grid),
            _triangles(mask, grid),
        )
        last = grid.rows - 1
        blocks = range(-(-last // BLOCK))
        if before is None or before.grid != grid or not np.array_equal(before.levels, wanted):
            sums = np.empty((len(blocks), 4, len(wanted) + 1))
        else:
            sums = before.sums.copy()
            # A row of cells lies between two rows of nodes.
            first, end = max(rows[0] - 1, 0), min(rows[1], last)
            blocks = range(first // BLOCK, -(-end // BLOCK)) if first < end else range(0)
        for block in blocks:
            start = block * BLOCK
            stage_sums(surface, wanted, triangles, start, min(start + BLOCK, last), sums[block])
        return cls(wanted, grid, sums)

    @classmethod
    def beyond(
        cls,
        distance: Lengths,
        offsets: Sequence[float] | Lengths,
        grid: Grid,
        before: StageSums | None = None,
        rows: tuple[int, int] = (0, 0),
    ) -> StageSums:
        """Sums that tell the area beyond offsets from a shore; from those of before where rows changed.

        Parameters
        ----------
        distance : (rows, columns) array
            Signed distance to the shore, positive inside the water. [m]
        offsets : (n,) array or sequence
            Distances from the shore, ascending. [m]
        grid : Grid
        before : StageSums, optional
            Of last time; they help if they have the same offsets on the same grid.
        rows : (int, int), optional
            First and end row of the nodes that changed since.

        Raises
        ------
        DomainError
            As :func:`area_beyond`.
        """
        wanted = _ascending(offsets, "offsets")
        return cls.of(-checked_surface(distance, grid, "distance"), -wanted[::-1], grid, None, before, rows)

    def areas_beyond(self) -> Areas:
        """Area beyond each offset, for sums that were made so; read-only. [m²]"""
        return self.curve()[1][::-1]

    def curve(self) -> tuple[Volumes, Areas]:
        """Volume and area at each level; read-only. [m³], [m²]"""
        volumes, areas = np.empty(len(self.levels)), np.empty(len(self.levels))
        stages(self.sums, self.levels, self.grid.spacing, volumes, areas)
        volumes.flags.writeable = areas.flags.writeable = False
        return volumes, areas


def area_beyond(distance: Lengths, offsets: Sequence[float] | Lengths, grid: Grid) -> Areas:
    """Area on the plan that lies at least each offset inside the shore.

    Parameters
    ----------
    distance : (rows, columns) array of Length
        Signed distance to the shore, positive inside the water. [m]
    offsets : (n,) array of Length
        Distances from the shore, ascending. [m]
    grid : Grid
        Where the nodes are.

    Returns
    -------
    (n,) array of Area
        Read-only. [m²]

    Raises
    ------
    DomainError
        If an array does not fit the grid, or the offsets are none, not finite or not ascending.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=2)
    >>> area_beyond(np.tile([0.0, 1.0, 2.0], (2, 1)), [0.0, 0.5], grid).tolist()
    [2.0, 1.5]
    """
    return StageSums.beyond(distance, offsets, grid).areas_beyond()


def layer_volumes(
    ground: Elevations,
    finish: Elevations,
    depths: Sequence[float] | Lengths,
    grid: Grid,
    mask: Mask | None = None,
) -> Volumes:
    """Volume of the cut that lies in each layer of the ground.

    The layers follow the ground at constant depths.  What is dug below depth d is
    V(d) = ∫ max(0, ground - d - finish), so a layer holds the difference of two of these.

    Parameters
    ----------
    ground : (rows, columns) array of Elevation
        The ground before. [m]
    finish : (rows, columns) array of Elevation
        What is dug down to. [m]
    depths : (n,) array of Length
        Depth of the bottom of each layer below the ground but the last, which has none; ascending;
        none of them gives one layer. [m], > 0
    grid : Grid
        Where the nodes are.
    mask : array of bool, optional
        Nodes or triangles to count.

    Returns
    -------
    (n + 1,) array of Volume
        From the top layer to the lowest; read-only. [m³]

    Raises
    ------
    DomainError
        If an array does not fit the grid, or the depths are not above 0 and ascending.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=2.0, columns=2, rows=2)
    >>> layer_volumes(np.full((2, 2), 1.0), np.zeros((2, 2)), [0.25], grid).tolist()
    [1.0, 3.0]
    """
    tops = _ascending([0.0, *depths], "depths")
    dug_to = checked_surface(finish, grid, "finish") - checked_surface(ground, grid, "ground")
    below, _ = stage_storage(dug_to, -tops[::-1], grid, mask)
    volumes = below[::-1] - np.append(below[::-1][1:], 0.0)
    volumes.flags.writeable = False
    return volumes


def richardson(fine: float, coarse: float) -> float:
    """Value that two grids point to, the second with twice the spacing of the first.

    Parameters
    ----------
    fine : float
        Volume or area on the finer grid.
    coarse : float
        The same on the grid of twice the spacing.

    Returns
    -------
    float
        fine + (fine - coarse) / 3: the part of the error in the square of the spacing is gone.

    Examples
    --------
    >>> richardson(fine=10.25, coarse=11.0)
    10.0

    References
    ----------
    .. [1] L. F. Richardson, "The deferred approach to the limit", Phil. Trans. R. Soc. A 226 (1927);
       from memory.
    """
    return fine + (fine - coarse) / 3.0


@dataclass(frozen=True, slots=True)
class StageCurve:
    """Volume and area of a body at any level between its lowest and its highest.

    Between two levels the volume is the cubic that has the known volume at both and the known
    area as its slope; the area is the slope of that cubic, so the rate of the volume is always the
    area.  Where the area jumps (a flat bottom just below a level) the slope is held to three
    times the mean slope of the neighbouring steps, which keeps the volume growing.

    Parameters
    ----------
    levels : (n,) array of Elevation
        Ascending, each above the one before, at least two. [m]
    volumes : (n,) array of Volume
        Volume below each level. [m³]
    areas : (n,) array of Area
        Area at each level. [m²]

    Raises
    ------
    DomainError
        If the levels do not rise, the volumes fall, or the lengths differ.

    Examples
    --------
    >>> tank = StageCurve(np.array([0.0, 2.0]), np.array([0.0, 8.0]), np.array([4.0, 4.0]))
    >>> tank.volume_at(0.5), tank.area_at(0.5), tank.level_at(2.0)
    (2.0, 4.0, 0.5)

    References
    ----------
    .. [1] F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer.
       Anal. 17 (1980): slopes up to three times the secant keep a cubic monotone; from memory.
    """

    levels: Elevations
    volumes: Volumes
    areas: Areas

    def __post_init__(self) -> None:
        if not len(self.levels) == len(self.volumes) == len(self.areas) or len(self.levels) < 2:
            raise DomainError(
                "`levels`, `volumes` and `areas` must be equally many and at least 2, got "
                f"{len(self.levels)}, {len(self.volumes)} and {len(self.areas)}"
            )
        if not (np.diff(self.levels) > 0.0).all():
            raise DomainError(f"`levels` must rise at each step, got {np.diff(self.levels).min()} m")
        if not (np.diff(self.volumes) >= -1e-9 * abs(self.volumes[-1])).all():
            raise DomainError(f"`volumes` must not fall, got {np.diff(self.volumes).min()} m³")

    def volume_at(self, level: Elevation) -> Volume:
        """Volume of the water below a level. [m³]

        Parameters
        ----------
        level : Elevation
            From the lowest to the highest of the curve. [m]

        Raises
        ------
        DomainError
            If the level is outside the curve.
        """
        base, cubic, part = self._cubic_at(level)
        return float(base + part * (cubic[0] + part * (cubic[1] + part * cubic[2])))

    def area_at(self, level: Elevation) -> Area:
        """Area of the water at a level. [m²]

        Parameters
        ----------
        level : Elevation
            From the lowest to the highest of the curve. [m]

        Raises
        ------
        DomainError
            If the level is outside the curve.
        """
        _, cubic, part = self._cubic_at(level)
        return float(cubic[0] + part * (2.0 * cubic[1] + part * 3.0 * cubic[2]))

    def level_at(self, volume: Volume) -> Elevation:
        """Lowest level at which the water has a volume. [m]

        Parameters
        ----------
        volume : Volume
            From the least to the greatest of the curve. [m³]

        Raises
        ------
        DomainError
            If the volume is outside the curve.
        """
        if not self.volumes[0] <= volume <= self.volumes[-1]:
            raise DomainError(
                f"`volume` must be from {self.volumes[0]} to {self.volumes[-1]} m³, got {volume} m³"
            )
        step = max(int(np.searchsorted(self.volumes, volume, side="left")), 1)
        low, high = float(self.levels[step - 1]), float(self.levels[step])
        level = low + (high - low) * _share(volume, *self.volumes[step - 1 : step + 1])
        # Newton's step, and a halving of the bracket where it would leave it.
        for _ in range(60):
            excess = self.volume_at(level) - volume
            if excess == 0.0:
                return level
            low, high = (low, level) if excess >= 0.0 else (level, high)
            area = self.area_at(level)
            better = level - excess / area if area > 0.0 else low
            better = better if low <= better <= high else 0.5 * (low + high)
            if abs(better - level) <= 1e-14 * (1.0 + abs(level)):
                return better
            level = better
        return level

    def _cubic_at(self, level: Elevation) -> tuple[float, FloatArray, float]:
        """Volume at the start of the step with this level, its cubic by height, and the height."""
        if not self.levels[0] <= level <= self.levels[-1]:
            raise DomainError(f"`level` must be from {self.levels[0]} to {self.levels[-1]} m, got {level} m")
        last = len(self.levels) - 2
        step = min(max(int(np.searchsorted(self.levels, level, side="right")) - 1, 0), last)
        height = self.levels[step + 1] - self.levels[step]
        secant = (self.volumes[step + 1] - self.volumes[step]) / height
        start, end = self._slope(step), self._slope(step + 1)
        cubic = np.array([
            start,
            (3.0 * secant - 2.0 * start - end) / height,
            (start + end - 2.0 * secant) / (height * height),
        ])  # fmt: skip
        return float(self.volumes[step]), cubic, float(level - self.levels[step])

    def _slope(self, at: int) -> float:
        """Area at one of the levels, held to what keeps the volume growing on both sides of it."""
        around = slice(max(at - 1, 0), at + 2)
        secants = np.diff(self.volumes[around]) / np.diff(self.levels[around])
        return float(min(self.areas[at], 3.0 * max(secants.min(), 0.0)))


def _share(value: float, start: float, end: float) -> float:
    """How far a value lies from start to end, 0 to 1."""
    return float((value - start) / (end - start)) if end > start else 0.0


def _ascending(values: Sequence[float] | FloatArray, name: str) -> FloatArray:
    """Values as an array, once they are known to be finite and ascending."""
    array = np.ascontiguousarray(values, dtype=np.float64).ravel()
    if len(array) == 0 or not np.isfinite(array).all():
        raise DomainError(f"`{name}` must be at least 1 finite number, got {array.tolist()} m")
    steps = np.diff(array)
    if (steps < 0.0).any():
        raise DomainError(f"`{name}` must ascend, got a step of {steps.min()} m")
    return array


def _triangles(mask: Mask | None, grid: Grid) -> NDArray[np.int8]:
    """A mask of nodes or of triangles as the bytes that the kernels read."""
    if mask is None:
        return _EVERY_TRIANGLE
    if mask.shape == grid.shape:
        mask = triangles_touching(mask)
    if mask.shape != (*grid.cells_shape, 2):
        raise DomainError(f"`mask` must be of the grid's nodes {grid.shape} or triangles, got {mask.shape}")
    return np.ascontiguousarray(mask, dtype=np.bool_).view(np.int8)
