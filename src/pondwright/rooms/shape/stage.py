"""The shape's stages: shore, graded surface, storage.

``shape.shore`` lays rings, distances and coverage; ``shape.grading`` the finish; and
``shape.storage`` what it holds.  Each rests while its own inputs stay the same objects.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit, replaced_limits
from pondwright.base.kinds import (
    AREA,
    COUNT,
    ELEVATION,
    LENGTH,
    RATIO,
    VOLUME,
    Area,
    Areas,
    Elevation,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Ratio,
    Volume,
    Volumes,
)
from pondwright.geometry.curve import Sampled, closed_curve
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import (
    development_index,
    enclosed_area,
    longest_fetch,
    points_inside,
    resampled,
    ring_length,
    self_crossings,
)
from pondwright.job.fields import value_of
from pondwright.job.places import OUTER_RING, Curve
from pondwright.job.shape import STANDARD_BANK, BankType, Berm, Body, Slopes
from pondwright.rooms.shape import checks
from pondwright.rooms.shape.checks import LIMITS
from pondwright.rooms.shape.figures import LITTORAL_DEPTH, littoral_share, mean_depth, volume_development
from pondwright.rooms.shape.grading import (
    BERM,
    EXISTING,
    PLACED_SLOPE,
    Bank,
    Limits,
    Parts,
    blended,
    finish_limits,
    graded,
    open_edge,
    part_code,
    stacked,
    stretch_share,
)
from pondwright.rooms.shape.profile import Profile, Wall, bank_profile, depth_at, riser_walls, wetted_area
from pondwright.rooms.shape.shoreline import (
    SHORE_STEP,
    line_distance,
    misplaced_islands,
    stretch_line,
    water_level,
)
from pondwright.rooms.shape.storage import storage
from pondwright.rooms.site.existing import fits, low_rim

OUTLINE = ("shape.bodies.*.outline", "shape.bodies.*.islands")
BANK = ("shape.bodies.*.bank_type", "shape.bodies.*.stretches", "shape.bank_types")
LEVEL = ("shape.bodies.*.level",)


@dataclass(frozen=True, slots=True, eq=False)
class BodyShore:
    """One body's shore: its rings, the distance to it, and its level."""

    rings: tuple[Lengths, ...]
    ring_names: tuple[str, ...]
    spans: tuple[NDArray[np.int32], ...]
    distance: Lengths
    within: NDArray[np.bool_]
    window: tuple[int, int, int, int]
    rim_low_point: tuple[Length, Length]
    fetch_line: Lengths
    area: Area = figure(AREA, "Area of the water at its level", by=enclosed_area, uses=OUTLINE)
    length: Length = figure(LENGTH, "Length of the shore, islands counted", by=ring_length, uses=OUTLINE)
    development: Ratio = figure(
        RATIO, "Length of the shore against a round pond", by=development_index, uses=OUTLINE
    )
    fetch: Length = figure(LENGTH, "Longest stretch of open water", by=longest_fetch, uses=OUTLINE)
    rim_low: Elevation = figure(
        ELEVATION, "Lowest existing ground on the shore", by=low_rim, uses=(*OUTLINE, "site.ground.z")
    )
    level: Elevation = figure(
        ELEVATION,
        "Water level at rest",
        by=water_level,
        uses=(*LEVEL, "shape.shore.bodies.*.rim_low", "shape.berms.*.freeboard"),
    )
    crest_level: Elevation = figure(
        ELEVATION,
        "Level of the crest, settled",
        uses=("shape.shore.bodies.*.level", "shape.berms.*.freeboard"),
    )

    def windowed(self, grid: Grid) -> tuple[Grid, Lengths]:
        """Part of the grid that the shore spans, and the distance on it: its triangles are the same."""
        first_row, end_row, first_column, end_column = self.window
        part = replace(
            grid,
            origin_east=grid.origin_east + first_column * grid.spacing,
            origin_north=grid.origin_north + first_row * grid.spacing,
            columns=end_column - first_column,
            rows=end_row - first_row,
        )
        return part, self.distance[first_row:end_row, first_column:end_column]


@dataclass(frozen=True, slots=True, eq=False)
class ShoreResult:
    """Shores of all bodies that have a shoreline, in the order in which they are laid."""

    grid: Grid
    bodies: Mapping[str, BodyShore]
    area: Area = figure(AREA, "Area of all water", uses=("shape.shore.bodies.*.area",))


