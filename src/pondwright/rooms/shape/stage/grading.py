"""The finish of the whole site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache, reduce
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
    SLOPE,
    Area,
    Elevation,
    Elevations,
    FloatArray,
    Length,
    Lengths,
    Slope,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.grading import name_paths
from pondwright.geometry.polygon import line_length
from pondwright.geometry.volume import StageSums
from pondwright.geometry.window import NOWHERE, Window, changed, joined, whole
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
    Bank,
    BankStretch,
    Feet,
    Limits,
    Parts,
    blended,
    connected,
    fallen_floor,
    finish_limits,
    graded,
    open_edge,
    part_code,
    placed_feet,
    stream_limits,
    stretch_share,
)
from pondwright.rooms.shape.laid import (
    LaidMound,
    LaidWay,
    mound_limits,
    part_of,
    way_limits,
)
from pondwright.rooms.shape.profile import Profile, Wall, bank_profile, depth_at, riser_walls, wetted_area
from pondwright.rooms.shape.shoreline import (
    line_distance,
    stretch_line,
)
from pondwright.rooms.shape.slopes import dug_slope
from pondwright.rooms.shape.stage.layers import Layers, layers, stack_of
from pondwright.rooms.shape.stage.mouths import Gap, Mouth, gaps, waters_of
from pondwright.rooms.shape.stage.rows import BANK, LEVEL, berm_of, limits_of, risers_of
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
    stretches: tuple[BankStretch, ...]
    walls: tuple[Wall, ...]
    told: tuple[Finding, ...]
    sums: StageSums | None
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
    layers: Layers | None
    on_paths: NDArray[np.intp]
    feet: Feet | None
    bodies: Mapping[str, BodyGrading]
    cut_slope: Slope = figure(
        SLOPE,
        "Dug slopes, level for one upright",
        by=dug_slope,
        uses=("shape.slopes.cut", "site.soils.*.layers"),
    )
    let_go: int = figure(COUNT, "Nodes of slopes behind a hill, left as ground", by=graded)

    @property
    def mouths(self) -> tuple[Mouth, ...]:
        """Where streams lie in the rims of other waters."""
        return self.layers.mouths if self.layers else ()

    def laid_limits(self, shore: ShoreResult) -> tuple[FloatArray, FloatArray, Parts]:
        """Limits of all layers as they were laid, in a job in which something is drawn.

        Parameters
        ----------
        shore : ShoreResult

        Returns
        -------
        tuple of (layers, rows, columns) arrays     Lower, upper and region, layer first; read-only.
        """
        assert self.layers is not None
        return stack_of(self.layers.own, shore, self.layers.gaps)[0]

    def waters(self, shore: ShoreResult) -> dict[str, NDArray[np.bool_]]:
        """Nodes within the shore of each body; of a stream only those in no other water or rim.

        Parameters
        ----------
        shore : ShoreResult

        Returns
        -------
        (rows, columns) bool arrays by id
        """
        return waters_of(shore, self.mouths)


def grading_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[GradingResult, tuple[Finding, ...]]:
    """Finish of the whole site.

    Parameters
    ----------
    view : mapping        Reads `shape.bodies`, `shape.bank_types`, `shape.berms`, `shape.slopes`,
                          `site.soils`, `shape.mounds`, `shape.ways`, `rules`.
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
    cut = dug_slope_of(view)
    if not (shore.bodies or view["shape.ways"] or view["shape.mounds"]):
        return _untouched(ground.z, cut), ()
    banks = _banks(view, cut, shore, last)
    profiles = {
        name: _profiles(view["shape.bodies"][name], view["shape.bank_types"]) for name in shore.bodies
    }
    own_limits, moved = _own_limits(view, results, last, profiles, banks)
    if not own_limits:
        return _untouched(ground.z, cut), ()
    before = _laid_before(results, last)
    known = None if before is None else (before.layers, before.shore)
    found = gaps(shore, banks, _known_gaps(own_limits, before))
    laid = layers(ground.z, MappingProxyType(own_limits), moved, shore, found, known)
    finish = connected(laid.laid, ground.z)
    on_paths = _on_paths(view["shape.ways"], grid, last)
    part = _with_paths(finish.part, on_paths)
    distances = [body.distance for body in shore.bodies.values()]
    feet = placed_feet(
        finish.z, part, ground.z, distances, _feet_before(before, finish.z, part, moved, shore)
    )
    lowest, under_berm = feet.lowest(ground.z)
    gradings: dict[str, BodyGrading] = {}
    for place, (name, body) in enumerate(shore.bodies.items()):
        row = view["shape.bodies"][name]
        if before is not None and before.layers.own.get(name) is own_limits[name]:
            grading = before.grading.bodies[name]
        else:
            stretches = _stretches(row, body, profiles[name])
            was = None if before is None else before.grading.bodies.get(name)
            sums = _sums_beyond(body, profiles[name], grid, None if was is None else (was, moved[name]))
            grading = _body_grading(place, body, profiles[name], stretches, banks[name], grid, sums)
        told = _told_before(name, view, last)
        if told is None:
            told = _bank_findings(name, row, profiles[name], limits)
        held, height, foot = _bank_heights(body, ground.z, int(lowest[place]), float(under_berm[place]), grid)
        if (grading.told, grading.held, grading.bank_height) != (told, held, height):
            grading = replace(grading, told=told, held=held, bank_height=height)
        gradings[name] = grading
        findings.extend(told)
        if body.stream is not None:
            continue
        findings.append(checks.check_embankment(name, held, foot, limits))
        slope_sum = banks[name].slope_in + banks[name].fill
        findings.extend(checks.check_crest(name, banks[name].crest_width, slope_sum, held, limits))
    findings.append(checks.check_window(open_edge(part, grid), limits))
    findings.append(checks.let_go(finish.let_go, finish.let_go * grid.cell_area))
    result = GradingResult(
        finish.z,
        part,
        tuple(wall for grading in gradings.values() for wall in grading.walls),
        laid,
        on_paths,
        feet,
        MappingProxyType(gradings),
        cut,
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
        name: _profile(tuple([(point.distance, point.depth) for point in bank.points]))
        for name, bank in banks.items()
    }


