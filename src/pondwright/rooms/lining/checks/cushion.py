"""What is checked about the fabric that keeps stones from going through a liner."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Finding, Grade, Limit, Where
from pondwright.base.kinds import AREAL_MASS, LENGTH, RATIO
from pondwright.base.sources import PRACTICE, Source, from_memory

Limits = Mapping[str, Limit]

NAREJO = from_memory("Narejo, Koerner, Wilson-Fahmy (1996), puncture protection of geomembranes")
CREEP = Source(
    "Koerner and others (2010), creep puncture of geomembranes", "38 mm cones yielded in ten years"
)

LIMITS = (
    Limit("lining.cushion_below", "Fabric below a liner, at least", 0.2, AREAL_MASS, PRACTICE),
    Limit("lining.cushion_above", "Fabric between a liner and stone, at least", 0.2, AREAL_MASS, PRACTICE),
    Limit("lining.puncture_safety", "Safety of the formula for puncture", 3.0, RATIO, NAREJO),
    Limit("lining.protrusion", "How far stones stick out while the formula is trusted", 0.025, LENGTH, CREEP),
    Limit("lining.subgrade_stone", "Largest stone that is left in the ground below", 0.02, LENGTH, PRACTICE),
)
"""Limits of these checks; a job may replace each by its code."""

FORMULA = "The formula is for polyethylene 1.5 mm thick; rubber and vinyl stretch more, which is safer."
UNTRUSTED = "For stones of this size the formula is not trusted: builders' practice is taken."
PADS = "Set every stone that is lifted by a machine on a pad of its own: an offcut and a second fabric."
MACHINES = (
    "Keep machines off the bare liner; if one must go on it, plan it: two fabrics, 200 mm (8 in) of round "
    "gravel, mats, rubber tracks, no turning on the spot."
)


def check_below(liner: str, side: Any, limits: Limits) -> Finding:
    """Whether the fabric below a liner is enough against stones left in the ground.

    Parameters
    ----------
    liner : str
    side : CushionSide     With `needed`, `has`, `body`.
    limits : mapping
    """
    limit = limits["lining.cushion_below"]
    needed = max(side.needed, limit.value)
    holds = side.has >= needed
    lacks = "no fabric" if not side.has else f"a fabric of {words.fabric(side.has)}"
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"The fabric below the liner of `{liner}` is enough against stones left in the ground."
        if holds
        else f"Below the liner of `{liner}` lies {lacks}, too little against stones left in the ground.",
        where=Where((f"lining.liners.{liner}.cushion_below", "build_up")),
        value=side.has,
        limit=needed,
        operator=">=",
        kind=AREAL_MASS,
        source=limit.source if needed == limit.value else limits["lining.puncture_safety"].source,
        advice=()
        if holds
        else (
            Advice(
                f"Lay needled fabric of {words.fabric(needed)} or more below it, or 50 mm (2 in) of sand."
            ),
            Advice("Take out by hand whatever is sharp or larger than a grape."),
        ),
        assumes=(FORMULA, MACHINES),
    )


def check_above(liner: str, side: Any, limits: Limits) -> Finding:
    """Whether the fabric above a liner is enough below the stone that lies on it.

    Parameters
    ----------
    liner : str
    side : CushionSide     With `needed`, `has`, `protrusion`, `by_formula`.
    limits : mapping
    """
    limit = limits["lining.cushion_above"]
    needed = max(side.needed, limit.value)
    holds = side.has >= needed - 1e-9
    size = words.length(2.0 * side.protrusion)
    lacks = "no fabric" if not side.has else f"a fabric of {words.fabric(side.has)}"
    sources = limits["lining.puncture_safety" if side.by_formula else "lining.protrusion"].source
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"The fabric on the liner of `{liner}` is enough below stones of {size}."
        if holds
        else f"On the liner of `{liner}` lies {lacks}, too little below stones of {size}.",
        where=Where((f"lining.liners.{liner}.cushion_above", "build_up", "stone.treatments")),
        value=side.has,
        limit=needed,
        operator=">=",
        kind=AREAL_MASS,
        source=limit.source if needed == limit.value else sources,
        advice=()
        if holds
        else (
            Advice(
                f"Lay needled fabric of {words.fabric(needed)} or more on it, or a second one below stones."
            ),
            Advice("Bed large stones on an offcut and 50 mm (2 in) of round gravel or mortar."),
        ),
        assumes=(
            FORMULA if side.by_formula else "For stones of this size the formula is not trusted.",
            PADS,
            MACHINES,
        ),
    )
