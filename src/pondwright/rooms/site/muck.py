"""Muck on the floor of an old pond: how thick, how much, and how sure that is.

It is told by a rod pushed through it, by a pit, or by two shots at one place, on its top and on the firm
ground below.  Between these places its thickness runs straight, on the same triangles as the ground
(the method of the trade, exact where it changes evenly); beyond the outermost it is carried on as thick as
there, so that it ends only where a probe found none.

See Also
--------
pondwright.rooms.site.uncertainty : the errors of a surface between the places where it is known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely import MultiPoint

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Areas, Elevations, Length, Lengths, Ratio, Volume
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import Tin, tin_to_grid, triangulate
from pondwright.rooms.site.carried import volume_sigma
from pondwright.rooms.site.ground import ground_uncertainty
from pondwright.rooms.site.uncertainty import DEFAULT_ROUGHNESS

ROD_SIGMA: Length = 0.05
"""Standard deviation of a thickness of muck that a rod or a pit tells; common practice. [m]"""

LEAST_THICKNESS: Length = 0.02
"""Muck thinner than this is not counted in its area; common practice. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class MuckPairs:
    """Shots on the muck and on the firm ground below, two and two.

    Attributes
    ----------
    top, firm : (k,) int arrays       The shots of each pair, by number.
    points : (k, 2) array             Half way between the two. [m]
    thickness : (k,) array            Top less firm; below 0 the two were taken for each other. [m]
    lone_top, lone_firm : int tuples  Shots without another near by.
    """

    top: NDArray[np.intp]
    firm: NDArray[np.intp]
    points: Lengths
    thickness: Lengths
    lone_top: tuple[int, ...]
    lone_firm: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class MuckSurface:
    """Thickness of the muck at each node.

    Attributes
    ----------
    thickness : (rows, columns) array     [m], >= 0
    between : (rows, columns) bool array  Nodes between the probes; beyond them it is carried on.
    nearest : (rows, columns) int array   Probe that is nearest to each node.
    tin : Tin or None                     Triangles of the probes; none where they stand in one line.
    """

    thickness: Lengths
    between: NDArray[np.bool_]
    nearest: NDArray[np.intp]
    tin: Tin | None


@dataclass(frozen=True, slots=True)
class MuckAccount:
    """How much muck there is.

    Attributes
    ----------
    volume, sigma : Volume                  In place, and its standard deviation. [m³]
    area : Area                             Where it is thicker than 20 mm. [m²]
    mean, deepest : Length                  Over that area, and at its thickest. [m]
    deepest_point : (east, north)           Where that is. [m]
    carried_share : Ratio                   Share of the volume beyond the outermost probes. [-]
    """

    volume: Volume
    sigma: Volume
    area: Area
    mean: Length
    deepest: Length
    deepest_point: tuple[Length, Length]
    carried_share: Ratio


def muck_pairs(
    top_points: Lengths, tops: Elevations, firm_points: Lengths, firms: Elevations, reach: Length
) -> MuckPairs:
    """Thickness of muck from shots on its top and shots on the firm ground below.

    Parameters
    ----------
    top_points : (n, 2) array      East and north of the shots on the muck. [m]
    tops : (n,) array              Their elevations. [m]
    firm_points : (m, 2) array     East and north of the shots on firm ground. [m]
    firms : (m,) array             Their elevations. [m]
    reach : Length                 Distance up to which two shots are at one place. [m], > 0

    Returns
    -------
    MuckPairs                      Nearest first joined; each shot in one pair at most.

    Examples
    --------
    >>> top, firm = np.array([[0.0, 0.0]]), np.array([[0.3, 0.4]])
    >>> pairs = muck_pairs(top, np.array([27.6]), firm, np.array([27.2]), 1.0)
    >>> round(float(pairs.thickness[0]), 3), pairs.points[0].tolist()
    (0.4, [0.15, 0.2])

    hand

    References
    ----------
    .. [1] Derived: difference of two elevations.
    """
    top_points, firm_points = top_points.reshape(-1, 2), firm_points.reshape(-1, 2)
    pairs: list[tuple[int, int]] = []
    if len(top_points) and len(firm_points):
        near = cKDTree(top_points).sparse_distance_matrix(cKDTree(firm_points), reach, output_type="ndarray")
        used: tuple[set[int], set[int]] = (set(), set())
        for place in np.lexsort((near["j"], near["i"], near["v"])):
            top, firm = int(near["i"][place]), int(near["j"][place])
            if top not in used[0] and firm not in used[1]:
                pairs.append((top, firm))
                used[0].add(top)
                used[1].add(firm)
    pairs.sort()
    top_index, firm_index = np.array(pairs, dtype=np.intp).reshape(-1, 2).T
    return MuckPairs(
        top=top_index,
        firm=firm_index,
        points=0.5 * (top_points[top_index] + firm_points[firm_index]),
        thickness=np.asarray(tops, dtype=np.float64)[top_index]
        - np.asarray(firms, dtype=np.float64)[firm_index],
        lone_top=tuple(sorted(set(range(len(top_points))) - set(top_index.tolist()))),
        lone_firm=tuple(sorted(set(range(len(firm_points))) - set(firm_index.tolist()))),
    )


