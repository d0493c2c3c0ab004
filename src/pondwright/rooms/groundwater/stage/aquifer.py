"""From readings to a model: soils, level far off, and the water as it stands before anything is built.

The stage ``groundwater.aquifer`` does not look at the shape, so that it rests while a shore is bent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    ELEVATION,
    FLOW,
    LENGTH,
    RATIO,
    SPEED,
    Elevation,
    Elevations,
    FloatArray,
    Flow,
    Length,
    Ratio,
    Speed,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at
from pondwright.job.curves import ring_of
from pondwright.job.fields import value_of
from pondwright.job.groundwater import Borders, Reading, Recharge
from pondwright.job.places import LinePlace, Place, PointPlace
from pondwright.job.site import Probe, Soil
from pondwright.rooms.groundwater.aquifer import (
    LEVELS,
    MOST_NODES,
    Layered,
    Permeable,
    Plane,
    WaterLayer,
    between,
    border_widths,
    ground_far_off,
    kind_permeability,
    layers_of_cells,
    pit_permeability,
    regional_plane,
    thinned,
    water_grid,
)
from pondwright.rooms.groundwater.checks import heads as checks
from pondwright.rooms.groundwater.fit import (
    Fitted,
    Read,
    Undisturbed,
    allowed_shifts,
    fitted,
    seep_flows,
)
from pondwright.rooms.groundwater.heads import Ground, OneWay, transmissivity
from pondwright.rooms.groundwater.stage.drain_lines import THERE, drain_cells, drain_lines, drain_ways
from pondwright.rooms.groundwater.stage.shared import limits_of, line_points
from pondwright.rooms.groundwater.stage.waters import Water, two_ways, waters_of
from pondwright.rooms.site.soils import SoilPlace, soil_of_nodes

SEASONS = ("dry", "wet")
FITTED_KINDS = frozenset({"standpipe", "seep", "spring"})
"""Readings that the model must meet; ponds and ditches are put into it as they were read."""

SEEP_KINDS = frozenset({"seep", "spring"})

GUESSED: tuple[tuple[str, Length | None], ...] = (("topsoil", 0.15), ("silt", None))
"""Soil that is taken where none is told, as for digging; common practice. [m]"""

COARSE_NODES = 50
"""Nodes along a side of the grid on which the fit begins."""

PIT_RADIUS: Length = 0.5
"""Of a test pit dug with a bucket of 1 m; common practice. [m]"""

_FITTED_TO = ("groundwater.readings", "site.soils.*.layers", "groundwater.recharge", "groundwater.borders")
_FITTED_WITH = ("readings", "borders", "recharge")


@dataclass(frozen=True, slots=True)
class ReadingFit:
    """What was read at a place in a season, beside what the model gives there."""

    read: Elevation = figure(ELEVATION, "Groundwater as it was read", uses=("groundwater.readings.*",))
    modelled: Elevation = figure(ELEVATION, "Groundwater in the model there", by=fitted, uses=_FITTED_TO)
    residual: Length = figure(LENGTH, "Model less reading", by=fitted, uses=_FITTED_TO)


@dataclass(frozen=True, slots=True)
class SeepFlow:
    """What comes out at a seep or spring."""

    measured: Flow | None = figure(FLOW, "Flow as it was measured", uses=("groundwater.readings.*",))
    low: Flow = figure(FLOW, "Flow in the least permeable ground", by=seep_flows, uses=_FITTED_TO)
    likely: Flow = figure(FLOW, "Flow in the model", by=seep_flows, uses=_FITTED_TO)
    high: Flow = figure(FLOW, "Flow in the most permeable ground", by=seep_flows, uses=_FITTED_TO)


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """The model at one permeability, fitted to the readings of a season.

    `far` is the level far off, by the plane and at most the ground's; `settled` is false where the water did
    not come to rest in computing; `shift` tells where in the told range
    the permeability lies: -1 low, 0 likely, 1 high.
    """

    plane: Plane
    permeability: FloatArray
    head: Elevations
    far: Elevations
    settled: bool
    shift: Ratio = figure(RATIO, "Permeability in its range: -1 low, 0 likely, 1 high", by=allowed_shifts)
    recharge_share: Ratio = figure(
        RATIO, "Share of the told recharge that gets there", by=fitted, uses=_FITTED_TO
    )
    recharge: Speed = figure(SPEED, "What soaks in", by=fitted, uses=_FITTED_TO)


@dataclass(frozen=True, slots=True, eq=False)
class SeasonFit:
    """The model of a season at three permeabilities, and the readings beside it."""

    low: Fit
    likely: Fit
    high: Fit
    readings: Mapping[str, ReadingFit]
    flows: Mapping[str, SeepFlow]


@dataclass(frozen=True, slots=True)
class PitPermeability:
    """Permeability by how water rose in a pit, beside the range that the soils tell there."""

    told: Permeable
    permeability: Speed = figure(
        SPEED, "Permeability by the rise of the water", by=pit_permeability, uses=("site.probes.*.rises",)
    )


@dataclass(frozen=True, slots=True, eq=False)
class AquiferResult:
    """The ground as its water sees it, and the groundwater before anything is built.

    `known` is false where no reading tells anything: then there are no seasons.
    """

    grid: Grid
    step: int
    known: bool
    ground: Elevations
    base: Elevations
    layers_top: Elevations
    layers_bottom: Elevations
    permeability: Mapping[str, FloatArray]
    border: FloatArray
    guessed_kinds: tuple[str, ...]
    waters: Mapping[str, tuple[Water, ...]]
    pits: Mapping[str, PitPermeability]
    seasons: Mapping[str, SeasonFit]

    def thin(self, surface: FloatArray) -> FloatArray:
        """Values at the cells of an array on the ground's grid."""
        return thinned(surface, self.grid, self.step)


