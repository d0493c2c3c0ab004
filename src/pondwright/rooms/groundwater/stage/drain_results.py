"""What the profiles of the drains tell: results with figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.kinds import (
    AREA,
    ELEVATION,
    FLOW,
    LENGTH,
    RATIO,
    SOIL_VOLUME,
    SPEED,
    TIME,
    VOLUME,
    Area,
    Elevation,
    Elevations,
    Flow,
    Length,
    Lengths,
    Ratio,
    Speed,
    Time,
    Volume,
)
from pondwright.rooms.groundwater.pipes import (
    backed_up,
    climb_margin,
    cut_line,
    falls_of,
    full_flow,
    full_speed,
    gathered,
    part_full,
    pipe_used,
    trench_volume,
)
from pondwright.rooms.groundwater.spacing import sump_volume, time_to_fill

LINE = ("groundwater.drains.*.place", "groundwater.drains.*.inverts", "groundwater.drains.*.fall")
PIPE = (*LINE, "groundwater.drains.*.diameter", "groundwater.drains.*.roughness")
WATER = ("groundwater.cases.cases", "groundwater.readings.*.wet_flow")
END = (*LINE, "groundwater.outlets.*.flood")
SUMP = (*WATER, "groundwater.sumps.*.pump", "groundwater.sumps.*.starts")


@dataclass(frozen=True, slots=True, eq=False)
class DrainProfile:
    """One drain along its line, from the upper end down.

    ``under`` is the ground that is dug to, the underside of a liner where ``lined``; ``cover`` is what lies
    over the pipe's top; ``bends`` are stations at points of the line, ``eyes`` distances along it at which it
    can be rodded. ``flood`` and ``ends`` tell where it runs out at last.
    """

    chainage: Lengths
    points: Lengths
    invert: Elevations
    ground: Elevations
    finish: Elevations
    under: Elevations
    lined: NDArray[np.bool_]
    cover: Lengths
    bends: tuple[int, ...]
    falls: tuple[Ratio, ...]
    eyes: tuple[Length, ...]
    diameter: Length
    ends: str
    flood: Elevation | None
    length: Length = figure(LENGTH, "Length of the drain", uses=("groundwater.drains.*.place",))
    fall: Ratio = figure(RATIO, "Least fall of its pieces", by=falls_of, uses=LINE)
    upper: Elevation = figure(ELEVATION, "Bottom of the pipe at its upper end", by=cut_line, uses=LINE)
    lower: Elevation = figure(ELEVATION, "Bottom of the pipe at its lower end", by=cut_line, uses=LINE)
    left_over: Ratio = figure(
        RATIO, "Fall that is left of a piece laid as badly as it may be", by=climb_margin, uses=LINE
    )
    least_cover: Length | None = figure(
        LENGTH, "Least soil over it outside ponds", uses=(*LINE, "shape.grading.z")
    )
    least_bedding: Length | None = figure(
        LENGTH, "Least gravel between it and a liner", uses=(*LINE, "earth.subgrade.z")
    )
    deepest: Length = figure(
        LENGTH, "Deepest trench for it", by=trench_volume, uses=(*LINE, "site.ground.z", "earth.subgrade.z")
    )
    dug: Volume = figure(
        SOIL_VOLUME,
        "Soil dug for its trench",
        by=trench_volume,
        uses=(*LINE, "site.ground.z", "earth.subgrade.z"),
    )
    capacity: Flow = figure(FLOW, "What it carries full, at its least fall", by=full_flow, uses=PIPE)
    inflow: Flow | None = figure(FLOW, "Most that comes to it in the wet season", by=gathered, uses=WATER)
    water_depth: Length | None = figure(
        LENGTH, "Depth of that water in it", by=part_full, uses=(*PIPE, *WATER)
    )
    speed: Speed | None = figure(SPEED, "Speed of that water", by=part_full, uses=(*PIPE, *WATER))
    full_speed: Speed = figure(SPEED, "Speed when it runs full", by=full_speed, uses=PIPE)
    free_fall: Length | None = figure(LENGTH, "Its lower end above the flood there", uses=END)
    flooded: Length | None = figure(LENGTH, "Length up which that flood backs up", by=backed_up, uses=END)
    on_hand: Length = figure(
        LENGTH,
        "Pipe on hand that is laid in it",
        by=pipe_used,
        uses=("groundwater.pipes.*.length", "groundwater.drains.*.place"),
    )
    to_buy: Length = figure(
        LENGTH,
        "Pipe to buy for it",
        by=pipe_used,
        uses=("groundwater.pipes.*.length", "groundwater.drains.*.place"),
    )


@dataclass(frozen=True, slots=True)
class SumpNeed:
    """What one sump needs."""

    inflow: Flow | None = figure(FLOW, "Most that comes to it in the wet season", by=gathered, uses=WATER)
    volume: Volume = figure(VOLUME, "Water between start and stop of its pump", by=sump_volume, uses=SUMP)
    area: Area = figure(
        AREA,
        "Plan area that holds it",
        by=sump_volume,
        uses=(*SUMP, "groundwater.sumps.*.on", "groundwater.sumps.*.off"),
    )
    time: Time | None = figure(
        TIME, "Time in a power cut until the water is at its start level", by=time_to_fill, uses=SUMP
    )


@dataclass(frozen=True, slots=True)
class OnHand:
    """One lot of pipe on hand."""

    used: Length = figure(
        LENGTH, "How much of it is laid", by=pipe_used, uses=("groundwater.pipes.*.length",)
    )
    left: Length = figure(LENGTH, "How much is left over", by=pipe_used, uses=("groundwater.pipes.*.length",))


@dataclass(frozen=True, slots=True, eq=False)
class ProfilesResult:
    """Drains that the job has when it is built, their sumps, and the pipe on hand."""

    lines: Mapping[str, DrainProfile]
    pits: Mapping[str, SumpNeed]
    stock: Mapping[str, OnHand]
    to_buy: Length = figure(
        LENGTH, "Pipe to buy in all", by=pipe_used, uses=("groundwater.pipes.*.length", *LINE)
    )


def place_at(profile: DrainProfile, chainage: Length) -> tuple[Length, Length]:
    """East and north at a distance along a drain. [m]"""
    east, north = (np.interp(chainage, profile.chainage, profile.points[:, axis]) for axis in (0, 1))
    return float(east), float(north)
