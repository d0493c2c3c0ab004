"""Exact areas and volumes of piecewise linear surfaces on the alternating triangles.

Every cell is two triangles of equal area.  With the heights ``a, b, c`` of its corners over a
plane, the part of a triangle that lies on the positive side has a closed form; nothing here is
sampled.  A mask of triangles has shape (rows - 1, columns - 1, 2): first the southern triangle of
the cell, then the northern one; an empty mask means all of them.
"""

from __future__ import annotations

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_3D,
    READ_BYTES_2D,
    WRITE_1D,
    WRITE_2D,
    float64,
    int8,
    int64,
    kernel,
    types,
    void,
)

FEW_LEVELS = 8
"""Levels up to which it is quicker to count those below a height than to look for the first above it."""

READ_TRIANGLES = types.Array(int8, 3, "C", readonly=True)
WRITE_TRIANGLES = types.Array(int8, 3, "C")


@kernel(void(READ_BYTES_2D, WRITE_TRIANGLES))
def touching(nodes: np.ndarray, triangles: np.ndarray) -> None:
    """Mark the triangles that have a corner among the marked nodes."""
    rows, columns = nodes.shape
    for r in range(rows - 1):
        even = r % 2 == 0
        for c in range(columns - 1):
            sw, se, nw, ne = nodes[r, c], nodes[r, c + 1], nodes[r + 1, c], nodes[r + 1, c + 1]
            diagonal = sw | ne if even else se | nw
            triangles[r, c, 0] = diagonal | (se if even else sw)
            triangles[r, c, 1] = diagonal | (nw if even else ne)
            even = not even


@kernel(types.UniTuple(float64, 2)(float64, float64, float64))
def positive_part(a: float, b: float, c: float) -> tuple[float, float]:
    """Mean height of the positive part of a triangle, and its share of the area."""
    mean = (a + b + c) / 3.0
    if a >= 0.0 and b >= 0.0 and c >= 0.0:
        return mean, 1.0
    if a <= 0.0 and b <= 0.0 and c <= 0.0:
        return 0.0, 0.0
    low = min(a, b, c)
    high = max(a, b, c)
    middle = max(min(a, b), min(max(a, b), c))
    if middle >= 0.0:
        share = low * low / ((middle - low) * (high - low))
        return mean - share * low / 3.0, 1.0 - share
    share = high * high / ((high - middle) * (high - low))
    return share * high / 3.0, share


@kernel(types.UniTuple(float64, 3)(READ_2D, READ_2D, READ_TRIANGLES, float64))
def difference(
    upper: FloatArray, lower: FloatArray, mask: np.ndarray, spacing: float
) -> tuple[float, float, float]:
    """Volume above, volume below and area above, of ``upper`` against ``lower``."""
    rows, columns = upper.shape
    masked = mask.size > 0
    above = 0.0
    net = 0.0
    area = 0.0
    for r in range(rows - 1):
        row_above = 0.0
        row_net = 0.0
        row_area = 0.0
        sw = upper[r, 0] - lower[r, 0]
        nw = upper[r + 1, 0] - lower[r + 1, 0]
        for c in range(columns - 1):
            se = upper[r, c + 1] - lower[r, c + 1]
            ne = upper[r + 1, c + 1] - lower[r + 1, c + 1]
            # The diagonal joins the corners p and q; the other corners are south and north of it.
            if (r + c) % 2 == 0:
                p, q, south, north = sw, ne, se, nw
            else:
                p, q, south, north = se, nw, sw, ne
            sw = se
            nw = ne
            if not masked:
                both = (2.0 * (p + q) + south + north) / 3.0
                row_net += both
                if min(p, q, south, north) >= 0.0:
                    row_above += both
                    row_area += 2.0
                elif max(p, q, south, north) > 0.0:
                    height, share = positive_part(p, q, south)
                    other_height, other_share = positive_part(p, q, north)
                    row_above += height + other_height
                    row_area += share + other_share
                continue
            if mask[r, c, 0]:
                height, share = positive_part(p, q, south)
                row_above += height
                row_area += share
                row_net += (p + q + south) / 3.0
            if mask[r, c, 1]:
                height, share = positive_part(p, q, north)
                row_above += height
                row_area += share
                row_net += (p + q + north) / 3.0
        above += row_above
        net += row_net
        area += row_area
    half = 0.5 * spacing * spacing
    return half * above, half * (above - net), half * area


@kernel(types.UniTuple(float64, 2)(READ_2D, float64, READ_TRIANGLES, float64))
def below_level(z: FloatArray, level: float, mask: np.ndarray, spacing: float) -> tuple[float, float]:
    """Volume between a level and the ground below it, and the area of that ground."""
    rows, columns = z.shape
    masked = mask.size > 0
    volume = 0.0
    area = 0.0
    for r in range(rows - 1):
        row_volume = 0.0
        row_area = 0.0
        sw = level - z[r, 0]
        nw = level - z[r + 1, 0]
        for c in range(columns - 1):
            se = level - z[r, c + 1]
            ne = level - z[r + 1, c + 1]
            if (r + c) % 2 == 0:
                p, q, south, north = sw, ne, se, nw
            else:
                p, q, south, north = se, nw, sw, ne
            if not masked or mask[r, c, 0]:
                height, share = positive_part(p, q, south)
                row_volume += height
                row_area += share
            if not masked or mask[r, c, 1]:
                height, share = positive_part(p, q, north)
                row_volume += height
                row_area += share
            sw = se
            nw = ne
        volume += row_volume
        area += row_area
    half = 0.5 * spacing * spacing
    return half * volume, half * area


