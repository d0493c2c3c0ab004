"""Whatever is sent, nothing breaks: addresses by their own description, messages, pasted text, uploads.

A fault of ours is an answer 500, a `cannot` that owns up to one, or a server that no longer answers.
"""

import json

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from websockets.exceptions import ConnectionClosed

from pondwright.base.errors import PondwrightError
from pondwright.exchange.points import PointTable, read_points
from pondwright.server.file_routes import router as file_router
from pondwright.server.frames import NAMES
from pondwright.server.messages import read_message, read_wish
from pondwright.server.routes import router
from pondwright.server.visit_routes import router as visit_router
from tests.strategies import bank_types, ponds, rings

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
SHARED = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.filter_too_much]

FEW = settings(max_examples=min(settings().max_examples // 5, 200), suppress_health_check=SHARED)
SOME = settings(max_examples=min(settings().max_examples, 500), suppress_health_check=SHARED)


def operations():
    """Every address and method, by its own description."""
    described = FastAPI()
    described.include_router(router)
    described.include_router(file_router)
    described.include_router(visit_router)
    interface = schemathesis.openapi.from_dict(described.openapi())
    return {one.ok().label: one.ok() for one in interface.get_all_operations()}


OPERATIONS = operations()


@pytest.mark.parametrize("name", OPERATIONS)
@FEW
@given(data=st.data())
def test_no_request_that_is_described_breaks_the_server(served, name, data):
    case = data.draw(OPERATIONS[name].as_strategy())

    case.validate_response(case.call(base_url=served.address), checks=CHECKS)


@pytest.mark.parametrize("name", [name for name in OPERATIONS if "{job_id}" in name])
@FEW
@given(data=st.data())
def test_no_request_about_a_real_job_breaks_the_server(served, job_id, name, data):
    case = data.draw(OPERATIONS[name].as_strategy())
    case.path_parameters["job_id"] = job_id

    case.validate_response(case.call(base_url=served.address), checks=CHECKS)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**40), 10**40)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=8,
)
PATHS = st.sampled_from(
    ["", "/", "/name", "/shape", "/shape/bodies/pond", "/shape/bodies/pond/level", "/site/frame/grid",
     "/shape/bodies/pond/outline/curve", "/site/shots", "/site/shots/s1/elevation", "/rules/x", "/~", "/a/~2"]
)  # fmt: skip
OPS = st.lists(
    st.fixed_dictionaries(
        {"op": st.sampled_from(["add", "remove", "replace", "test", "move"]), "path": PATHS},
        optional={"value": JSON},
    ),
    max_size=3,
)
GRIDS = st.fixed_dictionaries(
    {
        "origin_east": st.floats(-50, 30),
        "origin_north": st.floats(-50, 30),
        "spacing": st.floats(0.2, 60.0),
        "columns": st.integers(2, 60),
        "rows": st.integers(2, 60),
    }
)


def replaced(path, values):
    return values.map(lambda value: {"op": "replace", "path": path, "value": value})


LIKELY = st.lists(
    st.one_of(
        replaced("/site/frame/grid", GRIDS),
        replaced("/shape/bodies/pond/level", st.floats(-1e4, 1e4) | st.floats(95, 105) | st.none()),
        replaced(
            "/shape/bodies/pond/outline/curve",
            rings(12.0, 12.0, 11.0).map(lambda pegs: {"pegs": pegs})
            | rings().map(lambda pegs: {"pegs": pegs}),
        ),
        bank_types().map(lambda bank: {"op": "add", "path": "/shape/bank_types/fuzz", "value": bank}),
        replaced("/shape/bodies/pond/bank_type", st.just("fuzz")),
        ponds().map(lambda pond: {"op": "add", "path": "/shape/bodies/other", "value": pond}),
        st.sampled_from(["s1", "s2", "s3"]).map(lambda name: {"op": "remove", "path": f"/site/shots/{name}"}),
        st.just({"op": "replace", "path": "/site/shots", "value": {}}),
        st.just({"op": "remove", "path": "/shape/bodies/pond"}),
    ),
    min_size=1,
    max_size=4,
)
SECTION = st.fixed_dictionaries({"points": st.lists(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=2))})
WISHES = st.fixed_dictionaries(
    {"type": st.just("live"), "seq": st.integers(0, 10**9), "lod": st.sampled_from([1, 2])},
    optional={
        "ops": st.none() | OPS | LIKELY,
        "want": st.lists(st.sampled_from(sorted(NAMES))),
        "section": st.none() | SECTION,
    },
)
EDITS = st.fixed_dictionaries(
    {
        "type": st.just("edit"),
        "id": st.text(max_size=6),
        "base": st.integers(-1, 5),
        "label": st.text(max_size=5),
    },
    optional={"ops": OPS | LIKELY | JSON},
)
ANYTHING = st.dictionaries(
    st.sampled_from(["type", "seq", "lod", "want", "ops", "section", "id", "base", "label", "more"]),
    JSON | st.sampled_from(["edit", "live", "ping", "hello"]),
)


