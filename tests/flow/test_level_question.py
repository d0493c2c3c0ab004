"""A row of the level table is what the job gives when it is taken to that level: tried by taking it, cold."""

import json
from functools import cache

import numpy as np
import pytest

from pondwright import api
from pondwright.base.findings import Grade, Op
from pondwright.examples import LARKMEADOW, LARKMEADOW_SHAPED, UPPER_FIELD, example_text
from pondwright.flow.engine import advance
from pondwright.flow.stages import STAGES, stages_for
from pondwright.job.codec import loads
from pondwright.job.edits import Edit, apply
from pondwright.job.log import Log
from tests.unit.shape.ponds import job_values, pegs

BODIES = ("pond", "wetland", "stream", "intake")
TOLD = ("earth.soil", "shape.storage", "lining.area")
TRIED = (
    *("shape.shore", "shape.grading", "shape.storage", "earth.subgrade", "earth.soil"),
    *("site.clearances", "shape.meeting", "earth.services"),
)


@cache
def asked(name=LARKMEADOW_SHAPED):
    """An example, and its run as far as the level question."""
    job = loads(example_text(name))
    return job, api.compute(job, only="earth.levels")


def table_of(*paths):
    """Rows of the table of stages that some values need."""
    names = {stage.name for path in paths for stage in stages_for(path)}
    return [stage for stage in STAGES if stage.name in names]


def at_level(job, body, level):
    """The job taken to a level by an edit."""
    return apply(job, Edit("take", 0, (Op("add", f"/shape/bodies/{body}/level", float(level)),)))


def taken(job, body, level):
    """What the job taken to a level by an edit gives, its shape, soil and liner computed from nothing."""
    ground = advance(table_of("site.ground"), None, job, Log(), "drag")
    return advance(table_of(*TOLD), ground, at_level(job, body, level), Log(), "background").results


def agrees(table, row, job, body):
    """Whether a row of a table is what the job gives at its level, to the last digits."""
    cold = taken(job, body, table.level[row])
    held, soil = cold.shape.storage.bodies[body], cold.earth.soil
    liners = [liner.area for liner in cold.lining.area.liners.values() if body in liner.bodies]
    told = {
        "volume": held.volume,
        "area": held.area,
        "lip": held.lip,
        "dug": soil.dug,
        "placed": soil.placed,
        "surplus": soil.surplus_bank,
        "loads": soil.load_count,
        "liner": sum(liners),
        "runs_over": held.freeboard_left < -1e-5,
    }
    row_told = {name: getattr(table, name)[row] for name in told}
    assert row_told == pytest.approx(told, rel=1e-12, abs=1e-9)
    return cold


@pytest.mark.parametrize("body", BODIES)
def test_at_the_level_of_the_job_both_tables_and_the_curve_tell_the_area_within_the_shore(body):
    results = asked()[1].results
    table, shore = results.earth.levels.bodies[body], results.shape.shore.bodies[body]
    curve = results.shape.storage.bodies[body]
    row = int(np.abs(table.level - shore.level).argmin())

    on_curve = np.interp(shore.level, curve.levels, curve.areas)
    assert [table.area[row], table.filled_area[row], on_curve] == pytest.approx([shore.area] * 3, rel=1e-12)
    assert (np.diff(table.filled_area) >= 0.0).all() and (np.diff(curve.areas) >= -1e-9).all()
    assert np.interp(shore.level, curve.levels, curve.volumes) == pytest.approx(curve.volume, rel=1e-12)


def test_loads_beside_fill_that_balances_are_topsoil_and_muck_past_their_piles():
    job, run = asked()
    table = run.results.earth.levels.bodies["wetland"]
    row = table.balanced_row
    soil = taken(job, "wetland", table.level[row]).earth.soil

    assert abs(table.surplus[row]) < 0.01 and table.loads[row] > 0
    assert table.others_leave[row] == pytest.approx(soil.leaves, rel=1e-9)
    assert soil.leaving.streams["soil"].volume == 0.0


@pytest.mark.parametrize("body", BODIES)
def test_every_row_is_what_the_job_gives_at_its_level_with_streams_and_mouths(body):
    job, run = asked()
    table = run.results.earth.levels.bodies[body]

    assert len(table.level) >= 9 and (np.diff(table.level) > 0.0).all()
    for row in (0, 5, len(table.level) - 1):
        agrees(table, row, job, body)


