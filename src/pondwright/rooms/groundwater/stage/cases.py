"""Every case of the groundwater once the job is built: season, drains, and how permeable the ground is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import FLOW, RATIO, Elevations, Flow, Ratio
from pondwright.geometry.grid import Grid
from pondwright.rooms.groundwater.checks import heads as checks
from pondwright.rooms.groundwater.fit import total
from pondwright.rooms.groundwater.heads import steady_heads
from pondwright.rooms.groundwater.stage.aquifer import AquiferResult
from pondwright.rooms.groundwater.stage.drain_formulas import DrainFormula, drain_formula, middle_of
from pondwright.rooms.groundwater.stage.drain_lines import BUILT, DrainLine, drain_cells, drain_lines
from pondwright.rooms.groundwater.stage.heads import (
    DRAIN_ROWS,
    LINERS,
    MODEL,
    Built,
    Solved,
    built_ground,
    drain_rows,
    solve,
)
from pondwright.rooms.groundwater.stage.shared import limits_of

WORKING, STOPPED, NONE = "working", "stopped", "none"


@dataclass(frozen=True, slots=True)
class FlowRange:
    """A flow in the least, the likely and the most permeable ground that the readings allow."""

    low: Flow = figure(FLOW, "The least", by=steady_heads, uses=MODEL)
    likely: Flow = figure(FLOW, "Likely", by=steady_heads, uses=MODEL)
    high: Flow = figure(FLOW, "The most", by=steady_heads, uses=MODEL)


@dataclass(frozen=True, slots=True, eq=False)
class CaseHeads:
    """Heads of one case, cell by cell the least, the likely and the highest over the three permeabilities.

    `restless` counts the permeabilities at which the water did not come to rest in computing.
    """

    season: str
    drains: str
    low: Elevations
    likely: Elevations
    high: Elevations
    flows: Mapping[str, FlowRange]
    seepage: FlowRange
    restless: int
    mass_error: Ratio = figure(RATIO, "Share of the water that is lost in computing", by=steady_heads)


@dataclass(frozen=True, slots=True, eq=False)
class CasesResult:
    """Every case, by season and state of the drains: ``wet_working``, ``wet_stopped``, ``wet_none``.

    `formulas` are the drains by name, where the formulas of the trade have something to say beside the model.
    """

    grid: Grid
    step: int
    known: bool
    cases: Mapping[str, CaseHeads]
    formulas: Mapping[str, DrainFormula]


def cases_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[CasesResult, tuple[Finding, ...]]:
    """Every case of the groundwater.

    Parameters
    ----------
    view : mapping        Reads `groundwater.drains`, `groundwater.outlets`, `groundwater.sumps`,
                          `lining.liners`, `rules`.
    results : mapping     Needs `groundwater.aquifer`, `groundwater.heads`, `shape.shore`, `shape.grading`,
                          `earth.subgrade`.

    Returns
    -------
    CasesResult, whether every case came to rest, and for each drain whether the trench formula agrees.
    """
    aquifer = results["groundwater.aquifer"]
    if not results["groundwater.heads"].known:
        return CasesResult(aquifer.grid, aquifer.step, False, MappingProxyType({}), MappingProxyType({})), ()
    built = built_ground(aquifer, results, view[LINERS])
    cases: dict[str, CaseHeads] = {}
    for season in aquifer.seasons:
        cases |= {f"{season}_{case.drains}": case for case in _season(season, aquifer, built, view)}
    fits = [fit for season in aquifer.seasons.values() for fit in (season.low, season.likely, season.high)]
    restless = sum(case.restless for case in cases.values()) + sum(not fit.settled for fit in fits)
    limits = limits_of(view)
    formulas, findings = _formulas(aquifer, built, cases, view, limits)
    result = CasesResult(
        aquifer.grid, aquifer.step, True, MappingProxyType(cases), MappingProxyType(formulas)
    )
    return result, (checks.check_settled(restless, limits), *findings)


def _formulas(
    aquifer: AquiferResult,
    built: Built,
    cases: Mapping[str, CaseHeads],
    view: Mapping[str, Any],
    limits: Mapping[str, Limit],
) -> tuple[dict[str, DrainFormula], list[Finding]]:
    """Formulas beside the model for each drain that works, in the wet season if it was read."""
    season = "wet" if "wet" in aquifer.seasons else "dry"
    lines = drain_lines(*drain_rows(view), BUILT, wet=season == "wet")
    cells, fit = drain_cells(lines, aquifer.grid), aquifer.seasons[season].likely
    working, bare = cases[f"{season}_{WORKING}"], cases[f"{season}_{NONE}"]
    found, findings = {}, []
    for name, own in cells.items():
        flow = working.flows[name].likely
        beside = drain_formula(lines[name], own, flow, bare.likely, aquifer, built, fit)
        if beside is not None and flow > 0.0:
            found[name] = beside
            called = view[DRAIN_ROWS[0]][name].name or f"the drain `{name}`"
            flows = beside.modelled, beside.trench
            findings.append(checks.check_formula(name, called, *flows, middle_of(lines[name]), limits))
    return found, findings


def _season(season: str, aquifer: AquiferResult, built: Built, view: Mapping[str, Any]) -> list[CaseHeads]:
    """The cases of one season.  Where no drain ends in a sump, stopped sumps change nothing."""
    working, stopped = (
        drain_lines(*drain_rows(view), BUILT, wet=season == "wet", stopped=each) for each in (False, True)
    )
    found = [_case(season, WORKING, working, aquifer, built)]
    same = all(working[name].why == stopped[name].why for name in working)
    found.append(_renamed(found[0], STOPPED) if same else _case(season, STOPPED, stopped, aquifer, built))
    takes = any(not line.why for line in working.values())
    found.append(_case(season, NONE, {}, aquifer, built) if takes else _renamed(found[0], NONE))
    return found


def _case(
    season: str, drains: str, lines: Mapping[str, DrainLine], aquifer: AquiferResult, built: Built
) -> CaseHeads:
    fits, cells = aquifer.seasons[season], drain_cells(lines, aquifer.grid)
    solved: list[Solved] = []
    for level in ("likely", "low", "high"):
        fit = getattr(fits, level)
        if solved and fit is fits.likely:
            solved.append(solved[0])
            continue
        solved.append(
            solve(aquifer, built, season, fit, lines, cells, solved[0].heads.head if solved else None)
        )
    heads = np.array([each.heads.head for each in solved])
    return CaseHeads(
        season=season,
        drains=drains,
        low=heads.min(axis=0),
        likely=heads[0],
        high=heads.max(axis=0),
        flows=MappingProxyType({name: _range([each.flow(name) for each in solved]) for name in lines}),
        seepage=_range([total(each.heads.left[0]) for each in solved]),
        restless=sum(not each.heads.settled for each in solved),
        mass_error=max(each.heads.mass_error for each in solved),
    )


def _range(flows: list[Flow]) -> FlowRange:
    """Least, likely and most of the flows at likely, low and high permeability."""
    return FlowRange(min(flows), flows[0], max(flows))


def _renamed(case: CaseHeads, drains: str) -> CaseHeads:
    """The same heads and flows under the name of another case, counted once."""
    return replace(case, drains=drains, restless=0)
