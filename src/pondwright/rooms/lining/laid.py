"""Pieces as they lie on the plan: strips that end at an island, seams, and the edge of the liner.

A strip is a rectangle, and where nothing of the liner lies over its whole width, over an island that is
wider than the strip or between two arms of the water, it may be cut in two: that saves liner and costs no
seam.

See Also
--------
pondwright.rooms.lining.panels : the sizes, by tapes over the ground.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, sin

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Angle, Area, Length, Lengths
from pondwright.geometry.contour import contours
from pondwright.rooms.lining.area import LinerGround
from pondwright.rooms.lining.panels import MOST_PLACES, Lattice, PanelPlan, Sheet, Strip, lattice_of

LEAST_GAP: Length = 1.0
"""A strip is cut in two only where nothing of it is needed for this length: common practice. [m]"""


@dataclass(frozen=True, slots=True)
class CutStrip(Strip):
    """A strip of a plan, or of a flat piece that is proved, or a part of one.

    Attributes
    ----------
    strip, part : int        Which strip from one side, and which part along it; both from 0.
    """

    strip: int
    part: int

    @property
    def area(self) -> Area:
        """Area that is cut. [m²]"""
        return self.length * self.width


@dataclass(frozen=True, slots=True, eq=False)
class LaidPiece(CutStrip):
    """A piece as it is cut and as it lies.

    Attributes
    ----------
    corners : (4, 2) array     On the plan as it lies: over a slope it is longer than it looks. [m]
    """

    corners: Lengths


@dataclass(frozen=True, slots=True, eq=False)
class Seam:
    """A seam between two strips.

    Attributes
    ----------
    line : (2, 2) array     On the plan. [m]
    length : Length         Over the ground. [m]
    """

    line: Lengths
    length: Length


def laid_sheet(ground: LinerGround, beyond: Length, sheet: Sheet) -> LaidPiece:
    """A sheet in one piece as it lies on the plan.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length       How far beyond the shore it reaches, on the plan. [m]
    sheet : Sheet

    Returns
    -------
    LaidPiece

    References
    ----------
    .. [1] Derived: the smallest rectangle of its direction round the liner's edge.
    """
    lattice = lattice_of(ground, beyond, sheet.turned, MOST_PLACES)
    rows = np.flatnonzero(lattice.of_rows[:, 0] >= 0)
    ends = lattice.of_rows[rows]
    piece = _piece(lattice, rows, (int(ends[:, 0].min()), int(ends[:, 1].max())))
    middle = 0.5 * (piece.start + piece.end)
    half = 0.5 * sheet.length
    strip = Strip(middle - half, middle + half, *_sides(lattice, rows), sheet.width)
    return _placed((0, 0), strip, piece, sheet.turned, ground)


def laid_strips(
    ground: LinerGround, beyond: Length, plan: PanelPlan, least_gap: Length = LEAST_GAP
) -> tuple[LaidPiece, ...]:
    """Strips as they lie on the plan, each cut in parts where nothing of it is needed.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length          How far beyond the shore the liner reaches, on the plan. [m]
    plan : PanelPlan         Its strips.
    least_gap : Length       No strip is cut where a gap is shorter than this, on the plan. [m], > 0

    Returns
    -------
    tuple of LaidPiece       Strip by strip; together never longer than the strips in one.

    References
    ----------
    .. [1] Derived: union of the lines that a strip covers.
    """
    lattice = lattice_of(ground, beyond, plan.turned, MOST_PLACES)
    half = 0.5 * (lattice.inside.shape[0] - 1)
    pieces: list[LaidPiece] = []
    for number, strip in enumerate(plan.strips):
        first, last = (round(side / lattice.spacing + half) for side in _inner(strip, lattice.spacing))
        rows = np.arange(first, last + 1)
        rows = rows[lattice.of_rows[rows, 0] >= 0]
        runs = _runs(lattice.inside[rows].any(axis=0), least_gap / lattice.spacing)
        parts = [_piece(lattice, rows, run) for run in runs]
        if sum(part.end - part.start for part in parts) > strip.length:
            parts = [_piece(lattice, rows, (runs[0][0], runs[-1][1]))]
        for place, part in enumerate(parts):
            # The edge of the liner may lie as far as one place beyond the outermost lines.
            left = strip.left - (0.5 * lattice.spacing if number == 0 else 0.0)
            right = strip.right + (0.5 * lattice.spacing if number == len(plan.strips) - 1 else 0.0)
            own = Strip(part.start, part.end, left, right, strip.width)
            pieces.append(_placed((number, place), own, part, plan.turned, ground))
    return tuple(pieces)


def seams_of(pieces: Sequence[LaidPiece], turned: Angle, ground: LinerGround) -> tuple[Seam, ...]:
    """Seams between the strips that lie side by side.

    Parameters
    ----------
    pieces : LaidPiece       Strip by strip.
    turned : Angle           Direction of the strips, anticlockwise from east. [rad]
    ground : LinerGround     On whose grid they lie.

    Returns
    -------
    tuple of Seam

    References
    ----------
    .. [1] Derived: two parts meet where both lie, over the ground.
    """
    strips = [[one for one in pieces if one.strip == number] for number in range(pieces[-1].strip + 1)]
    found = []
    for before, after in pairwise(strips):
        for one in before:
            for other in after:
                length = min(one.end, other.end) - max(one.start, other.start)
                low, high = (_along(piece, turned, ground) for piece in (one, other))
                start, end = max(low[0], high[0]), min(low[1], high[1])
                if length > 0.0 and end > start:
                    across = 0.5 * (one.right + other.left)
                    line = _on_plan(np.array([[start, across], [end, across]]), turned, ground)
                    found.append(Seam(line, length))
    return tuple(found)


def edge_lines(ground: LinerGround, beyond: Length) -> tuple[Lengths, ...]:
    """The edge of a liner on the plan, outside and round islands.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length                How far beyond the shore the liner reaches, on the plan. [m]

    Returns
    -------
    tuple of (n, 2) arrays         Closed lines. [m]

    References
    ----------
    .. [1] Derived: contour of the distance to the shore.
    """
    lines = dict(contours(ground.distance, ground.grid, np.array([-beyond])))
    return tuple(line for each in lines.values() for line in each)


@dataclass(frozen=True, slots=True)
class _Part:
    """Ends of a part over the ground, from the middle column, and on the plan from the middle. [m]"""

    start: Length
    end: Length
    low: Length
    high: Length


def _inner(strip: Strip, spacing: Length) -> tuple[Length, Length]:
    """Across places of the first and the last line of a strip."""
    return strip.left + 0.5 * spacing, strip.right - 0.5 * spacing


def _sides(lattice: Lattice, rows: NDArray[np.intp]) -> tuple[Length, Length]:
    """Where the sides of a piece over lines lie across, one place beyond them, from the middle."""
    half = 0.5 * (lattice.inside.shape[0] - 1)
    return (rows[0] - half - 1.0) * lattice.spacing, (rows[-1] - half + 1.0) * lattice.spacing


def _runs(covered: NDArray[np.bool_], least_gap: float) -> list[tuple[int, int]]:
    """First and last place of each run of places, gaps shorter than the least counted in."""
    places = np.flatnonzero(covered)
    # Each part reaches one place farther at both ends of a gap.
    breaks = np.flatnonzero(np.diff(places) - 2 >= least_gap)
    starts, ends = places[np.append(0, breaks + 1)], places[np.append(breaks, len(places) - 1)]
    return [(int(start), int(end)) for start, end in zip(starts, ends, strict=True)]


def _piece(lattice: Lattice, rows: NDArray[np.intp], run: tuple[int, int]) -> _Part:
    """Part of lines between two places, as long as from the least to the greatest end of all lines."""
    first, last = run
    middle = lattice.inside.shape[1] // 2
    half, spacing = 0.5 * (lattice.inside.shape[1] - 1), lattice.spacing
    own = lattice.inside[rows, first : last + 1].astype(bool)
    rows, own = rows[own.any(axis=1)], own[own.any(axis=1)]
    starts = first + own.argmax(axis=1)
    ends = last - own[:, ::-1].argmax(axis=1)
    base = lattice.along[rows, middle]
    return _Part(
        float((lattice.along[rows, starts] - base).min()) - spacing,
        float((lattice.along[rows, ends] - base).max()) + spacing,
        (first - half - 1.0) * spacing,
        (last - half + 1.0) * spacing,
    )


def _placed(
    place: tuple[int, int], strip: Strip, part: _Part, turned: Angle, ground: LinerGround
) -> LaidPiece:
    low, high, left, right = part.low, part.high, strip.left, strip.right
    corners = _on_plan(np.array([[low, left], [high, left], [high, right], [low, right]]), turned, ground)
    return LaidPiece(strip.start, strip.end, left, right, strip.width, *place, corners)


def _on_plan(places: Lengths, turned: Angle, ground: LinerGround) -> Lengths:
    """East and north of places along and across a direction from the middle of the grid."""
    west, south, east, north = ground.grid.extent
    along = np.array([cos(turned), sin(turned)])
    across = np.array([-along[1], along[0]])
    middle = 0.5 * np.array([west + east, south + north])
    return np.asarray(middle + places[:, :1] * along + places[:, 1:] * across)


def _along(piece: LaidPiece, turned: Angle, ground: LinerGround) -> tuple[Length, Length]:
    """Ends of a piece along its direction on the plan, from the middle of the grid."""
    west, south, east, north = ground.grid.extent
    own = (piece.corners[:2] - 0.5 * np.array([west + east, south + north])) @ [cos(turned), sin(turned)]
    return float(own[0]), float(own[1])
