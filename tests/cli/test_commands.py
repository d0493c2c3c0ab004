"""The command line as a person meets it."""

import json
import subprocess
import sys

import pytest

from pondwright.cli import main as command
from pondwright.cli.main import main
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW, example_text


@pytest.fixture
def larkmeadow(tmp_path):
    path = tmp_path / "larkmeadow.pond.json"
    path.write_text(example_text(LARKMEADOW), encoding="utf-8")
    return str(path)


@pytest.fixture
def dozen(tmp_path):
    path = tmp_path / "dozen.pond.json"
    path.write_text(example_text(DOZEN_SHOTS), encoding="utf-8")
    return str(path)


VOLUME = "shape.storage.bodies.pond.volume"


def test_check_prints_headlines_and_checks(larkmeadow, capsys):
    code = main(["check", larkmeadow])

    said = capsys.readouterr().out
    assert "Larkmeadow  (invented example)" in said and "gal" in said and "yd³" in said
    assert code == (1 if "\nstop  " in said else 0)


def test_check_as_json_is_json(larkmeadow, capsys):
    main(["check", larkmeadow, "--json"])

    told = json.loads(capsys.readouterr().out)
    assert told["checks"] and told["headlines"]


def test_a_job_that_has_no_answer_stops(tmp_path, capsys):
    from pondwright import api

    path = tmp_path / "empty.pond.json"
    api.save_job(api.new_job("Mill Lane 4"), path)

    assert main(["check", str(path)]) == 1
    assert "site.ground.blocked" in capsys.readouterr().out


def test_show_prints_a_value_in_the_units_of_the_job(larkmeadow, capsys):
    assert main(["show", larkmeadow, VOLUME]) == 0

    assert capsys.readouterr().out.strip().endswith("gal")


def test_show_as_json_is_in_house_units(larkmeadow, capsys):
    main(["show", larkmeadow, VOLUME, "--json"])

    told = json.loads(capsys.readouterr().out)
    assert told["unit"] == "m³" and told["value"] > 0.0


@pytest.mark.parametrize("as_json", [[], ["--json"]])
def test_show_explains(larkmeadow, capsys, as_json):
    assert main(["show", larkmeadow, VOLUME, "--explain", *as_json]) == 0

    assert "rooms.shape.storage.storage" in capsys.readouterr().out


def test_compare_tells_that_two_jobs_are_the_same(dozen, capsys):
    assert main(["compare", dozen, dozen]) == 0

    assert capsys.readouterr().out.strip() == "The two jobs are the same."


def test_compare_tells_what_differs(dozen, larkmeadow, capsys):
    assert main(["compare", dozen, larkmeadow]) == 0

    assert "What moved" in capsys.readouterr().out


def test_schema_is_json(capsys):
    assert main(["schema"]) == 0

    assert json.loads(capsys.readouterr().out)["$schema"].startswith("https://json-schema.org")


def test_papers_are_written(larkmeadow, tmp_path, capsys):
    assert main(["papers", larkmeadow, "--out", str(tmp_path / "out")]) == 0

    assert (tmp_path / "out" / "larkmeadow.pdf").exists()


def test_warm_tells_how_many_kernels(capsys):
    assert main(["warm", "--json"]) == 0

    assert json.loads(capsys.readouterr().out)["kernels"] > 0


def test_the_ledger_has_nothing_missing(capsys):
    assert main(["ledger", "--missing"]) == 0

    assert capsys.readouterr().out == ""


BAD_FILES = {
    "missing": None,
    "binary": b"\x89PNG\xff\x00",
    "not json": b"{pond",
    "a list": b"[]",
    "of two faults": b'{"format": 1, "id": "A B", "name": 3}',
}


@pytest.mark.parametrize("content", BAD_FILES.values(), ids=BAD_FILES.keys())
def test_a_bad_file_is_told_in_sentences(tmp_path, capsys, content):
    path = tmp_path / "job.pond.json"
    if content is not None:
        path.write_bytes(content)

    assert main(["check", str(path)]) == 2
    said = capsys.readouterr().err
    assert said.startswith("pondwright: ") and "Traceback" not in said and "job.pond.json" in said


def test_a_folder_is_no_job(tmp_path, capsys):
    assert main(["check", str(tmp_path)]) == 2

    assert "cannot be read" in capsys.readouterr().err


def test_every_fault_of_a_file_has_a_line(tmp_path, capsys):
    path = tmp_path / "job.pond.json"
    path.write_bytes(BAD_FILES["of two faults"])

    main(["check", str(path)])

    said = capsys.readouterr().err
    assert "`id`" in said and "`name`" in said


