"""Rings: their area and length, where they cross, what lies inside, the longest open line.

A ring is an array (n, 2) of corners in either direction; the edge from the last corner back to
the first belongs to it.  Where several rings make one body, a place is inside by the even-odd
rule: inside the outer ring and in none of its islands.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, FloatArray, Length, Lengths, Ratio
from pondwright.geometry.kernels import polygon as kernels


def checked_ring(ring: ArrayLike) -> Lengths:
    """The ring as an array of finite numbers, or the reason why it is none.

    Parameters
    ----------
    ring : Lengths, (n, 2) array
        East and north of its corners. [m], n >= 3

    Returns
    -------
    Lengths, (n, 2) array
        The same corners. [m]

    Raises
    ------
    DomainError
        If there are fewer than 3 corners or a coordinate is not finite.
    """
    corners = np.ascontiguousarray(ring, dtype=np.float64)
    if corners.ndim != 2 or corners.shape[1] != 2 or len(corners) < 3:
        raise DomainError(f"`ring` must have at least 3 corners, got an array {corners.shape}")
    if not np.isfinite(corners).all():
        raise DomainError("`ring` must be finite numbers, got one that is not")
    return corners


def ring_edges(rings: Sequence[ArrayLike]) -> Lengths:
    """Edges of all rings, each as east and north of its start and of its end.

    Parameters
    ----------
    rings : sequence of (n, 2) arrays
        At least one ring. [m]

    Returns
    -------
    Lengths, (m, 4) array
        One edge for each corner. [m]

    Raises
    ------
    DomainError
        If there is no ring, or one is not a ring.
    """
    if len(rings) == 0:
        raise DomainError("`rings` must hold at least one ring, got none")
    closed = [_closed(checked_ring(ring)) for ring in rings]
    return np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in closed])


def signed_area(ring: ArrayLike) -> Area:
    """Area inside a ring, positive if it runs counterclockwise.

    Parameters
    ----------
    ring : Lengths, (n, 2) array
        East and north of its corners. [m]

    Returns
    -------
    Area
        Above 0 counterclockwise, below 0 clockwise. [m²]

    Raises
    ------
    DomainError
        If it is not a ring.

    Examples
    --------
    >>> signed_area([[0, 0], [0, 2], [3, 2], [3, 0]])
    -6.0

    hand
    """
    corners = checked_ring(ring)
    # Seen from its first corner, so that far coordinates do not cost digits.
    east, north = _closed(corners - corners[0]).T
    return float(0.5 * (east[:-1] @ north[1:] - north[:-1] @ east[1:]))


def enclosed_area(rings: Sequence[ArrayLike]) -> Area:
    """Area of a body: its outer ring less its islands.

    Parameters
    ----------
    rings : sequence of (n, 2) arrays
        The outer ring first, then islands that lie inside it. [m]

    Returns
    -------
    Area
        Exact for these corners. [m²]

    Raises
    ------
    DomainError
        If there is no ring, or one is not a ring.
    """
    if len(rings) == 0:
        raise DomainError("`rings` must hold at least one ring, got none")
    outer, *islands = (abs(signed_area(ring)) for ring in rings)
    return outer - sum(islands)


def line_length(line: Lengths) -> Length:
    """Length of a line of straight pieces.

    Parameters
    ----------
    line : (n, 2) array     [m]

    Returns
    -------
    Length                  [m]

    Examples
    --------
    >>> line_length(np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 6.0]]))
    7.0

    hand

    References
    ----------
    .. [1] Derived: Pythagoras.
    """
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def ring_length(ring: ArrayLike) -> Length:
    """Length once around a ring.

    Parameters
    ----------
    ring : Lengths, (n, 2) array
        East and north of its corners. [m]

    Returns
    -------
    Length
        Including the edge from the last corner to the first. [m]

    Raises
    ------
    DomainError
        If it is not a ring.

    Examples
    --------
    >>> ring_length([[0, 0], [3, 0], [3, 4]])
    12.0

    hand
    """
    return float(_edge_lengths(checked_ring(ring)).sum())


def development_index(length: Length, area: Area) -> Ratio:
    """How much longer a shore is than that of a round pond of the same area.

    Parameters
    ----------
    length : Length
        Length of the shore. [m], > 0 (L in [1]_)
    area : Area
        Area of the water. [m²], > 0 (A in [1]_)

    Returns
    -------
    Ratio
        1 for a circle, larger for every other shape. [-]

    Raises
    ------
    DomainError
        If the length or the area is not above 0.

    Notes
    -----
    ``D = L / (2 sqrt(pi A))``, the shoreline development of lakes.

    Examples
    --------
    >>> round(development_index(length=40.0, area=100.0), 6)
    1.128379

    hand: a square, 2 / sqrt(pi)

    References
    ----------
    .. [1] R. G. Wetzel, "Limnology", 3rd edition, Academic Press, 2001, chapter 3; from memory.
    """
    if not length > 0.0:
        raise DomainError(f"`length` must be above 0 m, got {length} m")
    if not area > 0.0:
        raise DomainError(f"`area` must be above 0 m², got {area} m²")
    return length / (2.0 * sqrt(pi * area))


def self_crossings(ring: ArrayLike) -> Lengths:
    """Points at which a ring crosses, touches or runs back over itself.

    Parameters
    ----------
    ring : Lengths, (n, 2) array
        East and north of its corners; repeated neighbours are allowed. [m]

    Returns
    -------
    Lengths, (k, 2) array
        East and north of the points, sorted; none for a simple ring.  Where two edges lie on each
        other, the middle of what they share. [m]

    Raises
    ------
    DomainError
        If it is not a ring.

    Examples
    --------
    >>> self_crossings([[0, 0], [2, 2], [2, 0], [0, 2]]).tolist()
    [[1.0, 1.0]]

    hand
    """
    edges = _edges_with_length(ring)
    points = kernels.crossings(edges, edges, True)
    # A corner that lies on an edge is met by both edges that end there.
    return np.unique(points, axis=0) if len(points) > 1 else points


def rings_cross(one: ArrayLike, other: ArrayLike) -> bool:
    """Whether two rings cross or touch each other; one wholly inside the other does not.

    Parameters
    ----------
    one, other : Lengths, (n, 2) arrays
        East and north of their corners. [m]

    Returns
    -------
    bool
        True if they have a point in common.

    Raises
    ------
    DomainError
        If one is not a ring.
    """
    return len(kernels.crossings(_edges_with_length(one), _edges_with_length(other), False)) > 0


def points_inside(rings: Sequence[ArrayLike], points: ArrayLike) -> NDArray[np.bool_]:
    """Which points lie inside a body, by the even-odd rule over all its rings.

    Parameters
    ----------
    rings : sequence of (n, 2) arrays
        The outer ring and its islands, in any order and direction. [m]
    points : Lengths, (k, 2) array
        East and north of the points. [m]

    Returns
    -------
    (k,) bool array
        True inside.  A point exactly on an edge may be either.

    Raises
    ------
    DomainError
        If there is no ring, or one is not a ring, or a point is not finite.
    """
    edges = ring_edges(rings)
    places = np.ascontiguousarray(points, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(places).all():
        raise DomainError("`points` must be finite numbers, got one that is not")
    inside = np.empty(len(places), dtype=np.bool_)
    kernels.inside_each(edges, places, inside)
    return inside


def resampled(ring: ArrayLike, step: Length) -> Lengths:
    """Points equally spaced along a ring, from its first corner on.

    Parameters
    ----------
    ring : Lengths, (n, 2) array
        East and north of its corners. [m]
    step : Length
        Wanted spacing; the nearest that divides the ring evenly is taken. [m], > 0

    Returns
    -------
    Lengths, (k, 2) array
        East and north of at least 3 points on the ring. [m]

    Raises
    ------
    DomainError
        If it is not a ring or has no length, or the step is not above 0.
    """
    corners = checked_ring(ring)
    if not step > 0.0:
        raise DomainError(f"`step` must be above 0 m, got {step} m")
    stations = np.concatenate([[0.0], np.cumsum(_edge_lengths(corners))])
    if stations[-1] == 0.0:
        raise DomainError("`ring` must have a length, got all corners at one place")
    count = max(3, round(stations[-1] / step))
    along = stations[-1] * np.arange(count) / count
    closed = _closed(corners)
    return np.column_stack([np.interp(along, stations, closed[:, axis]) for axis in (0, 1)])


def longest_fetch(rings: Sequence[ArrayLike]) -> tuple[Length, Lengths]:
    """Longest straight line of open water: how far the wind can blow over it without a shore.

    Parameters
    ----------
    rings : sequence of (n, 2) arrays
        The outer ring and its islands, in any order and direction. [m]

    Returns
    -------
    Length
        Length of the line. [m]
    Lengths, (2, 2) array
        East and north of its two ends, both of them corners of the rings. [m]

    Raises
    ------
    DomainError
        If there is no ring, or one is not a ring.

    Notes
    -----
    All lines from corner to corner that cross no edge are compared, so the answer does not depend
    on directions of the compass.  The true longest line may end between two corners, so this one is
    at most a little short, by an amount that vanishes with the spacing of the corners; where an
    exact line would just graze a corner, it may be the next best one.
    """
    line = np.zeros(4)
    kernels.longest_line(ring_edges(rings), line)
    return hypot(line[2] - line[0], line[3] - line[1]), line.reshape(2, 2)


def _closed(corners: FloatArray) -> FloatArray:
    """The corners with the first one again at the end (quicker than `np.roll`, which each frame felt)."""
    return np.concatenate([corners, corners[:1]])


def _edge_lengths(corners: FloatArray) -> FloatArray:
    """Length of the edge after each corner."""
    closed = _closed(corners)
    edges = closed[1:] - closed[:-1]
    return np.hypot(edges[:, 0], edges[:, 1])


def _edges_with_length(ring: ArrayLike) -> FloatArray:
    """Edges of a ring without those of no length, so that neighbours in the list share a corner."""
    edges = ring_edges([ring])
    return edges[(edges[:, 0] != edges[:, 2]) | (edges[:, 1] != edges[:, 3])]
