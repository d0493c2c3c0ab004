"""Words of a plan, placed when all its lines and marks are down: beside their place, or off it on a leader.

Every word that a plan must carry is told first and written last.  Of the places round its own a word takes
the one that lies on least: never on another word or on a mark, on a shore or a pipe only where nothing else
is free.  Where all near places are bad it goes farther out, and a thin leader points back.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.papers.drawing import INK, Drawing
from pondwright.papers.type_width import text_width

SMALL_MM = 2.0
LINE_HEIGHT = 1.25  # of a line of words, in type sizes
CELL_MM = 0.25  # of the net that holds what lines cost
SAME_MM = 8.0  # within which the same words are not written twice
GAP_MM = 1.2  # between a mark and its words
NEAREST_LEADER_MM = 3.0
LEADERS_MM = (5.0, 7.5, 10.0, 13.0, 17.0, 22.0, 28.0, 36.0, 46.0, 60.0)
LEADER_COSTS, EACH_MM, CROSSES = 3.0, 0.22, 0.25  # to have a leader, a millimetre of it, and what it crosses
NEAR_MM = (0.0, 0.9, 1.8)  # farther off its mark than its gap that a word without a leader may stand
SPOTS_FIRST = 2.0  # costs of a place beside, where words have places of their own to try
FARTHER_COSTS = 0.6  # each millimetre of that
SAMPLES = 64  # along a leader
HATCHED = 0.4  # rad between a leader and the lines of a hatch: one that runs with them is not seen
TURNS = 24  # directions in which a leader may leave

KEPT_OFF = frozenset({"shoreline", "fall", "frame", "slope", "drain", "drain_solid", "wall"})
"""Lines on which no word stands; only leaders cross them."""

COSTS = {
    "dig": 0.0,
    "waterlining": 0.15,
    "existing_contour": 0.2,
    "survey_limit": 0.3,
    "breakline": 0.3,
    "existing_index": 0.5,
    "thin": 0.5,
    "design_contour": 0.6,
    "design_index": 1.0,
    "overflow": 12.0,
    **dict.fromkeys(KEPT_OFF, 12.0),
}
"""What it costs to cross a millimetre of a line; of a line that is not named here `OTHER`."""

OTHER = 2.0

Points = NDArray[np.float64]
Boxes = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Wish:
    """Words that wait for a place.

    Attributes
    ----------
    x, y : float           What they tell of, on paper. [mm]
    words : tuple of str   Lines, one under another.
    rank : int             The lower are placed first.
    gap_mm : float         Of their mark: so far off the words begin.
    reach_mm : float       Farthest that a leader may go; 0 is none.
    leader_costs : float   What it costs to have one.
    most : float           What their place may cost at most, without a leader.
    spots : (n, 4) array   Middles, turns [mm, degrees] and costs of the places to try before those round
                           about, or None; with no reach these are all.
    once : bool            Not written where the same words stand near by already.
    size_mm, ink, bold     How they are written.
    """

    x: float
    y: float
    words: tuple[str, ...]
    rank: int = 5
    gap_mm: float = GAP_MM
    reach_mm: float = 60.0
    leader_costs: float = LEADER_COSTS
    most: float = np.inf
    spots: Points | None = None
    once: bool = True
    size_mm: float = SMALL_MM
    ink: str = INK
    bold: bool = False

    @property
    def half(self) -> tuple[float, float]:
        """Half of the width and of the height of the words. [mm]"""
        wide = max(text_width(line, self.size_mm, bold=self.bold) for line in self.words)
        high = self.size_mm * (1.1 + LINE_HEIGHT * (len(self.words) - 1))
        return wide / 2 + 0.2, high / 2


@dataclass(frozen=True, slots=True)
class _Found:
    """A place for words: its middle and turn, its leader and how long that is, its outline, its cost."""

    middle: Points
    leader: Points
    long: float
    outline: shapely.Geometry
    cost: float


@dataclass
class Labels:
    """Words of one plan: told in any order, written by `write`.

    Attributes
    ----------
    drawing : Drawing
    room : Polygon        Part of the page in which they may stand. [mm]
    keep_off : Geometry   Parts of it in which they do not, or None.
    """

    drawing: Drawing
    room: shapely.Polygon
    keep_off: shapely.Geometry | None = None
    _wishes: list[Wish] = field(default_factory=list)

    def want(self, place: Sequence[float] | Points, *words: str, **how: object) -> None:
        """Ask for words beside a place on paper [mm]; `how` are fields of `Wish`.

        A place outside the room has no words; what is told twice of one place is written once.
        """
        x, y = (float(one) for one in place)
        told = tuple(filter(None, words))
        if not told or not shapely.intersects_xy(self.room, x, y):
            return
        wish = Wish(x, y, told, **how)  # type: ignore[arg-type]
        if not wish.once or not any(_same(other, wish) for other in self._wishes):
            self._wishes.append(wish)

    def write(self) -> list[Wish]:
        """Write all that was asked for; give back what found no place."""
        left_out = []
        net = _Net(self.drawing, self.room, self.keep_off)
        for wish in sorted(self._wishes, key=lambda one: one.rank):
            if not self._place(net, wish):
                left_out.append(wish)
        self._wishes = []
        return left_out

    def _place(self, net: _Net, wish: Wish) -> bool:
        near = self._best(net, wish, [*_spots(wish), *_near(wish)])
        if near is not None and near.cost > wish.most:
            near = None
        if near is None or near.cost > wish.leader_costs:
            led = self._best(net, wish, list(_led(wish)))
            near = min(
                (one for one in (near, led) if one is not None), key=lambda one: one.cost, default=None
            )
        if near is None:
            return False
        self._write(wish, near.middle)
        net.block(near.outline)
        if near.long > 0.0:
            self.drawing.line(near.leader, "leader")
            net.block(shapely.linestrings(near.leader))
        return True

    def _best(self, net: _Net, wish: Wish, choices: list[Choice]) -> _Found | None:
        """The cheapest of the places that are free."""
        if not choices:
            return None
        middles, leaders, costs = (np.array(one) for one in zip(*choices, strict=True))
        outlines = _outlines(middles, wish.half)
        long = np.hypot(*(leaders[:, 1] - leaders[:, 0]).T)
        led = long > 1e-6
        free = shapely.covers(self.room, outlines)
        free[free] &= ~net.blocked(outlines[free]) & ~net.on_lines(outlines[free])
        both = free & led
        free[both] &= ~net.blocked(shapely.linestrings(leaders[both]), shapely.Point(wish.x, wish.y))
        if not free.any():
            return None
        costs[free] += net.cost(middles[free], wish.half)
        both = free & led
        costs[both] += CROSSES * net.cost_along(leaders[both])
        at = int(np.argmin(np.where(free, costs, np.inf)))
        return _Found(middles[at], leaders[at], float(long[at]), outlines[at], float(costs[at]))

    def _write(self, wish: Wish, middle: Points) -> None:
        x, y, turn = (float(one) for one in middle)
        step = wish.size_mm * LINE_HEIGHT
        first = y - step * (len(wish.words) - 1) / 2
        for number, line in enumerate(wish.words):
            base = first + number * step
            # A turned line turns about its base line: its middle has to come out in its place.
            c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
            down = wish.size_mm * 0.35
            self.drawing.text(
                x - s * down,
                base + c * down,
                line,
                wish.size_mm,
                anchor="middle",
                bold=wish.bold,
                turn=turn,
                ink=wish.ink,
                halo=True,
            )
        x0, y0, x1, y1 = shapely.bounds(_outlines(middle[None, :], wish.half)[0])
        self.drawing.keep_clear(float(x0), float(y0), float(x1), float(y1))


def _same(one: Wish, other: Wish) -> bool:
    """Whether words of a place are told by others near by already."""
    near = np.hypot(one.x - other.x, one.y - other.y) < SAME_MM
    return bool(near and one.once and one.words[0].startswith(other.words[0]))


class _Net:
    """What a plan has down already: marks and words that block, and lines that cost."""

    def __init__(self, drawing: Drawing, room: shapely.Polygon, keep_off: shapely.Geometry | None) -> None:
        self._west, self._top, east, bottom = room.bounds
        shape = (int((bottom - self._top) / CELL_MM) + 2, int((east - self._west) / CELL_MM) + 2)
        self._ink = np.zeros(shape)
        for symbol, line in drawing.strokes:
            self._lay(line, COSTS.get(symbol, OTHER))
        kept = [line for symbol, line in drawing.strokes if symbol in KEPT_OFF and len(line) > 1]
        areas = [] if keep_off is None else list(shapely.get_parts(keep_off))
        self._kept_off = shapely.STRtree([*(shapely.LineString(line) for line in kept), *areas])
        self._taken: list[shapely.Geometry] = [shapely.box(*box) for box in drawing.taken]
        self._tree: shapely.STRtree | None = None

    def blocked(self, shapes: NDArray[np.object_], own: shapely.Point | None = None) -> NDArray[np.bool_]:
        """Which of some shapes lie on what is taken; a mark at their own place does not count."""
        if self._tree is None:
            self._tree = shapely.STRtree(self._taken)
        at, on = self._tree.query(shapes, predicate="intersects")
        if own is not None:
            at = at[~np.isin(on, self._tree.query(own, predicate="intersects"))]
        found = np.zeros(len(shapes), dtype=bool)
        found[at] = True
        return found

    def on_lines(self, shapes: NDArray[np.object_]) -> NDArray[np.bool_]:
        """Which of some shapes lie on a line on which no word stands."""
        found = np.zeros(len(shapes), dtype=bool)
        found[self._kept_off.query(shapes, predicate="intersects")[0]] = True
        return found

    def block(self, shape: shapely.Geometry) -> None:
        """Take a place."""
        self._taken.append(shape)
        self._tree = None

    def cost(self, middles: Points, half: tuple[float, float]) -> Points:
        """Cost of the lines under boxes, each with its middle and turn."""
        across, down = (int(2 * one / CELL_MM) + 3 for one in half)  # no line slips between two
        u, v = np.meshgrid(np.linspace(-half[0], half[0], across), np.linspace(-half[1], half[1], down))
        each = 4 * half[0] * half[1] / (across * down) / CELL_MM**2
        turns = np.radians(middles[:, 2])
        c, s = np.cos(turns)[:, None], np.sin(turns)[:, None]
        x = middles[:, :1] + c * u.ravel() - s * v.ravel()
        y = middles[:, 1:2] + s * u.ravel() + c * v.ravel()
        return np.asarray(self._at(x, y).sum(axis=1) * each)

    def cost_along(self, lines: Points) -> Points:
        """Cost of what straight lines (n, 2, 2) cross."""
        share = np.linspace(0.0, 1.0, SAMPLES)
        x, y = (lines[:, :1, axis] + share * (lines[:, 1:, axis] - lines[:, :1, axis]) for axis in (0, 1))
        each = np.hypot(*(lines[:, 1] - lines[:, 0]).T) / SAMPLES / CELL_MM
        return np.asarray(self._at(x, y).sum(axis=1) * each)

    def _lay(self, line: Points, weight: float) -> None:
        if weight == 0.0 or len(line) < 2:
            return
        steps = np.hypot(*np.diff(line, axis=0).T)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        count = max(int(along[-1] / (CELL_MM / 2)), 2)
        stations = np.linspace(0.0, along[-1], count)
        x, y = (np.interp(stations, along, line[:, axis]) for axis in (0, 1))
        row, column, inside = self._cells(x, y)
        np.add.at(self._ink, (row[inside], column[inside]), weight * along[-1] / count)

    def _at(self, x: Points, y: Points) -> Points:
        row, column, inside = self._cells(x, y)
        return np.where(inside, self._ink[row, column], 0.0)

    def _cells(self, x: Points, y: Points) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.bool_]]:
        row = np.floor((y - self._top) / CELL_MM).astype(np.intp)
        column = np.floor((x - self._west) / CELL_MM).astype(np.intp)
        rows, columns = self._ink.shape
        inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        return row.clip(0, rows - 1), column.clip(0, columns - 1), inside


Choice = tuple[tuple[float, float, float], tuple[tuple[float, float], tuple[float, float]], float]


def _spots(wish: Wish) -> Iterator[Choice]:
    for x, y, turn, cost in wish.spots if wish.spots is not None else ():
        yield (x, y, turn), ((x, y), (x, y)), cost


def _near(wish: Wish) -> Iterator[Choice]:
    """On all sides of the mark; to its right and above before the others, as people are used to."""
    if wish.spots is not None and wish.reach_mm == 0.0:
        return
    wide, high = wish.half
    aside = 0.0 if wish.spots is None else SPOTS_FIRST
    here = (wish.x, wish.y)
    for farther in NEAR_MM:
        gap = wish.gap_mm + farther
        for number, (right, down) in enumerate(SIDES):
            slant = 0.7 if right and down else 1.0
            x = wish.x + right * (wide + gap * slant)
            y = wish.y + down * (high + gap * slant)
            yield (x, y, 0.0), (here, here), aside + 0.05 * number + FARTHER_COSTS * farther


ANGLES = [
    float(angle)
    for angle in np.linspace(0.0, 2 * np.pi, TURNS, endpoint=False)
    if abs((angle + np.pi / 4 + np.pi / 2) % np.pi - np.pi / 2) > HATCHED
]
"""Directions in which a leader may leave, downward from the right."""

SIDES = ((1, 0), (0, -1), (0, 1), (-1, 0), (1, -1), (-1, -1), (1, 1), (-1, 1))


def _led(wish: Wish) -> Iterator[Choice]:
    """Farther out on leaders, which end at the middle of the nearest edge of the words."""
    wide, high = wish.half
    for long in LEADERS_MM:
        if long > wish.reach_mm:
            return
        for angle in ANGLES:
            right, down = float(np.cos(angle)), float(np.sin(angle))
            start = (wish.x + right * wish.gap_mm, wish.y + down * wish.gap_mm)
            end_x, end_y = wish.x + right * (wish.gap_mm + long), wish.y + down * (wish.gap_mm + long)
            if abs(right) > 0.3:
                x, y = end_x + np.sign(right) * (wide + 0.4), end_y
            else:
                x, y = end_x, end_y + np.sign(down) * (high + 0.2)
            yield (x, y, 0.0), (start, (end_x, end_y)), wish.leader_costs + EACH_MM * long


def _outlines(middles: Points, half: tuple[float, float]) -> NDArray[np.object_]:
    """Outlines of boxes, each with its middle and turn."""
    turns = np.radians(middles[:, 2])
    c, s = np.cos(turns)[:, None], np.sin(turns)[:, None]
    u, v = (np.array(one) * by for one, by in (((-1, 1, 1, -1), half[0]), ((-1, -1, 1, 1), half[1])))
    corners = np.stack([middles[:, :1] + c * u - s * v, middles[:, 1:2] + s * u + c * v], axis=-1)
    found: NDArray[np.object_] = shapely.polygons(corners)
    return found