def aquifer_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[AquiferResult, tuple[Finding, ...]]:
    """Soils and readings fitted to each other, before anything is built.

    Parameters
    ----------
    view : mapping        Reads `groundwater`, `site.soils`, `site.probes`, `rules`.
    results : mapping     Needs `site.ground`.
    last : Last           Taken over where only drains that are still to be built, or rules, have changed.

    Returns
    -------
    AquiferResult and the checks of the readings and soils.
    """
    ground = results["site.ground"]
    found = last.result if _unchanged(view, results, last) else _aquifer(view, ground.z, ground.grid)
    return found, tuple(_findings(view, found))


def _unchanged(view: Mapping[str, Any], results: Mapping[str, Any], last: Any) -> bool:
    if last is None or last.results["site.ground"] is not results["site.ground"]:
        return False
    if any(view[path] is not last.view[path] for path in ("site.soils", "site.probes")):
        return False
    old, new = last.view["groundwater"], view["groundwater"]
    if any(getattr(new, name) is not getattr(old, name) for name in _FITTED_WITH) or new.base != old.base:
        return False
    before, now = (
        {name: row for name, row in each.drains.items() if row.status in THERE} for each in (old, new)
    )
    return before == now and (not now or (new.outlets is old.outlets and new.sumps is old.sumps))


def _aquifer(view: Mapping[str, Any], z: Elevations, full: Grid) -> AquiferResult:
    site, step, guessed = _site(view, z, full, MOST_NODES)
    coarse, _, _ = _site(view, z, full, COARSE_NODES)
    seasons = site.seasons(coarse)
    layered = site.layered
    return AquiferResult(
        grid=site.grid,
        step=step,
        known=bool(seasons),
        ground=site.surface,
        base=layered.base,
        layers_top=layered.top,
        layers_bottom=layered.bottom,
        permeability=layered.permeability,
        border=site.width,
        guessed_kinds=guessed,
        waters=MappingProxyType(dict(site.waters)),
        pits=MappingProxyType(_pits(view["site.probes"], layered, site.surface, site.grid)),
        seasons=MappingProxyType(seasons),
    )


def _site(
    view: Mapping[str, Any], z: Elevations, full: Grid, most: int
) -> tuple[_Site, int, tuple[str, ...]]:
    """The ground on a water grid of at most so many nodes a side, its step, and kinds of soil by guess."""
    grid, step = water_grid(full, most)
    surface = thinned(z, grid, step)
    layered, guessed = _layered(view["site.soils"], surface, grid, view["groundwater"].base)
    borders: Borders = view["groundwater"].borders
    distances = {side: _distance(getattr(borders, side)) for side in Borders.model_fields}
    places = np.column_stack([axis.ravel() for axis in np.meshgrid(grid.east, grid.north)])
    falls = regional_plane(places, surface.ravel())
    waters = {season: waters_of(view["groundwater"].readings, season, surface, grid) for season in SEASONS}
    site = _Site(
        grid=grid,
        surface=surface,
        falls=falls,
        highest=ground_far_off(surface, falls, distances),
        layered=layered,
        width=border_widths(grid, distances),
        waters=waters,
        view=view,
    )
    return site, step, guessed