@dataclass(frozen=True, slots=True, eq=False)
class BodyGrading:
    """How one body lies in the ground."""

    first_part: int
    bank: Bank
    profile: Profile
    design_depth: Length = figure(LENGTH, "Depth of its bank type's floor", by=bank_profile, uses=BANK)
    wetted_area: Area = figure(
        AREA,
        "True area under water: slopes, floor and risers",
        by=wetted_area,
        uses=("shape.shore.bodies.*.distance", *BANK),
    )
    wall_area: Area = figure(AREA, "Face of its risers", by=riser_walls, uses=BANK)
    held: Length = figure(
        LENGTH, "Water that stands against placed soil", by=graded, uses=("site.ground.z", *LEVEL)
    )
    bank_height: Length = figure(
        LENGTH,
        "Height of the crest over the lowest foot of placed soil",
        by=graded,
        uses=("site.ground.z", *LEVEL),
    )


@dataclass(frozen=True, slots=True, eq=False)
class GradingResult:
    """The finish of the whole site."""

    z: Elevations
    part: Parts
    walls: tuple[Wall, ...]
    limits: tuple[FloatArray, FloatArray, Parts]
    levels: tuple[Elevation, ...]
    bodies: Mapping[str, BodyGrading]
    let_go: int = figure(COUNT, "Nodes of slopes behind a hill, left as ground", by=graded)


@dataclass(frozen=True, slots=True, eq=False)
class BodyStorage:
    """What one body holds."""

    levels: Elevations
    volumes: Volumes
    areas: Areas
    lip_point: tuple[Length, Length]
    leaves_window: bool
    volume: Volume = figure(
        VOLUME, "Water at its level", by=storage, uses=("shape.grading.z", "shape.shore.bodies.*.level")
    )
    mean_depth: Length = figure(
        LENGTH,
        "Mean depth",
        by=mean_depth,
        uses=("shape.storage.bodies.*.volume", "shape.shore.bodies.*.area"),
    )
    greatest_depth: Length = figure(LENGTH, "Greatest depth", by=storage, uses=("shape.grading.z",))
    volume_development: Ratio = figure(
        RATIO,
        "Volume against a cone of the same area and depth",
        by=volume_development,
        uses=("shape.storage.bodies.*.mean_depth", "shape.storage.bodies.*.greatest_depth"),
    )
    littoral_share: Ratio = figure(
        RATIO,
        "Share of the water shallow enough for plants",
        by=littoral_share,
        uses=("shape.grading.z",),
    )
    lip: Elevation = figure(ELEVATION, "Where it would run over", by=storage, uses=("shape.grading.z",))
    freeboard_left: Length = figure(
        LENGTH,
        "Height of the lip over the water",
        by=storage,
        uses=("shape.storage.bodies.*.lip", "shape.shore.bodies.*.level"),
    )


@dataclass(frozen=True, slots=True, eq=False)
class StorageResult:
    """What all bodies hold."""

    bodies: Mapping[str, BodyStorage]
    volume: Volume = figure(VOLUME, "All water", uses=("shape.storage.bodies.*.volume",))
    area: Area = figure(AREA, "Area of all water", uses=("shape.shore.bodies.*.area",))


def shore_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[ShoreResult, tuple[Finding, ...]]:
    """Shores of all bodies.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `shape.berms`, `rules`.
    results : mapping     Needs `site.ground`.

    Returns
    -------
    ShoreResult and the checks of the shores.

    Raises
    ------
    DomainError           If a shore leaves the grid.
    """
    ground = results["site.ground"]
    limits = _limits(view)
    bodies: dict[str, BodyShore] = {}
    findings: list[Finding] = []
    for name, body in _in_order(view["shape.bodies"]):
        if body.outline.form != "ring":
            findings.append(checks.left_out(name))
            continue
        berm = _berm(view["shape.berms"], name)[1]
        rings = {OUTER_RING: _ring(body.outline.curve)}
        rings |= {island: _ring(curve) for island, curve in body.islands.items()}
        bodies[name] = _shore(name, body, berm, rings, ground.z, ground.grid)
        findings.extend(_shore_findings(name, {ring: each.points for ring, each in rings.items()}, limits))
    total = sum(body.area for body in bodies.values())
    return ShoreResult(ground.grid, MappingProxyType(bodies), total), tuple(findings)


