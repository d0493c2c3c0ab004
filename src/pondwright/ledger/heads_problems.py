"""Problems of the ledger about steady heads: dams, drains, islands, wells, a seepage face."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import FloatArray
from pondwright.rooms.groundwater.heads import (
    Border,
    Ground,
    Heads,
    OneWay,
    TwoWay,
    flow_arrows,
    linear_heads,
    steady_heads,
    transmissivity,
)

Answer = dict[str, Any]
Mask = NDArray[np.bool_]

DAY = 86_400.0
TALL = 20.0
"""Top of the ground, above all water. [m]"""


def dam(permeability: float, length: float, left: float, right: float, cells: int) -> Answer:
    """Dam on a tight base with water on both sides and no rain."""
    spacing, shape = length / cells, (1, cells)
    ground = _open_ground(permeability, spacing, shape)
    sides = [_border(shape, 0, left), _border(shape, -1, right)]
    found = steady_heads(ground, borders=sides)
    east, _ = flow_arrows(ground, found.head)
    return {
        "flow": float(found.across[0].sum()) / spacing,
        "middle": float(found.head[0, cells // 2]),
        "arrow": float(east[0, cells // 2]),
        "transmissivity": float(transmissivity(ground, found.head)[0, cells // 2]),
    }


def between_drains(recharge: float, permeability: float, length: float, level: float, nodes: int) -> Answer:
    """Ground between two drains that stand on the base, with recharge in metres a day."""
    spacing, shape = length / (nodes - 1), (1, nodes)
    source = np.full(shape, recharge / DAY * spacing**2)
    source[0, [0, -1]] *= 0.5
    found = steady_heads(
        _open_ground(permeability, spacing, shape), [_held(_ends(shape), level)], source=source
    )
    return {
        "middle": float(found.head[0, nodes // 2]),
        "quarter": float(found.head[0, nodes // 4]),
        "to_each": -0.5 * float(found.through[0].sum()) / spacing * DAY,
        "mass_error": found.mass_error,
    }


def island(recharge: float, permeability: float, radius: float, level: float, cells: int) -> Answer:
    """Round island in a lake, with recharge in metres a day."""

    def solved(cells: int) -> Heads:
        spacing = 2.2 * radius / cells
        r, width = _round(cells, spacing, None, radius)
        return _round_water(r < radius, spacing, permeability, recharge, [(width, level)])

    middle = float(solved(cells).head[cells // 2, cells // 2])
    exact = math.sqrt(level**2 + recharge / DAY / (2.0 * permeability) * radius**2)
    return {
        "middle": middle,
        "order": _order(
            [float(solved(n).head[n // 2, n // 2]) - exact for n in (cells // 4 | 1, cells // 2 | 1, cells)]
        ),
    }


def square(recharge: float, permeability: float, side: float, level: float, cells: int) -> Answer:
    """Square whose four sides are held at a level, with recharge in metres a day."""

    def middle(cells: int) -> float:
        spacing, shape = side / cells, (cells, cells)
        ground = _open_ground(permeability, spacing, shape)
        source = np.full(shape, recharge / DAY * spacing**2)
        found = steady_heads(ground, source=source, borders=[_all_round(shape, np.full(shape, level))])
        return float(found.head[cells // 2, cells // 2])

    exact = math.sqrt(level**2 + 2.0 * recharge / DAY / permeability * side**2 * 0.0736713532814)
    counts = (cells // 4 | 1, cells // 2 | 1, cells)
    return {"middle": middle(cells), "order": _order([middle(count) - exact for count in counts], counts)}


def ring(
    recharge: float,
    permeability: float,
    inner: float,
    outer: float,
    inner_level: float,
    outer_level: float,
    cells: int,
    at: Sequence[float],
) -> Answer:
    """Ground between a round well and a round lake, with recharge in metres a day; heads at two distances."""
    exact = _ring_heads(recharge / DAY, permeability, inner, outer, inner_level, outer_level)

    def solved(cells: int) -> tuple[FloatArray, Heads, float]:
        spacing = 2.1 * outer / cells
        r, _ = _round(cells, spacing, inner, outer)
        _, from_lake = _round(cells, spacing, None, outer)
        _, from_well = _round(cells, spacing, inner, None)
        inside = (r < outer) & (r > inner)
        ties = [(from_lake * inside, outer_level), (from_well * inside, inner_level)]
        return r, _round_water(inside, spacing, permeability, recharge, ties), spacing

    errors = []
    counts = (cells // 4 | 1, cells // 2 | 1, cells)
    for count in counts:
        r, found, spacing = solved(count)
        inside = (r < outer) & (r > inner)
        off = found.head[inside] - exact(r[inside])
        errors.append(float(np.sqrt(np.mean(off**2))))
    worst = [off[np.argmax(np.abs(off) * (np.abs(r[inside] - distance) < spacing))] for distance in at]
    heads = [float(exact(np.array(distance)) + error) for distance, error in zip(at, worst, strict=True)]
    return {
        "heads": heads,
        "order": _order(errors, counts),
        "flow": -float(found.across[1].sum()),
        "mass_error": found.mass_error,
    }


def parabola(recharge: float, transmitted: float, length: float, nodes: int) -> Answer:
    """Even recharge on full ground between two held ends."""
    spacing, shape = length / (nodes - 1), (1, nodes)
    x = spacing * np.arange(nodes)
    found = linear_heads(
        np.full(shape, transmitted),
        [_held(_ends(shape), 0.0)],
        source=np.full(shape, recharge * spacing**2),
    )
    exact = recharge * x * (length - x) / (2.0 * transmitted)
    return {"error": float(np.abs(found.head[0] - exact).max()), "mass_error": found.mass_error}


def full_square(recharge: float, transmitted: float, side: float, cells: int) -> Answer:
    """Even recharge on full ground in a square with held sides: the middle over R L² / T."""

    def middle(cells: int) -> float:
        spacing, shape = side / cells, (cells, cells)
        found = linear_heads(
            np.full(shape, transmitted),
            source=np.full(shape, recharge * spacing**2),
            borders=[_all_round(shape, np.zeros(shape))],
        )
        return float(found.head[cells // 2, cells // 2]) * transmitted / (recharge * side**2)

    counts = (cells // 4 | 1, cells // 2 | 1, cells)
    return {
        "middle": middle(cells),
        "order": _order([middle(count) - 0.0736713532814 for count in counts], counts),
    }


def disk(transmitted: float, inner: float, outer: float, drop: float, cells: int) -> Answer:
    """Well in the middle of a disk of full ground: what it takes at a drop of its level."""
    exact = 2.0 * math.pi * transmitted * drop / math.log(outer / inner)

    def flow(cells: int) -> float:
        spacing = 2.1 * outer / cells
        r, _ = _round(cells, spacing, inner, outer)
        inside = (r < outer) & (r > inner)
        _, from_lake = _round(cells, spacing, None, outer)
        _, from_well = _round(cells, spacing, inner, None)
        found = linear_heads(
            np.where(inside, transmitted, 1e-30),
            [_held(~inside, 0.0)],
            borders=[
                Border(from_lake * inside, np.full(r.shape, drop)),
                Border(from_well * inside, np.zeros(r.shape)),
            ],
        )
        return -float(found.across[1].sum())

    counts = (cells // 4 | 1, cells // 2 | 1, cells)
    flows = [flow(count) for count in counts]
    return {
        "flow": flows[-1],
        "exact": exact,
        "relative": flows[-1] / exact,
        "order": _order([f - exact for f in flows], counts),
    }


def series(first: float, second: float, level: float, cells: int) -> Answer:
    """Two grounds one behind the other: heads are straight in each, and bend where they meet."""
    half = cells // 2
    full = np.where(np.arange(cells) < half, first, second)[None, :]
    found = linear_heads(full, borders=[_border(full.shape, 0, level), _border(full.shape, -1, 0.0)])
    x = (np.arange(cells) + 0.5) / cells
    meet = level * first / (first + second)
    exact = np.where(x < 0.5, level + (meet - level) * 2.0 * x, meet * 2.0 * (1.0 - x))
    return {"error": float(np.abs(found.head[0] - exact).max()), "mass_error": found.mass_error}


def seepage_face(recharge: float, transmitted: float, length: float, height: float, nodes: int) -> Answer:
    """Recharge between two held ends, under ground too low to hold all of it: where and how much seeps."""

    def solved(nodes: int) -> tuple[float, float, float]:
        spacing, shape = length / (nodes - 1), (1, nodes)
        x = spacing * np.arange(nodes)
        out = OneWay(np.full(shape, np.inf), np.full(shape, height))
        found = linear_heads(
            np.full(shape, transmitted),
            [_held(_ends(shape), 0.0)],
            [out],
            np.full(shape, recharge * spacing**2),
        )
        contact = math.sqrt(2.0 * transmitted * height / recharge)
        beside = np.minimum(x, length - x)
        exact = height - recharge * np.maximum(contact - beside, 0.0) ** 2 / (2.0 * transmitted)
        seeping = x[found.left[0][0] > 0.0]
        return (
            float(np.abs(found.head[0] - exact).max()),
            float(found.left[0].sum()) / spacing / (recharge * (length - 2.0 * contact)),
            float((seeping[0] - contact) / spacing),
        )

    counts = (nodes // 4 + 1, nodes // 2 + 1, nodes)
    answers = [solved(count) for count in counts]
    return {
        "outflow": answers[-1][1],
        "off_by_cells": answers[-1][2],
        "order": _order([answer[0] for answer in answers]),
        "error": answers[-1][0],
    }


def patch(east: float, north: float, rows: int, columns: int) -> Answer:
    """Even flow: heads of a plane round the rim give that plane everywhere."""
    x, y = np.meshgrid(np.arange(columns) + 0.0, np.arange(rows) + 0.0)
    plane = 3.0 + east * x + north * y
    rim = np.ones((rows, columns), dtype=np.bool_)
    rim[1:-1, 1:-1] = False
    found = linear_heads(np.full((rows, columns), 2e-5), [TwoWay(np.where(rim, np.inf, 0.0), plane)])
    return {"error": float(np.abs(found.head - plane).max()), "mass_error": found.mass_error}


def layered(tops: FloatArray, permeability: FloatArray, head: float, cap: float) -> Answer:
    """Transmissivity of one cell of layers, from its top down to its base, below a cap."""
    ground = Ground(
        1.0,
        tops[:-1].reshape(-1, 1, 1),
        tops[1:].reshape(-1, 1, 1),
        permeability.reshape(-1, 1, 1),
        tops[-1:].reshape(1, 1),
        np.array([[cap]]),
    )
    return {"transmissivity": float(transmissivity(ground, np.array([[head]]))[0, 0])}


def _open_ground(permeability: float | FloatArray, spacing: float, shape: tuple[int, int]) -> Ground:
    low, tall = np.zeros((1, *shape)), np.full((1, *shape), TALL)
    even = np.broadcast_to(np.asarray(permeability, dtype=np.float64), (1, *shape)).copy()
    return Ground(spacing, tall, low, even, low[0], np.full(shape, np.inf))


def _border(shape: tuple[int, int], column: int, level: float) -> Border:
    width = np.zeros(shape)
    width[:, column] = 2.0
    return Border(width, np.full(shape, level))


def _all_round(shape: tuple[int, int], level: FloatArray) -> Border:
    width = np.zeros(shape)
    width[0] += 2.0
    width[-1] += 2.0
    width[:, 0] += 2.0
    width[:, -1] += 2.0
    return Border(width, level)


def _ends(shape: tuple[int, int]) -> Mask:
    ends = np.zeros(shape, dtype=np.bool_)
    ends[:, [0, -1]] = True
    return ends


def _held(where: Mask, level: float) -> TwoWay:
    return TwoWay(np.where(where, np.inf, 0.0), np.full(where.shape, level))


def _round(
    cells: int, spacing: float, inner: float | None, outer: float | None
) -> tuple[FloatArray, FloatArray]:
    """Distance of each cell from the middle, and ties of the cells that a circle cuts off from a neighbour.

    A cell whose neighbour is beyond the circle is tied over the way to it: one spacing over that distance.
    """
    along = spacing * (np.arange(cells) - cells // 2)
    x, y = np.meshgrid(along, along)
    r, width = np.hypot(x, y), np.zeros((cells, cells))
    for radius, within in ((outer, True), (inner, False)):
        if radius is None:
            continue
        for east, north in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            beyond = np.hypot(x + east * spacing, y + north * spacing)
            cut = (r < radius) & (beyond >= radius) if within else (r > radius) & (beyond <= radius)
            forward, across = x * east + y * north, x * north + y * east
            reach = np.sqrt(np.maximum(radius**2 - across**2, 0.0))
            way = reach - forward if within else -reach - forward
            width += np.where(cut, spacing / np.maximum(way, 1e-6 * spacing), 0.0)
    return r, width


def _round_water(
    inside: Mask,
    spacing: float,
    permeability: float,
    recharge: float,
    ties: Sequence[tuple[FloatArray, float]],
) -> Heads:
    ground = _open_ground(np.where(inside, permeability, 1e-30), spacing, (inside.shape[0], inside.shape[1]))
    return steady_heads(
        ground,
        [_held(~inside, 1.0)],
        source=np.where(inside, recharge / DAY * spacing**2, 0.0),
        borders=[Border(width * inside, np.full(inside.shape, level)) for width, level in ties],
    )


def _ring_heads(
    recharge: float, permeability: float, inner: float, outer: float, low: float, high: float
) -> Callable[[FloatArray], FloatArray]:
    half = recharge / (2.0 * permeability)
    bend = (high**2 - low**2 + half * (outer**2 - inner**2)) / math.log(outer / inner)

    def head(r: FloatArray) -> FloatArray:
        return np.sqrt(low**2 - half * (r**2 - inner**2) + bend * np.log(r / inner))

    return head


def _order(errors: Sequence[float], counts: Sequence[int] = (1, 2, 4)) -> float:
    """Order of an error over three grids, by the first and the last."""
    return math.log(abs(errors[0] / errors[-1])) / math.log(counts[-1] / counts[0])
