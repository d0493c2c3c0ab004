"""Routes of drains: the best of all ways on small grids, never climbing, never more trench than straight."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.rooms.groundwater.route import (
    GIVEN_AWAY,
    Ends,
    Trench,
    TrenchGround,
    grid_route,
    laid,
    least_trench,
)

STEPS = [(a, b) for a in range(-2, 3) for b in range(-2, 3) if math.gcd(a, b) == 1]


def hilly(seed, columns, rows, rough=0.6):
    grid = Grid(0.0, 0.0, 1.0, columns, rows)
    top = 100.0 + rough * np.random.default_rng(seed).uniform(-1.0, 1.0, grid.shape)
    return TrenchGround(grid, top, top - 0.3)


def least_of_all_ways(ground, ends, trench):
    """Least trench of every way on the grid that passes no node twice, each tried."""
    grid, best = ground.grid, math.inf
    nodes = [(float(a), float(b)) for a in range(grid.columns) for b in range(grid.rows)]
    steps = {}
    for at in nodes:
        for step in STEPS:
            to = (at[0] + step[0], at[1] + step[1])
            if to not in nodes or (ground.barred and ground.barred.intersects(LineString([at, to]))):
                continue
            places = np.array([at, ((at[0] + to[0]) / 2, (at[1] + to[1]) / 2), to])
            heights = (surface_at(surface, grid, places).tolist() for surface in (ground.top, ground.roof))
            steps.setdefault(at, []).append((to, 0.5 * math.dist(at, to), *heights))

    def go_on(at, bottom, dug, passed):
        nonlocal best
        if at == ends.end:
            best = min(best, dug)
            return
        for to, half, tops, roofs in steps.get(at, []):
            middle = min(bottom - trench.fall * half, roofs[1])
            lower = min(middle - trench.fall * half, roofs[2])
            bottoms = (bottom, middle, lower)
            depths = [max(t - b + trench.bed, 0.0) for t, b in zip(tops, bottoms, strict=True)]
            more = dug + trench.width * half * (0.5 * depths[0] + depths[1] + 0.5 * depths[2])
            # Bottoms only fall and trenches only grow: such a way is lost already.
            if to not in passed and more < best and lower >= ends.lower - 1e-9:
                go_on(to, lower, more, {*passed, to})

    roof = surface_at(ground.roof, grid, np.array([ends.start]))[0]
    go_on(ends.start, min(ends.upper, roof), 0.0, {ends.start})
    return best


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from((0.005, 0.03, 0.1)), st.floats(0.2, 1.2), st.booleans())
def test_the_way_on_the_grid_is_the_best_of_all_ways(seed, fall, below, barred):
    ground = hilly(seed, 4, 3)
    if barred:
        ground = TrenchGround(ground.grid, ground.top, ground.roof, box(1.2, -0.5, 1.8, 1.4))
    ends = Ends((0.0, 0.0), float(ground.top[0, 0]) - 0.4, (3.0, 0.0), float(ground.top[0, 0]) - 0.4 - below)
    trench = Trench(0.5, 0.1, fall)

    found = grid_route(ground, ends, trench)

    best = least_of_all_ways(ground, ends, trench)
    assert (found is None) == math.isinf(best)
    if found is not None:
        assert found[1] == pytest.approx(best, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(
    st.integers(0, 10_000),
    st.floats(0.005, 0.05),
    st.floats(0.3, 3.0),
    st.tuples(st.floats(0.0, 14.0), st.floats(0.0, 11.0)),
    st.tuples(st.floats(0.0, 14.0), st.floats(0.0, 11.0)),
)
def test_a_route_never_climbs_keeps_its_cover_and_is_never_more_trench_than_straight(
    seed, fall, below, start, end
):
    if math.dist(start, end) < 0.5:
        return
    ground = hilly(seed, 15, 12)
    upper = float(surface_at(ground.roof, ground.grid, np.array([start]))[0])
    ends, trench = Ends(start, upper, end, upper - below), Trench(0.5, 0.1, fall)

    route = least_trench(ground, ends, trench)

    straight = laid(ground, np.array([start, end]), ends, trench)
    if straight.spare >= 0.0:
        assert route is not None
        given_away = GIVEN_AWAY * trench.width * route.length
        assert route.volume <= straight.volume + given_away + 1e-9
    if route is not None:
        run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(route.points, axis=0).T))])
        assert np.all(-np.diff(route.inverts) >= fall * np.diff(run) - 1e-9)
        assert route.inverts[0] <= upper + 1e-9
        assert route.inverts[-1] >= ends.lower - 1e-9
        assert np.all(route.inverts <= surface_at(ground.roof, ground.grid, route.points) + 1e-9)
        assert route.points[[0, -1]].ravel() == pytest.approx([*start, *end], abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.005, 0.05))
def test_between_its_bends_a_pipe_lies_no_higher_than_it_may(seed, fall):
    ground = hilly(seed, 15, 12)
    ends = Ends((0.5, 0.5), 99.5, (13.5, 10.5), 90.0)

    route = least_trench(ground, ends, Trench(0.5, 0.1, fall))

    pipe = laid(ground, route.points, ends, Trench(0.5, 0.1, fall))
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(route.points, axis=0).T))])
    between = np.interp(pipe.chainage, run, route.inverts)
    assert np.all(between <= pipe.invert + 2e-3)
    assert np.all(between >= pipe.invert - GIVEN_AWAY - 2e-3)


def test_a_trench_goes_round_a_hill_where_that_is_less_to_dig():
    grid = Grid(0.0, 0.0, 1.0, 31, 21)
    east, north = np.meshgrid(grid.east, grid.north)
    top = 100.0 + 4.0 * np.exp(-((east - 15.0) ** 2 + (north - 10.0) ** 2) / 16.0)
    ground = TrenchGround(grid, top, top - 0.5)
    ends, trench = Ends((1.0, 10.0), 99.2, (29.0, 10.0), 98.0), Trench(0.4, 0.1, 0.01)

    route = least_trench(ground, ends, trench)

    straight = laid(ground, np.array([ends.start, ends.end]), ends, trench)
    assert route.volume < 0.8 * straight.volume
    assert route.length > 28.1


def test_a_trench_goes_through_the_hill_where_the_way_round_would_not_fall_enough():
    grid = Grid(0.0, 0.0, 1.0, 31, 21)
    east, north = np.meshgrid(grid.east, grid.north)
    top = 100.0 + 4.0 * np.exp(-((east - 15.0) ** 2 + (north - 10.0) ** 2) / 16.0)
    ground = TrenchGround(grid, top, top - 0.5)
    ends = Ends((1.0, 10.0), 99.2, (29.0, 10.0), 99.2 - 0.2801)

    route = least_trench(ground, ends, Trench(0.4, 0.1, 0.01))

    assert route.length == pytest.approx(28.0, abs=0.01)


def test_a_route_stays_out_of_what_it_must_not_cross():
    ground = hilly(3, 20, 20, rough=0.05)
    barred = box(8.3, -1.0, 9.7, 15.5)
    ground = TrenchGround(ground.grid, ground.top, ground.roof, barred)

    route = least_trench(ground, Ends((1.0, 3.0), 99.5, (18.0, 3.0), 98.0), Trench(0.4, 0.1, 0.01))

    assert not barred.intersects(LineString(route.points))
    assert route.points[:, 1].max() > 15.5


def test_no_route_is_found_where_none_falls_enough_or_all_ways_are_barred():
    ground = hilly(3, 20, 20, rough=0.05)
    wall = TrenchGround(ground.grid, ground.top, ground.roof, box(8.3, -1.0, 9.7, 30.0))
    trench = Trench(0.4, 0.1, 0.01)

    assert least_trench(ground, Ends((1.0, 3.0), 99.0, (18.0, 3.0), 98.9), trench) is None
    assert least_trench(wall, Ends((1.0, 3.0), 99.0, (18.0, 3.0), 97.0), trench) is None


def test_two_ends_nearer_than_a_step_are_joined_straight():
    ground = hilly(3, 20, 20, rough=0.05)

    route = least_trench(ground, Ends((5.2, 5.2), 99.0, (5.6, 5.3), 98.0), Trench(0.4, 0.1, 0.01))

    assert len(route.points) == 2


def test_an_end_off_the_grid_is_refused_in_a_sentence():
    with pytest.raises(DomainError, match="inside the grid"):
        least_trench(hilly(1, 5, 5), Ends((0.0, 0.0), 99.0, (9.0, 0.0), 98.0), Trench(0.4, 0.1, 0.01))


def test_a_trench_without_width_or_fall_is_refused_in_a_sentence():
    line = np.array([[0.0, 0.0], [3.0, 0.0]])

    with pytest.raises(DomainError, match="width and a fall above 0"):
        laid(hilly(1, 5, 5), line, Ends((0, 0), 99, (3, 0), 98), Trench(0.0, 0, 0.1))
