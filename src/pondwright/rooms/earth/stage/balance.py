"""What other water levels cost: the balance of one body, and the level question in full for every body.

The job itself is tried at each level, by its own stages: the flow hands them in as `Trial`, for no room calls
the stages of another.  So a row of the table is what one gets by taking its level.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    ELEVATION,
    Area,
    Areas,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Volume,
    Volumes,
)
from pondwright.geometry.polygon import resampled
from pondwright.geometry.surface import surface_at
from pondwright.job.shape import Body, first_kept
from pondwright.rooms.earth.balance import (
    NEAR_REACH,
    Trials,
    balanced_level,
    exact_level,
    fill_surplus,
    followed_level,
    level_table,
    narrowed,
    trials,
)
from pondwright.rooms.earth.checks import soil as checks
from pondwright.rooms.earth.levels import bank_area, bed_area, filled, highest_raise, with_row
from pondwright.rooms.earth.stage.shared import limits_of
from pondwright.rooms.earth.stage.soil import settlement_of, soils_of
from pondwright.rooms.shape.profile import riser_walls
from pondwright.rooms.shape.shoreline import SHORE_STEP, lengths_below
from pondwright.rooms.shape.storage import SAME_LEVEL, shore_areas

USES = ("site.ground.z", "shape.grading.layers", "earth.soil.by_kind", "shape.berms.*.settlement")

OFF_BALANCE: Length = 1e-3
"""Soil that a balanced level may leave over or missing, as a height of the water on its area. [m]"""


@dataclass(frozen=True, slots=True)
class Said:
    """What speaks against a level: why no water can stand there, or what would stop the job; or nothing."""

    refused: str = ""
    warned: str = ""

    @property
    def either(self) -> str:
        """The one that weighs more."""
        return self.refused or self.warned


@dataclass(frozen=True, slots=True, eq=False)
class AtLevel:
    """What the job gives with one body at another level: its shore, what it holds, and the soil of all.

    Attributes
    ----------
    shore : BodyShore        Of the body.
    held : BodyStorage       Of the body.
    soil : SoilResult        Of the whole site.
    liner : Area             True area of the liner under the body, and under all waters that share it. [m²]
    """

    shore: Any
    held: Any
    soil: Any
    liner: Area


class Trial(Protocol):
    """The job tried with one body at another level, by its own stages."""

    def at(self, body: str, level: Elevation) -> AtLevel:
        """What the job gives then."""

    def said_of(self, body: str, level: Elevation) -> Said:
        """What speaks against it: all that the site, the shape and the earth can tell."""


@dataclass(frozen=True, slots=True, eq=False)
class BalanceResult:
    """The level of one body at which the soil of the site balances, and what speaks against it."""

    body: str
    said: Said
    balanced_level: Elevation | None = figure(
        ELEVATION, "Water level at which the soil balances", by=exact_level, uses=USES
    )
    offered_level: Elevation | None = figure(
        ELEVATION,
        "The same where the water can stand as it is drawn",
        by=exact_level,
        uses=("earth.balance.balanced_level", "shape.storage.bodies.*.lip", "shape.grading.bodies.*.held"),
    )


@dataclass(frozen=True, slots=True, eq=False)
class BodyLevels:
    """What each level of one body costs and holds, all other bodies where they are.

    Columns `filled_*` are of the hole as it is drawn, filled to another level; all others are what the job
    gives when it is taken to the level.  `others_leave` is topsoil and muck that leaves beside the fill, for
    which no pile has room; `loads` count it too.  `warnings` tell what speaks against each level, or
    nothing; `said` tells it of the balanced one.
    """

    level: Elevations
    lip: Elevations
    runs_over: NDArray[np.bool_]
    rim_to_raise: Lengths
    highest_raise: Lengths
    dug: Volumes
    placed: Volumes
    surplus: Volumes
    loads: NDArray[np.int64]
    others_leave: Volumes
    liner: Areas
    volume: Volumes
    area: Areas
    warnings: tuple[str, ...]
    filled_volume: Volumes
    filled_area: Areas
    filled_bed: Areas
    filled_runs_over: NDArray[np.bool_]
    balanced_row: int | None
    said: Said
    balanced_level: Elevation | None = figure(
        ELEVATION,
        "Water level at which the soil balances, other bodies where they are",
        by=exact_level,
        uses=USES,
    )
    offered_level: Elevation | None = figure(
        ELEVATION,
        "The same where the water can stand as it is drawn",
        by=exact_level,
        uses=(
            "earth.levels.bodies.*.balanced_level",
            "shape.storage.bodies.*.lip",
            "shape.grading.bodies.*.held",
        ),
    )


@dataclass(frozen=True, slots=True, eq=False)
class LevelsResult:
    """The level question in full: a table for each body, and the body that matters most.

    Its table comes first.  It is the one that is to be kept balanced, or else the largest pond.
    """

    body: str
    bodies: Mapping[str, BodyLevels]


def balance_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], trial: Trial
) -> tuple[BalanceResult, tuple[Finding, ...]]:
    """The level at which the soil balances, of the body to be kept balanced or the largest pond.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `earth.counted`, `shape.bodies`, `shape.berms`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `earth.subgrade`, `earth.soil`.
    trial : Trial         The job at other levels.

    Returns
    -------
    BalanceResult and the check of the balance.
    """
    shore, account = results["shape.shore"], results["earth.soil"]
    if not shore.bodies:
        return BalanceResult("", Said(), balanced_level=None, offered_level=None), ()
    name = _foremost(view["shape.bodies"], shore.bodies)
    balanced = _balance(name, view, results, trial)
    said = Said() if balanced is None else trial.said_of(name, balanced)
    finding = checks.check_balance(
        name,
        account.surplus_bank,
        account.dug,
        shore.bodies[name].level,
        balanced,
        first_kept(view["shape.bodies"]) is not None,
        limits_of(view),
        said.refused,
        said.warned,
    )
    offered = None if said.refused else balanced
    return BalanceResult(name, said, balanced_level=balanced, offered_level=offered), (finding,)


def levels_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], trial: Trial
) -> tuple[LevelsResult, tuple[Finding, ...]]:
    """The level question in full, for every body.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `earth.counted`, `shape.berms`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `shape.storage`,
                          `earth.subgrade`, `earth.soil`, `earth.balance`.
    trial : Trial         The job at other levels.

    Returns
    -------
    LevelsResult, without checks of its own.
    """
    known = results["earth.balance"]
    names = sorted(results["shape.shore"].bodies, key=lambda name: name != known.body)
    bodies = {name: _body_levels(name, known, view, results, trial) for name in names}
    return LevelsResult(known.body, MappingProxyType(bodies)), ()


def level_near(name: str, view: Mapping[str, Any], results: Mapping[str, Any]) -> Elevation | None:
    """Level at which the soil of a job balances, near the one that it has, while something is in the hand.

    Parameters
    ----------
    name : str            The body whose level follows.
    view : mapping        Reads `shape.berms`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `earth.subgrade`, `earth.soil`.

    Returns
    -------
    Elevation or None     None if a few trials do not come to it. [m]
    """
    level = results["shape.shore"].bodies[name].level
    states, share = results["earth.soil"].states, settlement_of(view["shape.berms"])
    run = _trials(name, np.array([level - NEAR_REACH, level + NEAR_REACH]), results)
    now = fill_surplus(results["earth.soil"].moved, states, share)
    return followed_level(lambda trial: fill_surplus(run.at(trial), states, share), level, now)


def _foremost(rows: Mapping[str, Body], shores: Mapping[str, Any]) -> str:
    """Body whose level matters most: the one to be kept balanced, or the largest pond, or the first."""
    kept = first_kept(rows)
    ponds = [name for name in shores if rows[name].role == "pond"]
    return kept or max(ponds or [next(iter(shores))], key=lambda name: float(shores[name].area))


def _balance(
    name: str, view: Mapping[str, Any], results: Mapping[str, Any], trial: Trial
) -> Elevation | None:
    """Level of a body at which the soil of the job balances.

    Where mouths and what yields to the water are left as they lie, a trial costs next to nothing: that tells
    where to try the job itself.
    """
    body = results["shape.shore"].bodies[name]
    states = soils_of(view["site.soils"], view["earth.counted"], results["site.ground"].grid)[1]
    share = settlement_of(view["shape.berms"])
    levels = level_table(body.level)
    run = _trials(name, levels, results)

    def quick(level: Elevation) -> Volume:
        return fill_surplus(run.at(level), states, share)

    def exact(level: Elevation) -> Volume:
        return fill_surplus(trial.at(name, level).soil.moved, states, share)

    now = fill_surplus(results["earth.soil"].moved, states, share)
    known = [now if level == body.level else quick(float(level)) for level in levels]
    guess = balanced_level(quick, levels, known)
    if guess is None:
        return None
    return exact_level(exact, quick, guess, {body.level: now}, OFF_BALANCE * body.area)


def _trials(name: str, levels: Elevations, results: Mapping[str, Any]) -> Trials:
    """Trials of one body's level that visit only what levels of its table can touch."""
    ground, grading = results["site.ground"], results["shape.grading"]
    run = trials(
        ground.z,
        grading.laid_limits(results["shape.shore"]),
        grading.layers.levels,
        list(results["shape.shore"].bodies).index(name),
        results["earth.subgrade"].thickness,
        results["earth.soil"].soils,
        ground.grid,
    )
    return narrowed(run, float(levels[0]), float(levels[-1]))


