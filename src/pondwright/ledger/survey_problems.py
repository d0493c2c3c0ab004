"""Problems of the ledger about surveys: a triangle worked out on paper, and a lowered ring."""

from __future__ import annotations

from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import triangulate
from pondwright.rooms.earth.next_shot import base_gains, best_shots, node_gains, own_errors, shot_gains
from pondwright.rooms.site.carried import carried_errors, summed_sigma
from pondwright.rooms.site.ground import existing_ground, ground_uncertainty
from pondwright.rooms.site.painted import shore_pegs
from pondwright.rooms.site.rebase import ground_change, ring_grid
from pondwright.rooms.site.uncertainty import SharedErrors, measured_surface_sigma

Answer = dict[str, Any]


def one_triangle(sigma: float, shared: float, tolerance: float) -> Answer:
    """Column of 1 m² at (2, 3) in the triangle (0, 0), (10, 0), (0, 10): its shares are 0.5, 0.2 and 0.3.

    The first two shots are of one set-up, whose standard deviation is `shared`.
    """
    grid = Grid(0.0, 0.0, 1.0, 11, 11)
    tin = triangulate(np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]]), np.zeros(3))
    together = SharedErrors(np.array([0, 0, -1]), np.array([[shared**2]]), ("book/1",))
    triangle = existing_ground(tin, grid).triangle
    errors = ground_uncertainty(tin, grid, triangle, np.full(3, sigma), shared=together)
    weight = np.zeros(grid.shape)
    weight[3, 2] = 1.0
    carried = carried_errors(errors, weight)
    total = summed_sigma(errors, carried)
    first = best_shots(errors, weight, carried, sigma, ["a", "b", "c"])[0]
    return {
        "by_shot": carried.by_shot,
        "by_base": carried.by_base,
        "own": own_errors(errors, carried, 3),
        "shots": total.shots,
        "shared": total.shared,
        "interpolation": total.interpolation,
        "node_gain": float(node_gains(errors, carried, sigma)[3, 2]),
        "shot_gain": shot_gains(errors, carried, sigma),
        "base_gain": base_gains(errors, carried, sigma),
        "best_place": [first.east, first.north],
        "best_after": first.after,
        "surface": float(measured_surface_sigma(tin, np.full(3, tolerance))[0]),
    }


def lowered(ring: FloatArray, depth: float) -> Answer:
    """Level ground lowered evenly inside a ring."""
    grid = ring_grid(ring)
    change = ground_change(np.zeros(grid.shape), np.full(grid.shape, -depth), grid, ring)
    return {
        "spacing": grid.spacing,
        "gone": change.gone,
        "come": change.come,
        "area": change.area,
        "largest_drop": change.largest_drop,
    }


def painted_circle(radius: float, count: int, miss: float) -> Answer:
    """Pegs of a painted circle: few points are all taken."""
    angles = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    pegs = shore_pegs(radius * np.column_stack([np.cos(angles), np.sin(angles)]), miss)
    return {"pegs": len(pegs), "few": len(pegs) <= 40}
