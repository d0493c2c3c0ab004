"""Distance from every node to the nearest segment, and which nodes are inside.

The distance is exact.  Most segments are ruled out for a whole tile of nodes at once, first for
large tiles and then, of what is left, for the small tiles inside them.  A segment is ruled out

* if it is farther from the tile's centre than the nearest one by more than twice the tile's radius;
* or if it lies farther than the nearest one from all four corners of the tile, told by the middle
  points of the two and by half the length of the first.  The places where that is so are the inside
  of one branch of a hyperbola, which is convex: what holds at the corners holds in all of the tile.

The tiles change nothing in the result, not even its last bit, because each node takes the least of
the same numbers.
"""

from __future__ import annotations

import math

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    WRITE_2D,
    boolean,
    float64,
    int64,
    kernel,
    void,
)

LARGE_TILE = 64
SMALL_TILE = 16

# Far more than rounding adds to a comparison of distances; keeps a few segments more than needed.
_SLACK = 1.0 + 1e-9

# Rows of the table of segments.
START_X, START_Y, ALONG_X, ALONG_Y, INVERSE, MIDDLE_X, MIDDLE_Y, HALF, MOVED, SQUARED = range(10)


@kernel(float64(float64, float64, float64, float64, float64, float64, float64))
def squared_distance(
    x: float, y: float, start_x: float, start_y: float, along_x: float, along_y: float, inverse: float
) -> float:
    """Squared distance from a point to a segment given by its start, its vector and 1 / length²."""
    to_x = x - start_x
    to_y = y - start_y
    share = (to_x * along_x + to_y * along_y) * inverse
    share = 0.0 if share < 0.0 else share
    share = 1.0 if share > 1.0 else share
    off_x = to_x - share * along_x
    off_y = to_y - share * along_y
    return off_x * off_x + off_y * off_y


@kernel(void(READ_2D, int64, WRITE_2D))
def fill_table(ends: FloatArray, still: int, table: FloatArray) -> None:
    """Table of segments, one a column, from their ends (x, y, x, y), one a row; those that move are last."""
    for k in range(ends.shape[0]):
        along_x = ends[k, 2] - ends[k, 0]
        along_y = ends[k, 3] - ends[k, 1]
        squared = along_x * along_x + along_y * along_y
        table[START_X, k] = ends[k, 0]
        table[START_Y, k] = ends[k, 1]
        table[ALONG_X, k] = along_x
        table[ALONG_Y, k] = along_y
        # A segment without length is the point at its start.
        table[INVERSE, k] = 1.0 / squared if squared > 0.0 else 0.0
        table[MIDDLE_X, k] = ends[k, 0] + 0.5 * along_x
        table[MIDDLE_Y, k] = ends[k, 1] + 0.5 * along_y
        table[HALF, k] = 0.5 * np.sqrt(squared)
        table[MOVED, k] = 1.0 if k >= still else 0.0


@kernel(int64(WRITE_2D, int64, float64, float64, float64, float64, WRITE_2D))
def near_segments(
    table: FloatArray, count: int, west: float, south: float, east: float, north: float, near: FloatArray
) -> int:
    """Copy to ``near`` the segments that can be nearest to a point of the tile; how many."""
    x = 0.5 * (west + east)
    y = 0.5 * (south + north)
    # By itself the compiler works this loop out for several segments at once.
    for k in range(count):
        table[SQUARED, k] = squared_distance(
            x,
            y,
            table[START_X, k],
            table[START_Y, k],
            table[ALONG_X, k],
            table[ALONG_Y, k],
            table[INVERSE, k],
        )
    nearest = 0
    least = np.inf
    for k in range(count):
        if table[SQUARED, k] < least:
            least = table[SQUARED, k]
            nearest = k
    radius = np.hypot(east - x, north - y)
    reach = (np.sqrt(least) + 2.0 * radius) * _SLACK
    to_x = table[MIDDLE_X, nearest]
    to_y = table[MIDDLE_Y, nearest]
    south_west = np.hypot(west - to_x, south - to_y) * _SLACK
    south_east = np.hypot(east - to_x, south - to_y) * _SLACK
    north_west = np.hypot(west - to_x, north - to_y) * _SLACK
    north_east = np.hypot(east - to_x, north - to_y) * _SLACK
    found = 0
    for k in range(count):
        if table[SQUARED, k] > reach * reach:
            continue
        half = table[HALF, k]
        from_west = (west - table[MIDDLE_X, k]) ** 2
        from_east = (east - table[MIDDLE_X, k]) ** 2
        from_south = (south - table[MIDDLE_Y, k]) ** 2
        from_north = (north - table[MIDDLE_Y, k]) ** 2
        if (
            from_west + from_south > (south_west + half) ** 2
            and from_east + from_south > (south_east + half) ** 2
            and from_west + from_north > (north_west + half) ** 2
            and from_east + from_north > (north_east + half) ** 2
        ):
            continue
        for part in range(SQUARED):
            near[part, found] = table[part, k]
        found += 1
    return found


