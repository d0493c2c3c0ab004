"""What the formulas of the trade give for a drain, beside the water that the model brings to it.

The formulas know one long straight trench in level ground.  They tell whether the model is of the right
size, no more.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.kinds import FLOW, LENGTH, RATIO, Elevations, Flow, Length, Lengths, Ratio
from pondwright.geometry.grid import Grid
from pondwright.rooms.groundwater.dewatering import (
    Strata,
    sichardt_reach,
    strata_transmissivity,
    trench_inflow,
)
from pondwright.rooms.groundwater.heads import steady_heads
from pondwright.rooms.groundwater.spacing import hooghoudt_recharge
from pondwright.rooms.groundwater.stage.dig import TRENCH_FACTOR
from pondwright.rooms.groundwater.stage.drain_lines import DrainCells, DrainLine

LEAST: Length = 0.05
"""Where a drain lowers the groundwater by less, there is nothing to compare. [m]; common practice."""

_USES = ("groundwater.aquifer.seasons", "groundwater.cases.cases")


@dataclass(frozen=True, slots=True)
class DrainFormula:
    """Water that comes to a metre of one drain by the model and by two formulas, likely permeability.

    `sides` is from how many sides it comes, on the mean along the drain: a side is free where no liner covers
    the ground at the reach of the drain.
    """

    sides: Ratio = figure(RATIO, "Sides of it from which water comes", uses=("shape.shore.bodies.*.rings",))
    reach: Length = figure(LENGTH, "How far it is felt, by rule of thumb", by=sichardt_reach, uses=_USES)
    modelled: Flow = figure(FLOW, "Water to a metre of it, by the model", by=steady_heads, uses=_USES)
    trench: Flow = figure(FLOW, "The same by the trench formula", by=trench_inflow, uses=_USES)
    spaced: Flow = figure(
        FLOW,
        "The same by Hooghoudt's formula, with rain on all the ground that it is felt in",
        by=hooghoudt_recharge,
        uses=_USES,
    )


def drain_formula(
    line: DrainLine, cells: DrainCells, flow: Flow, bare: Elevations, aquifer: Any, built: Any, fit: Any
) -> DrainFormula | None:
    """What the formulas give for one drain; None where they have nothing to say.

    Parameters
    ----------
    line, cells : DrainLine, DrainCells     The drain, and where it lies.
    flow : Flow                   That the model brings to it. [m³/s]
    bare : (rows, columns) array  Groundwater with no drain at all. [m]
    aquifer : AquiferResult
    built : Built
    fit : Fit                     At the permeability of the flow.

    Returns
    -------
    DrainFormula or None          None where the drain lowers the water by little, or no side of it is free.
    """
    level = cells.level if line.backed is None else np.maximum(cells.level, line.backed)
    head = bare[cells.rows, cells.columns]
    wet = (head > level) & (cells.level < built.cap[cells.rows, cells.columns])
    length = float(cells.length[wet].sum())
    if line.why or not length:
        return None
    share = cells.length[wet] / length
    drawdown = float(share @ (head - level)[wet])
    places = list(zip(cells.rows[wet], cells.columns[wet], strict=True))
    strata = [_strata(row, column, aquifer, built, fit) for row, column in places]
    depth = float(share @ (level[wet] - [each.base for each in strata]))
    if drawdown < LEAST or depth <= 0.0:
        return None
    ends = list(zip(strata, head[wet], level[wet], strict=True))
    lower = float(share @ [strata_transmissivity(one, stands) for one, _, stands in ends])
    upper = float(share @ [strata_transmissivity(one, above) for one, above, _ in ends])
    reach = sichardt_reach(drawdown, upper / (depth + drawdown), TRENCH_FACTOR)
    sides = _sides(line, reach, aquifer.grid, built.under)
    if not sides:
        return None
    one_side = sum(
        part * trench_inflow(one, above, stands, reach, 1.0, 1)
        for part, (one, above, stands) in zip(share, ends, strict=True)
    )
    spacing = 2.0 * reach
    recharge = hooghoudt_recharge(
        spacing, lower / depth, (upper - lower) / drawdown, drawdown, depth, line.radius
    )
    spaced = 0.5 * sides * recharge * spacing
    return DrainFormula(sides, reach, flow / length, sides * float(one_side), float(spaced))


def _strata(row: int, column: int, aquifer: Any, built: Any, fit: Any) -> Strata:
    """Layers of one cell once the job is built; under a liner they end at its underside."""
    top = np.minimum(built.layers_top[:, row, column], built.cap[row, column])
    bottom = np.maximum(aquifer.layers_bottom[:, row, column], aquifer.base[row, column])
    there = top > bottom
    if not there.any():
        base = bottom[-1:]
        return Strata(base, base, fit.permeability[-1:, row, column])
    return Strata(top[there], bottom[there], fit.permeability[:, row, column][there])


def _sides(line: DrainLine, reach: Length, grid: Grid, under: NDArray[np.bool_]) -> Ratio:
    """From how many sides water comes to a drain, on the mean of its pieces."""
    pieces = np.diff(line.points, axis=0)
    long = np.hypot(*pieces.T)
    pieces, middles, long = (array[long > 0.0] for array in (pieces, _middles(line.points), long))
    across = np.column_stack([-pieces[:, 1], pieces[:, 0]]) / long[:, None]
    free = [~_covered(middles + way * reach * across, grid, under) for way in (-1.0, 1.0)]
    return float(long @ (free[0].astype(float) + free[1]) / long.sum())


def _middles(points: Lengths) -> Lengths:
    return 0.5 * (points[:-1] + points[1:])


def _covered(points: Lengths, grid: Grid, under: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whether a liner lies over points; beyond the plan none does."""
    columns = np.rint((points[:, 0] - grid.origin_east) / grid.spacing).astype(int)
    rows = np.rint((points[:, 1] - grid.origin_north) / grid.spacing).astype(int)
    on_plan = (columns >= 0) & (columns < grid.columns) & (rows >= 0) & (rows < grid.rows)
    covered = np.zeros(len(points), dtype=np.bool_)
    covered[on_plan] = under[rows[on_plan], columns[on_plan]]
    return covered


def middle_of(line: DrainLine) -> tuple[Length, Length]:
    """A place on a drain, about halfway, to light up. [m]"""
    half = len(line.points) // 2
    middle = line.points[half] if len(line.points) > 2 else line.points.mean(axis=0)
    return float(middle[0]), float(middle[1])
