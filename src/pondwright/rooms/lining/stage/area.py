"""True area of each liner."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, LENGTH, Area, Length
from pondwright.job.fields import value_of
from pondwright.job.lining import Liner
from pondwright.rooms.lining.area import LinerGround, liner_area, liner_mesh
from pondwright.rooms.lining.stage.shared import banks_of, liner_ground, liners_of, same

SHORES = ("shape.bodies.*.outline", "shape.bodies.*.islands", "shape.bank_types")


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
    view : mapping        Reads `lining.liners`.
    results : mapping     Needs `shape.shore`, `shape.grading`, `earth.subgrade`.
    last : Last           A liner of which nothing moved is taken over as it is.

    Returns
    -------
    AreaResult and no checks.
    """
    shore = results["shape.shore"]
    before = {} if last is None else last.result.liners
    found = {
        name: _liner(liner, results, before.get(name))
        for name, liner in liners_of(view["lining.liners"], shore.bodies).items()
    }
    total = sum(liner.area for liner in found.values())
    return AreaResult(MappingProxyType(found), total), ()


def _liner(liner: Liner, results: Mapping[str, Any], before: LinerArea | None) -> LinerArea:
    shore, grading = results["shape.shore"], results["shape.grading"]
    beyond = value_of(liner, "margin")
    distances = {name: shore.bodies[name].distance for name in liner.bodies if name in shore.bodies}
    banks = {
        name: banks_of(grading.bodies[name], distance, shore.grid) for name, distance in distances.items()
    }
    ground = liner_ground(banks, distances, shore.grid, results["earth.subgrade"].z, beyond)
    if before is not None and before.beyond == beyond and same(before.ground, ground):
        return before
    if len(banks) > 1 or any(shore.bodies[name].stream is not None for name in banks):
        # Falls, and parts that run into one another, are told by no bank: by triangles.
        area = liner_mesh(ground, beyond).area
    else:
        ((name, own),) = banks.items()
        area = liner_area(distances[name], shore.grid, own, beyond)
    return LinerArea(tuple(banks), ground, beyond, area)
