"""Profiles along a line."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.geometry.section import section_along

GRID = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=11, rows=11)
EAST, NORTH = np.meshgrid(GRID.east, GRID.north)


def test_a_bend_is_a_station_and_the_steps_are_even():
    section = section_along(EAST, GRID, np.array([[1.0, 1.0], [4.0, 5.0], [4.0, 7.0]]), step=2.0)

    assert section.chainage == pytest.approx([0.0, 5 / 3, 10 / 3, 5.0, 7.0])
    assert section.points[3].tolist() == [4.0, 5.0]
    assert section.elevations == pytest.approx([1.0, 2.0, 3.0, 4.0, 4.0])


def test_a_point_given_twice_changes_nothing():
    once = section_along(NORTH, GRID, np.array([[1.0, 1.0], [1.0, 5.0]]), step=1.0)

    twice = section_along(NORTH, GRID, np.array([[1.0, 1.0], [1.0, 1.0], [1.0, 5.0], [1.0, 5.0]]), step=1.0)

    assert twice.chainage.tolist() == once.chainage.tolist()
    assert twice.elevations.tolist() == once.elevations.tolist()


@pytest.mark.parametrize(
    ("line", "step", "rule"),
    [
        ([[0.0, 0.0], [1.0, 0.0]], 0.0, "`step` must be above 0"),
        ([[2.0, 2.0], [2.0, 2.0]], 1.0, "`line` must have a length"),
        ([[2.0, 2.0], [12.0, 2.0]], 1.0, "`points` must lie inside the grid"),
    ],
)
def test_a_line_without_a_profile_is_refused(line, step, rule):
    with pytest.raises(DomainError, match=rule):
        section_along(EAST, GRID, np.array(line), step)
