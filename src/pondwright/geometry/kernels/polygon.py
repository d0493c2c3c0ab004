"""Where straight edges cross, what lies inside them, and the longest line among them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    WRITE_1D,
    WRITE_2D,
    boolean,
    float64,
    int64,
    kernel,
    types,
    void,
)

# Segments in a run: a run's box spares the test of each of them.
RUN = 16

_INSIDE = types.Array(boolean, 1, "C")


@kernel(float64(float64, float64, float64, float64, float64, float64))
def turn(ax: float, ay: float, bx: float, by: float, cx: float, cy: float) -> float:
    """Twice the area of the triangle a, b, c: above 0 if c lies left of the line from a to b."""
    return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)


@kernel(boolean(READ_1D, READ_1D, WRITE_1D))
def meeting(first: FloatArray, second: FloatArray, point: FloatArray) -> bool:
    """Whether two segments (x, y, x, y) whose boxes touch have a point in common, and one such point.

    Segments that overlap along a line meet at the middle of the overlap.
    """
    ax, ay, bx, by = first[0], first[1], first[2], first[3]
    cx, cy, dx, dy = second[0], second[1], second[2], second[3]
    c_side = turn(ax, ay, bx, by, cx, cy)
    d_side = turn(ax, ay, bx, by, dx, dy)
    if (c_side > 0.0 and d_side > 0.0) or (c_side < 0.0 and d_side < 0.0):
        return False
    a_side = turn(cx, cy, dx, dy, ax, ay)
    b_side = turn(cx, cy, dx, dy, bx, by)
    if (a_side > 0.0 and b_side > 0.0) or (a_side < 0.0 and b_side < 0.0):
        return False
    if c_side == d_side:
        # All four on one line: the overlap is the diagonal of what the two boxes share.
        point[0] = 0.5 * (max(min(ax, bx), min(cx, dx)) + min(max(ax, bx), max(cx, dx)))
        point[1] = 0.5 * (max(min(ay, by), min(cy, dy)) + min(max(ay, by), max(cy, dy)))
        return True
    share = c_side / (c_side - d_side)
    point[0] = cx + share * (dx - cx)
    point[1] = cy + share * (dy - cy)
    return True


@kernel(boolean(READ_1D, READ_1D, WRITE_1D))
def turns_back(before: FloatArray, after: FloatArray, point: FloatArray) -> bool:
    """Whether the second of two neighbouring segments runs straight back over the first one."""
    ax, ay, bx, by = before[0], before[1], before[2], before[3]
    cx, cy = after[2], after[3]
    point[0] = bx
    point[1] = by
    return turn(ax, ay, bx, by, cx, cy) == 0.0 and (bx - ax) * (cx - bx) + (by - ay) * (cy - by) < 0.0


@kernel(WRITE_2D(READ_2D, int64))
def boxes(edges: FloatArray, size: int) -> FloatArray:
    """West, south, east and north edge of each run of ``size`` segments (x, y, x, y)."""
    count = edges.shape[0]
    found = np.empty(((count + size - 1) // size, 4))
    found[:, :2] = np.inf
    found[:, 2:] = -np.inf
    for k in range(count):
        box = found[k // size]
        box[0] = min(box[0], edges[k, 0], edges[k, 2])
        box[1] = min(box[1], edges[k, 1], edges[k, 3])
        box[2] = max(box[2], edges[k, 0], edges[k, 2])
        box[3] = max(box[3], edges[k, 1], edges[k, 3])
    return found


@kernel(boolean(READ_1D, READ_1D))
def apart(one: FloatArray, other: FloatArray) -> bool:
    """Whether two boxes have no point in common."""
    return one[0] > other[2] or other[0] > one[2] or one[1] > other[3] or other[1] > one[3]


@kernel(WRITE_2D(READ_2D, READ_2D, boolean))
def crossings(first: FloatArray, second: FloatArray, is_one_ring: bool) -> FloatArray:
    """Points at which segments (x, y, x, y) of two rings meet, or those of one ring with itself.

    Within one ring, neighbours share a corner; they meet only if the second turns straight back.
    A segment is held against whole runs of the other ring before it is held against their segments.
    """
    found = 0
    points = np.empty((16, 2))
    point = np.empty(2)
    count = second.shape[0]
    own_boxes = boxes(first, 1)
    boxes_of_one = boxes(second, 1)
    boxes_of_run = boxes(second, RUN)
    for i in range(first.shape[0]):
        after = i + 1 if is_one_ring else 0
        for run in range(after // RUN, boxes_of_run.shape[0]):
            if apart(own_boxes[i], boxes_of_run[run]):
                continue
            for j in range(max(after, run * RUN), min(run * RUN + RUN, count)):
                if apart(own_boxes[i], boxes_of_one[j]):
                    continue
                if is_one_ring and j == i + 1:
                    meets = turns_back(first[i], second[j], point)
                elif is_one_ring and i == 0 and j == count - 1:
                    meets = turns_back(second[j], first[i], point)
                else:
                    meets = meeting(first[i], second[j], point)
                if not meets:
                    continue
                if found == points.shape[0]:
                    more = np.empty((2 * found, 2))
                    more[:found] = points
                    points = more
                points[found] = point
                found += 1
    return points[:found].copy()


@kernel(boolean(READ_2D, float64, float64))
def is_inside(ends: FloatArray, x: float, y: float) -> bool:
    """Whether a point is inside by the even-odd rule over all edges (x, y, x, y)."""
    inside = False
    for k in range(ends.shape[0]):
        if (ends[k, 1] <= y) != (ends[k, 3] <= y):
            share = (y - ends[k, 1]) / (ends[k, 3] - ends[k, 1])
            if ends[k, 0] + share * (ends[k, 2] - ends[k, 0]) <= x:
                inside = not inside
    return inside


@kernel(void(READ_2D, READ_2D, _INSIDE))
def inside_each(ends: FloatArray, points: FloatArray, inside: NDArray[np.bool_]) -> None:
    """Fill ``inside`` with whether each point is inside."""
    for i in range(points.shape[0]):
        inside[i] = is_inside(ends, points[i, 0], points[i, 1])


@kernel(boolean(READ_1D, float64, float64, float64, float64))
def blocks(edge: FloatArray, px: float, py: float, qx: float, qy: float) -> bool:
    """Whether an edge crosses the line from p to q; one that ends at p or q does not."""
    ax, ay, bx, by = edge[0], edge[1], edge[2], edge[3]
    if (turn(px, py, qx, qy, ax, ay) >= 0.0) == (turn(px, py, qx, qy, bx, by) >= 0.0):
        return False
    if (turn(ax, ay, bx, by, px, py) >= 0.0) == (turn(ax, ay, bx, by, qx, qy) >= 0.0):
        return False
    starts_there = (ax == px and ay == py) or (ax == qx and ay == qy)
    ends_there = (bx == px and by == py) or (bx == qx and by == qy)
    return not (starts_there or ends_there)


@kernel(int64(READ_2D, int64, int64, int64))
def blocker_of(ends: FloatArray, i: int, j: int, likely: int) -> int:
    """An edge that crosses the line from the start of one edge to that of another; -1 if none does.

    The likely one is tried first.
    """
    px, py, qx, qy = ends[i, 0], ends[i, 1], ends[j, 0], ends[j, 1]
    if blocks(ends[likely], px, py, qx, qy):
        return likely
    for k in range(ends.shape[0]):
        if blocks(ends[k], px, py, qx, qy):
            return k
    return -1


@kernel(void(READ_2D, WRITE_1D))
def longest_line(ends: FloatArray, line: FloatArray) -> None:
    """Fill ``line`` (x, y, x, y) with the longest line inside from the start of one edge to another.

    Only a pair farther apart than the best so far is looked at; the edge that blocked the last one
    is tried first, since it mostly blocks the next one too.  Of the pairs with as many edges between
    them the farthest is tried before all others: where it is free they are spared.
    """
    count = ends.shape[0]
    # The starts in two plain rows, twice over, so that the pairs of one kind are plain steps along them.
    x, y = np.empty(2 * count), np.empty(2 * count)
    for i in range(count):
        x[i] = x[i + count] = ends[i, 0]
        y[i] = y[i + count] = ends[i, 1]
    best = 0.0
    blocker = 0
    for apart in range(count // 2, 0, -1):
        to_x, to_y = x[apart : apart + count], y[apart : apart + count]
        is_longer = False
        for i in range(count):
            is_longer |= (to_x[i] - x[i]) ** 2 + (to_y[i] - y[i]) ** 2 > best
        if not is_longer:
            continue
        farthest, most = 0, best
        for i in range(count):
            squared = (to_x[i] - x[i]) ** 2 + (to_y[i] - y[i]) ** 2
            if squared > most:
                farthest, most = i, squared
        for turn_of in range(-1, count):
            i = farthest if turn_of < 0 else turn_of
            j = i + apart if i + apart < count else i + apart - count
            px, py, qx, qy = x[i], y[i], to_x[i], to_y[i]
            squared = (qx - px) ** 2 + (qy - py) ** 2
            if squared <= best:
                continue
            found = blocker_of(ends, i, j, blocker)
            if found >= 0:
                blocker = found
                continue
            is_edge = ends[i, 2] == qx and ends[i, 3] == qy
            if is_edge or is_inside(ends, 0.5 * (px + qx), 0.5 * (py + qy)):
                best = squared
                line[0], line[1], line[2], line[3] = px, py, qx, qy
