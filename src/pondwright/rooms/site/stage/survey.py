"""The survey located: every shot's place and height, and the points that tell the ground."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError, cKDTree

from pondwright.base.errors import DomainError
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import Elevation, Elevations, Length, Lengths
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.polygon import points_inside
from pondwright.job.site import (
    ByBearing,
    ByBook,
    ByCoordinates,
    ByGrid,
    ByOffset,
    ByTapes,
    Cloud,
    Mark,
    Shot,
    Survey,
    SurveyLine,
)
from pondwright.rooms.site.checks import survey as survey_checks
from pondwright.rooms.site.checks.survey import SurveyShots
from pondwright.rooms.site.location import (
    PlanPoint,
    TapeTie,
    bearing_point,
    many_tape_tie,
    offset_point,
    side_of,
    two_tape_tie,
)

GROUND_SURFACES = frozenset({"ground", "structure"})
"""Surfaces of a shot that stand for the existing ground; muck, firm bottom and water do not."""

FEWEST_SHOTS = 3
"""Shots that make one triangle of ground."""

FIRST = 0
"""Rank of what belongs to no survey: it was there before the first."""

_FURTHEST_IN_LINE = 0.06
"""How far off the line of two marks a third may stand and still not tell the sides apart. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class ShotPlaces:
    """Where every located shot stands and how high, whatever it was taken on; NaN for no height yet."""

    ids: tuple[str, ...]
    points: Lengths
    elevations: Elevations
    surface: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class CloudPoints:
    """Points of measured surfaces that tell the ground: of which cloud, and which of its points."""

    names: tuple[str, ...]
    cloud: NDArray[np.intp]
    number: NDArray[np.intp]
    points: Lengths
    elevations: Elevations

    def id(self, point: int) -> str:
        """Name of a point, such as `cloud:flight:17`; points count from 0, as in the document."""
        return f"cloud:{self.names[self.cloud[point]]}:{self.number[point]}"

    def only(self, kept: NDArray[np.bool_]) -> CloudPoints:
        """The same without the points that are not kept."""
        if kept.all():
            return self
        return CloudPoints(
            self.names, self.cloud[kept], self.number[kept], self.points[kept], self.elevations[kept]
        )


@dataclass(frozen=True, slots=True, eq=False)
class Replaced:
    """What one survey replaced: its ring, the shots and how many points of measured surfaces."""

    survey: str
    ring: Lengths
    shots: tuple[str, ...]
    points: int


@dataclass(frozen=True, slots=True, eq=False)
class LocatedSurvey:
    """The points that tell the ground, each on its own spot, and what was found while locating them.

    `index` tells the number of each shot on the ground; a shot beside another has that one's.
    """

    shots: SurveyShots
    clouds: CloudPoints
    places: ShotPlaces
    index: Mapping[str, int]
    replaced: tuple[Replaced, ...]
    findings: tuple[Finding, ...]

    @property
    def points(self) -> Lengths:
        """East and north of all points, shots first. [m]"""
        return np.concatenate([self.shots.points, self.clouds.points])

    @property
    def elevations(self) -> Elevations:
        """Heights of all points, shots first. [m]"""
        return np.concatenate([self.shots.elevations, self.clouds.elevations])

    @property
    def taken_over(self) -> frozenset[str]:
        """Shots that a later survey replaced."""
        return frozenset(shot for each in self.replaced for shot in each.shots)


def located_survey(
    view: Mapping[str, Any],
    heights: Mapping[str, Elevation],
    limits: Mapping[str, Limit],
    without: str | None = None,
) -> LocatedSurvey:
    """The survey with every shot at its place, and the points that tell the ground.

    Parameters
    ----------
    view : mapping        Reads `site.marks`, `site.shots`, `site.lines`, `site.surveys`, `site.clouds`.
    heights : mapping     Heights from the level books, by shot. [m]
    limits : mapping      Limits of the checks.
    without : str         A survey that is left out, as if it had not been made.

    Returns
    -------
    LocatedSurvey
    """
    shots: Mapping[str, Shot] = view["site.shots"]
    findings: list[Finding] = []
    located: dict[str, PlanPoint] = {}
    told: dict[str, Elevation] = {}
    waiting: list[str] = []
    for name, shot in shots.items():
        height = shot.elevation if shot.elevation is not None else heights.get(name)
        ground = shot.surface in GROUND_SURFACES and shot.status != "remove"
        if not isinstance(shot.place, ByBook):
            try:
                located[name], found = _located(name, shot, view["site.marks"], limits)
            except DomainError as reason:
                found = (survey_checks.untied(name, str(reason)),)
            if shot.status != "remove":
                findings.extend(found)
        if height is not None:
            told[name] = height
        if ground and (height is None or isinstance(shot.place, ByBook)):
            waiting.append(name)
    places = ShotPlaces(
        tuple(located),
        np.array(list(located.values()), dtype=np.float64).reshape(-1, 2),
        np.array([told.get(name, math.nan) for name in located], dtype=np.float64),
        tuple(shots[name].surface for name in located),
    )
    on_ground = [
        name
        for name in located
        if name in told
        and shots[name].surface in GROUND_SURFACES
        and shots[name].status != "remove"
        and (without is None or shots[name].survey != without)
    ]
    clouds = cloud_points(view["site.clouds"], without)
    everywhere = _survey_shots(on_ground, located, told, view["site.lines"])
    replaced, kept, kept_points = _replaced(
        everywhere, clouds, view, limits["site.same_place"].value, without
    )
    clouds = clouds.only(kept_points)
    everywhere = _survey_shots(
        [name for name, stays in zip(on_ground, kept, strict=True) if stays],
        located,
        told,
        view["site.lines"],
    )
    pairs, apart = _apart(everywhere.points, limits["site.same_place"].value)
    clouds = clouds.only(_free(clouds.points, everywhere.points, limits["site.same_place"].value))
    separate = (
        _survey_shots([everywhere.ids[shot] for shot in apart], located, told, view["site.lines"])
        if pairs
        else everywhere
    )
    findings += [
        survey_checks.check_shot_count(len(apart), len(clouds.points), limits),
        survey_checks.check_heights(waiting, limits),
        *survey_checks.check_same_place(everywhere, pairs, limits),
        *survey_checks.check_far_shots(separate, _by_coordinates(separate, shots), clouds.points, limits),
        *survey_checks.check_height_units(separate, _typed(separate, shots), clouds.elevations, limits),
    ]
    index = {name: number for number, name in enumerate(separate.ids)}
    for first, second in pairs:
        index[everywhere.ids[second]] = index[everywhere.ids[first]]
    return LocatedSurvey(separate, clouds, places, index, replaced, tuple(findings))


