"""Streams, mounds, ways and low spots against closed forms; taking over from last time changes nothing."""

import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright import api
from pondwright.flow.engine import advance
from pondwright.flow.equality import same
from pondwright.flow.stages import STAGES
from pondwright.geometry.grid import Grid
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.rooms.shape.grading import PATH
from pondwright.rooms.shape.stream import SILL_LENGTH, corridor, node_stations, reaches
from tests.unit.shape.ponds import Computed, job_values, pegs

SPACING = 30.0 / 240


def straight_brook(steps=(), width=2.0, level=100.0, bed=None, north=15.0, first=5.0, last=25.0):
    ends = [{"id": "a", "east": first, "north": north}, {"id": "b", "east": last, "north": north}]
    outline = {
        "form": "corridor",
        "curve": {"pegs": ends},
        "widths": [width, width],
        "steps": [{"distance": distance, "drop": drop} for distance, drop in steps],
    }
    if bed:
        outline["bed"] = list(bed)
    return {"role": "stream", "outline": outline, "level": level}


def of_bodies(bodies, fall=0.0, **shape):
    values = job_values(fall=fall, nodes=241)
    values["shape"] = {"bodies": bodies, **shape}
    return values


def ring_body(radius, east, level):
    outline = {"form": "ring", "curve": {"pegs": pegs(radius, east=east)}}
    return {"outline": outline, "level": level}


def trapezoid(width):
    """Section of the stream's bed at rest: 0.2 m deep, its banks 0.25 m wide."""
    return 0.2 * (width - 0.25)


def test_a_brook_without_falls_holds_its_section_times_its_length_less_the_sill():
    found = Computed(of_bodies({"brook": straight_brook()}), upto="shape.storage")["shape.storage"]

    free = 20.0 - 1.5 * SPACING - 0.5 * SILL_LENGTH
    # The upper end is square, with the bank's slope inside it.
    upper = 0.5 * 0.25 * 0.2 * 2.0
    assert found.bodies["brook"].volume == pytest.approx(trapezoid(2.0) * free - upper, rel=0.02)
    assert found.bodies["brook"].greatest_depth == pytest.approx(0.2, abs=0.005)


def test_every_reach_holds_its_own_water_at_its_own_level():
    one = Computed(of_bodies({"brook": straight_brook()}), upto="shape.storage")
    falls = straight_brook(steps=[(7.0, 0.4), (13.0, 0.3)])
    three = Computed(of_bodies({"brook": falls}), upto="shape.storage")

    sill = trapezoid(2.0) * (1.5 * SPACING + 0.5 * SILL_LENGTH)
    volume = three["shape.storage"].bodies["brook"].volume
    assert volume == pytest.approx(one["shape.storage"].bodies["brook"].volume - 2 * sill, rel=0.03)
    z = three["shape.grading"].z
    row = 120  # the middle line
    middles = [round((5.0 + station) / SPACING) for station in (4.0, 10.0, 17.0)]
    assert [z[row, column] for column in middles] == pytest.approx([99.8, 99.4, 99.1], abs=0.005)


def test_a_told_bed_is_where_it_is_told():
    brook = straight_brook(bed=(99.95, 99.85))
    z = Computed(of_bodies({"brook": brook}), upto="shape.grading")["shape.grading"].z

    assert z[120, 80] == pytest.approx(99.90 + 0.025 / 1.5, abs=0.02)


def test_a_level_left_open_is_what_the_lowest_reach_allows():
    values = of_bodies({"brook": straight_brook(steps=[(10.0, 0.5)]) | {"level": None}}, fall=0.0)
    del values["shape"]["bodies"]["brook"]["level"]

    shore = Computed(values, upto="shape.shore")["shape.shore"].bodies["brook"]

    assert shore.level == pytest.approx(100.0 - 0.30)


