"""Drains of the document with their bottoms, and why one of them takes no water."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.job.fields import value_of
from pondwright.job.groundwater import Drain, Outlet, Sump
from pondwright.rooms.groundwater.heads import Ground, OneWay, transmissivity
from pondwright.rooms.groundwater.lines import (
    invert_beside,
    lengths_in_cells,
    line_conductance,
    rising_inverts,
    stations,
)
from pondwright.rooms.groundwater.stage.shared import line_points
from pondwright.rooms.groundwater.stage.waters import ground_at

THERE = frozenset({"existing", "keep", "remove"})
"""States of a row that is there before anything is built."""

BUILT = frozenset({"existing", "keep", "new"})
"""States of a row that is there once the job is built."""

NOWHERE = "it leads nowhere"
OFF = "it is switched off"
SOLID = "its pipe is solid"
STOPPED = "its sump is stopped"


@dataclass(frozen=True, slots=True, eq=False)
class DrainLine:
    """A drain as the model sees it.

    Attributes
    ----------
    points, inverts : (n, 2), (n,) arrays     Corners, and the pipe's bottom there; None is not known. [m]
    backed : Elevation, optional              Water in the pipe stands at least as high. [m]
    radius : Length                           Of the pipe with its gravel. [m]
    ends : str                                Id of the outlet or sump that it ends in at last; may be empty.
    into_sump : bool                          Whether that is a sump.
    why : str                                 Why it takes no water; empty if it does.
    """

    points: Lengths
    inverts: Elevations | None
    backed: Elevation | None
    radius: Length
    ends: str
    into_sump: bool
    why: str

    @property
    def length(self) -> Length:
        """Length of the line. [m]"""
        return float(stations(self.points)[-1])


def drain_lines(
    drains: Mapping[str, Drain],
    outlets: Mapping[str, Outlet],
    sumps: Mapping[str, Sump],
    states: Collection[str],
    *,
    wet: bool,
    stopped: bool = False,
) -> dict[str, DrainLine]:
    """Drains of some states with their bottoms.

    Parameters
    ----------
    drains, outlets, sumps : mapping     Rows of the document.
    states : str                         `THERE` or `BUILT`.
    wet : bool                           The wet season: outlets stand at their flood level.
    stopped : bool                       Sumps do not pump.

    Returns
    -------
    DrainLine by id, those of other states left out.
    """
    there = {name: drain for name, drain in drains.items() if drain.status in states}
    found: dict[str, DrainLine] = {}
    for name in there:
        _follow(name, there, outlets, sumps, wet, found)
    if stopped:
        found = {
            name: replace(line, why=line.why or STOPPED) if line.into_sump else line
            for name, line in found.items()
        }
    return {name: found[name] for name in there}


@dataclass(frozen=True, slots=True, eq=False)
class DrainCells:
    """Where a drain lies: its cells, its length in each, and its bottom there. [m]"""

    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    length: Lengths
    level: Elevations


def drain_cells(lines: Mapping[str, DrainLine], grid: Grid) -> dict[str, DrainCells]:
    """Cells of each drain whose bottom is known.

    Parameters
    ----------
    lines : mapping         From :func:`drain_lines`.
    grid : Grid             The water grid.

    Returns
    -------
    DrainCells by id.
    """
    found = {}
    for name, line in lines.items():
        if line.inverts is not None:
            length, level = lengths_in_cells(grid, line.points, line.inverts)
            rows, columns = np.nonzero(length)
            found[name] = DrainCells(rows, columns, length[rows, columns], level[rows, columns])
    return found


def drain_ways(
    lines: Mapping[str, DrainLine], cells: Mapping[str, DrainCells], ground: Ground, heads: Elevations
) -> dict[str, OneWay]:
    """How easily water gets into each drain that works, cell by cell.

    Parameters
    ----------
    lines : mapping         From :func:`drain_lines`.
    cells : mapping         From :func:`drain_cells`.
    ground : Ground
    heads : (rows, columns) array     About where the water stands, for the thickness of wetted ground. [m]

    Returns
    -------
    OneWay by id.  A drain takes nothing where its bottom lies above the liner.
    """
    ways = {}
    for name, line in lines.items():
        if line.why or name not in cells:
            continue
        own = cells[name]
        below = own.level < ground.cap[own.rows, own.columns]
        rows, columns = own.rows[below], own.columns[below]
        conductance, level = np.zeros(heads.shape), np.zeros(heads.shape)
        wet = np.minimum(heads[rows, columns], ground.cap[rows, columns])
        conductance[rows, columns] = _entry(ground, wet, rows, columns, own.length[below], line.radius)
        level[rows, columns] = (
            own.level[below] if line.backed is None else np.maximum(own.level[below], line.backed)
        )
        ways[name] = OneWay(conductance, level)
    return ways


def _entry(
    ground: Ground, wet: Elevations, rows: np.ndarray, columns: np.ndarray, length: Lengths, radius: Length
) -> FloatArray:
    """Conductance of a line in some cells."""
    here = ground_at(ground, rows, columns)
    # The whole ground below the liner lets water in: that of a dry trench too, once water comes.
    depth = np.maximum(wet - ground.base[rows, columns], radius)
    passes = transmissivity(here, (ground.base[rows, columns] + depth)[None])[0]
    return line_conductance(length, passes / depth, depth, radius)


def _follow(
    name: str,
    drains: Mapping[str, Drain],
    outlets: Mapping[str, Outlet],
    sumps: Mapping[str, Sump],
    wet: bool,
    found: dict[str, DrainLine],
) -> DrainLine:
    """A drain, after those that it runs into; a job refuses drains that run in a ring."""
    if name in found:
        return found[name]
    drain, points = drains[name], line_points(drains[name].place)
    end: Elevation | None = None
    backed: Elevation | None = None
    into, into_sump, why = drain.into or "", False, ""
    ends = into
    if into in outlets:
        outlet = outlets[into]
        end = outlet.invert
        backed = outlet.flood if wet else None
    elif into in sumps:
        end = backed = sumps[into].off
        into_sump = True
    elif into in drains:
        next_one = _follow(into, drains, outlets, sumps, wet, found)
        if next_one.inverts is not None:
            end = invert_beside(next_one.points, next_one.inverts, *map(float, points[-1]))
        backed, ends, into_sump, why = next_one.backed, next_one.ends, next_one.into_sump, next_one.why
        why = "" if why == SOLID else why
    else:
        ends, why = "", NOWHERE
    inverts = np.array(drain.inverts) if drain.inverts else None
    if inverts is None and end is not None:
        inverts = rising_inverts(points, end, value_of(drain, "fall"))
    if inverts is None:
        why = why or NOWHERE
    if not drain.working:
        why = OFF
    elif not drain.slotted:
        why = why or SOLID
    found[name] = DrainLine(
        points, inverts, backed, 0.5 * drain.diameter + value_of(drain, "envelope"), ends, into_sump, why
    )
    return found[name]
