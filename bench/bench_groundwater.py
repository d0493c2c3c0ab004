"""Steady heads at 150, 300, 600 and 1500 cells a side, beside sparse factors and algebraic multigrid.

The peers solve the same linear system in the same process: uneven full ground between two held sides, with
recharge and a ring of drain.  The drag is the whole answer of an invented hillside (wetted thickness, a lined
pond, a ring drain that moves by one cell, seepage where it is open), from the heads before the move.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pyamg
from scipy.sparse import coo_matrix, csr_matrix, diags
from scipy.sparse.linalg import splu

from bench.rows import Goal, Row, at_most, best_seconds
from pondwright.base.kinds import FloatArray
from pondwright.rooms.groundwater.heads import (
    Border,
    Ground,
    Heads,
    OneWay,
    TwoWay,
    linear_heads,
    steady_heads,
)

SIDE = 40.0
RECHARGE = 3e-8
STEPS = 3


def rows() -> list[Row]:
    """The linear system at four sizes beside its peers, the hillside cold, and a drag."""
    return [
        *linear_rows(150),
        *linear_rows(300),
        *linear_rows(600),
        *linear_rows(1500, factors=False),
        *(hillside_row(cells) for cells in (150, 300, 600)),
        *drag_rows(150, goal=3.0),
        *drag_rows(300),
    ]


def linear_rows(cells: int, factors: bool = True) -> list[Row]:
    """Our time beside those of the peers, and how far our heads are from theirs."""
    transmitted, ring, source, borders = full_ground(cells)

    def ours() -> Heads:
        return linear_heads(transmitted, [ring], source=source, borders=borders)

    matrix, given = system(transmitted, ring, source, borders)
    seconds = quickest(ours, cells)
    found = ours()

    def multigrid() -> FloatArray:
        solver = pyamg.ruge_stuben_solver(matrix)
        return np.asarray(solver.solve(given, tol=1e-9, accel="cg", maxiter=100))

    name = f"groundwater: full ground, {cells}²"
    heads = multigrid()
    told = [
        beside(name, seconds, "algebraic multigrid and CG", quickest(multigrid, cells), at_most(0.2)),
        Row(f"{name}, water lost", found.mass_error, "-", goal=at_most(1e-9)),
    ]
    if factors:

        def factored() -> FloatArray:
            return np.asarray(splu(matrix.tocsc()).solve(given))

        heads = factored()
        told.insert(0, beside(name, seconds, "scipy splu", quickest(factored, cells), at_most(0.1)))
    off = float(np.abs(found.head.ravel() - heads).max())
    peer = "scipy splu" if factors else "algebraic multigrid and CG"
    return [*told, Row(f"{name}, furthest from {peer}", off * 1e3, "mm", goal=at_most(1e-2))]


def hillside_row(cells: int) -> Row:
    """A settled answer of the hillside from nothing."""
    place = hillside(cells)
    return Row(
        f"groundwater: hillside, settled from nothing, {cells}²",
        quickest(lambda: steady_heads(**place), cells) * 1e3,
        "ms",
    )


def drag_rows(cells: int, goal: float | None = None) -> list[Row]:
    """A ring drain moved by one cell: a few steps from the heads before, and how near they come."""
    before = steady_heads(**hillside(cells)).head
    moved = hillside(cells, shift=1)
    settled = steady_heads(**moved, start=before)

    def frame() -> Heads:
        return steady_heads(**moved, start=before, steps=STEPS)

    found = frame()
    name = f"groundwater: hillside, drain moved a cell, {STEPS} steps, {cells}²"
    limit = None if goal is None else at_most(goal)
    return [
        Row(name, best_seconds(frame, repeats=40, at_least_seconds=0.0) * 1e3, "ms", goal=limit),
        Row(f"{name}, error", float(np.abs(found.head - settled.head).max()) * 1e3, "mm", goal=at_most(1.0)),
        Row(f"{name}, error told", found.error * 1e3, "mm"),
        Row(
            f"{name}, then settled",
            best_seconds(lambda: steady_heads(**moved, start=found.head), 7, 0.0) * 1e3,
            "ms",
        ),
    ]


def full_ground(cells: int) -> tuple[FloatArray, TwoWay, FloatArray, list[Border]]:
    """Uneven full ground, its ring drain, its recharge and its two held sides."""
    east, north = centres(cells)
    spacing = SIDE / cells
    transmitted = 1e-4 * np.exp(
        0.6 * np.sin(7.0 * east / SIDE + 3.0 * north / SIDE) * np.cos(5.0 * north / SIDE)
    )
    ring = np.abs(np.hypot(east - 20.0, north - 20.0) - 10.0) < 0.5 * spacing
    drain = TwoWay(np.where(ring, 3e-4 * spacing, 0.0), np.full(east.shape, 0.5))
    return transmitted, drain, np.full(east.shape, RECHARGE * spacing**2), sides(cells, 3.0, 1.0)


def hillside(cells: int, shift: int = 0) -> dict[str, Any]:
    """Falling ground in two layers over a tight base, with a lined pond, a ring drain and open slopes."""
    east, north = centres(cells)
    spacing = SIDE / cells
    surface = 106.0 - 0.05 * east + 0.3 * np.sin(east / 5.0) * np.cos(north / 7.0)
    away = np.hypot(east - 22.0, north - 20.0)
    pond = away < 9.0
    low = np.full(surface.shape, 100.0)
    ground = Ground(
        spacing,
        np.stack([surface, surface - 1.0]),
        np.stack([surface - 1.0, low]),
        np.stack([np.full(surface.shape, 1e-6), np.full(surface.shape, 2e-5)]),
        low,
        np.where(pond, surface - np.minimum(1.5, 0.5 * (9.0 - away) + 0.3), np.inf),
    )
    ring = np.abs(np.hypot(east - 22.0 - shift * spacing, north - 20.0) - 10.0) < 0.5 * spacing
    west, other = sides(cells, 0.0, 0.0)
    return {
        "ground": ground,
        "one_way": [
            OneWay(np.where(ring, 3.2e-5 * spacing, 0.0), surface - 1.4),
            OneWay(np.where(pond, 0.0, np.inf), surface),
        ],
        "source": np.where(pond, 0.0, RECHARGE) * spacing**2,
        "borders": [Border(west.width, surface - 0.6), Border(other.width, surface - 0.4)],
    }


def centres(cells: int) -> tuple[FloatArray, FloatArray]:
    """East and north of the middles of the cells. [m]"""
    along = SIDE / cells * (np.arange(cells) + 0.5)
    east, north = np.meshgrid(along, along)
    return east, north


def sides(cells: int, west: float, east: float) -> list[Border]:
    """The western and the eastern side, held at their levels."""
    found = []
    for column, level in ((0, west), (-1, east)):
        width = np.zeros((cells, cells))
        width[:, column] = 2.0
        found.append(Border(width, np.full(width.shape, level)))
    return found


def system(
    transmitted: FloatArray, drain: TwoWay, source: FloatArray, borders: list[Border]
) -> tuple[csr_matrix, FloatArray]:
    """The same system as a sparse matrix and its right side."""
    index = np.arange(transmitted.size).reshape(transmitted.shape)
    places, values = [], []
    for one, other in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        i, j, a, b = (array[part].ravel() for array in (index, transmitted) for part in (one, other))
        c = 2.0 * a * b / (a + b)
        places += [np.stack([i, i]), np.stack([j, j]), np.stack([i, j]), np.stack([j, i])]
        values += [c, c, -c, -c]
    extra = drain.conductance + sum(border.width for border in borders) * transmitted
    given = source + drain.conductance * drain.level
    given = given + sum(border.width * border.level for border in borders) * transmitted
    matrix = coo_matrix((np.concatenate(values), np.concatenate(places, axis=1)), shape=2 * (index.size,))
    return csr_matrix(matrix + diags(extra.ravel())), given.ravel()


def quickest(work: Callable[[], object], cells: int) -> float:
    """Seconds of the quickest of a few single calls; of one where a call is long."""
    if cells > 600:
        began = time.perf_counter()
        work()
        return time.perf_counter() - began
    return best_seconds(work, repeats=3000 // cells - 4, at_least_seconds=0.0)


def beside(name: str, seconds: float, peer: str, peer_seconds: float, goal: Goal) -> Row:
    """Our time beside a peer's."""
    return Row(f"{name}, beside {peer}", seconds * 1e3, "ms", peer, peer_seconds * 1e3, goal)
