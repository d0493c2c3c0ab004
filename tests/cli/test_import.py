"""``pondwright import`` as a person meets it."""

import json

import pytest

from pondwright import api
from pondwright.cli.main import main

TABLE = "1,8,12.5,100.35,rim\n2,9,20,100.1,toe\n3,15,14,99.8,toe\n"


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "lane.pond.json"
    api.save_job(api.new_job("Mill Lane 4"), path)
    return path


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "shots.csv"
    path.write_text(TABLE)
    return path


def test_without_yes_it_shows_and_keeps_nothing(job, table, capsys):
    before = job.read_bytes()

    assert main(["import", str(job), str(table)]) == 0

    said = capsys.readouterr().out
    assert (
        "3 of 3" in said and "To be confirmed" in said and "Nothing was taken.  Add --yes to take it." in said
    )
    assert job.read_bytes() == before


def test_with_yes_it_takes_shots_into_the_job(job, table, capsys):
    assert main(["import", str(job), str(table), "--order", "PNEZD", "--unit", "ft", "--yes"]) == 0

    assert "Took 3 shots from shots.csv" in capsys.readouterr().out
    shot = api.open_job(job).site.shots["s1"]
    assert (shot.place.east, shot.elevation) == pytest.approx((12.5 * 0.3048, 100.35 * 0.3048))


def test_it_can_write_another_file_and_take_a_surface(job, table, tmp_path):
    out = tmp_path / "with.pond.json"

    assert main(["import", str(job), str(table), "--as", "cloud", "--out", str(out), "--yes"]) == 0

    assert len(api.open_job(out).site.clouds["shots"].east) == 3 and not api.open_job(job).site.clouds


def test_as_json_it_tells_everything_but_the_points(job, table, capsys):
    assert main(["import", str(job), str(table), "--json"]) == 0

    told = json.loads(capsys.readouterr().out)
    assert (
        told["taken"] == 3 and told["taken_into"] is None and told["preview"]["rows"] and "points" not in told
    )


@pytest.mark.parametrize(
    ("more", "why"),
    [
        (["--unit", "yards"], "`unit` must be m, ft or ftUS"),
        (["--order", "XY"], "`order` must name each of east, north and elevation once"),
        (["--epsg", "99998"], "`epsg` must be the code of a map grid"),
        (["--window", "1,2,3"], "`window` must be four numbers"),
        (["--as", "drawing", "--yes"], "`as` must be shots or cloud"),
    ],
)
def test_a_wrong_wish_ends_with_2_and_one_sentence(job, table, more, why, capsys):
    assert main(["import", str(job), str(table), *more]) == 2

    said = capsys.readouterr().err
    assert why in said and said.count("\n") == 1


def test_a_wrong_file_ends_with_2_and_one_sentence(job, tmp_path, capsys):
    assert main(["import", str(job), str(tmp_path / "none.las")]) == 2

    assert "none.las is not there" in capsys.readouterr().err
