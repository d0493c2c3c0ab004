"""The old hole that nobody drew: which hollow it is, its lip, what it holds, and its marks."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.site.old_hole import (
    hole_storage,
    old_hole,
    seasons_out_of_order,
    water_outline,
)

GRID = Grid(origin_east=0.0, origin_north=0.0, spacing=0.25, columns=161, rows=121)
EAST, NORTH = np.meshgrid(GRID.east, GRID.north)
EVERYWHERE = np.ones(GRID.shape, dtype=np.bool_)
SEASONS = ("dry", "usual", "wet", "flood")


def bowl(east: float, north: float, radius: float, depth: float) -> np.ndarray:
    """Cone below level 100, and nothing outside it."""
    away = np.hypot(EAST - east, NORTH - north)
    return -depth * np.maximum(1.0 - away / radius, 0.0)


def meadow() -> np.ndarray:
    return np.full(GRID.shape, 100.0)


def test_flat_ground_has_no_hole():
    assert old_hole(meadow(), GRID, EVERYWHERE) is None


def test_a_slope_has_no_hole():
    assert old_hole(100.0 + 0.05 * EAST, GRID, EVERYWHERE) is None


def test_a_dip_of_a_hand_is_no_hole():
    assert old_hole(meadow() + bowl(15.0, 15.0, 8.0, 0.29), GRID, EVERYWHERE) is None


def test_the_hole_is_the_hollow_that_holds_most():
    z = meadow() + bowl(8.0, 15.0, 4.0, 2.5) + bowl(27.0, 15.0, 9.0, 1.5)
    hole = old_hole(z, GRID, EVERYWHERE)

    assert hole is not None
    assert hole.floor_point == pytest.approx((27.0, 15.0), abs=0.3)
    assert hole.floor == pytest.approx(98.5, abs=0.02)
    assert hole.lip == pytest.approx(100.0, abs=1e-9)


def test_a_hollow_that_nobody_surveyed_is_not_the_hole():
    z = meadow() + bowl(8.0, 15.0, 4.0, 2.5) + bowl(27.0, 15.0, 9.0, 1.5)
    hole = old_hole(z, GRID, EAST < 15.0)

    assert hole is not None
    assert hole.floor_point == pytest.approx((8.0, 15.0), abs=0.3)


def test_two_pits_in_one_pond_are_one_hole():
    # The ridge between the pits lies 0.5 m over their floors, 1.5 m under the rim.
    pits = np.minimum(bowl(14.0, 15.0, 3.0, 0.5), bowl(22.0, 15.0, 3.0, 0.5))
    basin = -1.5 * (np.hypot(EAST - 18.0, NORTH - 15.0) < 10.0)
    hole = old_hole(meadow() + basin + pits, GRID, EVERYWHERE)

    assert hole is not None
    assert hole.lip == pytest.approx(100.0, abs=1e-9)


def test_a_ditch_beyond_the_rim_is_not_part_of_the_pond():
    # A pond 2 m deep with its rim at 100, and a closed ditch beside it; high ground round both.
    walls = np.where((EAST > 4.0) & (EAST < 36.0) & (NORTH > 4.0) & (NORTH < 26.0), 0.0, 1.0)
    ditch = -1.8 * ((EAST > 31.0) & (EAST < 33.0) & (np.abs(NORTH - 15.0) < 6.0))
    hole = old_hole(meadow() + walls + bowl(16.0, 15.0, 9.0, 2.0) + ditch, GRID, EVERYWHERE)

    assert hole is not None
    assert hole.lip == pytest.approx(100.0, abs=1e-9)
    assert not hole.mask[60, 128]


def test_a_notch_in_the_rim_is_the_lip_and_its_place_is_told():
    z = meadow() + bowl(18.0, 15.0, 8.0, 2.0)
    z = np.where((np.abs(NORTH - 15.0) < 0.5) & (EAST > 22.0), np.minimum(z, 99.4), z)
    z -= 0.05 * np.maximum(EAST - 28.0, 0.0)
    hole = old_hole(z, GRID, EVERYWHERE)

    assert hole is not None
    assert hole.lip == pytest.approx(99.4, abs=1e-9)
    assert hole.lip_point[0] > 23.0


def test_the_surface_is_the_growth_of_the_volume():
    # Uneven ground, but smooth at the lip: where a whole meadow floods at once the surface jumps.
    z = meadow() + bowl(18.0, 15.0, 9.0, 2.0) * (1.0 + 0.1 * np.sin(EAST) * np.cos(NORTH))
    hole = old_hole(z, GRID, EVERYWHERE)
    assert hole is not None
    middle = 0.5 * (hole.levels[1:] + hole.levels[:-1])
    _, areas = hole_storage(z, GRID, hole, middle)

    assert np.diff(hole.volumes) / np.diff(hole.levels) == pytest.approx(areas, rel=0.02, abs=0.5)


def test_storage_at_levels_in_any_order_is_that_of_each_level_alone():
    z = meadow() + bowl(18.0, 15.0, 9.0, 2.0)
    hole = old_hole(z, GRID, EVERYWHERE)
    assert hole is not None
    levels = [99.5, 98.2, 101.0, 97.0]
    together = hole_storage(z, GRID, hole, levels)
    alone = [hole_storage(z, GRID, hole, [level]) for level in levels]

    assert together[0] == pytest.approx([float(volumes[0]) for volumes, _ in alone])
    assert together[0][2] == pytest.approx(hole.volume) and together[0][3] == 0.0


def test_no_levels_give_no_volumes():
    z = meadow() + bowl(18.0, 15.0, 9.0, 2.0)
    hole = old_hole(z, GRID, EVERYWHERE)
    assert hole is not None

    assert [len(each) for each in hole_storage(z, GRID, hole, [])] == [0, 0]


def test_the_outline_leaves_lower_ground_beyond_the_lip_dry():
    z = meadow() + bowl(14.0, 15.0, 8.0, 2.0) - 1.0 * (EAST > 35.0)
    hole = old_hole(z, GRID, EVERYWHERE)
    assert hole is not None
    outline = water_outline(z, GRID, hole, 99.5)

    assert len(outline) == 1
    assert outline[0][0][:, 0].max() < 23.0


def test_marks_in_order_are_not_told():
    assert seasons_out_of_order([1.0, 2.0, 2.0, 3.0], SEASONS, SEASONS) == ()


def test_a_dry_mark_above_a_flood_is_told_though_nothing_lies_between():
    (wrong,) = seasons_out_of_order([2.0, 1.5], ["dry", "flood"], SEASONS)

    assert (wrong.higher, wrong.lower, wrong.by) == ("dry", "flood", 0.5)


def test_surveyed_nodes_must_fit_the_grid():
    with pytest.raises(DomainError, match="`surveyed` must have the grid's"):
        old_hole(meadow(), GRID, np.ones((2, 2), dtype=np.bool_))
