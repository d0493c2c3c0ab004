"""Rows of the document that several stages of the shape read."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from pondwright.base.findings import Limit
from pondwright.base.kinds import Elevation, Elevations, Length, Lengths
from pondwright.job.fields import value_of
from pondwright.job.rules import limits_in
from pondwright.job.shape import Berm, Body, Way
from pondwright.rooms.shape.checks import LIMITS
from pondwright.rooms.shape.laid import run_levels
from pondwright.rooms.shape.upright import flight

OUTLINE = ("shape.bodies.*.outline", "shape.bodies.*.islands")
BANK = ("shape.bodies.*.bank_type", "shape.bodies.*.stretches", "shape.bank_types")
LEVEL = ("shape.bodies.*.level",)


def limits_of(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the shape's checks, as this job has them."""
    return limits_in(view["rules"], LIMITS)


def way_levels(way: Way, station: Lengths, length: Length) -> Elevations | Elevation | None:
    """Finished elevations of a way at stations of its line; none where it follows the ground.

    Parameters
    ----------
    way : Way
    station : (n,) array     Along its line. [m]
    length : Length          Of its line. [m]

    Returns
    -------
    (n,) array or Elevation or None     [m]
    """
    if way.level is None or way.end_level is None:
        return way.level
    return run_levels(station, length, way.level, way.end_level, risers_of(way, length))


def risers_of(way: Way, length: Length) -> int:
    """Equal steps by which a way climbs; 0 where it is no flight of steps."""
    if way.kind != "steps" or way.level is None or way.end_level is None:
        return 0
    return flight(way.end_level - way.level, length, value_of(way, "most_riser")).risers


def in_order(bodies: Mapping[str, Body]) -> list[tuple[str, Body]]:
    """Bodies in the order in which they are laid: by rank, then by id."""
    return sorted(bodies.items(), key=lambda item: (item[1].rank, item[0]))


def berm_of(berms: Mapping[str, Berm], body: str) -> tuple[str | None, Berm]:
    """Id and row of the berm of a body; no id and stated defaults where it has none."""
    for name, berm in berms.items():
        if berm.body == body:
            return name, berm
    return None, _stated_berm(body)


@lru_cache
def _stated_berm(body: str) -> Berm:
    """Berm with nothing but stated defaults; it is asked for in each frame."""
    return Berm(body=body)
