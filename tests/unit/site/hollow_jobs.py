"""Small jobs with an old hole in them, for the tests of its stages."""

import json
import math
from typing import Any

from pondwright import api
from pondwright.job.codec import loads
from pondwright.job.document import Job

MIDDLE = 20.0


def shot(east: float, north: float, elevation: float, surface: str = "ground") -> dict[str, Any]:
    place = {"by": "coordinates", "east": round(east, 4), "north": round(north, 4)}
    return {"place": place, "elevation": round(elevation, 4), "surface": surface}


def at(east: float, north: float) -> dict[str, Any]:
    return {"at": "point", "east": east, "north": north}


def hollow_shots(depth: float = 2.0, rim: float = 100.0, low: float = 0.0) -> dict[str, Any]:
    """Round hollow of 8 m in a meadow: floor, toe, rim (its east side lower by `low`), and beyond."""
    shots = {"c": shot(MIDDLE, MIDDLE, rim - depth)}
    for ring, (radius, height) in enumerate(
        [(4.0, rim - depth), (8.0, rim), (12.0, rim - 0.5), (18.0, rim - 1.0)]
    ):
        for step in range(16):
            turn = 2.0 * math.pi * step / 16
            drop = low if ring == 1 and step == 0 else 0.0
            place = (MIDDLE + radius * math.cos(turn), MIDDLE + radius * math.sin(turn))
            shots[f"r{ring}_{step}"] = shot(*place, height - drop)
    return shots


def flat_shots() -> dict[str, Any]:
    return {
        f"f{row}_{column}": shot(10.0 * column, 10.0 * row, 100.0) for row in range(5) for column in range(5)
    }


def job(shots: dict[str, Any] | None = None, **site: Any) -> Job:
    document = {
        "format": 1,
        "id": "hollow",
        "name": "A hollow",
        "site": {"shots": hollow_shots() if shots is None else shots, **site},
    }
    return loads(json.dumps(document))


def stages(document: Job) -> tuple[Any, Any, dict[str, list[Any]]]:
    """Results of the old hole and of the layers, and their checks by code."""
    run = api.compute(document, only="site.layers")
    found: dict[str, list[Any]] = {}
    for name in ("site.old_hole", "site.layers"):
        for finding in run.stages[name].findings:
            found.setdefault(finding.code, []).append(finding)
    return run.stages["site.old_hole"].result, run.stages["site.layers"].result, found
