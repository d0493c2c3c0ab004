"""How stone comes and where it waits: single stones on trucks, the ground they cover, the order of arrival.

See Also
--------
pondwright.rooms.earth.states : loads of loose material, by box and by scale.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Length, Mass, Ratio

STAGED: Ratio = 0.28
"""Share of the staging ground that stones cover, with aisles for the machine; common practice, no source.

Half is told where stones lie side by side, but then each is moved twice."""

USES = ("course", "frame", "face", "spill", "wing", "backing", "cobble", "gravel")
"""Uses of stone in the order in which it is set."""


def packed_loads(masses: Sequence[Mass], payload: Mass) -> tuple[tuple[int, ...], ...]:
    """Truck loads of single stones, none above what a truck may carry.

    Parameters
    ----------
    masses : Mass               Of each stone. [kg], >= 0
    payload : Mass              [kg], > 0

    Returns
    -------
    tuple of tuples of int      Stones of each load, by their place in `masses`.

    Raises
    ------
    DomainError                 If a stone alone is more than a load.

    Notes
    -----
    First fit, the heaviest first: at most 11/9 of the fewest loads and 6/9 of one more.

    Examples
    --------
    >>> packed_loads([4000.0, 9000.0, 5000.0, 8000.0], 13_000.0)
    ((1, 0), (3, 2))

    hand

    References
    ----------
    .. [1] G. Dósa, The tight bound of first fit decreasing bin-packing (2007); from memory.
    """
    if max(masses, default=0.0) > payload:
        raise DomainError(f"`masses` must each be at most {payload:g} kg, got {max(masses):g} kg")
    loads: list[list[int]] = []
    rooms: list[Mass] = []
    for index in sorted(range(len(masses)), key=lambda index: (-masses[index], index)):
        into = next((load for load, room in enumerate(rooms) if masses[index] <= room + 1e-9), None)
        if into is None:
            loads.append([index])
            rooms.append(payload - masses[index])
        else:
            loads[into].append(index)
            rooms[into] -= masses[index]
    return tuple(tuple(load) for load in loads)


def staging_area(count: float, size: Length, covered: Ratio = STAGED) -> Area:
    """Ground on which stones wait, one layer deep.

    Parameters
    ----------
    count : float        Stones. [-], >= 0
    size : Length        Middle axis. [m], >= 0
    covered : Ratio      Share of the ground that they cover. [-], 0 < covered <= 1

    Returns
    -------
    Area                 [m²]

    Raises
    ------
    DomainError          If the share is not between 0 and 1.

    Notes
    -----
    n b² / s.

    Examples
    --------
    Edge stones side by side: 77 of 0.3 m, 96 of 0.6 m, 39 of 0.9 m.

    >>> stones = ((77, 0.3), (96, 0.6), (39, 0.9))
    >>> round(sum(staging_area(count, size, 0.5) for count, size in stones), 1)
    146.2

    hand

    References
    ----------
    .. [1] Common practice, no source.
    """
    if not 0.0 < covered <= 1.0:
        raise DomainError(f"`covered` must be above 0 and at most 1, got {covered:g}")
    return count * size * size / covered


def arrival_order(uses: Mapping[str, Sequence[str]], sizes: Mapping[str, Length]) -> tuple[str, ...]:
    """Classes of stone in the order in which they are set, so that none is moved twice.

    Parameters
    ----------
    uses : words by class        What each is used for.
    sizes : Length by class      Largest middle axis. [m]

    Returns
    -------
    tuple of str

    Notes
    -----
    By the first of its uses; of classes with the same use the larger comes first.

    Examples
    --------
    >>> uses = {"pea": ["gravel"], "small": ["course"], "big": ["course", "frame"], "mid": ["course"]}
    >>> arrival_order(uses, {"pea": 0.02, "small": 0.3, "mid": 0.5, "big": 0.9})
    ('big', 'mid', 'small', 'pea')

    hand

    References
    ----------
    .. [1] Common practice, no source: large before small, falls and courses before covers.
    """

    def first(name: str) -> tuple[int, Length, str]:
        ranks = [USES.index(use) if use in USES else len(USES) for use in uses[name]]
        return min(ranks, default=len(USES)), -sizes[name], name

    return tuple(sorted(uses, key=first))
