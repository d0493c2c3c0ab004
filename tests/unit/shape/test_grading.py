"""The graded surface: exact sections of straight banks, daylight, hills, and closed-form basins."""

import math

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import difference_volumes, richardson, volume_below
from pondwright.geometry.window import changed, whole
from pondwright.rooms.shape.grading import (
    BERM,
    CUT_SLOPE,
    EXISTING,
    PLACED_SLOPE,
    Bank,
    blended,
    finish_limits,
    graded,
    open_edge,
    part_code,
    placed_feet,
    stacked,
    stretch_share,
)
from pondwright.rooms.shape.profile import bank_profile

BANK = Bank(freeboard=0.5, slope_in=2.0, crest_width=1.0, cut=2.0, fill=3.0)
SLOPED = bank_profile([(0.0, 0.0), (2.0, 1.0)])


def straight(columns=41, rows=5, spacing=0.5, shore=16):
    """A straight shore along a column of nodes, water to the west."""
    grid = Grid(0.0, 0.0, spacing, columns, rows)
    distance = np.ascontiguousarray(np.broadcast_to(grid.east[shore] - grid.east, grid.shape))
    return grid, distance


def laid(distance, ground, level=0.0, profile=SLOPED, bank=BANK, spacing=0.5):
    return graded(ground, stacked([finish_limits(profile, bank, distance, spacing)]), [level])


def polygon(radius, corners=720, east=0.0, north=0.0, turn=0.0):
    angles = turn + 2.0 * math.pi * np.arange(corners) / corners
    return np.column_stack([east + radius * np.cos(angles), north + radius * np.sin(angles)])


def basin_volume(ring, spacing, profile, half=9.0):
    """Water of a basin dug into flat ground at the water level."""
    count = round(2.0 * half / spacing) + 1
    grid = Grid(-half, -half, spacing, count, count)
    flush = Bank(freeboard=0.0, slope_in=2.0, crest_width=1.0, cut=2.0, fill=3.0)
    ground = np.zeros(grid.shape)
    finish = laid(signed_distance(grid, [ring]), ground, profile=profile, bank=flush, spacing=spacing)
    return difference_volumes(ground, finish.z, grid)[0]


def test_a_straight_bank_on_flat_ground_has_its_section_exactly():
    """Bank 1.25, crest 1.5, outer slope 3.375 and the bed 1 m² a metre, over ground 1 m low; hand."""
    grid, distance = straight()
    ground = np.full(grid.shape, -1.0)

    placed, dug = difference_volumes(laid(distance, ground).z, ground, grid)

    assert placed == pytest.approx(7.125 * 2.0, rel=1e-12)
    assert dug == 0.0


def test_the_finish_follows_bed_bank_crest_and_slope():
    grid, distance = straight()

    z = laid(distance, np.full(grid.shape, -1.0)).z[0]

    by_offset = dict(zip((grid.east - grid.east[16]).tolist(), z.tolist(), strict=True))
    told = {-4.0: -1.0, -1.0: -0.5, 0.0: 0.0, 0.5: 0.25, 1.0: 0.5, 2.0: 0.5, 3.5: 0.0, 6.5: -1.0, 9.0: -1.0}
    assert {offset: by_offset[offset] for offset in told} == pytest.approx(told)


def test_parts_tell_what_every_node_has_become():
    grid, distance = straight()

    part = laid(distance, np.full(grid.shape, -1.0)).part[0]

    assert part[0] == part_code(0, 1)
    assert part[14] == part_code(0, 0)
    assert part[18] == BERM
    assert part[24] == PLACED_SLOPE
    assert part[-1] == EXISTING


def test_high_ground_is_cut_back_at_the_cut_slope_from_the_shore():
    grid, distance = straight()

    finish = laid(distance, np.full(grid.shape, 2.0))

    assert finish.z[0, 20] == pytest.approx(1.0)
    assert finish.z[0, 24:].tolist() == [2.0] * 17
    assert finish.part[0, 20] == CUT_SLOPE


