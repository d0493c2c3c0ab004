"""Classes of stone that the takeoff counts in: those of the job, and its own where none is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pondwright.base.kinds import Density, Length, Mass, Ratio
from pondwright.job.build_up import Layer
from pondwright.job.fields import value_of
from pondwright.job.stone import StoneClass
from pondwright.rooms.shape.stone_fit import HIDES_LEAST, HIDES_MOST
from pondwright.rooms.stone.pieces import SOLID, mass_by_size, mean_mass, standing_height

GRAVEL: tuple[Length, Length] = (0.02, 0.04)
COBBLE: tuple[Length, Length] = (0.075, 0.15)
EDGE: tuple[Length, Length] = (0.30, 0.50)
BACKING: tuple[Length, Length] = (0.10, 0.20)
"""Sizes that are taken where no class is told; common practice. [m]"""

STEP: Length = 0.01
"""Steps of a bank are told in whole centimetres for the class of stone that hides them. [m]"""

VOIDS: Ratio = 0.38
"""Voids of a layer of a build-up that tells none; common practice. [-]"""

MOST_VOIDS: Ratio = 0.9
"""Voids of a layer whose density says that it is hardly there. [-]"""

LOOSE_ROUND: Ratio = 0.40
LOOSE: Ratio = 0.35
"""Voids of round and of other stones as they lie on a truck; common practice. [-]"""


@dataclass(frozen=True, slots=True)
class Kind:
    """One class: sizes [m], shape, density of the solid stone [kg/m³], and whether the job tells it."""

    low: Length
    high: Length
    shape: str
    solid: Density
    told: bool

    @property
    def mean(self) -> Length:
        """Mean size. [m]"""
        return 0.5 * (self.low + self.high)

    @property
    def mass(self) -> Mass:
        """One stone, on average. [kg]"""
        return mean_mass(self.low, self.high, self.shape, self.solid)

    @property
    def heaviest(self) -> Mass:
        """Its largest stone. [kg]"""
        return mass_by_size(self.high, self.shape, self.solid)

    @property
    def height(self) -> Length:
        """A stone as it stands, on average. [m]"""
        return standing_height(self.mean, self.shape)

    @property
    def least(self) -> Length:
        """Its smallest stone as it stands. [m]"""
        return standing_height(self.low, self.shape)

    @property
    def loose(self) -> Ratio:
        """Voids of single stones on a truck. [-]"""
        return LOOSE_ROUND if self.shape == "rounded" else LOOSE


class Classes(dict[str, Kind]):
    """Classes by key; those that the job does not tell are added as they are asked for."""

    def __init__(self, told: Mapping[str, StoneClass], catalogue: Mapping[str, Any]) -> None:
        super().__init__({
            name: Kind(row.low, row.high, row.shape, value_of(row, "solid_density"), True)
            for name, row in told.items()
        })  # fmt: skip
        self._of_item = {row.item: name for name, row in told.items() if row.item is not None}
        self._catalogue = catalogue

    def own(self, key: str, sizes: tuple[Length, Length], shape: str = "blocky") -> str:
        """Key of a class of its own, added if it is not there."""
        self.setdefault(key, Kind(*sizes, shape, SOLID, False))
        return key

    def for_step(self, riser: Length) -> str:
        """Key of the class that hides a step: 50 to 100 mm taller; without a step, common edge stone."""
        if riser <= 0.0:
            return self.own("edge", EDGE)
        centimetres = -int(-(riser - 1e-6) // STEP)
        whole = STEP * centimetres
        return self.own(f"step_{10 * centimetres}", (whole + HIDES_LEAST, whole + HIDES_MOST))

    def for_cover(self, kind: str) -> str:
        """Key of the class of a cover that names none."""
        return self.own(kind, GRAVEL if kind == "gravel" else COBBLE, "rounded")

    def of_layer(self, layer: Layer) -> str | None:
        """Key of the class of a layer of a build-up, or none if it is not of stone."""
        item = self._catalogue[layer.item]
        if item.kind not in ("gravel", "stone"):
            return None
        if layer.item in self._of_item:
            return self._of_item[layer.item]
        size = item.facts.get("size")
        sizes = (size, size) if isinstance(size, float) and size > 0.0 else GRAVEL
        if layer.item not in self:
            self[layer.item] = Kind(*sizes, "rounded", _solid(layer), False)
        return layer.item


def voids_of(layer: Layer) -> Ratio:
    """Voids of a layer of a build-up."""
    if layer.porosity is not None:
        return layer.porosity
    return VOIDS if layer.density is None else min(max(1.0 - layer.density / SOLID, 0.0), MOST_VOIDS)


def _solid(layer: Layer) -> Density:
    """Density of the solid stone of a layer, from its density as placed where that is told."""
    return SOLID if layer.density is None else layer.density / (1.0 - voids_of(layer))
