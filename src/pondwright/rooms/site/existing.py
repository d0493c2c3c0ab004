"""What the existing ground says about a ring drawn on it: its low rim, and what the hollow holds.

The low rim is the first number of the job: the highest water that the ground carries without a
berm.  The hollow's own storage is what an old pond holds up to its own lip.

See Also
--------
pondwright.rooms.site.ground : the surface that is read here.
pondwright.rooms.site.old_hole : the hollow that is found without a ring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Elevation, Elevations, Length, Lengths, Ratio, Volume
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.flood import basin
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import resampled
from pondwright.geometry.surface import surface_at
from pondwright.geometry.volume import volume_below
from pondwright.rooms.site.old_hole import LEAST_HOLLOW

_SAMPLES_PER_CELL = 2


@dataclass(frozen=True, slots=True)
class LowRim:
    """The lowest ground on a ring, and where it is."""

    elevation: Elevation
    east: Length
    north: Length


@dataclass(frozen=True, slots=True)
class Hollow:
    """What a hollow in the ground holds up to its own lip, and where it would run over."""

    lip: Elevation
    lip_east: Length
    lip_north: Length
    floor: Elevation
    volume: Volume
    area: Area


def low_rim(z: Elevations, grid: Grid, ring: Lengths) -> LowRim:
    """Lowest existing ground on a ring.

    Parameters
    ----------
    z : (rows, columns) array     The ground. [m]
    grid : Grid                   Where its nodes are.
    ring : (n, 2) array           East and north of the ring. [m]

    Returns
    -------
    LowRim                        Elevation and place. [m]

    Notes
    -----
    The ring is walked in steps of half a grid spacing, on the triangles of the surface.

    References
    ----------
    .. [1] Derived: least value along the ring.
    """
    walked = resampled(ring, grid.spacing / _SAMPLES_PER_CELL)
    heights = surface_at(z, grid, walked)
    lowest = int(np.argmin(heights))
    east, north = walked[lowest]
    return LowRim(float(heights[lowest]), float(east), float(north))


def hollow(z: Elevations, grid: Grid, ring: Lengths) -> Hollow:
    """What the ground inside a ring holds up to its own lip.

    Parameters
    ----------
    z : (rows, columns) array     The ground. [m]
    grid : Grid                   Where its nodes are.
    ring : (n, 2) array           East and north of the ring. [m]

    Returns
    -------
    Hollow                        No volume where the ground has no hollow there.

    Raises
    ------
    DomainError                   If the ring lies between the nodes.

    Notes
    -----
    The water rises from the lowest ground inside the ring and stops where it would run down; the water
    counted is the connected water behind that lip, also where it reaches past the ring.  A second dip
    more than 0.3 m deep counts as the way out, so that the lip is told too low rather than too high; and
    a hollow that is not as deep as that is none.

    References
    ----------
    .. [1] Derived: priority flood and piecewise linear volume.
    """
    heights = np.where(signed_distance(grid, [ring]) > 0.0, z, np.inf)
    floor = float(heights.min())
    if not np.isfinite(floor):
        raise DomainError("`outline` must be larger than a cell of the grid, got none of its nodes inside")
    found = basin(z, heights == floor, grid, hollow=LEAST_HOLLOW)
    if found.lip - floor < LEAST_HOLLOW:
        return Hollow(floor, *_node_place(grid, heights == floor), floor, 0.0, 0.0)
    volume, area = volume_below(z, found.lip, grid, found.mask)
    lip_east, lip_north = found.lip_point
    return Hollow(found.lip, lip_east, lip_north, floor, volume, area)


def _node_place(grid: Grid, chosen: NDArray[np.bool_]) -> tuple[Length, Length]:
    row, column = np.argwhere(chosen)[0]
    return float(grid.east[column]), float(grid.north[row])


def guessed_share(known: NDArray[np.int8], guessed: int, grid: Grid, ring: Lengths) -> Ratio:
    """Share of the ground inside a ring that no shot tells.

    Parameters
    ----------
    known : (rows, columns) int array     How each node is known.
    guessed : int                         The mark of guessed nodes.
    grid : Grid                           Where its nodes are.
    ring : (n, 2) array                   East and north of the ring. [m]

    Returns
    -------
    Ratio                                 Between 0 and 1. [-]

    Notes
    -----
    Each cell counts with the exact area of the ring in it, times the share of its four nodes that are
    guessed.

    References
    ----------
    .. [1] Derived: ratio of areas.
    """
    covered = ring_coverage(grid, [ring])
    guess = (known == guessed).astype(np.float64)
    by_cell = 0.25 * (guess[:-1, :-1] + guess[1:, :-1] + guess[:-1, 1:] + guess[1:, 1:])
    whole = float(covered.sum())
    return 0.0 if whole == 0.0 else float((covered * by_cell).sum()) / whole


def beyond_survey(known: NDArray[np.int8], guessed: int, grid: Grid, ring: Lengths) -> Lengths:
    """Places on a ring that lie beyond the survey, one a step of half a grid spacing.

    Parameters
    ----------
    known : (rows, columns) int array     How each node is known.
    guessed : int                         The mark of guessed nodes.
    grid : Grid                           Where its nodes are.
    ring : (n, 2) array                   East and north of the ring. [m]

    Returns
    -------
    (k, 2) array                          Places off the grid or nearest to a guessed node. [m]

    References
    ----------
    .. [1] Derived: nearest node.
    """
    walked = resampled(ring, grid.spacing / _SAMPLES_PER_CELL)
    column = np.rint((walked[:, 0] - grid.origin_east) / grid.spacing).astype(int)
    row = np.rint((walked[:, 1] - grid.origin_north) / grid.spacing).astype(int)
    off = (column < 0) | (column >= grid.columns) | (row < 0) | (row >= grid.rows)
    beyond = off.copy()
    beyond[~off] = known[row[~off], column[~off]] == guessed
    return walked[beyond]


def fits(grid: Grid, ring: Lengths) -> bool:
    """Whether a ring lies inside a grid, a cell off its edge at least.

    Parameters
    ----------
    grid : Grid             Where its nodes are.
    ring : (n, 2) array     East and north of the ring. [m]

    Returns
    -------
    bool

    References
    ----------
    .. [1] Derived: bounds.
    """
    west, south, east, north = grid.extent
    inside = (ring >= np.array([west, south]) + grid.spacing) & (
        ring <= np.array([east, north]) - grid.spacing
    )
    return bool(inside.all())
