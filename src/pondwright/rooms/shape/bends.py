"""Ways to bend a drawn shore: more of it for the same area, less of it, or the same shape larger or smaller.

A rough outline is a wish, not a shape.  Each way moves the pegs that are there and makes none, so that
stretches, banks and seats that hang on them stay where they belong; area is held by scaling about the
centroid, which changes no proportion.

See Also
--------
pondwright.geometry.curve : the curve through the pegs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Length, Lengths, Ratio, Ratios
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.polygon import ring_length, self_crossings, signed_area
from pondwright.rooms.shape.meeting import narrow_places

STEP = 0.25
"""Step of the amplitude while the wanted shore is looked for, in halves of the distance between pegs."""

MOST_AMPLITUDE = 3.0
"""Amplitude at which the search ends."""

NEAR_ROUND: Ratio = 1.02
"""Shore against a round pond below which nothing is left to round."""

NEAR_WAYS = 4.0
"""Arms' lengths from a way within which a shore is drawn towards it."""

MOST_OUT = 2.0
"""Halves of the distance to the nearer peg that a peg goes at most."""

TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """A closed shore as its pegs.

    Attributes
    ----------
    pegs : (n, 2) array          East and north, n >= 3. [m]
    corners : tuple of bool      Whether the curve breaks at each peg.
    """

    pegs: Lengths
    corners: tuple[bool, ...]

    @property
    def ring(self) -> Lengths:
        """The shore as points. [m]"""
        return closed_curve(self.pegs, self.corners).points

    @property
    def area(self) -> Area:
        """Area inside. [m²]"""
        return abs(signed_area(self.ring))

    @property
    def length(self) -> Length:
        """Length of the shore. [m]"""
        return ring_length(self.ring)


def enlarged(outline: Outline, factor: Ratio) -> Outline:
    """The same shape, larger or smaller about its centroid.

    Parameters
    ----------
    outline : Outline
    factor : Ratio       Of all lengths. [-], > 0

    Returns
    -------
    Outline

    Raises
    ------
    DomainError          If the factor is not above 0.

    Examples
    --------
    >>> square = Outline(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]), (True,) * 4)
    >>> enlarged(square, 1.5).pegs.round(6).tolist()
    [[-0.5, -0.5], [2.5, -0.5], [2.5, 2.5], [-0.5, 2.5]]

    hand

    References
    ----------
    .. [1] Derived: similarity about the centroid of the area.
    """
    if not factor > 0.0:
        raise DomainError(f"`factor` must be above 0, got {factor}")
    centre = _centroid(outline.ring)
    return Outline(centre + factor * (outline.pegs - centre), outline.corners)


def of_area(outline: Outline, area: Area) -> Outline:
    """The same shape with another area.

    Parameters
    ----------
    outline : Outline
    area : Area          [m²], > 0

    Returns
    -------
    Outline

    References
    ----------
    .. [1] Derived: areas go with the square of lengths.
    """
    return enlarged(outline, math.sqrt(area / outline.area))


def waved(outline: Outline, waves: int, phase: float, amplitude: Ratio) -> Outline:
    """Outline with its pegs pushed out and in along their normals in even waves, its area held.

    Parameters
    ----------
    outline : Outline
    waves : int            Waves around the shore.
    phase : float          Where the first one begins. [rad]
    amplitude : Ratio      In halves of the distance to the nearer peg beside. [-]

    Returns
    -------
    Outline

    References
    ----------
    .. [1] Derived: a cosine by the number of the peg, so that no peg passes its neighbour while small.
    """
    moved = Outline(outline.pegs + amplitude * _pushes(outline, waves, phase), outline.corners)
    return _back_home(of_area(moved, outline.area), outline)


def pushed(outline: Outline, weights: Ratios, amplitude: Ratio) -> Outline:
    """Outline with each peg pushed along its normal by a weight of its own, its area held.

    Parameters
    ----------
    outline : Outline
    weights : (n,) array   How much each peg goes outward; below zero inward. [-]
    amplitude : Ratio      In halves of the distance to the nearer peg beside. [-]

    Returns
    -------
    Outline

    Examples
    --------
    >>> square = Outline(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]), (True,) * 4)
    >>> pushed(square, np.zeros(4), 1.0).pegs.round(9).tolist() == square.pegs.tolist()
    True

    hand

    References
    ----------
    .. [1] Derived: as the waves of :func:`waved`, with any weights.
    """
    moved = Outline(outline.pegs + amplitude * weights[:, None] * _outward(outline), outline.corners)
    return of_area(moved, outline.area)


