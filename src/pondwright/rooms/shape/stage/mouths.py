"""Streams that start at a shore or end in another water: their mouths, laid into the limits of the finish."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import FloatArray, Length, Lengths
from pondwright.geometry.grid import Grid
from pondwright.rooms.shape.grading import Bank, Limits, Parts, part_code
from pondwright.rooms.shape.laid import part_of, yielding
from pondwright.rooms.shape.mouths import RIM, SILL, gap, mouth_bed, own_water
from pondwright.rooms.shape.shoreline import line_distance
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult
from pondwright.rooms.shape.stream import SILL_LENGTH

Window = tuple[slice, slice]


@dataclass(frozen=True, slots=True, eq=False)
class Gap:
    """What lies between an end of a stream and the shore that it nearly reaches: nodes of a window."""

    stream: str
    body: str
    upper: bool
    way: Lengths
    window: Window
    nodes: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Mouth:
    """Where a stream lies in the rim of another water: nodes of its sill in a window.

    `upper` tells that the other water runs over into the stream here.
    """

    stream: str
    body: str
    upper: bool
    window: Window
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
    own: Mapping[str, Limits],
    shore: ShoreResult,
    found: Sequence[Gap],
) -> tuple[Mouth, ...]:
    """Write the sills of all mouths into the limits in the order of laying, with what lies in the gaps.

    Parameters
    ----------
    stack : arrays         Lower, upper and region of all layers, body first: they are written over.
    own : Limits by id     Of each layer by itself.
    shore : ShoreResult
    found : Gap            From :func:`gaps`.

    Returns
    -------
    tuple of Mouth
    """
    names = list(own)
    for one in found:
        for layer, name in enumerate(names):
            if name != one.stream:
                lower, upper, region = (array[layer][one.window] for array in stack)
                yielding(lower, upper, region, one.nodes)
        _fill_gap(stack, names.index(one.stream), one, shore.bodies[one.stream])
    mouths = []
    for layer, name in enumerate(names):
        if name not in shore.bodies or shore.bodies[name].stream is None:
            continue
        for other, its in shore.bodies.items():
            if its.stream is None:
                mine = [one for one in found if one.stream == name]
                arrays = [array[layer] for array in stack]
                mouth = _lay_sill(arrays, (name, other), shore, own[other], mine)
                mouths += [mouth] if mouth is not None else []
    return tuple(mouths)


def _fill_gap(stack: tuple[FloatArray, FloatArray, Parts], layer: int, one: Gap, body: BodyShore) -> None:
    """The stream's own level across a gap, as part of its bed."""
    assert body.stream is not None
    lower, upper, region = (array[layer][one.window] for array in stack)
    level = -float(body.stream.reaches.drops[0 if one.upper else -1])
    lower[one.nodes] = upper[one.nodes] = level
    region[one.nodes] = part_code(layer, 0)


def _lay_sill(
    arrays: Sequence[np.ndarray],
    pair: tuple[str, str],
    shore: ShoreResult,
    bank: Limits,
    found: Sequence[Gap],
) -> Mouth | None:
    """Sill of a stream across its mouth in the bank of another water; beside it that bank holds alone."""
    (body, its), grid = (shore.bodies[name] for name in pair), shore.grid
    assert body.stream is not None
    reach = sill_reach(grid.spacing)
    # The stream's banks reach farther than its water: they must let go all along the other shore.
    window = _widened(its.window, int(reach / grid.spacing) + 2, grid)
    away = -its.distance[window]
    near, rim = (away >= 0.0) & (away <= reach), (away >= 0.0) & (away <= RIM * grid.spacing)
    bed = body.distance[window] > 0.0
    for one in found:
        bed |= _placed(one, window)
    mouth = near & bed
    if not mouth.any():
        return None
    lower, upper, region = (array[window] for array in arrays)
    new = mouth_bed(
        lower[mouth],
        -body.stream.drop[window][mouth],
        away[mouth],
        bank.lower[window][mouth],
        its.level - body.level,
        grid.spacing,
    )
    lower[mouth] = upper[mouth] = new
    yielding(lower, upper, region, rim & ~bed)
    station = body.stream.station[window][mouth]
    leaves = float(station.mean()) < 0.5 * body.stream.corridor.length
    return Mouth(*pair, leaves, window, rim & bed)


def _placed(one: Gap, window: Window) -> NDArray[np.bool_]:
    """Nodes of a gap in another window."""
    shape = tuple(side.stop - side.start for side in window)
    nodes = np.zeros(shape, dtype=np.bool_)
    rows, columns = (
        (max(mine.start, side.start), min(mine.stop, side.stop))
        for mine, side in zip(one.window, window, strict=True)
    )
    if rows[0] < rows[1] and columns[0] < columns[1]:
        from_gap = one.nodes[
            rows[0] - one.window[0].start : rows[1] - one.window[0].start,
            columns[0] - one.window[1].start : columns[1] - one.window[1].start,
        ]
        nodes[
            rows[0] - window[0].start : rows[1] - window[0].start,
            columns[0] - window[1].start : columns[1] - window[1].start,
        ] = from_gap
    return nodes


def _widened(window: tuple[int, int, int, int], margin: int, grid: Grid) -> Window:
    """Rows and columns of a window and of a margin around it."""
    return (
        slice(max(window[0] - margin, 0), min(window[1] + margin, grid.rows)),
        slice(max(window[2] - margin, 0), min(window[3] + margin, grid.columns)),
    )


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
    ponds = [body.distance for body in shore.bodies.values() if body.stream is None]
    waters = {
        name: body.within if body.stream is None else own_water(body.within, ponds)
        for name, body in shore.bodies.items()
    }
    for mouth in mouths:
        waters[mouth.stream][mouth.window] &= ~mouth.nodes
    return waters