@lru_cache(maxsize=256)
def _profile(points: tuple[tuple[Length, Length], ...]) -> Profile:
    """Profile through points: banks rest while a shore is dragged."""
    return bank_profile(points)


def _standard(body: Body) -> BankType:
    return STANDARD_BANK if isinstance(body.outline, RingOutline) else STANDARD_STREAM


def _own_limits(
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    last: Any,
    profiles: Mapping[str, Mapping[str | None, Profile]],
    banks: Mapping[str, Bank],
) -> tuple[dict[str, Limits], dict[str, Window]]:
    """Limits of each body by itself, then of mounds and ways, without regard for one another's water.

    With them, for each the nodes at which it can differ from last time.
    """
    shore, ground = results["shape.shore"], results["site.ground"]
    found: dict[str, Limits] = {}
    moved: dict[str, Window] = {}
    for place, (name, body) in enumerate(shore.bodies.items()):
        row = view["shape.bodies"][name]
        moved[name] = _moved(name, place, view, results, last, banks[name])
        if moved[name] == NOWHERE:
            found[name] = last.result.layers.own[name]
        else:
            everywhere = moved[name] == whole(shore.grid.shape)
            known = None if everywhere else (last.result.layers.own[name], moved[name])
            found[name] = _body_limits(row, body, profiles[name], banks[name], shore.grid, place, known)
    before = _laid_before(results, last)
    known_layers = {} if before is None else before.layers.own
    if view["shape.mounds"]:
        same = MOUNDS in known_layers and last.view["shape.mounds"] is view["shape.mounds"]
        mounds = [_mound(row) for row in view["shape.mounds"].values()]
        found[MOUNDS] = known_layers[MOUNDS] if same else mound_limits(mounds, ground.z, shore.grid)
        moved[MOUNDS] = NOWHERE if same else whole(shore.grid.shape)
    if WAYS in known_layers and all(
        last.view[path] is view[path] for path in ("shape.ways", "shape.slopes", "site.soils")
    ):
        found[WAYS], moved[WAYS] = known_layers[WAYS], NOWHERE
    elif ways := [way for row in view["shape.ways"].values() if (way := _laid_way(row))]:
        fill = value_of(view["shape.slopes"], "fill")
        found[WAYS] = way_limits(ways, shore.grid, dug_slope_of(view), fill)
        moved[WAYS] = whole(shore.grid.shape)
    return found, moved


