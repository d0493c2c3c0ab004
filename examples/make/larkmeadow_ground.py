"""The invented ground of Larkmeadow, and the survey of it.

Lengths are US survey practice, feet and decimals of a foot, because that is how the rod was read;
:func:`metres` turns them into the metres of the job file.  East and north count from the middle of the
old pond, which stands at 400 ft east and 400 ft north of the local grid.
"""

from __future__ import annotations

import math
import random
from itertools import pairwise
from typing import Any

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


def along(*places: tuple[float, float]) -> dict[str, Any]:
    """A place along a line."""
    return {"at": "line", "points": [spot(*place) for place in places]}


def curve(prefix: str, places: list[tuple[float, float]], *, corner: bool = False) -> dict[str, Any]:
    """A curve through pegs."""
    pegs = [
        {"id": f"{prefix}{number:02d}", **spot(*place), "corner": corner}
        for number, place in enumerate(places, start=1)
    ]
    return {"pegs": pegs}


def ring(prefix: str, *places: tuple[float, float]) -> dict[str, Any]:
    """A place inside straight sides."""
    return {"at": "ring", "curve": curve(prefix, list(places), corner=True)}
