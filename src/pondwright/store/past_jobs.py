"""What the firm's own past jobs came to: typed once, kept beside the jobs and in none of them."""

from __future__ import annotations

import json
from typing import Annotated

from pydantic import Field, ValidationError
from sqlalchemy import delete, func, insert, select

from pondwright.base.errors import DocumentError, DomainError, StoreError
from pondwright.base.kinds import AREA, Area
from pondwright.job.codec import parsed
from pondwright.job.faults import faults_of
from pondwright.job.fields import Line, Section, quantity
from pondwright.rooms.site.ballpark import PastJob, PriceBand, Traits, price_band
from pondwright.store import tables
from pondwright.store.connection import Missing, Store

MOST_PAST_JOBS = 2_000


class PastJobRow(Section):
    """One past job as it is kept."""

    name: Line = Field(default="", description="What people call it")
    area: float = quantity(AREA, help="Water surface", gt=0.0, le=10_000_000.0)
    price: Annotated[float, Field(gt=0.0, le=1e12, description="What it came to")]
    currency: Line = Field(default="", description="In which money, as it is written")
    rocky: bool = Field(default=False, description="Its edge was set in stone")
    falls: bool = Field(default=False, description="It had falls or a stream")
    hard_access: bool = Field(default=False, description="Machines came to it with trouble")
    wet: bool = Field(default=False, description="The ground was wet")
    year: int | None = Field(default=None, ge=1900, le=2200, description="Year in which it was built")

    def past_job(self) -> PastJob:
        """The same as the price band asks for it."""
        traits = Traits(self.rocky, self.falls, self.hard_access, self.wet)
        return PastJob(self.area, self.price, traits)


def read_past_job(text: str) -> PastJobRow:
    """Past job from its JSON text.

    Raises
    ------
    DocumentError   If it is no sound past job; carries every fault.
    """
    parsed(text, "a past job")
    try:
        return PastJobRow.model_validate_json(text)
    except ValidationError as error:
        raise DocumentError("the past job has faults", faults_of(error, PastJobRow)) from None


def keep_past_job(store: Store, name: str, row: PastJobRow) -> None:
    """Keep a past job under its id, in place of what stood there.

    Raises
    ------
    StoreError
        If there are too many, or the file cannot be written.
    """
    with store.writing() as connection:
        connection.execute(delete(tables.past_job).where(tables.past_job.c.id == name))
        held = connection.execute(select(func.count()).select_from(tables.past_job)).scalar_one()
        if held >= MOST_PAST_JOBS:
            raise StoreError(f"at most {MOST_PAST_JOBS} past jobs are kept: take an old one out first")
        body = json.dumps(row.model_dump(mode="json", exclude_defaults=True), sort_keys=True)
        connection.execute(insert(tables.past_job).values(id=name, body=body))


def past_jobs(store: Store) -> dict[str, PastJobRow]:
    """All past jobs by id."""
    rows = select(tables.past_job).order_by(tables.past_job.c.id)
    with store.reading() as connection:
        return {row.id: PastJobRow.model_validate_json(row.body) for row in connection.execute(rows)}


def remove_past_job(store: Store, name: str) -> None:
    """Take a past job out.

    Raises
    ------
    Missing
        If there is none of that id.
    """
    with store.writing() as connection:
        gone = connection.execute(delete(tables.past_job).where(tables.past_job.c.id == name))
        if not gone.rowcount:
            raise Missing(f"there is no past job {name!r} here")


def price_band_of(area: Area, traits: Traits, rows: list[PastJobRow], currency: str = "") -> PriceBand:
    """Price band from past jobs that are all in one money.

    Parameters
    ----------
    area : Area                  Water surface that is asked for. [m²], > 0
    traits : Traits              What can be seen of it.
    rows : list of PastJobRow
    currency : str               Money that is asked for; none where all past jobs are in one.

    Returns
    -------
    PriceBand

    Raises
    ------
    DomainError                  If no past job is in that money, or they are in several and none is told.
    """
    wanted = [row for row in rows if not currency or row.currency == currency]
    monies = sorted({row.currency or "no money told" for row in wanted})
    if rows and not wanted:
        raise DomainError(f"`currency` must be that of a past job, got {currency!r}")
    if len(monies) > 1:
        raise DomainError(f"`currency` must be told: the past jobs are in {', '.join(monies)}")
    return price_band(area, traits, [row.past_job() for row in wanted])
