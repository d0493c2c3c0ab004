"""Photos on the papers that the server gives: those that it keeps, and broken ones that stop nothing."""

import json

import pytest

from tests.server.test_visit_routes import PHOTO, send
from tests.unit.papers.test_site_report import png


@pytest.mark.parametrize(
    "body",
    [
        png(6, 120),
        png(6, 120)[:40],
        b"\x89PNG\r\n\x1a\n" + bytes(64),
        b"\xff\xd8\xff" + bytes(64),
        b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + bytes(range(256)),
    ],
    ids=["a sound photo", "a cut one", "an empty PNG", "an empty JPEG", "a broken JPEG"],
)
def test_a_kept_photo_of_the_log_comes_onto_the_site_report(served, body):
    job_id = served.example()
    name = served.http.put(f"/api/jobs/{job_id}/files", content=body).json()["hash"]
    assert send(served, job_id, {**PHOTO, "id": "ph-paper", "files": [name]}).status_code == 200

    names = [paper["name"] for paper in served.get(f"/jobs/{job_id}/papers").json()]
    pages = [served.get(f"/jobs/{job_id}/papers/{page}.svg").text for page in names if "report" in page]

    assert sum(page.count("<image") for page in pages) == 1
    assert served.get(f"/jobs/{job_id}/papers/site-report.pdf").content.startswith(b"%PDF")


def test_the_pdf_of_the_site_report_holds_all_its_pages(served, tmp_path):
    from pypdf import PdfReader

    job_id = served.example()
    names = [paper["name"] for paper in served.get(f"/jobs/{job_id}/papers").json()]
    (tmp_path / "report.pdf").write_bytes(served.get(f"/jobs/{job_id}/papers/site-report.pdf").content)

    assert len(PdfReader(tmp_path / "report.pdf").pages) == sum("report" in name for name in names)
    assert json.dumps(names).count("site-report") >= 2
