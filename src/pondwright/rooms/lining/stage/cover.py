"""The cover check of each liner: the piece, and the strips, that are proved to cover."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, COUNT, LENGTH, RATIO, Area, Length, Lengths, Ratio
from pondwright.job.fields import value_of
from pondwright.job.lining import Liner
from pondwright.rooms.lining.area import LinerMesh, liner_mesh
from pondwright.rooms.lining.checks import panels as checks
from pondwright.rooms.lining.cover import cover
from pondwright.rooms.lining.laid import CutStrip
from pondwright.rooms.lining.panels import PanelPlan, best_sheet
from pondwright.rooms.lining.proved_strips import proved_strips
from pondwright.rooms.lining.stage.layout import LinerLayout
from pondwright.rooms.lining.stage.shared import limits_of, liners_of

USES = ("lining.area.liners.*.area", "lining.layout.liners.*.length", "lining.layout.liners.*.width")


@dataclass(frozen=True, slots=True, eq=False)
class LinerCover:
    """The proof for one liner.

    `ground` has the points of the mesh on the plan, `places` where each lies on the piece, and
    `strip_places` where it lies on the flat piece of which the strips are parts, all (n, 2) [m].
    `strips` are the strips that are proved; there are none for a liner in one piece.
    """

    ground: Lengths
    places: Lengths
    strip_places: Lengths
    strips: tuple[CutStrip, ...]
    length: Length = figure(LENGTH, "Length of the piece that is proved to cover", by=cover, uses=USES)
    width: Length = figure(LENGTH, "Width of the piece that is proved to cover", by=cover, uses=USES)
    area: Area = figure(AREA, "Area of the piece that is proved to cover", by=cover, uses=USES)
    ordered_area: Area = figure(
        AREA, "Area to order by the proof: of the piece, or of all strips", by=proved_strips, uses=USES
    )
    count: int = figure(COUNT, "Pieces by the proof", by=proved_strips, uses=USES)
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
    view : mapping        Reads `lining.liners`, `rules`.
    results : mapping     Needs `shape.shore`, `lining.area`, `lining.layout`.
    last : Last           A liner laid out as it was is taken over.

    Returns
    -------
    CoverResult and the check of each cover.
    """
    limits = limits_of(view)
    areas = results["lining.area"].liners
    told = liners_of(view["lining.liners"], results["shape.shore"].bodies)
    covers: dict[str, LinerCover] = {}
    findings: list[Finding] = []
    before = {} if last is None else last.results["lining.layout"].liners
    for name, layout in results["lining.layout"].liners.items():
        # A liner with another overlap at its seams has another layout, and so has one on other ground.
        same = last is not None and last.view["lining.liners"] is view["lining.liners"]
        kept = same and name in before and before[name] is layout
        covers[name] = last.result.liners[name] if kept else _cover(told[name], layout, areas[name].beyond)
        findings.append(checks.check_covers(name, covers[name].ordered_area, layout.ordered_area, limits))
    return CoverResult(MappingProxyType(covers)), tuple(findings)


def _cover(liner: Liner, layout: LinerLayout, beyond: Length) -> LinerCover:
    mesh = liner_mesh(layout.ground, beyond)
    found = cover(mesh, layout.sheet.turned, layout.sheet.length, layout.sheet.width)
    strip_places: Lengths = found.places
    strips: tuple[CutStrip, ...] = ()
    if layout.plan is not None:
        strip_places, strips = _strips(liner, layout, layout.plan, mesh, beyond)
    return LinerCover(
        ground=mesh.points,
        places=found.places,
        strip_places=strip_places,
        strips=strips,
        length=found.length,
        width=found.width,
        area=found.area,
        ordered_area=sum(strip.area for strip in strips) if strips else found.area,
        count=len(strips) or 1,
        least=mesh.area,
        stretch=found.stretch - 1.0,
    )


def _strips(
    liner: Liner, layout: LinerLayout, plan: PanelPlan, mesh: LinerMesh, beyond: Length
) -> tuple[Lengths, tuple[CutStrip, ...]]:
    """Proved places in the direction of the strips, and the strips that are cut from them."""
    sheet = best_sheet(layout.ground, beyond, (plan.turned,))
    along, across = sheet.length, sheet.width
    if sheet.turned != plan.turned:
        along, across = across, along
    places = cover(mesh, plan.turned, along, across).places
    return places, proved_strips(mesh, places, layout.width, value_of(liner, "seam"))
