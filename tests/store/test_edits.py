"""Edits are kept, refused with a reason, kept once, and taken back by new ones."""

import pytest

from pondwright.base.errors import StoreError
from pondwright.base.findings import Op
from pondwright.job.codec import dumps
from pondwright.job.edits import Edit
from pondwright.store import (
    Accepted,
    Missing,
    Refused,
    append_edit,
    edits_since,
    history,
    keep_job,
    loaded,
    open_store,
    restore,
)
from tests.store.edits import NOW, client, level, small_job, to


@pytest.fixture
def job_id(store):
    return keep_job(store, small_job(), NOW)


def test_an_edit_on_the_newest_revision_is_kept(store, job_id):
    outcome = append_edit(store, job_id, level(99.0), "Ada", NOW + 1)

    assert isinstance(outcome, Accepted) and outcome.rev == 1
    assert loaded(store, job_id) == (outcome.job, 1)
    assert loaded(store, job_id)[0].shape.bodies["pond"].level == 99.0
    kept = history(store, job_id)[0]
    assert (kept.rev, kept.id, kept.author, kept.time, kept.label) == (1, "a-1", "Ada", NOW + 1, "change")


def test_what_is_kept_is_there_when_the_file_is_opened_again(store, file, job_id):
    append_edit(store, job_id, level(99.0), "Ada", NOW)
    store.close()

    again = open_store(file)

    assert loaded(again, job_id)[0].shape.bodies["pond"].level == 99.0
    again.close()


def test_two_edits_of_different_things_on_one_base_are_both_kept(store, job_id):
    append_edit(store, job_id, level(99.0, id_="a-1"), "Ada", NOW)

    outcome = append_edit(store, job_id, client("Mrs. Hale", id_="b-1"), "Bea", NOW)

    assert isinstance(outcome, Accepted) and outcome.rev == 2
    assert outcome.job.shape.bodies["pond"].level == 99.0
    assert outcome.job.brief.client == "Mrs. Hale"


@pytest.mark.parametrize("path", ["/shape/bodies/pond/level", "/shape/bodies/pond", "/shape/bodies"])
def test_an_edit_of_what_another_window_changed_is_refused_with_its_name_and_the_catch_up(
    store, job_id, path
):
    append_edit(store, job_id, level(99.0, id_="a-1", label="raise the water"), "Ada", NOW)
    bodies = small_job().model_dump(mode="json")["shape"]["bodies"]
    values = {"/shape/bodies/pond/level": 98.0, "/shape/bodies/pond": bodies["pond"], "/shape/bodies": bodies}

    outcome = append_edit(store, job_id, to(path, values[path], id_="b-1"), "Bea", NOW)

    assert isinstance(outcome, Refused)
    assert outcome.why == "`raise the water` by Ada changed the same thing"
    assert [edit.id for edit in outcome.since] == ["a-1"]
    assert loaded(store, job_id)[1] == 1


def test_a_window_does_not_clash_with_its_own_edits(store, job_id):
    append_edit(store, job_id, level(99.0, id_="window-1"), "Ada", NOW)

    outcome = append_edit(store, job_id, level(98.5, id_="window-2", base=0), "Ada", NOW)

    assert isinstance(outcome, Accepted) and outcome.job.shape.bodies["pond"].level == 98.5


def test_to_test_what_another_only_tested_is_no_clash(store, job_id):
    tested = Op("test", "/id", small_job().id)
    append_edit(store, job_id, Edit("a-1", 0, (tested, Op("replace", "/name", "One")), ""), "Ada", NOW)

    outcome = append_edit(
        store, job_id, Edit("b-1", 0, (tested, Op("replace", "/brief/client", "C")), ""), "Bea", NOW
    )

    assert isinstance(outcome, Accepted)


def test_an_edit_that_breaks_a_rule_is_refused_with_its_faults_and_leaves_no_trace(store, job_id):
    before = dumps(loaded(store, job_id)[0])

    outcome = append_edit(store, job_id, to("/shape/bodies/pond/level", "high"), "Ada", NOW)

    assert isinstance(outcome, Refused) and outcome.faults
    assert "shape.bodies.pond.level" in outcome.faults[0].path
    assert history(store, job_id) == () and dumps(loaded(store, job_id)[0]) == before


def test_an_edit_sent_twice_is_kept_once(store, job_id):
    append_edit(store, job_id, level(99.0), "Ada", NOW)
    append_edit(store, job_id, client("C", id_="b-1"), "Bea", NOW)

    again = append_edit(store, job_id, level(99.0), "Ada", NOW + 5)

    assert isinstance(again, Accepted) and again.rev == 1
    assert [edit.id for edit in history(store, job_id)] == ["a-1", "b-1"]


def test_two_jobs_may_use_the_same_ids(store, job_id):
    other = keep_job(store, small_job(), NOW)
    append_edit(store, job_id, level(99.0), "Ada", NOW)

    assert isinstance(append_edit(store, other, level(98.0), "Ada", NOW), Accepted)


@pytest.mark.parametrize("base", [1, 7, 2**70])
def test_an_edit_from_a_revision_that_is_not_there_yet_is_refused(store, job_id, base):
    outcome = append_edit(store, job_id, level(99.0, base=base), "Ada", NOW)

    assert isinstance(outcome, Refused) and str(base) in outcome.why


def test_an_unknown_job_is_missing(store):
    with pytest.raises(Missing, match="there is no job 'none' here"):
        append_edit(store, "none", level(99.0), "Ada", NOW)


def test_every_revision_can_be_read_again_over_many_snapshots(store, job_id):
    levels = [90.0 + 0.01 * step for step in range(1, 121)]
    for step, value in enumerate(levels, 1):
        append_edit(store, job_id, level(value, id_=f"a-{step}", base=step - 1), "Ada", NOW)

    for rev in (1, 49, 50, 51, 100, 119, 120):
        assert loaded(store, job_id, rev)[0].shape.bodies["pond"].level == levels[rev - 1]
    assert loaded(store, job_id, 0)[0] == small_job()
    with pytest.raises(Missing, match="revisions 0 to 120, not 121"):
        loaded(store, job_id, 121)


def test_restore_brings_back_every_section_and_keeps_the_way_between(store, job_id):
    append_edit(store, job_id, level(99.0, id_="a-1"), "Ada", NOW)
    gravel = to("/catalogue", {"gravel": {"kind": "gravel"}}, id_="a-2", base=1)
    append_edit(store, job_id, gravel, "Ada", NOW)
    append_edit(store, job_id, client("C", id_="a-3", base=2), "Ada", NOW)

    outcome = restore(store, job_id, 0, "back-1", "Ada", NOW)

    assert outcome.rev == 4 and outcome.job == small_job()
    assert loaded(store, job_id, 3)[0].brief.client == "C"
    assert [edit.id for edit in edits_since(store, job_id, 2)] == ["a-3", "back-1"]


def test_a_restore_can_itself_be_taken_back(store, job_id):
    append_edit(store, job_id, level(99.0), "Ada", NOW)
    restore(store, job_id, 0, "back-1", "Ada", NOW)

    outcome = restore(store, job_id, 1, "back-2", "Ada", NOW)

    assert outcome.job.shape.bodies["pond"].level == 99.0


def test_a_revision_that_is_not_there_cannot_be_brought_back(store, job_id):
    with pytest.raises(StoreError, match="not 3"):
        restore(store, job_id, 3, "back-1", "Ada", NOW)
