"""How hard the groundwater pushes each liner while a shore is dragged.

Told is the wettest season that was read, with the drains working.

See Also
--------
pondwright.rooms.groundwater.stage.range : the same over all cases.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    ELEVATION,
    LENGTH,
    RATIO,
    Elevation,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Ratio,
    Ratios,
)
from pondwright.geometry.grid import Grid
from pondwright.job.build_up import BuildUp
from pondwright.job.shape import Body
from pondwright.rooms.groundwater.ballast import CoverLayer, ballast_of_parts
from pondwright.rooms.groundwater.beds import (
    Bed,
    bed_uplift,
    lack_of_weight,
    lined_bed,
    safe_mark,
    side_word,
    worst_spot,
)
from pondwright.rooms.groundwater.checks import uplift as checks
from pondwright.rooms.groundwater.checks.uplift import Spot
from pondwright.rooms.groundwater.stage.shared import limits_of
from pondwright.rooms.groundwater.uplift import bed_cosine, gross_factor, net_factor, stone_thickness
from pondwright.rooms.shape.grading import covered_parts

POND_STAGES = ("full", "half", "empty", "service")
"""Full; half of the water left; pumped down to the floor, its stone still full; its stone drained as well."""

STEEPEST: Ratio = math.sqrt(0.5)
"""Cosine of the steepest bed on which stone lies by itself, 1:1; common practice. [-]"""

IN_PLACE = ("shape.shore.bodies.*.level", "build_up")
LIFTS = ("groundwater.heads.head", *IN_PLACE)


@dataclass(frozen=True, slots=True, eq=False)
class UpliftMap:
    """Uplift at every cell under a liner; NaN elsewhere, infinite factors where nothing pushes.

    `wanted` is the net factor that is wanted at this stage. [-]
    """

    wanted: Ratio

    excess: Lengths
    net: Ratios
    gross: Ratios


@dataclass(frozen=True, slots=True)
class StageUplift:
    """The worst spot of one body at one stage of its pond; no net factor where nothing pushes anywhere."""

    point: tuple[Length, Length]
    side: str
    level: Elevation | None = figure(ELEVATION, "Water of the pond at this stage", uses=IN_PLACE)
    excess: Length = figure(
        LENGTH, "How far the groundwater stands above the pond's own water", by=bed_uplift, uses=LIFTS
    )
    net: Ratio | None = figure(RATIO, "Weight on the liner against that", by=net_factor, uses=LIFTS)
    gross: Ratio | None = figure(
        RATIO, "All weight on the liner, water too, against all groundwater", by=gross_factor, uses=LIFTS
    )
    stone: Length = figure(LENGTH, "Stone on the liner that would hold it", by=stone_thickness, uses=LIFTS)


@dataclass(frozen=True, slots=True, eq=False)
class BodyUplift:
    """Uplift of one body with its drains working; no mark where it may be emptied.

    In use is the lowest water that is planned for; a stream's is none, because its pump stops.
    """

    stages: Mapping[str, StageUplift]
    in_use: StageUplift
    mark: Elevation | None = figure(
        ELEVATION, "Mark below which it may not be pumped", by=safe_mark, uses=LIFTS
    )
    lack: Length = figure(
        LENGTH, "How far the groundwater must fall, or the pond rise", by=lack_of_weight, uses=LIFTS
    )


@dataclass(frozen=True, slots=True, eq=False)
class LinedBody:
    """A lined body as uplift sees it: its bed, where its spots are, its water at every stage, and in use.

    `centre` is the middle of its spots, `reach` how far the farthest of them is from there. [m]

    Levels are those of the whole body; in a stream the water of each spot stands lower by its `drop`.
    """

    bed: Bed
    points: FloatArray
    centre: tuple[Length, Length]
    reach: Length
    levels: Mapping[str, Elevation]
    used: Elevation
    drop: Lengths | Length

    def water(self, level: Elevation) -> Elevations | Elevation:
        """Water at each spot with the body at a level. [m]"""
        return level - self.drop

    def at(self, array: FloatArray) -> FloatArray:
        """Values of an array of the water grid at its spots."""
        return array.ravel()[self.bed.nodes]


@dataclass(frozen=True, slots=True, eq=False)
class UpliftResult:
    """Uplift in the wet season with the drains working; empty where nobody knows the groundwater."""

    known: bool
    grid: Grid
    lined: Mapping[str, LinedBody]
    maps: Mapping[str, UpliftMap]
    bodies: Mapping[str, BodyUplift]


def uplift_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[UpliftResult, tuple[Finding, ...]]:
    """Uplift of every liner in the wet season with the drains working.

    Parameters
    ----------
    view : mapping        Reads `build_up`, `shape.bodies`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`, `shape.storage`, `earth.subgrade`,
                          `groundwater.heads`.

    Returns
    -------
    UpliftResult and whether each liner holds in use: where the pond or its stone weigh on it, by factors; on
    the bank beyond the waterline, where nothing does, by whether the groundwater stands above it at all.
    """
    heads, limits = results["groundwater.heads"], limits_of(view)
    nothing: Mapping[str, Any] = MappingProxyType({})
    if not heads.known:
        return UpliftResult(False, heads.grid, nothing, nothing, nothing), ()
    lined = _lined(view, results)
    bodies, findings = {}, []
    drains = working_drains(heads)
    maps = {stage: _empty_map(heads.grid, _wanted(stage, limits)) for stage in POND_STAGES}
    for name, body in lined.items():
        head = body.at(heads.head)
        spots = {
            stage: spot_of(body, head, body.levels[stage], _wanted(stage, limits), maps[stage])
            for stage in POND_STAGES
        }
        used = spots["full"]
        if body.used != body.levels["full"]:
            used = spot_of(body, head, body.used, _wanted("full", limits))
        mark = safe_mark(body.bed, head, limits["groundwater.uplift_emptied"].value, body.drop)
        stages = {stage: _stage(spot, body.levels[stage]) for stage, spot in spots.items()}
        bodies[name] = BodyUplift(MappingProxyType(stages), _stage(used, body.used), mark, used.lack)
        findings.append(checks.check_in_use(name, used, heads.season, drains, limits))
        findings += _bank(name, list(results["shape.shore"].bodies).index(name), body, heads, limits)
    result = UpliftResult(
        True, heads.grid, MappingProxyType(lined), MappingProxyType(maps), MappingProxyType(bodies)
    )
    return result, tuple(findings)


def _bank(
    name: str, place: int, body: LinedBody, heads: Any, limits: Mapping[str, Any]
) -> tuple[Finding, ...]:
    """Check of the liner on the bank, beyond the waterline; none where no cell is wholly there."""
    rows, columns = np.nonzero(heads.bank & (heads.body == place))
    if not len(rows):
        return ()
    over = heads.head[rows, columns] - heads.cap[rows, columns]
    worst = int(np.argmax(over))
    point = float(heads.grid.east[columns[worst]]), float(heads.grid.north[rows[worst]])
    side = side_word(point, body.centre, body.reach)
    return (checks.check_bank(name, float(over[worst]), side, point, limits),)


def _lined(view: Mapping[str, Any], results: Mapping[str, Any]) -> dict[str, LinedBody]:
    """Every body that has a cell below its waterline; the bank beyond bears neither water nor stone."""
    shore, heads = results["shape.shore"], results["groundwater.heads"]
    grid: Grid = heads.grid
    part, subgrade = (
        heads.thin(array) for array in (results["shape.grading"].part, results["earth.subgrade"].z)
    )
    finish = heads.thin(results["shape.grading"].z)
    below, ballast = ballast_of_parts(_covers(view["build_up"], list(shore.bodies)))
    cosine = np.ones(grid.shape)
    wetted = heads.under & ~heads.bank
    window = _window(wetted)
    # What is steeper is a riser: a step held by the stone that stands before it.
    cosine[window] = np.maximum(bed_cosine(subgrade[window], grid.spacing), STEEPEST)
    found = {}
    for place, (name, body) in enumerate(shore.bodies.items()):
        bed = lined_bed(wetted & (heads.body == place), subgrade, part, cosine, below, ballast)
        if not len(bed.nodes):
            continue
        rows, columns = np.divmod(bed.nodes, grid.columns)
        drop = 0.0 if body.stream is None else heads.thin(body.stream.drop).ravel()[bed.nodes]
        lowest = float((finish.ravel()[bed.nodes] + drop).min())
        levels = _levels(body.level, lowest, results["shape.storage"].bodies[name])
        row: Body = view["shape.bodies"][name]
        # A stream runs dry whenever its pump stops: that is in use as well.
        used = (
            levels["service"]
            if body.stream is not None
            else body.level
            if row.low_level is None
            else row.low_level
        )
        points = np.column_stack([grid.east[columns], grid.north[rows]])
        centre = points.mean(axis=0)
        reach = float(np.hypot(*(points - centre).T).max())
        middle = float(centre[0]), float(centre[1])
        found[name] = LinedBody(bed, points, middle, reach, MappingProxyType(levels), used, drop)
    return found


def _window(under: NDArray[np.bool_]) -> tuple[slice, slice]:
    """Rows and columns that hold all cells under a liner and their neighbours."""
    places = [np.flatnonzero(under.any(axis=axis)) for axis in (1, 0)]
    if not len(places[0]):
        return slice(0, 2), slice(0, 2)
    rows, columns = (slice(max(int(place[0]) - 1, 0), int(place[-1]) + 2) for place in places)
    return rows, columns


def _levels(level: Elevation, lowest: Elevation, storage: Any) -> dict[str, Elevation]:
    """Level of a pond at each of its stages."""
    half = float(np.interp(0.5 * storage.volume, storage.volumes, storage.levels))
    return {"full": level, "half": half, "empty": min(lowest, level), "service": -math.inf}


def _covers(rows: Mapping[str, BuildUp], bodies: list[str]) -> list[tuple[list[int], list[CoverLayer]]]:
    """Layers of every build-up and the parts that it covers."""
    return [
        (
            covered_parts(bodies, row.place.body, row.place.zone if row.place.at == "part" else None),
            [CoverLayer(layer.thickness, layer.porosity, layer.density, layer.seals) for layer in row.layers],
        )
        for row in rows.values()
        if row.place.at != "stretch"
    ]


def spot_of(
    body: LinedBody, head: Elevations, level: Elevation, factor: Ratio, onto: UpliftMap | None = None
) -> Spot:
    """Worst spot of a body at a level, its map filled in.

    Parameters
    ----------
    body : LinedBody
    head : Elevations       Level of the groundwater at each of its spots. [m]
    level : Elevation       Water of the whole body. [m]
    factor : Ratio          Net factor that is wanted. [-]
    onto : UpliftMap        Arrays of the whole grid.

    Returns
    -------
    Spot
    """
    water = body.water(level)
    found = bed_uplift(body.bed, head, water)
    if onto is not None:
        for array, values in ((onto.excess, found.excess), (onto.net, found.net), (onto.gross, found.gross)):
            array.ravel()[body.bed.nodes] = values
    worst = worst_spot(body.bed, found, head, water, factor)
    point = point_of(body, worst.spot)
    return Spot(
        point=point,
        side=side_word(point, body.centre, body.reach),
        excess=worst.excess,
        net=worst.net,
        gross=worst.gross,
        stone=worst.stone,
        lack=lack_of_weight(body.bed, head, water, factor),
        dry=level == -math.inf,
    )


def _stage(spot: Spot, level: Elevation) -> StageUplift:
    """Worst spot of a body at one stage as a result."""
    return StageUplift(
        point=spot.point,
        side=spot.side,
        level=finite_or_none(level),
        excess=spot.excess,
        net=finite_or_none(spot.net),
        gross=finite_or_none(spot.gross),
        stone=spot.stone,
    )


def _wanted(stage: str, limits: Mapping[str, Any]) -> Ratio:
    """Net factor that is wanted at a stage of the pond."""
    code = "groundwater.uplift_in_use" if stage == "full" else "groundwater.uplift_emptied"
    return float(limits[code].value)


def working_drains(heads: Any) -> tuple[str, ...]:
    """Drains that work."""
    return tuple(name for name, drain in heads.drains.items() if not drain.why)


def point_of(body: LinedBody, spot: int) -> tuple[Length, Length]:
    """Where a spot of a body is, east and north. [m]"""
    east, north = body.points[spot]
    return float(east), float(north)


def _empty_map(grid: Grid, wanted: Ratio) -> UpliftMap:
    return UpliftMap(wanted, *(np.full(grid.shape, np.nan) for _ in range(3)))


def finite_or_none(value: float) -> float | None:
    """Same number, or none where it is infinite."""
    return value if math.isfinite(value) else None
