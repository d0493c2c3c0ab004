"""Layers of the finish in the order of laying; after a move only the window in which one of them changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length
from pondwright.geometry.kernels import changes
from pondwright.geometry.window import NOWHERE, Window, joined, meet, nodes_in, shifted, whole, window_of
from pondwright.rooms.shape.grading import Laid, Limits, Parts, laid, stacked
from pondwright.rooms.shape.laid import yielding
from pondwright.rooms.shape.stage.mouths import Gap, Mouth, lay_mouths, sill_reach, window_at
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult

Stack = tuple[FloatArray, FloatArray, Parts]


@dataclass(frozen=True, slots=True, eq=False)
class Layers:
    """What the finish is laid from: limits of each layer by itself, their levels, and what joins streams.

    Attributes
    ----------
    own : Limits by id       Bodies first, then mounds and ways, in the order of laying.
    levels : Elevation       Level on which each stands. [m]
    gaps, mouths : tuples    Where streams meet other waters.
    touched : arrays by id   Nodes at which each layer by itself leaves any trace in the ground.
    laid : Laid              The finish before slopes without a connection are let go.
    """

    own: Mapping[str, Limits]
    levels: tuple[Elevation, ...]
    gaps: tuple[Gap, ...]
    mouths: tuple[Mouth, ...]
    touched: Mapping[str, Parts]
    laid: Laid


def layers(
    ground: Elevations,
    own: Mapping[str, Limits],
    moved: Mapping[str, Window],
    shore: ShoreResult,
    found: tuple[Gap, ...],
    last: tuple[Layers, ShoreResult] | None,
) -> Layers:
    """Layers as they lie now.

    Parameters
    ----------
    ground : (rows, columns) array     The existing ground. [m]
    own : Limits by id                 Of each layer by itself; those that did not move are the same objects.
    moved : Window by id               Of each layer, the nodes at which it can differ from last time.
    shore : ShoreResult
    found : Gap                        From :func:`pondwright.rooms.shape.stage.mouths.gaps`.
    last : Layers and ShoreResult      Of last time, on the same ground.

    Returns
    -------
    Layers
    """
    # Ways and mounds are told as elevations: they stand on level zero, after the bodies.
    beside = len(own) - len(shore.bodies)
    levels = (*(body.level for body in shore.bodies.values()), *(0.0,) * beside)
    if last is None or not _alike(own, levels, shore, *last):
        stack, mouths = stack_of(own, shore, found)
        touched = {
            name: _touched(ground, each, level, whole(ground.shape))
            for (name, each), level in zip(own.items(), levels, strict=True)
        }
        return Layers(own, levels, found, mouths, touched, laid(ground, stack, levels))
    before = last[0]
    touched = {
        name: _touched(ground, each, level, moved[name], before.touched[name])
        for (name, each), level in zip(own.items(), levels, strict=True)
    }
    window = window_of(_changed_nodes(own, moved, touched, shore, found, *last))
    window = joined(window, _joined_of(_moved_gaps(own, found, before)))
    stack, mouths = stack_of(own, shore, found, window)
    wider = joined(window, _joined_of(_come_or_gone(before.mouths, mouths)))
    if wider != window:
        stack, mouths = stack_of(own, shore, found, wider)
    return Layers(own, levels, found, mouths, touched, laid(ground, stack, levels, wider, before.laid))


def stack_of(
    own: Mapping[str, Limits], shore: ShoreResult, found: Sequence[Gap], window: Window | None = None
) -> tuple[Stack, tuple[Mouth, ...]]:
    """Limits in the order of laying, each yielding where another water is; a stream yields to all others.

    Parameters
    ----------
    own : Limits by id            Of each layer by itself, in the order of laying.
    shore : ShoreResult
    found : Gap                   Between streams and other waters.
    window : Window, optional     The nodes that are wanted; else all.

    Returns
    -------
    tuple of arrays and Mouth     Read-only arrays of the wanted nodes, and where streams lie in the rims of
                                  other waters.
    """
    stack = stacked(list(own.values()), window)
    if len(own) == 1:
        return stack, ()
    wanted = whole(shore.grid.shape) if window is None else window
    for other, body in shore.bodies.items():
        part = meet(body.window, wanted)
        if part == NOWHERE:
            continue
        nodes, here = nodes_in(part), nodes_in(shifted(part, -wanted[0], -wanted[2]))
        wet = body.distance[nodes] > 0.0
        for layer, name in enumerate(own):
            mine, water = shore.bodies.get(name), wet
            if other == name:
                continue
            if mine is not None and (mine.stream is None or body.stream is not None):
                water = wet & (mine.distance[nodes] <= 0.0)
            lower, upper, region = (array[layer][here] for array in stack)
            yielding(lower, upper, region, water)
    mouths = lay_mouths(stack, wanted, own, shore, found)
    for array in stack:
        array.flags.writeable = False
    return stack, mouths


def _alike(
    own: Mapping[str, Limits],
    levels: tuple[Elevation, ...],
    shore: ShoreResult,
    before: Layers,
    shore_before: ShoreResult,
) -> bool:
    """Whether the same layers stand on the same levels, in the same order, and yield to the same others."""
    streams, streams_before = (
        [body.stream is not None for body in each.bodies.values()] for each in (shore, shore_before)
    )
    return list(own) == list(before.own) and levels == before.levels and streams == streams_before


def _moved(name: str, own: Mapping[str, Limits], before: Layers) -> bool:
    return own[name] is not before.own[name]


def _moved_gaps(own: Mapping[str, Limits], found: Sequence[Gap], before: Layers) -> Iterator[Gap]:
    """Gaps of before and of now but for those that an unmoved stream fills as it did."""
    for some, others in ((before.gaps, found), (found, before.gaps)):
        for one in some:
            if _moved(one.stream, own, before) or not any(_same_gap(one, other) for other in others):
                yield one


def _same_gap(one: Gap, other: Gap) -> bool:
    ends, ends_other = ((each.stream, each.body, each.upper, each.window) for each in (one, other))
    return ends == ends_other and np.array_equal(one.nodes, other.nodes)


def _touched(
    ground: Elevations, limits: Limits, level: Elevation, window: Window, before: Parts | None = None
) -> Parts:
    """Nodes at which a layer by itself leaves any trace in the ground; beyond a window those of last time."""
    if before is not None and window == NOWHERE:
        return before
    touched = np.empty(ground.shape, dtype=np.int8) if before is None else before.copy()
    changes.touched_nodes(ground, limits.lower, limits.upper, limits.region, level, window, touched)
    return touched


def _changed_nodes(
    own: Mapping[str, Limits],
    windows: Mapping[str, Window],
    touched: Mapping[str, Parts],
    shore: ShoreResult,
    found: Sequence[Gap],
    before: Layers,
    shore_before: ShoreResult,
) -> NDArray[np.bool_]:
    """Nodes at which what moved can show: in its own layer, or because others yield to it.

    A layer that leaves no trace in the ground leaves none in the finish either where no earlier layer does.
    """
    moved, traces = (np.zeros(shore.grid.shape, dtype=np.int8) for _ in range(2))
    streams = any(body.stream is not None for body in shore.bodies.values())
    reach = sill_reach(shore.grid.spacing) if streams else 0.0
    for one in (*before.gaps, *found):
        traces[one.window] |= one.nodes
    for name, now in own.items():
        traces |= touched[name]
        window = windows[name]
        if window == NOWHERE:
            continue
        traces |= before.touched[name]
        if streams and name in shore.bodies:
            # A sill beside a shore takes the bank there, which need not leave a trace itself.
            nodes = nodes_in(window)
            traces[nodes] |= np.abs(shore.bodies[name].distance[nodes]) <= reach
        old = before.own[name]
        limits = old.lower, old.upper, old.region, now.lower, now.upper, now.region
        changes.moved_nodes(*limits, traces, window, moved)
        if name in shore.bodies:
            _shore_changed(shore_before.bodies[name], shore.bodies[name], reach, window, moved)
    return moved.view(np.bool_)


def _shore_changed(before: BodyShore, now: BodyShore, reach: Length, window: Window, moved: Parts) -> None:
    """Mark the nodes at which others yield to a shore in another way, or a sill beside it is another one."""
    changes.shore_nodes(before.distance, now.distance, reach, window, moved)
    if before.stream is not None and now.stream is not None:
        wet = (before.distance > 0.0) | (now.distance > 0.0)
        moved |= wet & (before.stream.drop != now.stream.drop)


def _come_or_gone(before: Sequence[Mouth], now: Sequence[Mouth]) -> Iterator[Mouth]:
    """Mouths that there are only before or only now: they let go of the whole rim in their window."""
    for some, others in ((before, now), (now, before)):
        known = {(other.stream, other.body) for other in others}
        yield from (one for one in some if (one.stream, one.body) not in known)


def _joined_of(ends: Iterable[Gap | Mouth]) -> Window:
    window = NOWHERE
    for one in ends:
        window = joined(window, window_at(one.window))
    return window
