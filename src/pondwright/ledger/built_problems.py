"""Problems of the ledger about ramps, steps, walls, fences and lights beside the water: known answers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import line_length
from pondwright.rooms.shape.laid import LaidWay, run_levels, way_limits
from pondwright.rooms.shape.upright import beside, closed_areas, fence_length, flight, to_water

Answer = dict[str, Any]


def ramp(start: float, end: float, length: float, width: float, spacing: float) -> Answer:
    """Ramp along the east axis over level ground at zero: the soil that it takes over its width."""
    grid = Grid(0.0, -10.0, spacing, columns=round(length / spacing) + 1, rows=round(20.0 / spacing) + 1)
    line = np.array([[0.0, 0.0], [length, 0.0]])
    limits = way_limits([LaidWay(line, width, start, end)], grid, 2.0, 3.0)
    z = np.clip(0.0, limits.lower, limits.upper)
    middle = z[grid.rows // 2]
    return {
        "length": line_length(line),
        "half": float(run_levels(np.array([0.5 * length]), length, start, end)[0]),
        "middle": middle[[0, len(middle) // 2, -1]],
        "profile": float(((middle[1:] + middle[:-1]) / 2).sum()) * spacing,
    }


def steps(rise: float, length: float, most_riser: float, start: float) -> Answer:
    """Flight of steps, and the elevations of its treads."""
    found = flight(rise, length, most_riser)
    treads = np.linspace(0.5, found.risers - 1.5, found.risers - 1) * found.tread
    levels = run_levels(treads, length, start, start + rise, found.risers)
    return {"risers": found.risers, "riser": found.riser, "tread": found.tread, "levels": levels}


def fenced(side: float, open_by: float, gates: Sequence[float], gap: float) -> Answer:
    """Square fence that is open by some length at its last corner, and a light beside it."""
    line = np.array([[0.0, 0.0], [side, 0.0], [side, side], [0.0, side], [0.0, open_by]])
    found = closed_areas([line], gap)
    ring = line[:-1]
    return {
        "closed": len(found),
        "length": fence_length(line, gates),
        "to_water": to_water((side + 3.0, side + 4.0), [ring]),
        "in_water": to_water((0.5 * side, 0.5 * side), [ring]),
    }


def hillside(fall: float, away: float) -> Answer:
    """Higher and lower ground beside a line that runs along a slope of even fall."""
    grid = Grid(-10.0, -10.0, 0.5, columns=41, rows=41)
    hill = np.repeat(fall * grid.north[:, None], grid.columns, axis=1)
    high, low = beside(hill, grid, np.array([[-5.0, 0.0], [0.0, 0.0], [5.0, 0.0]]), away)
    return {"high": high, "low": low}
