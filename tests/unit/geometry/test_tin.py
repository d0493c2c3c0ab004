"""The triangulated ground: what it keeps, what it reports, and its heights on a grid."""

from math import log2

import numpy as np
import pytest
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.geometry.tin import node_sigma, shot_weights, tin_to_grid, triangulate

SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
GRID = Grid(origin_east=-2.0, origin_north=-2.0, spacing=0.25, columns=57, rows=57)
EAST, NORTH = np.meshgrid(GRID.east, GRID.north)


def scattered(count, seed=1):
    """Shots over the square and its four corners."""
    return np.vstack([SQUARE, np.random.default_rng(seed).random((count - 4, 2)) * 10.0])


def waves(points):
    """A smooth ground."""
    return 0.3 * np.sin(points[..., 0] / 2.0) * np.cos(points[..., 1] / 3.0)


def test_a_plane_comes_back_at_every_node_under_the_triangles():
    points = scattered(60)
    tin = triangulate(points, 0.2 * points[:, 0] - 0.1 * points[:, 1] + 3.0)

    found = tin_to_grid(tin, GRID)

    covered = (EAST >= 0) & (EAST <= 10) & (NORTH >= 0) & (NORTH <= 10)
    assert found.z[covered] == pytest.approx((0.2 * EAST - 0.1 * NORTH + 3.0)[covered], abs=1e-13)
    assert ((found.triangle >= 0) == covered).all()


def test_without_breaklines_it_is_the_linear_interpolation_of_scipy():
    points = scattered(400)
    grid = Grid(0.03, 0.04, 0.05, 199, 199)
    places = np.stack(np.meshgrid(grid.east, grid.north), axis=-1)

    found = tin_to_grid(triangulate(points, waves(points)), grid)

    oracle = LinearNDInterpolator(Delaunay(points), waves(points))(places)
    assert found.z == pytest.approx(oracle, abs=1e-12)


def test_breaklines_on_the_rulings_keep_a_saddle_that_is_straight_along_them():
    # z = x y is straight along lines of constant y: with those as breaklines, all points on them are exact.
    side = np.arange(0.0, 10.1, 2.5)
    points = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
    rows = np.arange(25).reshape(5, 5)
    edges = np.column_stack([rows[:, :-1].ravel(), rows[:, 1:].ravel()])

    found = tin_to_grid(triangulate(points, points[:, 0] * points[:, 1], edges), GRID)

    on_rulings = np.isin(NORTH, side) & (EAST >= 0) & (EAST <= 10)
    assert found.z[on_rulings] == pytest.approx((EAST * NORTH)[on_rulings], abs=1e-12)


def test_the_error_falls_with_the_square_of_the_spacing_of_the_shots():
    errors = []
    for steps in (8, 16, 32):
        side = np.linspace(0.0, 10.0, steps + 1)
        points = np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)
        grid = Grid(0.0, 0.0, 0.05, 201, 201)
        truth = waves(np.stack(np.meshgrid(grid.east, grid.north), axis=-1))
        found = tin_to_grid(triangulate(points, waves(points)), grid).z
        errors.append(np.sqrt(((found - truth) ** 2).mean()))

    assert log2(errors[0] / errors[-1]) / 2.0 >= 1.8


def test_a_shot_on_a_node_gives_the_node_its_height():
    points = np.vstack([SQUARE, [[2.5, 7.25]]])

    found = tin_to_grid(triangulate(points, np.array([0.0, 0.0, 0.0, 0.0, 4.0])), GRID)

    assert found.z[37, 18] == 4.0
    assert found.known[37, 18] == 1


def test_a_breakline_is_an_edge_whatever_delaunay_would_choose():
    points = np.array([[0.0, 0.0], [5.0, -1.0], [10.0, 0.0], [5.0, 1.0]])
    heights = np.array([0.0, 9.0, 0.0, 9.0])

    ridge = tin_to_grid(triangulate(points, heights, edges=[(1, 3)]), GRID).z[8, 28]
    ditch = tin_to_grid(triangulate(points, heights, edges=[(0, 2)]), GRID).z[8, 28]

    assert (ridge, ditch) == (9.0, 0.0)


