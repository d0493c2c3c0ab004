"""The panel plan of each liner: one piece, or strips from rolls, as they lie."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, COUNT, LENGTH, RATIO, Area, Length, Lengths, Ratio
from pondwright.rooms.lining.area import LinerGround
from pondwright.rooms.lining.checks import panels as checks
from pondwright.rooms.lining.laid import LaidPiece, edge_lines, laid_sheet, laid_strips, seams_of
from pondwright.rooms.lining.panels import PanelPlan, Sheet, best_sheet, best_strips
from pondwright.rooms.lining.stage.arcs import LinerArcs
from pondwright.rooms.lining.stage.area import LinerArea
from pondwright.rooms.lining.stage.shared import limits_of, liners_of

USES = ("lining.area.liners.*.area", "lining.liners.*.one_piece", "lining.liners.*.stock")


@dataclass(frozen=True, slots=True, eq=False)
class LinerLayout:
    """Pieces of one liner as they lie on the plan.

    `pieces` has the corners of each piece of `laid`, (n, 4, 2) [m], as it lies: over a slope it is longer
    than it looks.  `seam_lines` and `edge` lie on the plan [m]; the edge has a line for each island.
    """

    one_piece: bool
    turned: float
    sheet: Sheet
    plan: PanelPlan | None
    laid: tuple[LaidPiece, ...]
    pieces: Lengths
    seam_lines: tuple[Lengths, ...]
    edge: tuple[Lengths, ...]
    ground: LinerGround
    ordered_area: Area = figure(AREA, "Area of the pieces as ordered", by=best_sheet, uses=USES)
    whole_area: Area = figure(AREA, "Area if no strip is cut in parts", by=best_strips, uses=USES)
    saved: Area = figure(
        AREA, "Saved by strips that end at an island or between arms", by=laid_strips, uses=USES
    )
    length: Length = figure(LENGTH, "Length of the piece, or of the longest strip", by=best_sheet, uses=USES)
    width: Length = figure(LENGTH, "Width of the piece, or of one roll", by=best_sheet, uses=USES)
    offset: Length = figure(
        LENGTH, "Ground across that the piece or the first strip covers at most", by=best_strips, uses=USES
    )
    count: int = figure(COUNT, "Pieces", by=laid_strips, uses=USES)
    seams: Length = figure(LENGTH, "Length of the seams", by=seams_of, uses=USES)
    waste: Ratio = figure(RATIO, "Liner ordered beyond the ground that it covers", uses=USES)


@dataclass(frozen=True, slots=True, eq=False)
class LayoutResult:
    """Panel plans of all liners."""

    liners: Mapping[str, LinerLayout]
    ordered_area: Area = figure(
        AREA, "Area of all liners as ordered", uses=("lining.layout.liners.*.ordered_area",)
    )
    seams: Length = figure(LENGTH, "Length of all seams", uses=("lining.layout.liners.*.seams",))


def layout_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[LayoutResult, tuple[Finding, ...]]:
    """Panel plan of each liner.

    Parameters
    ----------
    view : mapping        Reads `lining.liners`, `rules`.
    results : mapping     Needs `shape.shore`, `lining.arcs`, `lining.area`.
    last : Last           A liner on the same ground is taken over as it is.

    Returns
    -------
    LayoutResult and the checks of waste and stock.
    """
    areas: Mapping[str, LinerArea] = results["lining.area"].liners
    sizes: Mapping[str, LinerArcs] = results["lining.arcs"].liners
    limits = limits_of(view)
    told = liners_of(view["lining.liners"], results["shape.shore"].bodies)
    unchanged = last is not None and last.view["lining.liners"] is view["lining.liners"]
    before = last.result.liners if unchanged else {}
    layouts: dict[str, LinerLayout] = {}
    findings: list[Finding] = []
    for name, area in areas.items():
        kept = before.get(name)
        same = kept is not None and kept.ground is area.ground
        layouts[name] = kept if kept is not None and same else _layout(sizes[name], area)
        findings.append(checks.check_waste(name, layouts[name].ordered_area, area.area, limits))
        if not told[name].one_piece and not told[name].stock:
            findings.append(checks.no_stock(name, area.area))
    ordered = sum(layout.ordered_area for layout in layouts.values())
    seams = sum(layout.seams for layout in layouts.values())
    return LayoutResult(MappingProxyType(layouts), ordered, seams), tuple(findings)


def _layout(arcs: LinerArcs, area: LinerArea) -> LinerLayout:
    """The piece or the strips that tapes ask for, as they lie on the ground."""
    ground, sheet, plan = area.ground, arcs.sheet, arcs.plan
    edge = edge_lines(ground, area.beyond)
    if plan is None:
        laid: tuple[LaidPiece, ...] = (laid_sheet(ground, area.beyond, sheet),)
        return _lying(arcs, area, laid, (), edge, 0.0, sheet.width)
    laid = laid_strips(ground, area.beyond, plan)
    seams = seams_of(laid, plan.turned, ground)
    lines = tuple(seam.line for seam in seams)
    return _lying(arcs, area, laid, lines, edge, sum(seam.length for seam in seams), plan.first)


def _lying(
    arcs: LinerArcs,
    area: LinerArea,
    laid: tuple[LaidPiece, ...],
    seam_lines: tuple[Lengths, ...],
    edge: tuple[Lengths, ...],
    seams: Length,
    offset: Length,
) -> LinerLayout:
    ordered = sum(piece.area for piece in laid)
    return LinerLayout(
        one_piece=arcs.plan is None,
        turned=arcs.turned,
        sheet=arcs.sheet,
        plan=arcs.plan,
        laid=laid,
        pieces=np.array([piece.corners for piece in laid]),
        seam_lines=seam_lines,
        edge=edge,
        ground=area.ground,
        ordered_area=ordered,
        whole_area=arcs.ordered_area,
        saved=arcs.ordered_area - ordered,
        length=max(piece.length for piece in laid),
        width=laid[0].width,
        offset=offset,
        count=len(laid),
        seams=seams,
        waste=ordered / area.area - 1.0,
    )
