"""The checks of a run: what the stages found, with what the job accepts, the worst first.

A limit that the job replaces is put in by the stage that checks it; here a check that someone accepted is
marked with who and why.  It keeps its grade: accepting is a decision, not a repair.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import AREA, LENGTH, VOLUME
from pondwright.base.units import Shown, format_value
from pondwright.flow.engine import Run, is_blocked
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
from pondwright.job.shape import Body

ON_SHOW = 5
"""How many checks are told before the rest is asked for: a list that cries on every job is ignored."""

NEAR = 5.0
"""A check lies at a point, a line or a ring if it is no farther away than a rod's reach. [m]"""

_IN_METRES = re.compile(r"(-?\d[\d,]*(?:\.\d+)?) (m³|m²|m)(?![\w/])")
_METRIC = {"m": LENGTH, "m²": AREA, "m³": VOLUME}
_SENTENCE_BEGINS = re.compile(r"(?:^|[.!?] )$")
_QUOTED_ID = re.compile(r"`([a-z][a-z0-9_]*)`")


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
    named = with_names((*found, *wish_findings(run, found)), run.job.shape.bodies)
    ruled = list(with_acceptance(named, run.job.rules))
    return Checks(*(_worst_first(ruled, grade) for grade in (Grade.STOP, Grade.LOOK, Grade.GOOD)))


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


def with_names(findings: Iterable[Finding], bodies: Mapping[str, Body]) -> Iterator[Finding]:
    """Findings that call each body by its name; the stages know ids only, and set them in backticks.

    A body without a name is called by its id, with a capital letter where a sentence begins.

    Parameters
    ----------
    findings : iterable of Finding
    bodies : mapping of str to Body
        By id.

    Yields
    ------
    Finding
    """

    def name(found: re.Match[str]) -> str:
        body = bodies.get(found[1])
        if body is None:
            return found[0]
        begins = _SENTENCE_BEGINS.search(found.string[: found.start()]) is not None
        words = found[1].replace("_", " ")
        return body.name or (words[0].upper() + words[1:] if begins else words)

    for finding in findings:
        advice = tuple(replace(way, says=_QUOTED_ID.sub(name, way.says)) for way in finding.advice)
        yield replace(finding, says=_QUOTED_ID.sub(name, finding.says), advice=advice)


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
