"""The smooth curve through the pegs: centripetal Catmull-Rom, sampled.

Each span between two neighbouring pegs is a cubic that depends on four pegs alone, so a dragged
peg bends four spans and leaves the rest as it was.  The centripetal form takes the square root of
the chord as the knot interval; it neither loops nor overshoots inside a span when the pegs are
unevenly spaced, which the uniform form does.

The formula is repeated elsewhere (in the browser), so it is given here in full.  For the span from
peg ``B`` to peg ``C`` with ``A`` before ``B`` and ``D`` after ``C``:

1. knot intervals ``a = sqrt(|B - A|)``, ``b = sqrt(|C - B|)``, ``c = sqrt(|D - C|)``;
2. tangents, per unit of the span's own parameter ``u`` from 0 at ``B`` to 1 at ``C``::

       start = b * ((B - A) / a - (C - A) / (a + b) + (C - B) / b)
       end   = b * ((C - B) / b - (D - B) / (b + c) + (D - C) / c)

3. a peg that is a corner, and the first and the last peg of an open curve, ends the smooth run: its
   missing neighbour is the mirrored phantom ``A = 2 B - C`` (or ``D = 2 C - B``), for which the
   formula gives the chord itself, ``start = C - B`` (or ``end = C - B``);
4. a span of no length (two neighbouring pegs at one place) gives no points, and both its pegs
   are corners;
5. points at ``u = j / points_per_span`` for ``j = 0 … points_per_span - 1``::

       P(u) = B + u * (start + u * (3 (C - B) - 2 start - end + u * (start + end - 2 (C - B))))

   in the order of the spans; an open curve ends with its last peg (``u = 1`` of its last span).

A closed curve has one span a peg, the last one from the last peg back to the first.

References
----------
.. [1] E. Catmull, R. Rom, "A class of local interpolating splines", in Computer Aided Geometric
   Design, Academic Press, 1974; from memory.
.. [2] C. Yuksel, S. Schaefer, J. Keyser, "Parameterization and applications of Catmull-Rom
   curves", Computer-Aided Design 43 (2011), for the centripetal knots; from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import FloatArray, Lengths, Ratios


@dataclass(frozen=True, slots=True)
class Sampled:
    """A curve as points: for each point its place, its span and its parameter in the span.

    Parameters
    ----------
    points : Lengths, (m, 2) array
        East and north of the points; of a closed curve without the first one again. [m]
    span : (m,) int array
        Number of the peg at which the point's span begins.
    parameter : Ratios, (m,) array
        Parameter in the span, from 0 at its first peg to 1 at its second. [-]
    """

    points: Lengths
    span: NDArray[np.int32]
    parameter: Ratios

    def __post_init__(self) -> None:
        for array in (self.points, self.span, self.parameter):
            array.flags.writeable = False


def closed_curve(pegs: ArrayLike, corners: ArrayLike, points_per_span: int = 12) -> Sampled:
    """Closed smooth curve through the pegs, as points.

    Parameters
    ----------
    pegs : Lengths, (n, 2) array
        East and north of the pegs in order around the ring, in either direction. [m], n >= 3
    corners : (n,) bool array
        Which pegs are corners: the curve is smooth at every other peg.  A span between two
        corners is straight.
    points_per_span : int
        Points for each span, from its first peg on, >= 1.

    Returns
    -------
    Sampled
        ``n * points_per_span`` points (fewer where pegs coincide).

    Raises
    ------
    DomainError
        If there are fewer than 3 pegs, fewer than 3 points, or a coordinate is not finite.

    Examples
    --------
    >>> square = closed_curve([[0, 0], [4, 0], [4, 4], [0, 4]], [True] * 4, points_per_span=2)
    >>> square.points.tolist()[:3]
    [[0.0, 0.0], [2.0, 0.0], [4.0, 0.0]]

    hand
    """
    pegs, corners = _checked(pegs, corners, points_per_span, least=3)
    chords = np.diff(pegs, axis=0, append=pegs[:1])
    starts, ends = _tangents(chords, corners)
    sampled = _sampled(pegs, chords, starts, ends, points_per_span)
    if len(sampled.points) < 3:
        raise DomainError(f"`pegs` must make at least 3 points, got {len(sampled.points)}")
    return sampled


def open_curve(pegs: ArrayLike, corners: ArrayLike, points_per_span: int = 12) -> Sampled:
    """Open smooth curve from the first peg to the last, as points.

    Parameters
    ----------
    pegs : Lengths, (n, 2) array
        East and north of the pegs in order along the line. [m], n >= 2
    corners : (n,) bool array
        Which pegs are corners; the first and the last one always are.
    points_per_span : int
        Points for each span, from its first peg on, >= 1; the last peg comes on top.

    Returns
    -------
    Sampled
        ``(n - 1) * points_per_span + 1`` points (fewer where pegs coincide).

    Raises
    ------
    DomainError
        If there are fewer than 2 pegs, all are at one place, or a coordinate is not finite.

    Examples
    --------
    >>> open_curve([[0, 0], [3, 0]], [False, False], points_per_span=3).points[:, 0].tolist()
    [0.0, 1.0, 2.0, 3.0]

    hand
    """
    pegs, corners = _checked(pegs, corners, points_per_span, least=2)
    # The empty span after the last peg makes both end pegs corners (rule 4) and gives no points.
    chords = np.diff(pegs, axis=0, append=pegs[-1:])
    starts, ends = _tangents(chords, corners)
    sampled = _sampled(pegs, chords, starts, ends, points_per_span)
    if len(sampled.points) == 0:
        raise DomainError("`pegs` must be at two places or more, got all of them at one place")
    return Sampled(
        points=np.vstack([sampled.points, pegs[-1]]),
        span=np.append(sampled.span, sampled.span[-1]),
        parameter=np.append(sampled.parameter, 1.0),
    )


def _checked(
    pegs: ArrayLike, corners: ArrayLike, points_per_span: int, least: int
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Own copies of the pegs and corners, or the reason why they make no curve."""
    pegs = np.array(pegs, dtype=np.float64)
    corners = np.array(corners, dtype=np.bool_)
    if pegs.ndim != 2 or pegs.shape[1] != 2 or len(pegs) < least:
        raise DomainError(f"`pegs` must be at least {least} points, got an array {pegs.shape}")
    if not np.isfinite(pegs).all():
        raise DomainError("`pegs` must be finite numbers, got one that is not")
    if corners.shape != (len(pegs),):
        raise DomainError(f"`corners` must be one for each of {len(pegs)} pegs, got {corners.size}")
    if points_per_span < 1:
        raise DomainError(f"`points_per_span` must be at least 1, got {points_per_span}")
    return pegs, corners


