"""The finish of the whole site."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    AREA,
    COUNT,
    LENGTH,
    Area,
    Elevation,
    Elevations,
    FloatArray,
    Length,
    Lengths,
)
from pondwright.geometry.grid import Grid
from pondwright.job.curves import line_of, ring_of
from pondwright.job.fields import value_of
from pondwright.job.places import OUTER_RING, LinePlace
from pondwright.job.shape import (
    STANDARD_BANK,
    STANDARD_STREAM,
    BankType,
    Berm,
    Body,
    CorridorOutline,
    Mound,
    RingOutline,
    Slopes,
    Way,
)
from pondwright.rooms.shape.checks import water as checks
from pondwright.rooms.shape.checks.stone import check_stone_fit
from pondwright.rooms.shape.grading import (
    BERM,
    EXISTING,
    FIRST_ZONE,
    PATH,
    PLACED_SLOPE,
    Bank,
    Graded,
    Limits,
    Parts,
    blended,
    fallen_floor,
    finish_limits,
    graded,
    open_edge,
    part_code,
    stacked,
    stream_limits,
    stretch_share,
)
from pondwright.rooms.shape.laid import LaidMound, LaidWay, mound_limits, part_of, way_limits, yielding
from pondwright.rooms.shape.profile import Profile, Wall, bank_profile, depth_at, riser_walls, wetted_area
from pondwright.rooms.shape.shoreline import (
    line_distance,
    stretch_line,
)
from pondwright.rooms.shape.stage.rows import BANK, LEVEL, berm_of, limits_of
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult
from pondwright.rooms.shape.stone_fit import stone_fits
from pondwright.rooms.shape.stream import bed_share

MOUNDS, WAYS = "(mounds)", "(ways)"
"""Names of what is laid beside the bodies; no body can have them."""

ON_GROUND = frozenset({"path", "pad", "bed", "steps"})
"""Kinds of ways that lie on the ground; the others span it."""


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
    own_limits: Mapping[str, Limits]
    bodies: Mapping[str, BodyGrading]
    let_go: int = figure(COUNT, "Nodes of slopes behind a hill, left as ground", by=graded)


def grading_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[GradingResult, tuple[Finding, ...]]:
    """Finish of the whole site.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `shape.bank_types`, `shape.berms`, `shape.slopes`,
                          `shape.mounds`, `shape.ways`, `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`.
    last : Last           Limits of bodies, ways and mounds that nothing has moved are taken over as they are.

    Returns
    -------
    GradingResult and the checks of banks and slopes.
    """
    ground, shore = results["site.ground"], results["shape.shore"]
    grid: Grid = shore.grid
    limits = limits_of(view)
    findings: list[Finding] = []
    if not (shore.bodies or view["shape.ways"] or view["shape.mounds"]):
        return _untouched(ground.z), ()
    banks = {name: _bank(view["shape.berms"], view["shape.slopes"], name) for name in shore.bodies}
    profiles = {
        name: _profiles(view["shape.bodies"][name], view["shape.bank_types"]) for name in shore.bodies
    }
    own_limits = _own_limits(view, results, last, profiles, banks)
    if not own_limits:
        return _untouched(ground.z), ()
    stack = _meeting(own_limits, shore)
    # Ways and mounds are told as elevations: they stand on level zero, after the bodies.
    beside = len(own_limits) - len(shore.bodies)
    levels = (*(body.level for body in shore.bodies.values()), *(0.0,) * beside)
    finish = _with_paths(graded(ground.z, stack, levels), view["shape.ways"], shore.grid)
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
        if body.stream is not None:
            continue
        findings.append(checks.check_embankment(name, held, foot, limits))
        slope_sum = banks[name].slope_in + banks[name].fill
        findings.extend(checks.check_crest(name, banks[name].crest_width, slope_sum, held, limits))
    findings.append(checks.check_window(open_edge(finish.part, grid), limits))
    findings.append(checks.let_go(finish.let_go, finish.let_go * grid.cell_area))
    result = GradingResult(
        finish.z,
        finish.part,
        tuple(walls),
        stack,
        levels,
        MappingProxyType(own_limits),
        MappingProxyType(gradings),
        finish.let_go,
    )
    return result, tuple(findings)


def _profiles(body: Body, bank_types: Mapping[str, BankType]) -> dict[str | None, Profile]:
    """Profile of a body (under no name) and of each of its stretches."""
    banks: dict[str | None, BankType] = {
        None: bank_types[body.bank_type] if body.bank_type is not None else _standard(body)
    }
    for name, stretch in body.stretches.items():
        banks[name] = bank_types[stretch.bank_type]
    return {
        name: bank_profile([(point.distance, point.depth) for point in bank.points])
        for name, bank in banks.items()
    }


def _standard(body: Body) -> BankType:
    return STANDARD_BANK if isinstance(body.outline, RingOutline) else STANDARD_STREAM


def _own_limits(
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    last: Any,
    profiles: Mapping[str, Mapping[str | None, Profile]],
    banks: Mapping[str, Bank],
) -> dict[str, Limits]:
    """Limits of each body by itself, then of mounds and ways, without regard for one another's water."""
    shore, ground = results["shape.shore"], results["site.ground"]
    found: dict[str, Limits] = {}
    for place, (name, body) in enumerate(shore.bodies.items()):
        row = view["shape.bodies"][name]
        found[name] = _unmoved(name, place, view, results, last, banks[name]) or _body_limits(
            row, body, profiles[name], banks[name], shore.grid, place
        )
    known = {} if last is None or last.results["site.ground"] is not ground else last.result.own_limits
    if view["shape.mounds"]:
        same = MOUNDS in known and last.view["shape.mounds"] is view["shape.mounds"]
        mounds = [_mound(row) for row in view["shape.mounds"].values()]
        found[MOUNDS] = known[MOUNDS] if same else mound_limits(mounds, ground.z, shore.grid)
    if ways := [way for row in view["shape.ways"].values() if (way := _laid_way(row))]:
        same = WAYS in known and all(last.view[path] is view[path] for path in ("shape.ways", "shape.slopes"))
        cut, fill = (value_of(view["shape.slopes"], side) for side in ("cut", "fill"))
        found[WAYS] = known[WAYS] if same else way_limits(ways, shore.grid, cut, fill)
    return found


