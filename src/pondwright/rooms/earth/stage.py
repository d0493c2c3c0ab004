"""The earth's stages: subgrade, moved soil, balance.

``earth.subgrade`` takes the covers off the finish; ``earth.soil`` measures what is dug and placed;
``earth.survey`` tells how sure that is; ``earth.balance`` tries water levels.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit, replaced_limits
from pondwright.base.kinds import (
    BULK_MASS,
    COUNT,
    DENSITY,
    ELEVATION,
    LENGTH,
    RATIO,
    SOIL_VOLUME,
    Areas,
    Density,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Mass,
    Ratio,
    Volume,
    Volumes,
)
from pondwright.base.sources import PRACTICE, Source
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.grid import Grid
from pondwright.job.build_up import BuildUp
from pondwright.job.fields import quantity_of, value_of
from pondwright.job.places import Place
from pondwright.job.shape import Berm
from pondwright.job.site import Soil, SoilLayer
from pondwright.rooms.earth import checks
from pondwright.rooms.earth.balance import balanced_level, fill_surplus, level_table, narrowed, trials
from pondwright.rooms.earth.checks import LIMITS
from pondwright.rooms.earth.cutfill import (
    NEVER_FILL,
    Moved,
    SoilColumn,
    SoilMap,
    SoilPlace,
    dig_volumes,
    soil_map,
    volume_slopes,
)
from pondwright.rooms.earth.states import (
    Loads,
    SoilStates,
    bank_volume,
    loose_volume,
    settlement_allowance,
    steepest_slope,
    truck_loads,
)
from pondwright.rooms.earth.subgrade import dig_depth, subgrade, thickness_of_parts
from pondwright.rooms.shape.grading import ZONES_PER_BODY, part_code, whole_rows
from pondwright.rooms.shape.shoreline import lengths_below
from pondwright.rooms.site.uncertainty import volume_sigma

GUESSED_SOIL = Soil.model_validate_json(
    '{"place": {"at": "whole"}, "layers": [{"kind": "topsoil", "thickness": 0.15}, {"kind": "silt"}]}'
)
"""Soil that is taken where none is told: 0.15 m of topsoil over silt; common practice."""

GROUND = ("site.ground.z", "earth.subgrade.z")
SOIL = ("site.soils.*.layers",)


@dataclass(frozen=True, slots=True, eq=False)
class SubgradeResult:
    """The surface that is dug and placed to."""

    z: Elevations
    thickness: Lengths
    thickest: Length = figure(
        LENGTH, "Thickest cover over the dig", by=thickness_of_parts, uses=("build_up",)
    )


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
class SoilResult:
    """Dug, stripped, placed, and what is left over or missing."""

    soils: SoilMap
    moved: Moved
    by_kind: Mapping[str, SoilAccount]
    loads: Loads
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
        "Soil for fill that is left over; below zero it is missing",
        by=fill_surplus,
        uses=("earth.soil.by_kind", "earth.soil.placed", "earth.soil.settlement_allowance"),
    )
    export_loose: Volume = figure(
        SOIL_VOLUME,
        "The same in trucks; below zero it is brought",
        by=loose_volume,
        uses=("earth.soil.surplus_bank",),
    )
    export_mass: Mass = figure(BULK_MASS, "Its mass", uses=("earth.soil.surplus_bank",))
    load_count: int = figure(
        COUNT,
        "Truck loads of it, by box or by scale",
        by=truck_loads,
        uses=("earth.soil.export_loose", "earth.soil.export_mass"),
    )
    greatest_dig: Length = figure(LENGTH, "Deepest digging below the ground", by=dig_depth, uses=GROUND)


@dataclass(frozen=True, slots=True)
class SurveyResult:
    """How far the survey lets the volumes be trusted."""

    dug_sigma: Volume = figure(
        SOIL_VOLUME,
        "Standard deviation of the dug volume from the survey",
        by=volume_sigma,
        uses=("site.shots.*.sigma", "site.uncertainty.roughness"),
    )
    placed_sigma: Volume = figure(
        SOIL_VOLUME,
        "Standard deviation of the placed volume from the survey",
        by=volume_sigma,
        uses=("site.shots.*.sigma", "site.uncertainty.roughness"),
    )


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
        ELEVATION,
        "Water level at which the soil balances",
        by=balanced_level,
        uses=("site.ground.z", "shape.grading.limits", "earth.soil.by_kind", "shape.berms.*.settlement"),
    )


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


def soil_stage(view: Mapping[str, Any], results: Mapping[str, Any]) -> tuple[SoilResult, tuple[Finding, ...]]:
    """Dug and placed soil, by kind and state.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `shape.berms`, `rules`.
    results : mapping     Needs `site.ground`, `shape.grading`, `earth.subgrade`.

    Returns
    -------
    SoilResult and the checks of digging.
    """
    ground, grading, under = results["site.ground"], results["shape.grading"], results["earth.subgrade"]
    grid: Grid = ground.grid
    limits = _limits(view)
    soils, states = _soils(view["site.soils"], grid)
    spans = whole_rows(grid.shape)
    difference = dig_depth(ground.z, under.z)
    soil = dig_volumes(difference, soils, spans, grid)
    share = _settlement(view["shape.berms"])
    surplus, mix = _surplus(soil, states, share)
    export = loose_volume(surplus, mix.bulking)
    mass = surplus * mix.bank_density
    loads = truck_loads(abs(export), abs(mass))
    deepest, place = _deepest(difference, grid)
    result = SoilResult(
        soils=soils,
        moved=soil,
        by_kind=MappingProxyType({kind: _account(kind, soil, states[kind]) for kind in soil.dug}),
        loads=loads,
        greatest_dig_point=place,
        dug=soil.total_dug,
        placed=soil.placed,
        settlement_allowance=settlement_allowance(soil.placed, share),
        topsoil_stripped=soil.dug.get("topsoil", 0.0) + soil.stripped.get("topsoil", 0.0),
        surplus_bank=surplus,
        export_loose=export,
        export_mass=mass,
        load_count=loads.count,
        greatest_dig=deepest,
    )
    guessed = not view["site.soils"]
    findings = [
        checks.check_soil_depth(_below_known(difference, soils, view["site.soils"]), place, guessed, limits),
        *checks.check_excavation(deepest, place, limits),
        *_slope_findings(grading, soils),
    ]
    return result, tuple(findings)


def survey_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[SurveyResult, tuple[Finding, ...]]:
    """Uncertainty that the survey gives to dug and placed soil.

    Parameters
    ----------
    view : mapping        Reads `rules`.
    results : mapping     Needs `site.ground`, `site.uncertainty`, `earth.subgrade`, `earth.soil`.

    Returns
    -------
    SurveyResult and the check of the survey.
    """
    ground, errors = results["site.ground"], results["site.uncertainty"].errors
    dug, placed = volume_slopes(dig_depth(ground.z, results["earth.subgrade"].z), ground.grid)
    result = SurveyResult(volume_sigma(errors, dug).total, volume_sigma(errors, placed).total)
    return result, (checks.check_survey(results["earth.soil"].dug, result.dug_sigma, _limits(view)),)


def balance_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[BalanceResult, tuple[Finding, ...]]:
    """What each water level costs in soil, and the level at which it balances.

    The body is the first one that is to be kept balanced, or else the first one of all.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `shape.bodies`, `shape.berms`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `shape.storage`,
                          `earth.subgrade`, `earth.soil`.

    Returns
    -------
    BalanceResult and the check of the balance.
    """
    shore, grading, account = results["shape.shore"], results["shape.grading"], results["earth.soil"]
    if not shore.bodies:
        nothing = np.zeros(0)
        return BalanceResult("", *(nothing,) * 7, balanced_level=None), ()
    ground = results["site.ground"]
    names = list(shore.bodies)
    kept = [name for name in names if view["shape.bodies"][name].keep_balanced]
    name = (kept or names)[0]
    body, held = shore.bodies[name], results["shape.storage"].bodies[name]
    states = _soils(view["site.soils"], ground.grid)[1]
    share = _settlement(view["shape.berms"])
    run = trials(
        ground.z,
        grading.limits,
        grading.levels,
        names.index(name),
        results["earth.subgrade"].thickness,
        account.soils,
        ground.grid,
    )
    levels = level_table(body.level)
    narrow = narrowed(run, float(levels[0]), float(levels[-1]))
    soil = [account.moved if level == body.level else narrow.at(float(level)) for level in levels]
    surplus = [fill_surplus(each, states, share) for each in soil]
    balanced = balanced_level(lambda level: fill_surplus(narrow.at(level), states, share), levels, surplus)
    freeboard = body.crest_level - body.level
    result = BalanceResult(
        body=name,
        level=levels,
        dug=np.array([each.total_dug for each in soil]),
        placed=np.array([each.placed for each in soil]),
        surplus=np.array([_surplus(each, states, share)[0] for each in soil]),
        volume=np.full(len(levels), held.volume),
        area=np.full(len(levels), body.area),
        rim_to_raise=lengths_below(ground.z, ground.grid, body.rings, levels + freeboard),
        balanced_level=balanced,
    )
    finding = checks.check_balance(
        name, account.surplus_bank, account.dug, body.level, balanced, bool(kept), _limits(view)
    )
    return result, (finding,)


def _limits(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the earth's checks, as this job has them."""
    own = {code: rule.limit for code, rule in view["rules"].items() if rule.limit is not None}
    return replaced_limits(LIMITS, own)


