"""True area of each liner."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, LENGTH, Area, Length
from pondwright.rooms.lining.area import LinerGround, liner_area, liner_mesh, meshed_area
from pondwright.rooms.lining.stage.arcs import SHORES, LinerArcs
from pondwright.rooms.lining.stage.shared import Dug, same


@dataclass(frozen=True, slots=True, eq=False)
class LinerArea:
    """One liner on its ground."""

    bodies: tuple[str, ...]
    ground: LinerGround
    beyond: Length = figure(
        LENGTH, "How far the liner reaches beyond the shore", uses=("lining.liners.*.margin",)
    )
    area: Area = figure(
        AREA,
        "True area of the ground that the liner covers",
        by=liner_area,
        uses=(*SHORES, "lining.liners.*.margin"),
    )


@dataclass(frozen=True, slots=True, eq=False)
class AreaResult:
    """Liners of the job."""

    liners: Mapping[str, LinerArea]
    area: Area = figure(AREA, "True area of all liners", uses=("lining.area.liners.*.area",))


def area_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[AreaResult, tuple[Finding, ...]]:
    """True area of each liner.

    Parameters
    ----------
    view : mapping        Reads nothing.
    results : mapping     Needs `lining.arcs`.
    last : Last           A liner of which nothing moved is taken over as it is.

    Returns
    -------
    AreaResult and no checks.
    """
    before = {} if last is None else last.result.liners
    found = {name: _liner(arcs, before.get(name)) for name, arcs in results["lining.arcs"].liners.items()}
    total = sum(liner.area for liner in found.values())
    return AreaResult(MappingProxyType(found), total), ()


def _liner(arcs: LinerArcs, before: LinerArea | None) -> LinerArea:
    ground = arcs.ground
    if before is not None and before.beyond == arcs.beyond and same(before.ground, ground):
        return before
    return LinerArea(arcs.bodies, ground, arcs.beyond, area_of(arcs.dug, arcs.beyond))


def area_of(dug: Dug, beyond: Length) -> Area:
    """True area of a liner on its ground.

    Parameters
    ----------
    dug : Dug
    beyond : Length     How far beyond the shores the liner reaches. [m]

    Returns
    -------
    Area                [m²]
    """
    area = dug.ponds_area(beyond)
    if dug.streams is not None:
        # Falls are told by no bank: by triangles.
        area += meshed_area(liner_mesh(dug.ground, beyond), dug.streams)
    return area
