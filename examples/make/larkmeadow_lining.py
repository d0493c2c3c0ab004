"""The lining of Larkmeadow: liners, their edges, pipes through them, guards, tapes, the day of the pull.

Everything here is invented; only the answers are the model's own.  Lengths are feet from the middle of the
old pond.
"""

from __future__ import annotations

from typing import Any

from examples.make.larkmeadow_ground import along, metres, point

INVENTED = "Invented for this example."
ROLLS = ((10.0, 100.0), (20.0, 100.0))
"""Widths and length of the rolls that the supplier has."""
ROOTS = [(28.0, 60.0), (44.0, 54.5), (55.5, 43.0), (58.0, 34.0)]
"""Where the root barrier runs, between the willows and the pond."""
TAPES = {
    "long": (
        "From end to end, through the narrow",
        (-54.9, -33.2),
        (-22.0, -15.0),
        (-5.0, 2.0),
        (43.2, 49.3),
    ),
    "west": ("Across the western part", (-39.6, 10.8), (-26.0, -55.8)),
    "east": ("Across the eastern part", (3.7, 54.1), (53.0, -0.9)),
}
"""Tape lines over the dug ground: a name, and the places that the tape passes."""


def lining() -> dict[str, Any]:
    """The lining of the pond."""
    return {
        "liners": {
            "pond": {
                "name": "Liner of the pond",
                "note": f"One folded piece from the shop, ordered once the hole is taped. {INVENTED}",
                "bodies": ["pond"],
                **_sheet(),
                "one_piece": True,
                "margin": metres(5.4),
                "ordered": "after",
            }
        },
        "edges": edges(),
        "guards": {
            "willow_roots": {
                "name": "Root barrier towards the willows",
                "note": "Willow roots lift and pierce a liner.",
                "kind": "root",
                "place": along(*ROOTS),
                "depth": metres(2.5),
            },
            "berm_mesh": {
                "name": "Mesh against burrows in the berm",
                "kind": "burrow",
                "place": _stretch("p11", "p14"),
                "depth": metres(3.3),
            },
        },
        "tapes": {name: {"name": says, "place": along(*line)} for name, (says, *line) in TAPES.items()},
        "pull": {"people": 14, "wind": 3.0, "temperature": 17.0, "machine": True},
    }


def edges() -> dict[str, Any]:
    """How the liner ends: in a trench on the beach; else it is turned up behind the edge stone."""
    return {
        "berm": {
            "name": "Berm on the low side",
            "place": _stretch("p10", "p13"),
            "detail": "upturn",
            "height": metres(0.5),
            "upturn": metres(0.4),
        },
        "berm_north": {
            "name": "Placed soil before the intake pool",
            "place": _stretch("p20", "p01"),
            "height": metres(0.5),
            "upturn": metres(0.4),
        },
        "wading": {
            "name": "Wading edge",
            "note": "A beach shows every inch of liner: its edge lies in a trench behind the path.",
            "place": _stretch("p13", "p15"),
            "detail": "anchor",
            "height": metres(0.5),
            "upturn": metres(2.0),
        },
    }


def waters_beside() -> dict[str, Any]:
    """Liners of wetland, stream and intake pool, and the pipes through them."""
    return {
        "liners": {
            "wetland": {
                "name": "Liner of the wetland",
                "bodies": ["wetland"],
                **_sheet(),
                "one_piece": True,
                "ordered": "after",
            },
            "stream": {
                "name": "Liner of the stream",
                "note": "From rolls: each strip lies over the one below it.",
                "bodies": ["stream"],
                **_sheet(),
                "one_piece": False,
                "stock": [{"width": metres(width), "length": metres(length)} for width, length in ROLLS],
                "ordered": "after",
            },
            "intake": {
                "name": "Liner of the intake pool",
                "bodies": ["intake"],
                **_sheet(),
                "one_piece": True,
                "ordered": "after",
            },
        },
        "edges": {
            "stream": _high("Both banks of the stream", "stream", "c01", "c06"),
            "wetland": _high("Bank of the wetland", "wetland", "w02", "w08"),
            "wetland_south": _high("Bank of the wetland, above the stream", "wetland", "w08", "w02"),
        },
        "penetrations": {
            "balance_pond": _through("Balance pipe, pond side", 51.0, 22.5, "no"),
            "balance_intake": _through("Balance pipe, intake side", 60.6, 23.5, "no"),
            "wetland_drain": {
                **_through("Drain of the wetland's clean-out", -41.5, 82.0, "could"),
                "note": "A riser inside, emptied by a pump over the edge, needs no hole.",
            },
        },
        "patches": {
            "low_spot": {
                "name": "Under the pump at the low spot",
                "place": point(-30.0, -33.0),
                "size": metres(4.0),
            }
        },
        "tapes": {
            "wetland": {
                "name": "Across the wetland",
                "place": along((-46.5, 82.0), (-9.5, 82.0)),
                "note": "The wetland was dug first, to try the machine.",
                "taped": metres(39.3),
                "note_of": "Crew lead (invented)",
            }
        },
    }


def items() -> dict[str, Any]:
    """What the lining adds to the catalogue."""
    return {
        "cushion_b": {
            "kind": "fabric",
            "name": "Cushion B, needled fabric, heavy",
            "note": INVENTED,
            "facts": {"mass_per_area": 0.54},
            "supplier": "Supplier 1",
            "price": 2.6,
            "unit": "m2",
            "dated": "2026-01-15",
        },
        "boot_a": {
            "kind": "fitting",
            "name": "Boot A, rubber, for a pipe of 8 in",
            "note": INVENTED,
            "supplier": "Supplier 1",
            "price": 92.0,
            "unit": "each",
            "dated": "2026-01-15",
        },
    }


def _sheet() -> dict[str, Any]:
    return {"membrane": "liner_a", "cushion_below": "cushion_a", "cushion_above": "cushion_b"}


def _through(name: str, east: float, north: float, over: str) -> dict[str, Any]:
    return {
        "name": name,
        "place": point(east, north),
        "diameter": metres(0.72),
        "boot": "boot_a",
        "over": over,
    }


def _high(name: str, body: str, start: str, end: str) -> dict[str, Any]:
    """An edge on placed soil, half a foot over the water."""
    place = {"at": "stretch", "body": body, "start": start, "end": end}
    return {"name": name, "place": place, "height": metres(0.5), "upturn": metres(0.4)}


def _stretch(start: str, end: str) -> dict[str, Any]:
    return {"at": "stretch", "body": "pond", "start": start, "end": end}
