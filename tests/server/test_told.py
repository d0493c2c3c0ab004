"""A frame tells what is new since the one before: put together, they tell as much as one that tells all."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright import api
from pondwright.base.findings import Op
from pondwright.examples import example_text
from pondwright.job.codec import loads
from pondwright.job.edits import Edit
from pondwright.server.arrays import Wish
from pondwright.server.frames import frame
from pondwright.server.told import NOTHING
from tests.frames import whole

LEVEL = "/shape/bodies/pond/level"


def head(body):
    length = int.from_bytes(body[4:8], "little")
    return json.loads(body[8 : 8 + length])


def wish(seq):
    return Wish(seq, 2, frozenset(), (), at_rest=False)


@pytest.fixture(scope="module")
def exact():
    return api.compute(loads(example_text("dozen_shots")))


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(96.0, 101.0), min_size=1, max_size=4))
def test_what_a_window_puts_together_is_what_a_new_window_is_told(exact, levels):
    body, told = frame(exact, 0, wish(1), NOTHING)
    known, run = whole(head(body), None), exact
    for seq, level in enumerate(levels, start=2):
        edit = Edit("preview", 0, (Op("replace", LEVEL, level),), "")
        run = api.drag(exact.job, edit, exact.log, after=run)
        body, told = frame(run, 0, wish(seq), told)
        known = whole(head(body), known)
        anew, _told = frame(run, 0, wish(seq), NOTHING)
        assert known == whole(head(anew), None)


def test_a_run_told_again_tells_nothing_new(exact):
    body, told = frame(exact, 0, wish(1), NOTHING)
    again, _told = frame(exact, 0, wish(2), told)

    assert head(body)["since"] is None and head(again)["since"] == 1
    assert head(again)["figures"] == {}
    assert head(again)["checks"] == list(range(len(head(body)["checks"])))
    assert len(again) < len(body) / 2
