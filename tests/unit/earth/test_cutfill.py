"""Dug and placed volumes against closed forms and a general surface library of the house."""

import numpy as np
import pytest

from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import difference_volumes, layer_volumes
from pondwright.rooms.earth.cutfill import SoilColumn, SoilPlace, dig_volumes, soil_map, volume_slopes
from pondwright.rooms.shape.grading import whole_rows

FOOT = 0.3048
ONE_SOIL = SoilColumn(("silt",), ())
LAYERED = SoilColumn(("topsoil", "silt", "clay"), (0.2, 1.0))
EVERYWHERE = SoilPlace(np.empty((0, 2)))


def dug_and_placed(difference, grid, column=ONE_SOIL):
    return dig_volumes(difference, soil_map([column], [EVERYWHERE], grid), whole_rows(grid.shape), grid)


def pit(length, width, depth, slopes, spacing):
    """Depth of a pit whose four sides (west, east, south, north) have slopes of their own."""
    margin = 2.0 * spacing
    columns, rows = (round((side + 2.0 * margin) / spacing) + 1 for side in (length, width))
    grid = Grid(-margin, -margin, spacing, columns, rows)
    east, north = np.meshgrid(grid.east, grid.north)
    west_slope, east_slope, south_slope, north_slope = slopes
    sides = [
        east / west_slope, (length - east) / east_slope, north / south_slope, (width - north) / north_slope
    ]  # fmt: skip
    return np.clip(np.minimum.reduce(sides), 0.0, depth), grid


def rough(seed=1, count=25):
    grid = Grid(0.0, 0.0, 0.5, count, count)
    return grid, np.random.default_rng(seed).normal(size=grid.shape)


def test_a_rectangular_pond_of_100_by_70_feet():
    """12 ft deep, all sides 2:1: 44,256 ft³ by the prismoidal rule, exact; a mathematics page."""
    difference, grid = pit(100 * FOOT, 70 * FOOT, 12 * FOOT, (2.0,) * 4, 0.5 * FOOT)

    assert dug_and_placed(difference, grid).total_dug / FOOT**3 == pytest.approx(44_256.0, rel=2e-4)


def test_a_basin_of_20_by_12_metres():
    """1.2 m deep at 2:1: 205.056 m³; average end areas would read 209.664; hand."""
    difference, grid = pit(20.0, 12.0, 1.2, (2.0,) * 4, 0.1)

    assert dug_and_placed(difference, grid).total_dug == pytest.approx(205.056, rel=2e-4)


def test_an_excavated_pond_of_a_handbook():
    """Bottom 40 x 100 ft, 12 ft deep, sides 2:1, one end 4:1, the other 2:1: 3,996 yd³; AH-590."""
    difference, grid = pit(172 * FOOT, 88 * FOOT, 12 * FOOT, (4.0, 2.0, 2.0, 2.0), 0.5 * FOOT)

    assert dug_and_placed(difference, grid).total_dug / (3 * FOOT) ** 3 == pytest.approx(3_996.4, rel=3e-4)


def test_a_pond_of_20_by_15_metres():
    """3:1, 2 m deep: 276.0 m³, and 126 m² at half depth; hand."""
    difference, grid = pit(20.0, 15.0, 2.0, (3.0,) * 4, 0.1)

    assert dug_and_placed(difference, grid).total_dug == pytest.approx(276.0, rel=2e-4)


