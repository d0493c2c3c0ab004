"""The application: routes, live channel, the page itself, and one sentence for everything refused."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path

from fastapi import FastAPI, Request, Response, WebSocket
from fastapi.exceptions import RequestValidationError
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.types import Scope

import pondwright
from pondwright.base.errors import DocumentError, ImportRefused, PondwrightError, StageError, StoreError
from pondwright.server import access
from pondwright.server.access import OUR_FAULT, said
from pondwright.server.file_routes import router as file_router
from pondwright.server.incoming import Incoming
from pondwright.server.live import Workshop
from pondwright.server.plain import plain_refusal
from pondwright.server.routes import router
from pondwright.server.visit_routes import router as visit_router
from pondwright.store import Missing, Unusable, open_store

FOR_EVER = "public, max-age=31536000, immutable"

STATUSES: tuple[tuple[type[PondwrightError], int], ...] = (
    (Missing, 404),
    (Unusable, 503),
    (StoreError, 409),
    (DocumentError, 422),
    (ImportRefused, 422),
)
"""Kinds of refusal and their status; any other is 400."""

HTTP_SAYS = {
    400: "the body cannot be read",
    404: "there is nothing at this address",
    405: "this address does not take that method",
}
NO_PAGE = "The page is not built here: `make run` builds it. The API is at /api."


def make_app(store_file: Path) -> FastAPI:
    """Application on a store.

    Parameters
    ----------
    store_file : Path        The SQLite file of the jobs; made when it is not there.

    Returns
    -------
    FastAPI

    Raises
    ------
    StoreError
        If the store cannot be opened.
    """
    store = open_store(store_file)

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        app.state.workshop = Workshop(store)
        app.state.incoming = Incoming()
        yield
        app.state.incoming.close()
        app.state.workshop.close()
        store.close()

    app = FastAPI(
        title="pondwright",
        version=pondwright.__version__,
        lifespan=life,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    app.middleware("http")(access.guard)
    app.include_router(router)
    app.include_router(file_router)
    app.include_router(visit_router)
    app.add_exception_handler(PondwrightError, _refused)
    app.add_exception_handler(RequestValidationError, _malformed)
    app.add_exception_handler(HTTPException, _no_route)

    @app.websocket("/api/jobs/{job_id}/live")
    async def live(socket: WebSocket, job_id: str) -> None:
        if not access.may_talk(socket):
            await socket.close(1008)
            return
        await app.state.workshop.serve(socket, job_id)

    _add_page(app)
    return app


def page_folder() -> Path | None:
    """Folder of the built page, or None where it has not been built."""
    folder = Path(str(resources.files("pondwright") / "static"))
    return folder if (folder / "index.html").is_file() else None


def _add_page(app: FastAPI) -> None:
    folder = page_folder()
    if folder is not None:
        app.mount("/", _Page(directory=folder, html=True), name="page")
        return

    @app.get("/")
    def no_page() -> Response:
        return Response(NO_PAGE, 503, media_type="text/plain")


class _Page(StaticFiles):
    """Files of the built page: what has a hash in its name never changes, the rest is asked for each time."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """One file."""
        response = await super().get_response(path, scope)
        response.headers["Cache-Control"] = FOR_EVER if path.startswith("assets/") else "no-cache"
        return response


async def _refused(_request: Request, error: Exception) -> Response:
    assert isinstance(error, PondwrightError)
    if isinstance(error, StageError):
        return said(500, OUR_FAULT)
    statuses = (status for kind, status in STATUSES if isinstance(error, kind))
    refusal = plain_refusal(error)
    return said(next(statuses, 400), refusal["says"], refusal["faults"])


async def _malformed(_request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    faults = [
        {"path": ".".join(str(part) for part in one["loc"]), "rule": str(one["msg"]), "found": ""}
        for one in error.errors()
    ]
    return said(422, "the request does not fit", faults)


async def _no_route(_request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return said(error.status_code, HTTP_SAYS.get(error.status_code, str(error.detail)))
