"""Where each cubic metre goes: the haul plan.

What is dug lies in places, and so does what is placed; piles take what waits, and gates lead off the site.
The plan that needs the least machine time is a transport problem: every source gives all it has, every place
that is filled gets all it needs, a pile takes no more than it holds.  Topsoil and muck go their own ways,
and never into a bank.

See Also
--------
pondwright.rooms.earth.cutfill : the volumes that are moved here.
pondwright.rooms.earth.machines : the time of a cubic metre.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import FloatArray, Length, Lengths, Time, Volume, Volumes
from pondwright.geometry.grid import Grid

PILE, PLACED, OFF_SITE, NOWHERE = "pile", "placed", "off site", "nowhere"
"""Kinds of ends of a haul."""

TOPSOIL, MUCK, SOIL = "topsoil", "muck", "soil"
STREAMS = (TOPSOIL, MUCK, SOIL)
"""Streams of soil that are never mixed."""

NO_PLACE: Time = 1e6
"""Time of a cubic metre that has nowhere to go: more than any haul, so that it is the last choice. [s]"""

LITTLE: Volume = 1e-6
"""Volume that is no haul. [m³]"""


@dataclass(frozen=True, slots=True)
class Source:
    """Soil that is dug at a place, or brought through a gate: its stream and its volume in the bank."""

    east: Length
    north: Length
    stream: str
    volume: Volume
    extra: Time = 0.0


@dataclass(frozen=True, slots=True)
class End:
    """Where soil may go.

    `need` is bank volume that must come here (placed soil), `room` is what may (piles, gates); `extra` is
    time of each cubic metre beyond the way on the site, such as that of a truck.
    """

    name: str
    kind: str
    east: Length
    north: Length
    takes: frozenset[str]
    need: Volume = 0.0
    room: Volume = np.inf
    extra: Time = 0.0


@dataclass(frozen=True, slots=True)
class Haul:
    """Soil that goes from one place to another, in the bank, with the time that carrying it takes."""

    stream: str
    start: tuple[Length, Length]
    end: End
    volume: Volume
    distance: Length
    time: Time


@dataclass(frozen=True, slots=True)
class HaulPlan:
    """All hauls, and the time that they take together."""

    hauls: tuple[Haul, ...]
    time: Time

    def volume_to(self, name: str, stream: str | None = None) -> Volume:
        """Soil that goes to an end by its name, in the bank.

        Parameters
        ----------
        name : str
        stream : str     Only of this stream; none for all.

        Returns
        -------
        Volume           [m³]
        """
        return sum(
            haul.volume
            for haul in self.hauls
            if haul.end.name == name and (stream is None or haul.stream == stream)
        )

    def volume_from(self, place: tuple[Length, Length]) -> Volume:
        """Soil that comes from a place, in the bank.

        Parameters
        ----------
        place : (east, north)     [m]

        Returns
        -------
        Volume                    [m³]
        """
        return sum(haul.volume for haul in self.hauls if haul.start == place)


def blocks(volume: Volumes, grid: Grid, size: Length) -> tuple[Lengths, Volumes]:
    """Volumes of cells gathered into square blocks: the middle of each, weighted by volume, and its sum.

    Parameters
    ----------
    volume : (rows-1, columns-1) array     Of every cell. [m³], >= 0
    grid : Grid                            Where the cells are.
    size : Length                          Of a block. [m], > 0

    Returns
    -------
    tuple of (k, 2) and (k,) arrays        Only blocks that hold anything. [m], [m³]

    Raises
    ------
    DomainError                            If the size is not above 0.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=5, rows=3)
    >>> middles, sums = blocks(np.array([[1.0, 3.0, 0.0, 0.0], [0.0, 0.0, 0.0, 2.0]]), grid, 2.0)
    >>> middles.tolist(), sums.tolist()
    ([[1.25, 0.5], [3.5, 1.5]], [4.0, 2.0])

    hand

    References
    ----------
    .. [1] Derived: sums and centres of mass.
    """
    if not size > 0.0:
        raise DomainError(f"`size` must be above 0 m, got {size:g} m")
    rows, columns = np.nonzero(volume > LITTLE * grid.cell_area)
    amounts = volume[rows, columns]
    side = max(round(size / grid.spacing), 1)
    key = (rows // side) * (grid.columns // side + 1) + columns // side
    _, place = np.unique(key, return_inverse=True)
    sums = np.bincount(place, weights=amounts).astype(np.float64)
    east = np.bincount(place, weights=amounts * (grid.origin_east + (columns + 0.5) * grid.spacing))
    north = np.bincount(place, weights=amounts * (grid.origin_north + (rows + 0.5) * grid.spacing))
    held = np.maximum(sums, np.finfo(np.float64).tiny)
    return np.column_stack([east / held, north / held]), sums


def haul_plan(
    sources: Sequence[Source], ends: Sequence[End], time_of: Mapping[str, tuple[Time, Time]]
) -> HaulPlan:
    """Hauls that need the least machine time.

    Parameters
    ----------
    sources : Source
    ends : End                     What has no other end goes to one of the kind `nowhere`, made here.
    time_of : pairs by stream      Time of a cubic metre in the bank: without the way, and a metre of it. [s]

    Returns
    -------
    HaulPlan

    Raises
    ------
    DomainError                    If what must be placed is more than what is dug and brought.

    Notes
    -----
    Least Σ t x with Σ x = all that a source has, Σ x = what an end needs, Σ x <= the room of an end; solved
    as a linear programme (HiGHS).  Distances are straight.

    References
    ----------
    .. [1] The transport problem of linear programming.
    """
    from scipy.optimize import linprog  # a third of a second to load, and most questions do not need it
    from scipy.sparse import coo_array

    given = [source for source in sources if source.volume > LITTLE]
    everywhere = [*ends, End(NOWHERE, NOWHERE, 0.0, 0.0, frozenset(STREAMS))]
    if not given:
        return HaulPlan((), 0.0)
    pairs = [
        (start, stop)
        for start, source in enumerate(given)
        for stop, end in enumerate(everywhere)
        if source.stream in end.takes and ((end.kind == PLACED and end.need > LITTLE) or end.kind != PLACED)
    ]
    starts, stops = (np.array(side) for side in zip(*pairs, strict=True))
    distances, times = _ways(given, everywhere, starts, stops, time_of)
    columns = np.arange(len(pairs))
    ones = np.ones(len(pairs))
    needed = np.array([end.kind == PLACED for end in everywhere])
    limited = np.array([end.kind != PLACED and np.isfinite(end.room) for end in everywhere])
    out = coo_array((ones, (starts, columns)), shape=(len(given), len(pairs)))
    into = coo_array((ones, (stops, columns)), shape=(len(everywhere), len(pairs))).tocsr()
    equal = _stacked(out, into[np.flatnonzero(needed)])
    needs = [end.need for end in everywhere if end.kind == PLACED]
    right = np.array([*(source.volume for source in given), *needs])
    found = linprog(
        times,
        A_ub=into[np.flatnonzero(limited)] if limited.any() else None,
        b_ub=[end.room for end, has in zip(everywhere, limited, strict=True) if has] or None,
        A_eq=equal,
        b_eq=right,
        method="highs",
    )
    if not found.success:
        raise DomainError(f"`placed` soil must be dug or brought, got {sum(needs):.0f} m³ to place")
    moved = np.flatnonzero(found.x > LITTLE)
    hauls = tuple(
        Haul(
            given[starts[way]].stream,
            (given[starts[way]].east, given[starts[way]].north),
            everywhere[stops[way]],
            float(found.x[way]),
            float(distances[way]),
            0.0 if everywhere[stops[way]].kind == NOWHERE else float(found.x[way] * times[way]),
        )
        for way in moved
    )
    return HaulPlan(hauls, sum(haul.time for haul in hauls))


def _ways(
    sources: Sequence[Source],
    ends: Sequence[End],
    starts: NDArray[np.intp],
    stops: NDArray[np.intp],
    time_of: Mapping[str, tuple[Time, Time]],
) -> tuple[Lengths, FloatArray]:
    """Distance of each pair, and the time of a cubic metre over it."""
    from_places = np.array([(source.east, source.north) for source in sources])[starts]
    to_places = np.array([(end.east, end.north) for end in ends])[stops]
    nowhere = np.array([end.kind == NOWHERE for end in ends])[stops]
    distances = np.where(nowhere, 0.0, np.hypot(*(to_places - from_places).T))
    fixed = np.array([time_of[source.stream][0] + source.extra for source in sources])[starts]
    each = np.array([time_of[source.stream][1] for source in sources])[starts]
    extra = np.array([end.extra for end in ends])[stops]
    return distances, np.where(nowhere, NO_PLACE, fixed + each * distances + extra)


def _stacked(one: object, other: object) -> object:
    from scipy.sparse import vstack

    return vstack([one, other]).tocsr()
