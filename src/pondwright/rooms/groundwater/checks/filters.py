"""What is checked about the gravel and the fabric round a drain."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import COUNT, LENGTH, RATIO, Length, Ratio
from pondwright.base.sources import PRACTICE, Source, from_memory
from pondwright.rooms.groundwater.checks.drains import Named
from pondwright.rooms.groundwater.filters import (
    coarsest_filter,
    fabric_need,
    finest_envelope,
    finest_filter,
    soil_category,
    widest_fabric_opening,
)

Limits = Mapping[str, Limit]

_NEH633 = "USDA NRCS, National Engineering Handbook, part 633, chapter 26"
_M288 = Source("AASHTO M288", "drainage, as printed in UFGS 02373")
_READ_AGAIN = frozenset({1, 4})

LIMITS = (
    Limit(
        "groundwater.filter_told",
        "Slotted drains with nothing told to keep the soil out, at most",
        0.0,
        COUNT,
        PRACTICE,
    ),
    Limit(
        "groundwater.filter_soil",
        "Size of a drain's gravel (15 % finer) as a share of the coarsest that holds the soil, at most",
        1.0,
        RATIO,
        Source(_NEH633, "design of filters; categories 2 and 3 from memory"),
    ),
    Limit(
        "groundwater.filter_water",
        "Size of a drain's gravel (15 % finer) as a multiple of the finest that lets the water through, "
        "at least",
        1.0,
        RATIO,
        from_memory(_NEH633, "permeability"),
    ),
    Limit(
        "groundwater.filter_fines",
        "Fines in a drain's gravel, at most",
        0.05,
        RATIO,
        from_memory(_NEH633, "5 %"),
    ),
    Limit(
        "groundwater.filter_largest",
        "Largest stone in a drain's gravel, at most",
        0.075,
        LENGTH,
        from_memory(_NEH633, "3 in"),
    ),
    Limit(
        "groundwater.filter_pipe",
        "Size of a drain's gravel (85 % finer) as a multiple of what stays out of the pipe, at least",
        1.0,
        RATIO,
        from_memory("US Army Corps of Engineers, EM 1110-2-1901", "gravel next to a pipe"),
    ),
    Limit(
        "groundwater.fabric_water",
        "Permittivity of a drain's fabric as a multiple of what its soil needs, at least",
        1.0,
        RATIO,
        _M288,
    ),
    Limit(
        "groundwater.fabric_opening",
        "Opening of a drain's fabric as a share of the widest for its soil, at most",
        1.0,
        RATIO,
        _M288,
    ),
    Limit(
        "groundwater.fabric_holds",
        "Opening of a drain's fabric as a share of the widest that holds the soil, at most",
        1.0,
        RATIO,
        from_memory("Federal Highway Administration, geosynthetic design guidelines", "retention"),
    ),
    Limit(
        "groundwater.fabric_strength",
        "Class of strength of the fabric round a drain's trench, at most",
        2.0,
        COUNT,
        from_memory("AASHTO M288", "class 2 for drain trenches, class 1 below heavy stone"),
    ),
)
"""Limits of these checks; a job may replace each by its code."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """Grain sizes of a gravel or a soil, with what it is called. [m]"""

    row: Named
    d15: Length
    d85: Length
    d100: Length | None = None
    fines: Ratio | None = None
    uniformity: Ratio | None = None


@dataclass(frozen=True, slots=True)
class Cloth:
    """A fabric: apparent opening [m], permittivity [1/s], class of strength."""

    row: Named
    opening: Length
    permittivity: float
    strength: int | None


def check_told(drain: Named, gravel: Sizes | None, fabric: Cloth | None, limits: Limits) -> Finding | None:
    """Whether anything is told that keeps the soil out of a slotted drain; said only where nothing is."""
    if gravel is not None or fabric is not None:
        return None
    limit = limits["groundwater.filter_told"]
    return _judged(
        limit,
        1.0,
        "<=",
        Grade.LOOK,
        f"Nothing is told that keeps the soil out of {drain.called}.",
        (drain,),
        (
            Advice("Name the gravel round it with its grain sizes, from the yard's own sheet."),
            Advice("Or wrap the trench, not the pipe, in a fabric that fits the soil."),
        ),
    )


def check_gravel(
    drain: Named, gravel: Sizes, soil: Sizes | None, fabric: Cloth | None, limits: Limits
) -> Iterator[Finding]:
    """Whether a gravel holds the soil back, lets its water through, and is clean."""
    if soil is not None and fabric is None:
        yield from _gravel_on_soil(drain, gravel, soil, limits)
    limit = limits["groundwater.filter_fines"]
    if gravel.fines is not None:
        good = gravel.fines <= limit.value
        yield _judged(
            limit,
            gravel.fines,
            "<=",
            Grade.GOOD if good else Grade.LOOK,
            f"{gravel.row.start} is clean."
            if good
            else f"{gravel.row.start} round {drain.called} has so many fines that it clogs.",
            (drain, gravel.row),
            (Advice("Ask the yard for washed gravel."),),
        )
    limit = limits["groundwater.filter_largest"]
    if gravel.d100 is not None:
        good = gravel.d100 <= limit.value + 1e-6
        yield _judged(
            limit,
            gravel.d100,
            "<=",
            Grade.GOOD if good else Grade.LOOK,
            f"{gravel.row.start} has no stones that sort themselves out."
            if good
            else f"{gravel.row.start} round {drain.called} has stones that roll apart when it is placed.",
            (drain, gravel.row),
            (Advice("Take gravel without stones over 3 in (75 mm)."),),
        )


def _gravel_on_soil(drain: Named, gravel: Sizes, soil: Sizes, limits: Limits) -> Iterator[Finding]:
    rows = (drain, gravel.row, soil.row)
    if soil.fines is not None:
        limit = limits["groundwater.filter_soil"]
        share = gravel.d15 / coarsest_filter(soil.fines, soil.d85)
        good = share <= limit.value
        sure = "" if soil_category(soil.fines) in _READ_AGAIN else " (this category's rule is from memory)"
        yield _judged(
            limit,
            share,
            "<=",
            Grade.GOOD if good else Grade.LOOK,
            f"{gravel.row.start} holds {soil.row.called} back."
            if good
            else f"{gravel.row.start} round {drain.called} is too coarse: {soil.row.called} washes into it.",
            rows,
            (
                Advice("Take finer gravel or concrete sand next to the soil."),
                Advice("Or wrap the trench in a fabric that fits the soil."),
            ),
            (f"soil of category {soil_category(soil.fines)}{sure}",),
        )
    limit = limits["groundwater.filter_water"]
    share = gravel.d15 / finest_filter(soil.d15)
    good = share >= limit.value
    yield _judged(
        limit,
        share,
        ">=",
        Grade.GOOD if good else Grade.LOOK,
        f"{gravel.row.start} lets the water of {soil.row.called} through."
        if good
        else f"{gravel.row.start} round {drain.called} is too fine to let water of {soil.row.called} in.",
        rows,
        (Advice("Take coarser gravel."),),
    )


def check_openings(
    drain: Named, gravel: Sizes, opening: Length, round_holes: bool, limits: Limits
) -> Finding:
    """Whether a gravel stays out of the pipe's openings."""
    limit = limits["groundwater.filter_pipe"]
    share = gravel.d85 / finest_envelope(opening, round_holes)
    good = share >= limit.value
    return _judged(
        limit,
        share,
        ">=",
        Grade.GOOD if good else Grade.LOOK,
        f"{gravel.row.start} stays out of the openings of {drain.called}."
        if good
        else f"{gravel.row.start} falls through the openings of {drain.called}.",
        (drain, gravel.row),
        (Advice("Take pipe with narrower slots, or coarser gravel next to it."),),
    )


