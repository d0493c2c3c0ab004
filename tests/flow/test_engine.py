"""The fold: what runs again, what rests, and what is told when a stage has no answer."""

from dataclasses import dataclass

import numpy as np
import pytest

from pondwright.base.errors import DomainError, StageError
from pondwright.base.findings import Finding, Grade
from pondwright.flow.engine import Stage, Status, advance, broken_rows, section
from pondwright.job.document import new_job
from pondwright.job.log import Log


@dataclass(frozen=True)
class Number:
    value: float


@dataclass(frozen=True, eq=False)
class Surface:
    z: np.ndarray


class Recorder:
    """Stages that write down when they run; `first` and `second` are cut slope and its double, rounded."""

    def __init__(self):
        self.ran = []

    def first(self, view, results):
        self.ran.append("first")
        cut = view["shape.slopes"].cut
        if cut == 13.0:
            raise DomainError("`cut` must not be 13, got 13 m/m")
        return Number(round(cut or 2.0)), (Finding("first.cut", Grade.GOOD, f"cut {cut}"),)

    def second(self, view, results):
        self.ran.append("second")
        return Number(2.0 * results["first"].value), (Finding("second.twice", Grade.LOOK, "twice"),)

    def later(self, view, results):
        self.ran.append("later")
        return Number(results["second"].value + len(view["log"].entries)), ()

    def table(self, tier="drag"):
        return (
            Stage("first", ("shape.slopes",), (), self.first, Number),
            Stage("second", (), ("first",), self.second, Number),
            Stage("later", ("log",), ("second",), self.later, Number, tier=tier),
        )


@pytest.fixture
def job():
    return new_job("Mill Lane 4")


@pytest.fixture
def recorder():
    return Recorder()


def with_cut(job, cut):
    slopes = job.shape.slopes.model_copy(update={"cut": cut})
    return job.model_copy(update={"shape": job.shape.model_copy(update={"slopes": slopes})})


def statuses(run):
    return [state.status for state in run.stages.values()]


def test_a_first_run_computes_every_stage_in_order(job, recorder):
    run = advance(recorder.table(), None, job, Log(), "background")

    assert recorder.ran == ["first", "second", "later"]
    assert run.stages["later"].result == Number(4.0)


def test_the_same_job_runs_nothing(job, recorder):
    run = advance(recorder.table(), None, job, Log(), "background")
    recorder.ran.clear()

    again = advance(recorder.table(), run, job, run.log, "background")

    assert recorder.ran == []
    assert statuses(again) == [Status.FRESH] * 3


def test_an_edit_elsewhere_runs_nothing(job, recorder):
    run = advance(recorder.table(), None, job, Log(), "background")
    recorder.ran.clear()

    advance(recorder.table(), run, job.model_copy(update={"name": "Mill Lane 5"}), run.log, "background")

    assert recorder.ran == []


def test_an_equal_result_keeps_the_old_object_and_lets_later_stages_rest(job, recorder):
    run = advance(recorder.table(), None, job, Log(), "background")
    recorder.ran.clear()

    again = advance(recorder.table(), run, with_cut(job, 2.1), run.log, "background")

    assert recorder.ran == ["first"]
    assert again.stages["first"].result is run.stages["first"].result
    assert again.stages["first"].findings[0].says == "cut 2.1"


def test_equal_arrays_are_an_equal_result(job):
    table = (Stage("s", ("shape.slopes",), (), lambda view, _: (Surface(np.zeros((3, 3))), ()), Surface),)
    run = advance(table, None, job, Log(), "drag")

    again = advance(table, run, with_cut(job, 3.0), run.log, "drag")

    assert again.stages["s"].result is run.stages["s"].result


def test_arrays_of_a_result_are_read_only(job):
    table = (Stage("s", (), (), lambda *_: (Surface(np.zeros(3)), ()), Surface),)

    run = advance(table, None, job, Log(), "drag")

    assert not run.results.s.z.flags.writeable


def test_a_changed_result_runs_what_needs_it(job, recorder):
    run = advance(recorder.table(), None, job, Log(), "background")
    recorder.ran.clear()

    again = advance(recorder.table(), run, with_cut(job, 3.0), run.log, "background")

    assert recorder.ran == ["first", "second", "later"]
    assert again.results.later == Number(6.0)


def test_the_old_run_is_untouched_so_that_it_is_a_fork(job, recorder):
    head = advance(recorder.table(), None, job, Log(), "background")

    preview = advance(recorder.table(), head, with_cut(job, 3.0), head.log, "background")

    assert (head.results.later, preview.results.later) == (Number(4.0), Number(6.0))
    assert head.job is job


def test_an_answer_begun_from_the_one_before_is_only_for_the_drag(job):
    """Half the way to the cut slope from where it was last; cold it is there at once."""

    def halfway(view, _results, last):
        cut = view["shape.slopes"].cut
        return Number(cut if last is None else 0.5 * (cut + last.result.value)), ()

    table = (Stage("s", ("shape.slopes",), (), halfway, Number, hint=True, warm=True),)
    first = advance(table, None, with_cut(job, 4.0), Log(), "drag")

    dragged = advance(table, first, with_cut(job, 8.0), Log(), "drag")
    settled = advance(table, dragged, dragged.job, Log(), "settle")

    assert [run.results.s.value for run in (first, dragged, settled)] == [4.0, 6.0, 8.0]
    assert not settled.stages["s"].near


def test_a_later_tier_is_left_and_marked_stale_with_its_last_result(job, recorder):
    run = advance(recorder.table(tier="settle"), None, job, Log(), "background")

    dragged = advance(recorder.table(tier="settle"), run, with_cut(job, 3.0), run.log, "drag")

    assert statuses(dragged) == [Status.FRESH, Status.FRESH, Status.STALE]
    assert dragged.results.later == Number(4.0)


