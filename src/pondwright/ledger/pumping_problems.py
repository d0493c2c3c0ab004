"""Problems of the ledger about water while it is built: pits, trenches and tanks with a known answer."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from pondwright.rooms.groundwater.dewatering import (
    Strata,
    equivalent_radius,
    flow_potential,
    head_beside,
    pit_inflow,
    shallow_pit_inflow,
    sichardt_reach,
    strata_transmissivity,
    trench_inflow,
)
from pondwright.rooms.groundwater.draining import drained, fastest_fall, largest_useful_pump
from pondwright.rooms.groundwater.drawdown import theis_drawdown, thiem_difference

Answer = dict[str, Any]

TALL = 1_000.0
DAY = 86_400.0


def open_pit(
    permeability: float, head: float, kept: float, length: float, width: float, distance: float
) -> Answer:
    """Pit in open ground over a tight base at level 0."""
    ground = _strata(permeability, 0.0)
    radius, reach = equivalent_radius(length, width), sichardt_reach(head - kept, permeability)
    rise = 1e-3
    return {
        "flow": pit_inflow(ground, head, kept, radius, reach + radius),
        "flow_from_edge": pit_inflow(ground, head, kept, radius, reach),
        "beside": head_beside(ground, head, kept, radius, reach + radius, distance),
        "slope": (flow_potential(ground, head + rise) - flow_potential(ground, head - rise)) / (2.0 * rise),
        "transmissivity": strata_transmissivity(ground, head),
    }


def long_trench(
    permeability: float, head: float, kept: float, reach: float, length: float, sides: int
) -> Answer:
    """Trench in open ground over a tight base at level 0."""
    return {"flow": trench_inflow(_strata(permeability, 0.0), head, kept, reach, length, sides)}


def tight_roof(
    permeability: float, thickness: float, head: float, flow: float, reach: float, radius: float
) -> Answer:
    """Well into a layer under a tight roof: the head in it for a flow, and that flow again for the head."""
    layer = Strata(np.array([thickness]), np.array([0.0]), np.array([permeability]))
    kept = head - thiem_difference(flow, permeability * thickness, radius, reach)
    return {"kept": kept, "flow": pit_inflow(layer, head, kept, radius, reach)}


def well_function(argument: float) -> Answer:
    """Well function by the drawdown of a well that pumps 4 π T."""
    time = 1.0 / (4.0 * argument)
    return {"value": theis_drawdown(4.0 * math.pi, 1.0, 1.0, 1.0, time).drawdown}


def shallow_pit(
    permeability: float, head: float, kept: float, base: float, radius: float, reach: float
) -> Answer:
    """Pit in open ground that ends above the tight base."""
    ground = _strata(permeability, base)
    flow = shallow_pit_inflow(ground, head, kept, radius, reach)
    return {"flow": flow, "share_of_whole": flow / pit_inflow(ground, head, kept, radius, reach)}


def tank(
    area: float, depth: float, upper: float, lower: float, pump: float, drop: float, share: float
) -> Answer:
    """Tank with upright sides, water running in, emptied by a pump; a drop of 0 a day is no limit."""
    curve = np.array([0.0, depth]), np.array([0.0, area * depth]), np.array([lower, upper])
    fastest = drop / DAY if drop else math.inf
    found = drained(*curve, depth, 0.0, pump, fastest=fastest, share=share)
    return {
        "time": found.time,
        "run_time": found.run_time,
        "pumped": found.pumped,
        "reached": found.reached,
        "largest": largest_useful_pump(*curve, depth, 0.0, fastest) if drop else math.inf,
        "fastest": fastest_fall(*curve, depth, 0.0, pump),
    }


def _strata(permeability: float, base: float) -> Strata:
    return Strata(np.array([TALL]), np.array([base]), np.array([permeability]))
