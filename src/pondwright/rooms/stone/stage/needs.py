"""Places that want stones set one by one: courses along shores, and the stones of falls."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from pondwright.base.kinds import Elevation, Length, Lengths, Mass, Slope
from pondwright.job.shape import Body
from pondwright.job.stone import FallStone, StoneClass
from pondwright.rooms.shape.profile import Profile
from pondwright.rooms.stone.loads import USES
from pondwright.rooms.stone.pieces import forms, standing_height
from pondwright.rooms.stone.yard import Spot

CLEAR: Length = 0.05
"""Distance from a step at which the ground before it is told. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class Need:
    """A place that wants stones alike.

    Attributes
    ----------
    says, of : str              The place in words, and what it belongs to.
    source : str                Path of what asks for it in the document.
    stone : str                 Key of the class in the takeoff.
    spot : Spot                 What it wants.
    points : (n, 2) array       Where its stones are set; none where nobody knows. [m]
    foot : Elevation            Ground on which they stand. [m]
    heaviest : Mass             Of its largest stone. [kg]
    length, height : Length     Of its largest stone, as it hangs and stands. [m]
    body : str                  The water that it belongs to.
    slope : Slope               Of the ground below them, rise for one level. [m/m]
    """

    says: str
    of: str
    source: str
    stone: str
    spot: Spot
    points: Lengths
    foot: Elevation
    heaviest: Mass
    length: Length
    height: Length
    body: str
    slope: Slope

    @property
    def point(self) -> tuple[Length, Length] | None:
        """Where it is, if that is one point. [m]"""
        return (float(self.points[0, 0]), float(self.points[0, 1])) if len(self.points) == 1 else None

    def fewer(self) -> Need:
        """The same with one stone less to find."""
        return replace(self, spot=replace(self.spot, count=self.spot.count - 1))


def needs_of(view: Mapping[str, Any], results: Mapping[str, Any]) -> dict[str, Need]:
    """Places that want single stones, by key, in the order in which they are set.

    Parameters
    ----------
    view : mapping        Reads `stone.falls`, `stone.classes`, `shape.bodies`.
    results : mapping     Needs `shape.shore`, `shape.grading`, `stone.takeoff`.

    Returns
    -------
    dict of Need
    """
    takeoff = results["stone.takeoff"]
    needs: dict[str, Need] = {}
    names = view["stone.classes"]
    for key, need in (
        *_courses(view, takeoff, results["shape.grading"], names),
        *_falls(view["stone.falls"], results["shape.shore"], takeoff, names),
    ):
        while key in needs:
            key += "_"
        needs[key] = need
    return needs


def _courses(
    view: Mapping[str, Any], takeoff: Any, grading: Any, names: Mapping[str, StoneClass]
) -> Iterator[tuple[str, Need]]:
    """Courses of every body: the lowest first, because the next one stands behind it."""
    for body, stone in takeoff.bodies.items():
        called = view["shape.bodies"][body].name or body.replace("_", " ")
        for run in sorted(stone.runs, key=lambda run: -run.course):
            profile = _profile(view["shape.bodies"][body], grading.bodies[body], run.bank)
            slope = foot_slope(profile, run.offset, run.height)
            # Stones stand before their step: their middle is half a stone farther in.
            points = run.points + 0.5 * run.height * run.inward
            by = run.row or body
            name = f"{'edge' if run.course == 1 else 'shelf'}_{by}{'_' + run.bank if run.bank else ''}"
            for (klass, _), count in zip(run.classes, run.counts, strict=True):
                total = takeoff.classes[klass]
                spot = Spot(
                    role="edge" if run.course == 1 else "shelf",
                    count=count,
                    low=total.low,
                    high=total.high,
                    tall=run.riser if run.rows == 1 else 0.0,
                )
                source = f"stone.treatments.{run.row}" if run.row else f"shape.bodies.{body}"
                says = f"{_row_word(run.course)} row of stones at {called}, {class_words(klass, names)}"
                yield (
                    f"{name}_{run.course}_{klass}",
                    Need(
                        says,
                        called,
                        source,
                        klass,
                        spot,
                        points,
                        run.foot,
                        total.heaviest,
                        forms()[total.shape].long * total.high,
                        run.height * run.rows,
                        body,
                        slope,
                    ),
                )


