"""Filters: rules that meet where categories of soil meet, and bands that hold what they must."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
from pondwright.rooms.groundwater.filters import (
    classic_band,
    coarsest_filter,
    fabric_need,
    fabric_strength,
    finest_envelope,
    finest_filter,
    soil_category,
    widest_fabric_opening,
)

sizes = st.floats(1e-6, 0.01)


@given(st.floats(0.00018, 0.01))
def test_rules_meet_at_fifteen_and_at_forty_percent_of_fines(d85):
    for share in (0.15, 0.40):
        below, above = (coarsest_filter(share + step, d85) for step in (-1e-9, 1e-9))
        assert below == pytest.approx(above, abs=1e-9)


@given(sizes, st.floats(0.0, 0.85), st.floats(0.0, 0.85))
def test_more_fines_never_allow_a_coarser_filter_on_sand(d85, one, other):
    # Of sands whose coarse part is sand; a silt may allow more by its own d85.
    few, many = sorted((one, other))

    if 4.0 * d85 >= 0.0007:
        assert coarsest_filter(many, d85) <= coarsest_filter(few, d85) + 1e-12


@given(sizes, st.floats(0.0, 1.0))
def test_a_dispersive_clay_never_allows_a_coarser_filter(d85, fines):
    assert coarsest_filter(fines, d85, dispersive=True) <= coarsest_filter(fines, d85)


def test_categories_change_at_their_shares():
    assert [soil_category(one) for one in (1.0, 0.851, 0.85, 0.4, 0.399, 0.15, 0.149, 0.0)] == [
        1, 1, 2, 2, 3, 3, 4, 4,
    ]  # fmt: skip


@given(sizes, sizes)
def test_the_classic_band_is_within_forty_times_the_soil(one, other):
    d15, d85 = sorted((one, other))

    band = classic_band(d15, d85)

    assert band.least == pytest.approx(5.0 * d15)
    assert band.most <= 40.0 * d15 * (1 + 1e-12) and band.most <= 5.0 * d85 * (1 + 1e-12)


@given(sizes)
def test_a_filter_lets_through_what_its_soil_gives(d15):
    assert finest_filter(d15) >= 0.0001
    assert finest_filter(d15) >= 4.0 * d15


def test_slots_need_coarser_gravel_than_holes_of_the_same_width():
    assert finest_envelope(0.002, round_holes=False) > finest_envelope(0.002, round_holes=True) == 0.002


@given(st.floats(1.0, 50.0), st.floats(1e-5, 0.01))
def test_a_fabric_opening_lies_between_one_and_two_sizes_of_the_soil(uniformity, d85):
    assert d85 <= widest_fabric_opening(uniformity, d85) * (1 + 1e-12)
    assert widest_fabric_opening(uniformity, d85) <= 2.0 * d85


def test_openings_of_fabric_are_continuous_over_the_mixture_of_sizes():
    for turn in (2.0, 4.0, 8.0):
        below, above = (widest_fabric_opening(turn + step, 0.001) for step in (-1e-9, 1e-9))
        assert below == pytest.approx(above, rel=1e-6)


def test_more_fines_ask_for_a_finer_and_allow_a_tighter_fabric():
    needs = [fabric_need(fines) for fines in (0.1, 0.3, 0.6)]

    assert [need.permittivity for need in needs] == [0.5, 0.2, 0.1]
    assert [need.opening for need in needs] == [0.00043, 0.00025, 0.00022]
    assert fabric_need(0.50) == fabric_need(0.15) == needs[1]


def test_a_stronger_class_is_stronger_in_everything():
    for stretch in ("low", "high"):
        first, second, third = (fabric_strength(number, stretch) for number in (1, 2, 3))
        for part in ("grab", "tear", "puncture"):
            assert getattr(first, part) > getattr(second, part) > getattr(third, part)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        pytest.param(lambda: soil_category(1.2), "`fines` must be a share", id="share"),
        pytest.param(lambda: fabric_need(-0.1), "`fines` must be a share", id="share of a fabric"),
        pytest.param(lambda: coarsest_filter(0.3, 0.0), "`base_d85` must be above 0", id="size"),
        pytest.param(lambda: finest_filter(0.0), "`base_d15` must be above 0", id="fine size"),
        pytest.param(lambda: classic_band(0.0, 0.001), "must be above 0 m", id="band"),
        pytest.param(lambda: finest_envelope(0.0, True), "`opening` must be above 0", id="opening"),
        pytest.param(lambda: widest_fabric_opening(0.5, 0.001), "`uniformity` must be", id="mixture"),
        pytest.param(lambda: fabric_strength(4, "low"), "`strength` must be class", id="class"),
    ],
)
def test_what_has_no_answer_is_refused_in_a_sentence(call, says):
    with pytest.raises(DomainError, match=says):
        call()
