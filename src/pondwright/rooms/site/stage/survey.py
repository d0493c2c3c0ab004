"""The shots of the survey that tell the ground: located, each on its own spot."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from pondwright.base.errors import DomainError
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    Length,
    Lengths,
)
from pondwright.job.site import ByBearing, ByBook, ByCoordinates, ByOffset, ByTapes, Mark, Shot, SurveyLine
from pondwright.rooms.site.checks import survey as survey_checks
from pondwright.rooms.site.checks.survey import SurveyShots
from pondwright.rooms.site.location import (
    PlanPoint,
    TapeTie,
    bearing_point,
    many_tape_tie,
    offset_point,
    two_tape_tie,
)

GROUND_SURFACES = frozenset({"ground", "structure"})
"""Surfaces of a shot that stand for the existing ground; muck, firm bottom and water do not."""

FEWEST_SHOTS = 3
"""Shots that make one triangle of ground."""


@dataclass(frozen=True, slots=True, eq=False)
class LocatedSurvey:
    """Shots that tell the ground, each on its own spot, and what was found while locating them."""

    shots: SurveyShots
    index: Mapping[str, int]
    findings: tuple[Finding, ...]


def located_survey(
    shots: Mapping[str, Shot],
    marks: Mapping[str, Mark],
    lines: Mapping[str, SurveyLine],
    limits: Mapping[str, Limit],
) -> LocatedSurvey:
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
            found = (survey_checks.untied(name, str(reason)),)
        findings.extend(found)
    everywhere = _survey_shots(places, shots, lines)
    pairs, kept = _apart(everywhere.points, limits["site.same_place"].value)
    findings += [
        survey_checks.check_shot_count(len(kept), limits),
        survey_checks.check_heights(without, limits),
        *survey_checks.check_same_place(everywhere, pairs, limits),
    ]
    index = {name: number for number, name in enumerate(everywhere.ids[shot] for shot in kept)}
    for first, second in pairs:
        index[everywhere.ids[second]] = index[everywhere.ids[first]]
    separate = _survey_shots({everywhere.ids[shot]: everywhere.place(shot) for shot in kept}, shots, lines)
    return LocatedSurvey(separate, index, tuple(findings))


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
    found = [survey_checks.check_tie(name, tie.point, tie.angle, limits)]
    if len(place.tapes) > 2:
        found.append(survey_checks.check_tape_residual(name, tie.point, tie.residual, limits))
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


def break_shots(lines: Mapping[str, SurveyLine], index: Mapping[str, int]) -> Iterator[tuple[int, ...]]:
    """Shots of each breakline, in order."""
    for line in lines.values():
        if line.kind == "break" and line.shots:
            yield tuple(index[shot] for shot in line.shots if shot in index)


def edges(breaks: Sequence[Sequence[int]]) -> NDArray[np.int32]:
    """Edges of the breaklines that the triangles must keep."""
    pairs = [pair for line in breaks for pair in pairwise(line) if pair[0] != pair[1]]
    return np.array(pairs, dtype=np.int32).reshape(-1, 2)


def rings(lines: Mapping[str, SurveyLine], kind: str, survey: LocatedSurvey) -> list[Lengths]:
    """Rings of the lines of one kind, through shots or through points of the plan."""
    rings = []
    for line in lines.values():
        if line.kind == kind:
            along = [survey.shots.place(survey.index[shot]) for shot in line.shots if shot in survey.index]
            rings.append(np.array(along or [(point.east, point.north) for point in line.line]))
    return rings