def _parts(build_up: BuildUp, bodies: Sequence[str]) -> list[int] | None:
    """Part codes that a build-up covers; none for a stretch, which is no part."""
    place = build_up.place
    if place.at == "part":
        return [part_code(bodies.index(place.body), place.zone)] if place.body in bodies else []
    if place.at == "whole":
        chosen = bodies if place.body is None else [name for name in bodies if name == place.body]
        return [part_code(bodies.index(name), zone) for name in chosen for zone in range(ZONES_PER_BODY)]
    return None


def _soils(rows: Mapping[str, Soil], grid: Grid) -> tuple[SoilMap, dict[str, SoilStates]]:
    """Soil columns of the document, and the states of every kind in them (the first told holds)."""
    soils = list(rows.values()) or [GUESSED_SOIL]
    columns = []
    states: dict[str, SoilStates] = {}
    for soil in soils:
        thicknesses = [layer.thickness or 0.0 for layer in soil.layers[:-1]]
        bottoms = tuple(float(bottom) for bottom in np.cumsum(thicknesses))
        columns.append(SoilColumn(tuple(layer.kind for layer in soil.layers), bottoms))
        for layer in soil.layers:
            states.setdefault(layer.kind, _states(layer))
    return soil_map(columns, [_place(soil.place) for soil in soils], grid), states


