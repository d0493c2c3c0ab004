"""Streams that start at a shore or end in another water: their mouths, laid into the limits of the finish."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import FloatArray, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.geometry.window import NOWHERE, Window, grown, joined, meet, nodes_in, shifted
from pondwright.rooms.shape.grading import Bank, Limits, Parts, part_code
from pondwright.rooms.shape.laid import part_of, yielding
from pondwright.rooms.shape.mouths import RIM, SILL, gap, mouth_bed, own_water
from pondwright.rooms.shape.shoreline import line_distance
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult
from pondwright.rooms.shape.stream import SILL_LENGTH

Part = tuple[slice, slice]
"""Rows and columns of a window, to index an array by."""


@dataclass(frozen=True, slots=True, eq=False)
class Gap:
    """What lies between an end of a stream and the shore that it nearly reaches: nodes of a window."""

    stream: str
    body: str
    upper: bool
    way: Lengths
    window: Part
    nodes: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Mouth:
    """Where a stream lies in the rim of another water: nodes of its sill in a window.

    `upper` tells that the other water runs over into the stream here.
    """

    stream: str
    body: str
    upper: bool
    window: Part
    nodes: NDArray[np.bool_]


def gaps(
    shore: ShoreResult,
    banks: Mapping[str, Bank],
    known: Mapping[tuple[str, str], tuple[Gap, ...]] = MappingProxyType({}),
) -> tuple[Gap, ...]:
    """Gaps between the ends of streams and other waters whose bank's crest they reach.

    Parameters
    ----------
    shore : ShoreResult
    banks : Bank by id     Of each body.
    known : Gap            By stream and other water: of those of which neither moved.

    Returns
    -------
    tuple of Gap           Without those that lie in the other water already.
    """
    found: list[Gap] = []
    for name, body in shore.bodies.items():
        for other, its in shore.bodies.items():
            if body.stream is None or its.stream is not None:
                continue
            before = known.get((name, other))
            crest = banks[other].crest_end
            found += _gaps(name, body, other, its, crest, shore.grid) if before is None else before
    return tuple(found)


def _gaps(name: str, body: BodyShore, other: str, its: BodyShore, crest: Length, grid: Grid) -> Iterator[Gap]:
    """Gaps of one stream to one other water."""
    assert body.stream is not None
    corridor = body.stream.corridor
    for end in (0, -1):
        east, north = (float(number) for number in corridor.line[end])
        if not _near(its, (east, north), crest, grid):
            continue
        way = gap((east, north), its.rings[0], crest)
        if way is None:
            continue
        half = float(corridor.half[end])
        window, part = part_of(grid, way, half + grid.spacing)
        dry = (its.distance[window] <= 0.0) & (body.distance[window] <= 0.0)
        nodes = dry & (line_distance(part, way) <= half)
        yield Gap(name, other, end == 0, way, window, nodes)


def _near(its: BodyShore, end: tuple[Length, Length], crest: Length, grid: Grid) -> bool:
    """Whether an end of a stream lies outside a shore and not much farther away than the crest."""
    row = min(max(round((end[1] - grid.origin_north) / grid.spacing), 0), grid.rows - 1)
    column = min(max(round((end[0] - grid.origin_east) / grid.spacing), 0), grid.columns - 1)
    away = -float(its.distance[row, column])
    return -grid.spacing < away <= crest + grid.spacing


def sill_reach(spacing: Length) -> Length:
    """Distance outside the shore of another water up to which a stream's bed is bent by its sill.

    Parameters
    ----------
    spacing : Length     Of the grid. [m], > 0

    Returns
    -------
    Length               [m]
    """
    return (RIM + SILL) * spacing + SILL_LENGTH


def lay_mouths(
    stack: tuple[FloatArray, FloatArray, Parts],
    wanted: Window,
    own: Mapping[str, Limits],
    shore: ShoreResult,
    found: Sequence[Gap],
) -> tuple[Mouth, ...]:
    """Write the sills of all mouths into the limits in the order of laying, with what lies in the gaps.

    Parameters
    ----------
    stack : arrays         Lower, upper and region of all layers, body first: they are written over.
    wanted : Window        The nodes that the stack holds.
    own : Limits by id     Of each layer by itself.
    shore : ShoreResult
    found : Gap            From :func:`gaps`.

    Returns
    -------
    tuple of Mouth         All of them, wherever they lie.
    """
    names = list(own)
    for one in found:
        part = meet(window_at(one.window), wanted)
        if part == NOWHERE:
            continue
        nodes, here = _nodes_of_gap(one, part), nodes_in(shifted(part, -wanted[0], -wanted[2]))
        for layer, name in enumerate(names):
            lower, upper, region = (array[layer][here] for array in stack)
            if name != one.stream:
                yielding(lower, upper, region, nodes)
            else:
                # The stream's own level across the gap, as part of its bed.
                lower[nodes] = upper[nodes] = _end_level(one, shore.bodies[name])
                region[nodes] = part_code(layer, 0)
    mouths = []
    for layer, name in enumerate(names):
        if name not in shore.bodies or shore.bodies[name].stream is None:
            continue
        mine = [one for one in found if one.stream == name]
        for other, its in shore.bodies.items():
            mouth = _mouth((name, other), shore, mine) if its.stream is None else None
            if mouth is not None:
                mouths.append(mouth)
                _lay_sill([array[layer] for array in stack], wanted, mouth, shore, own[other], mine)
    return tuple(mouths)


def _end_level(one: Gap, body: BodyShore) -> Length:
    """Level of the end of a stream at a gap, above that of its first reach."""
    assert body.stream is not None
    return -float(body.stream.reaches.drops[0 if one.upper else -1])


def _mouth(pair: tuple[str, str], shore: ShoreResult, found: Sequence[Gap]) -> Mouth | None:
    """Mouth of a stream in the bank of another water, if it comes that near."""
    (body, its), grid = (shore.bodies[name] for name in pair), shore.grid
    assert body.stream is not None
    # The stream's banks reach farther than its water: they must let go all along the other shore.
    along = grown(its.window, int(sill_reach(grid.spacing) / grid.spacing) + 2, grid.shape)
    bed = body.window
    for one in found:
        bed = joined(bed, window_at(one.window))
    part = meet(along, bed)
    if part == NOWHERE:
        return None
    sill = _Sill(body, its, found, part, grid)
    if not sill.mouth.any():
        return None
    station = body.stream.station[nodes_in(part)][sill.mouth]
    leaves = float(station.mean()) < 0.5 * body.stream.corridor.length
    nodes = np.zeros((along[1] - along[0], along[3] - along[2]), dtype=np.bool_)
    nodes[nodes_in(shifted(part, -along[0], -along[2]))] = sill.rim & sill.bed
    return Mouth(*pair, leaves, nodes_in(along), nodes)


def _lay_sill(
    arrays: Sequence[np.ndarray],
    wanted: Window,
    mouth: Mouth,
    shore: ShoreResult,
    bank: Limits,
    found: Sequence[Gap],
) -> None:
    """Sill of a stream across its mouth in the bank of another water; beside it that bank holds alone."""
    body, its = shore.bodies[mouth.stream], shore.bodies[mouth.body]
    assert body.stream is not None
    part = meet(window_at(mouth.window), wanted)
    if part == NOWHERE:
        return
    nodes, sill = nodes_in(part), _Sill(body, its, found, part, shore.grid)
    lower, upper, region = (array[nodes_in(shifted(part, -wanted[0], -wanted[2]))] for array in arrays)
    lower[sill.mouth] = upper[sill.mouth] = mouth_bed(
        lower[sill.mouth],
        -body.stream.drop[nodes][sill.mouth],
        sill.away[sill.mouth],
        bank.lower[nodes][sill.mouth],
        its.level - body.level,
        shore.grid.spacing,
    )
    yielding(lower, upper, region, sill.rim & ~sill.bed)


class _Sill:
    """How the nodes of a window lie to the sill of a stream in the bank of another water.

    They are the bed of the stream, the rim right outside the other shore, and the mouth: all of the bed that
    a sill bends.
    """

    def __init__(
        self, body: BodyShore, its: BodyShore, found: Sequence[Gap], part: Window, grid: Grid
    ) -> None:
        nodes = nodes_in(part)
        self.away = -its.distance[nodes]
        self.bed = body.distance[nodes] > 0.0
        for one in found:
            shared = meet(window_at(one.window), part)
            if shared != NOWHERE:
                self.bed[nodes_in(shifted(shared, -part[0], -part[2]))] |= _nodes_of_gap(one, shared)
        outside = self.away >= 0.0
        self.rim = outside & (self.away <= RIM * grid.spacing)
        self.mouth = outside & (self.away <= sill_reach(grid.spacing)) & self.bed


def _nodes_of_gap(one: Gap, part: Window) -> NDArray[np.bool_]:
    """Nodes of a gap in some part of its window."""
    rows, columns = one.window
    return one.nodes[nodes_in(shifted(part, -rows.start, -columns.start))]


def window_at(part: Part) -> Window:
    """Window of some rows and columns."""
    rows, columns = part
    return rows.start, rows.stop, columns.start, columns.stop


def waters_of(shore: ShoreResult, mouths: Sequence[Mouth]) -> dict[str, NDArray[np.bool_]]:
    """Nodes within the shore of each body; of a stream only those in no other water or rim.

    Parameters
    ----------
    shore : ShoreResult
    mouths : Mouth         Of all streams.

    Returns
    -------
    (rows, columns) bool arrays by id
    """
    waters = {
        name: body.within if body.stream is None else _own_water(body, shore)
        for name, body in shore.bodies.items()
    }
    for mouth in mouths:
        waters[mouth.stream][mouth.window] &= ~mouth.nodes
    return waters


def _own_water(body: BodyShore, shore: ShoreResult) -> NDArray[np.bool_]:
    """Nodes of a stream that lie in no other water: all of them lie in the window of the stream."""
    nodes = nodes_in(body.window)
    ponds = [
        its.distance[nodes]
        for its in shore.bodies.values()
        if its.stream is None and meet(its.window, body.window) != NOWHERE
    ]
    own = np.zeros_like(body.within)
    own[nodes] = own_water(body.within[nodes], ponds)
    return own
