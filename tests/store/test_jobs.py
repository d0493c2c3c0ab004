"""The shelf: cards, states, archive, copies, named versions, files and the log."""

import pytest

from pondwright.base.errors import DocumentError, StoreError
from pondwright.job.log import read_entry
from pondwright.store import (
    Missing,
    Version,
    append_edit,
    append_log,
    duplicate_job,
    file_body,
    history,
    job_card,
    job_cards,
    keep_file,
    keep_job,
    keep_version,
    loaded,
    log_of,
    set_card,
    versions,
)
from tests.store.edits import NOW, level, small_job, to

VISIT = '{"id": "v1", "kind": "visit", "time": "2026-05-01T08:00:00Z", "note": "%s"}'


@pytest.fixture
def job_id(store):
    return keep_job(store, small_job(), NOW)


def test_a_new_job_stands_on_the_shelf_with_its_name_and_state(store, job_id):
    card = job_card(store, job_id)

    assert (card.id, card.name, card.state, card.archived, card.rev) == (
        job_id, small_job().name, "asked", False, 0,
    )  # fmt: skip
    assert card.created == card.changed == NOW and job_cards(store) == (card,)


def test_the_job_last_changed_stands_first(store, job_id):
    other = keep_job(store, small_job(), NOW + 1)
    append_edit(store, job_id, level(99.0), "Ada", NOW + 2)

    assert [card.id for card in job_cards(store)] == [job_id, other]


def test_a_clock_that_goes_back_does_not_make_a_job_older(store, job_id):
    append_edit(store, job_id, level(99.0), "Ada", NOW - 100)

    assert job_card(store, job_id).changed == NOW


def test_the_card_follows_the_document(store, job_id):
    append_edit(store, job_id, to("/name", "Mill Lane 4"), "Ada", NOW)
    append_edit(store, job_id, to("/shown_units", "us_inch", id_="a-2", base=1), "Ada", NOW)

    card = job_card(store, job_id)

    assert (card.name, card.shown_units, card.rev) == ("Mill Lane 4", "us_inch", 2)


def test_an_archived_job_leaves_the_shelf_and_comes_back(store, job_id):
    set_card(store, job_id, archived=True)
    assert job_cards(store) == () and [card.id for card in job_cards(store, archived=True)] == [job_id]

    set_card(store, job_id, archived=False)

    assert [card.id for card in job_cards(store)] == [job_id]


def test_the_state_of_a_job_is_one_of_six(store, job_id):
    assert set_card(store, job_id, state="signed").state == "signed"

    with pytest.raises(StoreError, match="`state` must be one of asked"):
        set_card(store, job_id, state="sold")


def test_a_copy_has_the_newest_state_and_a_history_of_its_own(store, job_id):
    append_edit(store, job_id, level(99.0), "Ada", NOW)

    copy = duplicate_job(store, job_id, NOW + 1)

    assert loaded(store, copy)[0].shape.bodies["pond"].level == 99.0
    assert job_card(store, copy).name.endswith("(copy)") and history(store, copy) == ()
    append_edit(store, copy, level(98.0), "Ada", NOW)
    assert loaded(store, job_id)[0].shape.bodies["pond"].level == 99.0


def test_a_copy_of_a_job_with_the_longest_name_can_be_read_again(store):
    longest = small_job().model_copy(update={"name": "n" * 200})
    copy = duplicate_job(store, keep_job(store, longest, NOW), NOW)
    store.heads.clear()

    assert loaded(store, copy)[0].name.startswith("nnn")


def test_a_version_names_a_revision_and_keeps_its_figures(store, job_id):
    append_edit(store, job_id, level(99.0), "Ada", NOW)
    signed = Version("signed", 1, "Mrs. Hale", NOW, {"shape.storage.bodies.pond.volume": 41.5})

    keep_version(store, job_id, signed)

    assert versions(store, job_id) == (signed,)


@pytest.mark.parametrize(
    ("version", "why"),
    [
        (Version("signed", 0, "", NOW, {}), "named 'signed' already"),
        (Version(" ", 0, "", NOW, {}), "needs a name"),
        (Version("later", 9, "", NOW, {}), "revisions 0 to 0, not 9"),
    ],
)
def test_a_version_without_name_or_revision_or_named_twice_is_refused(store, job_id, version, why):
    keep_version(store, job_id, Version("signed", 0, "", NOW, {}))

    with pytest.raises(StoreError, match=why):
        keep_version(store, job_id, version)


def test_the_same_bytes_are_kept_once_under_their_hash(store):
    first, again = keep_file(store, b"photo", "image/png"), keep_file(store, b"photo", "image/png")

    assert first == again and file_body(store, first) == (b"photo", "image/png")
    with pytest.raises(Missing, match="there is no file"):
        file_body(store, "0" * 64)


def test_an_entry_of_the_log_sent_twice_is_kept_once_and_never_overwritten(store, job_id):
    entry = read_entry(VISIT % "wet")

    assert append_log(store, job_id, entry) == append_log(store, job_id, entry) == 1
    with pytest.raises(DocumentError, match="already holds another entry `v1`"):
        append_log(store, job_id, read_entry(VISIT % "dry"))
    assert log_of(store, job_id).entries == (entry,)


def test_every_question_about_an_unknown_job_says_that_it_is_missing(store):
    for ask in (job_card, loaded, history, versions, log_of):
        with pytest.raises(Missing, match="there is no job 'none' here"):
            ask(store, "none")
