"""Compiled loops of the graded surface and of the soil that it moves.

A body of water lets the finish lie only between two surfaces, told relative to its water
level.  Inside the shore both are the bed: minus the depth of the bank's profile.  Outside, the
*lower* one climbs the bank to the crest, runs along it and falls at the fill slope, and the
*upper* one rises at the cut slope.  The finish is the ground held between the two: one maximum
and one minimum a node, continuous in every parameter, with no search for daylight; and a trial
level only lifts both.
"""

from __future__ import annotations

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_3D,
    READ_BYTES,
    READ_BYTES_2D,
    READ_INTEGERS_2D,
    WRITE_1D,
    WRITE_2D,
    WRITE_BYTES,
    WRITE_BYTES_2D,
    WRITE_INTEGERS_2D,
    boolean,
    float64,
    int8,
    int64,
    kernel,
    types,
    void,
)

READ_BYTES_3D = types.Array(int8, 3, "C", readonly=True)
READ_NODES = types.Array(int64, 1, "C", readonly=True)

EXISTING, CUT_SLOPE, PLACED_SLOPE, BERM, PATH, FIRST_ZONE = 0, 1, 2, 3, 4, 10
ZONES_PER_BODY = 10
PARTS = 128

_UNTOUCHED, _ANCHORED, _PENDING = 0, 1, 2


@kernel(
    void(
        READ_2D, READ_1D, READ_1D, READ_BYTES, READ_1D, READ_1D, float64, READ_1D,
        types.UniTuple(int64, 4), WRITE_2D, WRITE_2D, WRITE_BYTES_2D,
    )
)  # fmt: skip
def finish_limits(
    distance: FloatArray,
    knots: FloatArray,
    depths: FloatArray,
    regions: np.ndarray,
    risers: FloatArray,
    heights: FloatArray,
    smear: float,
    bank: FloatArray,
    window: tuple[int, int, int, int],
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
) -> None:
    """Fill the lowest and highest finish above the water level, and the region, of the nodes of a window.

    `knots`, `depths` are the profile without its risers, and `regions` the code of the zone that
    begins at each knot; each riser is spread evenly over `smear` around its own distance, half
    before and half after, so that volumes stay of second order in the spacing.  `bank` holds
    freeboard, bank gradient, end of the crest, cut and fill gradient.  Outside, the region is the
    berm up to the end of the crest and the placed slope beyond.
    """
    last = len(knots) - 1
    floor = depths[last] + heights.sum()
    settled = knots[last]
    if len(risers) > 0:
        settled = max(settled, risers[-1] + 0.5 * smear)
    freeboard, bank_gradient, crest_end, cut_gradient, fill_gradient = bank
    half = 0.5 * smear
    for row in range(window[0], window[1]):
        for column in range(window[2], window[3]):
            inward = distance[row, column]
            if inward >= settled:
                lower[row, column] = -floor
                upper[row, column] = -floor
                region[row, column] = regions[last]
                continue
            step = 0.0
            if inward > -half:
                for riser in range(len(risers)):
                    share = (inward - risers[riser]) / smear + 0.5
                    step += heights[riser] * min(max(share, 0.0), 1.0)
            if inward > 0.0:
                index = 0
                while index < last and inward >= knots[index + 1]:
                    index += 1
                depth = depths[index]
                if index < last:
                    share = (inward - knots[index]) / (knots[index + 1] - knots[index])
                    depth += share * (depths[index + 1] - depths[index])
                lower[row, column] = -(depth + step)
                upper[row, column] = -(depth + step)
                region[row, column] = regions[index]
                continue
            rise = min(-inward * bank_gradient, freeboard)
            beyond = max(-inward - crest_end, 0.0)
            lower[row, column] = rise - beyond * fill_gradient - step
            upper[row, column] = max(rise, -inward * cut_gradient) - step
            region[row, column] = PLACED_SLOPE if beyond > 0.0 else BERM


