"""Layers of soil: which soil holds where, what lies under a place, pits against soils."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.site.soils import (
    Layer,
    SoilLayers,
    SoilPlace,
    layer_stack,
    probe_against_soil,
    soil_column,
    soil_of_nodes,
    untold_share,
    water_elevation,
)

GRID = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=21, rows=11)
NOWHERE = np.empty((0, 2))
WEST = np.array([[-0.5, -0.5], [9.5, -0.5], [9.5, 10.5], [-0.5, 10.5]])
MEADOW = (Layer("topsoil", 0.2), Layer("silt", 1.5), Layer("rock", None))
SEAM = (Layer("topsoil", 0.2), Layer("sand", 0.6))
EVERYWHERE = np.ones(GRID.shape, dtype=np.bool_)


def under(places, layers, muck=0.0):
    """Soil under ground that rises to the east, muck in the south-west quarter."""
    z = 30.0 + 0.1 * np.tile(GRID.east, (GRID.rows, 1))
    thickness = np.zeros(GRID.shape)
    thickness[:5, :10] = muck
    names = tuple(f"soil_{number}" for number in range(len(layers)))
    return SoilLayers(GRID, z, thickness, names, tuple(layers), soil_of_nodes(places, GRID))


def test_a_ring_goes_before_the_whole_site_whatever_their_order():
    for places in ([SoilPlace(NOWHERE, whole=True), SoilPlace(NOWHERE, WEST)],):
        of_node = soil_of_nodes(places, GRID)
        turned = soil_of_nodes(places[::-1], GRID)

        assert of_node[5, 3] == 1 and of_node[5, 15] == 0
        assert turned[5, 3] == 0 and turned[5, 15] == 1


def test_of_two_rings_the_later_holds():
    of_node = soil_of_nodes([SoilPlace(NOWHERE, WEST), SoilPlace(NOWHERE, WEST + 2.0)], GRID)

    assert of_node[5, 0] == 0 and of_node[5, 5] == 1


def test_between_pits_the_nearest_holds():
    places = [SoilPlace(np.array([[2.0, 5.0]])), SoilPlace(np.array([[18.0, 5.0]]))]

    assert soil_of_nodes(places, GRID)[5, [3, 17]].tolist() == [0, 1]


def test_no_soil_holds_where_none_is_told():
    assert (soil_of_nodes([], GRID) == -1).all()
    assert soil_of_nodes([SoilPlace(NOWHERE, WEST)], GRID)[5, 15] == -1


def test_a_column_hangs_from_the_ground_and_goes_on_below_its_last_layer():
    column = soil_column(under([SoilPlace(NOWHERE, whole=True)], [MEADOW]), 4.0, 5.0)

    assert [layer.kind for layer in column] == ["topsoil", "silt", "rock"]
    assert column[0].top == pytest.approx(30.4)
    assert column[1].bottom == pytest.approx(28.7)
    assert column[2].bottom is None


def test_muck_takes_the_place_of_the_topsoil():
    column = soil_column(under([SoilPlace(NOWHERE, whole=True)], [MEADOW], 0.4), 4.0, 2.0)

    assert [layer.kind for layer in column] == ["muck", "silt", "rock"]
    assert column[1].top == pytest.approx(30.0)
    assert column[0].soil == "" and column[1].soil == "soil_0"


def test_where_no_soil_is_told_only_probed_muck_is_there():
    soils = under([SoilPlace(NOWHERE, WEST)], [SEAM], 0.4)

    assert soil_column(soils, 15.0, 5.0) == ()
    assert [layer.kind for layer in soil_column(under([], [], 0.4), 4.0, 2.0)] == ["muck"]


def test_a_column_off_the_plan_is_refused():
    with pytest.raises(DomainError, match="must lie inside the grid"):
        soil_column(under([], []), 40.0, 5.0)


def test_the_stack_tells_at_every_node_what_the_column_tells():
    soils = under([SoilPlace(NOWHERE, whole=True), SoilPlace(NOWHERE, WEST)], [MEADOW, SEAM], 0.4)
    stack = layer_stack(soils)
    for row in range(0, GRID.rows, 3):
        for column in range(0, GRID.columns, 4):
            told = soil_column(soils, float(GRID.east[column]), float(GRID.north[row]))
            there = [place for place in range(len(stack.kind)) if stack.kind[place, row, column] >= 0]

            assert [stack.kinds[stack.kind[place, row, column]] for place in there] == [
                layer.kind for layer in told
            ]
            assert stack.top[there, row, column] == pytest.approx([layer.top for layer in told])
            assert stack.bottom[there, row, column] == pytest.approx(
                [-np.inf if layer.bottom is None else layer.bottom for layer in told]
            )


def test_layers_of_a_stack_lie_on_one_another():
    stack = layer_stack(under([SoilPlace(NOWHERE, whole=True)], [MEADOW], 0.4))

    assert np.array_equal(stack.top[1:], stack.bottom[:-1])


def test_a_stack_without_any_soil_is_bare_ground():
    stack = layer_stack(under([], []))

    assert (stack.kind == -1).all()


def test_the_whole_site_leaves_nothing_untold():
    assert untold_share([SoilPlace(NOWHERE, whole=True)], NOWHERE, EVERYWHERE, GRID, 5.0) == 0.0


def test_a_probe_tells_of_the_ground_round_it():
    bare = untold_share([], NOWHERE, EVERYWHERE, GRID, 5.0)
    probed = untold_share([], np.array([[10.0, 5.0]]), EVERYWHERE, GRID, 5.0)

    assert bare == 1.0
    assert 0.5 < probed < 1.0


def test_nothing_surveyed_is_nothing_untold():
    assert untold_share([], NOWHERE, ~EVERYWHERE, GRID, 5.0) == 0.0


def test_a_layer_that_the_soil_does_not_have_is_told():
    (match,) = probe_against_soil([Layer("gravel", 0.5)], MEADOW)

    assert match.told is None and match.miss == 0.5


def test_a_layer_that_should_have_no_end_and_has_one_is_told():
    rock, below = probe_against_soil([Layer("rock", 0.5), Layer("sand", 0.2)], MEADOW)

    assert rock.miss == 0.5 and below.told is None


def test_a_layer_that_the_pit_did_not_end_may_be_thinner_than_told():
    (match,) = probe_against_soil([Layer("silt", 0.5)], MEADOW)

    assert match.miss == 0.0


def test_muck_of_a_probe_is_not_held_against_the_soil_and_stands_for_its_topsoil():
    matches = probe_against_soil([Layer("muck", 0.4), Layer("silt", 1.5), Layer("rock", 0.1)], MEADOW)

    assert [match.kind for match in matches] == ["silt", "rock"]
    assert max(match.miss for match in matches) == 0.0


def test_water_above_the_ground_has_a_depth_below_nothing():
    assert water_elevation(30.0, -0.25) == 30.25


def test_water_at_no_number_is_refused():
    with pytest.raises(DomainError, match="must be numbers"):
        water_elevation(float("nan"), 1.0)
