"""Make the example job *Garden*: a small pond on flat ground with water close below the lawn.

Everything here is invented.  It shows what a tape, a base line and a level clamped at the water line are
enough for: the lawn is shot on a grid off a base line, the shoreline was painted on the grass and is
tied by tapes, and every height is read as plus or minus from the water line.

Run it from the root of the repository::

    python -m examples.make.garden

Lengths are metres; east and north count from the south-west corner of the plot.
"""

from __future__ import annotations

import json
import math
import random
from pathlib import Path
from typing import Any

from pondwright.job.codec import dumps, loads

FILE = Path(__file__).parents[2] / "src" / "pondwright" / "examples" / "garden.pond.json"
SEED = 411
TERRACE, WATER_LINE = 25.0, 24.75
"""Level of the terrace, called 25.00 m, and of the nail at the water line [m]."""
MARKS = {"house_corner": (2.0, 2.0), "gate_post": (20.0, 2.0), "shed_corner": (3.5, 16.5)}
STEP = 3.5
"""Step of the grid off the base line [m]."""
SHORE = (
    (14.89, 7.11), (15.33, 9.19), (14.46, 11.27), (12.49, 12.59), (10.19, 12.69), (8.32, 11.71),
    (7.78, 9.96), (8.65, 8.42), (9.75, 7.77), (10.51, 6.67), (11.72, 5.58), (13.58, 5.69),
)  # fmt: skip
"""The painted shoreline, in the order in which it was walked."""
BANK = ((0.0, 0.0), (0.0, 0.3), (0.5, 0.3), (0.9, 0.65), (2.0, 1.1))
INVENTED = "Invented for this example."


def true_ground(east: float, north: float) -> float:
    """Elevation of the invented lawn: nearly flat, a little lower to the north-east."""
    wave = 0.012 * math.sin(0.6 * east + 1.0) * math.cos(0.45 * north)
    return TERRACE + 0.02 - 0.004 * east - 0.003 * north + wave


def point(east: float, north: float) -> dict[str, Any]:
    """A place that is one point."""
    return {"at": "point", "east": east, "north": north}


def along(*places: tuple[float, float]) -> dict[str, Any]:
    """A place along a line."""
    return {"at": "line", "points": [{"east": east, "north": north} for east, north in places]}


def curve(prefix: str, places: tuple[tuple[float, float], ...], *, corner: bool = False) -> dict[str, Any]:
    """A curve through pegs."""
    return {
        "pegs": [
            {"id": f"{prefix}{number}", "east": east, "north": north, "corner": corner}
            for number, (east, north) in enumerate(places, start=1)
        ]
    }


def ring(prefix: str, *places: tuple[float, float]) -> dict[str, Any]:
    """A place inside straight sides."""
    return {"at": "ring", "curve": curve(prefix, places, corner=True)}


# --- the survey ------------------------------------------------------------------------------------


def marks() -> dict[str, Any]:
    """Three corners to measure from, and the nail at the water line."""
    return {
        "house_corner": {
            "name": "Corner of the terrace, at the house",
            "note": "The zero of all levels here: it is called 25.00 m.",
            "place": point(*MARKS["house_corner"]),
            "elevation": TERRACE,
        },
        "gate_post": {"name": "Gate post", "place": point(*MARKS["gate_post"])},
        "shed_corner": {"name": "Corner of the shed", "place": point(*MARKS["shed_corner"])},
        "water_line": {
            "name": "Nail in the gate post, at the water line",
            "note": "0.25 m below the terrace. All heights were read as plus or minus from it.",
            "place": point(*MARKS["gate_post"]),
            "elevation": WATER_LINE,
        },
    }


