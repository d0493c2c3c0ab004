"""Whether gas below each liner gets to the edge, and out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import COUNT, LENGTH, RATIO, Length, Lengths, Ratio
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import ring_length
from pondwright.job.groundwater import GasWay, Vent
from pondwright.rooms.groundwater.checks import gas as checks
from pondwright.rooms.groundwater.gas import bed_rise, gas_pockets, vent_gap, vents_needed
from pondwright.rooms.groundwater.stage.shared import limits_of

SHAPE = ("shape.shore.bodies.*.rings", "earth.subgrade.z")
VENTS = ("shape.shore.bodies.*.rings", "groundwater.vents")


@dataclass(frozen=True, slots=True)
class BodyVenting:
    """How gas gets from below the liner of one body."""

    pocket_point: tuple[Length, Length]
    rise: Ratio | None = figure(RATIO, "Rise of the flattest tenth of the bed", by=bed_rise, uses=SHAPE)
    pocket: Length = figure(LENGTH, "Height of the highest hump of the bed", by=gas_pockets, uses=SHAPE)
    gap: Length = figure(LENGTH, "Shore from one vent to the next, at most", by=vent_gap, uses=VENTS)
    needed: int = figure(COUNT, "Vents that it needs", by=vents_needed, uses=SHAPE[:1])


@dataclass(frozen=True, slots=True)
class VentingResult:
    """How gas gets from below the liner of each body; streams and small waters hold too little of it."""

    bodies: Mapping[str, BodyVenting]


def venting_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[VentingResult, tuple[Finding, ...]]:
    """Way of gas from below every liner.

    Parameters
    ----------
    view : mapping        Reads `groundwater.gas`, `groundwater.vents`, `rules`.
    results : mapping     Needs `shape.shore`, `earth.subgrade`.

    Returns
    -------
    VentingResult and the checks of gas; where nothing leads gas along, that alone is told.
    """
    shore, limits = results["shape.shore"], limits_of(view)
    grid: Grid = shore.grid
    gas: GasWay = view["groundwater.gas"]
    apart, wide = limits["groundwater.vent_gap"].value, limits["groundwater.gas_area"].value
    bodies, findings = {}, []
    for name, body in shore.bodies.items():
        if body.stream is not None or (gas.layer == "none" and body.area < wide):
            continue
        found = _venting(body, results["earth.subgrade"].z, grid, view["groundwater.vents"], apart)
        bodies[name] = found
        findings.append(checks.check_gas_layer(name, gas.layer, gas.mass, limits))
        if gas.layer == "none":
            continue
        if found.rise is not None and gas.layer == "fabric":
            findings.append(checks.check_gas_rise(name, found.rise, limits))
        findings.append(checks.check_gas_pocket(name, found.pocket, found.pocket_point, limits))
        findings.append(checks.check_vents(name, found.gap, found.needed, limits))
    return VentingResult(MappingProxyType(bodies)), tuple(findings)


def _venting(
    body: Any, subgrade: Lengths, grid: Grid, vents: Mapping[str, Vent], apart: Length
) -> BodyVenting:
    """Way of gas from below one liner; a vent counts for the body whose shore is near."""
    window, distance = body.windowed(grid)
    first_row, end_row, first_column, end_column = body.window
    bed = subgrade[first_row:end_row, first_column:end_column]
    pockets = gas_pockets(bed, distance > 0.0)
    row, column = divmod(int(np.argmax(pockets)), window.columns)
    outer = body.rings[0]
    near = [
        (vent.place.east, vent.place.north)
        for vent in vents.values()
        if np.hypot(*(outer - (vent.place.east, vent.place.north)).T).min() <= apart
    ]
    return BodyVenting(
        pocket_point=(float(window.east[column]), float(window.north[row])),
        rise=bed_rise(bed, distance > 0.0, grid.spacing),
        pocket=float(pockets.max()),
        gap=vent_gap(outer, np.array(near).reshape(-1, 2)),
        needed=vents_needed(float(ring_length(outer)), apart),
    )
