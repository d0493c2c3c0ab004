"""Make the example job Larkmeadow: an old farm pond that leaks, about to become a garden pond.

Everything here is invented: the place, the people, the firms, the products and their prices.  The script
draws the true ground of an invented meadow, shoots it the way a builder would (crest, toe, slope, floor,
meadow, swale), adds honest reading noise from a fixed seed, and writes an ordinary job file.

Run it from the root of the repository::

    python examples/make_larkmeadow.py

Lengths in this script are US survey practice, feet and decimals of a foot, because that is how the
rod was read; :func:`metres` turns them into the metres of the job file.  East and north count from the
middle of the old pond, which stands at 400 ft east and 400 ft north of the local grid.
"""

from __future__ import annotations

import json
import math
import random
from itertools import pairwise
from pathlib import Path
from typing import Any

from pondwright.job.codec import dumps, loads

FILE = Path(__file__).parents[1] / "src" / "pondwright" / "examples" / "larkmeadow.pond.json"
SEED = 1206

# The old pond, measured on site: an egg, long axis from north-east to south-west.
HALF_LENGTH, HALF_WIDTH, BLUNTNESS = 62.0, 35.5, 0.12
TOE = 0.42
"""Where the floor ends, as a share of the way from the middle to the rim."""
FLOOR, FLOOR_EDGE = 90.6, 90.85
RIM = {
    0: 101.7, 25: 101.9, 60: 101.2, 95: 99.8, 130: 99.0, 165: 98.4, 184: 98.0, 195: 97.42,
    205: 97.4, 215: 97.42, 226: 98.0, 245: 98.4, 275: 99.1, 310: 100.3, 340: 101.4, 360: 101.7,
}  # fmt: skip
"""Crest of the rim by compass bearing from the middle; the low stretch, 21 ft long, is south."""
MEADOW = {-119: 90.6, -104: 91.2, -70: 94.6, -50: 96.4, 0: 99.45, 50: 101.8, 110: 103.9}
"""Natural ground by the distance north of the middle; it rises a little to the east as well."""
CREST_WIDTH, BANK_SLOPE, CUT_SLOPE = 5.0, 3.0, 4.0
SWALE_NORTH, SWALE_BOTTOM, SWALE_SLOPE = -109.0, 88.4, 0.33

ROD_SIGMA, GRASS_SIGMA = 0.02, 0.03
"""Reading noise of rod and laser, and how rough grass is under the rod's foot [ft]."""


# --- the invented ground ---------------------------------------------------------------------------


def metres(feet: float) -> float:
    """Metres, to the tenth of a millimetre."""
    return round(feet * 0.3048, 4)


def between(table: dict[int, float], place: float) -> float:
    """Straight line between the entries of a table."""
    stops = sorted(table)
    for low, high in pairwise(stops):
        if place <= high:
            share = max((place - low) / (high - low), 0.0)
            return table[low] + share * (table[high] - table[low])
    return table[stops[-1]]


def egg_half_width(along: float) -> float:
    """Half width of the old pond at a distance along its axis from the middle, north-east positive."""
    cosine = along / HALF_LENGTH
    if abs(cosine) >= 1.0:
        return 0.0
    return HALF_WIDTH / 1.0071 * math.sqrt(1.0 - cosine**2) * (1.0 + BLUNTNESS * cosine)


def rim_share(east: float, north: float) -> float:
    """How far out a place is: 0 in the middle of the old pond, 1 on its rim, more outside."""
    along, left = (east + north) / math.sqrt(2.0), (north - east) / math.sqrt(2.0)
    low, high = 1e-6, 50.0
    while high - low > 1e-9:
        share = 0.5 * (low + high)
        within = abs(left / share) <= egg_half_width(along / share)
        low, high = (low, share) if within else (share, high)
    return high


def place_at(bearing: float, share: float = 1.0, beyond: float = 0.0) -> tuple[float, float]:
    """East and north of a place at a compass bearing, by its share of the way to the rim."""
    east, north = math.sin(math.radians(bearing)), math.cos(math.radians(bearing))
    distance = share / rim_share(east, north) + beyond
    return distance * east, distance * north