def muck_surface(points: Lengths, thickness: Lengths, grid: Grid) -> MuckSurface:
    """Thickness of muck on a grid, from the places where it was probed.

    Parameters
    ----------
    points : (n, 2) array       East and north of the probes, at least one. [m]
    thickness : (n,) array      Muck at each; 0 where there is none. [m], >= 0
    grid : Grid                 Where it is wanted.

    Returns
    -------
    MuckSurface

    Raises
    ------
    DomainError                 If there is no probe, or a thickness is below 0 or not a number.

    Notes
    -----
    Linear in the triangles of the probes, and the thickness of the nearest place on their edge beyond.  One
    probe, two, or probes in one line make no triangle: then the nearest probe holds.

    References
    ----------
    .. [1] Derived: linear in each triangle; see :mod:`pondwright.geometry.tin`.
    """
    if len(points) == 0:
        raise DomainError("`points` must be at least one probe, got none")
    if not (np.isfinite(thickness).all() and np.isfinite(points).all() and (thickness >= 0.0).all()):
        raise DomainError("`thickness` must be at least 0 m at places that are numbers")
    east, north = np.meshgrid(grid.east, grid.north)
    _, nearest = cKDTree(points).query(np.stack([east, north], axis=-1))
    try:
        tin = triangulate(points, thickness)
    except DomainError:
        return MuckSurface(thickness[nearest], np.zeros(grid.shape, dtype=np.bool_), nearest, None)
    on_grid = tin_to_grid(tin, grid)
    return MuckSurface(on_grid.z, on_grid.triangle >= 0, nearest, tin)


def probed_area(points: Lengths) -> Lengths | None:
    """Ring round the outermost probes.

    Parameters
    ----------
    points : (n, 2) array      East and north. [m]

    Returns
    -------
    (k, 2) array or None       None where fewer than three stand off one line. [m]

    Examples
    --------
    >>> len(probed_area(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [3.0, 1.0]])))
    3

    hand

    References
    ----------
    .. [1] Derived: convex hull.
    """
    hull = MultiPoint(points).convex_hull
    return np.asarray(hull.exterior.coords)[:-1] if hull.geom_type == "Polygon" else None


def muck_account(surface: MuckSurface, covered: Areas, grid: Grid, spot_sigma: Lengths) -> MuckAccount:
    """How much muck lies in an area.

    Parameters
    ----------
    surface : MuckSurface               From :func:`muck_surface`.
    covered : (rows-1, columns-1) array The area where muck may lie, by cell. [m²]
    grid : Grid                         Where the nodes are.
    spot_sigma : (n,) array             Standard deviation of the thickness at each probe. [m]

    Returns
    -------
    MuckAccount

    Notes
    -----
    Volume: sum over the cells of covered area times the mean of its four nodes, exact where the thickness
    changes evenly over whole cells.  Its error is that of a volume on any surveyed surface: of each probe,
    and of what the muck does between and beyond them (see :mod:`pondwright.rooms.site.uncertainty`).

    References
    ----------
    .. [1] Derived: propagation of errors.
    """
    thickness = surface.thickness
    of_cell = 0.25 * (thickness[:-1, :-1] + thickness[1:, :-1] + thickness[:-1, 1:] + thickness[1:, 1:])
    weight = _node_areas(covered)
    volume = float((weight * thickness).sum())
    area = float(covered[of_cell > LEAST_THICKNESS].sum())
    carried = float((weight * thickness)[~surface.between].sum())
    inside = np.where(weight > 0.0, thickness, -1.0)
    row, column = divmod(int(np.argmax(inside)), grid.columns)
    return MuckAccount(
        volume=volume,
        # Where the outermost probes found none, nothing is guessed farther out.
        sigma=_sigma(surface, np.where(surface.between | (thickness > 0.0), weight, 0.0), grid, spot_sigma),
        area=area,
        mean=volume / area if area > 0.0 else 0.0,
        deepest=max(float(inside[row, column]), 0.0),
        deepest_point=(float(grid.east[column]), float(grid.north[row])),
        carried_share=carried / volume if volume > 0.0 else 0.0,
    )


def _node_areas(covered: Areas) -> Areas:
    """Area of the cells, a quarter to each of their nodes."""
    rows, columns = covered.shape
    weight = np.zeros((rows + 1, columns + 1))
    for row in (0, 1):
        for column in (0, 1):
            weight[row : row + rows, column : column + columns] += 0.25 * covered
    return weight


def _sigma(surface: MuckSurface, weight: Areas, grid: Grid, spot_sigma: Lengths) -> Volume:
    rows, columns = np.flatnonzero(weight.any(axis=1)), np.flatnonzero(weight.any(axis=0))
    if len(rows) == 0:
        return 0.0
    chosen = np.s_[
        rows[0] : max(rows[-1], rows[0] + 1) + 1, columns[0] : max(columns[-1], columns[0] + 1) + 1
    ]
    part = weight[chosen]
    window = Grid(float(grid.east[columns[0]]), float(grid.north[rows[0]]), grid.spacing, *part.shape[::-1])
    if surface.tin is None:
        return _sigma_of_nearest(surface.nearest[chosen], part, window, spot_sigma)
    triangle = tin_to_grid(surface.tin, window).triangle
    errors = ground_uncertainty(surface.tin, window, triangle, spot_sigma)
    return volume_sigma(errors, part).total


def _sigma_of_nearest(nearest: NDArray[np.intp], weight: Areas, window: Grid, spot_sigma: Lengths) -> Volume:
    """Too few probes for triangles: what lies round one probe goes wrong together, with the way from it."""
    used = np.unique(nearest[weight > 0.0])
    east, north = np.meshgrid(window.east, window.north)
    total = 0.0
    for spot in used:
        own = (nearest == spot) & (weight > 0.0)
        areas = weight[own]
        centre = np.average(np.column_stack([east[own], north[own]]), axis=0, weights=areas)
        away = np.hypot(east[own] - centre[0], north[own] - centre[1])
        sigma = np.sqrt(spot_sigma[spot] ** 2 + DEFAULT_ROUGHNESS * away)
        total = math.hypot(total, float((areas * sigma).sum()))
    return total
