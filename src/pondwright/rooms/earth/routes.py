"""Ways that a machine can drive: round what must be kept clear of, and along the ways in that are drawn.

Round closed cells the shortest way is a taut string.  It bends at outward corners of cells alone, so that
the corners that see each other are all that has to be searched; where nothing lies between, it is straight.

See Also
--------
pondwright.rooms.earth.drivable : the cells.
pondwright.rooms.earth.haul : chooses between these ways.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Lengths
from pondwright.rooms.earth.drivable import CLOSED, Bits, Drivable, Line, Mask

WAY_SHARE = 0.5
"""A metre of a drawn way counts as this much of a metre elsewhere; common practice, no source."""

MOST_CORNERS = 1200
"""Corners between which ways are looked for."""

_OFF = 1e-6
"""How far a bend stays off its corner, in cells."""

_SAME: Length = 1e-3
"""Bends that the way passes this near without them are left out. [m]"""

Numbers = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Bends that a way may have, in cells, and pieces between them: ends, cost, bits of what is crossed.

    `side` tells how the corner at a bend faces: 1 for north-east and south-west, 0 where there is none.
    """

    ground: Drivable
    nodes: Lengths
    side: NDArray[np.int8]
    first: Numbers
    second: Numbers
    cost: Lengths
    bits: Bits


@dataclass(frozen=True, slots=True, eq=False)
class Routes:
    """Ways from starts to stops: how long each is, infinite where there is none, and where it goes."""

    length: Lengths
    cost: Lengths
    _starts: _Ends
    _stops: _Ends
    _trees: tuple[_Tree, ...]
    _tree: NDArray[np.int16]

    def way(self, start: int, stop: int) -> Line:
        """Places that a way goes through.

        Parameters
        ----------
        start, stop : int     Numbers of its ends.

        Returns
        -------
        Line                  Both ends and all bends; none where there is no way. [m]
        """
        if not np.isfinite(self.length[start, stop]):
            return ()
        ends = self._starts.places[start], self._stops.places[stop]
        tree = int(self._tree[start, stop])
        if tree == _NEAR:
            return _plain(ends)
        middle = [self._starts.outside[start], self._stops.outside[stop]]
        if tree >= 0:
            middle = self._trees[tree].bends(start, stop)
        way = tuple(dict.fromkeys(_plain((ends[0], *middle, ends[1]))))
        if len(way) < 3:
            return _plain(ends)
        return _plain(shapely.get_coordinates(shapely.simplify(shapely.LineString(way), _SAME)))


def network(ground: Drivable) -> Network:
    """Corners of all that is closed, and places along the ways in, joined where they see each other.

    Parameters
    ----------
    ground : Drivable

    Returns
    -------
    Network

    Notes
    -----
    Two corners are joined only where a taut string may lie between them: it rests on both.  Of more than
    1200 corners every second or third is left out, and ways are a little longer.

    Examples
    --------
    The corners of a wall see each other along its sides, and not across:

    >>> from pondwright.rooms.earth.drivable import drivable
    >>> wall = shapely.box(-5.0, 4.0, 5.0, 6.0)
    >>> found = network(drivable(np.array([[0.0, 0.0], [0.0, 10.0]]), closed=[wall]))
    >>> len(found.nodes), sorted(found.cost.round(3).tolist())
    (4, [2.0, 2.0, 10.0, 10.0])

    hand

    References
    ----------
    .. [1] Derived: shortest ways among polygons bend at their corners.
    """
    nodes, side = _corners(ground)
    lines = [shapely.LineString(way) for way in ground.ways]
    along = [
        ground.in_cells(shapely.get_coordinates(shapely.segmentize(line, 2.0 * ground.grid.spacing)))
        for line in lines
    ]
    # Neighbours along one line: not the last of one and the first of the next.
    drawn = np.concatenate([np.zeros(len(nodes)), *(np.arange(len(part))[::-1] for part in along)]) > 0
    nodes = np.vstack([nodes, *along])
    side = np.concatenate([side, np.zeros(len(nodes) - len(side), dtype=np.int8)])
    first, second = np.triu_indices(len(nodes), 1)
    taut = _taut(nodes[first], nodes[second], side[first]) & _taut(nodes[first], nodes[second], side[second])
    first, second = first[taut], second[taut]
    share = np.where((second == first + 1) & drawn[first], WAY_SHARE, 1.0)
    bits = ground.crossed(nodes[first], nodes[second])
    cost = share * np.hypot(*(nodes[second] - nodes[first]).T) * ground.grid.spacing
    open_ = (bits != CLOSED) & (cost > 0.0)
    return Network(ground, nodes, side, first[open_], second[open_], cost[open_], bits[open_])


