"""Job files: what is refused, in which words, and how they are written."""

import json
import os

import pytest

from pondwright.base.errors import DocumentError
from pondwright.job import new_job
from pondwright.job.codec import LARGEST, dumps, loads, read_job, smallest_job, write_job


def faults_when(change):
    """Faults of the smallest job after a change, as (path, rule, found)."""
    tree = json.loads(smallest_job())
    change(tree)
    with pytest.raises(DocumentError) as caught:
        loads(json.dumps(tree))
    return [(fault.path, fault.rule, fault.found) for fault in caught.value.faults]


def with_body(**fields):
    return lambda tree: tree["shape"]["bodies"]["pond"].update(fields)


def with_site(**maps):
    return lambda tree: tree["site"].update(maps)


def with_shape(**maps):
    return lambda tree: tree["shape"].update(maps)


def with_bank(*points, **fields):
    corners = [{"distance": distance, "depth": depth} for distance, depth in points]
    return with_shape(bank_types={"bank": {"points": corners, **fields}})


def with_pegs(*pegs):
    rows = [{"id": name, "east": east, "north": north} for name, east, north in pegs]
    return with_body(outline={"form": "ring", "curve": {"pegs": rows}})


TRIANGLE = [{"id": name, "east": float(index), "north": index % 2} for index, name in enumerate("abc")]


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        pytest.param(
            with_site(lines={"toe": {"kind": "break", "shots": ["s1", "s99"]}}),
            ("site.lines.toe.shots.1", "must be a shot of `site.shots`", "`s99`"),
            id="a break line through an unknown shot",
        ),
        pytest.param(
            with_site(lines={"toe": {"kind": "break"}}),
            ("site.lines.toe", "must have either `shots` or `line`, and not both", ""),
            id="a line of nothing",
        ),
        pytest.param(
            with_site(lines={"hole": {"kind": "void", "shots": ["s1", "s2"]}}),
            ("site.lines.hole.shots", "must have at least 3 shots for a closed line", "2"),
            id="a void of two shots",
        ),
        pytest.param(
            with_body(bank_type="soft"),
            ("shape.bodies.pond.bank_type", "must be a bank type of `shape.bank_types`", "`soft`"),
            id="an unknown bank type",
        ),
        pytest.param(
            with_body(stretches={"a": {"start": "p1", "end": "p9", "bank_type": "soft"}}),
            ("shape.bodies.pond.stretches.a.end", "must be a peg of ring `outer`", "`p9`"),
            id="a stretch to an unknown peg",
        ),
        pytest.param(
            with_body(stretches={"a": {"ring": "isle", "start": "p1", "end": "p2", "bank_type": "soft"}}),
            ("shape.bodies.pond.stretches.a.ring", "must be `outer` or an island of the body", "`isle`"),
            id="a stretch on an unknown island",
        ),
        pytest.param(
            with_body(islands={"outer": {"pegs": TRIANGLE}}),
            ("shape.bodies.pond.islands.outer", "must have another id: `outer` is the shoreline itself", ""),
            id="an island that takes the shoreline's name",
        ),
        pytest.param(
            with_body(islands={"isle": {"pegs": TRIANGLE[:2]}}),
            ("shape.bodies.pond.islands.isle.pegs", "must have at least 3 pegs for a closed ring", "2"),
            id="an island of two pegs",
        ),
        pytest.param(
            with_body(level=30.0, low_level=31.0),
            ("shape.bodies.pond.low_level", "must be at most 30 m, the water level", "31 m"),
            id="a low level above the level",
        ),
        pytest.param(
            with_pegs(("a", 0, 0), ("b", 1, 1)),
            ("shape.bodies.pond.outline.curve.pegs", "must have at least 3 pegs for a closed ring", "2"),
            id="a ring of two pegs",
        ),
        pytest.param(
            with_pegs(("a", 0, 0), ("a", 1, 1), ("b", 1, 0)),
            ("shape.bodies.pond.outline.curve.pegs", "must each have their own id", "`a` 2 times"),
            id="two pegs of one id",
        ),
        pytest.param(
            with_bank((0, 0), (2, 1), (1.5, 1)),
            (
                "shape.bank_types.bank.points.2.distance",
                "must be at least 2 m, the distance before it",
                "1.5 m",
            ),
            id="a bank that runs back",
        ),
        pytest.param(
            with_bank((0.5, 0), (2, 1)),
            (
                "shape.bank_types.bank.points.0",
                "must be the water's edge: distance 0 m, depth 0 m",
                "distance 0.5 m, depth 0 m",
            ),
            id="a bank that does not start at the edge",
        ),
        pytest.param(
            with_bank((0, 0), (2, 1), zone_names=["slope"]),
            ("shape.bank_types.bank.zone_names", "must be one for each point (2), or none", "1"),
            id="zones named by halves",
        ),
        pytest.param(
            with_shape(berms={"a": {"body": "pond"}, "b": {"body": "pond"}}),
            ("shape.berms", "must each have their own id", "`pond` 2 times"),
            id="two berms of one body",
        ),
        pytest.param(
            with_shape(berms={"a": {"body": "lake"}}),
            ("shape.berms.a.body", "must be a body of `shape.bodies`", "`lake`"),
            id="a berm of no body",
        ),
        pytest.param(
            lambda tree: tree.update(
                build_up={"a": {"place": {"at": "whole"}, "layers": [{"item": "sand", "thickness": 0.1}]}}
            ),
            ("build_up.a.layers.0.item", "must be an item of `catalogue`", "`sand`"),
            id="a layer of nothing in the catalogue",
        ),
        pytest.param(
            with_site(
                soils={
                    "a": {
                        "place": {"at": "whole"},
                        "layers": [{"kind": "clay", "permeability": {"low": 3, "likely": 2, "high": 4}}],
                    }
                }
            ),
            (
                "site.soils.a.layers.0.permeability",
                "must have low <= likely <= high",
                "low 3, likely 2, high 4",
            ),
            id="a range out of order",
        ),
        pytest.param(
            with_site(
                soils={"a": {"place": {"at": "whole"}, "layers": [{"kind": "clay"}, {"kind": "sand"}]}}
            ),
            (
                "site.soils.a.layers.0.thickness",
                "is missing: only the lowest layer may reach to the bottom",
                "",
            ),
            id="a layer below one without an end",
        ),
        pytest.param(
            with_site(
                shots={"a": {"place": {"by": "bearing", "from_mark": "oak", "bearing": 1, "distance": 2}}}
            ),
            ("site.shots.a.place.from_mark", "must be a mark of `site.marks`", "`oak`"),
            id="a bearing from an unknown mark",
        ),
        pytest.param(
            with_site(
                shots={"a": {"place": {"by": "bearing", "from_mark": "oak", "bearing": 1, "distance": -2}}}
            ),
            ("site.shots.a.place.distance", "must be at least 0 m", "-2 m"),
            id="a distance below nothing, with its unit",
        ),
        pytest.param(
            with_site(shots={"a": {"place": {"by": "book"}, "elevatoin": 3}}),
            ("site.shots.a.elevatoin", "is not known here: is it `elevation`?", ""),
            id="a misspelt name",
        ),
        pytest.param(
            with_site(shots={"A 1": {"place": {"by": "book"}}}),
            ("site.shots.A 1", "must be small letters, digits and _, a letter first, 40 at most", '"A 1"'),
            id="an id of the wrong form",
        ),
        pytest.param(
            lambda tree: tree.update(storm={}),
            ("storm", "is a section of a newer pondwright: open the job with that version", ""),
            id="a section of a later room",
        ),
        pytest.param(
            lambda tree: tree.update(rules={"shape.freeboard": {"limit": 0.2, "reason": " ", "by": "A"}}),
            ("rules.shape.freeboard.reason", "must not be empty: a decision has a reason and a name", ""),
            id="a rule without a reason",
        ),
        pytest.param(
            lambda tree: tree.update(format=True),
            ("format", "must be a whole number", "true"),
            id="a format that is no number",
        ),
        pytest.param(
            lambda tree: tree.update(format=0),
            ("format", "must be at least 1", "0"),
            id="a format before the first",
        ),
    ],
)
def test_a_broken_rule_is_told_with_path_rule_and_value(change, fault):
    assert fault in faults_when(change)


