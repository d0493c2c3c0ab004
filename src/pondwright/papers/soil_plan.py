"""The soil plan: what is dug and placed, where each cubic metre goes, piles, gates, loads and hours."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import AREA, BULK_MASS, ROAD_LENGTH, SOIL_VOLUME, TIME
from pondwright.base.units import unit_of
from pondwright.job.earth import OffSite
from pondwright.job.places import Row
from pondwright.papers import bound_list, design_map, ground_map, margin
from pondwright.papers.drawing import Drawing, Sheet
from pondwright.papers.margin import COLUMN_MM, MARGIN_MM, MUTED, TITLE_MM, Column
from pondwright.papers.material import Material
from pondwright.papers.soil_map import Arrow, arrows_drawn, bare, draw_soil_map
from pondwright.papers.window import Window, fitted, scale_words

DRAWN_FROM = ("site.ground", "shape.shore", "shape.grading", "earth.subgrade", "earth.soil", "earth.haul")
"""Stages without whose results there is no soil plan."""

AROUND = 3.0  # m of ground shown around what is moved
WORDS_MM, LEADING, BELOW_MM = 2.3, 1.42, 2.0

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
    arrows = arrows_drawn(material, window)
    unwritten = draw_soil_map(drawing, window, material, arrows)
    listed = bound_list.list_on_map(
        drawing, window, list(bound_list.bound_rows(job, window)), _moved_places(window, material)
    )
    _column(drawing, window, material, arrows, list(_notes(material, arrows, unwritten, listed=listed)))
    cells = (("scale", scale_words(window.scale, job.shown_units)), ("paper", paper.name))
    margin.title_strip(drawing, "Soil plan", job.name, cells, material.note)
    return drawing.sheet("soil-plan", f"Soil plan, {job.name}")


def _column(
    drawing: Drawing, window: Window, material: Material, arrows: list[Arrow], notes: list[str]
) -> None:
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
        column.paragraph(words, size_mm=WORDS_MM)
    column.heading("Legend")
    lines = sum(len(margin.wrapped(words, column.width_mm, WORDS_MM)) for words in notes)
    below = lines * WORDS_MM * LEADING + len(notes) + BELOW_MM
    margin.legend(column, _legend(column, material, bottom - below, arrows))
    for words in notes:
        column.gap(1.0)
        column.paragraph(words, size_mm=WORDS_MM)


def _notes(material: Material, arrows: list[Arrow], unwritten: list[str], *, listed: bool) -> Iterator[str]:
    """What the numbers on arrows are, what the map had no room for, and the cautions."""
    if arrows:
        drawn = bare(sum(one.volume for one in arrows), SOIL_VOLUME, material)
        yield (
            f"Numbers on arrows are {unit_of(SOIL_VOLUME, material.job.shown_units)} in the bank, {drawn} in "
            "all, and how far machines drive with it, round what they keep clear of. What is placed beside "
            "where it is dug has no arrow."
        )
    if unwritten:
        yield f"No room on the plan for: {', '.join(unwritten)}."
    if not listed:
        yield "The lines not to cross are named on the setting-out sheet of the grading plan."
    yield CAUTIONS


def _legend(
    column: Column, material: Material, bottom_mm: float, arrows: list[Arrow]
) -> list[tuple[str, str, str]]:
    """Legend as far as there is room above the notes: buried services go before lines not to cross."""
    words = ground_map.symbol_words(material.job)
    words.sort(key=lambda entry: not entry[1].startswith("service"))
    room = int((bottom_mm - column.down_mm) / margin.LEGEND_MM)
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
        size_mm=WORDS_MM,
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
        column.paragraph(_loads(name, gate, material), size_mm=WORDS_MM)
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
    places = [_moved(material)]
    places += [pile.ring for pile in material.result("earth.haul").piles.values() if len(pile.ring)]
    places += [np.array([[row.gate.east, row.gate.north]]) for row in job.earth.off_site.values()]
    found = np.vstack(places)
    if not len(found):
        found = ground.tin.points
    low, high = found.min(axis=0) - AROUND, found.max(axis=0) + AROUND
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _moved(material: Material) -> Points:
    """Nodes of the grid where soil is dug or placed. [m]"""
    ground = material.result("site.ground")
    rows, columns = np.nonzero(np.abs(material.result("earth.subgrade").z - ground.z) > design_map.SEEN)
    return np.column_stack([ground.grid.east[columns], ground.grid.north[rows]])


def _moved_places(window: Window, material: Material) -> list[Points]:
    """What of the map is neither a line nor a word: moved soil, and the piles. On paper [mm]"""
    piles = [pile.ring for pile in material.result("earth.haul").piles.values() if len(pile.ring)]
    inside = [shapely.Polygon(ring).centroid.coords[0] for ring in piles if len(ring) >= 3]
    return [window.to_paper(places) for places in (_moved(material), *piles, np.array(inside)) if len(places)]