def routes(net: Network, starts: Lengths, stops: Lengths, asked: Mask | None = None) -> Routes:
    """Shortest ways between all starts and all stops.

    Parameters
    ----------
    net : Network
    starts : (n, 2) array     Among the places of its ground. [m]
    stops : (m, 2) array      [m]
    asked : (n, m) array      Which ways are wanted; none is all.  The others count as if there were none.

    Returns
    -------
    Routes                    Of n times m ways.

    Raises
    ------
    DomainError               If a place lies beyond the cells.

    Notes
    -----
    Straight where nothing lies between; else the least of Σ length over open ground + 0.5 Σ length along
    drawn ways, over the corners of closed cells that see each other (Dijkstra's algorithm).  The length is
    that of the way, without the half.  Who stands on closed ground leaves it straight to the nearest open
    cell, and moves straight where that is no farther.

    Examples
    --------
    Round the end of a wall, a triangle of 3, 4 and 5 on both sides of it:

    >>> from pondwright.rooms.earth.drivable import drivable
    >>> wall = shapely.box(-50.0, 4.0, 3.0, 6.0)
    >>> ends = np.array([[0.0, 0.0]]), np.array([[0.0, 10.0]])
    >>> found = routes(network(drivable(np.vstack(ends), closed=[wall])), *ends)
    >>> round(float(found.length[0, 0]), 3)
    12.0
    >>> [(round(east, 3), round(north, 3)) for east, north in found.way(0, 0)]
    [(0.0, 0.0), (3.0, 4.0), (3.0, 6.0), (0.0, 10.0)]

    hand

    References
    ----------
    .. [1] Shortest ways among polygons bend at their corners; Dijkstra, *A note on two problems*, 1959.
    """
    ground = net.ground
    start_ends, stop_ends = (_Ends.of(ground, np.asarray(some, dtype=np.float64)) for some in (starts, stops))
    straight = np.hypot(*(start_ends.places[:, None] - stop_ends.places[None]).transpose(2, 0, 1))
    may = start_ends.own[:, None] | stop_ends.own[None]
    outside = np.hypot(*(start_ends.outside[:, None] - stop_ends.outside[None]).transpose(2, 0, 1))
    legs = start_ends.leg[:, None] + stop_ends.leg[None]
    wanted = np.ones(straight.shape, dtype=np.bool_) if asked is None else asked
    clear = (_between(ground, start_ends, stop_ends, wanted) & ~may) == 0
    near = wanted & (legs > 0.0) & (straight <= legs)
    length = np.where(near, straight, np.where(clear, legs + outside, np.inf))
    tree = np.where(near, _NEAR, _STRAIGHT).astype(np.int16)
    cost = length.copy()
    beside = _aside(ground, start_ends)[:, None] + _aside(ground, stop_ends) < straight
    open_ = wanted & ~near & (~clear | beside)
    pieces = _pieces(net, start_ends, stop_ends, open_)
    trees: list[_Tree] = []
    through = may & _holes(ground)
    for allowed in np.unique(through[open_]):
        mine = open_ & (through == allowed)
        found = _Tree.of(pieces, start_ends, stop_ends, int(allowed), mine)
        better = mine & (found.cost < cost)
        tree[better] = len(trees)
        cost[better], length[better] = found.cost[better], found.length[better]
        trees.append(found)
    return Routes(length, cost, start_ends, stop_ends, tuple(trees), tree)


_STRAIGHT, _NEAR = -1, -2
"""Ways that need no search: past nothing, and within the closed ground that they begin on."""


