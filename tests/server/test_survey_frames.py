"""What the live channel tells of the survey: lines of books, places of shots, muck, what came and went."""

import json

import numpy as np
import pytest

from pondwright import api
from pondwright.examples import example_text
from pondwright.job.codec import loads
from pondwright.server.arrays import Wish
from pondwright.server.frames import AT_REST, NAMES, frame

BOOK = {
    "unit": "ft",
    "set_ups": [
        {
            "station": "",
            "backsights": [{"point": "bm", "rod": 1.2}],
            "readings": [{"point": "p1", "rod": 2.2, "kind": "side"}],
        },
        {"station": "", "backsights": [{"point": "lost", "rod": 1.0}], "readings": []},
    ],
}


def job_of(example=None, **site):
    """An example, or an empty job, with more of a site."""
    tree = json.loads(example_text(example or "dozen_shots"))
    if example is None:
        tree["site"], tree["shape"] = {}, {}
    tree["site"] = {**tree.get("site", {}), **site}
    return loads(json.dumps(tree))


def arrays_of(job, *names, at_rest=True):
    """Arrays of a frame by name, each with its head."""
    body, _told = frame(api.compute(job), 0, Wish(0, 1, frozenset(names), (), at_rest))
    length = int.from_bytes(body[4:8], "little")
    heads = json.loads(body[8 : 8 + length])["arrays"]
    start = 8 + length
    return [
        (
            head,
            np.frombuffer(body, head["dtype"], int(np.prod(head["shape"])), start + head["offset"]).reshape(
                head["shape"]
            ),
        )
        for head in heads
    ]


def test_a_book_is_told_line_by_line_before_there_is_any_ground():
    job = job_of(marks={"bm": {"elevation": 30.0}}, books={"day": BOOK})

    ((head, table),) = arrays_of(job, "book_lines")

    assert head["book"] == "day" and head["columns"] == ["instrument", "elevation", "correction", "adjusted"]
    assert table[:2, 0] == pytest.approx([31.2, 31.2]) and table[:2, 3] == pytest.approx([30.0, 29.0])
    assert np.isnan(table[2]).all(), "nothing known leads to the last line"


def test_only_shots_that_the_document_does_not_place_are_told():
    marks = {
        "a": {"place": {"at": "point", "east": 0.0, "north": 0.0}},
        "b": {"place": {"at": "point", "east": 30.0, "north": 0.0}},
        "bm": {"elevation": 30.0},
    }
    shots = {
        "s1": {"place": {"by": "coordinates", "east": 0.0, "north": 0.0}, "elevation": 30.0},
        "s2": {"place": {"by": "coordinates", "east": 30.0, "north": 0.0}, "elevation": 30.0},
        "s3": {"place": {"by": "offset", "base": ["a", "b"], "along": 10.0, "off": 20.0}, "elevation": 31.0},
        "p1": {"place": {"by": "coordinates", "east": 30.0, "north": 30.0}},
    }

    ((head, table),) = arrays_of(job_of(marks=marks, shots=shots, books={"day": BOOK}), "places")

    told = dict(zip(head["ids"], table.tolist(), strict=True))
    assert told == {"s3": pytest.approx([10.0, 20.0, 31.0]), "p1": pytest.approx([30.0, 30.0, 29.0])}


def test_what_a_later_survey_changed_is_told_inside_its_ring_alone():
    old = {
        f"o{at}": {"place": {"by": "coordinates", "east": east, "north": north}, "elevation": 100.0}
        for at, (east, north) in enumerate([(x, y) for x in (0, 10, 20, 30, 40) for y in (0, 10, 20, 30, 40)])
    }
    new = {
        f"n{at}": {
            "place": {"by": "coordinates", "east": east, "north": north},
            "elevation": 99.0,
            "survey": "emptied",
        }
        for at, (east, north) in enumerate([(x, y) for x in (14, 20, 26) for y in (14, 20, 26)])
    }
    job = job_of(shots={**old, **new}, surveys={"emptied": {}})

    ((head, rise),) = arrays_of(job, "rise")

    metres = rise * head["scale"] + head["zero"]
    assert metres.min() == pytest.approx(-1.0, abs=0.01) and metres.max() <= 0.01
    assert (metres == 0.0).mean() > 0.5, "outside the ring nothing came or went"
    assert arrays_of(job_of(shots=old), "rise") == []


def test_the_old_hole_and_its_muck_are_told_of_the_example():
    (_, muck), (head, storage) = arrays_of(job_of("larkmeadow"), "muck", "old_storage")

    assert muck.max() > 0
    assert head["columns"] == ["level", "volume", "area"]
    assert (np.diff(storage[:, 0]) > 0).all() and (np.diff(storage[:, 1]) >= 0).all() and storage[0, 1] == 0.0


def test_each_place_to_shoot_next_narrows_the_volume_and_says_why():
    ((head, table),) = arrays_of(job_of("larkmeadow"), "next_shots")

    assert 1 <= len(table) <= 5 and len(head["says"]) == len(table)
    assert (table[:, 3] < table[:, 2]).all()
    assert (np.diff(table[:, 3]) >= 0).all(), "the best stands first"


@pytest.mark.parametrize("name", sorted(AT_REST))
def test_what_no_drag_moves_travels_only_at_rest(name):
    assert name in NAMES
    assert arrays_of(job_of("dozen_shots"), name, at_rest=False) == []
