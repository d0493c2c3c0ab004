"""A basin ends at its own lip."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.flood import basin
from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import volume_below

GRID = Grid(origin_east=0.0, origin_north=0.0, spacing=0.25, columns=161, rows=121)
EAST, NORTH = np.meshgrid(GRID.east, GRID.north)


def bank(east, north, radius, crest):
    """Bowl and bank of slope 1:2 up to a level crest of 0.9 m, and the same slope down outside."""
    away = np.hypot(EAST - east, NORTH - north) - radius
    falling = 2.0 * crest + 0.45 - away * 0.5
    return np.minimum(np.minimum(away * 0.5, crest), falling), away < 0.0


def test_the_low_ground_behind_a_bank_is_not_flooded():
    z, inside = bank(20.0, 15.0, 6.0, crest=0.6)

    found = basin(np.maximum(z, -1.5), inside, GRID)

    assert found.lip == pytest.approx(0.6)
    assert not found.leaves_window
    assert found.mask[inside].all()
    assert np.hypot(EAST - 20.0, NORTH - 15.0)[found.mask].max() <= 6.0 + 2.1
    _, area = volume_below(np.maximum(z, -1.5), 0.0, GRID, found.mask)
    assert area == pytest.approx(np.pi * 36.0, rel=2e-3)
    assert volume_below(np.maximum(z, -1.5), 0.0, GRID)[1] > 2.0 * area


def test_the_lip_is_the_low_spot_of_the_rim_even_below_the_water():
    z, inside = bank(20.0, 15.0, 6.0, crest=0.6)
    notch = (EAST > 24.0) & (np.abs(NORTH - 15.0) <= 0.6)
    z = np.where(notch, np.minimum(z, -0.2), z)

    found = basin(z, inside, GRID)

    assert found.lip == pytest.approx(-0.2)
    assert found.lip_point[0] > 24.0
    assert abs(found.lip_point[1] - 15.0) <= 0.6


def test_two_bodies_do_not_flow_into_each_other():
    left, in_left = bank(13.0, 15.0, 5.0, crest=0.5)
    right, in_right = bank(27.0, 15.0, 5.0, crest=0.5)
    z = np.where(EAST < 20.0, left, right) - np.where(EAST < 20.0, 0.0, 0.3)

    upper, lower = basin(z, in_left, GRID), basin(z, in_right, GRID)

    assert not (upper.mask & lower.mask).any()
    together = sum(
        volume_below(z, level, GRID, found.mask)[0] for level, found in ((0.0, upper), (-0.3, lower))
    )
    assert together == pytest.approx(2.0 * np.pi * 25.0 * 2.5 / 3.0, rel=3e-3)


def test_islands_and_shallow_hollows_belong_to_the_basin():
    z, inside = bank(20.0, 15.0, 6.0, crest=0.6)
    z = np.where(np.hypot(EAST - 20.0, NORTH - 15.0) < 1.0, 0.4, z)
    dip = np.hypot(EAST - 26.8, NORTH - 15.0) < 0.3
    z = np.where(dip, z - 0.01, z)

    found = basin(z, inside, GRID)

    assert found.lip == pytest.approx(0.6)
    assert found.mask[60, 80]


def test_water_that_reaches_the_edge_of_the_window_is_told():
    z, inside = bank(20.0, 15.0, 6.0, crest=100.0)

    found = basin(z, inside, GRID)

    assert found.leaves_window
    assert found.lip == pytest.approx((15.0 - 6.0) * 0.5)
    assert found.lip_point in {(20.0, 0.0), (20.0, 30.0)}


def test_water_passes_along_a_diagonal_of_the_triangles_only():
    grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=7, rows=7)
    z = np.full(grid.shape, 3.0)
    inside = np.zeros(grid.shape, dtype=bool)
    inside[3, 3] = True
    z[3, 3], z[4, 4], z[5, 5] = 0.0, 1.0, 0.5

    along_even_diagonals = basin(z, inside, grid).lip
    shifted = basin(np.roll(z, 1, axis=1), np.roll(inside, 1, axis=1), grid).lip

    assert along_even_diagonals == 1.0
    assert shifted == 3.0


def test_a_body_off_the_grid_has_no_basin():
    with pytest.raises(DomainError, match="at least 1 node"):
        basin(np.zeros(GRID.shape), np.zeros(GRID.shape, dtype=bool), GRID)
