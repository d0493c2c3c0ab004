"""From the survey to the existing ground, and how sure it is.

``site.ground`` rests while a shore is bent; ``site.uncertainty`` settles, because nobody waits for it while a
shot is moved.
"""

from __future__ import annotations

import math
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
from pondwright.rooms.site.level_network import LevelNet
from pondwright.rooms.site.stage.shared import few, limits_of
from pondwright.rooms.site.stage.survey import (
    FEWEST_SHOTS,
    CloudPoints,
    LocatedSurvey,
    Replaced,
    ShotPlaces,
    break_shots,
    edges,
    located_survey,
    rings,
)
from pondwright.rooms.site.uncertainty import NO_BASE, GroundUncertainty, SharedErrors, roughness


@dataclass(frozen=True, slots=True, eq=False)
class GroundResult:
    """The existing ground: its surface, how each node is known, and the shots and breaklines it is from.

    The points of the triangles are the `shots` and then the points of measured surfaces, `clouds`; `places`
    are those of all located shots, whatever they were taken on; `replaced` is what later surveys took over.
    """

    grid: Grid
    z: Elevations
    known: NDArray[np.int8]
    shots: SurveyShots
    clouds: CloudPoints
    places: ShotPlaces
    replaced: tuple[Replaced, ...]
    breaks: tuple[tuple[int, ...], ...]
    tin: Tin
    triangle: NDArray[np.int32]
    lowest_shot: str
    highest_shot: str
    shot_count: int = figure(COUNT, "Shots that tell the ground", uses=("site.shots.*.elevation",))
    cloud_count: int = figure(
        COUNT, "Points of measured surfaces that tell the ground", uses=("site.clouds.*.elevation",)
    )
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
    view : mapping        Reads `site.frame`, `site.marks`, `site.shots`, `site.lines`, `site.surveys`,
                          `site.clouds`, `rules`.
    results : mapping     Needs `site.levels`.

    Returns
    -------
    GroundResult and the checks of the survey.

    Raises
    ------
    DomainError           If fewer than three points tell the ground, or all lie in one line.
    """
    limits, lines = limits_of(view), view["site.lines"]
    survey = located_survey(view, results["site.levels"].heights, limits)
    tin, breaks = survey_tin(survey, lines)
    points, elevations = survey.points, survey.elevations
    document_grid = view["site.frame"].grid
    grid = default_grid(points) if document_grid is None else Grid(**document_grid.model_dump())
    ground = existing_ground(tin, grid)
    result = GroundResult(
        grid=grid,
        z=ground.z,
        known=ground.known,
        shots=survey.shots,
        clouds=survey.clouds,
        places=survey.places,
        replaced=survey.replaced,
        breaks=breaks,
        tin=tin,
        triangle=ground.triangle,
        lowest_shot=_name(survey, int(np.argmin(elevations))),
        highest_shot=_name(survey, int(np.argmax(elevations))),
        shot_count=len(survey.shots.ids),
        cloud_count=len(survey.clouds.points),
        survey_area=survey_area(tin),
        lowest=float(elevations.min()),
        highest=float(elevations.max()),
    )
    findings = (
        *survey.findings,
        *_surface_findings(survey.shots, tin, result.survey_area, lines, limits),
        *_replaced_findings(survey, lines),
        *(() if document_grid else (ground_checks.told_grid(grid),)),
    )
    return result, findings


def survey_tin(
    survey: LocatedSurvey, lines: Mapping[str, SurveyLine]
) -> tuple[Tin, tuple[tuple[int, ...], ...]]:
    """Triangles of a located survey, and the breaklines that are in them.

    Parameters
    ----------
    survey : LocatedSurvey
    lines : mapping           Lines of the survey.

    Returns
    -------
    Tin and the points of each breakline.

    Raises
    ------
    DomainError               If fewer than three points tell the ground, or all lie in one line.
    """
    points = survey.points
    if len(points) < FEWEST_SHOTS:
        raise DomainError(
            f"no ground yet: paste or type at least three shots with place and height, got {len(points)}"
        )
    breaks = tuple(break_shots(lines, survey))
    tin = triangulate(
        points,
        survey.elevations,
        edges(breaks),
        limit=next(iter(rings(lines, "limit", survey)), None),
        voids=rings(lines, "void", survey),
    )
    return tin, breaks


def uncertainty_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[UncertaintyResult, tuple[Finding, ...]]:
    """How sure the existing ground is.

    Parameters
    ----------
    view : mapping        Reads `site.marks`, `site.shots`, `site.clouds`, `rules`.
    results : mapping     Needs `site.levels`, `site.ground`.

    Returns
    -------
    UncertaintyResult and the checks of readings and of the ground between shots.
    """
    limits, told = limits_of(view), results["site.ground"]
    sigma, shared, tolerance = _errors(view, told, results["site.levels"].net)
    errors = ground_uncertainty(
        told.tin,
        told.grid,
        told.triangle,
        sigma,
        breaks=told.breaks,
        benchmark_sigma=_benchmark_sigma(view["site.marks"]),
        shared=shared,
        tolerance=tolerance,
        count=len(told.shots.ids),
    )
    typical = float(np.median(errors.sigma[told.known != GUESSED]))
    findings = (
        *survey_checks.check_reading_slips(told.shots, errors.left_out, errors.roughness, limits),
        ground_checks.check_ground_sigma(typical, limits),
    )
    return UncertaintyResult(errors.sigma, errors, typical, errors.roughness), findings


def _errors(
    view: Mapping[str, Any], told: GroundResult, net: LevelNet
) -> tuple[Lengths, SharedErrors, Lengths]:
    """Own error of each point, what points have together, and how far a measured surface may miss.

    A height from the level books has its own reading and that of its set-up; a measured surface is out as one
    piece, so that its points have nothing of their own.
    """
    shots, clouds = view["site.shots"], view["site.clouds"]
    rows = [shots[name] for name in told.shots.ids]
    read = [
        net.points.get(name) if shot.elevation is None else None
        for name, shot in zip(told.shots.ids, rows, strict=True)
    ]
    own = [
        point.sigma if point is not None and shot.sigma is None else value_of(shot, "sigma")
        for shot, point in zip(rows, read, strict=True)
    ]
    used = sorted({point.base for point in read if point is not None and point.base >= 0})
    number = {base: place for place, base in enumerate(used)}
    surfaces = [clouds[name] for name in told.clouds.names]
    covariance = np.zeros((len(used) + len(surfaces),) * 2)
    covariance[: len(used), : len(used)] = net.covariance[np.ix_(used, used)]
    of_surfaces = np.array([value_of(cloud, "sigma") for cloud in surfaces], dtype=np.float64)
    np.fill_diagonal(covariance[len(used) :, len(used) :], of_surfaces**2)
    bases = [NO_BASE if point is None else number.get(point.base, NO_BASE) for point in read]
    misses = [math.nan if cloud.tolerance is None else cloud.tolerance for cloud in surfaces]
    missed = np.array(misses, dtype=np.float64)[told.clouds.cloud]
    return (
        np.concatenate([np.array(own, dtype=np.float64), np.zeros(len(told.clouds.cloud))]),
        SharedErrors(
            np.concatenate([np.array(bases, dtype=np.intp), len(used) + told.clouds.cloud]),
            covariance,
            (*(net.bases[base] for base in used), *(f"cloud:{name}" for name in told.clouds.names)),
        ),
        np.concatenate([np.full(len(rows), np.nan), missed]),
    )


def _name(survey: LocatedSurvey, point: int) -> str:
    count = len(survey.shots.ids)
    return survey.shots.ids[point] if point < count else survey.clouds.id(point - count)


def _replaced_findings(survey: LocatedSurvey, lines: Mapping[str, SurveyLine]) -> Iterator[Finding]:
    for each in survey.replaced:
        if each.shots or each.points:
            yield survey_checks.told_replaced(each.survey, each.shots, each.points, each.ring)
    gone = survey.taken_over
    lost = {
        name: [shot for shot in line.shots if shot in gone]
        for name, line in lines.items()
        if line.kind == "break" and not gone.isdisjoint(line.shots)
    }
    left = {
        name: max((len(piece) for piece in break_shots({name: lines[name]}, survey)), default=0)
        for name in lost
    }
    yield from survey_checks.check_replaced_lines(lost, left)


def _benchmark_sigma(marks: Mapping[str, Mark]) -> Length:
    """Error common to all shots: that of the least sure benchmark."""
    return max(
        (value_of(mark, "sigma") for mark in marks.values() if mark.elevation is not None), default=0.0
    )


def _surface_findings(
    shots: SurveyShots,
    tin: Tin,
    area: Area,
    lines: Mapping[str, SurveyLine],
    limits: Mapping[str, Limit],
) -> Iterator[Finding]:
    thin = invented_triangles(tin, len(shots.ids))
    centres = tin.points[tin.triangles[thin]].mean(axis=1)
    share = float(triangle_areas(tin.points, tin.triangles[thin]).sum()) / area
    yield from survey_checks.check_lines_agree(shots, tin.problems, limits)
    yield from survey_checks.check_plan_lines(
        [name for name, line in lines.items() if line.kind == "break" and line.line]
    )
    yield ground_checks.check_thin_triangles(share, few(centres), limits)
