"""The horizon of an eye over a surface: a sweep outward from it, line of nodes by line of nodes.

The *horizon* at a place is the elevation above which something that stands there is seen: the line of sight
from the eye that just clears everything on the way, carried on to the place.  Places are told in columns and
rows of the grid, as fractions; the earth is flat.

The grid is swept in four quarters: north and south, line by line of rows, east and west, line by line of
columns.  Rise over steps along the larger of the two axes is linear along a line of nodes for anything that
is flat, so a line of sight that passes between two nodes of the line before takes their rises in proportion,
and no root is drawn.

After a move only the nodes are looked at again whose horizon can be another one, and what they hold now is
told node by node: in a drag these are some hundreds of a hundred thousand, and copies of whole grids would
take most of the time.

Upright screens (walls, houses, fences) have no thickness and stand between two ends; they are known exactly.

See Also
--------
pondwright.geometry.kernels.sight : exact rays, and how much of a water stands above the horizon.
"""

from __future__ import annotations

from math import ceil, floor

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_INTEGERS_2D,
    WRITE_1D,
    WRITE_2D,
    WRITE_INTEGERS_2D,
    boolean,
    float64,
    int64,
    kernel,
    types,
    void,
)
from pondwright.geometry.kernels.sight import COLUMN, END_COLUMN, END_ROW, END_TOP, ROW, TOP

READ_ANY = types.Array(float64, 2, "A", readonly=True)
WRITE_ANY = types.Array(float64, 2, "A")

_MARGIN = 2.0
_LITTLE = 1e-9


@kernel(int64(float64, int64))
def first_beyond(eye_line: float, way: int) -> int:
    """The first line of nodes that lies one way from the eye."""
    line = int(ceil(eye_line)) if way > 0 else int(floor(eye_line))
    return line + way if abs(line - eye_line) < _LITTLE else line


@kernel(types.UniTuple(int64, 2)(float64, float64, int64))
def places_of(away: float, eye_place: float, places: int) -> tuple[int, int]:
    """First and last place of a quarter on the line so far from the eye.

    It is a little more than the quarter, so that its edge has neighbours to take from.
    """
    first = max(int(ceil(eye_place - away - _MARGIN)), 0)
    last = min(int(floor(eye_place + away + _MARGIN)), places - 1)
    return first, last


@kernel(void(READ_ANY, float64, float64, float64, int64, boolean, WRITE_2D, WRITE_ANY))
def sweep_one_way(
    cover: FloatArray,
    eye_line: float,
    eye_place: float,
    eye: float,
    way: int,
    turned: bool,
    rises: FloatArray,
    horizon: FloatArray,
) -> None:
    """Fill the horizon of the quarter that lies one way from the eye along the first axis.

    A quarter that looks along the rows goes over the turned grid; the nodes on its very edge are its own.
    `rises` keeps the steepest rise up to every node, line by line from the eye.
    """
    lines, places = cover.shape
    line, step = first_beyond(eye_line, way), 0
    first_before, last_before = 0, -1
    while 0 <= line < lines:
        away = abs(line - eye_line)
        first, last = places_of(away, eye_place, places)
        nearer = (away - 1.0) / away
        for place in range(first, last + 1):
            rise = -np.inf
            if last_before >= first_before:
                at = eye_place + (place - eye_place) * nearer
                at = min(max(at, float(first_before)), float(last_before))
                low = min(int(at), max(last_before - 1, first_before))
                before = rises[step - 1, low]
                rise = before + (at - low) * (rises[step - 1, min(low + 1, last_before)] - before)
            aside = abs(place - eye_place)
            if aside < away or (turned and aside == away):
                horizon[line, place] = eye + away * rise
            own = (cover[line, place] - eye) / away
            rises[step, place] = own if own > rise else rise
        first_before, last_before = first, last
        line += way
        step += 1


@kernel(boolean(int64, int64, int64, int64, float64, float64, int64))
def quarter_reads(
    first_line: int,
    end_line: int,
    first_place: int,
    end_place: int,
    eye_line: float,
    eye_place: float,
    way: int,
) -> bool:
    """Whether the quarter that lies one way from the eye along the first axis looks at a node of a window."""
    # It grows wider from line to line, so the farthest line of the window tells.
    line = end_line - 1 if way > 0 else first_line
    away = (line - eye_line) * way
    if away < _LITTLE:
        return False
    return first_place <= eye_place + away + _MARGIN and end_place - 1 >= eye_place - away - _MARGIN


