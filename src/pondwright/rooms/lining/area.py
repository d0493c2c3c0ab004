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
from pondwright.base.kinds import Area, Areas, Elevations, FloatArray, Length, Lengths, Ratios
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import bands as kernels
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
    reach : (rows, columns) int8 array   Which water or reach of a stream rules; between two of them a
                                         difference of height is an upright face. None is one water.
    downstream : (2, rows, columns) array     East and north of the way that a stream runs. [-]
    """

    grid: Grid
    rest: Elevations
    steps: Lengths
    distance: Lengths
    reach: NDArray[np.int8] | None = None
    downstream: FloatArray | None = None


@dataclass(frozen=True, slots=True, eq=False)
class LinerMesh:
    """Triangles over the ground of a liner, with the true lengths of their sides.

    Attributes
    ----------
    points : (n, 2) array                East and north of each point. [m]
    triangles : (m, 3) int array         Points of each triangle, anticlockwise.
    sides : (m, 3) array                 Length over the ground of the side after each point. [m]
    nodes : (n,) int array               Node of the grid, row after row, that each point stands for.
    """

    points: Lengths
    triangles: NDArray[np.int64]
    sides: Lengths
    nodes: NDArray[np.int64] | None = None

    @property
    def flat(self) -> FloatArray:
        """Each triangle laid flat: length of its first side, and place of its third point. (m, 3) [m]"""
        first, second, third = self.sides.T
        along = (first**2 + third**2 - second**2) / (2.0 * first)
        return np.stack([first, along, np.sqrt(third**2 - along**2)], axis=1)

    @property
    def area(self) -> Area:
        """True area of all triangles. [m²]"""
        return float(self.areas.sum())

    @property
    def areas(self) -> Areas:
        """True area of each triangle. (m,) [m²]"""
        flat = self.flat
        return np.asarray(0.5 * flat[:, 0] * flat[:, 2])


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
    shore; exact where a riser is straight.  Where a side crosses a fall, or runs from one water into another,
    all of its difference of height is an upright face, and n the way that the stream runs.  Where three sides
    make no triangle the shorter two are made longer, which is on the safe side.

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
    falls = None
    if ground.reach is not None and ground.downstream is not None:
        falls = _Falls(ground.reach.ravel()[used], ground.downstream.reshape(2, -1)[:, used].T)
    sides = _sides(points, rest, ground.steps.ravel()[used], away, corners, falls)
    return LinerMesh(points, corners, sides, used)


@dataclass(frozen=True, slots=True, eq=False)
class _Falls:
    """Which reach rules at each point, and the way that the stream runs there. (n,), (n, 2)"""

    reach: NDArray[np.int8]
    downstream: FloatArray


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
    total = sum(_bank_area(np.ascontiguousarray(distance), grid.spacing, bank, beyond) for bank in banks)
    return round(total, 12)


def least_area(ground: LinerGround, beyond: Length, share: Ratios | None = None) -> Area:
    """True area of a liner's ground without its upright faces: no liner can be smaller.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length                   How far beyond the shore the liner reaches, on the plan. [m]
    share : (rows, columns) array     How much each node counts, 0 to 1; None is wholly. [-]

    Returns
    -------
    Area                              [m²]

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=2)
    >>> slope = np.array([[0.0, 0.75, 1.5]] * 2)
    >>> least_area(LinerGround(grid, slope, np.zeros((2, 3)), np.array([[0.0, 1.0, 2.0]] * 2)), 0.0)
    2.5

    hand

    References
    ----------
    .. [1] Derived: area of triangles.
    """
    counted = np.ones_like(ground.rest) if share is None else share
    return round(
        float(kernels.sloped(ground.rest, ground.distance, counted, -beyond, ground.grid.spacing, 0)), 12
    )


def meshed_area(mesh: LinerMesh, share: Ratios) -> Area:
    """True area of the triangles of a mesh, each by its share.

    Parameters
    ----------
    mesh : LinerMesh                  From :func:`liner_mesh`.
    share : (rows, columns) array     How much each node of its ground counts, 0 to 1. [-]

    Returns
    -------
    Area                              [m²]

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=2)
    >>> flat = np.zeros((2, 3))
    >>> mesh = liner_mesh(LinerGround(grid, flat, flat, np.ones((2, 3))), 0.0)
    >>> meshed_area(mesh, np.full((2, 3), 0.5))
    1.0

    hand

    References
    ----------
    .. [1] Derived: sum of triangles.
    """
    assert mesh.nodes is not None
    counted = share.ravel()[mesh.nodes][mesh.triangles].mean(axis=1)
    return round(float((mesh.areas * counted).sum()), 12)


def _bank_area(distance: Lengths, spacing: Length, bank: Bank, beyond: Length) -> Area:
    """True area of the bands and faces of one kind of bank, by its share."""
    starts, factors = np.maximum(bank.offsets, -beyond), np.sqrt(1.0 + bank.slopes**2)
    risers, heights = np.ascontiguousarray(bank.risers), np.ascontiguousarray(bank.heights)
    share = np.empty((0, 0)) if bank.share is None else np.ascontiguousarray(bank.share)
    return float(kernels.banded(distance, starts, factors, risers, heights, share, spacing, 0))


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
    points: Lengths,
    rest: Elevations,
    steps: Lengths,
    away: FloatArray,
    triangles: NDArray[np.int64],
    falls: _Falls | None,
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
    rise = rest[second] - rest[first]
    bare = np.sqrt((level**2).sum(axis=1) + rise**2)
    if falls is not None:
        over = falls.reach[first] != falls.reach[second]
        pushed += np.where(
            over[:, None], _over_falls(level, falls, first, second) * np.abs(rise)[:, None], 0.0
        )
        rise = np.where(over, 0.0, rise)
    # A riser seen against its own direction may not make a side shorter than the bare ground is.
    lengths = np.maximum(np.sqrt((pushed**2).sum(axis=1) + rise**2), bare)
    return _closed(lengths, of_side.reshape(-1, 3))


def _over_falls(
    level: Lengths, falls: _Falls, first: NDArray[np.int64], second: NDArray[np.int64]
) -> FloatArray:
    """Direction in which a fall pushes the far end of each side away: along the stream, else its own."""
    along = falls.downstream[first] + falls.downstream[second]
    size = np.hypot(along[:, 0], along[:, 1])[:, None]
    told = size > LEAST_GRADIENT
    own = level / np.hypot(level[:, 0], level[:, 1])[:, None]
    direction = np.where(told, along / np.where(told, size, 1.0), own)
    return np.asarray(direction * np.where((direction * level).sum(axis=1) < 0.0, -1.0, 1.0)[:, None])


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
