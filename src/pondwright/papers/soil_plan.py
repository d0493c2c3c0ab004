"""The soil plan: what is dug and placed, where each cubic metre goes, piles, gates, loads and hours."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.ops import substring

from pondwright.base.kinds import AREA, BULK_MASS, COUNT, LENGTH, ROAD_LENGTH, SOIL_VOLUME, TIME, Kind
from pondwright.base.units import format_value, unit_of
from pondwright.geometry.grid import Grid
from pondwright.job.earth import OffSite, Pile
from pondwright.job.places import PointPlace, Row
from pondwright.papers import design_map, ground_map, margin
from pondwright.papers.drawing import PAPER, Drawing, Sheet
from pondwright.papers.ground_map import SMALL_MM
from pondwright.papers.labels import Labels
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, MUTED, TITLE_MM, Column
from pondwright.papers.material import Material
from pondwright.papers.window import Window, fitted, scale_words
from pondwright.rooms.earth.haul import NOWHERE, PLACED, Haul

DRAWN_FROM = ("site.ground", "shape.shore", "shape.grading", "earth.subgrade", "earth.soil", "earth.haul")
"""Stages without whose results there is no soil plan."""

AROUND = 3.0  # m of ground shown around what is moved
MOST_ARROWS = 20
BLOCK_MM = 30.0  # on paper; hauls between the same two blocks are one arrow
SHORTEST = 3.0  # m of an arrow that is worth drawing
NARROWEST_MM, WIDEST_MM = 0.5, 4.0
DEPTHS, APART, SHALLOW = 6, 7.0, 0.3
"""Depth figures of each kind at most, how far apart [m], and the least depth that is told [m]."""

ASSUMED = {
    "standard_digger": "small digger, assumed",
    "standard_carrier": "skid steer, assumed",
    "standard_compactor": "trench roller, assumed",
}
"""Machines that are taken where the job has none of a kind."""

LEGEND = (
    ("hatch", "dig", "dig; figures tell how deep"),
    ("dots", "placed", "place soil; figures tell how high"),
    ("line", "shoreline", "shoreline at the water level"),
    ("line", "crest", "foot of a pile"),
)
HAUL = ("line", "thin", "haul: as wide as its volume")

CAUTIONS = (
    "Pits and trenches collapse: slope or shore them, keep soil 0.6 m (2 ft) back from every edge, and "
    "machines farther. Nothing is heaped on a liner, a drain outlet, tree roots or a septic field. "
    "Have buried services marked before digging; nobody digs beside them by machine. "
    "Local codes and licensed practice decide."
)

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Arrow:
    """Hauls that are drawn as one: a way, what goes along it, in the bank, and how far on average [m]."""

    way: Points
    volume: float
    driven: float

    @property
    def length(self) -> float:
        """[m]"""
        return float(shapely.LineString(self.way).length)


def soil_plan(material: Material) -> Sheet:
    """Draw the soil plan of a job.

    Parameters
    ----------
    material : Material
        Needs the results of `DRAWN_FROM`.

    Returns
    -------
    Sheet
        A3, or 11 x 17 in where feet are shown.
    """
    job = material.job
    paper = margin.A3 if job.shown_units == "metric" else margin.TABLOID
    drawing = Drawing(paper.width_mm, paper.height_mm)
    window = fitted(
        _extent(material),
        MARGIN_MM,
        MARGIN_MM,
        paper.width_mm - 2 * MARGIN_MM - COLUMN_MM,
        paper.height_mm - 2 * MARGIN_MM - TITLE_MM,
        job.shown_units,
        margin.SCALE_BAR_MM,
    )
    found = arrows_of(material.result("earth.haul").plan.hauls, BLOCK_MM / window.mm)
    seen = [one for one in found if bare(one.volume, SOIL_VOLUME, material) != "0"]
    arrows = [one for one in seen if one.length >= SHORTEST]
    _map(drawing, window, material, arrows)
    _column(drawing, window, material, arrows)
    cells = (("scale", scale_words(window.scale, job.shown_units)), ("paper", paper.name))
    margin.title_strip(drawing, "Soil plan", job.name, cells, material.note)
    return drawing.sheet("soil-plan", f"Soil plan, {job.name}")


def arrows_of(hauls: Iterable[Haul], block: float) -> list[_Arrow]:
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


def _gathered(hauls: Iterable[Haul], size: float) -> Mapping[Any, list[Haul]]:
    """Hauls by the blocks that they join; all that goes to one pile or gate is one."""
    groups: dict[Any, list[Haul]] = defaultdict(list)
    for haul in hauls:
        start = tuple(int(one // size) for one in haul.start)
        end = (int(haul.end.east // size), int(haul.end.north // size))
        alone = (haul.source or start, end)
        groups[alone if haul.end.kind == PLACED else (haul.stream, haul.end.name)].append(haul)
    return groups


def _arrow(group: list[Haul]) -> _Arrow:
    """Between the means where all run straight; else the way that one of them takes, nearest to the means."""
    volumes = np.array([haul.volume for haul in group])
    ends = np.array([(*haul.start, haul.end.east, haul.end.north) for haul in group])
    means = np.average(ends, axis=0, weights=volumes)
    driven = float(np.average([haul.distance for haul in group], weights=volumes))
    way = means.reshape(2, 2)
    if any(len(haul.way) > 2 for haul in group):
        off = np.hypot(*(ends - means)[:, :2].T) + np.hypot(*(ends - means)[:, 2:].T)
        way = np.array(group[int(np.argmin(off))].way)
    return _Arrow(way, float(volumes.sum()), driven)


def _map(drawing: Drawing, window: Window, material: Material, arrows: list[_Arrow]) -> None:
    """Everything inside the window, from the ground up; what matters most is written first."""
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
    for arrow in arrows:
        _draw_arrow(drawing, window, arrow, widest)
    for arrow in arrows:
        _arrow_words(drawing, window, arrow, material)
    for name, row in job.earth.piles.items():
        _pile_words(drawing, window, name, row, material)
    labels = Labels(drawing, window.box())
    for name, gate in job.earth.off_site.items():
        _gate(drawing, window, labels, name, gate, material)
    for difference, words in ((ground.z - dug_to, "dig"), (dug_to - ground.z, "raise")):
        for place, depth in deepest(difference, ground.grid):
            told = format_value(depth, LENGTH, job.shown_units).rsplit(" ", 1)[0]
            x, y = (float(one) for one in window.to_paper(place))
            spots = np.array([[x, y, 0.0, 0.0]])
            labels.want((x, y), f"{words} {told}", spots=spots, gap_mm=0.0, rank=2, once=False)
    ground_map.bounds(drawing, window, labels, job)
    ground_map.things(drawing, window, labels, job)
    labels.write()
    ground_map.north_and_scale(drawing, window, job)


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


def _pile_foot(drawing: Drawing, window: Window, ring: Points) -> None:
    if len(ring) < 3:
        return
    on_paper = shapely.Polygon(window.to_paper(ring)).intersection(window.box())
    for part in shapely.get_parts(on_paper):
        if part.geom_type == "Polygon":
            drawing.area([shapely.get_coordinates(part.exterior)], PAPER, 0.7)
    ground_map.lines(drawing, window, np.vstack([ring, ring[:1]]), "crest")


def _pile_words(drawing: Drawing, window: Window, name: str, row: Pile, material: Material) -> None:
    """Name of a pile, what lies there, and how high."""
    found = material.result("earth.haul").piles[name]
    bank = found.topsoil + found.muck + found.soil
    lies = ", ".join(
        f"{words} {material.told(volume, SOIL_VOLUME)}"
        for words, volume in (("topsoil", found.topsoil), ("muck", found.muck), ("soil", found.soil))
        if volume > 0.01
    )
    told = [row.name or name, f"{lies} bank" if lies else "nothing comes here"]
    if bank > 0.01:
        told.append(f"{material.told(found.loose, SOIL_VOLUME)} loose, {material.told(found.height)} high")
    if isinstance(row.place, PointPlace):
        middle = np.array([row.place.east, row.place.north])
    else:
        at = shapely.Polygon(found.ring).representative_point()
        middle = np.array([at.x, at.y])
    x, y = window.to_paper(middle)
    for down in (0.0, 4.0, -4.0, 8.0, -8.0, 12.0, -12.0):
        if drawing.label(x, y + down - 2.8, told[0], 2.4):
            for number, words in enumerate(told[1:]):
                drawing.label(x, y + down + 2.9 * number, words, SMALL_MM)
            return


def _gate(
    drawing: Drawing, window: Window, labels: Labels, name: str, row: OffSite, material: Material
) -> None:
    """A gate as a square, with where it leads and its loads."""
    place = np.array([row.gate.east, row.gate.north])
    x, y = window.to_paper(place)
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * 1.6 + [x, y]
    drawing.area([corners], PAPER)
    drawing.line(corners, "frame", closed=True)
    drawing.keep_clear(x - 1.8, y - 1.8, x + 1.8, y + 1.8)
    loads = material.told(material.result("earth.haul").gates[name].loads, COUNT)
    way = "to" if row.way == "export" else "from"
    labels.want((x, y), f"{loads} loads {way} {ground_map.called(name, row)}", gap_mm=2.2, rank=1)


def _draw_arrow(drawing: Drawing, window: Window, arrow: _Arrow, widest: float) -> None:
    """A haul as an arrow along its way, whose width tells its volume."""
    line = shapely.LineString(window.to_paper(arrow.way))
    half = 0.5 * max(WIDEST_MM * arrow.volume / widest, NARROWEST_MM)
    head = min(2.0 * half + 1.6, 0.7 * line.length)
    neck = line.interpolate(line.length - head)
    tip = np.array(line.coords[-1])
    base = np.array([neck.x, neck.y])
    across = np.array([base[1] - tip[1], tip[0] - base[0]]) / max(float(np.hypot(*(tip - base))), 1e-9)
    point = shapely.Polygon([base + (half + 0.9) * across, tip, base - (half + 0.9) * across])
    shaft = substring(line, 0.0, line.length - head).buffer(half, cap_style="flat", join_style="round")
    for part in shapely.get_parts(shaft.union(point)):
        outline = shapely.get_coordinates(part.exterior)[:-1]
        drawing.area([outline], PAPER, 0.85)
        drawing.line(outline, "thin", closed=True)


def _arrow_words(drawing: Drawing, window: Window, arrow: _Arrow, material: Material) -> None:
    line = shapely.LineString(window.to_paper(arrow.way))
    words = f"{bare(arrow.volume, SOIL_VOLUME, material)}, {material.told(arrow.driven, digits=0)}"
    for share in (0.45, 0.35, 0.55, 0.25, 0.65, 0.15, 0.75):
        place = line.interpolate(share, normalized=True)
        if drawing.label(place.x, place.y, words, 2.2):
            return


def bare(value: float, kind: Kind, material: Material, digits: int = 0) -> str:
    """A number without its unit, as tables have it."""
    words = format_value(value, kind, material.job.shown_units, digits=digits)
    return words.removesuffix(f" {unit_of(kind, material.job.shown_units)}")


def _column(drawing: Drawing, window: Window, material: Material, arrows: list[_Arrow]) -> None:
    left, bottom = window.left_mm + window.width_mm, window.top_mm + window.height_mm
    drawing.line(np.array([[left, window.top_mm], [left, bottom]]), "frame")
    column = Column(drawing, left + 4, COLUMN_MM - 8, window.top_mm)
    unit = unit_of(SOIL_VOLUME, material.job.shown_units)
    column.heading(f"Soil by kind, {unit}")
    _kinds(column, material)
    column.heading(f"Where it goes, {unit} in the bank")
    _destinations(column, material)
    column.heading("Machines")
    for words, value in _work(material):
        column.row(words, value)
    column.heading("Factors")
    for words in _factors(material):
        column.paragraph(words, size_mm=2.3)
    column.heading("Legend")
    margin.legend(column, _legend(column, material, bottom, arrows))
    column.gap(1.0)
    if arrows:
        drawn = bare(sum(one.volume for one in arrows), SOIL_VOLUME, material)
        column.paragraph(
            f"Numbers on arrows are {unit} in the bank, {drawn} in all, and how far machines drive with it, "
            "round what they keep clear of. What is placed beside where it is dug has no arrow.",
            size_mm=2.3,
        )
    column.gap(1.0)
    column.paragraph(CAUTIONS, size_mm=2.3)


def _legend(
    column: Column, material: Material, bottom_mm: float, arrows: list[_Arrow]
) -> list[tuple[str, str, str]]:
    """Legend as far as there is room above the cautions: buried services go before lines not to cross."""
    words = ground_map.symbol_words(material.job)
    words.sort(key=lambda entry: not entry[1].startswith("service"))
    room = int((bottom_mm - column.down_mm - 28.0) / 4.6)
    return [*LEGEND, *([HAUL] if arrows else []), *words][: max(room, len(LEGEND))]


def _row(column: Column, cells: Iterable[str], shares: tuple[float, ...], *, bold: bool = False) -> None:
    """A row of a table: its first cell from the left, the others from the right of theirs."""
    column.down_mm += 4.0
    at = 0.0
    for number, (words, share) in enumerate(zip(cells, shares, strict=True)):
        x = column.left_mm + (at if number == 0 else at + share)
        anchor = "start" if number == 0 else "end"
        column.drawing.text(
            x, column.down_mm, words, 2.4, anchor=anchor, bold=bold, ink=MUTED if bold else "#1D2A2E"
        )
        at += share


def _kinds(column: Column, material: Material) -> None:
    """A row for each kind of soil, in the three states and by mass; and all of it."""
    shares = (15.0, 11.0, 13.0, 11.5, 14.0, 11.5)
    mass_unit = unit_of(BULK_MASS, material.job.shown_units)
    _row(column, ("", "dug", "stripped", "loose", "compacted", "mass"), shares, bold=True)
    rows = [
        (kind, each.dug, each.stripped, each.loose, each.compacted, each.mass)
        for kind, each in material.result("earth.soil").by_kind.items()
        if each.dug + each.stripped > 0.01
    ]
    for kind, *numbers in rows:
        _row(column, (kind, *_numbers(numbers, material)), shares)
    if len(rows) > 1:
        _row(column, ("all", *_numbers(np.sum([row[1:] for row in rows], axis=0), material)), shares)
    soil = material.result("earth.soil")
    column.gap(1.0)
    placed = bare(soil.placed, SOIL_VOLUME, material)
    more = bare(soil.settlement_allowance, SOIL_VOLUME, material)
    column.paragraph(
        f"Mass in {mass_unit}. Dug and stripped are in the bank. Placed, compacted: {placed}, "
        f"and {more} more on top that settles.",
        size_mm=2.3,
    )


def _numbers(numbers: Iterable[float], material: Material) -> list[str]:
    *volumes, mass = numbers
    return [*(bare(one, SOIL_VOLUME, material) for one in volumes), bare(mass, BULK_MASS, material)]


def _destinations(column: Column, material: Material) -> None:
    """A row for each place that takes soil; loads with what fills the truck."""
    haul, job = material.result("earth.haul"), material.job
    column.row("banks and fills", bare(haul.to_banks, SOIL_VOLUME, material))
    for name, row in job.earth.piles.items():
        pile = haul.piles[name]
        column.row(row.name or name, bare(pile.topsoil + pile.muck + pile.soil, SOIL_VOLUME, material))
    for name, gate in job.earth.off_site.items():
        found = haul.gates[name]
        whole = bare(found.topsoil + found.muck + found.soil, SOIL_VOLUME, material)
        called = gate.name or name
        column.row(called if gate.way == "export" else f"from {called}", whole)
        column.paragraph(_loads(name, gate, material), size_mm=2.3)
    if haul.homeless > 0.01:
        column.row("NO PLACE TO GO", bare(haul.homeless, SOIL_VOLUME, material))
    if haul.short > 0.01:
        column.row("MUST BE BROUGHT, NO PLACE GIVES IT", bare(haul.short, SOIL_VOLUME, material))


def _loads(name: str, gate: OffSite, material: Material) -> str:
    """Loads of a gate, by box or by scale, how far they go, and how many trucks keep the diggers at work."""
    found = material.result("earth.haul").gates[name]
    row = material.job.earth.trucks.get(gate.truck) if gate.truck else None
    called = (row.name or gate.truck) if row is not None else "three-axle tipper"
    fills = "the scale" if found.by_scale else "the box"
    box, payload = material.told(found.truck.box, SOIL_VOLUME), material.told(found.truck.payload, BULK_MASS)
    words = f"{found.loads} loads, {fills} decides: {called}, {box}, {payload}; "
    words += f"{material.told(gate.distance, ROAD_LENGTH)} by road, one way."
    if found.trucks:
        words += f" So that no digger waits: {found.trucks} trucks."
    return words


def _work(material: Material) -> Iterator[tuple[str, str]]:
    """Hours of every machine, of the trucks, and the ground that muck needs."""
    haul, earth = material.result("earth.haul"), material.job.earth
    rows: Mapping[str, Row] = {**earth.compactors, **earth.machines}
    for name, machine in haul.machines.items():
        called = (rows[name].name or name) if name in rows else ASSUMED[name]
        yield f"{called}, {' and '.join(machine.does)}", material.told(machine.hours, TIME, 1)
    if haul.road_time > 0.0:
        yield "trucks, all of their hours", material.told(haul.road_time, TIME, 1)
    yield "mean way on the site", material.told(haul.mean_distance)
    if haul.drying_area > 0.0:
        yield "ground for the muck to dry on", material.told(haul.drying_area, AREA)
        yield "ground that it has", material.told(haul.drying_given, AREA)


def _factors(material: Material) -> Iterator[str]:
    """Bulking, compaction and density of each kind, with their sources, once each."""
    cited: dict[str, list[str]] = defaultdict(list)
    for kind, each in material.result("earth.soil").by_kind.items():
        if each.dug + each.stripped > 0.01:
            told = f"{kind} loose {each.bulking:.2f}, compacted {each.compaction:.2f}"
            cited["; ".join(dict.fromkeys(str(source) for source in each.sources))].append(told)
    for source, kinds in cited.items():
        yield f"For 1 in the bank: {'; '.join(kinds)}. {source[:1].upper()}{source[1:]}."


def _extent(material: Material) -> tuple[float, float, float, float]:
    """Extent of what is moved, of piles and of gates, with some ground around; the survey where none is."""
    ground, job = material.result("site.ground"), material.job
    grid: Grid = ground.grid
    rows, columns = np.nonzero(np.abs(material.result("earth.subgrade").z - ground.z) > design_map.SEEN)
    places = [np.column_stack([grid.east[columns], grid.north[rows]])]
    places += [pile.ring for pile in material.result("earth.haul").piles.values() if len(pile.ring)]
    places += [np.array([[row.gate.east, row.gate.north]]) for row in job.earth.off_site.values()]
    found = np.vstack(places)
    if not len(found):
        found = ground.tin.points
    low, high = found.min(axis=0) - AROUND, found.max(axis=0) + AROUND
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