@kernel(void(READ_2D, int64, float64, float64, float64, WRITE_2D, int64, int64, int64, int64))
def fill_tile(
    table: FloatArray,
    count: int,
    origin_east: float,
    origin_north: float,
    spacing: float,
    distance: FloatArray,
    row: int,
    row_end: int,
    column: int,
    column_end: int,
) -> None:
    """Distance of the nodes of one tile to the nearest of the first ``count`` segments."""
    width = column_end - column
    x = np.empty(width)
    for c in range(width):
        x[c] = origin_east + (column + c) * spacing
    least = np.empty(width)
    fresh = np.empty(width)
    for r in range(row, row_end):
        y = origin_north + r * spacing
        least[:] = np.inf
        for k in range(count):
            start_x = table[START_X, k]
            start_y = table[START_Y, k]
            along_x = table[ALONG_X, k]
            along_y = table[ALONG_Y, k]
            inverse = table[INVERSE, k]
            # To write another array than is read spares a masked store, which would take most of the time.
            for c in range(width):
                squared = squared_distance(x[c], y, start_x, start_y, along_x, along_y, inverse)
                fresh[c] = squared if squared < least[c] else least[c]
            least, fresh = fresh, least
        for c in range(width):
            distance[r, column + c] = np.sqrt(least[c])


@kernel(void(READ_2D, float64, float64, float64, WRITE_2D))
def distance_to_segments(
    ends: FloatArray, origin_east: float, origin_north: float, spacing: float, distance: FloatArray
) -> None:
    """Fill ``distance`` with the exact distance of each node to the nearest segment (x, y, x, y)."""
    rows, columns = distance.shape
    count = ends.shape[0]
    table = np.empty((10, count))
    in_large = np.empty((10, count))
    in_small = np.empty((10, count))
    fill_table(ends, count, table)
    east = origin_east + spacing * np.arange(columns)
    north = origin_north + spacing * np.arange(rows)
    for row in range(0, rows, LARGE_TILE):
        row_end = min(row + LARGE_TILE, rows)
        for column in range(0, columns, LARGE_TILE):
            column_end = min(column + LARGE_TILE, columns)
            some = near_segments(
                table, count, east[column], north[row], east[column_end - 1], north[row_end - 1], in_large
            )
            for r in range(row, row_end, SMALL_TILE):
                r_end = min(r + SMALL_TILE, row_end)
                for c in range(column, column_end, SMALL_TILE):
                    c_end = min(c + SMALL_TILE, column_end)
                    few = near_segments(
                        in_large, some, east[c], north[r], east[c_end - 1], north[r_end - 1], in_small
                    )
                    fill_tile(in_small, few, origin_east, origin_north, spacing, distance, r, r_end, c, c_end)


@kernel(boolean(READ_2D, int64))
def any_moved(table: FloatArray, count: int) -> bool:
    """Whether one of the first segments of a table moved."""
    moved = False
    for k in range(count):
        moved |= table[MOVED, k] > 0.0
    return moved


@kernel(boolean(READ_2D, int64, int64, READ_1D, READ_1D, int64, int64, int64, int64, READ_2D))
def moved_near(
    table: FloatArray,
    still: int,
    count: int,
    east: np.ndarray,
    north: np.ndarray,
    row: int,
    row_end: int,
    column: int,
    column_end: int,
    distance: FloatArray,
) -> bool:
    """Whether a segment that moved can be nearest in a tile, told by the distance that its middle had.

    It cannot if it is farther from the middle than that by more than twice the way to a corner.
    """
    r, c = (row + row_end) // 2, (column + column_end) // 2
    x, y = east[c], north[r]
    reach = (distance[r, c] + 2.0 * np.hypot(x - east[column], y - north[row])) * _SLACK
    for k in range(still, count):
        squared = squared_distance(
            x,
            y,
            table[START_X, k],
            table[START_Y, k],
            table[ALONG_X, k],
            table[ALONG_Y, k],
            table[INVERSE, k],
        )
        if squared <= reach * reach:
            return True
    return False


