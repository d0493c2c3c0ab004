"""How a liner ends, in section at a true scale: behind the edge stone, in a trench, or on a wall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.kinds import LENGTH
from pondwright.papers.drawing import INK, PAPER, Drawing
from pondwright.papers.margin import MUTED
from pondwright.papers.material import Material
from pondwright.papers.window import scale_words

SCALES = {"metric": 20.0, "us": 18.0, "us_inch": 18.0}
HEIGHT_MM, HEAD_MM = 34.0, 4.6
WATER_AT = 0.55  # share of the height, from the top, at which the water stands
LEFT = 0.62  # m of water that is shown before the edge
SHELF = 0.25  # m below the water, as deep as it is drawn
BENCH = 0.32  # m of ground behind the water's edge on which the edge stone lies
SET_BACK, TRENCH = 0.60, 0.30  # m; NRCS: trench 12 in by 12 in, 24 in behind the edge
LAWN = 0.07  # m that the lawn stands above the liner's edge at most
TEXT_MM = 2.2

TITLES = {
    "upturn": "turned up behind the edge stone",
    "anchor": "laid in a trench and covered",
    "wall": "fixed to the wall with a bar",
}

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Detail:
    """A way in which a liner ends: the water at rest, its edge above that, and what is turned up. [m]"""

    kind: str
    level: float
    height: float
    upturn: float
    where: str


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a section lies on paper: the shore [mm], and millimetres for one metre."""

    drawing: Drawing
    x: float
    y: float
    mm: float
    right: float
    left: float

    def at(self, *places: tuple[float, float]) -> Points:
        """Places beyond the shore and above the water [m] on paper [mm], cut off where the section ends."""
        points = np.array([(self.x + east * self.mm, self.y - up * self.mm) for east, up in places])
        points[:, 0] = np.clip(points[:, 0], self.left, self.right)
        return points

    def line(self, symbol: str, *places: tuple[float, float], closed: bool = False) -> None:
        """Draw a line through places."""
        self.drawing.line(self.at(*places), symbol, closed=closed)

    def words(self, east: float, up: float, words: str, *, anchor: str = "middle") -> None:
        """Write at a place."""
        ((x, y),) = self.at((east, up))
        self.drawing.text(x, y, words, TEXT_MM, anchor=anchor)


def draw(drawing: Drawing, box: tuple[float, float, float], material: Material, detail: Detail) -> float:
    """Draw a section of a liner's edge.

    Parameters
    ----------
    drawing : Drawing
    box : (left, top, width)     Paper that there is. [mm]
    material : Material
    detail : Detail

    Returns
    -------
    float     Height that it took. [mm]
    """
    left, top, width = box
    scale = SCALES[material.job.shown_units]
    mm = 1000.0 / scale
    drawing.text(left, top + 2.8, f"{detail.where}: {TITLES[detail.kind]}", 2.5, bold=True)
    drawing.text(
        left + width,
        top + HEAD_MM + HEIGHT_MM - 0.6,
        scale_words(scale, material.job.shown_units),
        2.0,
        anchor="end",
        ink=MUTED,
    )
    frame = _Frame(drawing, left + LEFT * mm, top + HEAD_MM + WATER_AT * HEIGHT_MM, mm, left + width, left)
    _SECTIONS[detail.kind](frame, detail)
    _heights(frame, material, detail)
    return HEAD_MM + HEIGHT_MM + 1.5


def _upturn(frame: _Frame, detail: Detail) -> None:
    bench = detail.height - detail.upturn
    top = detail.height + LAWN
    liner = [(-LEFT, -SHELF), (0.0, -SHELF), (0.0, bench), (BENCH, bench), (BENCH, detail.height)]
    _ground(frame, [*liner[:4], (BENCH, top), (9.0, top + 0.02)])
    _stone(frame, (0.02, bench), (BENCH - 0.02, detail.height + 0.12), "edge stone")
    _stone(frame, (-0.36, -SHELF), (-0.02, bench - 0.02), "")
    frame.line("wall", *liner)
    frame.words(BENCH + 0.06, bench - 0.10, "lawn, its soil firm against the liner", anchor="start")


