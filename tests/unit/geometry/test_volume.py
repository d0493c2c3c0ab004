"""Areas and volumes against closed forms, with the order at which the error falls."""

from math import cos, log2, pi, sqrt, tan

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import (
    StageCurve,
    area_beyond,
    difference_volumes,
    layer_volumes,
    richardson,
    stage_storage,
    triangles_touching,
    volume_below,
)


def square_grid(nodes, side=30.0):
    """Grid over a square with its middle at (0, 0), off the symmetric place by a little."""
    spacing = side / (nodes - 1)
    return Grid(-side / 2 + 0.0137, -side / 2 - 0.0071, spacing, nodes, nodes)


def places(grid, angle=0.0):
    """East and north of the nodes, turned by an angle in degrees."""
    east, north = np.meshgrid(grid.east, grid.north)
    turn = np.exp(-1j * np.radians(angle))
    turned = (east + 1j * north) * turn
    return turned.real, turned.imag


def inside_polygon(grid, radius, corners):
    """Exact distance to the sides of a regular polygon, positive inside, for nodes inside of it."""
    east, north = places(grid)
    step = 2.0 * pi / corners
    folded = np.mod(np.arctan2(north, east) + step / 2.0, step) - step / 2.0
    return radius * cos(pi / corners) - np.hypot(east, north) * np.cos(folded)


def order(errors):
    """Observed order of a sequence of errors, each on half the spacing of the one before."""
    return log2(abs(errors[0] / errors[-1])) / (len(errors) - 1)


# Case A: frustum over a regular polygon, sides 1:3, 1.2 m deep.
INRADIUS, SHAPE = 8.0 * cos(pi / 720), 720 * tan(pi / 720)
FRUSTUM_AREA = SHAPE * INRADIUS**2
FLOOR_AREA = SHAPE * (INRADIUS - 3.6) ** 2
FRUSTUM = 1.2 / 3.0 * (FRUSTUM_AREA + FLOOR_AREA + sqrt(FRUSTUM_AREA * FLOOR_AREA))


def frustum(nodes):
    grid = square_grid(nodes)
    distance = inside_polygon(grid, 8.0, 720)
    return grid, distance, -np.clip(distance / 3.0, -2.0, 1.2)


def test_a_frustum_has_its_volume_and_area_at_second_order():
    found = []
    for nodes in (76, 151, 301):
        grid, _, z = frustum(nodes)
        found.append(volume_below(z, 0.0, grid))
    volumes, areas = np.array(found).T

    assert order(volumes - FRUSTUM) >= 1.8
    assert order(areas - FRUSTUM_AREA) >= 1.8
    assert volumes[-1] == pytest.approx(FRUSTUM, rel=1e-4)


def test_richardson_takes_the_square_of_the_spacing_out_of_a_frustum():
    def found(spacing, east, north):
        nodes = round(20.0 / spacing) + 1
        grid = Grid(east, north, spacing, nodes, nodes)
        z = -np.clip(inside_polygon(grid, 8.0, 720) / 3.0, -2.0, 1.2)
        return volume_below(z, 0.0, grid)[0] / FRUSTUM

    # What is left depends on where the nodes lie from the kinks: take it over many places.
    errors = []
    for east, north in np.random.default_rng(9).random((12, 2)) * 0.1 - 10.0:
        fine, coarse = found(0.05, east, north), found(0.1, east, north)
        errors.append((fine - 1.0, richardson(fine, coarse) - 1.0))

    plain, improved = np.sqrt((np.array(errors) ** 2).mean(axis=0))

    assert improved < 1e-6
    assert improved < plain / 20.0


def test_the_wetted_area_by_bands_of_distance_is_of_second_order():
    wetted = FLOOR_AREA + (FRUSTUM_AREA - FLOOR_AREA) * sqrt(1.0 + 1.0 / 9.0)
    errors = []
    for nodes in (101, 201, 401):
        grid, distance, _ = frustum(nodes)
        outer, floor = area_beyond(distance, [0.0, 3.6], grid)
        errors.append(floor + (outer - floor) * sqrt(1.0 + 1.0 / 9.0) - wetted)

    assert wetted == pytest.approx(208.64531019)
    assert order(errors) >= 1.8
    assert abs(errors[-1]) / wetted < 3e-5


@pytest.mark.parametrize("angle", [0.0, 17.0, 45.0])
def test_a_hipped_pit_has_its_volume_however_it_lies(angle):
    def error(spacing, shift):
        grid = Grid(
            -8.0 + shift[0] * spacing, -8.0 + shift[1] * spacing, spacing, *2 * (round(16 / spacing),)
        )
        along, across = places(grid, angle)
        depth = np.minimum(np.minimum(6.0 - np.abs(along), 4.0 - np.abs(across)) / 2.0, 1.0)
        return volume_below(-depth, 0.0, grid)[0] - 184.0 / 3.0

    # The error of one grid depends on where its nodes lie from the hips: take it over many places.
    shifts = np.random.default_rng(7).random((12, 2))
    errors = np.array([[error(spacing, shift) for shift in shifts] for spacing in (0.2, 0.1, 0.05)])

    assert np.abs(errors[-1]).max() < 1e-4 * 184.0 / 3.0
    assert order(np.sqrt((errors**2).mean(axis=1))) >= 1.8


