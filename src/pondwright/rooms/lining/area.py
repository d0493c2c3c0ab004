"""The ground that a liner covers: its true area, and a mesh that knows how long every side is.

A grid of heights cannot hold an upright face, so the risers of a bank are kept apart: what remains is
smooth, and beside it stands how far the risers above each node drop in all.  A liner goes down a riser and
on; laid flat, the ground beyond the riser is pushed away from the shore by its height.  That tells the
length of every side of the mesh.

See Also
--------
pondwright.rooms.lining.panels : sizes of pieces from developed lengths.
pondwright.rooms.lining.cover : proof that a flat piece covers the mesh.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Elevations, FloatArray, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at

LEAST_GRADIENT: float = 0.1
"""Below this the distance to the shore tells no direction: near the middle between two shores. [-]"""

HELD: float = 0.3
"""Nodes nearer to the edge of the liner than this are drawn onto it, in spacings. [-]"""

FLAT: float = 0.02
"""A triangle may not become flatter than this by that, as a share of a cell. [-]"""

THIN: float = 1e-6
"""How much shorter the longest side of a triangle is than the other two together, at least. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class LinerGround:
    """Ground under a liner, its risers split off.

    Attributes
    ----------
    grid : Grid                          Where the nodes are.
    rest : (rows, columns) array         Elevation without the risers. [m]
    steps : (rows, columns) array        Drop of all risers between the shore and the node. [m]
    distance : (rows, columns) array     To the shore, positive inside. [m]
    """

    grid: Grid
    rest: Elevations
    steps: Lengths
    distance: Lengths


@dataclass(frozen=True, slots=True, eq=False)
class LinerMesh:
    """Triangles over the ground of a liner, with the true lengths of their sides.

    Attributes
    ----------
    points : (n, 2) array                East and north of each point. [m]
    triangles : (m, 3) int array         Points of each triangle, anticlockwise.
    sides : (m, 3) array                 Length over the ground of the side after each point. [m]
    """

    points: Lengths
    triangles: NDArray[np.int64]
    sides: Lengths

    @property
    def flat(self) -> FloatArray:
        """Each triangle laid flat: length of its first side, and place of its third point. (m, 3) [m]"""
        first, second, third = self.sides.T
        along = (first**2 + third**2 - second**2) / (2.0 * first)
        return np.stack([first, along, np.sqrt(third**2 - along**2)], axis=1)

    @property
    def area(self) -> Area:
        """True area of all triangles. [m²]"""
        flat = self.flat
        return float(0.5 * (flat[:, 0] * flat[:, 2]).sum())


def liner_mesh(ground: LinerGround, beyond: Length) -> LinerMesh:
    """Triangles of the ground from the middle of the water to some way beyond the shore.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length         How far beyond the shore the liner reaches, on the plan. [m]

    Returns
    -------
    LinerMesh               Its outermost points lie on the edge.

    Raises
    ------
    DomainError             If no node of the grid lies under the liner.

    Notes
    -----
    A side between nodes i and j is as long as (p_j + n c_j) - (p_i + n c_i) and the difference of the smooth
    heights make it, with p the place on the plan, c the drop of the risers and n the direction away from the
    shore; exact where a riser is straight.  Where three sides make no triangle the shorter two are made
    longer, which is on the safe side.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=2)
    >>> flat = np.zeros((2, 3))
    >>> riser = np.array([[0.0, 0.3, 0.3]] * 2)
    >>> ground = LinerGround(grid, flat, riser, np.array([[0.0, 1.0, 2.0]] * 2))
    >>> round(liner_mesh(ground, 0.0).area, 6)
    2.3

    hand

    References
    ----------
    .. [1] Derived: an upright face laid flat pushes what lies beyond it away by its height.
    """
    inside = ground.distance + beyond
    under = inside >= HELD * ground.grid.spacing
    corners, used = _touching(under)
    if not len(corners):
        raise DomainError("`ground` must have a node of the grid under the liner, and has none")
    away = _away(ground)[:, used].T
    points = _drawn_to_the_edge(_places(ground.grid, used), corners, away, inside.ravel()[used], ground.grid)
    rest = surface_at(ground.rest, ground.grid, points)
    return LinerMesh(points, corners, _sides(points, rest, ground.steps.ravel()[used], away, corners))


