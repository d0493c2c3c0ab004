"""Muck on the floor of the old hole, from probes and from pairs of shots."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    AREA,
    BULK_MASS,
    COUNT,
    DENSITY,
    ELEVATION,
    LENGTH,
    RATIO,
    SOIL_VOLUME,
    Area,
    Areas,
    Density,
    Elevation,
    Length,
    Lengths,
    Mass,
    Ratio,
    Volume,
)
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.polygon import points_inside
from pondwright.job.fields import value_of
from pondwright.job.site import Probe, Shot, Soil, SoilLayer
from pondwright.rooms.site.checks import soils as checks
from pondwright.rooms.site.location import PlanPoint
from pondwright.rooms.site.muck import (
    ROD_SIGMA,
    MuckAccount,
    muck_account,
    muck_pairs,
    muck_surface,
    probed_area,
)
from pondwright.rooms.site.old_hole import water_outline
from pondwright.rooms.site.stage.ground import GroundResult
from pondwright.rooms.site.stage.old_hole import OldHoleResult

SPOTS = ("site.probes.*.layers", "site.probes.*.place", "site.layers.muck.spots.thickness")
"""What the muck is told by; pairs of shots are among the spots."""


@dataclass(frozen=True, slots=True, eq=False)
class MuckSpots:
    """Places where the muck is told: its thickness, the error of it, and by what."""

    names: tuple[str, ...]
    points: Lengths
    thickness: Lengths
    sigma: Lengths


@dataclass(frozen=True, slots=True, eq=False)
class MuckResult:
    """Muck of the old hole; None where nobody probed, or where the probes enclose no ground."""

    spots: MuckSpots
    thickness: Lengths
    deepest_point: PlanPoint | None
    spot_count: int = figure(COUNT, "Places where the muck is told", uses=SPOTS)
    volume: Volume | None = figure(SOIL_VOLUME, "Muck in place, wet", by=muck_account, uses=SPOTS)
    sigma: Volume | None = figure(
        SOIL_VOLUME, "Standard deviation of the volume of muck", by=muck_account, uses=SPOTS
    )
    area: Area | None = figure(AREA, "Ground that muck lies on", by=muck_account, uses=SPOTS)
    mean: Length | None = figure(LENGTH, "Thickness of the muck on average", by=muck_account, uses=SPOTS)
    deepest: Length | None = figure(LENGTH, "Thickest muck", by=muck_account, uses=SPOTS)
    carried_share: Ratio | None = figure(
        RATIO, "Share of the muck beyond the outermost probes", by=muck_account, uses=SPOTS
    )
    density: Density = figure(DENSITY, "Density of the wet muck", uses=("site.soils.*.layers",))
    mass: Mass | None = figure(
        BULK_MASS, "Mass of the wet muck", uses=("site.layers.muck.volume", "site.layers.muck.density")
    )
    firm_floor: Elevation | None = figure(
        ELEVATION, "Lowest firm ground under the muck", by=muck_surface, uses=("site.ground.z", *SPOTS)
    )


def muck_spots(
    probes: Mapping[str, Probe],
    shots: Mapping[str, Shot],
    ground: GroundResult,
    hole: OldHoleResult,
    limits: Mapping[str, Limit],
) -> tuple[MuckSpots, tuple[Finding, ...]]:
    """Where the muck is told, by probes first and then by pairs of shots."""
    told = {name: probe for name, probe in probes.items() if _tells_muck(probe, hole)}
    if not hole.rim and not any(map(_muck_in, told.values())):
        told = {}  # pits in a meadow tell of no muck because there is no pond
    by_probe = [_muck_in(probe) for probe in told.values()]
    top, firm = (_shots_on(surface, shots, ground) for surface in ("muck", "firm"))
    places = ground.places
    pairs = muck_pairs(
        places.points[top],
        places.elevations[top],
        places.points[firm],
        places.elevations[firm],
        limits["site.muck_pair"].value,
    )
    tops, firms = ([places.ids[shot] for shot in chosen] for chosen in (top, firm))
    good = pairs.thickness >= 0.0
    by_pair = [(tops[one], firms[two]) for one, two in zip(pairs.top[good], pairs.firm[good], strict=True)]
    sigma = [float(np.hypot(*(value_of(shots[shot], "sigma") for shot in pair))) for pair in by_pair]
    spots = MuckSpots(
        names=(*told, *(shot for shot, _ in by_pair)),
        points=np.concatenate([probe_points(told), pairs.points[good]]),
        thickness=np.array([*by_probe, *pairs.thickness[good]], dtype=np.float64),
        sigma=np.array([*(ROD_SIGMA for _ in told), *sigma], dtype=np.float64),
    )
    if not (tops or firms):
        return spots, ()
    lone = [*(tops[shot] for shot in pairs.lone_top), *(firms[shot] for shot in pairs.lone_firm)]
    return spots, (checks.check_muck_pairs(lone, [firms[shot] for shot in pairs.firm[~good]], limits),)


def _shots_on(surface: str, shots: Mapping[str, Shot], ground: GroundResult) -> list[int]:
    """Located shots with a height on one surface, by number."""
    places = ground.places
    return [
        number
        for number, (name, own) in enumerate(zip(places.ids, places.surface, strict=True))
        if own == surface and shots[name].status != "remove" and np.isfinite(places.elevations[number])
    ]


def _muck_in(probe: Probe) -> Length:
    return sum(layer.thickness for layer in probe.layers if layer.kind == "muck")


def _tells_muck(probe: Probe, hole: OldHoleResult) -> bool:
    """Whether a probe tells how thick the muck is; firm ground outside the hole is no end of its muck."""
    if not probe.layers:
        return False
    place = np.array([[probe.place.east, probe.place.north]])
    return _muck_in(probe) > 0.0 or not hole.rim or bool(points_inside(hole.rim, place)[0])


def muck_result(
    spots: MuckSpots, soils: Mapping[str, Soil], ground: GroundResult, hole: OldHoleResult
) -> tuple[MuckResult, MuckAccount | None]:
    """Muck on the floor of the old hole, up to where water has stood; else between the probes."""
    density = _muck_density(soils)
    covered = _muck_area(spots.points, ground, hole) if len(spots.points) else None
    if covered is None:
        none = np.zeros(ground.grid.shape)
        return MuckResult(
            spots, none, None, len(spots.points), None, None, None, None, None, None, density, None, None
        ), None
    surface = muck_surface(spots.points, spots.thickness, ground.grid)
    account = muck_account(surface, covered, ground.grid, spots.sigma)
    under = _touched(covered)
    thickness = np.where(under, surface.thickness, 0.0)
    return MuckResult(
        spots=spots,
        thickness=thickness,
        deepest_point=account.deepest_point,
        spot_count=len(spots.points),
        volume=account.volume,
        sigma=account.sigma,
        area=account.area,
        mean=account.mean,
        deepest=account.deepest,
        carried_share=account.carried_share,
        density=density,
        mass=account.volume * density,
        firm_floor=float((ground.z - thickness)[under].min()),
    ), account


def _muck_area(points: Lengths, ground: GroundResult, hole: OldHoleResult) -> Areas | None:
    """Where muck may lie: under the highest water of the old hole, or between the probes without one."""
    if hole.hole is not None:
        level = hole.hole.lip if hole.fills_to is None else max(hole.fills_to, hole.hole.floor)
        outlines = water_outline(ground.z, ground.grid, hole.hole, level)
        own = [outline for outline in outlines if points_inside(outline, points).any()]
        rings = [ring for outline in own for ring in outline]
        if rings:
            return ring_coverage(ground.grid, rings)
    ring = probed_area(points)
    covered = None if ring is None else ring_coverage(ground.grid, [ring])
    return covered if covered is not None and covered.any() else None


def _touched(covered: Areas) -> NDArray[np.bool_]:
    """Nodes of the cells that an area lies in."""
    nodes = np.zeros((covered.shape[0] + 1, covered.shape[1] + 1), dtype=np.bool_)
    for row in (0, 1):
        for column in (0, 1):
            nodes[row : row + covered.shape[0], column : column + covered.shape[1]] |= covered > 0.0
    return nodes


def _muck_density(soils: Mapping[str, Soil]) -> Density:
    """Density of the first muck that a soil tells, or the stated one."""
    told = (layer for soil in soils.values() for layer in soil.layers if layer.kind == "muck")
    return float(value_of(next(told, SoilLayer(kind="muck")), "bank_density"))


def muck_findings(account: MuckAccount | None, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    """Checks of the muck, where there is any."""
    if account is not None and account.volume > 0.0:
        yield checks.check_muck_sigma(account.volume, account.sigma, limits)
        yield checks.check_muck_carried(account.carried_share, limits)


def probe_points(probes: Mapping[str, Probe]) -> Lengths:
    """Places of probes. [m]"""
    return np.array([(probe.place.east, probe.place.north) for probe in probes.values()]).reshape(-1, 2)
