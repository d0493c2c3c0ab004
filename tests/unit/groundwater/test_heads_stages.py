"""From the readings of Larkmeadow to heads under its pond, with and without its drains."""

from dataclasses import replace

import numpy as np
import pytest

from pondwright.base.findings import Grade, Op
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW, example_text
from pondwright.flow.engine import Status, advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.edits import Edit, apply
from pondwright.job.lining import Lining
from pondwright.job.log import Log
from pondwright.rooms.groundwater.checks import LIMITS
from pondwright.rooms.groundwater.checks.heads import check_formula
from pondwright.rooms.groundwater.checks.uplift import check_bank
from pondwright.rooms.groundwater.stage import heads as heads_stage
from pondwright.rooms.groundwater.stage.drain_lines import BUILT, NOWHERE, STOPPED, drain_lines

NAMES = {
    "site.levels", "site.ground", "shape.shore", "shape.grading", "earth.subgrade",
    "groundwater.aquifer", "groundwater.heads", "groundwater.cases",
}  # fmt: skip
TABLE = tuple(stage for stage in STAGES if stage.name in NAMES)


def changed(job, *operations):
    return apply(job, Edit("change", 0, tuple(operations)))


def computed(job, before=None, tier="background"):
    return advance(TABLE, before, job, Log(), tier)


def result(run, name):
    return run.stages[f"groundwater.{name}"].result


@pytest.fixture(scope="module")
def job():
    """Larkmeadow with the liner that is assumed: its own reaches far up the bank, over wetter ground."""
    return loads(example_text(LARKMEADOW)).model_copy(update={"lining": Lining()})


@pytest.fixture(scope="module")
def run(job):
    return computed(job)


def grades(run, code):
    return [finding.grade for finding in run.findings if finding.code == code]


@pytest.mark.parametrize("season", ["dry", "wet"])
def test_the_model_meets_the_standpipes_within_a_hand(run, season):
    readings = result(run, "aquifer").seasons[season].readings

    assert max(abs(readings[name].residual) for name in ("sp1", "sp2", "sp3")) < 0.10


def test_without_a_drain_the_wet_season_stands_above_the_pond_in_the_north_and_with_it_below(job, run):
    heads, cases = result(run, "heads"), result(run, "cases").cases
    north = heads.under & (heads.grid.north[:, None] > 121.92)
    level = job.shape.bodies["pond"].level

    assert cases["wet_none"].likely[north].max() > level + 0.10
    assert cases["wet_working"].likely[north].max() < level


def replaced(run):
    """The run without its heads and cases: they are computed from the start."""
    blank = type(run.stages["site.ground"])()
    return replace(run, stages={**run.stages, "groundwater.heads": blank, "groundwater.cases": blank})


def with_margin(job, margin):
    return changed(job, Op("add", "/lining/liners/sheet", {"bodies": ["pond"], "margin": margin}))


def test_the_liner_covers_the_ground_as_far_as_its_edge_beyond_the_waterline(job, run):
    bare, wide = (result(computed(with_margin(job, margin), run, "drag"), "heads") for margin in (0.0, 2.0))
    shore = bare.thin(run.stages["shape.shore"].result.bodies["pond"].distance)
    stated = result(run, "heads")

    assert not bare.bank.any()
    assert ((shore > 0.0) == bare.under).all()
    for heads, margin in ((stated, 0.6), (wide, 2.0)):
        assert ((shore > -margin) == heads.under).all()
        assert ((shore > -margin) & (shore <= 0.0) == heads.bank).all()
        assert (np.isfinite(heads.cap) == heads.under).all()


def test_under_the_edge_of_the_liner_no_water_leaves_and_at_the_shore_it_stands_higher(job, run):
    undrained = changed(
        job,
        *(Op("replace", f"/groundwater/drains/{name}/working", False) for name in ("relief", "north_branch")),
    )
    bare, stated, wide = (
        result(computed(with_margin(undrained, margin), replaced(run), "drag"), "heads")
        for margin in (0.0, 0.6, 2.0)
    )

    for less, more in ((bare, stated), (stated, wide)):
        assert (more.head - less.head)[more.bank].max() > 0.02
        assert more.seepage < less.seepage
        # The rain on the wider edge runs into the pond.
        assert more.recharge < less.recharge
        assert (more.head - less.head).min() > -1e-4


