"""A walk round the liner's edge of one body: how it ends at each station, and where it is too low."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.findings import Limit
from pondwright.base.kinds import Elevations, FloatArray, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import resampled
from pondwright.geometry.surface import surface_at
from pondwright.job.fields import value_of
from pondwright.job.lining import LinerEdge
from pondwright.job.log import AsBuiltEntry, Log
from pondwright.job.places import StretchPlace
from pondwright.rooms.groundwater.beds import side_word
from pondwright.rooms.lining.band import inward_normals
from pondwright.rooms.lining.edge import edge_level, low_places, needed_reach, off_by, rim_ground
from pondwright.rooms.lining.stage.rim_results import BuiltShot, EdgeStretch, Low
from pondwright.rooms.shape.grading import BERM, PLACED_SLOPE
from pondwright.rooms.shape.shoreline import stretch_line

STEP: Length = 1.0
"""From station to station along the edge. [m]"""

ON: Length = 0.05
"""A station lies on a stretch within this. [m]"""

EXACT: Length = 0.01
"""What the ground between its nodes is not told more exactly than. [m]"""

LITTLE: Length = 1e-6
"""What a drawn edge may lack of what is wanted. [m]"""

SHOT: Length = 1.5
"""A shot on the edge is told of the shore within this. [m]"""

SHOTS = frozenset({"liner", "liner edge", "edge of liner"})
"""Words by which a shot on the built edge is told."""

REST = "rest"
"""The edge where no row tells another one."""

Ends = Literal["upturn", "anchor", "wall"]


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """Stations round one body, outer shore first.

    `edges` are the rows that end the liner, `own` the number of the row at each station; -1 where another
    water's liner goes on. `placed` tells the stations on placed soil.
    """

    beyond: Length
    points: Lengths
    inward: FloatArray
    ring: NDArray[np.int64]
    station: Lengths
    steps: Lengths
    level: Elevations
    ground: Elevations
    edge: Elevations
    wanted: Elevations
    edges: Mapping[str, LinerEdge | None]
    own: NDArray[np.int64]
    placed: NDArray[np.bool_]

    @property
    def detail(self) -> tuple[str, ...]:
        """How the liner ends at each station, in a word."""
        words = [_detail(row) for row in self.edges.values()]
        return tuple("joined" if index < 0 else words[index] for index in self.own.tolist())


def walk_of(body: str, beyond: Length, view: Mapping[str, Any], results: Mapping[str, Any]) -> Walk:
    """Stations round one body, and how the liner ends at each."""
    shore, grading = results["shape.shore"], results["shape.grading"]
    own_shore, grid = shore.bodies[body], shore.grid
    rings = [resampled(ring, STEP) for ring in own_shore.rings]
    points = np.vstack(rings)
    inward = np.vstack(
        [inward_normals(ring) * (1.0 if index == 0 else -1.0) for index, ring in enumerate(rings)]
    )
    steps = np.concatenate([_lengths(ring) for ring in rings])
    station = np.concatenate([np.cumsum(each) - each for each in map(_lengths, rings)])
    number = np.concatenate([np.full(len(ring), index) for index, ring in enumerate(rings)])
    level = _levels(own_shore, points, grid)
    ground = rim_ground(grading.z, grid, points, -inward, beyond)
    edges, own = _edges(body, points, number, view, own_shore)
    own[_joined(body, points, beyond, shore)] = -1
    heights = np.array([_value(row, "height") for row in edges.values()])
    upturns = np.array([_turned_up(row) for row in edges.values()])
    walls = np.array([_detail(row) == "wall" for row in edges.values()])
    row = np.maximum(own, 0)
    wanted = level + heights[row]
    # Nothing is asked of the ground where a wall holds the liner, or another water's liner goes on.
    free = (own < 0) | walls[row]
    edge = np.where(free, wanted, edge_level(wanted, ground, upturns[row]))
    return Walk(
        beyond=beyond,
        points=points,
        inward=inward,
        ring=number,
        station=station,
        steps=steps,
        level=level,
        ground=ground,
        edge=edge,
        wanted=wanted,
        edges=edges,
        own=own,
        placed=_placed(body, points, inward, grading, grid),
    )


def asked_of(walk: Walk, stream: bool, limits: Mapping[str, Limit]) -> Elevations:
    """Where the edge is to stand at each station: as drawn, or higher where a limit wants more. [m]

    Placed soil settles and falls splash, so berms and streams want more than old ground. Stretches of a
    single station are left aside, as in the checks.
    """
    asked = walk.wanted.copy()
    for index in range(len(walk.edges)):
        mine = walk.own == index
        placed = mine if stream else mine & walk.placed
        for part, code in ((placed, "lining.edge_berm"), (mine & ~placed, "lining.edge_height")):
            if walk.steps[part].sum() > STEP:
                asked[part] = np.maximum(asked[part], walk.level[part] + limits[code].value)
    return asked


def lows_of(
    body: str, walk: Walk, asked: Elevations, exact: Length, results: Mapping[str, Any]
) -> tuple[Low, ...]:
    """Low places of the edge, named by side and by the way from the first peg.

    Where the ground lets the edge down it is low, and where it is drawn too low; each place is one of both.
    """
    shore = results["shape.shore"].bodies[body]
    down = walk.wanted - walk.edge > exact + EXACT
    found = []
    for ring, drawn in product(range(len(shore.rings)), (False, True)):
        mine = walk.ring == ring
        places = low_places(
            walk.edge[mine],
            np.where(down == drawn, walk.edge, asked)[mine],
            walk.station[mine],
            walk.points[mine],
            float(walk.steps[mine].sum()),
            LITTLE,
        )
        for low in places:
            nearest = int(np.argmin(np.hypot(*(walk.points - low.point).T)))
            over = low.edge - float(walk.level[nearest])
            name = place_word(shore, ring, low.point, low.station)
            found.append(Low(name, low.point, low.lack, over, low.length, drawn))
    return tuple(sorted(found, key=lambda low: -low.lack))


def place_word(shore: Any, ring: int, point: tuple[Length, Length], station: Length) -> str:
    """Where a station is, in words: the side by the compass, and the way from the first peg."""
    outer = shore.rings[0]
    centre = outer.mean(axis=0)
    reach = float(np.hypot(*(outer - centre).T).max())
    side = side_word(point, (float(centre[0]), float(centre[1])), reach)
    where = "near its middle" if side == "middle" else f"at its {side} side"
    island = "" if ring == 0 else f" on island {shore.ring_names[ring].replace('_', ' ')}"
    return f"{where}{island}, {_station_word(station)}"


def _station_word(station: Length) -> str:
    return f"{station:.0f} m ({station / 0.3048:.0f} ft) along the shore from its first peg"


def stretches_of(walk: Walk, limits: Mapping[str, Limit], bank: Any) -> dict[str, EdgeStretch]:
    """Edges of one body with their lengths and what they need of the liner."""
    found = {}
    for index, (name, row) in enumerate(walk.edges.items()):
        mine = walk.own == index
        if not mine.any():
            continue
        detail, height, upturn = _detail(row), _value(row, "height"), _value(row, "upturn")
        setback = limits["lining.setback"].value
        reach = (
            needed_reach(height, bank.slope_in, 0.0, setback, 0.5 * upturn)
            if detail == "anchor"
            else needed_reach(height, bank.slope_in, upturn if detail == "upturn" else 0.0)
        )
        found[name] = EdgeStretch(
            detail=detail,
            capillary_break=True if row is None else row.capillary_break,
            lines=_lines(walk, mine),
            length=float(walk.steps[mine].sum()),
            height=height,
            upturn=upturn,
            reach=reach,
        )
    return found


def built_shots(body: str, walk: Walk, log: Log, limits: Mapping[str, Limit]) -> tuple[BuiltShot, ...]:
    """Shots on the built edge that belong to this shore."""
    found = []
    low, high = limits["lining.edge_low"].value, limits["lining.edge_high"].value
    for entry in log.entries:
        if not isinstance(entry, AsBuiltEntry) or entry.feature.strip().casefold() not in SHOTS:
            continue
        place = entry.place.east, entry.place.north
        away = np.hypot(*(walk.points - place).T)
        nearest = int(np.argmin(away))
        if away[nearest] > SHOT + walk.beyond or walk.own[nearest] < 0:
            continue
        wanted = float(walk.wanted[nearest])
        word = _station_word(float(walk.station[nearest]))
        found.append(
            BuiltShot(word, place, wanted, entry.elevation, off_by(entry.elevation, wanted, low, high))
        )
    return tuple(found)


def _edges(
    body: str, points: Lengths, number: NDArray[np.int64], view: Mapping[str, Any], shore: Any
) -> tuple[dict[str, LinerEdge | None], NDArray[np.int64]]:
    """Rows that end the liner of a body, the default first, and which one does at each station."""
    edges: dict[str, LinerEdge | None] = {REST: None}
    own = np.zeros(len(points), dtype=np.int64)
    row = view["shape.bodies"][body]
    for name, edge in view["lining.edges"].items():
        place: StretchPlace = edge.place
        if place.body != body or place.ring not in shore.ring_names:
            continue
        ring = shore.ring_names.index(place.ring)
        curve = row.outline.curve if ring == 0 else row.islands[place.ring]
        pegs = [peg.id for peg in curve.pegs]
        line = stretch_line(shore.rings[ring], shore.spans[ring], pegs, place.start, place.end)
        if len(line) < 2:
            continue
        away = shapely.distance(shapely.LineString(line), shapely.points(points))
        edges[name] = edge
        own[(number == ring) & (away <= ON)] = len(edges) - 1
    return edges, own


def _joined(body: str, points: Lengths, beyond: Length, shore: Any) -> NDArray[np.bool_]:
    """Stations that lie in the reach of another water's liner: there one goes on into the other."""
    west, south, east, north = shore.grid.extent
    held = np.clip(points, (west, south), (east, north))
    found = np.zeros(len(points), dtype=np.bool_)
    for name, other in shore.bodies.items():
        if name != body:
            found |= surface_at(other.distance, shore.grid, held) >= -beyond
    return found


