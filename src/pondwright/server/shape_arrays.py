"""Arrays of the shape for the live channel: streams, reach, views from the seats, overflow, walls, strips."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.flow.engine import Run, Status
from pondwright.geometry.surface import surface_at
from pondwright.job.places import OUTER_RING
from pondwright.papers.openings import Opening, openings_along
from pondwright.rooms.shape.unrolled import UnrolledShore, unrolled_shore
from pondwright.server.arrays import Arrays, Wish
from pondwright.server.lining_arrays import edge_along
from pondwright.server.stone_arrays import top_along
from pondwright.server.water_arrays import water_along

STATIONS = 500
"""Stations at most along a strip."""

LINER_MEAN = 4.0
"""Length of shore over which the underside of the liner is told as a mean. [m]"""

SEATS_IN_A_MASK = 8
"""Seats whose masks share the bits of one byte."""

Points = NDArray[np.float64]


def add_streams(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Water of each reach of each stream: its left bank downstream and its right bank back, and its level."""
    rings, names, levels = [], [], []
    for name, body in run.results.shape.shore.bodies.items():
        for ring, level in _reaches(body):
            rings.append(ring)
            names.append(name)
            levels.append(level)
    _add_lines(arrays, "streams", rings, ids=names)
    arrays.add("streams_levels", np.array(levels, dtype=np.float64))


def _reaches(body: Any) -> Iterator[tuple[Points, float]]:
    if body.stream is None:
        return
    corridor, reaches = body.stream.corridor, body.stream.reaches
    count = len(corridor.station)
    sides = (corridor.ring[:count], corridor.ring[count:][::-1])
    for start, end, drop in zip(reaches.starts, reaches.ends, reaches.drops, strict=True):
        inner = corridor.station[(corridor.station > start) & (corridor.station < end)]
        at = np.concatenate([[start], inner, [end]])
        left, right = (
            np.column_stack([np.interp(at, corridor.station, side[:, axis]) for axis in (0, 1)])
            for side in sides
        )
        yield np.vstack([left, right[::-1]]), body.level - float(drop)