@kernel(
    void(
        READ_2D, READ_2D, READ_BYTES_2D, float64, READ_INTEGERS_2D, boolean,
        WRITE_2D, WRITE_BYTES_2D, WRITE_BYTES_2D,
    )
)  # fmt: skip
def _lay_body(
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
    level: float,
    spans: np.ndarray,
    named: bool,
    z: FloatArray,
    part: np.ndarray,
    state: np.ndarray,
) -> None:
    """Hold the surface `z` between the limits of one body; mark slopes that need a connection."""
    for row in range(z.shape[0]):
        first, end = spans[row, 0], spans[row, 1]
        # Plain rows and a loop of floats alone let the compiler work on several nodes at once.
        lowest, highest = lower[row, first:end], upper[row, first:end]
        regions, states = region[row, first:end], state[row, first:end]
        heights = z[row, first:end]
        before = heights.copy()
        for column in range(len(heights)):
            held = level + lowest[column]
            held = held if held > before[column] else before[column]
            roof = level + highest[column]
            heights[column] = roof if roof < held else held
        for column in range(len(heights)):
            if regions[column] != PLACED_SLOPE:
                states[column] = _ANCHORED
            elif heights[column] != before[column] and states[column] == _UNTOUCHED:
                states[column] = _PENDING
        if named:
            parts = part[row, first:end]
            for column in range(len(heights)):
                here = regions[column]
                touched = CUT_SLOPE if heights[column] < before[column] else parts[column]
                parts[column] = here if here >= FIRST_ZONE or heights[column] > before[column] else touched


@kernel(int64(READ_INTEGERS_2D, WRITE_BYTES_2D, boolean))
def _anchor_pending(spans: np.ndarray, state: np.ndarray, upward: bool) -> int:
    """Anchor pending nodes beside anchored ones in one sweep; give how many still wait."""
    rows, columns = state.shape
    step = 1 if upward else -1
    waiting = 0
    for count in range(rows):
        row = count if upward else rows - 1 - count
        first, end = spans[row, 0], spans[row, 1]
        here = state[row]
        before = state[row - step] if count > 0 else here
        for across in range(end - first):
            column = first + across if upward else end - 1 - across
            if here[column] != _PENDING:
                continue
            left, right = max(column - 1, 0), min(column + 1, columns - 1)
            if (
                here[left if upward else right] == _ANCHORED
                or before[left] == _ANCHORED
                or before[column] == _ANCHORED
                or before[right] == _ANCHORED
            ):
                here[column] = _ANCHORED
            else:
                waiting += 1
    return waiting


@kernel(int64(READ_INTEGERS_2D, WRITE_BYTES_2D))
def anchored(spans: np.ndarray, state: np.ndarray) -> int:
    """Anchor all pending nodes that hang together with anchored ones; give how many do not.

    A slope that comes back behind a hill or in a hollow beyond is not connected with its berm.
    """
    waiting = _anchor_pending(spans, state, True)
    upward = False
    idle = 0
    while waiting > 0 and idle < 2:
        before = waiting
        waiting = _anchor_pending(spans, state, upward)
        idle = 0 if waiting < before else idle + 1
        upward = not upward
    return waiting


@kernel(void(READ_2D, READ_INTEGERS_2D, READ_BYTES_2D, WRITE_2D, WRITE_BYTES_2D))
def let_go(ground: FloatArray, spans: np.ndarray, state: np.ndarray, z: FloatArray, part: np.ndarray) -> None:
    """Give nodes that are still pending back to the ground."""
    for row in range(state.shape[0]):
        for column in range(spans[row, 0], spans[row, 1]):
            if state[row, column] == _PENDING:
                z[row, column] = ground[row, column]
                part[row, column] = EXISTING