def test_groundwater_above_the_liner_on_the_bank_is_told():
    found = {
        over: check_bank("pond", over, "north", (1.0, 2.0), {one.code: one for one in LIMITS})
        for over in (-0.1, 0.2)
    }

    assert [each.grade for each in found.values()] == [Grade.GOOD, Grade.LOOK]
    assert "above the liner on the bank of `pond` at its north side" in found[0.2].says
    assert found[0.2].advice and not found[-0.1].advice


def test_water_that_does_not_come_to_rest_in_computing_is_told(run, monkeypatch):
    steady = heads_stage.steady_heads
    monkeypatch.setattr(heads_stage, "steady_heads", lambda *a, **k: replace(steady(*a, **k), settled=False))

    after = computed(run.job, replaced(run), "settle")

    assert grades(run, "groundwater.settled") == [Grade.GOOD]
    assert grades(after, "groundwater.settled") == [Grade.LOOK]
    [told] = [finding for finding in after.findings if finding.code == "groundwater.settled"]
    assert told.value >= 12.0 and told.advice


def test_a_drain_takes_about_what_the_trench_formula_gives(run):
    formulas = result(run, "cases").formulas
    flows = result(run, "cases").cases["wet_working"].flows

    assert set(formulas) == {"relief", "north_branch"}
    for name, beside in formulas.items():
        length = result(run, "heads").drains[name].length
        assert 0.0 < beside.sides <= 2.0
        assert flows[name].likely / length <= beside.modelled * (1.0 + 1e-9)
        assert 1.0 / 3.0 < beside.modelled / beside.trench < 3.0
        # Rain on all the ground that is felt comes from half as far, and the drain lies above the base.
        assert 0.5 * beside.trench < beside.spaced < 2.0 * beside.trench
    assert set(grades(run, "groundwater.drain_formula")) == {Grade.GOOD}


@pytest.mark.parametrize(
    ("modelled", "formula", "words"),
    [
        pytest.param(4e-6, 1e-6, "The model brings 4 times", id="model more"),
        pytest.param(1e-6, 5e-6, "The trench formula brings 5 times", id="formula more"),
        pytest.param(1e-6, 2e-6, "about as much", id="agree"),
    ],
)
def test_a_drain_of_which_model_and_formula_disagree_is_told(modelled, formula, words):
    limits = {one.code: one for one in LIMITS}

    found = check_formula("relief", "the drain `relief`", modelled, formula, (1.0, 2.0), limits)

    assert words in found.says
    assert found.grade is (Grade.GOOD if "about" in words else Grade.LOOK)


def test_heads_that_follow_a_hand_are_those_of_the_wet_case(run):
    heads, cases = result(run, "heads"), result(run, "cases").cases

    assert np.abs(heads.head - cases["wet_working"].likely).max() < 1e-4


def test_low_likely_and_high_stand_in_order(run):
    for case in result(run, "cases").cases.values():
        assert (case.low <= case.likely).all()
        assert (case.likely <= case.high).all()
        for flow in (*case.flows.values(), case.seepage):
            assert 0.0 <= flow.low <= flow.likely <= flow.high


def test_more_drain_never_raises_a_head(run):
    cases = result(run, "cases").cases

    for season in ("dry", "wet"):
        for level in ("low", "likely", "high"):
            rise = getattr(cases[f"{season}_working"], level) - getattr(cases[f"{season}_none"], level)
            assert rise.max() < 1e-4


def test_the_water_that_comes_in_is_the_water_that_leaves(run):
    heads = result(run, "heads")
    leaves = heads.seepage + heads.into_borders + sum(drain.flow for drain in heads.drains.values())

    assert heads.mass_error < 1e-9
    # The swale, a ditch, takes water as well as giving it.
    assert heads.recharge + heads.out_of_borders >= leaves - 1e-6


def test_no_head_stands_above_open_ground(run):
    heads = result(run, "heads")
    swale = result(run, "aquifer").waters["wet"][-1]
    open_ground = ~heads.under & ~swale.wet

    assert (heads.head[open_ground] <= heads.ground[open_ground] + 1e-6).all()


def test_measured_flow_that_the_soils_cannot_bring_is_told(run):
    flow = result(run, "aquifer").seasons["wet"].flows["seep"]

    assert flow.high < 0.5 * flow.measured
    assert Grade.LOOK in grades(run, "groundwater.seep_flow")


