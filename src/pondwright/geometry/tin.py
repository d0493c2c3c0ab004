"""The ground between the shots: a triangulation with breaklines, and its heights on a grid.

The triangles are those of Delaunay, but no edge crosses a breakline.  Their flat faces are
the ground: linear between three shots and without any smoothing.

What the shots contradict is never averaged.  These rules hold, and each case is told as a
:class:`TinProblem` when the heights differ by more than 1 mm:

- *duplicate*: shots within 1 mm of each other on the plan are one point; the first listed holds;
- *crossing*: where two breaklines cross, the one listed first holds its height and the other is
  bent to it;
- *touching*: a shot that lies on a breakline holds its own height, and the line is bent to it.

Some ground is *guessed*, and marked so at the nodes: outside the limit of the survey or its hull
(the height of the nearest point on that edge carries on, so the surface is total and continuous),
in voids (the triangles span them), and under triangles along the outside that are too long or too flat
to be believed.

See Also
--------
pondwright.geometry.surface : Elevations of the gridded ground at any point.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from pythoncdt import IntersectingConstraintEdges, Triangulation, VertexInsertionOrder

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Areas, Elevation, Elevations, FloatArray, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import scan
from pondwright.geometry.surface import node_shares, node_units

Integers = NDArray[np.int32]

SAME_PLACE: Length = 0.001
"""Distance on the plan up to which two shots are one point. [m]"""

SAME_HEIGHT: Length = 0.001
"""Difference in height up to which two heights agree. [m]"""

FLATNESS = 0.1
"""A triangle on the outside lower than this share of its outer edge is too flat. [-]"""


@dataclass(frozen=True, slots=True)
class TinProblem:
    """A place where the shots contradict each other, and which height holds.

    Parameters
    ----------
    kind : {"duplicate", "crossing", "touching"}
        What met there; the rules are told in :mod:`pondwright.geometry.tin`.
    shots : tuple of int
        The shots concerned: the two of a duplicate; the ends of the line that holds and then of
        the bent one; the touching shot and then the ends of the line.
    point : tuple of Length
        East and north. [m]
    held : Elevation
        The height that the ground has there. [m]
    other : Elevation
        The height that gave way. [m]
    """

    kind: Literal["duplicate", "crossing", "touching"]
    shots: tuple[int, ...]
    point: tuple[Length, Length]
    held: Elevation
    other: Elevation


@dataclass(frozen=True, slots=True)
class Tin:
    """A triangulated ground; all arrays are read-only.

    Parameters
    ----------
    points : (v, 2) array of Length
        East and north of the vertices: first the shots that hold, then the crossings. [m]
    elevations : (v,) array of Elevation
        [m]
    triangles : (t, 3) array of int
        Vertices of each triangle, anticlockwise.
    doubtful : (t,) array of bool
        Triangles along the outside that are too long or too flat to be believed.
    boundary : (b, 2) array of int
        Vertices of the edges with a triangle on one side only.
    origin : (v, 2) array of int
        The two shots (the same twice for a shot) that each vertex has its height from.
    share : (v, 2) array of Ratio
        What each of those shots counts in that height.
    measured : int
        Number of vertices that are shots.
    shots : int
        Number of shots that came in, duplicates among them.
    limit : (n, 2) array of Length or None
        Ring round the survey. [m]
    voids : tuple of (n, 2) arrays of Length
        Rings within which there is no ground to know. [m]
    problems : tuple of TinProblem
        Contradictions among the shots.
    """

    points: Lengths
    elevations: Elevations
    triangles: Integers
    doubtful: NDArray[np.bool_]
    boundary: Integers
    origin: Integers
    share: FloatArray
    measured: int
    shots: int
    limit: Lengths | None
    voids: tuple[Lengths, ...]
    problems: tuple[TinProblem, ...]


@dataclass(frozen=True, slots=True)
class TinGrid:
    """A triangulated ground at the nodes of a grid; all arrays are read-only.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations, at every node. [m]
    triangle : (rows, columns) array of int
        The triangle over each node; -1 outside the limit and the hull.
    known : (rows, columns) array of int
        1 within one spacing of a shot, 2 interpolated, 3 guessed.
    """

    z: Elevations
    triangle: Integers
    known: NDArray[np.int8]


def triangulate(
    points: Lengths,
    elevations: Elevations,
    edges: NDArray[np.integer] | Sequence[tuple[int, int]] = (),
    limit: Lengths | None = None,
    voids: Sequence[Lengths] = (),
    longest_edge: Length | None = None,
) -> Tin:
    """Triangulation of shots that keeps every breakline.

    Parameters
    ----------
    points : (n, 2) array of Length
        East and north of the shots. [m]
    elevations : (n,) array of Elevation
        Heights of the shots. [m]
    edges : (k, 2) array of int, optional
        Breaklines, as pairs of shots by index; the first listed holds where two cross.
    limit : (m, 2) array of Length, optional
        Ring round the survey; the ground outside is guessed. [m]
    voids : sequence of (m, 2) arrays of Length, optional
        Rings within which the ground is guessed. [m]
    longest_edge : Length, optional
        An outer triangle with a longer outer edge is doubtful, if the edge is no breakline; five
        times the mean edge (common practice) when not given. [m], > 0

    Returns
    -------
    Tin
        The triangles, and what was contradictory in the shots.

    Raises
    ------
    DomainError
        If fewer than three shots stand off one line, a number is not finite, or an edge
        names no shot.

    Notes
    -----
    The limit and the voids say what is known; they never move the ground inside the limit.

    Examples
    --------
    >>> corners = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])
    >>> tin = triangulate(corners, np.array([1.0, 2.0, 2.0, 1.0]), edges=[(0, 2)])
    >>> len(tin.triangles), len(tin.boundary), tin.problems
    (2, 4, ())
    """
    shots, heights, lines = _checked(points, elevations, edges, longest_edge)
    kept, duplicates = _merged(shots, heights)
    vertex_shot = np.flatnonzero(kept == np.arange(len(shots)))
    vertex_of = np.searchsorted(vertex_shot, kept)
    lines = vertex_of[lines]
    lines = lines[lines[:, 0] != lines[:, 1]]

    mesh = Triangulation(VertexInsertionOrder.AUTO, IntersectingConstraintEdges.TRY_RESOLVE, SAME_PLACE)
    # Before Python 3.12 no type tells that an array is a buffer.
    mesh.insert_vertices(np.ascontiguousarray(shots[vertex_shot]))  # type: ignore[call-overload]
    if len(lines):
        mesh.insert_edges(np.ascontiguousarray(lines, dtype=np.uint32))  # type: ignore[call-overload]
    mesh.erase_super_triangle()
    faces = mesh.triangles_array().view(np.int32).reshape(-1, 6)
    if not len(faces):
        raise DomainError("`points` must be at least 3 shots that do not stand on one line, got none")
    vertices = mesh.vertices_array().view(np.float64).reshape(-1, 2)

    origin, share, crossings = _heights_from_shots(mesh, vertices, vertex_shot, heights, lines)
    triangles, neighbours = np.ascontiguousarray(faces[:, :3]), np.ascontiguousarray(faces[:, 3:])
    outer, side = np.nonzero(neighbours < 0)
    tin = Tin(
        points=vertices,
        elevations=(heights[origin] * share).sum(axis=1),
        triangles=triangles,
        doubtful=_doubtful(vertices, triangles, neighbours, mesh, longest_edge),
        boundary=np.column_stack([triangles[outer, side], triangles[outer, (side + 1) % 3]]),
        origin=origin,
        share=share,
        measured=len(vertex_shot),
        shots=len(shots),
        limit=None if limit is None else _ring(limit, "limit"),
        voids=tuple(_ring(void, "voids") for void in voids),
        problems=(*duplicates, *crossings),
    )
    for array in (tin.points, tin.elevations, triangles, tin.doubtful, tin.boundary, origin, share):
        array.flags.writeable = False
    return tin


def tin_to_grid(tin: Tin, grid: Grid) -> TinGrid:
    """Elevations of a triangulated ground at the nodes of a grid, and how well each is known.

    Costs the nodes under the triangles: each triangle's plane is laid over its own nodes.

    Parameters
    ----------
    tin : Tin
        The triangulated ground.
    grid : Grid
        Where the nodes are.

    Returns
    -------
    TinGrid
        Total and continuous: nodes outside carry the height of the nearest point on the edge.

    Examples
    --------
    >>> tin = triangulate(np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 4.0]]), np.array([1.0, 2.0, 3.0]))
    >>> grid = Grid(origin_east=1.0, origin_north=1.0, spacing=0.5, columns=2, rows=2)
    >>> tin_to_grid(tin, grid).z.tolist()
    [[1.75, 1.875], [2.0, 2.125]]
    """
    z = np.empty(grid.shape)
    triangle = np.full(grid.shape, -1, dtype=np.int32)
    known = np.full(grid.shape, scan.GUESSED, dtype=np.int8)
    frame = (grid.origin_east, grid.origin_north, grid.spacing)
    doubtful = tin.doubtful.view(np.int8)
    scan.scan_triangles(tin.points, tin.elevations, tin.triangles, doubtful, *frame, z, triangle, known)
    beyond, ends, along = _beyond_hull(tin, grid, triangle)
    ends_z = tin.elevations[ends]
    z.ravel()[beyond] = ends_z[:, 0] + along * (ends_z[:, 1] - ends_z[:, 0])
    scan.mark_shots(tin.points[: tin.measured], *frame, known)
    beyond, nodes, shares = _beyond_limit(tin, grid)
    z.ravel()[beyond] = (z.ravel()[nodes] * shares).sum(axis=1)
    triangle.ravel()[beyond] = -1
    known.ravel()[beyond] = scan.GUESSED
    for void in tin.voids:
        known[_inside(void, False, grid)] = scan.GUESSED
    z.flags.writeable = triangle.flags.writeable = known.flags.writeable = False
    return TinGrid(z, triangle, known)


def shot_weights(tin: Tin, grid: Grid, node_weight: FloatArray) -> FloatArray:
    """What a weighted sum over the nodes changes by when each shot's height changes.

    This is the exact transpose of :func:`tin_to_grid`: with it the uncertainty of a volume follows
    from the uncertainty of the shots, without drawing any.

    Parameters
    ----------
    tin : Tin
        The triangulated ground.
    grid : Grid
        Where the nodes are.
    node_weight : (rows, columns) array
        Weight of each node in the sum.

    Returns
    -------
    (shots,) array
        Derivative of sum(node_weight * z) by the height of each shot; 0 for a duplicate that gave way.

    Examples
    --------
    >>> tin = triangulate(np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 4.0]]), np.array([1.0, 2.0, 3.0]))
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=2, rows=2)
    >>> shot_weights(tin, grid, np.array([[0.0, 0.0], [0.0, 8.0]])).tolist()
    [4.0, 2.0, 2.0]
    """
    weight = np.array(node_weight, dtype=np.float64).ravel()
    beyond, nodes, shares = _beyond_limit(tin, grid)
    carried = weight[beyond, None] * shares
    weight[beyond] = 0.0
    weight += np.bincount(nodes.ravel(), carried.ravel(), minlength=weight.size)
    vertices, shares = _vertex_shares(tin, grid)
    by_vertex = np.bincount(vertices.ravel(), (weight[:, None] * shares).ravel(), minlength=len(tin.points))
    shared = (by_vertex[:, None] * tin.share).ravel()
    by_shot = np.asarray(np.bincount(tin.origin.ravel(), shared, minlength=tin.shots), dtype=np.float64)
    by_shot.flags.writeable = False
    return by_shot


def node_sigma(
    tin: Tin,
    grid: Grid,
    sigma: Lengths,
    base: NDArray[np.intp] | None = None,
    covariance: Areas | None = None,
) -> Lengths:
    """Standard deviation of the height at each node that comes from the shots' own.

    Parameters
    ----------
    tin : Tin
        The triangulated ground.
    grid : Grid
        Where the nodes are.
    sigma : (shots,) array of Length
        Standard deviation of the height of each shot, all independent. [m]
    base : (shots,) int array, optional
        What each shot has an error together with, by number; -1 for nothing.
    covariance : (bases, bases) array, optional
        Covariance of the bases' errors. [m²]

    Returns
    -------
    (rows, columns) array of Length
        Read-only.  What the ground does between the shots is not in it. [m]

    Examples
    --------
    >>> tin = triangulate(np.array([[0.0, 0.0], [2.0, 0.0], [0.0, 2.0]]), np.array([1.0, 2.0, 3.0]))
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=2, rows=2)
    >>> node_sigma(tin, grid, np.array([0.02, 0.02, 0.02]))[0].round(4).tolist()
    [0.02, 0.0141]
    """
    of_vertex = (tin.share**2 * np.asarray(sigma, dtype=np.float64)[tin.origin] ** 2).sum(axis=1)
    vertices, shares = _vertex_shares(tin, grid)
    variance = (shares**2 * of_vertex[vertices]).sum(axis=1)
    if base is not None and covariance is not None and covariance.any():
        variance += _shared_variance(tin, vertices, shares, base, covariance)
    spread = np.sqrt(np.maximum(variance, 0.0))
    beyond, nodes, shares = _beyond_limit(tin, grid)
    spread[beyond] = (spread[nodes] * shares).sum(axis=1)
    spread = spread.reshape(grid.shape)
    spread.flags.writeable = False
    return spread


def _checked(
    points: Lengths,
    elevations: Elevations,
    edges: NDArray[np.integer] | Sequence[tuple[int, int]],
    longest_edge: Length | None,
) -> tuple[Lengths, Elevations, NDArray[np.int64]]:
    """Shots and edges as plain arrays, once they can be triangulated."""
    shots = np.ascontiguousarray(points, dtype=np.float64)
    heights = np.ascontiguousarray(elevations, dtype=np.float64)
    lines: NDArray[np.int64] = np.asarray(edges, dtype=np.int64).reshape(-1, 2)
    if shots.ndim != 2 or shots.shape[1] != 2 or len(shots) < 3:
        raise DomainError(f"`points` must be at least 3 rows of east and north, got {shots.shape}")
    if heights.shape != (len(shots),):
        raise DomainError(f"`elevations` must be {len(shots)}, one a shot, got {heights.shape}")
    for name, array in (("points", shots), ("elevations", heights)):
        if not np.isfinite(array).all():
            raise DomainError(f"`{name}` must be finite numbers, got {array[~np.isfinite(array)][0]} m")
    if len(lines) and not (lines.min() >= 0 and lines.max() < len(shots)):
        raise DomainError(
            f"`edges` must name shots 0 to {len(shots) - 1}, got {lines.min()} to {lines.max()}"
        )
    if longest_edge is not None and not longest_edge > 0.0:
        raise DomainError(f"`longest_edge` must be above 0 m, got {longest_edge} m")
    return shots, heights, lines


def _ring(ring: Lengths, name: str) -> Lengths:
    """A ring as an array, once it is known to enclose something."""
    corners = np.ascontiguousarray(ring, dtype=np.float64)
    if corners.ndim != 2 or corners.shape[1] != 2 or len(corners) < 3 or not np.isfinite(corners).all():
        raise DomainError(f"`{name}` must be rings of at least 3 finite points, got {corners.tolist()} m")
    return corners


def _merged(shots: Lengths, heights: Elevations) -> tuple[NDArray[np.int64], list[TinProblem]]:
    """The first listed shot that stands for each shot, and the duplicates of different height."""
    kept: NDArray[np.int64] = np.empty(len(shots), dtype=np.int64)
    scan.mark_duplicates(shots, np.argsort(shots[:, 0]), SAME_PLACE, kept)
    contradicting = np.flatnonzero(np.abs(heights - heights[kept]) > SAME_HEIGHT)
    return kept, [
        TinProblem(
            kind="duplicate",
            shots=(int(kept[shot]), int(shot)),
            point=(float(shots[shot, 0]), float(shots[shot, 1])),
            held=float(heights[kept[shot]]),
            other=float(heights[shot]),
        )
        for shot in contradicting
    ]


def _heights_from_shots(
    mesh: Triangulation,
    vertices: Lengths,
    vertex_shot: NDArray[np.int64],
    heights: Elevations,
    lines: NDArray[np.int64],
) -> tuple[Integers, FloatArray, list[TinProblem]]:
    """Shots and shares that each vertex has its height from, and what the breaklines contradict.

    On a breakline a crossing lies straight between the nearest shots on either side of it.
    """
    measured = len(vertex_shot)
    origin = np.zeros((len(vertices), 2), dtype=np.int32)
    origin[:measured] = vertex_shot[:, None]
    share = np.tile([1.0, 0.0], (len(vertices), 1))
    problems: list[TinProblem] = []
    settled: dict[int, tuple[int, int]] = {}
    for (start, end), inner in _split_lines(mesh, lines, vertices).items():
        ends = (int(vertex_shot[start]), int(vertex_shot[end]))
        along = [0.0, *(part for part, vertex in inner if vertex < measured), 1.0]
        stations = [ends[0], *(int(vertex_shot[vertex]) for _, vertex in inner if vertex < measured), ends[1]]
        for part, vertex in inner:
            if vertex < measured:
                held = float(heights[vertex_shot[vertex]])
                other = float(heights[ends[0]] + part * (heights[ends[1]] - heights[ends[0]]))
                kind: Literal["touching", "crossing"] = "touching"
                concerned: tuple[int, ...] = (int(vertex_shot[vertex]), *ends)
            else:
                after = int(np.searchsorted(along, part))
                pair = stations[after - 1], stations[after]
                ratio = (part - along[after - 1]) / (along[after] - along[after - 1])
                other = float(heights[pair[0]] + ratio * (heights[pair[1]] - heights[pair[0]]))
                if vertex not in settled:
                    settled[vertex] = ends
                    origin[vertex], share[vertex] = pair, (1.0 - ratio, ratio)
                    continue
                held = float(heights[origin[vertex]] @ share[vertex])
                kind, concerned = "crossing", (*settled[vertex], *ends)
            if abs(held - other) > SAME_HEIGHT:
                point = float(vertices[vertex, 0]), float(vertices[vertex, 1])
                problems.append(TinProblem(kind, concerned, point, held, other))
    return origin, share, problems


def _split_lines(
    mesh: Triangulation, lines: NDArray[np.int64], vertices: Lengths
) -> dict[tuple[int, int], list[tuple[float, int]]]:
    """Breaklines that were split, in their order: the share along it and the vertex of each split."""
    if mesh.piece_to_originals_count() == 0:
        return {}
    on_line: dict[tuple[int, int], set[int]] = {}
    for piece, originals in mesh.piece_to_originals_iter():
        for original in originals:
            on_line.setdefault((original.v1, original.v2), set()).update((piece.v1, piece.v2))
    split: dict[tuple[int, int], list[tuple[float, int]]] = {}
    for start, end in lines.tolist():
        key = (min(start, end), max(start, end))
        if key in on_line and key not in split:
            reach = vertices[key[1]] - vertices[key[0]]
            split[key] = sorted(
                (float((vertices[vertex] - vertices[key[0]]) @ reach / (reach @ reach)), vertex)
                for vertex in on_line[key] - {*key}
            )
    return split


def _doubtful(
    vertices: Lengths,
    triangles: Integers,
    neighbours: Integers,
    mesh: Triangulation,
    longest_edge: Length | None,
) -> NDArray[np.bool_]:
    """Triangles that can be peeled off from the outside because they are too long or too flat."""
    fixed = sorted(edge.v1 * len(vertices) + edge.v2 for edge in mesh.fixed_edges_iter())
    codes = np.array(fixed, dtype=np.int64)
    doubtful = np.empty(len(triangles), dtype=np.int8)
    scan.mark_doubtful(vertices, triangles, neighbours, codes, longest_edge or 0.0, FLATNESS, doubtful)
    return doubtful.view(np.bool_)


def _beyond_hull(tin: Tin, grid: Grid, triangle: Integers) -> tuple[NDArray[np.int64], Integers, FloatArray]:
    """Flat nodes under no triangle, the ends of the outer edge nearest to each, the share along it."""
    wanted = (triangle < 0).view(np.int8)
    if not wanted.any():
        return np.empty(0, dtype=np.int64), np.empty((0, 2), dtype=np.int32), np.empty(0)
    edges = node_units(grid, tin.points[tin.boundary]).reshape(-1, 4)
    edge, along = _nearest(edges, wanted)
    beyond = np.flatnonzero(wanted)
    return beyond, tin.boundary[edge.ravel()[beyond]], along.ravel()[beyond]


def _beyond_limit(tin: Tin, grid: Grid) -> tuple[NDArray[np.int64], Integers, FloatArray]:
    """Flat nodes outside the limit, and the nodes and shares of the nearest place on its ring.

    A ring that leaves the grid counts by the nearest place of the grid, which is continuous too.
    """
    if tin.limit is None:
        return np.empty(0, dtype=np.int64), np.empty((0, 3), dtype=np.int32), np.empty((0, 3))
    wanted = (~_inside(tin.limit, True, grid)).view(np.int8)
    beyond = np.flatnonzero(wanted)
    corners = node_units(grid, tin.limit)
    edges = np.hstack([corners, np.roll(corners, -1, axis=0)])
    edge, along = _nearest(edges, wanted)
    chosen, part = edges[edge.ravel()[beyond]], along.ravel()[beyond, None]
    places = chosen[:, :2] + part * (chosen[:, 2:] - chosen[:, :2])
    places = np.clip(places, 0.0, [grid.columns - 1.0, grid.rows - 1.0])
    return beyond, *node_shares(grid, places)


def _nearest(edges: FloatArray, wanted: NDArray[np.int8]) -> tuple[Integers, FloatArray]:
    """Nearest edge of every wanted node, and the share along it; nothing at the others."""
    edge = np.zeros(wanted.shape, dtype=np.int32)
    along = np.zeros(wanted.shape)
    scan.nearest_edges(np.ascontiguousarray(edges), wanted, edge, along)
    return edge, along


def _inside(ring: Lengths, with_edge: bool, grid: Grid) -> NDArray[np.bool_]:
    """Nodes inside a ring."""
    inside = np.zeros(grid.shape, dtype=np.int8)
    scan.mark_inside(ring, with_edge, grid.origin_east, grid.origin_north, grid.spacing, inside)
    return inside.view(np.bool_)


def _shared_variance(
    tin: Tin, vertices: Integers, shares: FloatArray, base: NDArray[np.intp], covariance: Areas
) -> FloatArray:
    """Variance of each node from what its shots have together: the sum over all pairs of them."""
    each = 1 if tin.measured == len(tin.points) else 2
    bases = base[tin.origin[:, :each]][vertices].reshape(len(vertices), -1)
    weights = (shares[:, :, None] * tin.share[:, :each][vertices]).reshape(len(vertices), -1)
    # A shot on its own has base -1: the last row and column, which hold nothing.
    padded = np.pad(covariance, (0, 1))
    variance = np.zeros(len(vertices))
    for one in range(bases.shape[1]):
        for two in range(one, bases.shape[1]):
            pair = weights[:, one] * weights[:, two] * padded[bases[:, one], bases[:, two]]
            variance += pair if one == two else 2.0 * pair
    return variance


def _vertex_shares(tin: Tin, grid: Grid) -> tuple[Integers, FloatArray]:
    """Three vertices and shares that give each node its height, as if there were no limit."""
    frame = (grid.origin_east, grid.origin_north, grid.spacing)
    triangle = np.full(grid.shape, -1, dtype=np.int32)
    z, known = np.empty(grid.shape), np.empty(grid.shape, dtype=np.int8)
    doubtful = tin.doubtful.view(np.int8)
    scan.scan_triangles(tin.points, tin.elevations, tin.triangles, doubtful, *frame, z, triangle, known)
    corners = np.zeros((*grid.shape, 3), dtype=np.int32)
    parts = np.zeros((*grid.shape, 3))
    scan.triangle_shares(tin.points, tin.triangles, triangle, *frame, corners, parts)
    vertices, shares = corners.reshape(-1, 3), parts.reshape(-1, 3)
    beyond, ends, along = _beyond_hull(tin, grid, triangle)
    vertices[beyond, :2] = ends
    shares[beyond, 0], shares[beyond, 1] = 1.0 - along, along
    return vertices, shares
