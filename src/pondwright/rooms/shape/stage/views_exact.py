"""What is seen from the seats by exact rays, once what was dragged is dropped."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    AREA,
    LENGTH,
    RATIO,
    Area,
    Areas,
    FloatArray,
    Length,
    Ratio,
)
from pondwright.geometry.grid import Grid
from pondwright.job.fields import value_of
from pondwright.job.shape import Seat
from pondwright.job.site import Thing
from pondwright.rooms.shape.checks import views as checks
from pondwright.rooms.shape.grading import (
    BERM,
    CUT_SLOPE,
    EXISTING,
    FIRST_ZONE,
    PATH,
    PLACED_SLOPE,
    ZONES_PER_BODY,
)
from pondwright.rooms.shape.sight import Eye, Sight
from pondwright.rooms.shape.stage.rows import limits_of
from pondwright.rooms.shape.stage.scene import Scene, Water, screens_before
from pondwright.rooms.shape.stage.views import SEEN, SeatView, ViewsResult
from pondwright.rooms.shape.views import balanced_eye, cell_shares_by_rays


@dataclass(frozen=True, slots=True, eq=False)
class ExactSeatView:
    """What is seen from one seat by exact rays, and what hides the rest."""

    mask: NDArray[np.bool_]
    hidden_by: str | None
    cut_at: tuple[Length, Length] | None
    share: Ratio = figure(
        RATIO, "Share of all water that is seen, by exact rays", by=cell_shares_by_rays, uses=SEEN
    )
    area: Area = figure(AREA, "Water that is seen, by exact rays", by=cell_shares_by_rays, uses=SEEN)
    raised: Length | None = figure(
        LENGTH, "How much higher the eye must be to see a third of the water", by=balanced_eye, uses=SEEN
    )


@dataclass(frozen=True, slots=True, eq=False)
class ExactViewsResult:
    """What is seen from all seats, by exact rays."""

    seats: Mapping[str, ExactSeatView]


def views_exact_stage(
    view: Mapping[str, Any], results: Mapping[str, Any], last: Any = None
) -> tuple[ExactViewsResult, tuple[Finding, ...]]:
    """What is seen from all seats, by exact rays.

    Parameters
    ----------
    view : mapping        Reads `shape.seats`, `site.things`, `rules`.
    results : mapping     Needs `shape.grading`, `shape.views`.
    last : Last           A seat whose view by the sweep is the same object is taken over.

    Returns
    -------
    ExactViewsResult and one check for each seat.
    """
    limits = limits_of(view)
    swept: ViewsResult = results["shape.views"]
    things = view["site.things"]
    part = results["shape.grading"].part
    still = (
        last is not None
        and last.view["rules"] is view["rules"]
        and np.array_equal(last.results["shape.grading"].part, part)
    )
    seats: dict[str, ExactSeatView] = {}
    findings = []
    for name, seat in view["shape.seats"].items():
        if name not in swept.seats:
            findings.append(checks.check_seat_off(name, limits))
            continue
        if not swept.scene.waters:
            continue  # there is nothing to see yet
        before = swept.seats[name]
        seats[name] = (still and _unmoved(name, before, last)) or _exact(
            seat, before, swept.scene, part, things, limits["shape.seat_view"].value
        )
        hidden = [index for index, seen in enumerate(before.looks) if not seen]
        findings.append(
            checks.check_seat(
                name,
                seats[name].share,
                hidden,
                seats[name].hidden_by,
                seats[name].cut_at,
                value_of(seat, "eye_height"),
                seats[name].raised,
                limits,
            )
        )
    return ExactViewsResult(MappingProxyType(seats)), tuple(findings)


def _unmoved(name: str, swept: SeatView, last: Any) -> ExactSeatView | None:
    """What a seat saw last time, if the sweep took it over."""
    same = last.results["shape.views"].seats.get(name) is swept
    return last.result.seats.get(name) if same else None


def _exact(
    seat: Seat,
    swept: SeatView,
    scene: Scene,
    part: NDArray[np.int8],
    things: Mapping[str, Thing],
    wanted: Ratio,
) -> ExactSeatView:
    """What is seen from one seat by exact rays, what hides most of the rest, and where."""
    eye, kept = swept.eye, screens_before(seat, swept.eye, scene, things)
    walls, owners = scene.walls[kept], [owner for owner, mine in zip(scene.owners, kept, strict=True) if mine]
    names = list(scene.waters)
    mask = np.zeros(scene.cover.shape, dtype=np.bool_)
    seen, needed, weights = 0.0, [], []
    hides: Counter[str] = Counter()
    places: dict[str, tuple[Length, Length]] = {}
    grid = _whole(next(iter(scene.waters.values())), scene)
    for water in scene.waters.values():
        found, sight, nodes, weight, own = _exact_water(water, scene, grid, eye, walls)
        seen += found
        needed.append(sight.needed)
        weights.append(weight)
        mask.ravel()[nodes[own]] = True
        for blocker, count, at in _blockers(sight, ~own & (weight > 0.0), owners, part, grid, names):
            hides[blocker] += count
            places.setdefault(blocker, at)
    area = sum(water.body.area for water in scene.waters.values())
    share = min(seen / area, 1.0) if area else 0.0
    top = hides.most_common(1)[0][0] if hides else None
    raised = None
    if share < wanted:
        eyes = balanced_eye(np.concatenate(needed), np.concatenate(weights), wanted)
        raised = max(eyes - eye.elevation, 0.0)
    return ExactSeatView(mask, top, places[top] if top else None, share, seen, raised)


def _whole(water: Water, scene: Scene) -> Grid:
    """The whole grid, from the window of one of its waters."""
    rows, columns = scene.cover.shape
    return replace(
        water.grid,
        origin_east=water.grid.origin_east - water.columns.start * water.grid.spacing,
        origin_north=water.grid.origin_north - water.rows.start * water.grid.spacing,
        columns=columns,
        rows=rows,
    )


def _exact_water(
    water: Water, scene: Scene, grid: Grid, eye: Eye, walls: FloatArray
) -> tuple[Area, Sight, NDArray[np.intp], Areas, NDArray[np.bool_]]:
    """Seen area of one body, its lines of sight, their nodes, the area round each, and which are seen."""
    coverage = np.zeros(grid.cells_shape)
    levels = np.full(grid.shape, water.body.level)
    in_water = np.zeros(grid.shape, dtype=np.bool_)
    cells = slice(water.rows.start, water.rows.stop - 1), slice(water.columns.start, water.columns.stop - 1)
    coverage[cells] = water.coverage
    levels[water.rows, water.columns] = water.levels
    in_water[water.rows, water.columns] = water.in_water
    found, _, sight, nodes = cell_shares_by_rays(scene.cover, levels, in_water, coverage, grid, eye, walls)
    flat = levels.ravel()[nodes]
    wet = in_water.ravel()[nodes]
    own = wet & (flat >= sight.horizon) & (flat < eye.elevation)
    return found.area, sight, nodes, np.where(wet, grid.cell_area, 0.0), own


def _blockers(
    sight: Sight,
    hidden: NDArray[np.bool_],
    owners: list[str],
    part: NDArray[np.int8],
    grid: Grid,
    bodies: list[str],
) -> Iterator[tuple[str, int, tuple[Length, Length]]]:
    """What cuts the lines of sight to hidden places, in words, how many of them, and where one of them."""
    rows = np.clip(np.rint((sight.north - grid.origin_north) / grid.spacing), 0, grid.rows - 1)
    columns = np.clip(np.rint((sight.east - grid.origin_east) / grid.spacing), 0, grid.columns - 1)
    under = part[rows.astype(np.intp), columns.astype(np.intp)].astype(np.intp)
    # Screens by their number, parts of the surface below zero.
    what = np.where(sight.screen >= 0, sight.screen, -1 - under)[hidden & (sight.screen >= -1)]
    numbers, counts = np.unique(what, return_counts=True)
    for number, count in zip(numbers.tolist(), counts.tolist(), strict=True):
        mine = hidden & (np.where(sight.screen >= 0, sight.screen, -1 - under) == number)
        first = int(np.flatnonzero(mine & (sight.screen >= -1))[0])
        word = f"`{owners[number]}`" if number >= 0 else _part_word(-1 - number, bodies)
        yield word, count, (float(sight.east[first]), float(sight.north[first]))


def _part_word(code: int, bodies: list[str]) -> str:
    words = {
        EXISTING: "the ground",
        BERM: "the berm or a mound",
        CUT_SLOPE: "a dug bank",
        PLACED_SLOPE: "placed soil",
        PATH: "a path",
    }
    if code < FIRST_ZONE:
        return words[code]
    place = (code - FIRST_ZONE) // ZONES_PER_BODY
    return f"the bank of `{bodies[place]}`" if place < len(bodies) else "a bank"