def test_a_wrong_path_is_told_with_what_is_there(larkmeadow, capsys):
    assert main(["show", larkmeadow, "shape.stor"]) == 2

    assert "`storage`" in capsys.readouterr().err


def test_a_missing_argument_ends_with_2():
    assert main(["show"]) == 2


def test_papers_into_a_file_are_refused(larkmeadow, capsys):
    assert main(["papers", larkmeadow, "--out", larkmeadow]) == 2

    assert "cannot be written" in capsys.readouterr().err


def test_a_fault_of_ours_says_so_and_how_to_report_it(monkeypatch, capsys):
    def broken(arguments):
        raise KeyError("pond")

    monkeypatch.setattr(command, "_ended", broken)

    assert main(["warm"]) == 3
    said = capsys.readouterr().err
    assert "a fault of pondwright" in said and "report" in said and "Traceback" not in said


def test_help_loads_no_numbers():
    script = (
        "import sys\n"
        "for name in ('numpy', 'scipy', 'numba', 'shapely'): sys.modules[name] = None\n"
        "from pondwright.cli.main import main\n"
        "for words in (['--help'], ['check', '--help'], ['show', '--help']): assert main(words) == 0\n"
    )

    asked = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)

    assert asked.returncode == 0, asked.stderr
    assert "Usage" in asked.stdout


def test_a_way_out_tells_what_to_write_in_the_file(dozen, capsys):
    from pondwright import api

    main(["check", dozen])

    level = api.show(api.compute(api.open_job(dozen)), "earth.balance.balanced_level")
    assert f"in the file: shape.bodies.pond.level = {round(level, 4)}" in capsys.readouterr().out


def test_a_share_is_told_in_percent_and_a_limit_in_words(dozen, capsys):
    main(["check", dozen])

    assert " %; should be at most 10 %" in capsys.readouterr().out


def test_show_takes_a_whole_room(dozen, capsys):
    assert main(["show", dozen, "earth"]) == 0

    said = capsys.readouterr().out
    assert "earth.soil.dug" in said and "earth.balance.balanced_level" in said


def test_with_two_bodies_each_headline_names_its_own(tmp_path, capsys):
    from pondwright.job.codec import dumps, loads

    job = json.loads(dumps(loads(example_text(DOZEN_SHOTS))))
    pond = job["shape"]["bodies"]["pond"]
    job["shape"]["bodies"] = {"pond": {**pond, "name": "Garden pond"}, "second": pond}
    path = tmp_path / "two.pond.json"
    path.write_text(json.dumps(job), encoding="utf-8")

    main(["check", str(path)])

    said = capsys.readouterr().out
    assert "Greatest depth: Garden pond" in said and "Greatest depth: second" in said


def test_check_prints_the_five_that_matter_and_how_many_are_left(larkmeadow, capsys):
    main(["check", larkmeadow])
    few = capsys.readouterr().out
    main(["check", larkmeadow, "--all"])
    every = capsys.readouterr().out

    counted = [line for line in every.splitlines() if line.startswith(("stop  ", "look  "))]
    shown = [line for line in few.splitlines() if line.startswith(("stop  ", "look  "))]
    assert counted[:5] == shown
    assert f"{len(counted) - 5} more" in few and "--all" in few and "--all" not in every


def test_the_version_is_told(capsys):
    from pondwright import __version__

    assert main(["--version"]) == 0
    assert capsys.readouterr().out.strip() == f"pondwright {__version__}"


def test_a_whole_room_cannot_be_explained_and_one_of_its_figures_is_named(larkmeadow, capsys):
    assert main(["show", larkmeadow, "earth", "--explain"]) == 2

    said = capsys.readouterr().err
    assert "`earth` is not one number" in said and "`earth.subgrade." in said


def test_compare_tells_many_new_rows_in_one_line(dozen, larkmeadow, capsys):
    assert main(["compare", dozen, larkmeadow]) == 0

    said = capsys.readouterr().out
    assert "site.shots: 12 rows are gone, s01 to s12" in said
    assert "{" not in said


@pytest.mark.parametrize(
    "text, told",
    [
        ("", "there is nothing in it"),
        ("  \n", "there is nothing in it"),
        ("{“format”: 1}", "curved quotes"),
    ],
)
def test_a_file_that_is_no_job_is_told_in_words(tmp_path, capsys, text, told):
    path = tmp_path / "bad.pond.json"
    path.write_text(text, encoding="utf-8")

    assert main(["check", str(path)]) == 2
    assert told in capsys.readouterr().err


def test_papers_go_into_a_folder_of_their_own_if_none_is_named(dozen, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)

    assert main(["papers", dozen]) == 0
    assert list((tmp_path / "papers").glob("*.pdf"))
