"""The order of a liner on invented jobs: pieces, rolls, tapes, pipes, cushion, the pull, and the proof."""

import json

import pytest

from pondwright.base.findings import Grade
from pondwright.base.kinds import AREAL_MASS
from pondwright.base.units import parse
from pondwright.examples import GARDEN, LARKMEADOW_SHAPED, example_text
from pondwright.flow.engine import advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.rooms.lining.checks import LIMITS
from pondwright.rooms.lining.checks.order import check_proved


def told(example, **changes):
    """An example with values put in at dotted paths, written with `__` for the dots."""
    document = json.loads(example_text(example))
    for path, value in changes.items():
        *heads, last = path.split("__")
        part = document
        for head in heads:
            part = part.setdefault(head, {})
        part[last] = value
    return loads(json.dumps(document))


def run_of(job, *names, log=None):
    """A run of some stages and all that they need."""
    wanted = set(names)
    for stage in reversed(STAGES):
        if stage.name in wanted:
            wanted.update(stage.needs)
    stages = tuple(stage for stage in STAGES if stage.name in wanted)
    return advance(stages, None, job, log or Log(), "background")


def findings(run, stage, code):
    return [finding for finding in run.stages[stage].findings if finding.code == code]


@pytest.fixture(scope="module")
def shaped():
    return run_of(loads(example_text(LARKMEADOW_SHAPED)), "lining.proved")


def test_a_piece_is_ordered_larger_than_its_ground_and_than_its_tapes(shaped):
    areas = shaped.results.lining.area.liners

    for name, order in shaped.results.lining.order.liners.items():
        assert order.ordered_area >= areas[name].area
        for piece in order.pieces.values():
            assert piece.length > piece.needed_length
            assert piece.mass == pytest.approx(piece.area * order.area_mass)


def test_the_order_by_tapes_holds_the_piece_that_is_proved(shaped):
    proved = shaped.results.lining.proved.liners

    assert proved and all(found.covers for found in proved.values())
    assert all(finding.grade is not Grade.STOP for finding in shaped.stages["lining.proved"].findings)


def test_an_order_smaller_than_the_proved_piece_is_stopped():
    limits = {limit.code: limit for limit in LIMITS}

    finding = check_proved("pond", 0.98, (24.6, 19.6), -8.0, limits)

    assert finding.grade is Grade.STOP
    assert "24.60 m" in finding.advice[0].says


def test_a_liner_ordered_before_the_dig_has_the_larger_margin():
    after, before = (
        run_of(told(GARDEN, lining__liners={"pond": {"bodies": ["pond"], "ordered": when}}), "lining.order")
        for when in ("after", "before")
    )
    one, other = (run.results.lining.order.liners["pond"] for run in (after, before))

    assert other.margin > one.margin
    assert other.ordered_area > one.ordered_area


def test_a_stream_in_parts_is_lapped_at_its_falls_from_below():
    job = told(LARKMEADOW_SHAPED, lining__liners__stream={"bodies": ["stream"], "parts": True})
    order = run_of(job, "lining.order").results.lining.order.liners["stream"]

    assert order.form == "parts"
    assert [(joint.first, joint.second) for joint in order.joints] == [("A", "B"), ("B", "C")]
    assert any("C, B, A" in step for step in order.steps)


def test_a_pond_in_parts_is_joined_at_its_narrow(shaped):
    several = shaped.results.lining.order.liners["pond"].several

    assert len(several.pieces) == 2
    assert several.saved == pytest.approx(
        shaped.results.lining.order.liners["pond"].ordered_area - several.area
    )
    (joint,) = several.joints
    assert joint.kind == "narrow" and joint.length > 6.0


def test_a_round_pond_cannot_be_parted_and_says_so():
    run = run_of(told(GARDEN, lining__liners={"pond": {"bodies": ["pond"], "parts": True}}), "lining.order")

    assert run.results.lining.order.liners["pond"].form == "one"
    assert findings(run, "lining.order", "lining.no_parts")


def test_strips_longer_than_a_roll_have_seams_across_and_the_rolls_hold_them():
    liner = {"bodies": ["pond"], "one_piece": False, "stock": [{"width": 3.0, "length": 6.0}]}
    run = run_of(told(GARDEN, lining__liners={"pond": liner}), "lining.order")
    order = run.results.lining.order.liners["pond"]

    cut = sorted(name for roll in order.rolls for name, _ in roll.cuts)
    assert cut == sorted(order.pieces)
    assert {joint.kind for joint in order.joints} == {"roll", "end"}
    assert order.ordered_area == pytest.approx(len(order.rolls) * 18.0)
    assert findings(run, "lining.order", "lining.roll_end")


