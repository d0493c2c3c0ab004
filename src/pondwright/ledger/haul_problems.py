"""Problems of the ledger about hauling: what stays and leaves, machines, and ways that are driven."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from pondwright.base.sources import PRACTICE
from pondwright.rooms.earth.drivable import drivable
from pondwright.rooms.earth.haul import OFF_SITE, PILE, STREAMS
from pondwright.rooms.earth.leaving import Taker, dealt, loads_of
from pondwright.rooms.earth.machines import Compactor, compact_rate
from pondwright.rooms.earth.routes import network, routes
from pondwright.rooms.earth.states import Truck

Answer = Mapping[str, Any]
POUND, CUBIC_YARD = 0.45359237, 0.764554857984


def roller(width: float, speed: float, layer: float, efficiency: float, passes: float) -> Answer:
    """Output of a compactor, in cubic yards an hour as well."""
    made = compact_rate(Compactor(width, speed, layer, passes, efficiency))
    return {"metres": made, "yards": made / CUBIC_YARD}


def shared(amounts: Sequence[float], piles: Sequence[str], gates: Sequence[str]) -> Answer:
    """Topsoil, muck and soil dealt to piles and gates, each told by name, what it takes, room and time."""
    takers = [*(_taker(PILE, row) for row in piles), *(_taker(OFF_SITE, row) for row in gates)]
    found = dealt(dict(zip(STREAMS, map(float, amounts), strict=True)), takers)
    return {f"{name}_{stream}": volume for (name, stream), volume in found.items()}


def _taker(kind: str, row: str) -> Taker:
    name, takes, room, *time = row.split()
    streams = frozenset(STREAMS if takes == "any" else (takes,))
    return Taker(name, kind, streams, float(room), float(time[0]) if time else 0.0)


def hauled(
    bank: float, bulking: float, density: float, box: float, payload: float, fine: float = 0.0
) -> Answer:
    """Loads of soil in the bank, and whether the scale decides."""
    count, by_scale = loads_of(bank, bulking, density, Truck(box, payload, PRACTICE), fine)
    return {"loads": count, "by_scale": float(by_scale)}


def driven(
    start: Sequence[float],
    stop: Sequence[float],
    closed: Sequence[Sequence[float]] = (),
    line: Sequence[Sequence[float]] = (),
) -> Answer:
    """Way between two places round boxes, and along a way in that opens them."""
    ways = (tuple((east, north) for east, north in line),) if len(line) else ()
    places = np.array([start, stop])
    opened = [shapely.LineString(way).buffer(1.0) for way in ways]
    ground = drivable(places, [shapely.box(*box) for box in closed], opened, ways=ways)
    found = routes(network(ground), places[:1], places[1:])
    cost, length = float(found.cost[0, 0]), float(found.length[0, 0])
    return {"length": length, "cost": cost, "corners": len(found.way(0, 0)), "step": ground.grid.spacing}
