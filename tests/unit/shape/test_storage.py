"""Storage: closed-form basins, own ground only, and never above the lip."""

import math

import numpy as np
import pytest

from pondwright.geometry.grid import Grid
from pondwright.rooms.shape.storage import storage


def bowl(spacing=0.1):
    """A cone of 30 m² that is 2 m deep, its rim level 1 m above flat ground, with low ground outside."""
    count = round(20.0 / spacing) + 1
    grid = Grid(-10.0, -10.0, spacing, count, count)
    away = np.hypot(*np.meshgrid(grid.east, grid.north))
    z = np.minimum(0.5 * away - 2.0, np.maximum(1.0 - 2.0 * (away - 6.0), -3.0))
    return grid, z, away < 4.0


def test_a_cone_holds_its_closed_form():
    grid, z, within = bowl()

    held = storage(z, within, grid, 0.0, (1.0,))

    assert held.volume == pytest.approx(math.pi * 16.0 * 2.0 / 3.0, rel=5e-4)
    assert held.area == pytest.approx(math.pi * 16.0, rel=5e-4)
    assert held.deeper_areas[0] == pytest.approx(math.pi * 4.0, rel=2e-3)
    assert held.deepest == pytest.approx(2.0)


def test_low_ground_outside_the_rim_is_never_counted():
    grid, z, within = bowl()

    held = storage(z, within, grid, 0.0, ())

    assert z[0, 0] == -3.0
    assert held.area < 60.0


def test_water_never_stands_above_the_lip():
    grid, z, within = bowl()

    held = storage(z, within, grid, 5.0, ())

    assert held.lip == pytest.approx(1.0, abs=0.05)
    assert held.volume == pytest.approx(float(held.volumes[-1]))
    assert held.deepest == pytest.approx(held.lip + 2.0)


def test_the_curve_starts_empty_and_its_rate_is_its_area():
    grid, z, within = bowl()

    held = storage(z, within, grid, 0.0, ())

    assert held.volumes[0] == 0.0
    means = 0.5 * (held.areas[1:] + held.areas[:-1])
    assert np.diff(held.volumes)[20:] == pytest.approx((means * np.diff(held.levels))[20:], rel=1e-3)


def test_rectangular_pond_of_a_textbook():
    """20 x 15 m, 3:1, 2 m deep: 276.0 m³, areas 300 and 126 m²; hand."""
    grid = Grid(-1.0, -1.0, 0.1, 221, 171)
    east, north = np.meshgrid(grid.east, grid.north)
    inward = np.minimum(np.minimum(east, 20.0 - east), np.minimum(north, 15.0 - north))
    z = np.where(inward >= 0.0, -np.minimum(inward / 3.0, 2.0), 0.5)

    held = storage(z, inward > 0.0, grid, 0.0, (1.0,))

    assert held.volume == pytest.approx(276.0, rel=2e-4)
    assert held.deeper_areas[0] == pytest.approx(126.0, rel=2e-3)
