"""What is seen: closed forms, a dense numpy line of sight beside, and what must hold whatever is drawn."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
from pondwright.base.findings import Grade
from pondwright.flow.engine import advance
from pondwright.flow.equality import same
from pondwright.flow.stages import STAGES
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.compile import compiled_count, warm
from pondwright.geometry.surface import surface_at
from pondwright.geometry.window import meet, nodes_in, whole
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.rooms.shape.sight import (
    NO_SCREENS,
    Eye,
    horizon,
    horizon_in,
    screens,
    sight_lines,
    sweep,
    swept_again,
    waters_cover,
)
from pondwright.rooms.shape.views import (
    balanced_eye,
    cell_shares_by_rays,
    fall_share,
    shore_seen,
    water_seen,
)
from tests.unit.shape.ponds import Computed, job_values
from tests.unit.shape.test_streams import straight_brook

GRID = Grid(0.0, 0.0, 0.25, columns=81, rows=65)
EAST, NORTH = np.meshgrid(GRID.east, GRID.north)
RING = np.array([[6.1, 3.2], [14.8, 2.7], [16.3, 9.4], [11.2, 13.6], [5.7, 11.9]])
DISTANCE = signed_distance(GRID, [RING])
COVERAGE = ring_coverage(GRID, [RING])
LEVELS = np.zeros(GRID.shape)


def rough(seed, height=0.5):
    """A pond at level 0 in ground that waves; the same for the same seed."""
    draw = np.random.default_rng(seed)
    phase, pace = draw.uniform(0.0, 6.0, 4), draw.uniform(0.3, 1.2, 4)
    waves = sum(np.sin(p + a * EAST + b * NORTH) for p, a, b in zip(phase, pace, pace[::-1], strict=True))
    ground = height * (0.4 + 0.25 * waves) - 0.02 * np.minimum(DISTANCE, 0.0)
    return waters_cover(np.where(DISTANCE > 0.0, -1.0, ground), [(DISTANCE, 0.0)])


def swept(cover, eye, walls=NO_SCREENS):
    return water_seen(horizon(cover, GRID, eye, walls), LEVELS, COVERAGE, GRID, eye)[0].area


def exact(cover, eye, walls=NO_SCREENS):
    return cell_shares_by_rays(cover, LEVELS, DISTANCE > 0.0, COVERAGE, GRID, eye, walls)[0].area


def sampled_horizon(cover, grid, eye, point, count=8000):
    """Brute force: the surface at many places along one line of sight."""
    share = (np.arange(count) + 0.5) / count
    start = np.array([eye.east, eye.north])
    places = start + share[:, None] * (np.asarray(point) - start)
    return eye.elevation + float(((surface_at(cover, grid, places) - eye.elevation) / share).max())


def wall_across(distance, top):
    return screens(np.array([[distance, -50.0], [distance, 50.0]]), np.array([top, top]))


@pytest.mark.parametrize("north", [3.0, 3.37])
@pytest.mark.parametrize("start", [0.0, 0.33])
def test_the_shadow_of_a_wall_on_flat_water_ends_where_similar_triangles_say(start, north):
    grid = Grid(0.0, 0.0, 0.1, columns=161, rows=61)
    eye = Eye(start, north, 1.15)
    wall = wall_across(start + 5.0, 0.5)

    over = horizon(np.zeros(grid.shape), grid, eye, wall)
    row = np.argmin(np.abs(grid.north - north))
    hidden = grid.east[(over[row] > 0.0) & (grid.east > start + 5.0)]
    line = np.column_stack([np.linspace(start + 5.5, 15.0, 2000), np.full(2000, north)])
    rays = sight_lines(np.zeros(grid.shape), grid, eye, line, np.zeros(2000), wall)

    assert hidden.max() - start == pytest.approx(5.0 * 1.15 / 0.65, abs=0.1)
    assert line[rays.horizon > 0.0, 0].max() - start == pytest.approx(8.846, abs=0.006)


def test_the_shadow_of_a_round_hill_begins_and_ends_at_its_tangent():
    grid = Grid(0.0, 0.0, 0.05, columns=401, rows=121)
    east, north = np.meshgrid(grid.east, grid.north)
    radius, away, height = 1.0, 6.0, 1.6
    away_2 = (east - away) ** 2 + (north - 3.0) ** 2
    hill = np.sqrt(np.maximum(radius**2 - away_2, 0.0))
    # The line of sight touches the circle in the plane through the eye and the middle of the hill.
    tangent = np.arcsin(radius / np.hypot(away, height)) - np.arctan2(height, away)
    ends = -height / np.tan(tangent)
    eye = Eye(0.0, 3.0, height)

    over = horizon(hill, grid, eye)[60]
    line = np.column_stack([np.linspace(7.5, 19.5, 3000), np.full(3000, 3.0)])
    rays = sight_lines(hill, grid, eye, line, np.zeros(3000))

    assert grid.east[(over > 0.0) & (grid.east > 7.5)].max() == pytest.approx(ends, abs=2.0 * 0.05)
    assert line[rays.horizon > 0.0, 0].max() == pytest.approx(ends, abs=0.05)
    cut = rays.east[rays.horizon > 0.0]
    assert np.allclose(cut, away + radius * np.sin(tangent) * -1.0, atol=0.15)


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.4, 19.0), st.floats(0.4, 15.0), st.floats(0.5, 2.5))
def test_rays_agree_with_a_dense_line_of_sight(seed, east, north, height):
    cover = rough(seed)
    spot = np.array([[east, north]])
    eye = Eye(east, north, float(surface_at(cover, GRID, spot)[0]) + height)
    points = np.random.default_rng(seed).uniform((0.0, 0.0), (20.0, 16.0), (12, 2))
    points = points[np.hypot(*(points - spot).T) > 1.0]

    found = sight_lines(cover, GRID, eye, points, np.zeros(len(points)))

    ends = np.maximum(found.horizon, surface_at(cover, GRID, points))
    for point, over in zip(points, ends, strict=True):
        brute = sampled_horizon(cover, GRID, eye, point)
        # The samples are inside the pieces between edges, so they are never higher than the ends of those.
        assert brute <= over + 1e-9
        assert over == pytest.approx(brute, abs=0.01)


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.3, 5.0), st.floats(0.5, 15.5), st.floats(0.6, 2.0))
def test_the_sweep_and_the_rays_differ_only_on_the_borders_of_shadows(seed, east, north, height):
    cover = rough(seed)
    eye = Eye(east, north, float(surface_at(cover, GRID, np.array([[east, north]]))[0]) + height)

    assert swept(cover, eye) == pytest.approx(exact(cover, eye), abs=0.05 * float(COVERAGE.sum()))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000), st.floats(-0.3, 1.6), st.floats(0.01, 0.8))
def test_a_wall_that_rises_never_shows_more(seed, top, more):
    cover, eye = rough(seed, height=0.2), Eye(1.3, 7.7, 1.6)
    line = np.array([[4.2, 5.1], [4.9, 8.3], [4.4, 10.2]])
    low, high = (screens(line, np.full(3, each)) for each in (top, top + more))

    assert swept(cover, eye, high) <= swept(cover, eye, low) + 1e-9
    assert exact(cover, eye, high) <= exact(cover, eye, low) + 1e-9


@settings(max_examples=15, deadline=None)
@given(st.floats(0.2, 3.0), st.floats(0.01, 1.0), st.floats(0.05, 1.5), st.booleans())
def test_a_higher_eye_over_flat_ground_never_loses_water(height, more, top, by_rays):
    cover = waters_cover(np.full(GRID.shape, 0.1), [(DISTANCE, 0.0)])
    wall = screens(np.array([[4.0, 6.0], [4.4, 9.0]]), np.array([top, top]))
    seen = exact if by_rays else swept
    areas = [seen(cover, Eye(1.3, 7.7, each), wall) for each in (height, height + more)]

    assert areas[1] >= areas[0] - 1e-9


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.3, 19.5), st.floats(0.3, 15.5))
def test_a_mirrored_garden_is_seen_mirrored(seed, east, north):
    cover = rough(seed)
    height = float(surface_at(cover, GRID, np.array([[east, north]]))[0]) + 1.2
    across = GRID.extent[2] - east

    one = horizon(cover, GRID, Eye(east, north, height))
    other = horizon(cover[:, ::-1], GRID, Eye(across, north, height))[:, ::-1]
    turned_grid = Grid(0.0, 0.0, GRID.spacing, columns=GRID.rows, rows=GRID.columns)
    turned = horizon(cover.T, turned_grid, Eye(north, east, height)).T

    assert np.allclose(np.nan_to_num(one), np.nan_to_num(other), atol=1e-6, rtol=1e-9)
    assert np.allclose(np.nan_to_num(one), np.nan_to_num(turned), atol=1e-6, rtol=1e-9)


@settings(max_examples=12, deadline=None)
@given(
    st.integers(0, 10_000),
    st.lists(
        st.tuples(
            st.integers(0, 60),
            st.integers(1, 50),
            st.integers(0, 70),
            st.integers(1, 60),
            st.floats(-0.4, 0.8),
        ),
        min_size=1,
        max_size=5,
    ),
)
def test_a_horizon_swept_again_after_each_move_is_the_one_swept_anew(seed, moves):
    cover, eye = rough(seed), Eye(3.1, 7.7, 1.9)
    walls = screens(np.array([[4.2, 5.1], [4.9, 8.3], [12.4, 10.2]]), np.full(3, 1.1))
    mine, before = sweep(cover, GRID, eye), horizon(cover, GRID, eye)

    for row, rows, column, columns, raised in moves:
        touched = meet((row, row + rows, column, column + columns), whole(GRID.shape))
        cover = cover.copy()
        cover[nodes_in(touched)] += raised
        mine, fresh = swept_again(mine, cover, GRID, eye, touched)
        anew = horizon(cover, GRID, eye)

        # Every bit of it, with screens and without, in all of the grid and in a part of it.
        assert np.array_equal(horizon_in(mine, GRID, eye, whole(GRID.shape)), anew)
        part = (10, 50, 13, 70)
        behind = horizon(cover, GRID, eye, walls)[nodes_in(part)]
        assert np.array_equal(horizon_in(mine, GRID, eye, part, walls), behind)
        before[nodes_in(fresh)] = anew[nodes_in(fresh)]
        assert np.array_equal(before, anew)


def test_open_water_is_seen_whole_and_none_of_it_from_below():
    cover = waters_cover(np.full(GRID.shape, 0.0), [(DISTANCE, 0.0)])
    whole = float(COVERAGE.sum())

    for seen in (swept, exact):
        assert seen(cover, Eye(1.0, 8.0, 1.2)) == pytest.approx(whole, rel=1e-9)
        assert seen(cover, Eye(1.0, 8.0, -0.1)) == 0.0


def test_the_needed_height_is_the_one_at_which_a_place_comes_into_sight():
    cover = rough(7)
    points = np.column_stack([GRID.east[30:60:3], np.full(10, GRID.north[30])])
    eye = Eye(1.3, 7.1, 1.4)
    needed = sight_lines(cover, GRID, eye, points, np.zeros(10)).needed

    for height, seen in ((1e-6, True), (-1e-6, False)):
        for point, each in zip(points, needed, strict=True):
            up = Eye(eye.east, eye.north, each + height)
            found = sight_lines(cover, GRID, up, point[None], np.zeros(1))
            if each > 0.0:
                assert bool(found.horizon[0] <= 0.0) is seen


def test_an_eye_off_the_grid_and_a_fall_without_height_are_refused():
    with pytest.raises(DomainError, match="`eye` must lie inside the grid"):
        horizon(np.zeros(GRID.shape), GRID, Eye(-1.0, 0.0, 1.0))
    with pytest.raises(DomainError, match="`top` must be above the foot"):
        fall_share(LEVELS, GRID, Eye(1.0, 1.0, 1.0), RING, np.array([1.0, 0.0]), 1.0, 1.0)
    with pytest.raises(DomainError, match="`tops` must be one for each of 5 points"):
        screens(RING, np.zeros(3))
    with pytest.raises(DomainError, match="`weights` must hold an area"):
        balanced_eye(np.zeros(2), np.zeros(2), 0.5)


def test_shore_behind_a_wall_is_not_counted():
    cover, eye = waters_cover(np.zeros(GRID.shape), [(DISTANCE, 0.0)]), Eye(1.0, 8.0, 1.2)
    ring = np.array([[10.0, 6.0], [12.0, 6.0], [12.0, 10.0], [10.0, 10.0]])
    free = horizon(cover, GRID, eye)
    hidden = horizon(cover, GRID, eye, wall_across(4.0, 1.1))

    assert shore_seen(free, GRID, ring, 0.0) == pytest.approx(12.0)
    assert shore_seen(hidden, GRID, ring, 0.0) == 0.0


# The stages -------------------------------------------------------------------------------------------


def point(east, north):
    return {"at": "point", "east": east, "north": north}


def line(*points):
    return {"at": "line", "points": [{"east": east, "north": north} for east, north in points]}


def seated(ways=None, seats=None, things=None, bodies=None, fall=0.0):
    values = job_values(fall=fall)
    values["shape"]["seats"] = seats or {"bench": {"place": point(5.0, 15.0), "eye_height": 1.2}}
    values["shape"]["ways"] = ways or {}
    values["shape"]["bodies"].update(bodies or {})
    values["site"]["things"] = things or {}
    return values


WALL = {"kind": "wall", "place": line((7.0, 8.0), (7.0, 22.0)), "top": 101.5}


def test_a_bench_by_the_pond_sees_it_whole_and_a_wall_before_it_takes_it_away():
    free = Computed(seated(), upto="shape.views_exact")
    shut = Computed(seated(ways={"screen": WALL}), upto="shape.views_exact")

    bench = free["shape.views"].seats["bench"]
    assert bench.share > 0.95 and bench.mask.any() and bench.nearest < bench.farthest
    assert bench.bodies["pond"].share == pytest.approx(bench.share)
    assert free["shape.views_exact"].seats["bench"].share == pytest.approx(bench.share, abs=0.02)
    assert free.finding("shape.seat_view").grade is Grade.GOOD
    assert shut["shape.views"].seats["bench"].share < 0.05
    found = shut.finding("shape.seat_view")
    assert found.grade is Grade.LOOK and "`screen` hides it" in found.says


def test_the_offered_height_shows_a_third_of_the_water():
    values = seated(ways={"screen": WALL | {"top": 101.1}})
    offer = Computed(values, upto="shape.views_exact").finding("shape.seat_view").advice[0].ops[0]
    assert offer.path == "/shape/seats/bench/eye_height"
    values["shape"]["seats"]["bench"]["eye_height"] = offer.value

    raised = Computed(values, upto="shape.views_exact")

    # Over a wall this near, a centimetre of height shows half a metre more of the water.
    assert 1.0 / 3.0 <= raised["shape.views_exact"].seats["bench"].share < 0.45
    assert raised.finding("shape.seat_view").grade is Grade.GOOD


def test_a_window_looks_out_of_its_own_house_and_a_seat_behind_it_does_not():
    house = {"kind": "house", "place": point(4.0, 15.0), "size": 4.0}
    seats = {
        "kitchen": {"kind": "window", "place": point(5.8, 15.0)},
        "behind": {"place": point(1.0, 15.0)},
    }
    found = Computed(seated(things={"house": house}, seats=seats), upto="shape.views_exact")

    assert found["shape.views"].seats["kitchen"].share > 0.9
    assert found["shape.views"].seats["behind"].share < 0.2
    gone = Computed(seated(things={"house": house | {"status": "remove"}}, seats=seats), upto="shape.views")
    assert gone["shape.views"].seats["behind"].share > 0.8


def test_a_fall_is_seen_from_below_and_not_from_above():
    brook = straight_brook(steps=[(10.0, 0.5)], width=1.5, level=101.0, north=25.0)
    seats = {
        "below": {"place": point(22.0, 25.0)},
        "above": {"place": point(8.0, 25.0)},
    }
    found = Computed(seated(seats=seats, bodies={"brook": brook}), upto="shape.views")["shape.views"].seats

    assert found["below"].falls["brook-1"].share > 0.8 and found["below"].falls_seen == 1
    assert found["above"].falls["brook-1"].share == 0.0


def test_a_place_to_look_at_behind_a_wall_is_told():
    seats = {"bench": {"place": point(5.0, 15.0), "looks_at": [point(3.0, 4.0), point(9.0, 27.0)]}}
    wall = {"kind": "wall", "place": line((5.0, 20.0), (9.0, 18.0)), "top": 103.0}
    found = Computed(seated(ways={"screen": wall}, seats=seats), upto="shape.views_exact")

    assert found["shape.views"].seats["bench"].looks == (True, False)
    told = found.finding("shape.seat_view")
    assert told.grade is Grade.LOOK and "shape.seats.bench.looks_at.1" in told.where.paths


def test_a_seat_off_the_plan_is_told_and_the_others_are_answered():
    seats = {"far": {"place": point(500.0, 15.0)}, "bench": {"place": point(5.0, 15.0)}}
    found = Computed(seated(seats=seats), upto="shape.views_exact")

    assert list(found["shape.views"].seats) == ["bench"]
    told = [finding.says for finding in found.findings["shape.seat_view"]]
    assert sum("has no place on the plan" in says for says in told) == 1


def test_a_deck_carries_the_seat_on_it():
    deck = {"kind": "deck", "place": line((3.0, 15.0), (7.0, 15.0)), "width": 2.0, "level": 101.0}
    found = Computed(seated(ways={"deck": deck}), upto="shape.views")

    assert found["shape.views"].seats["bench"].eye.elevation == pytest.approx(102.2)


def runs_of(values):
    return loads(json.dumps(values))


def test_taking_over_from_last_time_changes_nothing_and_spares_the_seats_that_nothing_moved():
    first = seated(
        ways={"screen": WALL | {"top": 100.6}},
        seats={name: {"place": point(5.0, north)} for name, north in (("a", 12.0), ("b", 18.0))},
    )
    moved = json.loads(json.dumps(first))
    moved["shape"]["seats"]["b"]["place"]["north"] = 19.0
    before = advance(STAGES, None, runs_of(first), Log(), "settle")
    job = runs_of(moved)
    seats = before.job.shape.seats
    kept = type(seats)({**job.shape.seats, "a": seats["a"]})
    job = before.job.model_copy(update={"shape": before.job.shape.model_copy(update={"seats": kept})})

    after = advance(STAGES, before, job, Log(), "settle")
    fresh = advance(STAGES, None, job, Log(), "settle")

    for stage in ("shape.views", "shape.views_exact"):
        old, new = before.stages[stage].result.seats, after.stages[stage].result.seats
        assert new["a"] is old["a"] and new["b"] is not old["b"]
        assert same(after.stages[stage].result, fresh.stages[stage].result)


def test_a_warm_view_compiles_nothing():
    warm()
    before = compiled_count()
    Computed(seated(ways={"screen": WALL}), upto="shape.views_exact")

    assert compiled_count() == before
