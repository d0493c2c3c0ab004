"""The signed distance: exact beside a general geometry library, signed by the even-odd rule."""

import numpy as np
import pytest
import shapely

from pondwright.base.errors import DomainError
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import ring_edges

GRID = Grid(origin_east=-1.0, origin_north=-2.0, spacing=0.13, columns=150, rows=97)
PEGS = [[2, 1], [8, 0.5], [15, 2], [16, 7], [11, 6], [9.5, 9], [4, 8.5], [1, 5]]
OUTER = closed_curve(PEGS, [False, False, True, False, False, False, True, False]).points
ISLAND = closed_curve([[4, 3], [6, 3.5], [5, 5]], [False] * 3).points


def nodes(grid):
    return np.meshgrid(grid.east, grid.north)


def exact(grid, rings):
    """The same by shapely, node by node."""
    body = shapely.Polygon(rings[0], rings[1:])
    points = shapely.points(*nodes(grid))
    distance = shapely.distance(points, body.boundary)
    return np.where(shapely.contains(body, points), distance, -distance)


def by_brute_force(grid, rings):
    """Unsigned distance by the same formula, over every segment and without any tile."""
    east, north = nodes(grid)
    least = np.full(grid.shape, np.inf)
    for x, y, end_x, end_y in ring_edges(rings):
        along_x, along_y = end_x - x, end_y - y
        squared = along_x * along_x + along_y * along_y
        to_x, to_y = east - x, north - y
        share = (to_x * along_x + to_y * along_y) * (1.0 / squared if squared > 0.0 else 0.0)
        share = np.clip(share, 0.0, 1.0)
        off_x, off_y = to_x - share * along_x, to_y - share * along_y
        least = np.minimum(least, off_x * off_x + off_y * off_y)
    return np.sqrt(least)


@pytest.mark.parametrize("rings", [[OUTER], [OUTER, ISLAND]], ids=["pond", "pond with an island"])
def test_the_distance_is_exact(rings):
    distance = signed_distance(GRID, rings)

    assert distance == pytest.approx(exact(GRID, rings), abs=1e-14)


def test_tiles_do_not_change_even_the_last_bit():
    distance = signed_distance(GRID, [OUTER, ISLAND])

    assert (np.abs(distance) == by_brute_force(GRID, [OUTER, ISLAND])).all()


@pytest.mark.parametrize(("columns", "rows"), [(2, 2), (3, 70), (16, 17), (64, 65), (129, 2)])
def test_grids_that_fill_no_whole_tile_are_exact_too(columns, rows):
    grid = Grid(3.0, 2.0, 0.11, columns, rows)

    distance = signed_distance(grid, [OUTER, ISLAND])

    assert (np.abs(distance) == by_brute_force(grid, [OUTER, ISLAND])).all()
    assert distance == pytest.approx(exact(grid, [OUTER, ISLAND]), abs=1e-14)


def test_long_segments_are_as_exact_as_short_ones():
    square = np.array([[0.0, 0.0], [12.0, 0.0], [12.0, 9.0], [0.0, 9.0]])

    distance = signed_distance(GRID, [square])

    assert distance == pytest.approx(exact(GRID, [square]), abs=1e-14)


def test_the_directions_of_the_rings_do_not_matter():
    distance = signed_distance(GRID, [OUTER, ISLAND])

    assert (np.sign(signed_distance(GRID, [OUTER[::-1], ISLAND])) == np.sign(distance)).all()
    assert signed_distance(GRID, [OUTER, ISLAND[::-1]]) == pytest.approx(distance, abs=1e-14)


def test_an_island_and_the_land_are_outside_and_the_water_is_inside():
    grid = Grid(5.0, 4.0, 2.0, 6, 2)

    signs = np.sign(signed_distance(grid, [OUTER, ISLAND]))[0]

    assert signs.tolist() == [-1, 1, 1, 1, 1, 1]


def test_a_node_on_the_ring_has_distance_zero_without_a_sign():
    grid = Grid(0.0, 0.0, 1.0, 4, 4)

    distance = signed_distance(grid, [[[0, 0], [3, 0], [3, 3], [0, 3]]])

    edge = np.concatenate([distance[0], distance[-1], distance[:, 0], distance[:, -1]])
    assert (edge == 0.0).all()
    assert not np.signbit(edge).any()
    assert distance[1:-1, 1:-1].tolist() == [[1, 1], [1, 1]]


def test_a_row_of_nodes_through_corners_is_signed_right():
    diamond = [[0, 2], [2, 0], [4, 2], [2, 4]]

    distance = signed_distance(Grid(-1.0, 0.0, 1.0, 7, 5), [diamond])

    signs = np.sign(np.where(np.abs(distance) < 1e-12, 0.0, distance))
    assert signs[2].tolist() == [-1, 0, 1, 1, 1, 0, -1]
    assert signs[0].tolist() == [-1, -1, -1, 0, -1, -1, -1]
    assert signs[4].tolist() == [-1, -1, -1, 0, -1, -1, -1]


def test_corners_that_stand_twice_do_no_harm():
    distance = signed_distance(GRID, [np.repeat(OUTER, 2, axis=0)])

    assert (distance == signed_distance(GRID, [OUTER])).all()


def test_each_lobe_of_a_ring_that_crosses_itself_is_inside():
    grid = Grid(0.0, 0.0, 0.5, 9, 9)

    distance = signed_distance(grid, [[[0, 0], [4, 4], [4, 0], [0, 4]]])

    assert distance[4, 1] > 0.0
    assert distance[4, 7] > 0.0
    assert distance[1, 4] < 0.0


def test_the_field_cannot_be_written_and_read_only_rings_are_taken():
    assert not OUTER.flags.writeable

    distance = signed_distance(GRID, [OUTER])

    assert not distance.flags.writeable


@pytest.mark.parametrize(
    ("rings", "says"),
    [
        ([], "`rings` must hold at least one ring, got none"),
        ([[[0, 0], [1, 1]]], "`ring` must have at least 3 corners, got an array (2, 2)"),
        ([[[0, 0], [1, 1], [np.nan, 0]]], "`ring` must be finite numbers, got one that is not"),
    ],
)
def test_rings_that_are_none_are_refused_in_one_sentence(rings, says):
    with pytest.raises(DomainError) as refused:
        signed_distance(GRID, rings)

    assert str(refused.value) == says
