"""Compiled loops that find the nodes at which a layer of the finish changed and this can be seen."""

from __future__ import annotations

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import READ_2D, READ_BYTES_2D, WRITE_BYTES_2D, float64, kernel, void
from pondwright.geometry.kernels.grading import PLACED_SLOPE


@kernel(void(READ_2D, READ_2D, READ_2D, READ_BYTES_2D, float64, WRITE_BYTES_2D))
def touched_nodes(
    ground: FloatArray,
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
    level: float,
    touched: np.ndarray,
) -> None:
    """Mark the nodes at which a layer, laid into the ground alone, leaves any trace."""
    for row in range(ground.shape[0]):
        for column in range(ground.shape[1]):
            height = ground[row, column]
            touched[row, column] = (
                (region[row, column] != PLACED_SLOPE)
                | (level + lower[row, column] > height)
                | (level + upper[row, column] < height)
            )


@kernel(void(READ_2D, READ_2D, READ_BYTES_2D, READ_2D, READ_2D, READ_BYTES_2D, READ_BYTES_2D, WRITE_BYTES_2D))
def moved_nodes(
    lower: FloatArray,
    upper: FloatArray,
    region: np.ndarray,
    lower_now: FloatArray,
    upper_now: FloatArray,
    region_now: np.ndarray,
    counts: np.ndarray,
    moved: np.ndarray,
) -> None:
    """Mark in addition the nodes that count at which the limits of a layer are other ones."""
    for row in range(moved.shape[0]):
        for column in range(moved.shape[1]):
            moved[row, column] |= (counts[row, column] != 0) & (
                (lower[row, column] != lower_now[row, column])
                | (upper[row, column] != upper_now[row, column])
                | (region[row, column] != region_now[row, column])
            )


@kernel(void(READ_2D, READ_2D, float64, WRITE_BYTES_2D))
def shore_nodes(distance: FloatArray, distance_now: FloatArray, reach: float, moved: np.ndarray) -> None:
    """Mark in addition the nodes that come into the water or leave it, and those outside that are near it.

    Near is up to a reach; there a node counts if its distance from the shore changed at all.
    """
    for row in range(moved.shape[0]):
        for column in range(moved.shape[1]):
            before, now = distance[row, column], distance_now[row, column]
            near = (before != now) & (max(before, now) >= -reach) & (min(before, now) <= 0.0)
            moved[row, column] |= ((before > 0.0) != (now > 0.0)) | near
