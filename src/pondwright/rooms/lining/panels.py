"""Sizes of pieces: one sheet or strips from rolls, over all directions in which they may lie.

Live in the drag.  The lengths are those of a tape over the ground along rows and columns that lie in the
direction of the sheet (*row arcs*).  Where the ground slopes in both directions at once a tape along rows is
no proof that the sheet covers; that is what :mod:`pondwright.rooms.lining.cover` is for.

The area has jumps where the number of strips changes, so directions and offsets are tried one by one: all of
them coarsely, the best few closely.

See Also
--------
pondwright.rooms.lining.cover : the proof.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, cos, hypot, pi, sin

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Area, FloatArray, Length, Lengths
from pondwright.geometry.kernels import arcs as kernels
from pondwright.rooms.lining.area import LinerGround

DIRECTIONS: int = 36
"""Directions that are tried, over half a turn."""

BESIDE: int = 2
"""Directions that are tried on each side of the last one in a drag."""

OFFSETS: int = 8
"""Places of the first seam that are tried in each direction."""

COARSE_PLACES: int = 100
"""Places of a line while directions are compared."""

MOST_PLACES: int = 160
"""Places of a line at most for the direction that is taken: finer ground is looked at more coarsely."""

GLANCE_PLACES: int = 64
"""Places of a line while directions beside the last one are looked at in a drag."""

WORTH: float = 0.97
"""In a drag another direction is looked at closely only if it is smaller by this. [-]"""

TAKEN: int = 3
"""Best directions of the coarse look that are looked at closely."""

MOST_STRIPS: int = 400
"""Strips of one liner at most."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet in one piece.

    Attributes
    ----------
    turned : Angle             Direction of its length, anticlockwise from east. [rad]
    length, width : Length     Over the ground in that direction and square to it. [m]
    """

    turned: Angle
    length: Length
    width: Length

    @property
    def area(self) -> Area:
        """Area of the sheet. [m²]"""
        return self.length * self.width


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip of a roll.

    Attributes
    ----------
    start, end : Length        Ends along the strip, from the line through the middle of the liner. [m]
    left, right : Length       Where its sides lie across, from the middle, on the plan. [m]
    width : Length             Of the roll that it is cut from. [m]
    """

    start: Length
    end: Length
    left: Length
    right: Length
    width: Length

    @property
    def length(self) -> Length:
        """Length that is cut off the roll. [m]"""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class PanelPlan:
    """Strips side by side.

    Attributes
    ----------
    turned : Angle         Direction of the strips, anticlockwise from east. [rad]
    first : Length         Ground across that the first strip covers at most. [m]
    strips : Strip         From one side to the other.
    seams : Length         Length of all seams. [m]
    """

    turned: Angle
    first: Length
    strips: tuple[Strip, ...]
    seams: Length

    @property
    def area(self) -> Area:
        """Area that is cut off the rolls. [m²]"""
        return sum(strip.width * strip.length for strip in self.strips)


DIRECTIONS_TRIED: tuple[Angle, ...] = tuple(pi / DIRECTIONS * index for index in range(DIRECTIONS))

