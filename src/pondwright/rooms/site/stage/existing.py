"""What the existing ground says about each body of water drawn on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    AREA,
    ELEVATION,
    RATIO,
    VOLUME,
    Area,
    Elevation,
    Lengths,
    Ratio,
    Volume,
)
from pondwright.job.curves import ring_of
from pondwright.job.shape import Body, RingOutline
from pondwright.rooms.site.checks import ground as ground_checks
from pondwright.rooms.site.existing import beyond_survey, fits, guessed_share, hollow, low_rim
from pondwright.rooms.site.ground import (
    GUESSED,
    widened_grid,
)
from pondwright.rooms.site.location import (
    PlanPoint,
)
from pondwright.rooms.site.stage.ground import GroundResult
from pondwright.rooms.site.stage.shared import few, limits_of


@dataclass(frozen=True, slots=True)
class BodyOnGround:
    """What the existing ground says about one body's shoreline."""

    low_rim_point: PlanPoint
    hollow_lip_point: PlanPoint
    low_rim: Elevation = figure(
        ELEVATION,
        "Lowest existing ground on the shore",
        by=low_rim,
        uses=("site.ground.z", "shape.bodies.*.outline"),
    )
    guessed_share: Ratio = figure(
        RATIO,
        "Share of the ground under it that no shot tells",
        by=guessed_share,
        uses=("site.ground.known", "shape.bodies.*.outline"),
    )
    hollow_lip: Elevation = figure(
        ELEVATION,
        "Where the existing hollow runs over",
        by=hollow,
        uses=("site.ground.z", "shape.bodies.*.outline"),
    )
    hollow_volume: Volume = figure(
        VOLUME,
        "What the existing hollow holds up to its own lip",
        by=hollow,
        uses=("site.ground.z", "shape.bodies.*.outline"),
    )
    hollow_area: Area = figure(
        AREA,
        "Water surface of the existing hollow at its own lip",
        by=hollow,
        uses=("site.ground.z", "shape.bodies.*.outline"),
    )


@dataclass(frozen=True, slots=True)
class ExistingResult:
    """What the existing ground says about each body."""

    bodies: Mapping[str, BodyOnGround]


def existing_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[ExistingResult, tuple[Finding, ...]]:
    """What the existing ground says about each body's shoreline.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `rules`.
    results : mapping     Needs `site.ground`.

    Returns
    -------
    ExistingResult and the checks of ground under the bodies.  A body whose shore runs off the grid
    has no row; its check stops.
    """
    limits, ground = limits_of(view), results["site.ground"]
    bodies, findings = {}, []
    for name, ring in _body_rings(view["shape.bodies"]):
        beyond = beyond_survey(ground.known, GUESSED, ground.grid, ring)
        length = 0.5 * ground.grid.spacing * len(beyond)
        wider = None if fits(ground.grid, ring) else widened_grid(ground.grid, ring)
        findings.append(ground_checks.check_shore_outside(name, length, few(beyond), wider, limits))
        if wider is None:
            bodies[name] = _body_on_ground(ground, ring)
            findings.append(ground_checks.check_guessed_ground(name, bodies[name].guessed_share, limits))
    return ExistingResult(MappingProxyType(bodies)), tuple(findings)


def _body_rings(bodies: Mapping[str, Body]) -> Iterator[tuple[str, Lengths]]:
    for name, body in bodies.items():
        if isinstance(body.outline, RingOutline):
            yield name, ring_of(body.outline.curve).points


def _body_on_ground(ground: GroundResult, ring: Lengths) -> BodyOnGround:
    rim, found = low_rim(ground.z, ground.grid, ring), hollow(ground.z, ground.grid, ring)
    return BodyOnGround(
        low_rim_point=(rim.east, rim.north),
        hollow_lip_point=(found.lip_east, found.lip_north),
        low_rim=rim.elevation,
        guessed_share=guessed_share(ground.known, GUESSED, ground.grid, ring),
        hollow_lip=found.lip,
        hollow_volume=found.volume,
        hollow_area=found.area,
    )
