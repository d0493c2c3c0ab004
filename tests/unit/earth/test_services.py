"""A dig over a buried service: where it would be cut, where it may be hit, and where nothing is dug."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.earth.services import along, dug_over

GRID = Grid(0.0, 0.0, 1.0, 31, 21)
FLAT = np.zeros(GRID.shape)
LINE = along(np.array([(5.0, 10.0), (25.0, 10.0)]))


def trench(depth, first=10.0, last=20.0):
    """Level dig between two eastings, with sides one node wide."""
    return np.where((GRID.east >= first) & (GRID.east <= last), -depth, 0.0) * np.ones((GRID.shape[0], 1))


def test_nothing_dug_is_nothing_met():
    met = dug_over(FLAT, FLAT, GRID, LINE, 0.6, 0.6, 0.6)

    assert (met.length, met.dug, met.near, met.cut) == (20.0, 0.0, 0.0, 0.0)
    assert not met.is_cut and not met.is_near and met.spots == () and met.least_cover == np.inf


def test_a_dig_below_a_service_cuts_it_along_its_floor():
    met = dug_over(FLAT, trench(1.0), GRID, LINE, 0.6, 0.1, 0.0)

    assert met.is_cut and met.cut == pytest.approx(10.0 + 2 * 0.4, abs=0.26)  # to 0.6 m on each sloped end
    assert met.least_cover == pytest.approx(-0.4)
    assert all(9.0 <= east <= 21.0 and north == 10.0 for east, north in met.spots)


def test_a_dig_that_stays_above_is_near_only_within_what_is_not_sure():
    assert not dug_over(FLAT, trench(0.4), GRID, LINE, 0.6, 0.1, 0.0).is_near

    met = dug_over(FLAT, trench(0.4), GRID, LINE, 0.6, 0.3, 0.0)
    assert met.is_near and not met.is_cut and met.least_cover == pytest.approx(0.2)


def test_a_service_of_unknown_depth_is_near_wherever_anything_is_dug_over_it():
    met = dug_over(FLAT, trench(0.2), GRID, LINE, None, 0.6, 0.0)

    assert met.is_near and not met.is_cut and met.near == pytest.approx(met.dug)


def test_a_dig_aside_of_the_line_is_near_only_if_the_line_may_lie_there():
    beside = np.where(GRID.north[:, np.newaxis] > 10.9, -1.0, 0.0) * np.ones(GRID.shape)
    line = along(np.array([(5.0, 9.5), (25.0, 9.5)]))

    assert not dug_over(FLAT, beside, GRID, line, 0.6, 0.1, 0.3).is_near
    met = dug_over(FLAT, beside, GRID, line, 0.6, 0.1, 1.4)
    assert met.is_near and not met.is_cut and met.near == pytest.approx(20.0)


def test_a_service_off_the_grid_is_not_met():
    met = dug_over(FLAT, trench(1.0), GRID, LINE + 100.0, 0.6, 0.1, 0.1)

    assert met.length == 0.0 and not met.is_near


def test_a_service_told_by_one_place_can_be_cut():
    met = dug_over(FLAT, trench(1.0), GRID, np.array([(15.0, 10.0)]), 0.6, 0.1, 0.1)

    assert met.is_cut and met.cut == 0.0 and met.spots == ((15.0, 10.0),)


@given(st.floats(0.1, 2.0), st.floats(0.0, 2.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_deeper_digging_and_a_wider_strip_never_meet_less(dig, depth, sure, more):
    shallow = dug_over(FLAT, trench(dig), GRID, LINE, depth, sure, sure)
    deep = dug_over(FLAT, trench(dig + more), GRID, LINE, depth, sure, sure)
    wide = dug_over(FLAT, trench(dig), GRID, LINE, depth, sure + more, sure + more)

    assert shallow.cut <= deep.cut and shallow.near <= deep.near + 1e-9
    assert shallow.near <= wide.near + 1e-9 and wide.cut == shallow.cut
    assert shallow.cut <= shallow.near + 1e-9 <= shallow.length + 2e-9


@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=2, max_size=5), st.floats(0.1, 5.0)
)
def test_steps_along_a_line_keep_its_corners_its_length_and_their_size(points, step):
    corners = np.array(points)

    found = along(corners, step)

    steps = np.hypot(*np.diff(found, axis=0).T)
    assert steps.max() <= step * (1.0 + 1e-6)
    assert steps.sum() == pytest.approx(np.hypot(*np.diff(corners, axis=0).T).sum())
    assert (found[0] == corners[0]).all() and np.allclose(found[-1], corners[-1])


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: along(np.zeros((2, 2)), 0.0), "`step` must be above 0 m"),
        (lambda: along(np.empty((0, 2))), "at least one point"),
        (lambda: dug_over(FLAT, FLAT, GRID, LINE, 0.6, -0.1, 0.1), "must be at least 0 m"),
    ],
)
def test_what_has_no_answer_is_refused(call, says):
    with pytest.raises(DomainError, match=says):
        call()
