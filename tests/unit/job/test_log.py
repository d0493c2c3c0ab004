"""The log: append-only, idempotent, one entry a line."""

import json

import pytest

from pondwright.base.errors import DocumentError
from pondwright.job.log import Log, read_entry, read_log, write_log

TIME = "2026-06-01T08:30:00Z"
ENTRIES = [
    {"kind": "level", "of": "pond", "elevation": 29.71},
    {"kind": "rod", "point": "s1", "reading": 1.655, "set_up": "A"},
    {"kind": "as_built", "place": {"east": 1, "north": 2}, "elevation": 29.9, "feature": "crest"},
    {"kind": "meter", "node": "fill", "reading": 12.5},
    {"kind": "test", "test": "iron", "value": 0.4, "unit": "g/m³"},
    {"kind": "bucket", "body": "pond", "pond_drop": 0.012, "bucket_drop": 0.008, "duration": 86400},
    {"kind": "day", "crew": ["A", "B"], "hours": 16, "quantities": {"dig": 41.0}},
    {"kind": "photo", "place": {"east": 1, "north": 2}, "files": ["0" * 64]},
    {"kind": "visit", "note": "clear down to the lily shelf"},
    {"kind": "ticket", "item": "gravel", "quantity": 9.8, "unit": "t"},
    {"kind": "hold", "point": "liner laid", "released": True},
]


def entry(number=0, **changed):
    return read_entry(json.dumps({"id": f"Phone-{number}", "time": TIME, **ENTRIES[number], **changed}))


def test_every_kind_of_entry_comes_back_from_its_text():
    log = Log()
    for number in range(len(ENTRIES)):
        log = log.appended(entry(number))

    assert read_log(write_log(log)) == log
    assert len(log.entries) == 11


def test_an_entry_sent_twice_is_kept_once():
    log = Log().appended(entry())

    assert log.appended(entry()) is log


def test_an_entry_is_never_overwritten():
    log = Log().appended(entry())

    with pytest.raises(DocumentError, match="already holds another entry `Phone-0`"):
        log.appended(entry(elevation=30.0))


def test_an_entry_is_found_by_its_id():
    log = Log().appended(entry(1)).appended(entry(0))

    assert log.by_id["Phone-0"] == entry(0)
    assert [row.id for row in log.entries] == ["Phone-1", "Phone-0"]


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"elevation": "high"}, '`elevation` must be a number, got "high"'),
        (
            {"time": "2026-06-01T08:30:00"},
            "`time` must be a time with its zone, such as 2026-03-12T14:30:00Z",
        ),
        ({"time": "soon"}, '`time` must be a time such as 2026-03-12T14:30:00Z, got "soon"'),
        ({"id": "a b"}, '`id` must be letters, digits, - and _, 64 at most, got "a b"'),
        ({"kind": "smell"}, "`kind` must be 'level' or 'rod'"),
    ],
    ids=range(5),
)
def test_a_broken_entry_is_refused_with_its_fault(changed, told):
    with pytest.raises(DocumentError) as caught:
        entry(**changed)

    assert str(caught.value.faults[0]).startswith(told)


def test_a_broken_line_is_named():
    text = write_log(Log().appended(entry())) + '\n{"id": "x"}\n'

    with pytest.raises(DocumentError, match="line 3 of the log") as caught:
        read_log(text)

    assert caught.value.faults[0].path == "line 3.kind"


def test_two_entries_of_one_id_in_a_file_are_refused_with_the_line():
    text = write_log(Log().appended(entry())) + write_log(Log().appended(entry(elevation=30.0)))

    with pytest.raises(DocumentError, match="line 2 of the log: the log already holds another entry"):
        read_log(text)


def test_lines_are_only_broken_where_the_file_breaks_them():
    log = Log().appended(entry(note="one\u2028two\x85three"))

    assert read_log(write_log(log)) == log
