"""Files of every format that was ever released open, and newer ones are refused."""

import json
from pathlib import Path

import pytest

from pondwright.base.errors import DocumentError
from pondwright.job import FORMAT, migrate
from pondwright.job.codec import dumps, loads
from pondwright.job.site import ByBearing

OLD_FILES = Path(__file__).resolve().parents[2] / "old_files"


@pytest.mark.parametrize("version", range(1, FORMAT + 1))
def test_a_file_of_every_format_opens(version):
    job = loads((OLD_FILES / f"format_{version}.pond.json").read_bytes())

    assert job.format == FORMAT
    assert loads(dumps(job)) == job


def test_a_file_of_format_1_still_means_the_same():
    job = loads((OLD_FILES / "format_1.pond.json").read_bytes())

    assert isinstance(job.site.shots["s3"].place, ByBearing)
    assert job.site.shots["s1"].surface == "ground"
    assert job.site.shots["s1"].status == "new"
    assert job.site.books["day1"].set_ups[0].readings[0].kind == "side"
    assert job.shape.bodies["pond"].stretches["seat_side"].ring == "outer"
    assert job.shape.bodies["brook"].outline.widths == (0.6, 0.9)
    assert job.rules["earth.balance"].accepted
    assert not job.shape.bodies["pond"].outline.curve.pegs[0].corner


def test_an_older_file_is_brought_up_step_by_step(monkeypatch):
    monkeypatch.setattr(
        migrate, "STEPS", {-1: lambda tree: {**tree, "format": 0}, 0: lambda tree: {**tree, "format": 1}}
    )

    job = loads(json.dumps({"format": -1, "id": "old", "name": "Old"}))

    assert (job.format, job.id) == (1, "old")


@pytest.mark.parametrize("newer", [FORMAT + 1, 10**30])
def test_a_newer_format_is_refused_in_one_sentence(newer):
    with pytest.raises(DocumentError, match="written by a newer pondwright") as caught:
        loads(json.dumps({"format": newer, "id": "a", "name": "", "unheard_of": 1}))

    assert "\n" not in str(caught.value)
