"""Lined beds spot by spot: the worst spot of each, and the mark below which its pond may not be pumped.

See Also
--------
pondwright.rooms.groundwater.uplift : the balance at one spot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths, Ratio, Ratios
from pondwright.rooms.groundwater.ballast import Ballast
from pondwright.rooms.groundwater.uplift import (
    excess_head,
    lowest_safe_level,
    stone_thickness,
    uplift_factors,
)

COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True, slots=True, eq=False)
class Bed:
    """The bed of one body: its nodes in the grid read row by row, and what is so at each of them.

    Parameters
    ----------
    nodes : (k,) int array      Places of its nodes.
    liner : Elevations          The liner. [m]
    ballast : Ballast           What lies on it.
    cosine : Ratios             Cosine of its slope. [-]
    """

    nodes: NDArray[np.intp]
    liner: Elevations
    ballast: Ballast
    cosine: Ratios


@dataclass(frozen=True, slots=True, eq=False)
class Uplift:
    """Uplift at every spot of a bed under one head and one level of its pond."""

    excess: Lengths
    net: Ratios
    gross: Ratios


@dataclass(frozen=True, slots=True)
class Worst:
    """The spot of a bed that lifts first.

    Parameters
    ----------
    spot : int            Its place among the spots of the bed.
    excess : Length       How far the groundwater stands above the pond there, below zero how far below. [m]
    net : Ratio           Net factor there, infinite where nothing pushes. [-]
    gross : Ratio         Lowest gross factor anywhere on the bed. [-]
    stone : Length        Stone on the liner that would hold everywhere. [m]
    """

    spot: int
    excess: Length
    net: Ratio
    gross: Ratio
    stone: Length


def lined_bed(
    own: NDArray[np.bool_],
    subgrade: Elevations,
    part: NDArray[np.int8],
    cosine: Ratios,
    below: Lengths,
    ballast: Ballast,
) -> Bed:
    """Bed of one body from the surfaces of the whole grid.

    Parameters
    ----------
    own : (rows, columns) bool array    Its nodes.
    subgrade : (rows, columns) array    Under all covers. [m]
    part : (rows, columns) int array    Parts of the finish.
    cosine : (rows, columns) array      Of the slope of the bed. [-], 0 to 1
    below : (128,) array                Covers below the liner and the liner, by part code. [m]
    ballast : Ballast                   Covers on it, by part code.

    Returns
    -------
    Bed

    Examples
    --------
    >>> own = np.array([[False, True]])
    >>> part = np.array([[0, 10]], dtype=np.int8)
    >>> covers = np.zeros(128)
    >>> covers[10] = 0.1
    >>> bed = lined_bed(own, np.full((1, 2), 97.0), part, np.ones((1, 2)), covers, Ballast(*[covers] * 3))
    >>> bed.nodes.tolist(), bed.liner.tolist(), bed.ballast.dry.tolist()
    ([1], [97.1], [0.1])

    hand

    References
    ----------
    .. [1] Derived: the liner lies on what lies below it.
    """
    nodes = np.flatnonzero(own)
    parts = part.ravel()[nodes]
    return Bed(
        nodes,
        subgrade.ravel()[nodes] + below[parts],
        Ballast(ballast.thickness[parts], ballast.dry[parts], ballast.submerged[parts]),
        cosine.ravel()[nodes],
    )


def bed_uplift(bed: Bed, head: Elevations, level: Elevations | Elevation) -> Uplift:
    """Uplift at every spot of a bed.

    Parameters
    ----------
    bed : Bed
    head : Elevations      Level of the groundwater at each spot. [m]
    level : Elevations     Level of the pond, or at each spot. [m]

    Returns
    -------
    Uplift

    Examples
    --------
    >>> rock = Ballast(*(np.array([value]) for value in (0.3, 0.51675, 0.32175)))
    >>> bed = Bed(np.array([0]), np.array([97.0]), rock, np.ones(1))
    >>> found = bed_uplift(bed, np.array([98.2]), 97.8)
    >>> found.net.round(3).tolist(), found.gross.round(3).tolist()
    ([0.804], [0.935])

    hand

    References
    ----------
    .. [1] See :mod:`pondwright.rooms.groundwater.uplift`.
    """
    return Uplift(*uplift_factors(head, level, bed.liner, bed.ballast, bed.cosine))


def worst_spot(
    bed: Bed, uplift: Uplift, head: Elevations, level: Elevations | Elevation, factor: Ratio
) -> Worst:
    """The spot of a bed that lifts first, and the stone that would hold the whole bed.

    Parameters
    ----------
    bed : Bed              With one spot or more.
    uplift : Uplift        Of it.
    head : Elevations      Level of the groundwater at each spot. [m]
    level : Elevations     Level of the pond, or at each spot. [m]
    factor : Ratio         Net factor that is wanted. [-], > 0

    Returns
    -------
    Worst

    Notes
    -----
    The lowest net factor; where nothing pushes anywhere, the spot at which the groundwater comes nearest.

    Examples
    --------
    >>> rock = Ballast(*(np.full(2, value) for value in (0.3, 0.51675, 0.32175)))
    >>> bed = Bed(np.array([0, 1]), np.array([97.0, 97.0]), rock, np.ones(2))
    >>> head = np.array([97.5, 98.2])
    >>> worst = worst_spot(bed, bed_uplift(bed, head, 97.8), head, 97.8, 1.2)
    >>> worst.spot, round(worst.excess, 3), round(worst.stone, 3)
    (1, 0.4, 0.485)

    hand

    References
    ----------
    .. [1] Derived: least of the spots.
    """
    net = float(uplift.net.min())
    spot = int(np.argmin(uplift.net) if math.isfinite(net) else np.argmax(uplift.excess))
    stone = stone_thickness(head, level, bed.liner, factor, cosine=bed.cosine)
    return Worst(spot, float(uplift.excess[spot]), net, float(uplift.gross.min()), float(stone.max()))


def safe_mark(bed: Bed, head: Elevations, factor: Ratio, drop: Lengths | Length = 0.0) -> Elevation | None:
    """Mark below which the pond on a bed may not be pumped.

    Parameters
    ----------
    bed : Bed              With one spot or more.
    head : Elevations      Level of the groundwater at each spot. [m]
    factor : Ratio         Net factor that is wanted. [-], >= 1
    drop : Lengths         How far the water at each spot lies below that of the body's upper end. [m], >= 0

    Returns
    -------
    Elevation or None      None where it may be emptied. [m]

    Examples
    --------
    >>> rock = Ballast(*(np.full(2, value) for value in (0.3, 0.51675, 0.32175)))
    >>> bed = Bed(np.array([0, 1]), np.array([97.0, 97.0]), rock, np.ones(2))
    >>> round(safe_mark(bed, np.array([97.5, 98.2]), 1.2), 3)
    97.932
    >>> safe_mark(bed, np.array([97.2, 97.3]), 1.2) is None
    True

    hand

    References
    ----------
    .. [1] Derived: highest of the spots.
    """
    highest = float((lowest_safe_level(head, bed.liner, bed.ballast, factor, bed.cosine) + drop).max())
    return highest if math.isfinite(highest) else None


def lack_of_weight(bed: Bed, head: Elevations, level: Elevations | Elevation, factor: Ratio) -> Length:
    """How far the groundwater must fall, or the pond rise, so that a bed holds.

    Parameters
    ----------
    bed : Bed              With one spot or more.
    head : Elevations      Level of the groundwater at each spot. [m]
    level : Elevations     Level of the pond, or at each spot. [m]
    factor : Ratio         Net factor that is wanted. [-], > 0

    Returns
    -------
    Length                 At the spot that lacks most; 0 where it holds. [m]

    Notes
    -----
    (h_g - h_w) - g' t cos(b) / (gw FS).

    Examples
    --------
    >>> rock = Ballast(*(np.array([value]) for value in (0.3, 0.51675, 0.32175)))
    >>> bed = Bed(np.array([0]), np.array([97.0]), rock, np.ones(1))
    >>> round(lack_of_weight(bed, np.array([98.2]), 97.8, 1.2), 4)
    0.1319

    hand

    References
    ----------
    .. [1] Derived: the net factor solved for the excess head.
    """
    water = np.maximum(level, bed.liner) - bed.liner
    lacks = excess_head(head, level, bed.liner) - bed.ballast.resistance(water, bed.cosine) / factor
    return max(float(lacks.max()), 0.0)


def side_word(point: tuple[Length, Length], centre: tuple[Length, Length], reach: Length) -> str:
    """Side of an area on which a point of it lies, by the compass.

    Parameters
    ----------
    point : (east, north)      [m]
    centre : (east, north)     Of the area. [m]
    reach : Length             From there to its farthest point. [m], >= 0

    Returns
    -------
    str                        `middle` within a quarter of the reach.

    Examples
    --------
    >>> side_word((0.0, 8.0), (4.0, 4.0), 5.7), side_word((4.2, 4.0), (4.0, 4.0), 5.7)
    ('north-west', 'middle')

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    east, north = point[0] - centre[0], point[1] - centre[1]
    if math.hypot(east, north) <= 0.25 * reach:
        return "middle"
    return COMPASS[round(math.atan2(east, north) / (math.pi / 4.0)) % 8]


