"""The shore unrolled: stations go once round, the rim is the top of the bank straight out from the shore."""

import numpy as np
import pytest

from pondwright.geometry.grid import Grid
from pondwright.rooms.shape.unrolled import unrolled_shore

GRID = Grid(origin_east=-20.0, origin_north=-20.0, spacing=0.5, columns=81, rows=81)
EAST, NORTH = np.meshgrid(GRID.east, GRID.north)
REACH = np.hypot(EAST, NORTH)


def circle(radius, count=240, turn=1.0):
    angle = turn * 2 * np.pi * np.arange(count) / count
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def unrolled(ring=None, ground=None, finish=None, bank_width=2.0, step=0.5):
    flat = np.full(GRID.shape, 100.0)
    return unrolled_shore(
        circle(10.0) if ring is None else ring,
        flat if ground is None else ground,
        flat if finish is None else finish,
        GRID,
        bank_width,
        step,
    )


def test_stations_begin_at_the_first_peg_and_end_one_step_before_it():
    edge = unrolled()

    assert edge.station[0] == 0.0 and (np.diff(edge.station) > 0).all()
    last = np.hypot(*(edge.points[0] - edge.points[-1]))
    assert edge.station[-1] + last == pytest.approx(2 * np.pi * 10.0, rel=1e-3)
    assert (np.diff(edge.station) <= 0.5 + 1e-9).all() and len(edge.points) == len(edge.station)


def test_the_ground_is_read_at_the_shore():
    edge = unrolled(ground=100.0 + 0.1 * EAST)

    assert edge.ground == pytest.approx(100.0 + 0.1 * edge.points[:, 0])


def test_the_rim_is_the_highest_finish_across_the_bank():
    """A cone that rises outward by 0.2 m a metre is highest at the outer edge of the bank."""
    edge = unrolled(finish=100.0 + 0.2 * (REACH - 10.0), bank_width=3.0)

    assert edge.rim == pytest.approx(np.full(len(edge.rim), 100.6), abs=0.01)


def test_ground_that_falls_away_has_its_rim_at_the_shore():
    edge = unrolled(finish=100.0 - 0.2 * (REACH - 10.0), bank_width=3.0)

    assert edge.rim == pytest.approx(np.full(len(edge.rim), 100.0), abs=0.01)


def test_without_a_bank_the_rim_is_the_finish_at_the_shore():
    finish = 100.0 + 0.2 * (REACH - 10.0)

    assert unrolled(finish=finish, bank_width=0.0).rim == pytest.approx(100.0, abs=0.01)


def test_which_way_round_the_shore_is_drawn_does_not_move_its_rim():
    finish = 100.0 + 0.2 * (REACH - 10.0) + 0.01 * EAST

    one, other = unrolled(finish=finish), unrolled(circle(10.0, turn=-1.0), finish=finish)

    assert np.roll(one.rim[::-1], 1) == pytest.approx(other.rim, abs=1e-9)
    assert one.rim.max() > 100.4


def test_a_bank_that_leaves_the_grid_is_read_at_its_border():
    edge = unrolled(circle(19.5), finish=100.0 + 0.1 * REACH, bank_width=30.0)

    assert np.isfinite(edge.rim).all() and edge.rim.max() <= 100.0 + 0.1 * REACH.max()


def test_the_crest_is_the_rim_where_it_is_low_and_no_higher_than_the_freeboard_in_cut():
    edge = unrolled(finish=100.0 + 0.1 * EAST)
    water = np.full(len(edge.rim), 99.8)

    crest = edge.crest(water, 0.4)

    assert crest.max() == pytest.approx(100.2) and (edge.rim > crest).any()
    assert crest[edge.rim < 100.2] == pytest.approx(edge.rim[edge.rim < 100.2])


def test_the_outer_edge_of_the_bank_lies_its_width_straight_out():
    edge = unrolled(bank_width=2.0)

    assert np.hypot(*edge.outer.T) == pytest.approx(12.0, abs=0.01)
