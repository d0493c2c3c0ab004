"""Whether courses and covers stay where they are: what slopes, waves and their own weight do."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from pondwright.base.findings import Finding
from pondwright.base.kinds import Density, Mass
from pondwright.job.stone import Piece
from pondwright.rooms.stone.checks import stability as checks
from pondwright.rooms.stone.pieces import forms, mass_by_size, size_of_mass
from pondwright.rooms.stone.stability import (
    FRICTION,
    WIND,
    rest_pressure,
    slide_safety,
    step_safety,
    stone_in_waves,
    water_that_moves,
    wave_height,
)
from pondwright.rooms.stone.stage.needs import Need
from pondwright.rooms.stone.stage.setting_results import Hold
from pondwright.rooms.stone.stage.shared import mass_of

LIGHTEST: Density = 1050.0
"""Lightest stone that is judged in water. [kg/m³]"""

PERSON: Mass = 120.0
"""A person with a load. [kg]; common practice, no source."""


def holds_of(
    view: Mapping[str, Any], results: Mapping[str, Any], needs: Mapping[str, Need]
) -> dict[str, Hold]:
    """What stays of every course, and of the covers at the shore.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`.
    results : mapping     Needs `shape.shore`, `stone.takeoff`.
    needs : Need by key

    Returns
    -------
    dict of Hold
    """
    takeoff, shore = results["stone.takeoff"], results["shape.shore"]
    holds = {}
    for key, need in needs.items():
        safety = slide_safety(FRICTION, need.slope)
        holds[key] = _hold(
            need.says, takeoff.classes[need.stone], shore.bodies[need.body].fetch, need.slope, safety
        )
    for line in takeoff.lines:
        if line.use in ("cobble", "gravel") and line.zone == 0 and line.mass > 0.0:
            called = view["shape.bodies"][line.body].name or line.body.replace("_", " ")
            slope = abs(takeoff.bodies[line.body].zones["0"].slope)  # ground may rise inward
            says = f"the {line.use} of {called}"
            fetch = shore.bodies[line.body].fetch
            holds[f"cover_{line.body}_{line.stone}"] = _hold(
                says, takeoff.classes[line.stone], fetch, slope, math.inf
            )
    return holds


def _hold(says: str, total: Any, fetch: float, slope: float, safety: float) -> Hold:
    """What stays of stones of one class on a slope, before a stretch of open water."""
    # A class of stone that all but floats is judged as the lightest that sinks.
    solid = max(total.solid, LIGHTEST)
    ball = size_of_mass(mass_by_size(total.low, total.shape, solid), "rounded", solid)
    wave = wave_height(fetch, WIND)
    stays = stone_in_waves(wave, solid, slope)
    heaviest = mass_by_size(total.high, total.shape, total.solid)
    return Hold(
        says=says,
        safety=safety if math.isfinite(safety) else None,
        speed=water_that_moves(ball, solid),
        wave=wave,
        wave_size=size_of_mass(stays, total.shape, solid) if stays > 0.0 else 0.0,
        size=0.5 * (total.low + total.high),
        pressure=rest_pressure(heaviest, forms()[total.shape].long * total.high, total.high),
    )


def hold_findings(
    holds: Mapping[str, Hold], needs: Mapping[str, Need], limits: Mapping[str, Any]
) -> list[Finding]:
    """Checks of what may slide, roll in waves or sink: of each question those that fail, else the worst.

    Parameters
    ----------
    holds : Hold by key
    needs : Need by key
    limits : Limit by code

    Returns
    -------
    list of Finding
    """
    courses = {(need.source, middle(need)): key for key, need in reversed(list(needs.items()))}
    slides = [
        checks.check_slide(
            holds[key].says.rpartition(", ")[0],
            needs[key].source,
            holds[key].safety,
            middle(needs[key]),
            limits,
        )
        for key in reversed(list(courses.values()))
    ]
    rests = [
        checks.check_rests(holds[key].says, need.source, holds[key].pressure, middle(need), limits)
        for key, need in needs.items()
    ]
    waves = [
        checks.check_wave(hold.says, "stone.treatments", hold.size, hold.wave_size, hold.wave, limits)
        for key, hold in holds.items()
        if key not in needs
    ]
    return [
        *_worst(slides, low_is_bad=True),
        *_worst(rests, low_is_bad=False),
        *_worst(waves, low_is_bad=True),
    ]


def _worst(found: list[Finding], low_is_bad: bool) -> list[Finding]:
    """Findings that fail; where none does, the one that has least to spare."""
    failed = [each for each in found if each.grade != "good"]
    if failed or not found:
        return failed

    def spare(each: Finding) -> float:
        if each.value is None or each.limit is None:
            return math.inf
        return each.value - each.limit if low_is_bad else each.limit - each.value

    return [min(found, key=spare)]


def middle(need: Need) -> tuple[float, float]:
    """Point of a course in the middle of its line.

    Parameters
    ----------
    need : Need

    Returns
    -------
    (east, north)     [m]
    """
    point = need.points[len(need.points) // 2]
    return float(point[0]), float(point[1])


def stand_findings(pieces: Mapping[str, Piece], limits: Mapping[str, Any]) -> list[Finding]:
    """Checks of stones on the plan that people stand or sit on.

    Parameters
    ----------
    pieces : Piece by id
    limits : Limit by code

    Returns
    -------
    list of Finding
    """
    found = []
    for name, piece in pieces.items():
        if piece.role in ("stand", "seat") and piece.place is not None and piece.status != "remove":
            mass = mass_of(piece)
            called = f"Stone {piece.tag or piece.name or name}"
            found.append(
                checks.check_stands_firm(
                    called,
                    f"stone.pieces.{name}",
                    step_safety(mass, PERSON),
                    mass,
                    (piece.place.east, piece.place.north),
                    limits,
                )
            )
    return found
