"""What comes from outside: a pasted page of a level book, and files, looked at before any of it is taken."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import partial
from typing import Annotated, Any, Literal

import numpy as np
from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect

from pondwright.base.errors import DocumentError, ImportRefused, StoreError
from pondwright.base.findings import Op
from pondwright.exchange.crs import placing
from pondwright.exchange.field_book import FieldPage, read_field_book
from pondwright.exchange.read import MOST_SHOTS
from pondwright.exchange.reading import Preview, Reading, Wanted
from pondwright.exchange.taking import around_of, take
from pondwright.exchange.thin import USUAL_TOLERANCE
from pondwright.job.document import Job
from pondwright.job.edits import Edit
from pondwright.job.fields import ID_PATTERN
from pondwright.server.incoming import Held, Incoming
from pondwright.server.live import Workshop
from pondwright.server.plain import plain
from pondwright.server.routes import REFUSALS, JobId
from pondwright.store import Accepted, Refused, loaded

router = APIRouter(prefix="/api", responses=REFUSALS)

Name = Annotated[str, Field(max_length=60)]
Unit = Literal["m", "ft", "ftUS"]
Token = Annotated[str, Path(pattern=r"^[0-9a-f]{32}$")]
LARGE = frozenset({"points", "binned", "triangles", "outlines", "preview"})
"""What of a reading stays on the server."""

TRIES = 3
"""How often an edit is made anew because somebody else changed the job meanwhile."""

A_FILE = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class PastedPage(_Body):
    """A page of a level book, with what the job knows, so that names lead to it."""

    text: Annotated[str, Field(max_length=1_000_000)]
    shown_units: Literal["us", "us_inch", "metric"] = "us"
    reads: Literal["down", "up"] = "down"
    marks: Annotated[list[Name], Field(max_length=20_000)] = []
    shots: Annotated[list[Name], Field(max_length=50_000)] = []


class Understood(_Body):
    """How a person wants a file to be understood; what is missing is for the file to tell."""

    unit: Unit | None = None
    height_unit: Unit | None = None
    order: Annotated[list[Name], Field(max_length=60)] = []
    epsg: Annotated[int, Field(ge=1024, le=99_999)] | None = None
    surface: Annotated[str, Field(max_length=300)] = ""
    heights: Literal["mean", "lowest"] = "mean"


class Taken(_Body):
    """How a file is taken in: as what, how closely, and as a part of which survey."""

    as_: Annotated[Literal["shots", "cloud", ""], Field(alias="as")] = ""
    tolerance: Annotated[float, Field(ge=0.001, le=10.0)] = USUAL_TOLERANCE
    survey: Annotated[str, Field(pattern=ID_PATTERN)] | None = None
    edit: Annotated[str, Field(pattern=r"^[A-Za-z0-9-]{1,64}$")]
    author: Annotated[str, Field(max_length=80)] = ""


@router.post("/preview/book")
def preview_book(page: PastedPage) -> dict[str, Any]:
    """What a pasted page of a level book says, line by line; nothing is kept.

    ``fault`` tells why there are no lines at all.
    """
    try:
        found = read_field_book(
            page.text, page.shown_units, reads=page.reads, marks=page.marks, shots=page.shots
        )
    except ImportRefused as refused:
        return {**plain(FieldPage((), (), {}, {}, {}, "")), "fault": str(refused)}
    return {**plain(found), "fault": ""}


@router.post("/jobs/{job_id}/incoming", openapi_extra=A_FILE)
async def bring_in(
    request: Request, job_id: JobId, name: Annotated[str, Query(min_length=1, max_length=300)]
) -> dict[str, Any]:
    """Look at a file from outside; it waits an hour to be taken in."""
    job = await run_in_threadpool(lambda: loaded(_workshop(request).store, job_id)[0])
    around = await run_in_threadpool(lambda: around_of(job))
    length = int(request.headers.get("content-length", "0"))
    try:
        held = await _incoming(request).receive(job_id, name, length, request.stream(), around)
    except ClientDisconnect:
        raise DocumentError("the file broke off while it was sent") from None
    return _told(held)


@router.post("/jobs/{job_id}/incoming/{token}/look")
async def look_again(request: Request, job_id: JobId, token: Token, as_is: Understood) -> dict[str, Any]:
    """Look at a waiting file again, understood in another way."""
    held = _incoming(request).of(job_id, token)
    wanted = Wanted(
        unit=as_is.unit, height_unit=as_is.height_unit, order=tuple(as_is.order), epsg=as_is.epsg,
        surface=as_is.surface, heights=as_is.heights,
    )  # fmt: skip
    await _incoming(request).look(held, wanted)
    return _told(held)


@router.post("/jobs/{job_id}/incoming/{token}/take")
async def take_in(request: Request, job_id: JobId, token: Token, wanted: Taken) -> dict[str, Any]:
    """Take a waiting file into the job, as one edit."""
    shop, incoming = _workshop(request), _incoming(request)
    held = incoming.of(job_id, token)
    for _ in range(TRIES):
        job, rev = await run_in_threadpool(lambda: loaded(shop.store, job_id))
        edit = await incoming.work(partial(_edit_of, held, job, rev, wanted))
        outcome = await shop.edit(job_id, edit, wanted.author)
        if isinstance(outcome, Accepted):
            incoming.let_go(held)
            return {"rev": outcome.rev, "label": edit.label}
        if outcome.rev == rev:
            break
    assert isinstance(outcome, Refused)
    faults = "; ".join(f"{fault.path} {fault.rule}" for fault in outcome.faults[:3])
    raise StoreError(f"the file could not be taken in: {faults or outcome.why}")


@router.delete("/jobs/{job_id}/incoming/{token}")
def leave_it(request: Request, job_id: JobId, token: Token) -> dict[str, str]:
    """Leave a waiting file; nothing of it is kept."""
    incoming = _incoming(request)
    incoming.let_go(incoming.of(job_id, token))
    return {}


def _edit_of(held: Held, job: Job, rev: int, wanted: Taken) -> Edit:
    reading = held.reading
    assert reading is not None
    edit = take(
        reading,
        job,
        wanted.as_,
        edit_id=wanted.edit,
        base=rev,
        tolerance=wanted.tolerance,
        survey=wanted.survey,
    )
    if wanted.survey is None or wanted.survey in job.site.surveys:
        return edit
    return replace(edit, ops=(Op("add", f"/site/surveys/{wanted.survey}", {"name": reading.name}), *edit.ops))


def _told(held: Held) -> dict[str, Any]:
    """What a person has to see before a file is taken in."""
    reading = held.reading
    assert reading is not None
    few = reading.points is not None and len(reading.points.east) <= MOST_SHOTS
    told = {one.name: plain(getattr(reading, one.name)) for one in fields(reading) if one.name not in LARGE}
    return {
        **told,
        "token": held.token,
        "can_be": ["shots", "cloud"] if few else ["cloud"],
        "outline_count": len(reading.outlines),
        "picture": None if reading.preview is None else _picture(held, reading, reading.preview),
    }


def _picture(held: Held, reading: Reading, preview: Preview) -> dict[str, Any]:
    """Small picture: its rows from south to north, and where its corners lie in the job [m]."""
    grid = preview.grid
    half = 0.5 * grid.spacing
    west, south = grid.origin_east - half, grid.origin_north - half
    east, north = west + grid.columns * grid.spacing, south + grid.rows * grid.spacing
    try:
        placed = placing(reading.epsg, reading.extent, held.around)
    except ImportRefused:
        corners = None
    else:
        x, y = placed.into_job(np.array([west, east, west]), np.array([south, south, north]))
        corners = np.column_stack([x, y])
    return {"rows": plain(preview.rows), "corners": plain(corners)}


def _workshop(request: Request) -> Workshop:
    workshop: Workshop = request.app.state.workshop
    return workshop


def _incoming(request: Request) -> Incoming:
    incoming: Incoming = request.app.state.incoming
    return incoming
