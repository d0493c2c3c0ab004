"""Every hollow filled to its own lip; the oracle is the least of all highest points on the ways out."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

from pondwright.base.errors import DomainError
from pondwright.geometry.flood import filled
from pondwright.geometry.grid import Grid


def edges_of(grid):
    """Edges of the triangles: along the rows and columns, and one diagonal in every cell."""
    for row in range(grid.rows):
        for column in range(grid.columns):
            here = row * grid.columns + column
            if column + 1 < grid.columns:
                yield here, here + 1
            if row + 1 < grid.rows:
                yield here, here + grid.columns
            if row + 1 < grid.rows and column + 1 < grid.columns:
                if (row + column) % 2 == 0:
                    yield here, here + grid.columns + 1
                else:
                    yield here + 1, here + grid.columns


def filled_by_spanning_tree(z, grid):
    """Lowest level out of each node: the highest point on its way along a least spanning tree."""
    low = z.min() - 1.0
    outside = grid.rows * grid.columns
    start, end, weight = [], [], []
    for one, two in edges_of(grid):
        start.append(one)
        end.append(two)
        weight.append(max(z.flat[one], z.flat[two]) - low)
    for node in range(outside):
        row, column = divmod(node, grid.columns)
        if row in (0, grid.rows - 1) or column in (0, grid.columns - 1):
            start.append(node)
            end.append(outside)
            weight.append(z.flat[node] - low)
    graph = coo_array((weight, (start, end)), shape=(outside + 1, outside + 1)).tocsr()
    tree = minimum_spanning_tree(graph)
    order, before = breadth_first_order(tree, outside, directed=False)
    whole = (tree + tree.T).tocsr()
    level = np.full(outside + 1, -np.inf)
    for node in order[1:]:
        level[node] = max(level[before[node]], whole[node, before[node]] + low)
    return level[:-1].reshape(grid.shape)


@given(arrays.arrays(np.float64, (7, 8), elements=st.integers(0, 9).map(float)))
def test_filling_agrees_with_a_least_spanning_tree(z):
    grid = Grid(0.0, 0.0, 1.0, 8, 7)

    assert filled(z, grid) == pytest.approx(filled_by_spanning_tree(z, grid))


@given(arrays.arrays(np.float64, (6, 6), elements=st.floats(-50.0, 50.0)))
def test_a_filled_surface_is_nowhere_lower_and_stays_when_filled_again(z):
    grid = Grid(0.0, 0.0, 1.0, 6, 6)
    water = filled(z, grid)

    assert (water >= z).all()
    assert np.array_equal(filled(water, grid), water)


def test_a_plane_holds_no_water():
    grid = Grid(0.0, 0.0, 1.0, 9, 9)
    z = np.tile(0.1 * grid.east, (9, 1))

    assert np.array_equal(filled(z, grid), z)


def test_a_surface_that_does_not_fit_the_grid_is_refused():
    with pytest.raises(DomainError, match="`z` must have the grid's"):
        filled(np.zeros((3, 3)), Grid(0.0, 0.0, 1.0, 4, 3))
