"""The level question in full: what each water level costs in soil, rim, liner, and what it holds.

A level can be read in two ways.  While a pond is drawn, its shore stays on the plan and the bed moves with
the level.  Once it is dug, another level only fills the same hole more or less.  Both are answered here.

See Also
--------
pondwright.rooms.earth.balance : the soil of a trial level, and the level that balances.
pondwright.rooms.shape.storage : the curve of a body at the level of the job.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Areas, Elevation, Elevations, Length, Lengths, Slope, Volumes
from pondwright.geometry.flood import basin
from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import area_beyond, stage_storage, triangles_touching
from pondwright.rooms.shape.profile import Profile, Wall, depth_at
from pondwright.rooms.shape.storage import SAME_LEVEL


@dataclass(frozen=True, slots=True, eq=False)
class Filled:
    """What a hole holds at each level.

    Attributes
    ----------
    volumes, areas : (n,) arrays     At the level, or at the lip where that is lower. [m³], [m²]
    runs_over : (n,) bool array      Whether water would leave over the lip.
    lip : Elevation                  [m]
    """

    volumes: Volumes
    areas: Areas
    runs_over: NDArray[np.bool_]
    lip: Elevation


def with_row(levels: Elevations, level: Elevation | None) -> tuple[Elevations, int | None]:
    """Levels of a table with one more among them, and its row.

    Parameters
    ----------
    levels : (n,) array     Ascending. [m]
    level : Elevation       Such as the balanced one; none leaves the table as it is. [m]

    Returns
    -------
    tuple of array and int     [m]

    Examples
    --------
    >>> rows, at = with_row(np.array([99.9, 100.0, 100.1]), 100.04)
    >>> rows.tolist(), at
    ([99.9, 100.0, 100.04, 100.1], 2)

    hand

    References
    ----------
    .. [1] Convention of the table: a level within 1e-5 m of a row takes its place.
    """
    if level is None:
        return levels, None
    near = int(np.argmin(np.abs(levels - level)))
    if abs(levels[near] - level) <= SAME_LEVEL:
        rows = levels.copy()
        rows[near] = level
        return rows, near
    at = int(np.searchsorted(levels, level))
    return np.insert(levels, at, level), at


def filled(z: Elevations, within: NDArray[np.bool_], grid: Grid, levels: Elevations) -> Filled:
    """What a hole holds at each level, on its own ground up to its own lip.

    Parameters
    ----------
    z : (rows, columns) array              The finish. [m]
    within : (rows, columns) bool array    Nodes within the outer shore, islands too.
    grid : Grid                            Where the nodes are.
    levels : (n,) array                    Ascending. [m]

    Returns
    -------
    Filled

    Notes
    -----
    Exact integrals over the triangles; levels above the lip are held at it.

    References
    ----------
    .. [1] Derived: flood to the lip, then volume below a level.
    """
    own = basin(z, within, grid)
    stands = np.minimum(levels, own.lip)
    volumes, areas = stage_storage(z, stands, grid, triangles_touching(own.mask))
    return Filled(volumes, areas, levels > own.lip + SAME_LEVEL, float(own.lip))


def highest_raise(heights: Elevations, crests: Elevations) -> Lengths:
    """How far the lowest ground of the rim must be raised to each crest.

    Parameters
    ----------
    heights : (n,) array     Ground along the shore. [m]
    crests : (k,) array      Levels of the crest. [m]

    Returns
    -------
    (k,) array               [m], >= 0

    Examples
    --------
    >>> highest_raise(np.array([99.9, 100.2]), np.array([99.8, 100.4])).round(3).tolist()
    [0.0, 0.5]

    hand

    References
    ----------
    .. [1] Derived: crest less the lowest ground.
    """
    return np.maximum(crests - float(heights.min()), 0.0)


def shore_inset(profile: Profile, drop: Length) -> Length:
    """How far the shore draws back on a bank when the water falls.

    Parameters
    ----------
    profile : Profile
    drop : Length        Below the level of the job. [m], >= 0

    Returns
    -------
    Length               Infinite where the floor has fallen dry. [m]

    Examples
    --------
    >>> from pondwright.rooms.shape.profile import bank_profile
    >>> profile = bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.0, 1.5)])
    >>> [round(shore_inset(profile, drop), 3) for drop in (0.0, 0.2, 0.9, 2.0)]
    [0.0, 0.0, 1.4, inf]

    hand

    References
    ----------
    .. [1] Derived: first place of the section that is as deep.
    """
    if drop <= 0.0:
        return 0.0
    at = np.unique(np.concatenate([profile.knots, profile.risers]))
    feet = depth_at(profile, at)
    heads = feet - (at[:, None] == profile.risers) @ profile.heights
    before = 0.0
    for place, (head, foot) in enumerate(zip(heads, feet, strict=True)):
        if head >= drop:
            share = (drop - before) / (head - before)
            return float(at[place - 1] + share * (at[place] - at[place - 1]))
        if foot >= drop:
            return float(at[place])
        before = float(foot)
    return float("inf")


def bed_area(
    profile: Profile, distance: Lengths, grid: Grid, area: Area, walls: Sequence[Wall], drop: Length
) -> Area:
    """True area of the bed up to a level below the shore: sloped bands, floor and risers.

    Parameters
    ----------
    profile : Profile
    distance : (rows, columns) array     Signed distance, positive inside. [m]
    grid : Grid                          Where the nodes are.
    area : Area                          Plan area of the water at the level of the job. [m²]
    walls : Wall                         The risers, their heights told from the level of the job. [m]
    drop : Length                        Of the level below that of the job. [m], >= 0

    Returns
    -------
    Area                                 [m²]

    Raises
    ------
    DomainError                          If the drop is below 0.

    Notes
    -----
    The bands of :func:`~pondwright.rooms.shape.profile.wetted_area` from the lower shore inward, and of
    each riser the part below the level.

    References
    ----------
    .. [1] Derived: area of a surface of constant slope.
    """
    if drop < 0.0:
        raise DomainError(f"`drop` must be at least 0 m, got {drop} m")
    start = shore_inset(profile, drop)
    if not np.isfinite(start):
        return 0.0
    starts = np.append(start, profile.knots[profile.knots > start])
    beyond = area_beyond(distance, starts, grid)
    if start == 0.0:
        beyond = np.append(area, beyond[1:])
    ends = np.append(starts[1:], np.inf)
    falls = np.diff(np.interp(starts, profile.knots, profile.depths))
    slopes = np.append(falls / np.diff(starts), 0.0) if len(ends) > 1 else np.zeros(1)
    bands = np.append(-np.diff(beyond), beyond[-1])
    faces = [
        wall.area / (wall.top - wall.bottom) * max(min(wall.top, -drop) - wall.bottom, 0.0)
        for wall in walls
        if wall.top > wall.bottom
    ]
    return float(np.sum(bands * np.sqrt(1.0 + slopes**2))) + float(sum(faces))


def bank_area(distance: Lengths, grid: Grid, area: Area, slope: Slope, height: Length) -> Area:
    """True area of the bank between the water and a height above it, where the liner ends.

    Parameters
    ----------
    distance : (rows, columns) array     Signed distance, positive inside. [m]
    grid : Grid                          Where the nodes are.
    area : Area                          Plan area of the water. [m²]
    slope : Slope                        Of the bank, level for one upright. [m/m], > 0
    height : Length                      Above the water. [m], >= 0

    Returns
    -------
    Area                                 [m²]

    Notes
    -----
    The plan band outside the shore is ``height × slope`` wide; its true area is √(1 + 1/slope²) of that.

    References
    ----------
    .. [1] Derived: area of a surface of constant slope.
    """
    if height <= 0.0:
        return 0.0
    (whole,) = area_beyond(distance, [-height * slope], grid)
    return float(whole - area) * float(np.sqrt(1.0 + slope**-2))
