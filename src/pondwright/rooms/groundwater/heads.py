"""Steady heads in the ground: what comes in, what leaves, and how high the water stands between.

The flow is averaged over the depth: every node of the water grid is the middle of a square cell, and water
passes between neighbours as fast as both their grounds together let it.  How thick the wetted ground is
depends on the head itself, and some water can only leave: both are found together.

See Also
--------
pondwright.rooms.groundwater.aquifer : how soils, readings, borders and drains become these arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, FloatArray, Length, Ratio
from pondwright.geometry.kernels.five_point import layer_faces
from pondwright.rooms.groundwater.rounds import (
    HELD,
    ON_LID,
    Found,
    Layers,
    Problem,
    Ties,
    settled_heads,
    stepped_heads,
)

TOLERANCE: Length = 1e-5
"""How near the heads of a settled answer are to the exact ones of the grid. [m]"""

MASS_TOLERANCE: Ratio = 1e-9
"""Part of the water that passes which may get lost in a settled answer. [-]"""

WETTED_FLOOR: Ratio = 0.01
"""Part of its thickness that counts as wetted in a cell that has fallen dry, so that it can wet again. [-]"""


@dataclass(frozen=True, slots=True)
class Ground:
    """Ground of the water grid: layers with their permeability, what is tight below, and what lies on top.

    Arrays of layers have shape (layers, rows, columns), the others (rows, columns); `cap` is the underside of
    a liner, and infinite where the ground is open.
    """

    spacing: Length
    layers_top: Elevations
    layers_bottom: Elevations
    permeability: FloatArray
    base: Elevations
    cap: Elevations


@dataclass(frozen=True, slots=True)
class TwoWay:
    """Water that passes both ways, such as a ditch: conductance of each cell [m²/s] and the level there.

    0 is no such water in the cell; an infinite conductance holds the head at the level.
    """

    conductance: FloatArray
    level: Elevations


@dataclass(frozen=True, slots=True)
class OneWay:
    """Water that can only leave, such as into a drain or out of the ground: conductance [m²/s] and level.

    It leaves where the head is above the level.  0 is no way out in the cell; an infinite conductance lets
    out all that would rise above the level (a seepage face).
    """

    conductance: FloatArray
    level: Elevations


@dataclass(frozen=True, slots=True)
class Border:
    """Ground beyond the grid that holds its level at a distance: width over distance [-], and that level.

    A cell's side of one spacing, held at its very edge, is half a spacing off: a ratio of 2.  At a distance
    beyond the edge it is spacing / (spacing / 2 + distance).  Sides of one cell add up; 0 is closed.
    """

    width: FloatArray
    level: Elevations


@dataclass(frozen=True, slots=True)
class Heads:
    """Heads and where the water goes; flows are of each cell, in arrays of shape (rows, columns). [m³/s]

    `left` is what leaves by each one-way water, `through` what comes in by each two-way water, `across` what
    comes in over each border (negative out), `source` what was put in.  `error` estimates how far the heads
    are from those of the settled answer, `mass_error` what part of the passing water is lost.  `settled` is
    false after a fixed number of steps that did not get there, and where ground so thin and steep that its
    wetted thickness did not come to rest was left at that of the last round.  `dry` marks cells below the
    wetted floor.
    """

    head: Elevations
    left: tuple[FloatArray, ...]
    through: tuple[FloatArray, ...]
    across: tuple[FloatArray, ...]
    source: FloatArray
    error: Length
    mass_error: Ratio
    steps: int
    settled: bool
    dry: NDArray[np.bool_]


def transmissivity(ground: Ground, head: Elevations) -> FloatArray:
    """Transmissivity of each cell at a head: permeability times wetted thickness, summed over the layers.

    Parameters
    ----------
    ground : Ground
    head : Elevations     Shape (rows, columns). [m]

    Returns
    -------
    ndarray               Shape (rows, columns). [m²/s]

    Notes
    -----
    T = Σ K_i (min(h, cap, top_i) - max(base, bottom_i)) over the layers that the water reaches.  A cell that
    has fallen dry keeps `WETTED_FLOOR` of its thickness.

    Examples
    --------
    >>> cell = lambda *values: np.array(values).reshape(-1, 1, 1)
    >>> ground = Ground(1.0, cell(3.0, 1.0), cell(1.0, 0.0), cell(1e-5, 1e-4), cell(0.0)[0], cell(np.inf)[0])
    >>> round(float(transmissivity(ground, cell(2.0)[0])[0, 0]), 9)
    0.00011

    hand

    References
    ----------
    .. [1] Derived: Darcy's law averaged over the depth.
    """
    _require_shape("head", head, ground.base.shape)
    cells = np.arange(head.size)
    return _layers(ground).transmissivity(cells, head.ravel()).reshape(head.shape)


def steady_heads(
    ground: Ground,
    two_way: Sequence[TwoWay] = (),
    one_way: Sequence[OneWay] = (),
    source: FloatArray | None = None,
    *,
    borders: Sequence[Border] = (),
    start: Elevations | None = None,
    steps: int | None = None,
    tolerance: Length = TOLERANCE,
) -> Heads:
    """Steady heads where the wetted thickness follows the head, and drains and slopes only let water out.

    Parameters
    ----------
    ground : Ground
    two_way : sequence of TwoWay
    one_way : sequence of OneWay
    source : ndarray          Water put into each cell, such as recharge times its area. [m³/s]
    borders : sequence of Border
    start : Elevations        Heads to start from, such as those before a small change. [m]
    steps : int               Stop after so many steps, as a drag does; none goes on until all is settled.
    tolerance : Length        How near the heads must come to those of the settled answer. [m], > 0

    Returns
    -------
    Heads

    Raises
    ------
    DomainError       If nothing holds the water at a level, an array has another shape or a number is wrong.

    Notes
    -----
    div(T(h) grad h) + source = what leaves, on square cells.  Between two cells stands the harmonic mean of
    their permeabilities times the mean of their wetted thicknesses, so that h² is exact where Dupuit's is.
    Rounds of a linear solve, each with the thickness and the open ways out of the last, go on until no way
    out changes and the cells have no water left over.

    Examples
    --------
    A dam of 50 m, 6 m of water on one side and 3 m on the other:

    >>> shape = (1, 1, 50)
    >>> tall, low = np.full(shape, 20.0), np.zeros(shape)
    >>> ground = Ground(1.0, tall, low, np.full(shape, 1e-5), low[0], np.full(shape[1:], np.inf))
    >>> west, east = np.zeros(shape[1:]), np.zeros(shape[1:])
    >>> west[0, 0] = east[0, -1] = 2.0
    >>> sides = [Border(west, np.full(shape[1:], 6.0)), Border(east, np.full(shape[1:], 3.0))]
    >>> found = steady_heads(ground, borders=sides)
    >>> round(float(found.across[0].sum()) * 1e6, 4)
    2.7

    published

    References
    ----------
    .. [1] Dupuit's formula for a dam, from memory: q = K (h1² - h2²) / (2 L).
    """
    layers = _layers(ground)
    return _solved(layers, ground.base.shape, two_way, one_way, source, borders, start, steps, tolerance)


def linear_heads(
    transmissivity: FloatArray,
    two_way: Sequence[TwoWay] = (),
    one_way: Sequence[OneWay] = (),
    source: FloatArray | None = None,
    *,
    borders: Sequence[Border] = (),
    start: Elevations | None = None,
    steps: int | None = None,
    tolerance: Length = TOLERANCE,
) -> Heads:
    """Steady heads where the transmissivity is known, such as in ground that is full.

    Parameters
    ----------
    transmissivity : ndarray  Shape (rows, columns). [m²/s], > 0
    two_way : sequence of TwoWay
    one_way : sequence of OneWay
    source : ndarray          Water put into each cell. [m³/s]
    borders : sequence of Border
    start : Elevations        Heads to start from. [m]
    steps : int               Stop after so many steps; none goes on until all is settled.
    tolerance : Length        How near the heads must come to those of the settled answer. [m], > 0

    Returns
    -------
    Heads

    Raises
    ------
    DomainError       If nothing holds the water at a level, an array has another shape or a number is wrong.

    Notes
    -----
    As :func:`steady_heads`, with the transmissivity fixed.

    Examples
    --------
    >>> level = np.array([[5.0, 0.0, 1.0]])
    >>> ends = TwoWay(np.array([[np.inf, 0.0, np.inf]]), level)
    >>> linear_heads(np.full((1, 3), 1e-4), [ends]).head.round(9).tolist()
    [[5.0, 3.0, 1.0]]

    hand

    References
    ----------
    .. [1] Derived: Darcy's law.
    """
    _require_above_zero("transmissivity", transmissivity, "m²/s")
    if transmissivity.ndim != 2:
        raise DomainError(
            f"`transmissivity` must have rows and columns, got the shape {transmissivity.shape}"
        )
    full = np.ascontiguousarray(transmissivity, dtype=np.float64)
    return _solved(full, full.shape, two_way, one_way, source, borders, start, steps, tolerance)


def flow_arrows(ground: Ground, head: Elevations) -> tuple[FloatArray, FloatArray]:
    """Flow of the groundwater in each cell, per metre of width, east and north.

    Parameters
    ----------
    ground : Ground
    head : Elevations     Shape (rows, columns). [m]

    Returns
    -------
    tuple of ndarray      East and north, each of shape (rows, columns). [m²/s]

    Notes
    -----
    The mean of what passes the two sides of the cell; at the grid's edge, that of the cell's inner side.

    Examples
    --------
    >>> shape = (1, 1, 3)
    >>> tall, low = np.full(shape, 9.0), np.zeros(shape)
    >>> ground = Ground(2.0, tall, low, np.full(shape, 1e-4), low[0], np.full(shape[1:], 1.0))
    >>> east, north = flow_arrows(ground, np.array([[3.0, 2.0, 1.0]]))
    >>> (east * 1e5).round(6).tolist(), north.tolist()
    ([[5.0, 5.0, 5.0]], [[0.0, 0.0, 0.0]])

    hand

    References
    ----------
    .. [1] Derived: Darcy's law.
    """
    _require_shape("head", head, ground.base.shape)
    framed = np.pad(head, 1)
    east_face, north_face = np.zeros(framed.shape), np.zeros(framed.shape)
    part = _layers(ground)
    layer_faces(
        part.top,
        part.bottom,
        part.permeability,
        part.base,
        part.least,
        part.cap,
        framed,
        0.0,
        east_face,
        north_face,
    )
    east = -east_face[1:-1, 1:-2] * np.diff(head, axis=1) / ground.spacing
    north = -north_face[1:-2, 1:-1] * np.diff(head, axis=0) / ground.spacing
    return _middle(east, 1, head.shape), _middle(north, 0, head.shape)


def _middle(flow: FloatArray, axis: int, shape: tuple[int, ...]) -> FloatArray:
    """Mean of what passes the two sides of each cell."""
    if shape[axis] == 1:
        return np.zeros(shape)
    first, last = np.take(flow, [0], axis=axis), np.take(flow, [-1], axis=axis)
    return 0.5 * (np.concatenate([first, flow], axis=axis) + np.concatenate([flow, last], axis=axis))


def _layers(ground: Ground) -> Layers:
    """The ground's layers, once they are known to be sound."""
    shape = ground.base.shape
    if len(shape) != 2:
        raise DomainError(f"`base` must have rows and columns, got the shape {shape}")
    for name in ("layers_top", "layers_bottom", "permeability"):
        layers = getattr(ground, name)
        if layers.ndim != 3 or not len(layers) or layers.shape != (len(ground.layers_top), *shape):
            raise DomainError(
                f"`{name}` must have the shape (layers, {shape[0]}, {shape[1]}), got {layers.shape}"
            )
    _require_shape("cap", ground.cap, shape)
    _require_above_zero("permeability", ground.permeability, "m/s")
    if np.isnan(ground.cap.min()):
        raise DomainError("`cap` must be a number in every cell")
    height = ground.layers_top.max(axis=0) - ground.base
    if not (height.min() > 0.0 and height.max() < np.inf):
        raise DomainError("`base` must be below the top of the layers in every cell")
    if not (ground.layers_bottom.min(axis=0) - ground.base).max() <= 0.0:
        raise DomainError("`layers_bottom` must reach down to the base in every cell")
    least = ground.base + WETTED_FLOOR * height
    arrays = (ground.layers_top, ground.layers_bottom, ground.permeability, ground.base, least, ground.cap)
    return Layers(*(np.ascontiguousarray(array, dtype=np.float64) for array in arrays))


