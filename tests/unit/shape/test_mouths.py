"""Where streams leave waters and run into them: rims are kept, and nobody's water is spoiled."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright import api
from pondwright.flow.engine import advance
from pondwright.flow.equality import same
from pondwright.flow.stages import STAGES
from pondwright.geometry.flood import basin
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.rooms.shape.grading import EXISTING
from pondwright.rooms.shape.mouths import RIM
from tests.unit.shape.ponds import Computed
from tests.unit.shape.test_streams import SPACING, of_bodies, ring_body, straight_brook

UPPER, LOWER = 100.4, 99.6
UPPER_SHORE, LOWER_SHORE = 11.0, 19.0
"""East of the shore of the upper pool where the brook leaves it, and of the pond where it comes in."""


def brook_between(first, last, level=UPPER - 0.05, drop=0.6, width=1.6, **ranks):
    """An upper pool, a brook with one fall, and a pond, on level ground at 100.3."""
    values = of_bodies(
        {
            "pool": ring_body(3.0, 8.0, UPPER) | {"rank": ranks.get("pool", 0)},
            "pond": ring_body(4.0, 23.0, LOWER) | {"rank": ranks.get("pond", 0)},
            "brook": straight_brook([((last - first) / 2, drop)], width, level, first=first, last=last)
            | {"rank": ranks.get("brook", 0)},
        }
    )
    for shot in values["site"]["shots"].values():
        shot["elevation"] += 0.3
    return values


def without_brook(values):
    alone = json.loads(json.dumps(values))
    del alone["shape"]["bodies"]["brook"]
    return alone


starts = st.sampled_from(
    [UPPER_SHORE - 1.5, UPPER_SHORE - 0.1, UPPER_SHORE, UPPER_SHORE + 0.3, UPPER_SHORE + 0.9]
)
ends = st.sampled_from(
    [LOWER_SHORE + 2.5, LOWER_SHORE + 0.2, LOWER_SHORE, LOWER_SHORE - 0.3, LOWER_SHORE - 0.9]
)


@settings(max_examples=12, deadline=None)
@given(starts, ends, st.sampled_from([0.0, 0.05, 0.2]), st.sampled_from([0.4, 0.55, 0.8]))
def test_the_water_above_stands_to_its_sill_and_the_water_below_holds_no_less(first, last, fall, drop):
    values = brook_between(first, last, UPPER - fall, drop)
    joined = Computed(values, upto="shape.storage")["shape.storage"].bodies
    alone = Computed(without_brook(values), upto="shape.storage")["shape.storage"].bodies

    assert joined["pool"].lip == pytest.approx(UPPER, abs=1e-9)
    for name in ("pool", "pond"):
        assert joined[name].volume >= alone[name].volume * (1.0 - 1e-9), name
        # What it gains is the strip of triangles that the brook cuts outside its shore.
        assert joined[name].volume - alone[name].volume <= 1.6 * SPACING * 0.5 * SPACING + 1e-6, name
        assert joined[name].greatest_depth == alone[name].greatest_depth


@settings(max_examples=8, deadline=None)
@given(starts, ends, st.permutations([0, 1, 2]))
def test_within_its_shore_each_water_is_the_same_whatever_is_laid_first(first, last, order):
    values = brook_between(first, last)
    ranked = brook_between(first, last, **dict(zip(("pool", "brook", "pond"), order, strict=True)))
    one, other = (Computed(each, upto="shape.storage") for each in (values, ranked))
    alone = Computed(without_brook(values), upto="shape.grading")

    for name in ("pool", "pond"):
        water = alone["shape.shore"].bodies[name].distance > 0.0
        for each in (one, other):
            assert np.array_equal(each["shape.grading"].z[water], alone["shape.grading"].z[water])
        volumes = [each["shape.storage"].bodies[name].volume for each in (one, other)]
        assert volumes[0] == pytest.approx(volumes[1], rel=1e-9)
    for each in (one, other):
        # Outside all water the bank that is laid last has the last word.
        grading = each["shape.grading"]
        lower, upper, _region = (array[-1] for array in grading.laid_limits(each["shape.shore"]))
        held = grading.z - grading.layers.levels[-1]
        kept = (grading.part != EXISTING) | (grading.let_go == 0)
        assert np.all((held >= lower - 1e-9)[kept]) and np.all((held <= upper + 1e-9)[kept])


def test_what_is_left_between_the_brook_and_the_shore_is_cut_down_to_the_sill():
    values = brook_between(UPPER_SHORE + 0.9, LOWER_SHORE - 0.9)
    z = Computed(values, upto="shape.grading")["shape.grading"].z
    row = round(15.0 / SPACING)

    upper = z[row, round((UPPER_SHORE + 0.1) / SPACING) : round((UPPER_SHORE + 0.9) / SPACING)]
    lower = z[row, round((LOWER_SHORE - 0.9) / SPACING) : round((LOWER_SHORE - 0.1) / SPACING)]
    assert upper.max() == pytest.approx(UPPER, abs=1e-9)
    assert lower.max() == pytest.approx(UPPER - 0.65, abs=1e-9)


def test_a_brook_that_ends_in_a_pond_counts_no_water_of_the_pond_as_its_own():
    far, near = (
        Computed(brook_between(UPPER_SHORE, last), upto="shape.storage")["shape.storage"].bodies["brook"]
        for last in (LOWER_SHORE + 2.5, LOWER_SHORE + 0.1)
    )

    # The fall is half way down the brook; both halves of its bed hold what a section holds.
    assert far.volume == pytest.approx(near.volume, rel=0.05)
    assert far.greatest_depth == pytest.approx(0.2, abs=0.01)


def test_a_brook_that_ends_lower_than_the_pond_does_not_empty_it():
    values = brook_between(UPPER_SHORE, LOWER_SHORE + 1.0, drop=1.2)
    joined = Computed(values, upto="shape.storage")["shape.storage"].bodies["pond"]
    alone = Computed(without_brook(values), upto="shape.storage")["shape.storage"].bodies["pond"]

    assert joined.volume >= alone.volume * (1.0 - 1e-9)


def test_the_sill_of_an_outlet_is_no_low_place_of_the_rim():
    found = Computed(brook_between(UPPER_SHORE, LOWER_SHORE + 1.0), upto="shape.storage")

    graded = {finding.where.paths[0]: finding.grade for finding in found.findings["shape.rim"]}
    assert graded["shape.bodies.pool.level"] == graded["shape.bodies.pond.level"] == "good"
    assert found["shape.storage"].bodies["pond"].lip > LOWER + 0.1


@pytest.mark.parametrize(("level", "grade"), [(UPPER, "good"), (UPPER - 0.1, "good"), (UPPER + 0.1, "look")])
def test_a_brook_that_starts_higher_than_the_water_it_leaves_is_told_and_empties_nothing(level, grade):
    found = Computed(brook_between(UPPER_SHORE, LOWER_SHORE + 1.0, level), upto="shape.meeting")
    grading, shore = found["shape.grading"], found["shape.shore"]

    assert found.finding("shape.stream_start").grade == grade
    assert basin(grading.z, shore.bodies["pool"].within, shore.grid).lip >= UPPER - 1e-9


def test_a_brook_that_starts_beyond_the_crest_leaves_the_bank_as_it_is():
    values = brook_between(UPPER_SHORE + 1.7, LOWER_SHORE + 1.0)
    found = Computed(values, upto="shape.storage")

    assert all(mouth.body != "pool" for mouth in found["shape.grading"].mouths)
    assert found["shape.storage"].bodies["pool"].lip > UPPER + 0.2


@settings(max_examples=6, deadline=None)
@given(st.sampled_from(["pool", "brook", "pond"]), st.floats(-0.5, 0.5).map(lambda number: round(number, 3)))
def test_mouths_are_the_same_to_the_bit_whatever_was_taken_over(name, east):
    values = brook_between(UPPER_SHORE + 0.3, LOWER_SHORE + 0.4)
    before = api.compute(loads(json.dumps(values)), tier="drag")
    curve = values["shape"]["bodies"][name]["outline"]["curve"]
    curve["pegs"][0]["east"] += east
    moved = loads(json.dumps(values)).shape.bodies[name]
    bodies = before.job.shape.bodies.with_row(name, moved)
    now = before.job.model_copy(update={"shape": before.job.shape.model_copy(update={"bodies": bodies})})

    with_hint, anew = (advance(STAGES, run, now, Log(), "drag") for run in (before, None))

    for stage in ("shape.shore", "shape.grading", "shape.storage"):
        assert same(with_hint.stages[stage].result, anew.stages[stage].result), stage


def test_the_sill_is_wider_than_any_step_over_the_triangles():
    assert np.sqrt(2.0) < RIM - 0.5
