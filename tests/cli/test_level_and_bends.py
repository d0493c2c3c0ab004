"""``pondwright level`` and ``pondwright bends``: for a person, for a program, and a bend that is taken."""

import json

import pytest

from pondwright import api
from pondwright.cli.main import main
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW_SHAPED, example_text


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "dozen.pond.json"
    path.write_text(example_text(DOZEN_SHOTS), encoding="utf-8")
    return str(path)


@pytest.fixture
def body(file):
    return next(iter(api.open_job(file).shape.bodies))


def test_the_level_question_is_printed_in_both_readings(file, body, capsys):
    assert main(["level", file]) == 0

    said = capsys.readouterr().out
    assert f"{body}: the shore stays on the plan" in said
    assert f"{body}: the hole as it is drawn, filled to another level" in said
    assert "the level of the job" in said and "rim to raise" in said


def test_the_printed_table_has_nine_levels_and_the_balanced_one(file, body, capsys):
    main(["level", file, body, "--json"])

    told = json.loads(capsys.readouterr().out)[body]
    assert len(told["level"]) >= 9
    if told["balanced_row"] is not None:
        assert told["level"][told["balanced_row"]] == pytest.approx(told["balanced_level"], abs=1e-3)


def test_a_balanced_level_that_runs_over_is_not_recommended(tmp_path, capsys):
    path = tmp_path / "shaped.pond.json"
    path.write_text(example_text(LARKMEADOW_SHAPED), encoding="utf-8")

    assert main(["level", str(path), "pond"]) == 0
    first, second = capsys.readouterr().out.split("pond: the hole as it is drawn")
    main(["check", str(path), "--all"])

    assert "lip" in first and "runs over" in first and "runs over" in second
    # Loads beside a fill of nothing are told.
    assert "Loads count also topsoil and muck for which no pile has room: " in first
    assert "Not recommended: " in first and "The soil balances at" not in first
    assert "earth.balance.balanced_level" not in capsys.readouterr().out


def test_a_body_that_is_not_there_is_told(file, capsys):
    assert main(["level", file, "nowhere"]) == 2
    assert "`body` must be a body of water of the job" in capsys.readouterr().err
    assert main(["bends", file, "nowhere"]) == 2
    assert "`body` must be a pond with a shoreline" in capsys.readouterr().err


def test_a_job_without_a_survey_says_what_is_missing(tmp_path, capsys):
    path = tmp_path / "empty.pond.json"
    api.save_job(api.new_job("Mill Lane 4"), path)

    for words in (["level", str(path)], ["bends", str(path), "pond"]):
        assert main(words) == 2
        assert "at least three shots" in capsys.readouterr().err


def test_bends_are_printed_beside_the_shore_as_it_is(file, body, capsys):
    assert main(["bends", file, body]) == 0

    said = capsys.readouterr().out
    assert "as it is drawn" in said and "more_shore" in said and "against round" in said


def test_shares_of_a_bend_are_printed_in_percent(tmp_path, capsys):
    path = tmp_path / "shaped.pond.json"
    path.write_text(example_text(LARKMEADOW_SHAPED), encoding="utf-8")
    main(["bends", str(path), "pond"])
    drawn = capsys.readouterr().out.splitlines()[1]
    main(["bends", str(path), "pond", "--json"])
    told = json.loads(capsys.readouterr().out)["drawn"]

    assert drawn.endswith(f"{100 * told['reached']:.1f} %  {100 * told['seen']:.1f} %")


def test_a_bend_is_taken_into_another_file(file, body, tmp_path, capsys):
    out = tmp_path / "bent.pond.json"
    main(["bends", file, body, "--json"])
    told = json.loads(capsys.readouterr().out)["variants"]["more_shore"]

    assert main(["bends", file, body, "--take", "more_shore", "--out", str(out)]) == 0

    bent = api.compute(api.open_job(out), only="shape.shore")
    assert bent.results.shape.shore.bodies[body].length == pytest.approx(told["length"])


@pytest.mark.parametrize(
    ("more", "says"),
    [
        pytest.param(["--take", "more_shore"], "must come with `--out`", id="no file"),
        pytest.param(
            ["--take", "square", "--out", "x.pond.json"], "must be one of more_shore", id="no such way"
        ),
    ],
)
def test_a_bend_that_cannot_be_taken_is_told(file, body, capsys, more, says):
    assert main(["bends", file, body, *more]) == 2
    assert says in capsys.readouterr().err