def _unmoved(
    name: str, place: int, view: Mapping[str, Any], results: Mapping[str, Any], last: Any, bank: Bank
) -> Limits | None:
    """Limits of last time of a body whose shore, row, place and bank are the same."""
    if last is None or last.view["shape.bank_types"] is not view["shape.bank_types"]:
        return None
    before, now = last.results["shape.shore"].bodies, results["shape.shore"].bodies
    same = (
        name in before
        and before[name] is now[name]
        and last.view["shape.bodies"][name] is view["shape.bodies"][name]
        and list(before).index(name) == place
        and last.result.bodies[name].bank == bank
    )
    return last.result.own_limits[name] if same else None


def _meeting(own: Mapping[str, Limits], shore: ShoreResult) -> tuple[FloatArray, FloatArray, Parts]:
    """Limits in the order of laying, each yielding where another water is; a stream yields to all others."""
    stack = stacked(list(own.values()))
    if len(own) == 1:
        return stack
    for layer, name in enumerate(own):
        mine = shore.bodies.get(name)
        for other, body in shore.bodies.items():
            if other == name:
                continue
            window = slice(*body.window[:2]), slice(*body.window[2:])
            water = body.distance[window] > 0.0
            if mine is not None and (mine.stream is None or body.stream is not None):
                water &= mine.distance[window] <= 0.0
            lower, upper, region = (array[layer][window] for array in stack)
            yielding(lower, upper, region, water)
    for array in stack:
        array.flags.writeable = False
    return stack


def _with_paths(finish: Graded, ways: Mapping[str, Way], grid: Grid) -> Graded:
    """Finish with the nodes of paths named; where there is water, a way is a bridge over it."""
    if not ways:
        return finish
    part = finish.part.copy()
    for way in ways.values():
        if way.kind in ON_GROUND and isinstance(way.place, LinePlace):
            line, half = _line(way.place), 0.5 * value_of(way, "width")
            chosen, window = part_of(grid, line, half)
            on_way = (line_distance(window, line) <= half) & (part[chosen] < FIRST_ZONE)
            part[chosen][on_way] = PATH
    part.flags.writeable = False
    return replace(finish, part=part)


def _laid_way(way: Way) -> LaidWay | None:
    """A way that is laid into the ground: a path, a pad, a bed or steps with a level."""
    if way.kind not in ON_GROUND or way.level is None or not isinstance(way.place, LinePlace):
        return None
    return LaidWay(_line(way.place), value_of(way, "width"), way.level)


def _line(place: LinePlace) -> Lengths:
    return np.array([(point.east, point.north) for point in place.points])


def _mound(row: Mound) -> LaidMound:
    height = row.height * (1.0 + value_of(row, "settlement"))
    return LaidMound(ring_of(row.place.curve).points, height, value_of(row, "slope"))


