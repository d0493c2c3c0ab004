"""`pondwright rebase`: what the survey of the emptied hole moved."""

import json

import pytest

from pondwright.cli.main import main
from pondwright.examples import DOZEN_SHOTS, example_text


@pytest.fixture
def emptied(tmp_path):
    """The dozen shots, and nine more a good deal lower in their middle; invented."""
    job = json.loads(example_text(DOZEN_SHOTS))
    shots = job["site"]["shots"]
    places = [shot["place"] for shot in shots.values()]
    middle = [sum(place[way] for place in places) / len(places) for way in ("east", "north")]
    lowest = min(shot["elevation"] for shot in shots.values())
    job["site"]["surveys"] = {"emptied": {"date": "2026-05-01"}}
    for number in range(9):
        east, north = middle[0] + number % 3 - 1.0, middle[1] + number // 3 - 1.0
        shots[f"n{number}"] = {
            "place": {"by": "coordinates", "east": east, "north": north},
            "elevation": lowest - 0.5,
            "survey": "emptied",
        }
    path = tmp_path / "emptied.pond.json"
    path.write_text(json.dumps(job), encoding="utf-8")
    return str(path)


def test_figures_that_a_survey_moved_are_printed_without_it_and_with_it(emptied, capsys):
    assert main(["rebase", emptied, "emptied"]) == 0

    said = capsys.readouterr().out
    assert said.startswith("What survey emptied moved")
    assert "without" in said and "with" in said
    assert "site.rebase.gone" in said and "earth.soil.dug" in said


def test_the_same_as_json_has_before_and_now(emptied, capsys):
    assert main(["rebase", emptied, "emptied", "--json"]) == 0

    moved = {each["path"]: each for each in json.loads(capsys.readouterr().out)["figures"]}
    assert moved["site.ground.shot_count"]["now"] > moved["site.ground.shot_count"]["before"]
    assert moved["site.rebase.gone"]["now"] > 0.0


def test_a_survey_that_is_not_there_is_told_in_one_sentence(emptied, capsys):
    assert main(["rebase", emptied, "other"]) == 2

    assert capsys.readouterr().err.strip().endswith("must be a survey of the job: there are `emptied`")