def _body_levels(
    name: str, known: BalanceResult, view: Mapping[str, Any], results: Mapping[str, Any], trial: Trial
) -> BodyLevels:
    """Table of one body: rim, soil, liner and water at each level, and its hole filled to each."""
    body = results["shape.shore"].bodies[name]
    if name == known.body:
        balanced, said = known.balanced_level, known.said
    else:
        balanced = _balance(name, view, results, trial)
        said = Said() if balanced is None else trial.said_of(name, balanced)
    levels, at = with_row(level_table(body.level), balanced)
    told = [(trial.at(name, float(level)), trial.said_of(name, float(level))) for level in levels]
    rows = [row for row, _said in told]
    raised, highest = _rims(name, rows, results)
    hole, areas, beds, over = _hole(name, levels, results)
    return BodyLevels(
        level=levels,
        lip=np.array([row.held.lip for row in rows]),
        runs_over=np.array([row.held.freeboard_left < -SAME_LEVEL for row in rows]),
        rim_to_raise=raised,
        highest_raise=highest,
        dug=np.array([row.soil.dug for row in rows]),
        placed=np.array([row.soil.placed for row in rows]),
        surplus=np.array([row.soil.surplus_bank for row in rows]),
        loads=np.array([row.soil.load_count for row in rows]),
        others_leave=np.array([row.soil.leaving.others_leave for row in rows]),
        liner=np.array([row.liner for row in rows]),
        volume=np.array([row.held.volume for row in rows]),
        area=np.array([row.held.area for row in rows]),
        warnings=tuple(said_there.either for _row, said_there in told),
        filled_volume=hole.volumes,
        filled_area=areas,
        filled_bed=beds,
        filled_runs_over=over,
        balanced_row=at,
        said=said,
        balanced_level=balanced,
        offered_level=None if said.refused else balanced,
    )


