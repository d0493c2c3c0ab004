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


@cache
def standard_bank() -> tuple[BankCorner, ...]:
    """Corners of the bank that a body has where the job names none."""
    return tuple(
        BankCorner(float(row["distance"]), float(row["depth"]), row["zone_after"])
        for row in read_table(__name__, "standard_bank.csv").rows
    )


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
