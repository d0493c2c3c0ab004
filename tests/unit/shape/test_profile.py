"""Profiles of banks: risers split off, walls, and the true area under water."""

import math

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import signed_area
from pondwright.rooms.shape.profile import Wall, bank_profile, depth_at, riser_walls, wetted_area

STEPPED = [(0.0, 0.0), (0.0, 0.3), (0.75, 0.3), (0.75, 0.7), (1.75, 0.7), (2.95, 1.5)]


def polygon(radius, corners=720):
    angles = 2.0 * math.pi * np.arange(corners) / corners
    return np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])


def square_grid(half, spacing):
    count = round(2.0 * half / spacing) + 1
    return Grid(-half, -half, spacing, count, count)


def test_a_profile_keeps_its_risers_apart_from_what_is_continuous():
    profile = bank_profile(STEPPED)

    assert profile.risers.tolist() == [0.0, 0.75]
    assert profile.heights == pytest.approx([0.3, 0.4])
    assert profile.knots.tolist() == [0.0, 0.75, 1.75, 2.95]
    assert profile.depths == pytest.approx([0.0, 0.0, 0.0, 0.8])
    assert profile.floor_depth == pytest.approx(1.5)


def test_zones_are_counted_by_points_so_that_a_riser_is_a_zone_too():
    assert bank_profile(STEPPED).zones.tolist() == [1, 3, 4, 5]


def test_depth_follows_the_points_and_then_the_floor():
    depths = depth_at(bank_profile(STEPPED), np.array([0.0, 0.5, 0.75, 1.75, 2.35, 50.0]))

    assert depths == pytest.approx([0.3, 0.3, 0.7, 0.7, 1.1, 1.5])


def test_a_profile_that_starts_off_the_shore_starts_at_the_water():
    profile = bank_profile([(1.0, 0.5)])

    assert depth_at(profile, np.array([0.0, 0.5, 3.0])) == pytest.approx([0.0, 0.25, 0.5])


@pytest.mark.parametrize("points", [[], [(-0.1, 0.0)], [(1.0, 0.2), (0.5, 0.4)]])
def test_a_profile_that_runs_backward_is_refused(points):
    with pytest.raises(DomainError, match="`points` must have distances"):
        bank_profile(points)


def test_a_riser_at_the_shore_is_a_wall_along_the_ring():
    ring = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])
    grid = Grid(-1.0, -1.0, 0.1, 61, 51)
    profile = bank_profile([(0.0, 0.0), (0.0, 0.3)])

    (wall,) = riser_walls(profile, signed_distance(grid, [ring]), grid, 10.0, [ring])

    assert (wall.bottom, wall.top) == pytest.approx((9.7, 10.0))
    assert wall.area == pytest.approx(14.0 * 0.3)


def test_an_inner_riser_is_a_wall_along_the_line_of_equal_distance():
    ring = polygon(8.0)
    grid = square_grid(9.0, 0.1)
    profile = bank_profile([(0.0, 0.0), (2.0, 0.4), (2.0, 0.9)])

    (wall,) = riser_walls(profile, signed_distance(grid, [ring]), grid, 0.0, [ring])

    assert (wall.bottom, wall.top) == pytest.approx((-0.9, -0.4))
    assert wall.area == pytest.approx(2.0 * math.pi * 6.0 * 0.5, rel=1e-4)


def test_the_wetted_area_of_a_frustum_is_its_closed_form():
    """A regular polygon of 720 sides, radius 8 m, 1.2 m deep at 3:1: 208.64531 m²; hand."""
    ring = polygon(8.0)
    grid = square_grid(9.0, 0.1)
    profile = bank_profile([(0.0, 0.0), (3.6, 1.2)])

    found = wetted_area(profile, signed_distance(grid, [ring]), grid, signed_area(ring), [])

    assert found == pytest.approx(208.64531019, rel=3e-5)


def test_the_wetted_area_of_a_hipped_pit_counts_floor_and_slopes():
    """12 x 8 m at 2:1, 1 m deep: 32 + 32 √5 m²; hand."""
    ring = np.array([[0.0, 0.0], [12.0, 0.0], [12.0, 8.0], [0.0, 8.0]])
    grid = Grid(-1.0, -1.0, 0.1, 141, 101)
    profile = bank_profile([(0.0, 0.0), (2.0, 1.0)])

    found = wetted_area(profile, signed_distance(grid, [ring]), grid, 96.0, [])

    assert found == pytest.approx(32.0 + 32.0 * math.sqrt(5.0), rel=1e-4)


def test_walls_count_in_the_wetted_area():
    grid = Grid(0.0, 0.0, 1.0, 3, 3)
    wall = Wall(np.array([[0.0, 0.0], [3.0, 0.0]]), 1.0, 1.5)

    found = wetted_area(bank_profile([(0.0, 0.0)]), np.ones((3, 3)), grid, 4.0, [wall])

    assert found == pytest.approx(4.0 + 1.5)
