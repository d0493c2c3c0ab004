"""Who is answered: this machine, our own pages, bodies of a sane size; and what every answer carries."""

import socket

import pytest

from pondwright.server import app as application
from pondwright.server.access import LARGEST_BODY, is_ours
from tests.server.windows import Served


def raw(served, request):
    """Answer to a request that no client of good manners would send."""
    with socket.create_connection(("127.0.0.1", served.port), timeout=20) as line:
        line.sendall(request)
        answer = b""
        while chunk := line.recv(65536):
            answer += chunk
    return answer


@pytest.mark.parametrize(
    ("host", "origin"),
    [
        ("127.0.0.1:8420", None),
        ("localhost:8420", None),
        ("LOCALHOST:8420", "http://localhost:8420"),
        ("127.0.0.1", "http://127.0.0.1"),
    ],
)
def test_our_own_pages_are_ours(host, origin):
    assert is_ours(host, origin)


@pytest.mark.parametrize(
    ("host", "origin"),
    [
        ("", None),
        ("evil.example", None),
        ("127.0.0.1.evil.example", None),
        ("localhost.evil.example:8420", None),
        ("localhost:evil", None),
        ("localhost:8420@evil.example", None),
        ("testserver", None),
        ("0.0.0.0:8420", None),
        ("127.0.0.1:8420", "http://evil.example"),
        ("127.0.0.1:8420", "http://127.0.0.1:8421"),
        ("127.0.0.1:8420", "http://localhost:8420"),
        ("127.0.0.1:8420", "https://127.0.0.1:8420"),
        ("127.0.0.1:8420", "null"),
        ("127.0.0.1:8420", ""),
        ("localhost:٣", None),
    ],
)
def test_other_names_and_pages_are_not_ours(host, origin):
    assert not is_ours(host, origin)


def test_a_name_of_another_site_that_points_here_is_refused(served):
    for path in ("/api/jobs", "/", "/api/openapi.json"):
        answer = served.http.get(path, headers={"Host": "evil.example"})
        assert answer.status_code == 403 and "this machine" in answer.json()["says"]


def test_a_page_of_another_site_cannot_write(served, job_id):
    evil = {"Origin": "http://evil.example"}

    assert served.post("/jobs", json={"name": "n"}, headers=evil).status_code == 403
    assert served.http.put(f"/api/jobs/{job_id}/files", content=b"x", headers=evil).status_code == 403
    assert served.post("/jobs", json={"name": "n"}, headers={"Origin": served.address}).status_code == 200


def test_no_other_site_is_allowed_to_read(served):
    answer = served.get("/jobs", headers={"Origin": "http://evil.example"})

    assert not [name for name in answer.headers if name.startswith("access-control")]
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"


def test_a_body_that_is_too_large_is_refused_before_it_is_read(served):
    head = f"POST /api/jobs/import HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: {LARGEST_BODY + 1}\r\n"

    answer = raw(served, head.encode() + b"Connection: close\r\n\r\n")

    assert answer.startswith(b"HTTP/1.1 413") and b"at most 33 MB" in answer


def test_a_body_without_a_length_is_refused(served):
    answer = served.post("/jobs/import", content=iter([b"{", b"}"]))

    assert answer.status_code == 411


@pytest.mark.parametrize(
    "head",
    [
        b"GET /api/jobs HTTP/1.1\r\n\r\n",
        b"GET /api/jobs HTTP/1.0\r\n\r\n",
        b"POST /api/jobs HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: -1\r\n\r\n",
        b"POST /api/jobs HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: \xb2\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
    ],
)
def test_what_is_no_request_of_ours_is_refused_and_the_server_stays_up(served, head):
    answer = raw(served, head)

    assert answer.startswith((b"HTTP/1.1 400", b"HTTP/1.1 403", b"HTTP/1.1 413"))
    assert served.get("/jobs").status_code == 200


def test_every_answer_carries_its_guards(served, job_id):
    addresses = ("/api/jobs", f"/api/jobs/{job_id}/picture.svg", "/api/nothing", "/", "/api/jobs/x")

    for address in addresses:
        headers = served.http.get(address).headers
        policy = headers["content-security-policy"]
        assert (
            "default-src 'self'" in policy and "unsafe" not in policy and "frame-ancestors 'none'" in policy
        )
        assert headers["x-content-type-options"] == "nosniff"
        assert "server" not in headers and headers["cache-control"]


@pytest.fixture
def page(tmp_path, monkeypatch):
    folder = tmp_path / "static"
    (folder / "assets").mkdir(parents=True)
    (folder / "index.html").write_text("<!doctype html><title>pondwright</title>")
    (folder / "assets" / "main-1a2b3c.js").write_text("export {};")
    (tmp_path / "secret.txt").write_text("secret")
    monkeypatch.setattr(application, "page_folder", lambda: folder)
    with Served(tmp_path / "jobs.sqlite") as served:
        yield served


def test_the_page_is_asked_for_each_time_and_its_named_parts_never_again(page):
    index, part = page.http.get("/"), page.http.get("/assets/main-1a2b3c.js")

    assert index.headers["cache-control"] == "no-cache" and "pondwright" in index.text
    assert "immutable" in part.headers["cache-control"] and "javascript" in part.headers["content-type"]


@pytest.mark.parametrize(
    "path", ["/../secret.txt", "/%2e%2e/secret.txt", "/assets/..%2f..%2fsecret.txt", "//etc/passwd"]
)
def test_nothing_beside_the_page_is_served(page, path):
    answer = raw(page, f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n".encode())

    assert answer.startswith(b"HTTP/1.1 404") and b"secret" not in answer


def test_without_a_built_page_the_server_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(application, "page_folder", lambda: None)
    with Served(tmp_path / "jobs.sqlite") as served:
        answer = served.http.get("/")
        assert answer.status_code == 503 and "not built here" in answer.text
        assert served.get("/jobs").status_code == 200
