"""Stone on plans, told apart without colour: single stones, cobble, gravel, planting, decks, machines."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.geometry.contour import areas_above
from pondwright.geometry.grid import Grid
from pondwright.job.document import Job
from pondwright.job.places import OUTER_RING, PartPlace, StretchPlace
from pondwright.job.shape import STANDARD_BANK, STANDARD_STREAM, Body, RingOutline
from pondwright.job.stone import Piece, Treatment
from pondwright.papers import ground_map
from pondwright.papers.drawing import INK, PAPER, Drawing
from pondwright.papers.labels import Labels
from pondwright.papers.window import Window
from pondwright.rooms.shape.profile import Profile, bank_profile
from pondwright.rooms.stone.pieces import forms
from pondwright.rooms.stone.walk import ShoreWalk, shore_walk, sides_between

BAND = 1.0  # m of a shore that is shown as planted or under a deck
COVERED = ("cobble", "gravel", "planted", "deck", "bare")
SPACING_MM = {"cobble": 2.1, "gravel": 1.7, "planted": 3.0, "deck": 1.8}
UNEVEN = 0.12  # share by which drawn stones differ from their mean size
CORNER = 0.26
LITTLE_MM2 = 0.4

LEGEND = (
    ("cobble", "cobble"),
    ("gravel", "gravel"),
    ("planted", "planted"),
    ("deck", "under a deck"),
    ("courses", "stones set one by one, at true size"),
    ("measured", "measured stone with its tag"),
    ("stand", "where a machine stands"),
    ("heap", "heap on hand, H1, H2 and so on"),
)

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Patch:
    """A part of the plan with one kind of cover, on paper [mm]."""

    kind: str
    area: shapely.Geometry


@dataclass(frozen=True, slots=True, eq=False)
class ShoreGround:
    """A water by the pieces of its shore: which lies nearest to each node, and the bank of each piece."""

    row: Body
    body: Any
    grid: Grid
    walk: ShoreWalk
    nodes: NDArray[np.intp]
    owner: NDArray[np.intp]
    banks: tuple[Profile, ...]
    bank: NDArray[np.intp]

    @property
    def distance(self) -> Points:
        """To the shore, positive inside. [m]"""
        return np.asarray(self.body.distance)

    def along(self, place: StretchPlace | PartPlace) -> NDArray[np.bool_]:
        """Pieces of shore that a place names; a zone lies along all of them."""
        if not isinstance(place, StretchPlace):
            return np.ones(len(self.walk.ring), dtype=np.bool_)
        return self.between(place.ring, place.start, place.end)

    def between(self, ring: str, start: str, end: str) -> NDArray[np.bool_]:
        """Pieces of a ring from one peg on to another; of a stream those of both banks."""
        number = self.body.ring_names.index(ring)
        curve = self.row.outline.curve if ring == OUTER_RING else self.row.islands[ring]
        pegs, spans = [peg.id for peg in curve.pegs], self.body.spans[number]
        if self.body.stream is not None:
            low, high = sorted((pegs.index(start), pegs.index(end)))
            of_side = np.minimum(spans, np.roll(spans, -1))
            sides = (of_side >= low) & (of_side < high)
        else:
            sides = sides_between(spans, pegs, start, end)
        own = self.walk.ring == number
        return np.asarray(own & sides[np.where(own, self.walk.side, 0)])


def grounds_from(job: Job, results: Mapping[str, Any]) -> dict[str, ShoreGround]:
    """Waters of a job by the pieces of their shores.

    Parameters
    ----------
    job : Job
    results : mapping     Needs `shape.shore`.

    Returns
    -------
    dict of ShoreGround
    """
    shore = results["shape.shore"]
    return {
        name: _ground(job, job.shape.bodies[name], body, shore.grid) for name, body in shore.bodies.items()
    }


def _ground(job: Job, row: Body, body: Any, grid: Grid) -> ShoreGround:
    walk = shore_walk(body.rings)
    nodes = np.flatnonzero(body.distance >= -grid.spacing)
    rows, columns = np.divmod(nodes, grid.columns)
    owner = walk.nearest(np.column_stack([grid.east[columns], grid.north[rows]]))
    standard = STANDARD_BANK if isinstance(row.outline, RingOutline) else STANDARD_STREAM
    kinds = [standard if row.bank_type is None else job.shape.bank_types[row.bank_type]]
    stretches = [] if body.stream is not None else list(row.stretches.values())
    kinds += [job.shape.bank_types[told.bank_type] for told in stretches]
    banks = tuple(bank_profile([(point.distance, point.depth) for point in kind.points]) for kind in kinds)
    found = ShoreGround(row, body, grid, walk, nodes, owner, banks, np.zeros(len(walk.ring), dtype=np.intp))
    for number, told in enumerate(stretches, start=1):
        found.bank[found.between(told.ring, told.start, told.end)] = number
    return found


def _rows(job: Job) -> dict[str, Treatment]:
    return {name: row for name, row in job.stone.treatments.items() if row.status != "remove"}


def covers(job: Job, results: Mapping[str, Any], window: Window) -> Iterator[Patch]:
    """What covers which part of every water: the more particular place goes before the wider one.

    Parameters
    ----------
    job : Job
    results : mapping     Needs `shape.shore`, `stone.takeoff`.
    window : Window

    Yields
    ------
    Patch
    """
    box = window.box()
    for body, ground in grounds_from(job, results).items():
        taken: shapely.Geometry = shapely.Polygon()
        rows = [row for row in _rows(job).values() if row.kind in COVERED and row.place.body in (None, body)]
        for row in sorted(rows, key=_rank):
            area = _region(ground, row, window)
            free = shapely.make_valid(area.difference(taken)).intersection(box)
            taken = taken.union(area)
            if row.kind != "bare":
                yield from _patches(row.kind, free)
        layered = any(
            line.body == body and line.source == "build_up" for line in results["stone.takeoff"].lines
        )
        if layered:
            yield from _patches("gravel", _above(ground, 0.0, window).difference(taken).intersection(box))


def _rank(row: Treatment) -> int:
    """Stretches before zones, zones before whole waters."""
    if isinstance(row.place, StretchPlace):
        return 0
    return 1 if isinstance(row.place, PartPlace) else 2


def _patches(kind: str, area: shapely.Geometry) -> Iterator[Patch]:
    parts = [
        part for part in shapely.get_parts(area) if part.area > LITTLE_MM2 and part.geom_type == "Polygon"
    ]
    if parts:
        yield Patch(kind, shapely.multipolygons(parts))


def _region(ground: ShoreGround, row: Treatment, window: Window) -> shapely.Geometry:
    """Part of a water that a treatment covers. [mm]"""
    if isinstance(row.place, StretchPlace):
        within = _along(ground, row.place, window)
        if row.kind in ("planted", "deck", "bare"):
            return within.difference(_above(ground, BAND, window))
        floors = [float(bank.knots[-1]) for bank in ground.banks]
        return within.difference(_above(ground, max(floors), window))
    if not isinstance(row.place, PartPlace):
        return _above(ground, 0.0, window)
    found = []
    for number, bank in enumerate(ground.banks):
        zones = np.asarray(bank.zones)
        starts = np.flatnonzero(zones == row.place.zone)
        own = ground.along(row.place) & (ground.bank == number)
        if not len(starts) or not own.any():
            continue
        knots = np.append(bank.knots, np.inf)
        low, high = float(knots[starts[0]]), float(knots[starts[-1] + 1])
        band = _above(ground, low, window)
        if math.isfinite(high):
            band = band.difference(_above(ground, high, window))
        found.append(band.intersection(_near(ground, own, window)) if len(ground.banks) > 1 else band)
    return shapely.union_all(found)


def _above(ground: ShoreGround, offset: float, window: Window) -> shapely.Geometry:
    """Water farther from its shore than that. [mm]"""
    return _polygons(areas_above(ground.distance, ground.grid, offset), window)


def _along(ground: ShoreGround, place: StretchPlace, window: Window) -> shapely.Geometry:
    return _near(ground, ground.along(place), window).intersection(_above(ground, 0.0, window))


def _near(ground: ShoreGround, pieces: NDArray[np.bool_], window: Window) -> shapely.Geometry:
    """Plan that lies nearest to some pieces of shore. [mm]"""
    share = np.zeros(ground.grid.shape)
    share.ravel()[ground.nodes] = pieces[ground.owner]
    return _polygons(areas_above(share, ground.grid, 0.5), window)


def _polygons(found: Any, window: Window) -> shapely.Geometry:
    shapes = [
        shapely.make_valid(
            shapely.Polygon(window.to_paper(rings[0]), [window.to_paper(hole) for hole in rings[1:]])
        )
        for rings in found
        if len(rings[0]) >= 3
    ]
    return shapely.union_all(shapes) if shapes else shapely.Polygon()


def fill(drawing: Drawing, patch: Patch) -> None:
    """Fill a patch as its kind is drawn: small rings, dots, sprigs, or lines."""
    spacing = SPACING_MM[patch.kind]
    if patch.kind == "gravel":
        drawing.dots(patch.area, "crest", spacing)
    elif patch.kind == "deck":
        drawing.hatch(patch.area, "thin", spacing)
    else:
        for x, y in drawing.net(patch.area, spacing):
            if patch.kind == "cobble":
                drawing.circle(x, y, 0.62, fill=PAPER)
            else:
                for east in (-0.7, 0.0, 0.7):
                    drawing.line(np.array([[x, y + 0.8], [x + east, y - 0.8]]), "thin")


def courses(drawing: Drawing, window: Window, takeoff: Any) -> None:
    """Stones of every course at the mean size of their class, one by one."""
    box = window.box()
    for body in takeoff.bodies.values():
        for run in body.runs:
            for outline in _run_stones(run, takeoff.classes):
                on_paper = window.to_paper(outline)
                if shapely.Polygon(on_paper).intersects(box):
                    drawing.area([on_paper], PAPER)
                    drawing.line(on_paper, "thin", closed=True)


def _run_stones(run: Any, classes: Mapping[str, Any]) -> Iterator[Points]:
    """Outlines of the stones of a course, [m], before its step on the side of the water."""
    total = float(np.sum(run.lengths))
    count = sum(run.counts) // max(run.rows, 1)
    if not count or total <= 0.0:
        return
    ends = np.cumsum(run.lengths)
    kinds = _mixed([key for key, _share in run.classes], run.counts)
    for number in range(count):
        at = int(np.searchsorted(ends, (number + 0.5) * total / count))
        at = min(at, len(run.points) - 1)
        inward = run.inward[at]
        found = classes[kinds[number % len(kinds)]]
        size = 0.5 * (found.low + found.high)
        long = min(forms()[found.shape].long * size, 1.02 * total / count)
        middle = run.points[at] + 0.5 * size * inward
        turn = math.atan2(-inward[0], inward[1])
        yield stone_outline(middle, turn, long, size, number)


def _mixed(keys: list[str], counts: tuple[int, ...]) -> list[str]:
    """Classes in turn, each as often as it occurs, spread evenly."""
    places = [
        ((place + 0.5) / count, key)
        for key, count in zip(keys, counts, strict=True)
        for place in range(count)
        if count
    ]
    return [key for _at, key in sorted(places)]


def stone_outline(middle: Points, turn: float, long: float, wide: float, number: int = 0) -> Points:
    """Outline of a stone seen from above: eight corners, a little uneven, no larger than its tapes.

    Parameters
    ----------
    middle : (2,) array     [m]
    turn : float            Direction of its length, anticlockwise from east. [rad]
    long, wide : float      [m]
    number : int            Two stones with different numbers look different.

    Returns
    -------
    (8, 2) array            [m]
    """
    x, y = 0.5 * long, 0.5 * wide
    cut_x, cut_y = (1.0 - CORNER * 2.0) * x, (1.0 - CORNER * 2.0) * y
    corners = np.array([
        [-cut_x, -y], [cut_x, -y], [x, -cut_y], [x, cut_y],
        [cut_x, y], [-cut_x, y], [-x, cut_y], [-x, -cut_y],
    ])  # fmt: skip
    # A cheap, fixed unevenness, that never makes a stone larger.
    uneven = 1.0 - UNEVEN * (0.5 + 0.5 * np.sin(1.7 * number + 2.1 * np.arange(8)))
    even = np.column_stack([corners[:, 0] * uneven, corners[:, 1] * uneven[::-1]])
    c, s = math.cos(turn), math.sin(turn)
    return np.asarray(middle) + even @ np.array([[c, s], [-s, c]])


@dataclass(frozen=True, slots=True)
class Tag:
    """Words that belong to a sign: where it stands [m], what they say, how far off they keep [mm]."""

    place: Points
    words: str
    off_mm: float


def write_tags(window: Window, labels: Labels, tags: Iterable[Tag]) -> None:
    """Ask for tags beside their signs."""
    for tag in tags:
        labels.want(window.to_paper(tag.place), tag.words, gap_mm=tag.off_mm, rank=2, once=False)


def strong_lines(job: Job, results: Mapping[str, Any], window: Window) -> shapely.Geometry:
    """What words on the plan keep off: shores, streams, ways and measured stones. [mm]

    Parameters
    ----------
    job : Job
    results : mapping     Needs `shape.shore`.
    window : Window

    Returns
    -------
    shapely geometry
    """
    found: list[shapely.Geometry] = []
    for body in results["shape.shore"].bodies.values():
        for ring in body.rings:
            edge = shapely.LinearRing(window.to_paper(ring))
            found.append(shapely.Polygon(edge) if body.stream is not None else edge.buffer(0.4))
    for way in job.shape.ways.values():
        line = ground_map.line_of(way.place)
        if line is not None:
            half = 0.5 * (way.width or 0.0) * window.mm
            found.append(shapely.LineString(window.to_paper(line)).buffer(half + 0.3, cap_style="flat"))
    return shapely.union_all([shapely.make_valid(one) for one in found])


def placed(drawing: Drawing, window: Window, job: Job, results: Mapping[str, Any]) -> Iterator[Tag]:
    """Draw measured stones with a place of their own, at their true size; yield the tag of each."""
    for number, (name, piece) in enumerate(job.stone.pieces.items()):
        if piece.place is None:
            continue
        middle = np.array([piece.place.east, piece.place.north])
        turn = _turn_of(piece, middle, results)
        outline = window.to_paper(stone_outline(middle, turn, piece.length, piece.width, number))
        drawing.area([outline], PAPER)
        drawing.line(outline, "design_index", closed=True)
        x0, y0 = outline.min(axis=0)
        x1, y1 = outline.max(axis=0)
        drawing.keep_clear(x0, y0, x1, y1)
        yield Tag(middle, piece.tag or piece.name or name, 2.4 + 0.5 * (y1 - y0))


def _turn_of(piece: Piece, middle: Points, results: Mapping[str, Any]) -> float:
    """Direction of a stone's length, anticlockwise from east: as told, else along the nearest shore."""
    if piece.turn is not None:
        return 0.5 * math.pi - piece.turn
    rings = [ring for body in results["shape.shore"].bodies.values() for ring in body.rings]
    near = min(rings, key=lambda ring: shapely.LinearRing(ring).distance(shapely.Point(middle)))
    edge = shapely.LinearRing(near)
    at = edge.project(shapely.Point(middle))
    start, end = (edge.interpolate((at + step) % edge.length) for step in (-0.2, 0.2))
    return math.atan2(end.y - start.y, end.x - start.x)


