"""The old hole as the survey tells it, before any shore is drawn: floor, lip, storage, water marks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, get_args

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    AREA,
    ELEVATION,
    LENGTH,
    RATIO,
    VOLUME,
    Area,
    Areas,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Ratio,
    Volume,
    Volumes,
)
from pondwright.job.site import Season, WaterMark
from pondwright.rooms.site.checks import hole as checks
from pondwright.rooms.site.ground import GUESSED
from pondwright.rooms.site.location import PlanPoint
from pondwright.rooms.site.old_hole import (
    OldHole,
    SeasonOrder,
    hole_storage,
    old_hole,
    seasons_out_of_order,
    water_outline,
)
from pondwright.rooms.site.stage.ground import GroundResult
from pondwright.rooms.site.stage.shared import limits_of

SEASONS: tuple[Season, ...] = get_args(Season)
"""From the driest to the wettest."""


NEAR: Length = 5.0
"""A mark farther than this outside the hole's rim is not one of its own; common practice. [m]"""

GROUND = ("site.ground.z",)
MARKS = ("site.ground.z", "site.water_marks.*.elevation")


@dataclass(frozen=True, slots=True)
class MarkOnHole:
    """What the old hole holds when its water stands at one mark."""

    season: str
    depth: Length = figure(LENGTH, "Water over the floor at this mark", uses=MARKS)
    volume: Volume = figure(VOLUME, "Water in the old hole at this mark", by=hole_storage, uses=MARKS)
    area: Area = figure(AREA, "Water surface at this mark", by=hole_storage, uses=MARKS)
    below_lip: Length = figure(LENGTH, "How far the mark stands below the lip", uses=MARKS)


@dataclass(frozen=True, slots=True, eq=False)
class OldHoleResult:
    """The largest hollow of the surveyed ground; its figures are None where the ground has none."""

    hole: OldHole | None
    floor_point: PlanPoint | None
    lip_point: PlanPoint | None
    rim: tuple[Lengths, ...]
    levels: Elevations
    volumes: Volumes
    areas: Areas
    marks: Mapping[str, MarkOnHole]
    floor: Elevation | None = figure(
        ELEVATION,
        "Lowest ground of the old hole",
        by=old_hole,
        uses=("site.ground.z", "site.shots.*.elevation"),
    )
    lip: Elevation | None = figure(
        ELEVATION, "Where the old hole would run over: its low rim", by=old_hole, uses=GROUND
    )
    depth: Length | None = figure(LENGTH, "Depth of the old hole up to its lip", by=old_hole, uses=GROUND)
    volume: Volume | None = figure(
        VOLUME, "What the old hole would hold up to its lip", by=hole_storage, uses=GROUND
    )
    area: Area | None = figure(AREA, "Water surface of the old hole at its lip", by=hole_storage, uses=GROUND)
    guessed_share: Ratio | None = figure(
        RATIO, "Share of the old hole that no shot tells", uses=("site.ground.known",)
    )
    fills_to: Elevation | None = figure(
        ELEVATION, "Highest water mark outside floods", uses=("site.water_marks.*.elevation",)
    )
    drawdown: Length | None = figure(
        LENGTH,
        "Fall of the water from its highest mark to its dry mark",
        uses=("site.water_marks.*.elevation",),
    )
    drawdown_volume: Volume | None = figure(
        VOLUME, "Water between the highest mark and the dry mark", by=hole_storage, uses=MARKS
    )


