"""Station along a line of the point that is nearest to each node."""

from __future__ import annotations

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.kernels.compile import READ_2D, WRITE_2D, float64, kernel, void


@kernel(void(READ_2D, float64, float64, float64, WRITE_2D))
def nearest_station(
    line: FloatArray, origin_east: float, origin_north: float, spacing: float, station: FloatArray
) -> None:
    """Fill `station` with the length along the line up to the point nearest to each node."""
    rows, columns = station.shape
    for row in range(rows):
        north = origin_north + row * spacing
        for column in range(columns):
            east = origin_east + column * spacing
            least = np.inf
            run = 0.0
            for piece in range(len(line) - 1):
                along_east = line[piece + 1, 0] - line[piece, 0]
                along_north = line[piece + 1, 1] - line[piece, 1]
                squared = along_east * along_east + along_north * along_north
                length = np.sqrt(squared)
                share = 0.0
                if squared > 0.0:
                    to_east, to_north = east - line[piece, 0], north - line[piece, 1]
                    share = (to_east * along_east + to_north * along_north) / squared
                    share = min(max(share, 0.0), 1.0)
                off_east = east - line[piece, 0] - share * along_east
                off_north = north - line[piece, 1] - share * along_north
                away = off_east * off_east + off_north * off_north
                if away < least:
                    least = away
                    station[row, column] = run + share * length
                run += length
