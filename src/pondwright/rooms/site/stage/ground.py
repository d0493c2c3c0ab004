"""From the survey to the existing ground, and how sure it is.

``site.ground`` rests while a shore is bent; ``site.uncertainty`` settles, because nobody waits for it while a
shot is moved.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    AREA,
    COUNT,
    ELEVATION,
    LENGTH,
    Area,
    Elevation,
    Elevations,
    Length,
    Lengths,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import Tin, triangulate
from pondwright.job.fields import value_of
from pondwright.job.site import Mark, SurveyLine
from pondwright.rooms.site.checks import ground as ground_checks
from pondwright.rooms.site.checks import survey as survey_checks
from pondwright.rooms.site.checks.survey import SurveyShots
from pondwright.rooms.site.ground import (
    GUESSED,
    default_grid,
    existing_ground,
    ground_uncertainty,
    invented_triangles,
    survey_area,
    triangle_areas,
)
from pondwright.rooms.site.stage.shared import few, limits_of
from pondwright.rooms.site.stage.survey import (
    FEWEST_SHOTS,
    break_shots,
    edges,
    located_survey,
    rings,
)
from pondwright.rooms.site.uncertainty import GroundUncertainty, roughness


@dataclass(frozen=True, slots=True, eq=False)
class GroundResult:
    """The existing ground: its surface, how each node is known, and the shots and breaklines it is from."""

    grid: Grid
    z: Elevations
    known: NDArray[np.int8]
    shots: SurveyShots
    breaks: tuple[tuple[int, ...], ...]
    tin: Tin
    triangle: NDArray[np.int32]
    lowest_shot: str
    highest_shot: str
    shot_count: int = figure(COUNT, "Shots that tell the ground", uses=("site.shots.*.elevation",))
    survey_area: Area = figure(
        AREA, "Area that was surveyed", by=survey_area, uses=("site.shots.*.place", "site.lines")
    )
    lowest: Elevation = figure(ELEVATION, "Lowest shot on the ground", uses=("site.shots.*.elevation",))
    highest: Elevation = figure(ELEVATION, "Highest shot on the ground", uses=("site.shots.*.elevation",))


@dataclass(frozen=True, slots=True, eq=False)
class UncertaintyResult:
    """How sure the existing ground is, at each node and for a volume."""

    sigma: Lengths
    errors: GroundUncertainty
    sigma_typical: Length = figure(
        LENGTH,
        "Standard deviation of the surveyed ground, half of it is better",
        by=ground_uncertainty,
        uses=("site.shots.*.elevation", "site.shots.*.sigma"),
    )
    roughness: Length = figure(
        LENGTH,
        "How much the ground wanders between shots: variance per metre",
        by=roughness,
        uses=("site.shots.*.elevation",),
    )


def ground_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[GroundResult, tuple[Finding, ...]]:
    """Existing ground from the survey.

    Parameters
    ----------
    view : mapping        Reads `site.frame`, `site.marks`, `site.shots`, `site.lines`, `rules`.
    results : mapping     Needs nothing.

    Returns
    -------
    GroundResult and the checks of the survey.

    Raises
    ------
    DomainError           If fewer than three shots tell the ground, or all lie in one line.
    """
    limits = limits_of(view)
    survey = located_survey(view["site.shots"], view["site.marks"], view["site.lines"], limits)
    points, elevations = survey.shots.points, survey.shots.elevations
    if len(points) < FEWEST_SHOTS:
        raise DomainError(
            f"no ground yet: paste or type at least three shots with place and height, got {len(points)}"
        )
    breaks = tuple(break_shots(view["site.lines"], survey.index))
    tin = triangulate(
        points,
        elevations,
        edges(breaks),
        limit=next(iter(rings(view["site.lines"], "limit", survey)), None),
        voids=rings(view["site.lines"], "void", survey),
    )
    document_grid = view["site.frame"].grid
    grid = default_grid(points) if document_grid is None else Grid(**document_grid.model_dump())
    ground = existing_ground(tin, grid)
    result = GroundResult(
        grid=grid,
        z=ground.z,
        known=ground.known,
        shots=survey.shots,
        breaks=breaks,
        tin=tin,
        triangle=ground.triangle,
        lowest_shot=survey.shots.ids[int(np.argmin(elevations))],
        highest_shot=survey.shots.ids[int(np.argmax(elevations))],
        shot_count=len(points),
        survey_area=survey_area(tin),
        lowest=float(elevations.min()),
        highest=float(elevations.max()),
    )
    findings = (
        *survey.findings,
        *_surface_findings(survey.shots, tin, view["site.lines"], limits),
        *(() if document_grid else (ground_checks.told_grid(grid),)),
    )
    return result, findings


def uncertainty_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[UncertaintyResult, tuple[Finding, ...]]:
    """How sure the existing ground is.

    Parameters
    ----------
    view : mapping        Reads `site.marks`, `site.shots`, `rules`.
    results : mapping     Needs `site.ground`.

    Returns
    -------
    UncertaintyResult and the checks of readings and of the ground between shots.
    """
    limits, told = limits_of(view), results["site.ground"]
    errors = ground_uncertainty(
        told.tin,
        told.grid,
        told.triangle,
        np.array([value_of(view["site.shots"][name], "sigma") for name in told.shots.ids], dtype=np.float64),
        breaks=told.breaks,
        benchmark_sigma=_benchmark_sigma(view["site.marks"]),
    )
    typical = float(np.median(errors.sigma[told.known != GUESSED]))
    findings = (
        *survey_checks.check_reading_slips(told.shots, errors.left_out, errors.roughness, limits),
        ground_checks.check_ground_sigma(typical, limits),
    )
    return UncertaintyResult(errors.sigma, errors, typical, errors.roughness), findings


def _benchmark_sigma(marks: Mapping[str, Mark]) -> Length:
    """Error common to all shots: that of the least sure benchmark."""
    return max(
        (value_of(mark, "sigma") for mark in marks.values() if mark.elevation is not None), default=0.0
    )


def _surface_findings(
    shots: SurveyShots, tin: Tin, lines: Mapping[str, SurveyLine], limits: Mapping[str, Limit]
) -> Iterator[Finding]:
    thin = invented_triangles(tin)
    centres = tin.points[tin.triangles[thin]].mean(axis=1)
    share = float(triangle_areas(tin.points, tin.triangles[thin]).sum()) / survey_area(tin)
    yield from survey_checks.check_lines_agree(shots, tin.problems, limits)
    yield from survey_checks.check_plan_lines(
        [name for name, line in lines.items() if line.kind == "break" and line.line]
    )
    yield ground_checks.check_thin_triangles(share, few(centres), limits)
