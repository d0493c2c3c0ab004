"""The yard list: a place for every measured stone, or the word that it is left over.

The deal is an assignment problem, solved to the best by a few plain rules, each of which counts only between
deals that the rules before it find alike:

1. as many stones as can have a place;
2. the places that show most: spill, then frame, then wing, then edge;
3. as few stones as can be leave the place that is kept for them;
4. stone on hand before stone that has to be bought;
5. the size that the place wants.

A stone that does not fit a place is never dealt to it.  Dealt again with nothing changed, the deal stays: it
already is the best by rules 1 and 2, and only it leaves every stone where it is.

See Also
--------
pondwright.rooms.stone.lifting : what sets them there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Lengths, Ratio

TOLERANCE: Ratio = 0.15
"""Part of its size by which a stone may miss what a place wants; common practice, no source."""

ROLES = ("spill", "frame", "wing", "edge")
"""Roles of places in the order in which they show; all others come after them."""

ANY = "any"

GRAINS = 100
"""Steps in which a misfit is counted, so that the rules stay whole numbers and never mix."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place that wants stones alike.

    Attributes
    ----------
    role : str             What they are for.
    count : int            How many. >= 0
    low, high : Length     Smallest and largest middle axis. [m], >= 0
    tall : Length          Height of the step that each must hide. [m], >= 0
    fall : str             Fall that it belongs to; empty for none.
    flat : bool            Each must be flat.
    """

    role: str
    count: int
    low: Length
    high: Length
    tall: Length = 0.0
    fall: str = ""
    flat: bool = False


@dataclass(frozen=True, slots=True)
class Taped:
    """A stone that was measured.

    Attributes
    ----------
    size : Length        Middle axis. [m], > 0
    upright : Length     Height that it has as it stands. [m], > 0
    role : str           What it is kept for; `any` for whatever it suits.
    on_hand : bool       It need not be bought.
    fall : str           Fall that it is kept for; empty for none.
    reserved : str       Place that is kept for it; empty for none.
    flat : bool          It is a slab or a box, or chosen to be run over.
    """

    size: Length
    upright: Length
    role: str = ANY
    on_hand: bool = True
    fall: str = ""
    reserved: str = ""
    flat: bool = False


@dataclass(frozen=True, slots=True)
class Deal:
    """Place of each stone, and for each that has none the reason why."""

    places: Mapping[str, str]
    left_over: Mapping[str, str]
    changed: frozenset[str]


NO_ROLE = "no place is for such a stone"
SMALL = "smaller than what any of its places wants"
LARGE = "larger than what any of its places wants"
LOW = "too low to hide the step"
BETWEEN = "of no size that its places want"
ROUGH = "not flat"
TAKEN = "all its places are taken by others"


def misfit(stone: Taped, spot: Spot) -> Ratio | None:
    """How far a stone misses what a place wants.

    Parameters
    ----------
    stone : Taped
    spot : Spot

    Returns
    -------
    Ratio or None     0 within the wanted sizes, 1 at the most allowed; none where it does not fit. [-]

    Examples
    --------
    >>> spill = Spot("spill", 3, 0.50, 0.70)
    >>> [misfit(Taped(size, 0.3), spill) for size in (0.45, 0.55, 0.77, 0.90)]
    [0.666667, 0.0, 0.666667, None]
    >>> misfit(Taped(0.55, 0.3, role="frame"), spill) is None
    True

    hand

    References
    ----------
    .. [1] Common practice, no source: a stone may miss by 15 %.
    """
    if not _meant_for(stone, spot) or stone.upright < spot.tall or (spot.flat and not stone.flat):
        return None
    if stone.size < spot.low:
        away = 1.0 - stone.size / spot.low
    else:
        away = max(stone.size / spot.high - 1.0, 0.0) if spot.high > 0.0 else 0.0
    return None if away > TOLERANCE + 1e-9 else round(away / TOLERANCE, 6)


def deal(stones: Mapping[str, Taped], spots: Mapping[str, Spot]) -> Deal:
    """Place for each stone, by the rules of this module.

    Parameters
    ----------
    stones : Taped by name
    spots : Spot by name

    Returns
    -------
    Deal

    Raises
    ------
    DomainError     If a place wants fewer than no stones.

    Notes
    -----
    One column for each stone that a place wants, and one beside them for each stone to be left over; the
    cheapest assignment.  Costs are whole numbers, each rule in units larger than all costs of the next.

    Examples
    --------
    Two stones fit the spill, one of which has to be bought.

    >>> spots = {"spill": Spot("spill", 1, 0.5, 0.7), "edge": Spot("edge", 9, 0.4, 0.6)}
    >>> stones = {"a": Taped(0.55, 0.3, on_hand=False), "b": Taped(0.68, 0.3), "c": Taped(0.2, 0.1)}
    >>> found = deal(stones, spots)
    >>> dict(found.places), found.left_over["c"]
    ({'a': 'edge', 'b': 'spill'}, 'smaller than what any of its places wants')

    hand

    References
    ----------
    .. [1] Linear assignment, solved by shortest augmenting paths.
    """
    from scipy.optimize import linear_sum_assignment  # half a second to load; most jobs have no such stone

    for name, spot in spots.items():
        if spot.count < 0:
            raise DomainError(f"`count` of `{name}` must be at least 0, got {spot.count}")
    if not stones:
        return Deal({}, {}, frozenset())
    names, columns = list(stones), _columns(spots, len(stones))
    costs = _costs(list(stones.values()), spots, columns)
    given = linear_sum_assignment(costs)[1]
    places = {name: columns[to] for name, to in zip(names, given, strict=True) if to < len(columns)}
    left = {name: _reason(stones[name], spots) for name in names if name not in places}
    moved = {name for name, stone in stones.items() if stone.reserved and places.get(name) != stone.reserved}
    return Deal(places, left, frozenset(moved))


def _columns(spots: Mapping[str, Spot], most: int) -> list[str]:
    """Name of the place of each column: as often as it wants stones, and no oftener than there are any."""
    return [name for name, spot in spots.items() for _ in range(min(spot.count, most))]


def _costs(stones: Sequence[Taped], spots: Mapping[str, Spot], columns: Sequence[str]) -> Lengths:
    """Cost of each stone in each column, and after them one column to leave each stone over."""
    count = len(stones)
    # The sum of a rule over all stones stays below one unit of the rule before it.
    bought = (GRAINS + 1) * (count + 1)
    change = bought * (count + 1)
    shows = change * (count + 1)
    left = shows * (len(ROLES) + 1) * (count + 1)
    of_place = np.full((count, len(spots)), np.inf)
    for column, (name, spot) in enumerate(spots.items()):
        rank = ROLES.index(spot.role) if spot.role in ROLES else len(ROLES)
        for row, stone in enumerate(stones):
            found = misfit(stone, spot)
            if found is not None:
                of_place[row, column] = (
                    rank * shows
                    + change * (stone.reserved not in ("", name))
                    + bought * (not stone.on_hand)
                    + round(GRAINS * found)
                )
    index = {name: column for column, name in enumerate(spots)}
    chosen = of_place[:, [index[name] for name in columns]] if columns else np.empty((count, 0))
    aside = np.full((count, count), np.inf)
    np.fill_diagonal(aside, [left + change * (stone.reserved != "") for stone in stones])
    return np.hstack([chosen, aside])


def _reason(stone: Taped, spots: Mapping[str, Spot]) -> str:
    """Why a stone is left over, in words that follow a colon."""
    own = [spot for spot in spots.values() if spot.count and _meant_for(stone, spot)]
    if not own:
        return NO_ROLE
    if any(misfit(stone, spot) is not None for spot in own):
        return TAKEN
    if all(stone.size < spot.low for spot in own):
        return SMALL
    if all(stone.size > spot.high for spot in own):
        return LARGE
    near = [
        spot for spot in own if spot.low * (1.0 - TOLERANCE) <= stone.size <= spot.high * (1.0 + TOLERANCE)
    ]
    if not near:
        return BETWEEN
    return LOW if any(stone.upright < spot.tall for spot in near) else ROUGH


def _meant_for(stone: Taped, spot: Spot) -> bool:
    """Whether a stone is kept for the role and the fall of a place, or for none of its own."""
    # The face of a fall is of the class of its frame: a stone kept for one suits the other.
    role = stone.role in (ANY, spot.role) or (stone.role, spot.role) == ("frame", "face")
    return role and stone.fall in ("", spot.fall)