def old_hole_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[OldHoleResult, tuple[Finding, ...]]:
    """Old hole in the surveyed ground, with what it holds at each water mark.

    Parameters
    ----------
    view : mapping        Reads `site.water_marks`, `rules`.
    results : mapping     Needs `site.ground`.

    Returns
    -------
    OldHoleResult and the checks of the hole and of its marks.
    """
    limits, ground = limits_of(view), results["site.ground"]
    kept = {name: mark for name, mark in view["site.water_marks"].items() if mark.status != "remove"}
    hole = old_hole(ground.z, ground.grid, ground.known != GUESSED)
    order = (checks.check_mark_order(_out_of_order(kept), limits),) if kept else ()
    if hole is None:
        return _nothing(kept), (checks.no_hole(), *order)
    rim = tuple(ring for outline in water_outline(ground.z, ground.grid, hole, hole.lip) for ring in outline)
    own = {name: mark for name, mark in kept.items() if _belongs(mark, rim)}
    held = hole_storage(ground.z, ground.grid, hole, [mark.elevation for mark in own.values()])
    marks = {
        name: MarkOnHole(
            season=mark.season,
            depth=max(mark.elevation - hole.floor, 0.0),
            volume=float(volume),
            area=float(area),
            below_lip=hole.lip - mark.elevation,
        )
        for (name, mark), volume, area in zip(own.items(), *held, strict=True)
    }
    highest, swing = _highest(own), _swing(own)
    guessed = float((ground.known[hole.mask] == GUESSED).mean())
    result = OldHoleResult(
        hole=hole,
        floor_point=hole.floor_point,
        lip_point=hole.lip_point,
        rim=rim,
        levels=hole.levels,
        volumes=hole.volumes,
        areas=hole.areas,
        marks=MappingProxyType(marks),
        floor=hole.floor,
        lip=hole.lip,
        depth=hole.lip - hole.floor,
        volume=hole.volume,
        area=hole.area,
        guessed_share=guessed,
        fills_to=None if highest is None else own[highest].elevation,
        drawdown=None if swing is None else own[swing[1]].elevation - own[swing[0]].elevation,
        drawdown_volume=None if swing is None else marks[swing[1]].volume - marks[swing[0]].volume,
    )
    findings = (
        checks.check_hole_guessed(guessed, hole.lip_point, _lip_at_edge(hole, ground), limits),
        *order,
        *_mark_findings(own, hole, highest, limits),
    )
    return result, findings


def _nothing(kept: Mapping[str, WaterMark]) -> OldHoleResult:
    """Result of ground without a hollow; the marks still tell how the water moves."""
    none = np.empty(0)
    highest, swing = _highest(kept), _swing(kept)
    return OldHoleResult(
        hole=None,
        floor_point=None,
        lip_point=None,
        rim=(),
        levels=none,
        volumes=none,
        areas=none,
        marks=MappingProxyType({}),
        floor=None,
        lip=None,
        depth=None,
        volume=None,
        area=None,
        guessed_share=None,
        fills_to=None if highest is None else kept[highest].elevation,
        drawdown=None if swing is None else kept[swing[1]].elevation - kept[swing[0]].elevation,
        drawdown_volume=None,
    )


def _out_of_order(marks: Mapping[str, WaterMark]) -> tuple[SeasonOrder, ...]:
    elevations = [mark.elevation for mark in marks.values()]
    return seasons_out_of_order(elevations, [mark.season for mark in marks.values()], SEASONS)


def _belongs(mark: WaterMark, rim: tuple[Lengths, ...]) -> bool:
    """Whether a mark stands at the hole; one without a place does."""
    if mark.place is None:
        return True
    place = np.array([mark.place.east, mark.place.north])
    outline = np.concatenate(rim)
    low, high = outline.min(axis=0), outline.max(axis=0)
    inside = bool(((place >= low) & (place <= high)).all())
    return inside or float(np.hypot(*(outline - place).T).min()) <= NEAR


def _highest(marks: Mapping[str, WaterMark]) -> str | None:
    """Highest mark that is no flood: so far the hole has filled."""
    rising = [name for name, mark in marks.items() if mark.season != "flood"]
    return max(rising, key=lambda name: marks[name].elevation, default=None)


def _swing(marks: Mapping[str, WaterMark]) -> tuple[str, str] | None:
    """Lowest mark of a dry season and the highest mark that is no flood."""
    dry = [name for name, mark in marks.items() if mark.season == "dry"]
    highest = _highest(marks)
    if not dry or highest is None:
        return None
    return min(dry, key=lambda name: marks[name].elevation), highest


def _lip_at_edge(hole: OldHole, ground: GroundResult) -> bool:
    """Whether the water would run over where nobody surveyed."""
    grid = ground.grid
    column = round((hole.lip_point[0] - grid.origin_east) / grid.spacing)
    row = round((hole.lip_point[1] - grid.origin_north) / grid.spacing)
    return hole.leaves_window or bool(ground.known[row, column] == GUESSED)


def _mark_findings(
    marks: Mapping[str, WaterMark], hole: OldHole, highest: str | None, limits: Mapping[str, Limit]
) -> Iterator[Finding]:
    for name, mark in marks.items():
        flood = mark.season == "flood"
        yield checks.check_mark_in_hole(name, mark.elevation, hole.floor, hole.lip, flood, limits)
    # A mark of a dry season alone does not tell how far the hole fills.
    if highest is not None and marks[highest].season != "dry":
        yield checks.check_never_fills(marks[highest].elevation, highest, hole.lip, hole.lip_point, limits)
    floods = [name for name, mark in marks.items() if mark.season == "flood"]
    if floods:
        flood_mark = max(floods, key=lambda name: marks[name].elevation)
        yield checks.check_flood_mark(flood_mark, marks[flood_mark].elevation, hole.lip, limits)
