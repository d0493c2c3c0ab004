"""The area of a body in each cell: exact beside box-by-box intersection."""

import numpy as np
import pytest
import shapely

from pondwright.base.errors import DomainError
from pondwright.geometry.coverage import covered_area, ring_coverage
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import enclosed_area

GRID = Grid(origin_east=-1.0, origin_north=-1.0, spacing=0.37, columns=52, rows=33)
PEGS = [[2, 1], [8, 0.5], [15, 2], [16, 7], [11, 6], [9.5, 9], [4, 8.5], [1, 5]]
OUTER = closed_curve(PEGS, [False, False, True, False, False, False, True, False]).points
ISLAND = closed_curve([[4, 3], [6, 3.5], [5, 5]], [False] * 3).points
SQUARE = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])


def intersected(grid, body):
    """The same by shapely, one box for each cell."""
    east, north = np.meshgrid(grid.east, grid.north)
    cells = shapely.box(east[:-1, :-1], north[:-1, :-1], east[1:, 1:], north[1:, 1:])
    return shapely.area(shapely.intersection(cells, body))


@pytest.mark.parametrize("rings", [[OUTER], [OUTER, ISLAND]], ids=["pond", "pond with an island"])
def test_every_cell_is_exact(rings):
    coverage = ring_coverage(GRID, rings)

    assert coverage == pytest.approx(intersected(GRID, shapely.Polygon(rings[0], rings[1:])), abs=1e-14)


def test_the_cells_add_up_to_the_area_of_the_body():
    area = covered_area(GRID, [OUTER, ISLAND])

    assert area == pytest.approx(enclosed_area([OUTER, ISLAND]), rel=1e-14)


def test_the_directions_of_the_rings_do_not_matter():
    coverage = ring_coverage(GRID, [OUTER, ISLAND])

    for rings in ([OUTER[::-1], ISLAND], [OUTER, ISLAND[::-1]], [OUTER[::-1], ISLAND[::-1]]):
        assert ring_coverage(GRID, rings) == pytest.approx(coverage, abs=1e-15)


@pytest.mark.parametrize(
    "window",
    [
        Grid(5.0, -1.0, 0.37, 60, 33),
        Grid(-9.0, -1.0, 0.37, 40, 33),
        Grid(-1.0, 4.0, 0.37, 52, 33),
        Grid(-1.0, -9.0, 0.37, 52, 40),
        Grid(4.1, 2.9, 0.11, 21, 23),
        Grid(40.0, 2.0, 0.5, 5, 5),
        Grid(-40.0, 2.0, 0.5, 5, 5),
    ],
    ids=["cut west", "cut east", "cut south", "cut north", "all within", "beyond east", "beyond west"],
)
def test_a_body_that_reaches_beyond_the_grid_is_cut_exactly(window):
    coverage = ring_coverage(window, [OUTER, ISLAND])

    assert coverage == pytest.approx(intersected(window, shapely.Polygon(OUTER, [ISLAND])), abs=1e-14)


def test_edges_along_the_lines_of_the_grid_fill_whole_cells():
    coverage = ring_coverage(Grid(-1.0, -1.0, 1.0, 7, 6), [SQUARE])

    expected = np.zeros((5, 6))
    expected[1:4, 1:5] = 1.0
    assert (coverage == expected).all()


def test_cells_outside_are_exactly_zero_and_cells_inside_exactly_full():
    coverage = ring_coverage(GRID, [OUTER])

    body = shapely.Polygon(OUTER)
    expected = intersected(GRID, body)
    assert (coverage[expected == 0.0] == 0.0).all()
    assert (coverage.max(), coverage.min()) == (GRID.cell_area, 0.0)


def test_a_thin_body_inside_one_cell_is_not_lost():
    sliver = np.array([[0.2, 0.2], [0.8, 0.200001], [0.8, 0.200002]])

    area = covered_area(Grid(0.0, 0.0, 1.0, 2, 2), [sliver])

    assert area == pytest.approx(3e-7, rel=1e-6)


def test_both_lobes_of_a_ring_that_crosses_itself_count():
    eight = np.array([[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]])

    coverage = ring_coverage(Grid(0.0, 0.0, 1.0, 5, 5), [eight])

    assert coverage.sum() == pytest.approx(8.0)
    assert coverage.min() == 0.0


def test_water_on_an_island_is_water():
    rings = [SQUARE, 0.5 + 0.75 * SQUARE, 1.0 + 0.25 * SQUARE]

    area = covered_area(Grid(-1.0, -1.0, 0.5, 15, 15), rings)

    assert area == pytest.approx(12.0 * (1 - 0.75**2 + 0.25**2))


def test_the_coverage_cannot_be_written():
    coverage = ring_coverage(GRID, [OUTER])

    assert not coverage.flags.writeable


def test_a_body_has_at_least_one_ring():
    with pytest.raises(DomainError, match="`rings` must hold at least one ring, got none"):
        ring_coverage(GRID, [])
