"""How heads are found: rounds of a linear solve, each with the wetted ground and the ways out of the last.

Heads are kept above a datum among their levels, in a frame of one zero on each side, so that small
differences are exact and no loop asks whether it is at an edge.  A round corrects the heads for what is left
over in every cell; so whatever the rounds were, what is left over at the end tells how good the answer is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, FloatArray, Length, Ratio
from pondwright.geometry.kernels.five_point import (
    coarsen,
    correction,
    cut_off,
    exchange,
    frame,
    layer_faces,
    let_go,
    net_gain,
    press_down,
    set_aside,
)

__all__: list[str] = []

Number = TypeVar("Number", bound=np.generic)

FREE, HELD, ON_LID = 0, 1, 2

CLEARANCE: Length = 1e-13
"""Within this a way out stays as it is, so that rounding cannot open and close it for ever. [m]"""

MOST_ROUNDS = 120
PATIENCE = 6
"""Rounds in which the corrections may fail to shrink before less of them is taken."""
SMALL = 32
"""So few cells a side are solved from a level start; more start from the answer on half as many a side."""


@dataclass(frozen=True, slots=True)
class Layers:
    """Ground in layers; `least` is the height up to which a cell always counts as wetted."""

    top: FloatArray
    bottom: FloatArray
    permeability: FloatArray
    base: FloatArray
    least: FloatArray
    cap: FloatArray

    def transmissivity(self, cells: NDArray[np.int64], height: FloatArray) -> FloatArray:
        """Transmissivity of some cells, by their flat index, wetted up to a height."""

        def part(layers: FloatArray) -> FloatArray:
            return layers.reshape(*layers.shape[:-2], -1)[..., cells]

        wet = np.maximum(np.minimum(height, part(self.cap)), part(self.least))
        thickness = np.minimum(wet, part(self.top)) - np.maximum(part(self.bottom), part(self.base))
        return (part(self.permeability) * np.maximum(thickness, 0.0)).sum(axis=0)


@dataclass(frozen=True, slots=True)
class Ties:
    """Levels that cells are tied to: flat index of the cell, conductance, level, whether it only lets out.

    Where `width` is above 0, the conductance is that times the cell's own transmissivity.
    """

    cell: NDArray[np.int64]
    conductance: FloatArray
    level: FloatArray
    one_way: NDArray[np.int8]
    width: FloatArray


@dataclass(frozen=True, slots=True)
class Problem:
    """What heads are sought for: ground in layers or of fixed transmissivity, ties, held cells and lids.

    `held` is NaN where the head is free, `lid` infinite where it may rise.
    """

    shape: tuple[int, int]
    ground: Layers | FloatArray
    source: FloatArray
    ties: Ties
    held: FloatArray
    lid: FloatArray


@dataclass(frozen=True, slots=True)
class Found:
    """Heads, what comes into each cell beyond its ties, what comes by each tie, and how good they are."""

    head: FloatArray
    over: FloatArray
    tied: FloatArray
    pinned: NDArray[np.int8]
    dry: NDArray[np.bool_]
    error: Length
    rounding: float
    steps: int
    settled: bool


def settled_heads(problem: Problem, start: FloatArray | None, tolerance: Length, loss: Ratio) -> Found:
    """Heads after as many rounds as it takes until no way out changes and nothing is left over.

    Parameters
    ----------
    problem : Problem
    start : ndarray         Heads to start from; none starts from those of coarser grids. [m]
    tolerance : Length      How near the heads must come. [m], > 0
    loss : Ratio            Part of the water that comes in that may be left over. [-], > 0

    Returns
    -------
    Found                   Not settled where the wetted thickness did not come to rest; that of the last
                            round is taken then, and `error` tells how far another would take the heads.

    Raises
    ------
    DomainError             If more water is taken than comes in.
    """
    return _rest(_Rounds(problem, _nested(problem) if start is None else start), tolerance, loss)


def _rest(rounds: _Rounds, tolerance: Length, loss: Ratio) -> Found:
    linear = rounds.frozen and not rounds.one_sided
    damping = _Damping()
    for number in range(MOST_ROUNDS):
        rounds.look()
        if rounds.lifted():
            continue
        rounds.make_ready()
        bearable = max(loss * rounds.coming, 16.0 * rounds.rounding())
        lossy = rounds.left_over > bearable
        deep = linear or (rounds.frozen and number > 0 and rounds.changes == 0)
        least = 1e-10 if deep else 0.01 if rounds.frozen else 0.1
        part = max(0.3 * bearable / rounds.left_over, least) if lossy else least
        left, taken = rounds.correct(100, part, 0.0 if lossy else 0.5 * tolerance)
        if rounds.changes == 0 and not lossy and taken == 0:
            return rounds.found(2.0 * left, True)
        rounds.move(rounds.total if rounds.frozen else damping.of(rounds.total))
    return _unsettled(rounds, tolerance, loss)


def _unsettled(rounds: _Rounds, tolerance: Length, loss: Ratio) -> Found:
    """What is exact for the wetted ground of the last round, with how far another round would take it."""
    if rounds.frozen:
        raise DomainError(f"the heads must come to rest within {MOST_ROUNDS} rounds, and they do not")
    rounds.frozen = True
    found = _rest(rounds, tolerance, loss)
    rounds.frozen = False
    rounds.look()
    rounds.make_ready()
    left, _ = rounds.correct(100, 0.1, 0.0)
    return replace(found, error=float(np.abs(rounds.total).max()) + left, settled=False)


def stepped_heads(problem: Problem, start: FloatArray, steps: int, tolerance: Length) -> Found:
    """Heads after a fixed number of steps, with an estimate of how far they are from the settled ones.

    Parameters
    ----------
    problem : Problem
    start : ndarray         Heads to start from. [m]
    steps : int             Steps of the linear solver in all, at least 1.
    tolerance : Length      It ends before where the heads are within this. [m], > 0

    Returns
    -------
    Found

    Raises
    ------
    DomainError             If more water is taken than comes in.

    Notes
    -----
    One round takes all steps, unless ways out change or cells are on their lid: then a round takes two.  A
    last look, with a cycle on the operator of the round before, tells the correction still to come; the error
    is taken as twice that, or four times where ways out still change.
    """
    rounds = _Rounds(problem, start)
    while True:
        rounds.look()
        if rounds.lifted():
            continue
        last = rounds.taken >= steps
        if not last:
            rounds.make_ready()
        rest = steps - rounds.taken
        left, taken = rounds.correct(min(rest, 2) if rounds.swaying() else rest, 0.0, 0.5 * tolerance)
        if last or (taken == 0 and not rounds.changes):
            return rounds.found(
                (4.0 if rounds.changes else 2.0) * left, left <= 0.5 * tolerance and not rounds.changes
            )
        rounds.move(rounds.total)
        if taken == 0:
            rounds.taken += 1


class _Rounds:
    """State of the rounds on one grid."""

    def __init__(self, problem: Problem, start: FloatArray) -> None:
        self.problem = problem
        columns = problem.shape[1]
        self._make_arrays()
        self.datum: Elevation = float(start.mean())
        _inside(self.x)[:] = start - self.datum
        ties = problem.ties
        self.place = (ties.cell // columns + 1) * (columns + 2) + ties.cell % columns + 1
        self.level = ties.level - self.datum
        self.conductance = ties.conductance.copy()
        self.growing = np.flatnonzero(ties.width > 0.0)
        self.opened = ((ties.one_way == 0) | (self.x.ravel()[self.place] > self.level)).astype(np.int8)
        self._pin()
        self.frozen = isinstance(problem.ground, np.ndarray)
        self.one_sided = self.any_lid or bool(ties.one_way.any())
        if isinstance(problem.ground, np.ndarray):
            self._fixed_conductance(problem.ground)
        self.taken = 0
        self.supply = float(np.maximum(problem.source, 0.0).sum())
        self.most = 0.0

    def _make_arrays(self) -> None:
        """One block for all arrays of all levels: fresh memory is slow to touch."""
        rows, columns = self.problem.shape
        sizes, count = [], 0
        while True:
            sizes.append((count, rows, columns))
            count += (rows + 2) * (columns + 2)
            if rows * columns == 1:
                break
            rows, columns = (rows + 1) // 2, (columns + 1) // 2
        self.sizes = np.array(sizes, dtype=np.int64)
        rows, columns = self.problem.shape
        framed = (rows + 2, columns + 2)
        fine = framed[0] * framed[1]
        block = np.empty(8 * count + 7 * fine)
        levels = block[: 8 * count].reshape(8, count)
        frame(self.sizes, levels)
        self.levels = tuple(levels)
        flat = block[8 * count :].reshape(7, fine)
        flat[:] = 0.0
        self.total, self.direction, self.product = flat[:3]
        self.east, self.north, self.x, self.lid = (array.reshape(framed) for array in flat[3:])
        self.gain = self.product.reshape(framed)  # one is done with where the other begins
        self.finest = tuple(array[:fine].reshape(framed) for array in self.levels)
        self.row = np.zeros(columns + 3)
        self.pinned = np.zeros(framed, dtype=np.int8)

    def _pin(self) -> None:
        x, pinned, problem = _inside(self.x), _inside(self.pinned), self.problem
        _inside(self.lid)[:] = problem.lid - self.datum
        held = ~np.isnan(problem.held)
        self.any_held = bool(held.any())
        if self.any_held:
            x[held] = problem.held[held] - self.datum
            pinned[held] = HELD
        self.any_lid = bool(np.isfinite(problem.lid).any())
        if self.any_lid:
            pinned[(pinned == FREE) & (x >= _inside(self.lid) - CLEARANCE)] = ON_LID

    def _fixed_conductance(self, transmissivity: FloatArray) -> None:
        one, other = transmissivity[:, :-1], transmissivity[:, 1:]
        _inside(self.east)[:, :-1] = 2.0 * one * other / (one + other)
        one, other = transmissivity[:-1], transmissivity[1:]
        _inside(self.north)[:-1] = 2.0 * one * other / (one + other)
        ties, growing = self.problem.ties, self.growing
        self.conductance[growing] = ties.width[growing] * transmissivity.ravel()[ties.cell[growing]]

    def look(self) -> None:
        """See what the heads are worth: conductances, ways out that change, what each cell has left over."""
        problem = self.problem
        self.changes = press_down(self.lid, self.pinned, self.x, CLEARANCE) if self.any_lid else 0
        if isinstance(problem.ground, Layers) and not self.frozen:
            self._conduct(problem.ground)
        _inside(self.gain)[:] = problem.source
        extra, over = self.finest[2], self.finest[5]
        extra[:] = 0.0
        self.changes += exchange(
            self.place,
            self.conductance,
            self.level,
            problem.ties.one_way,
            self.x.ravel(),
            CLEARANCE,
            self.opened,
            self.gain.ravel(),
            extra.ravel(),
        )
        net_gain(self.east, self.north, self.x, self.gain, over)
        if self.any_lid:
            if not self.most:
                self.most = max(float(self.east.max()), float(self.north.max()))
            self.changes += let_go(over, self.pinned, -CLEARANCE * self.most)
        self._weigh()

    def _conduct(self, ground: Layers) -> None:
        layer_faces(
            ground.top,
            ground.bottom,
            ground.permeability,
            ground.base,
            ground.least,
            ground.cap,
            self.x,
            self.datum,
            self.east,
            self.north,
        )
        if len(self.growing):
            ties, growing = self.problem.ties, self.growing
            between = 0.5 * (self.x.ravel()[self.place[growing]] + self.level[growing]) + self.datum
            self.conductance[growing] = ties.width[growing] * ground.transmissivity(
                ties.cell[growing], between
            )

    def _weigh(self) -> None:
        """Water that comes in, and what is left over in the cells that are free."""
        self.over = np.empty(self.problem.shape)
        off, taken, lacking = set_aside(self.pinned, self.finest[5], self.over)
        self.tied = self.opened * self.conductance * (self.level - self.x.ravel()[self.place])
        self.coming = self.supply + float(np.maximum(self.tied, 0.0).sum()) + taken
        self.left_over = off + lacking

    def rounding(self) -> float:
        """What the sum of all flows may be off because numbers are rounded. [m³/s]"""
        rounded = float(np.finfo(np.float64).eps * (np.abs(self.x) * self.finest[3]).sum())
        return rounded + CLEARANCE * float(self.conductance.sum())

    def lifted(self) -> bool:
        """Whether no way out was open, so that all heads were lifted above the highest."""
        if self.any_held or self.opened.any() or (self.pinned == ON_LID).any():
            return False
        supply = float(self.problem.source.sum())
        if supply < 0.0:
            raise DomainError(f"`source` must not take more than comes in, got {supply:.3g} m³/s in all")
        if supply == 0.0:
            return False
        x = _inside(self.x)
        lid = _inside(self.lid)
        gaps = [self.level - self.x.ravel()[self.place], (lid - x)[np.isfinite(lid)]]
        x += np.concatenate(gaps).max() + 1e-3
        return True

    def swaying(self) -> bool:
        """Whether the ways out change, or cells on their lid are likely to."""
        return bool(self.changes) or (self.any_lid and bool((self.pinned == ON_LID).any()))

    def make_ready(self) -> None:
        """Make the operator of this round, on all levels."""
        east, north, extra, diagonal, inverse = self.levels[:5]
        cut_off(self.east, self.north, self.pinned, self.finest[0], self.finest[1], self.finest[2])
        coarsen(self.sizes, east, north, extra, diagonal, inverse)

    def correct(self, steps: int, part: Ratio, enough: Length) -> tuple[Length, int]:
        """Find the correction of this round; gives how much is still to come, and the steps taken."""
        east, north, _, diagonal, inverse, over, z, other = self.levels
        taken, left = correction(
            self.sizes,
            east,
            north,
            diagonal,
            inverse,
            over,
            z,
            other,
            self.row,
            self.total,
            self.direction,
            self.product,
            steps,
            part,
            enough,
        )
        self.taken += taken
        return left, taken

    def move(self, correction: FloatArray) -> None:
        """Move the heads."""
        self.x += correction.reshape(self.x.shape)

    def found(self, error: Length, settled: bool) -> Found:
        """What was found."""
        head = _inside(self.x) + self.datum
        dry = np.zeros(head.shape, dtype=np.bool_)
        if isinstance(self.problem.ground, Layers):
            dry = np.minimum(head, self.problem.ground.cap) < self.problem.ground.least
        return Found(
            head,
            self.over,
            self.tied,
            _inside(self.pinned).copy(),
            dry,
            error,
            self.rounding(),
            self.taken,
            settled,
        )


class _Damping:
    """Part of the corrections that is taken.

    The wetted thickness lags a round behind the heads.  Where ground is thin and steep the corrections may
    swing for ever; so whenever they have not shrunk for some rounds, less of them is taken.
    """

    def __init__(self) -> None:
        self.part: Ratio = 1.0
        self.smallest = np.inf
        self.waited = 0

    def of(self, correction: FloatArray) -> FloatArray:
        """What to take of a correction."""
        largest = float(np.abs(correction).max())
        if largest < 0.9 * self.smallest:
            self.smallest, self.waited = largest, 0
        else:
            self.waited += 1
        if self.waited == PATIENCE:
            self.part, self.waited = max(0.6 * self.part, 0.05), 0
            self.smallest = largest
        return self.part * correction


def _inside(framed: NDArray[Number]) -> NDArray[Number]:
    return framed[1:-1, 1:-1]


def _nested(problem: Problem) -> FloatArray:
    """Start of a problem: level where it is small, else the answer on half as many cells each way."""
    if max(problem.shape) <= SMALL:
        levels = np.concatenate([problem.ties.level, problem.held[~np.isnan(problem.held)]])
        if not len(levels):
            levels = problem.lid[np.isfinite(problem.lid)]
        return np.full(problem.shape, levels.mean())
    half = _halved(problem)
    return _doubled(settled_heads(half, None, 1e-3, 1e-3).head, problem.shape)


def _halved(problem: Problem) -> Problem:
    """The same problem on cells twice as wide."""
    ground = problem.ground
    if isinstance(ground, Layers):
        names = ("top", "bottom", "permeability", "base", "least", "cap")
        coarse: Layers | FloatArray = Layers(*(_mean(getattr(ground, name)) for name in names))
    else:
        coarse = _mean(ground)
    held = _blocks(problem.held)
    count = (~np.isnan(held)).sum(axis=0)
    level = np.where(count > 0, np.nansum(held, axis=0) / np.maximum(count, 1), np.nan)
    row, column = np.divmod(problem.ties.cell, problem.shape[1])
    ties = replace(problem.ties, cell=(row // 2) * level.shape[1] + column // 2)
    shape = (level.shape[0], level.shape[1])
    source = 4.0 * _mean(problem.source)
    return Problem(shape, coarse, source, ties, level, _blocks(problem.lid).max(axis=0))


def _blocks(array: FloatArray) -> FloatArray:
    """The four parts of each block of two by two, one behind the other; an odd edge counts twice."""
    edge = [(0, 0)] * (array.ndim - 2) + [(0, size % 2) for size in array.shape[-2:]]
    padded = np.pad(array, edge, mode="edge")
    return np.stack([padded[..., i::2, j::2] for i in (0, 1) for j in (0, 1)])


def _mean(array: FloatArray) -> FloatArray:
    return np.ascontiguousarray(_blocks(array).mean(axis=0))


def _doubled(coarse: FloatArray, shape: tuple[int, int]) -> FloatArray:
    """Values between those of a grid with cells twice as wide."""
    for axis in (0, 1):
        ends = np.pad(coarse, [(1, 1) if axis == k else (0, 0) for k in (0, 1)], mode="edge")
        below, above = (np.take(ends, np.arange(coarse.shape[axis]) + k, axis=axis) for k in (0, 2))
        parts = np.stack([0.75 * coarse + 0.25 * below, 0.75 * coarse + 0.25 * above], axis=axis + 1)
        coarse = parts.reshape([size * (2 if axis == k else 1) for k, size in enumerate(coarse.shape)])
    return np.ascontiguousarray(coarse[: shape[0], : shape[1]])
