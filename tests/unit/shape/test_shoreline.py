"""Stretches of a shore, misplaced islands, the level the rim allows, and the rim to raise."""

import numpy as np
import pytest

from pondwright.geometry.curve import closed_curve
from pondwright.geometry.grid import Grid
from pondwright.rooms.shape.shoreline import (
    below_along,
    lengths_below,
    line_distance,
    misplaced_islands,
    stretch_line,
    water_level,
)

SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
PEGS = ["a", "b", "c", "d"]


def test_without_a_level_the_water_stays_below_the_low_rim_by_the_freeboard():
    assert water_level(None, 99.8, 0.3) == pytest.approx(99.5)


def test_a_level_of_the_document_rules():
    assert water_level(100.2, 99.8, 0.3) == 100.2


def test_a_stretch_runs_from_peg_to_peg_past_the_end_of_the_list():
    ring = closed_curve(SQUARE, [True] * 4, points_per_span=5)

    line = stretch_line(ring.points, ring.span, PEGS, "d", "b")

    assert line[0].tolist() == [0.0, 10.0]
    assert line[-1].tolist() == [10.0, 0.0]
    assert len(line) == 11


def test_a_stretch_back_to_its_own_peg_is_the_whole_ring():
    ring = closed_curve(SQUARE, [True] * 4, points_per_span=5)

    line = stretch_line(ring.points, ring.span, PEGS, "b", "b")

    assert len(line) == 21
    assert line[0].tolist() == line[-1].tolist()


def test_the_distance_to_a_line_has_no_inside():
    grid = Grid(0.0, 0.0, 1.0, 5, 3)

    distance = line_distance(grid, np.array([[0.0, 1.0], [2.0, 1.0]]))

    assert distance[1].tolist() == [0.0, 0.0, 0.0, 1.0, 2.0]
    assert distance[0, :3].tolist() == [1.0, 1.0, 1.0]


def test_islands_outside_or_across_the_shore_or_each_other_are_named():
    small = 0.1 * SQUARE
    islands = {"in": small + 2.0, "out": small + 20.0, "across": small + 9.5, "over": small + 2.5}

    assert misplaced_islands(SQUARE, islands) == ("in", "out", "across", "over")
    assert misplaced_islands(SQUARE, {"in": small + 2.0, "far": small + 6.0}) == ()


def test_the_rim_to_raise_is_the_shore_below_the_level():
    """Ground rising 0.1 m a metre to the east: half of the square's shore is below its middle."""
    grid = Grid(-1.0, -1.0, 0.5, 25, 25)
    z = np.ascontiguousarray(np.broadcast_to(0.1 * grid.east, grid.shape))

    assert lengths_below(z, grid, [SQUARE], np.array([-1.0, 0.5, 2.0])) == pytest.approx([0.0, 20.0, 40.0])


def test_a_walk_that_lies_flat_at_the_level_is_not_below_it():
    assert below_along(np.zeros(3), np.ones(3), np.array([0.0, 0.1])).tolist() == [0.0, 3.0]
