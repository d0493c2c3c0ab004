"""What catalogue and build-up tell of a liner: its sheet, the fabrics on both sides, the stone on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pondwright.base.kinds import ArealMass, Density, Length
from pondwright.job.build_up import BuildUp, Layer
from pondwright.job.catalogue import Item
from pondwright.job.fields import value_of
from pondwright.job.lining import Liner
from pondwright.job.places import PartPlace, StretchPlace, WholePlace
from pondwright.rooms.lining.materials import Membrane, membrane

PACKED: Density = 1650.0
"""Gravel and stone as placed where no density is told; common practice. [kg/m³]"""

VOIDS = 0.38
"""Share of voids where none is told; common practice. [-]"""

ROUND = ("rounded", "round", "river", "washed")
"""Words that tell round stones in the name of an item."""


@dataclass(frozen=True, slots=True)
class Stack:
    """Layers of one build-up as its liner sees them.

    Attributes
    ----------
    zone : int or None             Of the bank; None is the whole body.
    below, above : tuple of str    Fabrics next to the liner, by name, downward and upward.
    below_mass, above_mass         Of them together. [kg/m²]
    covers : pairs                 Thickness of each layer of stone [m], its density full of water [kg/m³].
    grain : Length                 Largest stone of these layers; 0 is none told. [m]
    round : bool                   The stones are round.
    """

    zone: int | None
    below: tuple[str, ...]
    above: tuple[str, ...]
    below_mass: ArealMass
    above_mass: ArealMass
    covers: tuple[tuple[Length, Density], ...]
    grain: Length
    round: bool


def sheet_of(liner: Liner, view: Mapping[str, Any]) -> tuple[str | None, Membrane]:
    """Catalogue id and facts of a liner's sheet: the one it names, or the layer of a build-up that seals."""
    catalogue: Mapping[str, Item] = view["catalogue"]
    name = liner.membrane or next(
        (layer.item for body in liner.bodies for layer in _sealing(view["build_up"], body)), None
    )
    item = catalogue.get(name) if name else None
    if item is None:
        return None, membrane({})
    return name, membrane(item.facts, item.name)


def stacks_of(liner: Liner, body: str, view: Mapping[str, Any]) -> tuple[Stack, ...]:
    """Build-ups of a body, and one with the liner's own fabrics where none seals."""
    catalogue = view["catalogue"]
    found = [
        _stack(row, liner, catalogue)
        for row in view["build_up"].values()
        if _on(row.place, body) and any(layer.seals for layer in row.layers)
    ]
    return tuple(found) or (_bare(liner, catalogue),)


def stone_sizes(body: str, view: Mapping[str, Any]) -> Iterator[Length]:
    """Largest stone of every class that is laid somewhere on a body. [m]"""
    classes = view["stone.classes"]
    for treatment in view["stone.treatments"].values():
        if _on(treatment.place, body):
            for share in treatment.classes:
                if share.stone in classes:
                    yield classes[share.stone].high


def _on(place: PartPlace | StretchPlace | WholePlace, body: str) -> bool:
    return place.body in (None, body)


def _sealing(build_up: Mapping[str, BuildUp], body: str) -> Iterator[Layer]:
    for row in build_up.values():
        if _on(row.place, body):
            yield from (layer for layer in row.layers if layer.seals)


def _stack(row: BuildUp, liner: Liner, catalogue: Mapping[str, Item]) -> Stack:
    seal = next(index for index, layer in enumerate(row.layers) if layer.seals)
    below = _fabrics(row.layers[:seal][::-1], catalogue)
    above = _fabrics(row.layers[seal + 1 :], catalogue)
    stones = [layer for layer in row.layers[seal + 1 :] if not _is_fabric(layer.item, catalogue)]
    sizes = [(_fact(catalogue, layer.item, "size"), layer.item) for layer in stones]
    largest, item = max(sizes, default=(0.0, ""), key=lambda size: size[0])
    own = _bare(liner, catalogue)
    return Stack(
        zone=row.place.zone if isinstance(row.place, PartPlace) else None,
        below=below or own.below,
        above=above or own.above,
        below_mass=_masses(below or own.below, catalogue),
        above_mass=_masses(above or own.above, catalogue),
        covers=tuple((layer.thickness, _full(layer)) for layer in stones),
        grain=largest,
        round=bool(item) and _round(catalogue.get(item)),
    )


def _bare(liner: Liner, catalogue: Mapping[str, Item]) -> Stack:
    below, above = (() if name is None else (name,) for name in (liner.cushion_below, liner.cushion_above))
    return Stack(None, below, above, _masses(below, catalogue), _masses(above, catalogue), (), 0.0, False)


def _fabrics(layers: Sequence[Layer], catalogue: Mapping[str, Item]) -> tuple[str, ...]:
    """Fabrics from the liner on, up to the first layer that is none."""
    names = []
    for layer in layers:
        if not _is_fabric(layer.item, catalogue):
            break
        names.append(layer.item)
    return tuple(names)


def _is_fabric(name: str, catalogue: Mapping[str, Item]) -> bool:
    return name in catalogue and catalogue[name].kind == "fabric"


def _masses(names: Sequence[str], catalogue: Mapping[str, Item]) -> ArealMass:
    return sum(_fact(catalogue, name, "mass_per_area") for name in names)


def _fact(catalogue: Mapping[str, Item], name: str, fact: str) -> float:
    value = catalogue[name].facts.get(fact) if name in catalogue else None
    return float(value) if isinstance(value, (int, float)) else 0.0


def _full(layer: Layer) -> Density:
    """Density of a layer with its voids full of water."""
    placed = PACKED if layer.density is None else layer.density
    voids = VOIDS if layer.porosity is None else layer.porosity
    return placed + 1000.0 * voids


def _round(item: Item | None) -> bool:
    if item is None:
        return False
    words = f"{item.facts.get('shape', '')} {item.name}".casefold()
    return any(word in words for word in ROUND)


def seam_of(liner: Liner) -> Length:
    """Overlap of a liner's seams. [m]"""
    return float(value_of(liner, "seam"))
