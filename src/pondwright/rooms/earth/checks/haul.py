"""What is checked about piles, gates and soil that has no place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.both_units import area, size, soil
from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import COUNT, LENGTH, RATIO, SOIL_VOLUME, Area, Length, Volume
from pondwright.base.sources import PRACTICE, derived

Limits = Mapping[str, Limit]

LIMITS = (
    Limit("earth.homeless", "Share of what is dug that has no place to go, at most", 0.05, RATIO, PRACTICE),
    Limit(
        "earth.pile_place", "Piles that lie where water will be, at most", 0.0, COUNT, derived("one place")
    ),
    Limit(
        "earth.brought",
        "Missing soil that no place gives, at most",
        0.0,
        SOIL_VOLUME,
        derived("what is missing must come from somewhere"),
    ),
    Limit("earth.muck", "Depth of muck where it dries, at most", 0.4, LENGTH, PRACTICE),
)


def check_homeless(volume: Volume, moved: Volume, limits: Limits) -> Finding:
    """Whether all that is dug has a place to go."""
    limit = limits["earth.homeless"]
    share = volume / moved if moved > 0.0 else 0.0
    holds = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        (
            "All that is dug has a place to go."
            if holds
            else "Some of what is dug has no place to go: no pile and no tip takes it."
        ),
        where=Where(("earth.piles", "earth.off_site")),
        advice=(
            Advice("Draw a pile for topsoil, and one for the rest, where no machine has to pass."),
            Advice("Or name who takes it, how far away: then truck loads and hours are counted."),
        ),
    )


def check_pile_places(
    found: Sequence[tuple[str, str, tuple[Length, Length]]], limits: Limits
) -> tuple[Finding, ...]:
    """Whether piles lie where nothing is dug for water."""
    limit = limits["earth.pile_place"]
    return tuple(
        judged(
            limit,
            1.0,
            Grade.STOP,
            f"Pile {pile.replace('_', ' ')} lies where `{body}` will be.",
            where=Where((f"earth.piles.{pile}", f"shape.bodies.{body}"), (place,)),
            advice=(
                Advice("Move it clear of the dig: at least 2 ft (0.6 m) from the edge of any trench or pit."),
            ),
        )
        for pile, body, place in found
    )


def check_brought(missing: Volume, short: Volume, limits: Limits) -> tuple[Finding, ...]:
    """Whether soil that is missing comes from a place that is named; nothing where none is missing."""
    limit = limits["earth.brought"]
    if missing <= 0.0:
        return ()
    holds = short <= limit.value
    return (
        judged(
            limit,
            short,
            Grade.GOOD if holds else Grade.LOOK,
            (
                f"{soil(missing)} must be brought, and there is a place that gives it."
                if holds
                else f"{soil(short)} must be brought, and no place gives it."
            ),
            where=Where(("earth.soil.brought", "earth.off_site")),
            advice=(
                Advice("Name a place off the site that gives soil, and how far away: then its loads count."),
                Advice("Or lower the water to the level at which the soil balances."),
            ),
        ),
    )


def check_muck(
    volume: Volume, loose: Volume, given: Area, homeless: Volume, limits: Limits
) -> tuple[Finding, ...]:
    """Whether muck has somewhere to go, and what stays has ground enough to dry on.

    Parameters
    ----------
    volume : Volume       All that is dug, in the bank. [m³], >= 0
    loose : Volume        What stays on the site, loose. [m³], >= 0
    given : Area          Ground on which that lies. [m²], >= 0
    homeless : Volume     What nothing takes, in the bank. [m³], >= 0
    limits : Limits

    Returns
    -------
    tuple of Finding      None where no muck is dug.
    """
    limit = limits["earth.muck"]
    if volume <= 0.0:
        return ()
    depth = loose / given if given > 0.0 else None
    grade, says = Grade.GOOD, "Muck has ground to dry on."
    if homeless > 0.0:
        grade, says = Grade.LOOK, f"{soil(homeless)} of muck is dug, and nothing is said to take it."
    elif depth is None:
        says = "Muck leaves the site wet."
    elif depth > limit.value:
        needs = area(loose / limit.value)
        grade = Grade.LOOK
        says = f"Muck lies {size(depth)} deep where it is to dry: it needs {needs}, and has {area(given)}."
    return (
        judged(
            limit,
            depth,
            grade,
            says,
            where=Where(("earth.soil.by_kind.muck", "earth.piles")),
            advice=(
                Advice(
                    f"Give it ground to dry on, in layers of {size(limit.value)}, or a tip that takes it wet."
                ),
                Advice("It goes in sealed trucks, by weight, and never into a bank."),
            ),
        ),
    )
