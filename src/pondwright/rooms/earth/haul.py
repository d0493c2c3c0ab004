"""Where each cubic metre goes: the haul plan.

What is dug lies in places, and so does what is placed; piles take what waits, and gates lead off the site.
The plan that needs the least machine time is a transport problem: every source gives all it has, every place
that is filled gets all it needs, a pile takes no more than it holds, and a gate gives no more than it has.
Topsoil and muck go their own ways, and never into a bank.  What nobody takes or gives is told, without a way;
so is what no machine can drive, which is the last resort before that.

See Also
--------
pondwright.rooms.earth.cutfill : the volumes that are moved here.
pondwright.rooms.earth.machines : the time of a cubic metre.
pondwright.rooms.earth.routes : the ways that can be driven.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, vstack

from pondwright.base.errors import DomainError
from pondwright.base.kinds import FloatArray, Length, Lengths, Time, Volume, Volumes
from pondwright.geometry.grid import Grid
from pondwright.rooms.earth.drivable import Line, Place
from pondwright.rooms.earth.routes import Network, Routes, routes

PILE, PLACED, OFF_SITE, NOWHERE = "pile", "placed", "off site", "nowhere"
"""Kinds of ends of a haul."""

TOPSOIL, MUCK, SOIL = "topsoil", "muck", "soil"
STREAMS = (TOPSOIL, MUCK, SOIL)
"""Streams of soil that are never mixed."""

NO_PLACE: Time = 1e6
"""Time of a cubic metre that has nowhere to go: more than any haul, so that it is the last choice. [s]"""

LITTLE: Volume = 1e-6
"""Volume that is no haul. [m³]"""

NO_WAY: Time = 1e5
"""What makes a haul that no machine can drive dearer than all that can be driven. [s]"""

TimeOf = Callable[[Lengths], FloatArray]
"""Machine time of a cubic metre in the bank over each distance. [s]"""


@dataclass(frozen=True, slots=True)
class Source:
    """Soil that is dug at a place, or brought through a gate: its stream and its volume in the bank.

    `name` is that of the gate, and `extra` truck time of each cubic metre.
    """

    east: Length
    north: Length
    stream: str
    volume: Volume
    extra: Time = 0.0
    name: str = ""


@dataclass(frozen=True, slots=True)
class End:
    """Where soil may go.

    `need` is bank volume that must come here (placed soil), `room` is what may (piles, gates); `extra` is
    truck time of each cubic metre.
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
    """Soil that goes from one place to another, in the bank, with the time that carrying it takes.

    `time` is that of machines on the site, `road` that of trucks; `source` names the gate that gives it, and
    `way` is where it goes along.  What is not `driven` is told straight: no machine comes through.
    """

    stream: str
    start: Place
    end: End
    volume: Volume
    distance: Length
    time: Time
    road: Time
    source: str
    way: Line
    driven: bool = True


@dataclass(frozen=True, slots=True)
class HaulPlan:
    """All hauls, the machine time on the site and the truck time that they take, and what nobody gives."""

    hauls: tuple[Haul, ...]
    time: Time
    road: Time = 0.0
    short: Volume = 0.0

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

    def volume_from(self, source: str) -> Volume:
        """Soil that comes through a gate by its name, in the bank.

        Parameters
        ----------
        source : str

        Returns
        -------
        Volume           [m³]
        """
        return sum(haul.volume for haul in self.hauls if haul.source == source)


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
    sources: Sequence[Source],
    ends: Sequence[End],
    time_of: Mapping[str, TimeOf],
    net: Network | None = None,
) -> HaulPlan:
    """Hauls that need the least machine time.

    Parameters
    ----------
    sources : Source
    ends : End                     What has no other end goes to one of the kind `nowhere`, made here.
    time_of : TimeOf by stream     Machine time of a cubic metre in the bank over each distance. [s]
    net : Network                  Where machines drive, with all places on it; none is an open field.

    Returns
    -------
    HaulPlan                       Need that no source meets is told as `short`, and no haul.

    Notes
    -----
    Least Σ t x with Σ x = all that a source has, Σ x = what an end needs, Σ x <= the room of an end; solved
    as a linear programme (HiGHS).  What no machine can drive costs 100,000 s more for a cubic metre, and so
    comes last.

    References
    ----------
    .. [1] The transport problem of linear programming.
    """
    from scipy.optimize import linprog  # a third of a second to load, and most questions do not need it

    given = [source for source in sources if source.volume > LITTLE]
    wanted = [end for end in ends if end.kind != PLACED or end.need > LITTLE]
    everywhere = [*wanted, End(NOWHERE, NOWHERE, 0.0, 0.0, frozenset(STREAMS))]
    need = sum(end.need for end in wanted)
    # What nobody gives is one more source, dearer than any haul, that need give nothing.
    able = [*given, *(Source(0.0, 0.0, stream, need, name=NOWHERE) for stream in STREAMS if need > LITTLE)]
    pairs = [
        (start, stop)
        for start, source in enumerate(able)
        for stop, end in enumerate(everywhere)
        if source.stream in end.takes and (source.name != NOWHERE or end.kind == PLACED)
    ]
    if not pairs:
        return HaulPlan((), 0.0)
    starts, stops = (np.array(side) for side in zip(*pairs, strict=True))
    ways = _Ways.between(able, everywhere, starts, stops, time_of, net)
    found = linprog(ways.cost, **_limits(able, len(given), everywhere, starts, stops), method="highs")
    assert found.success, found.message  # nowhere gives and takes what is left
    hauls = []
    short = 0.0
    for way in np.flatnonzero(found.x > LITTLE):
        volume = float(found.x[way])
        if able[starts[way]].name == NOWHERE:
            short += volume
        else:
            hauls.append(ways.haul(int(way), able[starts[way]], everywhere[stops[way]], volume))
    return HaulPlan(tuple(hauls), sum(haul.time for haul in hauls), sum(haul.road for haul in hauls), short)


