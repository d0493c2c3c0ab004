"""The shore by short pieces: which bank lies where, and which ground belongs to which piece.

Stone is told by places: a stretch of a shore, one zone of a bank, a whole body.  So the rings of a body are
cut into short pieces, each with its length and station, and every other place, a node of the grid or a piece
of a line farther in, belongs to the piece of shore that is nearest.

See Also
--------
pondwright.rooms.stone.courses : rows of stones along these pieces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from pondwright.base.errors import DomainError
from pondwright.base.kinds import FloatArray, Length, Lengths
from pondwright.geometry.contour import contours
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import signed_area

PIECE: Length = 0.25
"""Greatest length of a piece of shore. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class ShoreWalk:
    """Pieces of all rings of a body, ring by ring, in the order of the ring's points.

    Attributes
    ----------
    ring, side : (n,) int arrays     Number of the ring, and of the side of the ring, by its first point.
    station : (n,) array             Middle of the piece, from the ring's first point. [m]
    points : (n, 2) array            Middles of the pieces. [m]
    lengths : (n,) array             [m]
    inward : (n, 2) array            Unit vector towards the water.
    """

    ring: NDArray[np.intp]
    side: NDArray[np.intp]
    station: Lengths
    points: Lengths
    lengths: Lengths
    inward: FloatArray

    def nearest(self, points: Lengths) -> NDArray[np.intp]:
        """Piece of shore nearest to each point.

        Parameters
        ----------
        points : (k, 2) array     [m]

        Returns
        -------
        (k,) int array
        """
        if not len(points):
            return np.zeros(0, dtype=np.intp)
        return np.asarray(cKDTree(self.points).query(points)[1], dtype=np.intp)


def shore_walk(rings: Sequence[Lengths], longest: Length = PIECE) -> ShoreWalk:
    """Rings of a body in short pieces.

    Parameters
    ----------
    rings : arrays (n, 2)     The outer shore first, then islands; the last point runs on to the first. [m]
    longest : Length          Of a piece. [m], > 0

    Returns
    -------
    ShoreWalk

    Raises
    ------
    DomainError               If there is no ring, or a piece has no length.

    Examples
    --------
    >>> walk = shore_walk([np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])], 1.0)
    >>> len(walk.lengths), float(walk.lengths.sum()), walk.station[:2].tolist(), walk.inward[0].tolist()
    (14, 14.0, [0.5, 1.5], [0.0, 1.0])

    hand

    References
    ----------
    .. [1] Derived: running sum of lengths.
    """
    if not rings:
        raise DomainError("`rings` must have at least 1 ring, got none")
    if not longest > 0.0:
        raise DomainError(f"`longest` must be above 0 m, got {longest:g} m")
    parts = [_ring_pieces(number, ring, longest) for number, ring in enumerate(rings)]
    return ShoreWalk(*(np.concatenate(each) for each in zip(*parts, strict=True)))


def sides_between(spans: NDArray[np.int32], pegs: Sequence[str], start: str, end: str) -> NDArray[np.bool_]:
    """Sides of a ring from one peg on to another, in the order of the pegs.

    Parameters
    ----------
    spans : (n,) int array     Peg at which the span of each point begins.
    pegs : ids                 In order around the ring.
    start, end : id            The same peg means all round.

    Returns
    -------
    (n,) bool array            By the first point of each side.

    Raises
    ------
    DomainError                If a peg is not one of the ring.

    Examples
    --------
    >>> sides_between(np.arange(4, dtype=np.int32), ["a", "b", "c", "d"], "d", "b").tolist()
    [True, False, False, True]

    hand

    References
    ----------
    .. [1] Derived: sides between two places on a ring.
    """
    for peg in (start, end):
        if peg not in pegs:
            raise DomainError(f"`pegs` must have `{peg}`, got {', '.join(pegs)}")
    first, last = (int(np.searchsorted(spans, pegs.index(peg))) for peg in (start, end))
    count = (last - first) % len(spans) or len(spans)
    return (np.arange(len(spans)) - first) % len(spans) < count


def line_pieces(distance: Lengths, grid: Grid, offset: Length) -> tuple[Lengths, Lengths]:
    """Short pieces of the line that runs so far inward from the shore.

    Parameters
    ----------
    distance : (rows, columns) array     To the shore, positive inside. [m]
    grid : Grid                          Where the nodes are.
    offset : Length                      Inward from the shore. [m], > 0

    Returns
    -------
    (n, 2) array                         Middles of the pieces. [m]
    (n,) array                           Their lengths. [m]

    Raises
    ------
    DomainError                          If the offset is not above 0: the shore itself is the ring.

    Examples
    --------
    >>> grid = Grid(origin_east=0.0, origin_north=0.0, spacing=1.0, columns=5, rows=2)
    >>> inward = np.array([[-0.5, 0.5, 1.5, 2.5, 3.5]] * 2)
    >>> [each.tolist() for each in line_pieces(inward, grid, 1.0)]
    [[[1.5, 0.5]], [1.0]]

    hand

    References
    ----------
    .. [1] Derived: contour of the distance.
    """
    if not offset > 0.0:
        raise DomainError(f"`offset` must be above 0 m, got {offset:g} m")
    ((_, lines),) = contours(distance, grid, [offset])
    starts = [line[:-1] for line in lines] or [np.zeros((0, 2))]
    ends = [line[1:] for line in lines] or [np.zeros((0, 2))]
    start, end = np.concatenate(starts), np.concatenate(ends)
    lengths = np.hypot(*(end - start).T)
    return (0.5 * (start + end))[lengths > 0.0], lengths[lengths > 0.0]


def _ring_pieces(number: int, ring: Lengths, longest: Length) -> tuple[np.ndarray, ...]:
    sides = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    counts = np.ceil(lengths / longest - 1e-9).astype(np.intp)
    side = np.repeat(np.arange(len(ring)), counts)
    starts = np.concatenate([[0.0], np.cumsum(lengths)[:-1]])
    # Place of a piece on its side: 0, 1, 2 and so on from the first piece of the side.
    place = np.arange(len(side)) - np.repeat(np.cumsum(counts) - counts, counts)
    share = (place + 0.5) / counts[side]
    along = sides[side] / lengths[side][:, None]
    left = np.column_stack([-along[:, 1], along[:, 0]])
    # The water lies left of a shore that runs anticlockwise, and right of an island that does.
    towards = left * np.sign(signed_area(ring)) * (1.0 if number == 0 else -1.0) + 0.0
    return (
        np.full(len(side), number, dtype=np.intp),
        side,
        starts[side] + share * lengths[side],
        ring[side] + share[:, None] * sides[side],
        (lengths / np.maximum(counts, 1))[side],
        towards,
    )