@pytest.mark.parametrize("seed", range(4))
def test_dug_and_placed_are_the_exact_parts_of_any_surface(seed):
    grid, difference = rough(seed)

    soil = dug_and_placed(difference, grid)

    above, below = difference_volumes(difference, np.zeros(grid.shape), grid)
    assert soil.total_dug == pytest.approx(above, rel=1e-12)
    assert soil.placed == pytest.approx(below, rel=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_layers_hold_what_the_layered_volumes_say(seed):
    grid, difference = rough(seed)

    soil = dug_and_placed(difference, grid, LAYERED)

    layers = layer_volumes(difference, np.zeros(grid.shape), [0.2, 1.0], grid)
    assert [soil.dug[kind] for kind in LAYERED.kinds] == pytest.approx(layers, rel=1e-10)


def test_topsoil_is_stripped_from_under_placed_soil_and_filled_again():
    """1 m placed over 0.2 m of topsoil on 4 m²: 0.8 m³ are stripped, 4.8 m³ placed; hand."""
    grid = Grid(0.0, 0.0, 1.0, 3, 3)

    soil = dug_and_placed(np.full(grid.shape, -1.0), grid, LAYERED)

    assert soil.stripped == pytest.approx({"topsoil": 0.8})
    assert soil.raised == pytest.approx(4.0)
    assert soil.placed == pytest.approx(4.8)
    assert sum(soil.dug.values()) == pytest.approx(0.0)


def test_no_more_is_stripped_than_is_placed_where_the_placed_soil_runs_out():
    grid = Grid(0.0, 0.0, 1.0, 3, 3)

    soil = dug_and_placed(np.full(grid.shape, -0.05), grid, LAYERED)

    assert soil.stripped["topsoil"] == pytest.approx(0.2)
    assert soil.placed == pytest.approx(0.4)


def test_muck_under_topsoil_is_stripped_too_but_a_deep_layer_is_not():
    grid = Grid(0.0, 0.0, 1.0, 2, 2)
    column = SoilColumn(("topsoil", "muck", "clay", "muck"), (0.2, 0.6, 1.0))

    soil = dug_and_placed(np.full(grid.shape, -2.0), grid, column)

    assert soil.stripped == pytest.approx({"topsoil": 0.2, "muck": 0.4})


def test_untouched_ground_gives_nothing():
    grid = Grid(0.0, 0.0, 1.0, 4, 4)

    soil = dug_and_placed(np.zeros(grid.shape), grid, LAYERED)

    assert (soil.total_dug, soil.placed) == (0.0, 0.0)


def test_each_cell_has_the_soil_of_the_nearest_pit():
    grid = Grid(0.0, 0.0, 1.0, 11, 3)
    places = [SoilPlace(np.array([[1.0, 1.0]])), SoilPlace(np.array([[9.0, 1.0]]))]

    soils = soil_map([LAYERED, SoilColumn(("sand",), ())], places, grid)

    assert soils.of_cell[0].tolist() == [0] * 5 + [1] * 5
    soil = dig_volumes(np.full(grid.shape, 2.0), soils, whole_rows(grid.shape), grid)
    assert soil.dug == pytest.approx({"topsoil": 2.0, "silt": 8.0, "clay": 10.0, "sand": 20.0})


def test_a_soil_inside_a_ring_holds_there_whatever_pit_is_near():
    grid = Grid(0.0, 0.0, 1.0, 5, 3)
    ring = np.array([[2.0, -1.0], [6.0, -1.0], [6.0, 4.0], [2.0, 4.0]])
    places = [SoilPlace(np.array([[3.5, 1.0]])), SoilPlace(np.empty((0, 2)), ring)]

    soils = soil_map([ONE_SOIL, SoilColumn(("sand",), ())], places, grid)

    assert soils.of_cell[0].tolist() == [0, 0, 1, 1]


@pytest.mark.parametrize("seed", range(3))
def test_volume_slopes_are_the_derivatives_of_the_volumes(seed):
    grid, difference = rough(seed)
    raised = np.random.default_rng(seed + 100).normal(size=grid.shape)
    step = 1e-6

    dug, placed = volume_slopes(difference, grid)

    more = dug_and_placed(difference + step * raised, grid)
    less = dug_and_placed(difference - step * raised, grid)
    assert np.sum(dug * raised) == pytest.approx((more.total_dug - less.total_dug) / (2 * step), rel=1e-4)
    assert np.sum(placed * raised) == pytest.approx((more.placed - less.placed) / (2 * step), rel=1e-4)
