"""Profiles of the drains: bottoms, falls, cover, what they carry, where they run out, what is laid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    Elevations,
    Flow,
    Length,
    Lengths,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.fields import value_of
from pondwright.job.groundwater import Drain, Reading, Sump
from pondwright.job.places import PointPlace
from pondwright.rooms.groundwater.pipes import (
    Need,
    Stations,
    backed_up,
    climb_margin,
    cut_line,
    falls_of,
    full_flow,
    full_speed,
    gathered,
    part_full,
    pipe_roughness,
    pipe_used,
    trench_volume,
)
from pondwright.rooms.groundwater.spacing import sump_volume, time_to_fill
from pondwright.rooms.groundwater.stage.drain_eyes import eyes_of
from pondwright.rooms.groundwater.stage.drain_findings import drain_findings, sump_findings
from pondwright.rooms.groundwater.stage.drain_lines import BUILT, DrainLine, drain_lines
from pondwright.rooms.groundwater.stage.drain_results import DrainProfile, OnHand, ProfilesResult, SumpNeed
from pondwright.rooms.groundwater.stage.heads import LINERS, margin_of
from pondwright.rooms.groundwater.stage.shared import limits_of

STEP: Length = 0.5
"""Longest distance between stations of a profile. [m]"""

OPEN_END: Length = 2.0
"""The last of a drain comes out of the ground: there it needs no cover. [m]"""

SEEP_REACH: Length = 5.0
"""A seep this near to a drain runs into it. [m]; common practice, no source."""

NARROWEST: Length = 0.3
"""A trench is no narrower than a bucket. [m]; common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class _Surfaces:
    """Surfaces that a drain runs under, and the ponds. [m]"""

    grid: Grid
    ground: Elevations
    finish: Elevations
    under: Elevations
    ponds: tuple[tuple[Lengths, Length], ...]

    def at(self, surface: Elevations, points: Lengths) -> Elevations:
        """Elevations of a surface; beyond the survey those of its edge."""
        low, high = np.array(self.grid.extent[:2]), np.array(self.grid.extent[2:])
        return surface_at(surface, self.grid, np.clip(points, low, high))

    def lined(self, points: Lengths) -> NDArray[np.bool_]:
        """Whether points lie inside a pond's shore."""
        inside = np.zeros(len(points), dtype=np.bool_)
        for distance, _margin in self.ponds:
            inside |= self.at(distance, points) > 0.0
        return inside

    def covered(self, points: Lengths) -> NDArray[np.bool_]:
        """Whether a liner lies over points: it reaches beyond the shore by its margin."""
        under = np.zeros(len(points), dtype=np.bool_)
        for distance, margin in self.ponds:
            under |= self.at(distance, points) > -margin
        return under


def profiles_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[ProfilesResult, tuple[Finding, ...]]:
    """Profile of each drain that the job has when it is built.

    Parameters
    ----------
    view : mapping        Reads `groundwater.drains`, `groundwater.outlets`, `groundwater.sumps`,
                          `groundwater.pipes`, `groundwater.gravels`, `groundwater.fabrics`,
                          `groundwater.soil_grains`, `groundwater.readings`, `lining.liners`,
                          `site.things`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `earth.subgrade`,
                          `groundwater.cases`.

    Returns
    -------
    ProfilesResult and the checks of drains, filters and sumps.
    """
    limits = limits_of(view)
    drains, sumps = view["groundwater.drains"], view["groundwater.sumps"]
    outlets, readings = view["groundwater.outlets"], view["groundwater.readings"]
    shore = results["shape.shore"]
    surfaces = _Surfaces(
        shore.grid,
        results["site.ground"].z,
        results["shape.grading"].z,
        results["earth.subgrade"].z,
        tuple((body.distance, margin_of(name, view[LINERS])) for name, body in shore.bodies.items()),
    )
    found = drain_lines(drains, outlets, sumps, BUILT, wet=True)
    lines = {name: line for name, line in found.items() if line.inverts is not None and line.length > 0.0}
    flows = _flows(lines, drains, readings, results["groundwater.cases"])
    there = view["groundwater.pipes"]
    used = pipe_used(_needs(lines, drains), {name: _need(row) for name, row in there.items()})
    eyes, rodded = eyes_of(lines, drains, surfaces.covered, STEP, limits)
    profiles = {}
    for name, line in lines.items():
        on_hand = _laid(used, drain=name)
        profiles[name] = _profile(
            drains[name], line, eyes[name], flows.get(name), on_hand, surfaces, outlets, limits
        )
    pits = {name: _pit(sump, _into(name, drains, flows)) for name, sump in sumps.items() if _built(sump)}
    stock = {
        name: OnHand(_laid(used, pipe=name), row.length - _laid(used, pipe=name))
        for name, row in there.items()
    }
    findings = (
        *drain_findings(view, profiles, surfaces.ground, surfaces.grid, limits),
        *rodded,
        *sump_findings({name: sumps[name] for name in pits}, pits, limits),
    )
    result = ProfilesResult(
        MappingProxyType(profiles),
        MappingProxyType(pits),
        MappingProxyType(stock),
        sum(profile.to_buy for profile in profiles.values()),
    )
    return result, findings


def _built(row: Any) -> bool:
    return row.status in BUILT


