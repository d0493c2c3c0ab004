"""The log: what was observed on site, append-only, beside the job that holds what is decided.

Whoever makes an entry also makes its id, so that a phone may send the same entry twice.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, Field, TypeAdapter, ValidationError

from pondwright.base.errors import DocumentError
from pondwright.base.kinds import ANGLE, ELEVATION, LENGTH, TIME, VOLUME
from pondwright.job.codec import parsed
from pondwright.job.faults import faults_of
from pondwright.job.fields import (
    ENTRY_PATTERN,
    FileHash,
    Id,
    Line,
    Rows,
    RowsById,
    Section,
    Text,
    quantity,
    rows,
)
from pondwright.job.places import Point
from pondwright.job.references import within

EntryId = Annotated[str, Field(pattern=ENTRY_PATTERN)]


class _Entry(Section):
    id: EntryId = Field(description="Name of the entry, made by whoever makes the entry")
    time: AwareDatetime = Field(description="When it was observed, with the time zone")
    by: Line = Field(default="", description="Who observed it")
    note: Text = Field(default="", description="Anything worth saying about it")
    files: tuple[FileHash, ...] = Field(default=(), description="Photos and papers, by hash")


class LevelEntry(_Entry):
    """A water level that was read."""

    kind: Literal["level"] = Field(description="The word `level`")
    of: Id = Field(description="The body or well")
    elevation: float = quantity(ELEVATION, help="Elevation of the water")


class RodEntry(_Entry):
    """A rod reading."""

    kind: Literal["rod"] = Field(description="The word `rod`")
    point: Id = Field(description="The point on which the rod stood")
    reading: float = quantity(LENGTH, help="Rod reading")
    set_up: Line = Field(description="The set-up of the instrument")


class AsBuiltEntry(_Entry):
    """A shot on what was built."""

    kind: Literal["as_built"] = Field(description="The word `as_built`")
    place: Point = Field(description="Where")
    elevation: float = quantity(ELEVATION, help="Elevation as built")
    feature: Line = Field(description="What was shot")


class MeterEntry(_Entry):
    """A reading of a water meter."""

    kind: Literal["meter"] = Field(description="The word `meter`")
    node: Id = Field(description="The meter")
    reading: float = quantity(VOLUME, help="What the meter shows", ge=0.0)


class WaterTestEntry(_Entry):
    """A test of the water."""

    kind: Literal["test"] = Field(description="The word `test`")
    test: Line = Field(description="What was tested")
    value: float = Field(description="The result")
    unit: Line = Field(default="", description="Unit of the result")


class BucketEntry(_Entry):
    """A bucket test: how far the pond fell, and a bucket of water that stood in it."""

    kind: Literal["bucket"] = Field(description="The word `bucket`")
    body: Id = Field(description="The body of water")
    pond_drop: float = quantity(LENGTH, help="Fall of the pond")
    bucket_drop: float = quantity(LENGTH, help="Fall of the water in the bucket")
    duration: float = quantity(TIME, help="How long it stood", gt=0.0)


class DayEntry(_Entry):
    """A day sheet."""

    kind: Literal["day"] = Field(description="The word `day`")
    crew: tuple[Line, ...] = Field(default=(), description="Who worked")
    hours: float = Field(ge=0.0, le=2400.0, description="Hours worked by all together")
    quantities: RowsById[float] = rows("What was done, by activity")


class PhotoEntry(_Entry):
    """A photo with the place where it was taken; the photo is in `files`."""

    kind: Literal["photo"] = Field(description="The word `photo`")
    place: Point | None = Field(default=None, description="Where it was taken")
    bearing: float | None = quantity(
        ANGLE, help="Which way it looks, clockwise from grid north", default=None, ge=-6.3, le=6.3
    )
    of: Line = Field(default="", description="What it shows: dotted path of a row of the job")
    stage: Line = Field(default="", description="Stage of the work that it shows")
    repeats: EntryId | None = Field(default=None, description="The earlier photo from the same spot")


class VisitEntry(_Entry):
    """A visit to the site; what was seen is in `note`."""

    kind: Literal["visit"] = Field(description="The word `visit`")


class TicketEntry(_Entry):
    """A delivery ticket."""

    kind: Literal["ticket"] = Field(description="The word `ticket`")
    item: Id = Field(description="What was delivered, from the catalogue")
    quantity: float = Field(description="How much")
    unit: Line = Field(default="", description="Unit of the ticket")


class HoldEntry(_Entry):
    """A hold point that was reached or released."""

    kind: Literal["hold"] = Field(description="The word `hold`")
    point: Line = Field(description="The hold point")
    released: bool = Field(description="Work may go on")


Entry = Annotated[
    LevelEntry
    | RodEntry
    | AsBuiltEntry
    | MeterEntry
    | WaterTestEntry
    | BucketEntry
    | DayEntry
    | PhotoEntry
    | VisitEntry
    | TicketEntry
    | HoldEntry,
    Field(discriminator="kind"),
]


@dataclass(frozen=True, slots=True)
class Log:
    """Entries in the order in which they came in, each with its own id."""

    entries: tuple[Entry, ...] = ()
    by_id: Mapping[str, Entry] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_id", Rows({entry.id: entry for entry in self.entries}))

    def appended(self, entry: Entry) -> Log:
        """Log with one more entry; the same log if it holds that very entry already.

        Raises
        ------
        DocumentError   If another entry has that id: nothing in a log is ever overwritten.
        """
        known = self.by_id.get(entry.id)
        if known is None:
            return Log((*self.entries, entry))
        _refuse_another(known, entry)
        return self


def read_entry(text: str) -> Entry:
    """Entry of a log from its JSON text.

    Raises
    ------
    DocumentError   If it is no sound entry; carries every fault.
    """
    parsed(text, "an entry of a log")
    try:
        return _ENTRY.validate_json(text)
    except ValidationError as error:
        raise DocumentError("the entry has faults", faults_of(error, Entry)) from None


def read_log(text: str) -> Log:
    """Log from its text, one entry a line.

    Raises
    ------
    DocumentError   If a line is no sound entry, or two entries have one id; names the line.
    """
    entries: dict[str, Entry] = {}
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            entry = read_entry(line)
            _refuse_another(entries.setdefault(entry.id, entry), entry)
        except DocumentError as error:
            faults = tuple(within(f"line {number}", error.faults))
            raise DocumentError(f"line {number} of the log: {error.says}", faults) from error
    return Log(tuple(entries.values()))


def write_log(log: Log) -> str:
    """Text of a log, one entry a line, in the order in which they came in."""
    return "".join(f"{write_entry(entry)}\n" for entry in log.entries)


def write_entry(entry: Entry) -> str:
    """Entry as one line of JSON with sorted keys."""
    plain: dict[str, Any] = entry.model_dump(mode="json", exclude_defaults=True)
    return json.dumps(plain, ensure_ascii=False, sort_keys=True)


def _refuse_another(known: Entry, entry: Entry) -> None:
    if known != entry:
        raise DocumentError(f"the log already holds another entry `{entry.id}`")


_ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)
