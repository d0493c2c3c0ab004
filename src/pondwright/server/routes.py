"""REST beside the live channel: jobs, documents, history, versions, explanations, papers, files."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import replace
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool

from pondwright import api, examples
from pondwright.base.errors import DocumentError, ImportRefused
from pondwright.exchange.points import PointTable, preview_points
from pondwright.exchange.reading import Around, Wanted
from pondwright.exchange.taking import around_of
from pondwright.flow.engine import Run
from pondwright.flow.results import figure_catalogue
from pondwright.job.codec import dumps, loads
from pondwright.job.defaults import defaults_in_use
from pondwright.job.document import new_job
from pondwright.papers import Sheet, material_of, pages_of, pdf_of, photo_hashes, sheets
from pondwright.papers.picture import picture
from pondwright.server.live import Workshop
from pondwright.server.plain import plain, plain_checks
from pondwright.store import (
    Missing,
    Version,
    duplicate_job,
    file_body,
    history,
    job_card,
    job_cards,
    keep_file,
    keep_job,
    keep_version,
    loaded,
    log_of,
    set_card,
    versions,
)


class Refusal(BaseModel):
    """Why something was refused: one sentence, and every fault of a document."""

    says: str
    faults: list[dict[str, str]]


REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"model": Refusal, "description": says}
    for status, says in (
        (400, "There is no answer to this"),
        (403, "Not from here"),
        (404, "Not there"),
        (409, "It cannot be kept"),
        (411, "Length missing"),
        (413, "Too large"),
        (422, "It does not fit"),
        (503, "The store is busy or full"),
    )
}
router = APIRouter(prefix="/api", responses=REFUSALS)

JobId = Annotated[str, Path(pattern=r"^[0-9a-f]{16}$")]
FileName = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]
IMAGES = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
LARGEST_IMAGE = 25 * 1024 * 1024


def _body_of(*media: str) -> dict[str, Any]:
    """What the description of the interface says of a body that we read as bytes."""
    held = {"schema": {"type": "string", "format": "binary"}}
    return {"requestBody": {"required": True, "content": dict.fromkeys(media, held)}}


def _gives(*media: str) -> dict[str, Any]:
    """What the description of the interface says of an answer that is a file."""
    return {"response_class": Response, "responses": {200: {"content": {key: {} for key in media}}}}


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class NewJob(_Body):
    """A job to begin."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    shown_units: Literal["us", "us_inch", "metric"] = "us"


class Card(_Body):
    """What to change on a job's card."""

    state: Literal["asked", "seen", "quoted", "signed", "building", "care"] | None = None
    archived: bool | None = None


class Back(_Body):
    """A revision to bring back."""

    rev: Annotated[int, Field(ge=0, le=10**9)]
    author: Annotated[str, Field(max_length=80)] = ""


class NewVersion(_Body):
    """A name for the newest revision."""

    name: Annotated[str, Field(min_length=1, max_length=120)]
    signed_by: Annotated[str, Field(max_length=120)] = ""


class Pasted(_Body):
    """Rows pasted from a spreadsheet or dropped as a file, and how a person says that they are to be read."""

    text: Annotated[str, Field(max_length=4_000_000)]
    shown_units: Literal["us", "us_inch", "metric"] = "us"
    job: Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")] | None = None
    unit: Literal["m", "ft", "ftUS"] | None = None
    order: Annotated[list[Annotated[str, Field(max_length=60)]], Field(max_length=60)] = []


@router.get("/jobs")
def list_jobs(
    request: Request, search: Annotated[str, Query(max_length=200)] = "", archived: bool = False
) -> list[dict[str, Any]]:
    """Cards of the jobs, last changed first."""
    wanted = search.casefold().strip()
    return [
        plain(card)
        for card in job_cards(_workshop(request).store, archived=archived)
        if wanted in card.name.casefold()
    ]


@router.post("/jobs")
def begin_job(request: Request, wanted: NewJob) -> dict[str, str]:
    """Begin an empty job."""
    shop = _workshop(request)
    return {"id": keep_job(shop.store, new_job(wanted.name, wanted.shown_units), shop.now())}


@router.post("/jobs/import", openapi_extra=_body_of("application/json"))
async def import_job(request: Request) -> dict[str, str]:
    """Take over a job file."""
    shop, body = _workshop(request), await request.body()
    return {"id": await run_in_threadpool(lambda: keep_job(shop.store, loads(body), shop.now()))}


@router.get("/examples")
def list_examples() -> list[dict[str, str]]:
    """Examples that can be opened as copies; everything in them is invented."""
    return [{"name": name, "says": says} for name, says in examples.EXAMPLES.items()]


