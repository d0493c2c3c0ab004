"""What is checked about piles, gates and soil that has no place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import COUNT, RATIO, SOIL_VOLUME, Area, Length, Volume
from pondwright.base.sources import PRACTICE, derived

Limits = Mapping[str, Limit]

LIMITS = (
    Limit("earth.homeless", "Share of what is dug that has no place to go, at most", 0.05, RATIO, PRACTICE),
    Limit(
        "earth.pile_place", "Piles that lie where water will be, at most", 0.0, COUNT, derived("one place")
    ),
    Limit("earth.muck", "Muck that nothing is said to take, at most", 0.0, SOIL_VOLUME, PRACTICE),
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


def check_muck(volume: Volume, drying: Area, taken: bool, limits: Limits) -> tuple[Finding, ...]:
    """Whether muck has somewhere to dry or to go."""
    limit = limits["earth.muck"]
    if volume <= 0.0:
        return ()
    return (
        judged(
            limit,
            0.0 if taken else volume,
            Grade.GOOD if taken else Grade.LOOK,
            "Muck has a place of its own." if taken else "Muck is dug, and nothing is said to take it.",
            where=Where(("earth.soil.by_kind.muck", "earth.piles")),
            advice=(
                Advice("Give it ground to dry on, in layers of 0.4 m (16 in), or a tip that takes it wet."),
                Advice("It goes in sealed trucks, by weight, and never into a bank."),
            ),
        ),
    )
