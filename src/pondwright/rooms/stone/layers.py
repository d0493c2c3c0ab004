"""Covers of cobble and gravel: true area by zones of a bank, thickness, voids, mass and loose volume.

A zone of a bank lies between two lines of equal distance from the shore and has one slope, so its true area
is its plan area times √(1 + p²); an upright step bears no cover.

See Also
--------
pondwright.rooms.stone.displacement : what of a cover stands in the water.
"""

from __future__ import annotations

import math

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import (
    Area,
    Areas,
    Density,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Mass,
    Ratio,
    Ratios,
)
from pondwright.geometry.grid import Grid

GRAINS_THICK: Ratio = 1.5
"""Thickness of a layer through which nothing shows, in its largest grains; common practice. [-]"""

UNDER_WATER: Ratio = 1.5
"""How much thicker a layer of riprap is that is placed under flowing water, unseen. [-]"""


def porosity_of(void_ratio: Ratio) -> Ratio:
    """Porosity of a layer from its void ratio.

    Parameters
    ----------
    void_ratio : Ratio     Voids against solids. [-], >= 0

    Returns
    -------
    Ratio                  Voids against all. [-]

    Raises
    ------
    DomainError            If the void ratio is below 0.

    Notes
    -----
    n = e / (1 + e).  A "void ratio of 0.4" in texts on stormwater nearly always means a porosity of 0.4.

    Examples
    --------
    >>> round(porosity_of(0.40), 4), round(porosity_of(0.667), 3)
    (0.2857, 0.4)

    hand

    References
    ----------
    .. [1] Derived: definitions.
    """
    if void_ratio < 0.0:
        raise DomainError(f"`void_ratio` must be at least 0, got {void_ratio:g}")
    return void_ratio / (1.0 + void_ratio)


def bulk_density(solid: Density, porosity: Ratio) -> Density:
    """Density of stone as it lies, dry, voids and all.

    Parameters
    ----------
    solid : Density      Of the solid stone. [kg/m³], > 0
    porosity : Ratio     Share of voids. [-], 0 to below 1

    Returns
    -------
    Density              [kg/m³]

    Raises
    ------
    DomainError          If the density is not above 0, or the porosity not from 0 to below 1.

    Notes
    -----
    ρ (1 - n): 0.35 for graded stone as dumped, 0.25 to 0.30 as placed by hand, 0.40 for round stone of one
    size; common practice.

    Examples
    --------
    >>> round(bulk_density(2650.0, 0.38))
    1643

    hand

    References
    ----------
    .. [1] Derived: the solids of a unit of volume.
    """
    if not solid > 0.0:
        raise DomainError(f"`solid` must be above 0 kg/m³, got {solid:g} kg/m³")
    if not 0.0 <= porosity < 1.0:
        raise DomainError(f"`porosity` must be at least 0 and below 1, got {porosity:g}")
    return solid * (1.0 - porosity)


def porosity_of_bulk(bulk: Density, solid: Density) -> Ratio:
    """Porosity of stone whose weight by the cubic metre is known.

    Parameters
    ----------
    bulk : Density      As it lies, dry. [kg/m³], > 0
    solid : Density     Of the solid stone. [kg/m³], at least `bulk`

    Returns
    -------
    Ratio               [-]

    Raises
    ------
    DomainError         If the bulk density is not above 0 and at most that of the solid stone.

    Examples
    --------
    >>> round(porosity_of_bulk(1779.8, 2643.0), 3)
    0.327

    hand

    References
    ----------
    .. [1] Derived: the rest beside the solids.
    """
    if not 0.0 < bulk <= solid:
        raise DomainError(f"`bulk` must be above 0 and at most `solid`, {solid:g} kg/m³, got {bulk:g} kg/m³")
    return 1.0 - bulk / solid