def stands(drawing: Drawing, window: Window, job: Job) -> Iterator[Tag]:
    """Draw where machines stand, a small pair of tracks; yield the number of each."""
    several = len(job.stone.lifters) > 1
    for letter, lifter in zip("ABCDEFGHJKLMNPQRSTUVWXYZ", job.stone.lifters.values(), strict=False):
        for number, place in enumerate(lifter.stands, start=1):
            middle = np.array([place.east, place.north])
            x, y = window.to_paper(middle)
            if not shapely.contains_xy(window.box().buffer(-2.0), x, y):
                continue
            stand_sign(drawing, float(x), float(y))
            drawing.keep_clear(x - 1.8, y - 1.6, x + 1.8, y + 1.6)
            yield Tag(middle, f"{letter}{number}" if several else f"M{number}", 3.2)


def stand_sign(drawing: Drawing, x: float, y: float) -> None:
    """Two tracks and a cab between them."""
    for side in (-1.2, 0.7):
        box = np.array(
            [[x - 1.6, y + side], [x + 1.6, y + side], [x + 1.6, y + side + 0.5], [x - 1.6, y + side + 0.5]]
        )
        drawing.area([box], INK)
    drawing.circle(x, y, 0.6, fill=PAPER)


def piles(drawing: Drawing, window: Window, job: Job) -> Iterator[Tag]:
    """Draw stone on hand as heaps; yield the number of each, as the column has it."""
    for number, pile in enumerate(job.stone.piles.values(), start=1):
        if pile.place is None:
            continue
        middle = np.array([pile.place.east, pile.place.north])
        x, y = window.to_paper(middle)
        if not shapely.contains_xy(window.box().buffer(-2.0), x, y):
            continue
        heap_sign(drawing, float(x), float(y))
        drawing.keep_clear(x - 2.0, y - 1.4, x + 2.0, y + 1.0)
        yield Tag(middle, f"H{number}", 3.2)


def heap_sign(drawing: Drawing, x: float, y: float) -> None:
    """A heap from the side."""
    heap = np.array([[x - 2.0, y + 1.0], [x, y - 1.4], [x + 2.0, y + 1.0]])
    drawing.area([heap], PAPER)
    drawing.line(heap, "thing", closed=True)