def true_ground(east: float, north: float) -> float:
    """Elevation of the invented ground."""
    share = rim_share(east, north)
    rim = between(RIM, math.degrees(math.atan2(east, north)) % 360.0)
    if share <= TOE:
        return FLOOR + (FLOOR_EDGE - FLOOR) * (share / TOE) ** 2
    if share <= 1.0:
        return FLOOR_EDGE + (rim - FLOOR_EDGE) * (share - TOE) / (1.0 - TOE)
    past_crest = max(math.hypot(east, north) * (1.0 - 1.0 / share) - CREST_WIDTH, 0.0)
    meadow = between(MEADOW, north) + 0.008 * east
    swale = SWALE_BOTTOM + SWALE_SLOPE * abs(north - SWALE_NORTH)
    if rim > meadow:
        return min(max(meadow, rim - past_crest / BANK_SLOPE), swale)
    return min(meadow, rim + past_crest / CUT_SLOPE, swale)


# --- the survey ------------------------------------------------------------------------------------


def survey_plan() -> list[tuple[str, float, float]]:
    """Where the rod is set, with the code that is called out, in the order of walking."""
    crest = [("rim", *place_at(205.0 + 360.0 / 34 * step)) for step in range(34)]
    toe = [("toe", *place_at(15.0 * step, TOE)) for step in range(24)]
    slope = [("slope", *place_at(15.0 + 30.0 * step, 0.72)) for step in range(12)]
    floor = [("floor", *place_at(60.0 * step, 0.2)) for step in range(6)] + [("floor", 0.0, 0.0)]
    bank = [("bank", *place_at(bearing, beyond=CREST_WIDTH)) for bearing in range(165, 250, 12)]
    bank_foot = [("bank_foot", *place_at(bearing, beyond=11.0)) for bearing in range(165, 250, 12)]
    near = [("meadow", *place_at(bearing % 360, beyond=14.0)) for bearing in range(270, 511, 24)]
    far = [("meadow", *place_at(bearing, beyond=30.0)) for bearing in range(0, 360, 30)]
    edge = [("edge", *place_at(bearing % 360, beyond=48.0)) for bearing in range(265, 521, 20)]
    edge += [("edge", 38.0, -88.0), ("edge", 6.0, -119.0), ("edge", -44.0, -119.0)]
    edge += [("edge", -92.0, -119.0), ("edge", -96.0, -72.0)]
    swale = [
        (code, east, SWALE_NORTH + offset)
        for east in (-80.0, -45.0, -10.0)
        for code, offset in (("swale", 0.0), ("swale_north", 7.0), ("swale_south", -7.0))
    ]
    return [*crest, *toe, *slope, *floor, *bank, *bank_foot, *near, *far, *edge, *swale]


def shot(east: float, north: float, elevation: float, code: str, surface: str) -> dict[str, Any]:
    """One shot of the job, from feet counted from the middle of the old pond."""
    return {
        "code": code,
        "elevation": metres(round(elevation, 2)),
        "place": {"by": "coordinates", **spot(east, north)},
        "surface": surface,
    }


def spot(east: float, north: float) -> dict[str, float]:
    """East and north of the job's grid, to the tenth of a foot."""
    return {"east": metres(round(400.0 + east, 1)), "north": metres(round(400.0 + north, 1))}


def point(east: float, north: float) -> dict[str, Any]:
    """A place that is one point."""
    return {"at": "point", **spot(east, north)}


def shots_and_lines(noise: random.Random) -> tuple[dict[str, Any], dict[str, Any]]:
    """Shots as read, and the lines that join them."""
    shots: dict[str, Any] = {}
    by_code: dict[str, list[str]] = {}
    for code, east, north in survey_plan():
        rough = GRASS_SIGMA if code in ("meadow", "edge", "bank_foot") else 0.0
        read = true_ground(east, north) + noise.gauss(0.0, ROD_SIGMA) + noise.gauss(0.0, rough)
        name = f"s{len(shots) + 1:03d}"
        shots[name] = shot(east, north, read, code, "ground")
        by_code.setdefault(code, []).append(name)
    for bearing in range(10, 360, 45):
        east, north = place_at(float(bearing), 0.1 + 0.25 * noise.random())
        top = true_ground(east, north) + noise.gauss(0.0, ROD_SIGMA)
        muck = 0.8 + 0.8 * noise.random()
        shots[f"m{bearing:03d}"] = shot(east, north, top, "muck_top", "muck")
        shots[f"f{bearing:03d}"] = shot(east, north, top - muck, "muck_bottom", "firm")
    crest, toe, edge = by_code["rim"], by_code["toe"], by_code["edge"]
    lines = {
        "bank_crest": line("Crest of the old rim", "break", [*crest, crest[0]]),
        "bank_toe": line("Toe of the old bank, inside", "break", [*toe, toe[0]]),
        "bank_outside": line("Outer edge of the southern bank", "break", by_code["bank"]),
        "bank_foot": line("Foot of the southern bank, outside", "break", by_code["bank_foot"]),
        "swale": line("Bottom of the roadside swale", "break", by_code["swale"]),
        "swale_north": line("North side of the swale", "break", by_code["swale_north"]),
        "swale_south": line("South side of the swale", "break", by_code["swale_south"]),
        "survey_limit": line("As far as was shot", "limit", edge),
    }
    return shots, lines


