"""Level notes adjusted: all books together, by least squares, and how sure each height is.

The unknowns are the heights of instrument and the points that carry the level; each reading that carries
or closes is one observation.  With one backsight and one foresight a set-up, a single loop comes out as the
rule of the trade says: the misclosure shared out by set-ups, or by distance.  Several routes to one point
come out as their weighted mean, and several books as one.

A reading that only tells a height takes the correction of its own set-up, which lies halfway between those
of its backsight and of its foresight.

See Also
--------
pondwright.rooms.site.levelling : the same books as they run.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Areas, Elevation, Elevations, Length, Lengths
from pondwright.rooms.site.instrument import USUAL_SIGHT, reading_sigma
from pondwright.rooms.site.levelling import LevelBook, Reduction, SetUpKey, Sight, SightKey

MOST_UNKNOWNS = 4_000
"""Set-ups and turning points that are adjusted together at most: their covariance is a full matrix."""

SOFT_FOOT = 0.003
"""How far the foot of the rod sinks into ground that is only shot [m]; common practice."""

EXACT = -1
"""Base of a point that is a mark taken as exact."""

_SHORTEST_SIGHT = 1.0
_SURE_AS_EXACT = 1e-6


@dataclass(frozen=True, slots=True)
class KnownMark:
    """Elevation of a mark, and its standard deviation (0: taken as exact)."""

    elevation: Elevation
    sigma: Length = 0.0


@dataclass(frozen=True, slots=True)
class LevelledPoint:
    """A height from the books.

    `sigma` is of its own reading alone and adds to that of its `base` in :class:`LevelNet` (-1: an exact
    mark); `correction` is what the adjustment did to the height as the book runs.
    """

    elevation: Elevation
    sigma: Length
    base: int
    set_up: SetUpKey | None
    correction: Length


@dataclass(frozen=True, slots=True)
class NetPart:
    """Set-ups that hang together: readings to spare, and how much worse than foretold they fit.

    `redundancy` 0 means that nothing checks these heights; `scale` is at least 1.
    """

    set_ups: tuple[SetUpKey, ...]
    redundancy: int
    scale: float


@dataclass(frozen=True, slots=True, eq=False)
class LevelNet:
    """Adjusted heights.

    A base is a height of instrument, named book/number from 1, or a point that carries the level, by its
    id.  `covariance` is what the readings give the bases [m²], `mark_covariance` what the marks' own errors
    do; a volume that grows by b with the bases and by a with the points' own readings has the variance
    bᵀ C b + Σ (a sigma)².
    """

    instruments: Mapping[SetUpKey, Elevation]
    points: Mapping[str, LevelledPoint]
    residuals: Mapping[SightKey, Length]
    bases: tuple[str, ...]
    covariance: Areas
    mark_covariance: Areas
    parts: tuple[NetPart, ...]

    def point_sigma(self, name: str) -> Length:
        """Standard deviation of a point from all causes [m]."""
        point = self.points[name]
        if point.base == EXACT:
            return point.sigma
        whole = self.covariance[point.base, point.base] + self.mark_covariance[point.base, point.base]
        return math.hypot(point.sigma, math.sqrt(max(float(whole), 0.0)))


def adjusted_levels(
    books: Sequence[LevelBook], marks: Mapping[str, KnownMark], reduction: Reduction
) -> LevelNet:
    """Heights that fit all readings best.

    Parameters
    ----------
    books : sequence of LevelBook      In any order.
    marks : mapping to KnownMark       Marks of known elevation; an uncertain one is fitted too. [m]
    reduction : Reduction              The same books as they run.

    Returns
    -------
    LevelNet                           Elevations and their errors. [m]

    Raises
    ------
    DomainError                        If there are more unknowns than can be adjusted together.

    Notes
    -----
    Observations z - H = ∓ reading, weights 1/sigma²: by set-ups every sight has the sigma of a sight of
    30 m; by distance its variance grows with its length, so that a leg's does.  x = (AᵀPA)⁻¹ AᵀPl.  Where
    the readings fit worse than their sigma foretells, their covariance grows by Σ P v² / redundancy; it
    never shrinks, because a few good closures prove little.

    Examples
    --------
    >>> from pondwright.rooms.site.levelling import reduce_books
    >>> rows = [("bm", 1.655, "tp1", 0.912), ("tp1", 1.402, "tp2", 1.873), ("tp2", 0.985, "bm", 1.249)]
    >>> book = LevelBook("one", tuple((Sight(b, r, "back"), Sight(f, s, "turn")) for b, r, f, s in rows))
    >>> net = adjusted_levels([book], {"bm": KnownMark(100.0)}, reduce_books([book], {"bm": 100.0}))
    >>> [round(net.points[name].elevation, 4) for name in ("tp1", "tp2")]
    [100.7403, 100.2667]

    hand

    References
    ----------
    .. [1] Derived: least squares; equal to sharing out w n_i / n at the turning points of one loop.
    """
    system = _System(sorted(books, key=lambda book: book.name), marks, reduction)
    if len(system.bases) > MOST_UNKNOWNS:
        raise DomainError(
            f"`books` must have at most {MOST_UNKNOWNS} set-ups and turning points, got {len(system.bases)}"
        )
    return system.solved()


class _System:
    """Equations of the readings and of the uncertain marks: one row each, in differences from a start.

    The heights as they run are the start, so that what is solved for are the small corrections.
    """

    def __init__(
        self, books: Sequence[LevelBook], marks: Mapping[str, KnownMark], reduction: Reduction
    ) -> None:
        self.books = {book.name: book for book in books}
        self.marks = marks
        self.reduction = reduction
        self.set_ups = list(reduction.instruments)
        carried = dict.fromkeys(sight.point for sight in reduction.carrying.values())
        points = [name for name in sorted(carried) if name not in marks or marks[name].sigma > _SURE_AS_EXACT]
        self.bases = (*(f"{book}/{number + 1}" for book, number in self.set_ups), *points)
        self.row_of_set_up = {key: row for row, key in enumerate(self.set_ups)}
        self.row_of_point = {name: len(self.set_ups) + row for row, name in enumerate(points)}
        self.usual = {name: _usual_length(book) for name, book in self.books.items()}

    def solved(self) -> LevelNet:
        design, missing, sigma, is_mark = self._equations()
        size = len(self.bases)
        correction = np.zeros(size)
        covariance, of_marks = np.zeros((size, size)), np.zeros((size, size))
        parts: list[NetPart] = []
        residual = -missing
        for rows, columns in _parts_of(design):
            block = design[np.ix_(rows, columns)] / sigma[rows, None]
            correction[columns], inverse, spread = _least_squares(
                block, missing[rows] / sigma[rows], is_mark[rows]
            )
            residual[rows] = design[np.ix_(rows, columns)] @ correction[columns] - missing[rows]
            redundancy = len(rows) - len(columns)
            misfit = float(np.sum((residual[rows] / sigma[rows]) ** 2))
            scale = max(misfit / redundancy, 1.0) if redundancy else 1.0
            covariance[np.ix_(columns, columns)] = scale * (inverse - spread)
            of_marks[np.ix_(columns, columns)] = spread
            own = tuple(self.set_ups[column] for column in columns if column < len(self.set_ups))
            parts.append(NetPart(own, redundancy, scale))
        return LevelNet(
            instruments={
                key: self.reduction.instruments[key] + float(correction[row])
                for key, row in self.row_of_set_up.items()
            },
            points=self._points(correction),
            residuals=dict(zip(self.reduction.carrying, map(float, residual), strict=False)),
            bases=self.bases,
            covariance=covariance,
            mark_covariance=of_marks,
            parts=tuple(parts),
        )

    def _equations(self) -> tuple[Lengths, Lengths, Lengths, NDArray[np.bool_]]:
        """Design, what is missing at the start, and sigma; readings first, then uncertain marks."""
        readings, at = self.reduction.carrying, self.reduction.elevations
        uncertain = [name for name in self.row_of_point if name in self.marks]
        count = len(readings) + len(uncertain)
        design, missing, sigma = np.zeros((count, len(self.bases))), np.zeros(count), np.ones(count)
        for row, (key, sight) in enumerate(readings.items()):
            design[row, self.row_of_set_up[key[:2]]] = -1.0
            if sight.point in self.row_of_point:
                design[row, self.row_of_point[sight.point]] = 1.0
            missing[row] = self.reduction.readings[key] - at[sight.point]
            sigma[row] = self._sigma(key[0], sight)
        for row, name in enumerate(uncertain, len(readings)):
            design[row, self.row_of_point[name]] = 1.0
            missing[row] = self.marks[name].elevation - at[name]
            sigma[row] = self.marks[name].sigma
        return design, missing, sigma, np.arange(count) >= len(readings)

    def _sigma(self, book: str, sight: Sight) -> Length:
        if not self.books[book].by_distance:
            return reading_sigma(USUAL_SIGHT)
        length = self.usual[book] if sight.distance is None else sight.distance
        return reading_sigma(USUAL_SIGHT) * math.sqrt(max(length, _SHORTEST_SIGHT) / USUAL_SIGHT)

    def _points(self, correction: Elevations) -> dict[str, LevelledPoint]:
        """Every point that was read, once: carried points first, then those that were only shot."""
        at, usual = self.reduction.elevations, reading_sigma(USUAL_SIGHT, foot=SOFT_FOOT)
        found: dict[str, LevelledPoint] = {}
        for key, sight in self.reduction.carrying.items():
            row = self.row_of_point.get(sight.point, EXACT)
            moved = 0.0 if row == EXACT else float(correction[row])
            found.setdefault(sight.point, LevelledPoint(at[sight.point] + moved, 0.0, row, key[:2], moved))
        for book in self.books.values():
            for key, sight in book.sights():
                if sight.point in found or key not in self.reduction.readings:
                    continue
                row = self.row_of_set_up[key[:2]]
                moved = float(correction[row])
                length = sight.distance
                found[sight.point] = LevelledPoint(
                    self.reduction.readings[key] + moved,
                    usual if length is None else reading_sigma(length, foot=SOFT_FOOT),
                    row,
                    key[:2],
                    moved,
                )
        return found


def _least_squares(
    whitened: Lengths, missing: Lengths, is_mark: NDArray[np.bool_]
) -> tuple[Lengths, Areas, Areas]:
    """Corrections, their covariance, and the part of it that the marks' own errors give."""
    factor = cho_factor(whitened.T @ whitened)
    correction = cho_solve(factor, whitened.T @ missing)
    inverse = cho_solve(factor, np.eye(whitened.shape[1]))
    inverse = 0.5 * (inverse + inverse.T)
    gain = inverse @ whitened[is_mark].T
    return correction, inverse, gain @ gain.T


def _parts_of(design: Lengths) -> list[tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Rows and columns that hang together."""
    row, column = np.nonzero(design)
    count, width = design.shape
    joined = coo_array((np.ones(len(row)), (column, width + row)), shape=(width + count, width + count))
    _, label = connected_components(joined, directed=False)
    return [
        (np.flatnonzero(label[width:] == part), np.flatnonzero(label[:width] == part))
        for part in dict.fromkeys(label[:width].tolist())
    ]


def _usual_length(book: LevelBook) -> Length:
    """Mean length of the sights that were noted, for those that were not."""
    noted = [sight.distance for _, sight in book.sights() if sight.distance is not None]
    return math.fsum(noted) / len(noted) if noted else USUAL_SIGHT