def _moved(
    name: str, place: int, view: Mapping[str, Any], results: Mapping[str, Any], last: Any, bank: Bank
) -> Window:
    """Nodes at which the limits of a body can differ from last time; none if all they tell of is the same."""
    before, now = None if last is None else last.results["shape.shore"], results["shape.shore"]
    everywhere = whole(now.grid.shape)
    if before is None or name not in before.bodies or before.grid != now.grid:
        return everywhere
    if last.view["shape.bank_types"] is not view["shape.bank_types"]:
        return everywhere
    if list(before.bodies).index(name) != place or last.result.bodies[name].bank != bank:
        return everywhere
    was, row = last.view["shape.bodies"][name], view["shape.bodies"][name]
    bodies = before.bodies[name], now.bodies[name]
    if was is row and bodies[0] is bodies[1]:
        return NOWHERE
    # A stretch, a reach or the fall of a floor is told by more than the distance from the shore.
    if was.bank_type != row.bank_type or any(
        body.stream or each.stretches or each.floor_fall is not None
        for body, each in zip(bodies, (was, row), strict=True)
    ):
        return everywhere
    window = changed(bodies[0].distance, bodies[1].distance)
    return everywhere if window == NOWHERE else window


@dataclass(frozen=True, slots=True, eq=False)
class _Before:
    """What was laid last time into the same ground."""

    grading: GradingResult
    layers: Layers
    shore: ShoreResult


def _laid_before(results: Mapping[str, Any], last: Any) -> _Before | None:
    """What was laid last time, if it was into the same ground."""
    if last is None or last.results["site.ground"] is not results["site.ground"]:
        return None
    if last.result.layers is None:
        return None
    return _Before(last.result, last.result.layers, last.results["shape.shore"])


def _known_gaps(own: Mapping[str, Limits], before: _Before | None) -> dict[tuple[str, str], tuple[Gap, ...]]:
    """Gaps of last time by stream and other water, of those that have the same limits."""
    if before is None:
        return {}
    known, shores = before.layers, before.shore.bodies
    still = [name for name in shores if name in own and known.own[name] is own[name]]
    return {
        (stream, body): tuple(one for one in known.gaps if (one.stream, one.body) == (stream, body))
        for stream in still
        if shores[stream].stream is not None
        for body in still
    }


def _on_paths(ways: Mapping[str, Way], grid: Grid, last: Any) -> NDArray[np.intp]:
    """Flat indices of the nodes on paths; where there is water, a way is a bridge over it."""
    known = last is not None and last.result.layers is not None
    if known and last.view["shape.ways"] is ways and last.results["shape.shore"].grid == grid:
        found: NDArray[np.intp] = last.result.on_paths
        return found
    nodes = np.zeros(grid.shape, dtype=np.bool_)
    for way in ways.values():
        if way.kind in ON_GROUND and isinstance(way.place, LinePlace):
            line, half = _line(way.place), 0.5 * value_of(way, "width")
            chosen, window = part_of(grid, line, half)
            nodes[chosen] |= line_distance(window, line) <= half
    return np.flatnonzero(nodes)


def _with_paths(part: Parts, on_paths: NDArray[np.intp]) -> Parts:
    """Parts of the finish with the nodes of paths named."""
    if not len(on_paths):
        return part
    named = part.copy()
    name_paths(on_paths, named.ravel())
    named.flags.writeable = False
    return named


def _body_grading(
    place: int,
    body: BodyShore,
    profiles: Mapping[str | None, Profile],
    stretches: tuple[BankStretch, ...],
    bank: Bank,
    grid: Grid,
    sums: StageSums | None,
) -> BodyGrading:
    """How one body lies in the ground, but for what is placed around it."""
    window, inward = body.windowed(grid)
    walls = riser_walls(profiles[None], inward, window, body.level, body.rings)
    return BodyGrading(
        first_part=part_code(place, 0),
        bank=bank,
        profile=profiles[None],
        stretches=stretches,
        walls=walls,
        told=(),
        sums=sums,
        design_depth=max(each.floor_depth for each in profiles.values()),
        wetted_area=wetted_area(profiles[None], inward, window, body.area, walls, sums),
        wall_area=sum(wall.area for wall in walls),
        held=0.0,
        bank_height=0.0,
    )