def grading_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[GradingResult, tuple[Finding, ...]]:
    """Finish of the whole site.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `shape.bank_types`, `shape.berms`, `shape.slopes`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`.

    Returns
    -------
    GradingResult and the checks of banks and slopes.
    """
    ground, shore = results["site.ground"], results["shape.shore"]
    grid: Grid = shore.grid
    limits = _limits(view)
    findings: list[Finding] = []
    if not shore.bodies:
        return _untouched(ground.z), ()
    banks = {name: _bank(view["shape.berms"], view["shape.slopes"], name) for name in shore.bodies}
    profiles = {
        name: _profiles(view["shape.bodies"][name], view["shape.bank_types"]) for name in shore.bodies
    }
    layers = [
        _body_limits(view["shape.bodies"][name], shore.bodies[name], profiles[name], banks[name], grid, place)
        for place, name in enumerate(shore.bodies)
    ]
    stack = stacked(layers)
    levels = tuple(body.level for body in shore.bodies.values())
    finish = graded(ground.z, stack, levels)
    own = _own_placed(finish.part, finish.z, ground.z, [body.distance for body in shore.bodies.values()])
    walls: list[Wall] = []
    gradings: dict[str, BodyGrading] = {}
    for place, (name, body) in enumerate(shore.bodies.items()):
        profile = profiles[name][None]
        window, inward = body.windowed(grid)
        body_walls = riser_walls(profile, inward, window, body.level, body.rings)
        walls.extend(body_walls)
        held, height, foot = _bank_heights(own[place], finish.part, ground.z, body, grid)
        gradings[name] = BodyGrading(
            first_part=part_code(place, 0),
            bank=banks[name],
            profile=profile,
            design_depth=max(each.floor_depth for each in profiles[name].values()),
            wetted_area=wetted_area(profile, inward, window, body.area, body_walls),
            wall_area=sum(wall.area for wall in body_walls),
            held=held,
            bank_height=height,
        )
        findings.extend(_bank_findings(name, view["shape.bodies"][name], profiles[name], limits))
        findings.append(checks.check_embankment(name, held, foot, limits))
        slope_sum = banks[name].slope_in + banks[name].fill
        findings.extend(checks.check_crest(name, banks[name].crest_width, slope_sum, held, limits))
    findings.append(checks.check_window(open_edge(finish.part, grid), limits))
    findings.append(checks.let_go(finish.let_go, finish.let_go * grid.cell_area))
    result = GradingResult(
        finish.z, finish.part, tuple(walls), stack, levels, MappingProxyType(gradings), finish.let_go
    )
    return result, tuple(findings)


def storage_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[StorageResult, tuple[Finding, ...]]:
    """What all bodies hold.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `shape.berms`, `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`.

    Returns
    -------
    StorageResult and the checks of rim and depth.
    """
    shore, grading = results["shape.shore"], results["shape.grading"]
    limits = _limits(view)
    bodies: dict[str, BodyStorage] = {}
    findings: list[Finding] = []
    for name, body in shore.bodies.items():
        if not body.within.any():
            raise DomainError(f"`{name}` must be larger than one cell of the grid, got {body.area:.3g} m²")
        wintering = limits["shape.wintering_depth"].value
        held = storage(grading.z, body.within, shore.grid, body.level, (LITTORAL_DEPTH, wintering))
        littoral, deep = held.deeper_areas
        mean = mean_depth(held.volume, body.area)
        bodies[name] = BodyStorage(
            levels=held.levels,
            volumes=held.volumes,
            areas=held.areas,
            lip_point=held.lip_point,
            leaves_window=held.leaves_window,
            volume=held.volume,
            mean_depth=mean,
            greatest_depth=held.deepest,
            volume_development=volume_development(mean, held.deepest) if held.deepest > 0.0 else 0.0,
            littoral_share=littoral_share(littoral, held.area) if held.area > 0.0 else 1.0,
            lip=held.lip,
            freeboard_left=held.lip - body.level,
        )
        berm, row = _berm(view["shape.berms"], name)
        grade = grading.bodies[name]
        findings += [
            checks.check_rim(
                name, body.level, held.lip, held.lip_point, value_of(row, "freeboard"), berm, limits
            ),
            checks.check_freeboard(name, held.lip - body.level, held.lip_point, limits),
            checks.check_design_depth(name, grade.design_depth - held.deepest, limits),
            checks.check_drowning(name, held.deepest, limits),
            *checks.check_dam(name, grade.bank_height, held.volume, grade.held, held.lip_point, limits),
        ]
        if view["shape.bodies"][name].role == "pond":
            findings.append(checks.check_wintering(name, deep / held.area if held.area else 0.0, limits))
    total = sum(body.volume for body in bodies.values())
    return StorageResult(MappingProxyType(bodies), total, shore.area), tuple(findings)


def _limits(view: Mapping[str, Any]) -> dict[str, Limit]:
    """Limits of the shape's checks, as this job has them."""
    own = {code: rule.limit for code, rule in view["rules"].items() if rule.limit is not None}
    return replaced_limits(LIMITS, own)


