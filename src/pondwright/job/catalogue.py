"""The one catalogue of everything that is bought, hired or paid by the hour."""

from __future__ import annotations

from datetime import date
from typing import Literal

from pydantic import Field

from pondwright.job.fields import Line, RowsById, rows
from pondwright.job.places import Row

ItemKind = Literal[
    "membrane",
    "fabric",
    "gravel",
    "stone",
    "pipe",
    "pump",
    "fitting",
    "plant",
    "soil",
    "machine",
    "labour",
    "service",
]


class Item(Row):
    """One item, with its facts and its price."""

    kind: ItemKind = Field(description="What sort of thing it is")
    facts: RowsById[float | Line] = rows("Facts by name, in the house units")
    unit: Line = Field(default="", description="Unit in which it is ordered")
    pack: float | None = Field(default=None, gt=0.0, description="Units in one pack")
    price: float | None = Field(default=None, ge=0.0, description="Price of one unit, in the job's money")
    dated: date | None = Field(default=None, description="Day of the price")
    until: date | None = Field(default=None, description="Last day on which the price holds")
    supplier: Line = Field(default="", description="Who sells it")
    source: Line = Field(default="", description="Where the facts come from")
