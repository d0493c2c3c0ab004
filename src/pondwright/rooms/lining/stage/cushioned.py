"""Fabric below and above each liner: what is needed against stones, and what the build-up has."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import Length, Pressure
from pondwright.job.lining import Liner
from pondwright.rooms.lining.checks import cushion as checks
from pondwright.rooms.lining.cushion import (
    SHAPES,
    TALLEST,
    Factors,
    allowed_pressure,
    cover_pressure,
    needed_fabric,
    stone_pressure,
    usual_fabric,
)
from pondwright.rooms.lining.stage.area import LinerArea
from pondwright.rooms.lining.stage.bought import Stack, stacks_of, stone_sizes
from pondwright.rooms.lining.stage.order_results import CushionOrder, CushionSide

BLOCKY = 0.85
"""Share of a box that a blocky stone fills; common practice. [-]"""

STANDS_ON = 0.5
"""Share of its square that a stone stands on; common practice. [-]"""

SOLID = 2650.0
"""Density of a stone. [kg/m³]"""

ROLL: Length = 4.0
LAP: Length = 0.3
"""Width of a roll of fabric, and how far two overlap; common practice. [m]"""


def cushion_order(
    liner: Liner,
    area: LinerArea,
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    limits: Mapping[str, Limit],
) -> CushionOrder:
    """Fabric on both sides of a liner, of the body and the build-up that ask for most."""
    below: list[CushionSide] = []
    above: list[CushionSide] = []
    layers = 0
    for body in area.bodies:
        deep = results["shape.grading"].bodies[body].profile.floor_depth
        sizes = tuple(stone_sizes(body, view))
        for stack in stacks_of(liner, body, view):
            pressure = cover_pressure(deep, stack.covers)
            below.append(_below(body, stack, pressure, limits))
            above += _above(body, stack, pressure, max(sizes, default=0.0), limits)
            layers = max(layers, len(stack.below) + len(stack.above))
    return CushionOrder(
        below=max(below, key=_short, default=None),
        above=max(above, key=_short, default=None),
        area=area.area * layers * (1.0 + LAP / (ROLL - LAP)),
    )


def cushion_findings(name: str, cushion: CushionOrder, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    """Checks of the fabric on both sides."""
    if cushion.below is not None:
        yield checks.check_below(name, cushion.below, limits)
    if cushion.above is not None:
        yield checks.check_above(name, cushion.above, limits)


def _below(body: str, stack: Stack, pressure: Pressure, limits: Mapping[str, Limit]) -> CushionSide:
    protrusion = 0.5 * limits["lining.subgrade_stone"].value
    factors = _factors(limits, 1.0)
    return CushionSide(
        body=body,
        fabrics=stack.below,
        by_formula=True,
        needed=needed_fabric(pressure, protrusion, factors),
        has=stack.below_mass,
        pressure=pressure,
        allowed=allowed_pressure(stack.below_mass, protrusion, factors),
        protrusion=protrusion,
    )


def _above(
    body: str, stack: Stack, pressure: Pressure, largest: Length, limits: Mapping[str, Limit]
) -> Iterator[CushionSide]:
    """Fabric below the gravel, and below the largest stone that is set; none where nothing lies on it."""
    for grain, shape in ((stack.grain, "rounded" if stack.round else "angular"), (largest, "angular")):
        if grain <= 0.0:
            continue
        protrusion = 0.5 * grain
        trusted = protrusion <= limits["lining.protrusion"].value
        on_it = max(pressure, _set_stone(grain)) if grain == largest else pressure
        factors = _factors(limits, SHAPES[shape])
        formula = needed_fabric(on_it, protrusion, factors) if trusted else 0.0
        yield CushionSide(
            body=body,
            fabrics=stack.above,
            by_formula=trusted,
            needed=max(formula, usual_fabric(grain)),
            has=stack.above_mass,
            pressure=on_it,
            allowed=allowed_pressure(stack.above_mass, protrusion, factors)
            if protrusion <= TALLEST
            else None,
            protrusion=protrusion,
        )


def _set_stone(size: Length) -> Pressure:
    """Pressure below a single blocky stone."""
    return stone_pressure(BLOCKY * SOLID * size**3, STANDS_ON * size**2)


def _factors(limits: Mapping[str, Limit], shape: float) -> Factors:
    return Factors(shape=shape, safety=limits["lining.puncture_safety"].value)


def _short(side: CushionSide) -> float:
    """How much fabric a side lacks."""
    return side.needed - side.has
