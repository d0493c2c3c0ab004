"""The ground as water sees it: cells, layers with their permeability, and how water stands far off.

Soils are told as columns of layers below the ground.  Here they become arrays of the *water grid*: the nodes
of the ground thinned by a whole step, each the middle of a square cell.  Layer 0 is soil that is placed on
the ground later; it takes its permeability from the first layer below topsoil and muck.

See Also
--------
pondwright.rooms.groundwater.heads : the steady flow on these cells.
pondwright.rooms.groundwater.lines : drains and ditches on them.
pondwright.rooms.groundwater.fit : how far off the water stands, from readings.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths, Ratio, Slope, Speed
from pondwright.base.sources import PRACTICE, Source, Standing
from pondwright.base.tables import read_table
from pondwright.geometry.grid import Grid

MOST_NODES = 150
"""Nodes along a side of the water grid, at most."""

OPEN_LAYER: Length = 3.0
"""How far a lowest layer without a thickness counts for the flow; common practice. [m]"""

LEAST_GROUND: Length = 0.1
"""Ground above the tight base, at least. [m]"""

TOPMOST = frozenset({"topsoil", "muck"})
"""Kinds of soil that are stripped, and never placed."""

Level = Literal["low", "likely", "high"]
LEVELS: tuple[Level, ...] = ("low", "likely", "high")


class Permeable(NamedTuple):
    """How fast water passes a soil, as a range. [m/s]"""

    low: Speed
    likely: Speed
    high: Speed


@dataclass(frozen=True, slots=True)
class WaterLayer:
    """A layer of a soil: what it is, how thick (None goes on), and how permeable. [m]"""

    kind: str
    thickness: Length | None
    permeable: Permeable


@dataclass(frozen=True, slots=True, eq=False)
class Layered:
    """Layers of every cell of the water grid, layer 0 being soil that is placed later.

    Attributes
    ----------
    top, bottom : (n, rows, columns) arrays             [m]
    permeability : low, likely, high to such arrays     [m/s]
    base : (rows, columns) array                        Tight below. [m]
    """

    top: Elevations
    bottom: Elevations
    permeability: Mapping[str, FloatArray]
    base: Elevations


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane: its level at a place, and how it rises to the east and north."""

    level: Elevation
    east: Slope
    north: Slope
    at: tuple[Length, Length]

    def over(self, grid: Grid) -> Elevations:
        """Elevation at every node of a grid. [m]"""
        across = self.east * (grid.east - self.at[0])
        return self.level + across[None, :] + (self.north * (grid.north - self.at[1]))[:, None]


