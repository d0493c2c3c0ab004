"""The groundwater once the job is built: heads round and under lined ponds, and what drains lead away.

``groundwater.heads`` follows a hand: the wettest season that was read, likely permeability, drains working.
``groundwater.cases`` has every case (:mod:`~pondwright.rooms.groundwater.stage.cases`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    FLOW,
    LENGTH,
    RATIO,
    Elevations,
    FloatArray,
    Flow,
    Length,
    Ratio,
)
from pondwright.geometry.grid import Grid
from pondwright.job.fields import value_of
from pondwright.job.lining import MARGIN, Liner
from pondwright.rooms.groundwater.aquifer import thinned
from pondwright.rooms.groundwater.checks import heads as checks
from pondwright.rooms.groundwater.fit import total
from pondwright.rooms.groundwater.heads import (
    Border,
    Ground,
    Heads,
    OneWay,
    flow_arrows,
    steady_heads,
)
from pondwright.rooms.groundwater.lines import lengths_in_cells
from pondwright.rooms.groundwater.stage.aquifer import AquiferResult, Fit
from pondwright.rooms.groundwater.stage.drain_lines import (
    BUILT,
    NOWHERE,
    DrainCells,
    DrainLine,
    drain_cells,
    drain_lines,
    drain_ways,
)
from pondwright.rooms.groundwater.stage.shared import limits_of
from pondwright.rooms.groundwater.stage.waters import two_ways

ARROW_EVERY = 6
"""Cells from one arrow to the next."""

DRAG_STEPS = 3
"""Steps of the solver from the heads of the frame before: under a millimetre off."""

LINERS = "lining.liners"

DRAIN_ROWS = ("groundwater.drains", "groundwater.outlets", "groundwater.sumps")

MODEL = (
    "groundwater.aquifer.seasons",
    "groundwater.drains",
    "groundwater.outlets",
    "groundwater.sumps",
    "shape.shore.bodies.*.distance",
    "lining.liners.*.margin",
    "shape.grading.z",
    "earth.subgrade.z",
)


@dataclass(frozen=True, slots=True)
class DrainFlow:
    """What one drain leads away; `why` tells why it takes nothing, and is empty where it does."""

    why: str
    length: Length = figure(
        LENGTH, "Length of it that takes water", by=lengths_in_cells, uses=("groundwater.drains.*.place",)
    )
    flow: Flow = figure(FLOW, "Water that it takes", by=steady_heads, uses=MODEL)


@dataclass(frozen=True, slots=True, eq=False)
class Built:
    """The ground once the job is built, as its water sees it, the same for every season.

    The liner runs up the bank beyond the waterline, and no water leaves the ground as far as its edge:
    `under` is all that it covers, `bank` the part of that which lies beyond the waterline.  `body` is the
    number of the lined body over each cell, -1 where there is none; `cap` the underside of its liner,
    infinite elsewhere.
    """

    under: NDArray[np.bool_]
    bank: NDArray[np.bool_]
    body: NDArray[np.int8]
    cap: Elevations
    ground: Elevations
    layers_top: Elevations


@dataclass(frozen=True, slots=True, eq=False)
class HeadsResult:
    """Heads once the job is built, in the wet season, with likely permeability and working drains.

    `under`, `bank`, `body` and `cap` are those of :class:`Built`.  Where no reading tells anything `known` is
    false, heads and flows are None, and nothing is built: the stage rests while shores are dragged.
    """

    grid: Grid
    step: int
    known: bool
    season: str
    under: NDArray[np.bool_]
    bank: NDArray[np.bool_]
    body: NDArray[np.int8]
    cap: Elevations
    ground: Elevations
    head: Elevations | None
    arrows: FloatArray | None
    drains: Mapping[str, DrainFlow]
    lines: Mapping[str, DrainLine]
    cells: Mapping[str, DrainCells]
    seepage: Flow | None = figure(FLOW, "Water that comes out of the ground", by=steady_heads, uses=MODEL)
    into_borders: Flow | None = figure(FLOW, "Water that leaves below ground", by=steady_heads, uses=MODEL)
    out_of_borders: Flow | None = figure(
        FLOW, "Water that comes in below ground", by=steady_heads, uses=MODEL
    )
    recharge: Flow | None = figure(FLOW, "Water that soaks in", uses=("groundwater.recharge",))
    mass_error: Ratio | None = figure(RATIO, "Share of the water that is lost in computing", by=steady_heads)
    dry_share: Ratio | None = figure(RATIO, "Share of the ground that is dry to its base", by=steady_heads)

    def thin(self, surface: FloatArray) -> FloatArray:
        """Values at the cells of an array on the ground's grid."""
        return thinned(surface, self.grid, self.step)


