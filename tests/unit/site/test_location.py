"""Locating shots: offsets, bearings and tapes, against hand-derived answers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
from pondwright.rooms.site.location import (
    bearing_point,
    level_distance,
    many_tape_tie,
    offset_point,
    tape_growth,
    tape_sag,
    tie_angle,
    tie_sigma,
    two_tape_tie,
)

places = st.tuples(st.floats(-50.0, 50.0), st.floats(-50.0, 50.0))


def test_a_bearing_of_north_37_30_east_goes_25_933_east_and_33_797_north() -> None:
    point = bearing_point((0.0, 0.0), math.radians(37.5), 42.6)

    assert point == pytest.approx((25.933, 33.797), abs=5e-4)


def test_a_negative_distance_is_refused_with_its_value() -> None:
    with pytest.raises(DomainError, match="`distance` must be at least 0 m, got -1 m"):
        bearing_point((0.0, 0.0), 0.0, -1.0)


def test_an_offset_to_the_left_is_positive() -> None:
    point = offset_point((2.0, 1.0), (2.6, 1.8), 12.5, 3.2)

    assert point == pytest.approx((6.94, 12.92), abs=1e-9)


def test_an_offset_to_the_right_is_negative() -> None:
    point = offset_point((0.0, 0.0), (10.0, 0.0), 4.0, -3.0)

    assert point == pytest.approx((4.0, -3.0))


def test_a_base_of_one_point_is_refused() -> None:
    with pytest.raises(DomainError, match="`base` must have two different ends"):
        offset_point((1.0, 1.0), (1.0, 1.0), 1.0, 0.0)


def test_two_tapes_meet_at_the_hand_derived_place() -> None:
    tie = two_tape_tie((0.0, 0.0), (20.0, 0.0), 15.0, 13.0, tape_sigma=0.020)

    assert tie.point == pytest.approx((11.4, 9.74885), abs=1e-5)
    assert math.degrees(tie.angle) == pytest.approx(90.88, abs=0.01)
    assert tie.sigma == pytest.approx(0.0283, abs=1e-4)


def test_the_other_answer_is_on_the_other_side() -> None:
    left = two_tape_tie((10.0, 5.0), (40.0, 45.0), 30.0, 40.0)
    right = two_tape_tie((10.0, 5.0), (40.0, 45.0), 30.0, 40.0, left=False)

    assert left.point == pytest.approx((1.6, 33.8), abs=1e-6)
    assert left.other == pytest.approx((40.0, 5.0), abs=1e-6)
    assert (right.point, right.other) == (left.other, left.point)


def test_tapes_that_fall_short_tell_the_gap() -> None:
    with pytest.raises(DomainError, match=r"`tapes` must meet, got a gap of 2\.000 m"):
        two_tape_tie((0.0, 0.0), (10.0, 0.0), 5.0, 3.0)


def test_a_tape_that_swallows_the_other_tells_the_gap() -> None:
    with pytest.raises(DomainError, match=r"got a gap of 3\.000 m"):
        two_tape_tie((0.0, 0.0), (10.0, 0.0), 15.0, 2.0)


def test_tapes_from_one_mark_are_refused() -> None:
    with pytest.raises(DomainError, match="two different marks"):
        two_tape_tie((1.0, 1.0), (1.0, 1.0), 5.0, 3.0)


def test_tapes_that_miss_by_their_own_error_touch_on_the_line() -> None:
    tie = two_tape_tie((0.0, 0.0), (10.0, 0.0), 5.97, 3.98)

    assert tie.point == pytest.approx((6.0, 0.0), abs=0.05)


@given(first=places, second=places, point=places)
def test_a_point_taped_from_two_marks_is_found_again(first, second, point) -> None:  # type: ignore[no-untyped-def]
    between, angle = math.dist(first, second), tie_angle(point, first, second)
    if between < 1.0 or not 0.1 < angle < 3.0:
        return
    cross = (second[0] - first[0]) * (point[1] - first[1]) - (second[1] - first[1]) * (point[0] - first[0])
    tie = two_tape_tie(first, second, math.dist(point, first), math.dist(point, second), left=cross > 0.0)

    assert tie.point == pytest.approx(point, abs=1e-6)


def test_three_tapes_that_agree_leave_nothing_over() -> None:
    marks = ((0.0, 0.0), (20.0, 0.0), (10.0, 20.0))
    tie = many_tape_tie(marks, [math.dist((11.0, 9.0), mark) for mark in marks])

    assert tie.point == pytest.approx((11.0, 9.0), abs=1e-9)
    assert tie.residual == pytest.approx(0.0, abs=1e-9)


def test_the_third_tape_decides_the_side() -> None:
    marks = ((0.0, 0.0), (20.0, 0.0), (10.0, 20.0))
    tie = many_tape_tie(marks, [math.dist((11.0, -9.0), mark) for mark in marks])

    assert tie.point == pytest.approx((11.0, -9.0), abs=1e-9)


def test_a_misread_third_tape_leaves_something_over() -> None:
    marks = ((0.0, 0.0), (20.0, 0.0), (10.0, 20.0))
    tapes = [math.dist((11.0, 9.0), mark) for mark in marks]
    tie = many_tape_tie(marks, [tapes[0], tapes[1], tapes[2] + 0.5])

    assert 0.1 < tie.residual < 0.5


def test_the_least_squares_point_cannot_be_bettered_nearby() -> None:
    marks = ((0.0, 0.0), (20.0, 0.0), (10.0, 20.0))
    tapes = [14.3, 12.6, 11.2]
    tie = many_tape_tie(marks, tapes)

    def misfit(east: float, north: float) -> float:
        return sum(
            (tape - math.dist((east, north), mark)) ** 2 for tape, mark in zip(tapes, marks, strict=True)
        )

    best = misfit(*tie.point)
    around = [(math.sin(turn), math.cos(turn)) for turn in (0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0)]
    assert all(misfit(tie.point[0] + 1e-3 * e, tie.point[1] + 1e-3 * n) > best for e, n in around)


def test_two_tapes_are_too_few_for_least_squares() -> None:
    with pytest.raises(DomainError, match="three or more"):
        many_tape_tie(((0.0, 0.0), (1.0, 0.0)), (1.0, 1.0))


def test_three_tapes_of_which_no_two_meet_are_refused() -> None:
    with pytest.raises(DomainError, match="no pair"):
        many_tape_tie(((0.0, 0.0), (50.0, 0.0), (0.0, 50.0)), (1.0, 1.0, 1.0))


def test_tapes_in_one_line_give_no_strength() -> None:
    assert tie_sigma(0.0, 0.02) == math.inf


def test_a_tape_on_a_slope_of_one_and_a_half_in_thirty_reads_37_52_mm_long() -> None:
    assert level_distance(30.0, 1.5) - 30.0 == pytest.approx(-0.03752, abs=5e-6)


def test_a_rise_longer_than_the_tape_is_refused() -> None:
    with pytest.raises(DomainError, match="`rise` must be at most the taped 2 m, got 3 m"):
        level_distance(2.0, 3.0)


def test_a_steel_tape_warmed_by_15_kelvin_grows_5_22_mm_in_thirty_metres() -> None:
    assert tape_growth(30.0, 15.0) == pytest.approx(0.00522, abs=5e-6)


def test_a_tape_hanging_over_thirty_metres_sags_17_32_mm_short() -> None:
    assert tape_sag(30.0, 0.02 * 9.81 * 30.0, 50.0) == pytest.approx(0.01732, abs=5e-6)


def test_a_tape_without_pull_has_no_sag_correction() -> None:
    with pytest.raises(DomainError, match="`pull` must be above 0 N"):
        tape_sag(30.0, 6.0, 0.0)
