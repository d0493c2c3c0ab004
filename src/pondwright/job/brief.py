"""The brief: for whom, where, what is wished for, and which permits stand in the way."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Annotated

from pydantic import Field

from pondwright.base.errors import Fault
from pondwright.base.kinds import AREA
from pondwright.job.fields import Code, Line, RowsById, Section, Text, quantity, rows
from pondwright.job.places import Row

FigurePath = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_.]{0,199}$")]


class Person(Row):
    """Someone who has to do with the job."""

    role: Line = Field(default="", description="What they do here")
    reach: Line = Field(default="", description="How to reach them")


class Wish(Row):
    """Something that the client asks for."""

    text: Text = Field(description="The wish in the client's words")
    becomes: Code | None = Field(default=None, description="The check that shows whether it is met")
    figure: FigurePath | None = Field(default=None, description="The figure that shows whether it is met")
    at_least: float | None = Field(default=None, description="The figure must reach this, in its house unit")
    at_most: float | None = Field(
        default=None, description="The figure must stay within this, in its house unit"
    )

    def broken_rules(self) -> Iterator[Fault]:
        """A wish about a figure tells what it must be, and only such a wish does."""
        bounds = (self.at_least, self.at_most)
        if self.figure and bounds == (None, None):
            yield Fault("figure", "must come with `at_least` or `at_most`")
        if not self.figure and bounds != (None, None):
            yield Fault("figure", "is missing: `at_least` and `at_most` are about a figure")


class Permit(Row):
    """Permit that is still needed, or was given."""

    authority: Line = Field(description="Who grants it")
    need: Text = Field(description="What it is needed for")
    number: Line = Field(default="", description="Its number, once there is one")
    granted: bool = Field(default=False, description="It has been granted")
    until: date | None = Field(default=None, description="Day by which it must be there")
    expires: date | None = Field(default=None, description="Last day on which it holds")
    blocks: Line = Field(default="", description="What may not start without it")


class Brief(Section):
    """The brief of the job."""

    client: Line = Field(default="", description="For whom it is built")
    address: Line = Field(default="", description="Where it is built")
    found_us: Line = Field(default="", description="How they came to us")
    decides: Line = Field(default="", description="Who decides")
    old_pond: bool | None = Field(default=None, description="There is an old pond")
    size_guess: float | None = quantity(AREA, help="Water surface they think of", default=None, gt=0.0)
    budget: float | None = Field(default=None, ge=0.0, le=1e9, description="What they want to spend at most")
    currency: Line = Field(default="", description="Money of the job, as it is written")
    first_asked: date | None = Field(default=None, description="Day of the first call")
    next_step: Line = Field(default="", description="What happens next")
    next_on: date | None = Field(default=None, description="Day of the next step")
    dig_from: date | None = Field(default=None, description="Day on which digging may begin")
    done_by: date | None = Field(default=None, description="Day by which it must be done")
    people: RowsById[Person] = rows("People of the job")
    wishes: RowsById[Wish] = rows("Wishes")
    permits: RowsById[Permit] = rows("Permits")
    texts: RowsById[Text] = rows("Own wordings for papers, by name")
