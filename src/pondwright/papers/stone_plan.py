"""The stone plan: what covers the banks, where stones go, what is on hand, what is bought, what lifts it.

Stones are drawn at their true size.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from pondwright.base.kinds import AREA, BULK_MASS, COUNT, MASS
from pondwright.base.numbers import write_number
from pondwright.base.units import Shown
from pondwright.papers import design_map, ground_map, margin, stone_map
from pondwright.papers.drawing import PAPER, Drawing, Sheet
from pondwright.papers.labels import Labels
from pondwright.papers.margin import MARGIN_MM, TITLE_MM, Column
from pondwright.papers.material import UNBROKEN, Material
from pondwright.papers.soil_map import bare
from pondwright.papers.tables import Cell, table
from pondwright.papers.window import Window, fitted, scale_words

DRAWN_FROM = ("site.ground", "shape.shore", "stone.takeoff", "stone.yard", "stone.setting")
"""Stages without whose results there is no stone plan."""

AROUND = 2.0  # m of ground shown around the waters
WORDS_MM, GAP_MM = 97.0, 3.0  # width of each of the two columns of words
TEXT_MM = 2.4
INCH = 0.0254
KINDS = {
    "courses": "stones in courses",
    "cobble": "cobble",
    "gravel": "gravel",
    "planted": "planted",
    "wall": "wall",
    "deck": "deck",
    "bare": "left bare",
}
LINES = (
    ("line", "shoreline", "shoreline at the water level"),
    ("line", "fall", "fall"),
    ("line", "thing", "path, bridge or deck"),
)
CAUTIONS = (
    "Nobody stands under a load, between a load and the machine, or below a stone that is being set. Lift by "
    "the chart of the machine that is there, on level firm ground, with rated slings, a leg no flatter than "
    "45 degrees. Every stone on the liner has a pad; no machine on the liner unless that is planned. "
    "Wet stone is slippery. A stone to stand on must not rock. Local codes and licensed practice decide."
)


def small(value: float, shown: Shown) -> str:
    r"""A size of a stone as it is taped: in inches where feet are shown.

    Examples
    --------
    >>> small(0.4572, "us"), small(0.4572, "metric")
    ('18\xa0in', '0.46\xa0m')
    """
    if shown == "metric":
        return f"{write_number(value, 2)}{UNBROKEN}m"
    return f"{write_number(value / INCH, 1, trimmed=True)}{UNBROKEN}in"


def sizes(low: float, high: float, shown: Shown) -> str:
    r"""A range of sizes.

    Examples
    --------
    >>> sizes(0.3048, 0.508, "us"), sizes(0.02, 0.04, "metric")
    ('12–20\xa0in', '0.02–0.04\xa0m')
    """
    first, last = small(low, shown).split(UNBROKEN)[0], small(high, shown)
    return f"{first}–{last}"


def has_stone(material: Material) -> bool:
    """Whether a job tells anything about stone, or has banks that need some."""
    takeoff = material.result("stone.takeoff")
    return bool(takeoff.lines) or bool(material.job.stone.pieces)


def stone_sheets(material: Material) -> Iterator[Sheet]:
    """Draw the stone plan of a job.

    Parameters
    ----------
    material : Material
        Needs the results of `DRAWN_FROM`.

    Yields
    ------
    Sheet
        A3, or 11 x 17 in where feet are shown; none without stone.
    """
    if not has_stone(material):
        return
    yield _plan(material)


def _plan(material: Material) -> Sheet:
    job = material.job
    paper = margin.A3 if job.shown_units == "metric" else margin.TABLOID
    drawing = Drawing(paper.width_mm, paper.height_mm)
    window = fitted(
        _extent(material),
        MARGIN_MM,
        MARGIN_MM,
        paper.width_mm - 2 * MARGIN_MM - 2 * WORDS_MM - GAP_MM,
        paper.height_mm - 2 * MARGIN_MM - TITLE_MM,
        job.shown_units,
        margin.SCALE_BAR_MM,
    )
    _map(drawing, window, material)
    _words(drawing, window, material)
    cells = (("scale", scale_words(window.scale, job.shown_units)), ("paper", paper.name))
    margin.title_strip(drawing, "Stone plan", job.name, cells, material.note)
    return drawing.sheet("stone-plan", f"Stone plan, {job.name}")


def _extent(material: Material) -> tuple[float, float, float, float]:
    shore, job = material.result("shape.shore"), material.job
    found = [ring for body in shore.bodies.values() for ring in body.rings]
    found += [
        np.array([[piece.place.east, piece.place.north]])
        for piece in job.stone.pieces.values()
        if piece.place is not None
    ]
    both = np.vstack(found or [material.result("site.ground").tin.points])
    low, high = both.min(axis=0) - AROUND, both.max(axis=0) + AROUND
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


# --- the map ---------------------------------------------------------------------------------------


def _map(drawing: Drawing, window: Window, material: Material) -> None:
    job, shore = material.job, material.result("shape.shore")
    takeoff = material.result("stone.takeoff")
    ground_map.keep_marks_clear(drawing, window)
    design_map.keep_frame_clear(drawing, window)
    for patch in stone_map.covers(job, material.results, window):
        stone_map.fill(drawing, patch)
    for body in shore.bodies.values():
        design_map.shorelines(drawing, window, body)
    stone_map.courses(drawing, window, takeoff)
    design_map.ways(drawing, window, job)
    for number, (name, row) in enumerate(job.stone.treatments.items(), start=1):
        if row.status != "remove":
            _treatment_mark(drawing, window, material, name, f"{number}")
    tags = [
        *stone_map.placed(drawing, window, job, material.results),
        *stone_map.piles(drawing, window, job),
        *stone_map.stands(drawing, window, job),
    ]
    labels = Labels(drawing, window.box(), stone_map.strong_lines(job, material.results, window))
    stone_map.write_tags(window, labels, tags)
    for body in shore.bodies.values():
        design_map.falls(drawing, window, labels, job.shown_units, body)
    labels.write()
    ground_map.north_and_scale(drawing, window, job)


def _treatment_mark(drawing: Drawing, window: Window, material: Material, name: str, words: str) -> None:
    """Number of a treatment of a stretch, landward of its middle; the table tells what it is."""
    row = material.job.stone.treatments[name]
    if row.place.at != "stretch":
        return
    ground = stone_map.grounds_from(material.job, material.results)[row.place.body]
    pieces = np.flatnonzero(ground.along(row.place))
    if not len(pieces):
        return
    # A stretch may run through the first peg: begin behind the gap.
    gaps = np.flatnonzero(np.diff(pieces) > 1)
    order = np.roll(pieces, -(int(gaps[0]) + 1)) if len(gaps) else pieces
    middle = order[len(order) // 2]
    x, y = window.to_paper(ground.walk.points[middle])
    inward = ground.walk.inward[middle]
    out = np.array([-inward[0], inward[1]])
    for reach in (4.0, 5.5, 7.0, 9.0):
        at = np.array([x, y]) + reach * out
        if drawing.label(float(at[0]), float(at[1]), words, 2.8):
            drawing.circle(float(at[0]), float(at[1]), 2.3)
            drawing.keep_clear(float(at[0]) - 2.4, float(at[1]) - 2.4, float(at[0]) + 2.4, float(at[1]) + 2.4)
            return


# --- the words -------------------------------------------------------------------------------------


def _words(drawing: Drawing, window: Window, material: Material) -> None:
    left, top = window.left_mm + window.width_mm, window.top_mm
    bottom = top + window.height_mm
    drawing.line(np.array([[left, top], [left, bottom]]), "frame")
    first = Column(drawing, left + GAP_MM, WORDS_MM - GAP_MM, top)
    second = Column(drawing, left + WORDS_MM + GAP_MM, WORDS_MM - GAP_MM, top)
    _classes(first, material)
    _order(first, material)
    _on_hand(first, material)
    _treatments(second, material)
    _legend(second, material)
    _falls(second, material)
    _machines(second, material, bottom - 33.0)
    second.down_mm = max(second.down_mm, bottom - 31.0)
    second.gap(1.0)
    second.paragraph(CAUTIONS, size_mm=TEXT_MM)


def tons(material: Material, mass: float) -> str:
    """Mass of much stone, in tons as the trade calls them."""
    return material.told(mass, BULK_MASS, 1).replace(f"short{UNBROKEN}ton", "tons")


def _classes(column: Column, material: Material) -> None:
    takeoff, job = material.result("stone.takeoff"), material.job
    column.heading(f"Stone by class, {'t' if job.shown_units == 'metric' else 'tons of 2000 lb'}")
    rows = []
    for key, total in takeoff.classes.items():
        row = job.stone.classes.get(key)
        name = (row.name or key) if row is not None else f"{key.replace('_', ' ')} (by default)"
        rows.append(
            (
                f"{name}; {total.shape}, {sizes(total.low, total.high, job.shown_units)}"
                if row is None or not row.name
                else f"{name}; {total.shape}",
                _count(total.count),
                bare(total.mass, BULK_MASS, material, 1),
                bare(total.on_hand, BULK_MASS, material, 1),
                _count(total.buy_count),
                bare(total.buy, BULK_MASS, material, 1),
            )
        )
    cells = (
        Cell("class", 39.0),
        Cell("pieces", 10.0, number=True),
        Cell("placed", 11.0, number=True),
        Cell("on hand", 11.5, number=True),
        Cell("buy pieces", 12.5, number=True),
        Cell("buy", 10.0, number=True),
    )
    table(column, cells, rows)
    column.row("all stone that is placed", tons(material, takeoff.mass))
    column.row("of it on hand, used first", tons(material, takeoff.on_hand))
    column.row("to buy, waste included", tons(material, takeoff.buy))


def _count(number: int) -> str:
    return write_number(float(number), 0) if number else "–"


def _order(column: Column, material: Material) -> None:
    yard, job = material.result("stone.yard"), material.job
    column.heading("Loads, in the order of arrival")
    truck = job.earth.trucks.get(yard.truck)
    called = (truck.name or yard.truck) if truck is not None else "a standard truck of three axles"
    rows = []
    for key, each in sorted(yard.classes.items(), key=lambda one: one[1].order):
        row = job.stone.classes.get(key)
        name = (row.name or key) if row is not None else key.replace("_", " ")
        staging = material.told(each.staging, AREA) if each.staging > 0.0 else "–"
        rows.append((f"{each.order}", name, f"{each.loads}", staging))
    cells = (
        Cell("", 6.0),
        Cell("class", 52.0),
        Cell("loads", 14.0, number=True),
        Cell("ground to wait on", 22.0, number=True),
    )
    table(column, cells, rows)
    column.row("loads in all", material.told(yard.loads, COUNT))
    column.paragraph(f"Loads of {called}, by box or by scale, whichever is full first.", size_mm=TEXT_MM)


def _on_hand(column: Column, material: Material) -> None:
    job, takeoff, yard = material.job, material.result("stone.takeoff"), material.result("stone.yard")
    if job.stone.piles:
        column.heading("Stone on hand, used first")
        rows = [
            (
                f"H{number}",
                pile.name or f"heap {number}",
                tons(material, pile.mass),
                tons(material, takeoff.piles.get(name, 0.0)),
            )
            for number, (name, pile) in enumerate(job.stone.piles.items(), start=1)
        ]
        cells = (
            Cell("", 7.0),
            Cell("heap", 53.0),
            Cell("there", 17.0, number=True),
            Cell("used", 17.0, number=True),
        )
        table(column, cells, rows)
        if takeoff.spare > 0.0:
            column.row("left over, measured stones with it", tons(material, takeoff.spare))
    if yard.stones:
        column.heading("Measured stones")
        column.row("with a place", f"{yard.placed} of {len(yard.stones)}")
        left = [stone.name for stone in yard.stones.values() if not stone.place]
        if left:
            column.paragraph(f"Left over: {', '.join(left)}. The yard list tells why.", size_mm=TEXT_MM)


def _treatments(column: Column, material: Material) -> None:
    takeoff, job = material.result("stone.takeoff"), material.job
    rows = []
    for number, (name, row) in enumerate(job.stone.treatments.items(), start=1):
        found = takeoff.treatments.get(name)
        if found is None:
            continue
        size = material.told(found.length) if found.length > 0.0 else ""
        size = size or (material.told(found.area, AREA) if found.area > 0.0 else "–")
        rows.append(
            (
                f"{number}",
                f"{row.name}: {KINDS[row.kind]}" if row.name else KINDS[row.kind],
                size,
                _count(found.count),
                tons(material, found.mass) if found.mass > 0.0 else "–",
            )
        )
    by_default = [line for line in takeoff.lines if line.source in ("default", "build_up")]
    for words, source in (
        ("steps that nothing is told for: by default", "default"),
        ("where nothing else is told: cobble and gravel of the build-up", "build_up"),
    ):
        own = [line for line in by_default if line.source == source]
        if own:
            rows.append(
                (
                    "",
                    words,
                    "",
                    _count(sum(line.count for line in own)),
                    tons(material, sum(line.mass for line in own)),
                )
            )
    column.heading("Where it lies")
    cells = (
        Cell("", 6.5),
        Cell("place", 43.5),
        Cell("long or large", 16.0, number=True),
        Cell("pieces", 11.0, number=True),
        Cell("placed", 17.0, number=True),
    )
    table(column, cells, rows)


def _falls(column: Column, material: Material) -> None:
    """Stones of each fall by what they are for, and the tags of those that are chosen."""
    takeoff, yard = material.result("stone.takeoff"), material.result("stone.yard")
    if not takeoff.falls:
        return
    column.heading("Falls, stones to set")
    rows, chosen = [], []
    for number, (name, fall) in enumerate(takeoff.falls.items(), start=1):
        called = material.job.stone.falls[name].name or f"fall {number}"
        counts = (fall.spill, fall.frame, fall.face, fall.wings)
        rows.append((called, material.told(fall.drop), *map(_count, counts), tons(material, fall.backing)))
        keys = {key for key, place in yard.places.items() if place.source == f"stone.falls.{name}"}
        tags = [stone.name for stone in yard.stones.values() if stone.place in keys]
        chosen.append(f"{called}: {', '.join(tags) or 'none chosen yet'}.")
    cells = (
        Cell("fall", 27.0),
        Cell("drop", 12.0, number=True),
        Cell("spill", 9.0, number=True),
        Cell("frame", 10.0, number=True),
        Cell("face", 9.0, number=True),
        Cell("wings", 10.0, number=True),
        Cell("backing", 17.0, number=True),
    )
    table(column, cells, rows)
    column.paragraph("Chosen at the yard. " + " ".join(chosen), size_mm=TEXT_MM)


def _machines(column: Column, material: Material, bottom: float) -> None:
    """What each machine is to lift, and what no machine here may set."""
    setting = material.result("stone.setting")
    if not setting.lifters or not column.has_room(24.0, bottom):
        return
    column.heading("Machines")
    for number, (name, reach) in enumerate(setting.lifters.items(), start=1):
        row = material.job.stone.lifters.get(name)
        called = (row.name or f"machine {number}") if row is not None else reach.name
        column.paragraph(
            f"{called}: heaviest lift {material.told(reach.heaviest, MASS, 0)}, stone wet.", size_mm=TEXT_MM
        )
        if reach.pads is not None and column.has_room(8.0, bottom):
            column.paragraph(
                f"It then wants {material.told(reach.pads, AREA)} of pads or mats below it.", size_mm=TEXT_MM
            )
    beyond = [place.says for place in setting.places.values() if place.share < 1.0]
    words = "No machine here may set the largest of: " + "; ".join(beyond) + "."
    if beyond and column.has_room(12.0, bottom):
        column.paragraph(words, size_mm=TEXT_MM)


def _legend(column: Column, material: Material) -> None:
    column.heading("Legend")
    margin.legend(column, LINES)
    drawing = column.drawing
    there = _there(material)
    half = 0.5 * column.width_mm
    shown = [entry for entry in stone_map.LEGEND if entry[0] in there]
    for number, (kind, words) in enumerate(shown):
        left = column.left_mm + half * (number % 2)
        if number % 2 == 0:
            column.down_mm += 5.0
        x, y = left, column.down_mm - 1.0
        if kind in stone_map.SPACING_MM:
            box = shapely.box(x, y - 1.9, x + 11.0, y + 1.5)
            stone_map.fill(drawing, stone_map.Patch(kind, box))
        elif kind == "stand":
            stone_map.stand_sign(drawing, x + 5.5, y)
        elif kind == "heap":
            stone_map.heap_sign(drawing, x + 5.5, y)
        else:
            for at in (2.0, 5.5, 9.0) if kind == "courses" else (5.5,):
                outline = stone_map.stone_outline(np.array([x + at, y]), 0.0, 3.2, 2.4, int(at))
                drawing.area([outline], PAPER)
                drawing.line(outline, "thin" if kind == "courses" else "design_index", closed=True)
        drawing.text(left + 13.0, y + 1.0, words if kind != "courses" else "stones, true size", 2.4)


def _there(material: Material) -> set[str]:
    """What of the legend is on this plan."""
    job, takeoff = material.job, material.result("stone.takeoff")
    kinds: set[str] = {row.kind for row in job.stone.treatments.values() if row.status != "remove"}
    if any(line.source == "build_up" for line in takeoff.lines):
        kinds.add("gravel")
    if any(body.runs for body in takeoff.bodies.values()):
        kinds.add("courses")
    if any(piece.place is not None for piece in job.stone.pieces.values()):
        kinds.add("measured")
    if any(lifter.stands for lifter in job.stone.lifters.values()):
        kinds.add("stand")
    if any(pile.place is not None for pile in job.stone.piles.values()):
        kinds.add("heap")
    return kinds
