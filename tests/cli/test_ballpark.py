"""``pondwright ballpark``: a band for a person, numbers for a program, one sentence where there is none."""

import json

import pytest

from pondwright.cli.main import main

TABLE = """name,area,price,rocky,falls,hard access,wet
A,3000 ft2,"92,000",yes,yes,no,no
B,2200 ft2,"75,000",yes,yes,yes,no
C,6000 ft2,"171,000",yes,yes,no,wet
D,900 ft2,15000,no,no,easy,dry
"""


@pytest.fixture
def past(tmp_path):
    path = tmp_path / "past.csv"
    path.write_text(TABLE, encoding="utf-8")
    return str(path)


def test_a_band_is_told_with_what_it_stands_on(past, capsys):
    assert main(["ballpark", "--past", past, "--area", "5400 ft2", "--rocky", "--falls"]) == 0

    said = capsys.readouterr().out.replace("\u2009", " ")
    assert "5,400 ft² of water" in said and "likely" in said
    assert "From 3 past jobs like it in rock and falls; four in five should fall within the band." in said
    assert "is no offer" in said and "stated default" not in said


def test_one_job_and_an_area_that_none_had_are_told(tmp_path, capsys):
    path = tmp_path / "one.csv"
    path.write_text("area,price\n100 m2,20000\n", encoding="utf-8")

    assert main(["ballpark", "--past", str(path), "--area", "300", "--metric"]) == 0

    said = capsys.readouterr().out.replace("\u2009", " ")
    assert "From 1 past job of any kind" in said and "stated default" in said
    assert "None of them was near this size." in said and "60 000" in said


def test_as_json_the_numbers_are_plain(past, capsys):
    main(["ballpark", "--past", past, "--area", "1 acre", "--json"])

    told = json.loads(capsys.readouterr().out)
    assert told["low"] < told["likely"] < told["high"] and told["unit"] == "m²" and told["like"] == "any"


@pytest.mark.parametrize(
    ("area", "says"), [("soon", "cannot be read as an area"), ("-4 m2", "`--area` must be above zero")]
)
def test_an_area_that_is_none_is_refused_in_one_sentence(past, capsys, area, says):
    assert main(["ballpark", "--past", past, f"--area={area}"]) == 2

    assert says in capsys.readouterr().err


def test_a_table_that_is_not_there_or_no_text_is_told(tmp_path, capsys):
    binary = tmp_path / "x.csv"
    binary.write_bytes(b"\xff\xfe\x00")
    for path, says in ((tmp_path / "none.csv", "No such file"), (binary, "it is no text")):
        assert main(["ballpark", "--past", str(path), "--area", "5 m2"]) == 2
        assert says in capsys.readouterr().err
