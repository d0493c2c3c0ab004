"""Variants of a pond's shore: what is told of one is what the job gives when it is taken."""

import json

import pytest

from pondwright import api
from pondwright.flow.bends import BALANCED, WORTH_WHILE
from pondwright.flow.results import figures
from pondwright.job.codec import loads
from pondwright.job.edits import Edit
from tests.unit.shape.ponds import job_values, pegs


def run_of(change=lambda values: None, **settings):
    values = job_values(**settings)
    values["shape"]["bodies"]["pond"]["stretches"] = {
        "flat": {"start": "p2", "end": "p5", "bank_type": "flat"}
    }
    values["shape"]["bank_types"] = {
        "flat": {"points": [{"distance": 0, "depth": 0}, {"distance": 2, "depth": 0.6}]}
    }
    change(values)
    return api.compute(loads(json.dumps(values)), only="shape.bends")


@pytest.fixture(scope="module")
def run():
    return run_of(level=100.0)


def bends(run, body="pond"):
    return run.results.shape.bends.bodies[body]


@pytest.mark.parametrize("name", ["more_shore", "much_more_shore", "balanced"])
def test_what_is_told_of_a_variant_is_what_one_gets_by_taking_it(run, name):
    told = bends(run).variants[name]
    assert told.refused == ""

    taken = api.compute(api.edit(run.job, Edit("take", 0, told.ops, told.says)), only="shape.bends")

    shore, soil = taken.results.shape.shore.bodies["pond"], taken.results.earth.soil
    assert told.area == pytest.approx(shore.area)
    assert told.length == pytest.approx(shore.length)
    assert told.development == pytest.approx(shore.development)
    assert told.dug == pytest.approx(soil.dug)
    assert told.surplus_bank == pytest.approx(soil.surplus_bank)


def test_more_shore_is_told_for_the_same_area(run):
    found = bends(run)

    for name, ratio in (("more_shore", 1.1), ("much_more_shore", 1.2)):
        assert found.variants[name].area == pytest.approx(found.drawn.area, rel=1e-3)
        assert found.variants[name].length == pytest.approx(ratio * found.drawn.length, rel=2e-3)


def test_ids_of_pegs_and_stretches_survive(run):
    ids = [peg.id for peg in run.job.shape.bodies["pond"].outline.curve.pegs]

    for told in bends(run).variants.values():
        if not told.refused:
            bent = api.edit(run.job, Edit("take", 0, told.ops, ""))
            assert [peg.id for peg in bent.shape.bodies["pond"].outline.curve.pegs] == ids
            assert bent.shape.bodies["pond"].stretches == run.job.shape.bodies["pond"].stretches


def test_the_size_that_balances_leaves_less_than_a_twentieth_over(run):
    found = bends(run)
    balanced = found.variants["balanced"]

    assert abs(found.drawn.surplus_bank) > BALANCED * found.drawn.dug
    assert abs(balanced.surplus_bank) <= BALANCED * balanced.dug
    assert balanced.area_change == pytest.approx(balanced.area - found.drawn.area)


def test_a_round_pond_is_not_made_rounder(run):
    assert bends(run).variants["rounder"].refused == "it is as round as it gets"
    assert bends(run).variants["rounder"].area is None


def test_a_pond_whose_soil_balances_is_offered_no_other_size():
    level = api.compute(run_of().job, only="earth.balance").results.earth.balance.balanced_level

    assert "balances as it is drawn" in bends(run_of(level=level)).variants["balanced"].refused


def test_islands_keep_their_place_and_count_as_shore():
    def with_island(values):
        values["shape"]["bodies"]["pond"]["islands"] = {"isle": {"pegs": pegs(1.0, prefix="i")}}

    found = bends(run_of(with_island))

    told = found.variants["more_shore"]
    assert told.length == pytest.approx(1.1 * found.drawn.length, rel=2e-3)
    assert told.area == pytest.approx(found.drawn.area, rel=1e-3)


