"""Where waters meet, what is too narrow, and where each water runs over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from shapely.geometry.base import BaseGeometry

from pondwright.base.findings import Finding
from pondwright.base.kinds import Length, Lengths
from pondwright.geometry.flood import basin
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import resampled
from pondwright.geometry.surface import surface_at
from pondwright.job.fields import value_of
from pondwright.job.shape import Body
from pondwright.rooms.shape.checks import meeting as checks
from pondwright.rooms.shape.meeting import (
    Run,
    meeting_walls,
    meetings,
    narrow_places,
    parts_when_lower,
    run_of_water,
    touches,
    water,
)
from pondwright.rooms.shape.profile import Profile, Wall
from pondwright.rooms.shape.stage.grading import GradingResult
from pondwright.rooms.shape.stage.rows import limits_of
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult

STEP: Length = 0.25
"""Step along the shore at which a bank beside the water is looked for. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class BodyMeeting:
    """How one body meets others and itself: where it runs over, what is narrow, what it falls apart into."""

    run: Run
    walls: tuple[Wall, ...]
    low_parts: int
    narrowest: Length | None


@dataclass(frozen=True, slots=True, eq=False)
class MeetingResult:
    """How all bodies meet, and how many lie across one another."""

    bodies: Mapping[str, BodyMeeting]
    crossings: int


def meeting_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[MeetingResult, tuple[Finding, ...]]:
    """How all bodies meet, and where each runs over to.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`.

    Returns
    -------
    MeetingResult and the checks of what nobody can build as it is drawn.
    """
    shore, grading = results["shape.shore"], results["shape.grading"]
    limits, raised = limits_of(view), grading.z - results["site.ground"].z
    waters = {name: water(body.rings) for name, body in shore.bodies.items()}
    levels = {name: body.level for name, body in shore.bodies.items()}
    crossed = meetings(waters, _joined(shore, waters))
    findings = [*checks.check_bodies_cross(crossed, levels, limits)] if len(waters) > 1 else []
    bodies = {}
    for name, body in shore.bodies.items():
        row = view["shape.bodies"][name]
        bodies[name], found = _body(name, row, body, waters[name], shore, grading, limits)
        findings.extend(found)
        if body.stream is not None and len(body.stream.reaches.starts) > 1:
            made = _soil_under_falls(body, raised, shore.grid)
            findings.append(checks.check_fall_on_fill(name, made, limits))
    findings.extend(_stream_starts(shore, grading, limits))
    return MeetingResult(MappingProxyType(bodies), len(crossed)), tuple(findings)


def _stream_starts(shore: ShoreResult, grading: GradingResult, limits: Any) -> Iterator[Finding]:
    """Whether each stream that starts at a shore gets its water from there."""
    for mouth in grading.mouths:
        stream = shore.bodies[mouth.stream]
        if mouth.upper and stream.stream is not None:
            east, north = (float(number) for number in stream.stream.corridor.line[0])
            rise = stream.level - shore.bodies[mouth.body].level
            yield checks.check_stream_start(mouth.stream, mouth.body, rise, (east, north), limits)


def _soil_under_falls(
    body: BodyShore, raised: Lengths, grid: Grid
) -> list[tuple[tuple[Length, Length], Length]]:
    """Place of each fall of a stream, and how much placed soil lies under it."""
    assert body.stream is not None
    line, station = body.stream.corridor.line, body.stream.corridor.station
    found = []
    for fall in body.stream.reaches.starts[1:]:
        place = np.array([[np.interp(fall, station, line[:, 0]), np.interp(fall, station, line[:, 1])]])
        found.append(((float(place[0, 0]), float(place[0, 1])), float(surface_at(raised, grid, place)[0])))
    return found


def _joined(shore: ShoreResult, waters: Mapping[str, BaseGeometry]) -> frozenset[frozenset[str]]:
    """Pairs of a stream and a body that one of its ends reaches."""
    return frozenset(
        frozenset((name, other))
        for name, body in shore.bodies.items()
        if body.stream is not None
        for other, area in waters.items()
        if other != name and touches(body.stream.corridor.line, area, 2.0 * shore.grid.spacing)
    )


def _body(
    name: str,
    row: Body,
    body: BodyShore,
    area: BaseGeometry,
    shore: ShoreResult,
    grading: GradingResult,
    limits: Any,
) -> tuple[BodyMeeting, list[Finding]]:
    """One body's way over its lip, its narrow places and what it falls apart into."""
    run = _run(name, body, shore, grading)
    into = shore.bodies[run.into].level if run.into else None
    walls = meeting_walls(resampled(body.rings[0], STEP), grading.z, shore.grid, body.level)
    findings = [checks.check_run(name, _leaves_at(body), run, into, limits)]
    if body.stream is not None:
        return BodyMeeting(run, (), 1, None), findings
    narrow = narrow_places(area, limits["shape.narrow_water"].value)
    land = narrow_places(area.envelope.buffer(2.0).difference(area), limits["shape.narrow_land"].value)
    low = body.level - (row.low_level if row.low_level is not None else body.level)
    parts = parts_when_lower(area, _inset(grading.bodies[name].profile, low))
    findings += [
        checks.check_narrow_water(name, narrow, limits),
        checks.check_narrow_land(name, land, limits),
        checks.check_splits(name, parts, limits),
        checks.check_meeting_wall(name, [(_middle(wall), wall.top - wall.bottom) for wall in walls], limits),
    ]
    if row.role == "pond":
        findings.append(checks.check_floor_fall(name, value_of(row, "floor_fall") or 0.0, limits))
    return BodyMeeting(run, walls, len(parts), narrow[0][1] if narrow else None), findings


def _run(name: str, body: BodyShore, shore: ShoreResult, grading: GradingResult) -> Run:
    """Way of the water that leaves a body: over its lip, or for a stream over its lowest sill."""
    others = {other: each.distance > 0.0 for other, each in shore.bodies.items() if other != name}
    if body.stream is None:
        own = basin(grading.z, body.within, shore.grid)
        return run_of_water(grading.z, shore.grid, own.lip_point, own.mask, others)
    end = body.stream.corridor.line[-1]
    return run_of_water(grading.z, shore.grid, (float(end[0]), float(end[1])), body.distance > 0.0, others)


def _leaves_at(body: BodyShore) -> float:
    """Elevation of the water that leaves: a stream's lowest reach, else the level."""
    return body.level - (float(body.stream.reaches.drops[-1]) if body.stream else 0.0)


def _inset(profile: Profile, low: Length) -> Length:
    """How far the shore draws back when the water falls by a depth."""
    steps = np.linspace(0.0, profile.reach, 400)
    depths = np.interp(steps, profile.knots, profile.depths)
    depths = depths + (steps[:, None] >= profile.risers) @ profile.heights
    return float(np.interp(low, np.maximum.accumulate(depths), steps)) if low > 0.0 else 0.0


def _middle(wall: Wall) -> tuple[Length, Length]:
    east, north = wall.line[len(wall.line) // 2]
    return float(east), float(north)