def water_grid(grid: Grid, most: int = MOST_NODES) -> tuple[Grid, int]:
    """Grid of the groundwater: the nodes of the ground's grid, thinned by a whole step.

    Parameters
    ----------
    grid : Grid      Of the ground.
    most : int       Nodes along a side, at most. >= 2

    Returns
    -------
    tuple of Grid and int     The thinned grid, and the step.

    Raises
    ------
    DomainError      If `most` is below 2.

    Examples
    --------
    >>> thin, step = water_grid(Grid(0.0, 0.0, 0.3, 251, 271))
    >>> thin.shape, step, thin.spacing
    ((136, 126), 2, 0.6)

    hand

    References
    ----------
    .. [1] Derived: every step-th node.
    """
    if most < 2:
        raise DomainError(f"`most` must be at least 2 nodes, got {most}")
    step = 1
    while (max(grid.columns, grid.rows) - 1) // step + 1 > most:
        step += 1
    if step == 1:
        return grid, step
    columns, rows = ((count - 1) // step + 1 for count in (grid.columns, grid.rows))
    return (
        Grid(grid.origin_east, grid.origin_north, grid.spacing * step, max(columns, 2), max(rows, 2)),
        step,
    )


def thinned(surface: FloatArray, grid: Grid, step: int) -> FloatArray:
    """Values at the nodes of the water grid of an array on the ground's grid.

    Parameters
    ----------
    surface : ndarray     On the nodes of the ground's grid.
    grid : Grid           The water grid.
    step : int            From :func:`water_grid`.

    Returns
    -------
    (rows, columns) array, in row order

    References
    ----------
    .. [1] Derived: every step-th node.
    """
    return np.ascontiguousarray(surface[::step, ::step][: grid.rows, : grid.columns])


def kind_permeability(kind: str) -> tuple[Permeable, Source]:
    """Permeability of a kind of soil where nothing was measured: a wide range.

    Parameters
    ----------
    kind : str       For example ``silt``.

    Returns
    -------
    tuple of Permeable and Source     [m/s]

    Raises
    ------
    DomainError      If there is no such kind of soil.

    Examples
    --------
    >>> kind_permeability("sand")[0].likely
    4e-05

    published

    References
    ----------
    .. [1] Table ``permeability.csv`` of this folder names the source of each row.
    """
    for row in read_table("pondwright.rooms.groundwater", "permeability.csv").rows:
        if row["kind"] == kind:
            standing = Standing(row["standing"])
            source = PRACTICE
            if standing is not Standing.PRACTICE:
                source = Source(row["document"], row["place"], standing)
            return Permeable(*(float(row[name]) for name in LEVELS)), source
    raise DomainError(f"`kind` must be a kind of soil, got `{kind}`")


def layers_of_cells(
    ground: Elevations,
    of_node: NDArray[np.integer],
    soils: Sequence[Sequence[WaterLayer]],
    base: Elevation | None = None,
) -> Layered:
    """Layers of every cell: soils hang from the ground, and end at the tight base.

    Parameters
    ----------
    ground : (rows, columns) array          The existing ground. [m]
    of_node : (rows, columns) int array     Number of the soil; below 0 the first holds.
    soils : WaterLayer                      Of each soil from the top down; one or more.
    base : Elevation                        Tight below; none is the bottom of the soils. [m]

    Returns
    -------
    Layered

    Raises
    ------
    DomainError     If there is no soil, or one without layers.

    Notes
    -----
    A lowest layer without a thickness goes down to the base, or counts for `OPEN_LAYER` where none is told.
    The base lies at least `LEAST_GROUND` below the ground.

    References
    ----------
    .. [1] Derived: depths below the ground.
    """
    if not soils or not all(soils):
        raise DomainError("`soils` must hold one or more layers each, got none")
    most = 1 + max(len(layers) for layers in soils)
    top = np.empty((most, *ground.shape))
    bottom = np.empty_like(top)
    permeability: dict[str, FloatArray] = {level: np.ones_like(top) for level in LEVELS}
    deepest = np.empty_like(ground)
    for index, layers in enumerate(soils):
        own = of_node == index if index else of_node <= 0
        _hang(ground, own, layers, base, top, bottom, permeability, deepest)
    tight = deepest if base is None else np.full(ground.shape, base)
    return Layered(top, bottom, permeability, np.minimum(tight, ground - LEAST_GROUND))


def between(permeability: Mapping[str, FloatArray], shift: Ratio) -> FloatArray:
    """Permeability somewhere in its range: low at -1, likely at 0, high at 1, evenly by its logarithm.

    Parameters
    ----------
    permeability : mapping     `low`, `likely` and `high`. [m/s], > 0
    shift : Ratio              [-], -1 to 1

    Returns
    -------
    ndarray                    [m/s]

    Examples
    --------
    >>> soil = {"low": np.array([1e-8]), "likely": np.array([1e-6]), "high": np.array([1e-5])}
    >>> [round(float(between(soil, shift)[0]), 9) for shift in (-1.0, -0.5, 0.0, 1.0)]
    [1e-08, 1e-07, 1e-06, 1e-05]

    hand

    References
    ----------
    .. [1] Derived: permeabilities spread by factors, not by differences.
    """
    likely, end = permeability["likely"], permeability["low" if shift < 0.0 else "high"]
    return likely * (end / likely) ** abs(shift)


def regional_plane(points: Lengths, levels: Elevations) -> Plane:
    """Plane of least squares through elevations.

    Parameters
    ----------
    points : (n, 2) array     East and north. [m]
    levels : (n,) array       [m]

    Returns
    -------
    Plane                     Level where the points' middle is; as flat as they allow.

    Raises
    ------
    DomainError               If there is no point.

    Examples
    --------
    >>> plane = regional_plane(np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]]), np.array([5.0, 6.0, 5.5]))
    >>> round(plane.level, 6), round(plane.east, 6), round(plane.north, 6)
    (5.5, 0.1, 0.05)

    hand

    References
    ----------
    .. [1] Derived: least squares, the least slope where the points leave it open.
    """
    if len(points) == 0:
        raise DomainError("`points` must hold at least one point, got none")
    middle = points.mean(axis=0)
    slope, *_ = np.linalg.lstsq(points - middle, levels - levels.mean(), rcond=None)
    return Plane(float(levels.mean()), float(slope[0]), float(slope[1]), (float(middle[0]), float(middle[1])))


def border_widths(grid: Grid, distances: Mapping[str, Length | None]) -> FloatArray:
    """Width of each border cell over the distance at which water stands as it always did.

    Parameters
    ----------
    grid : Grid             The water grid.
    distances : mapping     `north`, `east`, `south`, `west`: beyond the edge; None is closed. [m], >= 0

    Returns
    -------
    (rows, columns) array   For :class:`~pondwright.rooms.groundwater.heads.Border`. [-]

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 2.0, 3, 2)
    >>> border_widths(grid, {"north": 0.0, "east": 3.0, "south": None, "west": None}).tolist()
    [[0.0, 0.0, 0.5], [2.0, 2.0, 2.5]]

    hand

    References
    ----------
    .. [1] Derived: half a cell and the distance in series.
    """
    width = np.zeros(grid.shape)
    sides = {"south": width[0], "north": width[-1], "west": width[:, 0], "east": width[:, -1]}
    for name, cells in sides.items():
        distance = distances[name]
        if distance is not None:
            cells += grid.spacing / (0.5 * grid.spacing + distance)
    return width


def ground_far_off(surface: Elevations, plane: Plane, distances: Mapping[str, Length | None]) -> Elevations:
    """About how high the ground is beyond each border cell, as far off as the water stands as it always did.

    Parameters
    ----------
    surface : (rows, columns) array     The existing ground. [m]
    plane : Plane                       Through all of it.
    distances : mapping                 As for :func:`border_widths`. [m]

    Returns
    -------
    (rows, columns) array               At inner cells the ground itself. [m]

    Examples
    --------
    >>> rising = Plane(10.0, 0.0, 0.1, (0.0, 0.0))
    >>> sides = {"north": 20.0, "east": 20.0, "south": 20.0, "west": None}
    >>> ground_far_off(np.full((3, 3), 10.0), rising, sides)[:, 1].tolist()
    [10.0, 10.0, 12.0]

    hand

    References
    ----------
    .. [1] Derived: it goes on rising as all of it does; where it falls outward, water may still stand at the
       ground of the border.
    """
    far = surface.copy()
    outward = {"south": -plane.north, "north": plane.north, "west": -plane.east, "east": plane.east}
    sides = {"south": far[0], "north": far[-1], "west": far[:, 0], "east": far[:, -1]}
    for name, cells in sides.items():
        cells += max(outward[name], 0.0) * (distances[name] or 0.0)
    return far


def pit_permeability(
    times: FloatArray, depths: Lengths, rest: Length, bottom: Length, radius: Length
) -> Speed | None:
    """Permeability from how water rose in an open pit.

    Parameters
    ----------
    times : (n,) array      Since it was opened, rising. [s]
    depths : (n,) array     Of the water below the ground. [m]
    rest : Length           Depth at which it stood at last. [m]
    bottom : Length         Depth of the pit. [m], > rest
    radius : Length         Of a round pit of the same area. [m], > 0

    Returns
    -------
    Speed or None           None where the readings tell no rise. [m/s]

    Notes
    -----
    K = π r² / (F t0) with Hvorslev's shape F = 2 π L / ln(L / (2 r) + sqrt(1 + (L / (2 r))²)) and
    L = bottom - rest; 1 / t0 is the fall of ln(what is still to rise) over time, by least squares.

    Examples
    --------
    >>> times = np.array([0.0, 600.0, 1200.0])
    >>> left = 0.4 * np.exp(-times / 1000.0)
    >>> K = pit_permeability(times, 1.0 + left, 1.0, 2.0, 0.5)
    >>> round(K * 1e6, 3)
    110.172

    hand

    References
    ----------
    .. [1] M. J. Hvorslev, Time Lag and Soil Permeability (1951), case of an open hole with a well point, from
       memory: check against the document.
    """
    if not (radius > 0.0 and bottom > rest):
        raise DomainError(
            f"`bottom` must lie below `rest` and `radius` be above 0 m, got {bottom} m, {rest} m, {radius} m"
        )
    left = np.asarray(depths, dtype=np.float64) - rest
    rising = left > 1e-6
    if np.count_nonzero(rising) < 2:
        return None
    slope = float(np.polyfit(np.asarray(times, dtype=np.float64)[rising], np.log(left[rising]), 1)[0])
    if slope >= 0.0:
        return None
    length = bottom - rest
    half = length / (2.0 * radius)
    shape = 2.0 * math.pi * length / math.log(half + math.sqrt(1.0 + half**2))
    return -slope * math.pi * radius**2 / shape


def _hang(
    ground: Elevations,
    own: NDArray[np.bool_],
    layers: Sequence[WaterLayer],
    base: Elevation | None,
    top: Elevations,
    bottom: Elevations,
    permeability: Mapping[str, FloatArray],
    deepest: Elevations,
) -> None:
    """Put the layers of one soil under its cells."""
    hanging = ground[own]
    placed = next((layer for layer in layers if layer.kind not in TOPMOST), layers[-1])
    top[0, own] = bottom[0, own] = hanging
    for level in LEVELS:
        permeability[level][0, own] = getattr(placed.permeable, level)
    for index, layer in enumerate(layers, start=1):
        goes_on = index == len(layers)
        thickness = OPEN_LAYER if layer.thickness is None else layer.thickness
        lower = hanging - thickness
        if goes_on and base is not None:
            lower = np.minimum(lower, base)
        top[index, own], bottom[index, own] = hanging, lower
        hanging = lower
        for level in LEVELS:
            permeability[level][index, own] = getattr(layer.permeable, level)
    for index in range(len(layers) + 1, len(top)):
        top[index, own] = bottom[index, own] = hanging
    deepest[own] = hanging
