"""Edits: operations one by one, and what is refused."""

import json

import pytest

from pondwright.base.errors import DocumentError
from pondwright.base.findings import Op
from pondwright.job.codec import dumps, loads, smallest_job
from pondwright.job.edits import Edit, apply, inverse, overlaps, plain_edit, read_edit
from pondwright.job.places import Peg
from pondwright.job.site import Shot


@pytest.fixture
def job():
    tree = json.loads(smallest_job())
    tree["site"]["lines"] = {"toe": {"kind": "break", "shots": ["s1", "s2"]}}
    return loads(json.dumps(tree))


def edit(*ops):
    return Edit("e1", 3, ops, "Move a shot")


def refusal(job, *ops):
    """The one fault of an edit, as it is told."""
    with pytest.raises(DocumentError) as caught:
        apply(job, edit(*ops))
    (fault,) = caught.value.faults
    return str(fault)


def test_replacing_one_property_leaves_the_rest_the_same_objects(job):
    after = apply(job, edit(Op("replace", "/site/shots/s1/elevation", 31.5)))

    assert after.site.shots["s1"].elevation == 31.5
    assert after.site.shots["s1"].place is job.site.shots["s1"].place
    assert after.site.shots["s2"] is job.site.shots["s2"]
    assert after.site.lines is job.site.lines
    assert after.shape is job.shape
    assert job.site.shots["s1"].elevation == 30.1


def test_only_what_is_touched_is_validated_again(job, monkeypatch):
    made = []
    monkeypatch.setattr(Peg, "broken_rules", lambda peg: made.append(peg) or iter(()))
    monkeypatch.setattr(Shot, "broken_rules", lambda shot: made.append(shot) or iter(()))

    after = apply(job, edit(Op("replace", "/site/shots/s1/elevation", 31.5)))

    assert made == [after.site.shots["s1"]]


def test_the_inverse_takes_several_operations_back_in_reverse_order(job):
    several = edit(
        Op("remove", "/site/lines/toe"),
        Op("remove", "/site/shots/s1"),
        Op("add", "/site/shots/s1", {"place": {"by": "book"}}),
        Op("replace", "/site/shots/s1/code", "gr"),
    )

    back = inverse(job, several)

    assert [op.op for op in back.ops] == ["replace", "remove", "add", "add"]
    assert back.label == "Undo: Move a shot"
    assert dumps(apply(apply(job, several), back)) == dumps(job)


def test_taking_a_property_away_brings_its_default_back(job):
    after = apply(job, edit(Op("remove", "/shape/bodies/pond/level"), Op("remove", "/site/lines")))

    assert after.shape.bodies["pond"].level is None
    assert after.site.lines == {}


def test_rules_are_asked_after_the_last_operation(job):
    pegs = [
        {"id": name, "east": east, "north": north}
        for name, east, north in [("a", 0, 0), ("b", 4, 0), ("c", 2, 3)]
    ]

    after = apply(
        job,
        edit(
            Op(
                "add",
                "/shape/bank_types/soft",
                {"points": [{"distance": 0, "depth": 0}, {"distance": 2, "depth": 1}]},
            ),
            Op("add", "/shape/bodies/pond/stretches/one", {"start": "a", "end": "b", "bank_type": "soft"}),
            Op("replace", "/shape/bodies/pond/outline/curve/pegs", pegs),
        ),
    )

    assert after.shape.bodies["pond"].pegs("outer") == {"a", "b", "c"}


@pytest.mark.parametrize(
    ("op", "told"),
    [
        (
            Op("replace", "/site/shots/s1/elevation", "x"),
            '`site.shots.s1.elevation` must be a number, got "x"',
        ),
        (
            Op("replace", "/shape/slopes/cut", -1),
            "`shape.slopes.cut` must be more than 0 m/m, got -1 m/m",
        ),
        (Op("replace", "/site/shots/s9/elevation", 1), "`site.shots.s9` is not there"),
        (Op("remove", "/site/shots/s9"), "`site.shots.s9` is not there"),
        (
            Op("remove", "/site/shots/s1"),
            "`site.lines.toe.shots.0` must be a shot of `site.shots`, got `s1`",
        ),
        (
            Op("remove", "/site/shots/s1/place"),
            "`site.shots.s1.place` must be there: it can only be replaced",
        ),
        (Op("test", "/shape/bodies/pond/level", 5), "`shape.bodies.pond.level` must still be 5, got 30.0"),
        (
            Op("replace", "/shape/bodies/pond/outline/curve/pegs/0/east", 5),
            "`shape.bodies.pond.outline.curve.pegs` must be replaced whole: an edit cannot reach inside it",
        ),
        (Op("add", "/nothing", 5), "`nothing` is not known here"),
        (Op("add", "", 5), "`path` must be a path such as /shape/bodies/pond/level"),
        (Op("add", "/", 5), "`/` must be a path such as /shape/bodies/pond/level"),
        (Op("move", "/site", 5), '`site` must be changed by one of add, remove, replace, test, got "move"'),
        (
            Op("replace", "/shape/bodies/pond/bank_type", "soft"),
            "`shape.bodies.pond.bank_type` must be a bank type of `shape.bank_types`, got `soft`",
        ),
        (
            Op("replace", "/shape/bodies/pond/low_level", 99),
            "`shape.bodies.pond.low_level` must be at most 30 m, the water level, got 99 m",
        ),
        (
            Op("replace", "/shape/bodies/pond/level", float("nan")),
            "`shape.bodies.pond.level` must be a finite number, got NaN",
        ),
        (
            Op("replace", "/name", "\ud800"),
            "`name` must be plain text and numbers, not nested without end",
        ),
        (Op("replace", "/name", b"x"), "`name` must be a plain JSON value"),
        (Op("replace", "/format", 2), "`format` must be at most 1, got 2"),
    ],
    ids=range(18),
)
def test_an_operation_that_does_not_fit_is_refused_with_its_path(job, op, told):
    assert refusal(job, op) == told


def test_an_edit_is_all_or_nothing(job):
    before = dumps(job)

    refusal(job, Op("replace", "/name", "other"), Op("replace", "/demo", "no"))

    assert dumps(job) == before


def test_a_slash_in_a_name_is_written_as_the_standard_says(job):
    told = refusal(job, Op("replace", "/site/shots/a~1b/code", "x"))

    assert told == "`site.shots.a/b` is not there"


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("/site/shots/s1", "/site/shots/s1/elevation", True),
        ("/site/shots/s1/elevation", "/site/shots/s1", True),
        ("/site/shots/s1", "/site/shots/s1", True),
        ("/site/shots/s1", "/site/shots/s10", False),
        ("/site/shots/s1/elevation", "/site/shots/s1/code", False),
    ],
)
def test_edits_overlap_where_one_touches_what_is_in_the_other(first, second, expected):
    assert overlaps([Op("replace", first)], [Op("replace", second)]) is expected


def test_an_edit_is_read_from_what_a_screen_sends():
    plain = {"id": "c1-7", "base": 4, "ops": [{"op": "remove", "path": "/brief"}], "label": "Clear"}

    read = read_edit(plain)

    assert read == Edit("c1-7", 4, (Op("remove", "/brief"),), "Clear")
    assert plain_edit(read) == plain


def test_all_faults_of_a_form_are_told():
    with pytest.raises(DocumentError) as caught:
        read_edit({"id": "", "base": True, "ops": [{"op": "move", "path": "x"}, 3], "label": 1})

    assert [fault.path for fault in caught.value.faults] == [
        "id",
        "base",
        "label",
        "ops.0.op",
        "ops.0.path",
        "ops.0.value",
        "ops.1",
    ]