def layer_mass(area: Area, thickness: Length, solid: Density, porosity: Ratio, *, waste: Ratio = 0.0) -> Mass:
    """Mass of a layer of stone.

    Parameters
    ----------
    area : Area            True area, along the slope. [m²], >= 0
    thickness : Length     Square to the slope. [m], >= 0
    solid : Density        Of the solid stone. [kg/m³], > 0
    porosity : Ratio       Share of voids. [-], 0 to below 1
    waste : Ratio          Added for what is lost. [-], >= 0

    Returns
    -------
    Mass                   [kg]

    Raises
    ------
    DomainError            If a number is out of its range.

    Notes
    -----
    A t ρ (1 - n) (1 + w).

    Examples
    --------
    >>> round(layer_mass(200.0, 0.10, 2650.0, 0.38)), round(layer_mass(200.0, 0.10, 2650.0, 0.38, waste=0.05))
    (32860, 34503)

    hand

    References
    ----------
    .. [1] Derived: volume times bulk density.
    """
    _require_not_below_zero(("area", area, "m²"), ("thickness", thickness, "m"), ("waste", waste, ""))
    return area * thickness * bulk_density(solid, porosity) * (1.0 + waste)


def covered_area(mass: Mass, thickness: Length, bulk: Density) -> Area:
    """Area that a mass of stone covers.

    Parameters
    ----------
    mass : Mass            [kg], >= 0
    thickness : Length     Of the layer. [m], > 0
    bulk : Density         As it lies. [kg/m³], > 0

    Returns
    -------
    Area                   [m²]

    Raises
    ------
    DomainError            If the mass is below 0, or the thickness or the density not above 0.

    Examples
    --------
    >>> covered_area(1000.0, 0.05, 1600.0)
    12.5

    hand

    References
    ----------
    .. [1] Derived: mass over thickness and density.
    """
    _require_not_below_zero(("mass", mass, "kg"))
    if not (thickness > 0.0 and bulk > 0.0):
        raise DomainError(f"`thickness` and `bulk` must be above 0, got {thickness:g} m and {bulk:g} kg/m³")
    return mass / (bulk * thickness)


def least_thickness(
    largest: Length, median: Length | None = None, *, placed_in_water: bool = False
) -> Length:
    """Thickness of a layer through which nothing shows, or of riprap that holds.

    Parameters
    ----------
    largest : Length           Largest grain. [m], > 0
    median : Length            Middle grain, for riprap; none for gravel. [m], > 0
    placed_in_water : bool     Whether riprap is placed under water, unseen.

    Returns
    -------
    Length                     [m]

    Raises
    ------
    DomainError                If a grain is not above 0, or the middle one larger than the largest.

    Notes
    -----
    Gravel: 1.5 times the largest grain.  Riprap: the largest stone, or 1.5 times the middle one where that is
    more, and half as much again under water.

    Examples
    --------
    >>> round(least_thickness(0.04), 3), round(least_thickness(0.45, 0.35), 3)
    (0.06, 0.525)

    hand

    References
    ----------
    .. [1] EM 1110-2-1601: thickness of riprap; the addition under water from memory.
    .. [2] Common practice, no source: gravel.
    """
    if not largest > 0.0:
        raise DomainError(f"`largest` must be above 0 m, got {largest:g} m")
    if median is None:
        return GRAINS_THICK * largest
    if not 0.0 < median <= largest:
        raise DomainError(f"`median` must be above 0 and at most {largest:g} m, got {median:g} m")
    return max(largest, 1.5 * median) * (UNDER_WATER if placed_in_water else 1.0)


def band_areas(distance: Lengths, grid: Grid, offsets: Lengths, weight: Ratios | None = None) -> Areas:
    """Plan area between lines of equal distance from the shore, each place counted by its weight.

    Parameters
    ----------
    distance : (rows, columns) array     To the shore, positive inside. [m]
    grid : Grid                          Where the nodes are.
    offsets : (n,) array                 Inward from the shore, rising. [m]
    weight : (rows, columns) array       0 to 1; none is everywhere 1. [-]

    Returns
    -------
    (n,) array                           From each offset to the next; the last runs on to the middle. [m²]

    Raises
    ------
    DomainError                          If the offsets fall, or an array does not fit the grid.

    Notes
    -----
    Exact on the two triangles of each cell for the distance; the weight of a triangle is that of its corners
    on average.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=5, rows=2)
    >>> inward = np.array([[-0.5, 0.5, 1.5, 2.5, 3.5]] * 2)
    >>> band_areas(inward, grid, np.array([0.0, 1.0])).round(9).tolist()
    [1.0, 2.5]

    hand

    References
    ----------
    .. [1] Derived: shares of triangles above a height.
    """
    offsets = np.asarray(offsets, dtype=np.float64)
    if (np.diff(offsets) < 0.0).any():
        raise DomainError(f"`offsets` must rise, got {offsets.tolist()} m")
    weight = np.ones_like(distance) if weight is None else weight
    if distance.shape != grid.shape or weight.shape != grid.shape:
        raise DomainError(
            f"`distance` and `weight` must fit the grid, {grid.shape}, "
            f"got {distance.shape} and {weight.shape}"
        )
    corners, shares = _triangles(distance, weight, offsets[0])
    beyond = np.array([0.5 * grid.cell_area * _above(corners, shares, one) for one in offsets])
    return np.append(beyond[:-1] - beyond[1:], beyond[-1:])


