"""What must hold for any surface, whatever its shape."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.geometry.flood import basin
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import tin_to_grid, triangulate
from pondwright.geometry.volume import (
    StageCurve,
    difference_volumes,
    layer_volumes,
    stage_storage,
    triangles_touching,
    volume_below,
)


@st.composite
def surfaces(draw, count=1):
    """A small grid and rough surfaces on it, heights in centimetres so that levels hit nodes too."""
    grid = Grid(3.0, -2.0, 0.5, draw(st.integers(2, 12)), draw(st.integers(2, 12)))
    generator = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    drawn = [generator.integers(-200, 200, grid.shape) / 100.0 for _ in range(count)]
    return grid, *drawn


LEVELS = st.floats(-2.5, 2.5)


@given(surfaces(), LEVELS, LEVELS)
def test_the_volume_grows_with_the_level_no_faster_than_the_area_allows(case, one, other):
    grid, z = case
    low, high = sorted([one, other])

    (less, smaller), (more, larger) = volume_below(z, low, grid), volume_below(z, high, grid)

    slack = 1e-11
    assert smaller <= larger + slack
    assert smaller * (high - low) - slack <= more - less <= larger * (high - low) + slack


@given(surfaces(), LEVELS)
def test_the_rate_of_the_volume_is_the_area(case, level):
    grid, z = case
    step = 1e-5

    rate = (volume_below(z, level + step, grid)[0] - volume_below(z, level - step, grid)[0]) / (2.0 * step)

    # The mean area over the step lies between the areas at its ends.
    least, most = volume_below(z, level - step, grid)[1], volume_below(z, level + step, grid)[1]
    assert least - 1e-6 <= rate <= most + 1e-6


@given(surfaces(count=2))
def test_above_less_below_is_the_integral_of_the_difference(case):
    grid, upper, lower = case

    above, below = difference_volumes(upper, lower, grid)

    # Integral of the flat triangles: each gives a third of its area to each of its corners.
    weight = np.zeros(grid.shape)
    for corner in np.ndindex(*grid.shape):
        only = np.zeros(grid.shape, dtype=bool)
        only[corner] = True
        weight[corner] = triangles_touching(only).sum() * grid.cell_area / 6.0
    assert above - below == pytest.approx((weight * (upper - lower)).sum(), abs=1e-11)
    assert difference_volumes(lower, upper, grid) == pytest.approx((below, above), abs=1e-11)


@given(surfaces(count=3))
def test_cut_less_fill_adds_up_over_two_changes(case):
    grid, first, second, third = case

    def net(after, before):
        placed, dug = difference_volumes(after, before, grid)
        return placed - dug

    assert net(third, first) == pytest.approx(net(third, second) + net(second, first), abs=1e-11)


@given(surfaces(), LEVELS, st.floats(-500.0, 500.0))
def test_a_datum_moves_no_volume(case, level, datum):
    grid, z = case

    moved = volume_below(z + datum, level + datum, grid)
    volumes, areas = stage_storage(z + datum, [level - 1.0 + datum, level + datum], grid)

    assert moved == pytest.approx(volume_below(z, level, grid), abs=1e-8)
    assert volumes[1] == pytest.approx(volume_below(z, level, grid)[0], abs=1e-8)
    assert areas[1] >= moved[1] - 1e-8


@given(surfaces(), st.lists(LEVELS, min_size=2, max_size=40, unique_by=lambda level: round(level, 3)))
def test_one_pass_over_all_levels_equals_one_level_at_a_time(case, levels):
    grid, z = case
    levels = np.sort(levels)

    volumes, areas = stage_storage(z, levels, grid)

    one_by_one = np.array([volume_below(z, level, grid) for level in levels])
    assert volumes == pytest.approx(one_by_one[:, 0], abs=1e-10)
    assert (areas >= one_by_one[:, 1] - 1e-10).all()


@given(surfaces())
def test_the_stage_curve_grows_and_its_slope_is_its_area(case):
    grid, z = case
    levels = np.linspace(-2.1, 2.1, 12)
    curve = StageCurve(levels, *stage_storage(z, levels, grid))
    asked = np.linspace(-2.09, 2.09, 150)

    volumes = np.array([curve.volume_at(level) for level in asked])
    areas = np.array([curve.area_at(level) for level in asked])

    assert (np.diff(volumes) >= -1e-10).all()
    rates = [(curve.volume_at(level + 1e-6) - curve.volume_at(level - 1e-6)) / 2e-6 for level in asked]
    assert areas == pytest.approx(rates, abs=1e-3)


@given(surfaces(), st.floats(0.001, 0.999))
def test_a_level_of_a_volume_has_that_volume(case, share):
    grid, z = case
    levels = np.linspace(-2.1, 2.1, 12)
    curve = StageCurve(levels, *stage_storage(z, levels, grid))
    volume = curve.volumes[0] + share * (curve.volumes[-1] - curve.volumes[0])

    assert curve.volume_at(curve.level_at(volume)) == pytest.approx(volume, rel=1e-9)


@given(surfaces(count=2), st.lists(st.floats(0.01, 3.0), max_size=4))
def test_the_layers_of_a_cut_add_up_to_the_cut(case, depths):
    grid, ground, finish = case

    layers = layer_volumes(ground, finish, sorted(depths), grid)

    assert (layers >= -1e-11).all()
    assert layers.sum() == pytest.approx(difference_volumes(ground, finish, grid)[0], abs=1e-10)


@given(surfaces(), st.integers(0, 2**32 - 1))
def test_a_partition_of_the_triangles_adds_up(case, seed):
    grid, z = case
    part = np.random.default_rng(seed).random((*grid.cells_shape, 2)) < 0.5

    whole = np.array(volume_below(z, 0.1, grid))

    parts = np.add(volume_below(z, 0.1, grid, part), volume_below(z, 0.1, grid, ~part))
    assert parts == pytest.approx(whole, abs=1e-11)


@given(surfaces(), st.integers(0, 2**32 - 1))
def test_below_its_lip_a_basin_is_cut_off_from_all_other_ground(case, seed):
    grid, z = case
    inside = np.zeros(grid.shape, dtype=bool)
    inside.flat[seed % z.size] = True

    found = basin(z, inside, grid, hollow=0.0)

    assert found.mask[inside].all()
    assert z[found.mask & ~inside].max(initial=-np.inf) <= found.lip
    # Just below the lip the triangles of the basin hold no water over nodes that are not its own.
    level = found.lip - 1e-6
    touching = triangles_touching(found.mask & (z < level))
    foreign = triangles_touching(~found.mask & (z < level))
    assert not (touching & foreign).any()


@given(
    surfaces(), st.integers(0, 2**32 - 1), st.sampled_from([0.0, 0.02, 0.5]), LEVELS, st.floats(-0.05, 0.05)
)
def test_a_basin_is_the_same_whatever_lip_it_had_before(case, seed, hollow, before, near):
    grid, z = case
    inside = np.zeros(grid.shape, dtype=bool)
    inside.flat[np.random.default_rng(seed).integers(0, z.size, 3)] = True

    found = basin(z, inside, grid, hollow)

    for last in (before, found.lip, found.lip + near):
        again = basin(z, inside, grid, hollow, last_lip=last)
        assert (again.lip, again.lip_point, again.leaves_window) == (
            found.lip,
            found.lip_point,
            found.leaves_window,
        )
        assert np.array_equal(again.mask, found.mask)
        assert again.window == found.window


@given(st.integers(0, 2**32 - 1), st.integers(4, 40), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_the_ground_moves_with_its_shots(seed, count, east, north):
    generator = np.random.default_rng(seed)
    # Steps of 1/64 m moved by whole metres are exact, so ties among the triangles fall the same way.
    points = generator.integers(0, 640, (count, 2)) / 64.0
    heights = generator.normal(size=count)
    shift = np.round([east, north])

    here = tin_to_grid(triangulate(points, heights), Grid(-1.0, -1.0, 0.5, 25, 25))
    there = tin_to_grid(triangulate(points + shift, heights), Grid(*(shift - 1.0), 0.5, 25, 25))

    assert here.z.min() >= heights.min() - 1e-12
    assert here.z.max() <= heights.max() + 1e-12
    assert here.z == pytest.approx(there.z, abs=1e-9)