def test_ground_between_the_lines_is_left_alone():
    grid, distance = straight()
    bank = Bank(freeboard=0.2, slope_in=4.0, crest_width=1.0, cut=1.0, fill=3.0)

    finish = laid(distance, np.full(grid.shape, 0.3), bank=bank)

    assert finish.part[0, 19:].tolist() == [EXISTING] * 22
    assert finish.z[0, 17] == pytest.approx(0.3)


@pytest.mark.parametrize("fall", [0.0, 0.1, -0.2])
def test_the_toe_on_sloping_ground_is_where_two_lines_meet(fall):
    grid, distance = straight(columns=401, spacing=0.05, shore=20)
    outward = grid.east - grid.east[20]
    ground = np.ascontiguousarray(np.broadcast_to(-1.0 - fall * (outward - 2.0), grid.shape))

    finish = laid(distance, ground, spacing=0.05)

    toe = 2.0 + 1.5 / (1.0 / 3.0 - fall)
    placed = outward[finish.part[0] == PLACED_SLOPE]
    assert abs(placed.max() - toe) <= 0.05


def test_a_hollow_behind_a_hill_is_not_filled():
    grid, distance = straight(columns=61)
    ground = np.full(grid.shape, 0.4)
    ground[:, 36:40] = 1.0
    ground[:, 44:48] = -6.0

    finish = laid(distance, ground)

    assert finish.let_go > 0
    assert finish.z[0, 45] == -6.0
    assert finish.part[0, 45] == EXISTING


def test_ground_that_falls_away_right_behind_the_crest_is_filled():
    grid, distance = straight()
    ground = np.full(grid.shape, 0.55)
    ground[:, 21:] = -1.0

    finish = laid(distance, ground)

    assert finish.let_go == 0
    assert finish.part[0, 22] == PLACED_SLOPE


@pytest.mark.parametrize("level", np.linspace(-1.5, 1.5, 7).tolist())
def test_a_slope_is_found_however_it_winds(level):
    """Every sweep order must find a snake of changed nodes: its far end stays connected."""
    shape = (31, 31)
    distance = np.full(shape, -10.0)
    distance[0, :] = -1.0
    ground = np.full(shape, 50.0)
    for turn in range(1, 30, 2):
        ground[turn, :] = -50.0
        ground[turn + 1, -1 if turn % 4 == 1 else 0] = -50.0
    bank = Bank(freeboard=0.0, slope_in=1.0, crest_width=1.0, cut=0.1, fill=1.0)

    finish = laid(distance, ground, level=level, bank=bank, spacing=1.0)

    assert finish.let_go == 0
    assert (finish.part[29] == PLACED_SLOPE).all()


def water_volume(ring, spacing, profile, half=11.0):
    """Water up to the level in a basin whose bank goes on above it at 3:1."""
    count = round(2.0 * half / spacing) + 1
    grid = Grid(-half, -half, spacing, count, count)
    bank = Bank(freeboard=0.5, slope_in=3.0, crest_width=1.0, cut=2.0, fill=3.0)
    finish = laid(
        signed_distance(grid, [ring]), np.zeros(grid.shape), profile=profile, bank=bank, spacing=spacing
    )
    return volume_below(finish.z, 0.0, grid)[0]


def test_a_frustum_has_its_volume():
    """Regular polygon of 720 sides, radius 8 m, 1.2 m deep at 3:1: 148.98427554 m³; hand."""
    profile = bank_profile([(0.0, 0.0), (3.6, 1.2)])

    coarse, fine = (water_volume(polygon(8.0), spacing, profile) for spacing in (0.2, 0.1))

    assert fine == pytest.approx(148.98427554, rel=1e-4)
    assert richardson(fine, coarse) == pytest.approx(148.98427554, rel=5e-6)


def test_the_volume_converges_with_the_square_of_the_spacing():
    profile = bank_profile([(0.0, 0.0), (3.6, 1.2)])

    coarse, fine = (
        abs(water_volume(polygon(8.0), spacing, profile) - 148.98427554) for spacing in (0.4, 0.1)
    )

    assert math.log2(coarse / fine) / 2.0 == pytest.approx(2.0, abs=0.2)


