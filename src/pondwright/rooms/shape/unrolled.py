"""The shore unrolled: the whole edge of a body as one long strip.

A builder thinks by walking the edge.  Stations run along the outer shore; at each one stand the existing
ground, the top of the finished bank, and how far that top lies above the water.

See Also
--------
:mod:`pondwright.rooms.shape.grading`  makes the finish that is read here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pondwright.base.kinds import Elevations, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import resampled, signed_area
from pondwright.geometry.surface import surface_at

__all__ = ["UnrolledShore", "unrolled_shore"]

LOOKS = 7
"""Places across the bank at which its top is looked for; its crest is level, so a few are enough."""


@dataclass(frozen=True, slots=True, eq=False)
class UnrolledShore:
    """The edge by stations: chainage from the first peg, place, existing ground, top of the bank.

    `outer` is the place of the outer edge of the bank, straight out from `points`.
    """

    station: Lengths
    points: Lengths
    outer: Lengths
    ground: Elevations
    rim: Elevations

    def crest(self, water: Elevations, freeboard: Length) -> Elevations:
        """Top of the bank that is built: no higher than the freeboard asks, also where a cut face rises on.

        Parameters
        ----------
        water : (m,) array of Elevation
            At rest beside each station. [m]
        freeboard : Length
            Of the bank. [m], >= 0

        Returns
        -------
        (m,) array of Elevation
            [m]
        """
        return np.minimum(self.rim, water + freeboard)


def unrolled_shore(
    ring: Lengths, ground: Elevations, finish: Elevations, grid: Grid, bank_width: Length, step: Length
) -> UnrolledShore:
    """Edge of a body by stations along its outer shore.

    The rim at a station is the highest finish across the bank, straight out from the shore: what the
    water would have to climb there.

    Parameters
    ----------
    ring : (m, 2) array of Length
        The outer shore. [m]
    ground : (rows, columns) array of Elevation
        Existing ground at the nodes. [m]
    finish : (rows, columns) array of Elevation
        Finish at the nodes. [m]
    grid : Grid
        Where the nodes are.
    bank_width : Length
        From the shore to the outer edge of the crest. [m], >= 0
    step : Length
        Greatest distance between stations. [m], > 0

    Returns
    -------
    UnrolledShore

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=11, rows=11)
    >>> flat, raised = np.zeros(grid.shape), np.ones(grid.shape)
    >>> square = np.array([[3.0, 3.0], [7.0, 3.0], [7.0, 7.0], [3.0, 7.0]])
    >>> edge = unrolled_shore(square, flat, raised, grid, bank_width=1.0, step=1.0)
    >>> len(edge.station), float(edge.ground.max()), float(edge.rim.min())
    (16, 0.0, 1.0)
    """
    points = resampled(ring, step)
    ahead = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    outward = np.column_stack([ahead[:, 1], -ahead[:, 0]]) * np.sign(signed_area(points))
    outward /= np.maximum(np.hypot(*outward.T), 1e-12)[:, None]
    across = np.linspace(0.0, bank_width, LOOKS)
    places = points[None] + across[:, None, None] * outward[None]
    low = (grid.origin_east, grid.origin_north)
    inside = np.clip(places, low, (grid.east[-1], grid.north[-1]))
    heights = surface_at(finish, grid, inside.reshape(-1, 2)).reshape(LOOKS, -1)
    lengths = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    return UnrolledShore(
        station=np.concatenate([[0.0], np.cumsum(lengths)[:-1]]),
        points=points,
        outer=inside[-1],
        ground=surface_at(ground, grid, points),
        rim=heights.max(axis=0),
    )
