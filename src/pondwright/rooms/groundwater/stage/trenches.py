"""Trenches of the drains that are to be laid: how deep, in what soil, and what the rules ask."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.kinds import COUNT, LENGTH, SLOPE, Elevations, Length, Lengths, Slope
from pondwright.geometry.surface import surface_at
from pondwright.job.fields import value_of
from pondwright.job.groundwater import Drain
from pondwright.rooms.groundwater.lines import stations
from pondwright.rooms.groundwater.stage.around import Around
from pondwright.rooms.groundwater.stage.drain_lines import BUILT, DrainLine, drain_lines
from pondwright.rooms.groundwater.trench import EGRESS, TrenchRules, soil_type, trench_rules

STEP: Length = 0.5
"""Step along a trench at which its depth is looked at. [m]"""

LEAST_WIDTH: Length = 0.3
"""Narrowest bucket that digs a trench; common practice. [m]"""

_LINE = (
    "groundwater.drains.*.place",
    "groundwater.drains.*.inverts",
    "groundwater.drains.*.envelope",
    "groundwater.outlets",
    "earth.subgrade.z",
)


@dataclass(frozen=True, slots=True)
class TrenchResult:
    """The trench of one drain."""

    rules: TrenchRules
    deepest: tuple[Length, Length]
    soil_type: str
    wet: bool
    protected: bool
    engineer: bool
    length: Length = figure(LENGTH, "Length on the plan", by=stations, uses=("groundwater.drains.*.place",))
    depth: Length = figure(LENGTH, "At its deepest, below the ground or the dig", uses=_LINE)
    deep_length: Length = figure(LENGTH, "Length of it that is 4 ft deep or more", uses=_LINE)
    width: Length = figure(
        LENGTH, "Width of its floor", uses=("groundwater.drains.*.diameter", "groundwater.drains.*.envelope")
    )
    slope: Slope = figure(
        SLOPE,
        "Steepest sides without a box",
        by=trench_rules,
        uses=("site.soils.*.layers", "groundwater.readings", "groundwater.drains.*.place"),
    )
    lay_back: Length = figure(
        LENGTH, "How far each side is laid back at the top", by=trench_rules, uses=_LINE
    )
    top_width: Length = figure(LENGTH, "Width of the opening, laid back", by=trench_rules, uses=_LINE)
    ladders: int = figure(COUNT, "Ladders or ramps, none farther than 25 ft", by=trench_rules, uses=_LINE)


def trenches(
    view: Mapping[str, Any], results: Mapping[str, Any], ground: Around
) -> dict[str, tuple[str, TrenchResult]]:
    """Trenches of all new drains that have a fall, each with what people call it.

    Parameters
    ----------
    view : mapping         Sections of the document.
    results : mapping      Of earlier stages.
    ground : Around

    Returns
    -------
    Name and TrenchResult by the id of the drain
    """
    drains: Mapping[str, Drain] = view["groundwater.drains"]
    lines = drain_lines(
        drains, view["groundwater.outlets"], view["groundwater.sumps"], BUILT, wet=ground.season == "wet"
    )
    return {
        name: (drains[name].name or name.replace("_", " "), found)
        for name, line in lines.items()
        if drains[name].status == "new"
        for found in _trench(drains[name], line, results, ground)
    }


def _trench(
    drain: Drain, line: DrainLine, results: Mapping[str, Any], ground: Around
) -> Iterator[TrenchResult]:
    """Trench of a drain, or none where it has no fall or lies off the plan."""
    if line.inverts is None:
        return
    surface, z = results["site.ground"], results["earth.subgrade"].z
    points, inverts = _walked(line)
    on_plan = _inside(points, surface.grid.extent)
    if not on_plan.any():
        return
    places, envelope = points[on_plan], value_of(drain, "envelope")
    # A drain under the pond is laid once the pond is dug: its trench begins at the floor of the dig.
    top = np.minimum(surface_at(surface.z, surface.grid, places), surface_at(z, surface.grid, places))
    bottom = inverts[on_plan] - envelope
    depths = np.maximum(top - bottom, 0.0)
    worst = int(np.argmax(depths))
    place, depth = (float(places[worst][0]), float(places[worst][1])), float(depths[worst])
    width = max(drain.diameter + 2.0 * envelope, LEAST_WIDTH)
    deep = line.length * float((depths >= EGRESS).sum()) / len(points)
    wet = bool((ground.water(places) > bottom).any())
    kind = soil_type(
        ground.kinds(*place, float(bottom[worst])), wet=wet, disturbed=_disturbed(places, results)
    )
    rules = trench_rules(depth, deep, width, kind)
    yield TrenchResult(
        rules=rules,
        deepest=place,
        soil_type=rules.soil_type,
        wet=wet,
        protected=rules.protected,
        engineer=rules.engineer,
        length=line.length,
        depth=depth,
        deep_length=deep,
        width=width,
        slope=rules.slope,
        lay_back=rules.lay_back,
        top_width=rules.top_width,
        ladders=rules.ladders,
    )


def _walked(line: DrainLine) -> tuple[Lengths, Elevations]:
    """Places in equal steps along a drain, and the pipe's bottom there."""
    assert line.inverts is not None
    along = stations(line.points)
    walk = np.unique(np.concatenate([np.arange(0.0, along[-1], STEP), along]))
    points = np.column_stack([np.interp(walk, along, line.points[:, axis]) for axis in (0, 1)])
    return points, np.interp(walk, along, line.inverts)


def _inside(points: Lengths, extent: tuple[Length, Length, Length, Length]) -> NDArray[np.bool_]:
    west, south, east, north = extent
    low, high = np.array([west, south]), np.array([east, north])
    return np.all((points >= low) & (points <= high), axis=1)


def _disturbed(points: Lengths, results: Mapping[str, Any]) -> bool:
    """Whether a trench goes through the old hole, whose soil was dug and placed before."""
    hole, grid = results["site.old_hole"].hole, results["site.ground"].grid
    if hole is None:
        return False
    columns = np.rint((points[:, 0] - grid.origin_east) / grid.spacing).astype(int)
    rows = np.rint((points[:, 1] - grid.origin_north) / grid.spacing).astype(int)
    return bool(hole.mask[rows, columns].any())
