"""Safety of people in trenches and pits, with the published numbers of 29 CFR 1926 subpart P.

The rules protect people from a bank that comes down without warning: sides that are sloped back, shored or
shielded, a way out nearby, spoil away from the edge.  A competent person on the site decides; what stands
here is where to begin, and never less.

See Also
--------
pondwright.rooms.groundwater.pipes : the drains for which trenches are dug.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Length, Slope
from pondwright.base.tables import read_table

SoilType = Literal["rock", "A", "B", "C"]

PROTECTION: Length = 1.524
"""From this depth people need a protective system, except in stable rock: 5 ft, 1926.652(a)(1). [m]"""

EGRESS: Length = 1.2192
"""From this depth a ladder or ramp must be near: 4 ft, 1926.651(c)(2). [m]"""

TRAVEL: Length = 7.62
"""Farthest way to a ladder or ramp along a trench: 25 ft, 1926.651(c)(2). [m]"""

SPOIL: Length = 0.6096
"""Spoil and gear stay this far from the edge at least: 2 ft, 1926.651(j)(2). [m]"""

ENGINEER: Length = 6.096
"""Deeper than this a registered professional engineer designs the protection: 20 ft, appendix B. [m]"""

SHORT_TERM: Length = 3.6576
"""Deepest trench in soil of type A that may be steeper for a day: 12 ft, appendix B. [m]"""

_BEST: dict[str, SoilType] = {
    "rock": "rock",
    "clay": "B",
    "silt": "B",
    "topsoil": "C",
    "sand": "C",
    "gravel": "C",
    "muck": "C",
}
_WEAKEST_LAST: tuple[SoilType, ...] = ("rock", "A", "B", "C")


@dataclass(frozen=True, slots=True)
class TrenchRules:
    """What the rules ask of one trench.

    Attributes
    ----------
    soil_type : str               The best that the soil can be called before anybody looked.
    protected : bool              People in it need sloped sides, shores or a box.
    slope : Slope                 Steepest sides without shores or a box, level for one upright. [m/m]
    lay_back : Length             How far each side is laid back at the top, if sloped from its foot. [m]
    top_width : Length            Width of the opening then. [m]
    ladders : int                 Ladders or ramps so that none is farther than 25 ft.
    spoil : Length                How far spoil stays from the edge at least. [m]
    engineer : bool               An engineer must design its protection.
    """

    soil_type: SoilType
    protected: bool
    slope: Slope
    lay_back: Length
    top_width: Length
    ladders: int
    spoil: Length
    engineer: bool


def soil_type(kinds: Sequence[str], *, wet: bool, disturbed: bool = False) -> SoilType:
    """Best type that the soil of a trench can be called before a competent person has tested it.

    Parameters
    ----------
    kinds : sequence of str     Kinds of the layers that the trench cuts; none is not known.
    wet : bool                  It goes below the groundwater, or water seeps in.
    disturbed : bool            The soil was dug or placed before, as in an old pond and its bank.

    Returns
    -------
    str                         `rock`, `A`, `B` or `C`.

    Raises
    ------
    DomainError                 If a kind is none of the job's soils.

    Notes
    -----
    The weakest layer counts.  Submerged, seeping and disturbed soil, sand, gravel and muck are C; so is soil
    that nobody knows.  Clay is B at best here: type A asks for a test of 1.5 tons a square foot.

    Examples
    --------
    >>> soil_type(["clay"], wet=False), soil_type(["clay"], wet=True)
    ('B', 'C')
    >>> soil_type(["topsoil", "clay"], wet=False)
    'C'

    hand

    References
    ----------
    .. [1] 29 CFR 1926 subpart P, appendix A, from memory.
    """
    unknown = [kind for kind in kinds if kind not in _BEST]
    if unknown:
        raise DomainError(f"`kinds` must be soils of {', '.join(_BEST)}, got `{unknown[0]}`")
    if not kinds or disturbed or (wet and set(kinds) != {"rock"}):
        return "C"
    return max((_BEST[kind] for kind in kinds), key=_WEAKEST_LAST.index)


def steepest_slope(soil_type: SoilType, *, depth: Length = 0.0, one_day: bool = False) -> Slope:
    """Steepest sides that a trench may have without shores or a box.

    Parameters
    ----------
    soil_type : str        `rock`, `A`, `B` or `C`.
    depth : Length         Of the trench. [m], >= 0
    one_day : bool         It stands open for 24 hours or less.

    Returns
    -------
    Slope                  Level for one upright; 0 is upright. [m/m]

    Raises
    ------
    DomainError            If there is no such type.

    Examples
    --------
    >>> steepest_slope("C"), steepest_slope("A"), steepest_slope("A", depth=3.0, one_day=True)
    (1.5, 0.75, 0.5)

    published

    References
    ----------
    .. [1] 29 CFR 1926 subpart P, appendix B, table B-1.
    """
    slopes = _slopes()
    if soil_type not in slopes:
        raise DomainError(f"`soil_type` must be one of {', '.join(slopes)}, got `{soil_type}`")
    usual, short = slopes[soil_type]
    return short if short is not None and one_day and depth <= SHORT_TERM else usual


def trench_rules(depth: Length, length: Length, width: Length, soil_type: SoilType) -> TrenchRules:
    """What the rules ask of a trench, at its deepest.

    Parameters
    ----------
    depth : Length       At its deepest. [m], >= 0
    length : Length      Along it. [m], >= 0
    width : Length       Of its floor. [m], >= 0
    soil_type : str      From :func:`soil_type`, or as a competent person called it.

    Returns
    -------
    TrenchRules          [m]

    Raises
    ------
    DomainError          If a number is negative or there is no such type.

    Notes
    -----
    Protection from 5 ft, but in stable rock; below that too if there is any sign of a cave-in.  Lay-back =
    depth × slope each side.  A ladder serves 25 ft each way, so one for each 50 ft, from a depth of 4 ft.
    Above 20 ft an engineer designs it.

    Examples
    --------
    >>> rules = trench_rules(1.8, 30.0, 0.6, "C")
    >>> rules.protected, round(rules.lay_back, 2), round(rules.top_width, 2), rules.ladders
    (True, 2.7, 6.0, 2)

    hand

    References
    ----------
    .. [1] 29 CFR 1926.651 and 652 with appendix B.
    """
    if min(depth, length, width) < 0.0:
        raise DomainError(
            f"`depth`, `length` and `width` must not be below 0 m, got {depth:g}, {length:g} and {width:g} m"
        )
    slope = steepest_slope(soil_type)
    lay_back = depth * slope
    return TrenchRules(
        soil_type=soil_type,
        protected=depth >= PROTECTION and soil_type != "rock",
        slope=slope,
        lay_back=lay_back,
        top_width=width + 2.0 * lay_back,
        ladders=max(math.ceil(length / (2.0 * TRAVEL) - 1e-9), 1) if depth >= EGRESS else 0,
        spoil=SPOIL,
        engineer=depth > ENGINEER,
    )


@cache
def _slopes() -> dict[str, tuple[Slope, Slope | None]]:
    rows = read_table("pondwright.rooms.groundwater", "trench_slopes.csv").rows
    return {row["type"]: (float(row["slope"]), float(row["short"]) if row["short"] else None) for row in rows}