def test_an_upright_shore_keeps_the_volume_of_second_order():
    """A tank of 720 sides with a wall of 0.6 m all round; hand."""
    profile = bank_profile([(0.0, 0.0), (0.0, 0.6)])
    truth = 0.6 * 0.5 * 720 * 64.0 * math.sin(2.0 * math.pi / 720)

    coarse, fine = (
        abs(basin_volume(polygon(8.0), spacing, profile) / truth - 1.0) for spacing in (0.2, 0.05)
    )

    assert coarse < 1e-3
    assert fine < 1e-4


@pytest.mark.parametrize("turn", [0.0, 17.0, 45.0])
def test_a_hipped_pit_has_its_volume_however_it_is_turned(turn):
    """12 x 8 m at 2:1, 1 m deep: 61.3333 m³; hand."""
    angle = math.radians(turn)
    corners = np.array([[-6.0, -4.0], [6.0, -4.0], [6.0, 4.0], [-6.0, 4.0]])
    ring = corners @ np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])

    found = basin_volume(ring, 0.1, bank_profile([(0.0, 0.0), (2.0, 1.0)]))

    assert found == pytest.approx(184.0 / 3.0, rel=1e-4)


def test_moving_and_turning_the_outline_changes_the_volume_by_nothing_that_matters():
    profile = bank_profile([(0.0, 0.0), (3.6, 1.2)])

    volumes = [
        basin_volume(polygon(7.0, 36, 0.137 * step, 0.05 * step, math.radians(step)), 0.1, profile)
        for step in range(6)
    ]

    assert np.ptp(volumes) / np.mean(volumes) < 2e-5


@pytest.mark.parametrize(
    ("points", "noise"),
    [
        ([(0.0, 0.0), (3.6, 1.2)], 0.01),
        ([(0.0, 0.0), (0.8, 0.2), (3.0, 1.2)], 0.01),
        ([(0.0, 0.0), (0.0, 0.2), (0.8, 0.2), (3.0, 1.2)], 0.02),  # an upright riser jumps from cell to cell
    ],
)
def test_dragging_by_a_millimetre_moves_the_volume_smoothly(points, noise):
    profile = bank_profile(points)
    ring = polygon(7.0, 36)

    def dragged(step):
        bent = ring.copy()
        bent[0, 0] += 0.001 * step
        return basin_volume(bent, 0.1, profile)

    volumes = np.array([dragged(step) for step in range(200)])

    steps = np.diff(volumes)
    trend = np.polyval(np.polyfit(np.arange(199), steps, 2), np.arange(199))
    assert np.std(steps - trend) / abs(steps.mean()) < noise


def test_a_later_body_carves_into_what_an_earlier_one_left():
    grid, distance = straight()
    ground = np.zeros(grid.shape)
    other = np.ascontiguousarray(distance[:, ::-1])
    limits = [finish_limits(SLOPED, BANK, distance, 0.5, 0), finish_limits(SLOPED, BANK, other, 0.5, 1)]

    finish = graded(ground, stacked(limits), [0.0, -0.5])

    assert finish.part[0, 0] == part_code(0, 1)
    assert finish.part[0, -1] == part_code(1, 1)
    assert finish.z[0, -1] == pytest.approx(-1.5)


def test_a_stretch_counts_in_full_where_it_is_the_nearest_shore():
    distance = np.array([[1.0, 1.0, -2.0]])
    line = np.array([[1.0, 1.5, 3.5]])

    assert stretch_share(distance, line, 1.0).tolist() == [[1.0, 0.5, 0.0]]
    assert stretch_share(distance, line, 0.0).tolist() == [[1.0, 0.0, 0.0]]


