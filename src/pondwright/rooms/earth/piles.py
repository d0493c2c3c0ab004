"""Piles of soil: how large a heap is, and how much a place takes.

See Also
--------
pondwright.rooms.earth.haul : fills the piles.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Area, Areas, Length, Lengths, Volume, Volumes

STEPS = 24
"""Layers in which the volume over a ring is summed."""


@dataclass(frozen=True, slots=True)
class Heap:
    """A round heap, flat on top where it may not be as high as its cone."""

    radius: Length
    height: Length
    top_radius: Length

    @property
    def footprint(self) -> Area:
        """Ground that it covers. [m²]"""
        return math.pi * self.radius**2

    @property
    def volume(self) -> Volume:
        """Soil in it, loose. [m³]"""
        r, t = self.radius, self.top_radius
        return math.pi * self.height / 3.0 * (r * r + r * t + t * t)


def heap(volume: Volume, angle: Angle, most_height: Length = math.inf) -> Heap:
    """Round heap of a volume.

    Parameters
    ----------
    volume : Volume           Loose. [m³], >= 0
    angle : Angle             At which it stands. [rad], 0 < angle < π/2
    most_height : Length      That it may have. [m], > 0

    Returns
    -------
    Heap

    Raises
    ------
    DomainError               If the angle or the height has no heap.

    Notes
    -----
    A cone has V = π r³ tan θ / 3.  Where its height r tan θ is too much, a frustum of the height h has
    radii r and r - h / tan θ, and r follows from V = π h / 3 (r² + r t + t²).

    Examples
    --------
    >>> found = heap(100.0, math.radians(37.0))
    >>> round(found.radius, 3), round(found.height, 3), round(found.footprint, 2)
    (5.023, 3.785, 79.26)

    hand

    References
    ----------
    .. [1] Derived: cone and frustum.
    """
    if not (0.0 < angle < 0.5 * math.pi and most_height > 0.0):
        raise DomainError(f"`angle` must be between 0 and π/2 rad, got {angle:g} rad")
    steep = math.tan(angle)
    radius = (3.0 * volume / (math.pi * steep)) ** (1.0 / 3.0)
    if radius * steep <= most_height:
        return Heap(radius, radius * steep, 0.0)
    # r² + r t + t² with t = r - b is 3 r² - 3 r b + b²: a quadratic in r.
    back = most_height / steep
    whole = 3.0 * volume / (math.pi * most_height)
    radius = 0.5 * back + math.sqrt(max(whole / 3.0 - back * back / 12.0, 0.0))
    return Heap(radius, most_height, radius - back)


def windrow_volume(width: Length, ridge: Length, angle: Angle) -> Volume:
    """Soil in a long heap with round ends.

    Parameters
    ----------
    width : Length      Of its foot. [m], >= 0
    ridge : Length      Length of the ridge between the ends. [m], >= 0
    angle : Angle       At which it stands. [rad]

    Returns
    -------
    Volume              Loose. [m³]

    Notes
    -----
    (w h / 2) L + (π / 3) (w / 2)² h with h = (w / 2) tan θ.

    Examples
    --------
    >>> round(windrow_volume(6.0, 10.0, math.radians(37.0)), 2)
    89.13

    hand

    References
    ----------
    .. [1] Derived: prism and cone.
    """
    height = 0.5 * width * math.tan(angle)
    return 0.5 * width * height * ridge + math.pi / 3.0 * (0.5 * width) ** 2 * height


def pile_capacity(ring: Lengths, angle: Angle, most_height: Length) -> Volume:
    """Soil that a place takes inside its ring, at its angle up to its height.

    Parameters
    ----------
    ring : (n, 2) array       Its foot. [m]
    angle : Angle             At which it stands. [rad], 0 < angle < π/2
    most_height : Length      [m], > 0

    Returns
    -------
    Volume                    Loose. [m³]

    Notes
    -----
    Areas of the foot drawn in by z / tan θ, summed over the height by Simpson's rule: exact for straight
    sides, because such an area is a quadratic of the height.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    >>> round(pile_capacity(square, math.radians(45.0), 2.0), 2)
    130.67

    hand

    References
    ----------
    .. [1] Derived: Simpson's rule on offset areas.
    """
    step, areas = _areas(ring, angle, most_height)
    return float(_panels(step, areas).sum())


def _areas(ring: Lengths, angle: Angle, most_height: Length) -> tuple[Length, Areas]:
    """Areas of the foot drawn in, at even heights, and the step between them."""
    foot = Polygon(ring)
    heights = np.linspace(0.0, most_height, 2 * STEPS + 1)
    drawn = [foot.buffer(-height / math.tan(angle), join_style="mitre").area for height in heights]
    return float(heights[1]), np.array(drawn)


def _panels(step: Length, areas: Areas) -> Volumes:
    """Volume between every second height, by Simpson's rule."""
    return np.asarray(step / 3.0 * (areas[:-2:2] + 4.0 * areas[1:-1:2] + areas[2::2]), dtype=np.float64)


def pile_height(loose: Volume, ring: Lengths, angle: Angle, most_height: Length) -> Length:
    """Height of a pile that fills a place inside its ring.

    Parameters
    ----------
    loose : Volume            In it. [m³], >= 0
    ring : (n, 2) array       Its foot. [m]
    angle : Angle             At which it stands. [rad], 0 < angle < π/2
    most_height : Length      That it may have. [m], > 0

    Returns
    -------
    Length                    At most the height that it may have. [m]

    Notes
    -----
    Volume over the heights of `pile_capacity`; between two of them the area is the parabola through three.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    >>> round(pile_height(130.6667, square, math.radians(45.0), 3.0), 4)
    2.0

    hand

    References
    ----------
    .. [1] Derived: the inverse of `pile_capacity`.
    """
    step, areas = _areas(ring, angle, most_height)
    below = np.concatenate([[0.0], np.cumsum(_panels(step, areas))])
    panel = int(np.searchsorted(below, loose, side="right")) - 1
    if panel >= STEPS:
        return most_height
    low, middle, high = areas[2 * panel : 2 * panel + 3]
    bend, rise = 0.5 * (low - 2.0 * middle + high), 0.5 * (4.0 * middle - 3.0 * low - high)
    rest = loose - below[panel]
    start, stop = 0.0, 2.0
    for _round in range(50):
        half = 0.5 * (start + stop)
        held = step * half * (low + half * (0.5 * rise + half * bend / 3.0))
        start, stop = (half, stop) if held < rest else (start, half)
    return float(step * (2 * panel + start))
