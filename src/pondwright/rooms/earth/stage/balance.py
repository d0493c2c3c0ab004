"""What other water levels cost: the balance of one body, and the level question in full for every body."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    AREA,
    ELEVATION,
    Area,
    Areas,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Volumes,
)
from pondwright.geometry.polygon import resampled
from pondwright.geometry.surface import surface_at
from pondwright.job.shape import first_kept
from pondwright.rooms.earth.balance import (
    NEAR_REACH,
    Trials,
    balanced_level,
    fill_surplus,
    followed_level,
    level_table,
    narrowed,
    trials,
)
from pondwright.rooms.earth.checks import soil as checks
from pondwright.rooms.earth.cutfill import Moved
from pondwright.rooms.earth.levels import bank_area, bed_area, filled, highest_raise, with_row
from pondwright.rooms.earth.stage.shared import limits_of
from pondwright.rooms.earth.stage.soil import settlement_of, soils_of, surplus_of
from pondwright.rooms.earth.states import loose_volume, truck_loads
from pondwright.rooms.shape.grading import graded
from pondwright.rooms.shape.profile import riser_walls
from pondwright.rooms.shape.shoreline import SHORE_STEP, lengths_below

USES = ("site.ground.z", "shape.grading.layers", "earth.soil.by_kind", "shape.berms.*.settlement")


@dataclass(frozen=True, slots=True, eq=False)
class BalanceResult:
    """What other water levels of one body would cost in soil."""

    body: str
    level: Elevations
    dug: Volumes
    placed: Volumes
    surplus: Volumes
    volume: Volumes
    area: Areas
    rim_to_raise: Lengths
    balanced_level: Elevation | None = figure(
        ELEVATION, "Water level at which the soil balances", by=balanced_level, uses=USES
    )


@dataclass(frozen=True, slots=True, eq=False)
class BodyLevels:
    """What each level of one body costs and holds, all other bodies where they are.

    Of the columns, `filled_*` are of the hole as it is drawn, filled to another level; all others are of
    the shore as it is drawn on the plan, moved with the level.
    """

    level: Elevations
    rim_to_raise: Lengths
    highest_raise: Lengths
    dug: Volumes
    placed: Volumes
    surplus: Volumes
    loads: NDArray[np.int64]
    liner: Areas
    volume: Volumes
    area: Areas
    filled_volume: Volumes
    filled_area: Areas
    filled_bed: Areas
    runs_over: NDArray[np.bool_]
    balanced_row: int | None
    liner_area: Area = figure(
        AREA,
        "True area under the water and up the bank to the crest, where the liner ends",
        by=bank_area,
        uses=("shape.grading.bodies.*.wetted_area", "shape.berms.*.freeboard", "shape.berms.*.slope_in"),
    )
    balanced_level: Elevation | None = figure(
        ELEVATION,
        "Water level at which the soil balances, other bodies where they are",
        by=balanced_level,
        uses=USES,
    )


@dataclass(frozen=True, slots=True, eq=False)
class LevelsResult:
    """The level question in full: a table for each body, and the body whose balance is sought."""

    body: str
    bodies: Mapping[str, BodyLevels]


def balance_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[BalanceResult, tuple[Finding, ...]]:
    """What each water level costs in soil, and the level at which it balances.

    The body is the first one that is to be kept balanced, or else the first one of all.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `earth.counted`, `shape.bodies`, `shape.berms`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `shape.storage`,
                          `earth.subgrade`, `earth.soil`.

    Returns
    -------
    BalanceResult and the check of the balance.
    """
    shore, account = results["shape.shore"], results["earth.soil"]
    if not shore.bodies:
        nothing = np.zeros(0)
        return BalanceResult("", *(nothing,) * 7, balanced_level=None), ()
    ground = results["site.ground"]
    names = list(shore.bodies)
    kept = first_kept(view["shape.bodies"])
    name = kept or names[0]
    body, held = shore.bodies[name], results["shape.storage"].bodies[name]
    states = soils_of(view["site.soils"], view["earth.counted"], ground.grid)[1]
    share = settlement_of(view["shape.berms"])
    levels = level_table(body.level)
    narrow = _trials(name, levels, results)
    soil = [account.moved if level == body.level else narrow.at(float(level)) for level in levels]
    surplus = [fill_surplus(each, states, share) for each in soil]
    balanced = balanced_level(lambda level: fill_surplus(narrow.at(level), states, share), levels, surplus)
    freeboard = body.crest_level - body.level
    result = BalanceResult(
        body=name,
        level=levels,
        dug=np.array([each.total_dug for each in soil]),
        placed=np.array([each.placed for each in soil]),
        surplus=np.array([surplus_of(each, states, share)[0] for each in soil]),
        volume=np.full(len(levels), held.volume),
        area=np.full(len(levels), body.area),
        rim_to_raise=lengths_below(ground.z, ground.grid, body.rings, levels + freeboard),
        balanced_level=balanced,
    )
    finding = checks.check_balance(
        name, account.surplus_bank, account.dug, body.level, balanced, bool(kept), limits_of(view)
    )
    return result, (finding,)


def levels_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[LevelsResult, tuple[Finding, ...]]:
    """The level question in full, for every body.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `earth.counted`, `shape.berms`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `earth.subgrade`, `earth.soil`,
                          `earth.balance`.

    Returns
    -------
    LevelsResult, without checks of its own.
    """
    states = soils_of(view["site.soils"], view["earth.counted"], results["site.ground"].grid)[1]
    share = settlement_of(view["shape.berms"])
    known = results["earth.balance"]
    bodies = {}
    for name, body in results["shape.shore"].bodies.items():
        levels = level_table(body.level)
        narrow = _trials(name, levels, results)
        soil = {float(level): narrow.at(float(level)) for level in levels}
        balanced = known.balanced_level
        if name != known.body:
            balanced = balanced_level(
                lambda level, run=narrow: fill_surplus(run.at(level), states, share),  # type: ignore[misc]
                levels,
                [fill_surplus(each, states, share) for each in soil.values()],
            )
        rows, at = with_row(levels, balanced)
        moved = [soil.get(float(level)) or narrow.at(float(level)) for level in rows]
        surplus, loads = _hauled(moved, states, share)
        if at is not None:
            loads[at] = 0  # what the tolerance of the level leaves over fills no truck
        bodies[name] = _table(name, rows, at, balanced, moved, surplus, loads, results)
    return LevelsResult(known.body, MappingProxyType(bodies)), ()


def level_near(name: str, view: Mapping[str, Any], results: Mapping[str, Any]) -> Elevation | None:
    """Level at which the soil of a job balances, near the one that it has, while something is in the hand.

    Parameters
    ----------
    name : str            The body whose level follows.
    view : mapping        Reads `site.soils`, `earth.counted`, `shape.berms`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `earth.subgrade`, `earth.soil`.

    Returns
    -------
    Elevation or None     None if a few trials do not come to it. [m]
    """
    level = results["shape.shore"].bodies[name].level
    states = soils_of(view["site.soils"], view["earth.counted"], results["site.ground"].grid)[1]
    share = settlement_of(view["shape.berms"])
    run = _trials(name, np.array([level - NEAR_REACH, level + NEAR_REACH]), results)
    now = fill_surplus(results["earth.soil"].moved, states, share)
    return followed_level(lambda trial: fill_surplus(run.at(trial), states, share), level, now)


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


def _hauled(moved: Sequence[Moved], states: Any, share: float) -> tuple[Volumes, NDArray[np.int64]]:
    """Surplus in the bank and its truck loads, for each level."""
    surplus, loads = [], []
    for each in moved:
        left, mix = surplus_of(each, states, share)
        surplus.append(left)
        loads.append(truck_loads(loose_volume(abs(left), mix.bulking), abs(left) * mix.bank_density).count)
    return np.array(surplus), np.array(loads)


def _table(
    name: str,
    levels: Elevations,
    at: int | None,
    balanced: Elevation | None,
    moved: Sequence[Moved],
    surplus: Volumes,
    loads: NDArray[np.int64],
    results: Mapping[str, Any],
) -> BodyLevels:
    """Table of one body: rim, soil, liner and water at each level, and its hole filled to each."""
    ground, grading = results["site.ground"], results["shape.grading"]
    body, grade = results["shape.shore"].bodies[name], grading.bodies[name]
    grid, bank = ground.grid, grade.bank
    # With each reach of a stream lifted by its drop, all its water stands at one level.
    drop = 0.0 if body.stream is None else body.stream.drop
    crests = levels + (body.crest_level - body.level)
    walk = np.vstack([resampled(ring, SHORE_STEP) for ring in body.rings])
    liner = grade.wetted_area + bank_area(body.distance, grid, body.area, bank.slope_in, bank.freeboard)
    volume, area = _drawn(name, levels, results)
    hole = filled(grading.z + drop, grading.waters(results["shape.shore"])[name], grid, levels)
    return BodyLevels(
        level=levels,
        rim_to_raise=lengths_below(ground.z + drop, grid, body.rings, crests),
        highest_raise=highest_raise(surface_at(ground.z + drop, grid, walk), crests),
        dug=np.array([each.total_dug for each in moved]),
        placed=np.array([each.placed for each in moved]),
        surplus=surplus,
        loads=loads,
        liner=np.full(len(levels), liner),
        volume=volume,
        area=area,
        filled_volume=hole.volumes,
        filled_area=hole.areas,
        filled_bed=_beds(name, np.minimum(levels, hole.lip), results),
        runs_over=hole.runs_over,
        balanced_row=at,
        liner_area=liner,
        balanced_level=balanced,
    )


def _drawn(name: str, levels: Elevations, results: Mapping[str, Any]) -> tuple[Volumes, Areas]:
    """Water at each level with the shore on the plan: the whole finish is laid anew for each."""
    ground, grading, shore = results["site.ground"], results["shape.grading"], results["shape.shore"]
    body, tried = shore.bodies[name], list(grading.layers.levels)
    limits = grading.laid_limits(shore)
    place = list(shore.bodies).index(name)
    drop = 0.0 if body.stream is None else body.stream.drop
    own = grading.waters(shore)[name]
    volumes, areas = np.empty(len(levels)), np.empty(len(levels))
    for row, level in enumerate(levels):
        tried[place] = float(level)
        z = grading.z if level == body.level else graded(ground.z, limits, tried).z
        held = filled(z + drop, own, ground.grid, levels[row : row + 1])
        volumes[row], areas[row] = held.volumes[0], held.areas[0]
    return volumes, areas


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
