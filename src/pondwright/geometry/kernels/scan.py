"""Laying triangles, rings and points over the nodes of a grid, row by row.

All loops cost the nodes they touch: no point is ever searched for.  Places are turned into node
units first (``column``, ``row`` as fractions); a bound includes the nodes within ``SLACK`` of it, so
that a node on an edge is found from both sides and never from neither.
"""

from __future__ import annotations

from math import ceil, floor, inf, sqrt

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_BYTES,
    READ_BYTES_2D,
    READ_INTEGERS_2D,
    WRITE_2D,
    WRITE_3D,
    WRITE_BYTES,
    WRITE_BYTES_2D,
    WRITE_INTEGERS_2D,
    boolean,
    float64,
    int32,
    int64,
    kernel,
    types,
    void,
)

SLACK = 1e-9
TILE = 16

SHOT, INTERPOLATED, GUESSED = 1, 2, 3

READ_LONGS = types.Array(int64, 1, "C", readonly=True)
WRITE_LONGS = types.Array(int64, 1, "C")
WRITE_INTEGERS_3D = types.Array(int32, 3, "C")


@kernel(void(READ_2D, READ_LONGS, float64, WRITE_LONGS))
def mark_duplicates(points: FloatArray, order: np.ndarray, tolerance: float, kept: np.ndarray) -> None:
    """Fill ``kept`` with the first listed point that stands for each point; ``order`` is by east."""
    count = len(points)
    for i in range(count):
        kept[i] = i
    for a in range(count):
        i = order[a]
        b = a + 1
        while b < count and points[order[b], 0] - points[i, 0] <= tolerance:
            j = order[b]
            east = points[j, 0] - points[i, 0]
            north = points[j, 1] - points[i, 1]
            if east * east + north * north <= tolerance * tolerance:
                kept[max(i, j)] = min(kept[max(i, j)], i, j)
            b += 1
    for i in range(count):
        kept[i] = kept[kept[i]]


@kernel(void(READ_2D, READ_INTEGERS_2D, READ_INTEGERS_2D, READ_LONGS, float64, float64, WRITE_BYTES))
def mark_doubtful(
    points: FloatArray,
    triangles: np.ndarray,
    neighbours: np.ndarray,
    breaklines: np.ndarray,
    longest: float,
    flatness: float,
    doubtful: np.ndarray,
) -> None:
    """Mark the long and the flat triangles that can be peeled off from the outside.

    ``breaklines`` are codes ``low * points + high`` in ascending order; nothing is peeled over them.
    A ``longest`` of 0 stands for five times the mean edge.
    """
    count = len(triangles)
    total = 0.0
    stack = []
    for t in range(count):
        doubtful[t] = 0
        for i in range(3):
            a, b = triangles[t, i], triangles[t, (i + 1) % 3]
            total += sqrt((points[b, 0] - points[a, 0]) ** 2 + (points[b, 1] - points[a, 1]) ** 2)
            if neighbours[t, i] < 0:
                stack.append((t, i))
    limit = longest if longest > 0.0 else 5.0 * total / (3 * count)
    while len(stack) > 0:
        t, i = stack.pop()
        a, b, apex = triangles[t, i], triangles[t, (i + 1) % 3], triangles[t, (i + 2) % 3]
        code = int64(min(a, b)) * len(points) + max(a, b)
        place = np.searchsorted(breaklines, code)
        if doubtful[t] or (place < len(breaklines) and breaklines[place] == code):
            continue
        east = points[b, 0] - points[a, 0]
        north = points[b, 1] - points[a, 1]
        length = sqrt(east * east + north * north)
        twice_area = abs(east * (points[apex, 1] - points[a, 1]) - north * (points[apex, 0] - points[a, 0]))
        if length <= limit and twice_area >= flatness * length * length:
            continue
        doubtful[t] = 1
        for j in range(3):
            other = neighbours[t, j]
            if j != i and other >= 0:
                for k in range(3):
                    if neighbours[other, k] == t:
                        stack.append((other, k))


