"""The panel plan of each liner: one piece, or strips from rolls."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, COUNT, LENGTH, RATIO, Area, Length, Lengths, Ratio
from pondwright.job.fields import value_of
from pondwright.job.lining import Liner
from pondwright.rooms.lining.area import LinerGround
from pondwright.rooms.lining.checks import panels as checks
from pondwright.rooms.lining.panels import PanelPlan, Sheet, Strip, best_sheet, best_strips
from pondwright.rooms.lining.stage.area import LinerArea
from pondwright.rooms.lining.stage.shared import limits_of, liners_of

USES = ("lining.area.liners.*.area", "lining.liners.*.one_piece", "lining.liners.*.stock")


@dataclass(frozen=True, slots=True, eq=False)
class LinerLayout:
    """Pieces of one liner as they lie on the plan.

    `pieces` has the corners of each piece, (n, 4, 2) [m]; it is a picture: a piece lies over ground that
    slopes, so it is longer than it looks.
    """

    one_piece: bool
    turned: float
    sheet: Sheet
    plan: PanelPlan | None
    pieces: Lengths
    ground: LinerGround
    ordered_area: Area = figure(AREA, "Area of the pieces as ordered", by=best_sheet, uses=USES)
    length: Length = figure(LENGTH, "Length of the piece, or of the longest strip", by=best_sheet, uses=USES)
    width: Length = figure(LENGTH, "Width of the piece, or of one roll", by=best_sheet, uses=USES)
    count: int = figure(COUNT, "Pieces", by=best_strips, uses=USES)
    seams: Length = figure(LENGTH, "Length of the seams", by=best_strips, uses=USES)
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
    results : mapping     Needs `shape.shore`, `lining.area`.
    last : Last           A liner on the same ground is taken over as it is.

    Returns
    -------
    LayoutResult and the checks of waste and stock.
    """
    areas: Mapping[str, LinerArea] = results["lining.area"].liners
    limits = limits_of(view)
    told = liners_of(view["lining.liners"], results["shape.shore"].bodies)
    unchanged = last is not None and last.view["lining.liners"] is view["lining.liners"]
    before = last.result.liners if unchanged else {}
    layouts: dict[str, LinerLayout] = {}
    findings: list[Finding] = []
    for name, area in areas.items():
        kept = before.get(name)
        same = kept is not None and kept.ground is area.ground
        layouts[name] = kept if kept is not None and same else _layout(told[name], area)
        findings.append(checks.check_waste(name, layouts[name].ordered_area, area.area, limits))
        if not told[name].one_piece and not told[name].stock:
            findings.append(checks.no_stock(name, area.area))
    ordered = sum(layout.ordered_area for layout in layouts.values())
    seams = sum(layout.seams for layout in layouts.values())
    return LayoutResult(MappingProxyType(layouts), ordered, seams), tuple(findings)


def _layout(liner: Liner, area: LinerArea) -> LinerLayout:
    """One piece, or the strips with the smallest area of all widths that can be had."""
    tried = {} if liner.along is None else {"tried": (0.5 * np.pi - liner.along,)}
    sheet = best_sheet(area.ground, area.beyond, **tried)
    widths = sorted({stock.width for stock in liner.stock})
    if liner.one_piece or not widths:
        return _one_piece(sheet, area)
    overlap = value_of(liner, "seam")
    plans = [
        best_strips(area.ground, area.beyond, width, overlap, **tried) for width in widths if width > overlap
    ]
    if not plans:
        return _one_piece(sheet, area)
    plan = min(plans, key=lambda plan: plan.area)
    corners = np.array([_corners(strip, plan.turned, area.ground) for strip in plan.strips])
    return LinerLayout(
        one_piece=False,
        turned=plan.turned,
        sheet=sheet,
        plan=plan,
        pieces=corners,
        ground=area.ground,
        ordered_area=plan.area,
        length=max(strip.length for strip in plan.strips),
        width=plan.strips[0].width,
        count=len(plan.strips),
        seams=plan.seams,
        waste=plan.area / area.area - 1.0,
    )


def _one_piece(sheet: Sheet, area: LinerArea) -> LinerLayout:
    half_length, half_width = 0.5 * sheet.length, 0.5 * sheet.width
    along, across = _middle(sheet.turned, area)
    whole = Strip(
        along - half_length, along + half_length, across - half_width, across + half_width, sheet.width
    )
    return LinerLayout(
        one_piece=True,
        turned=sheet.turned,
        sheet=sheet,
        plan=None,
        pieces=np.array([_corners(whole, sheet.turned, area.ground)]),
        ground=area.ground,
        ordered_area=sheet.area,
        length=sheet.length,
        width=sheet.width,
        count=1,
        seams=0.0,
        waste=sheet.area / area.area - 1.0,
    )


def _middle(turned: float, area: LinerArea) -> tuple[Length, Length]:
    """Middle of the liner along and across a direction, from the middle of its part of the grid."""
    grid = area.ground.grid
    rows, columns = np.nonzero(area.ground.distance >= -area.beyond)
    east = (columns - 0.5 * (grid.columns - 1)) * grid.spacing
    north = (rows - 0.5 * (grid.rows - 1)) * grid.spacing
    along = east * np.cos(turned) + north * np.sin(turned)
    across = north * np.cos(turned) - east * np.sin(turned)
    return float(0.5 * (along.min() + along.max())), float(0.5 * (across.min() + across.max()))


def _corners(strip: Strip, turned: float, ground: LinerGround) -> Lengths:
    """Corners of a piece on the plan, as if it lay level."""
    west, south, east, north = ground.grid.extent
    along = np.array([np.cos(turned), np.sin(turned)])
    across = np.array([-along[1], along[0]])
    middle = 0.5 * np.array([west + east, south + north])
    left, right = (middle + side * across for side in (strip.left, strip.right))
    start, end = strip.start * along, strip.end * along
    return np.array([left + start, left + end, right + end, right + start])