@kernel(
    void(
        READ_2D, READ_3D, READ_3D, READ_BYTES_3D, READ_1D, READ_INTEGERS_2D, boolean,
        WRITE_2D, WRITE_BYTES_2D, WRITE_BYTES_2D,
    )
)  # fmt: skip
def laid_surface(
    ground: FloatArray,
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
    levels: FloatArray,
    spans: np.ndarray,
    named: bool,
    z: FloatArray,
    part: np.ndarray,
    state: np.ndarray,
) -> None:
    """Fill the finish `z` of the nodes in `spans` before any is let go, and their `part` if it is named.

    Bodies are laid in the order of the first axis, each into what the earlier ones left.  `spans` holds
    the first and the end column of every row; `state` tells :func:`anchored` what needs a connection.
    """
    for row in range(z.shape[0]):
        first, end = spans[row, 0], spans[row, 1]
        z[row, first:end] = ground[row, first:end]
        part[row, first:end] = EXISTING
        state[row, first:end] = _UNTOUCHED
    for body in range(len(levels)):
        _lay_body(lower[body], upper[body], region[body], levels[body], spans, named, z, part, state)


@kernel(void(READ_NODES, WRITE_BYTES))
def name_paths(nodes: np.ndarray, part: np.ndarray) -> None:
    """Name nodes of a flat grid as a path where no body has a zone."""
    for k in range(len(nodes)):
        if part[nodes[k]] < FIRST_ZONE:
            part[nodes[k]] = PATH


@kernel(float64(float64, float64, float64))
def _positive_sum(first: float, second: float, third: float) -> float:
    """Three times the mean over a triangle of the positive part of a plane, by corner values."""
    if first <= 0.0 and second <= 0.0 and third <= 0.0:
        return 0.0
    total = first + second + third
    if first >= 0.0 and second >= 0.0 and third >= 0.0:
        return total
    # Bring the corner that stands alone on its side of zero to the front.
    if (second > 0.0) != (first > 0.0) and (second > 0.0) != (third > 0.0):
        first, second = second, first
    elif (third > 0.0) != (first > 0.0) and (third > 0.0) != (second > 0.0):
        first, third = third, first
    tip = first * first * first / ((first - second) * (first - third))
    return tip if first > 0.0 else total - tip


@kernel(void(READ_2D, READ_INTEGERS_2D, READ_BYTES_2D, READ_2D, float64, WRITE_2D))
def excess_volumes(
    difference: FloatArray,
    spans: np.ndarray,
    soil_of_cell: np.ndarray,
    thresholds: FloatArray,
    cell_area: float,
    excess: FloatArray,
) -> None:
    """Fill the exact volumes above each threshold of a difference surface, by soil column.

    ``excess[c, k]`` is the integral of ``max(0, difference - thresholds[c, k])`` over the
    triangles of the touched cells of column ``c``; the last two entries of a row are the
    integral of the difference itself and the plan area of the touched cells.  Thresholds
    ascend along a row.
    """
    rows, columns = difference.shape
    soils, count = thresholds.shape
    # A cell that lies wholly above its first k thresholds is counted once, under k.
    sums = np.zeros((soils, count + 1))
    cells = np.zeros((soils, count + 1))
    excess[:, :] = 0.0
    # Neighbours mostly share soil and k: their sums are kept at hand until one differs.
    held_soil, held_index, held_sum, held_cells = 0, 0, 0.0, 0.0
    floor, ceiling = -np.inf, thresholds[0, 0]
    for row in range(rows - 1):
        first = max(min(spans[row, 0], spans[row + 1, 0]) - 1, 0)
        end = min(max(spans[row, 1], spans[row + 1, 1]) + 1, columns)
        south, north = difference[row, first:end], difference[row + 1, first:end]
        soil_of = soil_of_cell[row, first:end]
        even = (row + first) % 2 == 0
        south_east, north_east = south[0], north[0]
        for column in range(len(south) - 1):
            even = not even
            south_west, north_west = south_east, north_east
            south_east, north_east = south[column + 1], north[column + 1]
            low = min(min(south_west, south_east), min(north_west, north_east))
            high = max(max(south_west, south_east), max(north_west, north_east))
            if low == 0.0 and high == 0.0:
                continue
            soil = soil_of[column]
            # The corners on the diagonal belong to both triangles; `even` was turned already.
            if even:
                one, other, left, right = south_east, north_west, south_west, north_east
            else:
                one, other, left, right = south_west, north_east, north_west, south_east
            total = 2.0 * (one + other) + left + right
            if soil == held_soil and floor <= low < ceiling and high <= ceiling:
                held_sum += total
                held_cells += 1.0
                continue
            index = 0
            while index < count and thresholds[soil, index] <= low:
                index += 1
            if index != held_index or soil != held_soil:
                sums[held_soil, held_index] += held_sum
                cells[held_soil, held_index] += held_cells
                held_soil, held_index, held_sum, held_cells = soil, index, 0.0, 0.0
                floor = thresholds[soil, index - 1] if index > 0 else -np.inf
                ceiling = thresholds[soil, index] if index < count else np.inf
            held_sum += total
            held_cells += 1.0
            while index < count and thresholds[soil, index] < high:
                over = thresholds[soil, index]
                excess[soil, index] += _positive_sum(one - over, other - over, left - over)
                excess[soil, index] += _positive_sum(one - over, other - over, right - over)
                index += 1
    sums[held_soil, held_index] += held_sum
    cells[held_soil, held_index] += held_cells
    sixth = cell_area / 6.0
    for soil in range(soils):
        total = 0.0
        number = 0.0
        for index in range(count, -1, -1):
            total += sums[soil, index]
            number += cells[soil, index]
            if index > 0:
                above = total - 6.0 * number * thresholds[soil, index - 1]
                excess[soil, index - 1] = (excess[soil, index - 1] + above) * sixth
        excess[soil, count] = total * sixth
        excess[soil, count + 1] = number * cell_area


