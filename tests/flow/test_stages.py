"""The table of stages: sound, its reads enough and needed, each stage's own words agree with its row."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright import api
from pondwright.base.findings import Op
from pondwright.examples import DOZEN_SHOTS, example_text
from pondwright.flow.engine import Status, advance, broken_rows, section
from pondwright.flow.equality import same
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.edits import Edit
from pondwright.job.log import Log

ROWS = pytest.mark.parametrize("stage", STAGES, ids=lambda stage: stage.name)


def test_the_table_is_sound():
    assert list(broken_rows(STAGES)) == []


def test_no_stage_has_the_name_of_a_section():
    job = loads(example_text(DOZEN_SHOTS))
    named = [
        stage.name
        for stage in STAGES
        if stage.name.split(".")[1] in type(getattr(job, stage.name.split(".")[0], job)).model_fields
    ]

    assert named == []


@ROWS
def test_every_declared_read_is_a_section_of_the_job(stage):
    job = loads(example_text(DOZEN_SHOTS))

    assert all(section(job, Log(), path) is not None for path in stage.reads)


@ROWS
def test_a_stage_tells_its_reads_and_needs_in_its_own_words(stage):
    text = stage.function.__doc__.split("Parameters")[1].split("Returns")[0]
    view, results = text.split("results : mapping")

    assert set(re.findall(r"`([a-z_.]+)`", view)) == set(stage.reads)
    assert set(re.findall(r"`([a-z_.]+)`", results)) == set(stage.needs)


class Watched(dict):
    """Mapping that writes down what is read."""

    def __init__(self, values):
        super().__init__(values)
        self.read = set()

    def __getitem__(self, name):
        self.read.add(name)
        return super().__getitem__(name)


@ROWS
def test_a_stage_reads_everything_that_it_declares(stage, runs, examples):
    read = set()
    for name, run in runs.items():
        view = Watched({path: section(examples[name], Log(), path) for path in stage.reads})
        results = Watched({need: run.stages[need].result for need in stage.needs})
        stage.function(view, results)
        read |= view.read | results.read

    assert read == {*stage.reads, *stage.needs}


@pytest.mark.parametrize("name", ["larkmeadow", "dozen_shots"])
def test_every_stage_of_an_example_is_fresh(runs, name):
    assert {state.status for state in runs[name].stages.values()} == {Status.FRESH}


@pytest.mark.parametrize("name", ["larkmeadow", "dozen_shots"])
def test_a_second_run_from_nothing_gives_the_same_bits(runs, examples, name):
    again = api.compute(examples[name])

    for stage, state in runs[name].stages.items():
        assert same(again.stages[stage].result, state.result), stage


EDITS = st.lists(
    st.one_of(
        st.floats(99.0, 99.7).map(lambda level: Op("replace", "/shape/bodies/pond/level", level)),
        st.just(Op("replace", "/shape/bodies/pond/level", None)),
        st.floats(1.5, 4.0).map(lambda slope: Op("replace", "/shape/slopes/fill", slope)),
        st.floats(0.005, 0.05).map(lambda sigma: Op("replace", "/site/shots/s1/sigma", sigma)),
        st.text("abc", max_size=3).map(lambda name: Op("replace", "/name", name)),
    ),
    min_size=1,
    max_size=3,
)


def with_shot(job: Job, op: Op) -> Op:
    """The same operation on a shot that the job really has."""
    return Op(op.op, op.path.replace("/s1/", f"/{next(iter(job.site.shots))}/"), op.value)


@given(EDITS)
def test_going_on_from_any_run_equals_computing_anew(runs, operations):
    run = runs[DOZEN_SHOTS]
    job = run.job
    for op in operations:
        job = api.edit(job, Edit("nudge", 0, (with_shot(job, op),)))
        run = advance(STAGES, run, job, run.log, "background")

    anew = api.compute(job)
    for stage, state in anew.stages.items():
        assert same(run.stages[stage].result, state.result), stage
        assert run.stages[stage].findings == state.findings, stage


def test_an_empty_job_tells_what_it_needs_and_never_raises():
    run = api.compute(api.new_job("Mill Lane 4"))

    assert run.stages["site.ground"].status is Status.BLOCKED
    without_answer = {"site.ground"}
    for stage in STAGES:
        if without_answer.intersection(stage.needs):
            without_answer.add(stage.name)
            assert run.stages[stage.name].status is Status.WAITING
        elif stage.name != "site.ground":
            assert run.stages[stage.name].status is Status.FRESH


def test_only_the_stages_behind_a_value_are_run(runs):
    every = runs[DOZEN_SHOTS]
    job = every.job

    some = api.compute(job, only="shape.shore")

    assert list(some.stages) == ["site.levels", "site.ground", "shape.shore"]
    assert same(some.stages["shape.shore"].result, every.stages["shape.shore"].result)
    assert list(api.compute(job, only="shape.bodies.pond.level").stages) == []
    assert list(api.compute(job, only="nowhere.at.all").stages) == [stage.name for stage in STAGES]
