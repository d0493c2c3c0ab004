"""Subgrade, services under the dig, moved soil."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    BULK_MASS,
    COUNT,
    DENSITY,
    LENGTH,
    RATIO,
    SOIL_VOLUME,
    Density,
    Elevations,
    Length,
    Lengths,
    Mass,
    Ratio,
    Slope,
    Volume,
)
from pondwright.base.sources import PRACTICE, Source
from pondwright.geometry.grid import Grid
from pondwright.job.build_up import BuildUp
from pondwright.job.curves import ring_of
from pondwright.job.earth import Counted
from pondwright.job.fields import quantity_of, value_of
from pondwright.job.places import Place
from pondwright.job.shape import Berm
from pondwright.job.site import Soil, SoilLayer, Thing
from pondwright.rooms.earth.balance import fill_surplus
from pondwright.rooms.earth.checks import soil as checks
from pondwright.rooms.earth.cutfill import (
    NEVER_FILL,
    Moved,
    SoilColumn,
    SoilMap,
    SoilPlace,
    dig_volumes,
    soil_map,
)
from pondwright.rooms.earth.leaving import dealt, loads_of, resolution
from pondwright.rooms.earth.services import DugOver, along, dug_over
from pondwright.rooms.earth.stage.leaving import Leaving, leaving_of, resolution_of, sites_of
from pondwright.rooms.earth.stage.shared import limits_of
from pondwright.rooms.earth.states import SoilStates, bank_volume, loose_volume, settlement_allowance
from pondwright.rooms.earth.subgrade import dig_depth, subgrade, thickness_of_parts
from pondwright.rooms.shape.grading import CUT_SLOPE, PLACED_SLOPE, covered_parts, whole_rows
from pondwright.rooms.shape.profile import steepest_run
from pondwright.rooms.shape.slopes import steepest_slope

GUESSED_SOIL = Soil.model_validate_json(
    '{"place": {"at": "whole"}, "layers": [{"kind": "topsoil", "thickness": 0.15}, {"kind": "silt"}]}'
)
"""Soil that is taken where none is told: 0.15 m of topsoil over silt; common practice."""

PLACES = ("earth.piles", "earth.off_site")
GROUND = ("site.ground.z", "earth.subgrade.z")
SOIL = ("site.soils.*.layers", "earth.counted")


@dataclass(frozen=True, slots=True, eq=False)
class SubgradeResult:
    """The surface that is dug and placed to."""

    z: Elevations
    thickness: Lengths
    thickest: Length = figure(
        LENGTH, "Thickest cover over the dig", by=thickness_of_parts, uses=("build_up",)
    )


@dataclass(frozen=True, slots=True)
class ServiceUnderDig:
    """How the dig meets one buried service."""

    met: DugOver
    dug_length: Length = figure(
        LENGTH, "Length of it over which anything is dug", by=dug_over, uses=("site.things.*.place", *GROUND)
    )
    near_length: Length = figure(
        LENGTH,
        "Length of it that the dig may hit",
        by=dug_over,
        uses=("site.things.*.place", "site.things.*.depth", "site.things.*.sure", *GROUND),
    )
    cut_length: Length = figure(
        LENGTH,
        "Length of it that the dig would cut",
        by=dug_over,
        uses=("site.things.*.place", "site.things.*.depth", *GROUND),
    )


@dataclass(frozen=True, slots=True)
class ServicesResult:
    """How the dig meets each buried service, by the id of its thing."""

    things: Mapping[str, ServiceUnderDig]


@dataclass(frozen=True, slots=True)
class SoilAccount:
    """What happens to one kind of soil, each state by itself."""

    sources: tuple[Source, ...]
    bulking: Ratio = figure(RATIO, "Loose volume for one in the bank", uses=SOIL)
    compaction: Ratio = figure(RATIO, "Compacted volume for one in the bank", uses=SOIL)
    bank_density: Density = figure(DENSITY, "Density in the bank", uses=SOIL)
    dug: Volume = figure(SOIL_VOLUME, "Dug for the shape, in the bank", by=dig_volumes, uses=(*GROUND, *SOIL))
    stripped: Volume = figure(
        SOIL_VOLUME, "Stripped from under placed soil, in the bank", by=dig_volumes, uses=(*GROUND, *SOIL)
    )
    loose: Volume = figure(
        SOIL_VOLUME, "The same in trucks and heaps", by=loose_volume, uses=("earth.soil.by_kind.*.dug",)
    )
    compacted: Volume = figure(SOIL_VOLUME, "The same compacted", uses=("earth.soil.by_kind.*.dug",))
    mass: Mass = figure(BULK_MASS, "Its mass", uses=("earth.soil.by_kind.*.dug",))


@dataclass(frozen=True, slots=True, eq=False)
class SlopesTold:
    """Checks of the finished slopes, and all that they hang on: most of it rests in a drag."""

    hang_on: tuple[Any, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SoilResult:
    """Dug, stripped, placed, and what is left over or missing."""

    soils: SoilMap
    states: Mapping[str, SoilStates]
    slopes: SlopesTold
    moved: Moved
    by_kind: Mapping[str, SoilAccount]
    leaving: Leaving
    greatest_dig_point: tuple[Length, Length]
    dug: Volume = figure(SOIL_VOLUME, "All that is dug, in the bank", by=dig_volumes, uses=(*GROUND, *SOIL))
    placed: Volume = figure(
        SOIL_VOLUME,
        "Placed soil, compacted, stripped ground filled again",
        by=dig_volumes,
        uses=(*GROUND, *SOIL),
    )
    settlement_allowance: Volume = figure(
        SOIL_VOLUME,
        "Placed on top so that it settles to the design",
        by=settlement_allowance,
        uses=("earth.soil.placed", "shape.berms.*.settlement"),
    )
    topsoil_stripped: Volume = figure(
        SOIL_VOLUME, "Topsoil to be heaped for later, in the bank", by=dig_volumes, uses=(*GROUND, *SOIL)
    )
    surplus_bank: Volume = figure(
        SOIL_VOLUME,
        "Soil for fill that is left over, in the bank; below zero it is missing",
        by=fill_surplus,
        uses=("earth.soil.by_kind", "earth.soil.placed", "earth.soil.settlement_allowance"),
    )
    export_loose: Volume = figure(
        SOIL_VOLUME,
        "The same, loose",
        by=loose_volume,
        uses=("earth.soil.surplus_bank",),
    )
    export_mass: Mass = figure(BULK_MASS, "Its mass", uses=("earth.soil.surplus_bank",))
    leaves: Volume = figure(
        SOIL_VOLUME,
        "Soil that leaves the site once the piles are full, in the bank",
        by=dealt,
        uses=("earth.soil.surplus_bank", "earth.soil.by_kind.*.dug", *PLACES),
    )
    brought: Volume = figure(
        SOIL_VOLUME,
        "Soil that must be brought, in the bank",
        by=resolution,
        uses=("earth.soil.surplus_bank", "shape.grading.bodies.*.wetted_area"),
    )
    load_count: int = figure(
        COUNT,
        "Truck loads that leave the site or are brought, by box or by scale",
        by=loads_of,
        uses=("earth.soil.leaves", "earth.soil.brought", "earth.trucks"),
    )
    greatest_dig: Length = figure(LENGTH, "Deepest digging below the ground", by=dig_depth, uses=GROUND)


def subgrade_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[SubgradeResult, tuple[Finding, ...]]:
    """Surface that is dug and placed to.

    Parameters
    ----------
    view : mapping        Reads `build_up`.
    results : mapping     Needs `shape.grading`.

    Returns
    -------
    SubgradeResult and the check of the covers.
    """
    grading = results["shape.grading"]
    bodies = list(grading.bodies)
    covers = []
    left_out = []
    for name, build_up in view["build_up"].items():
        parts = _parts(build_up, bodies)
        if parts is None:
            left_out.append(name)
        else:
            covers.append((parts, sum(layer.thickness for layer in build_up.layers)))
    thickness = thickness_of_parts(covers)
    z = subgrade(grading.z, grading.part, thickness)
    return SubgradeResult(z, thickness, float(thickness.max())), (checks.left_out_covers(left_out),)


def soil_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[SoilResult, tuple[Finding, ...]]:
    """Dug and placed soil, by kind and state.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `earth.counted`, `earth.trucks`, `earth.piles`,
                          `earth.off_site`, `shape.berms`, `rules`.
    results : mapping     Needs `site.ground`, `shape.grading`, `earth.subgrade`.
    last : Last           The soil of every cell and the checks of the slopes are taken over where nothing
                          that they hang on has changed.

    Returns
    -------
    SoilResult and the checks of digging.
    """
    ground, grading, under = results["site.ground"], results["shape.grading"], results["earth.subgrade"]
    grid: Grid = ground.grid
    limits = limits_of(view)
    if last is not None and _same_soils(view, grid, last):
        soils, states = last.result.soils, last.result.states
    else:
        soils, told = soils_of(view["site.soils"], view["earth.counted"], grid)
        states = MappingProxyType(told)
    spans = whole_rows(grid.shape)
    difference = dig_depth(ground.z, under.z)
    soil = dig_volumes(difference, soils, spans, grid)
    share = settlement_of(view["shape.berms"])
    surplus, mix = surplus_of(soil, states, share)
    leaving = leaving_of(soil, states, surplus, mix, sites_of(view), resolution_of(grading))
    deepest, place = _deepest(difference, grid)
    slopes = _slopes_told(grading, soils, None if last is None else last.result.slopes)
    result = SoilResult(
        soils=soils,
        states=states,
        slopes=slopes,
        moved=soil,
        by_kind=MappingProxyType({kind: _account(kind, soil, states[kind]) for kind in soil.dug}),
        leaving=leaving,
        greatest_dig_point=place,
        dug=soil.total_dug,
        placed=soil.placed,
        settlement_allowance=settlement_allowance(soil.placed, share),
        topsoil_stripped=soil.dug.get("topsoil", 0.0) + soil.stripped.get("topsoil", 0.0),
        surplus_bank=surplus,
        export_loose=loose_volume(surplus, mix.bulking),
        export_mass=surplus * mix.bank_density,
        leaves=leaving.leaves,
        brought=leaving.brought,
        load_count=leaving.loads,
        greatest_dig=deepest,
    )
    guessed = not view["site.soils"]
    findings = [
        checks.check_soil_depth(_below_known(difference, soils, view["site.soils"]), place, guessed, limits),
        *checks.check_excavation(deepest, place, limits),
        *slopes.findings,
    ]
    return result, tuple(findings)


def _same_soils(view: Mapping[str, Any], grid: Grid, last: Any) -> bool:
    """Whether the soils that were told, the loads that were counted and the grid are those of last time."""
    same = all(view[section] is last.view[section] for section in ("site.soils", "earth.counted"))
    return same and bool(grid == last.results["site.ground"].grid)


def services_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[ServicesResult, tuple[Finding, ...]]:
    """Where the dig meets buried services.

    Parameters
    ----------
    view : mapping        Reads `site.things`, `rules`.
    results : mapping     Needs `site.ground`, `earth.subgrade`.

    Returns
    -------
    ServicesResult and a check for each service that has a place of its own.
    """
    ground, zone = results["site.ground"], limits_of(view)["earth.service_zone"].value
    met, findings = {}, []
    for name, thing in view["site.things"].items():
        line = _service_line(thing)
        if line is None:
            continue
        sure = zone if thing.sure is None else thing.sure
        found = dug_over(ground.z, results["earth.subgrade"].z, ground.grid, line, thing.depth, sure, sure)
        met[name] = ServiceUnderDig(found, found.dug, found.near, found.cut)
        called = thing.name or name.replace("_", " ")
        findings.append(
            checks.check_service(
                called,
                f"site.things.{name}",
                found,
                thing.depth is not None,
                sure,
                thing.status == "remove",
            )
        )
    return ServicesResult(MappingProxyType(met)), tuple(findings)


def _service_line(thing: Thing) -> Lengths | None:
    """Line of a buried service; none where the thing is another, or is planned for later."""
    if thing.kind != "utility" or thing.status == "later":
        return None
    spots = _place(thing.place).points
    return along(np.asarray(spots, dtype=np.float64)) if len(spots) else None


def _parts(build_up: BuildUp, bodies: Sequence[str]) -> list[int] | None:
    """Part codes that a build-up covers; none for a stretch, which is no part."""
    place = build_up.place
    if place.at == "stretch":
        return None
    return covered_parts(bodies, place.body, place.zone if place.at == "part" else None)


def soils_of(
    rows: Mapping[str, Soil], counted: Mapping[str, Counted], grid: Grid
) -> tuple[SoilMap, dict[str, SoilStates]]:
    """Soil columns of the document, and the states of every kind in them (the first told holds).

    Loads that were counted tell how much a soil swells, and go before what stands in a table.
    """
    soils = list(rows.values()) or [GUESSED_SOIL]
    columns = []
    states: dict[str, SoilStates] = {}
    for soil in soils:
        thicknesses = [layer.thickness or 0.0 for layer in soil.layers[:-1]]
        bottoms = tuple(float(bottom) for bottom in np.cumsum(thicknesses))
        columns.append(SoilColumn(tuple(layer.kind for layer in soil.layers), bottoms))
        for layer in soil.layers:
            states.setdefault(layer.kind, _states(layer))
    for kind, bulking in _counted_bulking(counted).items():
        if kind in states:
            known = states[kind]
            source = Source("this job", f"{kind}, loads that were counted")
            states[kind] = replace(known, bulking=bulking, sources=(source, *known.sources[1:]))
    return soil_map(columns, [_place(soil.place) for soil in soils], grid), states


def _counted_bulking(counted: Mapping[str, Counted]) -> dict[str, Ratio]:
    """Bulking of each kind whose loads were counted: all that left, loose, over all that was dug."""
    loose: dict[str, Volume] = {}
    bank: dict[str, Volume] = {}
    for row in counted.values():
        loose[row.kind] = loose.get(row.kind, 0.0) + row.loads * row.box
        bank[row.kind] = bank.get(row.kind, 0.0) + row.bank
    return {kind: loose[kind] / bank[kind] for kind in loose}


def _states(layer: SoilLayer) -> SoilStates:
    """States of one layer, with where each number comes from."""
    names = ("bulking", "compaction", "bank_density")
    bulking, compaction, density = (value_of(layer, name) for name in names)
    sources = tuple(_source(layer, name) for name in names)
    return SoilStates(bulking, compaction, density, sources, value_of(layer, "angle"))


def _source(layer: SoilLayer, name: str) -> Source:
    """Source of a number of a layer: the document, or its stated default."""
    stated = quantity_of(SoilLayer, name)
    if getattr(layer, name) is not None or stated is None or stated.default is None:
        return Source("this job", f"{layer.kind}, {name}")
    return stated.default.of(layer)[1]


def _place(place: Place) -> SoilPlace:
    """Where a soil holds; without points where it is told by a body or everywhere."""
    nowhere = np.empty((0, 2))
    if place.at == "point":
        return SoilPlace(np.array([[place.east, place.north]]))
    if place.at == "line":
        return SoilPlace(np.array([[point.east, point.north] for point in place.points]))
    if place.at == "ring":
        return SoilPlace(nowhere, ring_of(place.curve).points)
    return SoilPlace(nowhere)


def settlement_of(berms: Mapping[str, Berm]) -> Ratio:
    """Largest share of the height that a berm adds for settlement; the stated default where none is told."""
    return max((value_of(berm, "settlement") for berm in berms.values()), default=_default_settlement())


@cache
def _default_settlement() -> Ratio:
    return float(value_of(Berm(body="any"), "settlement"))


def surplus_of(soil: Moved, states: Mapping[str, SoilStates], share: Ratio) -> tuple[Volume, SoilStates]:
    """Soil for fill that is left over, in the bank, and the states of the mix that is hauled."""
    suitable = {kind: volume for kind, volume in soil.dug.items() if kind not in NEVER_FILL}
    whole = sum(suitable.values())
    # Nothing dug: what is brought is taken to be like the lowest soil of the site.
    weights = suitable if whole > 0.0 else {list(suitable or states)[-1]: 1.0}
    total = sum(weights.values())
    mix = SoilStates(
        sum(states[kind].bulking * weight for kind, weight in weights.items()) / total,
        sum(states[kind].compaction * weight for kind, weight in weights.items()) / total,
        sum(states[kind].bank_density * weight for kind, weight in weights.items()) / total,
        (PRACTICE,),
    )
    return bank_volume(fill_surplus(soil, states, share), mix.compaction), mix


def _account(kind: str, soil: Moved, states: SoilStates) -> SoilAccount:
    """Account of one kind of soil."""
    dug, stripped = soil.dug[kind], soil.stripped.get(kind, 0.0)
    return SoilAccount(
        sources=states.sources,
        bulking=states.bulking,
        compaction=states.compaction,
        bank_density=states.bank_density,
        dug=dug,
        stripped=stripped,
        loose=loose_volume(dug + stripped, states.bulking),
        compacted=(dug + stripped) * states.compaction,
        mass=(dug + stripped) * states.bank_density,
    )


def _deepest(difference: Lengths, grid: Grid) -> tuple[Length, tuple[Length, Length]]:
    """Deepest digging and where it is."""
    row, column = divmod(int(np.argmax(difference)), grid.columns)
    place = (grid.origin_east + column * grid.spacing, grid.origin_north + row * grid.spacing)
    return max(float(difference[row, column]), 0.0), place


def _below_known(difference: Lengths, soils: SoilMap, rows: Mapping[str, Soil]) -> Length:
    """How far the dig goes below soil whose lowest layer has a known bottom."""
    below = 0.0
    for index, soil in enumerate(rows.values()):
        if soil.layers[-1].thickness is not None:
            known = sum(layer.thickness or 0.0 for layer in soil.layers)
            own = difference[:-1, :-1][soils.of_cell == index]
            below = max(below, float(own.max(initial=0.0)) - known)
    return below


def _slopes_told(grading: Any, soils: SoilMap, before: SlopesTold | None) -> SlopesTold:
    """Checks of the finished slopes, those of before where they would be the same."""
    dug, placed = (bool((grading.part == part).any()) for part in (CUT_SLOPE, PLACED_SLOPE))
    slopes = tuple(
        (name, steepest_run(body.profile), body.bank.cut if dug else None, body.bank.fill if placed else None)
        for name, body in grading.bodies.items()
    )
    hang_on = (soils, slopes)
    if before is not None and before.hang_on == hang_on:
        return before
    return SlopesTold(hang_on, tuple(_slope_findings(slopes, soils)))


def _slope_findings(
    slopes: Sequence[tuple[str, Slope, Slope | None, Slope | None]], soils: SoilMap
) -> Iterator[Finding]:
    """Checks of finished slopes against the soil that they are made in: the flattest that a layer asks."""
    kinds = sorted({kind for column in soils.columns for kind in column.kinds} - NEVER_FILL)
    if not kinds:
        return
    weakest = max(kinds, key=lambda kind: steepest_slope(kind)[0])
    steepest = steepest_slope(weakest)
    for name, bank, cut, fill in slopes:
        made = (
            (f"The bank of `{name}`", f"shape.bodies.{name}.bank_type", bank),
            (f"The dug slope around `{name}`", "shape.slopes.cut", cut),
            (f"The placed slope around `{name}`", "shape.slopes.fill", fill),
        )
        for what, path, slope in made:
            if slope is not None:
                yield checks.check_slope(what, path, weakest, slope, steepest)
