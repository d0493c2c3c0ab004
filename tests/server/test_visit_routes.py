"""Addresses of the first visit: walk, wishes, log, photos, past jobs, ballpark."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.server.test_fuzz import JSON, SOME
from tests.server.test_routes import NOBODY, refusal

PHOTO = {
    "kind": "photo",
    "id": "ph-1",
    "time": "2027-03-01T08:00:00+00:00",
    "bearing": 1.57,
    "of": "site.things.oak_1",
    "stage": "before",
}
AGAIN = {**PHOTO, "id": "ph-2", "time": "2027-06-01T08:00:00+00:00", "stage": "after", "repeats": "ph-1"}


def send(served, job_id, entry):
    return served.http.post(f"/api/jobs/{job_id}/log", content=json.dumps(entry))


@pytest.fixture
def past(served):
    """Three past jobs, taken out again."""
    for number, price in enumerate((20_000, 22_000, 25_000)):
        body = json.dumps({"area": 100.0, "price": price, "currency": "USD", "rocky": True})
        assert served.http.put(f"/api/past-jobs/job{number}", content=body).status_code == 200
    yield
    for row in served.get("/past-jobs").json():
        served.http.delete(f"/api/past-jobs/{row['id']}")


def test_the_walk_has_thirty_points_each_with_a_question_and_a_reason(served):
    points = served.get("/walk").json()

    assert len(points) == 30 and len({point["id"] for point in points}) == 30
    assert all(
        point["ask"].endswith("?") and point["why"] and point["weight"] in (1, 2, 3) for point in points
    )


def test_wishes_are_offered_with_what_answers_them(served):
    offers = served.get("/wishes").json()

    assert offers and all(bool(offer["figure"]) != bool(offer["becomes"]) for offer in offers)


def test_an_entry_sent_twice_is_kept_once(served, job_id):
    first, second = send(served, job_id, PHOTO), send(served, job_id, PHOTO)

    assert first.json() == second.json() == {"id": "ph-1", "number": 1}
    log = served.get(f"/jobs/{job_id}/log").json()
    assert log["count"] == 1 and log["entries"][0]["of"] == "site.things.oak_1"


def test_another_entry_of_the_same_id_is_refused_and_the_first_stays(served, job_id):
    send(served, job_id, PHOTO)

    told = refusal(send(served, job_id, {**PHOTO, "note": "changed"}), 422)

    assert "already holds another entry `ph-1`" in told["says"]
    assert "note" not in served.get(f"/jobs/{job_id}/log").json()["entries"][0]


def test_the_log_is_asked_by_kind_and_after_an_entry(served, job_id):
    visit = {"kind": "visit", "id": "v-1", "time": "2027-03-02T08:00:00+00:00", "note": "wet"}
    for entry in (PHOTO, visit, AGAIN):
        send(served, job_id, entry)

    def ids(**asked):
        return [entry["id"] for entry in served.get(f"/jobs/{job_id}/log", params=asked).json()["entries"]]

    assert ids() == ["ph-1", "v-1", "ph-2"]
    assert ids(kind="photo") == ["ph-1", "ph-2"]
    assert ids(after="ph-1") == ["v-1", "ph-2"]
    assert ids(after="nobody") == ["ph-1", "v-1", "ph-2"]


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"", "must hold an entry of a log"),
        (b"[]", "an entry of a log"),
        (b'{"kind": "photo"}', "the entry has faults"),
        (b"\xff\xfe", "must be text in UTF-8"),
        (b'{"kind": "visit", "note": "' + b"x" * 300_000 + b'"}', "must be at most 256 kB"),
    ],
)
def test_an_entry_that_is_none_is_refused_in_one_sentence(served, job_id, body, says):
    told = refusal(served.http.post(f"/api/jobs/{job_id}/log", content=body), 422)

    assert says in told["says"]


def test_an_entry_for_no_job_is_refused(served):
    refusal(send(served, NOBODY, PHOTO), 404)


def test_photos_come_with_their_pairs_and_with_those_that_repeat_nothing(served, job_id):
    lost = {**PHOTO, "id": "ph-3", "repeats": "gone"}
    for entry in (AGAIN, PHOTO, lost):
        send(served, job_id, entry)

    told = served.get(f"/jobs/{job_id}/photos").json()

    assert [photo["id"] for photo in told["photos"]] == ["ph-1", "ph-3", "ph-2"]
    assert told["pairs"] == [{"before": "ph-1", "after": "ph-2"}]
    assert told["adrift"] == ["ph-3"]


def test_past_jobs_are_kept_replaced_and_taken_out(served, past):
    rows = {row["id"]: row for row in served.get("/past-jobs").json()}
    assert {"job0", "job1", "job2"} <= rows.keys() and rows["job0"]["price"] == 20_000

    served.http.put("/api/past-jobs/job0", content='{"area": 50.0, "price": 9000}')
    assert {row["id"]: row["price"] for row in served.get("/past-jobs").json()}["job0"] == 9000
    assert served.http.delete("/api/past-jobs/job0").json() == {"id": "job0"}
    refusal(served.http.delete("/api/past-jobs/job0"), 404)


def test_a_past_job_with_a_fault_is_refused_with_the_fault(served):
    told = refusal(served.http.put("/api/past-jobs/bad", content='{"area": -1, "price": 5}'), 422)

    assert told["says"] == "the past job has faults" and told["faults"][0]["path"] == "area"


def test_a_ballpark_takes_the_area_asked_for_and_the_past_jobs_like_it(served, job_id, past):
    told = served.get(
        f"/jobs/{job_id}/ballpark", params={"area": 200.0, "rocky": True, "currency": "USD"}
    ).json()

    assert told["low"] < told["likely"] < told["high"]
    assert told["count"] == 3 and told["like"] == "all four" and told["beyond"] is True
    assert told["likely"] == pytest.approx(2.0 * (20_000 * 22_000 * 25_000) ** (1 / 3))


def test_a_ballpark_without_an_area_or_without_past_jobs_is_refused_in_one_sentence(served, job_id):
    told = refusal(served.get(f"/jobs/{job_id}/ballpark"), 400)
    assert "the brief guesses no size yet" in told["says"]

    for row in served.get("/past-jobs").json():
        served.http.delete(f"/api/past-jobs/{row['id']}")
    told = refusal(served.get(f"/jobs/{job_id}/ballpark", params={"area": 10.0}), 400)
    assert "type in what your last jobs came to" in told["says"]


@SOME
@given(st.binary(max_size=80) | JSON.map(lambda value: json.dumps(value).encode()))
def test_whatever_is_sent_to_the_log_is_an_entry_or_refused(served, job_id, body):
    answer = served.http.post(f"/api/jobs/{job_id}/log", content=body)

    assert answer.status_code == 422 and "\n" not in answer.json()["says"]
