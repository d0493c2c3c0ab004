"""Make the example job *Upper field*: about a hectare of ground from a point cloud that this script flies.

Everything here is invented.  The script makes the ground (rolling, a swale, an old dam that is breached),
throws points on it and on the trees, writes them as a point cloud, and reads that file the way any file from
outside is read: into cells, thinned to the points that tell the surface, taken in by one edit.  The cloud
itself is not kept; the job holds its thinned surface.

Run it from the root of the repository; the file is LAS where the extra ``geo`` is installed, else XYZ::

    python -m examples.make.upper_field

Lengths are metres; east and north count from the south-west corner of the field.
"""

from __future__ import annotations

import json
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Wanted
from pondwright.exchange.taking import cloud_ops
from pondwright.job.codec import dumps, loads
from pondwright.job.document import Job
from pondwright.job.edits import Edit, apply

FILE = Path(__file__).parents[2] / "src" / "pondwright" / "examples" / "upper_field.pond.json"
SEED = 2207
SIDE = 100.0
POINTS, TREES, POINTS_A_TREE = 60_000, 14, 250
NOISE = 0.02
"""Error of one point's height, one standard deviation [m]."""
CELL = 1.5
"""Side of the cells of which the lowest point counts [m]."""
MOST_POINTS, TOLERANCE = 1_800, 0.06
"""Points that the job may hold, and how far its surface may miss the cells [m]."""
DAM_NORTH, DAM_CREST, DAM_EAST, BREACH = 22.0, 121.9, (30.0, 72.0), 56.0
LEVEL = 122.2
SHORE = (
    (50.7, 30.4), (62.1, 32.8), (72.8, 40.0), (77.6, 51.3), (80.0, 64.5), (74.6, 77.0), (65.6, 87.2),
    (54.9, 92.6), (44.7, 88.4), (38.8, 77.6), (31.0, 67.5), (25.0, 56.1), (28.0, 43.6), (37.6, 34.0),
)  # fmt: skip
BANK = ((0.0, 0.0), (2.5, 0.4), (5.0, 1.0), (9.0, 1.8))
INVENTED = "Invented for this example."

Points = NDArray[np.float64]


def true_ground(east: Points, north: Points) -> Points:
    """Elevation of the invented field: rolling, with a swale from north to south and an old dam across it."""
    swale = 52.0 + 7.0 * np.sin(north / 26.0)
    sides = 1.7 * (1.0 - np.exp(-(((east - swale) / 26.0) ** 2)))
    rolling = 0.18 * np.sin(east / 11.0 + 0.4) * np.cos(north / 14.0) + 0.0035 * (east - 50.0)
    ground = 120.4 + 0.018 * north + sides + rolling
    off = np.maximum(np.abs(north - DAM_NORTH) - 1.4, 0.0)
    beyond = np.maximum(np.maximum(DAM_EAST[0] - east, east - DAM_EAST[1]), 0.0)
    breach = 1.5 * np.exp(-(((east - BREACH) / 2.2) ** 2))
    dam = DAM_CREST - breach - off / 2.3 - beyond / 2.3
    return np.maximum(ground, dam)


def cloud() -> tuple[Points, Points, Points]:
    """Points as they were flown: on the ground, and in the crowns of the trees."""
    noise = np.random.default_rng(SEED)
    east, north = noise.uniform(0.0, SIDE, (2, POINTS))
    up = true_ground(east, north) + noise.normal(0.0, NOISE, POINTS)
    trunks = np.column_stack([noise.uniform(4.0, 20.0, TREES), noise.uniform(4.0, SIDE - 4.0, TREES)])
    crowns = []
    for trunk in trunks:
        around = trunk + noise.normal(0.0, 1.5, (POINTS_A_TREE, 2))
        height = true_ground(around[:, 0], around[:, 1]) + noise.uniform(1.5, 9.0, POINTS_A_TREE)
        crowns.append(np.column_stack([around, height]))
    trees = np.vstack(crowns)
    inside = np.all((trees[:, :2] >= 0.0) & (trees[:, :2] <= SIDE), axis=1)
    whole = np.vstack([np.column_stack([east, north, up]), trees[inside]])
    return whole[:, 0], whole[:, 1], whole[:, 2]


def write_cloud(folder: Path) -> Path:
    """The flight as a file: LAS with whole centimetres, or XYZ where nothing is there to write LAS."""
    east, north, up = cloud()
    try:
        import laspy
    except ImportError:
        path = folder / "upper_field.xyz"
        np.savetxt(path, np.column_stack([east, north, up]), fmt="%.2f")
        return path
    header = laspy.LasHeader(point_format=0, version="1.2")
    header.scales, header.offsets = np.full(3, 0.01), np.zeros(3)
    header.creation_date = date(2026, 3, 2)
    header.generating_software = "an invented flight"
    flight = laspy.LasData(header)
    flight.x, flight.y, flight.z = east, north, up
    path = folder / "upper_field.las"
    flight.write(path)
    return path


