"""What an eye sees over a surface: exact rays, and how much of a water stands above the horizon.

The *horizon* at a place is the elevation above which something that stands there is seen: the line of sight
from the eye that just clears everything on the way, carried on to the place.  Places are told in columns and
rows of the grid, as fractions; the earth is flat.

:func:`march` follows each ray over the triangles of the surface.  Along a ray the rise is monotone between
the edges that it crosses, so the edges tell all: columns, rows and the two families of diagonals.  Upright
screens (walls, houses, fences) have no thickness and stand between two ends; they are known exactly.

See Also
--------
pondwright.geometry.kernels.sweep : the horizon at all nodes, in one pass.
"""

from __future__ import annotations

from math import ceil, floor

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_2D,
    READ_BYTES_2D,
    READ_INTEGERS_2D,
    WRITE_1D,
    WRITE_2D,
    WRITE_INTEGERS_2D,
    boolean,
    float64,
    int64,
    kernel,
    void,
)

# Columns of a screen: place and top of its two ends.
COLUMN, ROW, TOP, END_COLUMN, END_ROW, END_TOP = range(6)

# Columns of a target, and of what a ray finds there.
LEVEL, SHORT = 2, 3
HORIZON, NEEDED, SHARE, SCREEN = range(4)

SURFACE, NOTHING = -1.0, -2.0
"""What a ray meets that no screen hides."""

_LITTLE = 1e-9
_LOW = -1e9


@kernel(void(READ_2D, READ_BYTES_2D, int64, int64, WRITE_2D))
def lay_water(
    levels: FloatArray, wet: np.ndarray, first_row: int, first_column: int, cover: FloatArray
) -> None:
    """Raise a surface to a water where it is wet, in the part that begins at a row and a column."""
    rows, columns = levels.shape
    for row in range(rows):
        here = cover[first_row + row, first_column : first_column + columns]
        level, is_wet = levels[row], wet[row]
        # Without a branch the compiler looks at several nodes at once.
        for column in range(len(here)):
            raised = level[column] if level[column] > here[column] else here[column]
            here[column] = raised if is_wet[column] != 0 else here[column]


@kernel(void(READ_2D, float64, WRITE_INTEGERS_2D))
def clear_steps(cover: FloatArray, floor_level: float, clear: np.ndarray) -> None:
    """Fill for each node the steps, along the larger axis, to the nearest one above a level.

    Two passes, each over the neighbours that it has been to: exact for steps along the larger axis.
    """
    rows, columns = cover.shape
    far = rows + columns
    for r in range(rows):
        for c in range(columns):
            least = 0 if cover[r, c] > floor_level else far
            if least and r > 0:
                least = min(least, clear[r - 1, c] + 1)
                if c > 0:
                    least = min(least, clear[r - 1, c - 1] + 1)
                if c < columns - 1:
                    least = min(least, clear[r - 1, c + 1] + 1)
            if least and c > 0:
                least = min(least, clear[r, c - 1] + 1)
            clear[r, c] = least
    for r in range(rows - 1, -1, -1):
        for c in range(columns - 1, -1, -1):
            least = clear[r, c]
            if r < rows - 1:
                least = min(least, clear[r + 1, c] + 1)
                if c > 0:
                    least = min(least, clear[r + 1, c - 1] + 1)
                if c < columns - 1:
                    least = min(least, clear[r + 1, c + 1] + 1)
            if c < columns - 1:
                least = min(least, clear[r, c + 1] + 1)
            clear[r, c] = least


@kernel(
    void(
        READ_2D,
        READ_INTEGERS_2D,
        float64,
        float64,
        float64,
        float64,
        float64,
        float64,
        float64,
        boolean,
        WRITE_1D,
    )
)
def along_lines(
    cover: FloatArray,
    clear: np.ndarray,
    column: float,
    row: float,
    x: float,
    y: float,
    eye: float,
    level: float,
    last: float,
    turned: bool,
    best: FloatArray,
) -> None:
    """Look at a ray where it crosses columns of nodes (or rows, where the axes are turned).

    Kept are the greatest rise over the whole way, where that is, and the greatest fall back over it.
    """
    if x == 0.0:
        return
    places = cover.shape[1] if turned else cover.shape[0]
    way = 1.0 if x > 0.0 else -1.0
    whole = abs(x)
    line = floor(column) + 1.0 if x > 0.0 else ceil(column) - 1.0
    per_line = y / x
    per_step = 1.0 / max(1.0, abs(per_line))
    steepest, fallen = best[0] / whole, best[2] / whole
    while True:
        from_eye = (line - column) * way
        if from_eye >= last * whole:
            break
        at = row + (line - column) * per_line
        low = min(max(int(at), 0), places - 2)
        share = at - low
        here = int(line)
        free = clear[here, low] if turned else clear[low, here]
        if free > 3:
            line += way * max(1.0, floor((free - 2) * per_step))
            continue
        if turned:
            height = cover[here, low] + share * (cover[here, low + 1] - cover[here, low])
        else:
            height = cover[low, here] + share * (cover[low + 1, here] - cover[low, here])
        if height - eye > steepest * from_eye:
            steepest = (height - eye) / from_eye
            best[1] = from_eye / whole
        to_end = whole - from_eye
        if height - level > fallen * to_end:
            fallen = (height - level) / to_end
        line += way
    best[0], best[2] = max(best[0], steepest * whole), max(best[2], fallen * whole)


