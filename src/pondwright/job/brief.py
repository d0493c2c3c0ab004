"""The brief: for whom, where, what is wished for, and which permits stand in the way."""

from __future__ import annotations

from datetime import date

from pydantic import Field

from pondwright.job.fields import Code, Line, RowsById, Section, Text, rows
from pondwright.job.places import Row


class Person(Row):
    """Someone who has to do with the job."""

    role: Line = Field(default="", description="What they do here")
    reach: Line = Field(default="", description="How to reach them")


class Wish(Row):
    """Something that the client asks for."""

    text: Text = Field(description="The wish in the client's words")
    becomes: Code | None = Field(default=None, description="The check that shows whether it is met")


class Permit(Row):
    """Leave that must be had."""

    authority: Line = Field(description="Who grants it")
    need: Text = Field(description="What it is needed for")
    until: date | None = Field(default=None, description="Day by which it must be there")
    blocks: Line = Field(default="", description="What may not start without it")


class Brief(Section):
    """The brief of the job."""

    client: Line = Field(default="", description="For whom it is built")
    address: Line = Field(default="", description="Where it is built")
    people: RowsById[Person] = rows("People of the job")
    wishes: RowsById[Wish] = rows("Wishes")
    permits: RowsById[Permit] = rows("Permits")
    texts: RowsById[Text] = rows("Own wordings for papers, by name")
