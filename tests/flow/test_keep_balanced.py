"""The water level follows the shore in the hand, and is a part of the edit when it is dropped."""

from __future__ import annotations

import json

import numpy as np
import pytest

from pondwright import api
from pondwright.base.findings import Op
from pondwright.job.codec import loads
from pondwright.job.edits import Edit, apply, inverse
from pondwright.rooms.earth.balance import LEVEL_TOLERANCE
from tests.unit.shape.ponds import job_values, pegs

PATH = "/shape/bodies/pond/outline/curve/pegs"


def job(keep=True, level=100.0, **body):
    values = job_values(fall=0.04, level=level, radius=6.0)
    values["shape"]["bodies"]["pond"] |= {"keep_balanced": keep} | body
    return loads(json.dumps(values))


def moved(step):
    """The shore with three pegs pulled out, a bit further with each step of the hand."""
    ring = pegs(6.0)
    for at in (2, 3, 4):
        ring[at]["north"] += 0.12 * step
        ring[at]["east"] += 0.03 * step
    return Edit(f"drag-{step}", 0, (Op("replace", PATH, ring),), "Move the shore")


def balanced(document):
    """A job whose level balances, as turning the wish on leaves it."""
    on = Edit("on", 0, (Op("replace", "/shape/bodies/pond/keep_balanced", True),), "Keep balanced")
    return apply(document, api.keep_balanced(document, on))


def off_balance(run):
    """How far the level of a settled run is from the one that balances."""
    return abs(run.results.earth.balance.balanced_level - run.results.shape.shore.bodies["pond"].level)


def test_to_turn_it_on_moves_the_level_to_its_balance_in_the_same_edit():
    run = api.compute(balanced(job(keep=False)), tier="settle")

    assert off_balance(run) <= 2 * LEVEL_TOLERANCE
    assert abs(run.results.earth.soil.surplus_bank) < 0.01


def test_the_level_follows_every_frame_of_a_drag_and_its_drop_is_exact():
    start = balanced(job(keep=False))
    run = api.compute(start, tier="settle")
    levels = []
    for step in range(1, 21):
        run = api.drag(start, moved(step), after=run)
        exact = api.compute(run.job, tier="settle")
        levels.append(run.results.shape.shore.bodies["pond"].level)
        assert off_balance(exact) < 1e-3, step

    dropped = api.keep_balanced(start, moved(20), after=run)
    settled = api.compute(apply(start, dropped), tier="settle")

    assert np.all(np.diff(levels) != 0.0)
    assert off_balance(settled) <= 2 * LEVEL_TOLERANCE
    assert abs(settled.results.earth.soil.surplus_bank) < 0.01
    assert settled.results.shape.shore.bodies["pond"].level == pytest.approx(levels[-1], abs=1e-3)
    assert "earth.keep_balanced" in {one.code for one in api.checks(settled).good}


def test_one_step_of_undo_takes_back_the_shore_and_the_level():
    start = balanced(job(keep=False))
    dropped = api.keep_balanced(start, moved(20))

    changed = apply(start, dropped)
    back = inverse(start, dropped)

    assert changed.shape.bodies["pond"].level != start.shape.bodies["pond"].level
    assert apply(changed, back) == start
    # The step back sets the level itself, so that nothing follows it.
    assert api.keep_balanced(changed, back) is back


def test_without_the_wish_the_level_stays_and_the_drag_is_that_of_the_edit():
    start = job(keep=False)

    run = api.drag(start, moved(5))

    assert api.keep_balanced(start, moved(5)) == moved(5)
    assert run.job == apply(start, moved(5))


@pytest.mark.parametrize(
    "op",
    [
        Op("replace", "/shape/bodies/pond/level", 100.4),
        Op("replace", "/shape/seats", {}),
        Op("replace", "/name", "another"),
    ],
)
def test_an_edit_that_sets_the_level_or_moves_no_soil_is_left_as_it_is(op):
    edit = Edit("one", 0, (op,), "")

    assert api.keep_balanced(job(level=100.2), edit) is edit


def test_the_level_never_goes_below_the_low_level_that_is_planned_for():
    start = job(level=100.6, low_level=100.55)
    run = api.drag(start, moved(3))

    assert run.results.shape.shore.bodies["pond"].level >= 100.55


def test_a_drag_gives_the_same_bits_whatever_run_it_goes_on_from_at_the_same_level():
    start = balanced(job(keep=False))
    settled = api.compute(start, tier="settle")
    anew = api.compute(start, tier="drag")

    levels = [api.drag(start, moved(7), after=run).job.shape.bodies["pond"].level for run in (settled, anew)]

    assert levels[0] == levels[1]
