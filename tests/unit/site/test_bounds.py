"""Clearance of work from lines: against plane geometry, a general library, and what a move does to it."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from pondwright.base.errors import DomainError
from pondwright.rooms.site.bounds import Trace, banded, berm_reaches, signed_clearance

SQUARE = Trace(np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]), closed=True)

NUMBERS = st.floats(-40.0, 40.0).map(lambda value: round(value, 3))
REACHES = st.floats(0.0, 5.0).map(lambda value: round(value, 3))


@st.composite
def areas(draw, east=0.0, north=0.0):
    """Star-shaped rings, which never cross themselves."""
    count = draw(st.integers(3, 9))
    reach = draw(st.lists(st.floats(2.0, 9.0), min_size=count, max_size=count))
    turn = 2.0 * math.pi / count
    points = [
        (east + far * math.cos(turn * place), north + far * math.sin(turn * place))
        for place, far in enumerate(reach)
    ]
    return Trace(np.array(points), closed=True)


@st.composite
def lines(draw):
    points = draw(st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=5, unique=True))
    return Trace(np.array(points), reach=draw(REACHES))


def shifted(trace, east, north):
    return Trace(trace.points + np.array([east, north]), trace.closed, trace.reach)


def shape(trace):
    if len(trace.points) == 1:
        return Point(trace.points[0])
    return Polygon(trace.points) if trace.closed else LineString(trace.points)


@given(areas(), lines())
def test_apart_the_clearance_is_the_distance_less_the_reaches(work, line):
    assume(not shape(work).intersects(shape(line)))

    found = signed_clearance(work, line)

    assert found.clearance == pytest.approx(shape(work).distance(shape(line)) - line.reach)
    assert math.dist(found.at_work, found.at_line) == pytest.approx(found.clearance + line.reach)


@given(areas(), lines() | areas(8.0, 3.0))
def test_overlapping_it_is_below_zero_and_both_ways_round_the_same(work, line):
    assume(shape(work).intersects(shape(line)))

    there, back = signed_clearance(work, line), signed_clearance(line, work)

    assert there.clearance <= 0.0
    assert there.clearance == pytest.approx(back.clearance, abs=0.051)


@given(areas(), lines() | areas(8.0, 3.0), NUMBERS, NUMBERS)
def test_it_does_not_matter_where_the_zero_of_the_plan_is(work, line, east, north):
    moved = signed_clearance(shifted(work, east, north), shifted(line, east, north))

    assert moved.clearance == pytest.approx(signed_clearance(work, line).clearance, abs=0.051)


@given(areas(), lines(), st.floats(0.0, 10.0))
def test_a_step_changes_a_clearance_from_a_line_by_no_more_than_its_length(work, line, step):
    assume(not shape(work).intersects(shape(line)))
    near = signed_clearance(work, line)

    away = signed_clearance(shifted(work, step * near.away[0], step * near.away[1]), line)

    assert abs(away.clearance - near.clearance) <= step + 0.05 or away.clearance < 0.0


@given(st.floats(0.5, 9.5), st.floats(-20.0, 20.0))
def test_a_line_through_a_square_is_as_deep_as_its_nearer_side_is_far(north, slide):
    line = Trace(np.array([(slide - 60.0, north), (slide + 60.0, north)]))

    found = signed_clearance(SQUARE, line)

    assert found.clearance == pytest.approx(-min(north, 10.0 - north), abs=0.03)


@given(st.floats(0.3, 6.0), st.floats(0.0, 3.0))
def test_a_square_that_is_moved_as_told_gets_clear_of_a_half_plane(depth, need):
    beyond = Trace(np.array([(10.0 - depth, -50.0), (90.0, -50.0), (90.0, 60.0), (10.0 - depth, 60.0)]), True)
    found = signed_clearance(SQUARE, beyond)
    assert found.clearance == pytest.approx(-depth, abs=0.03)
    step = need - found.clearance

    clear = signed_clearance(shifted(SQUARE, step * found.away[0], step * found.away[1]), beyond)

    assert clear.clearance == pytest.approx(need, abs=0.06)


@given(areas(), st.floats(10.0, 20.0))
def test_inside_a_wide_ring_it_is_the_distance_to_that_ring(work, half):
    ring = np.array([(-half, -half), (half, -half), (half, half), (-half, half)])

    found = signed_clearance(work, Trace(ring, closed=True), inside=True)

    assert found.clearance == pytest.approx(half - np.abs(work.points).max())


@given(st.floats(0.1, 9.0))
def test_what_sticks_out_of_a_ring_is_told_below_zero(out):
    ring = Trace(np.array([(-5.0, -5.0), (10.0 - out, -5.0), (10.0 - out, 20.0), (-5.0, 20.0)]), closed=True)

    assert signed_clearance(SQUARE, ring, inside=True).clearance == pytest.approx(-out)


def test_wholly_outside_the_ring_that_it_must_stay_in_it_is_as_far_out_as_its_far_side():
    ring = Trace(np.array([(-9.0, 0.0), (-2.0, 0.0), (-2.0, 10.0), (-9.0, 10.0)]), closed=True)

    assert signed_clearance(SQUARE, ring, inside=True).clearance == pytest.approx(-12.0)


def test_two_lines_that_cross_have_a_clearance_of_nothing_less_their_widths():
    way = Trace(np.array([(0.0, -5.0), (0.0, 5.0)]), reach=1.5)
    line = Trace(np.array([(-5.0, 0.0), (5.0, 0.0)]))

    found = signed_clearance(way, line)

    assert found.clearance == -1.5 and found.away == (0.0, 0.0)


def test_a_ring_that_crosses_itself_still_has_a_clearance():
    bow = Trace(np.array([(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)]), closed=True)

    assert signed_clearance(bow, Trace(np.array([(9.0, 2.0)]))).clearance == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("line", "inside", "says"),
    [
        (Trace(np.empty((0, 2))), False, "at least one point"),
        (Trace(np.array([(0.0, 0.0), (1.0, 0.0)])), True, "closed line"),
    ],
)
def test_what_has_no_answer_is_refused(line, inside, says):
    with pytest.raises(DomainError, match=says):
        signed_clearance(SQUARE, line, inside)


@given(st.floats(5.0, 12.0), st.floats(0.0, 1.0), st.floats(0.0, 3.0))
def test_a_higher_water_never_draws_the_foot_of_a_berm_in(level, freeboard, rise):
    ground = np.linspace(4.0, 12.0, 9)

    low, high = (berm_reaches(ground, at, freeboard, 0.9, 2.0, 3.0) for at in (level, level + rise))

    assert (high >= low).all() and (low[ground >= level + freeboard] == 0.0).all()


@given(areas(), st.floats(0.0, 4.0))
def test_a_band_of_one_width_is_a_buffer(work, width):
    whole = Polygon(banded(work.points, np.full(len(work.points), width)).points)

    assert whole.area == pytest.approx(shape(work).buffer(width, quad_segs=16).area, rel=2e-3)


def test_a_band_needs_a_width_for_each_point():
    with pytest.raises(DomainError, match="one for each of the 4 points"):
        banded(SQUARE.points, np.zeros(3))