def surveyed(job: Job) -> Job:
    """Job with the flight taken in."""
    with tempfile.TemporaryDirectory() as folder:
        path = write_cloud(Path(folder))
        # The lowest point of a cell is ground under a tree, where the mean is half way up its crown.
        reading = read_file(
            path, path.name, Wanted(unit="m", height_unit="m", heights="lowest", spacing=CELL)
        )
    return apply(job, Edit("flight", 0, cloud_ops(reading, job, most=MOST_POINTS, tolerance=TOLERANCE)))


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


def site() -> dict[str, Any]:
    """What is known of the field beside the flight."""
    clay = {"low": 1e-9, "likely": 1e-8, "high": 2e-7, "source": INVENTED}
    return {
        "frame": {"datum_note": "Local levels: heights of the flight, set by one mark."},
        "marks": {
            "stone": {
                "name": "Boundary stone in the south-west",
                "place": point(2.0, 2.0),
                "elevation": round(float(true_ground(np.array(2.0), np.array(2.0))), 2),
            }
        },
        "soils": {
            "field": {
                "name": "Topsoil over clay",
                "note": INVENTED,
                "place": {"at": "whole", "body": None},
                "layers": [
                    {"kind": "topsoil", "thickness": 0.25},
                    {"kind": "clay", "permeability": clay},
                ],
            }
        },
        "probes": {
            "pit_1": {
                "how": "pit",
                "name": "Pit at the breach",
                "date": "2026-03-03",
                "place": point(56.0, 32.0),
                "layers": [{"kind": "topsoil", "thickness": 0.3}, {"kind": "clay", "thickness": 2.1}],
                "water_depth": 1.6,
            }
        },
        "bounds": {
            "field": {
                "kind": "boundary",
                "name": "The field",
                "place": {
                    "at": "ring",
                    "curve": curve(
                        "b",
                        ((0.5, 0.5), (SIDE - 0.5, 0.5), (SIDE - 0.5, SIDE + 40.0), (0.5, SIDE + 40.0)),
                        corner=True,
                    ),
                },
            },
            "ditch": {
                "kind": "stream",
                "name": "Ditch below the old dam",
                "place": along((55.5, 14.0), (57.0, 0.5)),
                "clear": 3.0,
            },
        },
        "things": {
            "trees": {
                "kind": "tree",
                "name": "Row of ashes",
                "place": along((12.0, 6.0), (12.0, 94.0)),
                "status": "keep",
            },
            "gate": {
                "kind": "access",
                "name": "Field gate, 4 m",
                "place": point(98.0, 8.0),
                "size": 4.0,
                "status": "existing",
            },
        },
        "walk": {
            "gate_width": {"answer": "fine", "says": "4 m, firm track.", "place": point(98.0, 8.0)},
            "old_pond": {
                "answer": "trouble",
                "says": "The old dam washed out at its middle, nobody knows when.",
                "place": point(BREACH, DAM_NORTH),
            },
            "septic": {"answer": "none", "says": "No house near."},
        },
    }


def shape() -> dict[str, Any]:
    """One pond above the old dam, held by a new berm."""
    return {
        "bodies": {
            "pond": {
                "name": "The pond",
                "role": "pond",
                "outline": {"form": "ring", "curve": curve("p", SHORE)},
                "level": LEVEL,
                "bank_type": "flat",
            }
        },
        "bank_types": {
            "flat": {
                "name": "Flat and grassed",
                "points": [{"distance": distance, "depth": depth} for distance, depth in BANK],
                "zone_names": ["wading", "shallows", "slope", "floor"],
            }
        },
        "berms": {
            "south": {
                "name": "New berm above the old dam",
                "body": "pond",
                "crest_width": 4.0,
                "slope_in": 3.0,
                "slope_out": 3.0,
            }
        },
    }


def brief() -> dict[str, Any]:
    """A farmer with a wet field."""
    return {
        "client": "A farm (invented)",
        "address": "The upper field (invented)",
        "decides": "The farmer",
        "old_pond": True,
        "size_guess": 2500.0,
        "first_asked": "2026-02-12",
        "next_step": "Ask who must see a dam of this height",
        "next_on": "2026-03-16",
        "people": {"builder": {"name": "Our firm", "role": "Builder (invented)"}},
        "wishes": {
            "size": {
                "text": "A quarter of a hectare of water",
                "figure": "shape.shore.bodies.pond.area",
                "at_least": 2300.0,
            },
            "store": {
                "text": "Two thousand five hundred cubic metres for a dry summer",
                "figure": "shape.storage.bodies.pond.volume",
                "at_least": 2500.0,
            },
        },
        "texts": {"invented": "Everything in this job is invented: place, people, flight and numbers."},
    }


def job() -> Job:
    """The whole job, with the flight taken in."""
    document = {
        "format": 1,
        "id": "upper_field",
        "name": "Upper field, flown (invented)",
        "demo": True,
        "seed": SEED,
        "shown_units": "metric",
        "site": site(),
        "shape": shape(),
        "brief": brief(),
    }
    return surveyed(loads(json.dumps(document)))


def main() -> None:
    """Write the job file in its canonical form."""
    FILE.write_text(dumps(job()), encoding="utf-8")


if __name__ == "__main__":
    main()
