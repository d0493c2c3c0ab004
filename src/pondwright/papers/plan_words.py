"""Words of the grading plan: the column beside it, and the sheets with pegs, ways and lines not to cross."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, COUNT, ELEVATION, LENGTH, SOIL_VOLUME, VOLUME, Kind
from pondwright.base.numbers import write_number
from pondwright.base.units import format_value
from pondwright.geometry.surface import surface_at
from pondwright.job.document import Job
from pondwright.job.fields import value_of
from pondwright.papers import bound_list, design_map, ground_map, margin, setting_points, water_map
from pondwright.papers.columns import ColumnSheets
from pondwright.papers.drawing import PAPER, Drawing, Sheet
from pondwright.papers.margin import COLUMN_MM, Column
from pondwright.papers.pages import A4, LETTER
from pondwright.papers.setting_points import number_words
from pondwright.papers.slopes import shelves
from pondwright.papers.tables import Cell
from pondwright.papers.window import Window

MOST_CHECKS, CHECKS_MM = 24, 110.0  # and paper that their list has at least
DRIVERS = (
    "earth.excavation",
    "earth.service",
    "site.service",
    "groundwater.trench",
    "groundwater.drain_service",
    "earth.",
    "shape.",
    "site.",
    "groundwater.dig_water",
)
"""Beginnings of the codes of checks that go before others where someone digs, the first ones first."""

MOST_LEVELS = 6  # waters whose levels the title strip tells
WAY_MM, FEWEST_WAYS = 2.6, 3  # type of a way's words, and ways that a list beside the plan has at least
COLUMNS = 2
ROOM_MM = 4.0  # of paper below the words of a column
LEVEL = 0.005  # m by which a shelf falls that is called level

LEGEND = (
    ("line", "shoreline", "shoreline at the water level"),
    ("line", "design_index", "finished ground"),
    ("line", "existing_index", "ground as found"),
    ("line", "crest", "outer edge of a crest, foot of a mound"),
    ("hatch", "dig", "dig"),
    ("dots", "placed", "place soil"),
    ("arrow", "slope", "slope, downhill: level for one upright"),
    ("height", "", "finished height"),
    ("peg", "", "peg of a shore; the next sheet tells its place"),
    ("line", "fall", "fall"),
    ("line", "overflow", "where it runs over to"),
    ("line", "survey_limit", "edge of what was surveyed"),
    ("line", "breakline", "crown of a tree"),
)

SETTING_OUT = (
    "East and north are those of the job's own grid. Ground is as it was found, water is the level at rest. "
    "A peg of a pond stands on its shore, one of a stream on its middle line."
)


def column(
    drawing: Drawing, window: Window, job: Job, results: Mapping[str, Any], unwritten: Sequence[str]
) -> None:
    """Write the column beside the plan: numbers, legend, caution, and the ways that have room.

    Parameters
    ----------
    drawing : Drawing
    window : Window
    job : Job
    results : mapping           Results by stage.
    unwritten : sequence        Words that had no room on the plan.
    """
    left = window.left_mm + window.width_mm
    bottom = window.top_mm + window.height_mm
    box = np.array([[left, window.top_mm], [left + COLUMN_MM, window.top_mm], [left + COLUMN_MM, bottom]])
    drawing.area([np.vstack([box, [[left, bottom]]])], PAPER)
    drawing.line(np.array([[left, window.top_mm], [left, bottom]]), "frame")
    told = Column(drawing, left + 4, COLUMN_MM - 8, window.top_mm)
    told.heading("Numbers")
    for words, value in numbers(job, results):
        told.row(words, value)
    told.heading(f"Legend; heights {ground_map.unit_words(job.shown_units)}")
    own = [
        *design_map.way_legend(job),
        *ground_map.symbol_words(job, drawing.used),
        *water_map.legend(read=False),
    ]
    margin.legend(told, [*LEGEND, *own])
    told.gap(3.0)
    for words in settling(job):
        told.paragraph(words)
        told.gap(1.0)
    told.paragraph(margin.CAUTION)
    if unwritten:
        told.gap(1.0)
        told.paragraph(f"No room on the plan for: {', '.join(unwritten)}.")
    _ways(told, job, bottom - ROOM_MM)


def _ways(told: Column, job: Job, bottom: float) -> None:
    """The list of ways; where it does not fit, the first of them, and which the next sheet tells."""
    rows = list(design_map.way_rows(job))
    heights = [
        len(margin.wrapped(words, told.width_mm - margin.MARK_MM, WAY_MM)) * WAY_MM * 1.42
        for _, words in rows
    ]
    if not rows or not told.has_room(8.1 + sum(heights[:FEWEST_WAYS]) + 5.0, bottom):
        return
    told.heading("Ways")
    for number, (mark, words) in enumerate(rows):
        last = number == len(rows) - 1
        if not told.has_room(heights[number] + (0.0 if last else 5.0), bottom):
            told.gap(0.8)
            told.paragraph(
                f"{mark} to {rows[-1][0]} stand on the next sheet."
                if not last
                else f"{mark} stands on the next sheet."
            )
            return
        told.paragraph(words, mark=mark, size_mm=WAY_MM)


def settling(job: Job) -> Iterator[str]:
    """How much higher banks are built than they are drawn."""
    shares = {
        name: float(value_of(job.shape.berm(name), "settlement") or 0.0)
        for name, body in job.shape.bodies.items()
        if body.outline.form == "ring"
    }
    for share in dict.fromkeys(shares.values()):
        if share > 0.0:
            names = [
                ground_map.called(name, job.shape.bodies[name]) for name in shares if shares[name] == share
            ]
            percent = f"{write_number(100.0 * share, 1, trimmed=True)}\u00a0%"
            whose = "Crests" if len(set(shares.values())) == 1 else f"Crests of {', '.join(names)}"
            yield f"{whose} are drawn as they settle: build what is placed under them {percent} higher."


def numbers(job: Job, results: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Levels, areas and volumes of the waters, and the soil that is moved: name and value."""

    def told(value: float, kind: Kind) -> str:
        return format_value(value, kind, job.shown_units)

    shore, storage, soil = results["shape.shore"], results["shape.storage"], results["earth.soil"]
    several = len(shore.bodies) > 1
    for name, body in shore.bodies.items():
        held = storage.bodies[name]
        yield f"{ground_map.called(name, job.shape.bodies[name])}: water level", told(body.level, ELEVATION)
        facts = (
            ("area of the water", told(body.area, AREA)),
            ("water held", told(held.volume, VOLUME)),
            ("greatest depth", told(held.greatest_depth, LENGTH)),
        )
        heights = [("crest", told(body.crest_level, ELEVATION))]
        heights += _shelf_rows(job, body.level, results["shape.grading"].bodies[name].profile)
        if several:
            yield "  " + ", ".join(value for _words, value in facts) + " deep", ""
            if body.stream is None:
                yield "  " + ", ".join(f"{words} {value}" for words, value in heights), ""
            continue
        yield from heights
        yield from facts
        yield "length of the shore", told(body.length, LENGTH)
        yield "freeboard at the lowest place", told(held.freeboard_left, LENGTH)
    yield "soil dug, in the bank", told(soil.dug, SOIL_VOLUME)
    yield "soil placed, compacted", told(soil.placed, SOIL_VOLUME)
    left_over = "left over" if soil.surplus_bank >= 0 else "missing"
    yield f"{left_over}, in the bank", told(abs(soil.surplus_bank), SOIL_VOLUME)
    yield "truck loads", told(soil.load_count, COUNT)


