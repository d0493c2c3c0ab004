"""Every address of the interface, as the page uses it; whatever is refused is refused in one sentence."""

import json

import pytest

from pondwright import api
from pondwright.examples import EXAMPLES, example_text
from pondwright.job.codec import loads
from pondwright.store import Unusable

PNG = b"\x89PNG\r\n\x1a\n" + bytes(64)
NOBODY = "0" * 16


def edited(served, job_id, value=99.0):
    with served.window(job_id) as window:
        answer = window.edit("/shape/bodies/pond/level", value, base=window.rev)[-1]
    assert answer["type"] == "ack", answer
    return answer["rev"]


def refusal(response, status):
    """What a refusal says, after a look at its form."""
    assert response.status_code == status, response.text
    told = response.json()
    assert set(told) == {"says", "faults"} and told["says"] and "\n" not in told["says"]
    assert "Traceback" not in response.text
    return told


def test_a_new_job_stands_first_among_the_jobs(served):
    job_id = served.post("/jobs", json={"name": "Mill Lane 4", "shown_units": "us_inch"}).json()["id"]

    card = served.get("/jobs").json()[0]

    assert (card["id"], card["name"], card["shown_units"], card["rev"]) == (
        job_id,
        "Mill Lane 4",
        "us_inch",
        0,
    )
    assert served.get(f"/jobs/{job_id}").json() == card


def test_jobs_are_found_by_their_name(served):
    served.post("/jobs", json={"name": "Quarry Ümläut"})

    assert [card["name"] for card in served.get("/jobs", params={"search": " quarry ÜM"}).json()] == [
        "Quarry Ümläut"
    ]


def test_an_archived_job_is_listed_with_the_archive_alone(served, job_id):
    changed = served.http.patch(f"/api/jobs/{job_id}", json={"archived": True, "state": "care"})

    assert changed.json()["archived"] is True and changed.json()["state"] == "care"
    assert job_id not in [card["id"] for card in served.get("/jobs").json()]
    assert job_id in [card["id"] for card in served.get("/jobs", params={"archived": True}).json()]


def test_every_example_can_be_opened_as_a_copy(served):
    assert [example["name"] for example in served.get("/examples").json()] == list(EXAMPLES)

    for name in EXAMPLES:
        assert served.document(served.example(name))["job"]["demo"] is True


def test_a_job_goes_out_as_a_file_and_comes_back_the_same(served):
    text = example_text("larkmeadow")
    file = served.get(f"/jobs/{served.example('larkmeadow')}/file")

    again = served.post("/jobs/import", content=file.content).json()["id"]

    assert file.headers["content-disposition"] == 'attachment; filename="larkmeadow.pond.json"'
    assert loads(served.get(f"/jobs/{again}/file").content) == loads(text)


def test_a_file_with_faults_is_refused_with_all_of_them(served):
    tree = json.loads(example_text("dozen_shots"))
    tree["shape"]["bodies"]["pond"]["level"] = "high"
    tree["shown_units"] = "rods"

    told = refusal(served.post("/jobs/import", content=json.dumps(tree)), 422)

    assert {fault["path"] for fault in told["faults"]} == {"shape.bodies.pond.level", "shown_units"}


def test_a_copy_of_a_job_is_a_job_of_its_own(served, job_id):
    edited(served, job_id)

    copy = served.post(f"/jobs/{job_id}/duplicate").json()["id"]

    assert served.document(copy)["rev"] == 0
    assert served.document(copy)["job"]["shape"] == served.document(job_id)["job"]["shape"]


def test_the_document_of_every_revision_can_be_read(served, job_id):
    edited(served, job_id)

    new, old = served.document(job_id), served.get(f"/jobs/{job_id}/document", params={"rev": 0}).json()

    assert (new["rev"], old["rev"]) == (1, 0)
    assert new["job"]["shape"]["bodies"]["pond"]["level"] == 99.0
    assert old["job"]["shape"]["bodies"]["pond"]["level"] != 99.0


