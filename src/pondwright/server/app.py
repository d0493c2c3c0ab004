"""The application: routes, live channel, the page itself, and one sentence for everything refused."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path

from fastapi import FastAPI, Request, Response, WebSocket
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from fastapi.staticfiles import StaticFiles

import pondwright
from pondwright.base.errors import DocumentError, PondwrightError, StoreError
from pondwright.server import access
from pondwright.server.live import Workshop
from pondwright.server.plain import plain_refusal
from pondwright.server.routes import router
from pondwright.store import open_store

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
        yield
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
    app.add_exception_handler(PondwrightError, _refused)
    app.add_exception_handler(RequestValidationError, _malformed)

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
        app.mount("/", StaticFiles(directory=folder, html=True), name="page")
        return

    @app.get("/")
    def no_page() -> Response:
        return Response(NO_PAGE, 503, media_type="text/plain")


async def _refused(_request: Request, error: Exception) -> Response:
    assert isinstance(error, PondwrightError)
    status = 404 if isinstance(error, StoreError) else 422 if isinstance(error, DocumentError) else 400
    return JSONResponse(plain_refusal(error), status)


async def _malformed(_request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    faults = [
        {"path": ".".join(str(part) for part in one["loc"]), "rule": str(one["msg"]), "found": ""}
        for one in error.errors()
    ]
    return JSONResponse({"says": "the request does not fit", "faults": faults}, 422)