def _in_order(bodies: Mapping[str, Body]) -> list[tuple[str, Body]]:
    """Bodies in the order in which they are laid: by rank, then by id."""
    return sorted(bodies.items(), key=lambda item: (item[1].rank, item[0]))


def _berm(berms: Mapping[str, Berm], body: str) -> tuple[str | None, Berm]:
    """Id and row of the berm of a body; no id and stated defaults where it has none."""
    for name, berm in berms.items():
        if berm.body == body:
            return name, berm
    return None, Berm(body=body)


def _bank(berms: Mapping[str, Berm], slopes: Slopes, body: str) -> Bank:
    """Bank above the water: the berm's own dry slope goes before the general one."""
    berm = _berm(berms, body)[1]
    return Bank(
        freeboard=value_of(berm, "freeboard"),
        slope_in=value_of(berm, "slope_in"),
        crest_width=value_of(berm, "crest_width"),
        cut=value_of(slopes, "cut"),
        fill=value_of(slopes, "fill") if berm.slope_out is None else berm.slope_out,
    )


def _ring(curve: Curve) -> Sampled:
    return closed_curve([(peg.east, peg.north) for peg in curve.pegs], [peg.corner for peg in curve.pegs])


def _shore(
    name: str, body: Body, berm: Berm, rings: Mapping[str, Sampled], z: Elevations, grid: Grid
) -> BodyShore:
    """Shore of one body."""
    points = tuple(ring.points for ring in rings.values())
    if not fits(grid, points[0]):
        raise DomainError(f"`shape.bodies.{name}.outline` must lie inside the grid of the ground")
    distance = signed_distance(grid, points)
    rim = low_rim(z, grid, points[0])
    freeboard = value_of(berm, "freeboard")
    level = water_level(body.level, rim.elevation, freeboard)
    area = abs(enclosed_area(points))
    walked = [resampled(ring, SHORE_STEP) for ring in points]
    fetch, fetch_line = longest_fetch(points)
    return BodyShore(
        rings=points,
        ring_names=tuple(rings),
        spans=tuple(ring.span for ring in rings.values()),
        distance=distance,
        within=_within(distance, points[1:], grid),
        window=_window(points[0], grid),
        rim_low_point=(rim.east, rim.north),
        fetch_line=fetch_line,
        area=area,
        length=sum(ring_length(ring) for ring in points),
        development=development_index(sum(ring_length(ring) for ring in walked), area),
        fetch=fetch,
        rim_low=rim.elevation,
        level=level,
        crest_level=level + freeboard,
    )