def test_a_revision_can_be_brought_back(served, job_id):
    old = served.document(job_id)["job"]
    edited(served, job_id)

    assert served.post(f"/jobs/{job_id}/restore", json={"rev": 0, "author": "Ada"}).json() == {"rev": 2}

    assert served.document(job_id) == {"rev": 2, "job": old}
    last = served.get(f"/jobs/{job_id}/history").json()[-1]
    assert (last["rev"], last["author"], last["label"]) == (2, "Ada", "back to 0")


def test_a_version_keeps_the_figures_of_its_day(served, job_id):
    named = served.post(f"/jobs/{job_id}/versions", json={"name": "signed", "signed_by": "Mrs. Hale"})
    edited(served, job_id)

    kept = served.get(f"/jobs/{job_id}/versions").json()

    assert named.json() == {"name": "signed", "rev": 0}
    known = {one.path: one.value for one in api.figures(api.compute(loads(example_text("dozen_shots"))))}
    assert kept[0]["figures"] == {path: value for path, value in known.items() if value is not None}
    again = served.post(f"/jobs/{job_id}/versions", json={"name": "signed"})
    assert "named 'signed' already" in refusal(again, 409)["says"]


def test_results_are_those_of_the_model(served, job_id):
    run = api.compute(loads(example_text("dozen_shots")))

    told = served.get(f"/jobs/{job_id}/results").json()

    assert told["rev"] == 0
    assert told["figures"] == {one.path: one.value for one in api.figures(run)}
    assert {check["code"] for check in told["checks"]} == {finding.code for finding in run.findings}
    assert set(told["stages"]) == set(run.stages) and told["defaults"]


def test_results_follow_an_edit(served, job_id):
    before = served.get(f"/jobs/{job_id}/results").json()
    edited(served, job_id)

    after = served.get(f"/jobs/{job_id}/results").json()

    assert after["rev"] == 1 and after["figures"] != before["figures"]


def test_the_catalogue_names_every_figure_of_the_results(served, job_id):
    catalogue = served.get("/figures").json()
    figures = served.get(f"/jobs/{job_id}/results").json()["figures"]

    patterns = {tuple(one["path"].split(".")) for one in catalogue}
    assert all(one["says"] and one["kind"] and one["stage"] for one in catalogue)
    for path in figures:
        names = path.split(".")
        assert any(
            len(pattern) == len(names)
            and all(word in ("*", name) for word, name in zip(pattern, names, strict=True))
            for pattern in patterns
        ), path


def test_figures_of_every_stage_can_be_explained(served, job_id):
    paths = list(served.get(f"/jobs/{job_id}/results").json()["figures"])

    for path in paths[::7]:
        told = served.get(f"/jobs/{job_id}/explain", params={"path": path})
        assert told.status_code == 200 and told.json()["path"] == path


def test_an_explanation_tells_what_moved_a_number_since_a_version(served, job_id):
    served.post(f"/jobs/{job_id}/versions", json={"name": "offer"})
    edited(served, job_id)
    path = "shape.shore.bodies.pond.level"

    told = served.get(f"/jobs/{job_id}/explain", params={"path": path, "since": "offer"})

    assert told.status_code == 200 and "shape.bodies.pond.level" in told.text


def test_pictures_and_papers_are_drawn(served, job_id):
    picture = served.get(f"/jobs/{job_id}/picture.svg")
    assert picture.headers["content-type"].startswith("image/svg+xml") and picture.text.startswith("<svg")

    for paper in served.get(f"/jobs/{job_id}/papers").json():
        svg = served.get(f"/jobs/{job_id}/papers/{paper['name']}.svg")
        pdf = served.get(f"/jobs/{job_id}/papers/{paper['name']}.pdf")
        assert "<svg" in svg.text and pdf.content.startswith(b"%PDF")
    assert served.get(f"/jobs/{job_id}/papers/all.pdf").content.startswith(b"%PDF")


def test_an_empty_job_has_a_picture_and_a_site_report_that_says_what_is_missing(served):
    job_id = served.post("/jobs", json={"name": "Empty"}).json()["id"]

    assert served.get(f"/jobs/{job_id}/picture.svg").status_code == 200
    names = [paper["name"] for paper in served.get(f"/jobs/{job_id}/papers").json()]
    assert names[0] == "site-report" and not any("plan" in name for name in names)
    assert "No ground yet" in "".join(served.get(f"/jobs/{job_id}/papers/{name}.svg").text for name in names)


