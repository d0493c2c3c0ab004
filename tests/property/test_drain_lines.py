"""Lines on the cells of the groundwater: nothing of their length is lost, wherever they run."""

import math
from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, box

from pondwright.geometry.grid import Grid
from pondwright.rooms.groundwater.lines import invert_beside, lengths_in_cells, rising_inverts

GRID = Grid(-3.0, 2.0, 1.5, 12, 9)
WEST, SOUTH = -3.0 - 0.75, 2.0 - 0.75
EAST, NORTH = WEST + 12 * 1.5, SOUTH + 9 * 1.5
INSIDE = st.tuples(st.floats(WEST + 0.01, EAST - 0.01), st.floats(SOUTH + 0.01, NORTH - 0.01))
ANYWHERE = st.tuples(st.floats(-60.0, 60.0), st.floats(-60.0, 60.0))


@given(st.lists(INSIDE, min_size=2, max_size=6))
def test_lengths_in_cells_sum_to_the_length_of_the_line(points):
    length, _ = lengths_in_cells(GRID, np.array(points), np.zeros(len(points)))

    whole = sum(math.dist(*pair) for pair in pairwise(points))
    assert math.isclose(length.sum(), whole, rel_tol=1e-9, abs_tol=1e-9)


@given(st.lists(ANYWHERE, min_size=2, max_size=4))
def test_only_the_part_within_the_cells_counts(points):
    length, _ = lengths_in_cells(GRID, np.array(points), np.zeros(len(points)))

    pieces = [LineString(pair) for pair in pairwise(points) if pair[0] != pair[1]]
    within = sum(piece.intersection(box(WEST, SOUTH, EAST, NORTH)).length for piece in pieces)
    assert math.isclose(length.sum(), within, rel_tol=1e-6, abs_tol=1e-6)


@given(st.lists(INSIDE, min_size=2, max_size=5), st.integers(0, 11), st.integers(0, 8))
def test_each_cell_has_the_length_that_a_clip_gives(points, column, row):
    length, _ = lengths_in_cells(GRID, np.array(points), np.zeros(len(points)))

    cell = box(WEST + 1.5 * column, SOUTH + 1.5 * row, WEST + 1.5 * (column + 1), SOUTH + 1.5 * (row + 1))
    pieces = [LineString(pair) for pair in pairwise(points) if pair[0] != pair[1]]
    # A piece along a side of the cell belongs to one of two; the clip gives it to both.
    assert length[row, column] <= sum(piece.intersection(cell).length for piece in pieces) + 1e-6


@given(st.lists(INSIDE, min_size=2, max_size=6), st.floats(20.0, 30.0), st.floats(0.001, 0.1))
def test_bottoms_in_cells_lie_between_those_of_the_ends(points, end, fall):
    line = np.array(points)
    inverts = rising_inverts(line, end, fall)
    length, level = lengths_in_cells(GRID, line, inverts)

    assert inverts[-1] == end
    assert (np.diff(inverts) <= 1e-12).all()
    crossed = length > 1e-9
    assert (level[crossed] >= end - 1e-6).all()
    assert (level[crossed] <= inverts[0] + 1e-6).all()
    assert min(inverts) - 1e-9 <= invert_beside(line, inverts, 0.0, 5.0) <= max(inverts) + 1e-9