def _window(ring: Lengths, grid: Grid) -> tuple[int, int, int, int]:
    """First and end row, first and end column of the nodes around a ring."""
    low = (ring.min(axis=0) - (grid.origin_east, grid.origin_north)) / grid.spacing
    high = (ring.max(axis=0) - (grid.origin_east, grid.origin_north)) / grid.spacing
    # Even starts keep the diagonals of the cells where they are in the whole grid.
    row, column = (2 * max(int(start) // 2, 0) for start in (low[1], low[0]))
    return row, min(int(high[1]) + 2, grid.rows), column, min(int(high[0]) + 2, grid.columns)


def _within(distance: Lengths, islands: Sequence[Lengths], grid: Grid) -> NDArray[np.bool_]:
    """Nodes within the outer shore: those in the water and those of islands."""
    within = distance > 0.0
    for island in islands:
        first_row, end_row, first_column, end_column = _window(island, grid)
        east, north = np.meshgrid(grid.east[first_column:end_column], grid.north[first_row:end_row])
        ashore = points_inside([island], np.column_stack([east.ravel(), north.ravel()]))
        within[first_row:end_row, first_column:end_column] |= ashore.reshape(east.shape)
    return within


def _shore_findings(name: str, rings: Mapping[str, Lengths], limits: dict[str, Limit]) -> tuple[Finding, ...]:
    """Checks of the rings of one body."""
    crossings = [self_crossings(ring) for ring in rings.values()]
    points = [(float(east), float(north)) for group in crossings for east, north in group]
    findings = [checks.check_crossings(name, points, limits)]
    islands = {ring: line for ring, line in rings.items() if ring != OUTER_RING}
    if islands:
        findings.append(checks.check_islands(name, misplaced_islands(rings[OUTER_RING], islands), limits))
    return tuple(findings)


def _profiles(body: Body, bank_types: Mapping[str, BankType]) -> dict[str | None, Profile]:
    """Profile of a body (under no name) and of each of its stretches."""
    banks: dict[str | None, BankType] = {
        None: STANDARD_BANK if body.bank_type is None else bank_types[body.bank_type]
    }
    for name, stretch in body.stretches.items():
        banks[name] = bank_types[stretch.bank_type]
    return {
        name: bank_profile([(point.distance, point.depth) for point in bank.points])
        for name, bank in banks.items()
    }


def _body_limits(
    body: Body, shore: BodyShore, profiles: Mapping[str | None, Profile], bank: Bank, grid: Grid, place: int
) -> Limits:
    """Lowest and highest finish of one body, its stretches blended in."""
    limits = finish_limits(profiles[None], bank, shore.distance, grid.spacing, place)
    for name, stretch in body.stretches.items():
        ring = shore.ring_names.index(stretch.ring)
        curve = body.outline.curve if stretch.ring == OUTER_RING else body.islands[stretch.ring]
        pegs = [peg.id for peg in curve.pegs]
        line = stretch_line(shore.rings[ring], shore.spans[ring], pegs, stretch.start, stretch.end)
        share = stretch_share(shore.distance, line_distance(grid, line), value_of(stretch, "blend"))
        own = finish_limits(profiles[name], bank, shore.distance, grid.spacing, place)
        limits = blended(limits, own, share)
    return limits


def _untouched(z: Elevations) -> GradingResult:
    """Finish of a job without a body: the ground itself."""
    part = np.zeros(z.shape, dtype=np.int8)
    nothing = np.zeros((0, *z.shape))
    limits = (nothing, nothing, np.zeros((0, *z.shape), dtype=np.int8))
    return GradingResult(z, part, (), limits, (), MappingProxyType({}), 0)


def _own_placed(
    part: Parts, z: Elevations, ground: Elevations, distances: Sequence[Lengths]
) -> list[NDArray[np.bool_]]:
    """Nodes of placed soil, given to the body whose shore is nearest."""
    placed = ((part == BERM) | (part == PLACED_SLOPE)) & (z > ground)
    if len(distances) == 1:
        return [placed]
    nearest = np.argmax(np.stack(distances), axis=0)
    return [placed & (nearest == place) for place in range(len(distances))]


def _bank_heights(
    placed: NDArray[np.bool_], part: Parts, ground: Elevations, body: BodyShore, grid: Grid
) -> tuple[Length, Length, tuple[Length, Length] | None]:
    """Water against placed soil, height of the crest above its lowest outer foot, and where that is.

    Soil that fills a hollow has no outer foot there: what counts is where it ends on untouched ground,
    and the water that stands against it is no deeper than that.
    """
    nodes = np.flatnonzero(placed & _beside_untouched(part))
    if not len(nodes):
        return 0.0, 0.0, None
    foot = int(nodes[np.argmin(ground.ravel()[nodes])])
    row, column = divmod(foot, grid.columns)
    elevation = float(ground.ravel()[foot])
    place = (grid.origin_east + column * grid.spacing, grid.origin_north + row * grid.spacing)
    under_berm = ground[placed & (part == BERM)]
    held = max(body.level - max(float(under_berm.min()), elevation), 0.0) if len(under_berm) else 0.0
    return held, body.crest_level - elevation, place


def _beside_untouched(part: Parts) -> NDArray[np.bool_]:
    """Nodes with a neighbour that the design leaves as it is; beyond the window all is untouched."""
    untouched = np.pad(part == EXISTING, 1, constant_values=True)
    return untouched[:-2, 1:-1] | untouched[2:, 1:-1] | untouched[1:-1, :-2] | untouched[1:-1, 2:]


def _bank_findings(
    name: str, body: Body, profiles: Mapping[str | None, Profile], limits: dict[str, Limit]
) -> list[Finding]:
    """Checks of the banks of one body, stretch by stretch."""
    if body.role in ("stream", "wetland"):
        return []
    ledge_depth = limits["shape.ledge_depth"].value
    findings = []
    for stretch, profile in profiles.items():
        bank = "bank" if stretch is None else f"bank at {stretch}"
        tallest = float(profile.heights.max(initial=0.0))
        findings.append(checks.check_risers(name, bank, tallest, limits))
        findings.append(checks.check_ledge(name, bank, _ledge_width(profile, ledge_depth), limits))
    return findings


def _ledge_width(profile: Profile, ledge_depth: Length) -> Length:
    """Distance from the shore up to which the water is no deeper than a ledge."""
    steps = np.linspace(0.0, profile.reach, 200)
    deeper = np.flatnonzero(depth_at(profile, steps) > ledge_depth)
    return float(steps[max(deeper[0] - 1, 0)]) if len(deeper) else float("inf")