def _anchor(frame: _Frame, detail: Detail) -> None:
    lip = detail.height
    start, end = SET_BACK, SET_BACK + TRENCH
    down = lip - TRENCH
    liner = [(-LEFT, -SHELF), (-0.30, -SHELF), (0.0, lip), (start, lip), (start, down), (end - 0.02, down)]
    _ground(frame, [*liner[:4], (start, down), (end, down), (end, lip), (9.0, lip)])
    frame.line("thin", (0.06, lip + 0.09), (9.0, lip + 0.09))
    frame.line("thin", (-0.30, -SHELF + 0.09), (0.06, lip + 0.09))
    frame.line("wall", *liner)
    frame.words(0.04, lip + 0.025, "gravel or soil over it", anchor="start")
    frame.words(0.5 * (start + end), down + 0.12, "filled,")
    frame.words(0.5 * (start + end), down + 0.04, "tamped")


def _wall(frame: _Frame, detail: Detail) -> None:
    top = detail.height + 0.15
    foot = -SHELF - 0.1
    _ground(frame, [(-LEFT, foot), (0.0, foot), (0.0, top), (0.25, top), (0.25, 0.0), (9.0, 0.0)])
    frame.line("design_index", (0.25, top), (0.25, foot - 0.1))
    frame.line("wall", (-LEFT, foot), (-0.01, foot), (-0.01, detail.height))
    bar = detail.height - 0.02
    iron = frame.at((-0.05, bar - 0.05), (-0.02, bar - 0.05), (-0.02, bar), (-0.05, bar))
    frame.drawing.area([iron], INK)
    frame.words(0.125, 0.02, "wall")
    frame.words(0.32, 0.10, "bar and gasket, a bolt every 150 mm (6 in)", anchor="start")


_SECTIONS = {"upturn": _upturn, "anchor": _anchor, "wall": _wall}


def _ground(frame: _Frame, places: list[tuple[float, float]]) -> None:
    """The ground that is dug to, with short strokes below it."""
    edge = frame.at(*places)
    frame.drawing.line(edge, "design_index")
    under = np.vstack([edge, edge[::-1] + np.array([0.0, 1.6])])
    band = shapely.Polygon(under).buffer(0.0)
    frame.drawing.hatch(band, "thin", 1.4)


def _stone(frame: _Frame, low: tuple[float, float], high: tuple[float, float], words: str) -> None:
    """A stone between two corners, its own corners broken."""
    (x0, y0), (x1, y1) = low, high
    cut = 0.16 * min(x1 - x0, y1 - y0)
    places = [
        (x0 + cut, y0), (x1 - cut, y0), (x1, y0 + cut), (x1, y1 - 1.5 * cut),
        (x1 - 1.5 * cut, y1), (x0 + 2.0 * cut, y1), (x0, y1 - cut), (x0, y0 + cut),
    ]  # fmt: skip
    outline = frame.at(*places)
    frame.drawing.area([outline], PAPER)
    frame.drawing.line(outline, "thing", closed=True)
    if words:
        frame.words(0.5 * (x0 + x1), 0.5 * (y0 + y1) - 0.02, words)


def _heights(frame: _Frame, material: Material, detail: Detail) -> None:
    """Water and edge of the liner with their heights; the edge may stand higher, never lower."""
    frame.line("waterlining", (-LEFT, 0.0), (0.0, 0.0))
    frame.words(-LEFT, 0.02, f"full water {material.level(detail.level)}", anchor="start")
    at, low = _edge_of(detail)
    ((x, y),) = frame.at((at, low))
    edge, over = material.level(detail.level + detail.height), material.told(detail.height, LENGTH)
    right = frame.right
    up = frame.y - WATER_AT * HEIGHT_MM + 2.0
    frame.drawing.line(np.array([[x, y], [x + 1.5, up + 0.8], [right, up + 0.8]]), "thin")
    words = f"liner edge {edge}, {over} over; never lower"
    frame.drawing.text(right, up, words, TEXT_MM, anchor="end", bold=True)


def _edge_of(detail: Detail) -> tuple[float, float]:
    """Place of the liner's edge beyond the shore and above the water. [m]"""
    places: Mapping[str, tuple[float, float]] = {
        "upturn": (BENCH, detail.height),
        "anchor": (0.0, detail.height),
        "wall": (0.0, detail.height),
    }
    return places[detail.kind]
