"""Strips that are parts of a proved map: what is laid as strips is proved as the piece in one is.

The cover check gives every point of the ground a place on one flat piece, so that from the piece to the
ground nothing is stretched.  Cut that flat piece into bands: each band, as long as the ground that lies in
it, covers that ground, and with the overlap on both sides it also reaches its seams.

See Also
--------
pondwright.rooms.lining.cover : the proved map.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, FloatArray, Length, Lengths
from pondwright.rooms.lining.area import LinerMesh
from pondwright.rooms.lining.laid import LEAST_GAP, CutStrip
from pondwright.rooms.lining.panels import MOST_STRIPS, OFFSETS

ROUNDING: Length = 1e-9
"""A strip is longer by this at each end, so that rounding cannot undo the proof. [m]"""


def proved_strips(
    mesh: LinerMesh, places: Lengths, roll: Length, overlap: Length, least_gap: Length = LEAST_GAP
) -> tuple[CutStrip, ...]:
    """Strips of one width of roll that are proved to cover, with the smallest area cut.

    Parameters
    ----------
    mesh : LinerMesh
    places : (n, 2) array     Proved place of each of its points, along and across the strips. [m]
    roll : Length             Width of the roll. [m], > overlap
    overlap : Length          At each seam. [m], >= 0
    least_gap : Length        No strip is cut in two where a gap is shorter than this. [m], > 0

    Returns
    -------
    tuple of CutStrip      Strip by strip.

    Raises
    ------
    DomainError               If the roll is no wider than its overlap, or too many strips are needed.

    Notes
    -----
    Strip k covers the places from c_k - o/2 to c_(k+1) + o/2 across; c are the middles of the seams, and o
    the overlap.  The first seam is tried at eight places.

    References
    ----------
    .. [1] Derived: a part of a map that lengthens nothing lengthens nothing.
    """
    if not roll > overlap >= 0.0:
        raise DomainError(f"`roll` must be wider than its overlap of {overlap} m, got {roll} m")
    usable = roll - overlap
    low, high = float(places[:, 1].min()), float(places[:, 1].max())
    if ceil((high - low) / usable) > MOST_STRIPS:
        raise DomainError(f"`roll` must be wide enough for {MOST_STRIPS} strips, got {roll} m")
    corners = places[mesh.triangles]
    best: tuple[CutStrip, ...] = ()
    for offset in range(OFFSETS):
        # The outermost strips have one seam only.
        first = usable * (1.0 - offset / OFFSETS) + (0.5 * overlap if offset == 0 else 0.0)
        seams = _seams(low, high, first, usable, 0.5 * overlap)
        found = _cut(corners, seams, roll, 0.5 * overlap, least_gap)
        if not best or _area(found) < _area(best):
            best = found
    return best


def _area(strips: Sequence[CutStrip]) -> Area:
    return sum(strip.area for strip in strips)


def _seams(low: Length, high: Length, first: Length, usable: Length, half: Length) -> list[Length]:
    """Sides of the flat piece and the middles of the seams between them."""
    seams = [low]
    reach = low + first
    # The last strip has its overlap on one side only.
    while reach + half < high:
        seams.append(reach)
        reach += usable
    return [*seams, high]


def _cut(
    corners: Lengths, seams: Sequence[Length], roll: Length, half: Length, least_gap: Length
) -> tuple[CutStrip, ...]:
    """Strips between seams, each cut in parts where nothing lies on it."""
    strips = []
    for number in range(len(seams) - 1):
        left = seams[number] - (half if number else 0.0)
        right = seams[number + 1] + (half if number < len(seams) - 2 else 0.0)
        for part, (start, end) in enumerate(_covered(corners, left, right, least_gap)):
            strips.append(CutStrip(start - ROUNDING, end + ROUNDING, left, right, roll, number, part))
    return tuple(strips)


def _covered(corners: Lengths, left: Length, right: Length, least_gap: Length) -> list[tuple[Length, Length]]:
    """Where triangles lie along a band, gaps shorter than the least counted in."""
    across = corners[:, :, 1]
    within = (across.max(axis=1) >= left) & (across.min(axis=1) <= right)
    own = corners[within]
    ends = np.concatenate(
        [_clipped(own[:, side], own[:, (side + 1) % 3], left, right) for side in range(3)], axis=1
    )
    starts, stops = np.nanmin(ends, axis=1), np.nanmax(ends, axis=1)
    order = np.argsort(starts)
    starts, reached = starts[order], np.maximum.accumulate(stops[order])
    breaks = np.flatnonzero(starts[1:] - reached[:-1] >= least_gap)
    return [
        (float(start), float(end))
        for start, end in zip(
            starts[np.append(0, breaks + 1)], reached[np.append(breaks, len(starts) - 1)], strict=True
        )
    ]


def _clipped(one: Lengths, other: Lengths, left: Length, right: Length) -> FloatArray:
    """Both ends along of the part of each line that lies in a band; not a number where none does. (n, 2)"""
    rise = other[:, 1] - one[:, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        bounds = np.stack([(left - one[:, 1]) / rise, (right - one[:, 1]) / rise], axis=1)
    level = rise == 0.0
    inside = (one[:, 1] >= left) & (one[:, 1] <= right)
    low = np.where(level, np.where(inside, 0.0, np.inf), np.clip(bounds.min(axis=1), 0.0, 1.0))
    high = np.where(level, np.where(inside, 1.0, -np.inf), np.clip(bounds.max(axis=1), 0.0, 1.0))
    # A line wholly beside the band is clipped to one of its ends.
    beside = (np.maximum(one[:, 1], other[:, 1]) < left) | (np.minimum(one[:, 1], other[:, 1]) > right)
    parts = np.where((beside | (low > high))[:, None], np.nan, np.stack([low, high], axis=1))
    return np.asarray(one[:, :1] + parts * (other[:, :1] - one[:, :1]))