def test_settling_after_a_drag_runs_only_what_was_left(job, recorder):
    table = recorder.table(tier="settle")
    dragged = advance(table, advance(table, None, job, Log(), "settle"), with_cut(job, 3.0), Log(), "drag")
    recorder.ran.clear()

    settled = advance(table, dragged, dragged.job, dragged.log, "settle")

    assert recorder.ran == ["later"]
    assert statuses(settled) == [Status.FRESH] * 3


def test_dragging_back_is_fresh_again_without_running_the_later_tier(job, recorder):
    table = recorder.table(tier="settle")
    log = Log()
    run = advance(table, None, job, log, "settle")
    dragged = advance(table, run, with_cut(job, 2.1), log, "drag")
    recorder.ran.clear()

    back = advance(table, dragged, job, log, "drag")

    assert "later" not in recorder.ran
    assert back.stages["later"].status is Status.FRESH


def test_a_stage_without_an_answer_is_blocked_and_later_ones_wait(job, recorder):
    run = advance(recorder.table(), None, job, Log(), "background")

    blocked = advance(recorder.table(), run, with_cut(job, 13.0), run.log, "background")

    assert statuses(blocked) == [Status.BLOCKED, Status.WAITING, Status.WAITING]
    assert blocked.results.later == Number(4.0)


def test_a_blocked_stage_is_one_stop_that_tells_why(job, recorder):
    run = advance(recorder.table(), None, with_cut(job, 13.0), Log(), "background")

    (stop,) = run.findings
    assert (stop.code, stop.grade) == ("first.blocked", Grade.STOP)
    assert "`cut` must not be 13, got 13 m/m" in stop.says


def test_a_blocked_stage_is_not_tried_again_with_the_same_inputs(job, recorder):
    stuck = advance(recorder.table(), None, with_cut(job, 13.0), Log(), "background")
    recorder.ran.clear()

    again = advance(recorder.table(), stuck, stuck.job, stuck.log, "background")

    assert recorder.ran == []
    assert again.stages["first"].status is Status.BLOCKED


def test_a_repaired_stage_is_fresh_again(job, recorder):
    log = Log()
    run = advance(recorder.table(), None, job, log, "background")
    blocked = advance(recorder.table(), run, with_cut(job, 13.0), log, "background")
    recorder.ran.clear()

    repaired = advance(recorder.table(), blocked, job, log, "background")

    assert recorder.ran == ["first"]
    assert statuses(repaired) == [Status.FRESH] * 3


def test_a_cancelled_fold_leaves_the_rest_stale(job, recorder):
    asked = iter([False, True, True])

    run = advance(recorder.table(), None, job, Log(), "background", cancelled=lambda: next(asked))

    assert recorder.ran == ["first"]
    assert statuses(run) == [Status.FRESH, Status.STALE, Status.STALE]


def test_a_cancelled_fold_can_be_gone_on_from(job, recorder):
    asked = iter([False, True, True])
    half = advance(recorder.table(), None, job, Log(), "background", cancelled=lambda: next(asked))

    whole = advance(recorder.table(), half, job, half.log, "background")

    assert recorder.ran == ["first", "second", "later"]
    assert statuses(whole) == [Status.FRESH] * 3


def test_time_is_told_by_the_clock_that_is_handed_in(job, recorder):
    ticks = iter(range(100))

    run = advance(recorder.table(), None, job, Log(), "background", clock=lambda: float(next(ticks)))

    assert [state.milliseconds for state in run.stages.values()] == [1000.0] * 3


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        pytest.param(lambda view, _: view["site.shots"], "reads `site.shots`", id="a section"),
        pytest.param(lambda view, _: view.get("rules"), "reads `rules`", id="a section, gently"),
        pytest.param(lambda _, results: results["first"], "needs `first`", id="a result"),
    ],
)
def test_a_read_that_is_not_declared_is_a_fault_of_the_stage(job, ask, says):
    table = (Stage("s", ("shape.slopes",), (), ask, Number),)

    with pytest.raises(StageError, match=says):
        advance(table, None, job, Log(), "drag")


def test_another_result_than_declared_is_a_fault_of_the_stage(job):
    table = (Stage("s", (), (), lambda *_: (1.0, ()), Number),)

    with pytest.raises(StageError, match="must give a Number, got a float"):
        advance(table, None, job, Log(), "drag")


def test_an_unexpected_error_names_the_stage(job):
    table = (Stage("s", (), (), lambda *_: 1 / 0, Number),)

    with pytest.raises(ZeroDivisionError) as raised:
        advance(table, None, job, Log(), "drag")
    assert raised.value.__notes__ == ["while computing the stage `s`"]


def test_a_section_is_the_very_object_of_the_job(job):
    assert section(job, Log(), "shape.slopes") is job.shape.slopes


def test_a_section_that_is_not_there_is_a_fault_of_the_table(job):
    with pytest.raises(StageError, match="`slopess` is none"):
        section(job, Log(), "shape.slopess")


def test_a_broken_table_tells_each_fault():
    def none(view, results):
        return Number(0.0), ()

    table = (
        Stage("a", (), ("b",), none, Number),
        Stage("b", (), (), none, Number, tier="settle"),
        Stage("b", (), (), none, Number, tier="settle"),
        Stage("c", (), ("b",), none, Number, tier="drag"),
    )

    assert list(broken_rows(table)) == [
        "`a` needs `b`, which is no earlier stage",
        "`b` stands twice",
        "`c` runs in drag and needs `b` of settle",
    ]
