"""Uplift at one spot, by the balance of one square metre of bed, and over a bed of many."""

import math

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.rooms.groundwater.ballast import (
    Ballast,
    CoverLayer,
    ballast_of_parts,
    dry_weight,
    grain_weight,
    layer_weights,
    lifting_head,
    stone,
    submerged_weight,
)
from pondwright.rooms.groundwater.beds import (
    Bed,
    bed_uplift,
    lack_of_weight,
    pressed_clay,
    safe_mark,
    side_word,
    worst_spot,
)
from pondwright.rooms.groundwater.heave import critical_gradient, heave_factor
from pondwright.rooms.groundwater.uplift import (
    bed_cosine,
    excess_head,
    gross_factor,
    lowest_safe_level,
    net_factor,
    stone_thickness,
)

ROCK = stone(np.array([0.3]), 0.35)
LINER, GROUNDWATER = np.array([97.0]), np.array([98.2])


def test_water_that_stands_level_on_both_sides_pushes_nothing():
    assert net_factor(GROUNDWATER, GROUNDWATER, LINER, ROCK).tolist() == [math.inf]
    assert excess_head(GROUNDWATER, GROUNDWATER, LINER).tolist() == [0.0]


def test_groundwater_below_the_liner_pushes_nothing():
    low = np.array([96.0])

    assert net_factor(low, -math.inf, LINER, ROCK).tolist() == [math.inf]
    assert gross_factor(low, -math.inf, LINER, ROCK).tolist() == [math.inf]
    assert lowest_safe_level(low, LINER, ROCK, 1.2).tolist() == [-math.inf]
    assert stone_thickness(low, -math.inf, LINER, 1.2).tolist() == [0.0]


def test_a_bare_liner_holds_nothing_but_what_the_pond_holds():
    bare = Ballast(*(np.zeros(1) for _ in range(3)))

    assert net_factor(GROUNDWATER, 97.8, LINER, bare).tolist() == [0.0]
    assert lowest_safe_level(GROUNDWATER, LINER, bare, 1.2).tolist() == pytest.approx([98.2])


def test_stone_half_in_the_water_weighs_between_dry_and_submerged():
    half = ROCK.resistance(np.array([0.15]))

    assert half.tolist() == pytest.approx([0.5 * (ROCK.dry[0] + ROCK.submerged[0])])
    assert ROCK.resistance(np.array([5.0])).tolist() == ROCK.submerged.tolist()


def test_at_the_lowest_safe_level_the_net_factor_is_the_one_wanted_in_the_stone_as_well():
    for head in (97.45, 97.6, 98.2, 99.0):
        level = lowest_safe_level(np.array([head]), LINER, ROCK, 1.2)

        assert net_factor(np.array([head]), level, LINER, ROCK) == pytest.approx(1.2, rel=1e-12)


def test_the_stone_told_gives_the_factor_wanted_in_water_and_out_of_it():
    for level in (97.8, 97.1, -math.inf):
        thickness = stone_thickness(GROUNDWATER, level, LINER, 1.3, 0.4)

        assert net_factor(GROUNDWATER, level, LINER, stone(thickness, 0.4)) == pytest.approx(1.3, rel=1e-12)


def test_a_deep_pond_hides_the_same_excess_in_its_gross_factor():
    liner = np.array([97.0, 87.0, -903.0])
    rock = stone(np.full(3, 0.3), 0.35)

    gross = gross_factor(np.full(3, 98.2), 97.8, liner, rock)

    assert net_factor(np.full(3, 98.2), 97.8, liner, rock).tolist() == pytest.approx([0.804375] * 3)
    assert gross[0] < gross[1] < gross[2] < 1.0 and gross[2] == pytest.approx(1.0, abs=1e-3)


def test_a_slope_of_three_to_four_leaves_four_fifths_of_the_weight():
    z = 0.75 * np.tile(np.arange(5.0), (4, 1))

    assert bed_cosine(z, 1.0) == pytest.approx(np.full((4, 5), 0.8))
    flat, sloping = (net_factor(GROUNDWATER, 97.8, LINER, ROCK, cosine)[0] for cosine in (1.0, 0.8))
    assert sloping == pytest.approx(0.8 * flat)


@pytest.mark.parametrize(
    ("porosity", "density", "weights"),
    [
        pytest.param(None, None, (0.0, 0.0), id="nothing known holds nothing"),
        pytest.param(0.4, None, (0.6 * 2.65, 0.6 * 1.65), id="voids alone"),
        pytest.param(0.38, 1650.0, (1.65, 1.03), id="both"),
        pytest.param(None, 1590.0, (1.59, 0.99), id="density alone"),
        pytest.param(0.2, 400.0, (0.4, 0.0), id="what floats holds nothing under water"),
    ],
)
def test_a_layer_weighs_what_is_known_of_it(porosity, density, weights):
    assert layer_weights(porosity, density) == pytest.approx(weights)


