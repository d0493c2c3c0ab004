"""Water while it is built: the old pond emptied, the dig kept dry, trenches that people can stand in."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    ELEVATION,
    FLOW,
    LENGTH,
    TIME,
    VOLUME,
    Elevation,
    Elevations,
    FloatArray,
    Flow,
    Length,
    Lengths,
    Ratio,
    Speed,
    Time,
    Volume,
    Volumes,
)
from pondwright.geometry.polygon import enclosed_area
from pondwright.job.fields import value_of
from pondwright.job.groundwater import Building, Reading
from pondwright.rooms.groundwater.aquifer import LEVELS
from pondwright.rooms.groundwater.checks import pumping as checks
from pondwright.rooms.groundwater.dewatering import (
    shallow_pit_inflow,
    sichardt_reach,
    strata_transmissivity,
)
from pondwright.rooms.groundwater.draining import drained, fastest_fall, largest_useful_pump
from pondwright.rooms.groundwater.stage.around import Around, Stand, around
from pondwright.rooms.groundwater.stage.dig import (
    REACHES,
    BesideResult,
    DigResult,
    Neighbour,
    beside,
    capacity,
    dug,
    seep_flow,
)
from pondwright.rooms.groundwater.stage.shared import limits_of
from pondwright.rooms.groundwater.stage.trenches import TrenchResult, trenches
from pondwright.rooms.site.bounds import PlanPoint

DAY: Time = 86_400.0

_HOLE = ("site.ground.z", "site.water_marks", "groundwater.building.season")
_INFLOW = ("groundwater.readings", "site.soils.*.layers", *_HOLE)
_FREE = ("groundwater.building.pumps", *_INFLOW)
_PUMPED = ("groundwater.building.pumps", "groundwater.building.drop", *_INFLOW)


@dataclass(frozen=True, slots=True, eq=False)
class PumpDown:
    """The old pond pumped down by one pump, or by all; without a time where it is never empty."""

    levels: Elevations
    times: FloatArray
    time: Time | None = figure(TIME, "From the start until it is empty, nights too", by=drained, uses=_PUMPED)
    time_low: Time | None = figure(TIME, "The same, if little water runs in", by=drained, uses=_PUMPED)
    time_high: Time | None = figure(TIME, "The same, if much water runs in", by=drained, uses=_PUMPED)
    run_time: Time | None = figure(TIME, "Hours that the pump runs", by=drained, uses=_PUMPED)
    pumped: Volume | None = figure(
        VOLUME, "What is lifted, with what runs in meanwhile", by=drained, uses=_PUMPED
    )
    reached: Elevation = figure(ELEVATION, "Level that it gets to", by=drained, uses=_FREE)
    reached_high: Elevation = figure(
        ELEVATION, "Level that it gets to, if much water runs in", by=drained, uses=_FREE
    )
    daily_fall: Length = figure(
        LENGTH, "Fastest fall in a day, if the pump is never held back", by=fastest_fall, uses=_FREE
    )


@dataclass(frozen=True, slots=True, eq=False)
class OldPondResult:
    """The old pond as it is emptied."""

    pumps: Mapping[str, PumpDown]
    together: PumpDown | None
    rim: Lengths
    start: Elevation = figure(ELEVATION, "Water in the old pond when pumping begins", uses=_HOLE)
    floor: Elevation = figure(ELEVATION, "Lowest ground of the old pond", uses=("site.ground.z",))
    volume: Volume = figure(VOLUME, "Water that is in it", uses=_HOLE)
    inflow: Flow = figure(FLOW, "Water that runs in at the start", uses=_INFLOW)
    inflow_empty: Flow = figure(
        FLOW, "Water that runs in once it is empty", by=shallow_pit_inflow, uses=_INFLOW
    )
    inflow_empty_high: Flow = figure(
        FLOW, "The same in the most permeable ground", by=shallow_pit_inflow, uses=_INFLOW
    )
    largest_useful_pump: Flow = figure(
        FLOW,
        "Pump beyond which nothing is gained, by the daily fall that the banks bear",
        by=largest_useful_pump,
        uses=("groundwater.building.drop", *_INFLOW),
    )


@dataclass(frozen=True, slots=True, eq=False)
class PumpingResult:
    """Water while it is built; without an old pond, digs or wells where the job has none."""

    season: str
    known: bool
    old_pond: OldPondResult | None
    digs: Mapping[str, DigResult]
    beside: Mapping[str, BesideResult]
    trenches: Mapping[str, TrenchResult]


def pumping_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[PumpingResult, tuple[Finding, ...]]:
    """Old pond emptied, dig kept dry, trenches.

    Parameters
    ----------
    view : mapping        Reads `groundwater.building`, `groundwater.readings`, `groundwater.drains`,
                          `groundwater.outlets`, `groundwater.sumps`, `site.things`, `rules`.
    results : mapping     Needs `site.ground`, `site.old_hole`, `site.layers`, `shape.shore`,
                          `earth.subgrade`, `groundwater.aquifer`.

    Returns
    -------
    PumpingResult and the checks of pumps, of the dig, of what stands beside it, and of trenches.
    """
    limits, building = limits_of(view), view["groundwater.building"]
    ground, hole = around(results, building.season), results["site.old_hole"]
    old = _old_pond(hole, view["groundwater.readings"], ground, building)
    digs = dug(results, view["groundwater.readings"], ground, building)
    near = beside(view["site.things"], digs, ground)
    drains = trenches(view, results, ground)
    result = PumpingResult(
        season=building.season,
        known=ground.known,
        old_pond=old,
        digs=MappingProxyType(digs),
        beside=MappingProxyType({name: each.told for name, each in near.items()}),
        trenches=MappingProxyType({name: found for name, (_, found) in drains.items()}),
    )
    findings = (
        *_pond_findings(old, hole.floor_point, building, limits),
        *((checks.check_discharge(bool(building.goes.strip())),) if _pumps_water(result) else ()),
        *_dig_findings(digs, building, limits),
        *_beside_findings(near, limits),
        *(
            checks.check_trench(
                called, f"groundwater.drains.{name}.place", found.depth, found.rules, (found.deepest,), limits
            )
            for name, (called, found) in drains.items()
        ),
    )
    return result, findings


def _pumps_water(result: PumpingResult) -> bool:
    """Whether there is any water to be led away."""
    return result.old_pond is not None or any((dig.high or 0.0) > 0.0 for dig in result.digs.values())


def _old_pond(
    hole: Any, readings: Mapping[str, Reading], ground: Around, building: Building
) -> OldPondResult | None:
    """How the old pond is emptied, or None where the ground has none or no water is in it."""
    if hole.hole is None:
        return None
    start, floor = _start(hole, building.season), float(hole.levels[0])
    if start <= floor:
        return None
    rim = max(hole.rim, key=lambda ring: abs(enclosed_area([ring])))  # others are puddles at its lip
    inflows = _inflows(hole, start, ground.at(rim), seep_flow(readings, rim, building.season))
    fastest = value_of(building, "drop") / DAY
    pond = _Pond(hole.levels, hole.volumes, inflows, start, floor, fastest)
    pumps = {
        name: _pumped(pond, pump.flow, 1.0 if pump.day is None else pump.day / DAY)
        for name, pump in building.pumps.items()
        if pump.status != "remove"
    }
    return OldPondResult(
        pumps=MappingProxyType(pumps),
        together=_all_pumped(pond, building) if pumps else None,
        rim=rim,
        start=start,
        floor=floor,
        volume=float(np.interp(start, hole.levels, hole.volumes)),
        inflow=float(np.interp(start, hole.levels, inflows["likely"])),
        inflow_empty=float(inflows["likely"][0]),
        inflow_empty_high=float(inflows["high"][0]),
        largest_useful_pump=largest_useful_pump(*pond.curve("high"), start, floor, fastest),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Pond:
    """The old pond: its curve, what runs in at each level, from where to where, and how fast. [m], [m/s]"""

    levels: Elevations
    volumes: Volumes
    inflows: Mapping[str, FloatArray]
    start: Elevation
    floor: Elevation
    fastest: Speed

    def curve(self, level: str) -> tuple[Elevations, Volumes, FloatArray]:
        """Levels, volumes, and what runs in at low, likely or high permeability."""
        return self.levels, self.volumes, self.inflows[level]


def _pumped(pond: _Pond, pump: Flow, share: Ratio) -> PumpDown:
    """The pond pumped down by one pump, which runs a share of the day."""
    low, likely, high = (
        drained(*pond.curve(level), pond.start, pond.floor, pump, fastest=pond.fastest, share=share)
        for level in LEVELS
    )
    fall = fastest_fall(*pond.curve("low"), pond.start, pond.floor, pump * share)
    return PumpDown(
        levels=likely.levels,
        times=likely.times,
        time=_finite(likely.time),
        time_low=_finite(low.time),
        time_high=_finite(high.time),
        run_time=_finite(likely.run_time),
        pumped=_finite(likely.pumped),
        reached=likely.reached,
        reached_high=high.reached,
        daily_fall=min(DAY * fall, pond.start - pond.floor),
    )


def _all_pumped(pond: _Pond, building: Building) -> PumpDown:
    """The pond pumped down by all pumps, each its own share of the day."""
    flow = sum(pump.flow for pump in building.pumps.values() if pump.status != "remove")
    return _pumped(pond, flow, capacity(building) / flow)


def _start(hole: Any, season: str) -> Elevation:
    """Water when pumping begins: the highest mark of the season, else of any, else a full pond."""
    heights = [hole.floor + mark.depth for mark in hole.marks.values() if mark.season == season]
    stands = max(heights) if heights else hole.fills_to
    highest = float(hole.levels[-1])
    return highest if stands is None else float(min(max(stands, hole.floor), highest))


def _inflows(
    hole: Any, start: Elevation, stands: Mapping[str, Stand] | None, seeps: Flow | None
) -> dict[str, FloatArray]:
    """What runs into the old pond at each level of its curve: low, likely and high.

    What the seeps were measured to bring comes in at the start; below it the ground adds what the model
    gives more there than at the start.  Without a measured seep all is the model's.
    """
    if stands is None:
        still = np.full(len(hole.levels), seeps or 0.0)
        return dict.fromkeys(LEVELS, still)
    found = []
    radius = math.sqrt(max(float(np.interp(start, hole.levels, hole.areas)), 1.0) / math.pi)
    for level in LEVELS:
        flows = _ground_inflow(stands[level], hole.levels, radius, REACHES[level])
        if seeps is not None:
            flows = seeps + np.maximum(flows - np.interp(start, hole.levels, flows), 0.0)
        found.append(flows)
    # Not only the permeability differs between the fits, but how high the water stands too.
    return {"low": np.minimum.reduce(found), "likely": found[1], "high": np.maximum.reduce(found)}


def _ground_inflow(stand: Stand, levels: Elevations, radius: Length, factor: float) -> FloatArray:
    """Water that the ground gives to a pond that stands at each level; the reach is that of an empty one."""
    drawdown = stand.head - float(levels[0])
    if drawdown <= 0.0:
        return np.zeros(len(levels))
    mean = strata_transmissivity(stand.strata, stand.head) / (stand.head - stand.strata.base)
    reach = radius + factor * sichardt_reach(drawdown, mean)
    return np.array(
        [shallow_pit_inflow(stand.strata, stand.head, float(level), radius, reach) for level in levels]
    )


def _pond_findings(
    old: OldPondResult | None, place: PlanPoint | None, building: Building, limits: Mapping[str, Limit]
) -> Iterator[Finding]:
    if old is None or place is None:
        return
    together = old.together
    left = old.start - old.floor if together is None else max(together.reached_high - old.floor, 0.0)
    yield checks.check_pump_out(left, together is not None, place, limits)
    if together is not None:
        yield checks.check_bank_drop(together.daily_fall, value_of(building, "drop"), place)


def _dig_findings(
    digs: Mapping[str, DigResult], building: Building, limits: Mapping[str, Limit]
) -> Iterator[Finding]:
    for body, dig in digs.items():
        if dig.above_floor is None or dig.likely is None or dig.high is None or dig.drawdown is None:
            continue
        yield checks.check_dig_water(body, dig.above_floor, dig.time, dig.lowest, limits)
        if dig.high > 0.0:
            lowered = dig.drawdown, dig.drawdown_high or dig.drawdown
            yield checks.check_dig_pump(body, capacity(building), dig.high, limits)
            yield from checks.check_dewatering(body, dig.likely, dig.high, lowered, dig.lowest, limits)


def _beside_findings(near: Mapping[str, Neighbour], limits: Mapping[str, Limit]) -> Iterator[Finding]:
    for each in near.values():
        if each.told.likely is not None and each.told.high is not None:
            yield checks.check_beside(each.who, each.told.likely, each.told.high, limits)
        if each.who.kind != "well":
            yield checks.check_building_near(each.who, each.depths, limits)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