def _sums_beyond(
    body: BodyShore,
    profiles: Mapping[str | None, Profile],
    grid: Grid,
    before: tuple[BodyGrading, Window] | None,
) -> StageSums | None:
    """What tells the area beyond each knot; none for an upright bank.

    Before, with its shore moved in a window since, a body had something like that.
    """
    knots = profiles[None].knots[1:]
    if not len(knots):
        return None
    part, inward = body.windowed(grid)
    if before is None:
        return StageSums.beyond(inward, knots, part)
    known, moved = before
    return StageSums.beyond(
        inward, knots, part, known.sums, (moved[0] - body.window[0], moved[1] - body.window[0])
    )


def _laid_way(way: Way) -> LaidWay | None:
    """A way that is laid into the ground: a path, a pad, a bed or steps with a level."""
    if way.kind not in ON_GROUND or way.level is None or not isinstance(way.place, LinePlace):
        return None
    line = _line(way.place)
    if way.end_level is None:
        return LaidWay(line, value_of(way, "width"), way.level)
    risers = risers_of(way, line_length(line))
    return LaidWay(line, value_of(way, "width"), way.level, way.end_level, risers)


def _line(place: LinePlace) -> Lengths:
    return np.array([(point.east, point.north) for point in place.points])


def _mound(row: Mound) -> LaidMound:
    height = row.height * (1.0 + value_of(row, "settlement"))
    return LaidMound(ring_of(row.place.curve).points, height, value_of(row, "slope"))


def _body_limits(
    body: Body,
    shore: BodyShore,
    profiles: Mapping[str | None, Profile],
    bank: Bank,
    grid: Grid,
    place: int,
    known: tuple[Limits, Window] | None,
) -> Limits:
    """Lowest and highest finish of one body, its stretches blended in.

    What is known is told by the distance from the shore alone: it has neither stretches nor a fall.
    """
    limits = finish_limits(profiles[None], bank, shore.distance, grid.spacing, place, known)
    for stretch in _stretches(body, shore, profiles):
        share = stretch_share(shore.distance, line_distance(grid, stretch.line), stretch.blend)
        own = finish_limits(stretch.profile, bank, shore.distance, grid.spacing, place)
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


def _stretches(
    body: Body, shore: BodyShore, profiles: Mapping[str | None, Profile]
) -> tuple[BankStretch, ...]:
    """Stretches of a shore with a bank of their own, in the order of laying; a stream has none."""
    found: list[BankStretch] = []
    for name, stretch in () if shore.stream else body.stretches.items():
        ring = shore.ring_names.index(stretch.ring)
        curve = body.outline.curve if stretch.ring == OUTER_RING else body.islands[stretch.ring]
        pegs = [peg.id for peg in curve.pegs]
        line = stretch_line(shore.rings[ring], shore.spans[ring], pegs, stretch.start, stretch.end)
        found.append(BankStretch(profiles[name], line, value_of(stretch, "blend")))
    return tuple(found)


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


def _untouched(z: Elevations, cut: Slope) -> GradingResult:
    """Finish of a job in which nothing is drawn: the ground itself."""
    part = np.zeros(z.shape, dtype=np.int8)
    return GradingResult(z, part, (), None, np.zeros(0, dtype=np.intp), None, MappingProxyType({}), cut, 0)


def _feet_before(
    before: _Before | None, z: Elevations, part: Parts, moved: Mapping[str, Window], shore: ShoreResult
) -> tuple[Feet, tuple[int, int]] | None:
    """Feet of placed soil of last time, and the rows outside which neither the finish nor a shore moved."""
    if before is None or before.grading.feet is None or list(before.shore.bodies) != list(shore.bodies):
        return None
    finish = joined(changed(before.grading.z, z), changed(before.grading.part, part))
    window = reduce(joined, (moved[name] for name in shore.bodies), finish)
    return before.grading.feet, window[:2]


