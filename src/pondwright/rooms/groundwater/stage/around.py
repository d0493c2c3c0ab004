"""The ground round a dig or an old pond, as the season of digging finds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from shapely import Polygon

from pondwright.base.kinds import Elevation, Elevations, Length, Lengths, Ratio
from pondwright.geometry.grid import Grid
from pondwright.rooms.groundwater.aquifer import LEVELS
from pondwright.rooms.groundwater.dewatering import Strata
from pondwright.rooms.groundwater.drawdown import drainable_share
from pondwright.rooms.groundwater.stage.aquifer import AquiferResult, Fit, SeasonFit
from pondwright.rooms.site.soils import SoilLayers, soil_column

MOST_PLACES = 24
"""Places round a dig at which the soils are asked."""

AWAY: Length = 5.0
"""Groundwater and soils are asked this far outside the edge of a dig; common practice. [m]"""

GUESSED_KIND = "silt"
"""Soil where none is told."""


@dataclass(frozen=True, slots=True)
class Stand:
    """Layers round a place, all its sides together, and how high the groundwater stands there. [m]"""

    strata: Strata
    head: Elevation


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """The model of the groundwater in one season, and the soils."""

    season: str
    aquifer: AquiferResult
    fits: SeasonFit | None
    soils: SoilLayers

    @property
    def known(self) -> bool:
        """Whether any reading tells the groundwater."""
        return self.fits is not None

    def at(self, ring: Lengths) -> Mapping[str, Stand] | None:
        """Ground round a ring: low, likely and high permeability; None where nothing was read."""
        if self.fits is None:
            return None
        points = _outside(ring, self.aquifer.grid)
        return {level: _stand(self.aquifer, getattr(self.fits, level), points) for level in LEVELS}

    def water(self, points: Lengths) -> Elevations:
        """Groundwater at some places before anything is dug; infinite where nothing was read. [m]"""
        if self.fits is None:
            return np.full(len(points), np.inf)
        grid, head = self.aquifer.grid, self.fits.likely.head
        columns = np.clip(np.rint((points[:, 0] - grid.origin_east) / grid.spacing), 0, grid.columns - 1)
        rows = np.clip(np.rint((points[:, 1] - grid.origin_north) / grid.spacing), 0, grid.rows - 1)
        return head[rows.astype(np.int64), columns.astype(np.int64)]

    def kinds(self, east: float, north: float, bottom: Elevation) -> tuple[str, ...]:
        """Kinds of soil from the ground down to an elevation at a place."""
        found = soil_column(self.soils, east, north)
        return tuple(layer.kind for layer in found if layer.top > bottom) or (GUESSED_KIND,)

    def drainable(self, ring: Lengths, top: Elevation, bottom: Elevation) -> Ratio:
        """Mean share of the soil between two elevations that drains, round a ring. [-]"""
        shares, weights = [], []
        for east, north in _outside(ring, self.soils.grid):
            for layer in soil_column(self.soils, float(east), float(north)):
                under = bottom if layer.bottom is None else max(layer.bottom, bottom)
                shares.append(drainable_share(layer.kind))
                weights.append(max(min(layer.top, top) - under, 0.0))
        if sum(weights) <= 0.0:
            return drainable_share(GUESSED_KIND)
        return float(np.average(shares, weights=weights))


def around(results: Mapping[str, Any], season: str) -> Around:
    """Ground of the season of digging, or of the other one where only that was read.

    Parameters
    ----------
    results : mapping     Of earlier stages.
    season : str          `dry` or `wet`.

    Returns
    -------
    Around
    """
    aquifer: AquiferResult = results["groundwater.aquifer"]
    fits = aquifer.seasons.get(season) or next(iter(aquifer.seasons.values()), None)
    return Around(season, aquifer, fits, results["site.layers"].soils)


def _stand(aquifer: AquiferResult, fit: Fit, points: Lengths) -> Stand:
    """Layers at some places as the sectors of one circle: each lets through its own part."""
    grid, tops, bottoms, passes, heads = aquifer.grid, [], [], [], []
    for east, north in points:
        column = min(max(round((east - grid.origin_east) / grid.spacing), 0), grid.columns - 1)
        row = min(max(round((north - grid.origin_north) / grid.spacing), 0), grid.rows - 1)
        at = (slice(None), row, column)
        bottom = np.maximum(aquifer.layers_bottom[at], aquifer.base[row, column])
        there = aquifer.layers_top[at] > bottom
        tops.append(aquifer.layers_top[at][there])
        bottoms.append(bottom[there])
        passes.append(fit.permeability[at][there] / len(points))
        heads.append(fit.head[row, column])
    strata = Strata(np.concatenate(tops), np.concatenate(bottoms), np.concatenate(passes))
    return Stand(strata, float(np.mean(heads)))


def _outside(ring: Lengths, grid: Grid) -> Lengths:
    """Some places outside a ring, no farther off than the plan reaches."""
    around = np.array(Polygon(ring).buffer(0.0).buffer(AWAY).convex_hull.exterior.coords)[:-1]
    west, south, east, north = grid.extent
    return np.clip(around[:: max(len(around) // MOST_PLACES, 1)], (west, south), (east, north))