def test_the_storage_of_a_cone_is_exact_to_second_order_at_every_level():
    levels = np.linspace(-2.0, 0.0, 65)
    errors = []
    for nodes in (151, 301, 601):
        grid = square_grid(nodes, side=20.0)
        z = np.hypot(*places(grid)) / 4.0 - 2.0
        volumes, _ = stage_storage(z, levels, grid)
        errors.append(volumes[1:] - pi * (4.0 * (levels[1:] + 2.0)) ** 2 * (levels[1:] + 2.0) / 3.0)

    assert order([errors[0][-1], errors[1][-1], errors[2][-1]]) >= 1.8
    assert abs(errors[1][-1]) / (pi * 64.0 * 2.0 / 3.0) < 5e-5


def test_the_storage_of_a_sphere_cap_is_exact_to_second_order():
    radius, depth = 20.0, 2.0
    levels = np.linspace(0.0, depth, 64)
    errors = []
    for nodes in (76, 151, 301):
        grid = square_grid(nodes, side=20.0)
        z = radius - np.sqrt(radius**2 - np.minimum(np.hypot(*places(grid)), 15.0) ** 2)
        volumes, areas = stage_storage(z, levels, grid)
        errors.append((
            volumes[-1] / (pi * depth**2 * (3.0 * radius - depth) / 3.0) - 1.0,
            areas[-1] / (pi * (2.0 * radius * depth - depth**2)) - 1.0,
        ))  # fmt: skip

    in_volume, in_area = np.array(errors).T
    assert order(in_volume) >= 1.8
    assert order(in_area) >= 1.8
    assert max(abs(in_volume[-1]), abs(in_area[-1])) < 5e-5


def test_a_pond_with_an_island_has_the_difference_of_the_two_cones():
    volumes = []
    for nodes in (151, 301, 601):
        grid = square_grid(nodes, side=22.0)
        r = np.hypot(*places(grid))
        volumes.append(volume_below(np.maximum(r - 8.0, 2.0 - r) / 3.0, 0.0, grid)[0])
    # Shells: a tent of height 1 m between the radii 2 and 8 m, its ridge at 5 m.
    exact = 2.0 * pi * 5.0 * 0.5 * 6.0 * 1.0

    assert order(np.array(volumes) - exact) >= 1.8
    assert volumes[-1] == pytest.approx(exact, rel=3e-4)


def test_a_trench_and_a_bank_balance_at_the_level_in_closed_form():
    grid = Grid(0.0, 0.0, 0.1, 201, 51)
    east, _ = np.meshgrid(grid.east, grid.north)
    # Trench with a level floor 4 m wide and sides 1:2; the bank beside it is 3 m wide at its foot,
    # 0.75 m high.  Per metre: 4 d + 2 d² is dug and 1.125 m² placed, so d = (sqrt(16 + 9) - 4) / 4.
    depth = 0.25
    trench = np.clip((2.0 + 2.0 * depth - np.abs(east - 5.0)) / 2.0, 0.0, depth)
    bank = np.clip((1.5 - np.abs(east - 15.0)) / 2.0, 0.0, None)

    placed, dug = difference_volumes(bank - trench, np.zeros(grid.shape), grid)

    assert dug == pytest.approx((4.0 * depth + 2.0 * depth**2) * 5.0, rel=1e-12)
    assert placed == pytest.approx(dug, rel=1e-12)


@pytest.mark.parametrize(
    ("heights", "expected"),
    [((0.9, -0.2, -0.4), (8.4965, 3.4965)), ((0.9, 0.2, 0.4), (25.0, 0.0))],
)
def test_a_triangle_of_mixed_sign_splits_as_by_hand(heights, expected):
    # Area 50 m² (the southern triangle of one cell of 10 m), heights of its three corners.
    grid = Grid(0.0, 0.0, 10.0, 2, 2)
    surface = np.array([[heights[0], heights[1]], [0.0, heights[2]]])
    only_south = np.array([[[True, False]]])

    found = difference_volumes(surface, np.zeros((2, 2)), grid, only_south)

    assert found == pytest.approx(expected, abs=1e-4)


def test_all_levels_in_one_pass_equal_one_level_at_a_time():
    grid = square_grid(41)
    z = np.random.default_rng(5).normal(size=grid.shape).round(1)
    levels = np.array([-2.0, -0.3, -0.25, 0.0, 0.0, 0.1, 5.0])
    mask = np.hypot(*places(grid)) < 9.0

    volumes, areas = stage_storage(z, levels, grid, mask)

    one_by_one = np.array([volume_below(z, level, grid, mask) for level in levels])
    assert volumes == pytest.approx(one_by_one[:, 0], rel=1e-12)
    # Corners at the level itself make whole flat triangles there: `at or below` against `below`.
    above = np.array([volume_below(z, level + 1e-9, grid, mask)[1] for level in levels])
    assert areas == pytest.approx(above, rel=1e-6)


