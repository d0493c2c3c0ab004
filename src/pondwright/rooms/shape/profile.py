"""The profile of a bank: how deep at which distance from the shore.

A profile is a line through points (distance, depth) from the water's edge inward.  Two points
at one distance make a *riser*, an upright face.  A grid of heights cannot hold an upright face,
so a riser is split off: the remaining profile is continuous, the riser is spread over one
spacing where the surface needs a height at every node (half before and half after, which keeps
volumes of second order), and it is also a wall with a length and a height where areas are
counted.  The last depth runs on as the floor.

See Also
--------
pondwright.rooms.shape.grading : lays the profile into the ground.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Elevation, FloatArray, Length, Lengths, Slope
from pondwright.geometry.contour import contours
from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import StageSums, area_beyond


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """A profile with its risers split off.

    Attributes
    ----------
    knots, depths : (n,) arrays      Distance and depth of the continuous part. [m]
    zones : (n,) int array           Number of the zone that begins at each knot.
    risers, heights : (k,) arrays    Distance of each riser and how far it drops. [m]
    """

    knots: Lengths
    depths: Lengths
    zones: np.ndarray
    risers: Lengths
    heights: Lengths

    @property
    def floor_depth(self) -> Length:
        """Depth of the floor, risers counted. [m]"""
        return float(self.depths[-1] + self.heights.sum())

    @property
    def reach(self) -> Length:
        """Distance from the shore at which the floor begins. [m]"""
        return float(max(self.knots[-1], self.risers.max(initial=0.0)))


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """An upright face along a line, which a surface of heights cannot hold.

    Attributes
    ----------
    line : (n, 2) array     East and north. [m]
    bottom, top : float     Elevations of its foot and its head. [m]
    """

    line: Lengths
    bottom: Elevation
    top: Elevation

    @property
    def area(self) -> Area:
        """Face of the wall. [m²]"""
        steps = self.line[1:] - self.line[:-1]
        return float(np.hypot(steps[:, 0], steps[:, 1]).sum()) * (self.top - self.bottom)


def bank_profile(points: Sequence[tuple[Length, Length]]) -> Profile:
    """Profile through points (distance, depth), with its risers split off.

    Parameters
    ----------
    points : pairs of Length     From the water's edge inward, distances not falling. [m]

    Returns
    -------
    Profile

    Raises
    ------
    DomainError                  If there is no point, or a distance is negative or falls.

    Notes
    -----
    A profile that does not start at the shore starts there at the water level.  Zone k lies
    between points k and k + 1; the last zone is the floor.

    Examples
    --------
    >>> profile = bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.0, 1.5)])
    >>> profile.knots.tolist(), profile.depths.tolist(), profile.zones.tolist()
    ([0.0, 0.8, 2.0], [0.0, 0.0, 1.2], [1, 2, 3])
    >>> profile.risers.tolist(), profile.heights.tolist()
    ([0.0], [0.3])

    hand

    References
    ----------
    .. [1] Derived: a step function taken off a piecewise linear one.
    """
    distances = [distance for distance, _ in points]
    if not points or distances[0] < 0.0 or distances != sorted(distances):
        raise DomainError(f"`points` must have distances from 0 m up that never fall, got {distances} m")
    knots, depths, zones = [0.0], [0.0], [0]
    risers: list[float] = []
    heights: list[float] = []
    dropped = 0.0
    for zone, (distance, depth) in enumerate(points):
        if distance > knots[-1]:
            knots.append(distance)
            depths.append(depth - dropped)
            zones.append(zone)
            continue
        drop = depth - dropped - depths[-1]
        zones[-1] = zone
        if drop != 0.0:
            risers.append(distance)
            heights.append(drop)
            dropped += drop
    return Profile(
        np.array(knots), np.array(depths), np.array(zones, dtype=np.int8), np.array(risers), np.array(heights)
    )


def depth_at(profile: Profile, distances: Lengths) -> Lengths:
    """Depth of a profile at distances from the shore, risers upright.

    Parameters
    ----------
    profile : Profile
    distances : (n,) array     Inward from the shore. [m]

    Returns
    -------
    (n,) array                 Below the water level; on a riser, its foot. [m]

    Examples
    --------
    >>> profile = bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.0, 1.5)])
    >>> depth_at(profile, np.array([0.0, 0.4, 1.4, 9.0])).round(3).tolist()
    [0.3, 0.3, 0.9, 1.5]

    hand

    References
    ----------
    .. [1] Derived: linear interpolation.
    """
    inward = np.asarray(distances, dtype=np.float64)
    steps = (inward[..., None] >= profile.risers) @ profile.heights
    return np.asarray(np.interp(inward, profile.knots, profile.depths) + steps)


def zone_words(profile: Profile, zone: int) -> str:
    """Zone of a bank in a builder's words: a step, a shelf, a slope or the floor, and where it lies.

    Parameters
    ----------
    profile : Profile
    zone : int     As the document counts it, from the water's edge. >= 0

    Returns
    -------
    str

    Raises
    ------
    DomainError    If the zone is below 0.

    Notes
    -----
    A shelf falls by no more than 1 in 8.  The first slope or shelf is told by the water's edge, others by the
    last step above them; of several alike each has its number.  What lies beyond the bank is the floor.

    Examples
    --------
    >>> bank = bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (1.4, 0.6), (1.4, 0.9), (3.0, 1.5)])
    >>> for zone in range(6):
    ...     print(zone_words(bank, zone))
    the first step
    the shelf below the first step
    the slope below the first step
    the second step
    the slope below the second step
    the floor

    hand

    References
    ----------
    .. [1] Derived: an account of steps; the fall of a shelf is common practice.
    """
    if zone < 0:
        raise DomainError(f"`zone` must be at least 0, got {zone}")
    last = len(profile.knots) - 1
    if zone >= int(profile.zones[last]):
        return "the floor"
    part = next(place for place in range(last + 1) if profile.zones[place] >= zone)
    if profile.zones[part] > zone:
        return f"the {_ordinal(int((profile.risers < profile.knots[part] - 1e-9).sum()))} step"
    parts = [_part_words(profile, place) for place in range(last)]
    kind, where = parts[part]
    alike = [place for place in range(last) if parts[place] == (kind, where)]
    number = "" if len(alike) == 1 else f"{_ordinal(alike.index(part))} "
    return f"the {number}{kind} {where}"


def _part_words(profile: Profile, part: int) -> tuple[str, str]:
    """What a part of a bank between two knots is, and where it lies."""
    run = profile.knots[part + 1] - profile.knots[part]
    fall = profile.depths[part + 1] - profile.depths[part]
    steps = int((profile.risers <= profile.knots[part] + 1e-9).sum())
    where = f"below the {_ordinal(steps - 1)} step" if steps else "from the water's edge"
    return ("shelf" if fall <= run / 8.0 else "slope"), where


def _ordinal(place: int) -> str:
    words = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
    return words[place] if place < len(words) else f"{place + 1}th"


def steepest_run(profile: Profile) -> Slope:
    """Steepest of a profile's slopes; shelves and upright risers, which stone holds, are left aside.

    Parameters
    ----------
    profile : Profile

    Returns
    -------
    Slope                      Level for one upright; infinite where nothing slopes. [m/m]

    Examples
    --------
    >>> steepest_run(bank_profile([(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (2.0, 0.7)]))
    3.0

    hand

    References
    ----------
    .. [1] Derived: run over rise of each piece.
    """
    falls, runs = (each[1:] - each[:-1] for each in (profile.depths, profile.knots))
    sloping = falls > 0.0
    return round(float((runs[sloping] / falls[sloping]).min(initial=np.inf)), 9)


def riser_walls(
    profile: Profile, distance: Lengths, grid: Grid, level: Elevation, rings: Sequence[Lengths]
) -> tuple[Wall, ...]:
    """Risers of a profile as walls along the lines of equal distance from the shore.

    Parameters
    ----------
    profile : Profile
    distance : (rows, columns) array     Signed distance, positive inside. [m]
    grid : Grid                          Where the nodes are.
    level : Elevation                    The water level. [m]
    rings : arrays (n, 2)                The shore itself, for a riser at the water's edge. [m]

    Returns
    -------
    tuple of Wall                        Closed lines; more than one where a bay is cut off.

    References
    ----------
    .. [1] Derived: contours of the distance field.
    """
    shore = [np.vstack([ring, ring[:1]]) for ring in rings]
    inner = profile.risers[profile.risers > 0.0]
    lines_at = dict(contours(distance, grid, inner)) if len(inner) else {}
    walls: list[Wall] = []
    for offset, height in zip(profile.risers, profile.heights, strict=True):
        foot = level - float(depth_at(profile, np.array([offset]))[0])
        bottom, top = sorted((foot, foot + float(height)))
        walls.extend(Wall(line, bottom, top) for line in lines_at.get(float(offset), shore))
    return tuple(walls)


def wetted_area(
    profile: Profile,
    distance: Lengths,
    grid: Grid,
    area: Area,
    walls: Sequence[Wall],
    sums: StageSums | None = None,
) -> Area:
    """True area of the wetted ground: sloped bands, floor and walls.

    Parameters
    ----------
    profile : Profile
    distance : (rows, columns) array     Signed distance, positive inside. [m]
    grid : Grid                          Where the nodes are.
    area : Area                          Plan area of the water. [m²]
    walls : Wall                         The risers.
    sums : StageSums                     What tells the areas beyond its knots, where it is known.

    Returns
    -------
    Area                                 [m²]

    Notes
    -----
    Each band between two knots has one slope m (level for one upright), so its true area is its
    plan area times √(1 + 1/m²).  Second order in the spacing, where gradients of
    triangles give first order, because no band edge is smeared over a cell.

    References
    ----------
    .. [1] Derived: area of a surface of constant slope.
    """
    beyond = np.array([area])
    if len(profile.knots) > 1:
        found = area_beyond(distance, profile.knots[1:], grid) if sums is None else sums.areas_beyond()
        beyond = np.append(area, found)
    bands: FloatArray = np.append(-np.diff(beyond), beyond[-1])
    slopes = np.append(np.diff(profile.depths) / np.diff(profile.knots), 0.0)
    sloped = float(np.sum(bands * np.sqrt(1.0 + slopes**2)))
    return sloped + sum(wall.area for wall in walls)
