"""The old hole: the largest hollow of the surveyed ground, what it holds, and what its water marks tell.

On a first visit nobody has drawn a shore yet, and the first questions are asked already: how deep is the
old pond, where would it run over, how much does it hold, and why does it never fill.  So the hollow is
looked for in the ground itself: every low place is filled to its own lip, and the one that holds most is
the old hole.

See Also
--------
pondwright.rooms.site.existing : the hollow inside a ring that someone drew.
pondwright.geometry.flood : the lip.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Areas, Elevation, Elevations, Length, Lengths, Volume, Volumes
from pondwright.geometry.contour import areas_above
from pondwright.geometry.flood import basin, filled
from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import stage_storage, volume_below

Mask = NDArray[np.bool_]

LEAST_HOLLOW: Length = 0.3
"""A hollow that is not deeper than this is none; common practice. [m]"""

CURVE_LEVELS = 65
"""Evenly spaced levels of the storage curve, from the floor to the lip: every eighth is a table of nine."""

_MOST_CANDIDATES = 5
_HALF_WAY = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class OldHole:
    """A hollow of the ground up to its own lip.

    Attributes
    ----------
    floor, floor_point : Elevation, (east, north)   Its lowest ground. [m]
    lip, lip_point : Elevation, (east, north)       Where it would run over. [m]
    leaves_window : bool                            Whether the lip is only the edge of the grid.
    mask : (rows, columns) bool array               Nodes that belong to it.
    levels, volumes, areas : (n,) arrays            Storage from the floor to the lip. [m], [m³], [m²]
    """

    floor: Elevation
    floor_point: tuple[Length, Length]
    lip: Elevation
    lip_point: tuple[Length, Length]
    leaves_window: bool
    mask: Mask
    levels: Elevations
    volumes: Volumes
    areas: Areas

    @property
    def volume(self) -> Volume:
        """What it holds up to its lip. [m³]"""
        return float(self.volumes[-1])

    @property
    def area(self) -> Area:
        """Its water surface at the lip. [m²]"""
        return float(self.areas[-1])


@dataclass(frozen=True, slots=True)
class SeasonOrder:
    """Two seasons whose water marks stand the wrong way round, and by how much. [m]"""

    lower: str
    higher: str
    by: Length


def old_hole(z: Elevations, grid: Grid, surveyed: Mask) -> OldHole | None:
    """Largest hollow of the surveyed ground.

    Parameters
    ----------
    z : (rows, columns) array             The ground. [m]
    grid : Grid                           Where its nodes are.
    surveyed : (rows, columns) array      Nodes that shots tell; a hollow without any of them is none.

    Returns
    -------
    OldHole or None                       None where no hollow is more than 0.3 m deep.

    Raises
    ------
    DomainError                           If an array does not fit the grid.

    Notes
    -----
    Each low place is filled to the level at which its water would leave the plan.  Where that level drowns
    two bowls that are parted by a ridge in the upper half of the depth, each bowl is a hollow of its own.
    Water that would run down more than 0.3 m beyond a ridge has left: the lip is then told too low rather
    than too high.  Of all these hollows the one that holds most up to its own lip is the old hole.

    References
    ----------
    .. [1] Derived: priority flood and piecewise linear volume.
    """
    if surveyed.shape != grid.shape:
        raise DomainError(f"`surveyed` must have the grid's {grid.shape} nodes, got {surveyed.shape}")
    largest, most = None, 0.0
    for inside in _bowls(z, filled(z, grid), surveyed):
        found = basin(z, inside, grid, hollow=LEAST_HOLLOW)
        volume, _ = volume_below(z, found.lip, grid, found.mask)
        if found.lip - float(z[inside].min()) >= LEAST_HOLLOW and volume > most:
            largest, most = (found, inside), volume
    if largest is None:
        return None
    found, inside = largest
    lowest = np.where(inside, z, np.inf)
    row, column = divmod(int(np.argmin(lowest)), grid.columns)
    floor = float(z[row, column])
    levels = np.linspace(floor, found.lip, CURVE_LEVELS)
    volumes, areas = stage_storage(z, levels, grid, found.mask)
    return OldHole(
        floor=floor,
        floor_point=(float(grid.east[column]), float(grid.north[row])),
        lip=float(found.lip),
        lip_point=(float(found.lip_point[0]), float(found.lip_point[1])),
        leaves_window=found.leaves_window,
        mask=found.mask,
        levels=levels,
        volumes=volumes,
        areas=areas,
    )


def hole_storage(
    z: Elevations, grid: Grid, hole: OldHole, levels: Sequence[Elevation] | Elevations
) -> tuple[Volumes, Areas]:
    """Water that the old hole holds at each level, and its surface.

    Parameters
    ----------
    z : (rows, columns) array       The ground. [m]
    grid : Grid                     Where its nodes are.
    hole : OldHole                  From :func:`old_hole`.
    levels : (n,) array             Water levels in any order; above the lip the lip holds. [m]

    Returns
    -------
    tuple of (n,) arrays            Volume and area. [m³], [m²]

    References
    ----------
    .. [1] Derived: exact on the triangles of the ground.
    """
    wanted = np.minimum(np.asarray(levels, dtype=np.float64), hole.lip)
    volumes, areas = np.zeros(len(wanted)), np.zeros(len(wanted))
    if len(wanted):
        order = np.argsort(wanted, kind="stable")
        volumes[order], areas[order] = stage_storage(z, wanted[order], grid, hole.mask)
    return volumes, areas


def water_outline(z: Elevations, grid: Grid, hole: OldHole, level: Elevation) -> list[list[Lengths]]:
    """Outlines of the water in the old hole at a level.

    Parameters
    ----------
    z : (rows, columns) array       The ground. [m]
    grid : Grid                     Where its nodes are.
    hole : OldHole                  From :func:`old_hole`.
    level : Elevation               Above the lip the lip holds. [m]

    Returns
    -------
    list of lists of (k, 2) arrays  One entry a water surface: its outer ring, then dry ground in it. [m]

    References
    ----------
    .. [1] Derived: linear interpolation between the nodes.
    """
    stands = min(level, hole.lip)
    # Lower ground beyond the lip is dry: it is drawn as high as the lip's own bank.
    dry = ~hole.mask & (z < stands)
    return areas_above(-np.where(dry, stands + LEAST_HOLLOW, z), grid, -stands)


def seasons_out_of_order(
    elevations: Sequence[Elevation] | Elevations, seasons: Sequence[str], order: Sequence[str]
) -> tuple[SeasonOrder, ...]:
    """Seasons whose highest water mark stands above that of a wetter season.

    Parameters
    ----------
    elevations : (n,) array       Of the marks. [m]
    seasons : n str               Of the marks.
    order : str                   Seasons from the driest to the wettest.

    Returns
    -------
    tuple of SeasonOrder          Each season against the next wetter one that has a mark.

    Examples
    --------
    >>> seasons_out_of_order([28.9, 28.6], ["dry", "usual"], ["dry", "usual", "wet", "flood"])[0].lower
    'usual'

    hand

    References
    ----------
    .. [1] Derived: what the words say.
    """
    highest: dict[str, Elevation] = {}
    for season, elevation in zip(seasons, elevations, strict=True):
        highest[season] = max(float(elevation), highest.get(season, -np.inf))
    told = [season for season in order if season in highest]
    return tuple(
        SeasonOrder(wetter, drier, highest[drier] - highest[wetter])
        for drier, wetter in pairwise(told)
        if highest[drier] > highest[wetter]
    )


def _bowls(z: Elevations, water: Elevations, surveyed: Mask) -> Iterator[Mask]:
    """Low parts of the hollows that hold most: each with a bowl of its own."""
    depth = water - z
    for pool in _largest(depth > 0.0, depth):
        deepest = float(depth[pool].max())
        if deepest < LEAST_HOLLOW or not surveyed[pool].any():
            continue
        floor = float(z[pool].min())
        half = floor + _HALF_WAY * deepest
        yield from _largest(pool & (z <= half), depth)


def _largest(wet: Mask, depth: Lengths) -> Iterator[Mask]:
    """Connected parts of some nodes, those with the most water first; only a few."""
    labels, count = ndimage.label(wet)
    if count == 0:
        return
    held = ndimage.sum_labels(depth, labels, np.arange(1, count + 1))
    for part in np.argsort(-held, kind="stable")[:_MOST_CANDIDATES]:
        yield labels == part + 1
