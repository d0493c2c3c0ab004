"""Lengths over the ground along a line, to be taped in the hole before the liner is ordered.

See Also
--------
pondwright.rooms.lining.area : the ground, its risers split off.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Length, Lengths
from pondwright.geometry.polygon import points_inside
from pondwright.geometry.surface import surface_at
from pondwright.rooms.lining.area import LinerGround

FINE: int = 4
"""Looks at the ground in one spacing of its nodes."""

LINES: int = 39
"""Lines side by side of which the longest is taken."""

Verdict = Literal["not_taped", "as_drawn", "longer", "tight", "short", "much_shorter"]


def length_over_ground(ground: LinerGround, line: Lengths) -> Length:
    """Length of a tape that lies on the ground along a line, down and up every riser.

    Parameters
    ----------
    ground : LinerGround
    line : (n, 2) array      East and north; held on the ground's part of the grid. [m]

    Returns
    -------
    Length                   [m]

    Raises
    ------
    DomainError              If the line has fewer than two points.

    Notes
    -----
    ∫ √(1 + r'²) ds + Σ |Δs|, with r the smooth ground and s the risers that were split off it.

    Examples
    --------
    >>> from pondwright.geometry.grid import Grid
    >>> grid = Grid(0.0, 0.0, 1.0, 6, 2)
    >>> riser = np.tile([0.0, 0.0, 0.3, 0.3, 0.3, 0.3], (2, 1))
    >>> ground = LinerGround(grid, np.zeros((2, 6)), riser, np.ones((2, 6)))
    >>> round(length_over_ground(ground, np.array([[0.0, 0.5], [5.0, 0.5]])), 6)
    5.3

    hand

    References
    ----------
    .. [1] Derived: length of a curve on a surface.
    """
    if len(line) < 2:
        raise DomainError(f"`line` must have two points or more, got {len(line)}")
    grid = ground.grid
    west, south, east, north = grid.extent
    steps = np.hypot(*np.diff(line, axis=0).T)
    station = np.concatenate([[0.0], np.cumsum(steps)])
    count = max(2, int(np.ceil(station[-1] / grid.spacing)) * FINE + 1)
    at = np.union1d(station, np.linspace(0.0, station[-1], count))
    places = np.column_stack([np.interp(at, station, line[:, axis]) for axis in (0, 1)])
    held = np.clip(places, (west, south), (east, north))
    rest = surface_at(ground.rest, grid, held)
    drops = surface_at(ground.steps, grid, held)
    smooth = np.hypot(np.diff(at), np.diff(rest)).sum()
    return float(smooth + np.abs(np.diff(drops)).sum())


def longest_line(ring: Lengths, turned: Angle, beyond: Length) -> Lengths:
    """Longest line in one direction from edge to edge of a liner.

    Parameters
    ----------
    ring : (n, 2) array     The outer shore. [m]
    turned : Angle          Direction, anticlockwise from east. [rad]
    beyond : Length         How far it goes on beyond the shore at both ends. [m], >= 0

    Returns
    -------
    (2, 2) array            It goes on over islands and over land between. [m]

    Raises
    ------
    DomainError             If the distance is below 0.

    Examples
    --------
    >>> shore = np.array([[0.0, 0.0], [8.0, 0.0], [9.0, 2.0], [8.0, 4.0], [0.0, 4.0]])
    >>> longest_line(shore, 0.0, 0.5).round(6).tolist()
    [[-0.5, 2.0], [9.5, 2.0]]

    hand

    References
    ----------
    .. [1] Derived: plane geometry; the longest of 39 lines side by side.
    """
    if beyond < 0.0:
        raise DomainError(f"`beyond` must not be below 0 m, got {beyond} m")
    along = np.array([np.cos(turned), np.sin(turned)])
    across = np.array([-along[1], along[0]])
    station, off = ring @ along, ring @ across
    best = np.array([station.min(), station.max(), 0.5 * (off.min() + off.max())])
    longest = 0.0
    for level in off.min() + (off.max() - off.min()) * np.arange(1, LINES + 1) / (LINES + 1):
        ends = _crossings(station, off, level)
        if len(ends) and np.ptp(ends) > longest + 1e-9:
            longest = float(np.ptp(ends))
            best = np.array([ends.min(), ends.max(), level])
    start, end, level = best
    return np.array([(start - beyond) * along, (end + beyond) * along]) + level * across


def verdict(predicted: Length, taped: Length | None, margin: Length, folds: Length, exact: Length) -> Verdict:
    """What a taped length means for the liner.

    Parameters
    ----------
    predicted : Length         As drawn. [m]
    taped : Length or None     None is not taped yet. [m]
    margin : Length            That the order has for it. [m], >= 0
    folds : Length             That the order has for folds. [m], >= 0
    exact : Length             Within which a tape agrees. [m], >= 0

    Returns
    -------
    str                        `not_taped`, `as_drawn`, `longer` within the margin, `tight`: it takes what
                               folds were to have, `short`: more than that, so that the liner does not
                               reach, or `much_shorter` than drawn: the dig is not done.

    Raises
    ------
    DomainError                If what the order has is below 0.

    Examples
    --------
    >>> [verdict(24.5, taped, 0.3, 0.5, 0.05) for taped in (None, 24.52, 24.7, 24.9, 25.4, 24.1)]
    ['not_taped', 'as_drawn', 'longer', 'tight', 'short', 'much_shorter']

    hand

    References
    ----------
    .. [1] Derived: comparison.
    """
    if min(margin, folds, exact) < 0.0:
        raise DomainError(f"what the order has must not be below 0 m, got {margin} m, {folds} m, {exact} m")
    if taped is None:
        return "not_taped"
    longer = taped - predicted
    kept = max(margin, exact)
    if longer < -kept:
        return "much_shorter"
    if longer <= exact:
        return "as_drawn"
    return "longer" if longer <= kept else "tight" if longer <= kept + folds else "short"


def lies_on(ring: Lengths, line: Lengths) -> bool:
    """Whether the middle of a line lies within a shore.

    Parameters
    ----------
    ring : (n, 2) array     [m]
    line : (k, 2) array     [m]

    Returns
    -------
    bool

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [8.0, 0.0], [8.0, 4.0], [0.0, 4.0]])
    >>> lies_on(square, np.array([[-1.0, 2.0], [9.0, 2.0]])), lies_on(square, np.array([[9.0, 0], [12, 0]]))
    (True, False)

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    steps = np.hypot(*np.diff(line, axis=0).T)
    station = np.concatenate([[0.0], np.cumsum(steps)])
    half = 0.5 * station[-1]
    middle = np.array([[np.interp(half, station, line[:, axis]) for axis in (0, 1)]])
    return bool(points_inside([ring], middle)[0])


def _crossings(station: Lengths, off: Lengths, level: Length) -> Lengths:
    """Stations at which a closed ring crosses a line along."""
    after_station, after = np.roll(station, -1), np.roll(off, -1)
    cut = (off < level) != (after < level)
    share = (level - off[cut]) / (after[cut] - off[cut])
    return np.asarray(station[cut] + share * (after_station[cut] - station[cut]))