def _require_shape(name: str, array: FloatArray, shape: tuple[int, ...]) -> None:
    if array.shape != shape:
        raise DomainError(f"`{name}` must have the shape {shape}, got {array.shape}")


def _require_above_zero(name: str, array: FloatArray, unit: str) -> None:
    if not (array.min() > 0.0 and array.max() < np.inf):
        raise DomainError(f"`{name}` must be above 0 {unit} everywhere, got {array.min():g} {unit}")


class _Part(NamedTuple):
    """One border or water: its cells, how well they are tied and to which level; stiff ones apart."""

    water: Border | TwoWay | OneWay
    cells: NDArray[np.int64]
    ratio: FloatArray
    level: FloatArray
    stiff: NDArray[np.int64]
    stiff_level: FloatArray


def _solved(
    ground: Layers | FloatArray,
    shape: tuple[int, ...],
    two_way: Sequence[TwoWay],
    one_way: Sequence[OneWay],
    source: FloatArray | None,
    borders: Sequence[Border],
    start: Elevations | None,
    steps: int | None,
    tolerance: Length,
) -> Heads:
    put = np.zeros(shape) if source is None else np.ascontiguousarray(source, dtype=np.float64)
    _require_shape("source", put, shape)
    if not np.isfinite(put.sum()):
        raise DomainError("`source` must be a finite flow in every cell")
    if start is not None:
        _require_shape("start", start, shape)
        if not np.isfinite(start.sum()):
            raise DomainError("`start` must be a finite head in every cell")
    if not tolerance > 0.0 or (steps is not None and (steps < 1 or start is None)):
        raise DomainError("`tolerance` must be above 0 m, and `steps` at least 1 from a `start`")
    waters: list[Border | TwoWay | OneWay] = [*borders, *two_way, *one_way]
    parts = [_part(water, shape) for water in waters]
    problem = _problem(ground, put, parts)
    if steps is None or start is None:
        found = settled_heads(problem, start, tolerance, 0.1 * MASS_TOLERANCE)
    else:
        found = stepped_heads(problem, start, steps, tolerance)
    return _told(problem, parts, found, (len(borders), len(borders) + len(two_way)), steps is None)