def add_reach(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """The shores in steps, ring by ring, which of the steps a way reaches, and where a wheelchair does."""
    rings, at_hand, names = [], [], []
    wheels: list[tuple[float, float]] = []
    for name, body in run.results.shape.reach.bodies.items():
        for ring, walked, mine in zip(_ring_names(run, name), body.walked, body.at_hand, strict=True):
            rings.append(walked)
            at_hand.append(mine)
            names.append(f"{name}/{ring}")
        wheels += body.wheelchair_at
    _add_lines(arrays, "reach", rings, ids=names)
    arrays.add("reach_at", np.concatenate([np.empty(0, dtype=np.bool_), *at_hand]).astype("<u1"))
    arrays.add("reach_wheels", np.array(wheels, dtype="<f4").reshape(-1, 2))


def _ring_names(run: Run, body: str) -> Sequence[str]:
    return tuple(run.results.shape.shore.bodies[body].ring_names)


def add_views(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """What is seen from each seat: its eye, the share of the water, which falls, what share of one counts."""
    seats = run.results.shape.views.seats
    enough = run.results.shape.views.counts_from
    rows = [
        [
            one.eye.east,
            one.eye.north,
            one.eye.elevation,
            one.share,
            one.falls_seen,
            len(one.falls),
            max((fall.share for fall in one.falls.values()), default=0.0),
            enough,
        ]
        for one in seats.values()
    ]
    arrays.add(
        "views",
        np.array(rows, dtype=np.float64).reshape(-1, 8),
        ids=list(seats),
        says=[" ".join(one.falls_in_sight) for one in seats.values()],
        columns=["east", "north", "elevation", "share", "falls_seen", "falls", "best_fall", "counts_from"],
    )  # fmt: skip


def add_seen(arrays: Arrays, run: Run, wish: Wish) -> None:
    """Water that is seen, node by node: eight seats to a byte, the first in its lowest bit."""
    seats = list(run.results.shape.views.seats.items())
    for group in range(0, len(seats), SEATS_IN_A_MASK):
        some = seats[group : group + SEATS_IN_A_MASK]
        masks = np.stack([one.mask[:: wish.lod, :: wish.lod] for _, one in some])
        bits = np.packbits(masks, axis=0, bitorder="little")[0]
        arrays.add(f"seen_{group // SEATS_IN_A_MASK}", bits, ids=[name for name, _ in some])


def add_overflow(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Way of the water that leaves each body, and the upright faces where banks meet."""
    bodies = run.results.shape.meeting.bodies
    runs = [(name, one.run) for name, one in bodies.items() if len(one.run.path) > 1]
    _add_lines(
        arrays,
        "overflow",
        [one.path for _, one in runs],
        ids=[name for name, _ in runs],
        says=[one.into or "" for _, one in runs],
    )
    walls = [(name, wall) for name, one in bodies.items() for wall in one.walls]
    _add_lines(arrays, "meeting", [wall.line for _, wall in walls], ids=[name for name, _ in walls])
    heights = np.array([[wall.bottom, wall.top] for _, wall in walls], dtype=np.float64)
    arrays.add("meeting_heights", heights.reshape(-1, 2), columns=["bottom", "top"])


def add_part(arrays: Arrays, run: Run, wish: Wish) -> None:
    """What each node is part of: the code of the shape."""
    part = run.results.shape.grading.part[:: wish.lod, :: wish.lod]
    arrays.add("part", np.ascontiguousarray(part).astype("<i2"))


def add_strips(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Each shore unrolled: of a pond all round, of an island all round, of a stream its left and right bank.

    Columns are station, place, ground, rim, water, freeboard, margin, whether a way reaches it (-1 when that
    is not known), the groundwater (-9999 when nobody knows it), the underside of the liner at the shore, the
    height at which the liner ends, the top of the stone (-9999 where there is none), the crest that is built,
    lower than the rim where a cut face rises behind it, and which of the `openings` of the head the place
    belongs to (-1 for none).
    """
    ground, grading = run.results.site.ground, run.results.shape.grading
    for name, body in run.results.shape.shore.bodies.items():
        bank = grading.bodies[name].bank
        width = bank.freeboard * bank.slope_in + bank.crest_width
        for number, ring_name in enumerate(body.ring_names):
            ring = body.rings[number]
            step = max(body.length / STATIONS, 0.1)
            # The bank of an island lies on its inner side.
            across = width if ring_name == OUTER_RING else -_island_bank(ring, width)
            edge = unrolled_shore(ring, ground.z, grading.z, ground.grid, across, step)
            table, openings = _strip_table(run, name, number, body, edge, bank.freeboard)
            head = {"body": name, "crest": width, "openings": openings}
            if body.stream is None or ring_name != OUTER_RING:
                arrays.add("strip", table.astype("<f4"), ring=ring_name, **head)
            else:
                for side, part in _sides(table, body):
                    arrays.add("strip", part.astype("<f4"), ring=side, **head)


def _island_bank(ring: Points, width: float) -> float:
    """As far as a bank goes into an island: no farther than a quarter of its narrower side."""
    return min(width, 0.25 * float(np.ptp(ring, axis=0).min()))


def _strip_table(
    run: Run, name: str, number: int, body: Any, edge: UnrolledShore, freeboard: float
) -> tuple[Points, list[dict[str, str]]]:
    """Columns of a strip, and the openings that its last one counts."""
    count = len(edge.station)
    water = np.full(count, body.level) - (_drops(body, edge) if number == 0 else 0.0)
    there = openings_along(run.job, _laid(run), name, edge, water, freeboard)
    openings = [one for one in dict.fromkeys(there) if one is not None]
    table = np.column_stack(
        [edge.station, edge.points, edge.ground, edge.rim, water, np.full(count, freeboard),
         edge.rim - water, _at_hand(run, name, number, edge), water_along(run, edge.points),
         _liner_along(run, edge), edge_along(run, name, number, edge.points),
         top_along(run, name, number, edge.points), edge.crest(water, freeboard),
         [-1 if one is None else openings.index(one) for one in there]]
    )  # fmt: skip
    return table, [_plain_opening(one) for one in openings]


def _laid(run: Run) -> dict[str, Any]:
    """What openings are read from."""
    return {
        "site.ground": run.results.site.ground,
        "shape.shore": run.results.shape.shore,
        "shape.grading": run.results.shape.grading,
    }


def _plain_opening(opening: Opening) -> dict[str, str]:
    return {"kind": opening.kind, "name": opening.name}


def _liner_along(run: Run, edge: UnrolledShore) -> Points:
    """Underside of the liner at the shore, as a mean along it: on a grid a steep bank comes in steps."""
    exact = surface_at(run.results.earth.subgrade.z, run.results.site.ground.grid, edge.points)
    step = float(edge.station[-1]) / max(len(exact) - 1, 1)
    half = min(round(LINER_MEAN / 2.0 / max(step, 1e-6)), (len(exact) - 1) // 2)
    around = np.concatenate([exact[len(exact) - half :], exact, exact[:half]])
    return np.convolve(around, np.full(2 * half + 1, 1.0 / (2 * half + 1)), mode="valid")


def _drops(body: Any, edge: UnrolledShore) -> Points | float:
    """How far the water stands below the level of the body, along its outer shore."""
    if body.stream is None:
        return 0.0
    corridor, reaches = body.stream.corridor, body.stream.reaches
    # The left bank runs with the stations of the middle line, the right one back against them.
    along = np.concatenate([corridor.station, corridor.station[::-1]])
    steps = np.hypot(*np.diff(corridor.ring, axis=0).T)
    station = np.interp(edge.station, np.concatenate([[0.0], np.cumsum(steps)]), along)
    return reaches.drops[reaches.reach_at(station)]


def _at_hand(run: Run, name: str, number: int, edge: UnrolledShore) -> Points:
    """Whether each place is reached, as the step of the shore nearest along it is."""
    count = len(edge.station)
    if run.stages["shape.reach"].status is not Status.FRESH:
        return np.full(count, -1.0)
    reach = run.results.shape.reach.bodies.get(name)
    if reach is None:
        return np.zeros(count)
    mine = reach.at_hand[number]
    # Both walk the same ring from the same peg in equal steps.
    return mine[np.rint(np.arange(count) * len(mine) / count).astype(np.intp) % len(mine)].astype(np.float64)


def _sides(table: Points, body: Any) -> Iterator[tuple[str, Points]]:
    """Left and right bank of a stream, both from its upper end down."""
    corridor = body.stream.corridor
    count = len(corridor.station)
    left = float(np.hypot(*np.diff(corridor.ring[:count], axis=0).T).sum())
    end = float(np.hypot(*(corridor.ring[count] - corridor.ring[count - 1])))
    right = float(np.hypot(*np.diff(corridor.ring[count:], axis=0).T).sum())
    yield "left", table[table[:, 0] <= left]
    back = table[(table[:, 0] >= left + end) & (table[:, 0] <= left + end + right)][::-1].copy()
    back[:, 0] = left + end + right - back[:, 0]
    yield "right", back


def _add_lines(arrays: Arrays, name: str, lines: Sequence[Any], **more: Any) -> None:
    starts = np.cumsum([0, *(len(line) for line in lines)])
    arrays.add(f"{name}_points", np.vstack([np.empty((0, 2)), *lines]).astype("<f4"))
    arrays.add(f"{name}_starts", starts.astype("<i4"), **more)
