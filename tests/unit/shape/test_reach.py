"""How the water is reached: shapely beside, closed forms, and what must hold whatever is drawn."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from pondwright.base.errors import DomainError
from pondwright.base.findings import Grade
from pondwright.geometry.grid import Grid
from pondwright.rooms.shape.reach import (
    gentle,
    ledge_widths,
    line_nearest,
    longest_run,
    path_slope,
    path_slopes,
    reached,
    runs,
    way_distance,
)
from tests.unit.shape.ponds import Computed, job_values

GRID = Grid(0.0, 0.0, 0.25, columns=81, rows=65)
coordinate = st.floats(0.0, 10.0, allow_subnormal=False)
places = st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=6, unique=True)


@settings(max_examples=40, deadline=None)
@given(places, places)
def test_distance_and_station_are_those_of_shapely(line, points):
    line, points = np.array(line), np.array(points)
    away, station = line_nearest(points, line)
    drawn = LineString(line)

    assert away == pytest.approx([drawn.distance(Point(point)) for point in points], abs=1e-9)
    on_line = [drawn.interpolate(each) for each in station]
    assert [at.distance(Point(point)) for at, point in zip(on_line, points, strict=True)] == pytest.approx(
        away, abs=1e-6
    )


def test_nobody_is_off_an_area_that_he_stands_on():
    pad = np.array([[2.0, 2.0], [6.0, 2.0], [6.0, 5.0], [2.0, 5.0]])
    points = np.random.default_rng(3).uniform(0.0, 8.0, (200, 2))
    away, _ = way_distance(points, pad, 1.0, area=True)

    assert away == pytest.approx([Polygon(pad).distance(Point(point)) for point in points], abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(0.0, 5.0), min_size=1, max_size=30), st.floats(0.0, 3.0), st.floats(0.0, 2.0))
def test_a_longer_arm_never_reaches_less(away, arm, more):
    away = np.array(away)
    rise = np.zeros(len(away))

    assert (reached(away, rise, arm + more, 0.45) >= reached(away, rise, arm, 0.45)).all()


@settings(max_examples=60, deadline=None)
@given(st.lists(st.booleans(), min_size=1, max_size=20))
def test_runs_hold_every_chosen_step_once(chosen):
    chosen = np.array(chosen)
    found = [(first + step) % len(chosen) for first, count in runs(chosen) for step in range(count)]

    assert sorted(found) == np.flatnonzero(chosen).tolist()
    length, middle = longest_run(chosen, np.ones(len(chosen)))
    assert length == max((count for _, count in runs(chosen)), default=0)
    assert middle == -1 or chosen[middle]


@settings(max_examples=30, deadline=None)
@given(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3), st.floats(0.0, 6.28))
def test_a_path_on_a_plane_has_the_slope_of_the_plane_along_it(east_slope, north_slope, turn):
    east, north = np.meshgrid(GRID.east, GRID.north)
    way = np.array([np.cos(turn), np.sin(turn)])
    line = np.array([10.0, 8.0]) + np.array([[-1.0], [1.0]]) * 6.0 * way
    slopes, middles, piece = path_slopes(east_slope * east + north_slope * north, GRID, line)
    true = abs(float(way @ (east_slope, north_slope)))

    assert slopes == pytest.approx(np.full(len(slopes), true), abs=1e-9)
    found = path_slope(slopes, middles, piece, 0.05)
    assert found.steepest == pytest.approx(true, abs=1e-9)
    if abs(true - 0.05) > 1e-6:
        assert found.steep_length == pytest.approx(12.0 if true > 0.05 else 0.0)


def test_a_steep_piece_shuts_off_what_lies_behind_it_from_both_ends():
    assert gentle(np.array([0.0, 0.0, 0.0]), 0.05).all()
    assert gentle(np.array([0.1, 0.0, 0.1]), 0.05).tolist() == [False, False, False]


@settings(max_examples=20, deadline=None)
@given(st.floats(0.1, 0.9), st.floats(0.3, 1.2))
def test_a_ledge_is_as_wide_as_it_was_dug(width, drop):
    grid = Grid(0.0, 0.0, 0.02, columns=101, rows=3)
    z = np.tile(np.where(grid.east > 0.5 + width, -0.3 - drop, -0.3), (3, 1))
    found = ledge_widths(
        z, grid, np.array([[0.5, 0.02]]), np.array([[1.0, 0.0]]), np.zeros(1), 0.45, 1.0, samples=100
    )

    assert found[0] == pytest.approx(width, abs=0.05)


def test_a_path_of_one_place_and_a_ledge_of_no_width_are_refused():
    with pytest.raises(DomainError, match="`line` must have a length"):
        path_slopes(np.zeros(GRID.shape), GRID, np.ones((2, 2)))
    with pytest.raises(DomainError, match="`width` must be above 0"):
        ledge_widths(np.zeros(GRID.shape), GRID, np.ones((1, 2)), np.ones((1, 2)), np.zeros(1), 0.4, 0.0)


# The stage --------------------------------------------------------------------------------------------


def line(*points):
    return {"at": "line", "points": [{"east": east, "north": north} for east, north in points]}


def with_ways(ways, fall=0.0, **shape):
    values = job_values(fall=fall)
    values["shape"] |= {"ways": ways} | shape
    return values


DECK = {"kind": "deck", "place": line((15.0, 22.5), (15.0, 20.5)), "width": 2.0, "level": 100.3}


def test_a_deck_at_the_edge_reaches_the_arc_that_shapely_cuts_out():
    found = Computed(with_ways({"deck": DECK}), upto="shape.reach")

    body = found["shape.reach"].bodies["pond"]
    deck = LineString([(15.0, 22.5), (15.0, 20.5)]).buffer(1.0 + 1.2, quad_segs=64)
    ring = found["shape.shore"].bodies["pond"].rings[0]
    shore = LineString([*ring, ring[0]])
    assert body.length == pytest.approx(shore.intersection(deck).length, abs=0.3)
    assert body.share == pytest.approx(body.length / shore.length, abs=0.005)
    assert body.without_way_out == pytest.approx(shore.length - body.length, abs=0.3)
    assert body.wheelchair_places == 1 and found.finding("shape.wheelchair").grade is Grade.GOOD


@pytest.mark.parametrize(
    ("change", "places"),
    [({"width": 1.0}, 0), ({"level": 100.6}, 0), ({"kind": "steps"}, 0), ({"kind": "bridge"}, 1)],
)
def test_a_wheelchair_needs_width_and_a_level_edge(change, places):
    found = Computed(with_ways({"deck": DECK | change}), upto="shape.reach")

    assert found["shape.reach"].wheelchair_places == places
    assert (found.finding("shape.wheelchair").grade is Grade.GOOD) is bool(places)


def test_without_ways_nothing_is_reached_and_nobody_cries():
    found = Computed(with_ways({}), upto="shape.reach")

    assert found["shape.reach"].share == 0.0
    assert not {"shape.reach", "shape.wheelchair", "shape.path_ledge"} & set(found.findings)


def test_an_arm_that_the_job_lengthens_reaches_more():
    shares = []
    for arm in (0.6, 1.2, 2.4):
        values = with_ways({"deck": DECK})
        values["rules"] = {"shape.arm": {"limit": arm, "reason": "trial", "by": "nobody"}}
        shares.append(Computed(values, upto="shape.reach")["shape.reach"].share)

    assert shares == sorted(shares) and shares[0] < shares[-1]


def test_a_path_up_the_fall_of_the_ground_is_as_steep_as_it():
    path = {"kind": "path", "place": line((3.0, 3.0), (3.0, 27.0)), "width": 1.2}
    found = Computed(with_ways({"path": path}, fall=0.08), upto="shape.reach")

    way = found["shape.reach"].ways["path"]
    assert way.steepest == pytest.approx(0.08, abs=1e-6)
    assert way.steep_length == pytest.approx(24.0, abs=0.01)
    assert found.finding("shape.path_slope").grade is Grade.LOOK


def path_round():
    angles = np.linspace(0.0, np.pi, 25)
    points = [(15.0 + 7.6 * float(np.cos(a)), 15.0 + 7.6 * float(np.sin(a))) for a in angles]
    return {"kind": "path", "place": line(*points), "width": 1.2}


@pytest.mark.parametrize(
    ("points", "grade"),
    [
        ([(0.0, 0.0), (0.2, 0.3), (1.2, 0.4), (3.0, 1.2)], Grade.GOOD),
        ([(0.0, 0.0), (0.2, 0.9), (3.0, 1.2)], Grade.LOOK),
    ],
)
def test_a_path_along_deep_water_is_told(points, grade):
    bank = {"points": [{"distance": distance, "depth": depth} for distance, depth in points]}
    values = with_ways({"path": path_round()}, bank_types={"own": bank})
    values["shape"]["bodies"]["pond"]["bank_type"] = "own"
    found = Computed(values, upto="shape.reach")

    body = found["shape.reach"].bodies["pond"]
    assert body.along_paths == pytest.approx(np.pi * 6.0, rel=0.2)
    assert found.finding("shape.path_ledge").grade is grade
    if grade is Grade.LOOK:
        assert body.without_ledge == pytest.approx(body.along_paths, rel=0.05)
        assert found.finding("shape.path_ledge").where.points