@dataclass(frozen=True, slots=True, eq=False)
class Bank:
    """One kind of bank under a liner, and how much it counts at every node.

    Attributes
    ----------
    offsets : (n,) array           Where each slope begins, inward from the shore, from far outside on. [m]
    slopes : (n,) array            Rise for one level of each. [m/m]
    risers, heights : (k,) arrays  Where upright faces stand, and how high they are. [m]
    share : (rows, columns) array  0 to 1; None is everywhere. [-]
    """

    offsets: Lengths
    slopes: FloatArray
    risers: Lengths
    heights: Lengths
    share: FloatArray | None = None


def liner_area(distance: Lengths, grid: Grid, banks: Sequence[Bank], beyond: Length) -> Area:
    """True area of a liner from the middle of the water to exactly so far beyond the shore.

    Parameters
    ----------
    distance : (rows, columns) array     To the shore, positive inside. [m]
    grid : Grid                          Where the nodes are.
    banks : Bank                         Their shares make 1 at every node.
    beyond : Length                      How far beyond the shore the liner reaches, on the plan. [m]

    Returns
    -------
    Area                                 [m²]

    Notes
    -----
    Each band between two offsets has one slope p, so its true area is its plan area times √(1 + p²); an
    upright face is as long as its line of equal distance.  Second order in the spacing: triangles over a
    kink would give first order.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=5, rows=2)
    >>> flat = Bank(np.array([-9.0]), np.array([0.0]), np.array([0.7]), np.array([0.3]))
    >>> liner_area(np.array([[-0.5, 0.5, 1.5, 2.5, 3.5]] * 2), grid, [flat], 0.0)
    3.8

    hand

    References
    ----------
    .. [1] Derived: area of bands of constant slope, and of upright faces.
    """
    corners, triangles = _every_triangle(distance, beyond)
    total = 0.0
    for bank in banks:
        share = 1.0 if bank.share is None else bank.share.ravel()[triangles].mean(axis=1)
        starts = np.maximum(bank.offsets, -beyond)
        above = np.stack([_share_above(corners - start) for start in starts])
        bands = above - np.vstack([above[1:], np.zeros_like(above[:1])])
        factors = np.sqrt(1.0 + bank.slopes**2)
        total += 0.5 * grid.cell_area * float((factors @ bands * share).sum())
        for offset, height in zip(bank.risers, bank.heights, strict=True):
            total += abs(float(height)) * _line_length(corners - offset, triangles, grid, share)
    return round(total, 12)


def _triangles(cells: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Flat nodes of the two triangles of each cell, diagonals in turn, and the nodes that they use."""
    rows, columns = np.nonzero(cells)
    wide = cells.shape[1] + 1
    west = rows * wide + columns
    corners = np.stack([west, west + 1, west + wide + 1, west + wide], axis=1)
    even = (rows + columns) % 2 == 0
    order = np.where(even[:, None], [[0, 1, 2, 0, 2, 3]], [[0, 1, 3, 1, 2, 3]])
    triangles = np.take_along_axis(corners, order, axis=1).reshape(-1, 3)
    return triangles, np.unique(triangles)


def _touching(under: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Triangles that have a corner under the liner, by the place of their nodes among the flat nodes used."""
    triangles, _ = _triangles(under[:-1, :-1] | under[1:, :-1] | under[:-1, 1:] | under[1:, 1:])
    triangles = triangles[under.ravel()[triangles].any(axis=1)]
    used = np.unique(triangles)
    place = np.full(under.size, -1, dtype=np.int64)
    place[used] = np.arange(len(used))
    return place[triangles], used


def _places(grid: Grid, nodes: NDArray[np.int64]) -> Lengths:
    rows, columns = np.divmod(nodes, grid.columns)
    return np.stack([grid.east[columns], grid.north[rows]], axis=1)


def _drawn_to_the_edge(
    points: Lengths, triangles: NDArray[np.int64], away: FloatArray, inside: Lengths, grid: Grid
) -> Lengths:
    """Points with those at or beyond the edge drawn onto it, unless that would turn a triangle over."""
    outer = inside < HELD * grid.spacing
    drawn = points - np.where(outer, inside, 0.0)[:, None] * away
    turned = _doubled(drawn, triangles) < FLAT * grid.cell_area
    kept = np.unique(triangles[turned])
    drawn[kept] = points[kept]
    return drawn


def _doubled(points: Lengths, triangles: NDArray[np.int64]) -> FloatArray:
    """Twice the area of each triangle on the plan, positive anticlockwise."""
    first, second, third = (points[triangles[:, corner]] for corner in range(3))
    one, other = second - first, third - first
    return np.asarray(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])


