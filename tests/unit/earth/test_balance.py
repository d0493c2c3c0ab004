"""The balancing level against closed forms, and trials against the full surface."""

import numpy as np
import pytest

from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.rooms.earth.balance import (
    balanced_level,
    fill_surplus,
    level_table,
    narrowed,
    trials,
)
from pondwright.rooms.earth.cutfill import Moved, SoilColumn, SoilPlace, dig_volumes, soil_map
from pondwright.rooms.earth.states import SoilStates
from pondwright.rooms.earth.subgrade import dig_depth, subgrade, thickness_of_parts
from pondwright.rooms.shape.grading import Bank, finish_limits, graded, stacked, whole_rows
from pondwright.rooms.shape.profile import bank_profile

EARTH = {"silt": SoilStates(1.25, 0.90, 1839.0)}
NO_COVER = thickness_of_parts([])
EVERYWHERE = SoilPlace(np.empty((0, 2)))


def run_of(grid, ground, limits, levels, body=0, thickness=NO_COVER, column=None):
    soils = soil_map([column or SoilColumn(("silt",), ())], [EVERYWHERE], grid)
    return trials(ground, stacked(limits), levels, body, thickness, soils, grid)


def balance_of(run, states, middle, settlement=0.0):
    levels = level_table(middle)
    narrow = narrowed(run, float(levels[0]), float(levels[-1]))
    known = [fill_surplus(narrow.at(float(level)), states, settlement) for level in levels]
    return balanced_level(lambda level: fill_surplus(narrow.at(level), states, settlement), levels, known)


@pytest.mark.parametrize(("compaction", "expected"), [(0.90, 0.97367), (1.0, 1.0)])
def test_a_level_pad_on_sloping_ground(compaction, expected):
    """Ground rising 0.1 m/m over 20 m: the pad lies 0.97367 m above the low edge; hand."""
    grid = Grid(0.0, 0.0, 0.5, 41, 3)
    ground = np.ascontiguousarray(np.broadcast_to(0.1 * grid.east, grid.shape))
    pad = finish_limits(
        bank_profile([(0.0, 0.0)]), Bank(0.3, 2.0, 0.9, 2.0, 3.0), np.full(grid.shape, 99.0), 0.5
    )

    found = balance_of(
        run_of(grid, ground, [pad], [0.8]), {"silt": SoilStates(1.25, compaction, 1800.0)}, 0.8
    )

    assert found == pytest.approx(expected, abs=2e-5)


def test_a_trench_with_a_berm_on_flat_ground():
    """Dug ½ m (D - L)² + (w - m D)(D - L); placed in bed, bank, crest and slope: quadratic in L; hand."""
    slope, depth, half_width = 2.0, 1.2, 5.0
    bank = Bank(freeboard=0.3, slope_in=2.0, crest_width=0.9, cut=2.0, fill=3.0)
    grid = Grid(0.0, 0.0, 0.01, 1501, 3)
    distance = np.ascontiguousarray(np.broadcast_to(half_width - grid.east, grid.shape))
    profile = bank_profile([(0.0, 0.0), (slope * depth, depth)])
    run = run_of(grid, np.zeros(grid.shape), [finish_limits(profile, bank, distance, 0.01)], [0.3])

    found = balance_of(run, EARTH, 0.3)

    floor = half_width - slope * depth
    dug = np.array([0.5 * slope, -slope * depth - floor, 0.5 * slope * depth**2 + floor * depth])
    toe = bank.slope_in * bank.freeboard
    placed = np.array([
        0.5 * slope + 0.5 * bank.fill,
        toe + bank.crest_width + bank.fill * bank.freeboard,
        0.5 * toe * bank.freeboard + bank.crest_width * bank.freeboard + 0.5 * bank.fill * bank.freeboard**2,
    ])  # fmt: skip
    (truth,) = [root.real for root in np.roots(0.90 * dug - placed) if 0.0 < root.real < depth]
    assert found == pytest.approx(truth, abs=2e-5)


def round_pond(seed=0):
    """A pond with shelves on rough ground, all the ways a surface can go."""
    grid = Grid(-12.0, -12.0, 0.2, 121, 121)
    angles = np.linspace(0.0, 2.0 * np.pi, 60, endpoint=False)
    reach = 5.0 + np.sin(3.0 * angles)
    distance = signed_distance(grid, [np.column_stack([reach * np.cos(angles), reach * np.sin(angles)])])
    profile = bank_profile([(0.0, 0.0), (0.0, 0.3), (0.75, 0.3), (0.75, 0.7), (3.0, 1.5)])
    east, north = np.meshgrid(grid.east, grid.north)
    ground = 0.04 * north + 0.1 * np.sin(east + seed) + 0.05 * np.cos(2.0 * north)
    return grid, ground, finish_limits(profile, Bank(0.3, 2.0, 0.9, 2.0, 3.0), distance, 0.2)