def test_a_bank_never_fills_the_water_of_another_body():
    ponds = {
        "upper": {"outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=10.0)}}, "level": 100.6},
        "lower": {"outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=16.5)}}, "level": 100.0},
    }
    together = Computed(of_bodies(ponds), upto="shape.storage")

    for name, body in ponds.items():
        alone = Computed(of_bodies({name: body}), upto="shape.storage")
        water = alone["shape.shore"].bodies[name].distance > 0.0
        assert np.array_equal(together["shape.grading"].z[water], alone["shape.grading"].z[water])
        # What is left is the strip of triangles across the shore, with a corner on the other's bank.
        volumes = [each["shape.storage"].bodies[name].volume for each in (together, alone)]
        assert abs(volumes[0] - volumes[1]) < 0.5 * SPACING * 0.7 * 6.0


def test_moving_one_level_leaves_the_other_volume_as_it_is():
    def volumes(level):
        ponds = {
            "one": {"outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=8.0)}}, "level": level},
            "two": {"outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=20.0)}}, "level": 100.0},
        }
        return Computed(of_bodies(ponds), upto="shape.storage")["shape.storage"].bodies

    assert volumes(99.7)["two"].volume == volumes(100.2)["two"].volume


def test_a_brook_runs_through_the_bank_of_the_pond_that_it_feeds():
    pond = {"outline": {"form": "ring", "curve": {"pegs": pegs(4.0, east=20.0)}}, "level": 99.5, "rank": 1}
    brook = straight_brook(level=99.8, first=6.0, last=16.5)

    found = Computed(of_bodies({"pond": pond, "brook": brook}), upto="shape.grading")["shape.grading"]
    alone = Computed(of_bodies({"pond": pond}), upto="shape.grading")["shape.grading"]

    east = (np.arange(241) * SPACING)[None, :]
    north = (np.arange(241) * SPACING)[:, None]
    water = np.hypot(east - 20.0, north - 15.0) < 3.9
    assert np.array_equal(found.z[water], alone.z[water])
    just_before = round(15.5 / SPACING)
    assert found.z[120, just_before] < 99.81


def test_a_mound_has_the_volume_of_its_frustum():
    corners = ((10, 10), (20, 10), (20, 20), (10, 20))
    ring = [
        {"id": f"m{number}", "east": east, "north": north, "corner": True}
        for number, (east, north) in enumerate(corners)
    ]
    mound = {"place": {"at": "ring", "curve": {"pegs": ring}}, "height": 0.8, "slope": 2.0, "settlement": 0.0}
    grading = Computed(of_bodies({}, mounds={"heap": mound}), upto="shape.grading")["shape.grading"]

    side = 10.0 - 2 * 0.8 * 2.0
    exact = 0.8 / 3.0 * (100.0 + side**2 + math.sqrt(100.0 * side**2))
    placed = (grading.z - 100.0).sum() * SPACING**2
    assert placed == pytest.approx(exact, rel=2e-3)


def test_a_level_path_is_cut_and_filled_with_the_section_of_its_slopes():
    path = {
        "kind": "path",
        "place": {"at": "line", "points": [{"east": -5, "north": 15}, {"east": 35, "north": 15}]},
        "width": 2.0,
        "level": 100.5,
    }
    values = of_bodies({}, ways={"walk": path}, slopes={"cut": 2.0, "fill": 3.0})
    grading = Computed(values, upto="shape.grading")["shape.grading"]

    section = ((grading.z[:, 120] - 100.0).sum()) * SPACING
    assert section == pytest.approx(0.5 * 2.0 + 0.5**2 * 3.0, rel=5e-3)
    assert (grading.part[:, 120] == PATH).sum() == pytest.approx(2.0 / SPACING, abs=1.5)


def test_a_floor_falls_to_its_low_spot():
    values = job_values(fall=0.0, radius=8.0, nodes=241)
    body = values["shape"]["bodies"]["pond"]
    level_floor = Computed(values, upto="shape.storage")["shape.storage"].bodies["pond"]
    body["floor_fall"] = 0.02
    body["low_spot"] = {"east": 15.0, "north": 15.0}

    fallen = Computed(values, upto="shape.storage")["shape.storage"].bodies["pond"]

    radius = 8.0 - 2.95  # of the floor
    assert fallen.greatest_depth - level_floor.greatest_depth == pytest.approx(0.02 * radius, abs=0.005)
    assert fallen.volume - level_floor.volume == pytest.approx(0.02 * math.pi * radius**3 / 3.0, rel=0.05)


def test_the_banks_of_a_bent_stream_lie_half_a_width_off_its_line():
    angles = np.linspace(0.0, 0.5 * math.pi, 200)
    line = np.column_stack([10.0 * np.cos(angles), 10.0 * np.sin(angles)])

    found = corridor(line, np.full(200, 2.0))

    radii = np.hypot(found.ring[:, 0], found.ring[:, 1])
    assert radii[1:199] == pytest.approx(9.0, abs=1e-3) or radii[1:199] == pytest.approx(11.0, abs=1e-3)
    assert found.length == pytest.approx(5.0 * math.pi, rel=1e-4)


def test_a_fall_off_the_stream_is_refused():
    with pytest.raises(ValueError, match="must lie on the stream"):
        reaches(10.0, [(12.0, 0.3)])


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(-5, 15), st.floats(-5, 15)), min_size=2, max_size=6, unique=True))
def test_the_station_of_a_node_is_that_of_the_nearest_point(points):
    from shapely import LineString, Point

    line = np.array(points)
    if not np.all(np.hypot(*np.diff(line, axis=0).T) > 1e-3):
        return
    grid = Grid(0.0, 0.0, 1.0, columns=9, rows=8)

    found = node_stations(grid, line, (0, 8, 0, 9))

    shape = LineString(line)
    for row in range(8):
        for column in range(9):
            away = shape.distance(Point(column, row))
            there = shape.interpolate(found[row, column])
            assert math.dist((column, row), (there.x, there.y)) == pytest.approx(away, abs=1e-9)


@settings(max_examples=12, deadline=None)
@given(
    st.sampled_from(["one", "two", "brook"]),
    st.integers(0, 1),
    st.floats(-0.8, 0.8).map(lambda number: round(number, 3)),
)
def test_what_is_taken_over_from_last_time_is_the_same_to_the_bit(name, peg, east):
    values = of_bodies(
        {
            "one": {
                "outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=8.0)}},
                "level": 99.9,
                "rank": 2,
            },
            "two": {"outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=19.0)}}, "level": 100.0},
            "brook": straight_brook(steps=[(3.0, 0.2)], north=22.0, first=6.0, last=20.0),
        },
        fall=0.01,
        ways={
            "walk": {
                "kind": "path",
                "place": {"at": "line", "points": [{"east": 2, "north": 9}, {"east": 28, "north": 9}]},
                "width": 1.5,
                "level": 100.1,
            }
        },
    )
    before = api.compute(loads(json.dumps(values)), tier="drag")
    # An edit leaves what it does not touch as the very same objects.
    now = before.job.model_copy(
        update={
            "shape": before.job.shape.model_copy(update={"bodies": moved_bodies(before.job, name, peg, east)})
        }
    )

    with_hint = advance(STAGES, before, now, Log(), "drag")
    anew = advance(STAGES, None, now, Log(), "drag")

    for stage in ("shape.shore", "shape.grading", "shape.storage"):
        assert same(with_hint.stages[stage].result, anew.stages[stage].result), stage
        assert with_hint.stages[stage].findings == anew.stages[stage].findings, stage


def moved_bodies(job, name, peg, east):
    body = job.shape.bodies[name]
    pegs_now = list(body.outline.curve.pegs)
    pegs_now[peg] = pegs_now[peg].model_copy(update={"east": pegs_now[peg].east + east})
    curve = body.outline.curve.model_copy(update={"pegs": tuple(pegs_now)})
    outline = body.outline.model_copy(update={"curve": curve})
    return job.shape.bodies.with_row(name, body.model_copy(update={"outline": outline}))


@settings(max_examples=8, deadline=None)
@given(st.sampled_from(["one", "brook"]), st.sampled_from([99.6, 99.95, 100.2, None]), st.booleans())
def test_another_level_or_berm_takes_over_the_shore_and_gives_the_same_bits(name, level, berm):
    values = of_bodies(
        {"one": ring_body(3.0, 8.0, 99.9), "brook": straight_brook(steps=[(3.0, 0.2)], north=22.0)}, fall=0.01
    )
    before = api.compute(loads(json.dumps(values)), tier="drag")
    body = before.job.shape.bodies[name].model_copy(update={"level": level})
    shape = {"bodies": before.job.shape.bodies.with_row(name, body)}
    if berm:
        with_berm = {
            **values,
            "shape": values["shape"] | {"berms": {"bank": {"body": name, "freeboard": 0.5}}},
        }
        shape["berms"] = loads(json.dumps(with_berm)).shape.berms
    now = before.job.model_copy(update={"shape": before.job.shape.model_copy(update=shape)})

    with_hint, anew = (advance(STAGES, run, now, Log(), "drag") for run in (before, None))

    for stage in ("shape.shore", "shape.grading", "shape.storage"):
        assert same(with_hint.stages[stage].result, anew.stages[stage].result), stage
    shores = [run.stages["shape.shore"].result.bodies[name] for run in (before, with_hint)]
    assert shores[0].distance is shores[1].distance
