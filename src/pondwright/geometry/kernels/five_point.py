"""Conductances between neighbours on a grid of squares, and multigrid-preconditioned conjugate gradients.

Every array of nodes stands in a frame of one zero on each side, (rows + 2, columns + 2), so that no loop asks
whether it is at an edge.  ``east[r, c]`` is the conductance between a node and its eastern neighbour,
``north[r, c]`` that to its northern one; ``extra`` is what ties a node to something fixed.  The operator is

    (A x)(i) = extra(i) x(i) + sum over the neighbours k of c(i, k) (x(i) - x(k)).

The coarser levels lie one behind the other in the same flat arrays, the finest first.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_3D,
    READ_BYTES,
    READ_BYTES_2D,
    WRITE_1D,
    WRITE_2D,
    WRITE_BYTES,
    WRITE_BYTES_2D,
    float64,
    int64,
    kernel,
    types,
    void,
)

Counts = NDArray[np.int64]
Flags = NDArray[np.int8]

PLACES = types.Array(int64, 1, "C", readonly=True)
SIZES = types.Array(int64, 2, "C", readonly=True)

_NEVER = 1e-300  # what no divisor falls below: a division by it gives 0 where there is nothing

# Two steps of Jacobi with the weights of Chebyshev's polynomial on the upper part of its spectrum, which
# never reaches above 2.  As they are polynomials of the operator, the cycle stays symmetric.
_LOWEST = 0.4
_FIRST = 1.0 / (0.5 * (2.0 + _LOWEST) + 0.5 * (2.0 - _LOWEST) * np.sqrt(0.5))
_SECOND = 1.0 / (0.5 * (2.0 + _LOWEST) - 0.5 * (2.0 - _LOWEST) * np.sqrt(0.5))


@kernel(void(READ_3D, READ_3D, READ_3D, READ_2D, READ_2D, READ_2D, READ_2D, float64, WRITE_2D, WRITE_2D))
def layer_faces(
    top: FloatArray,
    bottom: FloatArray,
    conductivity: FloatArray,
    base: FloatArray,
    least: FloatArray,
    cap: FloatArray,
    height: FloatArray,
    datum: float,
    east: FloatArray,
    north: FloatArray,
) -> None:
    """Fill the conductances between neighbours through layers that count up to a height.

    ``height`` is framed and above ``datum``; a node counts its layers up to it, at most to its cap and at
    least to its least.  Between two nodes stands the harmonic mean of their conductivities times the mean of
    their thicknesses, so that through even ground the flow is exact in the height squared.
    """
    layers, rows, columns = top.shape
    value, last_value = np.empty(columns), np.empty(columns)
    thick, last_thick = np.empty(columns), np.empty(columns)
    for r in range(rows):
        value[:] = 0.0
        thick[:] = 0.0
        row, over, floor, low = height[r + 1, 1:-1], cap[r], least[r], base[r]
        for k in range(layers):
            upper, lower, conducts = top[k, r], bottom[k, r], conductivity[k, r]
            for c in range(columns):
                wet = max(min(row[c] + datum, over[c]), floor[c])
                part = max(min(wet, upper[c]) - max(lower[c], low[c]), 0.0)
                thick[c] += part
                value[c] += conducts[c] * part
        into = east[r + 1, 1:-2]
        beside, wide = value[1:], thick[1:]
        for c in range(columns - 1):
            below = value[c] * wide[c] + beside[c] * thick[c]
            into[c] = value[c] * beside[c] * (thick[c] + wide[c]) / max(below, _NEVER)
        if r > 0:
            into = north[r, 1:-1]
            for c in range(columns):
                below = value[c] * last_thick[c] + last_value[c] * thick[c]
                into[c] = value[c] * last_value[c] * (thick[c] + last_thick[c]) / max(below, _NEVER)
        value, last_value = last_value, value
        thick, last_thick = last_thick, thick


@kernel(int64(PLACES, READ_1D, READ_1D, READ_BYTES, READ_1D, float64, WRITE_BYTES, WRITE_1D, WRITE_1D))
def exchange(
    places: Counts,
    conductance: FloatArray,
    level: FloatArray,
    one_way: Flags,
    x: FloatArray,
    clearance: float,
    opened: Flags,
    gain: FloatArray,
    extra: FloatArray,
) -> int:
    """Add what passes between nodes and fixed levels; gives how many one-way ties have opened or closed.

    A one-way tie is open where ``x`` is above its level; it stays as it is within the clearance.
    """
    changes = 0
    for k in range(len(places)):
        place = places[k]
        if one_way[k]:
            above = x[place] - level[k]
            if (opened[k] and above < -clearance) or (not opened[k] and above > clearance):
                opened[k] = 1 - opened[k]
                changes += 1
        if opened[k]:
            gain[place] += conductance[k] * (level[k] - x[place])
            extra[place] += conductance[k]
    return changes


@kernel(int64(READ_2D, WRITE_BYTES_2D, WRITE_2D, float64))
def press_down(lid: FloatArray, pinned: Flags, x: FloatArray, clearance: float) -> int:
    """Pin what is free and above its lid to it; gives how many nodes were pinned anew."""
    rows, columns = x.shape
    changes = 0
    for r in range(1, rows - 1):
        for c in range(1, columns - 1):
            if pinned[r, c] == 0 and x[r, c] > lid[r, c] + clearance:
                pinned[r, c] = 2
                changes += 1
            if pinned[r, c] == 2:
                x[r, c] = lid[r, c]
    return changes


@kernel(int64(READ_2D, WRITE_BYTES_2D, float64))
def let_go(gain: FloatArray, pinned: Flags, least: float) -> int:
    """Free what is pinned to its lid but gains less than ``least``; gives how many nodes were freed."""
    rows, columns = gain.shape
    changes = 0
    for r in range(1, rows - 1):
        for c in range(1, columns - 1):
            if pinned[r, c] == 2 and gain[r, c] < least:
                pinned[r, c] = 0
                changes += 1
    return changes


@kernel(void(READ_2D, READ_2D, READ_2D, READ_2D, WRITE_2D))
def net_gain(east: FloatArray, north: FloatArray, x: FloatArray, gain: FloatArray, out: FloatArray) -> None:
    """Fill what comes to each node from its neighbours and by its own gain."""
    rows, columns = x.shape
    for r in range(1, rows - 1):
        count = columns - 2
        mid, west, right = x[r, 1:-1], x[r, :-2], x[r, 2:]
        low, high = x[r - 1, 1:-1], x[r + 1, 1:-1]
        e, w = east[r, 1:-1], east[r, :-2]
        n, s = north[r, 1:-1], north[r - 1, 1:-1]
        own, into = gain[r, 1:-1], out[r, 1:-1]
        for c in range(count):
            into[c] = (
                own[c]
                + (e[c] * (right[c] - mid[c]) + w[c] * (west[c] - mid[c]))
                + (n[c] * (high[c] - mid[c]) + s[c] * (low[c] - mid[c]))
            )


@kernel(types.UniTuple(float64, 3)(READ_BYTES_2D, WRITE_2D, WRITE_2D))
def set_aside(pinned: Flags, gain: FloatArray, kept: FloatArray) -> tuple[float, float, float]:
    """Copy all gains within the frame, then clear those of pinned nodes.

    Gives the sum of what free nodes are off, of what nodes that are held for good take, and of what those on
    their lid lack.
    """
    rows, columns = kept.shape
    off = 0.0
    taken = 0.0
    lacking = 0.0
    for r in range(rows):
        for c in range(columns):
            value = gain[r + 1, c + 1]
            kept[r, c] = value
            if pinned[r + 1, c + 1] == 0:
                off += abs(value)
                continue
            gain[r + 1, c + 1] = 0.0
            if pinned[r + 1, c + 1] == 1:
                taken += max(-value, 0.0)
            else:
                lacking += max(-value, 0.0)
    return off, taken, lacking


@kernel(void(READ_2D, READ_2D, READ_BYTES_2D, WRITE_2D, WRITE_2D, WRITE_2D))
def cut_off(
    east: FloatArray,
    north: FloatArray,
    pinned: Flags,
    east_out: FloatArray,
    north_out: FloatArray,
    extra: FloatArray,
) -> None:
    """Fill the conductances among free nodes; those to pinned nodes become extra of the free ones."""
    rows, columns = extra.shape
    for r in range(1, rows - 1):
        for c in range(1, columns - 1):
            here = pinned[r, c] != 0
            beside = pinned[r, c + 1] != 0
            above = pinned[r + 1, c] != 0
            value = east[r, c]
            east_out[r, c] = 0.0 if here or beside else value
            if here != beside:
                if here:
                    extra[r, c + 1] += value
                else:
                    extra[r, c] += value
            value = north[r, c]
            north_out[r, c] = 0.0 if here or above else value
            if here != above:
                if here:
                    extra[r + 1, c] += value
                else:
                    extra[r, c] += value
    for r in range(1, rows - 1):
        for c in range(1, columns - 1):
            if pinned[r, c]:
                extra[r, c] = 0.0


@kernel(void(SIZES, WRITE_2D))
def frame(sizes: Counts, arrays: FloatArray) -> None:
    """Put the frames of zeros round every level of some arrays."""
    for k in range(len(arrays)):
        for level in range(len(sizes)):
            start, rows, columns = sizes[level]
            width = columns + 2
            for c in range(width):
                arrays[k, start + c] = 0.0
                arrays[k, start + (rows + 1) * width + c] = 0.0
            for r in range(1, rows + 1):
                arrays[k, start + r * width] = 0.0
                arrays[k, start + r * width + columns + 1] = 0.0


@kernel(void(SIZES, WRITE_1D, WRITE_1D, WRITE_1D, WRITE_1D, WRITE_1D))
def coarsen(
    sizes: Counts,
    east: FloatArray,
    north: FloatArray,
    extra: FloatArray,
    diagonal: FloatArray,
    inverse: FloatArray,
) -> None:
    """Fill the coarser levels from the finest, and the diagonal of all levels.

    Four nodes become one.  A coarse conductance is half of what crosses the face: it reaches twice as far.
    """
    for level in range(len(sizes)):
        start, rows, columns = sizes[level]
        width = columns + 2
        if level > 0:
            finer, _, fine_columns = sizes[level - 1]
            fine = fine_columns + 2
            for r in range(1, rows + 1):
                k = start + r * width + 1
                below = finer + (2 * r - 1) * fine + 1
                above = below + fine
                for c in range(columns):
                    a = below + 2 * c
                    b = above + 2 * c
                    extra[k + c] = extra[a] + extra[a + 1] + extra[b] + extra[b + 1]
                    east[k + c] = 0.5 * (east[a + 1] + east[b + 1])
                    north[k + c] = 0.5 * (north[b] + north[b + 1])
        for r in range(1, rows + 1):
            k = start + r * width + 1
            own, e, w = extra[k : k + columns], east[k : k + columns], east[k - 1 : k - 1 + columns]
            n, s = north[k : k + columns], north[k - width : k - width + columns]
            sums, inv = diagonal[k : k + columns], inverse[k : k + columns]
            for c in range(columns):
                total = own[c] + ((e[c] + w[c]) + (n[c] + s[c]))
                sums[c] = total
                inv[c] = 1.0 / total if total > 0.0 else 0.0


@kernel(void(READ_1D, READ_1D, READ_1D, READ_1D, READ_1D, WRITE_1D, int64, int64, int64, float64))
def relax(
    east: FloatArray,
    north: FloatArray,
    inverse: FloatArray,
    b: FloatArray,
    x: FloatArray,
    out: FloatArray,
    start: int,
    rows: int,
    columns: int,
    weight: float,
) -> None:
    """Fill one weighted step of Jacobi on one level."""
    width = columns + 2
    rest = 1.0 - weight
    for r in range(1, rows + 1):
        k = start + r * width + 1
        mid, west, right = x[k : k + columns], x[k - 1 : k - 1 + columns], x[k + 1 : k + 1 + columns]
        low, high = x[k - width : k - width + columns], x[k + width : k + width + columns]
        e, w = east[k : k + columns], east[k - 1 : k - 1 + columns]
        n, s = north[k : k + columns], north[k - width : k - width + columns]
        inv, given, into = inverse[k : k + columns], b[k : k + columns], out[k : k + columns]
        for c in range(columns):
            around = (e[c] * right[c] + w[c] * west[c]) + (n[c] * high[c] + s[c] * low[c])
            into[c] = rest * mid[c] + weight * inv[c] * (given[c] + around)


@kernel(void(SIZES, READ_1D, READ_1D, READ_1D, READ_1D, WRITE_1D, WRITE_1D, WRITE_1D, WRITE_1D))
def cycle(
    sizes: Counts,
    east: FloatArray,
    north: FloatArray,
    diagonal: FloatArray,
    inverse: FloatArray,
    b: FloatArray,
    x: FloatArray,
    other: FloatArray,
    row: FloatArray,
) -> None:
    """Fill `x` with one V-cycle for A x = b on the finest level; two steps before and two after."""
    levels = len(sizes)
    for level in range(levels):
        start, rows, columns = sizes[level]
        width = columns + 2
        if rows * columns == 1:
            here = start + width + 1
            x[here] = inverse[here] * b[here]
            continue
        for r in range(1, rows + 1):
            k = start + r * width + 1
            inv, given, into = inverse[k : k + columns], b[k : k + columns], other[k : k + columns]
            for c in range(columns):
                into[c] = _FIRST * inv[c] * given[c]
        relax(east, north, inverse, b, other, x, start, rows, columns, _SECOND)
        if level + 1 == levels:
            continue
        coarse, coarse_rows, coarse_columns = sizes[level + 1]
        for r in range(1, coarse_rows + 1):
            into = b[coarse + r * (coarse_columns + 2) + 1 : coarse + (r + 1) * (coarse_columns + 2) - 1]
            into[:] = 0.0
            for i in range(2 * r - 1, min(2 * r, rows) + 1):
                k = start + i * width + 1
                mid, west, right = x[k : k + columns], x[k - 1 : k - 1 + columns], x[k + 1 : k + 1 + columns]
                low, high = x[k - width : k - width + columns], x[k + width : k + width + columns]
                e, w = east[k : k + columns], east[k - 1 : k - 1 + columns]
                n, s = north[k : k + columns], north[k - width : k - width + columns]
                d, given = diagonal[k : k + columns], b[k : k + columns]
                for c in range(columns):
                    around = (e[c] * right[c] + w[c] * west[c]) + (n[c] * high[c] + s[c] * low[c])
                    row[c] = given[c] - d[c] * mid[c] + around
                row[columns] = 0.0
                for c in range(coarse_columns):
                    into[c] += row[2 * c] + row[2 * c + 1]
    for level in range(levels - 2, -1, -1):
        start, rows, columns = sizes[level]
        width = columns + 2
        coarse, coarse_rows, coarse_columns = sizes[level + 1]
        for r in range(1, rows + 1):
            k = start + r * width + 1
            kk = coarse + ((r + 1) // 2) * (coarse_columns + 2) + 1
            into, add = x[k : k + columns], x[kk : kk + coarse_columns]
            for c in range(columns // 2):
                into[2 * c] += add[c]
                into[2 * c + 1] += add[c]
            if columns % 2:
                into[columns - 1] += add[columns // 2]
        relax(east, north, inverse, b, x, other, start, rows, columns, _FIRST)
        relax(east, north, inverse, b, other, x, start, rows, columns, _SECOND)


@kernel(
    types.Tuple((int64, float64))(
        SIZES,
        READ_1D,
        READ_1D,
        READ_1D,
        READ_1D,
        WRITE_1D,
        WRITE_1D,
        WRITE_1D,
        WRITE_1D,
        WRITE_1D,
        WRITE_1D,
        WRITE_1D,
        int64,
        float64,
        float64,
    )
)
def correction(
    sizes: Counts,
    east: FloatArray,
    north: FloatArray,
    diagonal: FloatArray,
    inverse: FloatArray,
    b: FloatArray,
    x: FloatArray,
    other: FloatArray,
    row: FloatArray,
    total: FloatArray,
    direction: FloatArray,
    product: FloatArray,
    steps: int,
    part: float,
    enough: float,
) -> tuple[int, float]:
    """Solve A d = b from nothing; ``b`` ends as what is left, ``total`` as d.

    Gives the steps taken and the largest correction that was still to come: it stops where that is below
    ``enough``, or below ``part`` of the first.
    """
    _, rows, columns = sizes[0]
    width = columns + 2
    total[:] = 0.0
    direction[:] = 0.0
    taken = 0
    before = 1.0
    first = 0.0
    while True:
        cycle(sizes, east, north, diagonal, inverse, b, x, other, row)
        left = 0.0
        now = 0.0
        for r in range(1, rows + 1):
            k = r * width + 1
            z, given, inv = x[k : k + columns], b[k : k + columns], inverse[k : k + columns]
            for c in range(columns):
                if inv[c] == 0.0:  # a pinned node, which the coarser levels do not know of
                    z[c] = 0.0
                now += z[c] * given[c]
                left = max(left, abs(z[c]))
        if taken == 0:
            first = left
        if taken == steps or left <= enough or left <= part * first or now <= 0.0:
            return taken, left
        ratio = now / before if taken else 0.0
        before = now
        for r in range(1, rows + 1):
            k = r * width + 1
            z, p = x[k : k + columns], direction[k : k + columns]
            for c in range(columns):
                p[c] = z[c] + ratio * p[c]
        steep = 0.0
        for r in range(1, rows + 1):
            k = r * width + 1
            mid = direction[k : k + columns]
            west, right = direction[k - 1 : k - 1 + columns], direction[k + 1 : k + 1 + columns]
            low, high = direction[k - width : k - width + columns], direction[k + width : k + width + columns]
            e, w = east[k : k + columns], east[k - 1 : k - 1 + columns]
            n, s = north[k : k + columns], north[k - width : k - width + columns]
            d, into = diagonal[k : k + columns], product[k : k + columns]
            for c in range(columns):
                around = (e[c] * right[c] + w[c] * west[c]) + (n[c] * high[c] + s[c] * low[c])
                into[c] = d[c] * mid[c] - around
            for c in range(columns):
                steep += into[c] * mid[c]
        length = now / steep
        for r in range(1, rows + 1):
            k = r * width + 1
            p, q = direction[k : k + columns], product[k : k + columns]
            d, left_over = total[k : k + columns], b[k : k + columns]
            for c in range(columns):
                d[c] += length * p[c]
                left_over[c] -= length * q[c]
        taken += 1