def _tangents(chords: FloatArray, corners: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """Tangents at the start and the end of the span after each peg, per unit of its parameter."""
    # Around the ring, by negative indices.
    previous, following = np.arange(-1, len(chords) - 1), np.arange(1 - len(chords), 1)
    lengths = np.hypot(chords[:, 0], chords[:, 1])
    corners = corners | (lengths == 0.0) | (lengths[previous] == 0.0)
    knots = np.sqrt(lengths)[:, np.newaxis]
    after = np.where(knots > 0.0, knots, 1.0)
    before, chords_before = after[previous], chords[previous]
    # Derivative at each peg by the knots of the whole curve; scaled to either span beside it.
    derivative = chords_before / before - (chords_before + chords) / (before + after) + chords / after
    is_corner = corners[:, np.newaxis]
    starts = np.where(is_corner, chords, after * derivative)
    ends = np.where(is_corner[following], chords, after * derivative[following])
    return starts, ends


def _sampled(
    pegs: FloatArray, chords: FloatArray, starts: FloatArray, ends: FloatArray, points_per_span: int
) -> Sampled:
    """Points of every span that has a length, in order."""
    spans = np.flatnonzero(chords.any(axis=1)).astype(np.int32)
    first, chord, start, end = (array[spans, np.newaxis] for array in (pegs, chords, starts, ends))
    parameter = np.arange(points_per_span) / points_per_span
    u = parameter[:, np.newaxis]
    bend = 3.0 * chord - 2.0 * start - end + u * (start + end - 2.0 * chord)
    return Sampled(
        points=(first + u * (start + u * bend)).reshape(-1, 2),
        span=np.repeat(spans, points_per_span),
        parameter=np.tile(parameter, len(spans)),
    )