def line(name: str, kind: str, shots: list[str]) -> dict[str, Any]:
    """A line through shots."""
    return {"name": name, "kind": kind, "shots": shots}


# --- what stands around, and what is under ---------------------------------------------------------


def permeability(low: float, likely: float, high: float) -> dict[str, Any]:
    """How fast water goes through a soil, as a range [m/s]."""
    return {"low": low, "likely": likely, "high": high, "source": "Invented for this example."}


SILT = permeability(5e-8, 2e-7, 1e-6)
SAND = permeability(5e-6, 2e-5, 8e-5)
SHALE = permeability(1e-9, 1e-8, 1e-7)


def soils() -> dict[str, Any]:
    """Soil layers: clayey silt over shale, with a sandy seam under the north-west quarter."""
    quarter = [(-10.0, 20.0), (-10.0, 90.0), (-90.0, 90.0), (-90.0, 20.0)]
    topsoil = {"kind": "topsoil", "thickness": metres(0.6)}
    rock = {"kind": "rock", "permeability": SHALE}
    return {
        "meadow": {
            "name": "Clayey silt over weathered shale",
            "note": "Silt to elevation 84 ft, weathered and tight shale below. Invented.",
            "place": {"at": "whole", "body": None},
            "layers": [
                topsoil,
                {"kind": "silt", "thickness": metres(14.4), "permeability": SILT},
                rock,
            ],
        },
        "sandy_seam": {
            "name": "Sandy seam in the north-west quarter",
            "note": "Two feet of sand between 93 and 96 ft; the seep comes out of it. Invented.",
            "place": {"at": "ring", "curve": curve("q", quarter, corner=True)},
            "layers": [
                topsoil,
                {"kind": "silt", "thickness": metres(4.4), "permeability": SILT},
                {"kind": "sand", "thickness": metres(2.0), "permeability": SAND},
                {"kind": "silt", "thickness": metres(9.4), "permeability": SILT},
                rock,
            ],
        },
    }


def curve(prefix: str, places: list[tuple[float, float]], *, corner: bool = False) -> dict[str, Any]:
    """A curve through pegs."""
    pegs = [
        {"id": f"{prefix}{number:02d}", **spot(*place), "corner": corner}
        for number, place in enumerate(places, start=1)
    ]
    return {"pegs": pegs}


def things() -> dict[str, Any]:
    """What stands around the old pond and must be kept, used or kept clear of."""

    def thing(kind: str, name: str, place: dict[str, Any], **facts: Any) -> dict[str, Any]:
        return {"kind": kind, "name": name, "place": place, "status": "existing", **facts}

    def along(*places: tuple[float, float]) -> dict[str, Any]:
        return {"at": "line", "points": [spot(*place) for place in places]}

    def tree(name: str, bearing: float, beyond: float, crown: float) -> dict[str, Any]:
        return thing("tree", name, point(*place_at(bearing, beyond=beyond)), size=metres(crown))

    shed, well = (140.0, 0.0), (134.4, 134.4)
    oaks = {
        f"oak_{number}": tree(f"Oak {number}", bearing, 26.0, 36.0)
        for number, bearing in enumerate((246.0, 260.0, 274.0, 288.0, 302.0), start=1)
    }
    return {
        **oaks,
        "willow_1": tree("Willow, the near one", 42.0, 18.0, 30.0),
        "willow_2": tree("Willow, the far one", 56.0, 26.0, 34.0),
        "shed": thing("structure", "Tool shed, 100 A panel", point(*shed), size=metres(16.0)),
        "well": thing("well", "Well, 8 gpm", point(*well)),
        "water_line": thing(
            "utility", "Water line, well to shed", along(well, shed), depth=metres(2.5), clear=metres(3.0)
        ),
        "culvert": thing(
            "pipe",
            "12 in culvert under the lane",
            along((-45.0, -109.0), (-45.0, -139.0)),
            size=metres(1.0),
            note="Pipe bottom at 88.4 ft; the swale beyond floods to 89.6 ft.",
        ),
        "swale": thing("pipe", "Roadside swale", along((-92.0, -109.0), (6.0, -109.0))),
        "boundary": thing("fence", "Boundary", along((-260.0, -119.0), (260.0, -119.0))),
        "house": thing("house", "Neighbour's house, downhill", point(60.0, -222.0), size=metres(40.0)),
        "gate": thing(
            "access",
            "Gate, 10 ft wide",
            point(110.0, -119.0),
            size=metres(10.0),
            note="The lane bridge before it carries 20 short tons at most.",
        ),
        "fence_bays": thing(
            "access", "Two fence bays that can be opened", point(170.0, 30.0), size=metres(16.0)
        ),
        "fieldstone": thing(
            "stone_pile",
            "Mixed fieldstone, 46 short tons",
            point(*place_at(95.0, beyond=8.0)),
            note="Rings the old pond; to be used again.",
        ),
        "slotted_pipe": thing(
            "stone_pile",
            "60 ft of new 6 in slotted pipe",
            point(148.0, 10.0),
            note="Left over from a field drain.",
        ),
        "seat": thing("structure", "Memorial seat", point(*place_at(150.0, beyond=16.0)), size=metres(6.0)),
    }


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
        "liner_a": item("membrane", "Liner A, rubber", "Supplier 1", 8.6, "m2", mass_per_area=1.35),
        "gravel_a": item("gravel", "Gravel A, washed, 20-40 mm", "Supplier 2", 34.0, "m3", size=0.03),
    }