def test_a_photo_is_kept_under_its_hash(served, job_id):
    name = served.http.put(f"/api/jobs/{job_id}/files", content=PNG).json()["hash"]

    kept = served.get(f"/files/{name}")

    assert kept.content == PNG and kept.headers["content-type"] == "image/png"
    assert "immutable" in kept.headers["cache-control"]


@pytest.mark.parametrize("body", [b"", b"GIF89a", b"<svg onload='alert(1)'/>", b"\x89PN", b"%PDF-1.7"])
def test_what_is_no_photo_is_not_kept(served, job_id, body):
    told = refusal(served.http.put(f"/api/jobs/{job_id}/files", content=body), 422)

    assert told["says"] == "a photo must be a PNG or a JPEG"


def test_a_photo_beyond_25_megabytes_is_refused(served, job_id):
    told = refusal(served.http.put(f"/api/jobs/{job_id}/files", content=PNG + bytes(25 * 2**20)), 422)

    assert "at most 25 MB" in told["says"]


def test_pasted_rows_are_read_and_nothing_is_kept(served):
    before = served.get("/jobs").json()

    told = served.post("/preview/shots", json={"text": "e,n,z\n1,2,100\n3,x,101", "shown_units": "metric"})

    rows = told.json()["rows"]
    assert (rows[0]["east"], rows[0]["north"], rows[0]["elevation"]) == (1.0, 2.0, 100.0)
    assert set(rows[1]["errors"]) == {"north"} and served.get("/jobs").json() == before
    nothing = served.post("/preview/shots", json={"text": " "})
    assert (
        nothing.status_code == 200 and "no rows" in nothing.json()["fault"] and nothing.json()["rows"] == []
    )


def test_pasted_rows_are_compared_with_what_the_job_holds_and_read_as_a_person_says(served):
    job = served.post("/examples/larkmeadow/copy").json()["id"]
    document = served.get(f"/jobs/{job}/document").json()["job"]
    shots = [shot for shot in document["site"]["shots"].values() if shot["place"]["by"] == "coordinates"][:6]
    rows = [(one["place"]["east"], one["place"]["north"], one["elevation"]) for one in shots]
    text = "east,north,elev\n" + "\n".join(
        f"{east:.3f},{north:.3f},{height:.3f}" for east, north, height in rows
    )
    asked = {"text": text, "shown_units": "us", "job": job}

    in_feet = served.post("/preview/shots", json=asked).json()
    in_metres = served.post("/preview/shots", json={**asked, "unit": "m"}).json()
    turned = served.post(
        "/preview/shots", json={**asked, "unit": "m", "order": ["north", "east", "elevation"]}
    ).json()

    assert "in metres they would fit" in in_feet["warnings"][0]
    assert in_metres["warnings"] == [] and "swapped" not in in_metres["says"]
    assert turned["rows"][0]["east"] == pytest.approx(rows[0][1], abs=1e-3)
    assert served.post("/preview/shots", json={**asked, "job": "f" * 16}).status_code == 404


def test_the_schema_is_that_of_the_document(served):
    assert served.get("/schema.json").json() == json.loads(json.dumps(api.schema()))


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", ""), ("PATCH", ""), ("POST", "/duplicate"), ("GET", "/file"), ("GET", "/document"),
        ("GET", "/history"), ("POST", "/restore"), ("GET", "/versions"), ("POST", "/versions"),
        ("GET", "/results"), ("GET", "/explain?path=x"), ("GET", "/picture.svg"), ("GET", "/papers"),
        ("GET", "/papers/all.pdf"), ("PUT", "/files"),
    ],
)  # fmt: skip
def test_a_job_that_is_not_there_is_told_everywhere(served, method, path):
    bodies = {"PATCH": {}, "/restore": {"rev": 0}, "/versions": {"name": "v"}}
    body = bodies.get(path, bodies.get(method)) if method in ("POST", "PATCH") else None

    told = refusal(served.http.request(method, f"/api/jobs/{NOBODY}{path}", json=body), 404)

    assert told["says"] == f"there is no job '{NOBODY}' here"


