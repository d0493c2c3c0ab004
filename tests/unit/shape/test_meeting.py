"""Where waters meet: crossings, narrows, splits and overflows against plain geometry."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from pondwright.base.findings import Grade
from pondwright.geometry.grid import Grid
from pondwright.rooms.shape.meeting import (
    meeting_walls,
    meetings,
    narrow_places,
    parts_when_lower,
    run_of_water,
    water,
)
from tests.unit.shape.ponds import Computed, job_values, pegs


def ring(radius, east, level=100.0, **more):
    outline = {"form": "ring", "curve": {"pegs": pegs(radius, east=east)}}
    return {"outline": outline, "level": level, **more}


def computed(bodies, fall=0.01):
    values = job_values(fall=fall)
    values["shape"] = {"bodies": bodies}
    return Computed(json.loads(json.dumps(values)), upto="shape.meeting")


def test_bodies_across_one_another_stop_and_the_place_is_in_both():
    found = computed({"one": ring(4.0, 12.0), "two": ring(4.0, 17.0, level=100.4)}).finding(
        "shape.bodies_cross"
    )

    assert found.grade is Grade.STOP and "another level" in found.says
    [(east, north)] = found.where.points
    assert np.hypot(east - 12.0, north - 15.0) < 4.0 and np.hypot(east - 17.0, north - 15.0) < 4.0


def test_a_body_inside_another_at_one_level_is_one_water():
    found = computed({"one": ring(6.0, 15.0), "two": ring(2.0, 15.0)}).finding("shape.bodies_cross")

    assert "lies inside" in found.says or "inside" in found.says
    assert "one water" in found.says


def test_bodies_clear_of_one_another_are_good():
    found = computed({"one": ring(3.0, 7.0), "two": ring(3.0, 22.0)}).finding("shape.bodies_cross")

    assert found.grade is Grade.GOOD


@settings(max_examples=40, deadline=None)
@given(st.floats(0.2, 3.0))
def test_the_width_of_a_neck_is_found(width):
    neck = box(0, 0, 10, 10).union(box(9, 5 - width / 2, 21, 5 + width / 2)).union(box(20, 0, 30, 10))

    found = narrow_places(neck, 1.5)

    if width < 1.45:
        assert found and found[0][1] == pytest.approx(width, abs=0.1)
    elif width > 1.55:
        assert not found


def test_rounded_and_square_corners_are_not_narrow():
    assert narrow_places(box(0, 0, 10, 10), 1.2) == ()
    assert (
        narrow_places(Polygon([(np.cos(a) * 5, np.sin(a) * 5) for a in np.linspace(0, 6.28, 60)]), 1.2) == ()
    )


def test_two_basins_with_a_shallow_neck_fall_apart():
    neck = box(0, 0, 10, 10).union(box(9, 4.5, 21, 5.5)).union(box(20, 0, 26, 10))

    assert len(parts_when_lower(neck, 0.4)) == 1
    parts = parts_when_lower(neck, 0.6)
    # A little more than the two rectangles: in the mouth of the neck only its two corners are near.
    assert [area for _, area in parts] == pytest.approx([8.8**2, 8.8 * 4.8], rel=3e-3)


def test_crossings_of_a_stream_and_the_pond_that_it_feeds_are_meant():
    waters = {"pond": box(0, 0, 10, 10), "brook": box(8, 4, 20, 6)}

    assert len(meetings(waters, frozenset())) == 1
    assert meetings(waters, frozenset([frozenset(("pond", "brook"))])) == ()


def test_an_island_is_no_water():
    hole = [np.array([[4, 4], [6, 4], [6, 6], [4, 6]])]
    outer = np.array([[0, 0], [10, 0], [10, 10], [0, 10]])

    assert water([outer, *hole]).area == pytest.approx(96.0)


def tilted(fall):
    grid = Grid(0.0, 0.0, 1.0, columns=21, rows=21)
    return grid, np.repeat(grid.north[:, None] * fall, 21, axis=1) + 10.0


def test_water_that_runs_over_goes_downhill_into_the_next_body():
    grid, z = tilted(0.1)
    own = np.zeros(grid.shape, dtype=bool)
    own[14:17, 9:12] = True
    lower = np.zeros(grid.shape, dtype=bool)
    lower[4:7, 5:16] = True

    run = run_of_water(z, grid, (10.0, 13.0), own, {"lower": lower})

    assert run.into == "lower" and not run.ends_in_hollow
    assert np.all(np.diff(run.path[:, 1]) <= 0.0)


def test_a_deep_hollow_keeps_the_water_and_a_shallow_one_is_passed():
    grid, z = tilted(0.1)
    own = np.zeros(grid.shape, dtype=bool)
    own[14:17, 9:12] = True
    for depth, stays in ((0.2, False), (2.0, True)):
        hollow = z.copy()
        hollow[8:11, 3:18] -= depth
        run = run_of_water(hollow, grid, (10.0, 13.0), own, {})
        assert run.ends_in_hollow is stays


def test_no_wall_at_a_bank_and_one_where_the_ground_stands_beside_the_water():
    grid = Grid(0.0, 0.0, 0.1, columns=101, rows=101)
    shore = np.array([[3, 3], [7, 3], [7, 7], [3, 7]], dtype=float)
    from pondwright.geometry.polygon import resampled

    flat = np.full(grid.shape, 10.0)
    beside = flat.copy()
    beside[:, 71:] = 11.0

    assert meeting_walls(resampled(shore, 0.25), flat, grid, 9.9) == ()
    [wall] = meeting_walls(resampled(shore, 0.25), beside, grid, 9.9)
    assert wall.top - wall.bottom == pytest.approx(1.1)
    assert np.ptp(wall.line[:, 1]) == pytest.approx(4.0, abs=0.6)


def test_a_brook_above_the_pond_runs_into_it_and_one_below_is_told():
    def brook(level):
        ends = [{"id": "a", "east": 3.0, "north": 15.0}, {"id": "b", "east": 11.2, "north": 15.0}]
        outline = {"form": "corridor", "curve": {"pegs": ends}, "widths": [1.2, 1.2]}
        return {"role": "stream", "outline": outline, "level": level}

    for level, grade in ((100.4, Grade.GOOD), (99.2, Grade.LOOK)):
        found = computed({"pond": ring(5.0, 16.0, level=99.8, rank=1), "brook": brook(level)})
        told = found.findings["shape.runs_uphill"]
        checks = [each for each in told if each.where.paths == ("shape.bodies.brook.level",)]
        assert [each.grade for each in checks] == [grade], checks
        assert found["shape.meeting"].bodies["brook"].run.into == "pond"


def test_a_level_floor_is_told_and_the_offer_mends_it():
    found = computed({"pond": ring(5.0, 15.0)}).finding("shape.floor_fall")
    assert found.grade is Grade.LOOK
    [op] = found.advice[0].ops

    mended = computed({"pond": ring(5.0, 15.0, floor_fall=op.value)}).finding("shape.floor_fall")
    assert mended.grade is Grade.GOOD


def test_a_fall_on_placed_soil_is_told_and_one_on_old_ground_is_good():
    def stream(level):
        ends = [{"id": "a", "east": 4.0, "north": 15.0}, {"id": "b", "east": 26.0, "north": 15.0}]
        outline = {"form": "corridor", "curve": {"pegs": ends}, "widths": [1.2, 1.2]}
        outline["steps"] = [{"distance": 11.0, "drop": 0.3}]
        return {"role": "stream", "outline": outline, "level": level}

    high, low = (computed({"brook": stream(level)}).finding("shape.fall_on_fill") for level in (101.0, 100.0))

    assert high.grade is Grade.LOOK and high.where.points == ((15.0, 15.0),)
    assert low.grade is Grade.GOOD