@router.post("/examples/{name}/copy")
def copy_example(request: Request, name: str) -> dict[str, str]:
    """Open an example as a copy of one's own."""
    if name not in examples.EXAMPLES:
        raise Missing(f"there is no example {name[:40]!r}: there are {', '.join(examples.EXAMPLES)}")
    shop = _workshop(request)
    return {"id": keep_job(shop.store, loads(examples.example_text(name)), shop.now())}


@router.get("/jobs/{job_id}")
def one_job(request: Request, job_id: JobId) -> dict[str, Any]:
    """Card of a job."""
    card: dict[str, Any] = plain(job_card(_workshop(request).store, job_id))
    return card


@router.patch("/jobs/{job_id}")
def change_card(request: Request, job_id: JobId, card: Card) -> dict[str, Any]:
    """Change a job's state, or archive it."""
    changed = set_card(_workshop(request).store, job_id, state=card.state, archived=card.archived)
    found: dict[str, Any] = plain(changed)
    return found


@router.post("/jobs/{job_id}/duplicate")
def duplicate(request: Request, job_id: JobId) -> dict[str, str]:
    """Copy a job."""
    shop = _workshop(request)
    return {"id": duplicate_job(shop.store, job_id, shop.now())}


@router.get("/jobs/{job_id}/file", **_gives("application/json"))
def job_file(request: Request, job_id: JobId) -> Response:
    """The one-file job, to keep or to send."""
    job, _rev = loaded(_workshop(request).store, job_id)
    return Response(
        dumps(job),
        media_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{job.id}.pond.json"'},
    )


@router.get("/jobs/{job_id}/document")
def document(
    request: Request, job_id: JobId, rev: Annotated[int | None, Query(ge=0, le=10**9)] = None
) -> dict[str, Any]:
    """The document at a revision, the newest by default."""
    job, found = loaded(_workshop(request).store, job_id, rev)
    return {"rev": found, "job": job.model_dump(mode="json")}


@router.get("/jobs/{job_id}/history")
def edits(request: Request, job_id: JobId) -> list[dict[str, Any]]:
    """Every edit, oldest first, without its operations."""
    return [
        {"rev": one.rev, "id": one.id, "author": one.author, "time": one.time, "label": one.label}
        for one in history(_workshop(request).store, job_id)
    ]


@router.post("/jobs/{job_id}/restore")
async def bring_back(request: Request, job_id: JobId, back: Back) -> dict[str, int]:
    """Bring back a revision, as a new edit."""
    shop = _workshop(request)
    edit_id = f"restore{secrets.token_hex(6)}-{back.rev}"
    outcome = await shop.restore(job_id, back.rev, edit_id, back.author)
    return {"rev": outcome.rev}


@router.get("/jobs/{job_id}/versions")
def named_versions(request: Request, job_id: JobId) -> list[dict[str, Any]]:
    """Named versions, oldest first."""
    return [plain(version) for version in versions(_workshop(request).store, job_id)]


@router.post("/jobs/{job_id}/versions")
async def name_version(request: Request, job_id: JobId, wanted: NewVersion) -> dict[str, Any]:
    """Name the newest revision, with its figures of today."""
    shop = _workshop(request)
    run, rev = await shop.run_of(job_id)
    known = {one.path: one.value for one in api.figures(run) if one.value is not None}
    version = Version(wanted.name, rev, wanted.signed_by, shop.now(), known)
    await run_in_threadpool(lambda: keep_version(shop.store, job_id, version))
    return {"name": version.name, "rev": rev}


@router.get("/jobs/{job_id}/results")
async def results(request: Request, job_id: JobId) -> dict[str, Any]:
    """Every figure and check of the newest revision, and the defaults in use."""
    run, rev = await _workshop(request).run_of(job_id)
    found = api.checks(run)
    return {
        "rev": rev,
        "figures": plain({one.path: one.value for one in api.figures(run)}),
        "checks": plain_checks((*found.stop, *found.look, *found.good)),
        "stages": {
            name: {"status": str(state.status), "milliseconds": state.milliseconds}
            for name, state in run.stages.items()
        },
        "defaults": plain(defaults_in_use(run.job)),
    }


@router.get("/figures")
def catalogue() -> list[dict[str, str]]:
    """Every figure that a job can have: path pattern, kind, house unit, words, stage."""
    return [
        {"path": path, "kind": one.kind.name, "unit": one.kind.unit, "says": one.says, "stage": stage}
        for path, stage, one in figure_catalogue()
    ]


@router.get("/jobs/{job_id}/explain")
async def explain(
    request: Request,
    job_id: JobId,
    path: Annotated[str, Query(max_length=300)],
    since: Annotated[str, Query(max_length=120)] = "",
) -> dict[str, Any]:
    """Where a number comes from, and what moved it since a named version."""
    shop = _workshop(request)
    run, _rev = await shop.run_of(job_id)

    def told() -> Any:
        before = _run_of_version(shop, job_id, since) if since else None
        return plain(api.explain(run, path, before))

    found: dict[str, Any] = await run_in_threadpool(told)
    return found