def survey_ranks(surveys: Mapping[str, Survey]) -> dict[str, int]:
    """Surveys in the order in which they were made: by date, then by id; those without a date come first."""
    order = sorted(surveys, key=lambda name: (surveys[name].date or datetime.date.min, name))
    return {name: rank for rank, name in enumerate(order, FIRST + 1)}


def survey_ring(survey: Survey, points: Lengths) -> Lengths | None:
    """Ring of a survey: its own, or the hull of its points; none if they enclose nothing."""
    if survey.place is not None:
        pegs = survey.place.curve.pegs
        places = np.array([(peg.east, peg.north) for peg in pegs])
        return closed_curve(places, np.array([peg.corner for peg in pegs])).points
    if len(points) < FEWEST_SHOTS:
        return None
    try:
        return np.asarray(points[ConvexHull(points).vertices], dtype=np.float64)
    except QhullError:
        return None


def cloud_points(clouds: Mapping[str, Cloud], without: str | None = None) -> CloudPoints:
    """Points of all measured surfaces that are not to be removed, one after the other."""
    kept = {
        name: cloud
        for name, cloud in clouds.items()
        if cloud.status != "remove" and cloud.east and (without is None or cloud.survey != without)
    }
    sizes = [len(cloud.east) for cloud in kept.values()]
    if not sizes:
        none = np.empty(0, dtype=np.intp)
        return CloudPoints((), none, none, np.empty((0, 2)), np.empty(0))
    points = [np.column_stack([np.array(cloud.east), np.array(cloud.north)]) for cloud in kept.values()]
    return CloudPoints(
        tuple(kept),
        np.repeat(np.arange(len(sizes)), sizes),
        np.concatenate([np.arange(size) for size in sizes]),
        np.concatenate(points),
        np.concatenate([np.array(cloud.elevation) for cloud in kept.values()]),
    )


def break_shots(lines: Mapping[str, SurveyLine], survey: LocatedSurvey) -> Iterator[tuple[int, ...]]:
    """Shots of each breakline, in order; where a later survey took shots over it ends and begins again."""
    gone = survey.taken_over
    for line in lines.values():
        if line.kind != "break" or not line.shots:
            continue
        piece: list[int] = []
        for shot in line.shots:
            if shot in gone:
                if len(piece) > 1:
                    yield tuple(piece)
                piece = []
            elif shot in survey.index:
                piece.append(survey.index[shot])
        if len(piece) > 1:
            yield tuple(piece)


def edges(breaks: Sequence[Sequence[int]]) -> NDArray[np.int32]:
    """Edges of the breaklines that the triangles must keep."""
    pairs = [pair for line in breaks for pair in pairwise(line) if pair[0] != pair[1]]
    return np.array(pairs, dtype=np.int32).reshape(-1, 2)


def rings(lines: Mapping[str, SurveyLine], kind: str, survey: LocatedSurvey) -> list[Lengths]:
    """Rings of the lines of one kind, through shots or through points of the plan."""
    chosen = [line for line in lines.values() if line.kind == kind]
    return [line_points(line, survey.places) for line in chosen]


def line_points(line: SurveyLine, places: ShotPlaces) -> Lengths:
    """Places along a line of the survey: its located shots, or its points of the plan. [m]"""
    row = {name: number for number, name in enumerate(places.ids)} if line.shots else {}
    along = [places.points[row[shot]] for shot in line.shots if shot in row]
    return np.array(along or [(point.east, point.north) for point in line.line]).reshape(-1, 2)


