"""Walls, fences, lights, ramps and steps: what they are, what they hide, and what is told of them."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright import api
from pondwright.base.errors import DocumentError, DomainError
from pondwright.base.findings import Grade
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.codec import loads
from pondwright.job.edits import Edit
from pondwright.rooms.shape.laid import LaidWay, run_levels, way_limits
from pondwright.rooms.shape.upright import closed_areas, flight
from tests.unit.shape.ponds import Computed, job_values, pegs
from tests.unit.shape.test_streams import straight_brook


def line(*points):
    return {"at": "line", "points": [{"east": east, "north": north} for east, north in points]}


def point(east, north):
    return {"at": "point", "east": east, "north": north}


def with_ways(fall=0.0, seats=None, rules=None, **ways):
    values = job_values(fall=fall)
    values["shape"] |= {"ways": ways, "seats": seats or {}}
    values["rules"] = {
        code: {"limit": limit, "reason": "trial", "by": "nobody"} for code, limit in (rules or {}).items()
    }
    return values


RAMP = {
    "kind": "path",
    "place": line((3.0, 4.0), (3.0, 12.0)),
    "width": 1.2,
    "level": 99.8,
    "end_level": 100.2,
}
STEPS = {"kind": "steps", "place": line((26.0, 3.0), (26.0, 5.0)), "level": 100.0, "end_level": 100.9}
FENCE = {"kind": "fence", "place": line((5.0, 5.0), (25.0, 5.0), (25.0, 25.0), (5.0, 25.0), (5.0, 5.0))}
LIGHT = {"kind": "light", "place": point(15.0, 24.0)}
BENCH = {"bench": {"place": point(5.0, 15.0), "eye_height": 1.2}}


# Ramps and steps --------------------------------------------------------------------------------------


def test_a_ramp_lies_in_the_ground_on_a_straight_run_from_one_level_to_the_other():
    found = Computed(with_ways(ramp=RAMP), upto="shape.built")
    z, grid = found["shape.grading"].z, found["shape.shore"].grid
    stations = np.array([0.0, 1.0, 4.0, 7.0, 8.0])
    along = surface_at(z, grid, np.column_stack([np.full(5, 3.0), 4.0 + stations]))

    assert along == pytest.approx(99.8 + 0.05 * stations, abs=1e-6)
    assert found["shape.built"].rising["ramp"].slope == pytest.approx(0.05)


@given(start=st.floats(-1.0, 1.0), end=st.floats(-1.0, 1.0), turn=st.floats(0.0, 6.28))
def test_a_ramp_drawn_the_other_way_round_is_the_same_ramp(start, end, turn):
    grid = Grid(-8.0, -8.0, 0.5, columns=33, rows=33)
    ends = 5.0 * np.array([[np.cos(turn), np.sin(turn)], [-np.cos(turn), -np.sin(turn)]])
    limits, turned = (
        way_limits([LaidWay(places, 1.5, one, other)], grid, 2.0, 3.0)
        for places, one, other in ((ends, start, end), (ends[::-1], end, start))
    )

    np.testing.assert_allclose(limits.lower, turned.lower, atol=1e-9)
    np.testing.assert_allclose(limits.upper, turned.upper, atol=1e-9)
    assert (limits.region == turned.region).all()


def test_a_way_that_ends_at_its_own_level_is_laid_bit_for_bit_as_one_without_an_end():
    grid = Grid(-8.0, -8.0, 0.5, columns=33, rows=33)
    places = np.array([[-4.0, -1.0], [1.0, 0.5], [4.0, 3.0]])
    level, run = (way_limits([LaidWay(places, 1.5, 0.3, end)], grid, 2.0, 3.0) for end in (None, 0.3))

    assert (level.lower == run.lower).all() and (level.upper == run.upper).all()


@given(rise=st.floats(-6.0, 6.0), length=st.floats(0.5, 20.0), most=st.floats(0.08, 0.25))
def test_steps_share_the_rise_equally_and_none_is_higher_than_asked(rise, length, most):
    found = flight(rise, length, most)

    assert found.risers * found.riser == pytest.approx(abs(rise), abs=1e-4)
    assert found.riser <= most * (1.0 + 1e-6)
    assert found.risers < 2 or found.riser * found.risers / (found.risers - 1) > most * (1.0 - 1e-6)
    levels = run_levels(np.linspace(0.0, length, 400), length, 0.0, rise, found.risers)
    assert (np.diff(levels) * np.sign(rise) >= -1e-12).all()
    assert levels[0] == 0.0 and levels[-1] == pytest.approx(rise if found.risers else levels[-1])
    assert np.abs(np.diff(levels)).max() <= found.riser + 1e-9 or length / 400 > found.tread


def test_steps_without_a_greatest_height_are_refused():
    with pytest.raises(DomainError, match="`most_riser` must be above 0"):
        flight(1.0, 2.0, 0.0)


def test_steps_of_a_height_and_a_depth_that_feet_expect_are_good_and_others_are_told():
    good = Computed(with_ways(up=STEPS), upto="shape.built")
    high = Computed(with_ways(up=STEPS | {"most_riser": 0.25}), upto="shape.built")
    low = Computed(with_ways(up=STEPS | {"most_riser": 0.08}), upto="shape.built")
    short = Computed(with_ways(up=STEPS | {"place": line((26.0, 3.0), (26.0, 4.0))}), upto="shape.built")

    assert good["shape.built"].rising["up"].risers == 6
    assert good.finding("shape.step_riser").grade is good.finding("shape.step_tread").grade is Grade.GOOD
    assert "too high" in high.finding("shape.step_riser").says
    assert "so low" in low.finding("shape.step_low").says
    assert "too short for a foot" in short.finding("shape.step_tread").says


def test_steps_without_a_second_level_are_never_silent():
    told = Computed(with_ways(up={**STEPS, "end_level": None}), upto="shape.built").finding(
        "shape.step_riser"
    )

    assert told.grade is Grade.LOOK and "climbs nothing" in told.says


@pytest.mark.parametrize(
    ("end", "slope", "rise"), [(100.55, "look", "good"), (100.3, "good", "good"), (100.9, "look", "look")]
)
def test_a_ramp_is_held_against_one_in_twelve_and_its_rise_without_a_landing(end, slope, rise):
    found = Computed(with_ways(ramp=RAMP | {"end_level": end}), upto="shape.built")

    assert found.finding("shape.ramp").grade.value == slope
    assert found.finding("shape.ramp_rise").grade.value == rise


def test_the_slope_of_a_path_is_that_of_its_run():
    gentle = Computed(with_ways(ramp=RAMP | {"end_level": 100.1}), upto="shape.reach")
    steep = Computed(with_ways(ramp=RAMP | {"end_level": 100.4}), upto="shape.reach")

    assert gentle["shape.reach"].ways["ramp"].steepest == pytest.approx(0.0375, abs=1e-6)
    assert gentle.finding("shape.path_slope").grade is Grade.GOOD
    assert steep["shape.reach"].ways["ramp"].steepest == pytest.approx(0.075, abs=1e-6)
    assert steep.finding("shape.path_slope").grade is Grade.LOOK


def test_a_bridge_that_rises_is_reached_where_it_is_low_and_carries_the_eye_where_it_is_high():
    place = line((15.0, 20.0), (15.0, 10.0))
    seats = {
        "far": {"place": point(15.0, 10.0), "eye_height": 1.0},
        "near": {"place": point(15.0, 20.0), "eye_height": 1.0},
    }
    bridge = {"kind": "bridge", "place": place, "width": 2.0, "level": 100.2, "end_level": 102.2}
    found = Computed(with_ways(seats=seats, bridge=bridge), upto="shape.views")["shape.views"].seats

    assert found["near"].eye.elevation == pytest.approx(101.2)
    assert found["far"].eye.elevation == pytest.approx(103.2)
    low = {**bridge, "place": line((15.0, 22.5), (15.0, 7.5)), "level": 100.2, "end_level": 101.4}
    reach = Computed(with_ways(bridge=low), upto="shape.reach")["shape.reach"].bodies["pond"]
    level = Computed(with_ways(bridge={**low, "end_level": None}), upto="shape.reach")["shape.reach"].bodies[
        "pond"
    ]
    assert 0.4 * level.length < reach.length < 0.6 * level.length


# Walls and fences -------------------------------------------------------------------------------------


def test_a_wall_without_a_top_stands_at_its_height_over_the_higher_ground_beside_it():
    wall = {"kind": "wall", "place": line((2.0, 28.0), (12.0, 28.0)), "width": 0.3, "height": 0.9}
    found = Computed(with_ways(fall=0.1, seats=BENCH, wall=wall), upto="shape.views")
    walls, spacing = found["shape.views"].scene.walls, found["shape.shore"].grid.spacing

    # Square to it the ground rises by a tenth: a cell beyond its upper face it is that much higher.
    top = 100.0 + 0.1 * (28.0 - 15.0) + 0.1 * (0.15 + spacing) + 0.9
    assert walls[:, 2] == pytest.approx(np.full(5, top), abs=1e-6)


@pytest.mark.parametrize("kind", ["wall", "fence"])
def test_the_higher_a_wall_or_a_fence_the_less_is_seen(kind):
    shares = []
    for height in (0.3, 0.9, 1.15, 2.0):
        screen = {"kind": kind, "place": line((7.0, 8.0), (7.0, 22.0)), "height": height}
        shares.append(
            Computed(with_ways(seats=BENCH, screen=screen), upto="shape.views")["shape.views"]
            .seats["bench"]
            .share
        )

    assert shares == sorted(shares, reverse=True) and shares[0] > 0.9 and shares[-1] < 0.05


def test_one_sees_through_a_fence_that_is_half_open_and_over_one_that_is_taken_away():
    screen = {"kind": "fence", "place": line((7.0, 8.0), (7.0, 22.0)), "height": 2.0}

    def share(**change):
        return (
            Computed(with_ways(seats=BENCH, screen=screen | change), upto="shape.views")["shape.views"]
            .seats["bench"]
            .share
        )

    assert share(open_share=0.49) < 0.05
    assert share(open_share=0.5) > 0.9
    assert share(status="remove") > 0.9


def test_a_wall_whose_top_lies_in_the_ground_is_told_with_a_press_that_mends_it():
    values = with_ways(wall={"kind": "wall", "place": line((3.0, 3.0), (3.0, 27.0)), "top": 99.0})
    told = Computed(values, upto="shape.built").finding("shape.wall_top")
    job = loads(json.dumps(values))
    mended = api.edit(job, Edit("mend", 0, told.advice[0].ops)).shape.ways["wall"]

    assert told.grade is Grade.LOOK and "buried" in told.says
    assert mended.top is None


def test_walls_fences_gates_and_lights_are_counted_for_the_takeoff():
    gates = [{"distance": 3.0}, {"distance": 500.0, "width": 3.0}]
    wall = {"kind": "wall", "place": line((2.0, 28.0), (12.0, 28.0)), "height": 0.5}
    ways = {
        "fence": FENCE | {"gates": gates},
        "wall": wall,
        "lamp": LIGHT,
        "gone": LIGHT | {"status": "remove"},
    }
    built = Computed(with_ways(**ways), upto="shape.built")["shape.built"]

    assert built.fence_length == pytest.approx(80.0 - 4.0) and built.gate_count == 2
    assert built.wall_length == pytest.approx(10.0) and built.walls["wall"].face == pytest.approx(5.0)
    assert built.light_count == 1


def test_a_fence_all_round_deep_water_is_told_as_what_may_be_a_barrier():
    free = Computed(with_ways(), upto="shape.storage").finding("shape.drowning")
    round_it = Computed(with_ways(fence=FENCE), upto="shape.storage").finding("shape.drowning")
    low = Computed(with_ways(fence=FENCE | {"height": 0.9}), upto="shape.storage").finding("shape.drowning")

    assert "local code decides on a barrier" in free.says
    assert "`fence` goes all round it, local code decides" in round_it.says
    assert "lower than many codes ask" in low.says
    assert {each.grade for each in (free, round_it, low)} == {Grade.LOOK}
    assert any("Let gates close" in advice.says for advice in round_it.advice)


def test_two_fences_close_a_garden_together_and_one_with_a_gap_does_not():
    half = {"kind": "fence", "place": line((5.0, 5.0), (25.0, 5.0), (25.0, 25.0))}
    rest = {"kind": "fence", "place": line((25.0, 25.0), (5.0, 25.0), (5.0, 5.0)), "height": 2.0}
    open_one = {
        "kind": "fence",
        "place": line((5.0, 5.0), (25.0, 5.0), (25.0, 25.0), (5.0, 25.0), (5.0, 5.5)),
    }
    both = Computed(with_ways(one=half, two=rest), upto="shape.storage")

    assert "`one`, `two` go all round it together" in both.finding("shape.drowning").says
    assert both["shape.storage"].fenced[0].lowest == pytest.approx(1.2192)
    assert Computed(with_ways(one=open_one), upto="shape.storage")["shape.storage"].fenced == ()


@given(st.floats(0.0, 6.28), st.floats(-30.0, 30.0), st.permutations(range(4)))
def test_what_fences_close_in_depends_neither_on_where_they_stand_nor_on_their_order(turn, shift, order):
    corners = np.array([[0.0, 0.0], [9.0, 0.0], [11.0, 7.0], [-1.0, 6.0], [0.0, 0.0]])
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    sides = [corners[at : at + 2] @ spin.T + shift for at in range(4)]

    ((_, numbers),) = closed_areas([sides[at] for at in order], 0.1)
    assert numbers == (0, 1, 2, 3)
    assert closed_areas([sides[at] for at in order[:3]], 0.1) == []


# Lights -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("north", "grade", "words"),
    [
        (24.0, Grade.GOOD, "keeps its distance"),
        (22.0, Grade.LOOK, "close to the water"),
        (15.0, Grade.LOOK, "in the water"),
    ],
)
def test_a_light_near_water_is_an_electricians_matter(north, grade, words):
    found = Computed(
        with_ways(lamp=LIGHT | {"place": point(15.0, north), "aims_at": {"east": 15.0, "north": 10.0}}),
        upto="shape.built",
    )
    told = found.finding("shape.light_water")

    assert told.grade is grade and words in told.says
    assert "from memory" in str(told.source.standing)
    assert found["shape.built"].lights["lamp"].to_water == pytest.approx(max(north - 21.0, 0.0), abs=0.01)
    assert found["shape.built"].lights["lamp"].throw == pytest.approx(north - 10.0)
    assert grade is Grade.GOOD or any("licensed electrician" in advice.says for advice in told.advice)


def test_without_any_of_them_nothing_is_told_and_nothing_counted():
    found = Computed(with_ways(), upto="shape.built")

    codes = {"shape.step_riser", "shape.step_tread", "shape.ramp", "shape.wall_top", "shape.light_water"}
    assert not codes & set(found.findings)
    assert found["shape.built"].light_count == found["shape.built"].fence_length == 0


AREA = {"at": "ring", "curve": {"pegs": pegs(2.0, count=4)}}


# What is refused --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("way", "words"),
    [
        ({**LIGHT, "place": line((0.0, 0.0), (1.0, 0.0))}, "must be a point"),
        ({**RAMP, "level": None}, "must come with `level`"),
        ({"kind": "deck", "place": AREA, "level": 100.0, "end_level": 101.0}, "has no end"),
        ({**FENCE, "top": 101.0}, "must be left out of a fence"),
        ({**RAMP, "gates": [{"distance": 1.0}]}, "must be left out of a path"),
        ({**RAMP, "height": 1.0}, "must be left out of a path"),
        ({**FENCE, "aims_at": {"east": 0.0, "north": 0.0}}, "must be left out of a fence"),
        ({**FENCE, "end_level": 100.0}, "must be left out of a fence"),
        ({**FENCE, "gates": [{"distance": -1.0}]}, "distance"),
        ({**FENCE, "open_share": 1.0}, "open_share"),
        ({**STEPS, "most_riser": 0.0}, "most_riser"),
    ],
)  # fmt: skip
def test_what_a_kind_of_way_does_not_have_is_refused_in_one_sentence(way, words):
    with pytest.raises(DocumentError) as refusal:
        loads(json.dumps(with_ways(one=way)))

    assert words in str(refusal.value)


# Falls ------------------------------------------------------------------------------------------------


def test_falls_in_sight_are_counted_from_a_share_that_a_job_can_replace():
    brook = straight_brook(steps=[(10.0, 0.5)], width=1.5, level=101.0, north=25.0)
    counts = {}
    # The line of sight over this wall meets the fall, 9 m away, half way down.
    wall = {"kind": "wall", "place": line((22.0, 23.0), (22.0, 27.0)), "top": 101.7 - 0.95 / 4.5}
    for limit in (None, 0.9):
        rules = {} if limit is None else {"shape.fall_seen": limit}
        values = with_ways(seats={"below": {"place": point(24.0, 25.0)}}, rules=rules, wall=wall)
        values["shape"]["bodies"]["brook"] = brook
        bench = Computed(values, upto="shape.views")["shape.views"].seats["below"]
        counts[limit] = bench.falls_seen
        assert bench.falls["brook-1"].share == pytest.approx(0.5, abs=0.1)
        assert len(bench.falls_in_sight) == bench.falls_seen

    assert counts == {None: 1, 0.9: 0}
