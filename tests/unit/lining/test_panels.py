"""Sheets and strips by lengths over the ground."""

import math

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.lining.area import LinerGround, liner_mesh
from pondwright.rooms.lining.panels import (
    DIRECTIONS_TRIED,
    MOST_PLACES,
    best_sheet,
    best_strips,
    sheet_near,
    strips_near,
)
from tests.unit.lining.ponds import hipped_pit, wavy_pond

SLOPE = math.sqrt(5.0)


@pytest.mark.parametrize("turned", [0.0, 15.0, 45.0])
def test_a_hipped_pit_is_covered_by_its_developed_rectangle(turned):
    """Never smaller than it, and larger by no more than one place of the lattice at each end."""
    ground = hipped_pit(math.radians(turned))
    sheet = best_sheet(ground, 0.0)
    place = math.hypot(180.0, 180.0) / MOST_PLACES * ground.grid.spacing

    for size, developed in ((sheet.length, 8.0 + 2.0 * SLOPE), (sheet.width, 4.0 + 2.0 * SLOPE)):
        assert developed <= size <= developed + 2.0 * place


def slanting_bar():
    """A level bar that runs slantwise: each line across it is short."""
    grid = Grid(0.0, 0.0, 0.1, 181, 181)
    east, north = np.meshgrid(grid.east - 9.0, grid.north - 9.0)
    distance = np.minimum(1.0 - np.abs(north - 0.7 * east), 8.0 - np.abs(east))
    return LinerGround(grid, np.zeros(grid.shape), np.zeros(grid.shape), distance)


def test_a_shore_that_runs_slantwise_needs_more_than_its_longest_line():
    """Each line across the bar is short, yet the sheet reaches over all of it."""
    sheet = best_sheet(slanting_bar(), 0.0, [0.0])

    assert sheet.length == pytest.approx(16.0, abs=0.4)
    assert sheet.width == pytest.approx(2.0 * (0.7 * 8.0 + 1.0), abs=0.4)


def test_a_strip_lies_over_no_more_ground_than_it_is_wide():
    """Level ground: what a strip covers on the plan is at most the width of the roll less its overlap."""
    plan = best_strips(slanting_bar(), 0.0, 3.0, 0.1, [0.0])

    assert len(plan.strips) >= math.ceil(2.0 * (0.7 * 8.0 + 1.0) / 3.0)
    assert all(strip.right - strip.left <= 3.0 for strip in plan.strips)


def test_strips_of_a_flat_rectangle_are_counted_exactly():
    """8 m across in rolls of 2 m with 0.1 m of overlap: (8 - 0.1) / 1.9 = 4.2, so five."""
    plan = best_strips(hipped_pit(0.0, 0.1, depth=0.0), 0.0, 2.0, 0.1, [0.0])

    assert len(plan.strips) == 5
    assert plan.area == pytest.approx(5 * 2.0 * 12.0, rel=0.02)
    assert plan.seams == pytest.approx(4 * 12.0, rel=0.02)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("roll", [2.0, 4.0, 6.0])
def test_no_plan_is_smaller_than_the_ground(seed, roll):
    ground = wavy_pond(seed)
    area = liner_mesh(ground, 0.6).area

    plan = best_strips(ground, 0.6, roll, 0.15)

    assert plan.area > area
    assert all(strip.length > 0.0 for strip in plan.strips)
    assert best_sheet(ground, 0.6).area > area


@pytest.mark.parametrize("seed", range(3))
def test_the_coarse_look_costs_little(seed):
    """All directions looked at closely find a plan that is hardly smaller."""
    ground = wavy_pond(seed)
    every = min(best_strips(ground, 0.6, 4.0, 0.15, [turned]).area for turned in DIRECTIONS_TRIED)

    assert best_strips(ground, 0.6, 4.0, 0.15).area <= 1.05 * every


def test_more_liner_beyond_the_shore_never_makes_a_smaller_sheet():
    ground = wavy_pond(2)

    areas = [best_sheet(ground, beyond).area for beyond in (0.2, 0.6, 1.0)]

    assert areas == sorted(areas)


def test_more_liner_beyond_the_shore_never_makes_smaller_strips():
    ground = wavy_pond(2)

    areas = [best_strips(ground, beyond, 4.0, 0.15).area for beyond in (0.2, 0.6, 1.0)]

    assert areas == sorted(areas)


@pytest.mark.parametrize("seed", range(4))
def test_near_the_last_best_direction_the_best_is_found_again(seed):
    ground = wavy_pond(seed)
    sheet, plan = best_sheet(ground, 0.6), best_strips(ground, 0.6, 4.0, 0.15)

    assert sheet_near(ground, 0.6, sheet).area <= sheet.area * (1.0 + 1e-9)
    assert strips_near(ground, 0.6, 4.0, 0.15, plan).area <= plan.area


@pytest.mark.parametrize("seed", range(4))
def test_a_pond_that_was_moved_a_little_has_nearly_the_best_size(seed):
    """The frame of a drag against the search of all directions."""
    before, now = wavy_pond(seed), wavy_pond(seed)
    now = LinerGround(now.grid, now.rest, now.steps, now.distance + 0.05)
    last, plan = best_sheet(before, 0.6), best_strips(before, 0.6, 4.0, 0.15)

    best, strips = best_sheet(now, 0.6), best_strips(now, 0.6, 4.0, 0.15)

    assert sheet_near(now, 0.6, last).area <= 1.05 * best.area
    assert strips_near(now, 0.6, 4.0, 0.15, plan).area <= 1.15 * strips.area


def test_a_roll_that_is_all_overlap_is_refused():
    with pytest.raises(DomainError, match="`roll` must be wider than its overlap"):
        best_strips(hipped_pit(0.0, 0.5), 0.0, 0.1, 0.15)