@kernel(
    void(
        READ_2D, READ_1D, READ_INTEGERS_2D, READ_BYTES, float64, float64, float64,
        WRITE_2D, WRITE_INTEGERS_2D, WRITE_BYTES_2D,
    )
)  # fmt: skip
def scan_triangles(
    points: FloatArray,
    elevations: FloatArray,
    triangles: np.ndarray,
    doubtful: np.ndarray,
    origin_east: float,
    origin_north: float,
    spacing: float,
    z: FloatArray,
    triangle: np.ndarray,
    known: np.ndarray,
) -> None:
    """Fill the nodes under each triangle with its plane; nodes under none stay as they are."""
    rows, columns = z.shape
    u = np.empty(3)
    v = np.empty(3)
    height = np.empty(3)
    for t in range(len(triangles)):
        for i in range(3):
            vertex = triangles[t, i]
            u[i] = (points[vertex, 0] - origin_east) / spacing
            v[i] = (points[vertex, 1] - origin_north) / spacing
            height[i] = elevations[vertex]
        u1, v1, u2, v2 = u[1] - u[0], v[1] - v[0], u[2] - u[0], v[2] - v[0]
        twice_area = u1 * v2 - u2 * v1
        south = min(v[0], v[1], v[2])
        north = max(v[0], v[1], v[2])
        if twice_area == 0.0 or north < -SLACK or south > rows - 1 + SLACK:
            continue
        z1, z2 = height[1] - height[0], height[2] - height[0]
        along_u = (z1 * v2 - z2 * v1) / twice_area
        along_v = (z2 * u1 - z1 * u2) / twice_area
        # On a sliver the slack would be stretched by a huge gradient: never leave the corners' range.
        lowest = min(height[0], height[1], height[2])
        highest = max(height[0], height[1], height[2])
        for r in range(max(0, int(ceil(south - SLACK))), min(rows - 1, int(floor(north + SLACK))) + 1):
            west = inf
            east = -inf
            for i in range(3):
                j = (i + 1) % 3
                if min(v[i], v[j]) - SLACK <= r <= max(v[i], v[j]) + SLACK:
                    if abs(v[j] - v[i]) < SLACK:
                        west = min(west, u[i], u[j])
                        east = max(east, u[i], u[j])
                    else:
                        part = min(max((r - v[i]) / (v[j] - v[i]), 0.0), 1.0)
                        crossing = u[i] + part * (u[j] - u[i])
                        west = min(west, crossing)
                        east = max(east, crossing)
            # Kept within the window before it becomes an integer.
            west = min(max(west - SLACK, 0.0), float(columns))
            east = min(max(east + SLACK, -1.0), columns - 1.0)
            base = height[0] + along_v * (r - v[0])
            for c in range(int(ceil(west)), int(floor(east)) + 1):
                z[r, c] = min(max(base + along_u * (c - u[0]), lowest), highest)
                triangle[r, c] = t
                if not doubtful[t]:
                    known[r, c] = INTERPOLATED


@kernel(void(READ_2D, float64, float64, float64, WRITE_BYTES_2D))
def mark_shots(
    points: FloatArray, origin_east: float, origin_north: float, spacing: float, known: np.ndarray
) -> None:
    """Mark the nodes that lie within one spacing of a shot."""
    rows, columns = known.shape
    reach = 1.0 + SLACK
    for i in range(len(points)):
        u = (points[i, 0] - origin_east) / spacing
        v = (points[i, 1] - origin_north) / spacing
        if not (-reach <= u <= columns - 1 + reach and -reach <= v <= rows - 1 + reach):
            continue
        for r in range(max(0, int(ceil(v - reach))), min(rows - 1, int(floor(v + reach))) + 1):
            for c in range(max(0, int(ceil(u - reach))), min(columns - 1, int(floor(u + reach))) + 1):
                if (r - v) ** 2 + (c - u) ** 2 <= reach * reach:
                    known[r, c] = SHOT


@kernel(void(READ_2D, boolean, float64, float64, float64, WRITE_BYTES_2D))
def mark_inside(
    ring: FloatArray,
    with_edge: bool,
    origin_east: float,
    origin_north: float,
    spacing: float,
    inside: np.ndarray,
) -> None:
    """Mark the nodes inside a ring (even-odd), with or without those on its edge."""
    rows, columns = inside.shape
    count = len(ring)
    slack = SLACK if with_edge else -SLACK
    crossings = np.empty(count)
    for r in range(rows):
        found = 0
        for i in range(count):
            j = (i + 1) % count
            v = (ring[i, 1] - origin_north) / spacing
            w = (ring[j, 1] - origin_north) / spacing
            if (v <= r) != (w <= r):
                u = (ring[i, 0] - origin_east) / spacing
                crossings[found] = u + (r - v) / (w - v) * ((ring[j, 0] - origin_east) / spacing - u)
                found += 1
        ordered = np.sort(crossings[:found])
        for k in range(0, found - 1, 2):
            west = min(max(ordered[k] - slack, 0.0), float(columns))
            east = min(max(ordered[k + 1] + slack, -1.0), columns - 1.0)
            for c in range(int(ceil(west)), int(floor(east)) + 1):
                inside[r, c] = 1
    # Edges along a row of nodes have no crossing with it: they are put in, or taken out, here.
    for i in range(count):
        j = (i + 1) % count
        v = (ring[i, 1] - origin_north) / spacing
        w = (ring[j, 1] - origin_north) / spacing
        r = floor(v + 0.5)
        if abs(v - r) <= SLACK and abs(w - r) <= SLACK and 0 <= r < rows:
            u = (ring[i, 0] - origin_east) / spacing
            x = (ring[j, 0] - origin_east) / spacing
            west = min(max(min(u, x) - SLACK, 0.0), float(columns))
            east = min(max(max(u, x) + SLACK, -1.0), columns - 1.0)
            for c in range(int(ceil(west)), int(floor(east)) + 1):
                inside[int(r), c] = with_edge


