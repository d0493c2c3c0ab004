"""Contours against lines that are known."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.contour import areas_above, contour_lines, contours
from pondwright.geometry.grid import Grid

GRID = Grid(origin_east=100.0, origin_north=50.0, spacing=0.25, columns=81, rows=81)
EAST, NORTH = np.meshgrid(GRID.east, GRID.north)
CONE = np.hypot(EAST - 110.0, NORTH - 60.0)


def test_a_contour_of_a_cone_is_a_closed_circle():
    ((level, (line,)),) = contours(CONE, GRID, [6.0])

    assert level == 6.0
    assert line[0].tolist() == line[-1].tolist()
    assert np.hypot(line[:, 0] - 110.0, line[:, 1] - 60.0) == pytest.approx(6.0, abs=0.25**2 / 8 / 6 * 1.1)


def test_a_level_that_is_not_reached_has_no_lines():
    assert contours(CONE, GRID, [-1.0, 6.0])[0] == (-1.0, [])


def test_nothing_is_drawn_outside_the_mask():
    ((_, lines),) = contours(CONE, GRID, [6.0], mask=EAST >= 110.0)

    assert min(line[:, 0].min() for line in lines) >= 110.0


def test_the_arrays_hold_the_same_lines():
    levels = [2.0, 4.0, 20.0, 6.0]

    drawn = contour_lines(CONE, GRID, levels)

    assert drawn.levels.tolist() == [2.0, 4.0, 6.0]
    grouped = [line for _, lines in contours(CONE, GRID, levels) for line in lines]
    assert all(np.array_equal(a, b) for a, b in zip(drawn.lines(), grouped, strict=True))


def test_a_hill_with_a_hollow_on_top_is_one_area_with_a_hole():
    ((outer, hole),) = areas_above(-np.abs(CONE - 6.0), GRID, -2.0)

    assert np.hypot(*(outer - [110.0, 60.0]).T) == pytest.approx(8.0, abs=0.01)
    assert np.hypot(*(hole - [110.0, 60.0]).T) == pytest.approx(4.0, abs=0.01)
    assert all(ring[0].tolist() == ring[-1].tolist() for ring in (outer, hole))


def test_two_hills_are_two_areas_and_none_reach_above_them():
    apart = np.minimum(np.hypot(EAST - 105.0, NORTH - 60.0), np.hypot(EAST - 115.0, NORTH - 60.0))

    assert [len(rings) for rings in areas_above(-apart, GRID, -2.0)] == [1, 1]
    assert areas_above(-apart, GRID, 1.0) == []


def test_a_level_that_is_no_number_is_refused():
    with pytest.raises(DomainError, match="`levels` must be finite"):
        contours(CONE, GRID, [np.nan])