def _shelf_rows(job: Job, level: float, profile: Any) -> Iterator[tuple[str, str]]:
    """Height of each shelf; of one that falls from its outer to its inner edge."""
    for shelf in shelves(profile):
        outer, inner = level - shelf.depth, level - shelf.depth - shelf.fall
        words = format_value(outer, ELEVATION, job.shown_units)
        if shelf.fall > LEVEL:
            words = (
                f"{ground_map.height_words(outer, job.shown_units)} to "
                f"{format_value(inner, ELEVATION, job.shown_units)}"
            )
        yield "shelf", words


def levels(job: Job, results: Mapping[str, Any]) -> str:
    """Level of each water by its name, the largest first, for the title strip."""
    bodies = results["shape.shore"].bodies
    if not bodies:
        return "none"
    ordered = sorted(bodies, key=lambda name: -bodies[name].area)
    told = [format_value(bodies[name].level, ELEVATION, job.shown_units) for name in ordered]
    if len(told) == 1:
        return told[0]
    named = [
        f"{ground_map.called(name, job.shape.bodies[name])} {level}"
        for name, level in zip(ordered, told, strict=True)
    ]
    shown, rest = named[:MOST_LEVELS], len(named) - MOST_LEVELS
    if rest > 0:
        shown[-1] = f"{rest + 1} more beside the plan"
    half = (len(shown) + 1) // 2
    return "\n".join(
        ", ".join(pair) for pair in ([shown[at], *shown[at + half : at + half + 1]] for at in range(half))
    )


