"""The ground as its water sees it: cells, layers and the level far off."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.groundwater.aquifer import (
    LEVELS,
    OPEN_LAYER,
    Permeable,
    WaterLayer,
    between,
    kind_permeability,
    layers_of_cells,
    pit_permeability,
    water_grid,
)

SILT, SAND, TOPSOIL = Permeable(5e-8, 2e-7, 1e-6), Permeable(5e-6, 2e-5, 8e-5), Permeable(1e-7, 1e-6, 1e-5)


def test_a_small_grid_is_kept_as_it_is():
    grid = Grid(0.0, 0.0, 0.5, 60, 40)

    assert water_grid(grid) == (grid, 1)


@pytest.mark.parametrize("nodes", [150, 151, 299, 300, 1500])
def test_no_side_has_more_nodes_than_asked(nodes):
    thin, step = water_grid(Grid(0.0, 0.0, 0.1, nodes, 20), 150)

    assert max(thin.shape) <= 150
    assert thin.spacing == pytest.approx(0.1 * step)


def test_a_seam_lies_only_where_it_is_told():
    silt = [WaterLayer("topsoil", 0.2, TOPSOIL), WaterLayer("silt", None, SILT)]
    seam = [*silt[:1], WaterLayer("sand", 0.6, SAND), WaterLayer("silt", None, SILT)]
    of_node = np.array([[0, 1, -1]], dtype=np.int16)

    found = layers_of_cells(np.array([[10.0, 11.0, 12.0]]), of_node, [silt, seam], 5.0)

    thickness = found.top - found.bottom
    sandy = np.isclose(found.permeability["likely"], SAND.likely) & (thickness > 0.0)
    assert sandy.any(axis=0).tolist() == [[False, True, False]]
    assert thickness[1:].sum(axis=0) == pytest.approx(np.array([[5.0, 6.0, 7.0]]))


def test_placed_soil_is_empty_at_first_and_as_permeable_as_what_is_below_the_topsoil():
    layers = [WaterLayer("topsoil", 0.2, TOPSOIL), WaterLayer("silt", None, SILT)]

    found = layers_of_cells(np.full((2, 2), 3.0), np.zeros((2, 2), dtype=np.int16), [layers])

    assert (found.top[0] == found.bottom[0]).all()
    assert (found.permeability["high"][0] == SILT.high).all()
    assert found.base == pytest.approx(np.full((2, 2), 3.0 - 0.2 - OPEN_LAYER))


def test_the_base_stays_below_the_ground_where_it_is_told_above():
    layers = [WaterLayer("silt", None, SILT)]

    found = layers_of_cells(np.array([[2.0, 9.0]]), np.zeros((1, 2), dtype=np.int16), [layers], 5.0)

    assert (found.base < np.array([[2.0, 9.0]])).all()
    assert found.base[0, 1] == 5.0


def test_without_layers_there_is_no_ground():
    with pytest.raises(DomainError, match="`soils` must hold one or more layers"):
        layers_of_cells(np.zeros((2, 2)), np.zeros((2, 2), dtype=np.int16), [])


@pytest.mark.parametrize("kind", ["topsoil", "clay", "silt", "sand", "gravel", "rock", "muck"])
def test_every_kind_of_soil_has_a_wide_range_with_a_source(kind):
    permeable, source = kind_permeability(kind)

    assert permeable.high >= 50.0 * permeable.low
    assert permeable.low < permeable.likely < permeable.high
    assert str(source)


def test_permeability_grows_with_its_place_in_the_range():
    soil = {level: np.array([getattr(SAND, level)]) for level in LEVELS}

    values = [float(between(soil, shift)[0]) for shift in (-1.0, -0.3, 0.0, 0.4, 1.0)]

    assert values == sorted(values)
    assert values[0] == pytest.approx(SAND.low)
    assert values[-1] == pytest.approx(SAND.high)


def test_a_pit_in_which_nothing_rises_tells_nothing():
    still = pit_permeability(np.array([0.0, 600.0]), np.array([1.2, 1.3]), 1.0, 2.0, 0.5)

    assert still is None
