"""The site's stages: from the document's shots to the existing ground, and what a shore finds on it.

``site.ground`` reads the survey alone, so that it rests while a shore is bent; ``site.uncertainty``
tells how sure that ground is, which nobody waits for while a shot is moved; ``site.existing`` lays
each body's shoreline on that ground.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit, replaced_limits
from pondwright.base.kinds import (
    AREA,
    COUNT,
    ELEVATION,
    LENGTH,
    RATIO,
    VOLUME,
    Area,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Ratio,
    Volume,
)
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import Tin, triangulate
from pondwright.job.fields import value_of
from pondwright.job.shape import Body, RingOutline
from pondwright.job.site import ByBearing, ByBook, ByCoordinates, ByOffset, ByTapes, Mark, Shot, SurveyLine
from pondwright.rooms.site import checks
from pondwright.rooms.site.checks import LIMITS, SurveyShots
from pondwright.rooms.site.existing import beyond_survey, fits, guessed_share, hollow, low_rim
from pondwright.rooms.site.ground import (
    GUESSED,
    default_grid,
    existing_ground,
    ground_uncertainty,
    invented_triangles,
    survey_area,
    triangle_areas,
    widened_grid,
)
from pondwright.rooms.site.location import (
    PlanPoint,
    TapeTie,
    bearing_point,
    many_tape_tie,
    offset_point,
    two_tape_tie,
)
from pondwright.rooms.site.uncertainty import GroundUncertainty, roughness

GROUND_SURFACES = frozenset({"ground", "structure"})
"""Surfaces of a shot that stand for the existing ground; muck, firm bottom and water do not."""

FEWEST_SHOTS = 3
"""Shots that make one triangle of ground."""


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


@dataclass(frozen=True, slots=True, eq=False)
class _Survey:
    """Shots that tell the ground, each on its own spot, and what was found while locating them."""

    shots: SurveyShots
    index: Mapping[str, int]
    findings: tuple[Finding, ...]


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
    limits = _limits(view)
    survey = _survey(view["site.shots"], view["site.marks"], view["site.lines"], limits)
    points, elevations = survey.shots.points, survey.shots.elevations
    if len(points) < FEWEST_SHOTS:
        raise DomainError(
            f"no ground yet: paste or type at least three shots with place and height, got {len(points)}"
        )
    breaks = tuple(_break_shots(view["site.lines"], survey.index))
    tin = triangulate(
        points,
        elevations,
        _edges(breaks),
        limit=next(iter(_rings(view["site.lines"], "limit", survey)), None),
        voids=_rings(view["site.lines"], "void", survey),
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
        *(() if document_grid else (checks.told_grid(grid),)),
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
    limits, told = _limits(view), results["site.ground"]
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
        *checks.check_reading_slips(told.shots, errors.left_out, errors.roughness, limits),
        checks.check_ground_sigma(typical, limits),
    )
    return UncertaintyResult(errors.sigma, errors, typical, errors.roughness), findings


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
    limits, ground = _limits(view), results["site.ground"]
    bodies, findings = {}, []
    for name, ring in _body_rings(view["shape.bodies"]):
        beyond = beyond_survey(ground.known, GUESSED, ground.grid, ring)
        length = 0.5 * ground.grid.spacing * len(beyond)
        wider = None if fits(ground.grid, ring) else widened_grid(ground.grid, ring)
        findings.append(checks.check_shore_outside(name, length, _few(beyond), wider, limits))
        if wider is None:
            bodies[name] = _body_on_ground(ground, ring)
            findings.append(checks.check_guessed_ground(name, bodies[name].guessed_share, limits))
    return ExistingResult(MappingProxyType(bodies)), tuple(findings)


def _body_rings(bodies: Mapping[str, Body]) -> Iterator[tuple[str, Lengths]]:
    for name, body in bodies.items():
        if isinstance(body.outline, RingOutline):
            pegs = body.outline.curve.pegs
            places = np.array([(peg.east, peg.north) for peg in pegs])
            yield name, closed_curve(places, np.array([peg.corner for peg in pegs])).points


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


def _limits(view: Mapping[str, Any]) -> dict[str, Limit]:
    replaced = {code: rule.limit for code, rule in view["rules"].items() if rule.limit is not None}
    return replaced_limits(LIMITS, replaced)


def _survey(
    shots: Mapping[str, Shot],
    marks: Mapping[str, Mark],
    lines: Mapping[str, SurveyLine],
    limits: Mapping[str, Limit],
) -> _Survey:
    """Shots that tell the ground, located, each on its own spot."""
    places: dict[str, PlanPoint] = {}
    without: list[str] = []
    findings: list[Finding] = []
    for name, shot in shots.items():
        if shot.surface not in GROUND_SURFACES or shot.status == "remove":
            continue
        if shot.elevation is None or isinstance(shot.place, ByBook):
            without.append(name)
            continue
        try:
            places[name], found = _located(name, shot, marks, limits)
        except DomainError as reason:
            found = (checks.untied(name, str(reason)),)
        findings.extend(found)
    everywhere = _survey_shots(places, shots, lines)
    pairs, kept = _apart(everywhere.points, limits["site.same_place"].value)
    findings += [
        checks.check_shot_count(len(kept), limits),
        checks.check_heights(without, limits),
        *checks.check_same_place(everywhere, pairs, limits),
    ]
    index = {name: number for number, name in enumerate(everywhere.ids[shot] for shot in kept)}
    for first, second in pairs:
        index[everywhere.ids[second]] = index[everywhere.ids[first]]
    separate = _survey_shots({everywhere.ids[shot]: everywhere.place(shot) for shot in kept}, shots, lines)
    return _Survey(separate, index, tuple(findings))


def _survey_shots(
    places: Mapping[str, PlanPoint], shots: Mapping[str, Shot], lines: Mapping[str, SurveyLine]
) -> SurveyShots:
    return SurveyShots(
        ids=tuple(places),
        points=np.array(list(places.values()), dtype=np.float64).reshape(-1, 2),
        elevations=np.array([shots[name].elevation for name in places], dtype=np.float64),
        on_line=frozenset(shot for line in lines.values() for shot in line.shots),
    )


def _located(
    name: str, shot: Shot, marks: Mapping[str, Mark], limits: Mapping[str, Limit]
) -> tuple[PlanPoint, tuple[Finding, ...]]:
    """Place of a shot, with the checks of the way it was located."""
    place = shot.place
    if isinstance(place, ByCoordinates):
        return (place.east, place.north), ()
    if isinstance(place, ByOffset):
        start, end = (_mark_point(mark, marks) for mark in place.base)
        return offset_point(start, end, place.along, place.off), ()
    if isinstance(place, ByBearing):
        start = _mark_point(place.from_mark, marks)
        return bearing_point(start, place.bearing, place.distance), ()
    assert isinstance(place, ByTapes)
    tie = _tied(place, marks)
    found = [checks.check_tie(name, tie.point, tie.angle, limits)]
    if len(place.tapes) > 2:
        found.append(checks.check_tape_residual(name, tie.point, tie.residual, limits))
    return tie.point, tuple(found)


def _tied(place: ByTapes, marks: Mapping[str, Mark]) -> TapeTie:
    anchors = [_mark_point(tape.mark, marks) for tape in place.tapes]
    tapes = [tape.distance for tape in place.tapes]
    if len(tapes) > 2:
        return many_tape_tie(anchors, tapes)
    return two_tape_tie(anchors[0], anchors[1], tapes[0], tapes[1], left=place.side == "left")


def _mark_point(name: str, marks: Mapping[str, Mark]) -> PlanPoint:
    mark = marks.get(name)
    if mark is None or mark.place is None:
        raise DomainError(f"`{name}` must be a mark with a place on the plan")
    return mark.place.east, mark.place.north


def _apart(points: Lengths, least: Length) -> tuple[list[tuple[int, int]], list[int]]:
    """Pairs of shots on one spot (the kept one first), and the shots that are kept."""
    if len(points) == 0:
        return [], []
    kept_for: dict[int, int] = {}
    for first, second in sorted(cKDTree(points).query_pairs(least)):
        if first not in kept_for and second not in kept_for:
            kept_for[second] = first
    pairs = [(first, second) for second, first in kept_for.items()]
    return pairs, [shot for shot in range(len(points)) if shot not in kept_for]


def _break_shots(lines: Mapping[str, SurveyLine], index: Mapping[str, int]) -> Iterator[tuple[int, ...]]:
    for line in lines.values():
        if line.kind == "break" and line.shots:
            yield tuple(index[shot] for shot in line.shots if shot in index)


def _edges(breaks: Sequence[Sequence[int]]) -> NDArray[np.int32]:
    pairs = [pair for line in breaks for pair in pairwise(line) if pair[0] != pair[1]]
    return np.array(pairs, dtype=np.int32).reshape(-1, 2)


def _rings(lines: Mapping[str, SurveyLine], kind: str, survey: _Survey) -> list[Lengths]:
    """Rings of the lines of one kind, through shots or through points of the plan."""
    rings = []
    for line in lines.values():
        if line.kind == kind:
            along = [survey.shots.place(survey.index[shot]) for shot in line.shots if shot in survey.index]
            rings.append(np.array(along or [(point.east, point.north) for point in line.line]))
    return rings


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
    yield from checks.check_lines_agree(shots, tin.problems, limits)
    yield from checks.check_plan_lines(
        [name for name, line in lines.items() if line.kind == "break" and line.line]
    )
    yield checks.check_thin_triangles(share, _few(centres), limits)


def _few(places: Lengths) -> tuple[PlanPoint, ...]:
    """At most some thirty of many places, spread over all of them: enough to light up."""
    return tuple((float(east), float(north)) for east, north in places[:: 1 + len(places) // 30])
