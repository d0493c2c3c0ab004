"""The existing ground: default grid, surface, how it is known, and thin triangles."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import TinGrid, triangulate
from pondwright.rooms.site.ground import (
    GUESSED,
    INTERPOLATED,
    SHOT,
    default_grid,
    existing_ground,
    ground_uncertainty,
    invented_triangles,
    survey_area,
    triangle_areas,
    widened_grid,
)
from pondwright.rooms.site.uncertainty import GroundUncertainty

SQUARE = np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0], [9.0, 11.0]])
survey = arrays(np.float64, (8, 2), elements=st.floats(-300.0, 300.0, width=32))


def test_without_a_shot_there_is_no_grid() -> None:
    with pytest.raises(DomainError, match="`shots` must hold at least one shot"):
        default_grid(np.empty((0, 2)))


def test_a_single_shot_still_has_a_grid_around_it() -> None:
    grid = default_grid(np.array([[100.0, 200.0]]))

    west, south, east, north = grid.extent
    assert west <= 95.0 < 105.0 <= east
    assert south <= 195.0 < 205.0 <= north


@given(survey)
def test_the_default_grid_holds_every_shot_and_stays_small(points: np.ndarray) -> None:
    grid = default_grid(points)

    west, south, east, north = grid.extent
    assert (points >= [west + 4.999, south + 4.999]).all()
    assert (points <= [east - 4.999, north - 4.999]).all()
    assert max(grid.shape) <= 300 + 2 * 10 + 1


@given(survey)
def test_the_nodes_of_the_default_grid_lie_on_whole_spacings(points: np.ndarray) -> None:
    grid = default_grid(points)

    steps = np.array([grid.origin_east, grid.origin_north]) / grid.spacing
    assert steps == pytest.approx(np.rint(steps), abs=1e-4)


def test_a_shot_inside_the_survey_does_not_move_the_default_grid() -> None:
    more = np.vstack([SQUARE, [[3.0, 17.0]]])

    assert default_grid(more) == default_grid(SQUARE)


def test_a_shot_just_outside_adds_nodes_and_moves_none() -> None:
    square = 1.25 * SQUARE
    before, after = default_grid(square), default_grid(np.vstack([square, [[25.9, 8.0]]]))

    assert after.spacing == before.spacing
    assert set(np.round(before.east, 6)) <= set(np.round(after.east, 6))


@given(st.floats(-80.0, 80.0), st.floats(-80.0, 80.0))
def test_a_widened_grid_keeps_its_nodes_and_holds_the_place(east: float, north: float) -> None:
    grid = Grid(origin_east=1.3, origin_north=-2.1, spacing=0.25, columns=41, rows=33)
    wider = widened_grid(grid, np.array([[east, north]]))

    low_east, low_north, high_east, high_north = wider.extent
    assert low_east + 4.99 <= east <= high_east - 4.99
    assert low_north + 4.99 <= north <= high_north - 4.99
    moved = (grid.origin_east - wider.origin_east) / grid.spacing
    assert moved == pytest.approx(round(moved), abs=1e-6)


def plane(points: np.ndarray) -> np.ndarray:
    return 50.0 + 0.02 * points[..., 0] - 0.035 * points[..., 1]


def ground_and_errors(grid: Grid) -> tuple[TinGrid, GroundUncertainty]:
    tin = triangulate(SQUARE, plane(SQUARE))
    ground = existing_ground(tin, grid)
    return ground, ground_uncertainty(tin, grid, ground.triangle, np.full(5, 0.01))


def test_a_surveyed_plane_is_found_again_at_every_node() -> None:
    grid = Grid(origin_east=0.0, origin_north=0.0, spacing=0.5, columns=41, rows=41)
    ground = existing_ground(triangulate(SQUARE, plane(SQUARE)), grid)

    nodes = np.stack(np.meshgrid(grid.east, grid.north), axis=-1)
    assert ground.z == pytest.approx(plane(nodes), abs=1e-9)


def test_nodes_are_known_by_a_shot_between_shots_or_not_at_all() -> None:
    grid = Grid(origin_east=-5.0, origin_north=0.0, spacing=1.0, columns=26, rows=21)
    ground = existing_ground(triangulate(SQUARE, plane(SQUARE)), grid)

    assert ground.known[11, 14] == SHOT
    assert ground.known[5, 10] == INTERPOLATED
    assert ground.known[5, 1] == GUESSED


def test_on_a_shot_only_its_own_error_is_left() -> None:
    grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=21, rows=21)
    _, errors = ground_and_errors(grid)

    assert errors.sigma[11, 9] == pytest.approx(0.01)
    assert errors.sigma[5, 10] > 0.05


def test_guessed_ground_is_less_sure_than_any_surveyed_ground() -> None:
    grid = Grid(origin_east=-30.0, origin_north=0.0, spacing=1.0, columns=51, rows=21)
    ground, errors = ground_and_errors(grid)

    assert errors.sigma[:, 0].min() > errors.sigma[ground.known != GUESSED].max()


def test_the_arrays_of_the_ground_are_read_only() -> None:
    grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=21, rows=21)
    ground, errors = ground_and_errors(grid)

    arrays_of_ground = (ground.z, ground.known, ground.triangle, errors.sigma, errors.gap)
    assert not any(array.flags.writeable for array in arrays_of_ground)


def test_a_grid_beside_the_survey_is_refused() -> None:
    grid = Grid(origin_east=100.0, origin_north=0.0, spacing=1.0, columns=5, rows=5)

    with pytest.raises(DomainError, match="`grid` must have a node in the survey"):
        existing_ground(triangulate(SQUARE, plane(SQUARE)), grid)


def test_the_survey_area_is_that_of_its_limit() -> None:
    limit = np.array([[2.0, 2.0], [12.0, 2.0], [12.0, 7.0], [2.0, 7.0]])

    assert survey_area(triangulate(SQUARE, plane(SQUARE), limit=limit)) == pytest.approx(50.0)


def test_without_a_limit_the_survey_area_is_that_of_its_triangles() -> None:
    assert survey_area(triangulate(SQUARE, plane(SQUARE))) == pytest.approx(400.0)


def test_the_published_triangle_of_ten_by_eight_has_forty_square_metres() -> None:
    points = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 8.0]])

    assert triangle_areas(points, np.array([[0, 1, 2]], dtype=np.int32)) == pytest.approx([40.0])


def test_evenly_spread_shots_have_no_long_thin_triangles() -> None:
    east, north = np.meshgrid(np.arange(0.0, 21.0, 5.0), np.arange(0.0, 21.0, 5.0))
    points = np.column_stack([east.ravel(), north.ravel()])

    assert len(invented_triangles(triangulate(points, plane(points)))) == 0


def test_two_close_rows_far_from_the_rest_make_long_thin_triangles() -> None:
    dense = [(0.5 * step, 0.5 * row) for step in range(21) for row in range(3)]
    points = np.array([*dense, (-30.0, 0.6), (40.0, 0.4), (5.0, 40.0), (5.0, -40.0)])

    assert len(invented_triangles(triangulate(points, plane(points)))) > 0
