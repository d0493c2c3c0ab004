"""Make the example job *Larkmeadow, shaped*: the memorial garden with all its waters, ways, seats and soil.

Everything here is invented.  The job is Larkmeadow with more drawn on it: a wetland upslope in the north,
a stream of three pools and two falls down to the serpentine pond, an intake pool at the downwind end, a
mound beside the falls, a path that a wheelchair takes, a bridge over the narrow, seats, places for soil
and what moves it.

Run it from the root of the repository::

    python -m examples.make.larkmeadow_shaped

Lengths are feet from the middle of the old pond, as in the scripts that this one stands on.
"""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

from examples.make import larkmeadow, larkmeadow_lining, larkmeadow_stone
from examples.make.larkmeadow_around import SHALE, SILT
from examples.make.larkmeadow_ground import (
    GRASS_SIGMA,
    ROD_SIGMA,
    along,
    curve,
    metres,
    place_at,
    point,
    ring,
    shot,
    spot,
    true_ground,
)
from examples.make.larkmeadow_water import NORTH_EDGE
from pondwright.job.codec import dumps, loads

FILE = Path(__file__).parents[2] / "src" / "pondwright" / "examples" / "larkmeadow_shaped.pond.json"

POND_LEVEL = 97.0
FALLS = ((14.0, 26.0 / 12.0), (30.0, 18.0 / 12.0))
"""Station and drop of each fall, from the upper end of the stream."""
STREAM_LEVEL = POND_LEVEL + 0.7 + sum(drop for _station, drop in FALLS)
"""Level of the uppermost pool: the lowest one stands above the overflow of the pond."""
OVERFLOW_LEVEL = POND_LEVEL + 0.5
WETLAND_LEVEL = STREAM_LEVEL + 0.25
STREAM = [(-27.0, 66.5), (-33.8, 58.0), (-28.0, 50.5), (-19.0, 47.0), (-12.5, 40.5), (-8.9, 35.4)]
STREAM_WIDTHS = (3.0, 4.5, 4.0, 5.0, 4.0, 4.5)
WETLAND = [
    (-27.0, 70.5), (-15.5, 73.0), (-11.6, 81.5), (-16.0, 90.5), (-28.0, 93.5), (-40.5, 90.5),
    (-44.3, 81.5), (-39.5, 73.0),
]  # fmt: skip
INTAKE = [(60.0, 20.0), (66.0, 19.0), (70.0, 23.5), (69.0, 29.5), (63.0, 31.0), (59.0, 26.5)]
MOUND = [(-38.0, 46.0), (-33.0, 38.0), (-22.0, 36.5), (-18.0, 43.0), (-25.0, 50.0)]
PLANTED_GRAVEL = ((0, 0), (0, 0.5), (1.5, 0.5), (4.5, 1.9))
INTAKE_BANK = ((0, 0), (0, 1.0), (1.9, 1.0), (1.9, 2.0), (3.5, 3.0))
NORTH_SHOTS = {
    "n01": (-58.0, 100.0), "n02": (-28.0, 112.0), "n03": (8.0, 108.0), "n04": (-28.0, 99.0),
    "n05": (-2.0, 90.0), "n06": (-50.0, 84.0), "n07": (-28.0, 82.0),
}  # fmt: skip
"""The northern meadow, shot once the wetland was thought of; the first three are the new limit."""
STREAM_BRANCH = ((-20.0, 64.0), (-15.0, 50.0), (-3.0, 42.0), NORTH_EDGE[0])
STONED = {"wetland": 0.35, "stream": 0.75, "intake": 1.1}
"""Thickness of the gravel that lies on the liner of each water beside the pond."""
MUCK_SHARE, MUCK_DEPTH = 0.6, 1.2
"""How far out the muck lies, as a share of the way to the rim, and how deep."""


