"""A sheet as SVG in millimetres: everything is drawn at its true size on paper.

The writer knows a few marks (line, area, dot, text, picture) and escapes every text.
Hatches are drawn as real lines and dots, clipped here, so that they print the same everywhere.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.papers.symbols import SIGN_SQUARE, LineSymbol, line_symbols, sign_symbols
from pondwright.papers.type_width import text_width

FONT = "'Source Sans 3', sans-serif"  # quoted: the name ends in a digit
PAPER = "#FFFFFF"
INK = "#1D2A2E"

Points = NDArray[np.float64]

_NO_SIGN = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What no XML may hold: a job's own words may hold it all the same."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One printed page: its name (also of the file), its title, its size in mm and its SVG."""

    name: str
    title: str
    width_mm: float
    height_mm: float
    svg: str


@dataclass
class Drawing:
    """A page under the pen; coordinates in mm from the top left corner.

    ``used`` are the symbols drawn so far, ``strokes`` all lines with theirs.
    """

    width_mm: float
    height_mm: float
    _marks: list[str] = field(default_factory=list)
    _taken: list[tuple[float, float, float, float]] = field(default_factory=list)
    used: set[str] = field(default_factory=set)
    strokes: list[tuple[str, Points]] = field(default_factory=list)

    def line(self, points: Points, symbol: str, *, closed: bool = False) -> None:
        """Draw a polyline (n, 2) in mm with a symbol of the table."""
        mark = line_symbols()[symbol]
        self.used.add(symbol)
        self.strokes.append((symbol, np.vstack([points, points[:1]]) if closed else points))
        self._marks.append(
            f'<path d="{_path(points, closed=closed)}" fill="none" {_stroke(mark)} stroke-linejoin="round"/>'
        )

    def area(self, rings: Iterable[Points], fill: str, opacity: float = 1.0) -> None:
        """Fill an area given by its rings; holes come out by the even-odd rule."""
        path = " ".join(_path(ring, closed=True) for ring in rings)
        if path:
            self._marks.append(
                f'<path d="{path}" fill="{fill}" fill-opacity="{opacity:g}" fill-rule="evenodd"/>'
            )

    def hatch(self, area: shapely.Geometry, symbol: str, spacing_mm: float) -> None:
        """Hatch an area in mm with lines that rise to the right at 45 degrees."""
        for line in _hatch_lines(area, spacing_mm):
            self.line(line, symbol)

    def dots(self, area: shapely.Geometry, symbol: str, spacing_mm: float) -> None:
        """Dot an area in mm on a staggered net."""
        mark = line_symbols()[symbol]
        radius = mark.width_mm / 2
        if not area.is_empty:
            self.used.add(symbol)
        self._marks += [
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.3f}" fill="{mark.ink}"/>'
            for x, y in _dot_net(area, spacing_mm)
        ]

    def net(self, area: shapely.Geometry, spacing_mm: float) -> Points:
        """Places (n, 2) in mm of a staggered net that lie in an area, for marks of one's own."""
        return _dot_net(area, spacing_mm)

    def circle(self, x: float, y: float, radius_mm: float, *, fill: str = "none", ink: str = INK) -> None:
        """Draw a small circle."""
        self._marks.append(
            f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{radius_mm:.3f}" fill="{fill}" '
            f'stroke="{ink}" stroke-width="0.18"/>'
        )

    def sign(self, x: float, y: float, name: str) -> None:
        """Draw a small sign of the table with its middle on a place."""
        found = sign_symbols()[name]
        self.used.add(name)
        scale = found.width_mm / SIGN_SQUARE
        for kind, numbers in found.parts:
            if kind in ("ring", "dot"):
                at_x, at_y, radius = numbers
                self.circle(
                    x + (at_x - SIGN_SQUARE / 2) * scale,
                    y + (at_y - SIGN_SQUARE / 2) * scale,
                    radius * scale,
                    fill=INK if kind == "dot" else PAPER,
                )
                continue
            points = (np.array(numbers) - SIGN_SQUARE / 2) * scale + [x, y]
            if kind != "line":
                self.area([points], INK if kind == "black" else PAPER)
            self.line(points, "thing" if kind == "line" else "thin", closed=kind != "line")

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size_mm: float = 2.5,
        *,
        anchor: str = "start",
        bold: bool = False,
        turn: float = 0.0,
        ink: str = INK,
        halo: bool = False,
    ) -> None:
        """Write one line of text with its base line at (x, y), turned in degrees clockwise."""
        turned = f' transform="rotate({turn:.2f} {x:.2f} {y:.2f})"' if turn else ""
        around = f' stroke="{PAPER}" stroke-width="{size_mm * 0.3:.2f}" paint-order="stroke"' if halo else ""
        words = _NO_SIGN.sub("", words)
        # A browser that shows the sheet as a picture has not our font: it fits its own into our width.
        wide = text_width(words, size_mm, bold=bold)
        fitted = f' textLength="{wide:.2f}" lengthAdjust="spacingAndGlyphs"' if words.strip() else ""
        self._marks.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-family="{FONT}" font-size="{size_mm:g}" '
            f'font-weight="{600 if bold else 400}" text-anchor="{anchor}" fill="{ink}"'
            f"{fitted}{around}{turned}>{escape(words)}</text>"
        )

    def picture(self, x: float, y: float, width_mm: float, height_mm: float, data: bytes, kind: str) -> None:
        """Put a photo (``png`` or ``jpeg``) into a box, whole and in its middle."""
        told = base64.b64encode(data).decode("ascii")
        self._marks.append(
            f'<image x="{x:.2f}" y="{y:.2f}" width="{width_mm:.2f}" height="{height_mm:.2f}" '
            f'preserveAspectRatio="xMidYMid meet" href="data:image/{kind};base64,{told}"/>'
        )

    def label(
        self,
        x: float,
        y: float,
        words: str,
        size_mm: float = 2.0,
        *,
        turn: float = 0.0,
        ink: str = INK,
        blank: bool = False,
    ) -> bool:
        """Write a label centred at (x, y) if no earlier label is in its way; tell whether it was.

        Blank paper under it keeps a hatch from running through the words.
        """
        box = _label_box(x, y, words, size_mm, turn)
        beyond = box[0] < 0 or box[1] < 0 or box[2] > self.width_mm or box[3] > self.height_mm
        if beyond or any(_overlap(box, other) for other in self._taken):
            return False
        self._taken.append(box)
        if blank:
            self.area([np.array([box[:2], [box[2], box[1]], box[2:], [box[0], box[3]]])], PAPER)
        self.text(x, y + size_mm * 0.35, words, size_mm, anchor="middle", turn=turn, ink=ink, halo=True)
        return True

    @property
    def taken(self) -> tuple[tuple[float, float, float, float], ...]:
        """Boxes that labels keep out of: left, top, right, bottom. [mm]"""
        return tuple(self._taken)

    def keep_clear(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Keep labels out of a rectangle."""
        self._taken.append((x0, y0, x1, y1))

    def sheet(self, name: str, title: str) -> Sheet:
        """Close the page."""
        body = "\n".join(self._marks)
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width_mm:g}mm" '
            f'height="{self.height_mm:g}mm" viewBox="0 0 {self.width_mm:g} {self.height_mm:g}">\n'
            f"<title>{escape(_NO_SIGN.sub('', title))}</title>\n"
            f'<rect width="{self.width_mm:g}" height="{self.height_mm:g}" fill="{PAPER}"/>\n{body}\n</svg>\n'
        )
        return Sheet(name, title, self.width_mm, self.height_mm, svg)


def _path(points: Points, *, closed: bool) -> str:
    body = "L".join(f"{x:.3f} {y:.3f}" for x, y in points)
    return f"M{body}{'Z' if closed else ''}" if body else ""


def _stroke(mark: LineSymbol) -> str:
    dash = " ".join(f"{part * mark.width_mm:.3f}" for part in mark.dash)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'stroke="{mark.ink}" stroke-width="{mark.width_mm:g}"{dashed}'


def _hatch_lines(area: shapely.Geometry, spacing_mm: float) -> list[Points]:
    if area.is_empty:
        return []
    x0, y0, x1, y1 = area.bounds
    reach = y1 - y0
    # Anchored to the page, not to the area, so that neighbouring areas share one hatch.
    first = np.floor((x0 + y0) / (spacing_mm * np.sqrt(2))) * spacing_mm * np.sqrt(2)
    sums = np.arange(first, x1 + y1, spacing_mm * np.sqrt(2))
    lines = shapely.linestrings([[[s - y0 - reach, y0 + reach], [s - y0, y0]] for s in sums])
    cut = shapely.intersection(shapely.multilinestrings(lines), area)
    return [shapely.get_coordinates(part) for part in shapely.get_parts(cut) if part.length > 0.2]


def _dot_net(area: shapely.Geometry, spacing_mm: float) -> Points:
    if area.is_empty:
        return np.empty((0, 2))
    x0, y0, x1, y1 = area.bounds
    rows = np.arange(np.floor(y0 / spacing_mm), np.ceil(y1 / spacing_mm) + 1)
    columns = np.arange(np.floor(x0 / spacing_mm), np.ceil(x1 / spacing_mm) + 1)
    row, column = np.meshgrid(rows, columns, indexing="ij")
    net = np.column_stack([((column + 0.5 * (row % 2)) * spacing_mm).ravel(), (row * spacing_mm).ravel()])
    shapely.prepare(area)
    return net[shapely.contains_xy(area, net)]


def _label_box(
    x: float, y: float, words: str, size_mm: float, turn: float
) -> tuple[float, float, float, float]:
    half_width, half_height = text_width(words, size_mm) / 2, size_mm * 0.55
    c, s = abs(np.cos(np.radians(turn))), abs(np.sin(np.radians(turn)))
    reach_x, reach_y = c * half_width + s * half_height, s * half_width + c * half_height
    return (x - reach_x, y - reach_y, x + reach_x, y + reach_y)


def _overlap(one: Sequence[float], other: Sequence[float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
