"""Elevations between the nodes lie on the two flat triangles of each cell."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at

GRID = Grid(origin_east=10.0, origin_north=-5.0, spacing=0.5, columns=7, rows=5)


def test_a_plane_comes_back_everywhere():
    east, north = np.meshgrid(GRID.east, GRID.north)
    places = np.random.default_rng(3).random((200, 2)) * [3.0, 2.0] + [10.0, -5.0]

    found = surface_at(0.3 * east - 0.7 * north + 2.0, GRID, places)

    assert found == pytest.approx(0.3 * places[:, 0] - 0.7 * places[:, 1] + 2.0, abs=1e-12)


@pytest.mark.parametrize(("column", "expected"), [(0, 0.5), (1, 0.0)])
def test_the_diagonal_of_a_cell_alternates(column, expected):
    grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=2)
    z = np.zeros(grid.shape)
    # Raised at the south-west and north-east corner of the cell asked about: its middle is 1 on an
    # even diagonal (0.5 with one corner raised), and 0 on an odd one.
    z[0, column] = 1.0

    middle = surface_at(z, grid, np.array([[column + 0.5, 0.5]]))

    assert middle[0] == expected


def test_the_edges_of_the_grid_belong_to_it():
    z = np.arange(35.0).reshape(GRID.shape)

    corners = surface_at(z, GRID, np.array([[10.0, -5.0], [13.0, -5.0], [10.0, -3.0], [13.0, -3.0]]))

    assert corners.tolist() == [0.0, 6.0, 28.0, 34.0]


@pytest.mark.parametrize("point", [(9.9, -4.0), (10.5, -2.9), (np.nan, -4.0)])
def test_a_point_outside_the_grid_has_no_elevation(point):
    with pytest.raises(DomainError, match="`points` must lie inside the grid"):
        surface_at(np.zeros(GRID.shape), GRID, np.array([point]))


def test_a_surface_of_another_shape_is_refused():
    with pytest.raises(DomainError, match="`z` must have the grid's"):
        surface_at(np.zeros((2, 2)), GRID, np.array([[10.0, -5.0]]))
