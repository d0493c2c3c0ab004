"""The first visit: the walk round the site, buried services, and leave that must be had."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import COUNT
from pondwright.job.brief import Brief
from pondwright.job.places import LinePlace, Place, PointPlace, RingPlace
from pondwright.job.site import Thing, WalkAnswer
from pondwright.job.tables import walk_points
from pondwright.rooms.site.checks import visit as checks
from pondwright.rooms.site.checks.visit import Buried, Leave
from pondwright.rooms.site.location import PlanPoint
from pondwright.rooms.site.stage.shared import limits_of
from pondwright.rooms.site.visit import IMPORTANT, Tally, tally


@dataclass(frozen=True, slots=True)
class VisitResult:
    """What the walk answered, point by point and counted."""

    walk: Tally
    fine: int = figure(COUNT, "Points looked at and fine", by=tally, uses=("site.walk",))
    trouble: int = figure(COUNT, "Points looked at and trouble", by=tally, uses=("site.walk",))
    none: int = figure(COUNT, "Points looked for and not there", by=tally, uses=("site.walk",))
    not_looked: int = figure(COUNT, "Points not looked at", by=tally, uses=("site.walk",))


def visit_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[VisitResult, tuple[Finding, ...]]:
    """What the first visit found, and what must be known before anybody digs.

    Nothing is said about the walk and the boundary before the walk was begun or a day for digging is told.

    Parameters
    ----------
    view : mapping        Reads `site.walk`, `site.things`, `site.bounds`, `brief`, `rules`.
    results : mapping     Needs nothing.

    Returns
    -------
    VisitResult and the checks of the walk, the boundary, buried services and permits.
    """
    limits, brief = limits_of(view), view["brief"]
    points = {point.id: point for point in walk_points()}
    answers = view["site.walk"]
    found = tally(
        {name: point.weight for name, point in points.items()},
        {name: answer.answer for name, answer in answers.items()},
    )
    services = list(_services(view["site.things"]))
    findings: list[Finding] = []
    if answers or brief.dig_from:
        important = [name for name in found.not_looked if name in points and points[name].weight >= IMPORTANT]
        boundaries = sum(bound.kind == "boundary" for bound in view["site.bounds"].values())
        findings += [
            checks.check_walk(_words(important), len(found.not_looked) - len(important), limits),
            checks.check_trouble(_words(found.trouble), list(_places(answers, found.trouble)), limits),
            checks.check_boundary(boundaries, limits),
        ]
    findings += checks.check_marks(services, brief.dig_from, limits)
    findings += checks.check_private(services, limits)
    findings += checks.check_depths(services, limits)
    findings += [checks.check_permit(leave, brief.dig_from, brief.done_by) for leave in _permits(brief)]
    result = VisitResult(found, len(found.fine), len(found.trouble), len(found.none), len(found.not_looked))
    return result, tuple(findings)


def _words(names: tuple[str, ...] | list[str]) -> list[str]:
    return [name.replace("_", " ") for name in names]


def _places(answers: Mapping[str, WalkAnswer], names: tuple[str, ...]) -> Iterator[PlanPoint]:
    for name in names:
        place = answers[name].place
        if place is not None:
            yield place.east, place.north


def _services(things: Mapping[str, Thing]) -> Iterator[Buried]:
    """Buried services that are there; one that is only planned for later is not."""
    for name, thing in things.items():
        if thing.kind == "utility" and thing.status != "later":
            yield Buried(
                called=thing.name or name.replace("_", " "),
                path=f"site.things.{name}",
                at=_point(thing.place),
                private=thing.private,
                has_depth=thing.depth is not None,
                marked_until=thing.marked_until,
            )


def _point(place: Place) -> PlanPoint | None:
    """A point of a place to light up."""
    match place:
        case PointPlace():
            return place.east, place.north
        case LinePlace():
            middle = place.points[len(place.points) // 2]
            return middle.east, middle.north
        case RingPlace():
            return place.curve.pegs[0].east, place.curve.pegs[0].north
    return None


def _permits(brief: Brief) -> Iterator[Leave]:
    for name, permit in brief.permits.items():
        yield Leave(
            authority=permit.authority,
            path=f"brief.permits.{name}",
            granted=permit.granted,
            until=permit.until,
            expires=permit.expires,
            blocks=permit.blocks,
        )