def _states(layer: SoilLayer) -> SoilStates:
    """States of one layer, with where each number comes from."""
    names = ("bulking", "compaction", "bank_density")
    bulking, compaction, density = (value_of(layer, name) for name in names)
    return SoilStates(bulking, compaction, density, tuple(_source(layer, name) for name in names))


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
        pegs = place.curve.pegs
        ring = closed_curve([(peg.east, peg.north) for peg in pegs], [peg.corner for peg in pegs])
        return SoilPlace(nowhere, ring.points)
    return SoilPlace(nowhere)


def _settlement(berms: Mapping[str, Berm]) -> Ratio:
    """Largest share of the height that a berm adds for settlement; the stated default where none is told."""
    return max((value_of(berm, "settlement") for berm in berms.values()), default=_default_settlement())


def _default_settlement() -> Ratio:
    return float(value_of(Berm(body="any"), "settlement"))


def _surplus(soil: Moved, states: Mapping[str, SoilStates], share: Ratio) -> tuple[Volume, SoilStates]:
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


def _slope_findings(grading: Any, soils: SoilMap) -> list[Finding]:
    """Checks of finished slopes against the soil that they are made in: the flattest that a layer asks."""
    kinds = sorted({kind for column in soils.columns for kind in column.kinds} - NEVER_FILL)
    if not kinds:
        return []
    weakest = max(kinds, key=lambda kind: steepest_slope(kind)[0])
    findings = []
    for name, body in grading.bodies.items():
        steepest = steepest_slope(weakest)
        run = body.profile.reach / body.design_depth if body.design_depth > 0.0 else float("inf")
        for what, path, slope in (
            (f"The bank of {name} from shore to floor", f"shape.bodies.{name}.bank_type", run),
            (f"The dug slope around {name}", "shape.slopes.cut", body.bank.cut),
            (f"The placed slope around {name}", "shape.slopes.fill", body.bank.fill),
        ):
            findings.append(checks.check_slope(what, path, weakest, slope, steepest))
    return findings