def places() -> dict[str, tuple[tuple[float, float], dict[str, Any]]]:
    """Where each shot truly is, and how it was located: the lawn on a grid, the paint by tapes."""
    tape = random.Random(SEED)
    start = MARKS["house_corner"]
    found: dict[str, tuple[tuple[float, float], dict[str, Any]]] = {}
    for off in range(5):
        for step in range(6):
            grid = {"by": "grid", "base": ["house_corner", "gate_post"], "spacing": STEP}
            spot = (start[0] + STEP * step, start[1] + STEP * off)
            found[f"g{off}{step}"] = (spot, {**grid, "along": step, "off": off})
    for number, spot in enumerate(SHORE, start=1):
        # Every third peg is tied by three tapes, so that a slip would show.
        names = list(MARKS) if number % 3 == 0 else list(MARKS)[:2]
        tapes = [
            {"mark": name, "distance": round(math.dist(MARKS[name], spot) + tape.gauss(0.0, 0.005), 2)}
            for name in names
        ]
        found[f"p{number:02d}"] = (spot, {"by": "tapes", "tapes": tapes, "side": "left"})
    return found


def shots() -> dict[str, Any]:
    """Shots with their places; their heights are in the book."""
    return {
        name: {"code": "paint" if name.startswith("p") else "lawn", "place": place}
        for name, (_spot, place) in places().items()
    }


def books() -> dict[str, Any]:
    """One page of heights as plus or minus from the water line, to the half centimetre."""
    noise = random.Random(SEED + 1)

    def reading(name: str, elevation: float, kind: str = "side") -> dict[str, Any]:
        read = round((elevation - WATER_LINE + noise.gauss(0.0, 0.002)) / 0.005) * 0.005
        return {"point": name, "rod": round(read, 3), "kind": kind}

    sides = [reading(name, true_ground(*spot)) for name, (spot, _place) in places().items()]
    return {
        "lawn": {
            "name": "The lawn, from the water line",
            "instrument": "Laser with a detector clamped at the water line",
            "unit": "m",
            "reads": "up",
            "date": "2026-02-07",
            "set_ups": [
                {
                    "station": "On the terrace",
                    "backsights": [{"point": "water_line", "rod": 0.0}],
                    "readings": [*sides, reading("house_corner", TERRACE, "check")],
                }
            ],
        }
    }


# --- ground, water, and what is in the way ---------------------------------------------------------

SAND = {"low": 1e-5, "likely": 5e-5, "high": 2e-4, "source": INVENTED}
CLAY = {"low": 1e-9, "likely": 1e-8, "high": 1e-7, "source": INVENTED}


def soils() -> dict[str, Any]:
    """A spade of topsoil, a metre of sand full of water, clay below."""
    return {
        "lawn": {
            "name": "Sand over clay",
            "note": INVENTED,
            "place": {"at": "whole", "body": None},
            "layers": [
                {"kind": "topsoil", "thickness": 0.25},
                {"kind": "sand", "thickness": 1.15, "permeability": SAND},
                {"kind": "clay", "permeability": CLAY},
            ],
        }
    }


def probes() -> dict[str, Any]:
    """Two standpipes and a pit: water stands half a metre below the lawn."""

    def layers(*thick: tuple[str, float]) -> list[dict[str, Any]]:
        return [{"kind": kind, "thickness": thickness} for kind, thickness in thick]

    return {
        "pipe_1": {
            "how": "bore",
            "name": "Standpipe by the shed",
            "date": "2026-02-07",
            "place": point(5.5, 14.5),
            "layers": layers(("topsoil", 0.25), ("sand", 1.15), ("clay", 0.6)),
            "water_depth": 0.52,
        },
        "pipe_2": {
            "how": "bore",
            "name": "Standpipe in the east",
            "date": "2026-02-07",
            "place": point(16.6, 11.5),
            "layers": layers(("topsoil", 0.25), ("sand", 1.25), ("clay", 0.5)),
            "water_depth": 0.48,
        },
        "pit": {
            "how": "pit",
            "name": "Pit where it gets deepest",
            "date": "2026-02-07",
            "place": point(12.0, 9.4),
            "layers": layers(("topsoil", 0.3), ("sand", 1.0), ("clay", 0.1)),
            "water_depth": 0.5,
            "rises": [
                {"time": 300.0, "depth": 1.05},
                {"time": 900.0, "depth": 0.74},
                {"time": 2700.0, "depth": 0.52},
            ],
        },
    }


