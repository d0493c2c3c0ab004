"""Runs of late: what was computed once is at hand when its document comes back."""

from datetime import UTC, datetime

import pytest

from pondwright import api
from pondwright.base.findings import Op
from pondwright.examples import DOZEN_SHOTS, example_text
from pondwright.flow.engine import advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import dumps, loads
from pondwright.job.edits import Edit
from pondwright.job.log import Log, VisitEntry
from pondwright.server.known import MOST, is_exact, known, new_shelf, put

LEVEL = "/shape/bodies/pond/level"


def edited(job, path, value):
    return api.edit(job, Edit("e-1", 0, (Op("replace", path, value),), ""))


def again(job):
    """The same document in other objects."""
    return loads(dumps(job))


@pytest.fixture(scope="module")
def run():
    return api.compute(loads(example_text(DOZEN_SHOTS)))


def test_an_equal_document_gets_the_run_and_nothing_is_left_to_compute(run):
    found = known((run,), again(run.job), run.log)

    assert found.job is run.job and found.stages is run.stages
    on = advance(STAGES, found, found.job, found.log, "background")
    assert all(state is run.stages[name] for name, state in on.stages.items())


def test_a_copy_under_another_name_gets_the_run_as_its_own(run):
    renamed = edited(again(run.job), "/name", "Second thoughts")

    found = known((run,), renamed, run.log)

    assert found.job == renamed and found.job.site is run.job.site
    on = advance(STAGES, found, found.job, found.log, "background")
    assert all(state is run.stages[name] for name, state in on.stages.items())


@pytest.mark.parametrize(("path", "value"), [(LEVEL, 99.0), ("/brief/client", "C"), ("/seed", 2)])
def test_another_document_gets_none(run, path, value):
    assert known((run,), edited(run.job, path, value), run.log) is None


def test_another_log_gets_none(run):
    visit = VisitEntry(kind="visit", id="ada-1", time=datetime(2026, 5, 4, 9, 30, tzinfo=UTC))

    assert known((run,), run.job, Log((visit,))) is None


def test_the_shelf_holds_each_document_once_and_lets_the_oldest_go(run):
    shelf = new_shelf()
    put(shelf, run)
    first = api.compute(edited(run.job, LEVEL, 99.0), tier="drag", after=run)
    put(shelf, first)
    put(shelf, api.compute(run.job, run.log, after=run))
    assert [one.job for one in shelf] == [first.job, run.job]

    for step in range(MOST):
        put(shelf, api.compute(edited(run.job, "/brief/client", f"C{step}"), tier="drag", after=run))
    assert len(shelf) == MOST and all(one.job is not run.job for one in shelf)


def test_a_run_that_lags_behind_is_not_exact(run):
    assert is_exact(run)
    assert not is_exact(api.compute(edited(run.job, LEVEL, 99.0), tier="drag", after=run))
