"""The shelf of jobs: their cards, and the document of any revision."""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass

from sqlalchemy import Connection, insert, select, update

from pondwright.base.errors import StoreError
from pondwright.base.findings import Op
from pondwright.job.codec import dumps, loads
from pondwright.job.document import Job
from pondwright.job.edits import Edit, apply
from pondwright.store import tables
from pondwright.store.connection import Missing, Store

LONGEST_STEM = 190  # of the name of a copy, so that the whole stays within what a name may have
STATES = ("asked", "seen", "quoted", "signed", "building", "care")


@dataclass(frozen=True, slots=True)
class JobCard:
    """What the list of jobs tells of one of them; times in seconds since 1970."""

    id: str
    name: str
    state: str
    archived: bool
    demo: bool
    shown_units: str
    rev: int
    created: float
    changed: float


def keep_job(store: Store, job: Job, now: float) -> str:
    """Put a job on the shelf as revision 0 of a new history; give its id there."""
    id_ = secrets.token_hex(8)
    with store.writing() as connection:
        connection.execute(
            insert(tables.job).values(
                id=id_,
                name=job.name,
                state=STATES[0],
                archived=0,
                demo=int(job.demo),
                shown_units=job.shown_units,
                rev=0,
                created=now,
                changed=now,
            )
        )
        connection.execute(insert(tables.snapshot).values(job=id_, rev=0, body=dumps(job)))
    return id_


def job_cards(store: Store, *, archived: bool = False) -> tuple[JobCard, ...]:
    """Cards of all jobs that are, or are not, archived; last changed first."""
    wanted = (
        select(tables.job).where(tables.job.c.archived == int(archived)).order_by(tables.job.c.changed.desc())
    )
    with store.reading() as connection:
        return tuple(_card(row) for row in connection.execute(wanted).mappings())


def job_card(store: Store, job_id: str) -> JobCard:
    """Card of one job.

    Raises
    ------
    StoreError
        If there is no such job.
    """
    with store.reading() as connection:
        return card_of(connection, job_id)


def set_card(store: Store, job_id: str, *, state: str | None = None, archived: bool | None = None) -> JobCard:
    """Change a job's state or put it into, or take it out of, the archive.

    Raises
    ------
    StoreError
        If there is no such job or no such state.
    """
    if state is not None and state not in STATES:
        raise StoreError(f"`state` must be one of {', '.join(STATES)}, got {state!r}")
    with store.writing() as connection:
        card_of(connection, job_id)
        changes: dict[str, object] = {}
        if state is not None:
            changes["state"] = state
        if archived is not None:
            changes["archived"] = int(archived)
        if changes:
            connection.execute(update(tables.job).where(tables.job.c.id == job_id).values(**changes))
        return card_of(connection, job_id)


def duplicate_job(store: Store, job_id: str, now: float) -> str:
    """Put a copy of a job's newest state on the shelf, with a history of its own; give its id."""
    job, _rev = loaded(store, job_id)
    return keep_job(store, job.model_copy(update={"name": f"{job.name[:LONGEST_STEM]} (copy)"}), now)


def loaded(store: Store, job_id: str, rev: int | None = None) -> tuple[Job, int]:
    """Document of a job at a revision (the newest by default), with that revision.

    Raises
    ------
    StoreError
        If there is no such job or revision.
    """
    with store.reading() as connection:
        head = card_of(connection, job_id).rev
        wanted = head if rev is None else rev
        if not 0 <= wanted <= head:
            raise Missing(f"job {job_id} has revisions 0 to {head}, not {rev}")
        if wanted == head:
            return head_of(store, connection, job_id, head), head
        return replayed(connection, job_id, wanted), wanted


def card_of(connection: Connection, job_id: str) -> JobCard:
    """Card of a job, read on an open connection; StoreError if there is none."""
    row = connection.execute(select(tables.job).where(tables.job.c.id == job_id)).mappings().first()
    if row is None:
        raise Missing(f"there is no job {job_id!r} here")
    return _card(row)


def head_of(store: Store, connection: Connection, job_id: str, rev: int) -> Job:
    """Newest document, remembered as long as no other program has moved the head."""
    remembered = store.heads.get(job_id)
    if remembered is None or remembered[0] != rev:
        # Kept by name: another thread may move the head between these lines.
        remembered = store.heads[job_id] = (rev, replayed(connection, job_id, rev))
    return remembered[1]


def replayed(connection: Connection, job_id: str, rev: int) -> Job:
    """Document at a revision: the nearest snapshot before it, and the edits since."""
    snapshot = connection.execute(
        select(tables.snapshot)
        .where(tables.snapshot.c.job == job_id, tables.snapshot.c.rev <= rev)
        .order_by(tables.snapshot.c.rev.desc())
        .limit(1)
    ).one()
    rows = connection.execute(
        select(tables.edit)
        .where(tables.edit.c.job == job_id, tables.edit.c.rev > snapshot.rev, tables.edit.c.rev <= rev)
        .order_by(tables.edit.c.rev)
    )
    job = loads(snapshot.body)
    for row in rows:
        job = apply(job, Edit(id=row.id, base=row.base, ops=ops_from(row.ops), label=row.label))
    return job


def ops_from(text: str) -> tuple[Op, ...]:
    """Operations as they stand in a row of the store."""
    return tuple(Op(row["op"], row["path"], row.get("value")) for row in json.loads(text))


def ops_text(ops: tuple[Op, ...]) -> str:
    """Operations as text for a row of the store."""
    return json.dumps([{"op": op.op, "path": op.path, "value": op.value} for op in ops])


def _card(row: object) -> JobCard:
    values = dict(row)  # type: ignore[call-overload]
    values["archived"], values["demo"] = bool(values["archived"]), bool(values["demo"])
    return JobCard(**values)
