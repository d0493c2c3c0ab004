"""Arrays of the groundwater for the live channel: heads, uplift by stage, flow, drains, routes, ways out."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from pondwright.flow.engine import Run, Status
from pondwright.geometry.contour import contour_lines
from pondwright.geometry.surface import surface_at
from pondwright.papers.window import contour_interval
from pondwright.server.arrays import Arrays, Wish
from pondwright.server.plain import plain_op

POND_STAGES = ("full", "half", "empty", "service")
"""Stages of a pond for which a client may ask whether its liner holds."""

UNKNOWN = -9999.0
"""Where nobody knows the groundwater."""

SCALE = 0.001
MOST = 30.0
"""Share of the weight that is pushed up beyond which nothing more is told. [-]"""

Points = NDArray[np.float64]


def add_heads(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Contours of the groundwater in the wet season, once the job is built."""
    heads = run.results.groundwater.heads
    if heads.head is None:
        arrays.add("heads_points", np.empty((0, 2), dtype="<f4"), interval=0.0, every=1)
        arrays.add("heads_starts", np.zeros(1, dtype="<i4"))
        arrays.add("heads_levels", np.empty(0, dtype="<f4"))
        return
    low, high = float(heads.head.min()), float(heads.head.max())
    interval, every = contour_interval(low, high, run.job.shown_units)
    numbers = np.arange(math.ceil(low / interval), math.floor(high / interval) + 1, dtype=np.float64)
    lines = contour_lines(heads.head, heads.grid, numbers * interval, None)
    arrays.add("heads_points", lines.points.astype("<f4"), interval=interval, every=every)
    arrays.add("heads_starts", lines.starts.astype("<i4"))
    arrays.add("heads_levels", lines.levels.astype("<f4"))


def add_flow(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Where the groundwater goes, and how much of it across a metre."""
    arrows = run.results.groundwater.heads.arrows
    table = np.empty((0, 4)) if arrows is None else np.asarray(arrows, dtype=np.float64).reshape(-1, 4)
    arrays.add("flow", table.astype("<f4"), columns=["east", "north", "flow_east", "flow_north"])


def _add_uplift(stage: str, arrays: Arrays, run: Run, _wish: Wish) -> None:
    """How each liner holds at a stage of its pond, in the box of the liners.

    Zero is where nothing pushes; up to one there is as much weight in hand as is wanted, up to two the weight
    is still more than the push, beyond two it is less and the liner lifts.

    Beyond the shores the nearest value stands, so that a picture between the nodes is true up to the shore;
    the shores of the very same run come with it.
    """
    result = run.results.groundwater.uplift
    bodies = run.results.shape.shore.bodies
    rings = [(name, ring) for name in result.lined for ring in bodies[name].rings]
    starts = np.cumsum([0, *(len(ring) for _, ring in rings)])
    arrays.add("lined_points", np.vstack([np.empty((0, 2)), *(ring for _, ring in rings)]).astype("<f4"))
    arrays.add("lined_starts", starts.astype("<i4"), ids=[name for name, _ in rings])
    net = result.maps[stage].net if result.known else np.full(result.grid.shape, np.nan)
    rows, columns = np.nonzero(~np.isnan(net))
    if not len(rows):
        return
    grid = result.grid
    top, left = max(int(rows.min()) - 1, 0), max(int(columns.min()) - 1, 0)
    box = net[top : rows.max() + 2, left : columns.max() + 2]
    nearest = distance_transform_edt(np.isnan(box), return_distances=False, return_indices=True)
    share = np.minimum(1.0 / np.maximum(box[tuple(nearest)], 1.0 / MOST), MOST)
    wanted = result.maps[stage].wanted
    push = np.interp(share, [0.0, 1.0 / wanted, 1.0, MOST], [0.0, 1.0, 2.0, MOST + 1.0])
    place = {
        "origin_east": float(grid.east[left]),
        "origin_north": float(grid.north[top]),
        "spacing": grid.spacing,
        "columns": box.shape[1],
        "rows": box.shape[0],
    }
    arrays.add(f"uplift_{stage}", np.rint(push / SCALE).astype("<i2"), scale=SCALE, zero=0.0, grid=place)


UPLIFT = {f"uplift_{stage}": partial(_add_uplift, stage) for stage in POND_STAGES}
"""One array for each stage of a pond."""


def add_drains(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Profile of each drain, from its upper end down, and what is told of it as a whole."""
    columns = ["station", "east", "north", "invert", "ground", "finish", "under", "lined", "water"]
    lines = run.results.groundwater.profiles.lines
    arrays.add("all_drains", np.zeros(len(lines), dtype="<u1"), ids=list(lines))
    for name, line in lines.items():
        surfaces = line.invert, line.ground, line.finish, line.under, line.lined
        table = np.column_stack([line.chainage, line.points, *surfaces, water_along(run, line.points)])
        arrays.add(
            "drains",
            table,
            drain=name,
            columns=columns,
            bends=[float(line.chainage[at]) for at in line.bends],
            falls=[float(fall) for fall in line.falls],
            eyes=[float(eye) for eye in line.eyes],
            diameter=float(line.diameter),
            ends=line.ends,
            flood=line.flood,
        )


def add_routes(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Each route that was found for a drain, with the edit that lays it; places from which none falls."""
    found = run.results.groundwater.route
    arrays.add(
        "all_routes",
        np.zeros(len(found.routes), dtype="<u1"),
        ids=list(found.routes),
        stuck=list(found.stuck),
    )
    for name, route in found.routes.items():
        table = np.column_stack([route.points, route.inverts])
        arrays.add(
            "routes",
            table,
            route=name,
            outlet=route.outlet,
            crosses=list(route.crosses),
            ops=[plain_op(op) for op in route.ops],
            columns=["east", "north", "invert"],
        )


def add_offers(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Ways out for each body that does not hold, the best first, each with its numbers and its edit."""
    columns = ["change", "excess", "net", "mark", "flow"]
    bodies = run.results.groundwater.offers.bodies
    arrays.add("all_offers", np.zeros(len(bodies), dtype="<u1"), ids=list(bodies))
    for body, each in bodies.items():
        offers = each.offers
        rows = [[_or_nan(getattr(offer, column)) for column in columns] for offer in offers.values()]
        arrays.add(
            "offers",
            np.array(rows, dtype=np.float64).reshape(-1, len(columns)),
            body=body,
            columns=columns,
            ids=list(offers),
            says=[offer.says for offer in offers.values()],
            refused=[offer.refused for offer in offers.values()],
            holds=[offer.holds for offer in offers.values()],
            edits=[[plain_op(op) for op in offer.ops] for offer in offers.values()],
        )


def water_along(run: Run, points: Points) -> Points:
    """Level of the groundwater at places once the job is built; unknown is :data:`UNKNOWN`.

    Parameters
    ----------
    run : Run
    points : array (n, 2)       East and north. [m]

    Returns
    -------
    array (n,) [m]
    """
    state = run.results.groundwater.heads
    if run.stages["groundwater.heads"].status is not Status.FRESH or state.head is None:
        return np.full(len(points), UNKNOWN)
    west, south, east, north = state.grid.extent
    return surface_at(state.head, state.grid, np.clip(points, (west, south), (east, north)))


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value