def setting_out(
    job: Job, results: Mapping[str, Any], findings: Sequence[Finding], note: str
) -> tuple[Sheet, ...]:
    """Write the sheets that go with the grading plan: benchmarks, pegs, ways, lines not to cross, checks.

    Parameters
    ----------
    job : Job
    results : mapping        Results by stage.
    findings : sequence      All checks.
    note : str               What an example says about itself.

    Returns
    -------
    tuple of Sheet
        A4, or 8.5 x 11 in where feet are shown, to take along; named ``grading-plan-2`` and so on.
    """
    paper = A4 if job.shown_units == "metric" else LETTER
    sheets = ColumnSheets(paper, "Grading plan, setting out", job.name, note, COLUMNS)
    sheets.heading("Setting out")
    sheets.paragraph(f"{SETTING_OUT} All are {ground_map.unit_words(job.shown_units)}.")
    _benchmarks(sheets, job)
    for name in results["shape.shore"].bodies:
        _pegs(sheets, job, results, name)
    rows = list(design_map.way_rows(job))
    if rows:
        sheets.heading("Ways")
        for mark, words in rows:
            sheets.paragraph(words, mark)
    bounds = list(bound_list.bound_rows(job))
    if bounds:
        sheets.heading(bound_list.HEADING)
        for mark, words in bounds:
            sheets.paragraph(words, mark)
    _points(sheets, job, results)
    sheets.heading("Checks", CHECKS_MM)
    room = sheets.with_room(CHECKS_MM)
    drivers_first = sorted(findings, key=_turn)
    margin.check_lines(room, drivers_first, job.shown_units, MOST_CHECKS, sheets.bottom_mm)
    return sheets.sheets("grading-plan", 2)


def _turn(finding: Finding) -> int:
    """Place of a check among those that a driver reads."""
    begins = (number for number, code in enumerate(DRIVERS) if finding.code.startswith(code))
    return next(begins, len(DRIVERS))


def _points(sheets: ColumnSheets, job: Job, results: Mapping[str, Any]) -> None:
    """Points of ways and gates, feet of mounds, low spots, seats and ends of sections."""
    share = sheets.width_mm / 10
    for table in setting_points.point_tables(job, results):
        sheets.heading(table.title)
        if table.note:
            sheets.paragraph(table.note)
        heads = ("east", "north", table.heights)
        sheets.table(
            (Cell("", 3.4 * share), *(Cell(head, 2.2 * share, number=True) for head in heads)), table.rows
        )


def _benchmarks(sheets: ColumnSheets, job: Job) -> None:
    rows = [
        (
            ground_map.called(name, mark, "benchmark"),
            number_words(mark.place.east, LENGTH, job),
            number_words(mark.place.north, LENGTH, job),
            "" if mark.elevation is None else number_words(mark.elevation, ELEVATION, job),
        )
        for name, mark in job.site.marks.items()
        if mark.place is not None
    ]
    if not rows:
        return
    share = sheets.width_mm / 9
    sheets.heading("Benchmarks")
    cells = (
        Cell("", 3 * share),
        *(Cell(head, 2 * share, number=True) for head in ("east", "north", "height")),
    )
    sheets.table(cells, rows)


def _pegs(sheets: ColumnSheets, job: Job, results: Mapping[str, Any], name: str) -> None:
    """Pegs of a body and of its islands: where each stands, the ground there, and the water's level."""
    row, body, ground = job.shape.bodies[name], results["shape.shore"].bodies[name], results["site.ground"]
    grid, called = ground.grid, ground_map.called(name, row)
    share = sheets.width_mm / 10
    heads = ("east", "north", "ground", "water")
    cells = (Cell("peg", 1.6 * share), *(Cell(head, 2.1 * share, number=True) for head in heads))
    curves = {called: row.outline.curve}
    curves |= {f"{called}, island {one.replace('_', ' ')}": curve for one, curve in row.islands.items()}
    for title, curve in curves.items():
        places = np.array([[peg.east, peg.north] for peg in curve.pegs])
        on = (
            (places[:, 0] >= grid.east[0])
            & (places[:, 0] <= grid.east[-1])
            & (places[:, 1] >= grid.north[0])
            & (places[:, 1] <= grid.north[-1])
        )
        heights = np.full(len(places), np.nan)
        heights[on] = surface_at(ground.z, grid, places[on])
        rows = [
            (
                peg.id,
                number_words(peg.east, LENGTH, job),
                number_words(peg.north, LENGTH, job),
                number_words(height, ELEVATION, job) if np.isfinite(height) else "",
                number_words(level, ELEVATION, job),
            )
            for peg, height, level in zip(curve.pegs, heights, _levels_at(body, places), strict=True)
        ]
        sheets.heading(f"Pegs: {title}")
        sheets.table(cells, rows)


def _levels_at(body: Any, places: np.ndarray) -> np.ndarray:
    """Level of the water at places: in a stream that of the pool there. [m]"""
    if body.stream is None:
        return np.full(len(places), body.level)
    line = shapely.LineString(body.stream.corridor.line)
    stations = shapely.line_locate_point(line, shapely.points(places))
    reaches = body.stream.reaches
    return np.asarray(body.level - np.asarray(reaches.drops)[reaches.reach_at(stations)])