def heads_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[HeadsResult, tuple[Finding, ...]]:
    """Heads once the job is built.

    Parameters
    ----------
    view : mapping        Reads `groundwater.drains`, `groundwater.outlets`, `groundwater.sumps`,
                          `lining.liners`, `rules`.
    results : mapping     Needs `groundwater.aquifer`, `shape.shore`, `shape.grading`,
                          `earth.subgrade`.
    last : Last           Its heads are where the solver starts.

    Returns
    -------
    HeadsResult and the checks of the drains.
    """
    aquifer = results["groundwater.aquifer"]
    season = "wet" if "wet" in aquifer.seasons else "dry"
    if not aquifer.known:
        same = last is not None and last.results["groundwater.aquifer"] is aquifer
        lines = drain_lines(*drain_rows(view), BUILT, wet=season == "wet")
        return last.result if same else _unknown(aquifer, season), (_ends(lines, view),)
    built = built_ground(aquifer, results, view[LINERS])
    lines, cells = _laid(aquifer, season, view, last)
    fit = aquifer.seasons[season].likely
    start, steps = _start(aquifer, last)
    solved = solve(aquifer, built, season, fit, lines, cells, start, steps)
    found = solved.heads
    across = found.across[0]
    result = HeadsResult(
        grid=aquifer.grid,
        step=aquifer.step,
        known=True,
        season=season,
        under=built.under,
        bank=built.bank,
        body=built.body,
        cap=built.cap,
        ground=built.ground,
        head=found.head,
        arrows=_arrows(solved.ground, found.head, aquifer.grid),
        drains=MappingProxyType(_drain_flows(lines, solved)),
        lines=MappingProxyType(lines),
        cells=MappingProxyType(cells),
        seepage=total(found.left[0]),
        into_borders=total(np.maximum(-across, 0.0)),
        out_of_borders=total(np.maximum(across, 0.0)),
        recharge=total(found.source),
        mass_error=found.mass_error,
        dry_share=float(np.count_nonzero(found.dry)) / found.dry.size,
    )
    limits = limits_of(view)
    findings = [
        _ends(lines, view),
        checks.check_dry_ground(result.dry_share or 0.0, _spots(found.dry, aquifer.grid), limits),
        *_above_liner(cells, view, built, aquifer.grid),
    ]
    return result, tuple(findings)


def built_ground(aquifer: AquiferResult, results: Mapping[str, Any], liners: Mapping[str, Liner]) -> Built:
    """The ground once the job is built, on the water grid.

    Parameters
    ----------
    aquifer : AquiferResult
    results : mapping         `shape.shore`, `shape.grading`, `earth.subgrade`.
    liners : mapping          Rows of the document.

    Returns
    -------
    Built

    Notes
    -----
    A cell is under the liner where its middle is.  Where the edges of two liners meet, a cell is of the body
    whose waterline is nearest.
    """
    shape = aquifer.grid.shape
    body, nearest = np.full(shape, -1, dtype=np.int8), np.full(shape, -np.inf)
    for index, (name, shore) in enumerate(results["shape.shore"].bodies.items()):
        distance = aquifer.thin(shore.distance)
        near = np.where(distance > 0.0, np.inf, distance)
        own = (distance > -margin_of(name, liners)) & (near >= nearest)
        body[own], nearest[own] = index, near[own]
    under = body >= 0
    bank = under & (nearest <= 0.0)
    finish = aquifer.thin(results["shape.grading"].z)
    cap = np.where(under, aquifer.thin(results["earth.subgrade"].z), np.inf)
    top = aquifer.layers_top.copy()
    np.maximum(top[0], finish, out=top[0])
    return Built(under, bank, body, cap, finish, top)


def margin_of(body: str, liners: Mapping[str, Liner]) -> Length:
    """How far the liner of a body reaches beyond its waterline; of several the widest. [m]"""
    own = [
        float(value_of(liner, "margin"))
        for liner in liners.values()
        if body in liner.bodies and liner.status in BUILT
    ]
    return max(own, default=float(MARGIN.value or 0.0))


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """Heads of one case, and the ground and drains that they are of."""

    ground: Ground
    heads: Heads
    drains: tuple[str, ...]

    def flow(self, drain: str) -> Flow:
        """What a drain takes; nothing where it takes no water. [m³/s]"""
        if drain not in self.drains:
            return 0.0
        return total(self.heads.left[1 + self.drains.index(drain)])


def solve(
    aquifer: AquiferResult,
    built: Built,
    season: str,
    fit: Fit,
    lines: Mapping[str, DrainLine],
    cells: Mapping[str, DrainCells],
    start: Elevations | None = None,
    steps: int | None = None,
) -> Solved:
    """Heads of one case once the job is built.

    Parameters
    ----------
    aquifer : AquiferResult
    built : Built
    season : str             `dry` or `wet`.
    fit : Fit                Of that season, at some permeability.
    lines, cells : mapping   Drains of the case, and where they lie.
    start : Elevations       Heads to start from; none are those before anything is built. [m]
    steps : int              As for :func:`~pondwright.rooms.groundwater.heads.steady_heads`.

    Returns
    -------
    Solved
    """
    grid = aquifer.grid
    ground = Ground(
        grid.spacing, built.layers_top, aquifer.layers_bottom, fit.permeability, aquifer.base, built.cap
    )
    waters = [
        water
        for water in aquifer.waters[season]
        # A pond that a new one takes the place of is gone, told or not.
        if not water.goes and not (built.under & ~built.bank & water.wet).any()
    ]
    closed = built.under
    for water in waters:
        closed = closed | water.wet
    ways = drain_ways(lines, cells, ground, fit.head)
    heads = steady_heads(
        ground,
        two_ways(waters, ground, np.minimum(aquifer.ground, built.cap)),
        (OneWay(np.where(closed, 0.0, np.inf), built.ground), *ways.values()),
        np.where(closed, 0.0, fit.recharge * grid.spacing**2),
        borders=(Border(aquifer.border, fit.far),),
        start=fit.head if start is None else start,
        steps=steps,
    )
    return Solved(ground, heads, tuple(ways))


