"""The stone of Larkmeadow: classes, what covers its banks, stone on hand and at the yard, falls, machines.

Everything here is invented; only the answers are the model's own.  Lengths are feet from the middle of the
old pond; stones are taped in inches, as at a yard.
"""

from __future__ import annotations

import math
from typing import Any

from examples.make.larkmeadow_ground import metres, place_at, point, spot

INVENTED = "Invented for this example."
INCH, POUND = 0.0254, 0.45359237
SHORT_TON = 2000.0 * POUND

CLASSES = {
    "gravel": ("Gravel A, washed, 3/4 to 1 1/2 in", 0.75, 1.5, "rounded", "gravel_a"),
    "cobble": ("River cobble, 3 to 6 in", 3.0, 6.0, "rounded", "cobble_a"),
    "small": ("Small edge stone, 8 to 12 in", 8.0, 12.0, "blocky", "fieldstone_a"),
    "edge": ("Edge stone, 14 to 20 in", 14.0, 20.0, "blocky", "fieldstone_a"),
    "shelf": ("Shelf stone, 18 to 26 in", 18.0, 26.0, "blocky", "fieldstone_a"),
    "frame": ("Frame stone, 20 to 28 in", 20.0, 28.0, "blocky", "boulder_a"),
    "spill": ("Spill stone, flat, 18 to 30 in", 18.0, 30.0, "slab", "boulder_a"),
}
"""Classes: what it is, smallest and largest middle axis [in], shape, item of the catalogue."""
ON_HAND = {"edge": 25.0, "shelf": 14.0, "cobble": 4.0, None: 3.0}
"""The fieldstone round the old pond, as the builder sorted it by eye [short tons]: 46 in all."""

YARD = {
    # Upper fall: spill, frame, face and wings.
    "A1": (38, 28, 9, "slab", "spill", "T1", "upper"),
    "A2": (34, 25, 8, "slab", "spill", "T1", "upper"),
    "A3": (38, 26, 22, "blocky", "frame", "T1", "upper"),
    "A4": (36, 25, 21, "blocky", "any", "T1", "upper"),
    "A5": (34, 24, 19, "blocky", "any", "T1", "upper"),
    "A6": (33, 23, 18, "blocky", "any", "T1", "upper"),
    "A7": (31, 22, 18, "blocky", "wing", "T1", "upper"),
    "A8": (30, 21, 17, "blocky", "wing", "T1", "upper"),
    # Lower fall.
    "B1": (40, 29, 9, "slab", "spill", "T2", "lower"),
    "B2": (36, 26, 8, "slab", "spill", "T2", "lower"),
    "B3": (39, 27, 22, "blocky", "frame", "T2", "lower"),
    "B4": (35, 25, 20, "blocky", "any", "T2", "lower"),
    "B5": (32, 24, 19, "blocky", "any", "T2", "lower"),
    "B6": (31, 22, 18, "blocky", "wing", "T2", "lower"),
    "B7": (30, 21, 17, "blocky", "wing", "T2", "lower"),
    # Flats to stand on at the two wading places, and a seat for the reading circle.
    "D1": (48, 40, 11, "slab", "stand", "T3", None),
    "D2": (44, 38, 10, "slab", "stand", "T3", None),
    "D3": (54, 20, 17, "box", "seat", "T3", None),
    "E1": (34, 24, 20, "blocky", "shelf", "T3", None),
    "E2": (32, 23, 19, "blocky", "shelf", "T3", None),
    "W1": (39, 27, 23, "blocky", "frame", "T4", "upper"),
    "W2": (38, 26, 22, "blocky", "frame", "T4", "lower"),
    "W3": (31, 22, 18, "blocky", "any", "T4", None),
    "W4": (30, 21, 17, "blocky", "any", "T4", None),
}
"""Stones by tag, as taped at the yard: three tapes [in], shape, role, truck, and the fall it is kept for."""
CAME = {
    "W1": (62, 50, 44, "rounded"),
    "W2": (47, 38, 33, "rounded"),
    "W3": (26, 20, 17, "rounded"),
    "W4": (24, 16, 14, "rounded"),
}
"""What truck T4 brought in place of four of them."""
RESERVED: dict[str, str] = {
    "A1": "fall_upper_spill",
    "A2": "fall_upper_spill",
    "A3": "fall_upper_frame",
    "A4": "fall_upper_wing",
    "A5": "fall_upper_wing",
    "A6": "fall_upper_wing",
    "A7": "fall_upper_wing",
    "A8": "fall_upper_wing",
    "B1": "fall_lower_spill",
    "B2": "fall_lower_spill",
    "B3": "fall_lower_frame",
    "B4": "fall_lower_wing",
    "B5": "fall_lower_wing",
    "B6": "fall_lower_wing",
    "B7": "fall_lower_wing",
    "E1": "shelf_middle_2_shelf",
    "E2": "shelf_middle_2_shelf",
    "W1": "fall_upper_frame",
    "W2": "fall_lower_frame",
    "W3": "fall_lower_wing",
    "W4": "fall_lower_wing",
}
"""Place that was kept for each stone before truck T4 came: keys of the yard list."""
PLACED = {"D1": (-11.5, -36.5, 70.0), "D2": (-9.6, -31.5, 80.0), "D3": (1.0, -51.0, 60.0)}
"""Stones with a place of their own: east and north of the middle, and the direction of their length."""
TICKETS = {"A1": 1060.0, "B3": 1640.0, "D1": 1700.0}
"""Masses from the yard's scale [lb]."""
CHART = (
    (10.0, 15.0, 8800.0), (10.0, 5.0, 9600.0), (10.0, -6.0, 9200.0),
    (15.0, 15.0, 5400.0), (15.0, 5.0, 5700.0), (15.0, -6.0, 5400.0),
    (20.0, 15.0, 3600.0), (20.0, 5.0, 3800.0), (20.0, -6.0, 3600.0),
    (25.0, 15.0, 2600.0), (25.0, 5.0, 2750.0), (25.0, -6.0, 2600.0),
    (28.0, 15.0, 2200.0), (28.0, 5.0, 2300.0), (28.0, -6.0, 2200.0),
)  # fmt: skip
"""Chart of an invented excavator: radius and height of the hook [ft], what it may lift [lb]."""
STANDS = (
    (-52.0, 84.0), (-4.0, 84.0),
    (-40.2, 59.5), (-40.0, 46.7), (-16.8, 60.8), (-24.6, 33.1), (-19.4, 18.1), (-21.4, 12.2), (-50.0, 12.6),
    (-59.3, -16.7), (-59.3, -42.7), (-26.0, -56.3), (-2.6, -43.7), (0.0, -15.7), (8.0, -9.9), (30.8, -11.8),
    (58.5, -2.3), (56.1, 32.1), (52.8, 51.7), (17.6, 58.5), (-7.8, 48.1),
)  # fmt: skip
"""Where it stands: on firm ground beside the liner, and on benches that are dug for it on the north bank."""