def water_marks() -> dict[str, Any]:
    """How high the water stands in the ground."""
    return {
        "winter": {
            "name": "Ground water in winter",
            "elevation": 24.6,
            "season": "wet",
            "how": "seen",
            "date": "2026-01-10",
            "place": point(5.5, 14.5),
        },
        "summer": {"name": "Ground water in August", "elevation": 24.1, "season": "dry", "how": "told"},
    }


def groundwater() -> dict[str, Any]:
    """Two standpipes and the pit, read in winter and in August: the water is never far below the lawn."""

    def standpipe(name: str, probe: str, dry: float, wet: float) -> dict[str, Any]:
        return {
            "kind": "standpipe",
            "name": name,
            "note": INVENTED,
            "place": probes()[probe]["place"],
            "dry": dry,
            "wet": wet,
            "sigma": 0.03,
            "status": "existing",
        }

    return {
        "readings": {
            "pipe_1": standpipe("Standpipe by the shed", "pipe_1", 24.10, 24.60),
            "pipe_2": standpipe("Standpipe in the east", "pipe_2", 24.06, 24.57),
            "pit": standpipe("Pit where it gets deepest", "pit", 24.07, 24.58),
        }
    }


def things() -> dict[str, Any]:
    """House, shed, tree, and two lines that nobody comes to mark."""

    def thing(kind: str, name: str, place: dict[str, Any], **facts: Any) -> dict[str, Any]:
        return {"kind": kind, "name": name, "place": place, "status": "existing", **facts}

    return {
        "house": thing("house", "House", ring("h", (-8.0, -6.0), (16.0, -6.0), (16.0, 0.0), (-8.0, 0.0))),
        "shed": thing("structure", "Shed", ring("s", (0.5, 16.5), (3.5, 16.5), (3.5, 19.0), (0.5, 19.0))),
        "apple": thing("tree", "Apple tree", point(4.6, 9.8), size=4.0),
        "gas": thing(
            "utility",
            "Gas to the grill",
            along((16.0, 0.0), (18.4, 4.4), (18.8, 6.0)),
            depth=0.45,
            clear=1.0,
            service="gas",
            private=True,
            sure=0.5,
            note="Laid behind the meter, so nobody marks it.",
        ),
        "irrigation": thing(
            "utility",
            "Irrigation",
            along((2.0, 4.2), (9.0, 4.2), (19.5, 4.6)),
            depth=0.2,
            clear=0.3,
            service="irrigation",
            private=True,
            sure=0.5,
        ),
        "gate": thing("access", "Gate, 1.1 m wide", point(20.0, 2.4), size=1.1),
    }


def bounds() -> dict[str, Any]:
    """The plot, and the roots of the apple tree."""
    return {
        "plot": {
            "kind": "boundary",
            "name": "The plot",
            "place": ring(
                "b", (-8.0, -10.0), (17.2, -10.0), (20.4, 2.0), (17.4, 9.2), (17.4, 20.0), (-8.0, 20.0)
            ),
        },
        "apple_roots": {
            "kind": "tree",
            "name": "Roots of the apple tree",
            "place": point(4.6, 9.8),
            "clear": 2.0,
        },
    }