def shape() -> dict[str, Any]:
    """All waters and what stands beside them."""
    drawn = larkmeadow.shape()
    pond = drawn["bodies"]["pond"]
    pond |= {"floor_fall": 0.015, "low_spot": spot(-30.0, -33.0)}
    drawn["bodies"] |= {
        "wetland": {
            "name": "Planted wetland",
            "note": "About 620 square feet of planted gravel, upslope in the north.",
            "role": "wetland",
            "rank": 2,
            "outline": {"form": "ring", "curve": curve("w", WETLAND)},
            "level": metres(WETLAND_LEVEL),
            "bank_type": "planted_gravel",
        },
        "stream": {
            "name": "The stream",
            "note": "Three pools; falls of 26 and 18 inches.",
            "role": "stream",
            "rank": 3,
            "outline": {
                "form": "corridor",
                "curve": curve("c", STREAM),
                "widths": [metres(width) for width in STREAM_WIDTHS],
                "steps": [{"distance": metres(at), "drop": metres(drop)} for at, drop in FALLS],
            },
            "level": metres(STREAM_LEVEL),
        },
        "intake": {
            "name": "Intake pool",
            "note": "At the downwind end; a pipe under the bank keeps it level with the pond.",
            "role": "intake_pool",
            "rank": 4,
            "outline": {"form": "ring", "curve": curve("i", INTAKE)},
            "level": metres(POND_LEVEL),
            "bank_type": "intake_bank",
        },
    }
    drawn["bank_types"] |= {
        "planted_gravel": {
            "name": "Planted gravel",
            "points": larkmeadow.profile(*PLANTED_GRAVEL),
            "zone_names": ["edge", "shoulder", "slope", "bed"],
        },
        "intake_bank": {
            "name": "Intake bank",
            "points": larkmeadow.profile(*INTAKE_BANK),
            "zone_names": ["edge riser", "ledge", "riser", "slope", "floor"],
        },
    }
    return {
        **drawn,
        "mounds": {
            "falls": {
                "name": "Mound beside the falls",
                "place": {"at": "ring", "curve": curve("m", MOUND)},
                "height": metres(2.0),
            }
        },
        "ways": ways(),
        "seats": seats(),
        "sections": {
            name: {"name": title, "line": [spot(*place) for place in line]} for name, title, line in SECTIONS
        },
    }


SECTIONS = (
    (
        "along",
        "Along the pond, from the overflow to the intake pool",
        [(-26.0, -66.0), (-22.0, -16.0), (-5.0, 2.0), (40.0, 22.0), (76.0, 25.5)],
    ),
    ("bridge", "Under the bridge", [(-22.0, 28.0), (8.0, -30.0)]),
    ("falls", "Down the wetland and the stream", [(-27.0, 98.0), *STREAM, (-3.0, 29.0), (2.0, 22.0)]),
    ("south", "From the reading circle over the wading edge", [(0.0, -62.0), (-30.0, -20.0)]),
)
"""Sections on paper: id, name, and the line from its left end to its right."""


RAMP = [(-33.0, 12.0), (-48.0, 10.5), (-66.0, 10.0)]
RAMP_END = 99.35
"""Level of the meadow in the west."""
POOL_FENCE = [(56.0, 15.5), (73.5, 15.5), (73.5, 34.0), (56.0, 34.0), (56.0, 15.5)]


