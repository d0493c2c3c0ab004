"""Who may ask: this machine only, from our own pages only, and with bodies of a sane size."""

from __future__ import annotations

import json
import re
import sys
import traceback
from collections.abc import Awaitable, Callable, Mapping, Sequence

from fastapi import Request, Response, WebSocket

LOOPBACK = frozenset({"127.0.0.1", "localhost"})
OUR_FAULT = "this is a fault of pondwright, not of your job; the server's window tells more"
LARGEST_BODY = 33 * 1024 * 1024
LARGEST_FILE = 2 * 1024 * 1024 * 1024
"""A measured surface from outside: it is written to the disk as it comes."""

TAKES_FILES = re.compile(r"/api/jobs/[0-9a-f]{16}/incoming")

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'self'; "
        "frame-ancestors 'none'; form-action 'self'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def is_ours(host: str, origin: str | None) -> bool:
    """Whether a request names this machine, and comes from a page of ours or from no page at all.

    A page of another site may make a browser ask us: it then names its own origin, or reaches us
    under a name of its own that points here.
    """
    name, _colon, port = host.lower().partition(":")
    if name not in LOOPBACK or not (port.isascii() and (port.isdigit() or not port)):
        return False
    return origin is None or origin.lower() == f"http://{host.lower()}"


async def guard(request: Request, go_on: Callable[[Request], Awaitable[Response]]) -> Response:
    """Refuse what is not ours or too large; own up to what nobody foresaw; give every answer its headers."""
    try:
        response = _refusal(request) or await go_on(request)
    except Exception:
        traceback.print_exc(file=sys.stderr)
        response = said(500, OUR_FAULT)
    response.headers.update(HEADERS)
    response.headers.setdefault("Cache-Control", "no-store")
    return response


def may_talk(socket: WebSocket) -> bool:
    """Whether a live channel may be opened."""
    return is_ours(socket.headers.get("host", ""), socket.headers.get("origin"))


def said(status: int, says: str, faults: Sequence[Mapping[str, str]] = ()) -> Response:
    """Answer that refuses, in one sentence; any text can be written, half characters too."""
    body = json.dumps({"says": says, "faults": list(faults)})
    return Response(body, status, media_type="application/json")


def _refusal(request: Request) -> Response | None:
    reads = request.method in ("GET", "HEAD")
    origin = None if reads else request.headers.get("origin")
    if not is_ours(request.headers.get("host", ""), origin):
        return said(403, "this server answers only pages of its own, on this machine")
    if not reads and "transfer-encoding" in request.headers:
        return said(411, "say how long the body is")
    length = request.headers.get("content-length", "0")
    largest = LARGEST_FILE if TAKES_FILES.fullmatch(request.url.path) else LARGEST_BODY
    if not (length.isascii() and length.isdigit()) or int(length) > largest:
        return said(413, f"at most {largest // 2**20} MB can be sent at once")
    return None
