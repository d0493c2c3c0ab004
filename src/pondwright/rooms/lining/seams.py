"""What is ordered of a liner: sizes with what the dig may add, rolls, seams, and offcuts used again.

See Also
--------
pondwright.rooms.lining.joints : where several pieces meet at narrows and falls.
pondwright.rooms.lining.panels : the sizes by tapes over the ground, from which this starts.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Force, Length, Ratio

STEP: Length = 0.1
"""A shop cuts to this; sizes are rounded up to it. [m]"""

SEAMS = {"shear": 0.95, "peel": 0.72, "extruded": 0.62}
"""Strength of a seam against the yield of the sheet. [-]"""


@dataclass(frozen=True, slots=True)
class Roll:
    """One roll and what is cut off it.

    Attributes
    ----------
    length : Length          [m]
    cuts : pairs             Name and length [m] of each cut, in order.
    """

    length: Length
    cuts: tuple[tuple[str, Length], ...]

    @property
    def rest(self) -> Length:
        """What is left on it. [m]"""
        return self.length - sum(length for _, length in self.cuts)


@dataclass(frozen=True, slots=True)
class Rest:
    """A rectangle that is left over: long and wide. [m]"""

    length: Length
    width: Length

    @property
    def area(self) -> Area:
        """Its area. [m²]"""
        return self.length * self.width


@dataclass(frozen=True, slots=True)
class Use:
    """What is cut from where: the name of the rest, or None where nothing that is left is large enough."""

    wanted: str
    rest: str | None


def dig_margin(length: Length, plan: Length, level: Length, uneven: Ratio) -> Length:
    """How much longer the ground along a line may turn out than it is drawn.

    Parameters
    ----------
    length : Length     Drawn, over the ground. [m], >= 0
    plan : Length       How far the edge of the dig may lie outside the drawn one, at each end. [m], >= 0
    level : Length      How much deeper it may be dug. [m], >= 0
    uneven : Ratio      Share of the length for humps and hollows. [-], >= 0

    Returns
    -------
    Length              For the whole line. [m]

    Raises
    ------
    DomainError         If a number is below 0.

    Notes
    -----
    2 (plan + level) + uneven · length.  A bank of whatever steps and slopes goes down once at each end, so
    a floor that is deeper by t makes each end longer by t at most, however many shelves there are.

    Examples
    --------
    >>> round(dig_margin(24.5, 0.15, 0.075, 0.01), 3)
    0.695

    hand

    References
    ----------
    .. [1] Derived: the way along steps that only go down is no longer than level way and drop together.
    """
    if min(length, plan, level, uneven) < 0.0:
        raise DomainError("a length and its tolerances must not be below 0")
    return 2.0 * (plan + level) + uneven * length


def ordered_length(needed: Length, folds: Ratio, margin: Length, step: Length = STEP) -> Length:
    """Length to order.

    Parameters
    ----------
    needed : Length     By tapes over the ground, or as proved. [m], >= 0
    folds : Ratio       Share for what folds eat. [-], >= 0
    margin : Length     For what the dig or the tape may be out. [m], >= 0
    step : Length       Rounded up to it. [m], > 0

    Returns
    -------
    Length              [m]

    Raises
    ------
    DomainError         If a number is out of its range.

    Examples
    --------
    >>> round(ordered_length(24.5, 0.03, 0.2), 1)
    25.5

    hand

    References
    ----------
    .. [1] Derived: sum, rounded up.
    """
    if min(needed, folds, margin) < 0.0 or not step > 0.0:
        raise DomainError("a length and what is added to it must not be below 0")
    return round(math.ceil((needed * (1.0 + folds) + margin) / step - 1e-6) * step, 9)


def cut_lengths(length: Length, roll: Length, overlap: Length) -> tuple[Length, ...]:
    """Lengths in which a strip comes from rolls: one, or several with their ends lapped.

    Parameters
    ----------
    length : Length      Of the strip. [m], > 0
    roll : Length        Of a roll. [m], > overlap
    overlap : Length     Of two ends. [m], >= 0

    Returns
    -------
    tuple of Length      [m]

    Raises
    ------
    DomainError          If the roll is no longer than its overlap, or the strip has no length.

    Examples
    --------
    >>> [round(each, 2) for each in cut_lengths(35.0, 30.0, 0.15)], cut_lengths(30.0, 30.0, 0.15)
    ([30.0, 5.15], (30.0,))

    hand

    References
    ----------
    .. [1] Derived: each lap is counted twice.
    """
    if not (length > 0.0 and roll > overlap >= 0.0):
        raise DomainError(f"a roll must be longer than its overlap of {overlap} m, got {roll} m")
    cuts = []
    left = length
    while left > roll + 1e-9:
        cuts.append(roll)
        left -= roll - overlap
    return (*cuts, left)


def first_fit(wanted: Mapping[str, Length], roll: Length) -> tuple[Roll, ...]:
    """Rolls for some cuts, the longest cut first, each from the first roll that has enough left.

    Parameters
    ----------
    wanted : mapping of Length     Cuts by name. [m], > 0
    roll : Length                  Of a roll. [m], at least the longest cut

    Returns
    -------
    tuple of Roll

    Raises
    ------
    DomainError                    If a cut is longer than a roll.

    Notes
    -----
    First-fit decreasing: no more than 11/9 of the fewest rolls possible, and 6/9 of one.

    Examples
    --------
    >>> rolls = first_fit({"A": 12.0, "B": 18.0, "C": 17.0, "D": 8.0}, 30.0)
    >>> [[name for name, _ in roll.cuts] for roll in rolls]
    [['B', 'A'], ['C', 'D']]

    hand

    References
    ----------
    .. [1] Dósa, The tight bound of first fit decreasing bin-packing (2007).
    """
    rolls: list[list[tuple[str, Length]]] = []
    left: list[Length] = []
    for name, length in sorted(wanted.items(), key=lambda item: (-item[1], item[0])):
        if not 0.0 < length <= roll + 1e-9:
            raise DomainError(f"a cut must be no longer than a roll of {roll} m, got {length} m")
        place = next((index for index, rest in enumerate(left) if rest >= length - 1e-9), None)
        if place is None:
            rolls.append([])
            left.append(roll)
            place = len(rolls) - 1
        rolls[place].append((name, length))
        left[place] -= length
    return tuple(Roll(roll, tuple(cuts)) for cuts in rolls)


def reuse(wanted: Mapping[str, Rest], rests: Mapping[str, Rest]) -> tuple[Use, ...]:
    """Which leftover each small piece is cut from: the largest piece first, the first rest that holds it.

    Parameters
    ----------
    wanted : mapping of Rest     Pieces to cut, by name.
    rests : mapping of Rest      What is left over, by name, in the order in which it is used up.

    Returns
    -------
    tuple of Use                 In the order in which they are cut.

    Notes
    -----
    First-fit decreasing.  A piece is cut from a corner; the larger of the two rectangles beside it is kept
    whole.  It may be turned by a quarter.

    Examples
    --------
    >>> pieces = {"boot": Rest(0.7, 0.7), "patch": Rest(0.3, 0.3), "big": Rest(2.0, 2.0)}
    >>> [(use.wanted, use.rest) for use in reuse(pieces, {"corner": Rest(1.2, 0.8)})]
    [('big', None), ('boot', 'corner'), ('patch', 'corner')]

    hand

    References
    ----------
    .. [1] Derived: cutting stock by guillotine cuts.
    """
    free = list(rests.items())
    uses = []
    for name, piece in sorted(wanted.items(), key=lambda item: (-item[1].area, item[0])):
        place = next((index for index, (_, rest) in enumerate(free) if _turned(piece, rest)), None)
        if place is None:
            uses.append(Use(name, None))
            continue
        origin, rest = free.pop(place)
        fitted = _turned(piece, rest)
        assert fitted is not None
        free[place:place] = [(origin, part) for part in _left_of(rest, fitted)]
        uses.append(Use(name, origin))
    return tuple(uses)


def seam_strength(sheet: Force) -> dict[str, Force]:
    """Strength that seams of polyethylene must have, of that of the sheet where it yields.

    Parameters
    ----------
    sheet : Force     On one width, for example of one metre. [N], > 0

    Returns
    -------
    dict of Force     `shear` and `peel` of a seam by hot wedge, `extruded` peel of one by extrusion. [N]

    Raises
    ------
    DomainError       If the sheet has no strength.

    Examples
    --------
    Sheet of 60 mil, 126 lb on an inch.

    >>> {kind: round(strength, 1) for kind, strength in seam_strength(126.0).items()}
    {'shear': 119.7, 'peel': 90.7, 'extruded': 78.1}

    published

    References
    ----------
    .. [1] GRI test method GM19, seams of high-density polyethylene: 95 %, 72 % and 62 % of the yield.
    """
    if not sheet > 0.0:
        raise DomainError(f"`sheet` must have a strength above 0 N, got {sheet} N")
    return {kind: share * sheet for kind, share in SEAMS.items()}


def _turned(piece: Rest, rest: Rest) -> Rest | None:
    """A piece as it fits into a rest, turned if it must be; None if it does not."""
    for length, width in ((piece.length, piece.width), (piece.width, piece.length)):
        if length <= rest.length + 1e-9 and width <= rest.width + 1e-9:
            return Rest(length, width)
    return None


def _left_of(rest: Rest, cut: Rest) -> tuple[Rest, ...]:
    """What is left of a rest whose corner is cut away, in two rectangles, the larger as large as can be."""
    beside = rest.length - cut.length, rest.width - cut.width
    long_first = (Rest(beside[0], rest.width), Rest(cut.length, beside[1]))
    wide_first = (Rest(rest.length, beside[1]), Rest(beside[0], cut.width))
    best = max((long_first, wide_first), key=lambda pair: max(part.area for part in pair))
    return tuple(part for part in best if min(part.length, part.width) > 1e-9)