def seen_weights(pegs: Lengths, places: Lengths, seen: Ratios) -> Ratios:
    """How much each peg should go outward so that water lies where it is seen.

    Parameters
    ----------
    pegs : (n, 2) array      [m]
    places : (m, 2) array    Places in the water. [m]
    seen : (m,) array        Share of the seats that see each of them. [-]

    Returns
    -------
    (n,) array               From -1, hidden most, to 1; all 0 where each peg's water is seen as well. [-]

    Examples
    --------
    >>> corners = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0]])
    >>> seen_weights(corners, corners, np.array([1.0, 0.0, 0.5])).tolist()
    [1.0, -1.0, 0.0]

    hand

    References
    ----------
    .. [1] Derived: mean of the water nearest to each peg, less the mean of them all.
    """
    away = np.hypot(*(places[:, None, :] - pegs[None, :, :]).transpose(2, 0, 1))
    nearest = np.argmin(away, axis=1)
    count = np.bincount(nearest, minlength=len(pegs))
    total = np.bincount(nearest, weights=seen, minlength=len(pegs))
    whole = float(seen.mean()) if len(seen) else 0.0
    own = np.where(count > 0, total / np.maximum(count, 1), whole)
    off = own - own.mean()
    most = float(np.abs(off).max(initial=0.0))
    return np.asarray(off / most if most > TOLERANCE else np.zeros(len(pegs)))


def facing_weights(outline: Outline, place: tuple[Length, Length]) -> Ratios:
    """How much each peg lies on the side of a place: 1 towards it, -1 away from it.

    Parameters
    ----------
    outline : Outline
    place : (east, north)     Such as the middle of the seats. [m]

    Returns
    -------
    (n,) array                [-]

    Examples
    --------
    >>> square = Outline(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]), (True,) * 4)
    >>> facing_weights(square, (1.0, 9.0)).round(3).tolist()
    [-0.707, -0.707, 0.707, 0.707]

    hand

    References
    ----------
    .. [1] Derived: cosine of the angle at the centroid.
    """
    centre = _centroid(outline.ring)
    towards = np.array(place) - centre
    out = outline.pegs - centre
    lengths = np.maximum(np.hypot(*out.T) * np.hypot(*towards), TOLERANCE)
    return np.asarray(out @ towards / lengths)


def reach_weights(outline: Outline, away: Lengths, arm: Length, inward: Ratio) -> Ratios:
    """How far each peg should go so that ways reach more of the shore.

    Parameters
    ----------
    outline : Outline
    away : (n,) array      Distance of each peg to the nearest way. [m]
    arm : Length           How far an arm reaches from a way. [m], > 0
    inward : Ratio         How far pegs out of reach go inward instead, for the area. [-]

    Returns
    -------
    (n,) array             In halves of the distance to the nearer peg beside; outward above zero. [-]

    Examples
    --------
    >>> square = Outline(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]), (True,) * 4)
    >>> reach_weights(square, np.array([0.2, 1.6, 9.0, 9.0]), 1.2, 0.25).round(6).tolist()
    [0.0, 1.0, -0.25, -0.25]

    hand

    References
    ----------
    .. [1] Derived: what lies within `NEAR_WAYS` arms of a way goes out to half an arm from it.
    """
    pegs = outline.pegs
    beside = np.hypot(*(np.roll(pegs, -1, axis=0) - pegs).T)
    half = 0.5 * np.minimum(beside, np.roll(beside, 1))
    near = np.minimum((away - 0.5 * arm) / np.maximum(half, TOLERANCE), MOST_OUT)
    return np.where(away <= arm, 0.0, np.where(away <= NEAR_WAYS * arm, near, -inward))


