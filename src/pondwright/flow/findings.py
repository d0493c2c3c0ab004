"""The checks of a run: what the stages found, with what the job accepts, the worst first.

A limit that the job replaces is put in by the stage that checks it; here a check that someone accepted is
marked with who and why.  It keeps its grade: accepting is a decision, not a repair.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from pondwright.base.findings import Finding, Grade, Where
from pondwright.base.kinds import AREA, LENGTH, VOLUME
from pondwright.base.units import Shown, format_value
from pondwright.flow.engine import Run, is_blocked
from pondwright.flow.names import with_names
from pondwright.flow.wishes import wish_findings
from pondwright.job.places import (
    LinePlace,
    PartPlace,
    Place,
    PointPlace,
    RingPlace,
    StretchPlace,
    WholePlace,
)
from pondwright.job.rules import Rule

ON_SHOW = 5
"""How many checks are told before the rest is asked for: a list that cries on every job is ignored."""

NEAR = 5.0
"""A check lies at a point, a line or a ring if it is no farther away than a rod's reach. [m]"""

_T = TypeVar("_T")
_IN_METRES = re.compile(r"(-?\d[\d,]*(?:\.\d+)?) (m³|m²|m)(?![\w/])")
_METRIC = {"m": LENGTH, "m²": AREA, "m³": VOLUME}


@dataclass(frozen=True, slots=True)
class Checks:
    """Checks of a run by grade; in each, what is open before what is accepted, the worst first."""

    stop: tuple[Finding, ...]
    look: tuple[Finding, ...]
    good: tuple[Finding, ...]

    @property
    def is_open(self) -> tuple[Finding, ...]:
        """What nobody has accepted yet, stops first."""
        return tuple(finding for finding in (*self.stop, *self.look) if not finding.accepted)

    @property
    def on_show(self) -> tuple[Finding, ...]:
        """The few that matter most."""
        return self.is_open[:ON_SHOW]

    @property
    def stops(self) -> bool:
        """Whether something must not be built like this, and nobody has accepted it."""
        return any(not finding.accepted for finding in self.stop)


def checks_of(run: Run) -> Checks:
    """Checks of a run: those of its stages, and one for each wish of the brief.

    Parameters
    ----------
    run : Run

    Returns
    -------
    Checks
    """
    found = tuple(with_shown_units(run.findings, run.job.shown_units))
    ruled = with_acceptance((*found, *wish_findings(run, found)), run.job.rules)
    named = list(with_names(told_together(ruled), run.job))
    return Checks(*(_worst_first(named, grade) for grade in (Grade.STOP, Grade.LOOK, Grade.GOOD)))


def with_shown_units(findings: Iterable[Finding], shown: Shown) -> Iterator[Finding]:
    """Findings in which the sentences of methods that had no answer tell lengths in the units of the job.

    Parameters
    ----------
    findings : iterable of Finding
    shown : Shown
        Units of the job.

    Yields
    ------
    Finding
    """

    def told(found: re.Match[str]) -> str:
        return format_value(float(found[1].replace(",", "")), _METRIC[found[2]], shown)

    for finding in findings:
        says_metres = is_blocked(finding) or finding.code == "site.no_place"
        yield replace(finding, says=_IN_METRES.sub(told, finding.says)) if says_metres else finding


def with_acceptance(findings: Iterable[Finding], rules: Mapping[str, Rule]) -> Iterator[Finding]:
    """Findings, those that a rule of the job accepts marked with its name and reason.

    Parameters
    ----------
    findings : iterable of Finding
    rules : mapping of str to Rule
        By the code of the check.

    Yields
    ------
    Finding
    """
    for finding in findings:
        rule = rules.get(finding.code)
        if rule and rule.accepted and _can_be_accepted(finding) and _holds_at(rule.place, finding):
            yield replace(finding, accepted=f"{rule.by}: {rule.reason}")
        else:
            yield finding


def told_together(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings, those that say alike of several places as one: what holds of each pond is read once.

    What is good stays as it is; what somebody accepted is not told with what is open.

    Parameters
    ----------
    findings : iterable of Finding

    Returns
    -------
    tuple of Finding
        Where the first of those alike stood, the worst of them with the places and advice of all; `alike` is
        left out.
    """
    groups: dict[object, list[Finding]] = {}
    for number, finding in enumerate(findings):
        key: object = number
        if finding.alike is not None and finding.grade is not Grade.GOOD:
            key = finding.code, finding.grade, finding.accepted, finding.alike.says
        groups.setdefault(key, []).append(finding)
    return tuple(_together(group) if len(group) > 1 else _alone(group[0]) for group in groups.values())


def _together(group: Sequence[Finding]) -> Finding:
    """One finding of several that say alike."""
    own = sorted(group, key=lambda finding: -excess(finding))
    alike = [finding.alike for finding in own if finding.alike is not None]
    return replace(
        own[0],
        says=alike[0].says.replace("{}", "; ".join(one.place for one in alike)),
        where=Where(
            tuple(_distinct(path for finding in own for path in finding.where.paths)),
            tuple(_distinct(point for finding in own for point in finding.where.points)),
        ),
        advice=tuple(_distinct(way for finding in own for way in finding.advice)),
        assumes=tuple(_distinct(one for finding in own for one in finding.assumes)),
        alike=None,
    )


def _alone(finding: Finding) -> Finding:
    return finding if finding.alike is None else replace(finding, alike=None)


def _distinct(values: Iterable[_T]) -> list[_T]:
    """Each value once; operations of advice hold what cannot be hashed."""
    found: list[_T] = []
    for value in values:
        if value not in found:
            found.append(value)
    return found


def excess(finding: Finding) -> float:
    """How far a finding's value is from its limit, in parts of the limit; 0 where it has none.

    Where the limit is zero, as of what must not be crossed, it is told in house units instead.

    Parameters
    ----------
    finding : Finding

    Returns
    -------
    float
    """
    if finding.value is None or finding.limit is None:
        return 0.0
    scale = max(abs(finding.limit), 1e-3) if finding.limit else 1.0
    return abs(finding.value - finding.limit) / scale


def _can_be_accepted(finding: Finding) -> bool:
    """What is good needs no acceptance, and a stage without an answer cannot be accepted."""
    return finding.grade is not Grade.GOOD and not is_blocked(finding)


def _worst_first(findings: Iterable[Finding], grade: Grade) -> tuple[Finding, ...]:
    own = [finding for finding in findings if finding.grade is grade]
    if grade is Grade.GOOD:
        return tuple(own)
    return tuple(sorted(own, key=lambda finding: (bool(finding.accepted), -excess(finding))))


def _holds_at(place: Place | None, finding: Finding) -> bool:
    """Whether a rule for a place is about this finding; a rule without a place is about all of them."""
    match place:
        case None | WholePlace(body=None):
            return True
        case WholePlace(body=body) | StretchPlace(body=body) | PartPlace(body=body):
            return any(f"{path}.".startswith(f"shape.bodies.{body}.") for path in finding.where.paths)
        case PointPlace():
            spots = [(place.east, place.north)]
        case LinePlace():
            spots = [(point.east, point.north) for point in place.points]
        case RingPlace():
            spots = [(peg.east, peg.north) for peg in place.curve.pegs]
    return _near(finding.where.points, spots, closed=isinstance(place, RingPlace))


def _near(points: Iterable[tuple[float, float]], spots: list[tuple[float, float]], closed: bool) -> bool:
    from shapely import LineString, Point, Polygon

    shape = Polygon(spots) if closed else LineString(spots) if len(spots) > 1 else Point(spots[0])
    return any(shape.distance(Point(point)) <= NEAR for point in points)
