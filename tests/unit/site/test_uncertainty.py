"""How sure the ground is: bridges, roughness and volumes, against exact theory and drawn grounds."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.distance import cdist

from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import Tin, shot_weights, triangulate
from pondwright.rooms.site.carried import volume_sigma
from pondwright.rooms.site.ground import existing_ground, ground_uncertainty
from pondwright.rooms.site.uncertainty import (
    DEFAULT_ROUGHNESS,
    GroundUncertainty,
    LeftOut,
    barycentric,
    bridge_length,
    general_fall,
    guess_sigma,
    interpolation_sigma,
    left_out,
    roughness,
)


def spread_shots(count: int, seed: int) -> np.ndarray:
    """Shots strewn over a 40 m square, its corners among them."""
    corners = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]])
    return np.vstack([corners, np.random.default_rng(seed).uniform(1.0, 39.0, (count - 4, 2))])


def drawn_ground(places: np.ndarray, rough: float, seed: int) -> np.ndarray:
    """Heights whose squared differences grow as roughness times distance, from the first place."""
    away = cdist(places, places[:1])[:, 0]
    covariance = 0.5 * rough * (away[:, None] + away[None, :] - cdist(places, places))
    factor = np.linalg.cholesky(covariance[1:, 1:] + 1e-12 * np.eye(len(places) - 1))
    drawn = factor @ np.random.default_rng(seed).standard_normal(len(places) - 1)
    return np.concatenate([[0.0], drawn])


def tin_on_plane(points: np.ndarray) -> Tin:
    return triangulate(points, 100.0 + 0.03 * points[:, 0] - 0.02 * points[:, 1])


@given(back=st.floats(0.1, 50.0), ahead=st.floats(0.1, 50.0))
def test_between_two_shots_on_a_line_the_bridge_is_the_product_over_the_sum(
    back: float, ahead: float
) -> None:
    whole = back + ahead
    between = np.array([[[0.0, whole], [whole, 0.0]]])
    bridge = bridge_length(np.array([[ahead / whole, back / whole]]), np.array([[back, ahead]]), between)

    assert bridge[0] == pytest.approx(back * ahead / whole)


def test_on_a_shot_there_is_nothing_to_bridge() -> None:
    between = cdist([[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]], [[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]])
    bridge = bridge_length(np.array([[1.0, 0.0, 0.0]]), between[:1], between[None])

    assert bridge[0] == 0.0


def test_barycentric_weights_give_the_hand_derived_height() -> None:
    corners = np.array([[[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]]])
    weights = barycentric(corners, np.array([[3.0, 2.0]]))[0]

    assert weights @ np.array([10.2, 11.0, 10.75]) == pytest.approx(10.55)


def test_every_shot_on_a_plane_is_foretold_exactly() -> None:
    left = left_out(tin_on_plane(spread_shots(60, 1)), np.full(60, 0.01))

    assert left.usable.sum() > 40
    assert left.miss == pytest.approx(0.0, abs=1e-9)


def test_shots_on_the_rim_are_not_foretold() -> None:
    left = left_out(tin_on_plane(spread_shots(60, 1)), np.full(60, 0.01))

    assert not left.usable[:4].any()


def test_a_shot_in_a_breakline_is_foretold_along_it() -> None:
    # A ridge along the middle: across it the ground falls, along it it is level.
    points = np.array(
        [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 5.0], [5.0, 5.0], [10.0, 5.0]]
    )
    tin = triangulate(points, np.array([0.0, 0.0, 0.0, 0.0, 2.0, 2.0, 2.0]), edges=[(4, 5), (5, 6)])
    left = left_out(tin, np.zeros(7), breaks=[(4, 5, 6)])

    assert left.miss[5] == pytest.approx(0.0)
    assert left.bridge[5] == pytest.approx(2.5)


def test_the_ends_of_an_open_breakline_are_not_foretold() -> None:
    tin = tin_on_plane(spread_shots(60, 1))
    left = left_out(tin, np.full(60, 0.01), breaks=[(10, 11, 12)])

    assert list(left.usable[[10, 11, 12]]) == [False, True, False]


def test_a_closed_breakline_has_no_ends() -> None:
    tin = tin_on_plane(spread_shots(60, 1))
    left = left_out(tin, np.full(60, 0.01), breaks=[(10, 11, 12, 10)])

    assert left.usable[[10, 11, 12]].all()


def test_the_roughness_of_a_drawn_ground_is_found_again() -> None:
    points = spread_shots(300, 2)
    found = [
        roughness(left_out(triangulate(points, drawn_ground(points, 0.002, seed)), np.full(300, 1e-6)))
        for seed in range(10)
    ]

    # A twentieth of the shots is trimmed, so the figure is told a little low.
    assert np.mean(found) == pytest.approx(0.002, rel=0.35)
    assert np.mean(found) < 0.002


def test_flat_ground_with_honest_noise_is_not_called_rough() -> None:
    points = spread_shots(200, 3)
    noise = np.random.default_rng(4).normal(0.0, 0.01, 200)
    found = roughness(left_out(triangulate(points, noise), np.full(200, 0.01)))

    assert found < 1e-4


def test_one_slip_of_a_foot_does_not_spoil_the_roughness() -> None:
    points = spread_shots(100, 5)
    ground = drawn_ground(points, 0.001, 6)
    slipped = ground.copy()
    slipped[50] += 0.3048
    sigma = np.full(100, 0.01)
    honest, spoiled = (roughness(left_out(triangulate(points, z), sigma)) for z in (ground, slipped))

    assert spoiled < 2.0 * honest


def test_too_few_shots_get_the_stated_default() -> None:
    none = np.zeros(3)
    nobody = np.zeros(3, dtype=bool)
    left = LeftOut(none, none, none, nobody, ~nobody, np.zeros((3, 3), dtype=np.intp))

    assert roughness(left) == DEFAULT_ROUGHNESS


def test_the_general_fall_of_a_plane_is_its_fall() -> None:
    points = spread_shots(30, 7)

    assert general_fall(points, 0.03 * points[:, 0] + 0.04 * points[:, 1]) == pytest.approx(0.05)


def test_a_guess_grows_less_sure_with_distance() -> None:
    sigma = guess_sigma(np.array([0.0, 1.0, 4.0, 9.0]), 0.001, 0.03)

    assert sigma[0] == 0.0
    assert (np.diff(sigma) > 0.0).all()


def test_node_sigma_is_the_error_that_drawn_grounds_have() -> None:
    shots = spread_shots(40, 8)
    places = np.array([[12.0, 13.0], [20.0, 7.0], [31.0, 22.0], [8.0, 30.0]])
    tin = triangulate(shots, np.zeros(40))
    inside = [
        next(
            number
            for number, corners in enumerate(shots[tin.triangles])
            if (barycentric(corners[None], place[None]) >= 0.0).all()
        )
        for place in places
    ]
    weights = barycentric(shots[tin.triangles[inside]], places)
    errors = []
    for seed in range(400):
        drawn = drawn_ground(np.vstack([shots, places]), 0.002, seed)
        errors.append(drawn[40:] - np.sum(weights * drawn[tin.triangles[inside]], axis=1))
    sigma = interpolation_sigma(tin, np.array(inside, dtype=np.int32), places, 0.002)

    assert np.std(errors, axis=0) == pytest.approx(sigma, rel=0.15)


def square_ground(benchmark: float = 0.0) -> tuple[Grid, np.ndarray, GroundUncertainty]:
    points = spread_shots(60, 9)
    grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=41, rows=41)
    tin = triangulate(points, drawn_ground(points, 0.002, 10))
    triangle = existing_ground(tin, grid).triangle
    errors = ground_uncertainty(tin, grid, triangle, np.full(60, 0.02), benchmark_sigma=benchmark)
    weight = np.zeros(grid.shape)
    weight[10:31, 10:31] = grid.cell_area
    return grid, weight, errors


def test_a_benchmark_that_is_out_moves_the_volume_by_the_whole_area() -> None:
    _, weight, errors = square_ground(benchmark=0.05)
    sigma = volume_sigma(errors, weight)

    assert sigma.benchmark == pytest.approx(0.05 * weight.sum())


def test_shots_add_up_as_independent() -> None:
    grid, weight, errors = square_ground()
    by_shot = shot_weights(errors.tin, grid, weight)
    sigma = volume_sigma(errors, weight)

    assert by_shot.sum() == pytest.approx(weight.sum())
    assert sigma.shots == pytest.approx(0.02 * math.sqrt(np.sum(by_shot**2)))


def test_the_interpolation_share_agrees_with_the_exact_covariance() -> None:
    grid, weight, errors = square_ground()
    by_shot = shot_weights(errors.tin, grid, weight)
    east, north = np.meshgrid(grid.east, grid.north)
    used = weight > 0.0
    places = np.vstack([np.column_stack([east[used], north[used]]), errors.tin.points])
    contrast = np.concatenate([weight[used], -by_shot])
    exact = math.sqrt(-contrast @ (0.5 * errors.roughness * cdist(places, places)) @ contrast)

    assert volume_sigma(errors, weight).interpolation == pytest.approx(exact, rel=0.25)


def test_the_shares_add_up_in_squares() -> None:
    _, weight, errors = square_ground(benchmark=0.01)
    sigma = volume_sigma(errors, weight)

    parts = (sigma.shots, sigma.shared, sigma.benchmark, sigma.interpolation, sigma.one_sided)
    assert sigma.total == pytest.approx(math.hypot(*parts))


def test_in_a_bowl_the_errors_go_one_way_and_are_told() -> None:
    points = spread_shots(150, 11)
    grid = Grid(origin_east=0.0, origin_north=0.0, spacing=0.5, columns=81, rows=81)
    nodes = np.stack(np.meshgrid(grid.east, grid.north), axis=-1)

    def bowl(places: np.ndarray) -> np.ndarray:
        return 0.005 * np.sum((places - 20.0) ** 2, axis=-1)

    tin = triangulate(points, bowl(points))
    ground = existing_ground(tin, grid)
    errors = ground_uncertainty(tin, grid, ground.triangle, np.full(150, 0.01))
    weight = np.where(np.hypot(*np.moveaxis(nodes - 20.0, -1, 0)) < 15.0, grid.cell_area, 0.0)
    error = float(np.sum((ground.z - bowl(nodes)) * weight))
    sigma = volume_sigma(errors, weight)

    assert error > 2.0 * math.hypot(sigma.shots, sigma.interpolation)
    assert error < 2.0 * sigma.total


def test_guessed_ground_errs_all_one_way() -> None:
    points = spread_shots(60, 9)
    grid = Grid(origin_east=-20.0, origin_north=0.0, spacing=1.0, columns=61, rows=41)
    tin = triangulate(points, points[:, 1] * 0.01)
    errors = ground_uncertainty(tin, grid, existing_ground(tin, grid).triangle, np.full(60, 0.02))
    weight = np.zeros(grid.shape)
    weight[15:25, 0:10] = 1.0
    sigma = volume_sigma(errors, weight)

    assert sigma.interpolation == pytest.approx(errors.gap[15:25, 0:10].sum())
