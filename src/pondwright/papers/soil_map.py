"""The map of the soil plan: what is dug and placed, piles and gates, and hauls as arrows between them.

An arrow ends at the edge of the pile or the gate that takes its soil; words lie on no arrow.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.ops import substring

from pondwright.base.kinds import COUNT, LENGTH, SOIL_VOLUME, Kind
from pondwright.base.units import format_value, unit_of
from pondwright.geometry.grid import Grid
from pondwright.job.earth import OffSite, Pile
from pondwright.job.places import PointPlace
from pondwright.papers import design_map, ground_map
from pondwright.papers.drawing import PAPER, Drawing
from pondwright.papers.labels import Labels
from pondwright.papers.material import Material
from pondwright.papers.window import Window
from pondwright.rooms.earth.haul import NOWHERE, PLACED, Haul

MOST_ARROWS = 20
BLOCK_MM = 30.0  # on paper; hauls between the same two blocks are one arrow
SHORTEST = 3.0  # m of an arrow that is worth drawing
NARROWEST_MM, WIDEST_MM = 0.5, 4.0
HEAD_MM, BARB_MM = 1.6, 0.9  # of a head: longer than its shaft is wide, and wider on each side
SHORTEST_MM = 2.5  # of paper that an arrow keeps, however near its pile lies
APART_MM = 0.4  # between the tip of an arrow and what takes the soil
GATE_MM = 1.6  # half of the square of a gate
WORDS_MM = 2.2
BESIDE_MM = (1.6, 2.6, 4.0)  # between the edge of an arrow and the middle of its words
FROM_MIDDLE, FARTHER = 4.0, 0.8  # costs of words off the middle of their arrow, and of a millimetre off it
LED_MM = 17.0  # of a leader
SPOTS, FINEST_MM = 500, 0.75  # places in a pile for its words, and how near each other at least
PILE_LED = 25.0  # cost of words that are led out of their pile
DEPTHS, APART, SHALLOW = 6, 7.0, 0.3
"""Depth figures of each kind at most, how far apart [m], and the least depth that is told [m]."""

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Arrow:
    """Hauls that are drawn as one: a way, what goes along it, in the bank, and how far on average [m]."""

    way: Points
    volume: float
    driven: float

    @property
    def length(self) -> float:
        """[m]"""
        return float(shapely.LineString(self.way).length)


def arrows_of(hauls: Iterable[Haul], block: float) -> list[Arrow]:
    """Hauls gathered to a few arrows: blocks grow until there are few enough.

    Parameters
    ----------
    hauls : iterable of Haul
    block : float      Side of the blocks at first. [m], > 0

    Returns
    -------
    list of arrows     At most 20; their volumes sum to that of all hauls that have a place to go.
    """
    placed = [haul for haul in hauls if haul.end.kind != NOWHERE]
    size = block
    while len(groups := _gathered(placed, size)) > MOST_ARROWS:
        size *= 1.3
    return [_arrow(group) for group in groups.values()]


def arrows_drawn(material: Material, window: Window) -> list[Arrow]:
    """Arrows that are long enough, and carry enough, to be drawn.

    Parameters
    ----------
    material : Material
    window : Window

    Returns
    -------
    list of Arrow
    """
    found = arrows_of(material.result("earth.haul").plan.hauls, BLOCK_MM / window.mm)
    seen = [one for one in found if bare(one.volume, SOIL_VOLUME, material) != "0"]
    return [one for one in seen if one.length >= SHORTEST]


def bare(value: float, kind: Kind, material: Material, digits: int = 0) -> str:
    """A number without its unit, as tables have it."""
    words = format_value(value, kind, material.job.shown_units, digits=digits)
    return words.removesuffix(f" {unit_of(kind, material.job.shown_units)}")


def draw_soil_map(drawing: Drawing, window: Window, material: Material, arrows: list[Arrow]) -> list[str]:
    """Draw everything inside the window, from the ground up, all words last.

    Parameters
    ----------
    drawing : Drawing
    window : Window
    material : Material
    arrows : list of Arrow     What `arrows_drawn` found.

    Returns
    -------
    list of str                First words of what had no room.
    """
    job, ground = material.job, material.result("site.ground")
    dug_to, shore = material.result("earth.subgrade").z, material.result("shape.shore")
    ground_map.keep_marks_clear(drawing, window)
    design_map.keep_frame_clear(drawing, window)
    design_map.moved_soil(drawing, window, ground.grid, ground.z, dug_to)
    for body in shore.bodies.values():
        design_map.shorelines(drawing, window, body)
    for name in job.earth.piles:
        _pile_foot(drawing, window, material.result("earth.haul").piles[name].ring)
    widest = max((one.volume for one in arrows), default=1.0)
    takers = list(_takers(window, material))
    lines = [cut_at(shapely.LineString(window.to_paper(arrow.way)), takers) for arrow in arrows]
    halves = [0.5 * max(WIDEST_MM * arrow.volume / widest, NARROWEST_MM) for arrow in arrows]
    shapes = [_shape(line, half) for line, half in zip(lines, halves, strict=True)]
    for shape in shapes:
        _draw_arrow(drawing, shape)
    labels = Labels(drawing, window.box(), shapely.union_all(shapes) if shapes else None)
    for arrow, line, half in zip(arrows, lines, halves, strict=True):
        _arrow_words(labels, arrow, line, half, material)
    for name, row in job.earth.piles.items():
        _pile_words(window, labels, name, row, material)
    for name, gate in job.earth.off_site.items():
        _gate(drawing, window, labels, name, gate, material)
    for difference, words in ((ground.z - dug_to, "dig"), (dug_to - ground.z, "raise")):
        _depths(window, labels, material, difference, words)
    ground_map.bounds(drawing, window, labels, job)
    ground_map.things(drawing, window, labels, job)
    unwritten = [wish.words[0] for wish in labels.write() if wish.reach_mm > 0.0]
    ground_map.north_and_scale(drawing, window, job)
    return unwritten


def deepest(difference: Points, grid: Grid) -> Iterator[tuple[Points, float]]:
    """Deepest places of a field, some way apart.

    Parameters
    ----------
    difference : (rows, columns) array     [m]
    grid : Grid                            Where the nodes are.

    Yields
    ------
    place [m], depth [m]                   The deepest first.
    """
    left = difference.copy()
    east, north = np.meshgrid(grid.east, grid.north)
    for _number in range(DEPTHS):
        row, column = np.unravel_index(int(np.argmax(left)), left.shape)
        depth = float(left[row, column])
        if depth < SHALLOW:
            return
        place = np.array([grid.east[column], grid.north[row]])
        yield place, depth
        left[np.hypot(east - place[0], north - place[1]) < APART] = 0.0


def cut_at(line: shapely.LineString, takers: Iterable[shapely.Polygon]) -> shapely.LineString:
    """The way of an arrow on paper [mm] up to the edge of what its tip lies in.

    Parameters
    ----------
    line : LineString            From where soil is taken to where it goes. [mm]
    takers : iterable of Polygon Piles and gates. [mm]

    Returns
    -------
    LineString                   The whole where its tip lies in none, or where it begins inside; a stump
                                 that reaches in where it would be too short to be seen.
    """
    start, tip = (shapely.Point(line.coords[end]) for end in (0, -1))
    for taker in takers:
        if not taker.contains(tip) or taker.contains(start):
            continue
        outside = shapely.get_parts(line.difference(taker.buffer(APART_MM)))
        before = line.project(shapely.Point(outside[-1].coords[-1])) if len(outside) else 0.0
        return substring(line, 0.0, min(max(before, SHORTEST_MM), line.length))
    return line


def _takers(window: Window, material: Material) -> Iterator[shapely.Polygon]:
    """Feet of the piles, and the squares of the gates, on paper."""
    for pile in material.result("earth.haul").piles.values():
        if len(pile.ring) >= 3:
            yield shapely.make_valid(shapely.Polygon(window.to_paper(pile.ring)))
    for row in material.job.earth.off_site.values():
        x, y = window.to_paper(np.array([row.gate.east, row.gate.north]))
        yield shapely.box(x - GATE_MM, y - GATE_MM, x + GATE_MM, y + GATE_MM)


def _gathered(hauls: Iterable[Haul], size: float) -> Mapping[Any, list[Haul]]:
    """Hauls by the blocks that they join; all that goes to one pile or gate is one."""
    groups: dict[Any, list[Haul]] = defaultdict(list)
    for haul in hauls:
        start = tuple(int(one // size) for one in haul.start)
        end = (int(haul.end.east // size), int(haul.end.north // size))
        alone = (haul.source or start, end)
        groups[alone if haul.end.kind == PLACED else (haul.stream, haul.end.name)].append(haul)
    return groups


def _arrow(group: list[Haul]) -> Arrow:
    """Between the means where all run straight; else the way that one of them takes, nearest to the means."""
    volumes = np.array([haul.volume for haul in group])
    ends = np.array([(*haul.start, haul.end.east, haul.end.north) for haul in group])
    means = np.average(ends, axis=0, weights=volumes)
    driven = float(np.average([haul.distance for haul in group], weights=volumes))
    way = means.reshape(2, 2)
    if any(len(haul.way) > 2 for haul in group):
        off = np.hypot(*(ends - means)[:, :2].T) + np.hypot(*(ends - means)[:, 2:].T)
        way = np.array(group[int(np.argmin(off))].way)
    return Arrow(way, float(volumes.sum()), driven)


def _shape(line: shapely.LineString, half: float) -> shapely.Geometry:
    """Outline on paper of an arrow along a line: a shaft that is as wide as its volume, and a head."""
    head = min(2.0 * half + HEAD_MM, 0.7 * line.length)
    neck = line.interpolate(line.length - head)
    tip = np.array(line.coords[-1])
    base = np.array([neck.x, neck.y])
    across = np.array([base[1] - tip[1], tip[0] - base[0]]) / max(float(np.hypot(*(tip - base))), 1e-9)
    wide = (half + BARB_MM) * across
    point = shapely.Polygon([base + wide, tip, base - wide])
    shaft = substring(line, 0.0, line.length - head).buffer(half, cap_style="flat", join_style="round")
    return shaft.union(point)


def _draw_arrow(drawing: Drawing, shape: shapely.Geometry) -> None:
    for part in shapely.get_parts(shape):
        outline = shapely.get_coordinates(part.exterior)[:-1]
        drawing.area([outline], PAPER, 0.85)
        drawing.line(outline, "thin", closed=True)


def _arrow_words(
    labels: Labels, arrow: Arrow, line: shapely.LineString, half: float, material: Material
) -> None:
    """What goes along an arrow, and how far, beside it and turned with it."""
    words = f"{bare(arrow.volume, SOIL_VOLUME, material)}, {material.told(arrow.driven, digits=0)}"
    spots = []
    for share in np.linspace(0.1, 0.9, 17):
        at = float(share) * line.length
        one, other = (np.array(line.interpolate(max(at + step, 0.0)).coords[0]) for step in (-1.0, 1.0))
        along = (other - one) / max(float(np.hypot(*(other - one))), 1e-9)
        turn = float(np.degrees(np.arctan2(along[1], along[0])))
        upright = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn
        middle, across = (one + other) / 2, np.array([-along[1], along[0]])
        for beside in BESIDE_MM:
            cost = FROM_MIDDLE * abs(float(share) - 0.5) + FARTHER * (beside - BESIDE_MM[0])
            spots += [(*(middle + side * (half + beside) * across), upright, cost) for side in (-1.0, 1.0)]
    place = line.interpolate(0.5, normalized=True)
    labels.want(
        (place.x, place.y),
        words,
        spots=np.array(spots),
        gap_mm=half + 0.4,
        reach_mm=LED_MM,
        rank=1,
        size_mm=WORDS_MM,
        once=False,
    )


def _pile_foot(drawing: Drawing, window: Window, ring: Points) -> None:
    if len(ring) < 3:
        return
    on_paper = shapely.Polygon(window.to_paper(ring)).intersection(window.box())
    for part in shapely.get_parts(on_paper):
        if part.geom_type == "Polygon":
            drawing.area([shapely.get_coordinates(part.exterior)], PAPER, 0.7)
    ground_map.lines(drawing, window, np.vstack([ring, ring[:1]]), "crest")


def _pile_words(window: Window, labels: Labels, name: str, row: Pile, material: Material) -> None:
    """Name of a pile, what lies there, and how high: in it where there is room, else beside it."""
    found = material.result("earth.haul").piles[name]
    bank = found.topsoil + found.muck + found.soil
    lies = ", ".join(
        f"{words} {material.told(volume, SOIL_VOLUME)}"
        for words, volume in (("topsoil", found.topsoil), ("muck", found.muck), ("soil", found.soil))
        if volume > 0.01
    )
    told = [ground_map.called(name, row), f"{lies} bank" if lies else "nothing comes here"]
    if bank > 0.01:
        told += [f"{material.told(found.loose, SOIL_VOLUME)} loose", f"{material.told(found.height)} high"]
    if isinstance(row.place, PointPlace):
        middle = np.array([row.place.east, row.place.north])
    else:
        at = shapely.Polygon(found.ring).representative_point()
        middle = np.array([at.x, at.y])
    place, spots = window.to_paper(middle), None
    if len(found.ring) >= 3:
        apart = max((shapely.Polygon(window.to_paper(found.ring)).area / SPOTS) ** 0.5, FINEST_MM)
        spots = design_map.spots_within(window, [found.ring], place, apart)
    labels.want(place, *told, spots=spots, gap_mm=0.0, rank=0, leader_costs=PILE_LED, once=False)


def _gate(
    drawing: Drawing, window: Window, labels: Labels, name: str, row: OffSite, material: Material
) -> None:
    """A gate as a square, with where it leads and its loads."""
    place = np.array([row.gate.east, row.gate.north])
    x, y = window.to_paper(place)
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * GATE_MM + [x, y]
    drawing.area([corners], PAPER)
    drawing.line(corners, "frame", closed=True)
    drawing.keep_clear(x - 1.8, y - 1.8, x + 1.8, y + 1.8)
    loads = material.told(material.result("earth.haul").gates[name].loads, COUNT)
    way = "to" if row.way == "export" else "from"
    labels.want((x, y), f"{loads} loads {way} {ground_map.called(name, row)}", gap_mm=2.2, rank=1)


def _depths(window: Window, labels: Labels, material: Material, difference: Points, words: str) -> None:
    """How deep is dug, or how high is placed, where it is most."""
    for place, depth in deepest(difference, material.result("site.ground").grid):
        told = format_value(depth, LENGTH, material.job.shown_units).rsplit(" ", 1)[0]
        x, y = (float(one) for one in window.to_paper(place))
        spots = np.array([[x, y, 0.0, 0.0]])
        labels.want((x, y), f"{words} {told}", spots=spots, gap_mm=0.0, reach_mm=LED_MM, rank=2, once=False)