@kernel(
    int64(
        READ_ANY, float64, float64, float64, int64, boolean, int64, int64, int64, int64, READ_2D, READ_ANY,
        int64, WRITE_INTEGERS_2D, WRITE_1D
    )
)  # fmt: skip
def resweep_one_way(
    cover: FloatArray,
    eye_line: float,
    eye_place: float,
    eye: float,
    way: int,
    turned: bool,
    first_line: int,
    end_line: int,
    first_place: int,
    end_place: int,
    rises: FloatArray,
    horizon: FloatArray,
    count: int,
    nodes: np.ndarray,
    values: FloatArray,
) -> int:
    """Append the nodes of one quarter whose horizon is another one, and what it is now; gives the count.

    What lies in the window of the cover that changed is looked at anew, and behind it what looks at a rise
    that is another one; hidden changes go no farther.  `rises` and `horizon` are of the sweep before.
    """
    if not quarter_reads(first_line, end_line, first_place, end_place, eye_line, eye_place, way):
        return count
    lines, places = cover.shape
    start = first_beyond(eye_line, way)
    step = max(first_line - start, 0) if way > 0 else max(start - end_line + 1, 0)
    line = start + way * step
    # Rises of this line and the one before, where they have been looked at again, and where they differ.
    fresh = np.empty((2, places))
    begin_before, end_before = 0, -1
    other_first, other_last = 0, -1
    while 0 <= line < lines:
        in_window = first_line <= line < end_line
        if not in_window and other_last < other_first:
            break
        away = abs(line - eye_line)
        first, last = places_of(away, eye_place, places)
        nearer = (away - 1.0) / away
        first_before, last_before = 0, -1
        if step > 0:
            first_before, last_before = places_of(abs(line - way - eye_line), eye_place, places)
        begin, end = places, -1
        if in_window:
            begin, end = first_place, end_place - 1
        if other_first <= other_last:
            reach = eye_place + (other_first - 1 - eye_place) / nearer
            begin = min(begin, first if other_first <= first_before else int(floor(reach)) - 1)
            reach = eye_place + (other_last + 1 - eye_place) / nearer
            end = max(end, last if other_last >= last_before else int(ceil(reach)) + 1)
        begin, end = max(begin, first), min(end, last)
        was, now = rises[max(step - 1, 0)], fresh[(step + 1) % 2]
        other_first, other_last = places, -1
        for place in range(begin, end + 1):
            rise = -np.inf
            if last_before >= first_before:
                at = eye_place + (place - eye_place) * nearer
                at = min(max(at, float(first_before)), float(last_before))
                low = min(int(at), max(last_before - 1, first_before))
                high = min(low + 1, last_before)
                before = now[low] if begin_before <= low <= end_before else was[low]
                beside = now[high] if begin_before <= high <= end_before else was[high]
                rise = before + (at - low) * (beside - before)
            aside = abs(place - eye_place)
            if aside < away or (turned and aside == away):
                over = eye + away * rise
                if over != horizon[line, place]:
                    nodes[count, 0], nodes[count, 1] = (place, line) if turned else (line, place)
                    values[count] = over
                    count += 1
            own = (cover[line, place] - eye) / away
            own = own if own > rise else rise
            fresh[step % 2, place] = own
            if own != rises[step, place]:
                other_first, other_last = min(other_first, place), max(other_last, place)
        begin_before, end_before = begin, end
        line += way
        step += 1
    return count


