"""Photos of the log: before and after from one spot, and those that repeat what is not there."""

import json

from pondwright.job.log import Log, read_entry
from pondwright.job.photos import photo_pairs, photos_of


def entry(name, day, kind="photo", **facts):
    return read_entry(json.dumps({"kind": kind, "id": name, "time": f"2027-03-{day:02}T08:00:00Z", **facts}))


def test_a_chain_of_photos_makes_a_pair_at_each_step():
    log = Log((entry("a", 1), entry("b", 2, repeats="a"), entry("c", 3, repeats="b")))

    assert [(before.id, after.id) for before, after in photo_pairs(log).pairs] == [("a", "b"), ("b", "c")]


def test_the_earlier_one_is_before_whichever_came_in_first_or_names_the_other():
    log = Log((entry("b", 5, repeats="a"), entry("a", 1), entry("old", 1), entry("older", 2, repeats="b")))

    assert [(one.id, two.id) for one, two in photo_pairs(log).pairs] == [("older", "b"), ("a", "b")]


def test_a_photo_that_repeats_nothing_itself_or_no_photo_is_adrift():
    log = Log(
        (
            entry("v", 1, "visit"),
            entry("a", 2, repeats="gone"),
            entry("b", 3, repeats="b"),
            entry("c", 4, repeats="v"),
        )
    )

    found = photo_pairs(log)

    assert found.pairs == () and [photo.id for photo in found.adrift] == ["a", "b", "c"]


def test_photos_come_by_their_time_and_other_entries_are_none():
    log = Log((entry("b", 9), entry("v", 1, "visit"), entry("a", 2)))

    assert [photo.id for photo in photos_of(log)] == ["a", "b"]
