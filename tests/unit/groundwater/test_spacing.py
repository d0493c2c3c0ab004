"""Spacing of drains: limits of Hooghoudt, its rivals beside it, stone and sumps."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
from pondwright.rooms.groundwater.spacing import (
    donnan_spacing,
    ellipse_spacing,
    equivalent_depth,
    equivalent_depth_moody,
    hooghoudt_recharge,
    hooghoudt_spacing,
    interceptor_inflow,
    stone_trench,
    sump_volume,
    time_to_fill,
)

depths = st.floats(0.0, 30.0)
spacings = st.floats(1.0, 200.0)
radii = st.floats(0.03, 0.3)


@given(depths, spacings, radii)
def test_the_equivalent_depth_is_never_more_than_the_depth(depth, spacing, radius):
    assert 0.0 <= equivalent_depth(depth, spacing, radius) <= depth
    assert 0.0 <= equivalent_depth_moody(depth, spacing, radius) <= depth


@given(st.floats(0.0, 20.0), st.floats(0.01, 5.0), st.floats(10.0, 100.0))
def test_a_deeper_base_never_makes_the_equivalent_depth_less(depth, more, spacing):
    shallow, deep = (equivalent_depth(each, spacing, 0.1) for each in (depth, depth + more))

    assert deep >= shallow - 1e-9


@given(st.floats(0.8, 1.2))
def test_both_forms_of_the_series_meet_where_one_takes_over(width):
    spacing = 4.0 * math.pi * 2.0 * width  # x = 0.5 where the width is one
    before, after = (equivalent_depth(2.0, spacing * part, 0.1) for part in (1.0 - 1e-9, 1.0 + 1e-9))

    assert before == pytest.approx(after, rel=1e-8)


@given(st.floats(1.0, 10.0), st.floats(10.0, 60.0))
def test_moody_lies_a_few_percent_above(depth, spacing):
    ratio = equivalent_depth_moody(depth, spacing, 0.1) / equivalent_depth(depth, spacing, 0.1)

    assert 0.98 < ratio < 1.08


@given(
    st.floats(1e-9, 1e-6), st.floats(1e-8, 1e-4), st.floats(0.0, 1e-4), st.floats(0.05, 2.0), depths, radii
)
def test_a_spacing_leads_away_just_the_recharge_that_it_is_made_for(
    recharge, below, above, height, depth, radius
):
    if above == 0.0 and depth == 0.0:
        return
    spacing = hooghoudt_spacing(recharge, below, above, height, depth, radius)

    if spacing > 4.0 * radius:  # closer drains touch each other
        again = hooghoudt_recharge(spacing, below, above, height, depth, radius)
        assert again == pytest.approx(recharge, rel=1e-6)


def test_drains_on_the_base_are_spaced_as_donnan_has_it():
    hooghoudt = hooghoudt_spacing(7e-8, 1e-5, 1e-5, 0.6, 0.0, 0.1)

    assert hooghoudt == pytest.approx(donnan_spacing(7e-8, 1e-5, 0.6, 0.0))
    assert hooghoudt == pytest.approx(math.sqrt(4.0 * 1e-5 * 0.36 / 7e-8))


def test_without_crowding_hooghoudt_would_be_the_ellipse():
    # With the whole depth for the equivalent one, both formulas are the same.
    ellipse = ellipse_spacing(7e-8, 1e-5, 0.6, 2.0)

    assert ellipse == pytest.approx(math.sqrt((8 * 1e-5 * 2.0 * 0.6 + 4 * 1e-5 * 0.36) / 7e-8))
    assert hooghoudt_spacing(7e-8, 1e-5, 1e-5, 0.6, 2.0, 0.1) < ellipse


@given(st.floats(1.1, 4.0))
def test_tighter_ground_and_more_recharge_bring_drains_closer(factor):
    usual = hooghoudt_spacing(7e-8, 1e-5, 1e-5, 0.6, 2.0, 0.1)

    assert hooghoudt_spacing(7e-8 * factor, 1e-5, 1e-5, 0.6, 2.0, 0.1) < usual
    assert hooghoudt_spacing(7e-8, 1e-5 / factor, 1e-5 / factor, 0.6, 2.0, 0.1) < usual


def test_a_stone_trench_carries_a_fraction_of_a_pipe_and_none_without_fall():
    found = stone_trench(0.02, 0.40, 0.01, 0.09)

    assert found.flow < 0.2 * 0.00467
    assert stone_trench(0.02, 0.40, 0.0, 0.09).flow == 0.0


@given(st.floats(1e-4, 0.02), st.floats(1.0, 30.0), st.floats(0.05, 0.95))
def test_a_sump_starts_its_pump_no_oftener_than_it_bears(pump, starts, share):
    volume, inflow = sump_volume(pump, starts), share * pump

    period = time_to_fill(volume, inflow) + volume / (pump - inflow)

    assert period >= 3600.0 / starts * (1.0 - 1e-9)


def test_a_hillside_trench_takes_what_runs_down_the_seam():
    assert interceptor_inflow(2e-5, 0.05, 0.6) == pytest.approx(6e-7)
    assert time_to_fill(1.0, 0.0) == math.inf


@pytest.mark.parametrize(
    ("call", "says"),
    [
        pytest.param(lambda: equivalent_depth(1.0, 0.0, 0.1), "`spacing` and `radius`", id="no spacing"),
        pytest.param(lambda: equivalent_depth(-1.0, 9.0, 0.1), "`depth` must be at least 0", id="depth"),
        pytest.param(lambda: hooghoudt_spacing(0.0, 1.0, 1.0, 1.0, 1.0, 0.1), "`recharge`", id="recharge"),
        pytest.param(lambda: hooghoudt_spacing(1.0, 0.0, 0.0, 1.0, 1.0, 0.1), "some water", id="tight"),
        pytest.param(lambda: donnan_spacing(1.0, 1.0, 1.0, 2.0), "`mid` must be at least", id="mid"),
        pytest.param(lambda: interceptor_inflow(1.0, -0.1, 1.0), "`slope` must be", id="slope"),
        pytest.param(lambda: stone_trench(0.02, 1.0, 0.1, 1.0), "`porosity` between", id="porosity"),
        pytest.param(lambda: sump_volume(0.0, 6.0), "`pump` and `starts`", id="pump"),
    ],
)
def test_what_has_no_answer_is_refused_in_a_sentence(call, says):
    with pytest.raises(DomainError, match=says):
        call()