def _part(water: Border | TwoWay | OneWay, shape: tuple[int, ...]) -> _Part:
    name = "width" if isinstance(water, Border) else "conductance"
    ratio = water.width if isinstance(water, Border) else water.conductance
    _require_shape(name, ratio, shape)
    _require_shape("level", water.level, shape)
    ratio, level = ratio.ravel(), water.level.ravel()
    cells = np.flatnonzero(ratio != 0.0)
    ratio, level = ratio[cells], level[cells]
    if len(cells) and not ratio.min() > 0.0:
        raise DomainError(f"`{name}` must be at least 0 in every cell, got {ratio.min():g}")
    if not np.isfinite(level.sum()):
        raise DomainError(f"`level` must be a finite elevation wherever `{name}` is above 0")
    stiff = ratio == np.inf
    if not stiff.any():
        return _Part(water, cells, ratio, level, cells[:0], level[:0])
    if isinstance(water, Border):
        raise DomainError("`width` must be finite in every cell; a `TwoWay` holds a cell at a level")
    if stiff.all():
        return _Part(water, cells[:0], ratio[:0], level[:0], cells, level)
    return _Part(water, cells[~stiff], ratio[~stiff], level[~stiff], cells[stiff], level[stiff])


def _problem(ground: Layers | FloatArray, source: FloatArray, parts: Sequence[_Part]) -> Problem:
    if not any(len(part.cells) or len(part.stiff) for part in parts):
        raise DomainError("`borders`, `two_way` or `one_way` must tie the water to a level somewhere")
    held, lid = np.full(source.size, np.nan), np.full(source.size, np.inf)
    for part in parts:
        if isinstance(part.water, TwoWay):
            held[part.stiff] = part.stiff_level
        elif len(part.stiff):
            lid[part.stiff] = np.minimum(lid[part.stiff], part.stiff_level)
    ties = Ties(
        cell=np.concatenate([part.cells for part in parts]),
        conductance=np.concatenate(
            [np.zeros(len(part.cells)) if isinstance(part.water, Border) else part.ratio for part in parts]
        ),
        level=np.concatenate([part.level for part in parts]),
        one_way=np.concatenate(
            [np.full(len(part.cells), isinstance(part.water, OneWay), dtype=np.int8) for part in parts]
        ),
        width=np.concatenate(
            [part.ratio if isinstance(part.water, Border) else np.zeros(len(part.cells)) for part in parts]
        ),
    )
    rows, columns = source.shape
    return Problem(
        (rows, columns), ground, source, ties, held.reshape(source.shape), lid.reshape(source.shape)
    )


