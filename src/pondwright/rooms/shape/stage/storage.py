"""What all bodies hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon

from pondwright.base.errors import DomainError
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
    Ratio,
    Volume,
    Volumes,
)
from pondwright.geometry.flood import Basin, basin
from pondwright.geometry.window import NOWHERE, Window, changed, meet
from pondwright.job.fields import value_of
from pondwright.job.shape import Way
from pondwright.rooms.shape.checks import water as checks
from pondwright.rooms.shape.figures import LITTORAL_DEPTH, littoral_share, mean_depth, volume_development
from pondwright.rooms.shape.stage.grading import GradingResult
from pondwright.rooms.shape.stage.mouths import Mouth, waters_of
from pondwright.rooms.shape.stage.rows import berm_of, limits_of
from pondwright.rooms.shape.stage.scene import own_line
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult
from pondwright.rooms.shape.storage import SAME_LEVEL, Storage, shore_areas, storage
from pondwright.rooms.shape.upright import GAP, closed_areas


@dataclass(frozen=True, slots=True, eq=False)
class Basins:
    """Floods of one body from its water: what it holds, where it runs over, and its rim without outlets."""

    water: NDArray[np.bool_]
    wintering: Length
    held: Storage
    runs_over: Storage | Basin
    rim: Storage | Basin


@dataclass(frozen=True, slots=True, eq=False)
class BodyStorage:
    """What one body holds, and the checks of it.

    `area` is that of its own water at its level: within its shore, of a stream without other waters.
    """

    basins: Basins
    told: tuple[Finding, ...]
    area: Area
    levels: Elevations
    volumes: Volumes
    areas: Areas
    lip_point: tuple[Length, Length]
    leaves_window: bool
    volume: Volume = figure(
        VOLUME, "Water at its level", by=storage, uses=("shape.grading.z", "shape.shore.bodies.*.level")
    )
    mean_depth: Length = figure(
        LENGTH,
        "Mean depth",
        by=mean_depth,
        uses=("shape.storage.bodies.*.volume", "shape.shore.bodies.*.area"),
    )
    greatest_depth: Length = figure(LENGTH, "Greatest depth", by=storage, uses=("shape.grading.z",))
    volume_development: Ratio = figure(
        RATIO,
        "Volume against a cone of the same area and depth",
        by=volume_development,
        uses=("shape.storage.bodies.*.mean_depth", "shape.storage.bodies.*.greatest_depth"),
    )
    littoral_share: Ratio = figure(
        RATIO,
        "Share of the water shallow enough for plants",
        by=littoral_share,
        uses=("shape.grading.z",),
    )
    lip: Elevation = figure(ELEVATION, "Where it would run over", by=storage, uses=("shape.grading.z",))
    freeboard_left: Length = figure(
        LENGTH,
        "Height of the lip over the water",
        by=storage,
        uses=("shape.storage.bodies.*.lip", "shape.shore.bodies.*.level"),
    )


@dataclass(frozen=True, slots=True)
class Fenced:
    """What fences close in all round, which fences these are, and the lowest of them."""

    area: Polygon
    fences: tuple[str, ...]
    lowest: Length


@dataclass(frozen=True, slots=True, eq=False)
class StorageResult:
    """What all bodies hold."""

    bodies: Mapping[str, BodyStorage]
    fenced: tuple[Fenced, ...]
    volume: Volume = figure(VOLUME, "All water", uses=("shape.storage.bodies.*.volume",))
    area: Area = figure(AREA, "Area of all water", uses=("shape.shore.bodies.*.area",))


def storage_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[StorageResult, tuple[Finding, ...]]:
    """What all bodies hold.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `shape.berms`, `shape.ways`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`.
    last : Last           What a body held is taken over where no ground that tells of it has changed.

    Returns
    -------
    StorageResult and the checks of rim and depth.
    """
    shore, grading = results["shape.shore"], results["shape.grading"]
    limits = limits_of(view)
    bodies: dict[str, BodyStorage] = {}
    fenced = _fenced(view["shape.ways"], last)
    waters = waters_of(shore, grading.mouths)
    if last is not None and last.results["shape.shore"].grid != shore.grid:
        last = None  # nothing of another grid can be taken over
    moved = NOWHERE if last is None else changed(last.results["shape.grading"].z, grading.z)
    for name, body in shore.bodies.items():
        if not waters[name].any():
            cell = shore.grid.cell_area
            raise DomainError(
                f"`{name}` must be larger than a cell of the grid, {cell:.3g} m², got {body.area:.3g} m²:"
                " draw it larger, or make `site.frame.grid` finer"
            )
        wintering = limits["shape.wintering_depth"].value
        known = None if last is None else last.result.bodies.get(name)
        basins = None if known is None else _kept(name, waters[name], wintering, results, last, moved)
        kept = basins is not None and _nothing_told_anew(name, view, grading, last)
        if basins is None:
            basins = _basins(name, waters[name], wintering, shore, grading, known, moved)
        area = basins.held.area if _flows_in_others(body, shore) else body.area
        if known is not None and kept and known.area == area:
            bodies[name] = known
        else:
            bodies[name] = _body_storage(name, body, basins, area, view, grading, fenced, limits)
    total = sum(body.volume for body in bodies.values())
    told = tuple(finding for body in bodies.values() for finding in body.told)
    return StorageResult(MappingProxyType(bodies), fenced, total, shore.area), told


def _fenced(ways: Mapping[str, Way], last: Any) -> tuple[Fenced, ...]:
    """What the planned fences close in all round; as last time where no way is another one."""
    if last is not None and last.view["shape.ways"] is ways:
        known: tuple[Fenced, ...] = last.result.fenced
        return known
    lines = {
        name: line
        for name, way in ways.items()
        if way.kind == "fence" and way.status != "remove" and (line := own_line(way.place)) is not None
    }
    names = list(lines)
    return tuple(
        Fenced(
            Polygon(ring),
            tuple(names[number] for number in numbers),
            min(value_of(ways[names[number]], "height") for number in numbers),
        )
        for ring, numbers in (closed_areas(list(lines.values()), GAP) if lines else ())
    )


def _nothing_told_anew(name: str, view: Mapping[str, Any], grading: GradingResult, last: Any) -> bool:
    """Whether all that the checks of a body read, but its basins, is what it was."""
    return (
        grading.bodies[name] is last.results["shape.grading"].bodies.get(name)
        and view["shape.bodies"][name] is last.view["shape.bodies"].get(name)
        and all(view[section] is last.view[section] for section in ("shape.berms", "shape.ways", "rules"))
    )


def _body_storage(
    name: str,
    body: BodyShore,
    basins: Basins,
    own_area: Area,
    view: Mapping[str, Any],
    grading: GradingResult,
    fenced: Sequence[Fenced],
    limits: Mapping[str, Limit],
) -> BodyStorage:
    """What one body holds in its basins, and the checks of it; a stream has none here."""
    held, runs_over = basins.held, basins.runs_over
    # A stream may be drawn on into other waters: its own area is that of the water which it holds.
    area = body.area if body.stream is None else held.area
    mean = mean_depth(held.volume, area) if area > 0.0 else 0.0
    levels, volumes, areas = _curve(held, body.level, own_area)
    return BodyStorage(
        basins=basins,
        area=own_area,
        told=() if body.stream is not None else _told(name, body, basins, view, grading, fenced, limits),
        levels=levels,
        volumes=volumes,
        areas=areas,
        lip_point=runs_over.lip_point,
        leaves_window=runs_over.leaves_window,
        volume=held.volume,
        mean_depth=mean,
        greatest_depth=held.deepest,
        volume_development=volume_development(mean, held.deepest) if held.deepest > 0.0 else 0.0,
        littoral_share=littoral_share(held.deeper_areas[0], held.area) if held.area > 0.0 else 1.0,
        lip=runs_over.lip,
        freeboard_left=runs_over.lip - body.level,
    )


def _flows_in_others(body: BodyShore, shore: ShoreResult) -> bool:
    """Whether a stream is drawn on into other waters: that part of it is theirs."""
    return body.stream is not None and any(
        bool((body.within & other.within).any()) for other in shore.bodies.values() if other.stream is None
    )


def _curve(held: Storage, level: Elevation, area: Area) -> tuple[Elevations, Volumes, Areas]:
    """Curve with the water's own level in it, where it stands within its shore; not where it runs over."""
    at = int(np.searchsorted(held.levels, level))
    levels, volumes = held.levels, held.volumes
    own_areas = held.areas
    if 0 < at < len(levels) and np.abs(levels[at - 1 : at + 1] - level).min() > SAME_LEVEL:
        levels, volumes, own_areas = (
            np.insert(column, at, told)
            for column, told in zip(
                (levels, volumes, own_areas), (level, held.volume, held.area), strict=True
            )
        )
    areas = shore_areas(levels, own_areas, level, area)
    for array in (levels, volumes, areas):
        array.flags.writeable = False
    return levels, volumes, areas


def _told(
    name: str,
    body: BodyShore,
    basins: Basins,
    view: Mapping[str, Any],
    grading: GradingResult,
    fenced: Sequence[Fenced],
    limits: Mapping[str, Limit],
) -> tuple[Finding, ...]:
    """The checks of the rim and the depth of a body."""
    held, rim, grade = basins.held, basins.rim, grading.bodies[name]
    berm, row = berm_of(view["shape.berms"], name)
    told = [
        checks.check_rim(name, body.level, rim.lip, rim.lip_point, value_of(row, "freeboard"), berm, limits),
        checks.check_freeboard(name, rim.lip - body.level, rim.lip_point, limits),
        checks.check_design_depth(name, grade.design_depth - held.deepest, limits),
        checks.check_drowning(name, held.deepest, limits, *_fences_round(body, fenced)),
        *checks.check_dam(name, grade.bank_height, held.volume, grade.held, rim.lip_point, limits),
    ]
    if view["shape.bodies"][name].role == "pond":
        deep = held.deeper_areas[1]
        told.append(checks.check_wintering(name, deep / held.area if held.area else 0.0, limits))
    return tuple(told)


def _fences_round(body: BodyShore, fenced: Sequence[Fenced]) -> tuple[tuple[str, ...], Length]:
    """Fences that stand all round a body, and the lowest of them; none where it lies open."""
    for one in fenced:
        if one.area.contains(LineString(body.rings[0])):
            return one.fences, one.lowest
    return (), 0.0


def _basins(
    name: str,
    water: NDArray[np.bool_],
    wintering: Length,
    shore: ShoreResult,
    grading: GradingResult,
    before: BodyStorage | None,
    moved: Window,
) -> Basins:
    """Floods of a body; before a move, which changed the finish in a window, it held something like that."""
    body = shore.bodies[name]
    # The reaches of a stream may have moved as well as the finish.
    known = None if before is None or body.stream is not None else (before.basins.held, moved)
    # With each reach of a stream lifted by its drop, all its water stands at one level.
    surface = grading.z if body.stream is None else grading.z + body.stream.drop
    held = storage(surface, water, shore.grid, body.level, (LITTORAL_DEPTH, wintering), known)
    lips = (None, None) if before is None else (before.basins.runs_over.lip, before.basins.rim.lip)
    runs_over = _rim(name, shore, grading, held, lips[0], outlets=True)
    feeds = any(each.body == name and each.upper for each in grading.mouths)
    rim = _rim(name, shore, grading, held, lips[1], outlets=False) if feeds else runs_over
    return Basins(water, wintering, held, runs_over, rim)


def _kept(
    name: str,
    water: NDArray[np.bool_],
    wintering: Length,
    results: Mapping[str, Any],
    last: Any,
    moved: Window,
) -> Basins | None:
    """Floods of last time of a body whose water and mouths are the same, and all the ground that tells."""
    shores = [each["shape.shore"].bodies for each in (last.results, results)]
    if shores[0].get(name) is not shores[1][name]:
        return None
    basins: Basins = last.result.bodies[name].basins
    mouths, mouths_now = (
        [each for each in run["shape.grading"].mouths if each.body == name] for run in (last.results, results)
    )
    same = (
        basins.wintering == wintering
        and (basins.water is water or np.array_equal(basins.water, water))
        and len(mouths) == len(mouths_now)
        and all(_same_mouth(*pair, *shores) for pair in zip(mouths, mouths_now, strict=True))
        and all(meet(each.window, moved) == NOWHERE for each in (basins.held, basins.runs_over, basins.rim))
    )
    return basins if same else None


def _same_mouth(
    one: Mouth, other: Mouth, shores: Mapping[str, BodyShore], shores_now: Mapping[str, BodyShore]
) -> bool:
    """Whether the same unmoved stream has the same sill."""
    return (
        one.stream == other.stream
        and shores[one.stream] is shores_now[one.stream]
        and one.upper == other.upper
        and one.window == other.window
        and np.array_equal(one.nodes, other.nodes)
    )


def _rim(
    name: str,
    shore: ShoreResult,
    grading: GradingResult,
    held: Storage,
    last_lip: Elevation | None,
    outlets: bool,
) -> Storage | Basin:
    """Where a body runs over; the sills of streams that it feeds count only among its `outlets`.

    Water that backs up into a stream that ends here leaves over the banks of that stream, not over its sill.
    """
    mouths = [each for each in grading.mouths if each.body == name and not (each.upper and outlets)]
    if not mouths:
        return held
    z = grading.z.copy()
    for each in mouths:
        stream = shore.bodies[each.stream]
        reach = 0.0 if stream.stream is None else float(stream.stream.reaches.drops[-1])
        crest = shore.bodies[name].crest_level if each.upper else stream.crest_level - reach
        sill = z[each.window]
        sill[each.nodes] = np.maximum(sill[each.nodes], crest)
    return basin(z, shore.bodies[name].within, shore.grid, last_lip=last_lip)