def test_all_faults_are_told_at_once():
    def change(tree):
        tree["name"] = 3
        tree["site"]["shots"]["s1"]["elevation"] = "30.1"
        tree["site"]["shots"]["s2"]["surface"] = "mud"
        del tree["site"]["shots"]["s3"]["place"]

    assert faults_when(change) == [
        ("name", "must be text", "3"),
        ("site.shots.s1.elevation", "must be a number", '"30.1"'),
        ("site.shots.s2.surface", "must be 'ground', 'muck', 'firm', 'water' or 'structure'", '"mud"'),
        ("site.shots.s3.place", "is missing", ""),
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "there is nothing in it: it must hold a job"),
        ('{"a": 1', "this is not JSON: expecting ',' delimiter at line 1, column 8"),
        ("[]", "this is not a job: it must be an object in braces { }"),
        ('{"a": 1, "a": 2}', 'the name "a" stands twice in one object'),
        ('{"a": NaN}', "NaN is not a number that a job can hold"),
        ('{"a": -Infinity}', "-Infinity is not a number that a job can hold"),
        ("[" * 100_000, "the file is nested too deep to be a job"),
        ('{"a":' * 500 + "1" + "}" * 500, "the file is nested too deep to be a job"),
        ('{"format":' + "9" * 5000 + "}", "a number in the file has too many digits"),
        (
            '{"format": 1, "name": "\\ud800"}',
            "this is not JSON: unexpected end of hex escape at line 1 column 30",
        ),
        (b"\xff\xfe{", "the file is not UTF-8 text: save it again as UTF-8"),
        ("\ud800", "the file is not UTF-8 text: save it again as UTF-8"),
        (
            '{"format": 2}',
            "this job was written by a newer pondwright (format 2, known up to 1): open it with that version",
        ),
    ],
    ids=range(13),
)
def test_a_text_that_is_no_job_is_refused_in_one_sentence(text, says):
    with pytest.raises(DocumentError) as caught:
        loads(text)

    assert str(caught.value) == says


