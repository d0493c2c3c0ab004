"""Arrays of the stone for the live channel: classes, courses along the shore, covers, the yard list."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from pondwright.flow.engine import Run, Status
from pondwright.geometry.contour import areas_above
from pondwright.rooms.shape.grading import ZONES_PER_BODY
from pondwright.server.arrays import Arrays, Wish
from pondwright.server.plain import plain_op

Points = NDArray[np.float64]

LAST_ZONE = ZONES_PER_BODY - 1
UNKNOWN = -9999.0
"""Where no stone stands."""

NEAR = 2.0
"""A place farther from the stone than that has none. [m]"""

FEWEST = 4
"""Places of a ring that is worth drawing."""


def add_stone_classes(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Classes of the takeoff: their sizes, one stone's mass, and whether the job told of them."""
    classes = run.results.stone.takeoff.classes
    rows = [[one.low, one.high, one.stone_mass, float(one.told)] for one in classes.values()]
    arrays.add(
        "stone_classes",
        np.array(rows, dtype=np.float64).reshape(-1, 4),
        ids=list(classes),
        columns=["low", "high", "mass", "told"],
    )


def add_stone_runs(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Courses of stones along the shores, each as short pieces with the side to which the bank falls."""
    bodies = run.results.stone.takeoff.bodies
    runs = [(name, one) for name, body in bodies.items() for one in body.runs]
    arrays.add("all_stone_runs", np.zeros(len(runs), dtype="<u1"))
    for name, one in runs:
        arrays.add(
            "stone_runs",
            np.column_stack([one.points, one.inward, one.lengths]).astype("<f4"),
            body=name,
            row=one.row,
            course=int(one.course),
            tall=float(one.height),
            foot=float(one.foot),
            rows=int(one.rows),
            hidden=bool(one.hidden),
            columns=["east", "north", "face_east", "face_north", "length"],
        )


def add_stone_areas(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Ground that each cover of a zone or of a whole body lies on, as rings."""
    rings: list[Points] = []
    rows: list[str] = []
    kinds: list[str] = []
    for row, treatment in run.job.stone.treatments.items():
        for ring in _rings_of(run, treatment.place):
            rings.append(ring)
            rows.append(row)
            kinds.append(treatment.kind)
    starts = np.cumsum([0, *(len(ring) for ring in rings)])
    arrays.add("stone_areas_points", np.vstack([np.empty((0, 2)), *rings]).astype("<f4"))
    arrays.add("stone_areas_starts", starts.astype("<i4"), ids=rows, says=kinds)


def _rings_of(run: Run, place: Any) -> Iterator[Points]:
    """Rings round the ground of a place; none of a stretch, which the plan draws along the shore itself."""
    bodies = run.results.shape.shore.bodies
    if place.at == "whole":
        for name in [place.body] if place.body is not None else list(bodies):
            yield from bodies[name].rings if name in bodies else ()
        return
    grading = run.results.shape.grading
    if place.at != "part" or place.body not in grading.bodies:
        return
    grid = run.results.shape.shore.grid
    mask = grading.part == grading.bodies[place.body].first_part + min(place.zone, LAST_ZONE)
    for area in areas_above(mask.astype(np.float64), grid, 0.5):
        yield from (ring for ring in area if len(ring) >= FEWEST)


def top_along(run: Run, name: str, number: int, points: Points) -> Points:
    """Top of the stone at places along a ring of a body; none is told as :data:`UNKNOWN`.

    Parameters
    ----------
    run : Run
    name : str                  The body.
    number : int                The ring; 0 is the outer shore.
    points : array (n, 2)       East and north. [m]

    Returns
    -------
    array (n,) [m]
    """
    nowhere = np.full(len(points), UNKNOWN)
    if run.stages["stone.takeoff"].status is not Status.FRESH:
        return nowhere
    body = run.results.stone.takeoff.bodies.get(name)
    if body is None:
        return nowhere
    mine = np.asarray(body.top.ring) == number
    if not mine.any():
        return nowhere
    away, nearest = cKDTree(body.top.points[mine]).query(points)
    top = body.top.top[mine][nearest]
    return np.where(np.isfinite(top) & (away < NEAR), top, UNKNOWN)


def add_stone_yard(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Place of each stone that was taped, and the places themselves, with the edit that keeps them so."""
    yard = run.results.stone.yard
    stones = yard.stones
    rows = [
        [*(one.point or (math.nan, math.nan)), one.order, one.mass, _or_nan(one.misfit)]
        for one in stones.values()
    ]
    arrays.add(
        "stone_yard",
        np.array(rows, dtype=np.float64).reshape(-1, 5),
        ids=list(stones),
        says=[one.says for one in stones.values()],
        places=[one.place for one in stones.values()],
        holds=[not one.changed for one in stones.values()],
        ops=[plain_op(op) for op in yard.keep],
        columns=["east", "north", "order", "mass", "misfit"],
    )
    places = yard.places
    table = [[one.low, one.high, one.needed, one.dealt, one.missing] for one in places.values()]
    arrays.add(
        "stone_places",
        np.array(table, dtype=np.float64).reshape(-1, 5),
        ids=list(places),
        says=[one.says for one in places.values()],
        places=[one.role for one in places.values()],
        sources=[one.source for one in places.values()],
        classes=[one.stone for one in places.values()],
        columns=["low", "high", "needed", "dealt", "missing"],
    )
    _add_trucks(arrays, run)


def _add_trucks(arrays: Arrays, run: Run) -> None:
    """Trucks of the yard list: what lies on each, and what it may carry."""
    trucks = run.results.stone.yard.trucks.values()
    table = [[one.mass, one.payload] for one in trucks]
    arrays.add(
        "stone_trucks",
        np.array(table, dtype=np.float64).reshape(-1, 2),
        ids=[one.name for one in trucks],
        columns=["mass", "payload"],
    )


def add_stone_setting(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Which machine sets which stone, what of each course is within reach, and with which stone."""
    setting = run.results.stone.setting
    stones = setting.stones
    rows = [[_or_nan(getattr(one, name)) for name in SET] for one in stones.values()]
    arrays.add(
        "stone_set",
        np.array(rows, dtype=np.float64).reshape(-1, len(SET)),
        ids=list(stones),
        says=[one.needs for one in stones.values()],
        places=[one.lifter or "" for one in stones.values()],
        verdicts=[one.verdict for one in stones.values()],
        columns=list(SET),
    )
    places = setting.places
    reach = [[one.share, one.largest, one.mass] for one in places.values()]
    arrays.add(
        "stone_within",
        np.array(reach, dtype=np.float64).reshape(-1, 3),
        ids=list(places),
        says=[one.says for one in places.values()],
        places=[one.lifter for one in places.values()],
        sources=[one.source for one in places.values()],
        classes=[one.stone for one in places.values()],
        columns=["share", "largest", "mass"],
    )
    arrays.add("all_stone_reach", np.zeros(len(setting.lifters), dtype="<u1"), ids=list(setting.lifters))
    for name, lifter in setting.lifters.items():
        table = np.column_stack([lifter.radii, lifter.largest])
        arrays.add("stone_reach", table, row=name, columns=["radius", "largest"])


SET = ("mass", "radius", "height", "capacity", "leg", "reach")
"""What is told of a stone that is set."""


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value
