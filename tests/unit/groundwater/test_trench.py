"""Safety of trenches, with the published numbers on each side of each threshold."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
from pondwright.rooms.groundwater.trench import (
    EGRESS,
    ENGINEER,
    PROTECTION,
    SPOIL,
    TRAVEL,
    soil_type,
    steepest_slope,
    trench_rules,
)

FOOT = 0.3048
KINDS = ("topsoil", "clay", "silt", "sand", "gravel", "rock", "muck")


def test_the_published_feet_are_kept():
    feet = [round(length / FOOT, 9) for length in (EGRESS, PROTECTION, ENGINEER, TRAVEL, SPOIL)]

    assert feet == [4.0, 5.0, 20.0, 25.0, 2.0]


@pytest.mark.parametrize(
    ("kinds", "wet", "disturbed", "wanted"),
    [
        pytest.param(["clay"], False, False, "B", id="clay that nobody has tested"),
        pytest.param(["silt"], False, False, "B", id="silt"),
        pytest.param(["clay", "sand"], False, False, "C", id="the weakest layer counts"),
        pytest.param(["muck"], False, False, "C", id="muck"),
        pytest.param(["clay"], True, False, "C", id="below the water"),
        pytest.param(["clay"], False, True, "C", id="dug before"),
        pytest.param([], False, False, "C", id="nobody knows"),
        pytest.param(["rock"], False, False, "rock", id="rock"),
        pytest.param(["rock"], True, False, "rock", id="wet rock"),
        pytest.param(["rock", "clay"], True, False, "C", id="wet clay on rock"),
    ],
)
def test_soil_is_called_no_better_than_it_can_be(kinds, wet, disturbed, wanted):
    assert soil_type(kinds, wet=wet, disturbed=disturbed) == wanted


@given(st.lists(st.sampled_from(KINDS), min_size=1, max_size=4), st.booleans())
def test_water_never_makes_a_soil_better(kinds, disturbed):
    order = ("rock", "A", "B", "C")
    dry, wet = (soil_type(kinds, wet=state, disturbed=disturbed) for state in (False, True))

    assert order.index(wet) >= order.index(dry)


@pytest.mark.parametrize(
    ("kind", "degrees"), [("rock", 90), ("A", 53), ("B", 45), ("C", 34)], ids=["rock", "A", "B", "C"]
)
def test_slopes_are_the_published_angles(kind, degrees):
    slope = steepest_slope(kind)

    assert round(math.degrees(math.atan2(1.0, slope))) == degrees


def test_soil_of_type_a_may_be_steeper_for_a_day_down_to_twelve_feet():
    slopes = [steepest_slope("A", depth=feet * FOOT, one_day=True) for feet in (11.99, 12.01)]

    assert slopes == [0.5, 0.75]
    assert steepest_slope("C", depth=1.0, one_day=True) == 1.5


@pytest.mark.parametrize("feet", [4.0, 5.0, 20.0], ids=["ladder", "protection", "engineer"])
def test_what_the_rules_ask_begins_at_its_depth(feet):
    below, at_it, beyond = (trench_rules(feet * FOOT + more, 10.0, 0.6, "C") for more in (-0.001, 0.0, 0.001))

    def asked(rules):
        return {4.0: rules.ladders > 0, 5.0: rules.protected, 20.0: rules.engineer}[feet]

    assert (asked(below), asked(beyond)) == (False, True)
    assert asked(at_it) == (feet != 20.0)


def test_a_trench_of_six_feet_in_wet_clay_opens_to_six_metres():
    rules = trench_rules(1.8, 30.0, 0.6, "C")

    assert rules.lay_back == pytest.approx(2.7) and rules.top_width == pytest.approx(6.0)


@pytest.mark.parametrize(("feet", "ladders"), [(10.0, 1), (50.0, 1), (51.0, 2), (101.0, 3)])
def test_nobody_is_farther_than_25_feet_from_a_ladder(feet, ladders):
    rules = trench_rules(2.0, feet * FOOT, 0.6, "C")

    assert rules.ladders == ladders
    assert feet * FOOT / (2.0 * rules.ladders) <= TRAVEL + 1e-9


def test_stable_rock_needs_no_protection():
    assert not trench_rules(3.0, 10.0, 0.6, "rock").protected


@pytest.mark.parametrize(
    "asked",
    [
        pytest.param(lambda: soil_type(["peat"], wet=False), id="a soil that is none"),
        pytest.param(lambda: steepest_slope("D"), id="a type that is none"),
        pytest.param(lambda: trench_rules(-1.0, 1.0, 1.0, "C"), id="a negative depth"),
    ],
)
def test_a_wrong_question_is_refused(asked):
    with pytest.raises(DomainError, match="must"):
        asked()
