"""The unrolled shore: the whole edge of each body as a strip, with ground, bank, water and what is low."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import ELEVATION, LENGTH
from pondwright.base.units import format_value
from pondwright.job.places import OUTER_RING, Curve
from pondwright.job.shape import STANDARD_BANK, STANDARD_STREAM, Body, RingOutline
from pondwright.papers import margin
from pondwright.papers.drawing import Sheet
from pondwright.papers.margin import MARGIN_MM
from pondwright.papers.material import Material
from pondwright.papers.strips import HEIGHTS_MM, SMALL_MM, Strip, StripSheets, scale_for
from pondwright.papers.type_width import text_width
from pondwright.rooms.shape.unrolled import unrolled_shore

STEP = 0.25  # m between stations
MOST_ROWS = 4  # into which the longest shore is broken
BAND_MM = 6.0  # at the bottom of a strip, for the kinds of bank
BELOW = (2.4, 5.2, -2.0, -5.0)  # mm under the water's line at which its words are tried
MOUTH = 0.6  # m within which a place of the shore is at a stream's mouth
LOW = 0.03  # m that a rim may lie under its freeboard before it is called low

LEGEND = (
    ("line", "existing_index", "existing ground on the shore"),
    ("line", "design_index", "top of the bank"),
    ("line", "waterlining", "water at rest"),
    ("peg", "", "peg, with its name above"),
    ("line", "thing", "kind of bank, from here to there"),
)
NOTES = (
    "The shore walked in the order of its pegs, laid straight. The top of the bank is the highest that the "
    "water would have to climb there. Triangles point at low places.",
    margin.CAUTION,
)

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Edge:
    """One ring of a body by its stations: heights, the water beside it, streams that open, banks, pegs."""

    head: str
    station: Points
    ground: Points
    rim: Points
    water: Points
    freeboard: float
    mouths: tuple[str, ...]
    banks: tuple[str, ...]
    pegs: tuple[tuple[str, float], ...]


def shore_sheets(material: Material) -> tuple[Sheet, ...]:
    """Draw the unrolled shores of all bodies, islands as further strips.

    Parameters
    ----------
    material : Material
        Needs the results of `site.ground`, `shape.shore` and `shape.grading`.

    Returns
    -------
    tuple of Sheet
        A3, or 11 x 17 in where feet are shown, named ``shore``, ``shore-2`` and so on; none without water.
    """
    job = material.job
    edges = [edge for name in material.result("shape.shore").bodies for edge in _edges(material, name)]
    if not edges:
        return ()
    paper = margin.A3 if job.shown_units == "metric" else margin.TABLOID
    width = paper.width_mm - 2 * MARGIN_MM - HEIGHTS_MM - 8.0
    longest = max(float(edge.station[-1]) for edge in edges)
    scale = scale_for(longest / MOST_ROWS, width, job.shown_units)
    sheets = StripSheets(material, "shore", "Unrolled shore", scale, LEGEND, NOTES)
    for edge in edges:
        rows = int(np.ceil(edge.station[-1] * sheets.mm / width - 1e-9))
        for row in range(rows):
            start, end = (edge.station[-1] * share / rows for share in (row, row + 1))
            part = (edge.station >= start - STEP) & (edge.station <= end + STEP)
            heights = np.concatenate([edge.ground[part], edge.rim[part], edge.water[part]])
            low = float(heights.min()) - BAND_MM / sheets.mm
            head = edge.head if rows == 1 else f"{edge.head}, part {row + 1} of {rows}"
            _draw(sheets.strip(start, end, low, float(heights.max()) + 3.0 / sheets.mm, head), edge, material)
    return sheets.sheets()


def _edges(material: Material, name: str) -> Iterator[_Edge]:
    """Rings of a body, its outer shore first."""
    row: Body = material.job.shape.bodies[name]
    body = material.result("shape.shore").bodies[name]
    bank = material.result("shape.grading").bodies[name].bank
    across = bank.freeboard * bank.slope_in + bank.crest_width
    for ring_name, ring in zip(body.ring_names, body.rings, strict=True):
        outer = ring_name == OUTER_RING
        found = unrolled_shore(
            ring,
            material.result("site.ground").z,
            material.result("shape.grading").z,
            material.result("shape.shore").grid,
            across if outer else -across,
            STEP,
        )
        length = float(shapely.LinearRing(ring).length)
        curve = row.outline.curve if outer else row.islands[ring_name]
        pegs = tuple(_stations(ring, curve)) if body.stream is None or not outer else ()
        station = np.append(found.station * length / _around(found), length)
        called = row.name or name
        points = np.vstack([found.points, found.points[:1]])
        yield _Edge(
            head=called if outer else f"{called}, island {ring_name}",
            station=station,
            ground=np.append(found.ground, found.ground[0]),
            rim=np.append(found.rim, found.rim[0]),
            water=_water(body, points),
            freeboard=bank.freeboard,
            mouths=_mouths(material, name, points),
            banks=tuple(_banks(material, row, ring_name, station, dict(pegs))),
            pegs=pegs,
        )


def _around(found: Any) -> float:
    """Length of the stations, all round."""
    return float(found.station[-1] + np.hypot(*(found.points[0] - found.points[-1])))


def _stations(ring: Points, curve: Curve) -> Iterator[tuple[str, float]]:
    edge = shapely.LinearRing(ring)
    for peg in curve.pegs:
        yield peg.id, float(edge.project(shapely.Point(peg.east, peg.north)))


def _water(body: Any, points: Points) -> Points:
    """Water at rest beside each place: of a stream, that of its reach."""
    if body.stream is None:
        return np.full(len(points), body.level)
    middle = shapely.LineString(body.stream.corridor.line)
    at = shapely.line_locate_point(middle, shapely.points(points))
    return np.asarray(body.level - body.stream.reaches.drops[body.stream.reaches.reach_at(at)])


def _mouths(material: Material, name: str, points: Points) -> tuple[str, ...]:
    """Name of the stream whose mouth is at each place; empty where there is none."""
    grid = material.result("site.ground").grid
    found = [""] * len(points)
    for mouth in material.result("shape.grading").mouths:
        if name not in (mouth.stream, mouth.body):
            continue
        east, north = np.meshgrid(grid.east[mouth.window[1]], grid.north[mouth.window[0]])
        there = shapely.MultiPoint(np.column_stack([east[mouth.nodes], north[mouth.nodes]]))
        other = mouth.stream if name == mouth.body else mouth.body
        called = material.job.shape.bodies[other].name or other
        for at in np.flatnonzero(shapely.distance(there, shapely.points(points)) <= MOUTH):
            found[at] = called
    return tuple(found)


def _banks(
    material: Material, row: Body, ring: str, station: Points, pegs: dict[str, float]
) -> Iterator[str]:
    """Kind of bank at each station."""
    kinds = material.job.shape.bank_types

    def called(kind: str | None) -> str:
        if kind is None:
            return (STANDARD_BANK if isinstance(row.outline, RingOutline) else STANDARD_STREAM).name
        return kinds[kind].name or kind

    stretches = [
        (pegs[one.start], pegs[one.end], called(one.bank_type))
        for one in row.stretches.values()
        if one.ring == ring and one.start in pegs and one.end in pegs
    ]
    for at in station:
        inside = [
            kind
            for start, end, kind in stretches
            if (start <= at <= end if start <= end else at >= start or at <= end)
        ]
        yield inside[-1] if inside else called(row.bank_type)


def _draw(strip: Strip, edge: _Edge, material: Material) -> None:
    shown, drawing = material.job.shown_units, strip.drawing
    part = (edge.station >= strip.start - STEP) & (edge.station <= strip.end + STEP)
    window = shapely.box(strip.x(strip.start), 0.0, strip.x(strip.end), drawing.height_mm)
    for values, symbol in ((edge.ground, "existing_index"), (edge.rim, "design_index")):
        on_paper = shapely.LineString(strip.points(edge.station[part], values[part]))
        for piece in shapely.get_parts(on_paper.intersection(window)):
            if piece.geom_type == "LineString":
                drawing.line(shapely.get_coordinates(piece), symbol)
    _flags(strip, edge, part, shown)
    for start, end, level in _levels(edge, strip):
        strip.water(start, end, level, f"water {format_value(level, ELEVATION, shown)}", BELOW)
    strip.frame(shown)
    _kinds(strip, edge)
    for name, at in edge.pegs:
        if strip.start <= at < strip.end:
            x = strip.x(at)
            drawing.circle(x, strip.y(float(np.interp(at, edge.station, edge.water))), 0.7, fill="#FFFFFF")
            drawing.line(np.array([[x, strip.y(strip.high)], [x, strip.y(strip.high) + 1.2]]), "thin")
            # The first name stands clear of the heights.
            beside = max(x, strip.left_mm + 1.0 + text_width(name, SMALL_MM) / 2)
            drawing.label(beside, strip.y(strip.high) + 2.6, name, SMALL_MM)


def _levels(edge: _Edge, strip: Strip) -> Iterator[tuple[float, float, float]]:
    """Runs of one water level within a strip."""
    inside = np.flatnonzero((edge.station >= strip.start - STEP) & (edge.station <= strip.end + STEP))
    for run in np.split(inside, np.flatnonzero(np.abs(np.diff(edge.water[inside])) > 1e-6) + 1):
        start, end = max(edge.station[run[0]], strip.start), min(edge.station[run[-1]], strip.end)
        if end > start:
            yield float(start), float(end), float(edge.water[run[0]])


def _flags(strip: Strip, edge: _Edge, part: NDArray[np.bool_], shown: Any) -> None:
    """A triangle on each low place of the rim, with its height over the water or what opens there."""
    over = edge.rim - edge.water
    low = part & (over < edge.freeboard - LOW)
    for run in np.split(np.arange(len(low)), np.flatnonzero(np.diff(low)) + 1):
        if not low[run[0]]:
            continue
        at = run[int(np.argmin(over[run]))]
        if not strip.start <= edge.station[at] <= strip.end:
            continue
        x, y = strip.x(float(edge.station[at])), strip.y(float(edge.rim[at]))
        strip.drawing.keep_clear(x - 1.2, y - 3.0, x + 1.2, y)
        strip.drawing.area([np.array([[x - 1.2, y - 3.0], [x + 1.2, y - 3.0], [x, y - 0.5]])], "#1D2A2E")
        height = format_value(abs(float(over[at])), LENGTH, shown)
        side = "over" if over[at] >= 0.0 else "below"
        words = f"mouth: {edge.mouths[at]}" if edge.mouths[at] else f"low: {height} {side} the water"
        any(
            strip.drawing.label(x + dx, y + dy, words, SMALL_MM)
            for dx, dy in ((0.0, -4.8), (0.0, -7.4), (26.0, -3.0), (-26.0, -3.0), (0.0, -10.0))
        )


def _kinds(strip: Strip, edge: _Edge) -> None:
    """Kinds of bank as a dimension line along the bottom, each with its name."""
    inside = np.flatnonzero((edge.station >= strip.start) & (edge.station <= strip.end))
    names = np.array(edge.banks)[inside]
    y = strip.y(strip.low) - 1.6
    for run in np.split(inside, np.flatnonzero(names[1:] != names[:-1]) + 1):
        x0 = max(strip.x(float(edge.station[run[0]]) - STEP / 2), strip.x(strip.start))
        x1 = min(strip.x(float(edge.station[run[-1]]) + STEP / 2), strip.x(strip.end))
        strip.drawing.line(np.array([[x0, y], [x1, y]]), "thing")
        for x in (x0, x1):
            strip.drawing.line(np.array([[x, y - 1.0], [x, y + 1.0]]), "thing")
        strip.drawing.label((x0 + x1) / 2, y - 1.9, edge.banks[run[0]], SMALL_MM)
