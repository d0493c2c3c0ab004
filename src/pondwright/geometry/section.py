"""Sections: the profile of a surface along a line on the plan."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, isfinite

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.surface import surface_at


@dataclass(frozen=True, slots=True)
class SectionLine:
    """A section: chainage along the line [m], points (n, 2) on the plan [m], elevations [m]."""

    chainage: Lengths
    points: Lengths
    elevations: Elevations


def section_along(z: Elevations, grid: Grid, line: Lengths, step: Length) -> SectionLine:
    """Profile of a surface along a line.

    Every bend of the line is a station; between bends the stations are equally spaced, no
    further apart than the step.

    Parameters
    ----------
    z : (rows, columns) array of Elevation
        Elevations at the nodes. [m]
    grid : Grid
        Where the nodes are.
    line : (n, 2) array of Length
        East and north of each bend, at least two of them. [m], inside the grid
    step : Length
        Greatest distance between stations. [m], > 0

    Returns
    -------
    SectionLine
        Stations from the first point of the line to its last. [m]

    Raises
    ------
    DomainError
        If the step is not above 0, the line has no length, or leaves the grid.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=3, rows=3)
    >>> z = np.tile([5.0, 6.0, 7.0], (3, 1))
    >>> section_along(z, grid, np.array([[0.0, 1.0], [2.0, 1.0]]), step=1.0).elevations.tolist()
    [5.0, 6.0, 7.0]
    """
    if not (isfinite(step) and step > 0.0):
        raise DomainError(f"`step` must be above 0 m, got {step} m")
    bends = np.asarray(line, dtype=np.float64).reshape(-1, 2)
    lengths = np.hypot(*np.diff(bends, axis=0).T)
    if not lengths.sum() > 0.0:
        raise DomainError(f"`line` must have a length above 0 m, got {lengths.sum()} m")
    at_bends = np.concatenate([[0.0], np.cumsum(lengths)])
    stations = [
        start + length * np.arange(pieces) / pieces
        for start, length, pieces in zip(
            at_bends[:-1], lengths, [ceil(length / step - 1e-9) for length in lengths], strict=True
        )
        if pieces > 0
    ]
    chainage = np.concatenate([*stations, at_bends[-1:]])
    # A bend given twice would leave the inverse undefined there.
    distinct = np.concatenate([[True], lengths > 0.0])
    points = np.column_stack(
        [np.interp(chainage, at_bends[distinct], bends[distinct, axis]) for axis in (0, 1)]
    )
    elevations = surface_at(z, grid, points)
    chainage.flags.writeable = points.flags.writeable = False
    return SectionLine(chainage, points, elevations)
