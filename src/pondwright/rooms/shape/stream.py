"""A stream along a line: its banks, its reaches between falls, and the sills that hold them.

A stream is told by its middle line, downstream, a width at each peg, and falls at stations along it.
Between two falls the water of a reach stands level behind the sill at its lower end; each fall drops the
level of all that follows.  The shape's surfaces are told relative to one level, so a reach is that
surface with its own drop taken off, node by node.

See Also
--------
pondwright.rooms.shape.grading : the surfaces that are lowered here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Lengths, Ratios
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.station import nearest_station

SILL_LENGTH: Length = 0.3
"""Length along the stream over which its bed rises to a sill. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class Corridor:
    """A stream's banks and its middle line.

    Attributes
    ----------
    ring : (2 m, 2) array      Left bank downstream, then right bank back. [m]
    line : (m, 2) array        Middle line, downstream. [m]
    station : (m,) array       Length along the line. [m]
    half : (m,) array          Half of the width. [m]
    """

    ring: Lengths
    line: Lengths
    station: Lengths
    half: Lengths

    @property
    def length(self) -> Length:
        """Length of the middle line. [m]"""
        return float(self.station[-1])


def corridor(line: Lengths, widths: Lengths) -> Corridor:
    """Banks of a stream, square off its middle line.

    Parameters
    ----------
    line : (m, 2) array      Middle line, downstream. [m]
    widths : (m,) array      Width at each of its points. [m], > 0

    Returns
    -------
    Corridor                 Arrays are read-only.

    Raises
    ------
    DomainError              If there are fewer than two points, or a width is not above 0.

    Examples
    --------
    >>> straight = corridor(np.array([[0.0, 0.0], [4.0, 0.0]]), np.array([1.0, 2.0]))
    >>> straight.ring.tolist(), straight.length
    ([[0.0, 0.5], [4.0, 1.0], [4.0, -1.0], [0.0, -0.5]], 4.0)

    hand

    References
    ----------
    .. [1] Derived: offsets along the normals of the line.
    """
    if len(line) < 2:
        raise DomainError(f"`line` must have at least 2 points, got {len(line)}")
    if not np.all(widths > 0.0):
        raise DomainError(f"`widths` must be above 0 m, got {float(np.min(widths)):g} m")
    steps = np.diff(line, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    along = np.gradient(line, axis=0) if len(line) > 2 else np.repeat(steps, 2, axis=0)
    along = along / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)[:, None]
    half = 0.5 * np.asarray(widths, dtype=np.float64)
    left = np.column_stack([-along[:, 1], along[:, 0]]) * half[:, None]
    arrays = (
        np.vstack([line + left, (line - left)[::-1]]),
        np.array(line, dtype=np.float64),
        np.concatenate([[0.0], np.cumsum(lengths)]),
        half,
    )
    for array in arrays:
        array.flags.writeable = False
    return Corridor(*arrays)


@dataclass(frozen=True, slots=True, eq=False)
class Reaches:
    """Reaches between the falls of a stream, from its upper end down.

    Attributes
    ----------
    starts, ends : (k,) arrays     Stations of each reach. [m]
    drops : (k,) array             How far its water stands below that of the first. [m], >= 0
    """

    starts: Lengths
    ends: Lengths
    drops: Lengths

    def reach_at(self, station: Lengths) -> NDArray[np.intp]:
        """Number of the reach at stations; a fall belongs to the reach below it.

        Parameters
        ----------
        station : (...) array     [m]

        Returns
        -------
        (...) int array
        """
        return np.clip(np.searchsorted(self.starts, station, side="right") - 1, 0, len(self.starts) - 1)


def reaches(length: Length, falls: Sequence[tuple[Length, Length]]) -> Reaches:
    """Reaches of a stream.

    Parameters
    ----------
    length : Length          Of the stream. [m], > 0
    falls : pairs of Length  Station and drop of each fall. [m], [m]

    Returns
    -------
    Reaches

    Raises
    ------
    DomainError              If a fall lies off the stream, or two lie at one station.

    Examples
    --------
    >>> found = reaches(14.0, [(5.0, 0.66), (9.0, 0.46)])
    >>> found.starts.tolist(), found.ends.tolist(), found.drops.round(2).tolist()
    ([0.0, 5.0, 9.0], [5.0, 9.0, 14.0], [0.0, 0.66, 1.12])

    hand

    References
    ----------
    .. [1] Derived: running sum of the drops.
    """
    ordered = sorted(falls)
    stations = [station for station, _ in ordered]
    for station in stations:
        if not 0.0 < station < length:
            raise DomainError(f"`steps` must lie on the stream, 0 to {length:.2f} m, got {station:.2f} m")
    if len(set(stations)) < len(stations):
        raise DomainError("`steps` must each have a station of their own, got two at one")
    drops = np.concatenate([[0.0], np.cumsum([drop for _, drop in ordered])])
    return Reaches(np.array([0.0, *stations]), np.array([*stations, length]), drops)


def node_stations(grid: Grid, line: Lengths, window: tuple[int, int, int, int]) -> Lengths:
    """Station of the point of a stream's line that is nearest to each node.

    Parameters
    ----------
    grid : Grid                     Where the nodes are.
    line : (m, 2) array             Middle line. [m]
    window : (int, int, int, int)   First and end row, first and end column of the nodes for which it is
                                    worked out; a node beyond takes that of the nearest one in it.

    Returns
    -------
    (rows, columns) array           [m]

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=5, rows=3)
    >>> node_stations(grid, np.array([[1.0, 1.0], [3.0, 1.0]]), (0, 3, 0, 5))[0].tolist()
    [0.0, 0.0, 1.0, 2.0, 2.0]

    hand

    References
    ----------
    .. [1] Derived: nearest point of each piece.
    """
    first_row, end_row, first_column, end_column = window
    inside = np.empty((end_row - first_row, end_column - first_column))
    east = grid.origin_east + first_column * grid.spacing
    north = grid.origin_north + first_row * grid.spacing
    nearest_station(np.ascontiguousarray(line), east, north, grid.spacing, inside)
    rows = np.clip(np.arange(grid.rows), first_row, end_row - 1) - first_row
    columns = np.clip(np.arange(grid.columns), first_column, end_column - 1) - first_column
    return inside[np.ix_(rows, columns)]


def bed_share(station: Lengths, parts: Reaches, spacing: Length) -> Ratios:
    """How much of the bank's depth the bed has, so that each reach ends behind a sill.

    Parameters
    ----------
    station : (...) array     [m]
    parts : Reaches
    spacing : Length          Of the grid: the sill is level over one and a half cells of it. [m], > 0

    Returns
    -------
    (...) array               0 on a sill, 1 where the bed is free. [-]

    Examples
    --------
    >>> bed_share(np.array([0.0, 4.6, 4.9, 5.1]), reaches(10.0, [(5.0, 0.4)]), 0.1).round(2).tolist()
    [1.0, 0.83, 0.0, 1.0]

    hand

    References
    ----------
    .. [1] Derived: a ramp to the end of each reach; its length is common practice, no source.
    """
    left = parts.ends[parts.reach_at(station)] - station
    return np.clip((left - 1.5 * spacing) / SILL_LENGTH, 0.0, 1.0)