def _body_limits(
    body: Body, shore: BodyShore, profiles: Mapping[str | None, Profile], bank: Bank, grid: Grid, place: int
) -> Limits:
    """Lowest and highest finish of one body, its stretches blended in."""
    limits = finish_limits(profiles[None], bank, shore.distance, grid.spacing, place)
    for name, stretch in () if shore.stream else body.stretches.items():
        ring = shore.ring_names.index(stretch.ring)
        curve = body.outline.curve if stretch.ring == OUTER_RING else body.islands[stretch.ring]
        pegs = [peg.id for peg in curve.pegs]
        line = stretch_line(shore.rings[ring], shore.spans[ring], pegs, stretch.start, stretch.end)
        share = stretch_share(shore.distance, line_distance(grid, line), value_of(stretch, "blend"))
        own = finish_limits(profiles[name], bank, shore.distance, grid.spacing, place)
        limits = blended(limits, own, share)
    if shore.stream is not None:
        stream = shore.stream
        share = bed_share(stream.station, stream.reaches, grid.spacing)
        return stream_limits(limits, shore.distance, stream.drop, share, _bed(body, shore))
    if body.floor_fall is not None:
        reach = max(each.reach for each in profiles.values())
        spot = _low_spot(body, shore, grid)
        return fallen_floor(limits, shore.distance, reach, body.floor_fall, spot, grid)
    return limits


def _bed(body: Body, shore: BodyShore) -> Lengths | None:
    """Depth of a stream's bed below the water of its reach at every node, if it is told."""
    assert isinstance(body.outline, CorridorOutline) and shore.stream is not None
    if not body.outline.bed:
        return None
    stream, line = shore.stream, line_of(body.outline.curve)
    bed = np.interp(line.span + line.parameter, np.arange(len(body.outline.bed)), body.outline.bed)
    return shore.level - stream.drop - np.interp(stream.station, stream.corridor.station, bed)


def _low_spot(body: Body, shore: BodyShore, grid: Grid) -> tuple[Length, Length]:
    """Low spot of the floor: the document's, or where the water is widest."""
    if body.low_spot is not None:
        return body.low_spot.east, body.low_spot.north
    row, column = divmod(int(np.argmax(shore.distance)), grid.columns)
    return grid.origin_east + column * grid.spacing, grid.origin_north + row * grid.spacing


def _untouched(z: Elevations) -> GradingResult:
    """Finish of a job in which nothing is drawn: the ground itself."""
    part = np.zeros(z.shape, dtype=np.int8)
    nothing = np.zeros((0, *z.shape))
    limits = (nothing, nothing, np.zeros((0, *z.shape), dtype=np.int8))
    return GradingResult(z, part, (), limits, (), MappingProxyType({}), MappingProxyType({}), 0)


def _own_placed(
    part: Parts, z: Elevations, ground: Elevations, distances: Sequence[Lengths]
) -> list[NDArray[np.bool_]]:
    """Nodes of placed soil, given to the body whose shore is nearest."""
    placed = ((part == BERM) | (part == PLACED_SLOPE)) & (z > ground)
    if len(distances) == 1:
        return [placed]
    nearest = np.zeros(part.shape, dtype=np.intp)
    if distances:
        nearest[placed] = np.argmax(np.stack([distance[placed] for distance in distances]), axis=0)
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


def _bank(berms: Mapping[str, Berm], slopes: Slopes, body: str) -> Bank:
    """Bank above the water: the berm's own dry slope goes before the general one."""
    berm = berm_of(berms, body)[1]
    return Bank(
        freeboard=value_of(berm, "freeboard"),
        slope_in=value_of(berm, "slope_in"),
        crest_width=value_of(berm, "crest_width"),
        cut=value_of(slopes, "cut"),
        fill=value_of(slopes, "fill") if berm.slope_out is None else berm.slope_out,
    )


def _bank_findings(
    name: str, body: Body, profiles: Mapping[str | None, Profile], limits: dict[str, Limit]
) -> list[Finding]:
    """Checks of the banks of one body, stretch by stretch."""
    if body.role in ("stream", "wetland") or isinstance(body.outline, CorridorOutline):
        return []
    ledge_depth = limits["shape.ledge_depth"].value
    findings = []
    for stretch, profile in profiles.items():
        bank = "bank" if stretch is None else f"bank at {stretch}"
        tallest = float(profile.heights.max(initial=0.0))
        findings.append(checks.check_risers(name, bank, tallest, limits))
        findings.append(checks.check_ledge(name, bank, _ledge_width(profile, ledge_depth), limits))
        findings.extend(check_stone_fit(name, bank, stone_fits(profile), limits))
    return findings


def _ledge_width(profile: Profile, ledge_depth: Length) -> Length:
    """Distance from the shore up to which the water is no deeper than a ledge."""
    steps = np.linspace(0.0, profile.reach, 200)
    deeper = np.flatnonzero(depth_at(profile, steps) > ledge_depth)
    return float(steps[max(deeper[0] - 1, 0)]) if len(deeper) else float("inf")
