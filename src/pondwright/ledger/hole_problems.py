"""Problems of the ledger about the old hole, its muck and the soil around: shapes with a known answer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.flood import filled
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import enclosed_area
from pondwright.rooms.site.muck import muck_account, muck_pairs, muck_surface, probed_area
from pondwright.rooms.site.old_hole import (
    hole_storage,
    old_hole,
    seasons_out_of_order,
    water_outline,
)
from pondwright.rooms.site.soils import (
    Layer,
    SoilLayers,
    SoilPlace,
    layer_stack,
    probe_against_soil,
    soil_column,
    soil_of_nodes,
    untold_share,
)

Answer = dict[str, Any]


def cone_hole(depth: float, radius: float, notch: float, level: float, spacing: float) -> Answer:
    """Cone in a meadow that falls away round it, its rim notched, with water up to a level over the tip."""
    grid = _square(2.0 * radius, spacing)
    east, north = np.meshgrid(grid.east, grid.north)
    away = np.hypot(east, north)
    z = np.minimum(np.minimum(away / radius, 1.0) * depth, depth + 0.2 * (1.5 * radius - away))
    z = np.where((np.abs(north) < 1.5 * spacing) & (east > 0.0), np.minimum(z, depth - notch), z)
    hole = old_hole(z, grid, np.ones(grid.shape, dtype=np.bool_))
    assert hole is not None
    volumes, areas = hole_storage(z, grid, hole, [depth, level])
    outline = water_outline(z, grid, hole, level)
    return {
        "floor": hole.floor,
        "lip": hole.lip,
        "volume": hole.volume,
        "area": hole.area,
        "held": float(volumes[1]),
        "surface": float(areas[1]),
        "over_the_lip": float(volumes[0]),
        "outlined": sum(enclosed_area(rings) for rings in outline),
        "filled": float(filled(z, grid)[grid.rows // 2, grid.columns // 2]),
    }


def muck_pyramid(sides: int, radius: float, thickness: float, spacing: float) -> Answer:
    """Probes on a regular polygon that find no muck, and one in its middle: a pyramid of muck."""
    turn = 2.0 * np.pi * np.arange(sides) / sides
    corners = radius * np.column_stack([np.cos(turn), np.sin(turn)])
    points = np.vstack([corners, [[0.0, 0.0]]])
    ring = probed_area(points)
    assert ring is not None
    thick = np.array([*np.zeros(sides), thickness])
    return {**_account(points, thick, ring, 1.2 * radius, spacing), "probed": abs(enclosed_area([ring]))}


def muck_prism(points: FloatArray, thickness: float, half: float, spacing: float) -> Answer:
    """The same thickness at every probe, in a square: a prism, however few the probes are."""
    ring = half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return _account(points, np.full(len(points), thickness), ring, 1.2 * half, spacing)


def pairs(top: FloatArray, firm: FloatArray, reach: float) -> Answer:
    """Thicknesses from shots on muck and on firm ground: east, north, elevation."""
    found = muck_pairs(top[:, :2], top[:, 2], firm[:, :2], firm[:, 2], reach)
    return {
        "thickness": found.thickness,
        "lone_top": list(found.lone_top),
        "lone_firm": list(found.lone_firm),
    }


def layers_under(
    ground: float, muck: float, meadow: Sequence[Sequence[Any]], ring: Sequence[Sequence[Any]], reach: float
) -> Answer:
    """Level ground of 20 m: one soil in the western half, one at a pit in the east, muck in the middle."""
    grid = Grid(0.0, 0.0, 1.0, 21, 21)
    soils = [_layers(meadow), _layers(ring)]
    square = np.array([[-0.5, -0.5], [9.5, -0.5], [9.5, 20.5], [-0.5, 20.5]])
    nowhere = np.empty((0, 2))
    places = [SoilPlace(np.array([[15.0, 10.0]])), SoilPlace(nowhere, square)]
    thickness = np.zeros(grid.shape)
    thickness[10, 10] = muck
    of_node = soil_of_nodes(places, grid)
    under = SoilLayers(
        grid, np.full(grid.shape, ground), thickness, ("meadow", "ring"), tuple(soils), of_node
    )
    stack = layer_stack(under)
    wet, dry = soil_column(under, 10.0, 10.0), soil_column(under, 4.0, 4.0)
    everywhere = np.ones(grid.shape, dtype=np.bool_)
    return {
        "west": int(np.count_nonzero(of_node == 1)),
        "wet_kinds": [layer.kind for layer in wet],
        "wet_tops": [layer.top for layer in wet],
        "dry_kinds": [layer.kind for layer in dry],
        "dry_tops": [layer.top for layer in dry],
        "stack_tops": stack.top[: len(wet), 10, 10],
        "stack_bottom": float(stack.bottom[0, 10, 10]),
        "untold": untold_share(places, nowhere, everywhere, grid, reach),
    }


def logs(probe: Sequence[Sequence[Any]], soil: Sequence[Sequence[Any]]) -> Answer:
    """Log of a pit beside the soil that is told there: by how much each layer is off."""
    matches = probe_against_soil(_layers(probe), _layers(soil))
    return {"kinds": [match.kind for match in matches], "misses": [match.miss for match in matches]}


def seasons(elevations: FloatArray, told: Sequence[str]) -> Answer:
    """Water marks of seasons, held against the order of the words."""
    wrong = seasons_out_of_order(elevations, told, ("dry", "usual", "wet", "flood"))
    return {"count": len(wrong), "by": [each.by for each in wrong]}


def _account(
    points: FloatArray, thickness: FloatArray, ring: FloatArray, half: float, spacing: float
) -> Answer:
    grid = _square(half, spacing)
    surface = muck_surface(points, thickness, grid)
    account = muck_account(surface, ring_coverage(grid, [ring]), grid, np.full(len(points), 0.05))
    return {
        "volume": account.volume,
        "area": account.area,
        "mean": account.mean,
        "deepest": account.deepest,
        "middle": float(surface.thickness[grid.rows // 2, grid.columns // 2]),
    }


def _layers(rows: Sequence[Sequence[Any]]) -> tuple[Layer, ...]:
    return tuple(
        Layer(str(kind), None if thickness is None else float(thickness)) for kind, thickness in rows
    )


def _square(half: float, spacing: float) -> Grid:
    """Grid round the origin that has a node on it."""
    nodes = math.ceil(half / spacing)
    return Grid(-nodes * spacing, -nodes * spacing, spacing, 2 * nodes + 1, 2 * nodes + 1)
