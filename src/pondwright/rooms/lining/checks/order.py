"""What is checked about the order of a liner: its sheet, seams, several pieces, and holes for pipes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Alike, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import AREAL_MASS, COUNT, LENGTH, RATIO, Area, Length, Ratio
from pondwright.base.sources import PRACTICE, Source, derived
from pondwright.rooms.lining.materials import Membrane

Limits = Mapping[str, Limit]

ARIZONA = Source("USDA NRCS, construction specification 521A (Arizona, 2008)", "deviation of the subgrade")
LANDFILL = Source("Specification of a municipal landfill liner", "seam overlap at least 4 in")

LIMITS = (
    Limit("lining.folds", "Share of a length that folds eat", 0.05, RATIO, PRACTICE),
    Limit("lining.dig_plan", "The edge of a dig lies outside the drawn one by", 0.15, LENGTH, PRACTICE),
    Limit("lining.dig_level", "It is dug deeper than drawn by", 0.075, LENGTH, ARIZONA),
    Limit("lining.dig_uneven", "Share of a length for humps and hollows of the dig", 0.01, RATIO, PRACTICE),
    Limit("lining.seam", "Overlap of two pieces at a seam, at least", 0.1, LENGTH, LANDFILL),
    Limit("lining.roll_rest", "Share of rolls that is left over, at most", 0.4, RATIO, PRACTICE),
    Limit("lining.fall_lap", "Overlap of two pieces at a fall", 0.6, LENGTH, PRACTICE),
    Limit("lining.several", "Share of a liner that several pieces save, at most", 0.20, RATIO, PRACTICE),
    Limit(
        "lining.penetration",
        "How far a hole for a pipe lies below the full water, at most",
        0.0,
        LENGTH,
        PRACTICE,
    ),
    Limit(
        "lining.proved",
        "Sides of the ordered piece against those that are proved to cover, at least",
        1.0,
        RATIO,
        derived("a map from the flat piece to the ground that stretches nothing"),
    ),
)
"""Limits of these checks, and numbers of the order; a job may replace each by its code."""


class Pipe(Protocol):
    """A pipe through a liner, as this check looks at it."""

    @property
    def place(self) -> tuple[Length, Length]:
        """Where it goes through. [m]"""
        ...

    @property
    def over(self) -> str:
        """Whether it could go over the edge instead."""
        ...

    @property
    def item(self) -> str | None:
        """Its boot, from the catalogue."""
        ...

    @property
    def depth(self) -> Length | None:
        """Below the full water. [m]"""
        ...

    @property
    def way_over(self) -> Length | None:
        """Pipe up and over the edge. [m]"""
        ...


def check_membrane(liner: str, item: str | None, sheet: Membrane) -> Finding:
    """A liner of which no sheet is told, or one whose material nobody can tell from its name."""
    if item is None:
        says = (
            f"No sheet is chosen for the liner of `{liner}`: rubber (EPDM) 1.14 mm thick (45 mil) is taken."
        )
    else:
        says = f"The catalogue does not tell what `{item}` is made of: rubber (EPDM) is taken."
    return Finding(
        code="lining.membrane",
        grade=Grade.LOOK,
        says=says,
        where=Where((f"lining.liners.{liner}.membrane", "catalogue")),
        value=sheet.mass,
        kind=AREAL_MASS,
        source=PRACTICE,
        advice=(
            Advice("Choose the sheet from the catalogue, and write down its material, mass and thickness."),
            Advice("Ask its maker whether fish and plants live with it: roofing sheet may hold poison."),
        ),
    )


def check_seam(liner: str, overlap: Length, limits: Limits) -> Finding:
    """Whether two pieces lie far enough over each other."""
    limit = limits["lining.seam"]
    holds = overlap >= limit.value
    return judged(
        limit,
        overlap,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The pieces of the liner of `{liner}` lie far enough over each other."
            if holds
            else f"The pieces of the liner of `{liner}` lie too little over each other to be joined well."
        ),
        where=Where((f"lining.liners.{liner}.seam",)),
        operator=">=",
        advice=(Advice("Give the seam the width that its tape or weld asks for."),),
        assumes=(
            "Test every seam along its whole length before it is covered, and write down who joined it.",
            "Keep seams out of corners and out from under falls.",
        ),
    )


def check_several(
    liner: str,
    named: bool,
    bodies: tuple[str, ...],
    share: Ratio,
    saved: Area,
    pieces: int,
    limits: Limits,
) -> Finding:
    """Whether one piece wastes so much that several are worth their seams."""
    limit = limits["lining.several"]
    holds = share <= limit.value
    path = f"/lining/liners/{liner}"
    op = (
        Op("replace", f"{path}/parts", True)
        if named
        else Op("add", path, {"bodies": list(bodies), "parts": True})
    )
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"One piece for `{liner}` wastes little more than several would."
            if holds
            else f"{pieces} pieces instead of one would save {words.area(saved)} of the liner of `{liner}`."
        ),
        where=Where((f"lining.order.liners.{liner}.several.saved",)),
        advice=(
            Advice(f"Lay it in {pieces} pieces, lapped or joined where the plan shows it.", (op,)),
            Advice("Weigh that against the seams: each is a place where it may leak."),
        ),
    )


def no_parts(liner: str) -> Finding:
    """A liner that is to come in several pieces, and has no place to join them."""
    return Finding(
        code="lining.no_parts",
        grade=Grade.LOOK,
        says=f"The liner of `{liner}` is to come in several pieces, but has no narrow and no fall for it.",
        where=Where((f"lining.liners.{liner}.parts",)),
        advice=(
            Advice("Order it in one piece.", (Op("replace", f"/lining/liners/{liner}/parts", False),)),
            Advice("Or lay it from rolls."),
        ),
    )


def check_roll_ends(liner: str, ends: int) -> Finding:
    """Strips that are longer than a roll."""
    return Finding(
        code="lining.roll_end",
        grade=Grade.LOOK,
        says=f"Strips of the liner of `{liner}` are longer than a roll and have seams across them.",
        where=Where((f"lining.liners.{liner}.stock",)),
        value=float(ends),
        kind=COUNT,
        advice=(
            Advice("Ask for longer rolls, or turn the strips to run the short way."),
            Advice("Put the seams across where the bottom is level, never on a bank."),
        ),
    )


def check_roll_rest(liner: str, rest: Area, share: Ratio, limits: Limits) -> Finding:
    """Whether most of the rolls is used."""
    limit = limits["lining.roll_rest"]
    holds = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"Most of the rolls for `{liner}` is used."
            if holds
            else f"Of the rolls for `{liner}` {words.area(rest)} are left over."
        ),
        where=Where((f"lining.liners.{liner}.stock", f"lining.order.liners.{liner}.rolls")),
        advice=(
            Advice("Ask the supplier to cut the lengths off the roll, or for a narrower one."),
            Advice("Or lay another water from the same roll, and keep the rest for pads and patches."),
        ),
        alike=Alike("Much of the rolls is left over: {}.", f"{words.area(rest)} for `{liner}`"),
    )


def check_penetration(name: str, pipe: Pipe, limits: Limits) -> Finding:
    """Whether a hole for a pipe below the water is needed at all, and has its boot."""
    limit = limits["lining.penetration"]
    depth = pipe.depth or 0.0
    above, asked = depth <= limit.value, pipe.over == "no"
    deep = words.length(max(depth, 0.0))
    pipe_name = f"`lining.penetrations.{name}`"
    if above:
        says = f"{pipe_name} goes through the liner above the full water."
    elif pipe.over == "could":
        says = f"{pipe_name} goes through the liner {deep} below the full water, and could go over its edge."
    elif not asked:
        says = f"Nobody has asked whether {pipe_name}, {deep} below the full water, could go over the edge."
    elif pipe.item is None:
        says = f"{pipe_name} goes through the liner {deep} below the full water, and has no boot yet."
    else:
        says = f"{pipe_name} must go through the liner {deep} below the full water, and has its boot."
    good = above or (asked and pipe.item is not None)
    way = "" if pipe.way_over is None else f": {words.length(pipe.way_over)} of pipe from there"
    advice = []
    if not good and not asked:
        advice.append(Advice(f"Take it over the edge if the pump can lift it{way}."))
        advice.append(
            Advice(
                "It cannot: say so, and give it a boot.",
                (Op("replace", f"/lining/penetrations/{name}/over", "no"),),
            )
        )
    if not good and pipe.item is None:
        advice.append(Advice("Choose a boot of the same material as the liner, with two clamps."))
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if good else Grade.LOOK,
        says=says,
        where=Where((f"lining.penetrations.{name}",), (pipe.place,)),
        value=depth,
        limit=limit.value,
        operator="<=" if above or not good else "",
        kind=LENGTH,
        source=limit.source,
        advice=tuple(advice),
        assumes=("Set the pipe in firm ground or concrete, or the boot tears when the ground settles.",),
    )


def check_proved(
    liner: str, share: Ratio, size: tuple[Length, Length], saved: Area, limits: Limits
) -> Finding:
    """Whether the ordered piece is at least the one that is proved to cover."""
    reaches = share >= limits["lining.proved"].value
    order = f"{words.length(size[0])} by {words.length(size[1])}"
    if not reaches:
        says = f"The order for `{liner}` by tapes is smaller than the piece that is proved to cover."
    elif saved > 0.0:
        says = f"The order for `{liner}` covers; by the proof {words.area(saved)} less would do."
    else:
        says = f"The order for `{liner}` is at least as large as the piece that is proved to cover."
    advice = Advice(f"Order {order}, what the dig or the tape may be out counted in.")
    return _proved(liner, share, says, () if reaches and saved <= 0.0 else (advice,), Grade.STOP, limits)


def check_proved_strips(liner: str, share: Ratio, lengths: Sequence[Length], limits: Limits) -> Finding:
    """Whether the strips that are cut are at least those that are proved to cover.

    Other strips may cover as well, so this is no stop.
    """
    reaches = share >= limits["lining.proved"].value
    says = f"The strips for `{liner}` are at least as long as those that are proved to cover."
    if not reaches:
        says = f"The strips for `{liner}` by tapes are fewer or shorter than those that are proved to cover."
    told = ", ".join(words.length(length) for length in lengths)
    advice = (
        Advice(f"Cut strips of {told}."),
        Advice("Or lay it in pieces that each end at a fall or a narrow, and tape the ground for each."),
    )
    return _proved(liner, share, says, () if reaches else advice, Grade.LOOK, limits)


def _proved(
    liner: str, share: Ratio, says: str, advice: tuple[Advice, ...], short: Grade, limits: Limits
) -> Finding:
    limit = limits["lining.proved"]
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if share >= limit.value else short,
        says=says,
        where=Where((f"lining.cover.liners.{liner}.area",)),
        value=share,
        limit=limit.value,
        operator=">=",
        kind=RATIO,
        source=limit.source,
        advice=advice,
        assumes=("The hole is dug as drawn: tape it before you order.",),
    )