def _levels(shore: Any, points: Lengths, grid: Grid) -> Elevations:
    """Full water at each station: of a stream that of its reach."""
    if shore.stream is None:
        return np.full(len(points), shore.level)
    column = np.clip(
        np.rint((points[:, 0] - grid.origin_east) / grid.spacing).astype(int), 0, grid.columns - 1
    )
    row = np.clip(np.rint((points[:, 1] - grid.origin_north) / grid.spacing).astype(int), 0, grid.rows - 1)
    return np.asarray(shore.level - shore.stream.drop[row, column])


def _placed(body: str, points: Lengths, inward: FloatArray, grading: Any, grid: Grid) -> NDArray[np.bool_]:
    """Stations whose bank is placed soil."""
    bank = grading.bodies[body].bank
    crest = points - inward * (bank.freeboard * bank.slope_in + 0.5 * bank.crest_width)
    column = np.clip(
        np.rint((crest[:, 0] - grid.origin_east) / grid.spacing).astype(int), 0, grid.columns - 1
    )
    row = np.clip(np.rint((crest[:, 1] - grid.origin_north) / grid.spacing).astype(int), 0, grid.rows - 1)
    return np.isin(grading.part[row, column], (BERM, PLACED_SLOPE))


def _lines(walk: Walk, mine: NDArray[np.bool_]) -> tuple[Lengths, ...]:
    """Runs of stations as lines, each up to the station after its last."""
    lines = []
    for ring in np.unique(walk.ring[mine]).tolist():
        own = np.flatnonzero(walk.ring == ring)
        flags = mine[own]
        if flags.all():
            lines.append(np.vstack([walk.points[own], walk.points[own[:1]]]))
            continue
        start = int(np.argmin(flags))
        order = np.roll(np.arange(len(own)), -start)
        run: list[int] = []
        for index in [*order.tolist(), int(order[0])]:
            if flags[index]:
                run.append(index)
            elif run:
                lines.append(walk.points[own[[*run, index]]])
                run = []
    return tuple(lines)


def _lengths(ring: Lengths) -> Lengths:
    return np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)


def _detail(row: LinerEdge | None) -> Ends:
    return "upturn" if row is None else row.detail


def _value(row: LinerEdge | None, field: str) -> Length:
    stated = DEFAULT if row is None else row
    return float(value_of(stated, field))


def _turned_up(row: LinerEdge | None) -> Length:
    """What stands above the ground: nothing of a liner that lies in a trench."""
    return _value(row, "upturn") if _detail(row) == "upturn" else 0.0


DEFAULT = LinerEdge(place=StretchPlace(at="stretch", body="any", start="a", end="b"))
"""An edge of stated defaults; its place is not looked at."""
