"""The cover check of each liner: the piece that is proved to cover."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, LENGTH, RATIO, Area, Length, Lengths, Ratio
from pondwright.rooms.lining.area import liner_mesh
from pondwright.rooms.lining.checks import panels as checks
from pondwright.rooms.lining.cover import cover
from pondwright.rooms.lining.stage.layout import LinerLayout
from pondwright.rooms.lining.stage.shared import limits_of

USES = ("lining.area.liners.*.area", "lining.layout.liners.*.length", "lining.layout.liners.*.width")


@dataclass(frozen=True, slots=True, eq=False)
class LinerCover:
    """The proof for one liner: where each point of the ground lies on the piece, (n, 2) [m]."""

    ground: Lengths
    places: Lengths
    length: Length = figure(LENGTH, "Length of the piece that is proved to cover", by=cover, uses=USES)
    width: Length = figure(LENGTH, "Width of the piece that is proved to cover", by=cover, uses=USES)
    area: Area = figure(AREA, "Area of the piece that is proved to cover", by=cover, uses=USES)
    least: Area = figure(AREA, "No piece can be smaller than the ground", by=liner_mesh, uses=USES)
    stretch: Ratio = figure(
        RATIO, "Stretch that the search left, taken away by a larger piece", by=cover, uses=USES
    )


@dataclass(frozen=True, slots=True, eq=False)
class CoverResult:
    """Proofs of all liners."""

    liners: Mapping[str, LinerCover]


def cover_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[CoverResult, tuple[Finding, ...]]:
    """Piece that is proved to cover, for each liner.

    Parameters
    ----------
    view : mapping        Reads `rules`.
    results : mapping     Needs `lining.area`, `lining.layout`.
    last : Last           A liner laid out as it was is taken over.

    Returns
    -------
    CoverResult and the check of each cover.
    """
    limits = limits_of(view)
    areas = results["lining.area"].liners
    covers: dict[str, LinerCover] = {}
    findings: list[Finding] = []
    before = {} if last is None else last.results["lining.layout"].liners
    for name, layout in results["lining.layout"].liners.items():
        kept = name in before and before[name] is layout
        covers[name] = last.result.liners[name] if kept else _cover(layout, areas[name].beyond)
        findings.append(checks.check_covers(name, covers[name].area, layout.sheet.area, limits))
    return CoverResult(MappingProxyType(covers)), tuple(findings)


def _cover(layout: LinerLayout, beyond: Length) -> LinerCover:
    mesh = liner_mesh(layout.ground, beyond)
    found = cover(mesh, layout.sheet.turned, layout.sheet.length, layout.sheet.width)
    return LinerCover(
        ground=mesh.points,
        places=found.places,
        length=found.length,
        width=found.width,
        area=found.area,
        least=mesh.area,
        stretch=found.stretch - 1.0,
    )
