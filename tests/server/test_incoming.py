"""Files from outside, over the wire: looked at, taken as one edit, left, and what is wrong with them."""

import asyncio
import socket
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pondwright.base.errors import ImportRefused
from pondwright.exchange.reading import Around
from pondwright.server.access import LARGEST_BODY, LARGEST_FILE
from pondwright.server.incoming import KEPT_SECONDS, MOST_HELD, Incoming
from pondwright.store import Missing, Unusable
from tests.server.test_access import raw
from tests.server.test_routes import NOBODY, refusal

SHOTS = b"name,e,n,z,code\nA,20,9,99.62,rim\nB,28,12,99.70,rim\nC,32,19,99.88,rim\nD,15,20,99.40,hollow\n"
FEW = settings(
    max_examples=min(settings().max_examples // 5, 200),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def brought(served, job_id, body=SHOTS, name="shots.csv", status=200):
    response = served.post(f"/jobs/{job_id}/incoming", params={"name": name}, content=body)
    assert response.status_code == status, response.text
    return response.json()


def taken(served, job_id, token, **wanted):
    return served.post(f"/jobs/{job_id}/incoming/{token}/take", json={"edit": f"taken-{token[:8]}", **wanted})


def grid_text(count=40, spacing=1.0, unit=1.0):
    """Points of a bowl as a text of coordinates, more of them than are kept one by one."""
    east, north = np.meshgrid(np.arange(count) * spacing, np.arange(count) * spacing)
    height = 100.0 + 0.01 * ((east - east.mean()) ** 2 + (north - north.mean()) ** 2)
    rows = np.column_stack([east.ravel(), north.ravel(), height.ravel()]) / unit
    return "\n".join(" ".join(f"{value:.3f}" for value in row) for row in rows).encode()


@pytest.fixture
def empty(served):
    return served.post("/jobs", json={"name": "Mill Lane 4", "shown_units": "metric"}).json()["id"]


def test_a_file_is_told_before_any_of_it_is_taken(served, empty):
    told = brought(served, empty)

    assert (told["kind"], told["taken"], told["order"]) == (
        "shots",
        4,
        ["name", "east", "north", "elevation", "code"],
    )
    assert told["extent"] == [15.0, 9.0, 32.0, 20.0]
    assert told["can_be"] == ["shots", "cloud"]
    assert "points" not in told and "binned" not in told
    assert served.document(empty)["rev"] == 0


def test_its_picture_lies_where_it_would_lie_in_the_job(served, empty):
    picture = brought(served, empty)["picture"]

    (west, south), (east, _), (_, north) = picture["corners"]
    assert west <= 15.0 and south <= 9.0 and east >= 32.0 and north >= 20.0
    heights = [one for row in picture["rows"] for one in row if one is not None]
    assert 99.40 <= min(heights) <= max(heights) <= 99.88


def test_shots_are_taken_as_one_edit_that_is_told_to_every_window(served, empty):
    token = brought(served, empty)["token"]
    with served.window(empty) as window:
        answer = taken(served, empty, token)
        patch = window.hear_until(lambda told: isinstance(told, dict) and told["type"] == "patch")[-1]

    assert answer.json() == {"rev": 1, "label": "Took 4 shots from shots.csv"}
    assert [edit["id"] for edit in patch["edits"]] == [f"taken-{token[:8]}"]
    shots = served.document(empty)["job"]["site"]["shots"]
    assert shots["a"]["code"] == "rim" and shots["d"]["elevation"] == 99.4
    refusal(taken(served, empty, token), 404)


def test_bringing_back_the_revision_before_takes_all_of_it_out_again(served, empty):
    taken(served, empty, brought(served, empty)["token"])

    served.post(f"/jobs/{empty}/restore", json={"rev": 0})

    assert served.document(empty)["job"]["site"]["shots"] == {}


def test_the_same_file_can_be_taken_as_a_measured_surface_of_a_survey_that_begins_with_it(served, empty):
    answer = taken(served, empty, brought(served, empty)["token"], **{"as": "cloud"}, survey="emptied")

    assert answer.status_code == 200, answer.text
    site = served.document(empty)["job"]["site"]
    assert [
        (cloud["from_file"], cloud["survey"], len(cloud["east"])) for cloud in site["clouds"].values()
    ] == [("shots.csv", "emptied", 4)]
    assert list(site["surveys"]) == ["emptied"]


def test_an_open_question_stops_the_taking_and_an_answer_opens_it(served, empty):
    told = brought(served, empty, grid_text(110), "terrain.xyz")
    asked = [question["about"] for question in told["questions"] if not question["assumed"]]
    assert asked == ["unit"]
    said = refusal(taken(served, empty, told["token"]), 422)["says"]
    assert "unit" in said

    again = served.post(f"/jobs/{empty}/incoming/{told['token']}/look", json={"unit": "ft"}).json()

    assert again["extent"][2] == pytest.approx(109.0 * 0.3048, abs=0.2)
    assert taken(served, empty, told["token"]).status_code == 200


def test_a_look_that_is_refused_keeps_what_was_understood_before(served, empty):
    token = brought(served, empty)["token"]

    refusal(served.post(f"/jobs/{empty}/incoming/{token}/look", json={"order": ["code", "name"]}), 422)

    assert taken(served, empty, token).json()["rev"] == 1


def test_east_and_north_can_be_swapped(served, empty):
    token = brought(served, empty)["token"]
    order = ["name", "north", "east", "elevation", "code"]

    told = served.post(f"/jobs/{empty}/incoming/{token}/look", json={"order": order}).json()

    assert told["extent"] == [9.0, 15.0, 20.0, 32.0]


def test_a_closer_tolerance_keeps_more_points(served, empty):
    text = grid_text(80)

    def points(tolerance):
        job_id = served.post("/jobs", json={"name": "Bowl", "shown_units": "metric"}).json()["id"]
        told = brought(served, job_id, text, "bowl.xyz")
        served.post(f"/jobs/{job_id}/incoming/{told['token']}/look", json={"unit": "m"})
        taken(served, job_id, told["token"], **{"as": "cloud"}, tolerance=tolerance)
        (cloud,) = served.document(job_id)["job"]["site"]["clouds"].values()
        return len(cloud["east"]), cloud["tolerance"]

    (few, coarse), (many, fine) = points(0.5), points(0.02)

    assert few < many <= 6400
    assert fine <= 0.022 < coarse <= 0.502


def test_a_file_that_is_left_is_gone(served, empty):
    token = brought(served, empty)["token"]

    assert served.http.delete(f"/api/jobs/{empty}/incoming/{token}").json() == {}

    refusal(served.http.delete(f"/api/jobs/{empty}/incoming/{token}"), 404)
    refusal(taken(served, empty, token), 404)


def test_a_file_waits_for_its_own_job_alone(served, empty, job_id):
    token = brought(served, empty)["token"]

    refusal(taken(served, job_id, token), 404)
    refusal(served.post(f"/jobs/{NOBODY}/incoming", params={"name": "a.csv"}, content=SHOTS), 404)


@pytest.mark.parametrize(
    ("body", "name", "says"),
    [
        (b"", "nothing.csv", "empty"),
        (b"%PDF-1.7 and so on", "plan.pdf", "PDF"),
        (b"PK\x03\x04rest", "points.xlsx", "spreadsheet"),
        (b"LASF" + bytes(40), "flight.las", "flight.las"),
        (b"<LandXML", "surface.xml", "surface.xml"),
        (b'{"type": "FeatureCollection", "features": []}', "places.geojson", "places.geojson"),
        (b"II*\0" + bytes(20), "dem.tif", "dem.tif"),
        (b"hello\nthere\n", "../../etc/words.txt", "words.txt"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_one_sentence(served, empty, body, name, says):
    response = served.post(f"/jobs/{empty}/incoming", params={"name": name}, content=body)

    assert says in refusal(response, 422)["says"]
    assert "etc" not in response.json()["says"]
    assert served.document(empty)["rev"] == 0


def test_a_file_that_is_larger_than_may_be_sent_is_refused_before_it_is_sent(served, empty):
    def answer(path, length):
        head = f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: {length}\r\n"
        return raw(served, head.encode() + b"Connection: close\r\n\r\n")

    path = f"/api/jobs/{empty}/incoming?name=a.las"
    refused = answer(path, LARGEST_FILE + 1)
    assert refused.startswith(b"HTTP/1.1 413") and b"at most 2048 MB" in refused
    # Nothing else takes so much.
    refused = answer(f"/api/jobs/{empty}/incoming/{'0' * 32}/look", LARGEST_BODY + 1)
    assert refused.startswith(b"HTTP/1.1 413") and b"at most 33 MB" in refused


def test_a_file_larger_than_other_bodies_may_be_comes_in(served, empty):
    rows = LARGEST_BODY // 21 + 10_000
    body = b"1000.00 2000.00 99.0\n" * (rows - 2) + b"1010.00 2000.00 99.0\n1000.00 2010.00 98.0\n"
    assert len(body) > LARGEST_BODY

    told = brought(served, empty, body, "large.xyz")

    assert told["count"] == rows


def test_a_file_that_breaks_off_leaves_nothing_behind(served, empty):
    folder = Path(served.app.state.incoming._folder.name)
    before = set(folder.iterdir())
    path = f"/api/jobs/{empty}/incoming?name=a.csv"
    head = f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 9000\r\n\r\n"
    with socket.create_connection(("127.0.0.1", served.port)) as wire:
        wire.sendall(head.encode() + SHOTS)
        while set(folder.iterdir()) == before:
            time.sleep(0.01)

    while set(folder.iterdir()) != before:
        time.sleep(0.01)
    assert brought(served, empty)["taken"] == 4


@FEW
@given(body=st.binary(max_size=4000), name=st.text(min_size=1, max_size=40))
def test_no_file_breaks_the_server(served, body, name):
    job_id = served.post("/jobs", json={"name": "Fuzz"}).json()["id"]
    response = served.post(
        f"/jobs/{job_id}/incoming", params={"name": name.encode("utf-8", "replace").decode()}, content=body
    )

    assert response.status_code in (200, 422)
    if response.status_code == 422:
        refusal(response, 422)


@FEW
@given(
    rows=st.lists(st.tuples(*[st.floats(-1e6, 1e6, width=32)] * 3), min_size=3, max_size=30),
    wanted=st.fixed_dictionaries(
        {},
        optional={
            "unit": st.sampled_from(["m", "ft", "ftUS"]),
            "epsg": st.sampled_from([4326, 25832, 32633, 2263, 9999]),
            "order": st.permutations(["east", "north", "elevation"]),
            "heights": st.sampled_from(["mean", "lowest"]),
        },
    ),
    as_=st.sampled_from(["shots", "cloud"]),
)
def test_whatever_is_taken_is_taken_whole_or_refused_in_one_sentence(served, rows, wanted, as_):
    job_id = served.post("/jobs", json={"name": "Fuzz", "shown_units": "metric"}).json()["id"]
    body = "\n".join(",".join(f"{value:.3f}" for value in row) for row in rows).encode()
    first = served.post(f"/jobs/{job_id}/incoming", params={"name": "a.csv"}, content=body)
    assert first.status_code in (200, 422), first.text
    if first.status_code != 200:
        return
    token = first.json()["token"]
    look = served.post(f"/jobs/{job_id}/incoming/{token}/look", json=wanted)
    assert look.status_code in (200, 422), look.text

    answer = taken(served, job_id, token, **{"as": as_})

    assert answer.status_code in (200, 422), answer.text
    site = served.document(job_id)["job"]["site"]
    count = len(site["shots"]) + len(site["clouds"])
    assert (count > 0) == (answer.status_code == 200)


# The files that wait, with a clock of their own.


async def pieces(body):
    for at in range(0, len(body), 7):
        yield body[at : at + 7]


def held_by(incoming, body=SHOTS, job_id="a" * 16, length=None):
    length = len(body) if length is None else length
    return asyncio.run(incoming.receive(job_id, "shots.csv", length, pieces(body), Around()))


def test_a_file_is_held_for_an_hour_from_the_last_look():
    clock = [0.0]
    incoming = Incoming(now=lambda: clock[0])
    held = held_by(incoming)
    assert held.path.read_bytes() == SHOTS

    clock[0] = KEPT_SECONDS - 1.0
    assert incoming.of("a" * 16, held.token) is held
    clock[0] = KEPT_SECONDS
    with pytest.raises(Missing, match="no longer held"):
        incoming.of("a" * 16, held.token)
    assert not held.path.exists()
    incoming.close()


def test_the_oldest_file_makes_room_for_one_more_than_may_wait():
    incoming = Incoming()
    held = [held_by(incoming) for _ in range(MOST_HELD + 1)]

    assert [one.path.exists() for one in held] == [False] + [True] * MOST_HELD
    incoming.close()
    assert not any(one.path.exists() for one in held)


def test_a_refused_file_is_not_kept():
    incoming = Incoming()
    with pytest.raises(ImportRefused):
        held_by(incoming, b"no table\n")

    assert list(Path(incoming._folder.name).iterdir()) == []
    incoming.close()


def test_a_disk_without_room_is_told_before_anything_is_written():
    incoming = Incoming()
    with pytest.raises(Unusable, match="no room for"):
        held_by(incoming, length=2**62)
    incoming.close()


def test_a_pasted_page_that_cannot_be_parted_is_told_in_words_and_is_no_refusal(served):
    asked = {"text": "Sta  BS  HI  FS  Elev\nBM1  4.20  104.20  100.00", "shown_units": "us"}

    told = served.post("/preview/book", json=asked)

    assert told.status_code == 200 and told.json()["rows"] == []
    assert "between spaces an empty cell cannot be seen" in told.json()["fault"]
    spaced = served.post("/preview/book", json={**asked, "text": "A  4.20  1.00\nB  5.15  2.50"}).json()
    assert spaced["fault"] == "" and [row["station"] for row in spaced["rows"]] == ["A", "B"]
