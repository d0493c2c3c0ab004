"""What the setting of stones tells: machines, stones on the plan, courses and falls, and what stays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.kinds import (
    AREA,
    COUNT,
    LENGTH,
    MASS,
    PRESSURE,
    RATIO,
    SPEED,
    Area,
    Length,
    Lengths,
    Mass,
    Pressure,
    Ratio,
    Speed,
)
from pondwright.rooms.stone.lifting import (
    greatest_radius,
    ground_pressure,
    lift_capacity,
    pads_area,
    sling_leg,
)
from pondwright.rooms.stone.pieces import size_of_mass
from pondwright.rooms.stone.stability import (
    rest_pressure,
    slide_safety,
    stone_in_waves,
    water_that_moves,
    wave_height,
)

LIFTERS = ("stone.lifters",)
PIECES = ("stone.pieces", "stone.lifters")
PLACES = ("stone.takeoff.classes.*.heaviest", "stone.lifters")
WAVES = ("shape.shore.bodies.*.fetch",)


@dataclass(frozen=True, slots=True)
class Stand:
    """A place where a machine stands: within the water, and the slope of the finish there. [m], [-]"""

    point: tuple[Length, Length]
    in_water: bool
    slope: Ratio


@dataclass(frozen=True, slots=True, eq=False)
class LifterReach:
    """What one machine can do here.

    Attributes
    ----------
    name : str                        What people call it.
    assumed : bool                    Nobody told where it stands: anywhere outside the water.
    stands : tuple of Stand           As told.
    radii, largest : (n,) arrays      Middle axis of the largest blocky stone at each radius of its chart. [m]
    """

    name: str
    assumed: bool
    stands: tuple[Stand, ...]
    radii: Lengths
    largest: Lengths
    heaviest: Mass = figure(
        MASS, "Heaviest stone that it is to set, as lifted", by=lift_capacity, uses=PLACES
    )
    pressure: Pressure | None = figure(
        PRESSURE, "Pressure below its worst edge in that lift", by=ground_pressure, uses=LIFTERS
    )
    pads: Area | None = figure(AREA, "Area below it that the ground needs then", by=pads_area, uses=LIFTERS)


@dataclass(frozen=True, slots=True)
class SetStone:
    """A stone with a place on the plan.

    Attributes
    ----------
    point : pair          Where it is set. [m]
    lifter : str          Machine that sets it, or comes nearest to it; empty for none.
    stand : pair or None  Where that one stands. [m]
    verdict : str         `set`, `nearer` (the machine is strong enough, nearer by), `bigger` or `untold`.
    needs : str           What would hold it, in words.
    """

    point: tuple[Length, Length]
    lifter: str
    stand: tuple[Length, Length] | None
    verdict: str
    needs: str
    mass: Mass = figure(MASS, "Its mass as lifted, wet", uses=("stone.pieces",))
    radius: Length | None = figure(LENGTH, "From the middle of the machine", by=lift_capacity, uses=PIECES)
    height: Length | None = figure(LENGTH, "Of the hook above the machine's ground", uses=PIECES)
    capacity: Mass | None = figure(MASS, "What the machine may hold there", by=lift_capacity, uses=PIECES)
    leg: Mass | None = figure(MASS, "What each leg of its sling carries", by=sling_leg, uses=PIECES)
    reach: Length = figure(
        LENGTH, "Radius within which a machine here may hold it", by=greatest_radius, uses=PIECES
    )
    pressure: Pressure = figure(
        PRESSURE, "Pressure of the stone on its ground", by=rest_pressure, uses=("stone.pieces",)
    )


@dataclass(frozen=True, slots=True, eq=False)
class PlaceReach:
    """Stones of one class along a course or at a fall.

    Attributes
    ----------
    says, source, stone : str     In words, its path, and its class.
    points : (n, 2) array         Where they are set. [m]
    within : (n,) bool array      Whether a machine here may set the heaviest there.
    lifter : str                  Machine that sets most of them; empty for none.
    stand : pair or None          Where it stands for the hardest point. [m]
    needs : str                   What would hold the heaviest everywhere, in words.
    """

    says: str
    source: str
    stone: str
    points: Lengths
    within: NDArray[np.bool_]
    lifter: str
    stand: tuple[Length, Length] | None
    needs: str
    mass: Mass = figure(MASS, "Heaviest stone as lifted, wet", uses=("stone.takeoff.classes.*.heaviest",))
    radius: Length | None = figure(
        LENGTH, "From the machine to the hardest point", by=lift_capacity, uses=PLACES
    )
    height: Length | None = figure(LENGTH, "Of the hook above the machine's ground there", uses=PLACES)
    capacity: Mass | None = figure(MASS, "What the machine may hold there", by=lift_capacity, uses=PLACES)
    share: Ratio = figure(
        RATIO, "Part of it where a machine may set the heaviest", by=lift_capacity, uses=PLACES
    )
    largest: Length = figure(
        LENGTH, "Middle axis of the largest stone that can be set all along", by=size_of_mass, uses=PLACES
    )


@dataclass(frozen=True, slots=True)
class Hold:
    """Whether the stones of one course or cover stay where they are; `size` is its middle size. [m]"""

    says: str
    size: Length
    safety: Ratio | None = figure(
        RATIO, "Safety against sliding on the liner; none on level ground", by=slide_safety
    )
    speed: Speed = figure(
        SPEED,
        "Turbulent water that moves its smallest stone, loose",
        by=water_that_moves,
        uses=("stone.takeoff.classes.*.low",),
    )
    wave: Length = figure(LENGTH, "Wave in a wind of 20 m/s", by=wave_height, uses=WAVES)
    wave_size: Length = figure(LENGTH, "Stone that it does not move", by=stone_in_waves, uses=WAVES)
    pressure: Pressure = figure(
        PRESSURE,
        "Pressure of its heaviest stone on its ground",
        by=rest_pressure,
        uses=("stone.takeoff.classes.*.heaviest",),
    )


@dataclass(frozen=True, slots=True, eq=False)
class SettingResult:
    """Which machine sets which stone from where, and whether it stays.

    `stand_lines` are the closed lines round the water on which a machine stands whose stands are not told.
    """

    stand_lines: tuple[Lengths, ...]
    lifters: Mapping[str, LifterReach]
    stones: Mapping[str, SetStone]
    places: Mapping[str, PlaceReach]
    holds: Mapping[str, Hold]
    out_of_reach: int | None = figure(
        COUNT,
        "Stones on the plan, and classes of courses and falls, that no machine here may set",
        uses=PLACES,
    )
    heaviest: Mass = figure(
        MASS, "Heaviest stone as lifted", uses=("stone.takeoff.classes.*.heaviest", "stone.pieces")
    )