def _flows(
    lines: Mapping[str, DrainLine], drains: Mapping[str, Drain], readings: Mapping[str, Reading], cases: Any
) -> dict[str, Flow]:
    """Most that comes to each drain in the wet season, with all that runs into it; empty if nothing tells."""
    solved = cases.cases["wet_working"].flows if "wet_working" in cases.cases else {}
    own, known = {}, bool(solved)
    for name, line in lines.items():
        modelled = float(solved[name].high) if name in solved else 0.0
        measured = _measured(line, readings) if drains[name].slotted and drains[name].working else 0.0
        known |= measured > 0.0
        own[name] = max(modelled, measured)
    return dict(gathered(own, {name: drains[name].into for name in lines})) if known else {}


def _measured(line: DrainLine, readings: Mapping[str, Reading]) -> Flow:
    """Flow of the seeps and springs that run into a drain, as measured in the wet season."""
    from shapely import LineString, Point

    drain = LineString(line.points)
    return sum(
        row.wet_flow or 0.0
        for row in readings.values()
        if row.kind in ("seep", "spring")
        and isinstance(row.place, PointPlace)
        and drain.distance(Point(row.place.east, row.place.north)) <= SEEP_REACH
    )


def _need(row: Any, length: Length | None = None) -> Need:
    return Need(row.length if length is None else length, row.diameter, row.slotted, row.wall)


def _needs(lines: Mapping[str, DrainLine], drains: Mapping[str, Drain]) -> dict[str, Need]:
    """Pipe for drains that are not there yet."""
    return {
        name: _need(drains[name], line.length) for name, line in lines.items() if drains[name].status == "new"
    }


def _laid(used: Mapping[tuple[str, str], Length], drain: str = "", pipe: str = "") -> Length:
    return sum(length for (to, of), length in used.items() if drain in ("", to) and pipe in ("", of))


def _profile(
    drain: Drain,
    line: DrainLine,
    eyes: tuple[Length, ...],
    inflow: Flow | None,
    on_hand: Length,
    surfaces: _Surfaces,
    outlets: Mapping[str, Any],
    limits: Mapping[str, Limit],
) -> DrainProfile:
    assert line.inverts is not None
    stations = cut_line(line.points, line.inverts, STEP)
    ground, finish, under = (
        surfaces.at(z, stations.points) for z in (surfaces.ground, surfaces.finish, surfaces.under)
    )
    lined = surfaces.lined(stations.points)
    cover = np.where(lined, under, finish) - stations.invert - drain.diameter
    falls = falls_of(stations)
    fall = min(falls)
    roughness = drain.roughness or pipe_roughness(drain.wall, drain.diameter)
    capacity = full_flow(drain.diameter, fall, roughness)
    wet = None if inflow is None or fall <= 0.0 else part_full(inflow, drain.diameter, fall, roughness)
    envelope = value_of(drain, "envelope")
    deepest, dug = trench_volume(
        stations.chainage,
        np.minimum(ground, under) - stations.invert + envelope,
        max(NARROWEST, drain.diameter + 2.0 * envelope),
    )
    there = drain.status != "new"
    flood = outlets[line.ends].flood if line.ends in outlets else None
    length = float(stations.chainage[-1])
    return DrainProfile(
        stations.chainage,
        stations.points,
        stations.invert,
        ground,
        finish,
        under,
        lined,
        cover,
        stations.bends,
        falls,
        eyes,
        drain.diameter,
        line.ends,
        flood,
        length=length,
        fall=fall,
        upper=float(stations.invert[0]),
        lower=float(stations.invert[-1]),
        left_over=climb_margin(fall, limits["groundwater.drain_tolerance"].value),
        least_cover=_least(cover, ~lined & _buried(stations, drain, outlets)),
        least_bedding=_least(cover, lined),
        deepest=0.0 if there else deepest,
        dug=0.0 if there else dug,
        capacity=capacity,
        inflow=inflow,
        water_depth=None if wet is None else wet.depth,
        speed=None if wet is None else wet.speed,
        full_speed=full_speed(drain.diameter, fall, roughness),
        free_fall=None if flood is None or drain.into not in outlets else float(stations.invert[-1]) - flood,
        flooded=None if flood is None else backed_up(stations, flood),
        on_hand=on_hand,
        to_buy=0.0 if there else max(length - on_hand, 0.0),
    )


def _buried(stations: Stations, drain: Drain, outlets: Mapping[str, Any]) -> NDArray[np.bool_]:
    """Stations that need cover: all but the last before an outlet, where the pipe comes out."""
    open_end = OPEN_END if drain.into in outlets else 0.0
    buried = stations.chainage <= stations.chainage[-1] - open_end
    buried[0] = True
    return np.asarray(buried)


def _least(cover: Lengths, where: NDArray[np.bool_]) -> Length | None:
    return float(cover[where].min()) if where.any() else None


def _into(sump: str, drains: Mapping[str, Drain], flows: Mapping[str, Flow]) -> Flow | None:
    """Flow of all drains that run into a sump."""
    if not flows:
        return None
    return sum(flow for name, flow in flows.items() if drains[name].into == sump)


def _pit(sump: Sump, inflow: Flow | None) -> SumpNeed:
    volume = sump_volume(sump.pump, sump.starts or 6.0)
    time = None if not inflow else time_to_fill(volume, inflow)
    return SumpNeed(inflow, volume, volume / (sump.on - sump.off), time)
