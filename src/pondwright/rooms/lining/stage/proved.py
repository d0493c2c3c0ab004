"""The order of each liner in one piece, held against the piece that is proved to cover."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, LENGTH, MASS, Area, Length, Mass, Ratio
from pondwright.rooms.lining.checks import order as checks
from pondwright.rooms.lining.cover import cover
from pondwright.rooms.lining.seams import ordered_length
from pondwright.rooms.lining.stage.cover import LinerCover
from pondwright.rooms.lining.stage.order_results import LinerOrder
from pondwright.rooms.lining.stage.pieces import Added
from pondwright.rooms.lining.stage.shared import limits_of, liners_of

USES = ("lining.cover.liners.*.length", "lining.cover.liners.*.width", "lining.liners.*.ordered")


@dataclass(frozen=True, slots=True, eq=False)
class LinerProved:
    """What to order of one liner by the proof: `covers` tells whether the order by tapes is large enough."""

    covers: bool
    length: Length = figure(LENGTH, "Length to order by the proof", by=ordered_length, uses=USES)
    width: Length = figure(LENGTH, "Width to order by the proof", by=ordered_length, uses=USES)
    area: Area = figure(AREA, "Area to order by the proof", by=cover, uses=USES)
    mass: Mass = figure(MASS, "Mass of that piece", uses=(*USES, "lining.order.liners.*.area_mass"))
    saved: Area = figure(
        AREA,
        "Liner that the proof saves against the order by tapes",
        uses=("lining.order.liners.*.ordered_area",),
    )


@dataclass(frozen=True, slots=True, eq=False)
class ProvedResult:
    """Orders of all liners in one piece, by the proof."""

    liners: Mapping[str, LinerProved]


def proved_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[ProvedResult, tuple[Finding, ...]]:
    """Order of each liner in one piece, held against the proof.

    Parameters
    ----------
    view : mapping        Reads `lining.liners`, `rules`.
    results : mapping     Needs `shape.shore`, `lining.layout`, `lining.order`, `lining.cover`.

    Returns
    -------
    ProvedResult of liners in one piece, and one check for each of those and of those from rolls.
    """
    limits = limits_of(view)
    told = liners_of(view["lining.liners"], results["shape.shore"].bodies)
    covers, layouts = results["lining.cover"].liners, results["lining.layout"].liners
    found: dict[str, LinerProved] = {}
    findings: list[Finding] = []
    for name, order in results["lining.order"].liners.items():
        if name not in covers:
            continue
        proof, added = covers[name], Added(told[name], limits)
        if order.form == "one":
            found[name], share = _piece(order, proof, added)
            size = found[name].length, found[name].width
            findings.append(checks.check_proved(name, share, size, found[name].saved, limits))
        elif order.form == "rolls" and proof.strips:
            ordered = [added.ordered(piece.length) for piece in layouts[name].laid]
            wanted = [strip.length for strip in proof.strips]
            sizes = tuple(ordered_length(length, 0.0, added.margin(length)) for length in wanted)
            findings.append(checks.check_proved_strips(name, _least_share(ordered, wanted), sizes, limits))
    return ProvedResult(MappingProxyType(found)), tuple(findings)


def _piece(order: LinerOrder, proof: LinerCover, added: Added) -> tuple[LinerProved, Ratio]:
    """Order of a liner in one piece by the proof, and the least side ordered against a proved one.

    What folds eat is in the proof already: only what the dig or the tape may be out is added.
    """
    (piece,) = order.pieces.values()
    sides = piece.length, piece.width
    share = max(
        min(sides[0] / one, sides[1] / other)
        for one, other in ((proof.length, proof.width), (proof.width, proof.length))
    )
    length, width = (ordered_length(size, 0.0, added.margin(size)) for size in (proof.length, proof.width))
    area = length * width
    return LinerProved(
        covers=share >= 1.0,
        length=length,
        width=width,
        area=area,
        mass=area * order.area_mass,
        saved=order.ordered_area - area,
    ), share


def _least_share(ordered: Sequence[Length], wanted: Sequence[Length]) -> Ratio:
    """Least length ordered against a proved one, the longest held against the longest; 0 where one lacks."""
    if len(ordered) < len(wanted):
        return 0.0
    pairs = zip(sorted(ordered, reverse=True), sorted(wanted, reverse=True), strict=False)
    return min((one / other for one, other in pairs), default=1.0)