def drain_rows(view: Mapping[str, Any]) -> tuple[Any, Any, Any]:
    """Drains, outlets and sumps of the document."""
    drains, outlets, sumps = (view[path] for path in DRAIN_ROWS)
    return drains, outlets, sumps


def _start(aquifer: AquiferResult, last: Any) -> tuple[Elevations | None, int | None]:
    """Heads of the frame before, and how many steps from there are enough; None to solve in full."""
    if last is None or last.result.head is None or last.results["groundwater.aquifer"] is not aquifer:
        return None, None
    return last.result.head, DRAG_STEPS


def _laid(
    aquifer: AquiferResult, season: str, view: Mapping[str, Any], last: Any
) -> tuple[dict[str, DrainLine], dict[str, DrainCells]]:
    """Drains and where they lie: as last time where no drain, outlet or sump has changed."""
    if (
        last is not None
        and last.result.known
        and last.results["groundwater.aquifer"] is aquifer
        and all(view[path] is last.view[path] for path in DRAIN_ROWS)
    ):
        return dict(last.result.lines), dict(last.result.cells)
    lines = drain_lines(*drain_rows(view), BUILT, wet=season == "wet")
    return lines, drain_cells(lines, aquifer.grid)


def _unknown(aquifer: AquiferResult, season: str) -> HeadsResult:
    nowhere = np.zeros(aquifer.grid.shape, dtype=np.bool_)
    return HeadsResult(
        grid=aquifer.grid,
        step=aquifer.step,
        known=False,
        season=season,
        under=nowhere,
        bank=nowhere,
        body=np.full(aquifer.grid.shape, -1, dtype=np.int8),
        cap=np.full(aquifer.grid.shape, np.inf),
        ground=aquifer.ground,
        head=None,
        arrows=None,
        drains=MappingProxyType({}),
        lines=MappingProxyType({}),
        cells=MappingProxyType({}),
        seepage=None,
        into_borders=None,
        out_of_borders=None,
        recharge=None,
        mass_error=None,
        dry_share=None,
    )


def _drain_flows(lines: Mapping[str, DrainLine], solved: Solved) -> dict[str, DrainFlow]:
    return {
        name: DrainFlow(line.why, 0.0 if line.why else line.length, solved.flow(name))
        for name, line in lines.items()
    }


def _arrows(ground: Ground, head: Elevations, grid: Grid) -> FloatArray:
    """Flow at every so many cells: east, north, and the flow per metre of width that way. [m], [m²/s]"""
    east, north = flow_arrows(ground, head)
    some = slice(ARROW_EVERY // 2, None, ARROW_EVERY)
    places = np.meshgrid(grid.east[some], grid.north[some])
    return np.column_stack(
        [*(axis.ravel() for axis in places), east[some, some].ravel(), north[some, some].ravel()]
    )


def _ends(lines: Mapping[str, DrainLine], view: Mapping[str, Any]) -> Finding:
    lost = [name for name, line in lines.items() if line.why == NOWHERE]
    spots = tuple((float(lines[name].points[-1, 0]), float(lines[name].points[-1, 1])) for name in lost)
    return checks.check_drain_end(lost, spots, limits_of(view))


def _above_liner(
    cells: Mapping[str, DrainCells], view: Mapping[str, Any], built: Built, grid: Grid
) -> Sequence[Finding]:
    found = []
    for name, own in cells.items():
        at = (own.rows, own.columns)
        above = (own.level >= built.cap[at]) & ~built.bank[at]
        if above.any():
            first = int(np.argmax(above))
            called = view["groundwater.drains"][name].name or name.replace("_", " ")
            place = (float(grid.east[own.columns[first]]), float(grid.north[own.rows[first]]))
            found.append(checks.drain_above_liner(name, called, place))
    return found


def _spots(cells: NDArray[np.bool_], grid: Grid) -> tuple[tuple[float, float], ...]:
    """Some of the cells, to light up."""
    rows, columns = np.nonzero(cells)
    every = 1 + len(rows) // 30
    return tuple(
        (float(grid.east[column]), float(grid.north[row]))
        for row, column in zip(rows[::every], columns[::every], strict=True)
    )
