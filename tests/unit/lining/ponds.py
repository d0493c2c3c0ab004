"""Ponds that tell their own answer, and ponds drawn from a seed."""

from __future__ import annotations

import math

import numpy as np
import shapely

from pondwright.geometry.grid import Grid
from pondwright.rooms.lining.area import LinerGround

PROFILE = ((-9.0, -1.0, 0.0, 0.8, 1.6, 2.4, 6.0), (0.5, 0.5, 0.0, 0.0, -0.05, -0.05, -1.2))
"""A shelved bank without its risers: distance inward and elevation."""
RISERS = ((0.0, 0.3), (0.8, 0.37))


def hipped_pit(turned=0.0, spacing=0.1, length=12.0, width=8.0, slope=2.0, depth=1.0):
    """A rectangle whose sides slope alike, turned; with the slopes and kinks of its distance to the edge."""
    count = round(18.0 / spacing) + 1
    grid = Grid(0.0, 0.0, spacing, count, count)
    east, north = np.meshgrid(grid.east - 9.0, grid.north - 9.0)
    along = east * math.cos(turned) + north * math.sin(turned)
    across = north * math.cos(turned) - east * math.sin(turned)
    distance = np.minimum(0.5 * length - abs(along), 0.5 * width - abs(across))
    rest = -np.clip(distance / slope, 0.0, depth)
    return LinerGround(grid, rest, np.zeros_like(rest), distance)


def wavy_pond(seed, spacing=0.3):
    """A shelved pond with a wavy shore and an island."""
    draws = np.random.default_rng(seed)
    turn = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    waves = [draws.normal(0.0, 0.9 / k) * np.cos(k * turn + draws.uniform(0.0, 6.0)) for k in range(2, 6)]
    radius = 7.0 + np.sum(waves, axis=0)
    shore = shapely.Polygon(np.c_[radius * np.cos(turn), radius * np.sin(turn)])
    island = shapely.Point(*draws.uniform(-2.0, 2.0, 2)).buffer(1.2)
    count = int(26.0 / spacing)
    grid = Grid(-0.5 * count * spacing, -0.5 * count * spacing, spacing, count, count)
    points = shapely.points(*np.meshgrid(grid.east, grid.north))
    water = shore.difference(island)
    inside = np.where(shapely.contains(water, points), 1.0, -1.0)
    distance = shapely.distance(water.boundary, points) * inside
    rest = np.interp(distance, *PROFILE)
    steps = sum(height * (distance >= offset) for offset, height in RISERS)
    return LinerGround(grid, rest, np.asarray(steps, dtype=np.float64), distance)
