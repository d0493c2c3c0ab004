"""The commands ``pondwright lining`` and ``pondwright stone``."""

import json
from typing import get_args

import pytest

from pondwright.cli.lining import VERDICTS
from pondwright.cli.main import main
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW_SHAPED, UPPER_FIELD, example_text
from pondwright.rooms.lining.tapes import Verdict


@pytest.fixture
def shaped(tmp_path):
    path = tmp_path / "shaped.pond.json"
    path.write_text(example_text(LARKMEADOW_SHAPED), encoding="utf-8")
    return str(path)


def rows_below(said, head):
    """Lines of the block that begins with a line."""
    lines = said.splitlines()
    start = lines.index(head)
    end = lines.index("", start) if "" in lines[start:] else len(lines)
    return lines[start + 1 : end]


def test_lining_prints_what_is_ordered(shaped, capsys):
    assert main(["lining", shaped]) == 0
    said = capsys.readouterr().out

    names = [row.split()[0] for row in rows_below(said, "liners")[1:]]
    assert names == ["intake", "pond", "stream", "wetland"]
    for head in (
        "piece list",
        "rolls",
        "pipes through the liner",
        "tape in the hole",
        "the pull",
        "liner's edge",
    ):
        assert rows_below(said, head)
    assert "not run yet" in said or "proved" in said
    assert "stop" not in [line.split()[0] for line in said.splitlines() if line]


def test_lining_as_json_is_in_house_units(shaped, capsys):
    assert main(["lining", shaped, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)

    pond = told["order"]["liners"]["pond"]
    assert pond["ordered_area"] >= told["area"]["liners"]["pond"]["area"]
    assert pond["pieces"]["A"]["length"] * pond["pieces"]["A"]["width"] == pytest.approx(pond["ordered_area"])
    assert {check["code"].split(".")[0] for check in told["checks"]} == {"lining"}


def test_stone_prints_classes_loads_and_the_yard_list(shaped, capsys):
    assert main(["stone", shaped]) == 0
    said = capsys.readouterr().out

    rows = rows_below(said, "stone by class")
    assert [row.split()[0] for row in rows[1:]][-1] == "all"
    yard = rows_below(said, "yard list: 22 of 24 stones have a place")
    assert sum("Left over" in row for row in yard) == 2
    assert any("(changed)" in row for row in yard)
    assert len(rows_below(said, "trucks with measured stones")) == 5


def test_stone_as_json_has_every_figure(shaped, capsys):
    assert main(["stone", shaped, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)

    classes = told["takeoff"]["classes"]
    assert sum(one["mass"] for one in classes.values()) == pytest.approx(told["takeoff"]["mass"])
    assert told["net_storage"]["bodies"]["pond"]["volume"] < told["net_storage"]["bodies"]["pond"]["gross"]


@pytest.mark.parametrize("name", [DOZEN_SHOTS, UPPER_FIELD])
@pytest.mark.parametrize("command", ["lining", "stone"])
def test_a_job_that_tells_nothing_of_them_has_an_answer_all_the_same(name, command, tmp_path, capsys):
    path = tmp_path / "job.pond.json"
    path.write_text(example_text(name), encoding="utf-8")

    assert main([command, str(path)]) in (0, 1)
    assert capsys.readouterr().out.strip()


def test_without_water_there_is_one_sentence(tmp_path, capsys):
    plain = json.loads(example_text(DOZEN_SHOTS))
    plain["shape"]["bodies"] = {}
    path = tmp_path / "dry.pond.json"
    path.write_text(json.dumps(plain), encoding="utf-8")

    for command, sentence in (
        ("lining", "No water to line yet: draw a shoreline first."),
        ("stone", "No stone is asked for yet."),
    ):
        main([command, str(path)])
        assert capsys.readouterr().out.strip() == sentence


def test_every_verdict_of_a_tape_has_its_words():
    assert set(VERDICTS) == set(get_args(Verdict))