def more_shore(
    outline: Outline, ratio: Ratio, allowed: Callable[[Outline], bool] = lambda _outline: True
) -> Outline | None:
    """Outline of the same area with more shore, the gentlest of its kind.

    Parameters
    ----------
    outline : Outline
    ratio : Ratio          Length of the shore for one of now. [-], > 1
    allowed : function     Tells what else an outline must be.

    Returns
    -------
    Outline or None        None if no waves give that without crossing.

    Raises
    ------
    DomainError            If the ratio is not above 1.

    Notes
    -----
    For two waves, and one to each four, three and two pegs, in two phases, the amplitude is solved for the
    length; of those that do not cross themselves and are allowed, the one that moves the pegs least is kept.

    References
    ----------
    .. [1] Derived: length by bisection.
    """
    if not ratio > 1.0:
        raise DomainError(f"`ratio` must be above 1, got {ratio}")
    count = len(outline.pegs)
    found = []
    for waves in sorted({max(count // every, 2) for every in (4, 3, 2)} | {2}):
        for phase in (0.0, 0.5 * math.pi):
            amplitude = _amplitude(outline, _pushes(outline, waves, phase), ratio * outline.length)
            if amplitude is not None:
                bent = waved(outline, waves, phase, amplitude)
                found.append((float(np.hypot(*(bent.pegs - outline.pegs).T).max()), bent))
    for _moved, bent in sorted(found, key=lambda each: each[0]):
        if not len(self_crossings(bent.ring)) and allowed(bent):
            return bent
    return None


def rounder(outline: Outline, ratio: Ratio) -> Outline | None:
    """Outline of the same area with less shore.

    Parameters
    ----------
    outline : Outline
    ratio : Ratio          Length of the shore for one of now, at least. [-], < 1

    Returns
    -------
    Outline or None        None if it is nearly round, or a corner keeps it from getting so.

    Raises
    ------
    DomainError            If the ratio is not between 0 and 1.

    Notes
    -----
    The pegs go straight towards those of a circle of the same area, by their place along the shore: as far as
    the ratio asks, and no farther than half of what can be gained.

    References
    ----------
    .. [1] Derived: of all shores around one area the circle's is the shortest.
    """
    if not 0.0 < ratio < 1.0:
        raise DomainError(f"`ratio` must be between 0 and 1, got {ratio}")
    length, area = outline.length, outline.area
    shortest = 2.0 * math.sqrt(math.pi * area)
    if length < NEAR_ROUND * shortest:
        return None
    wanted = max(ratio * length, 0.5 * (length + shortest))
    pegs, circle = outline.pegs, _circle(outline)

    def towards(share: float) -> Outline:
        moved = Outline(pegs + share * (circle - pegs), outline.corners)
        return _back_home(of_area(moved, area), outline)

    if towards(1.0).length > wanted:
        return None
    low, high = 0.0, 1.0
    while high - low > TOLERANCE:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if towards(middle).length > wanted else (low, middle)
    bent = towards(high)
    return None if len(self_crossings(bent.ring)) else bent


def narrowest(area: BaseGeometry, least: Length) -> Length | None:
    """Width of the narrowest place of a water, as far as it is narrow at all.

    Parameters
    ----------
    area : geometry     Of the water.
    least : Length      Width that is asked for; up to eight times it is looked. [m], > 0

    Returns
    -------
    Length or None      None if it is nowhere narrower than eight times that. [m]

    References
    ----------
    .. [1] Derived: openings with ever larger discs.
    """
    for times in (1.0, 2.0, 4.0, 8.0):
        if places := narrow_places(area, times * least):
            return places[0][1]
    return None


def _pushes(outline: Outline, waves: int, phase: float) -> Lengths:
    """How far, and which way, each peg is pushed by waves of amplitude 1."""
    count = len(outline.pegs)
    wave = np.cos(2.0 * math.pi * waves * np.arange(count) / count + phase)
    return np.asarray(wave[:, None] * _outward(outline))


def _outward(outline: Outline) -> Lengths:
    """Half of the distance from each peg to the nearer one beside it, outward along its normal."""
    pegs = outline.pegs
    ahead, behind = np.roll(pegs, -1, axis=0) - pegs, pegs - np.roll(pegs, 1, axis=0)
    near = 0.5 * np.minimum(np.hypot(*ahead.T), np.hypot(*behind.T))
    along = ahead + behind
    normals = np.sign(signed_area(pegs)) * np.column_stack([along[:, 1], -along[:, 0]])
    normals /= np.maximum(np.hypot(*normals.T), TOLERANCE)[:, None]
    return np.asarray(near[:, None] * normals)


def _amplitude(outline: Outline, pushes: Lengths, wanted: Length) -> Ratio | None:
    """First amplitude of pushes that gives a length of shore once the area is held."""
    area = outline.area

    def missing(amplitude: float) -> float:
        ring = closed_curve(outline.pegs + amplitude * pushes, outline.corners).points
        return wanted - ring_length(ring) * math.sqrt(area / abs(signed_area(ring)))

    amplitude = STEP
    while missing(amplitude) > 0.0:
        amplitude += STEP
        if amplitude > MOST_AMPLITUDE:
            return None
    from scipy.optimize import brentq  # a third of a second to load, and most questions do not need it

    low = amplitude - STEP
    return float(brentq(missing, low, amplitude, xtol=TOLERANCE)) if missing(low) > 0.0 else None


def _back_home(outline: Outline, home: Outline) -> Outline:
    """Outline moved so that its centroid is that of another one."""
    shift = _centroid(home.ring) - _centroid(outline.ring)
    return Outline(outline.pegs + shift, outline.corners)


def _centroid(ring: Lengths) -> NDArray[np.float64]:
    """Centroid of the area inside a ring."""
    around = ring - ring[0]
    following = np.roll(around, -1, axis=0)
    cross = around[:, 0] * following[:, 1] - following[:, 0] * around[:, 1]
    return np.asarray(ring[0] + (cross[:, None] * (around + following)).sum(axis=0) / (3.0 * cross.sum()))


def _circle(outline: Outline) -> Lengths:
    """Place of each peg on the circle of the same area, turned to lie as near to the pegs as it can."""
    sampled = closed_curve(outline.pegs, outline.corners)
    shares = _shares(sampled.points, np.searchsorted(sampled.span, np.arange(len(outline.pegs))))
    turn = np.sign(signed_area(sampled.points))
    spokes = np.exp(2j * math.pi * turn * shares)
    centre = _centroid(sampled.points)
    from_centre = (outline.pegs - centre) @ np.array([1.0, 1.0j])
    together = np.sum(from_centre * np.conj(spokes))
    heading = together / abs(together) if abs(together) > TOLERANCE else 1.0
    places = math.sqrt(outline.area / math.pi) * heading * spokes
    return np.column_stack([centre[0] + places.real, centre[1] + places.imag])


def _shares(ring: Lengths, at: Sequence[int] | NDArray[np.intp]) -> Ratios:
    """Share of the way around a ring at some of its points."""
    steps = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    way = np.concatenate([[0.0], np.cumsum(steps)])
    return np.asarray(way[at] / way[-1])
