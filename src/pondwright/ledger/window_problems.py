"""Problems of the ledger about windows of a grid and what is laid anew in them: known answers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from pondwright.geometry.grid import Grid
from pondwright.geometry.window import (
    Window,
    changed,
    crossed,
    grown,
    joined,
    meet,
    nodes_in,
    part_of_grid,
    shifted,
    whole,
    window_of,
)
from pondwright.rooms.shape.grading import BERM, PLACED_SLOPE, Limits, connected, laid, placed_feet, stacked

Answer = dict[str, Any]


def windows(shape: Sequence[int], first: Sequence[int], second: Sequence[int]) -> Answer:
    """Two nodes of a grid that change, and all windows that follow from them."""
    (rows, columns), first, second = ([int(number) for number in each] for each in (shape, first, second))
    before, now = np.zeros((rows, columns)), np.zeros((rows, columns))
    now[first[0], first[1]] = now[second[0], second[1]] = 1.0
    both, grid = changed(before, now), Grid(0.0, 0.0, 0.5, columns=columns, rows=rows)
    one: Window = (first[0], first[0] + 1, first[1], first[1] + 1)
    other: Window = (second[0], second[0] + 1, second[1], second[1] + 1)
    part = part_of_grid(grid, both)
    places = np.array([[0.5 * node[1], 0.5 * node[0]] for node in (first, second)])
    return {
        "changed": both,
        "mask": window_of(now > 0.0),
        "joined": joined(one, other),
        "meet": meet(grown(one, 2, (rows, columns)), whole((rows, columns))),
        "shifted": shifted(both, -first[0], -first[1]),
        "inside": float(now[nodes_in(both)].sum()),
        "part": [part.origin_east, part.origin_north, part.columns, part.rows],
        "crossed": [float(crossed(one, grid, places[1], [end])) for end in (places[0], places[1] + 4.0)],
    }


def bank(level: float, ground: float, hill: float) -> Answer:
    """A row of nodes: a bed, a berm, a slope, untouched ground, and a hill that the slope leaves alone."""
    heights = np.array([[ground, ground, ground, ground, hill]])
    lower = np.array([[-1.0, 0.3, 0.1, -9.0, -9.0]])
    upper = np.array([[-1.0, 9.0, 9.0, 9.0, hill - level - 0.5]])
    region = np.array([[10, BERM, PLACED_SLOPE, PLACED_SLOPE, PLACED_SLOPE]], dtype=np.int8)
    first = laid(heights, stacked([Limits(lower, upper, region)]), [level])
    found = connected(first, heights)
    distance = np.array([[1.0, -1.0, -2.0, -3.0, -4.0]])
    feet, under = placed_feet(found.z, found.part, heights, [distance]).lowest(heights)
    return {
        "first": first.z[0],
        "z": found.z[0],
        "let_go": found.let_go,
        "foot": int(feet[0]),
        "under": float(under[0]),
    }