def check_fabric(drain: Named, fabric: Cloth, soil: Sizes | None, limits: Limits) -> Iterator[Finding]:
    """Whether a fabric lets the water through, holds the soil back, and is strong enough."""
    if soil is not None and soil.fines is not None:
        need = fabric_need(soil.fines)
        rows = (drain, fabric.row, soil.row)
        limit, share = limits["groundwater.fabric_water"], fabric.permittivity / need.permittivity
        good = share >= limit.value
        yield _judged(
            limit,
            share,
            ">=",
            Grade.GOOD if good else Grade.LOOK,
            f"{fabric.row.start} lets the water of {soil.row.called} through."
            if good
            else f"{fabric.row.start} round {drain.called} is too tight for the water of {soil.row.called}.",
            rows,
            (Advice("Take a fabric with a higher permittivity."),),
        )
        limit, share = limits["groundwater.fabric_opening"], fabric.opening / need.opening
        good = share <= limit.value + 1e-9
        yield _judged(
            limit,
            share,
            "<=",
            Grade.GOOD if good else Grade.LOOK,
            f"{fabric.row.start} is fine enough for {soil.row.called}."
            if good
            else f"{fabric.row.start} round {drain.called} is too open for {soil.row.called}.",
            rows,
            (Advice("Take a fabric with a smaller apparent opening."),),
        )
    if soil is not None and soil.uniformity is not None:
        limit = limits["groundwater.fabric_holds"]
        share = fabric.opening / widest_fabric_opening(soil.uniformity, soil.d85)
        good = share <= limit.value + 1e-9
        yield _judged(
            limit,
            share,
            "<=",
            Grade.GOOD if good else Grade.LOOK,
            f"{fabric.row.start} holds {soil.row.called} back."
            if good
            else f"{fabric.row.start} round {drain.called} lets {soil.row.called} through.",
            (drain, fabric.row, soil.row),
            (Advice("Take a fabric with a smaller apparent opening."),),
        )
    if fabric.strength is not None:
        limit = limits["groundwater.fabric_strength"]
        good = fabric.strength <= limit.value
        yield _judged(
            limit,
            float(fabric.strength),
            "<=",
            Grade.GOOD if good else Grade.LOOK,
            f"{fabric.row.start} is strong enough for a drain trench."
            if good
            else f"{fabric.row.start} round {drain.called} is too weak for a trench of stone.",
            (drain, fabric.row),
            (Advice("Take class 2, about 6 oz (200 g/m²); class 1 below heavy stone."),),
        )


def _judged(
    limit: Limit,
    value: float,
    operator: str,
    grade: Grade,
    says: str,
    rows: tuple[Named, ...],
    advice: tuple[Advice, ...],
    assumes: tuple[str, ...] = (),
) -> Finding:
    return judged(
        limit,
        value,
        grade,
        says,
        where=Where(tuple(row.path for row in rows)),
        operator=operator,
        advice=advice,
        assumes=assumes,
    )