@pytest.mark.parametrize(
    "name",
    [
        "..%2f..%2fetc%2fpasswd", "%00", "nonsense", "G" * 16, "0" * 15, "0" * 5000, "'; drop table job; --",
        "<script>", "%F0%9F%90%9F", "%FF",
    ],
)  # fmt: skip
def test_a_hostile_name_of_a_job_is_refused(served, name):
    response = served.get(f"/jobs/{name}/document")

    assert response.status_code in (404, 422)
    refusal(response, response.status_code)


@pytest.mark.parametrize("path", ["/examples/nope/copy", "/examples/%2e%2e%5cjob/copy", "/examples/%00/copy"])
def test_an_example_that_is_not_there_is_told(served, path):
    refusal(served.post(path), 404)


@pytest.mark.parametrize("name", ["plan.exe", "../all.pdf", "all.svg", "all", ".pdf", "%00.svg", "x" * 300])
def test_a_paper_that_is_not_there_is_told(served, job_id, name):
    assert served.get(f"/jobs/{job_id}/papers/{name}").status_code == 404


@pytest.mark.parametrize(
    "path", ["", "no.such.path", "shape", "__class__", "site.shots.x" * 20, "job.__dict__"]
)
def test_a_path_without_a_number_is_told(served, job_id, path):
    response = served.get(f"/jobs/{job_id}/explain", params={"path": path})

    assert response.status_code in (200, 400)
    if response.status_code == 400:
        refusal(response, 400)


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/jobs", "{"),
        ("/jobs", "[]"),
        ("/jobs", "{}"),
        ("/jobs", '{"name": ""}'),
        ("/jobs", '{"name": 7}'),
        ("/jobs", '{"name": "n", "shown_units": "rods"}'),
        ("/jobs", '{"name": "n", "\\ud800": 1}'),
        ("/jobs", '{"name": "\\ud800"}'),
        ("/jobs", '{"name": "n", "more": NaN}'),
        ("/jobs/import", ""),
        ("/jobs/import", "[" * 100_000),
        ("/jobs/import", b"\xff\xfe\x00"),
        ("/jobs/import", '{"format": 999}'),
        ("/jobs/import", '{"name": "\\ud800"}'),
        ("/preview/shots", '{"text": 7}'),
    ],
)
def test_a_body_that_does_not_fit_is_refused_with_where(served, path, body):
    refusal(served.post(path, content=body, headers={"Content-Type": "application/json"}), 422)


def test_a_body_that_is_nested_without_end_is_refused(served):
    deep = served.post("/jobs", content="[" * 100_000, headers={"Content-Type": "application/json"})

    assert refusal(deep, 400)["says"] == "the body cannot be read"


def test_a_revision_out_of_range_is_refused(served, job_id):
    for rev in (1, 10**9):
        refusal(served.post(f"/jobs/{job_id}/restore", json={"rev": rev}), 404)
    for rev in (-1, 10**30, 0.5, "0", True):
        refusal(served.post(f"/jobs/{job_id}/restore", json={"rev": rev}), 422)


def test_an_address_or_method_that_is_not_there_is_told_in_one_sentence(served, job_id):
    assert refusal(served.get("/nothing"), 404)["says"] == "there is nothing at this address"
    refusal(served.http.delete(f"/api/jobs/{job_id}"), 405)


def test_a_fault_of_ours_is_told_without_its_inside(served, monkeypatch, capsys):
    monkeypatch.setattr("pondwright.server.routes.job_cards", lambda *_a, **_k: 1 / 0)

    told = refusal(served.get("/jobs"), 500)

    assert "fault of pondwright" in told["says"] and "ZeroDivisionError" not in told["says"]
    assert "ZeroDivisionError" in capsys.readouterr().err


def test_a_store_that_is_busy_is_told_as_such(served, monkeypatch):
    def busy(*_rest):
        raise Unusable("another program has been writing: try again")

    monkeypatch.setattr("pondwright.server.routes.keep_job", busy)

    assert "try again" in refusal(served.post("/jobs", json={"name": "n"}), 503)["says"]


def test_the_interface_describes_itself(served):
    described = served.get("/openapi.json").json()

    assert described["info"]["title"] == "pondwright"
    assert len(described["paths"]) > 20 and served.http.get("/docs").status_code in (404, 503)