def _away(ground: LinerGround) -> FloatArray:
    """Direction away from the shore into the water at every node, flat; nothing where there is none."""
    north, east = np.gradient(ground.distance, ground.grid.spacing)
    length = np.hypot(east, north)
    told = length > LEAST_GRADIENT
    return np.stack([np.where(told, one / np.where(told, length, 1.0), 0.0).ravel() for one in (east, north)])


def _sides(
    points: Lengths, rest: Elevations, steps: Lengths, away: FloatArray, triangles: NDArray[np.int64]
) -> Lengths:
    """Lengths of the sides of triangles, the same for both triangles of a side."""
    starts, ends = triangles, np.roll(triangles, -1, axis=1)
    pairs = np.sort(np.stack([starts.ravel(), ends.ravel()], axis=1), axis=1)
    edges, of_side = np.unique(pairs[:, 0] * np.int64(len(points)) + pairs[:, 1], return_inverse=True)
    first, second = np.divmod(edges, len(points))
    level = points[second] - points[first]
    drop = steps[second] - steps[first]
    along = away[first] + away[second]
    size = np.hypot(along[:, 0], along[:, 1])
    told = size > LEAST_GRADIENT
    own = (
        level
        / np.hypot(level[:, 0], level[:, 1])[:, None]
        * np.sign((level * along).sum(axis=1) + 1e-300)[:, None]
    )
    direction = np.where(told[:, None], along / np.where(told, size, 1.0)[:, None], own)
    pushed = level + direction * drop[:, None]
    lengths = np.sqrt((pushed**2).sum(axis=1) + (rest[second] - rest[first]) ** 2)
    # A riser seen against its own direction may not make a side shorter than the bare ground is.
    lengths = np.maximum(lengths, np.sqrt((level**2).sum(axis=1) + (rest[second] - rest[first]) ** 2))
    return _closed(lengths, of_side.reshape(-1, 3))


def _closed(lengths: Lengths, of_side: NDArray[np.int64]) -> Lengths:
    """Sides of triangles, the shorter two made longer where the longest is too long for them."""
    for _ in range(60):
        sides = lengths[of_side]
        longest = sides.max(axis=1)
        others = sides.sum(axis=1) - longest
        short = others * (1.0 - THIN) < longest
        if not short.any():
            break
        factor = np.ones_like(lengths)
        grown = (longest / (others * (1.0 - 2.0 * THIN)))[short, None]
        wanted = np.where(sides[short] == longest[short, None], 1.0, grown)
        np.maximum.at(factor, of_side[short], wanted)
        lengths = lengths * factor
    return lengths[of_side]


def _every_triangle(distance: Lengths, beyond: Length) -> tuple[FloatArray, NDArray[np.int64]]:
    """Distances at the corners of the triangles that a liner touches, and the flat nodes of the corners."""
    under = distance >= -beyond
    triangles, _ = _triangles(under[:-1, :-1] | under[1:, :-1] | under[:-1, 1:] | under[1:, 1:])
    return distance.ravel()[triangles], triangles


def _line_length(
    heights: FloatArray, triangles: NDArray[np.int64], grid: Grid, share: FloatArray | float
) -> Length:
    """Length of the line along which a field of triangles is zero, each piece counted by its share."""
    crossed = (heights.min(axis=1) < 0.0) & (heights.max(axis=1) >= 0.0)
    own = heights[crossed]
    rows, columns = np.divmod(triangles[crossed], grid.columns)
    places = grid.spacing * np.stack([columns, rows], axis=2)
    ends = []
    for start in range(3):
        end = (start + 1) % 3
        low, high = own[:, start], own[:, end]
        cut = (low < 0.0) != (high < 0.0)
        part = np.where(cut, low / np.where(cut, low - high, 1.0), 0.0)
        point = places[:, start] + part[:, None] * (places[:, end] - places[:, start])
        ends.append(np.where(cut[:, None], point, np.nan))
    spans = np.nanmax(ends, axis=0) - np.nanmin(ends, axis=0)
    counted = share if isinstance(share, float) else share[crossed]
    return float((np.hypot(spans[:, 0], spans[:, 1]) * counted).sum())


def _share_above(heights: FloatArray) -> FloatArray:
    """Share of each triangle that lies above zero, its corners' heights given."""
    low, middle, high = np.sort(heights, axis=1).T
    with np.errstate(divide="ignore", invalid="ignore"):
        one_below = 1.0 - low**2 / ((middle - low) * (high - low))
        one_above = high**2 / ((high - middle) * (high - low))
    some = np.where(middle >= 0.0, one_below, one_above)
    return np.where(low >= 0.0, 1.0, np.where(high <= 0.0, 0.0, some))
