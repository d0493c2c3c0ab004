"""The order in which pieces are unrolled, unfolded and joined, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from pondwright.rooms.lining.materials import Membrane
from pondwright.rooms.lining.stage.order_results import Form, Joint, OrderPiece

JOINED = {
    "tape": "Clean both faces, prime them and let the primer dry, tape the seam and roll it hard.",
    "weld": "Weld a trial piece first, then the seam; look along it for gaps and test all of it.",
    "solvent": "Clean both faces, spread the solvent, press the seam and leave it alone for a day.",
    "powder": "Strew the powder between the overlaps, and cover the mat before it rains.",
}
"""How two pieces are joined, by the kind of seam."""


def steps_of(
    form: Form,
    pieces: Mapping[str, OrderPiece],
    joints: Sequence[Joint],
    sheet: Membrane,
    ordered: str,
    machine: bool,
) -> tuple[str, ...]:
    """What to do on the day of the pull, one sentence each, in order.

    Parameters
    ----------
    form : str               `one`, `parts` or `rolls`.
    pieces : mapping         By name.
    joints : Joint           Between them.
    sheet : Membrane
    ordered : str            `before` or `after` the dig.
    machine : bool           A machine with a beam is there.
    """
    return tuple(_steps(form, pieces, joints, sheet, ordered, machine))


def _steps(
    form: Form,
    pieces: Mapping[str, OrderPiece],
    joints: Sequence[Joint],
    sheet: Membrane,
    ordered: str,
    machine: bool,
) -> Iterator[str]:
    if ordered == "after":
        yield "Tape the hole along and across, and order what the tape says."
    yield "Walk the whole hole: take out stones, roots and everything sharp, and press soft spots firm."
    yield "Lay the fabric below, each strip over the one before, and take nails out of shoes."
    names = list(pieces)
    if form == "one":
        yield (
            "Ask the shop to fold the sheet over its width and roll it over its length, with an arrow that "
            "tells which way it opens."
        )
        yield (
            _placed("Bring the bundle", machine)
            + " at the middle of one end, on the side from which the wind comes."
        )
        yield "Unroll it along the middle of the hole, down over one bank and up the other."
        yield "Unfold it to both sides at once, a pair of people every 3 m (10 ft), air let in below it."
    elif form == "parts" and any(joint.kind == "fall" for joint in joints):
        order = ", ".join(reversed(names))
        yield (
            _placed("Bring the pieces", machine)
            + f" beside their reaches, and lay them from the lower end up: {order}."
        )
        yield "Lay each piece with its end over the piece below, down the face of the fall and out before it."
    elif form == "parts":
        yield (
            _placed("Bring the pieces", machine)
            + f" to their own ends of the pond, and unfold {names[0]} first."
        )
        yield "Unfold the other piece from the joint outward, so that slack goes to the bank."
    else:
        yield (
            _placed("Bring the strips", machine)
            + f" along one side, and unroll them in this order: {', '.join(names)}."
        )
        yield "Unroll each strip down the bank, never along it, with its edge on the overlap that is marked."
    yield "Let it lie slack in corners and at the foot of risers; put folds where the water is deep."
    if sheet.expansion > 0.0:
        yield "Leave it slack by 0.4 % of its length: it shrinks in the cold; weld in the cool of the day."
    if joints:
        yield JOINED[sheet.seam]
    yield "Lay sandbags all round at once, and more on the side from which the wind comes."
    yield "Leave the edge untrimmed until the water test and one hard rain are over."
    yield "Keep machines off it, and set nothing on it that has not a pad below."


def _placed(what: str, machine: bool) -> str:
    return f"{what} with the machine, on a beam through the core," if machine else f"{what} by hand"