@kernel(
    void(
        READ_2D,
        READ_INTEGERS_2D,
        float64,
        float64,
        float64,
        float64,
        float64,
        float64,
        float64,
        float64,
        WRITE_1D,
    )
)
def along_diagonals(
    cover: FloatArray,
    clear: np.ndarray,
    column: float,
    row: float,
    x: float,
    y: float,
    eye: float,
    level: float,
    last: float,
    up: float,
    best: FloatArray,
) -> None:
    """The same where it crosses diagonals that run up (1) or down (-1) to the east.

    A cell whose row and column make an even sum has its diagonal up, any other one down; so the diagonals
    are the lines on which column less row (or column and row together) is even.
    """
    start, run = column - up * row, x - up * y
    if abs(run) < _LITTLE:
        return
    way = 1.0 if run > 0.0 else -1.0
    whole = abs(run)
    line = (floor(0.5 * start) + 1.0) * 2.0 if run > 0.0 else (ceil(0.5 * start) - 1.0) * 2.0
    end_column, end_row = cover.shape[1] - 2, cover.shape[0] - 1
    step = int(up)
    per_step = 0.5 * whole / max(abs(x), abs(y))
    steepest, fallen = best[0] / whole, best[2] / whole
    while True:
        from_eye = (line - start) * way
        if from_eye >= last * whole:
            break
        at = column + (line - start) * x / run
        c = min(max(int(at), 0), end_column)
        share = at - c
        # On the diagonal, row = up * (column - line).
        low = min(max(step * (c - int(line)), 0), end_row)
        high = min(max(step * (c + 1 - int(line)), 0), end_row)
        free = clear[low, c]
        if free > 3:
            line += 2.0 * way * max(1.0, floor((free - 3) * per_step))
            continue
        height = cover[low, c] + share * (cover[high, c + 1] - cover[low, c])
        if height - eye > steepest * from_eye:
            steepest = (height - eye) / from_eye
            best[1] = from_eye / whole
        to_end = whole - from_eye
        if height - level > fallen * to_end:
            fallen = (height - level) / to_end
        line += 2.0 * way
    best[0], best[2] = max(best[0], steepest * whole), max(best[2], fallen * whole)


@kernel(void(READ_2D, READ_INTEGERS_2D, float64, float64, float64, READ_2D, READ_2D, WRITE_2D))
def march(
    cover: FloatArray,
    clear: np.ndarray,
    column: float,
    row: float,
    eye: float,
    targets: FloatArray,
    screens: FloatArray,
    found: FloatArray,
) -> None:
    """Follow the ray from the eye to each target (column, row, level, steps that it stops short).

    Found are the horizon there, the elevation of the eye from which the target's level is just seen, the
    share of the way at which the sight is closest to being cut, and by which screen (or SURFACE).  Where
    nodes are clear (see :func:`clear_steps`), the ray skips them: what they hold is below every target.
    """
    best = np.empty(3)
    for i in range(len(targets)):
        x, y = targets[i, COLUMN] - column, targets[i, ROW] - row
        level = targets[i, LEVEL]
        last = 1.0 - max(targets[i, SHORT] / max(abs(x), abs(y), _LITTLE), _LITTLE)
        best[0], best[1], best[2] = -np.inf, 1.0, 0.0
        along_lines(cover, clear, column, row, x, y, eye, level, last, False, best)
        along_lines(cover, clear, row, column, y, x, eye, level, last, True, best)
        along_diagonals(cover, clear, column, row, x, y, eye, level, last, 1.0, best)
        along_diagonals(cover, clear, column, row, x, y, eye, level, last, -1.0, best)
        screen = SURFACE if best[0] > -np.inf else NOTHING
        for k in range(len(screens)):
            a_x, a_y = screens[k, COLUMN] - column, screens[k, ROW] - row
            b_x, b_y = screens[k, END_COLUMN] - column, screens[k, END_ROW] - row
            whole = a_x * b_y - a_y * b_x
            if abs(whole) < _LITTLE:
                continue
            beyond = (x * (b_y - a_y) - y * (b_x - a_x)) / whole
            along = (a_x * y - a_y * x) / whole
            if beyond <= 1.0 or along < 0.0 or along > beyond:
                continue
            share = 1.0 / beyond
            height = screens[k, TOP] + along * share * (screens[k, END_TOP] - screens[k, TOP])
            if (height - eye) * beyond > best[0]:
                best[0], best[1], screen = (height - eye) * beyond, share, float(k)
            best[2] = max(best[2], (height - level) / (1.0 - share))
        found[i, HORIZON] = eye + best[0]
        found[i, NEEDED] = level + best[2]
        found[i, SHARE] = best[1]
        found[i, SCREEN] = screen