@kernel(void(READ_2D, READ_BYTES_2D, READ_1D, WRITE_2D))
def subgrade(z: FloatArray, part: np.ndarray, thickness: FloatArray, under: FloatArray) -> None:
    """Fill the finish less the build-up of each node's part."""
    for row in range(z.shape[0]):
        for column in range(z.shape[1]):
            under[row, column] = z[row, column] - thickness[part[row, column]]


@kernel(void(READ_2D, READ_2D, READ_BYTES_2D, READ_1D, READ_INTEGERS_2D, WRITE_2D))
def subgrade_difference(
    ground: FloatArray,
    z: FloatArray,
    part: np.ndarray,
    thickness: FloatArray,
    spans: np.ndarray,
    difference: FloatArray,
) -> None:
    """Fill the ground less the subgrade: the finish less the build-up of each node's part."""
    for row in range(ground.shape[0]):
        first, end = spans[row, 0], spans[row, 1]
        grounds, heights = ground[row, first:end], z[row, first:end]
        parts, differences = part[row, first:end], difference[row, first:end]
        for column in range(len(heights)):
            subgrade = heights[column] - thickness[parts[column]]
            differences[column] = grounds[column] - subgrade


@kernel(
    int64(
        READ_2D, READ_3D, READ_3D, READ_BYTES_3D, READ_1D, READ_INTEGERS_2D, READ_1D,
        READ_BYTES_2D, READ_2D, float64, WRITE_2D, WRITE_BYTES_2D, WRITE_BYTES_2D, WRITE_2D,
    )
)  # fmt: skip
def graded_volumes(
    ground: FloatArray,
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
    levels: FloatArray,
    spans: np.ndarray,
    thickness: FloatArray,
    soil_of_cell: np.ndarray,
    thresholds: FloatArray,
    cell_area: float,
    difference: FloatArray,
    part: np.ndarray,
    state: np.ndarray,
    excess: FloatArray,
) -> int:
    """Fill the excess volumes of trial levels; `difference`, `part` and `state` are scratch."""
    # Where only zones are covered, the regions of a single body serve as parts.
    named = bool(len(levels) > 1 or thickness[:FIRST_ZONE].any())
    laid_surface(ground, lower, upper, region, levels, spans, named, difference, part, state)
    gone = anchored(spans, state)
    if gone > 0:
        let_go(ground, spans, state, difference, part)
    subgrade_difference(ground, difference, part if named else region[0], thickness, spans, difference)
    excess_volumes(difference, spans, soil_of_cell, thresholds, cell_area, excess)
    return gone