COVERS = {
    "none": [],
    "zones": [(range(10, 20), 0.12)],
    "zones and berm": [(range(10, 20), 0.12), ([2, 3], 0.15)],
}


@pytest.mark.parametrize("covers", COVERS.values(), ids=COVERS)
@pytest.mark.parametrize("level", [-0.37, 0.0, 0.33])
def test_a_trial_is_the_full_surface_measured(covers, level):
    grid, ground, limits = round_pond()
    thickness = thickness_of_parts(covers)
    column = SoilColumn(("topsoil", "silt"), (0.15,))
    run = run_of(grid, ground, [limits], [0.0], thickness=thickness, column=column)

    found = narrowed(run, -0.4, 0.4).at(level)

    finish = graded(ground, stacked([limits]), [level])
    spans = whole_rows(grid.shape)
    difference = dig_depth(ground, subgrade(finish.z, finish.part, thickness))
    truth = dig_volumes(difference, run.soils, spans, grid)
    assert found.dug == pytest.approx(truth.dug, rel=1e-12)
    assert found.placed == pytest.approx(truth.placed, rel=1e-12)


def test_a_level_outside_the_reach_is_tried_on_the_whole_grid():
    grid, ground, limits = round_pond()
    run = run_of(grid, ground, [limits], [0.0])

    narrow = narrowed(run, -0.1, 0.1)

    assert narrow.at(1.5) == run.at(1.5)
    assert narrow.at(0.05) == run.at(0.05)


def test_the_surplus_falls_without_steps_as_the_level_rises():
    grid, ground, limits = round_pond()
    run = run_of(grid, ground, [limits], [0.0])

    surplus = np.array([fill_surplus(run.at(level), EARTH) for level in np.linspace(-0.3, 0.3, 301)])

    steps = np.diff(surplus)
    assert (steps < 0.0).all()
    assert abs(np.diff(steps)).max() < 0.1 * abs(steps).max()


def test_another_body_stays_where_it_is():
    grid, ground, limits = round_pond()
    other = finish_limits(
        bank_profile([(0.0, 0.0), (2.0, 1.0)]),
        Bank(0.3, 2.0, 0.9, 2.0, 3.0),
        np.ascontiguousarray(np.broadcast_to(-9.0 - grid.east, grid.shape)),
        0.2,
        1,
    )
    run = run_of(grid, ground, [limits, other], [0.0, -0.5])

    found = run.at(0.1)

    finish = graded(ground, stacked([limits, other]), [0.1, -0.5])
    spans = whole_rows(grid.shape)
    truth = dig_volumes(dig_depth(ground, subgrade(finish.z, finish.part, NO_COVER)), run.soils, spans, grid)
    assert found.total_dug == pytest.approx(truth.total_dug, rel=1e-12)


def test_topsoil_and_muck_never_count_as_fill():
    soil = Moved({"topsoil": 40.0, "muck": 30.0, "silt": 100.0}, {"topsoil": 5.0}, 60.0)

    assert fill_surplus(soil, EARTH) == pytest.approx(90.0 - 65.0)


def test_settlement_takes_more_fill():
    soil = Moved({"silt": 100.0}, {}, 60.0)

    assert fill_surplus(soil, EARTH, 0.05) == pytest.approx(90.0 - 63.0)


def test_a_balance_beyond_the_table_is_found():
    assert balanced_level(lambda level: 1.5 - level, np.array([0.0, 0.1]), [1.5, 1.4]) == pytest.approx(1.5)
    assert balanced_level(lambda level: -1.5 - level, np.array([0.0, 0.1]), [-1.5, -1.6]) == pytest.approx(
        -1.5
    )


def test_no_balance_within_reach_is_told_as_none():
    assert balanced_level(lambda level: 9.0, np.array([0.0, 0.1]), [9.0, 9.0]) is None


def test_a_level_of_the_table_that_balances_is_taken_as_it_is():
    assert balanced_level(lambda level: -level, np.array([-0.1, 0.0, 0.1]), [0.1, 0.0, -0.1]) == 0.0
