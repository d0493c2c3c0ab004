"""Flooding outward from a shore, lowest ground first, until the water runs down somewhere."""

from __future__ import annotations

import heapq

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import (
    READ_2D,
    READ_BYTES_2D,
    WRITE_1D,
    boolean,
    float64,
    int8,
    int64,
    kernel,
    types,
    void,
)

EDGE_OF_WINDOW = 1
RUNS_DOWN = 0
NO_SPILL = -1
SPILLS_BELOW = -2
"""The water leaves below the level up to which it was said to be calm."""

# Even nodes have the diagonals of all four cells round them, odd nodes have none.
_ROW_STEPS = np.array([0, 0, 1, -1, 1, 1, -1, -1])
_COLUMN_STEPS = np.array([1, -1, 0, 0, 1, -1, 1, -1])


_KEYED = 2
"""A node that the water may reach, while the search goes on."""

_CALM = 3
"""A node that the water reaches below the level up to which it is calm, and that stands in line."""

WAITING = types.List(types.Tuple((float64, int64)), reflected=False)
LINE = types.List(int64, reflected=False)
WRITE_NODES = types.Array(int64, 1, "C")
BASIN = types.Array(int8, 2, "C")


@kernel(void(BASIN, int64, WAITING))
def _forget(basin: np.ndarray, last: np.int64, heap: list[tuple[float, np.int64]]) -> None:
    """Leave only what the water reached: the last node and all that still wait are no part of the basin."""
    columns = basin.shape[1]
    if basin[last // columns, last % columns] == _KEYED:
        basin[last // columns, last % columns] = 0
    for k in range(len(heap)):
        here = heap[k][1]
        if here >= 0 and basin[here // columns, here % columns] == _KEYED:
            basin[here // columns, here % columns] = 0


@kernel(
    boolean(READ_2D, READ_BYTES_2D, float64, float64, WRITE_1D, WRITE_NODES, BASIN, LINE, WAITING),
)
def _reach_calm(
    z: FloatArray,
    inside: np.ndarray,
    hollow: float,
    calm: float,
    best: FloatArray,
    saddle: np.ndarray,
    basin: np.ndarray,
    line: list[np.int64],
    heap: list[tuple[float, np.int64]],
) -> bool:
    """Reach all nodes with a key below ``calm`` from those in line; False if the water leaves at one of them.

    Below the lip each of them is reached sooner or later, so their order does not matter: a node for which
    a lower way is found gets into the line again.  Those beyond wait for their turn, lowest first.
    """
    rows, columns = z.shape
    at = 0
    while at < len(line):
        here = line[at]
        at += 1
        r = here // columns
        c = here % columns
        if r == 0 or c == 0 or r == rows - 1 or c == columns - 1:
            return False
        basin[r, c] = 1
        for k in range(8 if (r + c) % 2 == 0 else 4):
            i = r + _ROW_STEPS[k]
            j = c + _COLUMN_STEPS[k]
            if inside[i, j]:
                continue
            there = i * columns + j
            key = max(best[here], z[i, j])
            if basin[i, j] != 0 and key >= best[there]:
                continue
            best[there] = key
            if key >= calm:
                basin[i, j] = _KEYED
                saddle[there] = there
                heapq.heappush(heap, (key, np.int64(there)))
            elif basin[i, j] != _CALM:
                basin[i, j] = _CALM
                line.append(np.int64(there))
    for k in range(len(line)):
        here = line[k]
        if z[here // columns, here % columns] < best[here] - hollow:
            return False
    return True


@kernel(
    types.Tuple((float64, int64, int64))(
        READ_2D, READ_BYTES_2D, float64, float64, types.UniTuple(int64, 4), WRITE_1D, WRITE_NODES, BASIN
    )
)
def flood(
    z: FloatArray,
    inside: np.ndarray,
    hollow: float,
    calm: float,
    window: tuple[int, int, int, int],
    best: FloatArray,
    saddle: np.ndarray,
    basin: np.ndarray,
) -> tuple[float, np.int64, int]:
    """Lip, flat index of its node and how the water leaves there; fills ``basin``, which holds the inside.

    The water climbs from the inside nodes, all in a window, over the edges of the triangles.  The key of a
    node is the lowest water level that reaches it.  The first node on the edge of the window, or the first
    more than ``hollow`` below the level that reaches it, ends the search: that level is the lip.  Nodes with
    keys below ``calm`` are not taken in their order; if the water leaves at one of them nothing is told.

    ``best`` and ``saddle`` are scratch: the key of each node, and the node where the level of the key is
    attained, which is the saddle that was crossed last.
    """
    rows, columns = z.shape
    # The scratch tells something only where the basin is _KEYED or _CALM, or once was.
    heap = [(np.inf, np.int64(-1))]
    line = [np.int64(0) for _ in range(0)]  # none yet, and of their type
    for r in range(window[0], window[1]):
        for c in range(window[2], window[3]):
            if not inside[r, c]:
                continue
            here = r * columns + c
            if r == 0 or c == 0 or r == rows - 1 or c == columns - 1:
                if z[r, c] < calm:
                    return calm, np.int64(-1), SPILLS_BELOW
                best[here] = z[r, c]
                saddle[here] = here
                heapq.heappush(heap, (z[r, c], np.int64(here)))
                continue
            # Most inside nodes have only inside nodes round them.
            south, here_too, north = inside[r - 1], inside[r], inside[r + 1]
            beside = here_too[c - 1] & here_too[c + 1]
            if beside & south[c - 1] & south[c] & south[c + 1] & north[c - 1] & north[c] & north[c + 1]:
                continue
            for k in range(8 if (r + c) % 2 == 0 else 4):
                i = r + _ROW_STEPS[k]
                j = c + _COLUMN_STEPS[k]
                if inside[i, j]:
                    continue
                key = max(z[r, c], z[i, j])
                there = i * columns + j
                if basin[i, j] != 0 and key >= best[there]:
                    continue
                best[there] = key
                if key >= calm:
                    basin[i, j] = _KEYED
                    saddle[there] = here if z[r, c] > z[i, j] else there
                    heapq.heappush(heap, (key, np.int64(there)))
                elif basin[i, j] != _CALM:
                    basin[i, j] = _CALM
                    line.append(np.int64(there))
    if not _reach_calm(z, inside, hollow, calm, best, saddle, basin, line, heap):
        return calm, np.int64(-1), SPILLS_BELOW
    while len(heap) > 1:
        level, here = heapq.heappop(heap)
        if level > best[here]:
            continue
        r = here // columns
        c = here % columns
        if z[r, c] < level - hollow:
            _forget(basin, here, heap)
            return level, saddle[here], RUNS_DOWN
        if r == 0 or c == 0 or r == rows - 1 or c == columns - 1:
            basin[r, c] = 1
            _forget(basin, here, heap)
            return level, saddle[here], EDGE_OF_WINDOW
        basin[r, c] = 1
        for k in range(8 if (r + c) % 2 == 0 else 4):
            i = r + _ROW_STEPS[k]
            j = c + _COLUMN_STEPS[k]
            there = i * columns + j
            key = max(level, z[i, j])
            if basin[i, j] == 1 or (basin[i, j] == _KEYED and key >= best[there]):
                continue
            best[there] = key
            basin[i, j] = _KEYED
            saddle[there] = there if z[i, j] >= level else saddle[here]
            heapq.heappush(heap, (key, np.int64(there)))
    return np.inf, np.int64(-1), NO_SPILL
