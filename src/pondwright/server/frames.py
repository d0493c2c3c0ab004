"""Frames of the live channel: figures and checks as a JSON header, fields of the plan as arrays behind it.

``PWF1``, the header's length (uint32), the header padded so that the arrays begin at a multiple of eight
bytes, then the arrays, each at such a multiple; all little endian.  Heights travel as whole centimetres,
figures as the doubles that they are.
"""

from __future__ import annotations

import json
import math
import struct
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.flow.engine import Run, Status
from pondwright.geometry.contour import contour_lines
from pondwright.geometry.grid import Grid
from pondwright.geometry.section import section_along
from pondwright.geometry.surface import surface_at
from pondwright.papers.window import contour_interval
from pondwright.server.arrays import Array, Arrays, Wish
from pondwright.server.lining_arrays import add_liner_order, add_liner_rim, add_liners
from pondwright.server.shape_arrays import (
    add_overflow,
    add_part,
    add_reach,
    add_seen,
    add_streams,
    add_strips,
    add_views,
)
from pondwright.server.soil_arrays import add_bends, add_hauls, add_levels, add_piles, add_soils
from pondwright.server.stone_arrays import (
    add_stone_areas,
    add_stone_classes,
    add_stone_runs,
    add_stone_setting,
    add_stone_yard,
)
from pondwright.server.told import NOTHING, Told, new_checks, new_figures, told_by
from pondwright.server.water_arrays import (
    UPLIFT,
    add_drains,
    add_flow,
    add_heads,
    add_offers,
    add_routes,
    water_along,
)

MAGIC = b"PWF1"
STATIONS = 500
"""Stations at most along a section."""

AT_REST = frozenset(
    {"book_lines", "contours_old", "ground", "known", "muck", "old_storage", "places", "rise", "sigma"}
)
"""Arrays that no drag of the shape moves; they travel only when nothing is in the hand."""


def frame(run: Run, rev: int, wish: Wish, before: Told = NOTHING) -> tuple[bytes, Told]:
    """Frame of a run, as a client wished for it.

    Parameters
    ----------
    run : Run
    rev : int       Revision of the document under the run.
    wish : Wish
    before : Told   What the client has been told; the frame goes on from it.

    Returns
    -------
    bytes
    Told
        What the client has been told once it has this frame.
    """
    arrays = Arrays()
    ground = run.results.site.ground
    grid: Grid | None = None
    if ground is not None:
        grid = _thinned(ground.grid, wish.lod)
    for name in sorted(wish.names):
        needs, add = _MAKERS[name]
        if _are_whole(run, needs) and (wish.at_rest or name not in AT_REST):
            add(arrays, run, wish)
    if len(wish.section) > 1 and _are_whole(run, _DUG):
        _add_section(arrays, run, wish.section)
    told = told_by(wish.seq, run)
    header = {
        "seq": wish.seq,
        "rev": rev,
        "lod": wish.lod,
        "since": before.seq,
        "state": "exact" if all(one.status is not Status.STALE for one in run.stages.values()) else "moving",
        "figures": new_figures(run, before),
        "stages": {name: state.status for name, state in run.stages.items()},
        "checks": new_checks(told.checks, before.checks),
        "grid": None if grid is None else {
            "origin_east": grid.origin_east, "origin_north": grid.origin_north,
            "spacing": grid.spacing, "columns": grid.columns, "rows": grid.rows,
        },
        "arrays": arrays.heads,
    }  # fmt: skip
    return _packed(header, arrays.bodies), told


def _are_whole(run: Run, stages: Sequence[str]) -> bool:
    """Whether the results of these stages are there and of this very job, so that they fit one another."""
    return all(run.stages[name].status is Status.FRESH for name in stages)


def _packed(header: Mapping[str, Any], bodies: Sequence[bytes]) -> bytes:
    head = json.dumps(header, separators=(",", ":"), allow_nan=False).encode()
    head += b" " * (-(len(MAGIC) + 4 + len(head)) % 8)
    return b"".join([MAGIC, struct.pack("<I", len(head)), head, *bodies])


