"""``pondwright groundwater``: the water in the ground as a person reads it, and as a program does."""

import json

import pytest

from pondwright import api
from pondwright.cli.main import main
from pondwright.examples import DOZEN_SHOTS, example_text

SHAPED = "larkmeadow_shaped"
RANGES = (("low", "likely", "high"), ("time_low", "time", "time_high"))


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    folder = tmp_path_factory.mktemp("jobs")

    def written(name):
        path = folder / f"{name}.pond.json"
        path.write_text(example_text(name), encoding="utf-8")
        return str(path)

    return written


def ranges(value):
    """Every low, likely and high of what was printed, in that order."""
    if isinstance(value, dict):
        for names in RANGES:
            if all(isinstance(value.get(name), float) for name in names):
                yield [value[name] for name in names]
        for inside in value.values():
            yield from ranges(inside)


def test_the_example_is_printed_from_its_readings_to_its_trenches(file, capsys):
    ended = main(["groundwater", file(SHAPED)])

    said = capsys.readouterr().out
    parts = [
        "readings, and the model there",
        "where the water goes",
        "uplift of pond",
        "pond in every case",
        "drains",
        "old pond:",
        "water that comes to the dig",
        "trenches",
    ]
    places = [said.index(f"\n{part}" if place else part) for place, part in enumerate(parts)]
    assert places == sorted(places)
    assert "Do not pump it below" in said or "It may be emptied" in said
    assert " ft" in said and "gpm" in said and "inf" not in said and "nan" not in said
    # A stop ends with 1, and every stop tells a way out.
    assert ended == (1 if "\nstop  " in said else 0)


def test_a_program_gets_every_figure_in_metres_and_each_range_in_order(file, capsys):
    main(["groundwater", file(SHAPED), "--json"])

    told = json.loads(capsys.readouterr().out)
    found = list(ranges(told))
    assert len(found) > 5 and all(each == sorted(each) for each in found)
    assert {"aquifer", "heads", "uplift", "range", "pumping", "checks"} <= set(told)
    old = told["pumping"]["old_pond"]
    assert old["floor"] < old["start"] < 30.0
    for pump in old["pumps"].values():
        assert pump["time"] is None or pump["time"] >= (old["start"] - old["floor"]) / 0.3 * 86_400.0 * 0.999
    assert all(trench["depth"] > 0.0 for trench in told["pumping"]["trenches"].values())
    assert len(json.dumps(told)) < 200_000


def test_where_nobody_read_the_groundwater_it_says_so(file, capsys):
    assert main(["groundwater", file(DOZEN_SHOTS)]) == 0

    assert "Nobody has read the groundwater here yet" in capsys.readouterr().out


def test_a_job_without_a_survey_says_what_is_missing(tmp_path, capsys):
    path = tmp_path / "empty.pond.json"
    api.save_job(api.new_job("Mill Lane 4"), path)

    assert main(["groundwater", str(path)]) == 2
    assert "at least three shots" in capsys.readouterr().err