def _survey_shots(
    names: Sequence[str],
    located: Mapping[str, PlanPoint],
    told: Mapping[str, Elevation],
    lines: Mapping[str, SurveyLine],
) -> SurveyShots:
    return SurveyShots(
        ids=tuple(names),
        points=np.array([located[name] for name in names], dtype=np.float64).reshape(-1, 2),
        elevations=np.array([told[name] for name in names], dtype=np.float64),
        on_line=frozenset(shot for line in lines.values() for shot in line.shots),
    )


def _typed(survey: SurveyShots, shots: Mapping[str, Shot]) -> NDArray[np.bool_]:
    return np.array([shots[name].elevation is not None for name in survey.ids], dtype=np.bool_)


def _by_coordinates(survey: SurveyShots, shots: Mapping[str, Shot]) -> NDArray[np.bool_]:
    return np.array([isinstance(shots[name].place, ByCoordinates) for name in survey.ids], dtype=np.bool_)


def _replaced(
    shots: SurveyShots,
    clouds: CloudPoints,
    view: Mapping[str, Any],
    beside: Length,
    without: str | None,
) -> tuple[tuple[Replaced, ...], NDArray[np.bool_], NDArray[np.bool_]]:
    """What later surveys replace, and the shots and points of measured surfaces that stay."""
    surveys: Mapping[str, Survey] = view["site.surveys"]
    count, told = len(shots.ids), []
    kept = np.ones(count + len(clouds.points), dtype=np.bool_)
    if any(survey.replaces for survey in surveys.values()):
        rank_of = survey_ranks(surveys)
        of_cloud = [rank_of.get(view["site.clouds"][name].survey, FIRST) for name in clouds.names]
        rank = np.concatenate(
            [
                [rank_of.get(view["site.shots"][name].survey, FIRST) for name in shots.ids],
                np.array(of_cloud, dtype=np.intp)[clouds.cloud],
            ]
        )
        points = np.concatenate([shots.points, clouds.points])
        for name in rank_of:
            if not surveys[name].replaces or name == without:
                continue
            own = points[rank == rank_of[name]]
            ring = survey_ring(surveys[name], own) if len(own) else None
            if ring is None:
                continue
            earlier = np.flatnonzero(kept & (rank < rank_of[name]))
            gone = earlier[_covered(points[earlier], ring, own, beside)]
            kept[gone] = False
            names = tuple(shots.ids[point] for point in gone if point < count)
            told.append(Replaced(name, ring, names, int(np.count_nonzero(gone >= count))))
    return tuple(told), kept[:count], kept[count:]


def _covered(points: Lengths, ring: Lengths, own: Lengths, beside: Length) -> NDArray[np.bool_]:
    """Points inside a survey's ring, on it, or beside one of its own points."""
    if len(points) == 0:
        return np.zeros(0, dtype=np.bool_)
    away, _ = cKDTree(own).query(points, distance_upper_bound=beside)
    on_ring = shapely.distance(shapely.LinearRing(ring), shapely.points(points)) <= beside
    return points_inside([ring], points) | on_ring | np.isfinite(away)


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
    if isinstance(place, ByGrid):
        start, end = (_mark_point(mark, marks) for mark in place.base)
        return offset_point(start, end, place.along * place.spacing, place.off * place.spacing), ()
    if isinstance(place, ByBearing):
        start = _mark_point(place.from_mark, marks)
        return bearing_point(start, place.bearing, place.distance), ()
    assert isinstance(place, ByTapes)
    anchors = [_mark_point(tape.mark, marks) for tape in place.tapes]
    tie = _tied(place, anchors)
    found = [survey_checks.check_tie(name, tie.point, tie.angle, limits)]
    if len(place.tapes) > 2:
        found.append(survey_checks.check_tape_residual(name, tie.point, tie.residual, limits))
    third, between = len(place.tapes) > 2, (place.tapes[0].mark, place.tapes[1].mark)
    tells = third and math.dist(tie.point, tie.other) > _FURTHEST_IN_LINE
    side = side_of(tie.point, anchors[0], anchors[1]) if tells else place.side
    found.append(survey_checks.check_tie_side(name, tie, between, place.side, side, third=third))
    return tie.point, tuple(found)


def _tied(place: ByTapes, anchors: Sequence[PlanPoint]) -> TapeTie:
    tapes = [tape.distance for tape in place.tapes]
    if len(tapes) == 2:
        return two_tape_tie(anchors[0], anchors[1], tapes[0], tapes[1], left=place.side == "left")
    return many_tape_tie(anchors, tapes, left=place.side == "left", in_line=_FURTHEST_IN_LINE)


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


def _free(points: Lengths, shots: Lengths, least: Length) -> NDArray[np.bool_]:
    """Points of measured surfaces that stand on no shot, and on no point before them."""
    free = np.ones(len(points), dtype=np.bool_)
    if len(points) == 0:
        return free
    tree = cKDTree(points)
    if len(shots):
        for beside in tree.query_ball_point(shots, least):
            free[beside] = False
    pairs = tree.query_pairs(least, output_type="ndarray")
    for first, second in pairs[np.lexsort(pairs.T[::-1])]:
        if free[first]:
            free[second] = False
    return free