def test_blending_runs_from_one_bank_to_the_other():
    grid, distance = straight()
    deep = finish_limits(bank_profile([(0.0, 0.0), (2.0, 2.0)]), BANK, distance, 0.5)
    shallow = finish_limits(SLOPED, BANK, distance, 0.5)

    half = blended(shallow, deep, np.full(grid.shape, 0.5))

    assert half.lower[0, 0] == pytest.approx(-1.5)
    assert np.array_equal(half.lower[:, 17:], shallow.lower[:, 17:])


def test_slopes_that_reach_the_edge_of_the_window_are_told():
    grid, distance = straight(columns=21)

    places = open_edge(laid(distance, np.full(grid.shape, -1.0)).part, grid)

    assert any(east == grid.east[-1] for east, _ in places)


def test_a_design_inside_the_window_leaves_its_edge_alone():
    grid = Grid(-9.0, -9.0, 0.2, 91, 91)
    distance = signed_distance(grid, [polygon(5.0)])

    assert open_edge(laid(distance, np.zeros(grid.shape), spacing=0.2).part, grid) == ()


def test_a_slope_of_nothing_is_refused():
    bank = Bank(freeboard=0.3, slope_in=0.0, crest_width=0.9, cut=2.0, fill=3.0)

    with pytest.raises(DomainError, match="`slope_in` must be above 0"):
        finish_limits(SLOPED, bank, np.zeros((3, 3)), 0.5)


def test_bodies_beyond_the_part_codes_are_refused():
    with pytest.raises(DomainError, match="`bodies` must be at most 11"):
        finish_limits(SLOPED, BANK, np.zeros((3, 3)), 0.5, body=11)


def test_limits_go_on_from_those_of_before_where_the_shore_moved():
    grid = Grid(-9.0, -9.0, 0.2, 91, 91)
    stepped = bank_profile([(0.0, 0.0), (0.0, 0.3), (1.0, 0.4), (1.0, 0.8), (2.0, 1.2)])
    ring = polygon(5.0, 24)
    before = signed_distance(grid, [ring])
    ring[3] += 0.1
    now = signed_distance(grid, [ring])
    window = changed(before, now)
    known = finish_limits(stepped, BANK, before, grid.spacing)

    found = finish_limits(stepped, BANK, now, grid.spacing, known=(known, window))

    anew = finish_limits(stepped, BANK, now, grid.spacing)
    assert window != whole(grid.shape)
    for name in ("lower", "upper", "region"):
        assert getattr(found, name).tobytes() == getattr(anew, name).tobytes()


@pytest.mark.parametrize("rows", [(0, 3), (14, 17), (28, 30)])
def test_feet_of_placed_soil_go_on_from_those_of_before_where_rows_changed(rows):
    chance = np.random.default_rng(rows[0])
    shape = (30, 25)
    # Heights of few kinds, so that lowest feet come in pairs.
    z, ground = 1.0 + chance.integers(0, 4, shape), chance.integers(0, 4, shape).astype(float)
    part = chance.choice(np.array([EXISTING, PLACED_SLOPE, BERM], dtype=np.int8), shape)
    distances = [chance.normal(size=shape) for _ in range(3)]
    before = placed_feet(z, part, ground, distances)
    here = slice(*rows)
    z[here], part[here] = 5.0, BERM
    distances[1][here] = 9.0

    found = placed_feet(z, part, ground, distances, (before, rows))

    anew = placed_feet(z, part, ground, distances)
    assert np.array_equal(found.nodes, anew.nodes) and not np.array_equal(found.nodes, before.nodes)
    assert np.array_equal(found.under_berm, anew.under_berm)


def test_of_feet_of_one_height_the_first_is_told():
    ground = np.array([[3.0, 1.0, 3.0], [3.0, 0.0, 3.0], [3.0, 3.0, 1.0]])
    part = np.full((3, 3), PLACED_SLOPE, dtype=np.int8)

    feet, under_berm = placed_feet(ground + 1.0, part, ground, [-np.ones((3, 3))]).lowest(ground)

    # All beyond the grid is untouched; the node in the middle lies lower and is no foot.
    assert feet.tolist() == [1] and under_berm.tolist() == [np.inf]
