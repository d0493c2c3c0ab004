"""True area of a liner: closed forms, turned and shifted."""

import math

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.lining.area import Bank, LinerGround, liner_area, liner_mesh
from tests.unit.lining.ponds import hipped_pit, wavy_pond

HIPPED = Bank(np.array([-99.0, 0.0, 2.0]), np.array([0.5, 0.5, 0.0]), np.empty(0), np.empty(0))
SHELF = Bank(np.array([-99.0]), np.array([0.0]), np.array([1.0]), np.array([0.3]))


def round_pond(radius=6.0, spacing=0.1):
    """Distance to a round shore."""
    count = round(18.0 / spacing) + 1
    grid = Grid(0.0, 0.0, spacing, count, count)
    east, north = np.meshgrid(grid.east - 9.0, grid.north - 9.0)
    return grid, radius - np.hypot(east, north)


@pytest.mark.parametrize("turned", [0.0, 17.0, 45.0])
def test_a_hipped_pit_has_its_exact_area_however_it_is_turned(turned):
    ground = hipped_pit(math.radians(turned))

    found = liner_area(ground.distance, ground.grid, [HIPPED], 0.0)

    assert found == pytest.approx(32.0 + 32.0 * math.sqrt(5.0), rel=1e-4)


def test_a_riser_adds_its_face():
    grid, distance = round_pond()

    found = liner_area(distance, grid, [SHELF], 0.0)

    assert found == pytest.approx(math.pi * 36.0 + 0.3 * 2.0 * math.pi * 5.0, rel=1e-4)


def test_what_lies_beyond_the_shore_counts_as_far_as_the_liner_reaches():
    grid, distance = round_pond()
    flat = Bank(np.array([-99.0]), np.array([0.0]), np.empty(0), np.empty(0))

    assert liner_area(distance, grid, [flat], 0.6) == pytest.approx(math.pi * 6.6**2, rel=1e-4)


def test_banks_that_share_a_shore_count_by_their_shares():
    grid, distance = round_pond()
    east = np.broadcast_to(grid.east >= 9.0, grid.shape).astype(np.float64)
    steep = Bank(np.array([-99.0]), np.array([1.0]), np.empty(0), np.empty(0), east)
    flat = Bank(np.array([-99.0]), np.array([0.0]), np.empty(0), np.empty(0), 1.0 - east)

    found = liner_area(distance, grid, [steep, flat], 0.0)

    assert found == pytest.approx(0.5 * math.pi * 36.0 * (1.0 + math.sqrt(2.0)), rel=1e-2)


def test_triangles_and_bands_agree_on_a_wavy_pond():
    from tests.unit.lining.ponds import PROFILE, RISERS

    ground = wavy_pond(5, 0.1)
    offsets, heights = np.array(PROFILE[0]), np.array(PROFILE[1])
    slopes = np.append(np.diff(heights) / np.diff(offsets), 0.0)
    bank = Bank(offsets, slopes, *np.array(RISERS).T)

    assert liner_mesh(ground, 0.6).area == pytest.approx(
        liner_area(ground.distance, ground.grid, [bank], 0.6), rel=0.01
    )


def test_sides_that_make_no_triangle_are_made_longer_and_never_shorter():
    grid = Grid(0.0, 0.0, 1.0, 3, 3)
    steps = np.array([[0.0, 5.0, 0.0], [5.0, 0.0, 5.0], [0.0, 5.0, 0.0]])
    mesh = liner_mesh(LinerGround(grid, np.zeros((3, 3)), steps, np.ones((3, 3))), 0.0)

    longest = mesh.sides.max(axis=1)

    assert (mesh.sides.sum(axis=1) - longest >= longest).all()
    assert np.isfinite(mesh.area)


def test_a_liner_beside_the_grid_is_refused():
    grid = Grid(0.0, 0.0, 1.0, 3, 3)
    with pytest.raises(DomainError, match="under the liner"):
        liner_mesh(LinerGround(grid, np.zeros((3, 3)), np.zeros((3, 3)), np.full((3, 3), -5.0)), 0.0)
