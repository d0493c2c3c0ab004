"""Soil, muck and water in the ground, as told and as probed.

The stage is called ``site.layers``, because a result may not have the name of a section of the document.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    ELEVATION,
    RATIO,
    TIME,
    Elevation,
    Length,
    Ratio,
    Time,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.curves import ring_of
from pondwright.job.places import Place
from pondwright.job.shape import Body, RingOutline
from pondwright.job.site import Probe, Soil, SoilLayer
from pondwright.rooms.site.checks import soils as checks
from pondwright.rooms.site.ground import GUESSED
from pondwright.rooms.site.soils import (
    NOT_TOLD,
    Layer,
    SoilLayers,
    SoilPlace,
    probe_against_soil,
    soil_of_nodes,
    untold_share,
    water_elevation,
)
from pondwright.rooms.site.stage.ground import GroundResult
from pondwright.rooms.site.stage.muck import (
    MuckResult,
    muck_findings,
    muck_result,
    muck_spots,
    probe_points,
)
from pondwright.rooms.site.stage.old_hole import OldHoleResult
from pondwright.rooms.site.stage.shared import limits_of

LEAKY = frozenset({"sand", "gravel"})
"""Kinds of soil through which a pond drains."""

LEVEL_OF_STOP: Length = 0.3
"""Water has stopped at a layer if it stood no farther than this from it; common practice. [m]"""


@dataclass(frozen=True, slots=True)
class RiseAt:
    """Water in a probe at a time after it was opened."""

    time: Time = figure(TIME, "Time since the probe was opened", uses=("site.probes.*.rises",))
    elevation: Elevation = figure(
        ELEVATION, "Elevation of the water then", by=water_elevation, uses=("site.probes.*.rises",)
    )


@dataclass(frozen=True, slots=True)
class ProbeOnGround:
    """One probe on the ground: from depths to elevations."""

    how: str
    soil: str
    guessed: bool
    at_rest: bool
    rises: tuple[RiseAt, ...]
    ground: Elevation = figure(
        ELEVATION, "Ground at the probe", by=surface_at, uses=("site.ground.z", "site.probes.*.place")
    )
    bottom: Elevation = figure(
        ELEVATION, "As deep as the probe went", uses=("site.ground.z", "site.probes.*.layers")
    )
    water: Elevation | None = figure(
        ELEVATION,
        "Water in the probe, as high as it was read",
        by=water_elevation,
        uses=("site.ground.z", "site.probes.*.water_depth", "site.probes.*.rises"),
    )


@dataclass(frozen=True, slots=True, eq=False)
class LayersResult:
    """Soil under the plan, muck on the old floor, and water in the ground."""

    soils: SoilLayers
    muck: MuckResult
    probes: Mapping[str, ProbeOnGround]
    highest_water_probe: str
    highest_water: Elevation | None = figure(
        ELEVATION,
        "Highest water in any probe",
        by=water_elevation,
        uses=("site.probes.*.water_depth", "site.probes.*.rises"),
    )
    untold_share: Ratio = figure(
        RATIO,
        "Share of the surveyed ground of which no soil or probe tells",
        by=untold_share,
        uses=("site.soils.*.place", "site.probes.*.place"),
    )


def layers_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[LayersResult, tuple[Finding, ...]]:
    """Soil, muck and water in the ground.

    Parameters
    ----------
    view : mapping        Reads `site.probes`, `site.soils`, `site.shots`, `shape.bodies`, `rules`.
    results : mapping     Needs `site.ground`, `site.old_hole`.

    Returns
    -------
    LayersResult and the checks of soils and probes.  A probe off the plan is left out and told.
    """
    limits, ground, hole = limits_of(view), results["site.ground"], results["site.old_hole"]
    every = {name: probe for name, probe in view["site.probes"].items() if probe.status != "remove"}
    inside = {name: probe for name, probe in every.items() if _on_plan(probe, ground.grid)}
    soils, shots = view["site.soils"], view["site.shots"]
    places = [_soil_place(soil.place, view["shape.bodies"]) for soil in soils.values()]
    spots, shot_findings = muck_spots(every, shots, ground, hole, limits)
    muck, account = muck_result(spots, soils, ground, hole)
    layers = SoilLayers(
        grid=ground.grid,
        z=ground.z,
        muck=muck.thickness,
        names=tuple(soils),
        layers=tuple(_layers(soil.layers) for soil in soils.values()),
        of_node=soil_of_nodes(places, ground.grid),
    )
    probes = {name: _probe_on_ground(probe, ground, layers) for name, probe in inside.items()}
    share = untold_share(
        places, probe_points(every), ground.known != GUESSED, ground.grid, limits["site.soil_reach"].value
    )
    with_water = {name: probe for name, probe in probes.items() if probe.water is not None}
    wettest = max(with_water, key=lambda name: with_water[name].water or 0.0, default="")
    result = LayersResult(
        soils=layers,
        muck=muck,
        probes=MappingProxyType(probes),
        highest_water_probe=wettest,
        highest_water=probes[wettest].water if wettest else None,
        untold_share=share,
    )
    findings = (
        *shot_findings,
        *muck_findings(account, limits),
        *_probe_findings(every, probes, limits),
        # Where nothing at all is told, digging tells that its soil is a guess; once is enough.
        *((checks.check_soil_untold(share, limits),) if soils or every else ()),
        *_soil_findings(inside, probes, soils, limits),
        *_water_findings(inside, probes, wettest, hole, limits),
        *_leaky_findings(inside, probes, hole, limits),
    )
    return result, findings


def _on_plan(probe: Probe, grid: Grid) -> bool:
    west, south, east, north = grid.extent
    return west <= probe.place.east <= east and south <= probe.place.north <= north


def _layers(rows: Sequence[SoilLayer] | Sequence[Any]) -> tuple[Layer, ...]:
    return tuple(Layer(row.kind, row.thickness) for row in rows)


def _soil_place(place: Place, bodies: Mapping[str, Body]) -> SoilPlace:
    """Where a soil holds; a part or a stretch of a body is taken as the whole of it."""
    nowhere = np.empty((0, 2))
    if place.at == "point":
        return SoilPlace(np.array([[place.east, place.north]]))
    if place.at == "line":
        return SoilPlace(np.array([[point.east, point.north] for point in place.points]))
    if place.at == "ring":
        return SoilPlace(nowhere, ring_of(place.curve).points)
    if place.body is None:
        return SoilPlace(nowhere, whole=True)
    body = bodies.get(place.body)
    if body is not None and isinstance(body.outline, RingOutline):
        return SoilPlace(nowhere, ring_of(body.outline.curve).points)
    return SoilPlace(nowhere)


def _probe_on_ground(probe: Probe, ground: GroundResult, layers: SoilLayers) -> ProbeOnGround:
    grid = ground.grid
    place = np.array([[probe.place.east, probe.place.north]])
    surface = float(surface_at(ground.z, grid, place)[0])
    row = round((probe.place.north - grid.origin_north) / grid.spacing)
    column = round((probe.place.east - grid.origin_east) / grid.spacing)
    told = int(layers.of_node[row, column])
    rises = tuple(
        RiseAt(rise.time, water_elevation(surface, rise.depth))
        for rise in sorted(probe.rises, key=lambda rise: rise.time)
    )
    water = None if probe.water_depth is None else water_elevation(surface, probe.water_depth)
    if water is None and rises:
        water = rises[-1].elevation
    return ProbeOnGround(
        how=probe.how,
        soil=layers.names[told] if told != NOT_TOLD else "",
        guessed=bool(ground.known[row, column] == GUESSED),
        at_rest=probe.water_depth is not None,
        rises=rises,
        ground=surface,
        bottom=surface - sum(layer.thickness for layer in probe.layers),
        water=water,
    )


def _probe_findings(
    every: Mapping[str, Probe], probes: Mapping[str, ProbeOnGround], limits: Mapping[str, Limit]
) -> Iterator[Finding]:
    if every:
        empty = [
            name
            for name, probe in every.items()
            if not probe.layers and probe.water_depth is None and not probe.rises
        ]
        off = [name for name in every if name not in probes]
        guessed = [name for name, probe in probes.items() if probe.guessed]
        yield checks.check_probes_told(empty, limits)
        yield checks.check_probes_inside(off, guessed, limits)


def _soil_findings(
    inside: Mapping[str, Probe],
    probes: Mapping[str, ProbeOnGround],
    soils: Mapping[str, Soil],
    limits: Mapping[str, Limit],
) -> Iterator[Finding]:
    for name, probe in inside.items():
        soil = probes[name].soil
        # A rod tells where firm ground is, and little of what it is made of.
        if soil and probe.layers and probe.how != "rod":
            matches = probe_against_soil(_layers(probe.layers), _layers(soils[soil].layers))
            worst = max(matches, key=lambda match: match.miss, default=None)
            place = (probe.place.east, probe.place.north)
            yield checks.check_soil_against_probe(name, soil, worst, place, limits)


def _water_findings(
    inside: Mapping[str, Probe],
    probes: Mapping[str, ProbeOnGround],
    wettest: str,
    hole: OldHoleResult,
    limits: Mapping[str, Limit],
) -> Iterator[Finding]:
    opened = [name for name, probe in inside.items() if probe.how != "rod"]
    if not wettest:
        if opened:
            yield checks.check_water_unread(opened, limits)
    elif hole.floor is not None:
        place = (inside[wettest].place.east, inside[wettest].place.north)
        water = probes[wettest].water
        assert water is not None
        yield checks.check_water_in_pit(wettest, water, hole.floor, place, limits)


def _leaky_findings(
    inside: Mapping[str, Probe],
    probes: Mapping[str, ProbeOnGround],
    hole: OldHoleResult,
    limits: Mapping[str, Limit],
) -> Iterator[Finding]:
    """Sand and gravel that pits and bores met at the height of the old hole's bank."""
    opened = {name: probe for name, probe in inside.items() if probe.how != "rod" and probe.layers}
    if hole.floor is None or hole.lip is None or not opened:
        return
    found = 0
    for name, probe in opened.items():
        top = probes[name].ground
        for layer in probe.layers:
            bottom = top - layer.thickness
            overlap = min(top, hole.lip) - max(bottom, hole.floor)
            if layer.kind in LEAKY and overlap > limits["site.leaky_layer"].value:
                stops = hole.fills_to
                near = stops is not None and bottom - LEVEL_OF_STOP <= stops <= top + LEVEL_OF_STOP
                place = (probe.place.east, probe.place.north)
                yield checks.leaky_layer(name, layer.kind, overlap, near, place, limits)
                found += 1
            top = bottom
    if not found:
        yield checks.no_leaky_layer(tuple(opened), limits)