def test_a_bend_into_another_water_is_refused_or_keeps_clear_of_it():
    def with_neighbour(values):
        values["shape"]["bodies"]["other"] = {
            "role": "wetland",
            "level": 100.0,
            "outline": {"form": "ring", "curve": {"pegs": pegs(2.0, east=23.05, prefix="o")}},
        }

    found = run_of(with_neighbour)

    assert set(found.results.shape.bends.bodies) == {"pond"}
    for told in bends(found).variants.values():
        if told.refused:
            continue
        taken = api.compute(api.edit(found.job, Edit("take", 0, told.ops, "")), only="shape.meeting")
        assert taken.results.shape.meeting.crossings == 0


def test_a_shore_that_crosses_itself_is_offered_nothing():
    def crossed(values):
        curve = values["shape"]["bodies"]["pond"]["outline"]["curve"]
        curve["pegs"][0]["east"], curve["pegs"][0]["north"] = 5.0, 14.0

    variants = bends(run_of(crossed)).variants.values()

    assert all("crosses itself" in told.refused for told in variants)


def test_a_pond_that_fills_the_plan_is_not_led_off_it():
    found = bends(run_of(radius=14.6, level=100.0))

    for told in found.variants.values():
        east = [peg.east for peg in told.pegs]
        assert told.refused or (min(east) > 0.0 and max(east) < 30.0)


def with_seats(values):
    """A high wall hides the north-west of the pond from a seat in the south-east."""
    wall = [{"east": 12.0, "north": 16.0}, {"east": 14.0, "north": 21.5}]
    values["shape"]["ways"] = {
        "screen": {"kind": "wall", "place": {"at": "line", "points": wall}, "top": 103.0, "level": 100.0}
    }
    values["shape"]["seats"] = {"bench": {"place": {"at": "point", "east": 22.5, "north": 12.0}}}


def test_more_view_shows_more_of_the_same_water_and_tells_what_one_gets():
    found = run_of(with_seats)
    drawn, told = bends(found).drawn, bends(found).variants["more_view"]
    assert told.refused == ""

    taken = api.compute(api.edit(found.job, Edit("take", 0, told.ops, told.says)), only="shape.views")
    seen = taken.results.shape.views.seats["bench"].bodies["pond"].share

    assert told.seen == pytest.approx(seen)
    assert told.seen >= drawn.seen + WORTH_WHILE
    assert drawn.seen == pytest.approx(found.results.shape.views.seats["bench"].bodies["pond"].share)
    assert told.area == pytest.approx(drawn.area, rel=1e-6)


def test_without_a_seat_no_view_is_offered(run):
    assert bends(run).variants["more_view"].refused == "there is no seat to see it from"
    assert bends(run).drawn.seen is None


def with_a_path(values):
    """A path goes past the east of the pond, two metres off its shore."""
    line = [{"east": 25.0, "north": 4.0}, {"east": 25.0, "north": 26.0}]
    values["shape"]["ways"] = {
        "walk": {"kind": "path", "place": {"at": "line", "points": line}, "width": 1.2, "level": 100.1}
    }


def test_more_reach_brings_more_of_the_same_shore_to_a_path_and_tells_what_one_gets():
    found = run_of(with_a_path, level=100.0)
    drawn, told = bends(found).drawn, bends(found).variants["more_reach"]
    assert told.refused == ""

    taken = api.compute(api.edit(found.job, Edit("take", 0, told.ops, told.says)), only="shape.reach")

    assert told.reached == pytest.approx(taken.results.shape.reach.bodies["pond"].share)
    assert told.reached >= drawn.reached + WORTH_WHILE
    assert told.area == pytest.approx(drawn.area, rel=1e-6)


def test_without_a_way_no_reach_is_offered(run):
    assert bends(run).variants["more_reach"].refused == "there is no way to reach it from"


def test_what_the_command_tells_of_a_bend_stands_on_the_page_too(run):
    shown = {
        figure.path.rsplit(".", 1)[1] for figure in figures(run) if ".variants.more_shore." in figure.path
    }

    assert {"area_change", "narrowest", "reached", "length", "seen"} <= shown