@pytest.mark.parametrize("body", BODIES)
def test_the_job_taken_to_the_level_of_the_solver_leaves_no_soil_over_and_misses_none(body):
    job, run = asked()
    table = run.results.earth.levels.bodies[body]
    row = table.balanced_row

    cold = agrees(table, row, job, body)

    assert table.level[row] == pytest.approx(table.balanced_level, abs=1e-3)
    assert abs(cold.earth.soil.surplus_bank) <= 1e-3 * cold.shape.shore.bodies[body].area


def test_the_rows_of_a_tied_body_are_not_those_of_a_body_by_itself():
    """What ties them shows: a table that could not tell would agree with anything."""
    _job, run = asked()
    table = run.results.earth.levels.bodies["stream"]

    assert np.ptp(table.liner) > 1.0 and np.ptp(table.volume) > 0.1


def test_the_row_of_now_is_the_job():
    _job, run = asked()
    found = run.results
    for name, table in found.earth.levels.bodies.items():
        body = found.shape.shore.bodies[name]
        row = int(np.argmin(np.abs(table.level - body.level)))
        assert table.volume[row] == found.shape.storage.bodies[name].volume
        assert table.area[row] == body.area
        assert table.surplus[row] == found.earth.soil.surplus_bank


def test_a_balanced_level_over_the_lip_is_told_and_not_offered():
    _job, run = asked()
    table = run.results.earth.levels.bodies["pond"]
    balance = run.results.earth.balance

    assert (
        table.runs_over[table.balanced_row]
        and table.level[table.balanced_row] > table.lip[table.balanced_row]
    )
    assert "runs over" in table.said.refused
    assert table.offered_level is None and balance.offered_level is None
    assert balance.balanced_level == table.balanced_level
    (finding,) = [one for one in run.findings if one.code == "earth.balance"]
    assert finding.grade is Grade.LOOK
    assert "runs over" in finding.advice[0].says and finding.advice[0].ops == ()


@pytest.mark.parametrize("body", ["wetland", "stream", "intake"])
def test_a_balanced_level_high_over_its_ground_is_told_and_not_offered(body):
    _job, run = asked()
    table = run.results.earth.levels.bodies[body]

    assert "against placed soil" in table.said.refused and table.offered_level is None
    assert table.warnings[table.balanced_row] == table.said.refused


def test_the_largest_pond_comes_first():
    _job, run = asked()

    assert run.results.earth.balance.body == run.results.earth.levels.body == "pond"
    assert next(iter(run.results.earth.levels.bodies)) == "pond"


@pytest.mark.parametrize("name", [LARKMEADOW, UPPER_FIELD])
def test_what_would_stop_the_job_at_an_offered_level_is_told_before(name):
    job, run = asked(name)
    balance = run.results.earth.balance
    stages = table_of(*TRIED)

    stops = [
        {one.code for one in advance(stages, None, each, Log(), "settle").findings if one.grade is Grade.STOP}
        for each in (job, at_level(job, "pond", balance.offered_level))
    ]

    assert stops[1] - stops[0] and balance.said.warned
    (finding,) = [one for one in run.findings if one.code == "earth.balance"]
    assert balance.said.warned in finding.advice[0].says and finding.advice[0].ops


def test_a_level_below_the_low_one_that_is_planned_for_is_told():
    values = job_values(level=100.0)
    values["shape"]["bodies"]["pond"]["low_level"] = 99.8
    table = api.compute(loads(json.dumps(values)), only="earth.levels").results.earth.levels.bodies["pond"]

    for level, says in zip(table.level, table.warnings, strict=True):
        assert ("low level" in says) == (level < 99.8 - 1e-9)


def test_waters_that_share_a_liner_are_told_the_whole_of_it():
    values = job_values(level=100.0)
    bodies = values["shape"]["bodies"]
    bodies["pond"]["outline"]["curve"]["pegs"] = pegs(4.0, east=9.0)
    bodies["upper"] = {
        "role": "upper_pool",
        "rank": 1,
        "level": 100.2,
        "outline": {"form": "ring", "curve": {"pegs": pegs(3.0, east=18.5, prefix="u")}},
    }
    values["lining"] = {"liners": {"both": {"bodies": ["pond", "upper"]}}}
    job = loads(json.dumps(values))
    tables = api.compute(job, only="earth.levels").results.earth.levels.bodies

    for body, table in tables.items():
        agrees(table, 1, job, body)


@pytest.mark.parametrize("name", ["earth.balance", "earth.levels"])
def test_the_level_question_reads_all_that_the_stages_read_which_it_tries(name):
    """What it did not read could change without it."""
    rows = {stage.name: stage for stage in STAGES}

    assert set(rows[name].reads) >= {path for tried in TRIED for path in rows[tried].reads}
