"""Small gardens of near waters and a stream: each row of each level table is the job taken to it."""

import json

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright import api
from pondwright.job.codec import loads
from tests.flow.test_level_question import agrees
from tests.unit.shape.ponds import job_values, pegs


@st.composite
def gardens(draw):
    """A pond, an upper pool that may touch its bank, a stream from one into the other, and perhaps a path."""
    numbers = lambda low, high: draw(st.floats(low, high).map(lambda value: round(value, 3)))  # noqa: E731
    values = job_values(fall=numbers(0.0, 0.05), nodes=61, level=round(99.7 + numbers(0.0, 0.4), 3))
    bodies = values["shape"]["bodies"]
    bodies["pond"] |= {"outline": {"form": "ring", "curve": {"pegs": pegs(4.0, east=9.0)}}, "rank": 2}
    east, level = numbers(19.0, 22.0), numbers(99.9, 100.5)
    bodies["upper"] = {
        "role": "upper_pool",
        "rank": 1,
        "level": level,
        "outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=east, prefix="u")}},
    }
    ends = [{"id": "a", "east": east - 2.8, "north": 15.0}, {"id": "b", "east": 12.8, "north": 15.3}]
    falls = draw(st.sampled_from([[], [{"distance": 1.5, "drop": 0.15}]]))
    bodies["brook"] = {
        "role": "stream",
        "rank": 3,
        "level": level,
        "outline": {"form": "corridor", "curve": {"pegs": ends}, "widths": [1.5, 1.5], "steps": falls},
    }
    if draw(st.booleans()):
        line = [{"east": 3.0, "north": 10.2}, {"east": 26.0, "north": 10.2}]
        place = {"at": "line", "points": line}
        values["shape"]["ways"] = {"path": {"kind": "path", "place": place, "width": 1.2, "level": 100.1}}
    return values


@settings(max_examples=6)
@given(gardens(), st.integers(0, 8))
def test_every_row_is_the_job_taken_to_it_and_the_balanced_one_balances(values, row):
    job = loads(json.dumps(values))
    run = api.compute(job, only="earth.levels")

    for body, table in run.results.earth.levels.bodies.items():
        agrees(table, row, job, body)
        if table.balanced_row is not None:
            cold = agrees(table, table.balanced_row, job, body)
            assert abs(cold.earth.soil.surplus_bank) <= 1e-3 * cold.shape.shore.bodies[body].area
        assert np.isfinite(table.volume).all()