@kernel(void(READ_1D, READ_1D, float64, types.int32[::1]))
def _first_levels(heights: FloatArray, levels: FloatArray, steps_per_metre: float, first: np.ndarray) -> None:
    """Index of the first level at or above each height; the number of levels where none is."""
    last = levels.size
    if last <= FEW_LEVELS:
        first[:] = 0
        for k in range(last):
            for i in range(heights.size):
                first[i] += levels[k] < heights[i]
        return
    for i in range(heights.size):
        height = heights[i]
        k = int(min(max((height - levels[0]) * steps_per_metre, 0.0), last - 1.0))
        while k > 0 and levels[k - 1] >= height:
            k -= 1
        while k < last and levels[k] < height:
            k += 1
        first[i] = k


@kernel(void(READ_2D, READ_1D, READ_TRIANGLES, int64, int64, WRITE_2D))
def stage_sums(
    z: FloatArray, levels: FloatArray, mask: np.ndarray, first: int, end: int, sums: FloatArray
) -> None:
    """Parts of some rows of cells in the volume and the area below each of the ascending levels, in one pass.

    A triangle that lies wholly below a level lies below all later ones too, so it is counted once,
    at the first such level.  Rows of the sums: volume and area of the triangles that a level cuts, number
    and height of those that lie wholly below it and not below the one before.
    """
    columns = z.shape[1]
    count = levels.size
    masked = mask.size > 0
    # Heights are taken from the first level, so that a datum far away costs no digits.
    datum = levels[0]
    raised = levels - datum
    span = raised[count - 1]
    steps_per_metre = (count - 1) / span if span > 0.0 else 0.0
    sums[:, :] = 0.0
    volumes, areas, full, full_height = sums[0], sums[1], sums[2], sums[3]
    south = z[first] - datum
    first_south = np.empty(columns, dtype=np.int32)
    first_north = np.empty(columns, dtype=np.int32)
    _first_levels(south, raised, steps_per_metre, first_south)
    for r in range(first, end):
        north = z[r + 1] - datum
        _first_levels(north, raised, steps_per_metre, first_north)
        for c in range(columns - 1):
            sw, se, nw, ne = south[c], south[c + 1], north[c], north[c + 1]
            ksw, kse = first_south[c], first_south[c + 1]
            knw, kne = first_north[c], first_north[c + 1]
            if ksw == count and kse == count and knw == count and kne == count:
                continue
            whole = not masked or (mask[r, c, 0] and mask[r, c, 1])
            if ksw == kse and ksw == knw and ksw == kne and whole:
                even = (r + c) % 2 == 0
                diagonal = sw + ne if even else se + nw
                full[ksw] += 2.0
                full_height[ksw] += (sw + se + nw + ne + diagonal) / 3.0
                continue
            for side in range(2):
                if masked and not mask[r, c, side]:
                    continue
                # The two ends of the diagonal, and the corner on this side of it; then in order.
                if (r + c) % 2 == 0:
                    low, k_low, high, k_high = sw, ksw, ne, kne
                    middle, k_middle = (nw, knw) if side else (se, kse)
                else:
                    low, k_low, high, k_high = se, kse, nw, knw
                    middle, k_middle = (ne, kne) if side else (sw, ksw)
                mean = (low + middle + high) / 3.0
                if low > high:
                    low, k_low, high, k_high = high, k_high, low, k_low
                if middle < low:
                    low, k_low, middle, k_middle = middle, k_middle, low, k_low
                elif middle > high:
                    high, k_high, middle, k_middle = middle, k_middle, high, k_high
                if k_low < k_middle:
                    rate = 1.0 / ((middle - low) * (high - low))
                    for k in range(k_low, k_middle):
                        rise = raised[k] - low
                        share = rise * rise * rate
                        areas[k] += share
                        volumes[k] += share * rise / 3.0
                if k_middle < k_high:
                    rate = 1.0 / ((high - middle) * (high - low))
                    for k in range(k_middle, k_high):
                        rest = high - raised[k]
                        share = rest * rest * rate
                        areas[k] += 1.0 - share
                        volumes[k] += raised[k] - mean + share * rest / 3.0
                full[k_high] += 1.0
                full_height[k_high] += mean
        south = north
        first_south, first_north = first_north, first_south


@kernel(void(READ_3D, READ_1D, float64, WRITE_1D, WRITE_1D))
def stages(
    sums: FloatArray, levels: FloatArray, spacing: float, volumes: FloatArray, areas: FloatArray
) -> None:
    """Volume and area below each level from the parts of all rows of cells, as from :func:`stage_sums`."""
    half = 0.5 * spacing * spacing
    triangles = 0.0
    heights = 0.0
    for k in range(levels.size):
        volume = 0.0
        area = 0.0
        for part in range(len(sums)):
            volume += sums[part, 0, k]
            area += sums[part, 1, k]
            triangles += sums[part, 2, k]
            heights += sums[part, 3, k]
        volumes[k] = half * (volume + triangles * (levels[k] - levels[0]) - heights)
        areas[k] = half * (area + triangles)