@dataclass(frozen=True, slots=True, eq=False)
class _Ends:
    """Where ways begin or end: the place, where it comes out on open ground, how far that is, own ground."""

    places: Lengths
    outside: Lengths
    leg: Lengths
    own: Bits

    @classmethod
    def of(cls, ground: Drivable, places: Lengths) -> _Ends:
        at = ground.in_cells(places)
        columns, rows = np.floor(at).astype(np.intp).T
        off = (at < 0.0).any(axis=1) | (columns >= ground.cells.shape[1]) | (rows >= ground.cells.shape[0])
        if off.any():
            raise DomainError(f"`places` must lie on the ground of the network, got {places[off][0]} m")
        shut = ground.cells[rows, columns] & CLOSED != 0
        outside = places.copy()
        if shut.any():
            closed = ground.cells & CLOSED != 0
            nearest = ndimage.distance_transform_edt(closed, return_distances=False, return_indices=True)
            row, column = (index[rows[shut], columns[shut]] for index in nearest)
            corner = np.array([ground.grid.origin_east, ground.grid.origin_north])
            outside[shut] = corner + (np.column_stack([column, row]) + 0.5) * ground.grid.spacing
        own = np.zeros(len(places), dtype=np.int32)
        spots = shapely.points(places)
        for each, bit in zip(ground.own, ground.bits, strict=True):
            own[shapely.distance(spots, each.shape) <= each.reach] |= bit
        return cls(places, outside, np.hypot(*(outside - places).T), own)


@dataclass(frozen=True, slots=True, eq=False)
class _Pieces:
    """All straight pieces that ways are made of, from the first to the second node of each.

    Nodes are the bends, then the stops, then the starts; a way leaves a stop and ends at a start.
    """

    nodes: Lengths
    first: Numbers
    second: Numbers
    cost: Lengths
    bits: Bits


@dataclass(frozen=True, slots=True, eq=False)
class _Tree:
    """Shortest ways of one kind of users of own ground, from some stops outward."""

    cost: Lengths
    length: Lengths
    nodes: Lengths
    before: NDArray[np.int32]
    row_of_stop: Numbers
    first_start: int

    @classmethod
    def of(cls, pieces: _Pieces, starts: _Ends, stops: _Ends, allowed: int, mine: Mask) -> _Tree:
        """Ways of the pairs that are `mine`: of those who may drive on the own ground `allowed`."""
        shape, size = mine.shape, len(pieces.nodes)
        first_start = size - shape[0]
        which = np.flatnonzero(mine.any(axis=0))
        asked = np.ones(size, dtype=np.bool_)
        asked[first_start:] = mine.any(axis=1)
        free = ((pieces.bits & ~np.int32(allowed)) == 0) & asked[pieces.second]
        graph = csr_array((pieces.cost[free], (pieces.first[free], pieces.second[free])), shape=(size, size))
        roots = first_start - shape[1] + which
        found, before = dijkstra(graph, indices=roots, return_predecessors=True)
        told = np.full(shape, np.inf), np.full(shape, np.inf)
        legs = starts.leg[:, None] + stops.leg[which]
        for into, values in zip(told, (found, _lengths(pieces.nodes, before)), strict=True):
            into[:, which] = values[:, first_start:].T + legs
        row_of_stop = np.full(shape[1], -1)
        row_of_stop[which] = np.arange(len(which))
        return cls(*told, pieces.nodes, before, row_of_stop, first_start)

    def bends(self, start: int, stop: int) -> list[Lengths]:
        """Places of a way from where its start comes out on open ground to where its stop does."""
        before, at = self.before[self.row_of_stop[stop]], self.first_start + start
        found = []
        while at >= 0:
            found.append(self.nodes[at])
            at = int(before[at])
        return found


def _pieces(net: Network, starts: _Ends, stops: _Ends, asked: Mask) -> _Pieces:
    """Pieces of a network in both directions, and those from stops and to starts that are asked for."""
    first_stop, first_start = len(net.nodes), len(net.nodes) + len(stops.places)
    there, at_stop, out, out_bits = _joined(net, stops, np.flatnonzero(asked.any(axis=0)))
    here, at_start, back, back_bits = _joined(net, starts, np.flatnonzero(asked.any(axis=1)))
    grid = net.ground.grid
    bends = np.array([grid.origin_east, grid.origin_north]) + net.nodes * grid.spacing
    return _Pieces(
        np.vstack([bends, stops.outside, starts.outside]),
        np.concatenate([net.first, net.second, first_stop + at_stop, here]),
        np.concatenate([net.second, net.first, there, first_start + at_start]),
        np.concatenate([net.cost, net.cost, out, back]),
        np.concatenate([net.bits, net.bits, out_bits, back_bits]),
    )