@dataclass(frozen=True, slots=True, eq=False)
class _Site:
    """What the fits of all seasons and permeabilities share."""

    grid: Grid
    surface: Elevations
    falls: Plane
    highest: Elevations
    layered: Layered
    width: FloatArray
    waters: Mapping[str, tuple[Water, ...]]
    view: Mapping[str, Any]

    def coarse_fits(self) -> tuple[dict[str, dict[float, Fitted]], tuple[float, float, float]]:
        """Fits of each season that was read, and the three permeabilities that measured flows allow."""
        told = (0.0, -1.0, 1.0)
        found: dict[str, dict[float, Fitted]] = {}
        for season in SEASONS:
            start: Fitted | None = None
            for shift in told if self.reads(season) else ():
                start = self.fit(season, shift, start)
                found.setdefault(season, {})[shift] = start
        ratios = [ratio for season in found for ratio in self._ratios(season, found[season])]
        if not ratios:
            return found, (-1.0, 0.0, 1.0)
        middle = np.exp(np.mean(np.log(np.maximum(ratios, 1e-9)), axis=0))
        shifts = allowed_shifts(np.array([-1.0, 0.0, 1.0]), middle)
        for season, fits in found.items():
            for shift in set(shifts) - set(fits):
                nearest = min(fits, key=lambda known: abs(known - shift))
                fits[shift] = self.fit(season, shift, fits[nearest])
        return found, shifts

    def seasons(self, coarse: _Site) -> dict[str, SeasonFit]:
        """Fits of each season that was read, begun on a coarser grid."""
        begun, shifts = coarse.coarse_fits()
        found = {}
        for season, fits in begun.items():
            fine = {
                shift: self.fit(season, shift, fits[shift], _refined(fits[shift], coarse.grid, self.grid))
                for shift in sorted(set(shifts))
            }
            found[season] = self._season(season, [fine[shift] for shift in shifts], shifts)
        return found

    def reads(self, season: str) -> dict[str, Read]:
        """Levels that were read in a season and that the model must meet."""
        found = {}
        for name, row in self.view["groundwater"].readings.items():
            level = getattr(row, season)
            if row.kind in FITTED_KINDS and level is not None:
                east, north = _middle(row.place)
                if _holds(self.grid, east, north):
                    found[name] = Read(east, north, level, value_of(row, "sigma"))
        return found

    def fit(self, season: str, shift: float, start: Fitted | None, heads: Elevations | None = None) -> Fitted:
        """The fit of a season at one permeability."""
        reads = list(self.reads(season).values())
        permeability = between(self.layered.permeability, shift)
        return fitted(
            self._undisturbed(season, permeability, reads), reads, self.falls, start, heads, heads is not None
        )

    def _undisturbed(self, season: str, permeability: FloatArray, reads: Sequence[Read]) -> Undisturbed:
        layered, grid = self.layered, self.grid
        ground = Ground(
            grid.spacing,
            layered.top,
            layered.bottom,
            permeability,
            layered.base,
            np.full(grid.shape, np.inf),
        )
        covered = np.zeros(grid.shape, dtype=np.bool_)
        for water in self.waters[season]:
            covered |= water.wet
        recharge: Recharge = self.view["groundwater"].recharge
        rate = float(value_of(recharge, season))
        water = self.view["groundwater"]
        lines = drain_lines(water.drains, water.outlets, water.sumps, THERE, wet=season == "wet")
        about = np.minimum(self.surface, float(np.mean([read.level for read in reads])))
        return Undisturbed(
            grid=grid,
            highest=self.highest,
            ground=ground,
            two_way=two_ways(self.waters[season], ground, self.surface),
            one_way=(
                OneWay(np.where(covered, 0.0, np.inf), self.surface),
                *drain_ways(lines, drain_cells(lines, grid), ground, about).values(),
            ),
            width=self.width,
            soaks=np.where(covered, 0.0, rate * grid.spacing**2),
            share=None if getattr(recharge, season) is None and rate > 0.0 else 1.0,
        )

    def _seeps(self) -> dict[str, Reading]:
        """Seeps and springs on the plan."""
        return {
            name: row
            for name, row in self.view["groundwater"].readings.items()
            if row.kind in SEEP_KINDS and _holds(self.grid, *_middle(row.place))
        }

    def _outflows(self, found: Fitted) -> FloatArray:
        seeps = np.array([_middle(row.place) for row in self._seeps().values()]).reshape(-1, 2)
        return seep_flows(found.heads.left[0], self.grid, seeps)

    def _ratios(self, season: str, found: Mapping[float, Fitted]) -> list[tuple[float, ...]]:
        """Modelled over measured flow at low, likely and high, of each seep that was measured."""
        flows = np.array([self._outflows(found[shift]) for shift in (-1.0, 0.0, 1.0)])
        measured = [getattr(row, f"{season}_flow") for row in self._seeps().values()]
        return [
            tuple(float(flow) / told for flow in flows[:, index])
            for index, told in enumerate(measured)
            if told
        ]

    def _season(self, season: str, found: Sequence[Fitted], shifts: Sequence[float]) -> SeasonFit:
        rate = float(value_of(self.view["groundwater"].recharge, season))
        fits = [
            Fit(
                fit.plane,
                between(self.layered.permeability, shift),
                fit.heads.head,
                fit.far,
                fit.heads.settled,
                shift,
                fit.share,
                rate * fit.share,
            )
            for fit, shift in zip(found, shifts, strict=True)
        ]
        reads, likely = self.reads(season), found[1]
        readings = {
            name: ReadingFit(read.level, read.level + float(residual), float(residual))
            for (name, read), residual in zip(reads.items(), likely.residuals, strict=True)
        }
        flows = {
            name: SeepFlow(getattr(row, f"{season}_flow"), *map(float, sorted(each)))
            for (name, row), each in zip(
                self._seeps().items(), np.array([self._outflows(fit) for fit in found]).T, strict=True
            )
        }
        low, middle, high = fits
        return SeasonFit(low, middle, high, MappingProxyType(readings), MappingProxyType(flows))