def test_the_pit_above_the_seep_tells_the_permeability_of_the_sand(run):
    pit = result(run, "aquifer").pits["pit_nw"]

    assert pit.told.low < pit.permeability < pit.told.high


def test_a_bent_shore_leaves_the_undisturbed_water_and_follows_from_the_frame_before(job, run):
    outline = job.shape.bodies["pond"].outline
    pegs = [peg.model_copy(update={"east": peg.east + 0.15}) for peg in outline.curve.pegs]
    moved = outline.model_copy(update={"curve": outline.curve.model_copy(update={"pegs": tuple(pegs)})})
    bent = changed(job, Op("replace", "/shape/bodies/pond/outline", moved.model_dump(mode="json")))

    after = computed(bent, run, "drag")

    assert result(after, "aquifer") is result(run, "aquifer")
    settled = advance(
        TABLE,
        replace(run, stages={**run.stages, "groundwater.heads": type(run.stages["site.ground"])()}),
        bent,
        Log(),
        "drag",
    )
    worst = np.abs(result(after, "heads").head - result(settled, "heads").head).max()
    assert worst < 0.01
    assert after.stages["groundwater.cases"].status is Status.STALE


def test_a_drain_that_is_to_be_built_leaves_the_fit_as_it_is(job, run):
    off = changed(job, Op("replace", "/groundwater/drains/relief/working", False))

    after = computed(off, run, "drag")

    assert result(after, "aquifer") is result(run, "aquifer")
    assert result(after, "heads").drains["relief"].flow == 0.0


def test_a_drain_that_leads_nowhere_is_stopped_and_does_not_count(job, run):
    lost = changed(job, Op("replace", "/groundwater/drains/relief/into", None))

    after = computed(lost, run, "drag")

    assert grades(after, "groundwater.drain_end") == [Grade.STOP]
    assert result(after, "heads").drains["relief"].why == NOWHERE
    assert result(after, "heads").drains["north_branch"].flow == 0.0


def test_a_drain_rises_evenly_from_its_outlet_and_backs_up_to_the_flood(job):
    water = job.groundwater

    dry, wet = (
        drain_lines(water.drains, water.outlets, water.sumps, BUILT, wet=season) for season in (False, True)
    )

    tail, relief = dry["relief_tail"], dry["relief"]
    assert tail.inverts[-1] == pytest.approx(water.outlets["culvert"].invert)
    assert relief.inverts[-1] == pytest.approx(tail.inverts[0], abs=1e-3)
    assert (np.diff(relief.inverts) < 0.0).all()
    assert dry["relief"].backed is None
    assert wet["relief"].backed == water.outlets["culvert"].flood


def test_a_drain_into_a_stopped_sump_does_not_work(job):
    sump = {
        "place": {"at": "point", "east": 110.0, "north": 100.0},
        "on": 27.0,
        "off": 26.5,
        "pump": 0.002,
    }
    pumped = changed(
        job,
        Op("add", "/groundwater/sumps/pit", sump),
        Op("replace", "/groundwater/drains/relief_tail/into", "pit"),
    ).groundwater

    running, stopped = (
        drain_lines(pumped.drains, pumped.outlets, pumped.sumps, BUILT, wet=True, stopped=each)
        for each in (False, True)
    )

    assert running["relief"].why == ""
    assert running["relief"].backed == 26.5
    assert stopped["relief"].why == STOPPED


def test_without_readings_nothing_is_said_but_how_to_begin():
    run = computed(loads(example_text(DOZEN_SHOTS)))

    assert not result(run, "aquifer").known
    assert result(run, "heads").head is None
    assert result(run, "cases").cases == {}
    told = [finding for finding in run.findings if finding.code == "groundwater.readings"]
    assert [finding.grade for finding in told] == [Grade.LOOK]
    assert "standpipe" in told[0].advice[0].says


def test_a_reading_beyond_the_survey_is_left_out_and_told(job):
    far = {"at": "point", "east": 900.0, "north": 900.0}
    less = changed(
        job,
        Op("replace", "/groundwater/readings/sp2/place", far),
        *(Op("remove", f"/groundwater/readings/{name}") for name in ("sp1", "sp3")),
    )

    run = advance(TABLE[:-1], None, less, Log(), "drag")

    assert list(result(run, "aquifer").seasons["wet"].readings) == ["seep"]
    assert grades(run, "groundwater.reading_place") == [Grade.LOOK]
    assert grades(run, "groundwater.readings") == [Grade.LOOK, Grade.LOOK]