def build_up() -> dict[str, Any]:
    """Layers over the dug ground, bottom to top."""
    cushion = {"item": "cushion_a", "thickness": 0.004}
    liner = {"item": "liner_a", "thickness": 0.0011, "seals": True}
    gravel = {"item": "gravel_a", "thickness": metres(0.35), "porosity": 0.38, "density": 1650.0}
    return {
        "pond": {
            "name": "Whole pond",
            "place": {"at": "whole", "body": "pond"},
            "layers": [cushion, liner, cushion, gravel],
        }
    }


def brief() -> dict[str, Any]:
    """Who asks for the pond, and what they wish."""
    wishes = {
        "falls": "Quiet falls seen from the memorial seat",
        "path": "A path 5 ft wide, no steeper than 1:20, reaching the water at two places for a wheelchair",
        "bridge": "A small bridge",
        "reading_circle": "A reading circle for children with a safe edge",
        "clear": "Clear water",
        "fish": "Twelve goldfish and six koi",
        "care": "Under two hours of care a week",
        "quiet": "Nothing that hums at the house downhill",
        "june": "Finished before the second week of June",
    }
    return {
        "client": "The Larkmeadow Trust (invented)",
        "address": "Larkmeadow, a memorial garden in rolling country (invented)",
        "people": {"builder": {"name": "Our firm", "role": "Builder (invented)"}},
        "wishes": {key: {"text": text} for key, text in wishes.items()},
        "texts": {"invented": INVENTED_NOTE, "groundwater": GROUNDWATER_NOTE},
    }


INVENTED_NOTE = (
    "Everything in this job is invented to show what the tool does: the place, the people, the firms, "
    "the survey, the products and their prices."
)
GROUNDWATER_NOTE = (
    "Seep at the north-west corner comes out at 96.2 ft, 4 gpm in the dry season, 14 gpm after wet weeks. "
    "Standpipes, dry / wet season: SP1, 20 ft north-west of the rim, 97.8 / 99.1 ft; SP2, east, "
    "94.9 / 96.6 ft; SP3, below the bank in the south, 90.2 / 91.8 ft. Water of the seep: iron 0.4 mg/L, "
    "hardness 110, phosphate 0.05, pH 6.9. The old pond never filled above 94.3 ft and falls 0.9 to 1.3 ft "
    "a day in dry spells."
)


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
            "marks": {
                "shed_pin": {
                    "name": "Brass pin in the shed's step",
                    "place": point(136.0, -6.0),
                    "elevation": metres(100.0),
                    "sigma": 0.003,
                }
            },
            "shots": shots,
            "lines": lines,
            "soils": soils(),
            "things": things(),
        },
        "shape": shape(),
        "build_up": build_up(),
        "catalogue": catalogue(),
        "brief": brief(),
    }


def main() -> None:
    """Write the job file in its canonical form."""
    FILE.write_text(dumps(loads(json.dumps(job()))), encoding="utf-8")


if __name__ == "__main__":
    main()