@kernel(void(READ_2D, READ_2D, int64, float64, float64, float64, WRITE_2D))
def moved_distance(
    before: FloatArray,
    now: FloatArray,
    still: int,
    origin_east: float,
    origin_north: float,
    spacing: float,
    distance: FloatArray,
) -> None:
    """Fill the distance anew in the tiles in which a segment that moved can be nearest, old or new.

    Both lists of segments begin with the `still` ones that did not move.  In any other tile one of these is
    nearest, before and now, so that the distance is what it was.
    """
    rows, columns = distance.shape
    count, count_before = now.shape[0], before.shape[0]
    table, large, small = np.empty((10, count)), np.empty((10, count)), np.empty((10, count))
    old, old_large, old_small = (
        np.empty((10, count_before)),
        np.empty((10, count_before)),
        np.empty((10, count_before)),
    )
    fill_table(now, still, table)
    fill_table(before, still, old)
    east = origin_east + spacing * np.arange(columns)
    north = origin_north + spacing * np.arange(rows)
    for row in range(0, rows, LARGE_TILE):
        row_end = min(row + LARGE_TILE, rows)
        for column in range(0, columns, LARGE_TILE):
            column_end = min(column + LARGE_TILE, columns)
            tile = row, row_end, column, column_end
            if not moved_near(table, still, count, east, north, *tile, distance) and not moved_near(
                old, still, count_before, east, north, *tile, distance
            ):
                continue
            west, south = east[column], north[row]
            to_east, to_north = east[column_end - 1], north[row_end - 1]
            some = near_segments(table, count, west, south, to_east, to_north, large)
            some_old = near_segments(old, count_before, west, south, to_east, to_north, old_large)
            if not any_moved(large, some) and not any_moved(old_large, some_old):
                continue
            for r in range(row, row_end, SMALL_TILE):
                r_end = min(r + SMALL_TILE, row_end)
                for c in range(column, column_end, SMALL_TILE):
                    c_end = min(c + SMALL_TILE, column_end)
                    tile = r, r_end, c, c_end
                    if not moved_near(table, still, count, east, north, *tile, distance) and not moved_near(
                        old, still, count_before, east, north, *tile, distance
                    ):
                        continue
                    west, south, to_east, to_north = east[c], north[r], east[c_end - 1], north[r_end - 1]
                    few = near_segments(large, some, west, south, to_east, to_north, small)
                    if not any_moved(small, few):
                        few_old = near_segments(
                            old_large, some_old, west, south, to_east, to_north, old_small
                        )
                        if not any_moved(old_small, few_old):
                            continue
                    fill_tile(small, few, origin_east, origin_north, spacing, distance, *tile)


@kernel(void(READ_2D, float64, float64, float64, WRITE_2D))
def sign_by_crossings(
    ends: FloatArray, origin_east: float, origin_north: float, spacing: float, distance: FloatArray
) -> None:
    """Make the distance negative at the nodes that lie outside by the even-odd rule.

    Each segment flips, in every row of nodes that it crosses, all nodes east of the crossing; its
    lower end belongs to it and its upper end does not, so that a shared corner counts once.
    """
    rows, columns = distance.shape
    flips = np.zeros((rows, columns + 1), dtype=np.bool_)
    # Columns of each row between which anything flips: all others lie outside.
    begin, end = np.full(rows, columns, dtype=np.int64), np.zeros(rows, dtype=np.int64)
    for k in range(ends.shape[0]):
        x_low, y_low, x_high, y_high = ends[k, 0], ends[k, 1], ends[k, 2], ends[k, 3]
        if y_low > y_high:
            x_low, y_low, x_high, y_high = x_high, y_high, x_low, y_low
        first = max(0, math.floor((y_low - origin_north) / spacing) - 1)
        last = min(rows - 1, math.ceil((y_high - origin_north) / spacing) + 1)
        for r in range(first, last + 1):
            y = origin_north + r * spacing
            if y_low <= y < y_high:
                x = x_low + (y - y_low) * ((x_high - x_low) / (y_high - y_low))
                c = math.ceil((x - origin_east) / spacing)
                c = min(max(c, 0), columns)
                flips[r, c] = not flips[r, c]
                begin[r], end[r] = min(begin[r], c), max(end[r], c)
    for r in range(rows):
        first, last = begin[r], max(begin[r], min(end[r], columns))
        # Zero less the distance, so that a node on the ring is 0 and never -0.
        for c in range(first):
            distance[r, c] = 0.0 - distance[r, c]
        inside = False
        for c in range(first, last):
            inside = inside != flips[r, c]
            distance[r, c] = distance[r, c] if inside else 0.0 - distance[r, c]
        for c in range(last, columns):
            distance[r, c] = 0.0 - distance[r, c]
