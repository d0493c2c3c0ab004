"""Stone on hand first: measured pieces and piles stand in for what is needed, before anything is bought.

See Also
--------
pondwright.rooms.stone.yard : where each measured stone goes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Mass
from pondwright.rooms.stone.yard import TOLERANCE

USES_OF = {
    "edge": frozenset({"course"}),
    "shelf": frozenset({"course"}),
    "spill": frozenset({"spill"}),
    "frame": frozenset({"frame", "face"}),
    "wing": frozenset({"wing"}),
    "stand": frozenset[str](),
    "seat": frozenset[str](),
    "fall": frozenset({"spill", "frame", "face", "wing"}),
    "any": frozenset({"course", "spill", "frame", "face", "wing"}),
}
"""Uses for which a piece that is kept for a role, or for a fall, may stand in.

To stand or to sit on is no use that the takeoff counts.
"""


@dataclass(frozen=True, slots=True)
class Need:
    """Stones of one class for one use.

    Attributes
    ----------
    stone, use : str       Key of the class, and what the stones are for.
    low, high : Length     Middle axis. [m]
    count : int            Stones.
    """

    stone: str
    use: str
    low: Length
    high: Length
    count: int


@dataclass(frozen=True, slots=True)
class Measured:
    """A stone on hand: its middle axis [m], and the role that it is kept for."""

    width: Length
    role: str


def stand_ins(needs: Sequence[Need], pieces: Mapping[str, Measured]) -> dict[str, int]:
    """Needs for which measured stones stand in: as many as can.

    Parameters
    ----------
    needs : Need
    pieces : mapping of Measured     By id.

    Returns
    -------
    dict of int                      For each piece that is used, the place of its need.

    Raises
    ------
    DomainError                      If a piece has a role that there is not.

    Notes
    -----
    A stone stands in for one stone of a class that holds its middle axis, or misses it by no more than the
    yard list allows, in a use that its role allows.  A largest matching, so no stone is left over while one
    like it would be bought.

    Examples
    --------
    >>> needs = [Need("small", "course", 0.3, 0.5, 1), Need("large", "course", 0.4, 0.8, 1)]
    >>> stand_ins(needs, {"a": Measured(0.45, "any"), "b": Measured(0.32, "edge")})
    {'a': 1, 'b': 0}

    hand

    References
    ----------
    .. [1] Derived: a largest matching of a bipartite graph.
    """
    ids = list(pieces)
    # No need can use more stones than there are pieces.
    slots = [place for place, need in enumerate(needs) for _ in range(min(need.count, len(ids)))]
    if not ids or not slots:
        return {}
    fits = np.array([[_fits(need, pieces[one]) for need in needs] for one in ids], dtype=np.int8)
    found = maximum_bipartite_matching(csr_matrix(fits[:, slots]), perm_type="column")
    return {one: slots[slot] for one, slot in zip(ids, found, strict=True) if slot >= 0}


def from_pile(mass: Mass, stone_mass: Mass, count: int) -> int:
    """Stones that a pile gives.

    Parameters
    ----------
    mass : Mass           Of the pile. [kg], >= 0
    stone_mass : Mass     Of one stone on average. [kg], > 0
    count : int           Stones that are needed. >= 0

    Returns
    -------
    int                   Whole stones, no more than are needed.

    Raises
    ------
    DomainError           If a number is out of its range.

    Examples
    --------
    >>> from_pile(5000.0, 487.0, 30), from_pile(5000.0, 487.0, 3)
    (10, 3)

    hand

    References
    ----------
    .. [1] Derived: mass over mass.
    """
    if mass < 0.0 or count < 0:
        raise DomainError(f"`mass` and `count` must be at least 0, got {mass:g} kg and {count}")
    if not stone_mass > 0.0:
        raise DomainError(f"`stone_mass` must be above 0 kg, got {stone_mass:g} kg")
    return min(int(mass / stone_mass + 1e-9), count)


def _fits(need: Need, piece: Measured) -> bool:
    if piece.role not in USES_OF:
        raise DomainError(f"`role` must be one of {', '.join(USES_OF)}, got `{piece.role}`")
    low, high = need.low * (1.0 - TOLERANCE) - 1e-9, need.high * (1.0 + TOLERANCE) + 1e-9
    return need.use in USES_OF[piece.role] and low <= piece.width <= high
