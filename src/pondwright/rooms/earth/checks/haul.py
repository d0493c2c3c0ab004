"""What is checked about piles, gates and soil that has no place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.both_units import area, size, soil
from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import COUNT, LENGTH, RATIO, SLOPE, SOIL_VOLUME, Area, Length, Volume
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
    Limit(
        "earth.haul_way",
        "Share of the soil that no machine can drive where it goes, at most",
        0.01,
        RATIO,
        PRACTICE,
    ),
    Limit("earth.haul_grade", "Grade that a loaded machine on tracks drives, at most", 0.30, SLOPE, PRACTICE),
    Limit(
        "earth.haul_lane",
        "Width of ground that a machine needs, 1.5 m and 0.3 m on both sides, at least",
        2.1,
        LENGTH,
        PRACTICE,
    ),
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
            f"`earth.piles.{pile}` lies where `{body}` will be.",
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


def check_ways(
    volumes: Mapping[tuple[str, str], Volume],
    moved: Volume,
    between: Sequence[tuple[str, str]],
    way: Sequence[tuple[Length, Length]],
    limits: Limits,
) -> Finding:
    """Whether machines can drive all soil where it goes.

    Parameters
    ----------
    volumes : mapping         What they cannot, by the paths of where it comes from and goes to; an empty path
                              is the dig, or where it is placed. [m³], in the bank
    moved : Volume            All that has a place to go, in the bank. [m³], > 0
    between : sequence        What lies between where it is most: how it is called, and its path.
    way : sequence            Both ends of the largest haul there. [m]
    limits : Limits

    Returns
    -------
    Finding
    """
    limit = limits["earth.haul_way"]
    whole = sum(volumes.values())
    share = whole / moved
    if share <= limit.value:
        but = f" but for {soil(whole)}" if whole > 0.0 else ""
        says = f"Machines can drive all soil{but} where it goes, round what is kept clear of."
        return judged(limit, share, Grade.GOOD, says)
    start, end = max(volumes, key=lambda ends: volumes[ends])
    more = "" if len(volumes) == 1 else f" (and {len(volumes) - 1} more like it)"
    lies = _lies([called for called, _ in between])
    paths = dict.fromkeys([*(path for ends in volumes for path in ends if path), *(p for _, p in between)])
    return judged(
        limit,
        share,
        Grade.LOOK,
        f"No machine can drive from {_named(start, 'the dig')} to {_named(end, 'what is placed')}{more}: "
        f"{lies} between, and {soil(whole)} of soil counts as if driven straight.",
        where=Where(tuple(paths), tuple(way)),
        advice=(
            Advice("Draw the way in on which machines pass: it opens what is kept clear of, but no house."),
            Advice("Or move the pile or the gate to where machines come."),
        ),
    )


def _lies(names: Sequence[str]) -> str:
    """What lies between, as the first of its names."""
    if not names:
        return "steep ground or water lies"
    return f"{names[0]} lies" if len(names) == 1 else f"{names[0]} and {len(names) - 1} more lie"


def _named(path: str, otherwise: str) -> str:
    return f"`{path}`" if path else otherwise


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
