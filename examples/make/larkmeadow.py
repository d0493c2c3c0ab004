"""Make the example job Larkmeadow: an old farm pond that leaks, about to become a garden pond.

Everything here is invented: the place, the people, the firms, the products and their prices.  The script
draws the true ground of an invented meadow, shoots it the way a builder would (crest, toe, slope, floor,
meadow, swale), adds honest reading noise from a fixed seed, keeps the heights of the pond itself as level
notes, and writes an ordinary job file.

Run it from the root of the repository::

    python -m examples.make.larkmeadow
"""

from __future__ import annotations

import json
import math
import random
from pathlib import Path
from typing import Any

from examples.make.larkmeadow_around import bounds, soils, things
from examples.make.larkmeadow_books import books, marks
from examples.make.larkmeadow_ground import curve, metres, shots_and_lines
from examples.make.larkmeadow_lining import items as lining_items
from examples.make.larkmeadow_lining import lining
from examples.make.larkmeadow_probes import probes, water_marks
from examples.make.larkmeadow_stone import items as stone_items
from examples.make.larkmeadow_stone import stone
from examples.make.larkmeadow_visit import brief, walk
from examples.make.larkmeadow_water import groundwater
from pondwright.job.codec import dumps, loads

FILE = Path(__file__).parents[2] / "src" / "pondwright" / "examples" / "larkmeadow.pond.json"
SEED = 1206


# --- the intended pond -----------------------------------------------------------------------------

# Pegs along the axis (north-east positive) and left of it (north-west positive), in walking order.
SHORE = [
    (60, 4.5), (54, 20), (42, 29.5), (27, 31.5), (12, 27), (1, 16.5), (-8, 17.5), (-20, 29.5),
    (-36, 33), (-51, 24.5), (-59, 7), (-58, -10.5), (-48, -22.5), (-35, -23.5), (-24, -15.5), (-14, -6),
    (-3, -4.5), (8, -14), (20, -28), (34, -33), (49, -26), (58, -12),
]  # fmt: skip

# Sections of the two kinds of bank: distance in from the water's edge, and depth.
SHELVED = ((0, 0), (0, 0.9), (2.6, 0.9), (2.6, 2.2), (5.4, 2.3), (5.4, 3.6), (11.1, 5.5))
SHELVED_ZONES = (
    "edge riser",
    "planting shelf",
    "middle riser",
    "stone shelf",
    "lower riser",
    "slope",
    "floor",
)
WADING_EDGE = ((0, 0), (3, 0.3), (6, 0.6), (9, 1.0), (12, 1.5), (12, 2.4), (21.3, 5.5))
WADING_ZONES = ("beach", "shallows", "wading", "knee deep", "riser", "slope", "floor")


def shore() -> list[tuple[float, float]]:
    """Pegs of the pond's shore, east and north of the middle."""
    root = math.sqrt(0.5)
    return [(root * (along - left), root * (along + left)) for along, left in SHORE]


def shape() -> dict[str, Any]:
    """One pond with a peninsula and a narrow, two kinds of bank, and a berm on its low side."""
    return {
        "bodies": {
            "pond": {
                "name": "The pond",
                "note": "About 5,400 square feet and 5.5 ft deep, a peninsula, and a narrow for the bridge.",
                "role": "pond",
                "rank": 1,
                "outline": {"form": "ring", "curve": curve("p", shore())},
                "level": metres(97.0),
                "bank_type": "shelved",
                "stretches": {
                    "wading": {
                        "ring": "outer",
                        "start": "p13",
                        "end": "p15",
                        "bank_type": "wading_edge",
                        "blend": metres(6.0),
                    }
                },
            }
        },
        "bank_types": {
            "shelved": {
                "name": "Shelved and stoned",
                "points": profile(*SHELVED),
                "zone_names": list(SHELVED_ZONES),
            },
            "wading_edge": {
                "name": "Wading edge",
                "points": profile(*WADING_EDGE),
                "zone_names": list(WADING_ZONES),
            },
        },
        "berms": {"south": {"name": "Berm on the southern low side", "body": "pond"}},
    }


def profile(*places: tuple[float, float]) -> list[dict[str, float]]:
    """Points of a bank: distance in from the water's edge, and depth."""
    return [{"distance": metres(distance), "depth": metres(depth)} for distance, depth in places]


def catalogue() -> dict[str, Any]:
    """Items of the build-up; products, suppliers and prices are invented."""

    def item(kind: str, name: str, supplier: str, price: float, unit: str, **facts: Any) -> dict[str, Any]:
        return {
            "kind": kind,
            "name": name,
            "note": "Invented for this example.",
            "facts": facts,
            "supplier": supplier,
            "price": price,
            "unit": unit,
            "dated": "2026-01-15",
        }

    return {
        "cushion_a": item("fabric", "Cushion A, needled fabric", "Supplier 1", 1.9, "m2", mass_per_area=0.4),
        "liner_a": item(
            "membrane",
            "Liner A, rubber",
            "Supplier 1",
            8.6,
            "m2",
            mass_per_area=1.35,
            thickness=0.0011,
            strength=9.0e6,
        ),
        "gravel_a": item("gravel", "Gravel A, washed, 20-40 mm", "Supplier 2", 34.0, "m3", size=0.03),
        **lining_items(),
        **stone_items(),
    }


def build_up() -> dict[str, Any]:
    """Layers over the dug ground, bottom to top."""
    cushion = {"item": "cushion_a", "thickness": 0.004}
    liner = {"item": "liner_a", "thickness": 0.0011, "seals": True}
    above = {"item": "cushion_b", "thickness": 0.004}
    gravel = {"item": "gravel_a", "thickness": metres(0.35), "porosity": 0.38, "density": 1650.0}
    return {
        "pond": {
            "name": "Whole pond",
            "place": {"at": "whole", "body": "pond"},
            "layers": [cushion, liner, above, gravel],
        }
    }


def rules() -> dict[str, Any]:
    """Checks that the builder has seen and accepted."""
    pressed = {
        "accepted": True,
        "reason": "The relief drain is dug first and empties the sandy seam; an engineer looks at the floor "
        "before anybody works in it.",
        "by": "Our firm (invented)",
    }
    return {"groundwater.gradient": pressed, "groundwater.heave": pressed}


def job() -> dict[str, Any]:
    """The whole job as a document."""
    shots, lines = shots_and_lines(random.Random(SEED))
    return {
        "format": 1,
        "id": "larkmeadow",
        "name": "Larkmeadow",
        "demo": True,
        "seed": SEED,
        "shown_units": "us",
        "site": {
            "frame": {"datum_note": "Local levels: the brass pin in the shed's step is 100.00 ft."},
            "marks": marks(),
            "books": books(shots),
            "shots": shots,
            "lines": lines,
            "soils": soils(),
            "probes": probes(),
            "water_marks": water_marks(),
            "bounds": bounds(),
            "walk": walk(),
            "things": things(),
        },
        "shape": shape(),
        "groundwater": groundwater(),
        "lining": lining(),
        "stone": stone(),
        "rules": rules(),
        "build_up": build_up(),
        "catalogue": catalogue(),
        "brief": brief(),
    }


def main() -> None:
    """Write the job file in its canonical form."""
    FILE.write_text(dumps(loads(json.dumps(job()))), encoding="utf-8")


if __name__ == "__main__":
    main()