@SOME
@given(st.lists(WISHES | EDITS | ANYTHING, max_size=6))
def test_no_messages_break_the_channel(served, job_id, messages):
    with served.window(job_id, "fuzz") as window:
        try:
            for message in messages:
                window.say(**message)
            window.say(type="ping")
            while True:
                told = window.hear()
                if isinstance(told, dict):
                    assert "fault of pondwright" not in told.get("why", ""), told
                    if told["type"] == "pong":
                        break
        except ConnectionClosed as closed:
            assert closed.rcvd is not None and closed.rcvd.code == 1008
    with served.window(job_id) as again:
        assert again.greeting["type"] == "doc"


@SOME
@given(st.lists(LIKELY, min_size=1, max_size=3), st.sampled_from([1, 2]), SECTION)
def test_no_drag_and_no_edit_is_left_without_its_frame_or_its_reason(served, gestures, lod, section):
    """A drag by any likely change, then the change itself, then the job at rest, with every array."""
    with served.window(served.example()) as window:
        for ops in gestures:
            for hand in (ops, None):
                seq = window.wish(hand, lod=lod, want=sorted(NAMES), section=section)
                told = window.hear()
                while not answers(told, seq, hand):
                    told = window.hear()
                window.say(type="edit", id=f"fuzz-{seq}", base=window.rev, label="", ops=ops)
                window.hear_until(lambda one: isinstance(one, dict) and one["type"] in ("ack", "nak"))


def answers(told, seq, hand):
    """Whether this is the last answer to a wish; a fault of ours is none."""
    if isinstance(told, dict):
        assert "fault of pondwright" not in told.get("why", ""), told
        return told["type"] == "cannot"
    return told.head["seq"] == seq and (hand is not None or told.head["state"] == "exact")


@given(st.text() | JSON.map(json.dumps))
def test_every_text_is_a_message_or_refused_in_one_sentence(text):
    try:
        message = read_message(text)
    except PondwrightError as error:
        assert str(error) and "\n" not in str(error)
    else:
        assert isinstance(message, dict)


@given(ANYTHING)
def test_every_message_is_a_wish_or_refused_in_one_sentence(message):
    try:
        wish = read_wish(message)
    except PondwrightError as error:
        assert "\n" not in str(error)
    else:
        assert wish.lod in (1, 2) and wish.names <= NAMES


CELLS = st.sampled_from(
    ["", "1", "-2.5", "1,5", "3' 4\"", "12.5 m", "nan", "1e999", '"', "x", "easting", "elev (ft)"]
)
TABLES = st.lists(st.lists(CELLS, max_size=6), max_size=6).flatmap(
    lambda rows: st.sampled_from(["\t", ",", ";", " "]).map(
        lambda separator: "\n".join(separator.join(row) for row in rows)
    )
)


@given(st.text() | TABLES, st.sampled_from(["us", "us_inch", "metric"]))
def test_every_pasted_text_is_a_table_or_refused_in_one_sentence(text, shown):
    try:
        table = read_points(text, shown)
    except PondwrightError as error:
        assert str(error) and "\n" not in str(error)
    else:
        assert isinstance(table, PointTable) and table.rows
        json.dumps([[row.east, row.north, row.elevation] for row in table.rows], allow_nan=False)


@SOME
@given(st.binary(max_size=200), st.sampled_from([b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff"]))
def test_an_upload_is_kept_byte_for_byte_or_refused(served, job_id, body, begin):
    answer = served.http.put(f"/api/jobs/{job_id}/files", content=begin + body)

    if answer.status_code == 200:
        assert served.get(f"/files/{answer.json()['hash']}").content == begin + body
    else:
        assert answer.status_code == 422 and answer.json()["says"]


@SOME
@given(st.binary(max_size=60) | JSON.map(lambda value: json.dumps(value).encode()))
def test_a_file_that_is_imported_is_a_job_or_refused(served, body):
    answer = served.post("/jobs/import", content=body)

    assert set(answer.json()) == ({"id"} if answer.status_code == 200 else {"says", "faults"})
    assert answer.status_code in (200, 422)