def pressed_clay(
    subgrade: Elevations, top: Elevations, bottom: Elevations, permeability: FloatArray, contrast: Ratio
) -> tuple[Lengths, Elevations]:
    """Tight soil that a dig leaves over much more open ground, and where that ground begins.

    Parameters
    ----------
    subgrade : (k,) array          Bottom of the dig. [m]
    top, bottom : (n, k) arrays    Of the layers. [m]
    permeability : (n, k) array    Of the layers.
    contrast : Ratio               How many times as open the ground below must be. [-], > 1

    Returns
    -------
    (k,) array                     Thickness of the tight soil left; infinite where nothing presses. [m]
    (k,) array                     Top of the open ground, minus infinity where there is none. [m]

    Notes
    -----
    The layer in which the dig ends is the tight one; the highest layer below it that is open enough presses.

    Examples
    --------
    >>> top, bottom = np.array([[10.0], [8.0]]), np.array([[8.0], [6.0]])
    >>> thickness, sand = pressed_clay(np.array([9.0]), top, bottom, np.array([[1e-7], [1e-5]]), 10.0)
    >>> thickness.tolist(), sand.tolist()
    ([1.0], [8.0])

    hand

    References
    ----------
    .. [1] Derived: order of the layers.
    """
    holds = (bottom < subgrade) & (subgrade <= top)
    tight = np.where(holds, permeability, 0.0).max(axis=0)
    below = (top <= subgrade) & (top > bottom) & (permeability >= contrast * tight) & (tight > 0.0)
    open_top = np.where(below, top, -np.inf).max(axis=0)
    return subgrade - open_top, open_top
