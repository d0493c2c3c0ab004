"""What all bodies hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Finding
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
from pondwright.job.fields import value_of
from pondwright.rooms.shape.checks import water as checks
from pondwright.rooms.shape.figures import LITTORAL_DEPTH, littoral_share, mean_depth, volume_development
from pondwright.rooms.shape.stage.rows import berm_of, limits_of
from pondwright.rooms.shape.storage import storage


@dataclass(frozen=True, slots=True, eq=False)
class BodyStorage:
    """What one body holds."""

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


@dataclass(frozen=True, slots=True, eq=False)
class StorageResult:
    """What all bodies hold."""

    bodies: Mapping[str, BodyStorage]
    volume: Volume = figure(VOLUME, "All water", uses=("shape.storage.bodies.*.volume",))
    area: Area = figure(AREA, "Area of all water", uses=("shape.shore.bodies.*.area",))


def storage_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[StorageResult, tuple[Finding, ...]]:
    """What all bodies hold.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `shape.berms`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`.

    Returns
    -------
    StorageResult and the checks of rim and depth.
    """
    shore, grading = results["shape.shore"], results["shape.grading"]
    limits = limits_of(view)
    bodies: dict[str, BodyStorage] = {}
    findings: list[Finding] = []
    for name, body in shore.bodies.items():
        if not body.within.any():
            cell = shore.grid.cell_area
            raise DomainError(
                f"`{name}` must be larger than a cell of the grid, {cell:.3g} m², got {body.area:.3g} m²:"
                " draw it larger, or make `site.frame.grid` finer"
            )
        wintering = limits["shape.wintering_depth"].value
        # With each reach of a stream lifted by its drop, all its water stands at one level.
        surface = grading.z if body.stream is None else grading.z + body.stream.drop
        held = storage(surface, body.within, shore.grid, body.level, (LITTORAL_DEPTH, wintering))
        littoral, deep = held.deeper_areas
        mean = mean_depth(held.volume, body.area)
        bodies[name] = BodyStorage(
            levels=held.levels,
            volumes=held.volumes,
            areas=held.areas,
            lip_point=held.lip_point,
            leaves_window=held.leaves_window,
            volume=held.volume,
            mean_depth=mean,
            greatest_depth=held.deepest,
            volume_development=volume_development(mean, held.deepest) if held.deepest > 0.0 else 0.0,
            littoral_share=littoral_share(littoral, held.area) if held.area > 0.0 else 1.0,
            lip=held.lip,
            freeboard_left=held.lip - body.level,
        )
        berm, row = berm_of(view["shape.berms"], name)
        grade = grading.bodies[name]
        if body.stream is not None:
            continue
        findings += [
            checks.check_rim(
                name, body.level, held.lip, held.lip_point, value_of(row, "freeboard"), berm, limits
            ),
            checks.check_freeboard(name, held.lip - body.level, held.lip_point, limits),
            checks.check_design_depth(name, grade.design_depth - held.deepest, limits),
            checks.check_drowning(name, held.deepest, limits),
            *checks.check_dam(name, grade.bank_height, held.volume, grade.held, held.lip_point, limits),
        ]
        if view["shape.bodies"][name].role == "pond":
            findings.append(checks.check_wintering(name, deep / held.area if held.area else 0.0, limits))
    total = sum(body.volume for body in bodies.values())
    return StorageResult(MappingProxyType(bodies), total, shore.area), tuple(findings)