def stone() -> dict[str, Any]:
    """Stone of the pond alone: classes, treatments of its banks, the fieldstone on hand."""
    return {
        "classes": {
            name: {
                "name": says,
                "note": INVENTED,
                "low": inches(low),
                "high": inches(high),
                "shape": shape,
                "item": item,
            }
            for name, (says, low, high, shape, item) in CLASSES.items()
        },
        "treatments": treatments(),
        "piles": piles(),
    }


def treatments() -> dict[str, Any]:
    """What covers the banks of the pond, from the shore down."""
    shares = [{"stone": "edge", "share": 0.85}, {"stone": "shelf", "share": 0.15}]
    course = {"kind": "courses", "classes": shares}
    deck, gravel = _layer("deck", "cobble", 9.0), _layer("gravel", "gravel", 4.2)

    return {
        "edge_west": told("Edge stones, west", _shore("p08", "p13"), course),
        "edge_south": told("Edge stones, south-east", _shore("p15", "p18"), course),
        "edge_east": told("Edge stones, east", _shore("p19", "p03"), course),
        "edge_north": told("Edge stones, north", _shore("p05", "p07"), course),
        "reeds": told("Planted edge", _shore("p03", "p05"), _layer("planted", "cobble", 9.0)),
        "deck_north": told("Under the north deck", _shore("p07", "p08"), deck),
        "deck_south": told("Under the south deck", _shore("p18", "p19"), deck),
        "beach": told("Wading beach", _shore("p13", "p15"), gravel),
        "shelf": told("Planting shelf", _zone("pond", 1), _layer("planted", "gravel", 4.2)),
        "middle": told("Stones before the middle riser", _zone("pond", 2), _row("shelf")),
        "lower": told("Lower riser, deep under water", _zone("pond", 4), {"kind": "bare"}),
        "slope": told("Gravel on the slope", _zone("pond", 5), gravel),
        "floor": told("Gravel on the floor", _zone("pond", 6), gravel),
    }


def told(name: str, place: dict[str, Any], what: dict[str, Any]) -> dict[str, Any]:
    """One treatment."""
    return {"name": name, "place": place, **what}


