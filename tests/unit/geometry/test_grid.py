"""The grid: where nodes are, what is counted, what is refused."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid

GRID = Grid(origin_east=10.0, origin_north=-2.0, spacing=0.25, columns=5, rows=3)


def test_columns_and_rows_count_nodes_and_cells_lie_between_them():
    shapes = GRID.shape, GRID.cells_shape

    assert shapes == ((3, 5), (2, 4))


def test_nodes_run_east_along_columns_and_north_along_rows():
    nodes = GRID.east.tolist(), GRID.north.tolist()

    assert nodes == ([10.0, 10.25, 10.5, 10.75, 11.0], [-2.0, -1.75, -1.5])


def test_the_extent_is_that_of_the_nodes():
    extent = GRID.extent

    assert extent == (10.0, -2.0, 11.0, -1.5)


def test_the_area_of_a_cell_is_the_square_of_the_spacing():
    area = GRID.cell_area

    assert area == 0.0625


def test_coordinates_cannot_be_written():
    east = GRID.east

    with pytest.raises(ValueError, match="read-only"):
        east[0] = 0.0


def test_equal_grids_are_equal_and_serve_as_keys():
    twin = Grid(10.0, -2.0, 0.25, 5, 3)

    assert {GRID: 1}[twin] == 1


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"spacing": 0.0}, "`spacing` must be above 0 m, got 0.0 m"),
        ({"spacing": -1.0}, "`spacing` must be above 0 m, got -1.0 m"),
        ({"spacing": np.inf}, "`spacing` must be above 0 m, got inf m"),
        ({"origin_east": np.nan}, "`origin_east` must be a finite number, got nan m"),
        ({"origin_north": np.inf}, "`origin_north` must be a finite number, got inf m"),
        ({"columns": 1}, "`columns` must be at least 2 nodes, got 1"),
        ({"rows": 0}, "`rows` must be at least 2 nodes, got 0"),
    ],
)
def test_a_grid_that_is_none_is_refused_in_one_sentence(change, says):
    given = {"origin_east": 0.0, "origin_north": 0.0, "spacing": 1.0, "columns": 2, "rows": 2} | change

    with pytest.raises(DomainError) as refused:
        Grid(**given)

    assert str(refused.value) == says
