"""Tables of stated defaults: CSV files that tell their source in the first line.

Where the rows of a table come from several documents, every row names its own in the columns
``document``, ``place`` and ``standing``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from pondwright.base.sources import Source, Standing
from pondwright.base.tables import read_table


@dataclass(frozen=True, slots=True)
class BankCorner:
    """One corner of the standard bank [m], and the name of the zone that follows it."""

    distance: float
    depth: float
    zone_after: str


@dataclass(frozen=True, slots=True)
class ReadyBank:
    """A bank to begin with: it is copied into a job, and bent there."""

    id: str
    name: str
    corners: tuple[BankCorner, ...]


@dataclass(frozen=True, slots=True)
class WalkPoint:
    """One point of the walk round a site; a weight of 3 stops a job or hurts people if it is missed."""

    id: str
    group: str
    ask: str
    why: str
    weight: int


@dataclass(frozen=True, slots=True)
class WishOffer:
    """A common wish in plain words, with the figure or the check that answers it.

    ``bound`` tells which side a figure is asked to keep to: ``at_least`` or ``at_most``; ``value`` is what is
    offered first, in the house unit.
    """

    id: str
    says: str
    figure: str
    becomes: str
    bound: str
    value: float | None


@cache
def walk_points() -> tuple[WalkPoint, ...]:
    """Points of the walk round a site, group by group.

    Returns
    -------
    tuple of WalkPoint

    Examples
    --------
    >>> len(walk_points()), walk_points()[0].id
    (30, 'gate_width')
    """
    return tuple(
        WalkPoint(row["id"], row["group"], row["ask"], row["why"], int(row["weight"]))
        for row in read_table(__name__, "walk.csv").rows
    )


@cache
def wish_offers() -> tuple[WishOffer, ...]:
    """Common wishes, each with what answers it.

    Returns
    -------
    tuple of WishOffer
        In a figure's path, ``*`` stands for a body, a line or a thing of the job.

    Examples
    --------
    >>> wish_offers()[0].figure
    'shape.shore.bodies.*.area'
    """
    return tuple(
        WishOffer(
            row["id"],
            row["says"],
            row["figure"],
            row["becomes"],
            row["bound"],
            float(row["value"]) if row["value"] else None,
        )
        for row in read_table(__name__, "wishes.csv").rows
    )


@cache
def standard_bank(form: str = "bank") -> tuple[BankCorner, ...]:
    """Corners of the bank that a body has where the job names none; ``stream`` for a stream."""
    return tuple(
        BankCorner(float(row["distance"]), float(row["depth"]), row["zone_after"])
        for row in read_table(__name__, f"standard_{form}.csv").rows
    )


@cache
def ready_banks() -> tuple[ReadyBank, ...]:
    """Banks to begin with, in the order in which they are offered.

    Returns
    -------
    tuple of ReadyBank

    Examples
    --------
    >>> [bank.name for bank in ready_banks()]
    ['Shelved and stoned', 'Beach', 'Planted', 'Wall', 'Under a deck', 'Wading edge']
    """
    found: dict[tuple[str, str], list[BankCorner]] = {}
    for row in read_table(__name__, "banks.csv").rows:
        corner = BankCorner(float(row["distance"]), float(row["depth"]), row["zone_after"])
        found.setdefault((row["bank"], row["name"]), []).append(corner)
    return tuple(ReadyBank(bank, name, tuple(corners)) for (bank, name), corners in found.items())


def soil_number(kind: str, name: str) -> tuple[float, Source]:
    """Stated default of a soil, in the house unit, with its source.

    Parameters
    ----------
    kind : str   Kind of soil, for example ``clay``.
    name : str   ``bulking``, ``compaction``, ``bank_density`` or ``angle``.

    Examples
    --------
    >>> soil_number("clay", "bulking")[0]
    1.3
    """
    return _soil_numbers()[kind, name]


@cache
def _soil_numbers() -> dict[tuple[str, str], tuple[float, Source]]:
    return {
        (row["kind"], row["name"]): (_in_house_unit(row), _source(row))
        for row in read_table(__name__, "soils.csv").rows
    }


def _in_house_unit(row: Mapping[str, str]) -> float:
    value = float(row["value"])
    return math.radians(value) if row["unit"] == "deg" else value


def _source(row: Mapping[str, str]) -> Source:
    return Source(row["document"], row["place"], Standing(row["standing"]))