QUARTER_TRIED = DIRECTIONS_TRIED[: DIRECTIONS // 2]
"""A sheet across a direction is the same sheet. [rad]"""


def best_sheet(ground: LinerGround, beyond: Length, tried: Sequence[Angle] = QUARTER_TRIED) -> Sheet:
    """Smallest sheet whose length and width are those of a tape over the ground.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length          How far beyond the shore it reaches, on the plan. [m]
    tried : Angle            Directions to try. [rad]

    Returns
    -------
    Sheet                    Longer than wide.

    Raises
    ------
    DomainError              If no place of the ground lies under the liner.

    Notes
    -----
    Length and width reach from the least to the greatest end of all lines along and across, counted over
    the ground from one line square to them, and one spacing of the lattice farther at each end.

    References
    ----------
    .. [1] Derived: developed length of sections.
    """

    def coarse(turned: Angle) -> Area:
        return _sheet(ground, beyond, turned, COARSE_PLACES).area

    sheets = [_sheet(ground, beyond, turned, MOST_PLACES) for turned in _few(tried, coarse)]
    best = min(sheets, key=lambda sheet: sheet.area)
    if best.length >= best.width:
        return best
    return Sheet(best.turned + pi / 2.0, best.width, best.length)


def best_strips(
    ground: LinerGround,
    beyond: Length,
    roll: Length,
    overlap: Length,
    tried: Sequence[Angle] = DIRECTIONS_TRIED,
    firsts: Sequence[int] = range(OFFSETS),
) -> PanelPlan:
    """Strips of one width of roll with the smallest area cut.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length          How far beyond the shore the liner reaches, on the plan. [m]
    roll : Length            Width of the roll. [m], > overlap
    overlap : Length         At each seam. [m], >= 0
    tried : Angle            Directions to try. [rad]
    firsts : int             Places of the first seam to try, of 8.

    Returns
    -------
    PanelPlan

    Raises
    ------
    DomainError              If the roll is no wider than its overlap, or no place lies under the liner.

    Notes
    -----
    A strip ends where, at any place along it, the ground across has used up the roll's width less the
    overlap.  It is as long as from the least to the greatest end of all lines that it covers.

    References
    ----------
    .. [1] Derived: developed length of sections; strips are rectangles.
    """
    if not roll > overlap >= 0.0:
        raise DomainError(f"`roll` must be wider than its overlap of {overlap} m, got {roll} m")

    def coarse(turned: Angle) -> Area:
        plans = _plans(ground, beyond, turned, roll, overlap, COARSE_PLACES, firsts)
        return min(plan.area for plan in plans)

    plans = (
        plan
        for turned in _few(tried, coarse)
        for plan in _plans(ground, beyond, turned, roll, overlap, MOST_PLACES, firsts)
    )
    return min(plans, key=lambda plan: plan.area)


def sheet_near(ground: LinerGround, beyond: Length, last: Sheet) -> Sheet:
    """Smallest sheet in a direction near the one of last time: for a frame of a drag.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length          How far beyond the shore it reaches, on the plan. [m]
    last : Sheet             Of the frame before.

    Returns
    -------
    Sheet                    Never larger than in the direction of last time.

    Notes
    -----
    Two directions on each side are looked at coarsely; one that is smaller by 0.03 is looked at closely too.

    References
    ----------
    .. [1] Derived: developed length of sections.
    """

    def coarse(turned: Angle) -> Area:
        return _sheet(ground, beyond, turned, GLANCE_PLACES).area

    tried = _worth(_beside(last.turned), coarse)
    return best_sheet(ground, beyond, tried)


def strips_near(
    ground: LinerGround, beyond: Length, roll: Length, overlap: Length, last: PanelPlan
) -> PanelPlan:
    """Strips in a direction and with a first seam near those of last time: for a frame of a drag.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length          How far beyond the shore the liner reaches, on the plan. [m]
    roll : Length            Width of the roll. [m], > overlap
    overlap : Length         At each seam. [m], >= 0
    last : PanelPlan         Of the frame before.

    Returns
    -------
    PanelPlan                Never larger than in the direction and with the first seam of last time.

    References
    ----------
    .. [1] Derived: developed length of sections; strips are rectangles.
    """
    place = round((1.0 - last.first / (roll - overlap)) * OFFSETS)
    firsts = tuple((place + step) % OFFSETS for step in (0, -1, 1))

    def coarse(turned: Angle) -> Area:
        (plan,) = _plans(ground, beyond, turned, roll, overlap, GLANCE_PLACES, firsts[:1])
        return plan.area

    tried = _worth(_beside(last.turned), coarse)
    return best_strips(ground, beyond, roll, overlap, tried, firsts)


def _worth(beside: Sequence[Angle], area: Callable[[Angle], Area]) -> Sequence[Angle]:
    """The first direction, and the best of the others if a coarse look at it finds much less."""
    areas = {turned: area(turned) for turned in beside}
    best = min(beside, key=lambda turned: areas[turned])
    return (beside[0], best) if areas[best] < WORTH * areas[beside[0]] else beside[:1]


def _beside(turned: Angle) -> tuple[Angle, ...]:
    """A direction that was tried, and then those beside it."""
    own = round(turned * DIRECTIONS / pi)
    steps = sorted(range(-BESIDE, BESIDE + 1), key=abs)
    return tuple(DIRECTIONS_TRIED[(own + step) % DIRECTIONS] for step in steps)


def _few(tried: Sequence[Angle], area: Callable[[Angle], Area]) -> Sequence[Angle]:
    """The directions with the smallest areas."""
    return tried if len(tried) <= TAKEN else sorted(tried, key=area)[:TAKEN]


@dataclass(frozen=True, slots=True, eq=False)
class Lattice:
    """Lengths over the ground on lines along and across; places outside the liner are level.

    Attributes
    ----------
    inside : (lines, places) int8 array     1 where the liner lies.
    of_rows, of_columns : (n, 2) arrays     First and last place inside; -1 where there is none.
    along, across : (lines, places) arrays  Length from the first place of each line along and across. [m]
    spacing : Length                        Between two places, on the plan. [m]
    """

    inside: NDArray[np.int8]
    of_rows: NDArray[np.int32]
    of_columns: NDArray[np.int32]
    along: Lengths
    across: Lengths
    spacing: Length


def lattice_of(ground: LinerGround, beyond: Length, turned: Angle, most: int) -> Lattice:
    """Lengths over the ground on lines that lie in a direction, through the middle of its grid.

    Parameters
    ----------
    ground : LinerGround
    beyond : Length         How far beyond the shore the liner reaches, on the plan. [m]
    turned : Angle          Direction of the lines, anticlockwise from east. [rad]
    most : int              Places of a line at most; finer ground is looked at more coarsely.

    Returns
    -------
    Lattice

    Raises
    ------
    DomainError             If no place of the ground lies under the liner.

    Notes
    -----
    The length between two places is √(s² + Δz²) and the drop of the risers between them.

    References
    ----------
    .. [1] Derived: developed length of sections.
    """
    grid = ground.grid
    reach = hypot(grid.columns - 1, grid.rows - 1)
    coarse = max(1.0, reach / most)
    places = ceil(reach / coarse) + 1
    half = 0.5 * (places - 1) * coarse
    middle_column, middle_row = 0.5 * (grid.columns - 1), 0.5 * (grid.rows - 1)
    c, s = coarse * cos(turned), coarse * sin(turned)
    steps = half / coarse
    frame = np.array(
        [
            middle_column - steps * c + steps * s,
            middle_row - steps * s - steps * c,
            *(c, s, -s, c),
            coarse * grid.spacing,
        ]
    )
    inside = np.empty((places, places), dtype=np.int8)
    along, across = np.empty((places, places)), np.empty((places, places))
    waters = np.empty((0, 0), dtype=np.int8) if ground.reach is None else ground.reach
    kernels.developed(
        ground.rest, ground.steps, ground.distance, waters, frame, -beyond, inside, along, across
    )
    if not inside.any():
        raise DomainError("`ground` must have a place under the liner, and has none")
    of_rows, of_columns = np.empty((places, 2), dtype=np.int32), np.empty((places, 2), dtype=np.int32)
    kernels.ends(inside, of_rows, of_columns)
    return Lattice(inside, of_rows, of_columns, along, across, coarse * grid.spacing)


def _sheet(ground: LinerGround, beyond: Length, turned: Angle, most: int) -> Sheet:
    lattice = lattice_of(ground, beyond, turned, most)
    return Sheet(
        turned,
        kernels.extent_along(lattice.along, lattice.of_rows) + 2.0 * lattice.spacing,
        kernels.extent_across(lattice.across, lattice.of_columns) + 2.0 * lattice.spacing,
    )


def _plans(
    ground: LinerGround,
    beyond: Length,
    turned: Angle,
    roll: Length,
    overlap: Length,
    most: int,
    firsts: Sequence[int],
) -> Iterable[PanelPlan]:
    """Panel plans of one direction, the first seam at one place after the other."""
    lattice = lattice_of(ground, beyond, turned, most)
    usable = roll - overlap
    middle = lattice.inside.shape[1] // 2
    out = np.empty((MOST_STRIPS, 4))
    for offset in firsts:
        # The outermost strip has one seam only.
        first = usable * (1.0 - offset / OFFSETS) + (0.5 * overlap if offset == 0 else 0.0)
        count = kernels.strips(
            lattice.inside,
            lattice.of_rows,
            lattice.along,
            lattice.across,
            middle,
            max(first, lattice.spacing),
            usable,
            out,
        )
        if count < 0:
            raise DomainError(f"`roll` must be wide enough for {MOST_STRIPS} strips, got {roll} m")
        yield _plan(out[:count], turned, first, lattice, roll)


def _plan(rows: FloatArray, turned: Angle, covered: Length, lattice: Lattice, roll: Length) -> PanelPlan:
    half, spacing = 0.5 * (lattice.inside.shape[0] - 1), lattice.spacing
    strips = tuple(
        Strip(
            start=float(low) - spacing,
            end=float(high) + spacing,
            left=(float(first) - half - 0.5) * spacing,
            right=(float(last) - half + 0.5) * spacing,
            width=roll,
        )
        for first, last, low, high in rows
    )
    seams = sum(max(0.0, min(a.end, b.end) - max(a.start, b.start)) for a, b in pairwise(strips))
    return PanelPlan(turned, covered, strips, seams)
