"""The file: opened by old and new, shared by two, filled to the brim, and never half written."""

import sqlite3
import threading
from pathlib import Path

import pytest

from pondwright.base.errors import StoreError
from pondwright.job.codec import dumps
from pondwright.store import (
    Unusable,
    append_edit,
    connection,
    history,
    job_cards,
    keep_file,
    keep_job,
    loaded,
    log_of,
    open_store,
    versions,
)
from pondwright.store.migrations import STEPS
from tests.store.edits import NOW, level, small_job

OLD_FILES = Path(__file__).resolve().parents[1] / "old_files"


def dumped(file):
    """Whole content of a store as SQL."""
    with sqlite3.connect(file) as opened:
        lines = list(opened.iterdump())
    opened.close()
    return lines


def test_a_store_of_format_1_opens_with_all_that_it_holds(tmp_path):
    file = tmp_path / "old.sqlite"
    opened = sqlite3.connect(file)
    opened.executescript((OLD_FILES / "store_format_1.sql").read_text(encoding="utf-8"))
    opened.close()

    store = open_store(file)

    card = job_cards(store)[0]
    assert (card.name, card.rev, card.state) == ("Old Mill", 3, "signed")
    job, rev = loaded(store, card.id)
    assert rev == 3 and job.shape.bodies["pond"].level == 98.5 and job.brief.client == "Mrs. Hale"
    assert [edit.label for edit in history(store, card.id)] == ["raise", "client", "lower"]
    assert versions(store, card.id)[0].figures == {"shape.storage.bodies.pond.volume": 12.5}
    assert log_of(store, card.id).entries[0].note == "wet"
    store.close()


def test_an_old_file_that_was_brought_up_to_date_has_the_tables_that_a_new_store_has(tmp_path, store, file):
    """A table that changes needs a step in migrations.py, and the old file stays as it is."""
    old = tmp_path / "old.sqlite"
    with sqlite3.connect(old) as opened:
        opened.executescript((OLD_FILES / "store_format_1.sql").read_text(encoding="utf-8"))
    opened.close()
    open_store(old).close()

    def tables(of):
        return {" ".join(line.split()) for line in dumped(of) if line.startswith("CREATE TABLE")}

    assert len(STEPS) == 2
    assert tables(old) == tables(file)


def test_a_new_store_has_the_tables_of_format_1_as_they_were(store, file):
    old = " ".join((OLD_FILES / "store_format_1.sql").read_text(encoding="utf-8").split())

    tables = [" ".join(line.split()) for line in dumped(file) if line.startswith("CREATE TABLE")]

    assert [line for line in tables if line not in old] == [
        "CREATE TABLE past_job ( id TEXT NOT NULL, body TEXT NOT NULL, PRIMARY KEY (id) );"
    ]


def test_opening_again_changes_nothing(store, file):
    keep_job(store, small_job(), NOW)
    before = dumped(file)

    open_store(file).close()

    assert dumped(file) == before


def test_a_store_of_a_newer_format_is_refused_and_left_as_it_is(store, file):
    with store.writing() as opened:
        opened.exec_driver_sql("UPDATE store_format SET format = 99")
    before = dumped(file)

    with pytest.raises(StoreError, match="format 99, made by a newer pondwright"):
        open_store(file)
    assert dumped(file) == before


def test_a_file_that_is_no_store_is_refused_in_one_sentence(tmp_path):
    file = tmp_path / "notes.sqlite"
    file.write_text("my shopping list, which is long enough to be read as the head of a database " * 20)

    with pytest.raises(Unusable, match="is not a store of pondwright"):
        open_store(file)
    assert file.read_text().startswith("my shopping list")


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "data").write_text("a file, not a folder")

    with pytest.raises(StoreError, match="cannot be made"):
        open_store(tmp_path / "data" / "jobs.sqlite")


def test_a_folder_in_the_place_of_the_file_is_told(tmp_path):
    with pytest.raises(Unusable, match="cannot be used"):
        open_store(tmp_path)


def test_a_name_with_signs_that_addresses_use_is_a_name(tmp_path):
    file = tmp_path / "jobs 100%?#.sqlite"

    open_store(file).close()

    assert file.is_file()


def test_the_file_is_synced_at_every_commit(store):
    with store.reading() as opened:
        assert opened.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert opened.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
        assert opened.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_a_second_writer_waits_for_the_first(store, file):
    job_id = keep_job(store, small_job(), NOW)
    second, outcomes = open_store(file), []
    with store.writing():
        waiting = threading.Thread(
            target=lambda: outcomes.append(append_edit(second, job_id, level(99.0), "Ada", NOW))
        )
        waiting.start()
        waiting.join(0.2)
        assert outcomes == []
    waiting.join()

    assert [outcome.rev for outcome in outcomes] == [1]
    second.close()


def test_a_writer_that_waits_in_vain_is_told(file, monkeypatch):
    monkeypatch.setattr(connection, "WAIT", 0.05)
    first, second = open_store(file), open_store(file)

    with first.writing(), pytest.raises(Unusable, match="another program has been writing"):
        keep_job(second, small_job(), NOW)
    first.close()
    second.close()


def test_a_reader_does_not_wait_for_a_writer_and_sees_one_state(store, file):
    job_id = keep_job(store, small_job(), NOW)
    other = open_store(file)
    with store.reading() as opened:
        rows = "SELECT count(*) FROM edit"
        before = opened.exec_driver_sql(rows).scalar()
        append_edit(other, job_id, level(99.0), "Ada", NOW)

        assert opened.exec_driver_sql(rows).scalar() == before == 0
    other.close()


def test_a_full_disk_is_told_and_nothing_of_the_change_is_kept(store):
    job_id = keep_job(store, small_job(), NOW)
    append_edit(store, job_id, level(99.0), "Ada", NOW)
    before = dumps(loaded(store, job_id)[0])
    with store.reading() as opened:
        pages = opened.exec_driver_sql("PRAGMA page_count").scalar()
    connection.event.listen(
        store.engine, "checkout", lambda opened, *_rest: opened.execute(f"PRAGMA max_page_count={pages}")
    )

    with pytest.raises(Unusable, match="is full: nothing of this change was kept"):
        keep_file(store, bytes(1_000_000), "image/png")

    store.heads.clear()
    assert dumps(loaded(store, job_id)[0]) == before
    with store.reading() as opened:
        assert opened.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"


def test_a_change_that_fails_half_way_leaves_no_trace(store):
    with pytest.raises(ZeroDivisionError), store.writing() as opened:
        opened.exec_driver_sql("DELETE FROM store_format")
        _ = 1 / 0

    with store.reading() as opened:
        assert opened.exec_driver_sql("SELECT count(*) FROM store_format").scalar() == 1


def test_two_programs_see_each_others_edits(store, file):
    job_id = keep_job(store, small_job(), NOW)
    other = open_store(file)
    loaded(other, job_id)

    append_edit(store, job_id, level(99.0), "Ada", NOW)

    assert loaded(other, job_id)[0].shape.bodies["pond"].level == 99.0
    other.close()