def test_a_file_beyond_the_limit_is_refused_before_it_is_read():
    with pytest.raises(DocumentError, match=r"too large for a job: 32.0 MB, at most 32 MB"):
        loads(b" " * (LARGEST + 1))


def test_a_list_of_millions_is_refused_before_its_faults_are_gathered():
    text = '{"shape": {"bodies": {"a": {"outline": {"curve": {"pegs": [' + "0," * 1_000_000 + "0]}}}}}}"

    with pytest.raises(DocumentError, match="more than 1,000,000 entries"):
        loads(text)


def test_more_faults_than_anybody_reads_are_only_counted():
    shots = {f"s{index}": 0 for index in range(10_001)}

    with pytest.raises(DocumentError, match=r"10,00\d faults: it is hardly a job"):
        loads(json.dumps({"format": 1, "id": "a", "name": "", "site": {"shots": shots}}))


def test_a_byte_order_mark_is_let_through():
    assert loads(b"\xef\xbb\xbf" + smallest_job().encode()) == loads(smallest_job())


def test_canonical_text_has_sorted_names_and_leaves_defaults_out():
    assert dumps(new_job("Mill Lane")) == '{"format": 1, "id": "mill_lane", "name": "Mill Lane"}\n'


def test_a_row_of_a_map_has_a_line_of_its_own():
    lines = dumps(loads(smallest_job())).splitlines()

    assert '   "s1": {"elevation": 30.1, "place": {"by": "coordinates", "east": 0.0, "north": 0.0}},' in lines


def test_a_job_comes_back_from_its_file(tmp_path):
    path = tmp_path / "mill.pond.json"
    job = loads(smallest_job())

    write_job(path, job)

    assert read_job(path) == job
    assert [entry.name for entry in tmp_path.iterdir()] == ["mill.pond.json"]


def test_a_write_that_fails_leaves_the_old_file_in_place(tmp_path, monkeypatch):
    path = tmp_path / "mill.pond.json"
    old = loads(smallest_job())
    write_job(path, old)

    def fail(*_):
        raise OSError("disk full")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(OSError, match="disk full"):
        write_job(path, new_job("other"))

    assert read_job(path) == old
    assert [entry.name for entry in tmp_path.iterdir()] == ["mill.pond.json"]


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(DocumentError, match=r"`none.pond.json` cannot be read: No such file"):
        read_job(tmp_path / "none.pond.json")


def test_a_broken_file_is_named_and_keeps_its_faults(tmp_path):
    path = tmp_path / "bad.pond.json"
    path.write_text('{"format": 1, "id": "a"}', encoding="utf-8")

    with pytest.raises(DocumentError, match=r"`bad.pond.json`: the job has one fault") as caught:
        read_job(path)

    assert [fault.path for fault in caught.value.faults] == ["name"]
