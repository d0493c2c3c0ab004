"""Small invented surveys that the tests of locating, clouds, surveys and painted shores share."""

import json
from typing import Any

from pondwright.base.findings import Finding
from pondwright.flow.engine import Run, advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.edits import Edit, apply
from pondwright.job.log import Log

HASH = "0" * 64
GRID = {"origin_east": 90.0, "origin_north": 90.0, "spacing": 0.5, "columns": 81, "rows": 81}
SITE = tuple(
    stage
    for stage in STAGES
    if stage.name in ("site.levels", "site.ground", "site.uncertainty", "site.rebase", "site.painted")
)


def shot(east: float, north: float, elevation: float | None = 50.0, **facts: Any) -> dict[str, Any]:
    return {"place": {"by": "coordinates", "east": east, "north": north}, "elevation": elevation, **facts}


def meadow(fall: float = 0.02, prefix: str = "s", step: float = 5.0, **facts: Any) -> dict[str, Any]:
    """Sixteen shots on a falling plane, from 100 east and 100 north."""
    return {
        f"{prefix}{row}{column}": shot(
            100.0 + step * column, 100.0 + step * row, 50.0 + fall * step * row, **facts
        )
        for row in range(4)
        for column in range(4)
    }


def cloud(points: list[tuple[float, float, float]], **facts: Any) -> dict[str, Any]:
    east, north, elevation = (list(each) for each in zip(*points, strict=True))
    return {
        "file": HASH,
        "kind": "cloud",
        "east": east,
        "north": north,
        "elevation": elevation,
        "tolerance": 0.03,
        **facts,
    }


def job(
    shots: dict[str, Any],
    bodies: dict[str, Any] | None = None,
    bank_types: dict[str, Any] | None = None,
    **site: Any,
) -> Job:
    return loads(
        json.dumps(
            {
                "format": 1,
                "id": "test",
                "name": "A test",
                "site": {"frame": {"grid": GRID}, "shots": shots, **site},
                "shape": {"bodies": bodies or {}, "bank_types": bank_types or {}},
            }
        )
    )


def ring(points: list[tuple[float, float]], corner: bool = True, prefix: str = "p") -> dict[str, Any]:
    pegs = [
        {"id": f"{prefix}{peg}", "east": east, "north": north, "corner": corner}
        for peg, (east, north) in enumerate(points)
    ]
    return {"at": "ring", "curve": {"pegs": pegs}}


def square(low: float, high: float) -> list[tuple[float, float]]:
    return [(low, low), (high, low), (high, high), (low, high)]


def computed(document: Job) -> Run:
    """The site's own stages alone; those of the shores on it are tried elsewhere."""
    return advance(SITE, None, document, Log(), "settle")


def found(run: Run, code: str) -> list[Finding]:
    return [finding for finding in run.findings if finding.code == code]


def applied(document: Job, finding: Finding, advice: int) -> Job:
    return apply(document, Edit("e1", 0, finding.advice[advice].ops, "A way out"))
