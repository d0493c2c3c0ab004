"""Where a stream meets another water: the rim of that water is kept, and the stream's own reach is held.

A stream that leaves a pond or runs into one lies in its bank.  Left to itself its bed would cut the rim, and
the pond would stand no higher than that bed.  So across the stream, right outside the other water's shore,
there is a sill: as high as the higher of the two waters, but beside the shore never above the bank that the
other water has anyway, so that it holds no less than without the stream.  What the stream leaves between
itself and the shore, over the crest of the bank, is cut down to that sill.

See Also
--------
pondwright.rooms.shape.stream : the stream itself.
pondwright.rooms.shape.grading : the surfaces in which this is written.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pondwright.base.kinds import Length, Lengths, Ratio
from pondwright.rooms.shape.reach import line_nearest
from pondwright.rooms.shape.stream import SILL_LENGTH

RIM: Ratio = 2.0
"""Width of a sill outside a shore: no step over the triangles passes it, nor a riser spread. [cells]"""

SILL: Ratio = 1.5
"""Width of the stream's own sill behind it, where its reach stands higher. [cells]"""


def mouth_bed(
    bed: Lengths, reach: Lengths, away: Lengths, bank: Lengths, level: Length, spacing: Length
) -> Lengths:
    """Bed of a stream near the shore of another water, with the sill across it.

    Parameters
    ----------
    bed : (n,) array       Bed by itself, above the level of the first reach. [m]
    reach : (n,) array     Level of the reach at each place, above that of the first reach. [m], >= bed
    away : (n,) array      Distance outside the other water's shore. [m], >= 0
    bank : (n,) array      Bank of the other water, above its level. [m]
    level : Length         Level of the other water, above that of the first reach. [m]
    spacing : Length       Of the grid. [m], > 0

    Returns
    -------
    (n,) array             Above the level of the first reach. [m]

    Notes
    -----
    Two cells from the shore lies the sill, at the higher of the two waters and no higher than the bank; where
    the reach is the higher one its own sill follows, one and a half cells long; from there the bed falls to
    its depth over 0.3 m.

    Examples
    --------
    >>> away = np.array([0.05, 0.15, 0.3, 0.5, 0.9])
    >>> mouth_bed(np.full(5, -0.2), np.zeros(5), away, 0.5 * away, 0.1, 0.1).round(3).tolist()
    [0.1, 0.1, -0.067, -0.2, -0.2]
    >>> mouth_bed(np.full(5, -0.2), np.zeros(5), away, 0.5 * away, -0.1, 0.1).round(3).tolist()
    [-0.075, -0.025, 0.0, -0.1, -0.2]

    hand

    References
    ----------
    .. [1] Derived: no path over the triangles leaves the other water below its level.
    """
    held = RIM * spacing + np.where(reach > level, SILL * spacing, 0.0)
    share = np.clip((away - held) / SILL_LENGTH, 0.0, 1.0)
    sill = np.minimum(np.maximum(reach, level), level + bank)
    return np.asarray(np.where(away <= RIM * spacing, sill, reach + share * (bed - reach)))


def gap(end: tuple[Length, Length], ring: Lengths, most: Length) -> Lengths | None:
    """Shortest way from an end of a stream to a shore that it nearly reaches.

    Parameters
    ----------
    end : (east, north)      [m]
    ring : (n, 2) array      The shore. [m]
    most : Length            Longest way that still belongs to the stream: the crest of the bank. [m], >= 0

    Returns
    -------
    (2, 2) array or None     From the end to the shore; none where the shore is farther away. [m]

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    >>> gap((5.0, 1.0), square, 1.5).tolist(), gap((6.0, 1.0), square, 1.5)
    ([[5.0, 1.0], [4.0, 1.0]], None)

    hand

    References
    ----------
    .. [1] Derived: nearest point of a ring.
    """
    shore = np.vstack([ring, ring[:1]])
    away, station = line_nearest(np.array([end]), shore)
    if away[0] > most:
        return None
    stations = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(shore, axis=0).T))])
    there = [float(np.interp(station[0], stations, shore[:, axis])) for axis in (0, 1)]
    return np.array([end, there])


def own_water(within: NDArray[np.bool_], others: list[Lengths]) -> NDArray[np.bool_]:
    """Nodes of a stream that lie in no other water: below that one's level the ground is that one's.

    Parameters
    ----------
    within : (rows, columns) bool array     Nodes between the stream's banks.
    others : (rows, columns) arrays         Signed distance to each other shore, positive inside. [m]

    Returns
    -------
    (rows, columns) bool array

    Examples
    --------
    >>> own_water(np.array([[True, True, False]]), [np.array([[-1.0, 0.5, 0.5]])]).tolist()
    [[True, False, False]]

    hand

    References
    ----------
    .. [1] Convention: water belongs to the body whose shore it lies in; a stream comes last.
    """
    own = within.copy()
    for distance in others:
        own &= distance <= 0.0
    return own