def test_a_mask_of_nodes_counts_the_triangles_that_touch_it():
    mask = np.zeros((3, 3), dtype=bool)
    mask[1, 1] = True

    touching = triangles_touching(mask)

    # The middle node is even: all four diagonals meet in it, so all eight triangles touch it.
    assert touching.all()
    mask = np.roll(mask, 1, axis=1)
    assert triangles_touching(mask).sum() == 2


def test_the_layers_of_a_cut_add_up_and_are_exact_on_a_slope():
    grid = Grid(0.0, 0.0, 0.5, 21, 5)
    east, _ = np.meshgrid(grid.east, grid.north)
    ground, finish = np.full(grid.shape, 3.0), 3.0 - east / 10.0

    layers = layer_volumes(ground, finish, [0.2, 0.7], grid)

    # Over 10 m by 2 m the cut deepens from 0 to 1 m; below depth d lies (1 - d)²/2 of 20 m³.
    assert layers == pytest.approx([10.0 - 6.4, 6.4 - 0.9, 0.9], rel=1e-12)
    assert layer_volumes(ground, finish, [], grid) == pytest.approx([10.0])


def test_the_stage_curve_of_a_bowl_is_of_fourth_order_between_its_levels():
    def error(steps):
        levels = np.linspace(0.0, 2.0, steps + 1)
        curve = StageCurve(levels, levels**4, 4.0 * levels**3)
        asked = np.linspace(0.0, 2.0, 997)
        return max(abs(curve.volume_at(level) - level**4) for level in asked)

    assert order([error(8), error(16), error(32)]) >= 3.8


def test_the_stage_curve_runs_through_its_levels_and_back():
    levels = np.linspace(-1.0, 1.0, 9)
    curve = StageCurve(levels, (levels + 1.0) ** 3, 3.0 * (levels + 1.0) ** 2)

    assert [curve.volume_at(level) for level in levels] == pytest.approx(curve.volumes)
    assert [curve.area_at(level) for level in levels] == pytest.approx(curve.areas)
    assert [curve.level_at(curve.volume_at(level)) for level in (-0.7, 0.03, 0.99)] == pytest.approx(
        [-0.7, 0.03, 0.99]
    )


def test_the_stage_curve_grows_over_a_flat_floor():
    # The area jumps from 0 to 10 m² just below the second level.
    curve = StageCurve(np.array([0.0, 1.0, 2.0]), np.array([0.0, 0.1, 10.1]), np.array([0.0, 10.0, 10.0]))

    volumes = [curve.volume_at(level) for level in np.linspace(0.0, 2.0, 400)]

    assert (np.diff(volumes) >= 0.0).all()
    assert min(curve.area_at(level) for level in np.linspace(0.0, 2.0, 400)) >= 0.0


def test_a_question_outside_the_stage_curve_has_no_answer():
    curve = StageCurve(np.array([0.0, 1.0]), np.array([0.0, 2.0]), np.array([2.0, 2.0]))

    with pytest.raises(DomainError, match="`level` must be from 0.0 to 1.0 m, got 1.5 m"):
        curve.volume_at(1.5)
    with pytest.raises(DomainError, match="`volume` must be from"):
        curve.level_at(-0.1)


@pytest.mark.parametrize(
    ("levels", "rule"),
    [([], "at least 1 finite"), ([1.0, 0.0], "`levels` must ascend"), ([np.nan], "at least 1 finite")],
)
def test_levels_that_do_not_ascend_are_refused(levels, rule):
    grid = square_grid(5)

    with pytest.raises(DomainError, match=rule):
        stage_storage(np.zeros(grid.shape), levels, grid)


def test_a_mask_of_another_shape_is_refused():
    grid = square_grid(5)

    with pytest.raises(DomainError, match="`mask` must be of the grid's nodes"):
        volume_below(np.zeros(grid.shape), 0.0, grid, np.ones((3, 3), dtype=bool))


@pytest.mark.parametrize(
    ("levels", "volumes", "areas", "rule"),
    [
        ([0.0], [0.0], [1.0], "equally many"),
        ([0.0, 0.0], [0.0, 1.0], [1.0, 1.0], "`levels` must rise"),
        ([0.0, 1.0], [1.0, 0.0], [1.0, 1.0], "`volumes` must not fall"),
    ],
)
def test_a_stage_curve_that_is_none_is_refused(levels, volumes, areas, rule):
    with pytest.raises(DomainError, match=rule):
        StageCurve(np.array(levels), np.array(volumes), np.array(areas))