@dataclass(frozen=True, slots=True)
class _Ways:
    """Every pair of a source and an end: its length, its times, what it costs, and whether it is driven."""

    starts: NDArray[np.intp]
    stops: NDArray[np.intp]
    distance: Lengths
    carry: FloatArray
    road: FloatArray
    cost: FloatArray
    driven: NDArray[np.bool_]
    led: Routes | None

    @classmethod
    def between(
        cls,
        sources: Sequence[Source],
        ends: Sequence[End],
        starts: NDArray[np.intp],
        stops: NDArray[np.intp],
        time_of: Mapping[str, TimeOf],
        net: Network | None,
    ) -> _Ways:
        """Ways of pairs; to or from nowhere there is none, and it is dearer than any."""
        lie = np.array([(source.east, source.north) for source in sources])
        into = np.array([(end.east, end.north) for end in ends])
        none = np.array([source.name == NOWHERE for source in sources])[starts]
        none |= np.array([end.kind == NOWHERE for end in ends])[stops]
        distance = np.hypot(*(into[stops] - lie[starts]).T)
        driven = np.ones(len(distance), dtype=np.bool_)
        led = None
        if net is not None and not none.all():
            # Those that are nowhere are the last of their kind.
            row, column = starts[~none], stops[~none]
            asked = np.zeros((row.max() + 1, column.max() + 1), dtype=np.bool_)
            asked[row, column] = True
            led = routes(net, lie[: len(asked)], into[: asked.shape[1]], asked)
            driven[~none] = np.isfinite(led.length[row, column])
            distance[driven & ~none] = led.length[row, column][driven[~none]]
        carry = np.empty(len(distance))
        streams = np.array([source.stream for source in sources])[starts]
        for stream in set(streams.tolist()):
            mine = streams == stream
            carry[mine] = time_of[stream](distance[mine])
        extra = np.array([source.extra for source in sources])[starts]
        road = extra + np.array([end.extra for end in ends])[stops]
        cost = np.where(none, NO_PLACE, carry + road + np.where(driven, 0.0, NO_WAY))
        return cls(starts, stops, distance, carry, road, cost, driven, led)

    def haul(self, at: int, source: Source, end: End, volume: Volume) -> Haul:
        """Haul of a volume along one of the ways; one to nowhere has no way and takes no time."""
        start, told = (source.east, source.north), float(end.kind != NOWHERE)
        way: Line = (start, (end.east, end.north)) if told else ()
        if told and self.led is not None and self.driven[at]:
            way = self.led.way(int(self.starts[at]), int(self.stops[at]))
        return Haul(
            stream=source.stream,
            start=start,
            end=end,
            volume=volume,
            distance=float(told * self.distance[at]),
            time=float(told * volume * self.carry[at]),
            road=float(told * volume * self.road[at]),
            source=source.name,
            way=way,
            driven=bool(self.driven[at]),
        )


def _limits(
    sources: Sequence[Source],
    full: int,
    ends: Sequence[End],
    starts: NDArray[np.intp],
    stops: NDArray[np.intp],
) -> dict[str, Any]:
    """What binds the volumes: the first `full` sources give all they have, ends get what they need."""
    columns, ones = np.arange(len(starts)), np.ones(len(starts))
    out = coo_array((ones, (starts, columns)), shape=(len(sources), len(columns))).tocsr()
    into = coo_array((ones, (stops, columns)), shape=(len(ends), len(columns))).tocsr()
    needed = [at for at, end in enumerate(ends) if end.kind == PLACED]
    limited = [at for at, end in enumerate(ends) if end.kind != PLACED and np.isfinite(end.room)]
    return {
        "A_ub": into[limited] if limited else None,
        "b_ub": [ends[at].room for at in limited] or None,
        "A_eq": vstack([out[:full], into[needed]]).tocsr(),
        "b_eq": np.array([*(source.volume for source in sources[:full]), *(ends[at].need for at in needed)]),
    }
