"""Who may ask: this machine only, from our own pages only, and with bodies of a sane size."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from urllib.parse import urlsplit

from fastapi import Request, Response, WebSocket
from fastapi.responses import JSONResponse

LOOPBACK = frozenset({"127.0.0.1", "localhost", "[::1]", "testserver"})
LARGEST_BODY = 33 * 1024 * 1024

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; "
        "connect-src 'self'; object-src 'none'; base-uri 'self'; frame-ancestors 'none'; form-action 'self'"
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
    if _name(host) not in LOOPBACK:
        return False
    return origin is None or urlsplit(origin).netloc == host


async def guard(request: Request, go_on: Callable[[Request], Awaitable[Response]]) -> Response:
    """Refuse what is not ours or too large; give every answer its headers."""
    refusal = _refusal(request)
    response = refusal or await go_on(request)
    response.headers.update(HEADERS)
    return response


def may_talk(socket: WebSocket) -> bool:
    """Whether a live channel may be opened."""
    return is_ours(socket.headers.get("host", ""), socket.headers.get("origin"))


def _refusal(request: Request) -> Response | None:
    origin = request.headers.get("origin") if request.method not in ("GET", "HEAD") else None
    if not is_ours(request.headers.get("host", ""), origin):
        return _said(403, "this server answers only pages of its own, on this machine")
    length = request.headers.get("content-length", "0")
    if not length.isdigit() or int(length) > LARGEST_BODY:
        return _said(413, f"at most {LARGEST_BODY // 2**20} MB can be sent at once")
    if request.method not in ("GET", "HEAD") and "transfer-encoding" in request.headers:
        return _said(411, "say how long the body is")
    return None


def _said(status: int, says: str) -> Response:
    return JSONResponse({"says": says, "faults": []}, status)


def _name(host: str) -> str:
    return host.rsplit(":", 1)[0] if not host.endswith("]") else host