@kernel(
    types.UniTuple(int64, 5)(
        READ_ANY, float64, float64, float64, int64, int64, int64, int64, READ_2D, READ_2D, READ_2D, READ_2D,
        READ_2D, WRITE_INTEGERS_2D, WRITE_1D
    )
)  # fmt: skip
def resweep(
    cover: FloatArray,
    column: float,
    row: float,
    eye: float,
    first_row: int,
    end_row: int,
    first_column: int,
    end_column: int,
    to_north: FloatArray,
    to_south: FloatArray,
    to_east: FloatArray,
    to_west: FloatArray,
    horizon: FloatArray,
    nodes: np.ndarray,
    values: FloatArray,
) -> tuple[int, int, int, int, int]:
    """Find where the horizon is another one after the cover changed in a window.

    Gives how many nodes are filled, and the window that holds them.
    """
    count = resweep_one_way(
        cover, row, column, eye, 1, False, first_row, end_row, first_column, end_column,
        to_north, horizon, 0, nodes, values,
    )  # fmt: skip
    count = resweep_one_way(
        cover, row, column, eye, -1, False, first_row, end_row, first_column, end_column,
        to_south, horizon, count, nodes, values,
    )  # fmt: skip
    count = resweep_one_way(
        cover.T, column, row, eye, 1, True, first_column, end_column, first_row, end_row,
        to_east, horizon.T, count, nodes, values,
    )  # fmt: skip
    count = resweep_one_way(
        cover.T, column, row, eye, -1, True, first_column, end_column, first_row, end_row,
        to_west, horizon.T, count, nodes, values,
    )  # fmt: skip
    low_row, low_column = horizon.shape
    high_row, high_column = -1, -1
    for k in range(count):
        low_row, high_row = min(low_row, nodes[k, 0]), max(high_row, nodes[k, 0])
        low_column, high_column = min(low_column, nodes[k, 1]), max(high_column, nodes[k, 1])
    return count, low_row, high_row + 1, low_column, high_column + 1


@kernel(void(READ_INTEGERS_2D, READ_1D, int64, int64, WRITE_2D))
def put(
    nodes: np.ndarray, values: FloatArray, first_row: int, first_column: int, horizon: FloatArray
) -> None:
    """Put what is told node by node into the part of a grid that begins at a row and a column."""
    rows, columns = horizon.shape
    for k in range(len(nodes)):
        r, c = nodes[k, 0] - first_row, nodes[k, 1] - first_column
        if 0 <= r < rows and 0 <= c < columns:
            horizon[r, c] = values[k]


@kernel(void(READ_2D, float64, float64, float64, int64, int64, WRITE_2D))
def shade(
    screens: FloatArray,
    column: float,
    row: float,
    eye: float,
    first_row: int,
    first_column: int,
    horizon: FloatArray,
) -> None:
    """Raise the horizon of the nodes behind screens, in the part of a grid that begins at a row and a column.

    With the ends a and b of a screen seen from the eye and a node at p, the line of sight crosses it where
    ``beyond = (p x (b - a)) / (a x b)`` is 1 or more and ``along = (a x p) / (a x b)`` lies between 0 and
    ``beyond``; the horizon is ``eye + (top of a - eye) beyond + (top of b - top of a) along``.  All are
    linear along a row of nodes, so the nodes of a row that are behind the screen are one run.
    """
    rows, columns = horizon.shape
    for k in range(len(screens)):
        a_x, a_y = screens[k, COLUMN] - column, screens[k, ROW] - row
        b_x, b_y = screens[k, END_COLUMN] - column, screens[k, END_ROW] - row
        whole = a_x * b_y - a_y * b_x
        if abs(whole) < _LITTLE:
            continue
        beyond_x, along_x = (b_y - a_y) / whole, -a_y / whole
        top, more = screens[k, TOP] - eye, screens[k, END_TOP] - screens[k, TOP]
        for r in range(rows):
            y = first_row + r - row
            beyond_0, along_0 = -y * (b_x - a_x) / whole, a_x * y / whole
            # A node farther on each side, so that where the part ends decides on no node in it.
            first, last = first_column - 1.0 - column, first_column + columns - column
            for test in range(3):
                if test == 0:
                    slope, start = beyond_x, beyond_0 - 1.0
                elif test == 1:
                    slope, start = along_x, along_0
                else:
                    slope, start = beyond_x - along_x, beyond_0 - along_0
                if slope > 0.0:
                    first = max(first, -start / slope)
                elif slope < 0.0:
                    last = min(last, -start / slope)
                elif start < 0.0:
                    last = -np.inf
            if last < first:
                continue
            begin = max(int(ceil(first + column - _LITTLE)), first_column)
            end = min(int(floor(last + column + _LITTLE)), first_column + columns - 1)
            for c in range(begin, end + 1):
                x = c - column
                line = eye + top * (beyond_0 + beyond_x * x) + more * (along_0 + along_x * x)
                if line > horizon[r, c - first_column]:
                    horizon[r, c - first_column] = line