def _refined(coarse: Fitted, from_grid: Grid, grid: Grid) -> Elevations:
    """Heads of a coarser grid at the cells of a finer one."""
    west, south, east_end, north_end = from_grid.extent
    east, north = np.meshgrid(np.clip(grid.east, west, east_end), np.clip(grid.north, south, north_end))
    places = np.column_stack([east.ravel(), north.ravel()])
    return np.array(surface_at(coarse.heads.head, from_grid, places)).reshape(grid.shape)


def _layered(
    soils: Mapping[str, Soil], surface: Elevations, grid: Grid, base: Elevation | None
) -> tuple[Layered, tuple[str, ...]]:
    """Layers of the cells, and the kinds of soil whose permeability nobody told."""
    if not soils:
        layers = [WaterLayer(kind, thick, kind_permeability(kind)[0]) for kind, thick in GUESSED]
        guess = layers_of_cells(surface, np.zeros(grid.shape, dtype=np.int16), [layers], base)
        return guess, tuple(kind for kind, _ in GUESSED)
    guessed: dict[str, None] = {}
    columns = []
    for soil in soils.values():
        column = []
        for layer in soil.layers:
            told = layer.permeability
            if told is None or told.low <= 0.0:
                guessed[layer.kind] = None
                permeable = kind_permeability(layer.kind)[0]
            else:
                permeable = Permeable(told.low, told.likely, told.high)
            column.append(WaterLayer(layer.kind, layer.thickness, permeable))
        columns.append(column)
    of_node = soil_of_nodes([_soil_place(soil.place) for soil in soils.values()], grid)
    return layers_of_cells(surface, of_node, columns, base), tuple(guessed)


def _soil_place(place: Place) -> SoilPlace:
    """Where a soil holds; one told by a body of water holds nowhere, for the ground was there before it."""
    nowhere = np.empty((0, 2))
    if place.at == "point":
        return SoilPlace(np.array([[place.east, place.north]]))
    if place.at == "line":
        return SoilPlace(line_points(place))
    if place.at == "ring":
        return SoilPlace(nowhere, ring_of(place.curve).points)
    return SoilPlace(nowhere, whole=place.at == "whole" and place.body is None)


def _distance(border: Any) -> Length | None:
    if border.kind == "closed":
        return None
    return 0.0 if border.kind == "held" else float(value_of(border, "distance"))


