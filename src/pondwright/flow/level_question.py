"""The level question, answered by the job itself: each level is tried by its own stages.

What is told of a level is what one gets by taking it, for a row is computed like the job.  That is why these
two stages stand above the rooms: the earth asks, and whoever makes a number of the job answers.

See Also
--------
pondwright.rooms.earth.balance : how seldom a balance needs the job itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import Area, Elevation
from pondwright.flow.engine import Last
from pondwright.flow.names import named
from pondwright.job.fields import value_of
from pondwright.rooms.earth import stage as earth
from pondwright.rooms.earth.stage import AtLevel, Said
from pondwright.rooms.lining.stage.area import area_of
from pondwright.rooms.lining.stage.shared import dug_under, liners_of
from pondwright.rooms.shape import stage as shape
from pondwright.rooms.shape.stage.rows import limits_of
from pondwright.rooms.shape.storage import SAME_LEVEL
from pondwright.rooms.site import stage as site

DRAG_STAGES = (
    ("shape.shore", shape.shore_stage),
    ("shape.grading", shape.grading_stage),
    ("shape.storage", shape.storage_stage),
)
"""Stages that take over what a level does not move; without a difference to the job computed afresh."""


def balance_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[earth.BalanceResult, tuple[Finding, ...]]:
    """The level at which the soil of the job balances.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `site.things`, `site.bounds`, `earth.counted`, `earth.trucks`,
                          `earth.piles`, `earth.off_site`, `shape.bodies`, `shape.bank_types`, `shape.berms`,
                          `shape.slopes`, `shape.mounds`, `shape.ways`, `build_up`, `lining.liners`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `shape.storage`,
                          `earth.subgrade`, `earth.soil`.

    Returns
    -------
    BalanceResult and the check of the balance.
    """
    trial = JobTrial(view, results)
    return earth.balance_stage(trial.view, trial.results, trial)


def levels_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[earth.LevelsResult, tuple[Finding, ...]]:
    """The level question in full, for every body.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `site.things`, `site.bounds`, `earth.counted`, `earth.trucks`,
                          `earth.piles`, `earth.off_site`, `shape.bodies`, `shape.bank_types`, `shape.berms`,
                          `shape.slopes`, `shape.mounds`, `shape.ways`, `build_up`, `lining.liners`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `shape.storage`,
                          `earth.subgrade`, `earth.soil`, `earth.balance`.

    Returns
    -------
    LevelsResult, without checks of its own.
    """
    trial = JobTrial(view, results)
    return earth.levels_stage(trial.view, trial.results, trial)


@dataclass(frozen=True, slots=True, eq=False)
class _Tried:
    """The job with one body at a level: what its stages gave, and the checks of its shape and soil."""

    body: str
    level: Elevation
    results: Mapping[str, Any]
    findings: Sequence[Finding]


class JobTrial:
    """The job with one body at another level, computed by its own stages.

    Parameters
    ----------
    view : mapping        Sections that the stages read.
    results : mapping     What they gave for the job as it is.
    """

    def __init__(self, view: Mapping[str, Any], results: Mapping[str, Any]) -> None:
        self.view = {path: view[path] for path in view}
        self.results = {need: results[need] for need in results}
        self._last_tried: _Tried | None = None

    def at(self, body: str, level: Elevation) -> AtLevel:
        """What the job gives with a body at a level; told in :class:`AtLevel`.

        Parameters
        ----------
        body : str
        level : Elevation     [m]
        """
        found = self._tried(body, level).results
        return AtLevel(
            shore=found["shape.shore"].bodies[body],
            held=found["shape.storage"].bodies[body],
            soil=found["earth.soil"],
            liner=_liner(body, self._view_at(body, level), found),
        )

    def said_of(self, body: str, level: Elevation) -> Said:
        """What speaks against a level: all that the site, the shape and the earth can tell.

        Parameters
        ----------
        body : str
        level : Elevation     [m]
        """
        tried = self._tried(body, level)
        if refused := self._refused(body, level, tried.results, tried.findings):
            return Said(refused=self._named(refused))
        if warned := next(self._new_stops(tried.findings, self._stops), ""):
            return Said(warned=warned)
        beside = self._told_beside(self._view_at(body, level), tried.results)
        return Said(warned=next(self._new_stops(beside, self._stops_beside), ""))

    def _tried(self, body: str, level: Elevation) -> _Tried:
        """The job at a level; only the last one is kept, for each holds a whole finish."""
        if self._last_tried is None or (self._last_tried.body, self._last_tried.level) != (body, level):
            found, findings = self._computed(self._view_at(body, level))
            self._last_tried = _Tried(body, level, found, findings)
        return self._last_tried

    def _view_at(self, body: str, level: Elevation) -> dict[str, Any]:
        bodies = self.view["shape.bodies"]
        moved = bodies[body].model_copy(update={"level": level})
        return {**self.view, "shape.bodies": {**bodies, body: moved}}

    def _computed(self, view: Mapping[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
        """Shape and soil of the job as some sections tell it, with the checks of the shape."""
        found: dict[str, Any] = {"site.ground": self.results["site.ground"]}
        findings: list[Finding] = []
        for stage, function in DRAG_STAGES:
            found[stage], told = function(view, found, self._last(stage))
            findings.extend(told)
        found["earth.subgrade"] = earth.subgrade_stage(view, found)[0]
        found["earth.soil"], told = earth.soil_stage(view, found, self._last("earth.soil"))
        return found, [*findings, *told]

    def _last(self, stage: str) -> Last:
        return Last(self.view, self.results, self.results[stage])

    def _refused(
        self, body: str, level: Elevation, found: Mapping[str, Any], findings: Sequence[Finding]
    ) -> str:
        """Why water cannot stand at a level as the body is drawn; or nothing."""
        low = self.view["shape.bodies"][body].low_level
        if low is not None and level < low:
            return f"The low level that is planned for `{body}` stands above it."
        path = f"shape.bodies.{body}.level"
        for one in findings:
            if _stop(one) and one.code == "shape.rim" and path in one.where.paths:
                return one.says
        left, left_now = (each["shape.storage"].bodies[body].freeboard_left for each in (found, self.results))
        if found["shape.shore"].bodies[body].stream is not None and left < -SAME_LEVEL <= left_now:
            return f"The banks of `{body}` are lower than its water: it runs over."
        most = limits_of(self.view)["shape.embankment"].value
        against, against_now = (each["shape.grading"].bodies[body].held for each in (found, self.results))
        if against >= most > against_now:
            return f"So much of `{body}` would stand against placed soil that its bank is a dam."
        return ""

    @cached_property
    def _stops(self) -> frozenset[tuple[str, tuple[str, ...]]]:
        """What stops the job as it is, in its shape and its soil."""
        return frozenset(_stops(self._computed(self.view)[1]))

    @cached_property
    def _stops_beside(self) -> frozenset[tuple[str, tuple[str, ...]]]:
        return frozenset(_stops(self._told_beside(self.view, self.results)))

    def _told_beside(self, view: Mapping[str, Any], results: Mapping[str, Any]) -> Iterator[Finding]:
        """Checks of what lies beside the water: trees and lines, other waters, buried services."""
        for function in (site.clearances_stage, shape.meeting_stage, earth.services_stage):
            yield from function(view, results)[1]

    def _new_stops(
        self, findings: Iterable[Finding], known: frozenset[tuple[str, tuple[str, ...]]]
    ) -> Iterator[str]:
        return (self._named(one.says) for one in findings if _stop(one) and _key(one) not in known)

    def _named(self, says: str) -> str:
        """A sentence with the names of the waters in it."""
        return named(says, {"shape.bodies": self.view["shape.bodies"]})


def _liner(body: str, view: Mapping[str, Any], found: Mapping[str, Any]) -> Area:
    """True area of the liners under a body, as the lining itself tells it."""
    shore, z = found["shape.shore"], found["earth.subgrade"].z
    total = 0.0
    for liner in liners_of(view["lining.liners"], shore.bodies).values():
        bodies = tuple(name for name in liner.bodies if name in shore.bodies)
        if body in bodies:
            beyond = value_of(liner, "margin")
            total += area_of(dug_under(bodies, shore, found["shape.grading"], z, beyond), beyond)
    return total


def _stops(findings: Iterable[Finding]) -> Iterator[tuple[str, tuple[str, ...]]]:
    return (_key(one) for one in findings if _stop(one))


def _stop(finding: Finding) -> bool:
    return finding.grade is Grade.STOP


def _key(finding: Finding) -> tuple[str, tuple[str, ...]]:
    return finding.code, finding.where.paths