def true_area(plan: Area, slope: float) -> Area:
    """True area of ground that slopes evenly.

    Parameters
    ----------
    plan : Area       As seen from above. [m²], >= 0
    slope : float     Upright for one level.

    Returns
    -------
    Area              [m²]

    Raises
    ------
    DomainError       If the plan area is below 0.

    Examples
    --------
    >>> round(true_area(100.0, 1.0 / 3.0), 2)
    105.41

    hand

    References
    ----------
    .. [1] Derived: Pythagoras.
    """
    _require_not_below_zero(("plan", plan, "m²"))
    return plan * math.sqrt(1.0 + slope**2)


def bed_stretch(stations: Lengths, bed: Elevations) -> Ratio:
    """How much longer a stream's bed is than its line on the plan.

    Parameters
    ----------
    stations : (n,) array     Along the line on the plan, rising. [m]
    bed : (n,) array          Of the bed there. [m]

    Returns
    -------
    Ratio                     At least 1. [-]

    Raises
    ------
    DomainError               If there are fewer than two stations, or the line has no length.

    Examples
    --------
    >>> round(bed_stretch(np.array([0.0, 3.0, 6.0]), np.array([4.0, 0.0, 0.0])), 4)
    1.3333

    hand

    References
    ----------
    .. [1] Derived: Pythagoras, piece by piece.
    """
    if len(stations) < 2 or not stations[-1] > stations[0]:
        raise DomainError(f"`stations` must be at least 2 that rise, got {len(stations)}")
    level = np.diff(stations)
    return float(np.hypot(level, np.diff(bed)).sum() / level.sum())


def _triangles(distance: Lengths, weight: Ratios, from_: Length) -> tuple[FloatArray, FloatArray]:
    """Distances at the corners of the triangles that count beyond an offset, rising, and the weight of each.

    Diagonals as in :mod:`pondwright.geometry.volume`: in turn, by row and column.
    """
    inside = distance >= from_
    cells = inside[:-1, :-1] | inside[1:, :-1] | inside[:-1, 1:] | inside[1:, 1:]
    rows, columns = np.nonzero(cells)
    wide = distance.shape[1]
    west = rows * wide + columns
    corners = np.stack([west, west + 1, west + wide + 1, west + wide], axis=1)
    even = (rows + columns) % 2 == 0
    order = np.where(even[:, None], [[0, 1, 2, 0, 2, 3]], [[0, 1, 3, 1, 2, 3]])
    nodes = np.take_along_axis(corners, order, axis=1).reshape(-1, 3)
    shares = weight.ravel()[nodes].mean(axis=1)
    return np.sort(distance.ravel()[nodes[shares > 0.0]], axis=1), shares[shares > 0.0]


def _above(corners: FloatArray, shares: FloatArray, offset: Length) -> float:
    """Triangles beyond an offset, each by its share and its weight; its corners' distances rise."""
    whole = corners[:, 0] >= offset
    cut = (corners[:, 2] > offset) & ~whole
    low, middle, high = (corners[cut] - offset).T
    with np.errstate(divide="ignore", invalid="ignore"):
        one_below = 1.0 - low**2 / ((middle - low) * (high - low))
        one_above = high**2 / ((high - middle) * (high - low))
    return float(shares[whole].sum() + np.where(middle >= 0.0, one_below, one_above) @ shares[cut])


def _require_not_below_zero(*told: tuple[str, float, str]) -> None:
    for name, value, unit in told:
        if value < 0.0:
            raise DomainError(
                f"`{name}` must be at least 0 {unit}".rstrip() + f", got {value:g} {unit}".rstrip()
            )
