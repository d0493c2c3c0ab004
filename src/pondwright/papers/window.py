"""The window of a sheet on the site: which scale, and where a place comes to lie on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.base.units import Shown

FOOT = 0.3048
METRIC_SCALES = (20, 25, 50, 75, 100, 150, 200, 250, 300, 400, 500, 750, 1000, 1500, 2000, 2500, 5000, 10_000)
FEET_TO_AN_INCH = (2, 4, 5, 8, 10, 15, 20, 30, 40, 50, 60, 80, 100, 200, 300, 400, 500, 1000)

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Window:
    """A rectangle of paper (mm from the top left) that shows a rectangle of the site at a scale."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    west: float
    south: float
    scale: float

    @property
    def mm(self) -> float:
        """Millimetres on paper for one metre on site."""
        return 1000.0 / self.scale

    def to_paper(self, points: Points) -> Points:
        """Places (n, 2) [m] to points on paper [mm]."""
        site = np.asarray(points, dtype=np.float64)
        right = self.left_mm + (site[..., 0] - self.west) * self.mm
        down = self.top_mm + self.height_mm - (site[..., 1] - self.south) * self.mm
        return np.stack([right, down], axis=-1)

    def box(self) -> shapely.Polygon:
        """Rectangle of the window on paper [mm]."""
        return shapely.box(
            self.left_mm, self.top_mm, self.left_mm + self.width_mm, self.top_mm + self.height_mm
        )

    def clipped(self, line: Points) -> list[Points]:
        """Pieces on paper [mm] of a line on site [m] that lie inside the window."""
        if len(line) < 2:
            return []
        cut = shapely.intersection(shapely.linestrings(self.to_paper(line)), self.box())
        return [shapely.get_coordinates(part) for part in shapely.get_parts(cut) if part.length > 0.0]


def fitted(
    extent: Sequence[float],
    left_mm: float,
    top_mm: float,
    width_mm: float,
    height_mm: float,
    shown: Shown,
    foot_mm: float = 0.0,
) -> Window:
    """Window at the largest usual scale that shows an extent whole, with the extent in its middle.

    Parameters
    ----------
    extent : (4,) sequence of Length       West, south, east, north of what must be seen. [m]
    left_mm, top_mm, width_mm, height_mm   The paper that there is. [mm]
    shown : Shown                          Feet have scales of whole feet to the inch.
    foot_mm : float                        Paper at the bottom to keep free for the scale bar. [mm]

    Returns
    -------
    Window
    """
    west, south, east, north = extent
    scales = METRIC_SCALES if shown == "metric" else tuple(12 * feet for feet in FEET_TO_AN_INCH)
    free_mm = height_mm - foot_mm
    needed = max((east - west) * 1000.0 / width_mm, (north - south) * 1000.0 / free_mm)
    scale = next((one for one in scales if one >= needed), needed)
    spare_east = width_mm * scale / 1000.0 - (east - west)
    spare_north = free_mm * scale / 1000.0 - (north - south)
    low = south - spare_north / 2 - foot_mm * scale / 1000.0
    return Window(left_mm, top_mm, width_mm, height_mm, west - spare_east / 2, low, scale)


def scale_words(scale: float, shown: Shown) -> str:
    """A scale as people write it: ``1:100``, or ``1 in = 10 ft``."""
    return f"1:{scale:g}" if shown == "metric" else f"1 in = {scale / 12:g} ft"


def contour_interval(low: float, high: float, shown: Shown) -> tuple[float, int]:
    """Interval of the contours between two elevations [m], and which ones are index lines (every n-th)."""
    steps = (
        [(0.05, 5), (0.1, 5), (0.2, 5), (0.25, 4), (0.5, 4), (1.0, 5), (2.0, 5), (5.0, 4)]
        if shown == "metric"
        else [(0.25 * FOOT, 4), (0.5 * FOOT, 4), (FOOT, 5), (2 * FOOT, 5), (5 * FOOT, 4), (10 * FOOT, 5)]
    )
    return next((one for one in steps if (high - low) / one[0] <= 16), steps[-1])