def _thinned(grid: Grid, lod: int) -> Grid:
    """Grid of every ``lod``-th node."""
    return Grid(
        grid.origin_east,
        grid.origin_north,
        grid.spacing * lod,
        -(-grid.columns // lod),
        -(-grid.rows // lod),
    )


def _thin(field: Array, wish: Wish) -> Array:
    return np.ascontiguousarray(field[:: wish.lod, :: wish.lod])


def _add_moved(arrays: Arrays, run: Run, wish: Wish) -> None:
    """What is dug (below zero) and placed (above), to the subgrade."""
    arrays.add_heights("dz", _thin(run.results.earth.subgrade.z - run.results.site.ground.z, wish))


def _add_depth(arrays: Arrays, run: Run, wish: Wish) -> None:
    """Depth of the water at its level."""
    depth = np.zeros(run.results.site.ground.grid.shape)
    # Where a stream is drawn on into another water, the level is that of the other one.
    for body in sorted(run.results.shape.shore.bodies.values(), key=lambda one: one.stream is None):
        wet = (body.level - (0.0 if body.stream is None else body.stream.drop)) - run.results.shape.grading.z
        depth = np.where(body.distance > 0.0, np.maximum(wet, 0.0), depth)
    arrays.add_heights("depth", _thin(depth, wish))


def _add_finish(arrays: Arrays, run: Run, wish: Wish) -> None:
    z = _thin(run.results.shape.grading.z, wish)
    arrays.add_heights("z", z, float(np.floor(z.min())))


def _add_ground(arrays: Arrays, run: Run, wish: Wish) -> None:
    z = _thin(run.results.site.ground.z, wish)
    arrays.add_heights("ground", z, float(np.floor(z.min())))


def _add_known(arrays: Arrays, run: Run, wish: Wish) -> None:
    arrays.add("known", _thin(run.results.site.ground.known, wish).astype("<i1"))


def _add_sigma(arrays: Arrays, run: Run, wish: Wish) -> None:
    sigma = np.clip(np.rint(_thin(run.results.site.uncertainty.sigma, wish) * 1000.0), 0, 32_767)
    arrays.add("sigma", sigma.astype("<i2"), scale=0.001, zero=0.0)


def _add_slope(arrays: Arrays, run: Run, wish: Wish) -> None:
    spacing = run.results.site.ground.grid.spacing * wish.lod
    north, east = np.gradient(_thin(run.results.shape.grading.z, wish), spacing)
    arrays.add(
        "slope", np.clip(np.rint(np.hypot(north, east) * 1000.0), 0, 32_767).astype("<i2"), scale=0.001
    )


def _add_old_contours(arrays: Arrays, run: Run, wish: Wish) -> None:
    _add_contours(arrays, "contours_old", run, wish, run.results.site.ground.z, None)


def _add_new_contours(arrays: Arrays, run: Run, wish: Wish) -> None:
    z, old = run.results.shape.grading.z, run.results.site.ground.z
    _add_contours(arrays, "contours_new", run, wish, z, np.abs(z - old) > 0.005)


def _add_contours(
    arrays: Arrays, name: str, run: Run, wish: Wish, whole: Array, changed: NDArray[np.bool_] | None
) -> None:
    grid = _thinned(run.results.site.ground.grid, wish.lod)
    z, mask = _thin(whole, wish), None if changed is None else _thin(changed, wish)
    low, high = float(z.min()), float(z.max())
    interval, every = contour_interval(low, high, run.job.shown_units)
    numbers = np.arange(math.ceil(low / interval), math.floor(high / interval) + 1, dtype=np.float64)
    lines = contour_lines(z, grid, numbers * interval, mask)
    arrays.add(f"{name}_points", lines.points.astype("<f4"), interval=interval, every=every)
    arrays.add(f"{name}_starts", lines.starts.astype("<i4"))
    arrays.add(f"{name}_levels", lines.levels.astype("<f4"))


def _add_shore(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Rings of all bodies, as the model drew them."""
    rings = [ring for body in run.results.shape.shore.bodies.values() for ring in body.rings]
    starts = np.cumsum([0, *(len(ring) for ring in rings)])
    arrays.add("shore_points", np.vstack(rings or [np.empty((0, 2))]).astype("<f4"))
    arrays.add("shore_starts", starts.astype("<i4"))


def _add_storage(arrays: Arrays, run: Run, _wish: Wish) -> None:
    for name, body in run.results.shape.storage.bodies.items():
        table = np.column_stack([body.levels, body.volumes, body.areas])
        arrays.add("storage", table, body=name, columns=["level", "volume", "area"])


def _add_section(arrays: Arrays, run: Run, points: Sequence[tuple[float, float]]) -> None:
    """Station, old ground, finish, subgrade and water along a line, where it is, and the groundwater.

    No water is told as -9999, and so is groundwater that nobody knows.
    """
    ground, grid = run.results.site.ground, run.results.site.ground.grid
    west, south, east, north = grid.extent
    line = np.clip(np.asarray(points, dtype=np.float64), (west, south), (east, north))
    length = float(np.hypot(*np.diff(line, axis=0).T).sum())
    if length < grid.spacing:
        return
    old = section_along(ground.z, grid, line, max(length / STATIONS, grid.spacing / 2))
    new = surface_at(run.results.shape.grading.z, grid, old.points)
    dug = surface_at(run.results.earth.subgrade.z, grid, old.points)
    water = np.full(len(new), -9999.0)
    for body in sorted(run.results.shape.shore.bodies.values(), key=lambda one: one.stream is None):
        level = np.full(len(new), body.level)
        if body.stream is not None:
            level -= surface_at(body.stream.drop, grid, old.points)
        inside = (surface_at(body.distance, grid, old.points) > 0.0) & (new < level)
        water[inside] = level[inside]
    below = water_along(run, old.points)
    table = np.column_stack([old.chainage, old.elevations, new, dug, water, old.points, below])
    arrays.add("section", table.astype("<f4"), dry=-9999.0)


def _add_book_lines(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """What each line of a level book comes to, in the order of the book; what is not known is no number."""
    columns = ["instrument", "elevation", "correction", "adjusted"]
    for name, book in run.results.site.levels.books.items():
        rows = [[_or_nan(getattr(line, column)) for column in columns] for line in book.lines]
        table = np.array(rows, dtype=np.float64).reshape(-1, len(columns))
        arrays.add("book_lines", table, book=name, columns=columns)


def _add_places(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Where the shots stand, and how high, whose place or height the document does not tell as it is."""
    shots, places = run.job.site.shots, run.results.site.ground.places
    told = [
        at
        for at, name in enumerate(places.ids)
        if shots[name].place.by != "coordinates" or shots[name].elevation is None
    ]
    table = np.column_stack([places.points[told], places.elevations[told]])
    arrays.add("places", table, ids=[places.ids[at] for at in told], columns=["east", "north", "elevation"])


def _add_muck(arrays: Arrays, run: Run, wish: Wish) -> None:
    arrays.add_heights("muck", _thin(run.results.site.layers.muck.thickness, wish))


def _add_rise(arrays: Arrays, run: Run, wish: Wish) -> None:
    """How much the ground rose where it was shot again; below zero it is gone."""
    rise = run.results.site.rebase.rise
    if rise is not None:
        arrays.add_heights("rise", _thin(rise, wish))


def _add_old_storage(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Storage of the old hole up to its lip."""
    hole = run.results.site.old_hole
    if hole.hole is not None:
        table = np.column_stack([hole.levels, hole.volumes, hole.areas])
        arrays.add("old_storage", table, columns=["level", "volume", "area"])


def _add_next_shots(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Where to shoot next, the best first, with the error of the dug volume before and after."""
    places = run.results.earth.next_shot.places.values()
    rows = [[one.east, one.north, one.sigma_before, one.sigma_after] for one in places]
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    columns = ["east", "north", "before", "after"]
    arrays.add("next_shots", table, columns=columns, says=[one.why for one in places])


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value


Maker = Callable[[Arrays, Run, Wish], None]

_GROUND = ("site.ground",)
_SHORE = ("shape.shore",)
_FINISH = (*_GROUND, *_SHORE, "shape.grading")
_DUG = (*_FINISH, "earth.subgrade")

_MAKERS: dict[str, tuple[tuple[str, ...], Maker]] = {
    "dz": (_DUG, _add_moved),
    "depth": (_FINISH, _add_depth),
    "z": (_FINISH, _add_finish),
    "ground": (_GROUND, _add_ground),
    "known": (_GROUND, _add_known),
    "sigma": (("site.uncertainty",), _add_sigma),
    "slope": (_FINISH, _add_slope),
    "contours_old": (_GROUND, _add_old_contours),
    "contours_new": (_FINISH, _add_new_contours),
    "shore": (_SHORE, _add_shore),
    "strip": (_DUG, add_strips),
    "streams": (_SHORE, add_streams),
    "reach": (("shape.reach",), add_reach),
    "views": (("shape.views",), add_views),
    "seen": (("shape.views",), add_seen),
    "overflow": (("shape.meeting",), add_overflow),
    "part": (_FINISH, add_part),
    "storage": (("shape.storage",), _add_storage),
    "levels": (("earth.levels",), add_levels),
    "bends": (("shape.bends",), add_bends),
    "hauls": (("earth.haul",), add_hauls),
    "piles": (("earth.haul",), add_piles),
    "soils": (("earth.soil",), add_soils),
    "book_lines": (("site.levels",), _add_book_lines),
    "places": (_GROUND, _add_places),
    "muck": (("site.ground", "site.layers"), _add_muck),
    "rise": (("site.ground", "site.rebase"), _add_rise),
    "old_storage": (("site.old_hole",), _add_old_storage),
    "next_shots": (("earth.next_shot",), _add_next_shots),
    "heads": (("groundwater.heads",), add_heads),
    "flow": (("groundwater.heads",), add_flow),
    "drains": (("groundwater.profiles",), add_drains),
    "routes": (("groundwater.route",), add_routes),
    "offers": (("groundwater.offers",), add_offers),
    "liners": (("lining.arcs",), add_liners),
    "liner_order": (("lining.order",), add_liner_order),
    "liner_rim": (("lining.rim",), add_liner_rim),
    "stone_classes": (("stone.takeoff",), add_stone_classes),
    "stone_runs": (("stone.takeoff",), add_stone_runs),
    "stone_areas": (_FINISH, add_stone_areas),
    "stone_yard": (("stone.yard",), add_stone_yard),
    "stone_setting": (("stone.setting",), add_stone_setting),
    **{name: ((*_SHORE, "groundwater.uplift"), add) for name, add in UPLIFT.items()},
}
"""Arrays by name: the stages whose results they put together, and what makes them."""

NAMES = frozenset(_MAKERS)
"""Arrays that a client may wish for."""