@kernel(void(READ_2D, READ_3D, READ_3D, READ_BYTES_3D, READ_1D, READ_1D, WRITE_INTEGERS_2D))
def touched_spans(
    ground: FloatArray,
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
    lowest: FloatArray,
    highest: FloatArray,
    spans: np.ndarray,
) -> None:
    """Fill the columns of every row that bodies may touch at levels from lowest to highest."""
    rows, columns = ground.shape
    for row in range(rows):
        first, end = columns, 0
        for body in range(len(lowest)):
            low, high = lowest[body], highest[body]
            for column in range(columns):
                height = ground[row, column]
                if (
                    region[body, row, column] >= FIRST_ZONE
                    or height < high + lower[body, row, column]
                    or height > low + upper[body, row, column]
                ):
                    first = min(first, column)
                    end = max(end, column + 1)
        spans[row, 0] = min(first, end)
        spans[row, 1] = end


@kernel(void(float64, float64, float64, float64, WRITE_1D))
def _positive_weights(first: float, second: float, third: float, scale: float, weights: FloatArray) -> None:
    """Derivatives of `scale` times the positive sum by the three corner values."""
    if first <= 0.0 and second <= 0.0 and third <= 0.0:
        weights[:] = 0.0
        return
    if first >= 0.0 and second >= 0.0 and third >= 0.0:
        weights[:] = scale
        return
    alone = 0
    if (second > 0.0) != (first > 0.0) and (second > 0.0) != (third > 0.0):
        alone = 1
        first, second = second, first
    elif (third > 0.0) != (first > 0.0) and (third > 0.0) != (second > 0.0):
        alone = 2
        first, third = third, first
    to_second = first / (first - second)
    to_third = first / (first - third)
    tip = first * to_second * to_third
    by_second = tip / (first - second)
    by_third = tip / (first - third)
    by_first = 3.0 * to_second * to_third - by_second - by_third
    if first <= 0.0:
        by_first, by_second, by_third = 1.0 - by_first, 1.0 - by_second, 1.0 - by_third
    weights[0] = scale * by_first
    weights[1] = scale * by_second
    weights[2] = scale * by_third
    if alone > 0:
        weights[0], weights[alone] = weights[alone], weights[0]


@kernel(void(READ_2D, float64, WRITE_2D, WRITE_2D))
def volume_slopes(difference: FloatArray, cell_area: float, dug: FloatArray, placed: FloatArray) -> None:
    """Fill the derivatives of the volumes above and below zero by the difference at each node.

    That of the volume below zero is not above zero.  Untouched cells count for neither.
    """
    rows, columns = difference.shape
    dug[:, :] = 0.0
    placed[:, :] = 0.0
    corner = np.empty(3)
    scale = cell_area / 6.0
    for row in range(rows - 1):
        south, north = difference[row], difference[row + 1]
        for column in range(columns - 1):
            low = min(min(south[column], south[column + 1]), min(north[column], north[column + 1]))
            high = max(max(south[column], south[column + 1]), max(north[column], north[column + 1]))
            if low == 0.0 and high == 0.0:
                continue
            even = (row + column) % 2 == 0
            start = column if even else column + 1
            end = column + 1 if even else column
            if low >= 0.0 or high <= 0.0:
                weight = dug if low >= 0.0 else placed
                signed = scale if low >= 0.0 else -scale
                weight[row, start] += 2.0 * signed
                weight[row + 1, end] += 2.0 * signed
                weight[row + 1, start] += signed
                weight[row, end] += signed
                continue
            for side in range(2):
                # Third corners: north of the diagonal's start, and south of its end.
                third_row = row + 1 if side == 0 else row
                third = start if side == 0 else end
                for sign in (1.0, -1.0):
                    weight = dug if sign > 0.0 else placed
                    _positive_weights(
                        sign * south[start],
                        sign * north[end],
                        sign * difference[third_row, third],
                        scale,
                        corner,
                    )
                    weight[row, start] += sign * corner[0]
                    weight[row + 1, end] += sign * corner[1]
                    weight[third_row, third] += sign * corner[2]
