"""What ``pondwright lining`` prints: areas, sizes to order, pieces, tapes, low places, the pull."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pondwright.base.findings import Finding
from pondwright.base.kinds import AREA, COUNT, ELEVATION, LENGTH, MASS
from pondwright.base.units import Shown, format_wind
from pondwright.cli.tables import print_room, table, words

FORMS = {"one": "one piece", "parts": "several pieces", "rolls": "strips from rolls"}
VERDICTS = {
    "not_taped": "to be taped",
    "as_drawn": "as drawn",
    "longer": "longer, within what is spare",
    "tight": "reaches, with less left for folds",
    "short": "longer than the liner reaches",
    "much_shorter": "the dig is not done",
}


def print_lining(
    results: Mapping[str, Any], findings: Sequence[Finding], shown: Shown, *, as_json: bool
) -> None:
    """Print the lining of a job.

    Parameters
    ----------
    results : mapping
        Results of the lining's stages by name; those that are not there are left out.
    findings : sequence of Finding
        Checks of all of them.
    shown : Shown
        Units of the job.
    as_json : bool
    """
    order, rim = results.get("lining.order"), results.get("lining.rim")
    lined = order is not None and order.liners
    blocks = [] if lined else [iter(["No water to line yet: draw a shoreline first."])]
    if lined:
        blocks += [_liners(order, results, shown), _pieces(order, shown), _rolls(order, shown)]
        blocks += [_small(order, shown), _tapes(order, shown), _pull(order, shown)]
    if lined and rim is not None:
        blocks.append(_edge(rim, shown))
    print_room("lining", results, blocks, findings, as_json=as_json)


def _liners(order: Any, results: Mapping[str, Any], shown: Shown) -> Iterator[str]:
    yield "liners"
    proved, cover = results.get("lining.proved"), results.get("lining.cover")
    rows = []
    for name, one in order.liners.items():
        true = results["lining.area"].liners[name].area
        sure = "not run yet"
        if one.form == "rolls" and cover is not None and name in cover.liners:
            by_proof = cover.liners[name]
            sure = f"by the proof {by_proof.count} strips, {words(shown, (by_proof.ordered_area, AREA))[0]}"
        if proved is not None and name in proved.liners:
            sure = "proved" if proved.liners[name].covers else "ORDER THE PROVED SIZE"
        told = words(shown, (true, AREA), (one.ordered_area, AREA), (one.mass, MASS), (one.seams, LENGTH))
        rows.append((name, FORMS[one.form], *told, sure))
    yield table(("liner", "laid as", "true area", "to order", "mass", "seams", "cover check"), rows, 2)


def _pieces(order: Any, shown: Shown) -> Iterator[str]:
    yield "piece list"
    rows = [
        (
            name,
            letter,
            *words(
                shown,
                (piece.length, LENGTH),
                (piece.width, LENGTH),
                (piece.mass, MASS),
                (piece.carriers, COUNT),
                (piece.pullers, COUNT),
            ),
        )
        for name, one in order.liners.items()
        for letter, piece in one.pieces.items()
    ]
    yield table(("liner", "piece", "length", "width", "mass", "carry", "pull"), rows, 2)


def _rolls(order: Any, shown: Shown) -> Iterator[str]:
    rows = [
        (
            name,
            f"roll {number}",
            *words(shown, (roll.width, LENGTH), (roll.length, LENGTH), (roll.rest, LENGTH)),
            ", ".join(f"{piece} {words(shown, (length, LENGTH))[0]}" for piece, length in roll.cuts),
        )
        for name, one in order.liners.items()
        for number, roll in enumerate(one.rolls, start=1)
    ]
    if rows:
        yield "rolls"
        yield table(("liner", "", "width", "length", "left", "cut"), rows, 2)


def _small(order: Any, shown: Shown) -> Iterator[str]:
    rows = [
        (name, pipe, *words(shown, (boot.diameter, LENGTH), (boot.depth, LENGTH), (boot.way_over, LENGTH)))
        for name, one in order.liners.items()
        for pipe, boot in one.boots.items()
    ]
    if rows:
        yield "pipes through the liner"
        yield table(("liner", "pipe", "diameter", "below water", "way over the edge"), rows, 2)


def _tapes(order: Any, shown: Shown) -> Iterator[str]:
    yield "tape in the hole"
    rows = [
        (
            name,
            tape,
            *words(shown, (found.predicted, LENGTH), (found.taped, LENGTH)),
            VERDICTS[found.verdict],
        )
        for name, one in order.liners.items()
        for tape, found in one.tapes.items()
    ]
    yield table(("liner", "tape", "as drawn", "taped", "verdict"), rows, 2)


def _pull(order: Any, shown: Shown) -> Iterator[str]:
    yield "the pull"
    rows = [
        (
            name,
            *words(shown, (one.heaviest, MASS)),
            format_wind(one.lifting_wind, shown),
            format_wind(one.stop_wind, shown),
            str(one.sandbags),
        )
        for name, one in order.liners.items()
    ]
    yield table(("liner", "heaviest", "lifts at", "stop at", "sandbags"), rows, 1)


def _edge(rim: Any, shown: Shown) -> Iterator[str]:
    yield "liner's edge"
    rows = [
        (
            name,
            *words(shown, (body.length, LENGTH), (body.edge_low, ELEVATION), (body.lack, LENGTH)),
            str(len(body.lows)),
        )
        for name, body in rim.bodies.items()
    ]
    yield table(("body", "length", "lowest", "lacks", "low places"), rows, 1)
    for name, body in rim.bodies.items():
        for low in body.lows:
            lack, over = words(shown, (low.lack, LENGTH), (low.over_water, LENGTH))
            yield f"  {name} {low.place}: {lack} too low, {over} over the water"
