"""Covers of cobble and gravel by zones, from treatments first, the rest of the build-up after them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pondwright.base.kinds import Area, Length, Ratio, Slope, Volume
from pondwright.job.build_up import BuildUp
from pondwright.job.fields import value_of
from pondwright.job.places import PartPlace, StretchPlace
from pondwright.job.stone import Treatment
from pondwright.rooms.stone.displacement import layer_feet
from pondwright.rooms.stone.layers import layer_mass, least_thickness
from pondwright.rooms.stone.stage.classes import Classes, voids_of
from pondwright.rooms.stone.stage.ground import Band, BodyGround, Pieces
from pondwright.rooms.stone.stage.takeoff_results import Standing, StoneLine

COVERS = ("cobble", "gravel")
NOTHING: Length = 1e-6
"""Thinner than this is no layer. [m]"""


@dataclass(frozen=True, slots=True)
class Cover:
    """One treatment with cobble or gravel: shares of its solids, thickness, voids, largest grain."""

    name: str
    row: Treatment
    classes: tuple[tuple[str, Ratio], ...]
    thickness: Length
    porosity: Ratio
    largest: Length


@dataclass(frozen=True, slots=True)
class Loose:
    """One layer of gravel or stone over the liner, of a build-up."""

    name: str
    row: BuildUp
    stone: str
    thickness: Length
    porosity: Ratio


@dataclass(frozen=True, slots=True)
class Zone:
    """What lies on one zone of one kind of bank along some pieces of shore.

    `over` is how far the treatments stand above the finish, `room` what the build-up leaves for them. [m]
    """

    body: str
    bank: str
    zone: int
    start: Length
    slope: Slope
    area: Area
    thickness: Length
    room: Length
    over: Length
    covers: tuple[Cover, ...]
    lines: tuple[StoneLine, ...]
    voids: Volume
    standing: Standing | None


def covers_of(treatments: Mapping[str, Treatment], classes: Classes) -> tuple[Cover, ...]:
    """Treatments with cobble or gravel.

    Parameters
    ----------
    treatments : mapping     Of the document.
    classes : Classes        A cover that names no class adds its own.

    Returns
    -------
    tuple of Cover
    """
    found = []
    for name, row in treatments.items():
        if row.kind not in COVERS:
            continue
        shares = tuple((share.stone, share.share) for share in row.classes)
        shares = shares or ((classes.for_cover(row.kind), 1.0),)
        largest = max(classes[stone].high for stone, _ in shares)
        thickness = least_thickness(largest) if row.thickness is None else row.thickness
        found.append(Cover(name, row, shares, thickness, value_of(row, "porosity"), largest))
    return tuple(found)


def loose_layers(build_ups: Mapping[str, BuildUp], classes: Classes) -> tuple[Loose, ...]:
    """Layers of gravel and stone over the liner; where nothing seals, all of them.

    Parameters
    ----------
    build_ups : mapping     Of the document; those of a stretch are left aside, as in the dig.
    classes : Classes       A layer whose item no class names adds its own.

    Returns
    -------
    tuple of Loose
    """
    found = []
    for name, row in build_ups.items():
        sealing = [place for place, layer in enumerate(row.layers) if layer.seals]
        for layer in row.layers[sealing[-1] + 1 if sealing else 0 :]:
            stone = None if isinstance(row.place, StretchPlace) else classes.of_layer(layer)
            if stone is not None and layer.thickness > NOTHING:
                found.append(Loose(name, row, stone, layer.thickness, voids_of(layer)))
    return tuple(found)


def zones_of(
    ground: BodyGround, covers: Sequence[Cover], loose: Sequence[Loose], classes: Classes
) -> Iterator[Zone]:
    """What lies on each zone of a body, kind of bank by kind of bank.

    Parameters
    ----------
    ground : BodyGround
    covers, loose : Cover, Loose
    classes : Classes

    Yields
    ------
    Zone
    """
    here = [cover for cover in covers if cover.row.place.body in (None, ground.name)]
    layers = [layer for layer in loose if layer.row.place.body in (None, ground.name)]
    stretches = [cover for cover in here if isinstance(cover.row.place, StretchPlace)]
    for number, bank in enumerate(ground.banks):
        last = int(bank.profile.zones[-1])
        for pieces, along in _groups(ground, stretches):
            for band in ground.bands(number, pieces):
                on = _foremost([
                    cover
                    for cover in here
                    if _lies_on(cover, band.zone, last, along=cover.name in along)
                ])  # fmt: skip
                under = [
                    layer
                    for layer in layers
                    if not isinstance(layer.row.place, PartPlace) or layer.row.place.zone == band.zone
                ]
                yield _zone(ground, bank.stretch, band, on, under, classes)


def _groups(ground: BodyGround, stretches: Sequence[Cover]) -> Iterator[tuple[Pieces, frozenset[str]]]:
    """Pieces of shore that the same treatments of stretches name."""
    along = [ground.along(cover.row.place) for cover in stretches]
    keys: dict[tuple[bool, ...], list[int]] = defaultdict(list)
    for piece in range(len(ground.bank)):
        keys[tuple(bool(each[piece]) for each in along)].append(piece)
    for key, pieces in keys.items():
        mask = np.zeros(len(ground.bank), dtype=np.bool_)
        mask[pieces] = True
        yield mask, frozenset(cover.name for cover, named in zip(stretches, key, strict=True) if named)


def _lies_on(cover: Cover, zone: int, last: int, *, along: bool) -> bool:
    """Whether a cover lies on a zone: a stretch has all zones of its bank but the floor."""
    place = cover.row.place
    if isinstance(place, PartPlace):
        return place.zone == zone
    return along and zone < last if isinstance(place, StretchPlace) else True


def _foremost(covers: Sequence[Cover]) -> list[Cover]:
    """Of covers of one kind those with the most particular place: a stretch, a zone, a whole body."""
    ranks = [_rank(cover) for cover in covers]
    return [
        cover
        for cover, rank in zip(covers, ranks, strict=True)
        if rank
        == max(other for each, other in zip(covers, ranks, strict=True) if each.row.kind == cover.row.kind)
    ]


def _rank(cover: Cover) -> int:
    place = cover.row.place
    if isinstance(place, StretchPlace):
        return 3
    return 2 if isinstance(place, PartPlace) else 1 if place.body is not None else 0


def _zone(
    ground: BodyGround,
    bank: str,
    band: Band,
    covers: Sequence[Cover],
    layers: Sequence[Loose],
    classes: Classes,
) -> Zone:
    """Lines of one zone: its treatments, and what of the build-up they do not fill, from the bottom up."""
    room = sum(layer.thickness for layer in layers)
    thickness = sum(cover.thickness for cover in covers)
    lines = [
        _line("treatment", cover.name, cover.row.kind, stone, ground.name, bank, band, cover.thickness, share,
              cover.porosity, classes)
        for cover in covers
        for stone, share in cover.classes
    ]  # fmt: skip
    left = max(room - thickness, 0.0)
    remains, voids = left, 0.0
    for layer in layers:
        part = min(layer.thickness, left)
        left -= part
        if part > NOTHING:
            lines.append(
                _line("build_up", layer.name, "gravel", layer.stone, ground.name, bank, band, part, 1.0,
                      layer.porosity, classes)
            )  # fmt: skip
            voids += band.area * part * layer.porosity
    over = max(thickness - room, 0.0)
    below = min(thickness, room)
    mean = sum(cover.thickness * cover.porosity for cover in covers) / thickness if covers else 0.0
    return Zone(
        body=ground.name,
        bank=bank,
        zone=band.zone,
        start=band.start,
        slope=band.slope,
        area=band.area,
        thickness=thickness + remains,
        room=room,
        over=over,
        covers=tuple(covers),
        lines=tuple(lines),
        voids=voids + band.area * below * mean,
        standing=_standing(band, over, band.area * over * (1.0 - mean)) if over > NOTHING else None,
    )


def _standing(band: Band, thickness: Length, solid: Volume) -> Standing:
    end = band.start if np.isinf(band.end) else band.end
    return Standing(layer_feet(band.start, end, band.slope, band.depth), thickness, solid)


def _line(
    source: str,
    row: str,
    use: str,
    stone: str,
    body: str,
    bank: str,
    band: Band,
    thickness: Length,
    share: Ratio,
    porosity: Ratio,
    classes: Classes,
) -> StoneLine:
    return StoneLine(
        source=source,
        row=row,
        use=use,
        stone=stone,
        body=body,
        bank=bank,
        zone=band.zone,
        area=band.area,
        thickness=thickness,
        mass=share * layer_mass(band.area, thickness, classes[stone].solid, porosity),
        volume=share * band.area * thickness,
    )
