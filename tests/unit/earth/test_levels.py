"""The level question in full: its parts against closed forms, its table against the job's own stages."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.rooms.earth.levels import bed_area, highest_raise, shore_inset, with_row
from pondwright.rooms.shape.profile import bank_profile, riser_walls
from tests.unit.shape.ponds import Computed, job_values, pegs

SHELF = [(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.0, 1.5)]


def computed(change=lambda values: None, **settings):
    values = job_values(**settings)
    change(values)
    return Computed(values, "earth.levels")


def two_ponds(values):
    bodies = values["shape"]["bodies"]
    bodies["pond"]["outline"]["curve"]["pegs"] = pegs(4.0, east=9.0)
    bodies["upper"] = {
        "role": "upper_pool",
        "rank": 1,
        "level": 100.4,
        "outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=23.0, prefix="u")}},
    }


def test_the_row_of_the_solver_is_its_level_to_a_millimetre():
    found = computed()
    table = found["earth.levels"].bodies["pond"]

    assert len(table.level) >= 10
    assert table.level[table.balanced_row] == pytest.approx(found["earth.balance"].balanced_level, abs=1e-3)
    assert table.surplus[table.balanced_row] == pytest.approx(0.0, abs=0.05)


def test_the_job_taken_to_the_row_of_the_solver_has_the_numbers_of_that_row():
    table = computed()["earth.levels"].bodies["pond"]
    row = table.balanced_row

    taken = computed(level=float(table.level[row]))

    assert taken["earth.soil"].dug == pytest.approx(table.dug[row])
    assert taken["earth.soil"].placed == pytest.approx(table.placed[row])
    assert taken["earth.soil"].surplus_bank == pytest.approx(0.0, abs=0.05)
    assert taken["shape.storage"].bodies["pond"].volume == pytest.approx(table.volume[row], rel=1e-9)


@pytest.mark.parametrize("row", [0, 8])
def test_every_row_is_what_the_job_gives_at_that_level(row):
    table = computed()["earth.levels"].bodies["pond"]
    at = int(np.searchsorted(table.level, 99.6 + 0.1 * row - 1e-6))

    there = computed(level=float(table.level[at]))

    own = there["earth.levels"].bodies["pond"]
    now = int(np.argmin(np.abs(own.level - table.level[at])))
    assert there["earth.soil"].surplus_bank == pytest.approx(table.surplus[at])
    assert there["earth.soil"].load_count == table.loads[at]
    for name in ("volume", "area", "liner", "rim_to_raise", "highest_raise"):
        assert getattr(own, name)[now] == pytest.approx(getattr(table, name)[at], rel=1e-9), name


def test_every_body_has_its_own_table_and_its_own_balance():
    found = computed(two_ponds)
    tables = found["earth.levels"].bodies

    assert set(tables) == {"pond", "upper"}
    for name, table in tables.items():
        level = found["shape.shore"].bodies[name].level
        row = int(np.argmin(np.abs(table.level - level)))
        assert table.dug[row] == pytest.approx(found["earth.soil"].dug)
        assert table.volume[row] == pytest.approx(found["shape.storage"].bodies[name].volume)
    assert tables["pond"].balanced_level == found["earth.balance"].balanced_level


def test_the_balance_of_one_body_leaves_the_others_where_they_are():
    table = computed(two_ponds)["earth.levels"].bodies["upper"]

    def moved(values):
        two_ponds(values)
        values["shape"]["bodies"]["upper"]["level"] = table.balanced_level

    assert computed(moved)["earth.soil"].surplus_bank == pytest.approx(0.0, abs=0.05)


def test_a_drawn_hole_filled_higher_holds_more_until_it_runs_over():
    found = computed()
    table, held = found["earth.levels"].bodies["pond"], found["shape.storage"].bodies["pond"]

    stands = ~table.filled_runs_over
    assert (np.diff(table.filled_volume[stands]) > 0.0).all()
    assert (np.diff(table.filled_bed[stands]) > 0.0).all()
    assert table.filled_runs_over[-1] and table.level[-1] > held.lip
    assert table.filled_volume[-1] == pytest.approx(held.volumes[-1])
    now = int(np.argmin(np.abs(table.level - 100.0)))
    assert table.filled_volume[now] == pytest.approx(held.volume)
    assert table.filled_bed[now] == pytest.approx(found["shape.grading"].bodies["pond"].wetted_area)


def test_the_shore_on_the_plan_keeps_water_and_liner_when_the_level_moves():
    table = computed()["earth.levels"].bodies["pond"]

    assert np.ptp(table.volume) == pytest.approx(0.0, abs=1e-6 * table.volume[0])
    assert np.ptp(table.area) == 0.0
    assert np.ptp(table.liner) == 0.0


def test_the_liner_goes_up_the_bank_as_far_as_its_margin():
    """Bands around a pond of 6 m: 0.6 m at 2 to 1 up to the crest, and the level rest of the margin; hand."""
    values = job_values()
    values["lining"] = {"liners": {"sheet": {"bodies": ["pond"], "margin": 0.9}}}
    table = Computed(values, "earth.levels")["earth.levels"].bodies["pond"]
    found = computed()

    bank = np.pi * (6.6**2 - 6.0**2) * np.sqrt(1.25) + np.pi * (6.9**2 - 6.6**2)
    wet = found["shape.grading"].bodies["pond"].wetted_area
    assert table.liner[0] - wet == pytest.approx(bank, rel=0.02)


def test_the_rim_to_raise_is_told_with_its_highest_place():
    found = computed(fall=0.05)
    table, shore = found["earth.levels"].bodies["pond"], found["shape.shore"].bodies["pond"]

    now = int(np.argmin(np.abs(table.level - shore.level)))
    assert table.highest_raise[now] == pytest.approx(shore.crest_level - shore.rim_low, abs=2e-3)
    assert 0.0 < table.rim_to_raise[now] < shore.length


def test_a_job_without_water_has_no_table():
    found = computed(lambda values: values["shape"].update(bodies={}))

    assert dict(found["earth.levels"].bodies) == {}


def test_a_level_that_nothing_balances_adds_no_row():
    rows, at = with_row(np.array([1.0, 2.0]), None)

    assert rows.tolist() == [1.0, 2.0] and at is None


def test_a_level_outside_the_table_stands_at_its_end():
    rows, at = with_row(np.array([1.0, 2.0]), 3.5)

    assert rows.tolist() == [1.0, 2.0, 3.5] and at == 2


def test_ground_above_the_crest_is_not_raised():
    assert highest_raise(np.array([2.0, 3.0]), np.array([1.0])).tolist() == [0.0]


def test_the_shore_draws_back_over_shelf_and_slope():
    profile = bank_profile(SHELF)

    assert shore_inset(profile, 0.29) == 0.0
    assert shore_inset(profile, 0.31) == pytest.approx(0.81)
    assert shore_inset(profile, 1.51) == float("inf")


def test_a_bed_that_has_fallen_dry_has_no_area():
    found = computed()
    body, grid = found["shape.shore"].bodies["pond"], found["site.ground"].grid
    profile = bank_profile(SHELF)
    walls = riser_walls(profile, body.distance, grid, 0.0, body.rings)

    assert bed_area(profile, body.distance, grid, body.area, walls, 1.6) == 0.0
    with pytest.raises(DomainError, match="`drop` must be at least 0 m"):
        bed_area(profile, body.distance, grid, body.area, walls, -0.1)