def test_duplicates_of_one_height_are_merged_and_of_two_heights_are_told():
    points = np.vstack([SQUARE, [[0.0005, 0.0], [10.0, 0.0]]])
    heights = np.array([1.0, 1.0, 1.0, 1.0, 1.0004, 3.0])

    tin = triangulate(points, heights)

    assert (tin.measured, tin.shots) == (4, 6)
    (problem,) = tin.problems
    assert (problem.kind, problem.shots, problem.point) == ("duplicate", (1, 5), (10.0, 0.0))
    assert (problem.held, problem.other) == (1.0, 3.0)
    assert tin.elevations.tolist() == [1.0, 1.0, 1.0, 1.0]


@pytest.mark.parametrize(
    ("edges", "height", "concerned"),
    [([(0, 2), (1, 3)], 2.0, (0, 2, 1, 3)), ([(1, 3), (0, 2)], 5.0, (1, 3, 0, 2))],
)
def test_where_breaklines_cross_the_first_listed_holds_its_height(edges, height, concerned):
    tin = triangulate(SQUARE, np.array([1.0, 4.0, 3.0, 6.0]), edges)

    (problem,) = tin.problems
    assert (problem.kind, problem.shots) == ("crossing", concerned)
    assert problem.point == pytest.approx((5.0, 5.0))
    assert (problem.held, problem.other) == pytest.approx((height, 7.0 - height))
    assert tin_to_grid(tin, GRID).z[28, 28] == pytest.approx(height)


def test_breaklines_that_cross_at_one_height_are_no_problem():
    tin = triangulate(SQUARE, np.array([1.0, 4.0, 7.0, 4.0]), edges=[(0, 2), (1, 3)])

    assert tin.problems == ()
    assert tin.elevations[-1] == pytest.approx(4.0)


def test_a_crossing_lies_along_its_line_not_half_way():
    points = np.array([[0.0, 0.0], [10.0, 0.0], [2.0, -3.0], [2.0, 3.0]])

    tin = triangulate(points, np.array([0.0, 10.0, 5.0, 5.0]), edges=[(0, 1), (2, 3)])

    assert tin.elevations[-1] == pytest.approx(2.0)
    assert tin.problems[0].other == pytest.approx(5.0)


def test_a_shot_on_a_breakline_holds_its_height_and_is_told():
    points = np.vstack([SQUARE, [[5.0, 5.0]]])

    tin = triangulate(points, np.array([0.0, 0.0, 0.0, 0.0, 2.0]), edges=[(0, 2)])

    (problem,) = tin.problems
    assert (problem.kind, problem.shots) == ("touching", (4, 0, 2))
    assert (problem.held, problem.other) == (2.0, 0.0)


def test_the_ground_outside_the_hull_carries_the_nearest_edge_on():
    tin = triangulate(SQUARE, np.array([0.0, 10.0, 10.0, 0.0]))

    found = tin_to_grid(tin, GRID)

    assert found.z == pytest.approx(np.clip(EAST, 0.0, 10.0), abs=1e-12)
    assert found.known[28, 0] == 3
    assert found.triangle[28, 0] == -1


def test_the_ground_outside_the_limit_carries_the_limit_on():
    points = scattered(300)
    limit = np.array([[2.0, 2.0], [8.0, 2.0], [8.0, 8.0], [2.0, 8.0]])
    tin = triangulate(points, waves(points), limit=limit)

    found = tin_to_grid(tin, GRID)

    free = tin_to_grid(triangulate(points, waves(points)), GRID)
    inside = (EAST >= 2) & (EAST <= 8) & (NORTH >= 2) & (NORTH <= 8)
    assert (found.z[inside] == free.z[inside]).all()
    carried = surface_at(free.z, GRID, np.column_stack([EAST.ravel(), NORTH.ravel()]).clip(2.0, 8.0)).reshape(
        GRID.shape
    )
    assert found.z == pytest.approx(carried, abs=1e-12)
    assert (found.known[~inside] == 3).all()
    assert (found.known[inside] < 3).all()


def test_a_void_is_guessed_and_moves_nothing():
    points = scattered(300)
    void = np.array([[3.0, 3.0], [6.0, 3.0], [6.0, 6.0], [3.0, 6.0]])

    found = tin_to_grid(triangulate(points, waves(points), voids=[void]), GRID)

    free = tin_to_grid(triangulate(points, waves(points)), GRID)
    within = (EAST > 3) & (EAST < 6) & (NORTH > 3) & (NORTH < 6)
    assert (found.z == free.z).all()
    assert (found.known[within] == 3).all()
    assert (found.known[~within] == free.known[~within]).all()


