"""The finish of the whole site."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
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
from pondwright.job.fields import value_of
from pondwright.job.places import OUTER_RING
from pondwright.job.shape import STANDARD_BANK, BankType, Berm, Body, Slopes
from pondwright.rooms.shape import checks
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
    line_distance,
    stretch_line,
)
from pondwright.rooms.shape.stage.rows import BANK, LEVEL, berm_of, limits_of
from pondwright.rooms.shape.stage.shore import BodyShore


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
    limits = limits_of(view)
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
