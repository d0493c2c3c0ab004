"""True area of ground whose slope changes only at lines of equal distance from a shore, cell by cell."""

from __future__ import annotations

from math import hypot

import numpy as np

from pondwright.geometry.kernels.compile import READ_1D, READ_2D, WRITE_2D, float64, int64, kernel, void


@kernel(float64(float64, float64, float64))
def share_above(one: float, other: float, third: float) -> float:
    """Share of a triangle that lies above zero, the heights of its corners given."""
    low, high = min(one, other, third), max(one, other, third)
    middle = max(min(one, other), min(max(one, other), third))
    if low >= 0.0:
        return 1.0
    if high <= 0.0:
        return 0.0
    if middle >= 0.0:
        return 1.0 - low * low / ((middle - low) * (high - low))
    return high * high / ((high - middle) * (high - low))


@kernel(
    float64(
        float64, float64, float64, float64, float64, float64, float64, float64, float64, float64, float64,
    )
)  # fmt: skip
def crossing(
    level: float,
    one: float,
    other: float,
    third: float,
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    x3: float,
    y3: float,
    spacing: float,
) -> float:
    """Length of the line at one level over a triangle with heights at its corners; places in spacings."""
    a, b, c = one - level, other - level, third - level
    if not (min(a, b, c) < 0.0 <= max(a, b, c)):
        return 0.0
    left, right, low, high = 1e300, -1e300, 1e300, -1e300
    for side in range(3):
        if side == 0:
            start, end, sx, sy, ex, ey = a, b, x1, y1, x2, y2
        elif side == 1:
            start, end, sx, sy, ex, ey = b, c, x2, y2, x3, y3
        else:
            start, end, sx, sy, ex, ey = c, a, x3, y3, x1, y1
        if (start < 0.0) != (end < 0.0):
            part = start / (start - end)
            x, y = sx + part * (ex - sx), sy + part * (ey - sy)
            left, right, low, high = min(left, x), max(right, x), min(low, y), max(high, y)
    return spacing * hypot(right - left, high - low)


@kernel(float64(READ_2D, READ_1D, READ_1D, READ_1D, READ_1D, READ_2D, float64, int64))
def banded(
    distance: np.ndarray,
    starts: np.ndarray,
    factors: np.ndarray,
    offsets: np.ndarray,
    heights: np.ndarray,
    share: np.ndarray,
    spacing: float,
    parity: int,
) -> float:
    """Area of bands between distances, each its plan area times its factor, and of upright faces.

    ``starts`` do not fall; nothing counts below the first.  ``share`` is empty or tells how much each node
    counts.  ``parity`` tells which way the diagonal of the first cell runs.
    """
    rows, columns = distance.shape
    bands, faces = len(starts), len(offsets)
    shared = share.shape[0] > 0
    half = 0.5 * spacing * spacing
    total = 0.0
    band = 0
    for row in range(rows - 1):
        se, ne = distance[row, 0], distance[row + 1, 0]
        for column in range(columns - 1):
            sw, nw = se, ne
            se, ne = distance[row, column + 1], distance[row + 1, column + 1]
            low, high = min(sw, se, nw, ne), max(sw, se, nw, ne)
            if high < starts[0]:
                continue
            even = (row + column + parity) % 2 == 0
            first = second = 1.0
            if shared:
                ssw, sse = share[row, column], share[row, column + 1]
                snw, sne = share[row + 1, column], share[row + 1, column + 1]
                if ssw == 0.0 and sse == 0.0 and snw == 0.0 and sne == 0.0:
                    continue
                if even:
                    first, second = (ssw + sse + sne) / 3.0, (ssw + sne + snw) / 3.0
                else:
                    first, second = (ssw + sse + snw) / 3.0, (sse + sne + snw) / 3.0
            # Most cells lie in the band of the one before.
            while band > 0 and starts[band] > low:
                band -= 1
            while band < bands - 1 and starts[band + 1] <= low:
                band += 1
            if low >= starts[band] and (band == bands - 1 or high <= starts[band + 1]):
                total += half * factors[band] * (first + second)
            else:
                for triangle in range(2):
                    if even:
                        a, b, c = (sw, se, ne) if triangle == 0 else (sw, ne, nw)
                    else:
                        a, b, c = (sw, se, nw) if triangle == 0 else (se, ne, nw)
                    above, area = share_above(a - starts[band], b - starts[band], c - starts[band]), 0.0
                    for k in range(band, bands):
                        if above == 0.0:
                            break
                        beyond = 0.0
                        if k < bands - 1:
                            beyond = share_above(a - starts[k + 1], b - starts[k + 1], c - starts[k + 1])
                        area += factors[k] * (above - beyond)
                        above = beyond
                    total += half * area * (first if triangle == 0 else second)
            for face in range(faces):
                if not (low < offsets[face] <= high):
                    continue
                if even:
                    one = crossing(offsets[face], sw, se, ne, 0.0, 0.0, 1.0, 0.0, 1.0, 1.0, spacing)
                    other = crossing(offsets[face], sw, ne, nw, 0.0, 0.0, 1.0, 1.0, 0.0, 1.0, spacing)
                else:
                    one = crossing(offsets[face], sw, se, nw, 0.0, 0.0, 1.0, 0.0, 0.0, 1.0, spacing)
                    other = crossing(offsets[face], se, ne, nw, 1.0, 0.0, 1.0, 1.0, 0.0, 1.0, spacing)
                total += abs(heights[face]) * (one * first + other * second)
    return total


