"""A shore in steps on a grid, against which a horizon is held.

See Also
--------
pondwright.rooms.shape.views : what is seen of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths, Ratios
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.sight import horizon_between
from pondwright.geometry.surface import node_shares, node_units
from pondwright.rooms.shape.shoreline import step_lengths

__all__ = ["WalkedShore"]


@dataclass(frozen=True, slots=True, eq=False)
class WalkedShore:
    """A shore in steps, as it lies between the nodes of a grid, and the level of the water at each.

    Attributes
    ----------
    nodes, parts : (n, 3) arrays      Nodes round the begin of each step, and their shares.
    steps : (n,) array                Length of each step. [m]
    levels : (n,) array or Elevation  Of the water there. [m]
    """

    nodes: NDArray[np.int32]
    parts: Ratios
    steps: Lengths
    levels: Elevations | Elevation

    @classmethod
    def of(cls, grid: Grid, ring: Lengths, levels: Elevations | Elevation) -> WalkedShore:
        """A ring on a grid; a step that leaves the grid is a :class:`DomainError`.

        Parameters
        ----------
        grid : Grid                    Where the nodes are.
        ring : (n, 2) array            The shore. [m]
        levels : (n,) array or float   Water at each step. [m]
        """
        nodes, parts = node_shares(grid, held_on_grid(grid, ring, "ring"))
        return cls(nodes, parts, step_lengths(ring), levels)

    def seen(self, over: Elevations) -> Length:
        """Length of the steps that begin at a place that stands above the horizon at the nodes [m]."""
        at_shore = np.empty(len(self.nodes))
        horizon_between(np.ascontiguousarray(over), self.nodes, self.parts, at_shore)
        return float(self.steps[at_shore <= self.levels].sum())


def held_on_grid(grid: Grid, points: Lengths, name: str) -> FloatArray:
    """Places in columns and rows, held on the grid against rounding."""
    places = node_units(grid, points)
    last = np.array([grid.columns - 1.0, grid.rows - 1.0])
    if not ((places >= -1e-9) & (places <= last + 1e-9)).all():
        raise DomainError(f"`{name}` must lie inside the grid of the ground")
    return np.minimum(np.maximum(places, 0.0), last)