def _told(
    problem: Problem, parts: Sequence[_Part], found: Found, ends: tuple[int, int], exact: bool
) -> Heads:
    """What was found, water by water; raises where an exact answer lost water."""
    shape, source = problem.shape, problem.source
    flows = []
    pinned, over, lid, done = found.pinned.ravel(), found.over.ravel(), problem.lid.ravel(), 0
    told = np.zeros(pinned.size, dtype=np.bool_)
    into, net = float(np.maximum(source, 0.0).sum()), float(source.sum())
    for part in parts:
        only_out = isinstance(part.water, OneWay)
        # What is over in a pinned cell is told once: by the first whose level holds it.
        own = (
            part.stiff[pinned[part.stiff] == (ON_LID if only_out else HELD)]
            if len(part.stiff)
            else part.stiff
        )
        own = own[~told[own]]
        if only_out and len(own):
            own = own[lid[own] == part.water.level.ravel()[own]]
        told[own] = True
        flow = np.zeros(pinned.size)
        for cells, inward in ((part.cells, found.tied[done : done + len(part.cells)]), (own, -over[own])):
            passing = np.maximum(-inward, 0.0) if only_out else inward
            flow[cells] += passing
            into += 0.0 if only_out else float(np.maximum(passing, 0.0).sum())
            net += -float(passing.sum()) if only_out else float(passing.sum())
        done += len(part.cells)
        flows.append(flow.reshape(shape))
    across, through, left = (tuple(flows[a:b]) for a, b in pairwise((0, *ends, len(flows))))
    if exact and not abs(net) <= MASS_TOLERANCE * into + found.rounding:
        raise DomainError(f"the flow must lose no water, got {net:.2g} of {into:.2g} m³/s lost")
    lost = abs(net) / into if into > found.rounding else 0.0
    return Heads(
        found.head,
        left,
        through,
        across,
        source,
        found.error,
        lost,
        found.steps,
        found.settled,
        found.dry,
    )