def _middle(place: PointPlace | LinePlace | Any) -> tuple[Length, Length]:
    """A place as one point; the middle of a line's or a ring's corners."""
    if isinstance(place, PointPlace):
        return place.east, place.north
    points = line_points(place) if isinstance(place, LinePlace) else ring_of(place.curve).points
    east, north = points.mean(axis=0)
    return float(east), float(north)


def _holds(grid: Grid, east: Length, north: Length) -> bool:
    west, south, east_end, north_end = grid.extent
    return west <= east <= east_end and south <= north <= north_end


def _pits(
    probes: Mapping[str, Probe], layered: Layered, surface: Elevations, grid: Grid
) -> dict[str, PitPermeability]:
    """Permeability from each pit in which the water was watched rising to where it stood at last."""
    found = {}
    for name, probe in probes.items():
        place = probe.place
        bottom = sum(layer.thickness for layer in probe.layers)
        rest = probe.water_depth
        if (
            probe.how != "pit"
            or rest is None
            or len(probe.rises) < 2
            or bottom <= rest
            or not _holds(grid, place.east, place.north)
        ):
            continue
        rises = sorted(probe.rises, key=lambda rise: rise.time)
        measured = pit_permeability(
            np.array([rise.time for rise in rises]),
            np.array([rise.depth for rise in rises]),
            rest,
            bottom,
            PIT_RADIUS,
        )
        if measured is not None:
            found[name] = PitPermeability(_told_at(layered, surface, grid, probe, rest, bottom), measured)
    return found


def _told_at(
    layered: Layered, surface: Elevations, grid: Grid, probe: Probe, rest: Length, bottom: Length
) -> Permeable:
    """What the soils tell of the ground that a pit took its water from: the mean of its layers there."""
    column = round((probe.place.east - grid.origin_east) / grid.spacing)
    row = round((probe.place.north - grid.origin_north) / grid.spacing)
    cell = (slice(None), slice(row, row + 1), slice(column, column + 1))
    top = surface[row : row + 1, column : column + 1]
    thick = np.array([[bottom - rest]])
    means = []
    for level in LEVELS:
        ground = Ground(
            grid.spacing,
            layered.top[cell],
            layered.bottom[cell],
            layered.permeability[level][cell],
            top - bottom,
            top - rest,
        )
        means.append(float((transmissivity(ground, top - rest) / thick)[0, 0]))
    return Permeable(*means)


def _findings(view: Mapping[str, Any], found: AquiferResult) -> list[Finding]:
    limits, readings, probes = limits_of(view), view["groundwater"].readings, view["site.probes"]
    findings: list[Finding] = []
    if not found.known:
        with_water = [
            probe.name or name
            for name, probe in probes.items()
            if probe.water_depth is not None and probe.how != "rod"
        ]
        findings.append(checks.no_readings(with_water))
    beyond = [name for name, row in readings.items() if not _holds(found.grid, *_middle(row.place))]
    if beyond:
        findings.append(checks.off_plan(beyond))
    for season in SEASONS if found.known else ():
        findings += _season_findings(season, readings, found, limits)
    if found.known:
        findings.append(checks.check_permeability(found.guessed_kinds, not view["site.soils"], limits))
    for name, pit in found.pits.items():
        place = probes[name].place
        findings.append(
            checks.check_pit(
                name,
                probes[name].name or name.replace("_", " "),
                pit.permeability,
                pit.told.low,
                pit.told.high,
                (place.east, place.north),
                limits,
            )
        )
    return findings


def _season_findings(
    season: str, readings: Mapping[str, Reading], found: AquiferResult, limits: Any
) -> list[Finding]:
    fit = found.seasons.get(season)
    if fit is None:
        return [checks.missing_season(season)]
    spots = {name: _middle(readings[name].place) for name in fit.readings}
    findings = [checks.check_readings(season, len(spots), tuple(spots.values()), limits)]
    for name, each in fit.readings.items():
        called = readings[name].name or name.replace("_", " ")
        findings.append(checks.check_reading_met(name, called, season, each.residual, spots[name], limits))
    for name, flow in fit.flows.items():
        if flow.measured:
            row = readings[name]
            findings.append(
                checks.check_seep_flow(
                    name,
                    row.name or name.replace("_", " "),
                    season,
                    flow.measured,
                    (flow.low, flow.likely, flow.high),
                    _middle(row.place),
                    limits,
                )
            )
    return findings