def ways() -> dict[str, Any]:
    """A path that a wheelchair takes, a bridge, two decks at the water, a ramp, a fence and two lights."""

    def way(kind: str, name: str, width: float, level: float | None, *line: tuple[float, float]) -> Any:
        told = {"kind": kind, "name": name, "width": metres(width), "place": along(*line)}
        return told if level is None else {**told, "level": metres(level)}

    top = POND_LEVEL + 1.0
    return {
        "path_in": way("path", "Path from the way in", 5.0, None, (108.0, -42.0), (70.0, -31.0)),
        "path_south": way(
            "path", "Path to the bridge", 5.0, top,
            (70.0, -31.0), (50.0, -16.0), (35.0, -11.5), (16.0, -10.5), (-1.0, -13.5),
        ),
        "bridge": way("bridge", "Bridge over the narrow", 5.0, top + 0.2, (-1.0, -13.5), (-16.5, 12.5)),
        "path_north": way("path", "Path beyond the bridge", 5.0, top, (-16.5, 12.5), (-33.0, 12.0)),
        "overflow": way(
            "bed", "Stone overflow through the bank", 4.0, OVERFLOW_LEVEL, (-26.0, -51.0), (-26.0, -57.0)
        ),
        "deck_south": way("deck", "Deck on the south side", 6.0, 97.5, (15.0, -5.5), (27.0, -6.5)),
        "deck_north": way("deck", "Deck on the north side", 6.0, 97.5, (-32.0, 7.5), (-22.0, 7.0)),
        "ramp": {
            **way("path", "Ramp to the meadow in the west", 5.0, top, *RAMP),
            "end_level": metres(RAMP_END),
        },
        "pool_fence": {
            "kind": "fence",
            "name": "Fence round the intake pool",
            "place": along(*POOL_FENCE),
            "open_share": 0.6,
            "gates": [{"distance": metres(8.0), "width": metres(4.0)}],
        },
        "light_falls": {
            "kind": "light",
            "name": "Light on the lower fall",
            "place": point(-11.0, 54.0),
            "aims_at": spot(-12.5, 40.5),
        },
        "light_path": {
            "kind": "light",
            "name": "Light at the path from the way in",
            "place": point(73.0, -26.0),
            "height": metres(2.5),
        },
    }  # fmt: skip


def wishes(own: dict[str, Any]) -> dict[str, Any]:
    """The Trust's wishes: with falls and paths drawn, those for falls and for wheelchairs can be judged."""
    wheelchairs = "shape.reach.bodies.pond.wheelchair_places"
    return {
        **own,
        "falls": {**own["falls"], "figure": "shape.views.seats.memorial.falls_seen", "at_least": 1.0},
        "path": {**own["path"], "figure": wheelchairs, "at_least": 2.0},
    }


def seats() -> dict[str, Any]:
    """Where people sit or stand to look at the water."""
    falls = point(-15.0, 43.0)
    return {
        "memorial": {
            "name": "Memorial seat",
            "place": point(*place_at(150.0, beyond=11.0)),
            "looks_at": [falls],
        },
        "reading": {"name": "Reading circle", "place": point(-3.0, -53.0), "eye_height": metres(2.8)},
        "house": {
            "kind": "window",
            "name": "Window of the garden house",
            "place": point(100.0, 70.0),
            "eye_height": metres(5.0),
            "looks_at": [{"at": "whole", "body": "pond"}],
        },
    }


def earth() -> dict[str, Any]:
    """What digs and carries, and where the soil goes."""
    invented = "Invented for this example."
    return {
        "trucks": {
            "short_truck": {
                "name": "Two-axle truck",
                "note": "The lane bridge carries 20 tons.",
                "box": 6.5,
                "payload": 9000.0,
                "speed": 12.0,
            }
        },
        "machines": {
            "digger": {
                "kind": "excavator",
                "name": "Digger, 8 t class",
                "note": invented,
                "bucket": 0.25,
                "cycle": 22.0,
            },
            "carrier": {
                "kind": "dumper",
                "name": "Tracked carrier",
                "note": invented,
                "bucket": 1.1,
                "cycle": 75.0,
                "speed": 1.5,
            },
        },
        "piles": {
            "topsoil": {
                "name": "Topsoil heap",
                "takes": "topsoil",
                "place": ring("t", (80.0, -29.0), (121.0, -29.0), (121.0, 4.0), (80.0, 4.0)),
            },
            "topsoil_north": {
                "name": "Topsoil, north",
                "takes": "topsoil",
                "place": ring("n", (2.0, 82.0), (34.0, 82.0), (34.0, 112.0), (2.0, 112.0)),
            },
            "muck": {
                "name": "Muck, spread to dry",
                "takes": "muck",
                "most_height": 0.5,
                "place": ring("k", (38.0, 83.0), (93.0, 83.0), (93.0, 146.0), (38.0, 146.0)),
            },
            "spoil": {
                "name": "Soil for later",
                "takes": "soil",
                "most_height": metres(5.0),
                "place": ring("s", (84.0, 10.0), (118.0, 10.0), (118.0, 42.0), (84.0, 42.0)),
            },
        },
        "off_site": {
            "tip": {
                "name": "Tip of the county (invented)",
                "way": "export",
                "gate": point(110.0, -117.0),
                "distance": 10_500.0,
                "truck": "short_truck",
            }
        },
    }