@router.get("/jobs/{job_id}/picture.svg", **_gives("image/svg+xml"))
def small_picture(request: Request, job_id: JobId) -> Response:
    """Small picture for the list of jobs."""
    job, _rev = loaded(_workshop(request).store, job_id)
    return Response(picture(job), media_type="image/svg+xml")


@router.get("/jobs/{job_id}/papers")
async def papers(request: Request, job_id: JobId) -> list[dict[str, str]]:
    """Sheets that this job can print."""
    shop = _workshop(request)
    run, _rev = await shop.run_of(job_id)
    drawn = await run_in_threadpool(lambda: _sheets(shop, run))
    return [{"name": sheet.name, "title": sheet.title} for sheet in drawn]


@router.get("/jobs/{job_id}/papers/{name}", **_gives("image/svg+xml", "application/pdf"))
async def paper(request: Request, job_id: JobId, name: str) -> Response:
    """One sheet as SVG or PDF, or ``all.pdf``."""
    shop = _workshop(request)
    run, _rev = await shop.run_of(job_id)
    drawn = await run_in_threadpool(lambda: _sheets(shop, run))
    stem, _dot, form = name.rpartition(".")
    wanted = drawn if stem == "all" else pages_of(drawn, stem)
    if not wanted or form not in ("svg", "pdf") or (form == "svg" and stem == "all"):
        raise Missing(f"there is no paper {name[:60]!r}")
    if form == "svg":
        return Response(wanted[0].svg, media_type="image/svg+xml")
    return Response(await run_in_threadpool(lambda: pdf_of(wanted)), media_type="application/pdf")


@router.post("/preview/shots")
def preview_shots(request: Request, pasted: Pasted) -> dict[str, Any]:
    """What pasted rows say, row by row, with what is wrong in each cell; nothing is kept.

    With a job the rows are compared with what it holds; ``fault`` tells why there are no rows at all.
    """
    around = Around(pasted.shown_units)
    if pasted.job is not None:
        job, _rev = loaded(_workshop(request).store, pasted.job)
        around = replace(around_of(job), shown=pasted.shown_units)
    try:
        table = preview_points(
            pasted.text, pasted.shown_units, around, Wanted(unit=pasted.unit, order=tuple(pasted.order))
        )
    except ImportRefused as refused:
        return {**plain(PointTable((), (), "")), "fault": str(refused)}
    return {**plain(table), "fault": ""}


@router.put("/jobs/{job_id}/files", openapi_extra=_body_of("image/png", "image/jpeg"))
async def upload(request: Request, job_id: JobId) -> dict[str, str]:
    """Keep a photo; PNG and JPEG only."""
    shop, body = _workshop(request), await request.body()
    await run_in_threadpool(lambda: job_card(shop.store, job_id))
    kind = next((name for begin, name in IMAGES.items() if body.startswith(begin)), None)
    if kind is None:
        raise DocumentError("a photo must be a PNG or a JPEG")
    if len(body) > LARGEST_IMAGE:
        raise DocumentError(
            f"a photo must be at most {LARGEST_IMAGE // 2**20} MB, got {len(body) // 2**20} MB"
        )
    return {"hash": await run_in_threadpool(lambda: keep_file(shop.store, body, kind))}


@router.get("/files/{name}", **_gives("image/png", "image/jpeg"))
def kept_file(request: Request, name: FileName) -> Response:
    """A kept file."""
    body, kind = file_body(_workshop(request).store, name)
    return Response(body, media_type=kind, headers={"Cache-Control": "private, max-age=31536000, immutable"})


@router.get("/schema.json")
def schema() -> dict[str, Any]:
    """JSON Schema of the job document."""
    return api.schema()


def _workshop(request: Request) -> Workshop:
    workshop: Workshop = request.app.state.workshop
    return workshop


def _sheets(shop: Workshop, run: Run) -> tuple[Sheet, ...]:
    """Sheets of a run, with the photos that are kept here."""
    return sheets(material_of(run, dict(_kept(shop, photo_hashes(run.job, run.log)))))


def _kept(shop: Workshop, hashes: Iterable[str]) -> Iterator[tuple[str, bytes]]:
    for name in hashes:
        with suppress(Missing):
            yield name, file_body(shop.store, name)[0]


def _run_of_version(shop: Workshop, job_id: str, name: str) -> Run:
    known: Iterator[Version] = (one for one in versions(shop.store, job_id) if one.name == name)
    version = next(known, None)
    if version is None:
        raise Missing(f"this job has no version named {name!r}")
    job, _rev = loaded(shop.store, job_id, version.rev)
    return api.compute(job, log_of(shop.store, job_id))
