"""The regular grid of nodes that carries every surface.

Node (row, column) lies at ``(origin_east + column * spacing, origin_north + row * spacing)``, so
row 0 is the south edge.  A surface is an array of node elevations of shape ``(rows, columns)``.
The squares between the nodes are the cells, of shape ``(rows - 1, columns - 1)``.

Each cell is two flat triangles.  The diagonal between them runs from the south-west to the
north-east node where ``row + column`` is even, and from the south-east to the north-west node
where it is odd; all areas, volumes, sections and contours use these same triangles.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Length, Lengths


@dataclass(frozen=True, slots=True)
class Grid:
    """A regular grid: where its south-west node is, the spacing, and how many nodes it has.

    Parameters
    ----------
    origin_east : Length
        East of the south-west node. [m]
    origin_north : Length
        North of the south-west node. [m]
    spacing : Length
        Distance between neighbouring nodes, the same in both directions. [m], > 0
    columns : int
        Nodes from west to east, at least 2.
    rows : int
        Nodes from south to north, at least 2.

    Raises
    ------
    DomainError
        If a number is not finite, the spacing not above 0, or a count below 2.

    Examples
    --------
    >>> grid = Grid(origin_east=10.0, origin_north=0.0, spacing=0.5, columns=4, rows=3)
    >>> grid.shape
    (3, 4)
    >>> grid.extent
    (10.0, 0.0, 11.5, 1.0)
    """

    origin_east: Length
    origin_north: Length
    spacing: Length
    columns: int
    rows: int

    def __post_init__(self) -> None:
        for name in ("origin_east", "origin_north"):
            if not isfinite(getattr(self, name)):
                raise DomainError(f"`{name}` must be a finite number, got {getattr(self, name)} m")
        if not (isfinite(self.spacing) and self.spacing > 0.0):
            raise DomainError(f"`spacing` must be above 0 m, got {self.spacing} m")
        for name in ("columns", "rows"):
            if getattr(self, name) < 2:
                raise DomainError(f"`{name}` must be at least 2 nodes, got {getattr(self, name)}")

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of nodes: the shape of a surface."""
        return self.rows, self.columns

    @property
    def cells_shape(self) -> tuple[int, int]:
        """Rows and columns of cells: the shape of a coverage."""
        return self.rows - 1, self.columns - 1

    @property
    def east(self) -> Lengths:
        """East of each column of nodes, read-only. [m]"""
        return _nodes(self.origin_east, self.spacing, self.columns)

    @property
    def north(self) -> Lengths:
        """North of each row of nodes, read-only. [m]"""
        return _nodes(self.origin_north, self.spacing, self.rows)

    @property
    def cell_area(self) -> Area:
        """Plan area of one cell. [m²]"""
        return self.spacing * self.spacing

    @property
    def extent(self) -> tuple[Length, Length, Length, Length]:
        """West, south, east and north edge of the nodes. [m]"""
        return (
            self.origin_east,
            self.origin_north,
            self.origin_east + (self.columns - 1) * self.spacing,
            self.origin_north + (self.rows - 1) * self.spacing,
        )


def _nodes(origin: Length, spacing: Length, count: int) -> Lengths:
    """Coordinates of equally spaced nodes, read-only."""
    nodes = origin + spacing * np.arange(count, dtype=np.float64)
    nodes.flags.writeable = False
    return nodes
