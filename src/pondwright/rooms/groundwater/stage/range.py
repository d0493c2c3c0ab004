"""How hard the groundwater pushes each liner over all cases, as low, likely and high as the readings allow.

Cases are every season with the drains working, the sumps stopped and no drain at all.

See Also
--------
pondwright.rooms.groundwater.stage.uplift : the wet season alone, while a shore is dragged.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import ELEVATION, LENGTH, RATIO, Density, Elevation, Elevations, Length, Ratio
from pondwright.job.groundwater import Sump
from pondwright.rooms.groundwater.beds import bed_uplift, pressed_clay, safe_mark
from pondwright.rooms.groundwater.checks import uplift as checks
from pondwright.rooms.groundwater.checks.uplift import Rule, Spot
from pondwright.rooms.groundwater.heave import critical_gradient, heave_factor
from pondwright.rooms.groundwater.stage.shared import limits_of
from pondwright.rooms.groundwater.stage.uplift import (
    IN_PLACE,
    POND_STAGES,
    LinedBody,
    finite_or_none,
    point_of,
    spot_of,
    working_drains,
)
from pondwright.rooms.groundwater.uplift import gross_factor, net_factor

LEVELS = ("low", "likely", "high")

TIGHT_DENSITY: Density = 1900.0
"""Of tight soil full of water, where it is left over open ground; common practice. [kg/m³]"""

CONTRAST: Ratio = 10.0
"""How many times as open as the soil above it a layer is that presses on it; common practice. [-]"""

VOID_RATIO: Ratio = 0.65
"""Of soil that may boil: the critical gradient is then 1; common practice. [-]"""

CASES = ("groundwater.cases.cases", *IN_PLACE)


@dataclass(frozen=True, slots=True)
class StageRange:
    """One stage of a pond in one case, from low to high over what the readings allow.

    The high groundwater gives the low factor.  None is that nothing pushes.
    """

    excess_low: Length = figure(LENGTH, "Groundwater above the pond, at least", by=bed_uplift, uses=CASES)
    excess_likely: Length = figure(LENGTH, "Groundwater above the pond", by=bed_uplift, uses=CASES)
    excess_high: Length = figure(LENGTH, "Groundwater above the pond, at most", by=bed_uplift, uses=CASES)
    net_low: Ratio | None = figure(RATIO, "Net factor, at least", by=net_factor, uses=CASES)
    net_likely: Ratio | None = figure(RATIO, "Net factor", by=net_factor, uses=CASES)
    net_high: Ratio | None = figure(RATIO, "Net factor, at most", by=net_factor, uses=CASES)
    gross_low: Ratio | None = figure(RATIO, "Gross factor, at least", by=gross_factor, uses=CASES)
    gross_likely: Ratio | None = figure(RATIO, "Gross factor", by=gross_factor, uses=CASES)
    gross_high: Ratio | None = figure(RATIO, "Gross factor, at most", by=gross_factor, uses=CASES)


@dataclass(frozen=True, slots=True, eq=False)
class CaseRange:
    """One body in one season with its drains in one state; no mark where it may be emptied."""

    stages: Mapping[str, StageRange]
    holds_in_use: bool
    holds_emptied: bool
    mark_low: Elevation | None = figure(ELEVATION, "Lowest safe mark, at least", by=safe_mark, uses=CASES)
    mark_likely: Elevation | None = figure(ELEVATION, "Lowest safe mark", by=safe_mark, uses=CASES)
    mark_high: Elevation | None = figure(ELEVATION, "Lowest safe mark, at most", by=safe_mark, uses=CASES)


@dataclass(frozen=True, slots=True, eq=False)
class BodyRange:
    """One body over all cases, by season and state of the drains, such as `wet_working`."""

    cases: Mapping[str, CaseRange]


@dataclass(frozen=True, slots=True, eq=False)
class RangeResult:
    """Uplift of every body over all cases; empty where nobody knows the groundwater."""

    known: bool
    bodies: Mapping[str, BodyRange]


def range_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[RangeResult, tuple[Finding, ...]]:
    """Uplift of every liner over all cases.

    Parameters
    ----------
    view : mapping        Reads `groundwater.sumps`, `groundwater.building`, `rules`.
    results : mapping     Needs `groundwater.aquifer`, `groundwater.heads`, `groundwater.uplift`,
                          `groundwater.cases`.

    Returns
    -------
    RangeResult and the checks of high groundwater, power cuts, failed drains, emptying and heave.
    """
    cases, uplift, limits = results["groundwater.cases"].cases, results["groundwater.uplift"], limits_of(view)
    if not (uplift.known and cases):
        return RangeResult(False, MappingProxyType({})), ()
    bodies, findings = {}, []
    for name, body in uplift.lined.items():
        ranges = {key: _case(body, case, limits) for key, case in cases.items()}
        bodies[name] = BodyRange(MappingProxyType(ranges))
        findings += _range_findings(name, body, cases, view, results, limits)
    return RangeResult(True, MappingProxyType(bodies)), tuple(findings)


def _case(body: LinedBody, case: Any, limits: Mapping[str, Any]) -> CaseRange:
    """One body in one case."""
    heads = [body.at(getattr(case, level)) for level in LEVELS]
    emptied = limits["groundwater.uplift_emptied"].value
    in_use = limits["groundwater.uplift_in_use"].value
    marks = [safe_mark(body.bed, head, emptied, body.drop) for head in heads]
    stages = {stage: _stage_range(body, heads, body.levels[stage]) for stage in POND_STAGES}
    used = _stage_range(body, heads, body.used)
    return CaseRange(
        MappingProxyType(stages),
        used.net_likely is None or used.net_likely >= in_use,
        marks[1] is None,
        *marks,
    )


def _stage_range(body: LinedBody, heads: list[Elevations], level: Elevation) -> StageRange:
    """One stage of a body under low, likely and high groundwater."""
    water = body.water(level)
    found = [bed_uplift(body.bed, head, water) for head in heads]
    excess = [float(each.excess.max()) for each in found]
    net = [finite_or_none(float(each.net.min())) for each in found]
    gross = [finite_or_none(float(each.gross.min())) for each in found]
    return StageRange(*excess, *reversed(net), *reversed(gross))


def _range_findings(
    name: str,
    body: LinedBody,
    cases: Mapping[str, Any],
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    limits: Mapping[str, Any],
) -> list[Finding]:
    """Checks of one body over all cases."""
    heads = results["groundwater.heads"]
    season = "wet" if "wet_working" in cases else "dry"
    drains = working_drains(heads)
    sumps: Mapping[str, Sump] = {
        key: sump for key, sump in view["groundwater.sumps"].items() if sump.status != "later"
    }

    def spot(state: str, of: str, level: Elevation, code: str) -> Spot:
        head = body.at(getattr(cases[f"{season}_{state}"], of))
        return spot_of(body, head, level, limits[code].value)

    findings = []
    in_use = "groundwater.uplift_in_use"
    holds = spot("working", "likely", body.used, in_use).net >= limits[in_use].value
    if holds:
        high = spot("working", "high", body.used, "groundwater.uplift_high")
        findings.append(checks.check_high(name, high, season, drains, limits))
    if sumps and cases[f"{season}_stopped"].likely is not cases[f"{season}_working"].likely:
        stopped = spot("stopped", "likely", body.used, "groundwater.uplift_power_cut")
        backups = [sump.backup or 0.0 for sump in sumps.values()]
        findings.append(checks.check_power_cut(name, stopped, tuple(sumps), min(backups) or None, limits))
    if drains and holds:
        bare = spot("none", "likely", body.used, "groundwater.uplift_no_drain")
        findings.append(checks.check_no_drain(name, bare, drains, limits))
    # A stream is dry whenever it is in use: its rule is that it holds in use.
    if body.used != -math.inf:
        findings.append(_emptied(name, body, cases, season, bool(drains), limits))
    findings += _heave(name, body, cases, view, results, limits)
    return findings


def _emptied(
    name: str,
    body: LinedBody,
    cases: Mapping[str, Any],
    season: str,
    drained: bool,
    limits: Mapping[str, Any],
) -> Finding:
    """Rule for pumping a pond down: by the high groundwater, because the rule must hold."""
    code = "groundwater.uplift_emptied"
    factor = limits[code].value
    rules = [
        Rule(key.removesuffix("_working"), safe_mark(body.bed, body.at(case.high), factor, body.drop))
        for key, case in cases.items()
        if key.endswith("_working")
    ]
    bare = None
    if drained:
        head = body.at(cases[f"{season}_none"].high)
        bare = Rule(season, safe_mark(body.bed, head, factor, body.drop))
    head = body.at(cases[f"{season}_working"].high)
    spot = spot_of(body, head, body.levels["service"], factor)
    return checks.check_emptied(name, body.levels["full"], tuple(rules), bare, spot, limits)


def _heave(
    name: str,
    body: LinedBody,
    cases: Mapping[str, Any],
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    limits: Mapping[str, Any],
) -> tuple[Finding, ...]:
    """Checks of tight soil that the dig leaves over open ground, in the season in which it is dug."""
    aquifer = results["groundwater.aquifer"]
    season = view["groundwater.building"].season
    case = cases.get(f"{season}_none") or next(case for key, case in cases.items() if key.endswith("_none"))
    layers = [
        array.reshape(len(array), -1)[:, body.bed.nodes]
        for array in (aquifer.layers_top, aquifer.layers_bottom, aquifer.permeability["likely"])
    ]
    subgrade = body.at(results["groundwater.heads"].cap)
    left, top = pressed_clay(subgrade, layers[0], layers[1], layers[2], CONTRAST)
    chosen = np.flatnonzero(np.isfinite(left) & (left > 0.0))
    if not len(chosen):
        return ()
    head = body.at(case.high)[chosen]
    factors = heave_factor(TIGHT_DENSITY, left[chosen], head - top[chosen])
    gradients = np.maximum(head - subgrade[chosen], 0.0) / left[chosen] / critical_gradient(VOID_RATIO)
    worst = int(np.argmin(factors))
    if not math.isfinite(factors[worst]):
        return ()
    spot = int(chosen[worst])
    return checks.check_heave(
        name,
        float(factors[worst]),
        float(gradients.max()),
        float(left[spot]),
        point_of(body, spot),
        limits,
    )
