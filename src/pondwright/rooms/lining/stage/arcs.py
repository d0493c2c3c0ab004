"""The ground under each liner and its size by tapes: what follows the hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import ANGLE, AREA, COUNT, LENGTH, Angle, Area, Length
from pondwright.job.fields import value_of
from pondwright.job.lining import Liner
from pondwright.rooms.lining.area import LinerGround, least_area, liner_area
from pondwright.rooms.lining.panels import (
    DIRECTIONS_TRIED,
    QUARTER_TRIED,
    PanelPlan,
    Sheet,
    best_sheet,
    best_strips,
    sheet_near,
    strips_near,
)
from pondwright.rooms.lining.stage.shared import Dug, dug_under, liners_of

SHORES = ("shape.bodies.*.outline", "shape.bodies.*.islands", "shape.bank_types")
PIECED = ("lining.arcs.liners.*.least", "lining.liners.*.one_piece", "lining.liners.*.stock")
USES = (*SHORES, "lining.liners.*.margin", "lining.liners.*.one_piece", "lining.liners.*.stock")


@dataclass(frozen=True, slots=True, eq=False)
class LinerArcs:
    """One liner on its ground, and the piece or the strips that tapes over the ground ask for.

    `live` tells that only directions near those of the frame before were tried, in a drag: settled, the
    size is the smallest of all directions; where strips are ordered `sheet` is still that of before.  No size
    is proved here: that is for `lining.cover`.
    """

    bodies: tuple[str, ...]
    dug: Dug
    sheet: Sheet
    plan: PanelPlan | None
    live: bool
    beyond: Length = figure(
        LENGTH, "How far the liner reaches beyond the shore", uses=("lining.liners.*.margin",)
    )
    least: Area = figure(
        AREA,
        "True area of the ground, upright faces of streams left out",
        by=liner_area,
        uses=(*SHORES, "lining.liners.*.margin"),
    )
    turned: Angle = figure(
        ANGLE, "Direction of the piece or of the strips, anticlockwise from east", uses=USES
    )
    length: Length = figure(LENGTH, "Length of the piece, or of the longest strip", by=best_sheet, uses=USES)
    width: Length = figure(LENGTH, "Width of the piece, or of one roll", by=best_sheet, uses=USES)
    count: int = figure(COUNT, "Pieces", by=best_strips, uses=PIECED)
    seams: Length = figure(LENGTH, "Length of the seams", by=best_strips, uses=PIECED)
    ordered_area: Area = figure(AREA, "Area of the pieces by tapes", by=best_sheet, uses=USES)

    @property
    def ground(self) -> LinerGround:
        """Ground under the liner, its risers split off."""
        return self.dug.ground


@dataclass(frozen=True, slots=True, eq=False)
class ArcsResult:
    """Sizes of all liners by tapes."""

    liners: Mapping[str, LinerArcs]
    ordered_area: Area = figure(
        AREA, "Area of all liners by tapes", uses=("lining.arcs.liners.*.ordered_area",)
    )


def arcs_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[ArcsResult, tuple[Finding, ...]]:
    """Size of each liner by tapes over the ground.

    Parameters
    ----------
    view : mapping        Reads `lining.liners`.
    results : mapping     Needs `shape.shore`, `shape.grading`, `earth.subgrade`.
    last : Last           In a drag: what nothing moved is taken over, and for the others only directions near
                          those of the frame before are tried.

    Returns
    -------
    ArcsResult and no checks.
    """
    shore = results["shape.shore"]
    found: dict[str, LinerArcs] = {}
    for name, liner in liners_of(view["lining.liners"], shore.bodies).items():
        before = None if last is None else last.result.liners.get(name)
        if before is not None and _unmoved(before, name, view, results, last):
            found[name] = before
            continue
        found[name] = _arcs(liner, results, before)
    ordered = sum(liner.ordered_area for liner in found.values())
    return ArcsResult(MappingProxyType(found), ordered), ()


def _unmoved(
    before: LinerArcs, name: str, view: Mapping[str, Any], results: Mapping[str, Any], last: Any
) -> bool:
    """Whether neither the row of a liner, nor its shores and banks, nor the ground under it have moved."""
    now, then = (each["shape.shore"].bodies for each in (results, last.results))
    banks, old = (each["shape.grading"].bodies for each in (results, last.results))
    return (
        view["lining.liners"].get(name) is last.view["lining.liners"].get(name)
        and all(
            name in then
            and now[name] is then[name]
            and banks[name].profile is old[name].profile
            and banks[name].stretches is old[name].stretches
            and banks[name].bank == old[name].bank
            for name in before.bodies
            if name in now
        )
        and set(before.bodies) <= set(now)
        and results["shape.shore"].grid == last.results["shape.shore"].grid
        and _same_ground(before, results, last)
    )


def _same_ground(before: LinerArcs, results: Mapping[str, Any], last: Any) -> bool:
    """Whether the ground under a liner is the same to the last bit."""
    now, then = (each["earth.subgrade"].z for each in (results, last.results))
    if now is then:
        return True
    own, grid = before.ground.grid, results["shape.shore"].grid
    row = round((own.origin_north - grid.origin_north) / grid.spacing)
    column = round((own.origin_east - grid.origin_east) / grid.spacing)
    part = (slice(row, row + own.rows), slice(column, column + own.columns))
    return bool(np.array_equal(now[part], then[part]))


def _arcs(liner: Liner, results: Mapping[str, Any], before: LinerArcs | None) -> LinerArcs:
    shore = results["shape.shore"]
    beyond = value_of(liner, "margin")
    bodies = tuple(name for name in liner.bodies if name in shore.bodies)
    dug = dug_under(bodies, shore, results["shape.grading"], results["earth.subgrade"].z, beyond)
    ground = dug.ground
    least = dug.ponds_area(beyond)
    if dug.streams is not None:
        least += least_area(ground, beyond, dug.streams)
    live = before is not None and _can_follow(liner, before)
    if before is not None and live:
        sheet, plan = _near(dug, beyond, value_of(liner, "seam"), before)
    else:
        sheet, plan = _pieces(liner, dug, beyond)
    length, width = (sheet.length, sheet.width) if plan is None else (_longest(plan), plan.strips[0].width)
    return LinerArcs(
        bodies=bodies,
        dug=dug,
        sheet=sheet,
        plan=plan,
        live=live,
        beyond=beyond,
        least=least,
        turned=sheet.turned if plan is None else plan.turned,
        length=length,
        width=width,
        count=1 if plan is None else len(plan.strips),
        seams=0.0 if plan is None else plan.seams,
        ordered_area=sheet.area if plan is None else plan.area,
    )


def _pieces(liner: Liner, dug: Dug, beyond: Length) -> tuple[Sheet, PanelPlan | None]:
    """Smallest sheet of all directions, and the strips with the smallest area of all widths to be had."""
    told = None if liner.along is None else (0.5 * np.pi - liner.along,)
    sheet = best_sheet(dug.ground, beyond, told or QUARTER_TRIED)
    overlap, tried = value_of(liner, "seam"), told or DIRECTIONS_TRIED
    plans = [best_strips(dug.ground, beyond, width, overlap, tried) for width in _widths(liner)]
    return sheet, min(plans, key=lambda plan: plan.area) if plans else None


def _near(dug: Dug, beyond: Length, overlap: Length, before: LinerArcs) -> tuple[Sheet, PanelPlan | None]:
    """Pieces in directions near those of the frame before; strips of the same width."""
    if before.plan is None:
        return sheet_near(dug.ground, beyond, before.sheet), None
    # No frame shows the sheet where strips are ordered: it waits for the drop.
    return before.sheet, strips_near(dug.ground, beyond, before.width, overlap, before.plan)


def _can_follow(liner: Liner, before: LinerArcs) -> bool:
    """Whether the pieces of the frame before are of the kind that is asked for, their direction free."""
    if liner.along is not None:
        return False
    widths = _widths(liner)
    return not widths if before.plan is None else before.width in widths


def _widths(liner: Liner) -> list[Length]:
    """Widths of the rolls that can be had; none for a liner in one piece."""
    widths = set() if liner.one_piece else {stock.width for stock in liner.stock}
    return sorted(width for width in widths if width > value_of(liner, "seam"))


def _longest(plan: PanelPlan) -> Length:
    return max(strip.length for strip in plan.strips)
