"""What stays on the site, what leaves it and what is brought: one count of it for every page.

The soil that is left over waits in piles as far as they hold it; the rest leaves through the gates, in the
trucks of the job.  Soil that is missing comes through gates that give some.  Which gate is used is told
here, by the truck time that a cubic metre needs; who carries what where is told by the haul plan.

See Also
--------
pondwright.rooms.earth.haul : carries what is told here with the least machine time.
pondwright.rooms.earth.states : loads by box and by scale.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pondwright.base.kinds import Area, Density, Length, Ratio, Time, Volume
from pondwright.rooms.earth.haul import MUCK, PILE
from pondwright.rooms.earth.states import Truck, truck_loads

LEVEL_STEP: Length = 0.001
"""Step in which a level is told: soil that a lesser step would move is neither left over nor missing. [m]"""


@dataclass(frozen=True, slots=True)
class Taker:
    """A pile or a gate that takes or gives soil.

    Attributes
    ----------
    name : str
    kind : str          `pile` or `off site`.
    takes : str         Streams of soil, one or all.
    room : Volume       That it takes or gives, in the bank. [m³], >= 0
    time : Time         Of a truck for one cubic metre in the bank; for the order of gates. [s], >= 0
    """

    name: str
    kind: str
    takes: frozenset[str]
    room: Volume
    time: Time = 0.0


def resolution(area: Area) -> Volume:
    """Volume of soil below which nothing is left over or missing.

    Parameters
    ----------
    area : Area      True area under the water. [m²], >= 0

    Returns
    -------
    Volume           In the bank. [m³]

    Notes
    -----
    Levels are told and set to a millimetre, and a millimetre of the water's level moves about this much.

    Examples
    --------
    >>> resolution(500.0)
    0.5

    hand

    References
    ----------
    .. [1] Derived: area times the step in which levels are told.
    """
    return area * LEVEL_STEP


def dealt(amounts: Mapping[str, Volume], takers: Sequence[Taker]) -> dict[tuple[str, str], Volume]:
    """Soil dealt to the places that take it.

    Parameters
    ----------
    amounts : Volume by stream     In the bank; the first stream chooses first. [m³], >= 0
    takers : Taker

    Returns
    -------
    dict of Volume                 By place and stream, only what is above 0. [m³]

    Notes
    -----
    A pile goes before a gate, a place for one stream before a place for any, and of two gates the one
    that needs less truck time.  Muck goes to a gate of its own before it goes to a pile for any soil.

    Examples
    --------
    >>> from pondwright.rooms.earth.haul import OFF_SITE
    >>> takers = [Taker("tip", OFF_SITE, frozenset({"soil", "muck"}), 50.0, 9.0),
    ...           Taker("heap", PILE, frozenset({"soil"}), 30.0)]
    >>> dealt({"muck": 10.0, "soil": 60.0}, takers)
    {('tip', 'muck'): 10.0, ('heap', 'soil'): 30.0, ('tip', 'soil'): 30.0}

    hand

    References
    ----------
    .. [1] Derived: rooms filled one after the other.
    """
    rooms = {taker.name: taker.room for taker in takers}
    found: dict[tuple[str, str], Volume] = {}
    for stream, amount in amounts.items():
        left = amount
        able = [taker for taker in takers if stream in taker.takes]
        for taker in sorted(able, key=lambda taker: (_rank(taker, stream), taker.time, taker.name)):
            share = min(left, rooms[taker.name])
            if share > 0.0:
                found[taker.name, stream] = share
                rooms[taker.name] -= share
                left -= share
    return found


def _rank(taker: Taker, stream: str) -> int:
    """Place of a taker in the order in which a stream fills them."""
    own = len(taker.takes) == 1
    if taker.kind == PILE:
        return 0 if own else 2
    return 4 - 3 * (stream == MUCK) if own else 5


def loads_of(
    volume: Volume, bulking: Ratio, density: Density, truck: Truck, fine: Volume = 0.0
) -> tuple[int, bool]:
    """Truck loads of soil, and whether the scale fills them before the box does.

    Parameters
    ----------
    volume : Volume       In the bank. [m³], >= 0
    bulking : Ratio       Loose volume for one in the bank. [-], >= 1
    density : Density     In the bank. [kg/m³], > 0
    truck : Truck
    fine : Volume         Volume up to which there is no load. [m³], >= 0

    Returns
    -------
    tuple of int and bool

    Examples
    --------
    >>> from pondwright.base.sources import PRACTICE
    >>> loads_of(266.67, 1.30, 1900.0, Truck(10.0, 13_000.0, PRACTICE))
    (39, True)
    >>> loads_of(0.08, 1.30, 1900.0, Truck(10.0, 13_000.0, PRACTICE), resolution(500.0))
    (0, True)

    hand

    References
    ----------
    .. [1] Derived: whole loads by box and by scale.
    """
    found = truck_loads(volume * bulking, volume * density, truck)
    return (0 if volume <= fine else found.count), found.mass_decides