def piles() -> dict[str, Any]:
    """The fieldstone that rings the old pond, in heaps by size."""
    return {
        f"heap_{name or 'mixed'}": {
            "name": f"Fieldstone on hand, {name or 'mixed'}",
            "status": "existing",
            "mass": round(tons * SHORT_TON, 1),
            "stone": name,
            "place": point(*place_at(88.0 + 7.0 * number, beyond=10.0)),
        }
        for number, (name, tons) in enumerate(ON_HAND.items())
    }


def waters_beside() -> dict[str, Any]:
    """Stone of wetland, stream and intake pool, of the falls, the stones of the yard, and what sets them."""
    return {
        "treatments": {
            "wetland": told("Gravel of the wetland", _whole("wetland"), _layer("gravel", "gravel", 4.2)),
            "wetland_edge": told("Small stones round the wetland", _zone("wetland", 0), _row("small")),
            "stream": told("Cobble of the stream's bed", _whole("stream"), _layer("cobble", "cobble", 9.0)),
            "intake_edge": told("Edge stones of the intake pool", _zone("intake", 0), _row("edge")),
            "intake_ledge": told("Stones before the intake's ledge", _zone("intake", 2), _row("edge")),
        },
        "falls": {
            "upper": _fall("Upper fall, 26 in", 0, 4.0),
            "lower": _fall("Lower fall, 18 in", 1, 4.5),
        },
        "pieces": pieces(),
        "lifters": {
            "excavator": {
                "name": "Excavator, 14 tons, with a stone grab",
                "note": f"Its chart is invented: read your own machine's plate. {INVENTED}",
                "chart": [
                    {"radius": metres(radius), "height": metres(height), "capacity": pounds(capacity)}
                    for radius, height, capacity in CHART
                ],
                "tool": pounds(650.0),
                "stands": [spot(*place) for place in STANDS],
                "mass": 14_200.0,
            }
        },
    }


def pieces() -> dict[str, Any]:
    """Stones seen at the yard with their three tapes; truck T4 brought four others than were chosen."""
    return {tag.lower(): _piece(tag) for tag in YARD}


def _piece(tag: str) -> dict[str, Any]:
    length, width, height, shape, role, truck, fall = YARD[tag]
    if tag in CAME:
        length, width, height, shape = CAME[tag]
    found = {
        "name": f"Stone {tag}",
        "length": inches(length),
        "width": inches(width),
        "height": inches(height),
        "shape": shape,
        "role": role,
        "stands": "on_hand" if tag in CAME else "yard",
        "tag": tag,
        "truck": truck,
        "reserved": RESERVED.get(tag, ""),
    }
    if fall is not None:
        found["fall"] = fall
    if tag in TICKETS:
        found["mass"] = pounds(TICKETS[tag])
    if tag in PLACED:
        east, north, turn = PLACED[tag]
        found |= {"place": point(east, north), "turn": round(math.radians(turn), 4)}
    if tag in CAME:
        found["note"] = "Truck T4 brought it in place of the stone that was chosen. Invented."
    return found


def items() -> dict[str, Any]:
    """What the stone adds to the catalogue."""

    def item(kind: str, name: str, price: float, size: float) -> dict[str, Any]:
        return {
            "kind": kind,
            "name": name,
            "note": INVENTED,
            "facts": {"size": inches(size)},
            "supplier": "Supplier 2",
            "price": price,
            "unit": "t",
            "dated": "2026-01-15",
        }

    return {
        "cobble_a": item("stone", "River cobble A, 3-6 in", 62.0, 4.5),
        "fieldstone_a": item("stone", "Fieldstone A, picked", 118.0, 18.0),
        "boulder_a": item("stone", "Boulders A, picked singly", 165.0, 29.0),
    }


def inches(length: float) -> float:
    """Inches as metres."""
    return round(length * INCH, 4)


def pounds(mass: float) -> float:
    """Pounds as kilograms."""
    return round(mass * POUND, 1)


def _fall(name: str, step: int, width: float) -> dict[str, Any]:
    return {
        "name": name,
        "body": "stream",
        "step": step,
        "width": metres(width),
        "spill": "spill",
        "frame": "frame",
        "wing": metres(2.5),
        "backing": metres(1.5),
    }


def _layer(kind: str, stone: str, thickness: float) -> dict[str, Any]:
    return {"kind": kind, "classes": [{"stone": stone, "share": 1.0}], "thickness": inches(thickness)}


def _row(stone: str) -> dict[str, Any]:
    return {"kind": "courses", "classes": [{"stone": stone, "share": 1.0}]}


def _shore(start: str, end: str) -> dict[str, Any]:
    return {"at": "stretch", "body": "pond", "start": start, "end": end}


def _whole(body: str) -> dict[str, Any]:
    return {"at": "whole", "body": body}


def _zone(body: str, zone: int) -> dict[str, Any]:
    return {"at": "part", "body": body, "zone": zone}
