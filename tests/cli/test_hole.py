"""``pondwright hole``: the old hole as a person reads it, and as a program does."""

import json

import pytest

from pondwright import api
from pondwright.cli.main import main
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW, example_text


@pytest.fixture
def file(tmp_path):
    def written(name):
        path = tmp_path / f"{name}.pond.json"
        path.write_text(example_text(name), encoding="utf-8")
        return str(path)

    return written


def test_the_old_hole_is_printed_with_its_marks_its_storage_and_its_muck(file, capsys):
    assert main(["hole", file(LARKMEADOW)]) == 0

    said = capsys.readouterr().out
    table = said[said.index("     level") :].split("\n\n")[0].splitlines()
    assert "floor                 90.6" in said and "97.4" in said
    assert len(table) == 1 + 9
    assert "muck" in said and "yd³" in said
    assert "the old hole leaks, or nothing feeds it above that mark" in said


def test_volumes_of_the_table_grow_from_nothing_to_the_lip(file, capsys):
    main(["hole", file(LARKMEADOW), "--json"])

    told = json.loads(capsys.readouterr().out)["hole"]
    assert told["volumes"][0] == 0.0 and told["volumes"] == sorted(told["volumes"])
    assert told["volumes"][-1] == told["volume"]
    assert told["levels"][0] == told["floor"] and told["levels"][-1] == told["lip"]


def test_ground_without_a_hollow_says_so(file, capsys):
    assert main(["hole", file(DOZEN_SHOTS)]) == 0

    assert "no hollow that would hold water" in capsys.readouterr().out


def test_a_job_without_a_survey_says_what_is_missing(tmp_path, capsys):
    path = tmp_path / "empty.pond.json"
    api.save_job(api.new_job("Mill Lane 4"), path)

    assert main(["hole", str(path)]) == 2
    assert "at least three shots" in capsys.readouterr().err
