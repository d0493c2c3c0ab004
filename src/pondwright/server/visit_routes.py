"""Addresses of the first visit: the walk, common wishes, the log and its photos, past jobs, a ballpark."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request
from starlette.concurrency import run_in_threadpool

from pondwright.base.errors import DocumentError, DomainError
from pondwright.job.fields import ID_PATTERN
from pondwright.job.log import read_entry, write_entry
from pondwright.job.photos import photo_pairs, photos_of
from pondwright.job.tables import walk_points, wish_offers
from pondwright.rooms.site.ballpark import Traits
from pondwright.server.live import Workshop
from pondwright.server.plain import plain
from pondwright.server.routes import REFUSALS, JobId
from pondwright.store import (
    append_log,
    keep_past_job,
    loaded,
    log_of,
    past_jobs,
    price_band_of,
    read_past_job,
    remove_past_job,
)

router = APIRouter(prefix="/api", responses=REFUSALS)

LARGEST_ENTRY = 256 * 1024
LARGEST_PAST_JOB = 16 * 1024

PastId = Annotated[str, Path(pattern=ID_PATTERN)]
_JSON_BODY: dict[str, Any] = {
    "requestBody": {"required": True, "content": {"application/json": {"schema": {"type": "object"}}}}
}


@router.get("/walk")
def walk_list() -> list[dict[str, Any]]:
    """Points of the walk round a site, in their order, with their groups and weights."""
    return [asdict(point) for point in walk_points()]


@router.get("/wishes")
def wish_list() -> list[dict[str, Any]]:
    """Common wishes, each with the figure or the check that answers it."""
    return [asdict(offer) for offer in wish_offers()]


@router.get("/jobs/{job_id}/log")
def read_log(
    request: Request,
    job_id: JobId,
    kind: Annotated[str, Query(max_length=20)] = "",
    after: Annotated[str, Query(max_length=64)] = "",
) -> dict[str, Any]:
    """Entries of a job's log in the order in which they came in; of one kind, or those after one of them."""
    entries = log_of(_shop(request).store, job_id).entries
    places = [place for place, entry in enumerate(entries, 1) if entry.id == after]
    wanted = [entry for entry in entries[sum(places) :] if not kind or entry.kind == kind]
    return {"count": len(entries), "entries": [json.loads(write_entry(entry)) for entry in wanted]}


@router.post("/jobs/{job_id}/log", openapi_extra=_JSON_BODY)
async def append_entry(request: Request, job_id: JobId) -> dict[str, Any]:
    """Keep one entry; the very same entry sent again is kept once, and nothing is ever overwritten."""
    shop, body = _shop(request), await request.body()
    text = _text_of(body, LARGEST_ENTRY, "an entry")

    def kept() -> dict[str, Any]:
        entry = read_entry(text)
        return {"id": entry.id, "number": append_log(shop.store, job_id, entry)}

    return await run_in_threadpool(kept)


@router.get("/jobs/{job_id}/photos")
def photos(request: Request, job_id: JobId) -> dict[str, Any]:
    """Photos of a job, the earliest first, pairs from one spot, and those that repeat what is not there."""
    log = log_of(_shop(request).store, job_id)
    found = photo_pairs(log)
    return {
        "photos": [json.loads(write_entry(photo)) for photo in photos_of(log)],
        "pairs": [{"before": before.id, "after": after.id} for before, after in found.pairs],
        "adrift": [photo.id for photo in found.adrift],
    }


@router.get("/past-jobs")
def list_past_jobs(request: Request) -> list[dict[str, Any]]:
    """The firm's own past jobs, by id."""
    return [
        {"id": name, **row.model_dump(mode="json")} for name, row in past_jobs(_shop(request).store).items()
    ]


@router.put("/past-jobs/{name}", openapi_extra=_JSON_BODY)
async def put_past_job(request: Request, name: PastId) -> dict[str, Any]:
    """Keep a past job under an id, in place of what stood there."""
    shop, body = _shop(request), await request.body()
    text = _text_of(body, LARGEST_PAST_JOB, "a past job")
    row = read_past_job(text)
    await run_in_threadpool(lambda: keep_past_job(shop.store, name, row))
    return {"id": name, **row.model_dump(mode="json")}


@router.delete("/past-jobs/{name}")
def delete_past_job(request: Request, name: PastId) -> dict[str, str]:
    """Take a past job out."""
    remove_past_job(_shop(request).store, name)
    return {"id": name}


@router.get("/jobs/{job_id}/ballpark")
def ballpark(
    request: Request,
    job_id: JobId,
    area: Annotated[float | None, Query(gt=0.0, le=1e7, allow_inf_nan=False)] = None,
    rocky: bool = False,
    falls: bool = False,
    hard_access: bool = False,
    wet: bool = False,
    currency: Annotated[str, Query(max_length=200)] = "",
) -> dict[str, Any]:
    """Price band for an area of water, by default the size that the brief guesses."""
    shop = _shop(request)
    brief = loaded(shop.store, job_id)[0].brief
    wanted = brief.size_guess if area is None else area
    if wanted is None:
        raise DomainError("`area` must be told: the brief guesses no size yet")
    rows = list(past_jobs(shop.store).values())
    money = currency or brief.currency
    band = price_band_of(wanted, Traits(rocky, falls, hard_access, wet), rows, money)
    found: dict[str, Any] = plain(band)
    return {"area": wanted, "currency": money, **found}


def _text_of(body: bytes, largest: int, thing: str) -> str:
    if len(body) > largest:
        raise DocumentError(f"{thing} must be at most {largest // 1024} kB, got {len(body) // 1024} kB")
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError:
        raise DocumentError(f"{thing} must be text in UTF-8") from None


def _shop(request: Request) -> Workshop:
    workshop: Workshop = request.app.state.workshop
    return workshop
