"""The append-only history of a job: every accepted edit is a row, and so is every undo.

An edit made on the newest revision is applied.  One made on an older revision is applied too
when no other window touched since what it touches and the document still validates; otherwise it
is refused, with the reason and the edits that it missed, so that nothing vanishes unsaid.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, func, insert, select, update

from pondwright.base.errors import DocumentError, Fault, StoreError
from pondwright.base.findings import Op
from pondwright.job.codec import dumps
from pondwright.job.document import Job
from pondwright.job.edits import Edit, apply, overlaps
from pondwright.store import tables
from pondwright.store.connection import Store
from pondwright.store.jobs import card_of, head_of, loaded, ops_from, ops_text, replayed

SNAPSHOT_EVERY = 50


@dataclass(frozen=True, slots=True)
class KeptEdit:
    """An edit of the history: its revision, who made it and when (seconds since 1970)."""

    rev: int
    id: str
    base: int
    author: str
    time: float
    label: str
    ops: tuple[Op, ...]


@dataclass(frozen=True, slots=True)
class Accepted:
    """The edit is kept, as this revision."""

    rev: int
    job: Job


@dataclass(frozen=True, slots=True)
class Refused:
    """The edit is not kept: why, and what happened since its base."""

    rev: int
    why: str
    faults: tuple[Fault, ...]
    since: tuple[KeptEdit, ...]


def append_edit(store: Store, job_id: str, edit: Edit, author: str, now: float) -> Accepted | Refused:
    """Keep an edit, or refuse it; sent twice, it is kept once.

    Raises
    ------
    StoreError
        If there is no such job, or the file cannot be written.
    """
    with store.writing() as connection:
        head = card_of(connection, job_id).rev
        job = head_of(store, connection, job_id, head)
        known = connection.execute(
            select(tables.edit.c.rev).where(tables.edit.c.job == job_id, tables.edit.c.id == edit.id)
        ).scalar()
        if known is not None:
            return Accepted(known, replayed(connection, job_id, known))
        if not 0 <= edit.base <= head:
            return Refused(head, f"the edit was made on revision {edit.base}, the job is at {head}", (), ())
        since = _kept(connection, job_id, edit.base)
        clash = _clash(edit, since)
        if clash is not None:
            return Refused(
                head, f"`{clash.label}` by {clash.author or 'someone'} changed the same thing", (), since
            )
        try:
            changed = apply(job, edit)
        except DocumentError as refusal:
            return Refused(head, refusal.says, refusal.faults, since)
        rev = head + 1
        _write(connection, job_id, rev, edit, author, now, changed)
    store.heads[job_id] = (rev, changed)
    return Accepted(rev, changed)


def edits_since(store: Store, job_id: str, rev: int) -> tuple[KeptEdit, ...]:
    """Edits after a revision, oldest first."""
    with store.reading() as connection:
        card_of(connection, job_id)
        return _kept(connection, job_id, rev)


def history(store: Store, job_id: str) -> tuple[KeptEdit, ...]:
    """All edits of a job, oldest first."""
    return edits_since(store, job_id, 0)


def restore(store: Store, job_id: str, rev: int, edit_id: str, author: str, now: float) -> Accepted:
    """Bring back the state of a revision as a new edit; the way between stays in the history.

    Raises
    ------
    StoreError
        If there is no such job or revision.
    """
    old, _rev = loaded(store, job_id, rev)
    head, base = loaded(store, job_id)
    before, after = head.model_dump(mode="json"), old.model_dump(mode="json")
    ops = tuple(Op("replace", f"/{name}", after[name]) for name in after if after[name] != before[name])
    outcome = append_edit(
        store, job_id, Edit(id=edit_id, base=base, ops=ops, label=f"back to {rev}"), author, now
    )
    if isinstance(outcome, Refused):
        raise StoreError(f"revision {rev} cannot be brought back just now: {outcome.why}")
    return outcome


def _write(
    connection: Connection, job_id: str, rev: int, edit: Edit, author: str, now: float, changed: Job
) -> None:
    connection.execute(
        insert(tables.edit).values(
            job=job_id,
            rev=rev,
            id=edit.id,
            base=edit.base,
            author=author,
            time=now,
            label=edit.label,
            ops=ops_text(edit.ops),
        )
    )
    if rev % SNAPSHOT_EVERY == 0:
        connection.execute(insert(tables.snapshot).values(job=job_id, rev=rev, body=dumps(changed)))
    connection.execute(
        update(tables.job)
        .where(tables.job.c.id == job_id)
        .values(
            rev=rev,
            # Two clocks may disagree; the shelf never shows a job older than it is.
            changed=func.max(tables.job.c.changed, now),
            name=changed.name,
            demo=int(changed.demo),
            shown_units=changed.shown_units,
        )
    )


def _kept(connection: Connection, job_id: str, rev: int) -> tuple[KeptEdit, ...]:
    rows = connection.execute(
        select(tables.edit)
        .where(tables.edit.c.job == job_id, tables.edit.c.rev > rev)
        .order_by(tables.edit.c.rev)
    )
    return tuple(
        KeptEdit(row.rev, row.id, row.base, row.author, row.time, row.label, ops_from(row.ops))
        for row in rows
    )


def _clash(edit: Edit, since: tuple[KeptEdit, ...]) -> KeptEdit | None:
    """First edit since the base, by another window, that touched what this one touches.

    A window names its edits `window-1`, `window-2` ...; it has seen its own, answered or not.
    """
    for kept in since:
        changes = [op for op in kept.ops if op.op != "test"]
        if _window(kept.id) != _window(edit.id) and overlaps(edit.ops, changes):
            return kept
    return None


def _window(edit_id: str) -> str:
    return edit_id.rpartition("-")[0] or edit_id
