"""`pondwright banks`: ready banks are told in the job's units, and one of them is put into a job."""

import json

import pytest

from pondwright import api
from pondwright.cli.main import main
from pondwright.examples import example_text
from pondwright.job.shape import ready_bank_types
from pondwright.rooms.shape.profile import bank_profile


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "dozen.pond.json"
    path.write_text(example_text("dozen_shots"), encoding="utf-8")
    return path


def test_every_ready_bank_makes_a_section_without_risers_that_drown(job):
    for bank in ready_bank_types().values():
        profile = bank_profile([(point.distance, point.depth) for point in bank.points])
        assert max(profile.heights, default=0.0) <= 0.45 + 1e-9
        assert len(bank.zone_names) == len(bank.points)


def test_the_banks_are_printed(job, capsys):
    assert main(["banks", str(job)]) == 0

    said = capsys.readouterr().out
    assert all(bank.name in said for bank in ready_bank_types().values())


def test_a_ready_bank_is_added_and_can_be_used(job, tmp_path):
    out = tmp_path / "with_beach.pond.json"

    assert main(["banks", str(job), "--add", "beach", "--out", str(out)]) == 0

    values = json.loads(out.read_text(encoding="utf-8"))
    values["shape"]["bodies"]["pond"]["bank_type"] = "beach"
    out.write_text(json.dumps(values), encoding="utf-8")
    run = api.compute(api.open_job(out), only="shape.grading")
    assert run.job.shape.bank_types["beach"] == ready_bank_types()["beach"]
    assert run.results.shape.grading.z.min() < run.results.shape.shore.bodies["pond"].level


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--add", "beach"), "must come with `--out`"),
        (("--add", "steel", "--out", "x"), "must be one of shelved"),
    ],
)
def test_what_cannot_be_added_is_told(job, capsys, arguments, says):
    assert main(["banks", str(job), *arguments]) != 0

    assert says in capsys.readouterr().err