def _bank_heights(
    body: BodyShore, ground: Elevations, foot: int, under_berm: Elevation, grid: Grid
) -> tuple[Length, Length, tuple[Length, Length] | None]:
    """Water against placed soil, height of the crest above its lowest outer foot, and where that is.

    Soil that fills a hollow has no outer foot there: what counts is where it ends on untouched ground,
    and the water that stands against it is no deeper than that.
    """
    if foot < 0:
        return 0.0, 0.0, None
    row, column = divmod(foot, grid.columns)
    elevation = float(ground[row, column])
    place = (grid.origin_east + column * grid.spacing, grid.origin_north + row * grid.spacing)
    return max(body.level - max(under_berm, elevation), 0.0), body.crest_level - elevation, place


def dug_slope_of(view: Mapping[str, Any]) -> Slope:
    """Dug slope of the job: the one that is told, or what the soils of the site ask for.

    Parameters
    ----------
    view : mapping     Reads `shape.slopes`, `site.soils`.

    Returns
    -------
    Slope              Level for one upright. [m/m]
    """
    told: Slope | None = view["shape.slopes"].cut
    if told is not None:
        return told
    return dug_slope(layer.kind for soil in view["site.soils"].values() for layer in soil.layers)[0]


def _banks(view: Mapping[str, Any], cut: Slope, shore: ShoreResult, last: Any) -> dict[str, Bank]:
    """Bank above the water of each body; as last time where no berm and no slope is another one."""
    still = (
        last is not None
        and all(last.view[path] is view[path] for path in ("shape.berms", "shape.slopes"))
        and last.result.cut_slope == cut
    )
    known = last.result.bodies if still else {}
    return {
        name: known[name].bank
        if name in known
        else _bank(view["shape.berms"], view["shape.slopes"], cut, name)
        for name in shore.bodies
    }


def _bank(berms: Mapping[str, Berm], slopes: Slopes, cut: Slope, body: str) -> Bank:
    """Bank above the water: the berm's own dry slope goes before the general one."""
    berm = berm_of(berms, body)[1]
    return Bank(
        freeboard=value_of(berm, "freeboard"),
        slope_in=value_of(berm, "slope_in"),
        crest_width=value_of(berm, "crest_width"),
        cut=cut,
        fill=value_of(slopes, "fill") if berm.slope_out is None else berm.slope_out,
    )


def _bank_findings(
    name: str, body: Body, profiles: Mapping[str | None, Profile], limits: dict[str, Limit]
) -> tuple[Finding, ...]:
    """Checks of the banks of one body, stretch by stretch."""
    if body.role in ("stream", "wetland") or isinstance(body.outline, CorridorOutline):
        return ()
    ledge_depth = limits["shape.ledge_depth"].value
    findings = []
    for stretch, profile in profiles.items():
        bank = "bank" if stretch is None else f"bank at {stretch}"
        tallest = float(profile.heights.max(initial=0.0))
        findings.append(checks.check_risers(name, bank, tallest, limits))
        findings.append(checks.check_ledge(name, bank, _ledge_width(profile, ledge_depth), limits))
        findings.extend(check_stone_fit(name, bank, stone_fits(profile), limits))
    return tuple(findings)


def _told_before(name: str, view: Mapping[str, Any], last: Any) -> tuple[Finding, ...] | None:
    """Checks of last time of the banks of a body, if nothing changed that they tell of."""
    if last is None or name not in last.result.bodies:
        return None
    was, row = last.view["shape.bodies"][name], view["shape.bodies"][name]
    same = (
        all(last.view[path] is view[path] for path in ("shape.bank_types", "rules"))
        and was.stretches is row.stretches
        and (was.role, was.bank_type, type(was.outline)) == (row.role, row.bank_type, type(row.outline))
    )
    told: tuple[Finding, ...] = last.result.bodies[name].told
    return told if same else None


def _ledge_width(profile: Profile, ledge_depth: Length) -> Length:
    """Distance from the shore up to which the water is no deeper than a ledge."""
    steps = np.linspace(0.0, profile.reach, 200)
    deeper = np.flatnonzero(depth_at(profile, steps) > ledge_depth)
    return float(steps[max(deeper[0] - 1, 0)]) if len(deeper) else float("inf")
