"""What is checked about the day of the pull: people, a machine, wind and cold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Protocol

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Finding, Grade, Limit, Where
from pondwright.base.kinds import COUNT, LENGTH, MASS, SPEED, TEMPERATURE, Speed, Temperature
from pondwright.base.sources import PRACTICE, from_memory

Limits = Mapping[str, Limit]

LIMITS = (
    Limit(
        "lining.carry",
        "Mass that one person carries",
        23.0,
        MASS,
        from_memory("NIOSH, revised lifting equation", "load constant of 51 lb"),
    ),
    Limit("lining.pull", "Mass that one person pulls over a hole", 40.0, MASS, PRACTICE),
    Limit("lining.people", "People to carry a piece, at most; beyond that a machine", 10.0, COUNT, PRACTICE),
    Limit("lining.wind", "Wind in which a liner is pulled, at most", 8.0, SPEED, PRACTICE),
    Limit(
        "lining.cold", "How far the day is warmer than a sheet asks for, at least", 0.0, TEMPERATURE, PRACTICE
    ),
    Limit("lining.bag_gap", "From sandbag to sandbag along the edge", 2.0, LENGTH, PRACTICE),
    Limit("lining.bag", "Mass of one sandbag", 15.0, MASS, PRACTICE),
)
"""Limits of these checks; a job may replace each by its code."""

LIFTING = "Lift with straight backs and together, on one call; nobody stands under the bundle or the beam."
SLIPPERY = "Wet liner is slippery: have a rope or a ladder on every slope before anybody steps on it."
BEAM = "Lift the bundle with a beam or a bar through its core and rated slings, standing on firm ground."
UNDER = "Never stand or reach under a sheet that the wind has lifted: let it go."


class Day(Protocol):
    """What is told of the day of the pull; none is not told."""

    @property
    def people(self) -> int | None:
        """Who pull."""
        ...

    @property
    def wind(self) -> Speed | None:
        """Wind of that day. [m/s]"""
        ...

    @property
    def temperature(self) -> Temperature | None:
        """Temperature of that day. [°C]"""
        ...

    @property
    def machine(self) -> bool:
        """Whether a machine with a beam is there."""
        ...


def check_pull(orders: Mapping[str, Any], day: Day, limits: Limits) -> Iterator[Finding]:
    """Whether there are people or a machine, little enough wind, and warmth, for the liner that asks most.

    Parameters
    ----------
    orders : mapping of LinerOrder     With `carriers`, `pullers`, `heaviest`, `lifting_wind`, `sandbags`,
                                       `least_temperature`.
    day : Day                          What is told of it.
    limits : mapping
    """
    if not orders:
        return
    heaviest = max(orders, key=lambda name: orders[name].heaviest)
    yield _carried(heaviest, orders[heaviest], day, limits)
    if day.people is not None:
        yield _pulled(heaviest, orders[heaviest], day, day.people, limits)
    if day.wind is not None:
        lightest = min(orders, key=lambda name: (orders[name].lifting_wind, -orders[name].sandbags))
        yield _wind(lightest, orders[lightest], day.wind, limits)
    if day.temperature is not None:
        stiffest = max(orders, key=lambda name: orders[name].least_temperature)
        yield _cold(stiffest, orders[stiffest], day.temperature, limits)


def _carried(liner: str, order: Any, day: Day, limits: Limits) -> Finding:
    limit = limits["lining.people"]
    few = order.carriers <= limit.value
    holds = few or day.machine
    heavy = words.mass(order.heaviest)
    if few:
        says = f"The heaviest piece of the liner of `{liner}`, {heavy}, can be carried by people."
    elif day.machine:
        says = f"The heaviest piece of the liner of `{liner}`, {heavy}, is brought by a machine."
    else:
        says = f"The heaviest piece of the liner of `{liner}`, {heavy}, is too heavy for people to carry."
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where(("lining.pull.machine", f"lining.order.liners.{liner}.heaviest")),
        value=float(order.carriers),
        limit=limit.value,
        operator="<=" if few or not holds else "",
        kind=COUNT,
        source=limits["lining.carry"].source,
        advice=()
        if holds
        else (
            Advice(
                "Bring it with a machine that has a beam, and plan where it stands and how it gets there."
            ),
            Advice("Or order it in several pieces, each light enough."),
        ),
        assumes=(LIFTING, BEAM),
    )


def _pulled(liner: str, order: Any, day: Day, people: int, limits: Limits) -> Finding:
    limit = limits["lining.pull"]
    needed = order.pullers
    holds = people >= needed or day.machine
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.STOP,
        says=f"{people} people can pull the liner of `{liner}` over the hole"
        + (" with the machine." if day.machine and people < needed else ".")
        if holds
        else f"{people} people are too few to pull the liner of `{liner}` over the hole.",
        where=Where(("lining.pull.people", f"lining.order.liners.{liner}.pullers")),
        value=float(people),
        limit=float(needed),
        operator=">=" if people >= needed or not holds else "",
        kind=COUNT,
        source=limit.source,
        advice=() if holds else (Advice(f"Have {needed} people there, or a machine with a beam."),),
        assumes=(LIFTING, SLIPPERY),
    )


def _wind(liner: str, order: Any, wind: float, limits: Limits) -> Finding:
    limit = limits["lining.wind"]
    calm, stop = wind <= order.lifting_wind, wind > limit.value
    if stop:
        says = f"At {words.wind(wind)} of wind the liner of `{liner}` is not pulled."
    elif calm:
        says = f"At {words.wind(wind)} of wind the liner of `{liner}` lies by its own weight."
    else:
        says = f"At {words.wind(wind)} of wind the liner of `{liner}` lifts unless sandbags lie on it."
    return Finding(
        code=limit.code,
        grade=Grade.STOP if stop else Grade.GOOD if calm else Grade.LOOK,
        says=says,
        where=Where(("lining.pull.wind",)),
        value=wind,
        limit=limit.value if stop else order.lifting_wind,
        operator="<=",
        kind=SPEED,
        source=limit.source,
        advice=()
        if calm and not stop
        else (
            Advice("Wait for a calm morning, and stop when gusts come."),
            Advice(f"Have {order.sandbags} sandbags along the edge before the first fold is opened."),
        ),
        assumes=(UNDER, "Suction is taken as the full pressure of the wind, as in the open."),
    )


def _cold(liner: str, order: Any, temperature: float, limits: Limits) -> Finding:
    limit = limits["lining.cold"]
    least = order.least_temperature + limit.value
    holds = temperature >= least
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"It is warm enough to unfold the liner of `{liner}`."
        if holds
        else f"At {words.temperature(temperature)} the liner of `{liner}` is too stiff to be unfolded.",
        where=Where(("lining.pull.temperature",)),
        value=temperature,
        limit=least,
        operator=">=",
        kind=TEMPERATURE,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice("Wait for a warmer day, or keep the bundle in a heated place until it is unrolled."),
            Advice("Join seams only above 5 °C (41 °F), and dry."),
        ),
    )