@kernel(float64(READ_2D, READ_2D, READ_2D, float64, float64, int64))
def sloped(
    heights: np.ndarray, distance: np.ndarray, share: np.ndarray, least: float, spacing: float, parity: int
) -> float:
    """True area of the triangles of a surface, each as far as it lies at ``least`` or farther inside.

    ``share`` tells how much each node counts.
    """
    rows, columns = distance.shape
    area = 0.0
    for row in range(rows - 1):
        for column in range(columns - 1):
            for triangle in range(2):
                if (row + column + parity) % 2 == 0:
                    r1, c1 = row, column
                    r2, c2 = (row, column + 1) if triangle == 0 else (row + 1, column + 1)
                    r3, c3 = (row + 1, column + 1) if triangle == 0 else (row + 1, column)
                else:
                    r1, c1 = (row, column) if triangle == 0 else (row, column + 1)
                    r2, c2 = (row, column + 1) if triangle == 0 else (row + 1, column + 1)
                    r3, c3 = row + 1, column
                counted = (share[r1, c1] + share[r2, c2] + share[r3, c3]) / 3.0
                if counted == 0.0:
                    continue
                part = share_above(
                    distance[r1, c1] - least, distance[r2, c2] - least, distance[r3, c3] - least
                )
                if part == 0.0:
                    continue
                one, other = heights[r2, c2] - heights[r1, c1], heights[r3, c3] - heights[r1, c1]
                x1, y1 = spacing * (c2 - c1), spacing * (r2 - r1)
                x2, y2 = spacing * (c3 - c1), spacing * (r3 - r1)
                east, north, up = y1 * other - one * y2, one * x2 - x1 * other, x1 * y2 - y1 * x2
                area += 0.5 * counted * part * (east * east + north * north + up * up) ** 0.5
    return area


@kernel(void(READ_2D, READ_1D, READ_1D, READ_2D, float64, WRITE_2D, WRITE_2D))
def split(
    inward: np.ndarray,
    offsets: np.ndarray,
    heights: np.ndarray,
    share: np.ndarray,
    spacing: float,
    rest: np.ndarray,
    steps: np.ndarray,
) -> None:
    """Take upright faces that were spread over one spacing out of a surface, and count how far they drop.

    ``rest`` and ``steps`` are added to; ``share`` is empty or tells how much each node counts.
    """
    shared = share.shape[0] > 0
    for row in range(inward.shape[0]):
        inwards, rests, falls = inward[row], rest[row], steps[row]
        for face in range(len(offsets)):
            offset, height = offsets[face], heights[face]
            if shared:
                shares = share[row]
                for column in range(len(inwards)):
                    past = inwards[column] - offset
                    if past > -0.5 * spacing:
                        part = height * shares[column]
                        rests[column] += part * min(past / spacing + 0.5, 1.0)
                        falls[column] += part if past >= 0.0 else 0.0
                continue
            # Without a branch the compiler looks at several nodes at once.
            for column in range(len(inwards)):
                past = inwards[column] - offset
                rise = height * min(past / spacing + 0.5, 1.0)
                rests[column] += rise if past > -0.5 * spacing else 0.0
                falls[column] += height if past >= 0.0 else 0.0
