"""Rows of the bench: ratios and goals (what they measure is not tested here)."""

import json

import numpy as np
import pytest

from bench.rows import Row, at_least, at_most


def test_a_goal_is_judged_on_the_ratio_where_there_is_a_peer():
    row = Row("volume", 3.0, "ms", peer="general library", peer_value=2.0, goal=at_most(2.0))

    assert row.ratio == 1.5
    assert row.met is True


def test_a_goal_is_judged_on_the_value_where_there_is_no_peer():
    row = Row("order of convergence", 1.7, "-", goal=at_least(1.9))

    assert row.ratio is None
    assert row.met is False


def test_a_row_without_a_goal_is_neither_met_nor_missed():
    row = Row("memory bandwidth", 17.0, "GB/s")

    assert row.met is None


@pytest.mark.parametrize(("goal", "told"), [(at_most(0.5), "<= 0.5"), (at_least(2), ">= 2"), (None, None)])
def test_a_record_tells_the_goal_in_words_that_json_can_hold(goal, told):
    record = json.loads(json.dumps(Row("figure", np.float32(1.0), "s", goal=goal).record()))

    assert record["goal"] == told
