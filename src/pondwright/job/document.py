"""The job: the whole document of one pond build.

See Also
--------
:mod:`pondwright.job.codec`  reads and writes it, :mod:`pondwright.job.edits` changes it.
"""

from __future__ import annotations

import re
from typing import Literal

from pydantic import Field

from pondwright.job.brief import Brief
from pondwright.job.build_up import BuildUp
from pondwright.job.catalogue import Item
from pondwright.job.circulation import Circulation
from pondwright.job.earth import Earth
from pondwright.job.fields import Id, Line, RowsByCode, RowsById, Section, rows
from pondwright.job.groundwater import Groundwater
from pondwright.job.lining import Lining
from pondwright.job.rules import Rule
from pondwright.job.shape import Shape
from pondwright.job.site import Site
from pondwright.job.stone import Stone

FORMAT = 1

ShownUnits = Literal["us", "us_inch", "metric"]

RESERVED = (
    "storm",
    "climate",
    "balance",
    "life",
    "works",
    "options",
    "care",
    "papers",
    "power",
    "field",
)
"""Names of sections that later rooms will add; nothing else may take them."""


class Job(Section):
    """One pond build: everything that is decided about it.  All numbers are in house units."""

    format: int = Field(ge=FORMAT, le=FORMAT, description="Version of this format")
    id: Id = Field(description="Stable name of the job")
    name: Line = Field(description="What people call the job")
    demo: bool = Field(default=False, description="An invented job, to show what the tool does")
    seed: int = Field(default=1, ge=0, le=2**32 - 1, description="Seed of all draws, so that they repeat")
    shown_units: ShownUnits = Field(
        default="metric",
        description="Units on screen and paper: feet and tenths, feet and inches, or metric",
    )
    site: Site = Field(default=Site(), description="The site as found")
    shape: Shape = Field(default=Shape(), description="The intended shape")
    earth: Earth = Field(default=Earth(), description="How soil is moved")
    groundwater: Groundwater = Field(default=Groundwater(), description="Water in the ground")
    build_up: RowsById[BuildUp] = rows("Layers over the dug shape")
    lining: Lining = Field(default=Lining(), description="How the ponds are lined")
    stone: Stone = Field(default=Stone(), description="Stone and gravel")
    circulation: Circulation = Field(default=Circulation(), description="The graph of moving water")
    catalogue: RowsById[Item] = rows("Everything bought, hired or paid by the hour")
    rules: RowsByCode[Rule] = rows("Replaced limits and accepted checks, by code")
    brief: Brief = Field(default=Brief(), description="For whom, where, and what is wished for")


def new_job(name: str, shown_units: ShownUnits = "metric") -> Job:
    """Empty job with a name; its id is made from the name.

    Examples
    --------
    >>> new_job("Mill Lane 4", "us").id
    'mill_lane_4'
    >>> new_job("4 Mill Lane").id
    'job_4_mill_lane'
    """
    plain = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
    named = plain if plain[:1].isalpha() else f"job_{plain}".rstrip("_")
    return Job(format=FORMAT, id=named[:40].rstrip("_"), name=name, shown_units=shown_units)
