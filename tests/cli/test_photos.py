"""Photos of a folder on paper, from the command line."""

from __future__ import annotations

import hashlib
import json

import pytest

from pondwright.base.errors import DomainError
from pondwright.cli.main import main
from pondwright.cli.photos import photos_by_hash
from pondwright.examples import GARDEN, example_text
from tests.unit.papers.test_site_report import png


def test_a_photo_of_the_folder_is_printed_whatever_its_name_is(tmp_path, capsys):
    body = png(4, 90)
    job = json.loads(example_text(GARDEN))
    job["site"]["things"]["apple"]["files"] = [hashlib.sha256(body).hexdigest()]
    file, photos = tmp_path / "garden.pond.json", tmp_path / "photos"
    file.write_text(json.dumps(job), encoding="utf-8")
    photos.mkdir()
    (photos / "IMG 0001.PNG").write_bytes(body)
    (photos / "notes.txt").write_text("no photo", encoding="utf-8")

    ended = main(["papers", str(file), "--out", str(tmp_path / "out"), "--photos", str(photos)])

    assert ended == 0
    pages = [path.read_text("utf-8") for path in (tmp_path / "out").glob("*-site-report*.svg")]
    assert sum(page.count("<image") for page in pages) == 1


def test_what_is_no_folder_is_refused_in_a_sentence(tmp_path):
    with pytest.raises(DomainError, match="`--photos` must be a folder"):
        photos_by_hash(tmp_path / "none")