def walk() -> dict[str, Any]:
    """What the walk found; what is left out was not looked at."""
    return {
        "gate_width": {
            "answer": "trouble",
            "says": "1.1 m between the posts: a mini digger at most.",
            "place": point(20.0, 2.4),
        },
        "overhead_lines": {"answer": "none", "says": "None."},
        "public_services": {"answer": "fine", "says": "All end at the street side of the house."},
        "private_services": {
            "answer": "trouble",
            "says": "Gas to the grill and irrigation, both drawn by the owner from memory.",
            "place": point(18.4, 4.4),
        },
        "power": {"answer": "fine", "says": "Outlet on the terrace, on its own breaker."},
        "wet_spots": {
            "answer": "trouble",
            "says": "The lawn squelches in January: water half a metre down.",
            "place": point(12.0, 9.4),
        },
        "old_pond": {"answer": "none", "says": "There was none."},
        "boundary_marks": {"answer": "fine", "says": "Both eastern stones found.", "place": point(17.4, 9.2)},
        "trees_kept": {"answer": "fine", "says": "The apple tree stays.", "place": point(4.6, 9.8)},
        "children": {"answer": "trouble", "says": "Two small neighbours come through the hedge."},
    }


# --- the pond --------------------------------------------------------------------------------------


def shape() -> dict[str, Any]:
    """One pond along the paint."""
    return {
        "bodies": {
            "pond": {
                "name": "The pond",
                "role": "pond",
                "outline": {"form": "ring", "curve": curve("p", SHORE)},
                "level": WATER_LINE,
                "bank_type": "planted",
            }
        },
        # A natural edge: the lawn runs down to the water, and no berm is wanted.
        "berms": {"edge": {"name": "Edge of the lawn", "body": "pond", "freeboard": 0.15}},
        "bank_types": {
            "planted": {
                "name": "Planted shelf",
                "points": [{"distance": distance, "depth": depth} for distance, depth in BANK],
                "zone_names": ["edge riser", "planting shelf", "slope", "lower slope", "floor"],
            }
        },
    }


def brief() -> dict[str, Any]:
    """A family that wants frogs."""
    return {
        "client": "A family with a lawn (invented)",
        "address": "A garden on flat ground by a river (invented)",
        "found_us": "A neighbour told them (invented)",
        "decides": "Both parents",
        "old_pond": False,
        "size_guess": 40.0,
        "budget": 16_000.0,
        "currency": "EUR",
        "first_asked": "2026-01-24",
        "next_step": "Call about the gas line",
        "next_on": "2026-02-16",
        "dig_from": "2026-04-07",
        "done_by": "2026-05-29",
        "people": {"builder": {"name": "Our firm", "role": "Builder (invented)"}},
        "wishes": {
            "frogs": {"text": "Frogs, and a shelf with plants for them"},
            "size": {
                "text": "About forty square metres",
                "figure": "shape.shore.bodies.pond.area",
                "at_least": 36.0,
                "at_most": 44.0,
            },
            "winter": {
                "text": "Deep enough that it does not freeze to the floor",
                "figure": "shape.storage.bodies.pond.greatest_depth",
                "at_least": 1.0,
            },
            "soil": {
                "text": "No soil leaves by the gate",
                "figure": "earth.soil.load_count",
                "at_most": 0.0,
            },
            "view": {"text": "Seen from the kitchen"},
        },
        "texts": {"invented": "Everything in this job is invented: place, people, survey and numbers."},
    }


def job() -> dict[str, Any]:
    """The whole job as a document."""
    return {
        "format": 1,
        "id": "garden",
        "name": "Garden pond with water close below (invented)",
        "demo": True,
        "seed": SEED,
        "shown_units": "metric",
        "site": {
            "frame": {"datum_note": "Local levels: the corner of the terrace is 25.00 m."},
            "marks": marks(),
            "books": books(),
            "shots": shots(),
            "lines": {
                "paint": {
                    "name": "Shoreline painted on the grass",
                    "kind": "paint",
                    "shots": [f"p{number:02d}" for number in range(1, len(SHORE) + 1)],
                }
            },
            "soils": soils(),
            "probes": probes(),
            "water_marks": water_marks(),
            "bounds": bounds(),
            "walk": walk(),
            "things": things(),
        },
        "shape": shape(),
        "groundwater": groundwater(),
        "brief": brief(),
    }


def main() -> None:
    """Write the job file in its canonical form."""
    FILE.write_text(dumps(loads(json.dumps(job()))), encoding="utf-8")


if __name__ == "__main__":
    main()