def muck() -> dict[str, Any]:
    """Soil under the floor of the old pond: muck over the silt."""
    edge = [place_at(float(bearing), MUCK_SHARE) for bearing in range(0, 360, 30)]
    silt = {"kind": "silt", "thickness": metres(5.0), "permeability": SILT}
    return {
        "name": "Muck on the floor of the old pond",
        "note": "0.8 to 1.6 ft, sounded with a rod. Invented.",
        "place": {"at": "ring", "curve": curve("f", edge)},
        "layers": [
            {"kind": "muck", "thickness": metres(MUCK_DEPTH)},
            silt,
            {"kind": "rock", "permeability": SHALE},
        ],
    }


def job() -> dict[str, Any]:
    """The whole job as a document."""
    found = larkmeadow.job()
    site = found["site"]
    del site["things"]["topsoil_heap"]  # drawn as a pile here
    noise = random.Random(larkmeadow.SEED + 1)
    for name, (east, north) in NORTH_SHOTS.items():
        read = true_ground(east, north) + noise.gauss(0.0, ROD_SIGMA) + noise.gauss(0.0, GRASS_SIGMA)
        site["shots"][name] = shot(east, north, read, "meadow", "ground")
    limit = site["lines"]["survey_limit"]["shots"]
    limit[4:6] = list(NORTH_SHOTS)[:3]
    site["soils"] = {"old_floor": muck(), **site["soils"]}
    site["things"]["garden_house"] = {
        "kind": "house",
        "name": "Garden house",
        "place": point(104.0, 74.0),
        "status": "existing",
        "size": metres(16.0),
    }
    return {
        **found,
        "id": "larkmeadow_shaped",
        "name": "Larkmeadow, shaped",
        "shape": shape(),
        "brief": {**found["brief"], "wishes": wishes(found["brief"]["wishes"])},
        "earth": earth(),
        "groundwater": groundwater(found["groundwater"]),
        "lining": joined(found["lining"], larkmeadow_lining.waters_beside()),
        "stone": joined(found["stone"], larkmeadow_stone.waters_beside()),
        "build_up": {**found["build_up"], **{name: covered(name) for name in STONED}},
    }


def groundwater(own: dict[str, Any]) -> dict[str, Any]:
    """The relief drain of Larkmeadow, and a branch of it along the stream."""
    branch = {
        "name": "Branch along the stream",
        "note": "Proposed: without it the wet season lifts the stream's liner.",
        "place": along(*STREAM_BRANCH),
        "into": "relief",
        "opening": 0.002,
        "gravel": "washed",
        "status": "new",
    }
    return {**own, "drains": {**own["drains"], "stream_branch": branch}}


def joined(own: dict[str, Any], more: dict[str, Any]) -> dict[str, Any]:
    """A section with the rows of another put to its own."""
    return {**own, **{name: {**own.get(name, {}), **rows} for name, rows in more.items()}}


def covered(body: str) -> dict[str, Any]:
    """Layers of a water beside the pond: as in the pond, and a bed of gravel of its own."""
    own = larkmeadow.build_up()["pond"]
    *below, gravel = own["layers"]
    return {
        **own,
        "name": f"Whole {body}",
        "place": {"at": "whole", "body": body},
        "layers": [*below, {**gravel, "thickness": metres(STONED[body])}],
    }


def main() -> None:
    """Write the job file in its canonical form."""
    FILE.write_text(dumps(loads(json.dumps(job()))), encoding="utf-8")


if __name__ == "__main__":
    main()