@kernel(types.UniTuple(float64, 2)(float64, float64, READ_2D, int64))
def _to_edge(u: float, v: float, edges: FloatArray, k: int) -> tuple[float, float]:
    """Squared distance of a place to an edge, and the share of the edge to the nearest point."""
    east = edges[k, 2] - edges[k, 0]
    north = edges[k, 3] - edges[k, 1]
    length = east * east + north * north
    along = 0.0
    if length > 0.0:
        along = ((u - edges[k, 0]) * east + (v - edges[k, 1]) * north) / length
        along = min(max(along, 0.0), 1.0)
    gap_east = edges[k, 0] + along * east - u
    gap_north = edges[k, 1] + along * north - v
    return gap_east * gap_east + gap_north * gap_north, along


@kernel(void(READ_2D, READ_BYTES_2D, WRITE_INTEGERS_2D, WRITE_2D))
def nearest_edges(edges: FloatArray, wanted: np.ndarray, edge: np.ndarray, along: FloatArray) -> None:
    """Nearest edge, and the share along it, of every wanted node; edges are in node units.

    Tiles of nodes first drop the edges that cannot be nearest to any of their nodes.
    """
    rows, columns = wanted.shape
    near = np.empty(len(edges), dtype=np.int64)
    gaps = np.empty(len(edges))
    for first_row in range(0, rows, TILE):
        last_row = min(first_row + TILE, rows)
        for first_column in range(0, columns, TILE):
            last_column = min(first_column + TILE, columns)
            if not wanted[first_row:last_row, first_column:last_column].any():
                continue
            v = 0.5 * (first_row + last_row - 1)
            u = 0.5 * (first_column + last_column - 1)
            shortest = inf
            for k in range(len(edges)):
                squared, share = _to_edge(u, v, edges, k)
                gaps[k] = sqrt(squared)
                shortest = min(shortest, gaps[k])
            # Twice the reach from the tile's centre to its corners, and a hair.
            reach = shortest + 2.0 * sqrt((v - first_row) ** 2 + (u - first_column) ** 2) + SLACK
            count = 0
            for k in range(len(edges)):
                if gaps[k] <= reach:
                    near[count] = k
                    count += 1
            for r in range(first_row, last_row):
                for c in range(first_column, last_column):
                    if not wanted[r, c]:
                        continue
                    best = inf
                    for n in range(count):
                        squared, share = _to_edge(float(c), float(r), edges, near[n])
                        if squared < best:
                            best = squared
                            edge[r, c] = near[n]
                            along[r, c] = share


@kernel(
    void(READ_2D, READ_INTEGERS_2D, READ_INTEGERS_2D, float64, float64, float64, WRITE_INTEGERS_3D, WRITE_3D)
)
def triangle_shares(
    points: FloatArray,
    triangles: np.ndarray,
    triangle: np.ndarray,
    origin_east: float,
    origin_north: float,
    spacing: float,
    vertices: np.ndarray,
    shares: FloatArray,
) -> None:
    """Vertices of the triangle over each node, and the share that each has in its elevation."""
    rows, columns = triangle.shape
    for r in range(rows):
        for c in range(columns):
            t = triangle[r, c]
            if t < 0:
                continue
            a, b, d = triangles[t, 0], triangles[t, 1], triangles[t, 2]
            east = origin_east + c * spacing - points[a, 0]
            north = origin_north + r * spacing - points[a, 1]
            u1, v1 = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
            u2, v2 = points[d, 0] - points[a, 0], points[d, 1] - points[a, 1]
            twice_area = u1 * v2 - u2 * v1
            second = (east * v2 - north * u2) / twice_area
            third = (north * u1 - east * v1) / twice_area
            vertices[r, c, 0], vertices[r, c, 1], vertices[r, c, 2] = a, b, d
            shares[r, c, 0], shares[r, c, 1], shares[r, c, 2] = 1.0 - second - third, second, third


@kernel(void(READ_2D, int64, int64, WRITE_INTEGERS_2D, WRITE_2D))
def cell_shares(places: FloatArray, rows: int, columns: int, nodes: np.ndarray, shares: FloatArray) -> None:
    """Flat nodes of the cell triangle round each place (in node units), and their shares."""
    for i in range(len(places)):
        c = int(min(max(floor(places[i, 0]), 0.0), columns - 2.0))
        r = int(min(max(floor(places[i, 1]), 0.0), rows - 2.0))
        u = places[i, 0] - c
        v = places[i, 1] - r
        sw = r * columns + c
        se, nw, ne = sw + 1, sw + columns, sw + columns + 1
        if (r + c) % 2 == 0:
            if v <= u:
                corners, parts = (sw, se, ne), (1.0 - u, u - v, v)
            else:
                corners, parts = (sw, ne, nw), (1.0 - v, u, v - u)
        elif u + v <= 1.0:
            corners, parts = (sw, se, nw), (1.0 - u - v, u, v)
        else:
            corners, parts = (ne, nw, se), (u + v - 1.0, 1.0 - u, 1.0 - v)
        for k in range(3):
            nodes[i, k] = corners[k]
            shares[i, k] = parts[k]