def test_a_node_within_one_spacing_of_a_shot_is_known_by_it():
    points = np.vstack([SQUARE, [[5.1, 5.1]]])

    found = tin_to_grid(triangulate(points, np.zeros(5)), GRID)

    near = np.hypot(EAST - 5.1, NORTH - 5.1) <= 0.25
    assert (found.known[near] == 1).all()
    assert found.known[28, 32] == 2


def test_flat_triangles_along_the_outside_are_doubtful():
    # An L of shots every metre: Delaunay closes its inner corner with flat triangles.
    arm = np.arange(0.0, 10.1)
    points = np.vstack([
        np.column_stack([arm, np.zeros(11)]), np.column_stack([arm, np.ones(11)]),
        np.column_stack([np.zeros(9), arm[2:]]), np.column_stack([np.ones(9), arm[2:]]),
    ])  # fmt: skip

    found = tin_to_grid(triangulate(points, np.zeros(len(points))), GRID)

    assert found.known[22, 22] == 3
    assert found.triangle[22, 22] >= 0
    assert (found.known[8:13, 8:49] < 3).all()


def test_long_triangles_along_the_outside_are_doubtful():
    points = np.vstack([SQUARE, [[40.0, 5.0]]])

    believed = triangulate(points, np.zeros(5))
    doubted = triangulate(points, np.zeros(5), longest_edge=20.0)

    assert believed.doubtful.sum() == 0
    assert doubted.triangles[doubted.doubtful].tolist() == [
        triangle for triangle in doubted.triangles.tolist() if 4 in triangle
    ]


def test_a_breakline_along_the_outside_is_believed_however_long():
    points = np.array([[0.0, 0.0], [10.0, 0.0], [5.0, 0.6]])

    assert triangulate(points, np.zeros(3)).doubtful.tolist() == [True]
    assert triangulate(points, np.zeros(3), edges=[(0, 1), (1, 2), (2, 0)]).doubtful.tolist() == [False]


def test_the_weights_of_the_shots_are_the_transpose_of_the_gridding():
    points = np.vstack([scattered(40), [[0.0, 0.0]]])
    heights = np.append(waves(points[:-1]), 9.0)
    settings = {"edges": [(0, 2), (1, 3)], "limit": np.array([[1.0, 1.0], [9.0, 2.0], [7.0, 9.0]])}
    weight = np.random.default_rng(2).normal(size=GRID.shape)
    other = heights + np.random.default_rng(3).normal(size=len(heights))

    weights = shot_weights(triangulate(points, heights, **settings), GRID, weight)

    change = sum(
        sign * (weight * tin_to_grid(triangulate(points, z, **settings), GRID).z).sum()
        for sign, z in ((1.0, other), (-1.0, heights))
    )
    assert weights @ (other - heights) == pytest.approx(change, rel=1e-9)
    assert weights[-1] == 0.0


def test_the_spread_at_a_node_is_that_of_a_weighted_mean():
    tin = triangulate(SQUARE, np.zeros(4), edges=[(0, 2)])

    spread = node_sigma(tin, GRID, np.array([0.02, 0.05, 0.04, 0.05]))

    assert spread[8, 8] == pytest.approx(0.02)
    assert spread[28, 28] == pytest.approx(np.hypot(0.01, 0.02))
    assert spread[0, 0] == pytest.approx(0.02)


@pytest.mark.parametrize(
    ("points", "elevations", "edges", "rule"),
    [
        ([[0.0, 0.0], [1.0, 0.0]], [1.0, 2.0], [], "at least 3 rows"),
        ([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]], [1.0, 2.0, 3.0], [], "do not stand on one line"),
        ([[0.0, 0.0], [1.0, 0.0], [0.0, np.nan]], [1.0, 2.0, 3.0], [], "`points` must be finite"),
        ([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]], [1.0, 2.0], [], "`elevations` must be 3"),
        ([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]], [1.0, 2.0, 3.0], [(0, 3)], "`edges` must name shots 0 to 2"),
    ],
)
def test_shots_that_make_no_ground_are_refused(points, elevations, edges, rule):
    with pytest.raises(DomainError, match=rule):
        triangulate(np.array(points), np.array(elevations), edges)


def test_a_ring_of_two_points_and_a_longest_edge_of_nothing_are_refused():
    with pytest.raises(DomainError, match="`limit` must be rings of at least 3"):
        triangulate(SQUARE, np.zeros(4), limit=SQUARE[:2])
    with pytest.raises(DomainError, match="`longest_edge` must be above 0"):
        triangulate(SQUARE, np.zeros(4), longest_edge=0.0)