def class_words(key: str, classes: Mapping[str, StoneClass]) -> str:
    """What a class is called within a sentence: its name up to the sizes, or its key.

    Parameters
    ----------
    key : str
    classes : StoneClass by key

    Returns
    -------
    str
    """
    row = classes.get(key)
    name = row.name.partition(",")[0].strip() if row is not None else ""
    return f"{name[:1].lower()}{name[1:]}" or key.replace("_", " ")


def _fall_words(use: str, fall: str, klass: str) -> str:
    """What is set at a fall; a class that is called as its use is not told twice."""
    words = f"{use.capitalize()} stones of {fall}"
    return words if klass in (use, f"{use} stone", f"{use} stones") else f"{words}, {klass}"


def _row_word(course: int) -> str:
    """Which row a course is, counted inward from the shore."""
    words = ("First", "Second", "Third", "Fourth", "Fifth", "Sixth", "Seventh", "Eighth", "Ninth", "Tenth")
    return words[course - 1] if 0 < course <= len(words) else f"{course}th"


def _profile(body: Body, grading: Any, bank: str) -> Profile:
    """Profile of the bank along a stretch, or of the whole body."""
    if not bank:
        return grading.profile
    return grading.stretches[list(body.stretches).index(bank)].profile


def foot_slope(profile: Profile, offset: Length, width: Length) -> Slope:
    """Slope of the ground on which a course stands, before its step.

    Parameters
    ----------
    profile : Profile     Of the bank.
    offset : Length       Of the course, inward from the shore. [m]
    width : Length        Of its stones. [m], > 0

    Returns
    -------
    Slope                 Rise for one level. [m/m], >= 0
    """
    ends = np.array([offset + CLEAR, offset + CLEAR + width])
    depths = np.interp(ends, profile.knots, profile.depths)
    return abs(float(depths[1] - depths[0])) / width


def _falls(
    falls: Mapping[str, FallStone], shore: Any, takeoff: Any, names: Mapping[str, StoneClass]
) -> Iterator[tuple[str, Need]]:
    """Single stones of every fall, in the order in which they are set."""
    lines = [line for line in takeoff.lines if line.source == "fall" and line.count]
    lines.sort(key=lambda line: (line.row, USES.index(line.use)))
    for line in lines:
        fall = falls[line.row]
        called = fall.name or f"fall {line.row.replace('_', ' ')}"
        total = takeoff.classes[line.stone]
        points, lip, lower = _lip(fall, shore)
        foot = lower if line.use in ("face", "frame") else lip
        yield (
            f"fall_{line.row}_{line.use}",
            Need(
                _fall_words(line.use, called, class_words(line.stone, names)),
                called,
                f"stone.falls.{line.row}",
                line.stone,
                Spot(line.use, line.count, total.low, total.high, fall=line.row, flat=total.shape == "slab"),
                points,
                foot,
                total.heaviest,
                forms()[total.shape].long * total.high,
                standing_height(total.high, total.shape),
                fall.body,
                0.0,
            ),
        )


def _lip(fall: FallStone, shore: Any) -> tuple[Lengths, Elevation, Elevation]:
    """Middle of the lip of a fall, and the water above and below it; no point where its body is no stream."""
    body = shore.bodies.get(fall.body)
    if body is None or body.stream is None:
        level = 0.0 if body is None else body.level
        return np.empty((0, 2)), level, level
    steps = body.stream.reaches
    step, last = min(fall.step, len(steps.ends) - 1), len(steps.drops) - 1
    line, along = body.stream.corridor.line, body.stream.corridor.station
    at = float(steps.ends[step])
    middle = np.array([[np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])]])
    upper, lower = steps.drops[step], steps.drops[min(step + 1, last)]
    return middle, body.level - float(upper), body.level - float(lower)
