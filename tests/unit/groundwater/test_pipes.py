"""Drain pipes: Manning against its own parts, profiles that fall, and pipe on hand against brute force."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from pondwright.base.errors import DomainError
from pondwright.rooms.groundwater.lines import rising_inverts
from pondwright.rooms.groundwater.lines import stations as distances
from pondwright.rooms.groundwater.pipes import (
    Need,
    backed_up,
    climb_margin,
    cut_line,
    eyes_outside,
    fall_for_speed,
    falls_of,
    full_flow,
    full_speed,
    gathered,
    part_full,
    pipe_roughness,
    pipe_used,
    rodding_eyes,
    trench_volume,
)

diameters = st.floats(0.05, 0.6)
falls = st.floats(0.0005, 0.1)
corners = st.lists(
    st.tuples(st.floats(-50.0, 50.0), st.floats(-50.0, 50.0)), min_size=2, max_size=6, unique=True
).filter(lambda places: all(math.dist(a, b) > 0.01 for a, b in itertools.pairwise(places)))


@given(diameters, falls, st.floats(0.01, 0.99))
def test_a_part_full_pipe_carries_just_what_comes(diameter, fall, share):
    flow = share * full_flow(diameter, fall, 0.015)

    found = part_full(flow, diameter, fall, 0.015)

    half = math.acos(1.0 - 2.0 * found.depth / diameter)
    area = diameter**2 / 4.0 * (half - math.sin(half) * math.cos(half))
    radius = area / (diameter * half)
    assert found.speed == pytest.approx(radius ** (2.0 / 3.0) * math.sqrt(fall) / 0.015, rel=1e-6)
    assert area * found.speed == pytest.approx(flow, rel=1e-9)
    assert 0.0 < found.depth < diameter and not found.full


@given(diameters, falls, st.floats(0.01, 0.5), st.floats(1.01, 1.9))
def test_more_water_stands_deeper_and_runs_no_slower(diameter, fall, share, more):
    full = full_flow(diameter, fall, 0.015)

    little, much = (part_full(part * full, diameter, fall, 0.015) for part in (share, share * more))

    assert much.depth > little.depth
    assert much.speed >= little.speed * 0.999


def test_a_pipe_that_is_asked_too_much_is_full():
    full = full_flow(0.1, 0.01, 0.015)

    found = part_full(2.0 * full, 0.1, 0.01, 0.015)

    assert found.full and found.depth == 0.1
    assert found.speed == pytest.approx(2.0 * full_speed(0.1, 0.01, 0.015))


def test_no_water_runs_in_a_pipe_that_gets_none_and_none_in_one_that_climbs():
    assert part_full(0.0, 0.1, 0.01, 0.015).depth == 0.0
    assert full_flow(0.1, -0.02, 0.015) == 0.0


@given(diameters, st.floats(0.05, 3.0))
def test_the_fall_for_a_speed_gives_that_speed(diameter, speed):
    assert full_speed(diameter, fall_for_speed(diameter, speed, 0.013), 0.013) == pytest.approx(speed)


@given(corners, st.floats(90.0, 110.0), falls, st.floats(0.2, 5.0))
def test_a_profile_by_its_fall_falls_all_along_and_nowhere_else(points, lower, fall, step):
    line = np.array(points)

    cut = cut_line(line, rising_inverts(line, lower, fall), step)

    assert np.all(np.diff(cut.invert) < 0.0)
    assert falls_of(cut) == pytest.approx([fall] * (len(points) - 1), rel=1e-6, abs=1e-9)
    assert cut.chainage[-1] == pytest.approx(distances(line)[-1])
    assert np.diff(cut.chainage).max() <= step + 1e-9
    assert np.allclose(cut.points[list(cut.bends)], line)


def test_a_piece_that_climbs_has_a_fall_below_zero():
    cut = cut_line(np.array([[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]]), np.array([1.0, 0.8, 0.85]), 1.0)

    assert falls_of(cut) == pytest.approx((0.02, -0.005))


def test_a_point_given_twice_bends_nothing():
    cut = cut_line(
        np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 0.0], [8.0, 0.0]]), np.array([4.0, 3.0, 3.0, 2.0]), 4.0
    )

    assert cut.bends == (0, 1, 2)
    assert falls_of(cut) == pytest.approx((0.25, 0.25))


def test_a_line_without_length_has_no_profile():
    with pytest.raises(DomainError, match="length above 0 m"):
        cut_line(np.zeros((2, 2)), np.zeros(2), 1.0)


@given(corners, falls, st.floats(-1.0, 6.0))
def test_a_flood_backs_up_as_far_as_a_level_line_reaches(points, fall, over):
    line = np.array(points)
    cut = cut_line(line, rising_inverts(line, 100.0, fall), 0.5)

    length = backed_up(cut, 100.0 + over)

    assert length == pytest.approx(min(max(over / fall, 0.0), distances(line)[-1]), abs=1e-6)


def test_a_flood_does_not_pass_a_hump():
    cut = cut_line(np.array([[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]]), np.array([1.0, 3.0, 0.0]), 1.0)

    assert backed_up(cut, 1.5) == pytest.approx(5.0)


@given(corners, st.floats(5.0, 60.0))
def test_eyes_are_never_farther_apart_than_they_may_be(points, most):
    line = np.array(points)

    eyes = rodding_eyes(line, most)

    assert eyes[0] == 0.0
    assert max(np.diff([*eyes, distances(line)[-1]])) <= most + 1e-6


def test_what_can_be_built_is_half_a_percent_and_not_a_tenth():
    assert climb_margin(0.005, 0.005) > 0.0 > climb_margin(0.001, 0.005)


lots = st.lists(
    st.tuples(st.floats(0.5, 60.0), st.sampled_from((0.1016, 0.1524, 0.2032)), st.booleans()), max_size=4
)


@settings(max_examples=60, deadline=None)
@given(lots, lots)
def test_pipe_on_hand_is_never_exceeded_and_no_other_way_lays_more_of_it(drains, there):
    needs = {f"d{n}": Need(*row, "corrugated") for n, row in enumerate(drains)}
    stock = {f"p{n}": Need(*row, "corrugated") for n, row in enumerate(there)}

    used = pipe_used(needs, stock, 0.0)

    for name, pipe in stock.items():
        assert sum(length for (_, of), length in used.items() if of == name) <= pipe.length + 1e-9
    for name, need in needs.items():
        assert sum(length for (to, _), length in used.items() if to == name) <= need.length + 1e-9
    assert sum(used.values()) == pytest.approx(most_laid(needs, stock), abs=1e-6)


def most_laid(needs, stock):
    """Most pipe on hand that can be laid, by a linear program."""
    pairs = [
        (to, of)
        for to, of in itertools.product(needs, stock)
        if needs[to].slotted == stock[of].slotted and stock[of].diameter >= needs[to].diameter
    ]
    if not pairs:
        return 0.0
    rows = [[float(to == name) for to, _ in pairs] for name in needs]
    rows += [[float(of == name) for _, of in pairs] for name in stock]
    room = [each.length for each in (*needs.values(), *stock.values())]
    return -linprog(-np.ones(len(pairs)), A_ub=rows, b_ub=room).fun


def test_a_rest_too_short_to_use_is_left_over():
    needs = {"long": Need(17.5, 0.15, True, "corrugated"), "next": Need(14.8, 0.1, True, "corrugated")}

    used = pipe_used(needs, {"p": Need(18.0, 0.15, True, "corrugated")})

    assert used == {("long", "p"): 17.5}


@given(st.lists(st.floats(0.0, 60.0), max_size=6), st.lists(st.booleans(), min_size=61, max_size=61))
def test_no_eye_comes_up_through_a_liner(eyes, covered):
    chainage, covered = np.arange(61.0), np.array(covered)

    moved = eyes_outside(eyes, chainage, covered)

    assert not any(covered[int(np.argmin(np.abs(chainage - eye)))] for eye in moved)
    assert bool(moved) == (bool(eyes) and not covered.all())
    for eye in eyes:
        if moved:
            free = chainage[~covered]
            assert min(abs(eye - one) for one in moved) <= np.abs(free - eye).min() + 1e-9


def test_every_station_needs_an_answer_whether_a_liner_lies_over_it():
    with pytest.raises(DomainError, match="one a station"):
        eyes_outside((0.0,), np.arange(3.0), np.array([True]))


def test_a_smooth_pipe_does_not_stand_in_for_a_corrugated_one():
    needs = {"d": Need(10.0, 0.1, True, "corrugated")}

    assert pipe_used(needs, {"p": Need(10.0, 0.1, True, "smooth")}) == {}
    assert pipe_used(needs, {"p": Need(10.0, 0.1, False, "corrugated")}) == {}


def test_flows_gather_on_their_way_down():
    found = gathered({"a": 1.0, "b": 2.0, "c": 4.0}, {"a": "c", "b": "c", "c": "culvert"})

    assert found == {"a": 1.0, "b": 2.0, "c": 7.0}


def test_a_ring_of_drains_has_no_flow():
    with pytest.raises(DomainError, match="ring"):
        gathered({"a": 1.0, "b": 2.0}, {"a": "b", "b": "a"})


def test_a_trench_above_the_ground_digs_nothing():
    assert trench_volume(np.array([0.0, 5.0]), np.array([-1.0, -0.2]), 0.4) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        pytest.param(lambda: full_flow(0.0, 0.01, 0.015), "`diameter` must be above 0", id="no pipe"),
        pytest.param(lambda: full_speed(0.1, 0.01, 0.0), "`roughness` must be above 0", id="no roughness"),
        pytest.param(lambda: part_full(-1.0, 0.1, 0.01, 0.015), "`flow` must be at least 0", id="flow"),
        pytest.param(lambda: climb_margin(0.01, 0.005, 0.0), "`length` must be above 0", id="no length"),
    ],
)
def test_what_has_no_answer_is_refused_in_a_sentence(call, says):
    with pytest.raises(DomainError, match=says):
        call()


def test_wide_corrugated_pipe_is_rougher():
    assert [pipe_roughness("corrugated", size) for size in (0.2032, 0.254, 0.381)] == [0.015, 0.017, 0.020]