def _rims(name: str, rows: Sequence[AtLevel], results: Mapping[str, Any]) -> tuple[Lengths, Lengths]:
    """Length of shore with ground below each crest, and how far the lowest of it is raised."""
    ground = results["site.ground"]
    body = results["shape.shore"].bodies[name]
    # With each reach of a stream lifted by its drop, all its water stands at one level.
    z = ground.z + (0.0 if body.stream is None else body.stream.drop)
    crests = np.array([row.shore.crest_level for row in rows])
    walk = np.vstack([resampled(ring, SHORE_STEP) for ring in body.rings])
    raised = lengths_below(z, ground.grid, body.rings, crests)
    return raised, highest_raise(surface_at(z, ground.grid, walk), crests)


def _hole(
    name: str, levels: Elevations, results: Mapping[str, Any]
) -> tuple[Any, Areas, Areas, NDArray[np.bool_]]:
    """The hole as drawn, filled to each level, its water and the bed under it, and whether it runs over."""
    grading, shore = results["shape.grading"], results["shape.shore"]
    body = shore.bodies[name]
    drop = 0.0 if body.stream is None else body.stream.drop
    hole = filled(grading.z + drop, grading.waters(shore)[name], shore.grid, levels)
    stands = np.minimum(levels, hole.lip)
    own_area = results["shape.storage"].bodies[name].area
    areas = shore_areas(stands, hole.areas, body.level, own_area)
    beds = _beds(name, stands, results)
    return hole, areas, beds, levels > results["shape.storage"].bodies[name].lip + SAME_LEVEL


def _beds(name: str, levels: Elevations, results: Mapping[str, Any]) -> Areas:
    """True area under the water of the drawn hole, filled to each level."""
    body, grade = results["shape.shore"].bodies[name], results["shape.grading"].bodies[name]
    grid, inward = body.windowed(results["site.ground"].grid)
    walls = riser_walls(grade.profile, inward, grid, 0.0, body.rings)
    return np.array(
        [_bed(float(level) - body.level, grade, body, grid, inward, walls, results) for level in levels]
    )


def _bed(
    rise: Length, grade: Any, body: Any, grid: Any, inward: Lengths, walls: Any, results: Mapping[str, Any]
) -> Area:
    """True area under the water a rise above the level of the job (below it where negative)."""
    if rise < 0.0:
        return bed_area(grade.profile, inward, grid, body.area, walls, -rise)
    height = min(rise, grade.bank.freeboard)
    whole = results["site.ground"].grid
    return float(grade.wetted_area + bank_area(body.distance, whole, body.area, grade.bank.slope_in, height))