def test_a_cover_of_its_own_zone_lies_on_the_liner_of_the_whole_body():
    lining = [CoverLayer(0.004), CoverLayer(0.001, seals=True), CoverLayer(0.1, 0.4)]
    below, ballast = ballast_of_parts([([10, 11], lining), ([11], [CoverLayer(0.5, 0.4)])])

    assert below[[10, 11, 12]].tolist() == pytest.approx([0.005, 0.005, 0.0])
    assert ballast.thickness[[10, 11, 12]].tolist() == pytest.approx([0.1, 0.6, 0.0])
    assert ballast.dry[11] == pytest.approx(0.6 * dry_weight(0.4))


def test_a_build_up_without_a_sealing_layer_lies_on_a_liner_on_the_subgrade():
    below, ballast = ballast_of_parts([([10], [CoverLayer(0.2, 0.4)])])

    assert below[10] == 0.0 and ballast.submerged[10] == pytest.approx(0.2 * submerged_weight(0.4))


def test_a_stone_of_1_8_t_on_1_5_m2_is_lifted_by_0_75_m_in_water_and_1_20_m_dry():
    assert lifting_head(1800.0, 1.5) == pytest.approx(0.75, abs=0.005)
    assert lifting_head(1800.0, 1.5, submerged=False) == pytest.approx(1.2)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: dry_weight(1.0),
        lambda: submerged_weight(-0.1),
        lambda: submerged_weight(0.4, 1.0),
        lambda: grain_weight(900.0, 0.0),
        lambda: grain_weight(900.0, 1.0),
        lambda: lifting_head(1.0, 0.0),
        lambda: lifting_head(-1.0, 1.0),
        lambda: stone_thickness(GROUNDWATER, 97.8, LINER, 0.0),
        lambda: lowest_safe_level(GROUNDWATER, LINER, ROCK, 0.9),
        lambda: heave_factor(0.0, 1.0, 1.0),
        lambda: critical_gradient(-0.1),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_sentence(asked):
    with pytest.raises(DomainError, match="`.+` must be"):
        asked()


def spread(*heads):
    """Level bed at 97.0 under the same rock with a head at each spot."""
    count = len(heads)
    bed = Bed(np.arange(count), np.full(count, 97.0), stone(np.full(count, 0.3), 0.35), np.ones(count))
    return bed, np.array(heads)


def test_the_worst_spot_is_the_one_that_lifts_first():
    bed, head = spread(97.2, 98.2, 97.9)

    worst = worst_spot(bed, bed_uplift(bed, head, 97.8), head, 97.8, 1.2)

    assert (worst.spot, worst.excess, worst.net) == (1, pytest.approx(0.4), pytest.approx(0.804375))


def test_where_nothing_pushes_the_worst_spot_is_where_the_groundwater_comes_nearest():
    bed, head = spread(97.2, 97.5, 97.3)

    worst = worst_spot(bed, bed_uplift(bed, head, 97.8), head, 97.8, 1.2)

    assert (worst.spot, worst.net, worst.stone) == (1, math.inf, 0.0)
    assert worst.excess == pytest.approx(-0.3)


def test_a_bed_that_holds_dry_has_no_mark_and_one_that_does_not_has_that_of_its_worst_spot():
    assert safe_mark(*spread(97.2, 97.3), 1.2) is None
    assert safe_mark(*spread(97.2, 98.2), 1.2) == pytest.approx(97.931875)


def test_lowering_the_groundwater_by_what_is_lacking_is_just_enough():
    bed, head = spread(97.2, 98.2)
    lack = lack_of_weight(bed, head, 97.8, 1.2)

    for change, holds in ((1e-9, True), (-1e-9, False)):
        net = bed_uplift(bed, head - lack - change, 97.8).net.min()
        assert bool(net >= 1.2) is holds


def test_sides_are_told_by_the_compass():
    round_it = [(4, 8), (8, 8), (8, 4), (8, 0), (4, 0), (0, 0), (0, 4), (0, 8)]

    told = [side_word(point, (4.0, 4.0), 5.7) for point in round_it]

    assert told == [
        "north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west",
    ]  # fmt: skip
    assert side_word((4.1, 4.0), (4.0, 4.0), 5.7) == "middle"


def test_clay_is_pressed_where_an_open_layer_lies_below_the_bottom_of_the_dig():
    top, bottom = np.array([[10.0] * 3, [8.0] * 3]), np.array([[8.0] * 3, [6.0] * 3])
    permeability = np.array([[1e-7] * 3, [1e-5, 5e-7, 1e-5]])

    left, sand = pressed_clay(np.array([9.0, 9.0, 7.0]), top, bottom, permeability, 10.0)

    assert left.tolist() == [1.0, math.inf, math.inf]
    assert sand.tolist() == [8.0, -math.inf, -math.inf]