def _holes(ground: Drivable) -> np.int32:
    """Bits of all own ground that is driven through."""
    bits = [bit for each, bit in zip(ground.own, ground.bits, strict=True) if each.through]
    return np.bitwise_or.reduce(np.array([0, *bits], dtype=np.int32))


def _corners(ground: Drivable) -> tuple[Lengths, NDArray[np.int8]]:
    """Outward corners, a little off their cell, and how they face: 1 for north-east and south-west."""
    holes = [bit for each, bit in zip(ground.own, ground.bits, strict=True) if each.through]
    masks = [ground.cells != 0]
    if holes:
        masks += [ground.cells & ~bit != 0 for bit in (*holes, _holes(ground))]
    alone = np.zeros((4, *(count - 1 for count in ground.cells.shape)), dtype=np.bool_)
    for mask in masks:
        quarters = np.array([mask[:-1, :-1], mask[:-1, 1:], mask[1:, :-1], mask[1:, 1:]])
        alone |= quarters & (quarters.sum(axis=0) == 1)
    quarter, rows, columns = np.nonzero(alone)
    east, north = 2 * (quarter % 2) - 1, 2 * (quarter // 2) - 1
    corners = np.column_stack([columns + 1 - _OFF * east, rows + 1 - _OFF * north])
    some = slice(None, None, 1 + len(corners) // MOST_CORNERS)
    return corners[some], (east * north).astype(np.int8)[some]


def _taut(starts: Lengths, stops: Lengths, side: NDArray[np.int8]) -> Mask:
    """Whether a string pulled along a piece rests on a corner of its side: it does not cut the cell."""
    across, up = (stops - starts).T
    level = np.minimum(np.abs(across), np.abs(up)) <= 4.0 * _OFF
    return level | (across * up * side <= 0.0)


def _joined(net: Network, ends: _Ends, which: Numbers) -> tuple[Numbers, Numbers, Lengths, Bits]:
    """Pieces between bends and ends: numbers of both, their length, and the bits of what they cross."""
    ground, places = net.ground, net.ground.in_cells(ends.outside)
    node, end = (each.ravel() for each in np.meshgrid(np.arange(len(net.nodes)), which, indexing="ij"))
    taut = _taut(net.nodes[node], places[end], net.side[node])
    node, end = node[taut], end[taut]
    bits = ground.crossed(net.nodes[node], places[end]) & ~ends.own[end]
    length = np.hypot(*(places[end] - net.nodes[node]).T) * ground.grid.spacing
    open_ = bits != CLOSED
    # A place that lies on a bend is joined to it all the same: a graph takes no length of zero.
    return node[open_], end[open_], np.maximum(length[open_], np.finfo(np.float64).tiny), bits[open_]


def _between(ground: Drivable, starts: _Ends, stops: _Ends, wanted: Mask) -> Bits:
    """Bits of what lies straight between starts and stops; where it is not wanted all is closed."""
    found = np.full(wanted.shape, CLOSED, dtype=np.int32)
    start, stop = np.nonzero(wanted)
    lines = ground.in_cells(starts.outside)[start], ground.in_cells(stops.outside)[stop]
    found[start, stop] = ground.crossed(*lines)
    return found


def _aside(ground: Drivable, ends: _Ends) -> Lengths:
    """How far places lie from the nearest way in; infinite where there is none."""
    lines = [shapely.LineString(way) for way in ground.ways]
    if not lines:
        return np.full(len(ends.places), np.inf)
    return np.asarray(shapely.distance(shapely.points(ends.places), shapely.MultiLineString(lines)))


def _lengths(nodes: Lengths, before: NDArray[np.int32]) -> Lengths:
    """Length back to its root of every node of trees, one tree a row: doubling the step again and again."""
    back = np.where(before >= 0, before, np.arange(len(nodes)))
    length = np.hypot(*(nodes[back] - nodes).transpose(2, 0, 1))
    while True:
        farther = np.take_along_axis(back, back, axis=1)
        if np.array_equal(farther, back):
            return length
        length = length + np.take_along_axis(length, back, axis=1)
        back = farther


def _plain(places: Any) -> Line:
    return tuple((float(east), float(north)) for east, north in places)
