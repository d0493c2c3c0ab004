"""Arrays of the lining for the live channel: liners on the plan, their order, and their edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.flow.engine import Run, Status
from pondwright.rooms.lining.laid import edge_lines, laid_sheet, laid_strips, seams_of
from pondwright.server.arrays import Arrays, Wish

Points = NDArray[np.float64]

UNKNOWN = -9999.0
"""Height of a liner's edge that nobody knows."""

CORNERS = tuple(f"{side}{corner}" for corner in range(4) for side in ("east", "north"))
PIECE = (*CORNERS, "length", "width")
"""Columns of a piece."""

SEAM = ("east0", "north0", "east1", "north1")
"""Columns of a seam."""

RIM = ("east", "north", "station", "edge", "wanted", "ground", "ring")
"""Columns of the edge of a liner."""

BAND = ("east", "north", "bare", "seen")
"""Columns of the liner that lies dry at the lowest water: how much of it is bare, and whether it is seen."""


def add_liners(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Lines at which the liners end on the plan, their pieces as rectangles, and their seams.

    A piece is told by its four corners, how long and how wide it is; a seam by its two ends.  While a shore
    is in the hand they are those that follow the hand, at rest those that are ordered.
    """
    found = {name: _lying(arcs) for name, arcs in run.results.lining.arcs.liners.items()}
    ends = [(name, line) for name, lying in found.items() for line in lying.ends]
    _add_lines(arrays, "liner_ends", [line for _, line in ends], ids=[name for name, _ in ends])
    ordered = run.results.lining.order.liners if _is_fresh(run, "lining.order") else {}
    for name, lying in found.items():
        order = ordered.get(name)
        pieces, names = (lying.pieces, []) if order is None else (_ordered(order), list(order.pieces))
        seams = lying.seams if order is None else _joints(order)
        one = run.results.lining.arcs.liners[name].plan is None
        arrays.add("liner_pieces", pieces, liner=name, one_piece=one, ids=names, columns=list(PIECE))
        arrays.add("liner_seams", seams, liner=name, columns=list(SEAM))


def add_liner_order(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """What is ordered of each liner beside its figures; the rows are the corners of its pieces."""
    liners = run.results.lining.order.liners
    arrays.add("all_orders", np.zeros(len(liners), dtype="<u1"), ids=list(liners))
    for name, order in liners.items():
        corners = np.array([piece.corners for piece in order.pieces.values()], dtype=np.float64)
        arrays.add(
            "liner_order",
            corners.reshape(-1, 8),
            liner=name,
            ids=list(order.pieces),
            order=_plain_order(order),
            columns=list(CORNERS),
        )


def add_liner_rim(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Where the liner of each body ends, place by place, with what is told of it beside its figures."""
    bodies = run.results.lining.rim.bodies
    arrays.add("all_rims", np.zeros(len(bodies), dtype="<u1"), ids=list(bodies))
    for name, rim in bodies.items():
        table = np.column_stack([rim.points, rim.station, rim.edge, rim.wanted, rim.ground, rim.ring])
        arrays.add("liner_rim", table, body=name, rim=_plain_rim(rim), columns=list(RIM))
        if rim.band is not None:
            dry = np.column_stack([rim.band.points, rim.band.bare_at, rim.band.seen])
            arrays.add("liner_band", dry, body=name, columns=list(BAND))


def edge_along(run: Run, body: str, ring: int, points: Points) -> Points:
    """Height at which the liner ends along a shore, or along an island; unknown is :data:`UNKNOWN`.

    Parameters
    ----------
    run : Run
    body : str
    ring : int                  Number of the ring of that body: its outer shore is the first.
    points : array (n, 2)       East and north. [m]

    Returns
    -------
    array (n,) [m]
    """
    unknown = np.full(len(points), UNKNOWN)
    # While a shore is in the hand, the last edge that was worked out stands for it.
    known = run.results.lining.rim
    rim = None if known is None else known.bodies.get(body)
    if rim is None:
        return unknown
    own = rim.ring == ring
    if not own.any():
        return unknown
    apart = np.hypot(*(points[:, None, :] - rim.points[None, own, :]).transpose(2, 0, 1))
    return np.asarray(rim.edge[own][apart.argmin(axis=1)], dtype=np.float64)


def _is_fresh(run: Run, stage: str) -> bool:
    return stage in run.stages and run.stages[stage].status is Status.FRESH


@dataclass(frozen=True, slots=True)
class _Lying:
    """A liner as it lies on the plan: where it ends, its pieces with their sizes, its seams."""

    ends: tuple[Points, ...]
    pieces: Points
    seams: Points


@lru_cache(maxsize=32)
def _lying(arcs: Any) -> _Lying:
    """Pieces that follow the hand; those of a liner that stays as it is are kept."""
    ends = edge_lines(arcs.ground, arcs.beyond)
    if arcs.plan is None:
        laid: tuple[Any, ...] = (laid_sheet(arcs.ground, arcs.beyond, arcs.sheet),)
        seams = np.empty((0, len(SEAM)))
    else:
        laid = laid_strips(arcs.ground, arcs.beyond, arcs.plan)
        lines = [seam.line for seam in seams_of(laid, arcs.plan.turned, arcs.ground)]
        seams = np.array(lines, dtype=np.float64).reshape(-1, len(SEAM))
    sizes = np.array([[piece.length, piece.width] for piece in laid])
    corners = np.array([piece.corners for piece in laid]).reshape(-1, 8)
    return _Lying(ends, np.column_stack([corners, sizes]), seams)


def _ordered(order: Any) -> Points:
    pieces = order.pieces.values()
    corners = np.array([piece.corners for piece in pieces], dtype=np.float64).reshape(-1, 8)
    sizes = np.array([[piece.length, piece.width] for piece in pieces], dtype=np.float64).reshape(-1, 2)
    return np.column_stack([corners, sizes])


def _joints(order: Any) -> Points:
    """Each straight part of each joint."""
    parts = [np.concatenate(ends) for joint in order.joints for ends in pairwise(joint.line)]
    return np.array(parts, dtype=np.float64).reshape(-1, len(SEAM))


def _plain_order(order: Any) -> dict[str, Any]:
    patches = {name: patch.cut_from for name, patch in order.patches.items() if patch.cut_from is not None}
    sides = {"below": order.cushion.below, "above": order.cushion.above}
    return {
        "material": order.material,
        "form": order.form,
        "ordered": order.ordered,
        "steps": list(order.steps),
        "joints": [_plain_joint(joint) for joint in order.joints],
        "rolls": [
            {
                "width": float(roll.width),
                "length": float(roll.length),
                "rest": float(roll.rest),
                "cuts": [[name, float(length)] for name, length in roll.cuts],
            }
            for roll in order.rolls
        ],
        "holes": [
            {"island": hole.island, "area": float(hole.area), "line": _plain_line(hole.line)}
            for hole in order.holes
        ],
        "offcuts": list(order.offcuts),
        "boots": list(order.boots),
        "cut_from": patches,
        "tapes": {
            name: {"line": _plain_line(tape.line), "proposed": tape.proposed, "verdict": tape.verdict}
            for name, tape in order.tapes.items()
        },
        "several": None if order.several is None else {"pieces": len(order.several.pieces)},
        "fabrics": {name: None if side is None else list(side.fabrics) for name, side in sides.items()},
    }


def _plain_joint(joint: Any) -> dict[str, Any]:
    return {
        "kind": joint.kind,
        "first": joint.first,
        "second": joint.second,
        "length": float(joint.length),
        "overlap": float(joint.overlap),
        "line": _plain_line(joint.line),
    }


def _plain_rim(rim: Any) -> dict[str, Any]:
    return {
        "lows": [
            {
                "place": low.place,
                "point": _plain_point(low.point),
                "lack": float(low.lack),
                "over_water": float(low.over_water),
                "length": float(low.length),
            }
            for low in rim.lows
        ],
        "built": [
            {
                "place": shot.place,
                "point": _plain_point(shot.point),
                "off": float(shot.off),
            }
            for shot in rim.built
        ],
        "views": {name: view.kind for name, view in rim.views.items()},
        "anchors": list(rim.anchor),
        "slopes": [
            {
                "place": hold.place,
                **{name: _or_none(getattr(hold, name)) for name in ("zone", "slope", "safety", "safety_toe")},
            }
            for hold in rim.slopes
        ],
        "steps": [] if rim.test is None else list(rim.test.steps),
    }


def _or_none(value: float | None) -> float | None:
    return None if value is None else float(value)


def _plain_point(point: Sequence[float]) -> list[float]:
    east, north = point
    return [float(east), float(north)]


def _plain_line(line: Sequence[Sequence[float]]) -> list[list[float]]:
    return [_plain_point(point) for point in line]


def _add_lines(arrays: Arrays, name: str, lines: Sequence[Points], **more: Any) -> None:
    starts = np.cumsum([0, *(len(line) for line in lines)])
    arrays.add(f"{name}_points", np.vstack([np.empty((0, 2)), *lines]).astype("<f4"))
    arrays.add(f"{name}_starts", starts.astype("<i4"), **more)