@kernel(boolean(float64, float64, READ_2D, float64, float64, float64, float64))
def passes(
    east: float,
    north: float,
    ends: FloatArray,
    low_east: float,
    high_east: float,
    low_north: float,
    high_north: float,
) -> bool:
    """Whether a straight line from a place to one of some ends has a part in a rectangle."""
    for k in range(len(ends)):
        first, last = 0.0, 1.0
        for axis in range(2):
            begin = east if axis == 0 else north
            low, high = (low_east, high_east) if axis == 0 else (low_north, high_north)
            along = ends[k, axis] - begin
            if along == 0.0:
                if not low <= begin <= high:
                    last = -1.0
                continue
            one, other = (low - begin) / along, (high - begin) / along
            first, last = max(first, min(one, other)), min(last, max(one, other))
        if first <= last:
            return True
    return False


@kernel(void(READ_2D, READ_INTEGERS_2D, READ_2D, WRITE_1D))
def horizon_between(horizon: FloatArray, nodes: np.ndarray, parts: FloatArray, found: FloatArray) -> None:
    """Fill the horizon at places between three nodes each, in proportion to their parts.

    Beside the eye itself nothing is in the way: the horizon has no lower end there.
    """
    columns = horizon.shape[1]
    for k in range(len(nodes)):
        over = 0.0
        for corner in range(3):
            node = nodes[k, corner]
            over += max(horizon[node // columns, node % columns], _LOW) * parts[k, corner]
        found[k] = over


@kernel(float64(float64, float64, float64))
def share_above(one: float, two: float, three: float) -> float:
    """Share of a triangle on which what is told at its corners is above zero."""
    above = int(one > 0.0) + int(two > 0.0) + int(three > 0.0)
    if above == 0 or above == 3:
        return above / 3.0
    # The corner that stands alone is put first.
    if (two > 0.0) == (above == 1):
        one, two = two, one
    elif (three > 0.0) == (above == 1):
        one, three = three, one
    lone = one * one / ((one - two) * (one - three))
    return lone if above == 1 else 1.0 - lone


@kernel(float64(float64, float64, float64, float64))
def clear_by(horizon: float, level: float, eye: float, steps: float) -> float:
    """How far a level stands above the horizon, in the units in which flat water next to it clears: -1 to 1.

    A shadow's side is a jump; cut off evenly on both sides it lies in the middle between two nodes.
    """
    over = eye - level
    if over <= 0.0:
        return -1.0
    return min(max((level - horizon) * max(steps, 1.0) / over, -1.0), 1.0)


@kernel(float64(READ_2D, READ_2D, float64, float64, float64, int64, int64))
def border_share(
    horizon: FloatArray, levels: FloatArray, column: float, row: float, eye: float, r: int, c: int
) -> float:
    """Share of a cell that is seen, on its two triangles."""
    west, east = abs(c - column), abs(c + 1 - column)
    south, north = abs(r - row), abs(r + 1 - row)
    sw = clear_by(horizon[r, c], levels[r, c], eye, max(west, south))
    se = clear_by(horizon[r, c + 1], levels[r, c + 1], eye, max(east, south))
    nw = clear_by(horizon[r + 1, c], levels[r + 1, c], eye, max(west, north))
    ne = clear_by(horizon[r + 1, c + 1], levels[r + 1, c + 1], eye, max(east, north))
    if (r + c) % 2 == 0:
        return 0.5 * (share_above(sw, se, ne) + share_above(sw, ne, nw))
    return 0.5 * (share_above(sw, se, nw) + share_above(ne, nw, se))


@kernel(void(READ_2D, READ_2D, float64, float64, float64, READ_2D, int64, int64, WRITE_2D))
def seen_rows(
    horizon: FloatArray,
    levels: FloatArray,
    column: float,
    row: float,
    eye: float,
    coverage: FloatArray,
    first: int,
    end: int,
    seen: FloatArray,
) -> None:
    """Fill for some rows of cells what is seen of the water that they hold (its coverage).

    That is the area that is seen, and the least and greatest squared distance, in cells, of the middles of
    cells of which half or more is.
    """
    for r in range(first, end):
        area, least, most_away = 0.0, np.inf, -np.inf
        for c in range(coverage.shape[1]):
            if coverage[r, c] <= 0.0:
                continue
            level = min(levels[r, c], levels[r, c + 1], levels[r + 1, c], levels[r + 1, c + 1])
            most = max(horizon[r, c], horizon[r, c + 1], horizon[r + 1, c], horizon[r + 1, c + 1])
            share = 1.0
            if most >= level or level >= eye:
                share = border_share(horizon, levels, column, row, eye, r, c)
            area += share * coverage[r, c]
            if share >= 0.5:
                away = (c + 0.5 - column) ** 2 + (r + 0.5 - row) ** 2
                least = min(least, away)
                most_away = max(most_away, away)
        seen[r, 0], seen[r, 1], seen[r, 2] = area, least, most_away
