"""Build-up: the layers that cover the dug shape, from the bottom to the top.

A section of its own because many rooms read it: earth for the subgrade, groundwater for the
weight on the liner, lining, stone and works for quantities.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from pondwright.base.kinds import DENSITY, LENGTH, RATIO
from pondwright.job.fields import Id, Section, quantity
from pondwright.job.places import PartPlace, Row, StretchPlace, WholePlace


class Layer(Section):
    """One layer of a build-up."""

    item: Id = Field(description="What it is, from the catalogue")
    thickness: float = quantity(LENGTH, help="Thickness when placed", ge=0.0, le=20.0)
    porosity: float | None = quantity(
        RATIO, help="Share of voids; none is not known", default=None, ge=0.0, lt=1.0
    )
    density: float | None = quantity(
        DENSITY, help="Density as placed; none is not known", default=None, gt=0.0, le=25_000.0
    )
    seals: bool = Field(default=False, description="This layer holds the water")


class BuildUp(Row):
    """Layers at a place, from the bottom to the top."""

    place: Annotated[PartPlace | StretchPlace | WholePlace, Field(discriminator="at")] = Field(
        description="Where these layers lie"
    )
    layers: tuple[Layer, ...] = Field(default=(), description="Layers from the bottom to the top")