def test_patches_and_collars_come_from_leftovers_and_never_take_more_than_those_have(shaped):
    for order in shaped.results.lining.order.liners.values():
        assert order.reused_area <= order.offcut_area
        for patch in order.patches.values():
            assert patch.cut_from is None or patch.cut_from in order.offcuts


def test_a_pipe_that_could_go_over_is_asked_about_and_one_that_cannot_is_not(shaped):
    grades = {
        finding.where.paths[0].rsplit(".", 1)[1]: finding.grade
        for finding in findings(shaped, "lining.order", "lining.penetration")
    }

    assert grades == {
        "balance_intake": Grade.GOOD,
        "balance_pond": Grade.GOOD,
        "wetland_drain": Grade.LOOK,
    }


@pytest.mark.parametrize(
    ("off", "verdict", "grade"),
    [
        pytest.param(0.0, "as_drawn", Grade.GOOD, id="as drawn"),
        pytest.param(0.2, "tight", Grade.LOOK, id="folds lose their share"),
        pytest.param(1.5, "short", Grade.STOP, id="the liner does not reach"),
        pytest.param(-0.5, "much_shorter", Grade.LOOK, id="the dig is not done"),
    ],
)
def test_a_taped_length_is_judged(off, verdict, grade):
    line = {"at": "line", "points": [{"east": 10.0, "north": 6.0}, {"east": 10.0, "north": 18.0}]}
    first = run_of(told(GARDEN, lining__tapes={"one": {"place": line}}), "lining.order")
    drawn = first.results.lining.order.liners["pond"].tapes["one"].predicted

    run = run_of(told(GARDEN, lining__tapes={"one": {"place": line, "taped": drawn + off}}), "lining.order")

    assert run.results.lining.order.liners["pond"].tapes["one"].verdict == verdict
    assert findings(run, "lining.order", "lining.tape")[0].grade is grade


def test_tapes_are_proposed_where_none_are_drawn():
    tapes = run_of(told(GARDEN), "lining.order").results.lining.order.liners["pond"].tapes

    assert set(tapes) == {"pond_along", "pond_across"}
    assert all(tape.proposed and tape.predicted > 0.0 for tape in tapes.values())


def test_a_sheet_without_a_name_is_asked_for_and_a_boulder_wants_more_fabric(shaped):
    bare = run_of(told(GARDEN), "lining.order")

    assert findings(bare, "lining.order", "lining.membrane")
    above = shaped.results.lining.order.liners["pond"].cushion.above
    assert not above.by_formula and above.needed == pytest.approx(0.54)


@pytest.mark.parametrize(
    ("day", "code", "grade"),
    [
        pytest.param({"people": 1}, "lining.pull", Grade.STOP, id="too few people"),
        pytest.param({"people": 40}, "lining.pull", Grade.GOOD, id="people enough"),
        pytest.param({"wind": 9.0}, "lining.wind", Grade.STOP, id="a storm"),
        pytest.param({"wind": 6.0}, "lining.wind", Grade.LOOK, id="wind that lifts it"),
        pytest.param({"wind": 2.0}, "lining.wind", Grade.GOOD, id="a calm day"),
        pytest.param({"temperature": -10.0}, "lining.cold", Grade.LOOK, id="frost"),
        pytest.param({"machine": True}, "lining.people", Grade.GOOD, id="a machine"),
    ],
)
def test_the_day_of_the_pull_is_judged(day, code, grade):
    run = run_of(told(GARDEN, lining__pull=day), "lining.order")

    (finding,) = findings(run, "lining.order", code)
    assert finding.grade is grade


def test_an_ounce_a_square_yard_is_33_906_grams_a_square_metre():
    assert parse("1 oz/yd²", AREAL_MASS).value == pytest.approx(0.033906, abs=5e-7)


def test_strips_from_rolls_are_held_against_the_proved_strips():
    liner = {"bodies": ["pond"], "one_piece": False, "stock": [{"width": 4.0, "length": 30.0}]}
    run = run_of(told(GARDEN, lining__liners={"pond": liner}), "lining.proved")
    proved = run.results.lining.cover.liners["pond"].strips
    cut = [piece.length for piece in run.results.lining.order.liners["pond"].pieces.values()]

    (finding,) = findings(run, "lining.proved", "lining.proved")

    enough = len(cut) >= len(proved) and all(
        one >= strip
        for one, strip in zip(
            sorted(cut, reverse=True), sorted((each.length for each in proved), reverse=True), strict=False
        )
    )
    assert finding.grade is (Grade.GOOD if enough else Grade.LOOK)
    assert (finding.value >= 1.0) is enough
