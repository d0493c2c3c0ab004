"""A price in the driveway: a band for an area of water, from what one's own jobs have come to.

Not an offer: it asks four things that can be seen from the truck, and answers with what jobs like this
one have cost by the area, and how far apart they lay.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area

ENOUGH = 3
"""Jobs from which on their own spread is believed."""

STATED_SPREAD = 0.35
"""Spread of the price by the area between jobs of one kind, where fewer than three are known; of its
natural logarithm, one standard deviation (common practice, no source)."""

LEAST_SPREAD = 0.05
"""Spread below which no handful of jobs is believed (common practice, no source)."""

SHARE = 0.80
"""Share of jobs like this one that should come to a price within the band."""


@dataclass(frozen=True, slots=True)
class Traits:
    """What can be seen from the truck: rock edges, falls, hard access, wet ground."""

    rocky: bool = False
    falls: bool = False
    hard_access: bool = False
    wet: bool = False


@dataclass(frozen=True, slots=True)
class PastJob:
    """One's own past job: its water [m²], what it came to, and what it was like."""

    area: Area
    price: float
    traits: Traits


@dataclass(frozen=True, slots=True)
class PriceBand:
    """Seldom less, likely, and seldom more; from how many jobs, how like this one, and how far apart.

    ``like`` is ``all four``, ``rock and falls``, ``rock`` or ``any``; ``stated`` tells that the spread is a
    stated default, ``beyond`` that no job it is from was as large, or as small.
    """

    low: float
    likely: float
    high: float
    count: int
    like: str
    spread: float
    stated: bool
    beyond: bool


def price_band(area: Area, traits: Traits, jobs: Sequence[PastJob]) -> PriceBand:
    """Price band for a pond, from one's own past jobs.

    Parameters
    ----------
    area : Area               Water surface that is asked for. [m²], > 0
    traits : Traits             What can be seen of it.
    jobs : sequence of PastJob   At least one, all in the same money. [m²], > 0

    Returns
    -------
    PriceBand                 In the money of the jobs.

    Raises
    ------
    DomainError               If there is no job, or an area or price is not above zero.

    Notes
    -----
    y = ln(price / area) of each job.  The jobs are those alike in all four answers, if there are three
    of them; else those alike in rock and falls; else in rock; else all.
    From three jobs on, the band holds the next job with a share of 80 %:
    exp(ȳ ± t s √(1 + 1/n)) · area, with s the standard deviation, at least 0.05, and t the 0.9 quantile
    of Student's t with n − 1 degrees of freedom.  From one or two, s is 0.35 and t that of the normal law.
    A price by the area takes no account of what a larger pond saves.

    Examples
    --------
    >>> plain = Traits()
    >>> band = price_band(50.0, plain, [PastJob(40.0, 8_000.0, plain), PastJob(60.0, 12_000.0, plain)])
    >>> round(band.low), round(band.likely), round(band.high), band.stated
    (5773, 10000, 17321, True)

    hand

    References
    ----------
    .. [1] G. J. Hahn and W. Q. Meeker, Statistical Intervals, Wiley, 1991, prediction interval for one future
       observation of a normal law; from memory.
    """
    if not jobs:
        raise DomainError(
            "`jobs` must hold at least one past job, got none: type in what your last jobs came to"
        )
    for what, number in (("area", area), *(("area", job.area) for job in jobs)):
        _above_zero(what, number)
    for job in jobs:
        _above_zero("price", job.price)
    like, alike = _alike(traits, jobs)
    rates = [math.log(job.price / job.area) for job in alike]
    count = len(rates)
    mean = math.fsum(rates) / count
    stated = count < ENOUGH
    spread = STATED_SPREAD if stated else max(_deviation(rates, mean), LEAST_SPREAD)
    half = _quantile(None if stated else count - 1) * spread * math.sqrt(1.0 + 1.0 / count)
    areas = [job.area for job in alike]
    return PriceBand(
        low=math.exp(mean - half) * area,
        likely=math.exp(mean) * area,
        high=math.exp(mean + half) * area,
        count=count,
        like=like,
        spread=spread,
        stated=stated,
        beyond=not min(areas) <= area <= max(areas),
    )


def _alike(traits: Traits, jobs: Sequence[PastJob]) -> tuple[str, list[PastJob]]:
    """The most alike jobs of which there are enough; all where there are not."""
    ways = (
        ("all four", lambda job: job.traits == traits),
        ("rock and falls", lambda job: (job.traits.rocky, job.traits.falls) == (traits.rocky, traits.falls)),
        ("rock", lambda job: job.traits.rocky == traits.rocky),
    )
    for like, fits in ways:
        found = [job for job in jobs if fits(job)]
        if len(found) >= ENOUGH:
            return like, found
    return "any", list(jobs)


def _deviation(rates: Sequence[float], mean: float) -> float:
    return math.sqrt(math.fsum((rate - mean) ** 2 for rate in rates) / (len(rates) - 1))


def _quantile(freedom: int | None) -> float:
    """Upper quantile of Student's t, or of the normal law, that leaves half of the rest above the band."""
    from scipy.special import ndtri, stdtrit

    share = 0.5 * (1.0 + SHARE)
    return float(ndtri(share) if freedom is None else stdtrit(freedom, share))


def _above_zero(name: str, number: float) -> None:
    if not (math.isfinite(number) and number > 0.0):
        raise DomainError(f"`{name}` must be above zero, got {number}")
